"""Joints: a point of one wire held to a point of another, exactly; a hook, or a tie.

A joint is made of holds (holds_kernel), whose frame is a point that moves along with the other wire:

    w = E_k . (x_a - x_b - R_b X)        x_a, x_b the two nodes, R_b the axes of the other, E the joint's axes, mm

X is where the first point shall be, seen from the other node: its way from the passive place to the arm between the two
wires (none, where their centre lines meet) is that of the joint's frame.  The wrench on node b is that of the opposite
force where x_a is held, so a joint bears forces and no couple.

The force is the multiplier of a hold.  What its weight adds to the matrix joins nodes that are no neighbours, and is
taken in as the links are (links_kernel); second derivatives touch one node each:

    along exponential motions of b, with e = R_b^T E_k:   -e.(t x u)/2   and   -((e.t)(X.t) - (e.X) t.t)/2"""

from __future__ import annotations

from geometry.compiled import kernel


@kernel
def evaluate_joints(frame_position, frame_axes, holds, positions, axes, value, other_gradient):
    """value (h,) and other_gradient (h, 6) along the other node's motion; that of the first node is as for any hold."""
    for h in range(holds.node.size):
        b = holds.other[h]
        if b < 0:
            continue
        a = holds.node[h]
        f = holds.frame[h]
        k = holds.kind[h]
        total = 0.0
        for c in range(3):
            total += frame_axes[f, c, k] * (positions[a, c] - positions[b, c])
        for j in range(3):
            e = 0.0
            for c in range(3):
                e += axes[b, c, j] * frame_axes[f, c, k]
            other_gradient[h, j] = -e
            total -= e * frame_position[f, j]
        for j in range(3):
            j1 = (j + 1) % 3
            j2 = (j + 2) % 3
            other_gradient[h, 3 + j] = (
                frame_position[f, j1] * other_gradient[h, j2] - frame_position[f, j2] * other_gradient[h, j1]
            )
        value[h] = total


@kernel
def take_joint_weights(other, weight, joint_weight):
    """Weights of joints out of those of holds, which stand in the blocks of single nodes."""
    for h in range(other.size):
        if other[h] >= 0:
            joint_weight[h] = weight[h]
            weight[h] = 0.0


@kernel
def add_joint_forces(holds, other_gradient, force, out):
    """out (n, 6) += force (h,) x gradient at the other nodes."""
    for h in range(holds.node.size):
        if holds.other[h] >= 0:
            for j in range(6):
                out[holds.other[h], j] += force[h] * other_gradient[h, j]


@kernel
def joint_steps(holds, gradient, other_gradient, weight, value, step, hold_step):
    """hold_step (h,) of joints = change of their forces for the step (n, 6): method of multipliers."""
    for h in range(holds.node.size):
        b = holds.other[h]
        if b < 0:
            continue
        total = value[h]
        for j in range(6):
            total += gradient[h, j] * step[holds.node[h], j] + other_gradient[h, j] * step[b, j]
        hold_step[h] = -weight[h] * total


@kernel
def add_joint_curvature(frame_position, holds, force, other_gradient, diagonal):
    """diagonal -= force x second derivative along exponential motions of the other nodes."""
    for h in range(holds.node.size):
        b = holds.other[h]
        if b < 0:
            continue
        x = frame_position[holds.frame[h]]
        block = diagonal[b]
        along = 0.0
        for j in range(3):
            along -= other_gradient[h, j] * x[j]
        for j in range(3):
            j1 = (j + 1) % 3
            j2 = (j + 2) % 3
            half = -0.5 * force[h] * other_gradient[h, j]
            block[3 + j1, j2] += half
            block[j2, 3 + j1] += half
            block[3 + j2, j1] -= half
            block[j1, 3 + j2] -= half
            block[3 + j, 3 + j] -= force[h] * along
            for k in range(3):
                block[3 + j, 3 + k] -= (
                    0.5 * force[h] * (other_gradient[h, j] * x[k] + x[j] * other_gradient[h, k])
                )
