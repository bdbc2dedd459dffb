"""Frames of constant curvature against the matrix exponential of scipy and against the circular helix."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.linalg

from geometry.centreline import SERIES_BELOW, advance


def by_matrix_exponential(curvature: np.ndarray, length: float) -> tuple[np.ndarray, np.ndarray]:
    """The same motion as the exponential of a 4x4 matrix, by scipy's Pade approximation."""
    x, y, z = curvature
    rate = np.array([[0, -z, y, 1], [z, 0, -x, 0], [-y, x, 0, 0], [0, 0, 0, 0]], dtype=float)
    motion = scipy.linalg.expm(rate * length)
    return motion[:3, 3], motion[:3, :3]


@pytest.mark.parametrize("turn", [0.0, 1e-12, 1e-5, 1e-2, 0.3, 0.9999, 1.0001, 2.0, math.pi, 6.0, 12.0])
@pytest.mark.parametrize("axis", [(1, 0, 0), (0, 1, 0), (0, 0, -1), (0.48, -0.6, 0.64)])
def test_advance_is_the_exponential(turn: float, axis: tuple[float, float, float]) -> None:
    length = 3.7
    curvature = np.array(axis) * turn / length
    position, axes = advance(curvature[None, :], np.array([length]))
    expected_position, expected_axes = by_matrix_exponential(curvature, length)
    np.testing.assert_allclose(position[0], expected_position, atol=2e-14 * length)
    np.testing.assert_allclose(axes[0], expected_axes, atol=2e-14)


def test_twist_with_bend_is_a_helix() -> None:
    """A curve of constant curvature k and torsion t is a helix of radius k/(k^2 + t^2) (from memory)."""
    k, t = 0.3, 0.4
    s = np.linspace(0.0, 40.0, 81)
    positions, _ = advance(np.tile((t, 0.0, k), (len(s), 1)), s)
    axis = np.array([t, 0.0, k]) / math.hypot(k, t)
    centre = np.array([0.0, k / (k * k + t * t), 0.0])
    along = positions @ axis
    radius = np.linalg.norm(positions - centre - along[:, None] * axis, axis=1)
    np.testing.assert_allclose(radius, k / (k * k + t * t), rtol=1e-13)
    np.testing.assert_allclose(along, s * t / math.hypot(k, t), atol=1e-13)


def test_both_sides_of_the_series_meet() -> None:
    lengths = np.array([SERIES_BELOW * (1 - 1e-15), SERIES_BELOW])
    positions, axes = advance(np.tile((0.0, 0.0, 1.0), (2, 1)), lengths)
    np.testing.assert_allclose(positions[0], positions[1], atol=3e-15)
    np.testing.assert_allclose(axes[0], axes[1], atol=3e-15)


def test_a_slight_curvature_gives_its_sag_to_full_precision() -> None:
    # y = k s^2/2 (1 - (k s)^2/12 + ...), x = s (1 - (k s)^2/6 + ...): the first neglected terms are below
    # rounding.
    k, s = 1e-5, 20.0
    positions, _ = advance(np.array([[0.0, 0.0, k]]), np.array([s]))
    assert positions[0, 1] == pytest.approx(0.5 * k * s**2 * (1 - (k * s) ** 2 / 12), rel=1e-14)
    assert positions[0, 0] == pytest.approx(s * (1 - (k * s) ** 2 / 6), rel=1e-14)
