"""The arrays that kernels work on, grouped by what they are.

A kernel binds the ones it needs to local names first: that keeps both its code and its compilation short.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Integers = NDArray[np.int64]


class Beam(NamedTuple):
    """m elements."""

    lengths: Array  # (m,) mm
    passive_screws: Array  # (m, 6) mm, rad
    stiffness: Array  # (m, 6, 6) section stiffness: N, N mm, N mm^2


class Sites(NamedTuple):
    """Walls at stations; see contact_kernel."""

    slot: Integers
    offset: Array
    axis: Integers
    wall: Array
    first: Integers
    sign: Array
    corner_y: Array
    corner_z: Array
    radius: Array
    half_range: Array  # (m,) mm; negative: one-sided


class Holds(NamedTuple):
    """Equality constraints on nodes; see holds_kernel."""

    node: Integers
    frame: Integers
    kind: Integers


class State(NamedTuple):
    """What one increment hands to the next.  The first seven arrays are views of ``flat``, in this order."""

    positions: Array  # (n, 3) mm
    axes: Array  # (n, 3, 3)
    predicted: Array  # (m, 6) stress for the geometric tangent
    slack: Array
    low: Array
    high: Array
    hold_force: Array
    flat: Array
    gap: Array
    gradient: Array
    site_node: Integers
    site_there: Integers
    site_ahead: Array
    site_point: Array


class Work(NamedTuple):
    """Scratch, so that nothing is allocated in the loops."""

    screws: Array
    stress: Array
    jacobians: Array
    residual: Array
    diagonal: Array
    upper: Array
    factors: Array
    couplings: Array
    step: Array
    right: Array
    change: Array
    weight: Array
    force: Array
    target: Array
    mode: Integers
    hold_value: Array
    hold_gradient: Array
    hold_weight: Array
    hold_step: Array
    positions: Array
    axes: Array
    d_slack: Array
    d_low: Array
    d_high: Array
