"""The direction in which an equilibrium goes as its model changes a little; what `fem.derivatives` is made of.

In equilibrium, with the node frames q, the forces f of walls that press and of holds, and the parameter p

    R(q, f, a, p) = 0          balance at every node
    c(q, f, a, p) = 0          gap + b f = bound for walls that press, w = 0 for holds
    a = A(q, p)                arms and nodes follow the stations (fem.following)

so by the implicit function theorem the direction solves the same equations along (q', f', a', 1).  Its Newton matrix
is the solver's own tangent at the accepted state, condensed by the weights of pressing walls and holds as in
fem.equilibrium_kernel; the balance along a direction is taken by central differences of R and c themselves, arms and
nodes set anew at either end.  So the matrix sets how quickly the direction is found and never which, and what the
wire's sliding does to arms and mesh is counted.  No equilibrium is looked for: a direction costs some ten evaluations
of the balance."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.carrying_over import on_moved_nodes
from fem.contact_kernel import FAR_GAP, add_site_forces, evaluate_sites, site_changes
from fem.equilibrium import Problem, place_arms, problem_of
from fem.following import shares_of_walls
from fem.loads_kernel import loads_turn
from fem.model import Model
from fem.newton_kernel import balance, evaluate, factor_and_solve, newton_system
from fem.recovery import Snapshot, frames_at, loads_in_own_axes, site_arcs, snapshot_of
from fem.supports import Ways
from fem.sweeps_kernel import force_scales, place_nodes
from fem.walls_kernel import MODE_PRESSING, keep_walls
from geometry.pose import Pose

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Observe = Callable[[Snapshot, Model], Array]

END = 1.0  # of the last leg: all of it
MOST_STEPS = 60
DRIFTING = 8  # steps after which a motion that goes on as before meets no stiffness
# Of the largest change of a frame and of a force: what the last step may still change; and where rounding, which no
# step takes away, may begin.
SETTLED = 1e-6
ROUNDING = 1e-4
ROUNDING_PER_MM = 1e-12  # of the largest stiffness
STANDS = 0.8  # a step no smaller than this share of the one before is rounding
# mm, and share of the largest force: room and force of a wall that may as well press as not, a little more than a solve
# leaves open.
NO_ROOM = 1e-7
NO_FORCE = 1e-8


class NotDifferentiableError(ValueError):
    """Why a state has no derivative of this kind."""


@dataclass(frozen=True, slots=True)
class Values:
    """The equations of a problem at some state."""

    at: Problem
    """With arms and nodes where the stations are."""
    out: Array
    """(n, 6) balance of the nodes."""
    wall: Array
    """(m,) mm by which walls are off their bounds."""
    held: Array
    """(h,) by which holds are."""


@dataclass(frozen=True, slots=True)
class Course:
    """How everything goes along one parameter, per unit of it."""

    observed: Array
    loads: Array
    """(6 k,) on the supports in their own axes."""
    force: Array
    """(m,) of the walls."""
    room: Array
    """(m, 2) gap, or the rooms of a two-sided wall to its two sides."""

    def plus(self, others: Sequence[Course], shares: Array) -> Course:
        """With ``shares`` (j,) of ``others`` added."""
        observed, loads, force, room = self.observed, self.loads, self.force, self.room
        for share, one in zip(shares, others, strict=True):
            observed, loads = observed + share * one.observed, loads + share * one.loads
            force, room = force + share * one.force, room + share * one.room
        return Course(observed, loads, force, room)


def rooms(half: Array, gap: Array) -> Array:
    """(m, 2) room of each wall; of a two-sided one to its upper and its lower side."""
    two = half > 0.0
    return np.stack((np.where(two, half - gap, gap), np.where(two, half + gap, gap)), axis=1)


class Equilibrium:
    """An accepted state of ``source`` at the end of its way, with its tangent and the walls that press.

    ``here`` is a copy to work on; its ``work.mode`` says which walls press, and may be changed for those that are
    ``open``: without room and without force, they may as well press as not."""

    def __init__(self, source: Problem, observe: Observe) -> None:
        self.source, self._observe = source, observe
        self.stand = source.ways.poses(END)
        self.here = self.beside(source.model, self.stand)
        state, work, half = self.here.state, self.here.work, self.here.constraints.sites.half_range
        state.low[:], state.high[:] = source.state.low, source.state.high
        keep_walls(half, work.mode, work.target, state.low, state.high)
        self.force, self._hold = state.low.copy(), source.state.hold_force.copy()
        self._ahead: Array | None = None
        self._values(self.here, np.zeros((source.model.nodes.size, 6)), self.force, self._hold)
        self._ahead = state.touch.ahead.copy()
        self._scales = np.zeros(6)
        beam = self.here.beam
        force_scales(
            state.positions, beam.lengths, beam.compliance, work.stress, state.low, state.high, self._scales
        )
        self._far = float(np.abs(state.positions).max())
        self.room = rooms(half, state.touch.gap)
        pressing = work.mode == MODE_PRESSING
        least = max(NO_FORCE * self._scales[0], self._scales[2])
        near = np.where(pressing, np.abs(self.force) <= least, self.room.min(axis=1) <= NO_ROOM)
        self.open: Flags = (half != 0.0) & near
        # the side at which an open wall of a pair would press
        two = self.open & ~pressing & (half > 0.0)
        work.target[two] = np.where(self.room[two, 0] < self.room[two, 1], half[two], -half[two])

    @property
    def rounding_per_mm(self) -> float:
        """Forces below it, N, are rounding where walls and wire move by a mm against each other."""
        return ROUNDING_PER_MM * float(self._scales[3])

    def beside(self, model: Model, ends: tuple[Pose, ...]) -> Problem:
        """The state's problem with another model, on nodes that go with those of the state.

        Raises NotDifferentiableError where it is not made alike."""
        own = self.source.model
        if model is not own:
            before, after = own.nodes[own.still_nodes()], model.nodes[model.still_nodes()]
            if before.size != after.size:
                raise NotDifferentiableError(
                    f"a varied wire must have as many breaks, ends and held sections as the wire itself: got "
                    f"{after.size}, not {before.size}"
                )
            nodes = np.interp(own.nodes, before, after)
            model = replace(model, nodes=nodes, loads=own.loads, follower_loads=own.follower_loads)
        made = problem_of(model, self.source.active)
        ours, theirs = self.source.constraints, made.constraints
        if ours.sites.sign.size != theirs.sites.sign.size or ours.holds.node.size != theirs.holds.node.size:
            raise NotDifferentiableError("a varied model must have the walls and holds of the model itself")
        made.deflection[:] = self.source.deflection
        made.state.predicted[:] = self.source.state.predicted
        return replace(made, ways=Ways.of(ends, ends), station_nodes=self.source.station_nodes)

    def _values(self, at: Problem, move: Array, force: Array, hold: Array) -> Values:
        """What ``at`` says with the nodes moved on by ``move`` (n, 6) and the forces ``force`` (m,), ``hold`` (h,)."""
        start, state = self.source.state, at.state
        place_nodes(start.positions, start.axes, move, 1.0, np.empty((3, 3)), state.positions, state.axes)
        state.low[:], state.high[:], state.hold_force[:] = force, 0.0, hold
        position, axes = at.poses(END)
        at = self._followed(at, position, axes)
        state, work, sites, holds = at.state, at.work, at.constraints.sites, at.constraints.holds
        evaluate(at.beam, at.loads, position, axes, sites, holds, state, work, False)
        right = np.empty_like(work.residual)
        balance(position, axes, sites, holds, state, work, False, right)
        add_site_forces(state.touch.node, sites.first, state.touch.gradient, work.force, right)
        bound = np.sign(self.here.work.target) * np.abs(sites.half_range)
        wall = state.touch.gap + sites.compliance * force - bound
        return Values(at, -right, wall, work.hold_value.copy())

    def _followed(self, at: Problem, position: Array, axes: Array) -> Problem:
        """The same with arms and nodes as far ahead of the stations' lines as in the state itself."""
        state, sites, constraints = at.state, at.constraints.sites, at.constraints
        arcs = at.model.nodes[self.source.state.touch.node] + self.source.state.touch.reach
        if not arcs.size:
            return at
        place_arms(at, arcs)
        if self._ahead is None:
            return at
        evaluate_sites(position, axes, sites, state.positions, state.axes, state.touch)
        there = state.touch.there > 0
        ahead = np.where(there, state.touch.ahead - self._ahead, 0.0)
        going, nodes = np.zeros(constraints.stations), at.model.nodes
        met, _ = site_arcs(self.source)
        for slot in constraints.slots:
            here = slice(slot.first_station, slot.first_station + slot.offsets.size)
            inside = slot.by_station(there).all(axis=1)
            way = slot.by_station(ahead) @ shares_of_walls(self.source, slot, met)
            going[here] = np.where(inside, way, 0.0)
        pinned = np.zeros(nodes.size, dtype=np.bool_)
        pinned[at.station_nodes] = pinned[at.still_nodes] = True
        after = nodes.copy()
        after[at.station_nodes] += going
        after[at.still_nodes] = nodes[at.still_nodes]
        after = np.interp(nodes, nodes[pinned], after[pinned])
        at = on_moved_nodes(at, after, *frames_at(at, after))
        place_arms(at, arcs + ahead)
        return at

    def course(self, less: Problem, more: Problem, step: float) -> Course:
        """From ``less`` to ``more``, a parameter by ``step`` below and above the state: Newton's method along it.

        Raises NotDifferentiableError where the wire has no stiffness against what the parameter does."""
        touch, work, holds = self.here.state.touch, self.here.work, self.here.constraints.holds
        sites = self.here.constraints.sites
        presses = (work.mode == MODE_PRESSING) | (sites.half_range == 0.0)
        move = np.zeros((self.here.model.nodes.size, 6))
        force, hold = np.zeros_like(self.force), np.zeros_like(self._hold)
        # twenty roundings of a coordinate, as in the floor of the balance
        rounding = np.array([20.0 * 2.2e-16 * self._far / step, 0.0, 0.0])
        last = np.full(3, np.inf)
        for count in range(1, MOST_STEPS + 1):
            up, down = (
                self._values(at, way * move, self.force + way * force, self._hold + way * hold)
                for at, way in ((more, step), (less, -step))
            )
            out, held = (up.out - down.out) / (2.0 * step), (up.held - down.held) / (2.0 * step)
            wall = np.where(presses, (up.wall - down.wall) / (2.0 * step), 0.0)
            self._assemble()
            weight = np.where(presses, work.weight, 0.0)
            right = -out
            add_site_forces(touch.node, sites.first, touch.gradient, -weight * wall, right)
            np.subtract.at(right, holds.node, (work.hold_weight * held)[:, None] * work.hold_gradient)
            moved = self._solved(right)
            site_changes(touch.node, sites.first, touch.gradient, moved, work.change)
            pushed = -weight * (wall + work.change)
            turned = np.einsum("hj,hj->h", work.hold_gradient, moved[holds.node])
            pulled = -work.hold_weight * (held + turned)
            move, force, hold = move + moved, force + pushed, hold + pulled
            size, whole = (
                np.array([np.abs(array).max(initial=0.0) for array in arrays])
                for arrays in ((moved, pushed, pulled), (move, force, hold))
            )
            stands = size >= STANDS * last
            found = size[0] <= max(ROUNDING * whole[0], rounding[0])
            if found and ((size <= np.maximum(SETTLED * whole, rounding)) | stands).all():
                break
            if count == MOST_STEPS or (count > DRIFTING and stands[0] and not found):
                raise NotDifferentiableError(
                    "the wire is free to move where the parameter pushes it, until it meets a wall: no derivative"
                )
            last = size
        read = []
        for at, way in ((more, step), (less, -step)):
            at = self._values(at, way * move, self.force + way * force, self._hold + way * hold).at
            gap = np.where(at.state.touch.gap == FAR_GAP, np.nan, at.state.touch.gap)
            observed = self._observe(snapshot_of(at, END, 0.0), at.model)
            read.append(
                (observed, loads_in_own_axes(at, END).ravel(), rooms(at.constraints.sites.half_range, gap))
            )
        observed, loads, room = ((up - down) / (2.0 * step) for up, down in zip(*read, strict=True))
        return Course(observed, loads, force, np.nan_to_num(room))

    def _assemble(self) -> None:
        """The tangent at the state, with the curvature of all wall forces, however small."""
        here, scales = self.here, self._scales.copy()
        scales[0] = 0.0
        newton_system(
            here.beam, here.loads, *here.poses(END), here.constraints.sites, here.constraints.holds, here.state,
            here.work, 0.0, False, False, scales,
        )  # fmt: skip
        self._scales[3:5] = scales[3:5]

    def _solved(self, right: Array) -> Array:
        """The motion (n, 6) against which the assembled tangent stands by ``right`` (n, 6)."""
        here, work = self.here, self.here.work
        work.step[:] = right
        turning = loads_turn(here.loads)
        factor_and_solve(
            here.loads,
            here.constraints.sites,
            here.constraints.holds,
            here.state,
            work,
            self._scales,
            np.empty(6),
            False,
            False,
            turning,
        )
        return work.step.copy()
