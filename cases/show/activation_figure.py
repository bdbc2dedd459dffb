"""Draws force and moment on every tooth against the share of the activation reached.

Where stages follow the engagement, or the wire is tied in step by step, the axis goes on: each stage is 100 % long and
begins at a light line.  Formulas are for the engagement at once, so other ways have none.

One panel for the forces and one for each order in which a moment acts; an order without one, or whose moments are
small beside the others, is named below.  Curves begin at nothing engaged, where by definition nothing acts.
Every attachment has its own line, marker and grey, the early ones broad and pale under the late ones, so that
curves that coincide are both seen.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from cases.results import ACTIVATION, ORDERS, RunResult
from cases.show import labels
from cases.show.agreement import Known, closed_form_sentences
from cases.show.closed_form import ReferenceCurve
from cases.show.palette import GREY, INK, PALE
from cases.show.plots import MOST_MARKERS
from cases.show.sheet import SMALL_SIZE, TEXT_SIZE, Area, Sheet, open_sheet, style
from cases.show.tables import Cell, Table
from cases.show.way import gone, stages_of, without_bench
from cases.words import LEAST_SHOWN, ORDER_VIEWS

LineStyle = str | tuple[float, tuple[float, ...]]

SUBJECT = "Force and moment on the teeth against activation"
X_LABEL = "activation (% of the whole)"
X_LABEL_STAGES = "way gone (%, each stage 100 %)"
FORCE_LABEL, FORCE_LABEL_GF = "size of the force (N)", "(gf)"
MOMENT_LABEL, MOMENT_LABEL_GF = "moment (N mm)", "(gf mm)"
NOTE = "Moments are about each attachment's own axes through its centre (for a button through the point it holds)."
PANEL_WIDTH, PANEL_HEIGHT = 5.65, 3.5
LEGEND_LINE = 0.2
COLUMNS = ("curve", "attachment", "quantity", "activation_percent", "force_n", "moment_nmm", "source")
FORCE_QUANTITY = "size of the force"
SMALL = 0.01
"""An order whose moments stay below this share of the largest of all orders has no panel."""
CLOSED = "#000000"
# Line, thickness, colour, and marker with its size: told apart in grey.  Fourteen attachments differ in marker.
LINES: tuple[tuple[LineStyle, float, str], ...] = (
    ("-", 3.4, "#a9b3c4"),
    ("--", 1.8, "#12264d"),
    ("-.", 1.5, "#9a3412"),
    (":", 1.9, "#4b5563"),
    ((0, (7, 2, 1, 2, 1, 2)), 1.4, "#6b7280"),
    ((0, (1, 1)), 1.6, "#9a3412"),
)
MARKERS = (("o", 9.0), ("s", 5.0), ("^", 7.0), ("D", 5.5), ("v", 7.0), ("P", 7.0), ("X", 7.0), ("*", 9.0), ("<", 7.0),
           (">", 7.0), ("p", 7.0), ("h", 7.0), ("d", 7.0), ("8", 6.5))  # fmt: skip


def largest_moment(result: RunResult, order: str) -> float:
    """Size of the largest moment (N mm) of one order on any attachment at any increment."""
    k = ORDERS.index(order)
    return max((abs(a.orders_moment_nmm[k]) for i in result.increments for a in i.attachments), default=0.0)


def silent_orders(result: RunResult) -> tuple[str, ...]:
    """Orders in which no attachment feels a moment worth a panel at any increment: too small to be shown at all, or
    below ``SMALL`` of the largest moment of all orders."""
    most = {order: largest_moment(result, order) for order in ORDERS}
    least = max(LEAST_SHOWN, SMALL * max(most.values()))
    return tuple(order for order in ORDERS if most[order] < least)


def silent_sentences(result: RunResult, silent: Sequence[str]) -> list[str]:
    """What the figure says of orders that have no panel."""
    none = [order for order in silent if largest_moment(result, order) < LEAST_SHOWN]
    small = [order for order in silent if order not in none]
    out = []
    if small:
        bound = _rounded_up(max(largest_moment(result, order) for order in small))
        out.append(
            f"{_sentence(' and '.join(small))} order: below {bound} N mm, less than {100.0 * SMALL:g} % of the largest "
            "moment."
        )
    if none:
        out.append(f"No moment in {' and '.join(none)} order at any activation.")
    return out


def _rounded_up(value: float) -> str:
    """A number with one digit that ``value`` (> 0) is below."""
    decimals = -math.floor(math.log10(value))
    up = (math.floor(value * 10.0**decimals) + 1) / 10.0**decimals
    return f"{up:.{max(decimals, 0)}f}"


def draw_activation(result: RunResult, references: Sequence[ReferenceCurve] = ()) -> Sheet:
    """The sheet with one panel a quantity.  Raises ValueError for a result without increments."""
    result, references = without_bench(result), fitting_formulas(result, references)
    if not result.increments:
        raise ValueError("a result without increments has nothing to draw against activation")
    # A formula beside the path is always shown.
    known = {reference.order for reference in references}
    silent = [order for order in silent_orders(result) if order not in known]
    active = [order for order in ORDERS if order not in silent]
    panels = 1 + max(1, len(active))
    rows = -(-panels // 2)
    names = [item.name for item in result.attachments]
    sources = {f"{r.label}: {r.source}" for r in references}
    notes = [NOTE, *_stage_notes(result)]
    if active:
        notes += silent_sentences(result, silent)
    notes += [f"Closed form {source}." for source in sorted(sources)]
    for order in active:
        own = [one for one in references if one.order == order]
        every = [(item.name, moments(result, k, order)) for k, item in enumerate(result.attachments)]
        notes += closed_form_sentences(own, shares(result), every)
    entries = len(names) + (1 if references else 0)
    legend_height = 0.1 + LEGEND_LINE * -(-entries // 3)
    with style():
        width = 2.0 * PANEL_WIDTH + 0.7
        sheet = open_sheet(result, SUBJECT, width, rows * PANEL_HEIGHT + legend_height, notes)
        for i in range(panels):
            axes = panel_axes(sheet, i, result)
            if i == 0:
                draw_forces(axes, result)
            elif active:
                draw_moments(axes, result, active[i - 1], references)
            else:
                _nothing(axes, result)
        _legend(sheet, result, references)
    return sheet


def fitting_formulas(result: RunResult, references: Sequence[ReferenceCurve]) -> Sequence[ReferenceCurve]:
    """The formulas, where the wire was engaged in all attachments at once."""
    return references if result.increments and result.increments[0].stage == ACTIVATION else ()


def _stage_notes(result: RunResult) -> list[str]:
    """Which number on the axis is which stage, where there are several."""
    stages = stages_of(result.increments)
    if len(stages) < 2:
        return []
    names = "; ".join(f"{number}: {name}" for number, (name, _) in enumerate(stages, start=1))
    return [f"Stages: {names}."]


def panel_axes(sheet: Sheet, index: int, result: RunResult) -> Axes:
    room = sheet.room
    left = room.left + (index % 2) * (room.width / 2.0) + 0.72
    bottom = room.top - (index // 2 + 1) * PANEL_HEIGHT + 0.62
    axes = sheet.axes(Area(left, bottom, room.width / 2.0 - 1.65, PANEL_HEIGHT - 1.05))
    count = len(stages_of(result.increments))
    axes.set_xlim(0.0, 100.0 * count + 4.0)
    axes.set_xlabel(X_LABEL if count == 1 else X_LABEL_STAGES)
    if count > 1:
        axes.margins(y=0.14)  # room for the numbers of the stages
        step = 50 if count <= 4 else 100 * -(-count // 8)
        axes.set_xticks(range(0, 100 * count + 1, step))
        for number in range(count):
            axes.axvline(100.0 * number, color=GREY, linewidth=0.9, dashes=(4, 3), zorder=1.5, gid="stage")
            axes.annotate(
                str(number + 1), (100.0 * number + 50.0, 0.985), xycoords=axes.get_xaxis_transform(),
                horizontalalignment="center", verticalalignment="top", fontsize=SMALL_SIZE, weight="bold", color=GREY,
                bbox={"facecolor": "white", "edgecolor": GREY, "boxstyle": "circle", "linewidth": 0.8, "pad": 0.2},
                zorder=30.0,
            )  # fmt: skip
    axes.grid(color=PALE, linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return axes


def shares(result: RunResult) -> list[float]:
    """Way gone (percent) at every point of a curve: nothing engaged, then every increment."""
    return [0.0] * _begins(result) + gone(result.increments)


def force_sizes(result: RunResult, index: int) -> list[float]:
    """Size of the force (N) on one attachment at every point of its curve."""
    on_path = [float(np.linalg.norm(item.attachments[index].force_n)) for item in result.increments]
    return [0.0] * _begins(result) + on_path


def moments(result: RunResult, index: int, order: str) -> list[float]:
    """Moment (N mm) of one order on one attachment at every point of its curve."""
    k = ORDERS.index(order)
    return [0.0] * _begins(result) + [i.attachments[index].orders_moment_nmm[k] for i in result.increments]


def _begins(result: RunResult) -> bool:
    """Whether a curve needs a point before the first increment: with nothing engaged the wire is passive."""
    return result.increments[0].activation > 0.0


def look_of(index: int) -> dict[str, Any]:
    """How the curve of the attachment with this index looks."""
    line, thick, colour = LINES[index % len(LINES)]
    marker, size = MARKERS[index % len(MARKERS)]
    fill = "white" if index % 2 == 0 else colour
    return {"linestyle": line, "linewidth": thick, "color": colour, "marker": marker, "markersize": size,
            "markerfacecolor": fill, "markeredgewidth": 1.4}  # fmt: skip


def _curve(axes: Axes, index: int, x: Sequence[float], y: Sequence[float]) -> None:
    every = max(1, -(-len(x) // MOST_MARKERS))
    axes.plot(
        x, y, clip_on=False, markevery=every, zorder=3.0 + index, gid=f"curve {index + 1}", **look_of(index)
    )


def draw_forces(axes: Axes, result: RunResult) -> None:
    axes.set_title("Force on the tooth", fontsize=TEXT_SIZE, weight="bold", loc="left")
    axes.set_ylabel(FORCE_LABEL)
    for k in range(len(result.attachments)):
        _curve(axes, k, shares(result), force_sizes(result, k))
    most = max(max(force_sizes(result, k)) for k in range(len(result.attachments)))
    if most < LEAST_SHOWN:
        axes.set_ylim(0.0, 1.0)
        _say(axes, "no force at any activation")
    else:
        axes.set_ylim(0.0, (1.08 if len(stages_of(result.increments)) == 1 else 1.2) * most)
    _second_scale(axes, FORCE_LABEL_GF)


def draw_moments(axes: Axes, result: RunResult, order: str, references: Sequence[ReferenceCurve]) -> None:
    axes.set_title(_sentence(ORDER_VIEWS[order]), fontsize=TEXT_SIZE, weight="bold", loc="left")
    axes.set_ylabel(MOMENT_LABEL)
    axes.axhline(0.0, color=GREY, linewidth=0.8, zorder=1.0)
    for k in range(len(result.attachments)):
        _curve(axes, k, shares(result), moments(result, k, order))
    for reference in references:
        if reference.order == order:
            axes.plot(
                [100.0 * a for a in reference.activation], reference.moment_nmm, color=CLOSED, linewidth=1.0,
                zorder=20.0, gid="closed form",
            )  # fmt: skip
    _second_scale(axes, MOMENT_LABEL_GF)


def _nothing(axes: Axes, result: RunResult) -> None:
    axes.set_title("Moments of all three orders", fontsize=TEXT_SIZE, weight="bold", loc="left")
    axes.set_ylabel(MOMENT_LABEL)
    for k in range(len(result.attachments)):
        for order in ORDERS:
            _curve(axes, k, shares(result), moments(result, k, order))
    axes.set_ylim(-1.0, 1.0)
    _say(
        axes,
        "no couple at any activation" if result.status != "passive" else "passive in its play: no couple",
    )
    _second_scale(axes, MOMENT_LABEL_GF)


def _second_scale(axes: Axes, label: str) -> None:
    """The same in the trade's gram-force, on the right."""
    right = axes.secondary_yaxis("right", functions=(labels.to_gf, labels.from_gf))
    right.set_ylabel(label)
    right.spines["right"].set_color(PALE)


