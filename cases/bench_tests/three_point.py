"""Three-point bending after ISO 15841: a straight wire on two fixed edges, pushed down in the middle and let go.

Half of it is solved, by symmetry: the middle is held level and moved down; the other half lies on a fixed edge, over
which it slides, and may leave it.  The edge's radius counts: the wire rolls off it as it bends.  The edges push across
the wire and, with friction, along it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.fibre_material import FibreMaterial
from fem.model import Clamp, Edge, Model
from fem.path import Leg, engage
from fem.rods import Held, rod
from geometry.pose import Pose
from geometry.section import Rectangle, Section
from geometry.wire_shapes import PassiveShape, Straight

Array = NDArray[np.float64]

STEP = 0.05
"""mm of deflection in an increment: the standard's readings, 3.1 less a multiple of it, are ends of increments."""
ELEMENTS = 40
"""Of the half that is solved; `tests/published/test_three_point_bending.py` measures what is left."""
HALVINGS = 4
"""Of the elements next to the middle, where a wire yields like a hinge."""
OVERHANG = 0.6
"""Of the half span and the deflection: wire beyond the edge, more than is drawn in."""
NOTHING = 1e-7
"""Of the largest force: rounding, not a force."""


@dataclass(frozen=True, slots=True)
class Setup:
    """How a wire is bent: lengths in mm; the deflections are gone to one after another and back to none."""

    span: float = 10.0
    radius: float = 0.1
    """Of the edges; the standard allows 0.05 to 0.15 mm (from memory)."""
    friction: float = 0.0
    deflections: tuple[float, ...] = (3.1,)
    order: str = "second"
    """Which side of the section is bent: the height, or in first order the depth."""


@dataclass(frozen=True, slots=True)
class Bent:
    """What k increments gave, from rest; a cycle is a way out and one back."""

    deflection: Array
    """(k,) mm."""
    force: Array
    """(k,) N, of the middle on the wire; zero where the wire has left the edges."""
    cycle: NDArray[np.int64]
    """(k,) from 1; 0 at rest."""
    out: NDArray[np.bool_]
    """(k,) on the way out, not back."""
    slope: Array
    """(k,) rad, of the wire over the edges."""

    def way(self, cycle: int, out: bool) -> tuple[Array, Array]:
        """Deflection and force of one way, from its first point, the deflection growing."""
        rows = np.flatnonzero((self.cycle == cycle) & (self.out == out))
        rows = np.concatenate(([rows[0] - 1], rows))
        deflection, force = self.deflection[rows], self.force[rows]
        return (deflection, force) if out else (deflection[::-1], force[::-1])

    def left(self, cycle: int = 1) -> float:
        """Deflection (mm) at which the force is gone on the way back: the permanent deflection.

        The force of the last two points that have one is drawn on to zero."""
        deflection, force = self.way(cycle, False)
        there = np.flatnonzero(force > NOTHING * np.abs(self.force).max())
        if there[0] == 0:
            return float(deflection[0])
        one, two = there[:2]
        gone = deflection[one] - force[one] * (deflection[two] - deflection[one]) / (force[two] - force[one])
        return float(np.clip(gone, deflection[one - 1], deflection[one]))


def half_of(setup: Setup, section: Section, material: FibreMaterial, temperature: float | None = None,
            step: float = STEP, elements: int = ELEMENTS) -> tuple[Model, list[Leg], list[float]]:  # fmt: skip
    """Half of the wire, the ways out and back, and the deflection at the end of each.  Raises ValueError for a setup
    that is none."""
    if setup.order == "first" and isinstance(section, Rectangle):
        section = Rectangle(section.depth, section.height, section.edge_radius)
    half, most = 0.5 * setup.span, max(setup.deflections)
    length = half + OVERHANG * (half + most)
    model = rod(
        PassiveShape((Straight(length),)), section, material,
        [Held(Clamp(), 0.0), Held(Edge(setup.radius, True, setup.friction), half)], elements=elements,
        temperature=temperature,
    )  # fmt: skip
    # towards the middle every element is half as long as the one before
    first = model.nodes[1] * 0.5 ** np.arange(1, HALVINGS + 1)
    model = replace(model, nodes=np.sort(np.concatenate((model.nodes, first))))
    middle, edge = (support.start for support in model.supports)
    legs = []
    stops = [stop for deflection in setup.deflections for stop in (deflection, 0.0)]
    for number, (before, after) in enumerate(zip([0.0, *stops], stops, strict=False)):
        pose = Pose(middle.position - np.array([0.0, after, 0.0]), middle.axes)
        increments = max(1, math.ceil(abs(after - before) / step - 1e-9))
        legs.append(
            Leg(f"{'out' if number % 2 == 0 else 'back'} {number // 2 + 1}", (pose, edge), increments)
        )
    return model, legs, stops


def bend(setup: Setup, section: Section, material: FibreMaterial, temperature: float | None = None,
         step: float = STEP, elements: int = ELEMENTS) -> Bent:  # fmt: skip
    """The test.  Raises NoEquilibrium where the wire finds none, ValueError for a setup that is none."""
    model, legs, stops = half_of(setup, section, material, temperature, step, elements)
    path = engage(model, legs=legs)
    rows = [(0.0, 0.0, 0, True, 0.0)]
    for increment in path.increments:
        snapshot, leg = increment.snapshot, increment.leg
        before, after = ([0.0, *stops][leg], stops[leg])
        along = snapshot.centre_axes[1, :, 0]
        rows.append(
            (before + increment.activation * (after - before), 2.0 * float(snapshot.force[0, 1]), leg // 2 + 1,
             leg % 2 == 0, float(np.arctan2(along[1], along[0])))
        )  # fmt: skip
    deflection, force, cycle, out, slope = (np.array(column) for column in zip(*rows, strict=True))
    return Bent(deflection, force, cycle, out, slope)
