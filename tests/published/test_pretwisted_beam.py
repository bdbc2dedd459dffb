"""A beam twisted by 90 deg, bent far: Wang, Sprague, Jonkman, Johnson & Jonkman, Wind Energy 20 (2017) 1439.

Length 10 m, section 0.5 x 0.25 m, E = 200 GPa, G = 79.3 GPa; a dead force of 4000 kN at the end in the direction that
is stiff at the clamp. The published places come from a spectral beam code and from a general-purpose finite-element
program, whose second figure is from memory. The exact rod was computed independently of this program, and is found
again by shooting.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from geometry.wire_shapes import PassiveShape, Twist
from tests.exact_rod import Rod, loaded
from tests.fem_problems import cantilever, solved

Array = NDArray[np.float64]

# m and N
LENGTH, FORCE = 10.0, 4.0e6
STIFFNESS = (25.0e9, 8.2604e9, 8.2604e9, 0.141873e9, 0.130208e9, 0.520833e9)
TWISTED = PassiveShape((Twist(0.5 * math.pi, LENGTH),))
TIP = (0.0, FORCE, 0.0, 0.0, 0.0, 0.0)
# along the beam, across the force, along the force
EXACT = (-1.14153, 1.71805, 3.59321)


def displacement(elements: int) -> Array:
    """Of the end: along the beam, across the force, along it."""
    problem, _ = solved(cantilever(STIFFNESS, elements, TIP, TWISTED), increments=4)
    x, along, across = problem.state.positions[-1] - [LENGTH, 0.0, 0.0]
    return np.array([x, abs(across), along])


def test_exact_rod() -> None:
    end = loaded(Rod(np.array(STIFFNESS), LENGTH, TWISTED.curvature(0.0)[0]), TIP, [0.0, LENGTH]).positions[
        -1
    ]
    np.testing.assert_allclose([end[0] - LENGTH, abs(end[2]), end[1]], EXACT, rtol=1e-5)
    np.testing.assert_allclose(displacement(64), EXACT, rtol=1e-3)


@pytest.mark.parametrize(
    "published",
    [(-1.132727, 1.715123, 3.578671), (-1.134192, 1.7145, 3.584232)],
    ids=["spectral beam code", "general-purpose finite elements"],
)
def test_published_displacements(published: tuple[float, float, float]) -> None:
    np.testing.assert_allclose(displacement(16), published, rtol=0.01)


def test_the_end_moves_towards_the_side_that_grows_soft() -> None:
    """Right-handed twist takes the stiff axis y towards z, the soft one z towards -y.

    Halfway out, the soft axis has parts along -y and z; a force along y bends it and so moves the end along -z."""
    problem, _ = solved(cantilever(STIFFNESS, 16, TIP, TWISTED), increments=4)
    assert problem.state.positions[-1, 2] < 0.0
