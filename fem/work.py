"""Work that supports and loads put into a wire from one equilibrium to the next, by the trapezoidal rule.

What does work is taken in axes that move along, and the motion between both equilibria is a screw seen in them.  So a
wire that is turned with all that holds and loads it gets exactly nothing, and what is missed falls with the square of
the increments.  Nothing may turn by half a turn in an increment."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from geometry.centreline import cross_products
from geometry.motion import relative_motion

if TYPE_CHECKING:
    from fem.recovery import Snapshot

Array = NDArray[np.float64]
Frames = tuple[Array, Array]
"""Positions (k, 3) and axes (k, 3, 3)."""


def work_of_supports(stood: Frames, snapshot: Snapshot, before: Snapshot | None) -> float:
    """N mm along the ways of the supports, which stood at ``stood``, where the wire was as ``before`` tells; None: free
    of force."""
    now = _in_own_axes(snapshot)
    mean = 0.5 * now if before is None else 0.5 * (now + _in_own_axes(before))
    return -float((mean * _screws(stood, (snapshot.support_position, snapshot.support_axes))).sum())


def work_of_loads(
    dead: Array | None, followers: Array | None, shares: tuple[float, float], came: Frames, there: Frames
) -> float:
    """N mm that full loads (n, 6) do on nodes that go from ``came`` to ``there`` while the loads go from one share to
    another: ``dead`` ones of the world's axes, ``followers`` of the nodes'.

    Dead moments and followers have no potential: what they do depends on the way."""
    work = 0.0
    if dead is not None:
        work += float((dead[:, :3] * (there[0] - came[0])).sum())
        turned = np.flatnonzero(dead[:, 3:].any(axis=1))
        moments = _seen(came[1][turned], dead[turned, 3:])
        work += float((moments * _screws(_some(came, turned), _some(there, turned))[:, 3:]).sum())
    if followers is not None:
        loaded = np.flatnonzero(followers.any(axis=1))
        work += float((followers[loaded] * _screws(_some(came, loaded), _some(there, loaded))).sum())
    return 0.5 * (shares[0] + shares[1]) * work


def _some(frames: Frames, which: NDArray[np.int64]) -> Frames:
    return frames[0][which], frames[1][which]


def _seen(axes: Array, vectors: Array) -> Array:
    """Vectors (k, 3) of the world in axes (k, 3, 3)."""
    return np.asarray((np.swapaxes(axes, 1, 2) @ vectors[:, :, None])[:, :, 0])


def _screws(came: Frames, there: Frames) -> Array:
    """Screws (k, 6) from frames to others, the same seen in either."""
    out = np.empty((len(came[0]), 6))
    for k, screw in enumerate(out):
        relative_motion(came[0][k], came[1][k], there[0][k], there[1][k], screw)
    return out


def _in_own_axes(snapshot: Snapshot) -> Array:
    """Force and moment (k, 6) on every support, about its own point and in its own axes."""
    arm = snapshot.acting_point - snapshot.support_position
    moment = snapshot.moment + cross_products(arm, snapshot.force)
    return np.concatenate(
        (_seen(snapshot.support_axes, snapshot.force), _seen(snapshot.support_axes, moment)), axis=1
    )
