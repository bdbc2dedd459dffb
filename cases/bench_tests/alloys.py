"""Alloys with all their constants, as fibres need them: from the library, some of them changed by the user."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cases import units
from cases.materials import LIBRARY
from cases.reader import Findings, Table, nearest
from fem.fibre_material import Elastoplastic, Superelastic

PER_DEGREE = "/K"
"""Ends a stress that comes with each degree."""
PURE, STRESS_PER_DEGREE = "pure", "stress per degree"
ELASTOPLASTIC_KEYS = {
    "youngs_modulus": "stress",
    "poisson": PURE,
    "yield_stress": "stress",
    "isotropic_hardening": "stress",
    "kinematic_hardening": "stress",
}
SUPERELASTIC_KEYS = {
    "austenite_modulus": "stress",
    "martensite_modulus": "stress",
    "poisson": PURE,
    "transformation_strain": "share",
    "loading_start": "stress",
    "loading_finish": "stress",
    "unloading_start": "stress",
    "unloading_finish": "stress",
    "compression_ratio": PURE,
    "clausius_clapeyron": STRESS_PER_DEGREE,
    "reference_temperature": "temperature",
}
"""Constants by their key in the library and in `fem.fibre_material`, and what kind each is."""
GIVEN = "given on the command line"


@dataclass(frozen=True, slots=True)
class Constant:
    """One constant of an alloy as it is written, with the range seen and the source of both."""

    value: str
    low: str
    high: str
    source: str


@dataclass(frozen=True, slots=True)
class AlloyLaw:
    """An alloy that yields or transforms."""

    material: Elastoplastic | Superelastic
    constants: Mapping[str, Constant]


def tables() -> dict[str, dict[str, Any]]:
    """The library's tables by alloy."""
    return tomllib.loads(LIBRARY.read_text(encoding="utf-8"))


def keys_of(table: Mapping[str, Any]) -> Mapping[str, str]:
    """Keys of the constants that an alloy's law has."""
    return SUPERELASTIC_KEYS if table.get("law") == "superelastic" else ELASTOPLASTIC_KEYS


def value_of(words: object, kind: str) -> float:
    """A constant in the inside's unit.  Raises units.BadQuantity."""
    if kind == STRESS_PER_DEGREE:
        text = str(words).strip()
        if not text.endswith(PER_DEGREE):
            raise units.BadQuantity(
                f'expected a stress per degree, got "{text}"', 'write it like "6.5 MPa/K"'
            )
        return units.parse(text.removesuffix(PER_DEGREE), "stress")
    if kind == PURE:
        try:
            return float(str(words))
        except ValueError:
            raise units.BadQuantity(f'expected a pure number, got "{words}"', 'write it like "0.3"') from None
    return units.parse(words, kind)  # type: ignore[arg-type]


def alloy_law(name: str, changed: Mapping[str, str], findings: Findings) -> AlloyLaw | None:
    """The alloy of this name with some constants ``changed``; None with problems written down."""
    read = Table(findings, (), {"--material": name, "--set": changed})
    known = tables()
    if name not in known:
        near = nearest(name, list(known))
        remedy = f'did you mean "{near}"?' if near else f"alloys known: {', '.join(known)}"
        read.problem("--material", f'no such alloy: "{name}"', remedy)
        return None
    kinds = keys_of(known[name])
    constants = {
        key: Constant(**{part: str(words) for part, words in known[name][key].items()}) for key in kinds
    }
    sound = True
    for key, words in changed.items():
        if key not in kinds:
            near = nearest(key, list(kinds))
            remedy = f'did you mean "{near}"?' if near else f"constants of this alloy: {', '.join(kinds)}"
            read.problem("--set", f'no such constant of {name}: "{key}"', remedy)
            sound = False
            continue
        constants[key] = Constant(words, words, words, GIVEN)
    values = {}
    for key, kind in kinds.items():
        try:
            values[key] = value_of(constants[key].value, kind)
        except units.BadQuantity as bad:
            read.problem("--set", f"{key}: {bad.message}", bad.remedy)
            sound = False
    if not sound:
        return None
    made = Superelastic if kinds is SUPERELASTIC_KEYS else Elastoplastic
    try:
        return AlloyLaw(made(name, **values), constants)
    except ValueError as error:
        read.problem("--set", str(error), "change the constants that are given")
        return None
