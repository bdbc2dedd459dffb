"""Factor studies: the formula in the limit of small deflections, facts of the trade, the table, the command.

Monotone facts are common practice, no source, each under the condition that its test names.
"""

from __future__ import annotations

import csv
import math
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import fsolve, minimize_scalar

from cases.cli import main
from cases.results import RunResult
from cases.run import run_case
from cases.schema import Case
from cases.studies import run_study as runs
from cases.studies.appliances import Appliance, OneCouple, VBend
from cases.studies.factors import STUDIES
from cases.studies.own_case import CHANGES, run_own
from cases.studies.report import columns_and_rows
from cases.studies.run_study import Row, read_loads, run_study
from cases.studies.small_deflection import Loads
from fem.status import NoEquilibrium, Status
from geometry.attachments import Attachment
from geometry.section import Rectangle
from tests.shipped import case, solved
from tests.studied import line, study

LIBRARY = Path(__file__).resolve().parents[2] / "cases" / "library"
Capture = pytest.CaptureFixture[str]


def appliance(name: str, series: int, words: str) -> Appliance:
    """An appliance of a study."""
    build = list(STUDIES[name].series.values())[series]
    return build(STUDIES[name].read(words))


def loads(one: Appliance) -> list[Loads]:
    result = run_case(one.case())
    return [read_loads(result, watch) for watch in one.watches]


def forces(rows: tuple[Row, ...]) -> list[float]:
    return [row.loads.force_n or 0.0 for row in rows if row.loads is not None]


def couples(rows: tuple[Row, ...]) -> list[float]:
    return [row.loads.couple_nmm for row in rows if row.loads is not None]


def grows(values: list[float]) -> bool:
    return all(one < other for one, other in zip(values, values[1:], strict=False))


# The formula -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "series", "words"),
    [
        ("bracket-width", 0, "2 mm"),
        ("bracket-width", 1, "5 mm"),
        ("distance", 0, "10 mm"),
        ("distance", 1, "24 mm"),
        ("alloy", 0, "stainless-steel"),
        ("wire-size", 0, "0.016 in"),
        ("wire-size", 0, "0.019 x 0.025 in"),
        ("wire-shape", 0, "ribbonwise"),
        ("activation", 0, "20 deg"),
        ("activation", 1, "20 deg"),
    ],
)
def test_small_deflection_of_one_couple(name: str, series: int, words: str) -> None:
    """Beam on two supports with an overhang, Gere & Timoshenko, Mechanics of Materials (from memory); play taken off.

    The wire is bent by a twentieth of what takes up its play, so that it touches at both mouths only.
    """
    one = appliance(name, series, words)
    assert isinstance(one, OneCouple)
    used = (one.slot.height - one.section.height) * one.distance / one.slot.width
    small = one.eased(1.05 * used / one.activation)
    (ours,), (formula,) = loads(small), small.expected()
    assert formula.force_n is not None and formula.force_n > 0.0
    # what the tilted wire is higher, and what it is shortened, are small beside the deflection, not beside a twentieth
    # of it: so the change from there on is compared
    more = small.eased(1.1)
    (ours_more,), (formula_more,) = loads(more), more.expected()
    assert ours.force_n is not None and ours_more.force_n is not None and formula_more.force_n is not None
    assert ours_more.force_n - ours.force_n == pytest.approx(formula_more.force_n - formula.force_n, rel=0.01)
    assert ours_more.couple_nmm - ours.couple_nmm == pytest.approx(
        formula_more.couple_nmm - formula.couple_nmm, rel=0.01
    )


@pytest.mark.parametrize("name", ["play", "edge-radius"])
def test_torque_is_that_of_a_straight_bar(name: str) -> None:
    """GJ/L (angle - play - play): torsion of a straight bar, Gere & Timoshenko (from memory); holds at any angle."""
    for row in line(name):
        assert row.loads is not None and row.expected is not None
        assert row.loads.couple_nmm == pytest.approx(row.expected.couple_nmm, rel=1e-4, abs=1e-6)
        assert row.loads.rate == pytest.approx(row.expected.rate, rel=1e-3, abs=1e-6)


