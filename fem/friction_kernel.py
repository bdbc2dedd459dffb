"""Coulomb friction at the walls, with history.

Slip is counted along the wire (how far it has moved forward past the line) and across it (how far the point in
contact has moved along the line), from where the contact last stood.  With coefficient c and normal force N the force
on the wire is

    F = -c N s/d      where |s| <= d,      -c N s/|s|      beyond,        d = MICRO_SLIP

so a contact sticks but for an elastic micro-slip of d at most, and beyond it slides with c N against the slip.
Sources: Coulomb's law; elastic micro-slip as in Simo & Laursen, Computers & Structures 42 (1992) 97.  After each
increment the part of the slip beyond d is forgotten, and all of it where the contact is open (fem.path).

For given N this is the gradient of a convex potential (c N d h(|s|/d), h(t) = t^2/2 up to 1, t - 1/2 beyond), which
gives the symmetric part of the tangent; N changes with the gaps, which gives the other part, of the blocks of single
nodes only."""

from __future__ import annotations

import numpy as np

from fem.contact_kernel import LINE, to_node
from geometry.compiled import kernel

MICRO_SLIP = 1e-4  # mm


@kernel
def _spot(sites, site, low, high, e):
    """Where outline and line touch, in the prism's axes across the wire (mm), and the normal force there (N)."""
    begin = sites.first[site]
    stop = sites.first[site + 1]
    y = 0.0
    z = 0.0
    total = 0.0
    for m in range(begin, stop):
        total += abs(low[m] - high[m])
    for m in range(begin, stop):
        share = abs(low[m] - high[m]) / total if total > 0.0 else 1.0 / (stop - begin)
        y += share * sites.corner_y[m]
        z += share * sites.corner_z[m]
    rho = np.sqrt(e[1] * e[1] + e[2] * e[2])
    reach = sites.sign[begin] * (sites.radius[begin] - sites.rounding[site]) / rho
    return y + reach * e[2], z - reach * e[1], total


@kernel
def _across(slot_position, touch, site, e, y, z):
    """How far along the line the point (0, y, z) of the prism stands from the slot's centre, mm."""
    across = 0.0
    for i in range(3):
        direction = 0.0
        for j in range(3):
            direction += touch.axes[site, i, j] * e[j]
        point = touch.centre[site, i] + touch.axes[site, i, 1] * y + touch.axes[site, i, 2] * z
        across += direction * (point - slot_position[i])
    return across


@kernel
def _forward(slot_axes, sites, touch, site, e):
    """How far the wire has moved forward past the line, mm.

    Round an edge of radius R the surfaces also slide by R times the angle that the wire turns about it."""
    moved = -touch.ahead[site]
    rounding = sites.rounding[site]
    if rounding > 0.0:
        # the tangent along the normal from the edge to the wire, -sign (e x slot's x)
        lean = 0.0
        for i in range(3):
            i1 = (i + 1) % 3
            i2 = (i + 2) % 3
            e1 = 0.0
            e2 = 0.0
            for j in range(3):
                e1 += touch.axes[site, i1, j] * e[j]
                e2 += touch.axes[site, i2, j] * e[j]
            lean += (e1 * slot_axes[i2, 0] - e2 * slot_axes[i1, 0]) * touch.axes[site, i, 0]
        lean *= -sites.sign[sites.first[site]]
        moved -= rounding * np.arcsin(min(max(lean, -1.0), 1.0))
    return moved


@kernel
def evaluate_slip(slot_position, slot_axes, sites, low, high, touch, rubbing):
    """Places (s, 2) from which slip counts, their gradients and the normal forces, for sites with friction.

    Along the wire the force acts where the corners that press touch now, across it at the point ``rubbing.spot`` of the
    wire, which touched when the increment began: only a fixed point of the wire has a slip of its own."""
    place = rubbing.place
    own = np.zeros(6)
    for site in range(touch.node.size):
        rubbing.normal[site] = 0.0
        if sites.friction[site] == 0.0 or touch.there[site] == 0 or sites.kind[site] != LINE:
            continue
        e = touch.edge[site]
        y, z, rubbing.normal[site] = _spot(sites, site, low, high, e)
        place[site, 0] = _forward(slot_axes[sites.slot[site]], sites, touch, site, e)
        own[0] = 1.0
        own[1] = 0.0
        own[2] = 0.0
        own[3] = 0.0
        own[4] = z
        own[5] = -y
        to_node(touch.arm[site], touch.turn[site], own, rubbing.along[site])
        y = rubbing.spot[site, 0]
        z = rubbing.spot[site, 1]
        place[site, 1] = _across(slot_position[sites.slot[site]], touch, site, e, y, z)
        own[0] = e[0]
        own[1] = e[1]
        own[2] = e[2]
        own[3] = y * e[2] - z * e[1]
        own[4] = z * e[0]
        own[5] = -y * e[0]
        to_node(touch.arm[site], touch.turn[site], own, rubbing.aside[site])


@kernel
def settle_friction(slot_position, slot_axes, sites, low, high, touch, rubbing):
    """The end of an increment: slip beyond MICRO_SLIP is forgotten, all of it where nothing presses, and the points in
    contact are found anew.  Returns the work lost in sliding, N mm."""
    lost = 0.0
    for site in range(touch.node.size):
        if sites.friction[site] == 0.0 or sites.kind[site] != LINE:
            continue
        s1 = rubbing.place[site, 0] - rubbing.zero[site, 0]
        s2 = rubbing.place[site, 1] - rubbing.zero[site, 1]
        size = np.sqrt(s1 * s1 + s2 * s2)
        bound = sites.friction[site] * rubbing.normal[site]
        if touch.there[site] == 0 or rubbing.normal[site] == 0.0:
            s1 = 0.0
            s2 = 0.0
        elif size > MICRO_SLIP:
            lost += bound * (size - MICRO_SLIP)
            s1 *= MICRO_SLIP / size
            s2 *= MICRO_SLIP / size
        e = touch.edge[site]
        y, z, _ = _spot(sites, site, low, high, e)
        rubbing.spot[site, 0] = y
        rubbing.spot[site, 1] = z
        rubbing.place[site, 0] = _forward(slot_axes[sites.slot[site]], sites, touch, site, e)
        rubbing.place[site, 1] = _across(slot_position[sites.slot[site]], touch, site, e, y, z)
        rubbing.zero[site, 0] = rubbing.place[site, 0] - s1
        rubbing.zero[site, 1] = rubbing.place[site, 1] - s2
    return lost


