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
from cases.show.look import Looked
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
AXIS, LEAST_DOWN = 66.0, 0.4
"""Length of the world's axes at scale 1, pixels, and how far down one may point where they stand, in their length."""
# Shorter directions of the world, of length 1, are seen along themselves.
_END_ON = 0.05
LOWEST, HIGHEST = 740, 1150
"""Least and greatest height of a picture whose height is free, pixels at scale 1."""
LINE, LOWEST_LINE = 22.0, 42.0
"""Of the legend at scale 1, pixels: from line to line, and the lowest line's place."""
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
    looked: Looked,
    view: View,
    top: float,
    table: pv.LookupTable,
    legend: Sequence[str],
    newtons_per_mm: float | None = None,
) -> None:
    """All of it; ``top`` is the stress (MPa) at the upper end of the colour ``table``, ``newtons_per_mm`` the scale of
    the straight arrows, None where there are none."""
    result = looked.result
    _head(plotter, layout, looked, view)
    if not all(map(labels.unstressed, result.wires)):
        _stress_scale(plotter, layout, labels.stresses_shown(result)[0], top, table)
    if layout.table is not None:
        _table(plotter, layout.scale, layout.table, labels.load_rows(result))
    _axes(plotter, layout, result, view)
    _scale_bar(plotter, layout, view)
    if newtons_per_mm is not None:
        _force_key(plotter, layout, view, newtons_per_mm)
    s = layout.scale
    top_line = max(118.0, LOWEST_LINE + LINE * (len(legend) - 1))
    for i, line in enumerate(legend):
        text_at(plotter, line, layout.foot + 260.0 * s, (top_line - LINE * i) * s, Font(SMALL_SIZE * s, GREY))
    text_at(plotter, CAUTION, LEFT * s, 16.0 * s, Font(15.0 * s, GREY))


def _head(plotter: pv.Plotter, layout: Plan, looked: Looked, view: View) -> None:
    s, result = layout.scale, looked.result
    left, top = layout.head
    font, small = Font(HEAD_SIZE * s, bold=True), Font(TEXT_SIZE * s, GREY)
    title = wrapped(result.title, font, view.size[0] - 2.0 * left)
    top -= text_size(title, font)[1]
    text_at(plotter, title, left, top, font)
    line = labels.wire_text(result) if looked.subject is None else looked.subject
    text_at(plotter, labels.sentence(line), left, top - 34.0 * s, small)
    quiet = labels.quiet_text(result)
    if quiet == labels.NO_LOADS and looked.least is not None:
        quiet = labels.NONE_WITHIN
    if quiet is not None:
        text_at(plotter, quiet, left, top - 64.0 * s, Font(TEXT_SIZE * s, bold=True))
    elif looked.subject is not None:
        text_at(plotter, labels.sentence(labels.wire_text(result)), left, top - 64.0 * s, small)


def _stress_scale(plotter: pv.Plotter, layout: Plan, title: str, top: float, table: pv.LookupTable) -> None:
    s, bar = layout.scale, layout.bar
    draw_gradient(plotter, bar, np.asarray(table.values[:, :3], dtype=np.uint8))
    frame = [(bar.left, bar.bottom), (bar.right, bar.bottom), (bar.right, bar.top), (bar.left, bar.top)]
    draw_lines(plotter, [np.array([*frame, frame[0]])], INK, s)
    font = Font(SMALL_SIZE * s)
    step = labels.round_length(0.28 * top)
    for value in np.arange(0.0, top * (1.0 + 1e-9), step):
        y = bar.bottom + bar.height * value / top
        draw_lines(plotter, [np.array([(bar.right, y), (bar.right + 7.0 * s, y)])], INK, s)
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
    draw_lines(plotter, [np.array([(place.left, y), (place.right, y)])], GREY, s)


def view_right(bar: Box, s: float) -> float:
    """Right end of what belongs to the stress scale, pixels."""
    return bar.right + 132.0 * s


