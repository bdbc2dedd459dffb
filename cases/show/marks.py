"""What the scene draws for each attachment: its body's corners, where its arrows begin, how far they reach."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.results import AttachmentResult, RunResult
from cases.show import labels, shapes
from cases.show.brackets import bracket_of
from cases.show.device import device_of, edge_half_length, edge_profile
from geometry.pose import Pose

Array = NDArray[np.float64]

# Shares of the appliance's extent across the picture.
LONGEST_ARROW = 0.20
SHORTEST_ARROW = 0.05
ARC_RADIUS = 0.08
# A round arrow turns in proportion to its moment between these, and so stays on one side of the wire.
WIDEST_ARC = np.radians(150.0)
NARROWEST_ARC = np.radians(60.0)
# A force that leans less than this from the wire is drawn beside it, not inside it.
ALONG_THE_WIRE = np.cos(np.radians(35.0))
# A slot's height that runs towards the viewer by more than this is seen end on.
END_ON = np.cos(np.radians(35.0))
# How much a round arrow wishes to stand up the slot, and to keep away from a straight one.
STANDING, AWAY = 0.25, 0.6
# Share of the extent between an attachment and the arrow that belongs to it.
CLEAR = 0.012
# Below this share of the largest, a force or moment is written but no arrow is drawn.
NEGLIGIBLE = 1e-3
# With many attachments what is below this share is left out.
LEFT_OUT = 0.02


@dataclass(frozen=True, slots=True)
class Mark:
    """What is drawn for one attachment; lengths in mm, None where too small to draw."""

    attachment: AttachmentResult
    centre: Array
    force: float
    moment: float
    arrow: Array | None
    start: Array
    """(3,) mm: where the arrow begins, off attachment and wire; the force itself acts at the centre."""
    arc: Array | None
    reach: Array
    """Corners (8, 3) of the attachment's own body, mm."""


def body_corners(item: AttachmentResult, result: RunResult) -> Array:
    """Corners (8, 3) of what stands for the attachment."""
    section = result.wire_of(item).section
    across = max(section.height, section.depth)
    signs = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T
    if item.kind in ("knife edge", "roller"):
        profile = edge_profile(device_of(item))
        low, high = profile.min(axis=0), profile.max(axis=0)
        half = 0.5 * np.array([*(high - low), 2.0 * edge_half_length(across)])
        return item.pose.to_world(signs * half + np.array([*(0.5 * (low + high)), 0.0]))
    if item.slot_size_mm is not None:
        solid = bracket_of(device_of(item), section.depth)
        points = np.concatenate([one.corners for one in (*solid.body, *solid.front)])
        low, high = points.min(axis=0), points.max(axis=0)
        return item.pose.to_world(0.5 * signs * (high - low) + 0.5 * (low + high))
    else:
        half = (
            np.array([0.6, 1.8, 1.8]) * across
            if item.kind == "clamp"
            else np.array([0.85, 0.85, 2.6]) * across
        )
    return item.pose.to_world(signs * half)


