"""Which lines a restraint puts round the wire, where they lie, and which corners they meet."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from fem.contact_kernel import FRONT_EDGE, LINE
from fem.model import Edge, Ligature, PointTie, SlotWalls
from fem.walls import edge_line, ligature_lines, station_lines, thread_line
from geometry.section import Rectangle, Round

SECTION = Rectangle(0.4, 0.6, 0.05)
WALLS = SlotWalls(0.5, 0.65, np.array([-1.5, -0.5, 1.5]))


def test_each_wall_faces_the_corners_on_its_side() -> None:
    lines = station_lines(SECTION, WALLS)[1]
    assert [(line.axis, line.side) for line in lines] == [(0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0)]
    assert [line.point for line in lines] == [
        (-0.5, 0.25, 0.0), (-0.5, -0.25, 0.0), (-0.5, 0.0, 0.325), (-0.5, 0.0, -0.325),
    ]  # fmt: skip
    for line in lines:
        assert len(line.corners) == 2
        for corner in line.corners:
            assert math.copysign(1.0, (corner.y, corner.z)[line.axis]) == line.side
            assert (abs(corner.y), abs(corner.z), corner.radius) == pytest.approx((0.15, 0.25, 0.05))
            assert corner.half_range < 0.0
        assert {math.copysign(1.0, (corner.z, corner.y)[line.axis]) for corner in line.corners} == {1.0, -1.0}


def test_a_wire_that_can_turn_right_round_is_watched_at_all_corners() -> None:
    """Diagonal sqrt(0.3^2 + 0.4^2) = 0.5 mm in a slot of 0.55 x 0.55 mm."""
    for line in station_lines(Rectangle(0.3, 0.4), SlotWalls(0.55, 0.55, np.array([0.0])))[0]:
        assert len({(corner.y, corner.z) for corner in line.corners}) == 4


def test_a_round_wire_has_one_corner_per_wall() -> None:
    for line in station_lines(Round(0.4), WALLS)[0]:
        (corner,) = line.corners
        assert (corner.y, corner.z, corner.radius) == (0.0, 0.0, 0.2)


@pytest.mark.parametrize("play", [0.0, 4e-4])
def test_walls_with_next_to_no_play_become_one_two_sided_constraint(play: float) -> None:
    lines = station_lines(SECTION, SlotWalls(0.4 + play, 0.7, np.array([0.0])))[0]
    assert [line.axis for line in lines] == [0, 1, 1]
    assert lines[0].point == (0.0, 0.0, 0.0)
    assert [corner.radius for corner in lines[0].corners] == [0.0, 0.0]
    halves = [corner.half_range for corner in lines[0].corners]
    assert halves == pytest.approx([0.5 * play] * 2, abs=1e-15)


def test_tapered_walls_are_as_high_as_said_at_the_floor() -> None:
    taper = math.radians(6.0)
    upper, lower = station_lines(SECTION, replace(WALLS, taper=taper))[0][:2]
    for line, side in ((upper, 1.0), (lower, -1.0)):
        down = -0.325 / line.edge[2]  # along the line from z = 0 to the floor
        assert line.point[1] + down * line.edge[1] == pytest.approx(side * 0.25, abs=1e-15)
        assert math.atan2(line.edge[1], line.edge[2]) == pytest.approx(side * 0.5 * taper)
        assert np.linalg.norm(line.edge) == pytest.approx(1.0)


def test_rounded_mouths_are_arcs_that_touch_the_walls() -> None:
    """The arc's centre lies its radius behind the wall, where the plane wall ends."""
    radius = 0.2
    stations = station_lines(SECTION, replace(WALLS, mouth_radius=radius))
    plain = station_lines(SECTION, WALLS)
    for here, there in zip(stations[0] + stations[2], plain[0] + plain[2], strict=True):
        moved = np.subtract(here.point, there.point)
        assert moved[1 + here.axis] == pytest.approx(here.side * radius)
        assert np.abs(moved).sum() == pytest.approx(radius)
        assert [c.radius for c in here.corners] == pytest.approx([c.radius + radius for c in there.corners])
    assert stations[1] == plain[1]


def test_an_open_slot_ends_at_its_front() -> None:
    lines = station_lines(SECTION, replace(WALLS, front="open"))[1]
    assert [(line.kind, line.axis, line.side) for line in lines] == [
        (LINE, 0, 1.0), (LINE, 0, -1.0), (LINE, 1, -1.0), (FRONT_EDGE, 0, 1.0), (FRONT_EDGE, 0, -1.0),
    ]  # fmt: skip
    assert [line.end for line in lines[:3]] == [0.325, 0.325, math.inf]
    assert lines[3].point == (-0.5, 0.25, 0.325)


def test_walls_give_way_by_their_share_of_the_slot() -> None:
    """Modulus times the length of slot at each station, added up over the slot: modulus times width."""
    stations = station_lines(SECTION, replace(WALLS, modulus=2.0e4))
    assert sum(1.0 / lines[0].compliance for lines in stations) == pytest.approx(2.0e4 * 3.0)
    assert {line.compliance for line in station_lines(SECTION, WALLS)[0]} == {0.0}


def test_a_ligature_presses_a_flat_side_with_its_whole_stiffness() -> None:
    ligature = Ligature(0.5, 8.0, np.array([-1.5, 1.5]), np.array([0.25, 0.75]))
    walls = replace(WALLS, front=ligature)
    lines = ligature_lines(SECTION, walls, ligature)
    assert [line.point[2] for line in lines] == pytest.approx([0.5 - 0.325] * 2)
    assert sum(1.0 / line.compliance for line in lines for _ in line.corners) == pytest.approx(8.0)
    round_lines = ligature_lines(Round(0.4), walls, ligature)
    assert sum(1.0 / line.compliance for line in round_lines) == pytest.approx(8.0)
    with pytest.raises(ValueError, match="shares sum to one"):
        Ligature(0.5, 8.0, np.array([0.0]), np.array([0.5]))
    with pytest.raises(ValueError, match="above zero"):
        Ligature(0.5, 0.0, np.array([0.0]), np.array([1.0]))


def test_edges_touch_where_the_support_stands() -> None:
    for below, side in ((True, -1.0), (False, 1.0)):
        line = edge_line(SECTION, Edge(radius=1.0, below=below))
        assert line.point == (0.0, side, 0.0)
        assert {corner.sign for corner in line.corners} == {side}
        assert [corner.y for corner in line.corners] == pytest.approx([side * 0.15] * 2)
        assert [corner.radius for corner in line.corners] == [1.05, 1.05]


def test_a_thread_has_its_length_for_a_radius() -> None:
    line = thread_line(PointTie(thread=0.3, stiffness=20.0))
    assert (line.corners[0].radius, line.compliance) == (0.3, 0.05)
