"""Supports turned into arrays for the kernels: where they move, and what they hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Holds, Sites
from fem.model import Clamp, Model, PointTie, SlotWalls, Support
from geometry.centreline import cross_matrices
from geometry.motion import rotation_logarithm
from geometry.section import Section

Integers = NDArray[np.int64]
Array = NDArray[np.float64]

HEIGHT_WALLS = 0
DEPTH_WALLS = 1
# Walls closer to the wire than this become one two-sided constraint: what a tilt adds to their distance is
# then below 1e-6 mm.
NARROW = 1e-3


@dataclass(frozen=True, slots=True)
class Ways:
    """Where all supports stand during activation: straight from start (0) to end (1), turning about one axis."""

    start: tuple[Array, Array]
    """Positions (k, 3) in mm and axes (k, 3, 3)."""
    end: tuple[Array, Array]
    angle: Array
    """(k, 1, 1) the whole turn, rad."""
    turning: tuple[Array, Array]
    """(k, 3, 3) the start's axes times the cross product with the axis of the turn, once and twice."""

    @classmethod
    def of(cls, supports: tuple[Support, ...]) -> Ways:
        """The ways of ``supports`` (k,)."""
        count = len(supports)
        starts, ends = ([getattr(s, side) for s in supports] for side in ("start", "end"))
        start, end = (
            (
                np.array([pose.position for pose in poses]).reshape(count, 3),
                np.array([pose.axes for pose in poses]).reshape(count, 3, 3),
            )
            for poses in (starts, ends)
        )
        turns = np.swapaxes(start[1], 1, 2) @ end[1]
        vectors = np.array([rotation_logarithm(*turn.ravel()) for turn in turns]).reshape(count, 3)
        angle = np.linalg.norm(vectors, axis=1)[:, None, None]
        cross = cross_matrices(vectors) / np.where(angle > 0.0, angle, 1.0)
        once = start[1] @ cross
        return cls(start, end, angle, (once, once @ cross))

    def at(self, activation: float) -> tuple[Array, Array]:
        """Positions (k, 3) in mm and axes (k, 3, 3); the turn by the formula of Rodrigues (1840).

        Exactly the start and the end at 0 and 1, and not beyond them."""
        if activation <= 0.0 or activation >= 1.0:
            return self.start if activation <= 0.0 else self.end
        position, axes = self.start
        turned = activation * self.angle
        once, twice = self.turning
        return (
            position + activation * (self.end[0] - position),
            axes + np.sin(turned) * once + (1.0 - np.cos(turned)) * twice,
        )


@dataclass(frozen=True, slots=True)
class SlotSites:
    """The sites of one slot: station by station, all walls of one after the other."""

    support: int
    first: int
    offsets: Array
    """(n,) mm along the slot, increasing."""
    walls: int
    """At each station."""

    def by_station(self, values: NDArray[Any]) -> NDArray[Any]:
        """(n, walls): what belongs to this slot among ``values`` (sites,)."""
        count = self.offsets.size
        return values[self.first : self.first + count * self.walls].reshape(count, self.walls)


@dataclass(frozen=True, slots=True)
class Constraints:
    """All walls and holds of a model, and which support each belongs to."""

    sites: Sites
    holds: Holds
    site_of: Integers
    """(m,) site of each wall constraint."""
    slots: tuple[SlotSites, ...]


