"""Factor studies and comparisons solved once for all tests of a process."""

from __future__ import annotations

from functools import cache

from cases.studies.compare import LETTERS, Comparison, Member, matched
from cases.studies.factors import STUDIES
from cases.studies.run_study import Found, Row, run_study
from tests.shipped import case, solved


@cache
def study(name: str) -> Found:
    """A study at its usual values."""
    return run_study(STUDIES[name])


def line(name: str, series: int = 0, attachment: int = 0) -> tuple[Row, ...]:
    """One line of a study: by the place of what is kept equal, and of the attachment."""
    found = study(name)
    keys = list(found.lines)
    kept = list(dict.fromkeys(key[0] for key in keys))[series]
    return found.lines[[key for key in keys if key[0] == kept][attachment]]


@cache
def compared(*names: str) -> Comparison:
    """Shipped cases side by side."""
    cases = [case(name) for name in names]
    members = [Member(letter, case(name), solved(name)) for letter, name in zip(LETTERS, names, strict=False)]
    return Comparison(tuple(members), matched(cases))
