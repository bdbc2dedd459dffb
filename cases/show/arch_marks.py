"""Places for the arrows round an arch, where attachments are near each other in the picture: numbers only, no drawing.

A straight arrow keeps its direction and length and may begin further from its attachment; a round one keeps its axis
through the attachment's centre and its turn and may stand elsewhere about and along it, on the facial side where it
can.  Each takes, in turn, the place where
it covers least of the wire, of the attachments and of the arrows before it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from cases.results import RunResult
from cases.show import shapes
from cases.show.marks import Mark

Array = NDArray[np.float64]

LONGEST_ARROW = 0.13
"""Of the appliance's extent: shorter than on a straight row, since round an arch arrows run towards each other."""
# Steps in which arrows move, and how near to something drawn an arrow counts as covering it: shares of the extent.
STEP, NEAR = 0.018, 0.013
FURTHER, ASIDE = 4, 4
# Costs, in drawn points covered.
STEP_COST, ASIDE_COST, WIDER_COST, LINGUAL_COST, END_ON_COST, HIDDEN_COST = 0.4, 1.0, 8.0, 2.0, 9.0, 14.0
ALONG_COST = 5.0
ALONG = (0.0, 0.35, -0.35, 0.7, -0.7, 1.05, -1.05)
"""Shifts of a round arrow along its axis, and ``WIDER`` its radii, in shares of its least radius."""
WIDER = (1.0, 1.25, 1.55)
_POINTS = 24
# Corners of a block that share an edge with its first one.
_BESIDE = (1, 2, 4)


@dataclass(frozen=True, slots=True)
class Choice:
    """A place an arrow may take."""

    cost: float
    points: Array
    """(k, 3), mm: along the arrow."""
    mark: Mark


def arranged(marks: Sequence[Mark], result: RunResult, extent: float, axes: Array) -> list[Mark]:
    """The same ``marks`` with their arrows moved apart, for a viewer with these ``axes`` (3, 3); ``extent`` in mm."""
    drawn = [result.positions_mm @ axes[:, :2], *(solid(mark.reach) @ axes[:, :2] for mark in marks)]
    out = list(marks)

    def take_best(index: int, choices: Sequence[Choice]) -> None:
        if not choices:
            return
        lines = np.array([choice.points for choice in choices]) @ axes[:, :2]
        hidden = covered(lines, np.concatenate(drawn), NEAR * extent)
        best = int(np.argmin(hidden + np.array([choice.cost for choice in choices])))
        drawn.append(lines[best])
        out[index] = choices[best].mark

    # The largest first: they have the least choice.
    for i in sorted(range(len(out)), key=lambda k: -out[k].force):
        take_best(i, list(_straight(out[i], extent, axes)))
    for i in sorted(range(len(out)), key=lambda k: -out[k].moment):
        take_best(i, list(_round(out[i], axes)))
    return out


def covered(lines: Array, drawn: Array, near: float) -> Array:
    """How many points of each of the ``lines`` (c, k, 2) lie less than ``near`` from any of those ``drawn``, (n, 2)."""
    distance, _ = cKDTree(drawn).query(lines.reshape(-1, 2), distance_upper_bound=near)
    return np.asarray(np.isfinite(distance).reshape(lines.shape[:2]).sum(axis=1))


def solid(corners: Array) -> Array:
    """Points (k, 3) that fill the block with these ``corners`` (8, 3), in the order of ``marks.body_corners``."""
    middle = corners.mean(axis=0)
    sides = [corners[far] - corners[0] for far in _BESIDE]
    share = np.linspace(-0.5, 0.5, 7)
    grid = np.array(np.meshgrid(share, share, share)).reshape(3, -1).T
    return np.asarray(middle + grid @ np.array(sides))


def _straight(mark: Mark, extent: float, axes: Array) -> Iterator[Choice]:
    if mark.arrow is None:
        return
    towards = mark.arrow / np.linalg.norm(mark.arrow)
    across = np.cross(axes[:, 2], towards)
    across = axes[:, 0] if np.linalg.norm(across) < 0.1 else across / np.linalg.norm(across)
    shares = np.linspace(0.0, 1.0, _POINTS)[:, None]
    for further in range(FURTHER + 1):
        for aside in range(-ASIDE, ASIDE + 1):
            start = mark.start + STEP * extent * (further * towards + aside * across)
            cost = STEP_COST * further + ASIDE_COST * abs(aside)
            yield Choice(cost, start + shares * mark.arrow, replace(mark, start=start))


def _round(mark: Mark, axes: Array) -> Iterator[Choice]:
    if mark.arc is None:
        return
    axis = np.asarray(mark.attachment.moment_nmm) / mark.moment
    own = mark.arc - mark.centre
    radius = float(np.linalg.norm(own[0]))
    sweep = float(np.arccos(np.clip(own[0] @ own[-1] / radius**2, -1.0, 1.0)))
    u = own[0] / radius
    v = np.cross(axis, u)
    facial = mark.attachment.pose.axes[:, 2]
    for wider, along, turn in product(WIDER, ALONG, np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)):
        middle = np.cos(turn) * u + np.sin(turn) * v
        points = shapes.arc_points(mark.centre + along * radius * axis, axis, middle, wider * radius, sweep)
        head = points[-1] - points[-2]
        seen = float(np.linalg.norm(head @ axes[:, :2]) / np.linalg.norm(head))
        behind = max(float((mark.centre - points[-1]) @ axes[:, 2]) / radius - 0.4, 0.0)
        cost = (
            WIDER_COST * (wider - 1.0)
            + ALONG_COST * abs(along)
            + LINGUAL_COST * (1.0 - float(middle @ facial))
        )
        cost += END_ON_COST * (1.0 - seen) + HIDDEN_COST * behind
        even = np.linspace(0, len(points) - 1, _POINTS).round().astype(int)
        yield Choice(cost, points[even], replace(mark, arc=points))
