"""What ``wireslot bench-test ranges`` does: published ranges beside what is computed, printed, in files and drawn."""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cases.bench_tests.compared import Compared
from cases.bench_tests.options import RANGES
from cases.bench_tests.range_bends import BODY, MOUTH, RangeBends
from cases.bench_tests.ranges import WORDS, compare_ranges, ranges_table, summary
from cases.commands import DEFECT, DONE, NO_EQUILIBRIUM, say, tell_files, wants_traceback
from cases.errors import Problem
from cases.files import check_writable, write_whole
from cases.output import CAUTION
from cases.play_options import OptionsError
from cases.provenance import provenance
from cases.words import three
from fem.fibre_section import Unbalanced
from fem.status import NoEquilibrium

if TYPE_CHECKING:
    from rich.console import Console

STEM = "published_ranges"
TITLE = "Published ranges of wires in bending, and what is computed"
ASSUMPTIONS = (
    f"Three points: span 10 mm, down to 3.1 mm and back, {MOUTH:g} degC; even bends: {BODY:g} degC. Alloys of the "
    "library; the ranges computed are those of its constants.",
    "Superelastic: martensite does not yield, so nothing is left. Steel and martensitic nickel-titanium: von Mises, "
    "perfectly plastic with the library's values. Strands slide freely; where they yield they are taken straight.",
)


def refuse_options(given: Mapping[str, str | None], arguments: argparse.Namespace) -> None:
    """Raises OptionsError for every option beside --out."""
    others = [name for name, words in given.items() if words is not None]
    others += ["--set"] if arguments.set else []
    others += ["--cycles"] if arguments.cycles != 1 else []
    others += ["--both-ways"] if arguments.both_ways else []
    if others:
        remedy = "it compares alloys, sizes and bends of its own"
        problems = [
            Problem(name, None, f"belongs to the other tests; {remedy}", f"leave out {name}")
            for name in others
        ]
        raise OptionsError(f"bench-test {RANGES}", problems)


def published_ranges(folder: Path | None, console: Console) -> int:
    """Compute, print, and with a ``folder`` write; gives the exit code."""
    from geometry.compiled import needs_compiling

    if folder is not None:
        check_writable(folder)
    if needs_compiling():
        console.print("The first run compiles the mechanics once; it takes about a minute.", highlight=False)
    try:
        bends, rows = compare_ranges(lambda words: console.print(words, markup=False, highlight=False))
    except (NoEquilibrium, Unbalanced) as none:
        say(f"no equilibrium: {none}")
        return NO_EQUILIBRIUM
    show(rows, console)
    if folder is None:
        console.print(f"\n{CAUTION}", highlight=False)
        return DONE
    text = json.dumps(to_json(rows), indent=2, allow_nan=False, ensure_ascii=False) + "\n"
    files = {
        f"{STEM}.csv": ranges_table(rows).write,
        f"{STEM}.json": lambda path: path.write_text(text, encoding="utf-8"),
    }
    written = list(write_whole(folder, files))
    code, pictures = _draw(bends, rows, folder)
    tell_files([*written, *pictures], console)
    return code


def show(rows: Sequence[Compared], console: Console) -> None:
    """Group by group: every published range, what is computed for it, and the reasons."""

    def line(text: str, style: str | None = None) -> None:
        console.print(text, style=style, markup=False, highlight=False, soft_wrap=True)

    line("\nIn brackets: over the ranges of the alloys' constants.")
    for group in dict.fromkeys(row.group for row in rows):
        own = [row for row in rows if row.group == group]
        reasons = list(dict.fromkeys(row.why for row in own if row.why))
        line(f"\n{group.capitalize()}", "bold")
        width = max(len(_read(row)) for row in own)
        for one in dict.fromkeys(row.published for row in own):
            line(f"{one.alloy}, {one.quantity}: published {one.said}{'' if one.read else ', from memory'}")
            for row in own:
                if row.published == one:
                    reason = f" ({reasons.index(row.why) + 1})" if row.why else ""
                    line(f"    {_read(row):<{width}}  {computed_words(row):<26}  {row.verdict}{reason}")
        for number, reason in enumerate(reasons, start=1):
            line(f"  ({number}) {reason[0].upper()}{reason[1:]}.")
        for source in source_lines(own):
            line(f"  {source}")
    line("")
    for sentence in (summary(rows), WORDS):
        line(sentence)


def _read(row: Compared) -> str:
    return f"{row.wire}, {row.how}"


def computed_words(row: Compared) -> str:
    """The value, and in brackets its range where it has one."""
    ends = f" ({three(row.low)} to {three(row.high)})" if row.low < row.high else ""
    return f"{three(row.value)} {row.published.unit}".strip() + ends


def source_lines(rows: Sequence[Compared]) -> list[str]:
    """Who says so, and what was not told."""
    lines = []
    for source in dict.fromkeys(row.published.source for row in rows):
        own = [row.published.untold for row in rows if row.published.source == source]
        missing = "; ".join(dict.fromkeys(part for untold in own for part in untold.split("; ") if part))
        lines.append(f"{source}" + (f". Not told: {missing}" if missing else ""))
    return [f"Source: {line}." for line in lines]


def to_json(rows: Sequence[Compared]) -> dict[str, Any]:
    """All digits."""
    return {
        "title": TITLE,
        "summary": summary(rows),
        "comparisons": [
            {
                "group": row.group,
                "quantity": row.published.quantity,
                "alloy": row.published.alloy,
                "wire": row.wire,
                "how": row.how,
                "unit": row.published.unit,
                "published": {
                    "words": row.published.said,
                    "low": row.published.low,
                    "high": row.published.high,
                    "source": row.published.source,
                    "read_or_memory": row.published.mark,
                    "not_told": row.published.untold,
                },
                "computed": {"value": row.value, "low": row.low, "high": row.high},
                "verdict": row.verdict,
                "why": row.why,
            }
            for row in rows
        ],
        "words": WORDS,
        "assumptions": list(ASSUMPTIONS),
        "caution": CAUTION,
        "provenance": provenance(None, {}),
    }


def _draw(bends: RangeBends, rows: Sequence[Compared], folder: Path) -> tuple[int, list[Path]]:
    """The figure; the numbers stand where it fails."""
    from cases.show.ranges_figure import draw_ranges
    from cases.show.study_sheet import save_study

    sheet = cache(lambda: draw_ranges(bends, rows, TITLE, summary(rows), ASSUMPTIONS))
    try:
        pictures = {
            f"{STEM}{kind}": lambda path: save_study(sheet(), TITLE, path) for kind in (".png", ".svg")
        }
        return DONE, list(write_whole(folder, pictures))
    except Exception as error:  # whatever the drawing library says, the numbers stand
        if wants_traceback():
            raise
        say(f"the numbers are written, but the figure could not be drawn: {error}")
        return DEFECT, []
