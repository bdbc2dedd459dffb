"""What ``wireslot bench-test`` does, from its arguments to an exit code."""

from __future__ import annotations

import argparse
import json
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cases.bench_tests.question import BenchTest, read_question
from cases.bench_tests.readings import Tested, carry_out, curve_table
from cases.commands import DEFECT, DONE, say, wants_traceback
from cases.files import check_writable, write_whole
from cases.output import CAUTION
from cases.provenance import provenance
from cases.summary import warning_lines
from cases.words import three
from fem.fibre_material import Superelastic
from geometry.section import Rectangle

if TYPE_CHECKING:
    from rich.console import Console

STEM = "bench_test"
OPTIONS = ("--material", "--section", "--edge-radius", "--temperature", "--to", "--length", "--order")


def bench_test(arguments: argparse.Namespace, console: Console) -> int:
    """``wireslot bench-test``: what cannot be written is found out before anything is computed."""
    from geometry.compiled import needs_compiling

    given = {name: getattr(arguments, name[2:].replace("-", "_")) for name in OPTIONS}
    test = read_question(arguments.kind, given, arguments.set, arguments.cycles, arguments.both_ways)
    check_writable(arguments.out)
    for line in warning_lines(test.warnings):
        console.print(line, markup=False, highlight=False, soft_wrap=True)
    if needs_compiling():
        console.print("The first run compiles the mechanics once; it takes about a minute.", highlight=False)
    done = carry_out(test)
    text = (
        json.dumps(to_json(done, given, arguments.set), indent=2, allow_nan=False, ensure_ascii=False) + "\n"
    )
    written = list(
        write_whole(
            arguments.out,
            {
                f"{STEM}.csv": curve_table(done).write,
                f"{STEM}.json": lambda path: path.write_text(text, encoding="utf-8"),
            },
        )
    )
    for sentence in (f"{title(test)}, {subject(test)}", *assumptions(test)):
        console.print(sentence, markup=False, highlight=False, soft_wrap=True)
    for reading in done.readings:
        console.print(
            f"    {reading.words}: {three(reading.value)} {reading.unit}", markup=False, highlight=False
        )
    code, pictures = _draw(done, arguments.out)
    console.print("\nFiles", style="bold")
    for path in [*written, *pictures]:
        console.print(f"    {path}", markup=False, highlight=False, soft_wrap=True)
    console.print(f"\n{CAUTION}", highlight=False)
    return code


def _draw(done: Tested, folder: Path) -> tuple[int, list[Path]]:
    """The figure; the numbers stand where it fails."""
    from cases.show.bench_test_figure import draw_bench_test
    from cases.show.study_sheet import save_study

    sheet = cache(lambda: draw_bench_test(done, title(done.test), subject(done.test), assumptions(done.test)))
    try:
        pictures = {
            f"{STEM}{kind}": lambda path: save_study(sheet(), title(done.test), path)
            for kind in (".png", ".svg")
        }
        return DONE, list(write_whole(folder, pictures))
    except Exception as error:  # whatever the drawing library says, the numbers stand
        if wants_traceback():
            raise
        say(f"the numbers are written, but the figure could not be drawn: {error}")
        return DEFECT, []


def title(test: BenchTest) -> str:
    """What is tested."""
    return f"{test.kind.capitalize()} of {test.alloy.material.name}"


def subject(test: BenchTest) -> str:
    """Of what size, how, and how warm, in one line."""
    parts = [test.section.label]
    if test.kind == "bending":
        parts.append(f"{test.order} order")
    if test.kind == "torsion":
        parts.append(f"{test.length:.4g} mm twisted")
    if isinstance(test.alloy.material, Superelastic):
        warm = test.alloy.material.reference_temperature if test.temperature is None else test.temperature
        parts.append(f"{warm:.4g} degC")
    return ", ".join(parts)


def assumptions(test: BenchTest) -> tuple[str, ...]:
    """What the numbers rest on."""
    if isinstance(test.alloy.material, Superelastic):
        out = [
            "Computed: transformation by linear kinetics; martensite does not yield, no wire breaks. Plateaus of an "
            "alloy vary between makers and batches by more than any error of computation."
        ]
        if test.kind == "tension":
            out.append("Plateaus are read where ASTM F2516 reads them.")
    else:
        out = ["Computed: von Mises yielding; the yield stress of an alloy varies by a third between wires."]
    if test.kind == "torsion" and isinstance(test.section, Rectangle):
        out.append("Rectangles warp in smooth shapes: torque past yield is up to 1 % too high.")
    return tuple(out)


def to_json(done: Tested, given: dict[str, str | None], changed: list[str]) -> dict[str, Any]:
    """Readings, constants and provenance."""
    test = done.test
    return {
        "test": test.kind,
        "title": title(test),
        "subject": subject(test),
        "section": {"label": test.section.label, "area_mm2": test.section.area},
        "temperature_degc": test.temperature,
        "readings": {reading.key: reading.value for reading in done.readings},
        "constants": {
            key: {"value": one.value, "low": one.low, "high": one.high, "source": one.source}
            for key, one in test.alloy.constants.items()
        },
        "assumptions": list(assumptions(test)),
        "caution": CAUTION,
        "provenance": provenance(
            None, {**given, "--set": changed, "--cycles": test.cycles, "--both-ways": test.both_ways}
        ),
    }
