"""Where fibres lie side by side while they are asked: rows of one flat array, at distances that the compiler knows.

So it sees that rows do not overlap and puts several fibres into one instruction.  A loop over more rows of arrays whose
shape is known at run time only is not put together: it would have to look first which of them overlap."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometry.compiled import kernel

LANES = 136
"""From row to row, and the most fibres asked at once: not a power of two, by which rows would drive one another out of
the cache."""
EVENLY = 8
"""Fibres in one instruction, of which their number is a multiple."""
ROWS = 30
STRAIN, TOLD, COUNTED, NOW, FREE = (LANES * row for row in (0, 3, 12, 13, 19))
"""First rows of the strains (3), the answers (9: stress (3) and tangent, 00, 01, 02, 11, 12, 22), the area (mm^2) of
fibres that are asked, zero of others; of their memory (6); of what a law keeps for itself."""


@kernel
def rows_for_fibres() -> NDArray[np.float64]:
    """Room for the rows, of zeros: what weighs nothing may not be what is no number either."""
    return np.zeros(ROWS * LANES)
