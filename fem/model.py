"""A wire and what supports it: plain values, no arrays of the solver."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from fem.beam_kernel import element_screws
from fem.mounts import refuse_unphysical
from fem.section_law import LinearSection
from geometry.attachments import LARGEST_TAPER, Slot
from geometry.checks import (
    LONGEST,
    all_of,
    flag,
    friction,
    increasing,
    length,
    length_or_zero,
    number,
    numbers,
    one_of,
    shown,
    stiffness,
)
from geometry.pose import Pose
from geometry.section import Section
from geometry.seen_slot import SAME_SIZE, room_in_height
from geometry.wire_shapes import END_ROUNDING, PassiveShape

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

# mm; arc lengths are sums of typed-in lengths.
SAME_PLACE = 1e-9
# rad/mm.  A bend of 20 mm radius jumps by this where it begins; an element may lie across smaller jumps, as its strain
# is measured from the passive motion between its ends.
SHARP = 0.05
FINENESS = (1e-3, 1e3)
# rad.  The motion from node to node is read off as a turn of less than half a circle; what a passive element turns by
# leaves at least half of that to its deformation.
MOST_TURN = 0.5 * math.pi


@dataclass(frozen=True, slots=True)
class Ligature:
    """Elastic lines across the front of a slot, which press the wire towards the floor.

    They bear nothing below ``rest`` (mm above the floor) and give way above it by ``stiffness`` (N/mm) in all, infinite
    where they are rigid.  ``offsets`` (k,) mm, increasing, are their places along the slot, ``shares`` (k,) of the
    stiffness, each above zero, sum to 1.  Raises ValueError for anything else.
    """

    rest: float
    stiffness: float
    offsets: Array
    shares: Array

    def __post_init__(self) -> None:
        rest = number("where a ligature rests", self.rest, "mm", -LONGEST, LONGEST)
        whole = stiffness("the stiffness of a ligature", self.stiffness, "N/mm")
        offsets = increasing("the places of a ligature", self.offsets, 1)
        shares = numbers("the shares of a ligature", self.shares, (None,))
        if offsets.shape != shares.shape or abs(float(shares.sum()) - 1.0) > 1e-9 or not shares.min() > 0.0:
            raise ValueError(
                f"a ligature has as many places as shares, and the shares sum to one, each above zero: got places "
                f"{shown(offsets, 'mm')} and shares {shown(shares)}"
            )
        for name, value in (("rest", rest), ("stiffness", whole), ("offsets", offsets), ("shares", shares)):
            object.__setattr__(self, name, value)


Front = Literal["closed", "open"] | Ligature
FRONTS = ("closed", "open")


@dataclass(frozen=True, slots=True)
class SlotWalls:
    """Upper and lower wall, floor and front around the wire:

    ``height`` at the floor, ``depth`` (mm), stations at ``offsets`` (k,) along the slot, increasing, where its walls
    are plane.  Raises ValueError for sizes that make no slot.
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
        given = {
            "height": length("the height of a slot", self.height),
            "depth": length("the depth of a slot", self.depth),
            "offsets": increasing("the stations of a slot", self.offsets, 1),
            "stop": flag("the stop of a slot", self.stop),
            "hold_roll": flag("the roll hold of a slot", self.hold_roll),
            "taper": number("the taper of a slot", self.taper, "rad", -LARGEST_TAPER, LARGEST_TAPER),
            "mouth_radius": length_or_zero("the radius at the mouths of a slot", self.mouth_radius),
            "modulus": stiffness("the modulus of a slot's walls", self.modulus, "MPa"),
            "friction": friction("the friction of a slot", self.friction),
        }
        for name, value in given.items():
            object.__setattr__(self, name, value)
        if not (isinstance(self.front, Ligature) or (isinstance(self.front, str) and self.front in FRONTS)):
            raise ValueError(
                f'the front of a slot is "closed", "open" or a Ligature: got {shown(self.front)}'
            )
        if not self.height + 2.0 * self.depth * math.tan(0.5 * self.taper) > 0.0:
            raise ValueError(
                f"the walls of a slot must not meet before its front: got {self.height:.6g} mm of height at the "
                f"floor, {self.depth:.6g} mm of depth and a taper of {self.taper:.6g} rad; make the taper smaller"
            )
        if self.offsets.size == 1 and self.modulus < math.inf:
            raise ValueError(
                f"walls that give way do so per mm of slot, from one station to the next: got one station and a "
                f"modulus of {self.modulus:.6g} MPa; give two stations at least"
            )

    def fits(self, section: Section) -> bool:
        """Whether a wire of this section, as it lies along the slot, goes in."""
        if self.taper == 0.0:
            high = self.height < section.height * (1.0 - SAME_SIZE)
        else:
            width = float(self.offsets[-1] - self.offsets[0]) + 2.0 * self.mouth_radius
            slot = Slot(self.height, self.depth, max(width, self.depth), self.taper)
            high = room_in_height(section, slot, 0.5 * self.depth) < -SAME_SIZE * section.height
        return not (high or (self.front == "closed" and self.depth < section.depth * (1.0 - SAME_SIZE)))


