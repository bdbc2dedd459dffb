"""The report as a page: what it says, what it looks like to a reader, and that it needs nothing but itself.

The rules of structure are those of WCAG 2.2, success criteria 1.1.1 (words for pictures), 1.3.1 and 2.4.6 (headings and
tables), 2.1.1 (keyboard), 2.4.1 (skip link), 3.1.1 (language) and 1.4.10 (nothing but tables and pictures scrolls
sideways); from memory.
"""

from __future__ import annotations

import argparse
import json
import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from io import StringIO
from pathlib import Path
from time import process_time

import numpy as np
import pytest
from rich.console import Console

from cases.cli import main
from cases.output import CAUTION, to_json, write_outputs
from cases.report import command
from cases.report.checks import checks_of
from cases.report.content import about, report_of
from cases.report.pictures import Pictures, line_pictures
from cases.report.stored import StoredError, read_result
from cases.results import (
    AccuracyResult,
    DeactivationReading,
    DeactivationResult,
    Error,
    Mesh,
    RunResult,
)
from cases.show.closed_form import closed_forms
from cases.show.errors import PictureError
from cases.summary import number
from cases.system_results import Followed, FollowStep
from cases.words import shown
from geometry.pose import Pose
from tests import shipped

CASES = ("torque-through-play", "levelling-lower-arch", "torque-test")
VOID = {"meta", "link", "img", "br", "hr", "path", "use"}


class Page(HTMLParser):
    """Elements of a page in their order, with their attributes and the text in them."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.texts: list[list[str]] = []
        self._open: list[int] = []
        self.feed(text)
        self.close()
        assert not self._open, "an element is not closed"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {key: value or "" for key, value in attrs}))
        self.texts.append([])
        if tag not in {"meta", "link", "img", "br", "hr"}:
            self._open.append(len(self.elements) - 1)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {key: value or "" for key, value in attrs}))
        self.texts.append([])

    def handle_endtag(self, tag: str) -> None:
        assert self.elements[self._open[-1]][0] == tag, f"{tag} closes {self.elements[self._open[-1]][0]}"
        self._open.pop()

    def handle_data(self, data: str) -> None:
        for k in self._open:
            self.texts[k].append(data)

    def named(self, *tags: str) -> Iterator[tuple[str, dict[str, str], str]]:
        for (tag, attributes), texts in zip(self.elements, self.texts, strict=True):
            if tag in tags:
                yield tag, attributes, "".join(texts)

    def by_id(self) -> dict[str, str]:
        pairs = zip(self.elements, self.texts, strict=True)
        return {found["id"]: "".join(texts) for (_, found), texts in pairs if "id" in found}


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    """The whole page of some shipped cases, an arch of twelve teeth among them; each takes at most 20 s of processor
    time: what others do on the machine is not its own."""
    out = {}
    for name in CASES:
        case, result = shipped.case(name), shipped.solved(name)
        start = process_time()
        out[name], failure = command.report_text(case, result)
        assert failure is None and process_time() - start < 20.0
    return out


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folders of stored results, one a case."""
    folder = tmp_path_factory.mktemp("stored")
    for name in CASES:
        write_outputs(shipped.solved(name), folder / name)
    return folder


def _lines(name: str, result: RunResult) -> Pictures:
    return line_pictures(shipped.case(name), result, closed_forms(shipped.case(name)))


@pytest.mark.parametrize("name", CASES)
def test_headings_are_in_order_and_everything_has_a_name(pages: dict[str, str], name: str) -> None:
    page = Page(pages[name])
    headings = [int(tag[1]) for tag, _, _ in page.named("h1", "h2", "h3", "h4")]
    assert headings[0] == 1 and headings.count(1) == 1
    assert all(after - before <= 1 for before, after in zip(headings, headings[1:], strict=False))
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids)) and not any(" " in one for one in ids)
    texts = page.by_id()
    for _, attributes in page.elements:
        for key in ("href", "xlink:href"):
            if attributes.get(key, "").startswith("#"):
                assert attributes[key][1:] in texts
        for one in attributes.get("aria-labelledby", "").split():
            assert texts[one].strip()
        for one in re.findall(r"url\(#([^)]*)\)", " ".join(attributes.values())):
            assert one in texts
    assert next(attributes for _, attributes, _ in page.named("html"))["lang"] == "en"
    sections = [attributes["id"] for _, attributes, _ in page.named("section")]
    links = [attributes["href"][1:] for _, attributes, _ in page.named("a")]
    assert set(sections) <= set(links) and links[0] == sections[0]


