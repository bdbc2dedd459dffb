"""What must fit between an alloy and the rest of a case: temperatures, and bends that it does not take cold."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from cases.read_wire import ReadWire
from cases.reader import Table
from cases.schema import AnalysisSpec, MaterialSpec, StageSpec
from cases.toml_lines import Key
from geometry.section import Section
from geometry.wire_shapes import PassiveShape

if TYPE_CHECKING:
    from fem.fibre_material import Superelastic

COLDEST, HOTTEST = -5.0, 70.0
"""degC: what wires in mouths and on benches meet, from ice to hot drinks, with room (common practice, no source)."""


def check_alloy(
    top: Table, wire: ReadWire, analysis: AnalysisSpec, stages: Sequence[StageSpec | None]
) -> None:
    """Write down temperatures that the alloy's law does not reach or heed, and bends too sharp for it."""
    if wire.material is None:
        return
    given: list[tuple[Key, float]] = []
    if _has(top, "analysis"):
        given.append((("analysis",), analysis.temperature))
    tables = top.data.get("stage")
    if isinstance(tables, list) and len(tables) == len(stages):
        given += [
            (("stage", k), stage.temperature)
            for k, stage in enumerate(stages)
            if stage is not None and stage.temperature is not None
        ]
    if not given:
        given.append(((), analysis.temperature))
    for key, warm in given:
        _check_temperature(top, key, warm, wire.material)
    law = remembering(wire.material)
    if law is not None and wire.passive_shape is not None and wire.section is not None:
        _check_bends(wire.table, law, wire.passive_shape, wire.section)


def _has(top: Table, name: str) -> bool:
    table = top.data.get(name)
    return isinstance(table, dict) and "temperature" in table


def _check_temperature(top: Table, key: Key, warm: float, material: MaterialSpec) -> None:
    """``key``: the table whose ``temperature`` is looked at; empty for the usual one, which nobody wrote."""
    place = (*key, "temperature") if key else ("wire", "material")
    law = remembering(material)
    if law is None:
        if key:
            top.findings.warning(
                place, f"{material.name} with a law that is {material.law_name} does not heed the temperature",
                "leave it out, or take a superelastic alloy",
            )  # fmt: skip
        return
    try:
        law.shift(warm)
    except ValueError as error:
        remedy = 'write temperature = "37 degC" under [analysis], or constants of a warmer alloy'
        top.findings.problem(place, str(error), remedy)
        return
    if not COLDEST <= warm <= HOTTEST:
        usual = f"usual is {COLDEST:g} to {HOTTEST:g} degC: check the unit"
        top.findings.warning(place, f"{warm:g} degC is far from what a wire meets", usual)


def remembering(material: MaterialSpec) -> Superelastic | None:
    """The law of a superelastic alloy; None of others."""
    if material.law_name != "superelastic":
        return None
    from fem.fibre_material import Superelastic

    assert isinstance(material.law, Superelastic)
    return material.law


def recovered_strain(law: Superelastic) -> float:
    """Axial strain to the end of the loading plateau: all of it comes back when the wire is let go."""
    return law.transformation_strain + law.loading_finish / law.martensite_modulus


def _check_bends(wire: Table, law: Superelastic, shape: PassiveShape, section: Section) -> None:
    """A doubt where the passive shape, bent cold, would strain the outermost fibre beyond what comes back."""
    bent = np.array([piece.curvature[1:] for piece in shape.pieces])
    strains = section.reach(np.column_stack((-bent[:, 1], bent[:, 0])))
    most = recovered_strain(law)
    sharp = int((strains > most).sum())
    if not sharp:
        return
    worst, curvature = float(strains.max()), float(np.hypot(*bent[int(strains.argmax())]))
    bends = "a bend" if sharp == 1 else f"{sharp} bends"
    wire.warning(
        "passive_shape",
        f"{bends} too sharp for a cold superelastic wire: at a radius of {1.0 / curvature:.3g} mm the outermost fibre "
        f"is strained by {100.0 * worst:.3g} %, of which {100.0 * most:.3g} % come back; bent cold it springs back in "
        "part, loses its superelasticity there or breaks (common practice, no source)",
        f'draw radii of "{worst / curvature / most:.2g} mm" or more, or take the shape as set by heat treatment',
    )
