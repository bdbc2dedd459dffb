"""A way walked for its loads only: what thousands of samples need of ``fem.path``, increment by increment compiled.

The answers are those of ``fem.path.engage`` on the same legs, to the rounding of how closely arms follow (figures in
tests/fem/test_batch.py).  Wires with friction, dead or follower loads or links, supports that give way and slots that
are open are not walked here; nor is a way on which an increment fails or an equilibrium is no minimum.  All of that is
the usual way's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fem.advance import MOST_FOLLOWINGS, MOST_MOVES, Options, advance, kept, put_back
from fem.arrays import State
from fem.batch_kernel import NEEDS_HELP, NEEDS_NODES, WHOLE, walk
from fem.equilibrium import BARRIER_END, BARRIER_NEAR, BARRIER_START, MEAN_OVER, Outcome, Problem
from fem.floating import may_float_out
from fem.following import (
    LEAST_WAY,
    NODE_OFF,
    NODE_OFF_SHARE,
    OTHERS_OFF,
    PRESSING_OFF,
    TAKING_TURNS,
    TURNING_TWIST_OFF,
    TWIST_OFF,
    followed,
)
from fem.model import PointTie
from fem.newton_kernel import NEUTRAL_SHIFT
from fem.recovery import snapshot_of
from fem.supports import Ways
from fem.workspace import empty_state

Array = NDArray[np.float64]

# A step goes on straight where it leaves the line of the one before by less than this share of itself.
STRAIGHT = 0.2
MOST_RATIO = 2.0


@dataclass(frozen=True, slots=True)
class Walked:
    """What was found at every increment of a way."""

    force: Array
    """(p, k, 3) on every support, world axes, N."""
    moment: Array
    """(p, k, 3) about its acting point, world axes, N mm."""
    axes: Array
    """(p, k, 3, 3) of the supports."""
    any_force: NDArray[np.bool_]
    """(p,) whether any support carries more than rounding."""
    resultants: Array | None
    """(p, m, 2, 6) section force and moment at both ends of every element; None unless asked for."""
    helped: int
    """How many increments ``fem.advance`` made."""


def plain(problem: Problem) -> bool:
    """Whether a problem's way may be walked here."""
    loads = problem.loads
    return not (
        problem.rubs
        or problem.compliance.any()
        or loads.dead.any()
        or loads.follower.any()
        or problem.model.links
        or problem.active is not None
        or may_float_out(problem)
    )


def walked(problem: Problem, legs: Sequence[tuple[Ways, int]], stress: bool = False) -> Walked | None:
    """Walks a ``plain`` problem leg by leg, each a way and its number of increments.

    None where an increment finds no equilibrium or none that is a minimum, or the wire was meshed anew and ``stress``
    is asked for: then the usual way has the answer."""
    stops = [(ways, share) for ways, increments in legs for share in _shares(increments)]
    positions, axes = (
        np.array(part) for part in zip(*(ways.at(share) for ways, share in stops), strict=True)
    )
    count, supports = positions.shape[:2]
    read = _Read(
        np.zeros((count, supports, 6)),
        np.zeros(count),
        np.zeros((count if stress else 0, problem.model.nodes.size - 1, 2, 6)),
    )
    ratios = _ratios(positions, axes)
    prisms = _Prisms(np.zeros(problem.constraints.station_of.size), np.ones(1))
    before = problem.state.flat.copy()
    begin, helped, moves = 0, 0, 0
    start = problem, kept(problem)
    while begin < count:
        if stress and problem.model.nodes.size - 1 != read.ends.shape[1]:
            return None
        was = _empty_like(problem)
        found, code, following = _walk(
            problem, was, positions, axes, ratios, begin, moves, before, prisms, read
        )
        if code == WHOLE:
            break
        if found > begin or moves == 0:
            start = problem, _changed(problem, was)
        begin, moves = found, 0
        if code == NEEDS_NODES:
            moved = followed(problem, stops[found][1], prisms.last_off, float(prisms.share[0]), True)
            if moved is not None:
                # states before and after belong to other nodes
                problem, moves, before = moved, following, moved.state.flat.copy()
                ratios[found : found + 2] = 0.0
                continue
        if code == NEEDS_HELP or code == NEEDS_NODES:
            problem = start[0]
            put_back(*start)
        before = problem.state.flat.copy()
        helped += 1
        ways, share = stops[found]
        one = advance(replace(problem, ways=ways), 1, share, Options(exact_ends=False))
        if isinstance(one, Outcome) or one[1].wrong_pivots:
            return None
        problem, outcome = one
        snapshot = snapshot_of(problem, share, outcome.floor)
        read.loads[found, :, :3], read.loads[found, :, 3:] = snapshot.force, snapshot.moment
        read.floors[found] = outcome.floor
        if stress:
            if snapshot.resultants.shape != read.ends.shape[1:]:
                return None
            read.ends[found] = snapshot.resultants
        if before.size != problem.state.flat.size:
            before = problem.state.flat.copy()
        ratios[found + 1 : found + 2] = 0.0
        begin = found + 1
    force, moment = read.loads[..., :3].copy(), read.loads[..., 3:].copy()
    _drop_rounding(force, moment, read.floors)
    any_force = np.asarray(force.any(axis=(1, 2)) | moment.any(axis=(1, 2)))
    return Walked(force, moment, axes, any_force, read.ends if stress else None, helped)