@pytest.mark.parametrize("name", CASES)
def test_every_picture_is_told_in_words_with_numbers(pages: dict[str, str], name: str) -> None:
    page = Page(pages[name])
    texts = page.by_id()
    pictures = list(page.named("svg"))
    for _, attributes, _ in pictures:
        assert attributes["role"] == "img"
        title, words = (texts[one] for one in attributes["aria-labelledby"].split())
        assert title and words
        assert title == "Legend" or re.search(r"\d", words)
    images = [attributes for _, attributes, _ in page.named("img")]
    assert len(images) == 1 and len(pictures) >= 6
    for item in shipped.solved(name).attachments:
        assert item.name in images[0]["alt"]


@pytest.mark.parametrize("name", CASES)
def test_what_scrolls_within_itself_can_be_reached_with_the_keyboard(
    pages: dict[str, str], name: str
) -> None:
    page = Page(pages[name])
    scrolling = [a for _, a, _ in page.named("div", "pre") if "scroll" in a.get("class", "").split()]
    scrolling += [a for _, a, _ in page.named("pre")]
    assert all(a["tabindex"] == "0" and a["aria-label"] and a["role"] for a in scrolling)
    assert len(list(page.named("table"))) == len(
        [a for a in scrolling if "table" in a.get("class", "").split()]
    )
    assert all(a.get("scope") in {"col", "row"} for _, a, _ in page.named("th"))
    assert len(list(page.named("caption"))) == len(list(page.named("table")))


@pytest.mark.parametrize("name", CASES)
def test_nothing_is_fetched_and_nothing_runs(pages: dict[str, str], name: str) -> None:
    text = pages[name]
    page = Page(text)
    assert not list(page.named("script", "iframe", "object", "embed", "form", "base"))
    assert not re.search(r"https?:|@import|@font-face|javascript:", text)
    assert not re.search(r"url\((?!#)", text)
    for _, attributes in page.elements:
        assert not any(key.startswith("on") for key in attributes)
        for key in ("src", "srcset", "poster", "data", "action"):
            assert attributes.get(key, "data:").startswith("data:")
        assert attributes.get("href", "#").startswith(("#", "data:,"))
    policy = next(a for _, a, _ in page.named("meta") if a.get("http-equiv") == "Content-Security-Policy")
    assert policy["content"].startswith("default-src 'none'") and "script" not in policy["content"]
    assert len(text.encode()) < 15_000_000


@pytest.mark.parametrize("name", CASES)
def test_the_numbers_are_those_of_the_result(pages: dict[str, str], name: str) -> None:
    page = Page(pages[name])
    data = to_json(shipped.solved(name))
    rows = re.findall(r"<tr>(.*?)</tr>", pages[name])
    cells = [
        tuple(re.sub("<[^>]*>", "", cell) for cell in re.findall(r"<t[hd].*?</t[hd]>", row)) for row in rows
    ]
    whole = " ".join(text for _, _, text in page.named("body"))
    for place, item in enumerate(data["attachments"], start=1):
        loads = [shown(value) for value in (*item["force_n"], *item["moment_nmm"])]
        own = [row for row in cells if row[0].startswith(f"{place}  ") and len(row) == 9]
        assert [row for row in own if [*row[1:4], *row[5:8]] == loads]
        for order, told in item["orders"].items():
            moment, engaged = number(told["moment_nmm"]), number(told["engagement_deg"])
            couple = "yes" if told["carries_couple"] else "no"
            assert any(
                row[1:3] == (order, moment) and row[4] == engaged and row[-1] == couple
                for row in cells
                if row[0] == f"{place}  {item['name']}"
            )
        for words in item["words"]:
            assert words in whole
    assert f"{shown(data['wire']['largest_stress_mpa'])} MPa" in whole
    assert data["provenance"]["case_sha256"] in whole and data["provenance"]["date"] in whole
    for text in data["system"]["words"]:
        assert text in whole
    for text in data["assumptions"]:
        assert text.removesuffix(".")[1:] in whole
    assert whole.count(CAUTION) >= 2
    for paragraph in about(shipped.case(name)):
        assert paragraph in whole


def test_the_question_is_what_the_case_file_says_of_itself() -> None:
    paragraphs = about(shipped.case("torque-through-play"))
    assert paragraphs[1].startswith("Two upper incisor brackets, the second inclined by 20 deg.")
    noted = replace(
        shipped.case("torque-through-play"), note="A remark.", source_text='title = "x"\n# not this\n'
    )
    assert about(noted) == ("A remark.",)


