"""Several wires in one case: the ``[[wire]]`` and ``[[joint]]`` tables, and which wire an attachment holds."""

from __future__ import annotations

from collections.abc import Sequence

from cases.data_files import DataFiles
from cases.read_attachments import ReadAttachment, read_place
from cases.read_wire import ReadWire, read_wire
from cases.reader import Table, listing, nearest
from cases.schema import HOOK, TIE, JointSpec

WIRE_EXAMPLE = "a [wire] table with material, section, passive_shape and seated_in"
JOINT_EXAMPLE = (
    'write [[joint]] with kind = "hook", wire = "spring", at = "end", to = "base arch", to_at = "12 mm"'
)
LARGEST_ARM = 5.0
"""mm between the centre lines of two wires that touch, far more than any wire is thick."""


def read_wires(top: Table, files: DataFiles) -> list[ReadWire]:
    """The wire, or all wires; problems go to the findings."""
    if not isinstance(top.data.get("wire"), list):
        table = top.table("wire", "the wire", WIRE_EXAMPLE)
        return [] if table is None else [read_wire(table, files)]
    tables = top.tables("wire", "wire", f"write [[wire]] once for each, {WIRE_EXAMPLE[2:]}") or []
    wires = [read_wire(table, files, alone=len(tables) == 1) for table in tables]
    seen: set[str] = set()
    for wire in wires:
        if wire.table.has("name") and wire.name in seen:
            wire.table.problem("name", f'two wires are called "{wire.name}"', "give each its own name")
        seen.add(wire.name)
    return wires


def number_of(table: Table, key: str, wires: Sequence[ReadWire], default: int | None = 0) -> int | None:
    """Which wire ``key`` names, from 0; None after a problem."""
    if not table.has(key) and default is not None:
        return default
    name = table.text(key, "the name of a wire", f'"{wires[-1].name if wires else "overlay"}"')
    if name is None or not wires:
        return None
    names = [wire.name for wire in wires]
    if name in names:
        return names.index(name)
    near = nearest(name, names)
    known = f"wires of this case: {listing([f'{chr(34)}{one}{chr(34)}' for one in names])}"
    remedy = f'did you mean "{near}"? ({known})' if near else known
    table.problem(key, f'there is no wire "{name}"', remedy)
    return None


def read_joints(
    top: Table, wires: Sequence[ReadWire], attachments: Sequence[ReadAttachment]
) -> tuple[JointSpec, ...]:
    """The joints between wires; problems go to the findings."""
    if not top.has("joint"):
        return ()
    if isinstance(top.data["joint"], dict):
        top.problem("joint", "joints are a list", "write [[joint]] with double brackets, once for each")
        return ()
    tables = top.tables("joint", "joint", JOINT_EXAMPLE) or []
    if len(wires) < 2:
        top.problem(
            "joint", "a joint holds one wire to another, but there is one wire only", "write [[wire]] twice"
        )
        return ()
    taken = {item.name for item in attachments}
    found = []
    for count, table in enumerate(tables, start=1):
        joint = _joint(table, count, wires, attachments)
        if joint is not None:
            if joint.name in taken:
                what = f'something else is called "{joint.name}" already'
                table.problem("name" if table.has("name") else "", what, 'write another name = "..."')
            taken.add(joint.name)
            found.append(joint)
    return tuple(found)


def _joint(
    table: Table, count: int, wires: Sequence[ReadWire], attachments: Sequence[ReadAttachment]
) -> JointSpec | None:
    table.only("name", "kind", "wire", "at", "to", "to_at", "above", "in_front")
    before = len(table.findings.problems)
    kind = table.choice("kind", "the kind of joint", (HOOK, TIE))
    wire = number_of(table, "wire", wires, None)
    to = number_of(table, "to", wires)
    name = table.text("name", "a name for the joint", '"hook"', required=False)
    if wire is not None and wire == to:
        table.problem(
            "to" if table.has("to") else "wire", "a joint holds a wire to another one", "name two wires"
        )
    places = [
        None if number is None else read_place(table, key, wires[number].passive_shape)
        for key, number in (("at", wire), ("to_at", to))
    ]
    above, in_front = (
        table.quantity(
            key, "length", f"how far the wire lies {words} of the other", required=False, default=0.0
        )
        for key, words in (("above", "above the middle"), ("in_front", "in front of the middle"))
    )
    for key, value in (("above", above), ("in_front", in_front)):
        if value is not None and abs(value) > LARGEST_ARM:
            table.warning(key, f"two wires {abs(value):.4g} mm apart do not touch", "check the unit")
    for key, number, place in (("at", wire, places[0]), ("to_at", to, places[1])):
        if number is not None and place is not None:
            _refuse_in_slot(table, key, number, place, attachments)
    at, to_at = places
    if len(table.findings.problems) > before:
        return None
    if wire is None or to is None or at is None or to_at is None or above is None or in_front is None:
        return None
    usual = f"{kind} of {wires[wire].name}" + ("" if count == 1 else f" {count}")
    return JointSpec(name or usual, kind == HOOK, wire, at, to, to_at, (0.0, above, in_front))


def _refuse_in_slot(
    table: Table, key: str, wire: int, place: float, attachments: Sequence[ReadAttachment]
) -> None:
    """Where a slot or another attachment holds a wire nothing can be hooked on or tied to it."""
    for item in attachments:
        if item.wire != wire or item.at is None:
            continue
        half = 0.0 if item.slot is None else 0.5 * item.slot.width
        if abs(place - item.at) <= half:
            table.problem(
                key,
                f"this place of the wire lies in {item.name or 'an attachment'}, which holds it from "
                f"{item.at - half:.4g} to {item.at + half:.4g} mm",
                "move the joint out of it",
            )
