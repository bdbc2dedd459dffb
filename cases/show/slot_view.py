"""One slot seen along its length (mesiodistal view, third order): what a figure of it shows, as numbers.

The viewer looks along the slot's +x: z (out of the slot) runs to the right, y (height) up, and the mouth at
the smaller arc length, the near one, is nearer to the viewer.  A positive turn about x takes y to z:
clockwise.  All points are (z, y) in mm in the slot's own axes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from cases.results import AttachmentResult, OrderResult, RunResult
from cases.show.device import device_of, is_closed, ligature_z, slot_corners
from cases.show.tables import Table
from cases.show.wire_curve import frame_at
from geometry.attachments import FLOOR, LOWER_WALL, OUTER_WALL, UPPER_WALL
from geometry.ligation import LigationKind
from geometry.section import Section

Array = NDArray[np.float64]
Half = Literal["near", "far"]

CENTRE, NEAR, FAR = "slot centre", "near mouth", "far mouth"
# Each wall's direction, seen from the wire, in the slot's own axes.
WALL_DIRECTIONS = {
    UPPER_WALL: np.array([0.0, 1.0, 0.0]),
    LOWER_WALL: np.array([0.0, -1.0, 0.0]),
    OUTER_WALL: np.array([0.0, 0.0, 1.0]),
    FLOOR: np.array([0.0, 0.0, -1.0]),
    # A ligature presses from where an outer wall would stand.
    **{kind: np.array([0.0, 0.0, 1.0]) for kind in get_args(LigationKind)},
}
_PER_QUARTER = 16
# Share of the slot's largest contact force below which a contact is in the table only.
NEGLIGIBLE = 1e-3
COLUMNS = ("slot", "item", "z_mm", "y_mm", "angle_deg", "moment_nmm", "normal_force_n")


@dataclass(frozen=True, slots=True)
class Touch:
    """Where one corner of the wire presses on one wall, over one half of the slot's length."""

    wall: str
    half: Half
    place: Array
    """(2,): z, y in mm; weighted by the forces where the corner touches at several stations."""
    force_n: float
    """Normal forces of these stations, summed."""


@dataclass(frozen=True, slots=True)
class SlotView:
    """What is drawn for one slot."""

    attachment: AttachmentResult
    height_mm: float
    depth_mm: float
    width_mm: float
    outlines: Mapping[str, Array]
    """By place (CENTRE, NEAR, FAR) the wire cut by the slot's cross-section there, (m, 2), not closed; a place
    the wire does not reach is missing."""
    middle: Array
    """(2,), the wire's centre at the slot's centre; at the slot's own where the wire does not reach it."""
    touches: tuple[Touch, ...]
    third: OrderResult
    corners: Array
    """(4, 2): floor and front of the lower wall, front and floor of the upper."""
    closed: bool
    """Whether there is an outer wall."""
    ligature_mm: float | None
    """z of a ligature that bears on a wire on the floor; None where there is none."""

    def ray(self, angle_deg: float, length: float) -> Array:
        """(2, 2): from the wire's centre along the depth of a wire turned by ``angle_deg`` about x."""
        angle = np.radians(angle_deg)
        return np.array([self.middle, self.middle + length * np.array([np.cos(angle), -np.sin(angle)])])


def slot_views(result: RunResult) -> tuple[SlotView, ...]:
    """One view for every attachment that has a slot, in their order along the wire."""
    return tuple(_view(item, result) for item in result.attachments if item.slot_size_mm is not None)


def _view(item: AttachmentResult, result: RunResult) -> SlotView:
    assert item.slot_size_mm is not None
    height, depth, width = item.slot_size_mm
    outlines = {}
    middle = np.zeros(2)
    wire = result.wire_of(item)
    section = wire.section
    for place, offset in ((CENTRE, 0.0), (NEAR, -0.5 * width), (FAR, 0.5 * width)):
        found = frame_at(wire, item.pose, offset)
        if found is not None:
            outlines[place] = _cut(*found, section.outline(_PER_QUARTER), offset)
            if place == CENTRE:
                middle = found[0][[2, 1]]
    device = device_of(item)
    assert device.slot is not None
    return SlotView(
        item, height, depth, width, outlines, middle, _touches(item, result), item.orders["third"],
        slot_corners(device.slot), is_closed(device), ligature_z(device, section.depth),
    )  # fmt: skip