def test_what_is_stored_is_read_to_the_last_bit(stored: Path, tmp_path: Path) -> None:
    for name in CASES:
        case = shipped.case(name)
        read = read_result(stored / name, case)
        assert to_json(read) == json.loads((stored / name / "result.json").read_text(encoding="utf-8"))
        own = shipped.solved(name).wire
        for field in (
            "positions_mm",
            "axes",
            "passive_positions_mm",
            "bending_stress_mpa",
            "force_n",
            "moment_nmm",
        ):
            assert np.array_equal(getattr(read.wire, field), getattr(own, field))


def test_what_few_runs_say_is_read_too(tmp_path: Path) -> None:
    """A wire that snapped, a tooth that moved, an estimate of the error: made up."""
    name = "torque-through-play"
    result = shipped.solved(name)
    first, *others = result.increments
    assert result.system is not None and result.system.orders["third"].with_couple
    moved = Followed("x", Pose.identity(), 0.25, 1.0, (0.0, 1.0, 0.0), (2.0, 0.0, 0.0))
    error = Error(1e-3, 17.0, 0.006, "central incisor bracket")
    once = AccuracyResult(
        Mesh(80, 30), Mesh(160, 58), Error(0.0, 0.0, None, "x"), error, ("Off by little.",), 0.1
    )
    told = replace(
        result,
        increments=(replace(first, let_down=True, set_free_nmm=0.25), *others),
        deactivations=(
            DeactivationResult("back", "x", True, (DeactivationReading(0.0, 1.0, 2.0, 3.0),), 0.5, 1.0, None),
            DeactivationResult(
                "on", "x", False, (DeactivationReading(1.0, 0.0, 2.0, 3.0),), None, None, None
            ),
        ),
        system=replace(result.system, following=(FollowStep("on, step 1", 1, (moved,)),)),
        accuracy=replace(once, sequence=(replace(once, words=(), wanted_percent=None),)),
    )
    write_outputs(told, tmp_path)
    read = read_result(tmp_path, shipped.case(name))
    assert to_json(read) == to_json(told)
    assert (read.deactivations, read.accuracy) == (told.deactivations, told.accuracy)
    assert read.system is not None and read.system.orders == result.system.orders


def test_the_same_result_gives_the_same_page_and_so_does_the_stored_one(
    pages: dict[str, str], stored: Path
) -> None:
    for name in ("torque-through-play", "torque-test"):
        case = shipped.case(name)
        assert command.report_text(case, read_result(stored / name, case))[0] == pages[name]


def test_stored_results_of_another_case_are_refused(stored: Path, tmp_path: Path) -> None:
    case = shipped.case("torque-through-play")
    with pytest.raises(
        StoredError, match=r"torque-through-play\.toml is not the case file.*leave out --results"
    ):
        read_result(stored / "torque-test", case)
    with pytest.raises(StoredError, match="has been changed since"):
        read_result(stored / "torque-through-play", replace(case, source_text=case.source_text + "#"))
    with pytest.raises(StoredError, match=r"result\.json cannot be read"):
        read_result(tmp_path, case)
    (tmp_path / "result.json").write_text("[", encoding="utf-8")
    with pytest.raises(StoredError, match="is no result of a run"):
        read_result(tmp_path, case)
    table = shipped.case("levelling-lower-arch")
    other = replace(table, data_files=tuple(replace(file, sha256="0") for file in table.data_files))
    with pytest.raises(StoredError, match=r"levelling-lower-arch-teeth\.csv"):
        read_result(stored / "levelling-lower-arch", other)


def test_a_stored_result_without_a_key_is_told(stored: Path, tmp_path: Path) -> None:
    folder = tmp_path / "cut"
    shutil.copytree(stored / "torque-through-play", folder)
    data = json.loads((folder / "result.json").read_text(encoding="utf-8"))
    del data["equilibrium"]
    (folder / "result.json").write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(StoredError, match="not as this version writes them"):
        read_result(folder, shipped.case("torque-through-play"))


