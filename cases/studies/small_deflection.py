"""Small-deflection formulas beside the factor studies: those of ``cases.formulas``, with what is said of them."""

from __future__ import annotations

from dataclasses import dataclass

from cases.formulas.bending import cantilever_force_through_play_n
from cases.formulas.torque import torque_between_slots_nmm
from cases.formulas.two_brackets import v_bend
from cases.schema import MaterialSpec
from fem.torsion import torsion_constant
from geometry.section import Section

ONE_COUPLE = "F = 3EI (d - c D/W) / (L²(L + W)), couple = F D"
ONE_COUPLE_SOURCE = (
    "beam on two supports with an overhang, Gere & Timoshenko, Mechanics of Materials (from memory); the tilt c/W in "
    "the play: Kusy & Whitley, Eur J Orthod 21 (1999) 199"
)
TORQUE = "torque = GJ/L (angle - play - play)"
TORQUE_SOURCE = (
    "torsion of a straight bar, Gere & Timoshenko, Mechanics of Materials (from memory); play from plane geometry, as "
    "in Papageorgiou et al., Prog Orthod 17 (2016) 5, table 6"
)
V_BEND = "couples = 2EI angle (2b - a)/L² and 2EI angle (b - 2a)/L², force = 6EI angle (b - a)/L³"
V_BEND_SOURCE = (
    "bend at a and b from the ends of a built-in span L = a + b, Burstone & Koenig, Am J Orthod Dentofacial Orthop 93 "
    "(1988) 59; linear beam with a kink"
)


@dataclass(frozen=True, slots=True)
class Loads:
    """What one attachment gets."""

    force_n: float | None
    """None where a formula speaks of a pure couple, or not of the force."""
    couple_nmm: float
    rate: float | None = None
    """Force per mm of deflection (N/mm), or couple per degree (N mm/deg); None where it is not known."""


def one_couple(
    material: MaterialSpec, section: Section, distance: float, width: float, play: float, deflection: float
) -> Loads:
    """A tube of ``width`` whose slot is ``play`` higher than the wire, tied at ``distance`` from its centre (mm).

    The couple is about the tube's centre.  ``deflection``: of the tied point from the tube's line.
    """
    arm = distance - 0.5 * width
    force = cantilever_force_through_play_n(
        material.youngs_modulus_mpa, section.second_moment_z, arm, deflection, width, play
    )
    return Loads(force, force * distance)


def torque_pair(
    material: MaterialSpec, section: Section, span: float, play: float | None, angle: float
) -> Loads:
    """Torque between two slots in line, ``span`` (mm) between their mouths, each with ``play`` (rad, one-sided).

    None: the wire turns freely.
    """
    if play is None:
        return Loads(None, 0.0)
    shear = material.youngs_modulus_mpa / (2.0 * (1.0 + material.poisson))
    return Loads(None, torque_between_slots_nmm(shear, torsion_constant(section), span, angle, play, play))


def bent_span(
    material: MaterialSpec, section: Section, span: float, apex: float, angle: float
) -> tuple[Loads, Loads]:
    """First and second end of a built-in ``span`` with a bend of ``angle`` (rad) at ``apex`` (mm) from the first."""
    both = v_bend(material.youngs_modulus_mpa, section.second_moment_z, span, apex, angle)
    return Loads(both.force_a_n, both.moment_a_nmm), Loads(both.force_b_n, both.moment_b_nmm)
