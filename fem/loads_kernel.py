"""Dead loads at nodes: forces and moments that keep their direction in the world."""

from __future__ import annotations

from geometry.compiled import kernel


@kernel
def subtract_loads(positions, axes, loads, residual):
    """residual (n, 6) = -loads in body axes;

    returns minus the work of the forces (moments have no potential).
    """
    energy = 0.0
    for i in range(positions.shape[0]):
        for j in range(3):
            force = 0.0
            moment = 0.0
            for k in range(3):
                force += axes[i, k, j] * loads[i, k]
                moment += axes[i, k, j] * loads[i, 3 + k]
            residual[i, j] = -force
            residual[i, 3 + j] = -moment
            energy -= loads[i, j] * positions[i, j]
    return energy


@kernel
def add_load_curvature(axes, loads, diagonal):
    """diagonal += second derivative of minus the work along exponential motions:

    (theta x u)/2 times the force.
    """
    for i in range(axes.shape[0]):
        if loads[i, 0] == 0.0 and loads[i, 1] == 0.0 and loads[i, 2] == 0.0:
            continue
        for j in range(3):
            j1 = (j + 1) % 3
            j2 = (j + 2) % 3
            half = 0.0
            for k in range(3):
                half -= 0.5 * axes[i, k, j] * loads[i, k]
            diagonal[i, 3 + j1, j2] += half
            diagonal[i, j2, 3 + j1] += half
            diagonal[i, 3 + j2, j1] -= half
            diagonal[i, j1, 3 + j2] -= half
