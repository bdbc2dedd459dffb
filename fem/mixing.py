"""Finds where a map leads nowhere else, from the steps that it made: arms that follow the wire.

To follow means to repeat x -> x + f(x), which settles only where that map contracts.  Where it does not, as where a wall
twists the wire by a couple that grows with what the twist pushes along, the differences of steps say how f changes with
x, and the next x is where f vanishes in the space that they span: Anderson, J. ACM 12 (1965) 547; Walker & Ni, SIAM J.
Numer. Anal. 49 (2011) 1715 (from memory)."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DEEPEST = 5  # differences kept
LEAST_PIVOT = 1e-6  # of the largest: directions that say less say nothing


@dataclass(slots=True)
class Mixing:
    """What is known of f from where it was asked."""

    places: list[Array] = field(default_factory=list)
    steps: list[Array] = field(default_factory=list)

    def next(self, place: Array, step: Array, weight: Array) -> Array:
        """Where f is expected to vanish, (n,), after it was ``step`` (n,) at ``place`` (n,).

        ``weight`` (n,) says what counts as much: of two steps the one with the smaller weighted sum of squares is
        nearer to none."""
        self.places = [*self.places[-DEEPEST:], place.copy()]
        self.steps = [*self.steps[-DEEPEST:], step.copy()]
        goal = place + step
        if len(self.places) == 1:
            return goal
        change = np.diff(np.array(self.steps), axis=0)
        went = np.diff(np.array(self.places), axis=0)
        share, *_ = np.linalg.lstsq((weight * change).T, weight * step, rcond=LEAST_PIVOT)
        out: Array = goal - share @ (went + change)
        return out
