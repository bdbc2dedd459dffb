"""The mesh follows the slots: what has slid into place answers as what was meshed there; bends may come into a slot."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.model import Model
from fem.path import FOLLOW_BEYOND, Options, _stations, engage
from fem.recovery import deepest_between_stations
from geometry.attachments import Slot
from geometry.pose import Pose
from geometry.wire_shapes import Bend, PassiveShape, Straight
from tests.fem_problems import WIRE, Held, slot_walls, steel_law, wire_between

SLOT = Slot(0.022 * 25.4, 0.028 * 25.4, 3.0)
SHAPE = PassiveShape((Straight(8.0), Bend(math.radians(20.0), "second", 1.0), Straight(6.0)))


def slid(found_at: float, ends_at: float, raised: float) -> Model:
    """A wire stopped in one slot; a second, with its mouth 1.5 mm beyond its centre, is found at ``found_at`` and ends
    at the straight run's place ``ends_at``, ``raised`` by some play and more."""
    held = [
        Held(slot_walls(SLOT, stop=True), 2.0, Pose.identity()),
        Held(slot_walls(SLOT), found_at, Pose(np.array([ends_at - 2.0, raised, 0.0]), np.eye(3))),
    ]
    return wire_between(SHAPE, WIRE, steel_law(WIRE), held)


@pytest.mark.parametrize(
    ("found_at", "ends_at", "raised"),
    [
        (6.0, 6.4, 0.3),  # stays on the straight run
        (6.2, 7.2, 0.4),  # the bend starts 0.3 mm beyond the mouth and comes 0.7 mm into the slot
        (6.2, 6.6, 0.4),  # and 0.1 mm into it
        (7.2, 6.2, 0.4),  # out again
    ],
)
def test_a_slot_that_slid_there_answers_as_one_that_was_there(
    found_at: float, ends_at: float, raised: float
) -> None:
    there = engage(slid(found_at, ends_at, raised))
    here = engage(slid(ends_at, ends_at, raised))
    for path in (there, here):
        places, wire, presses = _stations(path.problem)
        moving = presses & wire & (path.problem.constraints.sites.slot == 1)
        assert moving.any()
        nodes = path.problem.model.nodes[path.problem.station_nodes]
        assert np.abs(places - nodes)[moving].max() < 50.0 * FOLLOW_BEYOND
        assert deepest_between_stations(path.problem, 1.0) < 1e-3
        largest = np.abs(path.last.snapshot.force).max()
        force, moment = path.last.snapshot.left_over()
        assert np.abs(force).max() < 1e-6 * largest and np.abs(moment).max() < 1e-5 * largest
    a, b = there.last.snapshot, here.last.snapshot
    assert np.abs(b.force).max() > 0.05
    np.testing.assert_allclose(a.force, b.force, rtol=0.0, atol=2e-3 * np.abs(b.force).max())
    np.testing.assert_allclose(a.moment, b.moment, rtol=0.0, atol=2e-3 * np.abs(b.moment).max())


def test_a_failed_increment_leaves_the_state_as_it_was() -> None:
    """Ten increments or one: cut back where one is too much, the answer is the same."""
    model = slid(6.2, 7.2, 0.4)
    one, ten = engage(model, Options(increments=1)), engage(model, Options(increments=10))
    np.testing.assert_allclose(
        one.last.snapshot.force, ten.last.snapshot.force, atol=2e-3 * np.abs(ten.last.snapshot.force).max()
    )
