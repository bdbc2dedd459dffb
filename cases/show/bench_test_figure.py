"""Draws the curve of a homogeneous test: load against strain, loading and unloading, with what is read off it.

Loading is a full dark line, unloading a broken one; of several cycles the first is drawn strong, later ones thin.
"""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes

from cases.bench_tests.bend_readings import READ_AT, TestedBend, unloading_key
from cases.bench_tests.readings import LOWER_STRAIN, UPPER_STRAIN, Tested
from cases.show.palette import FORCE, GREY, INK, MOMENT, PALE
from cases.show.sheet import SMALL_SIZE, TEXT_SIZE, Area, Sheet, line_height, style
from cases.show.study_sheet import open_study_sheet
from cases.words import three

WIDTH, HEIGHT = 8.2, 4.7
TABLE = 2.75
"""Room of the readings beside the curve, inches."""
LABELS = {
    "tension": ("strain (%)", "stress (MPa)"),
    "bending": ("strain of the outermost fibre (%)", "moment (N mm)"),
    "torsion": ("turn (deg)", "torque (N mm)"),
    "three-point": ("deflection (mm)", "force (N)"),
}


def draw_bench_test(done: Tested | TestedBend, title: str, subject: str, notes: Sequence[str]) -> Sheet:
    """The sheet of one test."""
    with style():
        sheet = open_study_sheet(title, (subject,), WIDTH, HEIGHT, notes)
        room = sheet.room
        area = Area(room.left + 0.72, room.bottom + 0.6, room.width - 0.9 - TABLE, room.height - 1.1)
        axes = sheet.axes(area)
        _prepare(axes, done)
        _curves(axes, done)
        _marks(axes, done)
        _measured(axes, done)
        sheet.figure.legend(
            loc="lower left", frameon=False, fontsize=SMALL_SIZE, ncols=2, labelcolor=INK, handlelength=3.2,
            borderaxespad=0.0, borderpad=0.0, columnspacing=1.4,
            bbox_to_anchor=(area.left / sheet.width, (area.top + 0.08) / sheet.height),
        )  # fmt: skip
        _readings(sheet, done, area.right + 0.3, area.top)
    return sheet


def _prepare(axes: Axes, done: Tested | TestedBend) -> None:
    told, answer = LABELS[done.test.kind]
    axes.set_xlabel(told)
    axes.set_ylabel(answer)
    axes.grid(color=PALE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.axhline(0.0, color=GREY, linewidth=0.8, zorder=1.0)
    axes.axvline(0.0, color=GREY, linewidth=0.8, zorder=1.0)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _curves(axes: Axes, done: Tested | TestedBend) -> None:
    strain, load = done.shown_strain, done.shown_load
    said = set()
    for way in done.ways:
        first = done.cycle_of(way) == 1
        name = ("loading" if way.out else "unloading") + ("" if first else ", later cycles")
        rows = slice(way.first - 1, way.end)
        axes.plot(
            strain[rows], load[rows], color=FORCE if way.out else MOMENT, linestyle="-" if way.out else (0, (5, 2)),
            linewidth=2.2 if first else 0.9, zorder=4.0 if first else 3.0, label=None if name in said else name,
            gid=name,
        )  # fmt: skip
        said.add(name)


def _marks(axes: Axes, done: Tested | TestedBend) -> None:
    """A ring where a plateau is read, a cross where a set is left."""
    values = {reading.key: reading.value for reading in done.readings}
    for key, at in (("upper_plateau_mpa", UPPER_STRAIN), ("lower_plateau_mpa", LOWER_STRAIN)):
        if key in values:
            axes.plot(
                100.0 * at, values[key], marker="o", markersize=8.0, markerfacecolor="white", markeredgecolor=INK,
                markeredgewidth=1.6, zorder=6.0, linestyle="none", gid=key,
            )  # fmt: skip
            below = key.startswith("lower")
            axes.annotate(
                three(values[key]), (100.0 * at, values[key]), xytext=(0.0, -17.0 if below else 10.0), color=INK,
                textcoords="offset points", ha="center", fontsize=SMALL_SIZE, weight="bold", zorder=7.0,
            )  # fmt: skip
    if isinstance(done, TestedBend):
        for at in READ_AT:
            force = values.get(unloading_key(at))
            if force is not None and force > 0.0:
                axes.plot(
                    at, force, marker="o", markersize=8.0, markerfacecolor="white", markeredgecolor=INK,
                    markeredgewidth=1.6, zorder=6.0, linestyle="none", gid=unloading_key(at),
                )  # fmt: skip
                axes.annotate(
                    three(force), (at, force), xytext=(4.0, -17.0), color=INK, textcoords="offset points",
                    ha="left", fontsize=SMALL_SIZE, weight="bold", zorder=7.0,
                )  # fmt: skip
    sets = ("permanent_turn_deg", "permanent_set_percent", "permanent_deflection_mm")
    left = next((values[key] for key in sets if key in values), 0.0)
    if left:
        axes.plot(
            left, 0.0, marker="x", markersize=9.0, markeredgewidth=2.0, color=INK, zorder=6.0, linestyle="none",
            clip_on=False, gid="set",
        )  # fmt: skip


def _measured(axes: Axes, done: Tested | TestedBend) -> None:
    """Measured points as rings: filled on the way out, open on the way back."""
    curve = done.test.measured
    if curve is None:
        return
    for rows, fill, name in (
        (slice(0, curve.turn + 1), INK, "measured, loading"),
        (slice(curve.turn + 1, None), "white", "measured, unloading"),
    ):
        if curve.force[rows].size:
            axes.plot(
                curve.deflection[rows], curve.force[rows], marker="o", markersize=4.5, markerfacecolor=fill,
                markeredgecolor=INK, linestyle="none", zorder=5.0, label=name, gid=name,
            )  # fmt: skip


def _readings(sheet: Sheet, done: Tested | TestedBend, left: float, top: float) -> None:
    """Every reading as two lines: words, then value and unit."""
    # what is written beside its mark in the curve is not said again
    others = [of for of in done.readings if not of.key.startswith("unloading_force")]
    shown = others[:9]
    for reading in shown:
        top = sheet.write([reading.words], left, top, SMALL_SIZE, color=GREY)
        top = sheet.write([f"{three(reading.value)} {reading.unit}"], left, top, TEXT_SIZE, weight="bold")
        top -= 0.35 * line_height(SMALL_SIZE)
    if len(others) > len(shown):
        sheet.write(["more: see the files"], left, top, SMALL_SIZE, color=GREY)
