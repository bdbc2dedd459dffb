"""Attachments as solids: simple invented shapes around a slot that is exactly the case's.

Shapes stand in the attachment's own axes (x along the slot, y its height, z out of the slot), the slot's centre
or the held point at the origin.  Only the slot's six bounds mean anything; base, wings, lid and post are there
to be recognised, and copy no product.

* bracket: a base, a body with four tie wings, and in front what keeps the wire in: a plate over the slot, the rigid
  door of closed ligation; a ligature as a thin strip; or nothing.
* tube: a base, a body, and a lid over the slot (or, open, what a bracket has).
* button: a pad, a post and a ball, all on the tooth's side of the wire, which lies on the ball.  The held point
  is in the wire's middle, so the ball's top is as far below it as the outline reaches at most: however the wire
  has rolled about itself, it does not cut into the ball.  A ball and no plate, so that a wire tilted by t dips
  into it by no more than (reach + radius)(1 - cos t), 0.015 mm at 10 degrees.
* clamp: a thin block all round the section it holds, without play.
* knife edge: a wedge whose edge lies along z through the attachment's place.
* roller: a cylinder along z that touches that line.  Both stand on the wire's far side in y if not below it.

Walls taper as the slot's do.  Rounded mouths are drawn by chords that lie inside the material's arcs, as far out as the
material is thick.  A ligature stands where it bears on a wire that lies on the floor, not where it would without one:
a ring that presses would there cut through the wire.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.attachments import Attachment, Slot
from geometry.ligation import Ligation
from geometry.meshing import gmsh_session, outline_curves
from geometry.pose import frozen
from geometry.section import Section

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

PARTS = ("base", "body", "outer wall")
"""What ``AttachmentSolid.part`` counts; a ligature takes the outer wall's place."""

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
STRIP = 0.1
"""Thickness of a ligature."""
APART = 0.02
"""Between a ligature and the walls it lies between."""
BLOCK = 0.5
"""Length of a clamp along the wire."""
WEDGE_HEIGHT, WEDGE_HALF_WIDTH = 1.5, 0.5
EDGE_BEYOND = 0.6
"""How far a knife edge or roller stands out beyond the wire at either side, along z."""
BALL_RADIUS, POST_RADIUS, PAD_RADIUS = 0.6, 0.35, 1.2
POST = 1.4
"""From the middle of the ball to the pad."""
# A mesiodistal third of a bracket between its wings is left free.
GROOVE = 1.0 / 3.0
# A rounded mouth is drawn until this share of the material beside the slot is gone.
ROUNDED_AWAY = 0.75
CHORD = math.radians(7.5)
"""Of the arcs of a rounded mouth, at most: chords lie within 0.0022 radii of their arc."""
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
    return _solid(_Shape.of(attachment), section)


@dataclass(frozen=True, slots=True)
class _Shape:
    """What an attachment looks like: attachments that share it share a mesh."""

    kind: str
    slot: Slot | None
    ligation: Ligation
    radius: float
    below: bool

    @classmethod
    def of(cls, attachment: Attachment) -> _Shape:
        ligation, below = attachment.ligation, attachment.below
        return cls(attachment.kind, attachment.slot, ligation, attachment.radius, below)


@functools.lru_cache(maxsize=64)
def _solid(shape: _Shape, section: Section) -> AttachmentSolid:
    build: Callable[[Any], Volumes]
    if shape.slot is not None:
        holder = _bracket if shape.kind == "bracket" else _tube
        strip = ligature_height(shape.ligation, section)
        build = functools.partial(
            holder, slot=shape.slot, closed=shape.ligation.kind == "closed", ligature=strip
        )
    elif shape.kind in ("knife edge", "roller"):
        build = functools.partial(_edge, shape=shape, section=section)
    else:
        fitted = _button if shape.kind == "button" else _clamp
        build = functools.partial(fitted, section=section)
    around = max(CELLS_ROUND, _cells_round(section.edge_radius)) if shape.kind == "clamp" else CELLS_ROUND
    with gmsh_session() as gmsh:
        return _meshed(gmsh, build(gmsh.model.occ), around)


