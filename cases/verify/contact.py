"""Contact: torque through play, walls and rigs that give way, stops, cantilevers in tubes, friction and binding."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache, partial

import numpy as np

from cases.formulas import (
    binding_normal_force_n,
    cantilever_force_through_play_n,
    capstan_pull_n,
    couple_arm_mm,
    stop_reaction_n,
    torque_between_neighbours_nmm,
    torque_between_slots_nmm,
    torque_on_rig_nmm,
    torque_push_n,
    torque_through_soft_walls_nmm,
)
from cases.verify import sources
from cases.verify.models import INCH, STEEL, Held, along, engaged, law_of, straight, walls, wire
from cases.verify.rows import Check, part_of
from fem.model import Clamp, Edge, PointTie, SlotWalls
from fem.path import Leg, engage
from fem.torsion import torsion_constant
from geometry.attachments import Slot
from geometry.clearance import clearance
from geometry.pose import Pose
from geometry.section import Rectangle, Round

WIRE = Rectangle(0.019 * INCH, 0.025 * INCH)
SLOT = Slot(0.022 * INCH, 0.028 * INCH, 3.0)
SHEAR, TORSION = STEEL.shear_modulus, torsion_constant(WIRE)
PLAY = clearance(WIRE, SLOT).third.angle or 0.0
TO_MOUTH = 8.5
"""mm from the clamp to the slot's mouth."""


def checks() -> tuple[Check, ...]:
    """All of them."""
    return (*_torque(), *_stop(), *_tube(), *_friction())


def turned(angle: float, restraint: SlotWalls, compliance: float = 0.0) -> tuple[float, float]:
    """Torque (N mm) on a slot turned about its length by ``angle`` (rad), 10 mm from a clamp; push (N) along it."""
    held = [Held(Clamp(), 0.0, along(0.0)), Held(restraint, 10.0, along(10.0, about_x=angle))]
    model = wire(straight(14.0), WIRE, law_of(WIRE), held)
    gives = np.array([0.0, 0.0, 0.0, compliance, 0.0, 0.0])
    supports = (model.supports[0], replace(model.supports[1], compliance=gives if compliance else None))
    snapshot = engaged(replace(model, supports=supports), 10).last.snapshot
    return -float(snapshot.moment[1, 0]), abs(float(snapshot.force[1, 0]))


@cache
def from_clamp(angle: float) -> tuple[float, float]:
    """Torque and push at a rigid slot."""
    return turned(angle, walls(SLOT))


def through_soft_walls() -> float:
    """Torque (N mm) 0.02 rad beyond the play, through walls of 20 GPa."""
    return turned(PLAY + 0.02, replace(walls(SLOT, 33), modulus=20e3))[0]


def on_rig() -> float:
    """Torque (N mm) at 0.5 rad on a rig that gives way by 0.02 rad/(N mm)."""
    return turned(0.5, walls(SLOT, 9), 0.02)[0]


@cache
def between_brackets() -> float:
    """Torque (N mm) on the second of two brackets 5 mm apart, turned by 8 deg more than both plays."""
    slots = (Slot(0.022 * INCH, 0.035 * INCH, 3.0), Slot(0.018 * INCH, 0.035 * INCH, 3.0))
    section = Rectangle(0.017 * INCH, 0.025 * INCH)
    angle = sum(clearance(section, slot).third.angle or 0.0 for slot in slots) + math.radians(8.0)
    held = [
        Held(walls(slots[0], stop=True), 2.5, along(0.0)),
        Held(walls(slots[1]), 10.5, along(8.0, about_x=angle)),
    ]
    model = wire(straight(13.0), section, law_of(section), held)
    return -float(engaged(model).last.snapshot.moment[1, 0])


def between_neighbours() -> float:
    """Torque (N mm) on a bracket turned by 0.2 rad more than its play, 6 mm from full-size neighbours."""
    full = Slot(WIRE.height, 0.028 * INCH, 3.0)
    held = [
        Held(walls(slot, 9, stop=k == 0), 2.5 + 9.0 * k, along(9.0 * k))
        for k, slot in enumerate((full, SLOT, full))
    ]
    held[1] = replace(held[1], end=along(9.0, about_x=PLAY + 0.2))
    snapshot = engaged(wire(straight(23.0), WIRE, law_of(WIRE), held)).last.snapshot
    return -float(snapshot.moment[1, 0])


