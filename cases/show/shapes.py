"""Surfaces of the picture: the wire with its true outline, solids, posts, teeth, straight and round arrows.

Every function takes world coordinates in mm and gives a PyVista mesh.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from cases.results import WireResult
from cases.show.device import edge_half_length, edge_profile
from cases.show.labels import stress_shown
from cases.show.prisms import Prism
from cases.show.teeth_placed import PlacedTooth
from cases.show.tooth_shapes import SPACING
from cases.show.wire_curve import refined
from geometry.attachments import Attachment
from geometry.pose import Pose
from geometry.section import Section

Array = NDArray[np.float64]

STRESS = "stress shown (MPa)"
TONE = "tone"
CERVIX = 1.2
"""mm over which a tooth's colour passes from root to crown."""

# Edges sharper than this are drawn as edges, blunter ones as smooth.
_EDGE_DEG = 35.0


def wire_surface(wire: WireResult, per_quarter: int = 10, values: Array | None = None) -> pv.PolyData:
    """The engaged wire, its section swept along it, carrying the point array ``STRESS``: nodal ``values`` (n,), or its
    own larger stress."""
    shown = stress_shown(wire)[1] if values is None else values
    positions, axes, stress = refined(wire.positions_mm, wire.axes, shown)
    outline = wire.section.outline(per_quarter)
    n, m = len(positions), len(outline)
    points = positions[:, None, :] + np.einsum("nij,mj->nmi", axes[:, :, 1:], outline)
    ring = np.arange(m)
    here = (np.arange(n - 1)[:, None] * m + ring).ravel()
    beside = (np.arange(n - 1)[:, None] * m + np.roll(ring, -1)).ravel()
    sides = np.column_stack((np.full(here.size, 4), here, beside, beside + m, here + m))
    ends = np.concatenate(([m], ring[::-1], [m], (n - 1) * m + ring))
    surface = pv.PolyData(points.reshape(-1, 3), np.concatenate((sides.ravel(), ends)))
    surface.point_data[STRESS] = np.repeat(stress, m)
    smooth: pv.PolyData = surface.compute_normals(
        cell_normals=False, split_vertices=True, feature_angle=_EDGE_DEG, consistent_normals=True
    )
    return smooth


def ghost(wire: WireResult) -> pv.PolyData:
    """The passive shape as a round tube as thick as the wire is at its thinnest."""
    line = pv.MultipleLines(points=np.asarray(wire.passive_positions_mm))
    radius = 0.5 * min(wire.section.height, wire.section.depth)
    tube: pv.PolyData = line.tube(radius=radius, n_sides=24, capping=True)
    return tube


def joint_ball(place: Array, section: Section) -> pv.PolyData:
    """A ball where a wire is joined to another."""
    return pv.Sphere(radius=0.75 * max(section.height, section.depth), center=place)


def box(pose: Pose, low: Array, high: Array) -> pv.PolyData:
    """A block between two corners (3,) given in the axes of ``pose``."""
    block = pv.Box(bounds=(low[0], high[0], low[1], high[1], low[2], high[2]))
    block.points = pose.to_world(np.asarray(block.points, dtype=np.float64))
    return block


def prism(pose: Pose, profile: Array, along: tuple[float, float], axis: int) -> pv.PolyData:
    """A convex ``profile`` (k, 2), given in the two other axes of ``pose`` in their order, swept along one ``axis``."""
    k = len(profile)
    points = np.concatenate([np.insert(profile, axis, place, axis=1) for place in along])
    ring = np.arange(k)
    beside = np.roll(ring, -1)
    sides = np.column_stack((np.full(k, 4), ring, beside, beside + k, ring + k)).ravel()
    faces = np.concatenate((sides, [k], ring[::-1], [k], ring + k))
    solid = pv.PolyData(pose.to_world(points), faces)
    out: pv.PolyData = solid.compute_normals(
        point_normals=False, consistent_normals=True, auto_orient_normals=True
    )
    return out


def prisms(pose: Pose, solids: Sequence[Prism]) -> pv.PolyData:
    """Prisms of an attachment's own axes, as one surface."""
    whole: pv.PolyData = pv.merge(
        [prism(pose, one.profile, one.along, 0) for one in solids], merge_points=False
    )
    return whole


def polygons(pose: Pose, faces: Sequence[Array]) -> pv.PolyData:
    """Plane faces, each of corners (k, 3) in the axes of ``pose``."""
    cells: list[int] = []
    count = 0
    for face in faces:
        cells += [len(face), *range(count, count + len(face))]
        count += len(face)
    surface = pv.PolyData(pose.to_world(np.concatenate(faces)), np.array(cells))
    out: pv.PolyData = surface.compute_normals(point_normals=False, consistent_normals=False)
    return out


def segments(pose: Pose, lines: Sequence[Array]) -> pv.PolyData:
    """Straight lines, each of two ends (2, 3) in the axes of ``pose``."""
    cells = np.column_stack((np.full(len(lines), 2), np.arange(2 * len(lines)).reshape(-1, 2)))
    return pv.PolyData(pose.to_world(np.concatenate(lines)), lines=cells.ravel())


