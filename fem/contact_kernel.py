"""Contact between the wire's outline and the edges and walls of its slots.

A site is one wall at one station of one slot: a line across the slot, along z on the height walls and along y
on the depth walls.  Each station has a node of the mesh, and there the wire is taken as the prism that the
node's section, extended along the node's tangent, would sweep; prism and line touch where the outline's reach in
their common normal equals the distance:

    n   = (q d2 - p d3)/rho,  p = d2.e, q = d3.e, rho = |(p, q)|      common normal of the tangent and the line along e
    gap = sign (q (D.d2 - a) - p (D.d3 - b))/rho - r,   D = P - x     P a point of the line, x the node's centre

(a, b) is the centre of a corner arc of the outline and r its radius; each corner is one constraint.  (Distance of two
skew lines: any textbook of analytic geometry.)  It does not change along the prism, so the node need not stand level
with the line: standing s apart costs kappa s^2/2 on a wire of curvature kappa, and tau s c on one of twist rate tau
whose corners are c from its middle.  The mesh follows the slots until s is small (fem.path).  So a straight wire tilted
by t in a slot of height H and width W meets the mouths exactly at H cos t - W sin t = h (Kusy & Whitley, Eur. J.
Orthod. 21 (1999) 199), and interior stations, where the wire lies along the wall, see the plane wall.

The gap depends on one node only and as smoothly as its frame, whatever the wire does beside it: the force is its
exact gradient, perpendicular to the tangent, and the tangent matrix symmetric.

The same function of the mid-line (no wall distance, half thickness taken away) bounded both ways serves walls
that are closer to the wire than any tilt matters."""

from __future__ import annotations

import numpy as np

from geometry.compiled import kernel

OFF_END = 1e-8  # mm that a line may lie beyond the end of the wire and still have wire in it
LEAST_ACROSS = 0.01  # a line nearly along the wire does not say how far ahead it is
FAR_GAP = 1.0  # mm; stands for "no wall here" where a station has no wire in it


@kernel
def evaluate_sites(
    slot_position, slot_axes, site_slot, site_offset, site_axis, site_wall, site_first,
    sign, corner_y, corner_z, radius, positions, axes, site_node,
    site_there, site_ahead, site_point, gap, gradient,
):  # fmt: skip
    """gap (m,) in mm and gradient (m, 6) of all constraints along the body motion of their site's node.

    site_there (sites,) is 1 where the wire reaches the line; site_ahead (sites,): how far ahead of the node it
    does, mm, to first order; site_point (sites, 3): the line's point level with the node's centre.
    """
    e = np.empty(3)  # the line's direction and D, in the node's own axes
    d = np.empty(3)
    last = positions.shape[0] - 1
    for site in range(site_slot.size):
        k = site_slot[site]
        axis = site_axis[site]
        node = site_node[site]
        along = 0.0
        for i in range(3):
            site_point[site, i] = (
                slot_position[k, i]
                + site_offset[site] * slot_axes[k, i, 0]
                + site_wall[site] * slot_axes[k, i, 1 + axis]
            )
            along += (site_point[site, i] - positions[node, i]) * slot_axes[k, i, 2 - axis]
        for j in range(3):
            e[j] = 0.0
            d[j] = 0.0
        for i in range(3):
            edge = slot_axes[k, i, 2 - axis]
            site_point[site, i] -= along * edge
            for j in range(3):
                e[j] += axes[node, i, j] * edge
                d[j] += axes[node, i, j] * (site_point[site, i] - positions[node, i])
        ahead = d[0] / max(1.0 - e[0] * e[0], LEAST_ACROSS)
        site_ahead[site] = ahead
        there = not ((node == 0 and ahead < -OFF_END) or (node == last and ahead > OFF_END))
        site_there[site] = 1 if there else 0
        p = e[1]
        q = e[2]
        rho2 = p * p + q * q
        rho = np.sqrt(rho2)
        for m in range(site_first[site], site_first[site + 1]):
            if not there:
                gap[m] = FAR_GAP
                for j in range(6):
                    gradient[m, j] = 0.0
                continue
            a2 = d[1] - corner_y[m]
            a3 = d[2] - corner_z[m]
            scale = (1.0 - 2.0 * axis) * sign[m] / rho
            number = q * a2 - p * a3
            gap[m] = scale * number - radius[m]
            by_p = scale * (-a3 - number * p / rho2)
            by_q = scale * (a2 - number * q / rho2)
            by_y = scale * q
            by_z = -scale * p
            gradient[m, 0] = 0.0
            gradient[m, 1] = -by_y
            gradient[m, 2] = -by_z
            # turning moment e_j x (its gradient): d2 turns by e2 x y, d3 by e3 x z
            gradient[m, 3] = by_p * e[2] + by_y * d[2] - by_q * e[1] - by_z * d[1]
            gradient[m, 4] = by_q * e[0] + by_z * d[0]
            gradient[m, 5] = -by_p * e[0] - by_y * d[0]


@kernel
def add_site_stiffness(site_node, site_first, gradient, stiffness, diagonal):
    """diagonal += stiffness (m,) x gradient gradient^T."""
    for site in range(site_node.size):
        node = site_node[site]
        for m in range(site_first[site], site_first[site + 1]):
            for i in range(1, 6):
                scaled = stiffness[m] * gradient[m, i]
                for j in range(1, 6):
                    diagonal[node, i, j] += scaled * gradient[m, j]


@kernel
def add_site_forces(site_node, site_first, gradient, value, out):
    """out (n, 6) += value (m,) x gradient."""
    for site in range(site_node.size):
        node = site_node[site]
        for m in range(site_first[site], site_first[site + 1]):
            for j in range(1, 6):
                out[node, j] += value[m] * gradient[m, j]


@kernel
def site_changes(site_node, site_first, gradient, step, change):
    """change (m,) of the gaps, linear in the step (n, 6)."""
    for site in range(site_node.size):
        node = site_node[site]
        for m in range(site_first[site], site_first[site + 1]):
            total = 0.0
            for j in range(1, 6):
                total += gradient[m, j] * step[node, j]
            change[m] = total
