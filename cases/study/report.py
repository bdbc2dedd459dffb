"""A summary on the screen and as the table behind the figures."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cases.show.tables import Cell, Table
from cases.study.names import STATUS, Varied, input_columns, output_columns
from cases.study.quantities import Cell as Value
from cases.study.solve import GOOD, WIRE
from cases.study.summary import Point, Spread, Summary
from cases.summary import number
from cases.words import LEAST_SHOWN

if TYPE_CHECKING:
    from rich.console import Console

UNITS = {"n": "N", "nmm": "N mm", "deg": "deg"}
OF_WIRE = {
    "stress": "largest stress in the wire (MPa)",
    "yield": "largest stress as a share of the yield stress",
}
AXES = ("x", "y", "z")
MOST_LISTED = 12


def name_of(summary: Summary, output: int) -> str:
    """An output in words: "third-order moment on molar tube (N mm)"."""
    attachment, quantity = summary.study.base.outputs[output]
    what, which, unit = quantity.split("_")
    if attachment == WIRE:
        return OF_WIRE[what]
    text = (
        f"{what} along {which}"
        if what == "force"
        else f"{what} about {which}"
        if which in AXES
        else f"{which}-order {what}"
    )
    return f"{text} {'of the slot of' if what == 'play' else 'on'} {attachment} ({UNITS[unit]})"


def place_of(summary: Summary, point: Point) -> str:
    """A point of the grid in words: "inclination 20 deg"; nothing without a grid."""
    return ", ".join(
        f"{one.name} {one.shown(value)}" for one, value in zip(summary.study.grid, point.grid, strict=False)
    )


def left_out(statuses: dict[str, int]) -> str:
    """The rows that are not counted: "3 of 64 rows do not count (does not fit: 2, no equilibrium: 1)"; else nothing."""
    bad = {status: count for status, count in statuses.items() if status not in GOOD}
    if not bad:
        return ""
    parts = ", ".join(f"{status}: {count}" for status, count in bad.items())
    return f"{sum(bad.values())} of {sum(statuses.values())} rows do not count ({parts})"


def print_summary(summary: Summary, console: Console) -> None:
    """Statuses; the answer at every point of the grid; where it spreads most, which key moves it."""
    study = summary.study
    rows = len(summary.rows.status)
    console.print(f"\n{study.title}", style="bold", markup=False, highlight=False)
    said = ", ".join(f"{status}: {count}" for status, count in summary.statuses.items())
    console.print(f"{rows} rows ({said})", markup=False, highlight=False)
    if study.design is None:
        _print_grid(summary, console)
        return
    _print_points(summary, console)
    point = summary.telling
    spread = point.outputs[summary.answer]
    if spread is not None and spread.ranks:
        where = place_of(summary, point)
        _print_ranks(spread, f"{name_of(summary, summary.answer)}{f', at {where}' if where else ''}", console)


def _print_points(summary: Summary, console: Console) -> None:
    from rich.table import Table as Shown

    study = summary.study
    heads = ("count", "5 %", "50 %", "95 %", "mean", "standard deviation")
    if study.grid:
        table = Shown(
            *(_head(one) for one in study.grid),
            *heads,
            title=name_of(summary, summary.answer),
            title_justify="left",
        )
        for point in summary.points:
            spread = point.outputs[summary.answer]
            table.add_row(
                *(one.shown(v) for one, v in zip(study.grid, point.grid, strict=True)), *_cells(spread)
            )
    else:
        table = Shown("", *heads)
        moves = [k for k, spread in enumerate(summary.points[0].outputs) if _moves(summary, k, spread)]
        for k in [summary.answer, *(k for k in moves if k != summary.answer)][:MOST_LISTED]:
            table.add_row(name_of(summary, k), *_cells(summary.points[0].outputs[k]))
    console.print(table)
    more = left_out(summary.statuses)
    if more:
        console.print(f"{more}.", markup=False, highlight=False)


def _moves(summary: Summary, output: int, spread: Spread | None) -> bool:
    """Whether an output is worth a line: it differs by what is shown, and is no moment about a world axis, since those
    about the slot's own say the same."""
    if spread is None or spread.most - spread.least < LEAST_SHOWN:
        return False
    what, which, _ = summary.study.base.outputs[output][1].split("_")
    return what != "moment" or which not in AXES


def _print_ranks(spread: Spread, title: str, console: Console) -> None:
    from rich.table import Table as Shown

    heads = ["key", "Spearman", *(["Sobol, first", "Sobol, total"] if spread.first else [])]
    table = Shown(*heads, title=title, title_justify="left")
    for name, rank in sorted(spread.ranks.items(), key=lambda pair: -abs(pair[1])):
        more = [f"{part[name]:.3f}" for part in (spread.first, spread.total)] if spread.first else []
        table.add_row(name, f"{rank:+.2f}", *more)
    console.print(table)


def _print_grid(summary: Summary, console: Console) -> None:
    from rich.table import Table as Shown

    table = Shown(*(_head(one) for one in summary.study.grid), STATUS, name_of(summary, summary.answer))
    values = zip(
        summary.rows.inputs, summary.rows.status, summary.rows.outputs[:, summary.answer], strict=True
    )
    lines = list(values)
    for inputs, status, value in lines[: 4 * MOST_LISTED]:
        told = "none" if value != value else number(float(value))
        table.add_row(
            *(one.shown(v) for one, v in zip(summary.study.grid, inputs, strict=True)), status, told
        )
    console.print(table)
    if len(lines) > 4 * MOST_LISTED:
        console.print(f"and {len(lines) - 4 * MOST_LISTED} more in rows.csv", highlight=False)


def _head(one: Varied) -> str:
    return one.name


def _cells(spread: Spread | None) -> list[str]:
    if spread is None:
        return ["0", *[""] * 5]
    deviation = "" if spread.deviation is None else number(spread.deviation)
    return [str(spread.count), *map(number, spread.percentiles), number(spread.mean), deviation]


def summary_table(summary: Summary) -> Table:
    """One row for each point and output: the numbers behind the figures."""
    study = summary.study
    grid = study.grid if study.design is not None else ()
    heads = input_columns(study.base, study.varied)[: len(grid)]
    middles = ("mean", "standard_deviation", "percentile_5", "percentile_50", "percentile_95")
    columns = (*heads, "output", "count", *middles, "least", "most")
    rows: list[tuple[Cell, ...]] = []
    for point in summary.points:
        for name, spread in zip(output_columns(study.base), point.outputs, strict=True):
            if spread is None:
                continue
            middle: Sequence[Cell] = (spread.mean, spread.deviation, *spread.percentiles)
            if study.design is None:
                middle = (None,) * 5
            own = [_plain(value) for value in point.grid]
            rows.append((*own, name, float(spread.count), *middle, spread.least, spread.most))
    return Table(columns, tuple(rows))


def _plain(value: Value) -> Cell:
    return str(value) if isinstance(value, (str, bool)) else float(value)
