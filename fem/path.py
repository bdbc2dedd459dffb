"""The way from the passive wire to the engaged one, increment by increment.

The mesh follows the slots: where the wire has slid, the nodes at the stations are moved along the wire to the
stations' new places and the balance is found again, so a contact always acts at a node.  (The passive shape
is known everywhere, and an elastic wire's answer depends on its last state only.)"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.equilibrium import Outcome, Problem, on_moved_nodes, problem_of, solve
from fem.equilibrium_kernel import CONVERGED, NOT_FINITE
from fem.model import Model
from fem.recovery import Snapshot, frames_at, snapshot_of, station_arcs
from fem.status import NoEquilibrium, Status

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

# Nodes closer to their stations than this stay where they are: its share of the span is the error it makes.
FOLLOW_BEYOND = 1e-4
# Two nodes may not come closer together than this share of the distance they had.
LEAST_SHARE = 0.25
MOST_FOLLOWINGS = 6


@dataclass(frozen=True, slots=True)
class Options:
    """How a path is walked.  None of these changes an elastic answer."""

    increments: int = 10
    least_increment: float = 1.0 / 512.0
    """Share of the activation below which an increment that finds no equilibrium ends the path."""
    most_iterations: int = 60
    follow: bool = True

    def __post_init__(self) -> None:
        if self.increments < 1:
            raise ValueError(f"a path needs at least one increment: got {self.increments}")


@dataclass(frozen=True, slots=True)
class Increment:
    """One accepted increment."""

    activation: float
    outcome: Outcome
    snapshot: Snapshot


@dataclass(frozen=True, slots=True)
class Path:
    """All accepted increments, from the first to full activation."""

    status: Status
    increments: tuple[Increment, ...]
    problem: Problem
    """The last mesh with its state."""

    @property
    def last(self) -> Increment:
        """Full activation."""
        return self.increments[-1]


Observer = Callable[[Increment], None]


def engage(model: Model, options: Options | None = None, observer: Observer | None = None) -> Path:
    """Moves every support from its start to its end and keeps the wire in equilibrium.

    The observer hears of each accepted increment.  Raises NoEquilibrium, which carries what was accepted and
    the history."""
    options = options or Options()
    problem = problem_of(model)
    accepted: list[Increment] = []
    reached = 0.0
    share = 1.0 / options.increments
    while reached < 1.0:
        # whole shares, so that ten increments end at exactly 1
        target = 1.0 if reached + 1.0001 * share >= 1.0 else reached + share
        found = _advance(problem, target, options)
        if isinstance(found, Outcome):
            share *= 0.5
            if share < options.least_increment:
                code = Status.NOT_FINITE if found.code == NOT_FINITE else Status.TOO_MANY_ITERATIONS
                raise NoEquilibrium(code, reached, tuple(accepted), found.history)
            continue
        problem, outcome = found
        increment = Increment(target, outcome, snapshot_of(problem, target, outcome.floor))
        accepted.append(increment)
        if observer is not None:
            observer(increment)
        reached = target
        share = min(2.0 * share, 1.0 / options.increments)
    return Path(_status(accepted[-1]), tuple(accepted), problem)


def _status(increment: Increment) -> Status:
    if increment.outcome.wrong_pivots > 0:
        return Status.UNSTABLE
    if not increment.snapshot.any_force:
        return Status.PASSIVE
    return Status.ENGAGED


def _advance(problem: Problem, target: float, options: Options) -> tuple[Problem, Outcome] | Outcome:
    """The problem and outcome at ``target``, or the failed outcome with the problem's state put back."""
    kept = _kept(problem)
    outcome = _try(problem, target, options)
    if outcome.code != CONVERGED:
        _put_back(problem, kept)
        return outcome
    if not options.follow:
        return problem, outcome
    iterations = outcome.iterations
    for _ in range(MOST_FOLLOWINGS):
        moved = followed(problem)
        if moved is None:
            break
        again = _try(moved, target, options)
        if again.code != CONVERGED:
            _put_back(problem, kept)
            return again
        problem, outcome = moved, again
        iterations += again.iterations
    _orthonormalise(problem.state.axes)
    return problem, replace(outcome, iterations=iterations)


def _try(problem: Problem, target: float, options: Options) -> Outcome:
    """Newton's method in three tempers:

    downhill steps, plain steps (no walls only), steps under a merit function.
    """
    most = options.most_iterations
    kept = _kept(problem)
    outcome = solve(problem, target, most=most)
    if outcome.code != CONVERGED and problem.state.low.size == 0:
        _put_back(problem, kept)
        outcome = solve(problem, target, downhill=False, most=most)
    if outcome.code != CONVERGED:
        _put_back(problem, kept)
        outcome = solve(problem, target, careful=True, most=2 * most)
    return outcome


def _kept(problem: Problem) -> tuple[Array, Integers]:
    """All that an increment changes and a failed one must give back."""
    return problem.state.flat.copy(), problem.state.site_element.copy()


def _put_back(problem: Problem, kept: tuple[Array, Integers]) -> None:
    problem.state.flat[:], problem.state.site_element[:] = kept


def _orthonormalise(axes: Array) -> None:
    """Takes away the rounding that many small turns have added:

    nearest rotations, by one step of Newton's polar iteration.
    """
    axes[:] = 1.5 * axes - 0.5 * axes @ np.swapaxes(axes, 1, 2) @ axes


def followed(problem: Problem) -> Problem | None:
    """The same state on a mesh whose nodes stand where walls press; None where they do already, or where they
    cannot.

    Only stations that press are followed, the nodes between them stretch evenly: the wire elsewhere needs no
    nodes there."""
    sites = problem.constraints.sites
    site_of = problem.constraints.site_of
    force = np.bincount(site_of, np.abs(problem.state.low - problem.state.high), minlength=sites.slot.size)
    arcs, there = station_arcs(problem)
    pressing = (force > 0.0) & there
    if not pressing.any():
        return None
    index, inverse = np.unique(problem.station_nodes[pressing], return_inverse=True)
    share = np.bincount(inverse, force[pressing])
    wanted = np.bincount(inverse, force[pressing] * arcs[pressing]) / share
    nodes = problem.model.nodes
    if np.abs(wanted - nodes[index]).max() < FOLLOW_BEYOND:
        return None
    moved = _moved_nodes(problem, index, wanted)
    if moved is None or np.abs(moved - nodes).max() < FOLLOW_BEYOND:
        return None
    # frames along the screws of the old elements
    return on_moved_nodes(problem, moved, *frames_at(problem, moved))


def _moved_nodes(problem: Problem, index: Integers, wanted: Array) -> Array | None:
    """Nodes ``index`` moved to ``wanted``; ends, bends and held nodes stay, the rest is stretched between.

    None where two nodes would come too close, as when a bend slides up to a slot.
    """
    nodes = problem.model.nodes
    pinned = np.zeros(nodes.size, dtype=np.bool_)
    pinned[index] = pinned[problem.still_nodes] = True
    after = nodes.copy()
    after[index] = wanted
    after[problem.still_nodes] = nodes[problem.still_nodes]
    before, after = nodes[pinned], after[pinned]
    if (after[1:] - after[:-1] < LEAST_SHARE * (before[1:] - before[:-1])).any():
        return None
    return np.interp(nodes, before, after)
