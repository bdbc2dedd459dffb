"""The 0.35 mm step over 7 mm: between built-in ends as published, and between slots that the wire fills."""

from __future__ import annotations

import math
from functools import cache

import pytest

from cases.casefile import LIBRARY, load_case
from cases.results import AttachmentResult, RunResult
from cases.run import run_case
from cases.schema import Case
from tests.case_texts import INCH, POISSON, YOUNGS_MODULUS, attachment, case_of, round_wire, straight

GF = 9.80665e-3
"""Newtons in one gram-force: standard gravity, exact."""
STEP, SPAN, WIDTH = 0.35, 7.0, 3.0
DIAMETER = 0.016 * INCH
SECOND_MOMENT = math.pi * DIAMETER**4 / 64.0
# 30e6 psi as it is written in the shipped cases.
CLASSICAL_MODULUS = 206.8e3
# sqrt(EI/(kGA)) in mm, with k of a round section after Cowper, J. Appl. Mech. 33 (1966) 335.
COWPER = 6.0 * (1.0 + POISSON) / (7.0 + 6.0 * POISSON)
LAYER = 0.25 * DIAMETER * math.sqrt(2.0 * (1.0 + POISSON) / COWPER)


@cache
def shipped(name: str) -> RunResult:
    """A case as it comes with the program, run."""
    return run_case(load_case(LIBRARY / f"{name}.toml"))


def small_step_between_clamps(step: float) -> Case:
    """The clamped case with a step of one's own."""
    return case_of(
        round_wire(DIAMETER),
        [straight(SPAN)],
        "first",
        attachment("first", "clamp", "start", 0.0, stop=True),
        attachment("second", "clamp", "end", SPAN, step),
    )


def small_step_between_slots(step: float) -> Case:
    """The full-size case with a step of one's own."""
    slot = (DIAMETER, DIAMETER, WIDTH)
    return case_of(
        round_wire(DIAMETER),
        [straight(SPAN + 2.0 * WIDTH + 1.0)],
        "first",
        attachment("first", "bracket", 0.5 + 0.5 * WIDTH, 0.0, slot=slot, stop=True, hold_roll=True),
        attachment("second", "bracket", 0.5 + 1.5 * WIDTH + SPAN, SPAN + WIDTH, step, slot=slot),
    )


def inner_mouth_moment(item: AttachmentResult, place: str) -> float:
    """Second-order moment (N mm) of the span on the wire inside, at one mouth."""
    (moment,) = (mouth.moment_nmm[2] for mouth in item.mouths if mouth.place == place)
    return moment


def test_published_force_and_moments_between_built_in_ends() -> None:
    """Burstone & Koenig, Am J Orthod Dentofacial Orthop 93 (1988) 59: 347 gf, 1210 gf mm at both ends, same sense.

    The wire is inferred: 0.016 in round steel of 30e6 psi, for which 12 EI d/L^3 and 6 EI d/L^2 are 345.8
    gf and 1210.4 gf mm.  The 1 % has room for that, and for shear, which takes 12 EI/(kGA L^2) = 0.7 %.
    """
    result = shipped("step-bend-clamped")
    first, second = result.attachment("first clamp"), result.attachment("second clamp")
    assert first.force_n[1] / GF == pytest.approx(347.0, rel=0.01)
    assert second.force_n[1] / GF == pytest.approx(-347.0, rel=0.01)
    for item, place in ((first, "end"), (second, "start")):
        assert item.moment_nmm[2] / GF == pytest.approx(1210.0, rel=0.01)
        assert inner_mouth_moment(item, place) / GF == pytest.approx(1210.0, rel=0.01)


def test_step_between_built_in_ends_sheared() -> None:
    """Timoshenko's beam with built-in ends: F = 12 EI d/L^3/(1 + 12 (l/L)^2), l = sqrt(EI/(kGA)).

    What is left over is finite slope, of the order of (d/L)^2 = 0.25 %; at a tenth of the step it must be a
    hundredth.
    """

    def off(result: RunResult, modulus: float, step: float) -> float:
        expected = 12.0 * modulus * SECOND_MOMENT * step / SPAN**3 / (1.0 + 12.0 * (LAYER / SPAN) ** 2)
        return result.attachments[0].force_n[1] / expected - 1.0

    whole = off(shipped("step-bend-clamped"), CLASSICAL_MODULUS, STEP)
    tenth = off(run_case(small_step_between_clamps(0.1 * STEP)), YOUNGS_MODULUS, 0.1 * STEP)
    assert abs(whole) < 4e-3
    assert tenth == pytest.approx(0.01 * whole, rel=0.05)


def full_size_force(modulus: float, step: float) -> float:
    """F = 12 EI d/L^3/(1 + 6 l/L + 12 (l/L)^2), N.  Derived here.

    Inside a tight rigid channel the centreline stays on the axis, v = 0, but the section may still turn by shear.
    M = EI theta', V = kGA (v' - theta) = -kGA theta and the balance M' = -V give EI theta'' = kGA theta: theta
    decays as exp(-x/l) behind the mouth, l = sqrt(EI/(kGA)), so the mouth is a hinge with a spring, M = EI theta/l.

    In the span M runs evenly from FL/2 to -FL/2 and v' = theta + F/(kGA).  Bending contributes FL^3/(12EI) to v, the
    hinges theta L = FL^2 l/(2EI), and shear FL/(kGA) = FL l^2/(EI).  Their sum is d.

    (The slots are long, W/l = 17: nothing of the layer is left at the far mouth.)
    """
    ratio = LAYER / SPAN
    return 12.0 * modulus * SECOND_MOMENT * step / SPAN**3 / (1.0 + 6.0 * ratio + 12.0 * ratio**2)


def test_step_between_slots_that_the_wire_fills() -> None:
    """The formula above within 1 %, and moments FL/2 at the mouths, F (L + W)/2 about the slot centres.

    Finite slope, about (d/L)^2 times a few, is what the 1 % is for.
    """
    result = shipped("step-bend-full-size-slots")
    first, second = result.attachment("first slot"), result.attachment("second slot")
    force = full_size_force(CLASSICAL_MODULUS, STEP)
    assert first.force_n[1] == pytest.approx(force, rel=0.01)
    assert second.force_n[1] == pytest.approx(-force, rel=0.01)
    for item, place in ((first, "end"), (second, "start")):
        assert inner_mouth_moment(item, place) == pytest.approx(0.5 * force * SPAN, rel=0.01)
        assert item.moment_nmm[2] == pytest.approx(0.5 * force * (SPAN + WIDTH), rel=0.01)
        assert item.orders["second"].carries_couple


def test_small_step_between_slots_that_the_wire_fills() -> None:
    """At a tenth of the step finite slope is gone; the stations, 0.01 mm apart at a mouth, leave less than 0.1 %."""
    result = run_case(small_step_between_slots(0.1 * STEP))
    assert result.attachments[0].force_n[1] == pytest.approx(
        full_size_force(YOUNGS_MODULUS, 0.1 * STEP), rel=1e-3
    )


def test_slots_that_the_wire_fills_are_no_clamps() -> None:
    """The step loses 13 to 15 % of its force over 7 mm: the formulas with l/L = 0.025 say 13.0 %."""
    clamped = shipped("step-bend-clamped").attachment("first clamp").force_n[1]
    in_slots = shipped("step-bend-full-size-slots").attachment("first slot").force_n[1]
    assert 0.13 < 1.0 - in_slots / clamped < 0.15
