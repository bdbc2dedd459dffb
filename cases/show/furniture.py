"""Everything around the appliance: title, stress scale, axes, scale bar, legend, caution, warning banner."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from cases.results import RunResult
from cases.show import labels
from cases.show.overlay import (
    GREY,
    INK,
    Font,
    draw_gradient,
    draw_lines,
    draw_polygon,
    draw_text,
    text_at,
    text_size,
    wrapped,
)
from cases.show.view import Box, View

Array = NDArray[np.float64]

BANNER = "#7f1d1d"


@dataclass(frozen=True, slots=True)
class Plan:
    """Which part of the picture serves what; pixels."""

    scale: float
    """1 for a picture 1000 pixels high."""
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


def plan(size: tuple[int, int]) -> Plan:
    """The layout for a picture of ``size`` pixels."""
    width, height = size
    s = min(width / 1600.0, height / 1000.0)
    room = Box(40.0 * s, 205.0 * s, width - 235.0 * s, height - 125.0 * s)
    stage = Box(room.left + 95.0 * s, room.bottom + 75.0 * s, room.right - 95.0 * s, room.top - 75.0 * s)
    middle = room.middle[1]
    bar = Box(width - 190.0 * s, middle - 190.0 * s, width - 162.0 * s, middle + 190.0 * s)
    return Plan(s, stage, room, (40.0 * s, height - 36.0 * s), bar, (120.0 * s, 100.0 * s), 330.0 * s)


def draw(
    plotter: pv.Plotter, layout: Plan, result: RunResult, view: View, top: float, table: pv.LookupTable
) -> None:
    """All of it; ``top`` is the stress (MPa) at the upper end of the colour ``table``."""
    _head(plotter, layout, result, view)
    _stress_scale(plotter, layout, labels.stress_shown(result.wire)[0], top, table)
    _axes(plotter, layout, view)
    _scale_bar(plotter, layout, view)
    s = layout.scale
    for i, line in enumerate(reversed(labels.LEGEND)):
        text_at(plotter, line, layout.foot + 260.0 * s, (60.0 + 27.0 * i) * s, Font(17.0 * s, GREY))
    text_at(
        plotter, labels.CAUTION, view.size[0] - 30.0 * s, 16.0 * s, Font(16.0 * s, GREY), right_aligned=True
    )


def _head(plotter: pv.Plotter, layout: Plan, result: RunResult, view: View) -> None:
    s = layout.scale
    left, top = layout.head
    font, small = Font(29.0 * s, bold=True), Font(19.0 * s, GREY)
    title = wrapped(result.title, font, view.size[0] - 2.0 * left)
    top -= text_size(title, font)[1]
    text_at(plotter, title, left, top, font)
    text_at(plotter, labels.wire_text(result), left, top - 34.0 * s, small)


def _stress_scale(plotter: pv.Plotter, layout: Plan, title: str, top: float, table: pv.LookupTable) -> None:
    s, bar = layout.scale, layout.bar
    draw_gradient(plotter, bar, np.asarray(table.values[:, :3], dtype=np.uint8))
    frame = [(bar.left, bar.bottom), (bar.right, bar.bottom), (bar.right, bar.top), (bar.left, bar.top)]
    draw_lines(plotter, [np.array([*frame, frame[0]])], INK, 1.0)
    font = Font(18.0 * s)
    step = labels.round_length(0.28 * top)
    for value in np.arange(0.0, top * (1.0 + 1e-9), step):
        y = bar.bottom + bar.height * value / top
        draw_lines(plotter, [np.array([(bar.right, y), (bar.right + 7.0 * s, y)])], INK, 1.0)
        text_at(plotter, f"{value:g}", bar.right + 12.0 * s, y - 7.0 * s, font)
    # The title stands over its bar, inside the picture on the right.
    text_at(plotter, title, view_right(bar, s), bar.top + 22.0 * s, font, right_aligned=True)


def view_right(bar: Box, s: float) -> float:
    """Right end of what belongs to the stress scale, pixels."""
    return bar.right + 132.0 * s


def _axes(plotter: pv.Plotter, layout: Plan, view: View) -> None:
    """The world's three directions as this view shows them."""
    s = layout.scale
    origin = np.array(layout.corner)
    font = Font(17.0 * s)
    for direction, word in zip(view.axes[:, :2], labels.AXIS_WORDS, strict=True):
        end = origin + 66.0 * s * direction
        unit = direction / np.linalg.norm(direction)
        side = np.array([-unit[1], unit[0]])
        neck = end - 12.0 * s * unit
        draw_lines(plotter, [np.array([origin, neck])], INK, 2.0)
        draw_polygon(plotter, np.array([end, neck + 4.5 * s * side, neck - 4.5 * s * side]), INK)
        width, height = text_size(word, font)
        place = end + 7.0 * s * unit
        left = place[0] if unit[0] > 0.5 else place[0] - 0.5 * width
        bottom = place[1] - (0.5 if unit[0] > 0.5 else 1.0 if unit[1] < 0.0 else 0.0) * height
        text_at(plotter, word, float(left), float(bottom), font)


def _scale_bar(plotter: pv.Plotter, layout: Plan, view: View) -> None:
    """A bar along the world's x axis as this view shortens it."""
    s = layout.scale
    per_mm = view.pixels_per_mm * float(np.linalg.norm(view.axes[0, :2]))
    length = labels.round_length(190.0 * s / per_mm)
    left, right, y = layout.foot, layout.foot + length * per_mm, 88.0 * s
    draw_polygon(plotter, np.array([(left, y), (right, y), (right, y + 5.0 * s), (left, y + 5.0 * s)]), INK)
    text_at(plotter, f"{length:g} mm along x", left, y + 14.0 * s, Font(17.0 * s))


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
    font = Font(34.0 * s, "#ffffff", bold=True)
    width, height = text_size(text, font)
    left = 0.5 * (view.size[0] - width)
    draw_text(plotter, text, Box(left, middle - 0.5 * height, left + width, middle + 0.5 * height), font)
