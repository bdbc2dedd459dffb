"""Reading a parsed TOML table key by key, writing down every problem and going on.

Each reading function gives the value, or None when it has written down a problem (or the key is optional and
not there), so that one pass through a file finds everything that is wrong with it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any, Literal

from cases import units
from cases.errors import Problem
from cases.toml_lines import Key, key_text, line_of

Sign = Literal["any", "not negative", "positive"]


@dataclass(frozen=True, slots=True)
class Findings:
    """What has been found wrong or doubtful in one file so far."""

    lines: dict[Key, int]
    problems: list[Problem] = field(default_factory=list)
    warnings: list[Problem] = field(default_factory=list)

    def problem(self, key: Key, message: str, remedy: str) -> None:
        """Write down something that must be mended."""
        self.problems.append(Problem(key_text(key), line_of(self.lines, key), message, remedy))

    def warning(self, key: Key, message: str, remedy: str) -> None:
        """Write down something doubtful."""
        self.warnings.append(Problem(key_text(key), line_of(self.lines, key), message, remedy))


def listing(names: Sequence[str]) -> str:
    """Names in a sentence: "a, b or c"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def nearest(word: str, names: Sequence[str]) -> str | None:
    """The one of ``names`` that ``word`` is most likely a slip of, or None."""
    by_lower = {name.lower(): name for name in names}
    low = word.lower()
    near = get_close_matches(low.replace("-", "_"), by_lower, n=1, cutoff=0.6) or get_close_matches(
        low, by_lower, n=1, cutoff=0.6
    )
    parts = [name for name in by_lower if low and low in name]
    return by_lower[near[0]] if near else by_lower[parts[0]] if len(parts) == 1 else None


