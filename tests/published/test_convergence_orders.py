"""How fast the error falls with the number of elements, against the rods and sources of scripts.convergence_problems.

Wanted: order 4 in displacements, 2 in section moments.  An observed order is a slope over a few meshes, hence the 0.1.
"""

from __future__ import annotations

from functools import cache

import pytest

from scripts.convergence_problems import ROUNDING, Errors, benchmarks, errors_of, observed

RODS = {benchmark.name: benchmark for benchmark in benchmarks()}
MESHES = (5, 10, 20, 40)
SLOPE = 0.1


@cache
def errors(name: str) -> tuple[Errors, ...]:
    """On all meshes."""
    exact = RODS[name].exact()
    return tuple(errors_of(RODS[name], exact, elements) for elements in MESHES)


def displacement_order(name: str) -> float | None:
    """None where the error is rounding."""
    return observed(MESHES, [one.displacement for one in errors(name)])


@pytest.mark.parametrize("name", RODS)
def test_displacements_converge_with_the_fourth_order(name: str) -> None:
    order = displacement_order(name)
    assert order is None or order >= 4.0 - SLOPE


@pytest.mark.parametrize("name", RODS)
def test_section_moments_converge_with_the_second_order_at_least(name: str) -> None:
    order = observed(MESHES, [one.moment for one in errors(name)])
    assert order is None or order >= 2.0 - SLOPE


def test_a_circle_is_exact_on_any_mesh() -> None:
    """A constant moment bends every element to an arc, which it can be."""
    for one in errors("roll-up"):
        assert one.displacement <= ROUNDING and one.moment <= ROUNDING
