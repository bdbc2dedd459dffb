"""Gaps between a wire and its slot: rigid geometry, skew lines, their derivatives, circles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from fem.arrays import Sites, Touch
from fem.contact_kernel import (
    FAR_GAP,
    LINE,
    add_site_forces,
    add_site_stiffness,
    evaluate_sites,
    site_changes,
)
from fem.curvature_kernel import add_site_curvature
from fem.model import Model, PointTie, Restraint, SlotWalls, Support
from fem.section_law import LinearSection
from fem.supports import constraints_of
from fem.workspace import empty_touch
from geometry.attachments import Slot
from geometry.clearance import clearance
from geometry.pose import Pose
from geometry.section import Rectangle, Round, Section
from geometry.wire_shapes import PassiveShape, Straight
from tests.fem_problems import INCH, dense, hessian, moved_frames, random_pose, slope

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Arms = tuple[Array, Array]

SLOT = Slot(0.022 * INCH, 0.028 * INCH, 3.0)
SHARP = Rectangle(0.019 * INCH, 0.025 * INCH)
SECTIONS = [SHARP, Rectangle(0.017 * INCH, 0.025 * INCH, 0.05), Round(0.016 * INCH)]


def sites_of(section: Section, slot: Slot, offsets: list[float]) -> Sites:
    """The walls of one slot at ``offsets``: per station upper and lower wall, outer wall and floor."""
    return sites_on(section, SlotWalls(slot.height, slot.depth, np.array(offsets)))


def sites_on(section: Section, restraint: Restraint) -> Sites:
    """What a restraint puts round a wire."""
    support = Support(restraint, 0.5, Pose.identity(), Pose.identity())
    nodes = np.array([0.0, 0.5, 1.0])
    model = Model(
        PassiveShape((Straight(1.0),)), Pose.identity(), nodes, section, LinearSection(np.ones(6)), (support,)
    )
    return constraints_of(model).sites


def axis_of(sites: Sites) -> Integers:
    """0 for the height walls, 1 for floor and outer wall: their lines run along z and along y."""
    return np.where(np.abs(sites.edge[:, 2]) > 0.5, 0, 1).astype(np.int64)


def wall_of(sites: Sites) -> Array:
    """Where the walls stand, mm from the slot's centre."""
    return sites.point[np.arange(sites.slot.size), 1 + axis_of(sites)]


def met(
    sites: Sites,
    pose: Pose,
    positions: Array,
    axes: Array,
    node: Integers | None = None,
    arms: Arms | None = None,
    course: Array | None = None,
) -> Touch:
    """How a wire meets one slot at ``pose``; each site has the nearest node, or ``node`` (sites,)."""
    touch = empty_touch(sites.slot.size, sites.sign.size)
    touch.gap[:], touch.gradient[:], touch.ahead[:], touch.there[:] = np.nan, np.nan, np.nan, -1
    if node is None:
        stations = pose.to_world(sites.point * [1.0, 0.0, 0.0])
        node = np.linalg.norm(positions - stations[:, None], axis=2).argmin(axis=1)
    touch.node[:] = node
    touch.outermost[:] = np.equal(node, len(positions) - 1).astype(int) - np.equal(node, 0)
    if arms is not None:
        touch.arm[:], touch.turn[:] = arms
    if course is not None:
        touch.course[:] = course
    evaluate_sites(np.array(pose.position[None]), np.array(pose.axes[None]), sites, positions, axes, touch)
    return touch


def straight_wire(pose: Pose, half: float = 3.0, elements: int = 7) -> tuple[Array, Array]:
    """Positions and axes of a straight wire through ``pose``."""
    arc = np.linspace(-half, half, elements + 1)
    positions = pose.to_world(np.column_stack((arc, 0.0 * arc, 0.0 * arc)))
    return positions, np.tile(pose.axes, (arc.size, 1, 1))


def arc_wire(curvature: float, arcs: Array) -> tuple[Array, Array]:
    """Nodes at ``arcs`` of a wire bent to a circle in the second order, its arc length 0 at the slot's centre."""
    angle = curvature * arcs
    zero = 0.0 * arcs
    positions = np.column_stack((np.sin(angle) / curvature, (1.0 - np.cos(angle)) / curvature, zero))
    axes = Rotation.from_rotvec(np.column_stack((zero, zero, angle))).as_matrix()
    return positions, axes