@dataclass(frozen=True, slots=True)
class _Read:
    """What the increments are read off into."""

    loads: Array
    """(p, k, 6)"""
    floors: Array
    """(p,)"""
    ends: Array
    """(p, m, 2, 6), or none of them"""


@dataclass(frozen=True, slots=True)
class _Prisms:
    """How the prisms went in the increment under way."""

    last_off: Array
    """(s,) mm"""
    share: Array
    """(1,)"""


def _empty_like(problem: Problem) -> State:
    constraints = problem.constraints
    return empty_state(
        problem.model.nodes.size,
        constraints.station_of.size,
        constraints.site_of.size,
        constraints.holds.node.size,
    )


def _changed(problem: Problem, state: State) -> tuple[NDArray[Any], ...]:
    """What ``fem.advance.put_back`` takes, from a state that the core has kept."""
    touch = state.touch
    contact = (touch.node, touch.arm, touch.turn, touch.course, touch.reach, touch.outermost)
    rubbing = problem.state.rubbing
    hooks = (*problem.hooks[1:], problem.constraints.holds.other)
    return (state.flat, problem.deflection, *contact, rubbing.zero, rubbing.spot, *hooks)


def _walk(
    problem: Problem,
    was: State,
    positions: Array,
    axes: Array,
    ratios: Array,
    begin: int,
    moves: int,
    before: Array,
    prisms: _Prisms,
    read: _Read,
) -> tuple[int, int, int]:
    """The compiled walk with everything it needs: increment, code, followings."""
    model, constraints = problem.model, problem.constraints
    still = np.zeros(model.nodes.size, dtype=np.bool_)
    still[problem.still_nodes] = True
    tied = np.array(
        [
            node if isinstance(support.restraint, PointTie) else -1
            for support, node in zip(model.supports, problem.support_nodes, strict=True)
        ],
        dtype=np.int64,
    )
    limits = np.array((PRESSING_OFF, OTHERS_OFF, TWIST_OFF, TURNING_TWIST_OFF, NODE_OFF / model.fineness,
                       NODE_OFF_SHARE, LEAST_WAY))  # fmt: skip
    rules = np.array((MOST_FOLLOWINGS, TAKING_TURNS, MOST_MOVES))
    barriers = np.array((BARRIER_START, BARRIER_NEAR, BARRIER_END))
    # a copy: frozen arrays would have the kernels compiled once more
    nodes = np.array(model.nodes)
    found, code, following = walk(
        problem.beam, problem.loads, constraints.sites, constraints.holds, problem.state, problem.backup, was,
        problem.work, nodes, constraints.site_of, constraints.station_of, problem.station_nodes, still, positions,
        axes, ratios, tied, MEAN_OVER, limits, rules, barriers, Options().most_iterations, NEUTRAL_SHIFT, begin, moves,
        before, prisms.last_off, prisms.share, read.loads, read.floors, read.ends,
    )  # fmt: skip
    return int(found), int(code), int(following)


def _shares(increments: int) -> list[float]:
    """Shares of a leg, as ``fem.path`` takes them."""
    shares, reached, share = [], 0.0, 1.0 / increments
    while reached < 1.0:
        reached = 1.0 if reached + 1.0001 * share >= 1.0 else reached + share
        shares.append(reached)
    return shares


def _ratios(positions: Array, axes: Array) -> Array:
    """How long each step of the supports is in terms of the one before, (p,); 0 where it does not go on straight."""
    count = len(positions)
    # a turn counts by what it moves a point 1 mm away
    places = np.concatenate((positions.reshape(count, -1), axes.reshape(count, -1)), axis=1)
    steps = np.diff(places, axis=0)
    ratios = np.zeros(count)
    if count > 2:
        sizes = (steps * steps).sum(axis=1)
        along = (steps[1:] * steps[:-1]).sum(axis=1)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = along / sizes[:-1]
        ratio[~np.isfinite(ratio)] = 0.0
        aside = steps[1:] - ratio[:, None] * steps[:-1]
        straight = (aside * aside).sum(axis=1) <= STRAIGHT**2 * sizes[1:]
        ratios[2:] = np.where(straight & (ratio > 0.0) & (ratio <= MOST_RATIO), ratio, 0.0)
    return ratios


def _drop_rounding(force: Array, moment: Array, floors: Array) -> None:
    """As ``fem.recovery`` has it: below the rounding floor there is nothing."""
    force[np.abs(force).max(axis=2, initial=0.0) <= floors[:, None]] = 0.0
    moment[np.abs(moment).max(axis=2, initial=0.0) <= 10.0 * floors[:, None]] = 0.0
