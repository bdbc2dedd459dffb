"""Holds: one coordinate of one node kept where a frame says.

kind 0, 1, 2   position along the frame's axis:   w = E_k . (x - X)                              (mm)
kind 3, 4, 5   turning about the frame's axis:    w = e_k . log(E^T d)                           (rad)

E holds the axes of the frame, d those of the node.  The logarithm, unlike a sine, is zero at no other turn below a
whole one and grows with the turn: a held section comes round the short way in one step, and never stops half a turn
further on.  With P(w) as in geometry.motion, along a body motion the logarithm changes by P, and row k of P by
(e_k~/2 + odd part of dP^T e_k / dw) P.

Ties, stops, clamps and the roll hold are made of these.  A hold's force is its multiplier: N, or N mm for a
turning."""

from __future__ import annotations

import numpy as np

from fem.beam_kernel import odd_part
from geometry.compiled import kernel
from geometry.motion import jacobian_coefficients, rotation_logarithm


@kernel
def _turn_from(frame_axes, axes, w):
    """w (3,) = logarithm of the turn from the frame's axes (3, 3) to the node's."""
    r = np.empty(9)
    for j in range(3):
        for k in range(3):
            r[3 * j + k] = (
                frame_axes[0, j] * axes[0, k] + frame_axes[1, j] * axes[1, k] + frame_axes[2, j] * axes[2, k]
            )
    w[0], w[1], w[2] = rotation_logarithm(r[0], r[1], r[2], r[3], r[4], r[5], r[6], r[7], r[8])


@kernel
def _jacobian_row(w, k, out):
    """out (3,) = row k of P(w)."""
    s = w[0] * w[0] + w[1] * w[1] + w[2] * w[2]
    c, _, _ = jacobian_coefficients(s)
    for j in range(3):
        out[j] = c * w[k] * w[j]
    out[k] += 1.0 - c * s
    a = (k + 1) % 3
    b = (k + 2) % 3
    out[a] -= 0.5 * w[b]
    out[b] += 0.5 * w[a]


@kernel
def evaluate_holds(frame_position, frame_axes, node, frame, kind, positions, axes, value, gradient):
    """value (h,) and gradient (h, 6) along the node's body motion."""
    turn = np.empty(3)
    for h in range(node.size):
        i = node[h]
        f = frame[h]
        k = kind[h]
        for j in range(6):
            gradient[h, j] = 0.0
        total = 0.0
        if k < 3:
            for c in range(3):
                total += frame_axes[f, c, k] * (positions[i, c] - frame_position[f, c])
                for j in range(3):
                    gradient[h, j] += axes[i, c, j] * frame_axes[f, c, k]
        else:
            _turn_from(frame_axes[f], axes[i], turn)
            total = turn[k - 3]
            _jacobian_row(turn, k - 3, gradient[h, 3:])
        value[h] = total


@kernel
def add_hold_forces(node, gradient, force, out):
    """out (n, 6) += force (h,) x gradient."""
    for h in range(node.size):
        for j in range(6):
            out[node[h], j] += force[h] * gradient[h, j]


@kernel
def hold_steps(node, gradient, weight, value, step, hold_step):
    """hold_step (h,) = change of the hold forces for the step (n, 6): method of multipliers."""
    for h in range(node.size):
        total = value[h]
        for j in range(6):
            total += gradient[h, j] * step[node[h], j]
        hold_step[h] = -weight[h] * total


@kernel
def add_hold_curvature(frame_axes, node, frame, kind, force, gradient, weight, axes, diagonal):
    """diagonal += weight gradient gradient^T - force x second derivative along exponential motions."""
    turn = np.empty(3)
    unit = np.empty(3)
    jacobian = np.empty((3, 3))
    change = np.empty((3, 3))
    for h in range(node.size):
        i = node[h]
        f = frame[h]
        k = kind[h]
        block = diagonal[i]
        for r in range(6):
            for c in range(6):
                block[r, c] += weight[h] * gradient[h, r] * gradient[h, c]
        if k < 3:
            for j in range(3):  # theta . (u x b) / 2 with b = gradient[:3]
                j1 = (j + 1) % 3
                j2 = (j + 2) % 3
                half = -0.5 * force[h] * gradient[h, j]
                block[3 + j1, j2] += half
                block[j2, 3 + j1] += half
                block[3 + j2, j1] -= half
                block[j1, 3 + j2] -= half
        else:
            _turn_from(frame_axes[f], axes[i], turn)
            s = turn[0] * turn[0] + turn[1] * turn[1] + turn[2] * turn[2]
            c, c1, _ = jacobian_coefficients(s)
            for j in range(3):
                unit[j] = 1.0 if j == k - 3 else 0.0
                _jacobian_row(turn, j, jacobian[j])
            odd_part(turn, s, c, c1, unit, change)
            change[(k - 2) % 3, (k - 1) % 3] -= 0.5
            change[(k - 1) % 3, (k - 2) % 3] += 0.5
            for r in range(3):
                for j in range(3):
                    second = 0.0
                    for q in range(3):
                        second += change[r, q] * jacobian[q, j]
                    block[3 + r, 3 + j] -= 0.5 * force[h] * second
                    block[3 + j, 3 + r] -= 0.5 * force[h] * second
