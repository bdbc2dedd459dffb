"""One leg of a way, increment by increment.

An increment that finds no equilibrium is halved.  Where it is small and there is none nearby, the wire is let down to
rest; where it is as small as may be, the wire leaves the slots and ties that it is coming out of, and goes on without
them (fem.leaving)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fem.advance import CONTACTS_MOVE_ON, SUPPORTS_MOVE_ON, Options, advance, kept, put_back
from fem.equilibrium import Outcome, Problem, settle
from fem.equilibrium_kernel import NOT_FINITE
from fem.fibre_beam import remember
from fem.leaving import left_behind, wholly_out, why_not, without
from fem.legs import Increment, Leg, Observer
from fem.model import Model
from fem.recovery import Snapshot, snapshot_of
from fem.snapping import Rest, let_down
from fem.status import NoEquilibrium, Status
from fem.work import Frames, work_of_loads, work_of_supports

# Share of a usual increment that is small enough to look for the valley into which the wire snaps.
SNAPPING = 0.3
PATIENCE = 0.125  # where that found none, it is looked for again in increments so much shorter
FAILURES = {
    NOT_FINITE: Status.NOT_FINITE,
    CONTACTS_MOVE_ON: Status.DOES_NOT_FOLLOW,
    SUPPORTS_MOVE_ON: Status.YIELDING_SUPPORTS,
}


@dataclass(frozen=True, slots=True)
class _Found:
    """An equilibrium, and how it was come by."""

    rest: Rest
    let_down: bool = True
    left: tuple[int, ...] = ()
    """The supports that the wire left on the way."""


def walk(
    problem: Problem,
    number: int,
    leg: Leg,
    options: Options,
    accepted: list[Increment],
    observer: Observer | None,
) -> Problem:
    """Goes the leg of this ``number`` from ``problem`` on; returns the last mesh with its state.

    Appends to ``accepted`` and tells the observer of every increment.  Raises NoEquilibrium."""
    reached, usual = 0.0, 1.0 / leg.increments
    share, small = usual, SNAPPING * usual
    snaps = small
    while reached < 1.0:
        # whole shares, so that ten increments end at exactly 1
        target = 1.0 if reached + 1.0001 * share >= 1.0 else reached + share
        before = kept(problem) if options.snap else ()
        stood = problem.poses(reached)
        stable = not accepted or accepted[-1].outcome.wrong_pivots == 0
        near = advance(problem, number, target, options, stable)
        failed, found = near if isinstance(near, Outcome) else None, None
        if isinstance(near, Outcome):
            if options.follow and share <= snaps:
                down = let_down(problem, number, target, options)
                if isinstance(down, Outcome):
                    failed, snaps = down, PATIENCE * share
                else:
                    found = _Found(down)
        else:
            found = _Found(Rest(*near, rubbed=0.0, set_free=0.0), let_down=False)
            if options.snap and near[1].wrong_pivots:
                # just beyond the loss of stability there is one way down
                snapped = let_down(near[0], number, target, options, push=True) if share <= small else near[1]
                if isinstance(snapped, Rest):
                    found = _Found(snapped)
                elif 0.5 * share >= options.least_increment:
                    put_back(problem, before)
                    failed, found = snapped, None
        if found is None:
            assert failed is not None
            share *= 0.5
            if share >= options.least_increment:
                continue
            target, share = min(reached + share, 1.0), options.least_increment
            why = near.code if isinstance(near, Outcome) else 0
            found = _leaving(problem, number, target, options, accepted)
            if found is None:
                status = _why_not(why, problem.model, accepted)
                raise NoEquilibrium(status, reached, tuple(accepted), failed.history)
        problem, increment = _taken(found, number, (reached, target), stood, options, accepted)
        accepted.append(increment)
        if observer is not None:
            observer(increment)
        reached, share = target, min(2.0 * share, usual)
        if increment.let_down or share > small:
            snaps = small
    return problem


def _leaving(
    problem: Problem, number: int, target: float, options: Options, accepted: Sequence[Increment]
) -> _Found | None:
    """The wire at rest at ``target`` without the slots and ties that it is coming out of; None where it is not."""
    if not accepted or not options.follow:
        return None
    gone = left_behind(problem, accepted[-1].snapshot, number, target, options)
    return None if gone is None else _Found(gone[1], left=gone[0])


def _taken(
    found: _Found,
    number: int,
    shares: tuple[float, float],
    stood: Frames,
    options: Options,
    accepted: Sequence[Increment],
) -> tuple[Problem, Increment]:
    """The increment from one share of the leg to the other, and the problem at its end: what was ``found``, and where
    the wire lies in front of a slot that still bears something, without that.  ``stood``: frames of the supports at
    its start.  Commits the state."""
    reached, target = shares
    rest, left, fell = found.rest, found.left, found.let_down
    problem, outcome, free = rest.problem, rest.outcome, rest.set_free
    lost = settle(problem, target) + rest.rubbed
    snapshot = snapshot_of(problem, target, outcome.floor, at_rest=True)
    remember(problem.beam.fibres)
    out = wholly_out(problem, snapshot) if options.follow else ()
    if out:
        left += out
        alone = without(problem, out, number, target, options)
        if isinstance(alone, Outcome):
            status = _why_not(alone.code, problem.model, accepted, left)
            raise NoEquilibrium(status, reached, tuple(accepted), alone.history)
        problem, outcome, fell = alone.problem, alone.outcome, True
        free += alone.set_free
        lost += settle(problem, target) + alone.rubbed
        snapshot = snapshot_of(problem, target, outcome.floor)
        remember(problem.beam.fibres)
    snapshot.inside[[*left_before(accepted), *left]] = 0.0
    work = _work(problem.model, number, shares, stood, snapshot, accepted)
    return problem, Increment(number, target, outcome, snapshot, lost, fell, free, work, left)


def _work(
    model: Model,
    number: int,
    shares: tuple[float, float],
    stood: Frames,
    snapshot: Snapshot,
    accepted: Sequence[Increment],
) -> float:
    """What supports and loads put into the wire, N mm, from the last increment to ``snapshot``."""
    last = accepted[-1].snapshot if accepted else None
    work = work_of_supports(stood, snapshot, last)
    if model.loads is None and model.follower_loads is None:
        return work
    came = (last.positions, last.axes) if last else model.passive_frames(model.nodes)
    there = snapshot.positions, snapshot.axes
    loaded = shares if number == 0 else (1.0, 1.0)
    return work + work_of_loads(model.loads, model.follower_loads, loaded, came, there)


def _why_not(why: int, model: Model, accepted: Sequence[Increment], left: tuple[int, ...] = ()) -> Status:
    """What ends a way that found none for the reason ``why``; ``left``: the supports that the wire leaves last."""
    status = FAILURES.get(why, Status.TOO_MANY_ITERATIONS)
    if not accepted:
        return status
    return why_not(status, model, accepted[-1].snapshot, left_before(accepted).union(left))


def left_before(accepted: Sequence[Increment]) -> set[int]:
    """The supports that the wire has left."""
    return {k for one in accepted for k in one.left}
