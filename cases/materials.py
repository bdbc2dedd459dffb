"""The alloys that a case or a bench test may name, with where their values come from: ``cases/library/materials.toml``.

One table for every law.  The linear elastic constants of an alloy are those of its elastoplastic law without hardening;
an alloy that transforms has no linear law.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

from cases import units
from cases.schema import Constant, ConstantKind, MaterialSpec
from fem.material import LinearElastic

if TYPE_CHECKING:
    from fem.fibre_material import Elastoplastic, Superelastic

LIBRARY = Path(__file__).parent / "library" / "materials.toml"

Law = Literal["elastic", "elastoplastic", "superelastic"]
LAWS: tuple[Law, ...] = ("elastic", "elastoplastic", "superelastic")
CONSTANTS: Mapping[Law, Mapping[str, ConstantKind]] = {
    "elastic": {"youngs_modulus": "stress", "poisson": "pure", "yield_stress": "stress"},
    "elastoplastic": {
        "youngs_modulus": "stress",
        "poisson": "pure",
        "yield_stress": "stress",
        "isotropic_hardening": "stress",
        "kinematic_hardening": "stress",
    },
    "superelastic": {
        "austenite_modulus": "stress",
        "martensite_modulus": "stress",
        "poisson": "pure",
        "transformation_strain": "share",
        "loading_start": "stress",
        "loading_finish": "stress",
        "unloading_start": "stress",
        "unloading_finish": "stress",
        "compression_ratio": "pure",
        "clausius_clapeyron": "stress per degree",
        "reference_temperature": "temperature",
    },
}
"""The constants of every law by their key here and in `fem.fibre_material`, and what kind each is."""
WORDS: Mapping[str, str] = {
    "youngs_modulus": "Young's modulus",
    "austenite_modulus": "Young's modulus of austenite",
    "martensite_modulus": "Young's modulus of martensite",
    "poisson": "Poisson's ratio",
    "yield_stress": "the yield stress",
    "isotropic_hardening": "the isotropic hardening modulus",
    "kinematic_hardening": "the kinematic hardening modulus",
    "transformation_strain": "the transformation strain",
    "loading_start": "the start of the loading plateau",
    "loading_finish": "the finish of the loading plateau",
    "unloading_start": "the start of the unloading plateau",
    "unloading_finish": "the finish of the unloading plateau",
    "compression_ratio": "the plateau stress in compression over the one in tension",
    "clausius_clapeyron": "the growth of the plateaus with temperature",
    "reference_temperature": "the reference temperature",
}
"""What each is called, in the same words as the checks of `fem.fibre_material`."""
_UNIT = {"stress": "MPa", "share": "%", "stress per degree": "MPa/K", "temperature": "degC", "pure": ""}
_SHORTER = 1e4
"""MPa from which a stress is written in GPa."""


def law_named(name: str) -> Law:
    """The law of this name; raises ValueError where there is none."""
    for law in LAWS:
        if law == name:
            return law
    raise ValueError(f"no such law: {name!r}; there are {', '.join(LAWS)}")


@dataclass(frozen=True, slots=True)
class Alloy:
    """One alloy of the library."""

    name: str
    law: Law
    """The law that a case gets which names no other."""
    constants: tuple[Constant, ...]

    @property
    def youngs_modulus(self) -> Constant:
        """Of austenite where it transforms."""
        return self.constants[0]

    def laws(self) -> tuple[Law, ...]:
        """The laws whose constants it has."""
        return ("superelastic",) if self.law == "superelastic" else ("elastic", "elastoplastic")

    def of_law(self, law: Law) -> tuple[Constant, ...]:
        """Its constants that belong to a law."""
        return tuple(one for one in self.constants if one.key in CONSTANTS[law])

    def spec(self, law: Law | None = None) -> MaterialSpec:
        """The alloy as a case uses it."""
        law = law or self.law
        return material_of(self.name, law, self.of_law(law))


@cache
def library() -> Mapping[str, Alloy]:
    """All alloys by name."""
    data = tomllib.loads(LIBRARY.read_text(encoding="utf-8"))
    alloys = {}
    for name, table in data.items():
        law: Law = "superelastic" if table.get("law") == "superelastic" else "elastic"
        keys = CONSTANTS["elastoplastic" if law == "elastic" else law]
        alloys[name] = Alloy(name, law, tuple(_constant(key, kind, table[key]) for key, kind in keys.items()))
    return MappingProxyType(alloys)


def linear_alloys() -> tuple[str, ...]:
    """Names of the alloys that have a linear elastic law."""
    return tuple(name for name, alloy in library().items() if "elastic" in alloy.laws())


def _constant(key: str, kind: ConstantKind, table: Mapping[str, object]) -> Constant:
    value, low, high = (number_of(table[part], kind) for part in ("value", "low", "high"))
    return Constant(key, value, low, high, str(table["source"]), kind)


def given_constant(key: str, value: float, kind: ConstantKind, source: str) -> Constant:
    """A constant that a user gives: no range is known of it."""
    return Constant(key, value, value, value, source, kind)


def number_of(words: object, kind: ConstantKind) -> float:
    """A constant as it is written, in the inside's unit.  Raises units.BadQuantity."""
    if kind != "pure":
        return units.parse(words, kind)
    try:
        number = float(str(words))
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise units.BadQuantity(f'expected a pure number, got "{words}"', 'write it like "0.3"')
    return number


def written(number: float, kind: ConstantKind) -> str:
    """A constant as a person would write it: "180 GPa", "6 %", "0.3"."""
    if kind == "stress" and abs(number) >= _SHORTER:
        return f"{number / 1e3:.10g} GPa"
    return f"{100.0 * number if kind == 'share' else number:.10g} {_UNIT[kind]}".rstrip()


def material_of(
    name: str, law: Law, constants: Sequence[Constant], source: str | None = None
) -> MaterialSpec:
    """The material with these constants of a law.  Raises ValueError where no material has them."""
    values = {one.key: one.value for one in constants}
    made = _law(name, law, values)
    modulus = values["austenite_modulus" if law == "superelastic" else "youngs_modulus"]
    return MaterialSpec(
        name,
        modulus,
        values["poisson"],
        values.get("yield_stress"),
        source or " ".join(f"{sentence(one)}." for one in constants),
        made,
        tuple(constants),
    )


def _law(name: str, law: Law, values: dict[str, float]) -> Elastoplastic | Superelastic | None:
    if law == "elastic":
        LinearElastic(name, values["youngs_modulus"], values["poisson"], values.get("yield_stress"))
        return None
    from fem import fibre_material  # loads compiled code

    return (
        fibre_material.Elastoplastic(name, **values)
        if law == "elastoplastic"
        else fibre_material.Superelastic(name, **values)
    )


def sentence(one: Constant) -> str:
    """A constant in words: value, range and source."""
    words = WORDS[one.key]
    known = (
        ""
        if one.low == one.high
        else f" (range {written(one.low, one.kind)} to {written(one.high, one.kind)})"
    )
    return f"{words[0].upper()}{words[1:]} {written(one.value, one.kind)}{known}: {one.source}"


def changed(constants: Sequence[Constant], new: Sequence[Constant]) -> tuple[Constant, ...]:
    """Constants with those of ``new`` in their places."""
    by_key = {one.key: one for one in new}
    return tuple(by_key.get(one.key, one) for one in constants)
