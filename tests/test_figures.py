"""Line figures: what is drawn is what the result says, labels carry units, warnings stand across the picture."""

from __future__ import annotations

import csv
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.lines import Line2D
from matplotlib.patches import Wedge
from matplotlib.text import Text
from PIL import Image

from cases.errors import NotFiniteError
from cases.files import left_by_others
from cases.output import CAUTION
from cases.results import RunResult
from cases.show import (
    activation_figure,
    closed_form,
    labels,
    names,
    pictures,
    sheet,
    slot_figure,
    slot_view,
    tables,
    views_figure,
)
from cases.show.errors import PictureError
from geometry.section import Rectangle, Round
from tests import show_results
from tests.shipped import case, solved

ROOT = Path(__file__).resolve().parent.parent
LIBRARY = ROOT / "cases" / "library"
NEWTON_PER_GF = 9.80665e-3


SLOTTED = (
    "molar-uprighting",
    "step-bend-full-size-slots",
    "torque-round-wire",
    "torque-through-play",
    "v-bend",
)
ALL = (*SLOTTED, "step-bend-clamped")


def sheets(result: RunResult) -> dict[str, sheet.Sheet]:
    """Every figure of a result."""
    out = {"views": views_figure.draw_views(result), "activation": activation_figure.draw_activation(result)}
    if views := slot_view.slot_views(result):
        out["slots"] = slot_figure.draw_slots(result, views)
    return out


def texts(drawn: sheet.Sheet) -> list[str]:
    return [text.get_text() for text in drawn.figure.findobj(Text) if text.get_text()]


def rows(table: tables.Table, **chosen: str) -> list[dict[str, object]]:
    """Rows as dictionaries, those with the given cells."""
    out = [dict(zip(table.columns, row, strict=True)) for row in table.rows]
    return [row for row in out if all(row[column] == value for column, value in chosen.items())]


# Slots --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SLOTTED)
def test_the_wire_is_drawn_inside_its_slot_and_touches_the_walls_it_presses_on(name: str) -> None:
    # Walls are rigid: the only room beyond them is what the result itself reports between stations.
    result = solved(name)
    slack = 1e-4 + result.deepest_between_stations_mm
    for view in slot_view.slot_views(result):
        half = 0.5 * np.array([view.depth_mm, view.height_mm])
        assert set(view.outlines) == {slot_view.CENTRE, slot_view.NEAR, slot_view.FAR}
        for outline in view.outlines.values():
            assert (np.abs(outline) <= half + slack).all()
        for touch in slot_view.drawn(view.touches):
            axis = 1 if touch.wall in ("upper wall", "lower wall") else 0
            side = 1.0 if touch.wall in ("upper wall", "outer wall") else -1.0
            assert side * touch.place[axis] == pytest.approx(half[axis], abs=slack)


@pytest.mark.parametrize("name", SLOTTED)
def test_contact_forces_are_all_there(name: str) -> None:
    for view in slot_view.slot_views(solved(name)):
        told = sum(contact.normal_force_n for contact in view.attachment.contacts)
        assert sum(touch.force_n for touch in view.touches) == pytest.approx(told, rel=1e-9, abs=1e-12)


def test_a_rolled_wire_is_drawn_as_high_as_its_slot() -> None:
    # Sharp h x w rolled by g is h cos g + w sin g high (plane geometry): in contact this is the slot's height.
    for view in slot_view.slot_views(solved("torque-through-play")):
        outline = view.outlines[slot_view.CENTRE]
        assert np.ptp(outline[:, 1]) == pytest.approx(0.022 * 25.4, abs=1e-5)
        g = np.radians(abs(view.third.engagement_deg))
        assert np.ptp(outline[:, 1]) == pytest.approx(
            25.4 * (0.019 * np.cos(g) + 0.025 * np.sin(g)), abs=1e-5
        )
        # The longer side leans the way the angle says: a positive turn about x takes z (right) to -y (down).
        sides = np.roll(outline, -1, axis=0) - outline
        longest = sides[np.argmax(np.linalg.norm(sides, axis=1))]
        lean = np.degrees(np.arctan(longest[1] / longest[0]))
        assert lean == pytest.approx(-view.third.engagement_deg, abs=1e-3)


