"""Where a rigid thing is: a point and three right-handed axes.

A pose maps local coordinates to world coordinates, ``world = position + axes @ local``.  The columns of
``axes`` are the local axes seen from the world, the tangent (or the slot's x) first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

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

    Raises ValueError for an axis of no length.
    """
    a = np.asarray(axis, dtype=np.float64)
    length = float(np.linalg.norm(a))
    if not length > 0.0:
        raise ValueError("the axis of a rotation needs a length: got a zero vector")
    x, y, z = a / length
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turn: Array = np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * (cross @ cross)
    return turn


@dataclass(frozen=True, slots=True)
class Pose:
    """Position (3,) in mm and axes (3, 3) as columns, right-handed and orthonormal."""

    position: Array
    axes: Array

    def __post_init__(self) -> None:
        position = frozen(self.position)
        axes = frozen(self.axes)
        if position.shape != (3,) or axes.shape != (3, 3):
            raise ValueError(
                f"a pose needs a position (3,) and axes (3, 3): got {position.shape} and {axes.shape}"
            )
        if not (np.isfinite(position).all() and np.isfinite(axes).all()):
            raise ValueError("a pose needs finite numbers")
        off = float(np.abs(axes.T @ axes - np.eye(3)).max())
        if off > ORTHONORMAL_TOLERANCE or np.linalg.det(axes) < 0.0:
            raise ValueError(f"the axes of a pose must be right-handed and orthonormal: off by {off:.3g}")
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
        """Turned (rad) about its own moving axes y, z, x in this order: first, second and third order."""
        axes = (
            rotation_about((0.0, 1.0, 0.0), about_y)
            @ rotation_about((0.0, 0.0, 1.0), about_z)
            @ rotation_about((1.0, 0.0, 0.0), about_x)
        )
        return cls(np.asarray(position, dtype=np.float64), axes)

    def compose(self, inner: Pose) -> Pose:
        """``inner`` given in this pose's axes, seen from the world."""
        return Pose(self.position + self.axes @ inner.position, self.axes @ inner.axes)

    def inverse(self) -> Pose:
        """The pose that undoes this one."""
        return Pose(-self.axes.T @ self.position, self.axes.T)

    def to_world(self, points: ArrayLike) -> Array:
        """Local points (..., 3) in mm, seen from the world."""
        return np.asarray(points, dtype=np.float64) @ self.axes.T + self.position

    def to_local(self, points: ArrayLike) -> Array:
        """World points (..., 3) in mm, seen from this pose."""
        return (np.asarray(points, dtype=np.float64) - self.position) @ self.axes

    def angles(self) -> tuple[float, float, float]:
        """``(about_y, about_z, about_x)`` in rad that make these axes; about_z lies within a quarter turn.

        The axes are Ry Rz Rx, whose first column is (cos y cos z, sin z, -sin y cos z).
        """
        a = self.axes
        about_z = float(np.arctan2(a[1, 0], np.hypot(a[0, 0], a[2, 0])))
        about_y = float(np.arctan2(-a[2, 0], a[0, 0]))
        about_x = float(np.arctan2(-a[1, 2], a[1, 1]))
        return about_y, about_z, about_x
