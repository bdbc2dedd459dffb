"""What stands round a slot in a scene, and where the wire presses on it.  Numbers only, in the attachment's own axes.

The slot's walls are the case's.  Base, tie wings and lid are invented, of the sizes that the solids have
(``geometry.attachment_solids``), and copy no product.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.results import ContactResult
from cases.show.device import half_height, is_closed, ligature_z, slot_corners
from cases.show.prisms import Prism, block
from geometry.attachment_solids import BASE, CHEEK, DOOR, FLOOR, GROOVE, LID, OVERHANG, STRIP, WING
from geometry.attachments import FLOOR as FLOOR_WALL
from geometry.attachments import LARGEST_SPACING, LOWER_WALL, UPPER_WALL, Attachment, Slot

Array = NDArray[np.float64]

WING_DEPTH = 0.35
"""mm of a tie wing, along z."""
MARK = 0.14
"""mm that the mark of a pressing wall goes into it."""
LEAST_MARK = 0.07
"""Its least length along the slot, in slot widths."""
NEGLIGIBLE = 1e-3
"""Share of the largest contact force of a scene below which a contact is not marked."""
_APART = 1.5 * LARGEST_SPACING


@dataclass(frozen=True, slots=True)
class Zone:
    """Neighbouring stations at which one wall presses on the wire."""

    wall: str
    along: tuple[float, float]
    """mm from the slot's centre along its x axis."""
    force_n: float
    """All of them together."""


@dataclass(frozen=True, slots=True)
class Bracket:
    """The solids round a slot."""

    body: tuple[Prism, ...]
    front: tuple[Prism, ...]
    """What closes it in front: lid, door or ligature; empty where it is open."""


def bracket_of(device: Attachment, wire_depth: float) -> Bracket:
    """The solids round the slot of an attachment.  Raises ValueError where it has none."""
    slot = _slot(device)
    x, z = 0.5 * slot.width, 0.5 * slot.depth
    low_floor, low_front, high_front, high_floor = slot_corners(slot)[:, ::-1]
    top = max(high_floor[0], high_front[0]) + CHEEK
    along = (-x, x)
    back = -z - FLOOR
    body = [
        block((-x - OVERHANG, x + OVERHANG), (-top - OVERHANG, top + OVERHANG), (back - BASE, back)),
        block(along, (-top, top), (back, -z)),
        Prism(np.array([high_floor, (top, -z), (top, z), high_front]), along),
        Prism(np.array([low_floor, low_front, (-top, z), (-top, -z)]), along),
    ]
    if device.kind == "bracket":
        groove = 0.5 * GROOVE * slot.width
        for ends in ((-x, -groove), (groove, x)):
            for y in ((top, top + WING), (-top - WING, -top)):
                body.append(block(ends, y, (z - WING_DEPTH, z)))
    return Bracket(tuple(body), _front(device, slot, top, wire_depth))


def _slot(device: Attachment) -> Slot:
    if device.slot is None:
        raise ValueError(f"{device.name} has no slot")
    return device.slot


def _front(device: Attachment, slot: Slot, top: float, wire_depth: float) -> tuple[Prism, ...]:
    x, z = 0.5 * slot.width, 0.5 * slot.depth
    if is_closed(device):
        return (block((-x, x), (-top, top), (z, z + (LID if device.kind == "tube" else DOOR))),)
    strip = ligature_z(device, wire_depth)
    if strip is None:
        return ()
    high = min(half_height(slot, strip), half_height(slot, strip + STRIP)) if strip < z else top
    return (block((-x, x), (-high, high), (strip, strip + STRIP)),)


def pressing_zones(contacts: Sequence[ContactResult], slot: Slot) -> tuple[Zone, ...]:
    """Where along the slot which wall presses, and how hard; stations that are neighbours count together."""
    out = []
    half = 0.5 * slot.width
    pad = 0.5 * LEAST_MARK * slot.width
    for wall in dict.fromkeys(one.wall for one in contacts):
        own = sorted((one for one in contacts if one.wall == wall), key=lambda one: one.offset_mm)
        groups: list[list[ContactResult]] = []
        for one in own:
            if groups and one.offset_mm - groups[-1][-1].offset_mm <= _APART:
                groups[-1].append(one)
            else:
                groups.append([one])
        for group in groups:
            low = min(max(group[0].offset_mm - pad, -half), half - 2.0 * pad)
            high = max(min(group[-1].offset_mm + pad, half), -half + 2.0 * pad)
            out.append(Zone(wall, (low, high), sum(one.normal_force_n for one in group)))
    return tuple(out)


def zone_mark(zone: Zone, device: Attachment, wire_depth: float) -> Prism:
    """The part of the wall that is marked where it presses: from its surface ``MARK`` mm into it.  Raises ValueError
    for an attachment without a slot."""
    slot = _slot(device)
    z = 0.5 * slot.depth
    low_floor, low_front, high_front, high_floor = slot_corners(slot)[:, ::-1]
    if zone.wall == UPPER_WALL:
        profile = [high_floor, high_floor + (MARK, 0.0), high_front + (MARK, 0.0), high_front]
    elif zone.wall == LOWER_WALL:
        profile = [low_floor, low_front, low_front - (MARK, 0.0), low_floor - (MARK, 0.0)]
    elif zone.wall == FLOOR_WALL:
        profile = [low_floor - (0.0, MARK), high_floor - (0.0, MARK), high_floor, low_floor]
    else:
        # an outer wall, or a ligature where it bears
        strip = ligature_z(device, wire_depth)
        place = z if strip is None else strip
        thick = MARK if strip is None else STRIP
        high = half_height(slot, min(place, z))
        return block(zone.along, (-high, high), (place, place + thick))
    return Prism(np.array(profile), zone.along)
