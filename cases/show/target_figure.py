"""Draws what a target search found: how each candidate stands to the wishes, and where it lies between the bounds.

Wishes are drawn in their own tolerances, so that all share one axis; a bar says where bending errors may take a
candidate.  Candidates differ in marker and number, not in colour alone.
"""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.axes import Axes

from cases.show.palette import BANNER, FORCE, GREY, INK, MOMENT, PALE
from cases.show.sheet import SMALL_SIZE, Area, Sheet, style, text_width, wrapped
from cases.show.study_sheet import open_study_sheet, plain_axes
from cases.target.report import told
from cases.target.search import Found, Judged
from cases.target.unknowns import Unknown

WIDTH = 8.6
LONGEST = 2.9
"""Inches for the names of wishes, which are broken where they are longer."""
MOST_DRAWN = 4
MARKERS = ("o", "s", "^", "D")
COLOURS = (FORCE, MOMENT, GREY, INK)
ROW = 0.30
"""Inches for each candidate of a row."""
FARTHEST = 4.0
"""Tolerances that the axis shows at most."""


def drawn(found: Found) -> tuple[Judged, ...]:
    """The candidates that are drawn: the best few."""
    return found.candidates[:MOST_DRAWN]


def spans(found: Found) -> list[list[tuple[float, float, float]]]:
    """For each wish and drawn candidate: lower end, middle and upper end, in tolerances from what is wanted."""
    out = []
    for k, tolerance in enumerate(found.tolerances):
        row = []
        for judged in drawn(found):
            middle = float(judged.candidate.missed[k])
            wide = float(abs(judged.effects[k]).sum() / tolerance)
            row.append((middle - wide, middle, middle + wide))
        out.append(row)
    return out


def draw_target(found: Found) -> Sheet:
    """Both pictures on one sheet."""
    target, candidates = found.target, drawn(found)
    count = len(candidates)
    between = [(k, one) for k, one in enumerate(target.unknowns) if not one.listed]
    wishes = ["\n".join([*wrapped(one.name, SMALL_SIZE, LONGEST), one.asked]) for one in target.wanted]
    names = ["\n".join(wrapped(one.name, SMALL_SIZE, LONGEST)) for _, one in between]
    left = max(text_width(line, SMALL_SIZE) for name in [*wishes, *names] for line in name.split("\n")) + 0.25
    high, each = (max(least, ROW * count + 0.2) for least in (0.62, 0.52))
    upper, lower = high * len(wishes), each * len(between)
    heights = upper + 0.95 + (lower + 0.35 if between else 0.0)
    notes = [*_about_bars(found), *_listed(found)]
    bad = [] if found.met else ["No candidate meets everything wanted; the nearest is drawn."]
    with style():
        sheet = open_study_sheet(
            target.title, [told(found)[0]] if found.met else [], WIDTH, heights, notes, bad
        )
        room = sheet.room
        top = Area(room.left + left, room.top - 0.3 - upper, room.width - left - 0.2, upper)
        _draw_wishes(plain_axes(sheet, top, "What is wanted"), found, wishes)
        if between:
            bottom = Area(top.left, room.bottom + 0.12, top.width, lower)
            _draw_unknowns(
                plain_axes(sheet, bottom, "Unknowns between their bounds"), candidates, between, names
            )
    return sheet


def _about_bars(found: Found) -> list[str]:
    """What marks and bars are."""
    judged = found.candidates[0]
    if not judged.errors:
        return ["A mark is what the candidate gives."]
    parts = [
        f"{size:.3g} {one.unit.name} of {one.name}"
        for one, size in zip(judged.errors, judged.sizes, strict=True)
    ]
    exact = all(all(one.slopes.exact) for one in drawn(found))
    slopes = "exact derivatives" if exact else "derivatives, not all of them exact"
    return [
        "A mark is what the candidate gives. Its bar is where it may come to with everything that can be off when the "
        f"wire is bent at its worst together: {', '.join(parts)}. Straight extrapolation from {slopes}."
    ]


def _listed(found: Found) -> list[str]:
    """What candidates chose from lists, which has no place on an axis."""
    out = []
    for k, one in enumerate(found.target.unknowns):
        if one.listed:
            chosen = ", ".join(
                f"{one.shown(judged.candidate.values[k])} in candidate {c + 1}"
                for c, judged in enumerate(drawn(found))
            )
            out.append(f"{one.name[:1].upper()}{one.name[1:]}: {chosen}.")
    return out


