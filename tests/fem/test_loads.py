"""Dead loads against differences of their work."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fem.loads_kernel import add_load_curvature, subtract_loads
from tests.fem_problems import dense, hessian, moved_frames, random_pose, slope

Array = NDArray[np.float64]

POSES = [random_pose(np.random.default_rng(seed)) for seed in range(3)]
POSITIONS = np.array([p.position for p in POSES])
AXES = np.array([p.axes for p in POSES])
FORCES = np.hstack((np.random.default_rng(9).normal(size=(3, 3)), np.zeros((3, 3))))
FORCES[1] = 0.0


def energy(steps: Array) -> float:
    """Minus the work of the forces."""
    positions, axes = moved_frames(POSITIONS, AXES, steps)
    return float(subtract_loads(positions, axes, FORCES, np.zeros((3, 6))))


def test_residual_is_the_derivative_of_minus_the_work() -> None:
    residual = np.full((3, 6), np.nan)
    subtract_loads(POSITIONS, AXES, FORCES, residual)
    differences = slope(lambda steps: np.array(energy(steps)), 18)
    np.testing.assert_allclose(residual.ravel(), differences, rtol=0.0, atol=1e-10)


def test_curvature_is_the_second_derivative() -> None:
    diagonal = np.zeros((3, 6, 6))
    add_load_curvature(AXES, FORCES, diagonal)
    np.testing.assert_allclose(dense(diagonal, np.zeros((2, 6, 6))), hessian(energy, 18), rtol=0.0, atol=1e-7)


def test_moments_keep_their_direction_in_the_world() -> None:
    moments = np.hstack((np.zeros((3, 3)), FORCES[:, :3]))
    residual = np.full((3, 6), np.nan)
    assert subtract_loads(POSITIONS, AXES, moments, residual) == 0.0
    world = np.einsum("nij,nj->ni", AXES, residual[:, 3:])
    np.testing.assert_allclose(world, -moments[:, 3:], rtol=0.0, atol=1e-15)
    assert not residual[:, :3].any()
