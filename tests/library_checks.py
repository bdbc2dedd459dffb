"""What the figures of the shipped cases are checked against: closed forms, statics, symmetry, published values.

One function a case; it gives values (N, N mm, or a ratio) by the words that the pages in ``cases/library/pages`` use
for the quantity.  Small-deflection formulas for a tube and a tie are derived in ``tests/test_one_couple.py``, those of
the wire between two slots in ``tests/linear_wire.py``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from cases.schema import AttachmentSpec, Case
from geometry.pose import Pose, rotation_about
from tests.linear_wire import bending, between, flexibility, torsion
from tests.several_wires_checks import SEVERAL_WIRES, both_sides
from tests.shipped import case, solved, spec

GF = 9.80665e-3
Values = Mapping[str, float]
GEOMETRIES = ("I", "II", "III", "IV", "V", "VI")


def play_in_height(one: AttachmentSpec, of: Case) -> float:
    """Slot height less the wire's, mm."""
    assert one.attachment.slot is not None
    return one.attachment.slot.height - of.wire.section.height


def one_couple(name: str, axis: str) -> Values:
    """F = 3EI (d - c (L + W/2)/W)/(L^2 (L + W)), and the couple F (L + W/2) about the tube's centre."""
    order = {"y": "second", "z": "first"}[axis]
    tube, hook = spec(name, "molar tube").attachment, spec(name, "premolar hook").attachment
    assert tube.slot is not None
    section = case(name).wire.section
    play = tube.slot.height - section.height if axis == "y" else tube.slot.depth - section.depth
    arm = hook.pose.position[0] - 0.5 * tube.slot.width
    offset = hook.pose.position["xyz".index(axis)]
    used = play * (arm + 0.5 * tube.slot.width) / tube.slot.width
    bent = math.copysign(abs(offset) - used, offset)
    force = 3.0 * bending(case(name), order) * bent / (arm**2 * (arm + tube.slot.width))
    # the wire draws the hook back to its line, and the tube towards the hook
    moment = force * (arm + 0.5 * tube.slot.width) * (1.0 if axis == "y" else -1.0)
    turned = "moment z" if axis == "y" else "moment y"
    return {
        f"premolar hook, force {axis}": -force,
        f"molar tube, force {axis}": force,
        f"molar tube, {turned}": moment,
    }


def torquing_spring() -> Values:
    """Play g turns the wire first; then the arm bends, and the wire between mouth and arm is twisted.

    A wire that is stopped in roll by the height of its slot has no play left up and down, so it is not tilted besides.
    """
    name = "one-couple-third-order"
    bracket, hook = spec(name, "incisor bracket"), spec(name, "hook of the anchor unit").attachment
    slot = bracket.attachment.slot
    assert slot is not None
    section, whole = case(name).wire.section, case(name)
    turn = math.asin(slot.height / math.hypot(section.height, section.depth)) - math.atan2(
        section.height, section.depth
    )
    side, _, back = hook.pose.position
    lever = side - 0.5 * slot.width
    gives = flexibility(whole, bracket.attachment.at + 0.5 * slot.width, hook.at)[1, 1]
    gives += lever**2 * slot.width / (3.0 * bending(whole))
    drop = abs(hook.pose.position[1]) - abs(back) * turn
    force = drop / gives
    return {"incisor bracket, force y": -force, "incisor bracket, third order": -force * abs(back)}


def uprighting_left() -> Values:
    """The mirror image."""
    right = solved("molar-uprighting")
    tube, hook = right.attachment("molar tube"), right.attachment("premolar hook")
    return {
        "premolar hook, force y": hook.force_n[1],
        "molar tube, force y": tube.force_n[1],
        "molar tube, moment z": -tube.moment_nmm[2],
    }


def about_the_tube(name: str, tube: str, hook: str) -> Values:
    """Statics: what the hook's force does about the tube's centre, from the very point that it holds."""
    held, other = solved(name).attachment(tube), solved(name).attachment(hook)
    lever = np.subtract(other.moment_about_mm, held.moment_about_mm)
    moment = -np.cross(lever, other.force_n)
    return {f"{tube}, force y": -other.force_n[1], f"{tube}, moment z": float(moment[2])}


