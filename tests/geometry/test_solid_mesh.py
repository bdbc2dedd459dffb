"""The wire and its attachments as solids: sizes, orientation, clearance, each measured on the mesh by another
program (Gmsh, VTK) where one can."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import pyvista as pv

from geometry.attachment_solids import PARTS, AttachmentSolid, attachment_solid
from geometry.attachments import Attachment, Slot
from geometry.pose import Pose
from geometry.section import Rectangle, Round, Section
from geometry.solid_mesh import (
    SolidWire,
    bend_ends,
    coarse_section_mesh,
    jacobians,
    layer_arcs,
    solid_wire,
    turns_between,
)
from geometry.wire_shapes import Bend, PassiveShape, Straight, Twist
from tests.gmsh_measures import gmsh_finds
from tests.section_integrals import over_section

SECTIONS = [
    Round(0.4064),
    Rectangle(0.4064, 0.5588),
    Rectangle(0.4318, 0.635, 0.0508),
    Rectangle(0.635, 0.4318, 0.05),
    Rectangle(0.4, 0.6, 0.2),
    Rectangle(0.4, 0.4, 0.2),
    Rectangle(0.4, 0.6, 0.005),
    Rectangle(0.4, 0.4, 0.00399),
]
ROUNDED = Rectangle(0.4318, 0.635, 0.0508)


@pytest.mark.parametrize("section", SECTIONS)
def test_area_and_second_moments_are_the_sections(section: Section) -> None:
    """Closed form, within 0.1 %; coarse as the mesh is."""
    mesh = coarse_section_mesh(section)
    y, z = mesh.points.T
    assert over_section(mesh, np.ones_like(y)) == pytest.approx(section.area, rel=1e-3)
    assert over_section(mesh, z * z) == pytest.approx(section.second_moment_y, rel=1e-3)
    assert over_section(mesh, y * y) == pytest.approx(section.second_moment_z, rel=1e-3)
    for uneven in (y, z, y * z):
        assert abs(over_section(mesh, uneven)) < 1e-5 * section.area
    assert 60 < len(mesh.triangles) < 250


@pytest.mark.parametrize("section", SECTIONS)
def test_boundary_of_the_coarse_mesh_goes_round_on_the_outline(section: Section) -> None:
    mesh = coarse_section_mesh(section)
    start, end, _ = mesh.boundary.T
    assert (end == np.roll(start, -1)).all()
    out = np.maximum(np.abs(mesh.points[mesh.boundary.ravel()]) - (section.corner_y, section.corner_z), 0.0)
    # Edges that count as sharp reach out to the corner of the sharp rectangle.
    sharp = (math.sqrt(2.0) - 1.0) * section.edge_radius if section.edge_radius < 0.004 else 0.0
    np.testing.assert_allclose(np.linalg.norm(out, axis=1), section.edge_radius, atol=1e-12 + sharp)


def test_too_coarse_a_section_is_refused() -> None:
    with pytest.raises(ValueError, match="at least two"):
        coarse_section_mesh(ROUNDED, 1)


def bent(shape: PassiveShape, section: Section, most: float = 1.0) -> tuple[SolidWire, np.ndarray]:
    """A wire in its passive shape with layers that obey the rules."""
    nodes = np.unique(np.concatenate((np.arange(0.0, shape.length, most), shape.breaks)))
    fine = np.linspace(0.0, shape.length, 2001)
    turned = np.interp(nodes, fine, np.concatenate(([0.0], np.cumsum(turns_between(shape.frames(fine)[1])))))
    wire = solid_wire(coarse_section_mesh(section), layer_arcs(nodes, np.diff(turned), shape.breaks))
    return wire, wire.positions(*shape.frames(wire.stations))


SHAPES = {
    "straight": PassiveShape((Straight(6.0),)),
    "bends": PassiveShape(
        (Straight(3.0), Bend(-0.6, "second", 0.5), Straight(1.0), Bend(1.2, "first", 0.7), Straight(2.0))
    ),
    "twist": PassiveShape((Straight(1.0), Twist(1.0, 3.0), Straight(1.0))),
    "ring": PassiveShape((Bend(1.9 * math.pi, "first", 2.0),)),
}


@pytest.mark.parametrize("section", [ROUNDED, Round(0.4064), Rectangle(0.4826, 0.635)])
@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)
def test_no_wedge_is_inverted_and_the_volume_is_area_times_length(
    shape: PassiveShape, section: Section
) -> None:
    """Pappus: a section swept with its centroid on the curve and its plane across it fills area times length.

    In the straight bar and in the bent wire; Gmsh measures both.
    """
    wire, points = bent(shape, section)
    for placed in (wire.section_points, points):
        ours = jacobians(placed, wire.cells)
        assert ours.min() > 0.0
        volume, least = gmsh_finds(placed, wire.cells, "volume", "minDetJac")
        assert least.min() > 0.0
        assert volume.sum() == pytest.approx(section.area * shape.length, rel=1e-3)
        # Gmsh bounds the determinant from below over the whole wedge; ours are values at its nodes.
        assert (least <= ours.min(axis=1) * (1.0 + 1e-6)).all()


def test_vtk_agrees_about_order_and_orientation() -> None:
    wire, points = bent(SHAPES["bends"], ROUNDED)
    cells = np.column_stack((np.full(len(wire.cells), 18), wire.cells))
    grid = pv.UnstructuredGrid(
        cells, np.full(len(cells), pv.CellType.BIQUADRATIC_QUADRATIC_WEDGE, dtype=np.uint8), points
    )
    # VTK measures the straight-edged tetrahedra inside, so rounded edges cost a little.
    volume = grid.compute_cell_sizes()["Volume"]
    assert volume.min() > 0.0
    assert volume.sum() == pytest.approx(ROUNDED.area * SHAPES["bends"].length, rel=5e-3)


def test_a_fold_is_found_as_gmsh_finds_it() -> None:
    """A bend tighter than half the wire's depth."""
    shape = PassiveShape((Straight(1.0), Bend(1.0, "first", 0.2), Straight(1.0)))
    wire, points = bent(shape, ROUNDED)
    ours = (jacobians(points, wire.cells) <= 0.0).any(axis=1)
    assert ours.any() and not ours.all()
    (least,) = gmsh_finds(points, wire.cells, "minDetJac")
    assert (least[ours] <= 0.0).all()
    assert (least <= 0.0).sum() == ours.sum()


