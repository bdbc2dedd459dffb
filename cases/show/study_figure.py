"""Draws a study: the answer along its grid with a band of tolerance, which key moves it how far, and how it spreads.

A band runs from the 5th to the 95th percentile, its line is the median; where an appliance does not fit or finds no
equilibrium it is left out, and the figure says how many.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from cases.show.palette import FORCE, GREY, INK, MOMENT
from cases.show.plots import BAND
from cases.show.sheet import SMALL_SIZE, Area, Sheet, style, text_width, wrapped
from cases.show.study_scatter import draw_scatter
from cases.show.study_sheet import open_study_sheet, plain_axes
from cases.study.effects import Effect, Effects, effects
from cases.study.names import Varied
from cases.study.report import left_out, name_of, place_of
from cases.study.sampling import INDICES
from cases.study.solve import GOOD
from cases.study.summary import Spread, Summary
from cases.summary import number

Array = NDArray[np.float64]

WIDTH = 8.6
MOST_BINS = 60
LONGEST = 2.3
"""Inches for the names of keys, which are broken where they are longer."""


def figures(summary: Summary) -> dict[str, Sheet]:
    """Every figure that the study makes, by its file's stem."""
    found: dict[str, Sheet] = {}
    if _along(summary) is not None:
        found["curve"] = draw_curve(summary)
    if summary.study.design is not None and summary.telling.outputs[summary.answer] is not None:
        moved = effects(summary)
        if moved is not None:
            found["tornado"] = draw_tornado(summary, moved)
        found["histogram"] = draw_histogram(summary)
        spread = summary.telling.outputs[summary.answer]
        if spread is not None and spread.ranks:
            where = place_of(summary, summary.telling)
            under = f"{_capital(name_of(summary, summary.answer))}. {_about(summary)}{f', at {where}' if where else ''}"
            bad = left_out(summary.telling.statuses)
            found["scatter"] = draw_scatter(summary, under, f"{bad}." if bad else "")
    return found


def _along(summary: Summary) -> Varied | None:
    """The one grid key with numbers, along which a curve can be drawn; None where there are more or none, a single
    value, or no row that counts."""
    grid = summary.study.grid
    known = any(point.outputs[summary.answer] is not None for point in summary.points)
    return grid[0] if len(grid) == 1 and grid[0].numeric and len(grid[0].values) > 1 and known else None


def curve(summary: Summary) -> tuple[Array, Array]:
    """Places (n,) on the grid and 5th, 50th and 95th percentile there (n, 3); not a number where there is none.

    Without a sample all three are the one value of the row.
    """
    if summary.study.design is None:
        places = [float(row[0]) for row in summary.rows.inputs]
        good = [status in GOOD for status in summary.rows.status]
        values = np.where(good, summary.rows.outputs[:, summary.answer], np.nan)
        found = np.repeat(values[:, None], 3, axis=1)
    else:
        places = [float(point.grid[0]) for point in summary.points]
        spreads = [point.outputs[summary.answer] for point in summary.points]
        found = np.array([[np.nan] * 3 if one is None else one.percentiles for one in spreads])
    order = np.argsort(places)
    return np.array(places)[order], found[order]


def draw_curve(summary: Summary) -> Sheet:
    """The answer against the grid key: median and band, or a plain line without a sample."""
    along = _along(summary)
    assert along is not None
    places, values = curve(summary)
    drawn = summary.study.design is not None
    with style():
        sheet = _open(summary, _about(summary), 4.3, [_drawn_keys(summary)] if drawn else [])
        axes = plain_axes(sheet, _room(sheet, 0.75, 0.62), _capital(name_of(summary, summary.answer)))
        if drawn:
            axes.fill_between(
                places, values[:, 0], values[:, 2], color=BAND, linewidth=0.0, zorder=2.0, gid="band"
            )
            for column in (0, 2):
                axes.plot(places, values[:, column], color=FORCE, linewidth=0.8, dashes=(4, 2.2), zorder=3.0)
        axes.plot(
            places,
            values[:, 1],
            color=FORCE,
            linewidth=1.9,
            marker="o",
            markersize=5.0,
            zorder=4.0,
            gid="median",
        )
        side = 0.02 * float(np.ptp(places))
        axes.set_xlim(places[0] - side, places[-1] + (0.14 if drawn else 0.02) * float(np.ptp(places)))
        axes.set_xlabel(_label(along))
        axes.axhline(0.0, color=GREY, linewidth=0.8, zorder=1.0)
        if drawn:
            _name_lines(axes, places, values)
    return sheet


