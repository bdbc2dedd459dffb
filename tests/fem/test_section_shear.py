"""Shear stress of torque and of shear forces: handbooks, exact solutions, and another program."""

from __future__ import annotations

import math

import numpy as np
import pytest
from sectionproperties.analysis import Section as OtherSection
from sectionproperties.pre import Geometry, Material
from shapely import box

from fem.section_shear import at_nodes, shear_of_forces, shear_of_torque
from fem.section_stress import shear_force_factors
from geometry.meshing import SectionMesh, section_mesh
from geometry.section import Rectangle, Round, Section
from geometry.solid_mesh import coarse_section_mesh
from tests.handbook_torsion import HANDBOOK, LAST_DIGIT, WIRES
from tests.section_integrals import over_section

INCH = 25.4
A = 0.4
SYMMETRIC = [Round(0.4064), Rectangle(0.4, 0.6), Rectangle(0.4318, 0.635, 0.0508), Rectangle(0.6, 0.4, 0.2)]


def nodal_torque(mesh: SectionMesh) -> np.ndarray:
    """(n, 2) shear stress per unit torque at the nodes, as a solid wire shows it."""
    return at_nodes(mesh, shear_of_torque(mesh)[0])


def nodal_forces(mesh: SectionMesh, poisson: float) -> np.ndarray:
    """(n, 2, 2) shear stress per unit force at the nodes, the force last."""
    stress = shear_of_forces(mesh, poisson)
    return at_nodes(mesh, stress.reshape(*stress.shape[:2], 4)).reshape(-1, 2, 2)


@pytest.mark.parametrize(("ratio", "k1", "k2"), HANDBOOK)
def test_torsion_constant_and_largest_shear_on_the_solids_mesh(ratio: float, k1: float, k2: float) -> None:
    """Torsion constant within 0.1 %, largest shear within 1 %, on the coarse mesh of the solid wire."""
    b = ratio * A
    mesh = coarse_section_mesh(Rectangle(b, A))
    stress, constant = shear_of_torque(mesh)
    assert constant / (b * A**3) == pytest.approx(k1, abs=LAST_DIGIT + 1e-3 * k1)
    largest = np.linalg.norm(nodal_torque(mesh), axis=1).max()
    assert 1.0 / (largest * b * A**2) == pytest.approx(k2, rel=0.01)
    # It stands in the middle of the longer side, and points along it.
    y, z = mesh.points[np.linalg.norm(nodal_torque(mesh), axis=1).argmax()]
    assert abs(z) == pytest.approx(0.5 * A) or ratio == 1.0
    if ratio > 1.0:
        assert abs(y) < 0.2 * b
    assert np.linalg.norm(stress, axis=-1).max() <= largest * 1.02


@pytest.mark.parametrize("diameter", [0.3556, 0.4064])
def test_torsion_of_a_round_wire(diameter: float) -> None:
    """J = pi d^4/32 and stress T r/J, along circles."""
    mesh = coarse_section_mesh(Round(diameter))
    constant = shear_of_torque(mesh)[1]
    exact = math.pi * diameter**4 / 32.0
    assert constant == pytest.approx(exact, rel=1e-3)
    y, z = mesh.points.T
    expected = np.column_stack((-z, y)) / exact
    np.testing.assert_allclose(nodal_torque(mesh), expected, atol=0.01 * 0.5 * diameter / exact)


@pytest.mark.parametrize(("sizes", "constant"), WIRES.items())
def test_torsion_constant_of_wires_on_the_solids_mesh(
    sizes: tuple[float, float, float], constant: float
) -> None:
    mesh = coarse_section_mesh(Rectangle(*(INCH * size for size in sizes)))
    assert shear_of_torque(mesh)[1] == pytest.approx(constant, rel=1e-3)


@pytest.mark.parametrize("poisson", [0.0, 0.3, 0.5])
def test_shear_force_on_a_round_wire(poisson: float) -> None:
    """Exact, everywhere: Sadd, Elasticity, example 9-8, eq. 9.9.9; Timoshenko & Goodier, art. 121.

    With the force along y: t_y = V/I (3 + 2 nu)/(8 (1 + nu)) (r^2 - y^2 - (1 - 2 nu)/(3 + 2 nu) z^2),
    t_z = -V/I (1 + 2 nu)/(4 (1 + nu)) y z.  In the middle that is 1.38 V/A at nu = 0.3, 4/3 V/A at 0.5.
    """
    section = Round(0.4064)
    r, inertia = 0.2032, section.second_moment_z
    # On a coarse mesh single nodes are off by a few per cent of the largest.
    for mesh, error in ((coarse_section_mesh(section), 0.05), (section_mesh(section, 24), 5e-3)):
        y, z = mesh.points.T
        found = nodal_forces(mesh, poisson)
        peak = (3.0 + 2.0 * poisson) / (8.0 * (1.0 + poisson)) / inertia
        flat = (1.0 - 2.0 * poisson) / (3.0 + 2.0 * poisson)
        sideways = -(1.0 + 2.0 * poisson) / (4.0 * (1.0 + poisson)) * y * z / inertia
        tolerance = error * peak * r**2
        np.testing.assert_allclose(found[:, 0, 0], peak * (r**2 - y**2 - flat * z**2), atol=tolerance)
        np.testing.assert_allclose(found[:, 1, 0], sideways, atol=tolerance)
        np.testing.assert_allclose(found[:, 1, 1], peak * (r**2 - z**2 - flat * y**2), atol=tolerance)
        np.testing.assert_allclose(found[:, 0, 1], sideways, atol=tolerance)
        assert found[:, 0, 0].max() == pytest.approx(peak * r**2, rel=error)
    middle = np.linalg.norm(mesh.points, axis=1).argmin()
    if poisson == 0.3:
        assert found[middle, 0, 0] * section.area == pytest.approx(1.38, rel=5e-3)


