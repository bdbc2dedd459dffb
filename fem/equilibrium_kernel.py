"""One increment: the equilibrium of a beam between rigid walls, by a primal-dual barrier and Newton's method.

Walls      gap(q) = t,  t >= 0          or, for walls closer than any tilt matters,  middle(q) = t,  -c <= t <= c
Holds      w(q) = 0                     ties, stops, clamps, roll hold
Balance    g(q) - loads - sum nu grad   = 0, nu = low - high; low, high >= 0 press on the wire from either side
Barrier    low (t + c) = mu,  high (c - t) = mu,   mu -> the end value

Slacks t and multipliers are condensed into the blocks of the elements they touch, so the matrix stays
block-tridiagonal.  Every wall adds S grad grad^T with S = low/(t + c) + high/(c - t); a hold is the limit S -> large with its
multiplier carried along (method of multipliers), so its weight changes the speed of convergence and never the answer.
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
from fem.blocks_kernel import factorise, solve
from fem.contact_kernel import (
    add_site_curvature,
    add_site_forces,
    add_site_stiffness,
    evaluate_sites,
    site_changes,
)
from fem.holds_kernel import add_hold_curvature, add_hold_forces, evaluate_holds
from geometry.compiled import kernel
from geometry.motion import move_frame

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

CONVERGED = 0
TOO_MANY_ITERATIONS = 1
NOT_FINITE = 2

MODE_BARRIER = 0
MODE_PRESSING = 1  # held at its bound
MODE_FREE = 2  # does not press

HOLD_WEIGHT = 1e4  # times the largest stiffness of its node: speed of convergence of a hold, not its answer
LEAST_SHIFT = 1e-12  # of the largest stiffness: proximal term for sliding and spinning wires, leaves no force
MOST_HALVINGS = 12
MOST_SORTINGS = 6
MOST_SETTLING = 8
PASSED = 1e-9  # mm through a wall that is rounding
TO_BOUND = 0.995  # share of the way to a bound that one step may go


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
    """What one increment hands to the next.  All arrays are changed in place."""

    positions: Array  # (n, 3) mm
    axes: Array  # (n, 3, 3)
    predicted: Array  # (m, 6) stress for the geometric tangent
    slack: Array
    low: Array
    high: Array
    hold_force: Array
    site_element: Integers
    site_xi: Array
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
    change: Array
    weight: Array
    force: Array
    target: Array
    mode: Integers
    hold_value: Array
    hold_gradient: Array
    hold_weight: Array
    right: Array
    positions: Array
    axes: Array
    slack: Array
    low: Array
    high: Array
    hold_force: Array
    site_element: Integers
    site_xi: Array


@kernel
def _evaluate(beam, loads, slot_position, slot_axes, sites, holds, state, work):
    """Stress, wrenches, gaps and hold values at the state.  work.residual receives g - loads.  Returns the energy."""
    element_screws(state.positions, state.axes, work.screws)
    energy = linear_section_law(work.screws, beam.passive_screws, beam.lengths, beam.stiffness, work.stress)
    n = state.positions.shape[0]
    for i in range(n):
        for j in range(3):
            force = 0.0
            moment = 0.0
            for k in range(3):
                force += state.axes[i, k, j] * loads[i, k]
                moment += state.axes[i, k, j] * loads[i, 3 + k]
            work.residual[i, j] = -force
            work.residual[i, 3 + j] = -moment
            energy -= loads[i, j] * state.positions[i, j]
    assemble_wrenches(work.screws, work.stress, work.residual, work.jacobians)
    evaluate_sites(
        slot_position, slot_axes, sites.slot, sites.offset, sites.axis, sites.wall, sites.first,
        sites.sign, sites.corner_y, sites.corner_z, sites.radius, beam.lengths, state.positions, state.axes,
        state.site_element, state.site_xi, state.site_point, state.gap, state.gradient,
    )  # fmt: skip
    evaluate_holds(
        slot_position, slot_axes, holds.node, holds.frame, holds.kind, state.positions, state.axes,
        work.hold_value, work.hold_gradient,
    )  # fmt: skip
    return energy


@kernel
def _scales(beam, state, work, scales):
    """scales (5,): largest force, largest moment, rounding floor, translation and rotation stiffness."""
    largest = 0.0
    for i in range(state.positions.shape[0]):
        for j in range(3):
            largest = max(largest, abs(state.positions[i, j]))
    force = 0.0
    moment = 0.0
    floor = 0.0
    for e in range(beam.lengths.size):
        for j in range(3):
            force = max(force, abs(work.stress[e, j]))
            moment = max(moment, abs(work.stress[e, 3 + j]))
        floor = max(floor, beam.stiffness[e, 0, 0] / beam.lengths[e])
    for m in range(state.low.size):
        force = max(force, abs(state.low[m] - state.high[m]))
    scales[0] = force
    scales[1] = moment
    scales[2] = 20.0 * 2.2e-16 * largest * floor


@kernel
def _balance(holds, state, work, right):
    """right (n, 6) = -(g - loads - sum of wall and hold forces); returns the largest force and moment entry."""
    for i in range(right.shape[0]):
        for j in range(6):
            right[i, j] = -work.residual[i, j]
    for m in range(state.low.size):
        work.force[m] = state.low[m] - state.high[m]
    add_hold_forces(holds.node, work.hold_gradient, state.hold_force, right)


@kernel
def _largest(right):
    force = 0.0
    moment = 0.0
    for i in range(right.shape[0]):
        for j in range(3):
            a = abs(right[i, j])
            if not a <= 1e300:
                return np.nan, np.nan
            force = max(force, a)
            a = abs(right[i, 3 + j])
            if not a <= 1e300:
                return np.nan, np.nan
            moment = max(moment, a)
    return force, moment


@kernel
def _wall_weights(sites, state, work, mu, contact_weight):
    """Condensed weight S (work.weight) and the right side's factor (work.change) of every wall.

    Barrier: low' = mu/(t + c) - low (gap' - t)/(t + c) with gap' the linearised gap, and likewise high'.
    Pressing: a hold at its bound.  Free: nothing.
    """
    for m in range(state.low.size):
        mode = work.mode[m]
        half = sites.half_range[m]
        t = state.slack[m]
        if mode == MODE_FREE:
            work.weight[m] = 0.0
            work.change[m] = 0.0
        elif mode == MODE_PRESSING or half == 0.0:
            work.weight[m] = contact_weight
            work.change[m] = state.low[m] - state.high[m] - contact_weight * (state.gap[m] - work.target[m])
        elif half < 0.0:
            s = state.low[m] / t
            work.weight[m] = s
            work.change[m] = mu / t - s * (state.gap[m] - t)
        else:
            s_low = state.low[m] / (t + half)
            s_high = state.high[m] / (half - t)
            work.weight[m] = s_low + s_high
            work.change[m] = mu / (t + half) - mu / (half - t) - (s_low + s_high) * (state.gap[m] - t)


@kernel
def _walls_after_step(sites, state, work, mu):
    """Turns work.change (linear gap changes) into steps of slacks and multipliers; returns the two step lengths."""
    primal = 1.0
    dual = 1.0
    for m in range(state.low.size):
        mode = work.mode[m]
        half = sites.half_range[m]
        t = state.slack[m]
        if mode == MODE_FREE:
            work.slack[m] = 0.0
            work.low[m] = 0.0
            work.high[m] = 0.0
            continue
        new_gap = state.gap[m] + work.change[m]
        if mode == MODE_PRESSING or half == 0.0:
            # low carries the signed force of a wall treated as a hold; high stays as it is
            work.slack[m] = 0.0
            work.low[m] = -work.weight[m] * (new_gap - work.target[m])
            work.high[m] = 0.0
            continue
        dt = new_gap - t
        work.slack[m] = dt
        low_bound = t if half < 0.0 else t + half
        dl = mu / low_bound - state.low[m] - state.low[m] / low_bound * dt
        work.low[m] = dl
        if dt < 0.0:
            primal = min(primal, -TO_BOUND * low_bound / dt)
        if dl < 0.0:
            dual = min(dual, -TO_BOUND * state.low[m] / dl)
        if half > 0.0:
            room = half - t
            dh = mu / room - state.high[m] + state.high[m] / room * dt
            work.high[m] = dh
            if dt > 0.0:
                primal = min(primal, TO_BOUND * room / dt)
            if dh < 0.0:
                dual = min(dual, -TO_BOUND * state.high[m] / dh)
        else:
            work.high[m] = 0.0
    return primal, dual


@kernel
def _start_walls(sites, state, work, mu):
    """Slacks and multipliers on the central path of ``mu``, from the gaps and forces there are."""
    for m in range(state.low.size):
        half = sites.half_range[m]
        work.mode[m] = MODE_BARRIER
        work.target[m] = 0.0
        if half < 0.0:
            least = 0.1 * np.sqrt(mu)
            low = max(state.low[m], 0.0)
            t = max(state.gap[m], least)
            if low * t > mu:
                t = mu / low
            state.slack[m] = t
            state.low[m] = mu / t
            state.high[m] = 0.0
        elif half > 0.0:
            force = state.low[m] - state.high[m]
            t = min(max(state.gap[m], -0.5 * half), 0.5 * half)
            if abs(force) * half > mu:
                # root of force = mu/(t + c) - mu/(c - t) nearest the pressing bound
                t = -np.sign(force) * half * (1.0 - min(0.5, mu / (abs(force) * half)))
            state.slack[m] = t
            state.low[m] = mu / (t + half)
            state.high[m] = mu / (half - t)


@kernel
def _complementarity(sites, state, work):
    """Mean and least product of bound distance and multiplier, and the largest |gap - t|."""
    total = 0.0
    least = 1e300
    count = 0
    off = 0.0
    for m in range(state.low.size):
        half = sites.half_range[m]
        if work.mode[m] == MODE_FREE:
            continue
        if work.mode[m] == MODE_PRESSING or half == 0.0:
            off = max(off, abs(state.gap[m] - work.target[m]))
            continue
        off = max(off, abs(state.gap[m] - state.slack[m]))
        product = state.low[m] * (state.slack[m] + max(half, 0.0))
        total += product
        least = min(least, product)
        count += 1
        if half > 0.0:
            product = state.high[m] * (half - state.slack[m])
            total += product
            least = min(least, product)
            count += 1
    if count == 0:
        return 0.0, 0.0, off, 0
    return total / count, least, off, count


@kernel
def _newton_system(beam, loads, slot_position, slot_axes, sites, holds, state, work, mu, use_predicted, scales, ignore):
    """Assembles the condensed matrix and right side (work.step); sets the stiffness scales."""
    n = state.positions.shape[0]
    for i in range(n):
        for j in range(6):
            for k in range(6):
                work.diagonal[i, j, k] = 0.0
    stress = state.predicted if use_predicted else work.stress
    assemble_tangent(work.screws, work.jacobians, beam.lengths, beam.stiffness, stress, work.diagonal, work.upper)
    for i in range(n):  # dead forces turn with the body axes: half of (theta x u).force, symmetrised
        if loads[i, 0] != 0.0 or loads[i, 1] != 0.0 or loads[i, 2] != 0.0:
            for j in range(3):
                j1 = (j + 1) % 3
                j2 = (j + 2) % 3
                f = 0.0
                for k in range(3):
                    f -= 0.5 * state.axes[i, k, j] * loads[i, k]
                work.diagonal[i, 3 + j1, j2] += f
                work.diagonal[i, j2, 3 + j1] += f
                work.diagonal[i, 3 + j2, j1] -= f
                work.diagonal[i, j1, 3 + j2] -= f
    u = 0.0
    r = 0.0
    for i in range(n):
        for j in range(3):
            u = max(u, abs(work.diagonal[i, j, j]))
            r = max(r, abs(work.diagonal[i, 3 + j, 3 + j]))
    scales[3] = u
    scales[4] = r
    for h in range(holds.node.size):
        largest = 0.0
        base = 0 if holds.kind[h] < 3 else 3
        for j in range(3):
            largest = max(largest, abs(work.diagonal[holds.node[h], base + j, base + j]))
        work.hold_weight[h] = HOLD_WEIGHT * largest
    _balance(holds, state, work, work.step)
    _wall_weights(sites, state, work, mu, HOLD_WEIGHT * u)
    for h in range(holds.node.size):
        i = holds.node[h]
        k = -work.hold_weight[h] * work.hold_value[h]
        for j in range(6):
            work.step[i, j] += k * work.hold_gradient[h, j]
    add_site_forces(state.site_element, sites.first, state.gradient, work.change, work.step)
    add_site_stiffness(state.site_element, sites.first, state.gradient, work.weight, work.diagonal, work.upper)
    add_site_curvature(
        slot_axes, sites.slot, sites.axis, state.site_element, state.site_xi, state.site_point, sites.first,
        sites.sign, sites.corner_y, sites.corner_z, work.force, ignore, beam.lengths, state.positions, state.axes,
        work.diagonal, work.upper,
    )  # fmt: skip
    add_hold_curvature(
        slot_axes, holds.node, holds.frame, holds.kind, state.hold_force, work.hold_gradient, work.hold_weight,
        state.axes, work.diagonal,
    )  # fmt: skip


@kernel
def _factor_and_solve(work, scales, shift, downhill):
    """Solves for work.step.  Returns the number of pivots that are not positive.

    ``downhill``: the diagonal is shifted until every pivot is positive, so that the step lowers the energy.
    """
    relative = LEAST_SHIFT
    first = -1
    while True:
        for j in range(3):
            shift[j] = relative * scales[3]
            shift[3 + j] = relative * scales[4]
        wrong = factorise(work.diagonal, work.upper, shift, work.factors, work.couplings)
        if first < 0:
            first = wrong
        if wrong == 0 or relative > 1.0 or not downhill:
            break
        relative = max(relative * 10.0, 1e-9)
    solve(work.factors, work.couplings, work.upper, work.step)
    return first


@kernel
def _merit(holds, sites, state, work, energy, mu, penalty):
    """Energy, barrier and the exact penalty on gap - t and on the holds (Nocedal & Wright, eq. 19.26)."""
    value = energy
    for h in range(holds.node.size):
        value += penalty * abs(work.hold_value[h])
    for m in range(state.low.size):
        half = sites.half_range[m]
        if half == 0.0:
            value += penalty * abs(state.gap[m])
        elif half < 0.0:
            value += penalty * abs(state.gap[m] - state.slack[m]) - mu * np.log(state.slack[m])
        else:
            t = state.slack[m]
            value += penalty * abs(state.gap[m] - t) - mu * (np.log(t + half) + np.log(half - t))
    return value


@kernel
def _slope(holds, sites, state, work, mu, penalty):
    """Derivative of the merit along the step (Nocedal & Wright, theorem 18.2 with the barrier's terms)."""
    total = 0.0
    for i in range(work.step.shape[0]):
        for j in range(6):
            total += work.residual[i, j] * work.step[i, j]
    for h in range(holds.node.size):
        total -= penalty * abs(work.hold_value[h])
    for m in range(state.low.size):
        half = sites.half_range[m]
        if half == 0.0:
            total -= penalty * abs(state.gap[m])
            continue
        t = state.slack[m]
        total -= penalty * abs(state.gap[m] - t)
        if half < 0.0:
            total -= mu * work.slack[m] / t
        else:
            total -= mu * (work.slack[m] / (t + half) - work.slack[m] / (half - t))
    return total


@kernel
def _copy(state, other):
    """other = state, for all that a step changes."""
    other.positions[:] = state.positions
    other.axes[:] = state.axes
    other.slack[:] = state.slack
    other.low[:] = state.low
    other.high[:] = state.high
    other.hold_force[:] = state.hold_force
    other.predicted[:] = state.predicted
    other.site_element[:] = state.site_element
    other.site_xi[:] = state.site_xi


@kernel
def _set_places(state, work, length, turn):
    """Moves all nodes from the stored places by ``length`` of the step; sites restart from where they were."""
    for i in range(state.positions.shape[0]):
        move_frame(
            work.positions[i], work.axes[i],
            length * work.step[i, 0], length * work.step[i, 1], length * work.step[i, 2],
            length * work.step[i, 3], length * work.step[i, 4], length * work.step[i, 5],
            turn, state.positions[i], state.axes[i],
        )  # fmt: skip
    state.site_element[:] = work.site_element
    state.site_xi[:] = work.site_xi


@kernel
def _newton(
    beam, loads, slot_position, slot_axes, sites, holds, state, work, scales, mu_start, mu_end, careful, downhill, most, history, done
):
    """Newton iterations until the balance is at its floor.  Returns (code, iterations, wrong pivots at the last matrix)."""
    turn = np.empty((3, 3))
    shift = np.empty(6)
    mu = mu_start
    wrong = 0
    penalty = 0.0
    energy = _evaluate(beam, loads, slot_position, slot_axes, sites, holds, state, work)
    for iteration in range(most + 1):
        _scales(beam, state, work, scales)
        _balance(holds, state, work, work.right)
        add_site_forces(state.site_element, sites.first, state.gradient, work.force, work.right)
        force, moment = _largest(work.right)
        mean, least, off, count = _complementarity(sites, state, work)
        hold_off = 0.0
        for h in range(holds.node.size):
            hold_off = max(hold_off, abs(work.hold_value[h]))
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
            and off <= 1e-9
            and hold_off <= 1e-10
            and (count == 0 or mean <= 3.0 * mu_end)
        ):
            return CONVERGED, iteration, wrong
        if iteration == most:
            break
        if count > 0 and iteration > 0:
            # Vanderbei & Shanno (1999): the more even the products, the further the barrier may fall
            evenness = least / mean
            factor = min(0.05 * (1.0 - evenness) / evenness, 2.0)
            mu = min(max(0.1 * factor * factor * factor * mean, 0.5 * mu_end), mu_start)
        _newton_system(
            beam, loads, slot_position, slot_axes, sites, holds, state, work, mu, not careful, scales, 1e-8 * scales[0]
        )
        wrong = _factor_and_solve(work, scales, shift, downhill)
        site_changes(state.site_element, sites.first, state.gradient, work.step, work.change)
        length, dual = _walls_after_step(sites, state, work, mu)
        work.positions[:] = state.positions
        work.axes[:] = state.axes
        work.site_element[:] = state.site_element
        work.site_xi[:] = state.site_xi
        for h in range(holds.node.size):  # work.hold_force: the full step of the multiplier
            slope = 0.0
            for j in range(6):
                slope += work.hold_gradient[h, j] * work.step[holds.node[h], j]
            work.hold_force[h] = -work.hold_weight[h] * (work.hold_value[h] + slope)
        predict_stress(work.jacobians, beam.lengths, beam.stiffness, work.stress, work.step, length, state.predicted)
        before = 0.0
        slope = 0.0
        if careful:
            for m in range(state.low.size):
                penalty = max(penalty, 2.0 * abs(state.low[m] + work.low[m] - state.high[m] - work.high[m]))
            for h in range(holds.node.size):
                penalty = max(penalty, 2.0 * abs(state.hold_force[h] + work.hold_force[h]))
            before = _merit(holds, sites, state, work, energy, mu, penalty)
            slope = min(_slope(holds, sites, state, work, mu, penalty), 0.0)
        taken = 0.0
        for attempt in range(MOST_HALVINGS + 1):
            _set_places(state, work, length, turn)
            for m in range(state.low.size):
                state.slack[m] += (length - taken) * work.slack[m]
            taken = length
            energy = _evaluate(beam, loads, slot_position, slot_axes, sites, holds, state, work)
            if not careful or attempt == MOST_HALVINGS:
                break
            after = _merit(holds, sites, state, work, energy, mu, penalty)
            if after <= before + 1e-4 * length * slope + 1e-12 * abs(before):
                break
            length *= 0.5
        for h in range(holds.node.size):
            state.hold_force[h] += length * work.hold_force[h]
        for m in range(state.low.size):
            held = work.mode[m] == MODE_PRESSING or sites.half_range[m] == 0.0
            state.low[m] += (length if held else dual) * work.low[m]
            state.high[m] += dual * work.high[m]
    return TOO_MANY_ITERATIONS, most, wrong


