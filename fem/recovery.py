"""What a state means: reactions of the supports, wall forces, section resultants, penetration between stations.

Everything here is read off the state and changes nothing.  Reactions act on the support (on the tooth), resultants follow
the section's own axes.
"""

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
    """(k, 3) the point that the moments of each support are about: its centre, or for a point tie the point of the wire it holds."""
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
    """(k, 2) nodes at the first and last station (both the held node where there is no slot); -1 where the wire is not there."""
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
        return bool((np.abs(self.force) > self.floor).any() or (np.abs(self.moment) > 10.0 * self.floor).any())

    def left_over(self) -> tuple[Array, Array]:
        """Sum of all forces (3,) and of all moments about the origin (3,): zero in equilibrium without loads."""
        moment = self.moment + np.cross(self.acting_point, self.force)
        return self.force.sum(axis=0), moment.sum(axis=0)


def section_resultants(problem: Problem) -> Array:
    """(m, 2, 6): what the part beyond exerts across the section, at both ends of every element, from its nodal wrenches.

    The nodal wrench, not the mean stress, so that moments vary along an element as the shear demands.
    """
    stress = current_stress(problem)
    screws = np.zeros_like(stress)
    element_screws(problem.state.positions, problem.state.axes, screws)
    out = np.zeros((stress.shape[0], 2, 6))
    section_wrenches(screws, stress, out)
    return out


def _section_at(problem: Problem, site: int) -> tuple[Array, Array, Array]:
    """Centre, d2 and d3 of the section a site meets, interpolated as the contact does."""
    state = problem.state
    e, xi = int(state.site_element[site]), float(state.site_xi[site])
    length = problem.beam.lengths[e]
    xi2, xi3 = xi * xi, xi**3
    x, r = state.positions, state.axes
    centre = (
        (1.0 - 3.0 * xi2 + 2.0 * xi3) * x[e]
        + length * (xi - 2.0 * xi2 + xi3) * r[e, :, 0]
        + (3.0 * xi2 - 2.0 * xi3) * x[e + 1]
        + length * (xi3 - xi2) * r[e + 1, :, 0]
    )
    return centre, (1.0 - xi) * r[e, :, 1] + xi * r[e + 1, :, 1], (1.0 - xi) * r[e, :, 2] + xi * r[e + 1, :, 2]


def _walls(problem: Problem, position: Array, axes: Array) -> WallForces:
    state, sites = problem.state, problem.constraints.sites
    site_of = np.repeat(np.arange(sites.slot.size), np.diff(sites.first))
    force = state.low - state.high
    rows = np.flatnonzero(force != 0.0)
    side = np.zeros(rows.size)
    centre = np.zeros((rows.size, 3))
    point = np.zeros((rows.size, 3))
    on_support = np.zeros((rows.size, 3))
    section = problem.model.section
    for i, m in enumerate(rows):
        site = int(site_of[m])
        k, e = int(sites.slot[site]), int(state.site_element[site])
        x, d2, d3 = _section_at(problem, site)
        gradient = state.gradient[m]
        push = force[m] * (state.axes[e] @ gradient[:3] + state.axes[e + 1] @ gradient[6:9])
        away = -push / np.linalg.norm(push)
        two_sided = sites.half_range[m] >= 0.0
        reach = section.edge_radius
        touch = x + sites.corner_y[m] * d2 + sites.corner_z[m] * d3
        if two_sided:  # the mid-line's corner stands for both edges: go out to the wall that presses
            own = section.corner_y if sites.axis[site] == 0 else section.corner_z
            reach += own
        centre[i] = x
        point[i] = axes[k].T @ (touch + reach * away - position[k])
        on_support[i] = axes[k].T @ -push
        side[i] = np.sign(on_support[i][1 + sites.axis[site]])
    return WallForces(
        sites.slot[site_of[rows]], sites.axis[site_of[rows]], side, sites.offset[site_of[rows]], np.abs(force[rows]),
        centre, point, on_support,
    )  # fmt: skip


def snapshot_of(problem: Problem, activation: float, floor: float) -> Snapshot:
    """Reads the state off at ``activation``; ``floor`` (N) is the rounding floor of its balance."""
    state, model, constraints = problem.state, problem.model, problem.constraints
    position, axes = poses_at(model, activation)
    count = len(model.supports)
    acting = position.copy()
    for k, support in enumerate(model.supports):
        if isinstance(support.restraint, PointTie):
            acting[k] = state.positions[int(np.argmin(np.abs(model.nodes - support.arc)))]
    force = np.zeros((count, 3))
    moment = np.zeros((count, 3))
    roll = np.zeros(count)

    def add(k: int, node: int, wrench: Array) -> None:
        push = state.axes[node] @ wrench[:3]
        force[k] -= push
        moment[k] -= state.axes[node] @ wrench[3:] + np.cross(state.positions[node] - acting[k], push)

    sites = constraints.sites
    site_of = np.repeat(np.arange(sites.slot.size), np.diff(sites.first))
    pressing = state.low - state.high
    for m in np.flatnonzero(pressing != 0.0):
        site = int(site_of[m])
        k, e = int(sites.slot[site]), int(state.site_element[site])
        add(k, e, pressing[m] * state.gradient[m, :6])
        add(k, e + 1, pressing[m] * state.gradient[m, 6:])
    holds = constraints.holds
    for h in range(holds.node.size):
        wrench = state.hold_force[h] * problem.work.hold_gradient[h]
        add(int(holds.frame[h]), int(holds.node[h]), wrench)
        if holds.kind[h] == 3:
            roll[int(holds.frame[h])] = -state.hold_force[h]
    _drop_rounding(force, moment, floor)
    centre_arc, centre_axes, mouths = _centres(problem)
    return Snapshot(
        activation, position, axes, acting, force, moment, roll, _walls(problem, position, axes),
        centre_arc, centre_axes, mouths, np.array(model.nodes), state.positions.copy(), state.axes.copy(), section_resultants(problem), floor,
    )  # fmt: skip


def station_arcs(problem: Problem) -> tuple[Array, NDArray[np.bool_]]:
    """Arc length (sites,) of the wire at every wall's station now, and whether the wire is there at all."""
    state, nodes = problem.state, problem.model.nodes
    element = np.maximum(state.site_element, 0)
    arcs = nodes[element] + state.site_xi * (nodes[element + 1] - nodes[element])
    return arcs, state.site_element >= 0


def frames_at(problem: Problem, arcs: Array) -> tuple[Array, Array]:
    """Positions (k, 3) and axes (k, 3, 3) of the wire at arc lengths (k,): along the screws of its elements."""
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
    """A support whose force and moment are both below the rounding floor carries exactly nothing."""
    for k in range(force.shape[0]):
        if np.abs(force[k]).max(initial=0.0) <= floor and np.abs(moment[k]).max(initial=0.0) <= floor:
            force[k] = 0.0
            moment[k] = 0.0


def deepest_between_stations(problem: Problem, activation: float) -> float:
    """Deepest the outline passes a wall half way between two neighbouring stations, mm (0 where it passes none).

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
