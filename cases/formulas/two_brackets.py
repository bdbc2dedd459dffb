"""Two brackets: the six geometries, V-bends and step bends, as a linear beam.

Forces and moments are those on the teeth, about the ends of the span unless said otherwise; moments and angles are
right-handed about +z, forces along +y; A stands at the viewer's left.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from cases.formulas.quantities import SecondMoment, Span, YoungsModulus
from cases.formulas.registry import formula

ForceA = Annotated[float, "force on the tooth at A"]
ForceB = Annotated[float, "force on the tooth at B"]
BracketWidth = Annotated[float, "width W of the brackets, for moments about their centres", "not negative"]
Step = Annotated[float, "height d of the step: B above A", "any"]


@dataclass(frozen=True, slots=True)
class TwoBrackets:
    """What two teeth get."""

    moment_a_nmm: Annotated[float, "moment on the tooth at A"]
    moment_b_nmm: Annotated[float, "moment on the tooth at B"]
    force_a_n: ForceA
    force_b_n: ForceB


@dataclass(frozen=True, slots=True)
class Ratios:
    """The six geometries by their ratios."""

    moment_ratio: Annotated[float, "moment at A over moment at B"]
    force_ratio: Annotated[float, "force times span over moment at B"]


@dataclass(frozen=True, slots=True)
class StepBend:
    """What two teeth get from a step."""

    force_a_n: ForceA
    force_b_n: ForceB
    mouth_moment_nmm: Annotated[float, "moment at either end of the span, same sense"]
    centre_moment_nmm: Annotated[float, "moment about either slot's centre"]


def _small_angles(given: Mapping[str, float]) -> bool:
    return max(abs(given["angle_a_rad"]), abs(given["angle_b_rad"])) <= math.radians(10.0)


@formula("What do two brackets get that are turned against a straight wire?", _small_angles)
def two_brackets(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    span_mm: Span,
    angle_a_rad: Annotated[float, "angle tA of the bracket at A to the line of the span", "any"],
    angle_b_rad: Annotated[float, "angle tB of the bracket at B to the line of the span", "any"],
) -> TwoBrackets:
    """MA = -2 E I (2 tA + tB)/L, MB = -2 E I (tA + 2 tB)/L, FA = -FB = -6 E I (tA + tB)/L^2.

    Ends built in: a wire that fills its slots is up to 15 % softer over 7 mm, one with play gives less still.

    Source: Burstone & Koenig, Am. J. Orthod. 65 (1974) 270; slope-deflection equations of any handbook.
    Valid: angles up to 10 deg, where the exact rod differs by 1 %; no play; the wire free to slide in one bracket.
    """
    unit = -2.0 * youngs_modulus_mpa * second_moment_mm4 / span_mm
    moment_a = unit * (2.0 * angle_a_rad + angle_b_rad)
    moment_b = unit * (angle_a_rad + 2.0 * angle_b_rad)
    force = (moment_a + moment_b) / span_mm
    return TwoBrackets(moment_a, moment_b, force, -force)


@formula("Which of the six geometries is it: how do the two moments and the force compare?")
def two_bracket_ratios(
    angle_ratio: Annotated[float, "angle at A over angle at B, from -1 to 1: B has the larger", "any"],
) -> Ratios:
    """MA/MB = (2 r + 1)/(r + 2), F L/MB = 3 (r + 1)/(r + 2), r = tA/tB.

    Class I r = 1, II 0.5, III 0, IV -0.5, V -0.75, VI -1.

    Source: Burstone & Koenig, Am. J. Orthod. 65 (1974) 270; slope-deflection equations of any handbook.
    Valid: r from -1 to 1; small angles, ends built in, no play.
    """
    if abs(angle_ratio) > 1.0:
        raise ValueError(
            f"angle_ratio must lie between -1 and 1, B having the larger angle: got {angle_ratio!r}"
        )
    return Ratios(
        (2.0 * angle_ratio + 1.0) / (angle_ratio + 2.0), 3.0 * (angle_ratio + 1.0) / (angle_ratio + 2.0)
    )


@formula("How does the smaller moment of a V-bend compare with the larger?")
def v_bend_ratio(
    apex_share: Annotated[float, "distance of the apex from the nearer bracket over the span, to 0.5"],
) -> Annotated[float, "moment at the farther bracket over moment at the nearer"]:
    """MB/MA = (1 - 3 s)/(2 - 3 s), s = a/L.

    None at the farther bracket where s = 1/3; equal and opposite in the middle.

    Source: Burstone & Koenig, Am. J. Orthod. Dentofacial Orthop. 93 (1988) 59; linear beam with a kink.
    Valid: s up to 1/2; small kinks, ends built in, no play.
    """
    if apex_share > 0.5:
        raise ValueError(f"apex_share is counted from the nearer bracket, so at most 0.5: got {apex_share!r}")
    return (1.0 - 3.0 * apex_share) / (2.0 - 3.0 * apex_share)


@formula(
    "What do two brackets in line get from a V-bend?",
    lambda given: abs(given["kink_rad"]) <= math.radians(20.0),
)
def v_bend(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    span_mm: Span,
    apex_mm: Annotated[float, "distance a of the apex from A"],
    kink_rad: Annotated[float, "angle t of the bend, + with its apex up", "any"],
) -> TwoBrackets:
    """MA = 2 E I t (2b - a)/L^2, MB = 2 E I t (b - 2a)/L^2, FA = -FB = (MA + MB)/L, b = L - a.

    Source: Burstone & Koenig, Am. J. Orthod. Dentofacial Orthop. 93 (1988) 59; linear beam with a kink.
    Valid: kinks up to 20 deg; ends built in, no play; the wire free to slide in one bracket.
    """
    if apex_mm >= span_mm:
        raise ValueError(f"apex_mm must lie within the span of {span_mm:g} mm: got {apex_mm!r}")
    b = span_mm - apex_mm
    unit = 2.0 * youngs_modulus_mpa * second_moment_mm4 * kink_rad / span_mm**2
    moment_a, moment_b = unit * (2.0 * b - apex_mm), unit * (b - 2.0 * apex_mm)
    force = (moment_a + moment_b) / span_mm
    return TwoBrackets(moment_a, moment_b, force, -force)


@formula(
    "Which angle has a V-bend of this height?",
    lambda given: given["apex_height_mm"] <= 0.2 * min(given["apex_mm"], given["span_mm"] - given["apex_mm"]),
)
def v_bend_angle_rad(
    span_mm: Span,
    apex_mm: Annotated[float, "distance a of the apex from A"],
    apex_height_mm: Annotated[float, "height h of the apex over the line of the span"],
) -> Annotated[float, "angle t of the bend"]:
    """t = h/a + h/b, b = L - a.

    Source: geometry of small angles.
    Valid: h up to a fifth of the shorter leg, where it is 1.3 % too large.
    """
    if apex_mm >= span_mm:
        raise ValueError(f"apex_mm must lie within the span of {span_mm:g} mm: got {apex_mm!r}")
    return apex_height_mm / apex_mm + apex_height_mm / (span_mm - apex_mm)


@formula(
    "What do two brackets get from a step bend, or from standing at two heights?",
    lambda given: abs(given["step_mm"]) <= 0.1 * given["span_mm"],
)
def step_bend(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    span_mm: Span,
    step_mm: Step,
    bracket_width_mm: Annotated[
        float, "width W of the brackets, for the moments about their centres", "not negative"
    ] = 0.0,
) -> StepBend:
    """F = 12 E I d/L^3, at the mouths M = 6 E I d/L^2, about the centres M + F W/2.

    Where the step lies in the span does not matter.

    Source: Burstone & Koenig, Am. J. Orthod. Dentofacial Orthop. 93 (1988) 59; fixed-end beam of any handbook.
    Valid: d up to L/10; ends built in, no play; the wire free to slide in one bracket.
    """
    force = 12.0 * youngs_modulus_mpa * second_moment_mm4 * step_mm / span_mm**3
    mouth = 0.5 * force * span_mm
    return StepBend(force, -force, mouth, mouth + 0.5 * force * bracket_width_mm)


@formula(
    "Which force gives a step between slots that the wire fills?",
    lambda given: abs(given["step_mm"]) <= 0.05 * given["span_mm"],
)
def step_in_full_size_slots_force_n(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    span_mm: Span,
    step_mm: Step,
    shear_stiffness_n: Annotated[float, "shear stiffness k G A of the wire"],
) -> Annotated[float, "force F on either tooth"]:
    """F = 12 E I d/L^3/(1 + 6 l/L + 12 (l/L)^2), l = sqrt(E I/(k G A)).

    Inside a tight slot the wire cannot deflect but its sections still turn by shear, over a length l of about half
    its height: each mouth is a hinge with the spring E I/l.

    Source: Timoshenko's beam in a rigid channel, derived for this project.
    Valid: d up to L/20; slots several l wide, without play.
    """
    stiffness = youngs_modulus_mpa * second_moment_mm4
    ratio = math.sqrt(stiffness / shear_stiffness_n) / span_mm
    return 12.0 * stiffness * step_mm / span_mm**3 / (1.0 + 6.0 * ratio + 12.0 * ratio**2)
