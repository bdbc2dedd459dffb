"""Attachments and their slots: what holds the wire on a tooth.

A slot has its own axes: x along it, y its height, z its depth, out of the slot.  It is closed, with four
walls; the floor lies at -z and the outer wall (a rigid door, or a tube's own wall) at +z.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from geometry.pose import Pose, frozen

Array = NDArray[np.float64]
Kind = Literal["bracket", "tube", "button", "clamp"]

UPPER_WALL = "upper wall"
LOWER_WALL = "lower wall"
FLOOR = "floor"
OUTER_WALL = "outer wall"

# A couple's arm runs from mouth to mouth, and a contact that leaves a mouth moves in by tenths of a
# millimetre: contact stations crowd at the mouths and need not do so inside.
MOUTH_SPACING = 0.01
SPACING_GROWTH = 1.5
LARGEST_SPACING = 0.25


@dataclass(frozen=True, slots=True)
class Slot:
    """A closed slot: ``height`` along y, ``depth`` along z, ``width`` along x from mouth to mouth, in mm.

    Raises ValueError unless all three are finite and above zero.
    """

    height: float
    depth: float
    width: float

    def __post_init__(self) -> None:
        for what, value in (("height", self.height), ("depth", self.depth), ("width", self.width)):
            if not (math.isfinite(value) and value > 0.0):
                raise ValueError(f"the {what} of a slot must be a finite length above zero: got {value!r} mm")

    def station_offsets(self, count: int | None = None) -> Array:
        """Where contact is looked for: offsets (k,) in mm along x, symmetric, both mouths among them.

        The spacing at a mouth is 0.01 mm at most, grows inward by 1.5 from one to the next, and stays below
        0.25 mm.  With ``count`` the same law is scaled to exactly so many stations.  Raises ValueError for a
        count below two.
        """
        if count is None:
            spacings = _spacings_over(0.5 * self.width)
            between = 2 * len(spacings)
        else:
            if count < 2:
                raise ValueError(f"a slot needs a contact station at both mouths, two at least: got {count}")
            between = count - 1
            spacings = np.array([_spacing(i) for i in range((between + 1) // 2)])
        # An odd number of spacings has one across the middle, of which each half of the slot holds one half.
        if between % 2:
            spacings[-1] *= 0.5
        inward = np.concatenate(([0.0], np.cumsum(spacings)))
        half = 0.5 * self.width * (1.0 - inward / inward[-1])
        right = half[:-1]
        middle = [] if between % 2 else [0.0]
        return frozen(np.concatenate((-right, middle, right[::-1])))


def _spacing(index: int) -> float:
    """The ``index``-th spacing counted from a mouth, mm."""
    # The exponent is bounded so that very many stations do not overflow.
    return min(MOUTH_SPACING * SPACING_GROWTH ** min(index, 64), LARGEST_SPACING)


def _spacings_over(length: float) -> Array:
    """The fewest spacings, from the mouth inward, that reach ``length``."""
    spacings: list[float] = []
    reached = 0.0
    while reached < length:
        spacings.append(_spacing(len(spacings)))
        reached += spacings[-1]
    return np.array(spacings)


@dataclass(frozen=True, slots=True)
class Attachment:
    """What holds the wire in one place.

    A bracket or a tube has a slot.  A button (a hook or an eyelet) holds one point of the wire and a clamp
    one section in position and direction; neither has a slot.  Raises ValueError for an empty name, an
    unknown kind, a slot that is missing or not wanted, or an arc length below zero.
    """

    name: str
    kind: Kind
    pose: Pose
    """Slot centre and axes, or the held point and axes."""
    at: float
    """Arc length (mm) of the passive wire that is found here before activation."""
    slot: Slot | None = None
    stop: bool = False
    """The wire cannot slide through here."""
    hold_roll: bool = False
    """The wire cannot turn about its own axis here."""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise ValueError("an attachment needs a name")
        if self.kind not in get_args(Kind):
            raise ValueError(
                f"{self.name}: an attachment is a {', '.join(get_args(Kind))}: got {self.kind!r}"
            )
        if self.kind in ("bracket", "tube") and self.slot is None:
            raise ValueError(f"{self.name}: a {self.kind} needs a slot")
        if self.kind in ("button", "clamp") and self.slot is not None:
            raise ValueError(f"{self.name}: a {self.kind} has no slot")
        if not (math.isfinite(self.at) and self.at >= 0.0):
            raise ValueError(
                f"{self.name}: the arc length held must be finite and not below zero: got {self.at!r} mm"
            )
