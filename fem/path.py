"""The way from the passive wire to the engaged one and beyond, leg by leg, increment by increment.

A leg moves every support straight from where it stands to where the leg says.  The first leg is the activation; later
ones move teeth back or on, or bring in attachments that were not tied before.  The mesh follows the slots
(fem.following). Without friction an answer depends on its last state only; with friction the way counts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fem.equilibrium import BARRIER_NEAR, Outcome, Problem, held_by, problem_of, settle, solve
from fem.equilibrium_kernel import CONVERGED, NOT_FINITE, TOO_MANY_ITERATIONS
from fem.following import arms_off, followed, relaxed
from fem.model import Model
from fem.mounts import Settling
from fem.recovery import Snapshot, frames_at, loads_in_own_axes, snapshot_of
from fem.status import NoEquilibrium, Status
from fem.supports import Ways
from geometry.pose import Pose

Array = NDArray[np.float64]

# So often an increment is followed, and so often nodes may move meanwhile.
MOST_FOLLOWINGS = 20
MOST_MOVES = 3
MOST_SETTLINGS = 30  # of supports that give way


@dataclass(frozen=True, slots=True)
class Options:
    """How a path is walked.  None of these changes an elastic answer."""

    increments: int = 10
    """Of the first leg."""
    least_increment: float = 1.0 / 512.0
    """Share of a leg below which an increment that finds no equilibrium ends the path."""
    most_iterations: int = 60
    follow: bool = True

    def __post_init__(self) -> None:
        if self.increments < 1:
            raise ValueError(f"a path needs at least one increment: got {self.increments}")


@dataclass(frozen=True, slots=True)
class Leg:
    """A part of the way: every support goes straight to ``ends`` (k,), turning about one axis.

    ``active`` (k,): the supports that hold the wire meanwhile; None: all.  One that was not active before begins
    where the wire is then, at its own arc length.
    """

    name: str
    ends: tuple[Pose, ...]
    increments: int = 10
    active: tuple[bool, ...] | None = None

    def __post_init__(self) -> None:
        if self.increments < 1:
            raise ValueError(f"a leg needs at least one increment: got {self.increments}")


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


@dataclass(frozen=True, slots=True)
class Path:
    """All accepted increments, from the first to the end of the last leg."""

    status: Status
    """At the end of the way."""
    increments: tuple[Increment, ...]
    problem: Problem
    """The last mesh with its state."""

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
    legs: Sequence[Leg] | None = None,
) -> Path:
    """Moves the supports leg by leg and keeps the wire in equilibrium.

    Unless ``legs`` are given there is one, on which every support goes from its start to its end.  The observer hears
    of each accepted increment.  Raises NoEquilibrium, which carries what was accepted and the history."""
    options = options or Options()
    if legs is None:
        ends = tuple(support.end for support in model.supports)
        legs = [Leg("activation", ends, options.increments)]
    problem = problem_of(model, legs[0].active)
    settle(problem, 0.0)
    accepted: list[Increment] = []
    stand = tuple(support.start for support in model.supports)
    for number, leg in enumerate(legs):
        problem, stand = _on_leg(problem, stand, leg)
        problem = _walk(problem, number, leg, options, accepted, observer)
    return Path(status_of(accepted[-1]), tuple(accepted), problem)


def _on_leg(problem: Problem, stand: tuple[Pose, ...], leg: Leg) -> tuple[Problem, tuple[Pose, ...]]:
    """The problem at the start of a leg, and where the supports stand at its end."""
    if leg.active != problem.active:
        problem, stand = _tied(problem, stand, leg.active)
    return replace(problem, ways=Ways.of(stand, leg.ends)), leg.ends


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
    stands = tuple(
        stand[k] if before[k] or not now[k] else here[k].compose(passive[k].inverse()).compose(support.start)
        for k, support in enumerate(model.supports)
    )
    return held_by(problem, active), stands


def _walk(
    problem: Problem,
    number: int,
    leg: Leg,
    options: Options,
    accepted: list[Increment],
    observer: Observer | None,
) -> Problem:
    """One leg; appends to ``accepted``."""
    reached = 0.0
    share = 1.0 / leg.increments
    while reached < 1.0:
        # whole shares, so that ten increments end at exactly 1
        target = 1.0 if reached + 1.0001 * share >= 1.0 else reached + share
        found = _advance(problem, number, target, options)
        if isinstance(found, Outcome):
            share *= 0.5
            if share < options.least_increment:
                code = Status.NOT_FINITE if found.code == NOT_FINITE else Status.TOO_MANY_ITERATIONS
                raise NoEquilibrium(code, reached, tuple(accepted), found.history)
            continue
        problem, outcome = found
        lost = settle(problem, target)
        snapshot = snapshot_of(problem, target, outcome.floor)
        increment = Increment(number, target, outcome, snapshot, lost)
        accepted.append(increment)
        if observer is not None:
            observer(increment)
        reached = target
        share = min(2.0 * share, 1.0 / leg.increments)
    return problem


def status_of(increment: Increment) -> Status:
    """Whether an accepted increment is engaged, passive in its play or unstable."""
    if increment.outcome.wrong_pivots > 0:
        return Status.UNSTABLE
    if not increment.snapshot.any_force:
        return Status.PASSIVE
    return Status.ENGAGED


def _advance(
    problem: Problem, leg: int, target: float, options: Options
) -> tuple[Problem, Outcome] | Outcome:
    """The problem and outcome at ``target``, or the failed outcome with the problem's state put back.

    Supports that give way are found by looking again and again where the load takes them."""
    before, kept = problem, _kept(problem)
    settling, iterations = Settling(), 0
    for _ in range(MOST_SETTLINGS if problem.compliance.any() else 1):
        problem, outcome = _followed(problem, leg, target, options)
        iterations += outcome.iterations
        if outcome.code != CONVERGED or not problem.compliance.any():
            break
        wanted = problem.compliance * loads_in_own_axes(problem, target)
        deflection = settling.next(problem.deflection, wanted)
        if deflection is None:
            break
        problem.deflection[:] = deflection
    else:
        outcome = replace(outcome, code=TOO_MANY_ITERATIONS)
    if outcome.code != CONVERGED:
        _put_back(before, kept)
        return outcome
    _orthonormalise(problem.state.axes)
    return problem, replace(outcome, iterations=iterations)


def _followed(problem: Problem, leg: int, target: float, options: Options) -> tuple[Problem, Outcome]:
    """Equilibrium at ``target`` with every wall looking at the place where it meets the wire."""
    outcome = _try(problem, leg, target, options)
    iterations = outcome.iterations
    share, last = 1.0, None
    following = 0
    while outcome.code == CONVERGED and options.follow:
        off = arms_off(problem, following)
        if off is None:
            break
        if following == MOST_FOLLOWINGS:
            outcome = replace(outcome, code=TOO_MANY_ITERATIONS)
            break
        share, last = relaxed(share, last, off), off
        moved = followed(problem, target, off, share, following < MOST_MOVES)
        if moved is None:
            outcome = replace(outcome, code=TOO_MANY_ITERATIONS)
            break
        problem = moved
        outcome = _try(problem, leg, target, options, near=True)
        iterations += outcome.iterations
        following += 1
    return problem, replace(outcome, iterations=iterations)


def _changing(problem: Problem) -> tuple[NDArray[Any], ...]:
    """Everything that an increment changes in a problem."""
    touch, rubbing = problem.state.touch, problem.state.rubbing
    contact = (touch.node, touch.arm, touch.turn, touch.bend, touch.reach, rubbing.zero, rubbing.spot)
    return (problem.state.flat, problem.deflection, *contact)


def _kept(problem: Problem) -> tuple[NDArray[Any], ...]:
    return tuple(array.copy() for array in _changing(problem))


def _put_back(problem: Problem, kept: tuple[NDArray[Any], ...]) -> None:
    for array, values in zip(_changing(problem), kept, strict=True):
        array[:] = values


def _try(problem: Problem, leg: int, target: float, options: Options, near: bool = False) -> Outcome:
    """Newton's method in three tempers:

    downhill steps, plain steps (no walls only), steps under a merit function.  Where the answer is ``near``, as when
    arms have followed, the barrier is first started late: from afar it may lead to another equilibrium.
    """
    most = options.most_iterations
    load = target if leg == 0 else 1.0
    kept = problem.state.flat.copy()
    if near:
        # the walls that press now; then downhill all the way, which does not leave the valley it starts in
        outcome = solve(problem, target, quick=3, most=0, load=load)
        if outcome.code == CONVERGED:
            return outcome
        problem.state.flat[:] = kept
        outcome = solve(
            problem, target, careful=True, quick=0, most=2 * most, load=load, barrier=BARRIER_NEAR
        )
        if outcome.code == CONVERGED:
            return outcome
        problem.state.flat[:] = kept
    outcome = solve(problem, target, most=most, load=load)
    if outcome.code != CONVERGED and problem.state.low.size == 0:
        problem.state.flat[:] = kept
        outcome = solve(problem, target, downhill=False, most=most, load=load)
    if outcome.code != CONVERGED:
        problem.state.flat[:] = kept
        outcome = solve(problem, target, careful=True, most=2 * most, load=load)
    return outcome


def _orthonormalise(axes: Array) -> None:
    """Takes away the rounding that many small turns have added:

    nearest rotations, by one step of Newton's polar iteration.
    """
    axes[:] = 1.5 * axes - 0.5 * axes @ np.swapaxes(axes, 1, 2) @ axes
