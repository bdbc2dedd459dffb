"""Play of a straight wire in a rigid slot, in closed form, one-sided from the centred position.

With height h, depth w, edge radius r of the wire, height H, depth D, width W of the slot and radius m at its mouths:

* first order (about the slot's y): the wire tilts until it lies on the edges of both mouths,
  D cos t - W sin t = w.  Where these are rounded it lies on arcs whose centres are D + 2m and W - 2m apart:
  (D + 2m) cos t - (W - 2m) sin t - 2m = w;
* second order (about z): likewise with H and h, for sharp mouths the exact form of the critical contact angle of Kusy
  & Whitley, Eur. J. Orthod. 21 (1999) 199;
* third order (about x): the wire rolls until its outline is as high as the slot,
  (h - 2r) cos g + (w - 2r) sin g + 2r = H, or as deep, (w - 2r) cos g + (h - 2r) sin g + 2r = D, whichever
  comes first.

With the gap (H - h or D - w) apart from the rest and u the tangent of half the angle, these are quadratics
whose smaller positive root needs no difference of nearly equal numbers, so a small play keeps its digits and
a wire that fills its slot has exactly none.  Slots whose walls are not parallel are left to ``geometry.seen_slot``.

Open in front, a slot has no outer wall: its depth stops neither a roll nor a tilt in first order.  A ligature gives
way, so it is no wall either.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from geometry import seen_slot
from geometry.attachments import FLOOR, LOWER_WALL, OUTER_WALL, UPPER_WALL, Slot
from geometry.ligation import Ligation
from geometry.section import Section

HEIGHT_WALLS = (UPPER_WALL, LOWER_WALL)
DEPTH_WALLS = (FLOOR, OUTER_WALL)

Front = Literal["closed", "open"]


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
    """Slot height less wire height, mm: the total play of a wire centred in depth; below zero where it is too high."""
    depth_mm: float
    """Slot depth less wire depth, mm: the total play; below zero where the wire is too deep, or stands out in front."""
    floor_height_mm: float
    """The total play in height of a wire that lies on the floor, mm; below zero where it cannot."""
    front: Front = "closed"

    @property
    def fits(self) -> bool:
        """True where the wire exceeds the slot neither in height nor, in a closed one, in depth."""
        return self.height_mm >= 0.0 and (self.depth_mm >= 0.0 or self.front == "open")

    @property
    def words(self) -> tuple[str, ...]:
        """One sentence a fact, ready to print."""
        sentences = []
        for what, more, gap in (("height", "higher", self.height_mm), ("depth", "deeper", self.depth_mm)):
            if what == "depth" and self.front == "open":
                sentences.append("Open in front: the depth stops neither a roll nor a tilt in first order.")
            elif gap < 0.0:
                sentences.append(f"The wire does not fit: it is {-gap:.3f} mm {more} than the slot.")
            elif what == "height" and self.floor_height_mm != self.height_mm:
                sentences.append(f"Play in height: {gap:.3f} mm in all, centred in depth; {self._on_floor}.")
            else:
                sentences.append(f"Play in {what}: {gap:.3f} mm in all.")
        if self.fits:
            for order, play in (("First", self.first), ("Second", self.second), ("Third", self.third)):
                sentences.append(_play_sentence(order, play))
        return tuple(sentences)

    @property
    def _on_floor(self) -> str:
        if self.floor_height_mm < 0.0:
            return "it does not reach the floor"
        return f"{self.floor_height_mm:.3f} mm on the floor"


def _play_sentence(order: str, play: PlayInOrder) -> str:
    if play.angle is None:
        return f"{order} order: the wire turns freely."
    stops = " and ".join(f"the {wall}" for wall in play.walls)
    if play.angle == 0.0:
        return f"{order} order: no play, held by {stops}."
    return f"{order} order: {math.degrees(play.angle):.2f} deg of play either way, stopped by {stops}."


def front_of(ligation: Ligation) -> Front:
    """Whether a rigid wall closes the slot in front."""
    return "closed" if ligation.kind == "closed" else "open"


def clearance(section: Section, slot: Slot, front: Front = "closed") -> Clearance:
    """Play of a wire of ``section`` in ``slot``, each order alone."""
    height_gap, floor_gap = _height_gaps(section, slot)
    return Clearance(
        first=_first_order(section, slot, front),
        second=PlayInOrder(_second_order(section, slot, front), HEIGHT_WALLS),
        third=third_order_play(section, slot, front=front),
        height_mm=height_gap,
        depth_mm=_gap(slot.depth, section.depth),
        floor_height_mm=floor_gap,
        front=front,
    )


def third_order_play(
    section: Section,
    slot: Slot,
    second_tilt: float = 0.0,
    first_tilt: float = 0.0,
    front: Front = "closed",
) -> PlayInOrder:
    """Third-order play left to a wire already tilted (rad, either sign) in the second and the first order.

    A tilted wire sees the slot through the edges of its mouths: the height left to it is
    (H + 2m) cos t - (W - 2m) sin t - 2m, the depth likewise.  Once the tilt has used these up the play is zero.
    In a slot that is open in front and wider there, it is the play of a wire on the floor.  Raises ValueError for a
    tilt of a right angle or more.
    """
    for tilt in (second_tilt, first_tilt):
        if not abs(tilt) < 0.5 * math.pi:
            raise ValueError(
                f"a wire in a slot is tilted by less than a right angle: got {math.degrees(tilt):.6g} deg"
            )
    seen = seen_slot.seen_along(slot, abs(second_tilt), abs(first_tilt))
    a, b = 2.0 * section.corner_y, 2.0 * section.corner_z
    if slot.taper:
        by_height = seen_slot.roll_until(section, seen, front == "closed")
    else:
        by_height = _roll_until(_gap(seen.height, section.height), a, b)
    stops = [] if by_height is None else [(by_height, HEIGHT_WALLS)]
    if front == "closed":
        by_depth = _roll_until(_gap(seen.depth, section.depth), b, a)
        if by_depth is not None:
            stops.append((by_depth, DEPTH_WALLS))
    if not stops:
        return PlayInOrder(None, ())
    angle, walls = min(stops, key=lambda stop: stop[0])
    return PlayInOrder(angle, walls)


def _height_gaps(section: Section, slot: Slot) -> tuple[float, float]:
    """Total play in height (mm) of a wire centred in depth, and of one on the floor."""
    if not slot.taper:
        gap = _gap(slot.height, section.height)
        return gap, gap
    return (
        seen_slot.room_in_height(section, slot, 0.5 * slot.depth),
        seen_slot.room_in_height(section, slot, 0.5 * section.depth),
    )


def _first_order(section: Section, slot: Slot, front: Front) -> PlayInOrder:
    if front == "open":
        return PlayInOrder(None, ())
    by_depth = _tilt_play(slot.depth, section.depth, slot)
    if slot.taper:
        by_height = seen_slot.tilt_until(section, slot, "first", True, by_depth)
        if by_height is not None:
            return PlayInOrder(by_height, HEIGHT_WALLS)
    return PlayInOrder(by_depth, DEPTH_WALLS)


def _second_order(section: Section, slot: Slot, front: Front) -> float:
    if not slot.taper:
        return _tilt_play(slot.height, section.height, slot)
    found = seen_slot.tilt_until(section, slot, "second", front == "closed", 0.5 * math.pi)
    # No wire goes through across the slot.
    assert found is not None
    return found


def _gap(room: float, size: float) -> float:
    """``room`` less ``size``, exactly zero where they differ by the rounding of units only."""
    gap = room - size
    return 0.0 if abs(gap) <= seen_slot.SAME_SIZE * size else gap


def _tilt_play(opening: float, size: float, slot: Slot) -> float:
    """Tilt t (rad) at which (opening + 2m) cos t - (width - 2m) sin t = size + 2m, m the radius at the mouths.

    With u = tan(t/2): (2 (opening + 2m) - gap) u^2 + 2 (width - 2m) u - gap = 0.
    """
    gap = max(_gap(opening, size), 0.0)
    across, width = opening + 2.0 * slot.mouth_radius, slot.plane_width
    return 2.0 * math.atan2(gap, width + math.sqrt(width**2 + gap * (2.0 * across - gap)))


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
