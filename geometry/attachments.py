"""Attachments and their slots: what holds the wire on a tooth.

A slot has its own axes: x along it, y its height, z its depth, out of the slot.  It has an upper and a lower wall and a
floor, which lies at -z.  In front, at +z, it is closed by an outer wall (a rigid door, or a tube's own wall), tied,
or open.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from geometry.ligation import CLOSED, Ligation, Thread
from geometry.pose import Pose, frozen

Array = NDArray[np.float64]
Kind = Literal["bracket", "tube", "button", "clamp", "knife edge", "roller"]

UPPER_WALL = "upper wall"
LOWER_WALL = "lower wall"
FLOOR = "floor"
OUTER_WALL = "outer wall"

# A couple's arm runs from mouth to mouth, and a contact that leaves a mouth moves in by tenths of a
# millimetre: contact stations crowd at the mouths and need not do so inside.
MOUTH_SPACING = 0.01
SPACING_GROWTH = 1.5
LARGEST_SPACING = 0.25
# rad: walls that open more are no slot.
LARGEST_TAPER = math.radians(30.0)


@dataclass(frozen=True, slots=True)
class Slot:
    """A slot: ``height`` along y at its floor, ``depth`` along z, ``width`` along x from mouth to mouth, in mm.

    ``taper`` (rad) is the angle between upper and lower wall, above zero where they open to the front; ``mouth_radius``
    (mm) rounds all edges at both mouths.  Raises ValueError unless the three sizes are finite and above zero, the
    taper is within 30 deg, the walls do not meet, and the rounded edges leave some plane wall.
    """

    height: float
    depth: float
    width: float
    taper: float = 0.0
    mouth_radius: float = 0.0

    def __post_init__(self) -> None:
        for what, value in (("height", self.height), ("depth", self.depth), ("width", self.width)):
            if not (math.isfinite(value) and value > 0.0):
                raise ValueError(f"the {what} of a slot must be a finite length above zero: got {value!r} mm")
        if not abs(self.taper) <= LARGEST_TAPER:
            raise ValueError(
                f"the taper of a slot must be within {math.degrees(LARGEST_TAPER):.0f} deg: "
                f"got {math.degrees(self.taper):.6g} deg"
            )
        if not self.front_height > 0.0:
            raise ValueError("the walls of a slot must not meet before its front: make the taper smaller")
        if not 0.0 <= self.mouth_radius < 0.5 * self.width:
            raise ValueError(
                f"the radius at the mouths of a slot must be below half its width, {0.5 * self.width:.6g} mm: "
                f"got {self.mouth_radius!r} mm"
            )

    @property
    def front_height(self) -> float:
        """Height at the front, mm."""
        return self.height + 2.0 * self.depth * math.tan(0.5 * self.taper)

    @property
    def plane_width(self) -> float:
        """Width along which the walls are plane, mm."""
        return self.width - 2.0 * self.mouth_radius

    def station_offsets(self, count: int | None = None, fineness: float = 1.0) -> Array:
        """Where contact is looked for: offsets (k,) in mm along x, symmetric, both ends of the plane walls among them.

        The spacing at a mouth is 0.01 mm at most, grows inward by 1.5 from one to the next, and stays below
        0.25 mm.  With ``count`` the same law is scaled to exactly so many stations.  ``fineness`` divides the spacings
        and grades them so much more gently.  Raises ValueError for a count below two or a fineness not above zero.
        """
        if not (math.isfinite(fineness) and fineness > 0.0):
            raise ValueError(
                f"the fineness of contact stations must be finite and above zero: got {fineness!r}"
            )
        if count is None:
            spacings = _spacings_over(0.5 * self.plane_width, fineness)
            between = 2 * len(spacings)
        else:
            if count < 2:
                raise ValueError(f"a slot needs a contact station at both mouths, two at least: got {count}")
            between = count - 1
            spacings = np.array([_spacing(i, fineness) for i in range((between + 1) // 2)])
        # An odd number of spacings has one across the middle, of which each half of the slot holds one half.
        if between % 2:
            spacings[-1] *= 0.5
        inward = np.concatenate(([0.0], np.cumsum(spacings)))
        half = 0.5 * self.plane_width * (1.0 - inward / inward[-1])
        right = half[:-1]
        middle = [] if between % 2 else [0.0]
        return frozen(np.concatenate((-right, middle, right[::-1])))


def _spacing(index: int, fineness: float) -> float:
    """The ``index``-th spacing counted from a mouth, mm."""
    # The exponent is bounded so that very many stations do not overflow.
    spacing: float = MOUTH_SPACING * SPACING_GROWTH ** min(index / fineness, 64.0)
    return min(spacing, LARGEST_SPACING) / fineness


def _spacings_over(length: float, fineness: float) -> Array:
    """The fewest spacings, from the mouth inward, that reach ``length``."""
    spacings: list[float] = []
    reached = 0.0
    while reached < length:
        spacings.append(_spacing(len(spacings), fineness))
        reached += spacings[-1]
    return np.array(spacings)


@dataclass(frozen=True, slots=True)
class Attachment:
    """What holds the wire in one place.

    A bracket or a tube has a slot.  A button (a hook or an eyelet) holds one point of the wire and a clamp
    one section in position and direction; a knife edge or a roller is a line along z that the wire rests on, and stands
    where it touches.  None of these has a slot.  Raises ValueError for an empty name, an unknown kind, an arc length
    below zero, a slot that is missing, or anything that does not belong to the kind.
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
    ligation: Ligation = CLOSED
    wall_modulus: float = math.inf
    """MPa: N per mm of slot and mm of give at every edge of the wire that bears on a wall; infinite: rigid walls."""
    friction: float = 0.0
    """Coefficient of Coulomb friction between wire and attachment."""
    thread: Thread | None = None
    """Of a button: it holds the wire by a thread that only pulls."""
    radius: float = 0.0
    """Of a roller, mm."""
    below: bool = True
    """Of a knife edge or roller: it stands under the wire, at its -y side."""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise ValueError("an attachment needs a name")
        if self.kind not in get_args(Kind):
            raise ValueError(
                f"{self.name}: an attachment is a {', '.join(get_args(Kind))}: got {self.kind!r}"
            )
        if self.kind in ("bracket", "tube") and self.slot is None:
            raise ValueError(f"{self.name}: a {self.kind} needs a slot")
        if not self.has_slot:
            for what, given in (
                ("slot", self.slot is not None),
                ("ligation", self.ligation != CLOSED),
                ("walls", math.isfinite(self.wall_modulus)),
            ):
                if given:
                    raise ValueError(f"{self.name}: a {self.kind} has no {what}")
        if self.is_edge and (self.stop or self.hold_roll):
            raise ValueError(f"{self.name}: a {self.kind} neither stops the wire nor holds its roll")
        if self.thread is not None and self.kind != "button":
            raise ValueError(f"{self.name}: only a button holds the wire by a thread")
        if self.friction and not (self.has_slot or self.is_edge):
            raise ValueError(f"{self.name}: a {self.kind} knows no friction")
        if not (math.isfinite(self.friction) and self.friction >= 0.0):
            raise ValueError(
                f"{self.name}: the coefficient of friction must be finite and not below zero: got {self.friction!r}"
            )
        if not self.wall_modulus > 0.0:
            raise ValueError(
                f"{self.name}: the modulus of the walls must be above zero: got {self.wall_modulus!r} MPa"
            )
        if (self.radius > 0.0) != (self.kind == "roller") or not math.isfinite(self.radius):
            raise ValueError(
                f"{self.name}: a roller, and nothing else, has a radius above zero: got {self.radius!r} mm"
            )
        if not (math.isfinite(self.at) and self.at >= 0.0):
            raise ValueError(
                f"{self.name}: the arc length held must be finite and not below zero: got {self.at!r} mm"
            )

    @property
    def has_slot(self) -> bool:
        """Whether its kind has a slot."""
        return self.kind in ("bracket", "tube")

    @property
    def is_edge(self) -> bool:
        """Whether the wire only rests on it."""
        return self.kind in ("knife edge", "roller")
