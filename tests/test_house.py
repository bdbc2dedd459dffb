"""House rules that a machine can check: what lies where, who may import whom, what a file may hold."""

from __future__ import annotations

import ast
import fnmatch
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("geometry", "fem", "cases")
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "fem", "geometry", "cases", "tests", "scripts"}
# One way only: each package may use those before it.
FORBIDDEN = {
    "geometry": {"fem", "cases", "tests", "scripts"},
    "fem": {"cases", "tests", "scripts"},
    "cases": {"tests", "scripts"},
}
LONGEST_FILE = 400
TEXT = {".py", ".toml", ".md", ".txt", ".json", ".csv", ""}


def _ignored() -> list[str]:
    lines = (ROOT / ".gitignore").read_text(encoding="utf-8").splitlines()
    return [line.strip().strip("/") for line in lines if line.strip() and not line.startswith("#")]


def _modules(package: str) -> list[Path]:
    return sorted(path for path in (ROOT / package).rglob("*.py") if "__pycache__" not in path.parts)


SOURCES = [path for package in PACKAGES for path in _modules(package)]


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def _imports(path: Path) -> Iterator[str]:
    """The first part of everything a module imports, wherever in the file."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{_name(path)}:{node.lineno}: relative import; write the whole name"
            yield (node.module or "").split(".")[0]


def _texts() -> Iterator[Path]:
    """All text files that belong to the project."""
    ignored = _ignored()
    for path in sorted(ROOT.rglob("*")):
        parts = path.relative_to(ROOT).parts
        if parts[0] == ".git" or any(fnmatch.fnmatch(part, rule) for part in parts for rule in ignored):
            continue
        if path.is_file() and path.suffix in TEXT:
            yield path


def test_the_top_level_holds_what_it_should_and_no_more() -> None:
    ignored = _ignored()
    found = {
        path.name
        for path in ROOT.iterdir()
        if not path.name.startswith(".") and not any(fnmatch.fnmatch(path.name, rule) for rule in ignored)
    }
    assert found == TOP_LEVEL


def test_there_is_something_to_check() -> None:
    assert all(_modules(package) for package in PACKAGES)


@pytest.mark.parametrize("package", PACKAGES)
def test_imports_run_one_way(package: str) -> None:
    wrong = [
        f"{_name(path)} imports {name}"
        for path in _modules(package)
        for name in _imports(path)
        if name in FORBIDDEN[package]
    ]
    assert not wrong


@pytest.mark.parametrize("path", SOURCES, ids=_name)
def test_a_module_has_one_purpose_and_says_it(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= LONGEST_FILE
    assert ast.get_docstring(ast.parse(text)), "a module begins with what it is for"


@pytest.mark.parametrize("path", SOURCES, ids=_name)
def test_value_types_are_frozen(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.ClassDef):
            continue
        for decorator in node.decorator_list:
            call = decorator.func if isinstance(decorator, ast.Call) else decorator
            if (call.attr if isinstance(call, ast.Attribute) else getattr(call, "id", "")) != "dataclass":
                continue
            keywords = decorator.keywords if isinstance(decorator, ast.Call) else []
            said = {
                word.arg
                for word in keywords
                if isinstance(word.value, ast.Constant) and word.value.value is True
            }
            assert {"frozen", "slots"} <= said, (
                f"{_name(path)}:{node.lineno}: {node.name} is not frozen and slotted"
            )


def test_no_path_or_host_of_one_machine() -> None:
    # Put together from pieces, so that this very file does not hold what it looks for.
    places = "|".join(("home", "root", "Users", "work", "mnt", "tmp"))
    hosts = "|".join(("index" + "-url", "pypi" + r"\.org", "local" + "host"))
    pattern = re.compile(rf"(?<![\w.*/}}])/(?:{places})/[\w.]|{hosts}")
    wrong = [
        f"{_name(path)}:{number}: {line.strip()}"
        for path in _texts()
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if pattern.search(line)
    ]
    assert not wrong


def test_help_loads_nothing_heavy() -> None:
    program = (
        "import sys\n"
        "sys.argv = ['wireslot', '--help']\n"
        "from cases.cli import main\n"
        "try:\n"
        "    main()\n"
        "except SystemExit as done:\n"
        "    assert not done.code, done.code\n"
        "print('loaded:', *sorted({name.split('.')[0] for name in sys.modules}))\n"
    )
    found = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=False, cwd=ROOT
    )
    assert found.returncode == 0, found.stderr
    loaded = set(found.stdout.splitlines()[-1].split())
    assert not loaded & {
        "numba",
        "llvmlite",
        "gmsh",
        "pyvista",
        "vtkmodules",
        "matplotlib",
        "scipy",
        "meshio",
    }


def test_every_package_asked_for_is_pinned() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = project["dependencies"] + project["optional-dependencies"]["dev"]
    lines = (ROOT / "scripts" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pins = [line for line in lines if line and not line.startswith("#")]
    assert all(re.fullmatch(r"[a-z0-9-]+==[\w.]+", pin) for pin in pins)
    pinned = {pin.split("==")[0] for pin in pins}
    assert {re.split(r"[<>=\[; ]", one)[0] for one in asked} | {"hatchling", "editables"} <= pinned


@pytest.mark.parametrize(
    "name", ["setup", "demo", "test", "check", "figures", "benchmark", "study_benchmark", "appliances"]
)
def test_scripts_are_sound_shell(name: str) -> None:
    path = ROOT / "scripts" / name
    assert subprocess.run(["bash", "-n", str(path)], check=False).returncode == 0
    text = path.read_text(encoding="utf-8")
    assert "set -euo pipefail" in text
    assert 'cd "$(dirname "${BASH_SOURCE[0]}")/.."' in text


def test_the_licence_is_said() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["license"] == "MIT"
    assert "MIT" in (ROOT / "README.md").read_text(encoding="utf-8")
