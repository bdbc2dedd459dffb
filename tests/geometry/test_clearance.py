"""Play in closed form against a wire outline and a slot moved numerically, and its limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
import shapely.affinity
from scipy.optimize import brentq

from geometry.attachments import Slot
from geometry.clearance import clearance, third_order_play
from geometry.section import Rectangle, Round, Section

INCH = 25.4
HEIGHT_WALLS, DEPTH_WALLS = ("upper wall", "lower wall"), ("floor", "outer wall")


def inches(height: float, depth: float, width: float = 0.130) -> Slot:
    return Slot(height * INCH, depth * INCH, width * INCH)


def wire(height: float, depth: float, radius: float = 0.0) -> Rectangle:
    return Rectangle(height * INCH, depth * INCH, radius * INCH)


def roll_by_search(section: Rectangle, height: float, depth: float) -> tuple[float, tuple[str, str]]:
    """Roll (deg) at which the outline of a shapely box, turned by shapely, exceeds an opening, and which."""
    r, half_height, half_depth = section.edge_radius, section.height / 2, section.depth / 2
    box = shapely.box(r - half_depth, r - half_height, half_depth - r, half_height - r)
    outline = box.buffer(r, quad_segs=500) if r else box

    def rooms(degrees: float) -> tuple[float, float]:
        x0, y0, x1, y1 = shapely.affinity.rotate(outline, degrees, origin=(0, 0)).bounds
        return height - (y1 - y0), depth - (x1 - x0)

    crossed = next(g for g in np.linspace(0.25, 90.0, 360) if min(rooms(g)) < 0.0)
    angle = float(brentq(lambda g: min(rooms(g)), crossed - 0.25, crossed, xtol=1e-10))
    in_height, in_depth = rooms(angle)
    return angle, HEIGHT_WALLS if in_height < in_depth else DEPTH_WALLS


def tilt_by_search(size: float, opening: float, width: float) -> float:
    """Tilt (rad) at which a long bar touches both mouths' edges: distance of two edges across the bar."""

    def room(tilt: float) -> float:
        across = np.array([-math.sin(tilt), math.cos(tilt)])
        upper, lower = np.array([width / 2, opening / 2]), np.array([-width / 2, -opening / 2])
        return float((upper - lower) @ across) - size

    return float(brentq(room, 0.0, math.atan2(opening, width), xtol=1e-15))


@pytest.mark.parametrize(
    ("section", "slot"),
    [
        (wire(0.019, 0.025), inches(0.022, 0.030)),
        (wire(0.019, 0.025, 0.002), inches(0.022, 0.030)),
        (wire(0.016, 0.022, 0.004), inches(0.022, 0.028)),
        (wire(0.017, 0.025), inches(0.022, 0.028)),
        (wire(0.017, 0.025, 0.003), inches(0.022, 0.028)),
        (wire(0.025, 0.017), inches(0.028, 0.022)),
        (wire(0.025, 0.017, 0.003), inches(0.028, 0.022)),
    ],
)
def test_roll_until_a_wall_stops_the_turned_outline(section: Rectangle, slot: Slot) -> None:
    play = clearance(section, slot).third
    angle, walls = roll_by_search(section, slot.height, slot.depth)
    assert play.angle is not None and not play.turns_freely
    # 1000 chords a half turn lie within r (pi/1000)^2/8 of the arcs, about 1e-5 deg of play here.
    assert math.degrees(play.angle) == pytest.approx(angle, abs=1e-4)
    assert play.walls == walls


@pytest.mark.parametrize("section", [wire(0.019, 0.025), wire(0.016, 0.022, 0.004), Round(0.4)])
def test_tilt_until_both_mouths_are_touched(section: Section) -> None:
    slot = inches(0.022, 0.028)
    play = clearance(section, slot)
    assert play.first.angle == pytest.approx(tilt_by_search(section.depth, slot.depth, slot.width), rel=1e-12)
    assert play.second.angle == pytest.approx(
        tilt_by_search(section.height, slot.height, slot.width), rel=1e-12
    )
    assert play.first.walls == DEPTH_WALLS and play.second.walls == HEIGHT_WALLS


def test_linear_play_is_the_total() -> None:
    play = clearance(wire(0.019, 0.025), inches(0.022, 0.028))
    assert play.fits
    assert play.height_mm == pytest.approx(0.0762, rel=1e-12)
    assert play.depth_mm == pytest.approx(0.0762, rel=1e-12)


def test_a_full_size_wire_has_exactly_no_play() -> None:
    play = clearance(wire(0.018, 0.025, 0.002), Slot(0.4572, 0.635, 3.0))
    assert play.fits and play.height_mm == play.depth_mm == 0.0
    assert play.first.angle == play.second.angle == play.third.angle == 0.0
    assert play.third.walls == HEIGHT_WALLS
    assert play.words[-1] == "Third order: no play, held by the upper wall and the lower wall."


def test_one_micrometre_of_clearance_keeps_its_digits() -> None:
    # To first order the roll is gap/depth, the tilt gap/width; the second-order terms are 1e-6 of them.
    play = clearance(Rectangle(0.5, 0.6), Slot(0.5 + 1e-9, 1.0, 3.0))
    gap = (0.5 + 1e-9) - 0.5
    assert play.third.angle == pytest.approx(gap / 0.6, rel=1e-8)
    assert play.second.angle == pytest.approx(gap / 3.0, rel=1e-8)


