"""Curves of attachments: torque against the angle of activation, loads in and back, moment-to-force ratio.

Pure functions from a result to ``plots.Plot``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from cases.force_system import AXIS_OF_ORDER
from cases.results import ACTIVATION, ORDERS, RunResult
from cases.schema import Case
from cases.show import activation_figure as curves
from cases.show import labels
from cases.show.agreement import Known
from cases.show.closed_form import ReferenceCurve
from cases.show.plots import CLOSED, WAY_BACK, WAY_OUT, Band, Line, Plot, Stretch
from cases.show.way import gone, stages_of, without_bench
from cases.words import LEAST_SHOWN, ORDER_VIEWS, three

LEAST_ANGLE = 0.05
"""Degrees of activation below which there is no torque expression to show."""
ALIKE = 1e-3
"""Values that differ by less, as a share, are alike: brackets that turn against each other have the same couple."""
LEAST_FORCE_SHARE = 0.02
"""Share of the largest force of an attachment below which its moment-to-force ratio says nothing."""


def engagement(result: RunResult) -> RunResult:
    """The same result with the increments of its engagement at once alone; none where it is tied in by and by."""
    kept = without_bench(result).increments
    first = stages_of(kept)[0] if kept else ("", 0)
    return replace(result, increments=kept[: first[1]] if first[0] == ACTIVATION else ())


def main_order(way: RunResult, index: int) -> str:
    """The order in which an attachment has its largest moment on the way."""
    return max(ORDERS, key=lambda order: _most(way, index, order))


def most_loaded(way: RunResult) -> int:
    """Index of the attachment with the largest moment in any order on the way; of several the first."""
    return first_of_largest([_most(way, k, main_order(way, k)) for k in range(len(way.attachments))])


def first_of_largest(values: Sequence[float]) -> int:
    """Index of the largest value above zero, or of the first that is like it."""
    least = (1.0 - ALIKE) * max(values)
    return next(k for k, value in enumerate(values) if value >= least)


def _most(way: RunResult, index: int, order: str) -> float:
    return max((abs(value) for value in curves.moments(way, index, order)), default=0.0)


# ------------------------------------------------------------------------------------------------ torque expression


def most_inclined(result: RunResult) -> int:
    """Index of the attachment with the largest angle of activation in third order."""
    return int(np.argmax([abs(item.orders["third"].activation_deg) for item in result.attachments]))


def expresses_torque(result: RunResult) -> bool:
    """Whether some slot that can stop the wire's roll is turned in third order as the wire is engaged, and nothing else
    follows: the angles of a result are those of its end."""
    if result.bench is not None or len(engagement(result).increments) != len(result.increments):
        return False
    third = result.attachments[most_inclined(result)].orders["third"]
    return bool(result.increments) and third.play_deg is not None and abs(third.activation_deg) >= LEAST_ANGLE


def torque_plot(
    result: RunResult,
    references: Sequence[ReferenceCurve],
    index: int,
    band: Band | None = None,
    known: Sequence[Known] = (),
) -> Plot:
    """Torque on one attachment against the angle of activation, with the stretch in which play leaves none.

    On the way of the engagement the angle grows evenly, as every attachment turns evenly about a fixed axis."""
    way, item = engagement(result), result.attachments[index]
    inclined = result.attachments[most_inclined(result)]
    whole = abs(inclined.orders["third"].activation_deg)
    angles = tuple(0.01 * share * whole for share in curves.shares(way))
    torque = tuple(curves.moments(way, index, "third"))
    lines = [Line(f"computed, {labels.name_text(item)}", angles, torque, WAY_OUT)]
    own = [one for one in references if one.order == "third" and one.attachment == item.name]
    lines += [
        Line(f"closed form {one.label}", tuple(a * whole for a in one.activation), one.moment_nmm, CLOSED)
        for one in own
    ]
    return Plot(
        "Torque expression, third order (mesiodistal view)",
        "angle of activation (deg)" if inclined is item else f"angle of activation of {inclined.name} (deg)",
        "torque (N mm)",
        tuple(lines),
        "(gf mm)",
        tuple(known),
        band,
        _plateau(angles, torque, own, whole),
    )


def _plateau(
    angles: Sequence[float], torque: Sequence[float], own: Sequence[ReferenceCurve], whole: float
) -> Stretch | None:
    """Where play leaves no torque: up to the closed form's own corner where there is one, else up to the last increment
    that has none."""
    acts = [abs(value) >= LEAST_SHOWN for value in torque]
    if True not in acts:
        return Stretch(f"play: no torque up to {three(angles[-1])} deg", 0.0, angles[-1])
    last = acts.index(True) - 1
    corners = [one.activation[1] * whole for one in own if len(one.activation) == 3]
    if corners:
        return Stretch(f"play: no torque up to {three(corners[0])} deg", 0.0, corners[0])
    if last < 1:
        return None
    return Stretch(f"play: none up to {three(angles[last])} deg at least", 0.0, angles[last])


# ------------------------------------------------------------------------------------------------ out and back


def goes_back(result: RunResult, case: Case) -> bool:
    """Whether a stage behind the engagement goes back on the same way."""
    return bool(case.stages) and case.stages[0].back is not None and bool(engagement(result).increments)


def back_plots(result: RunResult, case: Case, index: int) -> tuple[Plot, Plot]:
    """Force on, and largest moment of one attachment against the activation, out and back on one axis.

    The stages after the engagement that go back are drawn, up to the first that does something else."""
    way = without_bench(result)
    stages = stages_of(way.increments)
    shares, at, count = [0.0], 1.0, stages[0][1]
    shares += [one.activation for one in way.increments[:count]]
    for spec, (_, own) in zip(case.stages, stages[1:], strict=False):
        if spec.back is None:
            break
        end = 1.0 - spec.back
        shares += [at + (end - at) * one.activation for one in way.increments[count : count + own]]
        at, count = end, count + own
    kept = replace(way, increments=way.increments[:count])
    order = main_order(kept, index)
    percent = [100.0 * share for share in shares]
    turn = 1 + stages[0][1]
    plots = []
    for title, label, gram_force, values in (
        ("Force", curves.FORCE_LABEL, "(gf)", curves.force_sizes(kept, index)),
        (f"Moment, {ORDER_VIEWS[order]}", curves.MOMENT_LABEL, "(gf mm)", curves.moments(kept, index, order)),
    ):
        lines = (
            Line("on the way in", tuple(percent[:turn]), tuple(values[:turn]), WAY_OUT),
            Line("on the way back", tuple(percent[turn - 1 :]), tuple(values[turn - 1 :]), WAY_BACK),
        )
        plots.append(Plot(title, "activation (%)", label, lines, gram_force))
    return plots[0], plots[1]


# ------------------------------------------------------------------------------------------------ moment-to-force ratio


def ratios(result: RunResult, index: int) -> list[tuple[float, float]]:
    """Way gone (%) and moment-to-force ratio (mm) of one attachment: size of its moment in the order in which that is
    largest, over the size of its force in the same plane; nothing where the force says nothing."""
    way = without_bench(result)
    order = main_order(way, index)
    across = AXIS_OF_ORDER[order]
    forces = []
    for increment in way.increments:
        own = increment.attachments[index].own_force_n
        if own is None:
            return []
        forces.append(math.hypot(*(value for axis, value in enumerate(own) if axis != across)))
    # What is small beside the whole force is that of another plane, seen a little askew.
    least = max(LEAST_SHOWN, LEAST_FORCE_SHARE * max(curves.force_sizes(way, index)))
    rows = zip(gone(way.increments), way.increments, forces, strict=True)
    k = ORDERS.index(order)
    return [
        (at, abs(one.attachments[index].orders_moment_nmm[k]) / force)
        for at, one, force in rows
        if force >= least
    ]


def has_ratio(result: RunResult, index: int) -> bool:
    """Whether an attachment has a moment beside its force, on two increments at least; a button never has."""
    way = without_bench(result)
    if not way.increments or result.attachments[index].kind == "button":
        return False
    return _most(way, index, main_order(way, index)) >= LEAST_SHOWN and len(ratios(result, index)) > 1


def ratio_plot(result: RunResult, indices: Sequence[int], known: Sequence[Known] = ()) -> Plot:
    """Moment-to-force ratio of every attachment that has one, along the way."""
    lines = []
    for index in indices:
        item = result.attachments[index]
        points = ratios(result, index)
        order = main_order(without_bench(result), index)
        lines.append(
            Line(
                f"{labels.name_text(item)}, {order} order",
                tuple(place for place, _ in points),
                tuple(value for _, value in points),
                curves.look_of(index),
            )
        )
    several = len(stages_of(without_bench(result).increments)) > 1
    return Plot(
        "Moment-to-force ratio, about the attachment's centre",
        curves.X_LABEL_STAGES if several else curves.X_LABEL,
        "M/F (mm)",
        tuple(lines),
        known=tuple(known),
    )
