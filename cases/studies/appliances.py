"""The appliances that factor studies vary: all invented, with sizes as usual in the trade (common practice, no source).

Each knows its case, how far it is activated, which attachments are looked at, and what the small-deflection formula
says of them.  Lengths in mm, angles in rad.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Protocol

import numpy as np

from cases.schema import AnalysisSpec, AttachmentSpec, Case, MaterialSpec, WireSpec
from cases.studies.small_deflection import Loads, bent_span, one_couple, torque_pair
from geometry.attachments import Attachment, Kind, Slot
from geometry.clearance import clearance
from geometry.pose import Pose
from geometry.section import Section
from geometry.wire_shapes import Bend, PassiveShape, Piece, Straight

BEHIND = 3.0
"""mm of wire on the far side of the centre of a tube or bracket."""
BEND_RADIUS = 0.5
"""mm, at the centreline: about what bird-beak pliers make (common practice, no source)."""
# An eyelet is a ring of thin wire: so wide along the wire, rounded almost wholly, with so much room round the wire,
# which therefore touches one side of it only, however steeply it passes.
EYELET_WIDTH, EYELET_ROUNDING, EYELET_ROOM, EYELET_SIDE = 0.2, 0.09, 1.0, 0.02
SPARE = 25.0
"""mm of wire beyond an eyelet, for it to slide through."""


@dataclass(frozen=True, slots=True)
class Watch:
    """An attachment that is looked at."""

    name: str
    order: str
    about: float = 0.0
    """mm along the attachment's own x from its centre to the point that the couple is about."""
    signed: bool = False
    """The force is its part along y, with its sign; else its size."""


class Appliance(Protocol):
    """What a study needs of an appliance."""

    @property
    def watches(self) -> tuple[Watch, ...]:
        """The attachments looked at."""

    @property
    def activation(self) -> float:
        """How far it is activated: mm or degrees."""

    def case(self) -> Case:
        """As a run takes it."""

    def eased(self, share: float) -> Appliance:
        """The same with its activation times ``share``."""

    def expected(self) -> tuple[Loads, ...]:
        """What the formula says, in the order of ``watches``."""


@dataclass(frozen=True, slots=True)
class OneCouple:
    """A straight wire in a tube, tied beyond it: one couple, second order.

    The tied point stands ``lift`` above the tube's line where the tube is level; a tube tipped down by ``angle`` adds
    to the deflection.  Raises ValueError where the tube reaches the tied point or the wire does not fit.
    """

    material: MaterialSpec
    section: Section
    slot: Slot
    distance: float
    """From the tube's centre to the tied point."""
    lift: float = 0.0
    angle: float = 0.0
    eyelet: bool = False
    """The wire slides through an eyelet at ``distance``; else its end is tied, free along x."""

    def __post_init__(self) -> None:
        _must_fit(self.section, self.slot)
        if self.slot.width >= 2.0 * self.distance:
            raise ValueError(
                f"a tube {self.slot.width:g} mm wide reaches a hook {self.distance:g} mm from its centre"
            )

    @property
    def watches(self) -> tuple[Watch, ...]:
        """The tube, about its centre."""
        return (Watch("tube", "second"),)

    @property
    def activation(self) -> float:
        """Deflection of the tied point, mm; by an angle, along the arc."""
        return self.lift + self.distance * self.angle

    def case(self) -> Case:
        """As a run takes it."""
        length = BEHIND + self.distance + (SPARE if self.eyelet else 0.0)
        turned = Pose.from_angles(np.zeros(3), 0.0, -self.angle, 0.0)
        tube = Attachment("tube", "tube", turned, BEHIND, self.slot, stop=True)
        far = np.array([self.distance, self.lift, 0.0])
        if self.eyelet:
            ring = Slot(
                self.section.height + EYELET_ROOM,
                self.section.depth + EYELET_SIDE,
                EYELET_WIDTH,
                mouth_radius=EYELET_ROUNDING,
            )
            far[1] += 0.5 * EYELET_ROOM  # the wire lies on its lower side
            held = Attachment("eyelet", "tube", _at(far), BEHIND + self.distance, ring)
        else:
            held = Attachment("hook", "button", _at(far), length)
        return _case(self.material, self.section, (Straight(length),), (tube, held))

    def eased(self, share: float) -> OneCouple:
        """The same with its activation times ``share``."""
        return replace(self, lift=share * self.lift, angle=share * self.angle)

    def expected(self) -> tuple[Loads, ...]:
        """On the tube."""
        play = self.slot.height - self.section.height
        width, bent = self.slot.width, self.activation
        return (one_couple(self.material, self.section, self.distance, width, play, bent),)


