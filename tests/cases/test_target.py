"""Target searches: what they must find, what statics refuses before them, what they say and write."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from cases.casefile import LIBRARY, load_case, parse_case
from cases.cli import main
from cases.run import run_case
from cases.schema import Case
from cases.show.target_figure import draw_target, spans
from cases.target.bodies import bodies_of
from cases.target.report import told
from cases.target.search import Found, search
from cases.target.solve import bending_slopes, tried
from cases.target.statics import impossible
from cases.target.targetfile import load_target
from tests.shipped import solved
from tests.target_texts import BEND, UPRIGHTING, V_BEND, between, target_of, text_of, unknown, wanted

MOLAR, PREMOLAR = "molar bracket", "premolar bracket"
FIRST = "wire.passive_shape[1].straight"
AGAINST = "against = 'wire.passive_shape[3].straight'"
QUICK = "[search]\nstarts = 1"


def bent_otherwise(folder: Path, bend: str) -> Path:
    """The shipped V-bend with another bend, as a case of its own."""
    path = folder / "case.toml"
    path.write_text(
        V_BEND.read_text(encoding="utf-8").replace('bend = "-20 deg"', f'bend = "{bend}"'), encoding="utf-8"
    )
    return path


def test_the_bend_of_a_forward_case_is_recovered(tmp_path: Path) -> None:
    """To 0.1 deg, from the moments that the shipped case gives, and from a case that is bent otherwise."""
    forward = solved("v-bend")
    wishes = [
        wanted(item.name, f"{item.moment_nmm[2]!r} Nmm", "0.1 Nmm", moment="z")
        for item in forward.attachments
    ]
    case = bent_otherwise(tmp_path, "-33 deg")
    target = target_of(
        tmp_path, "[search]\nstarts = 2", between(BEND, "-40 deg", "-8 deg"), *wishes, case=case
    )
    assert impossible(bodies_of(target), target.wanted) == []
    found = search(target)
    assert found.met == found.starts == 2 and len(found.candidates) == 1
    assert found.candidates[0].candidate.values[0] == pytest.approx(-20.0, abs=0.1)
    assert found.candidates[0].open_ways == 0


def test_bend_and_its_place_are_recovered_together(tmp_path: Path) -> None:
    forward = solved("v-bend")
    wishes = [
        wanted(item.name, f"{item.moment_nmm[2]!r} Nmm", "0.1 Nmm", moment="z")
        for item in forward.attachments
    ]
    case = bent_otherwise(tmp_path, "-30 deg")
    unknowns = between(BEND, "-40 deg", "-8 deg"), between(FIRST, "5 mm", "8 mm", AGAINST)
    found = search(target_of(tmp_path, QUICK, *unknowns, *wishes, case=case))
    bend, place = found.candidates[0].candidate.values
    assert (
        found.met == 1 and bend == pytest.approx(-20.0, abs=0.1) and place == pytest.approx(6.245, abs=0.01)
    )


def test_the_null_of_a_v_bend_lies_at_a_third() -> None:
    """The moment ratio (b - 2a)/(2b - a) of a V-bend between built-in ends is nought at a = L/3; the published table
    has it at 2.3 of 7 mm and 4.6 of 14 mm (Burstone & Koenig, Am. J. Orthod. Dentofacial Orthop. 93 (1988) 59)."""
    target = load_target(LIBRARY / "targets" / "v-bend-null.toml")
    found = search(target)
    assert found.met == found.starts and len(found.candidates) == 1
    half_bend = 0.5 * 0.5 * math.radians(2.0)
    apex = found.candidates[0].candidate.values[0] + half_bend
    assert apex == pytest.approx(14.0 / 3.0, abs=0.01)
    assert apex == pytest.approx(4.6, abs=0.1)


def test_a_wire_from_a_list_and_limits(tmp_path: Path) -> None:
    """Every combination has searches of its own; what is worked too hard does not count."""
    sizes = 'values = ["0.016 in", "0.019 in"]'
    wish = wanted("premolar hook", "-40 gf", "2 gf", force="y")
    parts = (QUICK, between(BEND, "-45 deg", "-3 deg"), unknown("wire.section.height", sizes), wish)
    found = search(target_of(tmp_path, *parts, case=UPRIGHTING))
    assert found.starts == 2 and len(found.candidates) == 2
    stresses = [
        float(one.candidate.trial.found[-1])
        for one in found.candidates
        if one.candidate.trial.found is not None
    ]
    limit = f'[limits]\nstress = "{0.5 * sum(stresses)!r} MPa"'
    fewer = search(target_of(tmp_path, *parts, limit, case=UPRIGHTING))
    assert len(fewer.candidates) == 1 and fewer.met < found.met
    none = search(
        target_of(tmp_path, *parts, f'[limits]\nstress = "{0.5 * min(stresses)!r} MPa"', case=UPRIGHTING)
    )
    assert none.met == 0 and len(none.candidates) == 1
    assert any(line.startswith(("Beyond a limit", "Missed")) for line in told(none))


def test_lists_alone_are_tried_one_by_one(tmp_path: Path) -> None:
    alloys = unknown("wire.material", 'values = ["stainless-steel", "beta-titanium"]')
    wish = wanted(MOLAR, "1200 gfmm", "200 gfmm", moment="second")
    found = search(target_of(tmp_path, alloys, wish))
    assert found.starts == 2 and found.evaluations == 2 and found.met == 1
    assert found.target.unknowns[0].shown(found.candidates[0].candidate.values[0]) == "beta-titanium"


def test_threads_find_the_same(tmp_path: Path) -> None:
    wish = wanted(MOLAR, "900 gfmm", "50 gfmm", moment="second")
    target = target_of(tmp_path, "[search]\nstarts = 2", between(BEND, "-40 deg", "-8 deg"), wish)
    one, two = search(target), search(target, jobs=2)
    assert [judged.candidate.values for judged in one.candidates] == [
        judged.candidate.values for judged in two.candidates
    ]
    assert one.evaluations == two.evaluations


def test_sensitivities_are_those_of_whole_solves(tmp_path: Path) -> None:
    """Of the bend that is searched for, and of one that nobody searches for."""
    wishes = (
        wanted(MOLAR, "1000 gfmm", "50 gfmm", moment="second"),
        wanted(PREMOLAR, "0 gf", "50 gf", force="y"),
    )
    unknowns = (
        between(FIRST, "5 mm", "8 mm", AGAINST, 'name = "place"'),
        between("attachment[2].position.y", "-0.5 mm", "0.5 mm"),
    )
    target = target_of(tmp_path, *unknowns, *wishes)
    trial = tried(target, target.puts([6.245, 0.1]))
    errors, slopes = bending_slopes(target, trial, [6.245, 0.1])
    assert [one.name for one in errors] == ["place", "bend, piece 2"] and all(slopes.exact)
    for j, (one, value, size) in enumerate(zip(errors, (6.245, -20.0), (1e-3, 0.05), strict=True)):
        found = [tried(target, [*trial.puts, *one.puts(value + way * size)]).found for way in (1.0, -1.0)]
        assert found[0] is not None and found[1] is not None
        whole = (found[0] - found[1]) / (2.0 * size)
        # what following leaves in a solve, against a difference this small
        np.testing.assert_allclose(slopes.change[:2, j], whole[:2], rtol=0.02)


def test_with_friction_slopes_are_differences_of_whole_solves(tmp_path: Path) -> None:
    rough = tmp_path / "rough.toml"
    text = V_BEND.read_text(encoding="utf-8").replace('seated_in = "', 'friction = 0.1\nseated_in = "')
    rough.write_text(text, encoding="utf-8")
    wish = wanted(MOLAR, "1000 gfmm", "50 gfmm", moment="second")
    found = search(target_of(tmp_path, QUICK, between(BEND, "-30 deg", "-10 deg"), wish, case=rough))
    assert found.met == 1 and not any(found.candidates[0].slopes.exact)


def test_what_is_open_is_said(tmp_path: Path) -> None:
    unknowns = between(BEND, "-40 deg", "-8 deg"), between(FIRST, "5 mm", "8 mm", AGAINST)
    wish = wanted(MOLAR, "1000 gfmm", "50 gfmm", moment="second")
    found = search(target_of(tmp_path, "[search]\nstarts = 2", *unknowns, wish))
    assert found.met == 2 and len(found.candidates) > 1 and found.candidates[0].open_ways == 1
    assert any("left open" in line for line in told(found))
    strains = [judged.strain(found.tolerances) for judged in found.candidates]
    assert strains == sorted(strains)


def test_an_unknown_that_changes_nothing_is_named(tmp_path: Path) -> None:
    """A wire that slides through its hook does not feel where along it the hook stands."""
    hook = between('attachment["premolar hook"].position.x', "20 mm", "23 mm", 'name = "place of the hook"')
    wish = wanted("premolar hook", "-60 gf", "5 gf", force="y")
    found = search(
        target_of(tmp_path, QUICK, between(BEND, "-45 deg", "-5 deg"), hook, wish, case=UPRIGHTING)
    )
    assert found.met == 1 and found.candidates[0].idle == ("place of the hook",)
    assert "Nothing of what is wanted changes with place of the hook." in told(found)


# --- statics -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("case", "wishes", "said"),
    [
        (
            V_BEND,
            (wanted(MOLAR, "100 gf", "10 gf", force="y"), wanted(PREMOLAR, "100 gf", "10 gf", force="y")),
            "forces on both attachments along y add up to nothing",
        ),
        (
            V_BEND,
            (
                wanted(MOLAR, "100 gf", "10 gf", force="y"),
                wanted(MOLAR, "2000 gfmm", "50 gfmm", moment="second"),
                wanted(PREMOLAR, "2000 gfmm", "50 gfmm", moment="second"),
            ),
            "moments about z add up to nothing",
        ),
        (UPRIGHTING, (wanted("premolar hook", "300 gfmm", "50 gfmm", moment="second"),), "carries no couple"),
        (UPRIGHTING, (wanted("premolar hook", "50 gf", "5 gf", force="x"),), "bears no force along it without a stop"),
        (UPRIGHTING, (wanted("molar tube", "50 gf", "5 gf", force="x"),), "along x add up to nothing"),
        (
            UPRIGHTING,
            (
                wanted("premolar hook", "-50 gf", "5 gf", force="y"),
                wanted("molar tube", "-300 gfmm", "50 gfmm", moment="second"),
            ),
            "moments about z",
        ),
        # the tube's couple is its force times some 22 mm, of one sign whatever the wire
        (UPRIGHTING, (wanted("molar tube", "-22 mm", "1 mm", moment="z", force="y"),), "moments about z"),
    ],
)  # fmt: skip
def test_what_statics_forbids_is_refused_before_any_search(
    tmp_path: Path, case: Path, wishes: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr("cases.target.command.search", lambda *_: pytest.fail("a search was begun"))
    path = tmp_path / "target.toml"
    path.write_text(text_of(between(BEND, "-40 deg", "-8 deg"), *wishes, case=case), encoding="utf-8")
    assert main(["target", str(path), "--out", str(tmp_path / "out")]) == 7
    heard = capsys.readouterr().err
    assert "impossible by statics" in heard and said in heard
    assert not (tmp_path / "out").exists()


def test_a_round_wire_bears_no_torque(tmp_path: Path) -> None:
    case = LIBRARY / "torque-round-wire.toml"
    name = load_case(case).attachments[1].name
    alloys = unknown("wire.material", 'values = ["stainless-steel", "beta-titanium"]')
    target = target_of(tmp_path, alloys, wanted(name, "500 gfmm", "50 gfmm", moment="third"), case=case)
    assert "turns freely" in impossible(bodies_of(target), target.wanted)[0]


CHECKED = (
    "v-bend", "molar-uprighting", "closing-loop", "intrusion-arch-tied", "rotated-premolar", "torque-through-play",
    "one-couple-second-order", "one-couple-third-order", "root-uprighting-spring", "torquing-arch",
    "t-loop-preactivated", "levelling-lower-arch", "transpalatal-arch", "six-geometries-clamped",
)  # fmt: skip


@pytest.mark.parametrize("name", CHECKED)
def test_statics_forbids_nothing_that_happens(name: str, tmp_path: Path) -> None:
    """All that a shipped case gives, wished for together to a thousandth of its largest load."""
    case = LIBRARY / f"{name}.toml"
    result = solved(name)
    force = max(abs(value) for item in result.attachments for value in item.force_n)
    moment = max(abs(value) for item in result.attachments for value in item.moment_nmm)
    wishes = []
    for item in result.attachments:
        for k, axis in enumerate("xyz"):
            wishes.append(wanted(item.name, f"{item.force_n[k]!r} N", f"{1e-3 * force!r} N", force=axis))
            wishes.append(
                wanted(item.name, f"{item.moment_nmm[k]!r} Nmm", f"{1e-3 * moment!r} Nmm", moment=axis)
            )
    alloys = unknown("wire.material", 'values = ["stainless-steel", "beta-titanium"]')
    target = target_of(tmp_path, alloys, *wishes, case=case)
    assert impossible(bodies_of(target), target.wanted) == []


# --- the command ---------------------------------------------------------------------------------------------------


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    path = tmp_path / "target.toml"
    wishes = (
        wanted(MOLAR, "1000 gfmm", "60 gfmm", moment="second"),
        wanted(MOLAR, "9 mm", "1 mm", moment="z", force="y"),
    )
    unknowns = between(BEND, "-40 deg", "-8 deg", 'name = "bend"'), between(FIRST, "5 mm", "8 mm", AGAINST)
    path.write_text(text_of(QUICK, *unknowns, *wishes), encoding="utf-8")
    assert main(["target", str(path), "--out", str(out)]) == 0
    said = capsys.readouterr().out
    for words in (
        "1 of 1 searches",
        "one candidate",
        "bend +1 deg",
        "may be off, alone",
        "not a treatment plan",
    ):
        assert words in said
    names = sorted(file.name for file in out.iterdir())
    assert names == [
        "candidate-1.toml", "candidates.csv", "sensitivity.csv", "target.json", "target.png", "target.svg",
    ]  # fmt: skip
    with (out / "candidates.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    written = json.loads((out / "target.json").read_text(encoding="utf-8"))
    column = "moment_second_molar_bracket_nmm"
    assert list(rows[0])[:3] == ["candidate", "meets", "bend_deg"] and float(rows[0][column]) > 0.0
    assert written["candidates"][0]["found"][column] == float(rows[0][column])
    # the candidate, run as any case is, gives what was wanted
    result = run_case(load_case(out / "candidate-1.toml"))
    molar = result.attachments[0]
    assert molar.orders["second"].moment_nmm == pytest.approx(float(rows[0][column]), rel=1e-9)
    assert molar.orders["second"].moment_nmm == pytest.approx(1000.0 * 9.80665e-3, abs=60.0 * 9.80665e-3)
    assert molar.moment_nmm[2] / molar.force_n[1] == pytest.approx(9.0, abs=1.0)


def test_starts_that_come_to_nothing_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A bent round wire rolls out of its plane: no stable equilibrium, no candidate, and a reason."""
    round_wire = unknown("wire.section", 'values = [{ shape = "round", diameter = "0.016 in" }]')
    path = tmp_path / "target.toml"
    path.write_text(
        text_of(round_wire, wanted("premolar hook", "-40 gf", "2 gf", force="y"), case=UPRIGHTING),
        encoding="utf-8",
    )
    assert main(["target", str(path), "--out", str(tmp_path / "out")]) == 7
    said = " ".join(capsys.readouterr().out.split())
    assert "1 start came to nothing: the equilibrium is unstable" in said and "hold_roll" in said
    assert not (tmp_path / "out" / "candidate-1.toml").exists()


