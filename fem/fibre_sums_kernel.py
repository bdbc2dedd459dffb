"""Sections of elements as sums over their fibres: what they answer, and what they tell of themselves; compiled.

Fibres that have never yielded are in the section's elastic stiffness, which is exact; only the others are asked, and
what they answer otherwise than elastic ones is added."""

from __future__ import annotations

import math

import numpy as np

from fem.fibre_law_kernel import SUPERELASTIC, fibre, potential
from fem.superelastic_many_kernel import superelastic_many, tell
from geometry.compiled import adding_kernel, kernel

SHIFT = 1e-9  # of the elastic stiffness: keeps a section that yields all over regular
TOLD = 9  # stress (3,) and tangent of a fibre: 00, 01, 02, 11, 12, 22


@kernel
def room_for(fibres):
    """Scratch of a section: strains (3, n), answers (9, n), three rows more, and numbers of fibres (n,)."""
    count = fibres.weights.size
    return np.empty((3, count)), np.empty((TOLD, count)), np.empty((3, count)), np.empty(count, np.int64)


@kernel
def _ask(fibres, e, before, after, room):
    """Strains of all fibres for strains and amplitudes ``e`` (s,) of the section, answers of those that have yielded or
    may yield, and how many these are; memory before and after (n, 6)."""
    strains, told, _, chosen = room
    kind, law, axial, shear = fibres.kind[0], fibres.law, fibres.axial, fibres.shear
    youngs, rigidity = fibres.moduli[0], fibres.moduli[1]
    bound = fibres.moduli[2] * fibres.moduli[2]
    transforms = kind == SUPERELASTIC
    count = strains.shape[1]
    for n in range(count):
        strains[0, n] = axial[0, n] * e[0] + axial[1, n] * e[4] + axial[2, n] * e[5]
        strains[1, n] = shear[0, 0, n] * e[1] + shear[0, 1, n] * e[2] + shear[0, 2, n] * e[3]
        strains[2, n] = shear[1, 0, n] * e[1] + shear[1, 1, n] * e[2] + shear[1, 2, n] * e[3]
    for j in range(6, e.size):
        for n in range(count):
            strains[1, n] += shear[0, j - 3, n] * e[j]
            strains[2, n] += shear[1, j - 3, n] * e[j]
    asked = 0
    for n in range(count):
        x, y, z = youngs * strains[0, n], rigidity * strains[1, n], rigidity * strains[2, n]
        if before[n, 3] != 0.0 or not x * x + 3.0 * (y * y + z * z) <= bound:
            chosen[asked] = n
            asked += 1
            continue
        after[n, 3] = after[n, 4] = 0.0
        after[n, 5] = before[n, 5]
        for j in range(3):
            after[n, j] = strains[j, n] if transforms else 0.0
    if transforms:
        superelastic_many(law, strains, before, after, chosen, asked, told)
        return asked
    strain, stress, tangent = np.empty(3), np.empty(3), np.empty((3, 3))
    for i in range(asked):
        n = chosen[i]
        for j in range(3):
            strain[j] = strains[j, n]
        fibre(kind, law, strain, before, after, n, stress, tangent)
        tell(stress, tangent, told, n)
    return asked


@kernel
def _energy_beyond(fibres, after, room, asked):
    """What the potential of the fibres asked has beyond that of elastic ones, N mm/mm."""
    strains, told, _, chosen = room
    kind, law, youngs, rigidity = fibres.kind[0], fibres.law, fibres.moduli[0], fibres.moduli[1]
    strain, stress = np.empty(3), np.empty(3)
    energy = 0.0
    for i in range(asked):
        n = chosen[i]
        for j in range(3):
            strain[j], stress[j] = strains[j, n], told[j, n]
        x, y, z = strain[0], strain[1], strain[2]
        elastic = 0.5 * (youngs * x * x + rigidity * (y * y + z * z))
        energy += fibres.weights[n] * (potential(kind, law, strain, stress, after, n) - elastic)
    return energy


