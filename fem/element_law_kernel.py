"""What an element answers to the screw between its ends: resultants, stored energy, stiffness.

Resultants vary along an element as balance demands.  With f = (N, M) their mean, k and e the curvature and the
stretched tangent that they cause, C the section's compliance,

    f' = (-k x N, -k x M - e x N),   k = k0 + C_M M,   e = e0 + C_N N

and to this order the complementary energy of a length l and what follows from it are

    U*(f)  = l/2 f.C f + l^3/24 f'.C f'
    d - d0 = dU*/df = l C f + l^3/12 J^T C f',        J = df'/df
    S      = (d2U*/df2)/l = C + l^2/12 (J^T C J + H)   stiffness = S^-1

H is the second derivative of f'.g for fixed g = C f' = (gN, gM):

    H_NN = C_N gM~ - gM~ C_N,  H_MM = C_M gM~ - gM~ C_M,  H_MN = C_M gN~,  H_NM = H_MN^T

A straight element in small deflection keeps of f' only -e x N: the residual bending flexibility l^2/12 EI beside
1/kGA of MacNeal, Computers & Structures 8 (1978) 175, by which a cubic deflection is exact.  The rest does the same for
curved and twisted elements, and makes displacements converge with the fourth order in space too.  Balance of a rod:
Love, A Treatise on the Mathematical Theory of Elasticity (4th ed. 1927), art. 254; complementary energy: any textbook
of structural mechanics.

f follows from d by Newton's method, from the f of the curvature that d itself has.  Within an iteration of the balance
one step is enough, from the f that the balance's last step predicts: both come to rest together (mixed iteration, as in
Magisano, Leonetti & Garcea, Comput. Methods Appl. Mech. Engng 315 (2017) 1), and a screw far from any balance does not
spoil the stiffness."""

from __future__ import annotations

import numpy as np

from geometry.compiled import kernel

MOST_STEPS = 12
ENOUGH = 1e-20  # square of the relative error before the last step, which squares it once more


@kernel
def _factor(s):
    """In place: L below the diagonal, D on it, of S = L D L^T (6, 6)."""
    for j in range(6):
        for i in range(j):
            value = s[j, i]
            for k in range(i):
                value -= s[j, k] * s[i, k]
            s[j, i] = value
        for i in range(j):
            value = s[j, i] / s[i, i]
            s[j, j] -= value * s[j, i]
            s[j, i] = value


@kernel
def _solve(s, right):
    """right (6,) becomes the solution with the factors of `_factor`."""
    for i in range(6):
        for k in range(i):
            right[i] -= s[i, k] * right[k]
    for i in range(6):
        right[i] /= s[i, i]
    for i in range(5, -1, -1):
        for k in range(i + 1, 6):
            right[i] -= s[k, i] * right[k]


@kernel
def _invert(s, out):
    """out (6, 6) = S^-1 from the factors of `_factor`, which it overwrites by L^-1."""
    for j in range(6):
        for i in range(j + 1, 6):
            value = -s[i, j]
            for k in range(j + 1, i):
                value -= s[i, k] * s[k, j]
            s[i, j] = value
    for i in range(6):
        for j in range(i + 1):
            value = (s[i, j] if j < i else 1.0) / s[i, i]
            for k in range(i + 1, 6):
                value += s[k, i] * s[k, j] / s[k, k]
            out[i, j] = value
            out[j, i] = value


@kernel
def _fill_rate(e, k, n, m, c, whole, j):
    """j (6, 6) = df'/df, where e and k change with f if ``whole``, else as if they stood still."""
    for i in range(3):
        a = (i + 1) % 3
        b = (i + 2) % 3
        j[i, i] = 0.0
        j[3 + i, 3 + i] = 0.0
        j[3 + i, i] = 0.0
        j[i, 3 + i] = 0.0
        # minus k~ has k_i at (a, b) and -k_i at (b, a)
        j[a, b] = k[i]
        j[b, a] = -k[i]
        j[3 + a, 3 + b] = k[i]
        j[3 + b, 3 + a] = -k[i]
        j[3 + a, b] = e[i]
        j[3 + b, a] = -e[i]
        j[a, 3 + b] = 0.0
        j[b, 3 + a] = 0.0
        if whole:
            j[a, 3 + b] = -n[i] * c[3 + b]
            j[b, 3 + a] = n[i] * c[3 + a]
            j[3 + a, 3 + b] -= m[i] * c[3 + b]
            j[3 + b, 3 + a] += m[i] * c[3 + a]
            j[3 + a, b] -= n[i] * c[b]
            j[3 + b, a] += n[i] * c[a]


