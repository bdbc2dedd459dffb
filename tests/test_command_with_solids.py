"""``wireslot run --solids`` from a case file to the folder, and what a later run without it leaves there."""

from __future__ import annotations

from pathlib import Path

import pytest

from cases.casefile import LIBRARY
from cases.cli import main

FOLDED = """
title = "A bend tighter than the wire is thick (invented)"
[wire]
material = "stainless-steel"
section = { shape = "rectangle", height = "0.5 mm", depth = "0.6 mm" }
passive_shape = [
    { straight = "8 mm" },
    { bend = "30 deg", order = "second", radius = "0.2 mm" },
    { straight = "8 mm" },
]
seated_in = "clamp"
[[attachment]]
name = "clamp"
kind = "clamp"
position = ["0 mm", "0 mm", "0 mm"]
at = "2 mm"
"""


def files(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_solids_come_when_asked_for_and_go_with_the_next_run(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run = ["run", str(LIBRARY / "torque-round-wire.toml"), "--out", str(tmp_path / "out"), "--no-pictures"]
    (tmp_path / "out").mkdir()
    mine = tmp_path / "out" / "wire_solid_notes.vtu"
    mine.write_text("a file of the user", encoding="utf-8")
    assert main([*run, "--solids"]) == 0
    numbers = {"result.json", "path.csv", "wire.csv", "wire.vtu", "frames.json.gz", mine.name}
    series = {f"{part}_{number:03d}.vtu" for part in ("wire_solid", "attachments") for number in range(11)}
    assert files(tmp_path / "out") == numbers | series | {"solids.pvd", "wire_solid.msh", "attachments.msh"}
    said = capsys.readouterr().out
    assert f"{tmp_path / 'out' / 'wire_solid_000.vtu'} to wire_solid_010.vtu" in said
    assert "wire_solid_001" not in said
    assert main(run) == 0
    assert files(tmp_path / "out") == numbers


def test_a_wire_that_folds_has_numbers_but_no_solids(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = tmp_path / "folded.toml"
    case.write_text(FOLDED, encoding="utf-8")
    assert main(["run", str(case), "--out", str(tmp_path / "out"), "--no-pictures", "--solids"]) == 2
    assert files(tmp_path / "out") == {"result.json", "path.csv", "wire.csv", "wire.vtu", "frames.json.gz"}
    assert "no solids are written: before activation the wire folds onto itself" in capsys.readouterr().err
