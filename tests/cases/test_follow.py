"""Teeth that follow their own loads, step by step: against springs in series, statics, and what rigid bodies keep.

All appliances are invented.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from cases.casefile import parse_case
from cases.errors import CaseFileError
from cases.follow import CAUTION, carried_on
from cases.results import RunResult
from cases.run import run_case
from cases.schema import Case, StageSpec
from cases.system_results import FollowStep, SystemResult
from geometry.pose import Pose
from tests.case_texts import (
    POISSON,
    SHEAR_MODULUS,
    YOUNGS_MODULUS,
    attachment,
    case_of,
    round_wire,
    straight,
)

DIAMETER, ARM = 0.7, 12.0
BENDING = YOUNGS_MODULUS * math.pi * DIAMETER**4 / 64.0
# kGA with k of a round section after Cowper, J. Appl. Mech. 33 (1966) 335.
SHEAR = 6.0 * (1.0 + POISSON) / (7.0 + 6.0 * POISSON) * SHEAR_MODULUS * math.pi * DIAMETER**2 / 4.0
TYPICAL = 'along = ["200 N/mm", "200 N/mm", "200 N/mm"], about = ["16 Nmm/deg", "8 Nmm/deg", "16 Nmm/deg"]'


def following(case: Case, follow: str, steps: int, *more: str) -> RunResult:
    """A case with a stage in which its teeth follow, and ``more`` lines after."""
    lines = ["", "[[stage]]", 'name = "teeth follow"', f'follow = "{follow}"', f"steps = {steps}", *more]
    return run_case(parse_case(case.source_text + "\n".join(lines), case.path))


def told(result: RunResult) -> SystemResult:
    assert result.system is not None
    return result.system


def forces(steps: tuple[FollowStep, ...], k: int) -> np.ndarray:
    return np.array([np.linalg.norm(one.attachments[k].force_n) for one in steps])


@pytest.mark.parametrize(
    ("share", "spring"), [("100 %", 5.0), ("30 %", 5.0), ("50 %", 0.5), ("100 %", 100.0)]
)
def test_one_tooth_on_a_spring_and_a_linear_wire(share: str, spring: float) -> None:
    """F_n = F_0 (1 - f w/(k + w))^n.

    The tooth's place c, the wire's free place a, the tooth itself at x: F = w (a - x) = k (x - c), so that
    F = k w/(k + w) (a - c).  A step moves c by f (x - c) = f F/k, hence F by -f w/(k + w) F.  Slopes are a thousandth:
    linear within 1e-6, and w = 1/(L^3/(3EI) + L/(kGA)).
    """
    tooth = (
        f'\nsupport = {{ along = ["rigid", "{spring} N/mm", "rigid"], about = ["rigid", "rigid", "rigid"] }}'
    )
    case = case_of(
        round_wire(DIAMETER),
        [straight(ARM)],
        "clamp",
        attachment("clamp", "clamp", "start", 0.0, stop=True),
        attachment("hook", "button", "end", ARM, 0.01, centre_of_resistance=(0.0, 0.0, 0.0)) + tooth,
    )
    steps = told(following(case, share, 6)).following
    wire = 1.0 / (ARM**3 / (3.0 * BENDING) + ARM / SHEAR)
    first = spring * wire / (spring + wire) * 0.01
    left = 1.0 - float(share.removesuffix(" %")) / 100.0 * wire / (spring + wire)
    np.testing.assert_allclose(forces(steps, 1), first * left ** np.arange(7), rtol=2e-5)
    # the tooth itself: x = a - F/w
    came = [one.attachments[1].moved_mm for one in steps]
    np.testing.assert_allclose(came, (first - forces(steps, 1)) / wire, atol=1e-8)
    assert steps[0].attachments[0].moved_mm == 0.0 == came[0]


def two_brackets(first: float, second: float) -> Case:
    """Two teeth with typical supports under their slots, so that all stays in the facial view."""
    slot = (0.4572, 0.635, 3.0)
    tooth = f"\nsupport = {{ {TYPICAL} }}"
    place = (0.0, -9.0, 0.0)
    return case_of(
        round_wire(0.4064),
        [straight(16.0)],
        "A",
        attachment("A", "bracket", 3.0, 0.0, slot=slot, stop=True, centre_of_resistance=place, about_z=first)
        + tooth,
        attachment("B", "bracket", 13.0, 10.0, slot=slot, centre_of_resistance=place, about_z=second) + tooth,
    )


@pytest.mark.parametrize(("first", "name"), [(6.0, "I"), (3.0, "II")])
def test_forces_of_two_brackets_fall_steadily(first: float, name: str) -> None:
    """A wire that gets nearer to its rest gives less: the energy of wire and springs can only fall, and with it here
    the force and both moments, in classes I and II, where all of them have one sign."""
    result = following(two_brackets(first, 6.0), "100 %", 5)
    system = told(result)
    assert [one.step for one in system.following] == list(range(6))
    for k in range(2):
        force = forces(system.following, k)
        assert force[0] > 1.0 and (np.diff(force) < 0.0).all() and force[-1] < 0.3 * force[0]
        moments = np.array([one.attachments[k].moment_nmm[2] for one in system.following])
        assert (np.abs(moments[1:]) < np.abs(moments[:-1])).all()
        moved = [one.attachments[k].moved_mm for one in system.following]
        assert moved == sorted(moved) and moved[-1] > 0.05
    assert system.geometries[0].nearest_class == name
    # what the last step says is what the result says
    last = system.following[-1].attachments
    for item, one in zip(result.attachments, last, strict=True):
        assert (item.name, item.force_n, item.moment_nmm) == (one.name, one.force_n, one.moment_nmm)
    stages = [one.stage for one in result.increments]
    assert [f"teeth follow, step {number}" in stages for number in (0, 1, 5, 6)] == [False, True, True, False]


def test_a_geometry_changes_its_class() -> None:
    """Step by step against linear statics: class II between built-in ends on springs is III with the load on, and goes
    over to VI, for here forces fall faster than couples.

    With x = (y1, t1, y2, t2) of the teeth, c where they are sent, K of the wire (Timoshenko's beam) and C of the
    supports, the load on the teeth is p = -K x and x = c + C p, so that x = (1 + C K)^-1 c.  A step adds f C p to c.
    """
    span, share = 10.0, 0.6
    tooth = (
        '\nsupport = { along = ["rigid", "40 N/mm", "rigid"], about = ["rigid", "rigid", "2000 Nmm/rad"] }'
    )
    here = (0.0, 0.0, 0.0)
    case = case_of(
        round_wire(DIAMETER),
        [straight(span)],
        "A",
        attachment("A", "clamp", "start", 0.0, stop=True, centre_of_resistance=here, about_z=0.1) + tooth,
        attachment("B", "clamp", "end", span, centre_of_resistance=here, about_z=0.2) + tooth,
    )
    system = told(following(case, f"{100.0 * share} %", 8))
    flexible = 12.0 * BENDING / (SHEAR * span**2)
    unit = BENDING / (span**3 * (1.0 + flexible))
    near, far = (4.0 + flexible) * span**2, (2.0 - flexible) * span**2
    wire = unit * np.array(
        [
            [12.0, 6.0 * span, -12.0, 6.0 * span],
            [6.0 * span, near, -6.0 * span, far],
            [-12.0, -6.0 * span, 12.0, -6.0 * span],
            [6.0 * span, far, -6.0 * span, near],
        ]
    )
    gives = np.diag([1.0 / 40.0, 1.0 / 2000.0, 1.0 / 40.0, 1.0 / 2000.0])
    sent = np.array([0.0, math.radians(0.1), 0.0, math.radians(0.2)])
    for step, (one, found) in enumerate(zip(system.following, system.geometries, strict=True)):
        teeth = np.linalg.solve(np.eye(4) + gives @ wire, sent)
        loads = -wire @ teeth
        computed = [value for item in one.attachments for value in (item.force_n[1], item.moment_nmm[2])]
        # slopes of 3e-3: what is left out is their square
        np.testing.assert_allclose(computed, loads, atol=2e-5 * float(np.abs(loads).max()), err_msg=str(step))
        chord = (teeth[2] - teeth[0]) / span
        angles = np.degrees([chord - teeth[1], chord - teeth[3]])
        assert [item.activation_deg for item in found.brackets] == pytest.approx(angles, abs=1e-6)
        assert found.moment_ratio_at_mouths == pytest.approx(loads[1] / loads[3], abs=1e-4)
        sent = sent + share * gives @ loads
    classes = [one.nearest_class for one in system.geometries]
    assert classes[0] == "III" and classes[-1] == "VI" and sorted(classes) == classes
    text = " ".join(system.words)
    assert f"Nearest class in second order after each step, with the ratio of angles: {classes[1]} (" in text
    assert CAUTION in system.words and "not a prediction of treatment" in CAUTION


def test_a_segment_stays_rigid() -> None:
    """The poses of its members, seen from one another, step after step."""
    slot = (0.4572, 0.635, 3.0)
    body = f'\nsegment = "front"\nsupport = {{ {TYPICAL} }}'
    place = (0.0, -9.0, -3.0)
    case = case_of(
        round_wire(0.4064),
        [straight(26.0)],
        "A",
        attachment("A", "bracket", 3.0, 0.0, slot=slot, stop=True),
        attachment("B", "bracket", 13.0, 10.0, 0.4, 0.2, slot=slot, centre_of_resistance=place, about_z=3.0)
        + body,
        attachment("C", "bracket", 23.0, 20.0, -0.3, slot=slot, centre_of_resistance=place, about_y=2.0)
        + body,
    )
    steps = told(following(case, "80 %", 3)).following
    between = [one.attachments[1].pose.inverse().compose(one.attachments[2].pose) for one in steps]
    for pose in between[1:]:
        np.testing.assert_allclose(pose.position, between[0].position, atol=1e-9)
        np.testing.assert_allclose(pose.axes, between[0].axes, atol=1e-10)
    assert steps[-1].attachments[1].moved_mm > 0.01 and steps[-1].attachments[0].moved_mm == 0.0


def test_a_share_of_a_screw() -> None:
    """Half of a screw, twice, is all of it; and a rigid body's frames go the same way."""
    sent = Pose.from_angles([1.0, 2.0, 3.0], 0.1, -0.2, 0.3)
    way = Pose.from_angles([0.2, -0.1, 0.3], 0.2, 0.1, -0.3)
    here = sent.compose(way)
    half = carried_on(sent, here, 0.5)
    twice = carried_on(half, half.compose(sent.inverse()).compose(half), 1.0)
    np.testing.assert_allclose(twice.position, here.position, atol=1e-12)
    np.testing.assert_allclose(twice.axes, here.axes, atol=1e-12)
    beside = Pose.from_angles([5.0, -4.0, 1.0], 1.0, 0.5, -0.4)
    other = carried_on(sent.compose(beside), here.compose(beside), 0.5)
    np.testing.assert_allclose(other.position, half.compose(beside).position, atol=1e-12)
    np.testing.assert_allclose(other.axes, half.compose(beside).axes, atol=1e-12)


def test_a_tooth_may_be_moved_afterwards() -> None:
    """From where it has gone to: without a load left on the way the last motion shows itself."""
    case = two_brackets(6.0, 6.0)
    more = ("[[stage]]", 'name = "on"', 'move = "B"', 'by = ["0 mm", "0.2 mm", "0 mm"]', "increments = 3")
    plain, moved = following(case, "50 %", 2), following(case, "50 %", 2, *more)
    for one, other in zip(plain.increments, moved.increments, strict=False):
        assert one == other
    assert moved.increments[-1].stage == "on" and moved.deactivations[0].stage == "on"
    # the tooth gives way meanwhile, so its slot goes less far than it is sent
    rise = moved.attachment("B").pose.position[1] - plain.attachment("B").pose.position[1]
    assert 0.0 < rise < 0.2


def test_how_it_is_read() -> None:
    text = two_brackets(1.0, 1.0).source_text + '\n[[stage]]\nfollow = "50 %"\n'
    (stage,) = parse_case(text, Path("case.toml")).stages
    assert stage == StageSpec("stage 1: teeth follow", 2, follow=0.5, steps=5)


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ('[[stage]]\nback = "50 %"', "on the ways of the activation, but teeth have followed"),
        (
            '[[stage]]\nname = "stage 1: teeth follow, step 2"\nmove = "A"\nby = ["1 mm", "0 mm", "0 mm"]',
            "is called as a step of",
        ),
        ('[bench]\nmove = "B"\nturn = { about_x = "5 deg" }', "no tooth follows its load"),
    ],
)
def test_what_cannot_come_after(more: str, message: str) -> None:
    text = two_brackets(1.0, 1.0).source_text + f'\n[[stage]]\nfollow = "50 %"\n{more}\n'
    with pytest.raises(CaseFileError, match=message):
        parse_case(text, Path("case.toml"))


def test_the_estimate_follows_too() -> None:
    """The second solve carries its teeth on by its own loads: both meshes agree to the error of a mesh of one wire."""
    lines = ["", "[[stage]]", 'follow = "50 %"', "steps = 2"]
    case = parse_case(two_brackets(6.0, 6.0).source_text + "\n".join(lines), Path("case.toml"))
    accuracy = run_case(case, estimate=True).accuracy
    assert accuracy is not None and accuracy.percent is not None
    assert accuracy.percent < 1.0
