"""Figures of a way with several stages and of a bench test: what is drawn is what was read, told apart in grey."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from PIL import Image

from cases.output import CAUTION, write_outputs
from cases.result_tables import bench_table
from cases.results import ACTIVATION, BACK, OUT
from cases.show import activation_figure, bench_figure, names, pictures, sheet, way
from cases.show.closed_form import ReferenceCurve
from tests import show_results


def curve(axes: Axes, gid: str) -> Line2D:
    (found,) = [line for line in axes.lines if line.get_gid() == gid]
    return found


def texts(drawn: sheet.Sheet) -> str:
    return "\n".join(text.get_text() for text in drawn.figure.texts)


def bench_sheet() -> tuple[sheet.Sheet, Axes]:
    result = show_results.bench_test()
    assert result.bench is not None
    drawn = bench_figure.draw_bench(result, result.bench)
    (axes,) = drawn.figure.axes
    return drawn, axes


def test_a_bench_test_shows_out_back_and_measured() -> None:
    bench = show_results.bench_test().bench
    assert bench is not None
    _, axes = bench_sheet()
    out, back, measured = (curve(axes, gid) for gid in ("out", "back", "measured"))
    assert list(out.get_xdata()) == [2.0 * k for k in range(1, 11)]
    assert list(out.get_ydata()) == [one.load for one in bench.readings if one.stage == OUT]
    # the way back hangs on the end of the way out
    assert list(back.get_ydata()) == [21.0, *(one.load for one in bench.readings if one.stage == BACK)]
    assert list(measured.get_xdata()) == [0.0, 10.0, 20.0] and list(measured.get_ydata()) == [0.0, 4.5, 20.0]
    looks = {(line.get_linestyle(), line.get_marker()) for line in (out, back, measured)}
    assert len(looks) == 3 and {style for style, _ in looks} == {"-", "--", "None"}


def test_a_bench_test_says_what_is_read_and_in_which_unit() -> None:
    drawn, axes = bench_sheet()
    assert axes.get_xlabel() == "turn of left bracket (deg)"
    assert axes.get_ylabel() == "moment at left bracket (N mm)"
    said = texts(drawn)
    assert "turned about its length (x)" in said and "(invented)" in said
    assert "begins between 6.00 and 8.00 deg" in said
    assert CAUTION[:40] in said
    (legend,) = drawn.figure.legends
    assert [text.get_text() for text in legend.get_texts()] == [
        "computed, out", "computed, back", "measured (measured.csv)",
    ]  # fmt: skip


def test_what_is_true_of_the_end_only_is_not_said_of_a_bench_test() -> None:
    """It ends where it began, passive; its curve is not."""
    result = show_results.bench_test()
    assert result.status == "passive"
    drawn, _ = bench_sheet()
    assert "no force" not in texts(drawn).lower() and "unstressed" not in texts(drawn).lower()


def test_without_a_measured_curve_there_is_none() -> None:
    result = show_results.bench_test()
    assert result.bench is not None
    bench = replace(result.bench, turns=False, measured_file=None, measured_travel=(), measured_load=())
    drawn = bench_figure.draw_bench(result, bench)
    (axes,) = drawn.figure.axes
    assert [line.get_gid() for line in axes.lines if line.get_gid() in ("out", "back", "measured")] == [
        "out",
        "back",
    ]
    assert (
        axes.get_xlabel() == "way of left bracket (mm)" and axes.get_ylabel() == "force at left bracket (N)"
    )
    assert "Measured" not in texts(drawn)


def test_its_curves_differ_in_a_grey_print(tmp_path: Path) -> None:
    """Luminance of the lines' own colours, as a print has them, apart by a fifth of the way from black to white."""
    _, axes = bench_sheet()
    image = Image.new("RGB", (2, 1))
    for k, gid in enumerate(("out", "back")):
        image.putpixel((k, 0), tuple(int(curve(axes, gid).get_color()[i : i + 2], 16) for i in (1, 3, 5)))
    grey = np.asarray(image.convert("L"), dtype=float)[0]
    assert abs(grey[0] - grey[1]) > 0.2 * 255.0


def test_its_files_are_pictures_and_its_table_is_that_of_the_numbers(tmp_path: Path) -> None:
    result = show_results.bench_test()
    assert result.bench is not None
    write_outputs(result, tmp_path)
    numbers = (tmp_path / "bench.csv").read_text(encoding="utf-8")
    writers = pictures.figure_writers(result)
    for name in ("bench.png", "bench.svg", "bench.csv"):
        assert names.is_picture(name)
        writers[name](tmp_path / name)
    assert (tmp_path / "bench.csv").read_text(encoding="utf-8") == numbers
    rows = list(csv.reader(numbers.splitlines()))
    assert len(rows) == 1 + len(bench_table(result.bench)[1]) == 24
    assert np.asarray(Image.open(tmp_path / "bench.png").convert("L")).min() < 60
    assert ">computed, back<" in (tmp_path / "bench.svg").read_text(encoding="utf-8")
    assert "bench.png" not in pictures.figure_writers(show_results.v_bend())


def test_the_activation_s_figure_leaves_the_bench_test_out() -> None:
    result = show_results.bench_test()
    assert activation_figure.shares(way.without_bench(result)) == pytest.approx([20.0 * k for k in range(6)])
    drawn = activation_figure.draw_activation(result)
    for axes in drawn.figure.axes:
        for line in axes.lines:
            if str(line.get_gid()).startswith("curve"):
                assert max(np.asarray(line.get_xdata(), dtype=float)) == 100.0
        assert axes.get_xlabel() == activation_figure.X_LABEL
    assert len(activation_figure.activation_table(result).rows) == 2 * 4 * 6


def test_the_axis_goes_on_through_the_stages() -> None:
    result = show_results.in_stages()
    assert way.stages_of(result.increments) == [(ACTIVATION, 5), ("back by half", 5), ("the canine moves", 5)]
    assert activation_figure.shares(result) == pytest.approx([20.0 * k for k in range(16)])
    drawn = activation_figure.draw_activation(result)
    axes = drawn.figure.axes[0]
    assert axes.get_xlabel() == activation_figure.X_LABEL_STAGES
    begins = [line.get_xdata()[0] for line in axes.lines if line.get_gid() == "stage"]
    assert begins == [0.0, 100.0, 200.0]
    assert axes.get_xlim()[1] > 300.0
    assert [text.get_text() for text in axes.texts if text.get_text().isdigit()] == ["1", "2", "3"]
    assert "Stages: 1: activation; 2: back by half; 3: the canine moves." in texts(drawn)


def test_a_stage_that_follows_one_of_the_same_name_is_another() -> None:
    one = show_results.v_bend().increments
    assert [count for _, count in way.stages_of(one + one)] == [5, 5]


def test_formulas_of_an_engagement_at_once_are_not_drawn_beside_another_way() -> None:
    result = show_results.v_bend()
    reference = ReferenceCurve("canine bracket", "second", (0.0, 1.0), (0.0, -14.0), "formula", "invented")
    tied = replace(result, increments=tuple(replace(one, stage="tying in it") for one in result.increments))
    for this, expected in ((result, 1), (show_results.in_stages(), 1), (tied, 0)):
        drawn = activation_figure.draw_activation(this, [reference])
        lines = [line for axes in drawn.figure.axes for line in axes.lines if line.get_gid() == "closed form"]
        assert len(lines) == expected
        table = activation_figure.activation_table(this, [reference])
        assert sum(str(row[0]).startswith("closed form") for row in table.rows) == 2 * expected
