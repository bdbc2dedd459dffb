"""The fast way of a study against the usual one, row by row; appliances led through values; stress; Parquet."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
import pytest

from cases.casefile import LIBRARY
from cases.errors import CaseFileError, OutputError
from cases.run import run_case
from cases.study import mechanics
from cases.study.names import output_columns
from cases.study.run_study import run_study
from cases.study.solve import Answer, solve, solve_sample
from cases.study.studyfile import Study
from cases.study.summary import read_rows, summarise, summary_json
from fem.model import Model
from fem.path import Leg, engage
from fem.status import NoEquilibrium, Status
from fem.torsion import solve_torsion
from fem.torsion_table import tabled_torsion_constants
from geometry.section import Rectangle
from tests.study_texts import CASE, SHORT, SLOT, normal, sample, study_of, vary

INCLINATION = 'attachment["lateral incisor bracket"].inclination'
TORQUE = "moment_lateral_incisor_bracket_third_nmm"
LED = vary(INCLINATION, 'grid = { from = "0 deg", to = "33 deg", count = 12 }', "led = true")
SIZES = (
    normal(SLOT, 0.0223, 0.0003),
    normal('attachment["central incisor bracket"].slot.height', 0.0223, 0.0003),
    normal("wire.section.height", 0.0189, 0.0001),
    normal("wire.section.depth", 0.0248, 0.00015),
)
# Of the largest load of the sample.  A run follows the ends of its legs exactly; a study leaves the node of a station
# up to 5 micrometres beside it, over slots and spans of some millimetres.  That both ways are the same otherwise,
# tests/fem/test_batch.py says to 1e-5.
AGREES = 1e-3


def sample_of(study: Study, number: int) -> tuple[tuple[Answer, ...], tuple[Answer, ...]]:
    """One sample, fast and as usual."""
    values = study.puts(study.inputs()[number * study.base.each], led=False)
    return solve_sample(study.base, values), solve_sample(study.base, values, fast=False)


def numbers(study: Study, answers: tuple[Answer, ...], ends: str) -> np.ndarray:
    picked = [k for k, (_, what) in enumerate(study.base.outputs) if what.endswith(ends)]
    return np.array([[answer.outputs[k] for k in picked] for answer in answers], dtype=float)


@pytest.fixture
def not_usual(monkeypatch: pytest.MonkeyPatch) -> None:
    """The usual way may be asked for, but not fallen back on."""
    plainly = mechanics._walked_rows

    def walked(*given: object) -> object:
        rows = plainly(*given)  # type: ignore[arg-type]
        assert rows is not None
        return rows

    monkeypatch.setattr(mechanics, "_walked_rows", walked)


@pytest.mark.usefixtures("not_usual")
def test_curves_of_torque_are_those_of_the_usual_way(tmp_path: Path) -> None:
    study = study_of(tmp_path, "stress = true", LED, *SIZES, sample("latin hypercube", 6), compute="forces")
    assert study.base.each == 12 and study.rows == 72
    for number in range(6):
        fast, usual = sample_of(study, number)
        assert [one.status for one in fast] == [one.status for one in usual]
        assert {"passive", "engaged"} == {one.status for one in fast}
        wanted = numbers(study, usual, "nmm")
        assert np.abs(numbers(study, fast, "nmm") - wanted).max() < AGREES * np.abs(wanted).max()
        # walls that bear a couple press with many newtons, which cancel: a hundred thousandth of them is left
        assert np.abs(numbers(study, fast, "_n") - numbers(study, usual, "_n")).max() < 1e-3
        assert numbers(study, fast, "deg").tolist() == numbers(study, usual, "deg").tolist()
        for ends in ("mpa", "share"):
            wanted = numbers(study, usual, ends)
            assert np.abs(numbers(study, fast, ends) - wanted).max() < AGREES * wanted.max()


@pytest.mark.usefixtures("not_usual")
@pytest.mark.parametrize(
    ("case", "keys"),
    [
        ("one-couple-second-order", (normal("wire.section.height", 0.017, 0.0001),)),
        ("v-bend", (normal("wire.passive_shape[2].bend", 20.0, 0.5, "deg"),)),
        ("t-loop", (normal("wire.section.depth", 0.025, 0.0001),)),
    ],
)
def test_engagements_are_those_of_the_usual_way(tmp_path: Path, case: str, keys: tuple[str, ...]) -> None:
    study = study_of(tmp_path, *keys, sample("random", 2), compute="forces", case=LIBRARY / f"{case}.toml")
    for number in range(2):
        fast, usual = sample_of(study, number)
        assert fast[0].status == usual[0].status == "engaged"
        for ends in ("_n", "nmm"):
            wanted = numbers(study, usual, ends)
            assert np.abs(numbers(study, fast, ends) - wanted).max() < AGREES * np.abs(wanted).max()


@pytest.mark.usefixtures("not_usual")
def test_brackets_turned_and_moved_in_all_ways(tmp_path: Path) -> None:
    """Drawn at random, far from symmetry: sizes, three angles, two places."""
    (tmp_path / "case.toml").write_text(SHORT, encoding="utf-8")
    right = 'attachment["right"]'
    keys = (
        normal(f"{right}.about_x", 35.0, 6.0, "deg"),
        normal(f"{right}.about_y", 0.0, 3.0, "deg"),
        normal(f"{right}.about_z", 3.0, 3.0, "deg"),
        normal(f"{right}.position.y", 0.0, 0.4, "mm"),
        normal(f"{right}.position.z", 0.0, 0.2, "mm"),
        normal(f"{right}.slot.height", 0.56, 0.01, "mm"),
        normal("wire.section.height", 0.49, 0.02, "mm"),
    )
    study = study_of(tmp_path, *keys, sample("random", 12, 3), compute="forces", case=Path("case.toml"))
    for number in range(12):
        fast, usual = sample_of(study, number)
        assert fast[0].status == usual[0].status == "engaged"
        for ends in ("_n", "nmm"):
            wanted = numbers(study, usual, ends)
            assert np.abs(numbers(study, fast, ends) - wanted).max() < AGREES * np.abs(wanted).max()


def test_a_led_row_is_the_engagement_there(tmp_path: Path) -> None:
    """Without friction the way does not count: at each angle the same as engaged there at once."""
    led = study_of(tmp_path, LED, compute="forces")
    plain = study_of(tmp_path, LED.replace("led = true", ""), compute="forces")
    rows = solve_sample(led.base, led.puts(led.inputs()[0], led=False))
    column = output_columns(led.base).index(TORQUE)
    for number in (0, 5, 7, 11):
        alone = solve(plain.base, plain.puts(plain.inputs()[number]))
        assert rows[number].status == alone.status
        assert rows[number].outputs[column] == pytest.approx(alone.outputs[column], rel=AGREES, abs=1e-9)


def test_rows_of_a_led_study_and_its_summary(tmp_path: Path) -> None:
    """Sample by sample in the table, angle by angle in the summary; a wire that does not fit is twelve rows."""
    parts = (LED.replace("12", "3"), vary(SLOT, 'values = ["0.015 in", "0.0223 in"]'), SIZES[2])
    study = study_of(tmp_path, *parts, sample("random", 4), compute="forces")
    table = run_study(study, tmp_path / "out").table
    rows = read_rows(table, study)
    assert [row[1] for row in rows.inputs[:6]] == [0.0, 16.5, 33.0] * 2
    assert [row[0] for row in rows.inputs] == [0.015] * 12 + [0.0223] * 12
    assert rows.status[:12] == ("does not fit",) * 12 and "does not fit" not in rows.status[12:]
    summary = summarise(study, rows)
    assert [point.grid for point in summary.points] == [
        (slot, angle) for slot in (0.015, 0.0223) for angle in (0.0, 16.5, 33.0)
    ]
    column = output_columns(study.base).index(TORQUE)
    last = summary.points[-1].outputs[column]
    assert last is not None and last.count == 4
    assert last.mean == pytest.approx(rows.outputs[14::3, column].mean())
    told = summary_json(summary)["points"]
    assert isinstance(told, list) and told[-1]["rows"] == [15, 24] and told[-1]["row_step"] == 3


def test_a_led_study_cut_within_a_sample_goes_on(tmp_path: Path) -> None:
    study = study_of(tmp_path, LED, SIZES[0], sample("random", 3), compute="forces")
    table = run_study(study, tmp_path / "out").table
    whole = table.read_bytes()
    table.unlink()
    lines = whole.splitlines(keepends=True)
    (tmp_path / "out" / "rows.partial.csv").write_bytes(b"".join(lines[:18]))
    again = run_study(study, tmp_path / "out", jobs=2)
    assert again.stood == 17 and again.table.read_bytes() == whole


def test_what_only_the_usual_way_can_is_the_same_bit_for_bit(tmp_path: Path) -> None:
    """Friction."""
    study = study_of(tmp_path, vary("wire.friction", "values = [0.1]"), compute="forces")
    fast, usual = sample_of(study, 0)
    assert fast == usual and fast[0].status == "engaged"


def test_a_way_that_ends_early_keeps_its_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last angle finds no equilibrium: what stands before is kept, and the rest says why it is not there."""
    study = study_of(tmp_path, LED.replace("33", "60").replace("12", "3"), compute="forces")

    def stopped(model: Model, legs: Sequence[Leg]) -> Path:
        increments = engage(model, legs=legs[:2]).increments
        raise NoEquilibrium(Status.TOO_MANY_ITERATIONS, 0.0, increments, np.zeros((1, 4)))

    monkeypatch.setattr(mechanics, "engage", stopped)
    monkeypatch.setattr(mechanics, "walked", lambda *_: None)
    rows = solve_sample(study.base, study.puts(study.inputs()[0], led=False))
    assert [row.status for row in rows] == ["passive", "engaged", "no equilibrium"]
    assert rows[2].outputs[0] is None and rows[2].remark and rows[1].outputs[0] is not None


