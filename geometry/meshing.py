"""Gmsh meshes: nodes along a wire, graded to its slots and bends, and triangles over its section.

Gmsh keeps one state for the whole process, so each mesh is made in a session of its own behind one lock,
silently, and leaves no option and no model behind.  Gmsh itself is imported only when a mesh is asked for.
"""

from __future__ import annotations

import functools
import math
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.pose import frozen
from geometry.section import Section
from geometry.wire_shapes import END_ROUNDING, PassiveShape

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

LARGEST_ELEMENT = 1.0
LARGEST_SHARE = 0.1
GROWTH = 1.5
# Sizes that follow h' = slope grow by exp(slope) from one element to the next.
SLOPE = math.log(GROWTH)
LARGEST_TURN = math.radians(10.0)
# Gmsh takes one element where up to 1.01 are called for: graded parts of a bend ask for that much less.
GMSH_EXCESS = 1.01
# A length a whole number of sizes long must not gain an element by rounding.
ROUNDING = 1e-9
# Marks that differ by less are one place, reached along two ways of adding lengths (mm).
SAME_PLACE = 1e-9
# A break of the shape this close to a mark (mm) would cost a sliver of an element and bring nothing: the
# nodes lie on the true shape with or without it.
SLIVER = 1e-3

# Elements along a quarter arc of a section's corner, at least: curved sides then lie within 1.5e-4 r of it.
ARC_ELEMENTS = 3
# Growth of a section's elements per distance from a rounded corner.
SECTION_SLOPE = 0.4

# Wires whose mesh one process keeps: in a study of tolerances all rows have the same.
KEPT_LINES = 64

_GMSH_LOCK = threading.Lock()


@contextmanager
def gmsh_session() -> Iterator[Any]:
    """The gmsh module, initialised for one mesh.

    Raises RuntimeError where something else in the process has it open, whose models it would destroy.
    """
    import gmsh

    with _GMSH_LOCK:
        if gmsh.isInitialized():
            raise RuntimeError(
                "Gmsh is in use elsewhere in this process: call gmsh.finalize() there before meshing a wire"
            )
        gmsh.initialize(interruptible=False, readConfigFiles=False)
        try:
            gmsh.option.setNumber("General.Terminal", 0)
            yield gmsh
        finally:
            gmsh.finalize()


@dataclass(frozen=True, slots=True)
class _Part:
    """A part of the wire meshed by Gmsh: sizes (mm) wanted at its ends, or the number of even elements."""

    start: float
    end: float
    start_size: float
    end_size: float
    even: int | None


def line_mesh(
    shape: PassiveShape, marks: ArrayLike, largest: float | None = None, fineness: float = 1.0
) -> Array:
    """Arc lengths (n,) in mm of a wire's nodes: its ends, the marks, the breaks of its shape, and more
    between.

    ``marks`` (in any order) must be nodes; their values come back unchanged (of two within 1e-9 mm, the
    first).  The size of elements at a mark is the distance to its nearer neighbour and grows away from there
    by at most 1.5 from one element to the next, up to ``largest``, which unless given is 1 mm or a tenth of
    the wire, whichever is smaller.  No element turns by more than 10 degrees in a bend or a twist.
    Neighbours no further apart than that growth have one element between.  ``fineness`` divides all these sizes, and
    grades them so much more gently; below one the mesh is coarser.

    Raises ValueError for a mark off the wire, or for ``largest`` or ``fineness`` not above zero.
    """
    if not (math.isfinite(fineness) and fineness > 0.0):
        raise ValueError(f"the fineness of a mesh must be finite and above zero: got {fineness!r}")
    if largest is None:
        largest = min(LARGEST_ELEMENT, LARGEST_SHARE * shape.length)
    if not (math.isfinite(largest) and largest > 0.0):
        raise ValueError(f"the largest element needs a finite length above zero: got {largest!r} mm")
    fixed = _fixed_nodes(shape, marks)
    gaps = np.diff(fixed)
    turn_rate = np.linalg.norm(shape.curvature(0.5 * (fixed[:-1] + fixed[1:])), axis=1)
    limits = LARGEST_TURN / np.maximum(turn_rate, LARGEST_TURN / largest) / fineness
    slope = SLOPE / fineness
    sizes = _sizes_at_nodes(gaps, limits, slope)
    parts: list[_Part] = []
    for i in range(len(gaps)):
        one_element = math.exp(slope) * min(sizes[i], sizes[i + 1])
        if gaps[i] > min(one_element, limits[i]) * (1.0 + ROUNDING):
            parts.extend(
                _graded(fixed[i], fixed[i + 1], sizes[i], sizes[i + 1], limits[i], slope, turn_rate[i] > 0.0)
            )
    return frozen(np.unique(np.concatenate((fixed, *_nodes_within(tuple(parts))))))


