"""Sections of elements as sums over their fibres: what they answer, and what they tell of themselves; compiled.

Fibres that have never yielded are in the section's elastic stiffness, which is exact; only the others are asked."""

from __future__ import annotations

import math

import numpy as np

from fem.fibre_law_kernel import SUPERELASTIC, fibre, potential
from geometry.compiled import kernel

SHIFT = 1e-9  # of the elastic stiffness: keeps a section that yields all over regular


@kernel
def section(fibres, e, before, after, weighs, strain, stress, tangent, total, stiff):
    """Resultants (s,) and tangent (s, s; lower half) for strains and amplitudes ``e`` (s,); memory before and after
    (n, 6).  Fibres that have never yielded are in the elastic stiffness; only the others are asked.  Gives the
    potential of the step per length of wire where it ``weighs``."""
    kind, law, weights, axial, shear = fibres.kind[0], fibres.law, fibres.weights, fibres.axial, fibres.shear
    youngs, rigidity, limit = fibres.moduli[0], fibres.moduli[1], fibres.moduli[2]
    bound = limit * limit
    size = e.size
    count = shear.shape[2]
    energy = 0.0
    for i in range(size):
        total[i] = fibres.elastic[i] * e[i]
        energy += 0.5 * total[i] * e[i]
        for j in range(i):
            stiff[i, j] = 0.0
        stiff[i, i] = fibres.elastic[i]
    for n in range(weights.size):
        s0 = axial[n, 0] * e[0] + axial[n, 1] * e[4] + axial[n, 2] * e[5]
        s1 = shear[n, 0, 0] * e[1] + shear[n, 0, 1] * e[2] + shear[n, 0, 2] * e[3]
        s2 = shear[n, 1, 0] * e[1] + shear[n, 1, 1] * e[2] + shear[n, 1, 2] * e[3]
        for j in range(3, count):
            s1 += shear[n, 0, j] * e[3 + j]
            s2 += shear[n, 1, j] * e[3 + j]
        x, y, z = youngs * s0, rigidity * s1, rigidity * s2
        if before[n, 3] == 0.0 and x * x + 3.0 * (y * y + z * z) <= bound:
            after[n, 3] = after[n, 4] = 0.0
            after[n, 5] = before[n, 5]
            if kind == SUPERELASTIC:
                after[n, 0], after[n, 1], after[n, 2] = s0, s1, s2
            else:
                after[n, 0] = after[n, 1] = after[n, 2] = 0.0
            continue
        strain[0], strain[1], strain[2] = s0, s1, s2
        fibre(kind, law, strain, before, after, n, stress, tangent)
        w = weights[n]
        energy += w * (potential(kind, law, strain, stress, after, n) - 0.5 * (s0 * x + s1 * y + s2 * z))
        x, y, z = w * (stress[0] - x), w * (stress[1] - y), w * (stress[2] - z)
        a4, a5 = axial[n, 1], axial[n, 2]
        a0 = axial[n, 0]
        total[0] += a0 * x
        total[4] += a4 * x
        total[5] += a5 * x
        d = w * (tangent[0, 0] - youngs)
        stiff[0, 0] += a0 * a0 * d
        stiff[4, 0] += a4 * a0 * d
        stiff[5, 0] += a5 * a0 * d
        stiff[4, 4] += a4 * a4 * d
        stiff[5, 4] += a5 * a4 * d
        stiff[5, 5] += a5 * a5 * d
        d01, d02 = w * tangent[0, 1], w * tangent[0, 2]
        d11, d12, d22 = w * (tangent[1, 1] - rigidity), w * tangent[1, 2], w * (tangent[2, 2] - rigidity)
        for j in range(count):
            along_y, along_z = shear[n, 0, j], shear[n, 1, j]
            at = j + 1 if j < 3 else j + 3
            total[at] += along_y * y + along_z * z
            both = along_y * d01 + along_z * d02
            stiff[at, 0] += a0 * both
            if j < 3:
                stiff[4, at] += a4 * both
                stiff[5, at] += a5 * both
            else:
                stiff[at, 4] += a4 * both
                stiff[at, 5] += a5 * both
            up, down = along_y * d11 + along_z * d12, along_y * d12 + along_z * d22
            for i in range(j + 1):
                other = i + 1 if i < 3 else i + 3
                stiff[at, other] += shear[n, 0, i] * up + shear[n, 1, i] * down
    return energy


