"""The table of rows: the same bytes however often a study is killed, and whoever solves it."""

from __future__ import annotations

import errno
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from cases.cli import main
from cases.errors import OutputError
from cases.study import command
from cases.study.names import columns
from cases.study.parquet import NAME
from cases.study.rows import MANIFEST, PARTIAL, WHOLE, Rows, open_rows
from cases.study.run_study import manifest, run_study
from cases.study.solve import ChangedFileError
from cases.study.studyfile import Study, load_study
from tests.study_texts import SHORT as CASE
from tests.study_texts import SLOT, normal, sample, study_of, text_of, vary

ROOT = Path(__file__).resolve().parents[2]
PARTS = (
    vary('attachment["right"].about_x', 'grid = { from = "0 deg", to = "25 deg", count = 3 }'),
    vary(
        "wire.section.height",
        'distribution = "table"',
        'values = ["0.45 mm", "0.5 mm", "0.6 mm"]',
        "weights = [2, 2, 1]",
    ),
    normal('attachment["right"].slot.height', 0.56, 0.01, "mm"),
)
KILLS = 5  # of each of two studies


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A study of forces, 36 rows, some of which do not fit."""
    folder = tmp_path_factory.mktemp("study")
    (folder / "case.toml").write_text(CASE, encoding="utf-8")
    path = folder / "study.toml"
    parts = (*PARTS, sample("latin hypercube", 12))
    path.write_text(text_of(*parts, compute="forces", case=Path("case.toml")), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def whole(file: Path) -> bytes:
    """Its table, solved in one go."""
    return run_study(load_study(file), file.parent / "whole").table.read_bytes()


def start(file: Path, out: Path, jobs: int) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "cases.cli", "study", str(file), "--out", str(out), "--jobs", str(jobs)]
    return subprocess.Popen(
        [*command, "--no-pictures"], cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )


@pytest.mark.parametrize("jobs", [1, 2])
def test_a_killed_study_ends_with_the_same_table(tmp_path: Path, jobs: int) -> None:
    """Killed five times each at random moments: a study of single rows, and one of led appliances by two threads."""
    (tmp_path / "case.toml").write_text(CASE, encoding="utf-8")
    file, out = tmp_path / "study.toml", tmp_path / "killed"
    led = PARTS[0] + ("\nled = true" if jobs == 2 else "")
    parts = (led, *PARTS[1:], sample("latin hypercube", 120))
    file.write_text(text_of(*parts, compute="forces", case=Path("case.toml")), encoding="utf-8")
    whole = run_study(load_study(file), tmp_path / "whole").table.read_bytes()
    before = manifest(load_study(file))["program"]
    chance = random.Random(jobs)
    stood = kills = 0
    for _ in range(8 * KILLS):
        child = start(file, out, jobs)
        # killed at some moment after its first new row
        until = time.monotonic() + 300.0
        lines = 0
        while lines <= stood + 1 and child.poll() is None and time.monotonic() < until:
            time.sleep(0.005)
            lines = (out / PARTIAL).read_bytes().count(b"\n") if (out / PARTIAL).exists() else 0
        time.sleep(chance.uniform(0.0, 0.1))
        child.send_signal(signal.SIGKILL)
        child.wait()
        if not (out / PARTIAL).exists():
            # it was quicker than the knife: begin anew
            shutil.rmtree(out)
            stood = kills = 0
            continue
        part = (out / PARTIAL).read_bytes()
        assert whole.startswith(part[: part.rfind(b"\n") + 1]) and not (out / WHOLE).exists()
        stood = part.count(b"\n") - 1
        assert stood > 0
        kills += 1
        if kills == KILLS:
            break
    assert kills == KILLS
    if manifest(load_study(file))["program"] != before:
        pytest.skip(
            "a source of the program was edited while the test ran, and rows of two programs are not mixed"
        )
    end = run_study(load_study(file), out, jobs=jobs)
    assert end.stood == stood and end.rows == 360
    assert end.table.read_bytes() == whole
    assert sorted(path.name for path in out.iterdir()) == [WHOLE, NAME, MANIFEST]
    statuses = {line.split(",")[4] for line in whole.decode().splitlines()[1:]}
    assert statuses == {"engaged", "passive", "does not fit"}


@pytest.mark.parametrize("jobs", [1, 2])
def test_ctrl_c_leaves_the_rows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], jobs: int
) -> None:
    study = study_of(tmp_path, normal("wire.section.height", 0.019, 0.0002), sample("random", 64))
    whole = run_study(study, tmp_path / "whole").table.read_bytes()

    def stop(written: int, of: int) -> None:
        if written == 20:
            raise KeyboardInterrupt

    def interrupted(study: Study, folder: Path, jobs: int, heard: object) -> None:
        run_study(study, folder, jobs=jobs, heard=stop)

    monkeypatch.setattr(command, "run_study", interrupted)
    out = tmp_path / "out"
    arguments = [
        "study",
        str(tmp_path / "study.toml"),
        "--out",
        str(out),
        "--jobs",
        str(jobs),
        "--no-pictures",
    ]
    assert main(arguments) == 130
    assert "the same command goes on from there" in capsys.readouterr().err
    assert (out / PARTIAL).read_bytes().count(b"\n") == 21
    monkeypatch.setattr(command, "run_study", run_study)
    assert main(arguments) == 0
    assert "20 of 64 rows stood already" in capsys.readouterr().out and (out / WHOLE).read_bytes() == whole


@pytest.mark.parametrize("torn", [b"", b"3", b"3,1.0,2.0\n", b"4,nonsense\n", b"\xff\xfe\n", b'3,"\n'])
def test_a_torn_end_is_made_anew(tmp_path: Path, torn: bytes) -> None:
    study = study_of(tmp_path, normal("wire.section.height", 0.019, 0.0002), sample("random", 12))
    table = run_study(study, tmp_path / "out").table
    content = table.read_bytes()
    lines = content.splitlines(keepends=True)
    table.unlink()
    (tmp_path / "out" / PARTIAL).write_bytes(b"".join(lines[:3]) + torn)
    again = run_study(study, tmp_path / "out")
    assert again.stood == 2 and again.table.read_bytes() == content


def test_a_whole_table_is_left_alone(tmp_path: Path) -> None:
    study = study_of(tmp_path, normal("wire.section.height", 0.019, 0.0002), sample("random", 12))
    first = run_study(study, tmp_path / "out")
    before = first.table.stat().st_mtime_ns
    assert run_study(study, tmp_path / "out").stood == 12 and first.table.stat().st_mtime_ns == before


class Backwards(Executor):
    """Not of the standard library, and answers late: what was sent last is done first."""

    def __init__(self) -> None:
        self.waiting: list[tuple[Future[Any], Any, tuple[Any, ...]]] = []

    def submit(self, function: Any, /, *arguments: Any, **_: Any) -> Future[Any]:
        owner = self

        class Late(Future[Any]):
            def result(self, timeout: float | None = None) -> Any:
                while owner.waiting:
                    future, function, arguments = owner.waiting.pop()
                    future.set_result(function(*arguments))
                return super().result(timeout)

        future = Late()
        self.waiting.append((future, function, arguments))
        return future


def test_any_executor_gives_the_same_table(file: Path, whole: bytes) -> None:
    study = load_study(file)
    assert run_study(study, file.parent / "two", jobs=2).table.read_bytes() == whole
    assert run_study(study, file.parent / "late", Backwards()).table.read_bytes() == whole


def test_processes_too(tmp_path: Path) -> None:
    study = study_of(tmp_path, normal("wire.section.height", 0.0215, 0.0005), sample("random", 12))
    with ProcessPoolExecutor(1) as pool:
        there = run_study(study, tmp_path / "pool", pool).table.read_bytes()
    assert there == run_study(study, tmp_path / "out").table.read_bytes()


def opened(study: Study, folder: Path) -> None:
    with open_rows(folder, columns(study.base, study.varied), study.rows, manifest(study)):
        pass


def test_rows_of_another_study_are_not_mixed(tmp_path: Path) -> None:
    out = tmp_path / "out"
    study = study_of(tmp_path, normal("wire.section.height", 0.019, 0.0002), sample("random", 12))
    run_study(study, out)
    kept = (out / WHOLE).read_bytes()
    other = study_of(tmp_path, normal("wire.section.height", 0.019, 0.0001), sample("random", 12))
    with pytest.raises(OutputError, match="differs in its study file; they are not mixed"):
        run_study(other, out)
    (out / MANIFEST).unlink()
    with pytest.raises(OutputError, match=f"{WHOLE} of something else"):
        run_study(study, out)
    assert (out / WHOLE).read_bytes() == kept


def test_another_program_is_another_study(tmp_path: Path) -> None:
    study = study_of(tmp_path, normal("wire.section.height", 0.019, 0.0002), sample("random", 12))
    run_study(study, tmp_path / "out")
    path = tmp_path / "out" / MANIFEST
    said = json.loads(path.read_text(encoding="utf-8"))
    said["program"]["sources_sha256"] = "0"
    path.write_text(json.dumps(said), encoding="utf-8")
    with pytest.raises(OutputError, match="differs in its program"):
        opened(study, tmp_path / "out")


def test_two_at_once_are_refused(tmp_path: Path) -> None:
    study = study_of(tmp_path, normal("wire.section.height", 0.019, 0.0002), sample("random", 12))
    with open_rows(tmp_path / "out", columns(study.base, study.varied), study.rows, manifest(study)):
        with pytest.raises(OutputError, match="another study is writing"):
            opened(study, tmp_path / "out")
    opened(study, tmp_path / "out")


class Full:
    """A file on a disk that is full."""

    def write(self, _: bytes) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_full_disk_is_told(tmp_path: Path) -> None:
    rows = Rows(tmp_path, 3, False, Full())  # type: ignore[arg-type]
    with pytest.raises(
        OutputError, match="cannot be written further: No space left.*give the same command again"
    ):
        rows.append([4, 1.0, "engaged"])


@pytest.mark.skipif(os.name != "posix", reason="a file in place of a folder")
def test_a_folder_that_is_a_file(tmp_path: Path) -> None:
    study = study_of(tmp_path, vary(SLOT, 'values = ["0.022 in", "0.023 in"]'))
    (tmp_path / "out").write_text("", encoding="utf-8")
    with pytest.raises(OutputError, match="cannot be written"):
        opened(study, tmp_path / "out")


def test_a_table_that_changes_meanwhile_ends_the_study(tmp_path: Path) -> None:
    case = CASE.replace(
        'passive_shape = [{ straight = "9 mm" }]',
        'passive_shape = [{ points = "wire.csv", tolerance = "0.1 mm" }]',
    )
    (tmp_path / "case.toml").write_text(case, encoding="utf-8")
    (tmp_path / "wire.csv").write_text(
        "x_mm,y_mm,z_mm\n0,0,0\n2,0,0\n4,0,0\n6,0,0\n9,0,0\n", encoding="utf-8"
    )
    study = study_of(
        tmp_path, normal("wire.section.height", 0.45, 0.01, "mm"), sample("random", 4), case=Path("case.toml")
    )
    (tmp_path / "wire.csv").write_text(
        "x_mm,y_mm,z_mm\n0,0,0\n2,0,0\n5,0,0\n6,0,0\n9,0,0\n", encoding="utf-8"
    )
    with pytest.raises(ChangedFileError, match="wire.csv has changed while the study ran"):
        run_study(study, tmp_path / "out")
    assert not (tmp_path / "out" / WHOLE).exists()
