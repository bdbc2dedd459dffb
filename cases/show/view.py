"""A parallel view of the appliance: from world points in mm to picture points in pixels.

A parallel projection keeps one scale over the whole picture, so that a scale bar means what it says.
Pixels count from the lower left corner, x to the right and y up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.pose import frozen, rotation_about

Array = NDArray[np.float64]

# A facial view turned a little, so that depth shows and arcs about any axis open up: the camera stands to the
# viewer's right and above.
TURNED_DEG = 20.0
RAISED_DEG = 14.0


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle of the picture, in pixels."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Extent to the right, pixels."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Extent upwards, pixels."""
        return self.top - self.bottom

    @property
    def middle(self) -> tuple[float, float]:
        """Its middle, pixels."""
        return 0.5 * (self.left + self.right), 0.5 * (self.bottom + self.top)

    def grown(self, by: float) -> Box:
        """The same with ``by`` pixels more on each side."""
        return Box(self.left - by, self.bottom - by, self.right + by, self.top + by)

    def overlaps(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.bottom < other.top
            and other.bottom < self.top
        )

    def holds(self, other: Box) -> bool:
        """Whether ``other`` lies wholly inside."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.bottom <= other.bottom
            and other.top <= self.top
        )

    def count(self, points: Array) -> int:
        """How many of the points (n, 2) lie inside."""
        x, y = points[:, 0], points[:, 1]
        return int(np.sum((self.left < x) & (x < self.right) & (self.bottom < y) & (y < self.top)))


@dataclass(frozen=True, slots=True)
class View:
    """Where the camera looks and how large a millimetre is."""

    axes: Array
    """(3, 3), columns: right and up in the picture, and from the picture towards the viewer."""
    focus_mm: Array
    """(3,), the world point in the middle of the picture."""
    pixels_per_mm: float
    size: tuple[int, int]
    """Width and height of the picture, pixels."""

    def project(self, points: ArrayLike) -> Array:
        """Picture points (..., 2) in pixels of world points (..., 3) in mm."""
        across = (np.asarray(points, dtype=np.float64) - self.focus_mm) @ self.axes[:, :2]
        return across * self.pixels_per_mm + 0.5 * np.asarray(self.size, dtype=np.float64)


def view_axes(turned_deg: float = TURNED_DEG, raised_deg: float = RAISED_DEG) -> Array:
    """Axes (3, 3) of a facial view turned to the right and raised by these angles."""
    turned = rotation_about((0.0, 1.0, 0.0), np.radians(turned_deg))
    return frozen(turned @ rotation_about((1.0, 0.0, 0.0), -np.radians(raised_deg)))


def extent_mm(points: Array, axes: Array) -> tuple[Array, Array]:
    """Lowest and highest corner (2,), mm across the picture, of world points (n, 3)."""
    across = points @ axes[:, :2]
    return across.min(axis=0), across.max(axis=0)


def fit(points: Array, room: Box, size: tuple[int, int], axes: Array | None = None) -> View:
    """The view in which the world points (n, 3), in mm, fill ``room`` and stand in its middle.

    Raises ValueError where there is nothing to see or no room for it.
    """
    if points.size == 0 or not np.isfinite(points).all():
        raise ValueError("a view needs finite points to look at")
    if room.width <= 0.0 or room.height <= 0.0:
        raise ValueError(f"a picture of {size[0]} x {size[1]} pixels has no room left for the appliance")
    axes = view_axes() if axes is None else axes
    low, high = extent_mm(points, axes)
    span = np.maximum(high - low, 1e-6)
    pixels_per_mm = float(min(room.width / span[0], room.height / span[1]))
    # The middle of the points goes to the middle of the room, not of the picture.
    shift = (np.asarray(room.middle) - 0.5 * np.asarray(size, dtype=np.float64)) / pixels_per_mm
    toward = 0.5 * float((points @ axes[:, 2]).min() + (points @ axes[:, 2]).max())
    focus = axes @ np.array([*(0.5 * (low + high) - shift), toward])
    return View(frozen(axes), frozen(focus), pixels_per_mm, size)


def arc(centre: Array, radius: float, middle: float, sweep: float) -> Array:
    """Points (k, 2) of an arc about ``centre``; its middle stands at the angle ``middle`` (rad from the first
    axis), it runs counter-clockwise for a positive ``sweep`` (rad)."""
    angles = middle + np.linspace(-0.5 * sweep, 0.5 * sweep, max(12, int(abs(np.degrees(sweep)) / 3.0)))
    return np.asarray(centre + radius * np.column_stack((np.cos(angles), np.sin(angles))))
