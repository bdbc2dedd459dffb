"""``wireslot doctor``: what it finds on a sound machine, and what it says where something is missing."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from cases import doctor
from cases.cli import main
from cases.doctor import Finding

ROOT = Path(__file__).resolve().parents[2]
Capture = pytest.CaptureFixture[str]


def test_on_a_machine_made_ready(tmp_path: Path) -> None:
    """The tests themselves need all that the doctor looks for; an empty cache is no fault."""
    done = subprocess.run(
        [sys.executable, "-m", "cases.cli", "doctor"],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env={**os.environ, "XDG_CACHE_HOME": str(tmp_path)},
        check=False,
    )
    lines = done.stdout.splitlines()
    assert [line for line in lines[:-1] if not line.startswith("ok       ")] == []
    assert lines[-1] == "All is well."
    assert done.returncode == 0 and done.stderr == ""
    for words in (
        "Python 3.",
        "package numba",
        "meshing: gmsh",
        "nothing compiled yet",
        "off-screen drawing: drawn",
    ):
        assert [line for line in lines if words in line], words
    assert f"kernel cache: {tmp_path}" in done.stdout
    assert not list(tmp_path.rglob("doctor-trial"))


def test_it_answers_where_no_package_is_installed() -> None:
    """Without the folder of installed packages (-S) nothing but the standard library is there."""
    program = (
        "import sys; sys.path.insert(0, ''); import cases.doctor; "
        "cases.doctor.GMSH_PROBE = cases.doctor.KERNEL_PROBE = 'import no_such_package_here'; "
        "cases.doctor.window_class = lambda: None; "
        "from cases.cli import main; sys.exit(main(['doctor']))"
    )
    done = subprocess.run(
        [sys.executable, "-S", "-c", program], capture_output=True, text=True, cwd=ROOT, check=False
    )
    assert done.returncode == 5 and done.stderr == ""
    for name in doctor.PACKAGES:
        assert f"missing  package {name}" in done.stdout
    assert (
        "meshing: gmsh does not start (ModuleNotFoundError: No module named 'no_such_package_here')"
        in done.stdout
    )
    assert "kernel cache: the compiler does not start (ModuleNotFoundError" in done.stdout
    assert (
        done.stdout.splitlines()[-1]
        == f"{len(doctor.PACKAGES) + 3} things are missing; the remedies stand below each."
    )


def test_its_lists_are_the_project_s_own() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert sorted(f"{name}>={lowest}" for name, lowest in doctor.PACKAGES.items()) == sorted(
        project["dependencies"]
    )
    assert project["requires-python"] == f">={doctor.PYTHON}"
    lines = (ROOT / "scripts" / "system-packages.txt").read_text(encoding="utf-8").splitlines()
    listed = [tuple(line.split()) for line in lines if line and not line.startswith("#")]
    assert [*doctor.SYSTEM_LIBRARIES, ("driver", doctor.DRIVER_PACKAGE)] == listed


@pytest.mark.parametrize(
    ("version", "numbers"),
    [("3.11", (3, 11)), ("2.10.1rc1", (2, 10, 1)), ("4.15.2+cpu", (4, 15, 2)), ("unknown", ())],
)
def test_version_numbers(version: str, numbers: tuple[int, ...]) -> None:
    """Ten comes after nine."""
    assert doctor.numbers(version) == numbers
    assert doctor.numbers("0.9") < doctor.numbers("0.10")


def test_python_too_old(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor, "PYTHON", "99.1")
    finding = doctor.python_version()
    assert not finding.ok and "install Python 99.1 or newer" in finding.remedy


@pytest.mark.parametrize(("name", "lowest"), [("no-such-package-here", "1.2"), ("numpy", "999.0")])
def test_package_missing_or_too_old(name: str, lowest: str) -> None:
    finding = doctor.package(name, lowest)
    assert not finding.ok
    assert finding.what.startswith(f"package {name}") and f"({lowest} or newer is needed)" in finding.what
    assert f"install {name} {lowest} or newer" in finding.remedy and "scripts/setup" in finding.remedy


def test_system_library_missing() -> None:
    finding = doctor.system_library("libnosuchlibrary.so.1", "libnosuch1")
    assert finding.lines[0] == "missing  system library libnosuchlibrary.so.1"
    assert finding.lines[1].startswith("         remedy: apt-get install libnosuch1")


def test_gmsh_that_does_not_load(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor, "GMSH_PROBE", "raise OSError('libGLU.so.1: cannot open shared object file')")
    finding = doctor.gmsh_works()
    assert not finding.ok and finding.remedy
    assert (
        finding.what == "meshing: gmsh does not start (OSError: libGLU.so.1: cannot open shared object file)"
    )


def test_a_cache_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file where the folder should be: even the superuser cannot write there."""
    (tmp_path / "cache").write_text("", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    finding = doctor.kernel_cache()
    assert not finding.ok
    assert f"{tmp_path / 'cache' / 'wireslot'} cannot be written, {tmp_path / 'wireslot'}" in finding.what
    assert "export XDG_CACHE_HOME=" in finding.remedy


def test_compiled_kernels_are_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert "nothing compiled yet, the first run does it in about a minute" in doctor.kernel_cache().what
    (folder,) = (tmp_path / "wireslot").iterdir()
    (folder / "kernel.nbc").write_text("", encoding="utf-8")  # numba's name for machine code
    finding = doctor.kernel_cache()
    assert finding.ok and finding.what == f"kernel cache: {folder} can be written; compiled"


def test_no_renderer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor, "window_class", lambda: None)
    (finding,) = doctor.drawing()
    assert not finding.ok and "libgl1-mesa-dri" in finding.remedy and "--no-pictures" in finding.remedy


