"""What a run prints: three digits, lines that fit, nothing left out that the case asked for."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console

from cases.results import RunResult
from cases.summary import WIDEST, number, print_result
from cases.tooth_results import PlaneTendency, PublishedRange, ToothResult
from cases.words import order_words, shown, three
from geometry.clearance import PlayInOrder


def printed(result: RunResult, width: int = 160) -> str:
    """What people see on a terminal of some width."""
    console = Console(file=io.StringIO(), width=width)
    print_result(result, console)
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (1210.0, "1210"),
        (1733.4, "1730"),
        (-12.345, "-12.3"),
        (0.7360, "0.736"),
        (9.996, "10.0"),
        (0.9996, "1.00"),
        (99.96, "100"),
        (0.0012345, "0.00123"),
        (3e-5, "3.00e-05"),
        (206800.0, "2.07e+05"),
    ],
)
def test_three_digits(value: float, text: str) -> None:
    assert three(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(1e-17, "0"), (-4.9e-5, "0"), (3.56e-4, "0.0004"), (-0.0009, "-0.0009"), (0.00123, "0.00123")],
)
def test_tables_show_no_rounding_and_no_powers_of_ten(value: float, text: str) -> None:
    assert shown(value) == text


def test_a_value_that_is_not_there() -> None:
    assert number(None) == "-"


def test_lines_fit_whatever_the_terminal(result: RunResult) -> None:
    first, second = result.attachments
    long_name = (
        "attachment with a name that goes on and on, longer than anybody would care to read in a table"
    )
    long_words = "a sentence that never ends " * 20
    result = replace(
        result,
        attachments=(replace(first, name=long_name, words=(long_words,)), second),
        assumptions=(long_words,),
        status_words=(long_words,),
    )
    lines = printed(result).splitlines()
    assert max(len(line.rstrip()) for line in lines) <= WIDEST
    # Further lines of a sentence stand further in than its first.
    start = next(i for i, line in enumerate(lines) if line == "Assumptions") + 1
    assert lines[start].startswith("    a sentence") and lines[start + 1].startswith("      ")
    # Nothing is cut off: a name that takes several lines is whole.
    assert long_words.split() == " ".join(lines[start:]).split()


def test_the_moment_about_the_centre_of_resistance_is_shown_where_asked_for(result: RunResult) -> None:
    asked = replace(result.attachments[0], moment_at_centre_of_resistance_nmm=(-2.208, 1e-14, 1210.4))
    said = printed(replace(result, attachments=(asked, result.attachments[1])))
    assert said.count("Moment about the centre of resistance") == 1
    assert "Mx -2.21, My 0, Mz 1210 N mm (world axes)." in said


def test_a_moment_of_a_button_names_its_point(result: RunResult) -> None:
    hook = replace(result.attachments[1], kind="button")
    assert "point of the wire it holds" not in printed(result)
    assert "point of the wire it holds" in printed(replace(result, attachments=(result.attachments[0], hook)))


@pytest.mark.parametrize(
    ("order", "moment", "carries", "kind", "words"),
    [
        (
            "second",
            12.0,
            True,
            "bracket",
            "positive about its depth, 12.0 N mm (1220 gf mm), from opposed contacts",
        ),
        (
            "first",
            -12.0,
            True,
            "clamp",
            "negative about its height, 12.0 N mm (1220 gf mm), from the held section",
        ),
        (
            "second",
            12.0,
            False,
            "bracket",
            "no couple: contact on one side only, 12.0 N mm (1220 gf mm) about the slot centre",
        ),
        ("second", 1e-17, False, "bracket", "passive: no couple"),
        ("second", 0.0, False, "clamp", "held, but no couple"),
        ("second", 0.0, False, "button", "a button holds one point and carries no couple"),
    ],
)
def test_an_order_without_a_tooth(order: str, moment: float, carries: bool, kind: str, words: str) -> None:
    play = PlayInOrder(0.02, ("upper wall", "lower wall")) if kind == "bracket" else None
    assert order_words(None, order, moment, carries, play, kind) == words


def test_a_tooth_is_told_with_its_default_and_published_ranges(result: RunResult) -> None:
    plane = PlaneTendency(
        1.0, 2.0, 9.0, 2.0, 0.2, "uncontrolled tipping", "uncontrolled tipping, crown to distal"
    )
    ranges = (
        PublishedRange("uncontrolled tipping", 0.34323275, 0.588399, "a textbook"),
        PublishedRange("torque", 5.0, 20.0, "a paper", of_moment=True),
    )
    centre, force, moment = (0.0, 9.83, -4.5), (1.0, 0.0, 0.0), (0.0, 0.0, 2.0)
    words = ("facial view: x",)
    tooth = ToothResult(centre, "default: ...", force, moment, {"second": plane}, ranges, words)
    first = replace(
        result.attachments[0],
        moment_at_centre_of_resistance_nmm=(0.0, 0.0, 2.0),
        at_centre_of_resistance=tooth,
    )
    said = printed(replace(result, attachments=(first, result.attachments[1])))
    assert "Centre of resistance by default 9.8 mm gingival and 4.5 mm lingual of the slot." in said
    assert "Initial tendency, facial view: x." in said
    assert "no advice" in said
    assert "Uncontrolled tipping: 0.343 to 0.588 N (35 to 60 gf; a textbook)." in said
    assert "Torque: 5.00 to 20.0 N mm (a paper)." in said
