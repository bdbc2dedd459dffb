"""Contact between the wire's outline and the edges and walls of its slots.

A site is one wall at one station of one slot: a line across the slot, along z on the height walls and along y
on the depth walls.  There the wire is taken as the prism that its section, extended along its tangent, would
sweep; prism and line touch where the outline's reach in their common normal equals the distance:

    n   = (q d2 - p d3)/rho,  p = d2.e, q = d3.e, rho = |(p, q)|      common normal of the tangent and the line along e
    gap = sign (q (D.d2 - a) - p (D.d3 - b))/rho - r,   D = P - x     P a point of the line, x the section's centre

(a, b) is the centre of a corner arc of the outline and r its radius; each corner is one constraint.  The
section is the one whose plane holds the line's point: d1.D = 0.  So a straight wire tilted in a slot of
height H and width W meets the mouths exactly at H cos t - W sin t = h, and interior stations, where the wire
lies along the wall, see the plane wall.

The wire may slide: the site's place in the wire is found anew at every iterate, inside an element by the
cubic through its nodes and tangents (position) and by linear directors.  At that place the gap is stationary
along a bent wire, so its force has no part along the tangent.  What the exact gap would add for a wire
twisted inside the slot is left out: it is of the order of the twist rate times half the wire's depth (below
one per cent of the normal force), and it jumps from element to element.

The same function of the mid-line (no wall distance, half thickness taken away) bounded both ways serves walls
that are closer to the wire than any tilt matters."""

from __future__ import annotations

import numpy as np

from geometry.compiled import kernel

ON_ELEMENT = 1e-9  # how far past its end an element still owns a site: prevents hopping to and fro at a node
FAR_GAP = 1.0  # mm; stands for "no wall here" where a station has no wire in it


@kernel
def station_weights(xi, length, value):
    """value (6,) = cubic weights of (x_a, d1_a, x_b, d1_b) and linear weights of a and b."""
    xi2 = xi * xi
    xi3 = xi2 * xi
    value[0] = 1.0 - 3.0 * xi2 + 2.0 * xi3
    value[1] = length * (xi - 2.0 * xi2 + xi3)
    value[2] = 3.0 * xi2 - 2.0 * xi3
    value[3] = length * (xi3 - xi2)
    value[4] = 1.0 - xi
    value[5] = xi


@kernel
def locate(position, edge, offset_x, offset_axis, lengths, positions, axes, element, xi, point):
    """Element and place of the section whose plane holds the point of the line nearest the wire.

    position, edge, offset_x, offset_axis: slot centre, line direction, and the line's offsets along the slot
    and towards the wall as world vectors (3,).  Returns (element, xi), element -1 where the wire has no
    section there; ``point`` (3,) receives the line's point level with the section's centre."""
    last = lengths.size - 1
    if element < 0:
        element = 0
        xi = 0.5
        best = 1e300
        for e in range(last + 1):
            away = 0.0
            for i in range(3):
                mid = 0.5 * (positions[e, i] + positions[e + 1, i])
                away += (position[i] + offset_x[i] - mid) ** 2
            if away < best:
                best = away
                element = e
    hops = 0
    for _ in range(400):
        length = lengths[element]
        xi2 = xi * xi
        h0 = 1.0 - 3.0 * xi2 + 2.0 * xi2 * xi
        h1 = length * (xi - 2.0 * xi2 + xi2 * xi)
        h3 = length * (xi2 * xi - xi2)
        s0 = 6.0 * (xi2 - xi)
        s1 = length * (1.0 - 4.0 * xi + 3.0 * xi2)
        s3 = length * (3.0 * xi2 - 2.0 * xi)
        along = 0.0  # D.e
        tangent_edge = 0.0
        value = 0.0
        slope = 0.0
        slope_edge = 0.0
        for i in range(3):
            ta = axes[element, i, 0]
            tb = axes[element + 1, i, 0]
            x = h0 * positions[element, i] + h1 * ta + (1.0 - h0) * positions[element + 1, i] + h3 * tb
            dx = s0 * (positions[element, i] - positions[element + 1, i]) + s1 * ta + s3 * tb
            t = ta + xi * (tb - ta)
            d = position[i] + offset_x[i] + offset_axis[i] - x
            along += d * edge[i]
            tangent_edge += t * edge[i]
            value += d * t
            slope += d * (tb - ta) - dx * t
            slope_edge += dx * edge[i]
        value -= along * tangent_edge
        slope += slope_edge * tangent_edge
        if (
            not slope < -0.05 * length
        ):  # the section turns faster than the wire advances: step as if it were straight
            slope = -length
        step = -value / slope
        new = xi + step
        if new < -ON_ELEMENT and element > 0 and hops < 300:
            hops += 1
            element -= 1
            xi = 1.0
            continue
        if new > 1.0 + ON_ELEMENT and element < last and hops < 300:
            hops += 1
            element += 1
            xi = 0.0
            continue
        xi = new
        if abs(step) < 1e-13:
            break
        if xi < -2.0 or xi > 3.0:
            break
    if xi < -ON_ELEMENT * 10 or xi > 1.0 + ON_ELEMENT * 10:
        return -1, xi
    for i in range(3):
        point[i] = position[i] + offset_x[i] + offset_axis[i] - along * edge[i]
    return element, xi


