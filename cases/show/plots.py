"""A curve with what stands beside it, as plain data, and how it is drawn: lines, a band, a stretch, known points.

Everything is told apart without colour: lines by dashes, breadth and marker, a band by its edge, a stretch by hatching,
points of a theory by open diamonds and measured ones by crosses.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from cases.show import labels
from cases.show.agreement import Kind, Known
from cases.show.palette import FORCE, GREY, INK, MOMENT, PALE, WALL
from cases.show.sheet import TEXT_SIZE, wrapped
from cases.show.tables import Cell, Table

BAND = "#c9d1de"
BROAD = "#8fa0bd"
MOST_MARKERS = 21
POINTS: Mapping[Kind, Mapping[str, Any]] = {
    "theory": {"marker": "D", "markersize": 5.5, "markerfacecolor": "white", "markeredgewidth": 1.3},
    "measurement": {"marker": "x", "markersize": 7.0, "markeredgewidth": 1.6},
}
"""Marks of known points; all are ink and without a line."""
WAY_OUT: Mapping[str, Any] = {
    "color": BROAD, "linewidth": 3.4, "marker": "o", "markersize": 7.0, "markerfacecolor": FORCE,
    "markeredgecolor": FORCE,
}  # fmt: skip
WAY_BACK: Mapping[str, Any] = {
    "color": MOMENT, "linewidth": 1.6, "linestyle": "--", "marker": "s", "markersize": 4.5,
    "markerfacecolor": "white",
}  # fmt: skip
CLOSED: Mapping[str, Any] = {"color": "#000000", "linewidth": 1.0, "zorder": 20.0}


@dataclass(frozen=True, slots=True)
class Line:
    """One line: its points, its look, its name in the legend."""

    label: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    look: Mapping[str, Any] = field(hash=False)


@dataclass(frozen=True, slots=True)
class Band:
    """Between two lines."""

    label: str
    x: tuple[float, ...]
    low: tuple[float, ...]
    middle: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the horizontal axis with a name."""

    label: str
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Plot:
    """One pair of axes with all that is drawn on it."""

    title: str
    x_label: str
    y_label: str
    lines: tuple[Line, ...]
    gram_force: str | None = None
    """What a second scale in gram-force is called; none without."""
    known: tuple[Known, ...] = ()
    band: Band | None = None
    stretch: Stretch | None = None


def draw_plot(axes: Axes, plot: Plot, titled: bool = True) -> None:
    """All of ``plot`` on ``axes``."""
    width = axes.get_position().width * axes.get_figure(root=True).get_size_inches()[0]  # type: ignore[union-attr]
    if titled:
        title = "\n".join(wrapped(plot.title, TEXT_SIZE, width, bold=True))
        axes.set_title(title, fontsize=TEXT_SIZE, weight="bold", loc="left")
    axes.set_xlabel(plot.x_label)
    axes.set_ylabel(plot.y_label)
    axes.grid(color=PALE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.axhline(0.0, color=GREY, linewidth=0.8, zorder=1.0)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    if plot.stretch is not None:
        axes.axvspan(
            plot.stretch.start, plot.stretch.end, facecolor="none", hatch="////", edgecolor=WALL, linewidth=0.0,
            zorder=0.6, gid="stretch",
        )  # fmt: skip
    if plot.band is not None:
        band = plot.band
        axes.fill_between(band.x, band.low, band.high, color=BAND, linewidth=0.0, zorder=1.5, gid="band")
        for edge in (band.low, band.high):
            axes.plot(band.x, edge, color=FORCE, linewidth=0.8, dashes=(4, 2.2), zorder=1.8)
        axes.plot(band.x, band.middle, color=FORCE, linewidth=0.9, zorder=1.8, gid="median")
    for k, line in enumerate(plot.lines):
        every = max(1, -(-len(line.x) // MOST_MARKERS))
        axes.plot(line.x, line.y, markevery=every, gid=line.label, **{"zorder": 3.0 + k, **line.look})
    for one in plot.known:
        draw_known(axes, one)
    low, high = axes.dataLim.intervalx
    low = min(float(low), 0.0)
    axes.set_xlim(low - 0.03 * (high - low), high + 0.03 * (high - low))
    if plot.gram_force is not None:
        right = axes.secondary_yaxis("right", functions=(labels.to_gf, labels.from_gf))
        right.set_ylabel(plot.gram_force)
        right.spines["right"].set_color(PALE)


def draw_known(axes: Axes, known: Known) -> None:
    """Known points over a curve, with their uncertainties."""
    if known.plus_minus is not None:
        axes.errorbar(
            known.at,
            known.values,
            known.plus_minus,
            fmt="none",
            ecolor=INK,
            elinewidth=0.9,
            capsize=2.5,
            zorder=24.0,
        )
    axes.plot(
        known.at, known.values, color=INK, linestyle="none", zorder=25.0, clip_on=False, gid=known.kind,
        **POINTS[known.kind],
    )  # fmt: skip


def known_handles(known: Sequence[Known]) -> list[Line2D]:
    """Entries of a legend."""
    return [
        Line2D([], [], color=INK, linestyle="none", label=name_in_legend(one), **POINTS[one.kind])
        for one in known
    ]


def name_in_legend(known: Known) -> str:
    """What known points are called."""
    return f"{'theory' if known.kind == 'theory' else 'measured'} ({known.label})"


def handles(plots: Sequence[Plot]) -> tuple[Line2D | Patch, ...]:
    """Entries of one legend for all ``plots``, each name once."""
    out: dict[str, Line2D | Patch] = {}
    for plot in plots:
        for line in plot.lines:
            out.setdefault(line.label, Line2D([], [], label=line.label, **line.look))
        if plot.band is not None:
            out.setdefault(plot.band.label, Patch(facecolor=BAND, edgecolor=FORCE, linewidth=0.8, linestyle="--",
                                                  label=plot.band.label))  # fmt: skip
        if plot.stretch is not None:
            out.setdefault(plot.stretch.label, Patch(facecolor="white", hatch="////", edgecolor=WALL, linewidth=0.0,
                                                     label=plot.stretch.label))  # fmt: skip
        for handle in known_handles(plot.known):
            out.setdefault(str(handle.get_label()), handle)
    return tuple(out.values())


def plots_table(plots: Sequence[Plot]) -> Table:
    """Every plotted value: one row a point."""
    rows: list[tuple[Cell, ...]] = []
    for plot in plots:
        for line in plot.lines:
            rows += [(plot.title, line.label, plot.x_label, x, plot.y_label, y, None)
                     for x, y in zip(line.x, line.y, strict=True)]  # fmt: skip
        if plot.band is not None:
            for name, values in (
                ("5 %", plot.band.low),
                ("median", plot.band.middle),
                ("95 %", plot.band.high),
            ):
                rows += [(plot.title, f"{plot.band.label}, {name}", plot.x_label, x, plot.y_label, y, None)
                         for x, y in zip(plot.band.x, values, strict=True)]  # fmt: skip
        for one in plot.known:
            more = one.plus_minus or (None,) * len(one.at)
            rows += [(plot.title, f"{one.kind}: {one.label} ({one.source})", plot.x_label, x, plot.y_label, y, u)
                     for x, y, u in zip(one.at, one.values, more, strict=True)]  # fmt: skip
    return Table(("plot", "curve", "along", "place", "quantity", "value", "plus_minus"), tuple(rows))
