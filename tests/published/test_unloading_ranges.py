"""The library's superelastic alloy in the standard's bending test, beside published ranges (validation).

Unloading forces of superelastic wires of five makers: 98.4 to 151.4 gf (Mater. Res., a study after ISO 15841; the size
of its wires is not told where we read it, 0.016 in round is taken).  Apparent modulus of superelastic wires in bending:
30 to 60 GPa (from memory).  A wire of 0.016 in comes back from 3.1 mm without a set to speak of (common practice, no
source).
"""

from __future__ import annotations

import numpy as np
import pytest

from cases.bench_tests.alloys import alloy_law
from cases.bench_tests.three_point import Bent, Setup, bend
from cases.reader import Findings
from geometry.section import Round

WIRE = Round(0.016 * 25.4)
GF = 9.80665e-3


@pytest.fixture(scope="module")
def bent() -> Bent:
    law = alloy_law("superelastic-nickel-titanium", {}, Findings({}))
    assert law is not None
    return bend(Setup(), WIRE, law.material, 36.0)


def test_unloading_forces_lie_in_the_published_range(bent: Bent) -> None:
    """On the plateau of the way back, where the standard reads it."""
    forces = np.interp([1.0, 2.0], *bent.way(1, False)) / GF
    assert (forces > 98.4).all() and (forces < 151.4).all()


def test_apparent_modulus_lies_in_the_remembered_range(bent: Bent) -> None:
    """F = 48 E I d/L^3 read backwards at the first increments."""
    deflection, force = bent.way(1, True)
    apparent = force[2] / deflection[2] * 10.0**3 / (48.0 * WIRE.second_moment_z)
    assert 30e3 < apparent < 60e3


def test_it_comes_back(bent: Bent) -> None:
    assert bent.left() < 1e-3
