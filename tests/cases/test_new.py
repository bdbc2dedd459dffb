"""``wireslot new``: the template is sound, runs, does what its remarks say, and teaches every key."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from cases.casefile import load_case, parse_case
from cases.cli import main
from cases.errors import CaseFileError
from cases.materials import library
from cases.read_shapes import KINDS, LOOP_SIZES
from cases.reader import Table
from cases.run import run_case
from cases.template import TEMPLATE
from cases.tooth_table import COLUMNS
from cases.units import UNITS
from geometry.wire_shapes import Bend, PassiveShape, Twist


@pytest.fixture
def template(tmp_path: Path) -> Path:
    path = tmp_path / "case.toml"
    assert main(["new", str(path)]) == 0
    return path


def test_it_is_written_and_checks_without_a_warning(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    template = tmp_path / "a case.toml"
    assert main(["new", str(template)]) == 0
    said = capsys.readouterr()
    assert f"case file written: {template}" in said.out and f"wireslot check '{template}'" in said.out
    assert main(["check", str(template)]) == 0
    said = capsys.readouterr()
    assert said.out.startswith("case is valid:") and "warning" not in said.out and said.err == ""
    assert load_case(template).warnings == ()


def test_it_says_what_it_is(template: Path) -> None:
    text = template.read_text(encoding="utf-8")
    assert "invented" in load_case(template).title
    for words in ("AN INVENTED EXAMPLE", "no patient identifiers", "not a treatment plan"):
        assert words in text


def test_it_runs_and_does_what_its_remarks_say(template: Path) -> None:
    """Raised to the hook, the arm presses the canine gingivally (-y in the lower arch): intrusion, by its words.

    Statics alone: one couple, so it is the force times the distance of the hook, and the molar gets the
    opposite force.
    """
    result = run_case(load_case(template))
    molar, canine = result.attachment("molar tube"), result.attachment("canine hook")
    assert result.status == "engaged"
    assert "intrusion" in canine.words[0] and canine.force_n[1] < 0.0
    assert not any(canine.moment_nmm)
    assert "extrusion" in molar.words[0]
    assert np.add(molar.force_n, canine.force_n) == pytest.approx(np.zeros(3), abs=1e-6)
    assert molar.orders["second"].carries_couple and "distal crown tip" in molar.orders["second"].words
    assert not molar.orders["first"].carries_couple and not molar.orders["third"].carries_couple
    arm = np.subtract(canine.moment_about_mm, molar.moment_about_mm)
    turning = np.cross(arm, canine.force_n) + molar.moment_nmm
    assert turning == pytest.approx(np.zeros(3), abs=1e-5)
    assert result.wire.yield_share is not None and result.wire.yield_share < 1.0


def _alternatives() -> Iterator[str]:
    """The template with each of its other ways of saying something put to use, one at a time."""
    lines = TEMPLATE.splitlines()
    other = re.compile(r"( *)# ((?:[a-z_]+ = |\{ ).*)")
    for i, line in enumerate(lines):
        found = other.fullmatch(line)
        if found is None:
            continue
        used = found[1] + found[2]
        kept = [*lines[:i], used, *lines[i + 1 :]]
        key = used.split(" = ")[0].strip()
        if key.startswith("about_"):  # never mixed with the words of the trade
            rid = ("rotation", "angulation", "inclination")
        else:
            rid = (key,) if not key.startswith("{") else ()
        yield "\n".join(
            text for j, text in enumerate(kept) if j == i or text.split(" = ")[0].strip() not in rid
        )


ALTERNATIVES = list(_alternatives())


def test_there_are_alternatives() -> None:
    """Two material tables, a round section and one of strands, twelve pieces, three raw angles; another slot, three
    ligations, walls that give way, friction, a thread, an order of tying in, a snap; a tooth that gives way, in two
    ways."""
    assert len(ALTERNATIVES) == 30


@pytest.mark.parametrize("text", ALTERNATIVES)
def test_every_remark_that_looks_like_a_key_works(text: str) -> None:
    assert text != TEMPLATE
    assert parse_case(text, Path("case.toml")).warnings == ()


def test_it_teaches_every_key_unit_kind_and_alloy(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every key that the reader knows is asked of the reader itself, so that a new one is not forgotten here."""
    known: set[str] = set()
    only = Table.only

    def listen(self: Table, *names: str) -> None:
        known.update(names)
        only(self, *names)

    monkeypatch.setattr(Table, "only", listen)
    for text in (TEMPLATE, *ALTERNATIVES):
        parse_case(text, Path("case.toml"))
    assert {"title", "diameter", "edge_radius", "about_x", "over", "hold_roll", "increments"} <= known
    lengths_angles_stresses = {
        name for name, (kind, _) in UNITS.items() if kind in ("length", "angle", "stress")
    }
    words = set(re.findall(r"[A-Za-z_][\w-]*", TEMPLATE))
    assert known - words == set()
    assert set(library()) - words == set()
    assert lengths_angles_stresses - words == set()
    assert {"bracket", "tube", "button", "clamp", "start", "middle", "end", "first", "second"} <= words
    # These name files that are not there.
    assert {*KINDS, *LOOP_SIZES, "tolerance", *(f"{axis}_mm" for axis in "xyz"), "twist_deg"} <= words
    columns = {re.sub("_(mm|in|deg)$", "", word) for word in words}
    assert set(COLUMNS) - columns == {"centre_of_resistance_y", "centre_of_resistance_z"}


