"""The problems on which scripts/peers compares, and their exact answers.

Lengths, forces and stiffnesses are in the units in which each problem is published, or in those of a wire of length 1
and bending stiffness 1.  No answer here uses the program's own solver: elliptic integrals, or the equations of the
exact rod as a boundary-value problem solved by collocation (scipy's `solve_bvp`, relative residual 1e-9).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_bvp
from scipy.optimize import brentq
from scipy.special import ellipe, ellipeinc, ellipk, ellipkinc

from geometry.wire_shapes import Bend, PassiveShape, Straight

Array = NDArray[np.float64]

SLENDERNESS = 2000.0
"""Length over radius of gyration of the two plane problems, whose exact answers know no stretch and no shear."""
SHEAR_SHARE = 2.6  # EA over kGA
ELASTICA_LOAD = 10.0  # P L^2/EI
# The 45-degree bend.
RADIUS, FORCE, MODULUS = 100.0, 600.0, 1e7
AREA, SECOND_MOMENT, POLAR_MOMENT, SHEAR_AREA = 1.0, 1.0 / 12.0, 1.0 / 6.0, 5.0 / 6.0
# The V-bend: its middle lies at three tenths of the wire.
BEND_ANGLE, BEND_PLACE, BEND_RADIUS = math.radians(90.0), 0.3, 0.03
BEND_SHARE, BEND_LEAST = 0.2, 3
"""Share of all elements that the V's own short arc gets, and how many at least: 30 deg each.  Of 0.15, 0.2, 0.25, 0.33
and 0.4 this one suits the packages with straight elements best, and the others no worse."""
SHORT = 0.1
"""A piece shorter than this share of the wire is such an arc."""
TOLERANCE = 1e-9


def elastica(load: float) -> Array:
    """Displacement (3,) of the end, over L, of a cantilever under the dead load P across it; ``load``: P L^2/EI.

    Bisshopp & Drucker, Quart. Appl. Math. 3 (1945) 272, by elliptic integrals.  With m = (1 + sin t)/2 for the
    end's angle t and sin b = 1/sqrt(2 m): a = sqrt(load) = K(m) - F(b, m), across 1 - 2 (E(m) - E(b, m))/a, along
    sqrt(2 sin t)/a - 1.
    """
    root = math.sqrt(load)

    def begin(m: float) -> float:
        return math.asin(1.0 / math.sqrt(2.0 * m))

    def off(angle: float) -> float:
        m = 0.5 * (1.0 + math.sin(angle))
        return float(ellipk(m) - ellipkinc(begin(m), m)) - root

    angle = float(brentq(off, 1e-9, 0.5 * math.pi - 1e-12, xtol=1e-15, rtol=1e-15))
    m = 0.5 * (1.0 + math.sin(angle))
    across = 1.0 - 2.0 / root * float(ellipe(m) - ellipeinc(begin(m), m))
    return np.array([math.sqrt(2.0 * math.sin(angle)) / root - 1.0, across, 0.0])


def bend_45(force: float, polar_moment: float, shear: bool) -> Array:
    """Displacement (3,) of the end of the 45-degree bend under a dead ``force`` across its plane.

    Bathe & Bolourchi, Int. J. Numer. Meth. Engng 14 (1979) 961: radius 100, unit square section, E = 1e7, no Poisson's
    ratio.  Exact rod: x' = R e, q' = q (0, k)/2, m' = -x' x F; e = (1, 0, 0) + S^-1 R^T F, k = k0 + C^-1 R^T m.
    ``shear``: with k G A = 5e6 5/6; else the sections stay at right angles to the wire.
    """
    # Lengths are counted in radii here, forces in EI over the radius squared: all numbers of the order of one.
    length, bending = 0.25 * math.pi, MODULUS * SECOND_MOMENT
    unit = bending / RADIUS**2
    give = unit / (0.5 * MODULUS * SHEAR_AREA * AREA) if shear else 0.0
    stretch = np.array([unit / (MODULUS * AREA), give, give])[:, None]
    flexibility = np.array([bending / (0.5 * MODULUS * polar_moment), 1.0, 1.0])[:, None]
    tangent, passive = np.array([[1.0], [0.0], [0.0]]), np.array([[0.0], [0.0], [1.0]])

    def rates(load: float) -> Callable[[Array, Array], Array]:
        dead = np.array([0.0, 0.0, load])

        def rate(_: Array, y: Array) -> Array:
            axes = _rotations(y[3:7])
            local_force = np.einsum("jis,j->is", axes, dead)
            local_moment = np.einsum("jis,js->is", axes, y[7:])
            along = np.einsum("ijs,js->is", axes, tangent + stretch * local_force)
            turn = passive + flexibility * local_moment
            w, v = y[3], y[4:7]
            spin = 0.5 * np.vstack((-(v * turn).sum(axis=0), w * turn + np.cross(v, turn, axis=0)))
            moment = -np.cross(along, dead[:, None], axis=0)
            return np.vstack((along, spin, moment)) * length

        return rate

    def ends(first: Array, last: Array) -> Array:
        return np.concatenate((first[:3], first[3:7] - (1.0, 0.0, 0.0, 0.0), last[7:]))

    places = np.linspace(0.0, 1.0, 41)
    half = 0.125 * math.pi * places
    state = np.zeros((10, places.size))
    state[0], state[1] = np.sin(2.0 * half), 1.0 - np.cos(2.0 * half)
    state[3], state[6] = np.cos(half), np.sin(half)
    begin = state[:3, -1].copy()
    for share in (0.1, 0.25, 0.5, 0.75, 1.0):
        found = solve_bvp(rates(share * force / unit), ends, places, state, tol=TOLERANCE, max_nodes=100_000)
        places, state = _solved(found)
    return np.asarray(RADIUS * (state[:3, -1] - begin))


def v_bend(angle: float, place: float, radius: float) -> Array:
    """Force times length and both moments (3,) of a wire with a V-bend between two clamps; length and EI are 1.

    The bend, an arc of ``radius`` turning up by ``angle`` (rad), has its middle at ``place``.  Both ends are held level
    and at one height; the second may slide along.  What is returned acts on the wire behind a cut: the force across
    at the second end, and the moment there before it and at the first end behind it: (V, M(0), M(1)).  Rod without
    stretch and shear: y' = sin t, t' = k0 + M, M' = -V cos t, in three parts, since k0 jumps.
    """
    share = 0.5 * radius * angle
    lengths = np.array([place - share, 2.0 * share, 1.0 - place - share])[:, None]

    def rates(turn: float) -> Callable[[Array, Array, Array], Array]:
        passive = np.array([0.0, turn / (2.0 * share), 0.0])[:, None]

        def rate(_: Array, y: Array, force: Array) -> Array:
            slope, moment = y[3:6], y[6:]
            parts = (np.sin(slope), passive + moment, -force[0] * np.cos(slope))
            return np.vstack([lengths * part for part in parts])

        return rate

    def ends(first: Array, last: Array, _: Array) -> Array:
        begin, end = first.reshape(3, 3), last.reshape(3, 3)
        joined = (begin[:, 1:] - end[:, :-1]).ravel()
        return np.concatenate((joined, begin[:2, 0], end[:2, 2]))

    places, state, force = np.linspace(0.0, 1.0, 21), np.zeros((9, 21)), np.zeros(1)
    steps = max(1, math.ceil(angle / 0.2))
    for number in range(1, steps + 1):
        turn = angle * number / steps
        found = solve_bvp(rates(turn), ends, places, state, p=force, tol=TOLERANCE, max_nodes=100_000)
        places, state = _solved(found)
        force = found.p
    return np.array([force[0], state[6, 0], state[8, -1]])


def v_bend_of_small_angle(angle: float, place: float) -> Array:
    """The same three for a small ``angle``, in closed form; any handbook's beam with a kink.

    The curvature M0 - V s closes the angle and the height: M0 - V/2 = -a, M0/2 - V/6 = -a (1 - x).
    """
    return angle * np.array([12.0 * place - 6.0, 6.0 * place - 4.0, 2.0 - 6.0 * place])


def _solved(found: Any) -> tuple[Array, Array]:
    """Places and states of a boundary-value problem that came out."""
    if not found.success:
        raise RuntimeError(f"the exact rod was not found: {found.message}")
    return found.x, found.y


def _rotations(quaternions: Array) -> Array:
    """Matrices (3, 3, k) of unit quaternions (4, k), real part first."""
    w, x, y, z = quaternions / np.linalg.norm(quaternions, axis=0)
    return 2.0 * np.array(
        [
            [w * w + x * x - 0.5, x * y - w * z, x * z + w * y],
            [x * y + w * z, w * w + y * y - 0.5, y * z - w * x],
            [x * z - w * y, y * z + w * x, w * w + z * z - 0.5],
        ]
    )


@dataclass(frozen=True, slots=True)
class Mesh:
    """Nodes along the passive wire."""

    arcs: Array
    """(n,) arc lengths."""
    positions: Array
    """(n, 3)."""
    axes: Array
    """(n, 3, 3), columns: tangent, height, depth."""

    @property
    def headings(self) -> Array:
        """(n,) rad: angle of the tangent in the x-y plane, in which all passive wires lie."""
        return np.arctan2(self.axes[:, 1, 0], self.axes[:, 0, 0])


@dataclass(frozen=True, slots=True)
class Task:
    """A wire clamped at its start, with a dead force at its end or with its end held level."""

    key: str
    title: str
    compared: str
    """What the error is an error of."""
    shape: Callable[[], PassiveShape]
    """Makes the passive shape; called in every run, as a user would."""
    stiffness: tuple[float, float, float, float, float, float]
    """EA, kGA twice, GJ, EI twice."""
    tip: tuple[float, float, float] | None
    """Dead force at the end; None: the end is brought to the height and direction of the start, free along it."""
    planar: bool
    answer: Callable[[bool], Array]
    """Exact answer, with or without shear."""

    def exact(self, shear: bool) -> Array:
        """What the answer should be for elements with or without ``shear``."""
        return _answer(self.answer, shear)

    def error(self, found: Array, shear: bool) -> float:
        """Relative error of an answer (3,)."""
        exact = self.exact(shear)
        return float(np.linalg.norm(found - exact) / np.linalg.norm(exact))

    def mesh(self, elements: int) -> Mesh:
        """So many elements, even in every piece of the wire.

        Straight elements must be many in a sharp bend, so it gets `BEND_SHARE` of them."""
        shape = self.shape()
        counts = _shares(np.diff(shape.breaks), elements)
        parts = [
            np.linspace(begin, end, count, endpoint=False)
            for begin, end, count in zip(shape.breaks[:-1], shape.breaks[1:], counts, strict=True)
        ]
        arcs = np.concatenate((*parts, shape.breaks[-1:]))
        return Mesh(arcs, *shape.frames(arcs))


@cache
def _answer(answer: Callable[[bool], Array], shear: bool) -> Array:
    return answer(shear)


def _shares(lengths: Array, elements: int) -> list[int]:
    """Elements of each piece: a short one gets its share first, the others what is left, in proportion."""
    short = lengths < SHORT * lengths.sum()
    sharp = max(BEND_LEAST, round(BEND_SHARE * elements))
    counts = [sharp if one else 1 for one in short]
    if sum(counts) > elements:
        raise ValueError(f"{elements} elements are too few for {lengths.size} pieces")
    while sum(counts) < elements:
        counts[int(np.argmax(np.where(short, 0.0, lengths) / np.array(counts)))] += 1
    return counts


def _straight() -> PassiveShape:
    return PassiveShape((Straight(1.0),))


def _arc() -> PassiveShape:
    return PassiveShape((Bend(0.25 * math.pi, "second", RADIUS),))


def _vee() -> PassiveShape:
    share = 0.5 * BEND_RADIUS * BEND_ANGLE
    bend = Bend(BEND_ANGLE, "second", BEND_RADIUS)
    return PassiveShape((Straight(BEND_PLACE - share), bend, Straight(1.0 - BEND_PLACE - share)))


_AXIAL = SLENDERNESS**2
_SLENDER = (_AXIAL, _AXIAL / SHEAR_SHARE, _AXIAL / SHEAR_SHARE, 1.0, 1.0, 1.0)
_SHEAR = 0.5 * MODULUS * SHEAR_AREA * AREA
_SQUARE = (
    MODULUS * AREA,
    _SHEAR,
    _SHEAR,
    0.5 * MODULUS * POLAR_MOMENT,
    MODULUS * SECOND_MOMENT,
    MODULUS * SECOND_MOMENT,
)

TASKS = (
    Task(
        "elastica",
        f"elastica, PL²/EI = {ELASTICA_LOAD:g}",
        "displacement of the end",
        _straight,
        _SLENDER,
        (0.0, ELASTICA_LOAD, 0.0),
        True,
        lambda shear: elastica(ELASTICA_LOAD),
    ),
    Task(
        "bend-45",
        "45-degree bend, P = 600",
        "displacement of the end",
        _arc,
        _SQUARE,
        (0.0, 0.0, FORCE),
        False,
        lambda shear: bend_45(FORCE, POLAR_MOMENT, shear),
    ),
    Task(
        "v-bend",
        f"clamped V-bend, {math.degrees(BEND_ANGLE):.0f} deg",
        "force x length and both moments",
        _vee,
        _SLENDER,
        None,
        True,
        lambda shear: v_bend(BEND_ANGLE, BEND_PLACE, BEND_RADIUS),
    ),
)
