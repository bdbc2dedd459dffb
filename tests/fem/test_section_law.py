"""Stiffnesses of sections against handbook formulas, and the beam of one element that follows from them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.element_law_kernel import element_law
from fem.material import LinearElastic
from fem.section_law import LinearSection, shear_coefficients
from geometry.section import Rectangle, Round
from tests.fem_problems import cantilever, solved

STEEL = LinearElastic("steel", 2.0e5, 0.3, 1.6e3)


def test_shear_modulus() -> None:
    assert STEEL.shear_modulus == pytest.approx(2.0e5 / 2.6)


@pytest.mark.parametrize(
    ("section", "poisson", "coefficient"),
    [
        (Rectangle(0.4, 0.6), 0.0, 0.833),
        (Rectangle(0.4, 0.6), 0.3, 0.850),
        (Round(0.4), 0.0, 0.857),
        (Round(0.4), 0.3, 0.886),
    ],
)
def test_shear_coefficients(section: Rectangle | Round, poisson: float, coefficient: float) -> None:
    """The table of Cowper, J. Appl. Mech. 33 (1966) 335 (its figures from memory, three digits)."""
    assert shear_coefficients(section, poisson) == pytest.approx(coefficient, abs=6e-4)


def test_stiffnesses_of_a_rectangle() -> None:
    """E A, k G A, G J, and E b h^3/12 with h along z for the first order and along y for the second."""
    height, depth, torsion = 0.4, 0.6, 6.0e-3
    k, g = 13.0 / 15.3, 2.0e5 / 2.6
    law = LinearSection.of(Rectangle(height, depth), STEEL, torsion)
    area = height * depth
    expected = [2.0e5 * area, k * g * area, k * g * area, g * torsion]
    expected += [2.0e5 * height * depth**3 / 12.0, 2.0e5 * depth * height**3 / 12.0]
    np.testing.assert_allclose(law.stiffness, expected, rtol=1e-12)
    assert not law.stiffness.flags.writeable


def test_straight_elements_know_their_shear_plane() -> None:
    """1/(kGA) + l^2/(12 EI), MacNeal, Computers & Structures 8 (1978) 175: shear along y bends about z."""
    law = LinearSection(np.array([9.0, 5.0, 7.0, 2.0, 3.0, 4.0]))
    lengths = np.array([0.5, 2.0])
    screws, none, found = np.zeros((2, 6)), np.zeros((2, 6)), np.zeros((2, 6, 6))
    screws[:, 0] = lengths
    element_law(screws, screws, lengths, law.compliances(2), np.zeros(2, np.bool_), none, False, none, found)
    for block, length in zip(found, lengths, strict=True):
        along_y = 1.0 / (1.0 / 5.0 + length**2 / 48.0)
        along_z = 1.0 / (1.0 / 7.0 + length**2 / 36.0)
        np.testing.assert_allclose(
            block, np.diag([9.0, along_y, along_z, 2.0, 3.0, 4.0]), rtol=1e-14, atol=1e-15
        )


@pytest.mark.parametrize("elements", [1, 3])
@pytest.mark.parametrize("direction", [1, 2])
def test_small_deflection_is_exact_at_the_nodes(elements: int, direction: int) -> None:
    """P x^2 (3L - x)/(6EI) + P x/(kGA): Timoshenko, Strength of Materials, and his shear correction (1921).

    The load is so small that its square counts for less than 1e-6, and large against what a clamp leaves open.
    """
    stiffness = np.array([1e4, 50.0, 80.0, 1.0, 2.0, 3.0])
    load = 1e-3
    tip = np.zeros(6)
    tip[direction] = load
    problem, _ = solved(cantilever(stiffness, elements, tip))
    x = problem.model.nodes
    bending = stiffness[5] if direction == 1 else stiffness[4]
    expected = load * x**2 * (3.0 - x) / (6.0 * bending) + load * x / stiffness[direction]
    np.testing.assert_allclose(problem.state.positions[:, direction], expected, rtol=2e-6, atol=1e-10)


def test_axial_force_and_torque_are_exact() -> None:
    stiffness = np.array([50.0, 20.0, 20.0, 1.5, 2.0, 3.0])
    problem, _ = solved(cantilever(stiffness, 4, [2.0, 0.0, 0.0, 0.6, 0.0, 0.0]))
    assert problem.state.positions[-1, 0] == pytest.approx(1.0 + 2.0 / 50.0, abs=1e-12)
    angle = math.atan2(problem.state.axes[-1, 2, 1], problem.state.axes[-1, 1, 1])
    # A stretched and twisted rod keeps its torque about its axis whatever its tension.
    assert angle == pytest.approx(0.6 / 1.5, abs=1e-12)


@pytest.mark.parametrize("values", [[1.0] * 5, [1.0] * 5 + [0.0], [1.0] * 5 + [-1.0], [1.0] * 5 + [math.nan]])
def test_bad_stiffnesses_are_refused(values: list[float]) -> None:
    with pytest.raises(ValueError, match="six finite stiffnesses above zero"):
        LinearSection(np.array(values))


@pytest.mark.parametrize(
    ("modulus", "poisson", "yields", "what"),
    [
        (0.0, 0.3, None, "Young's modulus"),
        (-2.0e5, 0.3, None, "Young's modulus"),
        (math.nan, 0.3, None, "Young's modulus"),
        (math.inf, 0.3, None, "Young's modulus"),
        (2.0e5, 0.51, None, "Poisson's ratio"),
        (2.0e5, -1.0, None, "Poisson's ratio"),
        (2.0e5, math.nan, None, "Poisson's ratio"),
        (2.0e5, 0.3, 0.0, "yield stress"),
        (2.0e5, 0.3, math.nan, "yield stress"),
    ],
)
def test_bad_materials_are_refused_by_name(
    modulus: float, poisson: float, yields: float | None, what: str
) -> None:
    with pytest.raises(ValueError, match=f"alloy X: (the )?{what}"):
        LinearElastic("alloy X", modulus, poisson, yields)