def _cut(centre: Array, axes: Array, points: Array, offset: float) -> Array:
    """(m, 2) = (z, y): outline ``points`` (m, 2) of a section, slid along the wire to the plane x = ``offset``.

    A tilted wire is cut obliquely: this is what an eye in the slot's cross-section sees of it.
    """
    placed = centre + points @ axes[:, 1:].T
    slid = placed + ((offset - placed[:, 0]) / axes[0, 0])[:, None] * axes[:, 0]
    return np.ascontiguousarray(slid[:, [2, 1]])


def _touches(item: AttachmentResult, result: RunResult) -> tuple[Touch, ...]:
    """Contacts of one wall, one half of the slot and one corner gathered into one point."""
    stations: dict[tuple[float, str], list[float]] = defaultdict(list)
    for contact in item.contacts:
        stations[contact.offset_mm, contact.wall].append(contact.normal_force_n)
    gathered: dict[tuple[str, Half, tuple[int, int]], list[tuple[Array, float]]] = defaultdict(list)
    wire = result.wire_of(item)
    section = wire.section
    for (offset, wall), forces in stations.items():
        found = frame_at(wire, item.pose, offset)
        if found is None:
            continue
        centre, axes = found
        corners = _corners(section, axes[:, 1:].T @ WALL_DIRECTIONS[wall], len(forces))
        half: Half = "near" if offset <= 0.0 else "far"
        for (signs, point), force in zip(corners, forces, strict=True):
            gathered[wall, half, signs].append((_cut(centre, axes, point[None], offset)[0], force))
    out = []
    for (wall, half, _), found_here in gathered.items():
        weights = np.array([force for _, force in found_here])
        places = np.array([place for place, _ in found_here])
        total = float(weights.sum())
        mean = places.mean(axis=0) if total == 0.0 else weights @ places / total
        out.append(Touch(wall, half, mean, total))
    return tuple(sorted(out, key=lambda t: (t.half != "near", t.wall, -t.force_n)))


def _corners(section: Section, direction: Array, count: int) -> list[tuple[tuple[int, int], Array]]:
    """The ``count`` corner arcs that reach farthest along ``direction`` (2,) = (y, z) of the section: each with
    the signs of its place and its farthest point (2,).

    Corners that fall together (a round wire has but one) are repeated as asked for.
    """
    towards = direction / np.linalg.norm(direction)
    corners = []
    for signs in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        place = np.array([signs[0] * section.corner_y, signs[1] * section.corner_z])
        name = (signs[0] if section.corner_y > 0.0 else 0, signs[1] if section.corner_z > 0.0 else 0)
        corners.append((float(place @ towards), name, place + section.edge_radius * towards))
    corners.sort(key=lambda corner: -corner[0])
    return [(name, point) for _, name, point in corners[:count]]


def drawn(touches: Sequence[Touch]) -> tuple[Touch, ...]:
    """Those that are not negligible beside the largest of the slot."""
    most = max((touch.force_n for touch in touches), default=0.0)
    return tuple(touch for touch in touches if touch.force_n > NEGLIGIBLE * most)


def forces_by_wall(touches: Sequence[Touch]) -> dict[tuple[str, Half], float]:
    """Normal force (N) on each wall in each half of the slot."""
    out: dict[tuple[str, Half], float] = defaultdict(float)
    for touch in touches:
        out[touch.wall, touch.half] += touch.force_n
    return dict(out)


def slot_table(views: Sequence[SlotView]) -> Table:
    """Every plotted point and value of the views."""
    rows: list[tuple[str | float | None, ...]] = []
    for view in views:
        name = view.attachment.name

        def add(
            item: str, place: Array | None = None, angle: float | None = None, moment: float | None = None,
            force: float | None = None, name: str = name,
        ) -> None:  # fmt: skip
            z, y = (None, None) if place is None else (float(place[0]), float(place[1]))
            rows.append((name, item, z, y, angle, moment, force))

        for corner in view.corners:
            add("slot corner", corner)
        if view.ligature_mm is not None:
            add("ligature on a wire on the floor", np.array([view.ligature_mm, 0.0]))
        for place, outline in view.outlines.items():
            for point in outline:
                add(f"wire outline at {place}", point)
        for touch in view.touches:
            add(f"contact on {touch.wall}, {touch.half} half", touch.place, force=touch.force_n)
        third = view.third
        add("angle of activation", angle=third.activation_deg)
        add("angle of engagement", angle=third.engagement_deg)
        add("play alone (one-sided; empty: turns freely)", angle=third.play_deg)
        add("play left (empty: turns freely)", angle=third.play_left_deg)
        add("torque on the tooth about the slot's x", moment=third.moment_nmm)
    return Table(COLUMNS, tuple(rows))
