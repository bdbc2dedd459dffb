"""Single figures: the size of their texts on a slide and in print, their files, their words, what they refuse."""

from __future__ import annotations

import argparse
import re
from dataclasses import replace
from io import StringIO
from pathlib import Path
from xml.etree import ElementTree

import pytest
from matplotlib.image import imread
from rich.console import Console

from cases.files import write_whole
from cases.output import CAUTION
from cases.report import command
from cases.report.figure import STYLES, FigureError, draw_figure, enlarged, figure_writers
from cases.report.options import STYLES as STYLE_NAMES
from cases.report.options import WHAT
from cases.report.panels import Room, draw_curve, draw_view
from cases.show.closed_form import closed_forms
from cases.show.pictures import figure_writers as line_figures
from tests import figure_cases, overlaps, shipped
from tests.figure_cases import BACK, SOFT
from tests.show_results import EVERY, row_of_brackets

LEAST = {"slide": 18.0, "paper": 8.0}
"""Points, at the figure's own size: what a slide and a page of print are asked for."""
TORQUE, ARCH, BENCH = "torque-through-play", "levelling-lower-arch", "torque-test"
DRAWN = (
    *(
        (TORQUE, what)
        for what in ("facial", "occlusal", "mesiodistal", "slot", "force", "third", "torque", "stress")
    ),
    *((BACK, what) for what in ("second", "ratio", "back")),
    (SOFT, "walls"),
    (ARCH, "facial"),
    (BENCH, "bench"),
)


def _files(name: str, what: str, style: str, folder: Path) -> tuple[Path, Path, Path]:
    case = figure_cases.case(name)
    drawn = draw_figure(case, figure_cases.run(name).result, what, style, closed_forms(case))
    png, svg, csv = write_whole(folder, figure_writers(drawn, what))
    return png, svg, csv


def _inches(length: str) -> float:
    return float(length.removesuffix("pt")) / 72.0


@pytest.mark.parametrize("style", STYLE_NAMES)
@pytest.mark.parametrize(("name", "what"), DRAWN)
def test_texts_are_large_enough_at_the_size_of_the_figure(
    name: str, what: str, style: str, tmp_path: Path
) -> None:
    png, svg, csv = _files(name, what, style, tmp_path)
    root = ElementTree.parse(svg).getroot()
    width, height = _inches(root.attrib["width"]), _inches(root.attrib["height"])
    shown_width = float(root.attrib["viewBox"].split()[2])
    scale = 72.0 * width / shown_width
    sizes = [
        float(size)
        for size in re.findall(r"font(?:-size)?:[^;\"]*?([0-9.]+)px", svg.read_text(encoding="utf-8"))
    ]
    assert sizes and min(sizes) * scale >= LEAST[style] - 1e-3
    if style == "slide":
        assert (width, height) == (pytest.approx(40.0 / 3.0, abs=0.01), pytest.approx(7.5, abs=0.01))
        assert imread(png).shape[:2] == (1080, 1920)
    else:
        assert width == pytest.approx(6.3) and height < 9.0  # within the margins of A4 and Letter
        assert imread(png).shape[1] == 1890
    words = " ".join(" ".join(root.itertext()).split())
    assert CAUTION in words and figure_cases.case(name).title in words
    assert len(csv.read_text(encoding="utf-8").splitlines()) > 2


@pytest.mark.parametrize(("name", "what"), DRAWN)
def test_a_figure_is_the_same_each_time(name: str, what: str, tmp_path: Path) -> None:
    one = _files(name, what, "paper", tmp_path / "a")
    two = _files(name, what, "paper", tmp_path / "b")
    assert [path.read_bytes() for path in one] == [path.read_bytes() for path in two]


def test_the_file_tells_who_cannot_see_it(tmp_path: Path) -> None:
    png, svg, _ = _files(TORQUE, "third", "paper", tmp_path)
    for text in (svg.read_text(encoding="utf-8"), png.read_bytes().decode("latin-1")):
        assert "Third-order moment on the teeth" in text and "closed form GJ/L" in text


@pytest.mark.parametrize(("name", "what"), DRAWN)
def test_an_unsound_result_says_so_across_the_figure(name: str, what: str) -> None:
    unstable = replace(figure_cases.run(name).result, status="unstable")
    drawn = draw_figure(figure_cases.case(name), unstable, what, "slide")
    assert any("do not use these figures" in text.get_text() for text in drawn.figure.texts)


def test_the_slot_is_that_which_is_asked_for_else_the_one_with_the_largest_torque() -> None:
    case, result = shipped.case(TORQUE), shipped.solved(TORQUE)
    torques = {item.name: abs(item.orders["third"].moment_nmm) for item in result.attachments}
    # both brackets bear the same torque but for rounding: the first of them
    most = next(name for name, torque in torques.items() if torque > 0.999 * max(torques.values()))
    assert most in draw_figure(case, result, "slot", "paper").title
    for name in torques:
        assert name in draw_figure(case, result, "slot", "slide", attachment=name).title


