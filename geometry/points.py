"""A wire drawn through points: smoothed by a spline, then made of pieces of constant curvature.

The spline is the cubic smoothing spline (de Boor, A Practical Guide to Splines, revised ed. 2001, chapter XIV;
from memory) in SciPy: of all curves the one that makes the squared distances from the points plus lambda times
the bending (the integral of the squared second derivative) least.  It rounds a sharp bend over a few tenths of a
millimetre and leaves straight runs beside it straight, so angles between runs, and the place where their lines
meet, are kept.  (A spline of the fewest knots, tried first, waves along straight runs: a tolerance of 0.02 mm
turned them by 0.2 deg.)  Lambda is the largest with no point farther away than its share of the tolerance.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.curves import Curve, pieces_along, start_axes
from geometry.pose import Pose
from geometry.wire_shapes import Piece

Array = NDArray[np.float64]

FEWEST = 5
"""Points that a cubic smoothing spline needs at least."""
# Of the tolerance, what the spline may take; the pieces of constant curvature get the rest.
SPLINE_SHARE = 0.95
# Lambda is sought by factors of ten and then by halving its logarithm; a hundredth of a percent is plenty.
MOST_DECADES = 40
HALVINGS = 12
# Points that turn more from one to the next do not say which way the wire goes.
LARGEST_TURN = math.radians(90.0)
TELLING_STEP = 4.0


def wire_through(
    points: ArrayLike, tolerance: float, twist: ArrayLike | None = None
) -> tuple[tuple[Piece, ...], Pose]:
    """A wire that passes every one of ``points`` (n, 3) in mm, in their order, within ``tolerance``.

    Gives its pieces, and where its start lies among the points: at the beginning of the spline, with its height
    as near as may be to +y.  Its section turns as little as it can from there on; ``twist`` (n,) in rad, where
    given, is the roll at each point beyond that.  Raises ValueError for fewer than five points, two equal ones in
    a row, a turn of more than 90 degrees at one point, a start along y, a tolerance not above zero, or one that
    cannot be met.
    """
    data = np.asarray(points, dtype=np.float64)
    if data.ndim != 2 or data.shape[1] != 3 or len(data) < FEWEST:
        raise ValueError(f"a wire needs at least {FEWEST} points (x, y, z): got an array {data.shape}")
    if not np.isfinite(data).all():
        raise ValueError("points need finite coordinates")
    if not (math.isfinite(tolerance) and tolerance > 0.0):
        raise ValueError(f"a tolerance must be a finite length above zero: got {tolerance!r} mm")
    steps = np.diff(data, axis=0)
    chords = np.linalg.norm(steps, axis=1)
    if not (chords > 0.0).all():
        i = int(np.argmin(chords))
        raise ValueError(f"points {i + 1} and {i + 2} are the same")
    # Scattered points close together may point anywhere: only steps well beyond the tolerance tell a direction.
    telling = np.minimum(chords[:-1], chords[1:]) > TELLING_STEP * tolerance
    cosines = (steps[:-1] * steps[1:]).sum(axis=1) / (chords[:-1] * chords[1:])
    cosines[~telling] = 1.0
    if (cosines < math.cos(LARGEST_TURN) - 1e-12).any():
        i = int(np.argmin(cosines))
        raise ValueError(
            f"the wire turns by {math.degrees(math.acos(max(cosines[i], -1.0))):.3g} deg at point {i + 2}: "
            "give more points there, in their order along the wire"
        )
    u = np.concatenate(([0.0], np.cumsum(chords)))
    curve = smoothed(data, u, SPLINE_SHARE * tolerance)
    roll = None
    if twist is not None:
        arcs, rolls = np.interp(u, curve.parameters, curve.arcs), np.asarray(twist, dtype=np.float64)

        def roll(s: Array) -> Array:
            return np.interp(s, arcs, rolls)

    start, tangent = curve.at(np.zeros(1))
    return (
        pieces_along(curve, (1.0 - SPLINE_SHARE) * tolerance, roll),
        Pose(start[0], start_axes(tangent[0])),
    )


def smoothed(points: Array, u: Array, farthest: float) -> Curve:
    """The smoothing spline through ``points`` (n, 3) at parameters ``u`` (n,), none farther than ``farthest``
    (mm) from the curve's place of its own parameter."""
    from scipy.interpolate import BSpline, make_smoothing_spline

    def spline(stiffness: float) -> BSpline:
        parts = [make_smoothing_spline(u, column, lam=stiffness) for column in points.T]
        return BSpline(parts[0].t, np.column_stack([part.c for part in parts]), parts[0].k)

    def near(stiffness: float) -> bool:
        return bool(np.linalg.norm(spline(stiffness)(u) - points, axis=1).max() <= farthest)

    # The cube of the points' spacing makes both parts of the sum alike.
    low = float(np.mean(np.diff(u))) ** 3
    ratio = 10.0
    for _ in range(MOST_DECADES):
        if near(low):
            break
        low /= ratio
    else:
        low = 0.0  # interpolation
    if low > 0.0:
        # Beyond the cube of the length the spline is as straight as it gets, and the equations lose their digits.
        while low * ratio < float(u[-1]) ** 3 and near(low * ratio):
            low *= ratio
        for _ in range(HALVINGS):
            ratio = math.sqrt(ratio)
            if low * ratio < float(u[-1]) ** 3 and near(low * ratio):
                low *= ratio
    best = spline(low)
    return Curve.of(best, best.derivative(), np.unique(best.t))
