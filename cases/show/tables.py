"""The numbers behind a figure as a CSV file: one row a plotted point or value, units in the headers."""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from cases.errors import NotFiniteError

Cell = str | float | None


@dataclass(frozen=True, slots=True)
class Table:
    """Columns and rows; an empty cell where a column does not apply."""

    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]

    def write(self, path: Path) -> Path:
        """Write the table.  Raises NotFiniteError for NaN or infinity, which no figure shows either."""
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(self.columns)
            for number, row in enumerate(self.rows, start=1):
                writer.writerow(self._texts(path.name, number, row))
        return path

    def _texts(self, name: str, number: int, row: Sequence[Cell]) -> list[str]:
        out = []
        for column, cell in zip(self.columns, row, strict=True):
            if isinstance(cell, str) or cell is None:
                out.append(cell or "")
                continue
            if not math.isfinite(cell):
                raise NotFiniteError(f'{name}, row {number}, "{column}"', cell)
            out.append(repr(float(cell)))
        return out
