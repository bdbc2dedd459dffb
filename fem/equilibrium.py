"""One model's arrays, and one increment on them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Beam, State, Work
from fem.beam_kernel import element_screws, linear_section_law
from fem.equilibrium_kernel import solve_increment
from fem.model import Model
from fem.supports import Constraints, Ways, constraints_of

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

# N mm.  The barrier starts where a force of 1 N stands 0.1 micrometre from its wall, and ends where walls
# sort themselves.
BARRIER_START = 1e-4
BARRIER_END = 1e-12


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one increment went."""

    code: int
    iterations: int
    wrong_pivots: int
    """Pivots of the last matrix that were not positive: the equilibrium is no minimum."""
    without_barrier: bool
    """Finished by Newton's method on the walls that press."""
    residual: float
    """Largest force left over at a node, N."""
    floor: float
    """Rounding floor of the balance, N."""
    history: Array
    """(iterations + 1, 4): force, moment, constraint error, barrier product."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Arrays of one model on one mesh.

    The state's arrays are changed by `solve`; everything else is fixed.
    """

    model: Model
    beam: Beam
    constraints: Constraints
    ways: Ways
    state: State
    backup: State
    work: Work
    loads: Array
    station_nodes: Integers
    """(sites,) node that stands at each wall's station, however the mesh moves."""
    support_arcs: Array
    """(k,) arc length that each support meets before the wire slides, mm."""
    support_nodes: Integers
    """(k,) node nearest to it."""
    slides: NDArray[np.bool_]
    """(sites,) whether the wire may slide there: not where its node is a held section."""
    still_nodes: Integers
    """Nodes that stay where they are when the mesh moves."""


def _empty_state(nodes: int, sites: int, walls: int, holds: int) -> State:
    """All floats that a step changes lie in one array, so that a state is copied in one sweep."""
    shapes = ((nodes, 3), (nodes, 3, 3), (nodes - 1, 6), (walls,), (walls,), (walls,), (holds,))
    flat = np.zeros(sum(map(math.prod, shapes)))
    views = []
    begin = 0
    for shape in shapes:
        size = math.prod(shape)
        views.append(flat[begin : begin + size].reshape(shape))
        begin += size
    positions, axes, predicted, slack, low, high, hold_force = views
    return State(
        positions=positions,
        axes=axes,
        predicted=predicted,
        slack=slack,
        low=low,
        high=high,
        hold_force=hold_force,
        flat=flat,
        gap=np.zeros(walls),
        gradient=np.zeros((walls, 6)),
        site_node=np.zeros(sites, dtype=np.int64),
        site_there=np.zeros(sites, dtype=np.int64),
        site_ahead=np.zeros(sites),
        site_point=np.zeros((sites, 3)),
    )


def _workspace(nodes: int, sites: int, walls: int, holds: int) -> Work:
    return Work(
        screws=np.zeros((nodes - 1, 6)),
        stress=np.zeros((nodes - 1, 6)),
        jacobians=np.zeros((nodes - 1, 2, 3, 3)),
        residual=np.zeros((nodes, 6)),
        diagonal=np.zeros((nodes, 6, 6)),
        upper=np.zeros((nodes - 1, 6, 6)),
        factors=np.zeros((nodes, 6, 6)),
        couplings=np.zeros((nodes - 1, 6, 6)),
        step=np.zeros((nodes, 6)),
        right=np.zeros((nodes, 6)),
        change=np.zeros(walls),
        weight=np.zeros(walls),
        force=np.zeros(walls),
        target=np.zeros(walls),
        mode=np.zeros(walls, dtype=np.int64),
        hold_value=np.zeros(holds),
        hold_gradient=np.zeros((holds, 6)),
        hold_weight=np.zeros(holds),
        hold_step=np.zeros(holds),
        positions=np.zeros((nodes, 3)),
        axes=np.zeros((nodes, 3, 3)),
        d_slack=np.zeros(walls),
        d_low=np.zeros(walls),
        d_high=np.zeros(walls),
    )


