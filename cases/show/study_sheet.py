"""A sheet for figures of several runs: head, foot and room as ``sheet.open_sheet`` has them for one."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from cases.output import CAUTION
from cases.provenance import DISTRIBUTION, package_version
from cases.show.palette import BANNER, GREY, INK, PALE
from cases.show.sheet import (
    DPI,
    EDGE,
    SMALL_SIZE,
    TEXT_SIZE,
    TITLE_SIZE,
    Area,
    Sheet,
    line_height,
    style,
    wrapped,
)


def open_study_sheet(
    title: str,
    under: Sequence[str],
    width: float,
    room_height: float,
    notes: Sequence[str],
    said: Sequence[str] = (),
) -> Sheet:
    """A sheet ``width`` inches wide whose free area is ``room_height`` inches high.

    The head has the ``title``, what stands ``under`` it and, in bold, what must be ``said``; the foot the ``notes``
    and the caution.
    """
    inner = width - 2.0 * EDGE
    head = wrapped(title, TITLE_SIZE, inner, bold=True)
    lines = [line for text in under for line in wrapped(text, TEXT_SIZE, inner)]
    bold = [line for text in said for line in wrapped(text, TEXT_SIZE, inner, bold=True)]
    foot = [line for note in notes for line in wrapped(note, SMALL_SIZE, inner)]
    caution = wrapped(CAUTION, SMALL_SIZE, inner)
    head_height = len(head) * line_height(TITLE_SIZE) + len([*lines, *bold]) * line_height(TEXT_SIZE) + 0.12
    foot_height = len([*foot, *caution]) * line_height(SMALL_SIZE) + 0.12
    height = 2.0 * EDGE + head_height + room_height + foot_height
    figure = Figure(figsize=(width, height), dpi=DPI, facecolor="white")
    FigureCanvasAgg(figure)
    sheet = Sheet(figure, Area(EDGE, EDGE + foot_height, inner, room_height), width, height)
    top = sheet.write(head, EDGE, height - EDGE, TITLE_SIZE, weight="bold")
    top = sheet.write(lines, EDGE, top, TEXT_SIZE, color=GREY)
    sheet.write(bold, EDGE, top, TEXT_SIZE, color=BANNER, weight="bold")
    top = sheet.write(foot, EDGE, EDGE + foot_height - 0.12, SMALL_SIZE, color=GREY)
    sheet.write(caution, EDGE, top, SMALL_SIZE, color=INK)
    return sheet


def plain_axes(sheet: Sheet, area: Area, title: str) -> Axes:
    """Axes with a title and a grid."""
    axes = sheet.axes(area)
    axes.set_title(title, fontsize=TEXT_SIZE, weight="bold", loc="left")
    axes.grid(color=PALE, linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return axes


def save_study(sheet: Sheet, title: str, path: Path) -> Path:
    """Write the sheet as PNG or SVG, whichever the suffix of ``path`` says."""
    made_by = f"{DISTRIBUTION} {package_version() or 'version unknown'}"
    kind = path.suffix.removeprefix(".")
    if kind == "png":
        data: dict[str, str | None] = {"Title": title, "Software": made_by, "Description": CAUTION}
    elif kind == "svg":
        data = {"Title": title, "Creator": made_by, "Description": CAUTION, "Date": None}
    else:
        raise ValueError(f"a figure is saved as .png or .svg: got {path.name}")
    with style():
        sheet.figure.savefig(path, format=kind, dpi=DPI, metadata=data)
    return path
