"""Scenes as pictures: texts that never cover each other, arrows to scale, sizes, backgrounds, and how they look."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from cases.show import drawing, furniture, labels, overlay, scene
from cases.show.look import VIEWS, Look
from cases.show.marks import LONGEST_ARROW, SHORTEST_ARROW, WIDEST_ARC
from cases.show.view import Box
from tests import scene_references, scene_results, show_results

# What another release of the renderer may change: edges by part of a pixel, so little of a picture, and softly.
# Measured in L* by drawing without any smoothing of edges: mean up to 0.18, 99.5th percentile up to 8.6; between the
# two kinds that are most alike, slots cut and whole: 1.07 and 33.
MEAN_LIGHTNESS, HIGH_LIGHTNESS = 0.5, 16.0


@pytest.mark.parametrize("kind", sorted(scene_references.KINDS))
def test_every_kind_of_scene_looks_as_it_did(kind: str) -> None:
    off = np.abs(scene_references.lightness(scene_references.drawn(kind)) - scene_references.reference(kind))
    assert off.mean() < MEAN_LIGHTNESS
    assert np.percentile(off, 99.5) < HIGH_LIGHTNESS


def test_the_comparison_sees_what_a_reader_would_see() -> None:
    """Any two kinds of scene are different pictures: with slots whole, with teeth, from another side."""
    for kind, other in itertools.combinations(scene_references.KINDS, 2):
        off = np.abs(scene_references.reference(kind) - scene_references.reference(other))
        assert off.mean() > 2.0 * MEAN_LIGHTNESS and np.percentile(off, 99.5) > 2.0 * HIGH_LIGHTNESS


@pytest.fixture
def written(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[tuple[str, Box]]]:
    """Every text that is drawn, with the place it takes."""
    out: list[tuple[str, Box]] = []
    original = overlay.draw_text

    def note(plotter: object, text: str, place: Box, font: overlay.Font, backed: bool = False) -> None:
        out.append((text, place))
        original(plotter, text, place, font, backed)  # type: ignore[arg-type]

    for module in (overlay, drawing, furniture):
        monkeypatch.setattr(module, "draw_text", note)
    yield out


@pytest.mark.parametrize(
    ("kind", "size"),
    [
        ("facial", (1600, 1000)),
        ("near", (1000, 1400)),
        ("teeth", (1000, 1400)),
        ("arch", (1600, 1000)),
        ("mesiodistal", (1600, 1000)),
        ("occlusal", (1000, 1400)),
    ],
)
def test_no_text_covers_another_and_all_stand_in_the_picture(
    kind: str, size: tuple[int, int], written: list[tuple[str, Box]]
) -> None:
    result, look = scene_references.KINDS[kind]
    scene.scene_image(result(), size, look)
    whole = Box(0.0, 0.0, *map(float, size))
    assert len(written) > 8
    for i, (text, place) in enumerate(written):
        assert whole.holds(place), text
        for other, elsewhere in written[:i]:
            assert not place.overlaps(elsewhere), (text, other)


def test_texts_of_a_scene_carry_the_values(written: list[tuple[str, Box]]) -> None:
    scene.scene_image(scene_results.v_bend(), None, Look("facial", "facial", "canine bracket"))
    texts = [text for text, _ in written]
    for value in ("1.84 N (188 gf)", "14.2 N mm (1450 gf mm)", "upper wall 7.50 N", "lower wall 5.66 N"):
        assert value in texts
    assert any(text.startswith("Canine bracket (tooth 13), in its own axes. Facial view") for text in texts)
    assert sum(labels.PRESSING_LEGEND in text and "7.50 N" in text for text in texts) == 1


@pytest.mark.parametrize("view", VIEWS)
def test_arrows_are_as_long_as_their_forces_and_go_as_far_round_as_their_moments(view: str) -> None:
    found = drawing.scene_of(show_results.row_of_brackets(5), Look(view))  # type: ignore[arg-type]
    arrows = drawing.arrow_lengths(found.marks)
    scale = drawing.newtons_per_mm(arrows)
    assert scale is not None
    shortest = min(length for _, length in arrows)
    for force, length in arrows:
        assert length == pytest.approx(max(force / scale, shortest))
        assert shortest >= SHORTEST_ARROW / LONGEST_ARROW * max(arrows)[1] - 1e-9
    most = max(mark.moment for mark in found.marks)
    for mark in found.marks:
        if mark.arc is None:
            continue
        first, last = mark.arc[0] - mark.centre, mark.arc[-1] - mark.centre
        turn = np.arccos(first @ last / np.linalg.norm(first) / np.linalg.norm(last))
        assert turn == pytest.approx(max(WIDEST_ARC * mark.moment / most, np.radians(60.0)), rel=1e-6)


def test_arrows_larger_than_to_scale_are_told() -> None:
    told = " ".join(drawing.legend_of(drawing.scene_of(show_results.v_bend(), Look())))
    # 1.53 N mm beside 14.2: 150 deg times the ratio would be 16 deg, but 60 deg are drawn; 60/150 of 14.2 is 5.7
    assert f"{labels.ENLARGED_LEGEND} moments below 5.6" in told or "moments below 5.7" in told
    assert labels.ENLARGED_LEGEND not in " ".join(
        drawing.legend_of(drawing.scene_of(show_results.clamped_step(), Look()))
    )


def test_the_force_key_is_as_long_as_its_force(
    written: list[tuple[str, Box]], monkeypatch: pytest.MonkeyPatch
) -> None:
    shapes: list[np.ndarray] = []
    monkeypatch.setattr(furniture, "draw_polygon", lambda _, corners, *__: shapes.append(np.asarray(corners)))
    found = drawing.scene_of(scene_results.v_bend(), Look("facial"))
    scale = drawing.newtons_per_mm(drawing.arrow_lengths(found.marks))
    assert scale is not None
    scene.scene_image(scene_results.v_bend(), None, Look("facial"))
    (key,) = [text for text, _ in written if text.endswith(" N") and not text.startswith("1.84")]
    newtons = float(key.removesuffix(" N"))
    ends = np.concatenate([one for one in shapes if one[:, 1].min() > 130.0 and one[:, 1].max() < 150.0])
    assert np.ptp(ends[:, 0]) == pytest.approx(newtons / scale * found.view.pixels_per_mm, rel=1e-9)


def test_without_a_background_only_what_is_drawn_is_opaque(tmp_path: Path) -> None:
    path = scene.draw_scene(scene_results.v_bend(), tmp_path / "scene.png", None, Look(transparent=True))
    with Image.open(path) as image:
        assert image.mode == "RGBA"
        alpha = np.asarray(image)[..., 3]
    assert (alpha[:8] == 0).all() and (alpha[:, :8] == 0).all()
    found = drawing.scene_of(scene_results.v_bend(), Look(transparent=True))
    x, y = found.view.project(found.looked.wires[0].positions_mm[40]).round().astype(int)
    assert alpha[alpha.shape[0] - 1 - y, x] == 255
    assert 0.5 < (alpha == 0).mean() < 0.97
    assert scene.scene_image(scene_results.v_bend(), None, Look()).shape[2] == 3


def test_a_large_picture_is_the_same_one_drawn_finer() -> None:
    """3840 x 2160 pixels: scale, lines and texts grow with it, so that as much of it is inked."""
    look = Look("facial", "facial")
    sizes = (1280, 720), (3840, 2160)
    scales = [drawing.scene_of(scene_results.v_bend(), look, size).view.pixels_per_mm for size in sizes]
    assert scales[1] == pytest.approx(3.0 * scales[0])
    inked = []
    for size in sizes:
        pixels = scene.scene_image(scene_results.v_bend(), size, look)
        assert pixels.shape == (size[1], size[0], 3)
        inked.append((255.0 - pixels).mean())
    assert inked[1] == pytest.approx(inked[0], rel=0.03)


def test_a_scene_is_drawn_alike_twice(tmp_path: Path) -> None:
    look = Look("mesiodistal", "mesiodistal", teeth=True)
    one, other = (scene.draw_scene(scene_results.v_bend(), tmp_path / f"{k}.png", None, look) for k in "ab")
    assert one.read_bytes() == other.read_bytes()


def test_texts_of_a_window_follow_the_camera() -> None:
    """Off screen: the camera's view is the one it was aimed at, and texts come, go and keep apart after a turn."""
    import pyvista as pv

    from cases.show.window import Texts, view_of

    found = drawing.scene_of(scene_results.v_bend(), Look(), (1200, 900))
    with scene.off_screen():
        plotter = pv.Plotter(off_screen=True, window_size=[1200, 900])
        drawing.aim(plotter, found.view)
        seen = view_of(plotter)
        np.testing.assert_allclose(seen.axes, found.view.axes, atol=1e-9)
        points = found.looked.wires[0].positions_mm
        np.testing.assert_allclose(seen.project(points), found.view.project(points), atol=1e-6)
        before = plotter.renderer.GetViewProps().GetNumberOfItems()
        texts = Texts(plotter, found)
        texts.place()
        there = plotter.renderer.GetViewProps().GetNumberOfItems()
        assert there >= before + 6
        plotter.camera.azimuth = 50.0
        texts.place()
        assert abs(plotter.renderer.GetViewProps().GetNumberOfItems() - there) <= 3
        texts.clear()
        assert plotter.renderer.GetViewProps().GetNumberOfItems() == before
        plotter.close()
