"""Texts of a scene that stand at places of the appliance, for a window or a page that turns it.  Numbers only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.show import labels
from cases.show.marks import Mark
from cases.show.palette import FORCE, INK, MOMENT, PRESSING
from cases.show.parts import Pressed

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Anchored:
    """A text and the place it belongs to."""

    kind: str
    """"name", "force", "moment" or "pressing"."""
    text: str
    place: Array
    """(3,) mm."""
    away: Array
    """(3,): towards where it stands best from its place; no length where that does not matter."""
    clear: float
    """mm round its place that it keeps off."""
    colour: str


def anchored_texts(marks: Sequence[Mark], pressed: Sequence[Pressed], near: bool) -> list[Anchored]:
    """Name, force and moment of every attachment, and from ``near`` the force of every wall that presses."""
    brief = len(marks) > labels.MANY
    out = []
    for mark in marks:
        if mark.arrow is not None:
            place, away = _beside(mark.start, mark.arrow, mark.centre)
            out.append(Anchored("force", labels.force_text(mark.force, brief), place, away, 0.0, FORCE))
        if mark.arc is not None:
            text, middle = labels.moment_text(mark.moment, brief), mark.arc[len(mark.arc) // 2]
            out.append(Anchored("moment", text, middle, middle - mark.centre, 0.0, MOMENT))
    for mark, short in zip(marks, labels.short_names([mark.attachment for mark in marks]), strict=True):
        text = labels.mark_text(mark.attachment, mark.arrow is None, mark.arc is None, brief)
        reach = 0.5 * float(np.linalg.norm(np.ptp(mark.reach, axis=0)))
        out.append(
            Anchored(
                "name",
                short if brief else text,
                mark.centre,
                -mark.attachment.pose.axes[:, 1],
                0.6 * reach,
                INK,
            )
        )
    if near:
        for one in pressed:
            text = f"{one.zone.wall} {labels.force_text(one.zone.force_n, brief=True)}"
            out.append(Anchored("pressing", text, one.middle, one.middle - marks[0].centre, 0.0, PRESSING[1]))
    return out


def _beside(start: Array, arrow: Array, centre: Array) -> tuple[Array, Array]:
    """Where the text of a straight arrow stands best, and on which side: over the middle of one that runs beside its
    attachment, else beyond its tip."""
    middle = start + 0.5 * arrow
    off = middle - centre
    along = arrow / np.linalg.norm(arrow)
    aside = off - (off @ along) * along
    if np.linalg.norm(aside) > 0.4 * np.linalg.norm(off):
        return middle, aside
    return start + arrow, arrow
