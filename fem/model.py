"""A wire and what supports it: plain values, no arrays of the solver."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.section_law import LinearSection
from geometry.motion import rotation_logarithm
from geometry.pose import Pose, frozen, rotation_about
from geometry.section import Section
from geometry.wire_shapes import PassiveShape

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SlotWalls:
    """Four rigid walls around the wire:

    ``height``, ``depth`` (mm), stations at ``offsets`` (k,) along the slot.
    """

    height: float
    depth: float
    offsets: Array
    stop: bool = False
    """The wire's section at the slot's centre cannot slide."""
    hold_roll: bool = False
    """Nor turn about its own axis."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "offsets", frozen(self.offsets))


@dataclass(frozen=True, slots=True)
class PointTie:
    """One point of the wire held in y and z, and along x too where ``stop``; carries no couple."""

    stop: bool = False


@dataclass(frozen=True, slots=True)
class Clamp:
    """One section held in position and direction; free along x where ``slides``."""

    slides: bool = False


Restraint = SlotWalls | PointTie | Clamp


@dataclass(frozen=True, slots=True)
class Support:
    """A restraint, the arc length (mm) of the wire it meets, and where it stands before and after activation."""

    restraint: Restraint
    arc: float
    start: Pose
    end: Pose

    @property
    def holds_section(self) -> bool:
        """True where one section of the wire is held, false where the wire only runs between walls."""
        return not isinstance(self.restraint, SlotWalls) or self.restraint.stop or self.restraint.hold_roll

    def frame_at(self, activation: float) -> tuple[Array, Array]:
        """Position (3,) and axes (3, 3) on the straight way from start (0) to end (1); the axes turn about one axis."""
        if activation <= 0.0:
            return self.start.position, self.start.axes
        if activation >= 1.0 or self.start is self.end:
            return self.end.position, self.end.axes
        turn = self.start.axes.T @ self.end.axes
        w = np.array(rotation_logarithm(*turn.ravel()))
        angle = float(np.linalg.norm(w))
        axes = self.start.axes if angle == 0.0 else self.start.axes @ rotation_about(w, activation * angle)
        return self.start.position + activation * (self.end.position - self.start.position), axes

    def pose_at(self, activation: float) -> Pose:
        """The same as a pose."""
        if activation <= 0.0 or activation >= 1.0:
            return self.start if activation <= 0.0 else self.end
        return Pose(*self.frame_at(activation))


@dataclass(frozen=True, slots=True)
class Model:
    """A wire with its supports.

    ``nodes`` (n,) are arc lengths of the mesh, mm; the arc of every support that holds a section is one of
    them."""

    shape: PassiveShape
    placed: Pose
    """Where the passive shape's origin stands."""
    nodes: Array
    section: Section
    law: LinearSection
    supports: tuple[Support, ...] = ()
    loads: Array | None = None
    """Dead forces and moments (n, 6) at the nodes, world axes, N and N mm: grow with the activation."""

    def __post_init__(self) -> None:
        nodes = frozen(self.nodes)
        if nodes.ndim != 1 or nodes.size < 2 or not (np.diff(nodes) > 0.0).all():
            raise ValueError("the nodes of a wire must be at least two increasing arc lengths")
        object.__setattr__(self, "nodes", nodes)
        if self.loads is not None:
            loads = frozen(self.loads)
            if loads.shape != (nodes.size, 6) or not np.isfinite(loads).all():
                raise ValueError(f"loads must be finite and of shape ({nodes.size}, 6): got {loads.shape}")
            object.__setattr__(self, "loads", loads)
        for support in self.supports:
            if support.holds_section and np.abs(nodes - support.arc).min() > 1e-9:
                raise ValueError(f"no node of the mesh lies at the support's arc length {support.arc:.6g} mm")

    def passive_frames(self, arcs: Array) -> tuple[Array, Array]:
        """Positions (k, 3) and axes (k, 3, 3) of the passive wire in the world."""
        positions, axes = self.shape.frames(arcs)
        return self.placed.to_world(positions), self.placed.axes @ axes