@kernel
def evaluate_sites(
    slot_position, slot_axes, site_slot, site_offset, site_axis, site_wall, site_first,
    sign, corner_y, corner_z, radius, lengths, positions, axes,
    site_element, site_xi, site_point, gap, gradient,
):  # fmt: skip
    """gap (m,) in mm and gradient (m, 12) of all constraints; sites are followed along the wire.

    gradient: derivative along the body motions (translation, rotation) of the element's two nodes.
    """
    weight = np.empty(6)
    offset_x = np.empty(3)
    offset_axis = np.empty(3)
    edge = np.empty(3)
    body = np.empty((2, 4, 3))  # per node: e, d2, d3, D in its own axes
    for site in range(site_slot.size):
        k = site_slot[site]
        axis = site_axis[site]
        for i in range(3):
            offset_x[i] = site_offset[site] * slot_axes[k, i, 0]
            offset_axis[i] = site_wall[site] * slot_axes[k, i, 1 + axis]
            edge[i] = slot_axes[k, i, 2 - axis]
        e, xi = locate(
            slot_position[k], edge, offset_x, offset_axis, lengths, positions, axes,
            site_element[site], site_xi[site], site_point[site],
        )  # fmt: skip
        site_element[site] = e
        site_xi[site] = xi
        if e < 0:
            for m in range(site_first[site], site_first[site + 1]):
                gap[m] = FAR_GAP
                for j in range(12):
                    gradient[m, j] = 0.0
            continue
        station_weights(xi, lengths[e], weight)
        side = 1.0 - 2.0 * axis
        p = 0.0
        q = 0.0
        y = 0.0  # D.d2
        z = 0.0  # D.d3
        for a in range(2):
            for j in range(4):
                for i in range(3):
                    body[a, j, i] = 0.0
        for i in range(3):
            x = (
                weight[0] * positions[e, i]
                + weight[1] * axes[e, i, 0]
                + weight[2] * positions[e + 1, i]
                + weight[3] * axes[e + 1, i, 0]
            )
            d2 = weight[4] * axes[e, i, 1] + weight[5] * axes[e + 1, i, 1]
            d3 = weight[4] * axes[e, i, 2] + weight[5] * axes[e + 1, i, 2]
            d = site_point[site, i] - x
            p += d2 * edge[i]
            q += d3 * edge[i]
            y += d * d2
            z += d * d3
            for a in range(2):
                for j in range(3):
                    r = axes[e + a, i, j]
                    body[a, 0, j] += r * edge[i]
                    body[a, 1, j] += r * d2
                    body[a, 2, j] += r * d3
                    body[a, 3, j] += r * d
        rho2 = p * p + q * q
        rho = np.sqrt(rho2)
        for m in range(site_first[site], site_first[site + 1]):
            a2 = y - corner_y[m]
            a3 = z - corner_z[m]
            scale = side * sign[m] / rho
            number = q * a2 - p * a3
            gap[m] = scale * number - radius[m]
            by_p = scale * (-a3 - number * p / rho2)
            by_q = scale * (a2 - number * q / rho2)
            by_y = scale * q
            by_z = -scale * p
            for a in range(2):
                w_x = weight[2 * a]
                w_t = weight[2 * a + 1]
                w_d = weight[4 + a]
                g0 = -(by_y * body[a, 1, 0] + by_z * body[a, 2, 0])
                g1 = -(by_y * body[a, 1, 1] + by_z * body[a, 2, 1])
                g2 = -(by_y * body[a, 1, 2] + by_z * body[a, 2, 2])
                y0 = by_p * body[a, 0, 0] + by_y * body[a, 3, 0]
                y2 = by_p * body[a, 0, 2] + by_y * body[a, 3, 2]
                z0 = by_q * body[a, 0, 0] + by_z * body[a, 3, 0]
                z1 = by_q * body[a, 0, 1] + by_z * body[a, 3, 1]
                base = 6 * a
                gradient[m, base] = w_x * g0
                gradient[m, base + 1] = w_x * g1
                gradient[m, base + 2] = w_x * g2
                # turning moment e_j x (its gradient): d2 turns by e2 x y, d3 by e3 x z, the tangent by e1 x g
                gradient[m, base + 3] = w_d * (y2 - z1)
                gradient[m, base + 4] = w_d * z0 - w_t * g2
                gradient[m, base + 5] = -w_d * y0 + w_t * g1


@kernel
def add_site_stiffness(site_element, site_first, gradient, stiffness, diagonal, upper):
    """diagonal, upper += stiffness (m,) x gradient gradient^T."""
    for site in range(site_element.size):
        e = site_element[site]
        if e < 0:
            continue
        for m in range(site_first[site], site_first[site + 1]):
            g = gradient[m]
            k = stiffness[m]
            if k == 0.0:
                continue
            for i in range(6):
                ki = k * g[i]
                if ki != 0.0:
                    for j in range(6):
                        diagonal[e, i, j] += ki * g[j]
                        upper[e, i, j] += ki * g[6 + j]
                ki = k * g[6 + i]
                if ki != 0.0:
                    for j in range(6):
                        diagonal[e + 1, i, j] += ki * g[6 + j]


@kernel
def add_site_forces(site_element, site_first, gradient, value, out):
    """out (n, 6) += value (m,) x gradient."""
    for site in range(site_element.size):
        e = site_element[site]
        if e < 0:
            continue
        for m in range(site_first[site], site_first[site + 1]):
            v = value[m]
            if v != 0.0:
                for j in range(6):
                    out[e, j] += v * gradient[m, j]
                    out[e + 1, j] += v * gradient[m, 6 + j]


@kernel
def site_changes(site_element, site_first, gradient, step, change):
    """change (m,) of the gaps, linear in the step (n, 6)."""
    for site in range(site_element.size):
        e = site_element[site]
        for m in range(site_first[site], site_first[site + 1]):
            total = 0.0
            if e >= 0:
                for j in range(6):
                    total += gradient[m, j] * step[e, j] + gradient[m, 6 + j] * step[e + 1, j]
            change[m] = total
