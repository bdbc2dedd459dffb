"""Alloys as fibres need them: constants of the library, some of them changed on the command line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from cases import units
from cases.materials import CONSTANTS, Law, given_constant, library, material_of, number_of, written
from cases.reader import Findings, Table, nearest
from cases.schema import Constant as AlloyConstant
from fem.fibre_material import Elastoplastic, Superelastic

GIVEN = "given on the command line"


@dataclass(frozen=True, slots=True)
class Constant:
    """One constant of an alloy as it is written, with the range seen and the source of both."""

    value: str
    low: str
    high: str
    source: str

    @classmethod
    def of(cls, one: AlloyConstant) -> Constant:
        """In a person's units."""
        value, low, high = (written(number, one.kind) for number in (one.value, one.low, one.high))
        return cls(value, low, high, one.source)


@dataclass(frozen=True, slots=True)
class AlloyLaw:
    """An alloy that yields or transforms."""

    material: Elastoplastic | Superelastic
    constants: Mapping[str, Constant]


def alloy_law(name: str, changed: Mapping[str, str], findings: Findings) -> AlloyLaw | None:
    """The alloy of this name with some constants ``changed``; None with problems written down."""
    read = Table(findings, (), {"--material": name, "--set": changed})
    known = library()
    if name not in known:
        near = nearest(name, list(known))
        remedy = f'did you mean "{near}"?' if near else f"alloys known: {', '.join(known)}"
        read.problem("--material", f'no such alloy: "{name}"', remedy)
        return None
    alloy = known[name]
    law: Law = "superelastic" if alloy.law == "superelastic" else "elastoplastic"
    kinds = CONSTANTS[law]
    constants = {one.key: one for one in alloy.of_law(law)}
    sound = True
    for key, words in changed.items():
        if key not in kinds:
            near = nearest(key, list(kinds))
            remedy = f'did you mean "{near}"?' if near else f"constants of this alloy: {', '.join(kinds)}"
            read.problem("--set", f'no such constant of {name}: "{key}"', remedy)
            sound = False
            continue
        try:
            constants[key] = given_constant(key, number_of(words, kinds[key]), kinds[key], GIVEN)
        except units.BadQuantity as bad:
            read.problem("--set", f"{key}: {bad.message}", bad.remedy)
            sound = False
    if not sound:
        return None
    try:
        made = material_of(name, law, tuple(constants.values())).law
    except ValueError as error:
        read.problem("--set", str(error), "change the constants that are given")
        return None
    assert made is not None
    return AlloyLaw(made, {key: Constant.of(one) for key, one in constants.items()})
