"""What the rows of a study say together: percentiles, means, deviations, ranks, Sobol indices, point by point.

It is made from the table on disk alone, so it is the same after an interruption.  Only engaged and passive rows count
(a passive wire gives a moment of zero); how many others there are is always said beside.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cases.study.names import REMARK, STATUS, Varied, input_columns, output_columns
from cases.study.quantities import Cell
from cases.study.sampling import INDICES
from cases.study.solve import GOOD
from cases.study.studyfile import Study

Array = NDArray[np.float64]

PERCENTILES = (5.0, 50.0, 95.0)


@dataclass(frozen=True, slots=True)
class Rows:
    """The table of rows, read back."""

    inputs: tuple[tuple[Cell, ...], ...]
    status: tuple[str, ...]
    outputs: Array
    """(rows, outputs); not a number where there is none."""
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Spread:
    """One output over the counted rows of one point."""

    count: int
    mean: float
    deviation: float | None
    """Standard deviation of the sample (n - 1); None of a single row."""
    percentiles: tuple[float, float, float]
    """5, 50, 95."""
    least: float
    most: float
    ranks: dict[str, float]
    """Spearman's rank correlation with every sampled key that has numbers; none where one of the two stands still."""
    first: dict[str, float]
    """First Sobol index of every sampled key; empty where the sample has no such arrangement, or a row is missing."""
    total: dict[str, float]


@dataclass(frozen=True, slots=True)
class Point:
    """One point of the grid with its sample; a study without a sample is one point."""

    grid: tuple[Cell, ...]
    rows: range
    """Which of all rows are its own, from 0; of led appliances every so manieth."""
    statuses: dict[str, int]
    outputs: tuple[Spread | None, ...]
    """In the order of ``Base.outputs``; None where no counted row has it."""


@dataclass(frozen=True, slots=True)
class Summary:
    """Everything that the rows say together."""

    study: Study
    rows: Rows
    points: tuple[Point, ...]
    answer: int
    """Which output the figures show."""

    @property
    def statuses(self) -> dict[str, int]:
        """How many rows have each status."""
        return counted(self.rows.status)

    @property
    def column(self) -> str:
        """The column of the answer."""
        return output_columns(self.study.base)[self.answer]

    @property
    def telling(self) -> Point:
        """The point at which the answer spreads most."""
        return max(self.points, key=lambda point: _width(point.outputs[self.answer]))


def read_rows(path: Path, study: Study) -> Rows:
    """The rows of ``study`` as they stand in its table."""
    names = [*input_columns(study.base, study.varied), *output_columns(study.base)]
    width = len(study.varied)
    inputs, status, remarks = [], [], []
    outputs = np.full((study.rows, len(names) - width), np.nan)
    with path.open(encoding="utf-8", newline="") as file:
        for number, row in enumerate(csv.DictReader(file)):
            cells = zip(study.varied, (row[name] for name in names[:width]), strict=True)
            inputs.append(tuple(_cell(one, text) for one, text in cells))
            status.append(row[STATUS])
            outputs[number] = [float(row[name] or "nan") for name in names[width:]]
            remarks.append(row[REMARK])
    return Rows(tuple(inputs), tuple(status), outputs, tuple(remarks))


def summarise(study: Study, rows: Rows) -> Summary:
    """The summary of all rows of ``study``."""
    points = tuple(_point(study, rows, span) for span in _spans(study, len(rows.status)))
    names = output_columns(study.base)
    if study.answer is not None:
        answer = names.index(study.answer)
    else:
        # of a bracket's moments about its own axes the one that spreads most, of plays likewise
        own = [
            k
            for k, (_, what) in enumerate(study.base.outputs)
            if what.endswith(("first_nmm", "second_nmm", "third_nmm"))
        ]
        choose = own or list(range(len(names)))
        answer = max(choose, key=lambda k: max(_width(point.outputs[k]) for point in points))
    return Summary(study, rows, points, answer)


def counted(statuses: Sequence[str]) -> dict[str, int]:
    """How many of each, the most frequent first."""
    found = dict.fromkeys(statuses, 0)
    for status in statuses:
        found[status] += 1
    return dict(sorted(found.items(), key=lambda pair: (-pair[1], pair[0])))


def ranks(inputs: Array, output: Array) -> float | None:
    """Spearman's rank correlation of two columns (n,); None where one of them stands still."""
    from scipy.stats import rankdata

    a, b = rankdata(inputs), rankdata(output)
    if np.ptp(a) == 0.0 or np.ptp(b) == 0.0:
        return None
    return float(np.clip(np.corrcoef(a, b)[0, 1], -1.0, 1.0))