def test_its_remarks_on_signs_are_true() -> None:
    """ "+ turns the wire up", "+ turns it away from you (from +x to -z)", "+ turns the height towards the depth"."""

    def end_axes(*pieces: Bend | Twist) -> np.ndarray:
        shape = PassiveShape(pieces)
        return shape.frames(np.array([shape.length]))[1][0]

    quarter = 0.5 * np.pi
    assert end_axes(Bend(quarter, "second", 1.0))[:, 0] == pytest.approx([0.0, 1.0, 0.0], abs=1e-12)
    assert end_axes(Bend(quarter, "first", 1.0))[:, 0] == pytest.approx([0.0, 0.0, -1.0], abs=1e-12)
    assert end_axes(Twist(quarter, 1.0))[:, 1] == pytest.approx([0.0, 0.0, 1.0], abs=1e-12)


def test_a_slip_in_it_is_found_at_its_line(template: Path) -> None:
    text = TEMPLATE.replace('"-25 deg"', "-25")
    line = 1 + text[: text.index("bend = -25")].count("\n")
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, template)
    assert [problem.line for problem in caught.value.problems] == [line]


def test_nothing_is_overwritten_without_force(template: Path, capsys: pytest.CaptureFixture[str]) -> None:
    template.write_text("mine", encoding="utf-8")
    assert main(["new", str(template)]) == 2
    assert template.read_text(encoding="utf-8") == "mine"
    err = capsys.readouterr().err
    assert f"{template} exists already" in err and "--force" in err
    assert main(["new", str(template), "--force"]) == 0
    assert template.read_text(encoding="utf-8") == TEMPLATE
    assert [path.name for path in template.parent.iterdir()] == ["case.toml"]


def test_folders_on_the_way_are_made(tmp_path: Path) -> None:
    assert main(["new", str(tmp_path / "a" / "b" / "case.toml")]) == 0
    assert load_case(tmp_path / "a" / "b" / "case.toml").path.exists()


def test_a_place_that_cannot_be_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    assert main(["new", str(tmp_path / "file" / "case.toml")]) == 2
    assert "cannot be written" in capsys.readouterr().err
    assert main(["new", str(tmp_path), "--force"]) == 2
    assert (
        f"is a folder, expected the name of a case file; write {tmp_path / 'case.toml'}"
        in capsys.readouterr().err
    )
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
    assert (tmp_path / "file").read_text(encoding="utf-8") == "mine"