@kernel
def condense(elastic, total, stiff, relief):
    """Amplitudes of warping eliminated from resultants and tangent (lower half), in place; relief (k, 7): what they
    change by for each strain, and by themselves."""
    size = total.size
    for p in range(size - 1, 5, -1):
        pivot = max(stiff[p, p], 0.0) + SHIFT * elastic[p]
        stiff[p, p] = pivot
        for i in range(p):
            share = stiff[p, i] / pivot
            total[i] -= share * total[p]
            for j in range(i + 1):
                stiff[i, j] -= share * stiff[p, j]
    for p in range(6, size):
        for c in range(7):
            value = -total[p] if c == 6 else -stiff[p, c]
            for j in range(6, p):
                value -= stiff[p, j] * relief[j - 6, c]
            relief[p - 6, c] = value / stiff[p, p]


@kernel
def read_fibres(fibres, strains, out):
    """out (m, 2, 8) of every section, at rest with ``strains`` (m, 2, s): largest von Mises stress (MPa), shares of its
    area that have yielded and that are martensite, largest p, energies dissipated so far and stored (N mm/mm), largest
    stress along the wire and largest shear stress (MPa)."""
    kind, law, weights, axial, shear = fibres.kind[0], fibres.law, fibres.weights, fibres.axial, fibres.shear
    youngs, rigidity, limit = fibres.moduli[0], fibres.moduli[1], fibres.moduli[2]
    strain, stress, tangent = np.empty(3), np.empty(3), np.empty((3, 3))
    size = strains.shape[2]
    area = weights.sum()
    for element in range(strains.shape[0]):
        for g in range(2):
            e = strains[element, g]
            before, after = fibres.committed[element, g], fibres.trial[element, g]
            largest = yielded = martensite = plastic = lost = stored = along = sheared = 0.0
            for i in range(size):
                stored += 0.5 * fibres.elastic[i] * e[i] * e[i]
            for n in range(weights.size):
                s0 = axial[n, 0] * e[0] + axial[n, 1] * e[4] + axial[n, 2] * e[5]
                s1 = shear[n, 0, 0] * e[1] + shear[n, 0, 1] * e[2] + shear[n, 0, 2] * e[3]
                s2 = shear[n, 1, 0] * e[1] + shear[n, 1, 1] * e[2] + shear[n, 1, 2] * e[3]
                for j in range(6, size):
                    s1 += shear[n, 0, j - 3] * e[j]
                    s2 += shear[n, 1, j - 3] * e[j]
                x, y, z = youngs * s0, rigidity * s1, rigidity * s2
                square = x * x + 3.0 * (y * y + z * z)
                if before[n, 3] == 0.0 and square <= limit * limit:
                    largest = max(largest, square)
                    along, sheared = max(along, abs(x)), max(sheared, y * y + z * z)
                    lost += weights[n] * before[n, 5]
                    continue
                strain[0], strain[1], strain[2] = s0, s1, s2
                fibre(kind, law, strain, before, after, n, stress, tangent)
                w = weights[n]
                across = stress[1] * stress[1] + stress[2] * stress[2]
                largest = max(largest, stress[0] * stress[0] + 3.0 * across)
                along, sheared = max(along, abs(stress[0])), max(sheared, across)
                lost += w * after[n, 5]
                energy = potential(kind, law, strain, stress, after, n) - after[n, 5]
                stored += w * (energy - 0.5 * (s0 * x + s1 * y + s2 * z))
                if kind == SUPERELASTIC:
                    martensite += w * after[n, 3]
                elif after[n, 3] > 0.0:
                    yielded += w
                    plastic = max(plastic, after[n, 3])
            out[element, g, 0], out[element, g, 1] = math.sqrt(largest), yielded / area
            out[element, g, 2], out[element, g, 3] = martensite / area, plastic
            out[element, g, 4], out[element, g, 5] = lost, stored
            out[element, g, 6], out[element, g, 7] = along, math.sqrt(sheared)