def intrusion_tied() -> Values:
    """Half of a level arch with the bend as a turn at its tube, small deflections, mirrored in the midline.

    In the midline the section cannot move sideways nor turn about y or z; in its tube the wire turns and has play as in
    ``linear_wire``, and does not roll.
    """
    name = "intrusion-arch-tied"
    whole = case(name)
    tube, tie = spec(name, "right molar tube"), spec(name, "tie in the midline")
    slot = tube.attachment.slot
    assert slot is not None
    play, width = play_in_height(tube, whole), slot.width
    start = tube.attachment.at + 0.5 * width
    gives = flexibility(whole, start, tie.attachment.at)
    bend = next(abs(p.angle) for p in whole.wire.passive_shape.pieces if hasattr(p, "angle"))
    forward = -(tube.attachment.pose.position[2] + 0.5 * width)  # from the mouth to the midline
    # unknown: force up; reaction sideways; moments about y and z; all on the wire in the midline
    free = [1, 0, 4, 5]
    matrix = gives[np.ix_(free, free)]
    matrix[0, 0] += forward**2 * width / (3.0 * bending(whole))
    # the bend stands a little before the mouth: the lift that it gives is that of the arch beyond it
    lift = (forward - 0.5) * math.tan(bend) - forward * play / width - 0.5 * play
    force = float(np.linalg.solve(matrix, np.array([-lift, 0.0, 0.0, 0.0]))[0])
    return {"tie in the midline, force y": -2.0 * force, "right molar tube, force y": force}


def torquing_arch() -> Values:
    """Statics: the hooks' forces about the line through both incisors' slots; and one side by the other."""
    result = solved("torquing-arch")
    hooks = [result.attachment(f"{side} molar hook") for side in ("right", "left")]
    bracket = result.attachment("right incisor bracket")
    about = sum(
        float(np.cross(np.subtract(h.moment_about_mm, bracket.moment_about_mm), h.force_n)[0]) for h in hooks
    )
    return {
        "both incisor brackets, moment x": -about,
        **both_sides("torquing-arch", "right molar hook", "left molar hook", ("force y", 1.0)),
        **both_sides(
            "torquing-arch",
            "right incisor bracket",
            "left incisor bracket",
            ("moment x", 1.0),
            ("moment z", -1.0),
        ),
    }


def v_bend_clamped(name: str) -> Values:
    """M1 = 2EI th (2b - a)/L^2, M2 = 2EI th (b - 2a)/L^2, F = (M1 + M2)/L: built-in ends, kink th at a, b = L - a."""
    pieces = case(name).wire.passive_shape.pieces
    before, bend, after = pieces
    reach = bend.radius * math.tan(0.5 * abs(bend.angle))  # type: ignore[union-attr]
    a, b = before.length + reach, after.length + reach
    span = a + b
    unit = 2.0 * bending(case(name)) * abs(bend.angle) / span**2  # type: ignore[union-attr]
    first, second = unit * (2.0 * b - a), unit * (b - 2.0 * a)
    return {
        "first clamp, moment z": first,
        "second clamp, moment z": second,
        "first clamp, force y": (first + second) / span,
        "moment ratio": (b - 2.0 * a) / (2.0 * b - a),
    }


def two_slots(name: str, of: Case | None = None) -> Values:
    """Small deflections between two slots with play or two clamps."""
    found = between(of or case(name))
    values = {}
    for k, one in enumerate(case(name).attachments[:2]):
        values |= {f"{one.name}, force {axis}": float(found.force[k]["xy".index(axis)]) for axis in "xy"}
        values[f"{one.name}, moment z"] = found.centre[k]
        if abs(found.force[k][0]) > 1e-6:
            values[f"{one.name}, moment over force"] = abs(found.centre[k] / found.force[k][0])
    return values


def staged(name: str) -> dict[str, Case]:
    """A case by its stages, the attachments where these have put them; teeth turn about z or move."""
    now, out = case(name), {}
    out["geometry I"] = now
    for stage in now.stages:
        moved = []
        for one in now.attachments:
            pose = one.attachment.pose
            if one.name == stage.moved:
                turn = rotation_about(pose.axes[:, 2], stage.turn[1])
                pose = Pose(pose.position + np.array(stage.by), turn @ pose.axes)
            moved.append(replace(one, attachment=replace(one.attachment, pose=pose)))
        now = replace(now, attachments=tuple(moved))
        out[stage.name] = now
    return out


