"""A single figure of a result, for a slide or a paper: its size, its text sizes, its files.

Every figure is drawn with texts of ``SMALL_SIZE`` points or more on a sheet of its own; a style says how much that
sheet is enlarged.  So a slide is a sheet of 6.3 x 3.54 inches at 2.12 times its size, where 8.5 points become 18.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from cases.errors import WireslotError
from cases.files import Writer
from cases.output import CAUTION
from cases.report.choice import NotThere, Question, choose
from cases.report.panels import Room
from cases.report.svg import svg_text
from cases.results import RunResult
from cases.schema import Case
from cases.show import labels
from cases.show.agreement import Known
from cases.show.closed_form import ReferenceCurve
from cases.show.palette import GREY, INK
from cases.show.plots import Band
from cases.show.sheet import SMALL_SIZE, Area, Sheet, line_height, style, wrapped
from cases.show.tables import Table

EDGE = 0.1
TITLE_SIZE = 11.0


class FigureError(WireslotError):
    """A figure that a case does not have, or that has no room."""

    exit_code = 2


@dataclass(frozen=True, slots=True)
class Style:
    """A kind of figure; inches on the drawn sheet, which is then enlarged."""

    name: str
    width: float
    height: float | None
    """None: as high as it needs."""
    room_height: float
    """Of the picture, where the height is free."""
    enlarged: float
    dpi: int
    """Pixels in an inch, once enlarged."""

    @property
    def least_text(self) -> float:
        """Points of the smallest text, once enlarged."""
        return SMALL_SIZE * self.enlarged


SLIDE_TEXT = 18.0
_SLIDE = SLIDE_TEXT / SMALL_SIZE
STYLES: Mapping[str, Style] = {
    "slide": Style("slide", 40.0 / 3.0 / _SLIDE, 7.5 / _SLIDE, 0.0, _SLIDE, 144),
    "paper": Style("paper", 6.3, None, 3.7, 1.0, 300),
}


@dataclass(frozen=True, slots=True)
class Drawn:
    """A figure that is ready to be written."""

    figure: Figure
    style: Style
    title: str
    words: str
    """What it shows, for who cannot see it."""
    table: Table
    """The numbers behind it."""


def draw_figure(
    case: Case,
    result: RunResult,
    what: str,
    kind: str,
    references: Sequence[ReferenceCurve] = (),
    attachment: str | None = None,
    known: Sequence[Known] = (),
    band: Band | None = None,
    notes: Sequence[str] = (),
) -> Drawn:
    """The figure ``what`` in the style ``kind``, with ``known`` points and a ``band`` laid over where it takes them.

    Raises FigureError for one that this case does not have, or whose texts find no room."""
    look = STYLES[kind]
    slide = look.height is not None
    try:
        chosen = choose(case, result, what, Question(references, attachment, known, band, notes))
    except NotThere as reason:
        raise FigureError(str(reason)) from reason
    subject = chosen.subject if chosen.on_slide or not slide else ""
    page = Page(look, result, subject, () if slide else chosen.notes)
    try:
        panel = chosen.draw(page.room, page, slide)
    except ValueError as error:
        raise FigureError(
            f"the figure {what} has no room for its texts in the style {kind} ({error}); "
            "try the other style, or take the figure of the report"
        ) from error
    panel.warn(result)
    title = f"{result.title}: {chosen.subject}" if chosen.subject else result.title
    return Drawn(panel.sheet.figure, look, title, chosen.words, chosen.table())


class Page:
    """The sheet of a single figure: title above, picture, caution below.  Called with the picture's size it makes the
    sheet."""

    __slots__ = ("_foot", "_head", "look", "room")

    def __init__(self, look: Style, result: RunResult, subject: str = "", notes: Sequence[str] = ()) -> None:
        inner = look.width - 2.0 * EDGE
        wire = labels.wire_text(result)
        under = [subject] * bool(subject) + [f"W{wire[1:]}"] * (look.height is None)
        self.look = look
        self._head = [
            (line, TITLE_SIZE, INK, "bold") for line in wrapped(result.title, TITLE_SIZE, inner, bold=True)
        ]
        self._head += [
            (line, SMALL_SIZE, GREY, "normal") for text in under for line in wrapped(text, SMALL_SIZE, inner)
        ]
        self._foot = [
            (line, SMALL_SIZE, colour, "normal")
            for text, colour in (*((note, GREY) for note in notes), (CAUTION, INK))
            for line in wrapped(text, SMALL_SIZE, inner)
        ]
        height = look.room_height if look.height is None else look.height - self._around
        self.room = Room(inner, height)

    @property
    def _around(self) -> float:
        """Height of everything but the picture."""
        return 2.0 * EDGE + sum(line_height(size) for _, size, _, _ in (*self._head, *self._foot)) + 0.16

    def __call__(self, width: float, height: float) -> Sheet:
        """The sheet for a picture of this size, which stands in its middle."""
        whole = self.look.height or height + self._around
        figure = Figure(figsize=(self.look.width, whole), dpi=150, facecolor="white")
        FigureCanvasAgg(figure)
        foot = sum(line_height(size) for _, size, _, _ in self._foot)
        between = whole - self._around
        bottom = EDGE + foot + 0.08 + 0.5 * (between - height)
        sheet = Sheet(
            figure, Area(0.5 * (self.look.width - width), bottom, width, height), self.look.width, whole
        )
        top = whole - EDGE
        for line, size, colour, weight in self._head:
            top = sheet.write([line], EDGE, top, size, color=colour, weight=weight)
        top = EDGE + foot
        for line, size, colour, weight in self._foot:
            top = sheet.write([line], EDGE, top, size, color=colour, weight=weight)
        return sheet


def figure_writers(drawn: Drawn, stem: str) -> Mapping[str, Writer]:
    """By file name, what writes the figure as PNG and as SVG, and its numbers as CSV."""
    look = drawn.style

    def png(path: Path) -> None:
        with style():
            drawn.figure.savefig(
                path,
                format="png",
                dpi=look.dpi * look.enlarged,
                pil_kwargs={"dpi": (look.dpi, look.dpi)},
                metadata={"Title": drawn.title, "Description": drawn.words, "Software": "wireslot"},
            )

    def svg(path: Path) -> None:
        path.write_text(
            enlarged(svg_text(drawn.figure, drawn.title, drawn.words), look.enlarged), encoding="utf-8"
        )

    return {f"{stem}.png": png, f"{stem}.svg": svg, f"{stem}.csv": drawn.table.write}


def enlarged(text: str, factor: float) -> str:
    """An SVG document whose size on paper is ``factor`` times what it was, everything in it with it."""

    def grown(found: re.Match[str]) -> str:
        return f'{found[1]}="{factor * float(found[2]):.6g}pt"'

    head, rest = text.split("viewBox", 1)
    root = head.rindex("<svg")
    more, _, tail = rest.partition(">")
    sized = re.sub(r'\b(width|height)="([0-9.]+)pt"', grown, f"{head[root:]}viewBox{more}")
    return f"{head[:root]}{sized}>{tail}"
