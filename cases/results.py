"""What a run says: plain frozen values, one per thing a reader asks for.

Forces and moments act on the tooth, in world axes.  A moment names its point: the slot centre, or a mouth.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cases.accuracy_results import AccuracyResult as AccuracyResult
from cases.accuracy_results import Error as Error
from cases.accuracy_results import Mesh as Mesh
from cases.accuracy_results import ModulusEnd as ModulusEnd
from cases.accuracy_results import ModulusSpread as ModulusSpread
from cases.memory_results import WireMemory
from cases.system_results import SystemResult
from cases.tooth_results import ToothResult
from geometry.attachments import Attachment
from geometry.pose import Pose
from geometry.section import Section

Array = NDArray[np.float64]
Vector = tuple[float, float, float]

ORDERS = ("first", "second", "third")
ACTIVATION = "activation"
OUT = "bench, out"
BACK = "bench, back"


@dataclass(frozen=True, slots=True)
class OrderResult:
    """One order (plane of space) of one attachment."""

    moment_nmm: float
    """Moment on the tooth about the slot's own axis of this order: y first, z second, x third."""
    activation_deg: float
    """Wire to slot before engagement."""
    engagement_deg: float | None
    """Wire to slot once engaged, at the slot's centre; None in third order for a round wire, which turns freely: any
    angle is as good."""
    play_deg: float | None
    """One-sided from centred, this order alone; None where the wire turns freely or nothing limits it."""
    play_left_deg: float | None
    """What is left of it in the engaged pose; None likewise."""
    turns_freely: bool
    carries_couple: bool
    """True where opposed contacts (or a clamp) make a couple."""
    stopping_walls: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class MouthResult:
    """The section resultant of the wire where it leaves an attachment:

    what the span outside exerts on the wire inside.
    """

    place: str
    """"start" (smaller arc length) or "end"."""
    arc_length_mm: float
    force_n: Vector
    moment_nmm: Vector
    """About the wire's centre at this mouth, world axes."""


@dataclass(frozen=True, slots=True)
class ContactResult:
    """One wall pressing on the wire at one station."""

    place_mm: Vector
    """World position of the wire's section centre at the station."""
    offset_mm: float
    """Station along the slot from its centre."""
    wall: str
    normal_force_n: float
    friction_force_n: float
    give_mm: float = 0.0
    """How far the wall gives way there; 0 where it is rigid."""


@dataclass(frozen=True, slots=True)
class AttachmentResult:
    """The force system one attachment passes to its tooth."""

    name: str
    kind: str
    tooth: str | None
    force_n: Vector
    moment_nmm: Vector
    """About ``moment_about_mm``."""
    moment_about_mm: Vector
    """The attachment's centre;

    for a button the point of the wire it holds, which may have slid along its x.
    """
    orders: Mapping[str, OrderResult]
    mouths: tuple[MouthResult, ...]
    contacts: tuple[ContactResult, ...]
    sliding_mm: float
    """How far the wire has slid along the attachment since it was put in (towards +x of the slot)."""
    moment_at_centre_of_resistance_nmm: Vector | None
    words: tuple[str, ...]
    pose: Pose
    slot_size_mm: tuple[float, float, float] | None
    """Slot height, depth and bracket width; None for a button or clamp."""
    inside_share: float = 1.0
    """Share of the slot's stations at which the wire lies between its walls."""
    attachment: Attachment | None = None
    """As the case has it, for pictures; None in results made by hand."""
    at_centre_of_resistance: ToothResult | None = None
    """What its tooth gets there; None where nothing says where that point lies, and where its tooth has other
    attachments besides: then `RunResult.teeth` has it."""
    wire: str = ""
    """Name of the wire that it holds; "" in results made by hand, of one wire."""


@dataclass(frozen=True, slots=True)
class JointResult:
    """What passes from one wire to another where they are joined."""

    name: str
    kind: str
    """"hook": slides along the other wire; "tie": does not."""
    wire: str
    at_mm: float
    """Place on this wire, from its start."""
    to: str
    to_at_mm: float
    """Place on the other wire; of a hook where it has slid to."""
    place_mm: Vector
    """Where the point of the first wire is, world axes."""
    force_n: Vector
    """On the other wire, world axes; the first one gets the opposite."""
    words: str


@dataclass(frozen=True, slots=True)
class SharedTooth:
    """A tooth with several attachments: what they give it together."""

    tooth: str
    attachments: tuple[str, ...]
    force_n: Vector
    """World axes."""
    moment_at_centre_of_resistance_nmm: Vector
    """World axes."""
    at_centre_of_resistance: ToothResult
    """In the axes of the first of its attachments, from whose slot its centre of resistance is seen."""


@dataclass(frozen=True, slots=True)
class WireResult:
    """The engaged wire, node by node."""

    section: Section
    arc_length_mm: Array
    positions_mm: Array
    axes: Array
    passive_positions_mm: Array
    bending_stress_mpa: Array
    """Largest axial stress in the section from bending and axial force, (n,)."""
    shear_stress_mpa: Array
    """Largest torsional shear stress in the section, (n,)."""
    force_n: Array
    """Section force in the section's own axes (axial, height, depth), (n, 3)."""
    moment_nmm: Array
    """Section moment in the section's own axes (torsion, about height, about depth), (n, 3)."""
    largest_stress_mpa: float
    yield_share: float | None
    """Largest equivalent stress over the yield stress; None where no yield stress is given."""
    name: str = "wire"
    strands: str | None = None
    """What it is made of, in words, where it is no solid; ``section`` is then its outline, and stresses are those in a
    strand."""


