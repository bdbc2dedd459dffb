"""From many starts to the appliances that give what is wanted: bounded least squares, then what is worth keeping.

Each wish contributes (value - wanted)/tolerance, each limit what is beyond it, in hundredths of itself; unknowns run
from 0 to 1 between their bounds.  The method is scipy's dogleg in a rectangular trust region (Voglis & Lagaris, WSEAS
Int. Conf. on Applied Mathematics, 2004; as scipy cites it), with the derivatives of `cases.target.solve`; scipy's
other one, through the interior, took five times as many solves where a bound is near.  Every combination of listed
values has starts of its own: the case as it stands, where it lies within the bounds, and points of a Latin hypercube.
"""

from __future__ import annotations

import itertools
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cases import units
from cases.study.sampling import LATIN, unit_sample
from cases.target.solve import Slopes, Trial, bending_slopes, slopes, tried
from cases.target.targetfile import Target, start_of
from cases.target.unknowns import Unknown

if TYPE_CHECKING:
    from scipy.optimize import OptimizeResult

Array = NDArray[np.float64]
Heard = Callable[[int, int, int], None]
"""Told how many searches are done, of how many, and how many of them meet all wishes."""

LIMIT_COUNTS = 0.01
"""Of a limit: what being beyond it by this counts as missing a wish by its tolerance."""
SETTLED = 1e-5
"""Of the bounds' distance: a step so small ends a search."""
NO_BETTER = 1e-4
"""Of the cost: so little gained by a step ends it too."""
ENOUGH = 1e-6
"""Of the cost: a wish missed by a thousandth of its tolerance, which is about what following leaves of a solve."""
ONE = 0.01
"""Of the bounds' distance: candidates nearer to each other are one."""
OPEN = 1e-4
"""Of the largest singular value: an unknown below it is left open by the wishes."""
MET = 1.0 + 1e-6


@dataclass(frozen=True, slots=True)
class Candidate:
    """Where one search ended."""

    values: tuple[float, ...]
    """Of all unknowns, in their order and units; of a list the place in it."""
    trial: Trial
    missed: Array
    """(w,) of each wish, in tolerances, signed."""
    beyond: tuple[str, ...]
    """Limits that it exceeds, in words."""
    cost: float
    start: int
    """Number of its start, from 0."""

    @property
    def meets(self) -> bool:
        """Every wish within its tolerance, every limit kept."""
        return bool((np.abs(self.missed) <= MET).all()) and not self.beyond


@dataclass(frozen=True, slots=True)
class Judged:
    """A candidate with what bending errors do to it."""

    candidate: Candidate
    errors: tuple[Unknown, ...]
    """What may be off."""
    sizes: tuple[float, ...]
    """By how much, in its unit."""
    slopes: Slopes
    open_ways: int
    """Unknowns, or combinations of them, that the wishes leave open here."""
    idle: tuple[str, ...]
    """Unknowns that change nothing of what is wanted here."""

    @property
    def effects(self) -> Array:
        """(w + 1, errors) by which each error changes each answer, N, N mm, mm and MPa."""
        return np.asarray(self.slopes.change * np.array(self.sizes))

    def room(self, tolerances: Array) -> Array:
        """(errors,) how far each alone may be off, in its unit, before a wish leaves its tolerance; infinite where it
        does nothing."""
        left = np.maximum(1.0 - np.abs(self.candidate.missed), 0.0) * tolerances
        with np.errstate(divide="ignore"):
            ways = left[:, None] / np.abs(self.slopes.change[:-1])
        return np.asarray(ways.min(axis=0)) if len(self.errors) else np.zeros(0)

    def strain(self, tolerances: Array) -> float:
        """The worst wish, in tolerances, with all errors at their worst together."""
        worst = np.abs(self.candidate.missed) + np.abs(self.effects[:-1]).sum(axis=1) / tolerances
        return float(worst.max())


