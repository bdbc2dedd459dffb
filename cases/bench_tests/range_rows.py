"""Published ranges of solid wires beside what is computed: forces, moduli, springback, stiffness, each with its why.

Springback is spoken of in three ways, since its source tells none in numbers: the angle of a large even bend that comes
back, the angle until `flexure.APPRECIABLE` is left, and the deflection that comes back of 3.1 mm on three points (of
which one half is a cantilever of 5 mm).  Each is the superelastic wire's over that of the other wire.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from cases.bench_tests import published_ranges as published
from cases.bench_tests.alloy_ends import constants, yielding
from cases.bench_tests.compared import Compared, of_three
from cases.bench_tests.flexure import APPRECIABLE, LARGE, LENGTH, SMALL, Flexed
from cases.bench_tests.published_ranges import MARTENSITIC, STEEL, SUPERELASTIC
from cases.bench_tests.range_bends import FIRST, INCH, SIZE, SIZES, RangeBends, Spread, SpreadFlexed
from cases.bench_tests.three_point import Bent, Setup
from cases.words import GF, listed, three
from geometry.section import Round

WIRE = f"{SIZE:g} in round"
PLATEAU = (1.0, 2.0)
"""mm of deflection on the way back: between the ends of the plateau."""
BROAD = 1.0
"""mm of deflection at which an apparent modulus is read a second time."""
SPAN = Setup().span
GPA = 1e-3
COLD_DRAWN = 155e3
"""MPa, cold-drawn orthodontic steel (Goldberg, Vanderby & Burstone 1977)."""
READ_BACK = (
    "the library's modulus was chosen inside the range, so this only says that the bending test reads it back"
)


def degrees(angle: float) -> str:
    """An angle in rad as people read it."""
    return f"{math.degrees(angle):.3g} deg"


def unloading_rows(bends: RangeBends) -> tuple[Compared, ...]:
    """The plateau on the way back, for the usual sizes."""
    sizes = {
        size: [_unloading(spread.usual, at) for at in PLATEAU] for size, spread in bends.superelastic.items()
    }
    within = [
        f"{size:g} in" for size, forces in sizes.items()
        if all(published.UNLOADING.low <= force <= published.UNLOADING.high for force in forces)
    ]  # fmt: skip
    tried = listed([f"{size:g}" for size in SIZES])
    why = (
        "the source's wire size was not seen; force grows with about the cube of the diameter: of the sizes "
        f"{tried} in, the range holds for {listed(within) if within else 'none'}"
    )
    out = []
    for size, spread in bends.superelastic.items():
        for at in PLATEAU:
            values = [_unloading(bent, at) for bent in (spread.usual, spread.least, spread.most)]
            wire, how = f"{size:g} in round", f"at {at:g} mm"
            out.append(of_three("unloading force", published.UNLOADING, wire, how, values, why))
    return tuple(out)


def _unloading(bent: Bent, at: float) -> float:
    """Force in gf on the way back."""
    return float(np.interp(at, *bent.way(1, False))) / GF


def _of_spread(spread: Spread, read: Callable[[Bent], float]) -> tuple[float, float, float]:
    return read(spread.usual), read(spread.least), read(spread.most)


def apparent_modulus(bent: Bent, at: float) -> float:
    """F S^3/(48 I d) in GPa, going out: small deflections of a span S, whatever the deflection."""
    force = float(np.interp(at, *bent.way(1, True)))
    return force * SPAN**3 / (48.0 * Round(SIZE * INCH).second_moment_z * at) * GPA


def modulus_rows(bends: RangeBends) -> tuple[Compared, ...]:
    """Apparent moduli of solid wires."""
    rows = []
    for one in published.MODULI:
        if one.alloy not in bends.small:
            continue
        known = next(iter(constants(one.alloy).values()))
        value = apparent_modulus(bends.small[one.alloy], FIRST)
        ends = tuple(value * end / known.value for end in (known.low, known.high))
        rows.append(
            of_three("modulus", one, WIRE, f"at {FIRST:g} mm, three points", (value, *ends), READ_BACK)
        )
        if one.alloy == SUPERELASTIC:
            values = _of_spread(bends.superelastic[SIZE], lambda bent: apparent_modulus(bent, BROAD))
            why = (
                f"falls as the wire transforms: what is read depends on the deflection, and at {BROAD:g} mm even an "
                "elastic wire reads 10 % low by the small-deflection formula"
            )
            rows.append(of_three("modulus", one, WIRE, f"at {BROAD:g} mm, three points", values, why))
    return tuple(rows)


def springback_rows(bends: RangeBends) -> tuple[Compared, ...]:
    """The superelastic wire's springback over that of steel and of martensitic nickel-titanium."""
    out: list[Compared] = []
    for one, name in ((published.SPRINGBACK_STEEL, STEEL), (published.SPRINGBACK_MARTENSITIC, MARTENSITIC)):
        other, bent = bends.yielding[name], bends.springs[name]
        own = bends.transforming.usual
        back = _ratios(own.recovered, other, lambda flexed: flexed.recovered)
        limit = _ratios(own.limit, other, lambda flexed: flexed.limit)
        points = _of_spread(
            bent, lambda wire: _comes_back(bends.superelastic[SIZE].usual) / _comes_back(wire)
        )
        of_large = f"of {degrees(LARGE)} over {LENGTH:g} mm"
        why = _springback_why(name, other)
        out += [
            of_three("springback", one, WIRE, f"angle that comes back {of_large}", back, why),
            of_three("springback", one, WIRE, f"angle until {degrees(APPRECIABLE)} are left", limit, why),
            of_three("springback", one, WIRE, "what comes back of 3.1 mm, three points", points, why),
        ]
    return tuple(out)