def test_a_tilted_wire_is_cut_obliquely() -> None:
    # The cut of a prism tilted by t has the area of its section over cos t (solid geometry).
    result = solved("molar-uprighting")
    (view,) = slot_view.slot_views(result)
    outline = view.outlines[slot_view.CENTRE]
    z, y = outline.T
    area = 0.5 * abs(np.sum(z * np.roll(y, -1) - y * np.roll(z, -1)))
    tilt = np.radians(result.attachment("molar tube").orders["second"].engagement_deg)
    assert area == pytest.approx(result.wire.section.area / np.cos(tilt), rel=2e-4)
    # Near mouth low, far mouth high: the free end is pulled up.
    assert view.outlines[slot_view.NEAR][:, 1].mean() < view.outlines[slot_view.FAR][:, 1].mean()


def test_the_slot_table_holds_the_numbers_of_the_result() -> None:
    result = solved("torque-through-play")
    table = slot_view.slot_table(slot_view.slot_views(result))
    assert {"z_mm", "y_mm", "angle_deg", "moment_nmm", "normal_force_n"} < set(table.columns)
    for item in result.attachments:
        third = item.orders["third"]
        (torque,) = rows(table, slot=item.name, item="torque on the tooth about the slot's x")
        assert torque["moment_nmm"] == third.moment_nmm
        for what, value in (
            ("angle of activation", third.activation_deg),
            ("angle of engagement", third.engagement_deg),
            ("play alone (one-sided; empty: turns freely)", third.play_deg),
            ("play left (empty: turns freely)", third.play_left_deg),
        ):
            (row,) = rows(table, slot=item.name, item=what)
            assert row["angle_deg"] == value


def test_a_slot_card_says_angles_play_and_torque_with_units() -> None:
    words = " ".join(texts(sheets(solved("torque-through-play"))["slots"]))
    for said in (
        "angle of activation 20.0°",
        "angle of engagement 7.24°",
        "play alone ±7.24° (14.5° in all)",
        "play left as engaged 0°",
        "17.0 N mm (1730 gf mm)",
        "29.9 N",
        "slot 0.022 x 0.028 in",
        "(0.559 x 0.711 mm)",
        "3.00 mm wide",
        "0.5 mm",
    ):
        assert said in words


def test_a_free_or_passive_wire_is_described_in_words() -> None:
    round_wire = " ".join(texts(sheets(solved("torque-round-wire"))["slots"]))
    assert "turns freely" in round_wire and "touches no wall: passive in its play" in round_wire
    assert "N mm" not in round_wire
    assert "third order: passive, no couple" in " ".join(texts(sheets(solved("v-bend"))["slots"]))


def test_the_torque_arrow_turns_the_way_the_moment_does() -> None:
    # Looking along +x with z to the right and y up, a positive moment about x (y to z) is clockwise.
    result = solved("torque-through-play")
    arcs = [line for line in sheets(result)["slots"].figure.findobj(Line2D) if line.get_gid() == "moment"]
    assert len(arcs) == 2
    for line, item in zip(arcs, result.attachments, strict=True):
        points = np.asarray(line.get_xydata())
        turn = points[0, 0] * points[1, 1] - points[0, 1] * points[1, 0]
        assert np.sign(turn) == -np.sign(item.orders["third"].moment_nmm)


def test_contacts_are_marked_once_each() -> None:
    drawn = sheets(solved("v-bend"))["slots"]
    marks = [line for line in drawn.figure.findobj(Line2D) if str(line.get_gid()).startswith("contact")]
    views = slot_view.slot_views(solved("v-bend"))
    expected = [touch.place for view in views for touch in slot_view.drawn(view.touches)]
    np.testing.assert_allclose([np.asarray(m.get_xydata())[0] for m in marks], expected)
    assert len(marks) == 6


def test_what_the_tilts_leave_of_the_play_is_drawn_to_either_side() -> None:
    result = solved("molar-uprighting")
    (wedge,) = [p for p in sheets(result)["slots"].figure.findobj(Wedge) if p.get_gid() == "play left"]
    third = result.attachment("molar tube").orders["third"]
    assert third.play_left_deg is not None
    reach = abs(third.engagement_deg) + third.play_left_deg
    assert (wedge.theta1, wedge.theta2) == pytest.approx((-reach, reach))
    assert third.play_deg is not None and reach < third.play_deg


def test_a_moment_that_is_no_couple_has_a_broken_arrow() -> None:
    result = solved("torque-through-play")
    item = result.attachments[0]
    alone = replace(item.orders["third"], carries_couple=False)
    single = replace(item, orders={**item.orders, "third": alone})
    drawn = sheets(replace(result, attachments=(single, result.attachments[1])))["slots"]
    broken, whole = [line for line in drawn.figure.findobj(Line2D) if line.get_gid() == "moment"]
    assert broken.get_linestyle() == "--" and whole.get_linestyle() == "-"
    assert "moment, but no couple" in texts(drawn)


