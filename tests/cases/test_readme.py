"""README.md says what is true: its blocks run, its tables name every key, every shipped case, tests that are there."""

from __future__ import annotations

import ast
import csv
import math
import re
import tomllib
from pathlib import Path
from types import ModuleType

import pytest

from cases import (
    casefile,
    load_case,
    read_attachments,
    read_joints,
    read_ligation,
    read_material,
    read_stages,
    read_strands,
    read_wire,
    run_case,
)
from cases.casefile import LIBRARY, shipped_cases
from cases.read_shapes import BESIDE, INSIDE, KINDS, LOOP_ALWAYS, LOOP_SIZES, LOOP_WORDS, POINT_COLUMNS
from cases.show.closed_form import closed_forms
from cases.show.pictures import picture_writers
from cases.tooth_table import COLUMNS
from scripts.figures import BENDS, CHOSEN, PICTURES, all_files, bend_writers, names_of

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def block(language: str, heading: str) -> str:
    """The one code block of a language under a heading."""
    part = README.split(f"\n## {heading}\n")[1].split("\n## ")[0]
    (found,) = re.findall(rf"^```{language}\n(.*?)^```", part, re.MULTILINE | re.DOTALL)
    return str(found)


def first_cells(heading: str) -> list[str]:
    """First column of the tables under a heading, without head and rule."""
    part = README.split(f"\n## {heading}\n")[1].split("\n## ")[0]
    rows = re.findall(r"^\| (.*?) \|", part, re.MULTILINE)
    return [row for row in rows if "`" in row]


def keys_read(module: ModuleType) -> set[str]:
    """Every key that a reader lets through: the arguments of its calls of ``only``."""
    keys: set[str] = set()
    for node in ast.walk(ast.parse(Path(str(module.__file__)).read_text(encoding="utf-8"))):
        if not (isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "only"):
            continue
        for argument in node.args:
            if isinstance(argument, ast.Starred):
                assert isinstance(argument.value, ast.Name)
                keys.update(getattr(module, argument.value.id))
            else:
                assert isinstance(argument, ast.Constant)
                keys.add(argument.value)
    return keys


def test_the_notebook_lines_run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    lines = block("python", "Install and run")
    assert len(lines.splitlines()) == 3
    monkeypatch.chdir(ROOT)
    exec(compile(lines, "README.md", "exec"), {})
    x, y, z = ast.literal_eval(capsys.readouterr().out)
    # Equal and opposite to what presses the hook: the molar tube is lifted (occlusal is +y in the lower arch).
    assert y > 0.5 and abs(x) < 1e-6 and abs(z) < 1e-6


def test_the_example_is_the_shipped_case() -> None:
    shipped = (LIBRARY / "molar-uprighting.toml").read_text(encoding="utf-8")
    assert tomllib.loads(block("toml", "Your own case")) == tomllib.loads(shipped)


def explained(heading: str) -> set[str]:
    """The keys in the first column of the tables under a heading."""
    keys: set[str] = set()
    for cell in first_cells(heading):
        for code in re.findall(r"`([^`]*)`", cell):
            keys.update(re.findall(r"[a-z_]+(?=$|\]| =|\.)", code))
    return keys


def test_every_key_of_a_case_file_is_explained() -> None:
    readers = (
        casefile, read_wire, read_material, read_strands, read_attachments, read_ligation, read_joints, read_stages,
    )  # fmt: skip
    read = set().union(*map(keys_read, readers))
    assert explained("Your own case") == read


def test_every_larger_piece_and_every_column_is_explained() -> None:
    lists = (*INSIDE.values(), *BESIDE.values(), *LOOP_SIZES.values(), *LOOP_WORDS.values(), LOOP_ALWAYS)
    pieces = {*KINDS, *(key for keys in lists for key in keys)}
    told = explained("Arches, loops and tooth tables")
    assert pieces - told == set()
    assert {re.sub("_(mm|in|deg)$", "", key) for key in told} == pieces | set(COLUMNS) | set(POINT_COLUMNS)


def test_every_shipped_case_is_named() -> None:
    named = {cell.strip("`") for cell in first_cells("Shipped cases")}
    assert named == {path.name for path in shipped_cases()}


def test_every_check_named_is_there() -> None:
    part = README.split("\n## What is checked against what\n")[1].split("\n## ")[0].split("<!-- end -->")[1]
    paths = re.findall(r"`([\w/]+\.py)` \|$", part, re.MULTILINE)
    rows = [line for line in part.splitlines() if line.startswith("| ")][1:]
    assert len(paths) == len(rows) > 20
    assert [path for path in paths if not (ROOT / "tests" / path).is_file()] == []


def test_every_picture_is_drawn_by_the_script_and_by_none_else() -> None:
    shown = re.findall(r"^!\[[^\]]{10,}\]\((.*)\)$", README, re.MULTILINE)
    files = sorted(all_files())
    assert sorted(ROOT / path for path in shown) == [file for file in files if file.suffix == ".png"]
    assert sorted(PICTURES.iterdir()) == files


@pytest.mark.parametrize("name", CHOSEN)
def test_every_picture_shows_what_its_case_gives_today(name: str, tmp_path: Path) -> None:
    """The numbers beside each picture against a fresh run, to what stands in its words."""
    case = load_case(LIBRARY / f"{name}.toml")
    writers = picture_writers(run_case(case), closed_forms(case))
    for picture in CHOSEN[name]:
        for old, new in names_of(name, picture).items():
            if new.endswith(".csv"):
                writers[old](tmp_path / new)
                must_be_alike(tmp_path / new, PICTURES / new)


@pytest.mark.parametrize("name", BENDS)
def test_every_bench_test_shows_what_it_gives_today(name: str, tmp_path: Path) -> None:
    """Likewise."""
    writers = bend_writers(name)
    (new,) = (new for new in writers if new.endswith(".csv"))
    writers[new](tmp_path / new)
    must_be_alike(tmp_path / new, PICTURES / new)


def must_be_alike(fresh: Path, kept: Path) -> None:
    """Two tables, cell by cell."""
    rows, others = folder_table(fresh), folder_table(kept)
    assert len(rows) == len(others) > 1
    for row, other in zip(rows, others, strict=True):
        assert all(same(a, b) for a, b in zip(row, other, strict=True)), (row, other)


def folder_table(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def same(a: str, b: str) -> bool:
    """Equal words, or numbers equal to 1e-5 of themselves or to what is far below any measurement."""
    try:
        return math.isclose(float(a), float(b), rel_tol=1e-5, abs_tol=1e-6)
    except ValueError:
        return a == b
