"""Whole turns between two held sections.

The axes of two sections do not say how often a rod turns between them; its elements do, each of which turns less than
half round.  Their unit quaternions, multiplied, say it as far as motion can ever tell: from one state to the next in
which nothing jumps, the product for the rod changes by the small turns of the two sections and by nothing else, and a
whole turn more shows in its sign.  (Two whole turns more do not: those can be undone by moving the rod round its end.)

Source: the rotation group has two classes of closed ways, told apart by the sign of the quaternion: Altmann, Rotations,
Quaternions, and Double Groups (1986), ch. 10 (from memory)."""

from __future__ import annotations

import numpy as np

from geometry.compiled import kernel
from geometry.motion import relative_motion


@kernel
def _times_turn(q, a, b, back, nowhere, screw):
    """q (4,) = q times the quaternion, with positive scalar, of the turn from axes a to axes b, or ``back``.

    ``nowhere`` (3,): where both stand; ``screw`` (6,) is scratch."""
    relative_motion(nowhere, a, nowhere, b, screw)
    x, y, z = screw[3], screw[4], screw[5]
    angle = np.sqrt(x * x + y * y + z * z)
    scalar = np.cos(0.5 * angle)
    share = 0.5 if angle < 1e-8 else np.sin(0.5 * angle) / angle
    if back:
        share = -share
    x *= share
    y *= share
    z *= share
    q0, q1, q2, q3 = q[0], q[1], q[2], q[3]
    q[0] = q0 * scalar - q1 * x - q2 * y - q3 * z
    q[1] = q0 * x + q1 * scalar + q2 * z - q3 * y
    q[2] = q0 * y - q1 * z + q2 * scalar + q3 * x
    q[3] = q0 * z + q1 * y - q2 * x + q3 * scalar


@kernel
def turned_on(before, after, held):
    """Whether the rod between any two neighbours among the nodes ``held`` (h,) has a whole turn more or less.

    ``before`` and ``after`` (n, 3, 3): axes of all nodes of one mesh, before and after a step in which no held node
    turned half round."""
    q, nowhere, screw = np.empty(4), np.zeros(3), np.empty(6)
    for k in range(held.size - 1):
        a = held[k]
        b = held[k + 1]
        # the way from a to b in the state before, on with b, back along the rod as it is, and back with a
        q[0] = 1.0
        q[1] = 0.0
        q[2] = 0.0
        q[3] = 0.0
        for i in range(a, b):
            _times_turn(q, before[i], before[i + 1], False, nowhere, screw)
        _times_turn(q, before[b], after[b], False, nowhere, screw)
        for i in range(b, a, -1):
            _times_turn(q, after[i - 1], after[i], True, nowhere, screw)
        _times_turn(q, before[a], after[a], True, nowhere, screw)
        if q[0] < 0.0:
            return True
    return False
