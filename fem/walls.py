"""The lines and threads that a restraint puts round the wire, and the corners of the wire's outline that meet each.

Plain values; `fem.supports` strings them into the arrays that `fem.contact_kernel` works on."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.contact_kernel import FRONT_EDGE, LINE, THREAD
from fem.model import Edge, Ligature, PointTie, SlotWalls
from geometry.section import Section

Array = NDArray[np.float64]
Vector = tuple[float, float, float]

HEIGHT_WALLS = 0
DEPTH_WALLS = 1
# Walls closer to the wire than this become one two-sided constraint: what a tilt adds to their distance is
# then below 1e-6 mm.
NARROW = 1e-3
# mm: no front edge is sharper than this (common practice, no source).
SHARPEST = 5e-3
# The wall's line along z on the height walls, along y on the depth walls.
ALONG_DEPTH: Vector = (0.0, 0.0, 1.0)
ALONG_HEIGHT: Vector = (0.0, 1.0, 0.0)


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner arc of the outline that meets a line; see contact_kernel."""

    sign: float
    y: float
    z: float
    radius: float
    half_range: float = -1.0


@dataclass(frozen=True, slots=True)
class Line:
    """A line in the support's axes, mm, with the corners it meets."""

    axis: int
    """`HEIGHT_WALLS` or `DEPTH_WALLS`."""
    side: float
    """1 for upper and outer wall, -1 for lower wall and floor, 0 for both at once."""
    point: Vector
    edge: Vector
    corners: tuple[Corner, ...]
    kind: int = LINE
    end: float = math.inf
    """mm from the point, where a wall opens to the front; 0 for an edge whose side the walls hold without play."""
    compliance: float = 0.0
    """mm/N at each corner."""
    friction: float = 0.0
    rounding: float = 0.0
    """mm: the line stands for an edge of this radius, by which the corners' radii are larger."""


def narrow(room: float, size: float) -> bool:
    """Whether the two walls are so close to the wire that they are one constraint."""
    return room - size <= NARROW


def fills_depth(section: Section, walls: SlotWalls) -> bool:
    """Whether floor and outer wall are one constraint."""
    return walls.front == "closed" and narrow(walls.depth, section.depth)


def fills_height(section: Section, walls: SlotWalls) -> bool:
    """Whether the height walls are one constraint: parallel ones, or tapered ones in which the wire cannot come away
    from the floor, and so not from where it fills them."""
    parallel = walls.taper == 0.0 or fills_depth(section, walls)
    return parallel and narrow(walls.height, section.height)


def walls_hold_roll(section: Section, walls: SlotWalls) -> bool:
    """True where a pair of walls without any play keeps the section from turning about its own axis.

    A roll hold beside them would hold the same thing twice, by measures that differ by the product of two tilts:
    the forces of both would grow against each other without end.
    """
    height = fills_height(section, walls) and walls.height <= section.height and section.corner_z > 0.0
    closed = walls.front == "closed"
    return height or (closed and walls.depth <= section.depth and section.corner_y > 0.0)


def _hold_roll(section: Section, walls: SlotWalls) -> tuple[bool, bool]:
    """Whether the pair of height walls meets the wire beside its middle, and so keeps it from rolling, and whether that
    of floor and outer wall does, where either is one constraint.

    Rigid ones not both, for the same reason: the one that leaves less roll."""
    height, depth = section.corner_z > 0.0, section.corner_y > 0.0
    if not (height and depth and math.isinf(walls.modulus)):
        return height, depth
    if not (fills_height(section, walls) and fills_depth(section, walls)):
        return height, depth
    by_height = max(walls.height - section.height, 0.0) / section.corner_z
    by_depth = max(walls.depth - section.depth, 0.0) / section.corner_y
    return by_height <= by_depth, by_height > by_depth


