"""How far a corner is off a line, or over the line's end, derived by the line's direction and by where they are.

The line runs along (p, q), rho long, seen in a section; the corner sees a point of it, or its end, at (u, v)."""

from __future__ import annotations

from geometry.compiled import kernel


@kernel
def turning_with_line(f, u, v, p, q, rho, first, second):
    """Adds f (q u - p v)/rho to what is derived by p and q: ``first`` (2,) and the upper left of ``second``; mixed
    with u and v the upper right."""
    rho3 = rho * rho * rho
    number = q * u - p * v
    bend3 = 3.0 * number / (rho3 * rho * rho)
    first[0] -= f * (v / rho + number * p / rho3)
    first[1] += f * (u / rho - number * q / rho3)
    second[0, 0] += f * ((2.0 * v * p - number) / rho3 + bend3 * p * p)
    second[1, 1] += f * ((-2.0 * u * q - number) / rho3 + bend3 * q * q)
    second[0, 1] += f * ((v * q - u * p) / rho3 + bend3 * p * q)
    second[0, 2] -= f * q * p / rho3
    second[0, 3] += f * (p * p / rho3 - 1.0 / rho)
    second[1, 2] += f * (1.0 / rho - q * q / rho3)
    second[1, 3] += f * p * q / rho3


@kernel
def turning_with_face(f, u, v, p, q, rho, by, second):
    """Adds f (-(u p + v q)/rho), what a corner is over the end (u, v) of the line, to slopes and second derivatives."""
    rho3 = rho * rho * rho
    across = (q * u - p * v) / rho3
    by[0] -= f * q * across
    by[1] += f * p * across
    by[2] -= f * p / rho
    by[3] -= f * q / rho
    bend = 3.0 * across / (rho * rho)
    second[0, 0] += f * (q * v / rho3 + bend * p * q)
    second[1, 1] += f * (p * u / rho3 - bend * p * q)
    mixed = f * (-(2.0 * q * u - p * v) / rho3 + bend * q * q)
    second[0, 1] += mixed
    second[1, 0] += mixed
    for j in range(2):
        own, other = (p, q) if j == 0 else (q, p)
        same = f * (own * own / rho3 - 1.0 / rho)
        cross = f * own * other / rho3
        second[j, 2 + j] += same
        second[2 + j, j] += same
        second[j, 3 - j] += cross
        second[3 - j, j] += cross