def marks_of(
    result: RunResult,
    bodies: list[Array],
    extent: float,
    axes: Array,
    longest: float = LONGEST_ARROW,
    least: tuple[float, float] | None = None,
) -> list[Mark]:
    """Arrow lengths and arcs, from the largest force and moment of the whole appliance; the ``longest`` straight arrow
    is given as a share of the ``extent``.  No arrow is drawn below the ``least`` force (N) and moment (N mm); None: a
    share of the largest."""
    forces = [float(np.linalg.norm(item.force_n)) for item in result.attachments]
    moments = [float(np.linalg.norm(item.moment_nmm)) for item in result.attachments]
    # What the solution itself calls rounding is no force, however large beside the others.
    floor = result.equilibrium.floor_n
    most_force, most_moment = max(forces), max(moments)
    share = LEFT_OUT if len(forces) > labels.MANY else NEGLIGIBLE
    least_force, least_moment = (share * most_force, share * most_moment) if least is None else least
    marks = []
    for item, body, force, moment in zip(result.attachments, bodies, forces, moments, strict=True):
        centre = np.asarray(item.moment_about_mm)
        arrow = arc = None
        start = centre
        if force > max(floor, least_force):
            length = extent * max(longest * force / most_force, SHORTEST_ARROW)
            arrow = length * np.asarray(item.force_n) / force
            start = centre + _off(arrow, body - centre, item.pose, result.positions_mm - centre,
                                  CLEAR * extent, axes[:, 2])  # fmt: skip
        if moment > max(floor * extent, least_moment):
            axis = np.asarray(item.moment_nmm) / moment
            # Clear of the attachment's own body.
            apart = np.linalg.norm(np.array([a.moment_about_mm for a in result.attachments]) - centre, axis=1)
            room = 0.48 * float(min(apart[apart > 1e-9], default=np.inf))
            own = 1.15 * float(np.linalg.norm(np.cross(body - centre, axis), axis=1).max())
            radius = max(min(ARC_RADIUS * extent, room), own)
            sweep = max(WIDEST_ARC * moment / most_moment, NARROWEST_ARC)
            straight = None if arrow is None else start + 0.5 * arrow - centre
            middle = arc_middle(axis, sweep, straight, item.pose, axes)
            arc = shapes.arc_points(centre, axis, middle, radius, sweep)
        marks.append(Mark(item, centre, force, moment, arrow, start, arc, body))
    return marks


def _off(arrow: Array, body: Array, pose: Pose, wire: Array, clear: float, viewer: Array) -> Array:
    """(3,): from the centre of an attachment to the start of its ``arrow``, so that it is seen beside the ``body``
    (8, 3) and not inside the ``wire`` (n, 3), both seen from the centre, by a ``viewer`` in this direction."""
    towards = arrow / np.linalg.norm(arrow)
    if abs(float(towards @ pose.axes[:, 0])) < ALONG_THE_WIRE:
        return np.asarray((float((body @ towards).max()) + clear) * towards)
    # beside it in the picture: up the slot, unless that runs towards the viewer
    up = pose.axes[:, 1 if abs(float(pose.axes[:, 1] @ viewer)) < END_ON else 2]
    steps = np.linspace(0.0, 1.0, 24)[:, None] * arrow
    choices = [sign * (float((body @ (sign * up)).max()) + 1.5 * clear) * up for sign in (-1.0, 1.0)]
    free = [float(np.linalg.norm((c + steps)[:, None] - wire[None], axis=2).min()) for c in choices]
    return choices[int(free[1] >= 0.99 * free[0])]


def arc_middle(axis: Array, sweep: float, arrow: Array | None, pose: Pose, axes: Array) -> Array:
    """Direction (3,) of the middle of an arc about the unit vector ``axis``.

    Four wishes are weighed: the arc does not cross the wire, stays away from the force ``arrow`` (without one, it
    stands up the slot), its head is seen from the side by a viewer with these ``axes``, not from its point, and does
    not hide behind the attachment.
    """
    u = np.cross(axis, pose.axes[:, int(np.argmin(np.abs(axis @ pose.axes)))])
    u /= np.linalg.norm(u)
    v = np.cross(axis, u)
    wish = pose.axes[:, 1] if arrow is None else -arrow / np.linalg.norm(arrow)
    turns = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
    middles = np.cos(turns)[:, None] * u + np.sin(turns)[:, None] * v
    ends = turns + 0.5 * sweep
    tangents = np.cos(ends)[:, None] * v - np.sin(ends)[:, None] * u
    seen = np.linalg.norm(tangents @ axes[:, :2], axis=1)
    heads = np.cos(ends)[:, None] * u + np.sin(ends)[:, None] * v
    behind = np.minimum(heads @ axes[:, 2] + 0.4, 0.0)
    weight = STANDING if arrow is None else AWAY
    crossing = np.abs(middles @ pose.axes[:, 0])
    best: Array = middles[
        int(np.argmax(1.5 * seen + weight * (middles @ wish) + 2.0 * behind - 1.5 * crossing))
    ]
    return best
