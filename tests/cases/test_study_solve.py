"""Rows against single runs, torsion constants of the table, and the command with its summary and figures."""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from cases.casefile import parse_case
from cases.cli import main
from cases.results import ORDERS
from cases.run import run_case
from cases.show.study_figure import bin_edges, curve, figures
from cases.study import run_study, solve
from cases.study.names import output_columns
from cases.study.solve import Answer
from cases.study.studyfile import Study
from cases.study.summary import read_rows, summarise
from cases.toml_lines import Key
from fem.torsion import solve_torsion, torsion_constant
from fem.torsion_table import LARGEST_RADIUS, tabled_torsion_constant
from geometry.section import Rectangle, Round
from tests.study_texts import CASE, SLOT, normal, sample, study_of, text_of, vary

INCLINATION = 'attachment["lateral incisor bracket"].inclination'
GRID = vary(INCLINATION, 'grid = { from = "10 deg", to = "30 deg", count = 3 }')
TORQUE = "moment_lateral_incisor_bracket_third_nmm"


def test_a_row_is_the_run_of_its_case(tmp_path: Path) -> None:
    """The same numbers, bit for bit, as those of a case file that has these values."""
    study = study_of(
        tmp_path,
        vary(INCLINATION, 'values = ["25 deg"]'),
        vary(SLOT, 'values = ["0.0223 in"]'),
        vary("wire.section.edge_radius", 'values = ["0.06 mm"]'),
        compute="forces",
    )
    answer = solve.solve(study.base, study.puts(study.inputs()[0]))
    text = CASE.read_text(encoding="utf-8").replace('inclination = "20 deg"', 'inclination = "25 deg"')
    text = text.replace('depth = "0.025 in" }', 'depth = "0.025 in", edge_radius = "0.06 mm" }')
    before, after = text.rsplit('height = "0.022 in"', 1)
    result = run_case(parse_case(f'{before}height = "0.0223 in"{after}', CASE))
    assert answer.status == result.status == "engaged"
    found = dict(zip(study.base.outputs, answer.outputs, strict=True))
    for item in result.attachments:
        for k, axis in enumerate("xyz"):
            assert found[item.name, f"force_{axis}_n"] == item.force_n[k]
            assert found[item.name, f"moment_{axis}_nmm"] == item.moment_nmm[k]
        for order in ORDERS:
            assert found[item.name, f"moment_{order}_nmm"] == item.orders[order].moment_nmm
            assert found[item.name, f"play_{order}_deg"] == item.orders[order].play_deg


def test_a_bench_test_is_read_at_its_farthest_point(tmp_path: Path) -> None:
    case = CASE.parent / "torque-test.toml"
    specs = parse_case(case.read_text(encoding="utf-8"), case).attachments
    name = next(spec.name for spec in specs if spec.attachment.has_slot)
    key = f'attachment["{name}"].slot.height'
    study = study_of(tmp_path, vary(key, 'values = ["0.022 in"]'), compute="forces", case=case)
    answer = solve.solve(study.base, study.puts(study.inputs()[0]))
    result = run_case(study.base.case(study.puts(study.inputs()[0])))
    assert answer.status == result.status == "engaged"
    loads = [value for item in result.attachments for value in (*item.force_n, *item.moment_nmm)]
    own = [
        value
        for (_, what), value in zip(study.base.outputs, answer.outputs, strict=True)
        if what[-2:] in ("_n", "mm")
    ]
    assert [value for value in own if value is not None][:6] == loads[:6] and max(map(abs, loads)) > 1.0


@pytest.mark.parametrize("case", ["levelling-lower-arch.toml", "closing-loop.toml"])
def test_cases_with_files_and_loops(tmp_path: Path, case: str) -> None:
    alloys = vary("wire.material", 'values = ["stainless-steel", "beta-titanium"]')
    study = study_of(tmp_path, alloys, case=CASE.parent / case, compute="forces")
    assert len(study.base.outputs) == 9 * len(study.base.attachments) + 3 * len(study.base.slots)
    assert study.base.case(study.puts(("beta-titanium",))).wire.material.name == "beta-titanium"


# A usual wire, and the end of the lattice; it is asked at places between its points.
@pytest.mark.parametrize(("ratio", "share"), [(1.3158, 0.1036), (1.0, 0.391)])
def test_torsion_constants_of_the_table(ratio: float, share: float) -> None:
    """Against the solution itself on a mesh twice as fine as the table's, which is good to 1e-7."""
    section = Rectangle(0.45, 0.45 * ratio, 0.45 * share)
    fine = solve_torsion(section, 60).constant
    assert tabled_torsion_constant(section) == pytest.approx(fine, rel=1e-6)
    turned = Rectangle(section.depth, section.height, section.edge_radius)
    assert tabled_torsion_constant(turned) == tabled_torsion_constant(section)
    assert torsion_constant(section) == pytest.approx(fine, rel=1e-5)  # what a single run takes


