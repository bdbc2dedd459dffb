"""A search on the screen, as JSON and as tables."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from cases.provenance import provenance
from cases.show.tables import Cell, Table
from cases.study.names import slug
from cases.target.search import Found, Judged
from cases.target.targetfile import Target
from cases.words import listed, three

if TYPE_CHECKING:
    from rich.console import Console

MOST_SHOWN = 8
EDGE = 1e-3
"""Of the bounds' distance: what is nearer to a bound stands at it."""
UNIT_SUFFIX = {"length": "mm", "force": "n", "moment": "nmm"}


def told(found: Found) -> list[str]:
    """What has come of it, in sentences."""
    target, count = found.target, len(found.candidates)
    lines = []
    end = "ends" if found.met == 1 else "end"
    of = f"{found.met} of {found.starts} searches {end} where everything wanted is met"
    if found.met:
        apart = "one candidate" if count == 1 else f"{count} candidates that differ"
        lines.append(f"{of}: {apart}.")
        ways = found.candidates[0].open_ways
        if ways:
            what = (
                "one unknown, or a combination of unknowns,"
                if ways == 1
                else f"{ways} combinations of unknowns"
            )
            left = "is" if ways == 1 else "are"
            lines.append(
                f"The wishes do not fix everything: {what} {left} left open, so candidates between these exist."
            )
    else:
        lines.append(f"No candidate meets everything wanted ({found.starts} searches).")
        if count:
            lines += [
                "Statics would allow it, this wire within these bounds does not: the nearest is shown.",
                *misses(found),
            ]
    if found.failed:
        few = sorted(set(found.failed), key=found.failed.count, reverse=True)
        starts = "1 start" if len(found.failed) == 1 else f"{len(found.failed)} starts"
        lines.append(f"{starts} came to nothing: {few[0]}.")
    if count and found.candidates[0].idle:
        idle = listed(found.candidates[0].idle)
        lines.append(f"Nothing of what is wanted changes with {idle}.")
    at_edge = sorted({name for judged in found.candidates for name in on_bounds(target, judged)})
    if at_edge:
        lines.append(f"At a bound: {', '.join(at_edge)}.")
    return lines


def misses(found: Found) -> list[str]:
    """Of the nearest candidate: which wishes and limits it misses."""
    nearest = found.candidates[0].candidate
    assert nearest.trial.found is not None
    lines = [
        f"Missed: {one.name}, {one.shown(value)} {one.unit} for {one.asked}."
        for one, value, missed in zip(found.target.wanted, nearest.trial.found, nearest.missed, strict=False)
        if abs(missed) > 1.0
    ]
    return [*lines, *(f"Beyond a limit: {what}." for what in nearest.beyond)]


def on_bounds(target: Target, judged: Judged) -> list[str]:
    """The unknowns that stand at one of their bounds."""
    return [
        one.name
        for one, value in zip(target.unknowns, judged.candidate.values, strict=True)
        if not one.listed and min(value - one.least, one.most - value) <= EDGE * (one.most - one.least)
    ]


def print_found(found: Found, console: Console) -> None:
    """Sentences, the candidates, what bending errors do to the first."""
    from rich.table import Table as Shown

    target = found.target
    console.print(f"\n{target.title}", style="bold", markup=False, highlight=False)
    for line in told(found):
        console.print(line, markup=False, highlight=False)
    if not found.candidates:
        return
    table = Shown("", *(str(k + 1) for k in range(len(found.candidates[:MOST_SHOWN]))))
    shown = found.candidates[:MOST_SHOWN]
    for k, one in enumerate(target.unknowns):
        table.add_row(one.name, *(one.shown(judged.candidate.values[k]) for judged in shown))
    table.add_section()
    for k, wish in enumerate(target.wanted):
        table.add_row(f"{wish.name} ({wish.asked})", *(wish.shown(_answers(judged)[k]) for judged in shown))
    table.add_row("largest stress (MPa)", *(f"{_answers(judged)[-1]:.0f}" for judged in shown))
    strains = [judged.strain(found.tolerances) for judged in shown]
    if shown[0].errors:
        table.add_section()
        table.add_row("worst wish with all bending errors, in tolerances", *map(three, strains))
    console.print(table)
    if len(found.candidates) > MOST_SHOWN:
        console.print(f"and {len(found.candidates) - MOST_SHOWN} more in candidates.csv", highlight=False)
    _print_errors(found, console)


def _print_errors(found: Found, console: Console) -> None:
    from rich.table import Table as Shown

    best, wanted = found.candidates[0], found.target.wanted
    if not best.errors:
        console.print("This wire has no bend that could be off.", highlight=False)
        return
    title = "What bending errors do to candidate 1"
    heads = [f"{wish.name} ({wish.unit})" for wish in wanted]
    table = Shown("off by", *heads, "may be off, alone", title=title, title_justify="left")
    room = best.room(found.tolerances)
    for j, (one, size) in enumerate(zip(best.errors, best.sizes, strict=True)):
        changes = [_signed(wish.shown(best.effects[k, j])) for k, wish in enumerate(wanted)]
        sided = " (one side)" if best.slopes.one_sided[j] else ""
        table.add_row(
            f"{one.name} +{size:.3g} {one.unit.name}{sided}", *changes, may_be_off(one.unit.name, room[j])
        )
    console.print(table)


