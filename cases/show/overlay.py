"""The flat layer of the picture: text, lines and filled shapes, in pixels from the lower left corner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pyvista as pv
from numpy.typing import ArrayLike, NDArray
from vtkmodules.vtkRenderingCore import (
    vtkActor2D,
    vtkPolyDataMapper2D,
    vtkTextActor,
    vtkTextProperty,
    vtkTextRenderer,
)

from cases.show.palette import INK
from cases.show.view import Box

Array = NDArray[np.float64]

# Text sizes are in pixels: at 72 dots per inch a point is a pixel.
_DPI = 72
# VTK's number for a font from a file.
_FONT_FILE = 4


@dataclass(frozen=True, slots=True)
class Font:
    """How a text looks; ``size`` in pixels."""

    size: float
    colour: str = INK
    bold: bool = False


@cache
def _font_file(bold: bool) -> str | None:
    """The typeface of the line figures, which comes with the library that draws them; None where it is missing."""
    found = find_spec("matplotlib")
    if found is None or not found.submodule_search_locations:
        return None
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    path = Path(found.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf" / name
    return str(path) if path.is_file() else None


def _property(font: Font) -> vtkTextProperty:
    prop = vtkTextProperty()
    file = _font_file(font.bold)
    if file is None:
        prop.SetFontFamilyToArial()
    else:
        prop.SetFontFamily(_FONT_FILE)
        prop.SetFontFile(file)
    prop.SetFontSize(round(font.size))
    prop.SetBold(font.bold and file is None)
    prop.SetColor(*pv.Color(font.colour).float_rgb)
    prop.SetLineSpacing(1.15)
    return prop


def text_size(text: str, font: Font) -> tuple[float, float]:
    """Width and height of ``text`` in pixels, measured by the renderer that draws it."""
    bounds = [0, 0, 0, 0]
    vtkTextRenderer.GetInstance().GetBoundingBox(_property(font), text, bounds, _DPI)
    return float(bounds[1] - bounds[0] + 1), float(bounds[3] - bounds[2] + 1)


def wrapped(text: str, font: Font, width: float) -> str:
    """``text`` broken between words so that no line is wider than ``width`` pixels, if words allow."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_size(longer, font)[0] <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return "\n".join(lines)


def draw_text(plotter: pv.Plotter, text: str, place: Box, font: Font, backed: bool = False) -> None:
    """``text`` with its lower left corner at that of ``place``; ``backed`` puts it on a light ground."""
    actor = vtkTextActor()
    actor.SetInput(text)
    prop = _property(font)
    if backed:
        prop.SetBackgroundColor(1.0, 1.0, 1.0)
        prop.SetBackgroundOpacity(0.8)
    actor.SetTextProperty(prop)
    actor.SetTextScaleModeToNone()
    actor.SetPosition(place.left, place.bottom)
    plotter.renderer.AddViewProp(actor)


def text_at(
    plotter: pv.Plotter, text: str, left: float, bottom: float, font: Font, right_aligned: bool = False
) -> Box:
    """Draw ``text`` from its lower left (or, right-aligned, lower right) corner; gives the place it takes."""
    width, height = text_size(text, font)
    left = left - width if right_aligned else left
    place = Box(left, bottom, left + width, bottom + height)
    draw_text(plotter, text, place, font)
    return place


def draw_lines(plotter: pv.Plotter, lines: Sequence[ArrayLike], colour: str, width: float) -> None:
    """Open polylines, each of points (k, 2)."""
    points = [np.asarray(line, dtype=np.float64) for line in lines]
    cells: list[int] = []
    count = 0
    for line in points:
        cells += [len(line), *range(count, count + len(line))]
        count += len(line)
    mesh = pv.PolyData(_flat(np.concatenate(points)), lines=np.array(cells))
    actor = _actor(mesh, colour)
    actor.GetProperty().SetLineWidth(width)
    plotter.renderer.AddViewProp(actor)


def draw_polygon(plotter: pv.Plotter, corners: ArrayLike, colour: str, opacity: float = 1.0) -> None:
    """A filled convex shape of corners (k, 2)."""
    points = _flat(np.asarray(corners, dtype=np.float64))
    actor = _actor(pv.PolyData(points, np.array([len(points), *range(len(points))])), colour)
    actor.GetProperty().SetOpacity(opacity)
    plotter.renderer.AddViewProp(actor)


def draw_gradient(plotter: pv.Plotter, place: Box, colours: NDArray[np.uint8]) -> None:
    """``place`` filled from bottom to top with the ``colours`` (n, 3), 0 to 255."""
    n = len(colours)
    heights = np.linspace(place.bottom, place.top, n + 1)
    points = np.array([(x, y) for y in heights for x in (place.left, place.right)])
    quads = np.array([(4, 2 * i, 2 * i + 1, 2 * i + 3, 2 * i + 2) for i in range(n)])
    mesh = pv.PolyData(_flat(points), quads.ravel())
    mesh.cell_data["colour"] = colours
    mesh.set_active_scalars("colour", preference="cell")
    actor = _actor(mesh, INK, coloured=True)
    plotter.renderer.AddViewProp(actor)


def _flat(points: Array) -> Array:
    return np.column_stack((points, np.zeros(len(points))))


def _actor(mesh: pv.PolyData, colour: str, coloured: bool = False) -> vtkActor2D:
    mapper = vtkPolyDataMapper2D()
    mapper.SetInputData(mesh)
    mapper.SetScalarVisibility(coloured)
    actor = vtkActor2D()
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*pv.Color(colour).float_rgb)
    return actor
