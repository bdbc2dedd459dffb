"""From a case to a beam model: the wire seated, the attachments' ways, the mesh."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cases.schema import AttachmentSpec, Case
from fem.material import LinearElastic
from fem.model import Clamp, Model, PointTie, Restraint, SlotWalls, Support
from fem.section_law import LinearSection
from fem.torsion import torsion_constant
from geometry.attachments import Attachment
from geometry.meshing import line_mesh
from geometry.pose import Pose
from geometry.wire_shapes import seat

Array = NDArray[np.float64]


def build_model(case: Case, stations: int | None = None) -> Model:
    """The model of a case.

    The passive wire lies in the attachment it is seated in; every other attachment starts where the passive
    wire is and ends at its own pose.  ``stations`` overrides the number of contact stations per slot, for
    convergence studies."""
    wire = case.wire
    shape = wire.passive_shape
    home = next(spec.attachment for spec in case.attachments if spec.name == wire.seated_in)
    placed = seat(shape, home.at, home.pose)
    held = kept_at_seat(case)
    supports = tuple(
        _support(spec, case, placed, stations, held and spec.attachment is home) for spec in case.attachments
    )
    marks = np.concatenate([_marks(support) for support in supports])
    nodes = line_mesh(shape, _on_wire(marks, shape.length))
    material = LinearElastic(
        wire.material.name, wire.material.youngs_modulus_mpa, wire.material.poisson, wire.material.yield_mpa
    )
    law = LinearSection.of(wire.section, material, torsion_constant(wire.section))
    return Model(shape, placed, nodes, wire.section, law, supports)


def kept_at_seat(case: Case) -> bool:
    """True where no attachment stops the wire: then it is kept from sliding where it is seated.

    Without friction nothing else would say where along its slots such a wire comes to rest.
    """
    return not any(spec.attachment.stop for spec in case.attachments)


def _support(spec: AttachmentSpec, case: Case, placed: Pose, stations: int | None, held: bool) -> Support:
    attachment = replace(spec.attachment, stop=True) if held else spec.attachment
    if spec.name == case.wire.seated_in:
        start = attachment.pose
    else:
        position, axes = case.wire.passive_shape.frames(np.array([attachment.at]))
        start = placed.compose(Pose(position[0], axes[0]))
    return Support(_restraint(attachment, stations), attachment.at, start, attachment.pose)


def _restraint(attachment: Attachment, stations: int | None) -> Restraint:
    if attachment.slot is not None:
        slot = attachment.slot
        return SlotWalls(
            slot.height, slot.depth, slot.station_offsets(stations), attachment.stop, attachment.hold_roll
        )
    if attachment.kind == "button":
        return PointTie(attachment.stop)
    return Clamp(slides=not attachment.stop)


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