@pytest.mark.parametrize("section", SECTIONS)
@pytest.mark.parametrize("order", ["first", "second"])
def test_tilted_wire_meets_the_mouths_where_rigid_geometry_says(section: Section, order: str) -> None:
    """H cos t - W sin t = h: the exact form of Kusy & Whitley, Eur. J. Orthod. 21 (1999) 199.

    Both mouths close at the play, and at any tilt t the gap a distance x along the slot is (H cos t - h)/2 -+ x sin t.
    """
    offsets = [-1.5, -0.4, 0.0, 1.0, 1.5]
    sites = sites_of(section, SLOT, offsets)
    play = getattr(clearance(section, SLOT), order).angle
    opening, size, sign = (
        (SLOT.height, section.height, 1.0) if order == "second" else (SLOT.depth, section.depth, -1.0)
    )
    axis = 0 if order == "second" else 1
    for angle in (0.3 * play, play, 0.2):
        first, second = (angle, 0.0) if order == "first" else (0.0, angle)
        pose = Pose.from_angles([0, 0, 0], about_y=first, about_z=second)
        found = met(sites, Pose.identity(), *straight_wire(pose))
        mouths = []
        for site in np.flatnonzero(axis_of(sites) == axis):
            side = math.copysign(1.0, wall_of(sites)[site])
            x = sites.point[site, 0]
            expected = 0.5 * (opening * math.cos(angle) - size) - sign * side * x * math.sin(angle)
            gaps = found.gap[sites.first[site] : sites.first[site + 1]]
            np.testing.assert_allclose(gaps, expected, rtol=0.0, atol=1e-14)
            mouths.append(expected)
        if angle == play:
            assert min(mouths) == pytest.approx(0.0, abs=1e-14)
            assert sum(abs(gap) < 1e-13 for gap in mouths) == 2


@pytest.mark.parametrize("section", [*SECTIONS, Rectangle(0.3, 0.5, 0.15)])
@pytest.mark.parametrize("roll", [0.0, 0.05, -0.21, 0.6])
def test_rolled_wire_reaches_as_far_as_its_outline(section: Section, roll: float) -> None:
    """The least gap of a wall is its distance less the furthest point of the outline, looked for point by point."""
    sites = sites_of(section, SLOT, [-1.5, 0.7, 1.5])
    found = met(sites, Pose.identity(), *straight_wire(Pose.from_angles([0, 0.01, -0.02], about_x=roll)))
    outline = section.outline(3000)
    y = 0.01 + outline @ [math.cos(roll), -math.sin(roll)]
    z = -0.02 + outline @ [math.sin(roll), math.cos(roll)]
    for site in range(sites.slot.size):
        across = y if axis_of(sites)[site] == 0 else z
        wall = wall_of(sites)[site]
        expected = abs(wall) - (across * math.copysign(1.0, wall)).max()
        least = found.gap[sites.first[site] : sites.first[site + 1]].min()
        # the furthest of the outline's points lies at most half a step, r pi/12000, beside the arc's summit
        assert least == pytest.approx(expected, abs=1e-7 * section.edge_radius + 1e-14)


def test_third_order_play_closes_opposite_corners() -> None:
    """7.24 deg for sharp 0.019 x 0.025 in in 0.022 in: Papageorgiou et al., Prog. Orthod. 17 (2016) 5, table 6."""
    play = clearance(SHARP, SLOT).third.angle
    assert play is not None
    assert math.degrees(play) == pytest.approx(7.24, abs=0.01)
    sites = sites_of(SHARP, SLOT, [0.0])
    found = met(sites, Pose.identity(), *straight_wire(Pose.from_angles([0, 0, 0], about_x=play)))
    height_walls = found.gap[:4].reshape(2, 2)
    np.testing.assert_allclose(height_walls.min(axis=1), 0.0, atol=1e-15)
    assert (height_walls.max(axis=1) > 0.05).all()
    assert (found.gap[4:] > 0.0).all()


def bent_and_twisted(seed: int, elements: int = 5, size: float = 0.1) -> tuple[Array, Array]:
    """Any wire near the slot, its nodes scattered as in the middle of an iteration."""
    rng = np.random.default_rng(seed)
    positions, axes = straight_wire(Pose.from_angles([0.03, 0.01, 0.02], 0.05, 0.03, 0.06), 1.0, elements)
    turned = axes @ Rotation.from_rotvec(size * rng.normal(size=(elements + 1, 3))).as_matrix()
    return positions + 0.2 * size * rng.normal(size=positions.shape), turned


