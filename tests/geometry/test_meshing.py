"""Gmsh meshes of a wire's length and of its section."""

from __future__ import annotations

import math
import threading

import numpy as np
import pytest

from geometry.attachments import Slot
from geometry.meshing import SectionMesh, _nodes_within, line_mesh, section_mesh
from geometry.section import Rectangle, Round, Section
from geometry.wire_shapes import Bend, PassiveShape, Straight, Twist

STATIONS = Slot(0.56, 0.71, 3.0).station_offsets()
STRAIGHT = PassiveShape((Straight(22.0),))
TWO_SLOTS = np.concatenate((6.0 + STATIONS, 16.0 + STATIONS))
V_BEND = PassiveShape((Straight(11.0), Bend(math.radians(30), "second", 1.0), Straight(11.0)))


@pytest.fixture
def unmeshed() -> None:
    """No mesh is kept from before: Gmsh is asked."""
    _nodes_within.cache_clear()


def turns_deg(shape: PassiveShape, s: np.ndarray) -> np.ndarray:
    """Passive rotation of each element, from the frames of its nodes."""
    axes = shape.frames(s)[1]
    traces = np.einsum("nij,nij->n", axes[:-1], axes[1:])
    return np.degrees(np.arccos(np.clip((traces - 1.0) / 2.0, -1.0, 1.0)))


@pytest.mark.parametrize("shape", [STRAIGHT, V_BEND])
def test_every_mark_and_break_is_a_node(shape: PassiveShape) -> None:
    s = line_mesh(shape, TWO_SLOTS[::-1])
    assert np.isin(TWO_SLOTS, s).all() and np.isin(shape.breaks, s).all()
    assert s[0] == 0.0 and s[-1] == shape.length
    assert (np.diff(s) > 0.0).all() and not s.flags.writeable


def test_sizes_grow_gently_from_the_mouths_to_a_coarse_span() -> None:
    s = line_mesh(STRAIGHT, TWO_SLOTS)
    sizes = np.diff(s)
    ratio = sizes[1:] / sizes[:-1]
    assert ratio.max() < 1.51 and ratio.min() > 1 / 1.51
    outside = sizes[(s[:-1] < 4.5) | ((s[:-1] >= 7.5) & (s[:-1] < 14.5)) | (s[:-1] >= 17.5)]
    assert outside.min() <= 1.25 * np.diff(STATIONS)[0] and 0.6 < outside.max() <= 1.0
    assert 90 <= len(sizes) <= 120


def test_stations_have_one_element_between() -> None:
    s = line_mesh(STRAIGHT, TWO_SLOTS)
    inside = s[(s >= 4.5) & (s <= 7.5)]
    assert (inside == 6.0 + STATIONS).all()


@pytest.mark.parametrize("count", [5, 9, 17])
def test_few_stations_need_few_elements(count: int) -> None:
    offsets = Slot(0.56, 0.71, 3.0).station_offsets(count)
    s = line_mesh(STRAIGHT, np.concatenate((6.0 + offsets, 16.0 + offsets)))
    assert 2 * (count - 1) + 10 < len(s) < 2 * count + 55


@pytest.mark.parametrize(
    "shape",
    [
        V_BEND,
        PassiveShape((Straight(5.0), Bend(-2.0, "first", 0.7), Straight(5.0))),
        PassiveShape((Straight(5.0), Twist(1.0, 4.0), Straight(5.0))),
        PassiveShape((Bend(2 * math.pi, "second", 2.0),)),
    ],
)
@pytest.mark.parametrize("marks", [(), (5.2, 5.21, 6.0)])
def test_no_element_turns_by_more_than_ten_degrees(shape: PassiveShape, marks: tuple[float, ...]) -> None:
    s = line_mesh(shape, marks)
    assert turns_deg(shape, s).max() <= 10.0 * (1.0 + 1e-9)


def test_a_bend_gets_no_more_than_it_needs() -> None:
    s = line_mesh(V_BEND, ())
    in_bend = s[(s >= V_BEND.breaks[1]) & (s <= V_BEND.breaks[2])]
    assert len(in_bend) == 4  # 30 degrees in three


def test_a_plain_wire_is_even_and_coarse() -> None:
    np.testing.assert_allclose(np.diff(line_mesh(STRAIGHT, ())), 1.0, rtol=1e-10)
    np.testing.assert_allclose(np.diff(line_mesh(PassiveShape((Straight(5.0),)), ())), 0.5, rtol=1e-10)
    np.testing.assert_allclose(np.diff(line_mesh(STRAIGHT, (), largest=5.5)), 5.5, rtol=1e-10)


