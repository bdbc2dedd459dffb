"""A wire that comes out of a slot through its front leaves it, and the way goes on without it.

An open slot that the wire lies in front of along all its length, and that bears something all the same, is left at
once: a stop or a roll hold, a crimp against the slot, has nothing to bear on any more.  Where the wire is kept from
sliding by nothing else, it comes to rest where the bends and couples at its other slots push it no further, be it
wholly out of them; or not at all, which the status says.

A wire that is half out slips over the front edge, or out from under a tie, in a jump: then an equilibrium need not be
near the last one, nor be found by letting the wire down.  Slot and tie then hold it no more: the wire is let down to
rest without them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fem.advance import Options
from fem.carrying_over import held_by
from fem.equilibrium import Outcome, Problem, stored_energy
from fem.model import Clamp, Joint, Model, PointTie, SlotWalls, Support
from fem.recovery import Snapshot
from fem.snapping import Rest, let_down
from fem.status import Status

Array = NDArray[np.float64]


def past_front(supports: Sequence[Support], snapshot: Snapshot) -> Array:
    """How far (k, 2) the wire's middle lies past the front at the two mouths of every slot, mm; below zero: inside.

    nan where no wire is, the slot is closed, or there is none."""
    out = np.full((len(supports), 2), np.nan)
    for k, support in enumerate(supports):
        walls = support.restraint
        if isinstance(walls, SlotWalls) and walls.front != "closed":
            node = snapshot.mouth_nodes[k]
            away = snapshot.positions[node] - snapshot.support_position[k]
            out[k] = np.where(node >= 0, away @ snapshot.support_axes[k][:, 2] - 0.5 * walls.depth, np.nan)
    return out


def coming_out(supports: Sequence[Support], snapshot: Snapshot) -> list[int]:
    """The slots that the wire is coming out of, the one that it has left furthest first: those past whose front its
    middle lies at a mouth."""
    past = past_front(supports, snapshot)
    out = np.flatnonzero((np.nan_to_num(past, nan=-1.0) > 0.0).any(axis=1))
    furthest = -np.nanmean(past[out], axis=1)
    return [int(k) for k in out[np.argsort(furthest, kind="stable")]]


def wholly_out(problem: Problem, snapshot: Snapshot) -> tuple[int, ...]:
    """The open slots that bear something though the wire lies in front of them along all their length.

    One that bears nothing may have it back: where a wire floats in its play says little, and it may float out."""
    return tuple(
        k
        for k, support in enumerate(problem.model.supports)
        if _holds(problem, k)
        and snapshot.inside[k] == 0.0
        and (snapshot.force[k].any() or snapshot.moment[k].any())
        and isinstance(support.restraint, SlotWalls)
        and support.restraint.front == "open"
        and (snapshot.mouth_nodes[k] >= 0).any()
    )


def without(
    problem: Problem, gone: Sequence[int], leg: int, target: float, options: Options
) -> Rest | Outcome:
    """The wire let down to rest at ``target``, from where it was with the supports that are ``gone``, without these; or
    how that failed."""
    energy = stored_energy(problem, target, target if leg == 0 else 1.0)
    return let_down(_others(problem, gone), leg, target, options, start=energy)


def left_behind(
    problem: Problem, snapshot: Snapshot, leg: int, target: float, options: Options
) -> tuple[tuple[int, ...], Rest] | None:
    """The supports that the wire leaves, and the wire at rest without them at ``target``; None where it leaves none, or
    comes to rest without any of them.

    ``snapshot``: the last equilibrium.  Of several slots that the wire is coming out of, the one that it has left
    furthest is looked at first; then, where it wedges in several, the furthest together."""
    out = [k for k in coming_out(problem.model.supports, snapshot) if _holds(problem, k)]
    energy = stored_energy(problem, target, target if leg == 0 else 1.0)
    for gone in (*((k,) for k in out), *(tuple(out[:n]) for n in range(2, len(out) + 1))):
        down = let_down(_others(problem, gone), leg, target, options, start=energy)
        if not isinstance(down, Outcome):
            return gone, down
    return None


def _others(problem: Problem, gone: Sequence[int]) -> Problem:
    """The same state held by all supports but those that are ``gone``."""
    active = tuple(_holds(problem, k) and k not in gone for k in range(len(problem.model.supports)))
    return replace(held_by(problem, active), ways=problem.ways)


def slides(model: Model, left: Collection[int]) -> bool:
    """Whether a wire that has ``left`` these supports is kept from sliding by none of the others."""
    for k in left:
        gone = model.supports[k]
        stopped = isinstance(gone.restraint, SlotWalls) and gone.restraint.stop
        first, last = (float(end[0]) for end in model.ends_at(np.array([gone.arc])))
        others = [one for j, one in enumerate(model.supports) if j not in left and first <= one.arc <= last]
        if stopped and not any(_stops(one) for one in others):
            return True
    return False


def why_not(status: Status, model: Model, snapshot: Snapshot, gone: Collection[int]) -> Status:
    """What ends a way that found no equilibrium after the last one, ``snapshot``, for a wire that has left the supports
    ``gone``; ``status`` where leaving has no part in it."""
    if status not in (Status.TOO_MANY_ITERATIONS, Status.DOES_NOT_FOLLOW):
        return status
    if slides(model, gone):
        return Status.STOPPED_NO_MORE
    return Status.COMES_OUT if set(coming_out(model.supports, snapshot)) - set(gone) else status


def _stops(support: Support) -> bool:
    """Whether a support keeps the wire from sliding."""
    restraint = support.restraint
    if isinstance(restraint, SlotWalls | PointTie):
        return restraint.stop
    return isinstance(restraint, Clamp | Joint) and not restraint.slides


def _holds(problem: Problem, support: int) -> bool:
    """Whether a support is active."""
    return problem.active is None or problem.active[support]