def test_every_node_knows_its_arc_length_and_offset() -> None:
    shape = SHAPES["bends"]
    wire, points = bent(shape, ROUNDED)
    centres, axes = shape.frames(wire.arc_lengths)
    offset = np.column_stack((np.zeros(len(points)), wire.offsets))
    np.testing.assert_allclose(points, centres + np.einsum("nij,nj->ni", axes, offset), atol=1e-12)
    np.testing.assert_array_equal(wire.section_points[:, 0], wire.arc_lengths)
    assert wire.cell_type == "wedge18" and not wire.cells.flags.writeable


def test_layers_merge_clusters_and_keep_what_is_foremost() -> None:
    cluster = 5.0 + np.array([0.0, 0.01, 0.025, 0.0475, 0.08, 0.13, 0.2])
    nodes = np.concatenate((np.arange(5.0), cluster, np.arange(6.0, 11.0)))
    straight = np.zeros(len(nodes) - 1)
    layers = layer_arcs(nodes, straight, keep=(5.025, *nodes))
    assert layers[0] == 0.0 and layers[-1] == 10.0 and 5.025 in layers
    assert np.diff(layers).min() >= 0.1 * (1 - 1e-9)
    assert np.isin(layers, nodes).all() and np.isin(np.arange(5.0), layers).all()
    fine = layer_arcs(nodes, straight, keep=nodes, least=0.001)
    np.testing.assert_array_equal(fine, nodes)


