"""Target files that are refused before anything runs: line, key, what is wrong and what to do."""

from __future__ import annotations

from pathlib import Path

import pytest

from cases.casefile import LIBRARY
from cases.cli import main
from cases.errors import CaseFileError
from cases.target.targetfile import load_target
from tests.target_texts import BEND, UPRIGHTING, V_BEND, between, target_of, text_of, unknown, wanted

AGAINST = "against = 'wire.passive_shape[3].straight'"
GOOD = between(BEND, "-40 deg", "-8 deg")
WISH = wanted("molar bracket", "1000 gfmm", "60 gfmm", moment="second")


@pytest.mark.parametrize(
    ("parts", "key", "said", "remedy"),
    [
        ((between("wire.passive_shap[2].bend", "-40 deg", "-8 deg"), WISH),
         "unknown 1: key", "passive_shap", "did you mean"),
        ((between("wire.passive_shape[7].bend", "-40 deg", "-8 deg"), WISH),
         "unknown 1: key", "has 3 items", "from 1 to 3"),
        ((between("wire.passive_shape[2].bnd", "-40 deg", "-8 deg"), WISH),
         "unknown 1: key", 'unknown key "bnd"', "did you mean"),
        ((between(BEND, "-8 deg", "-40 deg"), WISH), "unknown 1: most", "reversed", "exchange"),
        ((between(BEND, "-8 deg", "-8 deg"), WISH), "unknown 1: most", "reversed or equal", "exchange"),
        ((between(BEND, "-40 mm", "-8 mm"), WISH), "unknown 1: key", "expected an angle", "deg"),
        ((between(BEND, "-40 deg", "-8 mm"), WISH), "unknown 1: most", "expected an angle", "deg"),
        ((unknown(BEND, 'least = "-40 deg"'), WISH), "unknown 1: most", "needs both bounds", "values"),
        ((unknown(BEND), WISH), "unknown 1", "got neither", "least"),
        ((unknown(BEND, 'least = "-40 deg"', 'values = ["-8 deg"]'), WISH), "unknown 1", "got both", "least"),
        ((unknown("wire.material", "values = []"), WISH),
         "unknown 1: values", "the list is empty", "values ="),
        ((unknown("wire.material", 'values = ["stainless-stel"]'), WISH),
         "unknown 1: values", "no such alloy", "did you mean"),
        ((unknown(BEND, 'values = ["-8 deg", "-8 deg"]'), WISH), "unknown 1: values 2", "twice", "once"),
        ((GOOD, between(BEND, "-10 deg", "-8 deg", 'name = "b"'), WISH), "unknown 2: key", "already", "once"),
        ((unknown("attachment[1].name", 'values = ["a"]'), WISH),
         "unknown 1: key", "nothing to search", "another"),
        ((GOOD + '\nagainst = "wire.passive_shape[1].straight"', WISH),
         "unknown 1: against", "only one length", "leave"),
        ((between("wire.passive_shape[1].straight", "1 mm", "90 mm", AGAINST), WISH),
         "unknown 1: key", "must be greater than zero", "write"),
        ((WISH,), "unknown", "no [[unknown]] at all", "add at least one"),
        ((GOOD,), "wanted", "no [[wanted]] at all", "add at least one"),
        ((GOOD, wanted("molar brackt", "1 N", "1 N", force="y")),
         "wanted 1: attachment", "none called", "did you mean"),
        ((GOOD, wanted("molar bracket", "1 N", "1 N", force="up")),
         "wanted 1: force", "expected an axis", "write"),
        ((GOOD, wanted("molar bracket", "1 N", "1 N", moment="second")),
         "wanted 1: value", "expected a moment", "Nmm"),
        ((GOOD, wanted("molar bracket", "1 Nmm", "1 Nmm", moment="z", force="y")),
         "wanted 1: value", "expected a length", "mm"),
        ((GOOD, wanted("molar bracket", "1 N", "0 N", force="y")),
         "wanted 1: tolerance", "greater than zero", "write"),
        ((GOOD, wanted("molar bracket", "1 N", "1 N")),
         "wanted 1", "neither a force nor a moment", "force ="),
        ((GOOD, WISH, WISH), "wanted 2", "asks for the same", "once"),
        ((GOOD, wanted("molar bracket", "1 Nmm", "1 Nmm", moment="z", about="centre of resistance")),
         "wanted 1: about",
         "no centre of resistance", "add centre_of_resistance"),
        ((GOOD, WISH, "[limits]\nstres = '900 MPa'"), "limits: stres", "unknown key", 'did you mean "stress"'),
        ((GOOD, WISH, "[limits]\nstress = '-900 MPa'"), "limits: stress", "greater than zero", "write"),
        ((GOOD, WISH, "[search]\nstarts = 0"), "search: starts", "the number of starts", "from 1 to"),
        ((GOOD, WISH, "[bending_error]\nangle = '1 mm'"), "bending_error: angle", "expected an angle", "deg"),
    ],
)  # fmt: skip
def test_a_wrong_target_is_refused(
    tmp_path: Path, parts: tuple[str, ...], key: str, said: str, remedy: str
) -> None:
    with pytest.raises(CaseFileError) as caught:
        target_of(tmp_path, *parts)
    told = {problem.key.replace(".", ": "): problem for problem in caught.value.problems}
    assert key in told, str(caught.value)
    problem = told[key]
    assert said in problem.message and remedy in problem.remedy, str(problem)
    assert problem.line is not None or key in ("unknown", "wanted")


