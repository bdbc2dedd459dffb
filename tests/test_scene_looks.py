"""Looks of a scene as numbers: what a cut leaves, where the wire presses, what an exact or a close view shows."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cases.show import brackets, parts
from cases.show.device import device_of
from cases.show.faces import faces
from cases.show.look import CUTS, VIEWS, Look, close_up, looked_at, trimmed, within
from cases.show.prisms import HalfSpace, Prism, block, hatch, kept
from geometry.attachments import FLOOR, LOWER_WALL, OUTER_WALL, UPPER_WALL, Slot
from tests import scene_results, show_results

SLOT = Slot(0.5588, 0.7112, 3.0)


@given(
    axis=st.sampled_from((0, 1, 2)),
    at=st.floats(-1.2, 1.2),
    corners=st.integers(3, 9),
    turn=st.floats(0.0, 6.0),
    stretch=st.floats(0.3, 2.0),
)
def test_both_halves_together_are_the_whole(
    axis: int, at: float, corners: int, turn: float, stretch: float
) -> None:
    turns = turn + np.arange(corners) * 2.0 * np.pi / corners
    whole = Prism(np.column_stack((np.cos(turns), stretch * np.sin(turns))), (-0.7, 0.9))
    volumes = []
    for side in (1.0, -1.0):
        left, face = kept(whole, HalfSpace(axis, side, at))
        if left is not None:
            assert (side * (left.corners[:, axis] - at)).max() < 1e-12
            volumes.append(left.volume)
        if face is not None:
            np.testing.assert_allclose(face[:, axis], at, atol=1e-12)
    assert sum(volumes) == pytest.approx(whole.volume, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize(("axis", "across"), [(0, 2.0 * 3.0), (1, 1.0 * 3.0), (2, 1.0 * 2.0)])
def test_the_cut_face_of_a_box_has_its_area_and_its_lines_lie_on_it(axis: int, across: float) -> None:
    _, face = kept(block((0.0, 1.0), (0.0, 2.0), (0.0, 3.0)), HalfSpace(axis, 1.0, 0.4))
    assert face is not None
    first, second = face[1] - face[0], face[2] - face[1]
    assert np.linalg.norm(np.cross(first, second)) == pytest.approx(across)
    lines = hatch(face, 0.13)
    assert len(lines) > 8
    for line in lines:
        assert (line >= face.min(axis=0) - 1e-9).all() and (line <= face.max(axis=0) + 1e-9).all()
    flat = np.delete(np.array(lines), axis, axis=2)
    own = (flat[:, 1] - flat[:, 0]) / np.linalg.norm(flat[:, 1] - flat[:, 0], axis=1)[:, None]
    # ISO 128-3: section lines stand at 45 deg, apart by one distance
    np.testing.assert_allclose(np.abs(own), np.sqrt(0.5), rtol=1e-9)
    level = np.sort(flat[:, 0] @ np.array([-np.sqrt(0.5), np.sqrt(0.5)]))
    np.testing.assert_allclose(np.diff(level), 0.13, rtol=1e-9)


@pytest.mark.parametrize("cut", CUTS)
def test_a_cut_takes_the_half_towards_the_viewer_away(cut: str) -> None:
    """Of an upper bracket: what is left of its walls stands on the far side of the plane, nothing on the near one."""
    result = close_up(scene_results.v_bend(), "canine bracket")
    face = next(one for one in faces(result) if one.key == cut)
    # the slot's own axes are the world's here; across the wire the plane is where it presses hardest
    at = -0.0 if cut != "mesiodistal" else float(face.towards[0]) * 1.4
    for part in _parts(result, Look(cut, cut)):  # type: ignore[arg-type]
        depth = np.asarray(part.mesh.points, dtype=float) @ face.towards
        if part.what in ("walls", "front"):
            assert depth.max() <= at + 0.2
            assert depth.min() < -0.3
    bodies = brackets.bracket_of(device_of(result.attachments[0]), 0.5588).body
    whole = sum(one.volume for one in bodies)
    half = looked_at(result, Look(cut, cut)).cuts[0]  # type: ignore[arg-type]
    assert half is not None
    left = sum(one.volume for one in (kept(body, half)[0] for body in bodies) if one is not None)
    # the bracket is the same above and below, so exactly half of it is left there
    if cut == "occlusal":
        assert left == pytest.approx(0.5 * whole)
    else:
        assert 0.02 * whole < left < 0.98 * whole


def _parts(result: object, look: Look) -> list[parts.Part]:
    looked = looked_at(result, look)  # type: ignore[arg-type]
    return parts.scene_parts(looked, look, (), 0.1, 0.1)


def test_whole_slots_are_seen_through_and_cut_ones_are_not() -> None:
    result = scene_results.v_bend()
    for cut, opacities, faces_there in ((None, {0.5}, False), ("facial", {1.0}, True)):
        found = _parts(result, Look(cut=cut))  # type: ignore[arg-type]
        assert {part.opacity for part in found if part.what == "walls"} == opacities
        assert any(part.what == "cut face" for part in found) is faces_there
        assert any(part.what == "section lines" for part in found) is faces_there


def test_walls_meshes_hold_the_volume_of_their_prisms() -> None:
    from cases.show import shapes

    item = scene_results.v_bend().attachments[1]
    solid = brackets.bracket_of(device_of(item), 0.5588)
    assert shapes.prisms(item.pose, solid.body).volume == pytest.approx(
        sum(one.volume for one in solid.body), rel=1e-5
    )


def test_zones_gather_neighbouring_stations_and_lose_no_force() -> None:
    contacts = [
        scene_results.contact(wall, offset, force)
        for wall, offset, force in (
            (UPPER_WALL, -1.5, 3.0), (UPPER_WALL, -1.49, 1.0), (UPPER_WALL, -1.3, 0.5), (UPPER_WALL, 1.5, 2.0),
            (LOWER_WALL, 0.0, 4.0), (FLOOR, 0.2, 0.25), (OUTER_WALL, -1.5, 0.125),
        )
    ]  # fmt: skip
    zones = brackets.pressing_zones(contacts, SLOT)
    assert [(zone.wall, zone.force_n) for zone in zones] == [
        (UPPER_WALL, 4.5), (UPPER_WALL, 2.0), (LOWER_WALL, 4.0), (FLOOR, 0.25), (OUTER_WALL, 0.125),
    ]  # fmt: skip
    for zone in zones:
        low, high = zone.along
        assert -1.5 <= low < high <= 1.5
        assert high - low >= brackets.LEAST_MARK * SLOT.width - 1e-12
    assert zones[0].along[0] == -1.5 and zones[0].along[1] > -1.3


@pytest.mark.parametrize(
    ("wall", "axis", "side", "at"),
    [
        (UPPER_WALL, 1, 1.0, 0.2794),
        (LOWER_WALL, 1, -1.0, 0.2794),
        (FLOOR, 2, -1.0, 0.3556),
        (OUTER_WALL, 2, 1.0, 0.3556),
    ],
)
def test_a_mark_lies_in_its_wall_and_touches_its_surface(
    wall: str, axis: int, side: float, at: float
) -> None:
    item = show_results.v_bend().attachments[0]
    mark = brackets.zone_mark(brackets.Zone(wall, (-1.5, -1.2), 1.0), device_of(item), 0.5588)
    depth = side * mark.corners[:, axis]
    assert depth.min() == pytest.approx(at) and depth.max() == pytest.approx(at + brackets.MARK)
    assert mark.along == (-1.5, -1.2)


def test_the_harder_a_wall_presses_the_darker_it_is_marked() -> None:
    lightness = []
    for share in (0.0, 0.25, 0.5, 1.0):
        red, green, blue = (int(parts.pressing_colour(share)[k : k + 2], 16) for k in (1, 3, 5))
        lightness.append(0.2126 * red + 0.7152 * green + 0.0722 * blue)
    assert all(a > b + 10.0 for a, b in itertools.pairwise(lightness))
    pressed = parts.pressed_walls(looked_at(scene_results.v_bend(), Look()))
    assert [(one.owner, one.zone.wall, one.share) for one in pressed] == [
        ("canine bracket", UPPER_WALL, 1.0),
        ("canine bracket", LOWER_WALL, pytest.approx(5.66 / 7.5)),
        ("premolar bracket", LOWER_WALL, pytest.approx(1.84 / 7.5)),
    ]


def test_what_presses_and_was_cut_away_is_seen_through() -> None:
    from dataclasses import replace

    result = scene_results.v_bend()
    first, second = result.attachments
    first = replace(
        first, contacts=(scene_results.contact(OUTER_WALL, 1.5, 1.0), scene_results.contact(FLOOR, 0.0, 1.0))
    )
    marked = [p for p in _parts(replace(result, attachments=(first, second)), Look()) if p.what == "pressing"]
    assert [part.opacity for part in marked] == [parts.SEEN_THROUGH, 1.0, 1.0]


@pytest.mark.parametrize("view", VIEWS)
def test_every_view_is_right_handed_and_looks_from_where_it_says(view: str) -> None:
    looked = looked_at(scene_results.v_bend(), Look(view))  # type: ignore[arg-type]
    np.testing.assert_allclose(looked.axes.T @ looked.axes, np.eye(3), atol=1e-12)
    assert np.linalg.det(looked.axes) == pytest.approx(1.0)
    # teeth 13 and 14: an upper arch is seen from below
    towards = {"oblique": None, "facial": (0, 0, 1), "occlusal": (0, -1, 0), "mesiodistal": (-1, 0, 0)}[view]
    if towards is None:
        assert (looked.axes[:, 2] > 0.1).all()
    else:
        np.testing.assert_allclose(looked.axes[:, 2], towards, atol=1e-12)


def test_an_exact_view_shows_what_acts_within_it() -> None:
    result = show_results.v_bend()
    looked = looked_at(result, Look("mesiodistal", None))
    # By hand: along x nothing of 0, 1.84, 0.1 N is lost; of 0.9, 0.4, -14.2 N mm the part about x stays.
    first = looked.result.attachments[0]
    assert first.force_n == pytest.approx((0.0, 1.84, 0.1)) and first.moment_nmm == pytest.approx(
        (0.9, 0.0, 0.0)
    )
    occlusal = within(result, looked_at(result, Look("occlusal", None)).axes).attachments[0]
    assert occlusal.force_n == pytest.approx((0.0, 0.0, 0.1)) and occlusal.moment_nmm == pytest.approx(
        (0.0, 0.4, 0.0)
    )
    assert looked.least == pytest.approx(
        (0.02 * np.hypot(1.84, 0.1), 0.02 * np.linalg.norm((0.9, 0.4, -14.2)))
    )


@pytest.mark.parametrize("name", ["lateral bracket", "central bracket", "other central bracket"])
def test_a_close_view_is_the_same_in_the_slots_own_axes(name: str) -> None:
    result = scene_results.torque()
    before, after = result.attachment(name), close_up(result, name).attachments[0]
    np.testing.assert_array_equal(after.pose.axes, np.eye(3))
    np.testing.assert_array_equal(after.pose.position, 0.0)
    # lengths, and force times moment, are the same in any axes
    for what in ("force_n", "moment_nmm"):
        assert np.linalg.norm(getattr(after, what)) == pytest.approx(np.linalg.norm(getattr(before, what)))
    assert after.moment_nmm[0] == pytest.approx(before.orders["third"].moment_nmm)
    wire = close_up(result, name).wire
    half = 0.5 * 3.2 + 0.9 * 3.2
    free = before.pose.to_local(result.wire.positions_mm)[:, 0]
    assert wire.positions_mm[0, 0] == pytest.approx(max(-half, free.min()), abs=1e-9)
    assert wire.positions_mm[-1, 0] == pytest.approx(min(half, free.max()), abs=1e-9)


def test_a_trimmed_wire_lies_on_the_whole_one() -> None:
    result = show_results.cantilever()
    item = result.attachments[0]
    for before in (True, False):
        wire = trimmed(result.wire, item, 1.234, before)
        end = wire.positions_mm[0 if before else -1]
        assert item.pose.to_local(end)[0] == pytest.approx(1.234, abs=1e-9)
        assert len(wire.arc_length_mm) == len(wire.positions_mm) == len(wire.axes) == len(wire.moment_nmm)
        assert (np.diff(wire.arc_length_mm) > 0.0).all()
        np.testing.assert_allclose(
            wire.axes[0 if before else -1].T @ wire.axes[0 if before else -1], np.eye(3), atol=1e-9
        )
    both = [trimmed(result.wire, item, 1.234, before) for before in (True, False)]
    lengths = [one.arc_length_mm[-1] - one.arc_length_mm[0] for one in both]
    assert sum(lengths) == pytest.approx(result.wire.arc_length_mm[-1] - result.wire.arc_length_mm[0])


def test_a_wire_that_ends_at_the_plane_stays_whole() -> None:
    wire = show_results.cantilever().wire
    item = show_results.cantilever().attachments[0]
    for offset in (float(wire.positions_mm[-1, 0]), 50.0):
        for before in (True, False):
            assert trimmed(wire, item, offset, before) is wire


@pytest.mark.parametrize("name", sorted(show_results.EVERY))
def test_every_appliance_can_be_looked_at_in_every_way(name: str) -> None:
    from cases.show import drawing

    result = show_results.EVERY[name]()
    near = [None, *(item.name for item in result.attachments)]
    for view, cut, attachment in itertools.product(VIEWS, (*CUTS, None), near):
        found = drawing.scene_of(result, Look(view, cut, attachment))
        names = {part.owner for part in found.parts if part.owner is not None}
        assert names == ({attachment} if attachment else {item.name for item in result.attachments})
        for part in found.parts:
            assert np.isfinite(np.asarray(part.mesh.points)).all() and part.mesh.n_cells > 0


def test_looks_that_do_not_exist_are_refused() -> None:
    with pytest.raises(ValueError, match="no view called 'frontal'"):
        Look("frontal")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="no cut called 'half'"):
        Look(cut="half")  # type: ignore[arg-type]
    with pytest.raises(KeyError, match="canine bracket"):
        looked_at(scene_results.v_bend(), Look(attachment="molar"))
