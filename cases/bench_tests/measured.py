"""A measured curve of three-point bending, and which constants of the alloy are to be found from it."""

from __future__ import annotations

from dataclasses import dataclass, fields
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cases.bench_tests.alloys import AlloyLaw
from cases.data_files import DataFiles
from cases.read_csv import Columns, read_csv
from cases.reader import Table, listing, nearest
from fem.fibre_material import Elastoplastic, Superelastic

Array = NDArray[np.float64]

COLUMNS: Columns = {"deflection": "length", "force": "force"}
HEADER = "deflection_mm,force_N"
ALL = "all"
FITTED = {
    Elastoplastic: ("youngs_modulus", "yield_stress"),
    Superelastic: (
        "austenite_modulus",
        "loading_start",
        "loading_finish",
        "unloading_start",
        "unloading_finish",
        "transformation_strain",
    ),
}
"""What ``--fit all`` finds."""
UNKNOWN_TO_BENDING = ("name", "poisson", "reference_temperature", "clausius_clapeyron")
"""Constants that one curve at one temperature says nothing of."""


@dataclass(frozen=True, slots=True)
class MeasuredCurve:
    """One way out and, if it was measured, one back, in the order of the file."""

    file: str
    sha256: str
    deflection: Array
    """(n,) mm."""
    force: Array
    """(n,) N."""

    @property
    def turn(self) -> int:
        """Row of the largest deflection: the last one on the way out."""
        return int(np.argmax(self.deflection))


def read_measured(
    read: Table, alloy: AlloyLaw | None, kind: str
) -> tuple[MeasuredCurve | None, tuple[str, ...]]:
    """The curve of ``--measured``, and the constants of ``--fit``; problems are written down."""
    name = read.text("--measured", "a CSV file", '"measured.csv"', False)
    if read.has("--fit") and name is None:
        read.problem("--fit", "there is nothing to fit to", "name a measured curve with --measured FILE.csv")
    if kind != "three-point":
        return None, ()
    curve = None if name is None else _read_curve(read, name)
    words = read.text("--fit", "constants of the alloy", '"loading_start,unloading_start"', False)
    if words is None or alloy is None:
        return curve, ()
    law = alloy.material
    known = [one.name for one in fields(law) if one.name not in UNKNOWN_TO_BENDING]
    keys = (
        FITTED[type(law)]
        if words.strip() == ALL
        else tuple(word.strip().replace("-", "_") for word in words.split(","))
    )
    for key in keys:
        if key not in known:
            near = nearest(key, known)
            remedy = f'did you mean "{near}"?' if near else f'write "{ALL}", or some of {listing(known)}'
            read.problem("--fit", f'bending finds no constant "{key}" of this alloy', remedy)
        elif getattr(law, key) == 0.0:
            read.problem("--fit", f"{key} is zero at the start", f"give a guess with --set {key}=...")
    if len(set(keys)) < len(keys):
        read.problem("--fit", "a constant is named twice", "name each once")
    if curve is not None and len(curve.force) <= len(keys):
        read.problem(
            "--fit", f"{len(curve.force)} measured points cannot say {len(keys)} constants",
            "measure more points, or fit fewer constants",
        )  # fmt: skip
    return curve, keys


def _read_curve(read: Table, name: str) -> MeasuredCurve | None:
    files = DataFiles(Path())
    text = files.text(read, "--measured", name)
    table = None if text is None else read_csv(text, name, read, "--measured", COLUMNS)
    if table is None:
        return None
    for column in COLUMNS:
        if column not in table.headers:
            table.problem(None, None, f"there is no column {column}", f"write a header like {HEADER}")
            return None
    for row in table.rows:
        for column in COLUMNS:
            if column not in row.cells:
                table.problem(row, column, "the cell is empty", "give every row both numbers")
    pairs = [(table.number(row, "deflection"), table.number(row, "force")) for row in table.rows]
    numbers = [(one, two) for one, two in pairs if one is not None and two is not None]
    if len(numbers) < len(pairs):
        return None
    deflection, force = np.array(numbers).T
    curve = MeasuredCurve(name, files.read()[0].sha256, deflection, force)
    out, back = np.diff(deflection[: curve.turn + 1]), np.diff(deflection[curve.turn :])
    wrong = np.flatnonzero(np.concatenate((out <= 0.0, back >= 0.0)))
    if wrong.size:
        what = "the deflection must grow row by row to its largest, and then fall row by row"
        table.problem(
            table.rows[int(wrong[0]) + 1], "deflection", what, "sort the rows as they were measured"
        )
    if deflection.min() < 0.0:
        table.problem(
            table.rows[int(deflection.argmin())], "deflection", "below zero", "count from where it touches"
        )
    return curve
