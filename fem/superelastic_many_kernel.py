"""Many superelastic fibres at once: the law of fem.superelastic_kernel, side by side.

Each fibre's r = sqrt(s^2 + 3 t^2) and share x solve, with u = s/r and v = t/r (see `superelastic_kernel._held`),

    (u^2 + 3 v^2)^(-1/2) = 1,    h(r, s, t) = h(F) on its line of loading or of unloading, or x as it was,

by Newton's method for both at once.  It begins where a strain of the same size in the measure of r would lead if stress
had the strain's direction, which it nearly has; two or three steps are usual.  The loops make no choices, so that the
compiler puts several fibres into one instruction: a fibre takes 10 ns in place of 250.

With p = S + a/r, q = k S + 3 a/r and z = (u/p, 3 v/q)/r the stiffness at constant share is, by the formula of Sherman &
Morrison (Ann. Math. Statist. 21 (1950) 124, from memory), diag(1/p, 1/q, 1/q) plus a multiple of z z^T; what transforms
takes a multiple of w w^T away, w being that stiffness times dh/d(s, t).

What comes out is looked at: a fibre is what it was taken for, and its share and its r lie where they may.  The others,
few, go to the law that takes one fibre at a time: those that finish, turn within a step, or go slack.  Fibres that are
not asked go along, for choosing takes longer than answering; what is said of them is left out."""

from __future__ import annotations

import math

from fem.fibre_law_kernel import SUPERELASTIC, one_by_one
from fem.fibre_rows_kernel import COUNTED, FREE, LANES, NOW, STRAIN, TOLD
from fem.superelastic_kernel import NEAR, ON_THE_WAY, SLACK, chemical
from geometry.compiled import fusing_kernel

MOST_TOGETHER = 6
(
    SQUARE, ROUND, SHARE, UP, DOWN, WAY, FIRST, RATE, R, X, GOOD,
) = range(FREE, FREE + 11 * LANES, LANES)  # fmt: skip
"""Rows of the work: square of the shear angle; 1 if it turns round on the way; share, and drives at which it starts to
grow and to fall; 1 if it grows, -1 if it falls, else 0; drive where its line begins and slope of the line; r; share;
1 where all fits."""


