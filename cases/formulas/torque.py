"""Torque of a span twisted between slots with play, between neighbours, through walls and rigs that give way."""

from __future__ import annotations

import math
from typing import Annotated

from cases.formulas.quantities import Play, ShearModulus, Span, Torque, TorsionConstant, Turn
from cases.formulas.registry import formula


def _beyond(angle: float, play: float) -> float:
    return math.copysign(max(abs(angle) - play, 0.0), angle)


@formula("Which torque is left between two slots once their play is used up?")
def torque_between_slots_nmm(
    shear_modulus_mpa: ShearModulus,
    torsion_constant_mm4: TorsionConstant,
    span_mm: Span,
    angle_rad: Turn,
    play_a_rad: Play,
    play_b_rad: Play,
) -> Annotated[float, "torque T"]:
    """T = (G J/L) (angle - play A - play B), none within the plays.

    Source: torsion of a straight bar, Gere & Timoshenko, Mechanics of Materials (from memory); the plays add.
    Valid: elastic, any angle; brackets in line, rigid parallel walls, the wire free to slide in one bracket.
    """
    beyond = _beyond(angle_rad, play_a_rad + play_b_rad)
    return shear_modulus_mpa * torsion_constant_mm4 / span_mm * beyond


@formula("Which torque gets a tooth between neighbours whose slots the wire fills?")
def torque_between_neighbours_nmm(
    shear_modulus_mpa: ShearModulus,
    torsion_constant_mm4: TorsionConstant,
    span_mm: Annotated[float, "span L to either neighbour, from mouth to mouth"],
    angle_rad: Turn,
    play_rad: Play,
) -> Annotated[float, "torque T on the tooth; each neighbour gets half of it back"]:
    """T = 2 (G J/L) (angle - play), none within the play.

    Source: torsion of two bars side by side, Gere & Timoshenko, Mechanics of Materials (from memory).
    Valid: elastic, any angle; brackets in line, rigid parallel walls, equal spans.
    """
    return 2.0 * shear_modulus_mpa * torsion_constant_mm4 / span_mm * _beyond(angle_rad, play_rad)


@formula("Which torque comes through slot walls that give way?")
def torque_through_soft_walls_nmm(
    shear_modulus_mpa: ShearModulus,
    torsion_constant_mm4: TorsionConstant,
    span_mm: Annotated[float, "span L from the held section to the slot's mouth"],
    angle_rad: Turn,
    play_rad: Play,
    slot_width_mm: Annotated[float, "width W of the slot"],
    wall_modulus_mpa: Annotated[
        float, "modulus of the walls: N per mm of slot and mm of give, at either edge"
    ],
    edge_arm_mm: Annotated[float, "arm of either edge's force about the wire's middle"],
) -> Annotated[float, "torque T"]:
    """T = G J (angle - play)/(L + l coth(W/l)), l = sqrt(G J/k), k = 2 (modulus) (arm)^2.

    Source: bar twisted on an elastic bed, after Hetenyi, Beams on Elastic Foundation (1946).
    Valid: elastic; two opposite edges bear all along the slot, turns beyond the play too small to change their arm.
    """
    stiffness = shear_modulus_mpa * torsion_constant_mm4
    layer = math.sqrt(stiffness / (2.0 * wall_modulus_mpa * edge_arm_mm**2))
    reach = span_mm + layer / math.tanh(slot_width_mm / layer)
    return stiffness * _beyond(angle_rad, play_rad) / reach


@formula("Which torque reads a rig that gives way itself?")
def torque_on_rig_nmm(
    shear_modulus_mpa: ShearModulus,
    torsion_constant_mm4: TorsionConstant,
    span_mm: Span,
    angle_rad: Turn,
    play_rad: Annotated[float, "sum of all plays on the way", "not negative"],
    rig_stiffness_nmm_per_rad: Annotated[float, "stiffness of the rig against this turn"],
) -> Annotated[float, "torque T"]:
    """T = (angle - play)/(L/(G J) + 1/k).

    Source: springs one behind the other.
    Valid: elastic, any angle; rigid parallel walls.
    """
    softness = span_mm / (shear_modulus_mpa * torsion_constant_mm4) + 1.0 / rig_stiffness_nmm_per_rad
    return _beyond(angle_rad, play_rad) / softness


@formula("With which force does a torque push the wire along its slots?")
def torque_push_n(
    torque_nmm: Torque, shear_modulus_mpa: ShearModulus, torsion_constant_mm4: TorsionConstant
) -> Annotated[float, "force along the wire"]:
    """F = T^2/(2 G J).

    The energy of the twisted span, T^2 L/(2 G J), falls as wire leaves it.

    Source: Bigoni, Dal Corso, Misseroni & Bosi, Proc. R. Soc. A 470 (2014) 20140599 (from memory).
    Valid: elastic, slots without friction that let the wire slide.
    """
    return torque_nmm**2 / (2.0 * shear_modulus_mpa * torsion_constant_mm4)


@formula("How far does a torque twist a span?")
def twist_rad(
    shear_modulus_mpa: ShearModulus, torsion_constant_mm4: TorsionConstant, span_mm: Span, torque_nmm: Torque
) -> Annotated[float, "twist of the span, to which the plays are added"]:
    """t = T L/(G J).

    Source: torsion of a straight bar, Gere & Timoshenko, Mechanics of Materials (from memory).
    Valid: elastic, any twist.
    """
    return torque_nmm * span_mm / (shear_modulus_mpa * torsion_constant_mm4)
