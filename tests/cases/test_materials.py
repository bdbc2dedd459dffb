"""The alloy library and the ``material`` key: every law, its constants, and what no material has."""

from __future__ import annotations

import subprocess
import sys

import pytest

from cases.errors import Problem
from cases.law_words import law_words
from cases.materials import CONSTANTS, LAWS, WORDS, library, number_of, written
from cases.read_material import read_material
from cases.reader import Findings, Table
from cases.schema import AnalysisSpec, MaterialSpec
from fem.fibre_material import Elastoplastic, Superelastic

SUPERELASTIC = "superelastic-nickel-titanium"
OWN = {
    "name": "worked example", "law": "superelastic", "austenite_modulus": "60 GPa", "martensite_modulus": "60 GPa",
    "poisson": 0.33, "transformation_strain": "7 %", "loading_start": "520 MPa", "loading_finish": "600 MPa",
    "unloading_start": "300 MPa", "unloading_finish": "200 MPa", "clausius_clapeyron": "6.5 MPa/K",
}  # fmt: skip


def read(material: object) -> tuple[MaterialSpec | None, list[Problem], list[Problem]]:
    """The material with problems and warnings."""
    findings = Findings({("wire", "material"): 4})
    spec = read_material(Table(findings, ("wire",), {"material": material}))
    return spec, findings.problems, findings.warnings


def sound(material: object) -> MaterialSpec:
    """A material that must be read without a problem."""
    spec, problems, _ = read(material)
    assert spec is not None and not problems
    return spec


def test_an_alloy_by_its_name_has_its_own_law() -> None:
    steel, remembers = sound("stainless-steel"), sound(SUPERELASTIC)
    assert steel.law is None and steel.law_name == "elastic"
    assert (steel.youngs_modulus_mpa, steel.yield_mpa) == (180e3, 1600.0)
    assert isinstance(remembers.law, Superelastic) and remembers.law_name == "superelastic"
    assert remembers.youngs_modulus_mpa == remembers.law.austenite_modulus == 60e3
    assert remembers.yield_mpa is None
    assert remembers.modulus is not None and (remembers.modulus.low, remembers.modulus.high) == (55e3, 80e3)


@pytest.mark.parametrize("name", list(library()))
def test_every_constant_of_the_library_has_range_and_source(name: str) -> None:
    alloy = library()[name]
    for law in alloy.laws():
        assert tuple(one.key for one in alloy.of_law(law)) == tuple(CONSTANTS[law])
        spec = alloy.spec(law)
        for one in alloy.of_law(law):
            assert one.low <= one.value <= one.high and one.source in spec.source
            assert number_of(written(one.value, one.kind), one.kind) == pytest.approx(one.value, rel=1e-12)


def test_a_yielding_alloy_with_a_constant_changed() -> None:
    given = {
        "alloy": "beta-titanium",
        "law": "elastoplastic",
        "yield_stress": "1000 MPa",
        "isotropic_hardening": "2 GPa",
    }
    spec = sound(given)
    assert isinstance(spec.law, Elastoplastic)
    assert (spec.law.youngs_modulus, spec.law.yield_stress, spec.law.isotropic_hardening) == (
        64.8e3,
        1000.0,
        2e3,
    )
    assert spec.yield_mpa == 1000.0 and spec.name == "beta-titanium"
    assert "the yield stress 1000 MPa: given in the case file" in spec.source.replace("The", "the")
    assert "Goldberg & Burstone 1979" in spec.source
    assert spec.modulus is not None and spec.modulus.low == 62e3


def test_a_modulus_of_ones_own_has_no_range_unless_it_is_given() -> None:
    own = {"name": "mine", "youngs_modulus": "70 GPa", "poisson": 0.3}
    assert sound(own).modulus is None
    assert sound({"alloy": "beta-titanium", "youngs_modulus": "70 GPa"}).modulus is None
    known = sound({**own, "youngs_modulus_range": ["65 GPa", "75 GPa"], "source": "measured"}).modulus
    assert known is not None and (known.low, known.value, known.high) == (65e3, 70e3, 75e3)


def test_ones_own_law_in_full() -> None:
    spec = sound(OWN)
    law = spec.law
    assert isinstance(law, Superelastic)
    assert (law.loading_start, law.unloading_finish, law.compression_ratio) == (520.0, 200.0, 1.0)
    assert (law.clausius_clapeyron, law.reference_temperature, law.transformation_strain) == (6.5, 37.0, 0.07)
    assert {one.key for one in spec.constants} == set(CONSTANTS["superelastic"])
    yields = sound({"name": "mine", "law": "elastoplastic", "youngs_modulus": "180 GPa", "poisson": 0.3,
                    "yield_stress": "1500 MPa"})  # fmt: skip
    assert isinstance(yields.law, Elastoplastic) and yields.law.isotropic_hardening == 0.0


