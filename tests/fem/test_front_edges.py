"""A wire in front of an open slot: gaps of its corners and sides from wall ends, faces and front edges.

Witness is a slot drawn point by point: two blocks with a right angle each, its distance from the wire's outline found
by looking at all of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from fem.arrays import Sites
from fem.contact_kernel import APART, FAR_GAP, FRONT_EDGE, LINE
from fem.model import SlotWalls
from fem.walls import SHARPEST
from geometry.pose import Pose
from geometry.section import Rectangle
from tests.fem.test_contact import (
    OFFSETS,
    OPEN,
    SLOT,
    WIRE,
    bent_and_twisted,
    derivatives_hold,
    met,
    random_arms,
    sites_on,
)

Array = NDArray[np.float64]

PLACES = {
    "on its way out": (0.0, 0.3),
    "above the slot, before its face": (0.45, 0.75),
    "askew over an edge": (-0.2, 0.6),
}
"""mm that a wire lies up and in front of where it belongs."""


def straight_at(y: float, z: float, roll: float = 0.0) -> tuple[Array, Array]:
    """Four nodes of a wire that lies along the slot, with one at each station."""
    pose = Pose.from_angles([0.0, y, z], about_x=roll)
    return np.array([[x, y, z] for x in (-2.0, *OFFSETS, 2.0)]), np.tile(pose.axes, (4, 1, 1))


def gaps_at(
    walls: SlotWalls, section: Rectangle, y: float, z: float, roll: float, sites: Sites | None = None
) -> tuple[Array, Array]:
    """Gap and kind (m,) of all constraints of height walls and front edges."""
    sites = sites or sites_on(section, walls)
    found = met(sites, Pose.identity(), *straight_at(y, z, roll))
    counts = np.diff(sites.first)
    kinds = np.repeat(sites.kind, counts)
    height = np.repeat(np.abs(sites.edge[:, 2]) > 0.5, counts) | (kinds == FRONT_EDGE)
    return found.gap[height], kinds[height]


def blocks(walls: SlotWalls) -> Array:
    """Points (n, 2) of the surfaces of both blocks: wall up to the front, and face."""
    half, front = 0.5 * walls.height, 0.5 * walls.depth
    along = np.linspace(0.0, 3.0, 6001)
    upper = np.concatenate(
        (
            np.column_stack((0.0 * along + half, front - along)),
            np.column_stack((half + along, 0.0 * along + front)),
        )
    )
    return np.concatenate((upper, upper * [-1.0, 1.0]))


def distance_from(section: Rectangle, points: Array) -> Array:
    """Distance (n,) of points (n, 2), seen from the wire's middle, from its outline, where they lie outside."""
    over = np.abs(points) - [section.corner_y, section.corner_z]
    outside = np.linalg.norm(np.maximum(over, 0.0), axis=1)
    return outside + np.minimum(over.max(axis=1), 0.0) - section.edge_radius


@pytest.mark.parametrize("seed", range(4))
def test_the_least_gap_is_the_distance_of_wire_and_slot(seed: int) -> None:
    """Wherever the wire does not touch: lines at right angles to it in its own plane."""
    rng = np.random.default_rng(seed)
    surface, sites = blocks(OPEN), sites_on(WIRE, OPEN)
    looked_at = 0
    while looked_at < 60:
        y, z, roll = rng.uniform(-0.3, 0.3), rng.uniform(0.0, 1.0), rng.uniform(-0.5, 0.5)
        turn = np.array([[np.cos(roll), np.sin(roll)], [-np.sin(roll), np.cos(roll)]])
        distance = distance_from(WIRE, (surface - [y, z]) @ turn.T).min()
        if distance < 0.01:
            continue
        gap, _ = gaps_at(OPEN, WIRE, y, z, roll, sites)
        assert gap.min() == pytest.approx(distance, abs=2e-6)
        looked_at += 1


@pytest.mark.parametrize("section", [WIRE, Rectangle(0.48, 0.64)], ids=["rounded", "sharp"])
@pytest.mark.parametrize("seed", range(4))
def test_no_gap_jumps_on_the_way_out(seed: int, section: Rectangle) -> None:
    """No gap changes by more than the wire moves, unless the wire has gone through what it should touch; where a sharp
    corner passes the end of a wall, by no more than what is left there to the front edge besides."""
    rng = np.random.default_rng(seed)
    sites = sites_on(section, OPEN)
    jump = APART if section.edge_radius == 0.0 else 0.0
    for _ in range(20):
        ends = rng.uniform([-0.5, -0.1, -0.6], [0.5, 1.2, 0.6], (2, 3))
        shares = np.linspace(0.0, 1.0, 401)
        rows = np.array(
            [gaps_at(OPEN, section, *(ends[0] + share * (ends[1] - ends[0])), sites)[0] for share in shares]
        )
        way = np.abs(ends[1] - ends[0]) / 400.0
        furthest = float(
            np.hypot(way[0], way[1]) + 2.0 * way[2]
        )  # nothing that touches is 2 mm from the middle
        touching = np.minimum(rows[1:], rows[:-1]) > -0.01
        assert touching.mean() > 0.5
        assert np.abs(np.diff(rows, axis=0))[touching].max() < furthest + jump


