"""What must hold for any case: statics, rigid motions, mirror images, what cannot carry a couple."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache, partial

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from cases.casefile import LIBRARY, load_case
from cases.results import RunResult
from cases.run import run_case
from cases.schema import Case
from cases.teeth import centre_of
from geometry.pose import Pose
from geometry.wire_shapes import Bend, PassiveShape, Piece, Straight, Twist
from tests.case_texts import (
    INCH,
    attachment,
    bend,
    case_of,
    edgewise,
    round_wire,
    straight,
)

Array = NDArray[np.float64]
SLOT = (0.022 * INCH, 0.028 * INCH, 3.0)


def in_all_orders(section: str) -> Case:
    """Three brackets and a hook, out of line in all orders, on a wire bent in two: everything engages at once."""
    return case_of(
        section,
        [
            straight(8.0),
            bend(6.0, "second"),
            straight(10.0),
            bend(-8.0, "first", radius=2.0),
            straight(16.0),
        ],
        "A",
        attachment(
            "A", "bracket", 3.0, 0.0, slot=SLOT, stop=True, about_y=2.0, centre_of_resistance=(0.0, 8.0, -4.0)
        ),
        attachment("B", "bracket", 12.0, 9.0, 0.4, -0.2, slot=SLOT, about_z=-4.0, about_x=15.0),
        attachment(
            "C",
            "bracket",
            22.0,
            19.0,
            1.0,
            0.8,
            slot=SLOT,
            about_y=8.0,
            about_x=-10.0,
            centre_of_resistance=(0.5, -9.0, -3.0),
        ),
        attachment("D", "button", 32.0, 28.5, 4.0, 2.0, centre_of_resistance=(0.0, 6.0, -5.0)),
        increments=10,
    )


def shipped(name: str) -> Case:
    return load_case(LIBRARY / f"{name}.toml")


CASES: dict[str, Callable[[], Case]] = {
    "v-bend": partial(shipped, "v-bend"),
    "torque": partial(shipped, "torque-through-play"),
    "uprighting": partial(shipped, "molar-uprighting"),
    "rectangular in all orders": partial(in_all_orders, edgewise(0.019 * INCH, 0.025 * INCH, 0.05)),
    "round in all orders": partial(in_all_orders, round_wire(0.018 * INCH)),
}


@cache
def solved(name: str) -> RunResult:
    return run_case(CASES[name]())


def with_poses(case: Case, change: Callable[[Pose], Pose], shape: PassiveShape) -> Case:
    """The case with every attachment's pose changed, and another passive shape."""
    specs = tuple(
        replace(spec, attachment=replace(spec.attachment, pose=change(spec.attachment.pose)))
        for spec in case.attachments
    )
    return replace(case, attachments=specs, wire=replace(case.wire, passive_shape=shape))


def moved(case: Case, motion: Pose) -> Case:
    """The whole appliance turned and moved in space; the passive wire goes along with its seat."""
    return with_poses(case, motion.compose, case.wire.passive_shape)


ARM = 1.0  # mm


def largest(result: RunResult) -> tuple[float, float]:
    """Largest force (N) on any attachment or on its walls, which carry a couple on arms below 1 mm across the wire, and
    largest moment (N mm) component on any attachment."""
    force = max(float(np.abs(item.force_n).max()) for item in result.attachments)
    moment = max(float(np.abs(item.moment_nmm).max()) for item in result.attachments)
    twist = max(abs(float(item.moment_nmm[0])) for item in result.attachments)
    return max(force, twist / ARM), moment


def assert_same(here: RunResult, there: RunResult, of_force: Array, of_moment: Array, rel: float) -> None:
    """``of_force``, ``of_moment`` (3, 3) take vectors of ``there`` back; compared with the largest of ``here``, or with
    the floor below which a balance is rounding."""
    force, moment = largest(here)
    floor = here.equilibrium.floor_n
    assert moment > 0.0
    for a, b in zip(here.attachments, there.attachments, strict=True):
        assert a.name == b.name
        np.testing.assert_allclose(of_force @ b.force_n, a.force_n, rtol=0.0, atol=max(rel * force, floor))
        slack = max(rel * moment, floor * ARM)
        np.testing.assert_allclose(of_moment @ b.moment_nmm, a.moment_nmm, rtol=0.0, atol=slack)


