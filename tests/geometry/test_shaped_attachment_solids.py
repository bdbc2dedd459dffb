"""Solids of shaped slots, ligatures, knife edges and rollers: where VTK's rays meet their surfaces."""

from __future__ import annotations

import math

import numpy as np
import pytest
import pyvista as pv

from geometry.attachment_solids import AttachmentSolid, attachment_solid, ligature_height
from geometry.attachments import Attachment, Slot
from geometry.ligation import Ligation
from geometry.pose import Pose
from geometry.section import Rectangle, Round

SECTION = Rectangle(0.4826, 0.635)
SLOT = Slot(0.5588, 0.7112, 3.0)
TAPERED = Slot(0.5588, 0.7112, 3.0, taper=math.radians(6.0))
ROUNDED = Slot(0.5588, 0.7112, 3.0, mouth_radius=0.2)
BOTH = Slot(0.5588, 0.7112, 3.0, math.radians(-6.0), 0.5)


def surface(solid: AttachmentSolid, part: int | None = None) -> pv.PolyData:
    chosen = solid.tetrahedra if part is None else solid.tetrahedra[solid.part == part]
    cells = np.column_stack((np.full(len(chosen), 4), chosen))
    kinds = np.full(len(cells), pv.CellType.TETRA, dtype=np.uint8)
    return pv.UnstructuredGrid(cells, kinds, solid.points).extract_surface(algorithm=None)


def first_hit(skin: pv.PolyData, start: tuple[float, float, float], way: tuple[float, float, float]) -> float:
    """How far from ``start`` along the unit vector ``way`` the surface is, mm."""
    begin = np.array(start)
    found = np.asarray(skin.ray_trace(begin, begin + 10.0 * np.array(way))[0]).reshape(-1, 3)
    return float(np.linalg.norm(found - begin, axis=1).min()) if len(found) else math.inf


def volume(solid: AttachmentSolid) -> float:
    a, b, c, d = np.moveaxis(solid.points[solid.tetrahedra], 1, 0)
    each = np.einsum("ij,ij->i", np.cross(b - a, c - a), d - a) / 6.0
    assert each.min() > 0.0
    return float(each.sum())


LIGATIONS = [Ligation(), Ligation("none"), Ligation("elastomeric"), Ligation("steel ligature", slack=0.05),
             Ligation("active clip", reach=0.9)]  # fmt: skip


@pytest.mark.parametrize("ligation", LIGATIONS, ids=[ligation.kind for ligation in LIGATIONS])
@pytest.mark.parametrize("slot", [SLOT, TAPERED, ROUNDED, BOTH], ids=["plain", "tapered", "rounded", "both"])
@pytest.mark.parametrize("kind", ["bracket", "tube"])
def test_solids_of_slots_are_sound(kind: str, slot: Slot, ligation: Ligation) -> None:
    solid = attachment_solid(
        Attachment("one", kind, Pose.identity(), 1.0, slot, ligation=ligation),  # type: ignore[arg-type]
        SECTION,
    )
    skin = surface(solid)
    assert skin.n_open_edges == 0
    assert skin.volume == pytest.approx(volume(solid), rel=1e-9)
    assert (2 in solid.part) == (ligation.kind != "none")


@pytest.mark.parametrize("slot", [TAPERED, BOTH], ids=["opening", "closing, round"])
def test_tapered_walls_stand_where_the_case_says(slot: Slot) -> None:
    skin = surface(attachment_solid(Attachment("one", "bracket", Pose.identity(), 1.0, slot), SECTION))
    for z in np.linspace(-0.3, 0.3, 7):
        expected = 0.5 * slot.height + (z + 0.5 * slot.depth) * math.tan(0.5 * slot.taper)
        for side in (-1.0, 1.0):
            # the hit of a single-precision ray
            assert first_hit(skin, (0.05, 0.0, z), (0.0, side, 0.0)) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("kind", ["bracket", "tube"])
