"""Attachments as solids: simple invented shapes around a slot that is exactly the case's.

Shapes stand in the attachment's own axes (x along the slot, y its height, z out of the slot), the slot's centre
or the held point at the origin.  Only the slot's six bounds mean anything; base, wings, lid and post are there
to be recognised, and copy no product.

* bracket: a base, a body with four tie wings, and a plate over the slot, the rigid door of closed ligation.
* tube: a base, a body, and a lid over the slot.
* button: a pad, a post and a ball, all on the tooth's side of the wire, which lies on the ball.  The held point
  is in the wire's middle, so the ball's top is as far below it as the outline reaches at most: however the wire
  has rolled about itself, it does not cut into the ball.  A ball and no plate, so that a wire tilted by t dips
  into it by no more than (reach + radius)(1 - cos t), 0.015 mm at 10 degrees.
* clamp: a thin block all round the section it holds, without play.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.attachments import Attachment, Kind, Slot
from geometry.meshing import gmsh_session, outline_curves
from geometry.pose import frozen
from geometry.section import Section

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

PARTS = ("base", "body", "outer wall")
"""What ``AttachmentSolid.part`` counts."""

# Invented sizes, mm; common practice makes brackets 2 to 4 mm in each direction (no source).
BASE = 0.4
"""Thickness of a base or pad."""
FLOOR = 0.4
"""From the slot's floor to the base."""
CHEEK = 0.5
"""Material above and below the slot."""
WING = 0.5
"""How far a tie wing stands out beyond the cheek."""
OVERHANG = 0.2
"""How far a base stands out beyond what it carries."""
DOOR = 0.2
LID = 0.4
BLOCK = 0.5
"""Length of a clamp along the wire."""
BALL_RADIUS, POST_RADIUS, PAD_RADIUS = 0.6, 0.35, 1.2
POST = 1.4
"""From the middle of the ball to the pad."""
# A mesiodistal third of a bracket between its wings is left free.
GROOVE = 1.0 / 3.0
# Cuts run this far beyond what they cut, so that no two faces coincide.
BEYOND = 1.0

LARGEST_CELL = 1.0
CELLS_ROUND = 18
"""Cells around a full circle, at least."""
LARGEST_SAG = 5e-4
"""How far (mm) a flat cell may cut off the arc of a clamp's hole.  Gmsh takes the sizes it is asked for to
within a few per cent, and the sag goes with their square: what is met is 1e-3 mm."""


@dataclass(frozen=True, slots=True)
class AttachmentSolid:
    """Tetrahedra in the attachment's own axes."""

    points: Array
    """(n, 3) mm."""
    tetrahedra: Indices
    """(m, 4) indices into points."""
    part: Indices
    """(m,) index into PARTS."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen(self.points))
        for name in ("tetrahedra", "part"):
            indices = np.array(getattr(self, name), dtype=np.int64)
            indices.setflags(write=False)
            object.__setattr__(self, name, indices)


Volumes = dict[int, list[int]]
"""Gmsh's volumes of each part."""


def attachment_solid(attachment: Attachment, section: Section) -> AttachmentSolid:
    """The solid of an attachment; ``section`` is the wire's, which a button and a clamp fit.  Kept per shape."""
    return _solid(attachment.kind, attachment.slot, section)


@functools.lru_cache(maxsize=64)
def _solid(kind: Kind, slot: Slot | None, section: Section) -> AttachmentSolid:
    build: Callable[[Any], Volumes]
    if slot is not None:
        shape = _bracket if kind == "bracket" else _tube
        build = functools.partial(shape, slot=slot)
    else:
        fitted = _button if kind == "button" else _clamp
        build = functools.partial(fitted, section=section)
    around = max(CELLS_ROUND, _cells_round(section.edge_radius)) if kind == "clamp" else CELLS_ROUND
    with gmsh_session() as gmsh:
        return _meshed(gmsh, build(gmsh.model.occ), around)


def _cells_round(radius: float) -> int:
    """Chords around a circle of ``radius`` (mm) that keep to LARGEST_SAG."""
    if radius <= LARGEST_SAG:
        return 0
    return math.ceil(math.pi / math.acos(1.0 - LARGEST_SAG / radius))


