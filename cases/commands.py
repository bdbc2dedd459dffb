"""What each command of ``wireslot`` does; ``cases.cli`` reads the arguments and calls these.

Everything heavy is imported where it is used.  Each command gives its exit code; errors are raised and told by
``cases.cli``.
"""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console

    from cases.files import Writer
    from cases.results import RunResult
    from cases.run import Run
    from cases.schema import Case

DONE, DEFECT, USAGE, NO_EQUILIBRIUM, LACKING, INTERRUPTED = 0, 1, 2, 3, 5, 130
CHECK_DIFFERS = 3
NOT_ACCURATE = 6
"""The results are written, but no mesh reached the accuracy that was asked for."""
NOT_MET = 7
"""A wanted force system that statics forbids, or that no candidate meets."""
SOME_FAILED = 4
"""Of several appliances some found no equilibrium."""
PRINTED = "-"
"""In place of a file: printed."""
TRACEBACK_VARIABLE = "WIRESLOT_TRACEBACK"
LOG_WIDTH = 120
"""Columns where there is no terminal to ask."""


def check(arguments: argparse.Namespace) -> int:
    """``wireslot check``: solves nothing, writes nothing."""
    from cases.casefile import load_case
    from cases.summary import print_case

    print_case(load_case(arguments.case), _console())
    return DONE


def run(arguments: argparse.Namespace) -> int:
    """``wireslot run``: whether the results can be written is found out before anything is solved."""
    from cases.casefile import load_case
    from cases.files import check_writable
    from cases.summary import warning_lines

    console = _console()
    case = load_case(arguments.case)
    check_writable(arguments.out)
    for line in warning_lines(case.warnings):
        console.print(line, markup=False, highlight=False, soft_wrap=True)
    found = _solve(case, console, not arguments.no_estimate, arguments.refine)
    if found is None:
        return NO_EQUILIBRIUM
    if arguments.modulus_range:
        found = _at_both_ends(found, console)
    code, accuracy = _deliver(found, arguments, console), found.result.accuracy
    if accuracy is not None and accuracy.reached is False:
        say(accuracy.words[-1])
        return code or NOT_ACCURATE
    return code


def new(arguments: argparse.Namespace) -> int:
    """``wireslot new``: a commented case file; what is there already is left alone unless ``--force``."""
    import shlex

    from cases.template import write_template

    path = write_template(arguments.file, arguments.force)
    name = shlex.quote(str(path))
    print(f"case file written: {path}")
    print("It is an invented example that runs as it is; its remarks say what every key means. Next:")
    print(f"  wireslot check {name}")
    print(f"  wireslot run {name} --out results")
    return DONE


def play(arguments: argparse.Namespace) -> int:
    """``wireslot play``: "does not fit" and "turns freely" are answers, not errors."""
    from cases.play import csv_text, print_plays
    from cases.play_options import read_options
    from cases.summary import warning_lines
    from cases.text_file import write_text

    slot = ("height", "depth", "width", "taper", "mouth_radius", "front")
    names = (*slot, "wire", "edge_radius", "second_tilt", "first_tilt", "csv")
    given = {f"--{name.replace('_', '-')}": getattr(arguments, name) for name in names}
    question = read_options(given, arguments.table)
    # A file that cannot be written is told before anything is printed.
    written = None if arguments.csv is None else write_text(Path(arguments.csv), csv_text(question.plays))
    console = _console()
    for line in warning_lines(question.warnings):
        console.print(line, markup=False, highlight=False, soft_wrap=True)
    print_plays(question.plays, question.table, console)
    if written is not None:
        console.print(f"\nFile\n    {written}", markup=False, highlight=False, soft_wrap=True)
    return DONE


def formula(arguments: argparse.Namespace) -> int:
    """``wireslot formula``: a value outside the range of its formula is an answer with a warning."""
    from cases.formulas.command import lines_of

    for line in lines_of(arguments.name, arguments.inputs):
        print(line)
    return DONE


def verify(arguments: argparse.Namespace) -> int:
    """``wireslot verify``: what cannot be written is told once the rows are there; they have been printed then."""
    from cases.verify.command import all_checks, computed, console_for, report, write
    from cases.verify.tables import markdown
    from geometry.compiled import needs_compiling

    printed = arguments.markdown == PRINTED
    console = console_for(stderr=printed)
    if needs_compiling():
        console.print("The first run compiles the mechanics once; it takes about a minute.", highlight=False)
    rows = computed(all_checks(), console)
    if printed:
        print(markdown(rows), end="")
    else:
        report(rows, console)
    for file in write(rows, None if printed else arguments.markdown, arguments.json):
        console.print(f"written: {file}", markup=False, highlight=False, soft_wrap=True)
    return DONE if all(row.passed for row in rows) else CHECK_DIFFERS


def factor(arguments: argparse.Namespace) -> int:
    """``wireslot factor``: what one factor does to force and couple."""
    from cases.studies import command

    return command.factor(arguments, _console())


def compare(arguments: argparse.Namespace) -> int:
    """``wireslot compare``: appliances side by side."""
    from cases.studies import command

    return command.compare(arguments, _console())


def study(arguments: argparse.Namespace) -> int:
    """``wireslot study``: one case many times, with grids and samples of its keys."""
    from cases.study import command

    return command.study(arguments, _console())


def target(arguments: argparse.Namespace) -> int:
    """``wireslot target``: the appliance that gives a wanted force system."""
    from cases.target import command

    return command.target(arguments, _console())


def bench_test(arguments: argparse.Namespace) -> int:
    """``wireslot bench-test``: a wire drawn, bent or twisted until it yields or transforms."""
    from cases.bench_tests import command

    return command.bench_test(arguments, _console())


