"""Torsion constants of many slightly different rectangles, without a mesh for each.

The torsion constant of a rectangle with sides a <= b and edges rounded by r is a^3 b times a smooth function of
log(b/a) and r/a, and the largest shear stress per torque is another one divided by a^2 b.  Both are solved by
``fem.torsion`` on a lattice of these two numbers, only where it is asked for, and laid through the nearest four by four
points as cubics in either direction.  The lattice stands fast, so an answer depends neither on what was asked before
nor on the order.
"""

from __future__ import annotations

import functools
import math

import numpy as np

from fem.torsion import TorsionConstants, solve_torsion, torsion_constants
from geometry.section import Rectangle, Round, Section

LOG_STEP, RADIUS_STEP = 0.02, 0.02
"""Distances of the lattice, of log(b/a) and of r/a."""
LEAST_RADIUS, MOST_RADIUS = 1, 22
"""Points of the lattice in r/a.  Meshes for smaller radii become costly; towards 0.5, where two arcs become one, the
function is no longer smooth."""
LARGEST_RADIUS = 0.4
"""Largest r/a that is taken from the lattice."""
DIVISIONS = 36
"""Triangles across the smaller side: the solution itself is then good to 3e-7."""


def tabled_torsion_constant(section: Section) -> float:
    """Torsion constant J in mm^4: the one of ``tabled_torsion_constants``."""
    return tabled_torsion_constants(section).constant


def tabled_torsion_constants(section: Section) -> TorsionConstants:
    """Torsion constant J, good to 1e-6 of itself, and largest shear stress per torque, good to 5e-4.

    ``fem.torsion.torsion_constants`` with its coarser mesh is good to about 1e-5 and 2e-3.  What that has in closed
    form comes from there, and so do edges rounded by less than a fiftieth or by more than two fifths of the smaller
    side."""
    a, b = sorted((section.height, section.depth))
    share = section.edge_radius / a
    if isinstance(section, Round) or not LEAST_RADIUS * RADIUS_STEP <= share <= LARGEST_RADIUS:
        return torsion_constants(section)
    first, along = _stencil(math.log(b / a) / LOG_STEP, 0)
    second, across = _stencil(share / RADIUS_STEP, LEAST_RADIUS, MOST_RADIUS)
    values = np.array([[_at(first + i, second + j) for j in range(4)] for i in range(4)])
    constant, largest = along @ values[..., 0] @ across, along @ values[..., 1] @ across
    return TorsionConstants(float(constant) * a**3 * b, float(largest) / (a**2 * b))


def _stencil(place: float, least: int, most: int | None = None) -> tuple[int, np.ndarray]:
    """The first of four points of the lattice round ``place``, and the weights (4,) of the cubic through them."""
    first = max(math.floor(place) - 1, least)
    if most is not None:
        first = min(first, most - 3)
    t = place - first
    weights = np.array([math.prod((t - j) / (i - j) for j in range(4) if j != i) for i in range(4)])
    return first, weights


@functools.lru_cache(maxsize=4096)
def _at(log_place: int, radius_place: int) -> tuple[float, float]:
    """Both functions on the lattice, from a section whose smaller side is 1 mm; its mesh is not kept."""
    long = math.exp(log_place * LOG_STEP)
    section = Rectangle(1.0, long, radius_place * RADIUS_STEP)
    solved = solve_torsion.__wrapped__(section, DIVISIONS)
    return solved.constant / long, solved.largest_shear_factor * long