def feature_edges(mesh: pv.PolyData) -> pv.PolyData:
    """Lines along the sharp edges of a surface."""
    out: pv.PolyData = mesh.extract_feature_edges(feature_angle=30.0)
    return out


def tooth_surface(tooth: PlacedTooth, crown: str, root: str) -> pv.PolyData:
    """A tooth, carrying its colours as the point array ``TONE``: crown and root, each its own."""
    values = tooth.shape.values
    lattice = pv.ImageData(dimensions=values.shape, spacing=(SPACING,) * 3, origin=tooth.shape.origin)
    lattice.point_data["field"] = values.ravel(order="F")
    # smoothed without shrinking (Taubin 1995): where a field bends sharply, its level is a little stepped
    surface = lattice.contour([0.0], scalars="field").smooth_taubin(n_iter=20, pass_band=0.1)
    own = np.asarray(surface.points, dtype=np.float64)
    share = np.clip(0.5 + own[:, 1] / CERVIX, 0.0, 1.0)[:, None]
    ends = [np.array(pv.Color(colour).float_rgb) for colour in (root, crown)]
    surface.clear_data()
    surface.points = tooth.origin + own @ tooth.to_world.T
    out: pv.PolyData = surface.compute_normals(
        cell_normals=False, consistent_normals=True, auto_orient_normals=True
    )
    out.point_data[TONE] = np.round(255.0 * ((1.0 - share) * ends[0] + share * ends[1])).astype(np.uint8)
    return out


def edge_body(device: Attachment, pose: Pose, section: Section) -> pv.PolyData:
    """A knife edge or a roller."""
    half = edge_half_length(max(section.height, section.depth))
    return prism(pose, edge_profile(device), (-half, half), 2)


def button_post(pose: Pose, section: Section) -> pv.PolyData:
    """A post from the tooth with a round head on the wire."""
    across = max(section.height, section.depth)
    head = pv.Sphere(radius=0.85 * across, center=(0.0, 0.0, 0.0), theta_resolution=40, phi_resolution=40)
    stem = pv.Cylinder(
        center=(0.0, 0.0, -1.5 * across), direction=(0.0, 0.0, 1.0), radius=0.4 * across, height=2.2 * across
    )
    post = pv.merge([head, stem.extract_surface(algorithm=None)], merge_points=False)
    post.points = pose.to_world(np.asarray(post.points, dtype=np.float64))
    surface: pv.PolyData = post.extract_surface(algorithm=None)
    return surface


def clamp_block(pose: Pose, section: Section) -> pv.PolyData:
    """A block around the wire, its middle where the section is held."""
    across = max(section.height, section.depth)
    half = np.array([0.6 * across, 1.8 * across, 1.8 * across])
    return box(pose, -half, half)


def arrow(start: Array, vector: Array, shaft_radius: float) -> pv.PolyData:
    """A straight arrow along ``vector`` (3,) mm; its head is at most half its length."""
    length = float(np.linalg.norm(vector))
    return pv.Arrow(
        start=start,
        direction=vector / length,
        scale=length,
        shaft_radius=shaft_radius / length,
        tip_radius=3.1 * shaft_radius / length,
        tip_length=min(0.5, 7.5 * shaft_radius / length),
        shaft_resolution=32,
        tip_resolution=32,
    )


def arc_points(centre: Array, axis: Array, middle: Array, radius: float, sweep: float) -> Array:
    """Points (k, 3) of an arc of ``sweep`` rad, right-handed about ``axis``, its middle towards ``middle``.

    Raises ValueError where ``middle`` lies along the axis.
    """
    along = axis / np.linalg.norm(axis)
    across = middle - np.dot(middle, along) * along
    if np.linalg.norm(across) < 1e-6 * np.linalg.norm(middle):
        raise ValueError("the middle of an arc cannot lie along its axis")
    u = across / np.linalg.norm(across)
    v = np.cross(along, u)
    angles = np.linspace(-0.5 * sweep, 0.5 * sweep, max(12, int(np.degrees(sweep) / 3.0)))
    points: Array = centre + radius * (np.cos(angles)[:, None] * u + np.sin(angles)[:, None] * v)
    return points


def arc_arrow(points: Array, shaft_radius: float) -> pv.PolyData:
    """A round arrow along the arc ``points`` (k, 3); its head ends at the last of them and is at most half its length,
    a short one being thinner all over."""
    step = float(np.linalg.norm(points[1] - points[0]))
    shaft_radius = min(shaft_radius, 0.5 * step * (len(points) - 1) / 7.5)
    head = 7.5 * shaft_radius
    tail = points[: max(2, len(points) - round(0.8 * head / step))]
    tube = pv.MultipleLines(points=tail).tube(radius=shaft_radius, n_sides=24, capping=True)
    towards = points[-1] - tail[-1]
    towards = towards / np.linalg.norm(towards)
    cone = pv.Cone(
        center=points[-1] - 0.5 * head * towards,
        direction=towards,
        height=head,
        radius=3.1 * shaft_radius,
        resolution=32,
    )
    whole: pv.PolyData = pv.merge([tube, cone], merge_points=False).extract_surface(algorithm=None)
    return whole