def _ratios(own: float, other: SpreadFlexed, read: Callable[[Flexed], float]) -> tuple[float, float, float]:
    return own / read(other.usual), own / read(other.least), own / read(other.most)


def _comes_back(bent: Bent) -> float:
    return float(bent.deflection.max()) - bent.left()


def _springback_why(name: str, other: SpreadFlexed) -> str:
    law = yielding(name)
    comes = f"of {degrees(LARGE)} it gets back {degrees(other.usual.recovered)}"
    ends = f"{degrees(other.least.recovered)} and {degrees(other.most.recovered)} at the ends of its ranges"
    more = (
        "a martensitic wire hardens; that of the library, perfectly plastic, is the least springy there is of its "
        "yield stress, so the ratio is too large"
        if name == MARTENSITIC
        else "the superelastic wire of this model takes no set at all; a real one takes some, which lowers the ratio"
    )
    return f"{name} yields here at {law.yield_stress:g} MPa: {comes}, {ends}; {more}"


def stiffness_rows(bends: RangeBends) -> tuple[Compared, ...]:
    """Moments of the superelastic wire over those of steel and of martensitic nickel-titanium, and material numbers."""
    upper, lower = 0.75 * LARGE, 0.25 * LARGE
    small = _of_steel(bends, lambda wire: wire.going_out(SMALL) / SMALL)
    whole = _of_steel(bends, lambda wire: wire.going_out(LARGE) / LARGE)
    plateau = _of_steel(
        bends, lambda wire: (wire.coming_back(upper) - wire.coming_back(lower)) / (upper - lower)
    )
    modulus = yielding(STEEL).youngs_modulus
    austenite = small[0] * 0.01 * modulus
    figure = 0.01 * float(published.STIFFNESS_SMALL.figure)
    why_small = (
        f"nothing transforms yet: it is the ratio of moduli, {austenite * GPA:.3g} over {modulus * GPA:.3g} GPa; "
        f"{published.STIFFNESS_SMALL.said} asks for {figure * modulus * GPA:.3g} GPa over the same steel (apparent "
        "moduli: 30 to 60 GPa)"
    )
    why_large = (
        f"which stiffness is meant was not seen: the whole way back gives {whole[0]:.2g} %, the plateau alone "
        f"{plateau[0]:.2g} %"
    )
    far, near = degrees(LARGE), degrees(SMALL)
    return (
        of_three("stiffness", published.STIFFNESS_SMALL, WIRE, f"moment per angle to {near} over {LENGTH:g} mm", small,
                 why_small),
        of_three("stiffness", published.STIFFNESS_LARGE, WIRE, f"moment per angle of the whole way back from {far}",
                 whole, why_large),
        of_three("stiffness", published.STIFFNESS_LARGE, WIRE,
                 f"slope of the lower plateau, from {degrees(upper)} to {degrees(lower)}", plateau, why_large),
        *_forces_of_martensite(bends),
        *_material_numbers(bends),
    )  # fmt: skip