@dataclass(frozen=True, slots=True)
class Edge:
    """A knife edge or, with a ``radius`` (mm), a roller: a line along the support's z that the wire may rest on.

    The wire lies on its +y side where it is ``below`` the wire, else on its -y side.  The support stands where the line
    touches.  Raises ValueError for a radius or a friction below zero.
    """

    radius: float = 0.0
    below: bool = True
    friction: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "radius", length_or_zero("the radius of a roller", self.radius))
        object.__setattr__(self, "below", flag("whether an edge is below the wire", self.below))
        object.__setattr__(self, "friction", friction("the friction of an edge", self.friction))


@dataclass(frozen=True, slots=True)
class PointTie:
    """One point of the wire held in y and z, and along x too where ``stop``; carries no couple.

    With a ``thread`` (mm) that point is free until it is so far from the support's x axis, and then pulled back, by
    ``stiffness`` (N/mm; infinite: a thread that does not stretch); unless it ``slides``, from the support's own point,
    as an elastic chain or a spring that only pulls is.  Raises ValueError for a length below zero, or for a stiffness
    that is not above zero or has no thread to belong to.
    """

    stop: bool = False
    thread: float | None = None
    stiffness: float = np.inf
    slides: bool = True

    def __post_init__(self) -> None:
        object.__setattr__(self, "stop", flag("the stop of a tie", self.stop))
        object.__setattr__(self, "slides", flag("whether a tie's thread slides", self.slides))
        object.__setattr__(self, "stiffness", stiffness("the stiffness of a thread", self.stiffness, "N/mm"))
        if self.thread is not None:
            object.__setattr__(self, "thread", length_or_zero("the length of a thread", self.thread))
        elif self.stiffness < math.inf:
            raise ValueError(
                f"a tie without a thread does not give way: got a stiffness of {self.stiffness:.6g} N/mm; give it a "
                f"thread, of length 0 if need be"
            )


@dataclass(frozen=True, slots=True)
class Clamp:
    """One section held in position and direction; free along x where ``slides``."""

    slides: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "slides", flag("whether a clamp slides", self.slides))


Restraint = SlotWalls | Edge | PointTie | Clamp


