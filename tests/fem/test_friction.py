"""Friction with history: sticking, sliding, what is lost, the capstan, and the tangent."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from fem.friction_kernel import MICRO_SLIP
from fem.model import Clamp, Edge, Ligature, Model, SlotWalls
from fem.path import Leg, Path, engage
from geometry.attachments import Slot
from geometry.pose import Pose
from geometry.section import Rectangle, Round
from geometry.wire_shapes import PassiveShape, Straight
from tests.fem_problems import Held, steel_law, wire_between

Array = NDArray[np.float64]

SECTION = Rectangle(0.4, 0.55)
SLOT = Slot(0.45, 0.63, 3.0)
PRESSED = 2.0  # N by the ligature, and as much by the floor


def tied_wire(friction: float, force: float = PRESSED) -> Model:
    """A straight wire that lies on the floor of one slot under a ligature, held by a clamp 10 mm away."""
    offsets = SLOT.station_offsets(9)
    stiffness = 4.0
    front = Ligature(SECTION.depth - force / stiffness, stiffness, offsets[[0, -1]], np.array([0.5, 0.5]))
    walls = SlotWalls(SLOT.height, SLOT.depth, offsets, front=front, friction=friction)
    # the floor of the slot lies level with the wire's lower side
    on_floor = np.array([10.0, 0.0, 0.5 * (SLOT.depth - SECTION.depth)])
    held = [Held(Clamp(), 0.0, Pose.identity()), Held(walls, 10.0, Pose(on_floor, np.eye(3)))]
    return wire_between(PassiveShape((Straight(20.0),)), SECTION, steel_law(SECTION), held)


def drawn(model: Model, *places: float, increments: int = 10) -> Path:
    """The clamp at the wire's start moved along it, from place to place (mm), once the wire is tied."""
    clamp, slot = (support.end for support in model.supports)
    # in one step: half way the slot's floor would still lie below the wire, which would be bent down to it
    legs = [Leg("tying", (clamp, slot), 1)]
    legs += [Leg("drawing", (Pose(np.array([x, 0.0, 0.0]), np.eye(3)), slot), increments) for x in places]
    return engage(model, legs=legs)


@pytest.mark.parametrize("friction", [0.1, 0.4])
def test_a_drawn_wire_is_held_back_by_the_coefficient_times_all_normal_forces(friction: float) -> None:
    """Coulomb: F = c N against the motion; here N is the ligature's force and as much from the floor."""
    path = drawn(tied_wire(friction), 0.2, -0.2)
    expected = friction * 2.0 * PRESSED
    for leg, sign in ((1, -1.0), (2, 1.0)):
        force = path.end_of(leg).snapshot.force
        assert force[0, 0] == pytest.approx(sign * expected, rel=1e-6)
        assert force[1, 0] == pytest.approx(-sign * expected, rel=1e-6)


def test_a_cycle_of_sliding_costs_four_times_force_times_amplitude() -> None:
    """Work per cycle 4 c N s for slip to and fro by s: elementary statics; none for a wire that sticks."""
    amplitude, force = 0.3, 0.2 * 2.0 * PRESSED
    model = tied_wire(0.2)
    path = drawn(model, amplitude, -amplitude, amplitude)
    cycle = sum(one.lost for one in path.increments if one.leg in (2, 3))
    # before it slides the contact creeps by MICRO_SLIP, and the wire between clamp and slot's first mouth stretches
    stretch = force * 8.5 / model.law.stiffness[0]
    assert cycle == pytest.approx(4.0 * force * (amplitude - MICRO_SLIP - stretch), rel=1e-4)


