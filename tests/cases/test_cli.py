"""The command line: exit codes, words, what is left on the disk; a made-up result is the mechanics."""

from __future__ import annotations

import json
import re
import shlex
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable
from pathlib import Path
from types import ModuleType, SimpleNamespace

import numpy as np
import pytest

import geometry.compiled
from cases.cli import main
from cases.results import RunResult
from fem.status import NoEquilibrium, Status

ROOT = Path(__file__).resolve().parents[2]
Observer = Callable[[object], None]


def mechanics(monkeypatch: pytest.MonkeyPatch, run: Callable[[object, Observer], RunResult]) -> None:
    """Let ``run`` stand for the mechanics."""
    module = ModuleType("cases.run")

    def whole_run(case: object, observer: Observer, estimate: bool = False) -> SimpleNamespace:
        return SimpleNamespace(case=case, model=None, path=None, result=run(case, observer))

    module.whole_run = whole_run  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "cases.run", module)
    frames = ModuleType("cases.frames")
    frames.frame_writers = lambda run: {}  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "cases.frames", frames)
    monkeypatch.setattr(geometry.compiled, "needs_compiling", lambda: False)


@pytest.fixture
def case_file(sound_case: str, tmp_path: Path) -> Path:
    path = tmp_path / "case.toml"
    path.write_text(sound_case, encoding="utf-8")
    return path


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch, result: RunResult) -> None:
    def run(case: object, observer: Observer) -> RunResult:
        for increment in result.increments:
            observer(increment)
        return result

    mechanics(monkeypatch, run)


