"""The solids of shipped cases, measured on the files as they are written: by meshio, VTK and Gmsh."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import meshio
import numpy as np
import pytest
import pyvista as pv

from cases.build import build_model
from cases.casefile import LIBRARY, load_case
from cases.run import wire_result
from cases.schema import Case
from cases.solids import write_solids
from fem.model import Model
from fem.path import Options, engage
from fem.path import Path as LoadPath
from geometry.meshing import SectionMesh
from geometry.pose import Pose
from geometry.section import Section
from geometry.solid_mesh import jacobians
from tests.gmsh_measures import gmsh_finds, gmsh_reads
from tests.section_integrals import resultants

# One shipped case of every kind of wire, attachment and way; the rest of the library would show nothing new here.
NAMES = [
    "closing-loop",
    "levelling-lower-arch",
    "molar-uprighting",
    "sliding-test",
    "step-bend-clamped",
    "step-bend-full-size-slots",
    "torque-round-wire",
    "torque-test",
    "torque-through-play",
    "v-bend",
]
# Stress is written with 16 binary digits, positions to 6e-8 mm.
SHORT = 2.0**-16
FIELDS = {
    "arc_length_mm",
    "height_mm",
    "depth_mm",
    "displacement_mm",
    "axial_stress_mpa",
    "shear_along_height_mpa",
    "shear_along_depth_mpa",
    "von_mises_mpa",
    "yield_share",
}


@dataclass(frozen=True)
class Written:
    """A case, what the solver found, and the folder with its solids."""

    case: Case
    model: Model
    path: LoadPath
    folder: Path

    @property
    def section(self) -> Section:
        return self.model.section

    def wire(self, number: int) -> meshio.Mesh:
        return meshio.read(self.folder / f"wire_solid_{number:03d}.vtu")

    def poses(self, number: int) -> list[Pose]:
        """Of the attachments: where the passive wire is at first, then where the solver put them."""
        if number == 0:
            return [support.start for support in self.model.supports]
        found = self.path.increments[number - 1].snapshot
        return [Pose(*one) for one in zip(found.support_position, found.support_axes, strict=True)]

    def skin(self, number: int, index: int) -> pv.PolyData:
        """The surface of one attachment as it stands in the file, counted from 0."""
        grid = pv.read(self.folder / f"attachments_{number:03d}.vtu")
        return grid.extract_cells(grid.cell_data["attachment"] == index + 1).extract_surface(algorithm=None)

    def in_slot(self, mesh: meshio.Mesh, number: int, index: int) -> np.ndarray:
        """(n,) which of the wire's nodes are between the mouths of a slot."""
        slot = self.case.attachments[index].attachment.slot
        assert slot is not None
        local = self.poses(number)[index].to_local(mesh.points)
        return (np.abs(local[:, 0]) <= 0.5 * slot.width + 1e-6) & (np.abs(local[:, 1]) < 2.0)


@cache
def solved(name: str) -> tuple[Case, Model, LoadPath]:
    case = load_case(LIBRARY / f"{name}.toml")
    model = build_model(case)
    return case, model, engage(model, Options(increments=case.analysis.increments))


@pytest.fixture(scope="module")
def folder() -> Iterator[Path]:
    with TemporaryDirectory() as made:
        yield Path(made)


@pytest.fixture(params=NAMES, scope="module")
def written(request: pytest.FixtureRequest, folder: Path) -> Written:
    """A shipped case, its solids written once."""
    case, model, path = solved(request.param)
    write_solids(case, model, path, folder / request.param)
    return Written(case, model, path, folder / request.param)


