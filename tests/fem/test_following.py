"""The mesh follows the slots: what has slid into place answers as what was meshed there; bends may come into a slot."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from fem import advance as one_increment
from fem.advance import advance
from fem.equilibrium import WIDELY, Outcome, course_at, problem_of
from fem.following import LEAST_WAY, TAKING_TURNS, arms_off, relaxed
from fem.model import Clamp, Model
from fem.path import Increment, Options, engage
from fem.recovery import deepest_between_stations
from fem.status import NoEquilibrium
from geometry.attachments import Slot
from geometry.meshing import line_mesh
from geometry.pose import Pose, rotation_about
from geometry.wire_shapes import Bend, PassiveShape, Straight
from scripts.appliances import random_appliance
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
    for one in (there, here):
        # in a long way to rest, as here where the bend comes out, stations take turns; see TAKING_TURNS
        assert arms_off(one.problem, TAKING_TURNS + 1) is None
        assert deepest_between_stations(one.problem, 1.0) < 1e-3
        largest = np.abs(one.last.snapshot.force).max()
        force, moment = one.last.snapshot.left_over()
        assert np.abs(force).max() < 1e-6 * largest and np.abs(moment).max() < 1e-5 * largest
    a, b = there.last.snapshot, here.last.snapshot
    assert np.abs(b.force).max() > 0.05
    np.testing.assert_allclose(a.force, b.force, rtol=0.0, atol=2e-3 * np.abs(b.force).max())
    np.testing.assert_allclose(a.moment, b.moment, rtol=0.0, atol=2e-3 * np.abs(b.moment).max())


def test_walls_may_be_asked_to_follow_more_closely() -> None:
    closely = engage(slid(6.2, 6.6, 0.4), Options(follow_within=0.02)).problem
    assert arms_off(closely, within=0.02) is None
    with pytest.raises(ValueError, match="how closely walls follow"):
        Options(follow_within=2.0)


def test_a_mesh_made_anew_is_as_fine_as_the_first() -> None:
    """The bend that comes into the slot has the wire meshed anew, with elements half as large as usual."""
    usual = slid(6.2, 7.2, 0.4)
    offsets = SLOT.station_offsets()
    marks = np.concatenate([arc + offsets for arc in (2.0, 6.2)])
    nodes = line_mesh(SHAPE, marks, fineness=2.0)
    end = engage(replace(usual, nodes=nodes, fineness=2.0)).problem.model
    coarse = engage(usual).problem.model
    assert coarse.nodes.size != usual.nodes.size  # made anew
    assert end.fineness == 2.0 and np.diff(end.nodes).max() <= 0.5
    assert np.diff(coarse.nodes).max() > 0.5


def test_one_increment_or_ten() -> None:
    model = slid(6.2, 7.2, 0.4)
    one, ten = engage(model, Options(increments=1)), engage(model, Options(increments=10))
    np.testing.assert_allclose(
        one.last.snapshot.force, ten.last.snapshot.force, atol=2e-3 * np.abs(ten.last.snapshot.force).max()
    )


def test_a_failed_increment_leaves_the_state_as_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whether no balance is found, or the mesh does not come to rest: nothing is accepted, nothing changed."""
    problem = problem_of(slid(6.2, 7.2, 0.4))
    before = problem.state.flat.copy()
    assert isinstance(advance(problem, 0, 1.0, Options(most_iterations=1)), Outcome)
    np.testing.assert_array_equal(problem.state.flat, before)
    assert not isinstance(advance(problem, 0, 1.0, Options()), Outcome)
    problem = problem_of(slid(6.2, 7.2, 0.4))
    monkeypatch.setattr(one_increment, "MOST_FOLLOWINGS", 0)
    assert isinstance(advance(problem, 0, 1.0, Options()), Outcome)
    np.testing.assert_array_equal(problem.state.flat, before)


def test_loads_at_nodes_forbid_a_new_mesh() -> None:
    """Where one would be needed the path ends and says so; it does not go on with contacts far from their nodes."""
    model = slid(6.2, 7.2, 0.4)
    loads = np.zeros((model.nodes.size, 6))
    loads[-1, 1] = 1e-3
    with pytest.raises(NoEquilibrium):
        engage(replace(model, loads=loads))


@pytest.mark.parametrize("rate", [-1.1, -0.5, 0.0])
def test_what_swings_to_and_fro_comes_to_rest_at_once(rate: float) -> None:
    """A distance that each whole step turns into ``rate`` times itself: the share is 1/(1 - rate), by hand."""
    first = np.array([3.0, -1.0])
    share = relaxed(1.0, first, rate * first)
    assert share == pytest.approx(1.0 / (1.0 - rate))
    second = rate * first
    after = (1.0 - share) * second + share * rate * second
    np.testing.assert_allclose(after, 0.0, atol=1e-15)


def test_nodes_go_no_further_than_their_stations_and_not_nowhere() -> None:
    first = np.array([1.0, 0.5])
    assert relaxed(1.0, None, first) == 1.0
    assert relaxed(1.0, first, 0.6 * first) == 1.0
    assert relaxed(1.0, first, -9.0 * first) == LEAST_WAY
    assert relaxed(0.5, first, first) == 1.0


def test_spread_over_the_section_twist_pushes_as_much() -> None:
    """A twist rate t that jumps at stations 0.01 mm apart and 0.3 mm apart, there and back: the torques GJ dt push the
    wire along by GJ t dt, in all by half the jump of GJ t^2 (Bigoni et al., Proc. R. Soc. A 470 (2014) 20140599; from
    memory), however wide the place over which each t is the mean."""
    rates = np.array([0.02, 0.05, 0.01, 0.09, -0.04, -0.03])
    jumps = np.array([4.0, 4.01, 4.02, 4.3, 9.0])
    nodes = np.array([0.0, *jumps, 12.0])
    straight = PassiveShape((Straight(12.0),))
    model = wire_between(straight, WIRE, steel_law(WIRE), [Held(Clamp(), 0.0, Pose.identity())])
    problem = problem_of(replace(model, nodes=nodes))
    turned = np.concatenate(([0.0], np.cumsum(rates * np.diff(nodes))))
    for axes, angle in zip(problem.state.axes, turned, strict=True):
        axes[:] = rotation_about(np.array([1.0, 0.0, 0.0]), float(angle))
    twist = course_at(problem, jumps, jumps, WIDELY)[:, 0]
    assert twist[1] != pytest.approx(
        0.5 * (rates[1] + rates[2]), rel=0.1
    )  # the mean reaches beyond the neighbours
    assert np.diff(rates) @ twist == pytest.approx(0.5 * (rates[-1] ** 2 - rates[0] ** 2), rel=1e-9)


class EnoughError(Exception):
    """Raised by an observer that has heard enough."""


def test_stations_stand_where_their_walls_press() -> None:
    """Askew by 7 deg in a slot that it fills a wire meets floor and walls 0.05 mm apart; its nodes are 0.01 mm apart.

    With stations in the middle of all walls forces grew by 5 % with every following: the wire was let down four times
    on the same way, and came to no rest at its end."""
    heard = []

    def hear(increment: Increment) -> None:
        heard.append(increment)
        if increment.activation > 0.12:
            raise EnoughError

    with pytest.raises(EnoughError):
        engage(random_appliance(35, 6, 60.0, 5.0), observer=hear)
    assert len(heard) < 6 and not any(one.let_down for one in heard)
    for one in heard:
        force, moment = one.snapshot.left_over()
        assert np.abs(force).max() < 1e-6 * np.abs(one.snapshot.force).max()
        assert np.abs(moment).max() < 1e-6 * np.abs(one.snapshot.moment).max()
