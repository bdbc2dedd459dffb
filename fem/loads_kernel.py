"""Loads at nodes: dead ones keep their direction in the world, followers turn with the node.

Only dead forces have a potential.  At a balance where the others act with the wrench w = (n, m) in the node's axes, the
derivative of the rest differs from its symmetric part by the commutator of the node's motions,

    (1/2) [[0, n~], [n~, m~]],   and a dead moment itself turns back:  -m~

(Murray, Li & Sastry, A Mathematical Introduction to Robotic Manipulation (1994), ch. 2, for the commutator).  With it
Newton's method ends quadratically; stability is read without it."""

from __future__ import annotations

from geometry.compiled import kernel


@kernel
def subtract_loads(positions, axes, loads, residual):
    """residual (n, 6) = -loads in body axes;

    returns minus the work of the dead forces (moments and followers have no potential).
    """
    dead, follower = loads.dead, loads.follower
    energy = 0.0
    for i in range(positions.shape[0]):
        for j in range(3):
            force = 0.0
            moment = 0.0
            for k in range(3):
                force += axes[i, k, j] * dead[i, k]
                moment += axes[i, k, j] * dead[i, 3 + k]
            residual[i, j] = -force - follower[i, j]
            residual[i, 3 + j] = -moment - follower[i, 3 + j]
            energy -= dead[i, j] * positions[i, j]
    return energy


@kernel
def add_load_curvature(axes, loads, diagonal):
    """diagonal += second derivative of minus the work along exponential motions:

    (theta x u)/2 times the force.
    """
    dead = loads.dead
    for i in range(axes.shape[0]):
        if dead[i, 0] == 0.0 and dead[i, 1] == 0.0 and dead[i, 2] == 0.0:
            continue
        for j in range(3):
            j1 = (j + 1) % 3
            j2 = (j + 2) % 3
            half = 0.0
            for k in range(3):
                half -= 0.5 * axes[i, k, j] * dead[i, k]
            diagonal[i, 3 + j1, j2] += half
            diagonal[i, j2, 3 + j1] += half
            diagonal[i, 3 + j2, j1] -= half
            diagonal[i, j1, 3 + j2] -= half


@kernel
def loads_turn(loads):
    """Whether any load has no potential."""
    dead, follower = loads.dead, loads.follower
    for i in range(dead.shape[0]):
        for j in range(6):
            if follower[i, j] != 0.0 or (j > 2 and dead[i, j] != 0.0):
                return True
    return False


@kernel
def add_load_turning(axes, loads, diagonal):
    """diagonal += what the symmetric matrix leaves out of the derivative of loads without a potential."""
    dead, follower = loads.dead, loads.follower
    for i in range(axes.shape[0]):
        for j in range(3):
            j1 = (j + 1) % 3
            j2 = (j + 2) % 3
            moment = 0.0
            for k in range(3):
                moment += axes[i, k, j] * dead[i, 3 + k]
            half = 0.5 * follower[i, j]
            turn = 0.5 * (follower[i, 3 + j] - moment)
            # of v~, (j1, j2) is -v_j and (j2, j1) is v_j
            diagonal[i, j1, 3 + j2] -= half
            diagonal[i, j2, 3 + j1] += half
            diagonal[i, 3 + j1, j2] -= half
            diagonal[i, 3 + j2, j1] += half
            diagonal[i, 3 + j1, 3 + j2] -= turn
            diagonal[i, 3 + j2, 3 + j1] += turn
