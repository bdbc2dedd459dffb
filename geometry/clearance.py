"""Play of a straight wire in a closed rigid slot, in closed form, one-sided from the centred position.

With height h, depth w, edge radius r of the wire and height H, depth D, width W of the slot:

* first order (about the slot's y): the wire tilts until it lies on the edges of both mouths,
  D cos t - W sin t = w;
* second order (about z): likewise H cos t - W sin t = h, the exact form of the critical contact angle of Kusy
  & Whitley, Eur. J. Orthod. 21 (1999) 199;
* third order (about x): the wire rolls until its outline is as high as the slot,
  (h - 2r) cos g + (w - 2r) sin g + 2r = H, or as deep, (w - 2r) cos g + (h - 2r) sin g + 2r = D, whichever
  comes first.

With the gap (H - h or D - w) apart from the rest and u the tangent of half the angle, these are quadratics
whose smaller positive root needs no difference of nearly equal numbers, so a small play keeps its digits and
a wire that fills its slot has exactly none.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.attachments import FLOOR, LOWER_WALL, OUTER_WALL, UPPER_WALL, Slot
from geometry.section import Section

# A wire of 0.4572 mm fills a slot of 0.018 in, though the two numbers differ in their last bit.
SAME_SIZE = 1e-12

HEIGHT_WALLS = (UPPER_WALL, LOWER_WALL)
DEPTH_WALLS = (FLOOR, OUTER_WALL)


@dataclass(frozen=True, slots=True)
class PlayInOrder:
    """How far the wire turns in one order before the slot stops it."""

    angle: float | None
    """rad, one-sided from centred; None where nothing stops the wire; zero where it does not fit."""
    walls: tuple[str, ...]
    """The opposed walls that stop it, or none."""

    @property
    def turns_freely(self) -> bool:
        """True where no wall ever stops the wire."""
        return self.angle is None


@dataclass(frozen=True, slots=True)
class Clearance:
    """Play of one wire in one slot."""

    first: PlayInOrder
    second: PlayInOrder
    third: PlayInOrder
    height_mm: float
    """Slot height less wire height, mm: the total play; below zero where the wire is too high."""
    depth_mm: float
    """Slot depth less wire depth, mm: the total play; below zero where the wire is too deep."""

    @property
    def fits(self) -> bool:
        """True where the wire exceeds the slot neither in height nor in depth."""
        return self.height_mm >= 0.0 and self.depth_mm >= 0.0

    @property
    def words(self) -> tuple[str, ...]:
        """One sentence a fact, ready to print."""
        sentences = []
        for what, more, gap in (("height", "higher", self.height_mm), ("depth", "deeper", self.depth_mm)):
            if gap < 0.0:
                sentences.append(f"The wire does not fit: it is {-gap:.3f} mm {more} than the slot.")
            else:
                sentences.append(f"Play in {what}: {gap:.3f} mm in all.")
        if self.fits:
            for order, play in (("First", self.first), ("Second", self.second), ("Third", self.third)):
                sentences.append(_play_sentence(order, play))
        return tuple(sentences)


def _play_sentence(order: str, play: PlayInOrder) -> str:
    if play.angle is None:
        return f"{order} order: the wire turns freely."
    stops = " and ".join(f"the {wall}" for wall in play.walls)
    if play.angle == 0.0:
        return f"{order} order: no play, held by {stops}."
    return f"{order} order: {math.degrees(play.angle):.2f} deg of play either way, stopped by {stops}."


def clearance(section: Section, slot: Slot) -> Clearance:
    """Play of a wire of ``section`` in ``slot``, each order alone."""
    return Clearance(
        first=PlayInOrder(_tilt_play(slot.depth, section.depth, slot.width), DEPTH_WALLS),
        second=PlayInOrder(_tilt_play(slot.height, section.height, slot.width), HEIGHT_WALLS),
        third=third_order_play(section, slot),
        height_mm=_gap(slot.height, section.height),
        depth_mm=_gap(slot.depth, section.depth),
    )


def third_order_play(
    section: Section, slot: Slot, second_tilt: float = 0.0, first_tilt: float = 0.0
) -> PlayInOrder:
    """Third-order play left to a wire already tilted (rad, either sign) in the second and the first order.

    A tilted wire sees the slot through the edges of its mouths: the height left to it is H cos t - W sin t,
    the depth likewise.  Once the tilt has used these up the play is zero.  Raises ValueError for a tilt of a
    right angle or more.
    """
    height_gap = _gap(_seen_through_mouths(slot.height, slot.width, second_tilt), section.height)
    depth_gap = _gap(_seen_through_mouths(slot.depth, slot.width, first_tilt), section.depth)
    a, b = 2.0 * section.corner_y, 2.0 * section.corner_z
    stops = [
        (angle, walls)
        for angle, walls in (
            (_roll_until(height_gap, a, b), HEIGHT_WALLS),
            (_roll_until(depth_gap, b, a), DEPTH_WALLS),
        )
        if angle is not None
    ]
    if not stops:
        return PlayInOrder(None, ())
    angle, walls = min(stops, key=lambda stop: stop[0])
    return PlayInOrder(angle, walls)


def _gap(room: float, size: float) -> float:
    """``room`` less ``size``, exactly zero where they differ by the rounding of units only."""
    gap = room - size
    return 0.0 if abs(gap) <= SAME_SIZE * size else gap


def _seen_through_mouths(opening: float, width: float, tilt: float) -> float:
    if not abs(tilt) < 0.5 * math.pi:
        raise ValueError(
            f"a wire in a slot is tilted by less than a right angle: got {math.degrees(tilt):.6g} deg"
        )
    return opening if tilt == 0.0 else opening * math.cos(tilt) - width * math.sin(abs(tilt))


def _tilt_play(opening: float, size: float, width: float) -> float:
    """Tilt t (rad) at which opening cos t - width sin t = size.

    With u = tan(t/2): (2 opening - gap) u^2 + 2 width u - gap = 0.
    """
    gap = max(_gap(opening, size), 0.0)
    return 2.0 * math.atan2(gap, width + math.sqrt(width**2 + gap * (2.0 * opening - gap)))


def _roll_until(gap: float, a: float, b: float) -> float | None:
    """Smallest roll g (rad) at which a cos g + b sin g = a + gap; None where the outline clears the walls.

    ``a`` is the distance of the corner centres across the walls, ``b`` along them.
    With u = tan(g/2): (2 a + gap) u^2 - 2 b u + gap = 0.
    """
    if b == 0.0:
        # Seen across these walls the wire is thickest as it lies: it can only get thinner by rolling.
        return None
    gap = max(gap, 0.0)
    squared = b * b - gap * (2.0 * a + gap)
    return 2.0 * math.atan2(gap, b + math.sqrt(squared)) if squared > 0.0 else None
