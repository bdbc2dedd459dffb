"""What a state means: reactions of the supports, wall forces, section resultants, penetration between
stations.

Everything here is read off the state and changes nothing.  Reactions act on the support (on the tooth),
resultants follow the section's own axes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.beam_kernel import element_screws, section_wrenches
from fem.contact_kernel import evaluate_sites
from fem.equilibrium import Problem, current_stress, poses_at
from fem.model import PointTie, SlotWalls
from fem.supports import constraints_of
from geometry.motion import frames_along

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
    stress = current_stress(problem)
    screws = np.zeros_like(stress)
    element_screws(problem.state.positions, problem.state.axes, screws)
    out = np.zeros((stress.shape[0], 2, 6))
    section_wrenches(screws, stress, out)
    return out


def _cross(a: Array, b: Array) -> Array:
    """Row by row, (p, 3): numpy's own spends longer on its options than on the product."""
    x = a[:, 1] * b[:, 2] - a[:, 2] * b[:, 1]
    y = a[:, 2] * b[:, 0] - a[:, 0] * b[:, 2]
    z = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return np.stack((x, y, z), axis=1)


def _sections_at(problem: Problem, sites: Integers) -> tuple[Array, Array, Array]:
    """Centres, d2 and d3 (p, 3) of the sections that sites (p,) meet, interpolated as the contact does."""
    state = problem.state
    e, xi = state.site_element[sites], state.site_xi[sites][:, None]
    length = problem.beam.lengths[e][:, None]
    x, r = state.positions, state.axes
    xi2, xi3 = xi * xi, xi**3
    centre = (
        (1.0 - 3.0 * xi2 + 2.0 * xi3) * x[e]
        + length * (xi - 2.0 * xi2 + xi3) * r[e, :, 0]
        + (3.0 * xi2 - 2.0 * xi3) * x[e + 1]
        + length * (xi3 - xi2) * r[e + 1, :, 0]
    )
    return (
        centre,
        (1.0 - xi) * r[e, :, 1] + xi * r[e + 1, :, 1],
        (1.0 - xi) * r[e, :, 2] + xi * r[e + 1, :, 2],
    )


def _walls(problem: Problem, rows: Integers, position: Array, axes: Array) -> WallForces:
    """The pressing walls ``rows``: where they touch and how they push."""
    state, sites, section = problem.state, problem.constraints.sites, problem.model.section
    site = problem.constraints.site_of[rows]
    k, e, axis = sites.slot[site], state.site_element[site], sites.axis[site]
    force = state.low[rows] - state.high[rows]
    centre, d2, d3 = _sections_at(problem, site)
    gradient = state.gradient[rows]
    push = force[:, None] * (
        np.einsum("pij,pj->pi", state.axes[e], gradient[:, :3])
        + np.einsum("pij,pj->pi", state.axes[e + 1], gradient[:, 6:9])
    )
    away = -push / np.sqrt((push * push).sum(axis=1))[:, None]
    # a two-sided pair is kept by its mid-line, whose corner stands for both edges: go out to the wall that
    # presses
    own = np.where(axis == 0, section.corner_y, section.corner_z)
    reach = section.edge_radius + np.where(sites.half_range[rows] >= 0.0, own, 0.0)
    touch = centre + sites.corner_y[rows, None] * d2 + sites.corner_z[rows, None] * d3 + reach[:, None] * away
    on_support = -np.einsum("pji,pj->pi", axes[k], push)
    side = np.sign(on_support[np.arange(rows.size), 1 + axis])
    point = np.einsum("pji,pj->pi", axes[k], touch - position[k])
    return WallForces(k, axis, side, sites.offset[site], np.abs(force), centre, point, on_support)


def snapshot_of(problem: Problem, activation: float, floor: float) -> Snapshot:
    """Reads the state off at ``activation``; ``floor`` (N) is the rounding floor of its balance."""
    state, model, constraints = problem.state, problem.model, problem.constraints
    position, axes = poses_at(model, activation)
    count = len(model.supports)
    acting = position.copy()
    for k, support in enumerate(model.supports):
        if isinstance(support.restraint, PointTie):
            acting[k] = state.positions[int(np.argmin(np.abs(model.nodes - support.arc)))]
    rows = np.flatnonzero(state.low != state.high)
    site = constraints.site_of[rows]
    element = state.site_element[site]
    pressing = (state.low[rows] - state.high[rows])[:, None]
    holds = constraints.holds
    carriers = np.concatenate((constraints.sites.slot[site], constraints.sites.slot[site], holds.frame))
    nodes = np.concatenate((element, element + 1, holds.node))
    wrench = np.concatenate(
        (
            pressing * state.gradient[rows, :6],
            pressing * state.gradient[rows, 6:],
            state.hold_force[:, None] * problem.work.hold_gradient,
        )
    )
    push = np.einsum("pij,pj->pi", state.axes[nodes], wrench[:, :3])
    turn = np.einsum("pij,pj->pi", state.axes[nodes], wrench[:, 3:])
    turn += _cross(state.positions[nodes] - acting[carriers], push)
    force = np.zeros((count, 3))
    moment = np.zeros((count, 3))
    np.subtract.at(force, carriers, push)
    np.subtract.at(moment, carriers, turn)
    roll = np.zeros(count)
    rolled = holds.kind == 3
    np.subtract.at(roll, holds.frame[rolled], state.hold_force[rolled])
    _drop_rounding(force, moment, floor)
    centre_arc, centre_axes, mouths = _centres(problem)
    return Snapshot(
        activation=activation,
        support_position=position,
        support_axes=axes,
        acting_point=acting,
        force=force,
        moment=moment,
        roll_moment=roll,
        walls=_walls(problem, rows[np.abs(pressing[:, 0]) > floor], position, axes),
        centre_arc=centre_arc,
        centre_axes=centre_axes,
        mouth_nodes=mouths,
        arcs=np.array(model.nodes),
        positions=state.positions.copy(),
        axes=state.axes.copy(),
        resultants=section_resultants(problem),
        floor=floor,
    )


