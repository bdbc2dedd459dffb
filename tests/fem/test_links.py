"""Springs between two points of a wire: energy, matrix, solution and stability against dense algebra; statics."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from fem.arrays import Links
from fem.equilibrium import Problem, problem_of
from fem.links_kernel import add_link_curvature, add_links
from fem.material import LinearElastic
from fem.model import Clamp, Link
from fem.newton_kernel import LEAST_SHIFT, evaluate, factor_and_solve, newton_system
from fem.path import engage
from fem.rods import Held, Load, node_at, rod
from geometry.section import Round
from geometry.wire_shapes import Bend, PassiveShape, Straight
from tests.fem_problems import dense, hessian, moved_frames, random_pose, slope

Array = NDArray[np.float64]

STEEL = LinearElastic("steel", 2.0e5, 0.3)
POSES = [random_pose(np.random.default_rng(seed)) for seed in range(4)]
POSITIONS = np.array([pose.position for pose in POSES])
AXES = np.array([pose.axes for pose in POSES])


def links(rest: float, pulls_only: bool) -> Links:
    """From the first of four nodes to the last, and between two others."""
    return Links(
        np.array([0, 1]),
        np.array([3, 2]),
        np.array([rest, rest]),
        np.array([2.0, 3.0]),
        np.array([pulls_only] * 2),
    )


@pytest.mark.parametrize("pulls_only", [True, False])
def test_forces_are_the_derivative_of_the_energy(pulls_only: bool) -> None:
    some = links(1.5, pulls_only)
    residual = np.zeros((4, 6))
    energy = add_links(POSITIONS, AXES, some, residual)
    assert energy > 0.0

    def moved(steps: Array) -> Array:
        return np.array(add_links(*moved_frames(POSITIONS, AXES, steps), some, np.zeros((4, 6))))

    np.testing.assert_allclose(residual.ravel(), slope(moved, 24), rtol=0.0, atol=1e-9)


def test_a_chain_that_is_not_taut_bears_nothing() -> None:
    residual = np.zeros((4, 6))
    assert add_links(POSITIONS, AXES, links(100.0, True), residual) == 0.0
    assert not residual.any()


def bow(stiffness: float = 0.5, rest: float = 9.0) -> Problem:
    """A wire bent to three sides of a square, clamped at one end, a chain between its ends and one across."""
    shape = PassiveShape(
        (
            Straight(10.0),
            Bend(math.pi / 2, "second", 1.0),
            Straight(10.0),
            Bend(math.pi / 2, "first", 1.0),
            Straight(8.0),
        )
    )
    some = [Link(0.0, shape.length, rest, stiffness), Link(4.0, 18.0, 3.0, stiffness, pulls_only=False)]
    return problem_of(rod(shape, Round(0.4), STEEL, [Held(Clamp(), 0.0)], [], 12, links=some))


def assembled(problem: Problem) -> tuple[Array, Array, Array]:
    """Matrix without links, right side, scales."""
    position, axes = problem.poses(0.0)
    at = (problem.beam, problem.loads, position, axes, problem.constraints.sites, problem.constraints.holds)
    scales = np.zeros(6)
    evaluate(*at, problem.state, problem.work, False)
    newton_system(*at, problem.state, problem.work, 0.0, False, False, scales)
    return dense(problem.work.diagonal, problem.work.upper), problem.work.step.copy(), scales


@pytest.mark.parametrize("turning", [False, True])
def test_the_step_is_that_of_the_whole_matrix(turning: bool) -> None:
    """Against numpy's own solution of the dense matrix, whose links come from differences of their energy."""
    problem = bow()
    matrix, right, scales = assembled(problem)
    state, some = problem.state, problem.loads.links
    nodes = len(state.positions)

    def energy(steps: Array) -> float:
        return float(add_links(*moved_frames(state.positions, state.axes, steps), some, np.zeros((nodes, 6))))

    chosen = np.unique([*some.first, *some.other])
    where = (6 * chosen[:, None] + np.arange(6)).ravel()

    def of_chosen(steps: Array) -> float:
        whole = np.zeros(6 * nodes)
        whole[where] = steps
        return energy(whole)

    own = np.zeros((nodes, 6, 6))
    add_link_curvature(state.positions, state.axes, some, own)
    matrix -= dense(own, np.zeros((nodes - 1, 6, 6)))
    matrix[np.ix_(where, where)] += hessian(of_chosen, where.size, step=2e-3)
    shift = LEAST_SHIFT * np.tile(np.repeat(scales[3:5], 3), nodes)
    expected = np.linalg.solve(matrix + np.diag(shift), right.ravel())
    wrong = factor_and_solve(
        problem.loads,
        problem.constraints.sites,
        problem.constraints.holds,
        state,
        problem.work,
        scales,
        np.zeros(6),
        False,
        False,
        turning,
    )
    assert wrong == int((np.linalg.eigvalsh(matrix) < 0.0).sum())
    np.testing.assert_allclose(
        problem.work.step.ravel(), expected, rtol=0.0, atol=1e-5 * np.abs(expected).max()
    )


def test_a_wire_under_a_chain_lies_as_under_its_pull() -> None:
    """Hooke's law; the same pull hung on both points as dead loads gives the same shape (statics)."""
    shape = PassiveShape(
        (Straight(10.0), Bend(2.0, "second", 1.0), Straight(10.0), Bend(1.0, "first", 1.0), Straight(8.0))
    )
    first, other, rest, rate = 3.0, shape.length, 6.0, 0.05
    held = [Held(Clamp(), 0.0)]
    drawn = engage(
        rod(shape, Round(0.4), STEEL, held, [], 30, links=[Link(first, other, rest, rate)])
    ).last.snapshot
    a, b = node_at(drawn.arcs, first), node_at(drawn.arcs, other)
    apart = drawn.positions[b] - drawn.positions[a]
    length = float(np.linalg.norm(apart))
    pull = rate * (length - rest) * apart / length
    assert np.abs(pull).max() > 0.1
    loads = [Load(first, force=pull), Load(other, force=-pull)]
    hung = engage(rod(shape, Round(0.4), STEEL, held, loads, 30)).last.snapshot
    np.testing.assert_allclose(
        drawn.positions, hung.positions[np.searchsorted(hung.arcs, drawn.arcs - 1e-9)], rtol=0.0, atol=1e-6
    )
    force, moment = drawn.left_over()
    np.testing.assert_allclose(force, 0.0, atol=1e-6)
    np.testing.assert_allclose(moment, 0.0, atol=1e-5)


def test_what_is_no_link_is_refused() -> None:
    with pytest.raises(ValueError, match="two places"):
        Link(1.0, 1.0, 2.0, 0.1)
    with pytest.raises(ValueError, match="rigid bar"):
        Link(1.0, 2.0, 2.0, math.inf)
    with pytest.raises(ValueError, match="link's end"):
        rod(
            PassiveShape((Straight(5.0),)),
            Round(0.4),
            STEEL,
            [Held(Clamp(), 0.0)],
            [],
            4,
            links=[Link(0.0, 9.0, 1.0, 1.0)],
        )