@pytest.mark.parametrize("share", [0.2, 0.3, 0.4, 0.5])
def test_small_v_bend_between_built_in_ends(share: float) -> None:
    """Burstone & Koenig, Am J Orthod Dentofacial Orthop 93 (1988) 59; linear beam with a kink.  Half a degree.

    The formula leaves out shear, which lowers the force by 1 + 12EI/(kGA L^2) as in any sheared beam between built-in
    ends: 1.05 % here, with k of a rectangle after Cowper, J Appl Mech 33 (1966) 335.
    """
    one = appliance("bend-position", 0, f"{100.0 * share} %")
    assert isinstance(one, VBend)
    small = replace(one, angle=math.radians(0.5))
    largest = max(abs(formula.couple_nmm) for formula in small.expected())
    poisson, modulus = one.material.poisson, one.material.youngs_modulus_mpa
    shear = (
        modulus
        / (2.0 * (1.0 + poisson))
        * one.section.area
        * 10.0
        * (1.0 + poisson)
        / (12.0 + 11.0 * poisson)
    )
    sheared = 1.0 + 12.0 * modulus * one.section.second_moment_z / (shear * one.span**2)
    assert sheared == pytest.approx(1.0105, abs=1e-4)
    for ours, formula in zip(loads(small), small.expected(), strict=True):
        assert formula.force_n is not None
        assert ours.force_n == pytest.approx(formula.force_n / sheared, rel=2e-3, abs=1e-6)
        assert ours.couple_nmm == pytest.approx(formula.couple_nmm, abs=0.01 * largest)


@pytest.mark.parametrize(
    ("apex", "published"), [(0.7, 0.4), (1.4, 0.3), (2.3, 0.0), (2.8, -0.3), (3.5, -1.0)]
)
def test_published_ratios_of_v_bends(apex: float, published: float) -> None:
    """The same paper's table for a span of 7 mm: moment at the farther bracket over that at the nearer, one decimal."""
    small = replace(
        appliance("bend-position", 0, f"{100.0 * apex / 7.0} %"),  # type: ignore[type-var]
        angle=math.radians(0.5),
    )
    first, second = loads(small)
    assert second.couple_nmm / first.couple_nmm == pytest.approx(published, abs=0.0501)


def test_the_couple_of_a_v_bend_vanishes_at_a_third() -> None:
    """Ends built in, small angle: no couple at the farther end (the same paper); within 1 % of the nearer couple."""
    small = replace(appliance("bend-position", 0, "33.3333333 %"), angle=math.radians(0.5))  # type: ignore[type-var]
    first, second = loads(small)
    assert abs(second.couple_nmm) < 0.01 * first.couple_nmm
    left, right = (row.loads for row in line("bend-position", 0, 1)[2:5:2])
    assert left is not None and right is not None and left.couple_nmm > 0.0 > right.couple_nmm


# The activation --------------------------------------------------------------------------------------------------


def at_eyelet(share: float) -> tuple[float, float]:
    """Exact: angle of activation (deg) and couple D/EI of a wire built in at one end and drawn without friction through
    an eyelet D away, whose force therefore stands square to it.

    ``share`` (rad): the wire's turn from the eyelet to the built-in end.  With R the eyelet's force, EI k^2/2 =
    R sin(turn) along the wire, and ds = d(turn)/k: Love, A Treatise on the Mathematical Theory of Elasticity, art. 262.
    """
    root = quad(lambda t: math.sqrt(math.sin(t)), 0.0, share)[0]
    along, across = math.sqrt(2.0 * math.sin(share)), root / math.sqrt(2.0)  # of sqrt(EI/R)
    return math.degrees(share - math.atan2(across, along)), along * math.hypot(along, across)


