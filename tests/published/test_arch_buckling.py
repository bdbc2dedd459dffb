"""A circular arch bent by end moments leaves its plane.

Source: an open finite-element code's validation manual, V3.01.404 (SSLL404). Radius 0.3 m, 90 deg, section 15 x 2 mm,
E = 70 GPa, Poisson's ratio 0.3, J = h b^3/3; the ends cannot twist and are free to move within the plane. Moments
that open the arch are positive:

    M = -(EI + GJ)/(2R) +- sqrt(((EI - GJ)/(2R))^2 + 4 n^2 EI GJ/R^2),   I = h b^3/12

That opening and closing moments differ shows any wrong sign in the stability of curved beams. The formula takes the
arch as undeformed until it leaves its plane: so does a section a thousand times stiffer in the plane. For the section
as it is, the bent arch is a circle again, of curvature k = 1/R - M/EI', and the same equations give, with w = n
pi/length,

    (M + k EI) (M + k GJ) = w^2 EI GJ

The ends move freely in the plane and turn there as much as uniform bending turns them. A moment about the plane's
normal has a potential there: of the other turns one is barred, the twist.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.equilibrium import problem_of
from fem.model import Model, PointTie, SlotWalls, Support
from fem.section_law import LinearSection
from geometry.pose import Pose
from geometry.wire_shapes import Bend, PassiveShape
from tests.fem_problems import ANY_SECTION, critical, wrong_pivots

# mm, N, MPa
RADIUS, HIGH, THICK = 300.0, 15.0, 2.0
YOUNG, SHEAR = 70.0e3, 70.0e3 / 2.6
ACROSS, WITHIN = YOUNG * HIGH * THICK**3 / 12.0, YOUNG * THICK * HIGH**3 / 12.0
TORSION = SHEAR * HIGH * THICK**3 / 3.0
ARCH = PassiveShape((Bend(0.5 * math.pi, "second", RADIUS),))
ELEMENTS = 64

# N m: the manual's five moments; half waves; how many shapes have become unstable on the way from no moment
PUBLISHED = [(2.86074, 1, 1), (8.63207, 2, 2), (-8.78382, 1, 1), (14.4147, 3, 3), (-14.5551, 2, 2)]


def formula(waves: int, sign: float) -> float:
    """The manual's, N mm."""
    root = math.sqrt(
        ((ACROSS - TORSION) / (2.0 * RADIUS)) ** 2 + 4.0 * waves**2 * ACROSS * TORSION / RADIUS**2
    )
    return -(ACROSS + TORSION) / (2.0 * RADIUS) + sign * root


def bent_before(waves: int, sign: float) -> float:
    """The same of the bent arch, N mm."""
    c, w = 1.0 / WITHIN, waves * math.pi / ARCH.length
    roots = np.roots(
        [
            (1.0 - c * ACROSS) * (1.0 - c * TORSION),
            (ACROSS * (1.0 - c * TORSION) + TORSION * (1.0 - c * ACROSS)) / RADIUS,
            ACROSS * TORSION * (1.0 / RADIUS**2 - w**2),
        ]
    )
    return float(max(roots) if sign > 0.0 else min(roots))


def wrong(moment: float, stiff: float) -> int:
    """Pivots of the arch under an opening ``moment`` (N mm), ``stiff`` times stiffer in its plane."""
    area = HIGH * THICK
    shear = 5.0 / 6.0 * SHEAR * area
    stiffness = [YOUNG * area, shear, shear, TORSION, ACROSS, stiff * WITHIN]
    chord = Pose.from_angles([0.0, 0.0, 0.0], about_z=0.25 * math.pi).axes
    supports = []
    for side, arc in ((-1.0, 0.0), (1.0, ARCH.length)):
        positions, axes = ARCH.frames(arc)
        # one end is pinned, the other slides along the chord; neither twists
        tie = Pose(positions[0], chord)
        supports.append(Support(PointTie(stop=side < 0.0), arc, tie, tie))
        turned = -0.5 * side * moment * ARCH.length / (stiff * WITHIN)
        along = Pose.from_angles(positions[0], about_z=turned)
        roll = SlotWalls(1e4, 1e4, np.array([0.0]), hold_roll=True)
        supports.append(
            Support(roll, arc, Pose(positions[0], axes[0]), Pose(along.position, along.axes @ axes[0]))
        )
    loads = np.zeros((ELEMENTS + 1, 6))
    loads[0, 5], loads[-1, 5] = moment, -moment
    model = Model(
        ARCH,
        Pose.identity(),
        np.linspace(0.0, ARCH.length, ELEMENTS + 1),
        ANY_SECTION,
        LinearSection(np.array(stiffness)),
        tuple(supports),
        loads,
    )
    problem = problem_of(model)
    pivots = wrong_pivots(problem)
    np.testing.assert_allclose(problem.state.positions[:, 2], 0.0, atol=1e-9)
    return pivots


@pytest.mark.parametrize(("published", "waves", "count"), PUBLISHED)
def test_published_moments(published: float, waves: int, count: int) -> None:
    sign = math.copysign(1.0, published)
    expected = formula(waves, sign)
    assert expected / 1000.0 == pytest.approx(published, rel=2e-5)
    share = critical(lambda share: wrong(share * expected, 1000.0), 0.9, 1.1, count)
    assert share == pytest.approx(1.0, abs=2e-3)


@pytest.mark.parametrize(("published", "waves", "count"), PUBLISHED)
def test_the_arch_bends_before_it_leaves_its_plane(published: float, waves: int, count: int) -> None:
    expected = bent_before(waves, math.copysign(1.0, published))
    assert 1.02 < expected / (1000.0 * published) < 1.03
    share = critical(lambda share: wrong(share * expected, 1.0), 0.9, 1.1, count)
    assert share == pytest.approx(1.0, abs=2e-3)
