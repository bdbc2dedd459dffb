"""What ``wireslot study`` does, from its arguments to an exit code."""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from cases.commands import DEFECT, DONE, INTERRUPTED, say, tell_files, wants_traceback
from cases.errors import Problem
from cases.files import Writer, write_whole
from cases.play_options import OptionsError
from cases.study import solve
from cases.study.report import print_summary, summary_table
from cases.study.run_study import Heard, Ran, run_study
from cases.study.studyfile import load_study
from cases.study.summary import read_rows, summarise, summary_json
from cases.summary import warning_lines

if TYPE_CHECKING:
    from rich.console import Console

    from cases.study.studyfile import Study
    from cases.study.summary import Summary


def study(arguments: argparse.Namespace, console: Console) -> int:
    """``wireslot study``: nothing is written before the study file and its case are found good."""
    if arguments.jobs < 1:
        remedy = "write --jobs 1 or more"
        raise OptionsError(
            "study", [Problem("--jobs", None, f"at least one job is needed, got {arguments.jobs}", remedy)]
        )
    asked = load_study(arguments.study, arguments.yes)
    for line in warning_lines(asked.warnings):
        console.print(line, markup=False, highlight=False, soft_wrap=True)
    begun = time.perf_counter()
    try:
        with _progress(console, asked.rows, asked.base.forces) as heard:
            ran = _run(asked, arguments, heard)
    except KeyboardInterrupt:
        say(f"stopped; the rows so far stand in {arguments.out}: the same command goes on from there")
        return INTERRUPTED
    seconds = time.perf_counter() - begun
    if ran.stood:
        console.print(f"{ran.stood} of {ran.rows} rows stood already.", highlight=False)
    if ran.rows > ran.stood:
        done = ran.rows - ran.stood
        console.print(f"{done} rows in {seconds:.1f} s, {done / seconds:.1f} a second.", highlight=False)
    found = summarise(asked, read_rows(ran.table, asked))
    text = json.dumps(summary_json(found), indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    files = [
        ran.table,
        ran.parquet,
        *write_whole(
            arguments.out,
            {
                "summary.json": lambda path: path.write_text(text, encoding="utf-8"),
                "summary.csv": summary_table(found).write,
            },
        ),
    ]
    print_summary(found, console)
    failure: Exception | None = None
    if not arguments.no_pictures:
        try:
            files += _pictures(found, arguments.out)
        except Exception as error:  # whatever the drawing library says, the numbers stand
            failure = error
    tell_files(files, console)
    if failure is not None:
        say(f"the numbers are written, but not every figure could be drawn: {failure}")
        if wants_traceback():
            raise failure
        return DEFECT
    defects = found.statuses.get(solve.DEFECT, 0)
    if defects:
        remark = found.rows.remarks[found.rows.status.index(solve.DEFECT)]
        say(
            f"{defects} rows ended in a defect of ours, the first with {remark}; please report it with both files"
        )
        return DEFECT
    return DONE


def _run(asked: Study, arguments: argparse.Namespace, heard: Heard) -> Ran:
    """Here, in threads, or on the workers of a scheduler."""
    if arguments.cluster is None:
        return run_study(asked, arguments.out, jobs=arguments.jobs, heard=heard)
    from cases.study.cluster import cluster

    with cluster(arguments.cluster) as (executor, jobs):
        return run_study(asked, arguments.out, executor, jobs, heard)


def _pictures(found: Summary, folder: Path) -> list[Path]:
    """Every figure as PNG and SVG."""
    from cases.show.study_figure import figures
    from cases.show.study_sheet import save_study

    title = found.study.title
    writers: dict[str, Writer] = {}
    for stem, sheet in figures(found).items():
        for kind in (".png", ".svg"):
            writers[f"{stem}{kind}"] = partial(save_study, sheet, title)
    return list(write_whole(folder, writers))


@contextmanager
def _progress(console: Console, rows: int, forces: bool) -> Iterator[Heard]:
    """A bar of rows on a terminal; in a log a line at every tenth of them."""
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    if forces:
        from geometry.compiled import CACHE, needs_compiling

        if needs_compiling():
            said = "The first run compiles the mechanics once; it takes about a minute."
            console.print(said, highlight=False)
        elif not any(CACHE.rglob("*.walk-*.nbc")):  # of fem.batch, which a single run does not need
            said = "The first study compiles its part of the mechanics once; it takes about half a minute."
            console.print(said, highlight=False)
    parts = (TextColumn("rows"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*parts, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("rows", total=rows)

        def heard(written: int, of: int) -> None:
            bar.update(task, completed=written)
            if not console.is_terminal and written * 10 // of > (written - 1) * 10 // of:
                console.print(f"{written} of {of} rows", highlight=False)

        yield heard
