"""Play in slots with tapered walls, rounded mouths and an open front, against a wire moved numerically.

The witness knows no formula of the program: it takes the outline's points and the lines of which the walls' surfaces
consist, and asks a linear program (``scipy.optimize.linprog``) for the place with the most room.  A wire fits where
all points of its outline lie on the slot's side of every such line, seen along the wire.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq, linprog

from geometry.attachments import Slot
from geometry.clearance import Front, PlayInOrder, clearance, third_order_play
from geometry.pose import Pose
from geometry.section import Rectangle, Round, Section

Array = NDArray[np.float64]
Line = tuple[Array, Array, Array]
"""A point of a wall's surface, the direction of the line through it, and which way the wall lies."""

HEIGHT_WALLS = ("upper wall", "lower wall")
SHARP = Rectangle(0.48, 0.64)
ROUNDED = Rectangle(0.48, 0.64, 0.06)


def wall_lines(slot: Slot, front: Front, on_the_floor: bool) -> list[Line]:
    half = 0.5 * slot.taper
    flat, p = 0.5 * slot.width - slot.mouth_radius, slot.mouth_radius
    tops = [(side, np.array([0.0, side * math.sin(half), math.cos(half)]),
             np.array([0.0, side * math.cos(half), -math.sin(half)]),
             np.array([0.0, side * 0.5 * slot.height, 0.0])) for side in (1.0, -1.0)]  # fmt: skip
    walls = [(edge, away, place) for _, edge, away, place in tops]
    depth_edge = np.array([0.0, 1.0, 0.0])
    walls.append((depth_edge, np.array([0.0, 0.0, -1.0]), np.zeros(3)))
    if front == "closed":
        walls.append((depth_edge, np.array([0.0, 0.0, 1.0]), np.array([0.0, 0.0, slot.depth])))
    lines = []
    for edge, away, place in walls:
        for end in (1.0, -1.0):
            for turn in np.linspace(0.0, 0.5 * math.pi, 721) if p else [0.0]:
                along = np.array([end * (flat + p * math.sin(turn)), 0.0, 0.0])
                lines.append((place + along + p * (1.0 - math.cos(turn)) * away, edge, away))
    if on_the_floor:
        # as if a plate lay on it: what presses it down
        lines.append((np.zeros(3), depth_edge, np.zeros(3)))
    return lines


def room(section: Section, slot: Slot, front: Front, second: float, first: float, roll: float) -> float:
    """Most room (mm) that a wire so turned has towards the wall it is closest to; below zero: it fits nowhere.

    Before an open front it lies on the floor: there, the floor takes no part in the room.
    """
    axes = Pose.from_angles(np.zeros(3), first, second, roll).axes
    tangent = axes[:, 0]
    outline = section.outline(400) @ axes[:, 1:].T
    coefficients, limits, floors = [], [], []
    for point, edge, away in wall_lines(slot, front, False):
        across = np.cross(edge, tangent)
        across *= np.sign(across @ away) / np.linalg.norm(across)
        reach = float((outline @ across).max())
        limit = float(across @ point) - reach
        if away[2] == -1.0 and front == "open":
            floors.append(limit / across[2])
            continue
        coefficients.append([across[1], across[2], 1.0])
        limits.append(limit)
    level = (max(floors), max(floors)) if floors else (None, None)
    found = linprog(
        [0.0, 0.0, -1.0], coefficients, limits, bounds=[(None, None), level, (None, None)], method="highs"
    )
    assert found.success
    return float(found.x[2])


def first_stop(room_at: Callable[[float], float], step: float, last: float) -> float | None:
    """rad."""
    before = 0.0
    while before < last:
        after = min(before + step, last)
        if room_at(after) < 0.0:
            return float(brentq(room_at, before, after, xtol=1e-12))
        before = after
    return None


CASES: list[tuple[Section, Slot, Front]] = [
    (SHARP, Slot(0.56, 0.72, 3.0, taper=math.radians(4.0)), "closed"),
    (SHARP, Slot(0.56, 0.72, 3.0, taper=math.radians(4.0)), "open"),
    (SHARP, Slot(0.56, 0.80, 3.0, taper=math.radians(-4.0)), "closed"),
    (SHARP, Slot(0.56, 0.80, 3.0, taper=math.radians(-4.0)), "open"),
    (ROUNDED, Slot(0.50, 0.70, 3.0, taper=math.radians(12.0)), "closed"),
    (ROUNDED, Slot(0.50, 0.70, 3.0, taper=math.radians(12.0)), "open"),
    (ROUNDED, Slot(0.56, 0.72, 3.0, taper=math.radians(4.0), mouth_radius=0.3), "closed"),
    (ROUNDED, Slot(0.56, 0.72, 3.0, taper=math.radians(4.0), mouth_radius=0.3), "open"),
    (ROUNDED, Slot(0.56, 0.72, 3.0, mouth_radius=0.3), "closed"),
    (SHARP, Slot(0.56, 0.72, 3.0, mouth_radius=1.2), "open"),
    # a wire higher than the slot at its floor
    (SHARP, Slot(0.47, 0.72, 3.0, taper=math.radians(20.0)), "closed"),
]


@pytest.mark.parametrize(("section", "slot", "front"), CASES)
def test_third_order_ends_where_no_place_fits(section: Section, slot: Slot, front: Front) -> None:
    play = clearance(section, slot, front).third
    found = first_stop(lambda g: room(section, slot, front, 0.0, 0.0, g), math.radians(1.0), 0.5 * math.pi)
    assert play.angle == pytest.approx(found, abs=2e-6)


