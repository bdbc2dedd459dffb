"""Outline, area and second moments of a wire's section.

Section coordinates are (y, z): y along the wire's height (second frame column), z along its depth (third).
Both sections are one family, a rectangle of corner-arc centres (+-corner_y, +-corner_z) grown by
``edge_radius`` all round: a round wire has all its corner centres in the middle.  Contact, meshing and
drawing use only that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.checks import count, length, length_or_zero, rows
from geometry.pose import frozen

Array = NDArray[np.float64]

# 0.0085 in is half of 0.017 in, yet in millimetres the two may differ in the last bit.
UNIT_ROUNDING = 1e-12


def _less_radius(half: float, radius: float) -> float:
    """Half a side less the edge radius, exactly zero where a side is all arc."""
    rest = half - radius
    return rest if rest > UNIT_ROUNDING * half else 0.0


def _support(corner_y: float, corner_z: float, radius: float, direction: ArrayLike) -> Array:
    d = np.abs(rows("directions in a section", direction, 2))
    reach: Array = d[..., 0] * corner_y + d[..., 1] * corner_z + np.hypot(d[..., 0], d[..., 1]) * radius
    return reach


def _outline(corner_y: float, corner_z: float, radius: float, per_quarter: int) -> Array:
    """Quarter by quarter, counter-clockwise from +y to +z; points that fall together are given once."""
    per_quarter = count("an outline", per_quarter, 1, "needs at least one interval per corner arc")
    turn = np.linspace(0.0, 0.5 * np.pi, per_quarter + 1) if radius > 0.0 else np.array([0.25 * np.pi])
    points = []
    for quarter, (side_y, side_z) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        angle = turn + quarter * 0.5 * np.pi
        y, z = side_y * corner_y + radius * np.cos(angle), side_z * corner_z + radius * np.sin(angle)
        points.append(np.column_stack((y, z)))
    ring = np.concatenate(points)
    size = corner_y + corner_z + radius
    distinct = np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1) > UNIT_ROUNDING * size
    return frozen(ring[distinct])


@dataclass(frozen=True, slots=True)
class Round:
    """A round wire; ``diameter`` in mm.  Raises ValueError unless it is finite and above zero."""

    diameter: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "diameter", length("the diameter of a round wire", self.diameter))

    @property
    def height(self) -> float:
        """Extent along y, mm."""
        return self.diameter

    @property
    def depth(self) -> float:
        """Extent along z, mm."""
        return self.diameter

    @property
    def edge_radius(self) -> float:
        """Radius of the corner arcs, mm: the wire's own."""
        return 0.5 * self.diameter

    @property
    def corner_y(self) -> float:
        """y of the corner arcs' centres, mm: all four lie in the middle."""
        return 0.0

    @property
    def corner_z(self) -> float:
        """z of the corner arcs' centres, mm: all four lie in the middle."""
        return 0.0

    @property
    def area(self) -> float:
        """Area, mm^2."""
        return 0.25 * math.pi * self.diameter**2

    @property
    def second_moment_y(self) -> float:
        """Integral of z^2 over the area, mm^4: bending in the first order."""
        return math.pi * self.diameter**4 / 64.0

    @property
    def second_moment_z(self) -> float:
        """Integral of y^2 over the area, mm^4: bending in the second order."""
        return math.pi * self.diameter**4 / 64.0

    @property
    def polar_moment(self) -> float:
        """Sum of the two second moments, mm^4."""
        return self.second_moment_y + self.second_moment_z

    def reach(self, direction: ArrayLike) -> Array:
        """Support function (...,) in mm: the largest projection of the outline on ``direction`` (..., 2) =
        (y, z).

        It grows with the length of ``direction``; give unit directions for distances.
        """
        return _support(self.corner_y, self.corner_z, self.edge_radius, direction)

    def outline(self, per_quarter: int = 12) -> Array:
        """Points (4 per_quarter, 2) = (y, z) in mm, counter-clockwise seen against x, not closed."""
        return _outline(self.corner_y, self.corner_z, self.edge_radius, per_quarter)

    @property
    def label(self) -> str:
        """What a figure calls it."""
        return f"round {self.diameter:.3f} mm"


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangular wire: ``height`` along y, ``depth`` along z, edges rounded by ``edge_radius``, in mm.

    Raises ValueError unless height and depth are finite and above zero and the edge radius lies between zero
    and half the smaller of the two.
    """

    height: float
    depth: float
    edge_radius: float = 0.0

    def __post_init__(self) -> None:
        for name in ("height", "depth"):
            side = length(f"the {name} of a rectangular wire", getattr(self, name))
            object.__setattr__(self, name, side)
        object.__setattr__(self, "edge_radius", length_or_zero("an edge radius", self.edge_radius))
        most = 0.5 * min(self.height, self.depth)
        if self.edge_radius > most * (1.0 + UNIT_ROUNDING):
            raise ValueError(
                f"an edge radius can be at most half the smaller side of the wire, {most:.6g} mm: "
                f"got {self.edge_radius:.6g} mm"
            )

    @property
    def corner_y(self) -> float:
        """y of the corner arcs' centres, mm."""
        return _less_radius(0.5 * self.height, self.edge_radius)

    @property
    def corner_z(self) -> float:
        """z of the corner arcs' centres, mm."""
        return _less_radius(0.5 * self.depth, self.edge_radius)

    @property
    def area(self) -> float:
        """Area, mm^2: the sharp rectangle less what its four rounded corners cut away."""
        return self.height * self.depth - (4.0 - math.pi) * self.edge_radius**2

    @property
    def second_moment_y(self) -> float:
        """Integral of z^2 over the area, mm^4: bending in the first order."""
        sharp = self.height * self.depth**3 / 12.0
        return sharp - 4.0 * _cut_corner_moment(self.corner_z, self.edge_radius)

    @property
    def second_moment_z(self) -> float:
        """Integral of y^2 over the area, mm^4: bending in the second order."""
        sharp = self.depth * self.height**3 / 12.0
        return sharp - 4.0 * _cut_corner_moment(self.corner_y, self.edge_radius)

    @property
    def polar_moment(self) -> float:
        """Sum of the two second moments, mm^4."""
        return self.second_moment_y + self.second_moment_z

    def reach(self, direction: ArrayLike) -> Array:
        """Support function (...,) in mm: the largest projection of the outline on ``direction`` (..., 2) =
        (y, z).

        It grows with the length of ``direction``; give unit directions for distances.
        """
        return _support(self.corner_y, self.corner_z, self.edge_radius, direction)

    def outline(self, per_quarter: int = 12) -> Array:
        """Points (m, 2) = (y, z) in mm, counter-clockwise seen against x, not closed; sharp: four."""
        return _outline(self.corner_y, self.corner_z, self.edge_radius, per_quarter)

    @property
    def label(self) -> str:
        """What a figure calls it."""
        size = f"{self.height:.3f} x {self.depth:.3f} mm"
        edges = f"edge radius {self.edge_radius:.3g} mm" if self.edge_radius > 0.0 else "sharp edges"
        return f"{size}, {edges}"


Section = Round | Rectangle


def _cut_corner_moment(centre: float, radius: float) -> float:
    """Second moment (mm^4) of one cut corner: a square of side r less a quarter disc, both starting at
    ``centre``.

    The quarter disc has area pi r^2/4, first moment r^3/3 and second moment pi r^4/16 about the axis through
    its centre.
    """
    square = radius * ((centre + radius) ** 3 - centre**3) / 3.0
    disc = radius**2 * (math.pi * centre**2 / 4.0 + 2.0 * centre * radius / 3.0 + math.pi * radius**2 / 16.0)
    return square - disc
