"""Sections of elements as sums over their fibres: what they answer, and what they tell of themselves; compiled.

Fibres that have never yielded are in the section's elastic stiffness, which is exact; only the others are asked, and
what they answer otherwise than elastic ones is added.  Sums are taken three strains by three: each fibre is read once
for nine of them."""

from __future__ import annotations

import math

from fem.elastoplastic_many_kernel import elastoplastic_many
from fem.fibre_law_kernel import ELASTOPLASTIC, SUPERELASTIC
from fem.fibre_rows_kernel import COUNTED, EVENLY, LANES, NOW, STRAIN, TOLD, rows_for_fibres
from fem.superelastic_kernel import chemical
from fem.superelastic_many_kernel import superelastic_many
from geometry.compiled import adding_kernel, fusing_kernel, kernel

SHIFT = 1e-9  # of the elastic stiffness: keeps a section that yields all over regular


@kernel
def _place(column):
    """Which of the strains and amplitudes of a section is that of a ``column`` of `Fibres.shear`."""
    return column + 1 if column < 3 else column + 3


@adding_kernel
def _strain(axial, shear, e, rows):
    """Strains of the fibres for strains and amplitudes ``e`` (s,) of their section."""
    count = axial.shape[1]
    one, two, three = e[0], e[4], e[5]
    for n in range(count):
        rows[STRAIN + n] = axial[0, n] * one + axial[1, n] * two + axial[2, n] * three
    last = shear.shape[1] - 1
    for j in range(0, shear.shape[1], 3):
        b, c = min(j + 1, last), min(j + 2, last)
        one, two, three = e[_place(j)], e[_place(b)], e[_place(c)]
        two, three = two if b > j else 0.0, three if c > b else 0.0
        for n in range(count):
            # not times zero, for what was left there may be no number
            y, z = (rows[STRAIN + LANES + n], rows[STRAIN + 2 * LANES + n]) if j > 0 else (0.0, 0.0)
            y += shear[0, j, n] * one + shear[0, b, n] * two + shear[0, c, n] * three
            z += shear[1, j, n] * one + shear[1, b, n] * two + shear[1, c, n] * three
            rows[STRAIN + LANES + n], rows[STRAIN + 2 * LANES + n] = y, z


@kernel
def _ask(fibres, part, e, before, rows):
    """Rows of the fibres of one ``part`` of a section for strains and amplitudes ``e`` (s,) of it, with memory before
    (6, n): strains of all, answers of those that have yielded or may yield.  Gives how many of the first ones hold all
    of these."""
    kind, weights = fibres.kind[0], fibres.weights[part]
    youngs, rigidity = fibres.moduli[0], fibres.moduli[1]
    bound = fibres.moduli[2] * fibres.moduli[2]
    _strain(fibres.axial[part], fibres.shear[part], e, rows)
    used = 0
    for n in range(weights.size):
        x, y, z = youngs * rows[STRAIN + n], rows[STRAIN + LANES + n], rows[STRAIN + 2 * LANES + n]
        still = (x * x + 3.0 * rigidity * rigidity * (y * y + z * z) <= bound) & (before[3, n] == 0.0)
        rows[COUNTED + n] = 0.0 if still else weights[n]
        used = max(used, 0 if still else n + 1)
    used = (used + EVENLY - 1) // EVENLY * EVENLY
    if kind == SUPERELASTIC:
        superelastic_many(fibres.law, before, used, rows)
    elif kind == ELASTOPLASTIC:
        elastoplastic_many(fibres.law, before, used, rows)
    else:
        used = 0
    return used


@kernel
def _keep(kind, used, before, after, rows):
    """The memory of the first ``used`` fibres of the ``rows``, and of others, which are elastic, becomes ``after``."""
    for i in range(6):
        row, first = NOW + i * LANES, STRAIN + min(i, 2) * LANES
        strained = 1.0 if kind == SUPERELASTIC and i < 3 else 0.0
        lost = 1.0 if i == 5 else 0.0
        for n in range(after.shape[1]):
            elastic = strained * rows[first + n] + lost * before[5, n]
            after[i, n] = rows[row + n] if n < used else elastic


