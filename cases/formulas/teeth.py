"""Closing loops and teeth: moment-to-force ratios, the centre of resistance, the centre of rotation."""

from __future__ import annotations

import math
from typing import Annotated

from cases.formulas.registry import formula

LoopHeight = Annotated[float, "height H of the loop over the wire's line"]
ToResistance = Annotated[float, "distance of the centre of resistance from the slot, across the force"]


@formula("Which moment-to-force ratio has a rectangular vertical loop?")
def rectangular_loop_ratio_mm(
    loop_height_mm: LoopHeight,
    top_mm: Annotated[float, "width t of the loop"],
    level_mm: Annotated[float, "length s of the level wire in the span, both sides together", "not negative"],
) -> Annotated[float, "moment over force at either bracket"]:
    """M/F = (H^2 + t H)/(2H + t + s).

    The force acts through the elastic centre, the centroid of the wire's length; it lies below half the height.

    Source: elastic centre of a frame, Timoshenko & Young, Theory of Structures (1945, from memory).
    Valid: small activation without gable bends, brackets in line without play, bending alone.
    """
    return (loop_height_mm**2 + top_mm * loop_height_mm) / (2.0 * loop_height_mm + top_mm + level_mm)


@formula("Which moment-to-force ratio has a vertical loop with a round top?")
def vertical_loop_ratio_mm(
    loop_height_mm: LoopHeight,
    width_mm: Annotated[float, "width of the loop, between its legs' centrelines"],
    foot_radius_mm: Annotated[float, "radius of the bends at its feet"],
    level_mm: Annotated[float, "length of the level wire in the span, both sides together", "not negative"],
) -> Annotated[float, "moment over force at either bracket"]:
    """M/F = (sum of l y)/(sum of l) over the pieces of wire: length l, height y of their centroid.

    Two quarter circles at the feet, two legs, half a circle on top; the level wire lies at y = 0.

    Source: elastic centre of a frame, Timoshenko & Young, Theory of Structures (1945, from memory).
    Valid: small activation without gable bends, brackets in line without play, bending alone.
    """
    top = 0.5 * width_mm
    leg = loop_height_mm - foot_radius_mm - top
    if leg < 0.0:
        raise ValueError(
            f"loop_height_mm leaves no room for the bends of the loop: {-leg:.4g} mm are missing"
        )
    pieces = (
        (level_mm, 0.0),
        (math.pi * foot_radius_mm, foot_radius_mm * (1.0 - 2.0 / math.pi)),
        (2.0 * leg, foot_radius_mm + 0.5 * leg),
        (math.pi * top, loop_height_mm - top + 2.0 * top / math.pi),
    )
    return sum(length * above for length, above in pieces) / sum(length for length, _ in pieces)


@formula("Which moment acts about the centre of resistance?")
def moment_at_centre_of_resistance_nmm(
    moment_nmm: Annotated[float, "moment at the slot, + against the tipping of the force", "any"],
    force_n: Annotated[float, "force at the slot"],
    distance_mm: ToResistance,
) -> Annotated[float, "moment about the centre of resistance, + against the tipping"]:
    """M at the centre = M at the slot - F d.

    Zero: translation. Below: the crown tips with the force. Above: the root goes ahead.

    Source: statics.
    Valid: one plane, the force square to the distance.
    """
    return moment_nmm - force_n * distance_mm


@formula("Which moment-to-force ratio at the slot translates a tooth?")
def translation_ratio_mm(
    distance_mm: ToResistance,
) -> Annotated[float, "counter-moment over force"]:
    """M/F = d.

    Source: statics, by the definition of the centre of resistance.
    Valid: one plane, the force square to the distance; as an initial tendency.
    """
    return distance_mm


@formula("How far from the centre of resistance does a tooth rotate?")
def rotation_distance_mm(
    moment_to_force_mm: Annotated[float, "moment-to-force ratio at the slot, + against the tipping", "any"],
    distance_mm: ToResistance,
    turning_stiffness_nmm_per_rad: Annotated[float, "stiffness of the tooth against turning about it"],
    stiffness_n_per_mm: Annotated[float, "stiffness of the tooth against shifting along the force"],
) -> Annotated[
    float, "distance of the centre of rotation beyond the centre of resistance, + away from the slot"
]:
    """D = (kt/ks)/(d - M/F), infinite in translation.

    The product of both distances, D (d - M/F), is one number of the tooth for this direction.

    Source: Nagerl et al., Am. J. Orthod. Dentofacial Orthop. 99 (1991) 337; the quotient is common practice.
    Valid: small movements of a tooth on a linear support, one plane of symmetry.
    """
    arm = distance_mm - moment_to_force_mm
    if arm == 0.0:
        return math.inf
    return turning_stiffness_nmm_per_rad / stiffness_n_per_mm / arm
