"""The engaged wire as a line mesh for general post-processors, written by meshio."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from cases.results import WireResult


def write_wire_vtu(wire: WireResult, path: Path) -> None:
    """Nodes joined by lines, with stresses and section resultants at the nodes; units in the names of the fields."""
    import meshio

    count = wire.positions_mm.shape[0]
    lines = np.column_stack((np.arange(count - 1), np.arange(1, count)))
    data = {
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
    plain = {name: np.ascontiguousarray(values, dtype=np.float64) for name, values in data.items()}
    meshio.Mesh(np.asarray(wire.positions_mm), [("line", lines)], point_data=plain).write(
        path, file_format="vtu"
    )
