"""One model's arrays, and one increment on them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Beam, Links, Loads, State, Work
from fem.beam_kernel import element_screws
from fem.contact_kernel import evaluate_sites
from fem.equilibrium_kernel import solve_increment
from fem.fibre_beam import fibres_of_elements, warm
from fem.fibre_elements_kernel import elements, predict_strains
from fem.friction_kernel import evaluate_slip, settle_friction
from fem.hooks import Hooks, hooks_of, place_hooks, placed_frames
from fem.links_kernel import COLUMNS, add_links
from fem.model import Model
from fem.mounts import compliance_of, deflected
from fem.newton_kernel import LEAST_SHIFT, unstable_pivots
from fem.prisms_kernel import courses
from fem.supports import Constraints, Ways, constraints_of
from fem.workspace import empty_state, workspace
from geometry.motion import frames_between

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

# N mm.  The barrier starts where a force of 1 N stands 0.1 micrometre from its wall (nearer, where the answer is known
# to be near), and ends where walls sort themselves.
BARRIER_START = 1e-4
BARRIER_NEAR = 1e-8
BARRIER_END = 1e-12
# mm to either side of a place over which the course of the wire is taken; the twist more widely, where that does not
# settle.  A couple makes the twist of a beam jump; in a wire it changes over the section's size (Saint-Venant).  What
# all contacts together push the wire along, half the jump of T^2/GJ, is the same for any width.
MEAN_OVER, WIDELY = 0.005, 0.1


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
    loads: Loads
    active: tuple[bool, ...] | None
    """(k,) which supports hold the wire; None: all."""
    rubs: bool
    """Whether there is friction anywhere."""
    station_nodes: Integers
    """(stations,) node that stands at each station, however the mesh moves."""
    support_arcs: Array
    """(k,) arc length that each support meets before the wire slides, mm."""
    support_nodes: Integers
    """(k,) node nearest to it."""
    still_nodes: Integers
    """Nodes that stay where they are when the mesh moves."""
    compliance: Array
    """(k, 6, k, 6) of the supports, zeros where they do not give way."""
    deflection: Array
    """(k, 6) by which they have given way; see fem.mounts."""
    felt: Array
    """(6 k, 6 k) stiffness that the wire puts against that, as far as fem.mounts has learned it."""
    temperatures: tuple[float | None, float | None]
    """At the start of the way and at its end, degC; None: the reference temperature of the wire's material."""

    hooks: Hooks
    """Joints that slide; see fem.hooks."""

    def poses(self, share: float) -> tuple[Array, Array]:
        """Positions (k, 3) and axes (k, 3, 3) of the supports after ``share`` of the way, given way as they have."""
        return placed_frames(self.hooks, *deflected(*self.ways.at(share), self.deflection))

    def temperature(self, share: float) -> float | None:
        """Of the wire after ``share`` of the way, degC."""
        start, end = self.temperatures
        return end if start is None or end is None else start + share * (end - start)


def problem_of(model: Model, active: Sequence[bool] | None = None) -> Problem:
    """Arrays of ``model`` with the wire in its passive shape, held by its ``active`` (k,) supports only, where
    given."""
    constraints = constraints_of(model, active)
    sizes = (
        model.nodes.size,
        constraints.sites.slot.size,
        constraints.sites.sign.size,
        constraints.holds.node.size,
    )
    arcs = np.array([support.arc for support in model.supports], dtype=np.float64)
    stations = np.zeros(constraints.stations)
    for slot in constraints.slots:
        begin = slot.first_station
        stations[begin : begin + slot.offsets.size] = (arcs[slot.support] + slot.offsets).clip(
            *model.ends_at(arcs[[slot.support]])
        )
    none = np.zeros((model.nodes.size, 6))
    dead, follower = (none if of is None else np.array(of) for of in (model.loads, model.follower_loads))
    loads = Loads(dead, follower, _links(model))
    lengths = np.diff(model.nodes)
    fibres = fibres_of_elements(model.fibres, model.law, lengths.size, model.temperature)
    strains = fibres.moves.shape[:3]
    state = empty_state(*sizes, strains)
    state.positions[:], state.axes[:] = model.passive_frames(model.nodes)
    passive = np.empty((model.nodes.size - 1, 6))
    element_screws(state.positions, state.axes, passive)
    columns = COLUMNS * len(model.links) + int((constraints.holds.other >= 0).sum())
    problem = Problem(
        model,
        Beam(lengths, passive, model.compliances(), fibres),
        constraints,
        Ways.of([support.start for support in model.supports], [support.end for support in model.supports]),
        state,
        empty_state(*sizes, strains),
        workspace(sizes[0], sizes[2], sizes[3], columns),
        loads,
        None if active is None else tuple(active),
        bool((constraints.sites.friction > 0.0).any()),
        nearest_nodes(model.nodes, stations),
        arcs,
        nearest_nodes(model.nodes, arcs),
        model.still_nodes(),
        compliance_of([support.compliance for support in model.supports]),
        np.zeros((len(model.supports), 6)),
        np.zeros((6 * len(model.supports),) * 2),
        (model.temperature, model.temperature),
        hooks_of(model),
    )
    place_hooks(problem, problem.hooks.arcs)
    place_arms(problem, arcs[constraints.sites.slot] + constraints.offset)
    return problem