def _fixed_nodes(shape: PassiveShape, marks: ArrayLike) -> Array:
    """Marks, ends and breaks (n,), sorted, each place once: a mark's own value goes before all others."""
    wanted = np.unique(np.asarray(marks, dtype=np.float64))
    slack = END_ROUNDING * shape.length
    off = ~((wanted >= -slack) & (wanted <= shape.length + slack))
    if off.any():
        raise ValueError(
            f"a node at {wanted[off][0]:.6g} mm is not on the wire, which is {shape.length:.6g} mm long"
        )
    nodes = [float(s) for s in wanted[np.diff(wanted, prepend=-np.inf) > SAME_PLACE]]
    for end in (0.0, shape.length):
        if not any(abs(end - s) <= max(slack, SAME_PLACE) for s in nodes):
            nodes.append(end)
    nodes.extend(float(b) for b in shape.breaks if not any(abs(b - s) <= SLIVER for s in nodes))
    return np.array(sorted(nodes))


def _sizes_at_nodes(gaps: Array, limits: Array, slope: float) -> Array:
    """Element sizes (n + 1,) at nodes ``gaps`` (n,) apart: the nearer neighbour's distance, its growth
    limited."""
    bound = np.minimum(gaps, limits)
    sizes: Array = np.minimum(np.append(bound, np.inf), np.insert(bound, 0, np.inf))
    for i in range(len(gaps)):
        sizes[i + 1] = min(sizes[i + 1], sizes[i] + slope * gaps[i])
    for i in reversed(range(len(gaps))):
        sizes[i] = min(sizes[i], sizes[i + 1] + slope * gaps[i])
    return sizes


def _graded(
    start: float, end: float, start_size: float, end_size: float, limit: float, slope: float, turns: bool
) -> list[_Part]:
    """Parts of a gap on each of which the wanted size is linear, as Gmsh takes it: rising, constant, falling.

    The size is the least of start_size + slope (s - start), end_size + slope (end - s) and the limit.  A kink
    of it becomes a node, so one too close to an end or to the other kink is left out; the size only gets
    smaller by that.
    """
    excess = GMSH_EXCESS if turns else 1.0
    if turns:
        limit /= excess
        start_size, end_size = min(start_size, limit), min(end_size, limit)
    rise_to = start + (limit - start_size) / slope
    fall_from = end - (limit - end_size) / slope
    peak, kinks = limit, [rise_to, fall_from]
    if fall_from - rise_to < 0.5 * limit:
        middle = 0.5 * (rise_to + fall_from)
        peak, kinks = min(limit, start_size + slope * (middle - start)), [middle]
    kinks = [s for s in kinks if s - start > 0.5 * peak and end - s > 0.5 * peak]
    places = [start, *kinks, end]
    sizes = [start_size, *(peak for _ in kinks), end_size]
    return [
        _Part(
            a,
            b,
            size_a,
            size_b,
            math.ceil((b - a) / (size_a * excess) - ROUNDING) if size_a == size_b else None,
        )
        for (a, b), (size_a, size_b) in zip(pairwise(places), pairwise(sizes), strict=True)
    ]


@functools.lru_cache(maxsize=KEPT_LINES)
def _nodes_within(parts: tuple[_Part, ...]) -> tuple[Array, ...]:
    """Arc lengths of the nodes of each part, its ends included, by Gmsh's mesh of straight lines along the
    arc length."""
    if not parts:
        return ()
    nodes = []
    with gmsh_session() as gmsh:
        lines = []
        for part in parts:
            a = gmsh.model.geo.addPoint(part.start, 0.0, 0.0, part.start_size)
            b = gmsh.model.geo.addPoint(part.end, 0.0, 0.0, part.end_size)
            lines.append(gmsh.model.geo.addLine(a, b))
        gmsh.model.geo.synchronize()
        for line, part in zip(lines, parts, strict=True):
            if part.even is not None:
                gmsh.model.mesh.setTransfiniteCurve(line, part.even + 1)
        gmsh.model.mesh.generate(1)
        for line, part in zip(lines, parts, strict=True):
            inside = gmsh.model.mesh.getNodes(1, line)[1][::3]
            nodes.append(frozen(np.concatenate(([part.start, part.end], inside))))
    return tuple(nodes)


