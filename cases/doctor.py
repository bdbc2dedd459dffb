"""``wireslot doctor``: what this machine lacks for wireslot, and the remedy.

Nothing but the standard library is imported here, so that it also answers where no package is installed
(``python3 -m cases.cli doctor`` in the project's folder).  What may end a whole process without a word, like
loading graphics libraries, is tried in a small process of its own.
"""

from __future__ import annotations

import ctypes
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

from cases.show.renderer import window_class

HOME = Path(__file__).resolve().parent.parent
PROBE_SECONDS = 120.0
"""The first import of a large package on a slow disk takes its time."""

PYTHON = "3.11"
PACKAGES = {
    "gmsh": "4.11",
    "matplotlib": "3.9",
    "meshio": "5.3",
    "numba": "0.61",
    "numpy": "2.0",
    "pillow": "10",
    "pyarrow": "18",
    "pyvista": "0.45",
    "rich": "13.7",
    "scipy": "1.15",
}
"""Packages the program is installed with, and the lowest version of each; a test compares them with pyproject.toml."""

SYSTEM_LIBRARIES = (
    ("libGL.so.1", "libgl1"),
    ("libGLU.so.1", "libglu1-mesa"),
    ("libXrender.so.1", "libxrender1"),
    ("libXcursor.so.1", "libxcursor1"),
    ("libXft.so.2", "libxft2"),
    ("libXinerama.so.1", "libxinerama1"),
    ("libgomp.so.1", "libgomp1"),
    ("libEGL.so.1", "libegl1"),
)
"""Shared libraries that Gmsh and drawing load on Linux, and the Debian or Ubuntu package of each; a test compares
them with scripts/system-packages.txt."""
DRIVER_PACKAGE = "libgl1-mesa-dri"
"""Mesa's software renderer, which draws without a display."""

SETUP = "run 'bash scripts/setup' in the project's folder, which installs everything"
PICTURES_ONLY = "needed for pictures only: 'wireslot run --no-pictures' does without"

