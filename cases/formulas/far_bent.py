"""Wires bent far: the cantilever's elastica, a wire rolled up by a couple, a helix under a wrench."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from cases.formulas.quantities import SecondMoment, YoungsModulus
from cases.formulas.registry import formula


@dataclass(frozen=True, slots=True)
class Elastica:
    """Where the end of a cantilever goes, as shares of its length."""

    deflection_share: Annotated[float, "deflection across, over the length"]
    shortening_share: Annotated[float, "way back along, over the length"]
    end_angle_rad: Annotated[float, "angle by which the end turns"]


@dataclass(frozen=True, slots=True)
class RolledUp:
    """Where the end of a wire goes that a couple rolls up, as shares of its length."""

    along_share: Annotated[float, "distance of the end along the wire's old line, over the length"]
    across_share: Annotated[float, "distance of the end across it, over the length"]


@dataclass(frozen=True, slots=True)
class Wrench:
    """What holds a rod as a helix, on the helix's axis."""

    axial_force_n: Annotated[float, "force along the axis"]
    axial_moment_nmm: Annotated[float, "moment about the axis"]


@formula("How far does a cantilever bend under a force that keeps its direction?")
def elastica_cantilever(
    load_parameter: Annotated[float, "P L^2/(E I)"],
) -> Elastica:
    """sqrt(P L^2/(E I)) = a = K(p) - F(p, b), w/L = 1 - 2 (E(p) - E(p, b))/a, u/L = 1 - sqrt(2 sin t)/a.

    p^2 = (1 + sin t)/2 for the end's angle t, sin b = 1/(p sqrt 2); K, F and E are elliptic integrals.

    Source: Bisshopp & Drucker, Quart. Appl. Math. 3 (1945) 272.
    Valid: any load up to P L^2/(E I) = 100; neither stretch nor shear.
    """
    from scipy.optimize import brentq
    from scipy.special import ellipe, ellipeinc, ellipk, ellipkinc

    if load_parameter > 100.0:
        raise ValueError(f"load_parameter must not exceed 100: got {load_parameter!r}")
    root = math.sqrt(load_parameter)

    def modulus(angle: float) -> tuple[float, float]:
        squared = 0.5 * (1.0 + math.sin(angle))
        return squared, math.asin(1.0 / math.sqrt(2.0 * squared))

    def off(angle: float) -> float:
        squared, begin = modulus(angle)
        return float(ellipk(squared) - ellipkinc(begin, squared)) - root

    angle = float(brentq(off, 1e-9, 0.5 * math.pi - 1e-12, xtol=1e-15, rtol=1e-14))
    squared, begin = modulus(angle)
    across = 1.0 - 2.0 / root * float(ellipe(squared) - ellipeinc(begin, squared))
    return Elastica(across, 1.0 - math.sqrt(2.0 * math.sin(angle)) / root, angle)


@formula("Where does the end of a straight wire go that a couple rolls up?")
def rolled_up(
    moment_parameter: Annotated[float, "M L/(E I), which is the angle by which the end turns"],
) -> RolledUp:
    """x/L = sin(m)/m, y/L = (1 - cos m)/m, m = M L/(E I).

    m = 2 pi: a full circle.

    Source: constant curvature M/(E I); any handbook of elasticity.
    Valid: any angle; elastic.
    """
    m = moment_parameter
    return RolledUp(math.sin(m) / m, (1.0 - math.cos(m)) / m)


@formula("Which wrench holds a straight rod as a helix?")
def helix_wrench(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    radius_mm: Annotated[float, "radius r of the helix"],
    pitch_angle_rad: Annotated[float, "angle a between the wire and a circle", "any"],
    torque_nmm: Annotated[float, "torque H along the wire itself", "any"],
) -> Wrench:
    """R = H cos(a)/r - E I sin(a) cos^2(a)/r^2, K = H sin(a) + E I cos^3(a)/r.

    Source: Love, Mathematical Theory of Elasticity (4th ed. 1927), art. 270.
    Valid: any helix; equal bending stiffnesses, elastic.
    """
    c, s = math.cos(pitch_angle_rad), math.sin(pitch_angle_rad)
    bending_stiffness = youngs_modulus_mpa * second_moment_mm4
    return Wrench(
        torque_nmm * c / radius_mm - bending_stiffness * s * c**2 / radius_mm**2,
        torque_nmm * s + bending_stiffness * c**3 / radius_mm,
    )
