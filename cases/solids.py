"""The wire and its attachments as solids, increment by increment, for general post-processors.

Written by meshio: ``wire_solid_NNN.vtu`` and ``attachments_NNN.vtu`` for the passive wire (000) and for every
increment, ``solids.pvd`` that names them with their activation, and at full activation ``wire_solid.msh`` and
``attachments.msh``.  The solids stand where the beam's frames say and carry the stress of the beam's section
resultants; nothing is solved here.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any
from xml.sax.saxutils import quoteattr

import numpy as np
from numpy.typing import NDArray

from cases.errors import NotFiniteError, WireslotError
from cases.files import Writer, left_by_others, write_whole
from cases.output import is_solid
from cases.schema import Case
from fem.model import Model
from fem.path import Path as LoadPath
from fem.recovery import Snapshot
from fem.section_stress import largest_equivalent_stress
from fem.solid_stress import (
    SolidStress,
    UnitStress,
    resultants_along,
    solid_stress,
    telling_arcs,
    unit_stress,
)
from fem.torsion import torsion_constants
from geometry.attachment_solids import AttachmentSolid, attachment_solid
from geometry.motion import frames_between
from geometry.pose import Pose
from geometry.solid_mesh import (
    GMSH_ORDER,
    SolidWire,
    bend_ends,
    jacobians,
    layer_arcs,
    solid_wire,
    turns_between,
)

Array = NDArray[np.float64]

SERIES = "solids.pvd"
GMSH_WIRE = "wire_solid.msh"
GMSH_ATTACHMENTS = "attachments.msh"
GMSH_FIELDS = ("arc_length_mm", "height_mm", "depth_mm", "von_mises_mpa", "yield_share", "wire")


@dataclass(frozen=True, slots=True)
class WireSolid:
    """One wire's mesh."""

    wire: SolidWire
    unit: UnitStress
    passive: Array
    """(n, 3) mm: its nodes before activation."""
    number: int
    """Of the wire, from 0."""
    begin: float
    """mm: where it begins in the arc lengths that all wires share."""


@dataclass(frozen=True, slots=True)
class Solids:
    """The meshes of a run: they keep their cells, their points move."""

    wires: tuple[WireSolid, ...]
    attachments: tuple[AttachmentSolid, ...]
    """In the order of the case, each in its own axes."""


@dataclass(frozen=True, slots=True)
class SolidState:
    """The solids at one activation."""

    activation: float
    points: tuple[Array, ...]
    """(n, 3) mm: the nodes of each wire."""
    stress: tuple[SolidStress, ...]
    poses: tuple[Pose, ...]
    """Of the attachments."""


def solids_of(case: Case, model: Model, path: LoadPath) -> Solids:
    """Meshes for the whole path, their layers chosen for its end.

    A wire's layers end where its largest stress is, where walls press, at the mouths of the slots, where bends
    begin and end, and where the course of the stress has a corner.  Raises WireslotError where a wire folds
    onto itself, before activation or at an increment.
    """
    if case.wire.material.law is not None:
        raise WireslotError("the stress over a section that yields or transforms is not written as a solid")
    if case.wire.strands is not None:
        raise WireslotError("a solid wire would not show the stress of strands that slide on each other")
    last = path.last.snapshot
    wires = tuple(_wire_solid(case, model, last, number) for number in range(len(case.wires)))
    for one in wires:
        _refuse_folds(one, one.passive, "before activation", case)
        for increment in path.increments:
            points = _engaged_points(one, increment.snapshot)
            _refuse_folds(one, points, f"at activation {increment.activation:.4g}", case)
    attachments = (attachment_solid(spec.attachment, case.wire_of(spec).section) for spec in case.attachments)
    return Solids(wires, tuple(attachments))


def _wire_solid(case: Case, model: Model, last: Snapshot, number: int) -> WireSolid:
    of, (first, end) = model.wires[number], last.spans[number]
    unit = unit_stress(of.section, case.wires[number].material.poisson)
    ends, arcs = last.resultants[first:end], last.arcs[first : end + 1] - of.begin
    largest = largest_equivalent_stress(of.section, torsion_constants(of.section), ends.reshape(-1, 6))
    element, side = divmod(int(largest.argmax()), 2)
    own = [k for k, spec in enumerate(case.attachments) if spec.wire == number]
    mouths = last.mouth_nodes[own]
    mouths = mouths[mouths >= 0] - first
    corners = telling_arcs(of.section, arcs, ends)
    centres = last.walls.centre[np.isin(last.walls.support, own)]
    apart = np.linalg.norm(centres[:, None] - last.positions[None, first : end + 1], axis=-1)
    pressed = np.unique(arcs[apart.argmin(axis=1)])
    keep = (arcs[element + side], *pressed, *arcs[mouths], *bend_ends(of.shape), *corners)
    here = slice(first, end + 1)
    _, passive_axes = model.passive_frames(last.arcs[here])
    turns = np.maximum(turns_between(passive_axes), turns_between(last.axes[here]))
    wire = solid_wire(unit.mesh, layer_arcs(arcs, turns, [float(arc) for arc in keep]))
    passive = wire.positions(*of.frames(wire.stations + of.begin))
    return WireSolid(wire, unit, passive, number, of.begin)


