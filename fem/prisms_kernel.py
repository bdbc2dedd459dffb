"""The prisms of walls, compiled: where they stand, how far their lines meet the wire ahead, whether nodes must follow.

What ``fem.equilibrium`` and ``fem.following`` do with numpy, for ``fem.batch_kernel``; tests/fem/test_batch.py holds
the two against each other.
"""

from __future__ import annotations

import numpy as np

from fem.beam_kernel import element_screws
from fem.contact_kernel import LINE
from geometry.compiled import kernel
from geometry.motion import frames_along


@kernel
def interpolated(at, nodes, values, column):
    """values[:, column] between the nodes, at one place within them."""
    e = min(max(np.searchsorted(nodes, at, side="right") - 1, 0), nodes.size - 2)
    part = (at - nodes[e]) / (nodes[e + 1] - nodes[e])
    return values[e, column] + part * (values[e + 1, column] - values[e, column])


@kernel
def nearest_node(nodes, at):
    """Number of the node nearest to an arc length."""
    after = min(max(np.searchsorted(nodes, at), 1), nodes.size - 1)
    return after - 1 if at - nodes[after - 1] < nodes[after] - at else after


@kernel
def reached_along(positions, axes, screws, reached):
    """reached (n, 6): the screws of all elements before each node, added up."""
    element_screws(positions, axes, screws)
    for j in range(6):
        reached[0, j] = 0.0
    for e in range(screws.shape[0]):
        for j in range(6):
            reached[e + 1, j] = reached[e, j] + screws[e, j]


@kernel
def course(nodes, reached, at, node_at, over, first, last, column):
    """Twist rate (column 0) or a curvature (1, 2), rad/mm, of a wire from ``first`` to ``last``; see `courses`."""
    place = node_at if column == 0 else at
    begin = min(max(place - over, first), last)
    end = min(max(place + over, first), last)
    went = interpolated(end, nodes, reached, 0) - interpolated(begin, nodes, reached, 0)
    turned = interpolated(end, nodes, reached, 3 + column) - interpolated(begin, nodes, reached, 3 + column)
    return turned / went


@kernel
def courses(nodes, positions, axes, at, node_at, over, first, last, out):
    """out (k, 3): twist rates and curvatures, rad/mm, of the wire as it is: curvatures at arc lengths ``at`` (k,), the
    twist at those of the nodes ``node_at`` (k,), each taken ``over`` so many mm (3,) to either side between the wire's
    ``first`` and ``last`` (1,) or (k,)."""
    screws, reached = np.empty((nodes.size - 1, 6)), np.empty((nodes.size, 6))
    reached_along(positions, axes, screws, reached)
    for k in range(at.size):
        of = min(k, first.size - 1)
        for j in range(3):
            out[k, j] = course(nodes, reached, at[k], node_at[k], over[j], first[of], last[of], j)


@kernel
def place_prisms(nodes, station_of, station_nodes, state, arcs, over, screws, reached, there, turned):
    """Every site looks at the wire at its arc length ``arcs`` (s,): ``fem.equilibrium.place_arms``."""
    touch, positions, axes = state.touch, state.positions, state.axes
    for s in range(arcs.size):
        arcs[s] = min(max(arcs[s], nodes[0]), nodes[-1])
    reached_along(positions, axes, screws, reached)
    frames_along(nodes, positions, axes, arcs, there, turned)
    for s in range(arcs.size):
        at = arcs[s]
        node = station_nodes[station_of[s]] if station_of[s] >= 0 else nearest_node(nodes, at)
        touch.node[s] = node
        touch.reach[s] = at - nodes[node]
        for j in range(3):
            touch.arm[s, j] = 0.0
            for i in range(3):
                touch.arm[s, j] += axes[node, i, j] * (there[s, i] - positions[node, i])
            for k in range(3):
                touch.turn[s, j, k] = 0.0
                for i in range(3):
                    touch.turn[s, j, k] += axes[node, i, j] * turned[s, i, k]
            touch.course[s, j] = course(nodes, reached, at, nodes[node], over, nodes[0], nodes[-1], j)


@kernel
def off_lines(nodes, sites, state, reached, over, limits, turns, press, off):
    """off (s,) mm: how far each line meets the wire ahead of its prism; returns whether that is too far for any, as
    ``fem.following.arms_off`` has it.  ``limits``: (4,) pressing, others, twist, twist where stations take turns."""
    touch = state.touch
    far = False
    near = limits[1] if turns else limits[0]
    twist = limits[3] if turns else limits[2]
    for s in range(off.size):
        press[s] = 0.0
        for m in range(sites.first[s], sites.first[s + 1]):
            press[s] += abs(state.low[m] - state.high[m])
        off[s] = 0.0
        if touch.there[s] > 0:
            at = nodes[touch.node[s]] + touch.reach[s]
            off[s] = min(max(at + touch.ahead[s], nodes[0]), nodes[-1]) - at
        if abs(off[s]) > (near if press[s] > 0.0 else limits[1]):
            far = True
    if far:
        return True
    for s in range(off.size):
        if press[s] > 0.0:
            node_at = nodes[touch.node[s]]
            at = node_at + touch.reach[s]
            now = course(nodes, reached, at, node_at, over, nodes[0], nodes[-1], 0)
            if abs(now - touch.course[s, 0]) > twist:
                return True
    return False


@kernel
def stations_leave_nodes(nodes, sites, station_of, station_nodes, still, touch, least, share):
    """Whether a node would have to follow its station, as ``fem.following`` has it."""
    s = 0
    while s < station_of.size:
        station = station_of[s]
        if station < 0:
            s += 1
            continue
        total, count, here = 0.0, 0, True
        while s < station_of.size and station_of[s] == station:
            if sites.kind[s] == LINE:
                total += nodes[touch.node[s]] + touch.reach[s] + touch.ahead[s]
                count += 1
                here = here and touch.there[s] > 0
            s += 1
        node = station_nodes[station]
        if not here or count == 0 or still[node]:
            continue
        size = np.inf
        if node > 0:
            size = nodes[node] - nodes[node - 1]
        if node < nodes.size - 1:
            size = min(size, nodes[node + 1] - nodes[node])
        if abs(total / count - nodes[node]) > max(least, share * size):
            return True
    return False


@kernel
def aitken(off, last_off, share, least):
    """Share of the way that prisms go, as ``fem.following.relaxed`` has it."""
    size, along = 0.0, 0.0
    for s in range(off.size):
        size += (off[s] - last_off[s]) ** 2
        along += last_off[s] * (off[s] - last_off[s])
    return min(max(-share * along / size, least), 1.0) if size > 0.0 else 1.0
