"""The wire and its attachments as solids, increment by increment, for general post-processors.

Written by meshio: ``wire_solid_NNN.vtu`` and ``attachments_NNN.vtu`` for the passive wire (000) and for every
increment, ``solids.pvd`` that names them with their activation, and at full activation ``wire_solid.msh`` and
``attachments.msh``.  The solids stand where the beam's frames say and carry the stress of the beam's section
resultants; nothing is solved here.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
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
GMSH_FIELDS = ("arc_length_mm", "height_mm", "depth_mm", "von_mises_mpa", "yield_share")


@dataclass(frozen=True, slots=True)
class Solids:
    """The meshes of a run: they keep their cells, their points move."""

    wire: SolidWire
    unit: UnitStress
    attachments: tuple[AttachmentSolid, ...]
    """In the order of the case, each in its own axes."""
    passive: Array
    """(n, 3) mm: the wire's nodes before activation."""


@dataclass(frozen=True, slots=True)
class SolidState:
    """The solids at one activation."""

    activation: float
    points: Array
    """(n, 3) mm: the wire's nodes."""
    stress: SolidStress
    poses: tuple[Pose, ...]
    """Of the attachments."""


def solids_of(case: Case, model: Model, path: LoadPath) -> Solids:
    """Meshes for the whole path, their layers chosen for its end.

    The wire's layers end where the largest stress is, where walls press, at the mouths of the slots, where bends
    begin and end, and where the course of the stress has a corner.  Raises WireslotError where the wire folds
    onto itself, before activation or at an increment.
    """
    if case.wire.material.law is not None:
        raise WireslotError("the stress over a section that yields or transforms is not written as a solid")
    if case.wire.strands is not None:
        raise WireslotError("a solid wire would not show the stress of strands that slide on each other")
    last = path.last.snapshot
    unit = unit_stress(model.section, case.wire.material.poisson)
    ends = last.resultants
    largest = largest_equivalent_stress(model.section, torsion_constants(model.section), ends.reshape(-1, 6))
    element, end = divmod(int(largest.argmax()), 2)
    mouths = last.mouth_nodes[last.mouth_nodes >= 0]
    corners = telling_arcs(model.section, last.arcs, ends)
    apart = np.linalg.norm(last.walls.centre[:, None] - last.positions[None], axis=-1)
    pressed = np.unique(last.arcs[apart.argmin(axis=1)])
    keep = (last.arcs[element + end], *pressed, *last.arcs[mouths], *bend_ends(model.shape), *corners)
    _, passive_axes = model.passive_frames(last.arcs)
    turns = np.maximum(turns_between(passive_axes), turns_between(last.axes))
    wire = solid_wire(unit.mesh, layer_arcs(last.arcs, turns, [float(arc) for arc in keep]))
    solids = Solids(
        wire,
        unit,
        tuple(attachment_solid(spec.attachment, model.section) for spec in case.attachments),
        wire.positions(*model.passive_frames(wire.stations)),
    )
    _refuse_folds(wire, solids.passive, "before activation")
    for increment in path.increments:
        points = _engaged_points(wire, increment.snapshot)
        _refuse_folds(wire, points, f"at activation {increment.activation:.4g}")
    return solids


def _engaged_points(wire: SolidWire, snapshot: Snapshot) -> Array:
    """(n, 3) mm."""
    return wire.positions(*frames_between(snapshot.arcs, snapshot.positions, snapshot.axes, wire.stations))


def _refuse_folds(wire: SolidWire, points: Array, when: str) -> None:
    folded = (jacobians(points, wire.cells) <= 0.0).any(axis=1)
    if folded.any():
        arc = float(wire.arc_lengths[wire.cells[folded][0, 0]])
        raise WireslotError(
            f"{when} the wire folds onto itself at arc length {arc:.4g} mm: it is bent there more tightly "
            f"than its own thickness allows, and no solid can be made of it"
        )


def passive_state(solids: Solids, model: Model) -> SolidState:
    """Before activation: no stress, the attachments where the passive wire lies."""
    count = len(solids.passive)
    return SolidState(
        0.0,
        solids.passive,
        SolidStress(np.zeros(count), np.zeros((count, 2))),
        tuple(support.start for support in model.supports),
    )


def solid_state(solids: Solids, model: Model, snapshot: Snapshot) -> SolidState:
    """At an increment.  Raises NotFiniteError where a stress or a position is no number."""
    wire = solids.wire
    along = resultants_along(model.section, snapshot.arcs, snapshot.resultants, wire.stations)
    state = SolidState(
        snapshot.activation,
        _engaged_points(wire, snapshot),
        solid_stress(solids.unit, wire.section_node, along[wire.station]),
        tuple(map(Pose, snapshot.support_position, snapshot.support_axes)),
    )
    for name, values in (("points", state.points), ("von_mises_mpa", state.stress.von_mises)):
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
    yields = case.wire.material.yield_mpa

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


def _wire_mesh(solids: Solids, state: SolidState, yields: float | None) -> Any:
    """meshio's mesh of the wire, units in the names of the fields."""
    import meshio

    wire, stress = solids.wire, state.stress
    von_mises = stress.von_mises
    data = {
        "arc_length_mm": wire.arc_lengths,
        "height_mm": wire.offsets[:, 0],
        "depth_mm": wire.offsets[:, 1],
        "displacement_mm": state.points - solids.passive,
        "axial_stress_mpa": stress.axial,
        "shear_along_height_mpa": stress.shear[:, 0],
        "shear_along_depth_mpa": stress.shear[:, 1],
        "von_mises_mpa": von_mises,
    }
    if yields is not None:
        data["yield_share"] = von_mises / yields
    short = {name: _short(values) for name, values in data.items()}
    return meshio.Mesh(
        _on_grid(state.points), [(wire.cell_type, wire.cells.astype(np.int32))], point_data=short
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
