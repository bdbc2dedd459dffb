"""Wires that yield or transform, held so that what they do is known in closed form: shared by several tests."""

from __future__ import annotations

import math

import numpy as np

from fem.fibre_material import Elastoplastic, FibreMaterial, Superelastic, elastic_of
from fem.fibre_section import FibreSection
from fem.model import Clamp, Model, SlotWalls, Support
from fem.path import Leg
from fem.section_law import LinearSection
from fem.torsion import torsion_constant
from geometry.pose import Pose
from geometry.section import Round, Section
from geometry.wire_shapes import PassiveShape, Straight

# Parameter set S1 of Auricchio, Taylor & Lubliner's law, as the documents of general finite-element programs use it
# (from memory): E 60 GPa, loading 520 to 600, unloading 300 to 200 MPa, transformation strain 7 %.
S1 = Superelastic("S1", 60000.0, 60000.0, 0.33, 0.07, 520.0, 600.0, 300.0, 200.0)
# An invented wire with all that the law knows.
NITI = Superelastic("niti", 55000.0, 30000.0, 0.33, 0.06, 450.0, 500.0, 250.0, 200.0, 1.2, 6.5)
PLASTIC = Elastoplastic("perfectly plastic", 180000.0, 0.3, 1800.0)
HARDENING = Elastoplastic("hardening", 170000.0, 0.3, 1500.0, 2000.0, 3000.0)
WIRE = Round(0.4064)


def straight(
    length: float,
    material: FibreMaterial,
    supports: list[tuple[float, object]],
    section: Section = WIRE,
    elements: int = 10,
    fine: bool = False,
    elastic: bool = False,
    placed: Pose | None = None,
    temperature: float | None = None,
    compliance: np.ndarray | None = None,
) -> Model:
    """A straight wire held by ``supports``: an arc length and a restraint each, standing where the wire lies.

    ``fine``: as many fibres as a single section has by default; ``elastic``: no fibres at all.  ``compliance`` is that
    of the last support."""
    placed = Pose.identity() if placed is None else placed
    law = LinearSection.of(section, elastic_of(material), torsion_constant(section))
    cut = FibreSection(section, material) if fine else FibreSection.for_beam(section, material)
    standing = []
    for k, (arc, restraint) in enumerate(supports):
        at = placed.compose(Pose(np.array([arc, 0.0, 0.0]), np.eye(3)))
        gives = compliance if k == len(supports) - 1 else None
        standing.append(Support(restraint, arc, at, at, gives))
    return Model(
        PassiveShape((Straight(length),)), placed, np.linspace(0.0, length, elements + 1), section, law,
        tuple(standing), fibres=None if elastic else cut, temperature=temperature,
    )  # fmt: skip


def arc_end(length: float, curvature: float) -> Pose:
    """Where the end of a wire of that length stands, bent evenly in the second order from the origin along x."""
    angle = length * curvature
    if angle == 0.0:
        return Pose(np.array([length, 0.0, 0.0]), np.eye(3))
    c, s = math.cos(angle), math.sin(angle)
    turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    return Pose(np.array([s, 1.0 - c, 0.0]) / curvature, turn)


def bends(
    model: Model, curvatures: list[float], steps: int = 1, temperature: float | None = None
) -> list[Leg]:
    """Legs of one increment each on which the far end of a wire held by two clamps bends it evenly to each curvature,
    by as many even ``steps`` from one to the next."""
    length = model.supports[1].arc
    start = model.supports[0].start
    legs, last = [], 0.0
    for curvature in curvatures:
        for k in np.linspace(last, curvature, steps + 1)[1:]:
            ends = (start, start.compose(arc_end(length, float(k))))
            legs.append(Leg(f"to {k:g}", ends, 1, temperature=temperature))
        last = curvature
    return legs


def on_three_points(
    material: FibreMaterial, elements: int = 40, span: float = 10.0, length: float = 16.0, fine: bool = False
) -> Model:
    """A wire across two pivots that its centreline passes through, free to slide: reactions are normal to it, as on
    frictionless edges.  It is held in the middle."""
    pivot = SlotWalls(WIRE.diameter, WIRE.diameter, np.array([0.0]))
    middle = 0.5 * length
    supports = [(middle - 0.5 * span, pivot), (middle, Clamp()), (middle + 0.5 * span, pivot)]
    model = straight(length, material, supports, elements=2 * (elements // 2), fine=fine)
    marks = [arc for arc, _ in supports]
    nodes = np.unique(np.concatenate((model.nodes, marks)).round(9))
    return Model(model.shape, model.placed, nodes, WIRE, model.law, model.supports, fibres=model.fibres)


def deflections(model: Model, ways: list[float], increments: int) -> list[Leg]:
    """Legs on which the middle of such a wire goes down to each of the deflections, mm."""
    ends = [support.start for support in model.supports]
    legs = []
    for down in ways:
        at = ends[1].position - np.array([0.0, down, 0.0])
        legs.append(Leg(f"to {down:g}", (ends[0], Pose(at, ends[1].axes), ends[2]), increments))
    return legs
