"""Pictures of an arch: laid out flat it keeps lengths, slopes and loads; arrows of the scene move apart."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.patches import Polygon
from matplotlib.text import Text

from cases.results import RunResult
from cases.show import arch_marks, drawing, faces, labels, loads, unrolled, views_figure
from cases.show.look import Look, looked_at
from geometry.pose import Pose
from tests import show_results
from tests.shipped import solved

LIBRARY = Path(__file__).resolve().parent.parent / "cases" / "library"


def levelled() -> RunResult:
    return solved("levelling-lower-arch")


def texts(drawn: object) -> list[str]:
    return [text.get_text() for text in drawn.findobj(Text) if text.get_text()]  # type: ignore[attr-defined]


RADIUS, RISE = 20.0, 0.05


def round_arch(count: int = 8) -> RunResult:
    """Brackets on a wire round three fifths of a circle that rises by one in twenty, invented loads.

    Unrolled it is a straight line: a helix lies straight on its unrolled cylinder (elementary geometry).
    """
    heading = np.linspace(-0.6 * np.pi, 0.6 * np.pi, 160)
    c, s, nothing = np.cos(heading), np.sin(heading), np.zeros(len(heading))
    points = np.column_stack((RADIUS * s, RISE * RADIUS * (heading - heading[0]), RADIUS * c))
    level = np.stack((c, nothing, -s), axis=1)
    along = (level + [0.0, RISE, 0.0]) / math.hypot(1.0, RISE)
    out = np.cross(level, [0.0, 1.0, 0.0])
    axes = np.stack((along, np.cross(out, along), out), axis=2)
    straight = show_results.row_of_brackets(count)
    items = []
    for i, item in zip(np.linspace(5, 154, count).astype(int), straight.attachments, strict=True):
        items.append(
            replace(item, pose=Pose(points[i], axes[i]), moment_about_mm=tuple(map(float, points[i])))
        )
    wire = replace(
        straight.wire,
        arc_length_mm=RADIUS * math.hypot(1.0, RISE) * (heading - heading[0]),
        positions_mm=points,
        axes=axes,
        passive_positions_mm=points + 0.5 * out,
        bending_stress_mpa=nothing,
        shear_stress_mpa=nothing,
        force_n=np.zeros((160, 3)),
        moment_nmm=np.zeros((160, 3)),
    )
    return replace(straight, wire=wire, attachments=tuple(items))


def test_only_an_arch_is_unrolled() -> None:
    assert unrolled.goes_round(round_arch()) and unrolled.goes_round(levelled())
    for name in ("v-bend", "molar-uprighting", "closing-loop", "step-bend-clamped"):
        assert not unrolled.goes_round(solved(name))
        assert [face.title for face, _ in unrolled.shown(solved(name))][0] == "Facial view"
    assert not unrolled.goes_round(show_results.row_of_brackets(9))


def test_a_helix_unrolls_to_a_straight_line_of_its_own_length() -> None:
    result = round_arch()
    flat = unrolled.unrolled(result)
    across, up, out = flat.wire.positions_mm.T
    np.testing.assert_allclose(across, RADIUS * np.linspace(0.0, 1.2 * np.pi, 160), rtol=1e-9)
    np.testing.assert_allclose(np.hypot(across, up), result.wire.arc_length_mm, rtol=1e-9)
    np.testing.assert_allclose(up, RISE * across, atol=1e-12)
    np.testing.assert_array_equal(out, 0.0)
    np.testing.assert_allclose(
        flat.wire.axes[:, :, 0], [[1.0, RISE, 0.0] / np.hypot(1.0, RISE)] * 160, atol=1e-12
    )
    # What lies out of the wall stays out of it.
    np.testing.assert_allclose(flat.wire.passive_positions_mm - flat.wire.positions_mm, [[0.0, 0.0, 0.5]] * 160,
                               atol=1e-12)  # fmt: skip


@pytest.mark.parametrize("make", [round_arch, levelled])
def test_loads_of_an_unrolled_arch_are_those_in_each_slots_own_facial_plane(
    make: Callable[[], RunResult],
) -> None:
    result = make()
    (face, flat), (_, other), _ = unrolled.shown(result)
    assert face.title == "Facial view, arch unrolled" and other is result
    for item, laid, load in zip(result.attachments, flat.attachments, loads.loads(flat, face), strict=True):
        own = item.pose.axes.T @ item.force_n
        # Turned in the picture by as much as the slot is, along and height components are the slot's own.
        x, y = face.project(laid.pose.axes[:, 0]), face.project(laid.pose.axes[:, 1])
        np.testing.assert_allclose([load.force @ x, load.force @ y], own[:2], atol=1e-12)
        assert load.moment == pytest.approx(float(np.dot(item.pose.axes[:, 2], item.moment_nmm)), abs=1e-12)
        assert load.place[1] == pytest.approx(item.moment_about_mm[1], abs=1e-12)
        # Sizes are those of the slot.
        body, before = faces.body(laid, flat.wire), faces.body(item, result.wire)
        np.testing.assert_allclose(np.linalg.norm(body[0] - body[1:], axis=1),
                                   np.linalg.norm(before[0] - before[1:], axis=1))  # fmt: skip


def test_what_is_drawn_of_an_unrolled_arch_is_in_the_table() -> None:
    result = levelled()
    drawn = views_figure.draw_views(result)
    words = " ".join(texts(drawn.figure))
    assert "Facial view, arch unrolled" in words and "The arch is unrolled along its wire" in words
    assert len(drawn.figure.axes) == 2
    pixels = [
        np.diff(axes.transData.transform([(0.0, 0.0), (1.0, 1.0)]), axis=0) for axes in drawn.figure.axes
    ]
    np.testing.assert_allclose(pixels, pixels[0][0, 0], rtol=1e-6)
    table = loads.views_table(result)
    told = [dict(zip(table.columns, row, strict=True)) for row in table.rows if row[0] == unrolled.KEY]
    wire = [(row["horizontal_mm"], row["vertical_mm"]) for row in told if row["item"] == "wire"]
    np.testing.assert_allclose(wire, unrolled.unrolled(result).wire.positions_mm[:, :2])
    # A wire that is nearly level is as long on the picture as it is.
    assert wire[-1][0] == pytest.approx(result.wire.arc_length_mm[-1], rel=2e-3)
    slots = [p.get_xy() for p in drawn.figure.axes[0].findobj(Polygon) if p.get_gid() == "slot"]
    for item, box in zip(result.attachments, slots, strict=True):
        corners = [
            (r["horizontal_mm"], r["vertical_mm"])
            for r in told
            if r["item"] == "slot" and r["attachment"] == item.name
        ]
        np.testing.assert_allclose(box[:-1], corners)
    values = {f"{row['force_n']:.3f} N" for row in told if row["item"] == "force" and row["force_n"] > 0.1}
    assert len(values) > 6 and values <= set(texts(drawn.figure.axes[0]))
    assert not any(row[0] == "facial" for row in table.rows)


def test_the_moment_of_an_unrolled_arch_is_that_of_the_second_order() -> None:
    face, flat = unrolled.shown(levelled())[0]
    for item, load in zip(levelled().attachments, loads.loads(flat, face), strict=True):
        assert load.moment == pytest.approx(item.orders["second"].moment_nmm, abs=1e-9)


def test_only_the_height_of_an_arch_has_a_word_that_means_the_same_for_every_tooth() -> None:
    assert labels.axis_words(levelled()) == ("x", "y occlusal", "z")


def test_the_scene_of_an_arch_lists_its_values_and_covers_little_with_its_arrows() -> None:
    result = levelled()
    assert drawing._listed(result) == 12 and not drawing._listed(show_results.row_of_brackets(9))
    axes = looked_at(result, Look()).axes
    seen, marks = drawing._seen(looked_at(result, Look()), Look())
    across = seen @ axes[:, :2]
    near = arch_marks.NEAR * float(np.hypot(*np.ptp(across, axis=0)))
    slots = np.concatenate([arch_marks.solid(mark.reach) @ axes[:, :2] for mark in marks])
    lines = [mark.arc for mark in marks if mark.arc is not None]
    lines += [
        mark.start + np.linspace(0.0, 1.0, 24)[:, None] * mark.arrow
        for mark in marks
        if mark.arrow is not None
    ]
    assert len(lines) > 20
    projected = [line @ axes[:, :2] for line in lines]
    # No arrow lies over an attachment, and none crosses another.
    assert sum(int(arch_marks.covered(line[None], slots, 0.5 * near)[0]) for line in projected) == 0
    for i, line in enumerate(projected):
        for other in projected[:i]:
            assert np.linalg.norm(line[:, None] - other[None], axis=2).min() > 0.3