def test_check(case_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(case_file)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("case is valid: A tube and a tied arm")
    assert "stainless-steel" in out and "seated in tube" in out
    assert "tube on tooth 47 (lower right second molar), 2.5 mm along the wire" in out


def test_check_shows_warnings(case_file: Path, sound_case: str, capsys: pytest.CaptureFixture[str]) -> None:
    case_file.write_text(sound_case.replace('at = "2.5 mm"', 'at = "start"'), encoding="utf-8")
    assert main(["check", str(case_file)]) == 0
    assert "warning: line 19, attachment 1: at:" in capsys.readouterr().out


def test_check_of_a_bad_case(case_file: Path, sound_case: str, capsys: pytest.CaptureFixture[str]) -> None:
    case_file.write_text(sound_case.replace('height = "0.017 in"', "height = 0.017"), encoding="utf-8")
    assert main(["check", str(case_file)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert f"{case_file}: 1 problem" in said.err
    assert "line 5, wire.section.height: the wire's height: expected a length with its unit" in said.err


@pytest.mark.usefixtures("solved")
def test_run(case_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "deep" / "out"
    assert main(["run", str(case_file), "--out", str(out), "--no-pictures"]) == 0
    assert sorted(path.name for path in out.iterdir()) == ["path.csv", "result.json", "wire.csv", "wire.vtu"]
    assert json.loads((out / "result.json").read_text(encoding="utf-8"))["title"] == "Made by hand"
    said = capsys.readouterr()
    assert said.err == ""
    for words in (
        "increment 2, 3 iterations, 100 % of the activation",  # no terminal: one line an increment
        "left, upper (tooth 21)",
        "12.5",
        "extrusion, 1.5 N",
        "Status: engaged",
        "The wire is engaged.",
        "1.0e-12 N and 2.0e-12 N mm",
        "Walls are rigid.",
        str(out / "result.json"),
        "not a treatment plan",
    ):
        assert words in said.out


@pytest.mark.usefixtures("solved")
def test_numbers_stand_when_the_picture_fails(
    case_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(result: RunResult, path: Path) -> None:
        path.write_text("half", encoding="utf-8")
        raise RuntimeError("no display")

    scene = ModuleType("cases.show.scene")
    scene.draw_scene = fail  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "cases.show.scene", scene)
    assert main(["run", str(case_file), "--out", str(tmp_path / "out")]) == 1
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted(
        ["path.csv", "result.json", "wire.csv", "wire.vtu"]
        + [f"{stem}.{kind}" for stem in ("activation", "slots", "views") for kind in ("csv", "png", "svg")]
    )
    err = capsys.readouterr().err
    assert "no display" in err and "wireslot doctor" in err and "--no-pictures" in err


@pytest.mark.usefixtures("solved")
def test_run_draws_the_picture(case_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    scene = ModuleType("cases.show.scene")
    scene.draw_scene = lambda result, path: path.write_text(result.title, encoding="utf-8")  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "cases.show.scene", scene)
    assert main(["run", str(case_file), "--out", str(tmp_path / "out")]) == 0
    assert (tmp_path / "out" / "wire.png").read_text(encoding="utf-8") == "Made by hand"


def _run(case_file: Path, tmp_path: Path) -> int:
    before = sorted(tmp_path.iterdir())
    code = main(["run", str(case_file), "--out", str(tmp_path / "out"), "--no-pictures"])
    assert sorted(tmp_path.iterdir()) == before
    return code


@pytest.mark.parametrize("bad", ["[wire", 'title = "x"\n', ""])
def test_run_of_a_bad_case_writes_nothing(
    case_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, bad: str
) -> None:
    def never(case: object, observer: Observer) -> RunResult:
        raise AssertionError("a bad case was solved")

    mechanics(monkeypatch, never)
    case_file.write_text(bad, encoding="utf-8")
    assert _run(case_file, tmp_path) == 2


def test_a_folder_that_cannot_be_written_is_found_before_solving(
    case_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def never(case: object, observer: Observer) -> RunResult:
        raise AssertionError("solved although nothing can be written")

    mechanics(monkeypatch, never)
    (tmp_path / "out").write_text("a file of the user", encoding="utf-8")
    assert _run(case_file, tmp_path) == 2
    assert f"the output folder {tmp_path / 'out'} cannot be written" in capsys.readouterr().err
    assert (tmp_path / "out").read_text(encoding="utf-8") == "a file of the user"


def test_no_equilibrium(
    case_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(case: object, observer: Observer) -> RunResult:
        raise NoEquilibrium(Status.TOO_MANY_ITERATIONS, 0.3, (), np.zeros((0, 4)))

    mechanics(monkeypatch, fail)
    assert _run(case_file, tmp_path) == 3
    err = capsys.readouterr().err
    assert Status.TOO_MANY_ITERATIONS.sentence in err and "30 % of the activation" in err


def test_interrupt(
    case_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(case: object, observer: Observer) -> RunResult:
        raise KeyboardInterrupt

    mechanics(monkeypatch, fail)
    assert _run(case_file, tmp_path) == 130
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_defect(
    case_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(case: object, observer: Observer) -> RunResult:
        raise ZeroDivisionError("oops")

    mechanics(monkeypatch, fail)
    assert _run(case_file, tmp_path) == 1
    err = capsys.readouterr().err
    assert "ZeroDivisionError: oops" in err and "report" in err and "Traceback" not in err
    with pytest.raises(ZeroDivisionError):
        main(["run", str(case_file), "--out", str(tmp_path / "out"), "--traceback"])
    monkeypatch.setenv("WIRESLOT_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        main(["run", str(case_file), "--out", str(tmp_path / "out")])


@pytest.mark.usefixtures("solved")
def test_first_run_says_that_it_compiles(
    case_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(geometry.compiled, "needs_compiling", lambda: True)
    assert main(["run", str(case_file), "--out", str(tmp_path / "out"), "--no-pictures"]) == 0
    assert "compiles the mechanics once" in capsys.readouterr().out


@pytest.mark.parametrize(
    "arguments",
    [
        ["run", "case.toml"],
        ["rum"],
        ["check"],
        ["run", "a", "--out", "b", "--pictures=maybe"],
        ["new"],
        ["play", "--hight", "0.022 in"],
        ["play", "--table", "yes"],
        ["doctor", "now"],
    ],
)
def test_usage(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(arguments) == 2
    said = capsys.readouterr()
    assert said.out == "" and "usage: wireslot" in said.err


COMMANDS = (
    *("new", "check", "run", "play", "formula", "verify", "factor", "compare", "study", "bench-test"),
    *("report", "figure", "doctor"),
)


def test_help_names_every_command_and_exit_code(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    for name in COMMANDS:
        assert re.search(rf"^    {name}\s", out, re.MULTILINE) and f"  wireslot {name}" in out
    assert "Exit codes: 0 done, 1 a defect of ours, 2 usage or case file," in out
    assert "3 no equilibrium found, 5 something is missing on this machine" in out


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_explains_itself(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """An example to copy, and more sentences than the one of the list."""
    assert main([name, "--help"]) == 0
    out = capsys.readouterr().out
    assert re.search(rf"^Examples?:\n  wireslot {name}\b", out, re.MULTILINE)
    assert "exit code" in out.lower() or name == "new"


def test_the_case_in_the_help_is_sound(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    main(["--help"])
    whole = capsys.readouterr().out.split("A whole one:\n\n")[1].split("\n\n")[0]
    path = tmp_path / "case.toml"
    path.write_text(textwrap.dedent(whole), encoding="utf-8")
    assert main(["check", str(path)]) == 0
    assert "warning" not in capsys.readouterr().out


def test_the_examples_of_play_work(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """As copied from the help; the tilted one gives what the help promises."""
    main(["play", "--help"])
    text = capsys.readouterr().out.split("Examples:\n")[1].split("\n\n")[0].replace("\\\n", " ")
    examples = [shlex.split(line)[1:] for line in text.splitlines() if line.startswith("  wireslot")]
    assert len(examples) == 4
    said = []
    for arguments in examples:
        assert main([str(tmp_path / word) if word == "play.csv" else word for word in arguments]) == 0
        said.append(capsys.readouterr().out)
    assert "1.69 deg of third-order play left" in said[2] and "1.69 of 7.24 deg" in text
    assert (tmp_path / "play.csv").exists()


def _command(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "cases.cli", *arguments], capture_output=True, text=True, cwd=ROOT, check=False
    )


def test_help_imports_nothing_heavy_and_is_quick() -> None:
    code = (
        "import sys; from cases.cli import main; main(['--help']); "
        "heavy = {'numpy', 'numba', 'scipy', 'gmsh', 'vtk', 'matplotlib', 'pyvista'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
    seconds = []
    for _ in range(3):
        start = time.perf_counter()
        assert "Examples:" in _command("--help").stdout
        seconds.append(time.perf_counter() - start)
    assert min(seconds) < 0.4


def test_real_process_with_a_bad_case(case_file: Path, tmp_path: Path) -> None:
    case_file.write_text("wire = 1\nlist = [", encoding="utf-8")
    done = _command("run", str(case_file), "--out", str(tmp_path / "out"))
    assert done.returncode == 2
    assert done.stdout == ""
    assert f"{case_file}: 1 problem" in done.stderr and "line 2" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["case.toml"]


def test_a_stranger_called_geometry_is_refused(tmp_path: Path) -> None:
    (tmp_path / "geometry.py").write_text("", encoding="utf-8")
    code = f"import sys; sys.path.insert(0, {str(ROOT)!r}); sys.path.insert(0, ''); import cases"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=tmp_path, check=False
    )
    assert done.returncode == 1
    last = done.stderr.splitlines()[-1]
    assert last.startswith("ImportError: wireslot needs its own package 'geometry'") and "geometry.py" in last