def test_a_torque_that_is_small_beside_the_other_moments_has_no_arrow() -> None:
    drawn = sheets(solved("closing-loop"))["slots"]
    assert not [line for line in drawn.figure.findobj(Line2D) if line.get_gid() == "moment"]
    assert labels.degrees_text(-7.2421) == "\N{MINUS SIGN}7.24°" and labels.degrees_text(-0.004) == "0°"


def test_sizes_are_told_in_inches_and_millimetres() -> None:
    # NIST Special Publication 811, appendix B.8: 1 in = 25.4 mm.
    assert labels.section_text(Rectangle(0.4826, 0.635)) == "0.019 x 0.025 in (0.483 x 0.635 mm), sharp edges"
    assert labels.section_text(Round(0.4)) == "round 0.0157 in (0.400 mm)"


# Shared -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ALL)
def test_every_figure_carries_title_caution_and_no_banner(name: str) -> None:
    result = solved(name)
    for drawn in sheets(result).values():
        words = " ".join(texts(drawn))
        assert CAUTION in words
        assert " ".join(result.title.split()) in words
        assert "do not use" not in words


@pytest.mark.parametrize("status", ["unstable", "too_many_iterations", "not_finite"])
def test_a_banner_goes_across_every_figure_of_a_bad_result(status: str, tmp_path: Path) -> None:
    result = replace(solved("v-bend"), status=status)
    for name, drawn in sheets(result).items():
        assert any(
            status.replace("_", " ") in text and "do not use these figures" in text for text in texts(drawn)
        )
        path = sheet.save(drawn, result, tmp_path / f"{name}.png")
        with Image.open(path) as image:
            pixels = np.asarray(image.convert("RGB"), dtype=float)
        # Dark red from edge to edge: the left and right margins are white on a sound sheet.
        dark = (pixels[:, [2, -3], 0] > 100.0) & (pixels[:, [2, -3], 1] < 90.0)
        assert 40 < dark.all(axis=1).sum() < 200


