"""Whether texts of a figure lie over arrows or over each other, found from what is drawn, pixel by pixel."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.text import Text

ARROWS = ("force", "moment")


def covered(axes: Axes) -> list[tuple[str, str]]:
    """Pairs of a text and an arrow it lies over, in one pair of axes."""
    figure = axes.get_figure(root=True)
    assert isinstance(figure, Figure) and isinstance(figure.canvas, FigureCanvasAgg)
    renderer = figure.canvas.get_renderer()
    boxes = [
        (text.get_text(), text.get_window_extent(renderer)) for text in axes.texts if text.get_text().strip()
    ]
    found = []
    for name, points in _arrows(axes):
        for words, box in boxes:
            x, y = points.T
            if ((x > box.x0) & (x < box.x1) & (y > box.y0) & (y < box.y1)).any():
                found.append((words, name))
    return found


def _arrows(axes: Axes) -> list[tuple[str, np.ndarray]]:
    """Dense points (n, 2), pixels, inside every arrow."""
    out = []
    for artist in (*axes.patches, *axes.lines):
        if artist.get_gid() not in ARROWS:
            continue
        if isinstance(artist, Polygon):
            corners = axes.transData.transform(artist.get_xy())
            middle = corners.mean(axis=0)
            edge = _dense(corners)
            out.append(
                (
                    str(artist.get_gid()),
                    np.concatenate([middle + s * (edge - middle) for s in (0.0, 0.5, 1.0)]),
                )
            )
        elif isinstance(artist, Line2D):
            out.append((str(artist.get_gid()), _dense(axes.transData.transform(artist.get_xydata()))))
    return out


def _dense(line: np.ndarray) -> np.ndarray:
    shares = np.linspace(0.0, 1.0, 40)[:, None]
    return np.concatenate([a + shares * (b - a) for a, b in zip(line, line[1:], strict=False)])


def over_each_other(texts: list[Text], figure: Figure) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes overlap by more than a pixel each way."""
    assert isinstance(figure.canvas, FigureCanvasAgg)
    renderer = figure.canvas.get_renderer()
    boxes = [(text.get_text(), text.get_window_extent(renderer)) for text in texts if text.get_text().strip()]
    return [
        (one, other)
        for k, (one, a) in enumerate(boxes)
        for other, b in boxes[k + 1 :]
        if min(a.x1, b.x1) - max(a.x0, b.x0) > 1.0 and min(a.y1, b.y1) - max(a.y0, b.y0) > 1.0
    ]


def outside(figure: Figure) -> list[str]:
    """Texts that are cut by the edge of the figure; of numbers along axes those that are drawn."""
    assert isinstance(figure.canvas, FigureCanvasAgg)
    renderer = figure.canvas.get_renderer()
    width, height = figure.canvas.get_width_height()
    texts = [*figure.texts, *(text for legend in figure.legends for text in legend.get_texts())]
    for axes in figure.axes:
        texts += written_on(axes)
    out = []
    for text in texts:
        if text.get_visible() and text.get_text().strip():
            box = text.get_window_extent(renderer)
            if box.x0 < -1.0 or box.y0 < -1.0 or box.x1 > width + 1.0 or box.y1 > height + 1.0:
                out.append(text.get_text())
    return out


def written_on(axes: Axes) -> list[Text]:
    """Titles, labels, notes and those numbers of axes that stand within their limits."""
    texts = [*axes.texts, axes.title, axes._left_title, axes.xaxis.label, axes.yaxis.label]  # type: ignore[attr-defined]
    for axis, (low, high) in ((axes.xaxis, sorted(axes.get_xlim())), (axes.yaxis, sorted(axes.get_ylim()))):
        texts += [
            tick.label1
            for tick in axis.get_major_ticks()
            if low <= tick.get_loc() <= high and axis.get_visible()
        ]
    return texts
