"""Hooks: joints that slide along the other wire without friction (`fem.model.Joint`).

A hook's point lies on the tangent of the other wire at the place where they meet, in its two normal directions held as
any joint is.  Within a solve place and directions stand still in the other wire's node and in the world; after it both
are set anew, as the arms of walls are (fem.following), until the point is level with its place and the force is normal
to the wire."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fem.model import Joint, Model
from geometry.motion import frames_between

if TYPE_CHECKING:
    from fem.equilibrium import Problem

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

ALIGNED = 1e-6
"""Share of a hook's force that may lie along the wire."""
LEVEL = 1e-6
"""mm that a hook's point may be ahead of its place: as a lever of its force what the balance of moments errs by."""
BESIDE = 0.1
"""mm from a contact station below which a hook asks for no node of its own."""


class Hooks(NamedTuple):
    """j hooks; all but the first are set anew as they slide."""

    support: Integers  # (j,) which of the model's supports
    arcs: Array  # (j,) mm, where each is on the other wire
    arm: Array  # (j, 3) mm, from that wire's node to the place, in the node's axes
    turn: Array  # (j, 3, 3) axes of the wire there, seen from the node
    axes: Array  # (j, 3, 3) the same in the world


def hooks_of(model: Model) -> Hooks:
    """The hooks of a model, their arms to be placed."""
    sliding = [
        (k, support.restraint.other)
        for k, support in enumerate(model.supports)
        if isinstance(support.restraint, Joint) and support.restraint.slides
    ]
    count = len(sliding)
    return Hooks(
        np.array([k for k, _ in sliding], dtype=np.int64),
        np.array([arc for _, arc in sliding], dtype=np.float64),
        np.zeros((count, 3)),
        np.zeros((count, 3, 3)),
        np.zeros((count, 3, 3)),
    )


def placed_frames(hooks: Hooks, position: Array, axes: Array) -> tuple[Array, Array]:
    """Frames of all supports (k, 3) and (k, 3, 3), with those of the hooks as `fem.joints_kernel` takes them: where the
    point shall be, seen from the other wire's node, and the directions in which it is held."""
    if not hooks.support.size:
        return position, axes
    position, axes = position.copy(), axes.copy()
    along = (hooks.turn @ position[hooks.support][:, :, None])[:, :, 0]
    position[hooks.support] = hooks.arm + along
    axes[hooks.support] = hooks.axes
    return position, axes


def place_hooks(problem: Problem, arcs: Array) -> None:
    """Every hook meets the other wire at its arc length (j,), seen from the node nearest to it."""
    hooks, state, nodes = problem.hooks, problem.state, problem.model.nodes
    if not hooks.support.size:
        return
    node = np.abs(nodes - arcs[:, None]).argmin(axis=1)
    places, sections = frames_between(nodes, state.positions, state.axes, arcs)
    inward = np.swapaxes(state.axes, 1, 2)[node]
    hooks.arcs[:] = arcs
    hooks.arm[:] = (inward @ (places - state.positions[node])[:, :, None])[:, :, 0]
    hooks.turn[:] = inward @ sections
    hooks.axes[:] = sections
    holds = problem.constraints.holds
    for support, other in zip(hooks.support, node, strict=True):
        holds.other[holds.frame == support] = other


def hooks_off(problem: Problem) -> tuple[Array, bool]:
    """How far the point of each hook (j,) is ahead of its place along the other wire, mm; and whether any is too far,
    or pulls along that wire.  Beyond a wire's end there is nothing to hold on to: a hook stays at it."""
    hooks, state, model = problem.hooks, problem.state, problem.model
    if not hooks.support.size:
        return np.zeros(0), False
    places, sections = frames_between(model.nodes, state.positions, state.axes, hooks.arcs)
    tangent = sections[:, :, 0]
    points = state.positions[problem.support_nodes[hooks.support]]
    ahead = ((points - places) * tangent).sum(axis=1)
    active = _active(problem)
    ahead = np.where(active, ahead, 0.0)
    ahead = (hooks.arcs + ahead).clip(*model.ends_at(hooks.arcs)) - hooks.arcs
    turned = np.abs(tangent - hooks.axes[:, :, 0]).max(axis=1) > ALIGNED
    return ahead, bool((active & (turned | (np.abs(ahead) > LEVEL))).any())


def hook_forces(problem: Problem) -> Array:
    """Size (j,) of the force of every hook, N."""
    holds, force = problem.constraints.holds, problem.state.hold_force
    return np.array(
        [np.linalg.norm(force[holds.frame == k]) for k in problem.hooks.support], dtype=np.float64
    )


def hook_nodes(problem: Problem, stations: Array) -> tuple[Integers, Array]:
    """Nodes (j,) that the hooks are seen from and where they shall stand, mm; nan beside one of the ``stations``
    (mm), whose node serves."""
    holds, hooks = problem.constraints.holds, problem.hooks
    held = [np.flatnonzero(holds.frame == k) for k in hooks.support]
    node = np.array([holds.other[rows[0]] if rows.size else 0 for rows in held], dtype=np.int64)
    there = stations[np.isfinite(stations)]
    beside = np.abs(hooks.arcs[:, None] - there).min(axis=1, initial=np.inf) < BESIDE
    twice = np.isin(node, problem.station_nodes) | ~_active(problem)
    return node, np.where(beside | twice, np.nan, hooks.arcs)


def _active(problem: Problem) -> NDArray[np.bool_]:
    """Which hooks (j,) hold."""
    return np.isin(problem.hooks.support, problem.constraints.holds.frame)
