"""What a run tells its reader beside the figures: its end, its cautions, its assumptions."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cases.build import kept_at_seat
from cases.law_words import law_words
from cases.modulus_spread import modulus_spread, no_range_words
from cases.results import AttachmentResult, WireResult
from cases.schema import Case, MaterialSpec
from cases.teeth import GIVEN, centre_of
from cases.tooth_sizes import DEFAULT_CENTRES
from cases.tooth_support import supported
from cases.wire_stress import elastic_of
from cases.words import listed, shown, three
from fem.status import Status
from geometry.ligation import Ligation
from geometry.section import Round

# Between stations a rigid wall is only looked at, not enforced; deeper than this (mm) it is told.
DEEP = 1e-3


def status_words(
    case: Case,
    status: Status,
    attachments: tuple[AttachmentResult, ...],
    wires: Sequence[WireResult],
    between: float,
) -> tuple[str, ...]:
    """Sentences about how the run ended and what to mind."""
    out = [f"{status.sentence[0].upper()}{status.sentence[1:]}."]
    free = [
        wire.name
        for number, wire in enumerate(case.wires)
        if isinstance(wire.section, Round)
        and not any(
            spec.attachment.hold_roll or spec.attachment.kind == "clamp"
            for spec in case.attachments_of(number)
        )
    ]
    if free:
        which = "the round wire turns about its own axis and carries"
        if case.more_wires:
            which = (
                f"{listed(free)} {'turns about its' if len(free) == 1 else 'turn about their'} own axis and "
            )
            which += "carries" if len(free) == 1 else "carry"
        out.append(f"Free in roll: {which} no torque about it.")
    for item in attachments:
        if item.slot_size_mm is None:
            continue
        out.append(f"{item.name}: {_diagnosis(item)}.")
    past = [
        one.name
        for one, spec in zip(wires, case.wires, strict=True)
        if spec.material.law is None and one.yield_share is not None and one.yield_share > 1.0
    ]
    if past:
        where = f" in {listed(past)}" if case.more_wires else ""
        out.append(
            f"The stress{where} passes the yield stress: a real wire would take a set and give less force than this "
            "elastic answer."
        )
    if between > DEEP:
        out.append(
            f"Between two contact stations the wire passes a wall by {three(1000.0 * between)} micrometres: "
            "forces there are slightly too small."
        )
    return tuple(out)


def snap_words(snaps: Sequence[tuple[str, float, float]]) -> tuple[str, ...]:
    """What to tell of increments in which the wire was let down to rest: stage, share and energy set free (N mm) of
    each."""
    if not snaps:
        return ()
    stage, share, _ = snaps[0]
    many = "one increment" if len(snaps) == 1 else f"{len(snaps)} increments"
    free = shown(sum(energy for _, _, energy in snaps))
    return (
        f"In {many}, first at {100.0 * share:.0f} % of the {stage}, no stable equilibrium was found near the last one, "
        f"and the wire was let down to rest from there: it may have snapped to another shape. {free} N mm were set "
        "free.",
    )


def left_words(left: Sequence[tuple[str, str, float]]) -> tuple[str, ...]:
    """What to tell of slots that the wire left on the way: attachment, stage and share of each."""
    return tuple(
        f"The wire left {name} through the front of its slot at {100.0 * share:.0f} % of the {stage}: it lay in front "
        f"of it by then, or no equilibrium was found with it half out. From there on {name}, with its tie and its "
        "stop, is taken to hold nothing."
        for name, stage, share in left
    )


def unstable_words(unstable: Sequence[tuple[str, float]], snaps: bool) -> tuple[str, ...]:
    """From where on equilibria are unstable, each a stage and its share; ``snaps``: the wire was let go there."""
    if not unstable:
        return ()
    stage, share = unstable[0]
    remedy = "With snap = true under [analysis] it is let go to the stable equilibrium."
    if snaps:
        remedy = "It was let go there, but came to rest in no other shape."
    return (
        f"Unstable from {100.0 * share:.0f} % of the {stage} on, or shortly before: a small push would make the wire "
        "snap. " + remedy,
    )


def _diagnosis(item: AttachmentResult) -> str:
    """Which orders a slot holds and by which walls, which it leaves passive and with how much play."""
    if item.inside_share == 0.0:
        return "the wire has left this slot"
    parts = []
    carrying = [name for name, order in item.orders.items() if order.carries_couple]
    walls = list(dict.fromkeys(contact.wall for contact in item.contacts))
    by = f", held by {listed(walls)}" if walls else ""
    if carrying:
        parts.append(f"carries a couple in {listed(carrying)} order{by}")
    elif item.contacts:
        parts.append(f"touches on one side only and carries no couple ({listed(walls)})")
    else:
        parts.append("the wire is passive in its play here")
    free = [name for name, order in item.orders.items() if not order.carries_couple and order.turns_freely]
    left = [
        f"{shown(order.play_left_deg)} deg in {name} order"
        for name, order in item.orders.items()
        if not order.carries_couple and not order.turns_freely and order.play_left_deg is not None
    ]
    if left:
        parts.append(f"play left {listed(left)}")
    if free:
        parts.append(f"free in {listed(free)} order")
    if item.inside_share < 1.0:
        parts.append(
            f"the wire comes out: it lies in {100.0 * item.inside_share:.0f} % of the slot's stations"
        )
    return "; ".join(parts)


def assumptions(case: Case) -> tuple[str, ...]:
    """What the answer stands on."""
    spread = modulus_spread(case)
    out = [
        *(
            line
            for material in dict.fromkeys(wire.material for wire in case.wires)
            for line in (law_words(material, case.analysis), f"source of these values: {material.source}")
        ),
        *_joint_assumptions(case),
        *_strand_assumptions(case),
        *_slot_assumptions(case),
        *_tooth_assumptions(case),
        no_range_words(case) if spread is None else spread.words,
    ]
    for number, wire in enumerate(case.wires):
        if kept_at_seat(case, number):
            which = wire.name if case.more_wires else "the wire"
            out.append(
                f"no attachment stops {which}: it is kept from sliding in {wire.seated_in}, where it is seated, "
                "because without friction nothing else says where along its slots it comes to rest"
            )
    buttons = [spec.attachment for spec in case.attachments if spec.attachment.kind == "button"]
    if any(button.thread is None for button in buttons):
        out.append("buttons: hold one point of the wire, free to slide along their x unless stopped")
    for button in buttons:
        if button.thread is not None:
            far = (
                "its far end slides along the button's x"
                if button.thread.slides
                else "tied to the button itself"
            )
            out.append(f"{button.name}: a thread to one point of the wire that only pulls, {far}")
    if any(spec.attachment.hold_roll for spec in case.attachments):
        out.append("roll held at: " + ", ".join(s.name for s in case.attachments if s.attachment.hold_roll))
    return tuple(out)


def _strand_assumptions(case: Case) -> list[str]:
    """What is assumed of a multistrand wire, and how far it could be off at most."""
    strands = case.wire.strands
    if strands is None:
        return []
    material = elastic_of(case.wire)
    first, second = (strands.bonded(material).stiffness / strands.law(material).stiffness)[4:]
    apparent = three(strands.apparent_modulus(material) / 1000.0)
    return [
        f"{case.wire.label}: strands slide on each other without friction, the softest that a wire of them can be; "
        f"in second order as stiff as a solid of this outline with a Young's modulus of {apparent} GPa",
        f"grown together they would be {three(first)} times as stiff in first order and {three(second)} times in "
        "second; a real wire, whose strands rub, lies between, near the soft end once it is bent far",
        "stresses are those in a strand, of bending, torsion, pull and shear; pressure of strands on each other is "
        "left out",
    ]


def _tooth_assumptions(case: Case) -> list[str]:
    """What is assumed of the teeth: whether they give way, and what their movements are read from."""
    way = "the wire is engaged by moving every attachment from where the passive wire is to its pose"
    given = [
        (spec.name, words) for spec, words in zip(case.attachments, supported(case.attachments), strict=True)
    ]
    gives = [(name, words) for name, words in given if words is not None]
    if not gives:
        out = [f"teeth: fixed in their poses; {way}"]
    else:
        fixed = [name for name, words in given if words is None]
        others = f"; fixed in their poses: {listed(fixed)}" if fixed else ""
        out = [f"teeth: on linear supports at their centres of resistance{others}; {way}"]
        by_words: dict[str, list[str]] = {}
        for name, words in gives:
            by_words.setdefault(words, []).append(name)
        out += [f"support of {listed(names)}: {words}" for words, names in by_words.items()]
        out.append(
            "a real ligament is not linear, creeps, and is stiffer in one direction than in another: displacements are "
            "initial ones and say nothing of movement over weeks"
        )
    known = [centre for spec in case.attachments if (centre := centre_of(spec)) is not None]
    if any(source != GIVEN for _, source in known):
        out.append(DEFAULT_CENTRES)
    if known:
        out.append(
            "movements: initial tendencies in a linear model, read from (M/F)/d with d the arm to the tooth's own "
            "centre of resistance and the slot's axes taken for the tooth's; not a prediction"
        )
    return out


def _alloy(material: MaterialSpec) -> list[str]:
    modulus = f"Young's modulus {three(material.youngs_modulus_mpa / 1000.0)} GPa"
    limit = "no yield stress" if material.yield_mpa is None else f"yield {three(material.yield_mpa)} MPa"
    return [
        f"{material.name}: linear elastic, {modulus}, Poisson's ratio {material.poisson:g}, {limit}",
        f"source of these values: {material.source}",
    ]


def _joint_assumptions(case: Case) -> list[str]:
    """What a hook and a tie do, and that wires touch nowhere else."""
    out = []
    if any(joint.slides for joint in case.joints):
        out.append("hooks slide along the other wire without friction and carry no couple")
    if any(not joint.slides for joint in case.joints):
        out.append("ties hold a point of one wire at a point of the other, without play, and carry no couple")
    if case.more_wires:
        out.append(
            "wires touch each other nowhere but at these joints: elsewhere they may pass through each other"
        )
    return out


def _slot_assumptions(case: Case) -> list[str]:
    """What is assumed of walls, fronts, mouths and friction; one sentence where all slots are alike."""
    attachments = [spec.attachment for spec in case.attachments if spec.attachment.slot is not None]
    rubbing = [spec for spec in case.attachments if spec.attachment.friction > 0.0]
    facts: dict[str, list[str]] = {}
    for spec in case.attachments:
        attachment, slot = spec.attachment, spec.attachment.slot
        if slot is None:
            continue
        rigid = math.isinf(attachment.wall_modulus)
        walls = (
            "rigid walls" if rigid else f"walls that give way, {three(attachment.wall_modulus / 1000.0)} GPa"
        )
        ligation = attachment.ligation
        if ligation.is_elastic:
            front = f"in front {ligation.kind}, {_ligature(ligation)}"
        else:
            front = (
                "open in front"
                if ligation.kind == "none"
                else "closed on all four sides (a rigid door or a tube)"
            )
        mouths = (
            "sharp mouths" if slot.mouth_radius == 0.0 else f"mouths rounded by {three(slot.mouth_radius)} mm"
        )
        taper = f", {three(math.degrees(slot.taper))} deg taper" if slot.taper else ""
        facts.setdefault(f"{walls}, {front}, {mouths}{taper}", []).append(spec.name)
    out = [
        f"slots: {fact}" if len(names) == len(attachments) else f"slot of {listed(names)}: {fact}"
        for fact, names in facts.items()
    ]
    if not rubbing:
        return [f"{out[0]}, no friction", *out[1:]] if len(out) == 1 else [*out, "no friction"]
    coefficients = sorted({spec.attachment.friction for spec in rubbing})
    values = " to ".join(f"{value:g}" for value in sorted({coefficients[0], coefficients[-1]}))
    where = (
        "all slots and edges" if len(rubbing) == len(case.attachments) else listed([s.name for s in rubbing])
    )
    return [
        *out,
        f"Coulomb friction, coefficient {values}, at {where}; sticking contacts creep by 0.1 micrometre at most",
    ]


def _ligature(ligation: Ligation) -> str:
    stiffness = f"{three(ligation.whole_stiffness)} N/mm"
    if ligation.kind == "steel ligature":
        return f"{stiffness}, {three(ligation.slack or 0.0)} mm of slack"
    if ligation.reach is not None:
        return f"{stiffness}, reaching to {three(ligation.reach)} mm above the floor"
    return f"{stiffness}, pressing a wire on the floor with {three(ligation.pressing)} N"
