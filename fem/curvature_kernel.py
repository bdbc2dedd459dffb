"""Second derivatives of the gaps: how contact forces turn with the wire.

A gap depends on four scalars z = (p, q, y, z) = (d2.e, d3.e, D.d2, D.d3) of its section (see contact_kernel):

    gap = sign (q (y - a) - p (z - b))/rho - r
    Hessian of the gap = Z^T gap_zz Z + sum of gap_z x second variation of z - kappa slide slide^T

Z (4, 12) is the derivative of z along the body motions of the element's two nodes.  Along exponential motions
the second variation of a frame vector d = R e is theta x (theta x e), that of a position is R (theta x u),
and D.d2 adds the product of the variations of x and d2.  The last term is the turning of the section that is
met as the site slides along a wire of curvature kappa."""

from __future__ import annotations

import numpy as np

from fem.contact_kernel import station_weights
from geometry.compiled import kernel


@kernel
def _turned_products(b, column, factor, local, base):
    """local += factor ((b e^T + e b^T)/2 - (b.e) I) on the turnings of the node at ``base``, e = unit vector
    ``column``.
    """
    for j in range(3):
        local[base + 3 + j, base + 3 + column] += 0.5 * factor * b[j]
        local[base + 3 + column, base + 3 + j] += 0.5 * factor * b[j]
        local[base + 3 + j, base + 3 + j] -= factor * b[column]


