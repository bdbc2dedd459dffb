"""Dead loads against differences of their work."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Links, Loads
from fem.loads_kernel import add_load_curvature, add_load_turning, loads_turn, subtract_loads
from geometry.motion import relative_motion
from tests.fem_problems import dense, hessian, moved_frames, random_pose, slope

Array = NDArray[np.float64]

POSES = [random_pose(np.random.default_rng(seed)) for seed in range(3)]
POSITIONS = np.array([p.position for p in POSES])
AXES = np.array([p.axes for p in POSES])
FORCES = np.hstack((np.random.default_rng(9).normal(size=(3, 3)), np.zeros((3, 3))))
FORCES[1] = 0.0
NONE = np.zeros((3, 6))
EMPTY = np.zeros(0)
NOWHERE = np.zeros(0, dtype=np.int64)
NO_LINKS = Links(NOWHERE, NOWHERE, EMPTY, EMPTY, np.zeros(0, dtype=np.bool_))
DEAD = Loads(FORCES, NONE, NO_LINKS)


def energy(steps: Array) -> float:
    """Minus the work of the forces."""
    positions, axes = moved_frames(POSITIONS, AXES, steps)
    return float(subtract_loads(positions, axes, DEAD, np.zeros((3, 6))))


def test_residual_is_the_derivative_of_minus_the_work() -> None:
    residual = np.full((3, 6), np.nan)
    subtract_loads(POSITIONS, AXES, DEAD, residual)
    differences = slope(lambda steps: np.array(energy(steps)), 18)
    np.testing.assert_allclose(residual.ravel(), differences, rtol=0.0, atol=1e-10)


def test_curvature_is_the_second_derivative() -> None:
    diagonal = np.zeros((3, 6, 6))
    add_load_curvature(AXES, DEAD, diagonal)
    np.testing.assert_allclose(dense(diagonal, np.zeros((2, 6, 6))), hessian(energy, 18), rtol=0.0, atol=1e-7)


def test_moments_keep_their_direction_in_the_world() -> None:
    moments = np.hstack((np.zeros((3, 3)), FORCES[:, :3]))
    residual = np.full((3, 6), np.nan)
    assert subtract_loads(POSITIONS, AXES, Loads(moments, NONE, NO_LINKS), residual) == 0.0
    world = np.einsum("nij,nj->ni", AXES, residual[:, 3:])
    np.testing.assert_allclose(world, -moments[:, 3:], rtol=0.0, atol=1e-15)
    assert not residual[:, :3].any()


def test_followers_keep_their_direction_in_the_section() -> None:
    residual = np.full((3, 6), np.nan)
    assert subtract_loads(POSITIONS, AXES, Loads(NONE, FORCES, NO_LINKS), residual) == 0.0
    np.testing.assert_array_equal(residual, -FORCES)


def test_only_dead_forces_have_a_potential() -> None:
    assert not loads_turn(DEAD)
    assert loads_turn(Loads(NONE, FORCES, NO_LINKS))
    assert loads_turn(Loads(np.hstack((NONE[:, :3], FORCES[:, :3])), NONE, NO_LINKS))


def test_turning_is_what_the_symmetric_part_leaves_out() -> None:
    """A body that a potential holds in balance against a follower and a dead moment: the derivative of all wrenches is
    the symmetric matrix and the turning."""
    rng = np.random.default_rng(2)
    follower, moment = np.zeros((3, 6)), np.zeros((3, 6))
    follower[0], moment[0, 3:] = rng.normal(size=6), rng.normal(size=3)
    loads = Loads(moment, follower, NO_LINKS)
    wrench = -subtracted(loads)
    root = rng.normal(size=(6, 6))
    stiff = root @ root.T

    def held(steps: Array) -> Array:
        """Gradient of w.x + x.K x/2 in the coordinates x of exponential motions, seen by the moved body."""
        return slope(lambda more: potential(np.concatenate((steps[:6], more))), 6)

    def potential(both: Array) -> Array:
        positions, axes = moved_frames(POSITIONS[:1], AXES[:1], both[:6])
        positions, axes = moved_frames(positions, axes, both[6:])
        x = np.empty(6)
        relative_motion(POSITIONS[0], AXES[0], positions[0], axes[0], x)
        return np.array(wrench[0] @ x + 0.5 * x @ stiff @ x)

    def residual(steps: Array) -> Array:
        positions, axes = moved_frames(POSITIONS, AXES, np.concatenate((steps, np.zeros(12))))
        out = np.zeros((3, 6))
        subtract_loads(positions, axes, loads, out)
        return held(steps) + out[0]

    assert np.abs(residual(np.zeros(6))).max() < 1e-9
    diagonal = np.zeros((3, 6, 6))
    add_load_turning(AXES, loads, diagonal)
    differences = slope(residual, 6, step=1e-3).T
    np.testing.assert_allclose(stiff + diagonal[0], differences, rtol=0.0, atol=1e-6)


def subtracted(loads: Loads) -> Array:
    """What the loads leave in the residual."""
    out = np.zeros((3, 6))
    subtract_loads(POSITIONS, AXES, loads, out)
    return out