def test_the_series_lists_every_increment(written: Written) -> None:
    sets = ET.parse(written.folder / "solids.pvd").getroot().findall("./Collection/DataSet")
    activations = [0.0, *(one.activation for one in written.path.increments)]
    assert len(written.path.increments) >= written.case.analysis.increments
    for part, stem in (("0", "wire_solid"), ("1", "attachments")):
        listed = [one.attrib for one in sets if one.attrib["part"] == part]
        assert [float(one["timestep"]) for one in listed] == activations
        assert [one["file"] for one in listed] == [f"{stem}_{k:03d}.vtu" for k in range(len(activations))]
    named = {one.attrib["file"] for one in sets} | {"solids.pvd", "wire_solid.msh", "attachments.msh"}
    assert {file.name for file in written.folder.iterdir()} == named
    # Another program reads the series: the wire and its attachments at the end.
    reader = pv.get_reader(str(written.folder / "solids.pvd"))
    assert reader.time_values == pytest.approx(activations)
    reader.set_active_time_value(reader.time_values[-1])
    blocks = reader.read()
    last = len(activations) - 1
    assert sorted(block.n_points for block in blocks) == sorted(
        pv.read(written.folder / f"{stem}_{last:03d}.vtu").n_points for stem in ("wire_solid", "attachments")
    )