@dataclass(frozen=True, slots=True)
class SectionMesh:
    """Second-order triangles over a section, coordinates (y, z) in mm.

    Nodes of a triangle: its three corners counter-clockwise (y towards z), then the middles of its sides 0-1,
    1-2, 2-0. Sides on a rounded corner are curved: their middles lie on the arc.  Nodes of a boundary side:
    start, end, middle, the section on its left.
    """

    points: Array
    """(n, 2) in mm."""
    triangles: Indices
    """(m, 6) indices into points."""
    boundary: Indices
    """(k, 3) indices into points, side by side round the section."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen(self.points))
        for name in ("triangles", "boundary"):
            indices = np.array(getattr(self, name), dtype=np.int64)
            indices.setflags(write=False)
            object.__setattr__(self, name, indices)


def section_mesh(section: Section, divisions: int = 12) -> SectionMesh:
    """Triangles over a section, ``divisions`` of them across its smaller side, finer along rounded corners.

    Raises ValueError for ``divisions`` below two.
    """
    if divisions < 2:
        raise ValueError(f"a section needs at least two elements across its smaller side: got {divisions}")
    coarse = min(section.height, section.depth) / divisions
    with gmsh_session() as gmsh:
        loop, surface = outlined_surface(gmsh, section, coarse)
        _refine_corners(gmsh, section, coarse, loop)
        return triangles_within(gmsh, loop, surface)


def outlined_surface(gmsh: Any, section: Section, coarse: float) -> tuple[list[int], int]:
    """The section in Gmsh's x-y plane: the curves of its outline, and the surface inside, meshed to ``coarse`` (mm)
    unless told otherwise."""
    geo = gmsh.model.geo
    loop = outline_curves(geo, section, lambda y, z: geo.addPoint(y, z, 0.0, coarse))
    surface = geo.addPlaneSurface([geo.addCurveLoop(loop)])
    geo.synchronize()
    return loop, surface


def triangles_within(gmsh: Any, loop: list[int], surface: int) -> SectionMesh:
    """Meshes the surface inside the outline ``loop`` with second-order triangles."""
    mesh = gmsh.model.mesh
    mesh.generate(2)
    mesh.setOrder(2)
    tags, coordinates, _ = mesh.getNodes()
    line = mesh.getElementType("line", 2)
    corners = mesh.getElementsByType(mesh.getElementType("triangle", 2), surface)[1].reshape(-1, 6)
    sides = np.concatenate([mesh.getElementsByType(line, curve)[1].reshape(-1, 3) for curve in loop])
    # Gmsh also numbers the arcs' centres, which no triangle uses.
    used, triangles = np.unique(corners, return_inverse=True)
    order = np.argsort(tags)
    points = coordinates.reshape(-1, 3)[order[np.searchsorted(tags, used, sorter=order)], :2]
    return SectionMesh(points, triangles.reshape(-1, 6), np.searchsorted(used, sides))


def outline_curves(kernel: Any, section: Section, add_point: Callable[[float, float], int]) -> list[int]:
    """Curves round the section, counter-clockwise, in either of Gmsh's kernels: arcs at rounded corners, straight sides
    between.  ``add_point`` adds a point at a height and a depth (mm)."""
    cy, cz, r = section.corner_y, section.corner_z, section.edge_radius
    points: dict[tuple[float, float], int] = {}

    def point(y: float, z: float) -> int:
        # Corners of a stadium or of a round wire share points: the same numbers, to the last bit.
        if (y, z) not in points:
            points[y, z] = add_point(y, z)
        return points[y, z]

    arcs = []
    for side_y, side_z, turned in ((1, 1, False), (-1, 1, True), (-1, -1, False), (1, -1, True)):
        # Adding zero takes the sign off a negative zero.
        y, z = side_y * cy + 0.0, side_z * cz + 0.0
        along_y, along_z = point(y + side_y * r, z), point(y, z + side_z * r)
        start, end = (along_z, along_y) if turned else (along_y, along_z)
        arcs.append((start, point(y, z), end) if r > 0.0 else (start, start, end))
    curves = []
    for (start, centre, end), (following, _, _) in zip(arcs, arcs[1:] + arcs[:1], strict=True):
        if r > 0.0:
            curves.append(kernel.addCircleArc(start, centre, end))
        if end != following:
            curves.append(kernel.addLine(end, following))
    return curves


def _refine_corners(gmsh: Any, section: Section, coarse: float, curves: list[int]) -> None:
    """Ask Gmsh for small elements along small corner arcs, growing to ``coarse`` away from them."""
    fine = 0.5 * math.pi * section.edge_radius / ARC_ELEMENTS
    if not 0.0 < fine < coarse:
        return
    ends = gmsh.model.getBoundary([(1, curve) for curve in curves], combined=False, oriented=False)
    field = gmsh.model.mesh.field
    distance, size = field.add("Distance"), field.add("Threshold")
    field.setNumbers(distance, "PointsList", sorted({tag for _, tag in ends}))
    field.setNumber(size, "InField", distance)
    for name, value in (
        ("SizeMin", fine),
        ("SizeMax", coarse),
        ("DistMin", section.edge_radius),
        ("DistMax", section.edge_radius + (coarse - fine) / SECTION_SLOPE),
    ):
        field.setNumber(size, name, value)
    field.setAsBackgroundMesh(size)
    # Otherwise the small sizes on the outline would spread over the whole section.
    gmsh.option.setNumber("Mesh.MeshSizeExtendFromBoundary", 0)