def geometries_clamped() -> Values:
    """Burstone & Koenig, Am J Orthod 65 (1974) 270: ratios of moments; MA = (2EI/L)(2 tA + tB), F = -(MA + MB)/L."""
    ratios = dict(zip(GEOMETRIES, (1.0, 0.8, 0.5, 0.0, -0.4, -1.0), strict=True))
    values: dict[str, float] = {}
    for stage, now in staged("six-geometries-clamped").items():
        first, second = (one.attachment for one in now.attachments)
        turns = [math.atan2(one.pose.axes[1, 0], one.pose.axes[0, 0]) for one in (first, second)]
        span = second.pose.position[0]
        unit = 2.0 * bending(now) / span
        one, other = -unit * (2.0 * turns[0] + turns[1]), -unit * (turns[0] + 2.0 * turns[1])
        values |= {
            f"{stage}, moment ratio": ratios[stage.split()[-1]],
            f"{stage}, first clamp, moment z": one,
            f"{stage}, second clamp, moment z": other,
            f"{stage}, first clamp, force y": (one + other) / span,
        }
    return values


def geometries_in_brackets() -> Values:
    """The same between slots with play, small deflections.

    Not in geometry IV: there the wire lies along one wall of the first slot, neither on one edge nor on two.
    """
    values: dict[str, float] = {}
    for stage, now in staged("six-geometries-brackets").items():
        if stage == "geometry IV":
            continue
        values |= {
            f"{stage}, {what}": value for what, value in two_slots("six-geometries-brackets", now).items()
        }
    return values


def step_clamped() -> Values:
    """Burstone & Koenig, Am J Orthod Dentofacial Orthop 93 (1988) 59: 347 gf and 1210 gf mm."""
    return {
        "first clamp, force y": 347.0 * GF,
        "second clamp, force y": -347.0 * GF,
        "first clamp, moment z": 1210.0 * GF,
        "second clamp, moment z": 1210.0 * GF,
    }


def step_in_slots() -> Values:
    """12 EI d/L^3/(1 + 6 l/L + 12 (l/L)^2), l = sqrt(EI/(kGA)): derived in ``published/test_step_bend.py``."""
    name = "step-bend-full-size-slots"
    first, second = (one.attachment for one in case(name).attachments)
    assert first.slot is not None
    width, step = first.slot.width, second.pose.position[1]
    span = second.pose.position[0] - width
    nu, diameter = case(name).wire.material.poisson, case(name).wire.section.height
    layer = 0.25 * diameter * math.sqrt(2.0 * (1.0 + nu) * (7.0 + 6.0 * nu) / (6.0 * (1.0 + nu)))
    ratio = layer / span
    force = 12.0 * bending(case(name)) * step / span**3 / (1.0 + 6.0 * ratio + 12.0 * ratio**2)
    return {"first slot, force y": force, "first slot, moment z": 0.5 * force * (span + width)}


def rotated_premolar() -> Values:
    """Two spans on either side of a slot at an angle, each end at its neighbour on one edge; small deflections.

    The wire in the middle slot lies on opposed edges, tilted by c/W; both spans bend it, by m W/(6EI) at each mouth.
    """
    name = "rotated-premolar"
    middle, neighbour = spec(name, "first premolar bracket"), spec(name, "canine bracket").attachment
    slot = middle.attachment.slot
    assert slot is not None and neighbour.slot is not None
    play, width = slot.depth - case(name).wire.section.depth, slot.width
    axis = middle.attachment.pose.axes[:, 0]
    turn = abs(math.atan2(axis[2], axis[0]))
    mouth = np.array(
        [0.5 * width * math.cos(turn), 0.5 * width * math.sin(turn) - 0.5 * play * math.cos(turn)]
    )
    other = np.array([8.0 - 0.5 * neighbour.slot.width, 0.5 * play])
    span = other[0] - mouth[0]
    stiffness = bending(case(name), "first")
    slope = turn - play / width - (other[1] - mouth[1]) / span
    moment = slope / (span / (3.0 * stiffness) + width / (6.0 * stiffness))
    force = moment / span
    couple = 2.0 * (moment + force * mouth[0])
    return {"canine bracket, force z": -force, "first premolar bracket, moment y": -couple}


def transpalatal() -> Values:
    """Two equal and opposite turns of the molars, no force: M over all that gives way about y from end to end.

    Each sheath lets the wire turn by c/W, and bend in it by M W/(3EI).
    """
    name = "transpalatal-arch"
    whole = case(name)
    right, left = spec(name, "right molar sheath").attachment, spec(name, "left molar sheath").attachment
    assert right.slot is not None
    play, width = right.slot.depth - whole.wire.section.depth, right.slot.width
    gives = flexibility(whole, right.at + 0.5 * width, left.at - 0.5 * width)[4, 4]
    rotated = math.radians(8.0)
    moment = 2.0 * (rotated - play / width) / (gives + 2.0 * width / (3.0 * bending(whole, "first")))
    return {"right molar sheath, moment y": -moment, "left molar sheath, moment y": moment}


