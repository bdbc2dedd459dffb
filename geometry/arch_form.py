"""Arch forms: a plain mathematical curve through a given width and depth, bent in the first order.

Both are invented as a wire's form, not taken from a maker's chart; they are the usual mathematical idealisations
of a dental arch (half ellipse, parabola and higher powers; common practice, no source).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from geometry.curves import Curve, pieces_along
from geometry.drawn_shapes import Item, Mark, run_backwards

Array = NDArray[np.float64]

MIDLINE = "midline"
TOLERANCE = 0.005
"""mm: how far the wire may be from the curve; a hundredth of a wire's size."""
LARGEST_POWER = 8.0
SPANS = 64


def arch_form(
    width: float, depth: float, canine_width: float | None = None, canine_depth: float | None = None
) -> tuple[Item, ...]:
    """A wire lying in the occlusal plane, from the viewer's left round the front to the viewer's right.

    ``width`` lies between its two ends and ``depth`` from the line between them to the front (mm).  Alone they
    make half an ellipse, whose ends run straight back.  With ``canine_width`` and ``canine_depth`` (from the
    front back to the line between the canines) it is the power curve z = depth (1 - |2 x/width|^n) through the
    canines too; n = 2 is a parabola.  Left and right are exact mirror images; a station "midline" lies at the
    front.

    Raises ValueError for sizes not above zero, one canine size without the other, canines outside the arch, or
    a power outside 2 to 8 (below two the front would be a corner).
    """
    sizes = {"width": width, "depth": depth, "canine width": canine_width, "canine depth": canine_depth}
    for name, value in sizes.items():
        if value is not None and not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"the {name} of an arch must be a finite length above zero: got {value!r} mm")
    if (canine_width is None) != (canine_depth is None):
        raise ValueError("the width and the depth at the canines go together: give both or neither")
    a = 0.5 * width
    if canine_width is None or canine_depth is None:
        curve = _half_ellipse(a, depth)
    else:
        curve = _half_power(a, depth, _power(width, depth, canine_width, canine_depth))
    half = pieces_along(curve, 0.5 * TOLERANCE)
    return (*half, Mark(MIDLINE), *run_backwards(half))


def _power(width: float, depth: float, canine_width: float, canine_depth: float) -> float:
    if not (canine_width < width and canine_depth < depth):
        raise ValueError(
            f"the canines ({canine_width:.4g} mm wide, {canine_depth:.4g} mm behind the front) must lie inside "
            f"the arch ({width:.4g} mm wide, {depth:.4g} mm deep)"
        )
    power = math.log(canine_depth / depth) / math.log(canine_width / width)
    if not 2.0 <= power <= LARGEST_POWER:
        low, high = (depth * (canine_width / width) ** n for n in (LARGEST_POWER, 2.0))
        raise ValueError(
            f"for a smooth arch of this width and depth the canines lie {low:.3g} to {high:.3g} mm behind the "
            f"front: got {canine_depth:.4g} mm"
        )
    return power


def _half_ellipse(a: float, b: float) -> Curve:
    """From the end (-a, 0) to the front (0, b) of the x-z plane, by the angle at the centre of its circle."""

    def position(u: Array) -> Array:
        return np.column_stack((-a * np.cos(u), np.zeros_like(u), b * np.sin(u)))

    def velocity(u: Array) -> Array:
        return np.column_stack((a * np.sin(u), np.zeros_like(u), b * np.cos(u)))

    return Curve.of(position, velocity, np.linspace(0.0, 0.5 * math.pi, SPANS + 1))


def _half_power(a: float, b: float, n: float) -> Curve:
    """From the end (-a, 0) to the front (0, b) of the x-z plane, by the share of the half width passed."""

    def position(u: Array) -> Array:
        left = np.maximum(1.0 - u, 0.0)
        return np.column_stack((-a * left, np.zeros_like(u), b * (1.0 - left**n)))

    def velocity(u: Array) -> Array:
        left = np.maximum(1.0 - u, 0.0)
        return np.column_stack((np.full_like(u, a), np.zeros_like(u), b * n * left ** (n - 1.0)))

    return Curve.of(position, velocity, np.linspace(0.0, 1.0, SPANS + 1))
