"""Temperatures and cold bends: what an alloy makes of the rest of a case."""

from __future__ import annotations

from pathlib import Path

import pytest

from cases.alloy_checks import recovered_strain
from cases.casefile import parse_case
from cases.errors import CaseFileError
from cases.schema import MOUTH, Case
from fem.fibre_material import Superelastic
from tests.cases.conftest import SOUND_CASE

REMEMBERS = SOUND_CASE.replace('"stainless-steel"', '"superelastic-nickel-titanium"')
GENTLE = REMEMBERS.replace('radius = "1 mm"', 'radius = "6 mm"')


def read(text: str) -> Case:
    return parse_case(text, Path("case.toml"))


def test_the_usual_temperature_is_that_of_a_closed_mouth() -> None:
    assert read(SOUND_CASE).analysis.temperature == MOUTH and 35.0 <= MOUTH <= 37.0
    assert read(GENTLE).warnings == ()


def test_temperatures_of_analysis_and_stages_are_read() -> None:
    case = read(
        GENTLE + '[analysis]\ntemperature = "21 degC"\n[[stage]]\nname = "warming"\ntemperature = "36 degC"\n'
        '[[stage]]\nback = "50 %"\ntemperature = "30 degC"\n'
    )
    assert case.analysis.temperature == 21.0
    assert [stage.temperature for stage in case.stages] == [36.0, 30.0]
    assert case.stages[0].moved is None and case.stages[0].back is None and not case.stages[0].to


@pytest.mark.parametrize(
    ("text", "key", "line"),
    [
        (GENTLE + '[analysis]\ntemperature = "4 degC"\n', "analysis.temperature", 29),
        (GENTLE + '[[stage]]\nback = "50 %"\ntemperature = "4 degC"\n', "stage 1: temperature", 30),
    ],
)
def test_a_temperature_at_which_martensite_stays_is_refused(text: str, key: str, line: int) -> None:
    """Unloading ends at 200 MPa at 37 degC and falls by 6.5 MPa/K: below 6.23 degC it would not go back."""
    with pytest.raises(CaseFileError) as caught:
        read(text)
    (problem,) = caught.value.problems
    assert (problem.key, problem.line) == (key, line)
    assert "take a temperature above 6.231 degC" in problem.message


def test_a_temperature_that_does_not_matter_or_looks_wrong_is_doubted() -> None:
    told = read(SOUND_CASE + '[analysis]\ntemperature = "37 degC"\n').warnings
    assert len(told) == 1 and "does not heed the temperature" in told[0] and "line 29" in told[0]
    told = read(GENTLE + '[analysis]\ntemperature = "98.6 degC"\n').warnings
    assert len(told) == 1 and "far from what a wire meets" in told[0]


def test_a_sharp_cold_bend_is_doubted() -> None:
    """0.017 in high, bent in second order at 1 mm: 21.6 % in the outermost fibre; 6 % and 500/40000 come back."""
    told = read(REMEMBERS).warnings
    assert len(told) == 1
    assert "a bend too sharp for a cold superelastic wire" in told[0]
    assert "21.6 %" in told[0] and "7.25 % come back" in told[0] and '"3 mm" or more' in told[0]
    assert read(SOUND_CASE).warnings == ()  # steel takes it


def test_what_comes_back_is_the_end_of_the_plateau() -> None:
    law = Superelastic("x", 60e3, 40e3, 0.33, 0.06, 450.0, 500.0, 240.0, 200.0)
    assert recovered_strain(law) == pytest.approx(0.0725)
