"""What one fibre answers that a stress turns into martensite and back; compiled.

x is the share of martensite.  All follows from the Gibbs energy

    -G = (s^2 + k t^2) S(x)/2 + e_L x q(s, t) - c x,   k = 2 (1 + nu),   S = 1/E_A + x (1/E_M - 1/E_A),
    q = (sqrt(s^2 + 3 t^2) + b s)/(1 + b),

b = (r - 1)/(r + 1) for transformation in compression at r times the stress of tension.  The strain is -dG/d(s, t), the
driving force of transformation h = -dG/dx + c = e_L q + (s^2 + k t^2) dS/2.  It is spoken of as the axial tension F
that drives as much, less what the temperature adds to all four stresses of the loop.  x grows with F from (x_n, the
larger of start and F_n) in a straight line to (1, finish), and falls likewise to (0, finish of unloading): the linear
kinetics of Auricchio, Taylor & Lubliner, Comput. Methods Appl. Mech. Engng 146 (1997) 281, in their integral, so that
a step of any size along a straight path is exact.  Because x depends on h alone, stress is the gradient of one convex
potential in each step: one answer, a symmetric tangent, and dissipation (h - c) dx that is never negative when c lies
between unloading and loading."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from geometry.compiled import kernel

Array = NDArray[np.float64]

MOST_STEPS = 60
ENOUGH = 1e-13
"""Of the stress looked for."""
ON_THE_WAY = 1e-9
"""Of the stress: so little beyond its bound a fibre has not moved.  Asked where it stands it is elastic, as it is if it
is unloaded; else rounding would say which tangent a step begins with."""
NO_SHEAR = 1e-200
"""A shear angle so small has no direction."""
MOST_TOGETHER, NEAR = 12, 1e-7
"""Steps of Newton's method for two unknowns, and its last one, of which the square is left."""
SLACK = 1e-9
"""Of the lowest plateau stress: a stress so small has no direction, and martensite does not bear it."""


@kernel
def _held(law: Array, share: float, strain: float, shear: float) -> tuple[float, float, float]:
    """Axial stress, shear stress and r = sqrt(s^2 + 3 t^2) at a share of martensite that does not change.

    The strain is that of the law, e = S s + a (s/r + b), g = k S t + 3 a t/r with a = e_L x/(1 + b); r follows from
    1 = ((e - a b)/(S r + a))^2 + 3 (g/(k S r + 3 a))^2, whose inverse root is concave: Newton's method climbs to it.
    """
    k, beta = law[1], law[4]
    s = 1.0 / law[0] + share * law[2]
    a = law[3] * share / (1.0 + beta)
    if a == 0.0:
        axial, turning = strain / s, shear / (k * s)
        return axial, turning, math.sqrt(axial * axial + 3.0 * turning * turning)
    pull = strain - a * beta
    r = max((abs(pull) - a) / s, (math.sqrt(3.0) * shear - 3.0 * a) / (k * s))
    if r <= 0.0:
        if pull * pull + shear * shear / 3.0 <= a * a:
            return 0.0, 0.0, 0.0
        r = 0.0
    for _ in range(MOST_STEPS):
        one, two = s * r + a, k * s * r + 3.0 * a
        u, v = pull / one, shear / two
        square = u * u + 3.0 * v * v
        slope = u * u * s / one + 3.0 * v * v * k * s / two
        step = square * (math.sqrt(square) - 1.0) / slope
        r += step
        if abs(step) <= ENOUGH * r:
            break
    if r <= 0.0:
        return 0.0, 0.0, 0.0
    return pull * r / (s * r + a), shear * r / (k * s * r + 3.0 * a), r


@kernel
def _drive(law: Array, axial: float, turning: float, r: float) -> float:
    """F: the axial tension that drives as much, less the temperature's share (MPa)."""
    strain, soft, beta = law[3], law[2], law[4]
    h = strain * (r + beta * axial) / (1.0 + beta) + 0.5 * soft * (axial**2 + law[1] * turning**2)
    f: float = 2.0 * h / (strain + math.sqrt(strain * strain + 2.0 * soft * h)) - law[9]
    return f


