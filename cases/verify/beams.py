"""Curved, twisted and flat beams of the literature, and a frame that passes its limit."""

from __future__ import annotations

import math
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from cases.verify import sources
from cases.verify.models import THIN, cantilever, end_of, engaged
from cases.verify.rows import Check, part_of
from fem.material import LinearElastic
from fem.model import Model, PointTie, Support
from fem.section_law import LinearSection
from fem.torsion import torsion_constant
from geometry.pose import Pose
from geometry.section import Rectangle
from geometry.wire_shapes import Bend, PassiveShape, Straight, Twist

Array = NDArray[np.float64]


def checks() -> tuple[Check, ...]:
    """All of them."""
    return (*_beams(), *_frame())


@cache
def macneal_harder(curved: bool, axis: int) -> float:
    """Displacement of the end for each unit of force along ``axis``: the curved or the twisted beam."""
    if curved:
        shape = PassiveShape((Bend(0.5 * math.pi, "second", 4.22),))
        section, material = Rectangle(0.2, 0.1), LinearElastic("curved", 1e7, 0.25)
    else:
        shape = PassiveShape((Twist(0.5 * math.pi, 12.0),))
        section, material = Rectangle(1.1, 0.32), LinearElastic("twisted", 29e6, 0.22)
    law = LinearSection.of(section, material, torsion_constant(section))
    # the published loads are of unit size in linear theory: a thousandth, and a thousandfold answer
    tip = np.zeros(6)
    tip[axis] = 1e-3
    return float(end_of(cantilever(law, tip, shape, 24), 1)[0][axis]) * 1e3


@cache
def princeton() -> tuple[float, float, float]:
    """Stiff and soft displacement (mm) and twist (deg) of the strip's end under 8.896 N at 45 deg."""
    high, thick, young = 12.3777, 3.2024, 71.7e3
    shear = young / 2.62
    area = high * thick
    law = LinearSection(
        np.array(
            [
                young * area,
                5.0 / 6.0 * shear * area,
                5.0 / 6.0 * shear * area,
                shear * torsion_constant(Rectangle(high, thick)),
                young * high * thick**3 / 12.0,
                young * thick * high**3 / 12.0,
            ]
        )
    )
    part = 8.896 * math.sqrt(0.5)
    strip = PassiveShape((Straight(508.0),))
    moved, axes = end_of(cantilever(law, [0.0, part, part, 0.0, 0.0, 0.0], strip, 16), 2)
    return float(moved[1]), float(moved[2]), abs(math.degrees(math.atan2(axes[2, 1], axes[1, 1])))


@cache
def pretwisted() -> Array:
    """Displacement (3,) in m of the end of a beam twisted by 90 deg, under 4000 kN."""
    law = LinearSection(np.array([25.0e9, 8.2604e9, 8.2604e9, 0.141873e9, 0.130208e9, 0.520833e9]))
    twisted = PassiveShape((Twist(0.5 * math.pi, 10.0),))
    return end_of(cantilever(law, [0.0, 4.0e6, 0.0, 0.0, 0.0, 0.0], twisted, 32))[0]


def _beams() -> tuple[Check, ...]:
    return (
        Check(
            "curved beam in its plane: end's way for a unit load",
            "benchmark",
            sources.MACNEAL,
            0.08734,
            0.02,
            "",
            partial(macneal_harder, True, 0),
        ),
        Check(
            "curved beam in its plane: end's way for a unit load",
            "benchmark",
            sources.EXACT_ROD,
            0.08860,
            2e-3,
            "",
            partial(macneal_harder, True, 0),
        ),
        Check(
            "curved beam across its plane: end's way for a unit load",
            "benchmark",
            sources.MACNEAL,
            0.5022,
            5e-3,
            "",
            partial(macneal_harder, True, 2),
        ),
        Check(
            "twisted beam, soft at the clamp: end's way for a unit load",
            "benchmark",
            sources.MACNEAL,
            0.005424,
            5e-3,
            "",
            partial(macneal_harder, False, 2),
        ),
        Check(
            "twisted beam, stiff at the clamp: end's way for a unit load",
            "benchmark",
            sources.MACNEAL,
            0.001754,
            5e-3,
            "",
            partial(macneal_harder, False, 1),
        ),
        Check(
            "strip loaded at 45 deg: stiff displacement",
            "benchmark",
            sources.OBREZKOV,
            8.837,
            0.015,
            "mm",
            part_of(princeton, 0),
        ),
        Check(
            "strip loaded at 45 deg: soft displacement",
            "benchmark",
            sources.OBREZKOV,
            108.988,
            0.015,
            "mm",
            part_of(princeton, 1),
        ),
        Check(
            "strip loaded at 45 deg: twist of the end",
            "benchmark",
            sources.EXACT_ROD,
            1.665,
            2e-3,
            "deg",
            part_of(princeton, 2),
        ),
        Check(
            "beam twisted by 90 deg under 4000 kN: end's way along the load",
            "benchmark",
            sources.WANG,
            3.578671,
            0.01,
            "m",
            part_of(pretwisted, 1),
        ),
        Check(
            "beam twisted by 90 deg under 4000 kN: end's way back",
            "benchmark",
            sources.WANG,
            -1.132727,
            0.01,
            "m",
            part_of(pretwisted, 0),
        ),
    )


@cache
def frame_force(down: float) -> float:
    """Force/1000 that takes the loaded point of the right-angled frame ``down``; legs of 120, load 24 from the corner.

    A wire has no kinks: the corner is a bend of a thousandth of a leg."""
    leg, loaded, corner = 120.0, 24.0, 0.1
    axial, bending = 7.2e6 * 6.0, 7.2e6 * 2.0
    run = leg - corner
    shape = PassiveShape((Straight(run), Bend(-0.5 * math.pi, "second", corner), Straight(run)))
    begin = float(shape.breaks[2])
    place = begin + loaded - corner
    foot = Pose.from_angles([0.0, 0.0, 0.0], about_z=0.5 * math.pi)
    other = Pose.from_angles([leg, leg, 0.0])
    supports = (
        Support(PointTie(stop=True), 0.0, foot, foot),
        Support(
            PointTie(),
            place,
            Pose.from_angles([loaded, leg, 0.0]),
            Pose.from_angles([loaded, leg - down, 0.0]),
        ),
        Support(PointTie(stop=True), shape.length, other, other),
    )
    parts = (np.linspace(0.0, run, 25), np.linspace(begin, place, 7), np.linspace(place, shape.length, 21))
    # hardly any shear, and stiff across the plane
    law = LinearSection(
        np.array([axial, 10.0 * axial, 10.0 * axial, 100.0 * bending, 100.0 * bending, bending])
    )
    model = Model(shape, foot, np.unique(np.concatenate(parts)), THIN, law, supports)
    return float(engaged(model, 20).last.snapshot.force[1, 1]) / 1e3


def _frame() -> tuple[Check, ...]:
    rows = (
        ("force at its limit, /1000", 48.735, sources.LEE, 18.532, 2e-3),
        ("force at its limit, /1000", 48.735, sources.EXACT_ROD, 18.5567, 1e-3),
        ("force beyond its limit, at 60 down, /1000", 60.0, sources.EXACT_ROD, 14.821, 1e-3),
    )
    return tuple(
        Check(
            f"right-angled frame: {words}",
            "benchmark",
            source,
            expected,
            tolerance,
            "",
            partial(frame_force, down),
        )
        for words, down, source, expected, tolerance in rows
    )