@dataclass(frozen=True, slots=True)
class Found:
    """What a search has found."""

    target: Target
    starts: int
    failed: tuple[str, ...]
    """Why starts came to nothing."""
    met: int
    """Searches that ended where all wishes are met."""
    candidates: tuple[Judged, ...]
    """Those that meet all, each once, the least sensitive first; else the nearest one."""
    evaluations: int
    """Solves of the case."""

    @property
    def tolerances(self) -> Array:
        """(w,) N, N mm and mm."""
        return np.array([one.tolerance for one in self.target.wanted])


class _Search:
    """One start of one combination of listed values."""

    def __init__(self, target: Target, listed: tuple[int, ...], start: Array, number: int) -> None:
        self._target, self._number = target, number
        self._listed = dict(zip([one.place for one in target.listed], listed, strict=True))
        self._start = start
        free = target.free
        self._low = np.array([one.least for one in free])
        self._wide = np.array([one.most - one.least for one in free])
        self._last: tuple[bytes, Trial] | None = None
        self.evaluations = 0

    def _values(self, point: Array) -> tuple[float, ...]:
        between = iter(self._low + self._wide * point)
        return tuple(
            float(self._listed[one.place]) if one.listed else float(next(between))
            for one in self._target.unknowns
        )

    def _trial(self, point: Array) -> Trial:
        key = point.tobytes()
        if self._last is None or self._last[0] != key:
            self.evaluations += 1
            self._last = key, tried(self._target, self._target.puts(self._values(point)))
        return self._last[1]

    def _misses(self, point: Array) -> Array:
        trial = self._trial(point)
        if trial.found is None:
            return np.full(len(self._target.wanted) + len(caps(self._target, trial)), np.nan)
        return _missed(self._target, trial)

    def _slopes(self, point: Array) -> Array:
        trial = self._trial(point)
        assert trial.found is not None
        change = _change(self._target, trial, self._values(point))
        rows = [*change[:-1]]
        for cap in caps(self._target, trial):
            beyond = trial.found[-1] > cap
            rows.append(change[-1] / (LIMIT_COUNTS * cap) if beyond else np.zeros(change.shape[1]))
        return np.array(rows)

    def run(self) -> Candidate | str:
        """The candidate at the end, or why there is none."""
        from scipy.optimize import least_squares

        trial = self._trial(self._start)
        if trial.found is None:
            return trial.why
        point = self._start
        if point.size:
            ended = least_squares(
                self._misses, point, self._slopes, bounds=(0.0, 1.0), method="dogbox", xtol=SETTLED, ftol=NO_BETTER,
                gtol=None, max_nfev=self._target.search.evaluations, callback=_enough,
            )  # fmt: skip
            point = ended.x
            trial = self._trial(point)
        missed = _missed(self._target, trial)
        return Candidate(
            self._values(point),
            trial,
            missed[: len(self._target.wanted)],
            beyond_in_words(self._target, trial),
            float(0.5 * missed @ missed),
            self._number,
        )


def _enough(intermediate_result: OptimizeResult) -> None:
    """Ends a search whose wishes are met as nearly as anyone can tell."""
    if intermediate_result.cost <= ENOUGH:
        raise StopIteration


def caps(target: Target, trial: Trial) -> list[float]:
    """The largest stresses that the limits allow, MPa."""
    limits, case = target.limits, trial.case or target.case
    found = [] if limits.stress is None else [limits.stress]
    if limits.yield_share is not None and case.wire.material.yield_mpa is not None:
        found.append(limits.yield_share * case.wire.material.yield_mpa)
    return found


def _change(target: Target, trial: Trial, values: Sequence[float]) -> Array:
    """(w + 1, free) of the wishes in tolerances and of the stress, MPa, from bound to bound of each free unknown."""
    chosen = [(one, value) for one, value in zip(target.unknowns, values, strict=True) if not one.listed]
    change = slopes(target, trial, [one for one, _ in chosen], [value for _, value in chosen]).change
    scales = np.array([*(one.tolerance for one in target.wanted), 1.0])
    wide = np.array([one.most - one.least for one, _ in chosen])
    return np.asarray(change / scales[:, None] * wide)


