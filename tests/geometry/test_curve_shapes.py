"""Arch forms and wires drawn through points, against closed forms of the curves they follow."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial import cKDTree
from scipy.special import ellipe

from geometry.arch_form import MIDLINE, TOLERANCE, arch_form
from geometry.curves import ROLL_TOLERANCE, Curve, pieces_along
from geometry.drawn_shapes import shape_of
from geometry.points import wire_through
from geometry.wire_shapes import Bend, PassiveShape, Straight

WIDTH, DEPTH = 52.0, 36.0


def arch(*canines: float) -> PassiveShape:
    return shape_of(arch_form(WIDTH, DEPTH, *canines))


def seen_from_the_midline(shape: PassiveShape, count: int = 401) -> tuple[np.ndarray, np.ndarray]:
    (midline,) = shape.stations
    assert midline.name == MIDLINE
    origin, axes = shape.frames(midline.at)
    points, frames = shape.frames(np.linspace(0.0, shape.length, count))
    return (points - origin[0]) @ axes[0], axes[0].T @ frames


def test_an_arch_of_width_and_depth_is_half_an_ellipse() -> None:
    shape = arch()
    # Perimeter of an ellipse, 4 a E(m) with m = 1 - (b/a)^2 (Abramowitz & Stegun, 17.3.3; from memory).
    half = 2.0 * DEPTH * ellipe(1.0 - (0.5 * WIDTH / DEPTH) ** 2)
    assert shape.length == pytest.approx(half, abs=2e-3)
    points, axes = seen_from_the_midline(shape)
    np.testing.assert_allclose(points[0], (-0.5 * WIDTH, 0.0, -DEPTH), atol=2 * TOLERANCE)
    np.testing.assert_allclose(points[-1], (0.5 * WIDTH, 0.0, -DEPTH), atol=2 * TOLERANCE)
    level = (points[:, 0] / (0.5 * WIDTH)) ** 2 + ((points[:, 2] + DEPTH) / DEPTH) ** 2 - 1.0
    # The gradient of that expression is at least 2/DEPTH, so this bounds the distance from the ellipse.
    assert np.abs(level).max() < 2.0 * TOLERANCE * 2.0 / (0.5 * WIDTH)
    # It lies flat, from the viewer's left to the right, the slot's depth facing out, and its ends run straight back.
    assert np.abs(points[:, 1]).max() < 1e-12
    np.testing.assert_allclose(axes[:, :, 1], np.tile((0.0, 1.0, 0.0), (len(axes), 1)), atol=1e-12)
    np.testing.assert_allclose(axes[0][:, 0], (0.0, 0.0, 1.0), atol=1e-3)
    assert axes[0][0, 2] < -0.99 and axes[-1][0, 2] > 0.99


def test_an_arch_is_the_same_left_and_right() -> None:
    for shape in (arch(), arch(34.0, 9.0)):
        points, _ = seen_from_the_midline(shape)
        np.testing.assert_allclose(points[::-1] * (-1.0, 1.0, 1.0), points, atol=1e-11)


def test_an_arch_with_canines_is_the_power_curve_through_them() -> None:
    width, depth = 34.0, 36.0 * (34.0 / 52.0) ** 2  # a parabola
    shape = arch(width, depth)
    points, _ = seen_from_the_midline(shape, 4001)
    assert np.abs(points[:, 2] + DEPTH * (2.0 * points[:, 0] / WIDTH) ** 2).max() < 5.0 * TOLERANCE
    # Length of a parabola z = c x^2 to x: x q/2 + asinh(2 c x)/(4 c), q = sqrt(1 + 4 c^2 x^2) (by integration).
    c, x = DEPTH / (0.5 * WIDTH) ** 2, 0.5 * WIDTH
    half = 0.5 * x * math.sqrt(1.0 + (2.0 * c * x) ** 2) + math.asinh(2.0 * c * x) / (4.0 * c)
    assert shape.length == pytest.approx(2.0 * half, abs=2e-3)
    squarer = arch(34.0, 9.0)
    s, away = squarer.nearest(squarer.frames(squarer.stations[0].at)[0][0])
    assert s == pytest.approx(squarer.stations[0].at, abs=1e-9) and away < 1e-9
    points, _ = seen_from_the_midline(squarer, 4001)
    assert np.linalg.norm(points - (17.0, 0.0, -9.0), axis=1).min() < 0.02


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ((0.0, 36.0), "width of an arch"),
        ((52.0, math.nan), "depth of an arch"),
        ((52.0, 36.0, 34.0), "go together"),
        ((52.0, 36.0, 60.0, 9.0), "inside the arch"),
        ((52.0, 36.0, 34.0, 20.0), "the canines lie 1.2 to 15.4 mm behind"),
    ],
)
def test_arches_that_are_none_are_refused(sizes: tuple[float, ...], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        arch_form(*sizes)


def helix_points(count: int) -> tuple[np.ndarray, float, float]:
    """A helix of radius 4 and pitch 6 over one turn and a quarter, its torsion (1/mm) and length (mm)."""
    r, b = 4.0, 6.0 / (2.0 * math.pi)
    t = np.linspace(0.0, 2.5 * math.pi, count)
    return (
        np.column_stack((r * np.sin(t), b * t, r * np.cos(t))),
        b / (r * r + b * b),
        math.hypot(r, b) * t[-1],
    )


def test_the_section_goes_along_by_the_smallest_rotation() -> None:
    """Against a helix, whose own normal turns about the tangent by torsion times length beyond that.

    (Bishop, Am Math Monthly 82 (1975) 246; from memory.)
    """
    points, torsion, length = helix_points(200)
    pieces, start = wire_through(points, 0.002)
    shape = PassiveShape(pieces)
    assert shape.length == pytest.approx(length, rel=1e-4)
    axes = shape.frames(np.array([0.0, shape.length]))[1]
    np.testing.assert_allclose(np.swapaxes(axes, 1, 2) @ axes, np.tile(np.eye(3), (2, 1, 1)), atol=1e-13)
    world = start.axes @ axes

    def roll(frame: np.ndarray, point: np.ndarray) -> float:
        """The wire's height about the tangent, from the helix's normal."""
        normal = -point * (1.0, 0.0, 1.0)
        normal -= (normal @ frame[:, 0]) * frame[:, 0]
        return math.atan2(np.cross(normal, frame[:, 1]) @ frame[:, 0], normal @ frame[:, 1])

    turned = roll(world[1], points[-1]) - roll(world[0], points[0])
    handed = np.linalg.det(np.array([points[1] - points[0], points[2] - points[1], points[3] - points[2]]))
    expected = -math.copysign(torsion * length, handed)
    assert math.remainder(turned - expected, 2.0 * math.pi) == pytest.approx(0.0, abs=0.002)


def test_a_twist_given_turns_the_section_by_as_much() -> None:
    points, _, _ = helix_points(200)
    plain = PassiveShape(wire_through(points, 0.002)[0])
    twisted = PassiveShape(wire_through(points, 0.002, np.linspace(0.3, 1.5, 200))[0])
    s = np.array([0.0, plain.length])
    (_, axes), (places, other) = plain.frames(s), twisted.frames(s)
    np.testing.assert_allclose(other[0], axes[0], atol=1e-13)  # counted from the start
    turn = axes[1].T @ other[1]
    np.testing.assert_allclose(turn[:, 0], (1.0, 0.0, 0.0), atol=1e-9)
    assert math.atan2(turn[2, 1], turn[1, 1]) == pytest.approx(1.2, abs=1e-9)
    np.testing.assert_allclose(places, plain.frames(s)[0], atol=0.002)


def test_a_twist_over_a_part_of_the_wire_stays_there() -> None:
    """A straight wire twisted by 0.3 between 4 and 6 mm only: nothing before, all of it behind."""
    x = np.linspace(0.0, 10.0, 101)
    points = np.column_stack((x, np.zeros((101, 2))))
    wire = PassiveShape(wire_through(points, 0.01, np.interp(x, (4.0, 6.0), (0.0, 0.3)))[0])
    s = np.linspace(0.0, 10.0, 201)
    height = wire.frames(np.minimum(s, wire.length))[1][:, :, 1]
    roll = np.arctan2(height[:, 2], height[:, 1])
    np.testing.assert_allclose(roll, np.interp(s, (4.0, 6.0), (0.0, 0.3)), atol=1.1 * ROLL_TOLERANCE)


@pytest.mark.parametrize("tolerance", [0.05, 0.02, 0.005])
def test_no_point_is_farther_from_the_wire_than_the_tolerance(tolerance: float) -> None:
    """Clean points, and points scattered by a third of the tolerance."""
    exact = PassiveShape(
        (Straight(6.0), Bend(-0.5, "second", 1.0), Straight(3.0), Bend(0.4, "first", 2.0), Straight(5.0))
    )
    clean = exact.frames(np.linspace(0.0, exact.length, 200))[0]
    noise = np.random.default_rng(5).normal(0.0, tolerance / 3.0, clean.shape)
    for points in (clean, clean + noise):
        pieces, start = wire_through(points, tolerance)
        wire = PassiveShape(pieces)
        fine = wire.frames(np.linspace(0.0, wire.length, 20001))[0]  # 0.0007 mm apart
        away, _ = cKDTree(start.to_world(fine)).query(points)
        assert away.max() <= tolerance + 1e-4


def test_smoothing_keeps_angles_between_straight_runs() -> None:
    exact = PassiveShape((Straight(8.0), Bend(-0.35, "second", 0.5), Straight(8.0)))
    points = exact.frames(np.linspace(0.0, exact.length, 200))[0]
    wire = PassiveShape(wire_through(points, 0.02)[0])
    tangents = wire.frames(np.array([5.0, wire.length - 5.0]))[1][:, :, 0]
    angle = math.atan2(tangents[1][1], tangents[1][0]) - math.atan2(tangents[0][1], tangents[0][0])
    assert angle == pytest.approx(-0.35, abs=5e-4)


def test_points_of_a_straight_line_make_a_straight_wire() -> None:
    points = np.linspace(0.0, 1.0, 20)[:, None] * (3.0, 4.0, 12.0)
    wire = PassiveShape(wire_through(points, 0.01)[0])
    assert wire.length == pytest.approx(13.0, rel=1e-9)
    assert np.abs(wire.curvature(wire.breaks)).max() < 1e-9


def test_pieces_of_a_circle_have_its_curvature() -> None:
    curve = Curve.of(
        lambda u: 5.0 * np.column_stack((np.sin(u), np.zeros_like(u), np.cos(u))),
        lambda u: 5.0 * np.column_stack((np.cos(u), np.zeros_like(u), -np.sin(u))),
        np.linspace(0.0, 1.9 * math.pi, 20),
    )
    assert curve.length == pytest.approx(9.5 * math.pi, rel=1e-12)
    shape = PassiveShape(pieces_along(curve, 1e-3))
    np.testing.assert_allclose(
        shape.curvature(shape.breaks), np.tile((0.0, 0.2, 0.0), (len(shape.breaks), 1)), atol=1e-8
    )


def test_the_nearest_place() -> None:
    shape = PassiveShape((Straight(4.0), Bend(0.5 * math.pi, "second", 2.0), Straight(4.0)))
    for s, aside in ((1.3, 0.5), (4.0 + math.pi / 3.0, -0.7), (8.0, 0.4)):
        place, axes = shape.frames(s)
        found, away = shape.nearest(place[0] + aside * axes[0][:, 1] + 0.2 * axes[0][:, 2])
        assert found == pytest.approx(s, abs=1e-9) and away == pytest.approx(
            math.hypot(aside, 0.2), rel=1e-12
        )
    assert shape.nearest((-3.0, 4.0, 0.0)) == pytest.approx((0.0, 5.0), abs=1e-9)
    assert shape.nearest((6.0, 9.0, 0.0)) == pytest.approx((shape.length, 3.0), abs=1e-9)


@pytest.mark.parametrize(
    ("points", "tolerance", "words"),
    [
        (np.zeros((4, 3)), 0.01, "at least 5 points"),
        (np.zeros((9, 2)), 0.01, "at least 5 points"),
        ([(0, 0, 0), (1, 0, 0), (1, 0, 0), (2, 0, 0), (3, 0, 0)], 0.01, "points 2 and 3 are the same"),
        ([(0, 0, 0), (2, 0, 0), (1, 0.1, 0), (3, 0, 0), (4, 0, 0)], 0.01, "turns by 177 deg at point 3"),
        ([(0, 0, 0), (1, math.nan, 0), (2, 0, 0), (3, 0, 0), (4, 0, 0)], 0.01, "finite coordinates"),
        ([(0, i, 0) for i in range(6)], 0.01, "begins along y"),
        ([(i, 0, 0) for i in range(6)], 0.0, "tolerance must be"),
    ],
)
def test_points_that_are_no_wire_are_refused(points: object, tolerance: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        wire_through(points, tolerance)  # type: ignore[arg-type]