def problem_of(model: Model, station_nodes: Integers | None = None) -> Problem:
    """Arrays of ``model`` with the wire in its passive shape.

    ``station_nodes`` (sites,) None: each station has the node nearest to where it is found before activation.
    """
    constraints = constraints_of(model)
    sizes = (
        model.nodes.size,
        constraints.sites.slot.size,
        constraints.sites.sign.size,
        constraints.holds.node.size,
    )
    arcs = np.array([support.arc for support in model.supports], dtype=np.float64)
    if station_nodes is None:
        stations = arcs[constraints.sites.slot] + constraints.sites.offset
        station_nodes = np.abs(model.nodes[None, :] - stations[:, None]).argmin(axis=1).astype(np.int64)
    support_nodes = np.abs(model.nodes - arcs[:, None]).argmin(axis=1).astype(np.int64)
    holding = np.array([support.holds_section for support in model.supports], dtype=np.bool_)
    loads = np.zeros((model.nodes.size, 6)) if model.loads is None else np.array(model.loads)
    state = _empty_state(*sizes)
    state.positions[:], state.axes[:] = model.passive_frames(model.nodes)
    state.site_node[:] = station_nodes
    lengths = np.diff(model.nodes)
    return Problem(
        model,
        Beam(lengths, model.passive_screws(), model.law.element_stiffness(lengths)),
        constraints,
        Ways.of(model.supports),
        state,
        _empty_state(*sizes),
        _workspace(*sizes),
        loads,
        station_nodes,
        arcs,
        support_nodes,
        ~np.isin(station_nodes, support_nodes[holding]),
        model.still_nodes(),
    )


def on_moved_nodes(problem: Problem, nodes: Array, positions: Array, axes: Array) -> Problem:
    """The same problem on a mesh of the same numbering whose nodes stand elsewhere along the wire, at
    ``positions`` (n, 3) with ``axes`` (n, 3, 3).

    Only elements and state are new; the state carries the old one's forces.  Scratch is shared."""
    model = replace(problem.model, nodes=nodes)
    lengths = np.diff(nodes)
    # within a piece of the passive shape a screw is as long as its element
    passive = problem.beam.passive_screws * (lengths / problem.beam.lengths)[:, None]
    old = problem.state
    state = _empty_state(nodes.size, old.site_node.size, old.low.size, old.hold_force.size)
    state.flat[:], state.site_node[:] = old.flat, old.site_node
    state.positions[:], state.axes[:] = positions, axes
    beam = Beam(lengths, passive, model.law.element_stiffness(lengths))
    moved = replace(problem, model=model, beam=beam, state=state)
    _, state.predicted[:] = current_stress(moved)
    return moved


def on_new_mesh(
    problem: Problem, nodes: Array, station_nodes: Integers, positions: Array, axes: Array
) -> Problem:
    """The same problem on another mesh altogether, whose nodes (n,) stand at ``positions`` with ``axes``.

    The state carries the old one's wall and hold forces.
    """
    made = problem_of(replace(problem.model, nodes=nodes), station_nodes)
    state, old = made.state, problem.state
    state.positions[:], state.axes[:] = positions, axes
    state.slack[:], state.low[:], state.high[:] = old.slack, old.low, old.high
    state.hold_force[:] = old.hold_force
    _, state.predicted[:] = current_stress(made)
    return made


def solve(
    problem: Problem,
    activation: float,
    careful: bool = False,
    downhill: bool = True,
    quick: int = 1,
    most: int = 60,
) -> Outcome:
    """Brings the state into equilibrium at ``activation``; the caller keeps what it may need back.

    ``careful``: every step must lower the merit function (line search), for increments that Newton alone does
    not settle."""
    history = np.zeros((4 * most + 60, 4))
    scales = np.zeros(5)
    position, axes = problem.ways.at(activation)
    code, iterations, wrong, finished = solve_increment(
        problem.beam, activation * problem.loads, position, axes,
        problem.constraints.sites, problem.constraints.holds, problem.state, problem.backup, problem.work, scales,
        BARRIER_START, BARRIER_END, careful, downhill, quick, most, history,
    )  # fmt: skip
    history = history[: iterations + 1]
    return Outcome(code, iterations, wrong, bool(finished), float(history[-1, 0]), float(scales[2]), history)


def current_stress(problem: Problem) -> tuple[Array, Array]:
    """Screws and stress resultants (m, 6) of all elements at the state."""
    screws, stress = np.empty((2, *problem.work.stress.shape))
    element_screws(problem.state.positions, problem.state.axes, screws)
    linear_section_law(
        screws, problem.beam.passive_screws, problem.beam.lengths, problem.beam.stiffness, stress
    )
    return screws, stress
