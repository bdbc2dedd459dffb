"""The values of every row of a study, made before the first is solved: a row is the same whoever solves it, and when.

Rows run over the grid, its last key the fastest, and at each of its points over the whole sample, which is the same at
all of them: what differs from point to point is then the grid's doing, not chance.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

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


def inputs(
    grids: Sequence[Sequence[Cell]], distributions: Sequence[Distribution], sample: Array | None
) -> list[tuple[Cell, ...]]:
    """The values of every row: first those of the grid keys, then those of the sampled keys."""
    points = itertools.product(*grids)
    if sample is None:
        return list(points)
    columns = [one.quantiles(sample[:, k]) for k, one in enumerate(distributions)]
    sampled = list(zip(*columns, strict=True))
    return [(*point, *row) for point in points for row in sampled]
