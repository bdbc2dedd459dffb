"""The six geometries of two brackets, after Burstone & Koenig, Am. J. Orthod. 65 (1974) 270.

Their angles are those of a straight wire laid through both brackets, or rather of two ends built in: here the inner
mouths.  Slots of real width that turn about their centres carry their mouths up or down, which turns the line between
the mouths: seen from there the class may be another than from the line of the centres, and both are told.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from cases.force_system import AXIS_OF_ORDER
from cases.formulas import two_bracket_ratios
from cases.results import BACK
from cases.schema import AttachmentSpec, Case
from cases.system_results import BracketAngles, Geometry
from cases.words import LEAST_SHOWN, shown
from fem.path import Path
from geometry.clearance import clearance, front_of
from geometry.pose import Pose
from geometry.wire_shapes import PassiveShape

Array = NDArray[np.float64]

# Angle at A over angle at B, B with the larger: Burstone & Koenig, Am. J. Orthod. 65 (1974) 270.
CLASSES = {"I": 1.0, "II": 0.5, "III": 0.0, "IV": -0.5, "V": -0.75, "VI": -1.0}
# Kinds of attachments that can carry couples.
HOLDS_A_SECTION = ("bracket", "tube", "clamp")
SAME_PLANE = math.cos(math.radians(45.0))
"""Axes are taken for one while they are nearer to it than to any square to it."""


class State(NamedTuple):
    """What the attachments (k,) do at one moment of the way."""

    stage: str
    poses: Sequence[Pose]
    force: Array
    """(k, 3) N on the teeth, world axes."""
    moment: Array
    """(k, 3) N mm, about the centres of slots and clamps."""
    wire_axes: Array
    """(k, 3, 3) of the wire at the attachments."""


def states_of(case: Case, path: Path) -> list[State]:
    """At the end of each leg on which all attachments hold the wire, but the way back of a bench test."""
    out = []
    for number, leg in enumerate(path.legs):
        if leg.active is None and leg.name != BACK:
            snapshot = path.end_of(number).snapshot
            now = zip(snapshot.support_position, snapshot.support_axes, strict=True)
            poses = [Pose(*here) for here in now]
            out.append(State(leg.name, poses, snapshot.force, snapshot.moment, snapshot.centre_axes))
    return out


def geometries_of(case: Case, state: State) -> tuple[Geometry, ...]:
    """The geometry in first and in second order that two brackets form; none where there are not just two, where the
    wire between them is no straight or bent one, or where neither is turned against it beyond its play."""
    if len(case.attachments) != 2 or case.more_wires:
        return ()
    if any(spec.attachment.kind not in HOLDS_A_SECTION for spec in case.attachments):
        return ()
    found = (_geometry(case, state, order) for order in ("first", "second"))
    return tuple(one for one in found if one is not None)


def nearest_class(angle_ratio: float) -> str:
    """The class whose ratio of angles, the smaller over the larger (-1 to 1), is the nearest."""
    return min(CLASSES, key=lambda name: abs(CLASSES[name] - angle_ratio))


def _geometry(case: Case, state: State, order: str) -> Geometry | None:
    at_mouths = _angles(case, state, order, 1.0)
    at_centres = _angles(case, state, order, 0.0)
    if at_mouths is None or at_centres is None:
        return None
    plays = [_play(case, spec, order) or 0.0 for spec in case.attachments]
    if all(abs(angle) <= max(play, LEAST_SHOWN) for angle, play in zip(at_mouths, plays, strict=True)):
        return None
    b = 0 if abs(at_mouths[0]) > abs(at_mouths[1]) * (1.0 + 1e-9) else 1
    ratio = at_mouths[1 - b] / at_mouths[b]
    # the larger of both may be another one when they are measured from the line of the centres
    c = 0 if abs(at_centres[0]) > abs(at_centres[1]) * (1.0 + 1e-9) else 1
    centres = at_centres[1 - c] / at_centres[c] if at_centres[c] else 0.0
    brackets = [
        _bracket(case, state, order, k, at_mouths[k], at_centres[k], side)
        for k, side in ((0, 1.0), (1, -1.0))
    ]
    # rounding may pass the ends of the range by its last digit
    linear = two_bracket_ratios(min(max(ratio, -1.0), 1.0)).moment_ratio
    larger, other = brackets[b], brackets[1 - b]
    mouths = _ratio(other.moment_at_mouth_nmm, larger.moment_at_mouth_nmm)
    slots = _ratio(other.moment_at_centre_nmm, larger.moment_at_centre_nmm)
    name, name_at_centres = nearest_class(ratio), nearest_class(centres)
    words = _geometry_words(
        state.stage,
        order,
        (brackets[0], brackets[1]),
        (other.name, larger.name),
        (ratio, centres),
        (name, name_at_centres),
        (mouths, linear, slots),
    )
    return Geometry(
        state.stage,
        order,
        (brackets[0], brackets[1]),
        larger.name,
        ratio,
        name,
        mouths,
        linear,
        centres,
        name_at_centres,
        slots,
        words,
    )


def _angles(case: Case, state: State, order: str, outward: float) -> tuple[float, float] | None:
    """deg: wire to slot, the wire laid through both centres (``outward`` 0) or both inner mouths (1).

    A bent wire counts as a straight one between slots turned by as much against it, as it does in a linear beam.  None
    where slots or wire leave the plane, or the wire turns away from its chord as the legs of a loop do."""
    specs = [spec.attachment for spec in case.attachments]
    seat = [spec.name for spec in case.attachments].index(case.wire.seated_in)
    view = state.poses[seat].axes
    halves = [0.5 * outward * (0.0 if one.slot is None else one.slot.width) for one in specs]
    points = [
        state.poses[k].position + side * halves[k] * state.poses[k].axes[:, 0]
        for k, side in ((0, 1.0), (1, -1.0))
    ]
    slots = [_in_plane(view.T @ pose.axes[:, 0], order) for pose in state.poses]
    chord = _in_plane(view.T @ (points[1] - points[0]), order)
    arcs = (specs[0].at + halves[0], specs[1].at - halves[1])
    wire = _passive(case.wire.passive_shape, arcs, specs[seat].at, order)
    if wire is None or chord is None or slots[0] is None or slots[1] is None:
        return None
    turned = [
        math.degrees(math.remainder(tangent + chord - slot, 2.0 * math.pi))
        for slot, tangent in zip((slots[0], slots[1]), wire, strict=True)
    ]
    return turned[0], turned[1]


def _passive(
    shape: PassiveShape, arcs: tuple[float, float], seat: float, order: str
) -> tuple[float, float] | None:
    """rad: tangents of the passive wire at ``arcs`` to its chord there, in the plane of the seat."""
    # outside of the wire there is nothing to be turned: a slot may reach beyond the wire's end
    first_arc, last_arc = (min(max(arc, 0.0), shape.length) for arc in arcs)
    along = np.linspace(first_arc, last_arc, 101)
    _, home = shape.frames(np.array([seat]))
    positions, axes = shape.frames(along)
    chord = _in_plane(home[0].T @ (positions[-1] - positions[0]), order)
    tangents = [_in_plane(home[0].T @ axis, order) for axis in axes[:, :, 0]]
    if chord is None:
        return None
    turned = [None if one is None else math.remainder(one - chord, 2.0 * math.pi) for one in tangents]
    if any(one is None or abs(one) > math.radians(45.0) for one in turned):
        return None
    first, last = turned[0], turned[-1]
    assert first is not None and last is not None
    return first, last


def _in_plane(direction: Array, order: str) -> float | None:
    """rad, right-handed about the order's axis from x; None where the direction leaves the plane by 45 deg or more."""
    out = float(direction[AXIS_OF_ORDER[order]])
    if abs(out) >= SAME_PLANE * float(np.linalg.norm(direction)):
        return None
    return math.atan2(direction[1] if order == "second" else -direction[2], direction[0])


