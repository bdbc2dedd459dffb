"""An arch laid out flat, so that a facial view sees every tooth from its own front.  Numbers only.

The wire lies on an upright wall that follows it round the arch.  The wall is unrolled: to the right stands the length
along the wire as seen from above, upwards the world's y; lengths and slopes of the wire stay what they are.  Every
attachment keeps its height and stands where the wire passes its centre; it, its force and its moment are seen square
to its own slot.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.results import AttachmentResult, RunResult, Vector, WireResult
from cases.show.faces import Face, faces
from geometry.pose import Pose, frozen

Array = NDArray[np.float64]

TITLE = "Facial view, arch unrolled"
NOTE = (
    "The arch is unrolled along its wire: to the right stands the length along the wire as seen from above, upwards "
    "the height. Every tooth's force and moment are those in its own slot's facial plane (the moment: second order)."
)
KEY = "facial, arch unrolled"
MOST_TURN = np.radians(60.0)
"""Slots that turn further than this about the vertical, from the first to the last, lie round an arch."""
_LEVEL = 0.5
"""A slot whose x axis, seen from above, is shorter than this has no direction round the arch."""
_UP = np.array([0.0, 1.0, 0.0])


def goes_round(result: RunResult) -> bool:
    """Whether the attachments lie round an arch."""
    along = np.array([item.pose.axes[:, 0] for item in result.attachments])
    if len(along) < 2 or float(np.hypot(along[:, 0], along[:, 2]).min()) < _LEVEL:
        return False
    return bool(np.ptp(_headings(along)) > MOST_TURN)


def shown(result: RunResult) -> tuple[tuple[Face, RunResult], ...]:
    """Each of the three views with the result it looks at: an arch is unrolled for its facial view."""
    facial, occlusal, mesiodistal = faces(result)
    if not goes_round(result):
        return (facial, result), (occlusal, result), (mesiodistal, result)
    flat = Face(KEY, TITLE, facial.axes, ("along the wire", facial.words[1]))
    return (flat, unrolled(result)), (occlusal, result), (mesiodistal, result)


def unrolled(result: RunResult) -> RunResult:
    """The appliance on its unrolled wall, to be looked at along -z.  Poses, forces, moments and the wire's curves are
    turned and moved; contacts, mouths and sums stay as they are."""
    wall = _wall(result)
    wire = result.wire
    passive = wall.flat + np.einsum("nji,nj->ni", wall.frames, wire.passive_positions_mm - wire.positions_mm)
    axes = np.einsum("nji,njk->nik", wall.frames, wire.axes)
    laid = replace(
        wire, positions_mm=frozen(wall.flat), axes=frozen(axes), passive_positions_mm=frozen(passive)
    )
    return replace(
        result,
        wire=laid,
        more_wires=tuple(_laid_wire(other, wall, wire) for other in result.more_wires),
        attachments=tuple(_laid(item, wall, wire) for item in result.attachments),
        joints=tuple(
            replace(one, place_mm=_vector(_place(np.array(one.place_mm), wall, wire)))
            for one in result.joints
        ),
    )


def _laid_wire(other: WireResult, wall: _Wall, wire: WireResult) -> WireResult:
    """Another wire, each of its nodes seen from the nearest of the first one."""
    near = [_nearest(wire, point) for point in other.positions_mm]
    inward = np.swapaxes(wall.frames[near], 1, 2)

    def along(points: Array) -> Array:
        away = points - wire.positions_mm[near]
        return frozen(wall.flat[near] + (inward @ away[:, :, None])[:, :, 0])

    return replace(
        other,
        positions_mm=along(other.positions_mm),
        axes=frozen(inward @ other.axes),
        passive_positions_mm=along(other.passive_positions_mm),
    )


@dataclass(frozen=True, slots=True)
class _Wall:
    """The upright wall along the wire's nodes."""

    frames: Array
    """(n, 3, 3), columns: along the wall, up, out of it."""
    flat: Array
    """(n, 3), mm: the wire's nodes on the unrolled wall."""


def _headings(along: Array) -> Array:
    """Direction (n,), rad, of vectors (n, 3) seen from above, without jumps."""
    return np.unwrap(np.arctan2(-along[:, 2], along[:, 0]))


def _wall(result: RunResult) -> _Wall:
    wire = result.wire
    own = [item for item in result.attachments if result.wire_of(item) is wire]
    places = [_nearest(wire, np.asarray(item.pose.position)) for item in own]
    slots = _headings(np.array([item.pose.axes[:, 0] for item in own]))
    order = np.argsort(wire.arc_length_mm[places], kind="stable")
    guide = np.interp(wire.arc_length_mm, wire.arc_length_mm[places][order], slots[order])
    forth = np.column_stack((np.cos(guide), np.zeros(len(guide)), -np.sin(guide)))
    level = wire.axes[:, :, 0] * np.array([1.0, 0.0, 1.0])
    length = np.linalg.norm(level, axis=1)[:, None]
    # Where a loop stands upright the wire has no direction from above, where it runs back it has the wrong one.
    along = np.where(length > 1e-6, level / np.maximum(length, 1e-6), forth)
    along = np.where(np.sum(along * forth, axis=1)[:, None] < 0.0, -along, along)
    up = np.broadcast_to(_UP, along.shape)
    frames = np.stack((along, up, np.cross(along, up)), axis=2)
    steps = np.diff(wire.positions_mm, axis=0) * np.array([1.0, 0.0, 1.0])
    half = 0.5 * np.diff(_headings(along))
    # From chord to arc: between two nodes the wire has one curvature.
    arcs = np.linalg.norm(steps, axis=1) / np.sinc(half / np.pi)
    back = np.sum(steps * (forth[:-1] + forth[1:]), axis=1) < 0.0
    lengths = np.concatenate(([0.0], np.cumsum(np.where(back, -arcs, arcs))))
    flat = np.column_stack((lengths, wire.positions_mm[:, 1], np.zeros(len(lengths))))
    return _Wall(frames, flat)


def _nearest(wire: WireResult, point: Array) -> int:
    return int(np.argmin(np.linalg.norm(wire.positions_mm - point, axis=1)))


def _place(point: Array, wall: _Wall, wire: WireResult) -> Array:
    """(3,): a world point near the wire, on the unrolled wall."""
    i = _nearest(wire, point)
    return np.asarray(wall.flat[i] + wall.frames[i].T @ (point - wire.positions_mm[i]))


def _laid(item: AttachmentResult, wall: _Wall, wire: WireResult) -> AttachmentResult:
    position = np.asarray(item.pose.position)
    own = wall.frames[_nearest(wire, position)]
    towards = item.pose.axes[:, 2] * (1.0 if item.pose.axes[:, 2] @ own[:, 2] >= 0.0 else -1.0)
    up = _UP - (_UP @ towards) * towards
    size = float(np.linalg.norm(up))
    if size >= _LEVEL:
        up = up / size
        own = np.column_stack((np.cross(up, towards), up, towards))
    return replace(
        item,
        pose=Pose(frozen(_place(position, wall, wire)), frozen(own.T @ item.pose.axes)),
        force_n=_vector(own.T @ np.array(item.force_n)),
        moment_nmm=_vector(own.T @ np.array(item.moment_nmm)),
        moment_about_mm=_vector(_place(np.array(item.moment_about_mm), wall, wire)),
    )


def _vector(values: Array) -> Vector:
    return float(values[0]), float(values[1]), float(values[2])
