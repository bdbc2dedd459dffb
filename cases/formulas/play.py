"""Play of a straight wire in a rigid slot: ``geometry.clearance`` asked for one order at a time."""

from __future__ import annotations

import math
from typing import Annotated

from cases.formulas.quantities import (
    EdgeRadius,
    SlotDepth,
    SlotHeight,
    SlotWidth,
    WireDepth,
    WireHeight,
    WireSize,
)
from cases.formulas.registry import formula

ANY_WIDTH = 1.0
"""mm: the width of a slot counts only where the wire is tilted."""


@formula("How far does a rectangular wire roll until the slot's height stops it?")
def torque_play_rad(
    slot_height_mm: SlotHeight,
    wire_height_mm: WireHeight,
    wire_depth_mm: WireDepth,
    edge_radius_mm: EdgeRadius = 0.0,
) -> Annotated[float, "third-order play, one-sided from centred"]:
    """(h - 2r) cos g + (w - 2r) sin g + 2r = H.

    Infinite where no roll brings the wire to both walls: its diagonal clears the slot.

    Source: Dellinger 1978, as in Papageorgiou et al., Prog. Orthod. 17 (2016) 5; with rounded edges, geometry.
    Valid: parallel walls, a slot so deep that its height alone counts, a wire that fits.
    """
    return _torque_play(slot_height_mm, None, wire_height_mm, wire_depth_mm, edge_radius_mm)


@formula("How far does a rectangular wire roll in a slot that is closed in front?")
def torque_play_in_closed_slot_rad(
    slot_height_mm: SlotHeight,
    slot_depth_mm: SlotDepth,
    wire_height_mm: WireHeight,
    wire_depth_mm: WireDepth,
    edge_radius_mm: EdgeRadius = 0.0,
) -> Annotated[float, "third-order play, one-sided from centred"]:
    """The smaller root of (h - 2r) cos g + (w - 2r) sin g + 2r = H and (w - 2r) cos g + (h - 2r) sin g + 2r = D.

    Infinite where neither pair of walls ever stops the wire.

    Source: geometry; the first is Dellinger's equation of 1978.
    Valid: parallel walls and a rigid front, as of a tube or a door; a wire that fits.
    """
    return _torque_play(slot_height_mm, slot_depth_mm, wire_height_mm, wire_depth_mm, edge_radius_mm)


def _torque_play(
    slot_height: float,
    slot_depth: float | None,
    height: float,
    depth: float,
    edge: float,
    tilt: float = 0.0,
    width: float = ANY_WIDTH,
) -> float:
    from geometry.attachments import Slot
    from geometry.clearance import third_order_play
    from geometry.section import Rectangle

    section = Rectangle(height, depth, edge)
    if height > slot_height or (slot_depth is not None and depth > slot_depth):
        raise ValueError("the wire does not fit into the slot")
    slot = Slot(slot_height, slot_depth or 10.0 * depth, width)
    play = third_order_play(section, slot, tilt, front="open" if slot_depth is None else "closed")
    return math.inf if play.angle is None else play.angle


@formula("How much third-order play is left to a wire that is tilted in second order?")
def torque_play_left_rad(
    slot_height_mm: SlotHeight,
    slot_width_mm: SlotWidth,
    wire_height_mm: WireHeight,
    wire_depth_mm: WireDepth,
    tilt_rad: Annotated[float, "second-order angle t of wire to slot", "any"],
    edge_radius_mm: EdgeRadius = 0.0,
) -> Annotated[float, "third-order play left, one-sided"]:
    """(h - 2r) cos g + (w - 2r) sin g + 2r = H cos t - W sin t.

    None once the tilt has used up the play in second order.

    Source: geometry; Dellinger's equation of 1978 with the height seen through the mouths.
    Valid: parallel walls, a slot so deep that its height alone counts, sharp mouths, a wire straight within the slot.
    """
    return _torque_play(
        slot_height_mm, None, wire_height_mm, wire_depth_mm, edge_radius_mm, tilt_rad, slot_width_mm
    )


@formula("At which angle does a wire bind at both mouths: the critical contact angle?")
def critical_contact_angle_rad(
    wire_size_mm: WireSize, slot_size_mm: Annotated[float, "size of the slot there"], slot_width_mm: SlotWidth
) -> Annotated[float, "play in second or first order, one-sided"]:
    """SLOT cos t - WIDTH sin t = SIZE.

    With heights in second order, with depths in first order.

    Source: Kusy & Whitley, Eur. J. Orthod. 21 (1999) 199, before they make the angle small.
    Valid: sharp mouths, a wire straight within the slot that fits it.
    """
    from geometry.attachments import Slot
    from geometry.clearance import clearance
    from geometry.section import Round

    if wire_size_mm > slot_size_mm:
        raise ValueError("the wire does not fit into the slot")
    play = clearance(Round(wire_size_mm), Slot(slot_size_mm, slot_size_mm, slot_width_mm)).second.angle
    assert play is not None  # no wire goes through across a slot
    return play


@formula(
    "At which angle does a wire bind at both mouths, by the simplified form in use?",
    lambda given: (
        given["slot_size_mm"] - given["wire_size_mm"] <= 0.1 * given["slot_width_mm"]
        and given["slot_size_mm"] <= 0.25 * given["slot_width_mm"]
    ),
)
def critical_contact_angle_simplified_rad(
    wire_size_mm: WireSize, slot_size_mm: Annotated[float, "size of the slot there"], slot_width_mm: SlotWidth
) -> Annotated[float, "critical contact angle"]:
    """t = 57.32 (1 - SIZE/SLOT)/(WIDTH/SLOT) degrees.

    Source: Kusy & Whitley, Eur. J. Orthod. 21 (1999) 199.
    Valid: gaps up to a tenth and slots up to a quarter of the width: within 2 % of the exact angle, which is smaller.
    """
    if wire_size_mm > slot_size_mm:
        raise ValueError("the wire does not fit into the slot")
    degrees = 57.32 * (1.0 - wire_size_mm / slot_size_mm) / (slot_width_mm / slot_size_mm)
    return math.radians(degrees)
