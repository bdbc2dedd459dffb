"""Wires joined to each other: a shared load, springs in series, a hook that slides on a rail."""

from __future__ import annotations

from functools import cache

import numpy as np

from cases.verify import sources
from cases.verify.models import THIN, cantilever, engaged, slender, straight
from cases.verify.rows import Check
from fem.model import Clamp, Model, Support
from fem.section_law import LinearSection
from fem.together import Joined, together
from geometry.pose import Pose

NOTHING = np.zeros(6)
# Of the length, or of EI/L^2: so small that what the wires shorten by bending does not strain them along the tie.
SMALL = 1e-5
LONGER, STIFFER = 1.5, 4.0
"""Of the second cantilever: how much longer, and how much stiffer in bending."""


def checks() -> tuple[Check, ...]:
    """All of them."""
    return (
        Check(
            "two cantilevers tied at their ends: share of a load that the second takes", "closed form",
            sources.GERE, STIFFER / LONGER**3 / (1.0 + STIFFER / LONGER**3), 1e-3, "", shared,
        ),
        Check(
            "overlay on a sinking foot, tied to a base wire: force over EI/L^2 for each L of its way", "closed form",
            sources.GERE, 3.0 / (1.0 + LONGER**3 / STIFFER), 2e-3, "", in_series,
        ),
        Check(
            "hook of a cantilever on a frictionless rail, raised by 0.71379 L: force over EI/L^2", "benchmark",
            sources.MATTIASSON, 5.0, 1e-3, "", lambda: hooked(0.71379),
        ),
    )  # fmt: skip


def _other(law: LinearSection, length: float, start: Pose, end: Pose) -> Model:
    """A second wire, clamped at its start, which goes from ``start`` to ``end``."""
    nodes = np.linspace(0.0, length, 21)
    return Model(straight(length), start, nodes, THIN, law, (Support(Clamp(), 0.0, start, end),))


@cache
def shared() -> float:
    """Load on the first cantilever's end; what the clamp of the second bears of it."""
    first = cantilever(slender(1.0), [0.0, SMALL, 0.0, 0.0, 0.0, 0.0])
    # clamped further back, so that both end at one point
    back = Pose(np.array([1.0 - LONGER, 0.0, 0.0]), np.eye(3))
    second = _other(slender(LONGER, STIFFER), LONGER, back, back)
    path = engaged(together([first, second], [Joined((0, 1.0), (1, LONGER))]), 1)
    return float(path.last.snapshot.force[1, 1]) / SMALL


@cache
def in_series() -> float:
    """The foot of the overlay sinks; both wires give way."""
    base = _other(
        slender(LONGER, STIFFER),
        LONGER,
        Pose(np.array([1.0 - LONGER, 0.0, 0.0]), np.eye(3)),
        Pose(np.array([1.0 - LONGER, 0.0, 0.0]), np.eye(3)),
    )
    sunk = Pose(np.array([0.0, -SMALL, 0.0]), np.eye(3))
    overlay = _other(slender(1.0), 1.0, Pose.identity(), sunk)
    path = engaged(together([base, overlay], [Joined((1, 1.0), (0, LONGER))]), 1)
    return -float(path.last.snapshot.force[2, 1]) / SMALL


@cache
def hooked(height: float) -> float:
    """A level rail, a million times as stiff, at ``height`` over a level cantilever: the hook's force is upright, as a
    dead load is, however far it slides."""
    start = Pose(np.array([0.0, height, 0.0]), np.eye(3))
    poses = [(arc, Pose(np.array([arc, height, 0.0]), np.eye(3))) for arc in (0.0, 1.2)]
    ends = [Support(Clamp(), arc, pose, pose) for arc, pose in poses]
    rail = Model(straight(1.2), start, np.linspace(0.0, 1.2, 25), THIN, slender(1.0, 1e6, 1e6), tuple(ends))
    wire = cantilever(slender(1.0), NOTHING)
    path = engaged(together([rail, wire], [Joined((1, 1.0), (0, 1.0), slides=True)]))
    return -float(path.last.snapshot.force[-1, 1])