@kernel
def _plane(law: Array, share: float, axial: float, turning: float, r: float) -> tuple[float, ...]:
    """Stiffness at constant share in the plane of axial and shear stress (3 numbers) and across it; the gradient m of h
    (2), stiffness times m (2), m . stiffness m, dh/dF."""
    k, soft, strain, beta = law[1], law[2], law[3], law[4]
    s = 1.0 / law[0] + share * soft
    a = strain * share / (1.0 + beta)
    cube = a / (r * r * r)
    c_ss = s + 3.0 * turning * turning * cube
    c_st = -3.0 * axial * turning * cube
    c_tt = k * s + 3.0 * axial * axial * cube
    det = c_ss * c_tt - c_st * c_st
    d_ss, d_st, d_tt = c_tt / det, -c_st / det, c_ss / det
    m_s = soft * axial + strain * (axial / r + beta) / (1.0 + beta)
    m_t = soft * k * turning + strain * 3.0 * turning / (r * (1.0 + beta))
    w_s, w_t = d_ss * m_s + d_st * m_t, d_st * m_s + d_tt * m_t
    slope = strain + soft * (_drive(law, axial, turning, r) + law[9])
    return d_ss, d_st, d_tt, 1.0 / (k * s + 3.0 * a / r), w_s, w_t, m_s * w_s + m_t * w_t, slope


@kernel
def _transform(
    law: Array,
    strain: float,
    shear: float,
    share: float,
    start: float,
    goal: float,
    finish: float,
    miss: float,
) -> float:
    """Share of martensite on the straight line from (``share``, ``start``) to (``goal``, ``finish``), where the drive
    of the strain meets it; ``miss`` is by how much it lies beyond ``start``.  Newton's method in a bracket."""
    rate = (finish - start) / (goal - share)
    axial, turning, r = _held(law, goal, strain, shear)
    other = _drive(law, axial, turning, r) - finish
    if other * miss >= 0.0:
        return goal
    here, there = share, goal
    x = share + (goal - share) * miss / (miss - other)
    for _ in range(MOST_STEPS):
        axial, turning, r = _held(law, x, strain, shear)
        left = _drive(law, axial, turning, r) - start - rate * (x - share)
        if abs(left) <= ENOUGH * law[6]:
            break
        if left * miss > 0.0:
            here = x
        else:
            there = x
        step = here  # outside the bracket unless Newton's method says better
        if r > SLACK * law[8]:
            part = _plane(law, x, axial, turning, r)
            step = x + left / (part[6] / part[7] + rate)
            if abs(step - x) <= ENOUGH:
                break
        x = step if (step - here) * (step - there) < 0.0 else 0.5 * (here + there)
    return x


