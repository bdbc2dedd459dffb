"""The [[unknown]] tables of a target file: what may be changed in the case, and how far."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cases import units
from cases.reader import Table, shown
from cases.study.keys import BadKey, resolve
from cases.study.quantities import Unit, number_at, unit_of
from cases.toml_lines import Key, key_text

NO_UNKNOWN = (
    'add at least one: [[unknown]] key = \'wire.passive_shape[2].bend\', least = "-40 deg", most = "-5 deg"'
)
WAYS = 'write least = "-40 deg" and most = "-5 deg", or values = ["0.016 in", "0.018 in"]'
SIZES = ("diameter", "height", "depth")
# A step of this size, mm or rad, moves a wire by little more, far from rounding and far from any curvature.
STEP = 5e-6
STEP_SHARE = 1e-6


@dataclass(frozen=True, slots=True)
class Unknown:
    """One value that the search may choose; it goes to one or several keys of the case."""

    name: str
    keys: tuple[Key, ...]
    unit: Unit
    least: float
    """In its unit; of a list 0."""
    most: float
    values: tuple[object, ...]
    """Of a list, as they stand in the file; none where it has bounds."""
    against: Key | None
    """A length that becomes shorter by as much as the first key becomes longer."""
    start: float | None
    """What the case has, in this unit; None where it has none within the bounds."""
    total: float
    """mm: both lengths together where there is an ``against``."""
    place: int
    """Which [[unknown]] of the file, from 0."""

    @property
    def listed(self) -> bool:
        """Whether it is chosen from a list."""
        return bool(self.values)

    @property
    def bent(self) -> bool:
        """Whether it is an angle or a length of the passive shape, which may be off when the wire is bent."""
        shape = all(key[:2] == ("wire", "passive_shape") for key in self.keys)
        return shape and self.unit.kind in ("angle", "length")

    @property
    def middle(self) -> float:
        """The middle of its bounds, or the place of the middle one of its list."""
        return float(len(self.values) // 2) if self.listed else 0.5 * (self.least + self.most)

    @property
    def step(self) -> float:
        """A small change, in its unit."""
        if self.unit.kind in ("length", "angle") and self.unit.name is not None:
            return STEP / units.UNITS[self.unit.name][1]
        return STEP_SHARE * max(abs(self.least), abs(self.most))

    def puts(self, value: float) -> list[tuple[Key, object]]:
        """Every key with its value as a case file has it."""
        if self.listed:
            return [(key, self.values[int(value)]) for key in self.keys]
        put: list[tuple[Key, object]] = [(key, self.unit.written(float(value))) for key in self.keys]
        if self.against is not None:
            assert self.unit.name is not None
            rest = self.total - float(value) * units.UNITS[self.unit.name][1]
            put.append((self.against, f"{rest!r} mm"))
        return put

    def shown(self, value: float) -> str:
        """A value for people, with its unit."""
        if self.listed:
            return in_words(self.values[int(value)])
        return f"{value:.4g}" + ("" if self.unit.name is None else f" {self.unit.name}")


def in_words(value: object) -> str:
    """A listed value for people: of a table its dimensions, "0.016 in x 0.022 in"."""
    if isinstance(value, dict):
        sizes = [str(value[key]) for key in SIZES if key in value]
        return " x ".join(sizes) or json.dumps(value, ensure_ascii=False)
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)


def read_unknowns(top: Table, data: Mapping[str, Any] | None) -> list[Unknown]:
    """All that could be read; ``data`` are the tables of the case, None where there is none to look into."""
    found: list[Unknown] = []
    taken: dict[Key, int] = {}
    names: set[str] = set()
    for place, table in enumerate(top.tables("unknown", "[[unknown]]", NO_UNKNOWN) or []):
        table.only("name", "key", "against", "least", "most", "values")
        keys, path = _keys(table, data, taken)
        name = table.text("name", "a name", '"bend"', required=False) or path
        if name in names:
            table.problem(
                "name" if table.has("name") else "key", f'two are called "{name}"', "give each its own name"
            )
        names.add(name)
        bounds, listed = table.has("least") or table.has("most"), table.has("values")
        if bounds == listed:
            got = "both" if bounds else "neither"
            table.problem("", f"expected bounds, least and most, or a list of values, got {got}", WAYS)
            continue
        one = _listed(table, name, keys, place) if listed else _bounded(table, name, keys, place, data, taken)
        if one is not None:
            found.append(one)
    return found


def _keys(table: Table, data: Mapping[str, Any] | None, taken: dict[Key, int]) -> tuple[tuple[Key, ...], str]:
    """The keys of one table, and the first path as its name."""
    given = table.data.get("key")
    paths = [
        path for path in (given if isinstance(given, list) else [given]) if isinstance(path, str) and path
    ]
    if not paths or (isinstance(given, list) and len(paths) < len(given)):
        wrong = f"expected a path, or a list of paths, got {shown(given)}"
        what = "the path of a key is missing" if given is None else wrong
        table.problem("key", what, "write key = 'wire.passive_shape[2].bend'")
        return (), "?"
    found = [_one_key(table, "key", path, data, taken) for path in paths]
    return tuple(key for key in found if key is not None), paths[0]


def _one_key(
    table: Table, name: str, path: str, data: Mapping[str, Any] | None, taken: dict[Key, int]
) -> Key | None:
    """The key that a path means; each may be chosen by one unknown only."""
    if data is None:
        return None
    try:
        key = resolve(path, data)
    except BadKey as bad:
        table.problem(name, bad.message, bad.remedy)
        return None
    if key[-1] == "name":
        table.problem(name, "a name is nothing to search for", "choose another key")
    clash = next((other for other in taken if other[: len(key)] == key or key[: len(other)] == other), None)
    if clash is not None:
        table.problem(
            name,
            f"[[unknown]] {taken[clash] + 1} has this key already, or a part of it",
            "give each key once",
        )
    taken[key] = int(table.key[-1])
    return key


def _listed(table: Table, name: str, keys: tuple[Key, ...], place: int) -> Unknown | None:
    given = table.data["values"]
    if not isinstance(given, list) or not given:
        what = "the list is empty" if given == [] else f"expected a list of values, got {shown(given)}"
        table.problem(
            "values", what, 'write values = ["stainless-steel", "beta-titanium"], or give least and most'
        )
        return None
    if table.has("against"):
        table.problem("against", "what comes from a list has nothing to shorten", "leave against out")
    for k, value in enumerate(given):
        if value in given[:k]:
            where = (*table.at("values"), k)
            table.findings.problem(where, f"{in_words(value)} stands there twice", "write it once")
            return None
    return Unknown(name, keys, Unit(), 0.0, float(len(given) - 1), tuple(given), None, None, 0.0, place)


def _bounded(
    table: Table,
    name: str,
    keys: tuple[Key, ...],
    place: int,
    data: Mapping[str, Any] | None,
    taken: dict[Key, int],
) -> Unknown | None:
    missing = [edge for edge in ("least", "most") if not table.has(edge)]
    for edge in missing:
        table.problem(edge, "an unknown needs both bounds, least and most", WAYS)
    if missing:
        return None
    unit = unit_of(table.data["least"])
    if unit is None:
        got = shown(table.data["least"])
        table.problem("least", f"expected a number or a quantity with its unit, got {got}", WAYS)
        return None
    least, most = (number_at(table, edge, table.data[edge], unit) for edge in ("least", "most"))
    if least is None or most is None:
        return None
    if not least < most:
        what = f"the bounds are reversed or equal: most must be above least, {shown(table.data['least'])}"
        table.problem("most", what, "exchange the two, or mend one")
        return None
    against, total = None, 0.0
    if table.has("against") and data is not None and keys:
        against = _against(table, unit, keys, data, taken)
        if against is None:
            return None
        total = sum(units.parse(value_at(data, key), "length") for key in (keys[0], against))
    start = None if data is None or not keys else _started(value_at(data, keys[0]), unit)
    inside = start is not None and least <= start <= most
    return Unknown(name, keys, unit, least, most, (), against, start if inside else None, total, place)


def _against(
    table: Table, unit: Unit, keys: tuple[Key, ...], data: Mapping[str, Any], taken: dict[Key, int]
) -> Key | None:
    """The length that gives what the first key takes; None with a problem."""
    path = table.text("against", "the path of a length", "'wire.passive_shape[3].straight'")
    key = None if path is None else _one_key(table, "against", path, data, taken)
    if key is None:
        return None
    if unit.kind != "length" or len(keys) != 1:
        table.problem(
            "against", "only one length can be taken from another", "leave against out, or give one key"
        )
        return None
    for one in (keys[0], key):
        try:
            units.parse(value_at(data, one), "length")
        except units.BadQuantity as bad:
            table.problem(
                "against", f"{key_text(one)} of the case is no length: {bad.message}", "choose a length"
            )
            return None
    return key


def value_at(data: Any, key: Key) -> object:
    """What the tables of a case have at a key; None where it is left at its default."""
    for part in key:
        if isinstance(data, dict) and part not in data:
            return None
        data = data[part]
    found: object = data
    return found


def _started(value: object, unit: Unit) -> float | None:
    """A value of the case in an unknown's unit."""
    if unit.kind is None or unit.name is None:
        return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None
    try:
        return units.parse(value, unit.kind) / units.UNITS[unit.name][1]
    except units.BadQuantity:
        return None