@pytest.mark.parametrize(
    ("name", "what", "style", "attachment", "words"),
    [
        (TORQUE, "bench", "paper", None, "no figure bench that shows anything; there are: facial"),
        (TORQUE, "first", "paper", None, "no figure first"),
        (TORQUE, "back", "paper", None, "no figure back"),
        (TORQUE, "walls", "paper", None, "no figure walls"),
        (BENCH, "torque", "paper", None, "no figure torque"),
        (ARCH, "mesiodistal", "paper", None, "no figure mesiodistal"),
        (
            TORQUE,
            "slot",
            "slide",
            "canine",
            'no slot belongs to "canine"; there are: central incisor bracket',
        ),
        (TORQUE, "facial", "slide", "canine", "--attachment goes with --what slot, back, torque"),
    ],
)
def test_what_a_case_does_not_have_is_refused(
    name: str, what: str, style: str, attachment: str | None, words: str
) -> None:
    with pytest.raises(FigureError, match=re.escape(words)):
        draw_figure(shipped.case(name), shipped.solved(name), what, style, (), attachment)


def test_the_command(tmp_path: Path) -> None:
    assert set(STYLES) == set(STYLE_NAMES) and {what for _, what in DRAWN} < set(WHAT)
    options = argparse.Namespace(
        case=shipped.case(TORQUE).path,
        results=None,
        out=tmp_path,
        what="slot",
        style="slide",
        attachment=None,
        measured=None,
        theory=None,
        study=None,
    )
    said = StringIO()
    assert command.figure(options, Console(file=said, width=400), lambda case: shipped.solved(TORQUE)) == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "figure-slot-slide.csv",
        "figure-slot-slide.png",
        "figure-slot-slide.svg",
    ]
    assert "Slot of central incisor bracket (tooth 21) with the wire in it" in said.getvalue()
    assert command.figure(options, Console(file=said), lambda case: None) == 3


def test_enlarging_touches_nothing_but_the_size() -> None:
    text = '<?xml version="1.0"?>\n<svg height="36pt" viewBox="0 0 72 36" width="72pt"><rect width="3pt"/></svg>\n'
    assert enlarged(text, 2.0) == text.replace("36pt", "72pt", 1).replace('width="72pt"', 'width="144pt"')


@pytest.mark.parametrize("style", STYLE_NAMES)
@pytest.mark.parametrize(("name", "what"), DRAWN)
def test_no_text_lies_over_an_arrow_or_another_text_or_leaves_the_sheet(
    name: str, what: str, style: str
) -> None:
    case = figure_cases.case(name)
    figure = draw_figure(case, figure_cases.run(name).result, what, style, closed_forms(case)).figure
    figure.canvas.draw()
    assert overlaps.outside(figure) == []
    for axes in figure.axes:
        assert overlaps.covered(axes) == []
        assert overlaps.over_each_other(overlaps.written_on(axes), figure) == []


@pytest.mark.parametrize("name", [name for name, _ in EVERY.items()])
@pytest.mark.parametrize("key", ["facial", "occlusal", "mesiodistal"])
def test_no_value_lies_over_an_arrow_where_arrows_are_many(name: str, key: str) -> None:
    panel = draw_view(EVERY[name](), key, Room(6.1, 2.4), tight=True)
    panel.sheet.figure.canvas.draw()
    (axes,) = panel.sheet.figure.axes
    assert overlaps.covered(axes) == []


def test_too_many_curves_are_refused() -> None:
    with pytest.raises(ValueError, match="40 curves have no room"):
        draw_curve(row_of_brackets(40), "force", Room(6.1, 2.4), legend=True)


def test_the_looking_for_overlaps_finds_them() -> None:
    panel = draw_view(EVERY["cantilever"](), "facial", Room(6.1, 2.4), tight=True)
    (axes,) = panel.sheet.figure.axes
    arrow = next(one for one in axes.patches if one.get_gid() == "force")
    axes.text(*arrow.get_xy().mean(axis=0), "over it")
    panel.sheet.figure.canvas.draw()
    assert ("over it", "force") in overlaps.covered(axes)


@pytest.mark.parametrize("name", [TORQUE, BENCH])
def test_the_pictures_of_a_run_are_the_same_each_time(name: str, tmp_path: Path) -> None:
    case, result = shipped.case(name), shipped.solved(name)
    for folder in ("a", "b"):
        write_whole(tmp_path / folder, line_figures(result, closed_forms(case)))
    names = sorted(path.name for path in (tmp_path / "a").iterdir())
    assert {Path(one).suffix for one in names} == {".png", ".svg", ".csv"}
    for one in names:
        assert (tmp_path / "a" / one).read_bytes() == (tmp_path / "b" / one).read_bytes()


@pytest.mark.parametrize("style", STYLE_NAMES)
def test_long_names_are_broken_in_a_legend(style: str) -> None:
    result = shipped.solved(BENCH)
    assert result.bench is not None
    long = "a very long name of a file with many words in it that says what rig it was and when " * 2
    named = replace(result, bench=replace(result.bench, measured_file=f"{long.strip()}.csv"))
    figure = draw_figure(shipped.case(BENCH), named, "bench", style).figure
    figure.canvas.draw()
    assert overlaps.outside(figure) == []
    texts = [text for legend in figure.legends for text in legend.get_texts()]
    assert any("\n" in text.get_text() for text in texts) and overlaps.over_each_other(texts, figure) == []
