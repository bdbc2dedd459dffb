"""A twisted ring leaves its plane: Michell, Messenger of Math. 19 (1889) 181; Zajac, J. Appl. Mech. 29 (1962) 136.

A naturally straight rod of equal bending stiffnesses is closed to a ring with its ends turned against each other. The
circle is stable up to a turn of 2 pi sqrt(3) EI/GJ (Goriely, J. Elasticity 84 (2006) 281; the formula from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.model import Clamp, Model, Support
from fem.section_law import LinearSection
from geometry.pose import Pose, rotation_about
from geometry.wire_shapes import Bend, PassiveShape, Straight
from tests.fem_problems import ANY_SECTION, critical, found_at, slender_stiffness, wrong_pivots

# radius 1, EI = 1
LENGTH, ELEMENTS = 2.0 * math.pi, 80
ROD = PassiveShape((Straight(LENGTH),))
CIRCLE = PassiveShape((Bend(LENGTH, "second", 1.0),))


def wrong(turn: float, torsion: float) -> int:
    """Pivots of the ring, closed by two clamps that hold its ends in one place, ``turn`` (rad) against each other."""
    arcs = np.linspace(0.0, LENGTH, ELEMENTS + 1)
    positions, axes = CIRCLE.frames(arcs)
    axes = np.array(
        [
            axis @ rotation_about((1.0, 0.0, 0.0), turn * s / LENGTH)
            for axis, s in zip(axes, arcs, strict=True)
        ]
    )
    ends = [Pose(positions[i], axes[i]) for i in (0, -1)]
    clamps = tuple(Support(Clamp(), s, end, end) for s, end in zip((0.0, LENGTH), ends, strict=True))
    law = LinearSection(slender_stiffness(300.0, length=LENGTH, torsion=torsion))
    problem = found_at(Model(ROD, Pose.identity(), arcs, ANY_SECTION, law, clamps), positions, axes)
    pivots = wrong_pivots(problem)
    radii = np.linalg.norm(problem.state.positions - [0.0, 1.0, 0.0], axis=1)
    np.testing.assert_allclose(radii, 1.0, atol=1e-3)
    return pivots


@pytest.mark.parametrize("torsion", [0.75, 1.0, 1.3])
def test_the_ring_leaves_its_plane(torsion: float) -> None:
    """In two shapes at once, a quarter of a wave apart.

    One more pivot is not counted: a ring that turns as a whole about the tangent of its clamps changes no energy,
    and the sign of that pivot is rounding."""
    expected = 2.0 * math.pi * math.sqrt(3.0) / torsion
    found = critical(lambda turn: wrong(turn, torsion), 0.9 * expected, 1.1 * expected, count=2)
    assert found == pytest.approx(expected, rel=2e-3)
