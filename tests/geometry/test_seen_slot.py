"""Play in slots with tapered walls, rounded mouths and open fronts, against the slot's edges one by one.

The witness knows no formula of play: each mouth is many lines, along the arcs of its rounded edges; the wire is a
polygon; linear programming looks for a place of the wire that keeps it from all lines, seen along the wire.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from scipy.optimize import brentq, linprog

from geometry.attachments import Slot
from geometry.clearance import Front, clearance, front_of, third_order_play
from geometry.ligation import Ligation
from geometry.section import Rectangle, Round, Section

Array = NDArray[np.float64]

SHARP = Rectangle(0.4826, 0.635)
ROUNDED = Rectangle(0.4318, 0.5588, 0.06)
HEIGHT_WALLS, DEPTH_WALLS = ("upper wall", "lower wall"), ("floor", "outer wall")


def outline(section: Section) -> Array:
    """The wire as a polygon (n, 2) = (y, z), drawn by shapely."""
    box = shapely.box(-section.corner_y, -section.corner_z, section.corner_y, section.corner_z)
    if section.edge_radius:
        box = box.buffer(section.edge_radius, quad_segs=300)
    return np.asarray(box.exterior.coords)


def edges(slot: Slot, front: Front) -> list[tuple[Array, Array, Array]]:
    """Lines of the slot's surface at both mouths: a point, the direction, the way into the material."""
    b, h, d = 0.5 * slot.taper, 0.5 * slot.height, 0.5 * slot.depth
    # The floor in the middle of the slot's height at z = -d, where the height is the slot's.
    walls = [
        (np.array([0.0, side * h, -d]), np.array([0.0, side * math.cos(b), -math.sin(b)])) for side in (1, -1)
    ]
    walls.append((np.array([0.0, 0.0, -d]), np.array([0.0, 0.0, -1.0])))
    if front == "closed":
        walls.append((np.array([0.0, 0.0, d]), np.array([0.0, 0.0, 1.0])))
    lines = []
    for point, normal in walls:
        along = np.cross(normal, [1.0, 0.0, 0.0])
        for mouth in (1.0, -1.0):
            way = np.array([mouth, 0.0, 0.0])
            centre = point + way * (0.5 * slot.width - slot.mouth_radius) + slot.mouth_radius * normal
            # A wire tilted by a few degrees touches the arc as many degrees from the wall.
            for turn in np.linspace(0.0, math.radians(12.0), 60 if slot.mouth_radius else 1):
                off = way * math.sin(turn) - normal * math.cos(turn)
                lines.append((centre + slot.mouth_radius * off, along, normal))
    return lines


def slack(
    section: Section, slot: Slot, front: Front, second: float = 0.0, first: float = 0.0, roll: float = 0.0
) -> float:
    """Room (mm) from the wire, so turned, to the nearest edge, where it has most; in an open slot on its floor."""
    about_z = np.array(
        [[math.cos(second), -math.sin(second), 0], [math.sin(second), math.cos(second), 0], [0, 0, 1.0]]
    )
    about_y = np.array(
        [[math.cos(first), 0, math.sin(first)], [0, 1.0, 0], [-math.sin(first), 0, math.cos(first)]]
    )
    frame = about_z @ about_y
    turn = np.array([[math.cos(roll), -math.sin(roll)], [math.sin(roll), math.cos(roll)]])
    points = outline(section) @ turn.T
    rows, limits, on_floor = [], [], []
    for point, along, into in edges(slot, front):
        seen, way, outward = (vector @ frame[:, 1:] for vector in (point, along, into))
        normal = np.array([way[1], -way[0]]) / np.linalg.norm(way)
        normal *= math.copysign(1.0, normal @ outward)
        rows.append([*normal, 1.0])
        limits.append(normal @ seen - (points @ normal).max())
        on_floor.append(into[2] == -1.0)
    table, most = np.array(rows), np.array(limits)
    height = (None, None)
    if front == "open":
        table[on_floor, 2] = 0.0
        height = (-most[on_floor].min(),) * 2
    found = linprog([0, 0, -1], table, most, bounds=[(None, None), height, (None, None)])
    assert found.success
    return float(-found.fun)


