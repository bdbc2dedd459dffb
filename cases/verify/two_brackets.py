"""Two brackets: the six geometries, V-bends and steps, with built-in ends and in slots that the wire fills."""

from __future__ import annotations

import math
from functools import cache, partial

import numpy as np

from cases.formulas import (
    middle_bracket_force_n,
    step_in_full_size_slots_force_n,
    three_point_force_n,
    two_bracket_ratios,
    v_bend_ratio,
)
from cases.verify import sources
from cases.verify.models import (
    GF,
    INCH,
    STEEL,
    THIN,
    Held,
    along,
    engaged,
    law_of,
    slender,
    straight,
    walls,
    wire,
)
from cases.verify.rows import Check, part_of
from fem.material import LinearElastic
from fem.model import Clamp, Edge
from geometry.attachments import Slot
from geometry.section import Round
from geometry.wire_shapes import Bend, PassiveShape, Straight

SPAN = 7.0
MOMENT_A, MOMENT_B, FORCE_A = range(3)


def checks() -> tuple[Check, ...]:
    """All of them."""
    return (*_geometries(), *_far(), *_v_bends(), *_steps(), *_three_points())


@cache
def turned(angle_a: float, angle_b: float, length: float = SPAN) -> tuple[float, float, float]:
    """Moments on A and B and force on A, over EI, of a straight wire between clamps at these angles (deg).

    The wire slides through B, and is so long that its end lies there.  Moments at its very ends.
    """
    law = slender(SPAN)
    held = [
        Held(Clamp(), 0.0, along(0.0, about_z=math.radians(angle_a))),
        Held(Clamp(slides=True), length, along(SPAN, about_z=math.radians(angle_b))),
    ]
    snapshot = engaged(wire(straight(length), THIN, law, held, length / 24.0), 6).last.snapshot
    # the end slides along B by what the length leaves: the moment there is taken at the wire's end
    arm = snapshot.support_position[1] - snapshot.positions[-1]
    at_end = snapshot.moment[1] + np.cross(arm, snapshot.force[1])
    return float(snapshot.moment[0, 2]), float(at_end[2]), float(snapshot.force[0, 1])


CLASSES = {"I": 1.0, "II": 0.5, "III": 0.0, "IV": -0.5, "V": -0.75, "VI": -1.0}
FORCES_GF = {"I": 531.4, "III": 398.0, "V": 160.0}
YIELD_MOMENT = 1860.0
"""gf mm, by which the published forces are limited, over 7 mm."""


def moment_ratio(ratio: float) -> float:
    """MA/MB at small angles."""
    first, second, _ = turned(ratio, 1.0)
    return first / second


def force_for_moment(ratio: float) -> float:
    """Force (gf) where the larger moment is the published limit."""
    _, second, force = turned(ratio, 1.0)
    return force / second * YIELD_MOMENT


def _geometries() -> tuple[Check, ...]:
    ratios = [
        Check(
            f"two brackets, class {name}: moment at A over moment at B",
            "benchmark",
            sources.BURSTONE_1974,
            two_bracket_ratios(ratio).moment_ratio,
            2e-3,
            "",
            partial(moment_ratio, ratio),
            relative=False,
        )
        for name, ratio in CLASSES.items()
    ]
    forces = [
        Check(
            f"two brackets, class {name}: force at 1860 gf mm over 7 mm",
            "benchmark",
            sources.BURSTONE_1974,
            force,
            5e-3,
            "gf",
            partial(force_for_moment, CLASSES[name]),
        )
        for name, force in FORCES_GF.items()
    ]
    return (*ratios, *forces)


def _far() -> tuple[Check, ...]:
    rows = (
        ("II", 20.0, 7.0559, MOMENT_B, 0.25248),
        ("III", 20.0, 7.0559, MOMENT_A, 0.09753),
        ("VI", 20.0, 7.1442, MOMENT_B, 0.09772),
    )
    return tuple(
        Check(
            f"two brackets, class {name}, B at {angle:g} deg: moment at {'AB'[part]} over EI",
            "benchmark",
            sources.EXACT_ROD,
            -moment,
            3e-3,
            "1/mm",
            part_of(turned, part, CLASSES[name] * angle, angle, length),
        )
        for name, angle, length, part, moment in rows
    )


@cache
def v_bend_moments(share: float) -> tuple[float, float]:
    """Moments on A and B, over EI, of a wire with a kink of 1 deg at a ``share`` of the span, between clamps."""
    kink, radius = math.radians(1.0), 0.1
    half = radius * math.tan(0.5 * kink)
    pieces = (
        Straight(share * SPAN - half),
        Bend(-kink, "second", radius),
        Straight((1.0 - share) * SPAN - half),
    )
    shape = PassiveShape(pieces)
    held = [Held(Clamp(), 0.0, along(0.0)), Held(Clamp(slides=True), shape.length, along(SPAN))]
    moment = engaged(wire(shape, THIN, slender(SPAN), held, 0.2), 2).last.snapshot.moment
    return float(moment[0, 2]), float(moment[1, 2])


def v_bend_moment_ratio(share: float) -> float:
    """Moment at B over moment at A, the nearer."""
    near, far = v_bend_moments(share)
    return far / near


