"""The force system of one attachment, order by order, with the words of the trade."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cases.results import AttachmentResult, ContactResult, MouthResult, OrderResult, Vector
from cases.schema import AttachmentSpec
from cases.teeth import tooth_result
from cases.tooth_support import displacement
from cases.words import force_sentences, order_words
from fem.recovery import Snapshot, WallForces
from fem.wires import Wire
from geometry.attachments import FLOOR, LOWER_WALL, OUTER_WALL, UPPER_WALL
from geometry.clearance import PlayInOrder, clearance, front_of, third_order_play
from geometry.pose import Pose
from geometry.section import Round, Section

Array = NDArray[np.float64]

# Rows of a vector in the attachment's own axes that belong to the orders: about y, about z, about x.
AXIS_OF_ORDER = {"first": 1, "second": 2, "third": 0}
WALL_NAMES = {(0, 1): UPPER_WALL, (0, -1): LOWER_WALL, (1, 1): OUTER_WALL, (1, -1): FLOOR}
# A couple smaller than this share of the wall forces times the slot's width is rounding of their places.
COUPLE_SHARE = 1e-6


def vector(values: Array) -> Vector:
    """Three plain floats."""
    return (float(values[0]), float(values[1]), float(values[2]))


def attachment_result(
    spec: AttachmentSpec,
    index: int,
    snapshot: Snapshot,
    wire: Wire,
    passive_axes: Array,
    commanded: Pose | None = None,
    support: str | None = None,
    name: str = "",
) -> AttachmentResult:
    """What attachment ``index`` passes to its tooth;

    ``wire`` is the one it holds, called ``name``, ``passive_axes`` (3, 3) that wire here before engagement,
    ``commanded`` the pose of a tooth that had not given way, and ``support`` says in words how it does, where it does.
    """
    attachment = spec.attachment
    pose = Pose(snapshot.support_position[index], snapshot.support_axes[index])
    force, moment = snapshot.force[index], snapshot.moment[index]
    about = snapshot.acting_point[index]
    own = pose.axes.T @ moment
    orders = _orders(spec, index, snapshot, wire.section, passive_axes, own)
    slot = attachment.slot
    tooth = tooth_result(spec, pose.axes.T @ force, own, pose.to_local(about), snapshot.floor)
    if tooth is not None and support is not None and commanded is not None:
        tooth = replace(tooth, support=support, displacement=displacement(spec, commanded, pose))
    return AttachmentResult(
        name=spec.name,
        kind=attachment.kind,
        tooth=spec.tooth,
        force_n=vector(force),
        moment_nmm=vector(moment),
        moment_about_mm=vector(about),
        orders=orders,
        mouths=_mouths(spec, index, snapshot, wire.begin),
        contacts=_contacts(spec, snapshot.walls, index),
        sliding_mm=float(attachment.at + wire.begin - snapshot.centre_arc[index]),
        moment_at_centre_of_resistance_nmm=(
            None if tooth is None else vector(pose.axes @ np.array(tooth.moment_nmm))
        ),
        words=force_sentences(spec.tooth, pose.axes.T @ force, own, orders, snapshot.floor),
        pose=pose,
        slot_size_mm=None if slot is None else (slot.height, slot.depth, slot.width),
        inside_share=float(snapshot.inside[index]),
        attachment=attachment,
        at_centre_of_resistance=tooth,
        wire=name,
    )


def _orders(
    spec: AttachmentSpec, index: int, snapshot: Snapshot, section: Section, passive_axes: Array, own: Array
) -> dict[str, OrderResult]:
    pose_axes = snapshot.support_axes[index]
    before = _tilts(pose_axes, passive_axes)
    after = _tilts(pose_axes, snapshot.centre_axes[index])
    plays = _plays(spec, section, after)
    as_tilted = plays["third"][1]
    couples = _couples(spec, index, snapshot, own, as_tilted is not None and as_tilted.turns_freely)
    spins = isinstance(section, Round) and as_tilted is not None and as_tilted.turns_freely
    out = {}
    for order, axis in AXIS_OF_ORDER.items():
        alone, left = plays[order]
        carries = couples[order]
        left_deg: float | None = None
        if left is not None and left.angle is not None:
            left_deg = 0.0 if carries else math.degrees(max(left.angle - abs(after[order]), 0.0))
        moment = float(own[axis])
        out[order] = OrderResult(
            moment_nmm=moment,
            activation_deg=math.degrees(before[order]),
            engagement_deg=None if spins and order == "third" else math.degrees(after[order]),
            play_deg=None if alone is None or alone.angle is None else math.degrees(alone.angle),
            play_left_deg=left_deg,
            turns_freely=alone is not None and alone.turns_freely,
            carries_couple=carries,
            stopping_walls=() if alone is None else alone.walls,
            words=order_words(spec.tooth, order, moment, carries, alone, spec.attachment.kind),
        )
    return out


def _tilts(frame: Array, wire: Array) -> dict[str, float]:
    """Turn of the wire seen from ``frame``, rad, as first, second and third order."""
    about_y, about_z, about_x = Pose(np.zeros(3), frame.T @ wire).angles()
    return {"first": about_y, "second": about_z, "third": about_x}


def _plays(
    spec: AttachmentSpec, section: Section, tilt: dict[str, float]
) -> dict[str, tuple[PlayInOrder | None, PlayInOrder | None]]:
    """Per order the play alone, and the play with the wire tilted as it is in the other orders."""
    slot = spec.attachment.slot
    if slot is None:
        return dict.fromkeys(AXIS_OF_ORDER, (None, None))
    front = front_of(spec.attachment.ligation)
    alone = clearance(section, slot, front)
    tilted = third_order_play(section, slot, tilt["second"], tilt["first"], front)
    return {"first": (alone.first,) * 2, "second": (alone.second,) * 2, "third": (alone.third, tilted)}


def _couples(
    spec: AttachmentSpec, index: int, snapshot: Snapshot, own: Array, rolls_freely: bool
) -> dict[str, bool]:
    """Where opposed contacts, or a held section, make a couple.

    Contacts at different depths of either mouth turn the slot about its length; where the wire ``rolls_freely`` none of
    them stops a roll, and that is no couple of the third order.
    """
    attachment = spec.attachment
    if attachment.kind == "button" or attachment.is_edge:
        return dict.fromkeys(AXIS_OF_ORDER, False)
    small = 10.0 * snapshot.floor
    if attachment.slot is None:
        return {order: bool(abs(own[axis]) > small) for order, axis in AXIS_OF_ORDER.items()}
    walls = snapshot.walls
    width = attachment.slot.width
    arm = {"first": 0.0, "second": 0.0, "third": float(snapshot.roll_moment[index])}
    pressed = 0.0
    for axis in (0, 1):
        here = (walls.support == index) & (walls.axis == axis)
        high, low = here & (walls.side > 0), here & (walls.side < 0)
        pressed += float(walls.normal[here].sum())
        if not (high.any() and low.any()):
            continue
        balanced = min(walls.normal[high].sum(), walls.normal[low].sum())
        apart = _centroid(walls, high) - _centroid(walls, low)
        arm["second" if axis == 0 else "first"] += balanced * apart[0]
        if not rolls_freely:
            arm["third"] += balanced * (-apart[2] if axis == 0 else apart[1])
    small = max(small, COUPLE_SHARE * pressed * width)
    return {order: bool(abs(value) > small) for order, value in arm.items()}


def _centroid(walls: WallForces, chosen: NDArray[np.bool_]) -> Array:
    return np.asarray(np.average(walls.point[chosen], axis=0, weights=walls.normal[chosen]))


def _contacts(spec: AttachmentSpec, walls: WallForces, index: int) -> tuple[ContactResult, ...]:
    rows = np.flatnonzero(walls.support == index)
    attachment = spec.attachment
    names = dict(WALL_NAMES)
    if attachment.ligation.is_elastic:
        names[1, 1] = attachment.ligation.kind
    if attachment.is_edge:
        names = dict.fromkeys(names, attachment.kind)
    return tuple(
        ContactResult(
            place_mm=vector(walls.centre[i]),
            offset_mm=float(walls.offset[i]),
            wall=names[int(walls.axis[i]), int(walls.side[i])],
            normal_force_n=float(walls.normal[i]),
            friction_force_n=float(np.linalg.norm(walls.friction[i])),
            give_mm=float(walls.give[i]),
        )
        for i in rows
    )


def _mouths(spec: AttachmentSpec, index: int, snapshot: Snapshot, begin: float) -> tuple[MouthResult, ...]:
    """Section resultants just outside: element before the first mouth, element after the last.  ``begin``: where the
    wire begins in the common count."""
    if spec.attachment.kind == "button":
        return ()
    out = []
    before, after = snapshot.mouth_nodes[index]
    firsts, lasts = zip(*snapshot.spans, strict=True)
    if before >= 0 and before not in firsts:
        wrench = -snapshot.resultants[before - 1, 1]
        out.append(_mouth("start", before, wrench, snapshot, begin))
    if after >= 0 and after not in lasts:
        out.append(_mouth("end", after, snapshot.resultants[after, 0], snapshot, begin))
    return tuple(out)


def _mouth(place: str, node: int, wrench: Array, snapshot: Snapshot, begin: float) -> MouthResult:
    axes = snapshot.axes[node]
    return MouthResult(
        place, float(snapshot.arcs[node] - begin), vector(axes @ wrench[:3]), vector(axes @ wrench[3:])
    )
