"""Sections: torsion by finite elements, second moments, stiffness numbers, what rounded edges cost."""

from __future__ import annotations

import math
from functools import cache, partial

from cases.formulas import cross_section_number, rectangle_torsion_constant_short_mm4
from cases.verify import sources
from cases.verify.models import INCH
from cases.verify.rows import Check
from fem.torsion import solve_torsion, torsion_constant
from geometry.section import Rectangle, Round, Section

SIDE = 0.4


def checks() -> tuple[Check, ...]:
    """All of them."""
    return (*_torsion(), *_wires(), *_numbers(), _edges())


def k1(ratio: float) -> float:
    """J/(b a^3) of a rectangle, by finite elements."""
    return solve_torsion(Rectangle(SIDE, ratio * SIDE)).constant / (ratio * SIDE**4)


def k2(ratio: float) -> float:
    """T/(largest stress b a^2) of a rectangle, by finite elements."""
    return 1.0 / (solve_torsion(Rectangle(SIDE, ratio * SIDE)).largest_shear_factor * ratio * SIDE**3)


def _torsion() -> tuple[Check, ...]:
    out = [
        Check(
            f"torsion of a rectangle {ratio:g} : 1, {name}",
            "benchmark",
            sources.TIMOSHENKO_GOODIER,
            expected,
            tolerance,
            "",
            partial(factor, ratio),
        )
        for ratio, name, factor, expected, tolerance in (
            (1.0, "k1 of J = k1 b a^3", k1, 0.1406, 5e-4),
            (2.0, "k1 of J = k1 b a^3", k1, 0.2287, 5e-4),
            (4.0, "k1 of J = k1 b a^3", k1, 0.2808, 5e-4),
            (2.0, "k2 of the largest stress T/(k2 b a^2)", k2, 0.2459, 2e-3),
        )
    ]
    short = rectangle_torsion_constant_short_mm4(SIDE, 2.0 * SIDE) / (2.0 * SIDE**4)
    return (
        *out,
        Check(
            "torsion of a rectangle 2 : 1, k1 of J = k1 b a^3",
            "closed form",
            sources.ROARK,
            short,
            3e-3,
            "",
            partial(k1, 2.0),
        ),
    )


@cache
def inches(height: float, depth: float, edge: float) -> Rectangle:
    """A wire in inches."""
    return Rectangle(height * INCH, depth * INCH, edge * INCH)


def _wires() -> tuple[Check, ...]:
    out = []
    for sizes, name, unit, expected, tolerance in (
        ((0.016, 0.022, 0.004), "area", "mm^2", 0.21821, 1e-3),
        ((0.016, 0.022, 0.004), "second moment, second order", "mm^4", 2.83303e-3, 1e-3),
        ((0.016, 0.022, 0.004), "second moment, first order", "mm^4", 5.32086e-3, 1e-3),
        ((0.016, 0.022, 0.004), "torsion constant", "mm^4", 6.7481e-3, 5e-3),
        ((0.019, 0.025, 0.002), "torsion constant", "mm^4", 1.27332e-2, 5e-3),
    ):
        height, depth, edge = sizes
        out.append(
            Check(
                f"{height} x {depth} in, edge radius {edge} in: {name}",
                "benchmark",
                sources.SECTIONPROPERTIES,
                expected,
                tolerance,
                unit,
                partial(constant, inches(*sizes), name),
            )
        )
    return tuple(out)


def constant(section: Section, name: str) -> float:
    """One of the section's constants, by its name in the table."""
    return {
        "area": lambda: section.area,
        "second moment, second order": lambda: section.second_moment_z,
        "second moment, first order": lambda: section.second_moment_y,
        "torsion constant": lambda: torsion_constant(section),
    }[name]()


def _numbers() -> tuple[Check, ...]:
    rows: tuple[tuple[str, Section, str, float], ...] = (
        ("0.016 in round", Round(0.016 * INCH), "second", 256.00),
        ("0.019 x 0.025 in, second order", inches(0.019, 0.025, 0.0), "second", 1137.13),
        ("0.019 x 0.025 in, first order", inches(0.019, 0.025, 0.0), "first", 1968.71),
    )
    return tuple(
        Check(
            f"cross-section number of {name}",
            "benchmark",
            sources.BURSTONE_1981,
            expected,
            5e-4,
            "",
            partial(number, section, order),
        )
        for name, section, order, expected in rows
    )


def number(section: Section, order: str) -> float:
    """Cross-section number of a section in first or second order."""
    return cross_section_number(section.second_moment_y if order == "first" else section.second_moment_z)


def lost_stiffness() -> float:
    """Share (%) of second-order stiffness that edges cost which take 7.5 % of the area of 0.016 x 0.022 in."""
    sharp = inches(0.016, 0.022, 0.0)
    edge = math.sqrt(0.075 * sharp.area / (4.0 - math.pi))
    rounded = Rectangle(sharp.height, sharp.depth, edge)
    return 100.0 * (1.0 - rounded.second_moment_z / sharp.second_moment_z)


def _edges() -> Check:
    return Check(
        "stiffness lost by edges that cost 7.5 % of the area (measured 7 to 8 %, 15 to 19 %)",
        "measurement",
        sources.RUCKER,
        17.0,
        2.0,
        "%",
        lost_stiffness,
        relative=False,
    )
