"""Values of a study as they stand in its file: pure numbers, words, or numbers with a unit."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cases import units
from cases.reader import Table, shown

Cell = str | float | int | bool
"""One value of one key in one row: a number in the key's unit, a pure number, or a word."""

SUFFIXES = {"%": "percent", "mm^4": "mm4", "in^4": "in4"}


@dataclass(frozen=True, slots=True)
class Unit:
    """The unit in which a study gives a key; ``name`` None: pure numbers or words."""

    name: str | None = None

    @property
    def kind(self) -> units.Kind | None:
        """What it measures."""
        return None if self.name is None else units.UNITS[self.name][0]

    @property
    def suffix(self) -> str:
        """What a column's name ends in: "_mm", "_n_per_mm", or nothing."""
        if self.name is None:
            return ""
        return "_" + SUFFIXES.get(self.name, self.name.replace("/", "_per_").lower())

    def written(self, value: Cell) -> Cell:
        """A value as it stands in a case file; the text gives back the same number, bit for bit."""
        return value if self.name is None else f"{value!r} {self.name}"


def unit_of(value: object) -> Unit | None:
    """The unit of a value of the study file; None for a text that is no quantity (a word)."""
    if not isinstance(value, str):
        return Unit()
    for name in sorted(units.UNITS, key=len, reverse=True):
        try:
            units.parse(value, units.UNITS[name][0])
        except units.BadQuantity:
            continue
        if value.strip().endswith(name):
            return Unit(name)
    return None


def number_at(table: Table, name: str, value: object, unit: Unit, index: int | None = None) -> float | None:
    """A number of ``table`` in ``unit``; None with a problem where it is something else.

    Other units of the same kind are converted.
    """
    key = table.at(name) if index is None else (*table.at(name), index)
    kind = unit.kind
    if kind is None:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            table.findings.problem(
                key, f"expected a finite number without unit, got {shown(value)}", "write it like 0.3"
            )
            return None
        return float(value)
    try:
        inside = units.parse(value, kind)
    except units.BadQuantity as bad:
        table.findings.problem(key, bad.message, bad.remedy)
        return None
    assert unit.name is not None and isinstance(value, str)
    # In its own unit a value stays as it was written, without the rounding of two conversions.
    own = unit_of(value)
    return units.written(value) if own == unit else inside / units.UNITS[unit.name][1]