def test_couple_at_an_eyelet_of_fixed_distance() -> None:
    """Its peak lies inside (0, 90) deg, at the exact place and size for a built-in wire.

    The wire lies on the eyelet's edge, half its height (1 % of the distance) beside it, and the eyelet has a width.
    """
    angles, turned = [row.place for row in line("activation", 1)], couples(line("activation", 1))
    peak = turned.index(max(turned))
    assert 0.0 < angles[0] and 0 < peak < len(turned) - 1 and angles[-1] == 90.0
    assert grows(turned[: peak + 1]) and grows(turned[peak:][::-1])
    best = minimize_scalar(lambda turn: -at_eyelet(turn)[1], bounds=(0.5, 3.0), method="bounded")
    angle, most = at_eyelet(float(best.x))
    assert 60.0 < angle < 75.0
    stiffness = clamped(1, angle)[1]
    found = {step: clamped(1, angle + step)[0].couple_nmm * 22.0 / stiffness for step in (-8.0, 0.0, 8.0)}
    assert found[0.0] == pytest.approx(most, rel=0.015)
    assert found[0.0] > max(found[-8.0], found[8.0])


def clamped(series: int, angle: float) -> tuple[Loads, float]:
    """Loads and EI with the tube replaced by a built-in end."""
    one = appliance("activation", series, f"{angle} deg")
    assert isinstance(one, OneCouple)
    made = one.case()
    tube = made.attachments[0]
    end = Attachment("tube", "clamp", tube.attachment.pose, tube.attachment.at, None, stop=True)
    built_in = replace(made, attachments=(replace(tube, attachment=end), made.attachments[1]))
    return read_loads(run_case(built_in), one.watches[0]), (
        one.material.youngs_modulus_mpa * one.section.second_moment_z
    )


@pytest.mark.parametrize("angle", [30.0, 60.0, 90.0])
def test_a_tied_end_is_an_elastica(angle: float) -> None:
    """Exact rod equations of a built-in end, EI dk/ds = -F cos(turn), Love, art. 262, by shooting; no shear, 0.03 %."""
    ours, stiffness = clamped(0, angle)
    length, turn = 22.0, math.radians(angle)

    def end(unknown: np.ndarray) -> tuple[float, float]:
        """Curvature and height of the tied end for a curvature at the built-in one and a force; both have to vanish."""
        rod = solve_ivp(
            lambda _, s: (s[1], -unknown[1] * math.cos(s[0]) / stiffness, math.cos(s[0]), math.sin(s[0])),
            (0.0, length), (-turn, unknown[0], 0.0, 0.0), rtol=1e-10, atol=1e-12,
        )  # fmt: skip
        return rod.y[1, -1], rod.y[3, -1]

    guess = 3.0 * stiffness * turn / length**2
    curvature, force = fsolve(end, (guess * length / stiffness, guess), xtol=1e-10)
    assert ours.force_n == pytest.approx(force, rel=1e-3)
    assert ours.couple_nmm == pytest.approx(stiffness * curvature, rel=1e-3)


def test_couple_of_a_tied_end_is_force_times_distance() -> None:
    """Statics: the tied end moves in and the couple's arm with it, at any angle."""
    for words in ("20 deg", "60 deg", "90 deg"):
        one = appliance("activation", 0, words)
        result = run_case(one.case())
        (ours,) = (read_loads(result, watch) for watch in one.watches)
        assert ours.force_n is not None
        arm = result.attachment("hook").moment_about_mm[0]
        assert ours.couple_nmm == pytest.approx(ours.force_n * arm, rel=1e-6)
    assert grows(forces(line("activation", 0))) and grows(couples(line("activation", 0)))


# Facts of the trade: common practice, no source -------------------------------------------------------------------


def test_a_wider_tube_gives_more_at_equal_centre_distance() -> None:
    """One couple, equal offset, with play: less tilt is left to the play, and the span is shorter."""
    assert grows(forces(line("bracket-width"))) and grows(couples(line("bracket-width")))


@pytest.mark.parametrize("series", [0, 1])
def test_a_longer_distance_gives_less(series: int) -> None:
    """At equal offset and at equal angle: force, couple and load-deflection rate fall; at equal angle more slowly."""
    rows = line("distance", series)
    rates = [row.loads.rate or 0.0 for row in rows if row.loads]
    for values in (forces(rows), couples(rows), rates):
        assert grows(values[::-1])
    offset, angle = (forces(line("distance", k)) for k in (0, 1))
    assert offset[0] / offset[-1] > angle[0] / angle[-1]