@pytest.mark.parametrize("count", [5, 14])
def test_many_slots_are_spread_over_sheets(count: int) -> None:
    result = show_results.row_of_brackets(count)
    writers = pictures.figure_writers(result)
    pages = sorted(name for name in writers if name.startswith("slots") and name.endswith(".png"))
    assert pages == [f"slots-{i + 1}.png" for i in range(-(-count // 4))]


@pytest.mark.parametrize("name", sorted(show_results.EVERY))
def test_no_text_leaves_the_sheet(name: str) -> None:
    for drawn in sheets(show_results.EVERY[name]()).values():
        renderer = drawn.figure.canvas.get_renderer()  # type: ignore[attr-defined]
        width, height = drawn.figure.get_size_inches() * drawn.figure.dpi
        drawn.figure.canvas.draw()
        for text in drawn.figure.findobj(Text):
            if text.get_text() and text.get_visible():
                box = text.get_window_extent(renderer)
                assert box.x0 >= 0.0 and box.y0 >= 0.0 and box.x1 <= width and box.y1 <= height, (
                    text.get_text()
                )


def test_svg_keeps_text_as_text(tmp_path: Path) -> None:
    result = solved("torque-through-play")
    for name, drawn in sheets(result).items():
        source = sheet.save(drawn, result, tmp_path / f"{name}.svg").read_text(encoding="utf-8")
        assert source.count("<text") > 10
        assert "17.0 N mm (1730 gf mm)" in source or name == "activation"
        assert "not a treatment plan" in source


def test_a_dollar_sign_in_a_name_is_no_formula(tmp_path: Path) -> None:
    result = replace(solved("torque-through-play"), title="costs 5$ or 7$_2 (invented)")
    drawn = sheets(result)["views"]
    sheet.save(drawn, result, tmp_path / "views.png")
    assert "costs 5$ or 7$_2 (invented)" in texts(drawn)


def test_a_unit_is_not_parted_from_its_number() -> None:
    lines = sheet.wrapped("a torque of 17.0 N mm (1730 gf mm), from opposed contacts", 9.0, 0.9)
    assert "17.0 N mm" in " | ".join(lines) and not any(line.startswith(("N", "mm", "gf")) for line in lines)


@pytest.mark.parametrize("name", ["torque-round-wire", "v-bend"])
def test_a_result_without_loads_says_so_in_a_sentence(name: str) -> None:
    said = "Passive in its play: the wire floats in its slots and gives no force and no couple."
    for drawn in sheets(solved(name)).values():
        assert (said in " ".join(texts(drawn))) is (solved(name).status == "passive")
        assert ("free of stress" in " ".join(texts(drawn))) is (solved(name).status == "passive")


def test_pictures_are_known_by_name_without_loading_anything(tmp_path: Path) -> None:
    writers = pictures.picture_writers(show_results.row_of_brackets(9))
    assert all(names.is_picture(name) for name in writers)
    others = ("result.json", "path.csv", "wire.csv", "wire.vtu", "slots-x.png", "my-views.png", "views.txt")
    assert not any(names.is_picture(name) for name in others)
    for name in ("slots-3.svg", "notes.txt", "views.png"):
        (tmp_path / name).write_text("old", encoding="utf-8")
    assert left_by_others(tmp_path, {"views.png"}, names.is_picture) == ["slots-3.svg"]
    assert left_by_others(tmp_path / "nowhere", (), names.is_picture) == []
    program = "import sys; from cases.show import names; print(*{'numpy', 'matplotlib', 'pyvista'} & set(sys.modules))"
    found = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert found.stdout.strip() == ""


def test_chosen_pictures_get_the_names_asked_for(tmp_path: Path) -> None:
    result = solved("torque-through-play")
    written = pictures.draw_chosen(result, tmp_path, {"slots.png": "torque-slots.png"})
    assert [path.name for path in written] == ["torque-slots.png"] == [p.name for p in tmp_path.iterdir()]
    with pytest.raises(KeyError, match=r"slots\.png"):
        pictures.draw_chosen(result, tmp_path, {"slot.png": "a.png"})


def test_tables_refuse_what_is_not_a_number(tmp_path: Path) -> None:
    with pytest.raises(NotFiniteError, match="force_n"):
        tables.Table(("name", "force_n"), (("a", float("nan")),)).write(tmp_path / "t.csv")


def test_all_pictures_and_their_numbers_lie_side_by_side(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    result = solved("torque-through-play")
    folder.mkdir()
    for old in ("slots-2.png", "views.csv", "notes.txt"):
        (folder / old).write_text("old", encoding="utf-8")
    written = pictures.draw_all(result, folder, closed_form.closed_forms(case("torque-through-play")))
    expected = {
        f"{stem}.{suffix}" for stem in ("slots", "views", "activation") for suffix in ("png", "svg", "csv")
    }
    assert {path.name for path in written} == expected | {"wire.png", "wire-loads.csv"}
    # A page that this run does not have is gone, a file of somebody else is not.
    assert {path.name for path in folder.iterdir()} == expected | {"wire.png", "wire-loads.csv", "notes.txt"}
    with (folder / "wire-loads.csv").open(encoding="utf-8") as file:
        told = list(csv.DictReader(file))
    assert [float(row["moment_x_nmm"]) for row in told] == [item.moment_nmm[0] for item in result.attachments]


def test_without_a_renderer_the_line_figures_are_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cases.show.scene.window_class", lambda: None)
    with pytest.raises(PictureError):
        pictures.draw_all(solved("v-bend"), tmp_path)
    assert (tmp_path / "views.svg").is_file() and not (tmp_path / "wire.png").exists()


def test_line_figures_need_no_display_no_renderer_and_no_global_state(tmp_path: Path) -> None:
    program = (
        "import sys, matplotlib\n"
        "settings = ('svg.fonttype', 'font.size', 'text.parse_math', 'svg.hashsalt')\n"
        "before = [matplotlib.rcParams[name] for name in settings]\n"
        "from tests import show_results\n"
        "from cases.show import pictures\n"
        "from pathlib import Path\n"
        "writers = pictures.figure_writers(show_results.v_bend())\n"
        "writers['views.png'](Path(sys.argv[1]) / 'views.png')\n"
        "assert [matplotlib.rcParams[name] for name in settings] == before\n"
        "print(*sorted({'pyvista', 'matplotlib.pyplot', 'tkinter'} & set(sys.modules)))\n"
    )
    surroundings = {
        k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "MPLBACKEND")
    }
    found = subprocess.run(
        [sys.executable, "-c", program, str(tmp_path)], capture_output=True, text=True, check=False, cwd=ROOT,
        env=surroundings,
    )  # fmt: skip
    assert found.returncode == 0, found.stderr
    assert found.stdout.strip() == ""
