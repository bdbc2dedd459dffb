"""What all line figures share: the sheet with its head and foot, the warning banner, measured text, saving.

Lengths on a sheet are inches from its lower left corner.  Figures are made without a display and leave no
trace in the settings of the drawing library.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from cases.output import CAUTION
from cases.results import RunResult
from cases.show import labels
from cases.show.palette import BANNER, GREY, INK

Array = NDArray[np.float64]

DPI = 150
EDGE = 0.35
"""White margin of a sheet, inches."""
TITLE_SIZE, TEXT_SIZE, SMALL_SIZE = 15.0, 9.5, 8.5
_LINE = 1.3
"""Distance of lines of text, in their size."""
_POINTS = 72.0
UNITS = frozenset({"N", "mm", "gf", "MPa", "GPa", "%", "deg"})


@contextmanager
def style() -> Iterator[None]:
    """Settings while a figure is made or saved: text stays text in SVG, a dollar sign is a dollar sign."""
    with matplotlib.rc_context(
        {
            "font.family": "sans-serif",
            "font.sans-serif": ["DejaVu Sans"],
            "font.size": TEXT_SIZE,
            "text.parse_math": False,
            "svg.fonttype": "none",
            "svg.hashsalt": "wireslot",
            "axes.edgecolor": GREY,
            "axes.labelcolor": INK,
            "text.color": INK,
            "xtick.color": INK,
            "ytick.color": INK,
        }
    ):
        yield


@cache
def _measure() -> RendererAgg:
    return RendererAgg(8, 8, DPI)


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width of one line of text, inches, word by word; ``size`` in points."""
    words = text.split(" ")
    space = _word_width("n n", size, bold) - _word_width("nn", size, bold)
    return sum(_word_width(word, size, bold) for word in words) + (len(words) - 1) * space


@lru_cache(maxsize=4096)
def _word_width(text: str, size: float, bold: bool) -> float:
    if not text:
        return 0.0
    font = FontProperties(family=["DejaVu Sans"], size=size, weight="bold" if bold else "normal")
    width, _, _ = _measure().get_text_width_height_descent(text, font, ismath=False)
    return float(width) / DPI