def _bracket(
    case: Case, state: State, order: str, k: int, at_mouth: float, at_centre: float, side: float
) -> BracketAngles:
    spec = case.attachments[k]
    pose, axis = state.poses[k], AXIS_OF_ORDER[order]
    half = 0.0 if spec.attachment.slot is None else 0.5 * spec.attachment.slot.width
    mouth = state.moment[k] - np.cross(side * half * pose.axes[:, 0], state.force[k])
    engaged = _in_plane(pose.axes.T @ state.wire_axes[k][:, 0], order)
    return BracketAngles(
        spec.name,
        at_mouth,
        at_centre,
        0.0 if engaged is None else math.degrees(engaged),
        _play(case, spec, order),
        float(pose.axes[:, axis] @ mouth),
        float(pose.axes[:, axis] @ state.moment[k]),
    )


def _play(case: Case, spec: AttachmentSpec, order: str) -> float | None:
    slot = spec.attachment.slot
    if slot is None:
        return None
    plays = clearance(case.wire.section, slot, front_of(spec.attachment.ligation))
    angle = (plays.first if order == "first" else plays.second).angle
    return None if angle is None else math.degrees(angle)


def _ratio(one: float, other: float) -> float | None:
    return None if abs(other) < LEAST_SHOWN else one / other


def _geometry_words(
    stage: str,
    order: str,
    brackets: tuple[BracketAngles, BracketAngles],
    names: tuple[str, str],
    ratios: tuple[float, float],
    classes: tuple[str, str],
    moments: tuple[float | None, float, float | None],
) -> str:
    """``names``: smaller angle, larger; ratios and classes: at mouths, centres; moments: at mouths, linear, centres."""
    turned = " and ".join(f"{shown(one.activation_deg)} deg at {one.name}" for one in brackets)
    slots = [one for one in brackets if one.play_deg is not None]
    engaged = " and ".join(
        f"{shown(one.engagement_deg)} of {shown(one.play_deg or 0.0)} deg" for one in slots
    )
    mouths, linear, centres = moments
    out = (
        f"Two brackets in {order} order, end of {stage}: angles of activation {turned}, ratio {shown(ratios[0])}: "
        f"nearest class {classes[0]}. Moment at {names[0]} over that at {names[1]}, at the mouths: "
        f"{_or_none(mouths)}; by linear theory, ends built in and no play, {shown(linear)}"
    )
    wide = any(one.moment_at_mouth_nmm != one.moment_at_centre_nmm for one in brackets)
    out += f"; about the slot centres: {_or_none(centres)}." if wide else "."
    out += f" Angles of engagement, which play limits: {engaged}." if slots else ""
    if classes[1] != classes[0]:
        out += f" From the line of the slot centres: ratio {shown(ratios[1])}, nearest class {classes[1]}."
    return out


def _or_none(value: float | None) -> str:
    return "none, no moment at the larger" if value is None else shown(value)
