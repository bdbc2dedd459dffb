"""What must be true between the parts of a case: the wire goes into its slots, in their order along it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from cases.read_attachments import ReadAttachment
from cases.read_wire import ReadWire
from cases.reader import listing, nearest
from geometry.attachments import Slot
from geometry.clearance import Clearance, Front, clearance, front_of
from geometry.section import Section

DOES_NOT_FIT = "does not fit the slot of"
"""In the words of the problem that a wire is larger than its slot; a study counts such rows apart."""


def check_together(wires: Sequence[ReadWire], attachments: Sequence[ReadAttachment]) -> None:
    """Write down what does not fit together, as far as the parts could be read."""
    _names(attachments)
    _places(attachments)
    for number, wire in enumerate(wires):
        own = [item for item in attachments if item.wire == number]
        _seat(wire, own, attachments)
        _fit(wire, own)
        _clips(wire, own)
        _order(own)
        _ends(wire, own)
        _reach(own)
    _boxes(attachments)


def _names(attachments: Sequence[ReadAttachment]) -> None:
    seen: set[str] = set()
    for item in attachments:
        if item.name in seen:
            item.table.problem("name", f'two attachments are called "{item.name}"', "give each its own name")
        if item.name:
            seen.add(item.name)


def _seat(wire: ReadWire, own: Sequence[ReadAttachment], attachments: Sequence[ReadAttachment]) -> None:
    """The wire lies in an attachment that there is, that holds this wire, and that can."""
    names = list(dict.fromkeys(item.name for item in attachments if item.name))
    if wire.seated_in is None or not names:
        return
    if wire.seated_in in names and wire.seated_in not in [item.name for item in own]:
        remedy = f'write wire = "{wire.name}" in that attachment, or name one that has it'
        what = f'"{wire.seated_in}" holds another wire, so {wire.name} cannot be seated in it'
        wire.table.problem("seated_in", what, remedy)
        return
    if wire.seated_in in names:
        home = next(item.spec for item in attachments if item.name == wire.seated_in)
        if home is not None and home.attachment.is_edge:
            wire.table.problem(
                "seated_in",
                f'the wire only rests on "{wire.seated_in}", a {home.attachment.kind}, and cannot be seated in it',
                "name a bracket, tube, clamp or button",
            )
        return
    near = nearest(wire.seated_in, names)
    known = f"attachments here: {listing([f'{chr(34)}{name}{chr(34)}' for name in names])}"
    remedy = f'did you mean "{near}"? ({known})' if near else known
    wire.table.problem("seated_in", f'no attachment is called "{wire.seated_in}"', remedy)


def _fit(wire: ReadWire, attachments: Sequence[ReadAttachment]) -> None:
    """The wire goes into the slots; a doubt where it cannot reach the floor or stands out in front."""
    if wire.section is None:
        return
    for item in attachments:
        if item.slot is None:
            continue
        section, slot = wire.section, item.slot
        play = clearance(section, slot, _front(item))
        its = f"the wire ({section.label})"
        name = item.name or "this attachment"
        if not play.fits:
            item.table.problem(
                "slot",
                f"{its} {DOES_NOT_FIT} {name}: {_larger(section, slot, play)}",
                "take a smaller wire or a larger slot, and check the units of both",
            )
            continue
        if play.floor_height_mm < 0.0:
            what = f"{its} is {-play.floor_height_mm:.3g} mm too high to lie on the floor of {name}, whose walls taper"
            item.table.warning("slot", what, "take a smaller wire, or a slot that is higher at its floor")
        if play.depth_mm < 0.0:
            what = f"{its} stands {-play.depth_mm:.3g} mm out of the slot of {name} in front"
            item.table.warning("slot", what, "if that is not meant, check the units of both depths")


def _front(item: ReadAttachment) -> Front:
    """Whether a rigid wall closes the slot in front; where that could not be read, a ligation may leave it open."""
    if item.spec is None:
        return "open" if item.table.has("ligation") else "closed"
    return front_of(item.spec.attachment.ligation)


def _larger(section: Section, slot: Slot, play: Clearance) -> str:
    """By how much a wire exceeds its slot."""
    larger = []
    if play.height_mm < 0.0:
        room = section.height + play.height_mm
        larger.append(
            f"{section.height:.4g} mm high into {room:.4g} mm{' at half its depth' if slot.taper else ''}"
        )
    if play.depth_mm < 0.0 and play.front == "closed":
        larger.append(f"{section.depth:.4g} mm deep into {slot.depth:.4g} mm")
    return " and ".join(larger)


def _clips(wire: ReadWire, attachments: Sequence[ReadAttachment]) -> None:
    """An active clip bears on the wire's face: untouched it cannot stand far behind that."""
    if wire.section is None:
        return
    depth = wire.section.depth
    for item in attachments:
        if item.spec is None or item.spec.attachment.ligation.kind != "active clip":
            continue
        ligation = item.spec.attachment.ligation
        below = depth - ligation.rest(depth)
        if below <= 0.5 * depth:
            continue
        remedy = (
            "write a greater reach, and check its unit"
            if ligation.reach is not None
            else "write a smaller force or a greater stiffness, or the clip's reach"
        )
        item.table.warning(
            "ligation",
            f"untouched, the clip of {item.name} would stand {below:.3g} mm behind the face of a wire "
            f"{depth:.3g} mm deep: more than half of that",
            remedy,
        )


