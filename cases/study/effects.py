"""How far each drawn key moves an output, for a tornado: a straight fit to the counted rows, and how well it fits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.study.solve import GOOD
from cases.study.summary import Summary

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Effect:
    """One key's bar: the output where the key is at its 5th and at its 95th percentile, the others at their medians."""

    name: str
    low: float
    high: float

    @property
    def width(self) -> float:
        """How far it moves the output."""
        return abs(self.high - self.low)


@dataclass(frozen=True, slots=True)
class Effects:
    """All keys, the strongest first."""

    middle: float
    """The output of the fit where all keys are at their medians."""
    bars: tuple[Effect, ...]
    fitted: float
    """Share of the output's variance that the straight fit explains (R squared)."""


def effects(summary: Summary) -> Effects | None:
    """Of the answer at the point where it spreads most; None where too few rows are there to fit, or none differs."""
    study, point = summary.study, summary.telling
    span = slice(point.rows.start, point.rows.stop, point.rows.step)
    output = summary.rows.outputs[span, summary.answer]
    there = np.isfinite(output) & np.array([status in GOOD for status in summary.rows.status[span]])
    keys = [k for k, one in enumerate(study.varied) if one.distribution is not None and one.numeric]
    rows = [row for row, is_there in zip(summary.rows.inputs[span], there, strict=True) if is_there]
    if len(rows) < 2 * (len(keys) + 1) or np.ptp(output[there]) == 0.0:
        return None
    values = np.array([[row[k] for k in keys] for row in rows], dtype=np.float64)
    return fit(values, output[there], [study.varied[k].name for k in keys])


def fit(values: Array, output: Array, names: list[str]) -> Effects:
    """From the keys' ``values`` (n, keys) and the ``output`` (n,), by least squares."""
    low, middle, high = np.percentile(values, (5.0, 50.0, 95.0), axis=0)
    scale = np.where(high > low, high - low, 1.0)
    design = np.column_stack((np.ones(len(output)), (values - middle) / scale))
    found, *_ = np.linalg.lstsq(design, output, rcond=None)
    left = output - design @ found
    fitted = 1.0 - float(left @ left) / float(((output - output.mean()) ** 2).sum())
    centre = float(found[0])
    bars = [
        Effect(name, centre + float(slope * (a - m) / s), centre + float(slope * (b - m) / s))
        for name, slope, a, m, b, s in zip(names, found[1:], low, middle, high, scale, strict=True)
    ]
    return Effects(centre, tuple(sorted(bars, key=lambda bar: -bar.width)), fitted)
