"""What elements of fibres answer to the screw between their ends: resultants, energy, stiffness, trial memory.

The sections at two places of an element, s = -h and h from its middle with h = l/(2 sqrt(3)), have strains e_0 = e - d
and e_1 = e + d.  With f the element's resultants, q = (screw - passive screw)/l, and f'(f, e) the rate at which
resultants vary along it as balance demands (see fem.element_law_kernel), an element is at rest where

    P(f, e, d) = f.(q - e) - h f'(f, e).d + (w(e_0) + w(e_1))/2

is stationary, w being the potential of a section in this step, so

    q   = e + h J^T d                J = df'/df          lengths fit
    (s_0 + s_1)/2 = f + h A^T d      A = df'/de          the mean of the sections' resultants
    (s_1 - s_0)/2 = h f'                                 and what they differ by, as balance demands

P is the complementary energy of that file, taken at the two Gauss points that make it exact, as the stationary value
of a mixed one: what has not yielded answers as there but for h^4, where k and e follow from mean strains in place of
the strains of mean resultants.  Being stationary it has a symmetric stiffness, from tangents of sections alone:

    S = G M^-1 G^T,  G = (I + h B, h J^T),  M = [[K, D - h A^T], [D - h A, K]],  B = d(J^T d)/de,  stiffness = S^-1

with K and D the mean and half the difference of the sections' tangents.  Strains are predicted by the step of the
balance, like resultants, and Newton's method takes one step within each of its iterations (mixed iteration, see
there): one question to each section.  Amplitudes of warping are strains too, whose resultants are to be zero.

An element whose memory is empty and whose predicted strains yield no fibre, by a bound that no fibre can pass, is left
to the exact law."""

from __future__ import annotations

import math

import numpy as np

from fem.element_law_kernel import element_law
from fem.fibre_rows_kernel import rows_for_fibres
from fem.fibre_sums_kernel import SHIFT, both_sections, condense
from geometry.compiled import fusing_kernel, kernel

MOST_STEPS = 25
# Last step of an element that is brought to rest by itself: of its resultants, and of EA times a stretch of one.
ENOUGH = 1e-10
NOTHING = 1e-13
STRICT = 1e3  # so much nearer to rest than elements without memory, whose law is smooth
GAUSS = 1.0 / math.sqrt(12.0)  # of the length, from the middle


@kernel
def choose_elements(compliance, fibres, strains):
    """fibres.active (m,): elements that remember, or where some fibre may yield at the ``strains`` (m, 2, s)."""
    youngs, shear, limit = fibres.moduli[0], fibres.moduli[1], fibres.moduli[2]
    most = fibres.most
    for element in range(strains.shape[0]):
        yields = fibres.remembers[element]
        for g in range(2):
            e = strains[element, g]
            axial = youngs * (most[0] * abs(e[0]) + most[4] * abs(e[4]) + most[5] * abs(e[5]))
            across = shear * (most[1] * abs(e[1]) + most[2] * abs(e[2]) + most[3] * abs(e[3]))
            yields = yields or not axial * axial + 3.0 * across * across <= limit * limit
        fibres.active[element] = yields and compliance[element, 0] < np.inf


@fusing_kernel
def _fill_rates(k, e, n, m, dg, dk, j, a, b):
    """J, A, B (6, 6) from curvature k, stretched tangent e, resultants n, m and half the difference of strains."""
    j[:, :] = 0.0
    a[:, :] = 0.0
    b[:, :] = 0.0
    for i in range(3):
        p = (i + 1) % 3
        q = (i + 2) % 3
        # of v~, (p, q) is -v_i and (q, p) is v_i
        j[p, q] = j[3 + p, 3 + q] = k[i]
        j[q, p] = j[3 + q, 3 + p] = -k[i]
        j[3 + p, q] = e[i]
        j[3 + q, p] = -e[i]
        a[p, 3 + q] = a[3 + p, q] = -n[i]
        a[q, 3 + p] = a[3 + q, p] = n[i]
        a[3 + p, 3 + q] = -m[i]
        a[3 + q, 3 + p] = m[i]
        b[p, q] = b[3 + p, 3 + q] = dk[i]
        b[q, p] = b[3 + q, 3 + p] = -dk[i]
        b[p, 3 + q] = dg[i]
        b[q, 3 + p] = -dg[i]


