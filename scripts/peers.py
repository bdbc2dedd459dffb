"""The solver beside general-purpose packages: ``bash scripts/benchmark --peers --out DIR``.

Three problems with exact answers; every package with the element that suits it best, and again all on one mesh.  Times
are the processor's, of building the model and solving it; importing, compiling and reading results are left out for all
alike.
"""

from __future__ import annotations

import csv
import os
import platform
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from cases.files import check_writable, write_whole
from scripts import peers_exudyn, peers_openseespy
from scripts.peers_figure import draw
from scripts.peers_measure import EQUAL, INCREMENTS, LIMIT, RUNS, Point, equal, fewest, our_parts, sweep
from scripts.peers_packages import Absent, Package, ours
from scripts.peers_problems import TASKS, Task

TARGET = 30.0
"""How many times faster than the faster of the other packages is aimed at."""
MICRO_LIMIT = 3.0  # us per element and iteration
TABLE, NUMBERS, PICTURES = "peers.md", "peers.csv", ("peers.png", "peers.svg")
HEAD = ("problem", "package and element", "elements", "increments", "relative error", "ms", "ours is")
COLUMNS = ("problem", "package", "element", "elements", "increments", "relative_error", "time_ms")


@dataclass(frozen=True, slots=True)
class Comparison:
    """All that was measured."""

    packages: tuple[Package, ...]
    absent: tuple[Absent, ...]
    points: tuple[Point, ...]
    microseconds: float
    """Of this program, per element and iteration."""


def compare(per_element: float) -> Comparison:
    """Measure every package that is here on every problem; ``per_element``: seconds per element and iteration."""
    found = (ours(), peers_openseespy.load(), peers_exudyn.load())
    packages = tuple(one for one in found if isinstance(one, Package))
    absent = tuple(one for one in found if isinstance(one, Absent))
    for one in absent:
        print(one.sentence, flush=True)
    points: list[Point] = []
    for task in TASKS:
        for package in packages:
            print(f"measuring {task.title}: {package.name} {package.version} ...", flush=True)
            for way in package.ways:
                if way.fits(task):
                    points += sweep(task, way)
    return Comparison(packages, absent, tuple(points), 1e6 * per_element)


def _of(points: Sequence[Point], task: Task) -> list[Point]:
    return [point for point in points if point.task is task]


def _rows(points: Sequence[Point]) -> list[tuple[str, ...]]:
    """Rows of one problem; the last column compares with ours."""
    own = next((point for point in points if point.is_ours), None)
    rows: list[tuple[str, ...]] = []
    for point in points:
        ratio = "" if own is None or point is own else _times(point.seconds / own.seconds)
        rows.append(
            (
                point.task.title,
                point.way.name,
                str(point.elements),
                str(point.increments),
                f"{point.error:.1e}",
                f"{1e3 * point.seconds:.3g}",
                ratio,
            )
        )
    return rows


def _times(ratio: float) -> str:
    return f"{ratio:.3g} x faster" if ratio >= 1.0 else f"{1.0 / ratio:.3g} x slower"


def verdict(points: Sequence[Point], task: Task) -> str:
    """How ours stands at the limit against the fastest other, and against the fastest that counts in space as ours
    does."""
    reaching = fewest(_of(points, task))
    own = next((point for point in reaching if point.is_ours), None)
    others = [point for point in reaching if not point.is_ours]
    if own is None:
        return f"{task.title}: ours does not reach {LIMIT:g}"
    if not others:
        return f"{task.title}: nothing to compare with; ours reaches {LIMIT:g} in {1e3 * own.seconds:.3g} ms"
    first = others[0]
    text = f"{task.title}: ours is {_times(first.seconds / own.seconds)} than {first.way.name}"
    space = next((point for point in others if point.way.element.endswith("3D")), None)
    if space is not None and space is not first:
        text += f", and {_times(space.seconds / own.seconds)} than {space.way.name}, in three dimensions like ours"
    kept = "kept" if first.seconds >= TARGET * own.seconds else "missed"
    return f"{text} (target {TARGET:g} x: {kept})"