@adding_kernel
def _energy_beyond(kind, law, moduli, used, rows):
    """What the potential of the first ``used`` fibres has beyond that of elastic ones, N mm/mm: energy stored and
    dissipated so far, whose gradient in a step is the stress."""
    youngs, rigidity = moduli[0], moduli[1]
    worth = chemical(law) if kind == SUPERELASTIC else 0.0
    energy = 0.0
    for n in range(used):
        x, y, z = rows[STRAIN + n], rows[STRAIN + LANES + n], rows[STRAIN + 2 * LANES + n]
        elastic = 0.5 * (youngs * x * x + rigidity * (y * y + z * z))
        if kind == SUPERELASTIC:
            share = rows[NOW + 3 * LANES + n]
            x, y, z = rows[TOLD + n], rows[TOLD + LANES + n], rows[TOLD + 2 * LANES + n]
            own = 0.5 * (1.0 / law[0] + share * law[2]) * (x * x + law[1] * (y * y + z * z)) + worth * share
        else:
            a, b, c = rows[NOW + n], rows[NOW + LANES + n], rows[NOW + 2 * LANES + n]
            x, y, z = x - a, y - b, z - c
            own = youngs * x * x + rigidity * (y * y + z * z) + law[4] * (a * a + (b * b + c * c) / 3.0)
            own *= 0.5
        energy += rows[COUNTED + n] * (own + rows[NOW + 5 * LANES + n] - elastic)
    return energy


@adding_kernel
def _weigh(moduli, used, rows):
    """Answers become what the area of a fibre has beyond an elastic one."""
    youngs, rigidity = moduli[0], moduli[1]
    for n in range(used):
        w = rows[COUNTED + n]
        rows[TOLD + n] = w * (rows[TOLD + n] - youngs * rows[STRAIN + n])
        rows[TOLD + LANES + n] = w * (rows[TOLD + LANES + n] - rigidity * rows[STRAIN + LANES + n])
        rows[TOLD + 2 * LANES + n] = w * (
            rows[TOLD + 2 * LANES + n] - rigidity * rows[STRAIN + 2 * LANES + n]
        )
        rows[TOLD + 3 * LANES + n] = w * (rows[TOLD + 3 * LANES + n] - youngs)
        rows[TOLD + 4 * LANES + n] = w * rows[TOLD + 4 * LANES + n]
        rows[TOLD + 5 * LANES + n] = w * rows[TOLD + 5 * LANES + n]
        rows[TOLD + 6 * LANES + n] = w * (rows[TOLD + 6 * LANES + n] - rigidity)
        rows[TOLD + 7 * LANES + n] = w * rows[TOLD + 7 * LANES + n]
        rows[TOLD + 8 * LANES + n] = w * (rows[TOLD + 8 * LANES + n] - rigidity)


@kernel
def _add_at(stiff, i, j, value):
    stiff[max(i, j), min(i, j)] += value


@adding_kernel
def _add_axial(axial, used, rows, total, stiff):
    """Sums of axial stresses, with axial strains."""
    s0 = s1 = s2 = s00 = s10 = s11 = s20 = s21 = s22 = 0.0
    for n in range(used):
        a0, a1, a2 = axial[0, n], axial[1, n], axial[2, n]
        stress, tangent = rows[TOLD + n], rows[TOLD + 3 * LANES + n]
        d0, d1, d2 = a0 * tangent, a1 * tangent, a2 * tangent
        s0, s1, s2 = s0 + a0 * stress, s1 + a1 * stress, s2 + a2 * stress
        s00, s10, s11 = s00 + a0 * d0, s10 + a0 * d1, s11 + a1 * d1
        s20, s21, s22 = s20 + a0 * d2, s21 + a1 * d2, s22 + a2 * d2
    total[0], total[4], total[5] = total[0] + s0, total[4] + s1, total[5] + s2
    stiff[0, 0], stiff[4, 0], stiff[4, 4] = stiff[0, 0] + s00, stiff[4, 0] + s10, stiff[4, 4] + s11
    stiff[5, 0], stiff[5, 4], stiff[5, 5] = stiff[5, 0] + s20, stiff[5, 4] + s21, stiff[5, 5] + s22


