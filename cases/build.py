"""From a case to a beam model: the wire seated, the attachments' ways, the mesh."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cases.schema import AttachmentSpec, Case
from cases.tooth_support import compliances
from cases.wire_stress import elastic_of
from fem.fibre_section import FibreSection
from fem.model import Clamp, Edge, Front, Ligature, Model, PointTie, Restraint, SlotWalls, Support
from fem.section_law import LinearSection
from fem.together import Joined, together
from fem.torsion import torsion_constant
from geometry.attachments import Attachment, Slot
from geometry.meshing import line_mesh
from geometry.pose import Pose
from geometry.section import Section
from geometry.wire_shapes import seat

Array = NDArray[np.float64]


def build_model(
    case: Case,
    stations: int | None = None,
    level: int = 0,
    torsion: Callable[[Section], float] = torsion_constant,
    mesh: Callable[..., Array] = line_mesh,
) -> Model:
    """The model of a case.

    The passive wire lies in the attachment it is seated in; every other attachment starts where the passive
    wire is and ends at its own pose.  ``stations`` overrides the number of contact stations per slot;
    ``level``: how often the usual distances of stations and sizes of elements are halved, together.  ``torsion`` gives
    the torsion constant (mm^4), for studies with many sections, ``mesh`` the nodes as ``line_mesh`` does."""
    gives_way = compliances(case.attachments)
    models = [
        _model(case, number, gives_way, (stations, level), torsion, mesh) for number in range(len(case.wires))
    ]
    if len(models) == 1:
        return models[0]
    if any(model.fibres is not None for model in models):
        raise ValueError("wires that are joined are linear elastic only so far")
    joints = [Joined((one.wire, one.at), (one.to, one.to_at), one.arm, one.slides) for one in case.joints]
    return together(models, joints)


def _model(
    case: Case,
    number: int,
    gives_way: Sequence[Array | None],
    stations: tuple[int | None, int],
    torsion: Callable[[Section], float],
    mesh: Callable[..., Array],
) -> Model:
    """One wire with its own attachments."""
    wire, level = case.wires[number], stations[1]
    shape = wire.passive_shape
    home = next(spec.attachment for spec in case.attachments if spec.name == wire.seated_in)
    placed = seat(shape, home.at, home.pose)
    held = kept_at_seat(case, number)
    supports = tuple(
        _support(spec, case, placed, stations, held and spec.attachment is home, gives)
        for spec, gives in zip(case.attachments, gives_way, strict=True)
        if spec.wire == number
    )
    joined = [one.at for one in case.joints if one.wire == number]
    joined += [one.to_at for one in case.joints if one.to == number]
    marks = np.concatenate([*(_marks(support) for support in supports), joined])
    nodes = mesh(shape, _on_wire(marks, shape.length), fineness=2.0**level)
    material = elastic_of(wire)
    law = (
        wire.strands.law(material)
        if wire.strands is not None
        else LinearSection.of(wire.section, material, torsion(wire.section))
    )
    remembers = wire.material.law
    fibres = None if remembers is None else FibreSection.for_beam(wire.section, remembers)
    warm = None if remembers is None else case.analysis.temperature
    return Model(
        shape, placed, nodes, wire.section, law, supports, fineness=2.0**level, fibres=fibres, temperature=warm
    )  # fmt: skip


def kept_at_seat(case: Case, wire: int = 0) -> bool:
    """True where nothing keeps a wire from sliding: then it is kept where it is seated.

    Nothing else would say where along its slots such a wire comes to rest.  A wire that is tied to another is kept by
    that one, if that is kept from sliding itself.
    """
    fast = {spec.wire for spec in case.attachments if spec.attachment.stop or spec.attachment.friction > 0.0}
    ties = [{one.wire, one.to} for one in case.joints if not one.slides]
    kept: set[int] = set()
    for number in range(len(case.wires)):
        while tied := {other for pair in ties if pair & fast for other in pair} - fast:
            fast |= tied
        if number not in fast:
            kept.add(number)
            fast.add(number)
    return wire in kept


def _support(
    spec: AttachmentSpec,
    case: Case,
    placed: Pose,
    stations: tuple[int | None, int],
    held: bool,
    gives: Array | None,
) -> Support:
    attachment = replace(spec.attachment, stop=True) if held else spec.attachment
    wire = case.wire_of(spec)
    section = wire.section
    if spec.name == wire.seated_in:
        start = attachment.pose
    else:
        position, axes = wire.passive_shape.frames(np.array([attachment.at]))
        start = placed.compose(Pose(position[0], axes[0]))
        if attachment.is_edge:
            # the edge stands where it touches: at the side of the passive wire
            side = -0.5 if attachment.below else 0.5
            start = start.compose(Pose(np.array([0.0, side * section.height, 0.0]), np.eye(3)))
    bench = case.bench
    if bench is not None and bench.moved == spec.name and any(bench.compliance):
        gives = np.array(bench.compliance)
    return Support(restraint_of(attachment, section, *stations), attachment.at, start, attachment.pose, gives)


def restraint_of(
    attachment: Attachment, section: Section, stations: int | None = None, level: int = 0
) -> Restraint:
    """What an attachment puts round a wire of ``section``; ``stations`` in its slot, or as many as usual, their
    distances halved ``level`` times."""
    if attachment.slot is not None:
        slot = attachment.slot
        offsets = _stations(slot, level) if stations is None else slot.station_offsets(stations)
        return SlotWalls(
            slot.height,
            slot.depth,
            offsets,
            attachment.stop,
            attachment.hold_roll,
            slot.taper,
            slot.mouth_radius,
            _front(attachment, section, offsets),
            attachment.wall_modulus,
            attachment.friction,
        )
    if attachment.is_edge:
        return Edge(attachment.radius, attachment.below, attachment.friction)
    if attachment.kind == "button":
        thread = attachment.thread
        return (
            PointTie(attachment.stop)
            if thread is None
            else PointTie(attachment.stop, thread.length, thread.stiffness, thread.slides)
        )
    return Clamp(slides=not attachment.stop)


def _stations(slot: Slot, level: int) -> Array:
    """Offsets of the stations.  Every other level has none in the middle of the slot: a wire may lie on a wall between
    two stations, which meshes that share their stations would all miss alike."""
    usual = slot.station_offsets(fineness=2.0**level)
    return usual if level % 2 == 0 else slot.station_offsets(usual.size - 1, 2.0**level)


def _front(attachment: Attachment, section: Section, offsets: Array) -> Front:
    ligation, slot = attachment.ligation, attachment.slot
    assert slot is not None
    if ligation.kind == "closed":
        return "closed"
    if ligation.kind == "none":
        return "open"
    rest, stiffness = ligation.rest(section.depth), ligation.whole_stiffness
    if ligation.kind == "active clip":
        # a clip lies along the slot: each station bears its part of it
        shares = np.diff(np.concatenate((offsets[:1], 0.5 * (offsets[1:] + offsets[:-1]), offsets[-1:])))
        return Ligature(rest, stiffness, offsets, shares / shares.sum())
    # a ring or a tied wire crosses in front of both mouths, where the tie wings are
    mouths = 0.5 * slot.width * np.array([-1.0, 1.0])
    return Ligature(rest, stiffness, mouths, np.array([0.5, 0.5]))


def _marks(support: Support) -> Array:
    """Arc lengths that must be nodes: the stations, and the section that is held."""
    if isinstance(support.restraint, SlotWalls):
        return np.append(support.arc + support.restraint.offsets, support.arc)
    return np.array([support.arc])


def _on_wire(marks: Array, length: float) -> Array:
    """The marks that lie on the wire, each once; rounding of sums and differences is not a distance."""
    inside = np.unique(marks[(marks > -1e-9) & (marks < length + 1e-9)].clip(0.0, length))
    apart = np.concatenate(([True], np.diff(inside) > 1e-9))
    return np.asarray(inside[apart])
