"""What is said of bench tests, friction and stages: in a run's summary, in its log, in its files."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from cases.bench_words import bench_sentences, friction_sentences, largest_lag
from cases.errors import NotFiniteError
from cases.output import to_json, write_outputs
from cases.progress import IncrementLog
from cases.result_tables import bench_table
from cases.results import BACK, OUT, BenchReading, BenchResult, IncrementResult, RunResult
from cases.summary import print_result

NOTHING = (0.0, 0.0, 0.0)


def read(stage: str, *pairs: tuple[float, float]) -> tuple[BenchReading, ...]:
    return tuple(BenchReading(stage, travel, (-load, 0.0, 0.0), NOTHING, load) for travel, load in pairs)


def drawn(*readings: BenchReading) -> BenchResult:
    return BenchResult("clamp", "bracket", False, "x", readings, None, (), ())


@pytest.fixture
def bench() -> BenchResult:
    out = read(OUT, (1.0, 0.0), (2.0, 0.5), (3.0, 1.25))
    return replace(
        drawn(*out, *read(BACK, (2.0, 0.25), (1.0, 0.0), (0.0, 0.0))),
        measured_file="m.csv",
        measured_travel=(0.0, 3.0),
        measured_load=(0.0, 1.0 / 3.0),
    )


@pytest.fixture
def tested(result: RunResult, bench: BenchResult) -> RunResult:
    on_path = result.increments[0].attachments
    more = tuple(
        IncrementResult(one.stage, share, 2, 1e-12, 0.125, on_path)
        for one, share in zip(bench.readings, (1 / 3, 2 / 3, 1.0) * 2, strict=True)
    )
    return replace(result, bench=bench, increments=result.increments + more)


def test_the_largest_load_and_where_it_begins(bench: BenchResult) -> None:
    assert bench_sentences(bench) == (
        "Largest force along x of bracket: 1.25 N at 3.00 mm of travel, on the way out.",
        "On the way out it begins between 1.00 and 2.00 mm.",
        "Out and back differ by up to 0.250 N at the same travel.",
    )
    assert largest_lag(bench) == 0.25


def test_a_load_that_begins_at_once_or_never() -> None:
    at_once = drawn(*read(OUT, (1.0, 0.5)), *read(BACK, (0.0, -0.75)))
    assert bench_sentences(at_once) == (
        "Largest force along x of bracket: -0.750 N at 0 mm of travel, on the way back.",
        "It begins at once: 0.500 N at 1.00 mm.",
    )
    never = replace(drawn(*read(OUT, (1.0, 0.0)), *read(BACK, (0.0, 0.0))), turns=True)
    assert bench_sentences(never) == ("No moment about x of bracket at any travel.",)


def test_the_work_lost_is_told_where_there_is_any(result: RunResult, tested: RunResult) -> None:
    assert friction_sentences(result) == ()
    # 3 x 0.125 out and as much back
    assert friction_sentences(tested) == (
        "Work lost in friction: 0.750 N mm (0.375 N mm in bench, out; 0.375 N mm in bench, back).",
    )
    alone = tuple(replace(one, lost_nmm=0.5) for one in result.increments)
    assert friction_sentences(replace(result, increments=alone)) == ("Work lost in friction: 1.00 N mm.",)


def test_the_summary_says_it(result: RunResult, tested: RunResult) -> None:
    for one, expected in ((result, False), (tested, True)):
        console = Console(file=io.StringIO(), width=160)
        print_result(one, console)
        assert isinstance(console.file, io.StringIO)
        said = console.file.getvalue()
        for part in (
            "Bench test",
            "Largest force along x of bracket: 1.25 N",
            "Work lost in friction: 0.750 N mm",
        ):
            assert (part in said) is expected


def test_the_log_names_every_stage(tested: RunResult) -> None:
    console = Console(file=io.StringIO(), width=40, force_terminal=False)
    with IncrementLog(console) as log:
        for one in tested.increments:
            log(replace(one, stage="[red]") if one.stage == BACK else one)
    assert isinstance(console.file, io.StringIO)
    lines = console.file.getvalue().splitlines()
    assert len(lines) == 8
    assert lines[1] == "increment 2, 3 iterations, 100 % of the activation, residual 2.0e-12 N"
    assert lines[2] == "increment 3, 2 iterations, bench, out: 33 %, residual 1.0e-12 N"
    assert lines[7] == "increment 8, 2 iterations, [red]: 100 %, residual 1.0e-12 N"


def test_the_bar_on_a_terminal_names_the_stage_and_starts_again(tested: RunResult) -> None:
    console = Console(file=io.StringIO(), width=120, force_terminal=True)
    with IncrementLog(console) as log:
        for one in tested.increments[:3]:
            log(one)
        (task,) = log._bar.tasks
        assert task.fields["stage"] == OUT and task.completed == pytest.approx(1.0 / 3.0)
        log._bar.refresh()
    assert isinstance(console.file, io.StringIO)
    assert "bench, out" in console.file.getvalue()


def test_files_hold_the_bench_test(tested: RunResult, tmp_path: Path) -> None:
    write_outputs(tested, tmp_path)
    with (tmp_path / "bench.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == [
        "stage", "travel_mm", "load_n", "force_x_n", "force_y_n", "force_z_n",
        "moment_x_nmm", "moment_y_nmm", "moment_z_nmm",
    ]  # fmt: skip
    assert [row["stage"] for row in rows] == [OUT] * 3 + [BACK] * 3 + ["measured"] * 2
    assert rows[2]["load_n"] == "1.25" and rows[2]["force_x_n"] == "-1.25"
    assert float(rows[7]["load_n"]) == 1.0 / 3.0 and rows[7]["force_x_n"] == ""
    told = json.loads((tmp_path / "result.json").read_text(encoding="utf-8"))
    assert told == to_json(tested)
    assert told["bench"]["readings"][2] == {
        "stage": OUT, "travel_mm": 3.0, "force_n": [-1.25, 0.0, 0.0], "moment_nmm": [0.0, 0.0, 0.0], "load_n": 1.25,
    }  # fmt: skip
    assert (told["bench"]["moved"], told["bench"]["sensor"], told["bench"]["axis"]) == (
        "clamp",
        "bracket",
        "x",
    )
    with (tmp_path / "path.csv").open(encoding="utf-8", newline="") as file:
        path = list(csv.DictReader(file))
    assert next(iter(path[0])) == "stage" and path[2]["stage"] == OUT and path[2]["lost_nmm"] == "0.125"
    assert [one["stage"] for one in told["increments"]] == [row["stage"] for row in path]
    assert told["increments"][2]["lost_nmm"] == 0.125


def test_a_turn_is_told_in_degrees_and_newton_millimetres(bench: BenchResult) -> None:
    turned = replace(bench, turns=True)
    assert bench_table(turned)[0][:3] == ["stage", "travel_deg", "load_nmm"]


def test_without_a_bench_test_its_file_goes(result: RunResult, tested: RunResult, tmp_path: Path) -> None:
    write_outputs(tested, tmp_path)
    write_outputs(result, tmp_path)
    assert not (tmp_path / "bench.csv").exists()
    assert json.loads((tmp_path / "result.json").read_text(encoding="utf-8"))["bench"] is None


def test_a_reading_that_is_no_number_is_never_written(tested: RunResult, tmp_path: Path) -> None:
    assert tested.bench is not None
    broken = replace(tested.bench, readings=read(OUT, (1.0, float("nan"))))
    with pytest.raises(NotFiniteError) as caught:
        write_outputs(replace(tested, bench=broken), tmp_path / "out")
    assert "bench.readings[0]" in str(caught.value)
    assert not (tmp_path / "out").exists()
