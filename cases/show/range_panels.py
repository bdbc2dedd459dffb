"""Panels of published ranges: rows of bars with what is computed for each, and upright bars of one quantity at places.

A published range is a bar: filled where the figure was read in its source, hatched where it is from memory.  What is
computed is a mark with a line over the ranges of the alloy's constants: full where the range is met, open where other
values within those ranges meet it, a cross where none does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle

from cases.bench_tests.compared import MET, NOT_MET, WITHIN, Compared
from cases.bench_tests.published_ranges import PublishedRange
from cases.show.palette import FORCE, GREY, MOMENT, WALL
from cases.show.sheet import SMALL_SIZE
from cases.words import three

BAR = "#c9d1de"
HEIGHT = 0.72
"""Of a bar, in rows."""
TICKS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)
"""Of an axis by powers of ten."""
THIN = 1.4
"""Points: the edge of a bar, which is all there is of a single published figure."""


@dataclass(frozen=True, slots=True)
class RangeRow:
    """One row of a panel: what it is called, and by how much its figures are multiplied."""

    label: str
    row: Compared
    scale: float = 1.0


def bar_look(one: PublishedRange) -> dict[str, Any]:
    """Of the bar of a published range."""
    filled: dict[str, Any] = {"facecolor": BAR, "edgecolor": FORCE, "linewidth": THIN}
    return filled if one.read else {**filled, "facecolor": "white", "hatch": "/////", "edgecolor": WALL}


def published_words(one: PublishedRange, scale: float) -> str:
    """A published range without its unit, so many times."""
    if scale == 1.0:
        return one.said.removesuffix(one.unit).strip()
    return f"{float(one.figure) * scale:g}" if one.figure else f"{one.low * scale:g} to {one.high * scale:g}"


def mark_look(verdict: str, marker: str = "o", size: float = 6.5) -> dict[str, Any]:
    """Of the mark of a computed value."""
    look: dict[str, Any] = {"linestyle": "none", "marker": marker, "markersize": size, "markeredgewidth": 1.5}
    if verdict == NOT_MET:
        return {**look, "marker": "x", "markersize": size + 1.5, "markeredgewidth": 2.2, "color": MOMENT}
    return {**look, "color": MOMENT, "markerfacecolor": MOMENT if verdict == MET else "white"}


def draw_rows(axes: Axes, rows: Sequence[RangeRow], label: str, log: bool = False) -> None:
    """One row under the other, the first on top; computed and published figures are written at the right."""
    axes.grid(axis="y", visible=False)
    if log:
        axes.set_xscale("log")
    lowest = min(min(one.row.low, one.row.published.low) * one.scale for one in rows)
    highest = max(max(one.row.high, one.row.published.high) * one.scale for one in rows)
    if log:
        axes.set_xticks(TICKS, [f"{tick:g}" for tick in TICKS])
        axes.set_xticks([], minor=True)
        axes.set_xlim(lowest / 1.35, highest * 1.35)
    else:
        axes.set_xlim(0.0, 1.06 * highest)
    for place, one in enumerate(rows):
        known, row, scale = one.row.published, one.row, one.scale
        axes.add_patch(
            Rectangle(
                (known.low * scale, place - 0.5 * HEIGHT), (known.high - known.low) * scale, HEIGHT, zorder=2.0,
                gid="published", **bar_look(known),
            )
        )  # fmt: skip
        axes.plot([row.low * scale, row.high * scale], [place, place], color=MOMENT, linewidth=1.6, zorder=3.0,
                  gid="range of the alloy")  # fmt: skip
        axes.plot(row.value * scale, place, zorder=4.0, gid="computed", **mark_look(row.verdict))
        axes.annotate(
            f"{three(row.value * scale)} ({published_words(known, scale)})", (1.0, place), (6.0, 0.0),
            xycoords=("axes fraction", "data"), textcoords="offset points", va="center", fontsize=SMALL_SIZE,
            color=MOMENT, annotation_clip=False,
        )  # fmt: skip
    axes.set_ylim(len(rows) - 0.4, -0.6)
    axes.set_yticks(range(len(rows)), [one.label for one in rows], fontsize=SMALL_SIZE)
    axes.tick_params(axis="y", length=0.0)
    axes.set_xlabel(label)


def draw_places(axes: Axes, groups: Sequence[tuple[float, Sequence[Compared]]], markers: Sequence[str], x_label: str,
                y_label: str) -> None:  # fmt: skip
    """Upright bars at named places, evenly apart, in each the computed values of several wires beside each other."""
    width = 0.5
    apart = width / (len(markers) + 1)
    for place, (_, rows) in enumerate(groups):
        known = rows[0].published
        axes.add_patch(
            Rectangle((place - 0.5 * width, known.low), width, known.high - known.low, zorder=2.0, gid="published",
                      **bar_look(known))
        )  # fmt: skip
        axes.annotate(
            f"{known.low:g} to {known.high:g}", (place, known.high), (0.0, 4.0), textcoords="offset points",
            ha="center", fontsize=SMALL_SIZE, color=FORCE,
        )  # fmt: skip
        for k, (row, marker) in enumerate(zip(rows, markers, strict=True)):
            at = place + (k - 0.5 * (len(markers) - 1)) * apart
            axes.plot([at, at], [row.low, row.high], color=MOMENT, linewidth=1.6, zorder=3.0,
                      gid="range of the alloy")  # fmt: skip
            axes.plot(at, row.value, zorder=4.0, gid="computed", **mark_look(row.verdict, marker))
    highest = max(max(row.published.high, row.high) for _, rows in groups for row in rows)
    axes.set_xlim(-0.5, len(groups) - 0.5)
    axes.set_ylim(-0.03 * highest, 1.12 * highest)
    axes.axhline(0.0, color=GREY, linewidth=0.8, zorder=1.0)
    axes.set_xticks(range(len(groups)), [f"{named:g}" for named, _ in groups])
    axes.set_xlabel(x_label)
    axes.set_ylabel(y_label)


def legend_handles() -> list[Line2D | Patch]:
    """What bars and marks mean."""
    return [
        Patch(facecolor=BAR, edgecolor=FORCE, linewidth=THIN, label="published, read in its source"),
        Patch(facecolor="white", edgecolor=WALL, hatch="/////", label="published, from memory"),
        Line2D([], [], label="computed: meets it", **mark_look(MET)),
        Line2D([], [], label="other values within the alloys' ranges meet it", **mark_look(WITHIN)),
        Line2D([], [], label="not met: why stands below", **mark_look(NOT_MET)),
        Line2D([], [], color=MOMENT, linewidth=1.6, label="line or shade: over those ranges"),
    ]