@kernel
def _friction(bound, s1, s2):
    """Force (2,) on the wire and its potential, for the normal force's bound."""
    size = np.sqrt(s1 * s1 + s2 * s2) / MICRO_SLIP
    if size <= 1.0:
        return -bound * s1 / MICRO_SLIP, -bound * s2 / MICRO_SLIP, 0.5 * bound * MICRO_SLIP * size * size
    reach = size * MICRO_SLIP
    return -bound * s1 / reach, -bound * s2 / reach, bound * MICRO_SLIP * (size - 0.5)


@kernel
def add_friction_forces(sites, touch, rubbing, out):
    """out (n, 6) += friction on the wire, rubbing.force (s, 2) in N; returns the potential for these normal forces."""
    potential = 0.0
    for site in range(touch.node.size):
        bound = sites.friction[site] * rubbing.normal[site]
        rubbing.force[site, 0] = 0.0
        rubbing.force[site, 1] = 0.0
        if bound == 0.0:
            continue
        f1, f2, more = _friction(
            bound,
            rubbing.place[site, 0] - rubbing.zero[site, 0],
            rubbing.place[site, 1] - rubbing.zero[site, 1],
        )
        rubbing.force[site, 0] = f1
        rubbing.force[site, 1] = f2
        potential += more
        for j in range(6):
            out[touch.node[site], j] += f1 * rubbing.along[site, j] + f2 * rubbing.aside[site, j]
    return potential


@kernel
def friction_potential(slot_position, slot_axes, sites, touch, rubbing):
    """The potential at the state, for the normal forces and points in contact that `evaluate_slip` found before."""
    potential = 0.0
    for site in range(touch.node.size):
        bound = sites.friction[site] * rubbing.normal[site]
        if bound == 0.0 or touch.there[site] == 0:
            continue
        across = _across(
            slot_position[sites.slot[site]],
            touch,
            site,
            touch.edge[site],
            rubbing.spot[site, 0],
            rubbing.spot[site, 1],
        )
        _, _, more = _friction(
            bound,
            _forward(slot_axes[sites.slot[site]], sites, touch, site, touch.edge[site])
            - rubbing.zero[site, 0],
            across - rubbing.zero[site, 1],
        )
        potential += more
    return potential


@kernel
def friction_work(touch, rubbing, step):
    """Work of the friction forces along a step (n, 6)."""
    total = 0.0
    for site in range(touch.node.size):
        f1 = rubbing.force[site, 0]
        f2 = rubbing.force[site, 1]
        if f1 == 0.0 and f2 == 0.0:
            continue
        for j in range(6):
            total += (f1 * rubbing.along[site, j] + f2 * rubbing.aside[site, j]) * step[touch.node[site], j]
    return total


@kernel
def add_friction_stiffness(sites, touch, rubbing, diagonal):
    """diagonal += second derivative of the potential for the normal forces there are."""
    for site in range(touch.node.size):
        bound = sites.friction[site] * rubbing.normal[site]
        if bound == 0.0:
            continue
        s1 = rubbing.place[site, 0] - rubbing.zero[site, 0]
        s2 = rubbing.place[site, 1] - rubbing.zero[site, 1]
        size = np.sqrt(s1 * s1 + s2 * s2)
        if size <= MICRO_SLIP:
            k11 = bound / MICRO_SLIP
            k12 = 0.0
            k22 = k11
        else:
            k11 = bound * s2 * s2 / size**3
            k12 = -bound * s1 * s2 / size**3
            k22 = bound * s1 * s1 / size**3
        block = diagonal[touch.node[site]]
        t1 = rubbing.along[site]
        t2 = rubbing.aside[site]
        for i in range(6):
            first = k11 * t1[i] + k12 * t2[i]
            other = k12 * t1[i] + k22 * t2[i]
            for j in range(6):
                block[i, j] += first * t1[j] + other * t2[j]


@kernel
def add_friction_of_normals(sites, touch, rubbing, low, high, push, weight, diagonal, right):
    """What changes as the normal forces do: the right side gets the friction of the normal forces after a step without
    gap changes (``push``), beyond that of now, and the diagonal what gap changes do to it.  Not symmetric."""
    for site in range(touch.node.size):
        bound = sites.friction[site] * rubbing.normal[site]
        if bound == 0.0:
            continue
        node = touch.node[site]
        t1 = rubbing.along[site]
        t2 = rubbing.aside[site]
        f1 = rubbing.force[site, 0] / rubbing.normal[site]
        f2 = rubbing.force[site, 1] / rubbing.normal[site]
        for m in range(sites.first[site], sites.first[site + 1]):
            force = low[m] - high[m]
            if force == 0.0:
                continue
            side = np.copysign(1.0, force)
            more = side * (push[m] - force)
            for i in range(6):
                drag = f1 * t1[i] + f2 * t2[i]
                right[node, i] += drag * more
                for j in range(6):
                    diagonal[node, i, j] += drag * side * weight[m] * touch.gradient[m, j]