def _v_bends() -> tuple[Check, ...]:
    published = [
        Check(
            f"V-bend at {words} of the span: smaller moment over larger",
            "benchmark",
            sources.BURSTONE_1988,
            expected,
            0.05,
            "",
            partial(v_bend_moment_ratio, share),
            relative=False,
        )
        for share, words, expected in (
            (0.1, "0.1", 0.4),
            (0.2, "0.2", 0.3),
            (2.3 / 7.0, "0.33", 0.0),
            (0.5, "a half", -1.0),
        )
    ]
    theory = [
        Check(
            f"V-bend at {words} of the span: smaller moment over larger",
            "closed form",
            sources.KINK,
            v_bend_ratio(share),
            2e-3,
            "",
            partial(v_bend_moment_ratio, share),
            relative=False,
        )
        for share, words in ((1.0 / 3.0, "a third"), (0.4, "0.4"))
    ]
    return (*published, *theory)


CLASSICAL = LinearElastic("steel of 30e6 psi", 206.8e3, 0.3)
SIZE = Round(0.016 * INCH)


@cache
def step_between_clamps() -> tuple[float, float]:
    """Force (gf) and moment (gf mm) of a step of 0.35 mm over 7 mm, 0.016 in round steel."""
    held = [Held(Clamp(), 0.0, along(0.0)), Held(Clamp(slides=True), SPAN, along(SPAN, 0.35))]
    snapshot = engaged(wire(straight(SPAN), SIZE, law_of(SIZE, CLASSICAL), held, 0.3)).last.snapshot
    return float(snapshot.force[0, 1]) / GF, float(snapshot.moment[0, 2]) / GF


SMALL_STEP, WIDTH = 0.035, 3.0


def step_in_full_size_slots() -> float:
    """Force (N) of a step of 0.035 mm over 7 mm between slots that a 0.016 in round wire fills."""
    slot = Slot(SIZE.diameter, SIZE.diameter, WIDTH)
    first, second = 0.5 + 0.5 * WIDTH, 0.5 + 1.5 * WIDTH + SPAN
    held = [
        Held(walls(slot, None, stop=True, hold_roll=True), first, along(0.0)),
        Held(walls(slot, None), second, along(SPAN + WIDTH, SMALL_STEP)),
    ]
    model = wire(straight(SPAN + 2.0 * WIDTH + 1.0), SIZE, law_of(SIZE), held)
    return float(engaged(model, 3).last.snapshot.force[0, 1])


def middle_bracket() -> float:
    """Force (N) on the middle of three clamps, 0.1 mm out of line, 8 mm from either; 0.010 in round steel."""
    section = Round(0.010 * INCH)
    # wires start where their first support stands: the outer ones then come to the line
    held = [
        Held(Clamp(), 8.0, along(8.0, 0.1)),
        Held(Clamp(slides=True), 0.0, along(0.0)),
        Held(Clamp(slides=True), 16.0, along(16.0)),
    ]
    model = wire(straight(16.0), section, law_of(section), held, 0.4)
    return -float(engaged(model, 3).last.snapshot.force[0, 1])


def _steps() -> tuple[Check, ...]:
    law = law_of(SIZE)
    full = step_in_full_size_slots_force_n(
        STEEL.youngs_modulus, SIZE.second_moment_z, SPAN, SMALL_STEP, float(law.stiffness[1])
    )
    thin = Round(0.010 * INCH)
    middle = middle_bracket_force_n(STEEL.youngs_modulus, thin.second_moment_z, 8.0, 0.1)
    return (
        Check(
            "step of 0.35 mm over 7 mm, 0.016 in round, built-in ends: force",
            "benchmark",
            sources.BURSTONE_1988,
            347.0,
            0.01,
            "gf",
            part_of(step_between_clamps, 0),
        ),
        Check(
            "step of 0.35 mm over 7 mm, 0.016 in round, built-in ends: moment",
            "benchmark",
            sources.BURSTONE_1988,
            1210.0,
            0.01,
            "gf mm",
            part_of(step_between_clamps, 1),
        ),
        Check(
            "step of 0.035 mm over 7 mm in slots that the wire fills: force",
            "closed form",
            sources.TIMOSHENKO_BEAM,
            full,
            1e-3,
            "N",
            step_in_full_size_slots,
        ),
        Check(
            "middle bracket 0.1 mm out of line, 8 mm to either side: force",
            "closed form",
            sources.GERE,
            middle,
            5e-3,
            "N",
            middle_bracket,
        ),
    )


@cache
def three_points(deflection: float) -> float:
    """Force over EI (1/mm^2) that bends an elastic wire by ``deflection`` over fixed edges 10 mm apart."""
    length = 16.0
    middle = 0.5 * length
    radius = 0.5 * THIN.diameter
    held = [
        Held(Clamp(), middle, along(0.0, -deflection)),
        Held(Edge(), middle - 5.0, along(-5.0, -radius)),
        Held(Edge(), middle + 5.0, along(5.0, -radius)),
    ]
    model = wire(straight(length), THIN, slender(10.0), held, 0.25)
    return float(engaged(model, 10).last.snapshot.force[0, 1])


def _three_points() -> tuple[Check, ...]:
    table = [
        Check(
            f"three-point test over 10 mm, deflection {deflection:g} mm: force over EI",
            "benchmark",
            sources.ISO_BEND,
            expected,
            5e-3,
            "1/mm^2",
            partial(three_points, deflection),
        )
        for deflection, expected in ((1.0, 0.043377), (2.0, 0.065119), (3.0, 0.063340))
    ]
    return (
        Check(
            "three-point test over 10 mm, deflection 0.05 mm: force over EI",
            "closed form",
            sources.GERE,
            three_point_force_n(1.0, 1.0, 10.0, 0.05),
            2e-3,
            "1/mm^2",
            partial(three_points, 0.05),
        ),
        *table,
    )
