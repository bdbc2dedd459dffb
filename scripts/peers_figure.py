"""One figure of scripts/peers: relative error against time, a panel for each problem."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from cases.show.palette import FORCE, GREY, INK, MOMENT, PALE
from cases.show.sheet import DPI, TEXT_SIZE, TITLE_SIZE, style
from scripts.peers_measure import EQUAL, LIMIT, RUNS, Point
from scripts.peers_packages import OURS
from scripts.peers_problems import TASKS

WIDTH, HEIGHT = 12.0, 5.8
"""Inches."""
LEAST_ERROR, LARGEST_ERROR = 1e-6, 1.0
FACES = {OURS: FORCE, "openseespy": MOMENT, "exudyn": GREY}
"""Colour by package; elements differ in marker and line."""
MARKS = (("o", "-"), ("s", "--"), ("^", ":"), ("D", "-."))
TITLE = "Relative error against time: coarse meshes on the left, fine ones on the right"


def draw(points: Sequence[Point], path: Path) -> None:
    """Write the figure; the file's ending says which kind."""
    with style():
        figure = Figure(figsize=(WIDTH, HEIGHT), dpi=DPI)
        FigureCanvasAgg(figure)
        figure.text(0.03, 0.955, TITLE, size=TITLE_SIZE, weight="bold", va="center")
        note = (
            f"Processor time of building the model and solving it, median of {RUNS} runs; "
            f"the line is the error asked for, {LIMIT:g}; filled: {EQUAL} elements."
        )
        figure.text(0.03, 0.905, note, size=TEXT_SIZE, color=GREY, va="center")
        looks = _looks(points)
        axes = figure.subplots(1, len(TASKS), sharex=True, sharey=True)
        for one, task in zip(axes, TASKS, strict=True):
            _panel(one, [point for point in points if point.task is task], looks)
            one.set_title(task.title, size=TEXT_SIZE + 1.5, loc="left")
        axes[0].set_ylabel("relative error")
        lines = {
            line.get_label(): line for one in axes for line in one.get_lines() if line.get_label() in looks
        }
        names = [name for name in looks if name in lines]
        figure.legend([lines[name] for name in names], names, loc="lower center", ncols=3, frameon=False)
        figure.subplots_adjust(left=0.065, right=0.985, top=0.83, bottom=0.25, wspace=0.07)
        figure.savefig(path, metadata={"Date": None} if path.suffix == ".svg" else None)


def _looks(points: Sequence[Point]) -> dict[str, tuple[str, str, str]]:
    """Colour, marker and line of every way."""
    looks: dict[str, tuple[str, str, str]] = {}
    count: dict[str, int] = {}
    for point in points:
        way = point.way
        if way.name not in looks:
            number = count.get(way.package, 0)
            count[way.package] = number + 1
            looks[way.name] = (FACES.get(way.package, INK), *MARKS[number % len(MARKS)])
    return looks


def _panel(axes: Axes, points: Sequence[Point], looks: dict[str, tuple[str, str, str]]) -> None:
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_ylim(LEAST_ERROR, LARGEST_ERROR)
    axes.axhline(LIMIT, color=INK, linewidth=0.8)
    for name, (colour, marker, line) in looks.items():
        own = [point for point in points if point.way.name == name]
        if not own:
            continue
        width = 2.2 if own[0].is_ours else 1.2
        seconds, errors = [1e3 * one.seconds for one in own], [one.error for one in own]
        axes.plot(seconds, errors, line, color=colour, marker=marker, linewidth=width, markersize=5.0,
                  markerfacecolor="white", label=name)  # fmt: skip
        same = [one for one in own if one.elements == EQUAL]
        axes.plot([1e3 * one.seconds for one in same], [one.error for one in same], marker, color=colour)
    axes.set_xlabel("processor time, ms")
    axes.xaxis.set_major_locator(LogLocator(numticks=9))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"1e{math.log10(value):.0f}"))
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.yaxis.set_minor_formatter(NullFormatter())
    axes.grid(color=PALE, linewidth=0.6)
    axes.set_axisbelow(True)
