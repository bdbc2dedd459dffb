"""Draws published ranges of wires in bending and what is computed: forces, moduli, springback, stiffness, strands."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from cases.bench_tests import published_ranges as published
from cases.bench_tests.compared import NOT_MET, Compared
from cases.bench_tests.range_bends import MAKE_UPS, SIZE, RangeBends
from cases.show import labels
from cases.show.palette import FORCE, GREY, INK, MOMENT, PALE
from cases.show.range_panels import BAR, RangeRow, draw_places, draw_rows, legend_handles
from cases.show.sheet import SMALL_SIZE, Area, Sheet, style
from cases.show.study_sheet import open_study_sheet, plain_axes
from cases.words import GF

WIDTH = 13.0
PANEL = 3.35
"""Height of a row of panels, inches."""
NAMES = 2.35
"""Room for the names of rows, inches."""
LEGEND = 0.55
MARKERS = ("o", "s", "^")
"""Of the multistrand wires."""
READING = (
    "At the right of a row: computed (published). In b the library's moduli of solid wires were chosen inside the "
    "ranges: the test only reads them back."
)
TITLES = (
    "a  Superelastic wire on three points, way back",
    "b  Modulus in bending",
    "c  Springback of superelastic wire over another's",
    "d  Stiffness, or moment, over another wire's",
    "e  Multistrand steel on three points, way back from 3.1 mm",
    "f  Multistrand steel: what is left of 3.1 mm",
)
SHORT = {
    "stainless-steel": "steel", "cobalt-chromium": "cobalt-chromium", "beta-titanium": "beta-titanium",
    "martensitic-nickel-titanium": "martensitic NiTi", "superelastic-nickel-titanium": "superelastic NiTi",
}  # fmt: skip


def draw_ranges(
    bends: RangeBends, rows: Sequence[Compared], title: str, said: str, notes: Sequence[str]
) -> Sheet:
    """The sheet."""
    with style():
        sheet = open_study_sheet(
            title, (said,), WIDTH, 3.0 * PANEL + LEGEND, [*notes, *source_notes(rows), *reasons(rows)]
        )
        _unloading(_panel(sheet, 0), bends)
        draw_rows(_panel(sheet, 1), modulus_rows(rows), "GPa", log=True)
        draw_rows(_panel(sheet, 2), springback_rows(rows), "ratio")
        draw_rows(
            _panel(sheet, 3), stiffness_rows(rows), "% (strands: of steel of the same outline)", log=True
        )
        groups = [
            (at, [row for row in rows if row.published == one]) for at, one in published.STRAND_FORCES.items()
        ]
        axes = _panel(sheet, 4)
        draw_places(axes, groups, MARKERS, "deflection (mm)", "force (gf)")
        axes.legend(
            handles=[
                Line2D([], [], color=MOMENT, marker=marker, linestyle="none", markersize=6.0, label=one.name)
                for one, marker in zip(MAKE_UPS, MARKERS, strict=True)
            ],
            loc="upper left", frameon=False, fontsize=SMALL_SIZE, labelcolor=INK, borderaxespad=0.1,
        )  # fmt: skip
        draw_rows(_panel(sheet, 5), set_rows(rows), "permanent deflection (mm)")
        sheet.figure.legend(
            handles=legend_handles(), loc="lower left", frameon=False, fontsize=SMALL_SIZE, ncols=3, labelcolor=INK,
            borderaxespad=0.0, borderpad=0.0, columnspacing=2.0,
            bbox_to_anchor=(sheet.room.left / sheet.width, (sheet.room.bottom + 0.06) / sheet.height),
        )  # fmt: skip
    return sheet


def _panel(sheet: Sheet, index: int) -> Axes:
    """Axes of one panel, two beside each other; curves need less room on their left than names of rows."""
    room = sheet.room
    column, line = index % 2, index // 2
    named = index not in (0, 4)
    left = room.left + column * room.width / 2.0 + (NAMES if named else 0.78)
    right = room.left + (column + 1) * room.width / 2.0 - (1.35 if named else 0.95)
    bottom = room.top - (line + 1) * PANEL + 0.6
    axes = plain_axes(sheet, Area(left, bottom, right - left, PANEL - 1.0), "")
    start = room.left + column * room.width / 2.0 + 0.1
    sheet.write([TITLES[index]], start, bottom + PANEL - 1.0 + 0.27, 9.5, weight="bold")
    return axes


def _unloading(axes: Axes, bends: RangeBends) -> None:
    """Curves of the usual size out and back, the way back of the others, and the published band."""
    known = published.UNLOADING
    axes.axhspan(known.low * GF, known.high * GF, facecolor=BAR, edgecolor=FORCE, linewidth=1.4, zorder=0.8,
                 gid="published")  # fmt: skip
    for size, spread in bends.superelastic.items():
        usual = size == SIZE
        deflection, force = spread.usual.way(1, False)
        if usual:
            low, high = spread.least.way(1, False), spread.most.way(1, False)
            shown = np.linspace(0.0, deflection[-1], 125)
            axes.fill_between(
                shown, np.interp(shown, *low), np.interp(shown, *high), color=MOMENT, alpha=0.16, linewidth=0.0,
                zorder=1.5, gid="range of the alloy",
            )  # fmt: skip
            axes.plot(*spread.usual.way(1, True), color=FORCE, linewidth=1.8, zorder=4.0, gid="loading")
            axes.annotate("loading, 0.016 in", (1.25, 2.3), ha="left", fontsize=SMALL_SIZE, color=FORCE)
        axes.plot(
            deflection, force, color=MOMENT, linewidth=2.2 if usual else 1.0, linestyle=(0, (5, 2)), zorder=5.0,
            gid=f"way back {size:g} in",
        )  # fmt: skip
        axes.annotate(
            f"{size:g} in", (1.75, float(np.interp(1.75, deflection, force))), (0.0, 3.0), textcoords="offset points",
            fontsize=SMALL_SIZE, color=MOMENT, weight="bold" if usual else "normal", zorder=6.0,
        )  # fmt: skip
    axes.annotate(
        f"published {known.said}", (0.5, known.high * GF), (0.0, -10.0), textcoords="offset points",
        fontsize=SMALL_SIZE, color=FORCE, zorder=6.0,
    )  # fmt: skip
    axes.axhline(0.0, color=GREY, linewidth=0.8, zorder=1.0)
    axes.set_xlim(0.0, 3.15)
    axes.set_ylim(-0.05, 2.95)
    axes.set_xlabel("deflection (mm)")
    axes.set_ylabel("force (N)")
    right = axes.secondary_yaxis("right", functions=(labels.to_gf, labels.from_gf))
    right.set_ylabel("(gf)")
    right.spines["right"].set_color(PALE)


def modulus_rows(rows: Sequence[Compared]) -> list[RangeRow]:
    """Alloys by name, multistrand wires by make-up."""
    out = []
    for row in rows:
        if row.group != "modulus":
            continue
        alloy = SHORT.get(row.published.alloy)
        at = row.how.partition(",")[0] if row.published.alloy == published.SUPERELASTIC else ""
        out.append(RangeRow(row.wire if alloy is None else f"{alloy} {at}".strip(), row))
    return out


def springback_rows(rows: Sequence[Compared]) -> list[RangeRow]:
    """By the other wire and what is read of the bend."""
    reads = ("comes back of 80 deg", "angle to a set of 2.9 deg", "comes back of 3.1 mm")
    own = [row for row in rows if row.group == "springback"]
    return [
        RangeRow(f"{'steel' if k < len(reads) else 'martensitic'}: {reads[k % len(reads)]}", row)
        for k, row in enumerate(own)
    ]


def stiffness_rows(rows: Sequence[Compared]) -> list[RangeRow]:
    """All in per cent."""
    names = {
        published.STIFFNESS_SMALL.key: ("superelastic / steel, 5 deg",),
        published.STIFFNESS_LARGE.key: ("superelastic / steel, 80 deg", "the same, lower plateau"),
        published.FORCE_MARTENSITIC.key: ("superelastic / martensitic, out", "the same, lower plateau"),
    }
    out, told = [], dict.fromkeys(names, 0)
    for row in rows:
        if row.group != "stiffness":
            continue
        key = row.published.key
        if key in names:
            out.append(RangeRow(names[key][told[key]], row))
            told[key] += 1
        else:
            alloy = SHORT.get(row.published.alloy)
            out.append(RangeRow(f"{row.wire} / steel" if alloy is None else f"{alloy} / steel", row, 100.0))
    return out


def set_rows(rows: Sequence[Compared]) -> list[RangeRow]:
    """Of every make-up."""
    return [RangeRow(row.wire, row) for row in rows if row.published == published.STRAND_SET]


def source_notes(rows: Sequence[Compared]) -> list[str]:
    """Who says so, panel by panel."""
    panels = {
        "unloading force": "a",
        "modulus": "b",
        "springback": "c",
        "stiffness": "d",
        "multistrand": "e, f",
    }
    out = []
    for group, letter in panels.items():
        known = [
            row.published for row in rows if row.group == group and row.published != published.THREE_STRANDS
        ]
        out.append(f"{letter}: {'; '.join(dict.fromkeys(one.source for one in known))}.")
    return [*out, READING]


def reasons(rows: Sequence[Compared]) -> list[str]:
    """Why what is not met is not."""
    return [f"Not met ({row.wire}, {row.how}): {row.why}." for row in rows if row.verdict == NOT_MET]
