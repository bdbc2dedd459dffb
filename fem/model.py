"""A wire and what supports it: plain values, no arrays of the solver."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from fem.beam_kernel import element_screws
from fem.fibre_beam import fibres_of_elements, starting_temperature
from fem.fibre_material import COLDEST, HOTTEST
from fem.fibre_section import FibreSection
from fem.mounts import refuse_unphysical
from fem.restraints import Clamp as Clamp
from fem.restraints import Edge as Edge
from fem.restraints import Front as Front
from fem.restraints import Ligature as Ligature
from fem.restraints import Link as Link
from fem.restraints import PointTie as PointTie
from fem.restraints import Restraint as Restraint
from fem.restraints import SlotWalls as SlotWalls
from fem.section_law import LinearSection
from geometry.checks import (
    LONGEST,
    all_of,
    increasing,
    number,
    numbers,
    one_of,
    shown,
)
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
    links: tuple[Link, ...] = ()
    """Springs between two points of the wire."""
    fineness: float = 1.0
    """What divides the usual sizes of elements where the wire has to be meshed anew."""
    fibres: FibreSection | None = None
    """The section's law where it yields or transforms; None: it is elastic, and ``law`` says all."""
    temperature: float | None = None
    """Of the wire at the start, degC; None: its material's reference temperature."""
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
        object.__setattr__(self, "links", all_of(Link, self.links, "the links of a model", "Link"))
        self._check_fibres()
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

    def _check_fibres(self) -> None:
        """Fibres belong to the section and go with its elastic law, and are as warm as their material allows."""
        if self.fibres is None:
            if self.temperature is not None:
                warm = number("the temperature of a wire", self.temperature, "degC", COLDEST, HOTTEST)
                object.__setattr__(self, "temperature", warm)
            return
        one_of(FibreSection, self.fibres, "the fibres of a model")
        if self.fibres.section != self.section:
            raise ValueError(
                f"the fibres of a model must be those of its section, {self.section.label}: got fibres of "
                f"{self.fibres.section.label}"
            )
        temperature = starting_temperature(self.fibres, self.temperature)
        object.__setattr__(self, "temperature", temperature)
        fibres_of_elements(self.fibres, self.law, 1, temperature)

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
        joined = [arc for link in self.links for arc in (link.arc, link.other)]
        return np.concatenate(((first, last), breaks[(breaks > first) & (breaks < last)], held, joined))

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
