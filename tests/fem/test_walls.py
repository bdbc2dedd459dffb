"""Book-keeping of slacks and multipliers: the barrier's identities, and the sorting of walls on small arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from fem.walls_kernel import (
    FAR,
    MODE_BARRIER,
    MODE_FREE,
    MODE_PRESSING,
    PASSED,
    complementarity,
    correct_walls,
    drop_far_walls,
    give_sides,
    keep_walls,
    sort_walls,
    start_walls,
    wall_merit,
    wall_steps,
    wall_weights,
)

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

ONE_SIDED, NARROW, CLOSED = -1.0, 3e-4, 0.0


@dataclass(frozen=True, slots=True)
class Walls:
    """Arrays of some walls."""

    half_range: Array
    gap: Array
    slack: Array
    low: Array
    high: Array
    mode: Integers
    target: Array
    compliance: Array


def walls(half_range: list[float], gap: list[float], low: list[float], high: list[float]) -> Walls:
    n = len(half_range)
    return Walls(
        np.array(half_range), np.array(gap), np.zeros(n), np.array(low), np.array(high),
        np.zeros(n, dtype=np.int64), np.zeros(n), np.zeros(n),
    )  # fmt: skip


def started(mu: float, compliance: float = 0.0) -> Walls:
    """One-sided and narrow walls in every position, on the central path; the last is closed."""
    w = walls(
        [ONE_SIDED, ONE_SIDED, ONE_SIDED, NARROW, NARROW, NARROW, CLOSED],
        [0.05, -0.01, 0.0, 1e-4, -5e-4, 4e-4, 1e-6],
        [0.0, 0.0, 2.0, 0.0, 3.0, 0.0, 0.7],
        [0.0, 0.0, 0.0, 0.0, 0.0, 5.0, 0.0],
    )
    w.compliance[:] = compliance
    start_walls(w.half_range, w.mode, w.target, w.slack, w.low, w.high, w.gap, mu)
    return w


def rooms(w: Walls) -> tuple[Array, Array]:
    """Room on the low and on the high side; 1 mm stands for the high side of one-sided walls, which is not there."""
    low = w.slack + np.maximum(w.half_range, 0.0)
    high = np.where(w.half_range > 0.0, w.half_range - w.slack, 1.0)
    return low, high


@dataclass(frozen=True, slots=True)
class Steps:
    """What `wall_weights` and `wall_steps` say."""

    weight: Array
    push: Array
    slack: Array
    low: Array
    high: Array
    primal: float
    dual: float


def steps(w: Walls, change: Array, mu: float, held_weight: float = 1.0) -> Steps:
    """Steps of ``w`` for linear gap changes ``change``."""
    weight, push, d_slack, d_low, d_high = (np.zeros(w.gap.size) for _ in range(5))
    state = (w.half_range, w.compliance, w.mode, w.target, w.slack, w.low, w.high, w.gap)
    wall_weights(*state, mu, held_weight, weight, push)
    primal, dual = wall_steps(*state, weight, push, change, mu, d_slack, d_low, d_high)
    return Steps(weight, push, d_slack, d_low, d_high, primal, dual)


@pytest.mark.parametrize("mu", [1e-4, 1e-7, 1e-11])
def test_start_lies_on_the_central_path(mu: float) -> None:
    """low (t + c) = mu and high (c - t) = mu: Nocedal & Wright, Numerical Optimization (2nd ed. 2006), ch. 19."""
    w = started(mu)
    low_room, high_room = rooms(w)
    barrier = w.half_range != CLOSED
    assert (low_room[barrier] > 0.0).all()
    assert (high_room[barrier] > 0.0).all()
    np.testing.assert_allclose((w.low * low_room)[barrier], mu, rtol=1e-8)
    two_sided = w.half_range > 0.0
    np.testing.assert_allclose((w.high * high_room)[two_sided], mu, rtol=1e-8)
    assert not w.high[w.half_range < 0.0].any()
    assert (w.mode == MODE_BARRIER).all()
    # Walls that pressed go on pressing about as hard (as far as half of a narrow play allows).
    assert w.low[2] >= 2.0
    assert w.low[6] == 0.7


@pytest.mark.parametrize("compliance", [0.0, 1e-6, 1e-3, 0.05])
@pytest.mark.parametrize("seed", range(4))
def test_steps_solve_the_linearised_conditions(seed: int, compliance: float) -> None:
    """room dlow + low droom = mu' - low room, slack + dslack = gap + change + give; both give wall_weights' push."""
    w = started(1e-6, compliance)
    change = np.random.default_rng(seed).normal(size=w.gap.size) * 1e-4
    mu = 2e-7
    d = steps(w, change, mu, held_weight=1e7)
    low_room, high_room = rooms(w)
    barrier, two_sided = w.half_range != CLOSED, w.half_range > 0.0
    after = w.low + d.low - w.high - d.high
    given = w.gap + change + compliance * after
    np.testing.assert_allclose(
        (w.slack + d.slack)[barrier], given[barrier], rtol=1e-9, atol=1e-15 + 2e-9 * compliance
    )
    left = (low_room * d.low + w.low * d.slack + w.low * low_room)[barrier]
    np.testing.assert_allclose(left, mu, rtol=1e-6)
    left = (high_room * d.high - w.high * d.slack + w.high * high_room)[two_sided]
    np.testing.assert_allclose(left, mu, rtol=1e-6)
    np.testing.assert_allclose(after, d.push - d.weight * change, rtol=1e-9, atol=2e-9)
    slope = w.low / np.where(barrier, low_room, 1.0) + np.where(two_sided, w.high / high_room, 0.0)
    np.testing.assert_allclose(d.weight[barrier], (slope / (1.0 + compliance * slope))[barrier], rtol=1e-12)
    # a held wall is a spring of its own compliance and the weight's, one behind the other
    assert d.weight[6] == pytest.approx(1.0 / (1e-7 + compliance), rel=1e-12)
    assert compliance * after[6] + w.gap[6] + change[6] == pytest.approx(
        (w.low[6] - after[6]) / 1e7, rel=1e-6
    )


@pytest.mark.parametrize("seed", range(4))
def test_no_step_reaches_a_bound(seed: int) -> None:
    """The fraction to the boundary, 0.995: Nocedal & Wright, Numerical Optimization (2nd ed. 2006), eq. 19.9."""
    w = started(1e-6)
    d = steps(w, np.random.default_rng(seed).normal(size=w.gap.size) * 1e-3, 2e-7)
    assert 0.0 < d.primal < 1.0
    assert 0.0 < d.dual <= 1.0
    barrier, two_sided = w.half_range != CLOSED, w.half_range > 0.0
    low_room, high_room = rooms(w)
    low_left = ((low_room + d.primal * d.slack) / np.where(barrier, low_room, 1.0))[barrier]
    high_left = ((high_room - d.primal * d.slack) / high_room)[two_sided]
    assert min(low_left.min(), high_left.min()) == pytest.approx(0.005, rel=1e-6)
    forces_left = np.concatenate(
        ((1.0 + d.dual * d.low / w.low)[barrier], (1.0 + d.dual * d.high[two_sided] / w.high[two_sided]))
    )
    assert forces_left.min() >= 0.005 * (1.0 - 1e-6)


def test_products_stay_even_under_the_steps_of_the_central_path() -> None:
    """From the central path at mu to one at mu/2: one full step leaves products off by dlow dt alone."""
    w = started(1e-6)
    w.gap[:] = w.slack
    change = np.array([1e-3, 1e-5, -1e-8, 2e-6, 1e-10, -1e-11, 0.0])
    mu = 0.5e-6
    d = steps(w, change, mu)
    low_room, _ = rooms(w)
    product = (w.low + d.low) * (low_room + d.slack)
    barrier = w.half_range != CLOSED
    np.testing.assert_allclose(product[barrier], (mu + d.low * d.slack)[barrier], rtol=1e-9, atol=1e-20)


def test_held_and_free_walls_step_like_ties_and_like_nothing() -> None:
    w = walls([ONE_SIDED, ONE_SIDED, NARROW], [2e-5, 0.1, -NARROW], [1.0, 0.0, 2.0], [0.0, 0.0, 0.0])
    w.mode[:] = [MODE_PRESSING, MODE_FREE, MODE_PRESSING]
    w.target[2] = -NARROW
    change = np.array([-1e-5, -1.0, 1e-6])
    d = steps(w, change, 0.0, held_weight=1e5)
    assert (d.primal, d.dual) == (1.0, 1.0)
    np.testing.assert_array_equal(d.weight, [1e5, 0.0, 1e5])
    np.testing.assert_allclose(d.low, [-1.0, 0.0, -0.1], rtol=1e-9)
    np.testing.assert_allclose(w.low + d.low, d.push - d.weight * change, rtol=1e-9)
    assert not d.slack.any()
    assert not d.high.any()


@pytest.mark.parametrize("compliance", [0.0, 1e-3])
def test_merit_falls_at_the_slope_it_says(compliance: float) -> None:
    """Directional derivative of barrier, springs and exact penalty along the step, by differences."""
    w = started(1e-6, compliance)
    change = np.random.default_rng(3).normal(size=w.gap.size) * 1e-5
    change[6] = -w.gap[6]  # a closed wall's gap is a hold: its step closes it
    d = steps(w, change, 1e-6)
    if compliance:
        change[6] -= w.gap[6] + change[6] + compliance * (w.low[6] + d.low[6])
        d = steps(w, change, 1e-6)
        change[6] = -w.gap[6] - compliance * (w.low[6] + d.low[6])

    def merit(t: float) -> tuple[float, float]:
        value, slope = wall_merit(
            w.half_range, w.compliance, w.slack + t * d.slack, w.gap + t * change, w.low - w.high, d.low - d.high, t,
            d.slack, 1e-6, 7.0,
        )  # fmt: skip
        return float(value), float(slope)

    h = 1e-5
    differences = (-3.0 * merit(0.0)[0] + 4.0 * merit(h)[0] - merit(2.0 * h)[0]) / (2.0 * h)
    if not compliance:  # springs that press give energy back, which the beam takes up
        assert merit(0.0)[1] < 0.0
    assert merit(0.0)[1] == pytest.approx(differences, rel=1e-5)


def test_complementarity_counts_what_the_barrier_holds() -> None:
    w = started(1e-6)
    w.low[0] *= 3.0
    w.mode[1] = MODE_FREE
    w.mode[2] = MODE_PRESSING
    mean, least, off, count = complementarity(
        w.half_range, w.compliance, w.mode, w.target, w.slack, w.low, w.high, w.gap
    )
    # one one-sided wall with one product, three narrow ones with two
    assert count == 7
    assert mean == pytest.approx(9e-6 / 7.0)
    assert least == pytest.approx(1e-6)
    expected = np.abs(w.gap - w.slack)
    expected[1] = 0.0
    expected[[2, 6]] = np.abs(w.gap[[2, 6]])
    assert off == pytest.approx(expected.max())


def test_the_end_of_the_barrier_tells_pressing_walls_from_free_ones() -> None:
    """With mu = 1e-11 N mm a force of 1 N stands 1e-11 mm from its wall, a wall 0.01 mm away presses with 1e-9 N."""
    w = walls([ONE_SIDED, ONE_SIDED, NARROW, NARROW, NARROW, CLOSED], [0.0] * 6, [0.0] * 6, [0.0] * 6)
    mu = 1e-11
    w.slack[:] = [mu / 1.0, 0.01, mu / 2.0 - NARROW, NARROW - mu / 3.0, 0.0, 0.0]
    low_room, high_room = rooms(w)
    w.low[:5] = mu / low_room[:5]
    w.high[2:5] = mu / high_room[2:5]
    w.low[5] = -0.25
    sort_walls(w.half_range, w.mode, w.target, w.slack, w.low, w.high)
    assert w.mode.tolist() == [
        MODE_PRESSING,
        MODE_FREE,
        MODE_PRESSING,
        MODE_PRESSING,
        MODE_FREE,
        MODE_BARRIER,
    ]
    assert w.target.tolist() == [0.0, 0.0, -NARROW, NARROW, 0.0, 0.0]
    # Rooms of 1e-11 mm are differences of 3e-4 mm here: five digits are left.
    np.testing.assert_allclose(w.low, [1.0, 0.0, 2.0, -3.0, 0.0, -0.25], rtol=1e-5, atol=0.0)
    assert not w.high.any()


def test_walls_that_press_are_kept_and_all_others_are_free() -> None:
    w = walls(
        [ONE_SIDED, ONE_SIDED, NARROW, NARROW, NARROW, CLOSED],
        [0.0] * 6,
        [2.0, 0.0, 3.0, 0.0, 0.0, 0.5],
        [0.0, 0.0, 0.0, 4.0, 0.0, 0.0],
    )
    keep_walls(w.half_range, w.mode, w.target, w.low, w.high)
    assert w.mode.tolist() == [
        MODE_PRESSING,
        MODE_FREE,
        MODE_PRESSING,
        MODE_PRESSING,
        MODE_FREE,
        MODE_BARRIER,
    ]
    assert w.target.tolist() == [0.0, 0.0, -NARROW, NARROW, 0.0, 0.0]
    assert w.low.tolist() == [2.0, 0.0, 3.0, -4.0, 0.0, 0.5]
    assert not w.high.any()


def test_sides_come_back_after_walls_were_held() -> None:
    w = walls([ONE_SIDED, NARROW, NARROW, CLOSED], [0.0] * 4, [2.0, 3.0, -4.0, -0.5], [0.0] * 4)
    give_sides(w.half_range, w.low, w.high)
    assert w.low.tolist() == [2.0, 3.0, 0.0, -0.5]
    assert w.high.tolist() == [0.0, 0.0, 4.0, 0.0]


def test_walls_that_pull_are_freed_and_walls_passed_are_held() -> None:
    w = walls(
        [ONE_SIDED, ONE_SIDED, ONE_SIDED, ONE_SIDED, NARROW, NARROW, NARROW, CLOSED],
        [0.0, 0.0, -1e-6, -0.5 * PASSED, -NARROW, 2.0 * NARROW, -2.0 * NARROW, 1.0],
        [1.0, -1.0, 0.0, 0.0, -1.0, 0.0, 0.0, -3.0],
        [0.0] * 8,
    )
    w.mode[:] = [
        MODE_PRESSING,
        MODE_PRESSING,
        MODE_FREE,
        MODE_FREE,
        MODE_PRESSING,
        MODE_FREE,
        MODE_FREE,
        MODE_BARRIER,
    ]
    w.target[4] = -NARROW
    moved, stayed = correct_walls(w.half_range, w.mode, w.target, w.low, w.gap)
    assert (moved, stayed) == (5, 1)
    assert w.mode.tolist() == [
        MODE_PRESSING, MODE_FREE, MODE_PRESSING, MODE_FREE, MODE_FREE, MODE_PRESSING, MODE_PRESSING, MODE_BARRIER
    ]  # fmt: skip
    assert w.target[5:7].tolist() == [NARROW, -NARROW]
    assert w.low.tolist() == [1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, -3.0]
    closed = np.where(w.mode == MODE_PRESSING, w.target, 0.0)
    assert correct_walls(w.half_range, w.mode, w.target, w.low, closed) == (0, 4)


def test_far_walls_press_no_more() -> None:
    w = walls([ONE_SIDED, ONE_SIDED, NARROW, CLOSED], [0.0] * 4, [1e-6, 1.0, 1e-7, 1.0], [0.0, 0.0, 2.0, 0.0])
    w.slack[:] = [2.0 * FAR, 0.5 * FAR, 0.9 * NARROW, 0.0]
    drop_far_walls(w.half_range, w.slack, w.low, w.high)
    assert w.low.tolist() == [0.0, 1.0, 0.0, 1.0]
    assert w.high.tolist() == [0.0, 0.0, 2.0, 0.0]
