"""Every closed form that this trade and this project use, each a plain function of floats.

mm, N, N mm, MPa, rad; the names of inputs say which. ::

    from cases.formulas import cantilever_force_n, torque_play_rad
    cantilever_force_n(66e3, 0.00426, 25.0, 2.0)

Each docstring gives the equation, its source and its range.  ``FORMULAS`` holds them all by name, as ``wireslot
formula`` lists them.  Inputs without meaning, such as a negative length, raise ValueError.
"""

from __future__ import annotations

from cases.formulas.bending import (
    cantilever_couple_nmm,
    cantilever_deflection_mm,
    cantilever_force_n,
    cantilever_force_through_play_n,
    cantilever_rate_n_per_mm,
    couple_arm_mm,
    force_per_offset_factor,
    middle_bracket_between_points_force_n,
    middle_bracket_force_n,
    moment_per_angle_factor,
    moment_per_offset_factor,
    stop_reaction_n,
    three_point_force_n,
)
from cases.formulas.far_bent import (
    Elastica,
    RolledUp,
    Wrench,
    elastica_cantilever,
    helix_wrench,
    rolled_up,
)
from cases.formulas.play import (
    critical_contact_angle_rad,
    critical_contact_angle_simplified_rad,
    torque_play_in_closed_slot_rad,
    torque_play_left_rad,
    torque_play_rad,
)
from cases.formulas.registry import FORMULAS, Formula, Quantity
from cases.formulas.sections import (
    cross_section_number,
    rectangle_moment_beyond_yield,
    rectangle_plastic_moment_nmm,
    rectangle_plastic_torque_nmm,
    rectangle_second_moment_mm4,
    rectangle_shear_coefficient,
    rectangle_torsion_constant_mm4,
    rectangle_torsion_constant_short_mm4,
    rectangle_torsion_stress_mpa,
    round_moment_beyond_yield,
    round_plastic_moment_nmm,
    round_plastic_torque_nmm,
    round_second_moment_mm4,
    round_shear_coefficient,
    round_torsion_constant_mm4,
    shear_modulus_mpa,
    wire_stiffness_number,
)
from cases.formulas.sliding import (
    binding_normal_force_n,
    capstan_pull_n,
    resistance_to_sliding_n,
)
from cases.formulas.stability import (
    euler_load_n,
    greenhill_torque_nmm,
    lateral_buckling_force_n,
)
from cases.formulas.teeth import (
    moment_at_centre_of_resistance_nmm,
    rectangular_loop_ratio_mm,
    rotation_distance_mm,
    translation_ratio_mm,
    vertical_loop_ratio_mm,
)
from cases.formulas.torque import (
    torque_between_neighbours_nmm,
    torque_between_slots_nmm,
    torque_on_rig_nmm,
    torque_push_n,
    torque_through_soft_walls_nmm,
    twist_rad,
)
from cases.formulas.two_brackets import (
    Ratios,
    StepBend,
    TwoBrackets,
    step_bend,
    step_in_full_size_slots_force_n,
    two_bracket_ratios,
    two_brackets,
    v_bend,
    v_bend_angle_rad,
    v_bend_ratio,
)

__all__ = [
    "Elastica",
    "FORMULAS",
    "Formula",
    "Quantity",
    "Ratios",
    "RolledUp",
    "StepBend",
    "TwoBrackets",
    "Wrench",
    "binding_normal_force_n",
    "cantilever_couple_nmm",
    "cantilever_deflection_mm",
    "cantilever_force_n",
    "cantilever_force_through_play_n",
    "cantilever_rate_n_per_mm",
    "capstan_pull_n",
    "couple_arm_mm",
    "critical_contact_angle_rad",
    "critical_contact_angle_simplified_rad",
    "cross_section_number",
    "elastica_cantilever",
    "euler_load_n",
    "force_per_offset_factor",
    "greenhill_torque_nmm",
    "helix_wrench",
    "lateral_buckling_force_n",
    "middle_bracket_between_points_force_n",
    "middle_bracket_force_n",
    "moment_at_centre_of_resistance_nmm",
    "moment_per_angle_factor",
    "moment_per_offset_factor",
    "rectangle_moment_beyond_yield",
    "rectangle_plastic_moment_nmm",
    "rectangle_plastic_torque_nmm",
    "rectangle_second_moment_mm4",
    "rectangle_shear_coefficient",
    "rectangle_torsion_constant_mm4",
    "rectangle_torsion_constant_short_mm4",
    "rectangle_torsion_stress_mpa",
    "rectangular_loop_ratio_mm",
    "resistance_to_sliding_n",
    "rolled_up",
    "rotation_distance_mm",
    "round_moment_beyond_yield",
    "round_plastic_moment_nmm",
    "round_plastic_torque_nmm",
    "round_second_moment_mm4",
    "round_shear_coefficient",
    "round_torsion_constant_mm4",
    "shear_modulus_mpa",
    "step_bend",
    "step_in_full_size_slots_force_n",
    "stop_reaction_n",
    "three_point_force_n",
    "torque_between_neighbours_nmm",
    "torque_between_slots_nmm",
    "torque_on_rig_nmm",
    "torque_play_in_closed_slot_rad",
    "torque_play_left_rad",
    "torque_play_rad",
    "torque_push_n",
    "torque_through_soft_walls_nmm",
    "translation_ratio_mm",
    "twist_rad",
    "two_bracket_ratios",
    "two_brackets",
    "v_bend",
    "v_bend_angle_rad",
    "v_bend_ratio",
    "vertical_loop_ratio_mm",
    "wire_stiffness_number",
]
