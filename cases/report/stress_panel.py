"""The panel of the stress along the wire, and where along it the attachments stand."""

from __future__ import annotations

import numpy as np

from cases.report.legends import LEGEND_ROW, write_legend
from cases.report.panels import Frame, Panel, Room, bare, plot_area
from cases.results import RunResult
from cases.show import labels
from cases.show.palette import FORCE, GREY, MOMENT, PALE
from cases.show.sheet import SMALL_SIZE, Area, style


def draw_stress(result: RunResult, yield_mpa: float | None, room: Room, frame: Frame = bare) -> Panel:
    """The largest bending and torsional shear stress of every section along the wire, and where attachments stand."""
    wire = result.wire
    along = wire.arc_length_mm
    with style():
        sheet = frame(room.width, room.height)
        below = sheet.room.bottom + LEGEND_ROW
        area = plot_area(sheet.room, below)
        axes = sheet.axes(Area(area.left, area.bottom, area.width + 0.6, area.height - 0.02))
        top = 1.15 * max(float(wire.bending_stress_mpa.max()), float(wire.shear_stress_mpa.max()))
        if labels.unstressed(wire):
            top = 1.0
        for number, (start, end) in enumerate(attachment_spans(result), start=1):
            axes.axvspan(start, end, color=PALE, alpha=0.7, linewidth=0.0, zorder=0.5, gid="attachment")
            axes.annotate(
                str(number), (0.5 * (start + end), 1.02), xycoords=axes.get_xaxis_transform(), fontsize=SMALL_SIZE,
                horizontalalignment="center", verticalalignment="bottom", color=GREY,
            )  # fmt: skip
        axes.plot(
            along,
            wire.bending_stress_mpa,
            color=FORCE,
            linewidth=2.0,
            label="bending and axial",
            gid="bending",
        )
        axes.plot(
            along, wire.shear_stress_mpa, color=MOMENT, linewidth=1.6, linestyle="--", label="shear from torsion",
            gid="shear",
        )  # fmt: skip
        if yield_mpa is not None and yield_mpa < 2.5 * top:
            top = max(top, 1.1 * yield_mpa)
            axes.axhline(
                yield_mpa,
                color=GREY,
                linewidth=1.2,
                linestyle=(0, (1, 1.5)),
                label="yield stress",
                gid="yield",
            )
        axes.set_xlim(float(along[0]), float(along[-1]))
        axes.set_ylim(0.0, top)
        axes.set_xlabel("place along the wire (mm from its start)")
        axes.set_ylabel("stress (MPa)")
        axes.grid(color=PALE, linewidth=0.6)
        axes.set_axisbelow(True)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
        handles, _ = axes.get_legend_handles_labels()
        write_legend(sheet, handles, 3, sheet.room.left + 0.1, below - 0.04)
    return Panel(sheet)


def attachment_spans(result: RunResult) -> list[tuple[float, float]]:
    """From where to where along the wire, mm, each attachment holds it; at least as long as the wire is thick."""
    out = []
    thick = max(result.wire.section.height, result.wire.section.depth)
    for item in result.attachments:
        half = 0.5 * (thick if item.slot_size_mm is None else item.slot_size_mm[2])
        away = np.linalg.norm(result.wire.positions_mm - np.asarray(item.moment_about_mm), axis=1)
        along = result.wire.arc_length_mm
        middle = float(along[int(away.argmin())])
        out.append((max(middle - half, float(along[0])), min(middle + half, float(along[-1]))))
    return out


def attachment_numbers(result: RunResult) -> str:
    """Which number is which attachment; of teeth alone, in their order."""
    if labels.by_tooth(result):
        return ", ".join(item.tooth or item.name for item in result.attachments)
    return ", ".join(f"{number} {item.name}" for number, item in enumerate(result.attachments, start=1))
