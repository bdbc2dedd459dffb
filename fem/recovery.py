"""What a state means: reactions of the supports, wall forces, section resultants, penetration between
stations.

Everything here is read off the state and changes nothing.  Reactions act on the support (on the tooth),
resultants follow the section's own axes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.beam_kernel import section_wrenches
from fem.contact_kernel import evaluate_sites
from fem.equilibrium import Problem, current_stress
from fem.model import PointTie, SlotWalls
from fem.supports import constraints_of
from geometry.motion import frames_between

Array = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class WallForces:
    """Walls that press, one entry each (p,)."""

    support: Integers
    axis: Integers
    """0 for the height walls, 1 for floor and outer wall."""
    side: Array
    """+1 upper or outer wall, -1 lower wall or floor."""
    offset: Array
    """Station along the slot, mm from its centre."""
    normal: Array
    """Normal force, N."""
    centre: Array
    """(p, 3) the wire's section centre at the station, world axes, mm."""
    point: Array
    """(p, 3) where wall and outline touch, in the slot's axes, mm."""
    on_support: Array
    """(p, 3) force on the support, in the slot's axes, N."""


@dataclass(frozen=True, slots=True)
class Snapshot:
    """One state, read off."""

    activation: float
    support_position: Array
    """(k, 3) mm."""
    support_axes: Array
    """(k, 3, 3)."""
    acting_point: Array
    """(k, 3) the point that the moments of each support are about:

    its centre, or for a point tie the point of the wire it holds.
    """
    force: Array
    """(k, 3) on each support, world axes, N."""
    moment: Array
    """(k, 3) on each support about its acting point, world axes, N mm."""
    roll_moment: Array
    """(k,) part of the moment that a roll hold carries, N mm."""
    walls: WallForces
    centre_arc: Array
    """(k,) arc length of the wire at each support's centre now, mm."""
    centre_axes: Array
    """(k, 3, 3) axes of the wire there."""
    mouth_nodes: Integers
    """(k, 2) nodes at the first and last station (both the held node where there is no slot);

    -1 where the wire is not there.
    """
    arcs: Array
    """(n,) arc length of the nodes, mm."""
    positions: Array
    """(n, 3) mm."""
    axes: Array
    """(n, 3, 3)."""
    resultants: Array
    """(m, 2, 6) section force and moment at both ends of every element, in that section's axes."""
    floor: float
    """Forces below this are rounding, N."""

    @property
    def any_force(self) -> bool:
        """True where any support carries more than rounding."""
        return bool(
            (np.abs(self.force) > self.floor).any() or (np.abs(self.moment) > 10.0 * self.floor).any()
        )

    def left_over(self) -> tuple[Array, Array]:
        """Sum of all forces (3,) and of all moments about the origin (3,):

        zero in equilibrium without loads.
        """
        moment = self.moment + _cross(self.acting_point, self.force)
        return self.force.sum(axis=0), moment.sum(axis=0)


def section_resultants(problem: Problem) -> Array:
    """(m, 2, 6): what the part beyond exerts across the section, at both ends of every element, from its
    nodal wrenches.

    The nodal wrench, not the mean stress, so that moments vary along an element as the shear demands.
    """
    screws, stress = current_stress(problem)
    out = np.empty((stress.shape[0], 2, 6))
    section_wrenches(screws, stress, out)
    return out


def _cross(a: Array, b: Array) -> Array:
    """Row by row, (p, 3): numpy's own spends longer on its options than on the product."""
    ax, ay, az = a.T
    bx, by, bz = b.T
    return np.array((ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx)).T


def _walls(
    problem: Problem, rows: Integers, on_wire: Array, arcs: Array, position: Array, axes: Array
) -> WallForces:
    """The pressing walls ``rows`` (p,) that push the wire with ``on_wire`` (p, 3): where they touch and how.

    ``arcs`` (p,) is where the wire meets their stations.
    """
    sites, section = problem.constraints.sites, problem.model.section
    site = problem.constraints.site_of[rows]
    k, axis = sites.slot[site], sites.axis[site]
    centre, sections = frames_at(problem, arcs)
    normal = np.sqrt((on_wire * on_wire).sum(axis=1))
    away = -on_wire / normal[:, None]
    # a two-sided pair is kept by its mid-line, whose corner stands for both edges: go out to the wall that
    # presses
    own = np.where(axis == 0, section.corner_y, section.corner_z)
    reach = section.edge_radius + np.where(sites.half_range[rows] >= 0.0, own, 0.0)
    corner = sites.corner_y[rows, None] * sections[:, :, 1] + sites.corner_z[rows, None] * sections[:, :, 2]
    into = np.swapaxes(axes, 1, 2)[k]
    on_support = (into @ -on_wire[:, :, None])[:, :, 0]
    side = np.sign(on_support[np.arange(rows.size), 1 + axis])
    touch = centre + corner + reach[:, None] * away - position[k]
    point = (into @ touch[:, :, None])[:, :, 0]
    return WallForces(k, axis, side, sites.offset[site], normal, centre, point, on_support)


