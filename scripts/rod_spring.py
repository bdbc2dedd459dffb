"""The stiffness of a helical spring against the handbook:  .venv/bin/python -m scripts.rod_spring

A coil of steel wire, d = 2 mm on D = 40 mm, n = 8 turns, built in at one end; at the other a force along the coil's
axis.  Handbook formula (Wahl, Mechanical Springs, 1944; Roark's Formulas for Stress and Strain; from memory),
the twist of a coil without pitch alone, and Castigliano's theorem with the pitch angle a, r = D/2, wire of length L:

    k = G d^4/(8 D^3 n)        1/k = L (r^2 cos^2 a/GJ + r^2 sin^2 a/EI + cos^2 a/kGA + sin^2 a/EA)

Elements of 3 deg: on a curved rod their residual bending flexibility adds up to (turn of an element)^2/12 = 2e-4.
"""

from __future__ import annotations

import math

import numpy as np

from fem.material import LinearElastic
from fem.model import Clamp
from fem.path import Options, engage
from fem.rods import Held, Load, node_at, rod
from fem.section_law import LinearSection
from fem.torsion import torsion_constant
from geometry.drawn_shapes import helix
from geometry.section import Round
from geometry.wire_shapes import PassiveShape

STEEL = LinearElastic("steel", 2.0e5, 0.3)  # MPa
SECTION = Round(2.0)  # mm
ELEMENTS = 120  # a turn
DIAMETER, TURNS = 40.0, 8  # of the coil's centreline, mm


def computed(pitch: float, a_turn: int = ELEMENTS, force: float = 0.01) -> float:
    """N/mm of the spring under a small axial ``force`` (N)."""
    shape = PassiveShape((helix(TURNS, DIAMETER, pitch),))
    # whole turns lead from a point straight along the axis to the next
    start, turn, end = shape.frames([0.0, shape.length / TURNS, shape.length])[0]
    axis = (turn - start) / np.linalg.norm(turn - start)
    # the axis lies a radius beside the wire's start, where a bend of the second order turns to
    arm = np.array([0.0, 0.5 * DIAMETER, 0.0])
    pull = force * axis
    load = Load(shape.length, force=pull, moment=np.cross(arm, pull))
    model = rod(shape, SECTION, STEEL, [Held(Clamp(), 0.0)], [load], TURNS * a_turn)
    snapshot = engage(model, Options(increments=1)).last.snapshot
    went = snapshot.positions[node_at(snapshot.arcs, shape.length)] - end
    # where the line of the force meets the end's own plate, a radius beside the wire, turned with it
    rotation = snapshot.axes[-1] @ shape.frames(shape.length)[1][0].T
    return force / float((went + rotation @ arm - arm) @ axis)


def handbook() -> float:
    """G d^4/(8 D^3 n), N/mm."""
    return STEEL.shear_modulus * SECTION.diameter**4 / (8.0 * DIAMETER**3 * TURNS)


def with_pitch(pitch: float) -> float:
    """N/mm with the pitch angle, the wire's bending, shear and stretch."""
    ea, shear, _, gj, ei, _ = LinearSection.of(SECTION, STEEL, torsion_constant(SECTION)).stiffness
    radius = 0.5 * DIAMETER
    rise = math.atan2(pitch, math.pi * DIAMETER)
    length = TURNS * math.hypot(pitch, math.pi * DIAMETER)
    c, s = math.cos(rise) ** 2, math.sin(rise) ** 2
    return 1.0 / float(length * (radius**2 * (c / gj + s / ei) + c / shear + s / ea))


def main() -> None:
    """Print all three for several pitches."""
    print(f"Helical spring, d = {SECTION.diameter:g} mm, D = {DIAMETER:g} mm, {TURNS} turns: stiffness, N/mm")
    print(f"handbook G d^4/(8 D^3 n): {handbook():.5f}")
    print(f"{'pitch, mm':>9} {'computed':>9} {'with pitch':>11} {'computed/handbook':>18}")
    for pitch in (3.0, 10.0, 20.0, 40.0):
        found = computed(pitch)
        print(f"{pitch:>9g} {found:>9.5f} {with_pitch(pitch):>11.5f} {found / handbook():>18.4f}")


if __name__ == "__main__":
    main()
