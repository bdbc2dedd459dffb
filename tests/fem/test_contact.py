"""Gaps between a wire and its slot: rigid geometry, a plain gap, its derivatives, and sliding through."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from fem.arrays import Sites
from fem.contact_kernel import FAR_GAP, add_site_forces, add_site_stiffness, evaluate_sites, site_changes
from fem.curvature_kernel import add_site_curvature
from fem.model import Model, SlotWalls, Support
from fem.section_law import LinearSection
from fem.supports import constraints_of
from geometry.attachments import Slot
from geometry.clearance import clearance
from geometry.pose import Pose
from geometry.section import Rectangle, Round, Section
from geometry.wire_shapes import PassiveShape, Straight
from tests.fem_problems import INCH, dense, hessian, moved_frames, random_pose, slope

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

SLOT = Slot(0.022 * INCH, 0.028 * INCH, 3.0)
SHARP = Rectangle(0.019 * INCH, 0.025 * INCH)
SECTIONS = [SHARP, Rectangle(0.017 * INCH, 0.025 * INCH, 0.05), Round(0.016 * INCH)]


def sites_of(section: Section, slot: Slot, offsets: list[float]) -> Sites:
    """The walls of one slot at ``offsets``: per station upper and lower wall, outer wall and floor."""
    support = Support(
        SlotWalls(slot.height, slot.depth, np.array(offsets)), 0.5, Pose.identity(), Pose.identity()
    )
    model = Model(
        PassiveShape((Straight(1.0),)), Pose.identity(), np.array([0.0, 1.0]), section,
        LinearSection(np.ones(6)), (support,),
    )  # fmt: skip
    return constraints_of(model).sites


@dataclass(frozen=True, slots=True)
class Met:
    """What the sites find on a wire."""

    gap: Array
    gradient: Array
    element: Integers
    xi: Array
    point: Array


def met(
    sites: Sites, pose: Pose, lengths: Array, positions: Array, axes: Array, element: Integers | None = None
) -> Met:
    """Gaps of a wire against one slot at ``pose``, looked for from ``element`` on."""
    count = sites.slot.size
    found = Met(
        np.full(sites.sign.size, np.nan), np.full((sites.sign.size, 12), np.nan),
        np.full(count, -1, dtype=np.int64) if element is None else element.copy(),
        np.full(count, 0.5), np.zeros((count, 3)),
    )  # fmt: skip
    evaluate_sites(
        np.array(pose.position[None]), np.array(pose.axes[None]), sites.slot, sites.offset, sites.axis, sites.wall,
        sites.first, sites.sign, sites.corner_y, sites.corner_z, sites.radius, lengths, positions, axes,
        found.element, found.xi, found.point, found.gap, found.gradient,
    )  # fmt: skip
    return found


def straight_wire(pose: Pose, half: float = 3.0, elements: int = 7) -> tuple[Array, Array, Array]:
    """Lengths, positions and axes of a straight wire through ``pose``."""
    arc = np.linspace(-half, half, elements + 1)
    positions = pose.to_world(np.column_stack((arc, 0.0 * arc, 0.0 * arc)))
    return np.diff(arc), positions, np.tile(pose.axes, (arc.size, 1, 1))


def arc_wire(curvature: float, start: float, elements: int = 24) -> tuple[Array, Array, Array]:
    """A wire bent to a circle in the second order, its arc length 0 at the slot's centre."""
    arc = np.linspace(-3.0, 3.0, elements + 1) + start
    angle = curvature * arc
    zero = 0.0 * arc
    positions = np.column_stack((np.sin(angle) / curvature, (1.0 - np.cos(angle)) / curvature, zero))
    axes = Rotation.from_rotvec(np.column_stack((zero, zero, angle))).as_matrix()
    return np.diff(arc), positions, axes


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
        for site in np.flatnonzero(sites.axis == axis):
            side = math.copysign(1.0, sites.wall[site])
            x = sites.offset[site]
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
        across = y if sites.axis[site] == 0 else z
        wall = sites.wall[site]
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


def bent_and_twisted(seed: int, elements: int = 5, size: float = 0.1) -> tuple[Array, Array, Array]:
    """Any wire near the slot, its nodes scattered as in the middle of an iteration."""
    rng = np.random.default_rng(seed)
    lengths, positions, axes = straight_wire(
        Pose.from_angles([0.03, 0.01, 0.02], 0.05, 0.03, 0.06), 1.0, elements
    )
    turned = axes @ Rotation.from_rotvec(size * rng.normal(size=(elements + 1, 3))).as_matrix()
    return lengths, positions + 0.2 * size * rng.normal(size=positions.shape), turned


