"""Wires of one model, one after the other in one numbering of nodes and one count of arc lengths.

Between the last node of one wire and the first of the next lies a gap, an element that bears nothing, so that all
wires together make one chain and the matrix stays block-tridiagonal.  Joints between them are supports (fem.model)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from fem.section_law import LinearSection
from geometry.checks import LONGEST, number, one_of, shown
from geometry.pose import Pose
from geometry.section import Section
from geometry.wire_shapes import PassiveShape

Array = NDArray[np.float64]

GAP = 1.0
"""mm of arc length between two wires, where no wire is."""


@dataclass(frozen=True, slots=True)
class Wire:
    """One wire: its passive shape, where the origin of that stands, its section and what that answers.

    ``begin`` (mm): arc length of its start in the count that all wires of a model share.  Raises ValueError for
    anything else."""

    shape: PassiveShape
    placed: Pose
    section: Section
    law: LinearSection
    begin: float = 0.0

    def __post_init__(self) -> None:
        one_of(PassiveShape, self.shape, "the shape of a wire")
        one_of(Pose, self.placed, "the place of a wire's shape")
        if not isinstance(self.section, get_args(Section)):
            raise ValueError(
                f"the section of a model must be a Round or a Rectangle: got {shown(self.section)}"
            )
        one_of(LinearSection, self.law, "the section law of a model")
        begin = number("where a wire begins", self.begin, "mm", 0.0, LONGEST)
        object.__setattr__(self, "begin", begin)

    @property
    def end(self) -> float:
        """Arc length of its end in the common count, mm."""
        return self.begin + self.shape.length

    def frames(self, arcs: Array) -> tuple[Array, Array]:
        """Positions (k, 3) and axes (k, 3, 3) of the passive wire in the world, at common arc lengths (k,)."""
        positions, axes = self.shape.frames(arcs - self.begin)
        return self.placed.to_world(positions), self.placed.axes @ axes


def begins(lengths: Sequence[float]) -> tuple[float, ...]:
    """Where wires of these ``lengths`` (mm) begin in the count that they share."""
    out = [0.0]
    for length in lengths[:-1]:
        out.append(out[-1] + length + GAP)
    return tuple(out)
