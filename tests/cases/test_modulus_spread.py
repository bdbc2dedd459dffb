"""How far the range of Young's modulus moves a result: proportional where only the wire gives way, told apart else."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from cases.casefile import LIBRARY, load_case, parse_case
from cases.materials import library
from cases.modulus_ends import at_modulus, with_ends
from cases.modulus_spread import gives_way, modulus_spread
from cases.output import to_json
from cases.results import RunResult
from cases.run import run_case
from cases.schema import Case
from cases.summary import print_result
from fem.fibre_material import Superelastic
from fem.status import NoEquilibrium, Status
from tests.cases.conftest import SOUND_CASE

FRICTION = SOUND_CASE.replace("stop = true", "stop = true\nfriction = 0.2")
TIED = SOUND_CASE.replace(
    'position = ["22 mm"', 'thread = { length = "2 mm", stiffness = "3 N/mm" }\nposition = ["22 mm"'
)


def with_modulus(case: Case, factor: float) -> Case:
    """The case with its alloy's modulus times ``factor``."""
    material = case.wire.material
    changed = replace(material, youngs_modulus_mpa=factor * material.youngs_modulus_mpa)
    return replace(case, wire=replace(case.wire, material=changed))


def loads(result: RunResult) -> np.ndarray:
    """Every force and moment on every attachment."""
    return np.array([(*item.force_n, *item.moment_nmm) for item in result.attachments])


def case_of(text: str) -> Case:
    """A case from its text."""
    return parse_case(text, Path("case.toml"))


@pytest.mark.parametrize("case", [case_of(SOUND_CASE), case_of(FRICTION), load_case(LIBRARY / "v-bend.toml")],
                         ids=["play", "friction", "shipped"])  # fmt: skip
def test_loads_are_proportional_to_the_modulus_where_only_the_wire_gives_way(case: Case) -> None:
    """Solved anew at both ends of the range: all loads, slides and stresses, with play, friction and large deflection.

    They agree to what a solution leaves: 1e-6 of the largest load (friction: settled to its micro-slip, 1e-4)."""
    spread = modulus_spread(case)
    assert spread is not None and spread.proportional and spread.gives_way == ()
    told = run_case(case)
    assert told.modulus_spread == spread and spread.words in told.assumptions
    rubs = any(spec.attachment.friction for spec in case.attachments)
    for percent in (spread.low_percent, spread.high_percent):
        factor = 1.0 + percent / 100.0
        again = run_case(with_modulus(case, factor))
        most = np.abs(loads(told)).max()
        assert np.abs(loads(again) / factor - loads(told)).max() < (1e-4 if rubs else 1e-6) * most
        assert again.wire.largest_stress_mpa == pytest.approx(factor * told.wire.largest_stress_mpa, rel=1e-4)


def test_the_numbers_are_those_of_the_range() -> None:
    """155 to 207 GPa about 180: 13.9 % less, 15 % more."""
    spread = modulus_spread(case_of(SOUND_CASE))
    assert spread is not None
    assert spread.low_percent == pytest.approx(100.0 * (155.0 / 180.0 - 1.0))
    assert spread.high_percent == pytest.approx(15.0)
    assert (
        "155 GPa to 207 GPa, every force, couple and stress is 13.9 % lower to 15.0 % higher"
        in spread.sentence
    )


def test_what_else_gives_way_is_named_and_the_loads_change_by_less() -> None:
    """An elastic thread in series: solved at both ends, its pull changes by less than the modulus."""
    case = case_of(TIED)
    spread = modulus_spread(case)
    assert spread is not None and not spread.proportional and spread.gives_way == ("threads stretch",)
    assert "because threads stretch;" in spread.words and "as a rule" in spread.sentence
    told = np.linalg.norm(run_case(case).attachment("hook").force_n)
    for percent in (spread.low_percent, spread.high_percent):
        change = 100.0 * (
            np.linalg.norm(run_case(with_modulus(case, 1.0 + percent / 100.0)).attachment("hook").force_n)
            / told
            - 1.0
        )
        assert 0.0 < change / percent < 1.0


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("torque-test", "the rig gives way"),
        ("sliding-test", "ligatures or clips give way"),
    ],
)
def test_shipped_cases_say_what_gives_way(name: str, words: str) -> None:
    assert words in gives_way(load_case(LIBRARY / f"{name}.toml"))


def test_both_ends_are_solved_where_loads_are_not_proportional() -> None:
    """The ends are those of two runs of their own, and lie within what the wire's stiffness alone would do."""
    case = case_of(TIED)
    told = run_case(case)
    found = with_ends(case, told, run_case).modulus_spread
    assert found is not None and len(found.ends) == 2
    for end, percent in zip(found.ends, (found.low_percent, found.high_percent), strict=True):
        again = run_case(with_modulus(case, 1.0 + percent / 100.0))
        for change, part in ((end.force_percent, slice(0, 3)), (end.moment_percent, slice(3, 6))):
            largest, before = (np.linalg.norm(loads(one)[:, part], axis=1).max() for one in (again, told))
            assert change == pytest.approx(100.0 * (largest / before - 1.0), rel=1e-6)
            assert 0.0 < change / percent < 1.0
    assert (
        "Solved again there: at 155 GPa the largest force is" in found.sentence
        and "% lower" in found.sentence
    )
    assert (
        to_json(replace(told, modulus_spread=found))["modulus_spread"]["ends"][0]["youngs_modulus_mpa"]
        == 155e3
    )


def test_ends_that_are_known_or_not_found() -> None:
    case = case_of(SOUND_CASE)
    told = run_case(case)
    assert with_ends(case, told, run_case) is told  # proportional: nothing is solved
    tied = run_case(case_of(TIED))

    def fails(case: Case) -> RunResult:
        raise NoEquilibrium(Status.NOT_FINITE, 0.0, (), np.zeros((0, 4)))

    found = with_ends(case_of(TIED), tied, fails).modulus_spread
    assert found is not None and found.ends[0].force_percent is None
    assert "at 155 GPa no equilibrium was found" in found.sentence


def test_a_modulus_goes_into_the_law() -> None:
    """Of a superelastic alloy it is that of austenite; what no alloy has is refused."""
    material = library()["superelastic-nickel-titanium"].spec()
    case = case_of(SOUND_CASE)
    case = replace(case, wire=replace(case.wire, material=material))
    law = at_modulus(case, 70e3).wire.material.law
    assert isinstance(law, Superelastic) and law.austenite_modulus == 70e3
    with pytest.raises(ValueError, match="stiffer"):
        at_modulus(case, 30e3)


def test_it_is_printed_and_written(result: RunResult) -> None:
    spread = modulus_spread(case_of(SOUND_CASE))
    assert spread is not None
    whole = replace(result, modulus_spread=spread)
    console = Console(record=True, width=200)
    print_result(whole, console)
    assert "13.9 % lower to 15.0 % higher than told." in console.export_text()
    data = json.loads(json.dumps(to_json(whole)))["modulus_spread"]
    assert data["low_mpa"] == 155e3 and data["proportional"] is True
    assert to_json(result)["modulus_spread"] is None


def test_an_own_modulus_without_a_range_says_that_none_is_known() -> None:
    own = SOUND_CASE.replace(
        '"stainless-steel"', '{ name = "mine", youngs_modulus = "180 GPa", poisson = 0.3 }'
    )
    told = run_case(case_of(own))
    assert told.modulus_spread is None
    assert any("no range of Young's modulus is known for mine" in words for words in told.assumptions)