@adding_kernel
def _add(axial, shear, told, parts, total, stiff):
    """What fibres answer with ``told`` (9, n) added to resultants and tangent (lower half) of their section."""
    count = told.shape[1]
    for j in range(3):
        end = j if j == 0 else j + 3
        value = 0.0
        for n in range(count):
            value += axial[j, n] * told[0, n]
        total[end] += value
        for i in range(j + 1):
            value = 0.0
            for n in range(count):
                value += axial[i, n] * axial[j, n] * told[3, n]
            stiff[end, i if i == 0 else i + 3] += value
    for j in range(shear.shape[1]):
        place = j + 1 if j < 3 else j + 3
        for n in range(count):
            parts[0, n] = shear[0, j, n] * told[4, n] + shear[1, j, n] * told[5, n]
        for n in range(count):
            parts[1, n] = shear[0, j, n] * told[6, n] + shear[1, j, n] * told[7, n]
        for n in range(count):
            parts[2, n] = shear[0, j, n] * told[7, n] + shear[1, j, n] * told[8, n]
        value = 0.0
        for n in range(count):
            value += shear[0, j, n] * told[1, n] + shear[1, j, n] * told[2, n]
        total[place] += value
        for i in range(3):
            end = i if i == 0 else i + 3
            value = 0.0
            for n in range(count):
                value += axial[i, n] * parts[0, n]
            stiff[max(place, end), min(place, end)] += value
        for i in range(j + 1):
            value = 0.0
            for n in range(count):
                value += shear[0, i, n] * parts[1, n] + shear[1, i, n] * parts[2, n]
            stiff[place, i + 1 if i < 3 else i + 3] += value


@kernel
def section(fibres, e, before, after, weighs, room, total, stiff):
    """Resultants (s,) and tangent (s, s; lower half) for strains and amplitudes ``e`` (s,); memory before and after
    (n, 6).  Gives the potential of the step per length of wire where it ``weighs``."""
    strains, told, parts, chosen = room
    weights, youngs, rigidity = fibres.weights, fibres.moduli[0], fibres.moduli[1]
    energy = 0.0
    for i in range(e.size):
        total[i] = fibres.elastic[i] * e[i]
        energy += 0.5 * total[i] * e[i]
        for j in range(i):
            stiff[i, j] = 0.0
        stiff[i, i] = fibres.elastic[i]
    told[:, :] = 0.0
    asked = _ask(fibres, e, before, after, room)
    if asked == 0:
        return energy
    if weighs:
        energy += _energy_beyond(fibres, after, room, asked)
    for i in range(asked):
        n = chosen[i]
        w = weights[n]
        told[0, n] = w * (told[0, n] - youngs * strains[0, n])
        told[1, n] = w * (told[1, n] - rigidity * strains[1, n])
        told[2, n] = w * (told[2, n] - rigidity * strains[2, n])
        told[3, n] = w * (told[3, n] - youngs)
        told[4, n] *= w
        told[5, n] *= w
        told[6, n] = w * (told[6, n] - rigidity)
        told[7, n] *= w
        told[8, n] = w * (told[8, n] - rigidity)
    _add(fibres.axial, fibres.shear, told, parts, total, stiff)
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
    kind, weights = fibres.kind[0], fibres.weights
    youngs, rigidity = fibres.moduli[0], fibres.moduli[1]
    area = weights.sum()
    room = room_for(fibres)
    own, told, _, chosen = room
    for element in range(strains.shape[0]):
        for g in range(2):
            e = strains[element, g]
            before, after = fibres.committed[element, g], fibres.trial[element, g]
            largest = yielded = martensite = plastic = lost = stored = along = sheared = 0.0
            for i in range(e.size):
                stored += 0.5 * fibres.elastic[i] * e[i] * e[i]
            asked = _ask(fibres, e, before, after, room)
            stored += _energy_beyond(fibres, after, room, asked)
            at = 0
            for n in range(weights.size):
                x, y, z = youngs * own[0, n], rigidity * own[1, n], rigidity * own[2, n]
                lost += weights[n] * after[n, 5]
                if at < asked and chosen[at] == n:
                    at += 1
                    x, y, z = told[0, n], told[1, n], told[2, n]
                    stored -= weights[n] * after[n, 5]
                    if kind == SUPERELASTIC:
                        martensite += weights[n] * after[n, 3]
                    elif after[n, 3] > 0.0:
                        yielded += weights[n]
                        plastic = max(plastic, after[n, 3])
                across = y * y + z * z
                largest = max(largest, x * x + 3.0 * across)
                along, sheared = max(along, abs(x)), max(sheared, across)
            out[element, g, 0], out[element, g, 1] = math.sqrt(largest), yielded / area
            out[element, g, 2], out[element, g, 3] = martensite / area, plastic
            out[element, g, 4], out[element, g, 5] = lost, stored
            out[element, g, 6], out[element, g, 7] = along, math.sqrt(sheared)
