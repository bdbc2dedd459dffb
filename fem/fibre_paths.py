"""Homogeneous tests of a wire: every section and every place along it is strained alike, in small steps.

Some of the six strains of a section are told, the resultants of the others are to be zero: a wire bent without axial
force, a wire twisted that may shorten.  Newton's method with the section's tangent finds them; a step that does not
come to rest is halved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.fibre_section import FibreSection, SectionResponse, Unbalanced
from geometry.checks import count, numbers
from geometry.pose import frozen

Array = NDArray[np.float64]

AXIAL, SHEAR_Y, SHEAR_Z, TWIST, BEND_Y, BEND_Z = range(6)
MOST_STEPS = 40
MOST_HALVINGS = 6
AT_REST = 1e-10
"""Of the largest axial stress of the section, or of EA times the change of strain, whichever is more: a resultant that
counts as zero.  Rounding of the sums over fibres is a hundredth of it."""


@dataclass(frozen=True, slots=True)
class SectionPath:
    """A section strained step by step, k steps."""

    section: FibreSection
    strains: Array
    """(k, 6) 1 and 1/mm."""
    resultants: Array
    """(k, 6) N and N mm."""
    temperatures: tuple[float | None, ...]
    """degC; None: the material's reference temperature."""
    dissipated: Array
    """(k,) energy dissipated since the start, N mm per mm of wire."""
    martensite: Array
    """(k,) share of the area that is martensite."""
    history: Array
    """(1, n + r, 6) at the end."""

    def __post_init__(self) -> None:
        for name in ("strains", "resultants", "dissipated", "martensite", "history"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    def work(self) -> Array:
        """(k,) work put in since the first step per length of wire, N mm/mm, by the trapezoidal rule."""
        mean = 0.5 * (self.resultants[1:] + self.resultants[:-1])
        parts = (mean * np.diff(self.strains, axis=0)).sum(axis=1)
        return np.concatenate(([0.0], np.cumsum(parts)))


def follow(
    section: FibreSection,
    which: int,
    values: ArrayLike,
    free: Sequence[int] = (AXIAL,),
    temperatures: Sequence[float | None] | float | None = None,
    after: SectionPath | None = None,
) -> SectionPath:
    """Strain ``which`` of a section taken through ``values`` (k,), those ``free`` so that their resultants are zero.

    The rest is zero, or as it is at the end of ``after``, which this path then goes on from.  One temperature (degC)
    for all steps, or one for each.  Raises `Unbalanced` where a step does not come to rest.
    """
    wanted = numbers("values of a strain", values, (None,))
    given = tuple(temperatures) if isinstance(temperatures, Sequence) else (temperatures,) * len(wanted)
    if len(given) != len(wanted):
        raise ValueError(f"temperatures must be one for each of the {len(wanted)} values: got {len(given)}")
    loose = tuple(sorted(set(free) - {which}))
    strains = np.zeros(6) if after is None else after.strains[-1]
    committed = section.unstrained() if after is None else after.history
    steps = []
    for value, warm in zip(wanted.tolist(), given, strict=True):
        strains, response = _step(
            section, strains, which, float(strains[which]), value, loose, warm, committed
        )
        committed = response.history
        steps.append(_one(section, strains, response, warm))
    if not steps:
        raise ValueError("values of a strain must be at least one")
    return joined(steps)


def released(
    section: FibreSection, which: int, after: SectionPath, free: Sequence[int] = (AXIAL,)
) -> SectionPath:
    """One step from the end of ``after`` that leaves no resultant of strain ``which`` either: what strain is left."""
    loose = tuple(sorted({*free, which}))
    held = next(i for i in range(6) if i not in loose)
    strains, warm = after.strains[-1], after.temperatures[-1]
    value = float(strains[held])
    strains, response = _step(section, strains, held, value, value, loose, warm, after.history)
    return _one(section, strains, response, warm)


def joined(paths: Sequence[SectionPath]) -> SectionPath:
    """Paths that go on from one another as one."""
    return SectionPath(
        paths[0].section,
        np.concatenate([path.strains for path in paths]),
        np.concatenate([path.resultants for path in paths]),
        tuple(warm for path in paths for warm in path.temperatures),
        np.concatenate([path.dissipated for path in paths]),
        np.concatenate([path.martensite for path in paths]),
        paths[-1].history,
    )


def cycle(turning_points: Sequence[float], steps: int) -> Array:
    """Values from zero through the turning points, ``steps`` even ones on each way; the zero comes first."""
    steps = count("a way", steps, 1)
    values, at = [np.zeros(1)], 0.0
    for point in turning_points:
        values.append(np.linspace(at, point, steps + 1)[1:])
        at = float(point)
    return np.concatenate(values)


@dataclass(frozen=True, slots=True)
class Way:
    """One way of a loading cycle: rows of its path from ``first`` up to, not with, ``end``."""

    cycle: int
    """From 1."""
    out: bool
    """Away from rest, or back until nothing acts."""
    first: int
    end: int


def load_and_release(
    section: FibreSection,
    which: int,
    peaks: Sequence[float],
    steps: int,
    free: Sequence[int] = (AXIAL,),
    temperature: float | None = None,
    through: Sequence[float] = (),
) -> tuple[SectionPath, tuple[Way, ...]]:
    """From rest to each of the ``peaks`` of strain ``which`` in turn, and after each back until nothing acts there.

    ``steps`` even steps on each way, and one at each value of ``through`` that the way passes.  The first row is the
    wire at rest.
    """
    steps = count("a way", steps, 1)
    path = follow(section, which, [0.0], free, temperature)
    ways = []
    for number, peak in enumerate(peaks, start=1):
        first = len(path.strains)
        start = float(path.strains[-1, which])
        path = joined(
            [path, follow(section, which, _between(start, peak, steps, through), free, temperature, path)]
        )
        ways.append(Way(number, True, first, len(path.strains)))
        first, sense = len(path.strains), np.sign(path.resultants[-1, which])
        for value in _between(peak, 0.0, steps, through):
            step = follow(section, which, [value], free, temperature, path)
            if step.resultants[-1, which] * sense <= 0.0:
                break
            path = joined([path, step])
        path = joined([path, released(section, which, path, free)])
        ways.append(Way(number, False, first, len(path.strains)))
    return path, tuple(ways)


def _between(start: float, end: float, steps: int, through: Sequence[float]) -> list[float]:
    """Values from ``start``, which is left out, to ``end``."""
    low, high = sorted((start, end))
    values = {*np.linspace(start, end, steps + 1)[1:].tolist(), *(v for v in through if low < v < high)}
    return sorted(values, reverse=end < start)


def _one(section: FibreSection, strains: Array, response: SectionResponse, warm: float | None) -> SectionPath:
    history = response.history
    return SectionPath(
        section, strains[None], response.resultants, (warm,), section.dissipated(history),
        section.martensite(history), history,
    )  # fmt: skip


def _step(
    section: FibreSection,
    strains: Array,
    which: int,
    told: float,
    value: float,
    loose: tuple[int, ...],
    warm: float | None,
    committed: Array,
    depth: int = 0,
) -> tuple[Array, SectionResponse]:
    """One step from strains ``told`` to ``value``; in two halves where Newton's method does not settle."""
    try:
        found = _balanced(section, strains, which, value, loose, warm, committed)
    except Unbalanced:  # of a section's warping
        found = None
    if found is not None:
        return found
    if depth == MOST_HALVINGS:
        raise Unbalanced(
            f"no strains of this section leave the free resultants at zero where strain {which} is {value:.6g}; "
            "take smaller steps"
        )
    middle = 0.5 * (told + value)
    strains, half = _step(section, strains, which, told, middle, loose, warm, committed, depth + 1)
    return _step(section, strains, which, middle, value, loose, warm, half.history, depth + 1)


def _balanced(
    section: FibreSection,
    strains: Array,
    which: int,
    value: float,
    loose: tuple[int, ...],
    warm: float | None,
    committed: Array,
) -> tuple[Array, SectionResponse] | None:
    """Newton's method with the step cut where the residual would grow; None where it does not settle."""
    e = strains.copy()
    e[which] = value
    response = section.respond(e[None], committed, warm)
    if not loose:
        return e, response
    at = np.array(loose)
    elastic = _scale(section, committed, warm)
    # strains and curvatures are measured by what they stretch the outermost fibre
    size = np.sqrt(elastic[at] / elastic[AXIAL])
    bound = AT_REST * elastic[AXIAL] * max(1e-6, float(np.abs(e * np.sqrt(elastic / elastic[AXIAL])).max()))
    left = np.linalg.norm(response.resultants[0, at] / size)
    for _ in range(MOST_STEPS):
        if left <= bound:
            return e, response
        tangent = response.tangent[0][np.ix_(at, at)] / np.outer(size, size)
        tangent[np.diag_indices(len(at))] += 1e-12 * elastic[AXIAL]  # a section yielded through has none left
        move = np.linalg.solve(tangent, response.resultants[0, at] / size) / size
        share = 1.0
        while True:
            trial = e.copy()
            trial[at] -= share * move
            again = section.respond(trial[None], committed, warm)
            rest = np.linalg.norm(again.resultants[0, at] / size)
            if rest < left or share < 1e-3:
                break
            share *= 0.5
        if not rest < left:
            return None
        e, response, left = trial, again, rest
    return None


def _scale(section: FibreSection, committed: Array, warm: float | None) -> Array:
    """The six elastic stiffnesses (6,)."""
    rest = section.respond(np.zeros((1, 6)), section.unstrained(), warm)
    return np.diagonal(rest.tangent[0]).copy()
