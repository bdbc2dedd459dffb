"""Second derivatives of the gaps: how contact forces turn with the wire.

A gap depends on four scalars z = (p, q, y, z) = (d2.e, d3.e, D.d2, D.d3) of its prism (see contact_kernel):

    Hessian of the gap = Z^T gap_zz Z + sum of gap_z x second variation of z

Z (4, 6) is the derivative of z along the prism's body motion (u, theta).  Along exponential motions the second
variation of a frame vector d = R e is theta x (theta x e), that of a position is R (theta x u), and D.d2 adds twice
the product of the variations of x and d2.  An exponential motion of the node is one of the prism on its arm, so the
Hessian along the node's motion is M^T (Hessian) M, where M turns the node's motion into the prism's.

Of the wire's own course from the prism everything is taken at s = 0, with its first and second derivatives there; the
rest vanishes with s, which the arms bring to nothing (fem.following)."""

from __future__ import annotations

import numpy as np

from fem.contact_kernel import (
    BEFORE,
    FAR_GAP,
    FRONT_EDGE,
    LEAST_ACROSS,
    LEVEL,
    LINE,
    PAST,
    THREAD,
    distance_from_rectangle,
    place_of_corner,
)
from fem.line_slopes_kernel import turning_with_face, turning_with_line
from geometry.compiled import kernel


@kernel
def _turned_products(b, column, local):
    """local += (b e^T + e b^T)/2 - (b.e) I on the turnings, e = unit vector ``column``."""
    for j in range(3):
        local[3 + j, 3 + column] += 0.5 * b[j]
        local[3 + column, 3 + j] += 0.5 * b[j]
        local[3 + j, 3 + j] -= b[column]


@kernel
def _add_course(kind, edge, foot, away, course, by, second, scalars, ahead, local):
    """The course of the wire from the prism: s x (rate of first order) + s^2/2 x (curving), at s = 0."""
    twist = course[0]
    e0 = p = q = 0.0  # an edge along the slot is looked at where the prism is
    if kind != FRONT_EDGE:
        e0, p, q = edge[0], edge[1], edge[2]
    w = max(1.0 - e0 * e0, LEAST_ACROSS)
    rate = twist * (by[0] * edge[2] + by[2] * away[2] - by[1] * edge[1] - by[3] * away[1])
    curving = by[3] * course[1] - by[2] * course[2]
    for j in range(6):
        ahead[1, j] = 0.0
        ahead[2, j] = 0.0
        ahead[3, j] = 0.0
    ahead[0, 0] = -1.0
    ahead[0, 1] = e0 * p / w
    ahead[0, 2] = e0 * q / w
    ahead[0, 3] = 0.0
    ahead[0, 4] = -foot[2] / w
    ahead[0, 5] = foot[1] / w
    for v in range(4):
        by_v = twist * (second[0, v] * edge[2] + second[2, v] * away[2])
        by_v -= twist * (second[1, v] * edge[1] + second[3, v] * away[1])
        if v == 0:
            by_v -= twist * by[1]
        elif v == 1:
            by_v += twist * by[0]
        elif v == 2:
            by_v -= twist * by[3]
        else:
            by_v += twist * by[2]
        for j in range(6):
            ahead[1, j] += by_v * scalars[v, j]
    ahead[2, 4] = -q
    ahead[2, 5] = p
    ahead[3, 0] = e0
    ahead[3, 1] = p
    ahead[3, 2] = q
    share = rate / w
    for i in range(6):
        for j in range(i + 1):
            local[i, j] += (
                ahead[1, i] * ahead[0, j]
                + ahead[0, i] * ahead[1, j]
                + curving * ahead[0, i] * ahead[0, j]
                + share * (ahead[3, i] * ahead[2, j] + ahead[2, i] * ahead[3, j])
                + 2.0 * share * e0 * (ahead[0, i] * ahead[2, j] + ahead[2, i] * ahead[0, j])
            )
    # the second variation of s by exponential motions
    half = 0.5 * share
    local[5, 1] -= half * (1.0 + e0 * e0)
    local[4, 2] += half * (1.0 + e0 * e0)
    local[4, 3] += half * foot[1]
    local[5, 3] += half * foot[2]
    local[5, 0] += half * e0 * p
    local[3, 2] -= half * e0 * p
    local[3, 1] += half * e0 * q
    local[4, 0] -= half * e0 * q