def test_depth_stops_a_deep_wire_in_a_shallow_slot() -> None:
    play = clearance(wire(0.017, 0.025), inches(0.022, 0.025)).third
    assert play.angle == 0.0 and play.walls == DEPTH_WALLS


@pytest.mark.parametrize("section", [Round(0.4064), Round(0.5588), wire(0.016, 0.016, 0.008)])
def test_a_round_wire_turns_freely_in_third_order_only(section: Section) -> None:
    play = clearance(section, inches(0.022, 0.022))
    assert play.third.turns_freely and play.third.angle is None and play.third.walls == ()
    assert play.first.angle is not None and play.second.angle is not None
    assert play.words[-1] == "Third order: the wire turns freely."


def test_a_square_wire_clears_the_slot_on_its_diagonal_once_its_edges_are_round_enough() -> None:
    # Diagonal (h - 2r) sqrt 2 + 2r = H: r = (h sqrt 2 - H)/(2 sqrt 2 - 2).
    limit = (0.016 * math.sqrt(2) - 0.018) / (2 * math.sqrt(2) - 2)
    assert limit == pytest.approx(0.0056, abs=5e-5)
    below = clearance(wire(0.016, 0.016, limit - 1e-7), inches(0.018, 0.028)).third
    assert below.angle == pytest.approx(math.pi / 4, abs=0.01) and below.walls == HEIGHT_WALLS
    assert clearance(wire(0.016, 0.016, limit + 1e-7), inches(0.018, 0.028)).third.turns_freely


def test_walls_that_clear_the_diagonal_leave_the_others_to_stop_it() -> None:
    # High enough for the diagonal (0.0304 in), not deep enough.
    play = clearance(wire(0.0215, 0.0215), inches(0.031, 0.022)).third
    assert play.walls == DEPTH_WALLS and play.angle is not None and 0.0 < play.angle < 0.1


def test_a_stadium_is_stopped_across_its_long_side_only() -> None:
    # Height all arc: rolled, it grows in height until the height walls stop it; in depth it only shrinks.
    section = wire(0.016, 0.022, 0.008)
    high, shallow = (
        clearance(section, inches(0.018, 0.022)).third,
        clearance(section, inches(0.030, 0.022)).third,
    )
    assert high.walls == HEIGHT_WALLS
    assert high.angle == pytest.approx(math.asin(0.002 / 0.006), rel=1e-12)
    assert shallow.turns_freely


def test_a_wire_larger_than_its_slot_does_not_fit() -> None:
    play = clearance(wire(0.022, 0.028), inches(0.018, 0.025))
    assert not play.fits
    assert play.height_mm == pytest.approx(-0.1016) and play.depth_mm == pytest.approx(-0.0762)
    assert play.words == (
        "The wire does not fit: it is 0.102 mm higher than the slot.",
        "The wire does not fit: it is 0.076 mm deeper than the slot.",
    )
    assert play.first.angle == play.second.angle == play.third.angle == 0.0


def test_tilt_eats_torque_play() -> None:
    section, slot = wire(0.019, 0.025), inches(0.022, 0.028, 0.130)
    alone = third_order_play(section, slot)
    assert alone == clearance(section, slot).third
    for sign in (1, -1):
        left = third_order_play(section, slot, second_tilt=sign * math.radians(1.0))
        opening = 0.022 * math.cos(math.radians(1.0)) - 0.130 * math.sin(math.radians(1.0))
        assert left.angle is not None
        assert math.degrees(left.angle) == pytest.approx(
            roll_by_search(section, opening * INCH, slot.depth)[0], abs=1e-6
        )
        assert math.degrees(left.angle) == pytest.approx(1.69, abs=0.01)


def test_rotation_eats_torque_play_through_the_depth() -> None:
    section, slot = wire(0.019, 0.025), inches(0.022, 0.028, 0.130)
    left = third_order_play(section, slot, first_tilt=math.radians(-1.0))
    opening = 0.028 * math.cos(math.radians(1.0)) - 0.130 * math.sin(math.radians(1.0))
    assert left.walls == DEPTH_WALLS and left.angle is not None
    assert math.degrees(left.angle) == pytest.approx(
        roll_by_search(section, 1.0, opening * INCH)[0], abs=1e-6
    )


def test_no_torque_play_is_left_at_and_beyond_the_second_order_play() -> None:
    section, slot = wire(0.019, 0.025), inches(0.022, 0.028)
    limit = clearance(section, slot).second.angle
    assert limit is not None
    just_before = third_order_play(section, slot, second_tilt=limit - 1e-6).angle
    assert just_before is not None and 0.0 < just_before < 1e-5
    for tilt in (limit + 1e-12, 1.5 * limit):
        assert third_order_play(section, slot, second_tilt=tilt).angle == 0.0
    with pytest.raises(ValueError, match="right angle"):
        third_order_play(section, slot, second_tilt=math.pi / 2)


def test_words_are_sentences_with_units() -> None:
    assert clearance(wire(0.019, 0.025), inches(0.022, 0.030)).words == (
        "Play in height: 0.076 mm in all.",
        "Play in depth: 0.127 mm in all.",
        "First order: 2.19 deg of play either way, stopped by the floor and the outer wall.",
        "Second order: 1.32 deg of play either way, stopped by the upper wall and the lower wall.",
        "Third order: 7.24 deg of play either way, stopped by the upper wall and the lower wall.",
    )
