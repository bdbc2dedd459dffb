"""One check, and what became of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fem.status import NoEquilibrium

Array = NDArray[np.float64]
Kind = Literal["closed form", "benchmark", "measurement"]
"""A formula; a published or independently computed number; something measured."""

AGREES, DIFFERS = "agrees", "differs"


@dataclass(frozen=True, slots=True)
class Check:
    """Something to be computed and what others say of it."""

    quantity: str
    kind: Kind
    source: str
    """Who says so; equal words are one source."""
    expected: float
    tolerance: float
    """A share of the expected value where ``relative``, else in ``unit``: what the source's digits or the theory's
    neglect allow."""
    unit: str
    """Empty for a pure number."""
    compute: Callable[[], float]
    relative: bool = True

    @property
    def allowed(self) -> float:
        """The tolerance in ``unit``."""
        return self.tolerance * abs(self.expected) if self.relative else self.tolerance


@dataclass(frozen=True, slots=True)
class Row:
    """A check with its answer."""

    check: Check
    computed: float
    """NaN where nothing came out."""
    failure: str = ""
    """Why nothing came out."""

    @property
    def difference(self) -> float:
        """Computed less expected, in the check's unit."""
        return self.computed - self.check.expected

    @property
    def passed(self) -> bool:
        """Whether the difference is within the tolerance; never for what is not a number."""
        return math.isfinite(self.computed) and abs(self.difference) <= self.check.allowed

    @property
    def verdict(self) -> str:
        """One word."""
        return AGREES if self.passed else DIFFERS


def part_of(
    values: Callable[..., Sequence[float] | Array], index: int, *arguments: object
) -> Callable[[], float]:
    """One of several values that are computed together, for ``Check.compute``."""
    return lambda: float(values(*arguments)[index])


def run(checks: Iterable[Check]) -> Iterator[Row]:
    """Compute one check after the other; what finds no answer is a row that differs, with the reason."""
    for check in checks:
        try:
            yield Row(check, float(check.compute()))
        except (NoEquilibrium, ArithmeticError) as error:
            yield Row(check, math.nan, str(error))