def _axes(plotter: pv.Plotter, layout: Plan, result: RunResult, view: View) -> None:
    """The world's three directions as this view shows them."""
    s = layout.scale
    # one that points down keeps off the lines below
    down = max(-float(view.axes[:, 1].min()) - LEAST_DOWN, 0.0)
    origin = np.array(layout.corner) + (0.0, AXIS * down * s)
    font = Font(SMALL_SIZE * s)
    for direction, towards, word in zip(
        view.axes[:, :2], view.axes[:, 2], labels.axis_words(result), strict=True
    ):
        size = float(np.linalg.norm(direction))
        if size < _END_ON:
            _end_on_axis(plotter, origin, towards > 0.0, word, s)
            continue
        end = origin + AXIS * s * direction
        unit = direction / size
        side = np.array([-unit[1], unit[0]])
        neck = end - 12.0 * s * unit
        draw_lines(plotter, [np.array([origin, neck])], INK, 2.0 * s)
        draw_polygon(plotter, np.array([end, neck + 4.5 * s * side, neck - 4.5 * s * side]), INK)
        width, height = text_size(word, font)
        place = end + 7.0 * s * unit
        # Seen from below, z leans to the left of y: its word stands beside it, not over it.
        leans = unit[1] > 0.0 > unit[0]
        left = place[0] - (0.0 if unit[0] > 0.5 else 1.5 if leans else 0.5) * width
        bottom = place[1] - (0.5 if unit[0] > 0.5 else 1.0 if unit[1] < 0.0 or leans else 0.0) * height
        text_at(plotter, word, float(left), float(bottom), font)


def _end_on_axis(plotter: pv.Plotter, origin: Array, comes: bool, word: str, s: float) -> None:
    """An axis seen along itself: a dot in a circle where it comes towards the viewer, a cross where it goes away."""
    turns = np.linspace(0.0, 2.0 * np.pi, 41)
    circle = origin + 8.0 * s * np.column_stack((np.cos(turns), np.sin(turns)))
    draw_polygon(plotter, circle[:-1], "#ffffff")
    draw_lines(plotter, [circle], INK, 1.5 * s)
    if comes:
        draw_polygon(plotter, origin + 0.3 * (circle[:-1] - origin), INK)
    else:
        arm = 5.6 * s
        cross = [np.array([(-arm, -arm), (arm, arm)]) + origin, np.array([(-arm, arm), (arm, -arm)]) + origin]
        draw_lines(plotter, cross, INK, 1.5 * s)
    font = Font(SMALL_SIZE * s)
    width, height = text_size(word, font)
    text_at(plotter, word, float(origin[0]) - width - 14.0 * s, float(origin[1]) - height - 10.0 * s, font)


def _scale_bar(plotter: pv.Plotter, layout: Plan, view: View) -> None:
    """A bar along the world's x axis as this view shortens it; in a view along x, as long in any direction."""
    s = layout.scale
    along = float(np.linalg.norm(view.axes[0, :2]))
    exact = bool((np.linalg.norm(view.axes[:, :2], axis=1) < _END_ON).any())
    per_mm = view.pixels_per_mm * (1.0 if exact else along)
    length = labels.round_length(190.0 * s / per_mm)
    left, right, y = layout.foot, layout.foot + length * per_mm, 88.0 * s
    draw_polygon(plotter, np.array([(left, y), (right, y), (right, y + 5.0 * s), (left, y + 5.0 * s)]), INK)
    text_at(
        plotter,
        f"{length:g} mm" if exact else f"{length:g} mm along x",
        left,
        y + 14.0 * s,
        Font(SMALL_SIZE * s),
    )


def _force_key(plotter: pv.Plotter, layout: Plan, view: View, newtons_per_mm: float) -> None:
    """An arrow as long as a round force that lies in the plane of the picture."""
    s = layout.scale
    force = labels.round_length(150.0 * s / view.pixels_per_mm * newtons_per_mm)
    left, right, y = layout.foot, layout.foot + force / newtons_per_mm * view.pixels_per_mm, 140.0 * s
    head = min(14.0 * s, 0.5 * (right - left))
    draw_polygon(plotter, np.array([(left, y - 2.0 * s), (right - head, y - 2.0 * s), (right - head, y + 2.0 * s),
                                    (left, y + 2.0 * s)]), FORCE)  # fmt: skip
    draw_polygon(
        plotter, np.array([(right, y), (right - head, y + 6.0 * s), (right - head, y - 6.0 * s)]), FORCE
    )
    text_at(plotter, f"{force:g} N", left, y + 12.0 * s, Font(SMALL_SIZE * s, FORCE))


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
