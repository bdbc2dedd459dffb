"""The Princeton beam: a flat strip loaded at its end under an angle, bent both ways and twisted by that.

Experiment: Dowell & Traybar, Princeton University (1975).  Parameters and beam finite elements: Obrezkov, Matikainen &
Mikkola, Nonlinear Dynamics 109 (2022).  The exact-rod columns were computed independently of this program, as a
boundary-value problem with Saint-Venant's torsion constant and k = 5/6, without gravity.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.wire_shapes import PassiveShape, Straight
from tests.fem_problems import cantilever, solved

# mm, N, MPa: 7075 aluminium
LENGTH, HEIGHT, THICKNESS = 508.0, 12.3777, 3.2024
YOUNG, POISSON = 71.7e3, 0.31
TORSION_CONSTANT = 113.41  # mm^4: b t^3/3 (1 - 0.63 t/b), Timoshenko & Goodier art. 109

# force N, load angle deg: stiff and soft displacement of the exact rod in mm, twist of the end in deg
EXACT = {
    (8.896, 0.0): (10.714, 0.0, 0.0),
    (8.896, 15.0): (10.624, 42.123, 0.906),
    (8.896, 30.0): (10.146, 79.452, 1.511),
    (8.896, 45.0): (8.887, 109.036, 1.665),
    (8.896, 60.0): (6.653, 129.917, 1.381),
    (8.896, 75.0): (3.568, 142.208, 0.774),
    (8.896, 90.0): (0.0, 146.253, 0.0),
    (4.448, 15.0): (5.209, 20.800, 0.223),
    (4.448, 30.0): (4.750, 39.947, 0.382),
    (4.448, 45.0): (3.964, 56.052, 0.436),
    (4.448, 60.0): (2.862, 68.125, 0.373),
}
# load angle deg at 8.896 N: beam finite elements of Obrezkov et al., mm
PUBLISHED = {
    0.0: (10.714, 0.0),
    15.0: (10.613, 42.082),
    30.0: (10.112, 79.395),
    45.0: (8.837, 108.988),
    60.0: (6.605, 129.888),
    75.0: (3.539, 142.194),
    90.0: (0.0, 146.246),
}


def loaded(force: float, degrees: float) -> tuple[float, float, float]:
    """Displacement along the stiff and the soft direction (mm) and twist of the end (deg).

    Twist: angle of the section's stiff axis, seen along the unloaded beam.
    """
    shear_modulus = YOUNG / (2.0 * (1.0 + POISSON))
    area = HEIGHT * THICKNESS
    shear = 5.0 / 6.0 * shear_modulus * area
    soft, stiff = HEIGHT * THICKNESS**3 / 12.0, THICKNESS * HEIGHT**3 / 12.0
    stiffness = [YOUNG * area, shear, shear, shear_modulus * TORSION_CONSTANT, YOUNG * soft, YOUNG * stiff]
    angle = math.radians(degrees)
    tip = [0.0, force * math.cos(angle), force * math.sin(angle), 0.0, 0.0, 0.0]
    problem, _ = solved(cantilever(stiffness, 16, tip, PassiveShape((Straight(LENGTH),))), increments=2)
    x, d2 = problem.state.positions[-1], problem.state.axes[-1, :, 1]
    return float(x[1]), float(x[2]), abs(math.degrees(math.atan2(d2[2], d2[1])))


def test_torsion_constant_is_that_of_the_strip() -> None:
    slender = HEIGHT * THICKNESS**3 / 3.0 * (1.0 - 0.630 * THICKNESS / HEIGHT)
    assert TORSION_CONSTANT == pytest.approx(slender, rel=1e-3)


@pytest.mark.parametrize(("force", "degrees"), EXACT)
def test_exact_rod(force: float, degrees: float) -> None:
    stiff, soft, twist = loaded(force, degrees)
    expected = EXACT[force, degrees]
    np.testing.assert_allclose([stiff, soft], expected[:2], rtol=2e-3, atol=1e-9)
    assert twist == pytest.approx(expected[2], rel=2e-3, abs=1e-3)


@pytest.mark.parametrize("degrees", PUBLISHED)
def test_published_beam_elements(degrees: float) -> None:
    stiff, soft, _ = loaded(8.896, degrees)
    np.testing.assert_allclose([stiff, soft], PUBLISHED[degrees], rtol=0.015, atol=1e-9)
