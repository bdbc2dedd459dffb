"""A wire that comes out of an open slot leaves it, and the way goes on without it."""

from __future__ import annotations

import numpy as np

from fem.advance import Options
from fem.leaving import left_behind
from fem.path import Leg, engage
from fem.status import Status
from geometry.pose import Pose
from scripts.appliances import random_appliance
from tests.fem_problems import straight_between

# Two slots, the other of which, open in front and turned by 55 deg, goes 6 mm away.
COMING_OUT = 46


def test_a_wire_leaves_an_open_slot_and_stays_out() -> None:
    """Bent in two slots it holds energy; in one it holds none, and that is set free."""
    model = random_appliance(COMING_OUT, 6, 60.0, 5.0, activated=1)
    ends = tuple(support.end for support in model.supports)
    path = engage(model, legs=[Leg("out", ends, 10), Leg("on", ends, 1)])
    (gone,) = [one for one in path.increments if one.left is not None]
    before = path.increments[path.increments.index(gone) - 1]
    assert gone.left == 1 and gone.let_down and gone.set_free > 0.0
    assert before.activation < gone.activation < before.activation + Options().least_increment
    assert before.snapshot.force[1].any() and 0.0 < before.snapshot.inside[1] < 1.0
    for one in path.increments[path.increments.index(gone) :]:
        assert one.snapshot.inside.tolist() == [1.0, 0.0]
        assert not one.snapshot.force.any() and not one.snapshot.moment.any()
    assert path.last.leg == 1 and path.status is Status.PASSIVE
    # straight again but for its own bends
    problem = path.problem
    passive, _ = model.passive_frames(problem.model.nodes)
    spread = np.linalg.norm(problem.state.positions[0] - problem.state.positions[-1])
    assert abs(spread - np.linalg.norm(passive[0] - passive[-1])) < 1e-6


def test_closed_slots_are_never_left() -> None:
    path = engage(straight_between(Pose(np.array([10.0, 0.3, 0.0]), np.eye(3))))
    snapshot = path.last.snapshot
    snapshot.inside[:] = 0.5
    assert left_behind(path.problem, snapshot, 0, 1.0, Options()) is None
