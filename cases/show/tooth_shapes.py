"""Simple tooth shapes for scenes, invented from average sizes: a crown and its root or roots, smooth and closed.

A shape is the zero level of a field over (u, h, v), mm: u to mesial, h to occlusal from the cervical line, v to facial
of the long axis.  A body is a loft: ellipses across the long axis whose half breadths and middle follow smooth curves
along it.  Cusps are hollows in its upper end, roots further lofts that melt into it.  No shape is that of a real tooth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from cases.tooth_sizes import FURCATION, ToothBreadths, ToothSize, breadths_of, size_of
from geometry.pose import frozen
from geometry.tooth import Tooth

Array = NDArray[np.float64]
Knots = tuple[tuple[float, float], ...]
"""(share of the height, value)."""

SPACING = 0.3
"""mm between the points of a field."""
EDGE = 0.9
"""mm of field beyond the shape."""
MELT = 1.6
"""mm over which roots melt into their trunk."""
LEAST_HALF = 0.02
"""mm: half breadth at which a loft has come to its end."""
FLATTER = 0.15
"""mm by which the facial side in the middle of the crown stands behind the one at the cervix."""
CUSP_DEPTH = 1.5
"""mm from cusp to groove."""
# Share of the crown's height from which cusps show.
_CUSPS_FROM = 0.45
# Half breadths along the crown, 0 at the cervical line and 1 at edge or cusp: shares of the way from the half breadth
# at the cervix (0) to the crown's greatest (1), then down to the end, as shares of the greatest.
_WIDEST = {"incisor": 0.75, "canine": 0.6, "premolar": 0.6, "molar": 0.55}
_AT_EDGE = {"incisor": 0.93, "canine": 0.45, "premolar": 0.8, "molar": 0.9}
# Where the end of the crown begins to close.
_CLOSING = {"incisor": 0.97, "canine": 0.9, "premolar": 0.94, "molar": 0.96}
# Thickness of the edge, and how far its middle stands towards facial: shares of the crown's faciolingual half.
_EDGE = {"incisor": (0.16, 0.3), "canine": (0.25, 0.25), "premolar": (0.72, 0.0), "molar": (0.85, 0.0)}
# (u, v) of the cusps, in shares of the half breadths there.
_CUSPS: dict[str, tuple[tuple[float, float], ...]] = {
    "premolar": ((0.0, 0.52), (0.0, -0.5)),
    "molar": ((0.45, 0.5), (-0.45, 0.5), (0.45, -0.5), (-0.45, -0.5)),
}
_CUSP_BREADTH = 0.5
# Of a root of several: (u, v) where it leaves the trunk and at its apex, half breadths there; shares of the cervix's.
_ROOTS = {
    "upper": (
        ((0.42, 0.4), (0.75, 0.6), (0.36, 0.38)),
        ((-0.42, 0.4), (-0.75, 0.5), (0.34, 0.36)),
        ((0.0, -0.45), (0.0, -0.9), (0.42, 0.38)),
    ),
    "lower": (((0.46, 0.0), (0.6, 0.0), (0.36, 0.7)), ((-0.46, 0.0), (-0.75, 0.0), (0.34, 0.62))),
}


@dataclass(frozen=True, slots=True)
class Loft:
    """Ellipses across the long axis between two heights; curves over the height, mm."""

    ends: tuple[float, float]
    mesiodistal: PchipInterpolator
    faciolingual: PchipInterpolator
    """Half breadths."""
    mesial: PchipInterpolator
    facial: PchipInterpolator
    """Where its middle stands."""

    def field(self, u: Array, h: Array, v: Array) -> Array:
        """About the distance from its surface, mm, below zero inside; arrays of one shape."""
        low, high = self.ends
        at = np.clip(h, low, high)
        a, b = np.maximum(self.mesiodistal(at), LEAST_HALF), np.maximum(self.faciolingual(at), LEAST_HALF)
        radius = np.hypot((u - self.mesial(at)) / a, (v - self.facial(at)) / b)
        beside = (radius - 1.0) * np.minimum(a, b)
        beyond = np.maximum(low - h, h - high)
        return np.asarray(np.where(beyond > 0.0, np.hypot(np.maximum(beside, 0.0), beyond), beside))


@dataclass(frozen=True, slots=True)
class ToothShape:
    """A tooth's field on a regular lattice in (u, h, v)."""

    origin: Array
    """(3,) mm: its lowest corner."""
    values: Array
    """(nu, nh, nv) mm; below zero inside."""


def facial_side(size: ToothSize) -> float:
    """mm from the long axis to the facial side in the middle of the crown, where an attachment stands."""
    return 0.5 * size.cervix - FLATTER


def kind_of(tooth: Tooth) -> str:
    """Incisor, canine, premolar or molar."""
    place = int(tooth.number[1])
    return "incisor" if place <= 2 else "canine" if place == 3 else "premolar" if place <= 5 else "molar"


