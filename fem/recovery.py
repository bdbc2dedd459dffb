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
from fem.fibre_readings import FibreReadings, readings_of
from fem.model import Joint, PointTie, SlotWalls
from fem.recovery_kernel import read_loads, read_walls
from fem.supports import constraints_of
from fem.workspace import empty_touch
from geometry.centreline import cross_products
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
    """(p, 3) normal force on the support, in the slot's axes, N."""
    friction: Array
    """(p, 3) friction on the support, in the slot's axes, N."""
    give: Array
    """(p,) how far the wall gives way, mm."""


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
    """(k, 3) on each support, world axes, N; of a joint on the other wire."""
    moment: Array
    """(k, 3) on each support about its acting point, world axes, N mm."""
    roll_moment: Array
    """(k,) part of the moment that a roll hold carries, N mm."""
    walls: WallForces
    centre_arc: Array
    """(k,) arc length of the wire at each support's centre now, mm."""
    centre_axes: Array
    """(k, 3, 3) axes of the wire there."""
    inside: Array
    """(k,) share of each slot's stations at which the wire lies between its walls; 1 where there is no slot."""
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
    fibres: FibreReadings | None
    """What has yielded or transformed; None where the wire is elastic."""
    spans: tuple[tuple[int, int], ...]
    """First and last node of every wire; elements between two wires are none."""
    joints: NDArray[np.bool_]
    """(k,) supports that hold one wire to another and nothing to the ground."""
    met: Array
    """(k,) arc length at which a joint holds the other wire, mm; nan for other supports."""

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
        moment = self.moment + cross_products(self.acting_point, self.force)
        return self.force[~self.joints].sum(axis=0), moment[~self.joints].sum(axis=0)


def section_resultants(problem: Problem, at_rest: bool = False) -> Array:
    """(m, 2, 6): what the part beyond exerts across the section, at both ends of every element, from its
    nodal wrenches.

    The nodal wrench, not the mean stress, so that moments vary along an element as the shear demands.
    """
    screws, stress = (problem.work.screws, problem.work.stress) if at_rest else current_stress(problem)
    out = np.empty((stress.shape[0], 2, 6))
    section_wrenches(screws, stress, out)
    return out


def _walls(
    problem: Problem, rows: Integers, on_wire: Array, arcs: Array, position: Array, axes: Array
) -> WallForces:
    """The pressing walls ``rows`` (p,) that push the wire with ``on_wire`` (p, 3): where they touch and how.

    ``arcs`` (p,) is where the wire meets their stations.
    """
    constraints, model = problem.constraints, problem.model
    sites = constraints.sites
    site = constraints.site_of[rows]
    k, axis = sites.slot[site], constraints.axis[site]
    centre, sections = frames_at(problem, arcs)
    # a two-sided pair is kept by its mid-line, whose corner stands for both edges: go out to the wall that
    # presses
    of = [model.section_at(support.arc) for support in model.supports]
    sizes = np.array([(one.corner_y, one.corner_z, one.edge_radius) for one in of]).reshape(-1, 3)[k]
    own = np.where(axis == 0, sizes[:, 0], sizes[:, 1])
    reach = sizes[:, 2] + np.where(sites.half_range[rows] >= 0.0, own, 0.0)
    side, normal, give = np.empty((3, rows.size))
    point, on_support, friction = np.empty((3, rows.size, 3))
    read_walls(
        rows, on_wire, site, axis, reach, centre, sections, sites, problem.state.touch, problem.state.rubbing, position,
        axes, side, normal, point, on_support, friction, give,
    )  # fmt: skip
    return WallForces(
        k, axis, side, constraints.offset[site], normal, centre, point, on_support, friction, give
    )


def _acting_points(problem: Problem, position: Array) -> Array:
    """Points (k, 3) that the moments of supports at ``position`` (k, 3) are about."""
    supports = problem.model.supports
    tied = np.array([isinstance(of.restraint, PointTie | Joint) for of in supports], dtype=np.bool_)
    acting = position.copy()
    acting[tied] = problem.state.positions[problem.support_nodes[tied]]
    return acting