@kernel
def add_site_curvature(
    slot_axes, site_slot, site_axis, site_element, site_xi, site_point, site_first,
    sign, corner_y, corner_z, force, ignore_below, lengths, positions, axes, diagonal, upper,
):  # fmt: skip
    """diagonal, upper -= force x second derivative of the gap, for constraints with a force above
    ``ignore_below``.
    """
    weight = np.empty(6)
    scalars = np.zeros((4, 12))  # Z
    moves = np.zeros((3, 12))  # derivative of the section's centre
    turns = np.zeros((3, 12))  # derivative of gap_y d2 + gap_z d3
    slide = np.zeros(12)  # derivative of d1.D
    local = np.zeros((12, 12))
    product = np.zeros(4)
    second = np.zeros((4, 4))
    body = np.zeros((4, 3))
    world = np.zeros((5, 3))  # e, d2, d3, D, d1
    pull = np.zeros((3, 3))  # derivative of the gaps by x, d2, d3
    for site in range(site_slot.size):
        e = site_element[site]
        active = False
        for m in range(site_first[site], site_first[site + 1]):
            if abs(force[m]) > ignore_below:
                active = True
        if e < 0 or not active:
            continue
        axis = site_axis[site]
        station_weights(site_xi[site], lengths[e], weight)
        p = 0.0
        q = 0.0
        y = 0.0
        z = 0.0
        tangent_edge = 0.0
        for i in range(3):
            x = 0.0
            for a in range(2):
                x += weight[2 * a] * positions[e + a, i] + weight[2 * a + 1] * axes[e + a, i, 0]
            world[0, i] = slot_axes[site_slot[site], i, 2 - axis]
            world[1, i] = weight[4] * axes[e, i, 1] + weight[5] * axes[e + 1, i, 1]
            world[2, i] = weight[4] * axes[e, i, 2] + weight[5] * axes[e + 1, i, 2]
            world[3, i] = site_point[site, i] - x
            world[4, i] = weight[4] * axes[e, i, 0] + weight[5] * axes[e + 1, i, 0]
            p += world[1, i] * world[0, i]
            q += world[2, i] * world[0, i]
            y += world[3, i] * world[1, i]
            z += world[3, i] * world[2, i]
            tangent_edge += world[4, i] * world[0, i]
        rho2 = p * p + q * q
        rho = np.sqrt(rho2)
        rho3 = rho2 * rho
        # sums over the corners of this wall, each with minus its force
        total = 0.0
        by_p = 0.0
        by_q = 0.0
        for i in range(4):
            for j in range(4):
                second[i, j] = 0.0
        for m in range(site_first[site], site_first[site + 1]):
            f = -force[m] * (1.0 - 2.0 * axis) * sign[m]
            a2 = y - corner_y[m]
            a3 = z - corner_z[m]
            number = q * a2 - p * a3
            bend3 = 3.0 * number / (rho3 * rho2)
            total += f
            by_p -= f * (a3 / rho + number * p / rho3)
            by_q += f * (a2 / rho - number * q / rho3)
            second[0, 0] += f * ((2.0 * a3 * p - number) / rho3 + bend3 * p * p)
            second[1, 1] += f * ((-2.0 * a2 * q - number) / rho3 + bend3 * q * q)
            second[0, 1] += f * ((a3 * q - a2 * p) / rho3 + bend3 * p * q)
        second[1, 0] = second[0, 1]
        second[0, 2] = -total * q * p / rho3
        second[0, 3] = total * (p * p / rho3 - 1.0 / rho)
        second[1, 2] = total * (1.0 / rho - q * q / rho3)
        second[1, 3] = total * p * q / rho3
        for j in range(2):
            for i in range(2):
                second[2 + j, i] = second[i, 2 + j]
        by_y = total * q / rho
        by_z = -total * p / rho
        curvature = 0.0
        for i in range(3):
            pull[0, i] = -(by_y * world[1, i] + by_z * world[2, i])
            pull[1, i] = by_p * world[0, i] + by_y * world[3, i]
            pull[2, i] = by_q * world[0, i] + by_z * world[3, i]
            curvature -= pull[0, i] * (axes[e + 1, i, 0] - axes[e, i, 0]) / lengths[e]
        for i in range(12):
            for j in range(12):
                local[i, j] = 0.0
        for a in range(2):
            base = 6 * a
            w_x = weight[2 * a]
            w_t = weight[2 * a + 1]
            w_d = weight[4 + a]
            node_axes = axes[e + a]
            for v in range(4):
                for j in range(3):
                    body[v, j] = 0.0
                    for i in range(3):
                        body[v, j] += node_axes[i, j] * world[v, i]
            # e1 x v = (0, -v3, v2), e2 x v = (v3, 0, -v1), e3 x v = (-v2, v1, 0)
            scalars[0, base + 3] = w_d * body[0, 2]
            scalars[0, base + 5] = -w_d * body[0, 0]
            scalars[1, base + 3] = -w_d * body[0, 1]
            scalars[1, base + 4] = w_d * body[0, 0]
            for j in range(3):
                scalars[2, base + j] = -w_x * body[1, j]
                scalars[3, base + j] = -w_x * body[2, j]
            scalars[2, base + 3] = w_d * body[3, 2]
            scalars[2, base + 4] = w_t * body[1, 2]
            scalars[2, base + 5] = -w_d * body[3, 0] - w_t * body[1, 1]
            scalars[3, base + 3] = -w_d * body[3, 1]
            scalars[3, base + 4] = w_d * body[3, 0] + w_t * body[2, 2]
            scalars[3, base + 5] = -w_t * body[2, 1]
            for j in range(6):
                slide[base + j] = 0.0
            for i in range(3):
                for j in range(3):
                    moves[i, base + j] = w_x * node_axes[i, j]
                moves[i, base + 4] = -w_t * node_axes[i, 2]
                moves[i, base + 5] = w_t * node_axes[i, 1]
                turns[i, base + 3] = w_d * (by_y * node_axes[i, 2] - by_z * node_axes[i, 1])
                turns[i, base + 4] = w_d * by_z * node_axes[i, 0]
                turns[i, base + 5] = -w_d * by_y * node_axes[i, 0]
                across = world[4, i] - tangent_edge * world[0, i]
                for j in range(6):
                    slide[base + j] -= across * moves[i, base + j]
                slide[base + 4] -= w_d * world[3, i] * node_axes[i, 2]
                slide[base + 5] += w_d * world[3, i] * node_axes[i, 1]
            for v in range(3):
                for j in range(3):
                    body[v, j] = 0.0
                    for i in range(3):
                        body[v, j] += node_axes[i, j] * pull[v, i]
            _turned_products(body[0], 0, w_t, local, base)
            _turned_products(body[1], 1, w_d, local, base)
            _turned_products(body[2], 2, w_d, local, base)
            for j in range(3):  # theta . (u x b)/2 with b the pull on the centre
                half = 0.5 * w_x * body[0, j]
                j1 = (j + 1) % 3
                j2 = (j + 2) % 3
                local[base + 3 + j1, base + j2] += half
                local[base + 3 + j2, base + j1] -= half
        for i in range(12):
            for v in range(4):
                product[v] = 0.0
                for w in range(4):
                    product[v] += second[v, w] * scalars[w, i]
            for j in range(i + 1):
                value = -curvature * slide[i] * slide[j]
                for v in range(4):
                    value += product[v] * scalars[v, j]
                for v in range(3):
                    value -= moves[v, i] * turns[v, j] + turns[v, i] * moves[v, j]
                local[i, j] += value
        for i in range(6):
            for j in range(i):
                diagonal[e, i, j] += local[i, j]
                diagonal[e, j, i] += local[i, j]
                diagonal[e + 1, i, j] += local[6 + i, 6 + j]
                diagonal[e + 1, j, i] += local[6 + i, 6 + j]
            diagonal[e, i, i] += local[i, i]
            diagonal[e + 1, i, i] += local[6 + i, 6 + i]
            for j in range(6):
                upper[e, j, i] += local[6 + i, j]