REFUSED = {
    "start above finish": (
        {**OWN, "loading_start": "650 MPa"}, "wire.material.loading_start",
        "the finish of the loading plateau must lie above the start of the loading plateau", "in order",
    ),
    "plateaus crossed": (
        {**OWN, "unloading_start": "560 MPa"}, "wire.material.loading_start", "a loop would give energy away",
        "in order",
    ),
    "unloading rises": (
        {**OWN, "unloading_finish": "310 MPa"}, "wire.material.unloading_start", "falls from start to finish",
        "in order",
    ),
    "negative modulus": (
        {**OWN, "austenite_modulus": "-60 GPa"}, "wire.material.austenite_modulus", "must be greater than zero",
        "write a value like",
    ),
    "stiffer martensite": (
        {**OWN, "martensite_modulus": "70 GPa"}, "wire.material.martensite_modulus", "must not be stiffer",
        "at most the austenite_modulus",
    ),
    "a strain of 60 %": (
        {**OWN, "transformation_strain": "60 %"}, "wire.material.transformation_strain", "at most 0.2", '"6 %"',
    ),
    "a ratio of 9": (
        {**OWN, "compression_ratio": 9}, "wire.material.compression_ratio", "from 0.2 to 5", "like 1.2",
    ),
    "no growth": (
        {key: value for key, value in OWN.items() if key != "clausius_clapeyron"},
        "wire.material.clausius_clapeyron", "is missing", '"6.5 MPa/K"',
    ),
    "growth without its unit": (
        {**OWN, "clausius_clapeyron": 6.5}, "wire.material.clausius_clapeyron", "the bare number 6.5", "MPa/K",
    ),
    "softening": (
        {"alloy": "stainless-steel", "law": "elastoplastic", "isotropic_hardening": "-1 GPa"},
        "wire.material.isotropic_hardening", "must be zero or more", "write a value like",
    ),
    "yields without a yield stress": (
        {"name": "x", "law": "elastoplastic", "youngs_modulus": "180 GPa", "poisson": 0.3},
        "wire.material.yield_stress", "the yield stress is missing", "add yield_stress",
    ),
    "Poisson's ratio": (
        {"alloy": "stainless-steel", "poisson": 0.7}, "wire.material.poisson", "between -1 and 0.5", "metals",
    ),
    "a constant of another law": (
        {"alloy": "stainless-steel", "isotropic_hardening": "1 GPa"}, "wire.material.isotropic_hardening",
        'belongs to law = "elastoplastic", this is "elastic"', "leave it out",
    ),
    "a law the library has no constants for": (
        {"alloy": SUPERELASTIC, "law": "elastic"}, "wire.material.law", "no constants of superelastic-nickel-titanium",
        'write law = "superelastic", or { name',
    ),
    "a law that there is not": (
        {"alloy": "stainless-steel", "law": "superelastc"}, "wire.material.law", "expected a law", '"superelastic"',
    ),
    "an alloy that there is not": (
        {"alloy": "stainles-steel"}, "wire.material.alloy", "no such alloy", 'did you mean "stainless-steel"?',
    ),
    "a slip": (
        {"alloy": "stainless-steel", "yeild_stress": "1 GPa"}, "wire.material.yeild_stress", "unknown key",
        '"yield_stress"',
    ),
    "a range beside its value": (
        {"name": "x", "youngs_modulus": "70 GPa", "poisson": 0.3, "youngs_modulus_range": ["71 GPa", "75 GPa"]},
        "wire.material.youngs_modulus_range", "does not hold", "write youngs_modulus_range",
    ),
    "half a range": (
        {"name": "x", "youngs_modulus": "70 GPa", "poisson": 0.3, "youngs_modulus_range": ["71 GPa"]},
        "wire.material.youngs_modulus_range", "got a list", "write youngs_modulus_range",
    ),
    "a range of nothing": (
        {"alloy": "stainless-steel", "youngs_modulus_range": ["71 GPa", "75 GPa"]},
        "wire.material.youngs_modulus_range", "belongs to a modulus", "add the modulus",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", list(REFUSED))
def test_what_no_material_has_is_refused_with_key_and_remedy(name: str) -> None:
    given, key, words, remedy = REFUSED[name]
    spec, problems, _ = read(given)
    assert spec is None and len(problems) == 1
    assert problems[0].key == key and problems[0].line == 4
    assert words in problems[0].message and remedy in problems[0].remedy


def test_all_problems_at_once() -> None:
    _, problems, _ = read(
        {"name": "x", "law": "superelastic", "austenite_modulus": "60", "loading_start": "-1 MPa"}
    )
    assert len(problems) >= 8


def test_a_modulus_far_from_any_wire_is_doubted() -> None:
    _, problems, warnings = read({"name": "x", "youngs_modulus": "180 MPa", "poisson": 0.3})
    assert not problems and "far from any wire alloy" in warnings[0].message


def test_every_constant_has_a_name_that_the_checks_use() -> None:
    """A refusal finds its key by these words."""
    for law in LAWS:
        assert set(CONSTANTS[law]) <= set(WORDS)


def test_elastic_cases_are_read_without_compiled_code() -> None:
    """`wireslot check` answers at once: numba takes longer than all the rest."""
    code = (
        "import sys; from cases.casefile import load_case, LIBRARY; load_case(LIBRARY / 'torque-test.toml'); "
        "assert 'numba' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_a_law_in_words() -> None:
    """At 36 degC plateaus lie 6.5 MPa below those at 37."""
    analysis = AnalysisSpec()
    assert law_words(sound("stainless-steel"), analysis) == (
        "stainless-steel: linear elastic, Young's modulus 180 GPa, Poisson's ratio 0.3, yield 1600 MPa"
    )
    yields = law_words(sound({"alloy": "beta-titanium", "law": "elastoplastic"}), analysis)
    assert "yields after von Mises" in yields and "yield 930 MPa, perfectly plastic" in yields
    hardens = {"alloy": "beta-titanium", "law": "elastoplastic", "isotropic_hardening": "2 GPa"}
    assert "hardening 2000 MPa isotropic and 0 MPa kinematic" in law_words(sound(hardens), analysis)
    told = law_words(sound(OWN), analysis)
    assert "at 36 degC loading from 514 to 594 MPa and unloading from 294 to 194 MPa" in told
    assert "transformation strain 7.00 %" in told and "6.5 MPa more with each degree" in told
