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
from the line as from its end, or, beside the line, as from the face in front of the wall, which goes on from the end
at a right angle; behind both it is as deep as from the wall, or where the face is ten times nearer from the face: a
step through a wall must not end before the slot.  And the wall's front edge, which runs along the slot,
is looked at as a point of the section:

    gap = distance of (D.d2, D.d3) from the rectangle between the corners' centres, less r

so that a wire which has come out may lie on the edges with any of its sides.  (Distance of a point from a rectangle,
negative inside: that from the nearest side, or corner.)

A thread from a support to its node only pulls: gap = its length less the node's distance, from the support's x or, tied
there, from the support's own point.

The prism stands on a rigid arm fixed to a node of the mesh: its frame is the node's, followed by the motion
(arm, turn) along the wire to where the line met it last (fem.following).  Where the line meets it s ahead
of that place, the wire has gone its own course from the prism, as it was when the arm was set, per mm of way: twisted
by t and curved by k = (k2, k3):

    gap += s t gap_t + s^2/2 (gap_z k2 - gap_y k3)

gap_t is its slope as the prism turns about d1, gap_y and gap_z those by D.d2 and D.d3.

So a slot that holds a twisted wire by a torque T pushes it along by T^2/2GJ, as curvature makes it do by M^2/2EI: half
of the jump of energy at its mouth (Bigoni, Dal Corso, Misseroni & Bosi, Proc. R. Soc. A 470 (2014) 20140599; from
memory).  Force times curvature is the stiffness along the slot.  Shear would add Q^2/2kGA, far less as long as forces
stay below a thousandth of kGA; it is left out because it turns with the very force that it would change.
The gap depends on one node only and as smoothly as its frame, whatever the wire does beside it: the force is its exact
gradient, and the tangent matrix symmetric.

The same function of the mid-line (no wall distance, half thickness taken away) bounded both ways serves walls
that are closer to the wire than any tilt matters.  It is asked for at the corners; where the outer one is past the
walls' end, at that end: gap = sign (D'.d2 - a), D' = D to the end, as long as the wire has a side there."""

from __future__ import annotations

import numpy as np

from geometry.compiled import kernel

LINE = 0
FRONT_EDGE = 1
THREAD = 2

LEVEL = 0  # a corner level with the line
PAST = 1  # a corner past the line's end
BEFORE = 2  # a corner before the face from which the line's end leads in
AT_EDGE = 3  # an edge at a side or a corner
HELD = 4  # an edge at a side that the walls hold without play
AT_END = 5  # the end of walls that hold the sides of the wire without play, at a side of it

OFF_END = 1e-8  # mm that a line may lie beyond the end of the wire and still have wire in it
LEAST_ACROSS = 0.01  # a line nearly along the wire does not say how far ahead it is
FAR_GAP = 1.0  # mm; stands for "no wall here" where a station has no wire in it
NEARER = (
    0.1  # to the face than to the wall's plane by this share: so a corner inside both belongs to the face
)
APART = 0.01  # mm; stands for "near, but another wall's business"
TINY = 1e-12  # mm: a thread this short has no direction


@kernel
def distance_from_rectangle(y, z, half_y, half_z):
    """Distance of the point (y, z) from a rectangle about the origin, negative inside, its gradient, and whether a
    corner is what is nearest."""
    over_y = abs(y) - half_y
    over_z = abs(z) - half_z
    if over_y >= 0.0 and over_z >= 0.0:
        distance = np.sqrt(over_y * over_y + over_z * over_z)
        if distance > 0.0:
            return distance, np.copysign(over_y, y) / distance, np.copysign(over_z, z) / distance, True
    if over_y >= over_z:
        return over_y, np.copysign(1.0, y), 0.0, False
    return over_z, 0.0, np.copysign(1.0, z), False


@kernel
def place_of_corner(sign, half_range, a2, a3, p, q, rho, beyond):
    """Where a corner is, seen from (a2, a3) to the line along (p, q), rho long: `LEVEL` with the line, `PAST` its end,
    which lies ``beyond`` that point, or `BEFORE` the face; how far off the line, and over its end, it is."""
    off = sign * (q * a2 - p * a3) / rho
    over = -(a2 * p + a3 * q) / rho - beyond * rho
    where = LEVEL
    if over > 0.0 and (off >= 0.0 or half_range >= 0.0):
        where = PAST
    elif off < 0.0 and over > NEARER * off and half_range < 0.0:
        where = BEFORE
    return where, off, over