def by_search(section: Section, slot: Slot, front: Front, order: str, **tilts: float) -> float | None:
    """Smallest angle (rad) in an order at which nothing is left; None where something always is."""
    angles = np.radians(np.arange(0.5, 60.0, 2.0))

    def room(angle: float) -> float:
        return slack(section, slot, front, **{**tilts, order: angle})

    before = 0.0
    for angle in angles:
        if room(float(angle)) < 0.0:
            return float(brentq(room, before, float(angle), xtol=1e-7))
        before = float(angle)
    return None


SLOTS = [
    Slot(0.5588, 0.7112, 3.0, math.radians(3.0)),
    Slot(0.5588, 0.7112, 3.0, math.radians(-3.0)),
    Slot(0.52, 0.75, 2.5, math.radians(8.0), 0.2),
    Slot(0.60, 0.75, 2.5, math.radians(-5.0), 0.2),
    Slot(0.5588, 0.7112, 3.0, 0.0, 0.3),
]


@pytest.mark.parametrize("front", ["closed", "open"])
@pytest.mark.parametrize("section", [SHARP, ROUNDED], ids=["sharp", "rounded"])
@pytest.mark.parametrize(
    "slot", SLOTS, ids=["opening", "closing", "opening, round", "closing, round", "round"]
)
def test_roll_against_edges(slot: Slot, section: Rectangle, front: Front) -> None:
    found = clearance(section, slot, front).third
    expected = by_search(section, slot, front, "roll")
    assert (found.angle is None) == (expected is None)
    if expected is not None:
        # 300 chords a quarter turn lie within r (pi/600)^2/8 of the arcs.
        assert found.angle == pytest.approx(expected, abs=1e-5)
    assert found.walls in (HEIGHT_WALLS, DEPTH_WALLS, ())


@pytest.mark.parametrize("order", ["second", "first"])
@pytest.mark.parametrize("section", [SHARP, ROUNDED], ids=["sharp", "rounded"])
@pytest.mark.parametrize(
    "slot", SLOTS, ids=["opening", "closing", "opening, round", "closing, round", "round"]
)
def test_tilt_against_edges(slot: Slot, section: Rectangle, order: str) -> None:
    found = getattr(clearance(section, slot), order)
    expected = by_search(section, slot, "closed", order)
    # 60 lines on 12 degrees lie within m (0.0036)^2/8 of it.
    assert found.angle == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize("front", ["closed", "open"])
@pytest.mark.parametrize("order", ["second", "first"])
@pytest.mark.parametrize(
    "slot", SLOTS, ids=["opening", "closing", "opening, round", "closing, round", "round"]
)
def test_roll_left_to_a_tilted_wire(slot: Slot, order: str, front: Front) -> None:
    tilt = math.radians(0.7)
    found = third_order_play(ROUNDED, slot, **{f"{order}_tilt": tilt}, front=front)
    expected = by_search(ROUNDED, slot, front, "roll", **{order: tilt})
    assert (found.angle is None) == (expected is None)
    if expected is not None:
        assert found.angle == pytest.approx(expected, abs=1e-5)


def test_second_order_in_an_open_slot_is_that_of_a_wire_on_the_floor() -> None:
    slot = SLOTS[0]
    on_floor = clearance(ROUNDED, slot, "open").second.angle
    assert on_floor == pytest.approx(by_search(ROUNDED, slot, "open", "second"), abs=1e-5)
    closed = clearance(ROUNDED, slot).second.angle
    assert on_floor is not None and closed is not None and on_floor < closed


def test_a_vanishing_taper_is_none() -> None:
    for section in (SHARP, ROUNDED):
        parallel = clearance(section, Slot(0.5588, 0.9, 3.0, 0.0, 0.1))
        for slope in (1e-9, -1e-9):
            nearly = clearance(section, Slot(0.5588, 0.9, 3.0, slope, 0.1))
            for order in ("first", "second", "third"):
                assert getattr(nearly, order).angle == pytest.approx(getattr(parallel, order).angle, abs=1e-7)
            assert nearly.height_mm == pytest.approx(parallel.height_mm, abs=1e-8)


