"""Many superelastic fibres at once: the law of fem.superelastic_kernel, side by side.

Each fibre's r = sqrt(s^2 + 3 t^2) and share x solve, with u = s/r and v = t/r (see `superelastic_kernel._held`),

    (u^2 + 3 v^2)^(-1/2) = 1,    h(r, s, t) = h(F) on its line of loading or of unloading, or x as it was,

by Newton's method for both at once.  It begins where a strain of the same size in the measure of r would lead if stress
had the strain's direction, which it nearly has; two or three steps are usual.  The loops make no choices, so that the
compiler puts several fibres into one instruction: a fibre takes 25 ns in place of 250.

With p = S + a/r, q = k S + 3 a/r and z = (u/p, 3 v/q)/r the stiffness at constant share is, by the formula of Sherman &
Morrison (Ann. Math. Statist. 21 (1950) 124, from memory), diag(1/p, 1/q, 1/q) plus a multiple of z z^T; what transforms
takes a multiple of w w^T away, w being that stiffness times dh/d(s, t).

What comes out is looked at: a fibre is what it was taken for, and its share and its r lie where they may.  The others,
few, go to the law that takes one fibre at a time: those that finish, turn within a step, or go slack."""

from __future__ import annotations

import math

import numpy as np

from fem.fibre_law_kernel import SUPERELASTIC, alone
from fem.superelastic_kernel import NEAR, ON_THE_WAY, SLACK, chemical, turns_round
from geometry.compiled import kernel

LANES = 128
"""Fibres in one sweep; a constant, so that the compiler knows that rows do not overlap."""
EVENLY = 8
"""Lanes are filled up to a multiple of this."""
MOST_TOGETHER = 6
(
    STRAIN, SQUARE, ROUND, SHARE, UP, DOWN, WAY, FIRST, RATE, R, X, AXIAL, PER_SHEAR, STIFF, MIXED, TWICE, DRIVE, LOST,
    GOOD,
) = range(19)  # fmt: skip
"""Rows of the work: strain along the wire and square of the shear angle; 1 if it turns round on the way; share, and
drives at which it starts to grow and to fall; 1 if it grows, -1 if it falls, else 0; drive where its line begins and
slope of the line; r; share; stress along the wire, shear stress per shear angle; stiffness along the wire and, per
shear angle, mixed and twice; drive; dissipated; 1 where all fits."""


