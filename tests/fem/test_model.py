"""Models that make no sense are refused with a clear word; supports move as they say and become the right walls."""

from __future__ import annotations

import math
from dataclasses import FrozenInstanceError, replace
from typing import Any

import numpy as np
import pytest

from fem.beam_kernel import element_screws
from fem.model import Clamp, Model, PointTie, Restraint, SlotWalls, Support
from fem.path import Options
from fem.section_law import LinearSection
from fem.supports import Ways, constraints_of
from geometry.meshing import line_mesh
from geometry.pose import Pose
from geometry.section import Round
from geometry.wire_shapes import Bend, PassiveShape, Straight, Twist
from tests.fem_problems import ANY_SECTION, random_pose

HERE = Pose.identity()
GOOD = Model(
    PassiveShape((Straight(10.0),)),
    HERE,
    np.linspace(0.0, 10.0, 11),
    ANY_SECTION,
    LinearSection(np.ones(6)),
    (Support(Clamp(), 4.0, HERE, HERE),),
    np.zeros((11, 6)),
)
WALLS = SlotWalls(0.5, 0.65, np.array([-1.0, 1.0]))


@pytest.mark.parametrize(
    "nodes",
    [
        [0.0],
        [],
        [0.0, 0.0, 10.0],
        [0.0, 5.0, 4.0],
        [0.0, math.nan, 10.0],
        [[0.0, 4.0, 10.0], [0.0, 4.0, 10.0]],
    ],
)
def test_nodes_must_increase(nodes: Any) -> None:
    with pytest.raises(ValueError, match="increasing arc lengths"):
        replace(GOOD, nodes=np.array(nodes), loads=None, supports=())


@pytest.mark.parametrize(
    "loads",
    [np.zeros((10, 6)), np.zeros((11, 3)), np.zeros(66), np.full((11, 6), np.nan), np.full((11, 6), np.inf)],
)
def test_loads_must_fit_the_nodes_and_be_finite(loads: Any) -> None:
    with pytest.raises(ValueError, match=r"loads must be finite and of shape \(11, 6\)"):
        replace(GOOD, loads=loads)


@pytest.mark.parametrize(
    "restraint", [Clamp(), Clamp(slides=True), PointTie(), PointTie(stop=True), replace(WALLS, stop=True)]
)
@pytest.mark.parametrize("arc", [4.5, -1.0, 11.0])
def test_what_holds_a_section_needs_a_node_there(restraint: Any, arc: float) -> None:
    with pytest.raises(ValueError, match=f"no node .* {arc:.6g} mm"):
        replace(GOOD, supports=(Support(restraint, arc, HERE, HERE),))


def test_breaks_of_the_passive_shape_need_nodes() -> None:
    shape = PassiveShape((Straight(4.0), Bend(0.5, "second", 8.0), Straight(2.0)))
    bent = replace(GOOD, shape=shape)
    assert bent.still_nodes().tolist() == [0, 4, 8, 10]
    with pytest.raises(ValueError, match=r"no node .* 8 mm.*break"):
        replace(bent, nodes=np.delete(np.linspace(0.0, 10.0, 11), 8), loads=None)


def test_screws_of_the_passive_elements_are_those_of_its_frames() -> None:
    shape = PassiveShape((Straight(2.0), Bend(0.7, "second", 1.5), Twist(-0.4, 2.0), Bend(0.3, "first", 0.9)))
    nodes = np.unique(np.concatenate((shape.breaks, np.linspace(0.0, shape.length, 9))))
    model = replace(GOOD, shape=shape, nodes=nodes, supports=(), loads=None)
    screws = np.zeros((nodes.size - 1, 6))
    element_screws(*shape.frames(nodes), screws)
    np.testing.assert_allclose(model.passive_screws(), screws, atol=1e-14)


def test_walls_alone_need_no_node() -> None:
    assert replace(GOOD, supports=(Support(WALLS, 4.5, HERE, HERE),)).supports[0].arc == 4.5


