"""Contact between the wire's outline and the edges and walls of its slots.

A site is one wall at one station of one slot: a line across the slot, along z on the height walls and along y on the
depth walls; where walls open to the front, or a mouth is rounded, the line lies accordingly.  There the wire is taken
as the prism that its section, extended along the tangent, would sweep; prism and line touch where the outline's reach
in their common normal equals the distance:

    n   = (q d2 - p d3)/rho,  p = d2.e, q = d3.e, rho = |(p, q)|      common normal of the tangent and the line along e
    gap = sign (q (D.d2 - a) - p (D.d3 - b))/rho - r,   D = P - x     P a point of the line, x the prism's place

(a, b) is the centre of a corner arc of the outline and r its radius; each corner is one constraint.  (Distance of two
skew lines: any textbook of analytic geometry.)  A rounded edge is a line with a radius of its own, which adds to r.
So a straight wire tilted by t in a slot of height H and width W meets the mouths exactly at H cos t - W sin t = h
(Kusy & Whitley, Eur. J. Orthod. 21 (1999) 199), and interior stations, where the wire lies along the wall, see the
plane wall.

A line may end, at the front of an open slot.  Where the foot of the common normal lies beyond, the corner is as far
from the line as from its end, and the wall's front edge, which runs along the slot, is looked at as a point of the
section:

    gap = distance of (D.d2, D.d3) from the corner's centre, or from the straight side between two corners, less r

A thread from a support to its node only pulls: gap = its length less the node's distance across the support's x.

The prism stands on a rigid arm fixed to a node of the mesh: its frame is the node's, followed by the motion
(arm, turn) along the wire to where the line met it last (fem.following).  Where the line meets it s ahead
of that place, the wire has curved away from the prism by its curvature k = (k2, k3) there, as it was when the arm was
set:

    gap += s^2/2 (gap_z k2 - gap_y k3)        gap_y, gap_z: its slopes by D.d2 and D.d3

Its second derivative along the wire, force times curvature, is what makes a curved wire slide out of a slot or into it.
The gap depends on one node only and as smoothly as its frame, whatever the wire does beside it: the force is its exact
gradient, and the tangent matrix symmetric.

The same function of the mid-line (no wall distance, half thickness taken away) bounded both ways serves walls
that are closer to the wire than any tilt matters."""

from __future__ import annotations

import numpy as np

from geometry.compiled import kernel

LINE = 0
FRONT_EDGE = 1
THREAD = 2

OFF_END = 1e-8  # mm that a line may lie beyond the end of the wire and still have wire in it
LEAST_ACROSS = 0.01  # a line nearly along the wire does not say how far ahead it is
FAR_GAP = 1.0  # mm; stands for "no wall here" where a station has no wire in it
TINY = 1e-12  # mm: a thread this short has no direction


@kernel
def distance_beyond(y, z, half):
    """Distance of the point (y, z) from the segment from (0, -half) to (0, half) where it lies beside its ends, and
    its gradient; zeros where it lies level with the segment."""
    over = abs(z) - half
    if over <= 0.0:
        return 0.0, 0.0, 0.0
    distance = np.sqrt(y * y + over * over)
    return distance, y / distance, np.copysign(over, z) / distance


@kernel
def _gap_and_slopes(kind, sign, a, b, r, end, e, d, level):
    """Gap of one corner, its derivatives by p, q, y, z, and how far beyond D the point is that y and z belong to."""
    if kind == FRONT_EDGE:
        gap, by_y, by_z = distance_beyond(d[1] - a, d[2], b)
        if gap == 0.0:
            return sign * (d[1] - a) - r, 0.0, 0.0, sign, 0.0, 0.0
        return gap - r, 0.0, 0.0, by_y, by_z, 0.0
    p = e[1]
    q = e[2]
    rho2 = p * p + q * q
    rho = np.sqrt(rho2)
    a2 = d[1] - a
    a3 = d[2] - b
    beyond = end + level
    if -(a2 * p + a3 * q) > beyond * rho2:
        gap, by_y, by_z = distance_beyond(a2 + beyond * p, a3 + beyond * q, 0.0)
        return gap - r, 0.0, 0.0, by_y, by_z, beyond
    number = q * a2 - p * a3
    scale = sign / rho
    by_p = scale * (-a3 - number * p / rho2)
    by_q = scale * (a2 - number * q / rho2)
    return scale * number - r, by_p, by_q, scale * q, -scale * p, 0.0


@kernel
def is_round(sites, m):
    """Whether the outline is a circle about the wire's axis.

    Then the roll of a node turns the prism about its own axis, where it is felt by nothing; a bent arm would swing
    round, which the wire, rolling in its bends, does not.
    """
    return sites.corner_y[m] == 0.0 and sites.corner_z[m] == 0.0


@kernel
def place_prism(position, axes, arm, turn, centre, out):
    """The prism's place (3,) and axes (3, 3): those of a node, followed by the motion (arm, turn)."""
    for i in range(3):
        centre[i] = position[i] + axes[i, 0] * arm[0] + axes[i, 1] * arm[1] + axes[i, 2] * arm[2]
        for j in range(3):
            out[i, j] = axes[i, 0] * turn[0, j] + axes[i, 1] * turn[1, j] + axes[i, 2] * turn[2, j]


@kernel
def to_node(arm, turn, own, out):
    """Gradient (6,) along the body motion of the node from that, ``own``, along the body motion of the prism."""
    for i in range(3):
        out[i] = turn[i, 0] * own[0] + turn[i, 1] * own[1] + turn[i, 2] * own[2]
        out[3 + i] = turn[i, 0] * own[3] + turn[i, 1] * own[4] + turn[i, 2] * own[5]
    out[3] += arm[1] * out[2] - arm[2] * out[1]
    out[4] += arm[2] * out[0] - arm[0] * out[2]
    out[5] += arm[0] * out[1] - arm[1] * out[0]


