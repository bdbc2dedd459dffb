"""Sections of elements as sums over their fibres: what they answer, and what they tell of themselves; compiled.

Fibres that have never yielded are in the section's elastic stiffness, which is exact; only the others are asked, and
what they answer otherwise than elastic ones is added."""

from __future__ import annotations

import math

import numpy as np

from fem.elastoplastic_many_kernel import elastoplastic_many
from fem.fibre_law_kernel import ELASTOPLASTIC, SUPERELASTIC, potential
from fem.superelastic_many_kernel import superelastic_many
from geometry.compiled import adding_kernel, kernel

SHIFT = 1e-9  # of the elastic stiffness: keeps a section that yields all over regular
TOLD = 9  # stress (3,) and tangent of a fibre: 00, 01, 02, 11, 12, 22


@kernel
def room_for(fibres):
    """Scratch for the 2 n fibres of both sections of an element: strains (3, 2 n), answers (9, 2 n), three rows more
    for one section, weights of those asked (2 n,), their numbers (2 n,)."""
    count = fibres.weights.size
    # zeros: what weighs nothing may not be what is no number either
    told, parts = np.zeros((TOLD, 2 * count)), np.empty((3, count))
    return np.empty((3, 2 * count)), told, parts, np.empty(2 * count), np.empty(2 * count, np.int64)


@kernel
def _ask(fibres, e, before, after, room):
    """Strains of all fibres for strains and amplitudes ``e`` (2, s) of both sections, answers of those that have
    yielded or may yield, and how many these are; memory before and after (2 n, 6)."""
    strains, told, _, counted, chosen = room
    kind, law, axial, shear = fibres.kind[0], fibres.law, fibres.axial, fibres.shear
    youngs, rigidity = fibres.moduli[0], fibres.moduli[1]
    bound = fibres.moduli[2] * fibres.moduli[2]
    transforms = kind == SUPERELASTIC
    count = fibres.weights.size
    of_each = strains.reshape(3, 2, count)
    asked = 0
    for p in range(2):
        one, two, three = e[p, 0], e[p, 4], e[p, 5]
        for n in range(count):
            of_each[0, p, n] = axial[0, n] * one + axial[1, n] * two + axial[2, n] * three
        one, two, three = e[p, 1], e[p, 2], e[p, 3]
        for i in range(2):
            for n in range(count):
                of_each[1 + i, p, n] = shear[i, 0, n] * one + shear[i, 1, n] * two + shear[i, 2, n] * three
            for j in range(6, e.shape[1]):
                value = e[p, j]
                for n in range(count):
                    of_each[1 + i, p, n] += shear[i, j - 3, n] * value
        begin = p * count
        for n in range(begin, begin + count):
            x, y, z = youngs * strains[0, n], rigidity * strains[1, n], rigidity * strains[2, n]
            if before[n, 3] != 0.0 or not x * x + 3.0 * (y * y + z * z) <= bound:
                counted[n] = fibres.weights[n - begin]
                chosen[asked] = n
                asked += 1
                continue
            counted[n] = 0.0
            after[n, 3] = after[n, 4] = 0.0
            after[n, 5] = before[n, 5]
            for j in range(3):
                after[n, j] = strains[j, n] if transforms else 0.0
    if transforms:
        superelastic_many(law, strains, before, after, chosen, asked, told)
    elif kind == ELASTOPLASTIC:
        elastoplastic_many(law, strains, before, after, chosen, asked, told)
    return asked


@kernel
def _energy_beyond(fibres, after, room, first, end):
    """What the potential of the fibres asked, from the ``first`` to the one before the ``end``, has beyond that of
    elastic ones, N mm/mm."""
    strains, told, _, counted, chosen = room
    kind, law, youngs, rigidity = fibres.kind[0], fibres.law, fibres.moduli[0], fibres.moduli[1]
    strain, stress = np.empty(3), np.empty(3)
    energy = 0.0
    for i in range(first, end):
        n = chosen[i]
        for j in range(3):
            strain[j], stress[j] = strains[j, n], told[j, n]
        x, y, z = strain[0], strain[1], strain[2]
        elastic = 0.5 * (youngs * x * x + rigidity * (y * y + z * z))
        energy += counted[n] * (potential(kind, law, strain, stress, after, n) - elastic)
    return energy


