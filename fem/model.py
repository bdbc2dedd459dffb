"""A wire and what supports it: plain values, no arrays of the solver."""

from __future__ import annotations

import math
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, field
from itertools import pairwise
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from fem.beam_kernel import element_screws
from fem.fibre_beam import scales_to, starting_temperature
from fem.fibre_material import COLDEST, HOTTEST
from fem.fibre_section import FibreSection
from fem.mounts import refuse_unphysical
from fem.restraints import Clamp as Clamp
from fem.restraints import Edge as Edge
from fem.restraints import Front as Front
from fem.restraints import Joint as Joint
from fem.restraints import Ligature as Ligature
from fem.restraints import Link as Link
from fem.restraints import PointTie as PointTie
from fem.restraints import Restraint as Restraint
from fem.restraints import SlotWalls as SlotWalls
from fem.section_law import LinearSection
from fem.wires import Wire
from geometry.checks import (
    LONGEST,
    all_of,
    increasing,
    number,
    numbers,
    one_of,
    shown,
)
from geometry.meshing import SLIVER
from geometry.pose import Pose
from geometry.section import Section
from geometry.wire_shapes import END_ROUNDING, PassiveShape

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

# mm; arc lengths are sums of typed-in lengths.
SAME_PLACE = 1e-9
# rad/mm.  A bend of 20 mm radius jumps by this where it begins; an element may lie across smaller jumps, as its strain
# is measured from the passive motion between its ends.
SHARP = 0.05
FINENESS = (1e-3, 1e6)
NODES = "the increasing arc lengths of a wire's nodes"
# rad.  The motion from node to node is read off as a turn of less than half a circle; what a passive element turns by
# leaves at least half of that to its deformation.
MOST_TURN = 0.5 * math.pi


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
                f"a restraint must be SlotWalls, an Edge, a PointTie, a Clamp or a Joint: got {shown(self.restraint)}"
            )
        arc = number("the arc length that a support meets", self.arc, "mm", -LONGEST, LONGEST)
        object.__setattr__(self, "arc", arc)
        one_of(Pose, self.start, "the start of a support")
        one_of(Pose, self.end, "the end of a support")
        if self.compliance is not None:
            if self.is_joint:
                raise ValueError("a joint holds exactly and has no compliance: leave it out, or use a Link")
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

    @property
    def is_joint(self) -> bool:
        """Whether it holds the wire to another wire, not to anything outside."""
        return isinstance(self.restraint, Joint)


def _lengths(vectors: Array) -> Array:
    """Of vectors (k, 3); numpy's own norm spends longer on its options."""
    return np.asarray(np.sqrt((vectors * vectors).sum(axis=1)))