class PlainGaps:
    """Gaps at fixed places of a wire, written from the definition: places, line and corners do not move."""

    def __init__(self, sites: Sites, pose: Pose, lengths: Array, at: Met) -> None:
        self.sites, self.pose, self.lengths, self.at = sites, pose, lengths, at

    def section(self, site: int, positions: Array, axes: Array) -> tuple[Array, Array]:
        """Centre (3,) and interpolated axes (3, 3) where the site is."""
        e, t = self.at.element[site], self.at.xi[site]
        ends, tangents = positions[e : e + 2], self.lengths[e] * axes[e : e + 2, :, 0]
        centre = (
            (1.0 + 2.0 * t) * (1.0 - t) ** 2 * ends[0] + t * (1.0 - t) ** 2 * tangents[0]
            + t * t * (3.0 - 2.0 * t) * ends[1] + t * t * (t - 1.0) * tangents[1]
        )  # fmt: skip
        return centre, (1.0 - t) * axes[e] + t * axes[e + 1]

    def edge(self, site: int) -> Array:
        return np.asarray(self.pose.axes[:, 2 - self.sites.axis[site]])

    def normal(self, site: int, section: Array) -> Array:
        """Unit normal common to the wall's line and the prism's tangent, outward through the upper or outer wall."""
        across = np.cross(self.edge(site), np.cross(section[:, 1], section[:, 2]))
        outward = across / np.linalg.norm(across)
        return np.asarray(outward * (1.0 if self.sites.axis[site] == 0 else -1.0))

    def __call__(self, positions: Array, axes: Array) -> Array:
        out = np.zeros(self.sites.sign.size)
        for site in range(self.sites.slot.size):
            centre, section = self.section(site, positions, axes)
            e, d2, d3 = self.edge(site), section[:, 1], section[:, 2]
            # in coordinates (y, z) of the section's own, maybe not quite unit, directors
            normal = np.array([d3 @ e, -(d2 @ e)]) / math.hypot(d2 @ e, d3 @ e)
            normal *= 1.0 if self.sites.axis[site] == 0 else -1.0
            distance = self.at.point[site] - centre
            for m in range(self.sites.first[site], self.sites.first[site + 1]):
                corner = np.array([self.sites.corner_y[m], self.sites.corner_z[m]])
                seen = np.array([distance @ d2, distance @ d3]) - corner
                out[m] = self.sites.sign[m] * normal @ seen - self.sites.radius[m]
        return out