def ligature_height(ligation: Ligation, section: Section) -> float | None:
    """Above the floor, mm, where a ligature bears on a wire that lies on the floor; None where there is none."""
    return max(ligation.rest(section.depth), section.depth) if ligation.is_elastic else None


def _cells_round(radius: float) -> int:
    """Chords around a circle of ``radius`` (mm) that keep to LARGEST_SAG."""
    if radius <= LARGEST_SAG:
        return 0
    return math.ceil(math.pi / math.acos(1.0 - LARGEST_SAG / radius))


def _box(occ: Any, x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> int:
    return int(occ.addBox(x[0], y[0], z[0], x[1] - x[0], y[1] - y[0], z[1] - z[0]))


def _bracket(occ: Any, slot: Slot, closed: bool, ligature: float | None) -> Volumes:
    h, d, w = 0.5 * max(slot.height, slot.front_height), 0.5 * slot.depth, 0.5 * slot.width
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
    cut = occ.cut(whole, [(3, _hole(occ, slot))])[0]
    front = []
    if closed:
        door = _box(occ, (-w, w), (-h - 0.5 * CHEEK, h + 0.5 * CHEEK), (d, d + DOOR))
        front = _rounded_in_front(occ, door, slot, DOOR)
    return _in_front({0: [base], 1: [tag for _, tag in cut], 2: front}, occ, slot, ligature)


def _tube(occ: Any, slot: Slot, closed: bool, ligature: float | None) -> Volumes:
    h, d, w = 0.5 * max(slot.height, slot.front_height), 0.5 * slot.depth, 0.5 * slot.width
    side, under = h + CHEEK, -d - FLOOR
    base = _base(occ, w, side + OVERHANG, under)
    body = _box(occ, (-w, w), (-side, side), (under, d))
    cut = occ.cut([(3, body)], [(3, _hole(occ, slot))])[0]
    front = []
    if closed:
        lid = _box(occ, (-w, w), (-side, side), (d, d + LID))
        # Its two outer edges along the wire are rounded, as a drawn tube's are.
        edges = [tag for _, tag in occ.getEntitiesInBoundingBox(
            -w - BEYOND, -side - BEYOND, d + LID - 1e-3, w + BEYOND, side + BEYOND, d + LID + 1e-3, 1)]  # fmt: skip
        occ.synchronize()
        lengthwise = [tag for tag in edges if np.ptp(_extent(occ, tag)[:, 0]) > w]
        rounded = occ.fillet([lid], lengthwise, [0.75 * LID])
        front = _rounded_in_front(occ, rounded[0][1], slot, LID)
    return _in_front({0: [base], 1: [tag for _, tag in cut], 2: front}, occ, slot, ligature)


def _in_front(volumes: Volumes, occ: Any, slot: Slot, ligature: float | None) -> Volumes:
    """With a ligature ``ligature`` above the floor, mm, if there is one; without a front that is empty."""
    if ligature is not None:
        w, bottom = 0.5 * slot.width, ligature - 0.5 * slot.depth
        # Over the slot it lies on the walls' ends, in the slot between the walls.
        narrowest = min(_half_height(slot, z, 0.0) for z in (bottom, bottom + STRIP))
        y = narrowest - APART if ligature < slot.depth else 0.5 * slot.front_height + 0.5 * CHEEK
        volumes[2] = [_box(occ, (-w, w), (-y, y), (bottom, bottom + STRIP))]
    return {part: tags for part, tags in volumes.items() if tags}


def _half_height(slot: Slot, z: float, off: float) -> float:
    """Half the slot's height at ``z``, its walls moved back by ``off``, mm."""
    half = 0.5 * slot.taper
    return 0.5 * slot.height + (z + 0.5 * slot.depth) * math.tan(half) + off / math.cos(half)


def _mouth_steps(slot: Slot, thickness: float) -> list[tuple[float, float]]:
    """(x, how far the walls stand back) from the plane walls' end to beyond the mouth, mm."""
    radius, w = slot.mouth_radius, 0.5 * slot.width
    if radius == 0.0:
        return [(w + BEYOND, 0.0)]
    last = math.acos(max(0.0, 1.0 - ROUNDED_AWAY * thickness / radius))
    count = math.ceil(last / CHORD)
    steps = [
        (w - radius * (1.0 - math.sin(angle)), radius * (1.0 - math.cos(angle)))
        for angle in np.linspace(0.0, last, count + 1)
    ]
    return [*steps, (w + BEYOND, steps[-1][1])]


def _hole(occ: Any, slot: Slot) -> int:
    """What is cut out of a body: the slot, open in front, its mouths widened by their arcs."""
    d = 0.5 * slot.depth
    if slot.taper == 0.0 and slot.mouth_radius == 0.0:
        h, w = 0.5 * slot.height, 0.5 * slot.width + BEYOND
        return _box(occ, (-w, w), (-h, h), (-d, d + BEYOND))

    def section(x: float, off: float) -> int:
        low, high = -d - off, d + BEYOND
        wide, narrow = _half_height(slot, high, off), _half_height(slot, low, off)
        return _polygon(occ, [(x, -narrow, low), (x, narrow, low), (x, wide, high), (x, -wide, high)])

    right = _mouth_steps(slot, min(CHEEK, FLOOR))
    steps = [(-x, off) for x, off in right[::-1]] + right
    return _ruled(occ, [section(x, off) for x, off in steps])


def _rounded_in_front(occ: Any, plate: int, slot: Slot, thickness: float) -> list[int]:
    """The plate over a slot, the edges of its inner face at the mouths rounded as the slot's."""
    if slot.mouth_radius == 0.0:
        return [plate]
    d, y = 0.5 * slot.depth, 0.5 * max(slot.height, slot.front_height) + CHEEK + BEYOND
    pieces = []
    right = _mouth_steps(slot, thickness)
    for sign in (1.0, -1.0):
        outline = [(sign * x, -y, d + off) for x, off in right]
        outline += [(sign * right[-1][0], -y, d - BEYOND), (sign * right[0][0], -y, d - BEYOND)]
        face = occ.addPlaneSurface([_polygon(occ, outline)])
        pieces += [entity for entity in occ.extrude([(2, face)], 0.0, 2.0 * y, 0.0) if entity[0] == 3]
    return [tag for _, tag in occ.cut([(3, plate)], pieces)[0]]


def _edge(occ: Any, shape: _Shape, section: Section) -> Volumes:
    """A wedge or a cylinder that touches the line along z through the origin."""
    side = -1.0 if shape.below else 1.0
    z = math.hypot(section.corner_y, section.corner_z) + section.edge_radius + EDGE_BEYOND
    if shape.kind == "roller":
        middle = side * shape.radius
        roller = occ.addCylinder(0.0, middle, -z, 0.0, 0.0, 2.0 * z, shape.radius)
        # Its seam, where nodes of the mesh lie, comes to the line that touches the wire.
        occ.rotate([(3, roller)], 0.0, middle, 0.0, 0.0, 0.0, 1.0, -side * 0.5 * math.pi)
        return {1: [roller]}
    y = side * WEDGE_HEIGHT
    wire = _polygon(occ, [(0.0, 0.0, -z), (WEDGE_HALF_WIDTH, y, -z), (-WEDGE_HALF_WIDTH, y, -z)])
    swept = occ.extrude([(2, occ.addPlaneSurface([wire]))], 0.0, 0.0, 2.0 * z)
    return {1: [tag for dimension, tag in swept if dimension == 3]}


def _polygon(occ: Any, corners: Sequence[tuple[float, float, float]]) -> int:
    points = [occ.addPoint(*corner) for corner in corners]
    return int(
        occ.addCurveLoop([occ.addLine(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True)])
    )


def _ruled(occ: Any, loops: list[int]) -> int:
    """The solid between plane outlines one behind the other."""
    made = occ.addThruSections(loops, makeSolid=True, makeRuled=True)
    return next(int(tag) for dimension, tag in made if dimension == 3)


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
    pieces = occ.fragment(entities[:1], entities[1:])[1] if len(entities) > 1 else [entities]
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
