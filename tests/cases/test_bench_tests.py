"""``wireslot bench-test``: what it writes, reads and refuses."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path

import pytest

from cases.bench_tests.alloys import GIVEN, alloy_law
from cases.cli import main
from cases.materials import CONSTANTS, library, number_of
from cases.reader import Findings
from fem.fibre_material import Elastoplastic, Superelastic

SUPERELASTIC = "superelastic-nickel-titanium"
WORKED_EXAMPLE = {
    "austenite_modulus": "60 GPa",
    "martensite_modulus": "60 GPa",
    "transformation_strain": "7 %",
    "loading_start": "520 MPa",
    "loading_finish": "600 MPa",
    "unloading_start": "300 MPa",
    "unloading_finish": "200 MPa",
    "compression_ratio": "1",
}
"""The constants of ``tests/published/test_superelastic_flag.py``."""


def run(out: Path, *arguments: str, expect: int = 0) -> dict[str, float]:
    """The readings of one test."""
    assert main(["bench-test", *arguments, "--out", str(out)]) == expect
    found: dict[str, float] = json.loads((out / "bench_test.json").read_text(encoding="utf-8"))["readings"]
    return found


def test_tension_reads_the_plateaus(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """ASTM F2516 on the worked example: 543.9 and 241.6 MPa, 0.1 %; nothing is left; all files are there."""
    changes = [word for key, value in WORKED_EXAMPLE.items() for word in ("--set", f"{key}={value}")]
    readings = run(tmp_path, "tension", "--material", SUPERELASTIC, "--section", "0.016 in", *changes)
    assert readings["upper_plateau_mpa"] == pytest.approx(543.9, rel=1e-3)
    assert readings["lower_plateau_mpa"] == pytest.approx(241.6, rel=1e-3)
    assert readings["largest_stress_mpa"] == pytest.approx(577.57, rel=1e-3)
    assert readings["permanent_set_percent"] == 0.0 and readings["springback_percent"] == 100.0
    names = [f"bench_test.{kind}" for kind in ("csv", "json", "png", "svg")]
    assert sorted(path.name for path in tmp_path.iterdir()) == names
    said = capsys.readouterr().out
    assert "upper plateau, at 3 % on loading: 544 MPa" in said and "not a treatment plan" in said
    data = json.loads((tmp_path / "bench_test.json").read_text(encoding="utf-8"))
    assert data["constants"]["loading_start"] == {
        "value": "520 MPa", "low": "520 MPa", "high": "520 MPa", "source": GIVEN,
    }  # fmt: skip
    assert "from memory" in data["constants"]["clausius_clapeyron"]["source"]
    assert data["provenance"]["options"]["--material"] == SUPERELASTIC
    with (tmp_path / "bench_test.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert rows[0]["way"] == "rest" and {row["way"] for row in rows[1:]} == {"out", "back"}
    assert max(float(row["strain_percent"]) for row in rows) == pytest.approx(6.0)
    assert max(float(row["martensite_share"]) for row in rows) == pytest.approx(0.7196, abs=1e-4)
    assert all(math.isfinite(float(row[key])) for row in rows for key in row if key != "way")


def test_a_whole_loop_in_tension(tmp_path: Path) -> None:
    """21.7 MJ/m^3 in each cycle; unloaded from 9 % there is no lower plateau of the standard."""
    changes = [word for key, value in WORKED_EXAMPLE.items() for word in ("--set", f"{key}={value}")]
    arguments = (
        "--material",
        SUPERELASTIC,
        "--section",
        "0.016 in",
        "--to",
        "9 %",
        "--cycles",
        "2",
        *changes,
    )
    readings = run(tmp_path, "tension", *arguments)
    for number in (1, 2):
        assert readings[f"dissipated_cycle_{number}_mj_per_m3"] == pytest.approx(21.7, rel=1e-6)
    assert "lower_plateau_mpa" not in readings and "upper_plateau_mpa" in readings


def test_warmer_is_stronger(tmp_path: Path) -> None:
    """6.5 MPa/K for 18 degrees: 117 MPa, less by what the slope of plateau to modulus takes (about 1 %)."""
    readings = {}
    for warm in ("37 degC", "55 degC"):
        arguments = ("--material", SUPERELASTIC, "--section", "0.016 in", "--temperature", warm)
        readings[warm] = run(tmp_path / warm[:2], "tension", *arguments)
    for key in ("upper_plateau_mpa", "lower_plateau_mpa"):
        assert readings["55 degC"][key] - readings["37 degC"][key] == pytest.approx(117.0, rel=0.05)


def test_bending_of_steel_leaves_a_set(tmp_path: Path) -> None:
    """Bent to k times the yield curvature: M/M_y = 1.5 (1 - 1/(3 k^2)), left is k - M/M_y; 0.1 %.

    Yield at 1600/180e3 = 0.889 %, so 2 % is k = 2.25."""
    arguments = ("--material", "stainless-steel", "--section", "0.017 x 0.025 in", "--to", "2 %")
    readings = run(tmp_path, "bending", *arguments)
    k, height, depth = 0.02 * 180e3 / 1600.0, 0.017 * 25.4, 0.025 * 25.4
    ratio = 1.5 * (1.0 - 1.0 / (3.0 * k * k))
    moment = ratio * 1600.0 * depth * height**2 / 6.0
    assert readings["largest_moment_nmm"] == pytest.approx(moment, rel=1e-3)
    assert readings["permanent_set_percent"] == pytest.approx((k - ratio) * 160.0 / 180.0, rel=2e-3)
    assert readings["springback_percent"] == pytest.approx(100.0 * ratio / k, rel=2e-3)
    assert readings["permanent_curvature_per_mm"] == pytest.approx(
        readings["permanent_set_percent"] / 50.0 / height, rel=1e-9
    )
    assert readings["first_stiffness_nmm2"] == pytest.approx(180e3 * depth * height**3 / 12.0, rel=1e-9)
    first = run(tmp_path / "first", "bending", *arguments, "--order", "first")
    assert first["first_stiffness_nmm2"] == pytest.approx(180e3 * height * depth**3 / 12.0, rel=1e-9)


def test_torsion_of_a_round_wire(tmp_path: Path) -> None:
    """T/T_y = (4 - 1/k^3)/3, the turn left (k - T/T_y) of that at first yield; twist even along any length; 0.3 %, as
    the rings of fibres allow."""
    common = ("--material", "beta-titanium", "--section", "0.016 in")
    readings = run(tmp_path / "long", "torsion", *common, "--length", "10 mm", "--to", "180 deg")
    radius, shear = 0.008 * 25.4, 64.8e3 / 2.66
    strength = 930.0 / math.sqrt(3.0)
    k = math.pi / 10.0 * radius * shear / strength
    ratio = (4.0 - 1.0 / k**3) / 3.0
    assert k > 2.0
    assert readings["largest_torque_nmm"] == pytest.approx(
        ratio * strength * math.pi * radius**3 / 2, rel=3e-3
    )
    assert readings["permanent_turn_deg"] == pytest.approx(180.0 * (k - ratio) / k, rel=3e-3)
    assert readings["springback_percent"] == pytest.approx(100.0 * ratio / k, rel=3e-3)
    other = run(tmp_path / "short", "torsion", *common, "--length", "5 mm", "--to", "90 deg")
    assert other["largest_torque_nmm"] == pytest.approx(readings["largest_torque_nmm"], rel=1e-12)
    assert other["dissipated_nmm"] == pytest.approx(0.5 * readings["dissipated_nmm"], rel=1e-9)


def test_both_ways(tmp_path: Path) -> None:
    arguments = (
        "--material",
        SUPERELASTIC,
        "--section",
        "0.016 in",
        "--to",
        "3 %",
        "--both-ways",
        "--cycles",
        "2",
    )
    readings = run(tmp_path, "bending", *arguments)
    assert readings["dissipated_cycle_1_nmm_per_mm"] == pytest.approx(
        readings["dissipated_cycle_2_nmm_per_mm"], rel=1e-9
    )
    with (tmp_path / "bench_test.csv").open(encoding="utf-8") as file:
        moments = [float(row["moment_nmm"]) for row in csv.DictReader(file)]
    assert min(moments) == pytest.approx(-max(moments), rel=1e-3)


def test_a_proof_stress_is_read_where_there_is_one(tmp_path: Path) -> None:
    """Hardening: 0.2 % plastic strain at sigma_y + 0.002 H."""
    common = ("--material", "stainless-steel", "--section", "0.016 in", "--set", "isotropic_hardening=10 GPa")
    assert run(tmp_path, "tension", *common)["proof_stress_mpa"] == pytest.approx(1620.0, rel=1e-9)
    assert "proof_stress_mpa" not in run(tmp_path, "tension", *common, "--to", "0.5 %")


def test_all_problems_at_once_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["bench-test", "tension", "--material", "superelastic-nickel-titanum", "--section", "0.016",
                 "--temperature", "37", "--order", "first", "--to", "60 %", "--cycles", "0", "--set", "x",
                 "--out", str(tmp_path / "out")]  # fmt: skip
    assert main(arguments) == 2
    said = capsys.readouterr().err
    for words in (
        "bench-test tension: 7 problems",
        f'no such alloy: "superelastic-nickel-titanum"; did you mean "{SUPERELASTIC}"?',
        '--section: the wire\'s size: expected a length with its unit, got "0.016"',
        "--temperature: the temperature: expected a temperature with its unit",
        "--order: belongs to bending and three-point; leave out --order",
        "a strain of 60 % is beyond any wire",
        "--cycles: expected 1 to 20, got 0",
        'expected KEY=VALUE, got "x"',
    ):
        assert words in said
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (["loading_start=230 MPa"], "a loop would give energy away"),
        (
            ["loading_strt=480 MPa"],
            'no such constant of superelastic-nickel-titanium: "loading_strt"; did you mean',
        ),
        (["austenite_modulus=-60 GPa"], "Young's modulus must be finite and above zero"),
        (["clausius_clapeyron=6.5 MPa"], "clausius_clapeyron: expected a stress per degree"),
        (["poisson=a third"], "poisson: expected a pure number"),
        (["poisson=0.3", "poisson=0.2"], "poisson is given twice"),
        (["clausius_clapeyron=20 MPa/K", "reference_temperature=60 degC"], "does not go back when unloaded"),
    ],
)
def test_constants_that_cannot_be(
    changes: list[str], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = [word for change in changes for word in ("--set", change)]
    arguments = ["--material", SUPERELASTIC, "--section", "0.016 in", "--temperature", "37 degC", *given]
    assert main(["bench-test", "bending", *arguments, "--out", str(tmp_path / "out")]) == 2
    assert words in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_temperature_that_does_not_matter_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    common = ("--material", "stainless-steel", "--section", "0.016 in", "--temperature", "37 degC")
    run(tmp_path, "tension", *common)
    assert "stainless-steel does not heed it here" in capsys.readouterr().out


def test_a_figure_that_fails_leaves_the_numbers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("no ink")

    monkeypatch.setattr("cases.show.bench_test_figure.draw_bench_test", fail)
    run(tmp_path, "tension", "--material", SUPERELASTIC, "--section", "0.016 in", expect=1)
    assert sorted(path.suffix for path in tmp_path.iterdir()) == [".csv", ".json"]
    assert "no ink" in capsys.readouterr().err


@pytest.mark.parametrize("name", list(library()))
def test_every_alloy_of_the_library_has_a_law(name: str) -> None:
    """Each constant, as it is written into the result, lies in its range and says where it comes from."""
    findings = Findings({})
    law = alloy_law(name, {}, findings)
    assert law is not None and not findings.problems
    assert isinstance(law.material, Superelastic if name == SUPERELASTIC else Elastoplastic)
    kinds = CONSTANTS["superelastic" if name == SUPERELASTIC else "elastoplastic"]
    assert set(law.constants) == set(kinds)
    for key, kind in kinds.items():
        one = law.constants[key]
        low, value, high = (number_of(words, kind) for words in (one.low, one.value, one.high))
        assert low <= value <= high and value == getattr(law.material, key)
        assert any(words in one.source for words in ("memory", "(19", "1979", "arXiv", "body temperature"))


def test_growth_with_temperature_agrees_with_the_entropy_of_transformation() -> None:
    """rho dS/eps_L: 6.45 g/cm^3 x 0.105 J/(g K) (Thermochim. Acta 602 (2015) 30) = 0.677 MPa/K; 6.8 for 10 %, 8.5 for
    8 %: the range of the library, 5 to 8, reaches into it."""
    entropy = 6.45 * 0.105
    assert entropy / 0.10 == pytest.approx(6.8, abs=0.05) and entropy / 0.08 == pytest.approx(8.5, abs=0.05)
    constant = next(one for one in library()[SUPERELASTIC].constants if one.key == "clausius_clapeyron")
    assert constant.low < 6.8 < constant.high


def test_three_points_read_as_the_standard_does(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """ISO 15841: forces on the way back at 3, 2, 1 and 0.5 mm, lower than on the way out, and nothing left."""
    common = ("three-point", "--material", SUPERELASTIC, "--section", "0.016 in")
    readings = run(tmp_path / "whole", *common)
    back = [readings[f"unloading_force_{at}_mm_n"] for at in ("3", "2", "1", "0_5")]
    assert readings["largest_force_n"] > back[0] > back[1] > back[2] > back[3] > 0.0
    assert readings["permanent_deflection_mm"] == 0.0 and readings["springback_percent"] == 100.0
    # 48 EI/L^3 with 60 GPa, less a third of a per cent of shear
    stiffness = 48.0 * 60e3 * math.pi / 64.0 * 0.4064**4 / 1e3
    assert readings["rate_n_per_mm"] == pytest.approx(stiffness, rel=5e-3)
    data = json.loads((tmp_path / "whole" / "bench_test.json").read_text(encoding="utf-8"))
    assert data["setup"] == {"span_mm": 10.0, "edge_radius_mm": 0.1, "friction": 0.0}
    with (tmp_path / "whole" / "bench_test.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert max(float(row["deflection_mm"]) for row in rows) == pytest.approx(3.1)
    assert "ISO 15841" in capsys.readouterr().out
    # the curve itself, measured: nothing between the two
    measured = tmp_path / "measured.csv"
    lines = [f"{float(row['deflection_mm'])!r},{float(row['force_n'])!r}" for row in rows[1:-1]]
    measured.write_text("# invented\ndeflection_mm,force_N\n" + "\n".join(lines) + "\n", encoding="utf-8")
    again = run(tmp_path / "again", *common, "--measured", str(measured))
    assert again["apart_n"] < 1e-9


def test_measured_curves_that_are_none_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    measured = tmp_path / "measured.csv"
    measured.write_text("deflection_mm,force_N\n0.5,1\n0.4,1.1\n1.0,x\n", encoding="utf-8")
    arguments = [
        "three-point",
        "--material",
        SUPERELASTIC,
        "--section",
        "0.016 in",
        "--measured",
        str(measured),
    ]
    for more, words in (
        (["--fit", "loading_strt"], 'row 4, column force_N: expected a number, got "x"'),
        (
            ["--fit", "loading_strt"],
            'no constant "loading_strt" of this alloy; did you mean "loading_start"?',
        ),
        (["--span", "5 mm", "--to", "3 mm"], "slips through between the edges; go to 2 mm at most"),
        (["--friction", "3"], "a coefficient from 0 to 2 is needed"),
        (["--both-ways"], "the edges stand on one side"),
    ):
        assert main(["bench-test", *arguments, *more, "--out", str(tmp_path / "out")]) == 2
        assert words in capsys.readouterr().err
    measured.write_text("deflection_mm,force_N\n0.5,1\n0.4,1.1\n1.0,2\n", encoding="utf-8")
    assert main(["bench-test", *arguments, "--out", str(tmp_path / "out")]) == 2
    assert "must grow row by row to its largest" in capsys.readouterr().err
    assert main(["bench-test", "bending", *arguments[1:], "--out", str(tmp_path / "out")]) == 2
    assert "--measured: belongs to three-point" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
