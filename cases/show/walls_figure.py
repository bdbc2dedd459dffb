"""Opening of slots along their walls, where these give way: one small picture a slot, all at one scale.

Upper wall and front open upwards, lower wall and floor downwards, each by what it gives at the edges of the wire that
press on it; so what lies between two walls is how far the slot has opened there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from cases.results import AttachmentResult, RunResult
from cases.show import labels
from cases.show.palette import FORCE, GREY, INK, MOMENT, PALE
from cases.show.sheet import SMALL_SIZE, TEXT_SIZE, wrapped
from cases.show.tables import Table
from geometry.attachments import FLOOR, LOWER_WALL, OUTER_WALL, UPPER_WALL

UM_PER_MM = 1000.0
Y_LABEL = "give of the walls (µm)"
X_LABEL = "place along the slot (mm)"
# Which way a wall opens in the picture, its colour, its mark, and whether that is filled.
LOOKS = {
    UPPER_WALL: (1.0, FORCE, "^", True),
    LOWER_WALL: (-1.0, MOMENT, "v", True),
    OUTER_WALL: (1.0, GREY, "s", False),
    FLOOR: (-1.0, INK, "o", False),
}


@dataclass(frozen=True, slots=True)
class Opening:
    """What one wall gives at one place of its slot."""

    wall: str
    offset_mm: float
    """From the slot's centre, towards +x."""
    give_mm: float
    """The larger of both edges of the wire that press there."""
    normal_force_n: float
    """Of both edges together."""


def openings(item: AttachmentResult) -> tuple[Opening, ...]:
    """Wall by wall and along the slot; only walls, not ligatures, and only where they give way."""
    found: dict[tuple[str, float], list[tuple[float, float]]] = {}
    for contact in item.contacts:
        if contact.wall in LOOKS and contact.give_mm > 0.0:
            found.setdefault((contact.wall, contact.offset_mm), []).append(
                (contact.give_mm, contact.normal_force_n)
            )
    walls = list(LOOKS)
    return tuple(
        Opening(wall, offset, max(give for give, _ in edges), math.fsum(force for _, force in edges))
        for (wall, offset), edges in sorted(
            found.items(), key=lambda one: (walls.index(one[0][0]), one[0][1])
        )
    )


def opened(result: RunResult) -> tuple[AttachmentResult, ...]:
    """Attachments of which a wall gives way."""
    return tuple(item for item in result.attachments if openings(item))


def largest(items: Sequence[AttachmentResult]) -> float:
    """Micrometres that any wall of any slot gives."""
    return max(UM_PER_MM * one.give_mm for item in items for one in openings(item))


def draw_opening(axes: Axes, item: AttachmentResult, most: float, first: bool) -> None:
    """One slot: every pressed place of a wall as a stem; ``most`` (micrometres) is the scale of all, and the ``first``
    has its numbers."""
    assert item.slot_size_mm is not None
    half = 0.5 * item.slot_size_mm[2]
    width = axes.get_position().width * axes.get_figure(root=True).get_size_inches()[0]  # type: ignore[union-attr]
    axes.set_title(
        "\n".join(wrapped(labels.name_text(item), SMALL_SIZE, width, bold=True)), fontsize=SMALL_SIZE, weight="bold",
        loc="left",
    )  # fmt: skip
    for wall, (way, colour, mark, filled) in LOOKS.items():
        here = [one for one in openings(item) if one.wall == wall]
        x, y = [one.offset_mm for one in here], [way * UM_PER_MM * one.give_mm for one in here]
        if not here:
            continue
        axes.vlines(x, 0.0, y, color=colour, linewidth=2.0 if filled else 1.0, zorder=2.0)
        axes.plot(
            x, y, color=colour, linestyle="none", marker=mark, markersize=6.0, markeredgewidth=1.3, zorder=3.0,
            markerfacecolor=colour if filled else "white", clip_on=False, gid=wall,
        )  # fmt: skip
    for mouth in (-half, half):
        axes.axvline(mouth, color=GREY, linewidth=0.9, dashes=(4, 3), zorder=1.5, gid="mouth")
    axes.axhline(0.0, color=INK, linewidth=1.0, zorder=1.8)
    axes.set_xlim(-1.12 * half, 1.12 * half)
    axes.set_ylim(-1.12 * most, 1.12 * most)
    axes.yaxis.set_major_formatter(lambda value, _: f"{abs(value):g}")
    axes.tick_params(labelleft=first, labelsize=TEXT_SIZE)
    axes.grid(color=PALE, linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.set_xlabel(X_LABEL, fontsize=TEXT_SIZE)
    if first:
        axes.set_ylabel(Y_LABEL, fontsize=TEXT_SIZE)


def legend_handles(items: Sequence[AttachmentResult]) -> list[Line2D]:
    """Walls that give way, and the mouths."""
    there = {one.wall for item in items for one in openings(item)}
    out = [
        Line2D([], [], color=colour, linestyle="none", marker=mark, markersize=6.0, markeredgewidth=1.3,
               markerfacecolor=colour if filled else "white", label=f"{wall}, {'up' if way > 0.0 else 'down'}")
        for wall, (way, colour, mark, filled) in LOOKS.items() if wall in there
    ]  # fmt: skip
    return [*out, Line2D([], [], color=GREY, linewidth=0.9, dashes=(4, 3), label="mouths of the slot")]


def walls_words(items: Sequence[AttachmentResult]) -> str:
    """What the picture shows, for who cannot see it."""
    parts = []
    for item in items:
        said = []
        for wall in LOOKS:
            here = [one for one in openings(item) if one.wall == wall]
            if here:
                worst = max(here, key=lambda one: one.give_mm)
                said.append(
                    f"{wall} gives up to {UM_PER_MM * worst.give_mm:.3g} µm, at {worst.offset_mm:+.2f} mm from the "
                    f"centre, under {math.fsum(one.normal_force_n for one in here):.3g} N in all"
                )
        parts.append(f"{labels.name_text(item)}: {'; '.join(said)}")
    return f"Opening of the slots along their walls. {'. '.join(parts)}."


def walls_table(items: Sequence[AttachmentResult]) -> Table:
    """Every plotted value."""
    rows = [
        (item.name, one.wall, one.offset_mm, UM_PER_MM * one.give_mm, one.normal_force_n)
        for item in items
        for one in openings(item)
    ]
    return Table(("slot", "wall", "offset_mm", "give_um", "normal_force_n"), tuple(rows))