GMSH_PROBE = """
import gmsh
gmsh.initialize(interruptible=False)
print(gmsh.option.getString("General.Version"))
gmsh.finalize()
"""
DRAWING_PROBE = """
import pyvista
plotter = pyvista.Plotter(off_screen=True, window_size=[64, 64])
plotter.background_color = "white"
plotter.add_mesh(pyvista.Sphere(), color="black", lighting=False)
image = plotter.screenshot(None, return_img=True)
plotter.close()
drawn = image[32, 32].max() < 64 and image[0, 0].min() > 192
print(f"{'drawn' if drawn else 'blank'} with pyvista {pyvista.__version__}")
"""
KERNEL_PROBE = """
from geometry.compiled import CACHE, needs_compiling
trial = CACHE / "doctor-trial"
trial.write_text("")
trial.unlink()
print(needs_compiling(), CACHE)
"""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at."""

    ok: bool
    what: str
    """What was looked at and what was found."""
    remedy: str = ""
    """What to do; empty where all is well."""

    @property
    def lines(self) -> tuple[str, ...]:
        """As it is printed: "ok" or "missing" first, the remedy on a line of its own."""
        first = f"{'ok' if self.ok else 'missing':<9}{self.what}"
        return (first, f"{'':<9}remedy: {self.remedy}") if self.remedy else (first,)


def examine() -> Iterator[Finding]:
    """Everything a run needs, in the order in which one thing needs the other."""
    yield python_version()
    for name, lowest in PACKAGES.items():
        yield package(name, lowest)
    if sys.platform.startswith("linux"):
        for library, debian in SYSTEM_LIBRARIES:
            yield system_library(library, debian)
    yield gmsh_works()
    yield kernel_cache()
    yield from drawing()


def python_version() -> Finding:
    """The interpreter that runs this."""
    found = ".".join(map(str, sys.version_info[:3]))
    ok = numbers(found) >= numbers(PYTHON)
    remedy = "" if ok else f"install Python {PYTHON} or newer, then {SETUP}"
    return Finding(ok, f"Python {found} ({PYTHON} or newer is needed)", remedy)


def numbers(version: str) -> tuple[int, ...]:
    """The leading numbers of a version: "2.10.1rc1" gives (2, 10, 1)."""
    match = re.match(r"\d+(?:\.\d+)*", version)
    return tuple(int(part) for part in match[0].split(".")) if match else ()


def package(name: str, lowest: str) -> Finding:
    """Whether a Python package is installed, and new enough; it is not imported."""
    remedy = f"{SETUP}; or install {name} {lowest} or newer into this Python ({sys.executable})"
    try:
        found = metadata.version(name)
    except metadata.PackageNotFoundError:
        return Finding(False, f"package {name} ({lowest} or newer is needed)", remedy)
    ok = numbers(found) >= numbers(lowest)
    return Finding(ok, f"package {name} {found} ({lowest} or newer is needed)", "" if ok else remedy)


def system_library(library: str, debian: str) -> Finding:
    """Whether a shared library of the system loads."""
    try:
        ctypes.CDLL(library)
    except OSError:
        remedy = f"apt-get install {debian} (Debian, Ubuntu; as root), or {SETUP}"
        return Finding(False, f"system library {library}", remedy)
    return Finding(True, f"system library {library}")


def gmsh_works() -> Finding:
    """Whether the mesher imports and starts: every run needs it."""
    said, problem = probe(GMSH_PROBE)
    if said is None:
        remedy = f"mend the packages and system libraries named missing here, or {SETUP}"
        return Finding(False, f"meshing: gmsh does not start ({problem})", remedy)
    return Finding(True, f"meshing: gmsh {said} starts")


def kernel_cache() -> Finding:
    """Where the compiled mechanics are kept: without a lasting place every run would compile for a minute."""
    said, problem = probe(KERNEL_PROBE)
    if said is None:
        remedy = f"mend the packages named missing here, or {SETUP}"
        return Finding(False, f"kernel cache: the compiler does not start ({problem})", remedy)
    waits, _, folder = said.partition(" ")
    wanted = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "wireslot"
    if wanted.resolve() not in Path(folder).resolve().parents:
        remedy = f"make {wanted} writable, or name a folder that is: export XDG_CACHE_HOME=FOLDER"
        return Finding(
            False, f"kernel cache: {wanted} cannot be written, {folder} is used and may not last", remedy
        )
    state = "nothing compiled yet, the first run does it in about a minute" if waits == "True" else "compiled"
    return Finding(True, f"kernel cache: {folder} can be written; {state}")


def drawing() -> Iterator[Finding]:
    """Whether pictures can be made without a display: the driver, then a small picture drawn and looked at."""
    try:
        window = window_class()
    except subprocess.TimeoutExpired:
        window = None
    if window is None:
        remedy = (
            f"apt-get install libegl1 {DRIVER_PACKAGE} (Debian, Ubuntu; as root), or {SETUP}; {PICTURES_ONLY}"
        )
        yield Finding(False, "off-screen renderer: nothing here draws without a display", remedy)
        return
    if window:
        yield Finding(True, f"off-screen renderer: {window}")
    # As cases.show.scene does it: a choice that the user has made stands.
    said, problem = probe(DRAWING_PROBE, {"VTK_DEFAULT_OPENGL_WINDOW": window} if window else {})
    if said is not None and said.startswith("drawn"):
        yield Finding(True, f"off-screen drawing: {said}")
        return
    remedy = f"mend the packages and system libraries named missing here, or {SETUP}; {PICTURES_ONLY}"
    yield Finding(False, f"off-screen drawing: no picture ({said or problem})", remedy)


def probe(program: str, defaults: dict[str, str] | None = None) -> tuple[str | None, str]:
    """Run a small Python program in a process of its own: its last line, or None and what went wrong.

    ``defaults`` are environment variables for it where the user has not set them.
    """
    try:
        done = subprocess.run(
            [sys.executable, "-c", program],
            capture_output=True,
            text=True,
            timeout=PROBE_SECONDS,
            cwd=HOME,
            env={**(defaults or {}), **os.environ},
            check=False,
        )
    except subprocess.TimeoutExpired:
        return None, f"no answer within {PROBE_SECONDS:g} s"
    except OSError as error:
        return None, f"it cannot be started: {error}"
    if done.returncode == 0 and done.stdout.strip():
        return done.stdout.strip().splitlines()[-1], ""
    if done.returncode < 0:
        return None, f"ended by signal {-done.returncode}"
    said = done.stderr.strip().splitlines()
    return None, said[-1] if said else f"exit code {done.returncode}"


def report(findings: Iterator[Finding], say: Callable[[str], object]) -> bool:
    """Say each finding as soon as it is there, and a last sentence; gives whether all is well."""
    missing = 0
    for finding in findings:
        for line in finding.lines:
            say(line)
        missing += not finding.ok
    what = "1 thing is" if missing == 1 else f"{missing} things are"
    say("All is well." if not missing else f"{what} missing; the remedies stand below each.")
    return not missing
