"""Figures of factor studies and comparisons: what is drawn is what the tables say, and what must be said is said."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from matplotlib.container import BarContainer
from matplotlib.lines import Line2D
from matplotlib.text import Text
from PIL import Image

from cases.output import CAUTION
from cases.show import compare_figure, factor_figure
from cases.show.sheet import Sheet
from cases.show.study_sheet import save_study
from cases.studies.factors import STUDIES
from cases.studies.own_case import run_own
from cases.studies.report import columns_and_rows, percent
from cases.studies.run_study import Found, differences
from tests.shipped import case
from tests.studied import compared, study


@cache
def drawn(name: str) -> Sheet:
    return factor_figure.draw_factor(study(name))


def texts(sheet: Sheet) -> list[str]:
    return [text.get_text() for text in sheet.figure.findobj(Text) if text.get_text()]


def lines(sheet: Sheet, panel: int, gid: str) -> list[Line2D]:
    """Lines of one panel whose name begins so."""
    found = sheet.figure.axes[panel].get_lines()
    return [one for one in found if str(one.get_gid()).startswith(gid)]


def records(found: Found) -> list[dict[str, object]]:
    table = columns_and_rows(found)
    return [dict(zip(table.columns, row, strict=True)) for row in table.rows]


def plotted(line: Line2D) -> list[tuple[float, float]]:
    x, y = np.asarray(line.get_xdata(), float), np.asarray(line.get_ydata(), float)
    return [(float(a), float(b)) for a, b in zip(x, y, strict=True) if not math.isnan(b)]


@pytest.mark.parametrize("name", STUDIES)
def test_drawn_numbers_are_those_of_the_table(name: str) -> None:
    found, sheet = study(name), drawn(name)
    columns = (
        ("couple_nmm", "rate_nmm_per_deg", "play_deg")
        if found.torque
        else ("force_n", "couple_nmm", "moment_to_force_mm")
    )
    table = records(found)
    for panel, column in enumerate(columns):
        for series, attachment in found.lines:
            rows = [one for one in table if (one["kept_equal"], one["attachment"]) == (series, attachment)]
            ours = [one[column] for one in rows if one[column] is not None]
            told = lines(sheet, panel, f"ours {series} {attachment}")
            if not told:  # the mirror image of the first attachment
                assert found.study.signed and column == "force_n" and attachment == "second"
                continue
            assert [y for _, y in plotted(told[0])] == ours
            if STUDIES[name].unit:
                places = [one[STUDIES[name].column] for one in rows if one[column] is not None]
                assert [x for x, _ in plotted(told[0])] == places


@pytest.mark.parametrize("name", STUDIES)
def test_the_formula_stands_beside(name: str) -> None:
    found, sheet = study(name), drawn(name)
    column = "formula_couple_nmm"
    panel = 0 if found.torque else 1
    told = [plotted(one) for one in lines(sheet, panel, "formula")]
    assert told
    table = records(found)
    for series, attachment in found.lines:
        rows = [one for one in table if (one["kept_equal"], one["attachment"]) == (series, attachment)]
        assert [one[column] for one in rows] in [[y for _, y in line] for line in told]
    if STUDIES[name].unit:
        assert all(one.is_dashed() for one in lines(sheet, panel, "formula"))
    assert any("small-deflection formula" in text for text in texts(sheet))


@pytest.mark.parametrize("name", STUDIES)
def test_differences_are_drawn_and_written(name: str) -> None:
    found, sheet = study(name), drawn(name)
    said = texts(sheet)
    first = next(iter(found.lines))
    rows = found.lines[first]
    (line,) = lines(sheet, 3, f"difference of couple {first[0]} {first[1]}")
    known = [value for row in rows if (value := differences(found, row)[1]) is not None]
    assert [y for _, y in plotted(line)] == known
    assert percent(known[-1]).replace("-", "\N{MINUS SIGN}") in said


@pytest.mark.parametrize("name", STUDIES)
def test_a_figure_says_what_it_stands_on(name: str) -> None:
    said = " ".join(texts(drawn(name)))
    for words in (STUDIES[name].question, "common practice, no source", "Invented", "Young's modulus"):
        assert words in said
    assert CAUTION.split(". ")[0] in said
    assert "Source:" in said and STUDIES[name].formula.split(",")[0] in said
    beyond = any((row.yield_share or 0.0) > 1.0 for row in study(name).rows)
    assert ("Beyond yield" in said) == beyond


@pytest.mark.parametrize("name", STUDIES)
def test_axes_carry_units(name: str) -> None:
    sheet, one = drawn(name), STUDIES[name]
    for axes in sheet.figure.axes:
        assert axes.get_ylabel().count("(") == 1
        assert axes.get_xlabel() == (f"{one.factor} ({one.unit})" if one.unit else "")
    if not one.unit:
        ticks = [text.get_text() for text in sheet.figure.axes[0].get_xticklabels()]
        assert ticks == [row.label for row in study(name).rows]


@pytest.mark.parametrize("name", STUDIES)
def test_nothing_written_lies_outside_or_over_the_foot(name: str) -> None:
    sheet = drawn(name)
    renderer = sheet.figure.canvas.get_renderer()  # type: ignore[attr-defined]
    width, height = sheet.figure.bbox.width, sheet.figure.bbox.height
    foot = sheet.room.bottom / sheet.height * height
    for axes in sheet.figure.axes:
        box = axes.get_tightbbox(renderer)
        assert box is not None
        assert box.x0 >= 0.0 and box.x1 <= width and box.y1 <= height and box.y0 >= foot


def test_lines_are_told_apart_in_grey() -> None:
    looks = list(factor_figure.looks(study("bend-position")).values())
    assert len({(look.marker, look.filled, look.line) for look in looks}) == 4


def test_a_gap_where_there_is_no_ratio() -> None:
    """Half-way no force is left: the ratio has no point there and its line is broken."""
    (line,) = lines(drawn("bend-position"), 2, "ours ends built in first")
    values = np.asarray(line.get_ydata(), float)
    assert np.isnan(values[5]) and np.isfinite(np.delete(values, 5)).all()


def test_the_range_of_an_alloy_is_drawn() -> None:
    upright = lines(drawn("alloy"), 1, "range of the alloy")
    assert len(upright) == 4
    for line, row in zip(upright, study("alloy").rows, strict=True):
        assert row.spread is not None and row.loads is not None
        assert [y for _, y in plotted(line)] == [share * row.loads.couple_nmm for share in row.spread]


def test_unsound_points_are_crossed_out_and_said() -> None:
    found = study("distance")
    shaky = replace(found.rows[0], status="unstable")
    failed = replace(found.rows[1], loads=None, status="no equilibrium found")
    rows = (shaky, failed, *found.rows[2:])
    sheet = factor_figure.draw_factor(replace(found, rows=rows))
    (crossed, *_) = [one for one in lines(sheet, 0, "unsound") if len(plotted(one))]
    assert plotted(crossed)[0][0] == found.rows[0].place
    said = " ".join(texts(sheet))
    assert "Unstable: do not use these figures" in said and "No equilibrium found" in said
    (line,) = lines(sheet, 0, f"ours {found.rows[0].series} tube")
    assert len(plotted(line)) == len(found.rows) // 2 - 1


def test_an_own_case_without_a_formula(tmp_path: Path) -> None:
    found = run_own(STUDIES["wire-size"], case("v-bend"), ["0.014 in", "0.016 in"])
    sheet = factor_figure.draw_factor(found)
    said = " ".join(texts(sheet))
    assert "v-bend.toml" in said and "No closed form" in said and "invented;" not in said
    assert not lines(sheet, 0, "formula") and len(sheet.figure.axes) == 3


@pytest.mark.parametrize("kind", [".png", ".svg"])
def test_files(kind: str, tmp_path: Path) -> None:
    path = save_study(drawn("play"), "a title", tmp_path / f"factor{kind}")
    if kind == ".svg":
        text = path.read_text(encoding="utf-8")
        assert "What does slot play do to torque?" in text and CAUTION[:30] in text
        assert (
            save_study(drawn("play"), "a title", tmp_path / "again.svg").read_text(encoding="utf-8") == text
        )
        return
    grey = np.asarray(Image.open(path).convert("L"))
    assert grey.shape[1] == 1800 and (grey < 100).mean() > 0.005
    with pytest.raises(ValueError, match=r"saved as \.png or \.svg"):
        save_study(drawn("play"), "a title", tmp_path / "factor.pdf")


# Comparisons -----------------------------------------------------------------------------------------------------

PAIRS = (("torque-through-play", "torque-round-wire"), ("molar-uprighting", "v-bend"))


@pytest.mark.parametrize("names", PAIRS)
def test_bars_are_as_long_as_their_numbers(names: tuple[str, ...]) -> None:
    found = compared(*names)
    sheet = compare_figure.draw_comparison(found)
    for panel, axes in zip(compare_figure.panels(found), sheet.figure.axes, strict=True):
        bars = [one for one in axes.containers if isinstance(one, BarContainer)]
        told = [(str(one.patches[0].get_gid()), float(one.patches[0].get_width())) for one in bars]
        assert told == [
            (f"bar {letter} {label}", value) for label, letter, value in compare_figure.drawn(found, panel)
        ]
        assert axes.get_xlabel().endswith(")")


def test_a_comparison_says_its_cases_and_what_stands_alone() -> None:
    found = compared(*PAIRS[1])
    said = " ".join(texts(compare_figure.draw_comparison(found)))
    for member in found.members:
        assert member.case.title in said and member.case.path.name in said
    assert "Only in A: molar tube." in said and CAUTION.split(". ")[0] in said
    assert "No moment to speak of in first and third order." in said


def test_values_are_written_at_the_bars() -> None:
    found = compared(*PAIRS[0])
    said = texts(compare_figure.draw_comparison(found))
    assert "A: 17.0" in said and "A: \N{MINUS SIGN}17.0" in said and "B: 0" in said


def test_an_arch_of_twelve_teeth_fits() -> None:
    found = compared("levelling-lower-arch", "levelling-lower-arch")
    sheet = compare_figure.draw_comparison(found)
    renderer = sheet.figure.canvas.get_renderer()  # type: ignore[attr-defined]
    for axes in sheet.figure.axes:
        inside = axes.get_window_extent(renderer)
        boxes = [text.get_window_extent(renderer) for text in axes.texts]
        assert all(inside.x0 - 1.0 <= box.x0 and box.x1 <= inside.x1 + 1.0 for box in boxes)
        rows = sorted(boxes, key=lambda box: box.y0)
        assert all(one.y1 <= other.y0 + 3.0 for one, other in zip(rows, rows[1:], strict=False))


def test_cases_differ_in_hatching() -> None:
    assert len(set(compare_figure.FILLS)) == 6
    grey = [Image.new("RGB", (1, 1), fill).convert("L").getpixel((0, 0)) for fill, _ in compare_figure.FILLS]
    hatched = [bool(hatch) for _, hatch in compare_figure.FILLS]
    told = {(hatch, int(value) // 40) for value, hatch in zip(grey, hatched, strict=True)}  # type: ignore[arg-type]
    assert len(told) >= 5