def snapshot_of(problem: Problem, activation: float, floor: float) -> Snapshot:
    """Reads the state off at ``activation``; ``floor`` (N) is the rounding floor of its balance."""
    state, model, constraints = problem.state, problem.model, problem.constraints
    position, axes = problem.ways.at(activation)
    tied = [isinstance(support.restraint, PointTie) for support in model.supports]
    acting = position.copy()
    acting[tied] = state.positions[problem.support_nodes[tied]]
    rows = np.flatnonzero(state.low != state.high)
    site = constraints.site_of[rows]
    slot = constraints.sites.slot[site]
    pressing = (state.low[rows] - state.high[rows])[:, None]
    holds = constraints.holds
    carriers = np.concatenate((slot, holds.frame))
    nodes = np.concatenate((state.site_node[site], holds.node))
    wrench = np.concatenate(
        (pressing * state.gradient[rows], state.hold_force[:, None] * problem.work.hold_gradient)
    ).reshape(-1, 2, 3)
    push, turn = np.moveaxis(wrench @ np.swapaxes(state.axes, 1, 2)[nodes], 1, 0)
    turn = turn + _cross(state.positions[nodes] - acting[carriers], push)
    arcs, there = station_arcs(problem)
    pressed = np.abs(pressing[:, 0]) > floor
    on_wire = push[: rows.size][pressed]
    walls = _walls(problem, rows[pressed], on_wire, arcs[site[pressed]], position, axes)
    centre_arc, mouths = _centres(problem, arcs, there)
    wrench_on_support = np.zeros((len(tied), 6))
    np.subtract.at(wrench_on_support, carriers, np.concatenate((push, turn), axis=1))
    force, moment = wrench_on_support[:, :3].copy(), wrench_on_support[:, 3:].copy()
    rolled = holds.kind == 3
    roll: Array = -np.bincount(holds.frame[rolled], state.hold_force[rolled], len(tied)).astype(np.float64)
    _drop_rounding(force, moment, floor)
    return Snapshot(
        activation=activation,
        support_position=position,
        support_axes=axes,
        acting_point=acting,
        force=force,
        moment=moment,
        roll_moment=roll,
        walls=walls,
        centre_arc=centre_arc,
        centre_axes=frames_at(problem, centre_arc)[1],
        mouth_nodes=mouths,
        arcs=model.nodes,
        positions=state.positions.copy(),
        axes=state.axes.copy(),
        resultants=section_resultants(problem),
        floor=floor,
    )


def station_arcs(problem: Problem) -> tuple[Array, NDArray[np.bool_]]:
    """Arc length (sites,) of the wire at every wall's station now, and whether the wire is there at all."""
    state = problem.state
    return problem.model.nodes[state.site_node] + state.site_ahead, state.site_there > 0


def frames_at(problem: Problem, arcs: Array) -> tuple[Array, Array]:
    """Positions (k, 3) and axes (k, 3, 3) of the wire at arc lengths (k,):

    along the screws of its elements.
    """
    return frames_between(problem.model.nodes, problem.state.positions, problem.state.axes, arcs)


def _centres(problem: Problem, arcs: Array, there: NDArray[np.bool_]) -> tuple[Array, Integers]:
    """Arc length of the wire at every support's centre, and the nodes at its mouths.

    ``arcs`` and ``there`` (sites,) as ``station_arcs`` gives them.
    """
    centre = problem.support_arcs.copy()
    mouths = np.repeat(problem.support_nodes[:, None], 2, axis=1)
    for slot in problem.constraints.slots:
        k = slot.support
        here = np.logical_and.reduce(slot.by_station(there), axis=1)
        if not problem.model.supports[k].holds_section and here.any():
            centre[k] = np.interp(0.0, slot.offsets[here], slot.by_station(arcs)[here].mean(axis=1))
        ends = slot.by_station(problem.station_nodes)
        mouths[k] = (ends[0, 0] if here[0] else -1), (ends[-1, 0] if here[-1] else -1)
    return centre, mouths


def _drop_rounding(force: Array, moment: Array, floor: float) -> None:
    """A force or moment whose parts are all below the rounding floor is exactly nothing."""
    force[np.abs(force).max(axis=1, initial=0.0) <= floor] = 0.0
    moment[np.abs(moment).max(axis=1, initial=0.0) <= 10.0 * floor] = 0.0


def deepest_between_stations(problem: Problem, activation: float) -> float:
    """Deepest the outline passes a wall half way between two neighbouring stations, mm (0 where it passes
    none).

    Walls are enforced at stations only; this looks where they are not.
    """
    model = problem.model
    halved = []
    for support in model.supports:
        restraint = support.restraint
        if isinstance(restraint, SlotWalls):
            offsets = restraint.offsets
            restraint = replace(restraint, offsets=0.5 * (offsets[1:] + offsets[:-1]))
        halved.append(replace(support, restraint=restraint))
    constraints = constraints_of(replace(model, supports=tuple(halved)))
    sites = constraints.sites
    if not sites.sign.size:
        return 0.0
    arcs, there = station_arcs(problem)
    half_way = np.zeros(sites.slot.size)
    looked_at = np.zeros(sites.slot.size, dtype=np.bool_)
    for slot, halves in zip(problem.constraints.slots, constraints.slots, strict=True):
        mean = slot.by_station(arcs).mean(axis=1)
        here = np.logical_and.reduce(slot.by_station(there), axis=1)
        halves.by_station(half_way)[:] = 0.5 * (mean[1:] + mean[:-1])[:, None]
        halves.by_station(looked_at)[:] = (here[1:] & here[:-1])[:, None]
    centres, sections = frames_at(problem, half_way.clip(*model.nodes[[0, -1]]))
    position, axes = problem.ways.at(activation)
    gap = np.zeros(sites.sign.size)
    count = sites.slot.size
    evaluate_sites(
        position, axes, sites.slot, sites.offset, sites.axis, sites.wall, sites.first,
        sites.sign, sites.corner_y, sites.corner_z, sites.radius, centres, sections, np.arange(count),
        np.zeros(count, dtype=np.int64), np.zeros(count), np.zeros((count, 3)), gap, np.zeros((gap.size, 6)),
    )  # fmt: skip
    half = sites.half_range
    inside = np.where(half < 0.0, gap, half - np.abs(gap))[np.repeat(looked_at, np.diff(sites.first))]
    return float(max(0.0, -inside.min(initial=0.0)))