def _of_steel(bends: RangeBends, read: Callable[[Flexed], float]) -> tuple[float, float, float]:
    """A stiffness of the superelastic wire in per cent of steel's E I/L: also of the weakest over the stiffest steel
    and of the strongest over the softest."""
    modulus = constants(STEEL)["youngs_modulus"]
    own = bends.transforming
    per_modulus = 100.0 * LENGTH / Round(SIZE * INCH).second_moment_z
    return (
        read(own.usual) * per_modulus / modulus.value,
        read(own.least) * per_modulus / modulus.high,
        read(own.most) * per_modulus / modulus.low,
    )


def _forces_of_martensite(bends: RangeBends) -> tuple[Compared, ...]:
    """Going out, and on the lower plateau."""
    own, other = bends.transforming, bends.yielding[MARTENSITIC]
    pairs = ((own.usual, other.usual), (own.least, other.most), (own.most, other.least))

    def shares(read: Callable[[Flexed], float]) -> tuple[float, float, float]:
        one, two, last = (100.0 * read(wire) / martensite.going_out(LARGE) for wire, martensite in pairs)
        return one, two, last

    springy = other.most
    out, back = shares(lambda wire: wire.going_out(LARGE)), shares(lambda wire: wire.coming_back(0.5 * LARGE))
    why = (
        f"going out it is at least {min(out):.3g} %, on the lower plateau {min(back):.3g} to {max(back):.3g} %: least "
        f"where the martensitic wire hardens; at {degrees(LARGE)} that of the library carries "
        f"{three(other.usual.going_out(LARGE))} N mm, at the springy end of its ranges "
        f"{three(springy.going_out(LARGE))}, which is also what a springback of "
        f"{own.usual.recovered / springy.recovered:.2f} belongs to"
    )
    far = degrees(LARGE)
    return (
        of_three("stiffness", published.FORCE_MARTENSITIC, WIRE, f"moments at {far}, going out",
                 out, why),
        of_three("stiffness", published.FORCE_MARTENSITIC, WIRE, f"moment half-way back over the martensitic at {far}",
                 back, why),
    )  # fmt: skip


def _material_numbers(bends: RangeBends) -> tuple[Compared, ...]:
    steel = constants(STEEL)["youngs_modulus"]
    of_steel = apparent_modulus(bends.small[STEEL], FIRST)
    rows = []
    for one in published.MATERIAL_NUMBERS:
        if one.alloy not in bends.small:
            continue
        known = constants(one.alloy)["youngs_modulus"]
        ratio = apparent_modulus(bends.small[one.alloy], FIRST) / of_steel
        values = (ratio, known.low / steel.high, known.high / steel.low)
        why = (
            f"the library's steel has {steel.value * GPA:.3g} GPa; over cold-drawn steel of {COLD_DRAWN * GPA:.3g} GPa "
            f"it is {ratio * steel.value / COLD_DRAWN:.3f}"
        )
        rows.append(of_three("stiffness", one, WIRE, f"at {FIRST:g} mm, three points", values, why))
    return tuple(rows)
