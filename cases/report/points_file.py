"""Reads the points that a figure lays beside its curve: ``--measured FILE`` and ``--theory FILE``.

A CSV file with two columns, place and value, their units in the headers; a third, ``plus_minus``, gives the uncertainty
of each value.  A remark ``# source: ...`` says where they come from.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from cases import units
from cases.errors import Problem
from cases.play_options import OptionsError
from cases.read_csv import Columns, CsvRow, CsvTable, read_csv
from cases.reader import Findings, Table
from cases.show.agreement import Kind, Known

ACTIVATION = "activation_percent"
PLUS_MINUS = "plus_minus"
OPTIONS: dict[Kind, str] = {"measurement": "--measured", "theory": "--theory"}
SOURCE = "# source:"
NO_SOURCE = "given without a source"


def read_points(path: Path, kind: Kind, place: str, quantity: str) -> Known:
    """The points in ``path``.

    ``place`` is the column of their places: ``activation_percent``, or the name of a length or angle without its unit;
    ``quantity`` that of their values, "force", "moment" or "ratio".  Lengths come out in mm, angles in deg, forces in
    N, moments in N mm.  Raises OptionsError with every problem of the file."""
    option = OPTIONS[kind]
    findings = Findings({})
    table = Table(findings, (), {})
    kinds: dict[str, units.Kind] = {"force": "force", "moment": "moment", "ratio": "length"}
    where: dict[str, units.Kind | None] = {"angle": "angle", "travel": "length", ACTIVATION: None}
    columns: Columns = {place: where[place], quantity: kinds[quantity], PLUS_MINUS: kinds[quantity]}
    text = _text(path, option)
    read = read_csv(text, path.name, table, option, columns)
    points = [] if read is None else _points(read, place, quantity)
    if findings.problems:
        raise OptionsError("figure", findings.problems)
    has_more = read is not None and PLUS_MINUS in read.headers
    return Known(
        kind=kind,
        label=path.name,
        source=_source(text),
        at=tuple(point[0] for point in points),
        values=tuple(point[1] for point in points),
        plus_minus=tuple(point[2] for point in points) if has_more else None,
    )


def _text(path: Path, option: str) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        what, remedy = f"{path.name} is not UTF-8 text", "save the file as UTF-8"
    except OSError as error:
        what, remedy = f"{path} cannot be read ({error.strerror})", "give the path of a CSV file"
    raise OptionsError("figure", [Problem(option, None, what, remedy)])


def _source(text: str) -> str:
    lines = [line.strip() for line in text.splitlines()]
    found = [line[len(SOURCE) :].strip() for line in lines if line.lower().startswith(SOURCE)]
    return " ".join(found) or NO_SOURCE


def _points(read: CsvTable, place: str, quantity: str) -> list[tuple[float, float, float]]:
    wanted: Sequence[str] = (place, quantity, *((PLUS_MINUS,) if PLUS_MINUS in read.headers else ()))
    for column in wanted[:2]:
        if column not in read.headers:
            read.problem(
                None,
                None,
                f"there is no column for the {column}",
                f"write a header like {example(place, quantity)}",
            )
    if any(column not in read.headers for column in wanted):
        return []
    out = []
    for row in read.rows:
        values = [_number(read, row, column) for column in wanted]
        if len(values) == 3 and values[2] is not None and values[2] < 0.0:
            read.problem(row, PLUS_MINUS, "an uncertainty below zero", "write its size")
        if None not in values:
            out.append((*(value for value in values if value is not None), 0.0)[:3])
    return [(a, b, c) for a, b, c in out]


def _number(read: CsvTable, row: CsvRow, column: str) -> float | None:
    if column not in row.cells:
        read.problem(row, column, "the cell is empty", "give every row its numbers")
        return None
    if column not in read.units:
        try:
            value = float(row.cells[column])
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            read.problem(
                row,
                column,
                f'expected a number, got "{row.cells[column]}"',
                "write a number in percent, without a sign",
            )
            return None
        return value
    value_here = read.number(row, column)
    return None if value_here is None else math.degrees(value_here) if column == "angle" else value_here


def example(place: str, quantity: str) -> str:
    """A header for such a file."""
    usual = {
        "angle": "angle_deg",
        "travel": "travel_mm",
        "force": "force_N",
        "moment": "moment_Nmm",
        "ratio": "ratio_mm",
    }
    return f"{usual.get(place, place)},{usual[quantity]}"
