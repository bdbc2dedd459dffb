"""Formulas against published tables and values computed independently of this program, and the command that lists them.

[M] beside a source: its numbers are from memory.  "Independently": by series, quadrature, elliptic integrals or root
finding outside this program.
"""

from __future__ import annotations

import inspect
import math
import re
import shlex

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import jv

import cases.formulas as formulas
from cases.cli import main
from cases.formulas import (
    FORMULAS,
    cantilever_couple_nmm,
    cantilever_deflection_mm,
    cantilever_force_n,
    cantilever_force_through_play_n,
    cantilever_rate_n_per_mm,
    capstan_pull_n,
    couple_arm_mm,
    critical_contact_angle_rad,
    critical_contact_angle_simplified_rad,
    cross_section_number,
    elastica_cantilever,
    euler_load_n,
    force_per_offset_factor,
    greenhill_torque_nmm,
    helix_wrench,
    lateral_buckling_force_n,
    middle_bracket_between_points_force_n,
    middle_bracket_force_n,
    moment_at_centre_of_resistance_nmm,
    moment_per_angle_factor,
    moment_per_offset_factor,
    rectangle_moment_beyond_yield,
    rectangle_plastic_moment_nmm,
    rectangle_plastic_torque_nmm,
    rectangle_second_moment_mm4,
    rectangle_shear_coefficient,
    rectangle_torsion_constant_mm4,
    rectangle_torsion_constant_short_mm4,
    rectangle_torsion_stress_mpa,
    rectangular_loop_ratio_mm,
    resistance_to_sliding_n,
    rolled_up,
    rotation_distance_mm,
    round_moment_beyond_yield,
    round_plastic_moment_nmm,
    round_plastic_torque_nmm,
    round_second_moment_mm4,
    round_shear_coefficient,
    round_torsion_constant_mm4,
    shear_modulus_mpa,
    step_bend,
    step_in_full_size_slots_force_n,
    stop_reaction_n,
    three_point_force_n,
    torque_between_neighbours_nmm,
    torque_between_slots_nmm,
    torque_on_rig_nmm,
    torque_play_in_closed_slot_rad,
    torque_play_left_rad,
    torque_play_rad,
    torque_push_n,
    torque_through_soft_walls_nmm,
    translation_ratio_mm,
    twist_rad,
    two_bracket_ratios,
    two_brackets,
    v_bend,
    v_bend_angle_rad,
    v_bend_ratio,
    vertical_loop_ratio_mm,
    wire_stiffness_number,
)
from cases.formulas.examples import EXAMPLES
from tests.handbook_torsion import HANDBOOK, LAST_DIGIT

INCH, GF, PSI = 25.4, 9.80665e-3, 6.894757e-3
FUNCTIONS = {
    name: thing for name, thing in vars(formulas).items() if inspect.isfunction(thing) and name[0] != "_"
}


def test_every_public_function_is_listed_with_all_that_is_to_be_said() -> None:
    assert {one.function for one in FORMULAS.values()} == set(FUNCTIONS.values())
    assert len(FORMULAS) > 50
    for one in FORMULAS.values():
        assert one.question.endswith("?") and len(one.source) > 5 and len(one.valid) > 5, one.name
        assert " = " in one.equation, one.name
        assert one.inputs and one.outputs
        assert all(item.meaning for item in (*one.inputs, *one.outputs))


@pytest.mark.parametrize("name", FORMULAS)
def test_every_formula_computes_the_example_of_its_description(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["formula", name]) == 0
    described = capsys.readouterr().out
    (line,) = (line for line in described.splitlines() if line.startswith(f"  wireslot formula {name} "))
    inputs = re.findall(r'(\w+)="([^"]+)"', line)
    assert main(["formula", name, *(f"{key}={value}" for key, value in inputs)]) == 0
    out = capsys.readouterr().out
    for words in ("Equation: ", "Source: ", "Valid: "):
        assert words in out
    assert "Warning" not in out
    assert "nan" not in out


def test_every_example_is_used() -> None:
    assert set(EXAMPLES) == {item.key for one in FORMULAS.values() for item in one.inputs}


# --- sections: check against Timoshenko & Goodier, Roark, sectionproperties, shape factors -------------------------


@pytest.mark.parametrize(("ratio", "k1", "k2"), HANDBOOK)
def test_torsion_of_rectangles(ratio: float, k1: float, k2: float) -> None:
    a, b = 0.4, 0.4 * ratio
    assert rectangle_torsion_constant_mm4(b, a) / (b * a**3) == pytest.approx(k1, abs=LAST_DIGIT)
    stress = rectangle_torsion_stress_mpa(a, b, 1.0)
    assert 1.0 / (stress * b * a**2) == pytest.approx(k2, abs=LAST_DIGIT)
    short = rectangle_torsion_constant_short_mm4(a, b)
    assert short == pytest.approx(rectangle_torsion_constant_mm4(a, b), rel=5e-3)


