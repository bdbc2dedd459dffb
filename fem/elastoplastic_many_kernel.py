"""Many elastoplastic fibres at once: the law of fem.fibre_law_kernel, side by side.

As fem.superelastic_many_kernel does it: loops that make no choices, so that the compiler puts several fibres into one
instruction.  The growth of p is found by Newton's method from where it would be if the trial stress kept its direction,
which is exact for one stress alone.  A fibre for which that does not settle between its bounds goes to the law that
takes one fibre at a time."""

from __future__ import annotations

import math

import numpy as np

from fem.fibre_law_kernel import ELASTOPLASTIC, alone
from fem.superelastic_kernel import NEAR, ON_THE_WAY
from fem.superelastic_many_kernel import EVENLY, LANES
from geometry.compiled import kernel

MOST_TOGETHER = 8
(
    X, Y, Z, BOUND, STEP, LOW, HIGH, FLOWS, KEEP_X, KEEP_YZ, FLOW_X, FLOW_Y, FLOW_Z, STIFF, ACROSS, PART, SETTLED,
) = range(17)  # fmt: skip
"""Rows of the work: trial stress less back stress; bound; growth of p and its bounds; 1 where it grows; shares of the
trial stress that are kept; flow; stiffness along and across before flow takes its ``PART``; 1 where it is
settled."""


@kernel
def elastoplastic_many(law, strains, before, after, chosen, count, told):
    """Of the first ``count`` fibres of ``chosen`` (n,): columns of ``told`` (9, n) and rows of ``after`` (n, 6).

    ``strains`` (3, n); ``told``: stress (3) and tangent, 00, 01, 02, 11, 12, 22."""
    work = np.empty((17, LANES))
    youngs, shear, strength, isotropic, kinematic = law[0], law[1], law[2], law[3], law[4]
    axial, across = youngs + kinematic, 3.0 * shear + kinematic
    for begin in range(0, count, LANES):
        used = min(count - begin, LANES)
        filled = (used + EVENLY - 1) // EVENLY * EVENLY
        for i in range(filled):
            n = chosen[begin + min(i, used - 1)]
            work[X, i] = youngs * (strains[0, n] - before[n, 0]) - kinematic * before[n, 0]
            work[Y, i] = shear * (strains[1, n] - before[n, 1]) - kinematic * before[n, 1] / 3.0
            work[Z, i] = shear * (strains[2, n] - before[n, 2]) - kinematic * before[n, 2] / 3.0
            work[BOUND, i] = strength + isotropic * before[n, 3]
        for i in range(filled):
            x, y, z, bound = work[X, i], work[Y, i], work[Z, i], work[BOUND, i]
            pull, turn = x * x, 3.0 * (y * y + z * z)
            trial = math.sqrt(pull + turn)
            flows = trial > (1.0 + ON_THE_WAY) * bound
            over = trial - bound if flows else 0.0
            work[FLOWS, i] = 1.0 if flows else 0.0
            work[LOW, i] = over / (max(axial, across) + isotropic)
            work[HIGH, i] = over / (min(axial, across) + isotropic)
            square = trial * trial if flows else 1.0
            work[STEP, i] = over / ((pull * axial + turn * across) / square + isotropic)
        for _ in range(MOST_TOGETHER):
            moving = 0
            for i in range(filled):
                x, y, z, bound, step = work[X, i], work[Y, i], work[Z, i], work[BOUND, i], work[STEP, i]
                pull, turn = x * x, 3.0 * (y * y + z * z)
                wanted = bound + isotropic * step
                ratio = step / wanted
                a, t = 1.0 / (1.0 + ratio * axial), 1.0 / (1.0 + ratio * across)
                q = math.sqrt(pull * a * a + turn * t * t)
                slope = pull * axial * a * a * a + turn * across * t * t * t
                slope *= -bound / (q * wanted * wanted)
                change = work[FLOWS, i] * (q - wanted) / (slope - isotropic)
                work[STEP, i] = step - change
                far = abs(change) > NEAR * step
                work[SETTLED, i] = 0.0 if far else 1.0
                moving += 1 if far else 0
            if moving == 0:
                break
        for i in range(filled):
            step, bound, flows = work[STEP, i], work[BOUND, i], work[FLOWS, i]
            x, y, z = work[X, i], work[Y, i], work[Z, i]
            q = bound + isotropic * step
            ratio = step / q
            down, less = 1.0 / (1.0 + ratio * axial), 1.0 / (1.0 + ratio * across)
            flow_x, flow_y, flow_z = down * x / q, 3.0 * less * y / q, 3.0 * less * z / q
            weight = axial * down * flow_x * flow_x
            weight += across / 3.0 * less * (flow_y * flow_y + flow_z * flow_z)
            keep = 1.0 - ratio * isotropic
            work[PART, i] = flows * keep / (isotropic + keep * weight)
            work[FLOW_X, i], work[FLOW_Y, i], work[FLOW_Z, i] = flow_x, flow_y, flow_z
            work[KEEP_X, i], work[KEEP_YZ, i] = youngs * down, shear * less
            work[STIFF, i] = youngs - youngs * youngs / axial * (1.0 - down)
            work[ACROSS, i] = shear - 3.0 * shear * shear / across * (1.0 - less)
            room = 4.0 * NEAR * step
            within = (step >= work[LOW, i] - room) & (step <= work[HIGH, i] + room)
            work[SETTLED, i] = work[SETTLED, i] if within else 0.0
        for i in range(used):
            n = chosen[begin + i]
            if work[SETTLED, i] == 0.0:
                alone(ELASTOPLASTIC, law, strains, before, after, n, told)
                continue
            step, part = work[STEP, i], work[PART, i]
            flow_x, flow_y, flow_z = work[FLOW_X, i], work[FLOW_Y, i], work[FLOW_Z, i]
            after[n, 0] = before[n, 0] + step * flow_x
            after[n, 1] = before[n, 1] + step * flow_y
            after[n, 2] = before[n, 2] + step * flow_z
            after[n, 3], after[n, 4] = before[n, 3] + step, before[n, 4]
            after[n, 5] = before[n, 5] + step * (work[BOUND, i] + 0.5 * isotropic * step)
            told[0, n] = youngs * (strains[0, n] - after[n, 0])
            told[1, n] = shear * (strains[1, n] - after[n, 1])
            told[2, n] = shear * (strains[2, n] - after[n, 2])
            flow_x *= work[KEEP_X, i]
            flow_y *= work[KEEP_YZ, i]
            flow_z *= work[KEEP_YZ, i]
            told[3, n] = work[STIFF, i] - part * flow_x * flow_x
            told[4, n], told[5, n] = -part * flow_x * flow_y, -part * flow_x * flow_z
            told[6, n] = work[ACROSS, i] - part * flow_y * flow_y
            told[7, n] = -part * flow_y * flow_z
            told[8, n] = work[ACROSS, i] - part * flow_z * flow_z
