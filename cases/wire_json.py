"""Wires, their joints and the teeth that they share, as plain JSON values and as rows; keys carry their unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cases.results import JointResult, SharedTooth, WireResult
from cases.tooth_json import tooth_json

Array = NDArray[np.float64]
Cell = float | str


def wire_json(wire: WireResult) -> dict[str, Any]:
    """One wire of result.json, but for its nodes."""
    return {
        "name": wire.name,
        "section": wire.section.label,
        "length_mm": float(wire.arc_length_mm[-1] - wire.arc_length_mm[0]),
        "largest_stress_mpa": wire.largest_stress_mpa,
        "yield_share": wire.yield_share,
    }


def joint_json(joint: JointResult) -> dict[str, Any]:
    """One of ``joints`` of result.json."""
    return {
        "name": joint.name,
        "kind": joint.kind,
        "wire": joint.wire,
        "at_mm": joint.at_mm,
        "to": joint.to,
        "to_at_mm": joint.to_at_mm,
        "place_mm": joint.place_mm,
        "force_n": joint.force_n,
        "words": joint.words,
    }


def shared_tooth_json(one: SharedTooth) -> dict[str, Any]:
    """One of ``teeth`` of result.json."""
    return {
        "tooth": one.tooth,
        "attachments": one.attachments,
        "force_n": one.force_n,
        "moment_at_centre_of_resistance_nmm": one.moment_at_centre_of_resistance_nmm,
        "at_centre_of_resistance": tooth_json(one.at_centre_of_resistance),
    }


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