def test_a_wire_that_sticks_loses_nothing_and_springs_back() -> None:
    """Drawn by less than the micro-slip and the wire's own stretch: c N s/d, and no work is lost."""
    model = tied_wire(0.3)
    path = drawn(model, 0.5 * MICRO_SLIP, 0.0)
    assert all(one.lost < 1e-9 for one in path.increments)
    there, back = path.end_of(1).snapshot.force[0, 0], path.end_of(2).snapshot.force[0, 0]
    # at either mouth a contact as stiff as c N/MICRO_SLIP, 3 mm of wire between them, 8.5 mm before the first
    contact, stretch = 0.3 * 2.0 * (0.5 * PRESSED) / MICRO_SLIP, model.law.stiffness[0]
    both = contact + 1.0 / (1.0 / contact + 3.0 / stretch)
    assert there == pytest.approx(-0.5 * MICRO_SLIP / (1.0 / both + 8.5 / stretch), rel=1e-3)
    assert back == pytest.approx(0.0, abs=1e-6 * PRESSED)


def test_without_friction_nothing_holds_the_wire_along_the_slot() -> None:
    path = drawn(tied_wire(0.0), 0.2)
    assert np.abs(path.last.snapshot.force[:, 0]).max() < 1e-6 * PRESSED
    assert all(one.lost == 0.0 for one in path.increments)


def test_the_answer_does_not_depend_on_the_increments_while_sliding() -> None:
    few, many = (drawn(tied_wire(0.2), 0.2, increments=n).last.snapshot.force[0, 0] for n in (2, 16))
    assert few == pytest.approx(many, rel=1e-6)


def pulls_round_an_edge(friction: float, wrap: float) -> tuple[float, float]:
    """A thin wire drawn over one fixed roller, bent by ``wrap`` (rad): the pulls before and behind it, N.

    It is clamped at both ends, which are set back and turned down so that the wire leaves them straight, and then both
    are moved along, so that it slides over the roller under a pull."""
    section, arm = Round(0.05), 15.0
    law = steel_law(section)
    radius = 3.0
    length = 2.0 * arm
    half = 0.5 * wrap
    held = [Held(Clamp(), 0.0, Pose.identity())]
    roller = Edge(radius=radius, friction=friction)
    held.append(Held(roller, arm, Pose(np.array([arm, -0.5 * section.diameter, 0.0]), np.eye(3))))
    held.append(Held(Clamp(), length, Pose(np.array([length, 0.0, 0.0]), np.eye(3))))
    model = wire_between(PassiveShape((Straight(length),)), section, law, held, largest=0.2)
    ends = [support.end for support in model.supports]

    def at(side: float, along: float) -> Pose:
        """An end of the wire, turned down by half the wrap about the roller's top, ``along`` (mm) further on."""
        turned = Pose.from_angles(np.zeros(3), about_z=-side * half)
        out = side * turned.axes[:, 0]
        foot = np.array([arm + side * radius * math.sin(half), radius * (math.cos(half) - 1.0), 0.0])
        free = arm - radius * half
        return Pose(foot + free * out + along * turned.axes[:, 0], turned.axes)

    tight = (at(-1.0, -0.006), ends[1], at(1.0, 0.006))
    slid = (at(-1.0, 0.1), ends[1], at(1.0, 0.112))
    path = engage(model, legs=[Leg("bending", tight, 20), Leg("sliding", slid, 20)])
    snapshot = path.last.snapshot
    before, behind = (abs(float(snapshot.force[k] @ slid[k].axes[:, 0])) for k in (0, 2))
    return before, behind


@pytest.mark.parametrize("friction", [0.1, 0.3])
def test_the_pull_on_a_wire_round_a_roller_grows_as_round_a_capstan(friction: float) -> None:
    """Euler and Eytelwein: T2 = T1 exp(c angle), for a wire without bending stiffness.

    One contact carries the whole turn here: (T2 - T1) cos(b) = c N, N = (T1 + T2) sin(b), b half the angle, of which
    the exponential is the limit for small angles: at 0.2 rad they differ by c b^3/3 and less.
    """
    wrap = 0.2
    before, behind = pulls_round_an_edge(friction, wrap)
    half = 0.5 * wrap
    exact = (1.0 + friction * math.tan(half)) / (1.0 - friction * math.tan(half))
    assert behind / before == pytest.approx(exact, rel=2e-3)
    assert behind / before == pytest.approx(math.exp(friction * wrap), rel=3e-3)