def test_rounded_mouths_follow_their_arcs(kind: str) -> None:
    """Chords of 7.5 deg stand back from an arc by no more than radius (1 - cos 3.75 deg); and never reach over it."""
    skin = surface(attachment_solid(Attachment("one", kind, Pose.identity(), 1.0, ROUNDED), SECTION))  # type: ignore[arg-type]
    radius = ROUNDED.mouth_radius
    flat = 0.5 * ROUNDED.width - radius
    # the plate of a bracket, 0.2 mm thick, is rounded until three quarters of it are gone
    for inward in np.linspace(0.0, 0.9, 10) * radius:
        back = radius - math.sqrt(radius**2 - inward**2)
        for side in (-1.0, 1.0):
            for way, half in (
                ((0.0, 1.0, 0.0), 0.5 * ROUNDED.height),
                ((0.0, 0.0, 1.0), 0.5 * ROUNDED.depth),
            ):
                for sign in (-1.0, 1.0):
                    along = (0.0, sign * way[1], sign * way[2])
                    found = first_hit(skin, (side * (flat + inward), 0.0, 0.0), along) - half
                    slope = inward / math.sqrt(radius**2 - inward**2)
                    chord = radius * (1.0 - math.cos(math.radians(3.75))) * math.hypot(1.0, slope)
                    assert back - 1e-6 <= found <= back + chord + 1e-6


def test_what_is_open_in_front_has_nothing_there() -> None:
    for ligation, stands in ((Ligation("none"), math.inf), (Ligation(), 0.5 * SLOT.depth)):
        item = Attachment("one", "bracket", Pose.identity(), 1.0, SLOT, ligation=ligation)
        assert first_hit(surface(attachment_solid(item, SECTION)), (0.0, 0.0, 0.0), (0.0, 0.0, 1.0)) == (
            pytest.approx(stands, rel=1e-6)
        )


@pytest.mark.parametrize(
    ("ligation", "above_floor"),
    [
        # A ring that presses bears on a wire on the floor; slack and reach are the case's own.
        (Ligation("elastomeric", force=2.0), 0.635),
        (Ligation("steel ligature", slack=0.05), 0.685),
        (Ligation("active clip", reach=0.9), 0.9),
        (Ligation("active clip", reach=0.6), 0.635),
    ],
)
def test_a_ligature_stands_where_it_bears(ligation: Ligation, above_floor: float) -> None:
    item = Attachment("one", "bracket", Pose.identity(), 1.0, SLOT, ligation=ligation)
    assert ligature_height(ligation, SECTION) == pytest.approx(above_floor)
    strip = surface(attachment_solid(item, SECTION), part=2)
    assert strip.bounds[4] == pytest.approx(above_floor - 0.5 * SLOT.depth, abs=1e-9)
    assert strip.bounds[:2] == pytest.approx((-1.5, 1.5))
    assert ligature_height(Ligation(), SECTION) is None


@pytest.mark.parametrize("below", [True, False])
@pytest.mark.parametrize(("kind", "radius"), [("knife edge", 0.0), ("roller", 0.8)])
def test_edges_touch_the_line_through_their_place_from_their_side(
    kind: str, radius: float, below: bool
) -> None:
    item = Attachment("one", kind, Pose.identity(), 1.0, radius=radius, below=below)  # type: ignore[arg-type]
    solid = attachment_solid(item, Round(0.4))
    skin, side = surface(solid), -1.0 if below else 1.0
    assert skin.n_open_edges == 0 and set(solid.part) == {1} and volume(solid) > 0.0
    touching = solid.points[np.abs(solid.points[:, 1]) < 1e-9]
    assert np.abs(touching[:, 0]).max() < 1e-9 and np.ptp(touching[:, 2]) > 1.0
    assert (side * solid.points[:, 1]).min() == pytest.approx(0.0, abs=1e-9)
    if kind == "roller":
        from_axis = np.hypot(solid.points[:, 0], solid.points[:, 1] - side * radius)
        assert from_axis.max() == pytest.approx(radius, rel=1e-9)
        # 18 chords a circle
        assert volume(solid) == pytest.approx(math.pi * radius**2 * np.ptp(solid.points[:, 2]), rel=0.025)
