"""``wireslot verify``: every check agrees, the table and the files say so, and README.md shows this very table."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from pathlib import Path

import pytest

import cases.verify.command
from cases.cli import main
from cases.verify.command import SUBJECTS, all_checks
from cases.verify.rows import Check, Row, run
from cases.verify.tables import HEADINGS, cells, json_text, markdown, summary
from fem.status import NoEquilibrium, Status

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
KEYS = {
    "quantity",
    "kind",
    "source",
    "expected",
    "computed",
    "difference",
    "tolerance",
    "verdict",
    "unit",
}
FAST = Check("half a turn", "closed form", "Euclid", 180.0, 1e-3, "deg", lambda: math.degrees(math.pi))


def made_up(compute: Callable[[], float], tolerance: float = 0.5) -> Check:
    """A check that expects 2 mm."""
    return Check("a made-up length", "benchmark", "nobody", 2.0, tolerance, "mm", compute, relative=False)


@pytest.fixture(scope="module")
def rows() -> list[Row]:
    """All checks, computed once."""
    return list(run(all_checks()))


@pytest.fixture
def with_checks(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Puts other checks in the place of the real ones."""

    def put(*checks: Check) -> None:
        monkeypatch.setattr(cases.verify.command, "all_checks", lambda: checks)

    return put


def test_every_check_agrees(rows: list[Row]) -> None:
    assert [(row.check.quantity, row.computed, row.check.expected) for row in rows if not row.passed] == []


def test_there_are_many_checks_of_all_kinds_from_many_sources(rows: list[Row]) -> None:
    checks = [row.check for row in rows]
    assert len(checks) >= 40
    assert len({check.source for check in checks}) >= 15
    assert {check.kind for check in checks} == {"closed form", "benchmark", "measurement"}
    assert len({(check.quantity, check.source) for check in checks}) == len(checks)
    for check in checks:
        assert check.tolerance > 0.0 and math.isfinite(check.expected)
        assert not (check.relative and check.expected == 0.0)
        # a tolerance as large as the value would agree with anything
        assert check.relative is False or check.tolerance <= 0.05
        assert not re.search(r"[|\n]", check.quantity + check.source)


def test_a_published_number_is_not_its_own_answer(rows: list[Row]) -> None:
    """What is computed comes from somewhere else: hardly any answer is equal to the last digit, save exact zeros."""
    equal = [row for row in rows if row.computed == row.check.expected and row.check.expected != 0.0]
    assert len(equal) < 0.05 * len(rows)


def test_checks_may_be_made_again(rows: list[Row]) -> None:
    """The list itself is the same each time: names, sources, expectations, tolerances."""
    again = all_checks()
    assert [cells(Row(check, 1.0))[:4] for check in again] == [cells(Row(row.check, 1.0))[:4] for row in rows]
    assert sum(len(subject.checks()) for subject in SUBJECTS) == len(again)


def test_verdicts() -> None:
    (good,) = run([made_up(lambda: 2.5)])
    (bad,) = run([made_up(lambda: 2.500001)])
    (nothing,) = run([made_up(lambda: math.nan)])
    assert (good.verdict, bad.verdict, nothing.verdict) == ("agrees", "differs", "differs")
    assert good.difference == 0.5
    relative = Row(Check("q", "benchmark", "s", -10.0, 0.01, "", lambda: 0.0), -10.1)
    assert relative.passed and relative.check.allowed == pytest.approx(0.1)


def test_what_finds_no_equilibrium_differs_and_says_why() -> None:
    def fail() -> float:
        raise NoEquilibrium(Status.TOO_MANY_ITERATIONS, 0.3, (), None)  # type: ignore[arg-type]

    (row,) = run([made_up(fail)])
    assert row.verdict == "differs" and "no equilibrium found" in row.failure
    assert cells(row)[4:6] == ("none", "none")
    (read,) = json.loads(json_text([row]))
    assert read["computed"] is None and read["difference"] is None