@pytest.mark.parametrize(
    ("height", "depth", "edge", "flat", "on_edge"),
    [
        (0.016, 0.022, 0.0, 3.12562e-3, 5.90938e-3),
        (0.016, 0.022, 0.004, 2.83303e-3, 5.32086e-3),
        (0.019, 0.025, 0.002, 5.83015e-3, 1.008904e-2),
        (0.021, 0.025, 0.0, 8.03067e-3, 1.138133e-2),
    ],
)
def test_second_moments(height: float, depth: float, edge: float, flat: float, on_edge: float) -> None:
    """sectionproperties 3.10.2, an open-source program, with corners of straight pieces: 0.1 %."""
    h, d, r = height * INCH, depth * INCH, edge * INCH
    assert rectangle_second_moment_mm4(h, d, r) == pytest.approx(flat, rel=1e-3)
    assert rectangle_second_moment_mm4(d, h, r) == pytest.approx(on_edge, rel=1e-3)


def test_round_sections() -> None:
    """0.016 in: I 1.33901e-3, fully plastic modulus 1.11869e-2, independently; J = 2 I."""
    d = 0.016 * INCH
    assert round_second_moment_mm4(d) == pytest.approx(1.33901e-3, rel=5e-6)
    assert round_torsion_constant_mm4(d) == 2.0 * round_second_moment_mm4(d)
    assert round_plastic_moment_nmm(d, 1.0) == pytest.approx(1.11869e-2, rel=5e-6)


@pytest.mark.parametrize(
    ("size", "number"),
    [(0.010, 39.06), (0.014, 150.06), (0.016, 256.00), (0.018, 410.06), (0.020, 625.00), (0.036, 6561.00)],
)
def test_cross_section_numbers_of_round_wires(size: float, number: float) -> None:
    """Burstone, Am. J. Orthod. 80 (1981) 1 [M]."""
    assert cross_section_number(round_second_moment_mm4(size * INCH)) == pytest.approx(number, rel=5e-4)


@pytest.mark.parametrize(
    ("height", "depth", "first", "second"),
    [
        (0.016, 0.016, 434.60, 434.60),
        (0.010, 0.020, 530.52, 132.63),
        (0.016, 0.022, 1129.79, 597.57),
        (0.017, 0.025, 1761.48, 814.51),
        (0.019, 0.025, 1968.71, 1137.13),
        (0.0215, 0.028, 3129.84, 1845.37),
    ],
)
def test_cross_section_numbers_of_rectangular_wires(
    height: float, depth: float, first: float, second: float
) -> None:
    """Burstone, Am. J. Orthod. 80 (1981) 1 [M]; first order bends along the depth, second along the height."""
    h, d = height * INCH, depth * INCH
    assert cross_section_number(rectangle_second_moment_mm4(d, h)) == pytest.approx(first, rel=5e-4)
    assert cross_section_number(rectangle_second_moment_mm4(h, d)) == pytest.approx(second, rel=5e-4)


def test_stiffness_number_of_an_alloy() -> None:
    """Beta-titanium 0.42 of steel (Burstone 1981 [M]): a 0.016 in wire has 107.5."""
    assert wire_stiffness_number(256.0, 0.42 * 180e3, 180e3) == pytest.approx(107.5, abs=0.05)


def test_elastic_constants() -> None:
    """Cowper, J. Appl. Mech. 33 (1966) 335: 0.8497 and 0.8864 at 0.3; 5/6 and 6/7 at 0."""
    assert rectangle_shear_coefficient(0.3) == pytest.approx(0.8497, abs=5e-5)
    assert round_shear_coefficient(0.3) == pytest.approx(0.8864, abs=5e-5)
    assert (rectangle_shear_coefficient(0.0), round_shear_coefficient(0.0)) == pytest.approx((5 / 6, 6 / 7))
    assert shear_modulus_mpa(200e3, 0.3) == pytest.approx(76923.1, abs=0.1)


RECTANGLE_YIELD = {1.25: 1.18, 1.5: 1.27778, 2.0: 1.375, 3.0: 1.44444, 5.0: 1.48, 10.0: 1.495}
ROUND_YIELD = {1.25: 1.21156, 1.5: 1.34709, 2.0: 1.49366, 3.0: 1.60493, 5.0: 1.66390, 10.0: 1.68918}


