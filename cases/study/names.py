"""What a study varies, and what the columns of its table are called.

Column names hold letters, digits and underscores only, and end in their unit, so that they can be used as they stand
in any program for tables.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from cases.study.distributions import Distribution
from cases.study.quantities import Cell, Unit
from cases.study.solve import WIRE, Base
from cases.toml_lines import Key, key_text

NUMBER, STATUS, REMARK = "row", "status", "remark"


@dataclass(frozen=True, slots=True)
class Varied:
    """One [[vary]]: one value that goes to one or several keys of the case."""

    name: str
    """As people call it: the file's ``name``, or its path."""
    keys: tuple[Key, ...]
    unit: Unit
    values: tuple[Cell, ...]
    """Of a grid or list; none where it is drawn."""
    distribution: Distribution | None
    place: int
    """Which [[vary]] of the file, from 0."""
    way: str
    """How its values are given: "values", "grid" or "distribution"."""
    led: bool = False
    """Whether each appliance is led through the values one after the other."""

    @property
    def middle(self) -> Cell:
        """The median, or the middle one of the list."""
        return self.values[len(self.values) // 2] if self.distribution is None else self.distribution.middle

    @property
    def told(self) -> tuple[str, ...]:
        """Its keys as problems of a case name them."""
        return tuple(key_text(key) for key in self.keys)

    @property
    def numeric(self) -> bool:
        """Whether its values are numbers, to be ranked and drawn along an axis."""
        values = self.values if self.distribution is None else self.distribution.values
        return all(isinstance(value, (int, float)) and not isinstance(value, bool) for value in values)

    def shown(self, value: Cell) -> str:
        """A value for people, with its unit."""
        text = f"{value:.6g}" if isinstance(value, float) else str(value)
        return text if self.unit.name is None else f"{text} {self.unit.name}"


def slug(text: str) -> str:
    """Words as a name: "lateral incisor, left" becomes "lateral_incisor_left"."""
    return re.sub(r"\W+", "_", text).strip("_").lower() or "x"


def _apart(names: Sequence[str]) -> list[str]:
    """Each name its own, by a number where two have become the same."""
    out: list[str] = []
    for name in names:
        one, count = name, 1
        while one in out:
            count += 1
            one = f"{name}_{count}"
        out.append(one)
    return out


def attachment_slugs(base: Base) -> dict[str, str]:
    """The name of every attachment in columns."""
    names = (*base.attachments, WIRE)
    return dict(zip(names, _apart([*map(slug, base.attachments), "wire"]), strict=True))


def output_columns(base: Base) -> list[str]:
    """One for each of ``Base.outputs``: "force_molar_tube_x_n"."""
    slugs = attachment_slugs(base)
    columns = []
    for name, quantity in base.outputs:
        what, rest = quantity.split("_", 1)
        columns.append(f"{what}_{slugs[name]}_{rest}")
    return columns


def input_columns(base: Base, varied: Sequence[Varied]) -> list[str]:
    """One for each key that varies: "wire_section_height_in"."""
    taken = [NUMBER, STATUS, REMARK, *output_columns(base)]
    own = [slug(one.name) + one.unit.suffix for one in varied]
    return _apart([*taken, *own])[len(taken) :]


def columns(base: Base, varied: Sequence[Varied]) -> list[str]:
    """All columns of the table of rows."""
    return [NUMBER, *input_columns(base, varied), STATUS, *output_columns(base), REMARK]
