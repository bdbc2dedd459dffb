"""``wireslot bench-test ranges``: what it prints, writes and draws, and what it refuses."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from cases.bench_tests import range_command
from cases.bench_tests.compared import MET, NOT_MET, WITHIN
from cases.bench_tests.range_command import ASSUMPTIONS, TITLE, source_lines
from cases.bench_tests.ranges import COLUMNS, summary
from cases.cli import main
from cases.show.ranges_figure import draw_ranges
from cases.show.sheet import Sheet
from fem.fibre_section import Unbalanced
from tests import overlaps
from tests.bent_ranges import ranges


@pytest.fixture(autouse=True)
def bent(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is bent twice."""
    monkeypatch.setattr(range_command, "compare_ranges", lambda _say: ranges())


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    bends, rows = ranges()
    return draw_ranges(bends, rows, TITLE, summary(rows), ASSUMPTIONS)


def test_all_files_are_there_and_agree(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["bench-test", "ranges", "--out", str(tmp_path)]) == 0
    names = [f"published_ranges.{kind}" for kind in ("csv", "json", "png", "svg")]
    assert sorted(path.name for path in tmp_path.iterdir()) == names
    data = json.loads((tmp_path / "published_ranges.json").read_text(encoding="utf-8"))
    with (tmp_path / "published_ranges.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert tuple(rows[0]) == COLUMNS
    assert len(rows) == len(data["comparisons"]) == len(ranges()[1])
    for row, one, own in zip(rows, data["comparisons"], ranges()[1], strict=True):
        assert float(row["computed"]) == one["computed"]["value"] == own.value
        assert row["verdict"] == one["verdict"] == own.verdict
        assert row["published"] == one["published"]["words"] == own.published.said
        assert row["source"] == one["published"]["source"] and row["why"] == one["why"]
        assert row["read_or_memory"] == one["published"]["read_or_memory"] in ("read", "from memory")
    assert data["provenance"]["program"] == "wireslot" and "not a treatment plan" in data["caution"]
    said = capsys.readouterr().out
    assert summary(ranges()[1]) in said and "published_ranges.png" in said and "not a treatment plan" in said


def test_it_prints_without_a_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every published range, each row with its verdict, each reason once, sources and what they do not tell."""
    monkeypatch.chdir(tmp_path)
    assert main(["bench-test", "ranges"]) == 0
    assert list(tmp_path.iterdir()) == []
    said = capsys.readouterr().out
    lines = said.splitlines()
    for row in ranges()[1]:
        memory = "" if row.published.read else ", from memory"
        assert (
            f"{row.published.alloy}, {row.published.quantity}: published {row.published.said}{memory}"
            in lines
        )
        (line,) = {
            line for line in lines if line.startswith(f"    {row.wire}, {row.how} ") and _value(row) in line
        }
        assert row.verdict in line
        assert row.why[1:] in said
    for source in source_lines(ranges()[1]):
        assert source.split(". Not told")[0] in said
    assert "Not told: the size of its wires" in said and "from memory" in said


def _value(row: range_command.Compared) -> str:
    return f"  {range_command.computed_words(row)} "


def test_other_options_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    options = [
        "--span",
        "10 mm",
        "--material",
        "stainless-steel",
        "--cycles",
        "2",
        "--both-ways",
        "--set",
        "poisson=0.3",
    ]
    assert main(["bench-test", "ranges", *options, "--out", str(tmp_path / "out")]) == 2
    said = capsys.readouterr().err
    assert "bench-test ranges: 5 problems" in said
    for name in ("--span", "--material", "--cycles", "--both-ways", "--set"):
        assert f"leave out {name}" in said
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (
            ["tension", "--material", "stainless-steel", "--section", "0.016 in"],
            "--out: the folder for the results is missing",
        ),
        (["tension", "--out", "out"], "--material: the alloy is missing; add --material stainless-steel"),
        (
            ["tension", "--material", "stainless-steel", "--out", "out"],
            "--section: the wire's size is missing",
        ),
    ],
)
def test_the_other_tests_need_theirs(
    arguments: list[str],
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["bench-test", *arguments]) == 2
    assert words in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_wire_without_rest_is_said(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(_say: Callable[[str], None]) -> None:
        raise Unbalanced("no rest")

    monkeypatch.setattr(range_command, "compare_ranges", fail)
    assert main(["bench-test", "ranges"]) == 3
    assert "no equilibrium" in capsys.readouterr().err


def test_a_figure_that_fails_leaves_the_numbers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("no ink")

    monkeypatch.setattr("cases.show.ranges_figure.draw_ranges", fail)
    assert main(["bench-test", "ranges", "--out", str(tmp_path)]) == 1
    assert sorted(path.suffix for path in tmp_path.iterdir()) == [".csv", ".json"]
    assert "no ink" in capsys.readouterr().err


def test_texts_of_the_figure_do_not_cover_each_other(sheet: Sheet) -> None:
    sheet.figure.canvas.draw()
    assert overlaps.outside(sheet.figure) == []
    assert overlaps.over_each_other(sheet.figure.texts, sheet.figure) == []
    for axes in sheet.figure.axes:
        assert overlaps.over_each_other(overlaps.written_on(axes), sheet.figure) == []


def test_every_comparison_is_drawn(sheet: Sheet) -> None:
    """One bar and one mark each but for unloading forces, which are curves, and three strands against a round wire."""
    drawn = [
        row for row in ranges()[1] if row.group != "unloading force" and row.published.key != "three_strands"
    ]
    marks = [line for axes in sheet.figure.axes for line in axes.lines if line.get_gid() == "computed"]
    assert len(marks) == len(drawn)
    bars = [
        patch for axes in sheet.figure.axes[1:] for patch in axes.patches
        if patch.get_gid() == "published" and isinstance(patch, Rectangle)
    ]  # fmt: skip
    forces = [row for row in drawn if row.published.key.endswith("_mm")]
    assert len(bars) == len(drawn) - len(forces) + len({row.published.key for row in forces})
    crosses = [line for line in marks if line.get_marker() == "x"]
    assert len(crosses) == sum(row.verdict == NOT_MET for row in drawn)
    full = [line for line in marks if line.get_marker() != "x" and line.get_markerfacecolor() != "white"]
    assert len(full) == sum(row.verdict == MET for row in drawn)
    assert len(marks) - len(full) - len(crosses) == sum(row.verdict == WITHIN for row in drawn)
    hatched = [bar for bar in bars if bar.get_hatch()]
    assert len(hatched) == sum(not row.published.read for row in drawn)


def test_the_band_and_the_curves_are_those_computed(sheet: Sheet) -> None:
    axes = sheet.figure.axes[0]
    lines = {line.get_gid(): line for line in axes.lines if isinstance(line, Line2D)}
    bends = ranges()[0]
    for size, spread in bends.superelastic.items():
        line = lines[f"way back {size:g} in"]
        deflection, force = spread.usual.way(1, False)
        assert (
            line.get_xdata().tolist() == deflection.tolist() and line.get_ydata().tolist() == force.tolist()
        )
    (band,) = (patch for patch in axes.patches if patch.get_gid() == "published")
    low, high = band.get_y(), band.get_y() + band.get_height()
    assert (low, high) == pytest.approx((0.965, 1.485), abs=1e-3)  # N: 98.4 and 151.4 gf


def test_the_foot_names_sources_and_reasons(sheet: Sheet) -> None:
    words = " ".join(text.get_text() for text in sheet.figure.texts)
    for source in {row.published.source for row in ranges()[1] if row.published.key != "three_strands"}:
        assert source in words
    assert words.count("Not met (") == sum(row.verdict == NOT_MET for row in ranges()[1])
