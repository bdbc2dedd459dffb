"""Work that supports and dead forces put into a wire from one equilibrium to the next."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from geometry.centreline import cross_products

if TYPE_CHECKING:
    from fem.recovery import Snapshot

Array = NDArray[np.float64]
Frames = tuple[Array, Array]

BEFORE, AFTER = (1, 2, 0), (2, 0, 1)
"""Rows and columns of a matrix where the cross product with a vector puts its parts."""


def work_of_supports(stood: Frames, snapshot: Snapshot, before: Snapshot | None) -> float:
    """N mm, by the trapezoidal rule along the ways of the supports, which stood at ``stood``, positions (k, 3) and
    axes (k, 3, 3), where the wire was as ``before`` tells; None: free of force."""
    now = _in_own_axes(snapshot)
    mean = 0.5 * now if before is None else 0.5 * (now + _in_own_axes(before))
    inward = np.swapaxes(stood[1], 1, 2)
    moved = (inward @ (snapshot.support_position - stood[0])[:, :, None])[:, :, 0]
    turned = inward @ snapshot.support_axes
    # rotation vectors from the skew part, which has their sines
    sines = 0.5 * (turned[:, AFTER, BEFORE] - turned[:, BEFORE, AFTER])
    size = np.sqrt((sines**2).sum(axis=1))
    angle = np.arctan2(size, 0.5 * (turned[:, 0, 0] + turned[:, 1, 1] + turned[:, 2, 2] - 1.0))
    sines *= np.divide(angle, size, out=np.ones_like(size), where=size > 0.0)[:, None]
    return -float((mean[:, :3] * moved).sum() + (mean[:, 3:] * sines).sum())


def work_of_forces(
    loads: Array, shares: tuple[float, float], snapshot: Snapshot, before: Snapshot | None, start: Array
) -> float:
    """N mm that dead forces (n, 6) do on their nodes, which were at ``start`` (n, 3) at first, while they go from one
    share to another; dead moments and followers are not counted."""
    came = start if before is None else before.positions
    return float(0.5 * (shares[0] + shares[1]) * (loads[:, :3] * (snapshot.positions - came)).sum())


def _in_own_axes(snapshot: Snapshot) -> Array:
    """Force and moment (k, 6) on every support, about its own point and in its own axes."""
    arm = snapshot.acting_point - snapshot.support_position
    moment = snapshot.moment + cross_products(arm, snapshot.force)
    inward = np.swapaxes(snapshot.support_axes, 1, 2)
    return np.concatenate(
        ((inward @ snapshot.force[:, :, None])[:, :, 0], (inward @ moment[:, :, None])[:, :, 0]), axis=1
    )
