"""Loads at which a straight wire leaves its shape."""

from __future__ import annotations

import math
from typing import Annotated

from cases.formulas.quantities import SecondMoment, ShearModulus, TorsionConstant, YoungsModulus
from cases.formulas.registry import formula

GREENHILL = 4.493409457909064
"""Smallest root above zero of tan x = x."""
LATERAL = 4.012599344
"""Twice the smallest root of the Bessel function of order -1/4."""


@formula("At which push does a straight wire buckle?")
def euler_load_n(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: Annotated[float, "smaller second moment of area I"],
    length_mm: Annotated[float, "length L between the ends"],
    free_length_factor: Annotated[
        float, "1 between hinges, 0.5 between built-in ends, 2 with a free end"
    ] = 1.0,
) -> Annotated[float, "critical force"]:
    """P = pi^2 E I/(f L)^2.

    Source: Euler 1744; Timoshenko & Gere, Theory of Elastic Stability, chapter 2.
    Valid: slender and straight; shear lowers it by the share P/(k G A).
    """
    return math.pi**2 * youngs_modulus_mpa * second_moment_mm4 / (free_length_factor * length_mm) ** 2


@formula("At which torque does a straight wire between built-in ends coil up?")
def greenhill_torque_nmm(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    length_mm: Annotated[float, "length L between the ends"],
) -> Annotated[float, "critical torque"]:
    """T = 2 x E I/L, x = 4.4934 the root of tan x = x.

    Source: Greenhill 1883; Timoshenko & Gere, Theory of Elastic Stability, art. 2.21 (article from memory).
    Valid: equal second moments, ends built in and free to approach.
    """
    return 2.0 * GREENHILL * youngs_modulus_mpa * second_moment_mm4 / length_mm


@formula(
    "At which force does a flat cantilever, bent on edge, tip over sideways?",
    lambda given: given["second_moment_mm4"] <= 0.01 * given["stiff_second_moment_mm4"],
)
def lateral_buckling_force_n(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: Annotated[float, "smaller second moment of area I2"],
    stiff_second_moment_mm4: Annotated[
        float, "larger second moment of area I1, in whose plane the force lies"
    ],
    shear_modulus_mpa: ShearModulus,
    torsion_constant_mm4: TorsionConstant,
    length_mm: Annotated[float, "length L of the cantilever"],
) -> Annotated[float, "critical force at the end, in its middle"]:
    """P = 4.0126 sqrt(E I2 G J)/L^2, over sqrt((1 - I2/I1)(1 - G J/(E I1))) for what it has bent before.

    Source: Prandtl and Michell 1899; Timoshenko & Gere, Theory of Elastic Stability, art. 6.3 (from memory).
    Valid: narrow strips, I2 up to I1/100.
    """
    soft = youngs_modulus_mpa * second_moment_mm4
    stiff = youngs_modulus_mpa * stiff_second_moment_mm4
    torsion = shear_modulus_mpa * torsion_constant_mm4
    if max(soft, torsion) >= stiff:
        raise ValueError(
            "a cantilever tips over only where it is stiffer in the plane of the force than out of it"
        )
    before = math.sqrt((1.0 - soft / stiff) * (1.0 - torsion / stiff))
    return LATERAL * math.sqrt(soft * torsion) / length_mm**2 / before
