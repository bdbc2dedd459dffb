"""What is left of force and couple as a tooth moves: read off the stages in which one attachment moves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from cases.results import DeactivationReading, DeactivationResult, IncrementResult
from cases.schema import StageSpec
from cases.words import shown, three
from geometry.pose import Pose

MARKS_MM = (0.5, 1.0, 2.0, 3.0, 5.0)
MARKS_DEG = (1.0, 2.0, 5.0, 10.0, 20.0)
HALF = 0.5


def deactivations(
    stages: Sequence[StageSpec], increments: Sequence[IncrementResult]
) -> tuple[DeactivationResult, ...]:
    """One for each stage in which an attachment moves; its first reading is where the stage begins.

    Between two increments loads are taken as straight lines, so they are as fine as the stage's increments."""
    return tuple(_of(stage, increments) for stage in stages if stage.moved is not None)


def _of(stage: StageSpec, increments: Sequence[IncrementResult]) -> DeactivationResult:
    first = next(number for number, one in enumerate(increments) if one.stage == stage.name)
    rows = [(0.0, increments[first - 1])]
    rows += [(one.activation, one) for one in increments if one.stage == stage.name]
    way = float(np.linalg.norm(stage.by))
    turn = math.degrees(_whole_turn(stage))
    readings = []
    for share, increment in rows:
        load = next(item for item in increment.attachments if item.name == stage.moved)
        readings.append(
            DeactivationReading(
                share * way,
                share * turn,
                float(np.linalg.norm(load.force_n)),
                float(np.linalg.norm(load.moment_nmm)),
            )
        )
    # what a tooth moves by a force is told along its way, what only turns along its turn
    turns = way == 0.0
    at = [one.turned_deg if turns else one.travel_mm for one in readings]
    load_of = [one.moment_nmm if turns else one.force_n for one in readings]
    return DeactivationResult(
        stage.name,
        str(stage.moved),
        turns,
        tuple(readings),
        _falls_to(at, load_of, HALF * load_of[0]),
        stage.until,
        None if stage.until is None else _falls_to(at, load_of, stage.until),
    )


def _whole_turn(stage: StageSpec) -> float:
    """rad, about one axis: the way an attachment turns from end to end of a stage."""
    axes = Pose.from_angles(np.zeros(3), *stage.turn).axes
    return math.acos(min(1.0, max(-1.0, 0.5 * (float(np.trace(axes)) - 1.0))))


def _falls_to(at: Sequence[float], loads: Sequence[float], least: float) -> float | None:
    """Where the load first falls to ``least``; None where it never does, or had nothing to fall from."""
    if loads[0] <= least:
        return 0.0 if loads[0] > 0.0 else None
    for (here, load), (there, after) in pairwise(zip(at, loads, strict=True)):
        if after <= least < load:
            return here + (there - here) * (load - least) / (load - after)
    return None


def at_mark(result: DeactivationResult, mark: float) -> tuple[float, float]:
    """Force (N) and moment (N mm) left after ``mark``, deg or mm."""
    at = [one.turned_deg if result.turns else one.travel_mm for one in result.readings]
    force = np.interp(mark, at, [one.force_n for one in result.readings])
    moment = np.interp(mark, at, [one.moment_nmm for one in result.readings])
    return float(force), float(moment)


def deactivation_sentences(result: DeactivationResult) -> tuple[str, ...]:
    """The load left at usual marks, where half of it is left, and the working range where a limit is given."""
    unit = "deg" if result.turns else "mm"
    last = result.readings[-1]
    whole = last.turned_deg if result.turns else last.travel_mm
    marks = [mark for mark in (MARKS_DEG if result.turns else MARKS_MM) if mark < whole * (1.0 - 1e-9)]
    start = result.readings[0]
    out = [
        f'{result.attachment} moves in "{result.stage}": {_load(start.force_n, start.moment_nmm)} at its beginning.'
    ]
    begins = start.moment_nmm if result.turns else start.force_n
    for mark in (*marks, whole):
        force, moment = at_mark(result, mark)
        left = moment if result.turns else force
        share = f", {100.0 * left / begins:.0f} % of the {'moment' if result.turns else 'force'}" * (
            begins > 0.0
        )
        out.append(f"After {three(mark)} {unit}: {_load(force, moment)}{share}.")
    if result.half_at is not None:
        out.append(f"Half of it is left after {shown(result.half_at)} {unit}.")
    if result.until is not None:
        least = f"{three(result.until)} {'N mm' if result.turns else 'N'}"
        out.append(
            f"Working range down to {least}: not ended by {three(whole)} {unit}."
            if result.working_range is None
            else f"Working range down to {least}: {shown(result.working_range)} {unit}."
        )
    return tuple(out)


def _load(force: float, moment: float) -> str:
    return f"{shown(force)} N and {shown(moment)} N mm"