@kernel
def superelastic_many(law, strains, before, after, chosen, count, told):
    """Of the first ``count`` fibres of ``chosen`` (n,): columns of ``told`` (9, n) and rows of ``after`` (n, 6).

    ``strains`` (3, n); ``told``: stress (3) and tangent, 00, 01, 02, 11, 12, 22."""
    work = np.empty((19, LANES))
    base, k, soft, whole, beta, warm = 1.0 / law[0], law[1], law[2], law[3], law[4], law[9]
    alpha = whole / (1.0 + beta)
    worth = chemical(law)
    for begin in range(0, count, LANES):
        used = min(count - begin, LANES)
        filled = (used + EVENLY - 1) // EVENLY * EVENLY
        for i in range(filled):
            n = chosen[begin + min(i, used - 1)]
            x, y, z = strains[0, n], strains[1, n], strains[2, n]
            turns, _ = turns_round(k, before[n, 0], before[n, 1], before[n, 2], x, y, z)
            work[STRAIN, i], work[SQUARE, i] = x, y * y + z * z
            work[ROUND, i] = 1.0 if turns else 0.0
            work[SHARE, i] = before[n, 3]
            work[UP, i], work[DOWN, i] = max(law[5], before[n, 4]) + warm, min(law[7], before[n, 4]) + warm
        for i in range(filled):
            share, up, down = work[SHARE, i], work[UP, i], work[DOWN, i]
            size = math.sqrt(work[STRAIN, i] * work[STRAIN, i] + work[SQUARE, i] / 3.0)
            cosine = work[STRAIN, i] / size
            squares = cosine * cosine + k / 3.0 * (1.0 - cosine * cosine)
            side = whole * (1.0 + beta * cosine) / (1.0 + beta)
            s = (base + share * soft) * squares
            left = size - side * share
            r = left / s
            h = r * (side + 0.5 * soft * squares * r)
            grows = (h > up * (whole + 0.5 * soft * up)) & (share < 1.0) & (up < law[6] + warm)
            falls = (h < down * (whole + 0.5 * soft * down)) & (share > 0.0) & (down > law[8] + warm)
            way = 1.0 if grows else (-1.0 if falls else 0.0)
            first = up if grows else down
            finish = (law[6] if grows else law[8]) + warm
            goal = 1.0 if grows else 0.0
            rate = way * way * (finish - first) / (goal - share if way != 0.0 else 1.0)
            step = way * way * (left - s * first * whole / side)
            step /= (s * rate + soft * squares * first) * whole / side + side
            work[WAY, i], work[FIRST, i], work[RATE, i] = way, first, rate
            work[X, i] = share + step
            # where martensite hangs slack r is none
            r = r if left > 0.0 else math.nan
            work[R, i] = r if way == 0.0 else (first + rate * step) * whole / side
        for _ in range(MOST_TOGETHER):
            moving = 0
            for i in range(filled):
                way, r, x = work[WAY, i], work[R, i], work[X, i]
                s, a = base + x * soft, alpha * x
                one, two = 1.0 / (s * r + a), 1.0 / (k * s * r + 3.0 * a)
                u, vv = (work[STRAIN, i] - a * beta) * one, work[SQUARE, i] * two * two
                square = u * u + 3.0 * vv
                # u_r and v v_r, u_x and v v_x
                u_r, vv_r = -u * s * one, -vv * k * s * two
                u_x = -(alpha * beta + u * (soft * r + alpha)) * one
                vv_x = -vv * (k * soft * r + 3.0 * alpha) * two
                axial = r * u
                rate = work[RATE, i]
                drive = work[FIRST, i] + rate * (x - work[SHARE, i])
                on_axial = alpha * beta + soft * axial
                miss = alpha * (r + beta * axial) + 0.5 * soft * (axial * axial + k * r * r * vv)
                miss -= drive * (whole + 0.5 * soft * drive)
                miss_r = alpha + on_axial * (u + r * u_r) + soft * k * r * (vv + r * vv_r)
                miss_x = r * (on_axial * u_x + soft * k * r * vv_x) - (whole + soft * drive) * rate
                moves = way * way
                miss, miss_r, miss_x = moves * miss, moves * miss_r, moves * miss_x + (1.0 - moves)
                # of (u^2 + 3 v^2)^(-1/2) - 1, times square^(3/2)
                off = square - square * math.sqrt(square)
                off_r, off_x = -(u * u_r + 3.0 * vv_r), -(u * u_x + 3.0 * vv_x)
                each = 1.0 / (off_r * miss_x - off_x * miss_r)
                step_r = (off * miss_x - off_x * miss) * each
                step_x = (off_r * miss - off * miss_r) * each
                work[R, i], work[X, i] = r - step_r, x - step_x
                far = abs(step_r) > NEAR * abs(r) or abs(step_x) > NEAR
                work[GOOD, i] = 0.0 if far else 1.0
                moving += 1 if far else 0
            if moving == 0:
                break
        for i in range(filled):
            way, r, x, share = work[WAY, i], work[R, i], work[X, i], work[SHARE, i]
            s, a = base + x * soft, alpha * x
            one, two = 1.0 / (s * r + a), 1.0 / (k * s * r + 3.0 * a)
            u, square = (work[STRAIN, i] - a * beta) * one, work[SQUARE, i]
            # what has a t, and the latter of these, is per shear angle
            axial, turning = r * u, r * two
            spread = a / (s * (u * u * one + 3.0 * k * square * two * two * two))
            z_s, z_t = u * one, 3.0 * two * two
            m_s, m_t = soft * axial + alpha * (u + beta), (soft * k * r + 3.0 * alpha) * two
            both = spread * (z_s * m_s + z_t * m_t * square)
            w_s, w_t = r * one * m_s + both * z_s, turning * m_t + both * z_t
            work_done = m_s * w_s + m_t * w_t * square
            h = alpha * (r + beta * axial) + 0.5 * soft * (axial * axial + k * turning * turning * square)
            drive = 2.0 * h / (whole + math.sqrt(whole * whole + 2.0 * soft * h))
            slope = whole + soft * drive
            rate, first = work[RATE, i], work[FIRST, i]
            less = way * way / (rate * slope + work_done)
            work[AXIAL, i], work[PER_SHEAR, i] = axial, turning
            work[STIFF, i] = r * one + spread * z_s * z_s - less * w_s * w_s
            work[MIXED, i] = spread * z_s * z_t - less * w_s * w_t
            work[TWICE, i] = spread * z_t * z_t - less * w_t * w_t
            work[DRIVE, i] = drive - warm
            # the integral of (h - c) dx
            reached = first + rate * (x - share)
            lost = 0.5 * whole * (first + reached) - worth
            lost += soft * (first * first + first * reached + reached * reached) / 6.0
            work[LOST, i] = lost * (x - share) * way * way
            slack = ON_THE_WAY * law[6]
            stays = (drive <= work[UP, i] + slack) | (share >= 1.0)
            stays &= (drive >= work[DOWN, i] - slack) | (share <= 0.0)
            went = (way * (x - share) * (rate + work_done / slope) > slack) & (x > 0.0) & (x < 1.0)
            fits = (r > SLACK * law[8]) & ((work[ROUND, i] == 0.0) | (share <= 0.0))
            fits &= ((way == 0.0) & stays) | ((way != 0.0) & went)
            work[GOOD, i] = work[GOOD, i] if fits else 0.0
        for i in range(used):
            n = chosen[begin + i]
            y, z = strains[1, n], strains[2, n]
            if work[GOOD, i] == 1.0:
                told[0, n] = work[AXIAL, i]
                told[1, n], told[2, n] = work[PER_SHEAR, i] * y, work[PER_SHEAR, i] * z
                told[3, n] = work[STIFF, i]
                told[4, n], told[5, n] = work[MIXED, i] * y, work[MIXED, i] * z
                told[6, n] = work[PER_SHEAR, i] + work[TWICE, i] * y * y
                told[7, n] = work[TWICE, i] * y * z
                told[8, n] = work[PER_SHEAR, i] + work[TWICE, i] * z * z
                for j in range(3):
                    after[n, j] = strains[j, n]
                after[n, 3], after[n, 4] = work[X, i], work[DRIVE, i]
                after[n, 5] = before[n, 5] + work[LOST, i]
                continue
            alone(SUPERELASTIC, law, strains, before, after, n, told)