@pytest.mark.parametrize("ratio", RECTANGLE_YIELD)
def test_moments_beyond_yield(ratio: float) -> None:
    """Elastic, perfectly plastic: independently, by quadrature; limits 1.5 and 16/(3 pi)."""
    assert rectangle_moment_beyond_yield(ratio) == pytest.approx(RECTANGLE_YIELD[ratio], abs=6e-6)
    assert round_moment_beyond_yield(ratio) == pytest.approx(ROUND_YIELD[ratio], abs=6e-6)
    # an integral of its own: stress min(k y, 1) over a circle of radius 1, whose moment at first yield is pi/4
    whole, _ = quad(
        lambda y: 4.0 * min(ratio * y, 1.0) * y * math.sqrt(1.0 - y * y), 0.0, 1.0, points=[1 / ratio]
    )
    assert round_moment_beyond_yield(ratio) == pytest.approx(whole / (math.pi / 4.0), rel=1e-9)


def test_moments_at_and_far_beyond_yield() -> None:
    for ratio in (0.3, 1.0):
        assert rectangle_moment_beyond_yield(ratio) == pytest.approx(ratio, abs=1e-15)
        assert round_moment_beyond_yield(ratio) == pytest.approx(ratio, abs=1e-15)
    assert 2.0 - rectangle_moment_beyond_yield(2.0) == pytest.approx(0.625)
    assert round_moment_beyond_yield(1e4) == pytest.approx(16.0 / (3.0 * math.pi), rel=1e-7)
    assert rectangle_moment_beyond_yield(1e4) == pytest.approx(1.5, rel=1e-7)


def test_plastic_limits_against_first_yield() -> None:
    """Shape factors 1.5 and 16/(3 pi); torque 4/3 (round) and 3/2 (narrow strip)."""
    assert rectangle_plastic_moment_nmm(0.4, 0.6, 1000.0) == pytest.approx(1.5 * 1000.0 * 0.6 * 0.4**2 / 6.0)
    assert round_plastic_moment_nmm(0.4, 1000.0) == pytest.approx(
        16.0 / (3.0 * math.pi) * 1000.0 * math.pi * 0.4**3 / 32.0
    )
    assert round_plastic_torque_nmm(0.4, 500.0) == pytest.approx(4.0 / 3.0 * 500.0 * math.pi * 0.4**3 / 16.0)
    strip = 500.0 / rectangle_torsion_stress_mpa(0.1, 20.0, 1.0)
    assert rectangle_plastic_torque_nmm(20.0, 0.1, 500.0) / strip == pytest.approx(1.5, rel=3e-3)


# --- bending: strength of materials, the elastica -------------------------------------------------------------------


@pytest.mark.parametrize("load", [0.05, 0.3])
def test_a_cantilever_is_the_elastica_at_small_loads(load: float) -> None:
    """At a tenth of the length the elastica needs 1 % more force, as the formula says of its range."""
    exact = elastica_cantilever(load).deflection_share
    linear = cantilever_force_n(1.0, 1.0, 1.0, exact)
    assert load / linear - 1.0 == pytest.approx(0.01 * (exact / 0.1) ** 2, rel=0.1)
    assert cantilever_deflection_mm(1.0, 1.0, 1.0, linear) == pytest.approx(exact)
    assert cantilever_rate_n_per_mm(1.0, 1.0, 1.0) * exact == pytest.approx(linear)


def test_couple_and_length() -> None:
    """Halving the span: eight times the force, four times the moment for an offset, twice that for an angle."""
    assert cantilever_couple_nmm(20.0, 0.15) == pytest.approx(3.0)
    factors = (force_per_offset_factor, moment_per_offset_factor, moment_per_angle_factor)
    assert [factor(0.5) for factor in factors] == [8.0, 4.0, 2.0]
    here, there = (cantilever_force_n(1.0, 1.0, length, 0.1) for length in (4.0, 2.0))
    assert there / here == pytest.approx(force_per_offset_factor(0.5))


def test_play_of_the_tube() -> None:
    """None within the play; without play and width the plain cantilever; both formulas of the couple's arm meet."""
    assert cantilever_force_through_play_n(2e5, 1e-4, 20.0, 0.3, 2.0, 0.05) == 0.0
    assert cantilever_force_through_play_n(2e5, 1e-4, 20.0, -0.5, 1e-9, 0.0) == pytest.approx(
        cantilever_force_n(2e5, 1e-4, 20.0, -0.5)
    )
    width, play = 4.0, 0.005
    couple = 6.0 * 2e5 * 1e-4 * play / width**2
    assert couple_arm_mm(2e5, 1e-4, play, couple) == pytest.approx(width)


def test_three_brackets_and_three_points() -> None:
    """Built-in ends: four times as stiff as points; 48 EI/L^3 is the same beam over twice the length."""
    built_in = middle_bracket_force_n(1.0, 1.0, 8.0, 0.3)
    assert built_in == pytest.approx(2.0 * 12.0 * 0.3 / 8.0**3)
    assert middle_bracket_between_points_force_n(1.0, 1.0, 8.0, 0.3) == pytest.approx(0.25 * built_in)
    assert three_point_force_n(1.0, 1.0, 16.0, 0.3) == pytest.approx(0.25 * built_in)