def plain_gaps(
    sites: Sites, pose: Pose, node: Integers, positions: Array, axes: Array, arms: Arms | None = None
) -> Array:
    """Distance of the line from each corner's line of the node's prism, less the corner's radius: the distance of two
    skew lines (any textbook of analytic geometry), or of a point from a line past the end."""
    out = np.zeros(sites.sign.size)
    arm, turn = arms or (np.zeros((sites.slot.size, 3)), np.tile(np.eye(3), (sites.slot.size, 1, 1)))
    for site in range(sites.slot.size):
        edge = pose.axes @ sites.edge[site]
        on_line = pose.to_world(sites.point[site])
        centre = positions[node[site]] + axes[node[site]] @ arm[site]
        d1, d2, d3 = (axes[node[site]] @ turn[site]).T
        outward = pose.axes[:, 1 if abs(sites.edge[site, 2]) > 0.5 else 2]
        normal = np.cross(edge, d1)
        side = math.copysign(1.0, sites.point[site] @ (pose.axes.T @ outward))
        normal *= side * math.copysign(1.0, normal @ outward) / np.linalg.norm(normal)
        for m in range(sites.first[site], sites.first[site + 1]):
            corner = centre + sites.corner_y[m] * d2 + sites.corner_z[m] * d3
            out[m] = normal @ (on_line - corner) - sites.radius[m]
            # foot of the common normal on the line: on_line + t edge, with the corner's line along d1
            t = np.linalg.lstsq(np.column_stack((edge, -d1)), corner - on_line, rcond=None)[0][0]
            if t > sites.end[site]:
                away = on_line + sites.end[site] * edge - corner
                out[m] = np.linalg.norm(away - (away @ d1) * d1) - sites.radius[m]
    return out


WIRE = Rectangle(0.48, 0.64, 0.04)
OFFSETS = [-0.1, 0.33]


def random_arms(sites: Sites, seed: int) -> Arms:
    """Some arm and some turn for every site."""
    rng = np.random.default_rng(seed)
    turns = Rotation.from_rotvec(0.1 * rng.normal(size=(sites.slot.size, 3)))
    return 0.1 * rng.normal(size=(sites.slot.size, 3)), turns.as_matrix()


OPEN = SlotWalls(SLOT.height, SLOT.depth, np.array(OFFSETS), front="open")
KINDS: dict[str, Restraint] = {
    "closed": SlotWalls(SLOT.height, SLOT.depth, np.array(OFFSETS)),
    "tapered": SlotWalls(SLOT.height, SLOT.depth, np.array(OFFSETS), taper=0.1),
    "rounded mouths": SlotWalls(SLOT.height, SLOT.depth, np.array(OFFSETS), mouth_radius=0.1),
    "open": OPEN,
    "thread": PointTie(thread=0.3),
    "chain": PointTie(thread=0.3, slides=False),
}


def lines_only(sites: Sites) -> NDArray[np.bool_]:
    """(m,) corners of lines, without front edges and threads."""
    return np.repeat(sites.kind == LINE, np.diff(sites.first))


@pytest.mark.parametrize("kind", ["closed", "tapered", "rounded mouths", "open"])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_gap_and_gradient_are_those_of_skew_lines(seed: int, kind: str) -> None:
    sites = sites_on(WIRE, KINDS[kind])
    pose = Pose.from_angles([0, 0, 0], 0.02, -0.1, 0.05)
    positions, axes = bent_and_twisted(seed)
    arms = random_arms(sites, seed)
    found = met(sites, pose, positions, axes, arms=arms)

    def plain(x: Array, r: Array) -> Array:
        return plain_gaps(sites, pose, found.node, x, r, arms)

    lines = lines_only(sites)
    np.testing.assert_allclose(found.gap[lines], plain(positions, axes)[lines], rtol=0.0, atol=1e-14)
    differences = slope(lambda steps: plain(*moved_frames(positions, axes, steps)), 36)
    np.testing.assert_allclose(in_place(sites, found)[lines], differences.T[lines], rtol=0.0, atol=1e-11)


def in_place(sites: Sites, found: Touch) -> Array:
    """Gradients (m, 36) along the motions of six nodes."""
    whole = np.zeros((sites.sign.size, 36))
    for m, site in enumerate(np.repeat(np.arange(sites.slot.size), np.diff(sites.first))):
        begin = 6 * found.node[site]
        whole[m, begin : begin + 6] = found.gradient[m]
    return whole