def test_closed_forms_stay_closed_forms() -> None:
    for section in (Round(0.4), Rectangle(0.4, 0.6, 0.0), Rectangle(0.4, 0.6, 0.003)):
        assert tabled_torsion_constant(section) == torsion_constant(section)
    stadium = Rectangle(0.4, 0.6, 0.4 * (LARGEST_RADIUS + 0.05))
    assert tabled_torsion_constant(stadium) == torsion_constant(stadium)


@pytest.fixture
def straight(monkeypatch: pytest.MonkeyPatch) -> None:
    """In place of the mechanics: torque is what the play leaves of the inclination; a high wire has no equilibrium."""

    def stand_in(base: solve.Base, values: Sequence[tuple[Key, object]]) -> tuple[Answer, ...]:
        given = {key[-1]: float(str(value).split()[0]) for key, value in values}
        nothing = (None,) * len(base.outputs)
        if given["height"] > 0.0194:
            return (Answer("no equilibrium", nothing, 'the iterations\ndid not settle, "even" so'),)
        torque = max(given["inclination"] - 14.0, 0.0) * given["height"] * 100.0
        numbers = [torque if what == "moment_third_nmm" else 0.0 for _, what in base.outputs]
        return (Answer("engaged" if torque else "passive", tuple(numbers)),)

    monkeypatch.setattr(solve, "solve_sample", stand_in)


