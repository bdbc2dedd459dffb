"""Many elastoplastic fibres at once: the law of fem.fibre_law_kernel, side by side.

As fem.superelastic_many_kernel does it: loops that make no choices, so that the compiler puts several fibres into one
instruction.  The growth of p is found by Newton's method from where it would be if the trial stress kept its direction,
which is exact for one stress alone.  A fibre for which that does not settle between its bounds goes to the law that
takes one fibre at a time."""

from __future__ import annotations

import math

from fem.fibre_law_kernel import ELASTOPLASTIC, one_by_one
from fem.fibre_rows_kernel import COUNTED, FREE, LANES, NOW, STRAIN, TOLD
from fem.superelastic_kernel import NEAR, ON_THE_WAY
from geometry.compiled import fusing_kernel

MOST_TOGETHER = 8
X, Y, Z, BOUND, STEP, FLOWS, SETTLED = range(FREE, FREE + 7 * LANES, LANES)
"""Rows of the work: trial stress less back stress; bound; growth of p; 1 where it grows; 1 where it is settled."""


@fusing_kernel
def elastoplastic_many(law, before, used, rows):
    """Answers (TOLD) and memory (NOW) of the first ``used`` fibres of the ``rows``, as many as go evenly together;
    memory before (6, n)."""
    youngs, shear, strength, isotropic, kinematic = law[0], law[1], law[2], law[3], law[4]
    axial, across = youngs + kinematic, 3.0 * shear + kinematic
    fast, slow = max(axial, across) + isotropic, min(axial, across) + isotropic
    for i in range(used):
        x = youngs * (rows[STRAIN + i] - before[0, i]) - kinematic * before[0, i]
        y = shear * (rows[STRAIN + LANES + i] - before[1, i]) - kinematic * before[1, i] / 3.0
        z = shear * (rows[STRAIN + 2 * LANES + i] - before[2, i]) - kinematic * before[2, i] / 3.0
        bound = strength + isotropic * before[3, i]
        pull, turn = x * x, 3.0 * (y * y + z * z)
        trial = math.sqrt(pull + turn)
        flows = trial > (1.0 + ON_THE_WAY) * bound
        over = trial - bound if flows else 0.0
        square = trial * trial if flows else 1.0
        rows[X + i], rows[Y + i], rows[Z + i], rows[BOUND + i] = x, y, z, bound
        rows[FLOWS + i] = 1.0 if flows else 0.0
        rows[STEP + i] = over / ((pull * axial + turn * across) / square + isotropic)
    for _ in range(MOST_TOGETHER):
        moving = 0
        for i in range(used):
            x, y, z, bound, step = rows[X + i], rows[Y + i], rows[Z + i], rows[BOUND + i], rows[STEP + i]
            pull, turn = x * x, 3.0 * (y * y + z * z)
            wanted = bound + isotropic * step
            ratio = step / wanted
            a, t = 1.0 / (1.0 + ratio * axial), 1.0 / (1.0 + ratio * across)
            q = math.sqrt(pull * a * a + turn * t * t)
            slope = pull * axial * a * a * a + turn * across * t * t * t
            slope *= -bound / (q * wanted * wanted)
            change = rows[FLOWS + i] * (q - wanted) / (slope - isotropic)
            rows[STEP + i] = step - change
            far = abs(change) > NEAR * step
            rows[SETTLED + i] = 0.0 if far else 1.0
            moving += 1 if far & (rows[COUNTED + i] != 0.0) else 0
        if moving == 0:
            break
    odd = 0
    for i in range(used):
        step, bound, flows = rows[STEP + i], rows[BOUND + i], rows[FLOWS + i]
        x, y, z = rows[X + i], rows[Y + i], rows[Z + i]
        q = bound + isotropic * step
        ratio = step / q
        down, less = 1.0 / (1.0 + ratio * axial), 1.0 / (1.0 + ratio * across)
        flow_x, flow_y, flow_z = down * x / q, 3.0 * less * y / q, 3.0 * less * z / q
        weight = axial * down * flow_x * flow_x
        weight += across / 3.0 * less * (flow_y * flow_y + flow_z * flow_z)
        keep = 1.0 - ratio * isotropic
        part = flows * keep / (isotropic + keep * weight)
        over = math.sqrt(x * x + 3.0 * (y * y + z * z)) - bound if flows == 1.0 else 0.0
        room = 4.0 * NEAR * step
        fits = (step >= over / fast - room) & (step <= over / slow + room) & (rows[SETTLED + i] == 1.0)
        asked = rows[COUNTED + i] != 0.0
        rows[SETTLED + i] = 1.0 if fits | (not asked) else 0.0
        odd += 1 if asked & (not fits) else 0
        told = fits & asked
        plastic_x = before[0, i] + step * flow_x
        plastic_y, plastic_z = before[1, i] + step * flow_y, before[2, i] + step * flow_z
        rows[TOLD + i] = youngs * (rows[STRAIN + i] - plastic_x) if told else 0.0
        rows[TOLD + LANES + i] = shear * (rows[STRAIN + LANES + i] - plastic_y) if told else 0.0
        rows[TOLD + 2 * LANES + i] = shear * (rows[STRAIN + 2 * LANES + i] - plastic_z) if told else 0.0
        rows[NOW + i] = plastic_x if told else 0.0
        rows[NOW + LANES + i] = plastic_y if told else 0.0
        rows[NOW + 2 * LANES + i] = plastic_z if told else 0.0
        rows[NOW + 3 * LANES + i] = before[3, i] + step if told else 0.0
        rows[NOW + 4 * LANES + i] = before[4, i]
        lost = step * (bound + 0.5 * isotropic * step)
        rows[NOW + 5 * LANES + i] = before[5, i] + (lost if told else 0.0)
        flow_x *= youngs * down
        flow_y *= shear * less
        flow_z *= shear * less
        along = youngs - youngs * youngs / axial * (1.0 - down)
        aside = shear - 3.0 * shear * shear / across * (1.0 - less)
        rows[TOLD + 3 * LANES + i] = along - part * flow_x * flow_x if told else 0.0
        rows[TOLD + 4 * LANES + i] = -part * flow_x * flow_y if told else 0.0
        rows[TOLD + 5 * LANES + i] = -part * flow_x * flow_z if told else 0.0
        rows[TOLD + 6 * LANES + i] = aside - part * flow_y * flow_y if told else 0.0
        rows[TOLD + 7 * LANES + i] = -part * flow_y * flow_z if told else 0.0
        rows[TOLD + 8 * LANES + i] = aside - part * flow_z * flow_z if told else 0.0
    if odd > 0:
        one_by_one(ELASTOPLASTIC, law, before, used, SETTLED, rows)
