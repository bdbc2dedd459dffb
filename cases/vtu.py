"""The engaged wire as a line mesh for general post-processors, written by meshio."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from cases.results import WireResult

Array = NDArray[np.float64]


def write_wire_vtu(wires: Sequence[WireResult], path: Path) -> None:
    """Nodes joined by lines, with stresses and section resultants at the nodes; units in the names of the fields.
    ``wire`` counts the wires from 1, where there are several."""
    import meshio

    lines, points, fields, first = [], [], [], 0
    for number, wire in enumerate(wires, start=1):
        count = wire.positions_mm.shape[0]
        lines.append(first + np.column_stack((np.arange(count - 1), np.arange(1, count))))
        points.append(np.asarray(wire.positions_mm))
        fields.append(_fields(wire) | ({"wire": np.full(count, number)} if len(wires) > 1 else {}))
        first += count
    data = {name: np.concatenate([one[name] for one in fields]) for name in fields[0]}
    plain = {name: np.ascontiguousarray(values, dtype=np.float64) for name, values in data.items()}
    meshio.Mesh(np.concatenate(points), [("line", np.concatenate(lines))], point_data=plain).write(
        path, file_format="vtu"
    )


def _fields(wire: WireResult) -> dict[str, Array]:
    return {
        "arc_length_mm": wire.arc_length_mm,
        "bending_stress_mpa": wire.bending_stress_mpa,
        "shear_stress_mpa": wire.shear_stress_mpa,
        "force_n": wire.force_n,
        "moment_nmm": wire.moment_nmm,
        "tangent": wire.axes[:, :, 0],
        "height_axis": wire.axes[:, :, 1],
        "depth_axis": wire.axes[:, :, 2],
        "passive_position_mm": wire.passive_positions_mm,
    }
