"""Single pictures of a result, each on a sheet of its own with nothing around it.

Everything is drawn by the parts of ``cases.show``; here one view, one slot or one curve gets its own figure, so that
a page can put it where it has room, and a slide or a paper can have it alone.  Sizes are inches, texts have the sizes
of ``cases.show.sheet``: nothing smaller than ``SMALL_SIZE`` points.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from cases.results import ORDERS, BenchResult, RunResult, WireResult
from cases.show import activation_figure as curves
from cases.show import bench_figure as rig
from cases.show import labels
from cases.show import slot_figure as slots
from cases.show import views_figure as views
from cases.show.closed_form import ReferenceCurve
from cases.show.loads import strokes_of
from cases.show.palette import FORCE, GREY, INK, MOMENT, PALE, PASSIVE, WIRE
from cases.show.sheet import SMALL_SIZE, Area, Sheet, style, text_width, write_banner
from cases.show.slot_view import SlotView, slot_views
from cases.show.unrolled import goes_round, shown
from cases.show.way import without_bench

VIEW_KEYS = ("facial", "occlusal", "mesiodistal")
LEGEND_ROW = 0.2
"""Inches of height that a row of a legend takes."""
LEGEND_WIDTH = 4.9
"""Inches: a wider legend has one column."""
_HANDLE, _PAD, _COLUMNS = 3.2, 0.8, 1.6
"""Of a legend, in the size of its text: length of a mark, distance to its text, distance of columns."""
_MARK, _BETWEEN = (_HANDLE + _PAD) * SMALL_SIZE / 72.0, _COLUMNS * SMALL_SIZE / 72.0
SCALE_ROW = 0.24
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
    legend: tuple[Line2D | Patch, ...] = ()
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


def slot_legend(result: RunResult, shown_views: Sequence[SlotView]) -> tuple[Line2D | Patch, ...]:
    """What lines and marks in the views of slots mean."""
    return tuple(slots.legend_handles(shown_views, slots.least_force(result)))


def view_legend(result: RunResult) -> tuple[Line2D | Patch, ...]:
    """What colours and lines in the three views mean."""
    out: list[Line2D | Patch] = [
        Line2D([], [], color=FORCE, linewidth=2.6, label="force on the tooth (straight)"),
        Line2D([], [], color=MOMENT, linewidth=2.6, label="moment on the tooth (round)"),
        Patch(facecolor=WIRE, edgecolor=INK, label="engaged wire"),
        Line2D([], [], color=PASSIVE, linestyle="--", label="passive shape"),
    ]
    if any(item.slot_size_mm is not None for item in result.attachments):
        out.append(Patch(facecolor=PALE, edgecolor=INK, label="slot"))
    return tuple(out)


def draw_legend(handles: Sequence[Line2D | Patch]) -> Panel:
    """A legend alone, two entries beside each other where they are short."""
    names = [str(one.get_label()) for one in handles]
    widths = [_MARK + text_width(name, SMALL_SIZE) for name in names]
    # entries fill the first column, then the second
    half = -(-len(names) // 2)
    both = max(widths[:half]) + max(widths[half:], default=0.0) + _BETWEEN
    across, width = (2, both) if both <= LEGEND_WIDTH else (1, max(widths))
    with style():
        sheet = bare(width + 0.1, LEGEND_ROW * -(-len(handles) // across) + 0.06)
        _legend(sheet, handles, across, 0.02, sheet.height - 0.03)
    return Panel(sheet)


def _legend(sheet: Sheet, handles: Sequence[Artist], across: int, left: float, top: float) -> None:
    sheet.figure.legend(
        handles=list(handles), loc="upper left", ncols=across, frameon=False, fontsize=SMALL_SIZE, labelcolor=INK,
        borderaxespad=0.0, borderpad=0.0, columnspacing=_COLUMNS, handlelength=_HANDLE, handletextpad=_PAD,
        bbox_to_anchor=(left / sheet.width, top / sheet.height),
    )  # fmt: skip


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
) -> Panel:
    """Force ("force") or the moment of one order against the activation; a ``legend`` under it, or none."""
    kept = without_bench(result)
    fitting = curves.fitting_formulas(kept, references)
    handles = tuple(curve_legend(result, fitting if key != "force" else ()))
    rows = -(-len(handles) // 2) if legend else 0
    with style():
        sheet = frame(room.width, room.height)
        below = sheet.room.bottom + LEGEND_ROW * rows
        axes = _axes(sheet, below, kept)
        if key == "force":
            curves.draw_forces(axes, kept)
        else:
            curves.draw_moments(axes, kept, key, fitting)
        if legend:
            _legend(sheet, handles, 2, sheet.room.left + 0.1, below - 0.04)
    return Panel(sheet, handles)


def _axes(sheet: Sheet, below: float, result: RunResult) -> Axes:
    """Axes of a curve along the activation, with room for their numbers."""
    room = sheet.room
    axes = curves.panel_axes(sheet, 0, result)
    area = _plot_area(room, below)
    axes.set_position(
        (
            area.left / sheet.width,
            area.bottom / sheet.height,
            area.width / sheet.width,
            area.height / sheet.height,
        )
    )
    return axes


def _plot_area(room: Area, below: float) -> Area:
    return Area(room.left + 0.72, below + 0.52, room.width - 1.52, room.top - below - 0.8)


def curve_legend(result: RunResult, references: Sequence[ReferenceCurve]) -> list[Line2D | Patch]:
    """Which line is whose."""
    out: list[Line2D | Patch] = [
        Line2D([], [], label=labels.name_text(item), **curves.look_of(k))
        for k, item in enumerate(result.attachments)
    ]
    if references:
        forms = " or ".join(sorted({one.label for one in references}))
        out.append(Line2D([], [], color=curves.CLOSED, linewidth=1.0, label=f"closed form {forms}"))
    return out


def draw_bench_panel(result: RunResult, room: Room, frame: Frame = bare) -> Panel:
    """What the rig reads against its travel, with its legend.  Raises ValueError where there was no bench test."""
    bench = result.bench
    if bench is None:
        raise ValueError("this case has no bench test")
    with style():
        sheet = frame(room.width, room.height)
        rows = 1 if bench.measured_file is None else 2
        below = sheet.room.bottom + LEGEND_ROW * rows
        axes = sheet.axes(_plot_area(sheet.room, below))
        rig.prepare(axes, bench)
        rig.draw_curves(axes, bench)
        handles, _ = axes.get_legend_handles_labels()
        _legend(sheet, handles, 2, sheet.room.left + 0.1, below - 0.04)
    return Panel(sheet)


BETWEEN_WIRES = 0.62
"""Inches between the stress of one wire and that of the next, for its axis and the numbers of the attachments."""


def draw_stress(result: RunResult, yields: Sequence[float | None], room: Room, frame: Frame = bare) -> Panel:
    """The largest bending and torsional shear stress of every section along each wire, and where attachments stand.

    ``yields``: yield stress of every wire, MPa."""
    count = len(result.wires)
    with style():
        sheet = frame(room.width, room.height)
        below = sheet.room.bottom + LEGEND_ROW
        whole = _plot_area(sheet.room, below)
        lines: dict[str, Artist] = {}
        height = (whole.height - 0.02 - BETWEEN_WIRES * (count - 1)) / count
        for k, (wire, yield_mpa) in enumerate(zip(result.wires, yields, strict=True)):
            bottom = whole.bottom + (count - 1 - k) * (height + BETWEEN_WIRES)
            axes = sheet.axes(Area(whole.left, bottom, whole.width + 0.6, height))
            _stress_along(axes, result, wire, yield_mpa)
            handles, names = axes.get_legend_handles_labels()
            lines |= dict(zip(names, handles, strict=True))
        _legend(sheet, list(lines.values()), 3, sheet.room.left + 0.1, below - 0.04)
    return Panel(sheet)


def _stress_along(axes: Axes, result: RunResult, wire: WireResult, yield_mpa: float | None) -> None:
    """The stress of one wire."""
    along = wire.arc_length_mm
    top = 1.15 * max(float(wire.bending_stress_mpa.max()), float(wire.shear_stress_mpa.max()))
    if labels.unstressed(wire):
        top = 1.0
    spans = zip(result.attachments, attachment_spans(result), strict=True)
    for number, (item, (start, end)) in enumerate(spans, start=1):
        if result.wire_of(item) is not wire:
            continue
        axes.axvspan(start, end, color=PALE, alpha=0.7, linewidth=0.0, zorder=0.5, gid="attachment")
        axes.annotate(
            str(number), (0.5 * (start + end), 1.02), xycoords=axes.get_xaxis_transform(), fontsize=SMALL_SIZE,
            horizontalalignment="center", verticalalignment="bottom", color=GREY,
        )  # fmt: skip
    axes.plot(
        along, wire.bending_stress_mpa, color=FORCE, linewidth=2.0, label="bending and axial", gid="bending"
    )
    axes.plot(
        along, wire.shear_stress_mpa, color=MOMENT, linewidth=1.6, linestyle="--", label="shear from torsion",
        gid="shear",
    )  # fmt: skip
    if yield_mpa is not None and yield_mpa < 2.5 * top:
        top = max(top, 1.1 * yield_mpa)
        axes.axhline(
            yield_mpa, color=GREY, linewidth=1.2, linestyle=(0, (1, 1.5)), label="yield stress", gid="yield"
        )
    axes.set_xlim(float(along[0]), float(along[-1]))
    axes.set_ylim(0.0, top)
    which = wire.name if result.more_wires else "the wire"
    axes.set_xlabel(f"place along {which} (mm from its start)")
    axes.set_ylabel("stress (MPa)")
    axes.grid(color=PALE, linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def attachment_spans(result: RunResult) -> list[tuple[float, float]]:
    """From where to where along its wire, mm, each attachment holds it; at least as long as the wire is thick."""
    out = []
    for item in result.attachments:
        wire = result.wire_of(item)
        thick = max(wire.section.height, wire.section.depth)
        half = 0.5 * (thick if item.slot_size_mm is None else item.slot_size_mm[2])
        away = np.linalg.norm(wire.positions_mm - np.asarray(item.moment_about_mm), axis=1)
        along = wire.arc_length_mm
        middle = float(along[int(away.argmin())])
        out.append((max(middle - half, float(along[0])), min(middle + half, float(along[-1]))))
    return out


def attachment_numbers(result: RunResult) -> str:
    """Which number is which attachment; of teeth alone, in their order."""
    if labels.by_tooth(result):
        return ", ".join(item.tooth or item.name for item in result.attachments)
    return ", ".join(f"{number} {item.name}" for number, item in enumerate(result.attachments, start=1))


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
