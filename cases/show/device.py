"""What a picture knows of an attachment beside its force system: the shape of its slot, what closes it, its edge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cases.results import AttachmentResult
from geometry.attachments import Attachment, Slot

Array = NDArray[np.float64]

# Of a knife edge, for the eye, in mm.
WEDGE_HEIGHT, WEDGE_HALF_WIDTH = 1.2, 0.4
# Of a roller whose radius is not told, mm.
ROLLER = 0.8
_AROUND = 48


def device_of(item: AttachmentResult) -> Attachment:
    """The attachment as its case has it; where the result does not say, a closed slot with parallel walls."""
    if item.attachment is not None:
        return item.attachment
    slot = None if item.slot_size_mm is None else Slot(*item.slot_size_mm)
    radius = ROLLER if item.kind == "roller" else 0.0
    return Attachment(item.name, item.kind, item.pose, 0.0, slot, radius=radius)  # type: ignore[arg-type]


def is_closed(device: Attachment) -> bool:
    """Whether a rigid wall closes its slot in front."""
    return device.ligation.kind == "closed"


def ligature_z(device: Attachment, wire_depth: float) -> float | None:
    """z in the slot's axes, mm, where a ligature bears on a wire of this depth that lies on the floor; None: none."""
    if device.slot is None or not device.ligation.is_elastic:
        return None
    return max(device.ligation.rest(wire_depth), wire_depth) - 0.5 * device.slot.depth


def half_height(slot: Slot, z: float) -> float:
    """Half the slot's height at ``z``, mm."""
    at_floor, at_front = 0.5 * slot.height, 0.5 * slot.front_height
    return at_floor + (at_front - at_floor) * (z / slot.depth + 0.5)


def slot_corners(slot: Slot) -> Array:
    """(4, 2) = (z, y) of the slot's cross-section: floor and front below, front and floor above."""
    z, low, high = 0.5 * slot.depth, 0.5 * slot.height, 0.5 * slot.front_height
    return np.array([(-z, -low), (z, -high), (z, high), (-z, low)])


def slot_block(slot: Slot) -> Array:
    """Corners (8, 3) of the room between its walls, in its own axes."""
    ends = np.array([-0.5, 0.5]) * slot.width
    return np.array([(x, y, z) for x in ends for z, y in slot_corners(slot)])


def edge_profile(device: Attachment) -> Array:
    """(k, 2) = (x, y): a knife edge or a roller seen along its line, in its own axes."""
    side = -1.0 if device.below else 1.0
    if device.kind == "knife edge":
        y = side * WEDGE_HEIGHT
        return np.array([(0.0, 0.0), (WEDGE_HALF_WIDTH, y), (-WEDGE_HALF_WIDTH, y)])
    turns = np.linspace(0.0, 2.0 * np.pi, _AROUND, endpoint=False)
    circle = np.column_stack((np.sin(turns), 1.0 - np.cos(turns)))
    return np.asarray(device.radius * circle * np.array([1.0, side]))


def edge_half_length(across: float) -> float:
    """Half the length, mm, along its line of an edge under a wire so thick."""
    return 1.5 * across