@pytest.mark.parametrize("increments", [0, -3])
def test_a_path_has_increments(increments: int) -> None:
    with pytest.raises(ValueError, match="at least one increment"):
        Options(increments=increments)


def test_values_are_frozen() -> None:
    with pytest.raises(FrozenInstanceError):
        GOOD.section = Round(1.0)  # type: ignore[misc]
    for array in (GOOD.nodes, GOOD.loads, WALLS.offsets, GOOD.law.stiffness):
        assert array is not None
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 1.0


def test_support_goes_straight_and_turns_about_one_axis() -> None:
    rng = np.random.default_rng(1)
    support = Support(Clamp(), 4.0, random_pose(rng), random_pose(rng))
    ways = Ways.of([support.start], [support.end])
    for part in (0.25, 0.5, 0.9):
        positions, axes = ways.at(part)
        pose = Pose(positions[0], axes[0])
        expected = (1.0 - part) * support.start.position + part * support.end.position
        np.testing.assert_allclose(pose.position, expected, atol=1e-14)
        np.testing.assert_allclose(pose.axes.T @ pose.axes, np.eye(3), atol=1e-14)
        # the angle of a rotation from its trace: turned so far and so much left add up to the whole
        angles = [
            math.acos(0.5 * (np.trace(a.T @ b) - 1.0))
            for a, b in (
                (support.start.axes, pose.axes),
                (pose.axes, support.end.axes),
                (support.start.axes, support.end.axes),
            )
        ]
        assert angles[0] == pytest.approx(part * angles[2], abs=1e-12)
        assert angles[1] == pytest.approx((1.0 - part) * angles[2], abs=1e-12)
    for part, pose in ((0.0, support.start), (1.0, support.end)):
        positions, axes = ways.at(part)
        np.testing.assert_array_equal(positions, [pose.position])
        np.testing.assert_array_equal(axes, [pose.axes])


def test_restraints_hold_what_they_say() -> None:
    """Kinds 0, 1, 2: along x, y, z of the support; 3, 4, 5: turning about them."""
    expected: dict[Restraint, list[int]] = {
        Clamp(): [0, 1, 2, 3, 4, 5],
        Clamp(slides=True): [1, 2, 3, 4, 5],
        PointTie(): [1, 2],
        PointTie(stop=True): [0, 1, 2],
    }
    for restraint, kinds in expected.items():
        constraints = constraints_of(replace(GOOD, supports=(Support(restraint, 4.0, HERE, HERE),)))
        assert constraints.holds.kind.tolist() == kinds
        assert (constraints.holds.node == 4).all()
        assert constraints.sites.slot.size == 0
    for stop, hold_roll, kinds in (
        (False, False, []),
        (True, False, [0]),
        (False, True, [3]),
        (True, True, [0, 3]),
    ):
        walls = replace(WALLS, stop=stop, hold_roll=hold_roll)
        constraints = constraints_of(replace(GOOD, supports=(Support(walls, 4.0, HERE, HERE),)))
        assert constraints.holds.kind.tolist() == kinds
        assert constraints.sites.slot.size == 8
        assert constraints.site_of.size == constraints.sites.sign.size


@pytest.mark.parametrize("length", [1e-6, 3e-4])
def test_a_node_next_to_a_break_serves_it_too(length: float) -> None:
    """A bend shorter than a sliver has one node, and so have a mark and a break beside it; a model takes that mesh."""
    shape = PassiveShape((Straight(5.0), Bend(length, "second", 1.0), Straight(5.0)))
    for marks in ([2.0], [2.0, 5.0 - 5e-4]):
        nodes = line_mesh(shape, marks)
        model = Model(shape, Pose.identity(), nodes, ANY_SECTION, LinearSection(np.ones(6)), ())
        assert np.diff(nodes).min() > 2e-4
        assert model.still_nodes().size == 3
    with pytest.raises(ValueError, match="has a break"):
        Model(
            shape,
            Pose.identity(),
            np.array([0.0, 4.9, 5.1, 10.0]),
            ANY_SECTION,
            LinearSection(np.ones(6)),
            (),
        )
