"""Everything around the appliance: title, stress scale, axes, scale bar, legend, caution, warning banner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from cases.output import CAUTION
from cases.results import RunResult
from cases.show import labels
from cases.show.overlay import (
    Font,
    draw_gradient,
    draw_lines,
    draw_polygon,
    draw_text,
    text_at,
    text_size,
    wrapped,
)
from cases.show.palette import BANNER, FORCE, GREY, INK, MOMENT
from cases.show.view import Box, View

Array = NDArray[np.float64]

WIDTH = 1600
"""Pixels, of a picture at scale 1."""
HEAD, FOOT, LEFT, RIGHT, SIDE, OVER = 135.0, 195.0, 40.0, 235.0, 95.0, 70.0
"""Pixels at scale 1: head and foot, left and right margin, and room for labels around the appliance."""
TABLE_RIGHT, TABLE_SIDE, ROW = 350.0, 55.0, 25.0
"""The same where values stand in a table on the right: right margin and room around, and height of a row."""
TABLE_COLUMNS = (55.0, 150.0, 285.0)
"""Right ends of its columns from its left edge, pixels at scale 1."""
TABLE_HEADS = (("", "tooth"), ("force", "(N)"), ("moment", "(N mm)"))
LEAST_BAR = 150.0
LOWEST, HIGHEST = 740, 1150
"""Least and greatest height of a picture whose height is free, pixels at scale 1."""
HEAD_SIZE, TEXT_SIZE, SMALL_SIZE = 27.0, 18.0, 16.0
"""Type sizes, pixels at scale 1."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Which part of the picture serves what; pixels."""

    scale: float
    """1 for a picture ``WIDTH`` pixels wide."""
    stage: Box
    """The appliance with its arrows."""
    room: Box
    """The stage with space for labels around it."""
    head: tuple[float, float]
    """Upper left corner of the title."""
    bar: Box
    """The stress scale's colours."""
    corner: tuple[float, float]
    """Origin of the axes."""
    foot: float
    """Left end of scale bar and legend."""
    table: Box | None = None
    """The values of an arch."""


def plan(size: tuple[int, int], listed: int = 0) -> Plan:
    """The layout for a picture of ``size`` pixels, with the values of ``listed`` attachments in a table."""
    width, height = size
    s = width / WIDTH
    right, side = (TABLE_RIGHT, TABLE_SIDE) if listed else (RIGHT, SIDE)
    room = Box(LEFT * s, FOOT * s, width - right * s, height - HEAD * s)
    stage = Box(room.left + side * s, room.bottom + OVER * s, room.right - side * s, room.top - OVER * s)
    head, corner, foot = (LEFT * s, height - 36.0 * s), (110.0 * s, 110.0 * s), 330.0 * s
    if not listed:
        middle = room.middle[1]
        half = min(190.0 * s, 0.42 * room.height)
        bar = Box(width - 190.0 * s, middle - half, width - 162.0 * s, middle + half)
        return Plan(s, stage, room, head, bar, corner, foot)
    left = room.right + 25.0 * s
    table = Box(left, room.top - (listed + 2.5) * ROW * s, left + TABLE_COLUMNS[-1] * s, room.top)
    top = table.bottom - 65.0 * s
    bar = Box(left + 27.0 * s, max(room.bottom, top - 300.0 * s), left + 55.0 * s, top)
    return Plan(s, stage, room, head, bar, corner, foot, table)


def height_for(shape: float, listed: int = 0) -> int:
    """Height (pixels at scale 1) of a picture of something ``shape`` times as high as it is wide."""
    across = WIDTH - LEFT - (TABLE_RIGHT + 2.0 * TABLE_SIDE if listed else RIGHT + 2.0 * SIDE)
    lowest = HEAD + FOOT + (listed + 2.5) * ROW + 65.0 + LEAST_BAR if listed else LOWEST
    return round(max(min(max(shape * across + HEAD + FOOT + 2.0 * OVER, LOWEST), HIGHEST), lowest))


def draw(
    plotter: pv.Plotter,
    layout: Plan,
    result: RunResult,
    view: View,
    top: float,
    table: pv.LookupTable,
    legend: Sequence[str],
) -> None:
    """All of it; ``top`` is the stress (MPa) at the upper end of the colour ``table``."""
    _head(plotter, layout, result, view)
    if not all(map(labels.unstressed, result.wires)):
        _stress_scale(plotter, layout, labels.stresses_shown(result)[0], top, table)
    if layout.table is not None:
        _table(plotter, layout.scale, layout.table, labels.load_rows(result))
    _axes(plotter, layout, result, view)
    _scale_bar(plotter, layout, view)
    s = layout.scale
    # four lines have room beside the scale bar, more rise above it
    highest = 118.0 + 24.0 * max(len(legend) - 4, 0)
    for i, line in enumerate(legend):
        text_at(plotter, line, layout.foot + 260.0 * s, (highest - 24.0 * i) * s, Font(SMALL_SIZE * s, GREY))
    text_at(plotter, CAUTION, LEFT * s, 16.0 * s, Font(15.0 * s, GREY))


