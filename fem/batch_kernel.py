"""Many increments in one compiled call: the balance of each, its arms, and the loads on every support.

The same increments as ``fem.advance`` makes, compiled from the place of the supports to the loads read off, for wires
without friction, loads and links on rigid supports.  Where nodes must move along the call ends, to be gone on with once
they have; where Newton's method does not settle an increment it ends with the state as it was before, for
``fem.advance``.

Three things differ, and only in how an answer is found.  An increment starts from the state, the prisms and the course
of the wire extrapolated along the last two, and prisms go first by the share of their way that was right last time.
Walls that are passed by next to nothing may change sides in any number: inside a slot whose mouth takes a torque all
stations touch with no force, and which of them pass by a nanometre says nothing.  And where the last matrix had no
wrong pivot, none is looked for at the state itself.
"""

from __future__ import annotations

import numpy as np

from fem.beam_kernel import section_wrenches
from fem.contact_kernel import FAR_GAP
from fem.equilibrium_kernel import CONVERGED, MOST_SETTLING, TOO_MANY_ITERATIONS, newton, solve_increment
from fem.newton_kernel import unstable_pivots
from fem.prisms_kernel import aitken, off_lines, place_prisms, reached_along, stations_leave_nodes
from fem.recovery_kernel import read_loads
from fem.sweeps_kernel import copy_state
from fem.walls_kernel import MODE_PRESSING, correct_walls, give_sides, keep_walls
from geometry.compiled import kernel

WHOLE, NEEDS_HELP, NO_MINIMUM, NEEDS_NODES = 0, 1, 2, 3

MOST_QUICK = 8  # sortings from the walls that pressed before
TRIFLE = 1e-5  # mm: walls that are passed by less say nothing of another equilibrium
LEAST_PRESS = 1e-9  # N: keeps a wall among those that press where the extrapolated force is none
PREDICTED_TURN = 3  # steps of the polar iteration that make extrapolated axes a rotation again


@kernel
def passed_by(half_range, mode, gap):
    """The most, mm, by which a wall is passed that is not held to press."""
    passed = 0.0
    for m in range(gap.size):
        if mode[m] != MODE_PRESSING and half_range[m] != 0.0 and gap[m] != FAR_GAP:
            room = gap[m] if half_range[m] < 0.0 else half_range[m] - abs(gap[m])
            passed = max(passed, -room)
    return passed


@kernel
def as_rotations(axes):
    """axes (n, 3, 3) after one step of Newton's polar iteration towards the nearest rotations."""
    square = np.empty((3, 3))
    new = np.empty((3, 3))
    for n in range(axes.shape[0]):
        a = axes[n]
        for i in range(3):
            for j in range(3):
                square[i, j] = a[0, i] * a[0, j] + a[1, i] * a[1, j] + a[2, i] * a[2, j]
        for i in range(3):
            for j in range(3):
                change = a[i, 0] * square[0, j] + a[i, 1] * square[1, j] + a[i, 2] * square[2, j]
                new[i, j] = 1.5 * a[i, j] - 0.5 * change
        for i in range(3):
            for j in range(3):
                a[i, j] = new[i, j]


@kernel
def weights(ratio, last_ratio, smooth, out):
    """out (3,): weights of the last state, the one before and the one before that, in the state a step of ``ratio`` (of
    the last step) further on: Lagrange's, through all three where the way is ``smooth``, else through two."""
    if smooth and last_ratio > 0.0:
        back = 1.0 + 1.0 / last_ratio
        out[0] = (ratio + 1.0) * (ratio + back) / back
        out[1] = -ratio * (ratio + back) / (back - 1.0)
        out[2] = ratio * (ratio + 1.0) / (back * (back - 1.0))
    else:
        out[0] = 1.0 + ratio
        out[1] = -ratio
        out[2] = 0.0


