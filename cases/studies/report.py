"""What a factor study says in words and tables: sentences, the table on the screen, the table behind the figure."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from cases.output import CAUTION
from cases.show.tables import Cell, Table
from cases.studies.factors import STUDIES
from cases.studies.run_study import Found, Row, differences
from cases.studies.small_deflection import Loads
from cases.summary import WIDEST, number
from cases.words import LEAST_SHOWN, three

if TYPE_CHECKING:
    from rich.console import Console

STATUS = "status"
SPREAD = (
    "Forces and couples scale with Young's modulus, whose published spread for one alloy (often 10 to 20 %) outweighs "
    "all solver error."
)


def name_of(series: str, attachment: str, found: Found) -> str:
    """What a line is called: what is kept equal, and the attachment where several are looked at."""
    several = len({row.attachment for row in found.rows}) > 1
    parts = [series, f"{attachment} attachment" if several else ""]
    return ", ".join(part for part in parts if part) or attachment


def answers(found: Found) -> list[str]:
    """What the study shows, a sentence a line of it, straight from its numbers."""
    out: list[str] = []
    for (series, attachment), rows in found.lines.items():
        good = [row for row in rows if row.loads is not None and row.sound]
        if len(good) < 2:
            continue
        parts = []
        if not found.torque and not (found.study.signed and out and attachment != found.rows[0].attachment):
            parts.append(
                _span([(row, row.loads.force_n or 0.0) for row in good if row.loads], "force", "N", found)
            )
        parts.append(
            _span([(row, row.loads.couple_nmm) for row in good if row.loads], "couple", "N mm", found)
        )
        text = ", ".join(parts)
        out.append(f"{_capital(name_of(series, attachment, found))}: {text}.")
    return out


def _span(values: Sequence[tuple[Row, float]], what: str, unit: str, found: Found) -> str:
    """From the first to the last value of a factor, with the largest where it lies between; of names, the least and
    the largest."""
    first, last = values[0], values[-1]
    most = max(values, key=lambda pair: abs(pair[1]))
    if not found.study.unit:
        least = min(values, key=lambda pair: abs(pair[1]))
        return (
            f"{what} from {number(least[1])} ({least[0].label}) to {number(most[1])} {unit} ({most[0].label})"
        )
    text = (
        f"{what} from {number(first[1])} {unit} at {first[0].label} to {number(last[1])} at {last[0].label}"
    )
    if abs(most[1]) > 1.001 * max(abs(first[1]), abs(last[1])):
        text += f" with its largest, {number(most[1])}, at {most[0].label}"
    for (before, one), (after, other) in pairwise(values):
        if one * other < 0.0 and min(abs(one), abs(other)) > LEAST_SHOWN:
            place = before.place + (after.place - before.place) * one / (one - other)
            text += f" and zero near {three(place)} {found.study.unit}"
    return text


def warnings(found: Found) -> list[str]:
    """What must not be overlooked: appliances without an answer, unstable ones, and those beyond yield."""
    out = []
    by_status: dict[str, list[str]] = {}
    for row in found.rows:
        if not row.sound:
            by_status.setdefault(row.status, []).append(f"{row.series} {row.label}".strip())
    for status, where in by_status.items():
        end = ": do not use these figures" if status == "unstable" else ""
        out.append(f"{_capital(status)}{end}: {'; '.join(dict.fromkeys(where))}.")
    beyond = [row for row in found.rows if row.yield_share is not None and row.yield_share > 1.0]
    if beyond:
        where = []
        for series in dict.fromkeys(row.series for row in beyond):
            labels = list(dict.fromkeys(row.label for row in beyond if row.series == series))
            which = labels[0] if len(labels) == 1 else f"{labels[0]} to {labels[-1]}"
            if not found.study.unit:
                which = ", ".join(labels)
            where.append(f"{series}, {which}" if series else which)
        out.append(
            f"Beyond yield ({'; '.join(where)}): a real wire would take a set there and give less than this elastic "
            "answer."
        )
    return out


def notes(found: Found) -> list[str]:
    """What stands under the table and in the figure's foot."""
    study = found.study
    out = [study.appliance]
    if found.base is None:
        out[0] += " Invented; sizes as usual in the trade (common practice, no source)."
    out += [study.remark] if study.remark else []
    if study.formula:
        per = "the formula's largest" if study.signed else "the formula"
        out.append(f"Formula: {study.formula}. Source: {study.source}.")
        out.append(f"Difference: ours less formula, percent of {per}.")
        if "EI (d" in study.formula:
            out.append(
                "E Young's modulus, I second moment, d deflection of the tied point, D centre distance, W width of the "
                "tube, L = D - W/2, c slot height less wire height. The couple is about the tube's centre. The formula "
                "holds for d up to L/10 and F L up to 6EI c/W²; beyond, the wire lies along the tube's walls."
            )
    else:
        out.append("No closed form is known for this case, so none stands beside it.")
    if found.base is None:
        out.append(f"{_capital(study.rate)}: at full activation, from a run with 0.5 % less of it.")
    elif any(row.loads is not None and row.loads.rate is not None for row in found.rows):
        per = "couple per degree (N mm/deg)" if found.turns else "force per mm of deflection (N/mm)"
        out.append(f"Rate, {per}: over the last increment of the activation.")
    out += [
        f"{_capital(line)}."
        for line in found.assumptions
        if line.startswith("slot") and not line.startswith("slot of tube")
    ]
    return [*out, SPREAD]


