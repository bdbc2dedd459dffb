"""Supports on springs, as a bench rig or a tooth is: each gives way to the load it bears.

The deflection is a screw s (6,) in the support's own axes, mm and rad: its pose is the commanded one, then exp(s).
With the compliance c (6,), mm/N and rad/(N mm), and the load w (6,) on the support about its own point

    s = c w(s)

A change of s changes w through the wire.  The equation is solved by Anderson's acceleration of s <- c w(s) (J. ACM 12
(1965) 547), each step one solve of the wire."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometry.motion import move_frame

Array = NDArray[np.float64]

REMEMBERED = 8
# Of the largest deflection, in translation and in turning each; and mm or rad below which a deflection is none.
SETTLED = 1e-6
NOTHING = 1e-10


def deflected(position: Array, axes: Array, deflection: Array) -> tuple[Array, Array]:
    """Positions (k, 3) and axes (k, 3, 3) followed by the screws ``deflection`` (k, 6)."""
    if not deflection.any():
        return position, axes
    there, turned, turn = np.empty_like(position), np.empty_like(axes), np.empty((3, 3))
    for k, (ux, uy, uz, wx, wy, wz) in enumerate(deflection):
        move_frame(position[k].copy(), axes[k].copy(), ux, uy, uz, wx, wy, wz, turn, there[k], turned[k])
    return there, turned


class Settling:
    """Anderson's acceleration for s = wanted(s): ``next`` says where to look after ``wanted`` was found at ``here``."""

    def __init__(self) -> None:
        self._here: list[Array] = []
        self._wanted: list[Array] = []

    def next(self, here: Array, wanted: Array) -> Array | None:
        """The next deflection (k, 6) to try; None where ``wanted`` is ``here``."""
        off, size = (np.abs(values).reshape(-1, 2, 3).max(axis=(0, 2)) for values in (wanted - here, wanted))
        if (off <= np.maximum(SETTLED * size, NOTHING)).all():
            return None
        self._here = [*self._here, here.ravel().copy()][-REMEMBERED:]
        self._wanted = [*self._wanted, wanted.ravel().copy()][-REMEMBERED:]
        left = [w - h for w, h in zip(self._wanted, self._here, strict=True)]
        if len(left) == 1:
            return wanted
        changes = np.column_stack([left[-1] - before for before in left[:-1]])
        weights = np.linalg.lstsq(changes, left[-1], rcond=1e-12)[0]
        wanted_changes = np.column_stack([self._wanted[-1] - before for before in self._wanted[:-1]])
        return np.asarray((self._wanted[-1] - wanted_changes @ weights).reshape(here.shape))
