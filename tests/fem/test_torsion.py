"""Torsion by finite elements: against exact series, bounds and symmetries that hold for any section."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.torsion import (
    NEARLY_SHARP,
    Torsion,
    TorsionConstants,
    solve_torsion,
    torsion_constant,
    torsion_constants,
)
from geometry.section import Rectangle, Round

RECTANGLES = [Rectangle(0.4, 0.4), Rectangle(0.4, 0.6), Rectangle(0.635, 0.4318), Rectangle(0.4, 1.6)]
ROUNDED = Rectangle(0.4318, 0.635, 0.0508)


def exact_warping(height: float, depth: float, y: np.ndarray, z: np.ndarray) -> np.ndarray:
    """Harmonic w with dw/dy = z on y = +-c and dw/dz = -y on z = +-d (c, d half the sides), by separation of
    variables:

    w = -y z + (4/d) sum over odd n of +-sin(k z) sinh(k y)/(k^3 cosh(k c)), k = n pi/(2 d), signs alternating
    (the method of Timoshenko & Goodier art. 109, carried out for w).
    """
    c, d = 0.5 * height, 0.5 * depth
    w = -y * z
    for n in range(1, 200, 2):
        k = n * math.pi / (2.0 * d)
        term = np.sin(k * z) * np.sinh(k * y) / (k**3 * math.cosh(k * c))
        w = w + (4.0 / d) * (-1.0) ** ((n - 1) // 2) * term
    return w


@pytest.mark.parametrize("section", RECTANGLES)
def test_finite_elements_agree_with_the_series_for_a_sharp_rectangle(section: Rectangle) -> None:
    solved, series = solve_torsion(section), torsion_constants(section)
    assert solved.constant == pytest.approx(series.constant, rel=1e-4)
    assert solved.largest_shear_factor == pytest.approx(series.largest_shear_factor, rel=2e-3)


@pytest.mark.parametrize("section", RECTANGLES)
def test_refinement_lowers_the_constant_towards_the_series_at_the_fourth_order(section: Rectangle) -> None:
    """Second-order elements have energy errors of h^4, at right-angled corners h^4 |log h|, since w holds
    r^2 log r there: the slope on a log-log plot is then 4 - 1/|log h|, 3.5 at h = 1/8."""
    exact = torsion_constant(section)
    divisions = [4, 8, 16]
    errors = [solve_torsion(section, n).constant / exact - 1.0 for n in divisions]
    assert errors[0] > errors[1] > errors[2] > 0.0
    order = -np.polyfit(np.log(divisions), np.log(errors), 1)[0]
    assert 3.5 < order < 4.2


@pytest.mark.parametrize("section", [Rectangle(0.4, 0.4), Rectangle(0.4, 0.6), Rectangle(0.3, 0.9)])
def test_nodal_warping_is_the_exact_one(section: Rectangle) -> None:
    solved = solve_torsion(section)
    y, z = solved.mesh.points.T
    exact = exact_warping(section.height, section.depth, y, z)
    np.testing.assert_allclose(solved.warping, exact, atol=2e-3 * np.abs(exact).max())


@pytest.mark.parametrize("diameter", [0.3556, 0.4064])
def test_round_wire_is_in_closed_form_and_the_elements_find_it(diameter: float) -> None:
    exact = torsion_constants(Round(diameter))
    assert exact.constant == pytest.approx(math.pi * diameter**4 / 32.0, rel=1e-14)
    assert exact.largest_shear_factor == pytest.approx(16.0 / (math.pi * diameter**3), rel=1e-14)
    for section in (Round(diameter), Rectangle(diameter, diameter, 0.5 * diameter)):
        solved = solve_torsion(section)
        assert solved.constant == pytest.approx(exact.constant, rel=1e-4)
        assert solved.largest_shear_factor == pytest.approx(exact.largest_shear_factor, rel=1e-3)
        assert np.abs(solved.warping).max() < 1e-4 * diameter**2


def test_rounded_wire_is_solved_by_finite_elements() -> None:
    solved = solve_torsion(ROUNDED)
    assert torsion_constants(ROUNDED) == TorsionConstants(solved.constant, solved.largest_shear_factor)
    finer = solve_torsion(ROUNDED, 36)
    assert solved.constant == pytest.approx(finer.constant, rel=1e-4)
    assert solved.largest_shear_factor == pytest.approx(finer.largest_shear_factor, rel=2e-3)


def test_edges_that_count_as_sharp_change_nothing() -> None:
    """Just at the limit, where the difference is largest; divisions enough to see 1e-5."""
    limit = solve_torsion(Rectangle(0.4, 0.6, NEARLY_SHARP * 0.4), 30)
    sharp = torsion_constants(Rectangle(0.4, 0.6))
    assert limit.constant == pytest.approx(sharp.constant, rel=1e-5)
    assert limit.largest_shear_factor == pytest.approx(sharp.largest_shear_factor, rel=2e-4)
    assert torsion_constants(Rectangle(0.4, 0.6, 0.99 * NEARLY_SHARP * 0.4)) == sharp
    assert torsion_constants(Rectangle(0.4, 0.6, 1e-9)) == sharp


@pytest.mark.parametrize("radius", [0.0, 0.05, 0.1])
def test_turning_and_scaling_the_section(radius: float) -> None:
    one = torsion_constants(Rectangle(0.4, 0.6, radius))
    turned = torsion_constants(Rectangle(0.6, 0.4, radius))
    scaled = torsion_constants(Rectangle(4.0, 6.0, 10.0 * radius))
    assert turned.constant == pytest.approx(one.constant, rel=1e-4)
    assert turned.largest_shear_factor == pytest.approx(one.largest_shear_factor, rel=2e-3)
    assert scaled.constant == pytest.approx(1e4 * one.constant, rel=1e-4)
    assert scaled.largest_shear_factor == pytest.approx(1e-3 * one.largest_shear_factor, rel=2e-3)


def test_a_strip_is_thin_walled() -> None:
    """J = b a^3/3 (1 - 0.630 a/b), largest stress G theta' a: Timoshenko & Goodier art. 108 and 109."""
    strip = torsion_constants(Rectangle(0.01, 10.0))
    assert strip.constant == pytest.approx(10.0 * 0.01**3 / 3.0 * (1.0 - 0.630 * 0.001), rel=1e-6)
    assert strip.largest_shear_factor == pytest.approx(0.01 / strip.constant, rel=1e-12)


def test_a_solution_is_kept_and_cannot_be_changed() -> None:
    solved = solve_torsion(Rectangle(0.4318, 0.635, 0.0508))
    assert solve_torsion(ROUNDED) is solved
    assert isinstance(solved, Torsion) and solved.warping.shape == (len(solved.mesh.points),)
    with pytest.raises(ValueError, match="read-only"):
        solved.warping[0] = 1.0


def test_too_coarse_a_mesh_is_refused() -> None:
    with pytest.raises(ValueError, match="at least two"):
        solve_torsion(ROUNDED, 1)