def _loads(problem: Problem, acting: Array, rows: Integers) -> tuple[Array, Array, Array]:
    """Force and moment (k, 3) on every support about ``acting`` (k, 3), and the push (p, 3) of the pressing walls
    ``rows`` (p,) on the wire, all in world axes."""
    constraints, state = problem.constraints, problem.state
    on_support, push = np.empty((len(acting), 6)), np.empty((state.low.size, 3))
    read_loads(
        constraints.sites, constraints.site_of, constraints.holds, state, problem.work.hold_gradient, acting,
        on_support, push,
    )  # fmt: skip
    return on_support[:, :3].copy(), on_support[:, 3:].copy(), push[rows]


def loads_in_own_axes(problem: Problem, share: float) -> Array:
    """Force and moment (k, 6) on every support about its own point and in its own axes, N and N mm."""
    position, axes = problem.poses(share)
    rows = np.flatnonzero(problem.state.low != problem.state.high)
    force, moment, _ = _loads(problem, position, rows)
    inward = np.swapaxes(axes, 1, 2)
    return np.concatenate(
        ((inward @ force[:, :, None])[:, :, 0], (inward @ moment[:, :, None])[:, :, 0]), axis=1
    )


def snapshot_of(problem: Problem, activation: float, floor: float, at_rest: bool = False) -> Snapshot:
    """Reads the state off at ``activation``; ``floor`` (N) is the rounding floor of its balance.  ``at_rest``: the last
    that was done to it is `with_own_pivots`, by which its elements are at rest already."""
    state, model, constraints = problem.state, problem.model, problem.constraints
    position, axes = problem.poses(activation)
    resultants = section_resultants(problem, at_rest)  # brings the elements to rest
    acting = _acting_points(problem, position)
    rows = np.flatnonzero(state.low != state.high)
    force, moment, push = _loads(problem, acting, rows)
    # where the wire has left a wall behind, nothing acts whatever the wall's force was
    pressed = np.linalg.norm(push, axis=1) > floor
    arcs, there = site_arcs(problem)
    site = constraints.site_of[rows]
    walls = _walls(problem, rows[pressed], push[pressed], arcs[site[pressed]], position, axes)
    centre_arc, mouths = _centres(problem, arcs, there)
    holds = constraints.holds
    rolled = holds.kind == 3
    count = len(model.supports)
    turning = (state.axes[holds.node] @ problem.work.hold_gradient[:, 3:, None])[:, :, 0]
    about = (turning * axes[holds.frame, :, 0]).sum(axis=1) * state.hold_force
    roll: Array = -np.bincount(holds.frame[rolled], about[rolled], count).astype(np.float64)
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
        inside=_inside(problem, position, axes, there),
        mouth_nodes=mouths,
        arcs=model.nodes,
        positions=state.positions.copy(),
        axes=state.axes.copy(),
        resultants=resultants,
        floor=floor,
        fibres=readings_of(problem, activation),
        spans=model.spans,
        joints=np.array([support.is_joint for support in model.supports], dtype=np.bool_),
        met=_met(problem),
    )


def _met(problem: Problem) -> Array:
    """Arc length (k,) of the other wire at every joint; nan for other supports."""
    met = np.full(len(problem.model.supports), np.nan)
    for k, support in enumerate(problem.model.supports):
        if isinstance(support.restraint, Joint):
            met[k] = support.restraint.other
    met[problem.hooks.support] = problem.hooks.arcs
    return met


def site_arcs(problem: Problem) -> tuple[Array, NDArray[np.bool_]]:
    """Arc length (sites,) where every line meets the wire now, and whether the wire is there at all."""
    touch = problem.state.touch
    return problem.model.nodes[touch.node] + touch.reach + touch.ahead, touch.there > 0


def frames_at(problem: Problem, arcs: Array) -> tuple[Array, Array]:
    """Positions (k, 3) and axes (k, 3, 3) of the wire at arc lengths (k,):

    along the screws of its elements.
    """
    return frames_between(problem.model.nodes, problem.state.positions, problem.state.axes, arcs)


