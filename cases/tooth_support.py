"""Teeth on linear supports: how their slots give way, and how far they have.

The support of a tooth stands at its centre of resistance, with stiffnesses along and about its slot's axes.  A small
motion of the tooth is a screw: (v, w) at the centre of resistance is (v + r x w, w) at the slot, r from the slot to the
centre of resistance; loads follow by equal work.  So the slot gives way by A C A^T, C the compliance at the centre of
resistance.  On screws that are integrated to finite motions the same A holds exactly.

Teeth of one segment are one rigid body: its stiffness is the sum of theirs, each carried to a common point, in the
engaged poses.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from cases.schema import AttachmentSpec
from cases.teeth import PLANES, VIEWS, centre_of
from cases.tooth_results import ToothDisplacement, Vector
from cases.words import LEAST_SHOWN, SPOKEN_SHARE, shown, three
from geometry.centreline import cross_matrices
from geometry.motion import relative_motion
from geometry.pose import Pose
from geometry.tooth import Order, force_words, moment_words

Array = NDArray[np.float64]

# A centre of rotation farther away than this (mm) is a translation, to what anybody could measure.
FARTHEST = 1000.0
NO_TURN = 1e-12  # rad
TO_OCCLUSAL = {"extrusion": "occlusal", "intrusion": "gingival"}
AT_REST = 5e-3
"""mm: a centre of rotation nearer to the centre of resistance than this lies there, in words."""


def compliances(specs: Sequence[AttachmentSpec]) -> list[Array | None]:
    """How the slot of each attachment (k,) gives way, as `fem.model.Support` takes it; None where it does not."""
    out: list[Array | None] = [None] * len(specs)
    for k, spec in enumerate(specs):
        if spec.support is not None and spec.segment is None:
            carry = carried(Pose(np.array(_centre(spec)), np.eye(3)))
            out[k] = carry @ np.diag(1.0 / np.array(spec.support.stiffness)) @ carry.T
    for name in dict.fromkeys(spec.segment for spec in specs if spec.segment is not None):
        members = [k for k, spec in enumerate(specs) if spec.segment == name]
        for k, rows in zip(members, _segment([specs[k] for k in members]), strict=True):
            whole = np.zeros((6, len(specs), 6))
            whole[:, members] = rows
            out[k] = whole.reshape(6, -1)
    return out


def _segment(members: Sequence[AttachmentSpec]) -> Array:
    """(m, 6, m, 6) of the m attachments of a segment; zeros where none of them is supported."""
    # about the first member's slot: near the others, so that no digits are lost
    body = members[0].attachment.pose
    stiffness = np.zeros((6, 6))
    for spec in members:
        if spec.support is None:
            continue
        at = spec.attachment.pose.compose(Pose(np.array(_centre(spec)), np.eye(3)))
        carry = carried(at.inverse().compose(body))
        stiffness += carry.T @ np.diag(spec.support.stiffness) @ carry
    if not stiffness.any():
        return np.zeros((len(members), 6, len(members), 6))
    carries = np.array([carried(spec.attachment.pose.inverse().compose(body)) for spec in members])
    return np.asarray(np.einsum("iab,bc,kdc->iakd", carries, np.linalg.inv(stiffness), carries))


def carried(pose: Pose) -> Array:
    """(6, 6): a screw in the axes of ``pose`` (itself given in other axes), seen in those other axes.

    The adjoint of a rigid motion; Murray, Li & Sastry, A Mathematical Introduction to Robotic Manipulation (1994),
    ch. 2, from memory."""
    turn = pose.axes
    lever = cross_matrices(pose.position[None])[0]
    out = np.zeros((6, 6))
    out[:3, :3] = out[3:, 3:] = turn
    out[:3, 3:] = lever @ turn
    return out


def _centre(spec: AttachmentSpec) -> Vector:
    known = centre_of(spec)
    if known is None:
        raise ValueError(f"{spec.name}: a support needs a centre of resistance")
    return known[0]


def supported(specs: Sequence[AttachmentSpec]) -> tuple[str | None, ...]:
    """In words how each tooth (k,) is supported; None where it is fixed."""
    held = {spec.segment for spec in specs if spec.support is not None and spec.segment is not None}
    out: list[str | None] = []
    for spec in specs:
        if spec.segment in held:
            own = "" if spec.support is None else f", this tooth: {spec.support.words}"
            out.append(f'in the rigid segment "{spec.segment}"{own}')
        else:
            out.append(None if spec.support is None else spec.support.words)
    return tuple(out)


def displacement(spec: AttachmentSpec, before: Pose, now: Pose) -> ToothDisplacement | None:
    """How far a tooth has moved from ``before`` to ``now``, poses of its slot; None without a centre of resistance."""
    known = centre_of(spec)
    if known is None:
        return None
    centre = np.array(known[0])
    screw = np.empty(6)
    offset = Pose(centre, np.eye(3))
    there, here = before.compose(offset), now.compose(offset)
    relative_motion(there.position, there.axes, here.position, here.axes, screw)
    moved = before.axes.T @ (here.position - there.position)
    slot = before.axes.T @ (now.position - before.position)
    turned = np.degrees(screw[3:])
    rotation_at: dict[str, Vector | None] = {
        order: _centre_of_rotation(screw, axis) for order, (_, axis, _) in PLANES.items()
    }
    words = _words(spec.tooth, moved, turned, slot, rotation_at)
    return ToothDisplacement(_vector(moved), _vector(turned), _vector(slot), rotation_at, words)


def _centre_of_rotation(screw: Array, axis: int) -> Vector | None:
    """The point at rest in the plane across an own ``axis``, mm from the centre of resistance.

    None where the tooth does not turn in that plane, or so little that the point is far away."""
    normal = np.zeros(3)
    normal[axis] = 1.0
    turn = float(screw[3 + axis])
    across = np.cross(normal, screw[:3])
    if abs(turn) <= NO_TURN or np.linalg.norm(across) > FARTHEST * abs(turn):
        return None
    return _vector(across / turn)


def _words(
    tooth: str | None, moved: Array, turned: Array, slot: Array, centres: Mapping[str, Vector | None]
) -> tuple[str, ...]:
    parts = [f"centre of resistance {_ways(tooth, moved)}"]
    largest = float(np.abs(turned).max())
    turns = [
        f"{shown(abs(float(turned[axis])))} deg {_turn(tooth, order, float(turned[axis]))}"
        for order, (_, axis, _) in PLANES.items()
        if abs(turned[axis]) > max(SPOKEN_SHARE * largest, LEAST_SHOWN)
    ]
    parts.append(f"turned by {', '.join(turns)}" if turns else "not turned")
    parts.append(f"slot {_ways(tooth, slot)}")
    out = [f"Initial displacement: {'; '.join(parts)}."]
    for order in ("second", "third"):
        at = centres[order]
        if abs(turned[PLANES[order][1]]) <= max(SPOKEN_SHARE * largest, LEAST_SHOWN):
            continue
        if at is None:
            where = "far away, all but a translation"
        elif abs(at[1]) < AT_REST:
            where = "at the centre of resistance"
        else:
            where = f"{three(abs(at[1]))} mm {_way(tooth, 1, at[1])} of the centre of resistance"
        out.append(f"Centre of rotation, {VIEWS[order]}: {where}.")
    return tuple(out)


def _ways(tooth: str | None, vector: Array) -> str:
    """A motion, part by part: "0.012 mm distal and 0.003 mm gingival"."""
    size = float(np.linalg.norm(vector))
    parts = [
        f"{shown(abs(float(value)))} mm {_way(tooth, axis, float(value))}"
        for axis, value in enumerate(vector)
        if abs(value) > max(SPOKEN_SHARE * size, LEAST_SHOWN)
    ]
    return ", ".join(parts) or "at rest"


def _way(tooth: str | None, axis: int, value: float) -> str:
    if tooth is None:
        return f"{'+' if value > 0.0 else '-'}{'xyz'[axis]}"
    parts = [0.0, 0.0, 0.0]
    parts[axis] = value
    word = force_words(tooth, (parts[0], parts[1], parts[2]))[axis]
    return TO_OCCLUSAL.get(word, word)


def _turn(tooth: str | None, order: Order, value: float) -> str:
    if tooth is not None:
        return moment_words(tooth, order, value)
    return f"about {'+' if value > 0.0 else '-'}{'xyz'[PLANES[order][1]]}"


def _vector(values: Array) -> Vector:
    return (float(values[0]), float(values[1]), float(values[2]))