@kernel
def _sort_walls(sites, state, work):
    """Splits the walls into pressing and free at the end of the barrier: the larger of force (N) and distance (mm) decides."""
    pressing = 0
    for m in range(state.low.size):
        half = sites.half_range[m]
        if half == 0.0:
            continue
        work.mode[m] = MODE_FREE
        if half < 0.0:
            if state.low[m] > state.slack[m]:
                work.mode[m] = MODE_PRESSING
                work.target[m] = 0.0
        elif state.low[m] > state.slack[m] + half and state.low[m] > state.high[m]:
            work.mode[m] = MODE_PRESSING
            work.target[m] = -half
        elif state.high[m] > half - state.slack[m]:
            work.mode[m] = MODE_PRESSING
            work.target[m] = half
        if work.mode[m] == MODE_FREE:
            state.low[m] = 0.0
            state.high[m] = 0.0
        else:
            pressing += 1
            state.low[m] -= state.high[m]
            state.high[m] = 0.0
    return pressing


@kernel
def _wrong_walls(sites, state, work):
    """Moves walls that pull, or that are passed through, to the other set; returns how many."""
    moved = 0
    for m in range(state.low.size):
        half = sites.half_range[m]
        if half == 0.0:
            continue
        if work.mode[m] == MODE_PRESSING:
            pull = state.low[m] < 0.0 if work.target[m] <= 0.0 else state.low[m] > 0.0
            if pull:
                work.mode[m] = MODE_FREE
                state.low[m] = 0.0
                moved += 1
        elif half < 0.0:
            if state.gap[m] < -PASSED:
                work.mode[m] = MODE_PRESSING
                work.target[m] = 0.0
                moved += 1
        elif abs(state.gap[m]) > half + PASSED:
            work.mode[m] = MODE_PRESSING
            work.target[m] = -half if state.gap[m] < 0.0 else half
            moved += 1
    return moved


