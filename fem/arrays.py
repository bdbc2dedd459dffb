"""The arrays that kernels work on, grouped by what they are.

A kernel binds the ones it needs to local names first: that keeps both its code and its compilation short.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


class Fibres(NamedTuple):
    """Sections that remember, at two places of each of m elements; see fibre_elements_kernel.  m is zero where the wire
    is elastic, but for ``active``."""

    kind: Integers  # (1,) of law; see fibre_law_kernel
    law: Array  # its numbers, at the temperature there is
    moduli: Array  # (5,) E, G, stress below which no fibre yields (MPa); EA (N), size of the section (mm)
    most: Array  # (6,) what each strain of the section gives the fibre that gets most of it
    elastic: Array  # (s,) stiffnesses of the section and of k shapes of warping, s = 6 + k
    weights: Array  # (c, n) mm^2, in c parts that are asked in turn; zero of fibres that fill up a part
    axial: Array  # (c, 3, n), fibres side by side; see fem.fibres
    shear: Array  # (c, 2, 3 + k, n)
    committed: Array  # (m, 2, c, 6, n) memory at the last accepted increment
    trial: Array  # (m, 2, c, 6, n) and at the state, as it was last brought to rest
    remembers: Flags  # (m,) where the committed memory is not empty
    active: Flags  # (m,) elements that fibres answer for, not the exact law
    moves: Array  # (m, 2, s, 7) change of strains with the resultants of the element, that of warping with strains, and
    # by themselves


class Beam(NamedTuple):
    """m elements."""

    lengths: Array  # (m,) mm
    passive_screws: Array  # (m, 6) mm, rad
    compliance: Array  # (m, 6) of the section: 1/N, 1/(N mm^2); infinite in the gap between two wires
    fibres: Fibres


class Links(NamedTuple):
    """l springs between two nodes each; see links_kernel."""

    first: Integers
    other: Integers
    rest: Array  # mm
    rate: Array  # N/mm
    pulls_only: Flags


class Loads(NamedTuple):
    """What acts on the nodes besides supports."""

    dead: Array  # (n, 6) N and N mm, in world axes, which they keep
    follower: Array  # (n, 6) in the node's own axes, with which they turn
    links: Links


class Sites(NamedTuple):
    """Lines of s sites that the wire may touch, each by some of m corners; see contact_kernel."""

    slot: Integers  # (s,) support whose frame it stands in
    kind: Integers  # (s,) a line across the wire, the front edge of a wall, or a thread
    point: Array  # (s, 3) mm, a point of the line in the support's axes
    edge: Array  # (s, 3) direction of the line, unit vector in the support's axes
    end: Array  # (s,) mm, how far the line reaches beyond its point; infinite where it does not end
    rounding: Array  # (s,) mm, radius of the line itself, which the corners' radii contain
    friction: Array  # (s,) coefficient
    spins: Flags  # (s,) whether the wire is round: its roll turns the outline into itself
    first: Integers  # (s + 1,) first corner of each site
    sign: Array  # (m,) 1 or -1: on which side of the wire the wall is, seen along edge x tangent
    corner_y: Array  # (m,) mm
    corner_z: Array
    radius: Array  # (m,) mm, of the corner and of the line together
    half_range: Array  # (m,) mm; negative: one-sided
    compliance: Array  # (m,) mm/N; zero: rigid


class Holds(NamedTuple):
    """Equality constraints on nodes; see holds_kernel.  Those of joints come last; see joints_kernel."""

    node: Integers
    frame: Integers
    kind: Integers
    other: Integers  # node to which a joint holds it; -1: the frame alone does


class Touch(NamedTuple):
    """How the sites meet the wire.  The first six are fixed within an increment, the rest follows from the state."""

    node: Integers  # (s,) node whose prism is looked at
    arm: Array  # (s, 3) mm, from that node to the prism's place, in the node's axes
    turn: Array  # (s, 3, 3) axes of the prism seen from the node
    course: Array  # (s, 3) rad/mm, how the wire goes on from the prism: twist rate, curvatures k2, k3
    reach: Array  # (s,) mm, arc length from that node to the prism's place
    outermost: Integers  # (s,) -1 where that node is the first of its wire, 1 where it is the last, else 0
    there: Integers  # (s,) 1 where the wire reaches the line
    ahead: Array  # (s,) mm
    centre: Array  # (s, 3) mm, the prism's place in the world
    axes: Array  # (s, 3, 3) the prism's axes, tangent first
    edge: Array  # (s, 3) e, in the prism's axes
    away: Array  # (s, 3) D, mm, in the prism's axes
    level: Array  # (s,) mm along the line from the point level with the prism's place to the line's own point
    gap: Array  # (m,) mm
    gradient: Array  # (m, 6) along the body motion of the node


class Rubbing(NamedTuple):
    """Friction at the sites; see friction_kernel."""

    zero: Array  # (s, 2) mm, place along the wire and across it from which slip counts
    place: Array  # (s, 2) mm, the same two at the state
    spot: Array  # (s, 2) mm, the point of the prism's section that touched when the increment began
    normal: Array  # (s,) N, the normal force that bounds friction
    along: Array  # (s, 6) gradients of the two along the body motion of the node
    aside: Array
    force: Array  # (s, 2) N, on the wire


class State(NamedTuple):
    """What one increment hands to the next.  The arrays before ``flat`` are views of it, in this order."""

    positions: Array  # (n, 3) mm
    axes: Array  # (n, 3, 3)
    predicted: Array  # (m, 6) stress for the geometric tangent
    slack: Array
    low: Array
    high: Array
    hold_force: Array
    strains: Array  # (m, 2, s) of sections of fibres, as predicted; none where the wire is elastic
    flat: Array
    touch: Touch
    rubbing: Rubbing


class Work(NamedTuple):
    """Scratch, so that nothing is allocated in the loops."""

    screws: Array
    stress: Array
    stiffness: Array  # (m, 6, 6) of the elements: change of stress with the mean strain
    jacobians: Array
    residual: Array
    diagonal: Array
    upper: Array
    factors: Array
    couplings: Array
    step: Array
    right: Array
    change: Array
    weight: Array
    force: Array
    target: Array
    mode: Integers
    hold_value: Array
    hold_gradient: Array
    hold_weight: Array
    hold_step: Array
    hold_other: Array  # (h, 6) gradient of a joint's hold along the motion of its other node
    joint_weight: Array  # (h,) weight of a joint's hold; see joints_kernel
    positions: Array
    axes: Array
    d_slack: Array
    d_low: Array
    d_high: Array
    push: Array
    d_force: Array
    drag: Array  # (n,) N/mm; see drag_kernel
    drag_positions: Array  # (n, 3)
    drag_axes: Array  # (n, 3, 3)
    link_columns: Array  # (c, n, 6), three of each link and one of each joint's hold; see links_kernel
    link_column: Array  # (n, 6)
    link_small: Array  # (c, c)
    link_right: Array  # (c,)
    order: Integers  # (n, 6) row exchanges of the unsymmetric factors