@pytest.mark.parametrize(("deflection", "force"), [(0.05, 0.002399), (0.1, 0.004795), (0.5, 0.023393)])
def test_range_of_the_three_point_formula(deflection: float, force: float) -> None:
    """ISO 15841's test, shot independently for an elastic wire on fixed edges, force over EI."""
    assert three_point_force_n(1.0, 1.0, 10.0, deflection) == pytest.approx(force, rel=0.027)


def test_a_stop() -> None:
    """Load at half the length: contact at 48 EI g/(5 L^3); beyond, 768/7 EI/L^3 at the load, independently."""
    touch = 48.0 * 0.02 / 5.0
    assert stop_reaction_n(1.0, 1.0, 1.0, 0.999 * touch, 0.5, 0.02) == 0.0
    load = 3.0 * touch
    reaction = stop_reaction_n(1.0, 1.0, 1.0, load, 0.5, 0.02)
    at_load = load / 24.0 - 5.0 * reaction / 48.0
    more = stop_reaction_n(1.0, 1.0, 1.0, load + 1.0, 0.5, 0.02) - reaction
    assert 1.0 / (1.0 / 24.0 - 5.0 * more / 48.0) == pytest.approx(768.0 / 7.0)
    assert at_load > touch / 24.0


# --- two brackets ---------------------------------------------------------------------------------------------------

# Burstone & Koenig, Am. J. Orthod. 65 (1974) 270: tA/tB, MA/MB, F L/MB, force in gf at 1860 gf mm over 7 mm [M]
GEOMETRIES = [
    (1.0, 1.0, 2.0, 531.4),
    (0.5, 0.8, 1.8, 477.4),
    (0.0, 0.5, 1.5, 398.0),
    (-0.5, 0.0, 1.0, 265.7),
    (-0.75, -0.4, 0.6, 160.0),
    (-1.0, -1.0, 0.0, 0.0),
]


@pytest.mark.parametrize(("ratio", "moments", "force", "published"), GEOMETRIES)
def test_six_geometries(ratio: float, moments: float, force: float, published: float) -> None:
    found = two_bracket_ratios(ratio)
    assert (found.moment_ratio, found.force_ratio) == pytest.approx((moments, force), abs=1e-12)
    assert abs(found.force_ratio) * 1860.0 / 7.0 == pytest.approx(published, rel=5e-3, abs=1e-9)
    both = two_brackets(2e5, 1e-3, 7.0, 0.01 * ratio, 0.01)
    assert both.moment_a_nmm / both.moment_b_nmm == pytest.approx(moments, abs=1e-12)
    assert both.force_a_n * 7.0 / both.moment_b_nmm == pytest.approx(force, abs=1e-12)
    # statics, about A
    assert both.moment_a_nmm + both.moment_b_nmm + 7.0 * both.force_b_n == pytest.approx(0.0, abs=1e-12)


def test_range_of_the_two_brackets() -> None:
    """At 10 deg the exact rod, solved independently, has 0.14989 (class I), 0.04959 and 0.09997 (class III)."""
    angle = math.radians(10.0)
    same = two_brackets(1.0, 1.0, 7.0, angle, angle)
    assert -same.moment_b_nmm == pytest.approx(0.14989, rel=0.01)
    third = two_brackets(1.0, 1.0, 7.0, 0.0, angle)
    assert (-third.moment_a_nmm, -third.moment_b_nmm) == pytest.approx((0.04959, 0.09997), rel=0.01)


@pytest.mark.parametrize(
    ("apex", "published"), [(0.7, 0.4), (1.4, 0.3), (2.3, 0.0), (2.8, -0.3), (3.5, -1.0)]
)
def test_v_bends(apex: float, published: float) -> None:
    """Burstone & Koenig, Am. J. Orthod. Dentofacial Orthop. 93 (1988) 59: one decimal."""
    assert v_bend_ratio(apex / 7.0) == pytest.approx(published, abs=0.05 + 1e-9)
    both = v_bend(2e5, 1e-3, 7.0, apex, 0.05)
    assert both.moment_b_nmm / both.moment_a_nmm == pytest.approx(v_bend_ratio(apex / 7.0))
    assert both.moment_a_nmm + both.moment_b_nmm + 7.0 * both.force_b_n == pytest.approx(0.0, abs=1e-12)


def test_v_bend_in_figures() -> None:
    """The same paper: apex 0.35 mm high at 0.14 of 7 mm, 4840 and 1720 gf mm; theory at 0.15 4905 and 1740: 8 %."""
    second = round_second_moment_mm4(0.016 * INCH)
    apex = 0.15 * 7.0
    both = v_bend(30e6 * PSI, second, 7.0, apex, v_bend_angle_rad(7.0, apex, 0.35))
    assert (both.moment_a_nmm / GF, both.moment_b_nmm / GF) == pytest.approx((4905.0, 1740.0), rel=2e-3)
    assert (both.moment_a_nmm / GF, both.moment_b_nmm / GF) == pytest.approx((4840.0, 1720.0), rel=0.08)


