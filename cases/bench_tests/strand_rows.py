"""Published ranges of multistrand steel beside what is computed.

A wire of n strands that slide freely and lie straight answers n times what one strand does, whether it yields or not:
each bends alike, about its own axis.  A lay of 15 deg takes 4 % of that while it is elastic; friction between strands
adds to it.
"""

from __future__ import annotations

import math

import numpy as np

from cases.bench_tests import published_ranges as published
from cases.bench_tests.alloy_ends import by_yield, constants, yielding
from cases.bench_tests.compared import Compared, of_three
from cases.bench_tests.published_ranges import MULTISTRAND, STEEL
from cases.bench_tests.range_bends import INCH, LAY, MAKE_UPS, MakeUp, RangeBends, Spread
from cases.words import GF, three
from fem.fibre_material import elastic_of
from fem.strands import Strands
from geometry.section import Round

KUSY_SIZES = (0.008, 0.010)
"""in: strands of a wire of three, and the round wire that is as stiff."""
MOST_LAY = math.radians(30.0)


def multistrand_rows(bends: RangeBends) -> tuple[Compared, ...]:
    """Moduli, stiffness against steel and a round wire, forces on the way back and permanent deflection."""
    return (
        *(_modulus(one) for one in MAKE_UPS),
        *(_stiffness(one) for one in MAKE_UPS),
        _three_strands(),
        *(row for at in published.STRAND_FORCES for row in _forces(bends, at)),
        *(_set(one, bends.strands[one.name]) for one in MAKE_UPS),
    )


def _grown(one: MakeUp) -> float:
    """Modulus in GPa of the same outline if the strands had grown together."""
    bonded = one.strands.bonded(elastic_of(yielding(STEEL))).stiffness[5]
    return float(bonded / one.strands.outline.second_moment_z) * 1e-3


def _modulus(one: MakeUp) -> Compared:
    steel = constants(STEEL)["youngs_modulus"]
    value = one.strands.apparent_modulus(elastic_of(yielding(STEEL))) * 1e-3
    ends = (value * steel.low / steel.value, value * steel.high / steel.value)
    why = f"strands that slide freely, the softest there is; grown together they would have {three(_grown(one))} GPa"
    (known,) = (known for known in published.MODULI if known.alloy == MULTISTRAND)
    return of_three("modulus", known, one.name, f"lay angle {math.degrees(LAY):.0f} deg", (value, *ends), why)


def _stiffness(one: MakeUp) -> Compared:
    material = elastic_of(yielding(STEEL))
    value = one.strands.apparent_modulus(material) / material.youngs_modulus
    (known,) = (known for known in published.MATERIAL_NUMBERS if known.alloy == MULTISTRAND)
    return of_three(
        "stiffness", known, one.name, f"lay angle {math.degrees(LAY):.0f} deg", (value, value, value),
        "strands that slide freely, of the same steel as the wire of one piece; real ones hold on to each other, and "
        f"grown together they would have {three(_grown(one) * 1e3 / material.youngs_modulus)}",
    )  # fmt: skip


def _three_strands() -> Compared:
    material = elastic_of(yielding(STEEL))
    strand, thin = (size * INCH for size in KUSY_SIZES)
    of_round = material.youngs_modulus * Round(thin).second_moment_z
    usual, straight, steep = (
        float(Strands(3, strand, lay).law(material).stiffness[5]) / of_round for lay in (LAY, 0.0, MOST_LAY)
    )
    how = f"lay angle {math.degrees(LAY):.0f} deg (0 to {math.degrees(MOST_LAY):.0f})"
    why = f"the lay angle is not told: from {three(straight)} of straight strands to {three(steep)} of steep ones"
    return of_three(
        "multistrand", published.THREE_STRANDS, "3 x 0.008 in", how, (usual, straight, steep), why
    )


def _forces(bends: RangeBends, at: float) -> tuple[Compared, ...]:
    """Of every make-up at one deflection, on the way back."""
    weak, strong = by_yield(STEEL)
    out = []
    for one in MAKE_UPS:
        spread = bends.strands[one.name]
        values = tuple(
            one.count * float(np.interp(at, *bent.way(1, False))) / GF
            for bent in (spread.usual, spread.least, spread.most)
        )
        why = (
            f"strands of {weak.yield_stress:g} to {strong.yield_stress:g} MPa leave {three(spread.least.left())} to "
            f"{three(spread.most.left())} mm, below which no force is left; the published forces at 0.5 mm, so small "
            "beside those at 1 mm, tell of such sets"
        )
        known = published.STRAND_FORCES[at]
        out.append(of_three("multistrand", known, one.name, f"at {at:g} mm", values, why))
    return tuple(out)


def _set(one: MakeUp, spread: Spread) -> Compared:
    values = (spread.usual.left(), spread.least.left(), spread.most.left())
    return of_three(
        "multistrand", published.STRAND_SET, one.name, "from 3.1 mm", values,
        f"the library's steel yields at {yielding(STEEL).yield_stress:g} MPa; {_needed(values)}",
    )  # fmt: skip


def _needed(values: tuple[float, float, float]) -> str:
    """Yield stress at which the set is that of the published limit: a parabola through the three computed."""
    stresses = [yielding(STEEL).yield_stress, *(one.yield_stress for one in by_yield(STEEL))]
    most = published.STRAND_SET.high
    if not min(values) <= most <= max(values):
        return "no yield stress of its range leaves just the published limit"
    through = np.polynomial.Polynomial.fit(np.array(values), np.array(stresses), deg=2)
    needed = round(float(through(most)), -1)
    return f"a set of {most:g} mm asks for strands of about {needed:.0f} MPa, as fine hard-drawn wire has (from memory)"
