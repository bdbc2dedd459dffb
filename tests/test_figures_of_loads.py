"""Three views and path: arrows point along the forces, curves pass through the increments, closed forms beside."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.text import Text

from cases.results import ORDERS, RunResult
from cases.show import activation_figure, closed_form, faces, labels, loads, sheet, views_figure
from tests import show_results
from tests.shipped import case, solved

LIBRARY = Path(__file__).resolve().parent.parent / "cases" / "library"
GF = 9.80665e-3


def texts(drawn: sheet.Sheet | Axes) -> list[str]:
    where = drawn if isinstance(drawn, Axes) else drawn.figure
    return [text.get_text() for text in where.findobj(Text) if text.get_text()]


# Views --------------------------------------------------------------------------------------------------------


def test_the_views_look_from_where_their_names_say() -> None:
    # Facial: the viewer stands at +z.  Occlusal: below an upper arch, above a lower one.  Mesiodistal: at -x.
    for name, bite in (("torque-through-play", -1.0), ("molar-uprighting", 1.0), ("step-bend-clamped", 1.0)):
        facial, occlusal, mesiodistal = faces.faces(solved(name))
        np.testing.assert_array_equal(facial.towards, [0.0, 0.0, 1.0])
        np.testing.assert_array_equal(occlusal.towards, [0.0, bite, 0.0])
        np.testing.assert_array_equal(mesiodistal.towards, [-1.0, 0.0, 0.0])


def test_arrows_point_along_the_forces_and_turn_with_the_moments() -> None:
    result = show_results.row_of_brackets(4)
    for face in faces.faces(result):
        for stroke, item in zip(loads.strokes_of(result, face, 30.0), result.attachments, strict=True):
            force = np.array(item.force_n) @ face.axes.T
            np.testing.assert_allclose(stroke.load.force, force)
            assert stroke.arrow is not None and stroke.arc is not None
            assert stroke.arrow @ force == pytest.approx(np.linalg.norm(stroke.arrow) * np.linalg.norm(force))
            first, second = stroke.arc[0] - stroke.load.place, stroke.arc[1] - stroke.load.place
            turn = first[0] * second[1] - first[1] * second[0]
            assert np.sign(turn) == np.sign(np.dot(item.moment_nmm, face.towards))


def test_lengths_are_in_proportion_in_all_views_alike() -> None:
    result = show_results.row_of_brackets(4)
    shares = []
    for face in faces.faces(result):
        for stroke in loads.strokes_of(result, face, 30.0):
            if stroke.arrow is not None and np.linalg.norm(stroke.arrow) > 1.01 * loads.SHORTEST_ARROW * 30.0:
                shares.append(np.linalg.norm(stroke.arrow) / np.linalg.norm(stroke.load.force))
    assert len(shares) > 4
    np.testing.assert_allclose(shares, shares[0])


@pytest.mark.parametrize("name", ["molar-uprighting", "step-bend-full-size-slots"])
def test_all_views_have_one_scale_and_the_bar_means_it(name: str) -> None:
    drawn = views_figure.draw_views(solved(name))
    pixels = []
    for axes in drawn.figure.axes:
        corners = axes.transData.transform([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)])
        pixels += [corners[1, 0] - corners[0, 0], corners[2, 1] - corners[0, 1]]
    np.testing.assert_allclose(pixels, pixels[0], rtol=1e-6)
    (bar,) = [one for one in drawn.figure.artists + drawn.figure.lines if isinstance(one, Line2D)]
    length = np.ptp(bar.get_xdata()) * drawn.width * drawn.figure.dpi / pixels[0]
    assert f"{length:g}" in ("1", "2", "5", "10") and f"{length:g} mm" in texts(drawn)


def test_wire_and_slots_are_drawn_at_their_true_size() -> None:
    result = solved("torque-round-wire")
    facial, occlusal, _ = faces.faces(result)
    diameter, height, depth = 0.018 * 25.4, 0.022 * 25.4, 0.028 * 25.4
    for face, opening in ((facial, height), (occlusal, depth)):
        (band,) = faces.wire_band(result.wire, face)
        np.testing.assert_allclose(np.ptp(band, axis=0), [14.0, diameter], atol=1e-6)
        # The first bracket is not turned.
        slot = faces.silhouette(faces.body(result.attachments[0], result.wire), face)
        np.testing.assert_allclose(np.ptp(slot, axis=0), [3.0, opening], atol=1e-9)
    drawn = views_figure.draw_views(result)
    bands = [p for p in drawn.figure.axes[0].findobj(Polygon) if p.get_gid() == "wire"]
    np.testing.assert_allclose(np.ptp(bands[0].get_xy(), axis=0), [14.0, diameter], atol=1e-6)


def test_values_stand_beside_the_arrows_with_units() -> None:
    molar = solved("molar-uprighting")
    facial = texts(views_figure.draw_views(molar).figure.axes[0])
    force, moment = np.linalg.norm(molar.attachments[0].force_n), abs(molar.attachments[0].moment_nmm[2])
    assert facial.count(f"{force:.3f} N ({force / GF:.1f} gf)") == 2
    assert f"{moment:.1f} N mm ({float(f'{moment / GF:.2e}'):.0f} gf mm)" in facial


def test_the_passive_shape_is_a_ghost_in_every_view() -> None:
    result = solved("v-bend")
    drawn = views_figure.draw_views(result)
    for face, axes in zip(faces.faces(result), drawn.figure.axes, strict=True):
        (ghost,) = [line for line in axes.lines if line.get_gid() == "passive"]
        np.testing.assert_allclose(ghost.get_xydata(), result.wire.passive_positions_mm @ face.axes.T)
        assert ghost.get_linestyle() == "--"


def test_a_view_without_a_load_says_so() -> None:
    drawn = views_figure.draw_views(solved("closing-loop"))
    said = ["no force and no moment in this view" in texts(axes) for axes in drawn.figure.axes]
    assert said == [False, False, True]


def test_the_table_of_the_views_holds_the_loads() -> None:
    result = solved("v-bend")
    table = loads.views_table(result)
    found = [dict(zip(table.columns, row, strict=True)) for row in table.rows]
    forces = [r for r in found if r["view"] == "facial" and str(r["item"]).startswith("force")]
    moments = [r for r in found if r["view"] == "facial" and str(r["item"]).startswith("moment")]
    for item, force, moment in zip(result.attachments, forces, moments, strict=True):
        assert (force["force_horizontal_n"], force["force_vertical_n"]) == pytest.approx(item.force_n[:2])
        assert moment["moment_nmm"] == pytest.approx(item.moment_nmm[2])
    wire = [r for r in found if r["view"] == "occlusal" and r["item"] == "wire"]
    np.testing.assert_allclose([r["vertical_mm"] for r in wire], -result.wire.positions_mm[:, 2])


def test_many_attachments_are_numbered_and_their_values_listed() -> None:
    words = texts(views_figure.draw_views(show_results.row_of_brackets(9)))
    assert "9" in words and any(line.startswith("9 bracket 9") for line in words)
    assert sum("N mm (" in line for line in words) == 9


def clear_of(line: np.ndarray, outline: np.ndarray) -> bool:
    """Whether no point of the line lies inside a convex outline (k, 2), counter-clockwise."""
    sides = np.roll(outline, -1, axis=0) - outline
    away = line[:, None] - outline[None]
    return not (sides[:, 0] * away[..., 1] - sides[:, 1] * away[..., 0] > 1e-9).all(axis=1).any()


@pytest.mark.parametrize(
    "name", ["v-bend", "molar-uprighting", "closing-loop", "step-bend-full-size-slots", "step-bend-clamped"]
)
def test_straight_arrows_stand_beside_attachment_and_wire(name: str) -> None:
    result = solved(name)
    for face in faces.faces(result):
        wire = face.project(result.wire.positions_mm)
        half = 0.5 * result.wire.section.height
        for stroke in loads.strokes_of(result, face, 20.0):
            if stroke.arrow is None:
                continue
            line = stroke.start + np.linspace(0.0, 1.0, 40)[:, None] * stroke.arrow
            body = faces.silhouette(faces.body(stroke.load.attachment, result.wire), face)
            assert clear_of(line, body)
            assert np.linalg.norm(line[:, None] - wire[None], axis=2).min() > half


def test_arrows_of_attachments_behind_each_other_do_not_cover_each_other() -> None:
    mesiodistal = faces.faces(solved("v-bend"))[2]
    first, second = loads.strokes_of(solved("v-bend"), mesiodistal, 20.0)
    assert first.arrow is not None and second.arrow is not None
    lines = [s.start + np.linspace(0.0, 1.0, 40)[:, None] * s.arrow for s in (first, second)]
    assert np.linalg.norm(lines[0][:, None] - lines[1][None], axis=2).min() > 0.2


@pytest.mark.parametrize("name", ["v-bend", "closing-loop", "step-bend-clamped"])
def test_round_arrows_do_not_cross_a_wire_that_runs_across_the_view(name: str) -> None:
    result = solved(name)
    facial = faces.faces(result)[0]
    wire = facial.project(result.wire.positions_mm)
    arcs = [stroke.arc for stroke in loads.strokes_of(result, facial, 20.0) if stroke.arc is not None]
    assert arcs
    for arc in arcs:
        near = [wire[np.argmin(np.linalg.norm(wire - point, axis=1))] for point in arc]
        above = np.sign([point[1] - beside[1] for point, beside in zip(arc, near, strict=True)])
        assert len(set(above.tolist())) == 1


def test_directions_are_called_by_the_words_of_the_trade() -> None:
    # FDI quadrants in a facial view (ISO 3950; signs: geometry.tooth): mesial is +x on the patient's right.
    assert labels.axis_words(solved("molar-uprighting")) == ("x mesial", "y occlusal", "z facial")
    assert labels.axis_words(solved("torque-through-play")) == ("x distal", "y gingival", "z facial")
    assert labels.axis_words(solved("step-bend-clamped")) == ("x", "y", "z")


def test_a_wire_that_crosses_itself_is_drawn_from_back_to_front() -> None:
    result = solved("closing-loop")
    facial, occlusal, _ = faces.faces(result)
    assert len(faces.wire_pieces(solved("v-bend").wire, facial)) == 1
    pieces = faces.wire_pieces(result.wire, facial)
    assert len(pieces) > 20
    # The helix climbs towards one side: its nearest turn is drawn last.
    ends = [piece.fills[0].mean(axis=0) for piece in (pieces[0], pieces[-1])]
    depths = [
        float(
            result.wire.positions_mm[
                np.argmin(np.linalg.norm(result.wire.positions_mm[:, :2] - e, axis=1)), 2
            ]
        )
        for e in ends
    ]
    assert depths[0] < depths[-1]
    # All pieces together cover what the band covers.
    whole = np.concatenate(
        [fill for piece in faces.wire_pieces(result.wire, occlusal) for fill in piece.fills]
    )
    band = np.concatenate(faces.wire_band(result.wire, occlusal))
    np.testing.assert_allclose(np.ptp(whole, axis=0), np.ptp(band, axis=0), atol=1e-9)


def test_a_legend_explains_what_is_drawn_and_nothing_else() -> None:
    quiet = texts(views_figure.draw_views(solved("torque-round-wire")))
    assert not any("on the tooth (" in line for line in quiet) and "slot" in quiet and "button" not in quiet
    both = texts(views_figure.draw_views(solved("molar-uprighting")))
    for word in (
        "force on the tooth (straight)",
        "moment on the tooth (round)",
        "passive shape",
        "slot",
        "button",
    ):
        assert word in both


def test_an_arch_is_labelled_by_tooth_in_two_views() -> None:
    result = solved("levelling-lower-arch")
    drawn = views_figure.draw_views(result)
    assert len(drawn.figure.axes) == 2
    for axes in drawn.figure.axes:
        assert {item.tooth for item in result.attachments} <= set(texts(axes))
    words = texts(drawn)
    assert "43 lower right canine" in words
    second = result.attachment("43").orders["second"].moment_nmm
    assert any(f"2nd {second:.2f}" in line.replace("\N{MINUS SIGN}", "-") for line in words)


# Path ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["v-bend", "torque-through-play", "molar-uprighting"])
def test_the_curves_pass_through_the_increments(name: str) -> None:
    result = solved(name)
    drawn = activation_figure.draw_activation(result)
    active = [order for order in ORDERS if order not in activation_figure.silent_orders(result)]
    # A wire of which nothing is engaged is passive: by definition a curve begins with zero.
    share = [0.0, *(100.0 * increment.activation for increment in result.increments)]
    for panel, axes in enumerate(a for a in drawn.figure.axes if a.get_xlabel()):
        curves = [line for line in axes.lines if str(line.get_gid()).startswith("curve")]
        assert len(curves) == len(result.attachments)
        for k, curve in enumerate(curves):
            on_path = [increment.attachments[k] for increment in result.increments]
            expected = (
                [math.hypot(*one.force_n) for one in on_path]
                if panel == 0
                else [one.orders_moment_nmm[ORDERS.index(active[panel - 1])] for one in on_path]
            )
            np.testing.assert_allclose(curve.get_xdata(), share)
            np.testing.assert_allclose(curve.get_ydata(), [0.0, *expected])
    # The last increment is the result itself.
    for k, item in enumerate(result.attachments):
        for order in ORDERS:
            assert activation_figure.moments(result, k, order)[-1] == pytest.approx(
                item.orders[order].moment_nmm
            )


def scaled(result: RunResult, factors: dict[str, float]) -> RunResult:
    """The same path with the moments of some orders made smaller."""
    by = np.array([factors.get(order, 1.0) for order in ORDERS])
    steps = []
    for step in result.increments:
        on_path = [
            replace(one, orders_moment_nmm=tuple(float(m) for m in by * one.orders_moment_nmm))
            for one in step.attachments
        ]
        steps.append(replace(step, attachments=tuple(on_path)))
    return replace(result, increments=tuple(steps))


def test_an_order_that_is_small_beside_the_others_is_a_sentence_and_stays_in_the_table() -> None:
    # Largest moments of the row: third 10, second 4, first 3 N mm; here first 0.027 and second 0.008.
    result = scaled(show_results.row_of_brackets(9), {"first": 0.009, "second": 0.002})
    assert activation_figure.silent_orders(result) == ("first", "second")
    drawn = activation_figure.draw_activation(result)
    assert [axes.get_xlabel() for axes in drawn.figure.axes].count("activation (% of the whole)") == 2
    assert "First and second order: below 0.03 N mm, less than 1 % of the largest moment." in texts(drawn)
    table = activation_figure.activation_table(result)
    told = [row[5] for row in table.rows if row[2] == "first order moment" and row[1] == "bracket 1"]
    np.testing.assert_allclose(told, activation_figure.moments(result, 0, "first"))
    assert told[-1] == pytest.approx(-0.027) and told[0] == 0.0
    # At a hundredth of the largest an order has its panel.
    kept = scaled(show_results.row_of_brackets(9), {"first": 1.01 / 30.0, "second": 0.0})
    assert activation_figure.silent_orders(kept) == ("second",)
    assert "No moment in second order at any activation." in texts(activation_figure.draw_activation(kept))


@pytest.mark.parametrize(
    ("value", "said"), [(0.0271, "0.03"), (0.03, "0.04"), (0.0099, "0.010"), (4.2, "5"), (31.0, "40")]
)
def test_a_bound_is_above_what_it_bounds(value: float, said: str) -> None:
    assert activation_figure._rounded_up(value) == said and float(said) > value


def test_axes_say_their_units_and_the_second_scale_is_gram_force() -> None:
    drawn = activation_figure.draw_activation(solved("v-bend"))
    forces, moments = [axes for axes in drawn.figure.axes if axes.get_xlabel()]
    assert forces.get_xlabel() == "activation (% of the whole)"
    assert forces.get_ylabel().endswith("(N)") and moments.get_ylabel() == "moment (N mm)"
    drawn.figure.canvas.draw()
    for axes, unit in ((forces, "(gf)"), (moments, "(gf mm)")):
        (right,) = axes.child_axes
        assert right.get_ylabel() == unit
        np.testing.assert_allclose(right.get_ylim(), np.array(axes.get_ylim()) / GF)


def test_curves_differ_in_line_and_marker() -> None:
    looks = [activation_figure.look_of(k) for k in range(14)]
    assert len({look["marker"] for look in looks}) == 14
    assert len({str(look["linestyle"]) for look in looks[:6]}) == 6


def test_a_passive_path_is_said_in_words() -> None:
    assert "passive in its play: no couple" in texts(
        activation_figure.draw_activation(solved("torque-round-wire"))
    )
    with pytest.raises(ValueError, match="increments"):
        activation_figure.draw_activation(replace(solved("v-bend"), increments=()))


def test_the_closed_form_of_torque_through_play_is_drawn_beside() -> None:
    # By hand: J = a b^3 (1/3 - 0.21 b/a (1 - b^4 / 12 a^4)) for sides a > b (Roark's Formulas for Stress and
    # Strain, torsion of a solid rectangle, from memory; good to about 0.5 %); G = E / 2(1 + nu).
    case_ = case("torque-through-play")
    a, b = 0.025 * 25.4, 0.019 * 25.4
    j = a * b**3 * (1.0 / 3.0 - 0.21 * b / a * (1.0 - b**4 / (12.0 * a**4)))
    g = 180e3 / 2.6
    # Play: h cos t + w sin t = H, so 7.242 deg in either slot; 5 mm from mouth to mouth; 20 deg of activation.
    torque = g * j / 5.0 * math.radians(20.0 - 2.0 * 7.24215)
    references = closed_form.closed_forms(case_)
    assert [r.moment_nmm[-1] for r in references] == pytest.approx([-torque, torque], rel=6e-3)
    result = solved("torque-through-play")
    for k, reference in enumerate(references):
        computed = activation_figure.moments(result, k, "third")
        known = np.interp(
            np.array(activation_figure.shares(result)) / 100.0, reference.activation, reference.moment_nmm
        )
        np.testing.assert_allclose(computed, known, atol=1e-4 * torque)
    drawn = activation_figure.draw_activation(result, references)
    lines = [line for line in drawn.figure.findobj(Line2D) if line.get_gid() == "closed form"]
    for line, reference in zip(lines, references, strict=True):
        np.testing.assert_allclose(line.get_xdata(), 100.0 * np.array(reference.activation))
        np.testing.assert_allclose(line.get_ydata(), reference.moment_nmm)
    words = " ".join(texts(drawn))
    assert "closed form GJ/L" in words and "Timoshenko" in words
    table = activation_figure.activation_table(result, references)
    assert sum(row[0] == "closed form GJ/L (angle - play - play)" for row in table.rows) == 2 * 3


def test_the_closed_form_of_a_step_meets_the_published_couple() -> None:
    # Burstone & Koenig, Am. J. Orthod. Dentofac. Orthop. 93 (1988) 59: a 0.35 mm step over 7 mm of 0.016 in
    # steel, 1210 gf mm at either end.
    references = closed_form.closed_forms(case("step-bend-clamped"))
    assert [(r.order, r.moment_nmm[-1] / GF) for r in references] == [
        ("second", pytest.approx(1210.0, rel=2e-3)),
        ("second", pytest.approx(1210.0, rel=2e-3)),
    ]
    for k, reference in enumerate(references):
        computed = activation_figure.moments(solved("step-bend-clamped"), k, "second")[-1]
        assert computed == pytest.approx(reference.moment_nmm[-1], rel=1e-2)


@pytest.mark.parametrize(
    "name", ["v-bend", "molar-uprighting", "torque-round-wire", "step-bend-full-size-slots"]
)
def test_where_no_formula_holds_none_is_drawn(name: str) -> None:
    assert closed_form.closed_forms(case(name)) == ()
