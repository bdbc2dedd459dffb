"""Panels of curves that are plain data, and of slots that open; sizes as in ``cases.report.panels``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cases.report.legends import INDENT, LEGEND_ROW, NOTHING_MORE, flow_rows, with_more, write_flow
from cases.report.panels import Frame, Panel, Room, bare
from cases.results import AttachmentResult
from cases.show import walls_figure as walls
from cases.show.plots import Plot, draw_plot, handles
from cases.show.sheet import Area, style

LEFT, RIGHT, LOW, TOP = 0.72, 0.8, 0.52, 0.28
"""Inches that the numbers and the title of a pair of axes take around it."""
LEAST_WIDTH, LEAST_HEIGHT = 1.1, 0.9
"""Inches: smaller axes show nothing."""


def draw_plots(
    plots: Sequence[Plot],
    room: Room,
    frame: Frame = bare,
    titled: bool = True,
    more: Mapping[str, str] = NOTHING_MORE,
) -> Panel:
    """Plots beside each other with one legend below, ``more`` behind the names in it.  Raises ValueError where they
    have no room."""
    entries = with_more(handles(plots), more)
    rows = flow_rows(entries, room.width - INDENT)
    top = TOP if titled else 0.1
    with style():
        sheet = frame(room.width, room.height)
        own = sheet.room
        below = own.bottom + LEGEND_ROW * rows
        wide = own.width / len(plots)
        for k, plot in enumerate(plots):
            right = RIGHT if plot.gram_force is not None else 0.2
            area = Area(
                own.left + k * wide + LEFT, below + LOW, wide - LEFT - right, own.top - below - LOW - top
            )
            if area.width < LEAST_WIDTH or area.height < LEAST_HEIGHT:
                raise ValueError("its axes would be smaller than an inch")
            draw_plot(sheet.axes(area), plot, titled)
        write_flow(sheet, entries, own.left + INDENT, below - 0.04, room.width - INDENT)
    return Panel(sheet)


def draw_walls(items: Sequence[AttachmentResult], room: Room, frame: Frame = bare) -> Panel:
    """One small picture for every slot that opens, in rows of as many as have room.  Raises ValueError for too many."""
    entries = walls.legend_handles(items)
    most = walls.largest(items)
    rows_below = flow_rows(entries, room.width - INDENT)
    across = min(len(items), max(1, int((room.width - LEFT) / 1.5)))
    rows = -(-len(items) // across)
    with style():
        sheet = frame(room.width, room.height)
        own = sheet.room
        below = own.bottom + LEGEND_ROW * rows_below
        wide, high = (own.width - LEFT) / across, (own.top - below) / rows
        head = TOP + 0.15
        if high - LOW - head < LEAST_HEIGHT:
            raise ValueError(f"{len(items)} slots are too many for it")
        for k, item in enumerate(items):
            area = Area(
                own.left + LEFT + (k % across) * wide, own.top - (k // across + 1) * high + LOW,
                wide - 0.15, high - LOW - head,
            )  # fmt: skip
            walls.draw_opening(sheet.axes(area), item, most, k % across == 0)
        write_flow(sheet, entries, own.left + INDENT, below - 0.04, room.width - INDENT)
    return Panel(sheet)
