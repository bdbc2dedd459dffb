"""An elastic chain from a point beside a wire to the wire: pulls in any direction, by Hooke's law, and never pushes."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from fem.material import LinearElastic
from fem.model import Clamp, PointTie
from fem.path import Path, engage
from fem.rods import Held, Load, rod
from fem.status import Status
from geometry.pose import Pose
from geometry.section import Rectangle
from geometry.wire_shapes import PassiveShape, Straight

Array = NDArray[np.float64]

STEEL = LinearElastic("steel", 2.0e5, 0.3)
SECTION = Rectangle(0.4, 0.55)
SHAPE = PassiveShape((Straight(20.0),))
HOOK = np.array([8.0, 12.0, 5.0])
REST, RATE = 6.0, 0.12


def pulled(rest: float, away: Array) -> Path:
    """A cantilever whose end a chain draws to a hook, which moves there from near the end."""
    start = Pose(np.array([20.0, 1.0, 0.0]), np.eye(3))
    chain = Held(PointTie(thread=rest, stiffness=RATE, slides=False), 20.0, Pose(away, np.eye(3)), start)
    return engage(rod(SHAPE, SECTION, STEEL, [Held(Clamp(), 0.0), chain]))


def test_a_chain_pulls_by_its_stretch_along_itself() -> None:
    """Hooke's law and statics; the wire lies as under that force hung on it as a dead load."""
    path = pulled(REST, HOOK)
    snapshot = path.last.snapshot
    to_end = snapshot.positions[-1] - HOOK
    length = float(np.linalg.norm(to_end))
    # on the hook: towards the wire's end
    expected = RATE * (length - REST) * to_end / length
    assert length > REST + 1.0
    np.testing.assert_allclose(snapshot.force[1], expected, rtol=1e-7)
    force, moment = snapshot.left_over()
    assert np.abs(force).max() < 10.0 * snapshot.floor and np.abs(moment).max() < 1e3 * snapshot.floor
    load = Load(20.0, force=-expected)
    hung = engage(rod(SHAPE, SECTION, STEEL, [Held(Clamp(), 0.0)], [load])).last.snapshot
    np.testing.assert_allclose(snapshot.positions[-1], hung.positions[-1], rtol=0.0, atol=1e-6)


def test_small_deflections_are_those_of_springs_in_series() -> None:
    """Cantilever and chain: 1/k = L^3/(3EI) + 1/rate (Gere & Timoshenko), the hook square to the wire's end."""
    law = rod(SHAPE, SECTION, STEEL, [Held(Clamp(), 0.0)]).law
    drawn = 0.05
    hook = np.array([20.0, REST + drawn, 0.0])
    force = float(pulled(REST, hook).last.snapshot.force[1, 1])
    soft = 20.0**3 / (3.0 * law.stiffness[5]) + 20.0 / law.stiffness[1] + 1.0 / RATE
    assert -force == pytest.approx(drawn / soft, rel=1e-4)


def test_a_slack_chain_does_nothing() -> None:
    path = pulled(REST, np.array([18.0, 3.0, 0.0]))
    assert path.status is Status.PASSIVE
    assert not path.last.snapshot.force.any()
