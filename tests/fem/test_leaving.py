"""A wire that comes out of an open slot leaves it, and the way goes on without it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fem import walk as one_way
from fem.advance import Options, advance
from fem.equilibrium import Outcome, problem_of
from fem.leaving import coming_out, left_behind, past_front, slides
from fem.model import Clamp, Model, PointTie, SlotWalls
from fem.path import Leg, engage
from fem.recovery import Snapshot
from fem.status import NoEquilibrium, Status
from geometry.pose import Pose
from geometry.wire_shapes import PassiveShape, Straight
from scripts.appliances import random_appliance
from tests.fem_problems import SLOT, WIRE, Held, slot_walls, steel_law, straight_between, wire_between

# Two slots, the other of which, open in front and turned by 55 deg, goes 6 mm away.
COMING_OUT = 46


def test_a_wire_leaves_an_open_slot_and_stays_out() -> None:
    """Bent in two slots it holds energy; in one it holds none, and that is set free."""
    model = random_appliance(COMING_OUT, 6, 60.0, 5.0, activated=1)
    ends = tuple(support.end for support in model.supports)
    path = engage(model, legs=[Leg("out", ends, 10), Leg("on", ends, 1)])
    (gone,) = [one for one in path.increments if one.left]
    before = path.increments[path.increments.index(gone) - 1]
    assert gone.left == (1,) and gone.let_down and gone.set_free > 0.0
    assert before.activation < gone.activation
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
    assert left_behind(path.problem, path.last.snapshot, 0, 1.0, Options()) is None


def straight(held: list[Held], length: float) -> Model:
    """A straight wire in the supports ``held``."""
    return wire_between(PassiveShape((Straight(length),)), WIRE, steel_law(WIRE), held)


def open_slot(stop: bool) -> SlotWalls:
    """The usual slot, open in front."""
    return replace(slot_walls(SLOT, stop=stop), front="open")


def at(x: float, y: float = 0.0, z: float = 0.0) -> Pose:
    return Pose(np.array([x, y, z]), np.eye(3))


def test_a_stop_lets_go_with_its_slot() -> None:
    """A bar clamped at one end and stopped in an open slot is drawn out by 0.1 mm while the slot goes 2 mm away from
    it: it bears EA u/L (Hooke) as long as any of it lies in the slot, then nothing, and EA u^2/2L is set free."""
    drawn, away, length = 0.1, 2.0, 10.0
    model = straight(
        [Held(Clamp(), 2.0, at(0.0)), Held(open_slot(True), 2.0 + length, at(length + drawn, z=-away))],
        2.0 + length + 2.0,
    )
    path = engage(model, Options(increments=20))
    stiffness = float(model.law.stiffness[0])
    (gone,) = [one for one in path.increments if one.left]
    leaves = 0.5 * (SLOT.depth + WIRE.depth) / away
    assert gone.left == (1,) and leaves < gone.activation < leaves + 0.05
    for one in path.increments:
        force = -float(one.snapshot.force[1, 0])
        expected = 0.0 if one.activation >= gone.activation else stiffness * one.activation * drawn / length
        assert force == pytest.approx(expected, rel=1e-5, abs=1e-9)
    u = gone.activation * drawn
    assert gone.let_down
    assert gone.set_free == pytest.approx(0.5 * stiffness * u * u / length, rel=1e-5)
    assert path.status is Status.PASSIVE and path.last.snapshot.inside.tolist() == [1.0, 0.0]


def test_the_way_on_is_that_of_a_wire_without_the_slot() -> None:
    """Bent over an open slot that draws away from it in front; not let down, since the slot bears nothing any more, and
    not left for good: it might come back."""
    first, last = Held(Clamp(), 2.0, at(0.0)), Held(Clamp(slides=True), 22.0, at(20.0, 1.5))
    between = Held(open_slot(False), 12.0, at(10.0, z=-3.0))
    path = engage(straight([first, between, last], 26.0))
    alone = engage(straight([first, last], 26.0)).last.snapshot
    assert not any(one.left or one.let_down for one in path.increments)
    assert path.last.snapshot.inside[1] == 0.0
    pressed = max(np.abs(one.snapshot.force[1]).max() for one in path.increments)
    assert pressed > 0.1
    snapshot = path.last.snapshot
    assert not snapshot.force[1].any()
    largest = np.abs(alone.force).max()
    np.testing.assert_allclose(snapshot.force[[0, 2]], alone.force, rtol=0.0, atol=2e-3 * largest)


def test_a_wire_that_is_stopped_no_more_slides_out_and_is_straight_again() -> None:
    """Bent between a tie and a closed slot it is pushed along by M^2/2EI (Bigoni et al., Proc. R. Soc. A 470 (2014)
    20140599; from memory) once its stop lets go, and all of the 5 mm that lie beyond the slot are drawn through it."""
    tail = 5.0
    model = straight(
        [
            Held(open_slot(True), 2.0, at(0.0, z=-0.7)),
            Held(PointTie(), 10.0, at(8.0, -3.0)),
            Held(slot_walls(SLOT), 22.0, at(20.0)),
        ],
        22.0 + tail,
    )
    path = engage(model, Options(increments=640))
    (gone,) = [one for one in path.increments if one.left]
    one, before = path.increments[path.increments.index(gone) - 2 :][:2]
    assert gone.left == (0,) and np.abs(before.snapshot.force).max() > 0.5
    assert path.status is Status.PASSIVE
    # what it would have held in the next increment, from the last two (linearly)
    earlier, held = (held_by_elements(at.snapshot, model) for at in (one, before))
    further = (gone.activation - before.activation) / (before.activation - one.activation)
    held += further * (held - earlier)
    assert held > 1.0 and gone.set_free == pytest.approx(held, rel=1e-3)


def held_by_elements(snapshot: Snapshot, model: Model) -> float:
    """Energy (N mm): resultants, in a straight line along each element, squared over twice the stiffness."""
    near, far = np.moveaxis(snapshot.resultants, 1, 0)
    squares = (near**2 + near * far + far**2) / 3.0 / (2.0 * model.law.stiffness)
    return float((np.diff(snapshot.arcs)[:, None] * squares).sum())


def test_what_the_wire_is_coming_out_of() -> None:
    """By its middle, the furthest first; a closed slot never."""
    model = straight(
        [
            Held(slot_walls(SLOT, stop=True), 2.0, at(0.0)),
            Held(open_slot(False), 12.0, at(10.0, z=-0.5)),
            Held(open_slot(False), 22.0, at(20.0, z=-0.6)),
            Held(open_slot(False), 32.0, at(30.0, z=-0.2)),
        ],
        36.0,
    )
    snapshot = engage(model).last.snapshot
    past = past_front(model.supports, snapshot)
    assert np.isnan(past[0]).all()
    np.testing.assert_allclose(
        past[1:], np.array([[0.5], [0.6], [0.2]]) - 0.5 * SLOT.depth + np.zeros(2), atol=0.08
    )
    assert coming_out(model.supports, snapshot) == [2, 1]


def test_a_wire_that_nothing_stops_and_that_finds_no_rest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """No such wire is known; the end is made up, the sentence is not."""
    held = [
        Held(open_slot(True), 2.0, at(0.0, z=-0.7)),
        Held(PointTie(), 10.0, at(8.0, -3.0)),
        Held(slot_walls(SLOT), 22.0, at(20.0)),
    ]
    model = straight(held, 27.0)
    assert slides(model, (0,)) and not slides(model, ()) and not slides(model, (1,))
    assert not slides(straight([held[0], Held(Clamp(), 12.0, at(10.0))], 16.0), (0,))

    def no_rest(*_: object) -> Outcome:
        failed = advance(problem_of(straight_between(at(10.0, 0.5))), 0, 1.0, Options(most_iterations=1))
        assert isinstance(failed, Outcome)
        return failed

    monkeypatch.setattr(one_way, "without", no_rest)
    with pytest.raises(NoEquilibrium, match="kept it from sliding") as caught:
        engage(model)
    assert caught.value.status is Status.STOPPED_NO_MORE
