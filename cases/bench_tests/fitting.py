"""Constants of an alloy found from a measured curve of three-point bending, with their uncertainty.

Least squares of the forces over the logarithms of the constants, by trust regions (scipy.optimize.least_squares). With
n points, p constants, residuals r and the Jacobian J at the end, the covariance is that of a linear model,

    C = s^2 (J^T J)^-1,    s^2 = |r|^2 / (n - p),

and a constant lies within exp(+- t_{0.975, n-p} sqrt(C_kk)) of its value with 95 % (Seber & Wild, Nonlinear Regression
(1989), 5.1, from memory).  It holds where errors are independent, and the model is true: what the model cannot be stays
in r and widens the bounds, and says nothing else.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.stats import t as student

from cases.bench_tests.measured import MeasuredCurve
from cases.bench_tests.three_point import Bent, Setup, bend
from fem.fibre_material import Elastoplastic, Superelastic
from fem.status import NoEquilibrium
from geometry.section import Section

Array = NDArray[np.float64]
Material = Elastoplastic | Superelastic

NUDGE = 1e-3
"""Of a constant, for the derivatives: far above what the solver's tolerance leaves, far below where curves bend."""
TOLD = 0.05
"""Share by which the curves must come nearer for it to be told."""
WITHIN = 3.0
"""Constants are sought from a third to three times of the guess."""
CONFIDENCE = 0.95
BLIND = 1e8
"""Condition of the Jacobian beyond which the curve does not tell the constants apart."""


class NotFitted(ValueError):
    """No constants were found, with the reason."""


@dataclass(frozen=True, slots=True)
class Fit:
    """p constants found from n points."""

    keys: tuple[str, ...]
    material: Material
    values: Array
    """(p,) MPa or pure."""
    low: Array
    """(p,) lower ends of the 95 % intervals, infinitely wide where the curve does not tell."""
    high: Array
    start: Array
    """(p,) the guess."""
    correlation: Array
    """(p, p)."""
    left: float
    """Root of the mean squared difference between measured and computed forces, N."""
    solves: int
    at_bound: tuple[str, ...]
    """Constants that ran into the end of their range."""


def fit(
    keys: tuple[str, ...],
    measured: MeasuredCurve,
    setup: Setup,
    section: Section,
    material: Material,
    temperature: float | None,
    say: Callable[[str], None] = lambda _: None,
) -> Fit:
    """The constants ``keys`` of ``material`` that lay the computed curve over the ``measured`` one.

    ``say`` hears how it goes.  Raises NotFitted where the guess itself makes no curve."""
    start = np.array([getattr(material, key) for key in keys], dtype=np.float64)
    solves, nearest = 0, np.inf

    # logarithms are counted from 1, not from 0: the library's steps are shares of them
    def made(logs: Array) -> Material:
        return replace(material, **dict(zip(keys, (start * np.exp(logs - 1.0)).tolist(), strict=True)))

    def differences(logs: Array) -> Array:
        nonlocal solves, nearest
        solves += 1
        try:
            bent = bend(setup, section, made(logs), temperature)
        except (ValueError, NoEquilibrium) as error:
            if solves == 1:
                raise NotFitted(f"no curve with the constants to begin from: {error}") from error
            # constants that make no wire: as far off as a wire that bears nothing, and twice that
            return np.asarray(3.0 * np.abs(measured.force) + measured.force.max())
        out = at_measured(bent, measured) - measured.force
        apart = float(np.sqrt(np.mean(out**2)))
        if apart < (1.0 - TOLD) * nearest:
            nearest = apart
            say(f"{solves} curves computed, {apart:.3g} N apart from the measured one (root mean square)")
        return np.asarray(out)

    widest = np.log(WITHIN)
    found = least_squares(
        differences, np.ones(start.size), bounds=(1.0 - widest, 1.0 + widest), diff_step=NUDGE, x_scale=1.0,
        xtol=1e-6, ftol=1e-8, gtol=1e-10, max_nfev=40,
    )  # fmt: skip
    jacobian, n, p = found.jac, measured.force.size, start.size
    values = start * np.exp(found.x - 1.0)
    spread, correlation = _uncertainty(jacobian, found.fun, n, p)
    at_bound = tuple(key for key, log in zip(keys, found.x, strict=True) if widest - abs(log - 1.0) < 1e-3)
    return Fit(
        keys, made(found.x), values, values * np.exp(-spread), values * np.exp(spread), start, correlation,
        float(np.sqrt(np.mean(found.fun**2))), solves, at_bound,
    )  # fmt: skip


def _uncertainty(jacobian: Array, residual: Array, n: int, p: int) -> tuple[Array, Array]:
    """Half widths (p,) of the 95 % intervals of the logarithms, and correlations (p, p)."""
    sizes = np.linalg.norm(jacobian, axis=0)
    scaled = jacobian / np.where(sizes > 0.0, sizes, 1.0)
    if not sizes.all() or np.linalg.cond(scaled) > BLIND:
        return np.full(p, np.inf), np.full((p, p), np.nan)
    inverse = np.linalg.inv(scaled.T @ scaled)
    covariance = float(residual @ residual) / (n - p) * inverse / np.outer(sizes, sizes)
    deviation = np.sqrt(np.diag(covariance))
    own = np.sqrt(np.diag(inverse))
    return student.ppf(0.5 + 0.5 * CONFIDENCE, n - p) * deviation, inverse / np.outer(own, own)


def at_measured(bent: Bent, measured: MeasuredCurve) -> Array:
    """Computed forces (n,) at the measured deflections, each on its own way of the first cycle."""
    out = np.empty(measured.force.size)
    for rows, way in ((slice(0, measured.turn + 1), True), (slice(measured.turn + 1, None), False)):
        out[rows] = np.interp(measured.deflection[rows], *bent.way(1, way))
    return out