def test_what_is_straight_has_few_layers_and_a_bend_has_its_own() -> None:
    nodes = np.linspace(0.0, 10.0, 101)
    np.testing.assert_allclose(layer_arcs(nodes, np.zeros(100)), np.linspace(0.0, 10.0, 6), atol=1e-12)
    # A sharp bend from 4 to 4.2 mm that no mark tells of: the layers find it.
    turns = np.zeros(100)
    turns[40:42] = math.radians(20.0)
    layers = layer_arcs(nodes, turns)
    assert np.diff(layers).min() < 0.2 and np.diff(layers).max() <= 2.0 and len(layers) < 10


def test_no_layer_turns_by_more_than_twenty_degrees() -> None:
    nodes = np.array([0.0, 0.5, 1.0, 2.0])
    turns = np.radians([15.0, 56.0, 40.0])
    layers = layer_arcs(nodes, turns, keep=nodes)
    turned = np.interp(layers, nodes, np.concatenate(([0.0], np.cumsum(turns))))
    assert np.degrees(np.diff(turned)).max() <= 20.0 * (1 + 1e-8)
    # 0.5 mm and 15 degrees are 0.25 + 0.75 of a layer, and so on: 1.0, 3.05, 2.5.
    assert len(layers) == 1 + 1 + 4 + 3


def test_bends_end_where_the_curvature_jumps() -> None:
    shape = PassiveShape((Straight(3.0), Bend(0.4, "second", 0.5), Straight(1.0), Bend(0.2, "first", 400.0)))
    np.testing.assert_allclose(np.sort(bend_ends(shape)), [3.0, 3.2], atol=1e-12)
    assert bend_ends(PassiveShape((Straight(2.0),))).size == 0
    tighter = PassiveShape((Straight(1.0), Bend(0.4, "second", 2.0), Bend(0.4, "second", 0.5)))
    assert bend_ends(tighter)[0] == pytest.approx(1.8)


def test_turns_between_frames() -> None:
    angles = np.array([0.0, 1e-9, 0.3, 1.2])
    axes = np.array([Pose.from_angles((0, 0, 0), about_z=float(a)).axes for a in np.cumsum(angles)])
    np.testing.assert_allclose(turns_between(axes), angles[1:], rtol=1e-6)


def test_layers_must_increase() -> None:
    for bad in ([0.0], [0.0, 1.0, 1.0], [1.0, 0.0]):
        with pytest.raises(ValueError, match="increasing"):
            solid_wire(coarse_section_mesh(Round(0.4)), bad)


SLOT = Slot(0.5588, 0.7112, 3.0)
SLOTS = [
    ("bracket", SLOT),
    ("tube", SLOT),
    ("tube", Slot(0.4572, 0.635, 5.0)),
    ("bracket", Slot(0.41, 0.41, 1.2)),
]


def attachment(kind: str, slot: Slot | None, pose: Pose | None = None) -> Attachment:
    return Attachment("one", kind, pose or Pose.identity(), 1.0, slot)  # type: ignore[arg-type]


def surface(solid: AttachmentSolid, points: np.ndarray | None = None) -> pv.PolyData:
    cells = np.column_stack((np.full(len(solid.tetrahedra), 4), solid.tetrahedra))
    kinds = np.full(len(cells), pv.CellType.TETRA, dtype=np.uint8)
    grid = pv.UnstructuredGrid(cells, kinds, solid.points if points is None else points)
    return grid.extract_surface(algorithm=None)


def hits(skin: pv.PolyData, start: object, end: object) -> np.ndarray:
    """Where the straight way from ``start`` to ``end`` meets the surface, in the order met.

    VTK returns them in any order.
    """
    found = np.asarray(skin.ray_trace(start, end)[0]).reshape(-1, 3)
    return found[np.argsort(np.linalg.norm(found - np.asarray(start, dtype=float), axis=1))]


