"""The elastica of a cantilever under a dead load at its end, against its elliptic integrals.

Bisshopp & Drucker, Quart. Appl. Math. 3 (1945) 272; figures to five digits: Mattiasson, Int. J. Numer. Meth. Engng 17
(1981) 145, table 1.  With p^2 = (1 + sin t)/2 for the end's angle t and sin b = 1/(p sqrt 2):

    sqrt(P L^2/E I) = a = K(p) - F(p, b),    w/L = 1 - 2 (E(p) - E(p, b))/a,    (L - u)/L = sqrt(2 sin t)/a
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import ellipe, ellipeinc, ellipk, ellipkinc

from tests.fem_problems import cantilever, slender_stiffness, solved

# P L^2/EI: deflection w/L, shortening u/L, angle of the end in rad.  1, 2, 5 and 10: Mattiasson's table 1;
# the others by the integrals, independently of this program.
TABLE = {
    0.2: (0.06636, 0.00265, 0.09964),
    0.5: (0.16214, 0.01592, 0.24453),
    0.75: (0.23562, 0.03397, 0.35753),
    1.0: (0.30172, 0.05643, 0.46135),
    1.5: (0.41098, 0.10794, 0.63954),
    2.0: (0.49346, 0.16064, 0.78175),
    3.0: (0.60325, 0.25442, 0.98602),
    4.0: (0.66996, 0.32894, 1.12124),
    5.0: (0.71379, 0.38763, 1.21537),
    6.0: (0.74457, 0.43459, 1.28370),
    7.0: (0.76737, 0.47293, 1.33496),
    8.0: (0.78498, 0.50483, 1.37443),
    9.0: (0.79906, 0.53182, 1.40547),
    10.0: (0.81061, 0.55500, 1.43029),
    15.0: (0.84772, 0.63529, 1.50184),
    20.0: (0.86870, 0.68389, 1.53293),
}


def elastica(load: float) -> tuple[float, float, float]:
    """w/L, u/L and the end's angle (rad) of an inextensible wire without shear."""
    root = math.sqrt(load)

    def modulus(angle: float) -> tuple[float, float]:
        squared = 0.5 * (1.0 + math.sin(angle))
        return squared, math.asin(1.0 / math.sqrt(2.0 * squared))

    def off(angle: float) -> float:
        squared, begin = modulus(angle)
        return float(ellipk(squared) - ellipkinc(begin, squared)) - root

    angle = float(brentq(off, 1e-9, 0.5 * math.pi - 1e-12, xtol=1e-15, rtol=1e-15))
    squared, begin = modulus(angle)
    across = 1.0 - 2.0 / root * float(ellipe(squared) - ellipeinc(begin, squared))
    return across, 1.0 - math.sqrt(2.0 * math.sin(angle)) / root, angle


def bent(
    load: float, elements: int, slenderness: float, increments: int = 1
) -> tuple[float, float, float, int]:
    """w/L, u/L, the end's angle and the iterations of the last increment."""
    model = cantilever(slender_stiffness(slenderness), elements, [0.0, load, 0.0, 0.0, 0.0, 0.0])
    problem, outcome = solved(model, increments)
    assert outcome.wrong_pivots == 0
    x, axes = problem.state.positions[-1], problem.state.axes[-1]
    return float(x[1]), float(1.0 - x[0]), math.atan2(axes[1, 0], axes[0, 0]), outcome.iterations


@pytest.mark.parametrize(("load", "published"), TABLE.items())
def test_integrals_give_the_published_table(load: float, published: tuple[float, float, float]) -> None:
    assert elastica(load) == pytest.approx(published, abs=6e-6)


@pytest.mark.parametrize(("load", "published"), TABLE.items())
def test_the_whole_table(load: float, published: tuple[float, float, float]) -> None:
    """A fine mesh to 1e-4 of the length and of a radian; eight elements to 0.2 %."""
    assert bent(load, 40, slenderness=2000.0)[:3] == pytest.approx(published, abs=1e-4)
    assert bent(load, 8, slenderness=2000.0)[:3] == pytest.approx(published, rel=2e-3)


@pytest.mark.parametrize("load", [1.0, 5.0, 10.0])
def test_ten_elements_from_straight_in_one_increment(load: float) -> None:
    across, shortening, angle, iterations = bent(load, 10, slenderness=2000.0)
    exact = elastica(load)
    assert (across, shortening) == pytest.approx(exact[:2], abs=1e-4)
    # A dead load in the plane of bending has a symmetric tangent: Newton's method keeps its speed.
    assert iterations <= 10
    assert angle == pytest.approx(exact[2], abs=1e-3)


@pytest.mark.parametrize("slenderness", [20.0, 300.0, 4000.0])
def test_one_increment_from_straight_to_ten_whatever_the_slenderness(slenderness: float) -> None:
    one = bent(10.0, 20, slenderness)
    many = bent(10.0, 20, slenderness, increments=8)
    assert one[:3] == pytest.approx(many[:3], abs=1e-7)
    assert one[3] <= 10


@pytest.mark.parametrize("load", [5.0, 10.0])
def test_displacement_converges_with_the_fourth_order(load: float) -> None:
    """Halving the elements must divide the error by 16.

    Stretch and shear are no error of the elements: they go with the slenderness to the power of minus two, and two
    slendernesses together give the limit without them.
    """
    exact = np.array(elastica(load)[:2])
    errors = []
    for elements in (5, 10, 20, 40):
        less, more = (np.array(bent(load, elements, slenderness)[:2]) for slenderness in (1000.0, 2000.0))
        errors.append(np.abs((4.0 * more - less) / 3.0 - exact).max())
    orders = np.log2(np.array(errors[:-1]) / np.array(errors[1:]))
    np.testing.assert_allclose(orders, 4.0, atol=0.3)
    assert errors[1] < 1e-5