def _head(plotter: pv.Plotter, layout: Plan, result: RunResult, view: View) -> None:
    s = layout.scale
    left, top = layout.head
    font, small = Font(HEAD_SIZE * s, bold=True), Font(TEXT_SIZE * s, GREY)
    title = wrapped(result.title, font, view.size[0] - 2.0 * left)
    top -= text_size(title, font)[1]
    text_at(plotter, title, left, top, font)
    line = labels.wire_text(result)
    text_at(plotter, f"{line[0].upper()}{line[1:]}", left, top - 34.0 * s, small)
    quiet = labels.quiet_text(result)
    if quiet is not None:
        text_at(plotter, quiet, left, top - 64.0 * s, Font(TEXT_SIZE * s, bold=True))


def _stress_scale(plotter: pv.Plotter, layout: Plan, title: str, top: float, table: pv.LookupTable) -> None:
    s, bar = layout.scale, layout.bar
    draw_gradient(plotter, bar, np.asarray(table.values[:, :3], dtype=np.uint8))
    frame = [(bar.left, bar.bottom), (bar.right, bar.bottom), (bar.right, bar.top), (bar.left, bar.top)]
    draw_lines(plotter, [np.array([*frame, frame[0]])], INK, 1.0)
    font = Font(SMALL_SIZE * s)
    step = labels.round_length(0.28 * top)
    for value in np.arange(0.0, top * (1.0 + 1e-9), step):
        y = bar.bottom + bar.height * value / top
        draw_lines(plotter, [np.array([(bar.right, y), (bar.right + 7.0 * s, y)])], INK, 1.0)
        text_at(plotter, f"{value:g}", bar.right + 12.0 * s, y - 7.0 * s, font)
    # The title stands over its bar, inside the picture on the right.
    text_at(plotter, title, view_right(bar, s), bar.top + 22.0 * s, font, right_aligned=True)


def _table(plotter: pv.Plotter, s: float, place: Box, rows: Sequence[tuple[str, str, str]]) -> None:
    """Size of force and moment on every tooth, digits under each other."""
    head, font = Font(SMALL_SIZE * s, GREY), Font(SMALL_SIZE * s)
    fonts = (font, Font(SMALL_SIZE * s, FORCE, bold=True), Font(SMALL_SIZE * s, MOMENT, bold=True))
    lines = [*zip(*TABLE_HEADS, strict=True), *rows]
    for i, row in enumerate(lines):
        bottom = place.top - (i + (0.8 if i < 2 else 1.3)) * ROW * s
        for text, end, own in zip(row, TABLE_COLUMNS, fonts, strict=True):
            if text:
                text_at(
                    plotter, text, place.left + end * s, bottom, head if i < 2 else own, right_aligned=True
                )
    y = place.top - 2.05 * ROW * s
    draw_lines(plotter, [np.array([(place.left, y), (place.right, y)])], GREY, 1.0)


def view_right(bar: Box, s: float) -> float:
    """Right end of what belongs to the stress scale, pixels."""
    return bar.right + 132.0 * s


def _axes(plotter: pv.Plotter, layout: Plan, result: RunResult, view: View) -> None:
    """The world's three directions as this view shows them."""
    s = layout.scale
    origin = np.array(layout.corner)
    font = Font(SMALL_SIZE * s)
    for direction, word in zip(view.axes[:, :2], labels.axis_words(result), strict=True):
        end = origin + 66.0 * s * direction
        unit = direction / np.linalg.norm(direction)
        side = np.array([-unit[1], unit[0]])
        neck = end - 12.0 * s * unit
        draw_lines(plotter, [np.array([origin, neck])], INK, 2.0)
        draw_polygon(plotter, np.array([end, neck + 4.5 * s * side, neck - 4.5 * s * side]), INK)
        width, height = text_size(word, font)
        place = end + 7.0 * s * unit
        # Seen from below, z leans to the left of y: its word stands beside it, not over it.
        leans = unit[1] > 0.0 > unit[0]
        left = place[0] - (0.0 if unit[0] > 0.5 else 1.5 if leans else 0.5) * width
        bottom = place[1] - (0.5 if unit[0] > 0.5 else 1.0 if unit[1] < 0.0 or leans else 0.0) * height
        text_at(plotter, word, float(left), float(bottom), font)


def _scale_bar(plotter: pv.Plotter, layout: Plan, view: View) -> None:
    """A bar along the world's x axis as this view shortens it."""
    s = layout.scale
    per_mm = view.pixels_per_mm * float(np.linalg.norm(view.axes[0, :2]))
    length = labels.round_length(190.0 * s / per_mm)
    left, right, y = layout.foot, layout.foot + length * per_mm, 88.0 * s
    draw_polygon(plotter, np.array([(left, y), (right, y), (right, y + 5.0 * s), (left, y + 5.0 * s)]), INK)
    text_at(plotter, f"{length:g} mm along x", left, y + 14.0 * s, Font(SMALL_SIZE * s))


def draw_banner(plotter: pv.Plotter, layout: Plan, result: RunResult, view: View) -> None:
    """The warning across the picture of a result that is no stable equilibrium; comes last."""
    text = labels.banner_text(result)
    if text is None:
        return
    s, middle = layout.scale, layout.room.middle[1]
    half = 34.0 * s
    corners = np.array(
        [
            (0.0, middle - half),
            (view.size[0], middle - half),
            (view.size[0], middle + half),
            (0.0, middle + half),
        ]
    )
    draw_polygon(plotter, corners, BANNER, opacity=0.88)
    font = Font(31.0 * s, "#ffffff", bold=True)
    width, height = text_size(text, font)
    left = 0.5 * (view.size[0] - width)
    draw_text(plotter, text, Box(left, middle - 0.5 * height, left + width, middle + 0.5 * height), font)