def station_lines(section: Section, walls: SlotWalls) -> list[list[Line]]:
    """The walls at every station; as many, in the same order, at each."""
    shares = _tributary(walls.offsets)
    last = len(walls.offsets) - 1
    lines: list[list[Line]] = []
    inner: list[Line] | None = None
    for i, (x, share) in enumerate(zip(walls.offsets, shares, strict=True)):
        if i not in (0, last) and inner is not None:
            # alike but for where they stand, and what share of the slot gives way behind them
            give = _give(walls, float(share))
            lines.append([_at_station(line, float(x), give) for line in inner])
            continue
        mouth = -1 if i == 0 else 1 if i == last else 0
        lines.append(list(_walls_at(section, walls, float(x), float(share), mouth)))
        inner = lines[-1] if mouth == 0 else inner
    return lines


def _give(walls: SlotWalls, share: float) -> float:
    """Compliance (mm/N) of what belongs to a station with this ``share`` (mm) of the slot."""
    return 0.0 if math.isinf(walls.modulus) else 1.0 / (walls.modulus * share)


def _at_station(line: Line, x: float, give: float) -> Line:
    """The same line at another station."""
    point = (x, line.point[1], line.point[2])
    return Line(
        line.axis,
        line.side,
        point,
        line.edge,
        line.corners,
        line.kind,
        line.end,
        give,
        line.friction,
        line.rounding,
    )


def _tributary(offsets: Array) -> Array:
    """Length of slot (k,) that belongs to each station, mm."""
    edges = np.concatenate((offsets[:1], 0.5 * (offsets[1:] + offsets[:-1]), offsets[-1:]))
    return np.asarray(np.diff(edges))


def _walls_at(section: Section, walls: SlotWalls, x: float, share: float, mouth: int) -> Iterator[Line]:
    a, b, r = section.corner_y, section.corner_z, section.edge_radius
    turns_round = 2.0 * (math.hypot(a, b) + r) < walls.height
    rounded = walls.mouth_radius if mouth != 0 else 0.0
    give = _give(walls, share)
    half_taper = 0.5 * walls.taper
    # height walls: through z = 0, opening to the front
    end = math.inf if walls.front == "closed" else 0.5 * walls.depth / math.cos(half_taper)
    filled = fills_height(section, walls)
    height_holds_roll, depth_holds_roll = _hold_roll(section, walls)
    if filled:
        half = max(0.5 * (walls.height - section.height), 0.0)
        sides = (1.0, -1.0) if height_holds_roll else (0.0,)
        corners = tuple(Corner(1.0, 0.0, s * b, 0.0, half) for s in sides)
        yield Line(
            HEIGHT_WALLS, 0.0, (x, 0.0, 0.0), ALONG_DEPTH, corners, end=end, compliance=give,
            friction=walls.friction,
        )  # fmt: skip
    else:
        middle = 0.5 * walls.height + 0.5 * walls.depth * math.tan(half_taper)
        for side in (1.0, -1.0):
            # a rounded mouth: the arc's centre lies its radius behind the wall
            y = side * (middle + rounded * math.cos(half_taper))
            point = (x, y, -rounded * math.sin(half_taper))
            edge = (0.0, side * math.sin(half_taper), math.cos(half_taper))
            corners = _corners(side, side * a, b, r + rounded, turns_round and a > 0.0, HEIGHT_WALLS)
            yield Line(
                HEIGHT_WALLS, side, point, edge, corners, end=end, compliance=give, friction=walls.friction,
                rounding=rounded,
            )  # fmt: skip
    # floor and outer wall
    if fills_depth(section, walls):
        half = max(0.5 * (walls.depth - section.depth), 0.0)
        sides = (1.0, -1.0) if depth_holds_roll else (0.0,)
        corners = tuple(Corner(-1.0, s * a, 0.0, 0.0, half) for s in sides)
        yield Line(
            DEPTH_WALLS, 0.0, (x, 0.0, 0.0), ALONG_HEIGHT, corners, compliance=give, friction=walls.friction
        )
        return
    turns_round = 2.0 * (math.hypot(a, b) + r) < walls.depth or (turns_round and walls.front != "closed")
    for side in (1.0, -1.0) if walls.front == "closed" else (-1.0,):
        corners = _corners(-side, side * b, a, r + rounded, turns_round and b > 0.0, DEPTH_WALLS)
        point = (x, 0.0, side * (0.5 * walls.depth + rounded))
        yield Line(
            DEPTH_WALLS, side, point, ALONG_HEIGHT, corners, compliance=give, friction=walls.friction,
            rounding=rounded,
        )  # fmt: skip
    if walls.front != "closed":
        yield from _front_edges(section, walls, x, give, rounded, filled)