@pytest.mark.parametrize("place", list(PLACES))
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_gradient_and_curvature_in_front_of_the_slot(seed: int, place: str) -> None:
    sites = sites_on(WIRE, OPEN)
    up, out = PLACES[place]
    pose = Pose.from_angles([0.0, 0.02 - up, -out], 0.02, -0.1, 0.05)
    positions, axes = bent_and_twisted(seed, elements=3)
    arms = random_arms(sites, seed)
    derivatives_hold(sites, pose, positions, axes, arms, seed)


@pytest.mark.parametrize("out", [0.1, 0.3, 0.45])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_gradient_and_curvature_where_a_full_slot_ends_at_the_side_of_the_wire(seed: int, out: float) -> None:
    sites = sites_on(WIRE, replace(OPEN, height=WIRE.height))
    # front edges as they are where no side is held: a held one presses never, so has no curvature
    sites = sites._replace(end=np.where(sites.kind == FRONT_EDGE, np.inf, sites.end))
    pose = Pose.from_angles([0.0, 0.02, -out], 0.02, -0.1, 0.05)
    positions, axes = bent_and_twisted(seed, elements=3)
    derivatives_hold(sites, pose, positions, axes, random_arms(sites, seed), seed)


def test_a_full_slot_holds_what_it_has_of_the_wire() -> None:
    """Moved out of a slot that it fills, and turned a little about itself: at the corners that are within, and of those
    without where the walls end, a side is off the middle between the walls by the angle times its distance from the
    middle of the wire; past the walls there is none."""
    walls = replace(OPEN, height=WIRE.height, taper=0.0)
    roll, half, corner = 1e-5, 0.5 * walls.depth, 0.5 * WIRE.depth - WIRE.edge_radius
    sites = sites_on(WIRE, walls)
    pairs = sites.half_range == 0.0
    for out in (0.0, half - corner - 1e-6, half - corner + 1e-6, half - 0.1, half, half + corner - 1e-6):
        found = met(sites, Pose.identity(), *straight_at(0.0, out, roll)).gap[pairs]
        places = np.minimum(out + corner * np.sign(sites.corner_z[pairs]), half) - out
        np.testing.assert_allclose(np.abs(found), roll * np.abs(places), rtol=0.0, atol=1e-9)
    assert (
        met(sites, Pose.identity(), *straight_at(0.0, half + corner + 1e-6, roll)).gap[pairs] == FAR_GAP
    ).all()


def test_a_wire_out_of_its_slot_lies_on_the_front_edges() -> None:
    """With its inner side, wherever along the height it is; a slot that it fills holds it there too."""
    out = 0.5 * OPEN.depth + 0.5 * WIRE.depth
    for walls in (OPEN, replace(OPEN, height=WIRE.height)):
        for y in (0.0, 0.1, 0.3):
            gap, kind = gaps_at(walls, WIRE, y, out + 1e-9, 0.0)
            assert gap[kind == FRONT_EDGE].min() == pytest.approx(1e-9, abs=1e-12) or y == 0.0
            assert gap.min() > -1e-12


def test_a_sharp_corner_meets_a_blunt_edge() -> None:
    """Where corner and edge meet nothing would say which way they press, were both without a radius."""
    sharp = Rectangle(0.48, 0.64)
    for angle in (0.2, 0.8, 1.4):
        # the corner at a distance from the centre of the edge's radius
        towards = np.array([np.cos(angle), np.sin(angle)])
        edge = np.array([0.5 * SLOT.height + SHARPEST, 0.5 * SLOT.depth - SHARPEST])
        corner = edge + (SHARPEST + 0.002) * towards * [-1.0, 1.0]
        middle = corner - [0.24, -0.32]
        gap, kind = gaps_at(OPEN, sharp, *middle, 0.0)
        assert gap[kind == FRONT_EDGE].min() == pytest.approx(0.002, abs=1e-12)
        assert gap[kind == LINE].min() > 0.0
