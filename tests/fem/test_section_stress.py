"""Largest stresses of a section: strength of materials, and maxima searched over the outline."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.section_stress import axial_stress_extremes, largest_equivalent_stress, shear_force_factors
from fem.torsion import solve_torsion, torsion_constants
from geometry.section import Rectangle, Round, Section

SECTIONS = [
    Round(0.4064),
    Rectangle(0.4064, 0.5588),
    Rectangle(0.4318, 0.635, 0.05),
    Rectangle(0.6, 0.4, 0.2),
]
FORCE = np.array([0.0, 3.0, -3.0, 0.0, 10.0, 0.0])
MOMENT_Y = np.array([5.0, 0.0, 2.0, -4.0, 7.0, 0.0])
MOMENT_Z = np.array([0.0, -6.0, 3.0, 4.0, -1.0, 0.0])


def test_round_wire_has_moment_over_section_modulus() -> None:
    """W = pi d^3/32 whatever the plane of bending."""
    d = 0.4064
    found = axial_stress_extremes(Round(d), FORCE, MOMENT_Y, MOMENT_Z)
    modulus, area = math.pi * d**3 / 32.0, math.pi * d**2 / 4.0
    expected = np.abs(FORCE) / area + np.hypot(MOMENT_Y, MOMENT_Z) / modulus
    np.testing.assert_allclose(found, expected, rtol=1e-13)


def test_sharp_rectangle_adds_its_three_stresses_at_a_corner() -> None:
    """W = b h^2/6, h in the plane of bending: about height y the depth, about depth z the height."""
    height, depth = 0.4064, 0.5588
    found = axial_stress_extremes(Rectangle(height, depth), FORCE, MOMENT_Y, MOMENT_Z)
    first, second = height * depth**2 / 6.0, depth * height**2 / 6.0
    expected = np.abs(FORCE) / (height * depth) + np.abs(MOMENT_Y) / first + np.abs(MOMENT_Z) / second
    np.testing.assert_allclose(found, expected, rtol=1e-13)


@pytest.mark.parametrize("section", SECTIONS)
def test_closed_form_is_the_maximum_over_the_outline(section: Section) -> None:
    per_quarter = 400
    y, z = section.outline(per_quarter).T
    stress = (
        FORCE[:, None] / section.area
        + MOMENT_Y[:, None] / section.second_moment_y * z
        - MOMENT_Z[:, None] / section.second_moment_z * y
    )
    searched = np.abs(stress).max(axis=1)
    found = axial_stress_extremes(section, FORCE, MOMENT_Y, MOMENT_Z)
    assert (searched <= found * (1.0 + 1e-12)).all()
    # The nearest point of an arc is at most half a step from the true place, and loses a cosine.
    np.testing.assert_allclose(
        searched, found, rtol=1.0 - math.cos(math.pi / (4.0 * per_quarter)), atol=1e-12
    )


def test_numbers_do_as_well_as_arrays() -> None:
    assert axial_stress_extremes(Rectangle(2.0, 3.0), 6.0, 0.0, 0.0) == pytest.approx(1.0)


def test_shear_force_factors_of_plain_sections() -> None:
    """Largest over mean shear stress: 3/2 for a rectangle, 4/3 for a circle (elementary theory)."""
    assert shear_force_factors(Rectangle(0.4, 0.6)) == pytest.approx((1.5 / 0.24, 1.5 / 0.24))
    circle = 4.0 / 3.0 / (math.pi * 0.2**2)
    assert shear_force_factors(Round(0.4)) == pytest.approx((circle, circle))
    assert shear_force_factors(Rectangle(0.4, 0.4, 0.2)) == pytest.approx((circle, circle))


@pytest.mark.parametrize("section", [Rectangle(0.4318, 0.635, 0.05), Rectangle(0.6, 0.4, 0.2)])
def test_shear_force_factors_with_rounded_edges(section: Rectangle) -> None:
    """Q by adding up strips of the half section."""
    turned = Rectangle(section.depth, section.height, section.edge_radius)
    for one, factor in zip((section, turned), shear_force_factors(section), strict=True):
        strip = 0.5 * one.height / 20000
        y = (np.arange(20000) + 0.5) * strip
        beyond = np.maximum(y - one.corner_y, 0.0)
        width = 2.0 * (one.corner_z + np.sqrt(one.edge_radius**2 - beyond**2))
        half = (y * width).sum() * strip
        assert factor == pytest.approx(half / (one.second_moment_z * one.depth), rel=1e-6)


def test_round_wire_bent_and_twisted() -> None:
    """von Mises' stress of a shaft: 32/(pi d^3) sqrt(M^2 + 3/4 T^2), in any handbook of machine elements."""
    d, bending, torque = 0.4064, 4.0, 3.0
    section = Round(d)
    for moment_y, moment_z in ((bending, 0.0), (0.0, -bending), (0.6 * bending, 0.8 * bending)):
        found = largest_equivalent_stress(
            section, torsion_constants(section), [[0.0, 0.0, 0.0, -torque, moment_y, moment_z]]
        )
        expected = 32.0 / (math.pi * d**3) * math.sqrt(bending**2 + 0.75 * torque**2)
        assert found == pytest.approx([expected], rel=1e-13)


def test_each_resultant_alone_in_its_place() -> None:
    section = Rectangle(0.4, 0.6)
    torsion = torsion_constants(section)
    found = largest_equivalent_stress(section, torsion, np.eye(6))
    root = math.sqrt(3.0)
    expected = [
        1.0 / 0.24,
        root * 1.5 / 0.24,
        root * 1.5 / 0.24,
        root * torsion.largest_shear_factor,
        6.0 / (0.4 * 0.6**2),
        6.0 / (0.6 * 0.4**2),
    ]
    assert found == pytest.approx(expected, rel=1e-13)


@pytest.mark.parametrize("section", [Rectangle(0.4064, 0.5588), Rectangle(0.4318, 0.635, 0.05)])
def test_no_point_of_a_bent_and_twisted_section_exceeds_the_bound(section: Rectangle) -> None:
    """von Mises' stress in the middle of every triangle, where the gradient of w is that of its six nodes."""
    solved = solve_torsion(section, 24)
    corners, nodal = solved.mesh.points[solved.mesh.triangles], solved.warping[solved.mesh.triangles]
    # The six shape functions and their derivatives by the two local coordinates, at the centroid.
    local = np.array([[-1, -1], [1, 0], [0, 1], [0, -4], [4, 4], [-4, 0]]) / 3.0
    jacobian = np.einsum("ia,mik->mak", local, corners)
    warp = np.linalg.solve(jacobian, np.einsum("ia,mi->ma", local, nodal)[..., None])[..., 0]
    shape = np.array([-1, -1, -1, 4, 4, 4]) / 9.0
    y, z = np.einsum("i,mik->km", shape, corners)
    torque, moment_y, moment_z = 5.0, 4.0, -3.0
    shear = torque / solved.constant * np.hypot(warp[:, 0] - z, warp[:, 1] + y)
    axial = moment_y / section.second_moment_y * z - moment_z / section.second_moment_z * y
    everywhere = np.sqrt(axial**2 + 3.0 * shear**2)
    bound = largest_equivalent_stress(section, solved, [[0.0, 0.0, 0.0, torque, moment_y, moment_z]])
    assert 0.6 * bound[0] < everywhere.max() < bound[0]


def test_resultants_of_another_shape_are_refused() -> None:
    section = Round(0.4)
    for wrong in (np.zeros(6), np.zeros((2, 5))):
        with pytest.raises(ValueError, match="six to a row"):
            largest_equivalent_stress(section, torsion_constants(section), wrong)
