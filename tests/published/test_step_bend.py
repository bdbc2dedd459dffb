"""The 0.35 mm step over 7 mm: between built-in ends as published, and between slots that the wire fills."""

from __future__ import annotations

import math
from functools import cache

import pytest

from cases.casefile import LIBRARY, load_case
from cases.results import RunResult
from cases.run import run_case
from tests.case_texts import INCH, POISSON, YOUNGS_MODULUS, attachment, case_of, round_wire, straight

GF = 9.80665e-3
"""Newtons in one gram-force: standard gravity, exact."""
STEP, SPAN = 0.35, 7.0
DIAMETER = 0.016 * INCH
SECOND_MOMENT = math.pi * DIAMETER**4 / 64.0
# 30e6 psi as it is written in the shipped cases.
CLASSICAL_MODULUS = 206.8e3


def layer_length(diameter: float) -> float:
    """sqrt(EI/(kGA)) of a round wire, mm; k after Cowper, J. Appl. Mech. 33 (1966) 335."""
    k = 6.0 * (1.0 + POISSON) / (7.0 + 6.0 * POISSON)
    return math.sqrt((diameter / 4.0) ** 2 * 2.0 * (1.0 + POISSON) / k)


@cache
def shipped(name: str) -> RunResult:
    return run_case(load_case(LIBRARY / f"{name}.toml"))


def test_published_force_and_moments_between_built_in_ends() -> None:
    """Burstone & Koenig, Am J Orthod Dentofacial Orthop 93 (1988) 59: 347 gf, 1210 gf mm at both ends, same sense.

    The wire is inferred (0.016 in round steel of 30e6 psi, because 12 E I d/L^3 and 6 E I d/L^2 then give 345.8 gf and
    1210.4 gf mm).  1 % leaves room for that, and for shear, which takes 12 E I/(k G A L^2) = 0.7 %.
    """
    result = shipped("step-bend-clamped")
    first, second = result.attachment("first clamp"), result.attachment("second clamp")
    assert first.force_n[1] / GF == pytest.approx(347.0, rel=0.01)
    assert second.force_n[1] / GF == pytest.approx(-347.0, rel=0.01)
    for item in (first, second):
        assert item.moment_nmm[2] / GF == pytest.approx(1210.0, rel=0.01)
        (mouth,) = item.mouths
        assert mouth.moment_nmm[2] / GF == pytest.approx(1210.0, rel=0.01)


def test_the_built_in_step_with_shear_and_finite_slope() -> None:
    """Timoshenko's clamped beam, F = 12 E I d/(L^3 (1 + 12 l^2/L^2)), is met more closely.

    Left over is the finite slope of 1.5 d/L = 0.075 and the wire drawn in by 3/5 d^2/L = 0.0105 mm (0.15 % of
    the span).  Half of a per cent holds both; a tenth of the step must then agree a hundred times better.
    """
    whole, small = shipped("step-bend-clamped"), run_case(_clamped(0.1 * STEP))
    shear = 1.0 + 12.0 * (layer_length(DIAMETER) / SPAN) ** 2
    expected = 12.0 * CLASSICAL_MODULUS * SECOND_MOMENT * STEP / SPAN**3 / shear
    assert whole.attachment("first clamp").force_n[1] == pytest.approx(expected, rel=5e-3)
    expected *= 0.1 * YOUNGS_MODULUS / CLASSICAL_MODULUS
    assert small.attachment("first").force_n[1] == pytest.approx(expected, rel=5e-5)


def _clamped(step: float):  # type: ignore[no-untyped-def]
    return case_of(
        round_wire(DIAMETER),
        [straight(SPAN)],
        "first",
        attachment("first clamp", "clamp", "start", 0.0, stop=True).replace('"first clamp"', '"first"'),
        attachment("second", "clamp", "end", SPAN, step),
    )
