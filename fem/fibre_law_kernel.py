"""What one fibre answers to its strains: elastic, elastoplastic, superelastic; compiled.

A fibre of a wire carries an axial stress s and two shear stresses t = (t_y, t_z), work-conjugate to the axial strain e
and the two shear angles g; all other stresses are zero.  What it remembers is a row of six numbers, read as committed
and written as trial; nothing is kept elsewhere, so a failed step costs nothing.

Elastoplastic (von Mises, linear isotropic and kinematic hardening, backward Euler): with x = (s, t) - (a, b),

    q = sqrt(x_s^2 + 3 x_t^2) <= sigma_y + H_i p,   d(e_p, g_p) = dp (x_s, 3 x_t)/q,   (a, b) = H_k (e_p, g_p/3),

which is what the deviatoric back stress (2/3) H_k e_p of three dimensions leaves in this state of stress.

Superelastic: see fem.superelastic_kernel."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from fem.fibre_rows_kernel import LANES, NOW, STRAIN, TOLD
from fem.superelastic_kernel import ENOUGH, MOST_STEPS, ON_THE_WAY, superelastic
from geometry.compiled import kernel

Array = NDArray[np.float64]

ELASTIC, ELASTOPLASTIC, SUPERELASTIC = 0, 1, 2
REMEMBERED = 6
"""Numbers a fibre remembers. Elastoplastic: plastic strains (3), p, -, dissipated. Superelastic: strains (3), x, F,
dissipated (N mm/mm^3)."""


@kernel
def fibre(
    kind: int, law: Array, strain: Array, before: Array, after: Array, n: int, stress: Array, tangent: Array
) -> None:
    """Stress (3,) MPa, tangent (3, 3) and row n of ``after`` for strain (3,) and row n of the memory ``before``
    (fibres, 6).  Whole arrays and a number: taking a row of an array costs as much as the law."""
    if kind == ELASTOPLASTIC:
        elastoplastic(law, strain, before, after, n, stress, tangent)
    elif kind == SUPERELASTIC:
        superelastic(law, strain, before, after, n, stress, tangent)
    else:
        for i in range(3):
            for j in range(3):
                tangent[i, j] = 0.0
            tangent[i, i] = law[0] if i == 0 else law[1]
            stress[i] = tangent[i, i] * strain[i]
        for i in range(6):
            after[n, i] = before[n, i]


@kernel
def one_by_one(kind: int, law: Array, before: Array, used: int, good: int, rows: Array) -> None:
    """Answers and memory of those of the first ``used`` fibres of the ``rows`` that have a zero in the row ``good``;
    memory before (6, n)."""
    strain, stress, tangent = np.empty(3), np.empty(3), np.empty((3, 3))
    was, now = np.empty((1, REMEMBERED)), np.empty((1, REMEMBERED))
    for lane in range(used):
        if rows[good + lane] != 0.0:
            continue
        for j in range(3):
            strain[j] = rows[STRAIN + j * LANES + lane]
        for j in range(REMEMBERED):
            was[0, j] = before[j, lane]
        fibre(kind, law, strain, was, now, 0, stress, tangent)
        for j in range(REMEMBERED):
            rows[NOW + j * LANES + lane] = now[0, j]
        for j in range(3):
            rows[TOLD + j * LANES + lane] = stress[j]
            rows[TOLD + (3 + j) * LANES + lane] = tangent[0, j]
            rows[TOLD + (6 + j) * LANES + lane] = tangent[1, 1 + j] if j < 2 else tangent[2, 2]


@kernel
def elastoplastic(
    law: Array, strain: Array, before: Array, after: Array, n: int, stress: Array, tangent: Array
) -> None:
    """``law``: E, G, sigma_y, H_i, H_k (MPa)."""
    youngs, shear, strength, isotropic, kinematic = law[0], law[1], law[2], law[3], law[4]
    bound = strength + isotropic * before[n, 3]
    # what stands in x after an elastic step
    x = youngs * (strain[0] - before[n, 0]) - kinematic * before[n, 0]
    y = shear * (strain[1] - before[n, 1]) - kinematic * before[n, 1] / 3.0
    z = shear * (strain[2] - before[n, 2]) - kinematic * before[n, 2] / 3.0
    trial = math.sqrt(x * x + 3.0 * (y * y + z * z))
    if not trial > (1.0 + ON_THE_WAY) * bound:
        for i in range(6):
            after[n, i] = before[n, i]
        for i in range(3):
            for j in range(3):
                tangent[i, j] = 0.0
            tangent[i, i] = youngs if i == 0 else shear
            stress[i] = tangent[i, i] * (strain[i] - before[n, i])
        return
    axial, across = youngs + kinematic, 3.0 * shear + kinematic
    pull, turn = x * x, 3.0 * (y * y + z * z)
    step = _plastic_step(trial, bound, isotropic, axial, across, pull, turn)
    q = bound + isotropic * step
    ratio = step / q
    # what the trial stress x keeps; flow (1, 3, 3) x/q; both times the elastic stiffness
    down, less = 1.0 / (1.0 + ratio * axial), 1.0 / (1.0 + ratio * across)
    flow_x, flow_y, flow_z = down * x / q, 3.0 * less * y / q, 3.0 * less * z / q
    after[n, 0] = before[n, 0] + step * flow_x
    after[n, 1] = before[n, 1] + step * flow_y
    after[n, 2] = before[n, 2] + step * flow_z
    after[n, 3] = before[n, 3] + step
    after[n, 4] = before[n, 4]
    after[n, 5] = before[n, 5] + step * (bound + 0.5 * isotropic * step)
    stress[0] = youngs * (strain[0] - after[n, 0])
    stress[1] = shear * (strain[1] - after[n, 1])
    stress[2] = shear * (strain[2] - after[n, 2])
    weight = axial * down * flow_x * flow_x + across / 3.0 * less * (flow_y * flow_y + flow_z * flow_z)
    keep = 1.0 - ratio * isotropic
    part = keep / (isotropic + keep * weight)
    flow_x *= youngs * down
    flow_y *= shear * less
    flow_z *= shear * less
    tangent[0, 0] = youngs - youngs * youngs / axial * (1.0 - down) - part * flow_x * flow_x
    left = shear - 3.0 * shear * shear / across * (1.0 - less)
    tangent[1, 1] = left - part * flow_y * flow_y
    tangent[2, 2] = left - part * flow_z * flow_z
    tangent[0, 1] = tangent[1, 0] = -part * flow_x * flow_y
    tangent[0, 2] = tangent[2, 0] = -part * flow_x * flow_z
    tangent[1, 2] = tangent[2, 1] = -part * flow_y * flow_z


@kernel
def _plastic_step(
    trial: float, bound: float, isotropic: float, axial: float, across: float, pull: float, turn: float
) -> float:
    """Growth of p: the root of q(step) = bound + H_i step, by Newton's method kept inside its bounds."""
    over = trial - bound
    low = over / (max(axial, across) + isotropic)
    high = over / (min(axial, across) + isotropic)
    step = over / ((pull * axial + turn * across) / (trial * trial) + isotropic)
    for _ in range(MOST_STEPS):
        wanted = bound + isotropic * step
        ratio = step / wanted
        a, t = 1.0 + ratio * axial, 1.0 + ratio * across
        q = math.sqrt(pull / (a * a) + turn / (t * t))
        miss = q - wanted
        if abs(miss) <= ENOUGH * trial:
            break
        if miss > 0.0:
            low = step
        else:
            high = step
        slope = -(pull * axial / (a * a * a) + turn * across / (t * t * t)) / q * bound / (wanted * wanted)
        step -= miss / (slope - isotropic)
        if not low <= step <= high:
            step = 0.5 * (low + high)
    return step
