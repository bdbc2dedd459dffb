"""The way from the passive wire to the engaged one and beyond, leg by leg, increment by increment.

A leg moves every support straight from where it stands to where the leg says.  The first leg is the activation; later
ones move teeth back or on, or bring in attachments that were not tied before.  The mesh follows the slots
(fem.following). Without friction an answer depends on its last state only; with friction the way counts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem.advance import Options as Options
from fem.carrying_over import apart, held_by
from fem.equilibrium import Problem, problem_of, settle
from fem.fibre_material import law_of
from fem.legs import Ahead as Ahead
from fem.legs import Increment as Increment
from fem.legs import Leg as Leg
from fem.legs import Observer as Observer
from fem.model import Joint, Model
from fem.recovery import frames_at
from fem.status import Status
from fem.supports import Ways
from fem.walk import left_before, walk
from geometry.checks import all_of, one_of
from geometry.pose import Pose

# Increments unless a number is asked for, where nothing touches and where walls do.
WITHOUT_WALLS = 1
WITH_WALLS = 10


@dataclass(frozen=True, slots=True)
class Path:
    """All accepted increments, from the first to the end of the last leg."""

    status: Status
    """At the end of the way."""
    increments: tuple[Increment, ...]
    problem: Problem
    """The last mesh with its state."""
    legs: tuple[Leg, ...]
    """As they were gone, each with its ends."""

    @property
    def last(self) -> Increment:
        """The end of the way."""
        return self.increments[-1]

    def end_of(self, leg: int) -> Increment:
        """The last increment of a leg."""
        return next(increment for increment in reversed(self.increments) if increment.leg == leg)


def engage(
    model: Model,
    options: Options | None = None,
    observer: Observer | None = None,
    legs: Sequence[Leg | Ahead] | None = None,
) -> Path:
    """Moves the supports leg by leg and keeps the wire in equilibrium.

    Unless ``legs`` are given there is one, on which every support goes from its start to its end.  The observer hears
    of each accepted increment.  Raises NoEquilibrium, which carries what was accepted and the history; ValueError where
    there is no leg, the first one is ``Ahead``, or one has another number of ends than the model has supports."""
    one_of(Model, model, "what is engaged")
    options = Options() if options is None else options
    one_of(Options, options, "the options of a way")
    if legs is None:
        problem = problem_of(model)
        # where the way counts, walls or a wire that remembers, one step says too little of it
        counts = problem.state.low.size or model.fibres is not None
        usual = WITH_WALLS if counts else WITHOUT_WALLS
        ends = tuple(support.end for support in model.supports)
        legs = [Leg("activation", ends, options.increments or usual)]
    else:
        legs = _fitting(legs, len(model.supports))
        first = legs[0]
        if isinstance(first, Ahead):
            raise ValueError(f'leg "{first.name}" has nothing before it to go on from: put a Leg first')
        problem = problem_of(model, first.active)
    settle(problem, 0.0)
    stand = tuple(support.start for support in model.supports)
    return _along(problem, stand, legs, (), (), options, observer)


def go_on(
    path: Path, legs: Sequence[Leg | Ahead], options: Options | None = None, observer: Observer | None = None
) -> Path:
    """A path with further ``legs``, from where it ended and with what its wire remembers.

    The path itself stays as it is.  Raises as `engage`."""
    one_of(Path, path, "what goes on")
    options = Options() if options is None else options
    one_of(Options, options, "the options of a way")
    legs = _fitting(legs, len(path.problem.model.supports))
    stand = path.legs[-1].ends
    return _along(apart(path.problem), stand, legs, path.increments, path.legs, options, observer)


def _along(
    problem: Problem,
    stand: tuple[Pose, ...],
    legs: Sequence[Leg | Ahead],
    before: tuple[Increment, ...],
    gone_before: tuple[Leg, ...],
    options: Options,
    observer: Observer | None,
) -> Path:
    """The path along ``legs`` from supports that ``stand`` so, after what was gone before."""
    fibres = problem.model.fibres
    if fibres is not None:
        for leg in legs:
            law_of(fibres.material, leg.temperature)
    accepted, gone = list(before), list(gone_before)
    for number, leg in enumerate(legs, start=len(gone)):
        if isinstance(leg, Ahead):
            leg = leg.begun(stand, accepted[-1].snapshot)
            _fitting((leg,), len(problem.model.supports))
        problem, stand = _on_leg(problem, stand, _without(leg, accepted))
        problem = walk(problem, number, leg, options, accepted, observer)
        gone.append(leg)
    return Path(status_of(accepted[-1]), tuple(accepted), problem, tuple(gone))


def _fitting(legs: Sequence[Leg | Ahead], supports: int) -> tuple[Leg | Ahead, ...]:
    """The legs, of which there must be one at least, each that knows its ends with one for every support."""
    legs = all_of((Leg, Ahead), legs, "the legs of a way", "Leg")
    if not legs:
        raise ValueError("a way needs at least one leg: got none; leave legs out to go to the supports' ends")
    for leg in legs:
        if isinstance(leg, Leg) and len(leg.ends) != supports:
            raise ValueError(
                f'leg "{leg.name}" must have an end for each of the {supports} supports of the model, in their '
                f"order: got {len(leg.ends)}"
            )
    return legs


def _on_leg(problem: Problem, stand: tuple[Pose, ...], leg: Leg) -> tuple[Problem, tuple[Pose, ...]]:
    """The problem at the start of a leg, and where the supports stand at its end."""
    if leg.active != problem.active:
        problem, stand = _tied(problem, stand, leg.active)
    warm = problem.temperatures[1]
    temperatures = (warm, warm if leg.temperature is None else leg.temperature)
    return replace(problem, ways=Ways.of(stand, leg.ends), temperatures=temperatures), leg.ends


def _without(leg: Leg, accepted: Sequence[Increment]) -> Leg:
    """The leg without the supports that the wire has left."""
    left = left_before(accepted)
    if not left:
        return leg
    active = leg.active or (True,) * len(leg.ends)
    return replace(leg, active=tuple(holds and k not in left for k, holds in enumerate(active)))


def _tied(
    problem: Problem, stand: tuple[Pose, ...], active: tuple[bool, ...] | None
) -> tuple[Problem, tuple[Pose, ...]]:
    """The same state held by other supports; those that are new begin where the wire is."""
    model = problem.model
    before = problem.active or (True,) * len(stand)
    now = active or (True,) * len(stand)
    arcs = np.array([support.arc for support in model.supports])
    here = [Pose(*frame) for frame in zip(*frames_at(problem, arcs), strict=True)]
    passive = [Pose(*frame) for frame in zip(*model.passive_frames(arcs), strict=True)]
    stands = list(stand)
    for k, support in enumerate(model.supports):
        if before[k] or not now[k]:
            continue
        if isinstance(support.restraint, Joint):
            other = Pose(*(of[0] for of in frames_at(problem, np.array([support.restraint.other]))))
            held = (0.0 if support.restraint.slides else 1.0, 1.0, 1.0)
            stands[k] = Pose(other.to_local(here[k].position) * held, support.start.axes)
        else:
            stands[k] = here[k].compose(passive[k].inverse()).compose(support.start)
    return held_by(problem, active), tuple(stands)


def status_of(increment: Increment) -> Status:
    """Whether an accepted increment is engaged, passive in its play or unstable."""
    if increment.outcome.wrong_pivots > 0:
        return Status.UNSTABLE
    if not increment.snapshot.any_force:
        return Status.PASSIVE
    return Status.ENGAGED
