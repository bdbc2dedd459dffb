"""What ``wireslot factor`` and ``wireslot compare`` do, from their arguments to an exit code."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from cases.casefile import load_case
from cases.commands import DEFECT, DONE, NO_EQUILIBRIUM, SOME_FAILED, say, wants_traceback
from cases.errors import Problem
from cases.files import check_writable, write_whole
from cases.play_options import OptionsError
from cases.reader import nearest
from cases.run import run_case
from cases.show.tables import Table
from cases.studies.compare import LETTERS, Comparison, Member, compare_table, matched, print_comparison
from cases.studies.factors import STUDIES, Study
from cases.studies.own_case import run_own
from cases.studies.report import columns_and_rows, print_found, print_list
from cases.studies.run_study import Found, run_study
from cases.summary import warning_lines
from fem.status import NoEquilibrium

if TYPE_CHECKING:
    from rich.console import Console

    from cases.schema import Case
    from cases.show.sheet import Sheet


def factor(arguments: argparse.Namespace, console: Console) -> int:
    """``wireslot factor``: the list, or one study."""
    if arguments.name is None:
        given = [
            name for name in ("out", "values", "case", "attachment", "order") if getattr(arguments, name)
        ]
        if given:
            _refuse(
                "factor", f"--{given[0]}", "which study?", f"write wireslot factor NAME: {', '.join(STUDIES)}"
            )
        print_list(console)
        return DONE
    study = _study(arguments.name)
    for name in ("attachment", "order"):
        if getattr(arguments, name) and arguments.case is None:
            _refuse(
                f"factor {study.name}",
                f"--{name}",
                "the study's own appliance has its own",
                "add --case CASE",
            )
    values = () if arguments.values is None else tuple(word.strip() for word in arguments.values.split(","))
    case = None if arguments.case is None else _load(arguments.case, console)
    if arguments.out is not None:
        check_writable(arguments.out)
    try:
        with _progress(console, study.name) as told:
            if case is None:
                found = run_study(study, values, told)
            else:
                found = run_own(study, case, values, arguments.attachment, arguments.order, told)
    except NoEquilibrium as failure:
        say(f"the case as it is: {failure}; nothing was written")
        return NO_EQUILIBRIUM
    print_found(found, console)
    code = _ended([row.loads is not None for row in found.rows])
    return _written("factor", arguments.out, columns_and_rows(found), lambda: _figure(found), found.study.question,
                    code, console)  # fmt: skip


def compare(arguments: argparse.Namespace, console: Console) -> int:
    """``wireslot compare``: what belongs together is found out before anything is solved."""
    cases = [_load(path, console) for path in arguments.cases]
    groups = matched(cases)
    if arguments.out is not None:
        check_writable(arguments.out)
    members = []
    with _progress(console, "compare") as told:
        for letter, case in zip(LETTERS, cases, strict=False):
            try:
                result = run_case(case)
            except NoEquilibrium as failure:
                say(f"{letter} ({case.path.name}): {failure}")
                members.append(Member(letter, case, None))
            else:
                members.append(Member(letter, case, result))
            told()
    found = Comparison(tuple(members), groups)
    print_comparison(found, console)
    code = _ended([member.result is not None for member in members])

    def draw() -> Sheet:
        from cases.show.compare_figure import draw_comparison

        return draw_comparison(found)

    title = " / ".join(case.title for case in cases)
    return _written("compare", arguments.out, compare_table(found), draw, title, code, console)


def _study(name: str) -> Study:
    if name not in STUDIES:
        near = nearest(name, list(STUDIES))
        known = f"studies: {', '.join(STUDIES)}"
        _refuse(
            "factor",
            "",
            f'no study is called "{name}"',
            f'did you mean "{near}"? ({known})' if near else known,
        )
    return STUDIES[name]


def _refuse(command: str, key: str, message: str, remedy: str) -> None:
    raise OptionsError(command, [Problem(key, None, message, remedy)])


def _load(path: Path, console: Console) -> Case:
    case = load_case(path)
    for line in warning_lines(case.warnings):
        console.print(f"{path.name}{line}", markup=False, highlight=False, soft_wrap=True)
    return case


def _ended(solved: list[bool]) -> int:
    return DONE if all(solved) else SOME_FAILED if any(solved) else NO_EQUILIBRIUM


@contextmanager
def _progress(console: Console, name: str) -> Iterator[Callable[[], None]]:
    """A count of solved appliances on a terminal; nothing in a log."""
    from rich.progress import Progress, TextColumn, TimeElapsedColumn

    from geometry.compiled import needs_compiling

    if needs_compiling():
        console.print("The first run compiles the mechanics once; it takes about a minute.", highlight=False)
    columns = (TextColumn("{task.description}: {task.completed} solved", markup=False), TimeElapsedColumn())
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task(name, total=None)
        yield lambda: bar.advance(task)


def _figure(found: Found) -> Sheet:
    from cases.show.factor_figure import draw_factor

    return draw_factor(found)


def _written(
    stem: str,
    folder: Path | None,
    table: Table,
    draw: Callable[[], Sheet],
    title: str,
    code: int,
    console: Console,
) -> int:
    """The table, then the figure, into ``folder`` if there is one; the table stands where the figure fails."""
    if folder is None:
        console.print("\nNothing was written; --out DIR writes the table and the figure.", highlight=False)
        return code
    if code == NO_EQUILIBRIUM:
        say("no equilibrium found; nothing was written")
        return code
    from cases.show.study_sheet import save_study

    sheet = cache(draw)
    written = list(write_whole(folder, {f"{stem}.csv": table.write}))
    failure: Exception | None = None
    try:
        pictures = {
            f"{stem}{kind}": lambda path: save_study(sheet(), title, path) for kind in (".png", ".svg")
        }
        written += write_whole(folder, pictures)
    except Exception as error:  # whatever the drawing library says, the numbers stand
        failure = error
    console.print("\nFiles", style="bold")
    for path in written:
        console.print(f"    {path}", markup=False, highlight=False, soft_wrap=True)
    if failure is None:
        return code
    say(f"the numbers are written, but the figure could not be drawn: {failure}")
    if wants_traceback():
        raise failure
    return DEFECT