@kernel
def _together(
    law: Array, strain: float, shear: float, share: float, start: float, goal: float, finish: float
) -> tuple[bool, float, float, float, float]:
    """As `_transform`, for r and the share at once by Newton's method: whether found, the share, axial and shear
    stress, r.  It begins where an axial strain as large as this one in the measure of r would lead.

    Two equations: w = (u^2 + 3 v^2)^(-1/2) = 1 with u = s/r, v = t/r (see `_held`), and h(r, s, t) = h(F) on the
    line."""
    k, soft, whole, beta = law[1], law[2], law[3], law[4]
    alpha = whole / (1.0 + beta)
    rate = (finish - start) / (goal - share)
    low, high = min(share, goal), max(share, goal)
    size = math.sqrt(strain * strain + shear * shear / 3.0)
    if not size > 0.0:
        return False, share, 0.0, 0.0, 0.0
    side = (1.0 + beta * strain / size) / (1.0 + beta)
    first = start + law[9]
    s = 1.0 / law[0] + share * soft
    x = share + (size - s * first / side - whole * side * share) / (
        s * rate / side + whole * side + soft * first / side
    )
    if not low < x < high:
        x = min(max(x, low), high)
    r = (first + rate * (x - share)) / side
    for _ in range(MOST_TOGETHER):
        if not (low < x < high and r > 0.0):
            # the end of the line may be beyond reach: that is for `_transform` to say
            return False, share, 0.0, 0.0, 0.0
        s, a = 1.0 / law[0] + x * soft, alpha * x
        one, two = 1.0 / (s * r + a), 1.0 / (k * s * r + 3.0 * a)
        u, v = (strain - a * beta) * one, shear * two
        square = u * u + 3.0 * v * v
        root = math.sqrt(square)
        u_r, v_r = -u * s * one, -v * k * s * two
        u_x, v_x = -(alpha * beta + u * (soft * r + alpha)) * one, -v * (k * soft * r + 3.0 * alpha) * two
        axial, turning = r * u, r * v
        drive = first + rate * (x - share)
        miss = alpha * (r + beta * axial) + 0.5 * soft * (axial * axial + k * turning * turning)
        miss -= drive * (whole + 0.5 * soft * drive)
        on_axial, on_turning = alpha * beta + soft * axial, soft * k * turning
        miss_r = alpha + on_axial * (u + r * u_r) + on_turning * (v + r * v_r)
        miss_x = r * (on_axial * u_x + on_turning * v_x) - (whole + soft * drive) * rate
        # of w - 1, times square^(3/2)
        off = square - square * root
        off_r, off_x = -(u * u_r + 3.0 * v * v_r), -(u * u_x + 3.0 * v * v_x)
        determinant = off_r * miss_x - off_x * miss_r
        step_r = (off * miss_x - off_x * miss) / determinant
        step_x = (off_r * miss - off * miss_r) / determinant
        r -= step_r
        x -= step_x
        if abs(step_r) <= NEAR * abs(r) and abs(step_x) <= NEAR:
            # the square of the last step is left
            if not (low < x < high and r > 0.0):
                return False, share, 0.0, 0.0, 0.0
            s, a = 1.0 / law[0] + x * soft, alpha * x
            return True, x, (strain - a * beta) * r / (s * r + a), shear * r / (k * s * r + 3.0 * a), r
    return False, share, 0.0, 0.0, 0.0


@kernel
def chemical(law: Array) -> float:
    """c: the work by which martensite is worth more than austenite, midway between the starts of loading and of
    unloading (N mm/mm^3)."""
    up, down = law[5] + law[9], law[7] + law[9]
    c: float = 0.5 * (law[3] * (up + down) + 0.5 * law[2] * (up * up + down * down))
    return c


@kernel
def _lost(law: Array, one: float, start: float, two: float, finish: float) -> float:
    """Dissipated while the share goes from ``one`` at F = ``start`` in a straight line to ``two`` at ``finish``:
    the integral of (h - c) dx."""
    strain, soft = law[3], law[2]
    a, b = start + law[9], finish + law[9]
    h = 0.5 * strain * (a + b) + soft * (a * a + a * b + b * b) / 6.0
    lost: float = (h - chemical(law)) * (two - one)
    return lost


@kernel
def turns_round(
    k: float, x: float, y: float, z: float, to_x: float, to_y: float, to_z: float
) -> tuple[bool, float]:
    """Whether the straight way between two strains comes nearest to none on the way, and its share up to there."""
    weight = 3.0 / (k * k)
    dx, dy, dz = to_x - x, to_y - y, to_z - z
    length = dx * dx + weight * (dy * dy + dz * dz)
    along = -(x * dx + weight * (y * dy + z * dz))
    return 0.0 < along < length, along / length


@kernel
def _passes_austenite(law: Array, strain: Array, before: Array, n: int) -> bool:
    """Whether the straight way from the strain before comes so near to none that all martensite goes back."""
    x, y, z = before[n, 0], before[n, 1], before[n, 2]
    turns, t = turns_round(law[1], x, y, z, strain[0], strain[1], strain[2])
    if not turns:
        return False
    shear = math.hypot(y + t * (strain[1] - y), z + t * (strain[2] - z))
    axial, turning, r = _held(law, 0.0, x + t * (strain[0] - x), shear)
    within: bool = _drive(law, axial, turning, r) <= law[8]
    return within