@adding_kernel
def _add(axial, shear, moduli, room, p, total, stiff):
    """What fibres of section ``p`` answer beyond elastic ones, added to its resultants and tangent (lower half)."""
    parts = room[2]
    count = parts.shape[1]
    # numbers from zero on, as the compiler likes them
    strains, told = room[0].reshape(3, 2, count), room[1].reshape(TOLD, 2, count)
    counted = room[3].reshape(2, count)
    for j in range(TOLD):
        modulus = moduli[0] if j in (0, 3) else moduli[1]
        if j < 3:
            for n in range(count):
                told[j, p, n] = counted[p, n] * (told[j, p, n] - modulus * strains[j, p, n])
        else:
            less = modulus if j in (3, 6, 8) else 0.0
            for n in range(count):
                told[j, p, n] = counted[p, n] * (told[j, p, n] - less)
    for j in range(3):
        end = j if j == 0 else j + 3
        value = 0.0
        for n in range(count):
            value += axial[j, n] * told[0, p, n]
        total[end] += value
        for n in range(count):
            parts[0, n] = axial[j, n] * told[3, p, n]
        for i in range(j + 1):
            value = 0.0
            for n in range(count):
                value += axial[i, n] * parts[0, n]
            stiff[end, i if i == 0 else i + 3] += value
    for j in range(shear.shape[1]):
        place = j + 1 if j < 3 else j + 3
        for i in range(3):
            first, other = (4, 5) if i == 0 else ((6, 7) if i == 1 else (7, 8))
            for n in range(count):
                parts[i, n] = shear[0, j, n] * told[first, p, n] + shear[1, j, n] * told[other, p, n]
        value = 0.0
        for n in range(count):
            value += shear[0, j, n] * told[1, p, n] + shear[1, j, n] * told[2, p, n]
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
def both_sections(fibres, e, before, after, weighs, room, total, stiff):
    """Resultants (2, s) and tangents (2, s, s; lower half) of an element's sections for their strains and amplitudes
    ``e`` (2, s); memory before and after (2 n, 6).  Gives the mean potential of the step per length of wire where it
    ``weighs``."""
    elastic, size = fibres.elastic, e.shape[1]
    energy = 0.0
    for p in range(2):
        for i in range(size):
            total[p, i] = elastic[i] * e[p, i]
            energy += 0.5 * total[p, i] * e[p, i]
            for j in range(i):
                stiff[p, i, j] = 0.0
            stiff[p, i, i] = elastic[i]
    asked = _ask(fibres, e, before, after, room)
    if weighs:
        energy += _energy_beyond(fibres, after, room, 0, asked)
    if asked > 0:
        for p in range(2):
            _add(fibres.axial, fibres.shear, fibres.moduli, room, p, total[p], stiff[p])
    return 0.5 * energy


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
    own, told, _, _, chosen = room
    elements, count = strains.shape[0], weights.size
    committed = fibres.committed.reshape(elements, 2 * count, -1)
    trial = fibres.trial.reshape(elements, 2 * count, -1)
    for element in range(elements):
        after = trial[element]
        asked = _ask(fibres, strains[element], committed[element], after, room)
        at = 0
        for g in range(2):
            e = strains[element, g]
            largest = yielded = martensite = plastic = lost = stored = along = sheared = 0.0
            for i in range(e.size):
                stored += 0.5 * fibres.elastic[i] * e[i] * e[i]
            first = at
            for n in range(g * count, (g + 1) * count):
                weight = weights[n - g * count]
                x, y, z = youngs * own[0, n], rigidity * own[1, n], rigidity * own[2, n]
                lost += weight * after[n, 5]
                if at < asked and chosen[at] == n:
                    at += 1
                    x, y, z = told[0, n], told[1, n], told[2, n]
                    stored -= weight * after[n, 5]
                    if kind == SUPERELASTIC:
                        martensite += weight * after[n, 3]
                    elif after[n, 3] > 0.0:
                        yielded += weight
                        plastic = max(plastic, after[n, 3])
                across = y * y + z * z
                largest = max(largest, x * x + 3.0 * across)
                along, sheared = max(along, abs(x)), max(sheared, across)
            stored += _energy_beyond(fibres, after, room, first, at)
            out[element, g, 0], out[element, g, 1] = math.sqrt(largest), yielded / area
            out[element, g, 2], out[element, g, 3] = martensite / area, plastic
            out[element, g, 4], out[element, g, 5] = lost, stored
            out[element, g, 6], out[element, g, 7] = along, math.sqrt(sheared)
