"""A wire that comes out of a slot through its front and finds no equilibrium on the way has left it.

A wire slips over a front edge, or out from under a tie, in a jump: while it is half out, an equilibrium need not be
near the last one, nor be found by letting the wire down.  Then slot and tie hold it no more: the wire is let down to
rest from there, and the way goes on without them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fem.advance import Options
from fem.carrying_over import held_by
from fem.equilibrium import Outcome, Problem
from fem.model import SlotWalls
from fem.recovery import Snapshot
from fem.snapping import Rest, let_down


def left_behind(
    problem: Problem, snapshot: Snapshot, leg: int, target: float, options: Options
) -> tuple[int, Rest] | None:
    """The support that the wire leaves, and the wire at rest without it at ``target``; None where it leaves none, or
    comes to rest without any of them.

    ``snapshot``: the last equilibrium.  Of several slots that the wire is coming out of, the one that it has left
    furthest is looked at first; a slot that keeps the wire from sliding never is."""
    supports = problem.model.supports
    active = problem.active or (True,) * len(supports)
    for k in np.argsort(snapshot.inside, kind="stable"):
        walls = supports[k].restraint
        if snapshot.inside[k] >= 1.0 or not active[k]:
            continue
        if not isinstance(walls, SlotWalls) or walls.front == "closed" or walls.stop:
            continue
        others = held_by(problem, tuple(holds and j != k for j, holds in enumerate(active)))
        down = let_down(replace(others, ways=problem.ways), leg, target, options)
        if not isinstance(down, Outcome):
            return int(k), down
    return None