@dataclass(frozen=True, slots=True)
class Model:
    """A wire, or several, with supports.

    ``nodes`` (n,) are arc lengths of the mesh, mm, increasing; every sharp break of the passive shape within it and the
    arc of every support that holds a section are among them, and no element turns by more than a quarter of a circle.
    Of several wires the arc lengths, of nodes and supports, are those of their common count (fem.wires).

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
    links: tuple[Link, ...] = ()
    """Springs between two points of the wire."""
    fineness: float = 1.0
    """What divides the usual sizes of elements where the wire has to be meshed anew."""
    fibres: FibreSection | None = None
    """The section's law where it yields or transforms; None: it is elastic, and ``law`` says all."""
    temperature: float | None = None
    """Of the wire at the start, degC; None: its material's reference temperature."""
    others: tuple[Wire, ...] = ()
    """Wires beside this one, in their order along the common count; `fem.together` makes such models."""
    spans: tuple[tuple[int, int], ...] = field(init=False, repr=False, compare=False)
    """First and last node of every wire."""
    _places: Array = field(init=False, repr=False, compare=False)
    """Where a node must be, mm: ends, sharp breaks, held sections, ends of links and joints."""
    _breaks: int = field(init=False, repr=False, compare=False)
    """How many breaks there are."""

    def __post_init__(self) -> None:
        one_of(PassiveShape, self.shape, "the shape of a model")
        one_of(Pose, self.placed, "the place of a model's shape")
        if not isinstance(self.section, get_args(Section)):
            raise ValueError(
                f"the section of a model must be a Round or a Rectangle: got {shown(self.section)}"
            )
        one_of(LinearSection, self.law, "the section law of a model")
        nodes = increasing(NODES, self.nodes, 2)
        object.__setattr__(self, "nodes", nodes)
        fineness = number("the fineness of a mesh", self.fineness, "", *FINENESS)
        object.__setattr__(self, "fineness", fineness)
        supports = all_of(Support, self.supports, "the supports of a model", "Support")
        object.__setattr__(self, "supports", supports)
        object.__setattr__(self, "links", all_of(Link, self.links, "the links of a model", "Link"))
        self._check_fibres()
        for name in ("loads", "follower_loads"):
            if getattr(self, name) is not None:
                object.__setattr__(self, name, self._checked_loads(name))
        object.__setattr__(self, "others", all_of(Wire, self.others, "the wires beside the first", "Wire"))
        object.__setattr__(self, "spans", self._spans())
        breaks = [self._checked_shape(wire, *span) for wire, span in zip(self.wires, self.spans, strict=True)]
        self._check_supports()
        object.__setattr__(self, "_places", self._marks(breaks))
        object.__setattr__(self, "_breaks", sum(one.size for one in breaks))
        self._check_places()
        for k, support in enumerate(supports):
            walls, section = support.restraint, self.section_at(support.arc)
            if isinstance(walls, SlotWalls) and not walls.fits(section):
                raise ValueError(
                    f"the wire ({section.label}) is larger than the slot of support {k}, {walls.height:.6g} mm "
                    f"high and {walls.depth:.6g} mm deep: take a smaller wire or a larger slot"
                )

    def on_nodes(self, nodes: Array) -> Model:
        """The same on as many other nodes (n,), mm: what has a node where it must have one keeps it.

        Raises as making a model does for nodes where none may be or where one is missing; nothing else is looked at
        again."""
        made = copy(self)
        object.__setattr__(made, "nodes", increasing(NODES, nodes, self.nodes.size))
        for wire, span in zip(made.wires, made.spans, strict=True):
            made._checked_shape(wire, *span)
        made._check_places()
        return made

    def _check_places(self) -> None:
        """A node lies wherever one must be."""
        apart = np.abs(self.nodes - self._places[:, None]).min(axis=1)
        # a node next to a break serves it too: see SLIVER
        ends, breaks = 2 * len(self.spans), self._breaks
        apart[ends : ends + breaks] -= SLIVER - SAME_PLACE
        if apart.max() > SAME_PLACE:
            raise ValueError(
                f"no node of the mesh lies at arc length {self._places[apart.argmax()]:.6g} mm, where a support holds "
                f"the wire or its passive shape has a break: add it to the nodes (geometry.meshing.line_mesh does)"
            )

    def _check_fibres(self) -> None:
        """Fibres belong to the section and go with its elastic law, and are as warm as their material allows."""
        if self.fibres is None:
            if self.temperature is not None:
                warm = number("the temperature of a wire", self.temperature, "degC", COLDEST, HOTTEST)
                object.__setattr__(self, "temperature", warm)
            return
        one_of(FibreSection, self.fibres, "the fibres of a model")
        if self.others:
            raise ValueError(
                "one of several wires may not yield or remember: all of them must be linear elastic"
            )
        if self.fibres.section != self.section:
            raise ValueError(
                f"the fibres of a model must be those of its section, {self.section.label}: got fibres of "
                f"{self.fibres.section.label}"
            )
        temperature = starting_temperature(self.fibres, self.temperature)
        object.__setattr__(self, "temperature", temperature)
        scales_to(self.fibres, self.law)

    @property
    def wires(self) -> tuple[Wire, ...]:
        """All of them, the first one first."""
        return (Wire(self.shape, self.placed, self.section, self.law), *self.others)

    def wire_of(self, arcs: Array) -> Integers:
        """Number (k,) of the wire on which arc lengths (k,) lie; between two wires of the one before."""
        begins = np.array([wire.begin for wire in self.others])
        return np.searchsorted(begins - SAME_PLACE, arcs, side="right").astype(np.int64)

    def section_at(self, arc: float) -> Section:
        """Section of the wire on which an arc length lies."""
        return self.wires[int(self.wire_of(np.array([arc]))[0])].section if self.others else self.section

    def ends_at(self, arcs: Array) -> tuple[Array, Array]:
        """Arc lengths of the first and the last node of the wires on which ``arcs`` (k,) lie: (k,), where there is one
        wire (1,)."""
        if not self.others:
            return self.nodes[:1], self.nodes[-1:]
        spans = self.nodes[np.array(self.spans)][self.wire_of(arcs)]
        return spans[:, 0], spans[:, 1]

    def _spans(self) -> tuple[tuple[int, int], ...]:
        """First and last node of every wire; no node lies in a gap."""
        last, firsts = self.shape.length, [0]
        for k, wire in enumerate(self.others):
            if wire.begin <= last + SAME_PLACE:
                raise ValueError(
                    f"wire {k + 2} must begin beyond the end of the one before, at {last:.6g} mm: got "
                    f"{wire.begin:.6g} mm; fem.wires.begins says where"
                )
            firsts.append(int(np.searchsorted(self.nodes, wire.begin - SAME_PLACE)))
            last = wire.end
        firsts.append(self.nodes.size)
        for k, (first, after) in enumerate(pairwise(firsts)):
            if after - first < 2:
                raise ValueError(f"wire {k + 1} needs two nodes at least: got {after - first}")
        return tuple((first, after - 1) for first, after in pairwise(firsts))

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

    def _checked_shape(self, wire: Wire, first: int, last: int) -> Array:
        """Sharp breaks within a wire's mesh, mm, where its curvature jumps by more than a smooth curve drawn in pieces
        does; nodes lie on the wire, and no element turns so far that its motion could be taken for another."""
        nodes = self.nodes[first : last + 1] - wire.begin if wire.begin else self.nodes[first : last + 1]
        length = wire.shape.length
        slack = END_ROUNDING * length
        if nodes[0] < -slack or nodes[-1] > length + slack:
            raise ValueError(
                f"the nodes must lie on the wire, which runs from 0 to {length:.6g} mm: got {nodes[0]:.6g} to "
                f"{nodes[-1]:.6g} mm"
            )
        breaks = wire.shape.breaks
        curvature = wire.shape.curvature(0.5 * (breaks[1:] + breaks[:-1]))
        turned = np.zeros(breaks.size)
        np.cumsum(_lengths(curvature) * (breaks[1:] - breaks[:-1]), out=turned[1:])
        at_nodes = np.interp(nodes, breaks, turned)
        turns = at_nodes[1:] - at_nodes[:-1]
        if turns.max() > MOST_TURN:
            k = int(turns.argmax())
            raise ValueError(
                f"an element may turn by {math.degrees(MOST_TURN):.0f} deg in the passive shape: the one from "
                f"{nodes[k]:.6g} to {nodes[k + 1]:.6g} mm turns by {math.degrees(turns[k]):.6g} deg; put "
                f"more nodes there"
            )
        sharp = breaks[1:-1][_lengths(curvature[1:] - curvature[:-1]) > SHARP]
        return np.asarray(wire.begin + sharp[(sharp > nodes[0]) & (sharp < nodes[-1])])

    def _check_supports(self) -> None:
        """Supports stand on a wire, and so do the other ends of joints."""
        for k, support in enumerate(self.supports):
            arcs = [support.arc]
            if isinstance(support.restraint, Joint):
                arcs.append(support.restraint.other)
                if support.restraint.other == support.arc:
                    raise ValueError(f"joint {k} holds the wire to itself, at {support.arc:.6g} mm")
            ends = np.broadcast_arrays(arcs, *self.ends_at(np.array(arcs)))
            for arc, first, last in zip(*ends, strict=True):
                slack = END_ROUNDING * last
                if not first - slack <= arc <= last + slack:
                    raise ValueError(
                        f"no node and no wire is at arc length {arc:.6g} mm, where support {k} stands: the nodes "
                        f"run from {first:.6g} to {last:.6g} mm; move the support or let the mesh reach it"
                    )

    def _marks(self, breaks: Sequence[Array]) -> Array:
        """Arc lengths where a node must be."""
        ends = self.nodes[np.array(self.spans).ravel()]
        held = [support.arc for support in self.supports if support.holds_section]
        joints = [of.restraint for of in self.supports if isinstance(of.restraint, Joint)]
        held += [joint.other for joint in joints if not joint.slides]
        joined = [arc for link in self.links for arc in (link.arc, link.other)]
        return np.concatenate((ends, *breaks, held, joined))

    def still_nodes(self) -> Integers:
        """Numbers of the nodes that may not move along their wire: its ends, breaks, held sections and loads."""
        nearest = np.abs(self.nodes - self._places[:, None]).argmin(axis=1)
        # a node that bears a load stays where it is, and the load with it
        loads = [of for of in (self.loads, self.follower_loads) if of is not None]
        loaded = [np.flatnonzero(of.any(axis=1)) for of in loads]
        return np.unique(np.concatenate((nearest, *loaded))).astype(np.int64)

    def passive_frames(self, arcs: Array) -> tuple[Array, Array]:
        """Positions (k, 3) and axes (k, 3, 3) of the passive wire in the world."""
        if not self.others:
            positions, axes = self.shape.frames(arcs)
            return self.placed.to_world(positions), self.placed.axes @ axes
        of, positions, axes = self.wire_of(arcs), np.empty((arcs.size, 3)), np.empty((arcs.size, 3, 3))
        for k, wire in enumerate(self.wires):
            positions[of == k], axes[of == k] = wire.frames(arcs[of == k])
        return positions, axes

    def passive_screws(self) -> Array:
        """Motion (m, 6) from end to end of every element of the passive wire, seen at its first end."""
        positions, axes = self.passive_frames(self.nodes)
        screws = np.empty((self.nodes.size - 1, 6))
        element_screws(positions, axes, screws)
        return screws

    def compliances(self) -> Array:
        """(m, 6) of the sections of all elements, infinite in the gaps between wires; see fem.element_law_kernel."""
        out = self.law.compliances(self.nodes.size - 1)
        for wire, (first, last) in zip(self.others, self.spans[1:], strict=True):
            out[first - 1] = np.inf
            out[first:last] = wire.law.compliances(last - first)
        return out