def test_when_nothing_meets_the_nearest_is_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out, path = tmp_path / "out", tmp_path / "target.toml"
    out.mkdir()
    (out / "candidate-7.toml").write_text("of another search", encoding="utf-8")
    wish = wanted(MOLAR, "9000 gfmm", "60 gfmm", moment="second")
    path.write_text(text_of(QUICK, between(BEND, "-30 deg", "-8 deg"), wish), encoding="utf-8")
    assert main(["target", str(path), "--out", str(out), "--no-pictures"]) == 7
    said = " ".join(capsys.readouterr().out.split())
    assert "No candidate meets everything wanted" in said and "Missed: second-order moment" in said
    assert "At a bound" in said
    assert sorted(file.name for file in out.iterdir()) == [
        "candidate-1.toml", "candidates.csv", "sensitivity.csv", "target.json",
    ]  # fmt: skip


def test_a_candidate_of_a_case_with_files_runs_from_its_folder(tmp_path: Path) -> None:
    case = LIBRARY / "levelling-lower-arch.toml"
    first = load_case(case).attachments[0].name
    alloys = unknown("wire.material", 'values = ["stainless-steel", "beta-titanium"]')
    path = tmp_path / "target.toml"
    path.write_text(text_of(alloys, wanted(first, "0 N", "100 N", force="x"), case=case), encoding="utf-8")
    out = tmp_path / "deep" / "out"
    assert main(["target", str(path), "--out", str(out), "--no-pictures"]) == 0
    written: Case = load_case(out / "candidate-1.toml")
    assert [spec.name for spec in written.attachments] == [spec.name for spec in load_case(case).attachments]


