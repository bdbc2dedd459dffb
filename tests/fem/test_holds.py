"""Holds against their definition and against differences, in all six kinds."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from fem.holds_kernel import add_hold_curvature, add_hold_forces, evaluate_holds, hold_steps
from geometry.pose import Pose
from tests.fem_problems import hessian, moved_frames, random_pose, slope

Array = NDArray[np.float64]

KINDS = np.arange(6, dtype=np.int64)
NODES = np.array([0, 1, 2, 2, 0, 1], dtype=np.int64)
FRAMES = np.array([1, 0, 1, 1, 0, 0], dtype=np.int64)


def far_apart(seed: int) -> tuple[Array, Array, Array, Array]:
    """Two frames and three nodes in any position: the derivatives must hold away from the held place too."""
    rng = np.random.default_rng(seed)
    poses = [random_pose(rng) for _ in range(5)]
    position = np.array([p.position for p in poses])
    axes = np.array([p.axes for p in poses])
    return position[:2], axes[:2], position[2:], axes[2:]


def evaluated(frames: tuple[Array, Array], positions: Array, axes: Array) -> tuple[Array, Array]:
    value, gradient = np.zeros(6), np.full((6, 6), np.nan)
    evaluate_holds(*frames, NODES, FRAMES, KINDS, positions, axes, value, gradient)
    return value, gradient


def test_values_are_what_they_are_called() -> None:
    frame_position, frame_axes, positions, axes = far_apart(1)
    value, _ = evaluated((frame_position, frame_axes), positions, axes)
    for h, kind in enumerate(KINDS):
        place, e = frame_position[FRAMES[h]], frame_axes[FRAMES[h]]
        x, d = positions[NODES[h]], axes[NODES[h]]
        if kind < 3:
            expected = e[:, kind] @ (x - place)
        else:
            expected = Rotation.from_matrix(e.T @ d).as_rotvec()[kind - 3]
        assert value[h] == pytest.approx(expected, abs=1e-14)


@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("angle", [1e-9, 0.3, -1.2, 2.0, -3.1])
def test_a_turn_about_its_axis_is_measured_by_its_angle(axis: int, angle: float) -> None:
    frame = random_pose(np.random.default_rng(2))
    turn = Rotation.from_rotvec(angle * np.eye(3)[axis]).as_matrix()
    node = frame.compose(Pose(np.array([0.1, 0.2, 0.3]), turn))
    kinds, zeros = np.arange(6, dtype=np.int64), np.zeros(6, dtype=np.int64)
    value, gradient = np.zeros(6), np.zeros((6, 6))
    frame_position, frame_axes = np.array(frame.position[None]), np.array(frame.axes[None])
    position, axes = np.array(node.position[None]), np.array(node.axes[None])
    evaluate_holds(frame_position, frame_axes, zeros, zeros, kinds, position, axes, value, gradient)
    expected = np.array([0.1, 0.2, 0.3, 0.0, 0.0, 0.0])
    expected[3 + axis] = angle
    np.testing.assert_allclose(value, expected, rtol=0.0, atol=1e-15)


@pytest.mark.parametrize("seed", [3, 4, 5])
def test_gradient_is_the_derivative(seed: int) -> None:
    frame_position, frame_axes, positions, axes = far_apart(seed)
    frames = (frame_position, frame_axes)
    _, gradient = evaluated(frames, positions, axes)
    whole = np.zeros((6, 3, 6))
    whole[np.arange(6), NODES] = gradient
    differences = slope(lambda steps: evaluated(frames, *moved_frames(positions, axes, steps))[0], 18)
    np.testing.assert_allclose(whole.reshape(6, 18), differences.T, rtol=0.0, atol=1e-11)


@pytest.mark.parametrize("kind", KINDS)
def test_curvature_is_the_second_derivative(kind: int) -> None:
    frame_position, frame_axes, positions, axes = far_apart(10 + kind)
    force, weight = np.zeros(6), np.zeros(6)
    force[kind] = 1.7
    frames = (frame_position, frame_axes)
    value, gradient = evaluated(frames, positions, axes)
    node = int(NODES[kind])

    def hold(steps: Array) -> float:
        whole = np.zeros((3, 6))
        whole[node] = steps
        return float(evaluated(frames, *moved_frames(positions, axes, whole))[0][kind])

    expected = -1.7 * hessian(hold, 6)
    diagonal = np.zeros((3, 6, 6))
    add_hold_curvature(frame_axes, NODES, FRAMES, KINDS, force, gradient, weight, axes, diagonal)
    np.testing.assert_allclose(diagonal[node], expected, rtol=0.0, atol=1e-8)
    weight[kind] = 3.0
    weighted = np.zeros((3, 6, 6))
    add_hold_curvature(frame_axes, NODES, FRAMES, KINDS, force, gradient, weight, axes, weighted)
    np.testing.assert_allclose(
        weighted[node] - diagonal[node], 3.0 * np.outer(gradient[kind], gradient[kind]), rtol=0.0, atol=1e-14
    )
    others = np.delete(np.arange(3), node)
    assert not diagonal[others].any()


def test_forces_add_up_at_their_nodes() -> None:
    frame_position, frame_axes, positions, axes = far_apart(20)
    _, gradient = evaluated((frame_position, frame_axes), positions, axes)
    force = np.array([1.0, -2.0, 3.0, 0.5, 0.0, -1.0])
    out = np.ones((3, 6))
    add_hold_forces(NODES, gradient, force, out)
    expected = np.ones((3, 6))
    np.add.at(expected, NODES, force[:, None] * gradient)
    np.testing.assert_allclose(out, expected, rtol=0.0, atol=1e-15)


def test_multipliers_step_against_what_is_left_open() -> None:
    """Method of multipliers: Nocedal & Wright, Numerical Optimization (2nd ed. 2006), eq. 17.39."""
    frame_position, frame_axes, positions, axes = far_apart(21)
    value, gradient = evaluated((frame_position, frame_axes), positions, axes)
    step = np.random.default_rng(6).normal(size=(3, 6))
    weight = np.linspace(1.0, 2.0, 6)
    out = np.zeros(6)
    hold_steps(NODES, gradient, weight, value, step, out)
    np.testing.assert_allclose(out, -weight * (value + (gradient * step[NODES]).sum(axis=1)), rtol=1e-13)