def _say(axes: Axes, text: str) -> None:
    axes.text(
        0.5,
        0.62,
        text,
        transform=axes.transAxes,
        horizontalalignment="center",
        fontsize=TEXT_SIZE,
        weight="bold",
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 3.0},
    )


def _sentence(text: str) -> str:
    return text[0].upper() + text[1:]


def _legend(sheet: Sheet, result: RunResult, references: Sequence[ReferenceCurve]) -> None:
    handles = []
    for k, item in enumerate(result.attachments):
        handles.append(Line2D([], [], label=labels.name_text(item), **look_of(k)))
    if references:
        forms = " or ".join(sorted({r.label for r in references}))
        handles.append(Line2D([], [], color=CLOSED, linewidth=1.0, label=f"closed form {forms}"))
    sheet.figure.legend(
        handles=handles, loc="lower left", frameon=False, fontsize=SMALL_SIZE, ncols=3,
        borderaxespad=0.0, borderpad=0.0,
        handlelength=4.0, bbox_to_anchor=(sheet.room.left / sheet.width, (sheet.room.bottom + 0.04) / sheet.height),
        labelcolor=INK,
    )  # fmt: skip


def activation_table(
    result: RunResult,
    references: Sequence[ReferenceCurve] = (),
    known: Sequence[Known] = (),
    only: str | None = None,
) -> Table:
    """Every plotted value, ``known`` points of the one quantity that is drawn among them; the percentage goes on
    through the stages as the axis does.  ``only``: of the "force", or of the moment of one order, alone."""
    result, references = without_bench(result), fitting_formulas(result, references)
    rows: list[tuple[Cell, ...]] = []
    for k, item in enumerate(result.attachments):
        for share, force in zip(shares(result), force_sizes(result, k), strict=True):
            rows.append(("computed", item.name, FORCE_QUANTITY, share, force, None, ""))
        for order in ORDERS:
            for share, moment in zip(shares(result), moments(result, k, order), strict=True):
                rows.append(("computed", item.name, f"{order} order moment", share, None, moment, ""))
    for reference in references:
        for share, moment in zip(reference.activation, reference.moment_nmm, strict=True):
            rows.append((f"closed form {reference.label}", reference.attachment, f"{reference.order} order moment",
                         100.0 * share, None, moment, reference.source))  # fmt: skip
    for one in known:
        for share, value in zip(one.at, one.values, strict=True):
            pair = (value, None) if only == "force" else (None, value)
            quantity = FORCE_QUANTITY if only == "force" else f"{only} order moment"
            rows.append((f"{one.kind}: {one.label}", "", quantity, share, *pair, one.source))
    kept = {None: None, "force": FORCE_QUANTITY}.get(only, f"{only} order moment")
    return Table(COLUMNS, tuple(row for row in rows if kept in (None, row[2])))