def columns_and_rows(found: Found) -> Table:
    """Every number of the study; an empty cell where there is none."""
    study = found.study
    per = "of_largest_" if study.signed else ""
    columns = ["study", "kept_equal", "attachment", study.column, "status", "force_n", "couple_nmm",
               "moment_to_force_mm", _rate_column(found), "play_deg", "yield_share", "formula_force_n",
               "formula_couple_nmm", "formula_moment_to_force_mm", f"formula_{_rate_column(found)}",
               f"difference_of_force_{per}percent", f"difference_of_couple_{per}percent",
               "least_share", "largest_share", "formula", "source"]  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for row in found.rows:
        told = row.expected is not None
        factor: Cell = row.place if study.unit else row.label
        ours = (*_cells(row.loads, found), row.play_deg, row.yield_share)
        theirs = (*_cells(row.expected, found), *differences(found, row), *(row.spread or (None, None)))
        words = (study.formula if told else "", study.source if told else "")
        rows.append((study.name, row.series, row.attachment, factor, row.status, *ours, *theirs, *words))
    return Table(tuple(columns), tuple(rows))


def _rate_column(found: Found) -> str:
    return "rate_nmm_per_deg" if found.turns else "load_deflection_rate_n_per_mm"


def _cells(loads: Loads | None, found: Found) -> tuple[float | None, ...]:
    if loads is None:
        return (None, None, None, None)
    return (loads.force_n, loads.couple_nmm, found.moment_to_force(loads), loads.rate)


def print_found(found: Found, console: Console) -> None:
    """The whole study: question, table, what it shows, what it stands on."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table as Screen

    study = found.study
    console.print(f"\nFactor study: {study.name}", style="bold", highlight=False)
    _say(console, [study.question, study.appliance], "")
    columns = _screen_columns(found)
    for (series, attachment), rows in found.lines.items():
        name = _capital(name_of(series, attachment, found))
        console.print(f"\n{name}", style="bold", highlight=False, markup=False)
        table = Screen(box=SIMPLE_HEAD, pad_edge=False, show_edge=False)
        unit = f"\n{study.unit}" if study.unit else ""
        table.add_column(f"{study.factor}{unit}", justify="right" if study.unit else "left", max_width=28)
        for head in columns:
            table.add_column(head, justify="left" if head == STATUS else "right", vertical="bottom")
        for row in rows:
            label = three(row.place) if study.unit else row.label
            table.add_row(label, *(cell(row) for cell in columns.values()))
        console.print(table)
    console.print()
    _say(console, [*answers(found), *warnings(found)], "  ")
    console.print()
    _say(console, notes(found)[1:], "  ")
    console.print(f"\n{CAUTION}", highlight=False)


def _screen_columns(found: Found) -> dict[str, Callable[[Row], str]]:
    """Heads of the table on the screen, with what stands below; formulas and rates only where there are any."""
    rate = "N mm/deg" if found.turns else "N/mm"
    out: dict[str, Callable[[Row], str]] = {
        "force\nN": lambda row: number(row.loads.force_n if row.loads else None),
        "couple\nN mm": lambda row: number(row.loads.couple_nmm if row.loads else None),
        "M/F\nmm": lambda row: number(found.moment_to_force(row.loads)),
    }
    if any(row.loads is not None and row.loads.rate is not None for row in found.rows):
        out[f"rate\n{rate}"] = lambda row: number(row.loads.rate if row.loads else None)
    out["of yield\n%"] = lambda row: number(None if row.yield_share is None else 100.0 * row.yield_share)
    if any(row.expected is not None for row in found.rows):
        out["formula:\nforce\nN"] = lambda row: number(row.expected.force_n if row.expected else None)
        out["\ncouple\nN mm"] = lambda row: number(row.expected.couple_nmm if row.expected else None)
        out["differs:\nforce\n%"] = lambda row: percent(differences(found, row)[0])
        out["\ncouple\n%"] = lambda row: percent(differences(found, row)[1])
    if not all(row.sound for row in found.rows):
        out[STATUS] = lambda row: row.status
    return out


def percent(value: float | None) -> str:
    """A difference with its sign, one decimal."""
    if value is None:
        return "-"
    return "0.0" if abs(value) < 0.05 else f"{value:+.1f}"


def print_list(console: Console) -> None:
    """All studies, each with its question."""
    width = max(map(len, STUDIES)) + 2
    console.print("Factor studies: what one factor does to force and couple.\n", highlight=False)
    for name, study in STUDIES.items():
        console.print(f"  {name:<{width}}{study.question}", highlight=False, markup=False, soft_wrap=True)
    own = ", ".join(name for name, study in STUDIES.items() if study.own_case)
    _say(
        console,
        [
            "",
            "wireslot factor bracket-width --out DIR writes the table and the figure. Every study has an invented "
            f"appliance of its own; these take your case too, with --case FILE: {own}.",
        ],
        "",
    )


def _say(console: Console, sentences: Sequence[str], indent: str) -> None:
    further = f"{indent}  " if indent else ""
    for sentence in sentences:
        lines = textwrap.wrap(
            sentence, min(console.width, WIDEST), initial_indent=indent, subsequent_indent=further,
            break_long_words=False, break_on_hyphens=False,
        )  # fmt: skip
        for line in lines or [""]:
            console.print(line, markup=False, highlight=False, soft_wrap=True)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
