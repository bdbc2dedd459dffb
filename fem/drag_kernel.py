"""Viscous drag on the nodes between one moment and the next, by which a wire that snaps is let down to rest.

A wire without inertia that a liquid holds back moves downhill in energy (gradient flow).  One step of it, by the
implicit Euler method, is the equilibrium under springs to where the nodes were a moment ago: the longer the moment, the
softer the springs (proximal point method: Rockafellar, SIAM J. Control Optim. 14 (1976) 877).  Per node:

    c/2 |x - x0|^2  +  c r^2 (3 - trace(R0^T R))          r = 1 mm

At rest nothing is left of it."""

from __future__ import annotations

from geometry.compiled import kernel


@kernel
def add_drag(positions, axes, drag, old_positions, old_axes, residual):
    """Adds the gradient in body axes to residual (n, 6); returns the energy of the springs ``drag`` (n,), N/mm."""
    energy = 0.0
    for i in range(drag.size):
        c = drag[i]
        if c == 0.0:
            continue
        for j in range(3):
            pull = 0.0
            for k in range(3):
                pull += axes[i, k, j] * (positions[i, k] - old_positions[i, k])
            residual[i, j] += c * pull
            along = positions[i, j] - old_positions[i, j]
            energy += 0.5 * c * along * along
        trace = 0.0
        for j in range(3):
            j1 = (j + 1) % 3
            j2 = (j + 2) % 3
            turned = 0.0
            for k in range(3):
                trace += old_axes[i, k, j] * axes[i, k, j]
                turned += old_axes[i, k, j2] * axes[i, k, j1] - old_axes[i, k, j1] * axes[i, k, j2]
            residual[i, 3 + j] += c * turned
        energy += c * (3.0 - trace)
    return energy


@kernel
def add_drag_stiffness(positions, axes, drag, old_positions, old_axes, diagonal):
    """diagonal (n, 6, 6) += second derivatives along exponential motions."""
    for i in range(drag.size):
        c = drag[i]
        if c == 0.0:
            continue
        trace = 0.0
        for j in range(3):
            for k in range(3):
                trace += old_axes[i, k, j] * axes[i, k, j]
        for j in range(3):
            j1 = (j + 1) % 3
            j2 = (j + 2) % 3
            diagonal[i, j, j] += c
            diagonal[i, 3 + j, 3 + j] += c * trace
            half = 0.0
            for k in range(3):
                half += 0.5 * c * axes[i, k, j] * (positions[i, k] - old_positions[i, k])
            # the pull turns with the node: as add_load_curvature
            diagonal[i, 3 + j1, j2] += half
            diagonal[i, j2, 3 + j1] += half
            diagonal[i, 3 + j2, j1] -= half
            diagonal[i, j1, 3 + j2] -= half
            for m in range(3):
                shared = 0.0
                for k in range(3):
                    shared += old_axes[i, k, j] * axes[i, k, m] + old_axes[i, k, m] * axes[i, k, j]
                diagonal[i, 3 + j, 3 + m] -= 0.5 * c * shared