def volumes(solid: AttachmentSolid) -> np.ndarray:
    a, b, c, d = np.moveaxis(solid.points[solid.tetrahedra], 1, 0)
    return np.einsum("ij,ij->i", np.cross(b - a, c - a), d - a) / 6.0


@pytest.mark.parametrize(("kind", "slot"), SLOTS)
def test_a_slot_is_hollow_and_its_walls_stand_where_the_case_says(kind: str, slot: Slot) -> None:
    """Rays from the slot's middle meet the walls at half its height and half its depth, all along its width;
    along x they meet nothing."""
    solid = attachment_solid(attachment(kind, slot), Round(0.4))
    skin = surface(solid)
    half = 0.5 * np.array([slot.width, slot.height, slot.depth])
    for x in np.linspace(-0.999, 0.999, 9) * half[0]:
        for axis in (1, 2):
            for side in (-1.0, 1.0):
                for aside in (-0.9, 0.0, 0.9):
                    start = np.array([x, aside * half[1], aside * half[2]])
                    start[axis] = 0.0
                    end = start.copy()
                    end[axis] = side * 1.5 * half[axis]
                    met = hits(skin, start, end)
                    assert len(met) >= 1
                    # The ray tracer's own tolerance is single precision.
                    assert side * met[0][axis] == pytest.approx(half[axis], rel=1e-6)
    assert len(hits(skin, (-9.0, 0.0, 0.0), (9.0, 0.0, 0.0))) == 0
    inside = (np.abs(solid.points) < half - 1e-9).all(axis=1)
    assert not inside.any()


@pytest.mark.parametrize(("kind", "slot"), [*SLOTS, ("button", None), ("clamp", None)])
@pytest.mark.parametrize("section", [ROUNDED, Round(0.4064), Rectangle(0.4, 0.6, 0.2)])
def test_an_attachment_is_whole_and_closed(kind: str, slot: Slot | None, section: Section) -> None:
    solid = attachment_solid(attachment(kind, slot), section)
    assert volumes(solid).min() > 0.0
    skin = surface(solid)
    assert skin.n_open_edges == 0
    assert skin.connectivity()["RegionId"].max() == 0
    assert skin.volume == pytest.approx(volumes(solid).sum(), rel=1e-9)
    assert len(PARTS) == 3
    assert set(solid.part) == ({0, 1, 2} if slot else {0, 1})


def test_a_bracket_has_four_tie_wings_and_a_tube_none() -> None:
    """Seen along the slot: under a wing there is room for a ligature."""
    bracket = surface(attachment_solid(attachment("bracket", SLOT), Round(0.4)))
    tube = surface(attachment_solid(attachment("tube", SLOT), Round(0.4)))
    for side in (-1.0, 1.0):
        for x in (-1.2, 1.2):
            up = hits(bracket, (x, side * 1.0, -0.3), (x, side * 1.0, 2.0))
            # In at the wing's underside, out at its face.
            np.testing.assert_allclose(up[:, 2], (0.0, 0.5 * SLOT.depth), atol=1e-6)
        assert len(hits(bracket, (0.0, side * 1.0, -0.3), (0.0, side * 1.0, 2.0))) == 0
        assert len(hits(tube, (1.2, side * 1.0, -0.3), (1.2, side * 1.0, 2.0))) == 0