@pytest.mark.parametrize("fineness", [2.0, 4.0])
@pytest.mark.parametrize("shape", [STRAIGHT, V_BEND])
def test_a_finer_mesh_follows_the_same_law(shape: PassiveShape, fineness: float) -> None:
    """Sizes and turns divided; sizes grow from one element to the next so that they double over the same distance."""
    stations = Slot(0.56, 0.71, 3.0).station_offsets(fineness=fineness)
    marks = np.concatenate((3.0 + stations, 19.0 + stations))
    usual = line_mesh(shape, np.concatenate((3.0 + STATIONS, 19.0 + STATIONS)))
    s = line_mesh(shape, marks, fineness=fineness)
    assert np.isin(marks, s).all() and np.isin(shape.breaks, s).all()
    assert len(s) - 1 == pytest.approx(fineness * (len(usual) - 1), rel=0.2)
    assert np.diff(s).max() <= 1.0 / fineness and turns_deg(shape, s).max() <= 10.0 / fineness + 1e-6
    outside = np.diff(s[s > 20.5])
    assert (outside[1:] / outside[:-1]).max() < 1.5 ** (1.0 / fineness) * 1.03


def test_marks_a_rounding_apart_are_one_node_and_keep_their_value() -> None:
    near_end = 22.0 + 1e-12
    s = line_mesh(STRAIGHT, (5.0, 5.0 + 1e-12, near_end))
    assert 5.0 in s and 5.0 + 1e-12 not in s and s[-1] == near_end
    assert np.diff(s).min() > 0.5


def test_marks_off_the_wire_are_refused() -> None:
    for bad in (-0.01, 22.01, math.nan):
        with pytest.raises(ValueError, match="not on the wire"):
            line_mesh(STRAIGHT, (1.0, bad))
    with pytest.raises(ValueError, match="largest element"):
        line_mesh(STRAIGHT, (1.0,), largest=0.0)
    with pytest.raises(ValueError, match="fineness"):
        line_mesh(STRAIGHT, (1.0,), fineness=0.0)


def radon(mesh: SectionMesh) -> tuple[float, float, float]:
    """Area, int z^2, int y^2 by the seven-point rule of degree five (Radon 1948, from memory)."""
    root = math.sqrt(15.0)
    nodes = [(1 / 3, 1 / 3, 9 / 40)]
    for a, weight in (((6 - root) / 21, (155 - root) / 1200), ((6 + root) / 21, (155 + root) / 1200)):
        nodes += [(a, a, weight), (1 - 2 * a, a, weight), (a, 1 - 2 * a, weight)]
    corners = mesh.points[mesh.triangles]
    sums = np.zeros(3)
    for u, v, weight in nodes:
        t = 1 - u - v
        shape = np.array([t * (2 * t - 1), u * (2 * u - 1), v * (2 * v - 1), 4 * t * u, 4 * u * v, 4 * v * t])
        by_u = np.array([1 - 4 * t, 4 * u - 1, 0, 4 * (t - u), 4 * v, -4 * v])
        by_v = np.array([1 - 4 * t, 0, 4 * v - 1, -4 * u, 4 * u, 4 * (t - v)])
        (y, z), (yu, zu), (yv, zv) = (np.einsum("k,mkj->jm", f, corners) for f in (shape, by_u, by_v))
        jacobian = yu * zv - zu * yv
        assert (jacobian > 0.0).all()
        sums += 0.5 * weight * np.array([jacobian.sum(), (jacobian * z * z).sum(), (jacobian * y * y).sum()])
    return float(sums[0]), float(sums[1]), float(sums[2])


SECTIONS = [
    Round(0.4064),
    Rectangle(0.4064, 0.5588),
    Rectangle(0.4318, 0.635, 0.05),
    Rectangle(0.635, 0.4318, 0.05),
    Rectangle(0.4, 0.6, 0.2),
    Rectangle(0.4, 0.4, 0.2),
    Rectangle(0.4, 0.6, 0.002),
]


