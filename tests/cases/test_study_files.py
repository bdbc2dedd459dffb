"""Study files: paths of keys, and what is refused before anything runs, with line, key and remedy."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from cases.casefile import LIBRARY
from cases.cli import main
from cases.errors import CaseFileError
from cases.study.keys import BadKey, resolve, with_value
from cases.study.quantities import Unit, unit_of
from cases.study.studyfile import MOST_ROWS, load_study
from tests.study_texts import CASE, SLOT, normal, sample, study_of, text_of, vary

DATA = tomllib.loads(CASE.read_text(encoding="utf-8"))
INCLINATION = vary('attachment["lateral incisor bracket"].inclination', 'values = ["5 deg", "20 deg"]')
WIRE = normal("wire.section.height", 0.019, 0.0002)


@pytest.mark.parametrize(
    ("path", "key"),
    [
        ("wire.section.height", ("wire", "section", "height")),
        ('attachment["lateral incisor bracket"].slot.height', ("attachment", 1, "slot", "height")),
        ("attachment['lateral incisor bracket'].slot.height", ("attachment", 1, "slot", "height")),
        ("attachment[2].position.y", ("attachment", 1, "position", 1)),
        ("attachment[2].position[2]", ("attachment", 1, "position", 1)),
        ("wire.passive_shape[1].straight", ("wire", "passive_shape", 0, "straight")),
        ("wire.friction", ("wire", "friction")),  # one that the case leaves at its default
    ],
)
def test_paths(path: str, key: tuple[str | int, ...]) -> None:
    assert resolve(path, DATA) == key


@pytest.mark.parametrize(
    ("path", "message", "remedy"),
    [
        ("wire.sectoin.height", 'no "sectoin" in wire', 'did you mean "section"?'),
        ("attachment.slot.height", "attachment is a list", 'attachment["central incisor bracket"]'),
        ('attachment["lateral incisor"].slot', 'none called "lateral incisor"', "lateral incisor bracket"),
        ("attachment[3].slot", "has 2 items, not 3", "from 1 to 2"),
        ("attachment[0].slot", "counts from 0", "count from 1"),
        ("wire.material.poisson", "wire.material is a value", "make it a table"),
        ("wire[1]", "wire is a table, not a list", "with a dot"),
        ("attachment[1].position", "", ""),
        ("wire..section", 'cannot be read from "..section" on', "single quotes"),
        ("", "an empty path", "wire.section.height"),
        ("attachment[1].position.w", "attachment[1].position is a list", ".x, .y or .z"),
    ],
)
def test_paths_that_lead_nowhere(path: str, message: str, remedy: str) -> None:
    if not message:  # a whole list is a key too
        assert resolve(path, DATA) == ("attachment", 0, "position")
        return
    with pytest.raises(BadKey) as wrong:
        resolve(path, DATA)
    assert message in wrong.value.message and remedy in wrong.value.remedy


def test_a_value_is_put_into_a_copy() -> None:
    before = tomllib.loads(CASE.read_text(encoding="utf-8"))
    after = with_value(DATA, ("attachment", 1, "position", 1), "0.1 mm")
    assert before == DATA and after["attachment"][1]["position"] == ["8 mm", "0.1 mm", "0 mm"]
    assert after["attachment"][0] is DATA["attachment"][0]  # what lies aside is shared


def test_units() -> None:
    assert unit_of("0.019 in") == Unit("in") and unit_of(0.3) == Unit() and unit_of("closed") is None
    assert [unit_of(text).suffix for text in ("2 N/mm", "5 %", "3 deg")] == ["_n_per_mm", "_percent", "_deg"]  # type: ignore[union-attr]
    value = 0.1 + 0.2
    assert float(str(Unit("in").written(value)).split()[0]) == value  # bit for bit


BAD = {
    "unknown key": (
        (normal("wire.section.hieght", 0.019, 0.0002), sample("random", 10)),
        "line 5, vary 1: key", 'unknown key "hieght"', 'did you mean "height"?',
    ),
    "path": ((normal('attachment["x"].slot.height', 0.022, 0.0002), sample("random", 10)),
             "line 5, vary 1: key", 'none called "x"', "lateral incisor bracket"),
    "unit": ((normal("wire.section.height", 0.019, 0.0002, "deg"), sample("random", 10)),
             "vary 1: key", "which is an angle", "write it like"),
    "word": ((vary("wire.material", 'values = ["stainless-steel", "steal"]'),),
             "line 6, vary 1: values", "no such alloy", "stainless-steel"),
    "deviation": ((normal("wire.section.height", 0.019, -1.0), sample("random", 10)),
                  "line 8, vary 1: deviation", "above zero", "needs no [[vary]]"),
    "window": ((vary(SLOT, 'distribution = "truncated normal"', 'mean = "22 in"', 'deviation = "0.0002 in"',
                     'least = "0.021 in"', 'most = "0.023 in"'), sample("random", 10)),
               "line 7, vary 1: mean", "lies from least to most", "check the units"),
    "order": ((vary(SLOT, 'distribution = "uniform"', 'least = "0.023 in"', 'most = "0.021 in"'), sample("random", 10)),
              "line 8, vary 1: most", "above least", "exchange"),
    "peak": ((vary(SLOT, 'distribution = "triangular"', 'least = "1 mm"', 'peak = "3 mm"', 'most = "2 mm"'),
              sample("random", 10)), "line 8, vary 1: peak", "from least to most", "write for example"),
    "weights": ((vary(SLOT, 'distribution = "table"', 'values = ["1 mm", "2 mm"]', "weights = [1]"),
                 sample("random", 10)),
                "line 8, vary 1: weights", "one for each value", "weights = [3, 1]"),
    "edges": ((vary(SLOT, 'distribution = "histogram"', 'edges = ["2 mm", "1 mm"]', "weights = [1]"),
               sample("random", 10)),
              "line 7, vary 1: edges", "must grow", "write for example"),
    "missing part": ((vary(SLOT, 'distribution = "normal"', 'mean = "0.022 in"'), sample("random", 10)),
                     "vary 1: deviation", "needs mean, deviation", "write for example"),
    "empty list": ((vary(SLOT, "values = []"),), "line 6, vary 1: values", "the list is empty", "write values"),
    "empty grid": ((vary(SLOT, 'grid = { from = "1 mm", to = "1 mm", count = 4 }'),),
                   "line 6, vary 1: grid.to", "the grid is empty", "leave this key out"),
    "twice": ((vary(SLOT, 'values = ["0.022 in", "0.022 in"]'),), "line 6, vary 1: values 2", "twice", "write it once"),
    "two ways": ((vary(SLOT, 'values = ["1 mm"]', 'grid = { from = "1 mm", to = "2 mm", count = 4 }'),),
                 "line 4, vary 1", "got values and grid", 'distribution = "normal"'),
    "no way": ((vary(SLOT),), "line 4, vary 1", "got none of them", "write values"),
    "same key": ((INCLINATION, INCLINATION.replace("[[vary]]", '[[vary]]\nname = "b"')),
                 "line 9, vary 2: key", "has this key already", "give each key once"),
    "no vary": ((), "vary", "no [[vary]] at all", "add at least one"),
    "no sample": ((WIRE,), "sample", "the sample is missing", "seed = 1"),
    "no seed": ((WIRE, "[sample]\ncount = 8"), "line 9, sample.seed", "seed of the sample is missing", "add seed = 1"),
    "needless sample": ((INCLINATION, sample("random", 8)), "line 7, sample", "nothing to draw", "leave [sample] out"),
    "power of two": ((WIRE, sample("sobol", 100)), "line 11, sample.count", "powers of two", "write 64 or 128"),
    "design": ((WIRE, sample("halton", 8)), "line 10, sample.design", "latin hypercube", "write"),
    "correlated with nothing": (
        (WIRE, sample("random", 8), '[[correlation]]\nbetween = ["wire.section.height", "x"]\ncoefficient = 0.5'),
        "correlation 1: between", 'no sampled key is called "x"', "sampled keys",
    ),
    "coefficient": (
        (WIRE, normal("wire.section.depth", 0.025, 0.0002), sample("random", 8),
         '[[correlation]]\nbetween = ["wire.section.height", "wire.section.depth"]\ncoefficient = 1.5'),
        "correlation 1: coefficient", "between -1 and 1", "both paths to one",
    ),
    "impossible together": (
        (WIRE, normal("wire.section.depth", 0.025, 0.0002), normal(SLOT, 0.022, 0.0001), sample("random", 8),
         *(f'[[correlation]]\nbetween = ["{a}", "{b}"]\ncoefficient = {c}' for a, b, c in (
             ("wire.section.height", "wire.section.depth", 0.9),
             ("wire.section.height", SLOT.replace('"', '\\"'), 0.9),
             ("wire.section.depth", SLOT.replace('"', '\\"'), -0.9)))),
        "correlation", "eigenvalue of -0.8", "nearer to zero",
    ),
    "correlated indices": (
        (WIRE, normal("wire.section.depth", 0.025, 0.0002), sample("sobol indices", 8),
         '[[correlation]]\nbetween = ["wire.section.height", "wire.section.depth"]\ncoefficient = 0.5'),
        "correlation", "independent keys", "leave the correlation out",
    ),
    "name": ((vary("attachment[1].name", 'values = ["a", "b"]'),),
             "vary 1: key", "a name cannot vary", "something else"),
    "answer": (('answer = "moment_x"', INCLINATION), "line 4, answer", 'no column is called "moment_x"', "columns:"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_wrong_study_is_refused_before_anything_runs(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    parts, place, message, remedy = BAD[name]
    path = tmp_path / "study.toml"
    path.write_text(text_of(*parts), encoding="utf-8")
    out = tmp_path / "out"
    assert main(["study", str(path), "--out", str(out)]) == 2
    said = capsys.readouterr().err
    assert not out.exists()
    lines = [line for line in said.splitlines() if message in line]
    assert lines, said
    assert f"{place}:" in lines[0] and remedy in lines[0], said
    assert lines[0].lstrip().startswith("line ") or name in ("no vary", "no sample"), said


def test_all_problems_at_once(tmp_path: Path) -> None:
    with pytest.raises(CaseFileError) as wrong:
        study_of(
            tmp_path,
            normal("wire.section.height", 0.019, -1.0),
            vary(SLOT, "values = []"),
            "[sample]\ncount = 8",
        )
    assert len(wrong.value.problems) == 3


def test_many_rows_need_a_yes(tmp_path: Path) -> None:
    parts = (INCLINATION, WIRE, sample("random", MOST_ROWS))
    with pytest.raises(
        CaseFileError, match=f"2 x {MOST_ROWS} = {2 * MOST_ROWS} rows are more than {MOST_ROWS};.*--yes"
    ):
        study_of(tmp_path, *parts, yes=False)
    assert study_of(tmp_path, *parts, yes=True).rows == 2 * MOST_ROWS


def test_many_sections_are_tabled(tmp_path: Path) -> None:
    few, many = (WIRE, sample("random", 64)), (WIRE, sample("random", 500))
    grid = vary(
        'attachment["lateral incisor bracket"].inclination',
        'grid = { from = "0 deg", to = "9 deg", count = 9 }',
    )
    assert not study_of(tmp_path, *few).base.tabled and study_of(tmp_path, *many).base.tabled
    assert not study_of(tmp_path, grid, *few).base.tabled  # these are kept
    assert not study_of(tmp_path, normal(SLOT, 0.0223, 0.0001), sample("random", 500)).base.tabled


def test_the_case_must_be_there_and_sound(tmp_path: Path) -> None:
    path = tmp_path / "study.toml"
    path.write_text(text_of(INCLINATION, case=Path("none.toml")), encoding="utf-8")
    with pytest.raises(CaseFileError, match="line 2, case: there is no file none.toml"):
        load_study(path)
    (tmp_path / "bad.toml").write_text('title = "no case"', encoding="utf-8")
    path.write_text(text_of(INCLINATION, case=Path("bad.toml")), encoding="utf-8")
    with pytest.raises(CaseFileError, match=r"bad\.toml: .*problem"):
        load_study(path)


def test_one_value_for_several_keys(tmp_path: Path) -> None:
    paths = [f'attachment["{name} incisor bracket"].slot.height' for name in ("central", "lateral")]
    one = (
        f'[[vary]]\nname = "slots"\nkey = [\'{paths[0]}\', \'{paths[1]}\']\nvalues = ["0.022 in", "0.57 mm"]'
    )
    study = study_of(tmp_path, one)
    assert study.inputs()[0] == (0.022,) and study.inputs()[1][0] == pytest.approx(0.57 / 25.4, rel=1e-14)
    puts = study.puts(study.inputs()[0])
    assert [key[1] for key, _ in puts] == [0, 1] and all(value == "0.022 in" for _, value in puts)


def test_the_shipped_study_is_sound() -> None:
    for path in sorted((LIBRARY / "studies").glob("*.toml")):
        study = load_study(path)
        assert "invented" in study.title and study.rows <= MOST_ROWS
