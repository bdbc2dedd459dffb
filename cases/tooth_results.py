"""What a run says of the teeth: loads at the centre of resistance, initial tendencies, initial displacements.

Vectors are in the slot's own axes (along the slot, its height, its depth), which are taken for the tooth's: so the long
axis runs along the height, through the centre of resistance.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

Vector = tuple[float, float, float]

UNCONTROLLED = "uncontrolled tipping"
CONTROLLED = "controlled tipping"
BODILY = "bodily movement"
ROOT = "root movement"
TURNING = "turning about the centre of resistance"
ROTATION = "rotation about the long axis"
EXTRUSION = "extrusion"
INTRUSION = "intrusion"


@dataclass(frozen=True, slots=True)
class PublishedRange:
    """A force (N), or a moment (N mm), that a source names for a kind of movement of one average tooth."""

    movement: str
    least: float
    most: float
    source: str
    of_moment: bool = False


@dataclass(frozen=True, slots=True)
class PlaneTendency:
    """What one plane of space says of the initial tendency, in a linear model."""

    force_n: float
    """Along the slot (first and second order) or facially (third)."""
    moment_nmm: float
    """About the centre of resistance and the axis of this order."""
    arm_mm: float | None
    """From the slot to the centre of resistance along the height; None in first order."""
    moment_to_force_mm: float | None
    """Moment about the point of the long axis level with the slot, over the force; above zero where it works against
    the tipping that the force alone would cause.  None in first order and where there is no force."""
    share_of_arm: float | None
    """The same over the arm: 0 a force alone at the slot's level, 1 translation.  None likewise."""
    movement: str | None
    """Which of the kinds of movement; None where nothing acts in this plane."""
    words: str


@dataclass(frozen=True, slots=True)
class ToothDisplacement:
    """How far a tooth on a linear support gives way at once; not what it does in weeks."""

    translation_mm: Vector
    """Of the centre of resistance."""
    rotation_deg: Vector
    """As a vector along the axis of the turn."""
    slot_translation_mm: Vector
    centre_of_rotation_mm: Mapping[str, Vector | None]
    """By order, seen from the centre of resistance, within the plane of that order; None for a translation."""
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ToothResult:
    """One attachment's tooth: load and tendency at its centre of resistance."""

    centre_from_slot_mm: Vector
    source: str
    """Where the centre of resistance comes from: "given in the case", or "default: ..."."""
    force_n: Vector
    moment_nmm: Vector
    """About the centre of resistance."""
    planes: Mapping[str, PlaneTendency]
    """By order."""
    published: tuple[PublishedRange, ...]
    """For the movements found here, of named sources; no advice."""
    words: tuple[str, ...]
    support: str | None = None
    """The linear support, in words; None where the tooth is fixed."""
    displacement: ToothDisplacement | None = None
    """Of a tooth on a linear support, else None."""
