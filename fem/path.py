"""The way from the passive wire to the engaged one and beyond, leg by leg, increment by increment.

A leg moves every support straight from where it stands to where the leg says.  The first leg is the activation; later
ones move teeth back or on, or bring in attachments that were not tied before.  The mesh follows the slots
(fem.following). Without friction an answer depends on its last state only; with friction the way counts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.advance import CONTACTS_MOVE_ON, SUPPORTS_MOVE_ON, advance, kept, put_back
from fem.advance import Options as Options
from fem.carrying_over import apart, held_by
from fem.equilibrium import Outcome, Problem, problem_of, settle
from fem.equilibrium_kernel import NOT_FINITE
from fem.fibre_beam import remember
from fem.fibre_material import COLDEST, HOTTEST, law_of
from fem.leaving import left_behind, wholly_out, why_not, without
from fem.model import Joint, Model
from fem.recovery import Snapshot, frames_at, snapshot_of
from fem.snapping import Rest, let_down
from fem.status import NoEquilibrium, Status
from fem.supports import Ways
from fem.work import work_of_loads, work_of_supports
from geometry.checks import all_of, count, one_of, text
from geometry.checks import number as number_of
from geometry.pose import Pose

Array = NDArray[np.float64]

# Increments unless a number is asked for, where nothing touches and where walls do.
WITHOUT_WALLS = 1
WITH_WALLS = 10
# Share of a usual increment that is small enough to look for the valley into which the wire snaps.
SNAPPING = 0.3
PATIENCE = 0.125  # where that found none, it is looked for again in increments so much shorter
FAILURES = {
    NOT_FINITE: Status.NOT_FINITE,
    CONTACTS_MOVE_ON: Status.DOES_NOT_FOLLOW,
    SUPPORTS_MOVE_ON: Status.YIELDING_SUPPORTS,
}


@dataclass(frozen=True, slots=True)
class Leg:
    """A part of the way: every support goes straight to ``ends`` (k,), turning about one axis.

    ``active`` (k,): the supports that hold the wire meanwhile; None: all.  One that was not active before begins
    where the wire is then, at its own arc length.  Raises ValueError for anything else than poses, for no increment, or
    for another number of ``active`` than of ``ends``.
    """

    name: str
    ends: tuple[Pose, ...]
    increments: int = 10
    active: tuple[bool, ...] | None = None
    temperature: float | None = None
    """Of the wire at the end of the leg, degC, reached evenly; None: as it is."""

    def __post_init__(self) -> None:
        text("the name of a leg", self.name)
        _keep_temperature(self)
        needs = "needs at least one increment, and a million at most"
        object.__setattr__(self, "increments", count(f'leg "{self.name}"', self.increments, 1, needs))
        whose = f'of leg "{self.name}"'
        object.__setattr__(self, "ends", all_of(Pose, self.ends, f"the ends {whose}", "Pose"))
        if self.active is not None:
            active = all_of((bool, np.bool_), self.active, f"the active supports {whose}", "True or False")
            if len(active) != len(self.ends):
                raise ValueError(
                    f"the active supports {whose} must be as many as its ends, {len(self.ends)}: "
                    f"got {len(active)}; say True or False for each support"
                )
            object.__setattr__(self, "active", tuple(map(bool, active)))


@dataclass(frozen=True, slots=True)
class Ahead:
    """A leg whose ends depend on what was found before: they are known when it begins.

    ``ends_from`` gets the poses to which the supports were sent last, (k,), and the equilibrium there, and gives those
    to which they go next.  (Supports that give way do not stand where they are sent.)  Raises ValueError for no
    increment."""

    name: str
    ends_from: Callable[[tuple[Pose, ...], Snapshot], tuple[Pose, ...]]
    increments: int = 10
    temperature: float | None = None
    """Of the wire at the end of the leg, degC, reached evenly; None: as it is."""

    def begun(self, stand: tuple[Pose, ...], snapshot: Snapshot) -> Leg:
        """The leg from there."""
        ends = self.ends_from(stand, snapshot)
        return Leg(self.name, ends, self.increments, temperature=self.temperature)

    def __post_init__(self) -> None:
        text("the name of a leg", self.name)
        _keep_temperature(self)
        needs = "needs at least one increment, and a million at most"
        object.__setattr__(self, "increments", count(f'leg "{self.name}"', self.increments, 1, needs))


def _keep_temperature(leg: Leg | Ahead) -> None:
    """The temperature of a leg, checked."""
    if leg.temperature is not None:
        what = f'the temperature of leg "{leg.name}"'
        object.__setattr__(
            leg, "temperature", number_of(what, leg.temperature, "degC", COLDEST, HOTTEST, "a temperature")
        )


@dataclass(frozen=True, slots=True)
class Increment:
    """One accepted increment."""

    leg: int
    """0: the activation."""
    activation: float
    """Share of the leg, above 0 to 1."""
    outcome: Outcome
    snapshot: Snapshot
    lost: float
    """Work lost in sliding against friction, N mm."""
    let_down: bool = False
    """No stable equilibrium was found near the last one: the wire was let down to rest from there (fem.snapping)."""
    set_free: float = 0.0
    """Energy lost on that way, N mm."""
    work: float = 0.0
    """What supports and loads put into the wire, N mm, by the trapezoidal rule; see `fem.work`."""
    left: tuple[int, ...] = ()
    """The supports that the wire left meanwhile, through the fronts of their slots; they hold the wire no more."""


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


Observer = Callable[[Increment], None]


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
        problem = _walk(problem, number, leg, options, accepted, observer)
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
    left = _behind(accepted)
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


def _walk(
    problem: Problem,
    number: int,
    leg: Leg,
    options: Options,
    accepted: list[Increment],
    observer: Observer | None,
) -> Problem:
    """One leg; appends to ``accepted``."""
    model, reached = problem.model, 0.0
    share = 1.0 / leg.increments
    snaps = SNAPPING / leg.increments
    while reached < 1.0:
        # whole shares, so that ten increments end at exactly 1
        target = 1.0 if reached + 1.0001 * share >= 1.0 else reached + share
        before = kept(problem) if options.snap else ()
        stood, last = problem.poses(reached), accepted[-1].snapshot if accepted else None
        stable = not accepted or accepted[-1].outcome.wrong_pivots == 0
        found = advance(problem, number, target, options, stable)
        rest: Rest | None = None
        left: tuple[int, ...] = ()
        why = found.code if isinstance(found, Outcome) else 0
        if isinstance(found, Outcome) and options.follow and share <= snaps:
            down = let_down(problem, number, target, options)
            if isinstance(down, Outcome):
                found, snaps = down, PATIENCE * share
            else:
                rest, found = down, (down.problem, down.outcome)
        elif not isinstance(found, Outcome) and options.snap and found[1].wrong_pivots:
            # just beyond the loss of stability there is one way down
            down = found[1]
            if share <= SNAPPING / leg.increments:
                down = let_down(found[0], number, target, options, push=True)
            if not isinstance(down, Outcome):
                rest, found = down, (down.problem, down.outcome)
            elif 0.5 * share >= options.least_increment:
                put_back(problem, before)
                found = down
        if isinstance(found, Outcome):
            share *= 0.5
            if share >= options.least_increment:
                continue
            target, share = min(reached + share, 1.0), options.least_increment
            gone = (
                left_behind(problem, accepted[-1].snapshot, number, target, options)
                if accepted and options.follow
                else None
            )
            if gone is None:
                raise NoEquilibrium(_why_not(why, model, accepted), reached, tuple(accepted), found.history)
            left, rest = gone
            found = rest.problem, rest.outcome
        problem, outcome = found
        lost = settle(problem, target) + (rest.rubbed if rest else 0.0)
        snapshot = snapshot_of(problem, target, outcome.floor, at_rest=True)
        remember(problem.beam.fibres)
        free = rest.set_free if rest else 0.0
        fell = rest is not None
        out = wholly_out(problem, snapshot) if options.follow else ()
        if out:
            alone = without(problem, out, number, target, options)
            if isinstance(alone, Outcome):
                raise NoEquilibrium(
                    _why_not(alone.code, model, accepted, left + out), reached, tuple(accepted), alone.history
                )
            left, problem, outcome, fell = left + out, alone.problem, alone.outcome, True
            free += alone.set_free
            lost += settle(problem, target) + alone.rubbed
            snapshot = snapshot_of(problem, target, outcome.floor)
            remember(problem.beam.fibres)
        snapshot.inside[[*_behind(accepted), *left]] = 0.0
        work = work_of_supports(stood, snapshot, last)
        if model.loads is not None or model.follower_loads is not None:
            shares = (reached, target) if number == 0 else (1.0, 1.0)
            came = (last.positions, last.axes) if last else model.passive_frames(model.nodes)
            there = snapshot.positions, snapshot.axes
            work += work_of_loads(model.loads, model.follower_loads, shares, came, there)
        increment = Increment(number, target, outcome, snapshot, lost, fell, free, work, left)
        accepted.append(increment)
        if observer is not None:
            observer(increment)
        reached = target
        share = min(2.0 * share, 1.0 / leg.increments)
        if fell or share > SNAPPING / leg.increments:
            snaps = SNAPPING / leg.increments
    return problem


def _why_not(why: int, model: Model, accepted: Sequence[Increment], left: tuple[int, ...] = ()) -> Status:
    """What ends a way that found none for the reason ``why``; ``left``: the supports that the wire leaves last."""
    status = FAILURES.get(why, Status.TOO_MANY_ITERATIONS)
    return (
        why_not(status, model, accepted[-1].snapshot, _behind(accepted).union(left)) if accepted else status
    )


def _behind(accepted: Sequence[Increment]) -> set[int]:
    """The supports that the wire has left."""
    return {k for one in accepted for k in one.left}


def status_of(increment: Increment) -> Status:
    """Whether an accepted increment is engaged, passive in its play or unstable."""
    if increment.outcome.wrong_pivots > 0:
        return Status.UNSTABLE
    if not increment.snapshot.any_force:
        return Status.PASSIVE
    return Status.ENGAGED
