"""Slacks and multipliers of the walls: the barrier, and the sorting into walls that press and walls that do
not.

Per wall constraint: the gap (or mid-line offset) g, its slack t, and the forces ``low`` and ``high`` that
press on the wire from either side; a one-sided wall (half_range < 0) has low only.  With half range c:

    low (t + c) = mu,   high (c - t) = mu,   t = g + b (low - high),   A = low/(t + c) + high/(c - t)

b is the wall's own compliance, zero where it is rigid: it gives way by b times the force, and its weight in the tangent
is S = A/(1 + b A).  A ligature is such a wall that stands before the wire's own place.

A wall in MODE_PRESSING is held at its bound ``target`` like a tie (its signed force in ``low``); in MODE_FREE
it is absent. Source: Nocedal & Wright, Numerical Optimization (2nd ed. 2006), ch. 19."""

from __future__ import annotations

import numpy as np

from fem.contact_kernel import FAR_GAP
from geometry.compiled import kernel

MODE_BARRIER = 0
MODE_PRESSING = 1
MODE_FREE = 2

TO_BOUND = 0.995  # share of the way to a bound that one step may go
PASSED = 1e-8  # mm through a wall that counts as touching
# N/mm: stiffness of a wire between two neighbouring stations, in order of magnitude (EI over the cube of
# their distance).  At the end of the barrier it tells force from room; where it errs, the sorting is
# corrected afterwards.
SORTING_STIFFNESS = 1e3
FAR = 1e-4  # mm from a wall: the end of the barrier leaves a force below 1e-6 N there


@kernel
def _barrier_law(half, t, low, high, mu):
    """What the barrier wants: force (low - high) = ``wanted`` - A (change of the slack); returns both."""
    room = t + max(half, 0.0)
    wanted = mu / room
    slope = low / room
    if half > 0.0:
        wanted -= mu / (half - t)
        slope += high / (half - t)
    return wanted, slope


@kernel
def wall_weights(
    half_range, compliance, mode, target, slack, low, high, gap, mu, held_weight, weight, push
):  # fmt: skip
    """weight (m,) = S, and push (m,) = the force after the step where the gap does not change.

    The balance's right side takes push x gradient: low' - high' = push - S (change of the gap).
    """
    for m in range(gap.size):
        half = half_range[m]
        force = low[m] - high[m]
        if mode[m] == MODE_FREE or gap[m] == FAR_GAP:
            weight[m] = 0.0
            push[m] = 0.0
        elif mode[m] == MODE_PRESSING or half == 0.0:
            weight[m] = held_weight / (1.0 + held_weight * compliance[m])
            push[m] = (force - held_weight * (gap[m] - target[m])) / (1.0 + held_weight * compliance[m])
        else:
            wanted, slope = _barrier_law(half, slack[m], low[m], high[m], mu)
            weight[m] = slope / (1.0 + compliance[m] * slope)
            push[m] = wanted - weight[m] * (gap[m] + compliance[m] * wanted - slack[m])


@kernel
def wall_steps(
    half_range, compliance, mode, target, slack, low, high, gap, weight, push, change, mu, d_slack, d_low, d_high
):  # fmt: skip
    """Steps of slacks and multipliers for linear gap changes ``change`` (m,), from what `wall_weights` said.

    Returns the largest admissible shares of the primal and the dual step.
    """
    primal = 1.0
    dual = 1.0
    for m in range(gap.size):
        half = half_range[m]
        t = slack[m]
        d_slack[m] = 0.0
        d_low[m] = 0.0
        d_high[m] = 0.0
        if mode[m] == MODE_FREE or gap[m] == FAR_GAP:
            continue
        force = push[m] - weight[m] * change[m]
        if mode[m] == MODE_PRESSING or half == 0.0:
            d_low[m] = force - (low[m] - high[m])
            continue
        dt = gap[m] + change[m] + compliance[m] * force - t
        room = t + max(half, 0.0)
        dl = mu / room - low[m] - low[m] / room * dt
        dh = 0.0
        if half > 0.0:
            dh = mu / (half - t) - high[m] + high[m] / (half - t) * dt
        if compliance[m] > 0.0:
            # the larger force by difference: dt is a small difference of large numbers here
            more = force - (low[m] - high[m])
            dl, dh = (more + dh, dh) if low[m] >= high[m] else (dl, dl - more)
        d_slack[m] = dt
        d_low[m] = dl
        d_high[m] = dh
        if dt < 0.0:
            primal = min(primal, -TO_BOUND * room / dt)
        if half > 0.0 and dt > 0.0:
            primal = min(primal, TO_BOUND * (half - t) / dt)
        most = 1.0
        if dl < 0.0:
            most = min(most, -TO_BOUND * low[m] / dl)
        if dh < 0.0:
            most = min(most, -TO_BOUND * high[m] / dh)
        dual = min(dual, most)
    return primal, dual


@kernel
def start_walls(half_range, mode, target, slack, low, high, gap, mu):
    """Slacks and multipliers on the central path of ``mu``, from the gaps and forces there are."""
    for m in range(gap.size):
        half = half_range[m]
        mode[m] = MODE_BARRIER
        target[m] = 0.0
        if half < 0.0:
            t = max(gap[m], 0.1 * np.sqrt(mu))
            if low[m] * t > mu:
                t = mu / low[m]
            slack[m] = t
            low[m] = mu / t
            high[m] = 0.0
        elif half > 0.0:
            force = low[m] - high[m]
            t = min(max(gap[m], -0.5 * half), 0.5 * half)
            if abs(force) * half > mu:
                t = -np.sign(force) * half * (1.0 - min(0.5, mu / (abs(force) * half)))
            slack[m] = t
            low[m] = mu / (t + half)
            high[m] = mu / (half - t)


