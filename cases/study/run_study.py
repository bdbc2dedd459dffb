"""A study from its first row to its table: rows solved side by side, written in their order."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import dataclass
from hashlib import sha256
from importlib import metadata
from pathlib import Path
from typing import Any

from cases.provenance import DISTRIBUTION, package_version
from cases.study.names import columns
from cases.study.quantities import Cell
from cases.study.rows import Rows, open_rows
from cases.study.solve import Answer, solve
from cases.study.studyfile import Study

# Rows under way for each worker: enough that none waits for a slow row before it, few enough that memory stays flat.
AHEAD = 8
TELLING = ("command", "effects", "options", "report", "summary")
RESULT_LIBRARIES = ("numpy", "scipy", "numba", "gmsh")

Heard = Callable[[int, int], None]
"""Told how many rows stand, of how many."""


@dataclass(frozen=True, slots=True)
class Ran:
    """How a study went."""

    table: Path
    """rows.csv"""
    rows: int
    stood: int
    """Rows that an earlier start had left."""


def run_study(
    study: Study, folder: Path, executor: Executor | None = None, jobs: int = 1, heard: Heard | None = None
) -> Ran:
    """Solve the rows of ``study`` that do not stand in ``folder`` yet.

    ``executor`` may be any of concurrent.futures or like it: rows are passed to it as plain picklable values, and it is
    left running.  Unless it is given, ``jobs`` threads solve the rows.  The table is the same, bit for bit, in any
    case.      Raises OutputError; cases.study.solve.ChangedFileError.
    """
    if jobs < 1:
        raise ValueError(f"at least one job is needed: got {jobs}")
    values = study.inputs()
    with open_rows(folder, columns(study.base, study.varied), len(values), manifest(study)) as rows:
        if not rows.whole:
            own = ThreadPoolExecutor(jobs) if executor is None else None
            workers = jobs if executor is None else os.cpu_count() or 1
            try:
                _fill(study, values, rows, own or executor, AHEAD * workers, heard)  # type: ignore[arg-type]
            finally:
                if own is not None:
                    own.shutdown(cancel_futures=True)
        return Ran(rows.finish(), len(values), rows.standing)


def _fill(
    study: Study,
    values: list[tuple[Cell, ...]],
    rows: Rows,
    executor: Executor,
    ahead: int,
    heard: Heard | None,
) -> None:
    """Solve what does not stand yet, at most ``ahead`` rows at a time."""
    under_way: deque[Future[Answer]] = deque()
    sent = written = rows.standing
    try:
        while written < len(values):
            while sent < len(values) and len(under_way) < ahead:
                under_way.append(executor.submit(solve, study.base, study.puts(values[sent])))
                sent += 1
            answer = under_way.popleft().result()
            written += 1
            rows.append([written, *values[written - 1], answer.status, *answer.outputs, answer.remark])
            if heard is not None:
                heard(written, len(values))
    finally:
        for future in under_way:
            future.cancel()


def manifest(study: Study) -> dict[str, Any]:
    """Whose rows they are: all that a row depends on."""
    libraries = {name: metadata.version(name) for name in RESULT_LIBRARIES}
    return {
        "title": study.title,
        "study_file": {"name": study.path.name, "sha256": study.sha256},
        "case_file": {
            "name": study.base.path.name,
            "sha256": sha256(study.base.text.encode("utf-8")).hexdigest(),
        },
        "data_files": {file.name: file.sha256 for file in study.base.data_files},
        "program": {"name": DISTRIBUTION, "version": package_version(), "sources_sha256": _sources()},
        "libraries": libraries,
        "rows": study.rows,
    }


def _sources() -> str:
    """Fingerprint of the sources that a row could depend on: geometry, mechanics, the reader of cases, and of studies
    all but what tells of rows that stand."""
    root = Path(__file__).resolve().parents[2]
    files = [
        *(root / "geometry").rglob("*.py"),
        *(root / "fem").rglob("*.py"),
        *(root / "cases").glob("*.py"),
    ]
    files += [path for path in Path(__file__).parent.glob("*.py") if path.stem not in TELLING]
    digest = sha256()
    for path in sorted([*files, root / "cases" / "library" / "materials.toml"]):
        digest.update(path.relative_to(root).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()
