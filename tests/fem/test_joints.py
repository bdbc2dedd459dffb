"""Several wires in one model: gaps that bear nothing, ties and hooks between wires."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from fem.arrays import Holds
from fem.equilibrium import Problem, problem_of
from fem.holds_kernel import add_hold_curvature, evaluate_holds
from fem.joints_kernel import add_joint_curvature, add_joint_forces, evaluate_joints, joint_steps
from fem.limit_points import follow_load
from fem.material import LinearElastic
from fem.model import Clamp, Joint, Model, PointTie, Support
from fem.newton_kernel import LEAST_SHIFT, evaluate, factor_and_solve, newton_system
from fem.path import Leg, engage
from fem.recovery import Snapshot, frames_at
from fem.rods import Held, Load, node_at, rod
from fem.together import Joined, together
from fem.wires import GAP
from geometry.pose import Pose
from geometry.section import Rectangle, Round
from geometry.wire_shapes import Bend, PassiveShape, Straight
from tests.fem_problems import dense, hessian, moved_frames, random_pose, slope

Array = NDArray[np.float64]
STEEL = LinearElastic("steel", 2.0e5, 0.3)
HERE = Pose.identity()


def at(x: float, y: float, z: float = 0.0, **angles: float) -> Pose:
    return Pose.from_angles([x, y, z], **angles)


def straight(
    length: float,
    thick: float,
    held: list[Held],
    placed: Pose = HERE,
    loads: tuple[Load, ...] = (),
    elements: int = 20,
) -> Model:
    return rod(PassiveShape((Straight(length),)), Round(thick), STEEL, held, loads, elements, placed)


def bending(thick: float) -> float:
    return 2.0e5 * math.pi * thick**4 / 64.0


def last(model: Model) -> Snapshot:
    return engage(model).last.snapshot


# ------------------------------------------------------------------ the holds of a joint, against their definition

HOLDS = Holds(
    np.array([0, 0, 0, 2], dtype=np.int64),
    np.array([0, 0, 0, 1], dtype=np.int64),
    np.array([0, 1, 2, 1], dtype=np.int64),
    np.array([1, 1, 1, 1], dtype=np.int64),
)


def anywhere(seed: int) -> tuple[tuple[Array, Array], Array, Array]:
    rng = np.random.default_rng(seed)
    poses = [random_pose(rng) for _ in range(5)]
    position, axes = np.array([p.position for p in poses]), np.array([p.axes for p in poses])
    return (position[:2], axes[:2]), position[2:], axes[2:]


def evaluated(frames: tuple[Array, Array], positions: Array, axes: Array) -> tuple[Array, Array, Array]:
    value, gradient, other = np.zeros(4), np.full((4, 6), np.nan), np.full((4, 6), np.nan)
    evaluate_holds(*frames, HOLDS.node, HOLDS.frame, HOLDS.kind, positions, axes, value, gradient)
    evaluate_joints(*frames, HOLDS, positions, axes, value, other)
    return value, gradient, other


def test_the_value_of_a_joint_is_how_far_its_point_is_from_where_it_shall_be() -> None:
    frames, positions, axes = anywhere(1)
    value, _, _ = evaluated(frames, positions, axes)
    for h in range(4):
        f, k, a, b = HOLDS.frame[h], HOLDS.kind[h], HOLDS.node[h], HOLDS.other[h]
        wanted = positions[b] + axes[b] @ frames[0][f]
        assert value[h] == pytest.approx(frames[1][f][:, k] @ (positions[a] - wanted), abs=1e-14)


@pytest.mark.parametrize("seed", [2, 3])
def test_gradients_are_the_derivatives(seed: int) -> None:
    frames, positions, axes = anywhere(seed)
    _, gradient, other = evaluated(frames, positions, axes)
    whole = np.zeros((4, 3, 6))
    whole[np.arange(4), HOLDS.node] += gradient
    whole[np.arange(4), HOLDS.other] += other
    differences = slope(lambda steps: evaluated(frames, *moved_frames(positions, axes, steps))[0], 18)
    np.testing.assert_allclose(whole.reshape(4, 18), differences.T, rtol=0.0, atol=1e-11)
    force, out = np.array([1.0, -2.0, 0.5, 3.0]), np.zeros((3, 6))
    add_joint_forces(HOLDS, other, force, out)
    np.testing.assert_allclose(out[1], force @ other, rtol=0.0, atol=1e-14)
    assert not out[[0, 2]].any()


@pytest.mark.parametrize("h", range(4))
def test_curvature_is_the_second_derivative_and_touches_single_nodes_only(h: int) -> None:
    frames, positions, axes = anywhere(10 + h)
    _, gradient, other = evaluated(frames, positions, axes)
    force, none = np.zeros(4), np.zeros(4)
    force[h] = 1.7

    def hold(steps: Array) -> float:
        return float(evaluated(frames, *moved_frames(positions, axes, steps.reshape(3, 6)))[0][h])

    diagonal = np.zeros((3, 6, 6))
    add_hold_curvature(frames[1], HOLDS.node, HOLDS.frame, HOLDS.kind, force, gradient, none, axes, diagonal)
    add_joint_curvature(frames[0], HOLDS, force, other, diagonal)
    expected = dense(diagonal, np.zeros((2, 6, 6)))
    np.testing.assert_allclose(-1.7 * hessian(hold, 18), expected, rtol=0.0, atol=1e-7)


def test_multipliers_step_against_what_is_left_open() -> None:
    frames, positions, axes = anywhere(20)
    value, gradient, other = evaluated(frames, positions, axes)
    step, weight, out = np.random.default_rng(6).normal(size=(3, 6)), np.linspace(1.0, 2.0, 4), np.zeros(4)
    joint_steps(HOLDS, gradient, other, weight, value, step, out)
    moved = (gradient * step[HOLDS.node]).sum(axis=1) + (other * step[HOLDS.other]).sum(axis=1)
    np.testing.assert_allclose(out, -weight * (value + moved), rtol=1e-13)


def crossed() -> Model:
    """Two bent wires tied at two points: a ring, which no order of the nodes would band."""
    bent = PassiveShape((Straight(8.0), Bend(0.6, "first", 2.0), Straight(9.0)))
    one = rod(bent, Round(0.4), STEEL, [Held(Clamp(), 0.0)], [], 8)
    two = rod(bent, Rectangle(0.3, 0.5), STEEL, [Held(Clamp(), 0.0)], [], 8, at(0.5, 0.4, 0.3, about_x=0.4))
    ties = [Joined((0, 5.0), (1, 6.0), (0.0, 0.2, 0.1)), Joined((1, bent.length), (0, bent.length))]
    return together([one, two], ties)


def assembled(problem: Problem) -> tuple[Array, Array, Array]:
    position, axes = problem.poses(0.4)
    where = (
        problem.beam,
        problem.loads,
        position,
        axes,
        problem.constraints.sites,
        problem.constraints.holds,
    )
    scales = np.zeros(6)
    evaluate(*where, problem.state, problem.work, False)
    newton_system(*where, problem.state, problem.work, 0.0, False, False, scales)
    return dense(problem.work.diagonal, problem.work.upper), problem.work.step.copy(), scales


@pytest.mark.parametrize("turning", [False, True])
def test_the_step_is_that_of_the_whole_matrix(turning: bool) -> None:
    """Against numpy's own solution of the dense matrix with every joint's w g g^T in it; and its inertia."""
    problem = problem_of(crossed())
    matrix, right, scales = assembled(problem)
    holds, work = problem.constraints.holds, problem.work
    nodes = len(problem.state.positions)
    rows = np.flatnonzero(holds.other >= 0)
    assert rows.size == 6 and (holds.other[: rows[0]] < 0).all()
    for h in rows:
        g = np.zeros((nodes, 6))
        g[holds.node[h]] += work.hold_gradient[h]
        g[holds.other[h]] += work.hold_other[h]
        matrix += work.joint_weight[h] * np.outer(g.ravel(), g.ravel())
    shift = LEAST_SHIFT * np.tile(np.repeat(scales[3:5], 3), nodes)
    expected = np.linalg.solve(matrix + np.diag(shift), right.ravel())
    wrong = factor_and_solve(
        problem.loads, problem.constraints.sites, holds, problem.state, work, scales, np.zeros(6), False, False,
        turning,
    )  # fmt: skip
    assert wrong == int((np.linalg.eigvalsh(matrix) < 0.0).sum())
    np.testing.assert_allclose(work.step.ravel(), expected, rtol=0.0, atol=1e-5 * np.abs(expected).max())


# ------------------------------------------------------------------ wires that nothing joins


def test_wires_without_joints_are_as_they_are_alone() -> None:
    """The gap between them bears nothing, and what is on one wire leaves the other as it was, to the last digits."""
    one = straight(20.0, 0.4, [Held(Clamp(), 0.0)], loads=(Load(20.0, (0.0, -0.5, 0.1)),))
    two = straight(30.0, 0.5, [Held(Clamp(), 0.0)], at(0.0, 5.0, about_z=2.0), (Load(30.0, (0.2, 0.3, 0.0)),))
    both, alone = last(together([one, two])), (last(one), last(two))
    (first, end), (begin, stop) = both.spans
    assert both.arcs[begin] == pytest.approx(20.0 + GAP) and not both.resultants[end].any()
    for (a, b), by_itself in zip(both.spans, alone, strict=True):
        np.testing.assert_allclose(both.positions[a : b + 1], by_itself.positions, rtol=0.0, atol=1e-9)
        np.testing.assert_allclose(both.resultants[a:b], by_itself.resultants, rtol=0.0, atol=1e-7)
    assert (first, stop) == (0, len(both.arcs) - 1)


# ------------------------------------------------------------------ ties


def test_two_cantilevers_share_a_load_by_their_stiffnesses() -> None:
    """3 EI/L^3 each (any textbook of strength of materials), small deflections; shear adds less than 1e-3."""
    load, lengths, thick = 1e-3, (20.0, 30.0), (0.4, 0.5)
    one = straight(lengths[0], thick[0], [Held(Clamp(), 0.0)], loads=(Load(lengths[0], (0.0, -load, 0.0)),))
    two = straight(lengths[1], thick[1], [Held(Clamp(), 0.0)])
    snapshot = last(together([one, two], [Joined((0, 20.0), (1, 20.0))]))
    # the second is held 10 mm before its end, which hangs free
    stiffness = [3.0 * bending(d) / 20.0**3 for d in thick]
    share = load * stiffness[1] / sum(stiffness)
    assert -snapshot.force[2, 1] == pytest.approx(share, rel=1e-3)
    assert -snapshot.force[1, 1] == pytest.approx(share, rel=1e-3)


@pytest.mark.parametrize("arm", [(0.0, 0.0, 0.0), (0.0, 0.3, -0.4)])
def test_action_is_reaction(arm: tuple[float, float, float]) -> None:
    """Each wire by itself balances with the joint's force at the joint's point; all together without it."""
    model = together(
        [
            straight(20.0, 0.4, [Held(Clamp(), 0.0)], loads=(Load(20.0, (0.1, -0.6, 0.2)),)),
            straight(30.0, 0.5, [Held(Clamp(), 0.0)], at(0.0, -0.2, 0.3)),
        ],
        [Joined((0, 18.0), (1, 17.0), arm)],
    )
    snapshot = last(model)
    assert snapshot.joints.tolist() == [False, False, True]
    force, moment = snapshot.left_over()
    np.testing.assert_allclose(force, [0.1, -0.6, 0.2], rtol=0.0, atol=1e-7)
    tip = snapshot.positions[node_at(snapshot.arcs, 20.0)]
    np.testing.assert_allclose(moment, np.cross(tip, [0.1, -0.6, 0.2]), rtol=0.0, atol=1e-6)
    # the balance is met to 1e-8 of the largest force
    np.testing.assert_allclose(snapshot.force[1], snapshot.force[2], rtol=0.0, atol=1e-6)
    np.testing.assert_allclose(
        snapshot.moment[1],
        np.cross(snapshot.acting_point[2] - snapshot.acting_point[1], snapshot.force[2]),
        rtol=0.0, atol=2e-5,
    )  # fmt: skip
    other = node_at(snapshot.arcs, model.others[0].begin + 17.0)
    seen = snapshot.axes[other].T @ (snapshot.acting_point[2] - snapshot.positions[other])
    np.testing.assert_allclose(seen, arm, rtol=0.0, atol=1e-9)


def test_two_equal_wires_tied_everywhere_are_as_twice_one() -> None:
    """Under twice the load both take the shape of one under it, however far they bend; only the loaded point's tie
    passes anything on."""
    load = 1.5 * bending(0.4) / 20.0**2
    tip = Load(20.0, (0.0, -load, 0.0))
    alone = last(straight(20.0, 0.4, [Held(Clamp(), 0.0)], loads=(tip,)))
    pair = together(
        [
            straight(20.0, 0.4, [Held(Clamp(), 0.0)], loads=(replace(tip, force=(0.0, -2.0 * load, 0.0)),)),
            straight(20.0, 0.4, [Held(Clamp(), 0.0)]),
        ],
        [Joined((0, arc), (1, arc)) for arc in (5.0, 10.0, 15.0, 20.0)],
    )
    both = last(pair)
    for first, end in both.spans:
        np.testing.assert_allclose(both.positions[first : end + 1], alone.positions, rtol=0.0, atol=1e-7)
    np.testing.assert_allclose(both.force[2:5], 0.0, atol=1e-6 * load)
    np.testing.assert_allclose(both.force[5], [0.0, -load, 0.0], atol=1e-6 * load)


def test_an_overlay_tied_to_a_base_wire_is_springs_in_series() -> None:
    """An overlay whose foot is sunk by d: F = d/(L1^3/3EI1 + L2^3/3EI2), small deflections."""
    sunk = 0.02
    base = straight(25.0, 0.5, [Held(Clamp(), 0.0)])
    overlay = straight(15.0, 0.35, [Held(Clamp(), 0.0, end=at(10.0, -sunk))], at(10.0, 0.0))
    snapshot = last(together([base, overlay], [Joined((1, 15.0), (0, 25.0))]))
    gives = 25.0**3 / (3.0 * bending(0.5)) + 15.0**3 / (3.0 * bending(0.35))
    assert snapshot.force[2, 1] == pytest.approx(-sunk / gives, rel=2e-3)


def turned(model: Model, by: Pose) -> Model:
    supports = tuple(
        of if of.is_joint else replace(of, start=by.compose(of.start), end=by.compose(of.end))
        for of in model.supports
    )
    loads = model.loads
    if loads is not None:
        loads = np.concatenate((loads[:, :3] @ by.axes.T, loads[:, 3:] @ by.axes.T), axis=1)
    others = tuple(replace(of, placed=by.compose(of.placed)) for of in model.others)
    return replace(model, placed=by.compose(model.placed), supports=supports, loads=loads, others=others)


@pytest.mark.parametrize("slides", [False, True])
def test_a_turned_copy_gives_the_turned_answer(slides: bool) -> None:
    by = random_pose(np.random.default_rng(4), 30.0)
    base = straight(30.0, 0.6, [Held(Clamp(), 0.0), Held(Clamp(), 30.0)], at(0.0, 4.0, 1.0))
    spring = straight(16.0, 0.35, [Held(Clamp(), 0.0)])
    model = together([base, spring], [Joined((1, 16.0), (0, 15.5), (0.0, 0.2, 0.3), slides)])
    here, there = last(model), last(turned(model, by))
    np.testing.assert_allclose(there.positions, by.to_world(here.positions), rtol=0.0, atol=2e-6)
    size = float(np.abs(here.force).max())
    np.testing.assert_allclose(there.force, here.force @ by.axes.T, rtol=0.0, atol=1e-5 * size)


def test_a_tie_may_come_after_the_wires_are_in() -> None:
    """Without friction the order does not matter: base and overlay first, then the tie, or all at once."""
    base = straight(25.0, 0.5, [Held(Clamp(), 0.0)])
    overlay = straight(15.0, 0.35, [Held(Clamp(), 0.0, end=at(10.0, -3.0))], at(10.0, 0.5))
    model = together([base, overlay], [Joined((1, 15.0), (0, 25.0))])
    ends = tuple(support.end for support in model.supports)
    first = Leg("wires in", ends, 4, (True, True, False))
    one = engage(model, legs=[first, Leg("tied", ends, 4)]).last.snapshot
    np.testing.assert_allclose(one.force, last(model).force, rtol=0.0, atol=1e-6)


# ------------------------------------------------------------------ hooks


def test_a_hook_on_a_stiff_straight_wire_is_a_point_free_to_slide() -> None:
    """`PointTie` free along x, which knows nothing of a second wire."""
    spring = straight(20.0, 0.4, [Held(Clamp(), 0.0)])
    rail = straight(40.0, 4.0, [Held(Clamp(), 0.0), Held(Clamp(), 40.0)], at(0.0, 8.0))
    hooked = last(together([rail, spring], [Joined((1, 20.0), (0, 20.0), slides=True)]))
    tied = last(straight(20.0, 0.4, [Held(Clamp(), 0.0), Held(PointTie(), 20.0, end=at(20.0, 8.0))]))
    assert hooked.force[3, 1] == pytest.approx(tied.force[1, 1], rel=1e-3)
    assert hooked.acting_point[3, 0] == pytest.approx(tied.acting_point[1, 0], abs=2e-3)


def test_a_hook_pulls_square_to_a_bent_wire_and_stays_on_it() -> None:
    bent = PassiveShape((Straight(10.0), Bend(0.8, "second", 6.0), Straight(12.0)))
    base = rod(bent, Round(0.6), STEEL, [Held(Clamp(), 0.0), Held(Clamp(), bent.length)], [], 40)
    # the spring's foot drags its hook over the bend
    spring = straight(
        14.0, 0.4, [Held(Clamp(), 0.0, end=at(4.0, -9.0, about_z=0.9))], at(2.0, -6.0, about_z=0.6)
    )
    model = together([base, spring], [Joined((1, 14.0), (0, 11.0), slides=True)])
    path = engage(model)
    snapshot = path.last.snapshot
    force, met = snapshot.force[3], snapshot.met[3:]
    (place,), (axes,) = frames_at(path.problem, met)
    assert np.linalg.norm(force) > 0.05
    assert abs(force @ axes[:, 0]) <= 3e-6 * np.linalg.norm(force)
    np.testing.assert_allclose(snapshot.acting_point[3], place, rtol=0.0, atol=2e-6)
    assert abs(float(met[0]) - 11.0) > 1.0
    left, turning = snapshot.left_over()
    np.testing.assert_allclose(left, 0.0, atol=1e-7)
    np.testing.assert_allclose(turning, 0.0, atol=1e-5)


# ------------------------------------------------------------------ what is refused


def test_what_no_joint_can_be_is_refused() -> None:
    one = straight(20.0, 0.4, [Held(Clamp(), 0.0)])
    for joint, words in (
        (Joined((0, 5.0), (2, 5.0)), "names wire 2, but there are 2"),
        (Joined((0, 25.0), (1, 5.0)), "at arc length 25 mm of wire 0, whose nodes run from 0 to 20 mm"),
    ):
        with pytest.raises(ValueError, match=words):
            together([one, one], [joint])
    with pytest.raises(ValueError, match="one wire each"):
        together([together([one, one])])
    with pytest.raises(ValueError, match="a joint holds exactly and has no compliance"):
        Support(Joint(3.0), 1.0, HERE, HERE, np.ones(6))
    with pytest.raises(ValueError, match="must begin beyond the end of the one before"):
        replace(one, others=(replace(together([one, one]).others[0], begin=20.0),))
    loaded = straight(20.0, 0.4, [Held(Clamp(), 0.0)], loads=(Load(20.0, (0.0, -1.0, 0.0)),))
    with pytest.raises(ValueError, match="one rod without joints"):
        follow_load(together([loaded, one]), lambda point: True)
