"""A slender rod whose held sections move is let stretch and shear more easily first, and stiffened again.

Bending and stretching stiffness of a rod differ by the square of its slenderness.  Where held sections come nearer to
each other, Newton's method meets a rod that is pushed together to the straight, unstable equilibrium, and steps
downhill from there are as short as the stiffest spring is stiff.  A rod of moderate slenderness bends aside at once.
Its stretch then fades with its stiffness while its shape hardly changes: each stiffening takes a few iterations.

This is continuation in a stiffness: Allgower & Georg, Introduction to Numerical Continuation Methods (2003), ch. 1
(from memory).  The answer is that of the rod itself: the last solve is with its own stiffness."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fem.equilibrium import Outcome, Problem, solve
from fem.equilibrium_kernel import CONVERGED

# A rod this slender, its length over the square root of bending by stretching stiffness, bends aside readily.
SLENDERNESS = 30.0
STIFFER = 4.0  # from one solve to the next


def solve_softened(problem: Problem, share: float, load: float, most: int) -> Outcome | None:
    """The state in equilibrium, by way of softer rods; None where the rod is not slender.

    As `fem.equilibrium.solve`: the caller keeps what it may need back."""
    beam = problem.beam
    own = beam.compliance
    # the gaps between several wires bear nothing
    wires = np.isfinite(own[:, 0])
    squared = beam.lengths[wires].sum() ** 2 * (own[wires, 4:] / own[wires, :1]).min()
    softer = squared / SLENDERNESS**2
    if softer <= 1.0:
        return None
    iterations = 0
    while True:
        compliance = own.copy()
        compliance[:, :3] *= softer
        soft = replace(problem, beam=beam._replace(compliance=compliance))
        outcome = solve(soft, share, most=most, load=load)
        iterations += outcome.iterations
        if outcome.code != CONVERGED or softer == 1.0:
            return replace(outcome, iterations=iterations)
        softer = max(softer / STIFFER, 1.0)