# Side along the force over the other; stress over 3V/(2A) in the middle and at the ends of the neutral axis, at
# Poisson's ratio 1/4: Timoshenko & Goodier, table in art. 124 (from memory).
@pytest.mark.parametrize(
    ("ratio", "middle", "end"),
    [(2.0, 0.983, 1.033), (1.0, 0.940, 1.126), (0.5, 0.856, 1.396), (0.25, 0.805, 1.988)],
)
def test_shear_force_on_a_rectangle(ratio: float, middle: float, end: float) -> None:
    for section, along, across in (
        (Rectangle(ratio * 0.6, 0.6), 0, 1),
        (Rectangle(0.6, ratio * 0.6), 1, 0),
    ):
        mesh = section_mesh(section, 16 if ratio > 0.3 else 8)
        found = nodal_forces(mesh, 0.25)[:, along, along] * section.area / 1.5
        at_middle = np.linalg.norm(mesh.points, axis=1).argmin()
        at_end = np.hypot(mesh.points[:, along], mesh.points[:, across] - 0.3).argmin()
        assert found[at_middle] == pytest.approx(middle, rel=5e-3)
        assert found[at_end] == pytest.approx(end, rel=5e-3)


def test_without_contraction_a_rectangle_has_the_elementary_parabola() -> None:
    """Poisson's ratio zero: 3V/(2A) (1 - (2 y/h)^2), even across, exact however wide."""
    section = Rectangle(0.4, 1.0)
    for mesh, error in ((coarse_section_mesh(section), 0.05), (section_mesh(section, 24), 5e-3)):
        found = nodal_forces(mesh, 0.0)
        y = mesh.points[:, 0]
        expected = 1.5 / section.area * (1.0 - (y / 0.2) ** 2)
        np.testing.assert_allclose(found[:, 0, 0], expected, atol=error * 1.5 / section.area)
        np.testing.assert_allclose(found[:, 1, 0], 0.0, atol=error * 1.5 / section.area)
    assert found[:, 0, 0].max() == pytest.approx(shear_force_factors(section)[0], rel=2e-3)


@pytest.mark.parametrize("section", SYMMETRIC)
def test_each_force_and_the_torque_come_back(section: Section) -> None:
    """A unit force along one axis adds up to that, with nothing along the other and no torque."""
    mesh = coarse_section_mesh(section)
    y, z = mesh.points.T
    found = np.concatenate((nodal_forces(mesh, 0.3), nodal_torque(mesh)[..., None]), axis=-1)
    along = over_section(mesh, found)
    torque = over_section(mesh, y[:, None] * found[:, 1] - z[:, None] * found[:, 0])
    np.testing.assert_allclose(along[:, :2], np.eye(2), atol=1e-9)
    np.testing.assert_allclose(along[:, 2], 0.0, atol=1e-3)
    # Products of nodal values leave a little of the torque: what they are made of has it exactly.
    assert torque[2] == pytest.approx(1.0, rel=1e-3)
    np.testing.assert_allclose(torque[:2], 0.0, atol=1e-3 * section.height)


@pytest.mark.parametrize(
    "section", [Round(0.4064), Rectangle(0.4, 0.6, 0.2), Rectangle(0.4318, 0.635, 0.0508)]
)
def test_no_shear_leaves_through_the_free_surface(section: Section) -> None:
    mesh = section_mesh(section, 16)
    start, end, middle = mesh.boundary.T
    along = mesh.points[end] - mesh.points[start]
    normal = np.column_stack((along[:, 1], -along[:, 0])) / np.linalg.norm(along, axis=1)[:, None]
    for stress in (nodal_torque(mesh), nodal_forces(mesh, 0.3)[..., 0], nodal_forces(mesh, 0.3)[..., 1]):
        leaving = np.abs((stress[middle] * normal).sum(axis=1))
        assert leaving.max() < 0.03 * np.linalg.norm(stress, axis=1).max()


def test_another_program_finds_the_same_shear_of_a_force() -> None:
    """sectionproperties, an open-source program with finite elements of its own, on a rounded wire."""
    height, depth, radius, poisson = 0.4318, 0.635, 0.0508, 0.3
    inner = box(radius - 0.5 * depth, radius - 0.5 * height, 0.5 * depth - radius, 0.5 * height - radius)
    steel = Material("test", 200e3, poisson, 1000.0, 8e-6, "grey")
    other = Geometry(inner.buffer(radius, quad_segs=16), material=steel)
    other.create_mesh(mesh_sizes=[height * depth / 400.0])
    witness = OtherSection(other)
    witness.calculate_geometric_properties()
    witness.calculate_warping_properties()
    mesh = section_mesh(Rectangle(height, depth, radius), 12)
    ours = nodal_forces(mesh, poisson)
    # Its x is our depth, its y our height.
    for force, axis in (({"vy": 1.0}, 0), ({"vx": 1.0}, 1)):
        theirs = witness.calculate_stress(**force).get_stress()[0]["sig_zxy_v"]
        largest = np.linalg.norm(ours[..., axis], axis=1).max()
        assert largest == pytest.approx(theirs.max(), rel=0.01)
