"""What is left of a load as a tooth moves, against the straight line of a cantilever."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from cases.casefile import parse_case
from cases.deactivation import at_mark, deactivation_sentences
from cases.errors import CaseFileError
from cases.results import DeactivationResult
from cases.run import run_case
from tests.case_texts import YOUNGS_MODULUS, attachment, case_of, round_wire, straight

DIAMETER, ARM, LIFT = 0.4, 20.0, 1.0
RATE = 3.0 * YOUNGS_MODULUS * math.pi * DIAMETER**4 / 64.0 / ARM**3
"""N/mm of a cantilever, 3 EI/L^3."""


def moving(*lines: str, kind: str = "button") -> DeactivationResult:
    """A cantilever whose held end, LIFT up, moves in a stage."""
    end = attachment("hook", kind, "end", ARM, LIFT, tooth="43")
    clamp = attachment("clamp", "clamp", "start", 0.0, stop=True)
    stage = '\n[[stage]]\nname = "relapse"\nmove = "hook"\n' + "\n".join(lines)
    case = case_of(round_wire(DIAMETER), [straight(ARM)], "clamp", clamp, end + stage)
    (found,) = run_case(case).deactivations
    return found


def test_force_falls_in_a_straight_line_with_the_way() -> None:
    """F = 3EI/L^3 (lift - way), 1 %: a slope of 0.075 squared, twice."""
    found = moving('by = ["0 mm", "-1 mm", "0 mm"]', 'until = "0.05 N"')
    assert found.readings[0].travel_mm == 0.0 and found.readings[-1].travel_mm == pytest.approx(1.0)
    for one in found.readings:
        assert one.force_n == pytest.approx(RATE * (LIFT - one.travel_mm), rel=0.01, abs=1e-9)
        assert one.moment_nmm == 0.0 and one.turned_deg == 0.0
    assert found.half_at == pytest.approx(0.5, rel=0.01)
    assert found.working_range == pytest.approx(LIFT - 0.05 / RATE, rel=0.01)
    assert at_mark(found, 0.25)[0] == pytest.approx(RATE * 0.75, rel=0.01)
    said = " ".join(deactivation_sentences(found))
    assert (
        "After 0.500 mm" in said
        and "50 % of the force" in said
        and "Working range down to 0.0500 N: 0." in said
    )


def test_a_limit_that_is_not_reached_is_told() -> None:
    found = moving('by = ["0 mm", "-0.2 mm", "0 mm"]', 'until = "0.05 N"')
    assert found.working_range is None and found.half_at is None
    assert deactivation_sentences(found)[-1] == "Working range down to 0.0500 N: not ended by 0.200 mm."
    above = moving('by = ["0 mm", "-0.2 mm", "0 mm"]', 'until = "50 N"')
    assert above.working_range == 0.0


def test_a_tooth_that_turns_is_told_by_its_moment() -> None:
    """A beam clamped at both ends, one lifted by v and turned by a: M there = 4EI a/L - 6EI v/L^2, small slopes."""
    found = moving('turn = { about_z = "4 deg" }', 'until = "5 Nmm"', kind="clamp")
    stiffness = RATE * ARM**3 / 3.0
    assert found.turns and found.readings[-1].turned_deg == pytest.approx(4.0)
    for one in found.readings:
        turned = math.radians(one.turned_deg)
        expected = abs(4.0 * turned / ARM - 6.0 * LIFT / ARM**2) * stiffness
        assert one.moment_nmm == pytest.approx(expected, rel=0.02, abs=0.1)
    assert found.half_at == pytest.approx(math.degrees(0.75 * LIFT / ARM), rel=0.02)
    assert "% of the moment" in " ".join(deactivation_sentences(found))


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ('move = "hook"\nby = ["0 mm", "1 mm", "0 mm"]\nuntil = "5 Nmm"', "expected a force"),
        ('move = "hook"\nturn = { about_z = "4 deg" }\nuntil = "1 N"', "expected a moment"),
        ('move = "hook"\nby = ["0 mm", "1 mm", "0 mm"]\nuntil = "0 N"', "greater than zero"),
        ('back = "50 %"\nuntil = "1 N"', "a limit of its own"),
    ],
)
def test_a_limit_of_another_kind_is_told(sound_case: str, lines: str, said: str) -> None:
    with pytest.raises(CaseFileError) as caught:
        parse_case(f"{sound_case}\n[[stage]]\n{lines}", Path("case.toml"))
    assert said in str(caught.value)
