"""The panel of the stress along the wire, and where along it the attachments stand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes

from cases.report.legends import LEGEND_ROW, write_legend
from cases.report.panels import Frame, Panel, Room, bare, plot_area
from cases.results import RunResult, WireResult
from cases.show import labels
from cases.show.palette import FORCE, GREY, MOMENT, PALE
from cases.show.sheet import SMALL_SIZE, Area, style

BETWEEN_WIRES = 0.62
"""Inches between the stress of one wire and that of the next, for its axis and the numbers of the attachments."""


def draw_stress(result: RunResult, yields: Sequence[float | None], room: Room, frame: Frame = bare) -> Panel:
    """The largest bending and torsional shear stress of every section along each wire, and where attachments stand.

    ``yields``: yield stress of every wire, MPa."""
    count = len(result.wires)
    with style():
        sheet = frame(room.width, room.height)
        below = sheet.room.bottom + LEGEND_ROW
        whole = plot_area(sheet.room, below)
        lines: dict[str, Artist] = {}
        height = (whole.height - 0.02 - BETWEEN_WIRES * (count - 1)) / count
        for k, (wire, yield_mpa) in enumerate(zip(result.wires, yields, strict=True)):
            bottom = whole.bottom + (count - 1 - k) * (height + BETWEEN_WIRES)
            axes = sheet.axes(Area(whole.left, bottom, whole.width + 0.6, height))
            _stress_along(axes, result, wire, yield_mpa)
            handles, names = axes.get_legend_handles_labels()
            lines |= dict(zip(names, handles, strict=True))
        write_legend(sheet, list(lines.values()), 3, sheet.room.left + 0.1, below - 0.04)
    return Panel(sheet)


def _stress_along(axes: Axes, result: RunResult, wire: WireResult, yield_mpa: float | None) -> None:
    """The stress of one wire."""
    along = wire.arc_length_mm
    top = 1.15 * max(float(wire.bending_stress_mpa.max()), float(wire.shear_stress_mpa.max()))
    if labels.unstressed(wire):
        top = 1.0
    spans = zip(result.attachments, attachment_spans(result), strict=True)
    for number, (item, (start, end)) in enumerate(spans, start=1):
        if result.wire_of(item) is not wire:
            continue
        axes.axvspan(start, end, color=PALE, alpha=0.7, linewidth=0.0, zorder=0.5, gid="attachment")
        axes.annotate(
            str(number), (0.5 * (start + end), 1.02), xycoords=axes.get_xaxis_transform(), fontsize=SMALL_SIZE,
            horizontalalignment="center", verticalalignment="bottom", color=GREY,
        )  # fmt: skip
    axes.plot(
        along, wire.bending_stress_mpa, color=FORCE, linewidth=2.0, label="bending and axial", gid="bending"
    )
    axes.plot(
        along, wire.shear_stress_mpa, color=MOMENT, linewidth=1.6, linestyle="--", label="shear from torsion",
        gid="shear",
    )  # fmt: skip
    if yield_mpa is not None and yield_mpa < 2.5 * top:
        top = max(top, 1.1 * yield_mpa)
        axes.axhline(
            yield_mpa, color=GREY, linewidth=1.2, linestyle=(0, (1, 1.5)), label="yield stress", gid="yield"
        )
    axes.set_xlim(float(along[0]), float(along[-1]))
    axes.set_ylim(0.0, top)
    which = wire.name if result.more_wires else "the wire"
    axes.set_xlabel(f"place along {which} (mm from its start)")
    axes.set_ylabel("stress (MPa)")
    axes.grid(color=PALE, linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def attachment_spans(result: RunResult) -> list[tuple[float, float]]:
    """From where to where along its wire, mm, each attachment holds it; at least as long as the wire is thick."""
    out = []
    for item in result.attachments:
        wire = result.wire_of(item)
        thick = max(wire.section.height, wire.section.depth)
        half = 0.5 * (thick if item.slot_size_mm is None else item.slot_size_mm[2])
        away = np.linalg.norm(wire.positions_mm - np.asarray(item.moment_about_mm), axis=1)
        along = wire.arc_length_mm
        middle = float(along[int(away.argmin())])
        out.append((max(middle - half, float(along[0])), min(middle + half, float(along[-1]))))
    return out


def attachment_numbers(result: RunResult) -> str:
    """Which number is which attachment; of teeth alone, in their order."""
    if labels.by_tooth(result):
        return ", ".join(item.tooth or item.name for item in result.attachments)
    return ", ".join(f"{number} {item.name}" for number, item in enumerate(result.attachments, start=1))
