"""A model of a rod in one call: where it is held, where it is loaded, how finely it is divided.

`fem.model.Model` asks for nodes at every held section, every break of the shape and every load, for the frames in which
supports start, and for a section law.  `rod` finds all of these:

    steel = LinearElastic("steel", 2.0e5, 0.3)
    model = rod(PassiveShape((Straight(100.0),)), Round(2.0), steel,
                [Held(Clamp(), 0.0)], [Load(100.0, force=(0.0, -5.0, 0.0))])
    snapshot = engage(model).last.snapshot
    snapshot.positions[node_at(snapshot.arcs, 100.0)]
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.fibre_material import FibreMaterial, elastic_of
from fem.fibre_section import FibreSection
from fem.material import LinearElastic
from fem.model import SAME_PLACE, Edge, Link, Model, Restraint, SlotWalls, Support
from fem.section_law import LinearSection
from fem.torsion import torsion_constant
from geometry.checks import LONGEST, all_of, count, flag, number, numbers, one_of, shown
from geometry.meshing import LARGEST_TURN, line_mesh
from geometry.pose import Pose
from geometry.section import Section
from geometry.wire_shapes import PassiveShape

Array = NDArray[np.float64]

ELEMENTS = 40
MOST_ELEMENTS = 100_000
FLATTEST = 50.0  # depth over height, or height over depth, of a section with rounded edges


@dataclass(frozen=True, slots=True)
class Held:
    """A restraint round the rod at arc length ``at`` (mm), which goes to ``end``; None: it stays where it starts.

    It starts where the passive rod is, its x along the rod; an `Edge` starts at the rod's surface, at the side it is to
    support.  Another ``start`` may be given, such as a stop that the rod does not touch yet.
    """

    restraint: Restraint
    at: float
    end: Pose | None = None
    start: Pose | None = None

    def __post_init__(self) -> None:
        object.__setattr__(
            self, "at", number("the arc length that is held", self.at, "mm", -LONGEST, LONGEST)
        )
        for name in ("end", "start"):
            if getattr(self, name) is not None:
                one_of(Pose, getattr(self, name), f"the {name} of what holds a rod")


@dataclass(frozen=True, slots=True)
class Load:
    """A ``force`` (3,) N and ``moment`` (3,) N mm on the rod at arc length ``at`` (mm).

    Dead loads are given in world axes and keep their direction however the rod turns; a ``follower`` is given in the
    axes of the rod's section, tangent first, and turns with it.
    """

    at: float
    force: ArrayLike = (0.0, 0.0, 0.0)
    moment: ArrayLike = (0.0, 0.0, 0.0)
    follower: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", number("the arc length of a load", self.at, "mm", -LONGEST, LONGEST))
        object.__setattr__(self, "force", numbers("the force of a load", self.force, (3,), "N"))
        object.__setattr__(self, "moment", numbers("the moment of a load", self.moment, (3,), "N mm"))
        object.__setattr__(self, "follower", flag("whether a load is a follower", self.follower))


def rod(
    shape: PassiveShape,
    section: Section,
    material: FibreMaterial,
    supports: Sequence[Held],
    loads: Sequence[Load] = (),
    elements: int = ELEMENTS,
    placed: Pose | None = None,
    links: Sequence[Link] = (),
    temperature: float | None = None,
) -> Model:
    """The model of a rod whose passive ``shape`` begins at ``placed`` (None: at the world's origin, along x).

    ``elements`` at least: there are more where bends, supports, contact stations and loads ask for nodes.  Loads at one
    place add up; ``links`` are springs between two points of the rod.  A material that yields or transforms is cut into
    fibres; ``temperature`` (degC) is that of the rod at the start.

    Raises ValueError for what no rod can be: places off it, or anything that the parts refuse.
    """
    one_of(PassiveShape, shape, "the shape of a rod")
    if not isinstance(material, get_args(FibreMaterial)):
        raise ValueError(
            f"the material of a rod must be LinearElastic, Elastoplastic or Superelastic: got {shown(material)}"
        )
    supports = all_of(Held, supports, "the supports of a rod", "Held")
    loads = all_of(Load, loads, "the loads of a rod", "Load")
    links = all_of(Link, links, "the links of a rod", "Link")
    placed = Pose.identity() if placed is None else placed
    one_of(Pose, placed, "the place of a rod")
    _must_be_meshed(section)
    law = LinearSection.of(section, elastic_of(material), torsion_constant(section))
    fibres = None if isinstance(material, LinearElastic) else FibreSection.for_beam(section, material)
    nodes = _mesh(shape, supports, loads, links, elements)
    dead, following = np.zeros((2, nodes.size, 6))
    for load in loads:
        of = following if load.follower else dead
        of[node_at(nodes, load.at)] += np.concatenate((load.force, load.moment))
    standing = tuple(_support(shape, section, placed, held) for held in supports)
    return Model(
        shape, placed, nodes, section, law, standing,
        dead if dead.any() else None, following if following.any() else None, links, fibres=fibres,
        temperature=temperature,
    )  # fmt: skip


def node_at(arcs: ArrayLike, at: float) -> int:
    """Number of the node at arc length ``at`` (mm) among ``arcs`` (n,): a model's nodes or a snapshot's arcs.

    Raises ValueError where there is none; a `Held` or a `Load` puts one there.
    """
    nodes = numbers("the arc lengths of nodes", arcs, (None,), "mm", LONGEST)
    away = np.abs(nodes - number("the arc length of a node", at, "mm", -LONGEST, LONGEST))
    if not away.min(initial=np.inf) <= SAME_PLACE:
        raise ValueError(
            f"no node lies at arc length {at:.6g} mm: put a support or a load there, or ask for a node"
        )
    return int(away.argmin())


def _must_be_meshed(section: Section) -> None:
    """Refuses a strip whose torsion would take a mesh of hundreds of thousands of triangles."""
    if not isinstance(section, get_args(Section)):
        raise ValueError(f"the section of a rod must be a Round or a Rectangle: got {shown(section)}")
    ratio = max(section.height / section.depth, section.depth / section.height)
    if ratio > FLATTEST and section.edge_radius > 0.0:
        raise ValueError(
            f"a section with rounded edges may be {FLATTEST:g} times as wide as thick: got {ratio:.4g} "
            f"({section.label}); leave its edges sharp, which changes its torsion little"
        )


def _mesh(
    shape: PassiveShape, supports: Sequence[Held], loads: Sequence[Load], links: Sequence[Link], elements: int
) -> Array:
    """Nodes at all supports, contact stations, loads and ends of links, and between."""
    elements = count("the elements of a rod", elements)
    breaks = shape.breaks
    rates = np.linalg.norm(shape.curvature(0.5 * (breaks[1:] + breaks[:-1])), axis=1)
    wanted = elements + float(rates @ np.diff(breaks)) / LARGEST_TURN
    if wanted > MOST_ELEMENTS:
        raise ValueError(
            f"a rod may have {MOST_ELEMENTS} elements: this one needs {wanted:.3g}, one for every "
            f"{np.degrees(LARGEST_TURN):.0f} deg that it turns; take fewer elements, or a shape that turns less"
        )
    marks: list[float] = []
    ends = [("link's end", arc) for link in links for arc in (link.arc, link.other)]
    places = [("support", held.at) for held in supports] + [("load", load.at) for load in loads] + ends
    for what, at in places:
        if not -SAME_PLACE <= at <= shape.length + SAME_PLACE:
            raise ValueError(f"a {what} lies at arc length {at:.6g} mm, off the rod of {shape.length:.6g} mm")
        marks.append(at)
    for held in supports:
        if isinstance(held.restraint, SlotWalls):
            # the rod may end within a slot
            stations = held.at + held.restraint.offsets
            marks += stations[(stations >= 0.0) & (stations <= shape.length)].tolist()
    return line_mesh(shape, np.clip(marks, 0.0, shape.length), shape.length / elements)


def _support(shape: PassiveShape, section: Section, placed: Pose, held: Held) -> Support:
    position, axes = shape.frames(held.at)
    start = placed.compose(Pose(position[0], axes[0]))
    if isinstance(held.restraint, Edge):
        side = -0.5 if held.restraint.below else 0.5
        start = start.compose(Pose(np.array([0.0, side * section.height, 0.0]), np.eye(3)))
    start = held.start or start
    return Support(held.restraint, held.at, start, held.end or start)