@kernel
def _unsign(sites, state, work):
    """A pressing wall of a two-sided pair carries its signed force in ``low``: give it back to its side."""
    for m in range(state.low.size):
        if sites.half_range[m] > 0.0 and state.low[m] < 0.0:
            state.high[m] = -state.low[m]
            state.low[m] = 0.0


@kernel
def _keep_walls(sites, state, work):
    """The walls as they pressed before: is the wire in balance already?"""
    for m in range(state.low.size):
        half = sites.half_range[m]
        if half == 0.0:
            work.mode[m] = MODE_BARRIER
        elif state.low[m] != state.high[m]:
            work.mode[m] = MODE_PRESSING
            force = state.low[m] - state.high[m]
            work.target[m] = 0.0 if half < 0.0 else (-half if force > 0.0 else half)
            state.low[m] = force
            state.high[m] = 0.0
        else:
            work.mode[m] = MODE_FREE


@kernel
def solve_increment(
    beam, loads, slot_position, slot_axes, sites, holds, state, backup, work, scales,
    mu_start, mu_end, careful, downhill, quick, most, history,
):  # fmt: skip
    """Equilibrium at the given slot poses, from ``state``, in place.

    Returns (code, iterations, wrong pivots, finished without barrier).  history (k, 4) receives the largest force and
    moment out of balance, the largest constraint error and the mean barrier product of every iteration.
    """
    # three phases through one call of Newton's method: as it stands; the barrier; the walls that press, without barrier
    phase = 0
    iterations = 0
    wrong = 0
    sortings = 0
    phase_mu_start = 0.0 * mu_start
    phase_mu_end = 0.0 * mu_end
    phase_most = MOST_SETTLING * quick
    searching = most < 0
    _copy(state, backup)
    _keep_walls(sites, state, work)
    while True:
        code, more, wrong_now = _newton(
            beam, loads, slot_position, slot_axes, sites, holds, state, work, scales,
            phase_mu_start, phase_mu_end, searching, downhill, phase_most, history, iterations,
        )  # fmt: skip
        iterations += more
        wrong = max(wrong_now, wrong) if phase == 2 else wrong_now
        if phase == 0:
            sortings += 1
            if code == CONVERGED:
                moved = _wrong_walls(sites, state, work)
                if moved == 0:
                    _unsign(sites, state, work)
                    return code, iterations, wrong, True
                if moved <= 2 and sortings < 3 * quick:
                    continue
            _copy(backup, state)
            _evaluate(beam, loads, slot_position, slot_axes, sites, holds, state, work)
            sortings = 0
            searching = careful
            _start_walls(sites, state, work, mu_start)
            phase = 1
            phase_mu_start = mu_start
            phase_mu_end = mu_end
            phase_most = most
        elif phase == 1:
            if code != CONVERGED:
                return code, iterations, wrong, False
            if state.low.size == 0:
                return code, iterations, wrong, True
            _copy(state, backup)
            _sort_walls(sites, state, work)
            phase = 2
            phase_mu_start = 0.0 * mu_start
            phase_mu_end = 0.0 * mu_end
            phase_most = min(most, MOST_SETTLING)
            searching = most < 0
        else:
            sortings += 1
            if code == CONVERGED and _wrong_walls(sites, state, work) == 0:
                _unsign(sites, state, work)
                return code, iterations, wrong, True
            if code != CONVERGED or sortings == MOST_SORTINGS:
                break
    # the walls do not sort themselves: the barrier's answer stands
    _copy(backup, state)
    _evaluate(beam, loads, slot_position, slot_axes, sites, holds, state, work)
    return CONVERGED, iterations, wrong, False
