"""The values of every row of a study, made before the first is solved: a row is the same whoever solves it, and when.

Rows run over the grid, its last key the fastest, and at each of its points over the whole sample, which is the same at
all of them: what differs from point to point is then the grid's doing, not chance.  The values through which an
appliance is led follow each other, row by row.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import overload

import numpy as np
from numpy.typing import NDArray

from cases.study.distributions import Distribution
from cases.study.quantities import Cell

Array = NDArray[np.float64]

RANDOM, LATIN, SOBOL, INDICES = DESIGNS = ("random", "latin hypercube", "sobol", "sobol indices")
# The quantile of 0 or 1 may be infinite; the nearest numbers that a design can give stand for them.
_LEAST = 2.0**-54


def rows_of_design(design: str, count: int, keys: int) -> int:
    """How many rows a sample takes: of Sobol indices ``count`` for each of two samples and for each key mixed in."""
    return count * (keys + 2) if design == INDICES else count


def unit_sample(design: str, count: int, keys: int, seed: int) -> Array:
    """The sample (rows, keys) between 0 and 1.

    Of "sobol indices" it is Saltelli's arrangement: the sample A, the sample B, and A with one column from B for
    each key in turn (Saltelli et al., Comput. Phys. Commun. 181 (2010) 259; from memory).
    """
    from scipy.stats import qmc

    generator = np.random.default_rng(seed)
    if design == RANDOM:
        sample = generator.random((count, keys))
    elif design == LATIN:
        sample = qmc.LatinHypercube(keys, rng=generator).random(count)
    elif design == SOBOL:
        sample = qmc.Sobol(keys, rng=generator).random(count)
    else:
        both = qmc.Sobol(2 * keys, rng=generator).random(count)
        a, b = both[:, :keys], both[:, keys:]
        mixed = []
        for k in range(keys):
            one = a.copy()
            one[:, k] = b[:, k]
            mixed.append(one)
        sample = np.concatenate((a, b, *mixed))
    return np.asarray(np.clip(sample, _LEAST, 1.0 - 2.0**-53))


def correlated(sample: Array, correlation: Array) -> Array:
    """A sample whose columns belong together as a Gaussian copula has it.

    ``correlation`` (keys, keys) is that of the normal variables behind; rank correlations come out as
    6/pi asin(r/2) (Pearson 1907; from memory).
    """
    from scipy.special import ndtr, ndtri

    values, vectors = np.linalg.eigh(correlation)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    # a symmetric root keeps every column next to what the design gave it, so its even spread suffers least
    normal = ndtri(sample) @ (root @ vectors.T)
    return np.asarray(np.clip(ndtr(normal), _LEAST, 1.0 - 2.0**-53))


@dataclass(frozen=True, slots=True)
class Inputs(Sequence[tuple[Cell, ...]]):
    """The values of every row: first those of the grid keys, then those of the sampled keys.

    A row is put together when it is asked for, so that no more is kept than the sample and the grids."""

    grids: tuple[tuple[Cell, ...], ...]
    """The last one is the led one's, where there is one."""
    led: bool
    sampled: tuple[tuple[Cell, ...], ...]
    """A row of values for each of the sample; one without values where nothing is drawn."""

    def __len__(self) -> int:
        return math.prod(len(grid) for grid in self.grids) * len(self.sampled)

    def _row(self, number: int) -> tuple[Cell, ...]:
        outer = self.grids
        led: tuple[Cell, ...] = ()
        if self.led:
            outer = self.grids[:-1]
            number, along = divmod(number, len(self.grids[-1]))
            led = (self.grids[-1][along],)
        number, drawn = divmod(number, len(self.sampled))
        point: list[Cell] = []
        for grid in reversed(outer):
            number, place = divmod(number, len(grid))
            point.append(grid[place])
        return (*reversed(point), *led, *self.sampled[drawn])

    @overload
    def __getitem__(self, number: int) -> tuple[Cell, ...]: ...

    @overload
    def __getitem__(self, number: slice) -> list[tuple[Cell, ...]]: ...

    def __getitem__(self, number: int | slice) -> tuple[Cell, ...] | list[tuple[Cell, ...]]:
        if isinstance(number, slice):
            return [self._row(one) for one in range(*number.indices(len(self)))]
        if not -len(self) <= number < len(self):
            raise IndexError(f"row {number} of {len(self)}")
        return self._row(number % len(self))


def inputs(
    grids: Sequence[Sequence[Cell]],
    distributions: Sequence[Distribution],
    sample: Array | None,
    led: bool = False,
) -> Inputs:
    """The values of every row; ``led``: the last grid is one through which the appliances are led."""
    sampled: tuple[tuple[Cell, ...], ...] = ((),)
    if sample is not None:
        columns = [one.quantiles(sample[:, k]) for k, one in enumerate(distributions)]
        sampled = tuple(zip(*columns, strict=True))
    return Inputs(tuple(tuple(grid) for grid in grids), led, sampled)