def test_a_renderer_that_hangs_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    def hang() -> str:
        raise subprocess.TimeoutExpired("probe", 20.0)

    monkeypatch.setattr(doctor, "window_class", hang)
    assert [finding.ok for finding in doctor.drawing()] == [False]


@pytest.mark.parametrize(
    ("program", "words"),
    [
        ("print('blank with pyvista 1.0')", "no picture (blank with pyvista 1.0)"),
        ("import os; os.kill(os.getpid(), 11)", "no picture (ended by signal 11)"),
        ("raise SystemExit(7)", "no picture (exit code 7)"),
    ],
)
def test_a_picture_that_fails(program: str, words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor, "window_class", lambda: "vtkEGLRenderWindow")
    monkeypatch.setattr(doctor, "DRAWING_PROBE", program)
    renderer, finding = doctor.drawing()
    assert renderer.ok and not finding.ok
    assert words in finding.what and "--no-pictures" in finding.remedy


@pytest.mark.parametrize(("chosen", "used"), [(None, "offered"), ("mine", "mine")])
def test_a_choice_of_the_user_stands(chosen: str | None, used: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("WIRESLOT_TRIAL", raising=False)
    if chosen:
        monkeypatch.setenv("WIRESLOT_TRIAL", chosen)
    program = "import os; print('first'); print(os.environ['WIRESLOT_TRIAL'])"
    assert doctor.probe(program, {"WIRESLOT_TRIAL": "offered"}) == (used, "")


def test_a_probe_that_does_not_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctor, "PROBE_SECONDS", 0.3)
    assert doctor.probe("import time; time.sleep(60)") == (None, "no answer within 0.3 s")


@pytest.mark.parametrize(
    ("oks", "code", "last"),
    [
        ((True, True), 0, "All is well."),
        ((True, False), 5, "1 thing is missing; the remedies stand below each."),
        ((False, False), 5, "2 things are missing; the remedies stand below each."),
    ],
)
def test_exit_code_and_last_sentence(
    oks: tuple[bool, ...], code: int, last: str, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    def findings() -> Iterator[Finding]:
        for number, ok in enumerate(oks):
            yield Finding(ok, f"thing {number}", "" if ok else f"mend {number}")

    monkeypatch.setattr(doctor, "examine", findings)
    assert main(["doctor"]) == code
    said = capsys.readouterr()
    assert said.err == "" and said.out.splitlines()[-1] == last
    assert len(re.findall(r"^ +remedy: mend \d$", said.out, re.MULTILINE)) == oks.count(False)
