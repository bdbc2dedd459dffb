"""A case solved again at both ends of the published range of its alloy's Young's modulus.

Needed where loads are not proportional to the modulus, because something else gives way or the wire yields; where they
are, the ends are known without a solve (cases.modulus_spread).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from cases.materials import changed, law_named, material_of, written
from cases.results import ModulusEnd, RunResult
from cases.schema import Case
from cases.words import three
from fem.status import NoEquilibrium


def with_ends(case: Case, result: RunResult, solve: Callable[[Case], RunResult]) -> RunResult:
    """The result with its loads at both ends of the range; as it is where they are known, or no range is."""
    spread = result.modulus_spread
    if spread is None or spread.proportional:
        return result
    ends = tuple(_end(case, result, solve, modulus) for modulus in (spread.low_mpa, spread.high_mpa))
    sentence = f"{spread.sentence} Solved again there: {'; '.join(map(_words, ends))}."
    return replace(result, modulus_spread=replace(spread, ends=ends, sentence=sentence))


def at_modulus(case: Case, modulus: float) -> Case:
    """The case with another Young's modulus, MPa (of austenite), of all wires of the first one's alloy.

    Raises ValueError where no alloy has it."""
    material = case.wire.material
    if material.law is None:
        other = replace(material, youngs_modulus_mpa=modulus)
        more = tuple(
            replace(wire, material=other) if wire.material == material else wire for wire in case.more_wires
        )
        return replace(case, wire=replace(case.wire, material=other), more_wires=more)
    known = material.modulus
    assert known is not None
    constants = changed(material.constants, [replace(known, value=modulus)])
    other = material_of(material.name, law_named(material.law_name), constants, material.source)
    return replace(case, wire=replace(case.wire, material=other))


def _end(case: Case, result: RunResult, solve: Callable[[Case], RunResult], modulus: float) -> ModulusEnd:
    try:
        found = solve(at_modulus(case, modulus))
    except (NoEquilibrium, ValueError):
        return ModulusEnd(modulus, None, None)
    changes = []
    for of in ("force_n", "moment_nmm"):
        told, other = (
            max(float(np.linalg.norm(getattr(item, of))) for item in one.attachments)
            for one in (result, found)
        )
        changes.append(100.0 * (other / told - 1.0) if told > 0.0 else None)
    return ModulusEnd(modulus, changes[0], changes[1])


def _words(end: ModulusEnd) -> str:
    at = f"at {written(end.youngs_modulus_mpa, 'stress')}"
    parts = [
        f"the largest {what} is {three(abs(percent))} % {'lower' if percent < 0.0 else 'higher'}"
        for what, percent in (("force", end.force_percent), ("moment", end.moment_percent))
        if percent is not None
    ]
    return f"{at} {' and '.join(parts)}" if parts else f"{at} no equilibrium was found"