def wall_constraints(
    section: Section, walls: SlotWalls
) -> list[tuple[int, float, list[tuple[float, float, float, float, float]]]]:
    """Axis, wall position and corner constraints (sign, corner y, corner z, radius, half range) at each
    station.

    A wall faces the two corners on its side; where the outline can turn right round between a pair of walls
    it faces all four."""
    a, b, r = section.corner_y, section.corner_z, section.edge_radius
    diagonal = 2.0 * (np.hypot(a, b) + r)
    out: list[tuple[int, float, list[tuple[float, float, float, float, float]]]] = []
    for axis, room, size, own, other in (
        (HEIGHT_WALLS, walls.height, section.height, a, b),
        (DEPTH_WALLS, walls.depth, section.depth, b, a),
    ):
        sides = (1.0, -1.0) if other > 0.0 else (1.0,)
        clearance = room - size
        if clearance <= NARROW:
            half = max(0.5 * clearance, 0.0)
            corners = [_corner(axis, 1.0, 0.0, s * other, 0.0, half) for s in sides]
            out.append((axis, 0.0, corners))
            continue
        facing = (1.0, -1.0) if diagonal < room and own > 0.0 else (1.0,)
        for sign in (1.0, -1.0):
            corners = [_corner(axis, sign, f * sign * own, s * other, r, -1.0) for f in facing for s in sides]
            out.append((axis, sign * 0.5 * room, corners))
    return out


def walls_hold_roll(section: Section, walls: SlotWalls) -> bool:
    """True where a pair of walls without any play keeps the section from turning about its own axis.

    A roll hold beside them would hold the same thing twice, by measures that differ by the product of two tilts:
    the forces of both would grow against each other without end.
    """
    height = walls.height <= section.height and section.corner_z > 0.0
    return height or (walls.depth <= section.depth and section.corner_y > 0.0)


def _corner(
    axis: int, sign: float, own: float, other: float, radius: float, half: float
) -> tuple[float, float, float, float, float]:
    y, z = (own, other) if axis == HEIGHT_WALLS else (other, own)
    return sign, y, z, radius, half


def constraints_of(model: Model) -> Constraints:
    """The walls of all slots station by station, and the holds of ties, stops, clamps and roll holds."""
    slots: list[SlotSites] = []
    slot: list[int] = []
    offset: list[float] = []
    axis: list[int] = []
    wall: list[float] = []
    first: list[int] = [0]
    corner: list[tuple[float, float, float, float, float]] = []
    node: list[int] = []
    frame: list[int] = []
    kind: list[int] = []
    for k, support in enumerate(model.supports):
        restraint = support.restraint
        held: tuple[int, ...]
        if isinstance(restraint, SlotWalls):
            faces = wall_constraints(model.section, restraint)
            slots.append(SlotSites(k, len(slot), restraint.offsets, len(faces)))
            for place in restraint.offsets:
                for face_axis, position, corners in faces:
                    slot.append(k)
                    offset.append(float(place))
                    axis.append(face_axis)
                    wall.append(position)
                    corner.extend(corners)
                    first.append(len(corner))
            turns = restraint.hold_roll and not walls_hold_roll(model.section, restraint)
            held = ((0,) if restraint.stop else ()) + ((3,) if turns else ())
        elif isinstance(restraint, PointTie):
            held = (0, 1, 2) if restraint.stop else (1, 2)
        else:
            assert isinstance(restraint, Clamp)
            held = (1, 2, 3, 4, 5) if restraint.slides else (0, 1, 2, 3, 4, 5)
        index = int(np.argmin(np.abs(model.nodes - support.arc)))
        for number in held:
            node.append(index)
            frame.append(k)
            kind.append(number)
    columns = np.array(corner, dtype=np.float64).reshape(-1, 5)
    sites = Sites(
        slot=np.array(slot, dtype=np.int64),
        offset=np.array(offset, dtype=np.float64),
        axis=np.array(axis, dtype=np.int64),
        wall=np.array(wall, dtype=np.float64),
        first=np.array(first, dtype=np.int64),
        sign=columns[:, 0].copy(),
        corner_y=columns[:, 1].copy(),
        corner_z=columns[:, 2].copy(),
        radius=columns[:, 3].copy(),
        half_range=columns[:, 4].copy(),
    )
    holds = Holds(
        node=np.array(node, dtype=np.int64),
        frame=np.array(frame, dtype=np.int64),
        kind=np.array(kind, dtype=np.int64),
    )
    site_of = np.repeat(np.arange(sites.slot.size), np.diff(sites.first)).astype(np.int64)
    return Constraints(sites, holds, site_of, tuple(slots))
