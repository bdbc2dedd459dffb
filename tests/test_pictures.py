"""Pictures: every number has its unit, no label covers another, the file appears whole or not at all."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from cases.results import RunResult
from cases.show import labels, renderer, scene, wire_curve
from cases.show.errors import PictureError
from cases.show.view import Box, fit, view_axes
from fem.status import Status
from geometry.attachments import Attachment, Slot
from geometry.pose import Pose, rotation_about
from tests import show_results

SIZE = (1600, 1000)


def test_a_force_is_given_in_newton_and_gram_force() -> None:
    # NIST Special Publication 811, appendix B.8: 1 kgf = 9.806 65 N, so that 347 gf are 3.4029 N.
    assert labels.force_text(3.40290755) == "3.40 N (347 gf)"
    assert labels.force_text(0.0) == "no force"


def test_a_moment_and_the_stress_scale_carry_their_units() -> None:
    assert labels.moment_text(11.866) == "11.9 N mm (1210 gf mm)"
    assert labels.moment_text(0.0) == "no moment"
    assert labels.STRESS_TITLE.endswith("(MPa)")


def test_what_is_too_small_for_an_arrow_is_still_written() -> None:
    hook = show_results.cantilever().attachment("premolar hook")
    tube = replace(show_results.cantilever().attachment("molar tube"), force_n=(0.0, 3e-5, 4e-5))
    assert labels.mark_text(hook, without_arrow=False, without_arc=True) == "premolar hook (tooth 45)"
    lines = labels.mark_text(tube, without_arrow=True, without_arc=False).splitlines()
    assert lines == ["molar tube (tooth 47)", "5.00e-05 N (0.00510 gf)"]


def test_the_wire_line_names_stress_and_yield() -> None:
    text = labels.wire_text(show_results.v_bend())
    assert "0.406 x 0.559 mm" in text
    assert "950 MPa" in text
    assert text.endswith("79.2 % of yield")


@pytest.mark.parametrize("status", Status)
def test_only_a_wire_at_rest_goes_without_a_banner(status: Status) -> None:
    banner = labels.banner_text(show_results.cantilever(status.name.lower()))
    if status in (Status.ENGAGED, Status.PASSIVE):
        assert banner is None
    else:
        assert banner is not None and status.name.lower().replace("_", " ") in banner
        assert banner.startswith("no equilibrium found") is not status.converged
        assert banner.endswith("do not use these figures")


@pytest.mark.parametrize(
    ("target", "length"), [(1.0, 1.0), (0.99, 0.5), (4.7, 2.0), (5.0, 5.0), (130.0, 100.0)]
)
def test_scale_bars_have_round_lengths(target: float, length: float) -> None:
    assert labels.round_length(target) == pytest.approx(length, rel=1e-12)


def test_labels_never_overlap_and_stay_in_their_room() -> None:
    room = Box(0.0, 0.0, 700.0, 400.0)
    wishes = [labels.Wish((150.0, 24.0), (350.0 + 5.0 * i, 200.0), (0.0, 1.0), 10.0) for i in range(12)]
    boxes = labels.place(wishes, room, np.zeros((0, 2)))
    assert all(room.holds(box) for box in boxes)
    assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[:i])
    with pytest.raises(ValueError, match="larger"):
        labels.place(wishes, Box(0.0, 0.0, 160.0, 100.0), np.zeros((0, 2)))


def test_a_label_keeps_off_what_is_drawn() -> None:
    drawn = np.column_stack((np.full(40, 350.0), np.linspace(200.0, 300.0, 40)))
    (box,) = labels.place(
        [labels.Wish((80.0, 24.0), (350.0, 200.0), (0.0, 1.0), 10.0)], Box(0, 0, 700, 400), drawn
    )
    assert box.count(drawn) == 0


def test_the_view_is_a_facial_view() -> None:
    axes = view_axes()
    np.testing.assert_allclose(axes.T @ axes, np.eye(3), atol=1e-15)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    # x to the viewer's right, y up, z towards the viewer.
    assert axes[0, 0] > 0.9 and axes[1, 1] > 0.9 and axes[2, 2] > 0.8


@pytest.mark.parametrize("seed", range(5))
def test_everything_is_in_frame_at_one_scale(seed: int) -> None:
    points = np.random.default_rng(seed).normal(size=(30, 3)) * [12.0, 3.0, 2.0] + [5.0, -40.0, 9.0]
    room = Box(100.0, 200.0, 1300.0, 850.0)
    view = fit(points, room, SIZE)
    seen = view.project(points)
    assert Box(*seen.min(axis=0), *seen.max(axis=0)).middle == pytest.approx(room.middle)
    assert room.grown(1e-6).count(seen) == len(points)
    across = view.axes[:, 0]
    assert np.linalg.norm(np.diff(view.project(np.array([points[0], points[0] + 2.0 * across])), axis=0)) == (
        pytest.approx(2.0 * view.pixels_per_mm)
    )


def test_bends_are_filled_in_along_their_arc() -> None:
    """A wire of constant curvature drawn from few nodes lies on its circle and keeps right angles."""
    radius, turns = 3.0, np.linspace(0.0, 1.2, 4)
    positions = radius * np.column_stack((np.sin(turns), 1.0 - np.cos(turns), np.zeros(4)))
    axes = np.array([rotation_about((0.0, 0.0, 1.0), t) for t in turns])
    x, a, v = wire_curve.refined(positions, axes, turns)
    assert len(x) > 25
    np.testing.assert_allclose(np.linalg.norm(x - [0.0, radius, 0.0], axis=1), radius, rtol=1e-12)
    np.testing.assert_allclose(x[-1], positions[-1], atol=1e-12)
    np.testing.assert_allclose(np.cross(a[:, :, 0], a[:, :, 1]), a[:, :, 2], atol=1e-12)
    np.testing.assert_allclose(v, np.linspace(0.0, 1.2, len(v)), atol=1e-12)


def test_the_wire_is_drawn_at_its_true_size() -> None:
    from cases.show import shapes

    wire = show_results.torque().wire
    bounds = np.array(
        shapes.wire_surface(replace(wire, axes=np.tile(np.eye(3), (len(wire.axes), 1, 1)))).bounds
    )
    np.testing.assert_allclose(
        np.diff(bounds.reshape(3, 2), axis=1).ravel(), [18.0, 0.4826, 0.635], atol=1e-6
    )


def test_a_slot_is_drawn_around_its_opening() -> None:
    """Nothing of the walls stands in the opening, and the walls touch it."""
    from cases.show import brackets, shapes

    pose = Pose.from_angles((3.0, -2.0, 1.0), 0.3, -0.2, 0.5)
    device = Attachment("tube", "tube", pose, 0.0, Slot(0.5588, 0.7112, 3.0))
    solid = brackets.bracket_of(device, 0.635)
    for prisms in (solid.body[1:], solid.front):
        part = shapes.prisms(pose, prisms)
        local = pose.to_local(np.asarray(part.points, dtype=float))
        inside = (np.abs(local[:, 1]) < 0.2794 - 1e-5) & (np.abs(local[:, 2]) < 0.3556 - 1e-5)
        assert not inside.any()
        assert np.abs(local[:, 0]).max() == pytest.approx(1.5, abs=1e-5)


def test_round_arrows_turn_right_handed() -> None:
    """The sense of rotation: a positive moment about z turns x towards y."""
    from cases.show import shapes

    points = shapes.arc_points(np.zeros(3), np.array([0.0, 0.0, 2.0]), np.array([1.0, 0.0, 5.0]), 1.5, 1.0)
    np.testing.assert_allclose(np.linalg.norm(points, axis=1), 1.5, rtol=1e-12)
    assert (np.cross(points[:-1], points[1:])[:, 2] > 0.0).all()
    np.testing.assert_allclose(points[0][:2] + points[-1][:2], [3.0 * np.cos(0.5), 0.0], atol=1e-12)
    with pytest.raises(ValueError, match="along its axis"):
        shapes.arc_points(np.zeros(3), np.array([0.0, 0.0, 1.0]), np.array([0.0, 0.0, 1.0]), 1.0, 1.0)


def test_arrows_point_along_the_force_and_the_longest_belongs_to_the_largest() -> None:
    from cases.show import marks

    result = show_results.v_bend()
    weak = replace(result.attachments[1], force_n=(0.0, -0.92, 0.0))
    result = replace(result, attachments=(result.attachments[0], weak))
    bodies = [marks.body_corners(item, result) for item in result.attachments]
    strong_mark, weak_mark = marks.marks_of(result, bodies, 10.0, view_axes())
    assert strong_mark.arrow is not None and weak_mark.arrow is not None
    np.testing.assert_allclose(
        weak_mark.arrow, [0.0, -10.0 * marks.LONGEST_ARROW * 0.92 / strong_mark.force, 0.0]
    )
    np.testing.assert_allclose(np.cross(strong_mark.arrow, result.attachments[0].force_n), 0.0, atol=1e-12)


def test_arrows_round_an_arch_move_apart_and_stay_what_they_are() -> None:
    from cases.show import arch_marks, marks

    result = show_results.row_of_brackets(8)
    # Two brackets nearer to each other than their arrows are long.
    near = [Pose.from_angles((2.8 * k, 0.0, 0.0)) for k in range(8)]
    result = replace(
        result,
        attachments=tuple(
            replace(item, pose=pose, moment_about_mm=tuple(map(float, pose.position)))
            for item, pose in zip(result.attachments, near, strict=True)
        ),
    )
    bodies = [marks.body_corners(item, result) for item in result.attachments]
    axes = view_axes()
    before = marks.marks_of(result, bodies, 30.0, axes, arch_marks.LONGEST_ARROW)
    after = arch_marks.arranged(before, result, 30.0, axes)

    def hidden(some: list[marks.Mark]) -> int:
        others = np.concatenate([arch_marks.solid(body) @ axes[:, :2] for body in bodies])
        lines = [mark.arc for mark in some if mark.arc is not None]
        return sum(int(arch_marks.covered((line @ axes[:, :2])[None], others, 0.3)[0]) for line in lines)

    assert hidden(after) < hidden(before)
    for old, new, item in zip(before, after, result.attachments, strict=True):
        assert old.arrow is not None and old.arc is not None and new.arc is not None
        np.testing.assert_array_equal(new.arrow, old.arrow)
        # Still round the axis of the moment, right-handed.
        axis = np.asarray(item.moment_nmm) / new.moment
        own = new.arc - new.centre
        off = own - (own @ axis)[:, None] * axis
        np.testing.assert_allclose(np.linalg.norm(off, axis=1), np.linalg.norm(off[0]), rtol=1e-9)
        assert (np.cross(off[:-1], off[1:]) @ axis > 0.0).all()


def test_a_block_is_filled_between_its_corners() -> None:
    from cases.show import arch_marks, marks

    result = show_results.v_bend()
    corners = marks.body_corners(result.attachments[1], result)
    points = arch_marks.solid(corners)
    np.testing.assert_allclose(points.min(axis=0), corners.min(axis=0))
    np.testing.assert_allclose(points.max(axis=0), corners.max(axis=0))
    np.testing.assert_allclose(points.mean(axis=0), corners.mean(axis=0), atol=1e-12)


def test_the_values_of_an_arch_stand_in_a_table() -> None:
    rows = labels.load_rows(show_results.row_of_brackets(9))
    # By hand: the largest force is 0.1, 1.3, -0.3 and the first 0.1, 0.5, -0.3 N; moments 10, -3, 4 and 2, -3, 4 N mm.
    assert rows[8] == ("bracket 9", "1.34", "11.2")
    assert rows[0] == ("bracket 1", "0.59", "5.4")
    assert labels.load_rows(show_results.passive())[0] == ("11", "0.00", "0.00")


@pytest.mark.parametrize("listed", [7, 12, 16])
def test_table_and_stress_scale_have_room_beside_each_other(listed: int) -> None:
    from cases.show import furniture

    for shape in (0.2, 0.6, 2.0):
        height = furniture.height_for(shape, listed)
        layout = furniture.plan((furniture.WIDTH, height), listed)
        assert layout.table is not None
        whole = Box(0.0, 0.0, furniture.WIDTH, height)
        assert whole.holds(layout.table) and whole.holds(layout.bar)
        assert not layout.table.overlaps(layout.bar.grown(30.0)) and not layout.room.overlaps(layout.table)
        assert layout.bar.height >= furniture.LEAST_BAR - 1.0
        assert layout.table.height >= (listed + 2.3) * furniture.ROW


def test_a_force_along_the_wire_is_drawn_beside_it() -> None:
    from cases.show import marks

    result = show_results.v_bend()
    pulled = replace(result.attachments[0], force_n=(1.5, 0.0, 0.0))
    result = replace(result, attachments=(pulled, result.attachments[1]))
    bodies = [marks.body_corners(item, result) for item in result.attachments]
    level, across = marks.marks_of(result, bodies, 10.0, view_axes())
    assert level.arrow is not None and across.arrow is not None
    for mark in (level, across):
        line = mark.start + np.linspace(0.0, 1.0, 30)[:, None] * mark.arrow
        local = mark.attachment.pose.to_local(line)
        size = np.abs(mark.attachment.pose.to_local(mark.reach)).max(axis=0)
        assert (np.abs(local) > size - 1e-9).any(axis=1).all()
    assert level.start[1] != 0.0 and across.start[1] < 0.0


def test_a_picture_is_as_high_as_its_appliance_needs() -> None:
    from cases.show import drawing, furniture

    flat = drawing.natural_size(show_results.row_of_brackets(14))
    tall = drawing.natural_size(show_results.cantilever())
    assert flat[0] == tall[0] == furniture.WIDTH
    assert furniture.LOWEST <= flat[1] < tall[1] <= furniture.HIGHEST


def test_the_ghost_lies_on_the_passive_shape() -> None:
    from cases.show import shapes

    wire = show_results.cantilever().wire
    ghost = np.asarray(shapes.ghost(wire).points, dtype=float)
    apart = np.linalg.norm(ghost[:, None] - wire.passive_positions_mm[None], axis=2).min(axis=1)
    assert apart.max() < 0.5 * wire.section.height + 0.5 * 24.5 / 59.0


def test_a_picture_explains_the_arrows_it_has() -> None:
    from cases.show import drawing
    from cases.show.look import Look

    for result, words in (
        (show_results.passive(), []),
        # 12.2 N mm is the largest moment of it, 9.06 N mm that of the cantilever
        (show_results.torque(), [f"{labels.MOMENT_LEGEND} (150°: 12.2 N mm)"]),
        (
            show_results.cantilever(),
            [labels.FORCE_LEGEND, f"{labels.MOMENT_LEGEND} (150°: 9.06 N mm)", labels.GHOST_LEGEND],
        ),
    ):
        assert drawing.legend_of(drawing.scene_of(result, Look())) == words


def _draw(result: RunResult, folder: Path, size: tuple[int, int] = SIZE) -> np.ndarray:
    path = scene.draw_scene(result, folder / "scene.png", size)
    assert [item.name for item in folder.iterdir()] == ["scene.png"]
    with Image.open(path) as image:
        assert image.size == size
        return np.asarray(image.convert("RGB"), dtype=float)


@pytest.mark.parametrize("name", sorted(show_results.EVERY))
def test_a_picture_shows_its_wire_within_a_white_margin(name: str, tmp_path: Path) -> None:
    pixels = _draw(show_results.EVERY[name](), tmp_path)
    border = np.concatenate(
        [pixels[:8].reshape(-1, 3), pixels[-8:].reshape(-1, 3), pixels[:, :8].reshape(-1, 3)]
    )
    assert (border == 255.0).all()
    ink = (pixels < 250.0).any(axis=2)
    assert 0.01 < ink.mean() < 0.4
    # Something of the appliance in the middle of the stage, and the coloured scale beside it.
    assert ink[250:750, 300:1200].mean() > 0.01
    colours = len(np.unique(pixels[330:640, 1424].round(), axis=0))
    assert colours == 1 if name == "passive" else colours > 60


def test_the_banner_goes_across_the_picture(tmp_path: Path) -> None:
    plain = _draw(show_results.cantilever(), tmp_path)
    barred = _draw(show_results.cantilever("too_many_iterations"), tmp_path)
    rows = np.flatnonzero((np.abs(plain - barred).max(axis=2) > 30.0).mean(axis=1) > 0.9)
    assert 50 < len(rows) < 90
    assert 300 < rows.mean() < 600


def test_other_sizes_are_drawn_too_and_tiny_ones_refused(tmp_path: Path) -> None:
    _draw(show_results.torque(), tmp_path, (800, 600))
    with pytest.raises(ValueError, match="800 x 600"):
        scene.draw_scene(show_results.torque(), tmp_path / "tiny.png", (200, 100))


def test_a_failure_leaves_the_old_picture_and_no_scraps(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "scene.png"
    path.write_bytes(b"an older picture")

    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(PictureError, match="cannot be written"):
        scene.draw_scene(show_results.passive(), path)
    assert path.read_bytes() == b"an older picture"
    assert list(tmp_path.iterdir()) == [path]


def test_without_a_renderer_one_clear_error_and_no_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(scene, "window_class", lambda: None)
    with pytest.raises(PictureError, match="libegl1"):
        scene.draw_scene(show_results.passive(), tmp_path / "scene.png")
    assert not list(tmp_path.iterdir())


def test_the_choice_of_renderer_does_not_leak(tmp_path: Path) -> None:
    before = os.environ.get("VTK_DEFAULT_OPENGL_WINDOW")
    _draw(show_results.passive(), tmp_path)
    assert os.environ.get("VTK_DEFAULT_OPENGL_WINDOW") == before


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the probe is for Linux")
def test_the_probe_answers_without_any_installed_package() -> None:
    found = subprocess.run(
        [sys.executable, "-I", "-S", renderer.__file__], capture_output=True, text=True, check=False
    )
    assert (found.stdout.strip() or None) == renderer.window_class()
    assert found.returncode == (0 if found.stdout.strip() else 1)