def test_no_moment_at_a_third() -> None:
    assert v_bend_ratio(1.0 / 3.0) == pytest.approx(0.0, abs=1e-15)
    assert v_bend(1.0, 1.0, 9.0, 3.0, 0.1).moment_b_nmm == pytest.approx(0.0, abs=1e-15)


def test_step_bend() -> None:
    """Burstone & Koenig 1988: 347 gf, 1210 gf mm for 0.35 mm over 7 mm; 345.8 and 1210.4 independently, and 1729 about
    the centres of brackets 3 mm wide."""
    second = round_second_moment_mm4(0.016 * INCH)
    step = step_bend(30e6 * PSI, second, 7.0, 0.35, 3.0)
    assert step.force_a_n / GF == pytest.approx(347.0, rel=0.01)
    assert step.force_a_n / GF == pytest.approx(345.8, abs=0.05)
    assert step.mouth_moment_nmm / GF == pytest.approx(1210.4, abs=0.05)
    assert step.centre_moment_nmm / GF == pytest.approx(1729.0, abs=0.5)
    shear = round_shear_coefficient(0.3) * 30e6 * PSI / 2.6 * math.pi * (0.016 * INCH) ** 2 / 4.0
    softer = step_in_full_size_slots_force_n(30e6 * PSI, second, 7.0, 0.35, shear)
    assert 0.13 < 1.0 - softer / step.force_a_n < 0.15
    stiff = step_in_full_size_slots_force_n(30e6 * PSI, second, 7.0, 0.35, 1e9)
    assert stiff == pytest.approx(step.force_a_n, rel=1e-3)


# --- play and torque ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("slot", "height", "depth", "edge", "play"),
    [
        # Papageorgiou et al., Prog. Orthod. 17 (2016) 5, table 6, after Dellinger 1978
        (0.022, 0.019, 0.019, 0.0, 9.96),
        (0.022, 0.019, 0.022, 0.0, 8.37),
        (0.022, 0.019, 0.025, 0.0, 7.24),
        (0.018, 0.018, 0.025, 0.0, 0.0),
        # roots of the same equation, found independently
        (0.018, 0.016, 0.022, 0.0, 5.40),
        (0.018, 0.016, 0.022, 0.002, 6.64),
        (0.022, 0.016, 0.022, 0.0025, 24.19),
        (0.022, 0.017, 0.025, 0.0, 12.48),
        (0.022, 0.0215, 0.028, 0.001, 1.11),
        (1.05 * 0.022, 0.019, 0.025, 0.0, 10.13),
    ],
)
def test_torque_play(slot: float, height: float, depth: float, edge: float, play: float) -> None:
    found = torque_play_rad(slot * INCH, height * INCH, depth * INCH, edge * INCH)
    assert math.degrees(found) == pytest.approx(play, abs=0.01)


def test_torque_play_that_is_without_limit_or_governed_by_the_depth() -> None:
    """Sharp 0.016 x 0.016 in in 0.018 in touches at 7.70 deg, with edges above 0.0056 in it rolls freely; 0.017 x
    0.025 in in a closed 0.022 x 0.028 in stops at 12.06 deg: all found independently."""
    sizes = (0.018 * INCH, 0.016 * INCH, 0.016 * INCH)
    assert math.degrees(torque_play_rad(*sizes)) == pytest.approx(7.70, abs=0.01)
    assert math.isinf(torque_play_rad(*sizes, 0.0057 * INCH))
    assert not math.isinf(torque_play_rad(*sizes, 0.0055 * INCH))
    closed = torque_play_in_closed_slot_rad(0.022 * INCH, 0.028 * INCH, 0.017 * INCH, 0.025 * INCH)
    assert math.degrees(closed) == pytest.approx(12.06, abs=0.01)


@pytest.mark.parametrize(("tilt", "left"), [(0.0, 7.24), (1.0, 1.69), (5.0, 0.0)])
def test_torque_play_left(tilt: float, left: float) -> None:
    """0.019 x 0.025 in in 0.022 in, 0.130 in wide; found independently."""
    found = torque_play_left_rad(0.022 * INCH, 0.130 * INCH, 0.019 * INCH, 0.025 * INCH, math.radians(tilt))
    assert math.degrees(found) == pytest.approx(left, abs=0.01)


