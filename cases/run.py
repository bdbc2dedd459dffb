"""The main job, from a case to its result, in one screen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cases.accuracy import estimated, options_of
from cases.bench import bench_result
from cases.build import build_model
from cases.deactivation import deactivations
from cases.follow import follow_steps
from cases.force_system import attachment_result, vector
from cases.joints import hook_words, joint_results
from cases.legs import end_of_way, legs_of
from cases.memory import wire_memory
from cases.modulus_spread import modulus_spread
from cases.provenance import provenance
from cases.results import (
    AttachmentOnPath,
    EquilibriumResult,
    IncrementResult,
    RunResult,
    WireResult,
)
from cases.schema import Case
from cases.sentences import assumptions, left_words, snap_words, status_words, unstable_words
from cases.shared_teeth import shared_teeth
from cases.systems import system_of
from cases.tooth_support import supported
from cases.two_brackets import states_of
from cases.wire_stress import wire_stress
from fem.model import Model
from fem.path import Ahead, Increment, Leg, Path, engage, status_of
from fem.recovery import Snapshot, deepest_between_stations

Observer = Callable[[IncrementResult], None]


@dataclass(frozen=True, slots=True)
class Run:
    """A case with its mechanics and what they say; ``cases.solids`` makes solids of it."""

    case: Case
    model: Model
    path: Path
    result: RunResult


def run_case(
    case: Case, observer: Observer | None = None, stations: int | None = None, estimate: bool = False
) -> RunResult:
    """Engages the wire of ``case`` and says what every tooth gets.

    The observer hears of every accepted increment.  ``stations`` overrides the contact stations per slot.
    ``estimate``: a second solve tells how far the figures may be off (cases.accuracy).
    Raises fem.status.NoEquilibrium, which carries the increments that were found."""
    return whole_run(case, observer, stations, estimate).result


def whole_run(
    case: Case,
    observer: Observer | None = None,
    stations: int | None = None,
    estimate: bool = False,
    level: int = 0,
) -> Run:
    """The same with the mechanics kept, on a mesh halved ``level`` times."""
    model = build_model(case, stations, level)
    legs = legs_of(case, model)
    tell = None if observer is None else lambda increment: observer(increment_result(case, legs, increment))
    path = engage(model, options_of(case, level), tell, legs)
    result = result_of(case, model, path)
    if estimate:
        result = replace(result, accuracy=estimated(case, model, path, level, stations))
    return Run(case, model, path, result)


def result_of(case: Case, model: Model, path: Path) -> RunResult:
    """Everything a finished path says: the force systems at its end, and those on the way."""
    legs = path.legs
    end = end_of_way(case, legs, path)
    status, snapshot = status_of(end), end.snapshot
    _, passive = model.passive_frames(np.array([support.arc for support in model.supports]))
    gives_way = supported(case.attachments)
    found = [
        attachment_result(
            spec, k, snapshot, model.wires[spec.wire], passive[k], legs[end.leg].ends[k], gives_way[k],
            case.wire_of(spec).name,
        )
        for k, spec in enumerate(case.attachments)
    ]  # fmt: skip
    teeth, attachments = shared_teeth(case, found, snapshot.floor, legs[end.leg].ends)
    force, moment = snapshot.left_over()
    wires = tuple(wire_result(case, model, snapshot, number) for number in range(len(case.wires)))
    joints = joint_results(case, model, snapshot)
    between = deepest_between_stations(path.problem, 1.0)
    increments = _with_losses(
        [increment_result(case, legs, increment) for increment in path.increments], path
    )
    return RunResult(
        title=case.title,
        status=status.name.lower(),
        status_words=(
            *status_words(case, status, attachments, wires, between),
            *hook_words(case, joints),
            *snap_words(
                [
                    (legs[one.leg].name, one.activation, one.set_free)
                    for one in path.increments
                    if one.let_down
                ]
            ),
            *left_words(
                [
                    (case.attachments[k].name, legs[one.leg].name, one.activation)
                    for one in path.increments
                    for k in one.left
                ]
            ),
            *unstable_words(
                [(legs[one.leg].name, one.activation) for one in path.increments if one.outcome.wrong_pivots],
                case.analysis.snap,
            ),
        ),
        attachments=attachments,
        equilibrium=EquilibriumResult(vector(force), vector(moment), snapshot.floor),
        wire=wires[0],
        increments=increments,
        assumptions=assumptions(case),
        provenance=provenance(case, {"increments": case.analysis.increments}),
        deepest_between_stations_mm=between,
        bench=bench_result(case, legs, path),
        deactivations=deactivations(case.stages, increments),
        system=system_of(
            case, attachments, snapshot.floor, states_of(case, path), follow_steps(case, path), joints
        ),
        more_wires=wires[1:],
        joints=joints,
        teeth=teeth,
        modulus_spread=modulus_spread(case),
        memory=wire_memory(case, model, path, legs, increments),
    )


def _with_losses(told: Sequence[IncrementResult], path: Path) -> tuple[IncrementResult, ...]:
    """What became heat in the wire's material from each increment to the next."""
    before, out = 0.0, []
    for one, increment in zip(told, path.increments, strict=True):
        readings = increment.snapshot.fibres
        after = before if readings is None else readings.dissipated
        out.append(replace(one, dissipated_nmm=after - before))
        before = after
    return tuple(out)


def increment_result(case: Case, legs: Sequence[Leg | Ahead], increment: Increment) -> IncrementResult:
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
                vector(snapshot.support_axes[k].T @ snapshot.force[k]),
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
        left=", ".join(case.attachments[k].name for k in increment.left) or None,
    )


def wire_result(case: Case, model: Model, snapshot: Snapshot, number: int = 0) -> WireResult:
    """An engaged wire node by node; at a node between two elements the larger stress counts."""
    spec, wire, (first, last) = case.wires[number], model.wires[number], snapshot.spans[number]
    ends, here = snapshot.resultants[first:last], slice(first, last + 1)  # (m, 2, 6)
    axial, shear, equivalent = wire_stress(spec, ends)
    along, across = _larger_at_nodes(axial), _larger_at_nodes(shear)
    if snapshot.fibres is not None:
        read = snapshot.fibres
        along, across, equivalent = read.axial[here], read.shear[here], read.stress[here]
    nodal = np.concatenate((ends[:, 0], ends[-1:, 1]))
    passive, _ = model.passive_frames(snapshot.arcs[here])
    largest = float(equivalent.max())
    yields = spec.material.yield_mpa
    return WireResult(
        name=case.wires[number].name,
        section=wire.section,
        arc_length_mm=snapshot.arcs[here] - wire.begin,
        positions_mm=snapshot.positions[here],
        axes=snapshot.axes[here],
        passive_positions_mm=passive,
        bending_stress_mpa=along,
        shear_stress_mpa=across,
        force_n=nodal[:, :3],
        moment_nmm=nodal[:, 3:],
        largest_stress_mpa=largest,
        yield_share=None if yields is None else largest / yields,
        strands=None if case.wire.strands is None else case.wire.strands.label,
    )


def _larger_at_nodes(ends: np.ndarray) -> np.ndarray:
    """(n,) from values at both ends of every element (m, 2)."""
    first, last = ends[:1, 0], ends[-1:, 1]
    return np.concatenate((first, np.maximum(ends[:-1, 1], ends[1:, 0]), last))