@kernel
def _add_prism_hessian(
    kind, edge, away, foot, course, by, second, scalars, product, pull, ahead, local
):  # fmt: skip
    """local (6, 6) += the Hessian, along the prism's motion, of a sum of gaps of one point ``away`` with slopes ``by``
    (4,) and second derivatives ``second`` (4, 4) in z; lower half and diagonal of the symmetric part only where
    said."""
    by_y = by[2]
    by_z = by[3]
    for j in range(3):
        pull[1, j] = by[0] * edge[j] + by_y * away[j]
        pull[2, j] = by[1] * edge[j] + by_z * away[j]
    pull[0, 0] = 0.0
    pull[0, 1] = -by_y
    pull[0, 2] = -by_z
    # e2 x v = (v3, 0, -v1), e3 x v = (-v2, v1, 0)
    scalars[0, 3] = edge[2]
    scalars[0, 5] = -edge[0]
    scalars[1, 3] = -edge[1]
    scalars[1, 4] = edge[0]
    scalars[2, 1] = -1.0
    scalars[3, 2] = -1.0
    scalars[2, 3] = away[2]
    scalars[2, 5] = -away[0]
    scalars[3, 3] = -away[1]
    scalars[3, 4] = away[0]
    _turned_products(pull[1], 1, local)
    _turned_products(pull[2], 2, local)
    for j in range(3):  # theta . (u x b)/2 with b the pull on the prism's place
        half = 0.5 * pull[0, j]
        j1 = (j + 1) % 3
        j2 = (j + 2) % 3
        local[3 + j1, j2] += half
        local[3 + j2, j1] -= half
    for i in range(6):
        for v in range(4):
            product[v] = 0.0
            for w in range(4):
                product[v] += second[v, w] * scalars[w, i]
        for j in range(i + 1):
            value = 0.0
            for v in range(4):
                value += product[v] * scalars[v, j]
            local[i, j] += value
    _add_course(kind, edge, foot, away, course, by, second, scalars, ahead, local)
    # -2 u . (theta x w), w = (0, gap_y, gap_z): the place moves while d2 and d3 turn
    local[4, 0] -= by_z
    local[5, 0] += by_y
    local[3, 1] += by_z
    local[3, 2] -= by_y


@kernel
def _add_to_node(local, arm, turn, rolls, motion, half, block):
    """block += M^T local M, from ``local``'s lower half; a round wire ``rolls`` about the prism's own axis."""
    for i in range(3):
        for j in range(3):
            motion[i, j] = turn[j, i]
            motion[3 + i, 3 + j] = turn[j, i]
        # u of the prism: turn^T (u + theta x arm)
        motion[i, 3] = turn[2, i] * arm[1] - turn[1, i] * arm[2]
        motion[i, 4] = turn[0, i] * arm[2] - turn[2, i] * arm[0]
        motion[i, 5] = turn[1, i] * arm[0] - turn[0, i] * arm[1]
        if rolls:
            motion[i, 3] = 0.0
            motion[3 + i, 3] = 1.0 if i == 0 else 0.0
    for i in range(6):
        for j in range(6):
            total = 0.0
            for k in range(6):
                entry = local[i, k] if k <= i else local[k, i]
                total += entry * motion[k, j]
            half[i, j] = total
    for i in range(6):
        for j in range(i + 1):
            total = 0.0
            for k in range(6):
                total += motion[k, i] * half[k, j]
            block[i, j] += total
            if j < i:
                block[j, i] += total


@kernel
def _add_thread(frame_axes, along, force, axes, d, local):
    """Thread: minus force x second derivative of its length, in the lower half of local: (P - n n^T)/distance across
    it, P onto the directions in which its far end stands still."""
    x = 0.0
    y = 0.0
    z = 0.0
    for j in range(3):
        for i in range(3):
            x += along * axes[i, j] * frame_axes[i, 0] * d[j]
            y += axes[i, j] * frame_axes[i, 1] * d[j]
            z += axes[i, j] * frame_axes[i, 2] * d[j]
    distance = np.sqrt(x * x + y * y + z * z)
    if distance == 0.0:
        return
    x /= distance
    y /= distance
    z /= distance
    for i in range(3):
        a1 = 0.0
        a2 = 0.0
        a3 = 0.0
        for k in range(3):
            a1 += axes[k, i] * frame_axes[k, 0]
            a2 += axes[k, i] * frame_axes[k, 1]
            a3 += axes[k, i] * frame_axes[k, 2]
        pull = a1 * x + a2 * y + a3 * z
        for j in range(i + 1):
            b1 = 0.0
            b2 = 0.0
            b3 = 0.0
            for k in range(3):
                b1 += axes[k, j] * frame_axes[k, 0]
                b2 += axes[k, j] * frame_axes[k, 1]
                b3 += axes[k, j] * frame_axes[k, 2]
            across = along * a1 * b1 + a2 * b2 + a3 * b3 - pull * (b1 * x + b2 * y + b3 * z)
            local[i, j] += force * across / distance
        half = -0.5 * force * pull
        i1 = (i + 1) % 3
        i2 = (i + 2) % 3
        local[3 + i1, i2] += half
        local[3 + i2, i1] -= half


