"""One increment: the equilibrium of a beam between rigid walls, by a primal-dual barrier and Newton's method.

Walls      gap(q) = t,  t >= 0          or, for walls closer than any tilt matters,  middle(q) = t,  -c <= t <= c
Holds      w(q) = 0                     ties, stops, clamps, roll hold
Balance    g(q) - loads - sum of force x gradient over walls and holds = 0

Slacks and multipliers are condensed into the blocks of the elements they touch, so the matrix stays block-tridiagonal.
Every wall adds S grad grad^T (see walls_kernel); a hold is the limit of a large S with its multiplier carried along (method of
multipliers), so its weight changes the speed of convergence and never the answer.
Sources: Nocedal & Wright, Numerical Optimization (2nd ed. 2006), ch. 17.3 and 19; the rule for mu: Vanderbei & Shanno,
Computational Optimization and Applications 13 (1999) 231.

At the end of the barrier the walls are sorted into those that press and those that do not, and Newton's method is
finished on these sets without any barrier: the answer does not depend on where the barrier ends, and walls that do not press
have a force of exactly zero.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fem.beam_kernel import assemble_tangent, assemble_wrenches, element_screws, linear_section_law, predict_stress
from fem.blocks_kernel import factorise, solve_blocks
from fem.contact_kernel import (
    add_site_forces,
    add_site_stiffness,
    evaluate_sites,
    site_changes,
)
from fem.curvature_kernel import add_site_curvature
from fem.holds_kernel import add_hold_curvature, add_hold_forces, evaluate_holds, hold_steps
from fem.loads_kernel import add_load_curvature, subtract_loads
from fem.walls_kernel import (
    MODE_PRESSING,
    complementarity,
    correct_walls,
    drop_far_walls,
    give_sides,
    keep_walls,
    sort_walls,
    start_walls,
    wall_merit,
    wall_steps,
    wall_weights,
)
from geometry.compiled import kernel
from geometry.motion import move_frame

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

CONVERGED = 0
TOO_MANY_ITERATIONS = 1
NOT_FINITE = 2

HOLD_WEIGHT = 1e4  # times the largest stiffness: speed of convergence of a held constraint, not its answer
LEAST_SHIFT = 1e-12  # of the largest stiffness: proximal term for sliding and spinning wires, leaves no force
SMALL_FORCE = 1e-4  # of the largest: wall forces whose curvature the tangent (never the balance) leaves out
MOST_HALVINGS = 12
MOST_SORTINGS = 20
MOST_SETTLING = 8
CLOSED = 1e-9  # mm: constraint error of an answer
HELD = 1e-10  # mm or radians: error of a hold


class Beam(NamedTuple):
    """m elements."""

    lengths: Array  # (m,) mm
    passive_screws: Array  # (m, 6) mm, rad
    stiffness: Array  # (m, 6, 6) section stiffness: N, N mm, N mm^2


class Sites(NamedTuple):
    """Walls at stations; see contact_kernel."""

    slot: Integers
    offset: Array
    axis: Integers
    wall: Array
    first: Integers
    sign: Array
    corner_y: Array
    corner_z: Array
    radius: Array
    half_range: Array  # (m,) mm; negative: one-sided


class Holds(NamedTuple):
    """Equality constraints on nodes; see holds_kernel."""

    node: Integers
    frame: Integers
    kind: Integers


class State(NamedTuple):
    """What one increment hands to the next.  The first eight arrays are views of ``flat``, in this order."""

    positions: Array  # (n, 3) mm
    axes: Array  # (n, 3, 3)
    predicted: Array  # (m, 6) stress for the geometric tangent
    slack: Array
    low: Array
    high: Array
    hold_force: Array
    site_xi: Array
    flat: Array
    site_element: Integers
    gap: Array
    gradient: Array
    site_point: Array


class Work(NamedTuple):
    """Scratch, so that nothing is allocated in the loops."""

    screws: Array
    stress: Array
    jacobians: Array
    residual: Array
    diagonal: Array
    upper: Array
    factors: Array
    couplings: Array
    step: Array
    right: Array
    change: Array
    weight: Array
    force: Array
    target: Array
    mode: Integers
    hold_value: Array
    hold_gradient: Array
    hold_weight: Array
    hold_step: Array
    positions: Array
    axes: Array
    d_slack: Array
    d_low: Array
    d_high: Array
    site_element: Integers


@kernel
def _evaluate(beam, loads, slot_position, slot_axes, sites, holds, state, work):
    """Stress, wrenches, gaps and hold values at the state.  work.residual receives g - loads.  Returns the energy."""
    positions, axes, residual = state.positions, state.axes, work.residual
    element_screws(positions, axes, work.screws)
    energy = linear_section_law(work.screws, beam.passive_screws, beam.lengths, beam.stiffness, work.stress)
    energy += subtract_loads(positions, axes, loads, residual)
    assemble_wrenches(work.screws, work.stress, residual, work.jacobians)
    evaluate_sites(
        slot_position, slot_axes, sites.slot, sites.offset, sites.axis, sites.wall, sites.first,
        sites.sign, sites.corner_y, sites.corner_z, sites.radius, beam.lengths, positions, axes,
        state.site_element, state.site_xi, state.site_point, state.gap, state.gradient,
    )  # fmt: skip
    evaluate_holds(
        slot_position, slot_axes, holds.node, holds.frame, holds.kind, positions, axes, work.hold_value, work.hold_gradient
    )
    return energy


@kernel
def _force_scales(positions, lengths, stiffness, stress, low, high, scales):
    """scales[:3] = largest force (N), largest moment (N mm), rounding floor of the balance (N)."""
    far = 0.0
    for i in range(positions.shape[0]):
        for j in range(3):
            far = max(far, abs(positions[i, j]))
    force = 0.0
    moment = 0.0
    stiff = 0.0
    for e in range(lengths.size):
        for j in range(3):
            force = max(force, abs(stress[e, j]))
            moment = max(moment, abs(stress[e, 3 + j]))
        stiff = max(stiff, stiffness[e, 0, 0] / lengths[e])
    for m in range(low.size):
        force = max(force, abs(low[m] - high[m]))
    scales[0] = force
    scales[1] = moment
    # twenty roundings of a coordinate times the stiffest spring between two nodes
    scales[2] = 20.0 * 2.2e-16 * far * stiff


@kernel
def _balance(residual, low, high, hold_node, hold_gradient, hold_force, force, right):
    """right (n, 6) = -(g - loads) + hold forces; force (m,) = low - high."""
    for i in range(right.shape[0]):
        for j in range(6):
            right[i, j] = -residual[i, j]
    for m in range(low.size):
        force[m] = low[m] - high[m]
    add_hold_forces(hold_node, hold_gradient, hold_force, right)


@kernel
def _largest(right):
    """Largest force and moment entry of (n, 6); nan as soon as anything is not finite."""
    force = 0.0
    moment = 0.0
    for i in range(right.shape[0]):
        for j in range(3):
            a = abs(right[i, j])
            b = abs(right[i, 3 + j])
            if not (a <= 1e300 and b <= 1e300):
                return np.nan, np.nan
            force = max(force, a)
            moment = max(moment, b)
    return force, moment


@kernel
def _stiffness_scales(diagonal, hold_node, hold_kind, hold_weight, scales):
    """scales[3:] = largest translation and rotation stiffness; hold weights from their own nodes."""
    u = 0.0
    r = 0.0
    for i in range(diagonal.shape[0]):
        for j in range(3):
            u = max(u, abs(diagonal[i, j, j]))
            r = max(r, abs(diagonal[i, 3 + j, 3 + j]))
    scales[3] = u
    scales[4] = r
    for h in range(hold_node.size):
        base = 0 if hold_kind[h] < 3 else 3
        largest = 0.0
        for j in range(base, base + 3):
            largest = max(largest, abs(diagonal[hold_node[h], j, j]))
        hold_weight[h] = HOLD_WEIGHT * largest


@kernel
def _newton_system(beam, loads, slot_axes, sites, holds, state, work, mu, use_predicted, scales):
    """Assembles the condensed matrix and its right side (work.step)."""
    diagonal, upper, step, push = work.diagonal, work.upper, work.step, work.change
    positions, axes, gradient, element = state.positions, state.axes, state.gradient, state.site_element
    for i in range(diagonal.shape[0]):
        for j in range(6):
            for k in range(6):
                diagonal[i, j, k] = 0.0
    stress = state.predicted if use_predicted else work.stress
    assemble_tangent(work.screws, work.jacobians, beam.lengths, beam.stiffness, stress, diagonal, upper)
    add_load_curvature(axes, loads, diagonal)
    _stiffness_scales(diagonal, holds.node, holds.kind, work.hold_weight, scales)
    _balance(work.residual, state.low, state.high, holds.node, work.hold_gradient, state.hold_force, work.force, step)
    for h in range(holds.node.size):
        value = -work.hold_weight[h] * work.hold_value[h]
        for j in range(6):
            step[holds.node[h], j] += value * work.hold_gradient[h, j]
    wall_weights(
        sites.half_range, work.mode, work.target, state.slack, state.low, state.high, state.gap, mu,
        HOLD_WEIGHT * scales[3], work.weight, push,
    )  # fmt: skip
    add_site_forces(element, sites.first, gradient, push, step)
    add_site_stiffness(element, sites.first, gradient, work.weight, diagonal, upper)
    add_site_curvature(
        slot_axes, sites.slot, sites.axis, element, state.site_xi, state.site_point, sites.first,
        sites.sign, sites.corner_y, sites.corner_z, work.force, SMALL_FORCE * scales[0], beam.lengths, positions, axes,
        diagonal, upper,
    )  # fmt: skip
    add_hold_curvature(
        slot_axes, holds.node, holds.frame, holds.kind, state.hold_force, work.hold_gradient, work.hold_weight, axes, diagonal
    )


@kernel
def _factor_and_solve(diagonal, upper, factors, couplings, step, scales, shift, downhill):
    """Solves for the step.  Returns the number of pivots that are not positive.

    ``downhill``: the diagonal is shifted until every pivot is positive, so that the step lowers the energy.
    """
    relative = LEAST_SHIFT
    first = -1
    while True:
        for j in range(3):
            shift[j] = relative * scales[3]
            shift[3 + j] = relative * scales[4]
        wrong = factorise(diagonal, upper, shift, factors, couplings)
        if first < 0:
            first = wrong
        if wrong == 0 or relative > 1.0 or not downhill:
            break
        relative = max(relative * 10.0, 1e-9)
    solve_blocks(factors, couplings, step)
    return first


@kernel
def _copy(flat, element, other_flat, other_element):
    for i in range(flat.size):
        other_flat[i] = flat[i]
    for i in range(element.size):
        other_element[i] = element[i]


@kernel
def _place(old_positions, old_axes, step, length, turn, positions, axes):
    """Every node's old frame followed by ``length`` of its step."""
    for i in range(positions.shape[0]):
        move_frame(
            old_positions[i], old_axes[i],
            length * step[i, 0], length * step[i, 1], length * step[i, 2],
            length * step[i, 3], length * step[i, 4], length * step[i, 5],
            turn, positions[i], axes[i],
        )  # fmt: skip