@dataclass(frozen=True, slots=True)
class Support:
    """A restraint, the arc length (mm) of the wire it meets, and where it stands before and after activation.

    Raises ValueError for anything else, and for compliances that no support has.
    """

    restraint: Restraint
    arc: float
    start: Pose
    end: Pose
    compliance: Array | None = None
    """How it gives way along and about its own axes, mm/N and rad/(N mm): (6,) to the load on each of them alone,
    (6, 6) to a load on any, (6, 6 k) to those on all k supports of the model in their order.  None: not at all."""

    def __post_init__(self) -> None:
        if not isinstance(self.restraint, get_args(Restraint)):
            raise ValueError(
                f"a restraint must be SlotWalls, an Edge, a PointTie or a Clamp: got {shown(self.restraint)}"
            )
        arc = number("the arc length that a support meets", self.arc, "mm", -LONGEST, LONGEST)
        object.__setattr__(self, "arc", arc)
        one_of(Pose, self.start, "the start of a support")
        one_of(Pose, self.end, "the end of a support")
        if self.compliance is not None:
            values = numbers("the compliance of a support", self.compliance, None)
            known = values.shape == (6,) or (
                values.ndim == 2 and values.shape[0] == 6 and values.shape[1] % 6 == 0
            )
            if not (known and np.isfinite(values).all()) or (values.ndim == 1 and (values < 0.0).any()):
                raise ValueError(
                    f"a support needs six compliances, finite and not below zero, or six rows of them: "
                    f"got {shown(values)}"
                )
            if values.shape == (6, 6):
                refuse_unphysical(values)
            object.__setattr__(self, "compliance", values)

    @property
    def holds_section(self) -> bool:
        """True where one section of the wire is held, false where the wire only runs between walls."""
        if isinstance(self.restraint, SlotWalls):
            return self.restraint.stop or self.restraint.hold_roll
        return not isinstance(self.restraint, Edge)


def _lengths(vectors: Array) -> Array:
    """Of vectors (k, 3); numpy's own norm spends longer on its options."""
    return np.asarray(np.sqrt((vectors * vectors).sum(axis=1)))


