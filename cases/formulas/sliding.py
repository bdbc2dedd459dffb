"""Sliding: friction, binding of a tipped bracket, the capstan."""

from __future__ import annotations

import math
from typing import Annotated

from cases.formulas.quantities import Friction, SecondMoment, SlotWidth, YoungsModulus
from cases.formulas.registry import formula


@formula("By which pull is a wire drawn round an edge?")
def capstan_pull_n(
    pull_n: Annotated[float, "pull T1 on the wire's one side"],
    friction: Friction,
    wrap_rad: Annotated[float, "angle by which the wire turns on the edge", "not negative"],
) -> Annotated[float, "pull T2 on its other side, just before it slides"]:
    """T2 = T1 exp(c angle).

    Source: Euler 1762, Eytelwein 1808; any handbook of statics.
    Valid: a wire without bending stiffness, sliding.
    """
    return pull_n * math.exp(friction * wrap_rad)


@formula("What resists sliding: friction of the ligature and binding together?")
def resistance_to_sliding_n(
    friction: Friction,
    ligation_force_n: Annotated[float, "normal force N of the ligature", "not negative"],
    couple_nmm: Annotated[
        float, "couple M of the wire in the slot; none below the critical angle", "not negative"
    ],
    slot_width_mm: SlotWidth,
) -> Annotated[float, "resistance to sliding"]:
    """RS = c N + 2 c M/W.

    The couple presses the wire against opposite walls at both mouths with M/W each. The ligature presses it against the
    floor with N; where it rubs on the wire too, count it twice.

    Source: Kusy & Whitley, Angle Orthod. 69 (1999) 71: RS = FR + BI; Coulomb.
    Valid: no notching, one coefficient for all contacts.
    """
    return friction * (ligation_force_n + 2.0 * couple_nmm / slot_width_mm)


@formula(
    "With which force does a tipped bracket bear on the wire at each mouth?",
    lambda given: given["bracket_angle_rad"] <= math.radians(10.0),
)
def binding_normal_force_n(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    span_mm: Annotated[
        float, "span L from either mouth to the next bracket, which holds the wire's direction"
    ],
    slot_width_mm: SlotWidth,
    bracket_angle_rad: Annotated[float, "angle t of bracket to line of the wire", "not negative"],
    critical_angle_rad: Annotated[float, "critical contact angle tc", "not negative"],
) -> Annotated[float, "normal force at each mouth"]:
    """N = 12 E I (t - tc) (L + h)^3/(h L^3 (3L + 4h)), h = W/2, none below tc.

    Both mouths bear alike and opposite, so the couple is N W and the resistance to sliding 2 c N.

    Source: beam theory, a wire over both mouths and built in at a distance L from either; derived for this project.
    Valid: angles up to 10 deg, equal spans, sharp mouths, no play in the neighbours.
    """
    beyond = max(bracket_angle_rad - critical_angle_rad, 0.0)
    half, span = 0.5 * slot_width_mm, span_mm
    shape = (span + half) ** 3 / (half * span**3 * (3.0 * span + 4.0 * half))
    return 12.0 * youngs_modulus_mpa * second_moment_mm4 * beyond * shape