def may_be_off(unit: str | None, room: float) -> str:
    """How far, for people: nothing where a wish is missed already, "any" beyond what slopes can tell."""
    if room <= 0.0:
        return "-"
    return "any" if not math.isfinite(room) or room > 1e3 else f"{room:.2g} {unit}"


def _signed(text: str) -> str:
    return text if text.startswith("-") else f"+{text}"


def _answers(judged: Judged) -> Sequence[float]:
    assert judged.candidate.trial.found is not None
    return [float(value) for value in judged.candidate.trial.found]


def wish_columns(target: Target) -> list[str]:
    """One for each wish: "moment_second_molar_tube_nmm"."""
    columns: list[str] = []
    for one in target.wanted:
        parts = [part for part in ("moment" if one.moment else None, one.moment, "over" if one.force and one.moment else
                                   None, "force" if one.force else None, one.force) if part]  # fmt: skip
        kind = "mm" if one.force and one.moment else "nmm" if one.moment else "n"
        point = "_resistance" if one.about != "attachment" else ""
        columns.append(f"{'_'.join(parts)}_{slug(one.attachment)}{point}_{kind}")
    return columns


def unknown_columns(target: Target) -> list[str]:
    """One for each unknown: "bend_deg"."""
    return [slug(one.name) + one.unit.suffix for one in target.unknowns]


def candidate_table(found: Found) -> Table:
    """One row for each candidate: the numbers behind the figure."""
    target = found.target
    columns = ("candidate", "meets", *unknown_columns(target), *wish_columns(target), "largest_stress_mpa",
               "worst_wish_with_errors_in_tolerances")  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for k, judged in enumerate(found.candidates):
        one = judged.candidate
        values: list[Cell] = [
            unknown.shown(value) if unknown.listed else value
            for unknown, value in zip(target.unknowns, one.values, strict=True)
        ]
        rows.append((float(k + 1), "yes" if one.meets else "no", *values, *_answers(judged),
                     judged.strain(found.tolerances)))  # fmt: skip
    return Table(columns, tuple(rows))


def sensitivity_table(found: Found) -> Table:
    """One row for each candidate and bending error: by how much each answer changes."""
    target = found.target
    columns = ("candidate", "error", "size", "unit", *wish_columns(target), "largest_stress_mpa", "may_be_off_alone",
               "one_sided", "derivative")  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for k, judged in enumerate(found.candidates):
        room = judged.room(found.tolerances)
        for j, (one, size) in enumerate(zip(judged.errors, judged.sizes, strict=True)):
            effects = [float(value) for value in judged.effects[:, j]]
            alone = float(room[j]) if math.isfinite(room[j]) else None
            rows.append(
                (float(k + 1), one.name, size, one.unit.name, *effects, alone,
                 "yes" if judged.slopes.one_sided[j] else "no",
                 "exact" if judged.slopes.exact[j] else "differences of whole solves")
            )  # fmt: skip
    return Table(columns, tuple(rows))


def target_json(found: Found, files: Sequence[str]) -> dict[str, Any]:
    """Everything, with units in the keys."""
    target = found.target
    return {
        "title": target.title,
        "target_file": {"name": target.path.name, "sha256": target.sha256},
        "provenance": provenance(target.case, asdict(target.search)) | {"seed": target.search.seed},
        "searches": found.starts,
        "searches_that_meet": found.met,
        "starts_that_failed": list(found.failed),
        "evaluations": found.evaluations,
        "wanted": [
            {"name": one.name, "column": column, "value": one.value, "tolerance": one.tolerance}
            for one, column in zip(target.wanted, wish_columns(target), strict=True)
        ],
        "words": told(found),
        "candidates": [_candidate_json(found, judged, k, files) for k, judged in enumerate(found.candidates)],
    }


def _candidate_json(found: Found, judged: Judged, k: int, files: Sequence[str]) -> dict[str, Any]:
    target, one = found.target, judged.candidate
    columns = [*wish_columns(target), "largest_stress_mpa"]
    return {
        "meets": one.meets,
        "case_file": files[k] if k < len(files) else None,
        "unknowns": {
            unknown.name: unknown.shown(value) if unknown.listed else unknown.unit.written(value)
            for unknown, value in zip(target.unknowns, one.values, strict=True)
        },
        "found": dict(zip(columns, _answers(judged), strict=True)),
        "missed_in_tolerances": dict(zip(columns, map(float, one.missed), strict=False)),
        "beyond_limits": list(one.beyond),
        "open_ways": judged.open_ways,
        "worst_wish_with_errors_in_tolerances": judged.strain(found.tolerances),
        "bending_errors": [
            {
                "off": error.name,
                "by": f"{size!r} {error.unit.name}",
                "changes": dict(zip(columns, map(float, judged.effects[:, j]), strict=True)),
                "one_sided": judged.slopes.one_sided[j],
                "exact": judged.slopes.exact[j],
            }
            for j, (error, size) in enumerate(zip(judged.errors, judged.sizes, strict=True))
        ],
    }