def drawn(found: Found) -> tuple[Figure, str]:
    figure = draw_target(found).figure
    return figure, " ".join(text.get_text() for text in figure.findobj(Text))


def test_the_figure(tmp_path: Path) -> None:
    wish = wanted(MOLAR, "1000 gfmm", "50 gfmm", moment="second")
    good = search(target_of(tmp_path, QUICK, between(BEND, "-40 deg", "-8 deg", 'name = "the bend"'), wish))
    figure, text = drawn(good)
    figure.canvas.draw()
    image = np.asarray(figure.canvas.buffer_rgba())  # type: ignore[attr-defined]
    assert (image[..., :3].min(axis=-1) < 250).mean() > 0.01
    assert "1000 \N{PLUS-MINUS SIGN} 50 gfmm" in text and "the bend" in text and "-40 deg" in text
    assert "1 deg of the bend" in text and "exact derivatives" in text and "No candidate" not in text
    ((low, middle, high),) = spans(good)[0]
    assert low < middle < high and abs(middle) < 0.01
    wish = wanted(MOLAR, "9000 gfmm", "50 gfmm", moment="second")
    _, text = drawn(search(target_of(tmp_path, QUICK, between(BEND, "-30 deg", "-8 deg"), wish)))
    assert "No candidate meets everything wanted" in text


def test_shipped_targets_are_sound() -> None:
    """And statics allows them."""
    paths = sorted((LIBRARY / "targets").glob("*.toml"))
    assert len(paths) >= 3
    for path in paths:
        target = load_target(path)
        assert not target.warnings and "invented" in target.title
        assert impossible(bodies_of(target), target.wanted) == []


def test_the_help_holds_a_whole_example(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["target", "--help"]) == 0
    said = capsys.readouterr().out
    for word in ("[[unknown]]", "[[wanted]]", "against", "tolerance", "[limits]", "statics", "Exit codes"):
        assert word in said
    assert max(len(line) for line in said.splitlines()) <= 80


def test_the_written_case_is_the_case(tmp_path: Path) -> None:
    """A case through its tables and back is the same case."""
    from cases.casefile import parsed_toml
    from cases.target.case_text import case_text

    for path in sorted(LIBRARY.glob("*.toml")):
        if path.name == "materials.toml":
            continue
        case = load_case(path)
        text = case_text(parsed_toml(case.source_text, path), case, path.parent, "a remark")
        again = parse_case(text, path)
        for part in ("wire", "attachments", "analysis", "stages", "bench"):
            assert repr(getattr(again, part)) == repr(getattr(case, part)), f"{path.name}: {part}"
