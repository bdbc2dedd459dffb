"""The attachments of a target as statics sees them: where loads act on them, and which they cannot bear."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases import units
from cases.build import build_model, kept_at_seat
from cases.legs import legs_of
from cases.schema import AttachmentSpec, Case
from cases.target.targetfile import Target
from cases.target.unknowns import Unknown
from fem.path import Leg
from geometry.pose import Pose
from geometry.section import Round

Array = NDArray[np.float64]

GIVES_WAY = 1.0
"""mm: more than any tooth moves in its socket under a wire (common practice, no source)."""
WIRE_MORE = 4.0
"""mm of wire, at most, that one mm of a searched length adds: a loop has two legs and a helix."""
SPARE = 1.0
"""mm that a straight line between two attachments may seem longer than the wire: stretch and the play of slots."""


@dataclass(frozen=True, slots=True)
class Body:
    """One attachment."""

    name: str
    low: Array
    """(3,) and ``high``: where its load acts, world, mm; the same where it is known."""
    high: Array
    axes: Array
    """(3, 3) of the attachment; columns."""
    axes_known: bool
    centre: Array | None
    """(3,) of resistance, in its own axes, mm."""
    laws: tuple[tuple[str, Array, float, float], ...]
    """Part of its load, "force" or "moment", along an axis, and the bounds of that."""
    no_couple: str = ""
    """Why it carries none, or, an edge, none in second order."""
    edge: bool = False
    free_roll: str = ""
    """Why it carries no third-order couple."""
    slides: str | None = None
    """Why it bears no force along the wire."""

    @property
    def middle(self) -> Array:
        """(3,) mm."""
        return np.asarray(0.5 * (self.low + self.high))


def bodies_of(target: Target) -> list[Body]:
    """Of the attachments, in their order, at the end of the way; unknown places and axes at their widest."""
    middles = [one.middle for one in target.unknowns]
    case = target.case_with(target.puts(middles))
    last = legs_of(case, build_model(case))[-1]
    assert isinstance(last, Leg)
    moved = any(key[0] in ("stage", "tooth_table") for one in target.unknowns for key in one.keys)
    sections = [case.wire.section]
    for one in target.listed:
        if one.keys[0][:2] == ("wire", "section"):
            sections += [target.case_with([(one.keys[0], value)]).wire.section for value in one.values]
    round_wire = all(isinstance(section, Round) for section in sections)
    return [_body(target, case, k, last.ends, moved, round_wire) for k in range(len(case.attachments))]


def _body(target: Target, case: Case, k: int, ends: Sequence[Pose], moved: bool, round_wire: bool) -> Body:
    spec, pose = case.attachments[k], ends[k]
    attachment = spec.attachment
    own = [(one, key[2:]) for one in target.unknowns for key in one.keys if key[:2] == ("attachment", k)]
    turned = moved or any("about" in str(key[0]) or key[0] in ("rotation", "angulation", "inclination", "kind")
                          for _, key in own if key)  # fmt: skip
    stop = attachment.stop or (kept_at_seat(case) and spec.name == case.wire.seated_in)
    low, high = _places(own, pose, moved, spec)
    x, y, z = pose.axes.T
    laws: list[tuple[str, Array, float, float]] = []
    no_couple, slides = "", None
    button = attachment.kind == "button"
    if button:
        laws += [("moment", axis, 0.0, 0.0) for axis in np.eye(3)]
        no_couple = f"{spec.name} is a button, which holds one point of the wire and carries no couple"
    if attachment.kind in ("button", "clamp") and not stop and attachment.thread is None:
        slides = f"the wire slides through {spec.name}, which bears no force along it without a stop"
        if not turned:
            laws.append(("force", x, 0.0, 0.0))
    thread = attachment.thread
    if button and (not stop if thread is None else thread.slides):
        slack = _slid(target, case, k, pose)
        low, high = (
            low + np.minimum(slack[0] * x, slack[1] * x),
            high + np.maximum(slack[0] * x, slack[1] * x),
        )
    if thread is not None:
        low, high = low - thread.length - SPARE, high + thread.length + SPARE
    if attachment.is_edge:
        no_couple = f"{spec.name} is an edge that the wire only rests on, and carries no second-order couple"
        if not turned:
            push = (-math.inf, 0.0) if attachment.below else (0.0, math.inf)
            laws += [("moment", z, 0.0, 0.0), ("force", y, *push)]
    rolls = attachment.has_slot and round_wire and not attachment.hold_roll
    free = f"a round wire turns freely in the slot of {spec.name}" if rolls else ""
    centre = None if spec.centre_of_resistance is None else np.array(spec.centre_of_resistance)
    return Body(spec.name, low, high, pose.axes, not turned, centre, tuple(laws), no_couple, attachment.is_edge,
                free, slides)  # fmt: skip


def _places(
    own: Sequence[tuple[Unknown, tuple[str | int, ...]]], pose: Pose, moved: bool, spec: AttachmentSpec
) -> tuple[Array, Array]:
    """Where the attachment may stand, (3,) each."""
    low, high = pose.position.copy(), pose.position.copy()
    for one, key in own:
        if key[:1] == ("position",) and len(key) == 2 and not one.listed and one.unit.name is not None:
            axis, factor = int(key[1]), units.UNITS[one.unit.name][1]
            half = 0.5 * factor * (one.most - one.least)
            low[axis], high[axis] = low[axis] - half, high[axis] + half
        elif key[:1] in (("position",), ()):
            low[:], high[:] = -1e3, 1e3
    if moved:
        low[:], high[:] = -1e3, 1e3
    if spec.support is not None or spec.segment is not None:
        low, high = low - GIVES_WAY, high + GIVES_WAY
    return low, high


def _slid(target: Target, case: Case, k: int, pose: Pose) -> tuple[float, float]:
    """How far the wire's point may lie from a button's centre along its x, mm: no farther from an attachment that
    stops the wire than the wire between them is long."""
    whole = case.wire.passive_shape.length
    more = SPARE
    for one in target.free:
        if one.unit.kind == "length" and one.unit.name is not None and one.keys[0][0] == "wire":
            more += WIRE_MORE * units.UNITS[one.unit.name][1] * (one.most - one.least)
    at, low, high = case.attachments[k].attachment.at, -whole - more, whole + more
    for other in case.attachments:
        attachment = other.attachment
        held = attachment.stop or (kept_at_seat(case) and other.name == case.wire.seated_in)
        if other is case.attachments[k] or not held:
            continue
        # |p + d x - q| <= reach
        reach = abs(attachment.at - at) + more
        apart = pose.position - attachment.pose.position
        along = float(apart @ pose.axes[:, 0])
        room = along**2 - float(apart @ apart) + reach**2
        if room > 0.0:
            low, high = max(low, -along - math.sqrt(room)), min(high, -along + math.sqrt(room))
    return (low, high) if low <= high else (-whole - more, whole + more)