def test_stress_is_that_of_the_run(tmp_path: Path) -> None:
    study = study_of(tmp_path, "stress = true", vary(INCLINATION, 'values = ["25 deg"]'), compute="forces")
    values = study.puts(study.inputs()[0])
    result = run_case(study.base.case(values))
    fast, usual = sample_of(study, 0)
    at = [k for k, (name, _) in enumerate(study.base.outputs) if name == ""]
    assert [output_columns(study.base)[k] for k in at] == [
        "stress_wire_largest_mpa",
        "yield_wire_largest_share",
    ]
    assert [usual[0].outputs[k] for k in at] == [result.wire.largest_stress_mpa, result.wire.yield_share]
    assert [fast[0].outputs[k] for k in at] == pytest.approx([usual[0].outputs[k] for k in at], rel=AGREES)


def test_largest_shear_of_the_table() -> None:
    """Against the solution itself on a finer mesh, where it is worst: towards the end of the lattice."""
    section = Rectangle(0.45, 0.45, 0.45 * 0.391)
    fine = solve_torsion(section, 60).largest_shear_factor
    assert tabled_torsion_constants(section).largest_shear_factor == pytest.approx(fine, rel=5e-4)


def test_parquet_is_the_csv(tmp_path: Path) -> None:
    """The same numbers bit for bit, nothing where there is none, units with the columns."""
    parts = (vary(SLOT, 'values = ["0.015 in", "0.0223 in"]'), SIZES[2], sample("random", 9))
    study = study_of(tmp_path, *parts)
    ran = run_study(study, tmp_path / "out")
    table = pq.read_table(ran.parquet)
    with ran.table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert table.num_rows == len(rows) == 18 and table.column_names == list(rows[0])
    play = "play_central_incisor_bracket_third_deg"
    for name in ("wire_section_height_in", play):
        assert table[name].to_pylist() == [float(row[name]) if row[name] else None for row in rows]
    assert table[play].null_count == 9 and table["status"].to_pylist() == [row["status"] for row in rows]
    assert table["remark"].to_pylist() == [row["remark"] for row in rows]
    units = {field.name: (field.metadata or {}).get(b"unit") for field in table.schema}
    assert units["wire_section_height_in"] == b"in" and units[play] == b"deg" and units["status"] is None
    before = ran.parquet.read_bytes()
    ran.parquet.unlink()
    assert run_study(study, tmp_path / "out").parquet.read_bytes() == before
    json.loads((tmp_path / "out" / "study.json").read_text(encoding="utf-8"))


