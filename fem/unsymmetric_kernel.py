"""Block-tridiagonal factorisation of a matrix whose diagonal blocks are not symmetric, as friction makes them.

The blocks beside the diagonal are U_i above and U_i^T below.  Inside each 6 x 6 block Gaussian elimination with
exchange of rows.  Source: Golub & Van Loan, Matrix Computations (4th ed. 2013), sections 3.4 and 4.5."""

from __future__ import annotations

from geometry.compiled import kernel


@kernel
def _factor_rows(block, order):
    """In place: unit lower factor below the diagonal, upper factor on and above it; ``order`` (6,) are the row
    exchanges."""
    for j in range(6):
        best = j
        for i in range(j + 1, 6):
            if abs(block[i, j]) > abs(block[best, j]):
                best = i
        order[j] = best
        if best != j:
            for k in range(6):
                kept = block[j, k]
                block[j, k] = block[best, k]
                block[best, k] = kept
        if block[j, j] == 0.0:
            block[j, j] = 1e-300
        for i in range(j + 1, 6):
            block[i, j] /= block[j, j]
            for k in range(j + 1, 6):
                block[i, k] -= block[i, j] * block[j, k]


@kernel
def _solve_rows(block, order, right):
    """right (6,) becomes the solution."""
    for j in range(6):
        best = order[j]
        if best != j:
            kept = right[j]
            right[j] = right[best]
            right[best] = kept
    for i in range(6):
        for k in range(i):
            right[i] -= block[i, k] * right[k]
    for i in range(5, -1, -1):
        for k in range(i + 1, 6):
            right[i] -= block[i, k] * right[k]
        right[i] /= block[i, i]


@kernel
def solve_unsymmetric(diagonal, upper, shift, factors, order, couplings, right):
    """right (n, 6) becomes the solution for diagonal (n, 6, 6) + shift (6,) and upper (n-1, 6, 6).

    factors (n, 6, 6), order (n, 6) and couplings (n-1, 6, 6) = (D_i^-1 U_i)^T are scratch.
    """
    n = diagonal.shape[0]
    for node in range(n):
        block = factors[node]
        for i in range(6):
            for j in range(6):
                block[i, j] = diagonal[node, i, j]
            block[i, i] += shift[i]
        if node > 0:
            u = upper[node - 1]
            v = couplings[node - 1]
            for i in range(6):
                for k in range(6):
                    below = u[k, i]
                    right[node, i] -= below * right[node - 1, k]
                    for j in range(6):
                        block[i, j] -= below * v[j, k]
        _factor_rows(block, order[node])
        _solve_rows(block, order[node], right[node])
        if node < n - 1:
            # columns of U_i become rows of the scratch, so that each is solved in one piece
            u = upper[node]
            v = couplings[node]
            for j in range(6):
                for i in range(6):
                    v[j, i] = u[i, j]
                _solve_rows(block, order[node], v[j])
    for node in range(n - 2, -1, -1):
        v = couplings[node]
        for i in range(6):
            total = 0.0
            for k in range(6):
                total += v[k, i] * right[node + 1, k]
            right[node, i] -= total