def wrapped(text: str, size: float, width: float, bold: bool = False) -> list[str]:
    """Lines of ``text``, broken between words so that none is wider than ``width`` inches, if words allow.

    A unit stays with its number, and so do the two sides of a size such as 0.017 x 0.025.
    """
    words: list[str] = []
    for word in text.split():
        bare = word.strip(".,;:()")
        inches = bare == "in" and bool(words) and words[-1][-1].isdigit()
        if words and (bare in UNITS or inches or bare == "x" or words[-1].endswith(" x")):
            words[-1] += f" {word}"
        else:
            words.append(word)
    lines: list[str] = []
    for word in words:
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, bold) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def line_height(size: float) -> float:
    """Distance of lines of text of ``size`` points, inches."""
    return _LINE * size / _POINTS


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle of a sheet, inches."""

    left: float
    bottom: float
    width: float
    height: float

    @property
    def top(self) -> float:
        """Its upper edge, inches."""
        return self.bottom + self.height

    @property
    def right(self) -> float:
        """Its right edge, inches."""
        return self.left + self.width


@dataclass(frozen=True, slots=True)
class Sheet:
    """A figure with head and foot drawn, and the area left in between."""

    figure: Figure
    room: Area
    width: float
    height: float

    def axes(self, area: Area) -> Axes:
        """Axes that fill ``area``."""
        return self.figure.add_axes(
            (
                area.left / self.width,
                area.bottom / self.height,
                area.width / self.width,
                area.height / self.height,
            )
        )

    def write(self, lines: Sequence[str], left: float, top: float, size: float, **how: Any) -> float:
        """Lines of text downwards from ``top``; gives the height at which they end."""
        for line in lines:
            self.figure.text(
                left / self.width,
                (top - 0.8 * size / _POINTS) / self.height,
                line,
                fontsize=size,
                verticalalignment="baseline",
                **how,
            )
            top -= line_height(size)
        return top


def open_sheet(
    result: RunResult,
    subject: str,
    width: float,
    room_height: float,
    notes: Sequence[str] = (),
    of_the_end: bool = True,
) -> Sheet:
    """A sheet ``width`` inches wide whose free area is ``room_height`` inches high.

    The head says the case, the ``subject`` and the wire, the foot the ``notes`` and the caution.  What is true of the
    run's end only, how hard the wire is worked and that nothing acts, is said ``of_the_end``.
    """
    inner = width - 2.0 * EDGE
    wire = labels.wire_text(result) if of_the_end else f"wire {labels.made_of_text(result)}"
    title = wrapped(result.title, TITLE_SIZE, inner, bold=True)
    under = [line for text in (subject, f"W{wire[1:]}") for line in wrapped(text, TEXT_SIZE, inner)]
    foot = [line for note in notes for line in wrapped(note, SMALL_SIZE, inner)]
    caution = wrapped(CAUTION, SMALL_SIZE, inner)
    quiet = labels.quiet_text(result) if of_the_end else None
    said = [] if quiet is None else wrapped(quiet, TEXT_SIZE, inner, bold=True)
    head_height = (
        len(title) * line_height(TITLE_SIZE) + (len(under) + len(said)) * line_height(TEXT_SIZE) + 0.12
    )
    foot_height = (len(foot) + len(caution)) * line_height(SMALL_SIZE) + 0.12
    height = 2.0 * EDGE + head_height + room_height + foot_height
    figure = Figure(figsize=(width, height), dpi=DPI, facecolor="white")
    FigureCanvasAgg(figure)
    sheet = Sheet(figure, Area(EDGE, EDGE + foot_height, inner, room_height), width, height)
    top = sheet.write(title, EDGE, height - EDGE, TITLE_SIZE, weight="bold")
    top = sheet.write(under, EDGE, top, TEXT_SIZE, color=GREY)
    sheet.write(said, EDGE, top, TEXT_SIZE, weight="bold")
    top = sheet.write(foot, EDGE, EDGE + foot_height - 0.12, SMALL_SIZE, color=GREY)
    sheet.write(caution, EDGE, top, SMALL_SIZE, color=INK)
    write_banner(sheet, result)
    return sheet


def write_banner(sheet: Sheet, result: RunResult) -> None:
    """The warning across a result that is no stable equilibrium, over everything else."""
    text = labels.banner_text(result)
    if text is None:
        return
    size = 20.0
    while size > 9.0 and text_width(text, size, bold=True) > sheet.room.width:
        size -= 0.5
    lines = wrapped(text, size, sheet.room.width, bold=True)
    half = 0.5 * len(lines) * line_height(size) + 0.12
    middle = sheet.room.bottom + 0.5 * sheet.room.height
    sheet.figure.add_artist(
        Rectangle(
            (0.0, (middle - half) / sheet.height),
            1.0,
            2.0 * half / sheet.height,
            transform=sheet.figure.transFigure,
            facecolor=BANNER,
            alpha=0.88,
            zorder=1000.0,
            gid="banner",
        )
    )
    for i, line in enumerate(lines):
        sheet.figure.text(
            0.5,
            (middle + (0.5 * (len(lines) - 1) - i) * line_height(size)) / sheet.height,
            line,
            fontsize=size,
            weight="bold",
            color="white",
            horizontalalignment="center",
            verticalalignment="center",
            zorder=1001.0,
        )


def save(sheet: Sheet, result: RunResult, path: Path) -> Path:
    """Write the sheet as PNG or SVG, whichever the suffix of ``path`` says."""
    kind = path.suffix.removeprefix(".")
    version = result.provenance.get("version") or "version unknown"
    case = result.provenance.get("case_sha256") or "unknown"
    made_by = f"{result.provenance.get('program') or 'wireslot'} {version}"
    about = f"{CAUTION} Case file SHA-256: {case}."
    if kind == "png":
        data: dict[str, str | None] = {"Title": result.title, "Software": made_by, "Description": about}
    elif kind == "svg":
        data = {"Title": result.title, "Creator": made_by, "Description": about, "Date": None}
    else:
        raise ValueError(f"a figure is saved as .png or .svg: got {path.name}")
    with style():
        sheet.figure.savefig(path, format=kind, dpi=DPI, metadata=data)
    return path
