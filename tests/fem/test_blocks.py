"""The block factorisation against dense linear algebra."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from fem.blocks_kernel import factorise, solve_blocks
from tests.fem_problems import dense

Array = NDArray[np.float64]


def random_blocks(n: int, seed: int) -> tuple[Array, Array]:
    """Symmetric, indefinite blocks (n, 6, 6) and the ones beside them (n - 1, 6, 6)."""
    rng = np.random.default_rng(seed)
    diagonal = rng.normal(size=(n, 6, 6))
    return diagonal + np.swapaxes(diagonal, 1, 2), rng.normal(size=(n - 1, 6, 6))


def factored(diagonal: Array, upper: Array, shift: Array) -> tuple[int, Array, Array]:
    factors, couplings = np.full_like(diagonal, np.nan), np.full_like(upper, np.nan)
    wrong = factorise(diagonal, upper, shift, factors, couplings)
    return wrong, factors, couplings


@pytest.mark.parametrize("n", [1, 2, 7, 40])
def test_solution_is_the_dense_one(n: int) -> None:
    diagonal, upper = random_blocks(n, n)
    # By Gershgorin's theorem no eigenvalue stays negative.
    shift = 40.0 + np.arange(6.0)
    right = np.random.default_rng(1).normal(size=(n, 6))
    wrong, factors, couplings = factored(diagonal, upper, shift)
    solution = right.copy()
    solve_blocks(factors, couplings, solution)
    matrix = dense(diagonal + np.diag(shift), upper)
    assert wrong == 0
    np.testing.assert_allclose(solution.ravel(), np.linalg.solve(matrix, right.ravel()), rtol=0.0, atol=1e-13)


@pytest.mark.parametrize("n", [1, 2, 7, 40])
@pytest.mark.parametrize("shift", [-8.0, -2.0, 0.0, 3.0, 9.0])
def test_wrong_pivots_count_the_negative_eigenvalues(n: int, shift: float) -> None:
    """Sylvester's law of inertia (Golub & Van Loan, Matrix Computations, 4th ed. 2013, section 8.1)."""
    diagonal, upper = random_blocks(n, 100 + n)
    wrong, factors, couplings = factored(diagonal, upper, np.full(6, shift))
    matrix = dense(diagonal + shift * np.eye(6), upper)
    assert wrong == (np.linalg.eigvalsh(matrix) < 0.0).sum()
    # Indefinite blocks are factored without pivoting, so that digits are lost; what is left solves the system.
    right = np.random.default_rng(2).normal(size=(n, 6))
    solution = right.copy()
    solve_blocks(factors, couplings, solution)
    np.testing.assert_allclose(matrix @ solution.ravel(), right.ravel(), rtol=0.0, atol=1e-7)


def test_only_the_lower_halves_of_the_diagonal_blocks_are_read() -> None:
    diagonal, upper = random_blocks(3, 5)
    diagonal += 40.0 * np.eye(6)
    spoilt = diagonal.copy()
    spoilt[:, *np.triu_indices(6, 1)] = np.nan
    for one, other in zip(
        factored(diagonal, upper, np.zeros(6))[1:], factored(spoilt, upper, np.zeros(6))[1:], strict=True
    ):
        below = np.tril(np.ones((6, 6), dtype=bool)) if one.shape[0] == 3 else np.ones((6, 6), dtype=bool)
        np.testing.assert_array_equal(one[:, below], other[:, below])


def test_a_motion_without_stiffness_counts_as_wrong_and_leaves_the_rest_alone() -> None:
    diagonal = np.tile(np.diag([2.0, 0.0, 3.0, 4.0, 5.0, 6.0]), (2, 1, 1))
    wrong, factors, couplings = factored(diagonal, np.zeros((1, 6, 6)), np.zeros(6))
    right = np.array([[2.0, 0.0, 3.0, 4.0, 5.0, 6.0]] * 2)
    solve_blocks(factors, couplings, right)
    assert wrong == 2
    np.testing.assert_array_equal(right, [[1.0, 0.0, 1.0, 1.0, 1.0, 1.0]] * 2)
