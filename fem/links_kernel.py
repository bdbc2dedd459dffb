"""Links: springs between two nodes, anywhere along the wires; and what they share with joints.

A link of rest length r and stiffness k between the nodes a and b, L apart along the unit vector n, pulls with

    F = k (L - r),  energy k (L - r)^2/2      none while L < r where it only pulls
    second derivative along the nodes' motion apart:  k n n^T + (F/L) (I - n n^T)

As a and b are no neighbours this does not fit into the blocks of the chain.  With c the columns of a root of it,
taken with opposite signs to both nodes, the matrix is K = T + sum of c c^T, and

    K^-1 r = x - Z y,  T x = r,  T Z = C,  (I + C^T Z) y = C^T x         Sherman, Morrison & Woodbury

(Golub & Van Loan, Matrix Computations (4th ed. 2013), 2.1.4.)  K has as many wrong pivots less than T as I + C^T Z has
(inertia of a bordered matrix: Haynsworth, Linear Algebra Appl. 1 (1968) 73).  Of a compressed link the second, negative
part is left out of the matrix, never of the balance.

A joint's hold (joints_kernel) adds w g g^T, with g along the motions of both its nodes: one column more, after those
of the links."""

from __future__ import annotations

import numpy as np

from fem.blocks_kernel import solve_blocks
from fem.unsymmetric_kernel import solve_unsymmetric
from geometry.compiled import kernel

COLUMNS = 3  # of each link


@kernel
def _direction(positions, links, s):
    """Unit vector from first to other node, and their distance."""
    a = links.first[s]
    b = links.other[s]
    x = positions[b, 0] - positions[a, 0]
    y = positions[b, 1] - positions[a, 1]
    z = positions[b, 2] - positions[a, 2]
    length = np.sqrt(x * x + y * y + z * z)
    if length == 0.0:
        return 1.0, 0.0, 0.0, 0.0
    return x / length, y / length, z / length, length


@kernel
def _tension(links, s, length):
    pull = links.rate[s] * (length - links.rest[s])
    return 0.0 if pull < 0.0 and links.pulls_only[s] else pull


@kernel
def add_links(positions, axes, links, residual):
    """residual (n, 6) += the derivative of the links' energy, which it returns."""
    energy = 0.0
    for s in range(links.first.size):
        x, y, z, length = _direction(positions, links, s)
        pull = _tension(links, s, length)
        if pull == 0.0:
            continue
        energy += 0.5 * pull * pull / links.rate[s]
        a = links.first[s]
        b = links.other[s]
        for j in range(3):
            residual[a, j] -= pull * (axes[a, 0, j] * x + axes[a, 1, j] * y + axes[a, 2, j] * z)
            residual[b, j] += pull * (axes[b, 0, j] * x + axes[b, 1, j] * y + axes[b, 2, j] * z)
    return energy


@kernel
def add_link_curvature(positions, axes, links, diagonal):
    """diagonal += (theta x u)/2 times the derivative of the energy by u, at both ends."""
    for s in range(links.first.size):
        x, y, z, length = _direction(positions, links, s)
        pull = _tension(links, s, length)
        if pull == 0.0:
            continue
        for end in range(2):
            i = links.first[s] if end == 0 else links.other[s]
            sign = -0.5 * pull if end == 0 else 0.5 * pull
            for j in range(3):
                j1 = (j + 1) % 3
                j2 = (j + 2) % 3
                half = sign * (axes[i, 0, j] * x + axes[i, 1, j] * y + axes[i, 2, j] * z)
                diagonal[i, 3 + j1, j2] += half
                diagonal[i, j2, 3 + j1] += half
                diagonal[i, 3 + j2, j1] -= half
                diagonal[i, j1, 3 + j2] -= half


@kernel
def _hold_of(links, holds, columns, column):
    """Number of the joint's hold that a column belongs to, -1 for a link's: joints come last in both."""
    return holds.node.size - (columns - column) if column >= COLUMNS * links.first.size else -1