def _links(model: Model) -> Links:
    """The links of the model between the nodes nearest to their ends."""
    links = model.links
    return Links(
        nearest_nodes(model.nodes, np.array([link.arc for link in links], dtype=np.float64)),
        nearest_nodes(model.nodes, np.array([link.other for link in links], dtype=np.float64)),
        np.array([link.rest for link in links], dtype=np.float64),
        np.array([link.stiffness for link in links], dtype=np.float64),
        np.array([link.pulls_only for link in links], dtype=np.bool_),
    )


def nearest_nodes(nodes: Array, arcs: Array) -> Integers:
    """Number (k,) of the node nearest to each arc length (k,)."""
    if not arcs.size:
        return np.zeros(0, dtype=np.int64)
    after = np.searchsorted(nodes, arcs).clip(1, nodes.size - 1)
    nearer = arcs - nodes[after - 1] < nodes[after] - arcs
    return np.where(nearer, after - 1, after).astype(np.int64)


def place_arms(problem: Problem, arcs: Array, twist_over: float = MEAN_OVER) -> None:
    """Every site looks at the wire at its arc length (sites,), on a rigid arm fixed to its station's node;
    ``twist_over`` as `course_at` has it.

    Not to the nearest node: three walls on one node would hold a bent wire straight.
    """
    if not arcs.size:
        return
    state, nodes = problem.state, problem.model.nodes
    slot = problem.constraints.sites.slot
    at = arcs.clip(*problem.model.ends_at(problem.support_arcs[slot]))
    station = problem.constraints.station_of
    node = nearest_nodes(nodes, at)
    node[station >= 0] = problem.station_nodes[station[station >= 0]]
    places, sections = frames_between(nodes, state.positions, state.axes, at)
    inward = np.swapaxes(state.axes, 1, 2)[node]
    state.touch.node[:] = node
    state.touch.arm[:] = (inward @ (places - state.positions[node])[:, :, None])[:, :, 0]
    state.touch.turn[:] = inward @ sections
    state.touch.reach[:] = at - nodes[node]
    state.touch.outermost[:] = 0
    for first, last in problem.model.spans:
        state.touch.outermost[node == first] = -1
        state.touch.outermost[node == last] = 1
    state.touch.course[:] = course_at(problem, at, nodes[node], twist_over)


def course_at(problem: Problem, at: Array, node: Array, twist_over: float = MEAN_OVER) -> Array:
    """Twist rate and curvatures (k, 3), rad/mm, of the wire as it is: curvatures at arc lengths ``at`` (k,), the twist
    at the ``node`` (k,) mm, where the force of the site acts.

    A couple makes the twist jump there; what counts for the work of sliding is the mean of both sides, over
    ``twist_over`` mm of each."""
    state, out = problem.state, np.empty((at.size, 3))
    # a copy: a read-only array would have the kernel compiled again
    nodes = problem.model.nodes.copy()
    first, last = (ends.copy() for ends in problem.model.ends_at(at))
    over = (twist_over, MEAN_OVER, MEAN_OVER)
    courses(nodes, state.positions, state.axes, at, node, over, first, last, out)
    return out


def slip_of(problem: Problem, share: float) -> Array:
    """Slip (sites, 2) of all contacts with friction after ``share`` of the way, mm."""
    return _places(problem, share) - problem.state.rubbing.zero


def keep_slip(problem: Problem, share: float, slip: Array) -> None:
    """Sets the zeros of slip so that it is ``slip`` (sites, 2): after the arms or the mesh have moved."""
    problem.state.rubbing.zero[:] = _places(problem, share) - slip


