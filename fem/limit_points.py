"""A load followed past its limit points by arc length: how a rod snaps under dead forces.

Under a growing force balance is lost at a limit point, though the path of equilibria goes on, first with less force.
It is followed by asking for a step of given length along it, in place of a step of the load:

    K dq = r + dlambda f       r what is left of the balance, f the loads by which lambda is multiplied
    p . dq = 0                 in every correction, p the step that was predicted along K^-1 f

(Riks, J. Appl. Mech. 39 (1972) 1060; Crisfield, Computers & Structures 13 (1981) 55; the length is that of the nodes'
displacements, weighted by the wire they stand for.)  Only for loads with a potential, dead forces, and rods that touch
nothing: held by clamps and ties."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Loads
from fem.blocks_kernel import factorise, solve_blocks
from fem.equilibrium import Problem, problem_of
from fem.equilibrium_kernel import HELD
from fem.holds_kernel import hold_steps
from fem.loads_kernel import loads_turn
from fem.model import Model
from fem.newton_kernel import LEAST_SHIFT, evaluate, newton_system
from fem.status import NoEquilibrium, Status
from fem.sweeps_kernel import force_scales, largest_entries, place_nodes, remember_places
from geometry.checks import count, number
from geometry.pose import frozen

Array = NDArray[np.float64]

MOST_ITERATIONS = 15
USUAL_ITERATIONS = 5
LEAST_SHARE = 1e-4  # of the first step's length, below which a step that finds no balance ends the path
LONGEST_SHARE = 8.0


@dataclass(frozen=True, slots=True)
class LoadPoint:
    """One equilibrium on the way."""

    load: float
    """Share of the model's loads."""
    positions: Array
    """(n, 3) mm."""
    axes: Array
    """(n, 3, 3)."""
    wrong_pivots: int
    """Above zero: unstable under this load."""
    iterations: int


def follow_load(
    model: Model,
    until: Callable[[LoadPoint], bool],
    first: float = 0.05,
    most: int = 400,
) -> tuple[LoadPoint, ...]:
    """The equilibria of ``model`` under growing and, past a limit point, falling shares of its loads.

    Supports stand where they end.  ``first``: share of the loads by which the first step grows, which gives the length
    of the others; the path ends where ``until`` says so of a point, at ``most`` points at the latest.

    Raises ValueError for a model that touches anything or has other loads than dead forces, NoEquilibrium where the
    path cannot be followed on; its activation is then the load."""
    first = number("the first step of a load path", first, "", 1e-9, 1e9)
    most = count("the points of a load path", most)
    problem = problem_of(model)
    if problem.constraints.sites.slot.size:
        raise ValueError(
            "arc length follows a rod that touches nothing: use engage for slots, edges and threads, or hold "
            "the rod by clamps and ties"
        )
    if model.others or any(support.is_joint for support in model.supports):
        raise ValueError("arc length follows one rod without joints: use engage for several wires")
    if model.fibres is not None:
        raise ValueError(
            "arc length follows a wire that is elastic: use engage where it yields or transforms"
        )
    if model.links:
        raise ValueError("arc length follows a rod without links: use engage")
    if not problem.loads.dead.any() or loads_turn(problem.loads):
        raise ValueError(
            "arc length follows dead forces: give the model such loads, and no moments and no followers; "
            "a moment is applied by the pose of a clamp"
        )
    points: list[LoadPoint] = []
    load, length, shortest, came = 0.0, math.nan, math.nan, None
    while len(points) < most:
        kept = problem.state.flat.copy(), load
        along = _solved(problem, load, _load_vector(problem))
        size = _length(problem, along)
        if math.isnan(length):
            length, shortest = first * size, LEAST_SHARE * first * size
        world = _world(problem, along)
        forward = came is None or float((world * came).sum()) >= 0.0
        step = (length if forward else -length) / size
        found = _corrected(problem, load, along, step)
        if found is None:
            problem.state.flat[:] = kept[0]
            length *= 0.5
            if length < shortest:
                raise NoEquilibrium(Status.TOO_MANY_ITERATIONS, load, (), np.zeros((0, 4)))
            continue
        before = kept[0][: problem.state.positions.size].reshape(-1, 3)
        load, iterations, wrong = found
        came = problem.state.positions - before
        points.append(
            LoadPoint(load, frozen(problem.state.positions), frozen(problem.state.axes), wrong, iterations)
        )
        if until(points[-1]):
            break
        length = min(
            length * math.sqrt(USUAL_ITERATIONS / iterations), LONGEST_SHARE * shortest / LEAST_SHARE
        )
    return tuple(points)