def _engaged_points(one: WireSolid, snapshot: Snapshot) -> Array:
    """(n, 3) mm."""
    first, end = snapshot.spans[one.number]
    here, wire = slice(first, end + 1), one.wire
    arcs = snapshot.arcs[here] - one.begin
    return wire.positions(*frames_between(arcs, snapshot.positions[here], snapshot.axes[here], wire.stations))


def _refuse_folds(one: WireSolid, points: Array, when: str, case: Case) -> None:
    wire = one.wire
    folded = (jacobians(points, wire.cells) <= 0.0).any(axis=1)
    if folded.any():
        arc = float(wire.arc_lengths[wire.cells[folded][0, 0]])
        which = case.wires[one.number].name if case.more_wires else "the wire"
        raise WireslotError(
            f"{when} {which} folds onto itself at arc length {arc:.4g} mm: it is bent there more tightly "
            f"than its own thickness allows, and no solid can be made of it"
        )


def passive_state(solids: Solids, model: Model) -> SolidState:
    """Before activation: no stress, the attachments where the passive wire lies."""
    counts = [len(one.passive) for one in solids.wires]
    return SolidState(
        0.0,
        tuple(one.passive for one in solids.wires),
        tuple(SolidStress(np.zeros(count), np.zeros((count, 2))) for count in counts),
        tuple(support.start for support in model.supports[: len(solids.attachments)]),
    )


def solid_state(solids: Solids, model: Model, snapshot: Snapshot) -> SolidState:
    """At an increment.  Raises NotFiniteError where a stress or a position is no number."""
    stress = []
    for one in solids.wires:
        first, end = snapshot.spans[one.number]
        arcs, ends = snapshot.arcs[first : end + 1] - one.begin, snapshot.resultants[first:end]
        along = resultants_along(model.wires[one.number].section, arcs, ends, one.wire.stations)
        stress.append(solid_stress(one.unit, one.wire.section_node, along[one.wire.station]))
    points = tuple(_engaged_points(one, snapshot) for one in solids.wires)
    poses = map(Pose, snapshot.support_position, snapshot.support_axes)
    state = SolidState(
        snapshot.activation, points, tuple(stress), tuple(islice(poses, len(solids.attachments)))
    )
    checked = [("points", values) for values in points]
    checked += [("von_mises_mpa", one.von_mises) for one in stress]
    for name, values in checked:
        wrong = ~np.isfinite(values)
        if wrong.any():
            raise NotFiniteError(f"wire_solid.{name}", float(values[wrong][0]))
    return state


def write_solids(case: Case, model: Model, path: LoadPath, folder: Path) -> tuple[Path, ...]:
    """Write all files into ``folder``, whole or not at all; gives their paths.

    Raises WireslotError where the wire folds onto itself or the folder cannot be written, NotFiniteError where a
    result is no number.
    """
    writers = solid_writers(case, model, path)
    return write_whole(folder, writers, left_by_others(folder, writers, is_solid))


def solid_writers(case: Case, model: Model, path: LoadPath) -> Mapping[str, Writer]:
    """A writer for every file, by its name, so that a run can put them in place together with its others.

    Raises WireslotError where the wire folds onto itself.  States are worked out only as they are written, and
    one at a time; a writer raises NotFiniteError where a result is no number.
    """
    solids = solids_of(case, model, path)
    states: list[Callable[[], SolidState]] = [functools.partial(passive_state, solids, model)]
    states += [functools.partial(solid_state, solids, model, one.snapshot) for one in path.increments]
    activations = [0.0, *(one.activation for one in path.increments)]
    yields = [wire.material.yield_mpa for wire in case.wires]

    def wire(state: Callable[[], SolidState], file: Path) -> None:
        _wire_mesh(solids, state(), yields).write(file, file_format="vtu")

    def attachments(state: Callable[[], SolidState], file: Path) -> None:
        _attachment_mesh(solids, state()).write(file, file_format="vtu")

    digits = max(3, len(str(len(states) - 1)))
    writers: dict[str, Writer] = {}
    entries = []
    for number, (activation, state) in enumerate(zip(activations, states, strict=True)):
        for part, (stem, write) in enumerate((("wire_solid", wire), ("attachments", attachments))):
            name = f"{stem}_{number:0{digits}d}.vtu"
            writers[name] = functools.partial(write, state)
            entries.append((activation, part, name))
    last = states[-1]
    writers[GMSH_WIRE] = lambda file: _in_gmsh_order(_wire_mesh(solids, last(), yields)).write(file, "gmsh")
    writers[GMSH_ATTACHMENTS] = lambda file: _attachment_mesh(solids, last()).write(file, "gmsh")
    text = series_text(case, entries)
    writers[SERIES] = lambda file: file.write_text(text, encoding="utf-8")
    return writers


