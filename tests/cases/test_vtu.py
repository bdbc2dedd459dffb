"""The wire's mesh file, read back by the general-purpose library that wrote it and by another one."""

from __future__ import annotations

from pathlib import Path

import meshio
import numpy as np
import pyvista as pv

from cases.results import RunResult
from cases.vtu import write_wire_vtu


def test_the_wire_comes_back_as_it_was(result: RunResult, tmp_path: Path) -> None:
    wire, path = result.wire, tmp_path / "wire.vtu"
    write_wire_vtu([wire], path)
    back = meshio.read(path)
    np.testing.assert_array_equal(back.points, wire.positions_mm)
    np.testing.assert_array_equal(back.point_data["bending_stress_mpa"], wire.bending_stress_mpa)
    np.testing.assert_array_equal(back.point_data["moment_nmm"], wire.moment_nmm)
    other = pv.read(path)
    assert other.n_cells == wire.positions_mm.shape[0] - 1
    np.testing.assert_allclose(other.point_data["arc_length_mm"], wire.arc_length_mm, rtol=1e-15)