@kernel
def _remember(positions, axes, element, old_positions, old_axes, old_element):
    for i in range(positions.shape[0]):
        for j in range(3):
            old_positions[i, j] = positions[i, j]
            for k in range(3):
                old_axes[i, j, k] = axes[i, j, k]
    for i in range(element.size):
        old_element[i] = element[i]


@kernel
def _shared_slope(residual, step):
    """Derivative of the energy along the step."""
    total = 0.0
    for i in range(step.shape[0]):
        for j in range(6):
            total += residual[i, j] * step[i, j]
    return total


@kernel
def _largest_force(low, d_low, high, d_high, hold_force, hold_step):
    """Largest force after a full step: the exact penalty must exceed it."""
    largest = 0.0
    for m in range(low.size):
        largest = max(largest, abs(low[m] + d_low[m] - high[m] - d_high[m]))
    for h in range(hold_force.size):
        largest = max(largest, abs(hold_force[h] + hold_step[h]))
    return largest


@kernel
def _newton(
    beam, loads, slot_position, slot_axes, sites, holds, state, work, scales,
    mu_start, mu_end, careful, downhill, most, history, done,
):  # fmt: skip
    """Newton iterations until the balance is at its floor.  Returns (code, iterations, wrong pivots at the last matrix)."""
    turn = np.empty((3, 3))
    shift = np.empty(6)
    positions, axes, slack, low, high, gap = state.positions, state.axes, state.slack, state.low, state.high, state.gap
    gradient, element, hold_force = state.gradient, state.site_element, state.hold_force
    half_range, first = sites.half_range, sites.first
    mode, target, step, right = work.mode, work.target, work.step, work.right
    d_slack, d_low, d_high, hold_step, hold_value = work.d_slack, work.d_low, work.d_high, work.hold_step, work.hold_value
    mu = mu_start
    wrong = 0
    penalty = 0.0
    energy = 0.0
    iteration = 0
    length = 0.0
    dual = 0.0
    taken = 0.0
    attempt = 0
    before = 0.0
    slope = 0.0
    while True:
        energy = _evaluate(beam, loads, slot_position, slot_axes, sites, holds, state, work)
        if length > 0.0:  # a step is on trial
            if careful and attempt < MOST_HALVINGS:
                walls, _ = wall_merit(half_range, slack, gap, d_slack, mu, penalty)
                after = energy + walls
                for h in range(hold_value.size):
                    after += penalty * abs(hold_value[h])
                if not after <= before + 1e-4 * length * slope + 1e-12 * abs(before):
                    length *= 0.5
                    attempt += 1
                    _place(work.positions, work.axes, step, length, turn, positions, axes)
                    for m in range(slack.size):
                        slack[m] += (length - taken) * d_slack[m]
                    for s in range(element.size):
                        element[s] = work.site_element[s]
                    taken = length
                    continue
            for h in range(hold_force.size):
                hold_force[h] += length * hold_step[h]
            for m in range(low.size):
                held = mode[m] == MODE_PRESSING or half_range[m] == 0.0
                low[m] += (length if held else dual) * d_low[m]
                high[m] += dual * d_high[m]
            iteration += 1
        _force_scales(positions, beam.lengths, beam.stiffness, work.stress, low, high, scales)
        _balance(work.residual, low, high, holds.node, work.hold_gradient, hold_force, work.force, right)
        add_site_forces(element, first, gradient, work.force, right)
        force, moment = _largest(right)
        mean, least, off, count = complementarity(half_range, mode, target, slack, low, high, gap)
        hold_off = 0.0
        for h in range(hold_value.size):
            hold_off = max(hold_off, abs(hold_value[h]))
        if done + iteration < history.shape[0]:
            history[done + iteration, 0] = force
            history[done + iteration, 1] = moment
            history[done + iteration, 2] = max(off, hold_off)
            history[done + iteration, 3] = mean
        if not force <= 1e300:
            return NOT_FINITE, iteration, wrong
        if (
            force <= max(1e-8 * scales[0], scales[2])
            and moment <= max(1e-8 * scales[1], scales[2])
            and off <= CLOSED
            and hold_off <= HELD
            and (count == 0 or mean <= 3.0 * mu_end)
        ):
            return CONVERGED, iteration, wrong
        if iteration >= most:
            return TOO_MANY_ITERATIONS, iteration, wrong
        if count > 0 and iteration > 0:
            # Vanderbei & Shanno (1999): the more even the products, the further the barrier may fall
            evenness = least / mean
            factor = min(0.05 * (1.0 - evenness) / evenness, 2.0)
            mu = min(max(0.1 * factor * factor * factor * mean, 0.5 * mu_end), mu_start)
        _newton_system(beam, loads, slot_axes, sites, holds, state, work, mu, not careful, scales)
        wrong = _factor_and_solve(work.diagonal, work.upper, work.factors, work.couplings, step, scales, shift, downhill)
        site_changes(element, first, gradient, step, work.change)
        length, dual = wall_steps(
            half_range, mode, target, slack, low, high, gap, work.weight, work.change, mu, d_slack, d_low, d_high
        )
        hold_steps(holds.node, work.hold_gradient, work.hold_weight, hold_value, step, hold_step)
        predict_stress(work.jacobians, beam.lengths, beam.stiffness, work.stress, step, length, state.predicted)
        if careful:
            penalty = max(penalty, 2.0 * _largest_force(low, d_low, high, d_high, hold_force, hold_step))
            walls, slope = wall_merit(half_range, slack, gap, d_slack, mu, penalty)
            before = energy + walls
            slope += _shared_slope(work.residual, step)
            for h in range(hold_value.size):
                before += penalty * abs(hold_value[h])
                slope -= penalty * abs(hold_value[h])
            slope = min(slope, 0.0)
        _remember(positions, axes, element, work.positions, work.axes, work.site_element)
        _place(work.positions, work.axes, step, length, turn, positions, axes)
        for m in range(slack.size):
            slack[m] += length * d_slack[m]
        taken = length
        attempt = 0


