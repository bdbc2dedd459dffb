"""A cantilever bent far by a dead force at its tip, against the elastica:  .venv/bin/python -m scripts.rod_cantilever

A steel rod of 2 mm and 1 m, built in at one end.  Closed form (Bisshopp & Drucker, Quart. Appl. Math. 3 (1945) 272;
five digits in Mattiasson, Int. J. Numer. Meth. Engng 17 (1981) 145, table 1): with p^2 = (1 + sin t)/2 for the tip's
angle t and sin b = 1/(p sqrt 2),

    a = sqrt(P L^2/EI) = K(p) - F(p, b),    w/L = 1 - 2 (E(p) - E(p, b))/a,    1 - u/L = sqrt(2 sin t)/a
"""

from __future__ import annotations

import math

from scipy.optimize import brentq
from scipy.special import ellipe, ellipeinc, ellipk, ellipkinc

from fem.material import LinearElastic
from fem.model import Clamp
from fem.path import engage
from fem.rods import Held, Load, node_at, rod
from geometry.section import Round
from geometry.wire_shapes import PassiveShape, Straight

STEEL = LinearElastic("steel", 2.0e5, 0.3)  # MPa
SECTION = Round(2.0)  # mm
LENGTH = 1000.0  # mm
BENDING = STEEL.youngs_modulus * SECTION.second_moment_z  # EI, N mm^2

Tip = tuple[float, float, float]
"""Deflection w/L, shortening u/L, and the angle, rad."""


def computed(load: float) -> Tip:
    """The tip under the dead force P = ``load`` EI/L^2 across the rod."""
    force = load * BENDING / LENGTH**2
    shape = PassiveShape((Straight(LENGTH),))
    model = rod(shape, SECTION, STEEL, [Held(Clamp(), 0.0)], [Load(LENGTH, force=(0.0, -force, 0.0))])
    tip = engage(model).last.snapshot
    node = node_at(tip.arcs, LENGTH)
    along, across, _ = tip.positions[node]
    tangent = tip.axes[node, :, 0]
    return float(-across / LENGTH), float(1.0 - along / LENGTH), math.atan2(-tangent[1], tangent[0])


def elastica(load: float) -> Tip:
    """The same of a rod that neither stretches nor shears."""
    root = math.sqrt(load)

    def parameters(angle: float) -> tuple[float, float]:
        squared = 0.5 * (1.0 + math.sin(angle))
        return squared, math.asin(1.0 / math.sqrt(2.0 * squared))

    def off(angle: float) -> float:
        squared, begin = parameters(angle)
        return float(ellipk(squared) - ellipkinc(begin, squared)) - root

    angle = float(brentq(off, 1e-9, 0.5 * math.pi - 1e-12, xtol=1e-14))
    squared, begin = parameters(angle)
    deflection = 1.0 - 2.0 / root * float(ellipe(squared) - ellipeinc(begin, squared))
    return deflection, 1.0 - math.sqrt(2.0 * math.sin(angle)) / root, angle


def main() -> None:
    """Print both for several loads."""
    print("Cantilever under a dead tip force: computed / elastica (Bisshopp & Drucker 1945)")
    print(f"{'P L^2/EI':>8}  {'w/L':^19}  {'u/L':^19}  {'tip angle, deg':^19}")
    for load in (0.5, 1.0, 2.0, 5.0, 10.0):
        pairs = list(zip(computed(load), elastica(load), strict=True))
        pairs[2] = (math.degrees(pairs[2][0]), math.degrees(pairs[2][1]))
        print(f"{load:>8g}  " + "  ".join(f"{a:>9.5f}/{b:>9.5f}" for a, b in pairs))


if __name__ == "__main__":
    main()
