"""Wires in slots with play, or with none: when nothing presses, when something does, and how hard in closed form."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from fem.model import Clamp, PointTie
from fem.path import engage
from fem.recovery import Snapshot
from fem.status import Status
from geometry.attachments import Slot
from geometry.clearance import clearance
from geometry.pose import Pose
from geometry.section import Rectangle, Round
from geometry.wire_shapes import Bend, PassiveShape, Straight
from tests.fem_problems import (
    DISTANCE,
    INCH,
    OVERHANG,
    SLOT,
    WIRE,
    Held,
    random_pose,
    slot_walls,
    steel_law,
    straight_between,
    wire_between,
)


def exactly_nothing(snapshot: Snapshot) -> None:
    assert not snapshot.force.any()
    assert not snapshot.moment.any()
    assert not snapshot.roll_moment.any()
    assert snapshot.walls.normal.size == 0


@pytest.mark.parametrize("section", [WIRE, Round(0.018 * INCH), Rectangle(0.022 * INCH, 0.028 * INCH)])
def test_no_activation_gives_exactly_no_force(section: Rectangle | Round) -> None:
    """A bent wire may lie in slots that fit its passive shape: nothing to activate."""
    bend = math.radians(25.0)
    shape = PassiveShape((Straight(6.0), Bend(bend, "first", 2.0), Straight(6.0)))
    home = random_pose(np.random.default_rng(3), distance=10.0)
    first = Held(slot_walls(SLOT, 9, stop=True), 2.0, home)
    model = wire_between(shape, section, steel_law(section), [first, Held(slot_walls(SLOT, 9), 11.0, home)])
    there = model.supports[1].start
    model = replace(model, supports=(model.supports[0], replace(model.supports[1], end=there)))
    path = engage(model)
    assert path.status is Status.PASSIVE
    for increment in path.increments:
        exactly_nothing(increment.snapshot)


def test_a_wire_that_moves_in_its_play_is_passive() -> None:
    """0.15 mm of play in height and depth, 2.9 deg in second order, 18 deg in third: all less than half used."""
    path = engage(straight_between(Pose.from_angles([DISTANCE + 0.2, 0.05, -0.03], 0.01, 0.01, 0.1)))
    assert path.status is Status.PASSIVE
    assert path.status.converged
    exactly_nothing(path.last.snapshot)
    # The brackets have moved against each other: the wire has stayed straight.
    ends = path.last.snapshot.axes[[0, -1], :, 0]
    assert ends[0] @ ends[1] == pytest.approx(1.0, abs=1e-12)


def test_force_begins_where_the_play_ends() -> None:
    """Both wires lie aslant in slots of 0.152 mm play: rigid geometry gives the step that they still allow.

    Aslant by a in a slot of width W the wire's middle can move (H - h - W a)/2 to either side; a wire that is straight
    from slot to slot lies aslant by a = step/distance less what that allows.
    """
    play, width = SLOT.height - WIRE.height, SLOT.width
    # step = distance a + 2 (play - width a)/2 where it touches both mouths at once: a = play/width at most
    allowed = DISTANCE * play / width
    for share, passive in ((0.98, True), (1.02, False)):
        path = engage(straight_between(Pose.from_angles([DISTANCE, share * allowed, 0.0])))
        assert (path.status is Status.PASSIVE) == passive
        assert path.last.snapshot.any_force != passive


@pytest.mark.parametrize("section", [Round(0.018 * INCH), Rectangle(0.018 * INCH, 0.018 * INCH)])
@pytest.mark.parametrize("order", ["first", "second"])
def test_a_wire_that_fills_its_slots(section: Rectangle | Round, order: str) -> None:
    """A step of 0.05 mm over a span of 7 mm: 12 E I d/L^3/(1 + 6 l/L + 12 (l/L)^2), l = sqrt(E I/(k G A)).

    Between rigid walls without play a wire that bends and shears loses its slope over l behind the mouth (differential
    equation of Timoshenko's beam with its deflection held to zero; no published source known).
    """
    slot, step = Slot(0.018 * INCH, 0.018 * INCH, 3.0), 0.05
    other = [DISTANCE, step, 0.0] if order == "second" else [DISTANCE, 0.0, step]
    shape = PassiveShape((Straight(DISTANCE + 2.0 * OVERHANG),))
    law = steel_law(section)
    model = wire_between(
        shape,
        section,
        law,
        [
            Held(slot_walls(slot, stop=True), OVERHANG, Pose.identity()),
            Held(slot_walls(slot), OVERHANG + DISTANCE, Pose.from_angles(other)),
        ],
    )
    snapshot = engage(model).last.snapshot
    span = DISTANCE - slot.width
    layer = math.sqrt(law.stiffness[5] / law.stiffness[1]) / span
    expected = 12.0 * law.stiffness[5] * step / span**3 / (1.0 + 6.0 * layer + 12.0 * layer**2)
    across = 1 if order == "second" else 2
    assert snapshot.force[0, across] == pytest.approx(expected, rel=5e-3)
    np.testing.assert_allclose(snapshot.force[0], -snapshot.force[1], rtol=0.0, atol=1e-7)
    np.testing.assert_allclose(snapshot.moment[0], snapshot.moment[1], rtol=1e-5, atol=1e-9)


def test_a_round_wire_is_free_in_roll() -> None:
    path = engage(
        straight_between(Pose.from_angles([DISTANCE, 0.8, 0.0], 0.0, 0.0, 0.5), Round(0.016 * INCH))
    )
    assert path.status is Status.ENGAGED
    resultants = path.last.snapshot.resultants
    assert np.abs(resultants[..., 3]).max() < 1e-9 * np.abs(resultants[..., 5]).max()


def test_a_roll_hold_carries_what_twists_the_wire() -> None:
    """Clamped and twisted by phi over L against a roll hold: torque G J phi/L, all of it in the holds."""
    shape, section = PassiveShape((Straight(12.0),)), Round(0.016 * INCH)
    law = steel_law(section)
    angle = 0.3
    held = Held(slot_walls(SLOT, 9, hold_roll=True), 10.0, Pose.from_angles([10.0, 0, 0], about_x=angle))
    path = engage(wire_between(shape, section, law, [Held(Clamp(), 0.0, Pose.identity()), held]))
    torque = law.stiffness[3] * angle / 10.0
    snapshot = path.last.snapshot
    np.testing.assert_allclose(snapshot.roll_moment, [torque, -torque], rtol=1e-6)
    np.testing.assert_allclose(snapshot.moment[:, 0], [torque, -torque], rtol=1e-6)


def torque_on_second(angle: float, section: Rectangle, count: int) -> float:
    """Torque on the second of two brackets, turned by ``angle`` (rad) in third order, with ``count`` stations each."""
    shape = PassiveShape((Straight(DISTANCE + 2.0 * OVERHANG),))
    other = Pose.from_angles([DISTANCE, 0, 0], about_x=angle)
    held = [
        Held(slot_walls(SLOT, count, stop=True), OVERHANG, Pose.identity()),
        Held(slot_walls(SLOT, count), OVERHANG + DISTANCE, other),
    ]
    snapshot = engage(wire_between(shape, section, steel_law(section), held)).last.snapshot
    assert snapshot.moment[0, 0] == pytest.approx(-snapshot.moment[1, 0], rel=1e-8)
    return float(snapshot.moment[1, 0])


@pytest.mark.parametrize(
    "sizes", [(WIRE.height, WIRE.depth), (WIRE.height, SLOT.depth), (SLOT.height, WIRE.depth)]
)
def test_a_roll_hold_beside_walls_without_play_changes_nothing(sizes: tuple[float, float]) -> None:
    """The walls hold the roll already: tilted and twisted in all three orders, with the hold and without."""
    slot = Slot(*sizes, 3.0)
    end = Pose.from_angles([DISTANCE, 0.2, -0.1], 0.08, -0.12, 0.2)
    snapshots = []
    for hold in (False, True):
        held = [
            Held(slot_walls(slot, stop=True, hold_roll=hold), OVERHANG, Pose.identity()),
            Held(slot_walls(SLOT), OVERHANG + DISTANCE, end),
        ]
        shape = PassiveShape((Straight(2.0 * OVERHANG + DISTANCE),))
        snapshots.append(engage(wire_between(shape, WIRE, steel_law(WIRE), held)).last.snapshot)
    free, kept = snapshots
    assert np.abs(free.moment[0]).min() > 0.1
    np.testing.assert_array_equal(kept.moment, free.moment)
    assert not kept.roll_moment.any()


def test_torque_through_play() -> None:
    """T = G J/L (angle - play A - play B), L from mouth to mouth: elementary torsion, both plays used up.

    Play of a sharp wire in one slot, h cos g + w sin g = H, is 7.24 deg here: Papageorgiou et al., Prog. Orthod. 17
    (2016) 5, table 6.
    """
    section = Rectangle(0.019 * INCH, 0.025 * INCH)
    play = clearance(section, SLOT).third.angle
    assert play is not None
    assert math.degrees(play) == pytest.approx(7.24, abs=0.01)
    assert torque_on_second(2.0 * play - 0.02, section, 9) == 0.0
    expected = steel_law(section).stiffness[3] * 0.2 / (DISTANCE - SLOT.width)
    torques = [torque_on_second(2.0 * play + 0.2, section, count) for count in (5, 9, 17)]
    np.testing.assert_allclose(torques, -expected, rtol=1e-3)
    # How many stations there are does not matter.
    np.testing.assert_allclose(torques, torques[0], rtol=1e-4)


def one_couple(deflection: float) -> tuple[Snapshot, float, float, float]:
    """A long straight arm from a bracket with play to a button: snapshot, EI, play, arm from the mouth."""
    section = Rectangle(0.017 * INCH, 0.025 * INCH)
    law = steel_law(section)
    arm, half = 20.0, 0.5 * SLOT.width
    shape = PassiveShape((Straight(2.0 * half + arm),))
    tie = Held(PointTie(), 2.0 * half + arm, Pose.from_angles([half + arm, deflection, 0.0]))
    model = wire_between(shape, section, law, [Held(slot_walls(SLOT, stop=True), half, Pose.identity()), tie])
    return engage(model).last.snapshot, law.stiffness[5], SLOT.height - section.height, arm


def test_one_couple_system_while_both_mouths_press() -> None:
    """F = 3 E I (d - c (L + W/2)/W)/(L^2 (L + W)): elementary beam on two supports with an overhang, play c."""
    width = SLOT.width
    deflection = 1.2
    snapshot, bending, play, arm = one_couple(deflection)
    force = 3.0 * bending * (deflection - play * (arm + 0.5 * width) / width) / (arm**2 * (arm + width))
    assert force * arm < 6.0 * bending * play / width**2
    assert snapshot.force[1, 1] == pytest.approx(-force, rel=0.01)
    assert snapshot.force[0, 1] == pytest.approx(force, rel=0.01)
    assert np.abs(snapshot.moment[1]).max() < 1e-6 * np.abs(snapshot.moment[0]).max()
    # moment about the slot's centre: the force on the far tie times its arm
    assert snapshot.moment[0, 2] == pytest.approx(force * (arm + 0.5 * width), rel=0.01)


def test_no_force_before_the_play_of_one_bracket_is_used_up() -> None:
    width, play, arm = SLOT.width, SLOT.height - 0.017 * INCH, 20.0
    snapshot, *_ = one_couple(0.99 * play * (arm + 0.5 * width) / width)
    exactly_nothing(snapshot)


def test_a_stop_with_a_gap_takes_its_share() -> None:
    """Load P at the middle of a cantilever, a wall a gap g below its end: R = (P a^2 (3L - a)/(6 E I) - g) 3 E I/L^3.

    Elementary beam theory.  The wall is one of a slot's; small deflections, the wire so slender that shear is nothing.
    """
    length, gap = 20.0, 0.002
    section = Round(0.1)
    law = steel_law(section)
    shape = PassiveShape((Straight(length + 1.0),))
    slot = Slot(section.height + 2.0 * gap, section.depth + 2.0 * gap, 1e-3)
    clamp = Held(Clamp(), 0.0, Pose.identity())
    stop = Held(slot_walls(slot, 2), length, Pose.from_angles([length, 0, 0]))
    model = wire_between(shape, section, law, [clamp, stop, Held(PointTie(), 10.0, Pose.identity())], 1.0)
    model = replace(model, supports=model.supports[:2])
    bending = law.stiffness[5]
    touching = 48.0 * bending * gap / (5.0 * length**3)
    for share, expected in ((0.9, 0.0), (4.0, 5.0 / 16.0 * 3.0 * touching)):
        loads = np.zeros((model.nodes.size, 6))
        loads[int(np.argmin(np.abs(model.nodes - 10.0))), 1] = -share * touching
        snapshot = engage(replace(model, loads=loads)).last.snapshot
        assert snapshot.force[1, 1] == pytest.approx(-expected, rel=1e-3, abs=0.0)
