"""A study on the workers of a Dask scheduler: the same table, even where one of them is killed on the way."""

from __future__ import annotations

import os
import signal
import time
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from cases.cli import main
from cases.study.cluster import ClusterError, cluster
from cases.study.run_study import OtherProgramError, run_study, solve_there
from tests.study_texts import SLOT, normal, sample, study_of, vary

LED = vary(
    'attachment["lateral incisor bracket"].inclination',
    'grid = { from = "0 deg", to = "24 deg", count = 4 }',
    "led = true",
)
ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def workers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Two worker processes of one thread each, on this machine; they are started anew where they die."""
    from distributed import LocalCluster

    before = os.environ.get("PYTHONPATH")
    os.environ["PYTHONPATH"] = str(ROOT)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            processes=True,
            dashboard_address=None,
            local_directory=str(tmp_path_factory.mktemp("dask")),
        ) as made:
            yield made
    if before is None:
        del os.environ["PYTHONPATH"]
    else:
        os.environ["PYTHONPATH"] = before


@pytest.mark.filterwarnings("ignore")
def test_a_worker_is_killed_on_the_way(workers: Any, tmp_path: Path) -> None:
    study = study_of(tmp_path, LED, normal(SLOT, 0.0223, 0.0003), sample("random", 160), compute="forces")
    here = run_study(study, tmp_path / "here", jobs=2).table.read_bytes()
    killed: list[int] = []

    def kill(written: int, of: int) -> None:
        """Once an eighth is there: a worker that has rows in hand."""
        from distributed import Client

        if killed or written <= of // 8:
            return
        with Client(workers.scheduler_address) as client:
            pids = client.run(os.getpid)
            busy = [address for address, tasks in client.processing().items() if tasks]
        assert busy and written < of
        killed.append(pids[busy[0]])
        os.kill(killed[0], signal.SIGKILL)

    with cluster(workers.scheduler_address) as (executor, jobs):
        assert jobs == 2
        ran = run_study(study, tmp_path / "there", executor, 1, kill)
    assert killed and ran.stood == 0 and ran.rows == 640
    assert ran.table.read_bytes() == here
    until = time.monotonic() + 10.0
    while time.monotonic() < until and Path(f"/proc/{killed[0]}").exists():
        time.sleep(0.1)
    assert not Path(f"/proc/{killed[0]}").exists()


@pytest.mark.filterwarnings("ignore")
def test_the_command(workers: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    study = study_of(tmp_path, normal("wire.section.height", 0.019, 0.0002), sample("random", 60))
    here = run_study(study, tmp_path / "here").table.read_bytes()
    out = tmp_path / "there"
    arguments = ["study", str(tmp_path / "study.toml"), "--out", str(out), "--no-pictures", "--cluster"]
    assert main([*arguments, workers.scheduler_address]) == 0
    assert (out / "rows.csv").read_bytes() == here and "60 rows" in capsys.readouterr().out


@pytest.mark.filterwarnings("ignore")
def test_no_scheduler(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("cases.study.cluster.SECONDS", 1)
    study_of(tmp_path, normal("wire.section.height", 0.019, 0.0002), sample("random", 4))
    out = tmp_path / "out"
    arguments = ["study", str(tmp_path / "study.toml"), "--out", str(out), "--cluster", "tcp://127.0.0.1:9"]
    assert main(arguments) == 2
    assert "no scheduler answers at tcp://127.0.0.1:9" in capsys.readouterr().err and not out.exists()


def test_without_the_package(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "distributed", None)
    with pytest.raises(ClusterError, match="bash scripts/setup cluster"), cluster("tcp://127.0.0.1:9"):
        pass


def test_another_program_is_refused(tmp_path: Path) -> None:
    study = study_of(tmp_path, normal("wire.section.height", 0.019, 0.0002), sample("random", 4))
    with pytest.raises(OtherProgramError, match="rows of two programs are not mixed"):
        solve_there("other", study.base, [study.puts(study.inputs()[0])])
