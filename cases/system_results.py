"""What a run says of its attachments together: couples, the geometry of two brackets, teeth that follow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from geometry.pose import Pose

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class InPlay:
    """A slot in which the wire may still turn in one order."""

    name: str
    play_left_deg: float | None
    """One-sided, in the engaged pose; None where the wire turns freely or nothing limits it."""


@dataclass(frozen=True, slots=True)
class OrderSystem:
    """All attachments in one order."""

    kind: str
    """"no couple", "one-couple system", "two-couple system", "three-couple system", ..."""
    with_couple: tuple[str, ...]
    """Attachments that carry a couple in this order."""
    holding: tuple[str, ...]
    """Those that carry none but bear a force that counts in this order's balance."""
    within_play: tuple[InPlay, ...]
    """Slots that carry no couple in this order."""
    loads: int | None
    """Forces and couples that count in this order's balance; None where the slots do not share a plane, or there is no
    couple and no third force."""
    left_open: int | None
    """How many of them statics leaves open; None likewise."""
    determinate: bool | None
    """Whether statics gives all loads once one is known; None where nothing is to be said of it."""
    words: str


@dataclass(frozen=True, slots=True)
class BracketAngles:
    """One of two brackets, in the plane of a geometry; angles of the wire from the slot, moments on the tooth, both
    about the attachment's own axis of the order."""

    name: str
    activation_deg: float
    """Wire to slot before engagement, the wire laid through the inner mouths of both slots where they stand now."""
    activation_at_centre_deg: float
    """The same, the wire laid through the centres of both."""
    engagement_deg: float
    """Wire to slot once engaged, at the slot's centre."""
    play_deg: float | None
    """What limits it, one-sided; None where nothing does, or a clamp holds the wire."""
    moment_at_mouth_nmm: float
    """About the inner mouth."""
    moment_at_centre_nmm: float


@dataclass(frozen=True, slots=True)
class Geometry:
    """Two brackets on a straight or bent wire in one plane, after Burstone & Koenig, Am. J. Orthod. 65 (1974) 270."""

    stage: str
    """At whose end."""
    order: str
    brackets: tuple[BracketAngles, BracketAngles]
    """As they lie along the wire."""
    larger: str
    """Whose angle of activation is the larger; ratios are the other one's over this one's."""
    angle_ratio: float
    nearest_class: str
    """"I" to "VI"."""
    moment_ratio_at_mouths: float | None
    """Computed; None where the bracket with the larger angle has no moment."""
    linear_moment_ratio: float
    """(2 r + 1)/(r + 2) at the mouths, for ends built in."""
    angle_ratio_at_centres: float
    nearest_class_at_centres: str
    moment_ratio_at_centres: float | None
    words: str


@dataclass(frozen=True, slots=True)
class Followed:
    """One attachment after a step of a stage in which teeth follow."""

    name: str
    pose: Pose
    """Of its slot, in equilibrium."""
    moved_mm: float
    """How far its slot's centre has come since the stage began."""
    turned_deg: float
    force_n: Vector
    moment_nmm: Vector
    """On the tooth, about the attachment's centre (of a button: the point it holds), world axes."""


@dataclass(frozen=True, slots=True)
class FollowStep:
    """One step of such a stage; step 0 is where it begins."""

    stage: str
    step: int
    attachments: tuple[Followed, ...]


@dataclass(frozen=True, slots=True)
class SystemResult:
    """The attachments as one system; of several wires each by itself, its joints as points that hold it."""

    orders: Mapping[str, OrderSystem]
    """Of the first wire."""
    passive: tuple[str, ...]
    """Attachments that get no force and no couple at all."""
    geometries: tuple[Geometry, ...]
    """At the end of each stage and in each order in which two brackets form one."""
    following: tuple[FollowStep, ...]
    words: tuple[str, ...]
    more_wires: tuple[Mapping[str, OrderSystem], ...] = ()
    """Orders of the other wires."""
