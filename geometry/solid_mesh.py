"""The wire as a solid: its section's triangles swept along the arc length into wedges.

A node of the solid knows its arc length s and its offset (y, z) in the section.  In a state of the beam it
stands at x(s) + R(s) (0, y, z), where x and the columns of R are the section's centre and axes: plane sections
stay plane and keep their shape.  Between two layers the wedges are of second order, so curved wires and
rounded edges are curved in the mesh too.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.meshing import (
    LARGEST_TURN,
    ROUNDING,
    SectionMesh,
    gmsh_session,
    outlined_surface,
    triangles_within,
)
from geometry.pose import frozen
from geometry.section import Rectangle, Section
from geometry.wire_shapes import PassiveShape

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

# Layers (mm).  A beam's stress is the true one only further than about half the wire's height from where a force
# acts (Saint-Venant's principle), and a layer shows it half-way too: thinner ones show nothing more.
LEAST_LAYER = 0.1
LARGEST_LAYER = 2.0
# By how much a layer may turn.  Its stations, half-way ones included, then follow the beam every 10 degrees.
LARGEST_LAYER_TURN = 2.0 * LARGEST_TURN
# A layer across a jump of the curvature by k, in the middle of its length h, is off by k h^2/16 between its
# stations: smaller jumps (1/mm) than this one cost no more than 1e-3 mm.
LEAST_JUMP = 1e-3 * 16.0 / LARGEST_LAYER**2

# Second-order triangles across the smaller side of a solid wire, and along a quarter of a rounded edge: area and
# second moments to 4e-4, torsion constant to 9e-4, largest shear of torsion to 2e-3, with 150 to 400 nodes.
DIVISIONS = 5
ARC_ELEMENTS = 2
# Edges rounded by less than this share of the smaller side are meshed sharp, which changes area and second
# moments by less than 3e-4 of themselves: smaller arcs would take thousands of triangles.
NEARLY_SHARP = 0.01

CELL_TYPE = "wedge18"
"""What meshio calls the cells: second-order wedges with eighteen nodes.  (It cannot hold those with fifteen.)"""

# Where VTK's nodes of such a wedge stand in the order of Gmsh, which takes the edges by their ends and the
# faces likewise (VTK's file formats and Gmsh's reference manual, "node ordering"); meshio does not reorder it.
GMSH_ORDER = (0, 1, 2, 3, 4, 5, 6, 8, 12, 7, 13, 14, 9, 11, 10, 15, 17, 16)


@dataclass(frozen=True, slots=True)
class SolidWire:
    """Second-order wedges along a wire: in (s, y, z) a straight bar, posed by the frames of its stations.

    Nodes of a wedge, in VTK's order: three corners at the smaller arc length, three at the larger; the middles
    of the sides 0-1, 1-2, 2-0 at either end; half-way along the wire first the corners, then the middles of the
    sides.
    """

    section: SectionMesh
    """What is swept, (p,) points."""
    stations: Array
    """(k,) mm, k = 2 layers + 1: arc lengths of the ends of layers (even) and of their middles (odd)."""
    station: Indices
    """(n,) the station of each node."""
    section_node: Indices
    """(n,) the point of ``section`` that each node is."""
    cells: Indices
    """(m, 18) indices of nodes."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "stations", frozen(self.stations))
        for name in ("station", "section_node", "cells"):
            indices = np.array(getattr(self, name), dtype=np.int64)
            indices.setflags(write=False)
            object.__setattr__(self, name, indices)

    @property
    def cell_type(self) -> str:
        """What meshio calls the cells."""
        return CELL_TYPE

    @property
    def arc_lengths(self) -> Array:
        """(n,) mm."""
        along: Array = self.stations[self.station]
        return along

    @property
    def offsets(self) -> Array:
        """(n, 2) = (y, z) in mm."""
        across: Array = self.section.points[self.section_node]
        return across

    @property
    def section_points(self) -> Array:
        """(n, 3) = (s, y, z) in mm: where the nodes stand in the straight bar."""
        return np.column_stack((self.arc_lengths, self.offsets))

    def positions(self, centres: ArrayLike, axes: ArrayLike) -> Array:
        """(n, 3) in mm with the stations' section centres at ``centres`` (k, 3) and axes (k, 3, 3)."""
        c, a = np.asarray(centres, dtype=np.float64), np.asarray(axes, dtype=np.float64)
        across = np.einsum("nij,nj->ni", a[self.station][:, :, 1:], self.offsets)
        placed: Array = c[self.station] + across
        return placed