@kernel
def complementarity(half_range, compliance, mode, target, slack, low, high, gap):
    """Mean and least product of room and force, the largest constraint error (mm), and the number of
    products.
    """
    total = 0.0
    least = 1e300
    count = 0
    off = 0.0
    for m in range(gap.size):
        half = half_range[m]
        if mode[m] == MODE_FREE or gap[m] == FAR_GAP:
            continue
        if mode[m] == MODE_PRESSING or half == 0.0:
            off = max(off, abs(gap[m] + compliance[m] * (low[m] - high[m]) - target[m]))
            continue
        off = max(off, abs(gap[m] + compliance[m] * (low[m] - high[m]) - slack[m]))
        product = low[m] * (slack[m] + max(half, 0.0))
        total += product
        least = min(least, product)
        count += 1
        if half > 0.0:
            product = high[m] * (half - slack[m])
            total += product
            least = min(least, product)
            count += 1
    if count > 0:
        total /= count
    return total, least, off, count


@kernel
def wall_merit(half_range, compliance, slack, gap, force, d_force, length, d_slack, mu, penalty):
    """Barrier, energy of walls that give way and exact penalty after ``length`` of the step, and their slope there.

    ``force`` (m,) and ``d_force`` (m,): signed forces before the step and their steps.  (Nocedal & Wright, eq. 19.26,
    theorem 18.2.)
    """
    value = 0.0
    slope = 0.0
    for m in range(gap.size):
        half = half_range[m]
        t = slack[m]
        if gap[m] == FAR_GAP:
            continue
        now = force[m] + length * d_force[m]
        value += 0.5 * compliance[m] * now * now
        slope += compliance[m] * now * d_force[m]
        give = compliance[m] * now
        if half == 0.0:
            value += penalty * abs(gap[m] + give)
            slope -= penalty * abs(gap[m] + give)
            continue
        value += penalty * abs(gap[m] + give - t)
        slope -= penalty * abs(gap[m] + give - t)
        room = t + max(half, 0.0)
        value -= mu * np.log(room)
        slope -= mu * d_slack[m] / room
        if half > 0.0:
            value -= mu * np.log(half - t)
            slope += mu * d_slack[m] / (half - t)
    return value, slope


@kernel
def keep_walls(half_range, mode, target, low, high):
    """Walls that press now are held, all others are free."""
    for m in range(low.size):
        half = half_range[m]
        if half == 0.0:
            mode[m] = MODE_BARRIER
        elif low[m] != high[m]:
            force = low[m] - high[m]
            mode[m] = MODE_PRESSING
            target[m] = 0.0 if half < 0.0 else (-half if force > 0.0 else half)
            low[m] = force
            high[m] = 0.0
        else:
            mode[m] = MODE_FREE


@kernel
def sort_walls(half_range, mode, target, slack, low, high):
    """Splits the walls at the end of the barrier:

    one presses where its force exceeds its room times a stiffness.
    """
    for m in range(low.size):
        half = half_range[m]
        if half == 0.0:
            continue
        mode[m] = MODE_FREE
        target[m] = 0.0
        if half < 0.0:
            if low[m] > SORTING_STIFFNESS * slack[m]:
                mode[m] = MODE_PRESSING
        elif low[m] > SORTING_STIFFNESS * (slack[m] + half) and low[m] > high[m]:
            mode[m] = MODE_PRESSING
            target[m] = -half
        elif high[m] > SORTING_STIFFNESS * (half - slack[m]):
            mode[m] = MODE_PRESSING
            target[m] = half
        low[m] = low[m] - high[m] if mode[m] == MODE_PRESSING else 0.0
        high[m] = 0.0


@kernel
def correct_walls(half_range, mode, target, low, gap):
    """Frees walls that pull and holds walls that are passed through; returns how many, and how many press on."""
    moved = 0
    pressing = 0
    for m in range(low.size):
        half = half_range[m]
        if half == 0.0:
            continue
        if gap[m] == FAR_GAP:
            mode[m] = MODE_FREE
            low[m] = 0.0
        elif mode[m] == MODE_PRESSING:
            if low[m] < 0.0 if target[m] <= 0.0 else low[m] > 0.0:
                mode[m] = MODE_FREE
                low[m] = 0.0
                moved += 1
            else:
                pressing += 1
        elif (half < 0.0 and gap[m] < -PASSED) or (half > 0.0 and abs(gap[m]) > half + PASSED):
            mode[m] = MODE_PRESSING
            target[m] = 0.0 if half < 0.0 else (-half if gap[m] < 0.0 else half)
            moved += 1
    return moved, pressing


@kernel
def give_sides(half_range, low, high):
    """A held wall of a two-sided pair carries its signed force in ``low``: back to the side that presses."""
    for m in range(low.size):
        if half_range[m] > 0.0 and low[m] < 0.0:
            high[m] = -low[m]
            low[m] = 0.0


@kernel
def drop_far_walls(half_range, slack, low, high):
    """Walls that the barrier has left far away press no more."""
    for m in range(low.size):
        if half_range[m] != 0.0 and slack[m] + max(half_range[m], 0.0) > FAR:
            low[m] = 0.0
        if half_range[m] > 0.0 and half_range[m] - slack[m] > FAR:
            high[m] = 0.0
