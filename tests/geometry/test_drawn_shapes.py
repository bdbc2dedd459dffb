"""Helices, mirror images, stations and loops against analytic geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.drawn_shapes import Item, Mark, helix, mirrored, run_backwards, shape_of
from geometry.loops import l_loop, t_loop, vertical_loop, vertical_loop_with_helix
from geometry.wire_shapes import Bend, Curved, PassiveShape, Station, Straight, Twist

MIXED: tuple[Item, ...] = (
    Straight(2.0),
    Bend(0.7, "first", 1.5),
    Mark("knee"),
    Twist(0.4, 1.0),
    helix(1.25, 2.0, 0.6, "second", "left"),
    Bend(-0.5, "second", 2.0),
    Straight(3.0),
)


def samples(shape: PassiveShape, count: int = 200) -> np.ndarray:
    return np.linspace(0.0, shape.length, count)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("turns", [2.5, -1.75])
@pytest.mark.parametrize("order", ["first", "second"])
def test_a_helix_is_the_analytic_helix(turns: float, order: str, hand: str) -> None:
    """(r cos t, r sin t, b t): do Carmo, Differential Geometry of Curves and Surfaces, 1976, section 1-5 exercise 1."""
    diameter, pitch = 3.0, 0.7
    shape = PassiveShape((helix(turns, diameter, pitch, order, hand),))  # type: ignore[arg-type]
    r, b = 0.5 * diameter, pitch / (2.0 * math.pi)
    assert shape.length == pytest.approx(abs(turns) * math.hypot(2.0 * math.pi * r, pitch), rel=1e-14)
    s = samples(shape)
    t = s / math.hypot(r, b)
    b = b if hand == "right" else -b
    helix_ = np.column_stack((r * np.cos(t), r * np.sin(t), b * t))
    tangent = np.array([0.0, r, b]) / math.hypot(r, b)
    normal = np.array([-1.0, 0.0, 0.0])  # to the axis
    # The wire's tangent is the helix's; its normal is the side the bend turns to.
    side = math.copysign(1.0, turns) * (
        np.array([0.0, 1.0, 0.0]) if order == "second" else np.array([0.0, 0.0, -1.0])
    )
    wire_axes = np.column_stack(((1.0, 0.0, 0.0), side, np.cross((1.0, 0.0, 0.0), side)))
    turn = wire_axes @ np.column_stack((tangent, normal, np.cross(tangent, normal))).T
    np.testing.assert_allclose(shape.frames(s)[0], (helix_ - helix_[0]) @ turn.T, atol=1e-12)


def test_a_right_handed_helix_moves_along_its_axis() -> None:
    for order, axis in (("second", 2), ("first", 1)):
        for hand, sense in (("right", 1.0), ("left", -1.0)):
            shape = PassiveShape((helix(2.0, 3.0, 0.7, order, hand),))  # type: ignore[arg-type]
            end, axes = shape.frames(shape.length)
            assert np.linalg.norm(end[0]) == pytest.approx(1.4, rel=1e-12)  # two pitches
            assert sense * end[0][axis] > 1.39
            np.testing.assert_allclose(axes[0], np.eye(3), atol=1e-13)


def test_a_helix_of_no_pitch_is_a_bend() -> None:
    assert helix(0.25, 3.0, 0.0).curvature == pytest.approx(Bend(0.5 * math.pi, "second", 1.5).curvature)


@pytest.mark.parametrize(("order", "axis"), [("first", 2), ("second", 1)])
def test_a_mirror_image_is_reflected(order: str, axis: int) -> None:
    """A frame stays right-handed when its axes and its like-named own axis are both reflected: M R M."""
    mirror = np.eye(3)
    mirror[axis, axis] = -1.0
    shape, image = shape_of(MIXED), shape_of(mirrored(MIXED, order))  # type: ignore[arg-type]
    s = samples(shape)
    np.testing.assert_allclose(image.frames(s)[0], shape.frames(s)[0] @ mirror, atol=1e-13)
    np.testing.assert_allclose(image.frames(s)[1], mirror @ shape.frames(s)[1] @ mirror, atol=1e-13)
    assert image.stations == shape.stations
    assert mirrored(mirrored(MIXED, order), order) == MIXED  # type: ignore[arg-type]


def test_a_wire_run_backwards_is_its_mirror_image_left_to_right() -> None:
    mirror = np.diag([-1.0, 1.0, 1.0])
    shape, image = shape_of(MIXED), shape_of(run_backwards(MIXED))
    s = samples(shape)
    points, axes = shape.frames(shape.length - s)
    images, image_axes = image.frames(s)
    # Both seen from the frame at the end where the image begins.
    from_end = (points - points[0]) @ axes[0]
    np.testing.assert_allclose(images, from_end @ mirror, atol=1e-13)
    np.testing.assert_allclose(image_axes, mirror @ (axes[0].T @ axes) @ mirror, atol=1e-13)
    assert image.stations[0].at == pytest.approx(shape.length - shape.stations[0].at)
    assert run_backwards(run_backwards(MIXED)) == MIXED


def test_stations_are_numbered_where_a_name_comes_again() -> None:
    shape = shape_of([Mark("a"), Straight(2.0), Mark("b"), Straight(1.0), Mark("a")])
    assert shape.stations == (Station("a 1", 0.0), Station("b", 2.0), Station("a 2", 3.0))
    with pytest.raises(ValueError, match='two stations of the wire are called "a 1"'):
        shape_of([Mark("a"), Mark("a 1"), Straight(2.0), Mark("a")])


def test_a_station_off_the_wire_is_refused() -> None:
    with pytest.raises(ValueError, match="the wire runs from 0 to 2 mm"):
        PassiveShape((Straight(2.0),), (Station("far", 3.0),))


LOOPS = {
    "vertical": (vertical_loop(6.0, 2.0, 0.5), 3.0, 6.0),
    "helix": (vertical_loop_with_helix(6.0, 2.0, 0.5, 1, 0.6), 3.0, 6.0),
    "helix, left": (vertical_loop_with_helix(8.0, 3.0, 0.5, 3, 0.7, "left"), 4.0, 8.0),
    "T": (t_loop(7.0, 10.0, 2.0, 1.5, 0.5), 2.5, 7.0),
    "L": (l_loop(6.0, 5.0, 2.0, 1.5, 0.5), 2.5, 6.0),
}


@pytest.mark.parametrize("name", LOOPS)
def test_a_loop_comes_back_to_the_line_and_is_as_high_as_told(name: str) -> None:
    items, along, height = LOOPS[name]
    shape = shape_of(items)
    ends, axes = shape.frames(shape.length)
    np.testing.assert_allclose(ends[0], (along, 0.0, 0.0), atol=1e-12)
    np.testing.assert_allclose(axes[0], np.eye(3), atol=1e-12)
    apex = next(station.at for station in shape.stations if station.name == "apex")
    place, frame = shape.frames(apex)
    assert place[0][1] == pytest.approx(height, abs=1e-12)
    assert frame[0][1, 0] == pytest.approx(0.0, abs=1e-12)  # level there
    assert samples(shape, 5001).size and shape.frames(samples(shape, 5001))[0][:, 1].max() <= height + 1e-12


def test_lengths_and_widths_of_loops_by_hand() -> None:
    # Two quarter bends of 0.5, two legs of 6 - 0.5 - 1, a half circle of 1.
    assert shape_of(LOOPS["vertical"][0]).length == pytest.approx(2.0 * 4.5 + math.pi * (0.5 + 1.0))
    for name, least, most in (("T", 0.5 + 0.75 - 5.0, 0.5 + 0.75 + 5.0), ("L", 0.0, 0.5 + 5.0)):
        x = (lambda shape: shape.frames(samples(shape, 20001))[0][:, 0])(shape_of(LOOPS[name][0]))
        assert (x.min(), x.max()) == pytest.approx((least, most), abs=1e-6)
    t = shape_of(LOOPS["T"][0])
    assert [station.name for station in t.stations] == ["left end", "apex", "right end"]
    ends = t.frames([station.at for station in t.stations])[0]
    np.testing.assert_allclose(ends, [(-3.75, 6.0, 0.0), (1.25, 7.0, 0.0), (6.25, 6.0, 0.0)], atol=1e-12)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_coil_of_a_loop_lies_square_to_it_and_runs_to_its_hand(hand: str) -> None:
    shape = shape_of(vertical_loop_with_helix(6.0, 2.0, 0.5, 2, 0.6, hand))  # type: ignore[arg-type]
    coils = [i for i, piece in enumerate(shape.pieces) if isinstance(piece, Curved)]
    places, axes = shape.frames(shape.breaks[[coils[0], coils[-1] + 1]])
    # Two and a half turns: from one leg to the other, 2.5 pitches in depth.
    sense = -1.0 if hand == "right" else 1.0
    np.testing.assert_allclose(places[1] - places[0], (2.0, 0.0, sense * 1.5), atol=1e-12)
    curvature = np.array(shape.pieces[coils[0]].curvature)
    axis = axes[0] @ curvature / np.linalg.norm(curvature)
    np.testing.assert_allclose(np.abs(axis), (0.0, 0.0, 1.0), atol=1e-12)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: helix(0.0, 3.0, 0.5), "number of turns"),
        (lambda: helix(1.0, 0.0, 0.5), "diameter of a helix"),
        (lambda: helix(1.0, 3.0, -0.5), "pitch of a helix"),
        (lambda: helix(1.0, 3.0, 0.5, "third"), "order of a helix"),  # type: ignore[arg-type]
        (lambda: helix(1.0, 3.0, 0.5, "first", "both"), "hand of a helix"),  # type: ignore[arg-type]
        (lambda: mirrored(MIXED, "third"), "mirror image"),  # type: ignore[arg-type]
        (lambda: Mark(" "), "needs a name"),
        (lambda: Curved((0.0, math.nan, 0.0), 1.0), "three finite numbers"),
        (lambda: vertical_loop(1.0, 2.0, 0.5), "a leg of the loop would be -0.5 mm"),
        (lambda: vertical_loop(math.nan, 2.0, 0.5), "height of a loop"),
        (lambda: vertical_loop_with_helix(6.0, 2.0, 0.5, 0, 0.6), "one turn or more"),
        (lambda: vertical_loop_with_helix(3.5, 2.0, 0.5, 5, 1.5), "too short to lean back"),
        (lambda: t_loop(7.0, 4.0, 2.0, 1.5, 0.5), "make the T loop wider"),
        (lambda: t_loop(2.5, 10.0, 2.0, 1.5, 0.5), "a leg of the T loop"),
        (lambda: l_loop(6.0, 2.0, 2.0, 1.5, 0.5), "make the L loop wider"),
    ],
)
def test_shapes_without_room_are_refused(make: object, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        make()  # type: ignore[operator]
