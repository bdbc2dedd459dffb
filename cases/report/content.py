"""What a report says, as plain data: words and numbers, no markup and no pictures."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from cases.bench_words import bench_sentences, friction_sentences
from cases.deactivation import deactivation_sentences
from cases.output import CAUTION
from cases.report.checks import checks_of, couples
from cases.report.tables import (
    Table,
    attachments_table,
    brief,
    checks_table,
    forces_table,
    orders_table,
    path_tables,
    size_of,
)
from cases.results import ORDERS, AttachmentResult, RunResult, WireResult
from cases.schema import Case, WireSpec
from cases.show import labels
from cases.show.closed_form import ReferenceCurve
from cases.summary import range_sentences, shared_tooth_sentences
from cases.teeth import GIVEN
from cases.tooth_results import ToothResult
from cases.words import LEAST_SHOWN, shown, three

NOT_GIVEN = "not given"
CAUTIONS = (
    CAUTION,
    "Every number here is computed for the appliance as the case describes it, never for a patient; a case "
    "file holds no names, dates or record numbers.",
    "Initial tendencies are those of a linear model. They are no prediction of tooth movement, and published "
    "force ranges stand here as what a source says, not as advice.",
)
SIGNS = (
    "Forces and moments are those that the tooth receives; the wire receives the opposite.",
    "World axes are those of a facial view: x to the viewer's right, y up, z towards the viewer. Every slot "
    "has its own: x along it, y its height, z its depth, out of the slot.",
    "A moment names its point: the centre of a slot or clamp; of a button, knife edge or roller the point of "
    "the wire it holds.",
    "First order is about a slot's height (occlusal view), second about its depth (facial view), third about "
    "its length (mesiodistal view; its couple is torque).",
    "A couple needs opposed contacts. A contact on one side only has a moment about the centre, but is no couple.",
    "Play is one-sided from centred, each order alone; from stop to stop it is twice as much. Free: no wall "
    "ever stops the wire. Play left is what remains in the engaged pose.",
    "Angle of activation: wire to slot before engagement. Angle of engagement: wire to slot once engaged, at "
    "its centre.",
    "People are shown three digits, and 0 for what is below 0.00005. The files beside this report keep all.",
)
NO_CLOSED_FORM = (
    "No closed form is known to this program for the force system of this appliance as a whole. What the "
    "solver is checked against otherwise, closed forms, published benchmarks and measurements, is computed "
    "anew by 'wireslot verify'."
)
MORE_CHECKS = (
    "A closed form stands for an idealised appliance: its difference is shown, not judged. What the solver is checked "
    "against otherwise is computed anew by 'wireslot verify'."
)


@dataclass(frozen=True, slots=True)
class Fact:
    """A figure that stands at the head of the page."""

    label: str
    value: str
    more: str


@dataclass(frozen=True, slots=True)
class Words:
    """Sentences under a name."""

    name: str
    sentences: tuple[str, ...]
    more: tuple[str, ...] = ()
    """What is said of the tooth, apart from the force system at its attachment."""


@dataclass(frozen=True, slots=True)
class Report:
    """Everything a report says."""

    title: str
    about: tuple[str, ...]
    """Paragraphs: the remarks at the head of the case file, and its note."""
    banner: str | None
    """Said across the page where the result is no sound equilibrium."""
    facts: tuple[Fact, ...]
    status: str
    status_words: tuple[str, ...]
    wire: tuple[tuple[str, str], ...]
    attachments: Table
    forces: Table
    forces_note: str
    orders: Table
    words: tuple[Words, ...]
    together: tuple[str, ...]
    """The attachments as one system."""
    ranges: tuple[str, ...]
    stress: tuple[str, ...]
    way: tuple[str, ...]
    path: tuple[Table, ...]
    """A few attachments each, so that none is wider than a printed page."""
    checks: Table
    checks_note: str
    accuracy: tuple[str, ...]
    """How far the figures may be off because wire and slots are divided; empty where nobody asked."""
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]
    conventions: tuple[str, ...]
    provenance: tuple[tuple[str, str], ...]
    case_text: str


LONGEST_FACT = 70
"""Letters under a figure at the head of the page; what is longer is counted instead."""


def report_of(case: Case, result: RunResult, references: Sequence[ReferenceCurve]) -> Report:
    """The content of a report; ``references`` are the closed forms of the case."""
    checks = checks_of(result, references)
    return Report(
        title=result.title,
        about=about(case),
        banner=labels.banner_text(result),
        facts=_facts(result),
        status=result.status,
        status_words=tuple(words for words in result.status_words if not _of_a_slot(words, result)),
        wire=_wire(case, result),
        attachments=attachments_table(case, result),
        forces=forces_table(result),
        forces_note=_forces_note(result),
        orders=orders_table(result),
        words=tuple(
            Words(
                f"{place}  {labels.name_text(item)}",
                item.words,
                (*_slot_state(item, result), *_tooth_words(item)),
            )
            for place, item in enumerate(result.attachments, start=1)
        )
        + tuple(
            Words(
                f"Tooth {one.tooth}, {' and '.join(one.attachments)} together",
                (),
                shared_tooth_sentences(one),
            )
            for one in result.teeth
        ),
        together=() if result.system is None else result.system.words,
        ranges=range_sentences(result),
        stress=_stress(result),
        way=_way(case, result),
        path=path_tables(result),
        checks=checks_table(checks),
        checks_note=MORE_CHECKS if any(one.kind == "closed form" for one in checks) else NO_CLOSED_FORM,
        accuracy=() if result.accuracy is None else result.accuracy.words,
        assumptions=tuple(f"{text[0].upper()}{text[1:].removesuffix('.')}." for text in result.assumptions),
        cautions=CAUTIONS,
        conventions=SIGNS,
        provenance=_provenance(result),
        case_text=case.source_text,
    )


def about(case: Case) -> tuple[str, ...]:
    """Paragraphs of the remarks that stand at the head of a case file, then the case's note."""
    lines: list[str] = []
    for line in case.source_text.splitlines():
        if not line.startswith("#"):
            if line.strip():
                break
            if not lines:
                continue
            lines.append("")
            continue
        lines.append(line.lstrip("#").strip())
    paragraphs = [
        " ".join(block.split()) for block in re.split(r"\n\s*\n", "\n".join(lines)) if block.strip()
    ]
    return (*paragraphs, *([] if case.note is None else [case.note]))


