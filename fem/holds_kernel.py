"""Holds: one coordinate of one node kept where a frame says.

kind 0, 1, 2   position along the frame's axis:   w = E_k . (x - X)                              (mm)
kind 3, 4, 5   turning about the frame's axis:    w = E_k . sum_i (E_i x d_i) / 2                (sine of the angle, 1)

Ties, stops, clamps and the roll hold are made of these.  A hold's force is its multiplier: N, or N mm for a
turning."""

from __future__ import annotations

from geometry.compiled import kernel


@kernel
def evaluate_holds(frame_position, frame_axes, node, frame, kind, positions, axes, value, gradient):
    """value (h,) and gradient (h, 6) along the node's body motion."""
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
            # about axis k: (d_a . E_b - d_b . E_a)/2 with (k, a, b) in cyclic order
            a = (k - 3 + 1) % 3
            b = (k - 3 + 2) % 3
            for c in range(3):
                total += 0.5 * (axes[i, c, a] * frame_axes[f, c, b] - axes[i, c, b] * frame_axes[f, c, a])
            # derivative of d_a . E along theta is theta . (e_a x R^T E)
            for sign, column, other in ((0.5, a, b), (-0.5, b, a)):
                j1 = (column + 1) % 3
                j2 = (column + 2) % 3
                v1 = 0.0
                v2 = 0.0
                for c in range(3):
                    v1 += axes[i, c, j1] * frame_axes[f, c, other]
                    v2 += axes[i, c, j2] * frame_axes[f, c, other]
                gradient[h, 3 + j1] -= sign * v2
                gradient[h, 3 + j2] += sign * v1
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
            a = (k - 3 + 1) % 3
            b = (k - 3 + 2) % 3
            for sign, column, other in ((0.5, a, b), (-0.5, b, a)):
                s = -force[h] * sign
                along = 0.0
                for j in range(3):
                    v = 0.0
                    for c in range(3):
                        v += axes[i, c, j] * frame_axes[f, c, other]
                    if j == column:
                        along = v
                    block[3 + j, 3 + column] += 0.5 * s * v
                    block[3 + column, 3 + j] += 0.5 * s * v
                for j in range(3):
                    block[3 + j, 3 + j] -= s * along