def test_all_problems_are_told_at_once(tmp_path: Path) -> None:
    parts = (
        between(BEND, "-8 deg", "-40 deg"),
        wanted("molar", "1 gf", "1 gf", force="q"),
        "[serch]\nstarts = 1",
    )
    with pytest.raises(CaseFileError) as caught:
        target_of(tmp_path, *parts)
    assert len(caught.value.problems) == 4


def test_a_case_that_is_not_there_or_not_sound(tmp_path: Path) -> None:
    with pytest.raises(CaseFileError, match="there is no file"):
        target_of(tmp_path, GOOD, WISH, case=tmp_path / "none.toml")
    bad = tmp_path / "bad.toml"
    bad.write_text(
        V_BEND.read_text(encoding="utf-8").replace("beta-titanium", "beta-titanum"), encoding="utf-8"
    )
    with pytest.raises(CaseFileError, match="no such alloy") as caught:
        target_of(tmp_path, GOOD, WISH, case=bad)
    assert caught.value.path == bad


def test_cases_whose_end_is_not_a_state_are_refused(tmp_path: Path) -> None:
    alloys = unknown("wire.material", 'values = ["stainless-steel"]')
    with pytest.raises(CaseFileError, match="bench test"):
        target_of(
            tmp_path,
            alloys,
            wanted("bracket", "1 Nmm", "1 Nmm", moment="third"),
            case=LIBRARY / "torque-test.toml",
        )
    following = tmp_path / "follow.toml"
    text = UPRIGHTING.read_text(encoding="utf-8").replace(
        "stop = true", 'support = "typical"\nstop = true', 1
    )
    following.write_text(text + '\n[[stage]]\nfollow = "50 %"\n', encoding="utf-8")
    with pytest.raises(CaseFileError, match="teeth follow"):
        target_of(tmp_path, GOOD, wanted("molar tube", "1 N", "1 N", force="y"), case=following)


def test_nothing_is_written_for_a_wrong_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, out = tmp_path / "target.toml", tmp_path / "out"
    path.write_text(text_of(between(BEND, "-8 deg", "-40 deg"), WISH), encoding="utf-8")
    assert main(["target", str(path), "--out", str(out)]) == 2
    said = capsys.readouterr().err
    assert str(path) in said and "line 6, unknown 1: most" in said and "exchange" in said
    assert not out.exists()
    assert main(["target", str(path), "--out", str(out), "--jobs", "0"]) == 2
    assert "at least one job" in capsys.readouterr().err
    path.write_text(text_of(GOOD, WISH), encoding="utf-8")
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert main(["target", str(path), "--out", str(tmp_path / "file")]) == 2


def test_a_wire_that_does_not_fit_is_for_the_search(tmp_path: Path) -> None:
    """A bound at which the wire is larger than the slot is no mistake of the file."""
    target = target_of(tmp_path, between("wire.section.height", "0.016 in", "0.024 in"), WISH)
    assert target.unknowns[0].start == pytest.approx(0.016)
    assert load_target(target.path).unknowns == target.unknowns