def _centres(problem: Problem, arcs: Array, there: NDArray[np.bool_]) -> tuple[Array, Integers]:
    """Arc length of the wire at every support's centre, and the nodes at its mouths.

    ``arcs`` and ``there`` (sites,) as ``site_arcs`` gives them.
    """
    centre = problem.support_arcs.copy()
    mouths = np.repeat(problem.support_nodes[:, None], 2, axis=1)
    for slot in problem.constraints.slots:
        k = slot.support
        here = np.logical_and.reduce(slot.by_station(there), axis=1)
        if not problem.model.supports[k].holds_section and here.any():
            centre[k] = np.interp(0.0, slot.offsets[here], slot.by_station(arcs)[here].mean(axis=1))
        first, last = slot.first_station, slot.first_station + slot.offsets.size - 1
        mouths[k] = (
            problem.station_nodes[first] if here[0] else -1,
            problem.station_nodes[last] if here[-1] else -1,
        )
    return centre, mouths


def _inside(problem: Problem, position: Array, axes: Array, there: NDArray[np.bool_]) -> Array:
    """Share (k,) of stations at which the wire is there, and has not left through an open front."""
    touch, model = problem.state.touch, problem.model
    inside = np.ones(len(model.supports))
    for slot in problem.constraints.slots:
        k = slot.support
        walls = model.supports[k].restraint
        if not isinstance(walls, SlotWalls):
            continue
        here = np.logical_and.reduce(slot.by_station(there), axis=1)
        if walls.front != "closed":
            first = slot.sites[:, 0]
            depth = (touch.centre[first] - position[k]) @ axes[k][:, 2]
            inward = -(touch.axes[first].swapaxes(1, 2) @ axes[k][:, 2])[:, 1:]
            section = model.section_at(model.supports[k].arc)
            here &= depth - section.reach(inward) < 0.5 * walls.depth
        inside[k] = here.mean()
    return inside


def _drop_rounding(force: Array, moment: Array, floor: float) -> None:
    """A force or moment whose parts are all below the rounding floor is exactly nothing."""
    force[np.abs(force).max(axis=1, initial=0.0) <= floor] = 0.0
    moment[np.abs(moment).max(axis=1, initial=0.0) <= 10.0 * floor] = 0.0


def deepest_between_stations(problem: Problem, activation: float) -> float:
    """Deepest the outline passes a rigid wall half way between two neighbouring stations, mm (0 where it passes
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
    constraints = constraints_of(replace(model, supports=tuple(halved)), problem.active)
    sites = constraints.sites
    if not sites.sign.size:
        return 0.0
    arcs, there = site_arcs(problem)
    half_way = problem.support_arcs[sites.slot]
    looked_at = np.zeros(sites.slot.size, dtype=np.bool_)
    slots = {slot.support: slot for slot in problem.constraints.slots}
    for halves in constraints.slots:
        slot = slots[halves.support]
        if slot.offsets.size == 1:
            continue
        mean = slot.by_station(arcs).mean(axis=1)
        here = np.logical_and.reduce(slot.by_station(there), axis=1)
        half_way[halves.sites] = 0.5 * (mean[1:] + mean[:-1])[:, None]
        looked_at[halves.sites] = (here[1:] & here[:-1])[:, None]
    centres, sections = frames_at(problem, half_way.clip(*model.ends_at(problem.support_arcs[sites.slot])))
    position, axes = problem.poses(activation)
    count = sites.slot.size
    touch = empty_touch(count, sites.sign.size)
    touch.node[:] = np.arange(count)
    evaluate_sites(position, axes, sites, centres, sections, touch)
    half = sites.half_range
    inside = np.where(half < 0.0, touch.gap, half - np.abs(touch.gap))
    # a wall that gives way is passed wherever it is pressed
    counts = np.repeat(looked_at, np.diff(sites.first)) & (sites.compliance == 0.0)
    inside = inside[counts]
    return float(max(0.0, -inside.min(initial=0.0)))
