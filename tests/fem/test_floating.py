"""A wire that nothing pushes out of an open slot stays in it, and gets the forces of a closed one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cases.build import build_model
from cases.casefile import LIBRARY, load_case
from cases.legs import legs_of
from fem.advance import Options
from fem.equilibrium import problem_of, solve
from fem.equilibrium_kernel import CONVERGED
from fem.floating import may_float_out, solve_near
from fem.model import Model, SlotWalls
from fem.path import Leg, Path, engage
from geometry.pose import Pose
from tests.fem_problems import DISTANCE, straight_between


def opened(model: Model, k: int) -> Model:
    """The model with the front of support ``k`` open."""
    support = model.supports[k]
    assert isinstance(support.restraint, SlotWalls)
    open_one = replace(support, restraint=replace(support.restraint, front="open"))
    return replace(model, supports=tuple(open_one if j == k else one for j, one in enumerate(model.supports)))


def loads(path: Path) -> np.ndarray:
    """Forces and moments of all increments on all supports (p, k, 6), each by its largest."""
    force = np.array([one.snapshot.force for one in path.increments])
    moment = np.array([one.snapshot.moment for one in path.increments])
    return np.concatenate((force / np.abs(force).max(), moment / np.abs(moment).max()), axis=2)


STEP = Pose(np.array([DISTANCE, 0.6, 0.0]), np.eye(3))


@pytest.mark.parametrize("k", [0, 1])
def test_an_open_slot_holds_in_second_order_as_a_closed_one(k: int) -> None:
    """Its walls are the same there, and nothing pushes the wire to the floor or away from it (statics)."""
    closed = straight_between(STEP)
    first, second = engage(closed), engage(opened(closed, k))
    assert np.abs(loads(first) - loads(second)).max() < 1e-6
    for one in second.increments:
        assert one.snapshot.inside.tolist() == [1.0, 1.0]
        assert np.abs(one.snapshot.positions[:, 2]).max() < 0.02


@pytest.mark.parametrize(
    "name", ["v-bend", "six-geometries-brackets", "closing-loop", "step-bend-full-size-slots"]
)
def test_shipped_cases_in_open_slots(name: str) -> None:
    """Cases in second order: a slot without its front bears what it bears with it; through six stages too, in which a
    wire askew would bend less."""
    case = load_case(LIBRARY / f"{name}.toml")
    model = build_model(case)
    legs = legs_of(case, model)
    wanted = engage(model, legs=legs).last.snapshot
    for k in (0, 1):
        found = engage(opened(model, k), legs=legs).last.snapshot
        assert np.abs(found.force - wanted.force).max() < 1e-4 * np.abs(wanted.force).max()
        assert np.abs(found.moment - wanted.moment).max() < 1e-4 * np.abs(wanted.moment).max()


def test_what_is_pushed_out_comes_out() -> None:
    """A bracket that draws back from the wire by more than its depth keeps nothing."""
    back = Pose(np.array([DISTANCE, 0.0, -2.0]), np.eye(3))
    path = engage(opened(straight_between(back), 1))
    assert path.last.snapshot.inside.tolist() == [1.0, 0.0]
    assert not path.last.snapshot.any_force


def test_nothing_of_the_springs_is_left() -> None:
    """The state is in balance without them: Newton's method has nothing to do there."""
    problem = problem_of(opened(straight_between(STEP), 1))
    outcome = solve_near(problem, 0.5, 0.5, 60, barrier=True)
    assert outcome.code == CONVERGED and not problem.work.drag.any()
    again = solve(problem, 0.5)
    assert again.code == CONVERGED and again.iterations == 0


def test_only_open_slots_that_hold_the_wire_count() -> None:
    closed = straight_between(STEP)
    assert not may_float_out(problem_of(closed))
    assert may_float_out(problem_of(opened(closed, 1)))
    assert not may_float_out(problem_of(opened(closed, 1), (True, False)))
    ends = tuple(support.end for support in closed.supports)
    path = engage(opened(closed, 1), Options(), legs=[Leg("alone", ends, 2, (True, False))])
    assert not path.last.snapshot.any_force