def _wire_mesh(solids: Solids, state: SolidState, yields: Sequence[float | None]) -> Any:
    """meshio's mesh of the wires, units in the names of the fields; ``wire`` counts them from 1, where there are
    several, and a share of yield is given where all of them have a yield stress."""
    import meshio

    cells, fields, first = [], [], 0
    for one, points, stress in zip(solids.wires, state.points, state.stress, strict=True):
        wire, von_mises, limit = one.wire, stress.von_mises, yields[one.number]
        data = {
            "arc_length_mm": wire.arc_lengths,
            "height_mm": wire.offsets[:, 0],
            "depth_mm": wire.offsets[:, 1],
            "displacement_mm": points - one.passive,
            "axial_stress_mpa": stress.axial,
            "shear_along_height_mpa": stress.shear[:, 0],
            "shear_along_depth_mpa": stress.shear[:, 1],
            "von_mises_mpa": von_mises,
        }
        if limit is not None and None not in yields:
            data["yield_share"] = von_mises / limit
        if len(solids.wires) > 1:
            data["wire"] = np.full(len(points), one.number + 1.0)
        cells.append(wire.cells + first)
        fields.append(data)
        first += len(points)
    short = {name: _short(np.concatenate([one[name] for one in fields])) for name in fields[0]}
    return meshio.Mesh(
        _on_grid(np.concatenate(state.points)),
        [(solids.wires[0].wire.cell_type, np.concatenate(cells).astype(np.int32))],
        point_data=short,
    )


def _in_gmsh_order(mesh: Any) -> Any:
    """The wire's mesh for Gmsh's file, which is not compressed: only ``GMSH_FIELDS``."""
    import meshio

    cells = [(block.type, block.data[:, list(GMSH_ORDER)]) for block in mesh.cells]
    kept = {name: values for name, values in mesh.point_data.items() if name in GMSH_FIELDS}
    return meshio.Mesh(mesh.points, cells, point_data=kept)


def _on_grid(points: Array) -> Array:
    """Positions rounded to 2^-24 mm, 6e-8 mm: below what a solution is good for, and zeros compress."""
    rounded: Array = np.round(points * 2.0**24) / 2.0**24
    return rounded


def _short(values: Array) -> NDArray[np.float32]:
    """The values with 16 binary digits, nearly five decimal ones, and zeros after them, which compress."""
    bits = np.ascontiguousarray(values, dtype=np.float32).view(np.uint32)
    return ((bits + np.uint32(0x80)) & np.uint32(0xFFFFFF00)).view(np.float32)


def _attachment_mesh(solids: Solids, state: SolidState) -> Any:
    """meshio's mesh of all attachments: ``attachment`` counts them from 1 in the order of the case, ``part``
    is the index into ``geometry.attachment_solids.PARTS``."""
    import meshio

    points, cells, owners, first = [], [], [], 0
    for number, (solid, pose) in enumerate(zip(solids.attachments, state.poses, strict=True), start=1):
        points.append(_on_grid(pose.to_world(solid.points)))
        cells.append((solid.tetrahedra + first).astype(np.int32))
        owners.append(np.full(len(solid.tetrahedra), number, dtype=np.int32))
        first += len(solid.points)
    return meshio.Mesh(
        np.concatenate(points),
        [("tetra", np.concatenate(cells))],
        cell_data={
            "attachment": [np.concatenate(owners)],
            "part": [np.concatenate([solid.part for solid in solids.attachments]).astype(np.int32)],
        },
    )


def series_text(case: Case, entries: list[tuple[float, int, str]]) -> str:
    """A ParaView collection: per file its activation (as the time step), its part (0 wire, 1 attachments) and its
    name."""
    # Two dashes would end the comment.
    said = re.sub("-(?=-)", "- ", f"{case.title}; case file SHA-256 {case.sha256}")
    lines = [
        '<?xml version="1.0" encoding="utf-8"?>',
        f"<!-- {said} -->",
        '<VTKFile type="Collection" version="0.1">',
        "  <Collection>",
        *(
            f'    <DataSet timestep="{activation!r}" part="{part}" file={quoteattr(name)}/>'
            for activation, part, name in entries
        ),
        "  </Collection>",
        "</VTKFile>",
        "",
    ]
    return "\n".join(lines)