def _box(occ: Any, x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> int:
    return int(occ.addBox(x[0], y[0], z[0], x[1] - x[0], y[1] - y[0], z[1] - z[0]))


def _bracket(occ: Any, slot: Slot) -> Volumes:
    h, d, w = 0.5 * slot.height, 0.5 * slot.depth, 0.5 * slot.width
    cheek, wing = h + CHEEK, h + CHEEK + WING
    under = -d - FLOOR
    base = _base(occ, w, wing, under)
    body = _box(occ, (-w, w), (-cheek, cheek), (under, d))
    wings = [
        _box(occ, x, y, (0.0, d))
        for x in ((-w, -GROOVE * w), (GROOVE * w, w))
        for y in ((-wing, -cheek), (cheek, wing))
    ]
    whole = occ.fuse([(3, body)], [(3, tag) for tag in wings])[0]
    hole = _box(occ, (-w - BEYOND, w + BEYOND), (-h, h), (-d, d + BEYOND))
    cut = occ.cut(whole, [(3, hole)])[0]
    door = _box(occ, (-w, w), (-h - 0.5 * CHEEK, h + 0.5 * CHEEK), (d, d + DOOR))
    return {0: [base], 1: [tag for _, tag in cut], 2: [door]}


def _tube(occ: Any, slot: Slot) -> Volumes:
    h, d, w = 0.5 * slot.height, 0.5 * slot.depth, 0.5 * slot.width
    side, under = h + CHEEK, -d - FLOOR
    base = _base(occ, w, side + OVERHANG, under)
    body = _box(occ, (-w, w), (-side, side), (under, d))
    hole = _box(occ, (-w - BEYOND, w + BEYOND), (-h, h), (-d, d + BEYOND))
    cut = occ.cut([(3, body)], [(3, hole)])[0]
    lid = _box(occ, (-w, w), (-side, side), (d, d + LID))
    # Its two outer edges along the wire are rounded, as a drawn tube's are.
    edges = [tag for _, tag in occ.getEntitiesInBoundingBox(
        -w - BEYOND, -side - BEYOND, d + LID - 1e-3, w + BEYOND, side + BEYOND, d + LID + 1e-3, 1)]  # fmt: skip
    occ.synchronize()
    lengthwise = [tag for tag in edges if np.ptp(_extent(occ, tag)[:, 0]) > w]
    rounded = occ.fillet([lid], lengthwise, [0.75 * LID])
    return {0: [base], 1: [tag for _, tag in cut], 2: [tag for _, tag in rounded]}


def _extent(occ: Any, edge: int) -> Array:
    """(2, 3): least and largest coordinates of an edge."""
    return np.asarray(occ.getBoundingBox(1, edge)).reshape(2, 3)


def _base(occ: Any, half_width: float, half_height: float, top: float) -> int:
    w, h = half_width + OVERHANG, half_height + OVERHANG
    return _box(occ, (-w, w), (-h, h), (top - BASE, top))


def _button(occ: Any, section: Section) -> Volumes:
    top = -math.hypot(section.corner_y, section.corner_z) - section.edge_radius
    middle = top - BALL_RADIUS
    ball = occ.addSphere(0, 0, middle, BALL_RADIUS)
    post = occ.addCylinder(0, 0, middle - POST, 0, 0, POST, POST_RADIUS)
    body = occ.fuse([(3, ball)], [(3, post)])[0]
    pad = occ.addCylinder(0, 0, middle - POST - BASE, 0, 0, BASE, PAD_RADIUS)
    return {0: [pad], 1: [tag for _, tag in body]}


def _clamp(occ: Any, section: Section) -> Volumes:
    y, z, x = 0.5 * section.height, 0.5 * section.depth, 0.5 * BLOCK
    under = -z - FLOOR
    base = _base(occ, x, y + CHEEK, under)
    body = _box(occ, (-x, x), (-y - CHEEK, y + CHEEK), (under, z + FLOOR))
    face = _outline(occ, section, -x - BEYOND)
    swept = occ.extrude([(2, face)], BLOCK + 2.0 * BEYOND, 0, 0)
    cut = occ.cut([(3, body)], [entity for entity in swept if entity[0] == 3])[0]
    return {0: [base], 1: [tag for _, tag in cut]}


def _outline(occ: Any, section: Section, x: float) -> int:
    """The section as a plane face at ``x``."""
    curves = outline_curves(occ, section, lambda y, z: occ.addPoint(x, y, z))
    return int(occ.addPlaneSurface([occ.addCurveLoop(curves)]))


def _meshed(gmsh: Any, volumes: Volumes, cells_round: int) -> AttachmentSolid:
    """Joins the parts where they touch and fills them with tetrahedra, ``cells_round`` around a full circle."""
    occ, mesh = gmsh.model.occ, gmsh.model.mesh
    given = [(part, tag) for part, tags in volumes.items() for tag in tags]
    entities = [(3, tag) for _, tag in given]
    _, pieces = occ.fragment(entities[:1], entities[1:])
    occ.synchronize()
    gmsh.option.setNumber("Mesh.MeshSizeMax", LARGEST_CELL)
    gmsh.option.setNumber("Mesh.MeshSizeFromCurvature", cells_round)
    mesh.generate(3)
    cells, parts = [], []
    for (part, _), found in zip(given, pieces, strict=True):
        for _, volume in found:
            corners = mesh.getElementsByType(mesh.getElementType("tetrahedron", 1), volume)[1].reshape(-1, 4)
            cells.append(corners)
            parts.append(np.full(len(corners), part))
    tags, coordinates, _ = mesh.getNodes()
    used, tetrahedra = np.unique(np.concatenate(cells), return_inverse=True)
    order = np.argsort(tags)
    points = coordinates.reshape(-1, 3)[order[np.searchsorted(tags, used, sorter=order)]]
    return AttachmentSolid(points, tetrahedra.reshape(-1, 4), np.concatenate(parts))