@fusing_kernel
def _factor(s):
    """In place: L below the diagonal, reciprocals of D on it, of S = L D L^T (n, n)."""
    for j in range(s.shape[0]):
        for i in range(j):
            value = s[j, i]
            for k in range(i):
                value -= s[j, k] * s[i, k]
            s[j, i] = value
        pivot = s[j, j]
        for i in range(j):
            value = s[j, i] * s[i, i]
            pivot -= value * s[j, i]
            s[j, i] = value
        s[j, j] = 1.0 / pivot


@fusing_kernel
def _solve(s, right):
    """right (n, 7) becomes the solutions with the factors of `_factor`; a row at a time stays in registers."""
    size = right.shape[0]
    for i in range(size):
        a, b, c, d, e, f, g = (
            right[i, 0], right[i, 1], right[i, 2], right[i, 3], right[i, 4], right[i, 5], right[i, 6],
        )  # fmt: skip
        for k in range(i):
            share = s[i, k]
            a, b, c = a - share * right[k, 0], b - share * right[k, 1], c - share * right[k, 2]
            d, e, f = d - share * right[k, 3], e - share * right[k, 4], f - share * right[k, 5]
            g -= share * right[k, 6]
        right[i, 0], right[i, 1], right[i, 2], right[i, 3] = a, b, c, d
        right[i, 4], right[i, 5], right[i, 6] = e, f, g
    for i in range(size - 1, -1, -1):
        share = s[i, i]
        a, b, c, d = share * right[i, 0], share * right[i, 1], share * right[i, 2], share * right[i, 3]
        e, f, g = share * right[i, 4], share * right[i, 5], share * right[i, 6]
        for k in range(i + 1, size):
            share = s[k, i]
            a, b, c = a - share * right[k, 0], b - share * right[k, 1], c - share * right[k, 2]
            d, e, f = d - share * right[k, 3], e - share * right[k, 4], f - share * right[k, 5]
            g -= share * right[k, 6]
        right[i, 0], right[i, 1], right[i, 2], right[i, 3] = a, b, c, d
        right[i, 4], right[i, 5], right[i, 6] = e, f, g


