"""A wire and what supports it: plain values, no arrays of the solver."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.section_law import LinearSection
from geometry.pose import Pose, frozen
from geometry.section import Section
from geometry.wire_shapes import PassiveShape

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

# mm; arc lengths are sums of typed-in lengths.
SAME_PLACE = 1e-9


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


@dataclass(frozen=True, slots=True)
class Model:
    """A wire with its supports.

    ``nodes`` (n,) are arc lengths of the mesh, mm; every break of the passive shape within it and the arc of
    every support that holds a section are among them."""

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
        places = self._marks()
        apart = np.abs(nodes - places[:, None]).min(axis=1)
        if apart.max() > SAME_PLACE:
            raise ValueError(
                f"no node of the mesh lies at arc length {places[apart.argmax()]:.6g} mm, where a support holds "
                f"the wire or its passive shape has a break"
            )

    def _marks(self) -> Array:
        """Arc lengths where a node must be."""
        first, last = self.nodes[0], self.nodes[-1]
        breaks = self.shape.breaks
        held = [support.arc for support in self.supports if support.holds_section]
        return np.concatenate(((first, last), breaks[(breaks > first) & (breaks < last)], held))

    def still_nodes(self) -> Integers:
        """Numbers of the nodes that may not move along the wire: its ends, breaks and held sections."""
        nearest = np.abs(self.nodes - self._marks()[:, None]).argmin(axis=1)
        return np.unique(nearest).astype(np.int64)

    def passive_frames(self, arcs: Array) -> tuple[Array, Array]:
        """Positions (k, 3) and axes (k, 3, 3) of the passive wire in the world."""
        positions, axes = self.shape.frames(arcs)
        return self.placed.to_world(positions), self.placed.axes @ axes

    def passive_screws(self) -> Array:
        """Motion (m, 6) from end to end of every element of the passive wire, seen at its first end.

        Along a piece of constant curvature it is the length times (e1, curvature), exactly (geometry.centreline).
        """
        lengths = np.diff(self.nodes)[:, None]
        curvatures = self.shape.curvature(0.5 * (self.nodes[1:] + self.nodes[:-1]))
        return lengths * np.column_stack((np.ones_like(lengths), np.zeros((lengths.size, 2)), curvatures))
