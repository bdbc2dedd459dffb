"""Loops by name, composed of runs and bends in the second order.

Each begins and ends on the wire's own line, points up (+y), and is measured at the centreline: its height from
that line to its highest place.  Each has a station "apex" there.  ``mirrored`` turns one down, ``run_backwards``
left to right.  All sizes are mm; ``radius`` is that of the bends which are not named otherwise.
"""

from __future__ import annotations

import math

from geometry.drawn_shapes import Hand, Item, Mark, helix, run
from geometry.wire_shapes import Bend

QUARTER = 0.5 * math.pi
HALF = math.pi
# A run that should have no length may come out a little below zero from sums of typed-in sizes (mm).
ROUNDING = 1e-9


def _sizes(**sizes: float) -> None:
    for name, value in sizes.items():
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"the {name} of a loop must be a finite length above zero: got {value!r} mm")


def _room(length: float, what: str, remedy: str) -> float:
    """``length`` if it is zero or more."""
    if length < -ROUNDING:
        raise ValueError(f"{what} would be {length:.3g} mm long: {remedy}")
    return max(length, 0.0)


def _bend(angle: float, radius: float) -> Bend:
    return Bend(angle, "second", radius)


def vertical_loop(height: float, width: float, radius: float) -> tuple[Item, ...]:
    """Two legs ``width`` apart under a half circle.

    Takes ``width`` + 2 ``radius`` of the line.  Raises ValueError where height leaves no room for the bends.
    """
    _sizes(height=height, width=width, radius=radius)
    top = 0.5 * width
    leg = run(
        _room(height - radius - top, "a leg of the loop", "make it higher, narrower or its bends sharper")
    )
    foot = _bend(QUARTER, radius)
    return (foot, *leg, _bend(-QUARTER, top), Mark("apex"), _bend(-QUARTER, top), *leg, foot)


def vertical_loop_with_helix(
    height: float, width: float, radius: float, turns: int, pitch: float, hand: Hand = "right"
) -> tuple[Item, ...]:
    """A vertical loop with ``turns`` whole turns of a helix more at its top, as wide as the loop.

    The helix lies square to the loop, its axis along the wire's depth.  It sets the legs (turns + 1/2) pitches
    apart in depth, so the legs lean, by first-order bends of ``radius``, and the wire comes back to its own
    line.  A right-handed one runs inwards (-z) from the first leg to the second.  "apex" is where it first
    passes over the top.

    Raises ValueError for less than one turn, or sizes that leave no room for the bends.
    """
    _sizes(height=height, width=width, radius=radius, pitch=pitch)
    if turns < 1:
        raise ValueError(f"a loop with a helix needs one turn or more: got {turns!r}")
    top = 0.5 * width
    leg_room = _room(height - radius - top, "a leg of the loop", "make it higher or narrower")
    climb = math.atan2(pitch, 2.0 * math.pi * top)
    lean, leg = _leaning_leg(leg_room, radius, climb, 0.5 * (turns + 0.5) * pitch)
    # Slopes are out of the loop's plane, positive to the side the helix runs to.
    side = -1.0 if hand == "right" else 1.0

    def slope(before: float, after: float) -> Bend:
        # A slope to +z is a first-order bend of the negative sense.
        return Bend(side * (before - after), "first", radius)

    foot = _bend(QUARTER, radius)
    return (
        foot, slope(0.0, -lean), *run(leg), slope(-lean, climb),
        helix(-0.25, width, pitch, "second", hand), Mark("apex"),
        helix(-(turns + 0.25), width, pitch, "second", hand),
        slope(climb, -lean), *run(leg), slope(-lean, 0.0), foot,
    )  # fmt: skip


def _leaning_leg(room: float, radius: float, climb: float, depth: float) -> tuple[float, float]:
    """Lean (rad) and length (mm) of legs that go back by half of what the helix advances.

    A bend of radius r from slope a to b climbs r |sin b - sin a| and moves aside by r (cos a - cos b) times the
    sense of the turn.  The leg's slope -lean and length l fill the height ``room`` and bring it ``depth`` back::

        2 r sin(lean) + r sin(climb) + l cos(lean) = room
        r (1 - cos(lean)) - r (cos(lean) - cos(climb)) + l sin(lean) = depth
    """

    def length(lean: float) -> float:
        return (room - radius * (2.0 * math.sin(lean) + math.sin(climb))) / math.cos(lean)

    def missing(lean: float) -> float:
        aside = radius * (1.0 - 2.0 * math.cos(lean) + math.cos(climb))
        return aside + length(lean) * math.sin(lean) - depth

    from scipy.optimize import brentq

    steepest = math.radians(60.0)
    if missing(steepest) < 0.0 or missing(0.0) > 0.0:
        raise ValueError(
            "the legs of the loop are too short to lean back by what its helix takes in depth: "
            "make it higher, its pitch smaller or its bends sharper"
        )
    lean = float(brentq(missing, 0.0, steepest, xtol=1e-15))
    return lean, _room(length(lean), "a leg of the loop", "make it higher or its bends sharper")


def t_loop(height: float, width: float, head: float, gap: float, radius: float) -> tuple[Item, ...]:
    """Two legs ``gap`` apart under a head ``width`` wide and ``head`` high, its ends half circles.

    Stations "apex" in the middle of the head's top, "left end" and "right end" at its two ends.  Takes ``gap`` +
    2 ``radius`` of the line.  Raises ValueError for sizes that leave no room for the bends.
    """
    _sizes(height=height, width=width, head=head, gap=gap, radius=radius)
    leg = run(_room(height - head - 2.0 * radius, "a leg of the T loop", "make it higher or its head lower"))
    under = run(
        _room(
            0.5 * (width - gap - head) - radius,
            "the run under each side of the head",
            "make the T loop wider, or its head lower, its gap or radius smaller",
        )
    )
    half_top = run(0.5 * (width - head))
    turn, end = _bend(QUARTER, radius), _bend(-QUARTER, 0.5 * head)
    left: tuple[Item, ...] = (turn, *leg, turn, *under, end, Mark("left end"), end, *half_top)
    right: tuple[Item, ...] = (*half_top, end, Mark("right end"), end, *under, turn, *leg, turn)
    return (*left, Mark("apex"), *right)


def l_loop(height: float, width: float, head: float, gap: float, radius: float) -> tuple[Item, ...]:
    """Two legs ``gap`` apart, the head over the second one, its toe to the right.

    ``width`` from the first leg to the toe, ``head`` from the top of the head to its underside.  Stations
    "apex" in the middle of the head's top and "toe".  Takes ``gap`` + 2 ``radius`` of the line.  Raises
    ValueError for sizes that leave no room for the bends.
    """
    _sizes(height=height, width=width, head=head, gap=gap, radius=radius)
    first = run(_room(height - 2.0 * radius, "the first leg of the L loop", "make it higher"))
    second = run(
        _room(
            height - head - 2.0 * radius, "the second leg of the L loop", "make it higher or its head lower"
        )
    )
    under = run(
        _room(
            width - 0.5 * head - gap - radius,
            "the run under the head",
            "make the L loop wider, or its head lower, its gap or radius smaller",
        )
    )
    half_top = run(0.5 * (width - radius - 0.5 * head))
    turn, end = _bend(QUARTER, radius), _bend(-QUARTER, 0.5 * head)
    over: tuple[Item, ...] = (*half_top, Mark("apex"), *half_top, end, Mark("toe"), end, *under)
    return (turn, *first, _bend(-QUARTER, radius), *over, turn, *second, turn)
