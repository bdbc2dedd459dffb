"""Second derivatives of the gaps: how contact forces turn with the wire.

A gap depends on four scalars z = (p, q, y, z) = (d2.e, d3.e, D.d2, D.d3) of its node (see contact_kernel):

    gap = sign (q (y - a) - p (z - b))/rho - r
    Hessian of the gap = Z^T gap_zz Z + sum of gap_z x second variation of z

Z (4, 6) is the derivative of z along the node's body motion (u, theta).  Along exponential motions the second
variation of a frame vector d = R e is theta x (theta x e), that of a position is R (theta x u), and D.d2 adds twice
the product of the variations of x and d2."""

from __future__ import annotations

import numpy as np

from geometry.compiled import kernel


@kernel
def _turned_products(b, column, local):
    """local += (b e^T + e b^T)/2 - (b.e) I on the turnings, e = unit vector ``column``."""
    for j in range(3):
        local[3 + j, 3 + column] += 0.5 * b[j]
        local[3 + column, 3 + j] += 0.5 * b[j]
        local[3 + j, 3 + j] -= b[column]


@kernel
def add_site_curvature(
    slot_axes, site_slot, site_axis, site_node, site_there, site_point, site_first,
    sign, corner_y, corner_z, force, ignore_below, positions, axes, diagonal,
):  # fmt: skip
    """diagonal -= force x second derivative of the gap, for constraints with a force above ``ignore_below``."""
    scalars = np.zeros((4, 6))  # Z
    local = np.zeros((6, 6))
    product = np.zeros(4)
    second = np.zeros((4, 4))
    edge = np.zeros(3)  # e and D, as everything here in the node's own axes
    away = np.zeros(3)
    pull = np.zeros((3, 3))  # derivative of the gaps by x, d2, d3
    for site in range(site_slot.size):
        active = False
        for m in range(site_first[site], site_first[site + 1]):
            if abs(force[m]) > ignore_below:
                active = True
        if site_there[site] == 0 or not active:
            continue
        node = site_node[site]
        axis = site_axis[site]
        for j in range(3):
            edge[j] = 0.0
            away[j] = 0.0
            for i in range(3):
                edge[j] += axes[node, i, j] * slot_axes[site_slot[site], i, 2 - axis]
                away[j] += axes[node, i, j] * (site_point[site, i] - positions[node, i])
        p = edge[1]
        q = edge[2]
        y = away[1]
        z = away[2]
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
        pull[0, 0] = 0.0
        pull[0, 1] = -by_y
        pull[0, 2] = -by_z
        for j in range(3):
            pull[1, j] = by_p * edge[j] + by_y * away[j]
            pull[2, j] = by_q * edge[j] + by_z * away[j]
        for i in range(6):
            for j in range(6):
                local[i, j] = 0.0
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
        for j in range(3):  # theta . (u x b)/2 with b the pull on the centre
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
        # -2 u . (theta x w), w = (0, gap_y, gap_z): the centre moves while d2 and d3 turn
        local[4, 0] -= by_z
        local[5, 0] += by_y
        local[3, 1] += by_z
        local[3, 2] -= by_y
        for i in range(6):
            for j in range(i):
                diagonal[node, i, j] += local[i, j]
                diagonal[node, j, i] += local[i, j]
            diagonal[node, i, i] += local[i, i]
