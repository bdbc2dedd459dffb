"""A wire that snaps is let down to rest: the drag's derivatives, and the same rest as by increments."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from fem import snapping
from fem.advance import Options
from fem.drag_kernel import add_drag, add_drag_stiffness
from fem.equilibrium import Outcome, problem_of
from fem.model import Model
from fem.path import engage
from fem.recovery import snapshot_of
from geometry.pose import Pose
from tests.fem_problems import dense, hessian, moved_frames, random_pose, slope, straight_between

Array = NDArray[np.float64]


def test_the_drag_has_the_derivatives_of_its_energy() -> None:
    """Central differences, also far from where the springs are at rest."""
    draw = np.random.default_rng(3)
    poses = [random_pose(draw) for _ in range(6)]
    places = np.array([pose.position for pose in poses])
    axes = np.array([pose.axes for pose in poses])
    drag = draw.uniform(1.0, 2.0, 3)

    def energy(steps: Array) -> float:
        frames = moved_frames(places[:3], axes[:3], steps)
        return float(add_drag(*frames, drag, places[3:], axes[3:], np.zeros((3, 6))))

    residual, diagonal = np.zeros((3, 6)), np.zeros((3, 6, 6))
    add_drag(places[:3], axes[:3], drag, places[3:], axes[3:], residual)
    add_drag_stiffness(places[:3], axes[:3], drag, places[3:], axes[3:], diagonal)
    first = slope(lambda steps: np.array([energy(steps)]), 18)
    np.testing.assert_allclose(residual.ravel(), first.ravel(), rtol=0.0, atol=1e-7)
    matrix = dense(diagonal, np.zeros((2, 6, 6)))
    np.testing.assert_allclose(matrix, hessian(energy, 18, step=5e-4), rtol=0.0, atol=1e-5)


def step_bend() -> Model:
    """A straight wire between two slots, one 1.5 mm higher."""
    return straight_between(Pose(np.array([10.0, 1.5, 0.0]), np.eye(3)))


def test_let_down_at_once_the_wire_comes_to_the_rest_that_increments_find() -> None:
    """Without friction the way does not count; the nodes have followed differently, so the two may differ by what
    refining a mesh may change, 0.2 %."""
    model = step_bend()
    expected = engage(model).last.snapshot
    found = snapping.let_down(problem_of(model), 0, 1.0, Options())
    assert not isinstance(found, Outcome)
    problem, outcome, lost = found
    snapshot = snapshot_of(problem, 1.0, outcome.floor)
    assert lost == 0.0
    largest = np.abs(expected.force).max()
    assert largest > 0.1
    np.testing.assert_allclose(snapshot.force, expected.force, rtol=0.0, atol=2e-3 * largest)


def test_a_wire_that_does_not_come_to_rest_is_put_back(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = problem_of(step_bend())
    before = problem.state.positions.copy()
    monkeypatch.setattr(snapping, "MOST_MOMENTS", 1)
    assert isinstance(snapping.let_down(problem, 0, 1.0, Options()), Outcome)
    np.testing.assert_array_equal(problem.state.positions, before)
    assert not problem.work.drag.any()
