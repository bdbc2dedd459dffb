"""The numbers behind the figure of the stress along the wire."""

from __future__ import annotations

from cases.results import RunResult
from cases.show.tables import Table


def stress_table(result: RunResult) -> Table:
    """One row a node: the wire, the place along it, largest bending and axial stress, largest shear from torsion."""
    columns = ("wire", "arc_length_mm", "bending_stress_mpa", "shear_stress_mpa")
    return Table(
        columns,
        tuple(
            (wire.name, float(s), float(bending), float(shear))
            for wire in result.wires
            for s, bending, shear in zip(
                wire.arc_length_mm, wire.bending_stress_mpa, wire.shear_stress_mpa, strict=True
            )
        ),
    )