@kernel
def superelastic(
    law: Array, strain: Array, before: Array, after: Array, n: int, stress: Array, tangent: Array
) -> None:
    """``law``: E_A, k, dS, e_L, b, start and finish of loading, start and finish of unloading, what the temperature
    adds to these four (MPa)."""
    shear = math.sqrt(strain[1] * strain[1] + strain[2] * strain[2])
    share, was, lost = before[n, 3], before[n, 4], before[n, 5]
    if share > 0.0 and _passes_austenite(law, strain, before, n):
        lost += _lost(law, share, min(law[7], was), 0.0, law[8])
        share, was = 0.0, law[8]
    axial, turning, r = _held(law, share, strain[0], shear)
    drive = _drive(law, axial, turning, r)
    up, down = max(law[5], was), min(law[7], was)
    x, rate, found = share, 0.0, False
    if drive > up + ON_THE_WAY * law[6] and share < 1.0:
        x = 1.0
        if up < law[6]:
            found, x, axial, turning, r = _together(law, strain[0], shear, share, up, 1.0, law[6])
            if not found:
                x = _transform(law, strain[0], shear, share, up, 1.0, law[6], drive - up)
            reached = law[6] if x == 1.0 else up + (law[6] - up) * (x - share) / (1.0 - share)
            lost += _lost(law, share, up, x, reached)
            if x < 1.0:
                rate = (1.0 - share) / (law[6] - up)
    elif drive < down - ON_THE_WAY * law[6] and share > 0.0:
        x = 0.0
        if down > law[8]:
            found, x, axial, turning, r = _together(law, strain[0], shear, share, down, 0.0, law[8])
            if not found:
                x = _transform(law, strain[0], shear, share, down, 0.0, law[8], drive - down)
            reached = law[8] + (down - law[8]) * x / share
            lost += _lost(law, share, down, x, reached)
            if x > 0.0:
                rate = share / (down - law[8])
    if x != share:
        if not found:
            axial, turning, r = _held(law, x, strain[0], shear)
        drive = _drive(law, axial, turning, r)
    for i in range(3):
        after[n, i] = strain[i]
    after[n, 3], after[n, 4], after[n, 5] = x, drive, lost
    _superelastic_tangent(law, strain, shear, x, rate, axial, turning, r, stress, tangent)


@kernel
def _superelastic_tangent(
    law: Array, strain: Array, shear: float, x: float, rate: float, axial: float, turning: float, r: float,
    stress: Array, tangent: Array,
) -> None:  # fmt: skip
    """Stress (3,) and tangent (3, 3) in the fibre's axes from those in the plane of its shear."""
    cos, sin = (strain[1] / shear, strain[2] / shear) if shear > NO_SHEAR else (1.0, 0.0)
    stress[0], stress[1], stress[2] = axial, turning * cos, turning * sin
    if x > 0.0 and r > SLACK * law[8]:
        d_ss, d_st, d_tt, across, w_s, w_t, work, slope = _plane(law, x, axial, turning, r)
        b = rate / slope
        b /= 1.0 + b * work
        d_ss -= b * w_s * w_s
        d_st -= b * w_s * w_t
        d_tt -= b * w_t * w_t
    else:
        d_ss, d_st = 1.0 / (1.0 / law[0] + x * law[2]), 0.0
        d_tt = across = d_ss / law[1]
    tangent[0, 0] = d_ss
    tangent[0, 1] = tangent[1, 0] = d_st * cos
    tangent[0, 2] = tangent[2, 0] = d_st * sin
    tangent[1, 1] = d_tt * cos * cos + across * sin * sin
    tangent[2, 2] = d_tt * sin * sin + across * cos * cos
    tangent[1, 2] = tangent[2, 1] = (d_tt - across) * cos * sin
