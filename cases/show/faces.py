"""The three views an appliance is drawn in, and what each shows of it, as numbers.  No drawing.

Facial: x to the right, y up.  Occlusal: x to the right, seen from where the teeth bite, so from below for an
upper arch and from above for a lower one or without teeth.  Mesiodistal: along +x, z to the right, y up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from cases.results import AttachmentResult, RunResult, WireResult
from cases.show import labels
from cases.show.device import device_of, edge_half_length, edge_profile, slot_block
from cases.show.wire_curve import refined
from geometry.pose import frozen
from geometry.tooth import Tooth

Array = NDArray[np.float64]

# Where the wire runs more steeply towards the viewer, its band has no sides.
_END_ON = 0.2
_PER_QUARTER = 8
# A wire towards the viewer is drawn anew where it has moved by this share of its height.
_SAME_PLACE = 0.1
# Length of the pieces of a wire that crosses itself, in heights of its section.
_SHORT = 1.5


@dataclass(frozen=True, slots=True)
class Face:
    """One direction of looking."""

    key: str
    title: str
    axes: Array
    """(2, 3), rows: world directions to the right and up in the picture."""
    words: tuple[str, str]
    """What these directions are called."""

    def project(self, points: Array) -> Array:
        """(..., 2) in mm of world points (..., 3)."""
        return np.asarray(points, dtype=np.float64) @ self.axes.T

    @property
    def towards(self) -> Array:
        """(3,), from the picture to the viewer."""
        return np.cross(self.axes[0], self.axes[1])


def faces(result: RunResult) -> tuple[Face, Face, Face]:
    """Facial, occlusal and mesiodistal view."""
    arches = {Tooth(item.tooth).arch for item in result.attachments if item.tooth is not None}
    upper = arches == {"upper"}
    z_up = 1.0 if upper else -1.0
    side = "upper arch, seen from below" if upper else "lower arch, seen from above" if arches == {"lower"} else (
        "seen from above"
    )  # fmt: skip
    x, y, z = labels.axis_words(result)
    return (
        Face("facial", "Facial view", frozen([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]), (x, y)),
        Face("occlusal", f"Occlusal view ({side})", frozen([[1.0, 0.0, 0.0], [0.0, 0.0, z_up]]), (x, z)),
        Face("mesiodistal", "Mesiodistal view (along +x)", frozen([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0]]), (z, y)),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of the wire as a view shows it."""

    fills: tuple[Array, ...]
    """Polygons (k, 2), mm, which may overlap."""
    sides: tuple[Array, ...]
    """Lines (k, 2), mm, that bound the piece; without any, the outlines of all ``fills`` together do."""


def wire_band(wire: WireResult, face: Face) -> list[Array]:
    """The engaged wire at its true thickness: polygons (k, 2) in mm, which may overlap.

    Where it runs towards the viewer it has no sides; there the hulls of its section's outlines, one place to the
    next, stand for it.
    """
    return [fill for _, piece in _runs(wire, face, np.inf) for fill in piece.fills]


def wire_pieces(wire: WireResult, face: Face) -> list[Piece]:
    """The same to be drawn one after the other, so that of two parts that cross the nearer one is seen.

    A wire that does not turn back on itself is one piece.
    """
    along = wire.axes[:, :, 0] @ face.axes.T
    length = np.linalg.norm(along, axis=1)
    seen = length > _END_ON
    if not seen.any() or (seen.all() and float((along / length[:, None] @ along[0]).min()) > 0.0):
        return [Piece(tuple(wire_band(wire, face)), ())]
    pieces = _runs(wire, face, _SHORT * wire.section.height)
    return [piece for _, piece in sorted(pieces, key=lambda one: one[0])]