def test_no_room_for_parquet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The rows stand, and the next start writes it."""
    study = study_of(tmp_path, SIZES[2], sample("random", 3))

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("cases.study.parquet._convert", full)
        with pytest.raises(OutputError, match="No space left on device; the rows stand in rows.csv"):
            run_study(study, tmp_path / "out")
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["rows.csv", "study.json"]
    ran = run_study(study, tmp_path / "out")
    assert ran.stood == 3 and pq.read_table(ran.parquet).num_rows == 3


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ((LED, LED.replace(INCLINATION, 'attachment["lateral incisor bracket"].position.y').replace(" deg", " mm")),
         "of one key only"),
        ((vary(SLOT, 'values = ["0.022 in"]', "led = true"),), "only an attachment can be led"),
        ((LED.replace("lateral", "central"),), "stands still while others are led"),
        ((LED.replace("led = true", 'led = "yes"'),), "expected true or false"),
        (("stress = true", LED), "without forces there is no stress"),
    ],
)  # fmt: skip
def test_wrong_ways_are_refused(tmp_path: Path, parts: tuple[str, ...], words: str) -> None:
    compute = "play" if "stress" in parts[0] else "forces"
    with pytest.raises(CaseFileError) as raised:
        study_of(tmp_path, *parts, compute=compute)
    assert any(words in problem.message and problem.remedy for problem in raised.value.problems)


def test_cases_with_stages_of_their_own_cannot_be_led(tmp_path: Path) -> None:
    text = CASE.read_text(encoding="utf-8") + '\n[[stage]]\nname = "back"\nback = "50 %"\n'
    (tmp_path / "case.toml").write_text(text, encoding="utf-8")
    with pytest.raises(CaseFileError) as raised:
        study_of(tmp_path, LED, compute="forces", case=Path("case.toml"))
    assert "has a [stage] of its own" in raised.value.problems[0].message