@fusing_kernel
def superelastic_many(law, before, used, rows):
    """Answers (TOLD) and memory (NOW) of the first ``used`` fibres of the ``rows``, as many as go evenly together;
    memory before (6, n)."""
    base, k, soft, whole, beta, warm = 1.0 / law[0], law[1], law[2], law[3], law[4], law[9]
    alpha = whole / (1.0 + beta)
    worth = chemical(law)
    weight = 3.0 / (k * k)
    for i in range(used):
        x, y, z = rows[STRAIN + i], rows[STRAIN + LANES + i], rows[STRAIN + 2 * LANES + i]
        # as `superelastic_kernel.turns_round`
        was_x, was_y, was_z = before[0, i], before[1, i], before[2, i]
        dx, dy, dz = x - was_x, y - was_y, z - was_z
        along = -(was_x * dx + weight * (was_y * dy + was_z * dz))
        length = dx * dx + weight * (dy * dy + dz * dz)
        turns = (along > 0.0) & (along < length)
        share = before[3, i]
        up, down = max(law[5], before[4, i]) + warm, min(law[7], before[4, i]) + warm
        square = y * y + z * z
        size = math.sqrt(x * x + square / 3.0)
        cosine = x / size
        squares = cosine * cosine + k / 3.0 * (1.0 - cosine * cosine)
        side = alpha * (1.0 + beta * cosine)
        s = (base + share * soft) * squares
        left = size - side * share
        r = left / s
        h = r * (side + 0.5 * soft * squares * r)
        # one that stands where it was has not moved, whatever is guessed
        moved = length > 0.0
        grows = moved & (h > up * (whole + 0.5 * soft * up)) & (share < 1.0) & (up < law[6] + warm)
        falls = moved & (h < down * (whole + 0.5 * soft * down)) & (share > 0.0) & (down > law[8] + warm)
        way = 1.0 if grows else (-1.0 if falls else 0.0)
        first = up if grows else down
        finish = (law[6] if grows else law[8]) + warm
        goal = 1.0 if grows else 0.0
        rate = way * way * (finish - first) / (goal - share if way != 0.0 else 1.0)
        step = way * way * (left * side - s * first * whole)
        step /= (s * rate + soft * squares * first) * whole + side * side
        rows[SQUARE + i], rows[ROUND + i] = square, 1.0 if turns else 0.0
        rows[SHARE + i], rows[UP + i], rows[DOWN + i] = share, up, down
        rows[WAY + i], rows[FIRST + i], rows[RATE + i] = way, first, rate
        rows[X + i] = share + step
        # where martensite hangs slack r is none
        r = r if left > 0.0 else math.nan
        rows[R + i] = r if way == 0.0 else (first + rate * step) * whole / side
    for _ in range(MOST_TOGETHER):
        moving = 0
        for i in range(used):
            way, r, x = rows[WAY + i], rows[R + i], rows[X + i]
            s, a = base + x * soft, alpha * x
            one, two = 1.0 / (s * r + a), 1.0 / (k * s * r + 3.0 * a)
            u, vv = (rows[STRAIN + i] - a * beta) * one, rows[SQUARE + i] * two * two
            square = u * u + 3.0 * vv
            # u_r and v v_r, u_x and v v_x
            u_r, vv_r = -u * s * one, -vv * k * s * two
            u_x = -(alpha * beta + u * (soft * r + alpha)) * one
            vv_x = -vv * (k * soft * r + 3.0 * alpha) * two
            axial = r * u
            rate = rows[RATE + i]
            drive = rows[FIRST + i] + rate * (x - rows[SHARE + i])
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
            rows[R + i], rows[X + i] = r - step_r, x - step_x
            far = (abs(step_r) > NEAR * abs(r)) | (abs(step_x) > NEAR)
            rows[GOOD + i] = 0.0 if far else 1.0
            moving += 1 if far & (rows[COUNTED + i] != 0.0) else 0
        if moving == 0:
            break
    odd = 0
    for i in range(used):
        way, r, x, share = rows[WAY + i], rows[R + i], rows[X + i], rows[SHARE + i]
        s, a = base + x * soft, alpha * x
        one, two = 1.0 / (s * r + a), 1.0 / (k * s * r + 3.0 * a)
        u, square = (rows[STRAIN + i] - a * beta) * one, rows[SQUARE + i]
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
        rate, first = rows[RATE + i], rows[FIRST + i]
        less = way * way / (rate * slope + work_done)
        mixed, twice = spread * z_s * z_t - less * w_s * w_t, spread * z_t * z_t - less * w_t * w_t
        # the integral of (h - c) dx
        reached = first + rate * (x - share)
        lost = 0.5 * whole * (first + reached) - worth
        lost += soft * (first * first + first * reached + reached * reached) / 6.0
        slack = ON_THE_WAY * law[6]
        stays = (drive <= rows[UP + i] + slack) | (share >= 1.0)
        stays &= (drive >= rows[DOWN + i] - slack) | (share <= 0.0)
        went = (way * (x - share) * (rate * slope + work_done) > slack * slope) & (x > 0.0) & (x < 1.0)
        fits = (r > SLACK * law[8]) & ((rows[ROUND + i] == 0.0) | (share <= 0.0))
        fits &= ((way == 0.0) & stays) | ((way != 0.0) & went)
        fits &= rows[GOOD + i] == 1.0
        asked = rows[COUNTED + i] != 0.0
        rows[GOOD + i] = 1.0 if fits | (not asked) else 0.0
        odd += 1 if asked & (not fits) else 0
        told = fits & asked
        x, y, z = rows[STRAIN + i], rows[STRAIN + LANES + i], rows[STRAIN + 2 * LANES + i]
        rows[TOLD + i] = axial if told else 0.0
        rows[TOLD + LANES + i] = turning * y if told else 0.0
        rows[TOLD + 2 * LANES + i] = turning * z if told else 0.0
        rows[TOLD + 3 * LANES + i] = r * one + spread * z_s * z_s - less * w_s * w_s if told else 0.0
        rows[TOLD + 4 * LANES + i] = mixed * y if told else 0.0
        rows[TOLD + 5 * LANES + i] = mixed * z if told else 0.0
        rows[TOLD + 6 * LANES + i] = turning + twice * y * y if told else 0.0
        rows[TOLD + 7 * LANES + i] = twice * y * z if told else 0.0
        rows[TOLD + 8 * LANES + i] = turning + twice * z * z if told else 0.0
        rows[NOW + i], rows[NOW + LANES + i], rows[NOW + 2 * LANES + i] = x, y, z
        rows[NOW + 3 * LANES + i] = rows[X + i] if told else 0.0
        rows[NOW + 4 * LANES + i] = drive - warm if told else 0.0
        gone = lost * (rows[X + i] - share) * way * way
        rows[NOW + 5 * LANES + i] = before[5, i] + (gone if told else 0.0)
    if odd > 0:
        one_by_one(SUPERELASTIC, law, before, used, GOOD, rows)