@pytest.mark.parametrize(
    ("size", "slot", "width", "simplified", "exact"),
    [
        (0.016, 0.018, 0.1008, 1.1373, 1.1349),
        (0.016, 0.022, 0.1037, 3.3165, 3.2968),
        (0.018, 0.022, 0.1037, 2.2110, 2.2016),
        (0.019, 0.022, 0.150, 1.1464, 1.1443),
        (0.014, 0.022, 0.130, 3.5274, 3.5099),
    ],
)
def test_critical_contact_angles(
    size: float, slot: float, width: float, simplified: float, exact: float
) -> None:
    """Kusy & Whitley, Eur. J. Orthod. 21 (1999) 199; the exact ones found independently."""
    sizes = (size * INCH, slot * INCH, width * INCH)
    assert math.degrees(critical_contact_angle_rad(*sizes)) == pytest.approx(exact, abs=1e-4)
    assert math.degrees(critical_contact_angle_simplified_rad(*sizes)) == pytest.approx(simplified, abs=1e-4)


def test_torque() -> None:
    """Plays add, twice as stiff between neighbours, a rig in series; and the limits of soft walls and stiff ones."""
    stiffness, span = 70e3 * 0.01, 5.0
    assert torque_between_slots_nmm(70e3, 0.01, span, 0.3, 0.1, 0.05) == pytest.approx(
        stiffness / span * 0.15
    )
    assert torque_between_slots_nmm(70e3, 0.01, span, -0.3, 0.1, 0.05) == pytest.approx(
        -stiffness / span * 0.15
    )
    assert torque_between_slots_nmm(70e3, 0.01, span, 0.14, 0.1, 0.05) == 0.0
    alone = torque_between_slots_nmm(70e3, 0.01, span, 0.3, 0.1, 0.0)
    assert torque_between_neighbours_nmm(70e3, 0.01, span, 0.3, 0.1) == pytest.approx(2.0 * alone)
    assert torque_on_rig_nmm(70e3, 0.01, span, 0.3, 0.1, stiffness / span) == pytest.approx(0.5 * alone)
    assert torque_on_rig_nmm(70e3, 0.01, span, 0.3, 0.1, 1e12) == pytest.approx(alone)
    assert torque_through_soft_walls_nmm(70e3, 0.01, span, 0.3, 0.1, 3.0, 1e12, 0.3) == pytest.approx(
        alone, rel=1e-4
    )
    # soft walls twist as one with the slot: their stiffness k W alone, in series with the span
    k = 2.0 * 0.01 * 0.3**2
    soft = torque_through_soft_walls_nmm(70e3, 0.01, span, 0.3, 0.1, 3.0, 0.01, 0.3)
    assert soft == pytest.approx(0.2 / (span / stiffness + 1.0 / (3.0 * k)), rel=1e-3)
    assert twist_rad(70e3, 0.01, span, alone) == pytest.approx(0.2)
    # the energy T^2 L/(2 G J) falls by the push for every mm
    energies = [twist**2 * stiffness / (2.0 * length) for twist, length in ((0.2, 5.0), (0.2, 5.0 + 1e-6))]
    assert torque_push_n(alone, 70e3, 0.01) == pytest.approx((energies[0] - energies[1]) / 1e-6, rel=1e-5)


# --- loops, teeth, sliding, stability, bent far ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("height", "level", "ratio"),
    [
        (6.0, 5.0, 2.526),
        (8.0, 5.0, 3.478),
        (10.0, 5.0, 4.444),
        (6.0, 0.0, 3.429),
        (8.0, 0.0, 4.444),
        (10.0, 0.0, 5.455),
    ],
)
def test_loops(height: float, level: float, ratio: float) -> None:
    """Elastic centre, independently; classical finding for plain vertical loops: 0.4 to 0.55 of the height [M]."""
    assert rectangular_loop_ratio_mm(height, 2.0, level) == pytest.approx(ratio, abs=6e-4)
    assert 0.4 < ratio / height < 0.6
    # sharp feet and a top of no width: both loops are two legs
    same = vertical_loop_ratio_mm(height, 1e-9, 1e-9, level)
    assert same == pytest.approx(rectangular_loop_ratio_mm(height, 1e-9, level), rel=1e-6)


def test_teeth() -> None:
    """Translation: M = F d, no moment about the centre of resistance, and the centre of rotation is nowhere."""
    ratio = translation_ratio_mm(9.0)
    assert moment_at_centre_of_resistance_nmm(1.5 * ratio, 1.5, 9.0) == 0.0
    assert math.isinf(rotation_distance_mm(ratio, 9.0, 1000.0, 20.0))
    # Nagerl et al. 1991: the product of both distances is one number
    products = [rotation_distance_mm(m, 9.0, 1000.0, 20.0) * (9.0 - m) for m in (0.0, 5.0, 12.0)]
    assert products == pytest.approx([50.0] * 3)
    # root movement: the centre of rotation comes to the slot's side
    assert rotation_distance_mm(12.0, 9.0, 1000.0, 20.0) < 0.0


