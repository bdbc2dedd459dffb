"""What ``wireslot target`` does, from its arguments to an exit code."""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from cases.commands import DEFECT, DONE, NOT_MET, say, tell_files, wants_traceback
from cases.errors import Problem
from cases.files import Writer, check_writable, left_by_others, write_whole
from cases.play_options import OptionsError
from cases.summary import warning_lines
from cases.target.bodies import bodies_of
from cases.target.case_text import case_text
from cases.target.report import candidate_table, print_found, sensitivity_table, target_json
from cases.target.search import Found, Heard, search
from cases.target.statics import impossible, left_out
from cases.target.targetfile import load_target, with_values

if TYPE_CHECKING:
    from rich.console import Console

FIGURE = "target"


def target(arguments: argparse.Namespace, console: Console) -> int:
    """``wireslot target``: nothing is solved before file, folder and statics are found good."""
    if arguments.jobs < 1:
        remedy = "write --jobs 1 or more"
        raise OptionsError(
            "target", [Problem("--jobs", None, f"at least one job is needed, got {arguments.jobs}", remedy)]
        )
    asked = load_target(arguments.target)
    check_writable(arguments.out)
    for line in warning_lines(asked.warnings):
        console.print(line, markup=False, highlight=False, soft_wrap=True)
    bodies = bodies_of(asked)
    against = impossible(bodies, asked.wanted)
    if against:
        say(f"{asked.path}: impossible by statics, so nothing was searched and nothing written")
        for line in against:
            say(line)
        return NOT_MET
    silent = left_out(bodies, asked.wanted)
    if silent:
        console.print(silent, highlight=False)
    begun = time.perf_counter()
    with _progress(console) as heard:
        found = search(asked, arguments.jobs, heard)
    seconds = time.perf_counter() - begun
    console.print(
        f"{found.evaluations} solves from {found.starts} starts in {seconds:.1f} s.", highlight=False
    )
    files = list(_write(found, arguments.out))
    print_found(found, console)
    failure: Exception | None = None
    if not arguments.no_pictures and found.candidates:
        try:
            files += _picture(found, arguments.out)
        except Exception as error:  # whatever the drawing library says, the numbers stand
            failure = error
    tell_files(files, console)
    if failure is not None:
        say(f"the numbers are written, but the figure could not be drawn: {failure}")
        if wants_traceback():
            raise failure
        return DEFECT
    return DONE if found.met else NOT_MET


def _write(found: Found, folder: Path) -> tuple[Path, ...]:
    """JSON, tables and case files; those of another search are taken away."""
    asked = found.target
    names, writers = [], {}
    for k, judged in enumerate(found.candidates[: asked.search.keep]):
        one = judged.candidate
        meets = (
            "meets everything wanted"
            if one.meets
            else "comes nearest to what is wanted, and does not meet it"
        )
        head = (
            f"Candidate {k + 1} of {asked.path.name}, made from {asked.case.path.name}: it {meets}.\n"
            "Computed for study and teaching; not a treatment plan."
        )
        data = with_values(
            asked.data, [*asked.puts(one.values), (("title",), f"{asked.title}: candidate {k + 1}")]
        )
        text = case_text(data, asked.case, folder, head)
        names.append(f"candidate-{k + 1}.toml")
        writers[names[-1]] = _text_writer(text)
    text = json.dumps(target_json(found, names), indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    tables: dict[str, Writer] = {
        "target.json": _text_writer(text),
        "candidates.csv": candidate_table(found).write,
        "sensitivity.csv": sensitivity_table(found).write,
    }
    writers = {**tables, **writers}
    ours = {f"{FIGURE}.png", f"{FIGURE}.svg"}
    stale = left_by_others(
        folder,
        writers,
        lambda name: name in ours or (name.startswith("candidate-") and name.endswith(".toml")),
    )
    return write_whole(folder, writers, stale)


def _text_writer(text: str) -> Writer:
    return lambda path: path.write_text(text, encoding="utf-8")


def _picture(found: Found, folder: Path) -> tuple[Path, ...]:
    from cases.show.study_sheet import save_study
    from cases.show.target_figure import draw_target

    sheet = draw_target(found)
    writers: dict[str, Writer] = {
        f"{FIGURE}{kind}": partial(save_study, sheet, found.target.title) for kind in (".png", ".svg")
    }
    return write_whole(folder, writers)


@contextmanager
def _progress(console: Console) -> Iterator[Heard]:
    """A bar of searches on a terminal; in a log a line at every tenth of them."""
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    from geometry.compiled import needs_compiling

    if needs_compiling():
        console.print("The first run compiles the mechanics once; it takes about a minute.", highlight=False)
    parts = (TextColumn("searches"), BarColumn(), MofNCompleteColumn(), TextColumn("{task.description}"),
             TimeRemainingColumn())  # fmt: skip
    with Progress(*parts, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("", total=None)

        def heard(done: int, of: int, met: int) -> None:
            bar.update(task, completed=done, total=of, description=f"{met} meet what is wanted")
            if not console.is_terminal and done * 10 // of > (done - 1) * 10 // of:
                console.print(f"{done} of {of} searches, {met} meet what is wanted", highlight=False)

        yield heard
