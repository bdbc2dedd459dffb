"""Compiled rigid motions: exponential and logarithm of rotations and of whole motions.

A motion is a position and three axes; its logarithm is the screw (u, w) that leads from one frame to the next
along a constant-pitch helix.  Notation: w~ is the cross-product matrix of w, theta = |w|, s = theta^2.

    exp(w~)  = I + (sin theta / theta) w~ + ((1 - cos theta) / s) w~^2                    (Rodrigues 1840)
    P(w)     = I + w~/2 + c(s) w~^2,   c(s) = (1 - (theta/2) cot(theta/2)) / s            inverse of the body Jacobian
    u        = P(w)^T r   for a relative position r seen from the first frame

Source of the screw form: Murray, Li & Sastry, A Mathematical Introduction to Robotic Manipulation (1994), ch.
2; of c and its use for beams: Sonneville, Cardona & Bruls, Comput. Methods Appl. Mech. Engng 268 (2014) 451.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.compiled import kernel

Array = NDArray[np.float64]

# c(s) = sum over k of |B_2k| / (2k)! s^(k-1): Abramowitz & Stegun (1964) 4.3.70 with the Bernoulli numbers of
# table 23.2.
_BERNOULLI = (
    1 / 6, 1 / 30, 1 / 42, 1 / 30, 5 / 66, 691 / 2730, 7 / 6, 3617 / 510, 43867 / 798, 174611 / 330, 854513 / 138,
    236364091 / 2730,
)  # fmt: skip


def _series() -> np.ndarray:
    out = np.empty(len(_BERNOULLI))
    factorial = 1.0
    for k, number in enumerate(_BERNOULLI, start=1):
        factorial *= (2 * k - 1) * (2 * k)
        out[k - 1] = number / factorial
    return out


C_SERIES = _series()
# The series converges like (s / 4 pi^2)^k: below this square angle twelve terms leave less than rounding.
SERIES_BELOW = 1.0


@kernel
def jacobian_coefficients(s):
    """c(s) and its first and second derivatives with respect to s, for s = theta^2 below (2 pi)^2."""
    if s < SERIES_BELOW:
        n = C_SERIES.size
        c = C_SERIES[n - 1]
        c1 = 0.0
        c2 = 0.0
        for k in range(n - 2, -1, -1):
            c2 = c2 * s + 2.0 * c1
            c1 = c1 * s + c
            c = c * s + C_SERIES[k]
        return c, c1, c2
    theta = np.sqrt(s)
    half = 0.5 * theta
    sine = np.sin(half)
    cot = np.cos(half) / sine
    h = half * cot  # (theta/2) cot(theta/2)
    csc2 = 1.0 / (sine * sine)
    # dh/dtheta = (cot - half csc^2)/2, d2h/dtheta2 = (half cot - 1) csc^2 / 2
    h_t = 0.5 * (cot - half * csc2)
    h_tt = 0.5 * (h - 1.0) * csc2
    # with s: d/ds = (1/2 theta) d/dtheta
    h_s = h_t / (2.0 * theta)
    h_ss = (h_tt - h_t / theta) / (4.0 * s)
    c = (1.0 - h) / s
    c1 = (-h_s - c) / s
    c2 = (-h_ss - 2.0 * c1) / s
    return c, c1, c2


@kernel
def rotation_exponential(wx, wy, wz, out):
    """out (3, 3) = exp(w~)."""
    s = wx * wx + wy * wy + wz * wz
    if s < 1e-6:
        a = 1.0 - s / 6.0 * (1.0 - s / 20.0)
        b = 0.5 - s / 24.0 * (1.0 - s / 30.0)
    else:
        theta = np.sqrt(s)
        a = np.sin(theta) / theta
        half = np.sin(0.5 * theta)
        b = 2.0 * half * half / s
    out[0, 0] = 1.0 - b * (wy * wy + wz * wz)
    out[1, 1] = 1.0 - b * (wx * wx + wz * wz)
    out[2, 2] = 1.0 - b * (wx * wx + wy * wy)
    out[0, 1] = b * wx * wy - a * wz
    out[1, 0] = b * wx * wy + a * wz
    out[0, 2] = b * wx * wz + a * wy
    out[2, 0] = b * wx * wz - a * wy
    out[1, 2] = b * wy * wz - a * wx
    out[2, 1] = b * wy * wz + a * wx


@kernel
def rotation_logarithm(m00, m01, m02, m10, m11, m12, m20, m21, m22):
    """w of a rotation matrix given by its entries, through the unit quaternion whose largest part is found
    first.

    Shepperd, J. Guidance and Control 1 (1978) 223: no loss of digits at any angle up to a half turn.
    """
    trace = m00 + m11 + m22
    if trace >= m00 and trace >= m11 and trace >= m22:
        q0 = 1.0 + trace
        qx = m21 - m12
        qy = m02 - m20
        qz = m10 - m01
    elif m00 >= m11 and m00 >= m22:
        q0 = m21 - m12
        qx = 1.0 + m00 - m11 - m22
        qy = m01 + m10
        qz = m02 + m20
    elif m11 >= m22:
        q0 = m02 - m20
        qx = m01 + m10
        qy = 1.0 - m00 + m11 - m22
        qz = m12 + m21
    else:
        q0 = m10 - m01
        qx = m02 + m20
        qy = m12 + m21
        qz = 1.0 - m00 - m11 + m22
    if q0 < 0.0:
        q0 = -q0
        qx = -qx
        qy = -qy
        qz = -qz
    vector = np.sqrt(qx * qx + qy * qy + qz * qz)
    if vector < 1e-8 * q0:
        factor = 2.0 / q0
    else:
        factor = 2.0 * np.arctan2(vector, q0) / vector
    return factor * qx, factor * qy, factor * qz


@kernel
def relative_motion(xa, ra, xb, rb, d):
    """d (6,) = logarithm (u, w) of the motion from frame a to frame b, seen from frame a."""
    r0 = xb[0] - xa[0]
    r1 = xb[1] - xa[1]
    r2 = xb[2] - xa[2]
    ux = ra[0, 0] * r0 + ra[1, 0] * r1 + ra[2, 0] * r2
    uy = ra[0, 1] * r0 + ra[1, 1] * r1 + ra[2, 1] * r2
    uz = ra[0, 2] * r0 + ra[1, 2] * r1 + ra[2, 2] * r2
    wx, wy, wz = rotation_logarithm(
        ra[0, 0] * rb[0, 0] + ra[1, 0] * rb[1, 0] + ra[2, 0] * rb[2, 0],
        ra[0, 0] * rb[0, 1] + ra[1, 0] * rb[1, 1] + ra[2, 0] * rb[2, 1],
        ra[0, 0] * rb[0, 2] + ra[1, 0] * rb[1, 2] + ra[2, 0] * rb[2, 2],
        ra[0, 1] * rb[0, 0] + ra[1, 1] * rb[1, 0] + ra[2, 1] * rb[2, 0],
        ra[0, 1] * rb[0, 1] + ra[1, 1] * rb[1, 1] + ra[2, 1] * rb[2, 1],
        ra[0, 1] * rb[0, 2] + ra[1, 1] * rb[1, 2] + ra[2, 1] * rb[2, 2],
        ra[0, 2] * rb[0, 0] + ra[1, 2] * rb[1, 0] + ra[2, 2] * rb[2, 0],
        ra[0, 2] * rb[0, 1] + ra[1, 2] * rb[1, 1] + ra[2, 2] * rb[2, 1],
        ra[0, 2] * rb[0, 2] + ra[1, 2] * rb[1, 2] + ra[2, 2] * rb[2, 2],
    )
    c, c1, c2 = jacobian_coefficients(wx * wx + wy * wy + wz * wz)
    # v = w x r;  u = r - v/2 + c w x v
    vx = wy * uz - wz * uy
    vy = wz * ux - wx * uz
    vz = wx * uy - wy * ux
    d[0] = ux - 0.5 * vx + c * (wy * vz - wz * vy)
    d[1] = uy - 0.5 * vy + c * (wz * vx - wx * vz)
    d[2] = uz - 0.5 * vz + c * (wx * vy - wy * vx)
    d[3] = wx
    d[4] = wy
    d[5] = wz


@kernel
def move_frame(x, r, h0, h1, h2, h3, h4, h5, turn, out_x, out_r):
    """out frame = frame (x, r) followed by the motion exp(h) in its own axes; ``turn`` (3, 3) is scratch."""
    s = h3 * h3 + h4 * h4 + h5 * h5
    if s < 1e-6:
        b = 0.5 - s / 24.0 * (1.0 - s / 30.0)
        e = 1.0 / 6.0 - s / 120.0 * (1.0 - s / 42.0)
    else:
        theta = np.sqrt(s)
        half = np.sin(0.5 * theta)
        b = 2.0 * half * half / s
        e = (1.0 - np.sin(theta) / theta) / s
    # translation of exp: h_u + b w x h_u + e w x (w x h_u)
    vx = h4 * h2 - h5 * h1
    vy = h5 * h0 - h3 * h2
    vz = h3 * h1 - h4 * h0
    tx = h0 + b * vx + e * (h4 * vz - h5 * vy)
    ty = h1 + b * vy + e * (h5 * vx - h3 * vz)
    tz = h2 + b * vz + e * (h3 * vy - h4 * vx)
    rotation_exponential(h3, h4, h5, turn)
    for i in range(3):
        out_x[i] = x[i] + r[i, 0] * tx + r[i, 1] * ty + r[i, 2] * tz
        a0 = r[i, 0]
        a1 = r[i, 1]
        a2 = r[i, 2]
        for j in range(3):
            out_r[i, j] = a0 * turn[0, j] + a1 * turn[1, j] + a2 * turn[2, j]


@kernel
def frames_along(nodes, positions, axes, arcs, out_positions, out_axes):
    """Frames at ``arcs`` (k,) of a chain of frames at ``nodes`` (n,):

    along the screw from each frame to the next.
    """
    screw = np.empty(6)
    turn = np.empty((3, 3))
    for i in range(arcs.size):
        e = min(max(np.searchsorted(nodes, arcs[i], side="right") - 1, 0), nodes.size - 2)
        part = (arcs[i] - nodes[e]) / (nodes[e + 1] - nodes[e])
        relative_motion(positions[e], axes[e], positions[e + 1], axes[e + 1], screw)
        for j in range(6):
            screw[j] *= part
        move_frame(
            positions[e], axes[e], screw[0], screw[1], screw[2], screw[3], screw[4], screw[5],
            turn, out_positions[i], out_axes[i],
        )  # fmt: skip


def frames_between(
    nodes: ArrayLike, positions: ArrayLike, axes: ArrayLike, arcs: ArrayLike
) -> tuple[Array, Array]:
    """Positions (k, 3) and axes (k, 3, 3) at arc lengths ``arcs`` (k,) in mm of a wire with frames at its ``nodes``
    (n,): along the screw from node to node, as the beam's elements go."""
    at = np.array(arcs, dtype=np.float64)
    there, turned = np.zeros((at.size, 3)), np.zeros((at.size, 3, 3))
    # copies: a read-only array would have the kernel compiled again
    frames_along(np.array(nodes), np.array(positions), np.array(axes), at, there, turned)
    return there, turned
