"""What pictures show of shaped slots, ligatures, knife edges and rollers: the shapes, by their points and their ink."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from cases.results import ContactResult, RunResult
from cases.show import brackets, faces, marks, shapes, slot_figure
from cases.show import device as devices
from cases.show.pictures import figure_writers
from cases.show.slot_view import slot_table, slot_views
from geometry.attachments import Attachment, Slot
from geometry.ligation import Ligation
from geometry.pose import Pose
from geometry.section import Rectangle, Round
from tests import show_results

Array = NDArray[np.float64]

SLOT = Slot(0.5588, 0.7112, 3.0)
TAPERED = Slot(0.5588, 0.7112, 3.0, taper=math.radians(8.0))
POSE = Pose.from_angles((3.0, -2.0, 1.0), 0.3, -0.2, 0.5)
WIRE = Rectangle(0.4826, 0.635)


def bracket(slot: Slot, ligation: Ligation) -> Attachment:
    return Attachment("one", "bracket", Pose.identity(), 0.0, slot, ligation=ligation)


def on_three_points() -> RunResult:
    """A straight wire on a knife edge and under a roller, in a slot in its middle; invented."""
    x = np.linspace(-8.0, 8.0, 80)
    a_wire = show_results.wire(Round(0.4064), x, 0.0, 0.02 * (x**2), np.full(80, 100.0))
    place = [Pose(np.array([at, up, 0.0]), np.eye(3)) for at, up in ((-6.0, -0.2), (0.0, 0.0), (6.0, 0.2))]
    return show_results.run(
        "On an edge, in a slot, under a roller (invented)",
        a_wire,
        show_results.attachment("edge", "knife edge", place[0], (0.0, -1.0, 0.0)),
        show_results.attachment("slot", "bracket", place[1], (0.0, 2.0, 0.0), slot=(0.5588, 0.7112, 3.0)),
        show_results.attachment("roller", "roller", place[2], (0.0, -1.0, 0.0)),
    )


def pressed_by(result: RunResult, wall: str) -> RunResult:
    """The same with a force on one wall of the slot."""
    edge, slot, roller = result.attachments
    contact = ContactResult((0.5, 0.0, 0.0), 0.5, wall, 1.0, 0.0)
    return replace(result, attachments=(edge, replace(slot, contacts=(contact,)), roller))


def shown_as(monkeypatch: pytest.MonkeyPatch, told: dict[str, Attachment]) -> None:
    """Pictures take these attachments for those of the same name."""
    original = devices.device_of
    for module in (devices, faces, marks, slot_figure, *_users()):
        if hasattr(module, "device_of"):
            monkeypatch.setattr(module, "device_of", lambda item: told.get(item.name) or original(item))


def _users() -> tuple[object, ...]:
    from cases.show import look, parts, slot_view, teeth_placed

    return look, parts, slot_view, teeth_placed


@pytest.mark.parametrize("taper", [8.0, -8.0])
def test_tapered_walls_are_drawn_tapered(taper: float) -> None:
    slot = Slot(0.5588, 0.7112, 3.0, math.radians(taper))
    solid = brackets.bracket_of(bracket(slot, Ligation()), WIRE.depth)
    assert len(solid.front) == 1
    local = POSE.to_local(np.asarray(shapes.prisms(POSE, solid.body).points, dtype=float))
    wall = local[np.abs(local[:, 2]) < 0.5 * slot.depth + 1e-6]
    half = 0.5 * slot.height + (wall[:, 2] + 0.5 * slot.depth) * math.tan(0.5 * slot.taper)
    assert (np.abs(wall[:, 1]) > half - 1e-6).all()
    # on either wall, at the floor and in front, at either mouth
    touching = np.unique(np.round(wall[np.abs(np.abs(wall[:, 1]) - half) < 1e-6], 4), axis=0)
    assert len(touching) == 8


@pytest.mark.parametrize(
    ("ligation", "stands"),
    [
        (Ligation("none"), None),
        (Ligation("elastomeric", force=1.0, stiffness=1.0), 0.635),
        (Ligation("steel ligature", slack=0.2), 0.835),
    ],
)
def test_a_slot_without_a_door_has_none_and_its_ligature_stands_where_it_bears(
    ligation: Ligation, stands: float | None
) -> None:
    device = bracket(TAPERED, ligation)
    front = brackets.bracket_of(device, WIRE.depth).front
    place = devices.ligature_z(device, WIRE.depth)
    if stands is None:
        assert not front and place is None
        return
    assert len(front) == 1 and place == pytest.approx(stands - 0.5 * SLOT.depth)
    assert front[0].corners[:, 2].min() == pytest.approx(place, abs=1e-6)


@pytest.mark.parametrize("below", [True, False])
@pytest.mark.parametrize(("kind", "radius"), [("knife edge", 0.0), ("roller", 0.7)])
def test_edges_touch_the_wires_line_and_stand_on_their_side(kind: str, radius: float, below: bool) -> None:
    device = Attachment("edge", kind, POSE, 0.0, radius=radius, below=below)  # type: ignore[arg-type]
    body = shapes.edge_body(device, POSE, WIRE)
    local = POSE.to_local(np.asarray(body.points, dtype=float))
    side = -1.0 if below else 1.0
    assert (side * local[:, 1]).min() == pytest.approx(0.0, abs=1e-6)
    np.testing.assert_allclose(local[np.abs(local[:, 1]) < 1e-6][:, 0], 0.0, atol=1e-6)
    assert body.n_open_edges == 0
    if kind == "roller":
        from_axis = np.hypot(local[:, 0], local[:, 1] - side * radius)
        np.testing.assert_allclose(from_axis, radius, rtol=1e-6)


def test_views_and_the_scene_frame_the_whole_edge() -> None:
    result = on_three_points()
    edge, slot, roller = result.attachments
    for item in (edge, roller):
        points = faces.body(item, result.wire)
        corners = marks.body_corners(item, result)
        np.testing.assert_allclose(corners.min(axis=0), points.min(axis=0), atol=1e-3)
        np.testing.assert_allclose(corners.max(axis=0), points.max(axis=0), atol=1e-3)
    np.testing.assert_allclose(np.ptp(faces.body(slot, result.wire), axis=0), (3.0, 0.5588, 0.7112))


@pytest.mark.parametrize("kind", ["elastomeric", "steel ligature", "active clip"])
def test_a_force_from_a_ligature_is_drawn_and_told(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    told = bracket(TAPERED, Ligation(kind))  # type: ignore[arg-type]
    shown_as(monkeypatch, {"slot": told})
    result = pressed_by(on_three_points(), kind)
    (view,) = slot_views(result)
    assert not view.closed and view.ligature_mm is not None
    (touch,) = view.touches
    # The wire's face towards the ligature: its radius in front of its middle.
    assert touch.wall == kind and touch.place[0] == pytest.approx(0.2032, abs=1e-6)
    np.testing.assert_allclose(view.corners, devices.slot_corners(TAPERED))
    items = [row[1] for row in slot_table((view,)).rows]
    assert f"contact on {kind}, far half" in items and "ligature on a wire on the floor" in items


def test_what_keeps_the_wire_in_leaves_its_mark_in_the_slot_figure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = {}
    for name, ligation in (
        ("closed", Ligation()),
        ("open", Ligation("none")),
        ("tied", Ligation("elastomeric")),
    ):
        with monkeypatch.context() as patch:
            shown_as(patch, {"slot": bracket(TAPERED, ligation)})
            path = tmp_path / f"{name}.svg"
            figure_writers(on_three_points())["slots.svg"](path)
            text = path.read_text()
        found[name] = ('id="open front"' in text, 'id="ligature"' in text)
    assert found == {"closed": (False, False), "open": (True, False), "tied": (True, True)}
