"""The alloys that a case may name, with where their values come from (``cases/library/materials.toml``)."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType

from cases import units
from cases.schema import MaterialSpec

LIBRARY = Path(__file__).parent / "library" / "materials.toml"


@dataclass(frozen=True, slots=True)
class Value:
    """One material constant: the value used, the range seen, and the source of both (MPa, or pure)."""

    value: float
    low: float
    high: float
    source: str

    def words(self, unit: str) -> str:
        """Value, range and source in one phrase."""
        value = f"{self.value:g} {unit}".strip()
        return f"{value} (range {self.low:g} to {self.high:g}): {self.source}"


@dataclass(frozen=True, slots=True)
class Alloy:
    """One alloy of the library."""

    name: str
    youngs_modulus: Value
    poisson: Value
    yield_stress: Value

    def spec(self) -> MaterialSpec:
        """The alloy as a case uses it."""
        source = (
            f"E {self.youngs_modulus.words('MPa')}. Poisson's ratio {self.poisson.words('')}. "
            f"Yield stress {self.yield_stress.words('MPa')}."
        )
        return MaterialSpec(
            self.name, self.youngs_modulus.value, self.poisson.value, self.yield_stress.value, source
        )


@cache
def library() -> Mapping[str, Alloy]:
    """All linear elastic alloys by name."""
    data = tomllib.loads(LIBRARY.read_text(encoding="utf-8"))
    alloys = {}
    for name, table in data.items():
        if table.get("law") == "superelastic":
            continue  # no linear law: `cases.bench_tests.alloys` reads it
        modulus, strength = ({k: units.parse(table[key][k], "stress") for k in ("value", "low", "high")}
                             for key in ("youngs_modulus", "yield_stress"))  # fmt: skip
        alloys[name] = Alloy(
            name=name,
            youngs_modulus=Value(**modulus, source=table["youngs_modulus"]["source"]),
            poisson=Value(**table["poisson"]),
            yield_stress=Value(**strength, source=table["yield_stress"]["source"]),
        )
    return MappingProxyType(alloys)
