"""The 45-degree bend of Bathe & Bolourchi, Int. J. Numer. Meth. Engng 14 (1979) 961: bending with torsion.

A circular arc of radius 100 over 45 deg, unit square section, E = 1e7, Poisson's ratio 0, clamped; a dead force across
its plane at the end.  Two torsion constants are in use, the polar moment 1/6 and Saint-Venant's 0.1406; their results
differ by one per cent.  The exact columns were computed independently of this program, as a boundary-value problem
of the exact rod to 1e-9; whether k G A is 4.2e6 or 5e6 changes the fourth digit only.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from geometry.wire_shapes import Bend, PassiveShape
from tests.fem_problems import cantilever, solved

ARC = PassiveShape((Bend(math.pi / 4.0, "second", 100.0),))
POLAR, SAINT_VENANT = 1.0 / 6.0, 0.1406


def displacement(force: float, torsion: float, elements: int = 16) -> NDArray[np.float64]:
    """(ux, uy, uz) of the end."""
    shear = 5e6 * 5.0 / 6.0
    stiffness = np.array([1e7, shear, shear, 5e6 * torsion, 1e7 / 12.0, 1e7 / 12.0])
    model = cantilever(stiffness, elements, [0.0, 0.0, force, 0.0, 0.0, 0.0], ARC)
    passive, _ = model.passive_frames(model.nodes[-1:])
    np.testing.assert_allclose(passive[0], [70.7107, 29.2893, 0.0], atol=1e-4)
    problem, _ = solved(model, increments=3)
    return np.asarray(problem.state.positions[-1] - passive[0])


@pytest.mark.parametrize(
    ("force", "torsion", "exact"),
    [
        (300.0, POLAR, (-11.9316, -7.0445, 40.1919)),
        (450.0, POLAR, (-18.4721, -10.7811, 48.5029)),
        (600.0, POLAR, (-23.5602, -13.6045, 53.4749)),
        (600.0, SAINT_VENANT, (-23.8188, -13.7315, 53.6074)),
    ],
)
def test_exact_rod(force: float, torsion: float, exact: tuple[float, float, float]) -> None:
    np.testing.assert_allclose(displacement(force, torsion), exact, rtol=5e-4)


@pytest.mark.parametrize(
    ("torsion", "published", "tolerance"),
    [
        (POLAR, (-23.5, -13.4, 53.4), 0.016),  # Bathe & Bolourchi 1979
        # BeamDyn, as published with three digits; the torsion constant is not said
        (POLAR, (-23.7, -13.5, 53.4), 0.01),
        # a spectral-element code, with GJ = EI: 0.4 to 0.9 % off the exact rod, cause unknown
        (POLAR, (-23.64597, -13.72080, 53.57765), 0.01),
        (
            SAINT_VENANT,
            (-23.814, -13.729, 53.605),
            5e-4,
        ),  # Ibrahimbegovic 1995, eight elements of three nodes
        # OpenSeesPy 3.7.1, a general-purpose library: 64 corotational elements
        (POLAR, (-23.5585, -13.6038, 53.4729), 5e-4),
        (SAINT_VENANT, (-23.8171, -13.7308, 53.6054), 5e-4),
    ],
)
def test_published_displacements_at_600(
    torsion: float, published: tuple[float, float, float], tolerance: float
) -> None:
    np.testing.assert_allclose(displacement(600.0, torsion), published, rtol=tolerance)


@pytest.mark.parametrize(
    ("force", "place"),
    [(300.0, (58.84, 22.33, 40.08)), (450.0, (52.32, 18.62, 48.39)), (600.0, (47.23, 15.79, 53.37))],
)
def test_published_places_of_the_end(force: float, place: tuple[float, float, float]) -> None:
    """Simo & Vu-Quoc, Comput. Methods Appl. Mech. Engng 58 (1986) 79; figures from memory."""
    end = displacement(force, POLAR) + [70.7107, 29.2893, 0.0]
    np.testing.assert_allclose(end, place, rtol=0.01)


def test_eight_elements_in_one_increment() -> None:
    force, shear = 600.0, 5e6 * 5.0 / 6.0
    stiffness = np.array([1e7, shear, shear, 5e6 / 6.0, 1e7 / 12.0, 1e7 / 12.0])
    problem, outcome = solved(cantilever(stiffness, 8, [0.0, 0.0, force, 0.0, 0.0, 0.0], ARC))
    end = problem.state.positions[-1] - [
        100.0 * math.sin(math.pi / 4),
        100.0 - 100.0 * math.cos(math.pi / 4),
        0.0,
    ]
    np.testing.assert_allclose(end, (-23.5602, -13.6045, 53.4749), rtol=1e-3)
    assert outcome.iterations <= 12
