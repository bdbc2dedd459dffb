"""A wire that snaps: no equilibrium is near the last one, or it is unstable, so the wire is let down to rest.

The supports stand still meanwhile.  The wire moves downhill in energy as if without mass in a thick liquid
(fem.drag_kernel), moment by moment, with the stations following, until it lies still; then the balance is found without
the liquid.  It comes to rest in the valley it falls into, as a real wire does that is heavily damped.

An unstable equilibrium is left along a direction v of negative curvature, which the factors of its matrix have at hand:
K = L D L^T with D_k < 0 gives v = L^-T e_k, v.K v = D_k (Nocedal & Wright, Numerical Optimization (2nd ed. 2006),
ch. 3.4)."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.advance import Options, advance, kept, put_back
from fem.equilibrium import Outcome, Problem, settle, solve, stored_energy
from fem.equilibrium_kernel import CONVERGED, TOO_MANY_ITERATIONS
from fem.floating import anchor
from fem.following import arms_off, followed, pressing
from fem.sweeps_kernel import place_nodes, remember_places

Array = NDArray[np.float64]

# N/mm of springs per mm of wire: from what hardly lets a wire move to what hardly holds it.
STIFFEST = 1e4
SOFTEST = 1e-5
SOFTER = 0.4  # from one moment to the next
MOST_EVEN = 0.9  # softer by the root of it after every swing, at least by this
STIFFER = 4.0  # after a moment that was too long
# mm that a station may slide along the wire in one moment, for its arm follows only afterwards
MOST_SLIDING = 0.3
AS_FAR, SLIDES_ON = 0.8, 0.5  # shares of it: that the next moment should go; from which a wire is on its way
AT_REST = 1e-3  # N per mm of wire by which the springs hold it, below which it may be at rest
MOST_MOMENTS = 120
MOST_TRIALS = 4  # whether it lies still without the springs
BETWEEN_TRIALS = 8  # moments


PUSH = 0.01  # mm, largest displacement by which an unstable equilibrium is left


@dataclass(frozen=True, slots=True)
class Rest:
    """Where a wire that was let down lies."""

    problem: Problem
    outcome: Outcome
    rubbed: float
    """Work lost in sliding, N mm."""
    set_free: float
    """Energy lost on the way down, N mm, friction's part with it."""


def let_down(
    problem: Problem,
    leg: int,
    target: float,
    options: Options,
    push: bool = False,
    start: float | None = None,
) -> Rest | Outcome:
    """The problem at rest at ``target``; or the failed outcome with the state put back.

    ``push``: the state is an unstable equilibrium, which is left, and rest is only where it is stable.  ``start``: the
    energy (N mm) from which counts what is set free; None: that of the wire as soon as it fits its supports."""
    before, remembered = problem, kept(problem)
    if push:
        start = stored_energy(problem, target, target if leg == 0 else 1.0)
        _leave(problem, leg, target)
    springs, lost, iterations = STIFFEST, 0.0, 0
    load = target if leg == 0 else 1.0
    outcome, last = None, None
    since, tried, softer = BETWEEN_TRIALS, 0, SOFTER
    moments, way, reach = 0, 0.0, float(np.ptp(problem.model.nodes))
    while moments < MOST_MOMENTS:
        moments += 1
        here, held = kept(problem), springs
        anchor(problem, springs)
        outcome = solve(problem, target, quick=3, most=options.most_iterations, load=load)
        problem.work.drag[:] = 0.0
        iterations += outcome.iterations
        went = float(np.abs(problem.state.positions - problem.work.drag_positions).max())
        off = arms_off(problem) if outcome.code == CONVERGED else None
        if outcome.code != CONVERGED or (off is not None and np.abs(off).max() > MOST_SLIDING):
            if springs < STIFFEST:
                put_back(problem, here)
                springs = min(STIFFER * springs, STIFFEST)
                continue
            if outcome.code != CONVERGED:
                break
        if off is not None:
            moved = followed(problem, target, off, 1.0, True, level=True)
            if moved is None:
                break
            problem = moved
        if start is None:
            start = stored_energy(problem, target, load)
        lost += settle(problem, target)
        slid = 0.0 if off is None else float(np.abs(off).max()) / MOST_SLIDING
        slides_on = slid > SLIDES_ON and way < reach
        if springs <= SOFTEST or (went * springs < AT_REST and since >= BETWEEN_TRIALS and not slides_on):
            since = 0
            # supports that give way find their place as in any increment
            still = kept(problem)
            found = advance(problem, leg, target, options)
            if not isinstance(found, Outcome) and not (push and found[1].wrong_pivots):
                problem, outcome = found
                free = start - stored_energy(problem, target, load)
                return Rest(
                    problem,
                    replace(outcome, iterations=iterations + outcome.iterations),
                    lost,
                    free,
                )
            if not isinstance(found, Outcome):
                put_back(problem, still)
                found = found[1]
            iterations += found.iterations
            tried += 1
            if tried == MOST_TRIALS:
                break
        since += 1
        # what swings to and fro goes too far each time, for the stations follow one moment late
        if off is not None:
            off = np.where(pressing(problem) > 0.0, off, 0.0)
        swings = off is not None and last is not None and float(off @ last) < 0.0
        if swings:
            softer = min(math.sqrt(softer), MOST_EVEN)
        springs = min(springs / softer**2, STIFFEST) if swings else max(softer * springs, SOFTEST)
        if not swings:
            # in a moment twice as long the stations slide twice as far
            springs = max(springs, min(held, slid / AS_FAR * held))
            # a wire that slides on is on its way, and can go no further than it is long
            if slides_on:
                way += slid * MOST_SLIDING
                moments -= 1
        last = off
    put_back(before, remembered)
    assert outcome is not None
    return replace(outcome, iterations=iterations, code=TOO_MANY_ITERATIONS)


def _leave(problem: Problem, leg: int, target: float) -> None:
    """A small step down from an unstable equilibrium, where `with_own_pivots` has just factored its matrix."""
    work, state = problem.work, problem.state
    nodes = work.factors.shape[0]
    pivots = np.diagonal(work.factors, axis1=1, axis2=2)
    node, column = np.unravel_index(int(pivots.argmin()), pivots.shape)
    direction = np.zeros((nodes, 6))
    lower = np.tril(work.factors[node], -1) + np.eye(6)
    direction[node] = np.linalg.solve(lower.T, np.eye(6)[column])
    for other in range(int(node) - 1, -1, -1):
        direction[other] = -work.couplings[other] @ direction[other + 1]
    direction *= PUSH / np.abs(direction[:, :3]).max()
    remember_places(state.positions, state.axes, work.positions, work.axes)
    place_nodes(work.positions, work.axes, direction, 1.0, np.empty((3, 3)), state.positions, state.axes)
