"""10 to 320 elements, bends to 180 deg, slenderness 5 to 2000, one increment to fifty: an answer, and the same one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.model import Clamp, Model
from fem.path import Leg, Options, engage
from fem.section_law import LinearSection
from geometry.pose import Pose
from geometry.wire_shapes import Bend, Curved, PassiveShape, Straight
from tests.fem_problems import (
    ANY_SECTION,
    Held,
    cantilever,
    slender_stiffness,
    straight_between,
    wire_between,
)

ELEMENTS = (10, 80, 320)
SLENDERNESS = (5.0, 100.0, 2000.0)
TORSION = 0.8


@pytest.mark.parametrize("slenderness", SLENDERNESS)
@pytest.mark.parametrize("elements", ELEMENTS)
@pytest.mark.parametrize("degrees", [0.0, 90.0, 180.0])
def test_bent_wire_under_a_force_in_space(degrees: float, elements: int, slenderness: float) -> None:
    """P L^2/EI = 5, aslant to the plane of the bend, in 1, 10 and 50 increments: stable, none of them cut."""
    bend = math.radians(degrees)
    shape = PassiveShape((Bend(bend, "second", 1.0 / bend) if bend else Straight(1.0),))
    stiffness = slender_stiffness(slenderness, torsion=TORSION)
    found = []
    for increments in (1, 10, 50):
        path = engage(
            cantilever(stiffness, elements, [0.0, 3.0, 4.0, 0.0, 0.0, 0.0], shape), Options(increments)
        )
        assert len(path.increments) == increments
        assert path.last.outcome.wrong_pivots == 0
        found.append(path.problem.state.positions)
    # The balance is met to 1e-8 or to its rounding floor, whichever is more; beyond that increments do not matter.
    floor = path.last.outcome.floor
    for positions in found[:-1]:
        np.testing.assert_allclose(positions, found[-1], rtol=0.0, atol=max(1e-8, floor))


def half_round(angle: float) -> Pose:
    """The end of a wire of length 1 bent to an arc of ``angle`` (rad)."""
    return Pose.from_angles([math.sin(angle) / angle, (1.0 - math.cos(angle)) / angle, 0.0], about_z=angle)


def rolled(elements: int, slenderness: float, ends: list[Pose]) -> Model:
    """Between two clamps."""
    held = [Held(Clamp(), 0.0, Pose.identity()), Held(Clamp(), 1.0, ends[-1])]
    law = LinearSection(slender_stiffness(slenderness, torsion=TORSION))
    return wire_between(PassiveShape((Straight(1.0),)), ANY_SECTION, law, held, 1.0 / elements)


@pytest.mark.parametrize("slenderness", SLENDERNESS)
@pytest.mark.parametrize("elements", ELEMENTS)
def test_straight_wire_bent_by_180_deg_between_clamps(elements: int, slenderness: float) -> None:
    """To a half circle, exactly, in one leg to fifty increments; moment pi EI/L.

    On the straight way of a leg the chord is too short for the turn, so that the wire bends aside; none of these
    increments lets it down."""
    for legs, increments in ((1, 1), (1, 50), (2, 1), (2, 5), (12, 1), (12, 4)):
        ends = [half_round(math.pi * (k + 1) / legs) for k in range(legs)]
        parts = [Leg("bending", (Pose.identity(), end), increments) for end in ends]
        path = engage(rolled(elements, slenderness, ends), legs=parts)
        assert not any(one.let_down for one in path.increments)
        assert path.last.outcome.wrong_pivots == 0
        angle = math.pi * path.problem.model.nodes
        circle = np.column_stack((np.sin(angle), 1.0 - np.cos(angle), 0.0 * angle)) / math.pi
        np.testing.assert_allclose(path.problem.state.positions, circle, rtol=0.0, atol=1e-8)
        moment = path.last.snapshot.moment[:, 2]
        np.testing.assert_allclose(moment, [math.pi, -math.pi], rtol=1e-6)


@pytest.mark.parametrize("slenderness", SLENDERNESS)
@pytest.mark.parametrize("elements", [10, 40])
@pytest.mark.parametrize("bend", [0.5, 1.5, 2.5])
@pytest.mark.parametrize("twist", [0.5, 1.5, 2.5])
def test_straight_wire_wound_between_clamps(
    twist: float, bend: float, elements: int, slenderness: float
) -> None:
    """To a helix of these turns in all (rad) on a straight way, which pushes a slender wire together: stable
    and the same in one increment, in five and in ten, with no whole or half turn more."""
    ends = PassiveShape((Curved((twist, 0.3, bend), 1.0),)).frames(np.array([1.0]))
    end = Pose(ends[0][0], ends[1][0])
    held = [Held(Clamp(), 0.0, Pose.identity()), Held(Clamp(), 1.0, end)]
    law = LinearSection(slender_stiffness(slenderness, torsion=TORSION))
    found = []
    for increments in (1, 5, 10):
        model = wire_between(PassiveShape((Straight(1.0),)), ANY_SECTION, law, held, 1.0 / elements)
        path = engage(model, Options(increments))
        assert path.last.outcome.wrong_pivots == 0
        np.testing.assert_allclose(path.problem.state.axes[-1], end.axes, rtol=0.0, atol=1e-9)
        found.append(path.problem.state.positions)
    for positions in found[:-1]:
        np.testing.assert_allclose(positions, found[-1], rtol=0.0, atol=max(1e-8, path.last.outcome.floor))
    turns = path.problem.work.screws[:, 3].sum()
    if twist + bend < 5.0:  # more than half a turn in all comes round the other way
        assert turns == pytest.approx(twist, abs=0.01 if slenderness > 50.0 else 0.2)


def test_as_few_increments_as_the_rod_allows() -> None:
    """One where nothing touches and Newton's method settles, cut where it does not; ten where walls do."""
    stiffness = slender_stiffness(100.0, torsion=TORSION)
    light = engage(cantilever(stiffness, 20, [0.0, 3.0, 4.0, 0.0, 0.0, 0.0]))
    assert [one.activation for one in light.increments] == [1.0]
    twisted = engage(cantilever(stiffness, 20, [0.0, 3.0, 4.0, 3.0, 0.0, 4.0]))
    assert 1 < len(twisted.increments) < 10 and twisted.last.activation == 1.0
    walls = engage(straight_between(Pose(np.array([10.0, 0.3, 0.0]), np.eye(3))))
    assert len(walls.increments) == 10