def _torque() -> tuple[Check, ...]:
    arm = WIRE.corner_z * math.cos(PLAY) - WIRE.corner_y * math.sin(PLAY)
    other = torsion_constant(Rectangle(0.017 * INCH, 0.025 * INCH))
    torque = torque_between_slots_nmm(SHEAR, TORSION, TO_MOUTH, math.radians(30.0), PLAY, 0.0)
    return (
        Check(
            "torque from a clamp to a slot with play, at 30 deg",
            "closed form",
            sources.GERE,
            torque,
            1e-3,
            "N mm",
            part_of(from_clamp, 0, math.radians(30.0)),
        ),
        Check(
            "torque between two slots, 8 deg beyond both plays: the plays add",
            "closed form",
            sources.GERE,
            torque_between_slots_nmm(SHEAR, other, 5.0, math.radians(8.0), 0.0, 0.0),
            1e-3,
            "N mm",
            between_brackets,
        ),
        Check(
            "torque between neighbours whose slots the wire fills",
            "closed form",
            sources.GERE,
            torque_between_neighbours_nmm(SHEAR, TORSION, 6.0, PLAY + 0.2, PLAY),
            1e-4,
            "N mm",
            between_neighbours,
        ),
        Check(
            "torque through walls of 20 GPa that give way",
            "closed form",
            sources.HETENYI,
            torque_through_soft_walls_nmm(SHEAR, TORSION, TO_MOUTH, PLAY + 0.02, PLAY, 3.0, 20e3, arm),
            2e-3,
            "N mm",
            through_soft_walls,
        ),
        Check(
            "torque on a rig that gives way",
            "closed form",
            sources.GERE,
            torque_on_rig_nmm(SHEAR, TORSION, TO_MOUTH, 0.5, PLAY, 50.0),
            1e-4,
            "N mm",
            on_rig,
        ),
        Check(
            "push of a torque along the wire",
            "closed form",
            sources.BIGONI,
            torque_push_n(torque, SHEAR, TORSION),
            2e-3,
            "N",
            part_of(from_clamp, 1, math.radians(30.0)),
        ),
    )


STOPPED = Round(0.4)
STOP_AT, STOP_GAP = 20.0, 0.02


@cache
def stopped(load: float) -> float:
    """Force (N) on a stop over the end of a cantilever that is loaded (N) at half its length."""
    # 1 mm more, so that there is wire under the edge however the wire bends
    edge = along(STOP_AT, 0.5 * STOPPED.diameter + STOP_GAP)
    held = [Held(Clamp(), 0.0, along(0.0)), Held(Edge(below=False), STOP_AT, edge)]
    model = wire(straight(STOP_AT + 1.0), STOPPED, law_of(STOPPED), held, 0.5)
    forces = np.zeros((model.nodes.size, 6))
    forces[int(np.abs(model.nodes - 0.5 * STOP_AT).argmin()), 1] = load
    start = replace(model.supports[1], start=edge)
    model = replace(model, supports=(model.supports[0], start), loads=forces)
    return float(engaged(model).last.snapshot.force[1, 1])


def _stop() -> tuple[Check, ...]:
    stiffness = STEEL.youngs_modulus * STOPPED.second_moment_z
    load = 2.0 * 48.0 * stiffness * STOP_GAP / (5.0 * STOP_AT**3)
    expected = stop_reaction_n(
        STEEL.youngs_modulus, STOPPED.second_moment_z, STOP_AT, load, 0.5 * STOP_AT, STOP_GAP
    )
    return (
        Check(
            "cantilever that touches a stop, twice the load of first touch: force on it",
            "closed form",
            sources.GERE,
            expected,
            5e-3,
            "N",
            partial(stopped, load),
        ),
    )


ARM_WIRE, ARM = Round(0.25), 20.0


@cache
def lifted(width: float, play: float, lift: float) -> tuple[float, float]:
    """Force (N) of a tie ``lift`` mm above a tube's axis, 20 mm away; arm (mm) of the tube's couple."""
    slot = Slot(ARM_WIRE.diameter + play, 0.7, width)
    held = [
        Held(walls(slot, None, stop=True, hold_roll=True), 1.0 + 0.5 * width, along(0.0)),
        Held(PointTie(), 1.0 + width + ARM, along(0.5 * width + ARM, lift)),
    ]
    model = wire(straight(1.0 + width + ARM), ARM_WIRE, law_of(ARM_WIRE), held)
    snapshot = engaged(model, 5).last.snapshot
    force = -float(snapshot.force[1, 1])
    pressed = (snapshot.walls.axis == 0) & (snapshot.walls.side < 0.0)
    return force, force * ARM / float(snapshot.walls.normal[pressed].sum())


def moved_in_couple(width: float, play: float, lift: float) -> float:
    """Couple M (N mm) at the tube's mouth where lift = c/2 + L M w/(2 E I) + M L^2/(3 E I), w = sqrt(6 E I c/M).

    With the root of M as the unknown this is a quadratic."""
    stiffness = STEEL.youngs_modulus * ARM_WIRE.second_moment_z
    linear = 0.5 * ARM * math.sqrt(6.0 * play / stiffness)
    square = ARM**2 / (3.0 * stiffness)
    root = (-linear + math.sqrt(linear**2 + 4.0 * square * (lift - 0.5 * play))) / (2.0 * square)
    couple = root**2
    if couple_arm_mm(STEEL.youngs_modulus, ARM_WIRE.second_moment_z, play, couple) > width:
        raise ArithmeticError("the inner contact has not moved in")
    return couple