def station_arcs(problem: Problem) -> tuple[Array, NDArray[np.bool_]]:
    """Arc length (sites,) of the wire at every wall's station now, and whether the wire is there at all."""
    state, nodes = problem.state, problem.model.nodes
    element = np.maximum(state.site_element, 0)
    arcs = nodes[element] + state.site_xi * (nodes[element + 1] - nodes[element])
    return arcs, state.site_element >= 0


def frames_at(problem: Problem, arcs: Array) -> tuple[Array, Array]:
    """Positions (k, 3) and axes (k, 3, 3) of the wire at arc lengths (k,):

    along the screws of its elements.
    """
    positions, axes = np.zeros((arcs.size, 3)), np.zeros((arcs.size, 3, 3))
    state = problem.state
    frames_along(problem.model.nodes, state.positions, state.axes, arcs, positions, axes)
    return positions, axes


def _centres(problem: Problem) -> tuple[Array, Array, Integers]:
    """Arc length and axes of the wire at every support's centre, and the nodes at its mouths."""
    model, sites = problem.model, problem.constraints.sites
    arcs, there = station_arcs(problem)
    centre = np.array([support.arc for support in model.supports], dtype=np.float64)
    mouths = np.full((centre.size, 2), -1, dtype=np.int64)
    for k, support in enumerate(model.supports):
        if isinstance(support.restraint, SlotWalls):
            here = (sites.slot == k) & there
            if not support.holds_section and here.any():
                offsets, inverse = np.unique(sites.offset[here], return_inverse=True)
                mean = np.bincount(inverse, arcs[here]) / np.bincount(inverse)
                centre[k] = np.interp(0.0, offsets, mean)
            for side, offset in enumerate(support.restraint.offsets[[0, -1]]):
                at = np.flatnonzero(here & (sites.offset == offset))
                if at.size:
                    mouths[k, side] = problem.station_nodes[at[0]]
        else:
            mouths[k] = int(np.abs(model.nodes - support.arc).argmin())
    return centre, frames_at(problem, centre)[1], mouths


def _drop_rounding(force: Array, moment: Array, floor: float) -> None:
    """A force or moment whose parts are all below the rounding floor is exactly nothing."""
    force[np.abs(force).max(axis=1, initial=0.0) <= floor] = 0.0
    moment[np.abs(moment).max(axis=1, initial=0.0) <= 10.0 * floor] = 0.0


def deepest_between_stations(problem: Problem, activation: float) -> float:
    """Deepest the outline passes a wall half way between two neighbouring stations, mm (0 where it passes
    none).

    Walls are enforced at stations only; this looks where they are not.
    """
    model, state = problem.model, problem.state
    halved = []
    for support in model.supports:
        restraint = support.restraint
        if isinstance(restraint, SlotWalls):
            offsets = restraint.offsets
            restraint = replace(restraint, offsets=0.5 * (offsets[1:] + offsets[:-1]))
        halved.append(replace(support, restraint=restraint))
    sites = constraints_of(replace(model, supports=tuple(halved))).sites
    if not sites.sign.size:
        return 0.0
    position, axes = poses_at(model, activation)
    count = sites.slot.size
    gap = np.zeros(sites.sign.size)
    element = np.full(count, -1, dtype=np.int64)
    evaluate_sites(
        position, axes, sites.slot, sites.offset, sites.axis, sites.wall, sites.first,
        sites.sign, sites.corner_y, sites.corner_z, sites.radius, problem.beam.lengths, state.positions, state.axes,
        element, np.full(count, 0.5), np.zeros((count, 3)), gap, np.zeros((gap.size, 12)),
    )  # fmt: skip
    half = sites.half_range
    there = np.repeat(element >= 0, np.diff(sites.first))
    inside = np.where(half < 0.0, gap, half - np.abs(gap))[there]
    return float(max(0.0, -inside.min(initial=0.0)))
