"""One increment: the equilibrium of a beam between rigid walls, by a primal-dual barrier and Newton's method.

Walls      gap(q) + b f = t,  t >= 0    or, for walls closer than any tilt matters,  middle(q) + b f = t,  -c <= t <= c
Holds      w(q) = 0                     ties, stops, clamps, roll hold
Balance    g(q) - loads - sum of force x gradient over walls and holds - friction = 0

Slacks and multipliers are condensed into the blocks of the nodes they touch, so the matrix stays
block-tridiagonal. Every wall adds S grad grad^T (see walls_kernel); a hold is the limit of a large S with its
multiplier carried along (method of multipliers), so its weight changes the speed of convergence and never the
answer. Sources: Nocedal & Wright, Numerical Optimization (2nd ed. 2006), ch. 17.3 and 19; the rule for mu:
Vanderbei & Shanno, Computational Optimization and Applications 13 (1999) 231.

At the end of the barrier the walls are sorted into those that press and those that do not, and Newton's
method is finished on these sets without any barrier: the answer does not depend on where the barrier ends,
and walls that do not press have a force of exactly zero."""

from __future__ import annotations

import numpy as np

from fem.beam_kernel import predict_stress
from fem.contact_kernel import add_site_forces, site_changes
from fem.fibre_elements_kernel import predict_strains
from fem.friction_kernel import friction_potential, friction_work
from fem.holds_kernel import hold_steps
from fem.joints_kernel import joint_steps
from fem.loads_kernel import loads_turn
from fem.newton_kernel import balance, evaluate, factor_and_solve, newton_system
from fem.sweeps_kernel import (
    copy_state,
    force_scales,
    largest_entries,
    largest_wall_or_hold,
    place_nodes,
    remember_places,
    work_along,
)
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
)
from geometry.compiled import kernel

CONVERGED = 0
TOO_MANY_ITERATIONS = 1
NOT_FINITE = 2

MOST_HALVINGS = 12
MOST_SORTINGS = 20
MOST_QUICK = 8  # sortings from the walls that pressed before, as long as they change less than twofold
MOST_SETTLING = 8
BALANCED = 1e-8  # of the largest resultants: what is out of balance
CLOSED = 1e-9  # mm: constraint error of an answer
SETTLED = 1e-5  # of the largest resultants: last step of the elements' law, which leaves its square
HELD = 1e-10  # mm or radians: error of a hold


@kernel
def newton(
    beam, loads, slot_position, slot_axes, sites, holds, state, work, scales,
    mu_start, mu_end, careful, downhill, rubs, fewest, most, history, done,
):  # fmt: skip
    """Newton iterations until the balance is at its floor, ``fewest`` of them in any case.

    Returns (code, iterations, wrong pivots at the last matrix).
    """
    turn = np.empty((3, 3))
    shift = np.empty(6)
    turning = loads_turn(loads)
    positions, axes, slack, low, high, gap = (
        state.positions,
        state.axes,
        state.slack,
        state.low,
        state.high,
        state.touch.gap,
    )
    gradient, node, hold_force = state.touch.gradient, state.touch.node, state.hold_force
    half_range, compliance, first = sites.half_range, sites.compliance, sites.first
    mode, target, step, right = work.mode, work.target, work.step, work.right
    d_slack, d_low, d_high, hold_step, hold_value = (
        work.d_slack,
        work.d_low,
        work.d_high,
        work.hold_step,
        work.hold_value,
    )
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
        energy, last_force, last_moment = evaluate(
            beam, loads, slot_position, slot_axes, sites, holds, state, work, not careful
        )
        if length > 0.0:  # a step is on trial
            if careful and attempt < MOST_HALVINGS:
                walls, _ = wall_merit(
                    half_range, compliance, slack, gap, work.force, work.d_force, length, d_slack, mu, penalty
                )
                after = energy + walls
                if rubs:
                    after += friction_potential(slot_position, slot_axes, sites, state.touch, state.rubbing)
                for h in range(hold_value.size):
                    after += penalty * abs(hold_value[h])
                if not after <= before + 1e-4 * length * slope + 1e-12 * abs(before):
                    length *= 0.5
                    attempt += 1
                    place_nodes(work.positions, work.axes, step, length, turn, positions, axes)
                    for m in range(slack.size):
                        slack[m] += (length - taken) * d_slack[m]
                    taken = length
                    continue
            for h in range(hold_force.size):
                hold_force[h] += length * hold_step[h]
            for m in range(low.size):
                held = mode[m] == MODE_PRESSING or half_range[m] == 0.0
                low[m] += (length if held else dual) * d_low[m]
                high[m] += dual * d_high[m]
            iteration += 1
        force_scales(positions, beam.lengths, beam.compliance, work.stress, low, high, scales)
        rubbed = balance(slot_position, slot_axes, sites, holds, state, work, rubs, right)
        add_site_forces(node, first, gradient, work.force, right)
        force, moment = largest_entries(right)
        mean, least, off, count = complementarity(half_range, compliance, mode, target, slack, low, high, gap)
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
            iteration >= fewest
            and force <= max(BALANCED * scales[0], scales[2])
            and moment <= max(BALANCED * scales[1], scales[5])
            and off <= CLOSED
            and hold_off <= HELD
            and last_force <= max(SETTLED * scales[0], scales[2])
            and last_moment <= max(SETTLED * scales[1], scales[5])
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
        newton_system(
            beam, loads, slot_position, slot_axes, sites, holds, state, work, mu, not careful, rubs, scales
        )
        wrong = factor_and_solve(
            loads, sites, holds, state, work, scales, shift, downhill, rubs and not careful, turning and not careful
        )  # fmt: skip
        site_changes(node, first, gradient, step, work.change)
        length, dual = wall_steps(
            half_range, compliance, mode, target, slack, low, high, gap, work.weight, work.push, work.change, mu,
            d_slack, d_low, d_high,
        )  # fmt: skip
        hold_steps(holds.node, work.hold_gradient, work.hold_weight, hold_value, step, hold_step)
        joint_steps(
            holds, work.hold_gradient, work.hold_other, work.joint_weight, hold_value, step, hold_step
        )
        predict_stress(
            work.jacobians, beam.lengths, work.stiffness, work.stress, step, length, state.predicted
        )
        predict_strains(beam, work.stress, state.predicted, state.strains)
        if careful:
            penalty = max(
                penalty, 2.0 * largest_wall_or_hold(low, d_low, high, d_high, hold_force, hold_step)
            )
            for m in range(low.size):
                work.d_force[m] = d_low[m] - d_high[m]
            walls, slope = wall_merit(
                half_range, compliance, slack, gap, work.force, work.d_force, 0.0, d_slack, mu, penalty
            )
            before = energy + walls + rubbed
            slope += work_along(work.residual, step)
            if rubs:
                slope -= friction_work(state.touch, state.rubbing, step)
            for h in range(hold_value.size):
                before += penalty * abs(hold_value[h])
                slope -= penalty * abs(hold_value[h])
            slope = min(slope, 0.0)
        remember_places(positions, axes, work.positions, work.axes)
        place_nodes(work.positions, work.axes, step, length, turn, positions, axes)
        for m in range(slack.size):
            slack[m] += length * d_slack[m]
        taken = length
        attempt = 0


