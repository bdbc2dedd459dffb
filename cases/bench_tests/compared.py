"""A published range beside what is computed for it, and whether it is met."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from cases.bench_tests.published_ranges import PublishedRange

Group = Literal["unloading force", "modulus", "springback", "stiffness", "multistrand"]
MET, WITHIN, NOT_MET = "met", "met within ranges", "not met"


@dataclass(frozen=True, slots=True)
class Compared:
    """One comparison, in the unit of the published range."""

    group: Group
    published: PublishedRange
    wire: str
    how: str
    """What is read, where the source leaves it open or the wire's size does."""
    value: float
    """Of the library's values."""
    low: float
    high: float
    """Over the ranges of the alloys' constants, or of what ``how`` names."""
    why: str = ""
    """What explains a difference, or what an agreement is worth."""

    @property
    def verdict(self) -> str:
        """Met by the library's values, by others within the alloys' ranges, or by none."""
        low, high = self.published.low, self.published.high
        if low <= self.value <= high:
            return MET
        return WITHIN if self.low <= high and self.high >= low else NOT_MET


def of_three(
    group: Group,
    published: PublishedRange,
    wire: str,
    how: str,
    values: Sequence[float],
    why: str = "",
) -> Compared:
    """From the usual value and those of two more wires, in any order."""
    return Compared(group, published, wire, how, values[0], min(values), max(values), why)