def coarse_section_mesh(section: Section, divisions: int = DIVISIONS) -> SectionMesh:
    """A section's mesh for sweeping, nodes as ``geometry.meshing.section_mesh`` has them but fewer.

    Raises ValueError for ``divisions`` below two.
    """
    if divisions < 2:
        raise ValueError(f"a section needs at least two elements across its smaller side: got {divisions}")
    smaller = min(section.height, section.depth)
    if isinstance(section, Rectangle) and section.edge_radius < NEARLY_SHARP * smaller:
        section = replace(section, edge_radius=0.0)
    coarse = smaller / divisions
    with gmsh_session() as gmsh:
        loop, surface = outlined_surface(gmsh, section, coarse)
        for curve in loop:
            least = 1
            length = math.dist(*np.reshape(gmsh.model.getBoundingBox(1, curve), (2, 3)))
            if gmsh.model.getType(1, curve) != "Line":
                least, length = ARC_ELEMENTS, 0.5 * math.pi * section.edge_radius
            gmsh.model.mesh.setTransfiniteCurve(curve, max(least, math.ceil(length / coarse - 1e-4)) + 1)
        return triangles_within(gmsh, loop, surface)


def solid_wire(section: SectionMesh, layers: ArrayLike) -> SolidWire:
    """Sweeps ``section`` from one of ``layers`` (arc lengths in mm, at least two, increasing) to the next.

    Raises ValueError for layers that do not increase.
    """
    ends = np.asarray(layers, dtype=np.float64)
    if ends.ndim != 1 or ends.size < 2 or not (np.diff(ends) > 0.0).all():
        raise ValueError("a solid wire needs at least two layers at increasing arc lengths")
    stations = np.empty(2 * ends.size - 1)
    stations[::2], stations[1::2] = ends, 0.5 * (ends[:-1] + ends[1:])
    count = len(section.points)
    start = 2 * count * np.arange(ends.size - 1)[:, None, None] + section.triangles
    middle, end = start + count, start + 2 * count
    cells = np.concatenate((start[..., :3], end[..., :3], start[..., 3:], end[..., 3:], middle), axis=-1)
    return SolidWire(
        section,
        stations,
        np.repeat(np.arange(stations.size), count),
        np.tile(np.arange(count), stations.size),
        cells.reshape(-1, 18),
    )


def layer_arcs(
    nodes: ArrayLike,
    turns: ArrayLike,
    keep: Iterable[float] = (),
    least: float = LEAST_LAYER,
    largest: float = LARGEST_LAYER,
) -> Array:
    """Arc lengths (k,) in mm at which the layers of a solid wire end.

    Both ends of the wire are among them, then every arc of ``keep``, the foremost first, unless it lies nearer
    than ``least`` (mm) to one taken before.  What is left between is divided so that no layer is longer than
    ``largest`` or turns by more than 20 degrees, finer where the wire turns.  ``turns`` (n - 1,) in rad says by
    how much the wire turns between its ``nodes`` (n,).
    """
    n = np.asarray(nodes, dtype=np.float64)
    taken = [float(n[0]), float(n[-1])]
    for arc in keep:
        # A mark may sit a rounding beside the layer half a step away from two others.
        if n[0] < arc < n[-1] and np.abs(np.array(taken) - arc).min() >= least * (1.0 - ROUNDING):
            taken.append(float(arc))
    ends = np.sort(taken)
    # Layers that a part needs for its length and for its turn: steps of one in their sum keep to both.
    turned = np.concatenate(([0.0], np.cumsum(np.asarray(turns, dtype=np.float64))))
    needed = n / largest + turned / LARGEST_LAYER_TURN
    out = [ends[:1]]
    for a, b in zip(ends[:-1], ends[1:], strict=True):
        first, last = np.interp((a, b), n, needed)
        pieces = max(1, math.ceil(last - first - ROUNDING))
        out += [np.interp(np.linspace(first, last, pieces + 1)[1:-1], needed, n), np.array([b])]
    return frozen(np.concatenate(out))