def parts_of(points: Sequence[Point], task: Task) -> str:
    """Where our own time goes at the limit."""
    own = next((point for point in fewest(_of(points, task)) if point.is_ours), None)
    if own is None:
        return f"{task.title}: ours does not reach {LIMIT:g}"
    model, arrays, solution = (1e3 * seconds for seconds in our_parts(own))
    return f"{task.title}: {model:.2g} ms shape and model, {arrays:.2g} ms its arrays, {solution:.2g} ms increments"


def _table(rows: Sequence[tuple[str, ...]], markdown: bool) -> list[str]:
    if markdown:
        return ["| " + " | ".join(row) + " |" for row in (HEAD, ("---",) * len(HEAD), *rows)]
    widths = [max(len(row[k]) for row in (HEAD, *rows)) for k in range(len(HEAD))]
    left = (0, 1, len(HEAD) - 1)
    lines: list[str] = []
    for row in (HEAD, *rows):
        padded = [row[k].ljust(w) if k in left else row[k].rjust(w) for k, w in enumerate(widths)]
        lines.append("  ".join(padded).rstrip())
    return lines


def report(comparison: Comparison, markdown: bool) -> str:
    """The whole account, as plain text or Markdown."""
    points, mark = comparison.points, "## " if markdown else ""
    best = [row for task in TASKS for row in _rows(fewest(_of(points, task)))]
    same = [row for task in TASKS for row in _rows(equal(_of(points, task)))]
    item = "* " if markdown else "    "
    lines = [
        f"{mark}Each with its own coarsest mesh that keeps a relative error of {LIMIT:g}",
        "",
        *_table(best, markdown),
        "",
        *(item + verdict(points, task) for task in TASKS),
        "",
        f"{mark}All on the same mesh of {EQUAL} elements",
        "",
        *_table(same, markdown),
        "",
        f"{mark}This solver by itself",
        "",
        f"{item}{comparison.microseconds:.2g} us per element and iteration, solve included (target {MICRO_LIMIT:g}: "
        + ("kept)" if comparison.microseconds <= MICRO_LIMIT else "missed)"),
        *(item + parts_of(points, task) for task in TASKS),
        "",
        f"{mark}How it was measured",
        "",
        f"{item}ms: processor time of building the model and solving it, median of {RUNS} runs, on {_machine()}; "
        f"increments: the fewest of {', '.join(map(str, INCREMENTS))} that gave the answer",
        *(f"{item}{task.title}: error of the {task.compared}" for task in TASKS),
        *(f"{item}{package.name} {package.version}: {package.settings}" for package in comparison.packages),
        *(f"{item}{one.sentence}" for one in comparison.absent),
    ]
    return "\n".join(lines) + "\n"


def _machine() -> str:
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return f"{os.cpu_count()} cores, {platform.system()} {platform.machine()}{load}, Python {platform.python_version()}"


def _write_numbers(comparison: Comparison, path: Path) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(COLUMNS)
        for point in comparison.points:
            way = point.way
            writer.writerow(
                (
                    point.task.key,
                    way.package,
                    way.element,
                    point.elements,
                    point.increments,
                    point.error,
                    1e3 * point.seconds,
                )
            )


def write(comparison: Comparison, folder: Path) -> tuple[Path, ...]:
    """Table, numbers and pictures, whole or not at all."""

    def text(path: Path) -> None:
        path.write_text("# Speed beside other packages\n\n" + report(comparison, True), encoding="utf-8")

    def numbers(path: Path) -> None:
        _write_numbers(comparison, path)

    def picture(path: Path) -> None:
        draw(comparison.points, path)

    pictures = dict.fromkeys(PICTURES, picture)
    return write_whole(folder, {TABLE: text, NUMBERS: numbers, **pictures})


def main(per_element: float, folder: Path | None) -> None:
    """Measure, print, and write into ``folder`` where one is given."""
    if folder is not None:
        check_writable(folder)
    comparison = compare(per_element)
    print()
    print(report(comparison, False))
    if folder is not None:
        for path in write(comparison, folder):
            print(path)