@pytest.mark.parametrize("section", SECTIONS)
def test_section_mesh_has_the_area_and_second_moments_of_the_section(section: Section) -> None:
    area, about_y, about_z = radon(section_mesh(section))
    assert area == pytest.approx(section.area, rel=1e-4)
    assert about_y == pytest.approx(section.second_moment_y, rel=1e-4)
    assert about_z == pytest.approx(section.second_moment_z, rel=1e-4)


@pytest.mark.parametrize("section", SECTIONS)
def test_section_mesh_is_of_moderate_size(section: Section) -> None:
    mesh = section_mesh(section)
    assert 200 < len(mesh.triangles) < 2000
    assert sorted(set(mesh.triangles.ravel())) == list(range(len(mesh.points)))


@pytest.mark.parametrize("section", SECTIONS)
def test_middle_nodes_follow_the_corners_in_the_stated_order(section: Section) -> None:
    mesh = section_mesh(section)
    p = mesh.points[mesh.triangles]
    sag = 0.1 * section.edge_radius
    for middle, (a, b) in {3: (0, 1), 4: (1, 2), 5: (2, 0)}.items():
        assert np.linalg.norm(p[:, middle] - 0.5 * (p[:, a] + p[:, b]), axis=1).max() <= sag + 1e-12


@pytest.mark.parametrize("section", SECTIONS)
def test_boundary_goes_round_on_the_outline(section: Section) -> None:
    mesh = section_mesh(section)
    start, end, middle = mesh.boundary.T
    assert (end == np.roll(start, -1)).all() and len(set(start)) == len(start)
    on = np.abs(mesh.points[np.concatenate((start, middle))])
    # Distance from the nearest point of the inner rectangle of corner centres is the edge radius all round.
    beyond = on - np.minimum(on, (section.corner_y, section.corner_z))
    np.testing.assert_allclose(np.linalg.norm(beyond, axis=1), section.edge_radius, atol=1e-9)
    # Left of the walk lies the section: the enclosed area is positive.
    y, z = mesh.points[start].T
    assert 0.5 * (y * np.roll(z, -1) - z * np.roll(y, -1)).sum() == pytest.approx(section.area, rel=0.02)


def test_finer_divisions_make_more_triangles() -> None:
    counts = [len(section_mesh(Rectangle(0.4, 0.6), divisions=n).triangles) for n in (2, 4, 8)]
    assert counts[1] > 3 * counts[0] and counts[2] > 3 * counts[1]
    with pytest.raises(ValueError, match="at least two"):
        section_mesh(Round(0.4), divisions=1)


def test_gmsh_is_silent_and_leaves_nothing_behind(capfd: pytest.CaptureFixture[str]) -> None:
    import gmsh

    line_mesh(V_BEND, TWO_SLOTS)
    section_mesh(Rectangle(0.4, 0.6, 0.05))
    assert not gmsh.isInitialized()
    assert capfd.readouterr() == ("", "")


@pytest.mark.usefixtures("unmeshed")
def test_gmsh_is_released_when_meshing_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    import gmsh

    def fail(dimension: int) -> None:
        raise RuntimeError(f"no mesh of dimension {dimension}")

    with monkeypatch.context() as patch:
        patch.setattr(gmsh.model.mesh, "generate", fail)
        with pytest.raises(RuntimeError, match="no mesh"):
            line_mesh(STRAIGHT, ())
    assert not gmsh.isInitialized()
    assert len(line_mesh(STRAIGHT, ())) == 23


@pytest.mark.usefixtures("unmeshed")
def test_a_gmsh_session_of_the_user_is_not_destroyed() -> None:
    import gmsh

    gmsh.initialize(interruptible=False, readConfigFiles=False)
    try:
        with pytest.raises(RuntimeError, match="gmsh.finalize"):
            line_mesh(STRAIGHT, ())
        assert gmsh.isInitialized()
    finally:
        gmsh.finalize()


def test_a_mesh_of_the_same_wire_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    import gmsh

    before = line_mesh(V_BEND, TWO_SLOTS)
    monkeypatch.setattr(gmsh, "initialize", None)  # Gmsh is not asked again
    assert np.array_equal(line_mesh(V_BEND, TWO_SLOTS), before)


@pytest.mark.usefixtures("unmeshed")
def test_threads_take_turns() -> None:
    alone = line_mesh(V_BEND, TWO_SLOTS)
    together: list[np.ndarray] = []
    threads = [
        threading.Thread(target=lambda: together.append(line_mesh(V_BEND, TWO_SLOTS))) for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(together) == 4 and all((mesh == alone).all() for mesh in together)
