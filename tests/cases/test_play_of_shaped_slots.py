"""``wireslot play`` for slots with tapered walls, rounded mouths and open fronts: its options, its words, its table."""

from __future__ import annotations

import csv
import io
import math

import pytest
from rich.console import Console

from cases.play import csv_text, print_plays
from cases.play_options import OptionsError, Question, read_options

SIZES = {"--height": "0.022 in", "--depth": "0.028 in", "--width": "3 mm"}
WIRE = {"--wire": "0.017 x 0.025 in"}


def said(question: Question) -> str:
    """All that is printed, in one line."""
    file = io.StringIO()
    print_plays(question.plays, question.table, Console(file=file, width=200))
    return " ".join(file.getvalue().split())


def asked(**options: str) -> Question:
    given = {f"--{name.replace('_', '-')}": words for name, words in options.items()}
    return read_options({**SIZES, **WIRE, **given}, False)


def refused(table: bool = False, **options: str) -> list[str]:
    given = {f"--{name.replace('_', '-')}": words for name, words in options.items()}
    with pytest.raises(OptionsError) as error:
        read_options(given if table else {**SIZES, **WIRE, **given}, table)
    return [str(problem) for problem in error.value.problems]


def test_none_of_the_new_options_changes_nothing() -> None:
    plain, spelled = asked(), asked(taper="0 deg", mouth_radius="0 mm", front="closed")
    assert spelled.plays == plain.plays and said(spelled) == said(plain)
    assert "closed on all four sides" in said(plain) and "taper" not in said(plain)


def test_an_open_front_leaves_the_height_alone() -> None:
    """By hand, in inches: 0.017 cos g + 0.025 sin g = 0.022 at 12.48 deg, not 12.06 as the depth has it."""
    out = said(asked(front="open"))
    assert "(0.022 x 0.028 in), open in front" in out
    assert "third order (mesiodistal view) 12.48 24.96 upper wall and lower wall" in out
    assert "first order (occlusal view) free free nothing: the wire turns freely" in out
    assert "as in most published tables" not in out


def test_tilts_are_taken_in_the_open_slot_too() -> None:
    out = said(asked(front="open", second_tilt="1 deg"))
    # By hand: 0.5588 cos t - 3 sin t is left of the height.
    left = 0.5588 * math.cos(math.radians(1.0)) - 3.0 * math.sin(math.radians(1.0))
    found = float(out.split("Tilted 1 deg in second order: ")[1].split(" deg")[0])
    g = math.radians(found)
    assert 0.4318 * math.cos(g) + 0.635 * math.sin(g) == pytest.approx(left, abs=1e-4)


def test_a_taper_is_named_and_counts() -> None:
    out = said(asked(taper="2 deg", mouth_radius="0.1 mm"))
    assert "closed on all four sides, wider in front by a taper of 2 deg, mouths rounded by 0.1 mm" in out
    # Its lower edges stand 0.038 mm above the floor: 2 tan(1 deg) as much is 0.001 mm.
    assert "Play in height: 0.128 mm in all, centred in depth; 0.127 mm on the floor." in out
    assert "Third order on the floor of such a slot, open in front:" in out
    assert "narrower in front by a taper of 1 deg" in said(asked(taper="-1 deg"))


def test_rounded_mouths_give_more_play_in_second_order() -> None:
    """By hand: (H + 2m) cos t - (W - 2m) sin t = h + 2m."""
    out = said(asked(mouth_radius="0.2 mm"))
    t = math.radians(float(out.split("second order (facial view) ")[1].split()[0]))
    assert 0.9588 * math.cos(t) - 2.6 * math.sin(t) == pytest.approx(
        0.8318, abs=3e-4
    )  # t is read to 0.01 deg


def test_the_table_holds_the_shape() -> None:
    question = read_options({"--taper": "2 deg", "--mouth-radius": "0.1 mm", "--front": "open"}, True)
    out = said(question)
    assert "straight wires in slots open in front." in out
    assert out.count("3 mm wide, wider in front by a taper of 2 deg, mouths rounded by 0.1 mm") == 2
    rows = list(csv.DictReader(io.StringIO(csv_text(question.plays))))
    assert len(rows) == 22
    for row in rows:
        assert float(row["slot_taper_deg"]) == pytest.approx(2.0, rel=1e-12)
        assert row["slot_mouth_radius_mm"] == "0.1" and row["slot_front"] == "open"
        assert row["third_play_deg"] == row["third_by_height_alone_play_deg"]


@pytest.mark.parametrize(
    ("name", "words", "problem"),
    [
        ("taper", "40 deg", "--taper: walls at an angle of 40 deg make no slot"),
        ("taper", "2", "2 deg"),
        ("mouth_radius", "-0.1 mm", "--mouth-radius"),
        ("mouth_radius", "1.5 mm", "leave no plane wall in a slot 3 mm wide"),
        ("front", "shut", 'got "shut"'),
        ("front", "opn", 'did you mean "open"?'),
    ],
)
def test_one_problem(name: str, words: str, problem: str) -> None:
    (found,) = refused(**{name: words})
    assert found.startswith(f"--{name.replace('_', '-')}: ") and problem in found


def test_walls_that_meet_before_the_front() -> None:
    (found,) = refused(height="0.3 mm", depth="1 mm", wire="0.2 mm", taper="-20 deg")
    assert found.startswith("--taper: walls that close by 20 deg meet before the front")


def test_problems_of_a_table() -> None:
    (found,) = refused(table=True, mouth_radius="2 mm")
    assert found.startswith("--mouth-radius: mouths rounded by 2 mm leave no plane wall")
