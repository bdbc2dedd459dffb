"""What ``wireslot report`` and ``wireslot figure`` do, from their arguments to an exit code."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from cases.casefile import load_case
from cases.commands import DEFECT, DONE, NO_EQUILIBRIUM, say, tell_files, wants_traceback
from cases.files import check_writable, write_whole
from cases.output import REPORT, write_outputs
from cases.report.content import report_of
from cases.report.html import page
from cases.report.stored import read_result
from cases.results import RunResult
from cases.schema import Case
from cases.show.errors import PictureError
from cases.summary import warning_lines
from cases.text_file import write_text

if TYPE_CHECKING:
    from rich.console import Console

    from cases.report.pictures import Picture
    from cases.show.agreement import Kind, Known
    from cases.show.plots import Band

Solver = Callable[[Case], RunResult | None]
"""Solves a case, or says why not and gives None."""


def report(arguments: argparse.Namespace, console: Console, solve: Solver) -> int:
    """``wireslot report``: stored results are read, else the case is solved and its numbers stored beside the page."""
    case = load_case(arguments.case)
    folder: Path = arguments.out or arguments.results or Path(case.path.stem)
    result = _found(case, arguments.results, folder, console, solve)
    if result is None:
        return NO_EQUILIBRIUM
    written = () if arguments.results is not None else write_outputs(result, folder)
    text, failure = report_text(case, result)
    tell_files((*written, write_text(folder / REPORT, text)), console)
    if failure is None:
        return DONE
    say(f"the report is written, but without the picture of the wire: {failure}")
    if wants_traceback():
        raise failure
    return DEFECT


def figure(arguments: argparse.Namespace, console: Console, solve: Solver) -> int:
    """``wireslot figure``: one picture, twice, its numbers, and its words to go with it."""
    from cases.report.choice import NotThere, must_fit
    from cases.report.figure import FigureError, draw_figure, figure_writers
    from cases.show.closed_form import closed_forms

    case = load_case(arguments.case)
    try:
        must_fit(arguments.what, bool(arguments.theory or arguments.measured), arguments.study is not None)
    except NotThere as reason:
        raise FigureError(str(reason)) from reason
    known = _known(case, arguments)
    folder: Path = arguments.out or Path(".")
    result = _found(case, arguments.results, folder, console, solve)
    if result is None:
        return NO_EQUILIBRIUM
    band, notes = _band(case, result, arguments)
    drawn = draw_figure(
        case,
        result,
        arguments.what,
        arguments.style,
        closed_forms(case),
        arguments.attachment,
        known,
        band,
        notes,
    )
    written = write_whole(folder, figure_writers(drawn, f"figure-{arguments.what}-{arguments.style}"))
    console.print("In words, for who cannot see it", style="bold")
    console.print(drawn.words, markup=False, highlight=False)
    tell_files(written, console)
    return DONE


def _known(case: Case, arguments: argparse.Namespace) -> tuple[Known, ...]:
    """The points of ``--measured`` and ``--theory``; read before anything is solved."""
    files: tuple[tuple[Kind, Path | None], ...] = (
        ("theory", arguments.theory),
        ("measurement", arguments.measured),
    )
    if not any(path for _, path in files):
        return ()
    from cases.report.points_file import ACTIVATION, read_points

    turns = case.bench is not None and any(case.bench.turn)
    what = arguments.what
    place = (
        "angle"
        if what == "torque" or (what == "bench" and turns)
        else "travel"
        if what == "bench"
        else ACTIVATION
    )
    forces = what == "force" or (what == "bench" and not turns)
    quantity = "ratio" if what == "ratio" else "force" if forces else "moment"
    return tuple(read_points(path, kind, place, quantity) for kind, path in files if path is not None)


def _band(
    case: Case, result: RunResult, arguments: argparse.Namespace
) -> tuple[Band | None, tuple[str, ...]]:
    """The band of ``--study`` and what is said of it."""
    if arguments.study is None:
        return None, ()
    from cases.report.band_file import band_note, read_band
    from cases.show.expression import most_inclined

    name = arguments.attachment or result.attachments[most_inclined(result)].name
    return read_band(arguments.study, case, name), (band_note(arguments.study),)


def _found(
    case: Case, stored: Path | None, folder: Path, console: Console, solve: Solver
) -> RunResult | None:
    """The result, read or solved; whether ``folder`` can be written is found out before."""
    check_writable(folder)
    for line in warning_lines(case.warnings):
        console.print(line, markup=False, highlight=False, soft_wrap=True)
    return solve(case) if stored is None else read_result(stored, case)


def report_text(case: Case, result: RunResult) -> tuple[str, Exception | None]:
    """The page, and why it has no picture of the wire, where this machine cannot draw one."""
    from cases.report.pictures import line_pictures, scene_picture
    from cases.show.closed_form import closed_forms

    references = closed_forms(case)
    pictures = line_pictures(case, result, references)
    scene: Picture | None = None
    failure: Exception | None = None
    try:
        scene = scene_picture(result)
    except PictureError as error:
        failure = error
    return page(report_of(case, result, references), replace(pictures, scene=scene)), failure
