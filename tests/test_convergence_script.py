"""What ``bash scripts/convergence`` writes, on two small meshes."""

from __future__ import annotations

import csv
import math
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import scripts.convergence
from scripts.convergence import NAMES, main
from scripts.convergence_problems import benchmarks

ROOT = Path(__file__).resolve().parent.parent
MESHES = (5, 10)


def test_table_csv_and_figure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(scripts.convergence, "MESHES", MESHES)
    monkeypatch.setattr(scripts.convergence, "INCREMENTS", (10, 12))
    monkeypatch.setattr(scripts.convergence, "FINELY", 10)
    written = tmp_path / "study"
    assert main(["--out", str(written)]) == 0
    assert sorted(path.name for path in written.iterdir()) == sorted(NAMES)
    said = capsys.readouterr().out
    with (written / "convergence.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    rods = [benchmark.name for benchmark in benchmarks()]
    assert [(row["rod"], int(row["elements"])) for row in rows] == [(rod, n) for rod in rods for n in MESHES]
    text = (written / "convergence.md").read_text(encoding="utf-8")
    for rod in rods:
        assert f"## {rod}: " in text and rod in said
    # two meshes, the second twice as fine: the order is the binary logarithm of the errors' ratio
    coarse, fine = (float(row["displacement_error"]) for row in rows if row["rod"] == "elastica")
    order = f"{math.log2(coarse / fine):.2f}"
    assert f"| elastica | {order} |" in text
    assert next(line for line in said.splitlines() if line.startswith("elastica")).split()[1] == order
    picture = np.asarray(Image.open(written / "convergence.png").convert("L"))
    assert picture.shape[1] > 1000 and picture.std() > 10.0


def test_without_a_folder_it_says_what_is_missing(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main([])
    assert ended.value.code == 2
    assert "--out" in capsys.readouterr().err


def test_the_wrapper_is_sound_shell() -> None:
    path = ROOT / "scripts" / "convergence"
    assert subprocess.run(["bash", "-n", str(path)], check=False).returncode == 0
    text = path.read_text(encoding="utf-8")
    assert "set -euo pipefail" in text and 'cd "$(dirname "${BASH_SOURCE[0]}")/.."' in text