@pytest.mark.parametrize(("section", "slot", "front"), CASES)
def test_second_order_ends_where_no_place_fits(section: Section, slot: Slot, front: Front) -> None:
    play = clearance(section, slot, front)
    found = first_stop(lambda t: room(section, slot, front, t, 0.0, 0.0), math.radians(0.5), 1.0)
    assert play.second.angle == pytest.approx(found, abs=1e-6) and play.second.walls == HEIGHT_WALLS


@pytest.mark.parametrize(("section", "slot", "front"), CASES)
def test_first_order_ends_where_no_place_fits(section: Section, slot: Slot, front: Front) -> None:
    play = clearance(section, slot, front).first
    found = first_stop(lambda t: room(section, slot, front, 0.0, t, 0.0), math.radians(0.5), 1.0)
    if front == "open" and slot.taper >= 0.0:
        assert found is None and play == PlayInOrder(None, ())
    else:
        assert play.angle == pytest.approx(found, abs=1e-6)


@pytest.mark.parametrize(("section", "slot", "front"), CASES[:8])
def test_third_order_left_to_a_tilted_wire(section: Section, slot: Slot, front: Front) -> None:
    for second, first in ((math.radians(0.6), 0.0), (0.0, math.radians(0.5))):
        play = third_order_play(section, slot, second, -first, front)
        found = first_stop(
            lambda g, s=second, f=first: room(section, slot, front, s, f, g),  # type: ignore[misc]
            math.radians(1.0),
            0.5 * math.pi,
        )
        # Without any play, the search finds the last digits of the linear program.
        assert play.angle == pytest.approx(found, abs=2e-6)


def test_a_taper_that_vanishes_gives_the_play_of_parallel_walls() -> None:
    parallel = clearance(ROUNDED, Slot(0.56, 0.72, 3.0))
    for front in ("closed", "open"):
        nearly = clearance(ROUNDED, Slot(0.56, 0.72, 3.0, taper=1e-9), front)  # type: ignore[arg-type]
        for order in ("second", "third"):
            assert getattr(nearly, order).angle == pytest.approx(getattr(parallel, order).angle, abs=1e-8)
        assert nearly.height_mm == pytest.approx(parallel.height_mm, abs=1e-8)


def test_a_full_size_wire_in_tapered_walls_is_loose_in_front_only() -> None:
    """On the floor it fills the slot, rolls until its side lies flat on a wall, half the taper, and no further where
    its edges are sharp: beyond, its height across the corners grows at once with its depth.  Derived by hand.
    """
    slot = Slot(0.48, 0.72, 3.0, taper=math.radians(6.0))
    held = clearance(SHARP, slot, "open")
    assert held.height_mm == 0.0 and held.second.angle == 0.0
    # H cos e = h cos(g + e) + d sin(g - e), e half the taper
    e, g = math.radians(3.0), held.third.angle
    assert g is not None and g > e
    assert 0.48 * math.cos(g + e) + 0.64 * math.sin(g - e) == pytest.approx(0.48 * math.cos(e), rel=1e-12)
    loose = clearance(SHARP, slot)
    assert loose.height_mm == pytest.approx(2.0 * 0.08 * math.tan(math.radians(3.0)), rel=1e-12)
    assert loose.third.walls == (*HEIGHT_WALLS, "outer wall")


def test_a_wire_too_high_for_tapered_walls_does_not_fit() -> None:
    play = clearance(Rectangle(0.60, 0.64), Slot(0.56, 0.72, 3.0, taper=math.radians(2.0)))
    assert not play.fits and play.second.angle == play.third.angle == 0.0
    assert play.height_mm == pytest.approx(-0.04 + 0.16 * math.tan(math.radians(1.0)), rel=1e-9)


def test_a_round_wire_turns_freely_between_tapered_walls() -> None:
    play = clearance(Round(0.4), Slot(0.56, 0.72, 3.0, taper=math.radians(5.0), mouth_radius=0.1))
    assert play.third.turns_freely and play.third.walls == ()
    assert play.second.angle is not None and play.second.angle > 0.0


def test_rounded_mouths_give_more_play_to_tilts_and_none_to_rolls() -> None:
    sharp, rounded = (
        clearance(ROUNDED, Slot(0.56, 0.72, 3.0)),
        clearance(ROUNDED, Slot(0.56, 0.72, 3.0, 0.0, 0.2)),
    )
    assert sharp.third == rounded.third
    for order in ("first", "second"):
        assert getattr(rounded, order).angle > getattr(sharp, order).angle


def test_an_open_front_stops_nothing() -> None:
    slot = Slot(0.5588, 0.635, 3.0)
    section = Rectangle(0.4318, 0.635)
    closed, opened = clearance(section, slot), clearance(section, slot, "open")
    assert closed.first.angle == 0.0 and closed.third.angle == 0.0
    assert opened.first == PlayInOrder(None, ()) and opened.second == closed.second
    # the published play by height alone: Papageorgiou's equation, see tests/published/test_play.py
    assert opened.third.walls == HEIGHT_WALLS and opened.third.angle is not None
    assert math.degrees(opened.third.angle) == pytest.approx(12.48, abs=0.01)
    assert opened.words[1:3] == (
        "Open in front: a wire on the floor lies 0.000 mm deeper than the slot's front.",
        "First order: nothing stops the wire in front.",
    )


def test_a_wire_that_stands_out_of_an_open_slot_fits() -> None:
    section, slot = Rectangle(0.4318, 0.7112), Slot(0.5588, 0.635, 3.0)
    assert not clearance(section, slot).fits
    play = clearance(section, slot, "open")
    assert play.fits
    assert play.words[1] == (
        "Open in front: the wire stands out by 0.076 mm. Its third-order play is larger than the one given, which is "
        "that between walls as deep as the wire."
    )
