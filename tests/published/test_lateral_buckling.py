"""A narrow cantilever that tips over sideways under a force at its end.

Timoshenko & Gere, Theory of Elastic Stability, ch. 6: P = 4.013 sqrt(EI GJ)/L^2 with the small EI; the factor is
twice the first root of J_-1/4(x/2) = 0 (the figure from memory, the root computed). The theory takes the strip as
straight until it tips. That it bends first raises the load by about 1/sqrt((1 - I2/I1) (1 - GJ/EI1)), the factor of a
strip under end moments; how much it is exactly is found by shooting with the exact rod.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import jv

from fem.equilibrium import problem_of
from geometry.wire_shapes import PassiveShape, Straight
from tests.exact_rod import Rod, sideways_determinant
from tests.fem_problems import cantilever, critical, wrong_pivots

# mm, MPa: a strip of 5 x 0.25, 60 long
HIGH, THICK, LENGTH = 5.0, 0.25, 60.0
YOUNG, SHEAR = 2.0e5, 2.0e5 / 2.6
SOFT, STIFF = YOUNG * HIGH * THICK**3 / 12.0, YOUNG * THICK * HIGH**3 / 12.0
# Timoshenko & Goodier, art. 109
TORSION = SHEAR * HIGH * THICK**3 / 3.0 * (1.0 - 0.63 * THICK / HIGH)
SCALE = math.sqrt(SOFT * TORSION) / LENGTH**2


def root(number: int) -> float:
    """The roots of J_-1/4(x/2) = 0 lie one in each stretch of 2 pi."""
    begin = 2.0 * math.pi * (number - 1)
    return float(brentq(lambda x: jv(-0.25, 0.5 * x), begin + 2.0, begin + 6.0, xtol=1e-12))


def stiffness(stiff: float) -> NDArray[np.float64]:
    """Six, the height made ``stiff`` times stiffer."""
    area = HIGH * THICK
    shear = 5.0 / 6.0 * SHEAR * area
    return np.array([YOUNG * area, shear, shear, TORSION, SOFT, stiff * STIFF])


def tipping(number: int, stiff: float) -> float:
    """Load at which the strip tips over in its ``number``-th shape, when its height is made ``stiff`` times stiffer."""
    strip = PassiveShape((Straight(LENGTH),))

    def wrong(load: float) -> int:
        problem = problem_of(cantilever(stiffness(stiff), 32, [0.0, load, 0.0, 0.0, 0.0, 0.0], strip))
        pivots = wrong_pivots(problem)
        np.testing.assert_allclose(problem.state.positions[:, 2], 0.0, atol=1e-9)
        return pivots

    expected = root(number) * SCALE
    return critical(wrong, 0.8 * expected, 1.2 * expected, number)


def test_factor() -> None:
    assert root(1) == pytest.approx(4.013, abs=5e-4)
    assert root(1) * SCALE == pytest.approx(1.7715, abs=1e-4)


@pytest.mark.parametrize("number", [1, 2])
def test_a_strip_that_hardly_bends_before(number: int) -> None:
    assert tipping(number, 100.0) == pytest.approx(root(number) * SCALE, rel=0.01)


def test_the_strip_as_it_is() -> None:
    straight = root(1) * SCALE
    bent_before = straight / math.sqrt((1.0 - SOFT / STIFF) * (1.0 - TORSION / STIFF))
    assert bent_before == pytest.approx(1.7771, abs=1e-4)
    rod = Rod(stiffness(1.0), LENGTH, np.zeros(3))
    exact = float(
        brentq(
            lambda load: sideways_determinant(rod, [0.0, load, 0.0, 0.0, 0.0, 0.0]),
            0.9 * straight,
            1.1 * straight,
            rtol=1e-7,
        )
    )
    assert exact == pytest.approx(bent_before, rel=1e-3)
    found = tipping(1, 1.0)
    assert found == pytest.approx(straight, rel=0.01)
    assert found == pytest.approx(exact, rel=1e-3)