@dataclass(frozen=True, slots=True)
class Model:
    """A wire with its supports.

    ``nodes`` (n,) are arc lengths of the mesh, mm, increasing; every sharp break of the passive shape within it and the
    arc of every support that holds a section are among them, and no element turns by more than a quarter of a circle.

    Raises ValueError for nodes or supports off the wire, nodes that are missing, a wire larger than one of its slots,
    or loads that are not one finite row for each node."""

    shape: PassiveShape
    placed: Pose
    """Where the passive shape's origin stands."""
    nodes: Array
    section: Section
    law: LinearSection
    supports: tuple[Support, ...] = ()
    loads: Array | None = None
    """Dead forces and moments (n, 6) at the nodes, world axes, N and N mm: grow with the activation."""
    follower_loads: Array | None = None
    """The same in the axes of the node's section, with which they turn."""
    fineness: float = 1.0
    """What divides the usual sizes of elements where the wire has to be meshed anew."""
    _sharp_breaks: Array = field(init=False, repr=False, compare=False)
    """Where the passive curvature jumps by more than a smooth curve drawn in pieces does, mm."""

    def __post_init__(self) -> None:
        one_of(PassiveShape, self.shape, "the shape of a model")
        one_of(Pose, self.placed, "the place of a model's shape")
        if not isinstance(self.section, get_args(Section)):
            raise ValueError(
                f"the section of a model must be a Round or a Rectangle: got {shown(self.section)}"
            )
        one_of(LinearSection, self.law, "the section law of a model")
        nodes = increasing("the increasing arc lengths of a wire's nodes", self.nodes, 2)
        object.__setattr__(self, "nodes", nodes)
        fineness = number("the fineness of a mesh", self.fineness, "", *FINENESS)
        object.__setattr__(self, "fineness", fineness)
        supports = all_of(Support, self.supports, "the supports of a model", "Support")
        object.__setattr__(self, "supports", supports)
        for name in ("loads", "follower_loads"):
            if getattr(self, name) is not None:
                object.__setattr__(self, name, self._checked_loads(name))
        breaks = self.shape.breaks
        curvature = self.shape.curvature(0.5 * (breaks[1:] + breaks[:-1]))
        jumps = _lengths(curvature[1:] - curvature[:-1]) > SHARP
        object.__setattr__(self, "_sharp_breaks", breaks[1:-1][jumps])
        self._check_places()
        self._check_turns(curvature)
        for k, support in enumerate(supports):
            walls = support.restraint
            if isinstance(walls, SlotWalls) and not walls.fits(self.section):
                raise ValueError(
                    f"the wire ({self.section.label}) is larger than the slot of support {k}, {walls.height:.6g} mm "
                    f"high and {walls.depth:.6g} mm deep: take a smaller wire or a larger slot"
                )

    def _checked_loads(self, name: str) -> Array:
        count = self.nodes.size
        try:
            loads = numbers("they", getattr(self, name), (count, 6))
        except ValueError as error:
            plain = name.replace("_", " ")
            raise ValueError(
                f"{plain} must be finite and of shape ({count}, 6), a force and a moment for each node: {error}"
            ) from None
        if not self.supports and name == "loads":
            force, sizes = loads[:, :3].sum(axis=0), np.abs(loads[:, :3]).sum()
            if np.abs(force).max() > 1e-9 * sizes:
                raise ValueError(
                    f"a wire without supports bears no force: the loads sum to {shown(force, 'N')}; add a support, or "
                    f"loads that balance"
                )
        return loads

    def _check_places(self) -> None:
        """Nodes and supports lie on the wire, and nodes where they must."""
        nodes, length = self.nodes, self.shape.length
        slack = END_ROUNDING * length
        first, last = float(nodes[0]), float(nodes[-1])
        if first < -slack or last > length + slack:
            raise ValueError(
                f"the nodes must lie on the wire, which runs from 0 to {length:.6g} mm: got {first:.6g} to "
                f"{last:.6g} mm"
            )
        for k, support in enumerate(self.supports):
            if not first - slack <= support.arc <= last + slack:
                raise ValueError(
                    f"no node and no wire is at arc length {support.arc:.6g} mm, where support {k} stands: the nodes "
                    f"run from {first:.6g} to {last:.6g} mm; move the support or let the mesh reach it"
                )
        places = self._marks()
        apart = np.abs(nodes - places[:, None]).min(axis=1)
        if apart.max() > SAME_PLACE:
            raise ValueError(
                f"no node of the mesh lies at arc length {places[apart.argmax()]:.6g} mm, where a support holds "
                f"the wire or its passive shape has a break: add it to the nodes (geometry.meshing.line_mesh does)"
            )

    def _check_turns(self, curvature: Array) -> None:
        """No element of the passive wire turns so far that its motion could be taken for another."""
        breaks = self.shape.breaks
        turned = np.zeros(breaks.size)
        np.cumsum(_lengths(curvature) * (breaks[1:] - breaks[:-1]), out=turned[1:])
        at_nodes = np.interp(self.nodes, breaks, turned)
        turns = at_nodes[1:] - at_nodes[:-1]
        if turns.max() > MOST_TURN:
            k = int(turns.argmax())
            raise ValueError(
                f"an element may turn by {math.degrees(MOST_TURN):.0f} deg in the passive shape: the one from "
                f"{self.nodes[k]:.6g} to {self.nodes[k + 1]:.6g} mm turns by {math.degrees(turns[k]):.6g} deg; put "
                f"more nodes there"
            )

    def _marks(self) -> Array:
        """Arc lengths where a node must be."""
        first, last = self.nodes[0], self.nodes[-1]
        breaks = self._sharp_breaks
        held = [support.arc for support in self.supports if support.holds_section]
        return np.concatenate(((first, last), breaks[(breaks > first) & (breaks < last)], held))

    def still_nodes(self) -> Integers:
        """Numbers of the nodes that may not move along the wire: its ends, breaks, held sections and loads."""
        nearest = np.abs(self.nodes - self._marks()[:, None]).argmin(axis=1)
        # a node that bears a load stays where it is, and the load with it
        loads = [of for of in (self.loads, self.follower_loads) if of is not None]
        loaded = [np.flatnonzero(of.any(axis=1)) for of in loads]
        return np.unique(np.concatenate((nearest, *loaded))).astype(np.int64)

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
