"""A cantilever as an exact rod, by shooting: a witness that shares no element, mesh or solver with the program.

Equations of Reissner's rod in space as in Simo, Comput. Methods Appl. Mech. Engng 49 (1985) 55; s the arc length, R the
section's axes as columns, tangent first, e and k stretch and shears, twist and curvatures:

    x' = R (e1 + e),  R' = R (k0 + k)~,  e = compliance R^T F,  k = compliance R^T (M0 - x cross F)

F is the dead force at the end; the moment M0 at the clamp is found so that the end's moment is the dead one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import root

Array = NDArray[np.float64]

ACCURACY = 1e-12  # of the integration, relative


@dataclass(frozen=True, slots=True)
class Rod:
    """A rod of constant passive curvature from the origin along x, held there."""

    stiffness: Array
    """(6,) EA, kGA, kGA, GJ, EI_y, EI_z."""
    length: float
    curvature: Array
    """(3,) twist, first- and second-order curvature of the passive rod."""


@dataclass(frozen=True, slots=True)
class Shape:
    """The loaded rod at some arc lengths."""

    positions: Array
    """(k, 3)."""
    axes: Array
    """(k, 3, 3)."""
    resultants: Array
    """(k, 6) section force and moment in the section's axes."""


def loaded(rod: Rod, tip: ArrayLike, arcs: ArrayLike, steps: int = 4) -> Shape:
    """The rod under the dead force and moment ``tip`` (6,) at its end, seen at increasing ``arcs`` (k,).

    The load grows in ``steps``; raises ArithmeticError where the clamp's moment is not found.
    """
    full = np.asarray(tip, dtype=np.float64)
    places = np.asarray(arcs, dtype=np.float64)
    moment = np.zeros(3)
    for number in range(1, steps + 1):
        moment = _clamp_moment(rod, full * (number / steps), moment * number / max(number - 1, 1))
    state = _integrated(rod, full[:3], moment, places)
    positions, axes = state[:3].T, np.moveaxis(state[3:].reshape(3, 3, -1), 2, 0)
    inward = np.swapaxes(axes, 1, 2)
    carried = moment - np.cross(positions, full[:3])
    forces, moments = inward @ full[:3], (inward @ carried[:, :, None])[:, :, 0]
    return Shape(positions, axes, np.hstack((forces, moments)))


def sideways_determinant(rod: Rod, tip: ArrayLike, share: float = 1e-6) -> float:
    """Of a rod bent in the plane of x and y: how the end's moment out of balance follows the clamp's across the plane.

    Changes its sign where the rod leaves its plane.  Central differences by ``share`` of the clamp's moment."""
    load = np.asarray(tip, dtype=np.float64)
    moment = _clamp_moment(rod, load, np.zeros(3))
    step = share * float(np.abs(moment).max())
    columns = []
    for axis in np.eye(3)[:2]:
        off = []
        for changed in (moment + step * axis, moment - step * axis):
            end = _integrated(rod, load[:3], changed, np.array([rod.length]))[:3, -1]
            off.append((changed - np.cross(end, load[:3]))[:2])
        columns.append((off[0] - off[1]) / (2.0 * step))
    return float(np.linalg.det(np.array(columns)))


def _clamp_moment(rod: Rod, tip: Array, guess: Array) -> Array:
    """Moment (3,) of the clamp on the rod's section there."""
    size = float(np.abs(tip[3:]).max() + np.abs(tip[:3]).max() * rod.length)

    def left_over(share: Array) -> Array:
        moment = share * size
        end = _integrated(rod, tip[:3], moment, np.array([rod.length]))[:3, -1]
        return np.asarray((moment - np.cross(end, tip[:3]) - tip[3:]) / size)

    found = root(left_over, guess / size, method="hybr", options={"xtol": 1e-13})
    off = float(np.abs(left_over(found.x)).max())
    if off > 1e-10:
        raise ArithmeticError(f"no moment at the clamp balances the end: {off:.3g} of the load left over")
    return np.asarray(found.x * size)


def _integrated(rod: Rod, force: Array, moment: Array, arcs: Array) -> Array:
    """States (12, k): position and axes, row by row."""
    compliance = 1.0 / rod.stiffness
    passive = rod.curvature

    def rates(_: float, state: Array) -> Array:
        x, r = state[:3], state[3:].reshape(3, 3)
        n = r.T @ force
        m = r.T @ (moment - _cross(x, force))
        strain, (k1, k2, k3) = compliance[:3] * n, passive + compliance[3:] * m
        strain[0] += 1.0
        turn = np.array([[0.0, -k3, k2], [k3, 0.0, -k1], [-k2, k1, 0.0]])
        return np.concatenate((r @ strain, (r @ turn).ravel()))

    start = np.concatenate((np.zeros(3), np.eye(3).ravel()))
    done = solve_ivp(
        rates,
        (0.0, rod.length),
        start,
        method="DOP853",
        t_eval=arcs,
        rtol=ACCURACY,
        atol=ACCURACY * rod.length,
    )
    return np.asarray(done.y)


def _cross(a: Array, b: Array) -> Array:
    return np.array([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]])