def _places(problem: Problem, share: float) -> Array:
    """Places (sites, 2) from which slip counts, at the state."""
    state, sites = problem.state, problem.constraints.sites
    position, axes = problem.poses(share)
    evaluate_sites(position, axes, sites, state.positions, state.axes, state.touch)
    evaluate_slip(position, axes, sites, state.low, state.high, state.touch, state.rubbing)
    return state.rubbing.place.copy()


def settle(problem: Problem, share: float) -> float:
    """The end of an increment: slip beyond the elastic is forgotten.  Returns the work lost in sliding, N mm."""
    if not problem.rubs:
        return 0.0
    _places(problem, share)
    state = problem.state
    return float(
        settle_friction(
            *problem.poses(share),
            problem.constraints.sites,
            state.low,
            state.high,
            state.touch,
            state.rubbing,
        )
    )


def solve(
    problem: Problem,
    share: float,
    careful: bool = False,
    downhill: bool = True,
    quick: int = 1,
    most: int = 60,
    load: float | None = None,
    barrier: float = BARRIER_START,
    least: int = 0,
) -> Outcome:
    """Brings the state into equilibrium after ``share`` of the way; the caller keeps what it may need back.

    ``careful``: every step must lower the merit function (line search), for increments that Newton alone does
    not settle.  ``barrier``: where it starts.  ``load``: share of the dead loads, as much as of the way unless
    given; ``least``: iterations that are made even where the balance holds."""
    warm(problem.beam.fibres, problem.model.fibres, problem.temperature(share))
    history = np.zeros((4 * most + 60, 4))
    scales = np.zeros(6)
    position, axes = problem.poses(share)
    code, iterations, wrong, finished = solve_increment(
        problem.beam, _loads_at(problem, share if load is None else load), position, axes,
        problem.constraints.sites, problem.constraints.holds, problem.state, problem.backup, problem.work, scales,
        barrier, BARRIER_END, careful, downhill, problem.rubs, quick, least, most, history,
    )  # fmt: skip
    history = history[: iterations + 1]
    return Outcome(code, iterations, wrong, bool(finished), float(history[-1, 0]), float(scales[2]), history)


def _loads_at(problem: Problem, share: float) -> Loads:
    """The loads by ``share``."""
    dead, follower, links = problem.loads
    return Loads(share * dead, share * follower, links)


def with_own_pivots(
    problem: Problem, share: float, outcome: Outcome, load: float | None = None, neutral: float = LEAST_SHIFT
) -> Outcome:
    """The outcome with the pivots of the matrix at the state itself: the last that was factored belongs to the step
    before, and where the balance held at once there was none.

    ``neutral``: share of the largest stiffness below which a motion counts as neutral, not as unstable."""
    position, axes = problem.poses(share)
    wrong = unstable_pivots(
        problem.beam, _loads_at(problem, share if load is None else load), position, axes,
        problem.constraints.sites, problem.constraints.holds, problem.state, problem.work,
        0.0 if outcome.without_barrier else BARRIER_END, problem.rubs, np.zeros(6), np.zeros(6), neutral,
    )  # fmt: skip
    return replace(outcome, wrong_pivots=wrong)


def stored_energy(problem: Problem, share: float, load: float) -> float:
    """Energy of wire, walls that give way and dead forces at the state, N mm; friction has none."""
    state = problem.state
    energy, _, _ = _brought_to_rest(problem)
    force = state.low - state.high
    residual = np.zeros((state.positions.shape[0], 6))
    energy += add_links(state.positions, state.axes, problem.loads.links, residual)
    give = 0.5 * float(problem.constraints.sites.compliance @ (force * force))
    return float(energy) + give - load * float((problem.loads.dead[:, :3] * state.positions).sum())


def current_stress(problem: Problem) -> tuple[Array, Array]:
    """Screws and stress resultants (m, 6) of all elements at the state."""
    _, screws, stress = _brought_to_rest(problem)
    return screws, stress


def predict_at_rest(problem: Problem) -> None:
    """The state's resultants and strains are predicted to be what its places say."""
    state = problem.state
    _, stress = current_stress(problem)
    state.predicted[:] = stress
    predict_strains(problem.beam, stress, state.predicted, state.strains)


def _brought_to_rest(problem: Problem) -> tuple[float, Array, Array]:
    """Energy (N mm), screws and stress resultants (m, 6) of all elements, each at rest between its nodes; strains and
    trial memory of fibres with them."""
    beam, state = problem.beam, problem.state
    screws, stress = np.empty((2, *problem.work.stress.shape))
    element_screws(state.positions, state.axes, screws)
    energy, _, _ = elements(
        screws, beam, state.strains, state.predicted, False, stress, problem.work.stiffness
    )
    return float(energy), screws, stress
