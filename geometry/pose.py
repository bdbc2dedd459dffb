"""Where a rigid thing is: a point and three right-handed axes.

A pose maps local coordinates to world coordinates, ``world = position + axes @ local``.  The columns of
``axes`` are the local axes seen from the world, the tangent (or the slot's x) first."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.checks import LONGEST, numbers, rows, shown
from geometry.checks import angle as _angle

Array = NDArray[np.float64]

# A rotation matrix made by a few products of exact ones is orthonormal to a few units of rounding; typed-in
# axes are not.
ORTHONORMAL_TOLERANCE = 1e-9


def frozen(values: ArrayLike) -> Array:
    """A contiguous, read-only float copy of ``values``."""
    array = np.array(values, dtype=np.float64, order="C")
    array.setflags(write=False)
    return array


def rotation_about(axis: ArrayLike, angle: float) -> Array:
    """Rotation matrix (3, 3) by ``angle`` (rad, right-handed) about ``axis`` (3,), by the formula of
    Rodrigues (1840).

    Raises ValueError for an axis that is not three finite numbers or has no length, or an angle that is not finite.
    """
    x, y, z = numbers("the axis of a rotation", axis, (3,)).tolist()
    length = math.hypot(x, y, z)
    if not length > 0.0:
        raise ValueError("the axis of a rotation needs a length: got a zero vector")
    x, y, z = x / length, y / length, z / length
    angle = _angle("the angle of a rotation", angle)
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turn: Array = np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * (cross @ cross)
    return turn


def _must_be_rotation(axes: Array) -> None:
    """Refuses axes (3, 3) that are not orthonormal or not right-handed; in scalars, as poses are made often."""
    (ax, bx, cx), (ay, by, cy), (az, bz, cz) = axes.tolist()
    off = max(
        abs(ax * ax + ay * ay + az * az - 1.0),
        abs(bx * bx + by * by + bz * bz - 1.0),
        abs(cx * cx + cy * cy + cz * cz - 1.0),
        abs(ax * bx + ay * by + az * bz),
        abs(bx * cx + by * cy + bz * cz),
        abs(cx * ax + cy * ay + cz * az),
    )
    if not off <= ORTHONORMAL_TOLERANCE:
        raise ValueError(
            f"the axes of a pose must be right-handed and orthonormal columns: they are off by {off:.3g}, "
            f"got {shown(axes)}; make them with Pose.from_angles or rotation_about"
        )
    if ax * (by * cz - bz * cy) - bx * (ay * cz - az * cy) + cx * (ay * bz - az * by) < 0.0:
        raise ValueError(
            f"the axes of a pose must be right-handed: got the mirror image {shown(axes)}; turn one column round"
        )


@dataclass(frozen=True, slots=True)
class Pose:
    """Position (3,) in mm and axes (3, 3) as columns, right-handed and orthonormal; else ValueError."""

    position: Array
    axes: Array

    def __post_init__(self) -> None:
        position = numbers("the position of a pose", self.position, (3,), "mm", LONGEST)
        axes = numbers("the axes of a pose", self.axes, (3, 3))
        _must_be_rotation(axes)
        object.__setattr__(self, "position", position)
        object.__setattr__(self, "axes", axes)

    @classmethod
    def identity(cls) -> Pose:
        """The world's own axes at its origin."""
        return cls(np.zeros(3), np.eye(3))

    @classmethod
    def from_angles(
        cls, position: ArrayLike, about_y: float = 0.0, about_z: float = 0.0, about_x: float = 0.0
    ) -> Pose:
        """Turned (rad) about its own moving axes y, z, x in this order: first, second and third order.

        Raises ValueError for a position that is not three finite numbers or an angle that is not finite.
        """
        axes = (
            rotation_about((0.0, 1.0, 0.0), about_y)
            @ rotation_about((0.0, 0.0, 1.0), about_z)
            @ rotation_about((1.0, 0.0, 0.0), about_x)
        )
        return cls(numbers("the position of a pose", position, (3,), "mm", LONGEST), axes)

    def compose(self, inner: Pose) -> Pose:
        """``inner`` given in this pose's axes, seen from the world."""
        return Pose(self.position + self.axes @ inner.position, self.axes @ inner.axes)

    def inverse(self) -> Pose:
        """The pose that undoes this one."""
        return Pose(-self.axes.T @ self.position, self.axes.T)

    def to_world(self, points: ArrayLike) -> Array:
        """Local points (..., 3) in mm, seen from the world."""
        return rows("points", points, 3) @ self.axes.T + self.position

    def to_local(self, points: ArrayLike) -> Array:
        """World points (..., 3) in mm, seen from this pose."""
        return (rows("points", points, 3) - self.position) @ self.axes

    def angles(self) -> tuple[float, float, float]:
        """``(about_y, about_z, about_x)`` in rad that make these axes; about_z lies within a quarter turn.

        The axes are Ry Rz Rx, whose first column is (cos y cos z, sin z, -sin y cos z).
        """
        a = self.axes
        about_z = float(np.arctan2(a[1, 0], np.hypot(a[0, 0], a[2, 0])))
        about_y = float(np.arctan2(-a[2, 0], a[0, 0]))
        about_x = float(np.arctan2(-a[1, 2], a[1, 1]))
        return about_y, about_z, about_x
