"""Supports turned into arrays for the kernels: where they move, and what they hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Holds, Sites
from fem.contact_kernel import LINE
from fem.model import Edge, Joint, Ligature, Model, PointTie, Restraint, SlotWalls
from fem.walls import Line, edge_line, ligature_lines, station_lines, thread_line, walls_hold_roll
from geometry.centreline import cross_matrices
from geometry.motion import rotation_logarithm
from geometry.pose import Pose
from geometry.section import Section

Integers = NDArray[np.int64]
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ways:
    """Where all supports stand during one leg of the way: straight from start (0) to end (1), turning about one
    axis."""

    start: tuple[Array, Array]
    """Positions (k, 3) in mm and axes (k, 3, 3)."""
    end: tuple[Array, Array]
    angle: Array
    """(k, 1, 1) the whole turn, rad."""
    turning: tuple[Array, Array]
    """(k, 3, 3) the start's axes times the cross product with the axis of the turn, once and twice."""
    turns: bool
    """Whether any does."""

    @classmethod
    def of(cls, starts: Sequence[Pose], ends: Sequence[Pose]) -> Ways:
        """From pose to pose, (k,) each."""
        count = len(starts)
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
        return cls(start, end, angle, (once, once @ cross), bool(angle.any()))

    def poses(self, share: float) -> tuple[Pose, ...]:
        """(k,) poses after ``share`` of the way."""
        return tuple(Pose(position, axes) for position, axes in zip(*self.at(share), strict=True))

    def at(self, activation: float) -> tuple[Array, Array]:
        """Positions (k, 3) in mm and axes (k, 3, 3); the turn by the formula of Rodrigues (1840).

        Exactly the start and the end at 0 and 1, and not beyond them."""
        if activation <= 0.0 or activation >= 1.0:
            return self.start if activation <= 0.0 else self.end
        position, axes = self.start
        if not self.turns:
            return position + activation * (self.end[0] - position), axes
        turned = activation * self.angle
        once, twice = self.turning
        return (
            position + activation * (self.end[0] - position),
            axes + np.sin(turned) * once + (1.0 - np.cos(turned)) * twice,
        )


@dataclass(frozen=True, slots=True)
class SlotSites:
    """The sites of one slot's walls, or of one edge."""

    support: int
    offsets: Array
    """(n,) mm along the slot, increasing."""
    sites: Integers
    """(n, walls) the walls of each station."""
    first_station: int
    """Number of the first of its stations among those of all slots."""

    def by_station(self, values: NDArray[Any]) -> NDArray[Any]:
        """(n, walls): what belongs to this slot among ``values`` (sites,)."""
        return values[self.sites]


@dataclass(frozen=True, slots=True)
class Constraints:
    """All walls and holds of a model, and which support each belongs to."""

    sites: Sites
    holds: Holds
    site_of: Integers
    """(m,) site of each wall constraint."""
    axis: Integers
    """(s,) `HEIGHT_WALLS` or `DEPTH_WALLS`."""
    side: Array
    """(s,) 1 for upper and outer wall, -1 for lower wall and floor, 0 for both in one."""
    offset: Array
    """(s,) mm along the slot."""
    station_of: Integers
    """(s,) number of its station among those of all slots; -1 where it belongs to none."""
    slots: tuple[SlotSites, ...]
    stations: int
    """Of all slots together."""


def _lines(section: Section, restraint: Restraint) -> tuple[list[list[Line]], list[Line]]:
    """Lines at stations, the same walls at each, and lines anywhere else."""
    if isinstance(restraint, SlotWalls):
        front = restraint.front
        others = ligature_lines(section, restraint, front) if isinstance(front, Ligature) else []
        return station_lines(section, restraint), others
    if isinstance(restraint, Edge):
        return [[edge_line(section, restraint)]], []
    if isinstance(restraint, PointTie) and restraint.thread is not None:
        return [], [thread_line(restraint)]
    return [], []