@pytest.mark.parametrize("shift", [0.0, 0.15, 0.3])
@pytest.mark.parametrize("kind", list(KINDS))
@pytest.mark.parametrize("seed", [1, 2])
def test_gradient_and_curvature_are_the_derivatives_of_the_gap(seed: int, kind: str, shift: float) -> None:
    """Minus force times the second derivative, with nothing left out; ``shift`` moves the wire out of the slot, where
    corners pass the ends of the walls and front edges meet the wire's sides."""
    sites = sites_on(WIRE, KINDS[kind])
    pose = Pose.from_angles([0, 0.02, -shift], 0.02, -0.1, 0.05)
    positions, axes = bent_and_twisted(seed, elements=3)
    arms = random_arms(sites, seed) if kind not in ("thread", "chain") else None
    derivatives_hold(sites, pose, positions, axes, arms, seed)


def derivatives_hold(
    sites: Sites, pose: Pose, positions: Array, axes: Array, arms: Arms | None, seed: int
) -> None:
    """Gradient and curvature of four nodes against central differences of the gap."""
    found = met(sites, pose, positions, axes, arms=arms)

    def gaps(steps: Array) -> Array:
        return met(sites, pose, *moved_frames(positions, axes, steps), node=found.node, arms=arms).gap

    differences = slope(gaps, 24)
    np.testing.assert_allclose(in_place(sites, found)[:, :24], differences.T, rtol=0.0, atol=1e-10)
    force = np.random.default_rng(seed).uniform(1.0, 2.0, sites.sign.size)
    expected = -hessian(lambda steps: float(force @ gaps(steps)), 24, step=5e-4)
    diagonal = np.zeros((4, 6, 6))
    add_site_curvature(np.array(pose.axes[None]), sites, found, force, 0.0, diagonal)
    matrix = dense(diagonal, np.zeros((3, 6, 6)))
    np.testing.assert_allclose(matrix, matrix.T, rtol=0.0, atol=1e-13 * np.abs(matrix).max())
    assert np.abs(matrix - expected).max() < 1e-6 * np.abs(matrix).max()


@pytest.mark.parametrize("seed", [5, 6])
@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in ("thread", "chain")])
def test_the_course_of_the_wire_has_its_derivatives_where_the_prism_is_level(seed: int, kind: str) -> None:
    """Twist and curvature beyond the prism: first and second derivatives of the gap are complete where the line
    is no way ahead; the gap itself follows the course."""
    sites = sites_on(WIRE, KINDS[kind])
    pose = Pose.from_angles([0, 0.02, -0.02], 0.02, -0.1, 0.05)
    positions, axes = bent_and_twisted(seed, elements=3)
    arms = random_arms(sites, seed)
    course = np.random.default_rng(seed).uniform(-0.3, 0.3, (sites.slot.size, 3))
    found = met(sites, pose, positions, axes, arms=arms, course=course)
    for _ in range(3):
        arms = (arms[0] + arms[1][:, :, 0] * found.ahead[:, None], arms[1])
        found = met(sites, pose, positions, axes, node=found.node, arms=arms, course=course)
    assert np.abs(found.ahead).max() < 1e-12

    def gaps(steps: Array) -> Array:
        frames = moved_frames(positions, axes, steps)
        return met(sites, pose, *frames, node=found.node, arms=arms, course=course).gap

    differences = slope(gaps, 24)
    np.testing.assert_allclose(in_place(sites, found)[:, :24], differences.T, rtol=0.0, atol=1e-10)
    force = np.random.default_rng(seed).uniform(1.0, 2.0, sites.sign.size)
    expected = -hessian(lambda steps: float(force @ gaps(steps)), 24, step=5e-4)
    diagonal = np.zeros((4, 6, 6))
    add_site_curvature(np.array(pose.axes[None]), sites, found, force, 0.0, diagonal)
    matrix = dense(diagonal, np.zeros((3, 6, 6)))
    assert np.abs(matrix - expected).max() < 1e-6 * np.abs(matrix).max()


def circle_gap(curvature: float, x: float, wall: float) -> float:
    """A wire bent to radius R nears a wall's edge P by its distance from the circle: |P - C| less R less h/2."""
    from_centre = math.hypot(x, wall - 1.0 / curvature)
    return math.copysign(1.0, wall) * (1.0 / curvature - from_centre) - 0.5 * WIRE.height


def test_gap_against_a_circle_is_exact_at_a_node_level_with_the_edge() -> None:
    curvature = 0.08
    for offset in (-1.5, -0.6, 0.2, 1.5):
        sites = sites_of(WIRE, SLOT, [offset])
        for site in np.flatnonzero(axis_of(sites) == 0):
            # the radius through the wall's edge meets the wire at this arc length
            level = math.atan2(offset, 1.0 / curvature - wall_of(sites)[site]) / curvature
            found = met(sites, Pose.identity(), *arc_wire(curvature, np.array([-3.0, level, 3.0])))
            assert found.ahead[site] == pytest.approx(0.0, abs=1e-14)
            gaps = found.gap[sites.first[site] : sites.first[site + 1]]
            np.testing.assert_allclose(
                gaps, circle_gap(curvature, offset, wall_of(sites)[site]), rtol=0.0, atol=1e-14
            )


