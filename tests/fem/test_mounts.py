"""Supports on springs: what a compliance may be, and how supports of one body share it."""

from __future__ import annotations

import numpy as np
import pytest

from fem.advance import MOST_SETTLINGS
from fem.model import PointTie, Support
from fem.mounts import TURN_COUNTS, Settling, compliance_of
from geometry.pose import Pose

HERE = Pose.identity()


def given_way(compliance: np.ndarray, loads: np.ndarray) -> np.ndarray:
    """Deflections (k, 6) under ``loads`` (k, 6)."""
    return np.asarray(np.tensordot(compliance, loads, axes=2))


def symmetric(seed: int, count: int = 6) -> np.ndarray:
    """A symmetric, positive definite matrix."""
    half = np.random.default_rng(seed).normal(size=(count, count))
    return np.asarray(half @ half.T)


def test_six_numbers_and_their_diagonal_are_the_same() -> None:
    diagonal = np.array([1.0, 0.0, 2.0, 3.0, 0.5, 0.0])
    loads = np.arange(12.0).reshape(2, 6)
    for one in (diagonal, np.diag(diagonal), np.hstack((np.zeros((6, 6)), np.diag(diagonal)))):
        moved = given_way(compliance_of([None, one]), loads)
        np.testing.assert_allclose(moved, [np.zeros(6), diagonal * loads[1]])


def test_supports_of_one_body_move_by_each_others_loads() -> None:
    """Work: load a through the motion by load b is load b through the motion by load a (Betti)."""
    whole = symmetric(1, 12)
    compliance = compliance_of([whole[:6], whole[6:]])
    rng = np.random.default_rng(2)
    a, b = rng.normal(size=(2, 2, 6))
    assert (a * given_way(compliance, b)).sum() == pytest.approx(
        (b * given_way(compliance, a)).sum(), rel=1e-12
    )
    np.testing.assert_allclose(given_way(compliance, a).ravel(), whole @ a.ravel(), rtol=1e-12)


@pytest.mark.parametrize(
    ("compliance", "said"),
    [
        (np.ones(5), "six"),
        (np.ones((6, 5)), "six"),
        (np.ones((5, 6)), "six"),
        (-np.ones(6), "below zero"),
        (np.full((6, 6), np.inf), "finite"),
        (np.triu(np.ones((6, 6))), "symmetric"),
        (-np.eye(6), "energy"),
    ],
)
def test_what_is_no_compliance_is_refused(compliance: np.ndarray, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        Support(PointTie(), 0.0, HERE, HERE, compliance)


def test_supports_that_do_not_answer_each_other_are_refused() -> None:
    one_way = np.zeros((6, 12))
    one_way[0, 6] = 1.0
    with pytest.raises(ValueError, match="symmetric"):
        compliance_of([one_way, np.zeros(6)])
    with pytest.raises(ValueError, match="support 1 of 2"):
        compliance_of([np.zeros((6, 18)), None])


def settled(load: np.ndarray, stiffness: np.ndarray, felt: np.ndarray) -> tuple[np.ndarray, int]:
    """Where a support of compliance 1 settles on a linear spring, and after how many steps."""
    settling, here = Settling(compliance_of([np.ones(6)]), felt), np.zeros((1, 6))
    for steps in range(2 * MOST_SETTLINGS):
        found = settling.next(here, (load - stiffness @ here[0])[None])
        if found is None:
            return here[0], steps
        here = found
    raise AssertionError("not settled")


def test_stiff_springs_are_found_and_kept_in_mind() -> None:
    """s = C (f - K s) with C K up to 50, where plain repetition runs away: found within what an increment is given, in
    half as many steps or fewer the next time, and in one where K is known."""
    stiffness = symmetric(3)
    stiffness *= 50.0 / np.linalg.eigvalsh(stiffness)[-1]
    load, felt = np.arange(1.0, 7.0), np.zeros((6, 6))
    here, steps = settled(load, stiffness, felt)
    expected = np.linalg.solve(np.eye(6) + stiffness, load)
    np.testing.assert_allclose(here, expected, atol=2e-5 * np.abs(expected).max())
    assert steps < MOST_SETTLINGS
    there, fewer = settled(1.5 * load, stiffness, felt)
    np.testing.assert_allclose(there, 1.5 * expected, atol=3e-5 * np.abs(expected).max())
    assert fewer <= steps // 2
    like_lengths = np.repeat([1.0, TURN_COUNTS], 3)
    assert settled(load, stiffness, stiffness / np.outer(like_lengths, like_lengths))[1] == 1


def test_a_place_that_was_worse_is_left_half_way() -> None:
    """A spring that stiffens a hundredfold: the first step, as if nothing resisted, goes far beyond, and the next ones
    turn back to the best place.  A wire that finds no equilibrium there is the same to it."""
    settling = Settling(compliance_of([np.ones(6)]), np.zeros((6, 6)))
    assert settling.shorter() is None
    load = np.array([1.0, 0.0, 0.0, 0.0, 0.0, 0.0])
    first = settling.next(np.zeros((1, 6)), load[None])
    np.testing.assert_allclose(first, load[None])
    half = settling.shorter()
    np.testing.assert_allclose(half, 0.5 * load[None])


def test_a_spring_that_stiffens_is_found_too() -> None:
    """s = 1 - 10 max(s - 0.2, 0), as where play is used up: by hand s = 3/11."""
    settling, here = Settling(compliance_of([np.ones(6)]), np.zeros((6, 6))), np.zeros((1, 6))
    for _ in range(MOST_SETTLINGS):
        load = np.zeros((1, 6))
        load[0, 0] = 1.0 - 10.0 * max(here[0, 0] - 0.2, 0.0)
        found = settling.next(here, load)
        if found is None:
            break
        here = found
    assert here[0, 0] == pytest.approx(3.0 / 11.0, rel=1e-5)
    assert not here[0, 1:].any()