def _runs(wire: WireResult, face: Face, longest: float) -> list[tuple[float, Piece]]:
    """Pieces of the wire with their depths (mm towards the viewer); those with sides ``longest`` mm at most."""
    points, axes, _ = refined(wire.positions_mm, wire.axes, np.zeros(len(wire.positions_mm)))
    centre, depth = face.project(points), points @ face.towards
    along = axes[:, :, 0] @ face.axes.T
    length = np.linalg.norm(along, axis=1)
    seen = length > _END_ON
    out = []
    for first, last in _stretches(seen):
        for part in _cut(points, first, last, longest):
            tangent = along[part] / length[part, None]
            normal = np.column_stack((-tangent[:, 1], tangent[:, 0]))
            in_section = np.einsum("nji,nj->ni", axes[part, :, 1:], normal @ face.axes)
            half = wire.section.reach(in_section)[:, None] * normal
            left, right = centre[part] + half, centre[part] - half
            fill = np.concatenate((left, right[::-1]))
            ends = [k for k, end in ((0, part.start == 0), (-1, part.stop == len(points))) if end]
            caps = [np.array([left[k], right[k]]) for k in ends]
            out.append((float(depth[part].mean()), Piece((fill,), (left, right, *caps))))
    outline = wire.section.outline(_PER_QUARTER)
    for first, last in _stretches(~seen):
        # One place more at each end closes the gap to the band beside it.
        part = slice(max(first - 1, 0), min(last + 1, len(points)))
        rings = centre[part, None] + np.einsum("nij,mj->nmi", face.axes @ axes[part, :, 1:], outline)
        hulls = tuple(_hulls(rings, _SAME_PLACE * wire.section.height))
        out.append((float(depth[part].mean()), Piece(hulls, ())))
    return out


def _stretches(true: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and one past the last index of every stretch of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], true, [False])).astype(int)))
    return [(int(first), int(last)) for first, last in edges.reshape(-1, 2)]


def _cut(points: Array, first: int, last: int, longest: float) -> list[slice]:
    """Parts of a stretch, each ``longest`` mm long at most if its points allow, that share their end points."""
    steps = np.linalg.norm(np.diff(points[first:last], axis=0), axis=1)
    if last - first < 2:
        return []
    number = np.floor(np.cumsum(steps) / longest).astype(int)
    cuts = first + 1 + np.flatnonzero(np.diff(number) > 0)
    ends = [first, *(int(c) for c in cuts), last - 1]
    return [slice(a, b + 1) for a, b in zip(ends, ends[1:], strict=False) if b > a]


def _hulls(rings: Array, least: float) -> list[Array]:
    """Convex hulls (k, 2) of each of the ``rings`` (n, m, 2) with the next that lies ``least`` mm or more away."""
    kept = [rings[0]]
    for ring in rings[1:]:
        if np.abs(ring - kept[-1]).max() >= least:
            kept.append(ring)
    pairs = [np.concatenate(pair) for pair in zip(kept, kept[1:], strict=False)] or kept
    return [np.asarray(pair[ConvexHull(pair).vertices]) for pair in pairs]


def wire_ends(wire: WireResult, face: Face, at: Sequence[Array]) -> list[Array]:
    """Outlines (m, 2) of the wire at both its ends and near the world points ``at``, where it comes towards the
    viewer."""
    nodes = {0, len(wire.arc_length_mm) - 1}
    nodes |= {int(np.argmin(np.linalg.norm(wire.positions_mm - point, axis=1))) for point in at}
    out = []
    outline = wire.section.outline(_PER_QUARTER)
    for i in sorted(nodes):
        if np.linalg.norm(face.axes @ wire.axes[i][:, 0]) < 0.7:
            out.append(face.project(wire.positions_mm[i] + outline @ wire.axes[i][:, 1:].T))
    return out


def body(item: AttachmentResult, wire: WireResult) -> Array:
    """Points (k, 3) in world axes, mm, whose convex hull stands for the attachment: of a slot its opening at true
    size, of a roller its cylinder, of a clamp a block, of a knife edge a wedge and of a button a ball for the eye."""
    across = max(wire.section.height, wire.section.depth)
    device = device_of(item)
    if device.slot is not None:
        return item.pose.to_world(slot_block(device.slot))
    if device.is_edge:
        profile, half_length = edge_profile(device), edge_half_length(across)
        ends = [np.insert(profile, 2, end, axis=1) for end in (-half_length, half_length)]
        return item.pose.to_world(np.concatenate(ends))
    if item.kind == "button":
        return item.pose.to_world(_sphere(0.85 * across))
    half = np.array([0.6, 1.8, 1.8]) * across
    signs = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T
    return item.pose.to_world(signs * half)


def _sphere(radius: float) -> Array:
    """Points (k, 3) on a ball about the origin: circles in all three coordinate planes."""
    turns = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
    circle = radius * np.column_stack((np.cos(turns), np.sin(turns), np.zeros(48)))
    return np.concatenate([np.roll(circle, shift, axis=1) for shift in range(3)])


def silhouette(body_points: Array, face: Face) -> Array:
    """(k, 2): what the view sees of the convex hull of points (n, 3)."""
    seen = face.project(body_points)
    return np.asarray(seen[ConvexHull(seen).vertices])
