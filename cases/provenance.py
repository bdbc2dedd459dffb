"""Where a result comes from: program, commit, case, options, libraries, machine, date."""

from __future__ import annotations

import os
import platform
import subprocess
from collections.abc import Mapping
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path
from typing import Any

from cases.schema import Case

DISTRIBUTION = "wireslot"
LIBRARIES = ("numpy", "scipy", "numba", "llvmlite", "gmsh", "pyvista", "vtk", "meshio", "rich")
GIT_SECONDS = 5.0


def package_version() -> str | None:
    """Version of the installed program; None where it runs without being installed."""
    return _version(DISTRIBUTION)


def _version(name: str) -> str | None:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None


def git_commit(folder: Path) -> str | None:
    """Commit of the checkout whose top is ``folder``, with "-dirty" where files differ from it.

    None where the folder is no checkout or has no commit.
    """
    top = _git(folder, "rev-parse", "--show-toplevel")
    if top is None or Path(top).resolve() != folder.resolve():
        return None  # an installed copy may lie inside somebody else's checkout
    return _git(folder, "describe", "--always", "--dirty", "--abbrev=40", "--exclude=*")


def _git(folder: Path, *arguments: str) -> str | None:
    """What git says, or None where there is no git or it has nothing to say."""
    # Variables like GIT_DIR would make git speak of another checkout.
    environment = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
    try:
        done = subprocess.run(
            ["git", "-C", str(folder), *arguments],
            capture_output=True,
            text=True,
            timeout=GIT_SECONDS,
            env=environment,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return None
    return done.stdout.strip() or None if done.returncode == 0 else None


def provenance(case: Case | None, options: Mapping[str, Any]) -> dict[str, Any]:
    """Everything needed to make the result again; no library is imported for it.

    ``options`` are those that the case file does not hold; ``case`` is None where there is none.  There is no seed:
    nothing in a run is random.
    """
    return {
        "program": DISTRIBUTION,
        "version": package_version(),
        "commit": git_commit(Path(__file__).resolve().parent.parent),
        "case_file": None if case is None else case.path.name,
        "case_sha256": None if case is None else case.sha256,
        "data_files": {} if case is None else {file.name: file.sha256 for file in case.data_files},
        "options": dict(options),
        "seed": None,
        "libraries": {name: version for name in LIBRARIES if (version := _version(name)) is not None},
        "python": platform.python_version(),
        "platform": platform.platform(),
        "date": datetime.now(UTC).isoformat(timespec="seconds"),
    }
