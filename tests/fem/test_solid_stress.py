"""Stress at the nodes of a solid wire: adds up to the resultants, follows the beam, jumps where forces act."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.section_stress import axial_stress_extremes, largest_equivalent_stress
from fem.solid_stress import resultants_along, solid_stress, telling_arcs, unit_stress
from fem.torsion import torsion_constants
from geometry.section import Rectangle, Round, Section
from tests.section_integrals import resultants

SECTIONS = [
    Round(0.4064),
    Rectangle(0.4, 0.4),
    Rectangle(0.4064, 0.5588),
    Rectangle(0.4318, 0.635, 0.0508),
    Rectangle(0.635, 0.4318, 0.05),
    Rectangle(0.4, 0.6, 0.2),
]


@pytest.mark.parametrize("section", SECTIONS)
def test_stress_adds_up_to_the_resultants_it_came_from(section: Section) -> None:
    """Within 0.5 %, each resultant alone; what it brings of the others is measured by arms of the section."""
    unit = unit_stress(section, 0.3)
    arm = 0.5 * max(section.height, section.depth)
    scale = np.array([1.0, 1.0, 1.0, arm, arm, arm])
    for k in range(6):
        found = resultants(unit.mesh, unit.per_resultant[:, :, k] * scale[k]) / scale
        np.testing.assert_allclose(found, np.eye(6)[k], atol=5e-3)
        assert found[k] == pytest.approx(1.0, rel=1.5e-3)


@pytest.mark.parametrize("section", SECTIONS)
def test_axial_stress_is_largest_where_theory_says(section: Section) -> None:
    unit = unit_stress(section, 0.3)
    carried = np.array([3.0, 0.0, 0.0, 0.0, 2.0, -4.0])
    found = solid_stress(unit, np.arange(len(unit.mesh.points)), np.tile(carried, (len(unit.mesh.points), 1)))
    exact = axial_stress_extremes(section, 3.0, 2.0, -4.0)
    # Nodes stand at most 22.5 degrees from the place on a rounded edge.
    lost = section.edge_radius * (1.0 - math.cos(math.radians(22.5))) / (0.5 * section.height)
    assert exact * (1.0 - lost) - 1e-9 <= np.abs(found.axial).max() <= exact * (1.0 + 1e-9)
    np.testing.assert_array_equal(found.shear, 0.0)
    np.testing.assert_allclose(found.von_mises, np.abs(found.axial))


def test_von_mises_stress_of_a_shaft() -> None:
    """32/(pi d^3) sqrt(M^2 + 3/4 T^2) at the outline, in any handbook of machine elements."""
    d = 0.4064
    unit = unit_stress(Round(d), 0.3)
    count = len(unit.mesh.points)
    found = solid_stress(unit, np.arange(count), np.tile([0.0, 0.0, 0.0, 3.0, 4.0, 0.0], (count, 1)))
    expected = 32.0 / (math.pi * d**3) * math.sqrt(4.0**2 + 0.75 * 3.0**2)
    assert found.von_mises.max() == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("section", SECTIONS)
def test_no_node_exceeds_the_bound_that_the_result_gives_but_for_the_fit(section: Section) -> None:
    unit = unit_stress(section, 0.3)
    carried = np.array([[1.0, 2.0, -1.0, 4.0, 3.0, -5.0]])
    count = len(unit.mesh.points)
    found = solid_stress(unit, np.arange(count), np.repeat(carried, count, axis=0)).von_mises.max()
    bound = float(largest_equivalent_stress(section, torsion_constants(section), carried)[0])
    assert 0.5 * bound < found < 1.02 * bound


def test_tables_are_kept_and_read_only() -> None:
    one = unit_stress(Round(0.4064), 0.3)
    assert unit_stress(Round(0.4064), 0.3) is one
    assert unit_stress(Round(0.4064), 0.3, 8) is not one
    with pytest.raises(ValueError, match="read-only"):
        one.per_resultant[0, 0, 0] = 1.0


NODES = np.array([0.0, 1.0, 2.0, 4.0])


def carried(*bending: tuple[float, float]) -> np.ndarray:
    """(m, 2, 6): a moment about depth at the ends of each element."""
    ends = np.zeros((len(bending), 2, 6))
    ends[:, :, 5] = bending
    return ends


def test_resultants_run_straight_between_nodes_and_the_larger_side_counts_at_a_jump() -> None:
    ends = carried((0.0, 1.0), (3.0, -2.0), (-5.0, 1.0))
    at = np.array([0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0])
    found = resultants_along(Round(0.4), NODES, ends, at)
    np.testing.assert_allclose(found[:, 5], [0.0, 0.5, 3.0, 0.5, -5.0, -2.0, 1.0], atol=1e-12)
    np.testing.assert_array_equal(found[:, :5], 0.0)


def test_corners_of_the_stress_are_told_the_foremost_first() -> None:
    """A tent with a jump beside it; a straight course has none."""
    nodes = np.arange(0.0, 7.0)
    tent = [(0.0, 1.0), (1.0, 2.0), (2.0, 1.0), (1.0, 0.0), (0.0, 0.0), (0.5, 0.0)]
    found = telling_arcs(Round(0.4), nodes, carried(*tent))
    assert found[0] == 2.0 and set(found) >= {2.0, 5.0} and 1.0 not in found and 3.0 not in found
    line = [(k, k + 1.0) for k in range(6)]
    assert telling_arcs(Round(0.4), nodes, carried(*line)).size == 0
    assert telling_arcs(Round(0.4), nodes, np.zeros((6, 2, 6))).size == 0
    # Each of them fits the straight course between its neighbours to the share asked for.
    arcs = np.linspace(0.0, 3.0, 301)
    wave = np.sin(arcs)
    found = telling_arcs(Round(0.4), arcs, carried(*zip(wave[:-1], wave[1:], strict=True)), 0.01)
    kept = np.sort(np.concatenate((found, [0.0, 3.0])))
    assert np.abs(np.interp(arcs, kept, np.sin(kept)) - wave).max() <= 0.0101 * wave.max()
    assert len(kept) < 20