def bend_ends(shape: PassiveShape) -> Array:
    """Arc lengths (k,) in mm where the curvature or twist of ``shape`` jumps by enough to show, the largest jump
    first."""
    breaks = np.asarray(shape.breaks, dtype=np.float64)
    curvature = shape.curvature(0.5 * (breaks[:-1] + breaks[1:]))
    jumps = np.linalg.norm(np.diff(curvature, axis=0), axis=1)
    order = np.argsort(-jumps, kind="stable")
    found: Array = breaks[1:-1][order[jumps[order] > LEAST_JUMP]]
    return found


def turns_between(axes: ArrayLike) -> Array:
    """(n - 1,) rad: angle from each of the frames ``axes`` (n, 3, 3) to the next."""
    a = np.asarray(axes, dtype=np.float64)
    # |R1 - R2| (Frobenius) = 2 sqrt(2) sin(angle/2): no loss of digits at small angles.
    chord = np.linalg.norm(a[1:] - a[:-1], axis=(1, 2)) / (2.0 * math.sqrt(2.0))
    angle: Array = 2.0 * np.arcsin(np.minimum(chord, 1.0))
    return angle


def jacobians(points: ArrayLike, cells: Indices) -> Array:
    """(m, 18) mm^3: determinant of each wedge's map at its nodes; a wedge with one below zero is inverted.

    The map is the six-node triangle's (u, v >= 0, u + v <= 1) times the three-node line's (-1 <= t <= 1).
    """
    slopes = _wedge_slopes()
    nodes = np.asarray(points, dtype=np.float64)[cells]
    by = np.matmul(slopes.transpose(2, 0, 1)[:, None], nodes)  # (u, v, t; m, 18, 3)
    (xu, yu, zu), (xv, yv, zv), (xt, yt, zt) = np.moveaxis(by, -1, 1)
    determinant: Array = xt * (yu * zv - zu * yv) + yt * (zu * xv - xu * zv) + zt * (xu * yv - yu * xv)
    return determinant


def _wedge_slopes() -> Array:
    """(18, 18, 3): derivatives by u, v, t of the eighteen functions (second axis) at the eighteen nodes."""
    u, v = np.array([(0, 0), (1, 0), (0, 1), (0.5, 0), (0.5, 0.5), (0, 0.5)], dtype=np.float64).T
    w, zero = 1.0 - u - v, np.zeros(6)
    flat = np.stack(
        (w * (2 * w - 1), u * (2 * u - 1), v * (2 * v - 1), 4 * w * u, 4 * u * v, 4 * v * w), axis=1
    )
    by_u = np.stack((1 - 4 * w, 4 * u - 1, zero, 4 * (w - u), 4 * v, -4 * v), axis=1)
    by_v = np.stack((1 - 4 * w, zero, 4 * v - 1, -4 * u, 4 * u, 4 * (w - v)), axis=1)
    t = np.array((-1.0, 0.0, 1.0))
    along = np.stack((0.5 * t * (t - 1.0), 1.0 - t**2, 0.5 * t * (t + 1.0)), axis=1)
    by_t = np.stack((t - 0.5, -2.0 * t, t + 0.5), axis=1)
    # Node by node: its point of the triangle and of the line.
    across = [0, 1, 2, 0, 1, 2, 3, 4, 5, 3, 4, 5, 0, 1, 2, 3, 4, 5]
    level = [0, 0, 0, 2, 2, 2, 0, 0, 0, 2, 2, 2, 1, 1, 1, 1, 1, 1]
    flat, by_u, by_v = (table[np.ix_(across, across)] for table in (flat, by_u, by_v))
    along, by_t = (table[np.ix_(level, level)] for table in (along, by_t))
    return np.stack((by_u * along, by_v * along, flat * by_t), axis=-1)
