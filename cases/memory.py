"""What a wire that yields or transforms remembers: shares, energy lost, and the set that it keeps when it is let go."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cases.legs import end_of_way, leg_names
from cases.memory_results import CycleLoss, SetAtAttachment, WireMemory
from cases.results import IncrementResult
from cases.schema import Case, StageSpec
from cases.words import LEAST_SHOWN, listed, shown, three
from fem.fibre_readings import FibreReadings
from fem.model import Model
from fem.path import Ahead, Leg, Path
from fem.permanent_set import released
from fem.status import NoEquilibrium
from geometry.pose import Pose
from geometry.wire_shapes import PassiveShape

LEAST_SET = (1e-3, 0.01)
"""mm and deg: a smaller set is not spoken of, nobody could measure it."""
LEAST_SHARE = 5e-4
LEAST_WAY = (0.01, 0.1)
"""mm and deg: springback is a share of a longer way only."""


def wire_memory(
    case: Case,
    model: Model,
    path: Path,
    legs: Sequence[Leg | Ahead],
    increments: Sequence[IncrementResult],
) -> WireMemory | None:
    """What is left of a whole way; None where the wire is elastic."""
    readings = end_of_way(case, legs, path).snapshot.fibres
    if model.fibres is None or readings is None:
        return None
    losses = cycle_losses(case.stages, increments)
    shape: PassiveShape | None
    try:
        shape = released(path).shape
    except NoEquilibrium:
        shape = None
    sets = () if shape is None else sets_of(case, shape, [leg.ends for leg in path.legs])
    temperature = case.analysis.temperature if readings.temperature is None else readings.temperature
    return WireMemory(
        law=case.wire.material.law_name,
        temperature_degc=temperature,
        yielded_share=readings.yielded_share,
        most_yielded_share=float(readings.yielded.max()),
        martensite_share=readings.martensite_share,
        most_martensite_share=float(readings.martensite.max()),
        largest_plastic_strain=float(readings.plastic.max()),
        dissipated_nmm=readings.dissipated,
        stored_nmm=readings.stored,
        cycles=losses,
        sets=sets,
        words=(
            *_state_words(case, readings, temperature),
            *_loss_words(readings, losses),
            *_set_words(shape is not None, sets),
        ),
        released=shape,
    )


def cycle_losses(stages: Sequence[StageSpec], increments: Sequence[IncrementResult]) -> tuple[CycleLoss, ...]:
    """Round by round, of every stage that goes to shares of the activation."""
    out = []
    for stage in stages:
        names = leg_names(stage) if stage.to else ()
        for cycle in range(stage.repeat if stage.to else 0):
            own = names[cycle * len(stage.to) : (cycle + 1) * len(stage.to)]
            within = [one for one in increments if one.stage in own]
            in_wire, sliding = (
                sum(getattr(one, what) for one in within) for what in ("dissipated_nmm", "lost_nmm")
            )
            out.append(CycleLoss(stage.name, cycle + 1, in_wire, sliding))
    return tuple(out)


def sets_of(case: Case, shape: PassiveShape, ends: Sequence[Sequence[Pose]]) -> tuple[SetAtAttachment, ...]:
    """Of the released ``shape`` against the passive one, both laid into the seat, at every other attachment.

    ``ends``: where the attachments were sent, leg by leg; how far from the passive wire is the activation."""
    names = [spec.name for spec in case.attachments]
    arcs = [spec.attachment.at for spec in case.attachments]
    home = names.index(case.wire.seated_in)
    passive, kept = (_in_the_seat(one, arcs, home) for one in (case.wire.passive_shape, shape))
    out = []
    for k, name in enumerate(names):
        if k == home:
            continue
        moved, turned = _between(passive[k], kept[k])
        ways = [_between(passive[k], stand[home].inverse().compose(stand[k])) for stand in ends]
        far, wide = (max(values) for values in zip(*ways, strict=True))
        springback = None
        if far > LEAST_WAY[0]:
            springback = 1.0 - moved / far
        elif wide > LEAST_WAY[1]:
            springback = 1.0 - turned / wide
        out.append(SetAtAttachment(name, moved, turned, far, wide, springback))
    return tuple(out)


def _in_the_seat(shape: PassiveShape, arcs: Sequence[float], home: int) -> list[Pose]:
    """Frames of the wire at the attachments, from that at the seat."""
    held = np.clip(np.array(arcs), 0.0, shape.length)
    poses = [Pose(place, axes) for place, axes in zip(*shape.frames(held), strict=True)]
    seat = poses[home].inverse()
    return [seat.compose(pose) for pose in poses]


def _between(one: Pose, other: Pose) -> tuple[float, float]:
    """Distance in mm and turn in deg."""
    apart = one.inverse().compose(other)
    turn = math.acos(min(1.0, max(-1.0, 0.5 * (float(np.trace(apart.axes)) - 1.0))))
    return float(np.linalg.norm(apart.position)), math.degrees(turn)


def _state_words(case: Case, readings: FibreReadings, temperature: float) -> tuple[str, ...]:
    if case.wire.material.law_name == "superelastic":
        if readings.martensite_share < LEAST_SHARE:
            return (f"At {temperature:g} degC, at the end, no part of the wire is martensite.",)
        return (
            f"At {temperature:g} degC, at the end, {_percent(readings.martensite_share)} of the wire is martensite, "
            f"{_percent(float(readings.martensite.max()))} of the section where it is most.",
        )
    if readings.yielded_share == 0.0:
        return ("The wire has not yielded anywhere: it is as elastic as it was.",)
    return (
        f"{_percent(readings.yielded_share)} of the wire has yielded, {_percent(float(readings.yielded.max()))} of the "
        f"section where it is most; the largest plastic strain is {_percent(float(readings.plastic.max()))}.",
    )


def _loss_words(readings: FibreReadings, losses: Sequence[CycleLoss]) -> tuple[str, ...]:
    if readings.dissipated < LEAST_SHOWN:
        return ("No energy was lost in its material.",)
    out = [
        f"{three(readings.dissipated)} N mm were lost in its material on the whole way; at the end it holds "
        f"{shown(readings.stored)} N mm."
    ]
    out += [
        f'"{one.stage}", round {one.cycle}: {shown(one.in_wire_nmm)} N mm lost in the wire'
        + (f" and {shown(one.in_sliding_nmm)} in sliding." if one.in_sliding_nmm >= LEAST_SHOWN else ".")
        for one in losses
    ]
    return tuple(out)


def _set_words(rests: bool, sets: Sequence[SetAtAttachment]) -> tuple[str, ...]:
    if not rests:
        return ("Let go, the wire was not found at rest: its set is not known.",)
    told = [one for one in sets if one.moved_mm > LEAST_SET[0] or one.turned_deg > LEAST_SET[1]]
    if not told:
        return ("Let go, it comes back to its passive shape.",)
    parts = [
        f"at {one.attachment} {shown(one.moved_mm)} mm and {shown(one.turned_deg)} deg"
        + ("" if one.springback is None else f" (springback {_percent(one.springback)})")
        for one in told
    ]
    return (
        f"Let go and laid into its seat it keeps a set: {listed(parts)}. Springback is the share of the farthest "
        "activation that comes back.",
    )


def _percent(share: float) -> str:
    return f"{three(100.0 * share)} %"
