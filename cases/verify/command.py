"""``wireslot verify``: computes every check, shows that it goes on, prints one table and writes files if asked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table

from cases.text_file import write_text
from cases.verify import (
    beams,
    bending_ranges,
    contact,
    joints,
    loops_and_limits,
    play,
    rods,
    sections,
    two_brackets,
)
from cases.verify.rows import Check, Row, run
from cases.verify.tables import HEADINGS, WORDS, cells, json_text, markdown, summary

SUBJECTS = (rods, beams, sections, play, two_brackets, contact, loops_and_limits, joints, bending_ranges)
NUMBERS = {"expected", "computed", "difference", "tolerance"}
LOG_WIDTH = 240
"""Columns where there is no terminal to ask: one line a row."""


def all_checks() -> tuple[Check, ...]:
    """Every check, subject by subject."""
    return tuple(check for subject in SUBJECTS for check in subject.checks())


def console_for(stderr: bool = False) -> Console:
    """Where progress and the table go."""
    console = Console(stderr=stderr)
    return console if console.is_terminal else Console(stderr=stderr, width=LOG_WIDTH)


def computed(checks: Sequence[Check], console: Console) -> list[Row]:
    """All rows; a bar on a terminal, else a line for every tenth of them."""
    if console.is_terminal:
        columns = (TextColumn("checks"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
        with Progress(*columns, console=console, transient=True) as bar:
            return list(bar.track(run(checks), total=len(checks)))
    rows: list[Row] = []
    for row in run(checks):
        rows.append(row)
        if len(rows) * 10 // len(checks) > (len(rows) - 1) * 10 // len(checks):
            console.print(f"{len(rows)} of {len(checks)} checks", highlight=False)
    return rows


def report(rows: Sequence[Row], console: Console) -> None:
    """The table, what failed, and the sum."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for heading in HEADINGS:
        table.add_column(
            heading,
            justify="right" if heading in NUMBERS else "left",
            overflow="fold",
            no_wrap=heading in NUMBERS,
        )
    for row in rows:
        style = "" if row.passed else "bold"
        table.add_row(*map(_plain, cells(row)), style=style)
    console.print(table)
    console.print()
    for line in (*failures(rows), summary(rows), WORDS):
        console.print(line, markup=False, highlight=False)


def failures(rows: Iterable[Row]) -> list[str]:
    """Why a row has no number."""
    return [f"{row.check.quantity}: {row.failure}" for row in rows if row.failure]


def _plain(text: str) -> str:
    """No markup in a cell."""
    return text.replace("[", r"\[")


def write(rows: Sequence[Row], markdown_file: str | None, json_file: str | None) -> list[Path]:
    """The files asked for.  Raises OutputError."""
    written = []
    if markdown_file is not None:
        written.append(write_text(Path(markdown_file), markdown(rows)))
    if json_file is not None:
        written.append(write_text(Path(json_file), json_text(rows)))
    return written
