"""Appliances side by side: what belongs together, what is told, what the table holds."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from pathlib import Path

import pytest

from cases.cli import main
from cases.play_options import OptionsError
from cases.results import ORDERS, RunResult
from cases.run import run_case
from cases.schema import Case
from cases.studies import command
from cases.studies.compare import Comparison, Member, compare_table, matched, moment_to_force
from fem.status import NoEquilibrium, Status
from tests.shipped import case, solved
from tests.studied import compared

LIBRARY = Path(__file__).resolve().parents[2] / "cases" / "library"
Capture = pytest.CaptureFixture[str]


def renamed(one: Case, *names: str) -> Case:
    specs = tuple(replace(spec, name=name) for spec, name in zip(one.attachments, names, strict=True))
    return replace(one, attachments=specs)


def test_attachments_of_one_name_belong_together() -> None:
    groups = matched([case("torque-through-play"), case("torque-round-wire")])
    assert [group.label for group in groups] == ["central incisor bracket", "lateral incisor bracket"]
    assert all(set(group.by_letter) == {"A", "B"} for group in groups)


def test_else_those_on_one_tooth() -> None:
    base = case("torque-through-play")
    groups = matched([base, renamed(base, "first", "second")])
    assert [group.label for group in groups] == [
        "central incisor bracket (tooth 21)",
        "lateral incisor bracket (tooth 22)",
    ]
    assert groups[0].by_letter == {"A": "central incisor bracket", "B": "first"}


def test_a_name_goes_before_a_tooth() -> None:
    base = case("torque-through-play")
    crossed = renamed(base, "lateral incisor bracket", "central incisor bracket")
    groups = matched([base, crossed])
    assert all(name == group.label for group in groups for name in group.by_letter.values())


def test_what_has_no_partner_stands_alone_and_is_said() -> None:
    found = compared("molar-uprighting", "v-bend")
    labels = {group.label: set(group.by_letter) for group in found.groups}
    assert labels["molar tube"] == {"A"} and labels["molar bracket"] == {"B"}
    assert labels["premolar hook (tooth 45)"] == {"A", "B"}
    assert "Only in A: molar tube." in found.remarks() and "Only in B: molar bracket." in found.remarks()


def test_cases_with_nothing_in_common_are_refused() -> None:
    base = case("step-bend-clamped")
    with pytest.raises(OptionsError, match="none of its attachments .*give attachments that belong together"):
        matched([base, renamed(base, "left", "right")])


@pytest.mark.parametrize("count", [1, 7])
def test_how_many(count: int) -> None:
    with pytest.raises(OptionsError, match=f"{count} case"):
        matched([case("v-bend")] * count)


def test_the_table_holds_the_numbers_of_each_run(tmp_path: Path) -> None:
    names = ("torque-through-play", "torque-round-wire")
    found = compared(*names)
    path = compare_table(found).write(tmp_path / "compare.csv")
    with path.open(encoding="utf-8", newline="") as file:
        records = {(record["name_in_case"], record["case"]): record for record in csv.DictReader(file)}
    assert len(records) == 4
    for letter, name in zip("AB", names, strict=True):
        result = solved(name)
        for item in result.attachments:
            record = records[item.name, letter]
            assert record["status"] == result.status and record["tooth"] == item.tooth
            assert float(record["force_n"]) == math.hypot(*item.force_n)
            assert [float(record[f"force_{axis}_n"]) for axis in "xyz"] == list(item.force_n)
            for order in ORDERS:
                assert float(record[f"{order}_order_moment_nmm"]) == item.orders[order].moment_nmm
                told = record[f"{order}_order_carries_couple"]
                assert told == ("yes" if item.orders[order].carries_couple else "no")
    # to a torque belongs no force across the tooth's axis, to a wire in its play nothing at all
    assert all(record["moment_to_force_mm"] == "" for record in records.values())


def test_moment_to_force_is_the_distance_in_a_one_couple_system() -> None:
    """Statics: the couple about the tube's centre is the force at the hook times its distance."""
    result = solved("molar-uprighting")
    tube, hook = result.attachment("molar tube"), result.attachment("premolar hook")
    found = moment_to_force(tube)
    assert found == pytest.approx(math.dist(tube.moment_about_mm, hook.moment_about_mm), rel=1e-3)
    assert moment_to_force(hook) is None


def test_the_same_case_twice_is_the_same_twice(tmp_path: Path, capsys: Capture) -> None:
    path = str(LIBRARY / "v-bend.toml")
    out = tmp_path / "out"
    assert main(["compare", path, path, "--out", str(out)]) == 0
    said = capsys.readouterr()
    assert said.err == "" and "A: A V-bend a third" in said.out and "not a treatment plan" in said.out
    assert sorted(one.name for one in out.iterdir()) == ["compare.csv", "compare.png", "compare.svg"]
    with (out / "compare.csv").open(encoding="utf-8") as file:
        rows = [{k: v for k, v in record.items() if k != "case"} for record in csv.DictReader(file)]
    assert rows[0::2] == rows[1::2] and len(rows) == 4


def test_without_a_folder_nothing_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    monkeypatch.chdir(tmp_path)
    assert (
        main(["compare", *[str(LIBRARY / f"torque-{name}.toml") for name in ("through-play", "round-wire")]])
        == 0
    )
    out = capsys.readouterr().out
    assert "central incisor bracket" in out and "passive" in out and "Nothing was written" in out
    assert not list(tmp_path.iterdir())


def test_a_case_without_equilibrium_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    def some(one: Case) -> RunResult:
        if one.path.stem == "torque-round-wire":
            raise NoEquilibrium(Status.TOO_MANY_ITERATIONS, 0.5, (), None)  # type: ignore[arg-type]
        return run_case(one)

    monkeypatch.setattr(command, "run_case", some)
    paths = [str(LIBRARY / f"torque-{name}.toml") for name in ("through-play", "round-wire")]
    out = tmp_path / "out"
    assert main(["compare", *paths, "--out", str(out)]) == 4
    said = capsys.readouterr()
    assert "B: no equilibrium found." in said.out and "50 % of the activation" in said.err
    with (out / "compare.csv").open(encoding="utf-8") as file:
        records = [record for record in csv.DictReader(file) if record["case"] == "B"]
    assert [record["status"] for record in records] == ["no equilibrium found"] * 2
    assert all(record["force_n"] == "" for record in records)
    assert main(["compare", paths[1], paths[1], "--out", str(tmp_path / "none")]) == 3
    assert not (tmp_path / "none").exists()


def test_unstable_and_overworked_wires_are_told() -> None:
    result = solved("v-bend")
    shaky = replace(result, status="unstable")
    yielding = replace(result, wire=replace(result.wire, yield_share=1.5))
    one = case("v-bend")
    groups = matched([one, one])
    found = Comparison((Member("A", one, shaky), Member("B", one, yielding)), groups)
    remarks = found.remarks()
    assert remarks[0] == "A is unstable: do not use its figures."
    assert remarks[1].startswith("B passes yield (150 %)")


@pytest.mark.parametrize(
    ("paths", "said"),
    [
        (["v-bend.toml"], "two to six"),
        (["v-bend.toml", "no-such.toml"], "there is no such file"),
        (["v-bend.toml", "torque-through-play.toml"], "belong together"),
    ],
)
def test_wrong_cases(paths: list[str], said: str, capsys: Capture) -> None:
    assert main(["compare", *[str(LIBRARY / path) for path in paths]]) == 2
    assert said in capsys.readouterr().err
