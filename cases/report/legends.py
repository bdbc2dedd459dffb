"""Legends under pictures: measured, so that what is drawn above knows how much room is left."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TypeVar

from matplotlib.artist import Artist
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from cases.show.palette import INK
from cases.show.sheet import SMALL_SIZE, Sheet, text_width, wrapped

Entry = Line2D | Patch
AnyArtist = TypeVar("AnyArtist", bound=Artist)

LEGEND_ROW = 0.2
"""Inches of height that a row of a legend takes."""
INDENT = 0.1
"""Inches: a legend under axes begins so far from the edge."""
HANDLE, PAD, COLUMNS = 3.2, 0.8, 1.6
"""Of a legend, in the size of its text: length of a mark, distance to its text, distance of columns."""
MARK, BETWEEN = (HANDLE + PAD) * SMALL_SIZE / 72.0, COLUMNS * SMALL_SIZE / 72.0
NOTHING_MORE: Mapping[str, str] = {}


def write_legend(sheet: Sheet, handles: Sequence[Artist], across: int, left: float, top: float) -> None:
    """What lines and marks mean, ``across`` of them beside each other, from ``left`` and down from ``top`` (inches)."""
    sheet.figure.legend(
        handles=list(handles), loc="upper left", ncols=across, frameon=False, fontsize=SMALL_SIZE, labelcolor=INK,
        borderaxespad=0.0, borderpad=0.0, columnspacing=COLUMNS, handlelength=HANDLE, handletextpad=PAD,
        bbox_to_anchor=(left / sheet.width, top / sheet.height),
    )  # fmt: skip


def write_flow(sheet: Sheet, handles: Sequence[Artist], left: float, top: float, width: float) -> None:
    """The same in rows of as many entries as ``width`` inches hold; longer names are broken between words."""
    for row in flow(handles, width):
        write_legend(sheet, row, len(row), left, top)
        top -= LEGEND_ROW * _lines(row)


def flow_rows(handles: Sequence[Artist], width: float) -> int:
    """How many rows of text that takes."""
    return sum(map(_lines, flow(handles, width)))


def flow(handles: Sequence[Artist], width: float) -> list[list[Artist]]:
    """The entries of a legend row by row; their names are broken where they must be."""
    rows: list[list[Artist]] = []
    used = 0.0
    for one in handles:
        lines = wrapped(str(one.get_label()), SMALL_SIZE, width - MARK)
        one.set_label("\n".join(lines))
        wide = MARK + max(text_width(line, SMALL_SIZE) for line in lines) + BETWEEN
        if not rows or used + wide - BETWEEN > width:
            rows.append([])
            used = 0.0
        rows[-1].append(one)
        used += wide
    return rows


def _lines(row: Sequence[Artist]) -> int:
    return max(str(one.get_label()).count("\n") + 1 for one in row)


def with_more(handles: Iterable[AnyArtist], more: Mapping[str, str]) -> tuple[AnyArtist, ...]:
    """Entries of a legend with something said behind their names."""
    entries = tuple(handles)
    for one in entries:
        name = str(one.get_label())
        if name in more:
            one.set_label(f"{name}: {more[name]}")
    return entries
