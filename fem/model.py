"""A wire and what supports it: plain values, no arrays of the solver."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fem.beam_kernel import element_screws
from fem.section_law import LinearSection
from geometry.pose import Pose, frozen
from geometry.section import Section
from geometry.wire_shapes import PassiveShape

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

# mm; arc lengths are sums of typed-in lengths.
SAME_PLACE = 1e-9
# rad/mm.  A bend of 20 mm radius jumps by this where it begins; an element may lie across smaller jumps, as its strain
# is measured from the passive motion between its ends.
SHARP = 0.05


@dataclass(frozen=True, slots=True)
class Ligature:
    """Elastic lines across the front of a slot, which press the wire towards the floor.

    They bear nothing below ``rest`` (mm above the floor) and give way above it by ``stiffness`` (N/mm) in all, infinite
    where they are rigid.  ``offsets`` (k,) mm are their places along the slot, ``shares`` (k,) of the stiffness sum
    to 1.
    """

    rest: float
    stiffness: float
    offsets: Array
    shares: Array

    def __post_init__(self) -> None:
        object.__setattr__(self, "offsets", frozen(self.offsets))
        object.__setattr__(self, "shares", frozen(self.shares))
        if self.offsets.shape != self.shares.shape or abs(float(self.shares.sum()) - 1.0) > 1e-9:
            raise ValueError("a ligature has as many places as shares, and the shares sum to one")
        if not self.stiffness > 0.0:
            raise ValueError(f"the stiffness of a ligature must be above zero: got {self.stiffness!r} N/mm")


Front = Literal["closed", "open"] | Ligature


@dataclass(frozen=True, slots=True)
class SlotWalls:
    """Upper and lower wall, floor and front around the wire:

    ``height`` at the floor, ``depth`` (mm), stations at ``offsets`` (k,) along the slot, where its walls are plane.
    """

    height: float
    depth: float
    offsets: Array
    stop: bool = False
    """The wire's section at the slot's centre cannot slide."""
    hold_roll: bool = False
    """Nor turn about its own axis."""
    taper: float = 0.0
    """rad between upper and lower wall, above zero where they open to the front."""
    mouth_radius: float = 0.0
    """mm: beyond the first and the last station the walls turn away in arcs."""
    front: Front = "closed"
    """A rigid outer wall, nothing, or a ligature; without an outer wall the height walls end at the front."""
    modulus: float = np.inf
    """MPa: N per mm of slot and mm of give where an edge of the wire bears on a wall; infinite: rigid."""
    friction: float = 0.0
    """Coefficient of Coulomb friction."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "offsets", frozen(self.offsets))


@dataclass(frozen=True, slots=True)
class Edge:
    """A knife edge or, with a ``radius`` (mm), a roller: a line along the support's z that the wire may rest on.

    The wire lies on its +y side where it is ``below`` the wire, else on its -y side.  The support stands where the line
    touches.
    """

    radius: float = 0.0
    below: bool = True
    friction: float = 0.0


@dataclass(frozen=True, slots=True)
class PointTie:
    """One point of the wire held in y and z, and along x too where ``stop``; carries no couple.

    With a ``thread`` (mm) that point is free until it is so far from the support's x axis, and then pulled back, by
    ``stiffness`` (N/mm; infinite: a thread that does not stretch).
    """

    stop: bool = False
    thread: float | None = None
    stiffness: float = np.inf


@dataclass(frozen=True, slots=True)
class Clamp:
    """One section held in position and direction; free along x where ``slides``."""

    slides: bool = False


Restraint = SlotWalls | Edge | PointTie | Clamp


@dataclass(frozen=True, slots=True)
class Support:
    """A restraint, the arc length (mm) of the wire it meets, and where it stands before and after activation."""

    restraint: Restraint
    arc: float
    start: Pose
    end: Pose
    compliance: Array | None = None
    """(6,) how it gives way along and about its own axes, mm/N and rad/(N mm); None: not at all."""

    def __post_init__(self) -> None:
        if self.compliance is not None:
            values = frozen(self.compliance)
            if values.shape != (6,) or not (np.isfinite(values).all() and (values >= 0.0).all()):
                raise ValueError(
                    f"a support needs six compliances, finite and not below zero: got {values!r}"
                )
            object.__setattr__(self, "compliance", values)

    @property
    def holds_section(self) -> bool:
        """True where one section of the wire is held, false where the wire only runs between walls."""
        if isinstance(self.restraint, SlotWalls):
            return self.restraint.stop or self.restraint.hold_roll
        return not isinstance(self.restraint, Edge)


@dataclass(frozen=True, slots=True)
class Model:
    """A wire with its supports.

    ``nodes`` (n,) are arc lengths of the mesh, mm; every sharp break of the passive shape within it and the arc of
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
        breaks = self._sharp_breaks()
        held = [support.arc for support in self.supports if support.holds_section]
        return np.concatenate(((first, last), breaks[(breaks > first) & (breaks < last)], held))

    def _sharp_breaks(self) -> Array:
        """Where the passive curvature jumps by more than a smooth curve drawn in pieces does."""
        breaks = self.shape.breaks
        curvature = self.shape.curvature(0.5 * (breaks[1:] + breaks[:-1]))
        return np.asarray(breaks[1:-1][np.linalg.norm(np.diff(curvature, axis=0), axis=1) > SHARP])

    def still_nodes(self) -> Integers:
        """Numbers of the nodes that may not move along the wire: its ends, breaks and held sections."""
        nearest = np.abs(self.nodes - self._marks()[:, None]).argmin(axis=1)
        return np.unique(nearest).astype(np.int64)

    def passive_frames(self, arcs: Array) -> tuple[Array, Array]:
        """Positions (k, 3) and axes (k, 3, 3) of the passive wire in the world."""
        positions, axes = self.shape.frames(arcs)
        return self.placed.to_world(positions), self.placed.axes @ axes

    def passive_screws(self) -> Array:
        """Motion (m, 6) from end to end of every element of the passive wire, seen at its first end."""
        positions, axes = self.passive_frames(self.nodes)
        screws = np.empty((self.nodes.size - 1, 6))
        element_screws(positions, axes, screws)
        return screws
