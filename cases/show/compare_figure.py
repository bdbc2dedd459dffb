"""Draws appliances side by side: force, moments of the orders in which there are any, and moment-to-force ratio.

One row of bars for each attachment, a bar for each case, its value written at its end.  Cases differ in lightness and
hatching, and their letters stand beside the bars, so nothing hangs on colour.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from cases.results import ORDERS, AttachmentResult
from cases.show.palette import GREY, INK
from cases.show.sheet import SMALL_SIZE, Area, Sheet, style, text_width, wrapped
from cases.show.study_sheet import open_study_sheet, plain_axes
from cases.studies.compare import ABOUT, Comparison, moment_to_force
from cases.summary import number
from cases.words import LEAST_SHOWN, ORDER_VIEWS

WIDTH = 12.0
BAR = 0.2
"""Inches that one bar takes."""
FILLS = (
    ("#12264d", ""),
    ("#c9d1de", "////"),
    ("#9a3412", ""),
    ("#ffffff", "...."),
    ("#6b7280", ""),
    ("#f2d7b6", "xxxx"),
)
SMALL = 0.01
"""An order whose moments stay below this share of the largest of all orders has no panel."""
LONGEST = 1.9
"""Inches for the names of attachments, which are broken where they are longer."""

Value = Callable[[AttachmentResult], float | None]


@dataclass(frozen=True, slots=True)
class Panel:
    """One quantity of every attachment in every case."""

    title: str
    label: str
    value: Value


def _moment(order: str) -> Value:
    return lambda item: item.orders[order].moment_nmm


def panels(found: Comparison) -> list[Panel]:
    """Force, the orders with moments worth a panel, and moment-to-force ratio."""
    items = [item for g in found.groups for m in found.members if (item := found.item(g, m)) is not None]
    most = {
        order: max((abs(item.orders[order].moment_nmm) for item in items), default=0.0) for order in ORDERS
    }
    least = max(LEAST_SHOWN, SMALL * max(most.values()))
    out = [Panel("Size of the force", "force (N)", lambda item: math.hypot(*item.force_n))]
    for order in ORDERS:
        if most[order] >= least:
            out.append(Panel(f"Moment, {ORDER_VIEWS[order]}", "moment (N mm)", _moment(order)))
    if any(moment_to_force(item) is not None for item in items):
        out.append(Panel("Moment-to-force ratio", "M/F (mm)", moment_to_force))
    return out


def draw_comparison(found: Comparison) -> Sheet:
    """The sheet with one panel a quantity."""
    chosen = panels(found)
    silent = [
        order for order in ORDERS if not any(f"Moment, {ORDER_VIEWS[order]}" == p.title for p in chosen)
    ]
    columns = 2 if len(chosen) <= 4 else 3
    rows = -(-len(chosen) // columns)
    names = 0.2 + min(LONGEST, max(text_width(group.label, SMALL_SIZE) for group in found.groups))
    bars = sum(len(_members(found, i)) + 0.7 for i in range(len(found.groups)))
    height = max(1.2, bars * BAR) + 1.15
    under = [f"{m.letter}: {m.case.title} ({m.case.path.name}); {m.status}" for m in found.members]
    notes = [ABOUT]
    if silent:
        notes.append(f"No moment to speak of in {' and '.join(silent)} order.")
    notes.append("Bars begin at zero; a missing bar: the case lacks this attachment, or its value is none.")
    materials = dict.fromkeys(m.case.wire.material.name for m in found.members)
    notes.append(
        f"Alloys: {', '.join(materials)}; forces scale with Young's modulus, whose published spread for one alloy "
        "(often 10 to 20 %) outweighs all solver error. Each case's own assumptions: wireslot run."
    )
    with style():
        sheet = open_study_sheet(
            f"{len(found.members)} appliances side by side",
            under,
            WIDTH,
            rows * height + 0.35,
            notes,
            found.remarks(),
        )
        for index, panel in enumerate(chosen):
            wide = sheet.room.width / columns
            left = sheet.room.left + (index % columns) * wide
            bottom = sheet.room.top - (index // columns + 1) * height
            area = Area(left + names, bottom + 0.6, wide - names - 0.25, height - 1.0)
            _bars(plain_axes(sheet, area, panel.title), found, panel)
        handles = [
            Patch(facecolor=FILLS[i][0], hatch=FILLS[i][1], edgecolor=INK, linewidth=0.8, label=m.letter)
            for i, m in enumerate(found.members)
        ]
        sheet.figure.legend(
            handles=handles, loc="lower left", frameon=False, fontsize=SMALL_SIZE, ncols=len(handles),
            borderaxespad=0.0, borderpad=0.0, labelcolor=INK,
            bbox_to_anchor=(sheet.room.left / sheet.width, (sheet.room.bottom + 0.04) / sheet.height),
        )  # fmt: skip
    return sheet


def _members(found: Comparison, index: int) -> list[int]:
    """Which cases have the attachment, by their place."""
    group = found.groups[index]
    return [i for i, member in enumerate(found.members) if member.letter in group.by_letter]


def drawn(found: Comparison, panel: Panel) -> list[tuple[str, str, float]]:
    """Attachment, case and value of every bar, from the top."""
    out = []
    for group in found.groups:
        for member in found.members:
            item = found.item(group, member)
            value = None if item is None else panel.value(item)
            if value is not None:
                out.append((group.label, member.letter, value))
    return out


def _bars(axes: Axes, found: Comparison, panel: Panel) -> None:
    values = {(label, letter): value for label, letter, value in drawn(found, panel)}
    top = 0.0
    ticks: list[float] = []
    names: list[str] = []
    for index, group in enumerate(found.groups):
        places = []
        for i in _members(found, index):
            letter = found.members[i].letter
            places.append(top)
            value = values.get((group.label, letter))
            colour, hatch = FILLS[i]
            if value is not None:
                axes.barh(
                    top, value, height=0.82, color=colour, hatch=hatch, edgecolor=INK, linewidth=0.8, zorder=3.0,
                    gid=f"bar {letter} {group.label}",
                )  # fmt: skip
            right = value is None or value >= 0.0
            text = f"{letter}: {'none' if value is None else number(value)}".replace("-", "\N{MINUS SIGN}")
            axes.annotate(
                text, (value or 0.0, top), (4.0 if right else -4.0, 0.0), textcoords="offset points",
                va="center", ha="left" if right else "right", fontsize=SMALL_SIZE, zorder=6.0,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4, "alpha": 0.85},
            )  # fmt: skip
            top += 1.0
        ticks.append(sum(places) / len(places))
        names.append("\n".join(wrapped(group.label, SMALL_SIZE, LONGEST)))
        top += 0.7
    axes.set_yticks(ticks, names, fontsize=SMALL_SIZE)
    axes.set_ylim(top - 0.9, -0.8)
    axes.tick_params(axis="y", length=0.0)
    axes.grid(visible=False, axis="y")
    axes.axvline(0.0, color=GREY, linewidth=0.9, zorder=4.0)
    axes.set_xlabel(panel.label)
    axes.xaxis.set_major_locator(MaxNLocator(5))
    _limits(axes, [0.0, *values.values()])


def _limits(axes: Axes, values: list[float]) -> None:
    """Limits that leave room for what is written at the ends of the bars."""
    low, high = min(values), max(values)
    wide = axes.get_position().width * WIDTH
    text = max(text_width(f"A: {number(value)}", SMALL_SIZE) for value in values) + 0.15
    right = high > 0.0 or low == 0.0
    per_inch = ((high - low) or 1.0) / (wide - text * (right + (low < 0.0)))
    axes.set_xlim(
        low - (text * per_inch if low < 0.0 else 0.0),
        (high or (low == 0.0)) + (text if right else 0.15) * per_inch,
    )
