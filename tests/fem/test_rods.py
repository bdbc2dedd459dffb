"""Models of rods made in one call: nodes where they must be, supports where the rod is, loads where they are put."""

from __future__ import annotations

import math

import numpy as np
import pytest

import fem
from fem.material import LinearElastic
from fem.model import Clamp, Edge, Model, PointTie, SlotWalls
from fem.path import engage
from fem.rods import ELEMENTS, Held, Load, node_at, rod
from fem.section_law import LinearSection
from fem.torsion import torsion_constant
from geometry.pose import Pose
from geometry.section import Rectangle, Round
from geometry.wire_shapes import Bend, PassiveShape, Straight

STEEL = LinearElastic("steel", 2.0e5, 0.3)
BENT = PassiveShape((Straight(30.0), Bend(1.0, "second", 10.0), Straight(20.0)))


def test_a_cantilever_is_the_one_that_is_made_by_hand() -> None:
    """The same numbers as a `Model` written out in full."""
    section, length = Round(2.0), 100.0
    made = rod(
        PassiveShape((Straight(length),)), section, STEEL, [Held(Clamp(), 0.0)], [Load(length, (0, -0.5, 0))]
    )
    nodes = np.linspace(0.0, length, ELEMENTS + 1)
    loads = np.zeros((nodes.size, 6))
    loads[-1, 1] = -0.5
    law = LinearSection.of(section, STEEL, torsion_constant(section))
    np.testing.assert_allclose(made.nodes, nodes, atol=1e-12)
    np.testing.assert_array_equal(made.loads, loads)
    np.testing.assert_array_equal(made.law.stiffness, law.stiffness)
    by_hand = Model(made.shape, Pose.identity(), nodes, section, law, made.supports, loads)
    tips = [engage(model).last.snapshot.positions[-1] for model in (made, by_hand)]
    np.testing.assert_allclose(tips[0], tips[1], atol=1e-9)
    # P L^3/3EI (Gere & Timoshenko, Mechanics of Materials, table of deflections; from memory); P L^2/EI is 0.03
    small = 0.5 * length**3 / (3.0 * float(law.stiffness[5]))
    assert -tips[0][1] == pytest.approx(small, rel=1e-3)


def test_nodes_lie_at_breaks_supports_stations_and_loads() -> None:
    walls = SlotWalls(2.1, 2.1, np.array([-1.0, 0.5, 1.5]))
    held = [Held(Clamp(), 0.0), Held(PointTie(), 13.3), Held(walls, BENT.length - 1.0)]
    model = rod(BENT, Round(2.0), STEEL, held, [Load(7.7), Load(44.4)])
    on_rod = [BENT.length - 2.0, BENT.length - 0.5]  # the third station lies beyond the end
    for arc in (0.0, 7.7, 13.3, 30.0, 40.0, 44.4, *on_rod, BENT.length):
        assert model.nodes[node_at(model.nodes, arc)] == pytest.approx(arc, abs=1e-9)
    assert np.diff(model.nodes).max() <= BENT.length / ELEMENTS * (1.0 + 1e-9)


def test_supports_start_where_the_rod_is_and_edges_at_its_surface() -> None:
    placed = Pose.from_angles((1.0, 2.0, 3.0), 0.3, -0.2, 0.5)
    end = Pose.from_angles((0.0, 9.0, 0.0), about_z=0.1)
    section = Rectangle(1.0, 3.0)
    held = [
        Held(Clamp(), 5.0),
        Held(PointTie(), 35.0, end),
        Held(Edge(), 50.0),
        Held(Edge(below=False), 50.0),
    ]
    model = rod(BENT, section, STEEL, held, placed=placed)
    positions, axes = BENT.frames([5.0, 35.0, 50.0, 50.0])
    for k, aside in enumerate((0.0, 0.0, -0.5, 0.5)):
        start = model.supports[k].start
        place = placed.to_world(positions[k] + aside * axes[k][:, 1])
        np.testing.assert_allclose(start.position, place, atol=1e-12)
        np.testing.assert_allclose(start.axes, placed.axes @ axes[k], atol=1e-12)
        if k != 1:
            assert model.supports[k].end is start
    assert model.supports[1].end is end


def test_a_support_may_start_beside_the_rod() -> None:
    """A stop above a cantilever that the rod reaches, and one that it does not."""
    shape, section = PassiveShape((Straight(40.0),)), Round(1.0)
    bending = STEEL.youngs_modulus * section.second_moment_z
    free = 1.0 * 39.0**2 * (3.0 * 40.0 - 39.0) / (6.0 * bending)  # at 39 mm, under 1 N at 40 mm
    for gap, touches in ((0.8 * free, True), (1.2 * free, False)):
        stop = Pose(np.array([39.0, 0.5 + gap, 0.0]), np.eye(3))
        held = [Held(Clamp(), 0.0), Held(Edge(below=False), 39.0, start=stop)]
        snapshot = engage(rod(shape, section, STEEL, held, [Load(40.0, (0.0, 1.0, 0.0))])).last.snapshot
        assert bool(snapshot.force[1, 1] > 0.0) == touches


def test_loads_at_one_place_add_up() -> None:
    loads = [Load(40.0, (1, 2, 3)), Load(40.0, (0, 1, 0), (4, 5, 6)), Load(0.0)]
    model = rod(BENT, Round(2.0), STEEL, [Held(Clamp(), 0.0)], loads)
    assert model.loads is not None
    np.testing.assert_array_equal(model.loads[node_at(model.nodes, 40.0)], [1, 3, 3, 4, 5, 6])
    assert np.count_nonzero(model.loads) == 6
    assert rod(BENT, Round(2.0), STEEL, [Held(Clamp(), 0.0)]).loads is None


def test_a_moment_at_the_end_bends_to_a_circle_and_the_support_bears_it() -> None:
    """x = sin(m)/m, y = (1 - cos m)/m of the length for M = m EI/L: exact."""
    length, turn, section = 200.0, 2.0, Round(2.0)
    moment = turn * STEEL.youngs_modulus * section.second_moment_z / length
    shape = PassiveShape((Straight(length),))
    snapshot = engage(
        rod(shape, section, STEEL, [Held(Clamp(), 0.0)], [Load(length, moment=(0.0, 0.0, moment))], 8)
    ).last.snapshot
    expected = length / turn * np.array([math.sin(turn), 1.0 - math.cos(turn), 0.0])
    np.testing.assert_allclose(snapshot.positions[-1], expected, atol=1e-6)
    np.testing.assert_allclose(snapshot.moment[0], [0.0, 0.0, moment], rtol=1e-6, atol=1e-6 * moment)


def test_the_package_says_how_to_start_and_that_works() -> None:
    said = fem.__doc__ or ""
    code = [line.split("#")[0] for line in said.splitlines() if line.startswith("    ")]
    assert len(said.splitlines()) <= 20
    *statements, shown = "\n".join(line[4:] for line in code).strip().split("\n")
    names = {
        "LinearElastic": LinearElastic, "PassiveShape": PassiveShape, "Straight": Straight, "Round": Round,
        "Held": Held, "Clamp": Clamp, "Load": Load, "rod": rod, "engage": engage,
    }  # fmt: skip
    exec("\n".join(statements), names)
    status, tip, force = eval(shown, names)
    assert status.converged
    np.testing.assert_allclose(force, [0.0, -0.5, 0.0], atol=1e-6)
    # P L^2/EI = 3.183: between 3 and 4 in Mattiasson, Int. J. Numer. Meth. Engng 17 (1981) 145, table 1
    assert 0.60325 < -tip[1] / 1000.0 < 0.66996
