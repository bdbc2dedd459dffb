"""Several models of one wire each put together into one, and points of theirs joined.

overlay = together([rod(...), rod(...)], [Joined((1, 12.0), (0, 30.0))])
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.model import SAME_PLACE, Joint, Model, Support
from fem.wires import Wire, begins
from geometry.checks import LONGEST, all_of, flag, number, numbers
from geometry.pose import Pose

Array = NDArray[np.float64]
Place = tuple[int, float]
"""Number of a wire, from 0, and an arc length from its own start, mm."""


@dataclass(frozen=True, slots=True)
class Joined:
    """Two points held together: no couple, forces equal and opposite; a hook ``slides`` along the other wire.

    ``arm`` (3,) mm: where the first point is in the end, seen from the other and in the axes of that section (tangent,
    height, depth); zero where the centre lines meet.  Raises ValueError for places that are none."""

    first: Place
    other: Place
    arm: ArrayLike = (0.0, 0.0, 0.0)
    slides: bool = False

    def __post_init__(self) -> None:
        for name in ("first", "other"):
            place = getattr(self, name)
            if not (isinstance(place, tuple) and len(place) == 2 and isinstance(place[0], int)):
                raise ValueError(f"a joint's place is the number of a wire and an arc length: got {place!r}")
            arc = number("the arc length of a joint", place[1], "mm", -LONGEST, LONGEST)
            object.__setattr__(self, name, (place[0], arc))
        object.__setattr__(self, "arm", numbers("the arm of a joint", self.arm, (3,), "mm", LONGEST))
        object.__setattr__(self, "slides", flag("whether a joint slides", self.slides))


def together(models: Sequence[Model], joints: Sequence[Joined] = ()) -> Model:
    """One model of all the wires, with the supports of the first, then those of the second, ..., then the joints.

    Compliances (6, 6 k) of supports that share a body count the supports of all wires, joints aside.  Where a joint
    finds no node it adds one.  Raises ValueError for models of several wires, and for joints off their wires."""
    models = all_of(Model, models, "the wires to be put together", "Model")
    joints = all_of(Joined, joints, "the joints between wires", "Joined")
    if not models or any(model.others for model in models):
        raise ValueError("put together models of one wire each, one at least")
    _refuse_places(models, joints)
    models = tuple(
        _with_nodes(model, [arc for of in joints for wire, arc in (of.first, of.other) if wire == number])
        for number, model in enumerate(models)
    )
    at = begins([model.shape.length for model in models])
    supports = [_moved(of, begin) for model, begin in zip(models, at, strict=True) for of in model.supports]
    count = len(supports) + len(joints)
    supports = [_among(of, count) for of in supports]
    supports += [_joint(models, at, joint) for joint in joints]
    links = [
        replace(of, arc=of.arc + begin, other=of.other + begin)
        for model, begin in zip(models, at, strict=True)
        for of in model.links
    ]
    others = [
        Wire(of.shape, of.placed, of.section, of.law, begin) for of, begin in zip(models, at, strict=True)
    ]
    return replace(
        models[0],
        nodes=np.concatenate([model.nodes + begin for model, begin in zip(models, at, strict=True)]),
        supports=tuple(supports),
        loads=_stacked(models, "loads"),
        follower_loads=_stacked(models, "follower_loads"),
        links=tuple(links),
        others=tuple(others[1:]),
    )


def _refuse_places(models: Sequence[Model], joints: Sequence[Joined]) -> None:
    """Raises ValueError for joints that lie off the wires they name."""
    for joint in joints:
        for wire, arc in (joint.first, joint.other):
            if not 0 <= wire < len(models):
                raise ValueError(f"a joint names wire {wire}, but there are {len(models)}, counted from 0")
            first, last = models[wire].nodes[[0, -1]]
            if not first - SAME_PLACE <= arc <= last + SAME_PLACE:
                raise ValueError(
                    f"a joint lies at arc length {arc:.6g} mm of wire {wire}, whose nodes run from {first:.6g} to "
                    f"{last:.6g} mm"
                )


def _with_nodes(model: Model, arcs: Sequence[float]) -> Model:
    """The model with a node at each of ``arcs`` (mm), without loads where it is new."""
    missing = [arc for arc in dict.fromkeys(arcs) if np.abs(model.nodes - arc).min() > SAME_PLACE]
    if not missing:
        return model
    nodes = np.sort(np.append(model.nodes, missing))
    kept = np.searchsorted(nodes, model.nodes)

    def spread(loads: Array | None) -> Array | None:
        if loads is None:
            return None
        out = np.zeros((nodes.size, 6))
        out[kept] = loads
        return out

    return replace(model, nodes=nodes, loads=spread(model.loads), follower_loads=spread(model.follower_loads))


def _moved(support: Support, begin: float) -> Support:
    """The support at its place in the common count."""
    return replace(support, arc=support.arc + begin)


def _among(support: Support, count: int) -> Support:
    """The support among ``count`` of them, the last of which, joints, share no body with it."""
    gives = support.compliance
    if gives is None or gives.ndim == 1 or gives.shape[1] == 6:
        return support
    return replace(support, compliance=np.pad(gives, ((0, 0), (0, 6 * count - gives.shape[1]))))


def _joint(models: Sequence[Model], at: Sequence[float], joint: Joined) -> Support:
    (wire, arc), (other, place) = joint.first, joint.other
    (point,), _ = models[wire].passive_frames(np.array([arc]))
    seen = Pose(*(of[0] for of in models[other].passive_frames(np.array([place]))))
    start, along = seen.to_local(point), np.eye(3)
    end = np.asarray(joint.arm, dtype=np.float64)
    if joint.slides:
        # along the wire nothing holds it
        start, end = start * (0.0, 1.0, 1.0), end * (0.0, 1.0, 1.0)
    return Support(
        Joint(place + at[other], joint.slides), arc + at[wire], Pose(start, along), Pose(end, along)
    )


def _stacked(models: Sequence[Model], name: str) -> Array | None:
    """Loads of all wires, one row for each node; None where there are none."""
    given = [getattr(model, name) for model in models]
    if all(of is None for of in given):
        return None
    return np.concatenate(
        [
            np.zeros((model.nodes.size, 6)) if of is None else of
            for model, of in zip(models, given, strict=True)
        ]
    )