def test_alloys_stand_in_the_order_of_their_moduli() -> None:
    """Elastic wire of one size: loads are proportional to Young's modulus (Poisson's ratio only enters by shear)."""
    by_name = {row.label: row for row in line("alloy")}
    order = ["martensitic-nickel-titanium", "beta-titanium", "stainless-steel", "cobalt-chromium"]
    assert grows([couples((by_name[name],))[0] for name in order])
    steel, cobalt = forces((by_name["stainless-steel"], by_name["cobalt-chromium"]))
    assert cobalt / steel == pytest.approx(195.0 / 180.0, rel=1e-6)
    assert by_name["stainless-steel"].spread == pytest.approx((155.0 / 180.0, 207.0 / 180.0))


def test_a_larger_wire_gives_more() -> None:
    """Among round wires and among edgewise ones, in one slot at one offset."""
    rows = line("wire-size")
    for kind in (rows[:4], rows[4:]):
        assert grows(forces(kind)) and grows(couples(kind))


def test_shapes_of_equal_stiffness_differ_by_their_play_only() -> None:
    """The higher section has less play and so gives more; without play all would be alike."""
    rows = sorted(line("wire-shape"), key=lambda row: row.play_deg or 0.0)
    assert grows(forces(tuple(rows))[::-1])
    assert len({round(run.section.second_moment_z, 12) for run in _shapes()}) == 1


def _shapes() -> list[OneCouple]:
    out = [appliance("wire-shape", 0, words) for words in STUDIES["wire-shape"].values]
    return [one for one in out if isinstance(one, OneCouple)]


def test_play_and_rounded_edges_cost_torque() -> None:
    """At one angle of activation; none is left once both plays have used it up."""
    torque = couples(line("play"))
    assert torque[-1] == 0.0 and grows([value for value in torque if value][::-1])
    assert 2.0 * (line("play")[-1].play_deg or 0.0) > 20.0
    assert grows(couples(line("edge-radius"))[::-1])


def test_play_softens_a_v_bend() -> None:
    """Two brackets with play get less than built-in ends, wherever the bend is."""
    for built_in, brackets in zip(line("bend-position", 0), line("bend-position", 1), strict=True):
        assert built_in.loads is not None and brackets.loads is not None
        assert abs(brackets.loads.force_n or 0.0) <= abs(built_in.loads.force_n or 0.0) + 0.01


# The table -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", STUDIES)
def test_every_study_is_sound_and_in_time(name: str) -> None:
    start = time.perf_counter()
    found = study(name)
    assert time.perf_counter() - start < 30.0
    assert len(found.rows) >= 4 and all(row.sound for row in found.rows)


@pytest.mark.parametrize("name", STUDIES)
def test_the_table_holds_what_was_found(name: str, tmp_path: Path) -> None:
    found = study(name)
    path = columns_and_rows(found).write(tmp_path / "factor.csv")
    with path.open(encoding="utf-8", newline="") as file:
        records = list(csv.DictReader(file))
    assert len(records) == len(found.rows)
    rate = "rate_nmm_per_deg" if found.turns else "load_deflection_rate_n_per_mm"
    of = "of_largest_" if found.study.signed else ""
    for record, row in zip(records, found.rows, strict=True):
        ours, formula = row.loads, row.expected
        assert ours is not None and formula is not None
        told = record[STUDIES[name].column]
        assert (float(told) == row.place) if STUDIES[name].unit else (told == row.label)
        assert float(record["couple_nmm"]) == ours.couple_nmm and float(record[rate]) == ours.rate
        assert float(record["formula_couple_nmm"]) == formula.couple_nmm and record["source"]
        if record["moment_to_force_mm"]:
            force = float(record["force_n"])
            assert float(record["moment_to_force_mm"]) == pytest.approx(ours.couple_nmm / force, rel=1e-12)
        differs = record[f"difference_of_couple_{of}percent"]
        if differs and not of:
            per = 100.0 * (ours.couple_nmm - formula.couple_nmm) / abs(formula.couple_nmm)
            assert float(differs) == pytest.approx(per, rel=1e-9, abs=1e-9)


