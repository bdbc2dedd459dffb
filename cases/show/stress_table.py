"""The numbers behind the figure of the stress along the wire."""

from __future__ import annotations

from cases.results import WireResult
from cases.show.tables import Table


def stress_table(wire: WireResult) -> Table:
    """One row a node: place along the wire, largest bending and axial stress, largest shear from torsion."""
    columns = ("arc_length_mm", "bending_stress_mpa", "shear_stress_mpa")
    values = zip(wire.arc_length_mm, wire.bending_stress_mpa, wire.shear_stress_mpa, strict=True)
    return Table(columns, tuple((float(s), float(bending), float(shear)) for s, bending, shear in values))