def sobol(outputs: Array, keys: int) -> tuple[Array, Array] | None:
    """First and total indices (keys,) of an output over a sample in Saltelli's arrangement (see sampling.unit_sample).

    None where a value is missing, or none differs.  By scipy.stats.sobol_indices.
    """
    from scipy.stats import sobol_indices

    if not np.isfinite(outputs).all() or np.ptp(outputs) == 0.0:
        return None
    # twice the same, since of one output and one key alone scipy 1.17 loses the axes
    parts = np.repeat(outputs.reshape(keys + 2, 1, -1), 2, axis=1)
    found = sobol_indices(func={"f_A": parts[0], "f_B": parts[1], "f_AB": parts[2:]}, n=parts.shape[-1])
    first, total = (np.reshape(part, (2, -1))[0] for part in (found.first_order, found.total_order))
    return first, total


def summary_json(summary: Summary) -> dict[str, object]:
    """The summary as ``summary.json`` has it."""
    study = summary.study
    columns = output_columns(study.base)
    return {
        "title": study.title,
        "case": study.base.path.name,
        "design": study.design,
        "count": study.count if study.design else None,
        "seed": study.seed if study.design else None,
        "rows": len(summary.rows.status),
        "statuses": summary.statuses,
        "counted_statuses": list(GOOD),
        "answer": summary.column,
        "inputs": dict(
            zip(input_columns(study.base, study.varied), (one.name for one in study.varied), strict=True)
        ),
        "points": [
            {
                "grid": {
                    one.name: _with_unit(one, value)
                    for one, value in zip(study.grid, point.grid, strict=True)
                }
                if study.design is not None
                else {},
                "rows": [point.rows[0] + 1, point.rows[-1] + 1],
                "row_step": point.rows.step,
                "statuses": point.statuses,
                "outputs": {
                    name: _spread_json(spread, study.design is not None)
                    for name, spread in zip(columns, point.outputs, strict=True)
                    if spread is not None
                },
            }
            for point in summary.points
        ],
    }


def _spread_json(spread: Spread, drawn: bool) -> dict[str, object]:
    ends: dict[str, object] = {"count": spread.count, "least": spread.least, "most": spread.most}
    if not drawn:
        return ends
    p5, p50, p95 = spread.percentiles
    return {
        "count": spread.count, "mean": spread.mean, "standard_deviation": spread.deviation,
        "percentile_5": p5, "percentile_50": p50, "percentile_95": p95, **ends,
        "spearman": spread.ranks, "sobol_first": spread.first, "sobol_total": spread.total,
    }  # fmt: skip


def _with_unit(one: Varied, value: Cell) -> Cell:
    return one.unit.written(value)


def _cell(one: Varied, text: str) -> Cell:
    """A value of a table as it was written."""
    values = one.values if one.distribution is None else one.distribution.values
    if one.numeric:
        return int(text) if values and all(isinstance(value, int) for value in values) else float(text)
    return text


def _spans(study: Study, rows: int) -> list[range]:
    """The rows of every point of the grid; of a study without a sample all rows are one point's."""
    if study.design is None:
        return [range(rows)]
    points = math.prod(len(one.values) for one in study.grid)
    led = study.base.each
    block = rows // points * led
    return [range(start + k, start + block, led) for start in range(0, rows, block) for k in range(led)]


def _width(spread: Spread | None) -> float:
    """How far an output spreads: from the 5th to the 95th percentile."""
    return -1.0 if spread is None else spread.percentiles[2] - spread.percentiles[0]


def _point(study: Study, rows: Rows, span: range) -> Point:
    grid = rows.inputs[span.start][: len(study.grid)] if study.design is not None else ()
    own = slice(span.start, span.stop, span.step)
    statuses = rows.status[own]
    good = np.array([status in GOOD for status in statuses])
    outputs = rows.outputs[own]
    keys = {}
    if study.design is not None:
        for k, one in enumerate(study.varied):
            if one.distribution is not None and one.numeric:
                keys[one.name] = np.array([row[k] for row in rows.inputs[own]], dtype=np.float64)
    names = [one.name for one in study.sampled]
    spreads = tuple(
        _spread(outputs[:, k], good, keys, names if study.design == INDICES else None)
        for k in range(outputs.shape[1])
    )
    return Point(grid, span, counted(statuses), spreads)


def _spread(
    column: Array, good: NDArray[np.bool_], keys: dict[str, Array], names: list[str] | None
) -> Spread | None:
    there = good & np.isfinite(column)
    values = column[there]
    if not values.size:
        return None
    found = {name: ranks(key[there], values) for name, key in keys.items()}
    indices = sobol(column, len(names)) if names and there.all() else None
    first, total = ({}, {}) if indices is None or names is None else (
        dict(zip(names, map(float, part), strict=True)) for part in indices
    )  # fmt: skip
    p5, p50, p95 = (float(value) for value in np.percentile(values, PERCENTILES))
    return Spread(
        count=int(values.size),
        mean=float(values.mean()),
        deviation=float(values.std(ddof=1)) if values.size > 1 else None,
        percentiles=(p5, p50, p95),
        least=float(values.min()),
        most=float(values.max()),
        ranks={name: value for name, value in found.items() if value is not None},
        first=first,
        total=total,
    )
