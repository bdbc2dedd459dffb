"""The way of a run as one axis: its stages one after another, each 100 % long; a bench test has its own figure."""

from __future__ import annotations

from dataclasses import replace

from cases.results import BACK, OUT, IncrementResult, RunResult


def without_bench(result: RunResult) -> RunResult:
    """The same result, its increments those of the engagement and the stages after it."""
    kept = tuple(one for one in result.increments if one.stage not in (OUT, BACK))
    return replace(result, increments=kept)


def stages_of(increments: tuple[IncrementResult, ...]) -> list[tuple[str, int]]:
    """Every stage with the number of its increments, in their order."""
    out: list[tuple[str, int]] = []
    before = None
    for one in increments:
        if before is None or one.stage != before.stage or one.activation <= before.activation:
            out.append((one.stage, 0))
        name, count = out[-1]
        out[-1] = (name, count + 1)
        before = one
    return out


def gone(increments: tuple[IncrementResult, ...]) -> list[float]:
    """How far along the axis (%) every increment stands."""
    numbers = [number for number, (_, count) in enumerate(stages_of(increments)) for _ in range(count)]
    return [100.0 * (number + one.activation) for number, one in zip(numbers, increments, strict=True)]