@kernel
def solve_increment(
    beam, loads, slot_position, slot_axes, sites, holds, state, backup, work, scales,
    mu_start, mu_end, careful, downhill, rubs, quick, fewest, most, history,
):  # fmt: skip
    """Equilibrium at the given slot poses, from ``state``, in place.

    ``quick`` 1: the walls that press now are tried first; 0: the barrier is always walked.  ``fewest`` iterations of
    each Newton's method are made even where the balance holds.  Returns (code, iterations, wrong pivots, finished
    without barrier).  history (k, 4) receives the largest force and moment out of balance, the largest constraint
    error and the mean barrier product of every iteration."""
    half_range, mode, target = sites.half_range, work.mode, work.target
    slack, low, high, gap = state.slack, state.low, state.high, state.touch.gap
    # three phases through one call of Newton's method: the walls as they press; the barrier; the walls that
    # press at its end
    phase = 0
    iterations = 0
    wrong = 0
    sortings = 0
    phase_mu_start = 0.0 * mu_start
    phase_mu_end = 0.0 * mu_end
    phase_most = MOST_SETTLING * quick
    searching = most < 0
    copy_state(state.flat, backup.flat)
    keep_walls(half_range, mode, target, low, high)
    while True:
        code, more, wrong_now = newton(
            beam, loads, slot_position, slot_axes, sites, holds, state, work, scales,
            phase_mu_start, phase_mu_end, searching, downhill, rubs, fewest, phase_most, history, iterations,
        )  # fmt: skip
        iterations += more
        wrong = max(wrong_now, wrong) if phase == 2 else wrong_now
        moved = pressing = 0
        if code == CONVERGED and phase != 1:
            moved, pressing = correct_walls(half_range, mode, target, low, gap)
            sortings += 1
            if moved == 0:
                give_sides(half_range, low, high)
                return code, iterations, wrong, True
        if phase == 0:
            if code == CONVERGED and moved <= 2 + pressing and sortings < MOST_QUICK * quick:
                continue
            copy_state(backup.flat, state.flat)
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
            copy_state(state.flat, backup.flat)
            sort_walls(half_range, mode, target, slack, low, high)
            phase = 2
            phase_mu_start = 0.0 * mu_start
            phase_mu_end = 0.0 * mu_end
            phase_most = min(most, MOST_SETTLING)
            searching = most < 0
        elif code != CONVERGED or sortings == MOST_SORTINGS:
            break
    # the walls do not sort themselves: the barrier's answer stands
    copy_state(backup.flat, state.flat)
    drop_far_walls(half_range, slack, low, high)
    evaluate(beam, loads, slot_position, slot_axes, sites, holds, state, work, False)
    return CONVERGED, iterations, wrong, False
