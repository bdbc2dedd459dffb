"""Result files: complete, exact, never with NaN, whole or not at all."""

from __future__ import annotations

import csv
import dataclasses
import json
import math
import os
from pathlib import Path

import numpy as np
import pytest

from cases.errors import NotFiniteError, OutputError
from cases.files import check_writable, write_whole
from cases.output import CAUTION, to_json, write_outputs
from cases.results import AccuracyResult, DeactivationReading, DeactivationResult, Error, Mesh, RunResult
from cases.tooth_results import PlaneTendency, PublishedRange, ToothDisplacement, ToothResult


def test_json_round_trip(result: RunResult, tmp_path: Path) -> None:
    write_outputs(result, tmp_path / "out")
    text = (tmp_path / "out" / "result.json").read_text(encoding="utf-8")
    back = json.loads(text)
    assert back == to_json(result)
    first = back["attachments"][0]
    assert first["name"] == "left, upper"
    assert first["force_n"] == [0.0, 1.5, 0.0]
    assert first["orders"]["third"]["play_deg"] is None and first["orders"]["third"]["turns_freely"] is True
    assert first["mouths"][0]["force_n"][1] == 1.0 / 3.0  # all digits
    assert first["contacts"][0]["wall"] == "upper wall"
    assert back["equilibrium"]["force_n"] == [0.0, 1e-12, 0.0]
    assert back["wire"]["length_mm"] == 8.0 and back["wire"]["yield_share"] is None
    assert [item["activation"] for item in back["increments"]] == [0.5, 1.0]
    assert back["increments"][1]["attachments"][0]["orders_moment_nmm"] == {
        "first": 0.0,
        "second": 2.0,
        "third": 0.0,
    }
    assert back["provenance"]["options"]["increments"] == 2
    assert back["caution"] == CAUTION


def with_teeth(result: RunResult) -> RunResult:
    """The same with what a run says of teeth that give way, and of a stage; its numbers mean nothing."""
    plane = PlaneTendency(1.0, 2.0, 9.0, 2.0, 0.2, "uncontrolled tipping", "words")
    motion = ToothDisplacement(
        (0.1,) * 3, (1.0,) * 3, (0.2,) * 3, {"first": None, "second": (0.0, -1.0, 0.0)}, ()
    )
    ranges = (PublishedRange("uncontrolled tipping", 0.3, 0.6, "a source"),)
    place, force, moment = (0.0, -9.0, -4.0), (1.0, 0.0, 0.0), (0.0, 0.0, 2.0)
    planes = {"second": plane}
    tooth = ToothResult(place, "default: ...", force, moment, planes, ranges, ("words",), "typical", motion)
    ways = tuple(
        DeactivationResult("back", "right", turns, (DeactivationReading(0.5, 1.0, 1.0, 2.0),), 0.2, 0.3, None)
        for turns in (False, True)
    )
    first, *others = result.attachments
    attachments = (dataclasses.replace(first, at_centre_of_resistance=tooth), *others)
    return dataclasses.replace(result, attachments=attachments, deactivations=ways)


def test_teeth_and_deactivation_are_written(result: RunResult) -> None:
    back = to_json(with_teeth(result))
    tooth = back["attachments"][0]["at_centre_of_resistance"]
    assert list(tooth) == [
        "from_slot_mm",
        "source",
        "force_n",
        "moment_nmm",
        "planes",
        "words",
        "published_ranges",
        "support",
        "displacement",
    ]
    assert tooth["planes"]["second"]["share_of_arm"] == 0.2
    assert tooth["displacement"]["centre_of_rotation_mm"] == {"first": None, "second": [0.0, -1.0, 0.0]}
    assert back["attachments"][1]["at_centre_of_resistance"] is None
    along, about = back["deactivations"]
    assert (along["half_at_mm"], along["until_n"], along["working_range_mm"]) == (0.2, 0.3, None)
    assert (about["half_at_deg"], about["until_nmm"], about["working_range_deg"]) == (0.2, 0.3, None)


def with_accuracy(result: RunResult) -> RunResult:
    """The same with an estimate of its error, on the second of two meshes; its numbers mean nothing."""
    force, moment = Error(0.001, 2.0, 0.05, "right"), Error(0.02, 10.0, 0.2, "left, upper")
    failed = AccuracyResult(Mesh(20, 9), Mesh(40, 18), None, None, ("no estimate",))
    last = AccuracyResult(Mesh(40, 18), Mesh(80, 35), force, moment, ("words",), 0.1)
    return dataclasses.replace(result, accuracy=dataclasses.replace(last, sequence=(failed, last)))


def test_accuracy_is_written(result: RunResult) -> None:
    assert to_json(result)["accuracy"] is None
    back = to_json(with_accuracy(result))["accuracy"]
    assert list(back) == [
        "estimated",
        "words",
        "mesh",
        "compared_with",
        "force",
        "moment",
        "wanted_percent",
        "reached",
        "sequence",
    ]
    assert back["estimated"] is True and back["reached"] is False  # 0.2 % of the largest moment, 0.1 % wanted
    assert back["mesh"] == {"elements": 40, "stations": 18}
    assert back["force"] == {
        "error_n": 0.001,
        "largest_n": 2.0,
        "error_percent": 0.05,
        "attachment": "right",
    }
    assert list(back["moment"]) == ["error_nmm", "largest_nmm", "error_percent", "attachment"]
    first, last = back["sequence"]
    assert first["force"] is None and first["mesh"] == {"elements": 20, "stations": 9}
    assert last == {key: back[key] for key in ("mesh", "compared_with", "force", "moment")}