def _places(attachments: Sequence[ReadAttachment]) -> None:
    """No two attachments at one point in space."""
    for i, item in enumerate(attachments):
        for other in attachments[:i]:
            if item.position is not None and item.position == other.position:
                item.table.problem(
                    "position",
                    f"the same place as {other.name or 'another attachment'}",
                    "give each attachment its own position",
                )
                break


def _boxes(attachments: Sequence[ReadAttachment]) -> None:
    """No two slots for different wires in one another."""
    for i, item in enumerate(attachments):
        for other in attachments[:i]:
            if item.wire == other.wire or item.spec is None or other.spec is None:
                continue
            one, two = item.spec.attachment, other.spec.attachment
            if one.slot is None or two.slot is None or item.position == other.position:
                continue
            away = np.abs(one.pose.to_local(two.pose.position))
            room = [
                0.5 * (getattr(one.slot, size) + getattr(two.slot, size))
                for size in ("width", "height", "depth")
            ]
            if (away < room).all():
                item.table.problem(
                    "position",
                    f"its slot lies within that of {two.name}, which holds another wire",
                    "move one of them: two tubes of one tooth stand beside each other",
                )


def _order(attachments: Sequence[ReadAttachment]) -> None:
    """Arc lengths grow from one attachment to the next, and slots do not overlap along the wire."""
    for before, item in pairwise(attachments):
        if before.at is None or item.at is None:
            continue
        name = before.name or "the attachment before"
        if item.at == before.at:
            item.table.problem(
                "at", f"the same place on the wire as {name}, {item.at:.4g} mm", "give each its own place"
            )
        elif item.at < before.at:
            item.table.problem(
                "at",
                f"the wrong order along the wire: {item.at:.4g} mm comes before {name} at {before.at:.4g} mm",
                "list the attachments in their order along the wire, from its start",
            )
        else:
            room = item.at - before.at
            need = sum(0.5 * part.slot.width for part in (before, item) if part.slot is not None)
            if need >= room:
                item.table.problem(
                    "at",
                    f"the slots of {name} and {item.name or 'this one'} overlap on the wire: their halves "
                    f"take {need:.4g} mm, their centres are {room:.4g} mm apart",
                    "move them apart along the wire, or make the slots narrower",
                )


def _ends(wire: ReadWire, attachments: Sequence[ReadAttachment]) -> None:
    """A slot that a wire's end does not fill is allowed, but worth a word."""
    if wire.passive_shape is None:
        return
    length = wire.passive_shape.length
    for item in attachments:
        if item.slot is None or item.at is None:
            continue
        empty = max(0.5 * item.slot.width - item.at, item.at + 0.5 * item.slot.width - length)
        if empty > 1e-9 * length:
            item.table.warning(
                "at",
                f"the wire ends inside the slot of {item.name or 'this attachment'}: {empty:.3g} mm of its "
                f"{item.slot.width:.3g} mm width stay empty",
                "if that is not meant, make the wire longer or move the place",
            )


def _reach(attachments: Sequence[ReadAttachment]) -> None:
    """Between two stops the wire cannot be shorter than the way."""
    stopped = [item.spec for item in attachments if item.spec is not None and item.spec.attachment.stop]
    tables = {item.spec.name: item.table for item in attachments if item.spec is not None}
    for before, after in pairwise(stopped):
        wire = after.attachment.at - before.attachment.at
        way = math.dist(before.attachment.pose.position, after.attachment.pose.position)
        if way > wire * 1.001:
            tables[after.name].warning(
                "stop",
                f"{wire:.4g} mm of wire are stopped at both ends of a way of {way:.4g} mm to {before.name}: "
                f"it would have to stretch",
                "leave out one stop, or give the wire more length",
            )