@pytest.mark.parametrize("seed", [0, 1])
@pytest.mark.parametrize("name", CASES)
def test_elsewhere_in_space(name: str, seed: int) -> None:
    """Turned and moved at random within 10 mm a coordinate: the same force systems to 1e-9, and the same orders."""
    draw = np.random.default_rng(seed)
    motion = Pose(draw.uniform(-10.0, 10.0, 3), Rotation.random(random_state=draw.integers(1000)).as_matrix())
    here, there = solved(name), run_case(moved(CASES[name](), motion))
    assert here.status == there.status
    assert_same(here, there, motion.axes.T, motion.axes.T, 1e-9)
    _, moment = largest(here)
    for a, b in zip(here.attachments, there.attachments, strict=True):
        for order in a.orders:
            one, other = a.orders[order], b.orders[order]
            assert other.moment_nmm == pytest.approx(one.moment_nmm, abs=1e-9 * moment)
            assert other.engagement_deg == pytest.approx(one.engagement_deg, abs=1e-7)
            assert other.carries_couple == one.carries_couple


def mirrored(case: Case, axis: int) -> Case:
    """The appliance seen in a mirror across y (axis 1) or z (axis 2).

    A frame stays right-handed when all its axes and the like one of its own are reflected: M A M.  A bend's
    curvature is a turn, so it changes its sign unless it is about the reflected axis.
    """
    mirror = np.eye(3)
    mirror[axis, axis] = -1.0
    kept = {1: "first", 2: "second"}[axis]

    def piece(one: Piece) -> Piece:
        if isinstance(one, Twist):
            return replace(one, angle=-one.angle)
        if isinstance(one, Bend) and one.order != kept:
            return replace(one, angle=-one.angle)
        return one

    shape = PassiveShape(tuple(piece(one) for one in case.wire.passive_shape.pieces))
    return with_poses(case, lambda pose: Pose(mirror @ pose.position, mirror @ pose.axes @ mirror), shape)


@pytest.mark.parametrize("axis", [1, 2])
@pytest.mark.parametrize("name", CASES)
def test_mirror_image(name: str, axis: int) -> None:
    """Forces are mirrored; moments, being turns, are mirrored and reversed."""
    mirror = np.eye(3)
    mirror[axis, axis] = -1.0
    there = run_case(mirrored(CASES[name](), axis))
    assert_same(solved(name), there, mirror, -mirror, 1e-9)


@pytest.mark.parametrize("name", CASES)
def test_equilibrium(name: str) -> None:
    """Nothing acts but the attachments, so their forces and moments add up to nought, below the floor that is reported.

    The floor is a force; its moment has the whole wire for an arm.
    """
    result = solved(name)
    force, moment, size = np.zeros(3), np.zeros(3), 0.0
    for item in result.attachments:
        force += item.force_n
        moment += np.array(item.moment_nmm) + np.cross(item.moment_about_mm, item.force_n)
        size = max(size, float(np.abs(item.force_n).max()))
    floor, length = result.equilibrium.floor_n, result.wire.arc_length_mm[-1]
    assert floor < 1e-5 * max(size, largest(result)[1] / length)
    assert np.abs(force).max() < floor and np.abs(moment).max() < floor * length
    np.testing.assert_allclose(result.equilibrium.force_n, force, rtol=0.0, atol=1e-14 * max(size, 1.0))
    np.testing.assert_allclose(result.equilibrium.moment_nmm, moment, rtol=0.0, atol=1e-10)


@pytest.mark.parametrize("name", CASES)
def test_each_increment_is_in_equilibrium(name: str) -> None:
    result = solved(name)
    for increment in result.increments:
        total = np.sum([item.force_n for item in increment.attachments], axis=0)
        assert np.abs(total).max() < result.equilibrium.floor_n * len(result.attachments)


