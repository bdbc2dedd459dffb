"""Sections as sums over their fibres, compiled: resultants, tangent and trial memory of many sections at once.

A twisted section that yields warps otherwise than an elastic one.  Amplitudes of some more shapes of warping are found
within the section: Newton's method takes their resultants to zero, and they are condensed out of the tangent.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from fem.fibre_law_kernel import REMEMBERED, SUPERELASTIC, fibre
from geometry.compiled import kernel

Array = NDArray[np.float64]

MOST_STEPS = 30
MOST_HALVINGS = 8
AT_REST = 1e-12
"""Of the mean shear stress times the area: a resultant of warping that counts as none."""
ROUNDING = 1e-8
"""The same where a step of Newton's method cannot make it smaller."""
SHIFT = 1e-10
"""Of the elastic stiffness of warping: keeps a section that yields all over regular."""


@kernel
def fibres_in_turn(
    kind: int, law: Array, strains: Array, before: Array, after: Array, stress: Array, tangent: Array
) -> None:
    """Fibres (n,) each for itself: strains (n, 3), memory (n, 6), stress (n, 3) MPa, tangent (n, 3, 3)."""
    for i in range(len(strains)):
        fibre(kind, law, strains[i], before, after, i, stress[i], tangent[i])


@kernel
def _sum(
    kind: int,
    law: Array,
    weights: Array,
    axial: Array,
    shear: Array,
    e: Array,
    before: Array,
    after: Array,
    total: Array,
    stiff: Array,
) -> float:
    """Resultants (6 + k,) and tangent (6 + k, 6 + k) for strains and amplitudes ``e`` (6 + k,); gives the mean shear
    stress times the area."""
    size, count = len(e), shear.shape[2]
    place = np.empty(count, np.int64)
    for j in range(count):
        place[j] = j + 1 if j < 3 else j + 3
    ends = (0, 4, 5)
    strain, stress, law_tangent = np.empty(3), np.empty(3), np.empty((3, 3))
    total[:] = 0.0
    stiff[:, :] = 0.0
    square, area = 0.0, 0.0
    for n in range(len(weights)):
        strain[:] = 0.0
        for j in range(3):
            strain[0] += axial[n, j] * e[ends[j]]
        for j in range(count):
            strain[1] += shear[n, 0, j] * e[place[j]]
            strain[2] += shear[n, 1, j] * e[place[j]]
        fibre(kind, law, strain, before, after, n, stress, law_tangent)
        w = weights[n]
        square += w * (stress[1] * stress[1] + stress[2] * stress[2])
        area += w
        d00, d01, d02 = w * law_tangent[0, 0], w * law_tangent[0, 1], w * law_tangent[0, 2]
        d11, d12, d22 = w * law_tangent[1, 1], w * law_tangent[1, 2], w * law_tangent[2, 2]
        for j in range(3):
            a = axial[n, j]
            total[ends[j]] += w * a * stress[0]
            for i in range(j + 1):
                stiff[ends[i], ends[j]] += axial[n, i] * a * d00
        for j in range(count):
            y, z = shear[n, 0, j], shear[n, 1, j]
            total[place[j]] += w * (y * stress[1] + z * stress[2])
            along, up, down = y * d01 + z * d02, y * d11 + z * d12, y * d12 + z * d22
            for i in range(3):
                stiff[ends[i], place[j]] += axial[n, i] * along
            for i in range(j + 1):
                stiff[place[i], place[j]] += shear[n, 0, i] * up + shear[n, 1, i] * down
    # axial against shear stands in one triangle or in the other
    for i in range(size):
        for j in range(i):
            both = stiff[i, j] + stiff[j, i]
            stiff[i, j] = stiff[j, i] = both
    return math.sqrt(square * area)


@kernel
def _condense(stiff: Array, total: Array, shift: float) -> None:
    """Amplitudes of warping eliminated in place: the leading (6, 6) of the tangent is what is left of it."""
    for p in range(len(total) - 1, 5, -1):
        pivot = max(stiff[p, p], 0.0) + shift
        for i in range(p):
            share = stiff[i, p] / pivot
            total[i] -= share * total[p]
            for j in range(i, p):
                stiff[i, j] -= share * stiff[j, p]
                stiff[j, i] = stiff[i, j]


@kernel
def _step(stiff: Array, total: Array, shift: float, move: Array) -> None:
    """``move`` (k,): stiffness of warping inverse times its resultants."""
    count = len(move)
    matrix = stiff[6:, 6:].copy()
    for i in range(count):
        move[i] = total[6 + i]
    for p in range(count):
        pivot = max(matrix[p, p], 0.0) + shift
        matrix[p, p] = pivot
        for i in range(p + 1, count):
            share = matrix[i, p] / pivot
            move[i] -= share * move[p]
            for j in range(p + 1, count):
                matrix[i, j] -= share * matrix[p, j]
    for p in range(count - 1, -1, -1):
        for j in range(p + 1, count):
            move[p] -= matrix[p, j] * move[j]
        move[p] /= matrix[p, p]


@kernel
def sections_over_fibres(
    kind: int,
    law: Array,
    weights: Array,
    axial: Array,
    shear: Array,
    strains: Array,
    before: Array,
    after: Array,
    resultants: Array,
    tangents: Array,
) -> int:
    """Resultants (m, 6) and tangents (m, 6, 6) of m sections with strains (m, 6), memory before and after
    (m, n + r, 6); gives how many sections found no warping.

    ``weights`` (n,) mm^2; ``axial`` (n, 3): what stretch and the two curvatures stretch a fibre by; ``shear``
    (n, 2, 3 + k): what the two shears, the twist and k amplitudes of warping shear it by.  The last r rows of a memory
    hold these amplitudes, as many as fit.  Order of the six: see ``fem.section_law``.
    """
    more = shear.shape[2] - 3
    fibres, size = len(weights), 6 + more
    shift = SHIFT * weights.sum() * (law[0] / law[1] if kind == SUPERELASTIC else law[1])
    e, total, stiff, move, kept = (
        np.empty(size),
        np.empty(size),
        np.empty((size, size)),
        np.empty(more),
        np.empty(more),
    )
    unsettled = 0
    for m in range(len(strains)):
        e[:6] = strains[m]
        for p in range(more):
            e[6 + p] = before[m, fibres + p // REMEMBERED, p % REMEMBERED]
        scale = _sum(kind, law, weights, axial, shear, e, before[m], after[m], total, stiff)
        left = math.sqrt((total[6:] ** 2).sum())
        settled = left <= AT_REST * scale
        for _ in range(MOST_STEPS):
            if settled:
                break
            _step(stiff, total, shift, move)
            kept[:] = e[6:]
            share, rest = 1.0, left
            for _ in range(MOST_HALVINGS):
                e[6:] = kept - share * move
                scale = _sum(kind, law, weights, axial, shear, e, before[m], after[m], total, stiff)
                rest = math.sqrt((total[6:] ** 2).sum())
                if rest < left:
                    break
                share *= 0.5
            if rest >= left:
                e[6:] = kept
                scale = _sum(kind, law, weights, axial, shear, e, before[m], after[m], total, stiff)
                settled = left <= ROUNDING * scale
                break
            left = rest
            settled = left <= AT_REST * scale
        if not settled:
            unsettled += 1
        after[m, fibres:, :] = 0.0
        for p in range(more):
            after[m, fibres + p // REMEMBERED, p % REMEMBERED] = e[6 + p]
        _condense(stiff, total, shift)
        resultants[m] = total[:6]
        tangents[m] = stiff[:6, :6]
    return unsettled