@pytest.mark.parametrize(
    ("expected", "tolerance", "unit", "relative", "computed", "shown"),
    [
        (347.0, 0.01, "gf", True, 344.086, ("347 gf", "344.1 gf", "-0.8 %", "1 %")),
        (7.24, 0.01, "deg", False, 7.24215, ("7.24 deg", "7.242 deg", "0.002 deg", "0.01 deg")),
        (0.0, 0.05, "", False, -1e-6, ("0", "0", "0", "0.05")),
        (0.08734, 0.02, "", True, 0.0886, ("0.08734", "0.0886", "1.4 %", "2 %")),
    ],
)
def test_digits(
    expected: float,
    tolerance: float,
    unit: str,
    relative: bool,
    computed: float,
    shown: tuple[str, ...],
) -> None:
    check = Check("q", "benchmark", "s", expected, tolerance, unit, lambda: computed, relative)
    assert cells(Row(check, computed))[3:7] == shown


def test_json(with_checks: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with_checks(FAST, made_up(lambda: 2.25))
    file = tmp_path / "deep" / "checks.json"
    assert main(["verify", "--json", str(file)]) == 0
    read = json.loads(file.read_text(encoding="utf-8"))
    assert [set(row) for row in read] == [KEYS, KEYS]
    assert read[1] == {
        "quantity": "a made-up length",
        "kind": "benchmark",
        "source": "nobody",
        "unit": "mm",
        "expected": 2.0,
        "computed": 2.25,
        "difference": 0.25,
        "tolerance": 0.5,
        "verdict": "agrees",
    }
    assert read[0]["tolerance"] == pytest.approx(0.18)
    out = capsys.readouterr().out
    assert "2 of 2 checks" in out and "2 checks against 2 sources: all agree." in out
    assert "measurements are validation" in out and str(file) in out
    assert "a made-up length" in out and "2.25 mm" in out


def test_a_check_that_differs_ends_with_3(
    with_checks: Callable[..., None], capsys: pytest.CaptureFixture[str]
) -> None:
    with_checks(FAST, made_up(lambda: 3.0))
    assert main(["verify"]) == 3
    out = capsys.readouterr().out
    assert "differs" in out and "2 checks against 2 sources: 1 differs." in out


def test_markdown_alone_is_printed(
    with_checks: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with_checks(FAST)
    assert main(["verify", "--markdown"]) == 0
    said = capsys.readouterr()
    assert said.out.splitlines()[0] == f"| {' | '.join(HEADINGS)} |"
    assert len(said.out.splitlines()) == 3 and "1 of 1 checks" in said.err
    file = tmp_path / "checks.md"
    assert main(["verify", "--markdown", str(file)]) == 0
    assert file.read_text(encoding="utf-8") == said.out


def test_a_file_that_cannot_be_written(
    with_checks: Callable[..., None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with_checks(FAST)
    (tmp_path / "taken").write_text("", encoding="utf-8")
    assert main(["verify", "--json", str(tmp_path / "taken" / "checks.json")]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_summary_counts() -> None:
    assert summary([Row(FAST, 180.0), Row(FAST, 170.0), Row(FAST, 190.0)]).endswith("2 differ.")


def test_readme_shows_this_table(rows: list[Row]) -> None:
    """Quantities, sources, expectations and tolerances word by word; what is computed within a tenth of the tolerance.

    ``wireslot verify --markdown`` prints the table anew."""
    shown = [
        line.strip("| ").split(" | ")
        for line in README.split("<!-- wireslot verify --markdown -->\n")[1]
        .split("<!-- end -->")[0]
        .splitlines()
    ]
    fresh = [line.strip("| ").split(" | ") for line in markdown(rows).splitlines()]
    kept = [i for i, heading in enumerate(HEADINGS) if heading not in ("computed", "difference")]
    assert [[line[i] for i in kept] for line in shown] == [[line[i] for i in kept] for line in fresh]
    column = HEADINGS.index("computed")
    for line, row in zip(shown[2:], rows, strict=True):
        number = float(line[column].split()[0])
        assert number == pytest.approx(row.computed, abs=0.1 * row.check.allowed)
