"""Sections and alloys: second moments, torsion constants, stiffness numbers, what a section bears when it yields."""

from __future__ import annotations

import math
from typing import Annotated

from cases.formulas.quantities import Diameter, EdgeRadius, SecondMoment, YoungsModulus
from cases.formulas.registry import formula

Height = Annotated[float, "side h of the section along which it bends"]
Depth = Annotated[float, "side b across it"]
OneSide = Annotated[float, "one side of the section"]
OtherSide = Annotated[float, "the other side"]
YieldStress = Annotated[float, "yield stress"]
ShearYield = Annotated[float, "yield stress in shear; von Mises: 0.577 of that in tension"]
Poisson = Annotated[float, "Poisson's ratio, below 0.5", "not negative"]

STANDARD_DIAMETER = 0.004 * 25.4
"""mm: the round wire whose cross-section number is one."""
LAST_TERM = 61
"""Of the series of torsion: what is left is below the rounding of floats."""


@formula("How stiff in bending is a round section?")
def round_second_moment_mm4(diameter_mm: Diameter) -> Annotated[float, "second moment of area I"]:
    """I = pi d^4/64.

    Source: geometry; any handbook of strength of materials.
    Valid: always.
    """
    return math.pi * diameter_mm**4 / 64.0


@formula("How stiff in bending is a rectangular section?")
def rectangle_second_moment_mm4(
    height_mm: Height, depth_mm: Depth, edge_radius_mm: EdgeRadius = 0.0
) -> Annotated[float, "second moment of area I"]:
    """I = b h^3/12, less what rounded edges cut away.

    Edgewise, second order (up and down) bends along the wire's height and first order (in and out) along its depth:
    give as h the side along which it bends.

    Source: geometry; any handbook of strength of materials.
    Valid: edge radii up to half the smaller side.
    """
    from geometry.section import Rectangle

    return Rectangle(height_mm, depth_mm, edge_radius_mm).second_moment_z


@formula("How stiff in torsion is a round section?")
def round_torsion_constant_mm4(diameter_mm: Diameter) -> Annotated[float, "torsion constant J"]:
    """J = pi d^4/32.

    Source: Coulomb; any handbook of strength of materials.
    Valid: always.
    """
    return math.pi * diameter_mm**4 / 32.0


@formula("How stiff in torsion is a rectangular section?")
def rectangle_torsion_constant_mm4(
    side_mm: OneSide, other_side_mm: OtherSide
) -> Annotated[float, "torsion constant J"]:
    """J = (b a^3/3) (1 - (192 a/(pi^5 b)) sum of tanh(n pi b/(2a))/n^5 over n = 1, 3, 5, ...), a the shorter side.

    Source: Timoshenko & Goodier, Theory of Elasticity, art. 109 (article from memory).
    Valid: sharp edges; a radius of a fifth of the shorter side costs 2.5 %.
    """
    a, b = sorted((side_mm, other_side_mm))
    series = sum(math.tanh(n * math.pi * b / (2.0 * a)) / n**5 for n in range(1, LAST_TERM, 2))
    return b * a**3 / 3.0 * (1.0 - 192.0 * a / (math.pi**5 * b) * series)


@formula("How stiff in torsion is a rectangular section, by the short formula?")
def rectangle_torsion_constant_short_mm4(
    side_mm: OneSide, other_side_mm: OtherSide
) -> Annotated[float, "torsion constant J"]:
    """J = a b^3 (16/3 - 3.36 (b/a) (1 - b^4/(12 a^4))), a and b half the longer and the shorter side.

    Source: Roark's Formulas for Stress and Strain, table 10.7.
    Valid: sharp edges; within 0.5 % of the series.
    """
    b, a = sorted((0.5 * side_mm, 0.5 * other_side_mm))
    return a * b**3 * (16.0 / 3.0 - 3.36 * b / a * (1.0 - b**4 / (12.0 * a**4)))


@formula("What is the largest shear stress in a twisted rectangular section?")
def rectangle_torsion_stress_mpa(
    side_mm: OneSide, other_side_mm: OtherSide, torque_nmm: Annotated[float, "torque T", "any"]
) -> Annotated[float, "largest shear stress, in the middle of the longer sides"]:
    """t = (T a/J) (1 - (8/pi^2) sum of 1/(n^2 cosh(n pi b/(2a))) over n = 1, 3, 5, ...), a the shorter side.

    Source: Timoshenko & Goodier, Theory of Elasticity, art. 109 (article from memory).
    Valid: elastic; sharp edges.
    """
    a, b = sorted((side_mm, other_side_mm))
    series = sum(
        2.0 * math.exp(-n * math.pi * b / (2.0 * a)) / (n**2 * (1.0 + math.exp(-n * math.pi * b / a)))
        for n in range(1, LAST_TERM, 2)
    )
    constant = rectangle_torsion_constant_mm4(a, b)
    return torque_nmm * a / constant * (1.0 - 8.0 / math.pi**2 * series)


@formula("Which shear modulus goes with a Young's modulus?")
def shear_modulus_mpa(
    youngs_modulus_mpa: YoungsModulus, poisson: Poisson
) -> Annotated[float, "shear modulus G"]:
    """G = E/(2 (1 + nu)).

    Source: any handbook of elasticity.
    Valid: isotropic material; nu below 0.5.
    """
    if poisson > 0.5:
        raise ValueError(f"poisson must not exceed 0.5: got {poisson!r}")
    return youngs_modulus_mpa / (2.0 * (1.0 + poisson))