def _tube() -> tuple[Check, ...]:
    modulus, second = STEEL.youngs_modulus, ARM_WIRE.second_moment_z
    # a stronger couple over less play: the inner contact has moved in by a third
    strong = (4.0, 0.005, 1.0)
    couple = moved_in_couple(*strong)
    return (
        Check(
            "cantilever in a tube 3 mm wide with 0.02 mm of play, lifted by 0.5 mm: force",
            "closed form",
            sources.OVERHANG,
            cantilever_force_through_play_n(modulus, second, ARM, 0.5, 3.0, 0.02),
            0.01,
            "N",
            part_of(lifted, 0, 3.0, 0.02, 0.5),
        ),
        Check(
            "cantilever in a tube 4 mm wide with 0.005 mm of play, lifted by 1 mm: arm of its couple",
            "closed form",
            sources.LIFTED,
            couple_arm_mm(modulus, second, 0.005, couple),
            0.01,
            "mm",
            part_of(lifted, 1, *strong),
        ),
    )


FRICTION = 0.15
BRACKET = Slot(0.30, 0.70, 4.0)
DRAWN = Round(0.25)
"""Thin and in a wide bracket, so that shear, which the formula leaves out, takes less than 1 %."""


@cache
def drawn(angle: float) -> tuple[float, float]:
    """Normal force (N) at either mouth and pull (N) of a wire drawn through a bracket tipped by ``angle`` (rad)."""
    place, far = along(10.0), along(20.0)
    held = [
        Held(Clamp(), 0.0, along(0.0)),
        Held(walls(BRACKET, None, friction=FRICTION), 10.0, place),
        Held(Clamp(slides=True), 20.0, far),
    ]
    model = wire(straight(22.0), DRAWN, law_of(DRAWN), held)
    tipped = along(10.0, about_z=angle)
    legs = [
        Leg("tipping", (along(0.0), tipped, far), 5),
        Leg("drawing", (along(-0.2), tipped, far), 10),
    ]
    snapshot = engage(model, legs=legs).last.snapshot
    return 0.5 * float(snapshot.walls.normal.sum()), float(snapshot.force[0, 0])


@cache
def round_a_roller(friction: float) -> float:
    """Pull behind a roller over the pull before it: a thin wire bent by 0.2 rad is drawn over it."""
    section, arm, radius, half = Round(0.05), 15.0, 3.0, 0.1
    held = [
        Held(Clamp(), 0.0, along(0.0)),
        Held(Edge(radius=radius, friction=friction), arm, along(arm, -0.5 * section.diameter)),
        Held(Clamp(), 2.0 * arm, along(2.0 * arm)),
    ]
    model = wire(straight(2.0 * arm), section, law_of(section), held, 0.2)
    roller = held[1].end

    def at(side: float, further: float) -> Pose:
        """An end of the wire, turned down by half the wrap about the roller's top."""
        turned = along(0.0, about_z=-side * half)
        foot = np.array([arm + side * radius * math.sin(half), radius * (math.cos(half) - 1.0), 0.0])
        out = (side * (arm - radius * half) + further) * turned.axes[:, 0]
        return Pose(foot + out, turned.axes)

    tight, slid = (at(-1.0, -0.006), roller, at(1.0, 0.006)), (at(-1.0, 0.1), roller, at(1.0, 0.112))
    snapshot = engage(model, legs=[Leg("bending", tight, 20), Leg("sliding", slid, 20)]).last.snapshot
    before, behind = (abs(float(snapshot.force[k] @ slid[k].axes[:, 0])) for k in (0, 2))
    return behind / before


def _friction() -> tuple[Check, ...]:
    critical = clearance(DRAWN, BRACKET).second.angle or 0.0
    angle = critical + math.radians(1.0)
    normal = binding_normal_force_n(
        STEEL.youngs_modulus,
        DRAWN.second_moment_z,
        10.0 - 0.5 * BRACKET.width,
        BRACKET.width,
        angle,
        critical,
    )
    return (
        Check(
            "bracket 4 mm wide, tipped by 1 deg beyond the critical angle: normal force at either mouth",
            "closed form",
            sources.BINDING,
            normal,
            0.01,
            "N",
            part_of(drawn, 0, angle),
        ),
        Check(
            "bracket 4 mm wide, tipped by 1 deg beyond the critical angle: resistance to sliding, friction 0.15",
            "closed form",
            sources.KUSY,
            2.0 * FRICTION * normal,
            0.01,
            "N",
            part_of(drawn, 1, angle),
        ),
        Check(
            "thin wire drawn over a roller, 0.2 rad, friction 0.3: pull behind over pull before",
            "closed form",
            sources.EYTELWEIN,
            capstan_pull_n(1.0, 0.3, 0.2),
            3e-3,
            "",
            partial(round_a_roller, 0.3),
        ),
    )