def test_every_number_key_says_its_unit(result: RunResult) -> None:
    result = with_accuracy(with_teeth(result))
    pure = {
        "activation",
        "iterations",
        "yield_share",
        "turns_freely",
        "carries_couple",
        "let_down",
        "increments",
        "axes",
    }
    pure |= {"inside_share", "share_of_arm", "estimated", "reached", "elements", "stations"}
    units = ("_n", "_nmm", "_mm", "_deg", "_mpa", "_percent")

    def check(value: object, key: str, inside_unit: bool) -> None:
        if isinstance(value, dict):
            for name, item in value.items():
                check(item, name, inside_unit or name.endswith(units))
        elif isinstance(value, list):
            for item in value:
                check(item, key, inside_unit)
        elif isinstance(value, (int, float)):
            assert inside_unit or key in pure, key

    check(to_json(result), "", False)


def test_path_table(result: RunResult, tmp_path: Path) -> None:
    write_outputs(result, tmp_path)
    with (tmp_path / "path.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 2
    assert float(rows[0]["activation"]) == 0.5 and rows[0]["iterations"] == "4"
    assert float(rows[1]["residual_n"]) == 2e-12
    assert float(rows[1]["left, upper force_y_n"]) == 1.0
    assert float(rows[1]["right moment_z_nmm"]) == 2.0
    assert float(rows[1]["right second_order_moment_nmm"]) == 2.0


def test_wire_table_axes_are_columns(result: RunResult, tmp_path: Path) -> None:
    axes = np.array(result.wire.axes)
    axes[2] = [[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]  # tangent +y, height axis +z, depth axis +x
    wire = dataclasses.replace(result.wire, axes=axes)
    write_outputs(dataclasses.replace(result, wire=wire), tmp_path)
    with (tmp_path / "wire.csv").open(newline="", encoding="utf-8") as file:
        row = list(csv.DictReader(file))[2]
    assert (float(row["arc_length_mm"]), float(row["y_mm"])) == (4.0, 0.1 * 16.0)
    assert [float(row[f"tangent_{part}"]) for part in "xyz"] == [0.0, 1.0, 0.0]
    assert [float(row[f"height_axis_{part}"]) for part in "xyz"] == [0.0, 0.0, 1.0]
    assert [float(row[f"depth_axis_{part}"]) for part in "xyz"] == [1.0, 0.0, 0.0]
    assert float(row["bending_stress_mpa"]) == 300.0


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_no_number_nothing_written(result: RunResult, tmp_path: Path, bad: float) -> None:
    broken = dataclasses.replace(result.attachments[1], force_n=(0.0, bad, 0.0))
    with pytest.raises(NotFiniteError) as caught:
        write_outputs(
            dataclasses.replace(result, attachments=(result.attachments[0], broken)), tmp_path / "out"
        )
    assert caught.value.field == "attachments[1].force_n[1]"
    stress = np.array(result.wire.bending_stress_mpa)
    stress[3] = bad
    with pytest.raises(NotFiniteError) as caught:
        write_outputs(
            dataclasses.replace(result, wire=dataclasses.replace(result.wire, bending_stress_mpa=stress)),
            tmp_path / "out",
        )
    assert caught.value.field == 'wire.csv, row 4, "bending_stress_mpa"'
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("error", [RuntimeError, KeyboardInterrupt])
def test_failure_in_the_middle_leaves_nothing(
    result: RunResult, tmp_path: Path, error: type[BaseException]
) -> None:
    def fail(path: Path) -> None:
        path.write_text("half", encoding="utf-8")
        raise error

    with pytest.raises(error):
        write_outputs(result, tmp_path / "new" / "out", {"wire.png": fail})
    assert list(tmp_path.iterdir()) == []


def test_failure_in_the_middle_leaves_the_earlier_run(result: RunResult, tmp_path: Path) -> None:
    write_outputs(dataclasses.replace(result, title="earlier"), tmp_path)

    def fail(path: Path) -> None:
        raise RuntimeError

    with pytest.raises(RuntimeError):
        write_outputs(result, tmp_path, {"wire.png": fail})
    assert json.loads((tmp_path / "result.json").read_text(encoding="utf-8"))["title"] == "earlier"
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "path.csv",
        "result.json",
        "wire.csv",
        "wire.vtu",
    ]


def test_a_new_run_takes_away_its_own_old_files_only(result: RunResult, tmp_path: Path) -> None:
    for name in ("wire.png", "notes.txt"):
        (tmp_path / name).write_text("old", encoding="utf-8")
    written = write_outputs(result, tmp_path)
    assert sorted(path.name for path in written) == ["path.csv", "result.json", "wire.csv", "wire.vtu"]
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "notes.txt",
        "path.csv",
        "result.json",
        "wire.csv",
        "wire.vtu",
    ]


def test_a_new_folder_appears_whole(tmp_path: Path) -> None:
    seen: list[list[str]] = []

    def look(path: Path) -> None:
        path.write_text("x", encoding="utf-8")
        seen.append([item.name for item in tmp_path.iterdir()])

    write_whole(tmp_path / "out", {"a": look, "b": look})
    assert all("out" not in names for names in seen)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out"]
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["a", "b"]
    assert (tmp_path / "out").stat().st_mode & 0o777 == 0o777 & ~_umask()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def test_check_writable_leaves_no_trace(tmp_path: Path) -> None:
    check_writable(tmp_path / "a" / "b")
    check_writable(tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("place", ["file", "file/below", "/proc/wireslot-out"])
def test_a_folder_that_cannot_be_written(tmp_path: Path, place: str) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError) as caught:
        check_writable(tmp_path / place)
    assert caught.value.exit_code == 2
    assert str(tmp_path / place) in str(caught.value) and "--out" in str(caught.value)
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
