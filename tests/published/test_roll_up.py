"""Pure bending: a straight wire rolled up to a circle, and a ring unrolled.

Exact: curvature M/EI everywhere.  Three nodes of a full turn: an open finite-element code's validation manual,
case V6.02.103.  The ring: Ibrahimbegovic, Comput. Methods Appl. Mech. Engng 122 (1995) 11.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.path import engage
from geometry.wire_shapes import Bend, PassiveShape
from tests.fem_problems import cantilever, slender_stiffness


@pytest.mark.parametrize("turns", [0.25, 0.5, 1.0])
def test_straight_wire_rolls_up(turns: float) -> None:
    """M = m EI/L: end at x = sin(m)/m, y = (1 - cos m)/m."""
    m = 2.0 * math.pi * turns
    problem = engage(cantilever(slender_stiffness(300.0), 10, [0, 0, 0, 0, 0, m])).problem
    angle = m * problem.model.nodes
    expected = np.column_stack((np.sin(angle), 1.0 - np.cos(angle), 0.0 * angle)) / m
    np.testing.assert_allclose(problem.state.positions, expected, rtol=0.0, atol=1e-8)


def test_nodes_of_a_full_turn() -> None:
    """V6.02.103: E I = 2, L = 1, M = 4 pi; displacement along x at 2/5, 3/5 and the whole of the length."""
    stiffness = slender_stiffness(300.0, bending=2.0)
    problem = engage(cantilever(stiffness, 10, [0, 0, 0, 0, 0, 4.0 * math.pi])).problem
    nodes = [4, 6, 10]
    moved = problem.state.positions[nodes, 0] - problem.model.nodes[nodes]
    np.testing.assert_allclose(moved, [-0.30645, -0.69355, -1.0], rtol=0.0, atol=6e-6)


def test_out_of_plane_axes_roll_up_the_same() -> None:
    """About the other bending axis: the circle lies in the plane of x and -z."""
    problem = engage(cantilever(slender_stiffness(300.0), 10, [0, 0, 0, 0, 2.0 * math.pi, 0])).problem
    np.testing.assert_allclose(problem.state.positions[-1], 0.0, atol=1e-8)
    np.testing.assert_allclose(problem.state.positions[5], [0.0, 0.0, -1.0 / math.pi], atol=1e-8)


@pytest.mark.parametrize(
    ("moment", "end"),
    [(10.0 * math.pi, (0.0, 20.0 / math.pi)), (20.0 * math.pi, (10.0, 0.0))],
)
def test_ring_unrolls(moment: float, end: tuple[float, float]) -> None:
    """Length 10, EI = 100: 10 pi opens the ring to a semicircle (end displaced by 6.366), 20 pi to a straight rod."""
    length, bending = 10.0, 100.0
    ring = PassiveShape((Bend(2.0 * math.pi, "second", length / (2.0 * math.pi)),))
    stiffness = slender_stiffness(300.0, bending=bending, length=length, torsion=bending)
    problem = engage(cantilever(stiffness, 20, [0, 0, 0, 0, 0, -moment], ring)).problem
    np.testing.assert_allclose(problem.state.positions[-1], [*end, 0.0], rtol=0.0, atol=1e-7)
    left = 2.0 * math.pi - moment * length / bending
    tangent = problem.state.axes[-1, :, 0]
    np.testing.assert_allclose(tangent, [math.cos(left), math.sin(left), 0.0], rtol=0.0, atol=1e-7)
