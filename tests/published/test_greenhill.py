"""A straight rod under a torque buckles to a screw: Greenhill, Proc. Inst. Mech. Engrs 34 (1883) 182.

Ends built in and free to approach: M = 2 x EI/L with tan x = x, 8.987 EI/L (Timoshenko & Gere, Theory of Elastic
Stability; the formula from memory, its root computed).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from fem.model import Clamp, Model, Support
from fem.section_law import LinearSection
from geometry.pose import Pose, rotation_about
from geometry.wire_shapes import PassiveShape, Straight
from tests.fem_problems import ANY_SECTION, critical, found_at, slender_stiffness, wrong_pivots

# length 1, EI = 1
ELEMENTS = 40
ROD = PassiveShape((Straight(1.0),))


def wrong(torque: float, torsion: float) -> int:
    """Pivots of the rod twisted by a clamp that slides along it."""
    arcs = np.linspace(0.0, 1.0, ELEMENTS + 1)
    positions, _ = ROD.frames(arcs)
    axes = np.array([rotation_about((1.0, 0.0, 0.0), torque / torsion * s) for s in arcs])
    ends = [Pose(positions[i], axes[i]) for i in (0, -1)]
    clamps = (Support(Clamp(), 0.0, ends[0], ends[0]), Support(Clamp(slides=True), 1.0, ends[1], ends[1]))
    law = LinearSection(slender_stiffness(300.0, torsion=torsion))
    return wrong_pivots(
        found_at(Model(ROD, Pose.identity(), arcs, ANY_SECTION, law, clamps), positions, axes)
    )


@pytest.mark.parametrize("torsion", [0.75, 1.0, 1.3])
def test_critical_torque(torsion: float) -> None:
    expected = 2.0 * float(brentq(lambda x: math.tan(x) - x, 4.4, 4.6))
    assert expected == pytest.approx(8.987, abs=5e-4)
    found = critical(lambda torque: wrong(torque, torsion), 0.9 * expected, 1.1 * expected)
    assert found == pytest.approx(expected, rel=2e-3)