def preactivated() -> Values:
    """What opening by 2 mm adds, small deflections with both couples already carried: the difference of two answers."""
    name = "t-loop-preactivated"
    opened = case(name).stages[0]
    second = case(name).attachments[1]
    pose = second.attachment.pose
    there = replace(
        second,
        attachment=replace(second.attachment, pose=Pose(pose.position + np.array(opened.by), pose.axes)),
    )
    drawn = replace(case(name), attachments=(case(name).attachments[0], there))
    before, after = between(case(name)), between(drawn)
    return {
        "activation, canine bracket, force x": 0.0,
        "gained, premolar bracket, force x": float(after.force[0][0] - before.force[0][0]),
        "gained, premolar bracket, moment z": after.centre[0] - before.centre[0],
    }


def torque_through_play() -> Values:
    """GJ/L (angle - play - play)."""
    name = "torque-through-play"
    first, second = solved(name).attachments
    assert first.slot_size_mm is not None
    play = first.orders["third"].play_deg
    assert play is not None
    span = second.pose.position[0] - first.slot_size_mm[2]
    twist = math.radians(abs(second.orders["third"].activation_deg) - 2.0 * play)
    return {"lateral incisor bracket, moment x": torsion(case(name)) / span * twist}


def nothing(*quantities: str) -> Values:
    """Statics of a wire that turns freely: no torque, and nothing else."""
    return dict.fromkeys(quantities, 0.0)


CHECKS: Mapping[str, Callable[[], Values]] = {
    "one-couple-first-order": lambda: one_couple("one-couple-first-order", "z"),
    "one-couple-first-order-round": lambda: one_couple("one-couple-first-order-round", "z"),
    "one-couple-second-order": lambda: one_couple("one-couple-second-order", "y"),
    "one-couple-second-order-round": lambda: one_couple("one-couple-second-order-round", "y"),
    "one-couple-third-order": torquing_spring,
    "one-couple-third-order-round": lambda: nothing(
        "incisor bracket, force y", "incisor bracket, third order", "hook of the anchor unit, force y"
    ),
    "molar-uprighting": lambda: about_the_tube("molar-uprighting", "molar tube", "premolar hook"),
    "molar-uprighting-left": uprighting_left,
    "root-uprighting-spring": lambda: about_the_tube(
        "root-uprighting-spring", "canine bracket", "molar hook"
    ),
    "intrusion-arch-tied": intrusion_tied,
    "intrusion-arch-engaged": lambda: {
        **both_sides(
            "intrusion-arch-engaged",
            "right molar tube",
            "left molar tube",
            ("force y", 1.0),
            ("moment x", 1.0),
        ),
        **both_sides(
            "intrusion-arch-engaged",
            "right incisor bracket",
            "left incisor bracket",
            ("force y", 1.0),
            ("moment x", 1.0),
        ),
    },
    "torquing-arch": torquing_arch,
    "six-geometries-clamped": geometries_clamped,
    "six-geometries-brackets": geometries_in_brackets,
    **{
        f"v-bend-clamped-{place}": (lambda name=f"v-bend-clamped-{place}": v_bend_clamped(name))
        for place in ("tenth", "fifth", "third", "two-fifths", "middle")
    },
    "v-bend-near-the-molar": lambda: two_slots("v-bend-near-the-molar"),
    "v-bend-in-the-middle": lambda: two_slots("v-bend-in-the-middle"),
    "step-bend-clamped": step_clamped,
    "step-bend-full-size-slots": step_in_slots,
    "rotated-premolar": rotated_premolar,
    "transpalatal-arch": transpalatal,
    "vertical-loop": lambda: two_slots("vertical-loop"),
    "closing-loop": lambda: two_slots("closing-loop"),
    "t-loop": lambda: two_slots("t-loop"),
    "l-loop": lambda: two_slots("l-loop"),
    "rectangular-loop": lambda: two_slots("rectangular-loop"),
    "t-loop-preactivated": preactivated,
    "torque-through-play": torque_through_play,
    **SEVERAL_WIRES,
    "torque-round-wire": lambda: nothing(
        "central incisor bracket, moment x",
        "lateral incisor bracket, moment x",
        "lateral incisor bracket, force y",
    ),
}
