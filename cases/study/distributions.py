"""Distributions of a key: what a study file may say, read and checked, and their quantiles.

A sample is made of numbers u between 0 and 1; a distribution turns each into a value by its quantile function.  So
one arrangement of u (Latin hypercube, Sobol) serves all of them, and a correlation is laid over u.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.reader import Table, shown
from cases.study.quantities import Cell, Unit, number_at, unit_of

Array = NDArray[np.float64]

KEYS: dict[str, tuple[str, ...]] = {
    "normal": ("mean", "deviation"),
    "truncated normal": ("mean", "deviation", "least", "most"),
    "uniform": ("least", "most"),
    "triangular": ("least", "peak", "most"),
    "table": ("values", "weights"),
    "histogram": ("edges", "weights"),
}
EXAMPLES = {
    "normal": 'mean = "0.019 in", deviation = "0.0002 in"',
    "truncated normal": 'mean = "0.019 in", deviation = "0.0002 in", least = "0.0185 in", most = "0.0195 in"',
    "uniform": 'least = "0.0218 in", most = "0.0226 in"',
    "triangular": 'least = "18 deg", peak = "20 deg", most = "22 deg"',
    "table": 'values = ["0.0219 in", "0.0223 in"], weights = [3, 1]',
    "histogram": 'edges = ["0.0216 in", "0.0220 in", "0.0224 in"], weights = [12, 30]',
}
# A truncated normal whose window holds less than this of the whole is taken for a slip.
LEAST_WINDOW = 1e-6


@dataclass(frozen=True, slots=True)
class Distribution:
    """One distribution; its numbers are in the key's unit."""

    kind: str
    numbers: tuple[float, ...]
    """In the order of ``KEYS``; of a histogram its edges, of a table nothing."""
    values: tuple[Cell, ...] = ()
    """Of a table."""
    weights: tuple[float, ...] = ()
    """Of a table or a histogram, adding up to one."""

    def quantiles(self, u: Array) -> list[Cell]:
        """The values (n,) below which the shares ``u`` (n,), above 0 and below 1, lie."""
        if self.kind == "table":
            edges = np.cumsum(self.weights)
            chosen = np.minimum(np.searchsorted(edges, u, side="right"), len(self.values) - 1)
            return [self.values[k] for k in chosen]
        return [float(value) for value in self._numbers(u)]

    def _numbers(self, u: Array) -> Array:
        from scipy.special import ndtri
        from scipy.stats import triang, truncnorm

        first, second = self.numbers[:2]
        if self.kind == "normal":
            return np.asarray(first + second * ndtri(u))
        if self.kind == "truncated normal":
            low, high = ((edge - first) / second for edge in self.numbers[2:])
            return np.asarray(first + second * truncnorm.ppf(u, low, high))
        if self.kind == "uniform":
            return first + (second - first) * u
        if self.kind == "triangular":
            wide = self.numbers[2] - first
            return np.asarray(first + wide * triang.ppf(u, (second - first) / wide))
        below = np.concatenate(([0.0], np.cumsum(self.weights)))
        return np.interp(u, below, self.numbers)

    @property
    def middle(self) -> Cell:
        """Its median."""
        return self.quantiles(np.array([0.5]))[0]


def read_distribution(table: Table, also: tuple[str, ...]) -> tuple[Distribution, Unit] | None:
    """The distribution of a [[vary]] table, and the unit it is given in; None with its problems written down.

    ``also`` are keys that the table may have besides.
    """
    kind = table.choice("distribution", "a distribution", tuple(KEYS))
    if kind is None:
        return None
    keys = KEYS[kind]
    table.only(*also, "distribution", *keys)
    missing = [name for name in keys if not table.has(name)]
    for name in missing:
        table.problem(
            name, f'a distribution "{kind}" needs {", ".join(keys)}', f"write for example {EXAMPLES[kind]}"
        )
    if missing:
        return None
    lists = kind in ("table", "histogram")
    first = table.data[keys[0]]
    if lists and not (isinstance(first, list) and first):
        table.problem(keys[0], f"expected a list, got {shown(first)}", f"write for example {EXAMPLES[kind]}")
        return None
    sample = first[0] if lists else first
    unit = unit_of(sample)
    if unit is None and kind != "table":
        table.problem(keys[0], f"expected a number or a quantity with its unit, got {shown(sample)}",
                      f"write for example {EXAMPLES[kind]}")  # fmt: skip
        return None
    unit = unit or Unit()
    found = _listed(table, kind, unit) if lists else _plain(table, kind, unit)
    return None if found is None else (found, unit)