def _scaled(problem: Problem, load: float) -> Loads:
    return Loads(load * problem.loads.dead, problem.loads.follower, problem.loads.links)


def _load_vector(problem: Problem) -> Array:
    """f (n, 6): the whole loads in the nodes' own axes."""
    out = np.zeros((problem.model.nodes.size, 6))
    inward = np.swapaxes(problem.state.axes, 1, 2)
    out[:, :3] = (inward @ problem.loads.dead[:, :3, None])[:, :, 0]
    return out


def _assemble(problem: Problem, load: float, scales: Array) -> None:
    """Matrix and right side of the balance at the state, factored."""
    position, axes = problem.poses(1.0)
    constraints, state, work = problem.constraints, problem.state, problem.work
    at = (problem.beam, _scaled(problem, load), position, axes, constraints.sites, constraints.holds)
    evaluate(*at, state, work, False)
    newton_system(*at, state, work, 0.0, False, False, scales)
    shift = LEAST_SHIFT * np.repeat(scales[3:5], 3)
    factorise(work.diagonal, work.upper, shift, work.factors, work.couplings)


def _solved(problem: Problem, load: float, right: Array) -> Array:
    """K^-1 right (n, 6) at the state."""
    _assemble(problem, load, np.zeros(6))
    out = right.copy()
    solve_blocks(problem.work.factors, problem.work.couplings, out)
    return out


def _world(problem: Problem, step: Array) -> Array:
    """Displacements (n, 3) of a step in the world's axes."""
    return np.asarray((problem.state.axes @ step[:, :3, None])[:, :, 0])


def _length(problem: Problem, step: Array) -> float:
    """Root of the mean square of the displacements."""
    return math.sqrt(float(_weights(problem) @ (_world(problem, step) ** 2).sum(axis=1)))


def _weights(problem: Problem) -> Array:
    """Share (n,) of the wire that every node stands for."""
    lengths = problem.beam.lengths
    out = np.zeros(lengths.size + 1)
    out[:-1] += 0.5 * lengths
    out[1:] += 0.5 * lengths
    return np.asarray(out / lengths.sum())


def _corrected(problem: Problem, load: float, along: Array, share: float) -> tuple[float, int, int] | None:
    """Load, iterations and wrong pivots of the equilibrium that a step of ``share`` of ``along`` leads to, the state
    brought there; None where none is found."""
    state, work, holds = problem.state, problem.work, problem.constraints.holds
    turn, scales = np.empty((3, 3)), np.zeros(6)
    weights = _weights(problem)[:, None]
    ahead = share * _world(problem, along)
    step, load = share * along, load + share
    for iteration in range(1, MOST_ITERATIONS + 1):
        remember_places(state.positions, state.axes, work.positions, work.axes)
        place_nodes(work.positions, work.axes, step, 1.0, turn, state.positions, state.axes)
        hold_steps(holds.node, work.hold_gradient, work.hold_weight, work.hold_value, step, work.hold_step)
        state.hold_force[:] += work.hold_step
        _assemble(problem, load, scales)
        force_scales(
            state.positions,
            problem.beam.lengths,
            problem.beam.compliance,
            work.stress,
            state.low,
            state.high,
            scales,
        )
        left = work.residual - _hold_forces(problem)
        force, moment = largest_entries(left)
        if not force <= 1e300:
            return None
        if (
            force <= max(1e-8 * scales[0], scales[2])
            and moment <= max(1e-8 * scales[1], scales[5])
            and np.abs(work.hold_value).max(initial=0.0) <= HELD
        ):
            wrong = factorise(
                work.diagonal,
                work.upper,
                LEAST_SHIFT * np.repeat(scales[3:5], 3),
                work.factors,
                work.couplings,
            )
            return load, iteration, int(wrong)
        rest, unit = work.step.copy(), _load_vector(problem)
        solve_blocks(work.factors, work.couplings, rest)
        solve_blocks(work.factors, work.couplings, unit)
        across = float((weights * ahead * _world(problem, unit)).sum())
        change = -float((weights * ahead * _world(problem, rest)).sum()) / across
        step, load = rest + change * unit, load + change
    return None


def _hold_forces(problem: Problem) -> Array:
    """What the holds put against the residual (n, 6)."""
    holds, out = problem.constraints.holds, np.zeros_like(problem.work.residual)
    np.add.at(out, holds.node, problem.state.hold_force[:, None] * problem.work.hold_gradient)
    return out
