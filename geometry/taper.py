"""Play of a straight wire between an upper and a lower wall that open to the front, or to the floor.

Seen along a wire tilted by t2 in the second and t1 in the first order, the edges of the walls at either mouth are two
straight lines in the plane of the section, at a slope T = tan(taper/2) cos t2 / cos t1, rounded mouths of radius p
are lines with that radius about them, and the lines of the tighter mouths are

    H' = (H + 2p / cos(taper/2)) cos t2 - (W - 2p) sin t2

apart at the level of the floor.  With e = atan T the outline, rolled by g, its centre z above the floor, fits between
them at some height if

    R(g + e) + R(g - e) + 2p <= cos e (H' + 2 z tan e),    R(x) = a |cos x| + b |sin x| + r,

R being the reach (support function) of the outline with the centres of its corner arcs at (a, b).  Walls that open to
the front leave most room at the outer wall, z = depth - R(g - 90 deg), all others on the floor, z = R(g - 90 deg).  All
of this is a sum of weights times |cos(g - phase)|, between whose corners it is one cosine: its first root is exact.
Tilts of both orders at once are taken one after the other, as in ``geometry.clearance``.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

from scipy.optimize import brentq

from geometry.attachments import Slot
from geometry.section import Section

RIGHT_ANGLE = 0.5 * math.pi
# Room below this share of the slot's height is none: the rounding of units.
NONE = 1e-12
# brentq's own bounds, rad: below the digits of any angle here.
XTOL, RTOL = 1e-15, 1e-14


@dataclass(frozen=True, slots=True)
class TaperedWalls:
    """One wire in one tapered slot."""

    section: Section
    slot: Slot
    closed: bool
    """Whether there is an outer wall."""

    def height_room(self) -> float:
        """Total play in height, mm, where there is most; below zero where the wire is too high everywhere."""
        room = self._room(0.0, 0.0, 0.0) / math.cos(0.5 * self.slot.taper)
        return 0.0 if abs(room) <= NONE * self.slot.height else room

    def second_order(self) -> float:
        """Tilt (rad) at which it fits nowhere any more; zero where it does not fit untilted."""
        if self._none(0.0, 0.0):
            return 0.0
        # Seen at a right angle the opening is below zero, and it falls all the way there.
        return float(brentq(lambda tilt: self._room(tilt, 0.0, 0.0), 0.0, RIGHT_ANGLE, xtol=XTOL, rtol=RTOL))

    def first_order(self, in_depth: float | None) -> float | None:
        """Tilt (rad) at which the upper and lower wall stop it, if before ``in_depth``, where the depth does (None:
        nowhere); None where they do not."""
        if self._none(0.0, 0.0):
            return 0.0
        if in_depth is None and self.slot.taper > 0.0:
            return None
        last = RIGHT_ANGLE * (1.0 - 1e-9) if in_depth is None else in_depth
        if self._room(0.0, last, 0.0) >= -NONE * self.slot.height:
            return None
        return float(brentq(lambda tilt: self._room(0.0, tilt, 0.0), 0.0, last, xtol=XTOL, rtol=RTOL))

    def third_order(self, second_tilt: float, first_tilt: float) -> float | None:
        """Roll (rad) at which a wire so tilted fits nowhere any more; None where it turns right round."""
        if self._none(second_tilt, first_tilt, falling=True):
            return 0.0
        most, weights, slope = self._terms(second_tilt, first_tilt)
        ends = (0.0, slope, RIGHT_ANGLE - slope, RIGHT_ANGLE)
        for start, end in zip(ends[:-1], ends[1:], strict=True):
            middle = 0.5 * (start + end)
            whole = sum(
                (
                    math.copysign(weight, weight * math.cos(middle - phase)) * cmath.exp(1j * phase)
                    for weight, phase in weights
                ),
                0j,
            )
            if abs(whole) <= most:
                continue
            # |whole| cos(g - peak) rises through `most` here, once in a piece shorter than half a turn.
            crossed = cmath.phase(whole) - math.acos(most / abs(whole))
            if start - 1e-12 <= crossed <= end:
                return max(crossed, 0.0)
        return None

    def _terms(
        self, second_tilt: float, first_tilt: float
    ) -> tuple[float, tuple[tuple[float, float], ...], float]:
        """most, (weight, phase) and |e|: it fits where the sum of weight |cos(g - phase)| is no more than ``most``."""
        section, slot = self.section, self.slot
        a, b, r, p = section.corner_y, section.corner_z, section.edge_radius, slot.mouth_radius
        half = 0.5 * slot.taper
        second, first = abs(second_tilt), abs(first_tilt)
        e = math.atan(math.tan(half) * math.cos(second) / math.cos(first))
        opening = (slot.height + 2.0 * p / math.cos(half)) * math.cos(second)
        opening -= slot.plane_width * math.sin(second)
        # z is measured from the floor as it lies at the mouth where the walls are tightest.
        lowest = p * (1.0 - math.cos(first))
        if self.closed and slot.taper > 0.0:
            seen = (slot.depth + 2.0 * p) * math.cos(first) - slot.plane_width * math.sin(first) - 2.0 * p
            level, sign = lowest + seen - r, -1.0
        else:
            level, sign = lowest + r, 1.0
            if slot.taper < 0.0:
                level += slot.plane_width * math.sin(first)
        most = math.cos(e) * opening + 2.0 * math.sin(e) * level - 2.0 * (r + p)
        lift = -2.0 * sign * math.sin(e)
        weights = (
            (a, e), (a, -e), (b, RIGHT_ANGLE + e), (b, RIGHT_ANGLE - e), (lift * b, 0.0), (lift * a, RIGHT_ANGLE)
        )  # fmt: skip
        return most, weights, abs(e)

    def _room(self, second_tilt: float, first_tilt: float, roll: float) -> float:
        """mm; below zero where it fits nowhere."""
        most, weights, _ = self._terms(second_tilt, first_tilt)
        return most - sum(weight * abs(math.cos(roll - phase)) for weight, phase in weights)

    def _none(self, second_tilt: float, first_tilt: float, falling: bool = False) -> bool:
        """Whether it does not fit, or just fits; with ``falling`` only if a roll makes it worse."""
        room = self._room(second_tilt, first_tilt, 0.0)
        none = NONE * self.slot.height
        if room < -none:
            return True
        return room <= none and not (falling and self._room(second_tilt, first_tilt, 1e-6) > room)
