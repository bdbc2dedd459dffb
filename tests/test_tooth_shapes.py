"""Tooth shapes of scenes: closed, of the sizes of their table, on the right side and the right way round."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cases.show import shapes, tooth_shapes
from cases.show.brackets import bracket_of
from cases.show.device import device_of
from cases.show.teeth_placed import NARROWEST, centre_of_resistance, placed_teeth
from cases.tooth_sizes import BREADTHS, SIZES, breadths_of, size_of
from geometry.pose import Pose
from geometry.tooth import Tooth
from tests import scene_results, show_results

# Points of a field stand SPACING apart; an end between them is rounded off by less.
NEAR = tooth_shapes.SPACING
NUMBERS = [f"{quadrant}{place}" for quadrant in (1, 3) for place in range(1, 9)]


def _on(number: str, pose: Pose | None = None) -> show_results.AttachmentResult:
    pose = Pose.identity() if pose is None else pose
    item = show_results.attachment("it", "bracket", pose, slot=(0.5588, 0.7112, 3.0), tooth=number)
    return scene_results.on_its_tooth(item)


def _points(item: show_results.AttachmentResult) -> np.ndarray:
    (tooth,) = placed_teeth([item], 0.6)
    return np.asarray(shapes.tooth_surface(tooth, "#ffffff", "#000000").points, dtype=float)


@pytest.mark.parametrize("number", NUMBERS)
def test_a_tooth_is_closed_and_as_large_as_its_table_says(number: str) -> None:
    tooth = Tooth(number)
    size, breadths = size_of(tooth), breadths_of(tooth)
    assert size is not None and breadths is not None
    (placed,) = placed_teeth([_on(number)], 0.6)
    mesh = shapes.tooth_surface(placed, "#ffffff", "#000000")
    assert mesh.is_manifold and mesh.n_open_edges == 0
    assert len(mesh.split_bodies()) == 1
    x, y, z = np.asarray(mesh.points, dtype=float).T
    assert np.ptp(y) == pytest.approx(size.crown + size.root, abs=1.5 * NEAR)
    assert np.ptp(x) == pytest.approx(breadths.crown_mesiodistal, abs=NEAR)
    assert np.ptp(z) == pytest.approx(breadths.crown_faciolingual, abs=0.9)


@pytest.mark.parametrize("number", ["11", "24", "36", "47"])
def test_a_tooth_stands_behind_its_bracket_crown_to_occlusal(number: str) -> None:
    item, tooth = _on(number), Tooth(number)
    size = size_of(tooth)
    assert size is not None
    points = _points(item)
    along = tooth.occlusal_sign * points[:, 1]
    # the slot stands level with the middle of the crown
    assert along.max() == pytest.approx(0.5 * size.crown, abs=NEAR)
    assert along.min() == pytest.approx(-0.5 * size.crown - size.root, abs=1.5 * NEAR)
    base = min(one.corners[:, 2].min() for one in bracket_of(device_of(item), 0.6).body)
    level = points[(np.abs(points[:, 1]) < 0.3) & (np.abs(points[:, 0]) < 0.5)]
    assert level[:, 2].max() == pytest.approx(base, abs=0.1)


def test_the_long_axis_of_an_average_tooth_goes_through_its_centre_of_resistance() -> None:
    for number in ("11", "13", "34"):
        item = _on(number, Pose.from_angles((1.0, 2.0, 3.0), 0.4, -0.2, 0.3))
        (tooth,) = placed_teeth([item], 0.6)
        centre = centre_of_resistance(item)
        assert centre is not None
        off = tooth.to_world.T @ (centre - tooth.origin)
        # gingival of the cervical line, and on the axis to within a tenth of a millimetre
        assert off[1] < -1.5 and np.hypot(off[0], off[2]) < 0.1


def test_left_and_right_are_mirror_images() -> None:
    right, left = _points(_on("16")), _points(_on("26"))
    assert len(right) == len(left)
    mirrored = left * [-1.0, 1.0, 1.0]
    order = [np.lexsort(np.round(points, 4).T) for points in (right, mirrored)]
    np.testing.assert_allclose(right[order[0]], mirrored[order[1]], atol=1e-3)
    # the mesial roots of a lower molar are the larger ones, and mesial is +x on the right
    lower = _points(_on("46"))
    roots = lower[lower[:, 1] < lower[:, 1].min() + 5.0]
    assert (roots[:, 0] > 0.0).any() and (roots[:, 0] < 0.0).any()


def test_crown_and_root_differ_in_tone() -> None:
    (tooth,) = placed_teeth([_on("11")], 0.6)
    mesh = shapes.tooth_surface(tooth, "#ffffff", "#000000")
    height = np.asarray(mesh.points)[:, 1] * -1.0
    tone = mesh.point_data[shapes.TONE][:, 0]
    assert (tone[height > -0.5 * 10.5 + 1.0] == 255).all() and (tone[height < -0.5 * 10.5 - 1.0] == 0).all()


def test_neighbours_that_stand_near_are_drawn_narrower() -> None:
    near = [_on("11", Pose.from_angles((0.0, 0.0, 0.0))), _on("21", Pose.from_angles((7.0, 0.0, 0.0)))]
    near = [replace(item, name=name) for item, name in zip(near, "ab", strict=True)]
    breadths = [
        np.ptp(np.asarray(shapes.tooth_surface(t, "#ffffff", "#000000").points)[:, 0])
        for t in placed_teeth(near, 0.6)
    ]
    # two incisors 8.5 mm broad, 7 mm apart
    np.testing.assert_allclose(breadths, 7.0, atol=NEAR)
    closer = [near[0], replace(near[1], pose=Pose.from_angles((2.0, 0.0, 0.0)))]
    first = placed_teeth(closer, 0.6)[0]
    assert np.ptp(
        np.asarray(shapes.tooth_surface(first, "#ffffff", "#000000").points)[:, 0]
    ) == pytest.approx(NARROWEST * 8.5, abs=NEAR)


def test_a_tooth_is_drawn_once_and_only_where_its_place_is_known() -> None:
    twice = [_on("16"), replace(_on("16", Pose.from_angles((0.0, 3.0, 0.0))), name="hook")]
    assert [tooth.owner for tooth in placed_teeth(twice, 0.6)] == ["it"]
    deciduous = show_results.attachment("it", "bracket", Pose.identity(), slot=(0.5, 0.7, 3.0), tooth="55")
    assert not placed_teeth([deciduous, replace(_on("11"), at_centre_of_resistance=None)], 0.6)
    assert tooth_shapes.tooth_shape(Tooth("55")) is None and breadths_of(Tooth("55")) is None


def test_crowns_are_broader_than_cervices() -> None:
    """Dental anatomy: the crown tapers to the cervix (Wheeler; common knowledge of the trade)."""
    for arch in ("upper", "lower"):
        for size, breadths in zip(SIZES[arch], BREADTHS[arch], strict=True):
            assert breadths.crown_mesiodistal > breadths.cervix_mesiodistal
            assert breadths.crown_faciolingual >= size.cervix
