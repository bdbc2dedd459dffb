"""A wire let go after its way: the shape that is left, as a passive shape to run again, and how far it sprang back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.advance import Options
from fem.beam_kernel import element_screws
from fem.path import Leg, Path, go_on
from geometry.pose import Pose, frozen
from geometry.wire_shapes import Curved, PassiveShape

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Release:
    """A wire that nothing holds any more."""

    path: Path
    """The way with one leg more, on which everything lets go; its memory goes on from there."""
    shape: PassiveShape
    """As it lies, in pieces of constant curvature from node to node, each as long as it was: to run again as a new
    wire, free of stress."""
    placed: Pose
    """Where the origin of that shape lies."""
    bent: Array
    """(n,) rad: angle by which each node's tangent lies beside the passive wire's, with the first node on the passive
    one."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "bent", frozen(self.bent))


def released(path: Path, options: Options | None = None, increments: int = 1) -> Release:
    """The wire let go by all its supports at the end of a path, with what it remembers.

    Loads and links stay.  Raises NoEquilibrium where the wire comes to no rest."""
    ends = path.legs[-1].ends
    leg = Leg("release", ends, increments, (False,) * len(ends))
    gone = go_on(path, (leg,), options)
    problem = gone.problem
    model, state = problem.model, problem.state
    screws = np.empty((model.nodes.size - 1, 6))
    element_screws(state.positions, state.axes, screws)
    lengths = np.diff(model.nodes)
    rates = (screws[:, 3:] / lengths[:, None]).tolist()
    pieces = tuple(
        Curved((twist, first, second), length)
        for (twist, first, second), length in zip(rates, lengths.tolist(), strict=True)
    )
    shape = PassiveShape(pieces)
    placed = Pose(state.positions[0].copy(), state.axes[0].copy())
    _, axes = shape.frames(shape.breaks)
    _, passive = model.shape.frames(model.nodes)
    level = passive[0].T
    cosine = np.einsum("ni,ni->n", axes[:, :, 0], (level @ passive)[:, :, 0])
    across = np.linalg.norm(np.cross(axes[:, :, 0], (level @ passive)[:, :, 0]), axis=1)
    return Release(gone, shape, placed, np.arctan2(across, cosine))