def _of_a_slot(words: str, result: RunResult) -> bool:
    """Whether a sentence of the status speaks of one attachment."""
    return any(words.startswith(f"{item.name}: ") for item in result.attachments)


def _slot_state(item: AttachmentResult, result: RunResult) -> list[str]:
    """What the status says of this attachment."""
    told = [
        words.removeprefix(f"{item.name}: ")
        for words in result.status_words
        if words.startswith(f"{item.name}: ")
    ]
    return [f"{words[0].upper()}{words[1:]}" for words in told]


def _facts(result: RunResult) -> tuple[Fact, ...]:
    pulled = max(result.attachments, key=lambda item: size_of(item.force_n))
    turned = max(result.attachments, key=lambda item: size_of(item.moment_nmm))
    force, moment = size_of(pulled.force_n), size_of(turned.moment_nmm)
    carrying = [item for item in result.attachments if couples(item)]
    by_order = {
        order: [brief(item, result) for item in carrying if order in couples(item)] for order in ORDERS
    }
    couples_told = "; ".join(
        f"{order} order: {', '.join(names)}" for order, names in by_order.items() if names
    )
    if len(couples_told) > LONGEST_FACT:
        counts = [f"{len(names)} in {order} order" for order, names in by_order.items() if names]
        couples_told = ", ".join(counts)
    whole = len(result.attachments)
    wire = max(result.wires, key=lambda one: one.yield_share or 0.0)
    share = (
        "no yield stress given"
        if wire.yield_share is None
        else f"{three(100.0 * wire.yield_share)} % of yield"
    )
    return (
        Fact("Largest force on a tooth", labels.force_text(force, True), _on(pulled, labels.to_gf(force), "gf")),
        Fact("Largest moment on a tooth", labels.moment_text(moment, True), _on(turned, labels.to_gf(moment), "gf mm")),
        Fact("Carry a couple", f"{len(carrying)} of {whole}", couples_told or "no opposed contacts anywhere"),
        Fact(f"Largest stress in {wire.name if result.more_wires else 'the wire'}",
             f"{shown(wire.largest_stress_mpa)} MPa", share),
    )  # fmt: skip


def _on(item: AttachmentResult, other: object, unit: str) -> str:
    value = float(other)  # type: ignore[arg-type]
    return "on every tooth" if value == 0.0 else f"{labels.name_text(item)}, {three(value)} {unit}"


def _wire(case: Case, result: RunResult) -> tuple[tuple[str, str], ...]:
    out = []
    for wire in case.wires:
        out += [("Wire", wire.name)] * bool(case.more_wires) + _one_wire(wire)
    out += [
        (f"{joint.kind.capitalize()} {joint.name}",
         f"{joint.wire} at {three(joint.at_mm)} mm, on {joint.to} at {three(joint.to_at_mm)} mm: "
         f"{', '.join(f'F{axis} {shown(force)}' for axis, force in zip('xyz', joint.force_n, strict=True))} N on "
         f"{joint.to}, the opposite on {joint.wire}")
        for joint in result.joints
    ]  # fmt: skip
    out.append(("Increments", f"{case.analysis.increments} from passive to engaged"))
    if case.analysis.tie_in:
        seats = " and ".join(wire.seated_in for wire in case.wires)
        out.append(("Tied in", f"after {seats}: {', '.join(case.analysis.tie_in)}"))
    if case.stages:
        out.append(("Stages after it", "; ".join(stage.name for stage in case.stages)))
    return tuple(out)