def cells(table: Table, name: str, unit: Unit) -> list[Cell] | None:
    """The values of a list: all of one kind of quantity, or words, truths and pure numbers as they stand."""
    given = table.data[name]
    if unit.name is not None:
        numbers = [number_at(table, name, value, unit, k) for k, value in enumerate(given)]
        return None if None in numbers else [value for value in numbers if value is not None]
    good = True
    for k, value in enumerate(given):
        finite = not isinstance(value, float) or math.isfinite(value)
        if not isinstance(value, (str, bool, int, float)) or not finite:
            table.findings.problem(
                (*table.at(name), k), f"expected a word, a number or a quantity, got {shown(value)}",
                'write it like "0.019 in", 0.3 or "stainless-steel"',
            )  # fmt: skip
            good = False
    return list(given) if good else None


def _plain(table: Table, kind: str, unit: Unit) -> Distribution | None:
    read = [number_at(table, name, table.data[name], unit) for name in KEYS[kind]]
    numbers = tuple(value for value in read if value is not None)
    if len(numbers) < len(read):
        return None
    given = dict(zip(KEYS[kind], numbers, strict=True))
    if "deviation" in given and not given["deviation"] > 0.0:
        table.problem("deviation", "a standard deviation must be above zero",
                      'write it like "0.0002 in"; a key that does not vary needs no [[vary]]')  # fmt: skip
        return None
    if "least" in given and not given["least"] < given["most"]:
        table.problem(
            "most", f"it must be above least, {shown(table.data['least'])}", "exchange the two, or mend one"
        )
        return None
    if "peak" in given and not given["least"] <= given["peak"] <= given["most"]:
        table.problem("peak", "it must lie from least to most", f"write for example {EXAMPLES[kind]}")
        return None
    if kind == "truncated normal":
        from scipy.special import ndtr

        low, high = ((given[edge] - given["mean"]) / given["deviation"] for edge in ("least", "most"))
        # on the side of the smaller tail, where the difference keeps its digits
        inside = ndtr(high) - ndtr(low) if low < 0.0 else ndtr(-low) - ndtr(-high)
        if inside < LEAST_WINDOW:
            table.problem(
                "mean", f"only {inside:.1g} of this normal distribution lies from least to most",
                "check the units, or write a uniform or triangular distribution",
            )  # fmt: skip
            return None
    return Distribution(kind, numbers)


def _listed(table: Table, kind: str, unit: Unit) -> Distribution | None:
    name = KEYS[kind][0]
    values = cells(table, name, unit)
    weights = table.data["weights"]
    if values is None:
        return None
    wanted = len(values) - (kind == "histogram")
    if not isinstance(weights, list) or len(weights) != wanted or wanted < 1:
        each = "one for each value" if kind == "table" else "one between each two edges"
        what = f"expected {wanted} weights, {each}" if wanted > 0 else "expected two edges at least"
        table.problem("weights", what, f"write for example {EXAMPLES[kind]}")
        return None
    read = [number_at(table, "weights", weight, Unit(), k) for k, weight in enumerate(weights)]
    shares = [weight for weight in read if weight is not None]
    if len(shares) < len(read):
        return None
    if min(shares) < 0.0 or not sum(shares) > 0.0:
        table.problem(
            "weights", "weights must be zero or more, and not all zero", f"write for example {EXAMPLES[kind]}"
        )
        return None
    normed = tuple(weight / sum(shares) for weight in shares)
    if kind == "table":
        return Distribution(kind, (), tuple(values), normed)
    edges = tuple(float(value) for value in values)
    if any(not after > before for before, after in zip(edges, edges[1:], strict=False)):
        table.problem("edges", "edges must grow from one to the next", f"write for example {EXAMPLES[kind]}")
        return None
    return Distribution(kind, edges, (), normed)