@fusing_kernel
def _elements(screws, passive_screws, lengths, fibres, strains, predicted, one_step, stress, stiffness):
    """As `element_law`, for the active elements only; their memory goes to fibres.trial, unless only ``one_step`` is
    made."""
    size = strains.shape[2]
    more = size - 6
    q, k, e = np.empty(6), np.empty(3), np.empty(3)
    mean, half, rate, fits = np.empty(6), np.empty(6), np.empty(6), np.empty(6)
    j, a, b = np.empty((6, 6)), np.empty((6, 6)), np.empty((6, 6))
    total, stiff = np.empty((2, size)), np.empty((2, size, size))
    relief = np.empty((2, more, 7))
    matrix, way, columns = np.empty((12, 12)), np.empty((6, 12)), np.empty((12, 7))
    s, right = np.empty((6, 6)), np.empty((6, 7))
    rows = rows_for_fibres()
    elastic = fibres.elastic
    energy = last_force = last_moment = 0.0
    for element in range(lengths.size):
        if not fibres.active[element]:
            continue
        length = lengths[element]
        h = GAUSS * length
        f = stress[element]
        now = strains[element]
        moves = fibres.moves[element]
        for i in range(6):
            q[i] = (screws[element, i] - passive_screws[element, i]) / length
            f[i] = predicted[element, i]
        stored = force = moment = 0.0
        for attempt in range(1 if one_step else MOST_STEPS):
            stored = both_sections(
                fibres,
                now,
                fibres.committed[element],
                fibres.trial[element],
                not one_step,
                rows,
                total,
                stiff,
            )
            if more > 0:
                for p in range(2):
                    condense(elastic, total[p], stiff[p], relief[p])
            for i in range(6):
                mean[i] = 0.5 * (now[0, i] + now[1, i])
                half[i] = 0.5 * (now[1, i] - now[0, i])
            for i in range(3):
                e[i] = passive_screws[element, i] / length + mean[i]
                k[i] = passive_screws[element, 3 + i] / length + mean[3 + i]
            _fill_rates(k, e, f[:3], f[3:], half[:3], half[3:], j, a, b)
            for i in range(6):
                rate[i] = 0.0
                fits[i] = q[i] - mean[i]
                for c in range(6):
                    rate[i] += j[i, c] * f[c]
                    fits[i] -= h * j[c, i] * half[c]
                    way[i, c] = h * b[i, c]
                    way[i, 6 + c] = h * j[c, i]
                way[i, i] += 1.0
            for i in range(6):
                off = 0.5 * (total[0, i] + total[1, i]) - f[i]
                for c in range(6):
                    off -= h * a[c, i] * half[c]
                columns[i, 6] = off
                columns[6 + i, 6] = 0.5 * (total[1, i] - total[0, i]) - h * rate[i]
                for c in range(6):
                    columns[i, c] = way[c, i]
                    columns[6 + i, c] = way[c, 6 + i]
                for c in range(i + 1):
                    both = 0.5 * (stiff[0, i, c] + stiff[1, i, c])
                    apart = 0.5 * (stiff[1, i, c] - stiff[0, i, c])
                    matrix[i, c] = both
                    matrix[6 + i, 6 + c] = both
                    matrix[6 + i, c] = apart - h * a[i, c]
                    matrix[6 + c, i] = apart - h * a[c, i]
                matrix[i, i] += SHIFT * elastic[i]
                matrix[6 + i, 6 + i] += SHIFT * elastic[i]
            _factor(matrix)
            _solve(matrix, columns)
            for i in range(6):
                off = fits[i]
                for r in range(12):
                    off += way[i, r] * columns[r, 6]
                for c in range(i + 1):
                    value = 0.0
                    for r in range(12):
                        value += way[i, r] * columns[r, c]
                    s[i, c] = value
                for c in range(6):
                    right[i, c] = 1.0 if i == c else 0.0
                right[i, 6] = off
            _factor(s)
            _solve(s, right)
            # columns: change of (mean, half) with f, and the step itself
            for r in range(12):
                value = -columns[r, 6]
                for c in range(6):
                    value += columns[r, c] * right[c, 6]
                columns[r, 6] = value
            force = moment = 0.0
            for i in range(6):
                step = right[i, 6]
                f[i] += step
                for p in range(2):
                    sign = 2.0 * p - 1.0
                    for c in range(7):
                        moves[p, i, c] = columns[i, c] + sign * columns[6 + i, c]
                    step = max(abs(step), elastic[i] * abs(moves[p, i, 6]))
                if i < 3:
                    force = max(force, step)
                else:
                    moment = max(moment, step)
            for p in range(2):
                for r in range(more):
                    value = relief[p, r, 6]
                    for i in range(6):
                        moves[p, 6 + r, i] = relief[p, r, i]
                        value += relief[p, r, i] * moves[p, i, 6]
                    moves[p, 6 + r, 6] = value
                    force = max(force, elastic[6 + r] * abs(value))
            if one_step:
                break
            enough = NOTHING * fibres.moduli[3]
            for i in range(3):
                enough = max(enough, ENOUGH * max(abs(f[i]), abs(f[3 + i]) / fibres.moduli[4]))
            if force <= enough and moment <= enough * fibres.moduli[4]:
                break
            if attempt == MOST_STEPS - 1:
                stored = np.inf
            for p in range(2):
                for i in range(size):
                    now[p, i] += moves[p, i, 6]
        strict = STRICT if one_step else 1.0
        last_force = max(last_force, strict * force)
        last_moment = max(last_moment, strict * moment)
        energy += length * stored
        for i in range(6):
            for c in range(6):
                stiffness[element, i, c] = 0.5 * (right[i, c] + right[c, i])
    return energy, last_force, last_moment