@dataclass(frozen=True, slots=True)
class TorquePair:
    """Two brackets in line, the second turned about its length by ``angle``: third order.

    Raises ValueError where the brackets touch or the wire does not fit.
    """

    material: MaterialSpec
    section: Section
    slot: Slot
    distance: float
    """From centre to centre."""
    angle: float

    def __post_init__(self) -> None:
        _must_fit(self.section, self.slot)
        if self.slot.width >= self.distance:
            raise ValueError(
                f"brackets {self.slot.width:g} mm wide touch at a distance of {self.distance:g} mm"
            )

    @property
    def watches(self) -> tuple[Watch, ...]:
        """The first bracket."""
        return (Watch("first bracket", "third"),)

    @property
    def activation(self) -> float:
        """Turn of the second bracket, deg."""
        return math.degrees(self.angle)

    def case(self) -> Case:
        """As a run takes it."""
        turned = Pose.from_angles(np.array([self.distance, 0.0, 0.0]), 0.0, 0.0, self.angle)
        first = Attachment("first bracket", "bracket", _at(np.zeros(3)), BEHIND, self.slot, stop=True)
        second = Attachment("second bracket", "bracket", turned, BEHIND + self.distance, self.slot)
        pieces = (Straight(2.0 * BEHIND + self.distance),)
        return _case(self.material, self.section, pieces, (first, second))

    def eased(self, share: float) -> TorquePair:
        """The same with its activation times ``share``."""
        return replace(self, angle=share * self.angle)

    def expected(self) -> tuple[Loads, ...]:
        """On the first bracket."""
        play = clearance(self.section, self.slot).third.angle
        span = self.distance - self.slot.width
        return (torque_pair(self.material, self.section, span, play, self.angle),)


@dataclass(frozen=True, slots=True)
class VBend:
    """Two level attachments and a wire with a bend between them, its apex up: two couples, second order.

    Without a ``slot`` the ends of the span are built in.  Raises ValueError for an apex that leaves no room for the
    bend, or a wire that does not fit.
    """

    material: MaterialSpec
    section: Section
    slot: Slot | None
    span: float
    """From mouth to mouth, or between the built-in ends."""
    share: float
    """Of the span, from the first end to the apex."""
    angle: float

    def __post_init__(self) -> None:
        if self.slot is not None:
            _must_fit(self.section, self.slot)
        if not self._half < min(self.share, 1.0 - self.share) * self.span:
            raise ValueError(f"a bend at {100.0 * self.share:g} % of the span has no room: take 5 to 95 %")

    @property
    def _half(self) -> float:
        """From the apex to where the bend begins, mm."""
        return BEND_RADIUS * math.tan(0.5 * self.angle)

    @property
    def watches(self) -> tuple[Watch, ...]:
        """Both, about the ends of the span."""
        half = 0.0 if self.slot is None else 0.5 * self.slot.width
        return (Watch("first", "second", half, signed=True), Watch("second", "second", -half, signed=True))

    @property
    def activation(self) -> float:
        """Angle of the bend, deg."""
        return math.degrees(self.angle)

    def case(self) -> Case:
        """As a run takes it."""
        width = 0.0 if self.slot is None else self.slot.width
        begin = 0.0 if self.slot is None else BEHIND
        before = begin + 0.5 * width + self.share * self.span - self._half
        after = (1.0 - self.share) * self.span - self._half + 0.5 * width
        bend = Bend(-self.angle, "second", BEND_RADIUS)
        second = before + bend.length + after
        kind: Kind = "clamp" if self.slot is None else "bracket"
        far = np.array([self.span + width, 0.0, 0.0])
        pair = (
            Attachment("first", kind, _at(np.zeros(3)), begin, self.slot, stop=True),
            Attachment("second", kind, _at(far), second, self.slot),
        )
        return _case(self.material, self.section, (Straight(before), bend, Straight(after + BEHIND)), pair)

    def eased(self, share: float) -> VBend:
        """The same with its activation times ``share``."""
        return replace(self, angle=share * self.angle)

    def expected(self) -> tuple[Loads, ...]:
        """On the first and the second end of the span, as if it were built in."""
        return bent_span(self.material, self.section, self.span, self.share * self.span, self.angle)


def _at(position: np.ndarray) -> Pose:
    return Pose.from_angles(position, 0.0, 0.0, 0.0)


def _must_fit(section: Section, slot: Slot) -> None:
    if not clearance(section, slot).fits:
        raise ValueError(
            f"a wire {section.height:.4g} x {section.depth:.4g} mm does not fit a slot {slot.height:.4g} x "
            f"{slot.depth:.4g} mm"
        )


def _case(
    material: MaterialSpec, section: Section, pieces: tuple[Piece, ...], pair: tuple[Attachment, Attachment]
) -> Case:
    """A case that no file holds: its wire is seated in the first of the two attachments."""
    wire = WireSpec(material, section, PassiveShape(pieces), pair[0].name)
    specs = tuple(AttachmentSpec(one.name, None, one, None) for one in pair)
    return Case("An invented appliance", wire, specs, AnalysisSpec(), "", Path("study"))