def test_sliding() -> None:
    """Euler and Eytelwein: one turn at 0.2 multiplies by 3.51; binding adds to the ligature's friction."""
    assert capstan_pull_n(1.0, 0.2, 2.0 * math.pi) == pytest.approx(3.51, abs=5e-3)
    assert resistance_to_sliding_n(0.15, 1.5, 0.0, 3.0) == pytest.approx(0.225)
    assert resistance_to_sliding_n(0.15, 1.5, 10.0, 3.0) == pytest.approx(0.225 + 1.0)


@pytest.mark.parametrize(("span", "width"), [(8.7, 2.6), (5.0, 4.0)])
def test_binding(span: float, width: float) -> None:
    """A beam of three elements by its matrix, solved here: built in at both ends, moved at both mouths."""

    def element(length: float) -> np.ndarray:
        a, b, c, d = 12.0 / length**3, 6.0 / length**2, 4.0 / length, 2.0 / length
        return np.array([[a, b, -a, b], [b, c, -b, d], [-a, -b, a, -b], [b, d, -b, c]])

    matrix = np.zeros((8, 8))
    for k, length in enumerate((span, width, span)):
        matrix[2 * k : 2 * k + 4, 2 * k : 2 * k + 4] += element(length)
    rise = 0.5 * width * 0.02
    known = np.array([0.0, 0.0, -rise, 0.0, rise, 0.0, 0.0, 0.0])
    turns = [3, 5]
    known[turns] = np.linalg.solve(matrix[np.ix_(turns, turns)], -(matrix @ known)[turns])
    expected = float((matrix @ known)[4])
    found = formulas.binding_normal_force_n(1.0, 1.0, span, width, 0.05, 0.03)
    assert found == pytest.approx(expected, rel=1e-12)


def test_stability() -> None:
    """Roots found here: tan x = x, J_-1/4(x/2) = 0; strip of 5 x 0.25 x 60 mm: 1.7715 and 1.7771 N, independently."""
    assert euler_load_n(1.0, 1.0, 1.0) == pytest.approx(math.pi**2)
    assert euler_load_n(1.0, 1.0, 1.0, 0.5) == pytest.approx(4.0 * math.pi**2)
    root = brentq(lambda x: math.tan(x) - x, 4.4, 4.6, xtol=1e-13)
    assert greenhill_torque_nmm(1.0, 1.0, 1.0) == pytest.approx(2.0 * root, rel=1e-9)
    soft, stiff, torsion = (
        5.0 * 0.25**3 / 12.0,
        0.25 * 5.0**3 / 12.0,
        5.0 * 0.25**3 / 3.0 * (1.0 - 0.63 * 0.05),
    )
    found = lateral_buckling_force_n(2e5, soft, stiff, 2e5 / 2.6, torsion, 60.0)
    assert found == pytest.approx(1.7771, abs=1e-4)
    before = math.sqrt((1.0 - soft / stiff) * (1.0 - torsion / (2.6 * stiff)))
    assert found * before == pytest.approx(1.7715, abs=1e-4)
    factor = found * before * 60.0**2 / math.sqrt(2e5 * soft * 2e5 / 2.6 * torsion)
    assert factor == pytest.approx(brentq(lambda x: jv(-0.25, 0.5 * x), 2.0, 6.0, xtol=1e-12), rel=1e-8)


@pytest.mark.parametrize(
    ("load", "across", "back", "angle"),
    [
        (0.2, 0.06636, 0.00265, 0.09964),
        (1.0, 0.30172, 0.05643, 0.46135),
        (5.0, 0.71379, 0.38763, 1.21537),
        (10.0, 0.81061, 0.55500, 1.43029),
        (20.0, 0.86870, 0.68389, 1.53293),
    ],
)
def test_elastica(load: float, across: float, back: float, angle: float) -> None:
    """Bisshopp & Drucker 1945; Mattiasson, Int. J. Numer. Meth. Engng 17 (1981) 145, table 1, and independently."""
    found = elastica_cantilever(load)
    assert (found.deflection_share, found.shortening_share, found.end_angle_rad) == pytest.approx(
        (across, back, angle), abs=6e-6
    )


def test_rolled_up_and_helix() -> None:
    """A full circle ends where it began; a helix without pitch is a ring held by a couple; Love's wrench in balance."""
    circle = rolled_up(2.0 * math.pi)
    assert (circle.along_share, circle.across_share) == pytest.approx((0.0, 0.0), abs=1e-15)
    half = rolled_up(math.pi)
    assert (half.along_share, half.across_share) == pytest.approx((0.0, 2.0 / math.pi), abs=1e-15)
    ring = helix_wrench(2.0, 1.0, 4.0, 0.0, 0.0)
    assert (ring.axial_force_n, ring.axial_moment_nmm) == pytest.approx((0.0, 0.5))
    # on the rod the wrench is a bending moment EI cos^2(a)/r about the binormal and the torque along the tangent
    a, r, torque = 0.4, 3.0, 0.7
    wrench = helix_wrench(2.0, 1.0, r, a, torque)
    axis = wrench.axial_moment_nmm, r * wrench.axial_force_n
    assert axis[0] * math.sin(a) + axis[1] * math.cos(a) == pytest.approx(torque)
    assert axis[0] * math.cos(a) - axis[1] * math.sin(a) == pytest.approx(2.0 * math.cos(a) ** 2 / r)


