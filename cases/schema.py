"""A case after it has been read and found good: frozen values in mm, N, rad, MPa."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from cases.units import Kind
from geometry.attachments import Attachment
from geometry.section import Section
from geometry.wire_shapes import PassiveShape

if TYPE_CHECKING:  # a linear elastic case is read without loading the fibres
    from fem.fibre_material import Elastoplastic, Superelastic
    from fem.strands import Strands

Vector = tuple[float, float, float]
MOUTH = 36.0
"""degC: the middle of 35 to 37, as in a closed mouth (common practice, no source)."""
ConstantKind = Kind | Literal["pure"]


@dataclass(frozen=True, slots=True)
class Constant:
    """One constant of an alloy: its value, the range that was published or is remembered, the source of both."""

    key: str
    """As a case file, the library and `fem.fibre_material` call it."""
    value: float
    """MPa, MPa/K, degC or a pure number, by its kind."""
    low: float
    high: float
    source: str
    kind: ConstantKind


@dataclass(frozen=True, slots=True)
class MaterialSpec:
    """An alloy: linear elastic, or with a law that yields or transforms."""

    name: str
    youngs_modulus_mpa: float
    """Of austenite where it transforms: what a wire at rest has."""
    poisson: float
    yield_mpa: float | None
    """None where the case gives none, or where the alloy transforms: then no share of yield is reported."""
    source: str
    """Where the values come from."""
    law: Elastoplastic | Superelastic | None = None
    """None: linear elastic."""
    constants: tuple[Constant, ...] = ()
    """Of its law, each with its range; empty in materials made by hand."""

    @property
    def law_name(self) -> str:
        """As a case file writes it."""
        return "elastic" if self.law is None else type(self.law).__name__.lower()

    @property
    def modulus(self) -> Constant | None:
        """Young's modulus with its published range; None where there is no range."""
        keys = ("youngs_modulus", "austenite_modulus")
        found = next((one for one in self.constants if one.key in keys), None)
        return None if found is None or found.low == found.high else found


@dataclass(frozen=True, slots=True)
class WireSpec:
    """The wire before engagement."""

    material: MaterialSpec
    section: Section
    passive_shape: PassiveShape
    seated_in: str
    """Name of the attachment in which the passive wire lies before activation."""
    name: str = "wire"
    """What a case with several wires calls it."""
    strands: Strands | None = None
    """What it is made of where it is no solid; ``section`` is then what walls meet."""

    @property
    def label(self) -> str:
        """Its section in words."""
        return (
            self.section.label
            if self.strands is None
            else f"{self.strands.label}, outline {self.section.label}"
        )


@dataclass(frozen=True, slots=True)
class SupportSpec:
    """The linear support of a tooth at its centre of resistance, along and about its slot's axes."""

    stiffness: tuple[float, ...]
    """(6,) N/mm and N mm/rad; infinite where it does not give way."""
    words: str
    """Where these come from."""


@dataclass(frozen=True, slots=True)
class AttachmentSpec:
    """One attachment and the tooth that carries it."""

    name: str
    tooth: str | None
    """FDI number; None where the case speaks of no tooth."""
    attachment: Attachment
    centre_of_resistance: Vector | None
    """mm, from the attachment's centre, in the attachment's own axes (it turns with the tooth)."""
    support: SupportSpec | None = None
    """How its tooth gives way; None: not at all, or as the others of its segment do."""
    segment: str | None = None
    """Name of the rigid segment of several teeth that it belongs to."""
    wire: int = 0
    """Number of the wire that it holds."""


HOOK, TIE = "hook", "tie"


@dataclass(frozen=True, slots=True)
class JointSpec:
    """A point of one wire held to another wire; forces, no couple."""

    name: str
    slides: bool
    """A hook slides along the other wire, a tie does not."""
    wire: int
    at: float
    """mm from the start of ``wire``."""
    to: int
    """Number of the wire that it is held to."""
    to_at: float
    """mm from the start of that; where a hook begins."""
    arm: Vector = (0.0, 0.0, 0.0)
    """mm from that wire's centre line to this one's, along its tangent, height and depth, in the end."""

    @property
    def kind(self) -> str:
        return HOOK if self.slides else TIE


