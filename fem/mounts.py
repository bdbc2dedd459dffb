"""Supports on springs, as a bench rig or a tooth is: each gives way to the load it bears.

The deflection is a screw s (6,) in the support's own axes, mm and rad: its pose is the commanded one, then exp(s).
With the compliance C, mm/N and rad/(N mm), and the loads w (6,) on the supports about their own points

    s_i = sum over k of C_ik w_k(s)

where i and k differ only for supports that stand on one body.  A change of s changes w through the wire, which is
learned by Broyden's rule (Math. Comp. 19 (1965) 577), each step one solve of the wire; a step that leads away from the
end, as known by then, is halved (Deuflhard's natural monotonicity, Numer. Math. 22 (1974) 289; both from memory)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.motion import move_frame

Array = NDArray[np.float64]

TURN_COUNTS = 10.0  # mm that a turn of 1 rad counts as: about the arm from a slot to the middle of its root
# Of the largest deflection, turns counted as lengths; and mm below which a deflection is none: the rounding of a force,
# 1e-8 to 1e-7 N, on the softest tooth.
SETTLED = 1e-6
NOTHING = 1e-8


def compliance_of(own: Sequence[Array | None]) -> Array:
    """(k, 6, k, 6) of k supports, each ``own`` (6,), (6, 6), (6, 6 k) or None; see fem.model.Support.

    Raises ValueError where that is not symmetric, or gives energy away."""
    count = len(own)
    whole = np.zeros((count, 6, count, 6))
    for k, one in enumerate(own):
        if one is None:
            continue
        if one.ndim == 2 and one.shape[1] == 6 * count:
            whole[k] = one.reshape(6, count, 6)
        elif one.shape == (6, 6) or one.ndim == 1:
            whole[k, :, k] = np.diag(one) if one.ndim == 1 else one
        else:
            raise ValueError(
                f"support {k + 1} of {count} needs compliances (6,), (6, 6) or (6, {6 * count}): got {one.shape}"
            )
    refuse_unphysical(whole.reshape(6 * count, 6 * count))
    return whole


def refuse_unphysical(compliance: Array) -> None:
    """Raises ValueError for a compliance (n, n) that is not symmetric, or not positive semidefinite."""
    if not compliance.any():
        return
    # mm/N beside rad/(N mm): of like size, so that rounding of the one does not hide the other
    scale = np.tile(np.repeat([1.0, TURN_COUNTS], 3), len(compliance) // 6)
    like = scale[:, None] * compliance * scale
    rounding = 1e-9 * float(np.abs(like).max())
    if np.abs(like - like.T).max() > rounding:
        raise ValueError(
            "a compliance must be symmetric: what one load does at another is what that does at it"
        )
    if np.linalg.eigvalsh(like)[0] < -rounding:
        raise ValueError("a compliance must not be below zero for any load: it would give energy away")


def deflected(position: Array, axes: Array, deflection: Array) -> tuple[Array, Array]:
    """Positions (k, 3) and axes (k, 3, 3) followed by the screws ``deflection`` (k, 6)."""
    if not deflection.any():
        return position, axes
    there, turned, turn = np.empty_like(position), np.empty_like(axes), np.empty((3, 3))
    for k, (ux, uy, uz, wx, wy, wz) in enumerate(deflection):
        move_frame(position[k].copy(), axes[k].copy(), ux, uy, uz, wx, wy, wz, turn, there[k], turned[k])
    return there, turned


class Settling:
    """Broyden's method for s = C w(s): ``next`` says where to look after the loads w were found at s.

    It works on the stiffness K that the wire puts against its supports, w(s + d) = w(s) - K d, in ``felt`` (6 k, 6 k),
    N/mm with a turn of 1 rad counted as `TURN_COUNTS` mm, and zeros where nothing is known.  What it learns stays there
    for the next increment, whose K is much the same."""

    def __init__(self, compliance: Array, felt: Array) -> None:
        self._scale = np.tile(np.repeat([1.0, TURN_COUNTS], 3), len(compliance))
        size = self._scale.size
        self._compliance = self._scale[:, None] * compliance.reshape(size, size) * self._scale
        self._felt = felt
        self._last: tuple[Array, Array] | None = None
        self._best: tuple[Array, Array] | None = None
        self._share = 1.0

    def next(self, here: Array, loads: Array) -> Array | None:
        """The next deflection (k, 6) to try; None where ``loads`` (k, 6) hold the supports ``here``."""
        at, load = here.ravel() * self._scale, loads.ravel() / self._scale
        wanted = self._compliance @ load
        if np.abs(wanted - at).max() <= max(SETTLED * np.abs(wanted).max(), NOTHING):
            return None
        if self._last is not None:
            moved, fell = at - self._last[0], self._last[1] - load
            self._felt += np.outer(fell - self._felt @ moved, moved) / max(float(moved @ moved), NOTHING**2)
        self._last = at, load
        if self._best is None or self._is_nearer(at, load):
            self._best = at, load
            self._share = min(1.0, 2.0 * self._share)
            return self._looking()
        return self.shorter()

    def shorter(self) -> Array | None:
        """Half as far from the best place so far: where the last one was worse, or the wire found no equilibrium there.

        None where there is no better place."""
        if self._best is None:
            return None
        self._share *= 0.5
        return self._looking()

    def _is_nearer(self, at: Array, load: Array) -> bool:
        """Whether a place lies nearer to the end than the best one, as far as the stiffness is known now."""
        assert self._best is not None
        return bool(np.linalg.norm(self._step(at, load)) <= np.linalg.norm(self._step(*self._best)))

    def _looking(self) -> Array:
        assert self._best is not None
        at = self._best[0] + self._share * self._step(*self._best)
        return np.asarray((at / self._scale).reshape(-1, 6))

    def _step(self, at: Array, load: Array) -> Array:
        """What is missing to the end from a place with its load, as far as the stiffness is known now."""
        free = np.eye(at.size) + self._compliance @ self._felt
        return np.asarray(np.linalg.solve(free, self._compliance @ load - at))
