"""A rod pushed down between two rollers, over which it slides:  .venv/bin/python -m scripts.rod_rollers

A steel rod of 1 mm lies on two rollers without friction, 100 mm apart; its middle is pushed down by d.  The rollers
push across the rod, which turns and is drawn in: the force has a maximum, which no formula for small deflections knows.
Elastica (Conway, Phil. Mag. 38 (1947) 905; reference from memory, worked out anew here): each half is a cantilever with
a force R across its end.  With the angle t between end and middle, x along the end's tangent and y across it, e from a
roller's middle to the rod's, and c = sqrt(EI/2R),

    x = 2 c sqrt(sin t),    y = c int_0^t sqrt(sin u) du,    P = 2 R cos t
    S/2 = x cos t + y sin t + e sin t,    d = x sin t - y cos t + e (1 - cos t)

What is left between the two, 2e-4, is shear: 12 EI/(kGA S^2).
"""

from __future__ import annotations

import math

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq

from fem.material import LinearElastic
from fem.model import Edge, PointTie
from fem.path import Leg, engage
from fem.rods import Held, rod
from geometry.pose import Pose
from geometry.section import Round
from geometry.wire_shapes import PassiveShape, Straight

STEEL = LinearElastic("steel", 2.0e5, 0.3)  # MPa
SECTION = Round(1.0)  # mm
BENDING = STEEL.youngs_modulus * SECTION.second_moment_z  # EI, N mm^2
SPAN, ROLLER, LENGTH = 100.0, 2.0, 180.0  # mm: between the rollers, their radius, the rod
DEPTHS = (1.0, 10.0, 20.0, 30.0, 35.0)  # mm


def computed() -> list[tuple[float, float, float]]:
    """Depth (mm), force (N) on the middle, rod (mm) between the rollers."""
    middle = 0.5 * LENGTH
    left, right = (Held(Edge(ROLLER), middle + side * 0.5 * SPAN) for side in (-1.0, 1.0))
    held = [left, Held(PointTie(stop=True), middle), right]
    model = rod(PassiveShape((Straight(LENGTH),)), SECTION, STEEL, held, elements=180)
    one, centre, other = (support.start for support in model.supports)
    pushed = [Pose(centre.position - np.array([0.0, depth, 0.0]), centre.axes) for depth in DEPTHS]
    path = engage(model, legs=[Leg("pushed on", (one, pin, other), 5) for pin in pushed])
    ends = [(d, path.end_of(k).snapshot) for k, d in enumerate(DEPTHS)]
    return [(d, float(end.force[1, 1]), float(np.ptp(end.centre_arc))) for d, end in ends]


def elastica(
    depth: float, span: float = SPAN, e: float = ROLLER + 0.5 * SECTION.diameter, bending: float = BENDING
) -> float:
    """P (N) on a rod that neither stretches nor shears."""

    def scale_and_shape(t: float) -> tuple[float, float, float]:
        x, y = 2.0 * math.sqrt(math.sin(t)), float(quad(lambda u: math.sin(u) ** 0.5, 0.0, t)[0])
        return (0.5 * span - e * math.sin(t)) / (x * math.cos(t) + y * math.sin(t)), x, y

    def off(t: float) -> float:
        c, x, y = scale_and_shape(t)
        return c * (x * math.sin(t) - y * math.cos(t)) + e * (1.0 - math.cos(t)) - depth

    t = float(brentq(off, 1e-6, 0.5 * math.pi - 1e-6, xtol=1e-13))
    return bending / scale_and_shape(t)[0] ** 2 * math.cos(t)


def main() -> None:
    """Print both, and what small deflections would give."""
    print("Rod pushed down by d between two rollers: force P, N, rod between, mm (elastica: Conway 1947)")
    print(f"{'d, mm':>6} {'computed':>10} {'elastica':>10} {'48 EI d/S^3':>12} {'rod between':>12}")
    for depth, force, between in computed():
        small = 48.0 * BENDING * depth / SPAN**3
        print(f"{depth:>6g} {force:>10.5f} {elastica(depth):>10.5f} {small:>12.5f} {between:>12.3f}")


if __name__ == "__main__":
    main()
