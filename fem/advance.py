"""One increment: the balance is found, the arms follow, supports that give way are found.

What `fem.path` strings together."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fem.equilibrium import BARRIER_NEAR, Outcome, Problem, solve, with_own_pivots
from fem.equilibrium_kernel import CONVERGED
from fem.floating import may_float_out, solve_near
from fem.following import TAKING_TURNS, arms_off, followed, relaxed
from fem.mounts import Settling
from fem.newton_kernel import NEUTRAL_SHIFT
from fem.recovery import loads_in_own_axes
from fem.softening import solve_softened
from fem.turns_kernel import turned_on
from geometry.checks import count, flag, number

Array = NDArray[np.float64]

# So often an increment is followed, and so often nodes may move meanwhile.
MOST_FOLLOWINGS = 20
MOST_MOVES = 3
EXACTLY = 1e-5  # share of the usual distances at the end of a leg
MOST_WHERE_YIELDING = 15  # iterations
# How an increment fails, beside the codes of fem.equilibrium_kernel.
CONTACTS_MOVE_ON = 3
SUPPORTS_MOVE_ON = 4
TURNED_ON = 5
MOST_SETTLINGS = 60  # of supports that give way
LEAST_SHARE = 1e-9  # of a leg
LEAST_WITHIN = 1e-3  # below it walls would follow rounding


@dataclass(frozen=True, slots=True)
class Options:
    """How a path is walked.  None of these changes an elastic answer.  Raises ValueError for what makes no way."""

    increments: int | None = None
    """Of the only leg, where no legs are given.  None: as few as Newton's method allows, which is one where nothing
    touches, cut where need be; ten where walls do, for the figures and because a shorter way settles more surely."""
    least_increment: float = 1.0 / 16384.0
    """Share of a leg below which an increment that finds no equilibrium ends the path."""
    most_iterations: int = 60
    follow: bool = True
    follow_within: float = 1.0
    """Share of the usual distances within which walls must look at the place where they meet the wire."""
    exact_ends: bool = True
    """Ends of legs are followed as exactly as it goes, so that they do not depend on the increments that led there."""
    snap: bool = False
    """An unstable equilibrium is left for the stable one that the wire snaps to; else it is kept, and told."""

    def __post_init__(self) -> None:
        needs = "needs at least one increment, and a million at most"
        share = number("the least increment", self.least_increment, "", LEAST_SHARE, 1.0, "a share of a leg")
        most = count("the most iterations of an increment", self.most_iterations)
        if self.increments is not None:
            object.__setattr__(self, "increments", count("a path", self.increments, 1, needs))
        object.__setattr__(self, "least_increment", share)
        object.__setattr__(self, "most_iterations", most)
        object.__setattr__(self, "follow", flag("whether the mesh follows", self.follow))
        within = number("how closely walls follow", self.follow_within, "", LEAST_WITHIN, 1.0)
        object.__setattr__(self, "follow_within", within)
        object.__setattr__(self, "exact_ends", flag("whether ends are followed exactly", self.exact_ends))
        object.__setattr__(self, "snap", flag("whether a wire snaps", self.snap))


def advance(
    problem: Problem, leg: int, target: float, options: Options, stable: bool = False
) -> tuple[Problem, Outcome] | Outcome:
    """The problem and outcome at ``target``, or the failed outcome with the problem's state put back.

    Supports that give way are found by looking again and again where the load takes them.  ``stable``: the state is,
    and where the next one is not, a stable one is looked for."""
    before, remembered = problem, kept(problem)
    axes = problem.state.axes.copy()
    good, gives_way, iterations = (problem, remembered), bool(problem.compliance.any()), 0
    settling = Settling(problem.compliance, problem.felt) if gives_way else None
    for _ in range(MOST_SETTLINGS if gives_way else 1):
        problem, outcome = equilibrium_at(problem, leg, target, options)
        iterations += outcome.iterations
        if settling is None:
            break
        if outcome.code == CONVERGED:
            good = problem, kept(problem)
            deflection = settling.next(problem.deflection, loads_in_own_axes(problem, target))
        else:
            deflection = settling.shorter()
        if deflection is None:
            break
        problem = good[0]
        put_back(*good)
        problem.deflection[:] = deflection
    else:
        outcome = replace(outcome, code=SUPPORTS_MOVE_ON)
    if outcome.code != CONVERGED:
        put_back(before, remembered)
        return outcome
    _orthonormalise(problem.state.axes)
    # A wire that floats in the play of its slots is held by next to nothing, and pushed aside by next to nothing where
    # it is pressed together; a bent round one turns freely.  That is no loss of stability.
    load = target if leg == 0 else 1.0
    outcome = with_own_pivots(problem, target, outcome, load, NEUTRAL_SHIFT)
    elastic = problem.model.fibres is None
    if stable and elastic and outcome.wrong_pivots and problem.state.low.size == 0:
        outcome, more = _stable_one(problem, target, load, outcome, remembered, options)
        iterations += more
    if _turned_on(problem, axes):
        put_back(before, remembered)
        return replace(outcome, code=TURNED_ON, iterations=iterations)
    return problem, replace(outcome, iterations=iterations)


def _stable_one(
    problem: Problem,
    target: float,
    load: float,
    found: Outcome,
    before: tuple[NDArray[Any], ...],
    options: Options,
) -> tuple[Outcome, int]:
    """The stable equilibrium of a slender rod, from the state ``before``, in place of the unstable one that was
    ``found``, which else stays; and the iterations that it took."""
    unstable = kept(problem)
    put_back(problem, before)
    outcome = solve_softened(problem, target, load, options.most_iterations)
    if outcome is not None and outcome.code == CONVERGED:
        _orthonormalise(problem.state.axes)
        outcome = with_own_pivots(problem, target, outcome, load, NEUTRAL_SHIFT)
        if outcome.wrong_pivots == 0:
            return outcome, outcome.iterations
    put_back(problem, unstable)
    # once more, so that the elements are those of this state
    found = with_own_pivots(problem, target, found, load, NEUTRAL_SHIFT)
    return found, 0 if outcome is None else outcome.iterations


def _turned_on(problem: Problem, before: Array) -> bool:
    """Whether a rod between two clamps has turned round once more, or less, than in the state with axes ``before``."""
    holds = problem.constraints.holds
    clamped = np.sort(holds.node[holds.kind == 4])
    if clamped.size < 2 or before.shape != problem.state.axes.shape:  # on a new mesh it cannot be told
        return False
    return bool(turned_on(before, problem.state.axes, clamped))


def equilibrium_at(problem: Problem, leg: int, target: float, options: Options) -> tuple[Problem, Outcome]:
    """Equilibrium at ``target`` with every wall looking at the place where it meets the wire.

    At the end of a leg as exactly as it goes, so that the answer does not depend on the increments that led there; with
    friction the way counts anyhow."""
    outcome = _solved(problem, leg, target, options)
    if not options.follow:
        return problem, outcome
    problem, outcome = _followed_until(problem, outcome, leg, target, options)
    presses = (problem.state.low != problem.state.high).any()
    exact = options.exact_ends and target == 1.0 and not problem.rubs
    if outcome.code != CONVERGED or not exact or not presses:
        return problem, outcome
    good = kept(problem)
    finer, found = _followed_until(problem, outcome, leg, target, options, exactly=True)
    if found.code == CONVERGED:
        return finer, found
    put_back(problem, good)
    return problem, replace(outcome, iterations=found.iterations)


def _followed_until(
    problem: Problem, outcome: Outcome, leg: int, target: float, options: Options, exactly: bool = False
) -> tuple[Problem, Outcome]:
    """Arms set and balance found in turns from ``outcome`` on, until both are at rest."""
    iterations = outcome.iterations
    share, last = 1.0, None
    following = 0
    while outcome.code == CONVERGED:
        if exactly:
            off = arms_off(problem, 0, EXACTLY)
            if off is None and following == 0:  # the nodes may stand beside their stations all the same
                off = np.zeros(problem.constraints.sites.slot.size + problem.hooks.support.size)
        else:
            off = arms_off(problem, following, options.follow_within)
        if off is None:
            break
        if following == MOST_FOLLOWINGS:
            outcome = replace(outcome, code=CONTACTS_MOVE_ON)
            break
        share, last = relaxed(share, last, off), off
        moves, turns = following < MOST_MOVES, following > TAKING_TURNS and not exactly
        moved = followed(problem, target, off, share, moves, exactly=exactly, turns=turns)
        if moved is None:
            outcome = replace(outcome, code=CONTACTS_MOVE_ON)
            break
        problem = moved
        outcome = _solved(problem, leg, target, options, near=True, least=int(exactly))
        iterations += outcome.iterations
        following += 1
    return problem, replace(outcome, iterations=iterations)


def _changing(problem: Problem) -> tuple[NDArray[Any], ...]:
    """Everything that an increment changes in a problem."""
    touch, rubbing = problem.state.touch, problem.state.rubbing
    arms = (touch.node, touch.arm, touch.turn, touch.course, touch.reach, touch.outermost)
    contact = (*arms, rubbing.zero, rubbing.spot)
    hooks = (*problem.hooks[1:], problem.constraints.holds.other)
    return (problem.state.flat, problem.deflection, *contact, *hooks)


def kept(problem: Problem) -> tuple[NDArray[Any], ...]:
    """Copies of everything that an increment changes, for `put_back`."""
    return tuple(array.copy() for array in _changing(problem))


def put_back(problem: Problem, kept: tuple[NDArray[Any], ...]) -> None:
    """The problem as it was when `kept`."""
    for array, values in zip(_changing(problem), kept, strict=True):
        array[:] = values


def _solved(
    problem: Problem, leg: int, target: float, options: Options, near: bool = False, least: int = 0
) -> Outcome:
    """Newton's method in three tempers:

    downhill steps, plain steps (no walls only), steps under a merit function.  Before them, where the wire may float
    out of an open slot, steps that stay near.  Where the answer is ``near``, as when arms have followed, the barrier is
    first started late: from afar it may lead to another equilibrium; and so many iterations as are the ``least`` are
    made even where the balance holds already.
    """
    yields = problem.model.fibres is not None
    # what yields stays in its valley by small steps, not by many iterations; walking a barrier takes them all
    walls = problem.state.low.size > 0
    usual = options.most_iterations
    most = min(usual, MOST_WHERE_YIELDING) if yields and not walls else usual
    load = target if leg == 0 else 1.0
    kept = problem.state.flat.copy()
    if may_float_out(problem):
        outcome = solve_near(problem, target, load, most, not near, least)
        if outcome.code == CONVERGED:
            return outcome
        problem.state.flat[:] = kept
    if near:
        # the walls that press now; then downhill all the way, which does not leave the valley it starts in
        outcome = solve(problem, target, quick=3, most=0, load=load, least=least)
        if outcome.code == CONVERGED:
            return outcome
        problem.state.flat[:] = kept
        outcome = solve(
            problem, target, careful=True, quick=0, most=2 * most, load=load, barrier=BARRIER_NEAR
        )
        if outcome.code == CONVERGED:
            return outcome
        problem.state.flat[:] = kept
    outcome = solve(problem, target, most=most, load=load)
    if outcome.code != CONVERGED and problem.state.low.size == 0 and not yields:
        problem.state.flat[:] = kept
        outcome = solve(problem, target, downhill=False, most=most, load=load)
        if outcome.code != CONVERGED:
            problem.state.flat[:] = kept
            outcome = solve_softened(problem, target, load, most) or outcome
    if outcome.code != CONVERGED:
        problem.state.flat[:] = kept
        outcome = solve(problem, target, careful=True, most=2 * most, load=load)
    return outcome


def _orthonormalise(axes: Array) -> None:
    """Takes away the rounding that many small turns have added:

    nearest rotations, by one step of Newton's polar iteration.
    """
    axes[:] = 1.5 * axes - 0.5 * axes @ np.swapaxes(axes, 1, 2) @ axes
