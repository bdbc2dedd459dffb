"""Loads at a tooth's centre of resistance, and the initial tendency in words.

A force F level with the slot, across the long axis, tips its tooth about the centre of resistance, at the arm d.  A
moment M of F d against that tipping leaves a translation.  So (M/F)/d says which movement begins, in a linear model:

=============  =======================  ========================================================
(M/F)/d        movement                 what it is
=============  =======================  ========================================================
below 0.5      uncontrolled tipping     crown with the force, apex against it
0.5 to 0.8     controlled tipping       crown with the force, apex about at rest
0.8 to 1.2     bodily movement          crown and root alike
above 1.2      root movement            root ahead of the crown
=============  =======================  ========================================================

The usual figures at the bracket are M/F below 5, 5 to 8, 8 to 12 and above 12 mm for an arm of 10 mm (common practice;
from memory): here as shares of each tooth's own arm.  Where the moment left about the centre of resistance is more than
three times F d, the tooth all but turns about that point (our own bound).  These words are an initial tendency in a
linear model, not a prediction.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from cases.force_levels import TORQUE_RANGE, published_ranges
from cases.schema import AttachmentSpec
from cases.tooth_results import (
    BODILY,
    CONTROLLED,
    EXTRUSION,
    INTRUSION,
    ROOT,
    ROTATION,
    TURNING,
    UNCONTROLLED,
    PlaneTendency,
    ToothResult,
    Vector,
)
from cases.tooth_sizes import default_centre
from cases.words import SPOKEN_SHARE, shown, three
from geometry.tooth import Order, Tooth, force_words, moment_words

Array = NDArray[np.float64]

GIVEN = "given in the case"
# Least shares of the arm: uncontrolled tipping is what lies below the first.
SHARES = ((1.2, ROOT), (0.8, BODILY), (0.5, CONTROLLED), (-math.inf, UNCONTROLLED))
ALL_BUT_TURNS = 3.0
VIEWS: Mapping[str, str] = {
    "first": "occlusal view",
    "second": "facial view",
    "third": "mesiodistal view",
}
# Of each order: the axis of its force (none in first order), the axis of its moment, and the sense of the moment that
# stands against the tipping by a force above zero, for a centre of resistance above the slot.
PLANES: dict[Order, tuple[int | None, int, float]] = {
    "first": (None, 1, 0.0),
    "second": (0, 2, -1.0),
    "third": (2, 0, 1.0),
}
AXES = ("along the slot", "along its height", "along its depth")
LEAST_ARM = 0.5
"""mm: on a shorter arm the ratio of moment to force says nothing about tipping."""


def centre_of(spec: AttachmentSpec) -> tuple[Vector, str] | None:
    """Where the tooth's centre of resistance lies from the slot's centre, mm in its own axes, and where that is from.

    None where the case gives neither it nor a permanent tooth."""
    if spec.centre_of_resistance is not None:
        return spec.centre_of_resistance, GIVEN
    found = None if spec.tooth is None or spec.attachment.is_edge else default_centre(Tooth(spec.tooth))
    return None if found is None else (found.from_slot, found.words)


def tooth_result(
    spec: AttachmentSpec, force: Array, moment: Array, about: Array, floor: float
) -> ToothResult | None:
    """What the tooth of an attachment gets, from the ``force`` (3,) N and the ``moment`` (3,) N mm about the point
    ``about`` (3,) mm, all seen in the attachment's own axes from its centre; below ``floor`` (N) a force is none.

    None where nothing says where its centre of resistance lies."""
    known = centre_of(spec)
    if known is None:
        return None
    centre, source = known
    at_centre = moment + np.cross(about - np.array(centre), force)
    planes: dict[str, PlaneTendency] = {
        order: _plane(spec.tooth, order, np.array(centre), force, at_centre, floor) for order in PLANES
    }
    movements = [plane.movement for plane in planes.values() if plane.movement is not None]
    words = _spoken(planes, float(np.linalg.norm(force)))
    size = float(np.linalg.norm(force))
    if spec.tooth is not None and abs(force[1]) > max(floor, SPOKEN_SHARE * size):
        vertical = force_words(spec.tooth, (0.0, float(force[1]), 0.0))[1]
        movements.append(EXTRUSION if vertical == "extrusion" else INTRUSION)
        words.append(f"along the long axis: {vertical}, {shown(abs(float(force[1])))} N")
    ranges = [one for movement in movements for one in published_ranges(movement)]
    if planes["third"].movement in (ROOT, TURNING):
        ranges.append(TORQUE_RANGE)
    return ToothResult(
        centre,
        source,
        _vector(force),
        _vector(at_centre),
        planes,
        tuple(ranges if spec.tooth else ()),
        tuple(words),
    )


def _plane(
    tooth: str | None, order: Order, centre: Array, force: Array, moment: Array, floor: float
) -> PlaneTendency:
    """One plane, from force and moment at the centre of resistance."""
    along, about, sense = PLANES[order]
    turning = float(moment[about])
    turns = abs(turning) > 10.0 * floor
    way, size = _turn(tooth, order, turning), f"{shown(abs(turning))} N mm"
    if along is None:
        words = f"rotation, {way}, {size} about the long axis" if turns else "no rotation"
        return PlaneTendency(0.0, turning, None, None, None, ROTATION if turns else None, words)
    push, height = float(force[along]), float(centre[1])
    arm = abs(height)
    if abs(push) <= floor or arm < LEAST_ARM:
        words = f"{TURNING}, {way}, {size}" if turns else "nothing"
        if turns and abs(push) > floor:
            words = f"{way}, {size}; the centre of resistance lies level with the slot"
        return PlaneTendency(push, turning, arm, None, None, TURNING if turns else None, words)
    # the moment that stands against the tipping, about the point of the long axis level with the slot
    share = 1.0 + math.copysign(1.0, sense * height) * turning / (push * arm)
    movement = next(kind for least, kind in SHARES if share >= least)
    if abs(share - 1.0) > ALL_BUT_TURNS:
        movement = TURNING
    ratio = share * arm
    figures = f"moment to force {shown(ratio)} mm on an arm of {three(arm)} mm, {shown(share)} of it"
    if movement == TURNING:
        words = f"{movement}, {way}, {size}"
    else:
        leading = {BODILY: "", ROOT: "root "}.get(movement, "crown ")
        words = f"{movement}, {leading}to {_direction(tooth, along, push)}; {figures}"
    return PlaneTendency(push, turning, arm, ratio, share, movement, words)


def _spoken(planes: Mapping[str, PlaneTendency], size: float) -> list[str]:
    """The planes worth speaking of, each with its view."""
    largest = max(max(abs(plane.moment_nmm), size * (plane.arm_mm or 0.0)) for plane in planes.values())
    return [
        f"{VIEWS[order]}: {plane.words}"
        for order, plane in planes.items()
        if plane.movement is not None
        and max(abs(plane.moment_nmm), abs(plane.force_n) * (plane.arm_mm or 0.0)) > SPOKEN_SHARE * largest
    ]


def _direction(tooth: str | None, axis: int, value: float) -> str:
    """Where a component of a force or a way points."""
    if tooth is None:
        return f"{'+' if value > 0.0 else '-'} {AXES[axis]}"
    parts = [0.0, 0.0, 0.0]
    parts[axis] = value
    return force_words(tooth, (parts[0], parts[1], parts[2]))[axis]


def _turn(tooth: str | None, order: Order, value: float) -> str:
    """Which way a turn about the attachment's own axis of ``order`` goes."""
    if tooth is not None:
        return moment_words(tooth, order, value)
    return (
        f"{'positive' if value > 0.0 else 'negative'} about {AXES[PLANES[order][1]].removeprefix('along ')}"
    )


def _vector(values: Array) -> Vector:
    return (float(values[0]), float(values[1]), float(values[2]))