def report(arguments: argparse.Namespace) -> int:
    """``wireslot report``: one page that says everything of a case and its result."""
    from cases.report import command

    console = _console()
    return command.report(arguments, console, lambda case: _result(case, console))


def figure(arguments: argparse.Namespace) -> int:
    """``wireslot figure``: one picture for a slide or a paper."""
    from cases.report import command

    console = _console()
    return command.figure(arguments, console, lambda case: _result(case, console))


def scene(arguments: argparse.Namespace) -> int:
    """``wireslot scene``: the wire in its attachments as picture, window or page."""
    from cases.scenes import command

    console = _console()
    return command.scene(arguments, console, lambda case: _result(case, console))


def animate(arguments: argparse.Namespace) -> int:
    """``wireslot animate``: the engagement as an animated picture."""
    from cases.report import animation

    console = _console()
    return animation.animate(arguments, console, lambda case: _solve(case, console))


def doctor(arguments: argparse.Namespace) -> int:
    """``wireslot doctor``: uses no package, so that it answers where none is installed."""
    from cases.doctor import examine, report

    return DONE if report(examine(), lambda line: print(line, flush=True)) else LACKING


def _solve(case: Case, console: Console, estimate: bool = False, refine: float | None = None) -> Run | None:
    """The mechanics and their result, or None when no equilibrium was found (which has then been said)."""
    from cases.progress import IncrementLog
    from cases.run import whole_run
    from fem.status import NoEquilibrium
    from geometry.compiled import needs_compiling

    if needs_compiling():
        console.print("The first run compiles the mechanics once; it takes about a minute.", highlight=False)
    try:
        with IncrementLog(console) as log:
            if refine is None:
                return whole_run(case, log, estimate=estimate)
            from cases.refine import progress_words, refined_run

            return refined_run(
                case, refine, log, lambda mesh: console.print(progress_words(mesh), highlight=False)
            )
    except NoEquilibrium as failure:
        from cases.failure import failure_words

        say("; ".join((*failure_words(case, failure), "nothing was written")))
        return None


def _at_both_ends(run: Run, console: Console) -> Run:
    """The run with its loads at both ends of the range of Young's modulus, where only a solve tells them."""
    from dataclasses import replace

    from cases.modulus_ends import with_ends
    from cases.run import run_case

    spread = run.result.modulus_spread
    if spread is None or spread.proportional:
        return run
    console.print("Solving at both ends of the published range of Young's modulus.", highlight=False)
    return replace(run, result=with_ends(run.case, run.result, run_case))


def _result(case: Case, console: Console) -> RunResult | None:
    found = _solve(case, console)
    return None if found is None else found.result


def _deliver(run: Run, arguments: argparse.Namespace, console: Console) -> int:
    """Write and print; the numbers are on disk before the pictures are tried."""
    from cases.frames import frame_writers
    from cases.output import write_outputs
    from cases.summary import print_result

    solids, code = _solids(run) if arguments.solids else ({}, DONE)
    written = list(write_outputs(run.result, arguments.out, {**frame_writers(run), **solids}))
    print_result(run.result, console)
    failure: Exception | None = None
    if not arguments.no_pictures:
        from cases.show.closed_form import closed_forms
        from cases.show.pictures import draw_all

        try:
            written += draw_all(run.result, arguments.out, closed_forms(run.case))
        except Exception as error:  # whatever the renderer says, the numbers stand
            failure = error
    tell_files(_listed(written), console)
    if failure is not None:
        say(f"the numbers are written, but not every picture could be drawn: {failure}")
        say("'wireslot doctor' says what is missing on this machine; --no-pictures does without")
        if wants_traceback():
            raise failure
        return DEFECT
    return code


def _solids(run: Run) -> tuple[Mapping[str, Writer], int]:
    """What writes the solids; where no solid can be made of the wire, nothing, and that has been said."""
    from cases.errors import WireslotError
    from cases.solids import solid_writers

    try:
        return solid_writers(run.case, run.model, run.path), DONE
    except WireslotError as error:
        say(f"no solids are written: {error}")
        return {}, USAGE


def _listed(files: Sequence[Path]) -> list[str]:
    """Their paths, one line for each name; of a numbered series only the first and the last."""
    alike: dict[str, list[Path]] = {}
    for file in files:
        alike.setdefault(re.sub(r"_\d+$", "_", file.stem), []).append(file)
    lines: list[str] = []
    for stem, (first, *others) in alike.items():
        if stem.endswith("_") and others:
            lines.append(f"{first} to {others[-1].name}")
        else:
            lines.append(", ".join([str(first), *(file.suffix for file in others)]))
    return lines


def _console() -> Console:
    from rich.console import Console

    return Console(width=None if sys.stdout.isatty() else LOG_WIDTH)


def tell_files(files: Sequence[Path | str], console: Console) -> None:
    """Which files are there, and the caution: how every command ends that writes results."""
    from cases.output import CAUTION

    console.print("\nFiles", style="bold")
    for file in files:
        console.print(f"    {file}", markup=False, highlight=False, soft_wrap=True)
    console.print(f"\n{CAUTION}", highlight=False)


def say(text: str) -> None:
    """A sentence for the user, apart from the results."""
    print(f"wireslot: {text}", file=sys.stderr)


def wants_traceback(arguments: Sequence[str] | None = None) -> bool:
    """Whether a defect is to be shown with where it arose; ``arguments`` None: the program's own."""
    given = sys.argv[1:] if arguments is None else arguments
    return "--traceback" in given or os.environ.get(TRACEBACK_VARIABLE, "") not in ("", "0")
