"""What each view shows of the forces and moments: components, arrows, and the table of all of it.  No drawing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.results import AttachmentResult, RunResult
from cases.show.faces import Face, body, silhouette
from cases.show.tables import Table
from cases.show.unrolled import shown
from cases.show.view import arc

Array = NDArray[np.float64]

# Components below this share of the largest force or moment are left out, as the figure says.
LEFT_OUT = 0.02
# Shares of the appliance's extent.
LONGEST_ARROW, SHORTEST_ARROW, ARC_RADIUS = 0.2, 0.05, 0.07
# Round arrows stand on one side of the wire and never cross it.
WIDEST_ARC, NARROWEST_ARC = np.radians(150.0), np.radians(60.0)
# Free distance of an arrow from the attachment it belongs to.
CLEAR = 0.012
# A force that leans less than this from the wire is drawn beside it, not over it.
ALONG_THE_WIRE = np.cos(np.radians(35.0))
# Where the wire comes towards the viewer, it has no direction in the picture.
_END_ON = 0.3
# Radii of round arrows about one place, and distance of straight ones, in steps of these shares of the arc radius.
NEXT_ARC, NEXT_ARROW = 0.42, 0.35
COLUMNS = ("view", "item", "attachment", "horizontal_mm", "vertical_mm", "force_horizontal_n", "force_vertical_n",
           "force_n", "moment_nmm")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Load:
    """What of one attachment's force and moment a view shows."""

    number: int
    """Of the attachment, counted from 1 along the wire."""
    attachment: AttachmentResult
    place: Array
    """(2,) mm: the point the moment is taken about."""
    force: Array
    """(2,) N, within the picture."""
    moment: float
    """N mm about the viewing direction, positive counter-clockwise."""
    shows_force: bool
    shows_moment: bool


@dataclass(frozen=True, slots=True)
class Stroke:
    """One load with its arrows in mm, None where none is drawn."""

    load: Load
    start: Array
    """(2,): where the arrow begins, off the attachment and the wire; the force itself acts at the load's place."""
    arrow: Array | None
    arc: Array | None


@dataclass(frozen=True, slots=True)
class Largest:
    """The force and the moment that arrows are in proportion to."""

    force_n: float
    moment_nmm: float


def largest(*results: RunResult) -> Largest:
    """Of all attachments of the ``results``: one, or all moments of an animation."""
    items = [item for result in results for item in result.attachments]
    return Largest(
        max(float(np.linalg.norm(item.force_n)) for item in items),
        max(float(np.linalg.norm(item.moment_nmm)) for item in items),
    )


def loads(result: RunResult, face: Face, most: Largest | None = None) -> tuple[Load, ...]:
    """What the view shows of every attachment's force and moment, beside the ``most`` of this or of several results."""
    floor = result.equilibrium.floor_n
    extent = float(np.ptp(result.positions_mm, axis=0).max())
    most = largest(result) if most is None else most
    out = []
    for number, item in enumerate(result.attachments, start=1):
        force = face.project(np.array(item.force_n))
        moment = float(np.dot(face.towards, item.moment_nmm))
        out.append(
            Load(
                number,
                item,
                face.project(np.array(item.moment_about_mm)),
                force,
                moment,
                float(np.linalg.norm(force)) > max(floor, LEFT_OUT * most.force_n),
                abs(moment) > max(floor * extent, LEFT_OUT * most.moment_nmm),
            )
        )
    return tuple(out)


def strokes_of(result: RunResult, face: Face, extent: float, most: Largest | None = None) -> list[Stroke]:
    """Arrows of one view.  Lengths and turns are in proportion to the largest force and moment of the whole
    appliance, or of all its moments, above a least size, so that views and moments compare."""
    most = largest(result) if most is None else most
    wire = face.project(result.positions_mm)
    widest = ARC_RADIUS * extent
    out: list[Stroke] = []
    for load in loads(result, face, most):
        size = float(np.linalg.norm(load.force))
        own = silhouette(body(load.attachment, result.wire_of(load.attachment)), face) - load.place
        axis = face.project(load.attachment.pose.axes[:, 0])
        seen = float(np.linalg.norm(axis))
        along = axis / seen if seen > _END_ON else None
        start, arrow, round_one = load.place.copy(), None, None
        near = [s for s in out if np.linalg.norm(s.load.place - load.place) < widest]
        if load.shows_force:
            arrow = extent * max(LONGEST_ARROW * size / most.force_n, SHORTEST_ARROW) * load.force / size
            around_it = own if along is not None else _crowd(result, face, load.place, arrow, widest)
            start = start + _off(around_it, arrow, along, wire - load.place, CLEAR * extent)
            start = _beside(start, arrow, out, NEXT_ARROW * widest)
        if load.shows_moment:
            around = sum(1 for s in near if s.arc is not None)
            radius = max(_room(load, result, face, widest), 1.15 * float(np.linalg.norm(own, axis=1).max()))
            radius += around * NEXT_ARC * widest
            sweep = max(WIDEST_ARC * abs(load.moment) / most.moment_nmm, NARROWEST_ARC) * np.sign(load.moment)
            middle = _side(start - load.place if arrow is None else start - load.place + 0.5 * arrow, along)
            # Arcs about one place stand on opposite sides.
            middle += np.pi * around if along is None and arrow is None else 0.0
            round_one = arc(load.place, radius, middle, float(sweep))
        out.append(Stroke(load, start, arrow, round_one))
    return out


