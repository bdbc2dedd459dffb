"""Single pictures of a result, each on a sheet of its own with nothing around it.

Everything is drawn by the parts of ``cases.show``; here one view, one slot or one curve gets its own figure, so that
a page can put it where it has room, and a slide or a paper can have it alone.  Sizes are inches, texts have the sizes
of ``cases.show.sheet``: nothing smaller than ``SMALL_SIZE`` points.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from cases.report.legends import (
    BETWEEN,
    INDENT,
    LEGEND_ROW,
    MARK,
    NOTHING_MORE,
    Entry,
    flow_rows,
    with_more,
    write_flow,
    write_legend,
)
from cases.results import ORDERS, BenchResult, RunResult
from cases.show import activation_figure as curves
from cases.show import bench_figure as rig
from cases.show import labels
from cases.show import slot_figure as slots
from cases.show import views_figure as views
from cases.show.agreement import Known
from cases.show.closed_form import ReferenceCurve
from cases.show.loads import strokes_of
from cases.show.palette import FORCE, INK, MOMENT, PALE, PASSIVE, WIRE
from cases.show.plots import draw_known, known_handles
from cases.show.sheet import SMALL_SIZE, Area, Sheet, style, text_width, write_banner
from cases.show.slot_view import SlotView, slot_views
from cases.show.unrolled import goes_round, shown
from cases.show.way import without_bench

VIEW_KEYS = ("facial", "occlusal", "mesiodistal")
LEGEND_WIDTH = 4.9
"""Inches: a wider legend has one column."""
SCALE_ROW = 0.24
CURVE_AROUND, LEAST_CURVE = 0.8, 0.9
"""Inches: what title and numbers take above and below a pair of axes, and their own least height."""
TIGHT = np.array([1.7, 0.85])
"""Room for texts around what a tight view draws, both sides together, inches."""


@dataclass(frozen=True, slots=True)
class Room:
    """The size a picture may take, inches: its width, and its greatest height."""

    width: float
    height: float


SLOT_ROOM = Room(slots.DRAWING, slots.CARD_HEIGHT - 0.15)


@dataclass(frozen=True, slots=True)
class Panel:
    """A picture with its sheet; ``sheet.room`` is what is drawn on, the legend below it included."""

    sheet: Sheet
    legend: tuple[Entry, ...] = ()
    """What its lines and marks mean, for a legend that stands elsewhere."""

    def warn(self, result: RunResult) -> None:
        """Say across the picture what must be said of a result that is no sound equilibrium."""
        write_banner(self.sheet, result)


Frame = Callable[[float, float], Sheet]
"""Makes the sheet for a picture of a width and a height, inches."""


def bare(width: float, height: float) -> Sheet:
    """A sheet with nothing on it."""
    figure = Figure(figsize=(width, height), dpi=150, facecolor="white")
    FigureCanvasAgg(figure)
    return Sheet(figure, Area(0.0, 0.0, width, height), width, height)


def shows_mesiodistal(result: RunResult) -> bool:
    """Whether the attachments can be told apart in a mesiodistal view of the whole."""
    return not goes_round(result) and len(result.attachments) <= labels.MANY


def view_keys(result: RunResult) -> tuple[str, ...]:
    """The views of the whole appliance that say something."""
    return VIEW_KEYS if shows_mesiodistal(result) else VIEW_KEYS[:2]


def draw_view(result: RunResult, key: str, room: Room, frame: Frame = bare, tight: bool = False) -> Panel:
    """One of the three views, with its scale bar; as large as the ``room`` allows, alone at its own scale.

    ``tight`` leaves less room around, title and directions in the corners of what is drawn.  Raises ValueError where
    its texts do not find places."""
    face, seen = shown(result)[VIEW_KEYS.index(key)]
    extent = views.extent_of(result)
    strokes = strokes_of(seen, face, extent)
    low, high = views.bounds_of(seen, face, strokes)
    span = np.maximum(high - low, 1e-6)
    around = TIGHT if tight else 2.0 * views.MARGIN + (0.0, views.TITLE + views.LOW)
    around = around + (0.0, SCALE_ROW)
    largest = np.array([room.width, room.height])
    scale = float(((largest - around) / span).min())
    size = np.maximum(scale * span + around, np.minimum(views.SMALLEST + (0.0, SCALE_ROW), largest))
    if tight or key != "mesiodistal":
        size[0] = room.width
    middle = 0.5 * (low + high)
    if tight:
        # what is drawn stands in the middle, where a view else keeps off its corners
        middle = middle - np.array([0.0, 0.5 * (views.TITLE - views.LOW) / scale])
    with style():
        sheet = frame(float(size[0]), float(size[1]))
        own = sheet.room
        place = Area(own.left + 0.01, own.bottom + SCALE_ROW, own.width - 0.02, own.height - SCALE_ROW - 0.01)
        views.draw_view(sheet.axes(place), seen, face, strokes, middle, scale, place)
        _scale_bar(sheet, scale)
    return Panel(sheet)


def _scale_bar(sheet: Sheet, scale: float) -> None:
    length = labels.round_length(min(1.4, 0.4 * sheet.room.width) / scale)
    left, y = sheet.room.left + 0.02, sheet.room.bottom + 0.5 * SCALE_ROW
    ends = np.array([left, left + length * scale]) / sheet.width
    sheet.figure.add_artist(
        Line2D(ends, [y / sheet.height] * 2, color=INK, linewidth=3.0, solid_capstyle="butt")
    )
    sheet.figure.text(
        float(ends[1]) + 0.08 / sheet.width, y / sheet.height, f"{length:g} mm", fontsize=SMALL_SIZE,
        verticalalignment="center",
    )  # fmt: skip


def draw_slot(
    result: RunResult, index: int, frame: Frame = bare, room: Room = SLOT_ROOM, words: bool = False
) -> Panel:
    """The mesiodistal view of the slot with this index, at one scale for all slots of the appliance; ``words`` beside
    it."""
    all_views = slot_views(result)
    view = all_views[index]
    reach, least = max(slots.reach_of(one) for one in all_views), slots.least_force(result)
    width = min(room.width - (slots.WORDS if words else 0.0), 1.5 * room.height)
    with style():
        sheet = frame(width + (slots.WORDS if words else 0.0), room.height)
        own = sheet.room
        slots.draw_slot(sheet.axes(Area(own.left, own.bottom, width, own.height)), view, reach, least)
        if words:
            slots.write_words(sheet, view, own.left + width + 0.1, own.top - 0.07)
    return Panel(sheet, slot_legend(result, (view,)))


def slot_legend(result: RunResult, shown_views: Sequence[SlotView]) -> tuple[Entry, ...]:
    """What lines and marks in the views of slots mean."""
    return tuple(slots.legend_handles(shown_views, slots.least_force(result)))


def view_legend(result: RunResult) -> tuple[Entry, ...]:
    """What colours and lines in the three views mean."""
    out: list[Entry] = [
        Line2D([], [], color=FORCE, linewidth=2.6, label="force on the tooth (straight)"),
        Line2D([], [], color=MOMENT, linewidth=2.6, label="moment on the tooth (round)"),
        Patch(facecolor=WIRE, edgecolor=INK, label="engaged wire"),
        Line2D([], [], color=PASSIVE, linestyle="--", label="passive shape"),
    ]
    if any(item.slot_size_mm is not None for item in result.attachments):
        out.append(Patch(facecolor=PALE, edgecolor=INK, label="slot"))
    return tuple(out)


def draw_legend(handles: Sequence[Entry]) -> Panel:
    """A legend alone, two entries beside each other where they are short."""
    names = [str(one.get_label()) for one in handles]
    widths = [MARK + text_width(name, SMALL_SIZE) for name in names]
    # entries fill the first column, then the second
    half = -(-len(names) // 2)
    both = max(widths[:half]) + max(widths[half:], default=0.0) + BETWEEN
    across, width = (2, both) if both <= LEGEND_WIDTH else (1, max(widths))
    with style():
        sheet = bare(width + 0.1, LEGEND_ROW * -(-len(handles) // across) + 0.06)
        write_legend(sheet, handles, across, 0.02, sheet.height - 0.03)
    return Panel(sheet)


def curve_keys(result: RunResult, references: Sequence[ReferenceCurve] = ()) -> tuple[str, ...]:
    """The curves along the activation that there are: the force, and the orders with a moment worth one."""
    kept = without_bench(result)
    if not kept.increments:
        return ()
    known = {one.order for one in references}
    silent = [order for order in curves.silent_orders(kept) if order not in known]
    return ("force", *(order for order in ORDERS if order not in silent))


def draw_curve(
    result: RunResult,
    key: str,
    room: Room,
    references: Sequence[ReferenceCurve] = (),
    frame: Frame = bare,
    legend: bool = False,
    known: Sequence[Known] = (),
    more: Mapping[str, str] = NOTHING_MORE,
) -> Panel:
    """Force ("force") or the moment of one order against the activation, ``known`` points over it; a ``legend`` under
    it, or none, with ``more`` behind the names in it.  Raises ValueError where curves leave no room."""
    kept = without_bench(result)
    fitting = curves.fitting_formulas(kept, references)
    handles = with_more(
        (*curve_legend(result, fitting if key != "force" else ()), *known_handles(known)), more
    )
    rows = flow_rows(handles, room.width - INDENT) if legend else 0
    if room.height - LEGEND_ROW * rows - CURVE_AROUND < LEAST_CURVE:
        raise ValueError(f"{len(result.attachments)} curves have no room beside their legend")
    with style():
        sheet = frame(room.width, room.height)
        below = sheet.room.bottom + LEGEND_ROW * rows
        axes = _axes(sheet, below, kept)
        if key == "force":
            curves.draw_forces(axes, kept)
        else:
            curves.draw_moments(axes, kept, key, fitting)
        for one in known:
            draw_known(axes, one)
        if legend:
            write_flow(sheet, handles, sheet.room.left + INDENT, below - 0.04, room.width - INDENT)
    return Panel(sheet, handles)


def _axes(sheet: Sheet, below: float, result: RunResult) -> Axes:
    """Axes of a curve along the activation, with room for their numbers."""
    room = sheet.room
    axes = curves.panel_axes(sheet, 0, result)
    _place(axes, plot_area(room, below), sheet)
    return axes


def _place(axes: Axes, area: Area, sheet: Sheet) -> None:
    left, bottom = area.left / sheet.width, area.bottom / sheet.height
    axes.set_position((left, bottom, area.width / sheet.width, area.height / sheet.height))


def plot_area(room: Area, below: float) -> Area:
    """The inside of axes with numbers on both sides, over what stands ``below`` (inches from the sheet's foot)."""
    return Area(room.left + 0.72, below + 0.52, room.width - 1.52, room.top - below - CURVE_AROUND)


def curve_legend(result: RunResult, references: Sequence[ReferenceCurve]) -> list[Entry]:
    """Which line is whose."""
    out: list[Entry] = [
        Line2D([], [], label=labels.name_text(item), **curves.look_of(k))
        for k, item in enumerate(result.attachments)
    ]
    if references:
        forms = " or ".join(sorted({one.label for one in references}))
        out.append(Line2D([], [], color=curves.CLOSED, linewidth=1.0, label=f"closed form {forms}"))
    return out


def draw_bench_panel(
    result: RunResult,
    room: Room,
    frame: Frame = bare,
    known: Sequence[Known] = (),
    more: Mapping[str, str] = NOTHING_MORE,
) -> Panel:
    """What the rig reads against its travel, ``known`` points over it, and its legend with ``more`` behind the names.
    Raises ValueError where there was no bench test."""
    bench = result.bench
    if bench is None:
        raise ValueError("this case has no bench test")
    with style():
        sheet = frame(room.width, room.height)
        axes = sheet.axes(sheet.room)
        rig.prepare(axes, bench)
        rig.draw_curves(axes, bench)
        for one in known:
            draw_known(axes, one)
        entries = [*axes.get_legend_handles_labels()[0], *known_handles(known)]
        handles = with_more(entries, more)
        wide = room.width - INDENT
        below = sheet.room.bottom + LEGEND_ROW * flow_rows(handles, wide)
        _place(axes, plot_area(sheet.room, below), sheet)
        write_flow(sheet, handles, sheet.room.left + INDENT, below - 0.04, wide)
    return Panel(sheet)


def bench_subject(bench: BenchResult) -> str:
    """What the rig does and reads."""
    return rig.subject(bench)


TITLES: Mapping[str, str] = {
    "facial": "Facial view",
    "occlusal": "Occlusal view",
    "mesiodistal": "Mesiodistal view",
    "force": "Force along the activation",
    "first": "First-order moment along the activation",
    "second": "Second-order moment along the activation",
    "third": "Third-order moment along the activation",
}