# --- what is refused, and the command ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: cantilever_force_n(0.0, 1.0, 1.0, 1.0), "youngs_modulus_mpa"),
        (lambda: cantilever_force_n(1.0, 1.0, -1.0, 1.0), "length_mm"),
        (lambda: cantilever_force_n(1.0, 1.0, 1.0, deflection_mm=math.nan), "finite"),
        (lambda: torque_play_rad(0.4, 0.5, 0.6), "does not fit"),
        (lambda: torque_play_rad(0.6, 0.5, 0.6, -0.1), "edge_radius_mm"),
        (lambda: v_bend_ratio(0.6), "nearer bracket"),
        (lambda: two_bracket_ratios(2.0), "between -1 and 1"),
        (lambda: vertical_loop_ratio_mm(1.0, 2.0, 0.5, 0.0), "no room"),
    ],
)
def test_inputs_without_meaning(call: object, said: str) -> None:
    assert callable(call)
    with pytest.raises(ValueError, match=said):
        call()


def test_the_list(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["formula"]) == 0
    out = capsys.readouterr().out
    assert all(f"  {name} " in out for name in FORMULAS)


def test_the_examples_of_the_help_work(capsys: pytest.CaptureFixture[str]) -> None:
    """As copied, with the values that the help promises."""
    assert main(["formula", "--help"]) == 0
    text = capsys.readouterr().out.split("Examples:\n")[1].split("\n\n")[0]
    said = []
    for line in text.splitlines():
        if line.startswith("  wireslot"):
            assert main(shlex.split(line)[1:]) == 0
            said.append(capsys.readouterr().out)
    assert len(said) == 4
    assert "7.2422 deg" in said[2] and "7.24 deg" in text
    assert "(345.7" in said[3] and "(1210." in said[3] and "346 gf and 1210 gf mm" in text


def test_units_are_read_and_given(capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["slot_height=0.022 in", "wire-height=0.4826 mm", "wire_depth=0.025 in"]
    assert main(["formula", "torque_play", *arguments]) == 0
    assert "7.2422 deg (0.1264 rad)" in capsys.readouterr().out
    step = ["youngs_modulus=30e6 psi", "second_moment=0.001339 mm^4", "span=7 mm", "step=350 um"]
    assert main(["formula", "step-bend", *step]) == 0
    out = capsys.readouterr().out
    assert "(345.8" in out and "(1210." in out
    assert main(["formula", "v-bend-ratio", "apex_share=25 %"]) == 0
    assert ": 0.2\n" in capsys.readouterr().out


def test_outside_its_range_there_is_a_warning(capsys: pytest.CaptureFixture[str]) -> None:
    inputs = ["youngs_modulus=200 GPa", "second_moment=0.001 mm^4", "length=20 mm"]
    assert main(["formula", "cantilever-force", *inputs, "deflection=-4 mm"]) == 0
    assert "Warning: " in capsys.readouterr().out
    assert main(["formula", "cantilever-force", *inputs, "deflection=-2 mm"]) == 0
    assert "Warning: " not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["torq-play"], ['no formula "torq-play"', "did you mean torque-play?"]),
        (["cantilever-couple", "length=20", "forc=1 N"], ["3 problems", '"20 mm"', '"force"', "is missing"]),
        (["cantilever-couple", "length=20 N", "force=1 N"], ["which is a force"]),
        (["cantilever-couple", "length=-2 mm", "force=1 N"], ["greater than zero"]),
        (["cantilever-couple", "length"], ["expected key=value"]),
        (["cantilever-couple", "length=2 mm", "length=3 mm", "force=1 N"], ["given twice"]),
        (["capstan-pull", "pull=1 N", "friction=-1", "wrap=1 rad"], ["without unit, zero or more"]),
        (["capstan-pull", "pull=1 N", "friction=0.2 mm", "wrap=1 rad"], ["without unit"]),
        (["torque-play", "slot_height=0.4 mm", "wire_height=0.5 mm", "wire_depth=0.6 mm"], ["does not fit"]),
        (["capstan-pull", "pull=1 N", "friction=1e9", "wrap=1e9 rad"], ["change the inputs"]),
    ],
)
def test_errors(arguments: list[str], said: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["formula", *arguments]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    for words in said:
        assert words in captured.err