def _missed(target: Target, trial: Trial) -> Array:
    """Every wish in tolerances, then what is beyond each limit."""
    assert trial.found is not None
    wishes = [
        (value - one.value) / one.tolerance for value, one in zip(trial.found, target.wanted, strict=False)
    ]
    beyond = [max(trial.found[-1] / cap - 1.0, 0.0) / LIMIT_COUNTS for cap in caps(target, trial)]
    return np.array([*wishes, *beyond])


def beyond_in_words(target: Target, trial: Trial) -> tuple[str, ...]:
    """The limits that a trial exceeds."""
    assert trial.found is not None
    stress = float(trial.found[-1])
    return tuple(
        f"{stress:.0f} MPa of stress, {cap:.0f} are allowed"
        for cap in caps(target, trial)
        if stress > cap * (1.0 + LIMIT_COUNTS * 1e-2)
    )


def _searches(target: Target) -> Iterator[_Search]:
    free, search = target.free, target.search
    low = np.array([one.least for one in free])
    wide = np.array([one.most - one.least for one in free])
    own = start_of(target)
    points: list[Array] = []
    if free:
        if own is not None:
            points.append((np.array(own) - low) / wide)
        drawn = search.starts - len(points)
        points += list(unit_sample(LATIN, drawn, len(free), search.seed)) if drawn else []
    else:
        points.append(np.zeros(0))
    number = 0
    for listed in itertools.product(*(range(len(one.values)) for one in target.listed)):
        for point in points:
            yield _Search(target, listed, point, number)
            number += 1


def search(target: Target, jobs: int = 1, heard: Heard | None = None) -> Found:
    """Search from every start, ``jobs`` at a time; the same candidates in any case."""
    searches = list(_searches(target))
    lock, done, met = threading.Lock(), 0, 0

    def run(one: _Search) -> Candidate | str:
        nonlocal done, met
        ended = one.run()
        with lock:
            done += 1
            met += isinstance(ended, Candidate) and ended.meets
            if heard is not None:
                heard(done, len(searches), met)
        return ended

    with ThreadPoolExecutor(jobs) as pool:
        try:
            ended = list(pool.map(run, searches))
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise
    candidates = [one for one in ended if isinstance(one, Candidate)]
    good = _each_once(target, [one for one in candidates if one.meets])
    if not good:
        good = sorted(candidates, key=lambda one: one.cost)[:1]
    judged = [_judged(target, one) for one in good]
    tolerances = np.array([one.tolerance for one in target.wanted])
    judged.sort(key=lambda one: one.strain(tolerances))
    return Found(
        target,
        len(searches),
        tuple(one for one in ended if isinstance(one, str)),
        sum(one.meets for one in candidates),
        tuple(judged),
        sum(one.evaluations for one in searches),
    )


def _each_once(target: Target, candidates: list[Candidate]) -> list[Candidate]:
    """Of candidates that are one the nearest to the wishes."""
    kept: list[Candidate] = []
    for one in sorted(candidates, key=lambda one: (one.cost, one.start)):
        if not any(_alike(target, one, other) for other in kept):
            kept.append(one)
    return kept


def _alike(target: Target, one: Candidate, other: Candidate) -> bool:
    return all(
        a == b if unknown.listed else abs(a - b) <= ONE * (unknown.most - unknown.least)
        for unknown, a, b in zip(target.unknowns, one.values, other.values, strict=True)
    )


def _judged(target: Target, candidate: Candidate) -> Judged:
    errors, found = bending_slopes(target, candidate.trial, candidate.values)
    sizes = tuple(
        (target.angle_error if one.unit.kind == "angle" else target.length_error) / _factor(one)
        for one in errors
    )
    change = _change(target, candidate.trial, candidate.values)[:-1]
    singular = np.linalg.svd(change, compute_uv=False) if target.free else np.zeros(0)
    open_ways = len(target.free) - int((singular > OPEN * singular.max(initial=0.0)).sum())
    moves = np.abs(change).max(axis=0)
    idle = tuple(
        one.name
        for one, most in zip(target.free, moves, strict=True)
        if most <= OPEN * moves.max(initial=0.0)
    )
    return Judged(candidate, errors, sizes, found, open_ways, idle)


def _factor(one: Unknown) -> float:
    return 1.0 if one.unit.name is None else units.UNITS[one.unit.name][1]