def test_rates_are_slopes() -> None:
    """Twice the deflection beyond the play, twice the force: the rate of a small deflection is 3EI/(L^2 (L + W))."""
    row = line("distance", 1)[-1]
    assert row.loads is not None and row.expected is not None and row.expected.force_n is not None
    one = appliance("distance", 1, "24 mm")
    assert isinstance(one, OneCouple)
    stiffness = one.material.youngs_modulus_mpa * one.section.second_moment_z
    assert row.expected.rate == pytest.approx(3.0 * stiffness / (22.0**2 * 26.0), rel=1e-9)
    assert row.loads.rate == pytest.approx(row.expected.rate, rel=0.01)


# The command -----------------------------------------------------------------------------------------------------


def test_the_list(capsys: Capture) -> None:
    assert main(["factor"]) == 0
    out = capsys.readouterr().out
    for name, one in STUDIES.items():
        assert f"  {name}" in out and one.question in out


def test_one_study_as_a_command(tmp_path: Path, capsys: Capture) -> None:
    assert main(["factor", "edge-radius", "--values", "0 mm, 0.05 mm", "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "factor.csv",
        "factor.png",
        "factor.svg",
    ]
    for words in (
        "What do rounded edges",
        "N mm/deg",
        "GJ/L",
        "Mechanics of Materials",
        "not a treatment plan",
    ):
        assert words in said.out
    with (tmp_path / "out" / "factor.csv").open(encoding="utf-8") as file:
        torque = [float(record["couple_nmm"]) for record in csv.DictReader(file)]
    assert len(torque) == 2 and torque[0] > torque[1] > 0.0


def test_without_a_folder_nothing_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["factor", "alloy", "--values", "beta-titanium"]) == 0
    assert "Nothing was written" in capsys.readouterr().out
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["alloys"], 'did you mean "alloy"?'),
        (["alloy", "--values", "steel, gold"], "2 problems"),
        (["distance", "--values", "20"], "without one"),
        (["distance", "--values", "-3 mm"], "zero or more"),
        (["distance", "--values", "1 mm"], "reaches a hook"),
        (["wire-size", "--values", "0.030 in"], "does not fit"),
        (["bend-position", "--values", "100 %"], "no room"),
        (["wire-shape", "--values", "oval"], "shapes known: round"),
        (["edge-radius", "--values", "1 mm"], "edge radius"),
        (["alloy", "--attachment", "tube"], "add --case"),
        (["--out", "x"], "which study?"),
    ],
)
def test_wrong_options(arguments: list[str], said: str, capsys: Capture) -> None:
    assert main(["factor", *arguments]) == 2
    err = capsys.readouterr().err
    assert said in err and "defect" not in err


