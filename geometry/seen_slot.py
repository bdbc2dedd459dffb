"""A slot as a tilted wire sees it along itself, and what goes through one whose walls are not parallel.

Looked at along the wire, every edge of a mouth is a line, and the wire its own outline.  Between the lines the slot is
again a floor, an outer wall and two walls that open to the front, so that a tilt is no more than a change of sizes.
With b half the taper, t the tilt in second and s in first order, m the radius at the mouths (the silhouette of an arc
lies m beside the line that its centre is seen as):

    tan b' = tan b cos t/cos s
    height at the floor = (H + 2m/cos b) cos t - (W - 2m) sin t - 2m/cos b'
    depth               = (D + 2m) cos s - (W - 2m) sin s - 2m

Exact for either tilt alone; for both at once each is taken to act on its own pair of walls.  In first order, walls that
are not parallel are lower by what ``_lost_in_first_order`` says.

An outline of support function R (its reach in a direction) that touches both walls, rolled by g, stands so far from the
floor that

    R(g + b) + R(g - b) = (height at the floor) cos b + 2 z sin b,

z the place of its middle above the floor.  In a closed slot that is wider in front z can be at most what the outer wall
leaves, in one that is narrower in front at least what the floor asks for; in an open slot the wire lies on the floor.
For an outline of corner arcs both sides are sums of one cosine and one sine of g, piece by piece.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from geometry.attachments import Slot
from geometry.section import Section

# A wire of 0.4572 mm fills a slot of 0.018 in, though the two numbers differ in their last bit.
SAME_SIZE = 1e-12
# rad: roots are found to this.
ROOT = 1e-14


@dataclass(frozen=True, slots=True)
class SeenSlot:
    """A slot as it is seen along a wire, in the wire's own axes."""

    height: float
    """At the floor, mm; below zero where the tilt leaves nothing."""
    depth: float
    """mm; below zero where the tilt leaves nothing."""
    slope: float
    """Tangent of half the taper, above zero where the slot is wider in front."""


def seen_along(slot: Slot, second_tilt: float, first_tilt: float) -> SeenSlot:
    """The slot seen along a wire tilted so far (rad, zero or more, below a right angle)."""
    radius, width = slot.mouth_radius, slot.plane_width
    slope = math.tan(0.5 * slot.taper)
    height, depth, seen = slot.height, slot.depth, slope
    if second_tilt:
        seen *= math.cos(second_tilt)
        across = (height + 2.0 * radius * _per_cosine(slope)) * math.cos(second_tilt)
        height = across - width * math.sin(second_tilt) - 2.0 * radius * _per_cosine(seen)
    if first_tilt:
        height -= _lost_in_first_order(radius, width, seen, first_tilt)
        seen /= math.cos(first_tilt)
        across = (depth + 2.0 * radius) * math.cos(first_tilt)
        depth = across - width * math.sin(first_tilt) - 2.0 * radius
    return SeenSlot(height, depth, seen)


def _lost_in_first_order(radius: float, width: float, slope: float, tilt: float) -> float:
    """Height at the floor (mm) that walls of this slope lose to a tilt in first order; none where they are parallel.

    Where the walls open to the front they are seen through the mouth that shows the floor, else through the other one.
    """
    if slope == 0.0:
        return 0.0
    seen = slope / math.cos(tilt)
    lost = 2.0 * radius * (_per_cosine(seen) - _per_cosine(slope) - seen * (1.0 - math.cos(tilt)))
    return lost if slope > 0.0 else lost - 2.0 * seen * width * math.sin(tilt)


def _per_cosine(slope: float) -> float:
    """One over the cosine of the angle with this tangent."""
    return math.hypot(1.0, slope)


def room_in_height(section: Section, slot: Slot, above_floor: float) -> float:
    """Total play in height (mm) of a wire whose middle stands ``above_floor`` (mm); below zero where it is too high."""
    slope = math.tan(0.5 * slot.taper)
    room = slot.height + 2.0 * slope * above_floor
    size = _across(section, 0.0, slope)
    return 0.0 if abs(room - size) <= SAME_SIZE * size else room - size


def tilt_until(
    section: Section, slot: Slot, order: Literal["first", "second"], closed: bool, most: float
) -> float | None:
    """Tilt (rad, below ``most``) at which upper and lower wall stop the wire, not rolled; None where none does."""
    from scipy.optimize import brentq

    def room(tilt: float) -> float:
        seen = seen_along(slot, tilt, 0.0) if order == "second" else seen_along(slot, 0.0, tilt)
        return seen.height - _needed_height(section, 0.0, seen, closed)

    if room(0.0) <= SAME_SIZE * section.height:
        return 0.0
    if room(most) >= 0.0:
        return None
    return float(brentq(room, 0.0, most, xtol=ROOT, rtol=8.9e-16))


def roll_until(section: Section, seen: SeenSlot, closed: bool) -> float | None:
    """Smallest roll (rad) at which upper and lower wall stop the outline; None where it clears them."""
    if seen.height - _needed_height(section, 0.0, seen, closed) < -SAME_SIZE * section.height:
        return 0.0
    y, z = section.corner_y, section.corner_z
    b = math.atan(abs(seen.slope))
    sine, cosine = math.sin(b), math.cos(b)
    away = -1.0 if seen.slope > 0.0 and not closed else 1.0
    limit = seen.height * cosine - 2.0 * section.edge_radius * (1.0 + away * sine)
    if seen.slope > 0.0 and closed:
        limit += 2.0 * sine * seen.depth
    # Where both walls are touched by corners of one side, by corners across, and by corners of the other side.
    pieces = (
        (0.0, b, y * cosine + z * sine, 0.0),
        (b, 0.5 * math.pi - b, y * cosine, z * cosine),
        (0.5 * math.pi - b, 0.5 * math.pi, 0.0, y * sine + z * cosine),
    )
    for low, high, of_cosine, of_sine in pieces:
        found = _rises_to(
            limit, 2.0 * (of_cosine + away * sine * z), 2.0 * (of_sine + away * sine * y), low, high
        )
        if found is not None:
            return found
    return None


def _rises_to(limit: float, of_cosine: float, of_sine: float, low: float, high: float) -> float | None:
    """Where of_cosine cos g + of_sine sin g, not above ``limit`` at ``low``, first comes up to it; None: nowhere."""
    largest = math.hypot(of_cosine, of_sine)
    # An outline without corners (a round wire) stays as high as it is.
    if largest == 0.0 or not abs(limit) < largest:
        return None
    angle = math.atan2(of_sine, of_cosine) - math.acos(limit / largest)
    if not low - math.sqrt(SAME_SIZE) <= angle <= high:
        return None
    return max(angle, low)


def _across(section: Section, roll: float, slope: float) -> float:
    """Height at the level of its middle (mm) that the outline, rolled, needs between the walls."""
    b = math.atan(abs(slope))
    reach = section.reach(
        [[math.cos(roll + b), math.sin(roll + b)], [math.cos(roll - b), math.sin(roll - b)]]
    )
    return float(reach.sum()) / math.cos(b)


def _needed_height(section: Section, roll: float, seen: SeenSlot, closed: bool) -> float:
    """Height at the floor (mm) that the slot must have for the outline to go through, rolled so."""
    slope = abs(seen.slope)
    to_floor = float(section.reach([math.sin(roll), math.cos(roll)]))
    across = _across(section, roll, seen.slope)
    if seen.slope > 0.0 and closed:
        return across + 2.0 * slope * (to_floor - seen.depth)
    return across + (-2.0 if seen.slope > 0.0 else 2.0) * slope * to_floor
