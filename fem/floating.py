"""A wire that floats in its play stays where it is, as a wire does that nothing pushes.

Where contacts leave a wire free to move its equilibria lie side by side, all of the same energy.  The barrier would
take the one in the middle of all walls, and in an open slot, whose floor alone it feels, that is far out in front.  So
the barrier is walked under soft springs to the places where the nodes are (fem.drag_kernel), which are renewed until
they pull no more; then the balance is found without them on the walls that press.  So nothing of them is left in the
answer: of all equilibria it is one near the last (proximal point method: Rockafellar, SIAM J. Control Optim. 14 (1976)
877).

Newton's method goes to the nearest balance then, be it downhill or not.  A wire between two frictionless walls bends
less where it stands askew between them, so every one of them would gain by turning out of an open slot; but in the
middle nothing pushes it there.  `fem.advance` tells what has no stability."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fem.equilibrium import Outcome, Problem, solve
from fem.equilibrium_kernel import CONVERGED
from fem.model import SlotWalls

# N/mm per mm of wire.  The start of the barrier, 1e-4 N mm at each of some fifty floor contacts, moves 20 mm of wire
# by 0.1 to 0.2 mm against them (estimate), less than the way out of a slot.
SOFT = 1e-2
# By then springs have let go of what anything else holds; where they still pull, the wire slides on without friction.
MOST_RENEWALS = 5


def may_float_out(problem: Problem) -> bool:
    """Whether the front of a slot that holds the wire is open."""
    return any(
        isinstance(support.restraint, SlotWalls) and support.restraint.front == "open" and holds
        for support, holds in zip(
            problem.model.supports, problem.active or (True,) * len(problem.model.supports), strict=True
        )
    )


def anchor(problem: Problem, springs: float) -> None:
    """Springs (N/mm per mm of wire) from every node to where it is now, until `work.drag` is zero again."""
    work, state, lengths = problem.work, problem.state, problem.beam.lengths
    work.drag[:] = 0.0
    work.drag[:-1] += 0.5 * springs * lengths
    work.drag[1:] += 0.5 * springs * lengths
    work.drag_positions[:] = state.positions
    work.drag_axes[:] = state.axes


def solve_near(
    problem: Problem, share: float, load: float, most: int, barrier: bool, least: int = 0
) -> Outcome:
    """The equilibrium near the state, as `fem.equilibrium.solve` says it: the caller keeps what it may need back.

    ``barrier``: the walls that press are looked for; else they are those that press now, with few changes."""
    work, places = problem.work, problem.state.positions
    iterations = 0
    for renewed in range(1 + MOST_RENEWALS):
        anchor(problem, SOFT)
        if barrier and not renewed:
            outcome = solve(problem, share, most=most, load=load)
        else:
            outcome = solve(problem, share, downhill=False, quick=3, most=0, load=load)
        pull = float(np.abs(work.drag[:, None] * (places - work.drag_positions)).sum())
        work.drag[:] = 0.0
        iterations += outcome.iterations
        if outcome.code != CONVERGED:
            return replace(outcome, iterations=iterations)
        if pull <= outcome.floor:
            break
    outcome = solve(problem, share, downhill=False, quick=3, most=0, load=load, least=least)
    return replace(outcome, iterations=iterations + outcome.iterations)