@pytest.mark.usefixtures("straight")
def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, out = tmp_path / "study.toml", tmp_path / "out"
    parts = (GRID, normal("wire.section.height", 0.019, 0.0002), sample("latin hypercube", 60))
    path.write_text(text_of(f'answer = "{TORQUE}"', *parts, compute="forces"), encoding="utf-8")
    assert main(["study", str(path), "--out", str(out), "--jobs", "2"]) == 0
    said = capsys.readouterr().out
    names = sorted(file.name for file in out.iterdir())
    pictures = [
        f"{stem}.{kind}" for stem in ("curve", "histogram", "scatter", "tornado") for kind in ("png", "svg")
    ]
    assert names == sorted(
        [*pictures, "rows.csv", "rows.parquet", "study.json", "summary.csv", "summary.json"]
    )
    for words in (
        "180 rows (",
        "no equilibrium",
        "180 of 180 rows",
        "Spearman",
        "third-order moment on lateral incisor",
        "rows do not count",
        "not a treatment plan",
        str(out / "rows.csv"),
    ):
        assert words in said
    with (out / "rows.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["row"] for row in rows] == [str(k) for k in range(1, 181)]
    assert list(rows[0])[:4] == [
        "row", "attachment_lateral_incisor_bracket_inclination_deg", "wire_section_height_in", "status",
    ]  # fmt: skip
    failed = [row for row in rows if row["status"] == "no equilibrium"]
    assert failed and all(
        row[TORQUE] == "" and row["remark"].startswith("the iterations did not") for row in failed
    )

    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    point = summary["points"][2]
    assert point["grid"] == {INCLINATION: "30.0 deg"} and point["rows"] == [121, 180]
    values = np.array([float(row[TORQUE]) for row in rows[120:] if row[TORQUE]])
    heights = np.array([float(row["wire_section_height_in"]) for row in rows[120:] if row[TORQUE]])
    assert values == pytest.approx(16.0 * heights * 100.0)
    spread = point["outputs"][TORQUE]
    assert spread["count"] == len(values) == 60 - len(failed) // 3
    assert spread["mean"] == pytest.approx(values.mean()) and spread["least"] == values.min()
    assert spread["standard_deviation"] == pytest.approx(values.std(ddof=1))
    for share in (5, 50, 95):
        assert spread[f"percentile_{share}"] == pytest.approx(np.percentile(values, share))
    assert spread["spearman"] == {"wire.section.height": pytest.approx(1.0)}
    before = (out / "summary.json").read_bytes()
    assert main(["study", str(path), "--out", str(out), "--no-pictures"]) == 0
    assert "180 of 180 rows stood already" in capsys.readouterr().out
    assert (out / "summary.json").read_bytes() == before


@pytest.mark.usefixtures("straight")
@pytest.mark.parametrize("deviation", [0.0001, 0.0005])
def test_figures(tmp_path: Path, deviation: float) -> None:
    """Of a study in which every row counts, with Sobol indices, and of one in which some do not, without."""
    parts = (GRID, normal("wire.section.height", 0.019, deviation), sample("sobol indices", 32))
    study = study_of(tmp_path, f'answer = "{TORQUE}"', *parts, compute="forces")
    summary = summarise(study, read_rows(run_study.run_study(study, tmp_path / "out").table, study))
    places, values = curve(summary)
    assert list(places) == [10.0, 20.0, 30.0] and np.all(values[0] == 0.0)
    assert values[2, 1] == pytest.approx(16.0 * 1.9, rel=0.02) and values[2, 0] < values[2, 1] < values[2, 2]
    drawn = figures(summary)
    assert list(drawn) == ["curve", "tornado", "histogram", "scatter"]
    texts = {}
    for stem, sheet in drawn.items():
        assert ink(sheet.figure) > 0.01
        texts[stem] = " ".join(text.get_text() for text in sheet.figure.findobj(Text))
    assert "median" in texts["curve"] and "straight fit" in texts["tornado"]
    for text in texts.values():
        assert ("no equilibrium" in text) == (deviation > 0.0002)
    assert ("total 1.0" in texts["tornado"]) == (deviation < 0.0002)
    assert "inclination 30 deg" in texts["histogram"] and "rho +1.00" in texts["scatter"]
    (dots,) = drawn["scatter"].figure.findobj(lambda artist: artist.get_gid() == "dots wire.section.height")
    point = summary.telling
    assert len(dots.get_xdata()) == point.outputs[summary.answer].count == point.statuses["engaged"]


def ink(figure: Figure) -> float:
    """Share of the drawn figure that is not white."""
    figure.canvas.draw()
    image = np.asarray(figure.canvas.buffer_rgba())  # type: ignore[attr-defined]
    return float((image[..., :3].min(axis=-1) < 250).mean())


def test_a_plain_grid(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "study.toml"
    path.write_text(
        text_of(vary(SLOT, 'grid = { from = "0.0185 in", to = "0.0225 in", count = 9 }')), encoding="utf-8"
    )
    assert main(["study", str(path), "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    assert "9 rows (fits: 8, does not fit: 1)" in said
    summary = json.loads((tmp_path / "out" / "summary.json").read_text(encoding="utf-8"))
    assert len(summary["points"]) == 1 and "mean" not in next(iter(summary["points"][0]["outputs"].values()))
    assert sorted(file.suffix for file in (tmp_path / "out").glob("curve.*")) == [".png", ".svg"]


@pytest.mark.parametrize(
    "parts",
    [
        (vary(SLOT, 'values = ["0.022 in"]'),),
        (vary(SLOT, 'values = ["0.015 in", "0.016 in"]'),),
        (
            vary(SLOT, 'values = ["0.016 in", "0.022 in"]'),
            normal("wire.section.height", 0.019, 0.0001),
            sample("random", 2),
        ),
        (
            vary(SLOT, 'values = ["0.016 in"]'),
            normal("wire.section.height", 0.019, 0.0001),
            sample("sobol indices", 4),
        ),
        (
            vary("wire.material", 'values = ["stainless-steel", "beta-titanium"]'),
            vary(SLOT, 'values = ["0.022 in", "0.023 in"]'),
        ),
    ],
)
def test_small_and_fruitless_studies(tmp_path: Path, parts: tuple[str, ...]) -> None:
    """One row, none that counts, points of which one has none, words in a grid: all end in a table and a summary."""
    path = tmp_path / "study.toml"
    path.write_text(text_of(*parts), encoding="utf-8")
    assert main(["study", str(path), "--out", str(tmp_path / "out")]) == 0
    assert (tmp_path / "out" / "rows.csv").exists() and (tmp_path / "out" / "summary.csv").exists()
    text = (tmp_path / "out" / "summary.json").read_text(encoding="utf-8")
    assert "NaN" not in text and json.loads(text)["rows"] >= 1


def test_a_defect_is_a_row_and_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("something of ours")

    monkeypatch.setattr(solve, "_found", fail)
    path = tmp_path / "study.toml"
    path.write_text(text_of(GRID, compute="forces"), encoding="utf-8")
    assert main(["study", str(path), "--out", str(tmp_path / "out"), "--no-pictures"]) == 1
    assert (
        "3 rows ended in a defect of ours, the first with RuntimeError: something of ours"
        in capsys.readouterr().err
    )
    assert "defect" in (tmp_path / "out" / "rows.csv").read_text(encoding="utf-8")


def test_jobs_and_columns(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["study", str(tmp_path / "none.toml"), "--out", str(tmp_path / "out"), "--jobs", "0"]) == 2
    assert "at least one job" in capsys.readouterr().err
    assert main(["study", str(tmp_path / "none.toml"), "--out", str(tmp_path / "out")]) == 2
    assert "there is no such file" in capsys.readouterr().err
    study = study_of(tmp_path, GRID, compute="forces")
    columns = output_columns(study.base)
    assert len(columns) == len(set(columns)) and "force_central_incisor_bracket_x_n" in columns
    assert all(column == column.lower() and column.isidentifier() for column in columns)


def test_bins() -> None:
    assert bin_edges(np.zeros(5)).tolist() == [-0.5, 0.5]
    many = np.concatenate((np.linspace(0.0, 1e-3, 1000), [1.0]))
    assert len(bin_edges(many)) == 61 and math.isclose(bin_edges(many)[-1], 1.0)


def test_columns_of_one_name_stay_apart(tmp_path: Path) -> None:
    text = (
        CASE.read_text(encoding="utf-8")
        .replace("central incisor bracket", "a b")
        .replace("lateral incisor bracket", "a_b")
    )
    (tmp_path / "case.toml").write_text(text, encoding="utf-8")
    study: Study = study_of(
        tmp_path, vary("wire.friction", "values = [0.0, 0.1]"), case=Path("case.toml"), compute="forces"
    )
    columns = output_columns(study.base)
    assert len(set(columns)) == len(columns) and "force_a_b_2_x_n" in columns
