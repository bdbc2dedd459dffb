"""Legs whose ends are known only when they begin."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.material import LinearElastic
from fem.model import Clamp
from fem.path import Ahead, Leg, engage
from fem.recovery import Snapshot
from fem.rods import Held, rod
from geometry.pose import Pose
from geometry.section import Round
from geometry.wire_shapes import PassiveShape, Straight

LENGTH, DIAMETER = 100.0, 2.0
STEEL = LinearElastic("steel", 2.0e5, 0.3)
MODEL = rod(
    PassiveShape((Straight(LENGTH),)),
    Round(DIAMETER),
    STEEL,
    [Held(Clamp(), 0.0), Held(Clamp(slides=True), LENGTH)],
)
HOME = tuple(support.start for support in MODEL.supports)


def lifted(poses: tuple[Pose, ...], by: float) -> tuple[Pose, ...]:
    first, last = poses
    return first, Pose(last.position + np.array([0.0, by, 0.0]), last.axes)


def test_the_end_depends_on_what_was_found() -> None:
    """Back by what half of the force is worth: F = 12 EI d/(L^3 (1 + p)), small deflections."""
    bending = 2.0e5 * math.pi * DIAMETER**4 / 64.0
    soft = LENGTH**3 / (12.0 * bending)
    seen: list[tuple[tuple[Pose, ...], Snapshot]] = []

    def ends(stand: tuple[Pose, ...], snapshot: Snapshot) -> tuple[Pose, ...]:
        seen.append((stand, snapshot))
        return lifted(stand, 0.5 * float(snapshot.force[1, 1]) * soft)

    path = engage(
        MODEL, legs=[Leg("up", lifted(HOME, 0.1), 2), Ahead("half", ends, 3), Ahead("half", ends, 1)]
    )
    assert [leg.name for leg in path.legs] == ["up", "half", "half"]
    assert [stand for stand, _ in seen] == [path.legs[0].ends, path.legs[1].ends]
    assert [found for _, found in seen] == [path.end_of(0).snapshot, path.end_of(1).snapshot]
    assert [one.leg for one in path.increments] == [0, 0, 1, 1, 1, 2]
    force = [float(path.end_of(number).snapshot.force[1, 1]) for number in range(3)]
    # shear takes 3e-3 of the stiffness here
    assert force[1] / force[0] == pytest.approx(0.5, abs=2e-3) and force[2] / force[1] == pytest.approx(
        0.5, abs=2e-3
    )
    assert force[0] == pytest.approx(-0.1 / soft, rel=5e-3)


def test_what_makes_no_sense() -> None:
    with pytest.raises(ValueError, match=r'leg "on" has nothing before it'):
        engage(MODEL, legs=[Ahead("on", lambda stand, snapshot: stand)])
    with pytest.raises(ValueError, match=r'leg "on" must have an end for each of the 2 supports .* got 1'):
        engage(MODEL, legs=[Leg("up", HOME, 1), Ahead("on", lambda stand, snapshot: stand[:1])])
    with pytest.raises(ValueError, match=r'leg "on" needs at least one increment'):
        Ahead("on", lambda stand, snapshot: stand, 0)
