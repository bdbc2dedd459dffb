"""What a state means: reactions of the supports, wall forces, section resultants, penetration between stations.

Everything here is read off the state and changes nothing.  Reactions act on the support (on the tooth), resultants follow
the section's own axes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.beam_kernel import element_screws, section_wrenches
from fem.equilibrium import Problem, current_stress, poses_at
from fem.model import PointTie

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
    return Snapshot(
        activation, position, axes, acting, force, moment, roll, _walls(problem, position, axes),
        np.array(model.nodes), state.positions.copy(), state.axes.copy(), section_resultants(problem), floor,
    )  # fmt: skip


def _drop_rounding(force: Array, moment: Array, floor: float) -> None:
    """A support whose force and moment are both below the rounding floor carries exactly nothing."""
    for k in range(force.shape[0]):
        if np.abs(force[k]).max(initial=0.0) <= floor and np.abs(moment[k]).max(initial=0.0) <= floor:
            force[k] = 0.0
            moment[k] = 0.0


def penetration(problem: Problem, activation: float) -> float:
    """Deepest the outline passes a wall at the stations, mm (0 where it passes none)."""
    gaps, half = problem.state.gap, problem.constraints.sites.half_range
    inside = np.where(half < 0.0, gaps, half - np.abs(gaps))
    return float(max(0.0, -inside.min(initial=0.0)))