@pytest.mark.parametrize(("kind", "slot"), SLOTS[:3])
@pytest.mark.parametrize("section", [Rectangle(0.4318, 0.5588), ROUNDED, Round(0.4064)])
def test_the_clearance_in_the_meshes_is_the_cases(kind: str, slot: Slot, section: Section) -> None:
    """A wire centred in its slot, both posed in the world: wall distances are (slot - wire)/2.

    The distance of every outline node to the attachment's surface, by VTK.
    """
    pose = Pose.from_angles((3.0, -2.0, 7.0), 0.4, -0.3, 1.1)
    solid = attachment_solid(attachment(kind, slot, pose), section)
    skin = surface(solid, pose.to_world(solid.points))
    mesh = coarse_section_mesh(section)
    wire = solid_wire(mesh, np.linspace(-slot.width, slot.width, 21))
    points = pose.to_world(wire.section_points)
    distance = pv.PolyData(points).compute_implicit_distance(skin)["implicit_distance"]
    within = np.abs(wire.arc_lengths) < 0.5 * slot.width
    y, z = wire.offsets.T
    play_y, play_z = 0.5 * (slot.height - section.height), 0.5 * (slot.depth - section.depth)
    assert distance[within].min() == pytest.approx(min(play_y, play_z), abs=1e-9)
    for across, other, reach, play in ((y, z, section.height, play_y), (z, y, section.depth, play_z)):
        for side in (-1.0, 1.0):
            face = within & (side * across > 0.5 * reach - 1e-9) & (np.abs(other) < 1e-9)
            assert face.any()
            np.testing.assert_allclose(distance[face], play, atol=1e-9)


FITTED = [ROUNDED, Round(0.4064), Rectangle(0.4, 0.6), Rectangle(0.4, 0.6, 0.2)]


@pytest.mark.parametrize("section", FITTED)
def test_a_wire_centred_on_a_button_does_not_cut_into_it_however_it_has_rolled(section: Section) -> None:
    """The ball's top is as far from the held point as any point of the outline, and in one roll the two meet."""
    button = surface(attachment_solid(attachment("button", None), section))
    wire = solid_wire(coarse_section_mesh(section), np.linspace(-2.0, 2.0, 21))
    nearest = []
    for roll in np.linspace(0.0, math.pi, 37):
        turned = Pose.from_angles((0.0, 0.0, 0.0), about_x=float(roll)).to_world(wire.section_points)
        distance = pv.PolyData(turned).compute_implicit_distance(button)["implicit_distance"]
        nearest.append(float(distance.min()))
    assert min(nearest) > -1e-9
    outline = np.abs(section.outline(90))
    farthest = float(np.linalg.norm(outline, axis=1).max())
    # Points of the outline a degree apart.
    assert button.bounds[5] == pytest.approx(-farthest, rel=1e-4)
    assert min(nearest) < 5e-3


def test_a_tilted_wire_dips_into_a_button_by_what_is_said() -> None:
    section, tilt = Round(0.4064), math.radians(10.0)
    button = surface(attachment_solid(attachment("button", None), section))
    wire = solid_wire(coarse_section_mesh(section), np.linspace(-2.0, 2.0, 161))
    turned = Pose.from_angles((0.0, 0.0, 0.0), about_y=tilt).to_world(wire.section_points)
    deepest = -float(pv.PolyData(turned).compute_implicit_distance(button)["implicit_distance"].min())
    assert 0.0 < deepest <= (0.5 * 0.4064 + 0.6) * (1.0 - math.cos(tilt)) + 1e-9


@pytest.mark.parametrize("section", FITTED)
def test_a_clamp_fits_the_section_it_holds(section: Section) -> None:
    """Touching within 1e-3 mm: chords of the round hole lie that much inside the outline's arcs, no more."""
    wire = solid_wire(coarse_section_mesh(section), np.linspace(-2.0, 2.0, 21))
    clamp = surface(attachment_solid(attachment("clamp", None), section))
    held = wire.section_points[np.abs(wire.arc_lengths) < 0.2]
    distance = pv.PolyData(held).compute_implicit_distance(clamp)["implicit_distance"]
    assert abs(distance.min()) <= 1e-3
    on_outline = np.isin(wire.section_node[np.abs(wire.arc_lengths) < 0.2], wire.section.boundary)
    assert np.abs(distance[on_outline]).max() <= 1e-3


def test_a_shape_is_meshed_once() -> None:
    one = attachment("bracket", SLOT)
    other = replace(one, name="other", at=5.0, pose=Pose.from_angles((1, 2, 3), 0.1))
    assert attachment_solid(one, Round(0.4)) is attachment_solid(other, Round(0.4))