@kernel
def _gap_and_slopes(kind, sign, half_range, a, b, r, beyond, p, q, y, z):
    """Gap of one corner, its derivatives by p, q, y, z, and where the corner is (`place_of_corner`).  An edge that lies
    not ``beyond`` has its side `HELD`."""
    if kind == FRONT_EDGE:
        gap, by_y, by_z, _ = distance_from_rectangle(y, z, abs(a), b)
        where = HELD if beyond == 0.0 and z > -b else AT_EDGE
        return gap - r, 0.0, 0.0, by_y, by_z, where
    rho = np.sqrt(p * p + q * q)
    a2 = y - a
    a3 = z - b
    where, off, over = place_of_corner(sign, half_range, a2, a3, p, q, rho, beyond)
    number = q * a2 - p * a3
    if where == PAST and half_range >= 0.0 and z + beyond * q > -b:
        return sign * (a2 + beyond * p) - r, 0.0, 0.0, sign, 0.0, AT_END
    if where == PAST:
        gap, by_y, by_z, _ = distance_from_rectangle(a2 + beyond * p, a3 + beyond * q, 0.0, 0.0)
        return gap - r, 0.0, 0.0, by_y, by_z, PAST
    if where == BEFORE:
        # over = -(u p + v q)/rho with (u, v) the end of the line, which stands still, seen from the corner
        across = number / (rho * rho * rho)
        return over - r, -q * across, p * across, -p / rho, -q / rho, BEFORE
    scale = sign / rho
    by_p = scale * (-a3 - number * p / (rho * rho))
    by_q = scale * (a2 - number * q / (rho * rho))
    return off - r, by_p, by_q, scale * q, -scale * p, LEVEL


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
def _place_prisms(slot_position, slot_axes, sites, positions, axes, touch):
    """Frames of the prisms, and the lines seen from them."""
    node, arm, turn, centre, frame = touch.node, touch.arm, touch.turn, touch.centre, touch.axes
    edge, away, level, ahead, there, reach = (
        touch.edge, touch.away, touch.level, touch.ahead, touch.there, touch.reach,
    )  # fmt: skip
    slot, kind, point, direction = sites.slot, sites.kind, sites.point, sites.edge
    outermost = touch.outermost
    for site in range(node.size):
        k = slot[site]
        n = node[site]
        for i in range(3):
            r0 = axes[n, i, 0]
            r1 = axes[n, i, 1]
            r2 = axes[n, i, 2]
            centre[site, i] = positions[n, i] + r0 * arm[site, 0] + r1 * arm[site, 1] + r2 * arm[site, 2]
            for j in range(3):
                frame[site, i, j] = r0 * turn[site, 0, j] + r1 * turn[site, 1, j] + r2 * turn[site, 2, j]
        along = 0.0
        e0 = e1 = e2 = d0 = d1 = d2 = 0.0
        for i in range(3):
            s0 = slot_axes[k, i, 0]
            s1 = slot_axes[k, i, 1]
            s2 = slot_axes[k, i, 2]
            d = (
                slot_position[k, i]
                - centre[site, i]
                + s0 * point[site, 0]
                + s1 * point[site, 1]
                + s2 * point[site, 2]
            )
            e = s0 * direction[site, 0] + s1 * direction[site, 1] + s2 * direction[site, 2]
            along += d * e
            f0 = frame[site, i, 0]
            f1 = frame[site, i, 1]
            f2 = frame[site, i, 2]
            e0 += f0 * e
            e1 += f1 * e
            e2 += f2 * e
            d0 += f0 * d
            d1 += f1 * d
            d2 += f2 * d
        if kind[site] == LINE:
            d0 -= along * e0
            d1 -= along * e1
            d2 -= along * e2
            ahead[site] = d0 / max(1.0 - e0 * e0, LEAST_ACROSS)
        else:
            along = 0.0
            ahead[site] = d0 if kind[site] == FRONT_EDGE else 0.0
        level[site] = along
        edge[site, 0] = e0
        edge[site, 1] = e1
        edge[site, 2] = e2
        away[site, 0] = d0
        away[site, 1] = d1
        away[site, 2] = d2
        reached = reach[site] + ahead[site]
        off = outermost[site] * reached > OFF_END
        there[site] = 0 if off else 1