@kernel
def extrapolate(state, weight, last, before, earlier):
    """The state by the ``weight`` (3,) of three flat ones; the walls that press in the last stay the same."""
    low, high = state.low, state.high
    walls = low.size
    begin_high = last.size - state.hold_force.size - walls
    begin_low = begin_high - walls
    for i in range(last.size):
        state.flat[i] = weight[0] * last[i] + weight[1] * before[i] + weight[2] * earlier[i]
    for m in range(walls):
        low[m] = max(low[m], LEAST_PRESS) if last[begin_low + m] > 0.0 else 0.0
        high[m] = max(high[m], LEAST_PRESS) if last[begin_high + m] > 0.0 else 0.0
    for _ in range(PREDICTED_TURN):
        as_rotations(state.axes)


@kernel
def keep(state, kept):
    """All that an increment changes, into ``kept``, a state of the same sizes."""
    copy_state(state.flat, kept.flat)
    kept.touch.node[:] = state.touch.node
    kept.touch.arm[:] = state.touch.arm
    kept.touch.turn[:] = state.touch.turn
    kept.touch.course[:] = state.touch.course
    kept.touch.reach[:] = state.touch.reach


@kernel
def walk(
    beam, loads, sites, holds, state, backup, kept, work, nodes, site_of, station_of, station_nodes, still,
    positions, axes, ratios, tied, over, limits, rules, barriers, most, neutral, begin, moves,
    before, last_off, shares, out, floors, ends,
):  # fmt: skip
    """Increments ``begin`` to the last, to the places (p, k, 3) and (p, k, 3, 3) of the supports.

    ratios (p,): length of each step in terms of the one before, 0 where it does not go on straight; tied (k,): node
    that a support's moments are about, or -1; moves: followings that the first increment has had already, before its
    nodes moved; before: flat state two increments back; last_off (s,) and shares (1,): how far prisms went last, and by
    which share.  ``out`` (p, k, 6) receives
    the loads in world axes, ``floors`` (p,) the rounding floors, ``ends`` (p, m, 2, 6) the resultants, where it has
    rows.

    Returns (increment, code, followings): all of them and WHOLE; or the first that needs help, with the state before it
    in ``kept``; or one whose nodes must move, its state found so far; or one whose equilibrium is no minimum."""
    count, supports = positions.shape[0], positions.shape[1]
    lines, n = station_of.size, nodes.size
    half_range, mode, target = sites.half_range, work.mode, work.target
    low, high, gap, touch = state.low, state.high, state.touch.gap, state.touch
    screws, reached, history = np.empty((n - 1, 6)), np.empty((n, 6)), np.zeros((1, 4))
    there, turned = np.empty((lines, 3)), np.empty((lines, 3, 3))
    press, off, arcs = np.empty(lines), np.empty(lines), np.empty(lines)
    scales, own_scales, shift = np.zeros(6), np.zeros(6), np.zeros(6)
    acting, push = np.empty((supports, 3)), np.empty((low.size, 3))
    course_before = touch.course.copy()
    arcs_before = np.empty(lines)
    for s in range(lines):
        arcs_before[s] = nodes[touch.node[s]] + touch.reach[s]
    now = np.empty(state.flat.size)
    earlier, course_earlier, arcs_earlier = before.copy(), course_before.copy(), arcs_before.copy()
    weight = np.zeros(3)
    # increments in a row that the walls pressing at the end of the one before, extrapolated, led to
    smooth = 0
    p = begin
    usual = 1.0
    predicts = moves == 0
    while p < count:
        position, frame = positions[p], axes[p]
        keep(state, kept)
        copy_state(state.flat, now)
        predicts = predicts and ratios[p] > 0.0
        if predicts:
            weights(ratios[p], ratios[p - 1], smooth >= 1, weight)
            extrapolate(state, weight, now, before, earlier)
            for s in range(lines):
                at = nodes[touch.node[s]] + touch.reach[s]
                arcs[s] = weight[0] * at + weight[1] * arcs_before[s] + weight[2] * arcs_earlier[s]
            place_prisms(nodes, station_of, station_nodes, state, arcs, over, screws, reached, there, turned)
            for s in range(lines):
                for j in range(3):
                    touch.course[s, j] = (
                        weight[0] * kept.touch.course[s, j]
                        + weight[1] * course_before[s, j]
                        + weight[2] * course_earlier[s, j]
                    )
        following, share, finished, wrong, without_barrier = 0, usual, False, 0, True
        if moves > 0:
            following, share = moves, shares[0]
            moves = 0
        while True:
            # the walls that press, sorted anew as long as few change, or only by next to nothing
            copy_state(state.flat, backup.flat)
            keep_walls(half_range, mode, target, low, high)
            code, iterations, without_barrier = TOO_MANY_ITERATIONS, 0, True
            for _ in range(MOST_QUICK):
                found, more, wrong = newton(
                    beam, loads, position, frame, sites, holds, state, work, scales, 0.0, 0.0, False, True, False,
                    0, MOST_SETTLING, history, 0,
                )  # fmt: skip
                iterations += more
                if found != CONVERGED:
                    break
                passed = passed_by(half_range, mode, gap)
                moved, pressing = correct_walls(half_range, mode, target, low, gap)
                if moved == 0:
                    give_sides(half_range, low, high)
                    code = CONVERGED
                    break
                if moved > 2 + pressing and passed > TRIFLE:
                    break
            if code != CONVERGED:
                copy_state(backup.flat, state.flat)
                if predicts and following == 0:
                    break
                near = following > 0
                smooth = -1
                code, iterations, wrong, without_barrier = solve_increment(
                    beam, loads, position, frame, sites, holds, state, backup, work, scales,
                    barriers[1] if near else barriers[0], barriers[2], near, True, False, 0, 0,
                    2 * most if near else most, history,
                )  # fmt: skip
                if code != CONVERGED:
                    break
            reached_along(state.positions, state.axes, screws, reached)
            if not off_lines(nodes, sites, state, reached, over, limits, following > rules[1], press, off):
                finished = True
                break
            if following == rules[0]:
                break
            if following > 0:
                share = aitken(off, last_off, share, limits[6])
                if following == 1:
                    usual = share
            for s in range(lines):
                last_off[s] = off[s]
            if following < rules[2] and stations_leave_nodes(
                nodes, sites, station_of, station_nodes, still, touch, limits[4], limits[5]
            ):
                shares[0] = share
                return p, NEEDS_NODES, following + 1
            for s in range(lines):
                arcs[s] = nodes[touch.node[s]] + touch.reach[s] + share * off[s]
            place_prisms(nodes, station_of, station_nodes, state, arcs, over, screws, reached, there, turned)
            following += 1
        if not finished:
            keep(kept, state)
            if predicts:
                # once more from where it stands
                predicts = False
                continue
            return p, NEEDS_HELP, 0
        as_rotations(state.axes)
        if iterations == 0 or wrong != 0 or not without_barrier:
            mu = 0.0 if without_barrier else barriers[2]
            wrong = unstable_pivots(
                beam, loads, position, frame, sites, holds, state, work, mu, False, own_scales, shift, neutral
            )
            if wrong != 0:
                return p, NO_MINIMUM, 0
        for k in range(supports):
            for i in range(3):
                acting[k, i] = state.positions[tied[k], i] if tied[k] >= 0 else position[k, i]
        read_loads(sites, site_of, holds, state, work.hold_gradient, acting, out[p], push)
        floors[p] = scales[2]
        if ends.shape[0] > 0:
            section_wrenches(work.screws, work.stress, ends[p])
        smooth = smooth + 1 if predicts else 0
        copy_state(before, earlier)
        copy_state(now, before)
        for s in range(lines):
            arcs_earlier[s] = arcs_before[s]
            for j in range(3):
                course_earlier[s, j] = course_before[s, j]
                course_before[s, j] = kept.touch.course[s, j]
            arcs_before[s] = nodes[kept.touch.node[s]] + kept.touch.reach[s]
        predicts = True
        p += 1
    return count, WHOLE, 0
