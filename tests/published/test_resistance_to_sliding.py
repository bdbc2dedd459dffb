"""Resistance to sliding: none but classical friction below the critical contact angle, binding that grows evenly above.

Kusy & Whitley, Eur. J. Orthod. 21 (1999) 199 and Angle Orthod. 69 (1999) 71: RS = FR + BI, BI grows linearly with the
angle beyond the critical contact angle; SLOT cos t - WIDTH sin t = SIZE there.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.model import Clamp, SlotWalls
from fem.path import Leg, engage
from geometry.attachments import Slot
from geometry.clearance import clearance
from geometry.pose import Pose
from geometry.section import Rectangle
from geometry.wire_shapes import PassiveShape, Straight
from tests.fem_problems import INCH, Held, steel_law, wire_between

FRICTION = 0.15
SECTION = Rectangle(0.016 * INCH, 0.022 * INCH)
# A bracket of the papers: 0.1037 in wide, slot 0.022 in.
SLOT = Slot(0.022 * INCH, 0.028 * INCH, 0.1037 * INCH)
CRITICAL = clearance(SECTION, SLOT).second.angle or 0.0


def drawn_through(angle: float) -> tuple[float, float]:
    """Pull (N) on the wire and sum of the normal forces (N), in a closed slot tipped by ``angle`` (rad)."""
    walls = SlotWalls(SLOT.height, SLOT.depth, SLOT.station_offsets(), friction=FRICTION)
    place = np.array([10.0, 0.0, 0.0])
    held = [
        Held(Clamp(), 0.0, Pose.identity()),
        Held(walls, 10.0, Pose(place, np.eye(3))),
        Held(Clamp(slides=True), 20.0, Pose(2.0 * place, np.eye(3))),
    ]
    model = wire_between(PassiveShape((Straight(22.0),)), SECTION, steel_law(SECTION), held)
    start, _, far = (support.end for support in model.supports)
    tipped = Pose.from_angles(place, about_z=angle)
    pulled = Pose(np.array([-0.2, 0.0, 0.0]), np.eye(3))
    legs = [Leg("tipping", (start, tipped, far), 5), Leg("drawing", (pulled, tipped, far), 10)]
    snapshot = engage(model, legs=legs).last.snapshot
    return float(snapshot.force[0, 0]), float(snapshot.walls.normal.sum())


def test_the_critical_angle_of_the_papers() -> None:
    """Exact 3.2968 deg for 0.016 in in 0.022 in, 0.1037 in wide; simplified form 57.32 (1 - SIZE/SLOT)/(WIDTH/SLOT) =
    3.3165 deg, within 1 % of it."""
    assert math.degrees(CRITICAL) == pytest.approx(3.2968, abs=1e-3)
    simplified = 57.32 * (1.0 - 0.016 / 0.022) / (0.1037 / 0.022)
    assert math.degrees(CRITICAL) == pytest.approx(simplified, rel=1e-2)


def test_resistance_begins_at_the_critical_angle_within_a_hundredth_of_a_degree() -> None:
    hundredth = math.radians(0.01)
    pull, normal = drawn_through(CRITICAL - hundredth)
    assert normal == 0.0 and abs(pull) < 1e-4
    pull, normal = drawn_through(CRITICAL + hundredth)
    assert normal > 0.01 and pull > 1e-3


def test_binding_grows_evenly_with_the_angle_beyond_the_critical_one() -> None:
    """Twice and four times the angle beyond: twice and four times the resistance, and always Coulomb's share of the
    normal forces.  (Contacts move a little as the wire bends: 2 %.)"""
    beyond = math.radians(0.5)
    pulls = []
    for times in (1.0, 2.0, 4.0):
        pull, normal = drawn_through(CRITICAL + times * beyond)
        # friction is along the wire, which is bent a little, the pull along the clamp
        assert pull == pytest.approx(FRICTION * normal, rel=1e-2)
        pulls.append(pull)
    assert pulls[1] / pulls[0] == pytest.approx(2.0, rel=2e-2)
    assert pulls[2] / pulls[0] == pytest.approx(4.0, rel=4e-2)