def _corners(
    sign: float, own: float, other: float, radius: float, all_four: bool, axis: int
) -> tuple[Corner, ...]:
    """The corners on one side of the outline, or all of them where the outline can turn right round."""
    facing = (1.0, -1.0) if all_four else (1.0,)
    sides = (1.0, -1.0) if other > 0.0 else (1.0,)
    pairs = [(f * own, s * other) for f in facing for s in sides]
    return tuple(
        Corner(sign, y, z, radius) if axis == HEIGHT_WALLS else Corner(sign, z, y, radius) for y, z in pairs
    )


def _front_edges(
    section: Section, walls: SlotWalls, x: float, give: float, rounded: float, filled: bool
) -> Iterator[Line]:
    """Where the height walls end, seen as points of the section: the wire's sides may lie on them.

    In a slot that the wire has ``filled`` its sides touch them as long as its middle is held.  A corner on an edge
    needs a radius of either, or nothing would say which way they press."""
    blunt = max(SHARPEST - section.edge_radius - rounded, 0.0)
    y = 0.5 * walls.height + walls.depth * math.tan(0.5 * walls.taper) + rounded + blunt
    for side in (1.0, -1.0):
        corner = Corner(
            side, side * section.corner_y, section.corner_z, section.edge_radius + rounded + blunt
        )
        yield Line(
            HEIGHT_WALLS,
            side,
            (x, side * y, 0.5 * walls.depth - blunt),
            (1.0, 0.0, 0.0),
            (corner,),
            FRONT_EDGE,
            end=0.0 if filled else math.inf,
            compliance=give,
            rounding=rounded,
        )


def ligature_lines(section: Section, walls: SlotWalls, ligature: Ligature) -> list[Line]:
    """A ligature's own lines, which press on the outer corners; a flat side takes half of each line at either
    corner."""
    a, b, r = section.corner_y, section.corner_z, section.edge_radius
    turns_round = b > 0.0 and 2.0 * (math.hypot(a, b) + r) < walls.height
    corners = _corners(-1.0, b, a, r, turns_round, DEPTH_WALLS)
    at_once = 2.0 if a > 0.0 else 1.0
    z = ligature.rest - 0.5 * walls.depth
    lines = []
    for x, share in zip(ligature.offsets, ligature.shares, strict=True):
        give = 0.0 if math.isinf(ligature.stiffness) else at_once / (ligature.stiffness * float(share))
        lines.append(
            Line(
                DEPTH_WALLS, 1.0, (float(x), 0.0, z), ALONG_HEIGHT, corners, compliance=give,
                friction=walls.friction,
            )
        )  # fmt: skip
    return lines


def edge_line(section: Section, edge: Edge) -> Line:
    """A knife edge or roller."""
    side = -1.0 if edge.below else 1.0
    corners = _corners(
        side,
        side * section.corner_y,
        section.corner_z,
        section.edge_radius + edge.radius,
        False,
        HEIGHT_WALLS,
    )
    return Line(
        HEIGHT_WALLS,
        side,
        (0.0, side * edge.radius, 0.0),
        ALONG_DEPTH,
        corners,
        friction=edge.friction,
        rounding=edge.radius,
    )


def thread_line(tie: PointTie) -> Line:
    """A thread; its length takes the place of a radius, and its line lies along x where its far end is tied there."""
    assert tie.thread is not None
    give = 0.0 if math.isinf(tie.stiffness) else 1.0 / tie.stiffness
    corner = Corner(1.0, 0.0, 0.0, tie.thread)
    edge = ALONG_DEPTH if tie.slides else (1.0, 0.0, 0.0)
    return Line(HEIGHT_WALLS, 0.0, (0.0, 0.0, 0.0), edge, (corner,), THREAD, compliance=give)
