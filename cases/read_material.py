"""The wire's ``material``: an alloy of the library, some of its constants changed, or constants of one's own."""

from __future__ import annotations

from cases.materials import (
    CONSTANTS,
    LAWS,
    WORDS,
    Alloy,
    Law,
    changed,
    given_constant,
    law_named,
    library,
    material_of,
)
from cases.reader import Sign, Table, listing, nearest, shown
from cases.schema import Constant, ConstantKind, MaterialSpec

MODULUS_RANGE = (3e3, 300e3)
YIELD_RANGE = (50.0, 4000.0)
"""MPa, of wire alloys, with room on both sides (common practice, no source)."""
EXAMPLE = '{ name = "my steel", youngs_modulus = "180 GPa", poisson = 0.3 }'
GIVEN = "given in the case file"
ALWAYS = ("alloy", "name", "law", "source", "youngs_modulus_range")
EVERY_CONSTANT = tuple(dict.fromkeys(key for constants in CONSTANTS.values() for key in constants))
NOT_NEEDED = {
    "isotropic_hardening": 0.0, "kinematic_hardening": 0.0, "compression_ratio": 1.0, "reference_temperature": 37.0,
}  # fmt: skip
"""Constants that may be left out, and what they are then."""
EXAMPLES = {"poisson": "0.3", "compression_ratio": "1.2"}
SIGNS: dict[ConstantKind, Sign] = {
    "stress": "positive", "share": "positive", "stress per degree": "not negative", "temperature": "any",
}  # fmt: skip
ORDER = (
    "in order: unloading_finish below unloading_start, which is at most loading_start, below loading_finish"
)
REMEDIES = {
    "poisson": "metals have 0.25 to 0.4",
    "martensite_modulus": "write a martensite_modulus of at most the austenite_modulus",
    "transformation_strain": 'write a strain like "6 %"',
    "compression_ratio": "write a ratio like 1.2",
    "reference_temperature": 'write a temperature like "37 degC"',
    **dict.fromkeys(("loading_start", "loading_finish", "unloading_start", "unloading_finish"), ORDER),
}
_STIFFER = "martensite must not be stiffer than austenite"


def read_material(wire: Table) -> MaterialSpec | None:
    """The material of the ``[wire]`` table; None with problems written down."""
    given = wire.data.get("material")
    if isinstance(given, dict):
        return read_own(Table(wire.findings, wire.at("material"), given))
    name = wire.text("material", "the alloy's name", '"stainless-steel"')
    alloy = None if name is None else _known(wire, "material", name)
    return None if alloy is None else alloy.spec()


def read_own(table: Table) -> MaterialSpec | None:
    """A material written as a table: with ``alloy`` it begins from the library, with ``name`` all is given."""
    before = len(table.findings.problems)
    alloy = None
    if table.has("alloy"):
        named = table.text("alloy", "the name of an alloy of the library", '"stainless-steel"')
        alloy = None if named is None else _known(table, "alloy", named)
        if alloy is None:
            return None
    law = _law(table, alloy)
    if law is None:
        return None
    kinds = CONSTANTS[law]
    _only(table, law)
    name = table.text("name", "the material's name", '"my steel"', required=alloy is None)
    source = table.text("source", "where the values come from", '"measured"', required=False) or GIVEN
    new = [_constant(table, key, kind, source, alloy is None, law) for key, kind in kinds.items()]
    given = [one for one in new if one is not None]
    _range(table, given)
    if len(table.findings.problems) > before:
        return None
    if alloy is None:
        return _made(table, name or "", law, tuple(given), source)
    return _made(table, name or alloy.name, law, changed(alloy.of_law(law), given), None)


def _law(table: Table, alloy: Alloy | None) -> Law | None:
    laws = LAWS if alloy is None else alloy.laws()
    if not table.has("law"):
        return LAWS[0] if alloy is None else alloy.law
    words = table.choice("law", "a law", LAWS)
    law = None if words is None else law_named(words)
    if law is not None and law not in laws and alloy is not None:
        remedy = f"write law = {listing([f'{chr(34)}{one}{chr(34)}' for one in laws])}"
        if law == "elastic":
            remedy += ', or { name = "...", youngs_modulus = "...", poisson = 0.33 } for small activations'
        table.problem("law", f'the library has no constants of {alloy.name} for law = "{law}"', remedy)
        return None
    return law


