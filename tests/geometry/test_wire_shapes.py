"""Passive shapes against hand-made geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.pose import Pose
from geometry.wire_shapes import Bend, PassiveShape, Straight, Twist, seat

QUARTER = 0.5 * math.pi


def end_of(*pieces: Straight | Bend | Twist) -> tuple[np.ndarray, np.ndarray]:
    shape = PassiveShape(pieces)
    positions, axes = shape.frames(shape.length)
    return positions[0], axes[0]


def test_a_wire_starts_at_its_origin_along_x() -> None:
    positions, axes = PassiveShape((Bend(1.0, "second", 2.0),)).frames(0.0)
    assert (positions[0] == 0.0).all() and (axes[0] == np.eye(3)).all()


def test_columns_of_a_frame_are_its_axes_tangent_first() -> None:
    shape = PassiveShape((Straight(1.0), Bend(0.7, "second", 3.0), Twist(0.4, 2.0), Bend(-0.5, "first", 2.0)))
    s, step = np.linspace(0.1, shape.length - 0.1, 40), 1e-5
    behind, ahead = shape.frames(s - step)[0], shape.frames(s + step)[0]
    tangents = (ahead - behind) / (2 * step)
    np.testing.assert_allclose(shape.frames(s)[1][:, :, 0], tangents, atol=1e-5)


@pytest.mark.parametrize(
    ("angle", "order", "end", "tangent"),
    [
        (QUARTER, "second", (2, 2, 0), (0, 1, 0)),
        (-QUARTER, "second", (2, -2, 0), (0, -1, 0)),
        (QUARTER, "first", (2, 0, -2), (0, 0, -1)),
        (-QUARTER, "first", (2, 0, 2), (0, 0, 1)),
    ],
)
def test_a_quarter_bend_ends_where_the_compass_says(
    angle: float, order: str, end: tuple[float, ...], tangent: tuple[float, ...]
) -> None:
    position, axes = end_of(Bend(angle, order, 2.0))  # type: ignore[arg-type]
    np.testing.assert_allclose(position, end, atol=1e-14)
    np.testing.assert_allclose(axes[:, 0], tangent, atol=1e-14)


def test_a_positive_twist_turns_height_towards_depth() -> None:
    position, axes = end_of(Twist(QUARTER, 5.0))
    np.testing.assert_allclose(position, (5, 0, 0), atol=1e-14)
    np.testing.assert_allclose(axes, [[1, 0, 0], [0, 0, -1], [0, 1, 0]], atol=1e-14)


def test_bends_turn_about_the_axes_of_the_wire_not_of_the_world() -> None:
    # After a quarter twist the wire's depth axis is -y, about which a second-order bend goes from x to z.
    position, axes = end_of(Twist(QUARTER, 1.0), Bend(QUARTER, "second", 2.0))
    np.testing.assert_allclose(position, (3, 0, 2), atol=1e-14)
    np.testing.assert_allclose(axes[:, 0], (0, 0, 1), atol=1e-14)


def test_four_quarter_bends_close_a_ring() -> None:
    position, axes = end_of(*(Bend(QUARTER, "first", 1.5) for _ in range(4)))
    np.testing.assert_allclose(position, 0.0, atol=1e-14)
    np.testing.assert_allclose(axes, np.eye(3), atol=1e-14)


def test_an_arc_keeps_its_distance_from_its_centre() -> None:
    shape = PassiveShape((Straight(4.0), Bend(2.5, "second", 1.2)))
    positions, axes = shape.frames(np.linspace(4.0, shape.length, 50))
    np.testing.assert_allclose(np.linalg.norm(positions - (4.0, 1.2, 0.0), axis=1), 1.2, rtol=1e-14)
    np.testing.assert_allclose(np.swapaxes(axes, 1, 2) @ axes, np.tile(np.eye(3), (50, 1, 1)), atol=1e-14)


def test_breaks_lengths_and_curvatures() -> None:
    shape = PassiveShape((Straight(4.0), Bend(-0.5, "second", 2.0), Twist(0.6, 3.0), Bend(0.5, "first", 4.0)))
    np.testing.assert_allclose(shape.breaks, (0, 4, 5, 8, 10), rtol=1e-15)
    assert shape.length == shape.breaks[-1] and not shape.breaks.flags.writeable
    expected = [(0, 0, 0), (0, 0, -0.5), (0, 0, -0.5), (0.2, 0, 0), (0, 0.25, 0), (0, 0.25, 0)]
    np.testing.assert_allclose(shape.curvature((2.0, 4.0, 4.5, 5.5, 9.0, 10.0)), expected, rtol=1e-15)


def test_frames_do_not_jump_at_breaks() -> None:
    shape = PassiveShape((Straight(4.0), Bend(-0.5, "second", 2.0), Twist(0.6, 3.0), Bend(0.5, "first", 4.0)))
    before, after = shape.frames(shape.breaks[1:-1] - 1e-12), shape.frames(shape.breaks[1:-1])
    np.testing.assert_allclose(before[0], after[0], atol=2e-12)
    np.testing.assert_allclose(before[1], after[1], atol=2e-12)


def test_seating_puts_the_held_section_where_it_is_wanted() -> None:
    shape = PassiveShape((Straight(4.0), Bend(0.8, "first", 2.0), Twist(0.6, 3.0)))
    wanted = Pose.from_angles((1.0, -2.0, 3.0), about_y=0.3, about_z=-0.4, about_x=1.1)
    origin = seat(shape, 5.2, wanted)
    positions, axes = shape.frames(5.2)
    np.testing.assert_allclose(origin.to_world(positions[0]), wanted.position, atol=1e-14)
    np.testing.assert_allclose(origin.axes @ axes[0], wanted.axes, atol=1e-14)


def test_equal_pieces_make_equal_shapes() -> None:
    assert PassiveShape((Straight(4.0),)) == PassiveShape((Straight(4.0),)) != PassiveShape((Straight(5.0),))


def test_arc_lengths_off_the_wire_are_refused_but_rounding_is_not() -> None:
    shape = PassiveShape((Straight(0.1), Straight(0.2)))
    assert shape.frames(0.3 + 1e-11)[0][0, 0] == shape.length
    for bad in (-0.001, 0.301, math.nan):
        with pytest.raises(ValueError, match="the wire runs from 0 to 0.3 mm"):
            shape.frames((0.1, bad))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Straight(0.0), "straight run"),
        (lambda: Straight(math.nan), "straight run"),
        (lambda: Bend(0.0, "first", 1.0), "angle of a bend"),
        (lambda: Bend(math.inf, "first", 1.0), "angle of a bend"),
        (lambda: Bend(1.0, "first", 0.0), "radius of a bend"),
        (lambda: Bend(1.0, "third", 1.0), "order of a bend"),  # type: ignore[arg-type]
        (lambda: Twist(0.0, 1.0), "angle of a twist"),
        (lambda: Twist(1.0, -1.0), "length of a twist"),
        (lambda: PassiveShape(()), "at least one piece"),
    ],
)
def test_pieces_without_size_are_refused(make: object, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        make()  # type: ignore[operator]
