"""Draws a factor study: force, couple and moment-to-force ratio against the factor, and how far the formula is off.

Each line has its own colour, marker and filling, so that lines are told apart in grey.  The formula is dashed, where
the factor is a name a dash.  Of pure couples, which have no force, rate and play are drawn instead of force and ratio.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from cases.show import labels
from cases.show.palette import BANNER, FORCE, GREY, INK, MOMENT, PALE
from cases.show.sheet import SMALL_SIZE, Area, Sheet, style, text_width
from cases.show.study_sheet import open_study_sheet, plain_axes
from cases.studies.report import answers, name_of, notes, percent, warnings
from cases.studies.run_study import Found, Row, differences

PANEL_WIDTH, PANEL_HEIGHT = 5.65, 3.45
LEGEND_LINE = 0.21
MOST_WRITTEN = 9
"""Differences written beside one line; of some more points first, middle and last, of many every third."""
FORMULA_COLOURS = ("#5b6b8c", "#c2703f")

Value = Callable[[Row], float | None]


@dataclass(frozen=True, slots=True)
class Panel:
    """One quantity against the factor."""

    title: str
    label: str
    ours: Value
    formula: Value
    gram: bool = False
    """Whether it is a force or moment, which the trade also reads in gram-force."""
    mirrored: bool = False
    """Whether a second attachment has the same with the other sign, which is not drawn."""


@dataclass(frozen=True, slots=True)
class Look:
    """How one line is drawn."""

    colour: str
    formula: str
    marker: str
    size: float
    filled: bool
    line: Literal["-", "-."]


def looks(found: Found) -> dict[tuple[str, str], Look]:
    """By series and attachment: colour by series, filling by attachment."""
    series = list(dict.fromkeys(row.series for row in found.rows))
    attachments = list(dict.fromkeys(row.attachment for row in found.rows))
    out = {}
    for key in found.lines:
        i, j = series.index(key[0]) % 2, attachments.index(key[1]) % 2
        marker = (("o", 6.5), ("s", 6.0))[i]
        out[key] = Look((FORCE, MOMENT)[i], FORMULA_COLOURS[i], *marker, j == 0, "-" if j == 0 else "-.")
    return out


def panels(found: Found) -> list[Panel]:
    """The quantities drawn above the difference."""
    couple = Panel(
        "Couple", "couple (N mm)",
        lambda row: row.loads.couple_nmm if row.loads else None,
        lambda row: row.expected.couple_nmm if row.expected else None, gram=True,
    )  # fmt: skip
    if found.torque:
        return [
            couple,
            Panel("Rate: couple per degree of activation", "rate (N mm/deg)",
                  lambda row: row.loads.rate if row.loads else None,
                  lambda row: row.expected.rate if row.expected else None),
            Panel("Play, one-sided, in each bracket", "play (deg)", lambda row: row.play_deg, lambda row: None),
        ]  # fmt: skip
    return [
        Panel("Force on the first attachment" if found.study.signed else "Force", "force (N)",
              lambda row: row.loads.force_n if row.loads else None,
              lambda row: row.expected.force_n if row.expected else None, gram=True, mirrored=found.study.signed),
        couple,
        Panel("Moment-to-force ratio", "couple / force (mm)",
              lambda row: found.moment_to_force(row.loads), lambda row: found.moment_to_force(row.expected)),
    ]  # fmt: skip


def drawn(found: Found, key: tuple[str, str], value: Value) -> tuple[list[float], list[float]]:
    """The points of a line: factor and quantity, not a number where there is none; no point if there is none at all."""
    pairs = [(row.place, value(row)) for row in found.lines[key]]
    if all(number is None for _, number in pairs):
        return [], []
    return [place for place, _ in pairs], [math.nan if number is None else number for _, number in pairs]


def draw_factor(found: Found) -> Sheet:
    """The sheet of a study."""
    study = found.study
    names = [name_of(*key, found) for key in found.lines]
    with_formula = any(row.expected is not None for row in found.rows)
    entries = len(names) + 2
    legend = 0.12 + LEGEND_LINE * -(-entries // 3)
    tall = _tick_height(found)
    with style():
        sheet = open_study_sheet(
            study.question,
            [notes(found)[0], *answers(found)],
            2.0 * PANEL_WIDTH + 0.7,
            2.0 * (PANEL_HEIGHT + tall) + legend,
            notes(found)[1:],
            warnings(found),
        )
        for index, panel in enumerate(panels(found)):
            axes = _axes(sheet, index, panel.title, found, tall)
            axes.set_ylabel(panel.label)
            _draw(axes, found, panel)
            if panel.gram:
                right = axes.secondary_yaxis("right", functions=(labels.to_gf, labels.from_gf))
                right.set_ylabel("(gf)" if panel.label.startswith("force") else "(gf mm)")
                right.spines["right"].set_color(PALE)
        if with_formula:
            _draw_differences(_axes(sheet, 3, _difference_title(found), found, tall), found)
        _legend(sheet, found, names, with_formula)
    return sheet


def _difference_title(found: Found) -> str:
    where = ", first attachment" if found.study.signed else ""
    return f"Difference: ours less formula{where}"


def _tick_height(found: Found) -> float:
    """Inches that turned names need below the axis beyond what numbers need."""
    if found.study.unit:
        return 0.0
    widest = max(text_width(row.label, SMALL_SIZE) for row in found.rows)
    # the axis has no name of its own then, which leaves 0.3
    return 0.0 if _fits(found, widest) else max(0.0, 0.58 * widest - 0.3)


def _fits(found: Found, widest: float) -> bool:
    count = len({row.place for row in found.rows})
    return widest * 1.1 < (PANEL_WIDTH - 1.6) / count


def _axes(sheet: Sheet, index: int, title: str, found: Found, tall: float) -> Axes:
    room = sheet.room
    height = PANEL_HEIGHT + tall
    left = room.left + (index % 2) * room.width / 2.0 + 0.78
    bottom = room.top - (index // 2 + 1) * height + 0.62 + tall
    axes = plain_axes(sheet, Area(left, bottom, room.width / 2.0 - 1.65, PANEL_HEIGHT - 1.05), title)
    study = found.study
    if study.unit:
        axes.set_xlabel(f"{study.factor} ({study.unit})")
        places = [row.place for row in found.rows]
        side = 0.05 * (max(places) - min(places)) or 1.0
        axes.set_xlim(min(places) - side, max(places) + side)
    else:
        named = {row.place: row.label for row in found.rows}
        turned = not _fits(found, max(text_width(text, SMALL_SIZE) for text in named.values()))
        axes.set_xticks(
            list(named), list(named.values()), fontsize=SMALL_SIZE, rotation=35 if turned else 0,
            ha="right" if turned else "center", rotation_mode="anchor",
        )  # fmt: skip
        axes.set_xlim(min(named) - 0.5, max(named) + 0.5)
    return axes


def _draw(axes: Axes, found: Found, panel: Panel) -> None:
    study = found.study
    told: list[tuple[list[float], list[float]]] = []
    values: list[float] = []
    for key, look in looks(found).items():
        if panel.mirrored and not look.filled:
            continue
        x, y = drawn(found, key, panel.formula)
        if x and (x, y) not in told:
            told.append((x, y))
            _formula_line(axes, x, y, look, bool(study.unit))
        values += [value for value in y if not math.isnan(value)]
    for key, look in looks(found).items():
        if panel.mirrored and not look.filled:
            continue
        x, y = drawn(found, key, panel.ours)
        values += [value for value in y if not math.isnan(value)]
        axes.plot(
            x, y, color=look.colour, linewidth=1.7 if study.unit else 0.0, linestyle=look.line, marker=look.marker,
            markersize=look.size, markerfacecolor=look.colour if look.filled else "white", markeredgecolor=look.colour,
            markeredgewidth=1.4, zorder=4.0, gid=f"ours {key[0]} {key[1]}",
        )  # fmt: skip
        if panel.gram:
            values += _ranges(axes, found.lines[key], panel, look)
        bad = [row for row in found.lines[key] if row.loads is not None and not row.sound]
        points = [(row.place, panel.ours(row)) for row in bad if panel.ours(row) is not None]
        axes.plot(
            [p for p, _ in points], [float(v) for _, v in points if v is not None], linestyle="none", marker="x",
            markersize=12.0, markeredgewidth=2.2, color=BANNER, zorder=6.0, gid="unsound",
        )  # fmt: skip
    if not values:
        axes.text(0.5, 0.5, "none: no force", transform=axes.transAxes, ha="center", color=GREY)
    elif min(values) >= 0.0:
        top = max(values)
        axes.set_ylim(0.0, 1.12 * top if top > 0.0 else 1.0)
    else:
        axes.axhline(0.0, color=GREY, linewidth=0.8, zorder=1.0)


def _ranges(axes: Axes, rows: Sequence[Row], panel: Panel, look: Look) -> list[float]:
    """Upright lines over the ranges of alloys; gives their ends."""
    out = []
    for row in rows:
        value = panel.ours(row)
        if row.spread is None or value is None:
            continue
        ends = [share * value for share in row.spread]
        axes.plot(
            [row.place] * 2, ends, color=look.colour, linewidth=5.0, alpha=0.35, zorder=2.5,
            solid_capstyle="butt", gid="range of the alloy",
        )  # fmt: skip
        out += ends
    return out


def _formula_line(axes: Axes, x: Sequence[float], y: Sequence[float], look: Look, joined: bool) -> None:
    if joined:
        axes.plot(x, y, color=look.formula, linewidth=1.6, dashes=(5, 2.2), zorder=5.0, gid="formula")
        return
    axes.plot(
        x,
        y,
        color=INK,
        linestyle="none",
        marker="_",
        markersize=22.0,
        markeredgewidth=1.6,
        zorder=3.0,
        gid="formula",
    )


def _draw_differences(axes: Axes, found: Found) -> None:
    """Of the couple, full, with its numbers; of the force, dotted with small marks."""
    axes.set_ylabel(f"difference ({'% of the largest' if found.study.signed else '%'})")
    axes.axhline(0.0, color=GREY, linewidth=0.8, zorder=1.0)
    spread = [value for row in found.rows for value in differences(found, row) if value is not None]
    most = max((abs(value) for value in spread), default=0.0)
    axes.margins(y=0.16)
    if most < 0.05:
        axes.set_ylim(-1.0, 1.0)
    told = [(key, look) for key, look in looks(found).items() if look.filled]
    written: list[tuple[list[tuple[float, float]], str]] = []
    for key, look in told:
        for k, (line, width, size) in enumerate(((":", 1.3, 0.55), ("-", 1.7, 1.0))):
            pairs = [(row.place, differences(found, row)[k]) for row in found.lines[key]]
            known = [(place, value) for place, value in pairs if value is not None]
            if not known:
                continue
            axes.plot(
                [p for p, _ in known], [v for _, v in known], color=look.colour, linestyle=line,
                linewidth=width if found.study.unit else 0.0, marker=look.marker, markersize=size * look.size,
                markerfacecolor=look.colour if look.filled else "white", markeredgecolor=look.colour, zorder=4.0,
                gid=f"difference of {'couple' if k else 'force'} {key[0]} {key[1]}",
            )  # fmt: skip
            if k == 1:
                written.append((known, look.colour))
    for number, (points, colour) in enumerate(written):  # once the limits of the axis are known
        _write(axes, points, above=number % 2 == 0, colour=colour)


def _write(axes: Axes, points: Sequence[tuple[float, float]], above: bool, colour: str) -> None:
    count = len(points)
    every = 1 if count <= MOST_WRITTEN else 3 if count > 2 * MOST_WRITTEN - 6 else (count - 1) // 2
    low, high = axes.get_ylim()
    steep = (points[-1][1] - points[0][1]) / (high - low)
    # a label stands on the side of a steep line that the line leaves free
    right = (steep > 0.25) != above
    aside = "center" if abs(steep) <= 0.25 else "left" if right else "right"
    shift = {"left": 6.0, "right": -6.0, "center": 0.0}[aside]
    drop = 7.0 if aside == "center" else 3.0
    for place, value in points[::-1][::every]:
        axes.annotate(
            percent(value).replace("-", "\N{MINUS SIGN}"), (place, value), (shift, drop if above else -drop),
            textcoords="offset points", ha=aside, va="bottom" if above else "top", fontsize=SMALL_SIZE,
            color=colour, zorder=8.0, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.8},
        )  # fmt: skip


def _legend(sheet: Sheet, found: Found, names: Sequence[str], with_formula: bool) -> None:
    handles = [
        Line2D([], [], color=look.colour, linestyle=look.line if found.study.unit else "none", marker=look.marker,
               markersize=look.size, markerfacecolor=look.colour if look.filled else "white", markeredgewidth=1.4,
               linewidth=1.7, label=name)
        for look, name in zip(looks(found).values(), names, strict=True)
    ]  # fmt: skip
    if with_formula:
        joined = bool(found.study.unit)
        handles.append(
            Line2D([], [], color=INK, linewidth=1.6, dashes=(5, 2.2), label="small-deflection formula") if joined else
            Line2D([], [], color=INK, linestyle="none", marker="_", markersize=18.0, markeredgewidth=1.6,
                   label="small-deflection formula")
        )  # fmt: skip
        if not found.torque:
            handles.append(
                Line2D([], [], color=INK, linestyle=":" if joined else "none", marker="o", markersize=3.5,
                       label="difference: small marks of the force, large of the couple")
            )  # fmt: skip
    sheet.figure.legend(
        handles=handles, loc="lower left", frameon=False, fontsize=SMALL_SIZE, ncols=3, borderaxespad=0.0,
        borderpad=0.0, handlelength=4.0, labelcolor=INK,
        bbox_to_anchor=(sheet.room.left / sheet.width, (sheet.room.bottom + 0.04) / sheet.height),
    )  # fmt: skip