@adding_kernel
def _add_shear(axial, shear, first, used, rows, total, stiff):
    """Sums of shear stresses for three columns from the ``first`` one on, with axial strains."""
    last = shear.shape[1] - 1
    i, j, k = first, min(first + 1, last), min(first + 2, last)
    i0 = j0 = k0 = i1 = j1 = k1 = i2 = j2 = k2 = i3 = j3 = k3 = 0.0
    for n in range(used):
        a0, a1, a2 = axial[0, n], axial[1, n], axial[2, n]
        along, aside = rows[TOLD + LANES + n], rows[TOLD + 2 * LANES + n]
        one, two = rows[TOLD + 4 * LANES + n], rows[TOLD + 5 * LANES + n]
        y, z = shear[0, i, n], shear[1, i, n]
        both = y * one + z * two
        i0, i1, i2, i3 = i0 + y * along + z * aside, i1 + a0 * both, i2 + a1 * both, i3 + a2 * both
        y, z = shear[0, j, n], shear[1, j, n]
        both = y * one + z * two
        j0, j1, j2, j3 = j0 + y * along + z * aside, j1 + a0 * both, j2 + a1 * both, j3 + a2 * both
        y, z = shear[0, k, n], shear[1, k, n]
        both = y * one + z * two
        k0, k1, k2, k3 = k0 + y * along + z * aside, k1 + a0 * both, k2 + a1 * both, k3 + a2 * both
    sums = ((i, i0, i1, i2, i3), (j, j0, j1, j2, j3), (k, k0, k1, k2, k3))
    for c in range(min(3, last + 1 - first)):
        column, stress, one, two, three = sums[c]
        place = _place(column)
        total[place] += stress
        _add_at(stiff, place, 0, one)
        _add_at(stiff, place, 4, two)
        _add_at(stiff, place, 5, three)


@adding_kernel
def _add_tangent(shear, first, other, used, rows, stiff):
    """Sums of shear tangents for three columns from the ``first`` one on with three from the ``other`` on, not after
    it."""
    last = shear.shape[1] - 1
    i, j, k = first, min(first + 1, last), min(first + 2, last)
    p, q, r = other, min(other + 1, last), min(other + 2, last)
    ip = iq = ir = jp = jq = jr = kp = kq = kr = 0.0
    for n in range(used):
        one, two, three = rows[TOLD + 6 * LANES + n], rows[TOLD + 7 * LANES + n], rows[TOLD + 8 * LANES + n]
        py, qy, ry = shear[0, p, n], shear[0, q, n], shear[0, r, n]
        pz, qz, rz = shear[1, p, n], shear[1, q, n], shear[1, r, n]
        y, z = shear[0, i, n], shear[1, i, n]
        y, z = y * one + z * two, y * two + z * three
        ip, iq, ir = ip + py * y + pz * z, iq + qy * y + qz * z, ir + ry * y + rz * z
        y, z = shear[0, j, n], shear[1, j, n]
        y, z = y * one + z * two, y * two + z * three
        jp, jq, jr = jp + py * y + pz * z, jq + qy * y + qz * z, jr + ry * y + rz * z
        y, z = shear[0, k, n], shear[1, k, n]
        y, z = y * one + z * two, y * two + z * three
        kp, kq, kr = kp + py * y + pz * z, kq + qy * y + qz * z, kr + ry * y + rz * z
    sums = ((i, ip, iq, ir), (j, jp, jq, jr), (k, kp, kq, kr))
    for c in range(min(3, last + 1 - first)):
        column, one, two, three = sums[c]
        place = _place(column)
        stiff[place, _place(p)] += one
        if q > p and q <= column:
            stiff[place, _place(q)] += two
        if r > q and r <= column:
            stiff[place, _place(r)] += three


@kernel
def both_sections(fibres, e, before, after, at_rest, rows, total, stiff):
    """Resultants (2, s) and tangents (2, s, s; lower half) of an element's sections for their strains and amplitudes
    ``e`` (2, s); memory before (2, c, 6, n).  Where they may be ``at_rest`` the memory after is kept, and the mean
    potential of the step per length of wire is given."""
    elastic, size, kind = fibres.elastic, e.shape[1], fibres.kind[0]
    energy = 0.0
    for p in range(2):
        for i in range(size):
            total[p, i] = elastic[i] * e[p, i]
            energy += 0.5 * total[p, i] * e[p, i]
            for j in range(i):
                stiff[p, i, j] = 0.0
            stiff[p, i, i] = elastic[i]
        for part in range(fibres.weights.shape[0]):
            axial, shear = fibres.axial[part], fibres.shear[part]
            used = _ask(fibres, part, e[p], before[p, part], rows)
            if at_rest:
                _keep(kind, used, before[p, part], after[p, part], rows)
                energy += _energy_beyond(kind, fibres.law, fibres.moduli, used, rows)
            if used == 0:
                continue
            _weigh(fibres.moduli, used, rows)
            _add_axial(axial, used, rows, total[p], stiff[p])
            for first in range(0, shear.shape[1], 3):
                _add_shear(axial, shear, first, used, rows, total[p], stiff[p])
                for other in range(0, first + 1, 3):
                    _add_tangent(shear, first, other, used, rows, stiff[p])
    return 0.5 * energy