@kernel
def add_site_curvature(slot_axes, sites, touch, force, ignore_below, diagonal):
    """diagonal -= force x second derivative of the gap, for constraints with a force above ``ignore_below``."""
    scalars = np.zeros((4, 6))  # Z
    local = np.zeros((6, 6))
    product = np.zeros(4)
    second = np.zeros((4, 4))
    by = np.zeros(4)
    pull = np.zeros((3, 3))  # derivative of the gaps by x, d2, d3
    at_end = np.zeros(3)
    motion = np.zeros((6, 6))
    half = np.zeros((6, 6))
    ahead = np.zeros((4, 6))  # derivatives of s, of away_by, of d1.e, and e along the place's motion
    first, kind = sites.first, sites.kind
    for site in range(touch.node.size):
        active = False
        for m in range(first[site], first[site + 1]):
            if abs(force[m]) > ignore_below:
                active = True
        if touch.there[site] == 0 or not active:
            continue
        for i in range(6):
            for j in range(6):
                local[i, j] = 0.0
        edge = touch.edge[site]
        away = touch.away[site]
        if kind[site] == THREAD:
            m = first[site]
            _add_thread(
                slot_axes[sites.slot[site]], sites.edge[site, 0], force[m], touch.axes[site], away, local
            )
        else:
            _add_lines(
                kind[site], first[site], first[site + 1], sites, edge, away, touch.course[site],
                sites.end[site] + touch.level[site], force, touch.gap, by, second, scalars, product, pull, ahead,
                local,
            )  # fmt: skip
            if kind[site] == FRONT_EDGE or sites.end[site] < np.inf:
                beyond = 0.0 if kind[site] == FRONT_EDGE else sites.end[site] + touch.level[site]
                for j in range(3):
                    at_end[j] = away[j] + (beyond * edge[j] if beyond != 0.0 else 0.0)
                _add_points(
                    kind[site], first[site], first[site + 1], sites, edge, away, touch.course[site], at_end, beyond,
                    force, touch.gap, by, second, scalars, product, pull, ahead,
                local,
                )  # fmt: skip
        rolls = kind[site] != THREAD and sites.spins[site]
        _add_to_node(
            local, touch.arm[site], touch.turn[site], rolls, motion, half, diagonal[touch.node[site]]
        )


@kernel
def _add_lines(
    kind, begin, stop, sites, edge, away, course, beyond, force, gap, by, second, scalars, product, pull,
    ahead, local
):  # fmt: skip
    """The corners that meet the line itself, each with minus its force."""
    if kind != LINE:
        return
    p = edge[1]
    q = edge[2]
    rho = np.sqrt(p * p + q * q)
    total = 0.0
    for i in range(4):
        by[i] = 0.0
        for j in range(4):
            second[i, j] = 0.0
    for m in range(begin, stop):
        a2 = away[1] - sites.corner_y[m]
        a3 = away[2] - sites.corner_z[m]
        if force[m] == 0.0 or gap[m] == FAR_GAP:
            continue
        where, _, _ = place_of_corner(sites.sign[m], sites.half_range[m], a2, a3, p, q, rho, beyond)
        if where != LEVEL:
            continue
        f = -force[m] * sites.sign[m]
        total += f
        turning_with_line(f, a2, a3, p, q, rho, by, second)
    second[1, 0] = second[0, 1]
    for j in range(2):
        for i in range(2):
            second[2 + j, i] = second[i, 2 + j]
    by[2] = total * q / rho
    by[3] = -total * p / rho
    _add_prism_hessian(kind, edge, away, away, course, by, second, scalars, product, pull, ahead, local)


@kernel
def _add_points(
    kind, begin, stop, sites, edge, away, course, at_end, beyond, force, gap, by, second, scalars, product, pull,
    ahead, local
):  # fmt: skip
    """The corners past the line's end or before its face, or the side or corner that meets a front edge, each with
    minus its force."""
    p = edge[1]
    q = edge[2]
    rho = np.sqrt(p * p + q * q)
    for i in range(4):
        by[i] = 0.0
        for j in range(4):
            second[i, j] = 0.0
    for m in range(begin, stop):
        if force[m] == 0.0 or gap[m] == FAR_GAP:
            continue
        half_y = half_z = 0.0
        y = at_end[1]
        z = at_end[2]
        if kind == FRONT_EDGE:
            half_y = abs(sites.corner_y[m])
            half_z = sites.corner_z[m]
        else:
            where, _, _ = place_of_corner(
                sites.sign[m], sites.half_range[m], away[1] - sites.corner_y[m], away[2] - sites.corner_z[m], p, q, rho,
                beyond,
            )  # fmt: skip
            if where == LEVEL:
                continue
            if where == PAST and sites.half_range[m] >= 0.0:
                by[2] -= force[m] * sites.sign[m]
                continue
            y -= sites.corner_y[m]
            z -= sites.corner_z[m]
            if where == BEFORE:
                # the line's own formula for a line at right angles: along (q, -p)
                turning_with_face(-force[m], y, z, p, q, rho, by, second)
                continue
        distance, by_y, by_z, corner = distance_from_rectangle(y, z, half_y, half_z)
        by[2] -= force[m] * by_y
        by[3] -= force[m] * by_z
        if not corner:
            continue
        # the point turns round the corner: second derivative (I - n n^T)/distance
        second[2, 2] -= force[m] * by_z * by_z / distance
        second[3, 3] -= force[m] * by_y * by_y / distance
        second[2, 3] += force[m] * by_y * by_z / distance
        second[3, 2] += force[m] * by_y * by_z / distance
    _add_prism_hessian(kind, edge, at_end, away, course, by, second, scalars, product, pull, ahead, local)
