"""The pages beside the shipped cases say what the runs and their checks give; and every case is on a page."""

from __future__ import annotations

import re
from functools import cache

import pytest

from cases.casefile import shipped_cases
from tests.library_checks import CHECKS, Values
from tests.library_pages import NONE, PAGES, Row, given, rows, spoken

ALL = [path.stem for path in shipped_cases()]


@cache
def checked(name: str) -> Values:
    """The checks of one case."""
    return CHECKS[name]()


def as_written(text: str, value: float) -> bool:
    """Whether a figure is the value to the last digit that is written; a tie may be rounded either way."""
    mantissa, _, power = text.partition("e")
    last = 10.0 ** (int(power or 0) - len(mantissa.partition(".")[2]))
    return abs(float(text) - value) <= 0.501 * last if float(text) else abs(value) < 5e-5


def label(row: Row) -> str:
    return f"{row.case}: {row.quantity}"


@pytest.mark.parametrize("row", rows(), ids=label)
def test_a_row_says_what_the_run_and_its_check_give(row: Row) -> None:
    found = given(row.case, row.quantity)
    assert as_written(row.run, found), f"the run gives {found:.6g}"
    if row.by == NONE:
        assert row.check == row.within == NONE
        return
    expected = checked(row.case)[row.quantity]
    assert as_written(row.check, expected), f"the check gives {expected:.6g}"
    allowed = row.within.split()
    within = float(allowed[0])
    if allowed[1:] == ["%"]:
        within *= 0.01 * abs(expected)
    assert abs(found - expected) <= within


@pytest.mark.parametrize("name", ALL)
def test_every_case_has_its_rows_and_a_check_where_there_is_one(name: str) -> None:
    mine = [row for row in rows() if row.case == name]
    assert mine
    assert any(row.by != NONE for row in mine) == (name in CHECKS)


def test_a_row_may_not_be_lost_by_its_form() -> None:
    """Lines of a table that name a case are read, all of them."""
    written = sum(
        line.startswith("| `") for path in PAGES.glob("*.md") for line in path.read_text("utf-8").splitlines()
    )
    assert written == len(rows()) > 100


@pytest.mark.parametrize("page", sorted(path.stem for path in PAGES.glob("*.md")))
def test_every_figure_in_the_words_stands_in_the_table(page: str) -> None:
    """So no sentence keeps a force or a moment that the run no longer gives."""
    table = {
        abs(float(text))
        for row in rows()
        if row.page == page
        for text in (row.run, row.check)
        if text != NONE
    }
    assert spoken(page)
    assert [figure for figure in spoken(page) if figure not in table] == []


@pytest.mark.parametrize("page", sorted(path.stem for path in PAGES.glob("*.md")))
def test_a_page_asks_answers_and_says_that_it_is_invented(page: str) -> None:
    text = (PAGES / f"{page}.md").read_text(encoding="utf-8")
    assert "invented" in text
    assert text.count("**Question.**") == text.count("**Answer.**") > 2
    pictures = set(re.findall(r"`(\w+\.png)`", text))
    assert pictures and pictures <= {"wire.png", "slots.png", "views.png", "activation.png", "bench.png"}
