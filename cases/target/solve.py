"""One trial of a target search: the case with its values solved, what it gives, and how that changes with them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.accuracy import options_of
from cases.build import build_model
from cases.errors import CaseFileError
from cases.legs import legs_of
from cases.schema import Case
from cases.target.targetfile import Target, bend_value
from cases.target.unknowns import Unknown
from cases.target.wanted import answers
from cases.toml_lines import Key
from fem.derivatives import NotDifferentiableError, Variation, derivatives, plain_nodes
from fem.model import Model
from fem.path import Leg, Path, engage, status_of
from fem.recovery import Snapshot
from fem.status import NoEquilibrium, Status
from geometry.pose import Pose
from geometry.section import Round

Array = NDArray[np.float64]
Puts = Sequence[tuple[Key, object]]

# Of the bounds' distance: steps of differences of whole solves, well above what following leaves.
WHOLE_STEP = 2e-3


@dataclass(frozen=True, slots=True)
class Trial:
    """A case solved, or why not."""

    puts: Puts
    case: Case | None
    path: Path | None
    found: Array | None
    """(w + 1,) what is wanted as it comes out, N, N mm and mm, and the largest stress, MPa."""
    why: str = ""
    """There is none."""


def tried(target: Target, puts: Puts) -> Trial:
    """The case with ``puts``: what keeps it from an answer is an answer too."""
    try:
        case = target.case_with(puts)
    except CaseFileError as error:
        return Trial(puts, None, None, None, error.problems[0].message)
    try:
        model = build_model(case)
        path = engage(model, options_of(case), legs=legs_of(case, model))
    except NoEquilibrium as failure:
        return Trial(puts, case, None, None, str(failure))
    if status_of(path.last) is Status.UNSTABLE:
        rolls = " (a bent round wire rolls out unless the case says hold_roll)"
        why = f"the equilibrium is unstable{rolls if isinstance(case.wire.section, Round) else ''}"
        return Trial(puts, case, None, None, why)
    found = answers(target.wanted, case, path.last.snapshot, model)
    if not np.isfinite(found).all():
        return Trial(puts, case, path, None, "a moment over no force")
    return Trial(puts, case, path, found)


@dataclass(frozen=True, slots=True)
class Slopes:
    """How the answers of a trial change with each of some unknowns."""

    change: Array
    """(w + 1, unknowns) per unit of each."""
    one_sided: tuple[bool, ...]
    """Where a contact changes right here, so that it holds towards larger values only."""
    exact: tuple[bool, ...]
    """Else by differences of whole solves."""


def slopes(target: Target, trial: Trial, unknowns: Sequence[Unknown], values: Sequence[float]) -> Slopes:
    """Exact where the state alone counts; with friction, or where the wire floats, by differences of whole solves."""
    assert trial.found is not None
    pairs = list(zip(unknowns, values, strict=True))
    try:
        return _exact(target, trial, pairs)
    except (NotDifferentiableError, CaseFileError):
        pass
    # one of them at least has none: each by itself
    found = []
    for pair in pairs:
        try:
            found.append(_exact(target, trial, [pair]))
        except (NotDifferentiableError, CaseFileError):
            found.append(Slopes(_by_differences(target, trial, *pair)[:, None], (False,), (False,)))
    return Slopes(
        np.concatenate([one.change for one in found], axis=1),
        tuple(one.one_sided[0] for one in found),
        tuple(one.exact[0] for one in found),
    )


def _exact(target: Target, trial: Trial, pairs: Sequence[tuple[Unknown, float]]) -> Slopes:
    """Raises NotDifferentiableError; CaseFileError where the case is none a little beside."""
    assert trial.case is not None and trial.path is not None
    case = trial.case

    def observe(snapshot: Snapshot, model: Model) -> Array:
        return answers(target.wanted, case, snapshot, model)

    found = derivatives(
        trial.path.problem, [_variation(target, trial, one, value) for one, value in pairs], observe
    )
    if not np.isfinite(found.rising).all():
        raise NotDifferentiableError("a moment over no force")
    return Slopes(found.rising.T, tuple(map(bool, found.one_sided)), (True,) * len(pairs))


def _variation(target: Target, trial: Trial, one: Unknown, value: float) -> Variation:
    (less, less_ends), (more, more_ends) = (
        _model(target.case_with([*trial.puts, *one.puts(value + way * one.step)])) for way in (-1.0, 1.0)
    )
    return Variation(one.step, less, more, less_ends, more_ends)


def _model(case: Case) -> tuple[Model, tuple[Pose, ...]]:
    """The model of a varied case, and where its attachments stand at the end of the way."""
    model = build_model(case, mesh=plain_nodes)
    last = legs_of(case, model)[-1]
    assert isinstance(last, Leg)  # teeth that follow are refused with the target file
    return model, last.ends


def _by_differences(target: Target, trial: Trial, one: Unknown, value: float) -> Array:
    """Central, or towards one side where only that one has an equilibrium; nothing where neither has."""
    assert trial.found is not None
    step = WHOLE_STEP * (one.most - one.least)
    sides = [(value, trial.found)]
    for way in (-1.0, 1.0):
        found = tried(target, [*trial.puts, *one.puts(value + way * step)]).found
        if found is not None:
            sides.append((value + way * step, found))
    sides.sort(key=lambda side: side[0])
    (first, below), (last, above) = sides[0], sides[-1]
    return (above - below) / (last - first) if last > first else np.zeros_like(trial.found)


def bending_slopes(
    target: Target, trial: Trial, values: Sequence[float]
) -> tuple[tuple[Unknown, ...], Slopes]:
    """Of everything that may be off when the wire is bent: its unknown angles and lengths, and all other bends."""
    chosen = [
        (one, value)
        for one, value in zip(target.unknowns, values, strict=True)
        if one.bent and not one.listed
    ]
    chosen += [(bend, bend_value(target, bend, trial.puts)) for bend in target.bends]
    unknowns = tuple(one for one, _ in chosen)
    return unknowns, slopes(target, trial, unknowns, [value for _, value in chosen])
