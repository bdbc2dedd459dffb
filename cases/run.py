"""The main job, from a case to its result, in one screen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from cases.bench import bench_result
from cases.build import build_model
from cases.deactivation import deactivations
from cases.force_system import attachment_result, vector
from cases.legs import legs_of
from cases.provenance import provenance
from cases.results import (
    OUT,
    AttachmentOnPath,
    EquilibriumResult,
    IncrementResult,
    RunResult,
    WireResult,
)
from cases.schema import Case
from cases.sentences import assumptions, snap_words, status_words, unstable_words
from cases.tooth_support import supported
from fem.model import Model
from fem.path import Increment, Leg, Options, Path, engage, status_of
from fem.recovery import Snapshot, deepest_between_stations
from fem.section_stress import axial_stress_extremes, largest_equivalent_stress
from fem.torsion import torsion_constants

Observer = Callable[[IncrementResult], None]


@dataclass(frozen=True, slots=True)
class Run:
    """A case with its mechanics and what they say; ``cases.solids`` makes solids of it."""

    case: Case
    model: Model
    path: Path
    result: RunResult


def run_case(case: Case, observer: Observer | None = None, stations: int | None = None) -> RunResult:
    """Engages the wire of ``case`` and says what every tooth gets.

    The observer hears of every accepted increment.  ``stations`` overrides the contact stations per slot.
    Raises fem.status.NoEquilibrium, which carries the increments that were found."""
    return whole_run(case, observer, stations).result


def whole_run(case: Case, observer: Observer | None = None, stations: int | None = None) -> Run:
    """The same with the mechanics kept."""
    model = build_model(case, stations)
    legs = legs_of(case, model)
    tell = None if observer is None else lambda increment: observer(increment_result(case, legs, increment))
    path = engage(model, Options(snap=case.analysis.snap), tell, legs)
    return Run(case, model, path, result_of(case, model, path))


def result_of(case: Case, model: Model, path: Path) -> RunResult:
    """Everything a finished path says: the force systems at its end, and those on the way.

    A bench test ends where it began, often with nothing left to say: then its farthest point is the end.
    """
    legs = legs_of(case, model)
    end = path.last if case.bench is None else path.end_of([leg.name for leg in legs].index(OUT))
    status, snapshot = status_of(end), end.snapshot
    _, passive = model.passive_frames(np.array([spec.attachment.at for spec in case.attachments]))
    gives_way = supported(case.attachments)
    attachments = tuple(
        attachment_result(spec, k, snapshot, model.section, passive[k], legs[end.leg].ends[k], gives_way[k])
        for k, spec in enumerate(case.attachments)
    )
    force, moment = snapshot.left_over()
    wire = wire_result(case, model, snapshot)
    between = deepest_between_stations(path.problem, 1.0)
    increments = tuple(increment_result(case, legs, increment) for increment in path.increments)
    return RunResult(
        title=case.title,
        status=status.name.lower(),
        status_words=(
            *status_words(case, status, attachments, wire, between),
            *snap_words(
                [
                    (legs[one.leg].name, one.activation, one.set_free)
                    for one in path.increments
                    if one.let_down
                ]
            ),
            *unstable_words(
                [(legs[one.leg].name, one.activation) for one in path.increments if one.outcome.wrong_pivots]
            ),
        ),
        attachments=attachments,
        equilibrium=EquilibriumResult(vector(force), vector(moment), snapshot.floor),
        wire=wire,
        increments=increments,
        assumptions=assumptions(case),
        provenance=provenance(case, {"increments": case.analysis.increments}),
        deepest_between_stations_mm=between,
        bench=bench_result(case, legs, path),
        deactivations=deactivations(case.stages, increments),
    )


def increment_result(case: Case, legs: Sequence[Leg], increment: Increment) -> IncrementResult:
    """One increment, attachment by attachment."""
    snapshot = increment.snapshot
    on_path = []
    for k, spec in enumerate(case.attachments):
        own = snapshot.support_axes[k].T @ snapshot.moment[k]
        on_path.append(
            AttachmentOnPath(
                spec.name,
                vector(snapshot.force[k]),
                vector(snapshot.moment[k]),
                (float(own[1]), float(own[2]), float(own[0])),
            )
        )
    outcome = increment.outcome
    stage = legs[increment.leg].name
    return IncrementResult(
        stage,
        increment.activation,
        outcome.iterations,
        outcome.residual,
        increment.lost,
        tuple(on_path),
        increment.let_down,
        increment.set_free,
    )


def wire_result(case: Case, model: Model, snapshot: Snapshot) -> WireResult:
    """The engaged wire node by node; at a node between two elements the larger stress counts."""
    constants = torsion_constants(model.section)
    ends = snapshot.resultants  # (m, 2, 6)
    axial = axial_stress_extremes(model.section, ends[..., 0], ends[..., 4], ends[..., 5])
    shear = np.abs(ends[..., 3]) * constants.largest_shear_factor
    flat = largest_equivalent_stress(model.section, constants, ends.reshape(-1, 6)).reshape(-1, 2)
    nodal = np.concatenate((ends[:, 0], ends[-1:, 1]))
    passive, _ = model.passive_frames(snapshot.arcs)
    largest = float(flat.max())
    yields = case.wire.material.yield_mpa
    return WireResult(
        section=model.section,
        arc_length_mm=snapshot.arcs,
        positions_mm=snapshot.positions,
        axes=snapshot.axes,
        passive_positions_mm=passive,
        bending_stress_mpa=_larger_at_nodes(axial),
        shear_stress_mpa=_larger_at_nodes(shear),
        force_n=nodal[:, :3],
        moment_nmm=nodal[:, 3:],
        largest_stress_mpa=largest,
        yield_share=None if yields is None else largest / yields,
    )


def _larger_at_nodes(ends: np.ndarray) -> np.ndarray:
    """(n,) from values at both ends of every element (m, 2)."""
    first, last = ends[:1, 0], ends[-1:, 1]
    return np.concatenate((first, np.maximum(ends[:-1, 1], ends[1:, 0]), last))