def test_a_node_beside_its_station_errs_by_curvature_and_the_square_of_the_distance() -> None:
    curvature = 0.08
    sites = sites_of(WIRE, SLOT, [0.2])
    errors = []
    for beside in (0.4, 0.2, 0.1):
        found = met(sites, Pose.identity(), *arc_wire(curvature, np.array([-3.0, 0.2 + beside, 3.0])))
        upper = found.gap[0] - circle_gap(curvature, 0.2, wall_of(sites)[0])
        assert abs(upper) < 1.1 * curvature * found.ahead[0] ** 2 / 2.0
        # How far ahead the wire is met is wrong by curvature times the wall's distance: so much is left when the
        # mesh has followed once, its square when it has followed twice.
        level = math.atan2(0.2, 1.0 / curvature - wall_of(sites)[0]) / curvature
        left = 0.2 + beside + found.ahead[0] - level
        assert abs(left) < 1.1 * curvature * wall_of(sites)[0] * (0.2 + beside - level)
        errors.append(abs(upper))
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.1)
    assert errors[1] / errors[2] == pytest.approx(4.0, rel=0.1)


def test_along_a_straight_wire_any_node_tells_the_same() -> None:
    sites = sites_of(WIRE, SLOT, [0.5])
    positions, axes = straight_wire(Pose.from_angles([0.5, 0, 0], 0.01, 0.02, 0.03), 2.0, 4)
    first, *others = [
        met(sites, Pose.identity(), positions, axes, np.full(4, node, dtype=np.int64)) for node in range(1, 4)
    ]
    for one in others:
        np.testing.assert_allclose(one.gap, first.gap, rtol=0.0, atol=1e-14)
        apart = one.node - first.node  # mm: the elements are one long
        np.testing.assert_allclose(one.ahead, first.ahead - apart, rtol=0.0, atol=1e-14)


def test_no_wall_where_no_wire_is() -> None:
    sites = sites_of(WIRE, SLOT, [-1.5, 1.5])
    found = met(sites, Pose.identity(), *straight_wire(Pose.from_angles([-2.0, 0, 0])))
    there = np.repeat(found.there > 0, np.diff(sites.first))
    np.testing.assert_array_equal(found.there > 0, sites.point[:, 0] < 0.0)
    assert (found.gap[~there] == FAR_GAP).all()
    assert not found.gradient[~there].any()
    assert (found.gap[there] < 0.1).all()


def test_gaps_do_not_know_of_rigid_motions() -> None:
    sites = sites_of(WIRE, SLOT, OFFSETS)
    positions, axes = bent_and_twisted(4)
    here = met(sites, Pose.identity(), positions, axes)
    by = random_pose(np.random.default_rng(5), distance=3.0)
    there = met(sites, by, by.to_world(positions), by.axes @ axes)
    np.testing.assert_allclose(there.gap, here.gap, rtol=0.0, atol=1e-13)
    np.testing.assert_allclose(there.gradient, here.gradient, rtol=0.0, atol=1e-12)


def test_forces_stiffness_and_changes_come_from_the_gradient() -> None:
    sites = sites_of(WIRE, SLOT, OFFSETS)
    found = met(sites, Pose.identity(), *bent_and_twisted(6))
    rng = np.random.default_rng(7)
    value, step = rng.normal(size=sites.sign.size), rng.normal(size=(6, 6))
    whole = in_place(sites, found)
    out, change, diagonal = np.zeros((6, 6)), np.zeros(sites.sign.size), np.zeros((6, 6, 6))
    add_site_forces(found.node, sites.first, found.gradient, value, out)
    site_changes(found.node, sites.first, found.gradient, step, change)
    add_site_stiffness(found.node, sites.first, found.gradient, value, diagonal)
    np.testing.assert_allclose(out.ravel(), value @ whole, rtol=0.0, atol=1e-14)
    np.testing.assert_allclose(change, whole @ step.ravel(), rtol=0.0, atol=1e-14)
    np.testing.assert_allclose(
        dense(diagonal, np.zeros((5, 6, 6))), whole.T @ (value[:, None] * whole), rtol=0.0, atol=1e-13
    )
