"""Draws the rows of a study one by one: the answer against each of the keys that go with it most."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cases.show.palette import FORCE, INK
from cases.show.sheet import SMALL_SIZE, Area, Sheet, style, wrapped
from cases.show.study_sheet import open_study_sheet, plain_axes
from cases.study.names import Varied
from cases.study.solve import GOOD
from cases.study.summary import Spread, Summary

Array = NDArray[np.float64]

WIDTH = 8.6
PANEL = 2.35
MOST_PANELS = 4
MOST_DOTS = 3000
"""More rows than these are thinned evenly: a cloud of more is a blot."""


def strongest(spread: Spread) -> list[str]:
    """The keys drawn, the one whose rank correlation is largest first."""
    return sorted(spread.ranks, key=lambda name: -abs(spread.ranks[name]))[:MOST_PANELS]


def dots(summary: Summary, one: Varied) -> tuple[Array, Array]:
    """The values (n,) of a key, and of the answer (n,), in the counted rows of the point where it spreads most."""
    point = summary.telling
    own = slice(point.rows.start, point.rows.stop, point.rows.step)
    answer = summary.rows.outputs[own, summary.answer]
    there = np.isfinite(answer) & np.array([status in GOOD for status in summary.rows.status[own]])
    place = summary.study.varied.index(one)
    values = np.array([row[place] for row in summary.rows.inputs[own]], dtype=np.float64)
    return values[there], answer[there]


def draw_scatter(summary: Summary, under: str, said: str) -> Sheet:
    """A panel for each of the strongest keys, side by side in rows of two, all with the same axis of the answer."""
    spread = summary.telling.outputs[summary.answer]
    assert spread is not None
    names = strongest(spread)
    keys = {one.name: one for one in summary.study.sampled}
    lines = -(-len(names) // 2)
    count = spread.count
    step = -(-count // MOST_DOTS)
    thinned = f" Every {step}th row is drawn." if step > 1 else ""
    note = (
        "Each dot is one appliance. rho: Spearman's rank correlation of key and answer over all counted rows; 1 where "
        "the answer always rises with the key, \N{MINUS SIGN}1 where it always falls, 0 where the two have nothing to "
        f"do with each other.{thinned}"
    )
    with style():
        sheet = open_study_sheet(
            summary.study.title, [under], WIDTH, PANEL * lines, [note], [said] if said else []
        )
        room = sheet.room
        for number, name in enumerate(names):
            row, column = divmod(number, 2)
            left = room.left + 0.62 + column * 0.5 * room.width
            bottom = room.bottom + 0.55 + (lines - 1 - row) * PANEL
            area = Area(left, bottom, 0.5 * room.width - 0.8, PANEL - 0.95)
            values, answer = dots(summary, keys[name])
            axes = plain_axes(sheet, area, f"rho {spread.ranks[name]:+.2f}".replace("-", "\N{MINUS SIGN}"))
            axes.plot(
                values[::step], answer[::step], linestyle="none", marker="o", markersize=2.6, color=FORCE,
                alpha=max(0.15, min(0.7, 120.0 / count)), markeredgewidth=0.0, gid=f"dots {name}",
            )  # fmt: skip
            unit = keys[name].unit.name
            label = name if unit is None else f"{name} ({unit})"
            axes.set_xlabel("\n".join(wrapped(label, SMALL_SIZE, area.width)), fontsize=SMALL_SIZE, color=INK)
            axes.tick_params(labelsize=SMALL_SIZE)
            axes.locator_params(axis="x", nbins=4)
            axes.margins(0.04)
    return sheet