def _one_wire(wire: WireSpec) -> list[tuple[str, str]]:
    material = wire.material
    limit = (
        "no yield stress given"
        if material.yield_mpa is None
        else f"yield stress {three(material.yield_mpa)} MPa"
    )
    return [
        ("Alloy", f"{material.name}: Young's modulus {three(material.youngs_modulus_mpa / 1000.0)} GPa, "
                  f"Poisson's ratio {material.poisson:g}, {limit}"),
        ("Section", wire.label),
        ("Length", f"{three(wire.passive_shape.length)} mm"),
        ("Seated in", f"{wire.seated_in}: there the wire lies without stress before activation"),
    ]  # fmt: skip


def _forces_note(result: RunResult) -> str:
    words = labels.axis_words(result)
    named = [f"{word[0]} is {word[2:]}" for word in words if len(word) > 1]
    axes = "x to the viewer's right in a facial view, y up, z towards the viewer"
    point = "about the attachment's centre"
    if any(item.kind == "button" for item in result.attachments):
        point += ", of a button about the point of the wire it holds"
    more = f"; here {', '.join(named)}" if named else ""
    return f"World axes: {axes}{more}. Moments are {point}. The wire receives the opposite."


def _tooth_words(item: AttachmentResult) -> list[str]:
    """The moment at the centre of resistance, and what begins there."""
    moment, tooth = item.moment_at_centre_of_resistance_nmm, item.at_centre_of_resistance
    out = []
    if moment is not None:
        parts = ", ".join(f"M{axis} {shown(value)}" for axis, value in zip("xyz", moment, strict=True))
        out.append(f"Moment about the centre of resistance: {parts} N mm (world axes).")
    if tooth is not None:
        out.append(_centre(tooth))
        out += [f"Initial tendency, {words}." for words in tooth.words]
        out += [] if tooth.displacement is None else tooth.displacement.words
    return out


def _centre(tooth: ToothResult) -> str:
    x, up, out_of = tooth.centre_from_slot_mm
    if tooth.source != GIVEN:
        where = f"by default {abs(up):.1f} mm gingival and {abs(out_of):.1f} mm lingual of the slot"
    else:
        where = (
            f"{shown(x)}, {shown(up)}, {shown(out_of)} mm from the slot along its axes, as the case gives it"
        )
    return f"Centre of resistance {where}."


def _stress(result: RunResult) -> tuple[str, ...]:
    out: list[str] = []
    for wire in result.wires:
        which = f"{wire.name[0].upper()}{wire.name[1:]}: " if result.more_wires else ""
        out += [f"{which}{words[0].lower() if which else words[0]}{words[1:]}" for words in _stress_of(wire)]
    return tuple(out)


def _stress_of(wire: WireResult) -> tuple[str, ...]:
    if labels.unstressed(wire):
        return ("The wire is free of stress.",)
    out = [
        f"Largest equivalent stress {shown(wire.largest_stress_mpa)} MPa"
        + (f", {three(100.0 * wire.yield_share)} % of the yield stress." if wire.yield_share is not None else
           "; the case gives no yield stress to compare it with.")
    ]  # fmt: skip
    for name, values in (
        ("Bending and axial stress", wire.bending_stress_mpa),
        ("Shear stress from torsion", wire.shear_stress_mpa),
    ):
        worst = int(values.argmax())
        if float(values[worst]) > LEAST_SHOWN:
            out.append(
                f"{name} is largest {three(float(wire.arc_length_mm[worst]))} mm from the wire's start: "
                f"{three(float(values[worst]))} MPa."
            )
    return tuple(out)


def _way(case: Case, result: RunResult) -> tuple[str, ...]:
    out = list(friction_sentences(result))
    for one in result.deactivations:
        out += deactivation_sentences(one)
    if result.bench is not None:
        out += bench_sentences(result.bench)
        out.append("Force systems and stress above are those at the farthest point of the bench test.")
    return tuple(out)


def _provenance(result: RunResult) -> tuple[tuple[str, str], ...]:
    origin = result.provenance
    libraries = origin.get("libraries") or {}
    files = origin.get("data_files") or {}
    options = origin.get("options") or {}
    told = [
        ("Program", f"{origin.get('program') or 'wireslot'} {origin.get('version') or '(version unknown)'}"),
        ("Commit", origin.get("commit")),
        ("Case file", origin.get("case_file")),
        ("Its SHA-256", origin.get("case_sha256")),
        *((f"Data file {name}", f"SHA-256 {digest}") for name, digest in files.items()),
        ("Options", ", ".join(f"{name} {value}" for name, value in options.items())),
        ("Libraries", ", ".join(f"{name} {version}" for name, version in libraries.items())),
        ("Python", origin.get("python")),
        ("Machine", origin.get("platform")),
        ("Solved", origin.get("date")),
    ]
    return tuple((name, str(value) if value else NOT_GIVEN) for name, value in told)
