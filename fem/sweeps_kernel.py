"""Small sweeps over nodes and walls that an increment needs: scales, copies, steps."""

from __future__ import annotations

import numpy as np

from geometry.compiled import kernel
from geometry.motion import move_frame

HOLD_WEIGHT = 1e4  # times the largest stiffness: speed of convergence of a held constraint, not its answer


@kernel
def force_scales(positions, lengths, compliance, stress, low, high, scales):
    """scales[:3] = largest force (N), largest moment (N mm), rounding floor of the balance (N); scales[5]: that of its
    moments (N mm)."""
    far = 0.0
    for i in range(positions.shape[0]):
        for j in range(3):
            far = max(far, abs(positions[i, j]))
    force = 0.0
    moment = 0.0
    stiff = 0.0
    turning = 0.0
    for e in range(lengths.size):
        for j in range(3):
            force = max(force, abs(stress[e, j]))
            moment = max(moment, abs(stress[e, 3 + j]))
        stiff = max(stiff, 1.0 / (compliance[e, 0] * lengths[e]))
        bending = 1.0 / min(compliance[e, 4], compliance[e, 5])
        turning = max(turning, bending / (lengths[e] * lengths[e]))
    for m in range(low.size):
        force = max(force, abs(low[m] - high[m]))
    scales[0] = force
    scales[1] = moment
    # twenty roundings of a coordinate times the stiffest spring between two nodes
    scales[2] = 20.0 * 2.2e-16 * far * stiff
    # and times the moment by which an element answers where its end stands beside
    scales[5] = max(scales[2], 20.0 * 2.2e-16 * far * turning)


@kernel
def largest_entries(right):
    """Largest force and moment entry of (n, 6); nan as soon as anything is not finite."""
    force = 0.0
    moment = 0.0
    for i in range(right.shape[0]):
        for j in range(3):
            a = abs(right[i, j])
            b = abs(right[i, 3 + j])
            if not (a <= 1e300 and b <= 1e300):
                return np.nan, np.nan
            force = max(force, a)
            moment = max(moment, b)
    return force, moment


@kernel
def stiffness_scales(diagonal, hold_node, hold_kind, hold_weight, scales):
    """scales[3:] = largest translation and rotation stiffness; hold weights from their own nodes."""
    u = 0.0
    r = 0.0
    for i in range(diagonal.shape[0]):
        for j in range(3):
            u = max(u, abs(diagonal[i, j, j]))
            r = max(r, abs(diagonal[i, 3 + j, 3 + j]))
    scales[3] = u
    scales[4] = r
    for h in range(hold_node.size):
        base = 0 if hold_kind[h] < 3 else 3
        largest = 0.0
        for j in range(base, base + 3):
            largest = max(largest, abs(diagonal[hold_node[h], j, j]))
        hold_weight[h] = HOLD_WEIGHT * largest


@kernel
def copy_state(flat, other_flat):
    """Everything that a step changes, into the other state."""
    for i in range(flat.size):
        other_flat[i] = flat[i]


@kernel
def place_nodes(old_positions, old_axes, step, length, turn, positions, axes):
    """Every node's old frame followed by ``length`` of its step."""
    for i in range(positions.shape[0]):
        move_frame(
            old_positions[i], old_axes[i],
            length * step[i, 0], length * step[i, 1], length * step[i, 2],
            length * step[i, 3], length * step[i, 4], length * step[i, 5],
            turn, positions[i], axes[i],
        )  # fmt: skip


@kernel
def remember_places(positions, axes, old_positions, old_axes):
    """Where the nodes are before a step."""
    for i in range(positions.shape[0]):
        for j in range(3):
            old_positions[i, j] = positions[i, j]
            for k in range(3):
                old_axes[i, j, k] = axes[i, j, k]


@kernel
def work_along(residual, step):
    """Derivative of the energy along the step."""
    total = 0.0
    for i in range(step.shape[0]):
        for j in range(6):
            total += residual[i, j] * step[i, j]
    return total


@kernel
def largest_wall_or_hold(low, d_low, high, d_high, hold_force, hold_step):
    """Largest force after a full step: the exact penalty must exceed it."""
    largest = 0.0
    for m in range(low.size):
        largest = max(largest, abs(low[m] + d_low[m] - high[m] - d_high[m]))
    for h in range(hold_force.size):
        largest = max(largest, abs(hold_force[h] + hold_step[h]))
    return largest
