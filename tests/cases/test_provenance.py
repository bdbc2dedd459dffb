"""Provenance: complete, and honest about what it does not know."""

from __future__ import annotations

import hashlib
import json
import platform
import subprocess
from datetime import UTC, datetime
from pathlib import Path

from cases.casefile import parse_case
from cases.provenance import git_commit, provenance


def test_what_it_holds(sound_case: str) -> None:
    case = parse_case(sound_case, Path("somewhere/case.toml"))
    found = provenance(case, {"pictures": False})
    assert found["case_file"] == "case.toml"
    assert found["case_sha256"] == hashlib.sha256(sound_case.encode()).hexdigest()
    assert found["options"] == {"pictures": False}
    assert found["seed"] is None
    assert {"numpy", "numba", "gmsh", "pyvista"} <= set(found["libraries"])
    assert found["python"] == platform.python_version()
    age = datetime.now(UTC) - datetime.fromisoformat(found["date"])
    assert 0.0 <= age.total_seconds() < 60.0
    json.dumps(found, allow_nan=False)


def _git(folder: Path, *arguments: str) -> str:
    names = ["-c", "user.name=nobody", "-c", "user.email=nobody@example.org"]
    done = subprocess.run(
        ["git", "-C", str(folder), *names, *arguments], capture_output=True, text=True, check=True
    )
    return done.stdout.strip()


def test_commit(tmp_path: Path) -> None:
    assert git_commit(tmp_path) is None
    _git(tmp_path, "init", "-q")
    assert git_commit(tmp_path) is None  # no commit yet
    (tmp_path / "a").write_text("1", encoding="utf-8")
    _git(tmp_path, "add", "a")
    _git(tmp_path, "commit", "-q", "--no-gpg-sign", "-m", "one")
    commit = _git(tmp_path, "rev-parse", "HEAD")
    assert git_commit(tmp_path) == commit
    (tmp_path / "a").write_text("2", encoding="utf-8")
    assert git_commit(tmp_path) == f"{commit}-dirty"
    inside = tmp_path / "site-packages"
    inside.mkdir()
    assert git_commit(inside) is None  # somebody else's checkout around an installed copy