@kernel
def _fill_compliance(c, l12, j, s):
    """Lower half of s (6, 6) = C + l^2/12 J^T C J."""
    for a in range(6):
        for b in range(a + 1):
            total = 0.0
            for k in range(6):
                total += j[k, a] * c[k] * j[k, b]
            s[a, b] = l12 * total
        s[a, a] += c[a]


@kernel
def _add_bending(c, l12, g, s):
    """Lower half of s += l^2/12 H."""
    for i in range(3):
        a = (i + 1) % 3
        b = (i + 2) % 3
        # of v~, (a, b) is -v_i and (b, a) is v_i; C v~ - v~ C is symmetric
        turned = l12 * (c[a] - c[b]) * -g[3 + i]
        bent = l12 * (c[3 + a] - c[3 + b]) * -g[3 + i]
        if a > b:
            s[a, b] += turned
            s[3 + a, 3 + b] += bent
        else:
            s[b, a] += turned
            s[3 + b, 3 + a] += bent
        s[3 + a, b] -= l12 * c[3 + a] * g[i]
        s[3 + b, a] += l12 * c[3 + b] * g[i]


@kernel
def element_law(screws, passive_screws, lengths, compliance, skipped, predicted, one_step, stress, stiffness):
    """stress (m, 6) = f and stiffness (m, 6, 6) of all elements, from compliance (m, 6) in 1/N and 1/(N mm^2).

    ``one_step``: of Newton's method, from ``predicted`` (m, 6).  Elements ``skipped`` (m,) are left alone.  Returns the
    stored energy, N mm, and the largest force (N) and moment (N mm) of the last steps, which are wrong by about their
    square."""
    energy = 0.0
    last_force = 0.0
    last_moment = 0.0
    strain = np.empty(6)
    e = np.empty(3)
    k = np.empty(3)
    rate = np.empty(6)
    g = np.empty(6)
    step = np.empty(6)
    j = np.empty((6, 6))
    s = np.empty((6, 6))
    for element in range(lengths.size):
        if skipped[element]:
            continue
        length = lengths[element]
        l12 = length * length / 12.0
        c = compliance[element]
        f = stress[element]
        if c[0] == np.inf:  # a gap between two wires bears nothing
            f[:] = 0.0
            stiffness[element] = 0.0
            continue
        n = f[:3]
        m = f[3:]
        for i in range(6):
            strain[i] = (screws[element, i] - passive_screws[element, i]) / length
            f[i] = predicted[element, i] if one_step else strain[i]
        if not one_step:
            for i in range(3):
                e[i] = screws[element, i] / length
                k[i] = screws[element, 3 + i] / length
            _fill_rate(e, k, n, m, c, False, j)
            _fill_compliance(c, l12, j, s)
            _factor(s)
            _solve(s, f)
        stored = 0.0
        gained = 0.0
        for _ in range(1 if one_step else MOST_STEPS):
            stored = 0.0
            for i in range(3):
                e[i] = passive_screws[element, i] / length + c[i] * n[i]
                k[i] = passive_screws[element, 3 + i] / length + c[3 + i] * m[i]
            for i in range(3):
                a = (i + 1) % 3
                b = (i + 2) % 3
                rate[i] = n[a] * k[b] - n[b] * k[a]
                rate[3 + i] = m[a] * k[b] - m[b] * k[a] + n[a] * e[b] - n[b] * e[a]
            for i in range(6):
                g[i] = c[i] * rate[i]
                stored += f[i] * strain[i] - 0.5 * f[i] * c[i] * f[i] - 0.5 * l12 * rate[i] * g[i]
            _fill_rate(e, k, n, m, c, True, j)
            for i in range(6):
                off = strain[i] - c[i] * f[i]
                for a in range(6):
                    off -= l12 * j[a, i] * g[a]
                step[i] = off
                rate[i] = off
            _fill_compliance(c, l12, j, s)
            _add_bending(c, l12, g, s)
            _factor(s)
            _solve(s, step)
            gained = 0.0
            size = 0.0
            for i in range(6):
                gained += rate[i] * step[i]
                size += f[i] * strain[i]
                f[i] += step[i]
            if not abs(gained) > ENOUGH * abs(size):
                break
        for i in range(3):
            last_force = max(last_force, abs(step[i]))
            last_moment = max(last_moment, abs(step[3 + i]))
        energy += length * (stored + 0.5 * gained)
        _invert(s, stiffness[element])
    return energy, last_force, last_moment