def _holds(section: Section, restraint: Restraint) -> tuple[int, ...]:
    """Kinds of the holds on the restraint's node; see holds_kernel."""
    if isinstance(restraint, SlotWalls):
        turns = restraint.hold_roll and not walls_hold_roll(section, restraint)
        return ((0,) if restraint.stop else ()) + ((3,) if turns else ())
    if isinstance(restraint, Edge):
        return ()
    if isinstance(restraint, PointTie):
        return ((0,) if restraint.stop else ()) + ((1, 2) if restraint.thread is None else ())
    if isinstance(restraint, Joint):
        return (1, 2) if restraint.slides else (0, 1, 2)
    return (1, 2, 3, 4, 5) if restraint.slides else (0, 1, 2, 3, 4, 5)


def constraints_of(model: Model, active: Sequence[bool] | None = None) -> Constraints:
    """The walls of all slots station by station, and the holds of ties, stops, clamps and roll holds, those of joints
    last.

    Of ``active`` (k,) supports only, where given.
    """
    slots: list[SlotSites] = []
    lines: list[Line] = []
    slot: list[int] = []
    spins: list[bool] = []
    station_of: list[int] = []
    stations = 0
    held: list[tuple[int, int, int, int]] = []
    joined: list[tuple[int, int, int, int]] = []
    for k, support in enumerate(model.supports):
        if active is not None and not active[k]:
            continue
        section = model.section_at(support.arc)
        at_stations, others = _lines(section, support.restraint)
        if at_stations:
            walls = len(at_stations[0])
            numbers = len(lines) + np.arange(walls * len(at_stations)).reshape(-1, walls)
            offsets = np.array([faces[0].point[0] for faces in at_stations])
            # front edges belong to a station, but do not say where the wire is there
            plain = [j for j, face in enumerate(at_stations[0]) if face.kind == LINE]
            slots.append(SlotSites(k, offsets, numbers[:, plain], stations))
            station_of += np.repeat(stations + np.arange(len(at_stations)), walls).tolist()
            stations += len(at_stations)
        station_of += [-1] * len(others)
        own = [line for faces in at_stations for line in faces] + others
        lines += own
        slot += [k] * len(own)
        spins += [section.corner_y == 0.0 and section.corner_z == 0.0] * len(own)
        index = _nearest(model.nodes, support.arc)
        to = _nearest(model.nodes, support.restraint.other) if isinstance(support.restraint, Joint) else -1
        rows = [(index, k, number, to) for number in _holds(section, support.restraint)]
        held, joined = (held, joined + rows) if to >= 0 else (held + rows, joined)
    corners = [corner for line in lines for corner in line.corners]
    counts = [len(line.corners) for line in lines]
    site_of = np.repeat(np.arange(len(lines)), counts).astype(np.int64)
    sites = Sites(
        slot=np.array(slot, dtype=np.int64),
        kind=np.array([line.kind for line in lines], dtype=np.int64),
        point=_floats([line.point for line in lines], 3),
        edge=_floats([line.edge for line in lines], 3),
        end=_floats([line.end for line in lines]),
        rounding=_floats([line.rounding for line in lines]),
        friction=_floats([line.friction for line in lines]),
        spins=np.array(spins, dtype=np.bool_),
        first=np.concatenate(([0], np.cumsum(counts, dtype=np.int64))).astype(np.int64),
        sign=_floats([corner.sign for corner in corners]),
        corner_y=_floats([corner.y for corner in corners]),
        corner_z=_floats([corner.z for corner in corners]),
        radius=_floats([corner.radius for corner in corners]),
        half_range=_floats([corner.half_range for corner in corners]),
        compliance=_floats([lines[site].compliance for site in site_of]),
    )
    node, frame, kind, other = np.array(held + joined, dtype=np.int64).reshape(-1, 4).T.copy()
    return Constraints(
        sites, Holds(node, frame, kind, other), site_of,
        np.array([line.axis for line in lines], dtype=np.int64), _floats([line.side for line in lines]),
        sites.point[:, 0].copy(), np.array(station_of, dtype=np.int64), tuple(slots), stations,
    )  # fmt: skip


def _nearest(nodes: Array, arc: float) -> int:
    return int(np.argmin(np.abs(nodes - arc)))


def _floats(values: Sequence[Any], columns: int | None = None) -> Array:
    shape = (-1,) if columns is None else (-1, columns)
    return np.array(values, dtype=np.float64).reshape(shape)
