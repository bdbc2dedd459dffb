"""What holds a wire at a place: walls, edges, ties, clamps, joints, ligatures, links; plain values."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.attachments import LARGEST_TAPER, Slot
from geometry.checks import (
    LONGEST,
    flag,
    friction,
    increasing,
    length,
    length_or_zero,
    number,
    numbers,
    shown,
    stiffness,
)
from geometry.section import Section
from geometry.seen_slot import SAME_SIZE, room_in_height

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ligature:
    """Elastic lines across the front of a slot, which press the wire towards the floor.

    They bear nothing below ``rest`` (mm above the floor) and give way above it by ``stiffness`` (N/mm) in all, infinite
    where they are rigid.  ``offsets`` (k,) mm, increasing, are their places along the slot, ``shares`` (k,) of the
    stiffness, each above zero, sum to 1.  Raises ValueError for anything else.
    """

    rest: float
    stiffness: float
    offsets: Array
    shares: Array

    def __post_init__(self) -> None:
        rest = number("where a ligature rests", self.rest, "mm", -LONGEST, LONGEST)
        whole = stiffness("the stiffness of a ligature", self.stiffness, "N/mm")
        offsets = increasing("the places of a ligature", self.offsets, 1)
        shares = numbers("the shares of a ligature", self.shares, (None,))
        if offsets.shape != shares.shape or abs(float(shares.sum()) - 1.0) > 1e-9 or not shares.min() > 0.0:
            raise ValueError(
                f"a ligature has as many places as shares, and the shares sum to one, each above zero: got places "
                f"{shown(offsets, 'mm')} and shares {shown(shares)}"
            )
        for name, value in (("rest", rest), ("stiffness", whole), ("offsets", offsets), ("shares", shares)):
            object.__setattr__(self, name, value)


Front = Literal["closed", "open"] | Ligature
FRONTS = ("closed", "open")


@dataclass(frozen=True, slots=True)
class SlotWalls:
    """Upper and lower wall, floor and front around the wire:

    ``height`` at the floor, ``depth`` (mm), stations at ``offsets`` (k,) along the slot, increasing, where its walls
    are plane.  Raises ValueError for sizes that make no slot.
    """

    height: float
    depth: float
    offsets: Array
    stop: bool = False
    """The wire's section at the slot's centre cannot slide."""
    hold_roll: bool = False
    """Nor turn about its own axis."""
    taper: float = 0.0
    """rad between upper and lower wall, above zero where they open to the front."""
    mouth_radius: float = 0.0
    """mm: beyond the first and the last station the walls turn away in arcs."""
    front: Front = "closed"
    """A rigid outer wall, nothing, or a ligature; without an outer wall the height walls end at the front."""
    modulus: float = np.inf
    """MPa: N per mm of slot and mm of give where an edge of the wire bears on a wall; infinite: rigid."""
    friction: float = 0.0
    """Coefficient of Coulomb friction."""

    def __post_init__(self) -> None:
        given = {
            "height": length("the height of a slot", self.height),
            "depth": length("the depth of a slot", self.depth),
            "offsets": increasing("the stations of a slot", self.offsets, 1),
            "stop": flag("the stop of a slot", self.stop),
            "hold_roll": flag("the roll hold of a slot", self.hold_roll),
            "taper": number("the taper of a slot", self.taper, "rad", -LARGEST_TAPER, LARGEST_TAPER),
            "mouth_radius": length_or_zero("the radius at the mouths of a slot", self.mouth_radius),
            "modulus": stiffness("the modulus of a slot's walls", self.modulus, "MPa"),
            "friction": friction("the friction of a slot", self.friction),
        }
        for name, value in given.items():
            object.__setattr__(self, name, value)
        if not (isinstance(self.front, Ligature) or (isinstance(self.front, str) and self.front in FRONTS)):
            raise ValueError(
                f'the front of a slot is "closed", "open" or a Ligature: got {shown(self.front)}'
            )
        if not self.height + 2.0 * self.depth * math.tan(0.5 * self.taper) > 0.0:
            raise ValueError(
                f"the walls of a slot must not meet before its front: got {self.height:.6g} mm of height at the "
                f"floor, {self.depth:.6g} mm of depth and a taper of {self.taper:.6g} rad; make the taper smaller"
            )
        if self.offsets.size == 1 and self.modulus < math.inf:
            raise ValueError(
                f"walls that give way do so per mm of slot, from one station to the next: got one station and a "
                f"modulus of {self.modulus:.6g} MPa; give two stations at least"
            )

    def fits(self, section: Section) -> bool:
        """Whether a wire of this section, as it lies along the slot, goes in."""
        if self.taper == 0.0:
            high = self.height < section.height * (1.0 - SAME_SIZE)
        else:
            width = float(self.offsets[-1] - self.offsets[0]) + 2.0 * self.mouth_radius
            slot = Slot(self.height, self.depth, max(width, self.depth), self.taper)
            high = room_in_height(section, slot, 0.5 * self.depth) < -SAME_SIZE * section.height
        return not (high or (self.front == "closed" and self.depth < section.depth * (1.0 - SAME_SIZE)))


@dataclass(frozen=True, slots=True)
class Edge:
    """A knife edge or, with a ``radius`` (mm), a roller: a line along the support's z that the wire may rest on.

    The wire lies on its +y side where it is ``below`` the wire, else on its -y side.  The support stands where the line
    touches.  Raises ValueError for a radius or a friction below zero.
    """

    radius: float = 0.0
    below: bool = True
    friction: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "radius", length_or_zero("the radius of a roller", self.radius))
        object.__setattr__(self, "below", flag("whether an edge is below the wire", self.below))
        object.__setattr__(self, "friction", friction("the friction of an edge", self.friction))


@dataclass(frozen=True, slots=True)
class PointTie:
    """One point of the wire held in y and z, and along x too where ``stop``; carries no couple.

    With a ``thread`` (mm) that point is free until it is so far from the support's x axis, and then pulled back, by
    ``stiffness`` (N/mm; infinite: a thread that does not stretch); unless it ``slides``, from the support's own point,
    as an elastic chain or a spring that only pulls is.  Raises ValueError for a length below zero, or for a stiffness
    that is not above zero or has no thread to belong to.
    """

    stop: bool = False
    thread: float | None = None
    stiffness: float = np.inf
    slides: bool = True

    def __post_init__(self) -> None:
        object.__setattr__(self, "stop", flag("the stop of a tie", self.stop))
        object.__setattr__(self, "slides", flag("whether a tie's thread slides", self.slides))
        object.__setattr__(self, "stiffness", stiffness("the stiffness of a thread", self.stiffness, "N/mm"))
        if self.thread is not None:
            object.__setattr__(self, "thread", length_or_zero("the length of a thread", self.thread))
        elif self.stiffness < math.inf:
            raise ValueError(
                f"a tie without a thread does not give way: got a stiffness of {self.stiffness:.6g} N/mm; give it a "
                f"thread, of length 0 if need be"
            )


@dataclass(frozen=True, slots=True)
class Clamp:
    """One section held in position and direction; free along x where ``slides``."""

    slides: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "slides", flag("whether a clamp slides", self.slides))


@dataclass(frozen=True, slots=True)
class Joint:
    """The point of the wire where the support stands is held to the wire at arc length ``other`` (mm); no couple.

    The support's pose says where that point is, seen from the wire at ``other``: at its start as in the passive shapes
    (or wherever it comes from), at its end the arm between the two centre lines, zero where they meet.  Arc lengths are
    those of the common count (fem.wires).  A hook ``slides`` along the other wire without friction, and begins at
    ``other``.  Raises ValueError for an arc length that is not a number.
    """

    other: float
    slides: bool = False

    def __post_init__(self) -> None:
        other = number("the arc length of a joint's other end", self.other, "mm", -LONGEST, LONGEST)
        object.__setattr__(self, "other", other)
        object.__setattr__(self, "slides", flag("whether a joint slides", self.slides))


Restraint = SlotWalls | Edge | PointTie | Clamp | Joint


@dataclass(frozen=True, slots=True)
class Link:
    """A spring between two points of the wire, or of two wires, at arc lengths ``arc`` and ``other`` (mm).

    It is ``rest`` (mm) long where it bears nothing, and as stiff as ``stiffness`` (N/mm); an elastic chain where it
    ``pulls_only``.  It bears from the start, whatever the activation.

    Raises ValueError for one place twice, a length below zero, or a stiffness that is not above zero and finite."""

    arc: float
    other: float
    rest: float
    stiffness: float
    pulls_only: bool = True

    def __post_init__(self) -> None:
        for name in ("arc", "other"):
            value = number("the arc length of a link's end", getattr(self, name), "mm", -LONGEST, LONGEST)
            object.__setattr__(self, name, value)
        if self.arc == self.other:
            raise ValueError(f"a link joins two places of the wire: got {self.arc:.6g} mm for both")
        object.__setattr__(self, "rest", length_or_zero("the length of a link", self.rest))
        rate = stiffness("the stiffness of a link", self.stiffness, "N/mm")
        if not math.isfinite(rate):
            raise ValueError("the stiffness of a link must be finite; a rigid bar is no link")
        object.__setattr__(self, "stiffness", rate)
        object.__setattr__(self, "pulls_only", flag("whether a link only pulls", self.pulls_only))
