"""Any smooth curve as pieces of constant curvature, close enough that a stated tolerance holds.

At every break the wire's frame is the curve's own: its tangent, and section axes carried along by the smallest
rotation from point to point (Bishop, There is more than one way to frame a curve, Am Math Monthly 82 (1975) 246;
from memory), turned about the tangent by a twist where one is given.  A piece that turns as much as the curve
leaves it by h^3/12 times the change of curvature per length, so halving the pieces where that is too much
converges quickly.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.centreline import advance, cross_matrices
from geometry.pose import frozen
from geometry.wire_shapes import Curved, PassiveShape, Piece, Straight

Array = NDArray[np.float64]
Along = Callable[[Array], Array]

# Table of arc length against parameter: subdivisions of each span, Gauss points on each of them.
SUBDIVISIONS = 16
GAUSS_POINTS = 5
# A piece's rotation is well defined far below half a turn.
LARGEST_FIRST_TURN = math.radians(20.0)
# Where within a piece its distance from the curve is looked at, and its roll, which may have corners.
LOOKS = np.array([0.25, 0.5, 0.75, 1.0])
ROLL_LOOKS = np.linspace(0.0, 1.0, 33)[1:-1]
ROLL_TOLERANCE = 1e-3
"""rad: how far a section may be rolled from where a given twist has it; 0.06 deg, of plays of several."""
# Wire axes along +y leave no height axis near +y.
STEEPEST_START = 0.99
MOST_ROUNDS = 60
MOST_PIECES = 5000


@dataclass(frozen=True, slots=True)
class Curve:
    """A smooth curve in space by arc length."""

    position: Along
    """Points (n, 3) in mm at parameters (n,)."""
    velocity: Along
    """Their derivatives (n, 3) by the parameter, nowhere zero."""
    parameters: Array
    """The table: parameters (m,), growing."""
    arcs: Array
    """Arc lengths (m,) in mm at them, from zero."""

    @classmethod
    def of(cls, position: Along, velocity: Along, spans: ArrayLike) -> Curve:
        """The curve over ``spans``, growing parameters between which it is as smooth as can be.

        Raises ValueError where the curve stands still.
        """
        ends = np.asarray(spans, dtype=np.float64)
        parts = np.linspace(0.0, 1.0, SUBDIVISIONS, endpoint=False)
        table = np.append((ends[:-1, None] + np.diff(ends)[:, None] * parts).ravel(), ends[-1])
        nodes, weights = np.polynomial.legendre.leggauss(GAUSS_POINTS)
        half = 0.5 * np.diff(table)
        places = (0.5 * (table[:-1] + table[1:]))[:, None] + half[:, None] * nodes
        speeds = np.linalg.norm(velocity(places.ravel()), axis=1).reshape(places.shape)
        arcs = np.concatenate(([0.0], np.cumsum(half * (speeds @ weights))))
        if not (np.isfinite(arcs).all() and (np.diff(arcs) > 0.0).all()):
            raise ValueError("the curve stands still, or is not finite, somewhere")
        return cls(position, velocity, frozen(table), frozen(arcs))

    @property
    def length(self) -> float:
        """mm."""
        return float(self.arcs[-1])

    def at(self, s: ArrayLike) -> tuple[Array, Array]:
        """Points (n, 3) in mm and unit tangents (n, 3) at arc lengths ``s`` (n,) in mm."""
        from scipy.interpolate import CubicHermiteSpline

        pace = 1.0 / np.linalg.norm(self.velocity(self.parameters), axis=1)
        u = np.clip(
            CubicHermiteSpline(self.arcs, self.parameters, pace)(np.asarray(s, dtype=np.float64)),
            self.parameters[0],
            self.parameters[-1],
        )
        velocity = self.velocity(u)
        return self.position(u), velocity / np.linalg.norm(velocity, axis=1)[:, None]

    def total_turn(self) -> float:
        """How far the tangent turns in all, whatever the sense, rad."""
        _, tangents = self.at(self.arcs)
        steps = np.linalg.norm(np.diff(tangents, axis=0), axis=1)
        return float((2.0 * np.arcsin(np.minimum(0.5 * steps, 1.0))).sum())

    def carried_axes(self) -> Array:
        """Section axes (m, 3, 3) at the table's arc lengths, carried along from ``start_axes``.

        The steps of the table are so small that smallest rotations one after the other follow Bishop's frame.
        """
        _, tangents = self.at(self.arcs)
        turns = smallest_turns(tangents[:-1], tangents[1:])
        axes = np.empty((len(tangents), 3, 3))
        axes[0] = start_axes(tangents[0])
        for i, turn in enumerate(turns):
            axes[i + 1] = turn @ axes[i]
        return axes


def smallest_turns(before: Array, after: Array) -> Array:
    """The smallest rotations (n, 3, 3) that take unit vectors ``before`` (n, 3) to ``after`` (n, 3).

    1 + K + K^2/(1 + cos), K the cross product with their own cross product: Rodrigues (1840).  Not for opposite
    vectors.
    """
    cross = cross_matrices(np.cross(before, after))
    cosine = (before * after).sum(axis=1)
    turns: Array = np.eye(3) + cross + cross @ cross / (1.0 + cosine)[:, None, None]
    return turns


def start_axes(tangent: ArrayLike) -> Array:
    """Axes (3, 3) of a wire whose tangent is ``tangent``: its height as near as may be to +y.

    Raises ValueError for a tangent within 8 degrees of +y or -y.
    """
    d1 = np.asarray(tangent, dtype=np.float64)
    if abs(d1[1]) > STEEPEST_START:
        raise ValueError(
            "the wire begins along y, so nothing says where its height points: "
            "turn the axes so that it begins across y"
        )
    d2 = np.array([0.0, 1.0, 0.0]) - d1[1] * d1
    d2 /= np.linalg.norm(d2)
    return np.column_stack((d1, d2, np.cross(d1, d2)))


def pieces_along(curve: Curve, tolerance: float, twist: Along | None = None) -> tuple[Piece, ...]:
    """Pieces of constant curvature that stay within ``tolerance`` (mm) of ``curve``, at the same arc lengths.

    The wire's height begins as ``start_axes`` says.  ``twist`` gives the roll (n,) in rad about the tangent at
    arc lengths (n,) in mm, beyond the smallest rotation; it counts from its value at the start and is met within
    ``ROLL_TOLERANCE``.  Raises ValueError where the tolerance is not above zero or cannot be met.
    """
    if not (math.isfinite(tolerance) and tolerance > 0.0):
        raise ValueError(f"a tolerance must be a finite length above zero: got {tolerance!r} mm")
    first = max(2, math.ceil(curve.total_turn() / LARGEST_FIRST_TURN))
    breaks = np.linspace(0.0, curve.length, min(first, MOST_PIECES) + 1)
    allowed = 0.5 * tolerance
    carried = curve.carried_axes()
    for _ in range(MOST_ROUNDS):
        pieces, leaves = _chain(curve, carried, breaks, twist)
        coarse = (leaves > allowed) | (_roll_leaves(breaks, twist) > ROLL_TOLERANCE)
        if coarse.any():
            middles = 0.5 * (breaks[:-1] + breaks[1:])[coarse]
            breaks = np.sort(np.concatenate((breaks, middles)))
        elif distance(pieces, curve) <= tolerance:
            return pieces
        else:
            allowed *= 0.5
        if len(breaks) > MOST_PIECES:
            break
    raise ValueError(
        f"no {MOST_PIECES} pieces of constant curvature follow the curve within {tolerance:.3g} mm: "
        "state a larger tolerance"
    )


def distance(pieces: tuple[Piece, ...], curve: Curve) -> float:
    """The largest distance (mm) between wire and curve at the same arc length, both begun alike."""
    shape = PassiveShape(pieces)
    places = (shape.breaks[:-1, None] + np.diff(shape.breaks)[:, None] * LOOKS).ravel()
    places = np.minimum(places, min(shape.length, curve.length))
    points, tangents = curve.at(np.append(0.0, places))
    wire = shape.frames(places)[0] @ start_axes(tangents[0]).T + points[0]
    return float(np.linalg.norm(wire - points[1:], axis=1).max())


def _roll_leaves(breaks: Array, twist: Along | None) -> Array:
    """How far (n,) rad an even twist between ``breaks`` (n + 1,) leaves the one given."""
    lengths = np.diff(breaks)
    leaves = np.zeros(len(lengths))
    if twist is None:
        return leaves
    rolls = twist(breaks)
    for look in ROLL_LOOKS:
        even = rolls[:-1] + look * np.diff(rolls)
        leaves = np.maximum(leaves, np.abs(twist(breaks[:-1] + look * lengths) - even))
    return leaves


def _chain(
    curve: Curve, carried: Array, breaks: Array, twist: Along | None
) -> tuple[tuple[Piece, ...], Array]:
    """Pieces between ``breaks`` (n + 1,) and how far (n,) mm each leaves the curve it starts on."""
    from scipy.spatial.transform import Rotation

    points, tangents = curve.at(breaks)
    lengths = np.diff(breaks)
    before = np.clip(np.searchsorted(curve.arcs, breaks, side="right") - 1, 0, len(curve.arcs) - 1)
    axes = smallest_turns(carried[before, :, 0], tangents) @ carried[before]
    if twist is not None:
        rolls = twist(breaks)
        axes = axes @ Rotation.from_rotvec(np.outer(rolls - rolls[0], (1.0, 0.0, 0.0))).as_matrix()
    starts = axes[:-1]
    turns = Rotation.from_matrix(np.swapaxes(starts, 1, 2) @ axes[1:]).as_rotvec()
    curvatures = turns / lengths[:, None]
    leaves = np.zeros(len(lengths))
    for look in LOOKS:
        moves, _ = advance(curvatures, look * lengths)
        there = points[:-1] + (starts @ moves[:, :, None])[:, :, 0]
        leaves = np.maximum(leaves, np.linalg.norm(there - curve.at(breaks[:-1] + look * lengths)[0], axis=1))
    pieces: list[Piece] = [
        Curved((float(k[0]), float(k[1]), float(k[2])), float(length)) if k.any() else Straight(float(length))
        for k, length in zip(curvatures, lengths, strict=True)
    ]
    return tuple(pieces), leaves
