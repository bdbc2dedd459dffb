"""Straight bodies with a convex outline, what a plane leaves of them, and the section lines on the cut.  Numbers only.

Everything is in an attachment's own axes (x along the slot, y its height, z its depth), mm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

HATCH_ANGLE = np.radians(45.0)


@dataclass(frozen=True, slots=True)
class Prism:
    """A convex ``profile`` (k, 2) in (y, z) between two places along x."""

    profile: Array
    along: tuple[float, float]

    @property
    def corners(self) -> Array:
        """(2 k, 3)."""
        return np.concatenate([np.insert(self.profile, 0, x, axis=1) for x in self.along])

    @property
    def volume(self) -> float:
        """mm^3, by the shoelace formula."""
        y, z = self.profile.T
        area = 0.5 * abs(float(y @ np.roll(z, -1) - z @ np.roll(y, -1)))
        return area * (self.along[1] - self.along[0])


@dataclass(frozen=True, slots=True)
class HalfSpace:
    """What stays: all points whose coordinate ``axis`` times ``side`` is at most ``side`` times ``at``."""

    axis: int
    side: float
    at: float = 0.0


def block(x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> Prism:
    """A box between these bounds."""
    return Prism(np.array([(y[0], z[0]), (y[1], z[0]), (y[1], z[1]), (y[0], z[1])]), x)


def kept(prism: Prism, half: HalfSpace) -> tuple[Prism | None, Array | None]:
    """What ``half`` leaves of a prism, and the corners (k, 3) of its cut face; None where there is none."""
    if half.axis == 0:
        low, high = prism.along
        if half.side > 0.0:
            high = min(high, half.at)
        else:
            low = max(low, half.at)
        if not low < high:
            return None, None
        left = replace(prism, along=(low, high))
        whole = (low, high) == prism.along
        return left, None if whole else np.insert(prism.profile, 0, half.at, axis=1)
    column = half.axis - 1
    beyond = half.side * (prism.profile[:, column] - half.at)
    if (beyond >= 0.0).all():
        return None, None
    if (beyond <= 0.0).all():
        return prism, None
    points: list[Array] = []
    edge: list[Array] = []
    for k in range(len(beyond)):
        here, there = prism.profile[k], prism.profile[(k + 1) % len(beyond)]
        b0, b1 = float(beyond[k]), float(beyond[(k + 1) % len(beyond)])
        if b0 <= 0.0:
            points.append(here)
            if b0 == 0.0:
                edge.append(here)
        if b0 < 0.0 < b1 or b1 < 0.0 < b0:
            crossing = here + b0 / (b0 - b1) * (there - here)
            points.append(crossing)
            edge.append(crossing)
    first, last = edge[0], edge[-1]
    face = np.array(
        [(x, *p) for x, p in zip((*prism.along, *prism.along[::-1]), (first, first, last, last), strict=True)]
    )
    return replace(prism, profile=np.array(points)), face


def hatch(face: Array, apart: float) -> list[Array]:
    """Section lines (2, 3), ``apart`` mm from each other, on a convex ``face`` (k, 3) that stands across one axis."""
    axis = int(np.argmin(np.ptp(face, axis=0)))
    flat = np.delete(face, axis, axis=1)
    along = np.array([np.cos(HATCH_ANGLE), np.sin(HATCH_ANGLE)])
    across = np.array([-along[1], along[0]])
    off = flat @ across
    lines = []
    # lines lie on one lattice for all faces in a plane, so that they run on from one to the next
    for level in np.arange(np.ceil(off.min() / apart), np.floor(off.max() / apart) + 1.0) * apart:
        ends: list[float] = []
        for k in range(len(flat)):
            a, b = off[k] - level, off[(k + 1) % len(flat)] - level
            if (a < 0.0) != (b < 0.0):
                point = flat[k] + a / (a - b) * (flat[(k + 1) % len(flat)] - flat[k])
                ends.append(float(point @ along))
        if len(ends) == 2 and abs(ends[1] - ends[0]) > 1e-9:
            points = np.array([level * across + end * along for end in ends])
            lines.append(np.insert(points, axis, face[0, axis], axis=1))
    return lines
