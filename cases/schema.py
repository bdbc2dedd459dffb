"""A case after it has been read and found good: frozen values in mm, N, rad, MPa."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from geometry.attachments import Attachment
from geometry.section import Section
from geometry.wire_shapes import PassiveShape

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class MaterialSpec:
    """A linear-elastic alloy."""

    name: str
    youngs_modulus_mpa: float
    poisson: float
    yield_mpa: float | None
    """None where the case gives none: then no share of yield is reported."""
    source: str
    """Where the values come from."""


@dataclass(frozen=True, slots=True)
class WireSpec:
    """The wire before engagement."""

    material: MaterialSpec
    section: Section
    passive_shape: PassiveShape
    seated_in: str
    """Name of the attachment in which the passive wire lies before activation."""


@dataclass(frozen=True, slots=True)
class AttachmentSpec:
    """One attachment and the tooth that carries it."""

    name: str
    tooth: str | None
    """FDI number; None where the case speaks of no tooth."""
    attachment: Attachment
    centre_of_resistance: Vector | None
    """mm, from the attachment's centre, in the attachment's own axes (it turns with the tooth)."""


@dataclass(frozen=True, slots=True)
class AnalysisSpec:
    """How the activation is run."""

    increments: int = 10


@dataclass(frozen=True, slots=True)
class DataFile:
    """A file that a case draws from."""

    name: str
    """As the case gives it, from the folder of the case file."""
    sha256: str
    """Fingerprint of its content when it was read."""


@dataclass(frozen=True, slots=True)
class Case:
    """Everything a run needs; attachments in their order along the wire."""

    title: str
    wire: WireSpec
    attachments: tuple[AttachmentSpec, ...]
    analysis: AnalysisSpec
    source_text: str
    """The case file as it was read."""
    path: Path
    warnings: tuple[str, ...] = ()
    """What is allowed but looks like a slip, each with its line."""
    note: str | None = None
    data_files: tuple[DataFile, ...] = ()
    """Tables and shapes read beside the case file, sorted by name."""

    @property
    def sha256(self) -> str:
        """Fingerprint of the case file's text."""
        return sha256(self.source_text.encode("utf-8")).hexdigest()
