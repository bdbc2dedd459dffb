"""Where the teeth of a scene stand, and their centres of resistance.  Numbers only.

A tooth's long axis runs along its slot's height; its facial side meets the attachment's base, and the slot stands level
with the middle of the crown.  So where the case gives no centre of resistance the axis goes through the usual one.  A
tooth in front of its attachment, where the case has its centre of resistance there, stands with its axis at that depth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.results import AttachmentResult
from cases.show.device import device_of
from cases.show.tooth_shapes import SPACING, ToothShape, facial_side, tooth_shape
from cases.tooth_sizes import breadths_of, size_of
from geometry.attachment_solids import BASE, FLOOR
from geometry.tooth import Tooth

Array = NDArray[np.float64]

NARROWEST = 0.6
"""Teeth whose attachments stand nearer than their breadths allow are drawn narrower, down to this share."""
# mm that a button's pad stands behind the wire, in wire thicknesses.
_PAD = 2.6


@dataclass(frozen=True, slots=True)
class PlacedTooth:
    """A tooth as a scene draws it."""

    owner: str
    """Its attachment."""
    shape: ToothShape
    to_world: Array
    """(3, 3), columns: mesial, occlusal, facial; a mirror image on some quadrants."""
    origin: Array
    """(3,) mm: the long axis at the cervical line."""
    size: tuple[float, float]
    """mm: from the cervical line to the end of the crown, and to the apex."""

    @property
    def corners(self) -> Array:
        """(8, 3) mm, of a block round it."""
        low = self.shape.origin
        high = low + SPACING * (np.array(self.shape.values.shape) - 1.0)
        picks = np.array(np.meshgrid([0, 1], [0, 1], [0, 1])).reshape(3, -1).T
        return np.asarray(self.origin + np.where(picks, high, low) @ self.to_world.T)


def placed_teeth(attachments: Sequence[AttachmentResult], wire_across: float) -> tuple[PlacedTooth, ...]:
    """One for each permanent tooth that has an attachment whose tooth's place is known."""
    mine: dict[str, AttachmentResult] = {}
    for item in attachments:
        if item.tooth is not None and item.at_centre_of_resistance is not None:
            mine.setdefault(item.tooth, item)
    breadths = _narrowed(list(mine.values()))
    out = []
    for (number, item), breadth in zip(mine.items(), breadths, strict=True):
        tooth = Tooth(number)
        size, shape = size_of(tooth), tooth_shape(tooth, round(breadth, 3))
        if size is None or shape is None or item.at_centre_of_resistance is None:
            continue
        x, _, z = item.at_centre_of_resistance.centre_from_slot_mm
        if z <= 0.0:
            z = -_behind(item, wire_across) - facial_side(size)
        signs = np.array([tooth.mesial_sign, tooth.occlusal_sign, 1.0])
        cervix = np.array([x, -tooth.occlusal_sign * 0.5 * size.crown, z])
        out.append(
            PlacedTooth(
                item.name, shape, item.pose.axes * signs, item.pose.to_world(cervix), (size.crown, size.root)
            )
        )
    return tuple(out)


def centre_of_resistance(item: AttachmentResult) -> Array | None:
    """(3,) mm in world axes; None where it is not known."""
    tooth = item.at_centre_of_resistance
    return None if tooth is None else item.pose.to_world(np.array(tooth.centre_from_slot_mm))


def _behind(item: AttachmentResult, wire_across: float) -> float:
    """mm from the attachment's centre to what it stands on."""
    slot = device_of(item).slot
    return _PAD * wire_across if slot is None else 0.5 * slot.depth + FLOOR + BASE


def _narrowed(items: Sequence[AttachmentResult]) -> list[float]:
    """Of each, the share of its breadth at which neighbours just touch."""
    places = np.array([item.pose.position for item in items]).reshape(-1, 3)
    breadths = [None if item.tooth is None else breadths_of(Tooth(item.tooth)) for item in items]
    halves = np.array([0.0 if one is None else 0.5 * one.crown_mesiodistal for one in breadths])
    apart = np.linalg.norm(places[:, None] - places, axis=2) + np.diag(np.full(len(items), np.inf))
    room = apart / np.maximum(halves[:, None] + halves, 1e-9)
    return [float(np.clip(row.min(initial=1.0), NARROWEST, 1.0)) for row in room]
