"""Straight and round arrows, and texts that find a free place, on axes of equal scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.patches import Polygon
from matplotlib.text import Text
from numpy.typing import NDArray

from cases.show import labels
from cases.show.palette import FORCE, GREY, INK, MOMENT
from cases.show.view import Box

Array = NDArray[np.float64]

# Half the width of an arrow's shaft, points; head sizes are multiples of it.
SHAFT = 1.3
HEAD_LENGTH, HEAD_WIDTH = 8.0, 3.2
_LEADER_POINTS = 16.0
# Free distance of a text to others and to lines, which are thicker than their points.
_GAP_POINTS = 2.8
BROKEN = (0.0, (2.2, 1.2))
"""Dashes of a moment that is no couple."""


def per_point(axes: Axes) -> float:
    """Data units in one point (1/72 inch) of axes with one scale."""
    pixels = np.diff(axes.transData.transform([(0.0, 0.0), (1.0, 0.0)]), axis=0)[0, 0]
    return float(axes.figure.get_dpi() / 72.0 / pixels)


def straight_arrow(axes: Axes, start: Array, vector: Array) -> None:
    """A force: from ``start`` (2,) along ``vector`` (2,)."""
    half = SHAFT * per_point(axes)
    length = float(np.linalg.norm(vector))
    along = vector / length
    side = np.array([-along[1], along[0]])
    head = min(HEAD_LENGTH * half, 0.6 * length)
    neck, tip = start + (length - head) * along, start + vector
    wide = HEAD_WIDTH * half
    axes.add_patch(
        Polygon(
            [start + half * side, neck + half * side, neck + wide * side, tip, neck - wide * side,
             neck - half * side, start - half * side],
            closed=True, facecolor=FORCE, edgecolor="none", zorder=6.0, gid="force",
        )
    )  # fmt: skip


def round_arrow(axes: Axes, points: Array, broken: bool = False) -> None:
    """A moment: along the arc ``points`` (k, 2), its head ending at the last of them; ``broken`` gives it a
    dashed shaft."""
    half = SHAFT * per_point(axes)
    lengths = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))))
    head = min(HEAD_LENGTH * half, 0.6 * lengths[-1])
    keep = lengths < lengths[-1] - 0.8 * head
    tail = points[keep]
    axes.plot(
        tail[:, 0], tail[:, 1], color=MOMENT, linewidth=2.0 * SHAFT, solid_capstyle="butt", zorder=6.0,
        linestyle=BROKEN if broken else "-", dash_capstyle="butt", gid="moment",
    )  # fmt: skip
    along = points[-1] - tail[-1]
    along = along / np.linalg.norm(along)
    side = HEAD_WIDTH * half * np.array([-along[1], along[0]])
    neck = points[-1] - head * along
    axes.add_patch(
        Polygon([neck + side, points[-1], neck - side], closed=True, facecolor=MOMENT, edgecolor="none",
                zorder=6.0)
    )  # fmt: skip


def axis_arrow(axes: Axes, start: Array, vector: Array) -> None:
    """One of the small axes that say which way is which: from ``start`` (2,) along ``vector`` (2,)."""
    how = {
        "arrowstyle": "-|>",
        "color": INK,
        "linewidth": 0.9,
        "shrinkA": 0.0,
        "shrinkB": 0.0,
        "mutation_scale": 8,
    }
    axes.annotate("", tuple(start + vector), tuple(start), arrowprops=how)


@dataclass(frozen=True, slots=True)
class Note:
    """A text that belongs to a point of the axes."""

    text: str
    anchor: Array
    """(2,), data units."""
    direction: Array
    """(2,), where it would like to stand."""
    colour: str
    size: float
    bold: bool = False
    nearest: float = 5.0
    """Free distance to the anchor, points."""


def write_notes(
    axes: Axes,
    notes: Sequence[Note],
    taken: Sequence[Array],
    margin: float = 4.0,
    keep_off: Sequence[Text] = (),
    arrows: Sequence[Array] = (),
) -> list[Text]:
    """Put every note near its anchor, inside the axes, over no other note, none of the texts to ``keep_off`` and none
    of the ``arrows``, and over as little of the polylines ``taken`` as can be; gives the texts.  Lines are (k, 2) in
    data units.  Raises ValueError where there is no room."""
    figure = axes.get_figure(root=True)
    assert figure is not None
    assert isinstance(figure.canvas, FigureCanvasAgg)
    renderer = figure.canvas.get_renderer()
    point = float(figure.dpi) / 72.0
    inside = axes.get_window_extent(renderer)
    room = Box(inside.x0, inside.y0, inside.x1, inside.y1).grown(-margin * point)
    made = []
    wishes = []
    for note in notes:
        made.append(
            axes.text(
                note.anchor[0], note.anchor[1], note.text, fontsize=note.size, color=note.colour,
                weight="bold" if note.bold else "normal", horizontalalignment="left",
                verticalalignment="bottom", zorder=8.0, linespacing=1.15,
                bbox={"facecolor": "white", "alpha": 0.8, "edgecolor": "none", "pad": 0.8},
            )
        )  # fmt: skip
        extent = made[-1].get_window_extent(renderer)
        x, y = axes.transData.transform(note.anchor)
        wishes.append(
            labels.Wish(
                (extent.width, extent.height),
                (float(x), float(y)),
                (float(note.direction[0]), float(note.direction[1])),
                note.nearest * point,
            )
        )
    dense, never = (
        [_dense(axes.transData.transform(line), 4.0 * point) for line in lines if len(line) > 1]
        for lines in (taken, arrows)
    )
    extents = [text.get_window_extent(renderer) for text in keep_off]
    blocked = [Box(e.x0, e.y0, e.x1, e.y1).grown(5.0 * point) for e in extents]
    boxes = labels.place(
        wishes, room, np.concatenate([labels.NOWHERE, *dense]), _GAP_POINTS * point, blocked,
        np.concatenate([labels.NOWHERE, *never]), 1.2 * HEAD_WIDTH * SHAFT * point,
    )  # fmt: skip
    back = axes.transData.inverted()
    for text, wish, box in zip(made, wishes, boxes, strict=True):
        text.set_position(tuple(back.transform((box.left, box.bottom))))
        near = np.array(
            [np.clip(wish.anchor[0], box.left, box.right), np.clip(wish.anchor[1], box.bottom, box.top)]
        )
        leader = np.linspace(wish.anchor, near, 20)
        crosses = any(other.count(leader) for other in boxes if other is not box)
        if np.hypot(*(near - wish.anchor)) > wish.nearest + _LEADER_POINTS * point and not crosses:
            ends = back.transform(np.array([wish.anchor, near]))
            axes.plot(ends[:, 0], ends[:, 1], color=GREY, linewidth=0.7, zorder=5.5)
    return made


def _dense(line: Array, step: float) -> Array:
    """Points of a polyline (k, 2), at most about ``step`` pixels apart."""
    lengths = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))))
    at = np.linspace(0.0, lengths[-1], max(2, int(lengths[-1] / step)))
    return np.column_stack([np.interp(at, lengths, line[:, i]) for i in range(2)])