@kernel
def elements(screws, beam, strains, predicted, one_step, stress, stiffness):
    """`element_law` where nothing yields and nothing is remembered, fibres elsewhere; see there.

    ``strains`` (m, 2, s) of the sections, as predicted; brought to rest with ``stress`` unless ``one_step``."""
    fibres = beam.fibres
    choose_elements(beam.compliance, fibres, strains)
    energy, last_force, last_moment = element_law(
        screws,
        beam.passive_screws,
        beam.lengths,
        beam.compliance,
        fibres.active,
        predicted,
        one_step,
        stress,
        stiffness,
    )
    if strains.shape[0] > 0:
        more, force, moment = _elements(
            screws, beam.passive_screws, beam.lengths, fibres, strains, predicted, one_step, stress, stiffness
        )
        energy += more
        last_force = max(last_force, force)
        last_moment = max(last_moment, moment)
    return energy, last_force, last_moment


@fusing_kernel
def predict_strains(beam, stress, predicted, strains):
    """strains (m, 2, s) after a step of the balance that predicts the resultants ``predicted`` (m, 6)."""
    fibres = beam.fibres
    size = strains.shape[2]
    change, e, k = np.empty(6), np.empty(6), np.empty(3)
    for element in range(strains.shape[0]):
        if fibres.active[element]:
            for i in range(6):
                change[i] = predicted[element, i] - stress[element, i]
            for p in range(2):
                moves = fibres.moves[element, p]
                for i in range(6):
                    e[i] = 0.0
                    for c in range(6):
                        e[i] += moves[i, c] * change[c]
                    strains[element, p, i] += moves[i, 6] + e[i]
                for i in range(6, size):
                    value = moves[i, 6]
                    for c in range(6):
                        value += moves[i, c] * e[c]
                    strains[element, p, i] += value
            continue
        f = predicted[element]
        compliance = beam.compliance[element]
        length = beam.lengths[element]
        h = GAUSS * length
        strains[element, :, :] = 0.0
        if compliance[0] == np.inf:
            continue
        for i in range(3):
            e[i] = beam.passive_screws[element, i] / length + compliance[i] * f[i]
            k[i] = beam.passive_screws[element, 3 + i] / length + compliance[3 + i] * f[3 + i]
        for i in range(3):
            a = (i + 1) % 3
            b = (i + 2) % 3
            change[i] = f[a] * k[b] - f[b] * k[a]
            change[3 + i] = f[3 + a] * k[b] - f[3 + b] * k[a] + f[a] * e[b] - f[b] * e[a]
        for i in range(6):
            strains[element, 0, i] = compliance[i] * (f[i] - h * change[i])
            strains[element, 1, i] = compliance[i] * (f[i] + h * change[i])


@kernel
def keep_memory(fibres):
    """The trial memory of the active elements becomes the committed one; fibres.remembers (m,) where it counts."""
    for element in range(fibres.committed.shape[0]):
        if not fibres.active[element]:
            continue
        remembers = False
        for p in range(2):
            for part in range(fibres.weights.shape[0]):
                before, after = fibres.committed[element, p, part], fibres.trial[element, p, part]
                for i in range(6):
                    for n in range(before.shape[1]):
                        before[i, n] = after[i, n]
                for n in range(before.shape[1]):
                    remembers = remembers or before[3, n] > 0.0
        fibres.remembers[element] = remembers