@pytest.mark.parametrize(
    ("status", "words"),
    [("unstable", "unstable: do not use"), ("too_many_iterations", "no equilibrium found")],
)
def test_a_result_that_may_not_be_used_says_so_across_page_and_pictures(status: str, words: str) -> None:
    name = "torque-through-play"
    result = replace(shipped.solved(name), status=status)
    report = report_of(shipped.case(name), result, ())
    pictures = _lines(name, result)
    from cases.report.html import page as written

    text = written(report, pictures)
    page = Page(text)
    banner = next(told for _, a, told in page.named("p") if a.get("class") == "banner")
    assert words in banner.lower()
    drawn = (*pictures.views, *pictures.slots, *pictures.curves, pictures.stress)
    assert len(drawn) == 8
    for one in drawn:
        assert "-banner" in one.markup and "do not use these figures" in _text(one.markup)
    sound = _lines(name, shipped.solved(name))
    assert not any("-banner" in one.markup for one in (*sound.views, *sound.slots, *sound.curves))


def _text(markup: str) -> str:
    return " ".join(re.sub("<[^>]*>", " ", markup).split())


def test_no_banner_where_all_is_well(pages: dict[str, str]) -> None:
    assert not any('class="banner"' in text for text in pages.values())


def test_sums_are_added_up_anew_and_closed_forms_laid_beside() -> None:
    name = "torque-through-play"
    case, result = shipped.case(name), shipped.solved(name)
    found = checks_of(result, closed_forms(case))
    sums = [one for one in found if one.kind == "sum"]
    assert [one.verdict for one in sums] == ["holds", "holds"]
    first, *others = result.attachments
    x, y, z = first.force_n
    pushed = replace(result, attachments=(replace(first, force_n=(x, y + 1e-3, z)), *others))
    wrong = [one for one in checks_of(pushed, ()) if one.kind == "sum"]
    assert [one.verdict for one in wrong] == ["does not hold", "holds"]  # it acts at the origin
    assert wrong[0].found == pytest.approx(1e-3, rel=1e-5)
    # GJ/L (20 deg - 2 x 7.242 deg), with J of 0.019 x 0.025 in from the handbook's series, over 5 mm: see README
    torque = [one for one in found if "third-order moment" in one.what]
    assert len(torque) == 2 and all(abs(one.percent or 1.0) < 0.1 for one in torque)
    plays = [one for one in found if "rolled by its play" in one.what]
    assert len(plays) == 1 and plays[0].difference == pytest.approx(0.0, abs=1e-12)


def test_a_page_without_the_scene_where_nothing_draws(
    stored: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(result: RunResult) -> None:
        raise PictureError("no picture: nothing on this machine draws")

    monkeypatch.setattr("cases.report.pictures.scene_picture", fail)
    name = "torque-through-play"
    options = argparse.Namespace(case=shipped.case(name).path, results=stored / name, out=tmp_path / "page")
    assert command.report(options, Console(file=StringIO()), lambda case: None) == 1
    assert "without the picture of the wire: no picture" in capsys.readouterr().err
    text = (tmp_path / "page" / "report.html").read_text(encoding="utf-8")
    assert "could not be drawn" in text and "<img" not in text and "<svg" in text


def test_the_command_reads_stored_results_and_else_solves(stored: Path, tmp_path: Path) -> None:
    name = "torque-through-play"
    case = shipped.case(name)
    folder = tmp_path / "a"
    shutil.copytree(stored / name, folder)
    before = (folder / "result.json").read_bytes()

    def never(case: object) -> None:
        raise AssertionError("stored results were solved again")

    options = argparse.Namespace(case=case.path, results=folder, out=None)
    assert command.report(options, Console(file=StringIO()), never) == 0
    assert (folder / "result.json").read_bytes() == before and (folder / "report.html").exists()
    options = argparse.Namespace(case=case.path, results=None, out=tmp_path / "b")
    assert command.report(options, Console(file=StringIO()), lambda case: shipped.solved(name)) == 0
    assert {"result.json", "wire.csv", "report.html"} <= {path.name for path in (tmp_path / "b").iterdir()}
    same = (folder / "report.html").read_bytes(), (tmp_path / "b" / "report.html").read_bytes()
    assert same[0] == same[1]
    options = argparse.Namespace(case=case.path, results=None, out=tmp_path / "c")
    assert command.report(options, Console(file=StringIO()), lambda case: None) == 3
    assert not (tmp_path / "c").exists()


def test_the_command_from_the_outside(
    stored: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name = "torque-through-play"
    case = str(shipped.case(name).path)
    out = tmp_path / "page"
    assert main(["report", case, "--results", str(stored / name), "--out", str(out)]) == 0
    assert [path.name for path in out.iterdir()] == ["report.html"]
    assert str(out / "report.html") in capsys.readouterr().out
    assert main(["report", case, "--results", str(stored / "torque-test")]) == 2
    assert "do not belong to this case" in capsys.readouterr().err
