"""The way of a case, leg by leg: the engagement, at once or one attachment after another, stages, the bench test."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cases.errors import WireslotError
from cases.follow import steps_of
from cases.results import ACTIVATION, BACK, OUT
from cases.schema import BenchSpec, Case, StageSpec
from cases.words import three
from fem.model import Model
from fem.path import Ahead, Increment, Leg, Path
from fem.recovery import Snapshot
from fem.supports import Ways
from geometry.pose import Pose

Array = NDArray[np.float64]
Poses = tuple[Pose, ...]


def legs_of(case: Case, model: Model) -> tuple[Leg | Ahead, ...]:
    """Every leg of the way of ``case``, whose supports stand in the order of its attachments.

    Where teeth follow their loads, its ends are known once it is reached, and those of what comes after likewise."""
    engaged: Poses = tuple(support.end for support in model.supports)
    names = list(case.held_by)
    legs: list[Leg | Ahead] = list(_engagement(case, names, engaged))
    stand, warm = engaged, case.analysis.temperature
    ways = Ways.of([support.start for support in model.supports], engaged)
    followed = False
    for stage in case.stages:
        if stage.follow is not None:
            steps = steps_of(case, stage)
            degrees = _degrees(warm, stage, len(steps))
            legs += [replace(step, temperature=to) for step, to in zip(steps, degrees, strict=True)]
            followed, warm = True, degrees[-1]
            continue
        if followed:
            warm = _end(warm, stage)
            legs.append(Ahead(stage.name, _mover(case, names, stage), stage.increments, warm))
            continue
        if stage.to:
            ends = [_at_share(ways, share) for share in stage.to] * stage.repeat
            degrees = _degrees(warm, stage, len(ends))
            legs += [
                Leg(name, end, stage.increments, temperature=to)
                for name, end, to in zip(leg_names(stage), ends, degrees, strict=True)
            ]
            stand, warm = ends[-1], degrees[-1]
            continue
        if stage.back is not None:
            stand = ways.poses(1.0 - stage.back)
        elif stage.moved is not None:
            stand = _moved(case, stand, names, stage)
        warm = _end(warm, stage)
        legs.append(Leg(stage.name, stand, stage.increments, temperature=warm))
    if case.bench is not None:
        out = _on_bench(stand, names, case.bench)
        legs += [Leg(OUT, out, case.bench.increments), Leg(BACK, stand, case.bench.increments)]
    return tuple(legs)


def _end(warm: float, stage: StageSpec) -> float:
    """degC at the end of a stage that begins at ``warm``."""
    return warm if stage.temperature is None else stage.temperature


def _degrees(warm: float, stage: StageSpec, count: int) -> list[float]:
    """degC at the end of each of the ways of a stage, evenly to that at its own end."""
    return [warm + (_end(warm, stage) - warm) * way / count for way in range(1, count + 1)]


def leg_names(stage: StageSpec) -> tuple[str, ...]:
    """Of a stage that goes to shares of the activation, in their order."""
    ways = [f"to {three(100.0 * share)} %" for share in stage.to]
    if len(ways) * stage.repeat == 1:
        return (stage.name,)
    if stage.repeat == 1:
        return tuple(f"{stage.name}, {way}" for way in _numbered(ways))
    return tuple(
        f"{stage.name} {cycle}, {way}" for cycle in range(1, stage.repeat + 1) for way in _numbered(ways)
    )


def _numbered(ways: Sequence[str]) -> list[str]:
    """Ways that come more than once have their number with them."""
    return [
        f"{way} ({ways[: place + 1].count(way)})" if ways.count(way) > 1 else way
        for place, way in enumerate(ways)
    ]


def _at_share(ways: Ways, share: float) -> Poses:
    """Every attachment on its own way from passive to engaged, or straight on beyond it about the same axis.

    Raises WireslotError where one would turn by half a turn and more: the way there has no sense of turning."""
    if share <= 1.0:
        return ways.poses(share)
    most = math.degrees(share * float(ways.angle.max()))
    if most >= 180.0:
        raise WireslotError(
            f"an attachment would turn by {most:.0f} deg at {three(100.0 * share)} % of the activation, half a turn or "
            'more: write a smaller share in "to"'
        )
    before = _at_share(ways, share - 1.0)
    return tuple(
        Pose(one.position + end.position - start.position, end.axes @ start.axes.T @ one.axes)
        for one, start, end in zip(before, ways.poses(0.0), ways.poses(1.0), strict=True)
    )


def end_of_way(case: Case, legs: Sequence[Leg | Ahead], path: Path) -> Increment:
    """The increment that a result speaks of.

    A bench test ends where it began, often with nothing left to say: then its farthest point is the end."""
    return path.last if case.bench is None else path.end_of([leg.name for leg in legs].index(OUT))


def _engagement(case: Case, names: list[str], engaged: Poses) -> list[Leg]:
    if not case.analysis.tie_in:
        return [Leg(ACTIVATION, engaged, case.analysis.increments)]
    tied = {wire.seated_in for wire in case.wires}
    legs = []
    for name in case.analysis.tie_in:
        tied.add(name)
        active = tuple(other in tied for other in names)
        everything = None if all(active) else active
        legs.append(Leg(f"tying in {name}", engaged, case.analysis.increments, everything))
    return legs


def _moved(case: Case, stand: Poses, names: list[str], stage: StageSpec) -> Poses:
    """One attachment carried by the vector, in world axes, and turned about its own axes; others of its tooth go with
    it."""
    out = list(stand)
    k = names.index(str(stage.moved))
    turned = stand[k].compose(Pose.from_angles(np.zeros(3), *stage.turn))
    out[k] = Pose(turned.position + np.array(stage.by), turned.axes)
    tooth = case.attachments[k].tooth
    for other, spec in enumerate(case.attachments):
        if tooth is not None and spec.tooth == tooth and other != k:
            out[other] = out[k].compose(stand[k].inverse()).compose(stand[other])
    return tuple(out)


def _mover(case: Case, names: list[str], stage: StageSpec) -> Callable[[Poses, Snapshot], Poses]:
    """The same from wherever the attachments have been sent by then; where none moves, they stay there."""
    if stage.moved is None:
        return lambda stand, snapshot: stand
    return lambda stand, snapshot: _moved(case, stand, names, stage)


def _on_bench(stand: Poses, names: list[str], bench: BenchSpec) -> Poses:
    """One attachment carried and turned in its own axes."""
    out = list(stand)
    k = names.index(bench.moved)
    out[k] = stand[k].compose(Pose.from_angles(np.array(bench.by), *bench.turn))
    return tuple(out)
