"""A wire that snaps is let down to rest: the drag's derivatives, and the same rest as by increments."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from fem import snapping
from fem.advance import Options
from fem.drag_kernel import add_drag, add_drag_stiffness
from fem.equilibrium import Outcome, problem_of
from fem.model import Clamp, Model
from fem.path import engage
from fem.recovery import snapshot_of
from fem.status import Status
from geometry.pose import Pose
from geometry.section import Rectangle
from geometry.wire_shapes import PassiveShape, Straight
from tests.fem_problems import (
    Held,
    dense,
    hessian,
    moved_frames,
    random_pose,
    slope,
    steel_law,
    straight_between,
    wire_between,
)

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
    snapshot = snapshot_of(found.problem, 1.0, found.outcome.floor)
    assert found.rubbed == 0.0 and found.set_free > 0.0
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


def pushed_column(shortening: float) -> Model:
    """A strip, 60 mm long, between clamps that near each other by ``shortening`` (mm)."""
    shape, section = PassiveShape((Straight(60.0),)), Rectangle(0.5, 2.0)
    near = Pose(np.array([60.0 - shortening, 0.0, 0.0]), np.eye(3))
    held = [Held(Clamp(), 0.0, Pose.identity()), Held(Clamp(), 60.0, near)]
    return wire_between(shape, section, steel_law(section), held, 2.0)


def test_a_straight_column_snaps_to_the_bent_one() -> None:
    """Clamped at both ends it leaves the straight line at P = 4 pi^2 EI/L^2 (Euler), and bent it bears hardly more, by
    the share shortening/(2 L) of it to first order (Timoshenko & Gere, Theory of Elastic Stability, ch. 2.7; from
    memory).  The energy set free is what the straight column has more at the same ends: (P - Euler's P)^2 L/(2 EA)."""
    shortening = 0.3
    model = pushed_column(shortening)
    axial, bending = float(model.law.stiffness[0]), float(model.law.stiffness[5])
    euler = 4.0 * math.pi**2 * bending / 60.0**2
    straight = axial * shortening / 60.0
    assert straight > 5.0 * euler
    kept = engage(model, Options(increments=1))
    assert kept.status is Status.UNSTABLE
    assert kept.last.snapshot.force[0, 0] == pytest.approx(-straight, rel=1e-6)
    snapped = engage(model, Options(increments=1, snap=True))
    assert snapped.status is Status.ENGAGED
    force = -float(snapped.last.snapshot.force[0, 0])
    assert force == pytest.approx(euler, rel=1e-2)
    assert np.abs(snapped.last.snapshot.positions[:, 1]).max() > 1.0
    (snap,) = [one for one in snapped.increments if one.let_down]
    over = snap.activation * straight - euler
    assert over > 0.0
    assert snap.set_free == pytest.approx(0.5 * over**2 * 60.0 / axial, rel=2e-2)


def test_nothing_is_let_down_where_the_column_is_stable() -> None:
    path = engage(pushed_column(0.01), Options(increments=1, snap=True))
    assert path.status is Status.ENGAGED and not path.last.let_down and path.last.set_free == 0.0
