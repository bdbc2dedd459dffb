"""A single figure of a result, for a slide or a paper: its size, its text sizes, its files.

Every figure is drawn with texts of ``SMALL_SIZE`` points or more on a sheet of its own; a style says how much that
sheet is enlarged.  So a slide is a sheet of 6.3 x 3.54 inches at 2.12 times its size, where 8.5 points become 18.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from cases.errors import WireslotError
from cases.files import Writer
from cases.output import CAUTION
from cases.report import alternatives as told
from cases.report.panels import (
    LEGEND_ROW,
    Panel,
    Room,
    attachment_numbers,
    bench_subject,
    curve_keys,
    draw_bench_panel,
    draw_curve,
    draw_slot,
    draw_stress,
    draw_view,
    view_keys,
)
from cases.report.svg import svg_text
from cases.results import RunResult
from cases.schema import Case
from cases.show import labels
from cases.show.closed_form import ReferenceCurve
from cases.show.palette import GREY, INK
from cases.show.sheet import SMALL_SIZE, Area, Sheet, line_height, style, wrapped
from cases.show.slot_view import slot_views

EDGE = 0.1
TITLE_SIZE = 11.0
LEAST_CURVE = 1.0
"""Inches: least height of the axes of a curve."""


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


def draw_figure(
    case: Case,
    result: RunResult,
    what: str,
    kind: str,
    references: Sequence[ReferenceCurve] = (),
    attachment: str | None = None,
) -> Drawn:
    """The figure ``what`` in the style ``kind``.

    Raises FigureError for one that this case does not have, or whose texts find no room."""
    style_of = STYLES[kind]
    draw, subject, words = _choose(case, result, what, style_of, references, attachment)
    try:
        panel = draw()
    except ValueError as error:
        raise FigureError(
            f"the figure {what} has no room for its texts in the style {kind} ({error}); "
            "try the other style, or take the figure of the report"
        ) from error
    panel.warn(result)
    title = f"{result.title}: {subject}" if subject else result.title
    return Drawn(panel.sheet.figure, style_of, title, words)


def _choose(
    case: Case,
    result: RunResult,
    what: str,
    look: Style,
    references: Sequence[ReferenceCurve],
    attachment: str | None,
) -> tuple[Callable[[], Panel], str, str]:
    """What draws it, what it is called, and its words."""
    there = [
        *view_keys(result),
        *(["slot"] * bool(slot_views(result))),
        *curve_keys(result, references),
        "stress",
    ]
    there += ["bench"] * (result.bench is not None)
    if what not in there:
        raise FigureError(
            f"this case has no figure {what} that shows anything; there are: {', '.join(there)}"
        )
    if attachment is not None and what != "slot":
        raise FigureError(f"--attachment goes with --what slot, not with {what}; leave it out")
    slide = look.height is not None
    if what in view_keys(result):
        page = Page(look, result)
        return lambda: draw_view(result, what, page.room, page, slide), "", told.view_words(result, what)
    if what == "slot":
        index = _slot_index(result, attachment)
        view = slot_views(result)[index]
        state = f"{labels.name_text(view.attachment)}, {view.third.words}"
        page = Page(look, result, state if slide else "")
        return lambda: draw_slot(result, index, page, page.room, not slide), state, told.slot_words(view)
    if what == "stress":
        subject = f"Stress along the wire; attachments: {attachment_numbers(result)}"
        page = Page(look, result, subject)
        limits = [wire.material.yield_mpa for wire in case.wires]
        return (
            lambda: draw_stress(result, limits, page.room, page),
            subject,
            told.stress_words(result, limits),
        )
    if what == "bench":
        assert result.bench is not None
        subject = bench_subject(result.bench)
        page = Page(look, result, "" if slide else subject)
        words = told.bench_picture_words(result.bench)
        return lambda: draw_bench_panel(result, page.room, page), subject, words
    # a slide has no room for sources; its words name them
    sources = [
        f"Closed form {one.label}: {one.source}." for one in references if one.order == what and not slide
    ]
    page = Page(look, result, "", tuple(dict.fromkeys(sources)))
    rows = -(-len(result.attachments) // 2)
    if page.room.height - LEGEND_ROW * rows - 0.8 < LEAST_CURVE:
        raise FigureError(
            f"{len(result.attachments)} curves have no room for their legend in the style {look.name}; try the other "
            "style, or take the figure of the report"
        )
    words = told.curve_words(result, what, references)
    return lambda: draw_curve(result, what, page.room, references, page, True), "", words


def _slot_index(result: RunResult, attachment: str | None) -> int:
    """Of the slot that is asked for; else of the one with the largest torque."""
    names = [view.attachment.name for view in slot_views(result)]
    if attachment is None:
        torques = [abs(view.third.moment_nmm) for view in slot_views(result)]
        return torques.index(max(torques))
    if attachment not in names:
        raise FigureError(f'no slot belongs to "{attachment}"; there are: {", ".join(names)}')
    return names.index(attachment)


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
    """By file name, what writes the figure as PNG and as SVG."""
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

    return {f"{stem}.png": png, f"{stem}.svg": svg}


def enlarged(text: str, factor: float) -> str:
    """An SVG document whose size on paper is ``factor`` times what it was, everything in it with it."""

    def grown(found: re.Match[str]) -> str:
        return f'{found[1]}="{factor * float(found[2]):.6g}pt"'

    head, rest = text.split("viewBox", 1)
    root = head.rindex("<svg")
    more, _, tail = rest.partition(">")
    sized = re.sub(r'\b(width|height)="([0-9.]+)pt"', grown, f"{head[root:]}viewBox{more}")
    return f"{head[:root]}{sized}>{tail}"