@kernel
def _ends(links, holds, hold, column):
    """The two nodes of a column."""
    if hold >= 0:
        return holds.node[hold], holds.other[hold]
    return links.first[column // COLUMNS], links.other[column // COLUMNS]


@kernel
def _fill_column(positions, axes, links, holds, gradient, other_gradient, weight, hold, column, out):
    """out (n, 6) = column c of link column // 3, or of a joint's ``hold``; all zeros where it has no stiffness."""
    for i in range(out.shape[0]):
        for j in range(6):
            out[i, j] = 0.0
    if hold >= 0:
        root = np.sqrt(weight[hold])
        for j in range(6):
            out[holds.node[hold], j] = root * gradient[hold, j]
            out[holds.other[hold], j] = root * other_gradient[hold, j]
        return
    s = column // COLUMNS
    which = column % COLUMNS
    x, y, z, length = _direction(positions, links, s)
    pull = _tension(links, s, length)
    taut = pull != 0.0 or not links.pulls_only[s]
    stiff = 0.0
    if which == 0:
        stiff = links.rate[s] if taut else 0.0
    elif pull > 0.0 and length > 0.0:
        stiff = pull / length
    if stiff == 0.0:
        return
    if which > 0:
        # two directions square to the link and to each other (Duff et al., J. Computer Graphics Techniques 6 (2017) 1)
        sign = 1.0 if z >= 0.0 else -1.0
        p = -1.0 / (sign + z)
        q = x * y * p
        if which == 1:
            x, y, z = 1.0 + sign * x * x * p, sign * q, -sign * x
        else:
            x, y, z = q, sign + y * y * p, -y
    root = np.sqrt(stiff)
    a = links.first[s]
    b = links.other[s]
    for j in range(3):
        out[a, j] = -root * (axes[a, 0, j] * x + axes[a, 1, j] * y + axes[a, 2, j] * z)
        out[b, j] = root * (axes[b, 0, j] * x + axes[b, 1, j] * y + axes[b, 2, j] * z)


@kernel
def _along_column(
    positions, axes, links, holds, gradient, other_gradient, weight, columns, column, scratch, vector
):  # fmt: skip
    """c . vector (n, 6)."""
    hold = _hold_of(links, holds, columns, column)
    _fill_column(positions, axes, links, holds, gradient, other_gradient, weight, hold, column, scratch)
    first, other = _ends(links, holds, hold, column)
    total = 0.0
    for j in range(6):
        total += scratch[first, j] * vector[first, j] + scratch[other, j] * vector[other, j]
    return total


@kernel
def couple_links(
    positions, axes, links, holds, gradient, other_gradient, weight, symmetric, diagonal, upper, shift, factors, order,
    couplings, columns, scratch, small,
):  # fmt: skip
    """columns (c, n, 6) = Z and small (c, c) = the factors of I + C^T Z.

    Returns how many wrong pivots less than T the whole matrix has."""
    count = columns.shape[0]
    for j in range(count):
        hold = _hold_of(links, holds, count, j)
        _fill_column(positions, axes, links, holds, gradient, other_gradient, weight, hold, j, columns[j])
        if symmetric:
            solve_blocks(factors, couplings, columns[j])
        else:
            solve_unsymmetric(diagonal, upper, shift, factors, order, couplings, columns[j])
    for i in range(count):
        for j in range(count):
            small[i, j] = _along_column(
                positions, axes, links, holds, gradient, other_gradient, weight, count, i, scratch, columns[j]
            )
        small[i, i] += 1.0
    wrong = 0
    # Gaussian elimination without exchange: the matrix is the identity and more
    for j in range(count):
        if not small[j, j] > 0.0:
            wrong += 1
        if small[j, j] == 0.0:
            small[j, j] = 1e-300
        for i in range(j + 1, count):
            small[i, j] /= small[j, j]
            for k in range(j + 1, count):
                small[i, k] -= small[i, j] * small[j, k]
    return wrong


@kernel
def subtract_links(
    positions, axes, links, holds, gradient, other_gradient, weight, columns, scratch, small, right, step
):  # fmt: skip
    """step (n, 6): from T^-1 r to K^-1 r, with what `couple_links` found; right (c,) is scratch."""
    count = columns.shape[0]
    for i in range(count):
        right[i] = _along_column(
            positions, axes, links, holds, gradient, other_gradient, weight, count, i, scratch, step
        )
        for k in range(i):
            right[i] -= small[i, k] * right[k]
    for i in range(count - 1, -1, -1):
        for k in range(i + 1, count):
            right[i] -= small[i, k] * right[k]
        right[i] /= small[i, i]
    for c in range(count):
        for i in range(step.shape[0]):
            for j in range(6):
                step[i, j] -= right[c] * columns[c, i, j]
