"""The attachments as one system: couples and statics, order by order.

Statics of one order is a balance in its plane.  Across the wire there are two equations, of forces and of moments, for
a force on every attachment that bears one and a couple where one is carried: one couple and one point leave one load
open, and with that known the rest follows.  In third order there is one equation, of moments about the wire at the
largest couple, for the couples and for each force that has a lever there: two torques about one line are equal and
opposite by statics.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cases.follow import follow_words
from cases.force_system import AXIS_OF_ORDER
from cases.results import ORDERS, AttachmentResult, JointResult, OrderResult
from cases.schema import Case
from cases.system_results import FollowStep, InPlay, OrderSystem, SystemResult
from cases.two_brackets import SAME_PLANE, State, geometries_of
from cases.words import ORDER_VIEWS, SPOKEN_SHARE, listed, shown
from geometry.pose import Pose

Array = NDArray[np.float64]

# Own axis of the force across the wire.
ACROSS = {"first": 2, "second": 1}
COUNTED = ("no couple", "one-couple system", "two-couple system", "three-couple system", "four-couple system")


def system_of(
    case: Case,
    attachments: Sequence[AttachmentResult],
    floor: float,
    states: Sequence[State],
    following: Sequence[FollowStep],
    joints: Sequence[JointResult] = (),
) -> SystemResult:
    """What ``attachments`` are together at the end of a run, wire by wire; ``states`` are those at the ends of its
    stages, and below ``floor`` (N) a force is none.  Where a wire is joined to another, it is held at a point."""
    wires = [_held_by(wire.name, attachments, joints) for wire in case.wires]
    whole = wires if len(wires) > 1 else [list(attachments)]
    systems = [{order: order_system(order, held, floor) for order in ORDERS} for held in whole]
    passive = tuple(
        one.name
        for one in attachments
        if float(np.linalg.norm(one.force_n)) <= floor
        and not any(order.carries_couple for order in one.orders.values())
    )
    geometries = tuple(found for state in states for found in geometries_of(case, state))
    words = [
        f"{f'{wire.name}. ' if len(wires) > 1 else ''}{orders[order].words}"
        for wire, orders in zip(case.wires, systems, strict=True)
        for order in ORDERS
    ]
    words += [joint.words for joint in joints]
    words += [] if not passive else [f"Passive, without force or couple: {listed(passive)}."]
    steps = {stage.name for stage in case.stages if stage.follow is not None}
    words += [one.words for one in geometries if one.stage.rpartition(", step ")[0] not in steps]
    words += follow_words(case, following, geometries)
    return SystemResult(systems[0], passive, geometries, tuple(following), tuple(words), tuple(systems[1:]))


def _held_by(
    wire: str, attachments: Sequence[AttachmentResult], joints: Sequence[JointResult]
) -> list[AttachmentResult]:
    """The attachments of a wire, and its joints as the points that hold it, with the force that each gets from it."""
    own = [one for one in attachments if one.wire == wire]
    for joint in joints:
        if wire in (joint.wire, joint.to):
            pull = np.array(joint.force_n) * (1.0 if joint.wire == wire else -1.0)
            point = Pose(np.array(joint.place_mm), own[0].pose.axes)
            orders = {
                order: OrderResult(0.0, 0.0, None, None, None, False, False, (), "") for order in ORDERS
            }
            own.append(
                AttachmentResult(
                    joint.name, "button", None, (float(pull[0]), float(pull[1]), float(pull[2])), (0.0, 0.0, 0.0),
                    joint.place_mm, orders, (), (), 0.0, None, (), point, None,
                )
            )  # fmt: skip
    return own


def order_system(order: str, attachments: Sequence[AttachmentResult], floor: float) -> OrderSystem:
    """Who carries couples in ``order``, who only a force, and what statics says of them."""
    carriers = [one for one in attachments if one.orders[order].carries_couple]
    within = tuple(
        InPlay(one.name, one.orders[order].play_left_deg)
        for one in attachments
        if one.slot_size_mm is not None and not one.orders[order].carries_couple
    )
    names = tuple(one.name for one in carriers)
    count = len(carriers)
    kind = COUNTED[count] if count < len(COUNTED) else f"{count} couples"
    # without a couple any slot tells the plane
    able = carriers or [one for one in attachments if one.slot_size_mm is not None] or attachments
    strongest = max(able, key=lambda one: abs(one.orders[order].moment_nmm))
    bearing = _bearing(order, attachments, strongest, floor)
    holding = tuple(one.name for one in bearing if one not in carriers)
    flat = _share_a_plane(order, attachments, strongest)
    loads, left = None, None
    if flat and (carriers or len(bearing) > 2):
        loads = count + len(bearing)
        left = max(loads - (1 if order == "third" else 2), 0)
    # a couple that nothing seems to balance is balanced by what is too small to be spoken of
    determinate = None if left is None else left <= 1
    largest = max(abs(item.moment_nmm) for one in attachments for item in one.orders.values())
    small = abs(strongest.orders[order].moment_nmm) <= SPOKEN_SHARE * largest
    words = _order_words(order, kind, within, names, holding, loads, left, small)
    return OrderSystem(kind, names, holding, within, loads, left, determinate, words)


def _bearing(
    order: str, attachments: Sequence[AttachmentResult], strongest: AttachmentResult, floor: float
) -> list[AttachmentResult]:
    """Attachments whose force counts in the balance of ``order``: across the wire, or by its lever about it."""
    axes = strongest.pose.axes
    largest = max(float(np.linalg.norm(one.force_n)) for one in attachments)
    least = max(floor, SPOKEN_SHARE * largest)
    if order != "third":
        across = axes[:, ACROSS[order]]
        return [
            one
            for one in attachments
            # what carries a couple can bear a force, also where symmetry leaves none
            if one.orders[order].carries_couple or abs(float(across @ np.array(one.force_n))) > least
        ]
    couple = abs(strongest.orders[order].moment_nmm)
    if not strongest.orders[order].carries_couple:
        return []
    return [
        one
        for one in attachments
        if abs(float(axes[:, 0] @ np.cross(_from(strongest, one), np.array(one.force_n))))
        > SPOKEN_SHARE * couple
    ]


def _from(strongest: AttachmentResult, one: AttachmentResult) -> Array:
    return np.subtract(one.moment_about_mm, strongest.moment_about_mm, dtype=np.float64)


def _share_a_plane(order: str, attachments: Sequence[AttachmentResult], strongest: AttachmentResult) -> bool:
    """Whether the couples about the axis of ``order`` are those of this order at all attachments, and no others."""
    axis = strongest.pose.axes[:, AXIS_OF_ORDER[order]]
    for one in attachments:
        for other, found in one.orders.items():
            near = abs(float(axis @ one.pose.axes[:, AXIS_OF_ORDER[other]])) > SAME_PLANE
            if found.carries_couple and near != (other == order):
                return False
    return True


def _order_words(
    order: str,
    kind: str,
    within: Sequence[InPlay],
    names: Sequence[str] = (),
    holding: Sequence[str] = (),
    loads: int | None = None,
    left: int | None = None,
    small: bool = False,
) -> str:
    view = ORDER_VIEWS[order]
    out = f"{view[0].upper()}{view[1:]}: {kind}"
    if names:
        out += f", {listed(names)}"
        if small:
            out += f" (below {100.0 * SPOKEN_SHARE:.0f} % of the largest moment)"
    if holding:
        out += f"; {listed(holding)} {'holds' if len(holding) == 1 else 'hold'} a point"
    if names or len(holding) > 2:
        out += ". "
        if left is None:
            out += "Not of one plane: couples of other orders act in it, and statics of this order alone says nothing"
        elif order == "third" and loads == 2 and not holding:
            out += "By statics the one torque is the other turned round; how large it is, the wire decides"
        elif left <= 1:
            out += "Statically determinate: once one load is known, statics gives the others"
        else:
            out += (
                f"Statically indeterminate: statics leaves {left} of {loads} loads open, and the wire decides"
            )
    limited = [
        f"{one.name} ({shown(one.play_left_deg)} deg left)" for one in within if one.play_left_deg is not None
    ]
    free = [one.name for one in within if one.play_left_deg is None]
    if limited:
        out += f". Within its play: {listed(limited)}"
    if free:
        all_of_many = len(free) == len(within) > 3 and not names
        out += f". Free in {f'all {len(free)} slots' if all_of_many else listed(free)}"
    return f"{out}."