@kernel
def evaluate_sites(slot_position, slot_axes, sites, positions, axes, touch):
    """Everything in ``touch`` that follows from the nodes' frames: above all gap (m,) in mm and gradient (m, 6)."""
    _place_prisms(slot_position, slot_axes, sites, positions, axes, touch)
    kind, first, end, sign, radius = sites.kind, sites.first, sites.end, sites.sign, sites.radius
    corner_y, corner_z, half_range = sites.corner_y, sites.corner_z, sites.half_range
    arm, turn, course, there, ahead = touch.arm, touch.turn, touch.course, touch.there, touch.ahead
    edge, away, level, gap, gradient = touch.edge, touch.away, touch.level, touch.gap, touch.gradient
    for site in range(there.size):
        if kind[site] == THREAD:
            _evaluate_thread(
                slot_axes[sites.slot[site]], sites.edge[site, 0], radius[first[site]], touch.axes[site], away[site],
                gap, gradient, first[site],
            )  # fmt: skip
            continue
        e0 = edge[site, 0]
        e1 = edge[site, 1]
        e2 = edge[site, 2]
        s = ahead[site]
        beyond = end[site] + level[site]
        for m in range(first[site], first[site + 1]):
            y0 = away[site, 0]
            y1 = away[site, 1]
            y2 = away[site, 2]
            value, by_p, by_q, by_y, by_z, where = _gap_and_slopes(
                kind[site],
                sign[m],
                half_range[m],
                corner_y[m],
                corner_z[m],
                radius[m],
                beyond,
                e1,
                e2,
                y1,
                y2,
            )
            # Past the front of a slot that it fills nothing holds the wire any more.
            if there[site] == 0 or (where == PAST and half_range[m] >= 0.0):
                gap[m] = FAR_GAP
                for j in range(6):
                    gradient[m, j] = 0.0
                continue
            # At the wall's end a sharp corner has no direction: on one side of it the wall meets the corner, on the
            # other the front edge meets the side beside it.
            if where == HELD or (where == PAST and radius[m] == 0.0 and value < APART):
                gap[m] = APART
                for j in range(6):
                    gradient[m, j] = 0.0
                continue
            # where the line's end takes the wall's place
            f1 = y1
            f2 = y2
            at_end = where == PAST or where == BEFORE or where == AT_END
            if at_end:
                f1 += beyond * e1
                f2 += beyond * e2
            # turning moment e_j x (its gradient): d2 turns by e2 x y, d3 by e3 x z
            g3 = by_p * e2 + by_y * f2 - by_q * e1 - by_z * f1
            # the wire goes its own course from the prism: it twists away, and curves away by half its curvature times
            # the square of the distance
            away_by = course[site, 0] * g3
            curving = by_z * course[site, 1] - by_y * course[site, 2]
            gap[m] = value + s * (away_by + 0.5 * s * curving)
            rate = away_by + s * curving
            # how far ahead the line is grows by (-1, e0 e1/w, e0 e2/w, 0, -y2/w, y1/w), w = 1 - e0^2
            across = 0.0 if kind[site] == FRONT_EDGE else e0 / max(1.0 - e0 * e0, LEAST_ACROSS)
            share = 1.0 + e0 * across
            o1 = -by_y + rate * across * e1
            o2 = -by_z + rate * across * e2
            f0 = y0 + beyond * e0 if at_end else y0
            g4 = by_q * e0 + by_z * f0 - rate * (share * y2 + 2.0 * s * across * e2)
            g5 = rate * (share * y1 + 2.0 * s * across * e1) - by_p * e0 - by_y * f0
            # along the body motion of the node, as in to_node
            u0 = -turn[site, 0, 0] * rate + turn[site, 0, 1] * o1 + turn[site, 0, 2] * o2
            u1 = -turn[site, 1, 0] * rate + turn[site, 1, 1] * o1 + turn[site, 1, 2] * o2
            u2 = -turn[site, 2, 0] * rate + turn[site, 2, 1] * o1 + turn[site, 2, 2] * o2
            t0 = turn[site, 0, 0] * g3 + turn[site, 0, 1] * g4 + turn[site, 0, 2] * g5
            t1 = turn[site, 1, 0] * g3 + turn[site, 1, 1] * g4 + turn[site, 1, 2] * g5
            t2 = turn[site, 2, 0] * g3 + turn[site, 2, 1] * g4 + turn[site, 2, 2] * g5
            gradient[m, 0] = u0
            gradient[m, 1] = u1
            gradient[m, 2] = u2
            # the roll of a node turns a round wire's prism about its own axis; a bent arm would swing round, which the
            # wire, rolling in its bends, does not
            gradient[m, 3] = g3 if sites.spins[site] else t0 + arm[site, 1] * u2 - arm[site, 2] * u1
            gradient[m, 4] = t1 + arm[site, 2] * u0 - arm[site, 0] * u2
            gradient[m, 5] = t2 + arm[site, 0] * u1 - arm[site, 1] * u0


@kernel
def _evaluate_thread(frame_axes, along, length, axes, d, gap, gradient, m):
    """A thread to the node itself: d leads from the node to the support, in the node's axes.  ``along``: 1 where the
    thread's far end is tied to the support's own point, 0 where it slides along the support's x."""
    x = 0.0
    y = 0.0
    z = 0.0
    for j in range(3):
        gradient[m, j] = 0.0
        gradient[m, 3 + j] = 0.0
        for i in range(3):
            x += along * axes[i, j] * frame_axes[i, 0] * d[j]
            y += axes[i, j] * frame_axes[i, 1] * d[j]
            z += axes[i, j] * frame_axes[i, 2] * d[j]
    distance = np.sqrt(x * x + y * y + z * z)
    gap[m] = length - distance
    if distance > TINY:
        for j in range(3):
            for i in range(3):
                pull = frame_axes[i, 0] * x + frame_axes[i, 1] * y + frame_axes[i, 2] * z
                gradient[m, j] += axes[i, j] * pull / distance


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
