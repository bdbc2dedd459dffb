"""Cantilevers and spans: forces, couples, load-deflection rates, a stop, the three-point test."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated

from cases.formulas.quantities import Arm, Deflection, SecondMoment, YoungsModulus
from cases.formulas.registry import formula

LengthRatio = Annotated[float, "new length over old length"]
MiddleSpan = Annotated[float, "length L of each of the two spans"]
Offset = Annotated[float, "offset d of the middle bracket from the line of the outer two", "any"]
Slack = Annotated[float, "slot height less wire height c: the whole play", "not negative"]


def _small(given: Mapping[str, float]) -> bool:
    return abs(given["deflection_mm"]) <= 0.1 * given["length_mm"]


@formula("Which force deflects the end of a cantilever so far?", _small)
def cantilever_force_n(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    length_mm: Arm,
    deflection_mm: Deflection,
) -> Annotated[float, "force F across the end"]:
    """F = 3 E I d/L^3.

    One couple: a tube holds the wire in place and direction, the end is tied to a point and carries no couple.

    Source: Gere & Timoshenko, Mechanics of Materials, table of beam deflections (from memory).
    Valid: d up to L/10, where the elastica needs 1 % more force; play in the tube used up.
    """
    return 3.0 * youngs_modulus_mpa * second_moment_mm4 * deflection_mm / length_mm**3


def _deflects_little(given: Mapping[str, float]) -> bool:
    return abs(cantilever_deflection_mm(**given)) <= 0.1 * given["length_mm"]


@formula(
    "How far does a force deflect the end of a cantilever?",
    _deflects_little,
)
def cantilever_deflection_mm(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    length_mm: Arm,
    force_n: Annotated[float, "force F across the end", "any"],
) -> Annotated[float, "deflection d of the end"]:
    """d = F L^3/(3 E I).

    Source: Gere & Timoshenko, Mechanics of Materials, table of beam deflections (from memory).
    Valid: d up to L/10; a wire bent further deflects less than this.
    """
    return force_n * length_mm**3 / (3.0 * youngs_modulus_mpa * second_moment_mm4)


@formula("Which couple does the tube of a one-couple system get?")
def cantilever_couple_nmm(
    length_mm: Arm, force_n: Annotated[float, "force F across the end", "any"]
) -> Annotated[float, "couple at the tube's mouth"]:
    """M = F L.

    About the slot's centre it is F (L + W/2), W the tube's width.

    Source: statics.
    Valid: any deflection, as long as L is the distance across which the force acts once the wire is engaged.
    """
    return force_n * length_mm


@formula("What is the load-deflection rate of a cantilever?")
def cantilever_rate_n_per_mm(
    youngs_modulus_mpa: YoungsModulus, second_moment_mm4: SecondMoment, length_mm: Arm
) -> Annotated[float, "force for each mm of deflection"]:
    """F/d = 3 E I/L^3.

    Source: Gere & Timoshenko, Mechanics of Materials, table of beam deflections (from memory).
    Valid: deflections up to L/10.
    """
    return 3.0 * youngs_modulus_mpa * second_moment_mm4 / length_mm**3


def _two_mouths(given: Mapping[str, float]) -> bool:
    force = cantilever_force_through_play_n(**given)
    stiffness = given["youngs_modulus_mpa"] * given["second_moment_mm4"]
    limit = 6.0 * stiffness * given["play_in_height_mm"] / given["tube_width_mm"] ** 2
    return _small(given) and abs(force) * given["length_mm"] <= limit


@formula("Which force does a cantilever give whose tube has play?", _two_mouths)
def cantilever_force_through_play_n(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    length_mm: Arm,
    deflection_mm: Annotated[float, "height d of the tie above the tube's axis", "any"],
    tube_width_mm: Annotated[float, "width W of the tube"],
    play_in_height_mm: Slack,
) -> Annotated[float, "force F across the end"]:
    """F = 3 E I (d - c (L + W/2)/W)/(L^2 (L + W)), none while the play is not used up.

    The wire lies against the walls at both mouths; unbent it would pass the tie at c (L + W/2)/W.

    Source: beam on two supports with an overhang, Gere & Timoshenko, Mechanics of Materials (from memory).
    Valid: d up to L/10 and F L up to 6 E I c/W^2; beyond, the contact at the far mouth moves in.
    """
    used = play_in_height_mm * (length_mm + 0.5 * tube_width_mm) / tube_width_mm
    bent = math.copysign(max(abs(deflection_mm) - used, 0.0), deflection_mm)
    return 3.0 * youngs_modulus_mpa * second_moment_mm4 * bent / (length_mm**2 * (length_mm + tube_width_mm))


@formula("Which arm does the couple of a tube with play have, once the inner contact has moved in?")
def couple_arm_mm(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    play_in_height_mm: Annotated[float, "slot height less wire height c: the whole play"],
    couple_nmm: Annotated[float, "couple M at the near mouth"],
) -> Annotated[float, "distance w of the inner contact from the near mouth"]:
    """w = sqrt(6 E I c/M).

    Behind w the wire lies along the wall, free of moment; from there it rises by M w^2/(6 E I) = c to the mouth.

    Source: beam theory; a beam lifting off a plane.
    Valid: w up to the tube's width, else the contact stays at the far mouth; shear adds 3/2 E I/(k G A w^2) of w.
    """
    return math.sqrt(6.0 * youngs_modulus_mpa * second_moment_mm4 * play_in_height_mm / couple_nmm)


@formula("By which factor does force for a given offset change with length?")
def force_per_offset_factor(
    length_ratio: LengthRatio,
) -> Annotated[float, "new force over old force"]:
    """F/F0 = (L/L0)^-3.

    Half the span: eight times the force.

    Source: beam theory; F = 3 E I d/L^3 and 12 E I d/L^3 alike.
    Valid: small deflections, the same wire and offset, no play.
    """
    return 1.0 / length_ratio**3


@formula("By which factor does moment for a given offset change with length?")
def moment_per_offset_factor(
    length_ratio: LengthRatio,
) -> Annotated[float, "new moment over old moment"]:
    """M/M0 = (L/L0)^-2.

    Half the span: four times the moment.

    Source: beam theory; M = 3 E I d/L^2 and 6 E I d/L^2 alike.
    Valid: small deflections, the same wire and offset, no play.
    """
    return 1.0 / length_ratio**2


@formula("By which factor does moment for a given angle, or torque, change with length?")
def moment_per_angle_factor(
    length_ratio: LengthRatio,
) -> Annotated[float, "new moment over old moment"]:
    """M/M0 = (L/L0)^-1.

    Half the span: twice the moment and twice the torque.

    Source: beam theory; M = 4 E I t/L and T = G J t/L alike.
    Valid: small deflections (torque: any twist), the same wire and angle, no play.
    """
    return 1.0 / length_ratio


@formula(
    "Which force holds a middle bracket out of line, between brackets that hold the wire's direction?",
    lambda given: abs(given["offset_mm"]) <= 0.05 * given["span_mm"],
)
def middle_bracket_force_n(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    span_mm: MiddleSpan,
    offset_mm: Offset,
) -> Annotated[float, "force on the middle bracket"]:
    """F = 24 E I d/L^3.

    Two spans of built-in ends side by side.

    Source: Gere & Timoshenko, Mechanics of Materials, table of fixed-end beams (from memory).
    Valid: d up to L/20, no play, the wire free to slide at one side.
    """
    return 24.0 * youngs_modulus_mpa * second_moment_mm4 * offset_mm / span_mm**3


@formula(
    "Which force holds a middle bracket out of line, between points that carry no couple?",
    lambda given: abs(given["offset_mm"]) <= 0.1 * given["span_mm"],
)
def middle_bracket_between_points_force_n(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    span_mm: MiddleSpan,
    offset_mm: Offset,
) -> Annotated[float, "force on the middle bracket"]:
    """F = 6 E I d/L^3.

    A beam of length 2L on two supports, loaded in the middle: a quarter of what built-in ends give.

    Source: Gere & Timoshenko, Mechanics of Materials, table of beam deflections (from memory).
    Valid: d up to L/10.
    """
    return 6.0 * youngs_modulus_mpa * second_moment_mm4 * offset_mm / span_mm**3


@formula(
    "Which force bends a wire in the three-point test?",
    lambda given: abs(given["deflection_mm"]) <= 0.05 * given["span_mm"],
)
def three_point_force_n(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    span_mm: Annotated[float, "span L between the fulcrums"],
    deflection_mm: Annotated[float, "deflection d in the middle", "any"],
) -> Annotated[float, "force F in the middle"]:
    """F = 48 E I d/L^3.

    The test of ISO 15841 goes to 3.1 mm over 10 mm: there fixed edges carry 0.42 of this, beyond a maximum at 2.5 mm.

    Source: Gere & Timoshenko, Mechanics of Materials, table of beam deflections (from memory).
    Valid: d up to L/20, where fixed edges without friction carry 2.5 % less.
    """
    return 48.0 * youngs_modulus_mpa * second_moment_mm4 * deflection_mm / span_mm**3


@formula(
    "Which force does a stop at the end of a loaded cantilever take?",
    lambda given: given["load_place_mm"] <= given["length_mm"],
)
def stop_reaction_n(
    youngs_modulus_mpa: YoungsModulus,
    second_moment_mm4: SecondMoment,
    length_mm: Annotated[float, "length L from the built-in end to the stop"],
    load_n: Annotated[float, "load P towards the stop", "not negative"],
    load_place_mm: Annotated[float, "distance a of the load from the built-in end"],
    gap_mm: Annotated[float, "gap g between wire and stop, unloaded", "not negative"],
) -> Annotated[float, "force R on the stop"]:
    """R = (P a^2 (3L - a)/(6 E I) - g) 3 E I/L^3, none before the gap is closed.

    Source: superposition of two cantilevers, Gere & Timoshenko, Mechanics of Materials (from memory).
    Valid: small deflections, the load between the built-in end and the stop.
    """
    stiffness = youngs_modulus_mpa * second_moment_mm4
    free = load_n * load_place_mm**2 * (3.0 * length_mm - load_place_mm) / (6.0 * stiffness)
    return max(free - gap_mm, 0.0) * 3.0 * stiffness / length_mm**3
