"""What ``wireslot bench-test`` does, from its arguments to an exit code."""

from __future__ import annotations

import argparse
import json
import math
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cases.bench_tests.bend_readings import TestedBend, bend_table, carry_out_bend
from cases.bench_tests.fitting import NotFitted
from cases.bench_tests.options import RANGES
from cases.bench_tests.question import BenchTest, read_question
from cases.bench_tests.range_command import published_ranges, refuse_options
from cases.bench_tests.readings import Tested, carry_out, curve_table
from cases.commands import DEFECT, DONE, NO_EQUILIBRIUM, say, tell_files, wants_traceback
from cases.errors import Problem
from cases.files import check_writable, write_whole
from cases.output import CAUTION
from cases.play_options import OptionsError
from cases.provenance import provenance
from cases.summary import warning_lines
from cases.words import three
from fem.fibre_material import Superelastic
from fem.fibre_section import Unbalanced
from fem.status import NoEquilibrium
from geometry.section import Rectangle

if TYPE_CHECKING:
    from rich.console import Console

STEM = "bench_test"
ALIKE = 0.98
"""Correlation of two constants beyond which a curve hardly tells them apart."""
OPTIONS = (
    "--material", "--section", "--edge-radius", "--temperature", "--to", "--length", "--order", "--span", "--edge",
    "--friction", "--measured", "--fit",
)  # fmt: skip


def bench_test(arguments: argparse.Namespace, console: Console) -> int:
    """``wireslot bench-test``: what cannot be written is found out before anything is computed."""
    from geometry.compiled import needs_compiling

    given = {name: getattr(arguments, name[2:].replace("-", "_")) for name in OPTIONS}
    if arguments.kind == RANGES:
        refuse_options(given, arguments)
        return published_ranges(arguments.out, console)
    if arguments.out is None:
        missing = Problem("--out", None, "the folder for the results is missing", "add --out DIR")
        raise OptionsError(f"bench-test {arguments.kind}", [missing])
    test = read_question(arguments.kind, given, arguments.set, arguments.cycles, arguments.both_ways)
    check_writable(arguments.out)
    for line in warning_lines(test.warnings):
        console.print(line, markup=False, highlight=False, soft_wrap=True)
    if needs_compiling():
        console.print("The first run compiles the mechanics once; it takes about a minute.", highlight=False)
    try:
        done = (
            carry_out_bend(test, lambda words: console.print(words, markup=False, highlight=False))
            if test.kind == "three-point"
            else carry_out(test)
        )
    except (NoEquilibrium, Unbalanced) as none:
        say(f"no equilibrium: {none}")
        return NO_EQUILIBRIUM
    except NotFitted as none:
        say(str(none))
        return NO_EQUILIBRIUM
    test = done.test
    table = bend_table(done) if isinstance(done, TestedBend) else curve_table(done)
    text = (
        json.dumps(to_json(done, given, arguments.set), indent=2, allow_nan=False, ensure_ascii=False) + "\n"
    )
    written = list(
        write_whole(
            arguments.out,
            {
                f"{STEM}.csv": table.write,
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
    for sentence in fit_lines(done):
        console.print(f"    {sentence}", markup=False, highlight=False, soft_wrap=True)
    code, pictures = _draw(done, arguments.out)
    tell_files([*written, *pictures], console)
    return code


def fit_lines(done: Tested | TestedBend) -> tuple[str, ...]:
    """The constants that were found, each with its 95 % interval, and what to mind."""
    if not isinstance(done, TestedBend) or done.fit is None or done.test.measured is None:
        return ()
    found, alloy = done.fit, done.test.alloy
    lines = [
        f"found from {done.test.measured.file} ({done.test.measured.force.size} points, {found.solves} curves):"
    ]
    for key in found.keys:
        one = alloy.constants[key]
        lines.append(f"{key}: {one.value}, 95 % interval {one.low} to {one.high}")
    for key in found.at_bound:
        lines.append(f"{key} ran into the end of its range: begin from another guess with --set, or fit less")
    pairs = [
        (one, other)
        for k, one in enumerate(found.keys)
        for m, other in enumerate(found.keys[:k])
        if abs(found.correlation[k, m]) > ALIKE
    ]
    lines += [f"{one} and {other} are hardly told apart by this curve" for one, other in pairs]
    return tuple(lines)


def _draw(done: Tested | TestedBend, folder: Path) -> tuple[int, list[Path]]:
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
    names = {"three-point": "Three-point bending"}
    return f"{names.get(test.kind, test.kind.capitalize())} of {test.alloy.material.name}"


def subject(test: BenchTest) -> str:
    """Of what size, how, and how warm, in one line."""
    parts = [test.section.label]
    if test.kind in ("bending", "three-point"):
        parts.append(f"{test.order} order")
    if test.kind == "three-point":
        parts.append(f"span {test.setup.span:.4g} mm")
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
    if test.kind == "three-point":
        slides = f"friction {test.setup.friction:g}" if test.setup.friction else "no friction"
        out.append(
            f"Two fixed edges of {test.setup.radius:.4g} mm radius, {slides}: they push across the wire, which is "
            "drawn in over them. After ISO 15841, whose figures are read; the middle is pushed straight down and kept "
            "level."
        )
    if test.kind == "torsion" and isinstance(test.section, Rectangle):
        out.append("Rectangles warp in smooth shapes: torque past yield is up to 1 % too high.")
    return tuple(out)


def to_json(done: Tested | TestedBend, given: dict[str, Any], changed: list[str]) -> dict[str, Any]:
    """Readings, constants and provenance."""
    test = done.test
    more: dict[str, Any] = {}
    if isinstance(done, TestedBend):
        setup = test.setup
        more["setup"] = {"span_mm": setup.span, "edge_radius_mm": setup.radius, "friction": setup.friction}
        if test.measured is not None:
            more["measured"] = {"file": test.measured.file, "sha256": test.measured.sha256}
        if done.fit is not None:
            more["fit"] = {
                "constants": list(done.fit.keys),
                "begun_from": done.fit.start.tolist(),
                "correlation": [
                    [one if math.isfinite(one) else None for one in row]
                    for row in done.fit.correlation.tolist()
                ],
                "left_n": done.fit.left,
                "words": list(fit_lines(done)),
            }
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
        **more,
        "assumptions": list(assumptions(test)),
        "caution": CAUTION,
        "provenance": provenance(
            None, {**given, "--set": changed, "--cycles": test.cycles, "--both-ways": test.both_ways}
        ),
    }
