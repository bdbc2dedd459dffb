"""Poses against the rotations of scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.pose import Pose, rotation_about


@pytest.mark.parametrize("axis", [(1, 0, 0), (0, 2, 0), (0.3, -0.4, 1.2)])
@pytest.mark.parametrize("angle", [-3.0, 0.0, 1e-9, 0.5, 2.0])
def test_rotation_about_an_axis(axis: tuple[float, float, float], angle: float) -> None:
    expected = Rotation.from_rotvec(angle * np.array(axis) / np.linalg.norm(axis)).as_matrix()
    np.testing.assert_allclose(rotation_about(axis, angle), expected, atol=1e-15)


def test_angles_turn_about_moving_axes_y_then_z_then_x() -> None:
    pose = Pose.from_angles((1, 2, 3), about_y=0.4, about_z=-0.7, about_x=2.1)
    expected = Rotation.from_euler("YZX", (0.4, -0.7, 2.1)).as_matrix()
    np.testing.assert_allclose(pose.axes, expected, atol=1e-15)
    np.testing.assert_allclose(pose.angles(), (0.4, -0.7, 2.1), atol=1e-15)


def test_columns_of_the_axes_are_the_axes() -> None:
    pose = Pose.from_angles((1, 2, 3), about_y=0.4, about_z=-0.7, about_x=2.1)
    np.testing.assert_allclose(pose.to_world((1, 0, 0)) - pose.position, pose.axes[:, 0], atol=1e-15)
    np.testing.assert_allclose(pose.to_world((0, 0, 1)) - pose.position, pose.axes[:, 2], atol=1e-15)


def test_compose_and_inverse_follow_points() -> None:
    outer, inner = Pose.from_angles((1, 2, 3), 0.4, -0.7, 2.1), Pose.from_angles((-1, 0, 5), -1.0, 0.2, 0.3)
    points = np.array([[0.0, 0.0, 0.0], [1.0, -2.0, 0.5]])
    np.testing.assert_allclose(
        outer.compose(inner).to_world(points), outer.to_world(inner.to_world(points)), atol=1e-14
    )
    np.testing.assert_allclose(outer.inverse().to_world(points), outer.to_local(points), atol=1e-14)
    np.testing.assert_allclose(outer.to_local(outer.to_world(points)), points, atol=1e-14)


def test_a_pose_is_read_only_and_right_handed() -> None:
    pose = Pose.identity()
    with pytest.raises(ValueError, match="read-only"):
        pose.position[0] = 1.0
    with pytest.raises(ValueError, match="right-handed"):
        Pose(np.zeros(3), np.diag((1.0, 1.0, -1.0)))
    with pytest.raises(ValueError, match="finite"):
        Pose(np.array([np.nan, 0, 0]), np.eye(3))
    with pytest.raises(ValueError, match="position"):
        Pose(np.zeros(2), np.eye(3))
    with pytest.raises(ValueError, match="zero vector"):
        rotation_about((0, 0, 0), 1.0)