@pytest.mark.parametrize("name", ["uprighting", "rectangular in all orders", "round in all orders"])
def test_moment_about_the_centre_of_resistance(name: str) -> None:
    """M at C = M at P + (P - C) x F, C given in the attachment's own axes or the tooth's default; statics."""
    specs = {spec.name: spec for spec in CASES[name]().attachments}
    seen = 0
    for item in solved(name).attachments:
        spec = specs[item.name]
        found = item.moment_at_centre_of_resistance_nmm
        known = centre_of(spec)
        if known is None:
            assert found is None
            continue
        assert found is not None
        seen += 1
        pose = spec.attachment.pose
        centre = pose.position + pose.axes @ np.array(known[0])
        lever = np.array(item.moment_about_mm) - centre
        expected = np.array(item.moment_nmm) + np.cross(lever, item.force_n)
        assert np.linalg.norm(expected - item.moment_nmm) > 0.1 * np.linalg.norm(item.force_n)
        np.testing.assert_allclose(found, expected, rtol=1e-12, atol=1e-9)
    assert seen > 0


@pytest.mark.parametrize("name", ["uprighting", "rectangular in all orders", "round in all orders"])
def test_a_button_carries_no_couple(name: str) -> None:
    """Exactly none, about the point it holds; free along its x, it takes no force there beyond rounding."""
    result = solved(name)
    (button,) = (item for item in result.attachments if item.kind == "button")
    assert np.linalg.norm(button.force_n) > 0.01
    assert button.moment_nmm == (0.0, 0.0, 0.0)
    assert abs(button.pose.axes[:, 0] @ button.force_n) < result.equilibrium.floor_n
    for order in button.orders.values():
        assert order.moment_nmm == 0.0 and not order.carries_couple
        assert order.words == "a button holds one point and carries no couple"


def test_a_round_wire_carries_no_couple_about_its_own_axis() -> None:
    """Walls press square to a round outline, so through its axis, and a straight isotropic rod keeps its torsion.

    So from a free end on there is none (Love, A Treatise on the Mathematical Theory of Elasticity, art. 260).
    About the slot's length there may be some, where the wire lies aslant and a bending moment has a part
    along it.
    """
    case = CASES["round in all orders"]()
    result = run_case(
        with_poses(case, lambda pose: pose, PassiveShape((Straight(case.wire.passive_shape.length),)))
    )
    _, moment = largest(result)
    assert result.status == "engaged" and moment > 1.0
    assert np.abs(result.wire.moment_nmm[:, 0]).max() < 1e-6 * moment
    for item in result.attachments:
        for mouth in item.mouths:
            node = int(np.abs(result.wire.arc_length_mm - mouth.arc_length_mm).argmin())
            assert abs(result.wire.axes[node, :, 0] @ mouth.moment_nmm) < 1e-6 * moment


@pytest.mark.parametrize(
    ("section", "slot"),
    [
        (edgewise(0.019 * INCH, 0.025 * INCH), SLOT),
        (round_wire(0.018 * INCH), SLOT),
        (edgewise(0.018 * INCH, 0.025 * INCH), (0.018 * INCH, 0.025 * INCH, 3.0)),
    ],
    ids=["rectangle with play", "round with play", "full size"],
)
@pytest.mark.parametrize("turned", [False, True])
def test_an_unactivated_wire_that_fits_gives_exactly_no_force(
    section: str, slot: tuple[float, float, float], turned: bool
) -> None:
    case = case_of(
        section,
        [straight(30.0)],
        "A",
        attachment("A", "bracket", 3.0, 0.0, slot=slot, stop=True),
        attachment("B", "tube", 13.0, 10.0, slot=slot),
        attachment("C", "button", "end", 27.0),
    )
    if turned:
        case = moved(
            case, Pose(np.array([3.0, -4.0, 5.0]), Rotation.from_rotvec([0.4, -1.1, 0.7]).as_matrix())
        )
    result = run_case(case)
    assert result.status == "passive"
    assert result.wire.largest_stress_mpa < 1e-4
    for item in result.attachments:
        assert item.force_n == (0.0, 0.0, 0.0) and item.moment_nmm == (0.0, 0.0, 0.0)
        assert not any(order.carries_couple for order in item.orders.values())
        assert item.words == ("No force and no couple.",)
