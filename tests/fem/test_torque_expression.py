"""Third-order activation of a rectangular superelastic wire in a slot with play: to 45 deg and back, cold and warm."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.model import Clamp, Model, SlotWalls
from fem.path import Leg, Path, engage
from geometry.pose import Pose
from geometry.section import Rectangle
from tests.yielding_wires import NITI, straight

SECTION = Rectangle(0.4064, 0.5588)
SLOT = SlotWalls(0.4572, 0.7112, np.linspace(-1.5, 1.5, 5))
MIDDLE = 6.0


def turned(model: Model, angle: float, lifted: float) -> tuple[Pose, ...]:
    """The slot in the middle turned about the wire by an angle (deg), and lifted (mm), so that the wire bends too."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    axes = np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])
    at = Pose(np.array([MIDDLE, lifted, 0.0]), axes)
    return (model.supports[0].start, at, model.supports[2].start)


def expressed(temperature: float) -> tuple[Model, Path]:
    supports = [(0.0, Clamp()), (MIDDLE, SLOT), (2.0 * MIDDLE, Clamp())]
    model = straight(2.0 * MIDDLE, NITI, supports, SECTION, elements=48, temperature=temperature)
    legs = [Leg(f"{a:g}", turned(model, a, 0.3 * a / 45.0), 1) for a in ANGLES]
    return model, engage(model, legs=legs)


ANGLES = (*np.linspace(0.0, 45.0, 16)[1:].tolist(), *np.linspace(45.0, 0.0, 16)[1:].tolist())


def test_torque_out_and_back_cold_and_warm() -> None:
    torques = []
    for temperature in (22.0, 40.0):
        _, path = expressed(temperature)
        # of the wire on the slot, against its turn
        torque = np.array([-float(path.end_of(k).snapshot.moment[1, 0]) for k in range(len(ANGLES))])
        torques.append(torque)
        fibres = [path.end_of(k).snapshot.fibres for k in range(len(ANGLES))]
        lost = [one.dissipated for one in fibres if one is not None]
        assert (np.diff(lost) > -0.002 * lost[-1]).all()
        assert fibres[14].martensite_share > 0.02  # type: ignore[union-attr]
        assert fibres[-1].martensite_share == 0.0  # type: ignore[union-attr]
        # below the play, 5.4 deg one way for a sharp wire in a sharp slot, only what lifting the slot does
        assert abs(torque[0]) < 0.01 * torque.max()
        assert torque[-1] == pytest.approx(0.0, abs=1e-6)
        # less on the way back at the same angle, 15 to 42 deg; the same where nothing is transformed any more
        for k in range(4, 14):
            assert ANGLES[k] == pytest.approx(ANGLES[28 - k])
            assert torque[k] > 1.02 * torque[28 - k] > 0.0
        np.testing.assert_allclose(torque[27:29], torque[1::-1], rtol=0.01)
    # what transforms is stronger when warm, on the way out and more so on the way back
    assert (torques[1][8:15] > 1.02 * torques[0][8:15]).all()
    assert (torques[1][16:24] > 1.05 * torques[0][16:24]).all()
    np.testing.assert_allclose(torques[1][:4], torques[0][:4], rtol=1e-6)