def _name_lines(axes: Axes, places: Array, values: Array) -> None:
    """Percentiles written at the right ends of their lines, apart from each other where they meet."""
    known = np.flatnonzero(np.isfinite(values[:, 1]))
    if not known.size:
        return
    last = known[-1]
    low, high = axes.get_ylim()
    least = 0.05 * (high - low)
    heights = values[last].copy()
    heights[0], heights[2] = min(heights[0], heights[1] - least), max(heights[2], heights[1] + least)
    for height, text in zip(heights, ("5 %", "median", "95 %"), strict=True):
        axes.annotate(
            text, (places[last], height), (8.0, 0.0), textcoords="offset points", va="center", fontsize=SMALL_SIZE,
            color=FORCE, weight="bold" if text == "median" else "normal", zorder=5.0,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
        )  # fmt: skip


def draw_tornado(summary: Summary, moved: Effects) -> Sheet:
    """Which key moves the answer how far, the strongest at the top; Sobol indices beside, where there are any."""
    spread = summary.telling.outputs[summary.answer]
    indices = spread if spread is not None and spread.total else None
    where = place_of(summary, summary.telling)
    notes = [
        "Each bar runs from the answer with the key at its 5th percentile (light) to that with the key at its 95th "
        "(dark), all others at their medians, by a straight fit to the rows"
        + (f" at {where}, where the answer spreads most" if where else "")
        + f". The fit explains {100.0 * moved.fitted:.3g} % of the variance"
        + (
            "."
            if moved.fitted >= 0.9
            else ": the answer is not straight in the keys, and the bars are rough."
        ),
    ]
    if indices is not None:
        notes.append(
            "Sobol indices: the share of the answer's variance that a key makes alone (first), and with all others "
            "together (total); estimated, so small ones may fall below zero."
        )
    with style():
        tall = 1.25 + 0.52 * len(moved.bars)
        names = ["\n".join(wrapped(bar.name, SMALL_SIZE, LONGEST)) for bar in moved.bars]
        left = max(text_width(line, SMALL_SIZE) for name in names for line in name.split("\n")) + 0.2
        about = f"{_capital(name_of(summary, summary.answer))}. {_about(summary)}"
        sheet = _open(summary, about + (f", at {where}" if where else ""), tall, notes)
        room = _room(sheet, left, 0.62)
        share = 0.6 if indices is not None else 1.0
        axes = plain_axes(
            sheet,
            Area(room.left, room.bottom, share * room.width, room.height),
            "Each key from its 5th to its 95th percentile",
        )
        _bars(axes, moved, names)
        axes.set_xlabel(_capital(name_of(summary, summary.answer)) if indices is None else _unit_of(summary))
        if indices is not None:
            aside = Area(room.left + 0.66 * room.width, room.bottom, 0.34 * room.width, room.height)
            _indices(plain_axes(sheet, aside, "Sobol indices"), moved.bars, indices)
    return sheet


def _bars(axes: Axes, moved: Effects, names: Sequence[str]) -> None:
    ends = [end for bar in moved.bars for end in (bar.low, bar.high)]
    for k, bar in enumerate(moved.bars):
        for end, colour, hatch in ((bar.low, BAND, "////"), (bar.high, FORCE, "")):
            axes.barh(
                k, end - moved.middle, left=moved.middle, height=0.62, color=colour, hatch=hatch, edgecolor=INK,
                linewidth=0.8, zorder=3.0, gid=f"bar {bar.name}",
            )  # fmt: skip
            right = end > moved.middle or (end == moved.middle and colour == FORCE)
            axes.annotate(
                _shown(end), (end, k), (4.0 if right else -4.0, 0.0), textcoords="offset points", va="center",
                ha="left" if right else "right", fontsize=SMALL_SIZE,
            )  # fmt: skip
    wide = 0.22 * ((max(ends) - min(ends)) or 1.0)
    axes.set_xlim(min(ends) - wide, max(ends) + wide)
    axes.axvline(moved.middle, color=INK, linewidth=1.0, zorder=4.0)
    _rows(axes, names)


def _indices(axes: Axes, bars: Sequence[Effect], spread: Spread) -> None:
    for k, bar in enumerate(bars):
        for shift, values, colour, hatch in (
            (-0.17, spread.first, MOMENT, ""),
            (0.17, spread.total, "#f2d7b6", "...."),
        ):
            value = values[bar.name]
            axes.barh(
                k + shift,
                value,
                height=0.32,
                color=colour,
                hatch=hatch,
                edgecolor=INK,
                linewidth=0.8,
                zorder=3.0,
            )
            word = "first" if values is spread.first else "total"
            axes.annotate(
                f"{word} {value:.2f}".replace("-", "\N{MINUS SIGN}"), (max(value, 0.0), k + shift), (4.0, 0.0),
                textcoords="offset points", va="center", fontsize=SMALL_SIZE,
            )  # fmt: skip
    axes.set_xlim(
        min(0.0, *spread.first.values()), 1.65 * max(*spread.first.values(), *spread.total.values())
    )
    axes.axvline(0.0, color=GREY, linewidth=0.8)
    _rows(axes, [""] * len(bars))
    axes.set_xlabel("share of the variance")