@kernel
def solve_increment(
    beam, loads, slot_position, slot_axes, sites, holds, state, backup, work, scales,
    mu_start, mu_end, careful, downhill, quick, most, history,
):  # fmt: skip
    """Equilibrium at the given slot poses, from ``state``, in place.

    ``quick`` 1: the walls that press now are tried first; 0: the barrier is always walked.
    Returns (code, iterations, wrong pivots, finished without barrier).  history (k, 4) receives the largest force and
    moment out of balance, the largest constraint error and the mean barrier product of every iteration.
    """
    half_range, mode, target = sites.half_range, work.mode, work.target
    slack, low, high, gap = state.slack, state.low, state.high, state.gap
    # three phases through one call of Newton's method: the walls as they press; the barrier; the walls that press at its end
    phase = 0
    iterations = 0
    wrong = 0
    sortings = 0
    phase_mu_start = 0.0 * mu_start
    phase_mu_end = 0.0 * mu_end
    phase_most = MOST_SETTLING * quick
    searching = most < 0
    _copy(state.flat, state.site_element, backup.flat, backup.site_element)
    keep_walls(half_range, mode, target, low, high)
    while True:
        code, more, wrong_now = _newton(
            beam, loads, slot_position, slot_axes, sites, holds, state, work, scales,
            phase_mu_start, phase_mu_end, searching, downhill, phase_most, history, iterations,
        )  # fmt: skip
        iterations += more
        wrong = max(wrong_now, wrong) if phase == 2 else wrong_now
        moved = 0
        if code == CONVERGED and phase != 1:
            moved = correct_walls(half_range, mode, target, low, gap)
            sortings += 1
            if moved == 0:
                give_sides(half_range, low, high)
                return code, iterations, wrong, True
        if phase == 0:
            if code == CONVERGED and moved <= 2 and sortings < 3 * quick:
                continue
            _copy(backup.flat, backup.site_element, state.flat, state.site_element)
            sortings = 0
            searching = careful
            phase = 1
            phase_mu_start = mu_start
            phase_mu_end = mu_end
            phase_most = most
            start_walls(half_range, mode, target, slack, low, high, gap, mu_start)
        elif phase == 1:
            if code != CONVERGED:
                return code, iterations, wrong, False
            if low.size == 0:
                return code, iterations, wrong, True
            _copy(state.flat, state.site_element, backup.flat, backup.site_element)
            sort_walls(half_range, mode, target, slack, low, high)
            phase = 2
            phase_mu_start = 0.0 * mu_start
            phase_mu_end = 0.0 * mu_end
            phase_most = min(most, MOST_SETTLING)
            searching = most < 0
        elif code != CONVERGED or sortings == MOST_SORTINGS:
            break
    # the walls do not sort themselves: the barrier's answer stands
    _copy(backup.flat, backup.site_element, state.flat, state.site_element)
    drop_far_walls(half_range, slack, low, high)
    _evaluate(beam, loads, slot_position, slot_axes, sites, holds, state, work)
    return CONVERGED, iterations, wrong, False