def test_rounded_mouths_leave_the_roll_and_widen_the_tilt() -> None:
    sharp, rounded = (
        clearance(SHARP, Slot(0.5588, 0.9, 3.0)),
        clearance(SHARP, Slot(0.5588, 0.9, 3.0, 0.0, 0.3)),
    )
    assert rounded.third == sharp.third
    # For small angles the tilt is the gap over what is plane: 1 um of gap.
    narrow = clearance(SHARP, Slot(0.4836, 0.9, 3.0, 0.0, 0.3)).second.angle
    assert narrow == pytest.approx(0.001 / 2.4, rel=1e-3)


def test_a_wire_as_high_as_the_floor_of_an_opening_slot_turns_onto_its_wall() -> None:
    """By hand: rolled by half the taper one side lies flat on a wall and the other has come away from its own."""
    slot = Slot(0.5, 0.9, 3.0, math.radians(6.0))
    found = clearance(Rectangle(0.5, 0.4), slot, "open")
    assert found.floor_height_mm == 0.0 and found.height_mm > 0.0
    assert found.third.angle is not None and found.third.angle > math.radians(3.0)
    assert found.words[0] == "Play in height: 0.026 mm in all, centred in depth; 0.000 mm on the floor."


def test_a_wire_that_does_not_reach_the_floor() -> None:
    found = clearance(Rectangle(0.51, 0.4), Slot(0.5, 0.9, 3.0, math.radians(6.0)))
    assert found.fits and found.floor_height_mm == pytest.approx(-0.01, abs=1e-12)
    assert found.words[0] == "Play in height: 0.016 mm in all, centred in depth; it does not reach the floor."
    # On its two walls, held down: no play.
    assert clearance(Rectangle(0.51, 0.4), Slot(0.5, 0.9, 3.0, math.radians(6.0)), "open").third.angle == 0.0


def test_the_depth_of_an_open_slot_stops_nothing() -> None:
    # Closed, the depth stops this roll at 12.06 deg; open, the height does at 12.48.
    section, slot = Rectangle(0.017 * 25.4, 0.025 * 25.4), Slot(0.022 * 25.4, 0.028 * 25.4, 3.0)
    closed, opened = clearance(section, slot), clearance(section, slot, "open")
    assert closed.third.walls == DEPTH_WALLS and opened.third.walls == HEIGHT_WALLS
    assert opened.third.angle is not None and math.degrees(opened.third.angle) == pytest.approx(
        12.48, abs=0.01
    )
    assert opened.first.turns_freely and opened.first.walls == ()
    assert opened.second == closed.second
    assert opened.words == (
        "Play in height: 0.127 mm in all.",
        "Open in front: the depth stops neither a roll nor a tilt in first order.",
        "First order: the wire turns freely.",
        "Second order: 2.42 deg of play either way, stopped by the upper wall and the lower wall.",
        "Third order: 12.48 deg of play either way, stopped by the upper wall and the lower wall.",
    )
    # A wire that stands out in front is no misfit where nothing closes the front.
    deep = Rectangle(0.4, 0.8)
    assert clearance(deep, slot, "open").fits and not clearance(deep, slot).fits


@pytest.mark.parametrize("front", ["closed", "open"])
@pytest.mark.parametrize("taper", [-4.0, 4.0])
def test_a_round_wire_rolls_freely_between_any_walls(taper: float, front: Front) -> None:
    found = clearance(Round(0.4), Slot(0.5, 0.6, 3.0, math.radians(taper)), front)
    assert found.fits and found.third.turns_freely


def test_only_a_rigid_door_closes_the_front() -> None:
    assert front_of(Ligation()) == "closed"
    assert {
        front_of(Ligation(kind)) for kind in ("elastomeric", "steel ligature", "active clip", "none")
    } == {"open"}