def _rows(axes: Axes, names: Sequence[str]) -> None:
    axes.set_yticks(range(len(names)), names, fontsize=SMALL_SIZE)
    axes.set_ylim(len(names) - 0.4, -0.6)
    axes.tick_params(axis="y", length=0.0)
    axes.grid(visible=False, axis="y")


def draw_histogram(summary: Summary) -> Sheet:
    """How the answer spreads at the point where it spreads most, with its percentiles."""
    point = summary.telling
    spread = point.outputs[summary.answer]
    assert spread is not None
    span = slice(point.rows.start, point.rows.stop, point.rows.step)
    good = [status in GOOD for status in summary.rows.status[span]]
    column = summary.rows.outputs[span, summary.answer]
    values = column[np.array(good) & np.isfinite(column)]
    where = place_of(summary, point)
    rule = "Bins as wide as Freedman and Diaconis (1981; from memory) advise."
    notes = [f"Of the points of the grid the one where the answer spreads most. {rule}" if where else rule]
    with style():
        sheet = _open(
            summary,
            _about(summary) + (f", at {where}" if where else ""),
            3.6,
            notes,
            left_out(point.statuses),
        )
        axes = plain_axes(sheet, _room(sheet, 0.75, 0.62), f"How often: {spread.count} rows counted")
        edges = bin_edges(values)
        counts, _ = np.histogram(values, edges)
        axes.bar(
            edges[:-1], counts, width=np.diff(edges), align="edge", color=BAND, edgecolor=INK, linewidth=0.7, zorder=2.0
        )  # fmt: skip
        top = float(counts.max())
        axes.set_ylim(0.0, 1.32 * top)
        marks = zip(
            spread.percentiles,
            ("5 %", "50 %", "95 %"),
            ("--", "-", "--"),
            (1.1, 1.21, 1.1),
            strict=True,
        )
        for value, name, line, height in marks:
            ends = [0.0, (height - 0.03) * top]
            axes.plot([value] * 2, ends, color=FORCE, linewidth=1.6, linestyle=line, zorder=4.0)
            axes.annotate(
                f"{name}: {_shown(value)}", (value, height * top), ha="center", va="center", fontsize=SMALL_SIZE,
                color=FORCE, zorder=5.0, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6},
            )  # fmt: skip
        axes.set_xlabel(_capital(name_of(summary, summary.answer)))
        axes.set_ylabel("rows")
        axes.grid(visible=False, axis="x")
    return sheet


def bin_edges(values: Array) -> Array:
    """Edges of a histogram's bins; where all values are one, a bin round it, and never more than ``MOST_BINS``."""
    if np.ptp(values) == 0.0:
        half = 0.5 * abs(float(values[0])) or 0.5
        return np.array([values[0] - half, values[0] + half])
    edges = np.histogram_bin_edges(values, bins="fd")
    return edges if edges.size <= MOST_BINS + 1 else np.linspace(values.min(), values.max(), MOST_BINS + 1)


def _open(summary: Summary, under: str, tall: float, notes: Sequence[str], said: str | None = None) -> Sheet:
    bold = left_out(summary.statuses) if said is None else said
    return open_study_sheet(summary.study.title, [under], WIDTH, tall, notes, [f"{bold}."] if bold else [])


def _room(sheet: Sheet, left: float, bottom: float) -> Area:
    """The free area without what the labels of an axis need."""
    room = sheet.room
    return Area(room.left + left, room.bottom + bottom, room.width - left - 0.15, room.height - bottom - 0.32)


def _about(summary: Summary) -> str:
    study = summary.study
    if study.design is None:
        return f"{len(summary.rows.status)} rows, each a case of its own"
    how = (
        "in Saltelli's arrangement of a Sobol sequence"
        if study.design == INDICES
        else f"drawn ({study.design.replace('latin', 'Latin').replace('sobol', 'Sobol')})"
    )
    each = len(summary.rows.status) // len(summary.points)
    led = study.base.each
    if led > 1 and len(summary.points) == led:
        return f"{each} appliances {how}, seed {study.seed}, each led through {led} values"
    at = f" at each of {len(summary.points)} points" if len(summary.points) > 1 else ""
    return f"{each} appliances {how}{at}, seed {study.seed}"


def _drawn_keys(summary: Summary) -> str:
    names = [one.name for one in summary.study.sampled]
    return f"Drawn from their tolerances: {'; '.join(names)}. The same appliances at every point."


def _label(one: Varied) -> str:
    # a path stays as it is written
    name = one.name if "." in one.name or "[" in one.name else _capital(one.name)
    return name if one.unit.name is None else f"{name} ({one.unit.name})"


def _unit_of(summary: Summary) -> str:
    return name_of(summary, summary.answer).rsplit("(", 1)[1].rstrip(")")


def _shown(value: float) -> str:
    return number(value).replace("-", "\N{MINUS SIGN}")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
