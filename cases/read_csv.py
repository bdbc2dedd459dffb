"""CSV tables beside a case file: named columns with their unit in the header, like ``x_mm``.

Cells are separated by commas, numbers have a decimal point.  Empty lines and lines that begin with ``#`` are
passed over.  Rows are counted as a spreadsheet or an editor does, from 1 and with the header.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping
from dataclasses import dataclass

from cases import units
from cases.reader import Table, listing, nearest

Columns = Mapping[str, units.Kind | None]
"""Columns a table may have: the kind of their quantity, None for text."""

MOST_PROBLEMS = 20
"""Problems told one by one; a table wrong in every row would bury all others."""


@dataclass(frozen=True, slots=True)
class CsvRow:
    """One row: its number in the file and its cells that are not empty, by column."""

    number: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class CsvTable:
    """A table that has been read, cells still as text."""

    file: str
    table: Table
    """Where the case names the file."""
    key: str
    headers: dict[str, str]
    """Header by column: {"x": "x_mm"}."""
    units: dict[str, str]
    """Unit by column, of those that have one."""
    rows: tuple[CsvRow, ...]

    def place(self, row: CsvRow | None, column: str | None) -> str:
        """ "teeth.csv row 3, column x_mm", as far as known."""
        parts = [f"row {row.number}"] if row else []
        parts += [f"column {self.headers.get(column, column)}"] if column else []
        return f"{self.file} {', '.join(parts)}" if parts else self.file

    def problem(self, row: CsvRow | None, column: str | None, message: str, remedy: str) -> None:
        """Write down a problem in the case's findings."""
        self.table.problem(self.key, f"{self.place(row, column)}: {message}", remedy)

    def warning(self, row: CsvRow | None, column: str | None, message: str, remedy: str) -> None:
        """Write down a doubt in the case's findings."""
        self.table.warning(self.key, f"{self.place(row, column)}: {message}", remedy)

    def number(self, row: CsvRow, column: str) -> float | None:
        """A cell's number in the inside's unit; None where it is empty, or with a problem no number."""
        cell = row.cells.get(column)
        if cell is None:
            return None
        unit = self.units[column]
        try:
            # Python itself would take "1_0" for ten.
            value = math.nan if "_" in cell else float(cell)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            example = f"write a number with a decimal point and no unit: the header says {unit}"
            self.problem(row, column, f'expected a number, got "{cell}"', example)
            return None
        return value * units.UNITS[unit][1]

    def written(self, row: CsvRow, column: str) -> str | None:
        """A cell with its unit as a case file would have it, "0.022 in"; None where it is empty."""
        cell = row.cells.get(column)
        return None if cell is None else f"{cell} {self.units[column]}" if column in self.units else cell


def read_csv(text: str, file: str, table: Table, key: str, columns: Columns) -> CsvTable | None:
    """The table in ``text``, or None with problems at ``key`` of ``table`` where it is none.

    ``file`` is its name.  Every unknown column, and every row of another length than the header, is a problem.
    """
    before = len(table.findings.problems)
    reader = csv.reader(io.StringIO(text, newline=""))
    lines = []
    read = 0
    try:
        for cells in reader:
            begins, read = read + 1, reader.line_num
            if read > begins:
                what = f"{file} row {begins}: a cell in quotes does not end there but in row {read}"
                table.problem(key, what, "close the quotes, or leave them out")
                return None
            trimmed = [cell.strip() for cell in cells]
            if any(trimmed) and not trimmed[0].startswith("#"):
                lines.append((reader.line_num, trimmed))
    except csv.Error as error:
        table.problem(key, f"{file} row {reader.line_num}: not a CSV table: {error}", "mend it there")
        return None
    if not lines:
        table.problem(key, f"{file} is empty", f"write a header like {_example(columns)} and rows below it")
        return None
    (_, header), *body = lines
    if not all(header):
        what = f"{file}: column {header.index('') + 1} has no name in the header"
        table.problem(key, what, "name it, or delete the column where it is empty in every row")
        return None
    if len(header) == 1 and (";" in header[0] or "\t" in header[0]):
        remedy = "save it as CSV separated by commas, with decimal points"
        table.problem(key, f"{file}: its columns are not separated by commas", remedy)
        return None
    headers: dict[str, str] = {}
    its_units: dict[str, str] = {}
    order = [_column(name, file, table, key, columns, headers, its_units) for name in header]
    if len(table.findings.problems) > before:
        return None
    rows = []
    wrong = 0
    for number, cells in body:
        if len(cells) != len(header):
            wrong += 1
            if wrong <= MOST_PROBLEMS:
                what = f"{file} row {number}: {len(cells)} cells, but the header has {len(header)}"
                remedy = "give every row one cell for each column, empty ones too"
                if len(cells) > len(header):
                    remedy += ", and write decimal points: a decimal comma makes two cells of one"
                table.problem(key, what, remedy)
            continue
        pairs = zip(order, cells, strict=True)
        rows.append(CsvRow(number, {column: cell for column, cell in pairs if column and cell}))
    if wrong > MOST_PROBLEMS:
        table.problem(
            key, f"{file}: {wrong - MOST_PROBLEMS} more rows like these", "mend these rows, then check"
        )
    if not body:
        table.problem(key, f"{file} has a header but no rows", "write one row for each point or tooth")
    if len(table.findings.problems) > before:
        return None
    return CsvTable(file, table, key, headers, its_units, tuple(rows))


def _column(
    header: str,
    file: str,
    table: Table,
    key: str,
    columns: Columns,
    headers: dict[str, str],
    its_units: dict[str, str],
) -> str | None:
    """The column that a header names; it and its unit are noted."""
    place = f'{file}: column "{header}"'
    if columns.get(header) is not None:
        examples = listing([f'"{header}_{usual}"' for usual in units.units_of(columns[header] or "length")])
        table.problem(key, f"{place} has no unit", f"write {examples}")
        return None
    name, _, unit = (header, "", "") if header in columns else header.rpartition("_")
    kind = columns.get(name)
    if kind is None and header not in columns:
        near = nearest(header, list(columns)) or nearest(name, list(columns))
        known = f"columns known: {', '.join(_full(known, columns) for known in columns)}"
        remedy = f'did you mean "{_full(near, columns)}"? ({known})' if near else known
        table.problem(key, f"{place} is not known", remedy)
        return None
    if kind is not None and unit not in units.units_of(kind):
        allowed = listing([f'"{name}_{known}"' for known in units.units_of(kind)])
        table.problem(key, f'{place}: "{unit}" is not a unit of {units.a(kind)}', f"write {allowed}")
        return None
    if name in headers:
        table.problem(key, f'{place} gives again what "{headers[name]}" gives', "keep one of them")
        return None
    headers[name] = header
    if kind is not None:
        its_units[name] = unit
    return name


def _full(name: str, columns: Columns) -> str:
    """A column with a usual unit."""
    kind = columns[name]
    return name if kind is None else f"{name}_{'mm' if kind == 'length' else units.USUAL[kind][0]}"


def _example(columns: Columns) -> str:
    return ",".join(_full(name, columns) for name in list(columns)[:3])