@kernel
def evaluate_sites(slot_position, slot_axes, sites, positions, axes, touch):
    """Everything in ``touch`` that follows from the nodes' frames: above all gap (m,) in mm and gradient (m, 6)."""
    kind, first, end = sites.kind, sites.first, sites.end
    node, there, ahead, edge, away, level = (
        touch.node, touch.there, touch.ahead, touch.edge, touch.away, touch.level,
    )  # fmt: skip
    gap, gradient, centre, frame = touch.gap, touch.gradient, touch.centre, touch.axes
    own = np.zeros(6)
    last = positions.shape[0] - 1
    for site in range(node.size):
        k = sites.slot[site]
        place_prism(
            positions[node[site]],
            axes[node[site]],
            touch.arm[site],
            touch.turn[site],
            centre[site],
            frame[site],
        )
        e = edge[site]
        d = away[site]
        along = 0.0
        for j in range(3):
            e[j] = 0.0
            d[j] = 0.0
        for i in range(3):
            point = slot_position[k, i] - centre[site, i]
            direction = 0.0
            for j in range(3):
                point += slot_axes[k, i, j] * sites.point[site, j]
                direction += slot_axes[k, i, j] * sites.edge[site, j]
            along += point * direction
            for j in range(3):
                e[j] += frame[site, i, j] * direction
                d[j] += frame[site, i, j] * point
        if kind[site] == LINE:
            for j in range(3):
                d[j] -= along * e[j]
            ahead[site] = d[0] / max(1.0 - e[0] * e[0], LEAST_ACROSS)
        else:
            along = 0.0
            ahead[site] = d[0] if kind[site] == FRONT_EDGE else 0.0
        level[site] = along
        reached = touch.reach[site] + ahead[site]
        off = (node[site] == 0 and reached < -OFF_END) or (node[site] == last and reached > OFF_END)
        there[site] = 0 if off else 1
        if kind[site] == THREAD:
            _evaluate_thread(
                slot_axes[k], sites.radius[first[site]], frame[site], d, gap, gradient, first[site]
            )
            continue
        for m in range(first[site], first[site + 1]):
            if off:
                gap[m] = FAR_GAP
                for j in range(6):
                    gradient[m, j] = 0.0
                continue
            gap[m], by_p, by_q, by_y, by_z, beyond = _gap_and_slopes(
                kind[site], sites.sign[m], sites.corner_y[m], sites.corner_z[m], sites.radius[m], end[site],
                e, d, along,
            )  # fmt: skip
            d0 = d[0] + beyond * e[0] if beyond != 0.0 else d[0]
            d1 = d[1] + beyond * e[1] if beyond != 0.0 else d[1]
            d2 = d[2] + beyond * e[2] if beyond != 0.0 else d[2]
            # the wire curves away from its prism by half its curvature times the square of the distance
            bend = by_z * touch.bend[site, 0] - by_y * touch.bend[site, 1]
            slope = bend * ahead[site]
            gap[m] += 0.5 * slope * ahead[site]
            own[0] = -slope
            own[1] = -by_y
            own[2] = -by_z
            # turning moment e_j x (its gradient): d2 turns by e2 x y, d3 by e3 x z
            own[3] = by_p * e[2] + by_y * d2 - by_q * e[1] - by_z * d1
            own[4] = by_q * e[0] + by_z * d0 - slope * d[2]
            own[5] = -by_p * e[0] - by_y * d0 + slope * d[1]
            to_node(touch.arm[site], touch.turn[site], own, gradient[m])
            if is_round(sites, m):
                gradient[m, 3] = own[3]


@kernel
def _evaluate_thread(frame_axes, length, axes, d, gap, gradient, m):
    """A thread to the node itself: d leads from the node to the support, in the node's axes."""
    y = 0.0
    z = 0.0
    for j in range(3):
        gradient[m, j] = 0.0
        gradient[m, 3 + j] = 0.0
        for i in range(3):
            y += axes[i, j] * frame_axes[i, 1] * d[j]
            z += axes[i, j] * frame_axes[i, 2] * d[j]
    distance = np.sqrt(y * y + z * z)
    gap[m] = length - distance
    if distance > TINY:
        for j in range(3):
            for i in range(3):
                gradient[m, j] += axes[i, j] * (frame_axes[i, 1] * y + frame_axes[i, 2] * z) / distance


@kernel
def add_site_stiffness(site_node, site_first, gradient, stiffness, diagonal):
    """diagonal += stiffness (m,) x gradient gradient^T."""
    for site in range(site_node.size):
        node = site_node[site]
        for m in range(site_first[site], site_first[site + 1]):
            if stiffness[m] == 0.0:
                continue
            for i in range(6):
                scaled = stiffness[m] * gradient[m, i]
                for j in range(6):
                    diagonal[node, i, j] += scaled * gradient[m, j]


@kernel
def add_site_forces(site_node, site_first, gradient, value, out):
    """out (n, 6) += value (m,) x gradient."""
    for site in range(site_node.size):
        node = site_node[site]
        for m in range(site_first[site], site_first[site + 1]):
            for j in range(6):
                out[node, j] += value[m] * gradient[m, j]


@kernel
def site_changes(site_node, site_first, gradient, step, change):
    """change (m,) of the gaps, linear in the step (n, 6)."""
    for site in range(site_node.size):
        node = site_node[site]
        for m in range(site_first[site], site_first[site + 1]):
            total = 0.0
            for j in range(6):
                total += gradient[m, j] * step[node, j]
            change[m] = total
