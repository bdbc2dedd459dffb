"""What a bench test and friction say in sentences."""

from __future__ import annotations

from cases.results import BACK, OUT, BenchResult, RunResult
from cases.words import LEAST_SHOWN, shown, three


def bench_sentences(bench: BenchResult) -> tuple[str, ...]:
    """The largest load on the way out, where it began, and what differs on the way back."""
    travel, load = ("deg", "N mm") if bench.turns else ("mm", "N")
    what = "moment about" if bench.turns else "force along"
    out = [one for one in bench.readings if one.stage == OUT]
    most = max(bench.readings, key=lambda one: abs(one.load))
    if abs(most.load) < LEAST_SHOWN:
        return (f"No {what} {bench.axis} of {bench.sensor} at any travel.",)
    way = "out" if most.stage == OUT else "back"
    said = [
        f"Largest {what} {bench.axis} of {bench.sensor}: {three(most.load)} {load} at {shown(most.travel)} {travel} "
        f"of travel, on the way {way}."
    ]
    first = next((k for k, one in enumerate(out) if abs(one.load) >= LEAST_SHOWN), None)
    if first == 0:
        said.append(f"It begins at once: {three(out[0].load)} {load} at {shown(out[0].travel)} {travel}.")
    elif first is not None:
        said.append(
            f"On the way out it begins between {shown(out[first - 1].travel)} and {shown(out[first].travel)} {travel}."
        )
    apart = largest_lag(bench)
    if apart is not None and apart >= LEAST_SHOWN:
        said.append(f"Out and back differ by up to {three(apart)} {load} at the same travel.")
    return tuple(said)


def largest_lag(bench: BenchResult) -> float | None:
    """Largest difference of the loads out and back where both were read at one travel; None where none were."""
    whole = max(abs(one.travel) for one in bench.readings)
    out = [one for one in bench.readings if one.stage == OUT]
    back = [one for one in bench.readings if one.stage == BACK]
    apart = [
        abs(a.load - b.load) for a in out for b in back if abs(a.travel - b.travel) < 1e-9 * max(whole, 1.0)
    ]
    return max(apart, default=None)


def friction_sentences(result: RunResult) -> tuple[str, ...]:
    """The work lost in sliding, where there is any; stage by stage where there are several."""
    lost: dict[str, float] = {}
    for one in result.increments:
        lost[one.stage] = lost.get(one.stage, 0.0) + one.lost_nmm
    whole = sum(lost.values())
    if whole < LEAST_SHOWN:
        return ()
    parts = [f"{three(work)} N mm in {stage}" for stage, work in lost.items() if work >= LEAST_SHOWN]
    more = f" ({'; '.join(parts)})" if len(lost) > 1 else ""
    return (f"Work lost in friction: {three(whole)} N mm{more}.",)