WIRE = Rectangle(0.48, 0.64, 0.04)
OFFSETS = [-0.1, 0.33]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_gap_and_gradient_are_those_of_the_plain_gap(seed: int) -> None:
    sites = sites_of(WIRE, SLOT, OFFSETS)
    pose = Pose.from_angles([0, 0, 0], 0.02, -0.1, 0.05)
    lengths, positions, axes = bent_and_twisted(seed)
    found = met(sites, pose, lengths, positions, axes)
    plain = PlainGaps(sites, pose, lengths, found)
    np.testing.assert_allclose(found.gap, plain(positions, axes), rtol=0.0, atol=1e-14)
    for site in range(sites.slot.size):  # the section's plane holds the wall's point
        centre, section = plain.section(site, positions, axes)
        distance = found.point[site] - centre
        assert distance @ section[:, 0] == pytest.approx(0.0, abs=5e-3)
        level = distance - (distance @ plain.edge(site)) * plain.edge(site)
        assert np.abs(level - distance).max() < 1e-12
    differences = slope(lambda steps: plain(*moved_frames(positions, axes, steps)), 36)
    whole = np.zeros((sites.sign.size, 36))
    for site in range(sites.slot.size):
        for m in range(sites.first[site], sites.first[site + 1]):
            begin = 6 * found.element[site]
            whole[m, begin : begin + 12] = found.gradient[m]
    np.testing.assert_allclose(whole, differences.T, rtol=0.0, atol=1e-11)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_curvature_is_that_of_the_plain_gap_and_the_slide(seed: int) -> None:
    """Minus force times (Hessian at the fixed place - kappa slide slide^T).

    slide is the derivative of d1.D for a line that stays level with the section's centre, kappa the wire's curvature
    towards the wall: the section that is met turns as the site slides along.
    """
    sites = sites_of(WIRE, SLOT, OFFSETS)
    pose = Pose.from_angles([0, 0, 0], 0.02, -0.1, 0.05)
    lengths, positions, axes = bent_and_twisted(seed, elements=3)
    found = met(sites, pose, lengths, positions, axes)
    plain = PlainGaps(sites, pose, lengths, found)
    force = np.random.default_rng(seed).uniform(1.0, 2.0, sites.sign.size)
    expected = -hessian(
        lambda steps: float(force @ plain(*moved_frames(positions, axes, steps))), 24, step=2e-3
    )
    for site in range(sites.slot.size):
        centre, section = plain.section(site, positions, axes)
        tangent, edge, distance = section[:, 0], plain.edge(site), found.point[site] - centre

        def slid(
            steps: Array, site: int = site, centre: Array = centre, tangent: Array = tangent, edge: Array = edge,
            distance: Array = distance,
        ) -> Array:  # fmt: skip
            moved_centre, moved_section = plain.section(site, *moved_frames(positions, axes, steps))
            away = centre - moved_centre
            return np.array(
                (away - (away @ edge) * edge) @ tangent + distance @ (moved_section[:, 0] - tangent)
            )

        slide = slope(slid, 24)
        e = found.element[site]
        bend = (axes[e + 1, :, 0] - axes[e, :, 0]) / lengths[e]
        d2, d3 = section[:, 1], section[:, 2]
        outward = (d3 @ edge) * d2 - (d2 @ edge) * d3
        outward *= (1.0 if sites.axis[site] == 0 else -1.0) / math.hypot(d2 @ edge, d3 @ edge)
        for m in range(sites.first[site], sites.first[site + 1]):
            expected += force[m] * sites.sign[m] * (outward @ bend) * np.outer(slide, slide)
    diagonal, upper = np.zeros((4, 6, 6)), np.zeros((3, 6, 6))
    add_site_curvature(
        np.array(pose.axes[None]), sites.slot, sites.axis, found.element, found.xi, found.point, sites.first,
        sites.sign, sites.corner_y, sites.corner_z, force, 0.0, lengths, positions, axes, diagonal, upper,
    )  # fmt: skip
    matrix = dense(diagonal, upper)
    np.testing.assert_array_equal(matrix, matrix.T)
    assert np.abs(matrix - expected).max() < 1e-6 * np.abs(matrix).max()


def test_gap_against_a_circle() -> None:
    """A wire bent to radius R nears the upper wall's edge by its distance from the circle: |P - C| less R less h/2.

    The wall's point is exact where it is level with a node. Between nodes the linear directors are short by a share
    of (kappa l)^2/8 at most.
    """
    curvature = 0.08
    sites = sites_of(WIRE, SLOT, [-1.5, -0.6, 0.2, 1.5])
    for elements in (12, 24, 48):
        found = met(sites, Pose.identity(), *arc_wire(curvature, 0.0, elements))
        for site in np.flatnonzero(sites.axis == 0):
            wall = sites.wall[site]
            from_centre = math.hypot(sites.offset[site], wall - 1.0 / curvature)
            expected = math.copysign(1.0, wall) * (1.0 / curvature - from_centre) - 0.5 * WIRE.height
            gaps = found.gap[sites.first[site] : sites.first[site + 1]]
            furthest = max(abs(expected + 0.5 * WIRE.height), 0.5 * WIRE.height)
            short = 1.05 * furthest * (curvature * 6.0 / elements) ** 2 / 8.0
            np.testing.assert_allclose(gaps, expected, rtol=0.0, atol=short)


def test_gap_against_a_circle_is_exact_at_a_node() -> None:
    curvature = 0.08
    lengths, positions, axes = arc_wire(curvature, 0.0, 12)
    node = 9  # 1.5 mm along the wire
    reach = 0.5 * WIRE.height + 0.01
    station = Pose(positions[node] + reach * axes[node, :, 1], np.eye(3))
    slot = Slot(0.8, 0.9, 3.0)
    pose = Pose(station.position - [0.0, 0.5 * slot.height, 0.0], np.eye(3))
    sites = sites_of(WIRE, slot, [0.0])
    found = met(sites, pose, lengths, positions, axes)
    np.testing.assert_allclose(found.gap[:2], 0.01, rtol=0.0, atol=1e-14)