@dataclass(frozen=True, slots=True)
class Table:
    """One table of the file: its key from the top, and what it holds."""

    findings: Findings
    key: Key
    data: Mapping[str, Any]

    def at(self, name: str) -> Key:
        """The whole key of ``name`` in this table."""
        return (*self.key, name)

    def problem(self, name: str, message: str, remedy: str) -> None:
        """Write down a problem at ``name`` ("" for the table itself)."""
        self.findings.problem(self.at(name) if name else self.key, message, remedy)

    def warning(self, name: str, message: str, remedy: str) -> None:
        """Write down a doubt at ``name``."""
        self.findings.warning(self.at(name), message, remedy)

    def only(self, *names: str) -> None:
        """Every other key is a problem, with a suggestion where one is near."""
        for given in self.data:
            if given not in names:
                near = nearest(given, names)
                what = f'unknown key "{given}"'
                self.problem(
                    given, what, f'did you mean "{near}"?' if near else f"keys known here: {', '.join(names)}"
                )

    def has(self, name: str) -> bool:
        """Whether the key is there."""
        return name in self.data

    def _get(self, name: str, what: str, example: str, required: bool) -> Any:
        if name not in self.data and required:
            self.findings.problem(self.at(name), f"{what} is missing", f"add {name} = {example}")
        return self.data.get(name)

    def text(self, name: str, what: str, example: str, required: bool = True) -> str | None:
        """A string that is not blank."""
        value = self._get(name, what, example, required)
        if value is None:
            return None
        if not isinstance(value, str) or not value.strip():
            self.problem(name, f"expected {what} in quotes, got {shown(value)}", f"write {name} = {example}")
            return None
        return value

    def choice(self, name: str, what: str, names: Sequence[str], required: bool = True) -> str | None:
        """One of some words."""
        value = self.text(name, what, f'"{names[0]}"', required)
        if value is None or value in names:
            return value
        near = nearest(value, names)
        quoted = listing([f'"{known}"' for known in names])
        remedy = f'did you mean "{near}"?' if near else f"write {quoted}"
        self.problem(name, f'expected {what} ({listing(names)}), got "{value}"', remedy)
        return None

    def flag(self, name: str, default: bool = False) -> bool:
        """true or false."""
        value = self.data.get(name, default)
        if not isinstance(value, bool):
            self.problem(
                name,
                f"expected true or false, got {shown(value)}",
                f"write {name} = true or {name} = false, without quotes",
            )
            return default
        return value

    def integer(self, name: str, what: str, default: int, least: int, most: int) -> int:
        """A whole number within bounds."""
        value = self.data.get(name, default)
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            self.problem(
                name,
                f"expected {what}, got {shown(value)}",
                f"write a whole number from {least} to {most}, without quotes",
            )
            return default
        return value

    def number(self, name: str, what: str, example: str, required: bool = True) -> float | None:
        """A pure number without a unit."""
        value = self._get(name, what, example, required)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            self.problem(
                name,
                f"expected {what}, a number without unit, got {shown(value)}",
                f"write {name} = {example}",
            )
            return None
        return float(value)

    def quantity(
        self,
        name: str,
        kind: units.Kind,
        what: str,
        sign: Sign = "any",
        required: bool = True,
        default: float | None = None,
    ) -> float | None:
        """A value with its unit, in the inside's unit of ``kind``."""
        value = self._get(name, what, units.EXAMPLES[kind].split(" or ")[0], required)
        return default if value is None else self._quantity(self.at(name), value, kind, what, sign)

    def _quantity(self, key: Key, value: object, kind: units.Kind, what: str, sign: Sign) -> float | None:
        try:
            number = units.parse(value, kind)
        except units.BadQuantity as bad:
            self.findings.problem(key, f"{what}: {bad.message}", bad.remedy)
            return None
        if (sign == "positive" and number <= 0.0) or (sign == "not negative" and number < 0.0):
            need = "greater than zero" if sign == "positive" else "zero or more"
            self.findings.problem(
                key, f'{what} must be {need}, got "{value}"', f"write a value like {units.EXAMPLES[kind]}"
            )
            return None
        return number

    def one_of(self, name: str, index: int, kind: units.Kind, what: str, sign: Sign = "any") -> float | None:
        """One value with its unit out of a list, in the inside's unit of ``kind``."""
        return self._quantity((*self.at(name), index), self.data[name][index], kind, what, sign)

    def vector(self, name: str, what: str, required: bool = True) -> tuple[float, float, float] | None:
        """Three lengths."""
        value = self._get(name, what, '["0 mm", "0 mm", "0 mm"]', required)
        if value is None:
            return None
        if not isinstance(value, list) or len(value) != 3:
            got = f"a list of {len(value)}" if isinstance(value, list) else shown(value)
            self.problem(
                name,
                f"expected {what} as three lengths [x, y, z], got {got}",
                f'write {name} = ["8 mm", "0 mm", "0 mm"]',
            )
            return None
        numbers = [
            self._quantity((*self.at(name), i), item, "length", what, "any") for i, item in enumerate(value)
        ]
        x, y, z = numbers
        return None if x is None or y is None or z is None else (x, y, z)

    def table(self, name: str, what: str, example: str, required: bool = True) -> Table | None:
        """A table inside this one."""
        value = self._get(name, what, example, required)
        if value is None:
            return None
        if not isinstance(value, dict):
            self.problem(name, f"expected {what} as a table, got {shown(value)}", f"write {name} = {example}")
            return None
        return Table(self.findings, self.at(name), value)

    def tables(self, name: str, what: str, remedy: str) -> list[Table] | None:
        """A list of tables, at least one."""
        value = self.data.get(name)
        if value is None or value == []:
            self.problem(name, f"no {what} at all", remedy)
            return None
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            self.problem(name, f"expected a list of {what}s, got {shown(value)}", remedy)
            return None
        return [Table(self.findings, (*self.at(name), i), item) for i, item in enumerate(value)]


def shown(value: object) -> str:
    """A value of the file as an error shows it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    return str(value)
