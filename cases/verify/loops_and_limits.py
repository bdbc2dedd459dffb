"""Closing loops by their elastic centre; wires that lose their stability."""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from cases.formulas import (
    euler_load_n,
    greenhill_torque_nmm,
    lateral_buckling_force_n,
    rectangular_loop_ratio_mm,
    vertical_loop_ratio_mm,
)
from cases.verify import sources
from cases.verify.models import (
    THIN,
    Held,
    along,
    cantilever,
    critical,
    engaged,
    slender,
    straight,
    wire,
    wrong_pivots,
)
from cases.verify.rows import Check
from fem.model import Clamp, Model, Support
from fem.section_law import LinearSection
from geometry.drawn_shapes import shape_of
from geometry.loops import vertical_loop
from geometry.pose import Pose, rotation_about
from geometry.wire_shapes import Bend, PassiveShape, Straight

QUARTER = 0.5 * math.pi


def checks() -> tuple[Check, ...]:
    """All of them."""
    return (*_loops(), *_limits())


def opened(shape: PassiveShape, apart: float) -> float:
    """Moment over force (mm) at an end of a loop whose ends, held parallel, are drawn apart by 0.02 mm.

    Its stretch and shear, which the theory leaves out, are those of a wire of 0.1 mm."""
    axial = 1600.0
    law = LinearSection(np.array([axial, axial, axial, 1.0, 1.0, 1.0]))
    held = [Held(Clamp(), 0.0, along(0.0)), Held(Clamp(), shape.length, along(apart + 0.02))]
    snapshot = engaged(wire(shape, THIN, law, held, 0.25), 2).last.snapshot
    return abs(float(snapshot.moment[0, 2]) / float(snapshot.force[0, 0]))


def rectangular_loop(height: float, top: float = 2.0, level: float = 5.0, corner: float = 0.02) -> float:
    """M/F (mm) of a rectangular vertical loop; a wire has no kinks, so its corners have a radius of 0.02 mm."""

    def bend(sign: float) -> Bend:
        return Bend(sign * QUARTER, "second", corner)

    side, leg, lid = (
        Straight(length) for length in (0.5 * level - corner, height - 2.0 * corner, top - 2.0 * corner)
    )
    pieces = (side, bend(1.0), leg, bend(-1.0), lid, bend(-1.0), leg, bend(1.0), side)
    return opened(PassiveShape(pieces), level + top)


def round_topped_loop(height: float, width: float, radius: float, level: float) -> float:
    """M/F (mm) of a vertical loop as a case file draws it."""
    side = Straight(0.5 * level)
    shape = shape_of((side, *vertical_loop(height, width, radius), side))
    return opened(shape, width + 2.0 * radius + level)


def _loops() -> tuple[Check, ...]:
    rectangular = [
        Check(
            f"rectangular loop {height:g} mm high, 2 mm wide, 5 mm of level wire: moment over force",
            "closed form",
            sources.ELASTIC_CENTRE,
            rectangular_loop_ratio_mm(height, 2.0, 5.0),
            2e-3,
            "mm",
            partial(rectangular_loop, height),
        )
        for height in (6.0, 8.0, 10.0)
    ]
    return (
        *rectangular,
        Check(
            "vertical loop 8 mm high with a round top: moment over force",
            "closed form",
            sources.ELASTIC_CENTRE,
            vertical_loop_ratio_mm(8.0, 2.0, 0.5, 5.0),
            2e-3,
            "mm",
            partial(round_topped_loop, 8.0, 2.0, 0.5, 5.0),
        ),
    )


ROD, ELEMENTS = straight(1.0), 40


def held_rod(law: LinearSection, ends: tuple[Pose, Pose], axes: np.ndarray, positions: np.ndarray) -> int:
    """Wrong pivots of a rod of length 1 between a clamp and one that slides along it, found near a given state."""
    clamps = (
        Support(Clamp(), 0.0, ends[0], ends[0]),
        Support(Clamp(slides=True), 1.0, ends[1], ends[1]),
    )
    nodes = np.linspace(0.0, 1.0, ELEMENTS + 1)
    model = Model(ROD, Pose.identity(), nodes, THIN, law, clamps)
    return wrong_pivots(model, positions, axes)


def greenhill() -> float:
    """Torque over EI/L at which a rod between clamps, free to approach, coils up."""
    torsion = 1.3

    def wrong(torque: float) -> int:
        arcs = np.linspace(0.0, 1.0, ELEMENTS + 1)
        positions, _ = ROD.frames(arcs)
        axes = np.array([rotation_about((1.0, 0.0, 0.0), torque / torsion * s) for s in arcs])
        ends = (Pose(positions[0], axes[0]), Pose(positions[-1], axes[-1]))
        return held_rod(slender(1.0, torsion=torsion), ends, axes, positions)

    return critical(wrong, 8.0, 10.0)


def euler() -> float:
    """Push (N) at which a straight wire of length 1 and EI = 1, built in at one end, leaves its line.

    Found near the state pushed together by all but a thousandth: pivots are those of the last matrix, and a step from
    the passive wire would end without one of its own."""
    law = slender(1.0)
    axial = float(law.stiffness[0])

    def wrong(push: float) -> int:
        model = cantilever(law, [-push, 0.0, 0.0, 0.0, 0.0, 0.0], elements=ELEMENTS)
        positions, axes = model.passive_frames(model.nodes)
        return wrong_pivots(model, positions * (1.0 - 0.999 * push / axial), axes)

    return critical(wrong, 2.0, 3.0)


HIGH, THICK, LENGTH = 5.0, 0.25, 60.0
STRIP_E, STRIP_G = 2.0e5, 2.0e5 / 2.6
SOFT, STIFF = HIGH * THICK**3 / 12.0, THICK * HIGH**3 / 12.0
STRIP_J = HIGH * THICK**3 / 3.0 * (1.0 - 0.63 * THICK / HIGH)


def tipping() -> float:
    """Force (N) at which a strip of 5 x 0.25 mm, 60 mm long, bent on edge, tips over sideways."""
    area = HIGH * THICK
    shear = 5.0 / 6.0 * STRIP_G * area
    law = LinearSection(
        np.array([STRIP_E * area, shear, shear, STRIP_G * STRIP_J, STRIP_E * SOFT, STRIP_E * STIFF])
    )

    def wrong(force: float) -> int:
        return wrong_pivots(cantilever(law, [0.0, force, 0.0, 0.0, 0.0, 0.0], straight(LENGTH), 32))

    return critical(wrong, 1.6, 2.0)


def _limits() -> tuple[Check, ...]:
    strip = lateral_buckling_force_n(STRIP_E, SOFT, STIFF, STRIP_G, STRIP_J, LENGTH)
    return (
        Check(
            "push on a wire built in at one end at which it buckles, over EI/L^2",
            "closed form",
            sources.EULER,
            euler_load_n(1.0, 1.0, 1.0, 2.0),
            1e-3,
            "",
            euler,
        ),
        Check(
            "torque on a wire between built-in ends at which it coils up, over EI/L",
            "closed form",
            sources.GREENHILL,
            greenhill_torque_nmm(1.0, 1.0, 1.0),
            2e-3,
            "",
            greenhill,
        ),
        Check(
            "force on a strip of 5 x 0.25 mm, 60 mm long, at which it tips over",
            "closed form",
            sources.PRANDTL,
            strip,
            0.01,
            "N",
            tipping,
        ),
    )
