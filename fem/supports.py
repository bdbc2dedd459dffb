"""Supports turned into the constraint arrays of the kernels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Holds, Sites
from fem.model import Clamp, Model, PointTie, SlotWalls
from geometry.section import Section

Integers = NDArray[np.int64]
Array = NDArray[np.float64]

HEIGHT_WALLS = 0
DEPTH_WALLS = 1
# Walls closer to the wire than this become one two-sided constraint: what a tilt adds to their distance is
# then below 1e-6 mm.
NARROW = 1e-3


@dataclass(frozen=True, slots=True)
class Constraints:
    """All walls and holds of a model, and which support each belongs to."""

    sites: Sites
    holds: Holds
    site_of: Integers
    """(m,) site of each wall constraint."""


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


def _corner(
    axis: int, sign: float, own: float, other: float, radius: float, half: float
) -> tuple[float, float, float, float, float]:
    y, z = (own, other) if axis == HEIGHT_WALLS else (other, own)
    return sign, y, z, radius, half


def constraints_of(model: Model) -> Constraints:
    """The walls of all slots station by station, and the holds of ties, stops, clamps and roll holds."""
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
            for place in restraint.offsets:
                for face_axis, position, corners in faces:
                    slot.append(k)
                    offset.append(float(place))
                    axis.append(face_axis)
                    wall.append(position)
                    corner.extend(corners)
                    first.append(len(corner))
            held = ((0,) if restraint.stop else ()) + ((3,) if restraint.hold_roll else ())
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
    return Constraints(sites, holds, site_of)
