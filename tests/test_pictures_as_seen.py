"""One perceptual comparison for each kind of drawing: what the pixels show against what geometry says they should.

The wire has a colour of its own.  The pixels of that colour are laid over the wire's outline, computed anew from its
positions and section and put on the sheet by the scale of the axes.  Shares are of the union of both (intersection over
union); what lines, arrows and edges cover or round off may take the rest: a quarter of a thin wire, a seventh in a
slot, whose angles are drawn across it.
"""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.path import Path as Outline
from numpy.typing import NDArray

from cases.frames import frames_of
from cases.report.panels import Room, draw_slot, draw_view
from cases.results import RunResult
from cases.show.animation import draw_moment, film_of
from cases.show.faces import faces, wire_band
from cases.show.palette import WIRE
from cases.show.sheet import style
from cases.show.slot_view import CENTRE, slot_views
from cases.show.unrolled import goes_round, unrolled
from tests import figure_cases, shipped

Mask = NDArray[np.bool_]
THIN, SLOT = 0.75, 0.85
NEAR = 0.12
"""Largest distance of a channel, of 1, at which a pixel still has the wire's colour."""
DPI = 300


def _pixels(figure: Figure) -> NDArray[np.float64]:
    figure.set_dpi(DPI)
    canvas = figure.canvas
    assert isinstance(canvas, FigureCanvasAgg)
    with style():
        canvas.draw()
    return np.asarray(canvas.buffer_rgba())[..., :3] / 255.0


def _of_the_wire(pixels: NDArray[np.float64]) -> Mask:
    return np.asarray(np.abs(pixels - np.array(to_rgb(WIRE))).max(axis=-1) < NEAR)


def _filled(outlines: list[NDArray[np.float64]], axes: Axes, shape: tuple[int, int]) -> Mask:
    """Pixels inside any of the outlines (k, 2), in data units of the axes."""
    height, width = shape
    x, y = np.meshgrid(np.arange(width) + 0.5, height - np.arange(height) - 0.5)
    out = np.zeros(shape, dtype=bool)
    for outline in outlines:
        corners = axes.transData.transform(outline)
        (left, low), (right, high) = corners.min(axis=0), corners.max(axis=0)
        rows = slice(max(int(height - high) - 1, 0), int(height - low) + 2)
        columns = slice(max(int(left) - 1, 0), int(right) + 2)
        here = np.column_stack((x[rows, columns].ravel(), y[rows, columns].ravel()))
        inside = Outline(np.concatenate((corners, corners[:1]))).contains_points(here)
        out[rows, columns] |= inside.reshape(x[rows, columns].shape)
    return out


def _share(one: Mask, other: Mask) -> float:
    return float((one & other).sum() / (one | other).sum())


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("molar-uprighting", "facial"),
        ("closing-loop", "facial"),
        ("transpalatal-arch", "occlusal"),
        ("torque-through-play", "mesiodistal"),
        ("levelling-lower-arch", "facial"),
    ],
)
def test_a_view_shows_the_wire_where_it_lies(name: str, key: str) -> None:
    result: RunResult = shipped.solved(name)
    panel = draw_view(result, key, Room(14.0, 9.0))
    figure = panel.sheet.figure
    pixels = _pixels(figure)
    (axes,) = figure.axes
    face = faces(result)[("facial", "occlusal", "mesiodistal").index(key)]
    seen = unrolled(result) if key == "facial" and goes_round(result) else result
    wanted = _filled(wire_band(seen.wire, face), axes, pixels.shape[:2])
    assert wanted.sum() > 2000
    assert _share(_of_the_wire(pixels), wanted) >= THIN


@pytest.mark.parametrize("name", ["torque-through-play", "molar-uprighting", "torque-round-wire"])
def test_a_slot_shows_the_section_of_its_wire(name: str) -> None:
    result = shipped.solved(name)
    figure = draw_slot(result, 0).sheet.figure
    pixels = _pixels(figure)
    (axes,) = figure.axes
    wanted = _filled([slot_views(result)[0].outlines[CENTRE]], axes, pixels.shape[:2])
    assert _share(_of_the_wire(pixels), wanted) >= SLOT


@pytest.mark.parametrize("number", [0, 5, 10])
def test_an_animation_shows_the_wire_of_every_moment(number: int) -> None:
    run = figure_cases.run("molar-uprighting")
    film = film_of(run.result, frames_of(run), "facial")
    figure = draw_moment(film, number)
    pixels = _pixels(figure)
    face = faces(run.result)[0]
    shape = pixels.shape[:2]
    shares = [
        _share(_of_the_wire(pixels), _filled(wire_band(film.frames[k].wires[0], face), figure.axes[0], shape))
        for k in (0, 5, 10)
    ]
    assert shares[(0, 5, 10).index(number)] == max(shares) >= 0.6  # a slide's wire is eight pixels thick


def test_a_wrong_picture_is_seen() -> None:
    """The comparison can fail: the mirrored wire does not lie where it should."""
    result = shipped.solved("molar-uprighting")
    figure = draw_view(result, "facial", Room(14.0, 9.0)).sheet.figure
    pixels = _pixels(figure)
    wanted = _filled(wire_band(result.wire, faces(result)[0]), figure.axes[0], pixels.shape[:2])
    assert _share(_of_the_wire(pixels)[:, ::-1], wanted) < 0.3