@lru_cache(maxsize=64)
def tooth_shape(tooth: Tooth, breadth: float = 1.0) -> ToothShape | None:
    """The shape of a permanent tooth, its mesiodistal breadths times ``breadth``.  None for a deciduous one."""
    size, breadths = size_of(tooth), breadths_of(tooth)
    if size is None or breadths is None:
        return None
    kind, face = kind_of(tooth), facial_side(size)
    lofts = [_crown_and_trunk(kind, tooth.arch, size, breadths, breadth)]
    if kind == "molar":
        lofts += _roots(tooth.arch, size, breadths, breadth)
    reach_u = 0.5 * breadth * breadths.crown_mesiodistal * 1.15 + EDGE
    reach_v = max(face, 0.5 * breadths.crown_faciolingual) * 1.1 + EDGE
    lattice = [np.arange(-reach, reach + SPACING, SPACING) for reach in (reach_u, reach_v)]
    heights = np.arange(-size.root - EDGE, size.crown + EDGE + SPACING, SPACING)
    u, h, v = np.meshgrid(lattice[0], heights, lattice[1], indexing="ij")
    sunk = h + _hollow(kind, lofts[0], size, u, h, v)
    values = lofts[0].field(u, sunk, v)
    for root in lofts[1:]:
        values = _melted(values, root.field(u, h, v))
    return ToothShape(frozen([u[0, 0, 0], h[0, 0, 0], v[0, 0, 0]]), frozen(values))


def _crown_and_trunk(kind: str, arch: str, size: ToothSize, breadths: ToothBreadths, breadth: float) -> Loft:
    crown, face = size.crown, facial_side(size)
    a0, a1 = 0.5 * breadth * breadths.cervix_mesiodistal, 0.5 * breadth * breadths.crown_mesiodistal
    b0 = 0.5 * size.cervix
    thin, forward = _EDGE[kind]
    half = 0.5 * breadths.crown_faciolingual
    # Facial and lingual side of the crown, from the long axis.
    edge_middle = forward * half
    facial = [(0.0, b0), (0.5, face), (1.0, min(edge_middle + thin * half, face))]
    lingual = [
        (0.0, b0),
        (0.5 if kind in _CUSPS else 0.25, max(2.0 * half - face, b0)),
        (1.0, thin * half - edge_middle),
    ]
    end = size.root
    below: Knots = ((-1.0, 0.0), (-0.985, 0.22), (-0.8, 0.5), (-0.4, 0.84))
    if kind == "molar":
        # the trunk ends a little beyond the furcation, inside the roots
        end = FURCATION[arch] + 2.0
        below = ((-1.0, 0.0), (-0.9, 0.3), (-0.6, 0.78), (-0.3, 0.94))
    widest, closing = _WIDEST[kind], _CLOSING[kind]
    a = [(share * end, value * a0) for share, value in below]
    a += [(0.0, a0), (widest * crown, a1), (closing * crown, _AT_EDGE[kind] * a1), (crown, 0.0)]
    heights = np.array([share * end for share, _ in below] + [0.0])
    root_half = np.array([value * b0 for _, value in below] + [b0])
    sides = [
        _curve([*zip(heights, root_half, strict=True), *((s * crown, w) for s, w in side[1:])])
        for side in (facial, lingual)
    ]
    at = np.unique(np.concatenate((heights, np.linspace(0.0, crown, 25), [closing * crown])))
    front, back = sides[0](at), sides[1](at)
    b = 0.5 * (front + back)
    b[at > closing * crown] *= np.sqrt(
        np.clip((crown - at[at > closing * crown]) / ((1.0 - closing) * crown), 0.0, 1.0)
    )
    return Loft(
        (-end, crown),
        _curve(a),
        PchipInterpolator(at, b),
        _curve([(-end, 0.0), (crown, 0.0)]),
        PchipInterpolator(at, 0.5 * (front - back)),
    )


def _roots(arch: str, size: ToothSize, breadths: ToothBreadths, breadth: float) -> list[Loft]:
    a0, b0 = 0.5 * breadth * breadths.cervix_mesiodistal, 0.5 * size.cervix
    out = []
    for (u0, v0), (u1, v1), (a, b) in _ROOTS[arch]:
        # its flat upper end lies hidden in the crown
        top, apex = 0.25 * size.crown, -size.root
        taper: Knots = ((1.0, 0.0), (0.985, 0.25), (0.8, 0.6), (0.45, 0.9), (0.0, 1.0))
        heights = [(top + share * (apex - top), value) for share, value in taper]
        out.append(
            Loft(
                (apex, top),
                _curve([(h, a * a0 * value) for h, value in heights]),
                _curve([(h, b * b0 * value) for h, value in heights]),
                _curve([(apex, u1 * a0), (top, u0 * a0)]),
                _curve([(apex, v1 * b0), (top, v0 * b0)]),
            )
        )
    return out


def _curve(knots: Sequence[tuple[float, float]]) -> PchipInterpolator:
    heights, values = np.array(knots, dtype=np.float64).T
    return PchipInterpolator(heights, values)


def _hollow(kind: str, crown: Loft, size: ToothSize, u: Array, h: Array, v: Array) -> Array:
    """How much deeper (mm) the end of the crown lies than its cusps."""
    cusps = _CUSPS.get(kind)
    if cusps is None:
        return np.zeros_like(u)
    at = 0.85 * size.crown
    across = u / float(crown.mesiodistal(at))
    along = (v - float(crown.facial(at))) / float(crown.faciolingual(at))
    near = np.max(
        [np.exp(-((across - p) ** 2 + (along - q) ** 2) / _CUSP_BREADTH**2) for p, q in cusps], axis=0
    )
    share = np.clip((h / size.crown - _CUSPS_FROM) / (1.0 - _CUSPS_FROM), 0.0, 1.0)
    return np.asarray(CUSP_DEPTH * (1.0 - near) * share**2 * (3.0 - 2.0 * share))


def _melted(one: Array, other: Array) -> Array:
    """The union of two fields, its crease rounded over about ``MELT`` mm (polynomial smooth minimum)."""
    share = np.clip(0.5 + 0.5 * (other - one) / MELT, 0.0, 1.0)
    return other + (one - other) * share - MELT * share * (1.0 - share)
