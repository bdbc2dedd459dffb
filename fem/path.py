"""The way from the passive wire to the engaged one, increment by increment.

The mesh follows the slots: where the wire has slid, the nodes at the stations are moved along the wire to the
stations' new places and the balance is found again, so a contact always acts at a node.  (The passive shape
is known everywhere, and an elastic wire's answer depends on its last state only.)"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.equilibrium import Outcome, Problem, on_moved_nodes, on_new_mesh, problem_of, solve
from fem.equilibrium_kernel import CONVERGED, NOT_FINITE, TOO_MANY_ITERATIONS
from fem.model import Model
from fem.recovery import Snapshot, frames_at, snapshot_of, station_arcs
from fem.status import NoEquilibrium, Status
from geometry.meshing import line_mesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

# mm.  Nodes closer than this to a station that presses stay where they are: the force acts where the station is
# anyway (fem.contact_kernel), its direction errs by the wire's curvature times the distance.
FOLLOW_BEYOND = 1e-3
# At a station that does not press the gap alone counts, which errs by curvature times half the square, and by the twist
# rate times the distance times half the wire's size.  An end, a break or a held node this near serves a station too.
FOLLOW_LOOSELY = 5e-3
# Two nodes may not come closer together than this share of the distance they had.
LEAST_SHARE = 0.25
# So often an increment is followed; at first a station is where its pressing walls meet the wire.  If these take turns,
# the average of all settles it.
MOST_WEIGHED = 6
MOST_FOLLOWINGS = 20
LEAST_WAY = 0.2  # share of the way to its station that a node goes at least


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
    before, kept = problem, problem.state.flat.copy()
    outcome = _try(problem, target, options)
    if outcome.code != CONVERGED:
        before.state.flat[:] = kept
        return outcome
    if not options.follow:
        return problem, outcome
    iterations = outcome.iterations
    share, last = 1.0, None
    for following in range(MOST_FOLLOWINGS + 1):
        apart = stations_apart(problem, following < MOST_WEIGHED)
        if apart is None:
            break
        share, last = _relaxed(share, last, apart), apart
        moved = followed(problem, share * apart)
        if moved is None:
            break
        again = _try(moved, target, options) if following < MOST_FOLLOWINGS and moved is not problem else None
        if again is None or again.code != CONVERGED:
            before.state.flat[:] = kept
            return again or replace(outcome, code=TOO_MANY_ITERATIONS)
        problem, outcome = moved, again
        iterations += again.iterations
    _orthonormalise(problem.state.axes)
    return problem, replace(outcome, iterations=iterations)


def _relaxed(share: float, last: Array | None, apart: Array) -> float:
    """Share of the way (sites,) ``apart`` that nodes go, after ``share`` of the way ``last`` led here.

    Aitken's rule for vectors, which settles what swings to and fro as well as what creeps: Irons & Tuck, Int. J.
    Numer. Methods Engng 1 (1969) 275 (from memory)."""
    if last is None:
        return 1.0
    change = apart - last
    size = float(change @ change)
    return min(max(-share * float(last @ change) / size, LEAST_WAY), 1.0) if size > 0.0 else 1.0


def _try(problem: Problem, target: float, options: Options) -> Outcome:
    """Newton's method in three tempers:

    downhill steps, plain steps (no walls only), steps under a merit function.
    """
    most = options.most_iterations
    kept = problem.state.flat.copy()
    outcome = solve(problem, target, most=most)
    if outcome.code != CONVERGED and problem.state.low.size == 0:
        problem.state.flat[:] = kept
        outcome = solve(problem, target, downhill=False, most=most)
    if outcome.code != CONVERGED:
        problem.state.flat[:] = kept
        outcome = solve(problem, target, careful=True, most=2 * most)
    return outcome


def _orthonormalise(axes: Array) -> None:
    """Takes away the rounding that many small turns have added:

    nearest rotations, by one step of Newton's polar iteration.
    """
    axes[:] = 1.5 * axes - 0.5 * axes @ np.swapaxes(axes, 1, 2) @ axes


def stations_apart(problem: Problem, pressing_counts: bool = True) -> Array | None:
    """How far ahead of its node each station is along the wire, (sites,) mm, zero where nothing can slide; None where
    all are as near as need be.

    ``pressing_counts``: a station is where its pressing walls meet the wire; else where its walls do on average.
    """
    arcs, there = station_arcs(problem)
    state = problem.state
    force = np.bincount(problem.constraints.site_of, np.abs(state.low - state.high), minlength=arcs.size)
    nodes = problem.model.nodes[problem.station_nodes]
    apart, allowed = np.zeros(arcs.size), np.full(arcs.size, FOLLOW_LOOSELY)
    for slot in problem.constraints.slots:
        pressing = slot.by_station(force) * pressing_counts
        places = _station_places(slot.by_station(arcs), pressing, slot.offsets)
        here = np.logical_and.reduce(slot.by_station(there & problem.slides), axis=1)
        ahead = np.where(here, places - slot.by_station(nodes)[:, 0], 0.0)
        slot.by_station(apart)[:] = ahead[:, None]
        slot.by_station(allowed)[np.logical_or.reduce(pressing > 0.0, axis=1)] = FOLLOW_BEYOND
    return None if (np.abs(apart) <= allowed).all() else apart


def followed(problem: Problem, ahead: Array) -> Problem | None:
    """The same state on a mesh whose stations' nodes stand ``ahead`` (sites,) mm of where they stand now.

    The nodes between two stations stretch evenly.  Where a bend, a held section or an end is in their way, the wire
    is meshed anew: None where that gives the mesh there is, the very problem where loads hang at its nodes, which a
    new mesh would lose."""
    node = problem.station_nodes
    places = problem.model.nodes[node] + ahead
    moving = ahead != 0.0
    moved = _moved_nodes(problem, node[moving], places[moving])
    if moved is not None and (np.abs(places - moved[node])[moving] <= FOLLOW_BEYOND).all():
        # frames along the screws of the old elements
        return on_moved_nodes(problem, moved, *frames_at(problem, moved))
    return problem if problem.loads.any() else _meshed_anew(problem, places)


def _station_places(arcs: Array, pressing: Array, offsets: Array) -> Array:
    """Arc length (n,) of each station's node, from where its walls meet the wire (n, walls) and press it (n, walls).

    The walls of a tilted station meet the wire at different places.  Where some press, theirs count, and the
    stations between go along; where that would bring stations out of their order, the middle of all walls counts.
    """
    middle: Array = np.add.reduce(arcs, axis=1) / arcs.shape[1]
    total = np.add.reduce(pressing, axis=1)
    pressed = total > 0.0
    if not pressed.any():
        return middle
    ahead = np.add.reduce(pressing * arcs, axis=1)[pressed] / total[pressed] - middle[pressed]
    places: Array = middle + np.interp(offsets, offsets[pressed], ahead)
    in_order = places[1:] - places[:-1] > LEAST_SHARE * (middle[1:] - middle[:-1])
    return places if in_order.all() else middle


def _meshed_anew(problem: Problem, places: Array) -> Problem | None:
    """The same state on a new mesh with nodes at ``places`` (sites,); None where that is the mesh there is."""
    model = problem.model
    still = model.nodes[problem.still_nodes]
    nearest = still[np.abs(still - places[:, None]).argmin(axis=1)]
    marks = np.where(np.abs(nearest - places) < FOLLOW_LOOSELY, nearest, places).clip(still[0], still[-1])
    nodes = line_mesh(model.shape, np.concatenate((marks, still)))
    nodes = nodes[(nodes >= still[0]) & (nodes <= still[-1])]
    if nodes.size == model.nodes.size and np.abs(nodes - model.nodes).max() < FOLLOW_BEYOND:
        return None
    station_nodes = np.abs(nodes - places[:, None]).argmin(axis=1).astype(np.int64)
    return on_new_mesh(problem, nodes, station_nodes, *frames_at(problem, nodes))


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
