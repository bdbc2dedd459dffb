"""The tables of a run, one for each CSV file: columns with their units, and rows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cases.results import ORDERS, BenchResult, RunResult, WireResult

Array = NDArray[np.float64]
Cell = float | str


def path_table(result: RunResult) -> tuple[list[str], list[list[Cell]]]:
    """Columns and rows of the path: one row an increment."""
    names = [item.name for item in result.attachments]
    columns = ["stage", "activation", "iterations", "residual_n", "lost_nmm"]
    for name in names:
        columns += [f"{name} force_{axis}_n" for axis in "xyz"] + [
            f"{name} moment_{axis}_nmm" for axis in "xyz"
        ]
        columns += [f"{name} {order}_order_moment_nmm" for order in ORDERS]
    rows = []
    for item in result.increments:
        row: list[Cell] = [item.stage, item.activation, item.iterations, item.residual_n, item.lost_nmm]
        by_name = {one.name: one for one in item.attachments}
        for name in names:
            one = by_name[name]
            row += [*one.force_n, *one.moment_nmm, *one.orders_moment_nmm]
        rows.append(row)
    return columns, rows


def bench_table(bench: BenchResult) -> tuple[list[str], list[list[Cell]]]:
    """Columns and rows of a bench test: one row a reading, then the measured curve, of which only the load is known."""
    travel, load = travel_and_load(bench)
    loads = [f"force_{axis}_n" for axis in "xyz"] + [f"moment_{axis}_nmm" for axis in "xyz"]
    rows: list[list[Cell]] = [
        [one.stage, one.travel, one.load, *one.force_n, *one.moment_nmm] for one in bench.readings
    ]
    measured = zip(bench.measured_travel, bench.measured_load, strict=True)
    rows += [["measured", *pair, *[""] * len(loads)] for pair in measured]
    return ["stage", travel, load, *loads], rows


def wire_table(wires: Sequence[WireResult]) -> tuple[list[str], list[list[Cell]]]:
    """Columns and rows of the engaged wires: one row a node; forces and moments in the section's own axes.  Where there
    are several wires the last column counts them from 1."""
    columns = ["arc_length_mm", "x_mm", "y_mm", "z_mm", "passive_x_mm", "passive_y_mm", "passive_z_mm"]
    columns += [f"{axis}_{part}" for axis in ("tangent", "height_axis", "depth_axis") for part in "xyz"]
    columns += [
        "bending_stress_mpa",
        "shear_stress_mpa",
        "axial_force_n",
        "force_along_height_n",
        "force_along_depth_n",
    ]
    columns += ["torsion_moment_nmm", "moment_about_height_nmm", "moment_about_depth_nmm"]
    tables = [_rows(wire) for wire in wires]
    if len(wires) > 1:
        columns.append("wire")
        tables = [
            np.column_stack((rows, np.full(len(rows), number))) for number, rows in enumerate(tables, start=1)
        ]
    return columns, np.concatenate(tables).tolist()


def _rows(wire: WireResult) -> Array:
    count = len(wire.arc_length_mm)
    return np.column_stack(
        (
            wire.arc_length_mm,
            wire.positions_mm,
            wire.passive_positions_mm,
            # the axes are columns: their components side by side
            np.swapaxes(wire.axes, 1, 2).reshape(count, 9),
            wire.bending_stress_mpa,
            wire.shear_stress_mpa,
            wire.force_n,
            wire.moment_nmm,
        )
    )


def travel_and_load(bench: BenchResult) -> tuple[str, str]:
    """Their keys and columns, with their units."""
    return ("travel_deg", "load_nmm") if bench.turns else ("travel_mm", "load_n")
