"""The ``[[attachment]]`` tables of a case file."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import get_args

from cases.read_ligation import HOLDING, read_holding, read_slot
from cases.read_shapes import PLACES, like_a_number
from cases.read_teeth import read_support
from cases.reader import Table, listing, nearest, shown
from cases.schema import AttachmentSpec, Vector
from geometry.attachments import Attachment, Kind, Slot
from geometry.pose import Pose
from geometry.tooth import Tooth, angles_from_tooth_words
from geometry.wire_shapes import PassiveShape

RAW_ANGLES = ("about_y", "about_z", "about_x")
TOOTH_ANGLES = ("rotation", "angulation", "inclination")
WITH_SLOT = ("bracket", "tube")

# Far from usual (common practice, no source).
LARGEST_DISTANCE = 200.0
LARGEST_ROOT = 30.0


@dataclass(frozen=True, slots=True)
class ReadAttachment:
    """What could be read of one attachment; None for what could not."""

    table: Table
    name: str | None
    slot: Slot | None
    at: float | None
    """Arc length, mm."""
    position: Vector | None
    spec: AttachmentSpec | None
    """The whole, if all of it could be read."""
    wire: int = 0
    """Number of the wire that it holds."""


def read_attachment(
    table: Table, wire: PassiveShape | None, base: Pose | None = None, number: int = 0
) -> ReadAttachment:
    """Read one table; problems go to its findings.

    ``wire`` is None where it could not be read, ``number`` counts it from 0.  Position and angles are those of
    ``base``, where given, else the world's.
    """
    table.only(
        "name",
        "tooth",
        "kind",
        "slot",
        "position",
        *RAW_ANGLES,
        *TOOTH_ANGLES,
        "at",
        "stop",
        "hold_roll",
        "centre_of_resistance",
        "support",
        "segment",
        "wire",
        *HOLDING,
    )
    before = len(table.findings.problems)
    name = table.text("name", "the attachment's name", '"molar tube"')
    kind = _kind(table)
    has_slot = kind in WITH_SLOT
    slot = read_slot(table, kind, has_slot)
    holding = read_holding(table, kind, has_slot)
    tooth = _tooth(table)
    position = table.vector("position", "the slot centre")
    angles = _angles(table, tooth)
    at = read_place(table, "at", wire)
    stop = table.flag("stop")
    hold_roll = table.flag("hold_roll")
    if kind == "button" and hold_roll:
        table.problem(
            "hold_roll",
            "a button holds one point and carries no couple, so it cannot hold the roll",
            "leave hold_roll out",
        )
    if kind in ("knife edge", "roller"):
        for key, given in (("stop", stop), ("hold_roll", hold_roll)):
            if given:
                table.problem(
                    key,
                    f"the wire only rests on a {kind}, which neither stops nor turns it",
                    f"leave {key} out",
                )
        for key in ("support", "segment"):
            if table.has(key):
                table.problem(key, f"a {kind} stands on no tooth", f"leave {key} out")
    centre = table.vector(
        "centre_of_resistance", "the centre of resistance from the slot centre", required=False
    )
    support = read_support(table, tooth, centre is not None)
    segment = table.text("segment", "the name of a segment", '"incisors"', required=False)
    _doubt_distances(table, position, centre)
    spec = None
    if (
        name
        and kind
        and (slot is not None or kind not in WITH_SLOT)
        and position is not None
        and angles is not None
        and at is not None
        and holding is not None
        and len(table.findings.problems) == before
    ):
        pose = Pose.from_angles(position, *angles)
        if base is not None:
            pose = base.compose(pose)
            x, y, z = (float(value) for value in pose.position)
            position = (x, y, z)
        attachment = Attachment(
            name,
            kind,
            pose,
            at,
            slot,
            stop,
            hold_roll,
            holding.ligation,
            holding.wall_modulus,
            holding.friction,
            holding.thread,
            holding.radius,
            holding.below,
        )
        spec = AttachmentSpec(
            name, None if tooth is None else table.data["tooth"], attachment, centre, support, segment, number
        )
    return ReadAttachment(table, name, slot, at, position, spec, number)


def _kind(table: Table) -> Kind | None:
    given = table.choice("kind", "the kind of attachment", get_args(Kind))
    for kind in get_args(Kind):
        if given == kind:
            known: Kind = kind
            return known
    return None


def _tooth(table: Table) -> Tooth | None:
    number = table.text("tooth", "a tooth number (FDI)", '"37"', required=False)
    if number is None:
        return None
    try:
        return Tooth(number)
    except ValueError as error:
        table.problem("tooth", str(error), "write two digits, quadrant and place from the midline")
        return None


def _angles(table: Table, tooth: Tooth | None) -> tuple[float, float, float] | None:
    """``(about_y, about_z, about_x)`` in rad, from whichever way they are given."""
    raw = [key for key in RAW_ANGLES if table.has(key)]
    spoken = [key for key in TOOTH_ANGLES if table.has(key)]
    values = {key: table.quantity(key, "angle", f"the angle {key}") for key in (*raw, *spoken)}
    if raw and spoken:
        table.problem(
            spoken[0],
            f"{spoken[0]} is given beside {raw[0]}: the two ways to turn an attachment cannot be mixed",
            "keep either about_y, about_z, about_x or rotation, angulation, inclination",
        )
        return None
    if spoken and not table.has("tooth"):
        table.problem(
            spoken[0],
            f"{spoken[0]} needs to know the tooth",
            'add tooth = "37" (FDI), or use about_y, about_z, about_x',
        )
        return None
    if any(value is None for value in values.values()) or (spoken and tooth is None):
        return None
    for key, value in values.items():
        if value is not None and abs(value) > math.pi:
            table.warning(
                key, f"{key} of {math.degrees(value):.4g} deg is more than half a turn", "check the unit"
            )
    first, second, third = (values.get(key) or 0.0 for key in (TOOTH_ANGLES if spoken else RAW_ANGLES))
    return (
        angles_from_tooth_words(tooth, first, second, third)
        if spoken and tooth is not None
        else (first, second, third)
    )


def read_place(table: Table, key: str, wire: PassiveShape | None) -> float | None:
    """Arc length (mm) of a place on the wire, which is None where it could not be read."""
    given = table.text(key, "the place on the wire", '"12 mm"') if not table.has(key) else table.data[key]
    if given is None:
        return None
    if isinstance(given, str) and given.strip().lower() in PLACES:
        share = dict(zip(PLACES, (0.0, 0.5, 1.0), strict=True))[given.strip().lower()]
        return None if wire is None else share * wire.length
    if isinstance(given, str) and not like_a_number(given):
        return None if wire is None else _station(table, key, given, wire)
    wire_length = None if wire is None else wire.length
    at = table.quantity(key, "length", "the place on the wire", "not negative")
    if at is not None and wire_length is not None and at > wire_length * (1.0 + 1e-12):
        table.problem(
            key,
            f"{shown(given)} lies beyond the wire, which is {wire_length:.4g} mm long",
            f'write at most "{math.floor(wire_length * 1e3) / 1e3:g} mm", or "end", or make the wire longer',
        )
        return None
    return at


def _station(table: Table, key: str, given: str, wire: PassiveShape) -> float | None:
    """The arc length (mm) of a named station; capitals do not matter where that leaves no doubt."""
    name = given.strip()
    names = [station.name for station in wire.stations]
    alike = [known for known in names if known.lower() == name.lower()]
    found = name if name in names else alike[0] if len(alike) == 1 else None
    if found is not None:
        return next(station.at for station in wire.stations if station.name == found)
    if not names:
        remedy = 'write a length like "12 mm", or "start", "middle" or "end" (the wire has no named stations)'
        table.problem(key, f'expected a place on the wire, got "{given}"', remedy)
        return None
    near = nearest(name, [*names, *PLACES])
    quoted = listing([f'"{known}"' for known in names])
    known = f'stations of the wire: {quoted}; or write a length like "12 mm", or "start", "middle" or "end"'
    message = f'the wire has no station "{given}"'
    table.problem(key, message, f'did you mean "{near}"? ({known})' if near else known)
    return None


def _doubt_distances(table: Table, position: Vector | None, centre: Vector | None) -> None:
    if position is not None and math.hypot(*position) > LARGEST_DISTANCE:
        table.warning(
            "position",
            f"an attachment {math.hypot(*position):.4g} mm from the origin is unusual",
            "check the units",
        )
    if centre is not None and math.hypot(*centre) > LARGEST_ROOT:
        what = f"a centre of resistance {math.hypot(*centre):.4g} mm from the slot is unusual"
        table.warning("centre_of_resistance", what, "check the units")
