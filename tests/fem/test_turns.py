"""Whole turns between held sections: told by the elements, whatever the rod's shape."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from fem.turns_kernel import turned_on

Array = NDArray[np.float64]
NODES = 21


def twisted(turns: float, shape: Array) -> Array:
    """Axes (n, 3, 3) of ``shape`` (n, 3, 3), the sections turned about their tangents, by ``turns`` in all."""
    angles = np.zeros((NODES, 3))
    angles[:, 0] = np.linspace(0.0, 2.0 * math.pi * turns, NODES)
    return np.ascontiguousarray(shape @ Rotation.from_rotvec(angles).as_matrix())


def wavy(seed: int) -> Array:
    """Axes (n, 3, 3) that turn by up to 0.3 rad from node to node, anyhow."""
    steps = Rotation.from_rotvec(np.random.default_rng(seed).uniform(-0.17, 0.17, (NODES, 3)))
    whole, out = Rotation.identity(), []
    for step in steps:
        whole = whole * step
        out.append(whole.as_matrix())
    return np.array(out)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("turns", [-1, 0, 1, 2])
def test_a_whole_turn_more_is_seen(turns: int, seed: int) -> None:
    """Twice round is once round the end and back: it is not seen, and need not be."""
    before, held = wavy(seed), np.array([0, 8, NODES - 1])
    after = twisted(turns, before)
    assert turned_on(before, after, held[[0, 2]]) == (turns % 2 == 1)
    # ends that turn too, by less than half round each, are taken into account
    ends = Rotation.from_rotvec([2.0, -1.5, 0.9]).as_matrix()
    assert turned_on(before, np.ascontiguousarray(ends @ after), held[[0, 2]]) == (turns % 2 == 1)


@pytest.mark.parametrize("share", [0.2, 0.45])
def test_less_than_half_a_turn_of_a_held_section_is_none(share: float) -> None:
    before = wavy(7)
    assert not turned_on(before, twisted(share, before), np.array([0, NODES - 1]))
    assert not turned_on(before, twisted(-share, before), np.array([0, NODES - 1]))


def test_every_span_is_looked_at() -> None:
    before = wavy(8)
    after = before.copy()
    angles = np.zeros((13, 3))
    angles[:, 0] = np.linspace(0.0, 2.0 * math.pi, 13)
    after[8:] = before[8:] @ Rotation.from_rotvec(angles).as_matrix()
    assert turned_on(before, after, np.array([0, 8, NODES - 1]))
    assert not turned_on(before, after, np.array([0, 8]))
    assert not turned_on(before, after, np.zeros(0, dtype=np.int64))
