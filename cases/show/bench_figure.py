"""Draws what a bench rig reads against its travel: out, back, and the measured curve laid over.

Out is a full line with filled markers, back a broken one with open markers, measured values are crosses without a
line: all are told apart in grey, and where out and back coincide the broken line lies on the broad pale one.
"""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes

from cases.bench_words import bench_sentences
from cases.result_tables import bench_table
from cases.results import BACK, OUT, BenchReading, BenchResult, RunResult
from cases.show import labels
from cases.show.agreement import Known, difference, sentence
from cases.show.palette import GREY, INK, PALE
from cases.show.plots import MOST_MARKERS, POINTS, WAY_BACK, WAY_OUT
from cases.show.sheet import SMALL_SIZE, Area, Sheet, open_sheet, style
from cases.show.tables import Table

WIDTH, HEIGHT = 8.2, 4.9
PARTS = {"x": "length (x)", "y": "height (y)", "z": "depth (z)"}


def draw_bench(result: RunResult, bench: BenchResult) -> Sheet:
    """The sheet of a bench test."""
    notes = [
        *bench_sentences(bench),
        "The load is above zero where it resists a travel above zero; travel as the rig is told, "
        "without what rig and wire give way.",
    ]
    if bench.measured_file is not None:
        notes.append(f"Measured: {bench.measured_file}, as the case names it.")
        notes += validation(bench)
    with style():
        sheet = open_sheet(result, subject(bench), WIDTH, HEIGHT, notes, of_the_end=False)
        room = sheet.room
        area = Area(room.left + 0.78, room.bottom + 0.62, room.width - 1.65, room.height - 1.02)
        axes = sheet.axes(area)
        prepare(axes, bench)
        draw_curves(axes, bench)
        sheet.figure.legend(
            loc="lower left", frameon=False, fontsize=SMALL_SIZE, ncols=3, labelcolor=INK, handlelength=4.0,
            borderaxespad=0.0, borderpad=0.0,
            bbox_to_anchor=((room.left + 0.78) / sheet.width, (area.top + 0.08) / sheet.height),
        )  # fmt: skip
    return sheet


def subject(bench: BenchResult) -> str:
    """What is tested and what is read, in one line."""
    motion = "turned about" if bench.turns else "drawn along"
    what = "moment about" if bench.turns else "force along"
    axis = PARTS[bench.axis]
    return f"Bench test: {bench.moved} is {motion} its {axis} and back; read at {bench.sensor}, {what} its {axis}"


def travel_label(bench: BenchResult) -> str:
    """Of the axis of the travel."""
    return f"turn of {bench.moved} (deg)" if bench.turns else f"way of {bench.moved} (mm)"


def load_label(bench: BenchResult) -> str:
    """Of the axis of the load."""
    return f"moment at {bench.sensor} (N mm)" if bench.turns else f"force at {bench.sensor} (N)"


def curve_of(bench: BenchResult, stage: str) -> tuple[list[float], list[float]]:
    """Travel and load of one way; the way back begins where the way out ends, drawn without a gap.

    Friction turns round there while nothing travels: the line is upright.
    """
    readings: list[BenchReading] = [one for one in bench.readings if one.stage == stage]
    if stage == BACK:
        readings = [*[one for one in bench.readings if one.stage == OUT][-1:], *readings]
    return [one.travel for one in readings], [one.load for one in readings]


def whole_curve(bench: BenchResult) -> tuple[list[float], list[float]]:
    """Travel and load out and back, the farthest point once."""
    (out, loads), (back, loads_back) = curve_of(bench, OUT), curve_of(bench, BACK)
    return [*out, *back[1:]], [*loads, *loads_back[1:]]


def measured_of(bench: BenchResult) -> tuple[Known, ...]:
    """The measured curve that the case names, where it does."""
    if bench.measured_file is None:
        return ()
    source = "as the case names it"
    return (Known("measurement", bench.measured_file, source, bench.measured_travel, bench.measured_load),)


def validation(bench: BenchResult) -> list[str]:
    """How far the computed curve is from the measured one."""
    units = ("N mm", "deg") if bench.turns else ("N", "mm")
    return [sentence(one, difference(one, *whole_curve(bench)), *units) for one in measured_of(bench)]


def figure_table(bench: BenchResult) -> Table:
    """Every plotted value, and the whole readings."""
    columns, rows = bench_table(bench)
    return Table(tuple(columns), tuple(tuple(row) for row in rows))


def prepare(axes: Axes, bench: BenchResult) -> None:
    axes.set_xlabel(travel_label(bench))
    axes.set_ylabel(load_label(bench))
    axes.grid(color=PALE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.axhline(0.0, color=GREY, linewidth=0.8, zorder=1.0)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    right = axes.secondary_yaxis("right", functions=(labels.to_gf, labels.from_gf))
    right.set_ylabel("(gf mm)" if bench.turns else "(gf)")
    right.spines["right"].set_color(PALE)


def draw_curves(axes: Axes, bench: BenchResult) -> None:
    out, back = curve_of(bench, OUT), curve_of(bench, BACK)
    axes.plot(*out, markevery=_every(out[0]), zorder=3.0, label="computed, out", gid="out", **WAY_OUT)
    axes.plot(*back, markevery=_every(back[0]), zorder=4.0, label="computed, back", gid="back", **WAY_BACK)
    if bench.measured_file is not None:
        axes.plot(
            bench.measured_travel, bench.measured_load, color=INK, linestyle="none", zorder=5.0,
            label=f"measured ({bench.measured_file})", gid="measured", **POINTS["measurement"],
        )  # fmt: skip


def _every(values: Sequence[float]) -> int:
    return max(1, -(-len(values) // MOST_MARKERS))