def _only(table: Table, law: Law) -> None:
    """Keys of other laws are told so; others have a suggestion."""
    own = (*ALWAYS, *CONSTANTS[law])
    strange = {key: value for key, value in table.data.items() if key not in own}
    for key in list(strange):
        owner = next((one for one in LAWS if key in CONSTANTS[one]), None)
        if owner is not None:
            del strange[key]
            table.problem(
                key, f'{key} belongs to law = "{owner}", this is "{law}"',
                f'leave it out, or write law = "{owner}"',
            )  # fmt: skip
    Table(table.findings, table.key, strange).only(*ALWAYS, *EVERY_CONSTANT)


def _constant(
    table: Table, key: str, kind: ConstantKind, source: str, whole: bool, law: Law
) -> Constant | None:
    """One constant that is given, or its usual value in a table that is ``whole``; None where neither is."""
    needed = whole and key not in NOT_NEEDED and (key, law) != ("yield_stress", "elastic")
    if kind == "pure":
        value = table.number(key, WORDS[key], EXAMPLES[key], needed)
    else:
        sign: Sign = "not negative" if key.endswith("hardening") else SIGNS[kind]
        value = table.quantity(key, kind, WORDS[key], sign, needed)
    if value is None:
        usual = NOT_NEEDED.get(key) if whole and not table.has(key) else None
        return None if usual is None else given_constant(key, usual, kind, "usual")
    usual_range = {"yield_stress": YIELD_RANGE}.get(key, MODULUS_RANGE if key.endswith("modulus") else None)
    if usual_range is not None and not usual_range[0] <= value <= usual_range[1]:
        remedy = f"usual is {usual_range[0]:g} to {usual_range[1]:g} MPa: check the unit"
        table.warning(key, f"{shown(table.data[key])} is far from any wire alloy", remedy)
    return given_constant(key, value, kind, source)


def _range(table: Table, given: list[Constant]) -> None:
    """Puts the range that the user knows of the modulus beside it."""
    name = "youngs_modulus_range"
    if not table.has(name):
        return
    words = table.data[name]
    remedy = f'write {name} = ["155 GPa", "207 GPa"]'
    if not isinstance(words, list) or len(words) != 2:
        table.problem(name, f"expected the least and the largest Young's modulus, got {shown(words)}", remedy)
        return
    low, high = (table.one_of(name, k, "stress", "Young's modulus", "positive") for k in range(2))
    place = next(
        (k for k, one in enumerate(given) if one.key in ("youngs_modulus", "austenite_modulus")), None
    )
    if low is None or high is None:
        return
    if place is None:
        table.problem(name, "a range belongs to a modulus that is given beside it", "add the modulus itself")
        return
    one = given[place]
    if not low <= one.value <= high:
        table.problem(name, f"the range does not hold Young's modulus itself, {one.value:g} MPa", remedy)
        return
    given[place] = Constant(one.key, one.value, low, high, one.source, one.kind)


def _made(
    table: Table, name: str, law: Law, constants: tuple[Constant, ...], source: str | None
) -> MaterialSpec | None:
    """The material; what no material has is told at the key that is most likely meant."""
    try:
        return material_of(name, law, constants, source)
    except ValueError as error:
        message = str(error)
    told = [*(one.key for one in constants if table.has(one.key)), *(one.key for one in constants)]
    key = next((key for key in told if WORDS[key] in message), "")
    if _STIFFER in message:
        key = "martensite_modulus"
    table.problem(
        key if table.has(key) else "", message, REMEDIES.get(key, "change the constants that are given")
    )
    return None


def _known(table: Table, key: str, name: str) -> Alloy | None:
    alloys = library()
    if name in alloys:
        return alloys[name]
    near = nearest(name, list(alloys))
    known = f"alloys known: {listing(list(alloys))}; or write a table {EXAMPLE}"
    table.problem(key, f'no such alloy: "{name}"', f'did you mean "{near}"? ({known})' if near else known)
    return None