@fusing_kernel
def condense(elastic, total, stiff, relief):
    """Amplitudes of warping eliminated from resultants and tangent (lower half), in place; relief (k, 7): what they
    change by for each strain, and by themselves."""
    size = total.size
    for p in range(size - 1, 5, -1):
        per_pivot = 1.0 / (max(stiff[p, p], 0.0) + SHIFT * elastic[p])
        relief[p - 6, 6] = per_pivot
        for i in range(p):
            share = stiff[p, i] * per_pivot
            total[i] -= share * total[p]
            for j in range(i + 1):
                stiff[i, j] -= share * stiff[p, j]
    for p in range(6, size):
        a, b, c, d, e, f, g = (
            stiff[p, 0], stiff[p, 1], stiff[p, 2], stiff[p, 3], stiff[p, 4], stiff[p, 5], total[p],
        )  # fmt: skip
        for j in range(6, p):
            share, known = stiff[p, j], relief[j - 6]
            a, b, c = a + share * known[0], b + share * known[1], c + share * known[2]
            d, e, f = d + share * known[3], e + share * known[4], f + share * known[5]
            g += share * known[6]
        known = relief[p - 6]
        per_pivot = -known[6]
        known[0], known[1], known[2], known[3] = a * per_pivot, b * per_pivot, c * per_pivot, d * per_pivot
        known[4], known[5], known[6] = e * per_pivot, f * per_pivot, g * per_pivot


@kernel
def read_fibres(fibres, strains, out):
    """out (m, 2, 8) of every section, at rest with ``strains`` (m, 2, s): largest von Mises stress (MPa), shares of its
    area that have yielded and that are martensite, largest p, energies dissipated so far and stored (N mm/mm), largest
    stress along the wire and largest shear stress (MPa)."""
    kind, youngs, rigidity = fibres.kind[0], fibres.moduli[0], fibres.moduli[1]
    area = fibres.weights.sum()
    transforms, yields = kind == SUPERELASTIC, kind == ELASTOPLASTIC
    rows = rows_for_fibres()
    for element in range(strains.shape[0]):
        for g in range(2):
            e = strains[element, g]
            largest = yielded = martensite = plastic = lost = stored = along = sheared = 0.0
            for i in range(e.size):
                stored += 0.5 * fibres.elastic[i] * e[i] * e[i]
            for part in range(fibres.weights.shape[0]):
                before, after = fibres.committed[element, g, part], fibres.trial[element, g, part]
                used = _ask(fibres, part, e, before, rows)
                _keep(kind, used, before, after, rows)
                stored += _energy_beyond(kind, fibres.law, fibres.moduli, used, rows)
                for n in range(fibres.weights.shape[1]):
                    weight, grown = fibres.weights[part, n], after[3, n]
                    x = youngs * rows[STRAIN + n]
                    y, z = rigidity * rows[STRAIN + LANES + n], rigidity * rows[STRAIN + 2 * LANES + n]
                    lost += weight * after[5, n]
                    if n < used and rows[COUNTED + n] != 0.0:
                        x, y, z = rows[TOLD + n], rows[TOLD + LANES + n], rows[TOLD + 2 * LANES + n]
                        stored -= weight * after[5, n]
                        martensite += weight * grown if transforms else 0.0
                        yielded += weight if yields and grown > 0.0 else 0.0
                        plastic = max(plastic, grown if yields else 0.0)
                    across = y * y + z * z
                    largest = max(largest, x * x + 3.0 * across)
                    along, sheared = max(along, abs(x)), max(sheared, across)
            out[element, g, 0], out[element, g, 1] = math.sqrt(largest), yielded / area
            out[element, g, 2], out[element, g, 3] = martensite / area, plastic
            out[element, g, 4], out[element, g, 5] = lost, stored
            out[element, g, 6], out[element, g, 7] = along, math.sqrt(sheared)
