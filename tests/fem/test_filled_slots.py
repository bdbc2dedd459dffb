"""Slots that the wire fills in height and in depth."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from cases.formulas import step_in_full_size_slots_force_n
from fem.path import Path, engage
from fem.status import Status
from fem.walls import NARROW
from geometry.attachments import Slot
from geometry.pose import Pose, rotation_about
from geometry.section import Rectangle, Section
from geometry.wire_shapes import PassiveShape, Straight
from tests.fem_problems import DISTANCE, OVERHANG, STEEL, WIRE, Held, slot_walls, steel_law, wire_between

WIDTH = 3.0
SPAN = DISTANCE - WIDTH
"""mm from mouth to mouth."""
ROUNDED = Rectangle(WIRE.height, WIRE.depth, 0.05)
ALONG = np.array([1.0, 0.0, 0.0])


def between_slots(section: Section, slot: Slot, pose: Pose, taper: float = 0.0) -> Path:
    """A straight wire engaged in two slots, the second of which goes to ``pose``; ``taper`` in degrees."""
    first, second = (
        replace(slot_walls(slot, stop=stop), taper=math.radians(taper)) for stop in (True, False)
    )
    held = [Held(first, OVERHANG, Pose.identity()), Held(second, OVERHANG + DISTANCE, pose)]
    shape = PassiveShape((Straight(DISTANCE + 2.0 * OVERHANG),))
    return engage(wire_between(shape, section, steel_law(section), held))


@pytest.mark.parametrize("taper", [0.0, 2.0])
@pytest.mark.parametrize("section", [WIRE, ROUNDED])
def test_a_small_step_in_both_planes(section: Section, taper: float) -> None:
    """Timoshenko's beam whose sections are held without slope, which shears behind the mouths (its closed form stands
    in cases.formulas), in either plane.  A tapered slot that is full both ways has no room to taper into."""
    up, out = 0.02, 0.01
    slot = Slot(section.height, section.depth, WIDTH)
    path = between_slots(section, slot, Pose(np.array([DISTANCE, up, out]), np.eye(3)), taper)
    law = steel_law(section)
    _, shear_y, shear_z, _, bend_y, bend_z = (float(value) for value in law.stiffness)
    modulus = STEEL.youngs_modulus
    wanted = [
        step_in_full_size_slots_force_n(modulus, bend / modulus, SPAN, step, shear)
        for bend, step, shear in ((bend_z, up, shear_y), (bend_y, out, shear_z))
    ]
    assert path.status is Status.ENGAGED
    assert -path.last.snapshot.force[1, 1:] == pytest.approx(wanted, rel=2e-3)


@pytest.mark.parametrize("axis", [[1.0, 0.0, 0.0], [1.0, 1.0, 1.0]])
def test_anyhow_it_is_the_limit_of_ever_less_play(axis: list[float]) -> None:
    """Turned and moved anyhow: what little play takes from a full slot; and beside `NARROW`, where a pair of walls
    becomes walls of their own, what the one and the other say."""
    pose = Pose(np.array([DISTANCE, 0.5, 0.4]), rotation_about(np.array(axis) / np.linalg.norm(axis), 0.3))
    loads = []
    for play, taper in ((0.0, 0.0), (0.0, 2.0), (1e-4, 0.0), (0.98 * NARROW, 0.0), (1.02 * NARROW, 0.0)):
        path = between_slots(WIRE, Slot(WIRE.height + play, WIRE.depth + play, WIDTH), pose, taper)
        last = path.last.snapshot
        assert path.status is Status.ENGAGED
        assert np.abs(last.left_over()).max() < 1e-6
        loads.append(np.concatenate((last.force[1], last.moment[1])))
    full, tapered, next_to_none, paired, single = loads
    largest = np.abs(full).max()
    assert np.abs(tapered - full).max() < 1e-9 * largest
    assert 0.0 < np.abs(next_to_none - full).max() < 0.01 * largest
    assert np.abs(paired - single).max() < 0.01 * largest


@pytest.mark.parametrize(("in_height", "in_depth"), [(5e-4, 0.0), (0.0, 5e-4)])
def test_the_tighter_pair_keeps_the_wire_from_rolling(in_height: float, in_depth: float) -> None:
    """One pair of walls without play, the other with next to none: turned about itself the wire has no play."""
    turned = Pose(np.array([DISTANCE, 0.0, 0.0]), rotation_about(ALONG, 0.05))
    path = between_slots(WIRE, Slot(WIRE.height + in_height, WIRE.depth + in_depth, WIDTH), turned)
    expected = float(steel_law(WIRE).stiffness[3]) * 0.05 / SPAN
    assert path.status is Status.ENGAGED
    assert -path.last.snapshot.moment[1, 0] == pytest.approx(expected, rel=1e-3)
