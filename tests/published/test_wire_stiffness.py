"""Wire stiffness numbers: how much stiffer one wire is than another, by its section and by its alloy.

Burstone, Am J Orthod 80 (1981) 1 (the paper was seen, its table not; the figures are computed, and match the table as
remembered): cross-section number Cs = I/I of a 0.004 in round wire, material number Ms = E over that of steel, wire
number Ws = Ms Cs.
"""

from __future__ import annotations

import math

import pytest

from cases.materials import library
from cases.run import run_case
from geometry.section import Rectangle, Round
from tests.case_texts import INCH, attachment, case_of, edgewise, round_wire, straight

UNIT = math.pi * (0.004 * INCH) ** 4 / 64.0
ROUND = {
    0.010: 39.06, 0.012: 81.00, 0.014: 150.06, 0.016: 256.00, 0.018: 410.06, 0.020: 625.00, 0.022: 915.06,
    0.030: 3164.06, 0.036: 6561.00,
}  # fmt: skip
# height, depth (in): first order, second order
RECTANGLES = {
    (0.016, 0.016): (434.60, 434.60),
    (0.018, 0.018): (696.14, 696.14),
    (0.010, 0.020): (530.52, 132.63),
    (0.016, 0.022): (1129.79, 597.57),
    (0.017, 0.025): (1761.48, 814.51),
    (0.018, 0.025): (1865.10, 966.87),
    (0.019, 0.025): (1968.71, 1137.13),
    (0.021, 0.025): (2175.95, 1535.35),
    (0.0215, 0.028): (3129.84, 1845.37),
    (0.022, 0.028): (3202.62, 1977.13),
}


@pytest.mark.parametrize(("diameter", "number"), ROUND.items())
def test_cross_section_numbers_of_round_wires(diameter: float, number: float) -> None:
    assert Round(diameter * INCH).second_moment_z / UNIT == pytest.approx(number, abs=6e-3)


@pytest.mark.parametrize(("size", "numbers"), RECTANGLES.items())
def test_cross_section_numbers_of_rectangles(size: tuple[float, float], numbers: tuple[float, float]) -> None:
    """First order bends the wire over its depth, second over its height."""
    section = Rectangle(size[0] * INCH, size[1] * INCH)
    assert section.second_moment_y / UNIT == pytest.approx(numbers[0], abs=6e-3)
    assert section.second_moment_z / UNIT == pytest.approx(numbers[1], abs=6e-3)


def force(section: str, order: str) -> float:
    """N at the end of a 40 mm arm, 0.5 mm out of line in an order."""
    offset = (0.5, 0.0) if order == "second" else (0.0, 0.5)
    hook = run_case(
        case_of(
            section,
            [straight(40.0)],
            "A",
            attachment("A", "clamp", "start", 0.0, stop=True),
            attachment("B", "button", "end", 40.0, *offset),
        )
    ).attachment("B")
    return math.hypot(*hook.force_n)


@pytest.mark.parametrize("size", [(0.016, 0.022), (0.019, 0.025)])
@pytest.mark.parametrize("order", ["first", "second"])
def test_the_solver_orders_wires_by_these_numbers(size: tuple[float, float], order: str) -> None:
    """Force of one arm over that of the 0.016 in round one; shear, 3 (l/L)^2, is below 0.1 %: 0.2 %."""
    number = RECTANGLES[size][0 if order == "first" else 1] / ROUND[0.016]
    rectangle = force(edgewise(size[0] * INCH, size[1] * INCH), order)
    assert rectangle / force(round_wire(0.016 * INCH), order) == pytest.approx(number, rel=2e-3)


@pytest.mark.parametrize(
    ("alloy", "number"),
    [("cobalt-chromium", 1.19), ("beta-titanium", 0.42), ("martensitic-nickel-titanium", 0.26)],
)
def test_material_numbers_lie_within_what_the_library_allows(alloy: str, number: float) -> None:
    """Ms from memory; the moduli of the library have ranges, and so has their ratio."""
    other, steel = library()[alloy].youngs_modulus, library()["stainless-steel"].youngs_modulus
    assert other.low / steel.high <= number <= other.high / steel.low
