"""What is laid over a computed curve: known points with the difference written, bands of tolerance, what is refused.

Verification and validation are told apart as ASME V&V 10-2006 does (from memory).
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure

from cases.cli import main
from cases.play_options import OptionsError
from cases.report.band_file import BandError, band_note, read_band
from cases.report.choice import NotThere, Question, choose
from cases.report.figure import FigureError, draw_figure
from cases.report.points_file import NO_SOURCE, read_points
from cases.show import expression
from cases.show.agreement import Known, brief, difference, sentence
from cases.show.closed_form import closed_forms
from cases.show.plots import Band
from cases.show.walls_figure import UM_PER_MM, opened, openings, walls_table
from cases.studies.compare import moment_to_force
from tests import figure_cases, shipped
from tests.figure_cases import BACK, SOFT

TORQUE, BENCH, MOLAR = "torque-through-play", "torque-test", "molar-uprighting"


def _known(at: tuple[float, ...], values: tuple[float, ...], **more: object) -> Known:
    return replace(Known("measurement", "rig.csv", "invented", at, values), **more)  # type: ignore[arg-type]


def _texts(figure: Figure) -> str:
    legends = [text.get_text() for legend in figure.legends for text in legend.get_texts()]
    return " ".join([*(text.get_text() for text in figure.texts), *legends])


# ---------------------------------------------------------------------------------------------- how far apart


def test_a_difference_is_read_off_the_straight_lines_between_computed_points() -> None:
    found = difference(
        _known((1.0, 3.0), (2.0, 7.0), plus_minus=(0.5, 1.0)), (0.0, 2.0, 4.0), (0.0, 2.0, 8.0)
    )
    # computed 1 at 1 and 5 at 3: off by 1 and by 2
    assert found is not None and found.compared == 2 and found.beside == 0
    assert (found.largest, found.where) == (pytest.approx(2.0), 3.0)
    assert found.rms == pytest.approx(np.sqrt(2.5))
    assert found.percent == pytest.approx(100.0 * 2.0 / 7.0)
    assert found.within == 0


def test_the_way_back_is_held_against_the_way_back() -> None:
    at, values = (0.0, 10.0, 5.0, 0.0), (0.0, 10.0, 3.0, 0.0)
    measured = _known((5.0, 10.0, 5.0), (5.0, 10.0, 4.0))
    found = difference(measured, at, values)
    assert found is not None and found.compared == 3
    assert (found.largest, found.where) == (pytest.approx(1.0), 5.0)
    one_way = difference(measured, (0.0, 10.0), (0.0, 10.0))
    assert one_way is not None and one_way.compared == 2 and one_way.beside == 1


def test_points_beside_the_curve_are_counted_not_compared() -> None:
    found = difference(_known((-1.0, 0.5, 2.0), (9.0, 0.5, 9.0)), (0.0, 1.0), (0.0, 1.0))
    assert found is not None and (found.compared, found.beside, found.largest) == (1, 2, pytest.approx(0.0))
    assert difference(_known((5.0,), (1.0,)), (0.0, 1.0), (0.0, 1.0)) is None


def test_theory_verifies_and_measurement_validates() -> None:
    measured = _known((0.5,), (1.0,), plus_minus=(0.6,))
    theory = replace(measured, kind="theory", plus_minus=None)
    at, values = (0.0, 1.0), (0.0, 1.0)
    said = sentence(measured, difference(measured, at, values), "N mm", "deg")
    assert said.startswith(
        "Validation (against measurement), rig.csv: largest difference 0.500 N mm (50.0 % of"
    )
    assert "at 0.500 deg" in said and "1 of them within their own uncertainty" in said
    said = sentence(theory, difference(theory, at, values), "N mm", "deg")
    assert said.startswith("Verification (against theory)") and "uncertainty" not in said
    assert brief(theory, difference(theory, at, values), "N mm") == "off by 0.500 N mm at most (verification)"
    same = _known((0.5,), (0.5,))
    assert "no difference of 0.0001 N mm or more" in sentence(
        same, difference(same, at, values), "N mm", "deg"
    )
    assert "nothing is compared" in sentence(same, None, "N mm", "deg")


# ---------------------------------------------------------------------------------------------- files of points


def test_a_file_of_points_is_read_with_its_units_source_and_uncertainty(tmp_path: Path) -> None:
    path = tmp_path / "rig.csv"
    path.write_text(
        "# source: invented\nangle_rad,moment_cNmm,plus_minus_Nmm\n0.1,200,0.5\n0.2,400,1\n", encoding="utf-8"
    )
    read = read_points(path, "measurement", "angle", "moment")
    assert read.at == pytest.approx(np.degrees([0.1, 0.2])) and read.values == pytest.approx((2.0, 4.0))
    assert read.plus_minus == (0.5, 1.0) and (read.label, read.source) == ("rig.csv", "invented")
    path.write_text("activation_percent,force_gf\n50,100\n", encoding="utf-8")
    read = read_points(path, "theory", "activation_percent", "force")
    assert read.at == (50.0,) and read.values == pytest.approx((0.980665,))  # 100 gf, CGPM 1901
    assert read.plus_minus is None and read.source == NO_SOURCE


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("angle_deg,moment_Nmm\n1,\n", "row 2, column moment_Nmm: the cell is empty"),
        ("angle_deg,moment_Nmm\n1,x\n", 'row 2, column moment_Nmm: expected a number, got "x"'),
        ("angle_deg\n1\n", "no column for the moment"),
        ("angle,moment_Nmm\n1,2\n", 'column "angle" has no unit'),
        ("angle_deg,force_N\n1,2\n", "force_N"),
        ("angle_deg,moment_Nmm,plus_minus_Nmm\n1,2,-1\n", "an uncertainty below zero"),
        ("", "is empty"),
    ],
)
def test_a_bad_file_is_told_with_row_and_column(text: str, said: str, tmp_path: Path) -> None:
    path = tmp_path / "rig.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(OptionsError, match=re.escape(said)):
        read_points(path, "measurement", "angle", "moment")


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(OptionsError, match=r"--theory.*cannot be read"):
        read_points(tmp_path / "none.csv", "theory", "angle", "moment")


# ---------------------------------------------------------------------------------------------- in the figures


@pytest.mark.parametrize("style", ["slide", "paper"])
def test_the_difference_from_a_closed_form_is_written_in_the_figure(style: str) -> None:
    case, result = shipped.case(TORQUE), shipped.solved(TORQUE)
    off = replace(
        result,
        increments=tuple(
            replace(
                one,
                attachments=tuple(
                    replace(a, orders_moment_nmm=(*a.orders_moment_nmm[:2], 1.01 * a.orders_moment_nmm[2]))
                    for a in one.attachments
                ),
            )
            for one in result.increments
        ),
    )
    most = max(abs(a.orders_moment_nmm[2]) for a in result.increments[-1].attachments)
    for what in ("third", "torque"):
        drawn = draw_figure(case, off, what, style, closed_forms(case))
        told = _texts(drawn.figure)
        assert re.search("verification" if style == "slide" else r"Verification \(against theory\)", told)
        assert f"{0.01 * most:.3f}"[:4] in told and "alidation" not in told


def test_measured_points_are_drawn_where_they_are_and_their_difference_is_written() -> None:
    case, result = shipped.case(TORQUE), shipped.solved(TORQUE)
    known = (_known((10.0, 20.0), (0.0, 15.0), plus_minus=(1.0, 1.0)),)
    drawn = draw_figure(case, result, "torque", "paper", closed_forms(case), None, known)
    (axes,) = drawn.figure.axes
    crosses = next(line for line in axes.lines if line.get_gid() == "measurement")
    assert np.asarray(crosses.get_xydata()).tolist() == [[10.0, 0.0], [20.0, 15.0]]
    torque = abs(result.attachments[1].orders["third"].moment_nmm)
    assert f"largest difference {torque - 15.0:.2f} N mm" in _texts(drawn.figure).replace("\n", " ")
    assert "rig.csv: invented." in _texts(drawn.figure)
    assert ["measurement: rig.csv (invented)" in str(row[1]) for row in drawn.table.rows].count(True) == 2


def test_whose_points_they_are_must_be_said_where_it_is_open() -> None:
    case, result = shipped.case(TORQUE), shipped.solved(TORQUE)
    known = (_known((50.0, 100.0), (0.0, 17.0)),)
    with pytest.raises(FigureError, match="say which with --attachment"):
        draw_figure(case, result, "third", "paper", (), None, known)
    lateral = result.attachments[1].name
    chosen = choose(case, result, "third", Question(attachment=lateral, known=known))
    assert chosen.notes[0].startswith("Validation") and lateral in chosen.notes[0]
    # of a molar and a button only one has a moment
    single = choose(shipped.case(MOLAR), shipped.solved(MOLAR), "second", Question(known=known))
    assert "molar tube" in single.notes[0]


def test_a_measured_curve_of_the_case_is_compared_on_its_bench_figure() -> None:
    case, result = shipped.case(BENCH), shipped.solved(BENCH)
    chosen = choose(case, result, "bench", Question())
    assert result.bench is not None
    loads = {round(one.travel): one.load for one in result.bench.readings if one.stage == "bench, out"}
    # where rig and program have the same travel, the difference can be taken by hand
    same = [
        abs(loads[round(travel)] - load)
        for travel, load in zip(
            result.bench.measured_travel[:11], result.bench.measured_load[:11], strict=True
        )
        if round(travel) in loads
    ]
    found = re.search(r"largest difference ([0-9.]+) N mm", chosen.notes[0])
    assert found is not None and float(found[1]) >= max(same) - 0.005
    assert chosen.notes[0].startswith("Validation (against measurement), torque-test-measured.csv")


@pytest.mark.parametrize(
    ("what", "question", "said"),
    [
        ("facial", Question(known=(_known((1.0,), (1.0,)),)), "--measured and --theory go with"),
        (
            "third",
            Question(band=Band("b", (0.0, 1.0), (0.0, 0.0), (0.0, 0.0), (0.0, 0.0))),
            "--study goes with",
        ),
        ("torque", Question(attachment="nobody"), 'no attachment "nobody"'),
    ],
)
def test_what_does_not_go_together_is_refused(what: str, question: Question, said: str) -> None:
    with pytest.raises(NotThere, match=re.escape(said)):
        choose(shipped.case(TORQUE), shipped.solved(TORQUE), what, question)


# ---------------------------------------------------------------------------------------------- curves and walls


def test_torque_expression_begins_where_both_plays_end() -> None:
    case, result = shipped.case(TORQUE), shipped.solved(TORQUE)
    plot = expression.torque_plot(result, closed_forms(case), 1)
    line = plot.lines[0]
    assert line.x[-1] == pytest.approx(20.0) and line.x[0] == 0.0  # the case's inclination
    assert line.y[-1] == result.attachments[1].orders["third"].moment_nmm
    # 2 x 7.242 deg: 0.019 x 0.025 in in 0.022 in, h cos g + d sin g = H
    assert plot.stretch is not None and plot.stretch.end == pytest.approx(14.485, abs=0.005)
    within = [abs(y) for x, y in zip(line.x, line.y, strict=True) if x < plot.stretch.end]
    assert (
        max(within) < 1e-6 < min(abs(y) for x, y in zip(line.x, line.y, strict=True) if x > plot.stretch.end)
    )
    none = expression.torque_plot(result, (), 1).stretch
    assert (
        none is not None and none.end == pytest.approx(14.0) and "at least" in none.label
    )  # the last increment


def test_a_way_back_is_drawn_on_the_same_axis() -> None:
    case, result = figure_cases.case(BACK), figure_cases.run(BACK).result
    force, moment = expression.back_plots(result, case, 0)
    out, back = force.lines
    assert out.x[0] == 0.0 and out.x[-1] == 100.0 == back.x[0] and back.x[-1] == pytest.approx(25.0)
    assert back.y[0] == out.y[-1] and back.y[-1] == np.linalg.norm(result.attachments[0].force_n)
    # without friction the answer depends on where the attachments stand, not on how they came there
    at_half = np.interp(50.0, out.x, out.y), np.interp(50.0, back.x[::-1], back.y[::-1])
    assert at_half[1] == pytest.approx(at_half[0], rel=0.02)
    assert (
        "second order" in moment.title and force.y_label.endswith("(N)") and moment.y_label.endswith("(N mm)")
    )


def test_a_ratio_is_a_moment_over_a_force() -> None:
    result = shipped.solved("v-bend")
    plot = expression.ratio_plot(result, (0, 1))
    for index, line in enumerate(plot.lines):
        item = result.attachments[index]
        assert line.y[-1] == pytest.approx(moment_to_force(item)) and line.x[-1] == 100.0
        own = item.pose.axes.T @ np.array(item.force_n)
        assert line.y[-1] == pytest.approx(abs(item.orders["second"].moment_nmm) / np.hypot(own[0], own[1]))
    # a twisted wire pushes along its slots (T^2/2GJ): no force in the plane of its torque, and so no ratio
    assert not any(expression.has_ratio(shipped.solved(TORQUE), k) for k in (0, 1))
    assert not expression.has_ratio(shipped.solved(MOLAR), 1)  # a button has no couple


def test_walls_open_by_force_over_modulus() -> None:
    result = figure_cases.run(SOFT).result
    items = opened(result)
    assert [item.name for item in items] == [item.name for item in result.attachments]
    assert opened(shipped.solved(TORQUE)) == ()
    for item in items:
        found = openings(item)
        assert {one.wall for one in found} == {"upper wall", "lower wall"}
        gives = [contact.give_mm for contact in item.contacts]
        assert max(one.give_mm for one in found) == max(gives)
        assert sum(one.normal_force_n for one in found) == pytest.approx(
            sum(contact.normal_force_n for contact in item.contacts if contact.give_mm > 0.0)
        )
        # both ends bear alike, and the inner mouth, where the torque comes in, opens most
        inner = max(found, key=lambda one: one.give_mm)
        assert abs(inner.offset_mm) > 0.4 * 3.0
    drawn = draw_figure(figure_cases.case(SOFT), result, "walls", "paper")
    for axes, item in zip(drawn.figure.axes, items, strict=True):
        for wall, way in (("upper wall", 1.0), ("lower wall", -1.0)):
            line = next(one for one in axes.lines if one.get_gid() == wall)
            wanted = [
                (one.offset_mm, way * UM_PER_MM * one.give_mm) for one in openings(item) if one.wall == wall
            ]
            assert np.asarray(line.get_xydata()) == pytest.approx(np.array(wanted))
    assert len(walls_table(items).rows) == sum(len(openings(item)) for item in items)
    scales = {axes.get_ylim() for axes in drawn.figure.axes}
    assert len(scales) == 1  # small multiples compare


# ---------------------------------------------------------------------------------------------- bands


def _study(folder: Path, grid: dict[str, str] | None = None) -> None:
    case = shipped.case(TORQUE)
    column = "moment_lateral_incisor_bracket_third_nmm"
    points = [
        {
            "grid": {"inclination": f"{angle} deg"} if grid is None else grid,
            "rows": [10 * k + 1, 10 * k + 10],
            "outputs": {
                column: {"percentile_5": 0.1 * k, "percentile_50": 1.0 * k, "percentile_95": 2.0 * k}
            },
        }
        for k, angle in enumerate((10.0, 20.0, 30.0))
    ]
    summary = {"title": "invented", "points": points, "rows": 30, "statuses": {"engaged": 28, "does not fit": 2},
               "counted_statuses": ["engaged"]}  # fmt: skip
    manifest = {"case_file": {"name": case.path.name, "sha256": case.sha256}}
    folder.mkdir(exist_ok=True)
    (folder / "summary.json").write_text(json.dumps(summary), encoding="utf-8")
    (folder / "study.json").write_text(json.dumps(manifest), encoding="utf-8")


def test_a_band_is_what_the_study_found(tmp_path: Path) -> None:
    _study(tmp_path)
    case = shipped.case(TORQUE)
    name = case.attachments[1].name
    band = read_band(tmp_path, case, name)
    assert (band.x, band.low, band.middle, band.high) == ((10, 20, 30), (0, 0.1, 0.2), (0, 1, 2), (0, 2, 4))
    assert "10 appliances" in band.label and "2 of 30 rows do not count" in band_note(tmp_path)
    drawn = draw_figure(
        case, shipped.solved(TORQUE), "torque", "paper", (), None, (), band, (band_note(tmp_path),)
    )
    (axes,) = drawn.figure.axes
    median = next(line for line in axes.lines if line.get_gid() == "median")
    assert np.asarray(median.get_xydata()).tolist() == [[10.0, 0.0], [20.0, 1.0], [30.0, 2.0]]
    assert any(one.get_gid() == "band" for one in axes.collections) and "inclination stands for" in _texts(
        drawn.figure
    )


def test_bands_that_do_not_belong_are_refused(tmp_path: Path) -> None:
    case = shipped.case(TORQUE)
    with pytest.raises(BandError, match="no study there"):
        read_band(tmp_path / "none", case, "lateral incisor bracket")
    _study(tmp_path / "a")
    with pytest.raises(BandError, match="not one of"):
        read_band(tmp_path / "a", shipped.case(BENCH), "bracket")
    with pytest.raises(BandError, match="no torque on nobody"):
        read_band(tmp_path / "a", case, "nobody")
    _study(tmp_path / "b", {"width": "3 mm"})
    with pytest.raises(BandError, match="does not run over one angle"):
        read_band(tmp_path / "b", case, "lateral incisor bracket")
    (tmp_path / "a" / "summary.json").write_text("{}", encoding="utf-8")
    with pytest.raises(BandError, match="not as this version writes it"):
        read_band(tmp_path / "a", case, "lateral incisor bracket")


def test_the_command_reads_points_before_it_solves(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "rig.csv"
    path.write_text("angle_deg,moment_Nmm\n1,x\n", encoding="utf-8")
    case = str(shipped.case(TORQUE).path)
    ask = [
        "figure",
        case,
        "--what",
        "torque",
        "--style",
        "paper",
        "--measured",
        str(path),
        "--out",
        str(tmp_path / "o"),
    ]
    assert main(ask) == 2
    assert "rig.csv row 2" in capsys.readouterr().err and not (tmp_path / "o").exists()


def test_what_does_not_go_together_is_told_before_anything_is_read(
    capsys: pytest.CaptureFixture[str],
) -> None:
    case = str(shipped.case(TORQUE).path)
    assert main(["figure", case, "--what", "facial", "--style", "paper", "--measured", "none.csv"]) == 2
    assert "--measured and --theory go with --what force" in capsys.readouterr().err
    assert main(["figure", case, "--what", "third", "--style", "paper", "--study", "none"]) == 2
    assert "--study goes with --what torque" in capsys.readouterr().err


def test_published_points_stand_beside_the_curve_and_verify_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The step of 0.35 mm over 7 mm, Burstone & Koenig, Am J Orthod Dentofacial Orthop 93 (1988) 59: 1210 gf mm at both
    ends; the program's own is 0.7 % below by shear (12 EI/(kGA L^2)) and as much as the table's last digit says."""
    points = tmp_path / "step.csv"
    points.write_text(
        "# source: Burstone & Koenig, Am J Orthod Dentofacial Orthop 93 (1988) 59\n"
        "activation_percent,moment_gfmm\n0,0\n100,1210\n",
        encoding="utf-8",
    )
    case, out = shipped.case("step-bend-clamped"), tmp_path / "out"
    known = (read_points(points, "theory", "activation_percent", "moment"),)
    result = shipped.solved("step-bend-clamped")
    chosen = choose(case, result, "second", Question(closed_forms(case), "first clamp", known))
    said = next(note for note in chosen.notes if "step.csv" in note)
    found = re.search(r"largest difference .* \(([0-9.]+) % of the largest\), at 100 %", said)
    assert said.startswith("Verification (against theory)") and found is not None and float(found[1]) < 1.0
    ask = ["figure", str(case.path), "--what", "second", "--style", "slide", "--theory", str(points)]
    assert main([*ask, "--attachment", "first clamp", "--out", str(out)]) == 0
    table = (out / "figure-second-slide.csv").read_text(encoding="utf-8")
    assert "theory: step.csv" in table and f"{1210 * 9.80665e-3:.4f}"[:6] in table
    assert "verification" in (out / "figure-second-slide.svg").read_text(encoding="utf-8")
    assert "Burstone & Koenig" in " ".join(capsys.readouterr().out.split())
