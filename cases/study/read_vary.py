"""The [[vary]] tables of a study file: which keys vary, and how."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from cases.reader import Table, shown
from cases.study.distributions import cells, read_distribution
from cases.study.keys import BadKey, resolve
from cases.study.names import Varied
from cases.study.quantities import Cell, Unit, number_at, unit_of
from cases.toml_lines import Key, key_text

NO_VARY = (
    'add at least one: [[vary]] key = \'wire.section.height\', distribution = "normal", mean = "0.019 in", '
    'deviation = "0.0002 in"'
)
ONE_WAY = (
    'write values = ["0.018 in", "0.019 in"], or grid = { from = "0 deg", to = "30 deg", count = 7 }, or '
    'distribution = "normal"'
)
WAYS = ("values", "grid", "distribution")
PLACES = ("position", "rotation", "angulation", "inclination", "about_y", "about_z", "about_x")
"""The keys of an attachment that say where it stands, and those alone."""
MOST_POINTS = 100_000


def read_varied(top: Table, data: Mapping[str, Any] | None) -> list[Varied]:
    """All that could be read; ``data`` are the tables of the case, None where there is none to look into."""
    found: list[Varied] = []
    taken: dict[Key, int] = {}
    names: set[str] = set()
    for place, table in enumerate(top.tables("vary", "[[vary]]", NO_VARY) or []):
        keys, path = _keys(table, data, taken)
        name = table.text("name", "a name", '"wire height"', required=False) or path
        if name in names:
            table.problem(
                "name" if table.has("name") else "key", f'two are called "{name}"', "give each its own name"
            )
        names.add(name)
        way = [one for one in WAYS if table.has(one)]
        # a distribution "table" has values of its own
        if way == ["values", "distribution"]:
            way = ["distribution"]
        if len(way) != 1:
            got = " and ".join(way) if way else "none of them"
            table.problem("", f"expected one of values, grid and distribution, got {got}", ONE_WAY)
            continue
        if way == ["distribution"]:
            drawn = read_distribution(table, ("key", "name"))
            if drawn is not None:
                found.append(Varied(name, keys, drawn[1], (), drawn[0], place, way[0]))
            continue
        table.only("key", "name", "led", way[0])
        led = table.flag("led")
        if led:
            _refuse_led(table, keys, data or {}, any(one.led for one in found))
        listed = _listed(table) if way == ["values"] else _grid(table)
        if listed is not None:
            found.append(Varied(name, keys, listed[1], tuple(listed[0]), None, place, way[0], led))
    return found


def _refuse_led(table: Table, keys: Sequence[Key], data: Mapping[str, Any], another: bool) -> None:
    """Write down why an appliance cannot be led through the values of these keys."""
    if another:
        table.problem("led", "appliances are led through the values of one key only", "write led = true once")
    attachments = data.get("attachment")
    listed = attachments if isinstance(attachments, list) else []
    wire = data.get("wire")
    seat = wire.get("seated_in") if isinstance(wire, dict) else None
    for key in keys:
        place = len(key) > 2 and key[0] == "attachment" and key[2] in PLACES
        if not place:
            table.problem(
                "led",
                f"only an attachment can be led, by where it stands, and {key_text(key)} is something else",
                f"leave led out, or vary one of {', '.join(PLACES)} of an attachment",
            )
        elif listed[int(key[1])].get("name") == seat:
            table.problem(
                "led",
                f'the wire is seated in "{seat}", which stands still while others are led',
                "lead another one",
            )
    for name in ("stage", "bench"):
        if name in data:
            table.problem(
                "led",
                f"the case has a [{name}] of its own, so nothing can be led",
                f"take the {name} out of the case",
            )
    analysis = data.get("analysis")
    if isinstance(analysis, dict) and "tie_in" in analysis:
        table.problem(
            "led", "the case ties its attachments in one after another", "take tie_in out of the case"
        )


def _keys(table: Table, data: Mapping[str, Any] | None, taken: dict[Key, int]) -> tuple[tuple[Key, ...], str]:
    """The keys of one table, and the first path as its name; each key may be given once only."""
    given = table.data.get("key")
    paths: list[str] = [
        path for path in (given if isinstance(given, list) else [given]) if isinstance(path, str) and path
    ]
    if not paths or isinstance(given, list) and len(paths) < len(given):
        wrong = f"expected a path, or a list of paths, got {shown(given)}"
        what = "the path of a key is missing" if given is None else wrong
        table.problem("key", what, "write key = 'wire.section.height'")
        return (), "?"
    keys: list[Key] = []
    for path in paths:
        if data is None:
            continue
        try:
            key = resolve(path, data)
        except BadKey as bad:
            table.problem("key", bad.message, bad.remedy)
            continue
        if key[-1] == "name":
            table.problem("key", "a name cannot vary: the columns are called after it", "vary something else")
        clash = next(
            (other for other in taken if other[: len(key)] == key or key[: len(other)] == other), None
        )
        if clash is not None:
            table.problem(
                "key",
                f"[[vary]] {taken[clash] + 1} has this key already, or a part of it",
                "give each key once",
            )
        taken[key] = int(table.key[-1])
        keys.append(key)
    return tuple(keys), paths[0]


def _listed(table: Table) -> tuple[list[Cell], Unit] | None:
    given = table.data["values"]
    if not isinstance(given, list) or not given:
        what = "the list is empty" if given == [] else f"expected a list of values, got {shown(given)}"
        table.problem("values", what, 'write values = ["0.018 in", "0.019 in"]')
        return None
    unit = unit_of(given[0]) or Unit()
    values = cells(table, "values", unit)
    if values is None:
        return None
    for k, value in enumerate(values):
        if value in values[:k]:
            table.findings.problem(
                (*table.at("values"), k), f"{shown(given[k])} stands there twice", "write it once"
            )
            return None
    return values, unit


def _grid(table: Table) -> tuple[list[Cell], Unit] | None:
    example = '{ from = "0 deg", to = "30 deg", count = 7 }'
    grid = table.table("grid", "a grid", example)
    if grid is None:
        return None
    grid.only("from", "to", "count")
    missing = [name for name in ("from", "to", "count") if not grid.has(name)]
    for name in missing:
        grid.problem(name, "a grid needs from, to and count", f"write grid = {example}")
    if missing:
        return None
    unit = unit_of(grid.data["from"])
    if unit is None:
        grid.problem("from", f"expected a number or a quantity with its unit, got {shown(grid.data['from'])}",
                     f"write grid = {example}")  # fmt: skip
        return None
    first, last = (number_at(grid, name, grid.data[name], unit) for name in ("from", "to"))
    before = len(table.findings.problems)
    count = grid.integer("count", "the number of values", 2, 2, MOST_POINTS)
    if first is None or last is None or len(table.findings.problems) > before:
        return None
    if first == last:
        grid.problem(
            "to", "the grid is empty: it ends where it begins", "write another end, or leave this key out"
        )
        return None
    return [float(value) for value in np.linspace(first, last, count)], unit