def _crowd(result: RunResult, face: Face, place: Array, arrow: Array, reach: float) -> Array:
    """(k, 2): outlines of all attachments near ``place`` in the picture, seen from it, and of the wire where the
    ``arrow`` would cover it."""
    outlines = [silhouette(body(item, result.wire_of(item)), face) - place for item in result.attachments]
    near = [outline for outline in outlines if float(np.linalg.norm(outline.mean(axis=0))) <= reach]
    thick = 0.5 * max(max(wire.section.height, wire.section.depth) for wire in result.wires)
    centres = face.project(result.positions_mm) - place
    across = np.array([-arrow[1], arrow[0]]) / np.linalg.norm(arrow)
    covered = (np.abs(centres @ across) < 2.0 * thick) & (np.linalg.norm(centres, axis=1) < 2.0 * reach)
    wire = [centres[covered] + thick * np.array(side) for side in ((1, 1), (1, -1), (-1, 1), (-1, -1))]
    return np.concatenate((*near, *wire))


def _beside(start: Array, arrow: Array, others: list[Stroke], step: float) -> Array:
    """The start of an ``arrow`` moved sideways, where it would come too near to one of the arrows before it."""
    across = np.array([-arrow[1], arrow[0]]) / np.linalg.norm(arrow)
    shares = np.linspace(0.0, 1.0, 24)[:, None]
    drawn = [s.start + shares * s.arrow for s in others if s.arrow is not None]
    for count in (0, 1, -1, 2, -2, 3, -3):
        moved = start + count * step * across
        line = moved + shares * arrow
        if all(np.linalg.norm(line[:, None] - o[None], axis=2).min() > 0.9 * step for o in drawn):
            return np.asarray(moved)
    return start


def _off(own: Array, arrow: Array, along: Array | None, wire: Array, clear: float) -> Array:
    """(2,): from the place of a force to the start of its ``arrow``, so that the arrow covers neither the outline
    ``own`` (k, 2) of the attachment nor a wire that runs ``along`` (2,); ``wire`` (n, 2) as seen from the place."""
    towards = arrow / np.linalg.norm(arrow)
    if along is None or abs(float(towards @ along)) < ALONG_THE_WIRE:
        return np.asarray((float((own @ towards).max()) + clear) * towards)
    side = np.array([-along[1], along[0]])
    side = side if side[1] >= 0.0 else -side
    steps = np.linspace(0.0, 1.0, 24)[:, None] * arrow
    choices = [sign * (float((own @ (sign * side)).max()) + 2.0 * clear) * side for sign in (-1.0, 1.0)]
    free = [float(np.linalg.norm((choice + steps)[:, None] - wire[None], axis=2).min()) for choice in choices]
    return choices[int(free[1] >= 0.99 * free[0])]


def _room(load: Load, result: RunResult, face: Face, widest: float) -> float:
    """The radius of a round arrow: less where the next attachment is near in the picture."""
    places = np.array([face.project(np.array(item.moment_about_mm)) for item in result.attachments])
    apart = np.linalg.norm(places - load.place, axis=1)
    apart = apart[apart > 0.5 * widest]
    return min(widest, 0.48 * float(apart.min())) if apart.size else widest


def _side(arrow: Array, along: Array | None) -> float:
    """Angle, rad, of the middle of a round arrow: away from the straight one whose middle lies at ``arrow`` (2,), and
    square to a wire that runs ``along``, so as not to cross it."""
    if along is None:
        return 0.5 * np.pi if not arrow.any() else float(np.arctan2(-arrow[1], -arrow[0]))
    side = np.array([-along[1], along[0]])
    side = side if side[1] >= 0.0 else -side
    if float(arrow @ side) > 0.0:
        side = -side
    return float(np.arctan2(side[1], side[0]))


def views_table(result: RunResult) -> Table:
    """Every line and arrow of the three views."""
    rows: list[tuple[str | float | None, ...]] = []
    for face, seen in shown(result):
        lines = []
        for wire in seen.wires:
            which = wire.name if seen.more_wires else ""
            lines += [
                ("wire", which, face.project(wire.positions_mm)),
                ("passive shape", which, face.project(wire.passive_positions_mm)),
            ]
        lines += [("joint", one.name, face.project(np.array([one.place_mm]))) for one in seen.joints]
        for item, which, line in lines:
            rows += [(face.key, item, which, float(h), float(v), None, None, None, None) for h, v in line]
        for one in seen.attachments:
            rows += [
                (
                    face.key,
                    "slot" if one.slot_size_mm else one.kind,
                    one.name,
                    float(h),
                    float(v),
                    None,
                    None,
                    None,
                    None,
                )
                for h, v in silhouette(body(one, seen.wire_of(one)), face)
            ]
        for load in loads(seen, face):
            name, h, v = load.attachment.name, *(float(x) for x in load.place)
            across, upward = (float(x) for x in load.force)
            what = "force" if load.shows_force else "force, too small to draw"
            rows.append((face.key, what, name, h, v, across, upward, float(np.hypot(across, upward)), None))
            what = "moment, counter-clockwise +" if load.shows_moment else "moment, too small to draw"
            rows.append((face.key, what, name, h, v, None, None, None, load.moment))
    return Table(COLUMNS, tuple(rows))