def test_a_folder_that_cannot_be_written_is_found_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    def never(case: Case) -> RunResult:
        raise AssertionError("solved although nothing can be written")

    monkeypatch.setattr(runs, "run_case", never)
    (tmp_path / "out").write_text("", encoding="utf-8")
    assert main(["factor", "alloy", "--out", str(tmp_path / "out")]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_a_value_without_equilibrium_is_said_and_left_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    def some(case: Case) -> RunResult:
        if case.wire.material.name == "beta-titanium":
            raise NoEquilibrium(Status.TOO_MANY_ITERATIONS, 0.5, (), None)  # type: ignore[arg-type]
        return run_case(case)

    monkeypatch.setattr(runs, "run_case", some)
    out = tmp_path / "out"
    assert main(["factor", "alloy", "--values", "stainless-steel, beta-titanium", "--out", str(out)]) == 4
    assert "No equilibrium found: equal offset, 5 mm beta-titanium." in capsys.readouterr().out
    with (out / "factor.csv").open(encoding="utf-8") as file:
        steel, titanium = csv.DictReader(file)
    assert steel["status"] == "engaged" and titanium["status"] == "no equilibrium found"
    assert titanium["force_n"] == "" and titanium["formula_force_n"] != ""
    assert main(["factor", "alloy", "--values", "beta-titanium", "--out", str(tmp_path / "none")]) == 3
    assert not (tmp_path / "none").exists()


# A case of one's own ---------------------------------------------------------------------------------------------


def test_alloys_in_an_own_case() -> None:
    """Everything but the alloy stays: the case's own alloy gives what the case gives."""
    found = run_own(STUDIES["alloy"], case("molar-uprighting"))
    by_label = {row.label: row.loads for row in found.rows}
    tube = solved("molar-uprighting").attachment("molar tube")
    for label in ("as it is", "beta-titanium"):
        ours = by_label[label]
        assert ours is not None and ours.couple_nmm == pytest.approx(
            tube.orders["second"].moment_nmm, rel=1e-9
        )
    steel, titanium = by_label["stainless-steel"], by_label["beta-titanium"]
    assert steel is not None and titanium is not None
    assert steel.couple_nmm / titanium.couple_nmm == pytest.approx(180.0 / 64.8, rel=1e-3)
    assert found.order == "second" and {row.attachment for row in found.rows} == {"molar tube"}


def test_play_in_an_own_case_beside_its_closed_form() -> None:
    """The shipped torque case: GJ/L (angle - play - play), Timoshenko & Goodier, art. 109 (from memory)."""
    found = run_own(STUDIES["play"], case("torque-through-play"), ["0.02 mm", "0.0762 mm"])
    for row in found.rows:
        assert row.loads is not None and row.expected is not None
        assert row.loads.couple_nmm == pytest.approx(row.expected.couple_nmm, rel=1e-4)
        # GJ/L of 0.019 x 0.025 in steel over 5 mm, by the series of Timoshenko & Goodier
        assert row.loads.rate == pytest.approx(3.082, rel=1e-3)
    nominal = solved("torque-through-play").attachments[0].orders["third"].moment_nmm
    assert found.rows[1].loads is not None
    assert found.rows[1].loads.couple_nmm == pytest.approx(nominal, rel=1e-9)


def test_every_change_of_an_own_case_changes_one_thing() -> None:
    base = case("v-bend")
    for name, value in (
        ("wire-size", Rectangle(0.4, 0.5)),
        ("edge-radius", 0.07),
        ("alloy", "stainless-steel"),
    ):
        changed = CHANGES[name](base, value)
        assert changed.attachments == base.attachments and changed.wire != base.wire
    for name in ("bracket-width", "play"):
        changed = CHANGES[name](base, 0.1)
        assert changed.wire == base.wire
        for old, new in zip(base.attachments, changed.attachments, strict=True):
            assert new.attachment.slot != old.attachment.slot
            assert replace(new.attachment, slot=old.attachment.slot) == old.attachment


def test_values_that_make_no_appliance_of_an_own_case(tmp_path: Path, capsys: Capture) -> None:
    path = str(LIBRARY / "v-bend.toml")
    out = tmp_path / "out"
    options = ["--case", path, "--out", str(out)]
    assert main(["factor", "bracket-width", "--values", "3 mm, 12 mm", *options]) == 4
    assert "overlap" in capsys.readouterr().out
    assert main(["factor", "wire-size", "--values", "0.016 x 0.022 in, 0.030 x 0.030 in", *options]) == 4
    assert "Does not fit the slot of molar bracket" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["distance", "--case", "v-bend"], "studies of an own case: alloy"),
        (["alloy", "--case", "v-bend", "--attachment", "molar brackt"], 'did you mean "molar bracket"?'),
        (["edge-radius", "--case", "torque-round-wire"], "1 problem"),
        (["alloy", "--case", "no-such"], "there is no such file"),
    ],
)
def test_wrong_options_of_an_own_case(arguments: list[str], said: str, capsys: Capture) -> None:
    words = [
        str(LIBRARY / f"{word}.toml") if arguments[i - 1] == "--case" else word
        for i, word in enumerate(arguments)
    ]
    assert main(["factor", *words]) == 2
    assert said in capsys.readouterr().err


def test_order_and_attachment_of_an_own_case() -> None:
    found = run_own(STUDIES["alloy"], case("v-bend"), ["beta-titanium"], "premolar bracket", "second")
    moment = solved("v-bend").attachment("premolar bracket").orders["second"].moment_nmm
    assert found.rows[0].loads is not None and found.rows[0].loads.couple_nmm == pytest.approx(
        moment, rel=1e-12
    )


def test_studies_run_twice_say_the_same() -> None:
    once = run_study(STUDIES["play"], ["0.05 mm"])
    again = run_study(STUDIES["play"], ["0.05 mm"])
    assert once.rows == again.rows
