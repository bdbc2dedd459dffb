"""A study from its first row to its table: rows solved side by side, written in their order."""

from __future__ import annotations

import functools
import os
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import dataclass
from hashlib import sha256
from importlib import metadata
from pathlib import Path
from typing import Any

from cases.errors import WireslotError
from cases.provenance import DISTRIBUTION, package_version
from cases.study import solve
from cases.study.names import columns
from cases.study.parquet import NAME, write_parquet
from cases.study.rows import Rows, open_rows
from cases.study.sampling import Inputs
from cases.study.solve import Answer, Base, Values
from cases.study.studyfile import Study

# Calls under way for each worker: enough that none waits for a slow one before it, few enough that memory stays flat.
AHEAD = 8
# Rows of one call: of a thread, which is called in no time, and of a process that may be far away.
ROWS_OF_A_THREAD, ROWS_OF_ANOTHER = 6, 48
TELLING = ("cluster", "command", "effects", "options", "parquet", "report", "summary")
RESULT_LIBRARIES = ("numpy", "scipy", "numba", "gmsh")


class OtherProgramError(WireslotError):
    """A worker runs another version of the program."""

    exit_code = 2


Heard = Callable[[int, int], None]
"""Told how many rows stand, of how many."""


@dataclass(frozen=True, slots=True)
class Ran:
    """How a study went."""

    table: Path
    """rows.csv"""
    parquet: Path
    """rows.parquet: the same"""
    rows: int
    stood: int
    """Rows that an earlier start had left."""


def run_study(
    study: Study,
    folder: Path,
    executor: Executor | None = None,
    jobs: int | None = None,
    heard: Heard | None = None,
) -> Ran:
    """Solve the rows of ``study`` that do not stand in ``folder`` yet.

    ``executor`` may be any of concurrent.futures or like it: samples are passed to it as plain picklable values, and it
    is left running; ``jobs`` is then how many it works on at a time, as many as this machine has processors unless
    given.  Without it ``jobs`` threads solve the rows, one unless given.  The table is the same, bit for bit on one
    kind of machine, in any case.  Raises OutputError; OtherProgramError; cases.study.solve.ChangedFileError.
    """
    if jobs is not None and jobs < 1:
        raise ValueError(f"at least one job is needed: got {jobs}")
    values = study.inputs()
    with open_rows(folder, columns(study.base, study.varied), len(values), manifest(study)) as rows:
        if not rows.whole:
            if executor is None:
                with ThreadPoolExecutor(jobs or 1) as own:
                    try:
                        _fill(study, values, rows, own, AHEAD * (jobs or 1), ROWS_OF_A_THREAD, heard)
                    finally:
                        own.shutdown(cancel_futures=True)
            else:
                workers = jobs or os.cpu_count() or 1
                _fill(study, values, rows, executor, AHEAD * workers, ROWS_OF_ANOTHER, heard)
        table = rows.finish()
        parquet = table.with_name(NAME)
        if not (rows.whole and parquet.exists()):
            write_parquet(study, table)
        return Ran(table, parquet, len(values), rows.standing)


def _fill(
    study: Study,
    values: Inputs,
    rows: Rows,
    executor: Executor,
    ahead: int,
    many: int,
    heard: Heard | None,
) -> None:
    """Solve what does not stand yet, at most ``ahead`` calls of about ``many`` rows at a time."""
    each = study.base.each
    samples = len(values) // each
    together = max(1, many // each)
    program = _program()
    under_way: deque[Future[list[tuple[Answer, ...]]]] = deque()
    written = rows.standing
    # a sample of which some rows stand is solved again, and they are left as they are
    sent = written // each
    skip = written % each
    try:
        while written < len(values):
            while sent < samples and len(under_way) < ahead:
                until = min(sent + together, samples)
                puts = [study.puts(values[each * sample], led=False) for sample in range(sent, until)]
                under_way.append(executor.submit(solve_there, program, study.base, puts))
                sent = until
            for answers in under_way.popleft().result():
                for answer in answers[skip:]:
                    written += 1
                    inputs = values[written - 1]
                    rows.append([written, *inputs, answer.status, *answer.outputs, answer.remark])
                    if heard is not None:
                        heard(written, len(values))
                skip = 0
    finally:
        for future in under_way:
            future.cancel()


def solve_there(program: str, base: Base, samples: Sequence[Values]) -> list[tuple[Answer, ...]]:
    """Solve samples, wherever this runs, as long as it is the same program: rows of two are never mixed.

    Raises OtherProgramError."""
    if _program() != program:
        raise OtherProgramError(
            "a worker runs other sources of this program, and rows of two programs are not mixed: install the same "
            "version on every machine, and start its workers anew"
        )
    return solve.solve_some(base, samples)


@functools.cache
def _program() -> str:
    """The fingerprint of the sources as they were when this process first asked."""
    return sources()


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
        "program": {"name": DISTRIBUTION, "version": package_version(), "sources_sha256": sources()},
        "libraries": libraries,
        "rows": study.rows,
    }


def sources() -> str:
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