@formula("Which share of a rectangular section carries shear?")
def rectangle_shear_coefficient(poisson: Poisson) -> Annotated[float, "shear coefficient k"]:
    """k = 10 (1 + nu)/(12 + 11 nu).

    Source: Cowper, J. Appl. Mech. 33 (1966) 335.
    Valid: sharp edges; shear adds less than 1 % to the deflection of usual spans.
    """
    return 10.0 * (1.0 + poisson) / (12.0 + 11.0 * poisson)


@formula("Which share of a round section carries shear?")
def round_shear_coefficient(poisson: Poisson) -> Annotated[float, "shear coefficient k"]:
    """k = 6 (1 + nu)/(7 + 6 nu).

    Source: Cowper, J. Appl. Mech. 33 (1966) 335 (from memory).
    Valid: shear adds less than 1 % to the deflection of usual spans.
    """
    return 6.0 * (1.0 + poisson) / (7.0 + 6.0 * poisson)


@formula("Which cross-section number has a wire?")
def cross_section_number(second_moment_mm4: SecondMoment) -> Annotated[float, "cross-section number"]:
    """Cs = I/I0, I0 that of a round wire of 0.004 in.

    Source: Burstone, Am. J. Orthod. 80 (1981) 1.
    Valid: bending; first and second order of a rectangular wire have each their own.
    """
    return second_moment_mm4 / (math.pi * STANDARD_DIAMETER**4 / 64.0)


@formula("Which stiffness number has a wire?")
def wire_stiffness_number(
    cross_section_number: Annotated[float, "cross-section number Cs"],
    youngs_modulus_mpa: YoungsModulus,
    steel_modulus_mpa: Annotated[float, "Young's modulus of the steel wire compared with"],
) -> Annotated[float, "wire stiffness number"]:
    """Ws = Ms Cs, Ms = E/E of steel.

    Source: Burstone, Am. J. Orthod. 80 (1981) 1.
    Valid: the same appliance and activation, linear elastic alloys.
    """
    return cross_section_number * youngs_modulus_mpa / steel_modulus_mpa


@formula("Which moment bends a rectangular section for good, all through?")
def rectangle_plastic_moment_nmm(
    height_mm: Height, depth_mm: Depth, yield_stress_mpa: YieldStress
) -> Annotated[float, "fully plastic moment"]:
    """M = s b h^2/4, 1.5 of the moment at first yield.

    Source: any handbook of plasticity; shape factor 1.5.
    Valid: elastic, perfectly plastic; sharp edges.
    """
    return yield_stress_mpa * depth_mm * height_mm**2 / 4.0


@formula("Which moment bends a round section for good, all through?")
def round_plastic_moment_nmm(
    diameter_mm: Diameter, yield_stress_mpa: YieldStress
) -> Annotated[float, "fully plastic moment"]:
    """M = s d^3/6, 16/(3 pi) = 1.698 of the moment at first yield.

    Source: any handbook of plasticity; shape factor 16/(3 pi).
    Valid: elastic, perfectly plastic.
    """
    return yield_stress_mpa * diameter_mm**3 / 6.0


@formula("Which moment bears a rectangular section that is bent beyond yield?")
def rectangle_moment_beyond_yield(
    curvature_ratio: Annotated[float, "curvature k over the curvature at first yield"],
) -> Annotated[float, "moment over the moment at first yield"]:
    """M/My = 1.5 (1 - 1/(3 k^2)), k itself up to first yield.

    What stays after unloading is k - M/My, in curvatures at first yield.

    Source: any handbook of plasticity.
    Valid: elastic, perfectly plastic; sharp edges.
    """
    return curvature_ratio if curvature_ratio <= 1.0 else 1.5 * (1.0 - 1.0 / (3.0 * curvature_ratio**2))


@formula("Which moment bears a round section that is bent beyond yield?")
def round_moment_beyond_yield(
    curvature_ratio: Annotated[float, "curvature k over the curvature at first yield"],
) -> Annotated[float, "moment over the moment at first yield"]:
    """M/My = (4/pi) ((4/3) cos^3 a + (k/2) (a - sin(4a)/4)), sin a = 1/k; k itself up to first yield.

    The rim beyond the distance r/k from the axis yields at full stress, the core within is elastic.

    Source: integral over a circle, elastic core and yielding rim.
    Valid: elastic, perfectly plastic.
    """
    if curvature_ratio <= 1.0:
        return curvature_ratio
    a = math.asin(1.0 / curvature_ratio)
    # first moment of the rim 4/3 cos^3 a, second moment of the core (a - sin(4a)/4)/2, both for a radius of one
    rim = 4.0 / 3.0 * math.cos(a) ** 3
    core = curvature_ratio * (a - 0.25 * math.sin(4.0 * a)) / 2.0
    return (rim + core) / (math.pi / 4.0)


@formula("Which torque twists a round section for good, all through?")
def round_plastic_torque_nmm(
    diameter_mm: Diameter, shear_yield_mpa: ShearYield
) -> Annotated[float, "fully plastic torque"]:
    """T = pi d^3 t/12, 4/3 of the torque at first yield.

    Source: any handbook of plasticity.
    Valid: elastic, perfectly plastic.
    """
    return math.pi * diameter_mm**3 * shear_yield_mpa / 12.0


@formula("Which torque twists a rectangular section for good, all through?")
def rectangle_plastic_torque_nmm(
    side_mm: OneSide, other_side_mm: OtherSide, shear_yield_mpa: ShearYield
) -> Annotated[float, "fully plastic torque"]:
    """T = t a^2 (3b - a)/6, a the shorter side.

    Source: sand-heap analogy, Nadai, Theory of Flow and Fracture of Solids (from memory).
    Valid: elastic, perfectly plastic; sharp edges.
    """
    a, b = sorted((side_mm, other_side_mm))
    return shear_yield_mpa * a**2 * (3.0 * b - a) / 6.0
