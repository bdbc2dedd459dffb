"""A wire that snaps: there is no equilibrium near the last one, so it is let down to rest from where it is.

The supports stand still meanwhile.  The wire moves downhill in energy as if without mass in a thick liquid
(fem.drag_kernel), moment by moment, with the stations following, until it lies still; then the balance is found without
the liquid.  It comes to rest in the valley it falls into, as a real wire does that is heavily damped."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fem.advance import Options, advance, kept, put_back
from fem.equilibrium import Outcome, Problem, settle, solve
from fem.equilibrium_kernel import CONVERGED, TOO_MANY_ITERATIONS
from fem.following import arms_off, followed, pressing

Array = NDArray[np.float64]

# N/mm of springs per mm of wire: from what hardly lets a wire move to what hardly holds it.
STIFFEST = 1e4
SOFTEST = 1e-5
SOFTER = 0.4  # from one moment to the next
MOST_EVEN = 0.9  # softer by the root of it after every swing, at least by this
STIFFER = 4.0  # after a moment that was too long
# mm that a station may slide along the wire in one moment, for its arm follows only afterwards
MOST_SLIDING = 0.3
AT_REST = 1e-3  # N per mm of wire by which the springs hold it, below which it may be at rest
MOST_MOMENTS = 120
MOST_TRIALS = 4  # whether it lies still without the springs
BETWEEN_TRIALS = 8  # moments


def let_down(
    problem: Problem, leg: int, target: float, options: Options
) -> tuple[Problem, Outcome, float] | Outcome:
    """The problem at rest at ``target``, its outcome and the work lost in sliding; or the failed outcome with the
    state put back."""
    before, remembered = problem, kept(problem)
    springs, lost, iterations = STIFFEST, 0.0, 0
    load = target if leg == 0 else 1.0
    outcome, last = None, None
    since, tried, softer = BETWEEN_TRIALS, 0, SOFTER
    for _ in range(MOST_MOMENTS):
        here = kept(problem)
        _anchor(problem, springs)
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
        lost += settle(problem, target)
        if springs <= SOFTEST or (went * springs < AT_REST and since >= BETWEEN_TRIALS):
            since = 0
            # supports that give way find their place as in any increment
            found = advance(problem, leg, target, options)
            if not isinstance(found, Outcome):
                problem, outcome = found
                return problem, replace(outcome, iterations=iterations + outcome.iterations), lost
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
        last = off
    put_back(before, remembered)
    assert outcome is not None
    return replace(outcome, iterations=iterations, code=TOO_MANY_ITERATIONS)


def _anchor(problem: Problem, springs: float) -> None:
    """Springs (N/mm per mm of wire) from every node to where it is now."""
    work, state, lengths = problem.work, problem.state, problem.beam.lengths
    work.drag[:] = 0.0
    work.drag[:-1] += 0.5 * springs * lengths
    work.drag[1:] += 0.5 * springs * lengths
    work.drag_positions[:] = state.positions
    work.drag_axes[:] = state.axes
