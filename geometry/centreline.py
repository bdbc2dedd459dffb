"""Frames along a piece of constant curvature: the exponential of a constant motion, in closed form.

A frame that advances along its own tangent d1 while turning at the constant rate ``curvature`` (rad/mm, seen
in the frame itself) obeys R' = R [curvature]x and x' = R e1.  With the rotation vector v = curvature * s and
K = [v]x,

    R(s) = 1 + a K + b K^2,    x(s) = s (1 + b K + c K^2) e1,
    a = sin t / t,   b = (1 - cos t) / t^2,   c = (t - sin t) / t^3,   t = |v|

(Murray, Li & Sastry, A Mathematical Introduction to Robotic Manipulation, 1994, section 2.3; from memory).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.polynomial.polynomial import polyval
from numpy.typing import NDArray

Array = NDArray[np.float64]

# (t - sin t)/t^3 cancels for small t; below one radian nine terms of its series reach rounding.
SERIES_BELOW = 1.0
SERIES = tuple((-1.0) ** n / math.factorial(2 * n + 3) for n in range(9))


def cross_matrices(vectors: Array) -> Array:
    """Matrices (n, 3, 3) that take the cross product with ``vectors`` (n, 3) from the left."""
    k = np.zeros((len(vectors), 3, 3))
    x, y, z = vectors.T
    k[:, 0, 1], k[:, 0, 2], k[:, 1, 2] = -z, y, -x
    k[:, 1, 0], k[:, 2, 0], k[:, 2, 1] = z, -y, x
    return k


def cross_products(a: Array, b: Array) -> Array:
    """Row by row, (n, 3): numpy's own spends longer on its options than on the product."""
    ax, ay, az = a.T
    bx, by, bz = b.T
    return np.array((ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx)).T


def _third_coefficient(t: Array) -> Array:
    """(t - sin t)/t^3 for t >= 0, to rounding."""
    small = t < SERIES_BELOW
    near, far = np.where(small, t, 0.0), np.where(small, 1.0, t)
    coefficient: Array = np.where(small, polyval(near * near, SERIES), (far - np.sin(far)) / far**3)
    return coefficient


def advance(curvature: Array, length: Array) -> tuple[Array, Array]:
    """Positions (n, 3) in mm and axes (n, 3, 3) after a ``length`` (n,) in mm of constant curvature.

    ``curvature`` (n, 3) in rad/mm holds twist, first-order and second-order curvature about the wire's axes.
    Each starts at the origin with axes = identity.  Exact for any turn, whole circles included, and for no
    curvature.
    """
    turn = curvature * length[:, None]
    t = np.linalg.norm(turn, axis=1)
    k = cross_matrices(turn)
    kk = k @ k
    a = np.sinc(t / np.pi)[:, None, None]
    b = (0.5 * np.sinc(0.5 * t / np.pi) ** 2)[:, None, None]
    c = _third_coefficient(t)[:, None, None]
    one = np.eye(3)
    axes = one + a * k + b * kk
    positions = length[:, None] * (one + b * k + c * kk)[:, :, 0]
    return positions, axes
