"""What presses and holds, read off a state: loads on supports, walls one by one; compiled."""

from __future__ import annotations

import math

import numpy as np

from geometry.compiled import kernel


@kernel
def _subtract(node, carrier, wrench, state, acting, on_support, push):
    """A ``wrench`` (6,) on a node, in its axes, is taken from the load (6,) on its ``carrier`` about the point that
    acts; ``push`` (3,) is its force in world axes."""
    frame, load, place = state.axes[node], on_support[carrier], state.positions[node]
    x, y, z = place[0] - acting[carrier, 0], place[1] - acting[carrier, 1], place[2] - acting[carrier, 2]
    for i in range(3):
        push[i] = frame[i, 0] * wrench[0] + frame[i, 1] * wrench[1] + frame[i, 2] * wrench[2]
        load[i] -= push[i]
        load[3 + i] -= frame[i, 0] * wrench[3] + frame[i, 1] * wrench[4] + frame[i, 2] * wrench[5]
    load[3] -= y * push[2] - z * push[1]
    load[4] -= z * push[0] - x * push[2]
    load[5] -= x * push[1] - y * push[0]


@kernel
def read_loads(sites, site_of, holds, state, hold_gradient, acting, on_support, push):
    """on_support (k, 6): force and moment on every support about the points ``acting`` (k, 3), world axes; push (m, 3)
    of every wall on the wire."""
    touch, rubbing = state.touch, state.rubbing
    wrench, force = np.empty(6), np.empty(3)
    on_support[:, :] = 0.0
    push[:, :] = 0.0
    for row in range(state.low.size):
        pressing = state.low[row] - state.high[row]
        if pressing == 0.0:
            continue
        site = site_of[row]
        for i in range(6):
            wrench[i] = pressing * touch.gradient[row, i]
        _subtract(touch.node[site], sites.slot[site], wrench, state, acting, on_support, push[row])
    for h in range(holds.node.size):
        for i in range(6):
            wrench[i] = state.hold_force[h] * hold_gradient[h, i]
        _subtract(holds.node[h], holds.frame[h], wrench, state, acting, on_support, force)
    for site in range(touch.node.size):
        along, across = rubbing.force[site, 0], rubbing.force[site, 1]
        if along == 0.0 and across == 0.0:
            continue
        for i in range(6):
            wrench[i] = along * rubbing.along[site, i] + across * rubbing.aside[site, i]
        _subtract(touch.node[site], sites.slot[site], wrench, state, acting, on_support, force)


@kernel
def _seen(frame, x, y, z, out):
    """A vector of the world in the axes of a ``frame`` (3, 3)."""
    for i in range(3):
        out[i] = frame[0, i] * x + frame[1, i] * y + frame[2, i] * z


@kernel
def read_walls(
    rows, on_wire, site, axis, reach, centre, sections, sites, touch, rubbing, position, axes,
    side, normal, point, on_support, friction, give,
):  # fmt: skip
    """Of pressing walls ``rows`` (p,) that push the wire with ``on_wire`` (p, 3): what `fem.recovery.WallForces` says.

    ``site`` (p,) and ``axis`` (p,) of each, how far its corner's place reaches out to it (p,), mm, and the wire's
    section there, ``centre`` (p, 3) and axes ``sections`` (p, 3, 3)."""
    rubbed, seen, of_site = np.empty(3), np.empty(3), np.zeros(touch.node.size)
    for p in range(rows.size):
        x, y, z = on_wire[p, 0], on_wire[p, 1], on_wire[p, 2]
        normal[p] = math.sqrt(x * x + y * y + z * z)
        of_site[site[p]] += normal[p]
    for p in range(rows.size):
        row, s = rows[p], site[p]
        k = sites.slot[s]
        frame = axes[k]
        _seen(frame, -on_wire[p, 0], -on_wire[p, 1], -on_wire[p, 2], on_support[p])
        across = on_support[p, 1 + axis[p]]
        side[p] = 1.0 if across > 0.0 else (-1.0 if across < 0.0 else across)
        for i in range(3):
            corner = sites.corner_y[row] * sections[p, i, 1] + sites.corner_z[row] * sections[p, i, 2]
            rubbed[i] = centre[p, i] + corner - reach[p] * on_wire[p, i] / normal[p] - position[k, i]
        _seen(frame, rubbed[0], rubbed[1], rubbed[2], point[p])
        # friction belongs to the site: each corner has its share
        for i in range(3):
            edge = 0.0
            for j in range(3):
                edge += touch.axes[s, i, j] * touch.edge[s, j]
            rubbed[i] = rubbing.force[s, 0] * touch.axes[s, i, 0] + rubbing.force[s, 1] * edge
        _seen(frame, rubbed[0], rubbed[1], rubbed[2], seen)
        for i in range(3):
            friction[p, i] = -normal[p] / of_site[s] * seen[i]
        give[p] = sites.compliance[row] * normal[p]
