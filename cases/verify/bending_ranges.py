"""Ranges that others measured of wires in bending: unloading forces and multistrand wires (validation).

An expected value is the middle of a range and its tolerance half of it.  These are the ranges that the library's values
meet; all of them, with what is not met and why, are those of ``wireslot bench-test ranges``.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, partial

import numpy as np

from cases.bench_tests import published_ranges as published
from cases.bench_tests.alloy_ends import transforming, yielding
from cases.bench_tests.published_ranges import MULTISTRAND, STEEL, SUPERELASTIC, PublishedRange
from cases.bench_tests.range_bends import INCH, MAKE_UPS, MOUTH, SIZE, setup_of
from cases.bench_tests.three_point import Bent, Setup, bend
from cases.verify.rows import Check
from cases.words import GF
from fem.fibre_material import elastic_of
from geometry.section import Round

CORED = MAKE_UPS[1]
UNLOADED_AT = (1.0, 2.0)
STRANDS_AT = (1.0, 2.0, 3.0)


def checks() -> tuple[Check, ...]:
    """All of them."""
    (moduli,) = (one for one in published.MODULI if one.alloy == MULTISTRAND)
    return (
        *(
            _check(f"superelastic {SIZE:g} in round on three points, force back at {at:g} mm: a range",
                   published.UNLOADING, partial(unloading_force, at))
            for at in UNLOADED_AT
        ),
        _check(f"multistrand steel, {CORED.name}, apparent modulus: a range", moduli, multistrand_modulus),
        *(
            _check(f"multistrand steel, {CORED.name}, three points, force back at {at:g} mm: a range",
                   published.STRAND_FORCES[at], partial(strand_force, at))
            for at in STRANDS_AT
        ),
    )  # fmt: skip


def _check(quantity: str, known: PublishedRange, compute: Callable[[], float]) -> Check:
    middle, half = 0.5 * (known.low + known.high), 0.5 * (known.high - known.low)
    return Check(quantity, "measurement", known.source, middle, half, known.unit, compute, relative=False)


@cache
def _superelastic() -> Bent:
    return bend(Setup(), Round(SIZE * INCH), transforming(SUPERELASTIC), MOUTH)


@cache
def _strand() -> Bent:
    strands = CORED.strands
    return bend(setup_of(strands), Round(strands.diameter), yielding(STEEL))


def unloading_force(at: float) -> float:
    """Of a superelastic wire on the way back at a deflection (mm), gf."""
    return float(np.interp(at, *_superelastic().way(1, False))) / GF


def multistrand_modulus() -> float:
    """Of strands that slide freely, GPa."""
    return CORED.strands.apparent_modulus(elastic_of(yielding(STEEL))) * 1e-3


def strand_force(at: float) -> float:
    """Of strands of yielding steel that slide freely, on the way back at a deflection (mm), gf."""
    return CORED.count * float(np.interp(at, *_strand().way(1, False))) / GF
