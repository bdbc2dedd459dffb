"""Block-tridiagonal LDL^T factorisation: cost grows linearly with the number of nodes.

Inside each 6 x 6 block a scalar LDL^T without pivoting; the signs of all pivots together are the inertia of
the whole matrix (Sylvester's law), so a negative pivot says that the equilibrium is no minimum of the energy
along some direction. Source: Golub & Van Loan, Matrix Computations (4th ed. 2013), sections 4.1 and 4.5."""

from __future__ import annotations

from geometry.compiled import kernel


@kernel
def _factor_block(block):
    """In place:

    unit lower factor below the diagonal, pivots on it.  Returns the number of pivots that are not positive.
    """
    wrong = 0
    for j in range(6):
        pivot = block[j, j]
        for k in range(j):
            pivot -= block[j, k] * block[j, k] * block[k, k]
        if not pivot > 0.0:
            wrong += 1
            if pivot == 0.0:
                pivot = 1e-300
        block[j, j] = pivot
        for i in range(j + 1, 6):
            value = block[i, j]
            for k in range(j):
                value -= block[i, k] * block[j, k] * block[k, k]
            block[i, j] = value / pivot
    return wrong


@kernel
def factorise(diagonal, upper, shift, factors, couplings):
    """Factor diagonal (n, 6, 6) + shift (6,), upper (n-1, 6, 6) into factors and couplings = D_i^-1 U_i.

    Returns the number of pivots that are not positive.
    """
    n = diagonal.shape[0]
    wrong = 0
    for node in range(n):
        block = factors[node]
        for i in range(6):
            for j in range(i + 1):
                block[i, j] = diagonal[node, i, j]
            block[i, i] += shift[i]
        if node > 0:
            u = upper[node - 1]
            v = couplings[node - 1]
            for i in range(6):
                for j in range(i + 1):
                    total = 0.0
                    for k in range(6):
                        total += u[k, i] * v[k, j]
                    block[i, j] -= total
        wrong += _factor_block(block)
        if node < n - 1:
            u = upper[node]
            v = couplings[node]
            for i in range(6):
                for j in range(6):
                    value = u[i, j]
                    for k in range(i):
                        value -= block[i, k] * v[k, j]
                    v[i, j] = value
            for i in range(5, -1, -1):
                pivot = 1.0 / block[i, i]
                for j in range(6):
                    v[i, j] *= pivot
            for i in range(5, -1, -1):
                for k in range(i + 1, 6):
                    low = block[k, i]
                    for j in range(6):
                        v[i, j] -= low * v[k, j]
    return wrong


@kernel
def solve_blocks(factors, couplings, right):
    """right (n, 6) becomes the solution."""
    n = factors.shape[0]
    for node in range(1, n):
        v = couplings[node - 1]
        for i in range(6):
            total = 0.0
            for k in range(6):
                total += v[k, i] * right[node - 1, k]
            right[node, i] -= total
    for node in range(n - 1, -1, -1):
        block = factors[node]
        for i in range(6):
            for k in range(i):
                right[node, i] -= block[i, k] * right[node, k]
        for i in range(6):
            right[node, i] /= block[i, i]
        for i in range(5, -1, -1):
            for k in range(i + 1, 6):
                right[node, i] -= block[k, i] * right[node, k]
        if node < n - 1:
            v = couplings[node]
            for i in range(6):
                total = 0.0
                for k in range(6):
                    total += v[i, k] * right[node + 1, k]
                right[node, i] -= total
