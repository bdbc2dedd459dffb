"""What a wire that yields or transforms remembers of its way: plain values."""

from __future__ import annotations

from dataclasses import dataclass

from geometry.wire_shapes import PassiveShape


@dataclass(frozen=True, slots=True)
class CycleLoss:
    """Energy that became heat in one round of a stage."""

    stage: str
    cycle: int
    """From 1."""
    in_wire_nmm: float
    """In its material, N mm."""
    in_sliding_nmm: float
    """In friction, N mm."""


@dataclass(frozen=True, slots=True)
class SetAtAttachment:
    """How the wire, let go, stands at an attachment against its passive shape, both laid into the seat."""

    attachment: str
    moved_mm: float
    turned_deg: float
    activated_mm: float
    """Farthest that the attachment had been from the passive wire."""
    activated_deg: float
    springback: float | None
    """Share of that way which comes back when the wire is let go, of the turn where the attachment only turned; None
    where it did neither."""


@dataclass(frozen=True, slots=True)
class WireMemory:
    """A wire with a law that yields or transforms, at the end of its way and let go."""

    law: str
    temperature_degc: float
    """At the end."""
    yielded_share: float
    """Of the wire's metal: has yielded at any time; 0 for alloys that do not."""
    most_yielded_share: float
    """Of the section that yielded most."""
    martensite_share: float
    """Of the wire's metal, at the end; 0 for alloys that do not transform."""
    most_martensite_share: float
    largest_plastic_strain: float
    dissipated_nmm: float
    """Became heat in its material on the whole way, N mm."""
    stored_nmm: float
    """Elastic and other energy that it holds at the end, N mm."""
    cycles: tuple[CycleLoss, ...]
    sets: tuple[SetAtAttachment, ...]
    """One for each attachment but the seat; empty where letting go found no rest."""
    words: tuple[str, ...]
    released: PassiveShape | None = None
    """The shape after release, to run again; None where letting go found no rest, and in results read back."""
