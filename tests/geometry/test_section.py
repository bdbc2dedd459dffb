"""Sections against an independent polygon integrator and against published cross-section numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from sectionproperties.analysis import Section
from sectionproperties.pre import Geometry

from geometry.section import Rectangle, Round

INCH = 25.4


def polygon_constants(height: float, depth: float, radius: float) -> tuple[float, float, float]:
    """Area, int z^2, int y^2 by sectionproperties from a finely rounded box of shapely."""
    box = shapely.box(radius - depth / 2, radius - height / 2, depth / 2 - radius, height / 2 - radius)
    solid = Geometry(box.buffer(radius, quad_segs=200) if radius else box)
    solid.create_mesh(mesh_sizes=0.0)
    # Its horizontal axis is our z, its vertical axis our y.
    section = Section(solid)
    section.calculate_geometric_properties()
    ixx, iyy, _ = section.get_ic()
    return section.get_area(), iyy, ixx


@pytest.mark.parametrize(
    ("height", "depth", "radius"),
    [
        (0.016, 0.022, 0.0),
        (0.016, 0.022, 0.004),
        (0.017, 0.025, 0.002),
        (0.019, 0.025, 0.004),
        (0.025, 0.017, 0.003),
        (0.016, 0.022, 0.0079),
    ],
)
def test_rounded_rectangle_has_the_constants_of_its_polygon(
    height: float, depth: float, radius: float
) -> None:
    # 800 chords on the corners miss 1 - sin(a)/a = 1.0e-5 of the corner discs, a = pi/400.
    wire = Rectangle(height * INCH, depth * INCH, radius * INCH)
    area, about_y, about_z = polygon_constants(wire.height, wire.depth, wire.edge_radius)
    assert wire.area == pytest.approx(area, rel=2e-5)
    assert wire.second_moment_y == pytest.approx(about_y, rel=4e-5)
    assert wire.second_moment_z == pytest.approx(about_z, rel=4e-5)
    assert wire.polar_moment == pytest.approx(about_y + about_z, rel=4e-5)


def test_a_square_all_rounded_is_a_round_wire() -> None:
    square, wire = Rectangle(0.5, 0.5, 0.25), Round(0.5)
    for name in ("area", "second_moment_y", "second_moment_z", "polar_moment", "corner_y", "corner_z"):
        assert getattr(square, name) == pytest.approx(getattr(wire, name), rel=1e-14)


@pytest.mark.parametrize(
    ("inches", "number"),
    [(0.010, 39.06), (0.012, 81.0), (0.014, 150.06), (0.016, 256.0), (0.018, 410.06), (0.020, 625.0)],
)
def test_cross_section_numbers_of_round_wires(inches: float, number: float) -> None:
    """Burstone, Am. J. Orthod. 80 (1981) 1: stiffness against a 0.004 in round wire (table from memory)."""
    ratio = Round(inches * INCH).second_moment_z / Round(0.004 * INCH).second_moment_z
    assert ratio == pytest.approx(number, rel=5e-4)


@pytest.mark.parametrize(
    ("height", "depth", "first", "second"),
    [
        (0.016, 0.016, 434.60, 434.60),
        (0.010, 0.020, 530.52, 132.63),
        (0.016, 0.022, 1129.79, 597.57),
        (0.018, 0.025, 1865.10, 966.87),
        (0.021, 0.025, 2175.95, 1535.35),
    ],
)
def test_cross_section_numbers_of_rectangular_wires(
    height: float, depth: float, first: float, second: float
) -> None:
    """The same source (table from memory): in edgewise wires the first order is the stiffer one."""
    wire, unit = Rectangle(height * INCH, depth * INCH), Round(0.004 * INCH).second_moment_z
    assert wire.second_moment_y / unit == pytest.approx(first, rel=5e-4)
    assert wire.second_moment_z / unit == pytest.approx(second, rel=5e-4)


@pytest.mark.parametrize(
    "wire", [Round(0.4), Rectangle(0.4, 0.6), Rectangle(0.4, 0.6, 0.07), Rectangle(0.4, 0.6, 0.2)]
)
def test_reach_is_the_farthest_outline_point(wire: Round | Rectangle) -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 61)
    directions = np.column_stack((np.cos(turn), np.sin(turn)))
    farthest = (wire.outline(400) @ directions.T).max(axis=0)
    np.testing.assert_allclose(
        wire.reach(directions), farthest, atol=0.5 * wire.edge_radius * (np.pi / 800) ** 2
    )
    np.testing.assert_allclose(wire.reach(3.0 * directions), 3.0 * wire.reach(directions), rtol=1e-14)
    assert float(wire.reach((1.0, 0.0))) == pytest.approx(wire.height / 2, rel=1e-15)
    assert float(wire.reach((0.0, 1.0))) == pytest.approx(wire.depth / 2, rel=1e-15)


@pytest.mark.parametrize(
    ("wire", "count"),
    [
        (Round(0.4), 32),
        (Rectangle(0.4, 0.6), 4),
        (Rectangle(0.4, 0.6, 0.1), 36),
        (Rectangle(0.4, 0.6, 0.2), 34),
    ],
)
def test_outline_goes_round_once_counter_clockwise(wire: Round | Rectangle, count: int) -> None:
    outline = wire.outline(8)
    assert outline.shape == (count, 2) and not outline.flags.writeable
    ring = shapely.LinearRing(outline)
    assert ring.is_ccw and ring.is_simple
    # 32 chords hold sin(a)/a of a disc, a = 2 pi/32.
    missing = math.pi * wire.edge_radius**2 * (1.0 - math.sin(math.pi / 16) / (math.pi / 16))
    assert shapely.Polygon(outline).area == pytest.approx(wire.area - missing, rel=1e-12)


def test_labels_say_shape_and_size() -> None:
    assert Round(0.4064).label == "round 0.406 mm"
    assert Rectangle(0.4318, 0.635, 0.05).label == "0.432 x 0.635 mm, edge radius 0.05 mm"
    assert Rectangle(0.4318, 0.635).label == "0.432 x 0.635 mm, sharp edges"


def test_half_the_smaller_side_may_be_rounded_whatever_the_unit_rounding() -> None:
    wire = Rectangle(0.3 * INCH, 0.5 * INCH, 3 * 0.05 * INCH)
    assert wire.edge_radius > wire.height / 2  # by one bit
    assert wire.corner_y == 0.0


@pytest.mark.parametrize("bad", [0.0, -0.4, math.nan, math.inf])
def test_sizes_must_be_finite_and_above_zero(bad: float) -> None:
    with pytest.raises(ValueError, match="diameter"):
        Round(bad)
    with pytest.raises(ValueError, match="height"):
        Rectangle(bad, 0.6)
    with pytest.raises(ValueError, match="depth"):
        Rectangle(0.4, bad)


@pytest.mark.parametrize("bad", [-0.01, 0.2001, math.nan, math.inf])
def test_edge_radius_is_at_most_half_the_smaller_side(bad: float) -> None:
    with pytest.raises(ValueError, match="edge radius"):
        Rectangle(0.4, 0.6, bad)