def test_sites_pass_from_element_to_element() -> None:
    """A bent wire drawn through its slot: places move evenly, and gaps do not jump where nodes pass by."""
    sites = sites_of(WIRE, SLOT, [-1.5, -0.6, 0.2, 1.5])
    curvature, step = 0.08, 1e-3
    element = np.full(sites.slot.size, -1, dtype=np.int64)
    arcs, gaps, elements = [], [], []
    for start in np.arange(0.0, 0.7, step):
        lengths, positions, axes = arc_wire(curvature, start)
        found = met(sites, Pose.identity(), lengths, positions, axes, element)
        afresh = met(sites, Pose.identity(), lengths, positions, axes)
        np.testing.assert_allclose(found.gap, afresh.gap, rtol=0.0, atol=1e-13)
        element = found.element
        arcs.append((found.element + found.xi) * lengths[0] - 3.0 + start)
        gaps.append(found.gap)
        elements.append(found.element)
    assert (np.ptp(elements, axis=0) >= 2).all()
    # The wire's circle stays where it is, so each site keeps its place, and its gap but for the short directors.
    assert np.ptp(arcs, axis=0).max() < 1e-5
    # Short by at most kappa^2 l^2/8 of the wall's distance, 0.4 mm: times l how much, times four how fast it changes.
    short = 0.4 * curvature**2 * lengths[0] / 8.0
    assert np.ptp(gaps, axis=0).max() < short * lengths[0]
    assert np.abs(np.diff(gaps, axis=0)).max() < 4.0 * short * step


def test_a_place_at_a_node_belongs_to_either_element() -> None:
    sites = sites_of(WIRE, SLOT, [0.5])
    lengths, positions, axes = straight_wire(Pose.from_angles([0.5, 0, 0], 0.0, 0.02, 0.0), 2.0, 4)
    found = [
        met(sites, Pose.identity(), lengths, positions, axes, np.full(4, start, dtype=np.int64))
        for start in range(4)
    ]
    for one in found:
        np.testing.assert_allclose(one.gap, found[0].gap, rtol=0.0, atol=1e-14)


def test_no_wall_where_no_wire_is() -> None:
    sites = sites_of(WIRE, SLOT, [-1.5, 1.5])
    found = met(sites, Pose.identity(), *straight_wire(Pose.from_angles([-2.0, 0, 0])))
    there = np.repeat(found.element >= 0, np.diff(sites.first))
    np.testing.assert_array_equal(found.element >= 0, sites.offset < 0.0)
    assert (found.gap[~there] == FAR_GAP).all()
    assert not found.gradient[~there].any()
    assert (found.gap[there] < 0.1).all()


def test_gaps_do_not_know_of_rigid_motions() -> None:
    sites = sites_of(WIRE, SLOT, OFFSETS)
    lengths, positions, axes = bent_and_twisted(4)
    here = met(sites, Pose.identity(), lengths, positions, axes)
    by = random_pose(np.random.default_rng(5), distance=3.0)
    there = met(sites, by, lengths, by.to_world(positions), by.axes @ axes)
    np.testing.assert_allclose(there.gap, here.gap, rtol=0.0, atol=1e-13)
    np.testing.assert_allclose(there.gradient, here.gradient, rtol=0.0, atol=1e-12)


def test_forces_stiffness_and_changes_come_from_the_gradient() -> None:
    sites = sites_of(WIRE, SLOT, OFFSETS)
    lengths, positions, axes = bent_and_twisted(6)
    found = met(sites, Pose.identity(), lengths, positions, axes)
    rng = np.random.default_rng(7)
    value, step = rng.normal(size=sites.sign.size), rng.normal(size=(6, 6))
    whole = np.zeros((sites.sign.size, 36))
    for m, site in enumerate(np.repeat(np.arange(sites.slot.size), np.diff(sites.first))):
        whole[m, 6 * found.element[site] : 6 * found.element[site] + 12] = found.gradient[m]
    out, change = np.zeros((6, 6)), np.zeros(sites.sign.size)
    diagonal, upper = np.zeros((6, 6, 6)), np.zeros((5, 6, 6))
    add_site_forces(found.element, sites.first, found.gradient, value, out)
    site_changes(found.element, sites.first, found.gradient, step, change)
    add_site_stiffness(found.element, sites.first, found.gradient, value, diagonal, upper)
    np.testing.assert_allclose(out.ravel(), value @ whole, rtol=0.0, atol=1e-14)
    np.testing.assert_allclose(change, whole @ step.ravel(), rtol=0.0, atol=1e-14)
    np.testing.assert_allclose(
        dense(diagonal, upper), whole.T @ (value[:, None] * whole), rtol=0.0, atol=1e-13
    )