@dataclass(frozen=True, slots=True)
class AnalysisSpec:
    """How the activation is run."""

    increments: int = 10
    tie_in: tuple[str, ...] = ()
    """Attachments and joints in the order in which they are engaged, one after another; none: all at once."""
    snap: bool = False
    """Whether the wire snaps to a stable equilibrium where the one at hand is unstable."""
    temperature: float = MOUTH
    """degC, of the wire until a stage changes it."""


@dataclass(frozen=True, slots=True)
class StageSpec:
    """What happens after the engagement: attachments go back and on, one of them moves, teeth follow their loads, or
    only the temperature changes."""

    name: str
    increments: int
    """Of each way."""
    back: float | None = None
    """Share of its way from passive to engaged that every attachment goes back; from there, not from where it is."""
    moved: str | None = None
    """Name of the attachment that moves, with its tooth."""
    by: Vector = (0.0, 0.0, 0.0)
    """mm, world axes."""
    turn: Vector = (0.0, 0.0, 0.0)
    """rad, about its own moving axes y, z, x in that order."""
    until: float | None = None
    """N, or N mm where it only turns: the load down to which the stage is of use, for the working range."""
    follow: float | None = None
    """Share of its initial displacement by which every supported tooth goes on in each step; ``increments`` are then
    those of a step."""
    steps: int = 1
    to: tuple[float, ...] = ()
    """Shares of their ways from passive to engaged to which all attachments go one after another; beyond 1 it is a
    trial activation."""
    repeat: int = 1
    """How often they do."""
    temperature: float | None = None
    """degC at its end, reached evenly; None: as before."""


@dataclass(frozen=True, slots=True)
class BenchSpec:
    """A test on a rig: one attachment moves out and back, and a sensor reads the load on one."""

    moved: str
    by: Vector
    """mm, in the attachment's own axes."""
    turn: Vector
    """rad, about its own moving axes y, z, x in that order."""
    increments: int
    """Out, and as many back."""
    sensor: str
    """Attachment whose load is read."""
    sensor_from_centre: Vector
    """mm, in the axes of that attachment as it is mounted; the sensor reads along and about these."""
    compliance: tuple[float, ...] = (0.0,) * 6
    """Of the moved attachment's mount, along and about its own axes: mm/N and rad/(N mm)."""
    measured: Measured | None = None


@dataclass(frozen=True, slots=True)
class Measured:
    """A measured curve, to be laid over the computed one."""

    file: str
    travel: tuple[float, ...]
    """deg where the test turns, mm where it draws."""
    load: tuple[float, ...]
    """N mm about, or N along, the axis of the test."""


@dataclass(frozen=True, slots=True)
class DataFile:
    """A file that a case draws from."""

    name: str
    """As the case gives it, from the folder of the case file."""
    sha256: str
    """Fingerprint of its content when it was read."""


@dataclass(frozen=True, slots=True)
class Case:
    """Everything a run needs; attachments wire by wire, in their order along each."""

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
    stages: tuple[StageSpec, ...] = ()
    """What happens after the engagement, in order."""
    bench: BenchSpec | None = None
    """A test on a rig, after the engagement and the stages."""
    more_wires: tuple[WireSpec, ...] = ()
    """Beside the first one."""
    joints: tuple[JointSpec, ...] = ()
    """Between wires."""

    @property
    def wires(self) -> tuple[WireSpec, ...]:
        """All of them, the first one first."""
        return (self.wire, *self.more_wires)

    def wire_of(self, spec: AttachmentSpec) -> WireSpec:
        """The wire that an attachment holds."""
        return self.wires[spec.wire]

    @property
    def held_by(self) -> tuple[str, ...]:
        """Names of all that holds the wires, in the order of a model's supports: attachments, then joints."""
        return (*(spec.name for spec in self.attachments), *(joint.name for joint in self.joints))

    def attachments_of(self, wire: int) -> tuple[AttachmentSpec, ...]:
        """Those that hold a wire, in their order along it."""
        return tuple(spec for spec in self.attachments if spec.wire == wire)

    @property
    def sha256(self) -> str:
        """Fingerprint of the case file's text."""
        return sha256(self.source_text.encode("utf-8")).hexdigest()