def _draw_wishes(axes: Axes, found: Found, names: Sequence[str]) -> None:
    rows = spans(found)
    farthest = max((abs(end) for row in rows for span in row for end in span), default=1.0)
    edge = min(max(1.35, 1.12 * farthest), FARTHEST)
    axes.axvspan(-1.0, 1.0, color=PALE, zorder=1.0, gid="tolerance")
    axes.axvline(0.0, color=INK, linewidth=1.0, zorder=2.0)
    for k, row in enumerate(rows):
        for c, (low, middle, high) in enumerate(row):
            place = k + _shift(c, len(row))
            colour = COLOURS[c]
            if len(row) > 1:
                axes.annotate(
                    str(c + 1), (1.01, place), xycoords=("axes fraction", "data"), va="center", fontsize=SMALL_SIZE,
                    color=colour, annotation_clip=False,
                )  # fmt: skip
            axes.plot(
                (max(low, -edge), min(high, edge)), (place, place), color=colour, linewidth=1.6, zorder=3.0,
                solid_capstyle="butt",
            )  # fmt: skip
            for end, arrow in ((low, "<"), (high, ">")):
                beyond = abs(end) > edge
                axes.plot(
                    min(max(end, -edge), edge), place, marker=arrow if beyond else "|", color=colour, markersize=6.0,
                    clip_on=False, zorder=3.5,
                )  # fmt: skip
            if abs(middle) <= edge:
                axes.plot(
                    middle, place, marker=MARKERS[c], color=colour, markersize=7.0, markeredgecolor="white",
                    zorder=4.0, linestyle="none", gid=f"wish {k + 1} candidate {c + 1}",
                )  # fmt: skip
            else:
                axes.annotate(
                    f"{middle:+.3g}", (min(max(middle, -edge), edge), place), (0.0, 7.0), textcoords="offset points",
                    ha="right" if middle > 0.0 else "left", fontsize=SMALL_SIZE, color=BANNER,
                )  # fmt: skip
    axes.set_xlim(-edge, edge)
    axes.set_xlabel("from what is wanted, in tolerances (shaded: within)")
    _rows(axes, names)


def _draw_unknowns(
    axes: Axes, candidates: Sequence[Judged], between: Sequence[tuple[int, Unknown]], names: Sequence[str]
) -> None:
    for row, (k, one) in enumerate(between):
        axes.plot((0.0, 1.0), (row, row), color=PALE, linewidth=5.0, zorder=1.0, solid_capstyle="round")
        for at, value, side in ((0.0, one.least, "left"), (1.0, one.most, "right")):
            axes.annotate(
                one.shown(value), (at, row + 0.42), va="center", ha=side, fontsize=SMALL_SIZE, color=GREY,
            )  # fmt: skip
        for c, judged in enumerate(candidates):
            value = judged.candidate.values[k]
            share = (value - one.least) / (one.most - one.least)
            place = row + (_shift(c, len(candidates)) if len(candidates) > 1 else 0.0)
            axes.plot(
                share, place, marker=MARKERS[c], color=COLOURS[c], markersize=7.0, markeredgecolor="white",
                linestyle="none", zorder=4.0, gid=f"unknown {k + 1} candidate {c + 1}",
            )  # fmt: skip
            right = share < 0.8
            axes.annotate(
                f"{c + 1}: {one.shown(value)}" if len(candidates) > 1 else one.shown(value),
                (share, place), (7.0 if right else -7.0, 0.0), textcoords="offset points", va="center",
                ha="left" if right else "right", fontsize=SMALL_SIZE, color=COLOURS[c],
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4, "alpha": 0.75}, zorder=3.8,
            )  # fmt: skip
    axes.set_xlim(-0.03, 1.03)
    axes.set_xticks([])
    axes.grid(visible=False)
    axes.spines["bottom"].set_visible(False)
    _rows(axes, names)


def _shift(c: int, count: int) -> float:
    """Where a candidate's line lies within a row, which is 1 high."""
    return 0.62 * ((c + 0.5) / count - 0.5)


def _rows(axes: Axes, names: Sequence[str]) -> None:
    """One row for each name, the first at the top."""
    axes.set_yticks(range(len(names)))
    axes.set_yticklabels(names, fontsize=SMALL_SIZE)
    axes.set_ylim(len(names) - 0.5, -0.5)
    axes.tick_params(axis="y", length=0.0)
    axes.spines["left"].set_visible(False)