@dataclass(frozen=True, slots=True)
class AttachmentOnPath:
    """What one attachment passes to its tooth at one increment."""

    name: str
    force_n: Vector
    moment_nmm: Vector
    orders_moment_nmm: Vector
    """Moments about the slot's own axes, first, second, third order."""
    own_force_n: Vector | None = None
    """The force along the slot's own axes x, y, z; None in results made by hand."""


@dataclass(frozen=True, slots=True)
class IncrementResult:
    """One increment of the activation."""

    stage: str
    """"activation", "tying in NAME", the name of a stage ("NAME, step 1" where teeth follow), or "bench, out" and
    "bench, back"."""
    activation: float
    """Share of the stage: of the activation 0 (nothing engaged) to 1 (fully engaged)."""
    iterations: int
    residual_n: float
    lost_nmm: float
    """Work lost in sliding against friction in this increment, N mm."""
    attachments: tuple[AttachmentOnPath, ...]
    let_down: bool = False
    """Whether the wire had to be let down to rest from its last shape: it may have snapped to another."""
    set_free_nmm: float = 0.0
    """Energy set free in that, N mm."""
    dissipated_nmm: float = 0.0
    """Energy that the wire's material turned into heat in this increment, N mm; 0 where it is elastic."""
    left: str | None = None
    """The attachment that the wire left meanwhile through the front of its slot, and that holds nothing since."""


@dataclass(frozen=True, slots=True)
class BenchReading:
    """What the rig's sensor reads at one increment, in its own axes."""

    stage: str
    travel: float
    """deg where the test turns, mm where it draws; as commanded."""
    force_n: Vector
    moment_nmm: Vector
    """About the sensor's point."""
    load: float
    """The one among them that belongs to the test: about the axis of turning, N mm, or along the way, N.  Above zero
    where it resists a travel above zero, as a rig shows it; force and moment are those on the attachment."""


@dataclass(frozen=True, slots=True)
class BenchResult:
    """A test on a rig."""

    moved: str
    sensor: str
    turns: bool
    """Whether the attachment is turned; else it is drawn."""
    axis: str
    """"x", "y" or "z" of the sensor, about or along which ``load`` is read."""
    readings: tuple[BenchReading, ...]
    measured_file: str | None
    measured_travel: tuple[float, ...]
    measured_load: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class DeactivationReading:
    """The load on an attachment after it has moved so far within a stage; sizes, whatever their direction."""

    travel_mm: float
    turned_deg: float
    force_n: float
    moment_nmm: float
    """About the attachment's centre, or the point that a button holds."""


@dataclass(frozen=True, slots=True)
class DeactivationResult:
    """What a stage in which one attachment moves leaves of its load."""

    stage: str
    attachment: str
    turns: bool
    """Whether it only turns: then ``half_at`` and ``working_range`` are deg and speak of the moment.  Else they are mm
    and speak of the force."""
    readings: tuple[DeactivationReading, ...]
    half_at: float | None
    """Where half of the load is left; None where the stage ends before."""
    until: float | None
    """N or N mm: the limit that the case gives."""
    working_range: float | None
    """How far the attachment moves until the load has fallen to it; None without a limit or where it has not."""


@dataclass(frozen=True, slots=True)
class EquilibriumResult:
    """What is left over when all attachments are added up; moments about the world's origin."""

    force_n: Vector
    moment_nmm: Vector
    floor_n: float
    """Rounding floor of the solution: smaller forces are noise."""


@dataclass(frozen=True, slots=True)
class RunResult:
    """Everything a run says."""

    title: str
    status: str
    status_words: tuple[str, ...]
    """Sentences for the user: what happened, what to mind."""
    attachments: tuple[AttachmentResult, ...]
    equilibrium: EquilibriumResult
    wire: WireResult
    increments: tuple[IncrementResult, ...]
    assumptions: tuple[str, ...]
    provenance: Mapping[str, Any]
    deepest_between_stations_mm: float = 0.0
    """Deepest the wire passes a wall between two contact stations, where walls are not enforced."""
    bench: BenchResult | None = None
    deactivations: tuple[DeactivationResult, ...] = ()
    """One for each stage in which an attachment moves."""
    accuracy: AccuracyResult | None = None
    """None where no estimate was asked for."""
    system: SystemResult | None = None
    """The attachments together; None in results made by hand."""
    more_wires: tuple[WireResult, ...] = ()
    """Beside the first."""
    joints: tuple[JointResult, ...] = ()
    """Between wires."""
    teeth: tuple[SharedTooth, ...] = ()
    """Those that have several attachments."""

    modulus_spread: ModulusSpread | None = None
    """How far the published range of the alloy's modulus moves it; None where no range is known."""
    memory: WireMemory | None = None
    """What the wire remembers; None where it is elastic."""

    @property
    def wires(self) -> tuple[WireResult, ...]:
        """All of them, the first one first."""
        return (self.wire, *self.more_wires)

    @property
    def positions_mm(self) -> Array:
        """Nodes (n, 3) of all wires."""
        return np.concatenate([wire.positions_mm for wire in self.wires])

    def wire_of(self, item: AttachmentResult) -> WireResult:
        """The wire that an attachment holds."""
        return next((wire for wire in self.more_wires if wire.name == item.wire), self.wire)

    def attachment(self, name: str) -> AttachmentResult:
        """The attachment called ``name``; KeyError with the names there are."""
        for item in self.attachments:
            if item.name == name:
                return item
        raise KeyError(
            f"no attachment called {name!r}; there are: {', '.join(a.name for a in self.attachments)}"
        )
