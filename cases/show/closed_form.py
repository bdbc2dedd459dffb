"""Handbook formulas beside a computed path, for the few cases that have one.

Each function looks at the case alone, never at its solution, and gives nothing where its formula does not hold.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.schema import AttachmentSpec, Case
from fem.torsion import torsion_constant
from geometry.attachments import Attachment
from geometry.clearance import clearance
from geometry.section import Rectangle

Array = NDArray[np.float64]

# Poses are exact up to rounding: what is larger than this (mm, rad) is meant.
_SAME = 1e-9
# Places along the passive wire where its direction is looked at.
_SAMPLES = 401


@dataclass(frozen=True, slots=True)
class ReferenceCurve:
    """A known moment of one attachment along the activation."""

    attachment: str
    order: str
    """"first", "second" or "third"."""
    activation: tuple[float, ...]
    """0 to 1."""
    moment_nmm: tuple[float, ...]
    """On the tooth, about the attachment's own axis of this order."""
    label: str
    source: str


def closed_forms(case: Case) -> tuple[ReferenceCurve, ...]:
    """All that is known in closed form about the case; most often nothing."""
    solid = case.wire.strands is None and case.wire.material.law is None
    if len(case.attachments) != 2 or case.more_wires or not solid or not _straight(case):
        return ()
    return torque_through_play(case) + step_between_clamps(case)


def torque_through_play(case: Case) -> tuple[ReferenceCurve, ...]:
    """Two slots in line, one turned about its length: T = G J / L (angle - play 1 - play 2).

    L is the span between the plane walls, where a straight wire that rolls in its slots leaves them.  The wire turns
    the second tooth back and the first one after it.  Known for rigid, parallel, smooth walls and a rigid front only.
    """
    first, second = case.attachments
    section = case.wire.section
    one, other = first.attachment.slot, second.attachment.slot
    if one is None or other is None or not isinstance(section, Rectangle):
        return ()
    if first.attachment.hold_roll or second.attachment.hold_roll:
        return ()
    if not (_is_plain(first.attachment) and _is_plain(second.attachment)):
        return ()
    place, turn = _from_first_to_second(first, second)
    if np.abs(place[1:]).max() > _SAME or abs(abs(turn[0, 0]) - 1.0) > _SAME:
        return ()
    plays = (clearance(section, one).third.angle, clearance(section, other).third.angle)
    span = place[0] - 0.5 * (one.plane_width + other.plane_width)
    if plays[0] is None or plays[1] is None or span <= 0.0:
        return ()
    angle = float(np.arctan2(turn[2, 1], turn[1, 1]))
    play = plays[0] + plays[1]
    material = case.wire.material
    shear_modulus = material.youngs_modulus_mpa / (2.0 * (1.0 + material.poisson))
    stiffness = shear_modulus * torsion_constant(section) / span
    kink = (play / abs(angle),) if 0.0 < play < abs(angle) else ()
    shares = (0.0, *kink, 1.0)
    torques = [np.sign(angle) * stiffness * max(abs(angle) * share - play, 0.0) for share in shares]
    source = "torsion of a straight bar, Timoshenko & Goodier, Theory of Elasticity, art. 109 (from memory)"
    return tuple(
        ReferenceCurve(
            spec.name,
            "third",
            shares,
            tuple(float(sign * t) for t in torques),
            "GJ/L (angle - play - play)",
            source,
        )
        for spec, sign in ((first, 1.0), (second, -1.0))
    )


def step_between_clamps(case: Case) -> tuple[ReferenceCurve, ...]:
    """A straight wire built in at both ends, one end moved across: M = 6 E I d / L^2 at either end.

    Slender beam, small deflections: shear and the tension of a stretched wire are left out, so one clamp must
    let the wire slide.
    """
    first, second = case.attachments
    if first.attachment.kind != "clamp" or second.attachment.kind != "clamp":
        return ()
    if first.attachment.stop and second.attachment.stop:
        return ()
    place, turn = _from_first_to_second(first, second)
    if np.abs(turn - np.eye(3)).max() > _SAME:
        return ()
    section, modulus = case.wire.section, case.wire.material.youngs_modulus_mpa
    source = "a beam with one support displaced, any handbook of strength of materials (from memory)"
    out = []
    for order, step, second_moment, sign in (
        ("second", place[1], section.second_moment_z, 1.0),
        ("first", place[2], section.second_moment_y, -1.0),
    ):
        if abs(step) <= _SAME:
            continue
        full = sign * 6.0 * modulus * second_moment * step / place[0] ** 2
        out += [
            ReferenceCurve(spec.name, order, (0.0, 1.0), (0.0, float(full)), "6 EI step/L²", source)
            for spec in (first, second)
        ]
    return tuple(out)


def _is_plain(attachment: Attachment) -> bool:
    """Whether a slot has rigid, parallel, smooth walls and a rigid front."""
    slot = attachment.slot
    return (
        slot is not None
        and slot.taper == 0.0
        and attachment.ligation.kind == "closed"
        and math.isinf(attachment.wall_modulus)
        and attachment.friction == 0.0
    )


def _straight(case: Case) -> bool:
    """Whether the passive shape has neither bend nor twist."""
    shape = case.wire.passive_shape
    _, axes = shape.frames(np.linspace(0.0, shape.length, _SAMPLES))
    return bool(np.abs(axes - axes[0]).max() <= _SAME)


def _from_first_to_second(first: AttachmentSpec, second: AttachmentSpec) -> tuple[Array, Array]:
    """Position (3,) in mm and axes (3, 3) of the second attachment, in the axes of the first."""
    pose = first.attachment.pose.inverse().compose(second.attachment.pose)
    return np.asarray(pose.position), np.asarray(pose.axes)