def test_no_cell_is_inverted_and_the_wire_keeps_its_volume(written: Written) -> None:
    """Passive, half engaged and engaged.  A section swept square to its centreline fills area times length."""
    last = len(written.path.increments)
    for number in (0, last // 2, last):
        mesh = written.wire(number)
        (cells,) = mesh.cells
        assert cells.type == "wedge18"
        assert jacobians(mesh.points, cells.data).min() > 0.0
        volume, least = gmsh_finds(mesh.points, cells.data, "volume", "minDetJac")
        assert least.min() > 0.0
        # A bending wire stretches by a share of less than 1e-3 where an axial force pulls.
        assert volume.sum() == pytest.approx(written.section.area * written.model.shape.length, rel=2e-3)
        grid = pv.read(written.folder / f"wire_solid_{number:03d}.vtu")
        seen = grid.compute_cell_sizes()["Volume"]
        assert (grid.celltypes == pv.CellType.BIQUADRATIC_QUADRATIC_WEDGE).all() and seen.min() > 0.0
        # VTK measures straight-edged pieces.
        assert seen.sum() == pytest.approx(volume.sum(), rel=0.02)
        other = pv.read(written.folder / f"attachments_{number:03d}.vtu")
        assert (other.celltypes == pv.CellType.TETRA).all()
        assert other.compute_cell_sizes()["Volume"].min() > 0.0
        assert set(other.cell_data["attachment"]) == set(range(1, len(written.case.attachments) + 1))


def test_gmsh_reads_its_files_and_finds_the_same(written: Written) -> None:
    last = len(written.path.increments)
    mesh = written.wire(last)
    counts, (volume, least) = gmsh_reads(written.folder / "wire_solid.msh", "volume", "minDetJac")
    assert counts == {"Prism 18": len(mesh.cells[0].data)}
    assert least.min() > 0.0
    assert volume.sum() == pytest.approx(gmsh_finds(mesh.points, mesh.cells[0].data, "volume")[0].sum())
    grid = pv.read(written.folder / f"attachments_{last:03d}.vtu")
    counts, (volume,) = gmsh_reads(written.folder / "attachments.msh", "volume")
    assert counts == {"Tetrahedron 4": grid.n_cells}
    assert volume.min() > 0.0
    assert volume.sum() == pytest.approx(grid.compute_cell_sizes()["Volume"].sum(), rel=1e-9)
    for name, fields in (("wire_solid", FIELDS), ("attachments", set())):
        back = meshio.read(written.folder / f"{name}.msh")
        # The readers add what the format itself says of nodes.
        assert {key for key in back.point_data if not key.startswith("gmsh:")} <= fields
        np.testing.assert_array_equal(
            back.points, meshio.read(written.folder / f"{name}_{last:03d}.vtu").points
        )


def test_fields_come_back_by_both_readers(written: Written) -> None:
    last = len(written.path.increments)
    mesh, passive = written.wire(last), written.wire(0)
    grid = pv.read(written.folder / f"wire_solid_{last:03d}.vtu")
    yields = written.case.wire.material.yield_mpa
    assert (
        set(mesh.point_data) == set(grid.point_data.keys()) == FIELDS - (set() if yields else {"yield_share"})
    )
    for name, values in mesh.point_data.items():
        assert np.isfinite(values).all()
        np.testing.assert_array_equal(grid.point_data[name], values)
    data = {name: np.asarray(values, dtype=float) for name, values in mesh.point_data.items()}
    assert data["arc_length_mm"].max() == pytest.approx(written.model.shape.length, rel=SHORT)
    assert np.abs(data["height_mm"]).max() == pytest.approx(0.5 * written.section.height, rel=SHORT)
    assert np.abs(data["depth_mm"]).max() == pytest.approx(0.5 * written.section.depth, rel=SHORT)
    moved = mesh.points - passive.points
    np.testing.assert_allclose(data["displacement_mm"], moved, atol=2e-7 + SHORT * np.abs(moved).max())
    shear = data["shear_along_height_mpa"] ** 2 + data["shear_along_depth_mpa"] ** 2
    von_mises = np.sqrt(data["axial_stress_mpa"] ** 2 + 3.0 * shear)
    np.testing.assert_allclose(data["von_mises_mpa"], von_mises, rtol=3.0 * SHORT, atol=1e-6)
    if yields:
        np.testing.assert_allclose(
            data["yield_share"], data["von_mises_mpa"] / yields, rtol=2.0 * SHORT, atol=1e-9
        )
    for name in FIELDS & set(passive.point_data):
        if name.endswith("_mpa") or name in ("yield_share", "displacement_mm"):
            np.testing.assert_array_equal(passive.point_data[name], 0.0)


def test_every_node_stands_where_the_beam_carries_it(written: Written) -> None:
    """At the beam's own nodes, by arc length and offset as the file tells them: x + R (0, y, z)."""
    snapshot = written.path.last.snapshot
    mesh = written.wire(len(written.path.increments))
    arcs = np.asarray(mesh.point_data["arc_length_mm"], dtype=float)
    nearest = np.abs(arcs[:, None] - snapshot.arcs[None]).argmin(axis=1)
    at_node = np.abs(arcs - snapshot.arcs[nearest]) <= SHORT * snapshot.arcs[nearest] / 4.0
    assert at_node.sum() >= 4 * len({*nearest[at_node]}) >= 8
    k = nearest[at_node]
    offset = np.column_stack(
        (
            np.zeros(len(k)),
            mesh.point_data["height_mm"][at_node],
            mesh.point_data["depth_mm"][at_node],
        )
    )
    expected = snapshot.positions[k] + np.einsum("nij,nj->ni", snapshot.axes[k], offset)
    # Arc length and offset in the file have 16 binary digits.
    error = SHORT * (snapshot.arcs[-1] + 1.0)
    np.testing.assert_allclose(mesh.points[at_node], expected, atol=error)


def section_of(mesh: meshio.Mesh) -> tuple[SectionMesh, np.ndarray]:
    """The section's triangles, read off the first layer of wedges, and the nodes (k, p) of all layers' ends."""
    arcs = mesh.point_data["arc_length_mm"]
    count = int((arcs == arcs[0]).sum())
    assert len(arcs) % count == 0
    stations = np.arange(len(arcs)).reshape(-1, count)
    cells = mesh.cells[0].data[:, [0, 1, 2, 6, 7, 8]]
    triangles = cells[(cells < count).all(axis=1)]
    offsets = np.column_stack((mesh.point_data["height_mm"], mesh.point_data["depth_mm"])).astype(float)
    return SectionMesh(offsets[:count], triangles, np.zeros((0, 3), dtype=np.int64)), stations


def test_stress_adds_up_to_the_resultants_of_the_beam(written: Written) -> None:
    """Within 0.5 % of the largest force and moment, at every station, on either side where a force acts."""
    for number in (1, len(written.path.increments)):
        snapshot = written.path.increments[number - 1].snapshot
        mesh = written.wire(number)
        section, stations = section_of(mesh)
        names = ("axial_stress_mpa", "shear_along_height_mpa", "shear_along_depth_mpa")
        stress = np.column_stack([mesh.point_data[name] for name in names]).astype(float)
        arcs = mesh.point_data["arc_length_mm"].astype(float)
        arm = 0.5 * max(written.section.height, written.section.depth)
        ends = snapshot.resultants
        scale = max(np.abs(ends[..., :3]).max(), np.abs(ends[..., 3:]).max() / arm)
        size = np.array([scale, scale, scale, scale * arm, scale * arm, scale * arm])
        if scale < 1e-6:
            assert np.abs(stress).max() < 1e-3
            continue
        for nodes in stations:
            found = resultants(section, stress[nodes])
            # Elements that hold this place; its arc length is known to 16 binary digits.
            near = SHORT * max(arcs[nodes[0]], 1.0)
            holds = (snapshot.arcs[:-1] <= arcs[nodes[0]] + near) & (
                snapshot.arcs[1:] >= arcs[nodes[0]] - near
            )
            gaps = []
            for element in np.flatnonzero(holds):
                a, b = snapshot.arcs[element : element + 2]
                share = np.clip((arcs[nodes[0]] - a) / (b - a), 0.0, 1.0)
                carried = (1.0 - share) * ends[element, 0] + share * ends[element, 1]
                gaps.append(np.abs((found - carried) / size).max())
            assert min(gaps) < 5e-3


def test_the_largest_stress_is_in_the_file(written: Written) -> None:
    """The result's bound adds stresses that are largest at different places; bending alone is met."""
    result = wire_result(written.case, written.model, written.path.last.snapshot)
    mesh = written.wire(len(written.path.increments))
    assert mesh.point_data["von_mises_mpa"].max() <= result.largest_stress_mpa * 1.02
    assert mesh.point_data["von_mises_mpa"].max() >= result.largest_stress_mpa * 0.7
    axial = np.abs(mesh.point_data["axial_stress_mpa"]).max()
    largest = result.bending_stress_mpa.max()
    assert axial <= largest * (1.0 + SHORT)
    # Below 1e-6 MPa is rounding.
    assert axial >= largest * 0.97 or largest < 1e-6


def slots(written: Written) -> list[int]:
    """The attachments whose slots are closed by rigid walls: a ligature presses the wire to the floor, and walls that
    give way are passed."""
    attachments = [one.attachment for one in written.case.attachments]
    kept = [
        k
        for k, one in enumerate(attachments)
        if one.slot is not None and one.ligation.kind == "closed" and math.isinf(one.wall_modulus)
    ]
    if not kept and any(one.slot is not None for one in attachments):
        pytest.skip("no slot of this case is closed by rigid walls")
    return kept


def straight_in_slot(written: Written, index: int) -> bool:
    """Whether the passive wire is straight from mouth to mouth."""
    one = written.case.attachments[index].attachment
    assert one.slot is not None
    arcs = one.at + np.linspace(-0.5, 0.5, 41) * one.slot.width
    inside = arcs[(arcs >= 0.0) & (arcs <= written.model.shape.length)]
    return bool(np.abs(written.model.shape.curvature(inside)).max() < 1e-12)


def test_passive_gaps_are_the_clearance_of_the_case(written: Written) -> None:
    """Before activation a straight wire lies centred: (slot - wire)/2 to every wall, measured from the wire's
    nodes to the attachment's surface by VTK."""
    mesh = written.wire(0)
    section = written.section
    for index in slots(written):
        if not straight_in_slot(written, index):
            continue
        slot = written.case.attachments[index].attachment.slot
        assert slot is not None
        inside = written.in_slot(mesh, 0, index)
        local = written.poses(0)[index].to_local(mesh.points[inside])
        gap = pv.PolyData(mesh.points[inside]).compute_implicit_distance(written.skin(0, index))[
            "implicit_distance"
        ]
        plays = (0.5 * (slot.height - section.height), 0.5 * (slot.depth - section.depth))
        assert gap.min() == pytest.approx(min(plays), abs=1e-6)
        for axis, size, play in ((1, section.height, plays[0]), (2, section.depth, plays[1])):
            for side in (-1.0, 1.0):
                # Nearer the wall across than those beside: the middle of a face, away from the mouths.
                face = side * local[:, axis] > 0.5 * size - 1e-6
                face &= np.abs(local[:, 3 - axis]) < 1e-3
                if face.any() and play < 0.2:
                    np.testing.assert_allclose(gap[face], play, atol=1e-6)


def outside(mesh: meshio.Mesh) -> np.ndarray:
    """(k, p, 3) points on the wire's surface between the nodes, as second-order sides say, layer by layer."""
    section, stations = section_of(mesh)
    sides = np.concatenate([section.triangles[:, side] for side in ([0, 1, 3], [1, 2, 4], [2, 0, 5])])
    middles, often = np.unique(sides[:, 2], return_counts=True)
    outline = sides[np.isin(sides[:, 2], middles[often == 1])]

    def quadratic(at: np.ndarray) -> np.ndarray:
        """At the start, the end, and half-way."""
        return np.stack(((1.0 - at) * (1.0 - 2.0 * at), at * (2.0 * at - 1.0), 4.0 * at * (1.0 - at)), axis=1)

    across, along = quadratic(np.linspace(0.0, 1.0, 9)[:-1]), quadratic(np.linspace(0.0, 1.0, 201))
    layers = np.stack((stations[:-2:2], stations[2::2], stations[1::2]), axis=1)
    # Layer, its three stations, side, the side's three nodes.
    nodes = mesh.points[layers[:, :, outline]]
    points = np.einsum("ai,bj,kimjx->kambx", along, across, nodes, optimize=True)
    return points.reshape(len(layers), -1, 3)


def test_what_touches_touches_and_nothing_is_cut_into(written: Written) -> None:
    """Engaged: the wire's surface is nowhere deeper than 1e-3 mm in a slot's walls, and at every contact nearer
    than 1e-3 mm to the wall that presses there."""
    last = len(written.path.increments)
    mesh = written.wire(last)
    walls = written.path.last.snapshot.walls
    surface = outside(mesh)
    for index in slots(written):
        slot = written.case.attachments[index].attachment.slot
        assert slot is not None
        pose, half = written.poses(last)[index], np.array([slot.width, slot.height, slot.depth]) / 2.0
        centre = np.linalg.norm(surface.mean(axis=1) - pose.position, axis=1)
        local = pose.to_local(surface[centre < half[0] + 1.5].reshape(-1, 3))
        local = local[(np.abs(local[:, 0]) <= half[0]) & (np.abs(local[:, 1:]) < 2.0).all(axis=1)]
        gap = half[1:] - np.abs(local[:, 1:])
        assert gap.min() >= -1e-3
        # What is nearest, VTK finds as near to the attachment's own surface.
        nearest = local[gap.min(axis=1).argsort()[:20]]
        distance = pv.PolyData(pose.to_world(nearest)).compute_implicit_distance(written.skin(last, index))
        np.testing.assert_allclose(
            distance["implicit_distance"], (half[1:] - np.abs(nearest[:, 1:])).min(axis=1), atol=1e-6
        )
        for contact in np.flatnonzero(walls.support == index):
            axis = 1 + int(walls.axis[contact])
            here = np.abs(local[:, 0] - walls.offset[contact]) < 0.02
            assert abs((half[axis] - walls.side[contact] * local[here, axis]).min()) <= 1e-3


def test_files_are_small(written: Written) -> None:
    """A wire in two or three attachments takes less than 15 MB with ten increments."""
    size = sum(file.stat().st_size for file in written.folder.iterdir())
    assert len(written.path.increments) == 10
    assert size < 30e6 and (len(written.case.attachments) > 3 or "loop" in written.folder.name or size < 15e6)
