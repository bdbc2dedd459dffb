"""The engaged wire between its nodes: constant curvature from one node to the next.  Numbers only."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from cases.results import WireResult
from geometry.pose import Pose

Array = NDArray[np.float64]

# Between two nodes the wire is drawn in steps of at most this turn, so that a bend looks round.
_STEP_RAD = np.radians(2.5)
# Steps between two nodes where a plane is looked for: nodes in a slot are 0.25 mm apart at most.
_FINE = 32


def refined(positions: Array, axes: Array, values: Array, least: int = 1) -> tuple[Array, Array, Array]:
    """Points (k, 3), frames (k, 3, 3) and values (k,) with the turns between nodes filled in.

    Between two nodes the wire has one constant curvature: the chord of each small step is the chord turned
    with it, and all steps together end on the next node.  There are ``least`` steps or more.
    """
    out_x, out_a, out_v = [positions[:1]], [axes[:1]], [values[:1]]
    turns = Rotation.from_matrix(np.swapaxes(axes[:-1], 1, 2) @ axes[1:]).as_rotvec()
    counts = np.maximum(least, np.ceil(np.linalg.norm(turns, axis=1) / _STEP_RAD)).astype(int)
    for i, count in enumerate(counts):
        if count == 1:
            out_x.append(positions[i + 1 : i + 2])
            out_a.append(axes[i + 1 : i + 2])
            out_v.append(values[i + 1 : i + 2])
            continue
        share = np.arange(1, count + 1) / count
        frames = axes[i] @ Rotation.from_rotvec(share[:, None] * turns[i]).as_matrix()
        middles = axes[i] @ Rotation.from_rotvec((share - 0.5 / count)[:, None] * turns[i]).as_matrix()
        # One local chord serves all steps; it is found from where they must end.
        chord = np.linalg.solve(middles.sum(axis=0), positions[i + 1] - positions[i])
        out_x.append(positions[i] + np.cumsum(middles @ chord, axis=0))
        out_a.append(frames)
        out_v.append(values[i] + share * (values[i + 1] - values[i]))
    return np.concatenate(out_x), np.concatenate(out_a), np.concatenate(out_v)


def frame_at(wire: WireResult, pose: Pose, offset: float) -> tuple[Array, Array] | None:
    """Where the wire crosses the plane x = ``offset`` (mm) of an attachment's own axes.

    Gives the centre (3,) and the axes (3, 3) of its section there, both in the attachment's own axes, or None
    where the wire ends before that plane.  Of several crossings the one nearest to the attachment counts.
    """
    local = pose.to_local(wire.positions_mm)
    beyond = local[:, 0] - offset
    crossing = np.flatnonzero((beyond[:-1] <= 0.0) & (beyond[1:] >= 0.0))
    if crossing.size == 0:
        return None
    i = int(crossing[np.argmin(np.linalg.norm(local[crossing], axis=1))])
    own = np.asarray(pose.axes.T @ wire.axes[i : i + 2])
    points, frames, _ = refined(local[i : i + 2], own, np.zeros(2), _FINE)
    k = min(int(np.searchsorted(points[:, 0], offset, side="right")), len(points) - 1)
    step = points[k, 0] - points[k - 1, 0]
    share = 0.0 if step == 0.0 else float(np.clip((offset - points[k - 1, 0]) / step, 0.0, 1.0))
    turn = Rotation.from_matrix(frames[k - 1].T @ frames[k]).as_rotvec()
    centre = points[k - 1] + share * (points[k] - points[k - 1])
    return centre, np.asarray(frames[k - 1] @ Rotation.from_rotvec(share * turn).as_matrix())
