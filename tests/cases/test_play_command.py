"""``wireslot play``: what it prints agrees with published tables; its options say what is wrong with them."""

from __future__ import annotations

import csv
import math
import re
from pathlib import Path

import pytest

from cases.cli import main

Capture = pytest.CaptureFixture[str]
SLOT_22 = ("--height", "0.022 in", "--depth", "0.028 in", "--width", "3 mm")
SLOT_18 = ("--height", "0.018 in", "--depth", "0.025 in", "--width", "3 mm")
# Both are printed to 0.01 deg: half of that for the total, and twice half of it for two one-sided angles.
TOTAL = 0.0151


def play(capsys: Capture, *options: str) -> str:
    assert main(["play", *options]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    return said.out


def row(out: str, order: str) -> tuple[float, float, str]:
    """One-sided, total, walls."""
    found = re.search(rf"^{order} order \([a-z]+ view\) +([\d.]+) +([\d.]+)  (.*)$", out, re.MULTILINE)
    assert found is not None, out
    return float(found[1]), float(found[2]), found[3]


@pytest.mark.parametrize(
    ("wire", "angle"), [("0.019 x 0.019 in", 9.96), ("0.019 x 0.022 in", 8.37), ("0.019 x 0.025 in", 7.24)]
)
def test_published_torque_play(wire: str, angle: float, capsys: Capture) -> None:
    """Papageorgiou et al., Prog. Orthod. 17 (2016) 5, table 6, after Dellinger (1978): slots of 0.022 in."""
    one, total, walls = row(play(capsys, *SLOT_22, "--wire", wire), "third")
    assert one == pytest.approx(angle, abs=0.01)
    assert total == pytest.approx(2.0 * one, abs=TOTAL)
    assert walls == "upper wall and lower wall"


def test_a_full_size_wire_has_no_torque_play(capsys: Capture) -> None:
    """The same table: 0.018 in in a slot of 0.018 in, none."""
    assert row(play(capsys, *SLOT_18, "--wire", "0.018 x 0.022 in"), "third")[:2] == (0.0, 0.0)


@pytest.mark.parametrize(
    ("size", "slot", "width"),
    [("0.016", "0.018", "0.1008"), ("0.018", "0.022", "0.1037"), ("0.019", "0.022", "0.150")],
)
def test_critical_contact_angle(size: str, slot: str, width: str, capsys: Capture) -> None:
    """Kusy & Whitley, Eur. J. Orthod. 21 (1999) 199: 57.32 (1 - SIZE/SLOT)/(WIDTH/SLOT) deg, simplified (1 %)."""
    options = (
        "--height",
        f"{slot} in",
        "--depth",
        "0.030 in",
        "--width",
        f"{width} in",
        "--wire",
        f"{size} in",
    )
    simplified = 57.32 * (1.0 - float(size) / float(slot)) / (float(width) / float(slot))
    one, total, walls = row(play(capsys, *options), "second")
    assert one == pytest.approx(simplified, rel=0.01)
    assert total == pytest.approx(2.0 * one, abs=TOTAL)
    assert walls == "upper wall and lower wall"


def test_first_order_is_stopped_in_depth(capsys: Capture) -> None:
    """Hand: D cos t - W sin t = w with D 0.7112, W 3, w 0.635 mm."""
    one, _, walls = row(play(capsys, *SLOT_22, "--wire", "0.019 x 0.025 in"), "first")
    t = math.radians(one)
    assert 0.7112 * math.cos(t) - 3.0 * math.sin(t) == pytest.approx(0.635, abs=3e-4)  # t is read to 0.01 deg
    assert walls == "floor and outer wall"


def test_depth_can_govern_and_the_height_alone_is_given_too(capsys: Capture) -> None:
    """Hand, in inches: 0.025 cos g + 0.017 sin g = 0.028 at 12.06 deg;

    by the height alone, 0.017 cos g + 0.025 sin g = 0.022 at 12.48 deg.
    """
    out = play(capsys, *SLOT_22, "--wire", "0.017 x 0.025 in")
    one, _, walls = row(out, "third")
    g = math.radians(one)
    assert 0.025 * math.cos(g) + 0.017 * math.sin(g) == pytest.approx(0.028, abs=2e-6)
    assert walls == "floor and outer wall"
    alone = re.search(r"only its height counts, as in most published tables: ([\d.]+)\s+deg", out)
    assert alone is not None
    g = math.radians(float(alone[1]))
    assert 0.017 * math.cos(g) + 0.025 * math.sin(g) == pytest.approx(0.022, abs=3e-6)


@pytest.mark.parametrize("tilt", ["1 deg", "-1 deg", "0.0174533 rad"])
def test_a_tilt_eats_torque_play(tilt: str, capsys: Capture) -> None:
    """Hand: H cos t - W sin t = 0.51514 mm is left of 0.5588 mm; 0.4826 cos g + 0.635 sin g reaches it at 1.69 deg."""
    options = (
        "--height",
        "0.022 in",
        "--depth",
        "0.028 in",
        "--width",
        "0.130 in",
        "--wire",
        "0.019 x 0.025 in",
    )
    left = 0.5588 * math.cos(math.radians(1.0)) - 3.302 * math.sin(math.radians(1.0))
    out = " ".join(play(capsys, *options, f"--second-tilt={tilt}").split())
    found = re.search(r"Tilted 1 deg in second order: ([\d.]+) deg of third-order play left either way", out)
    assert found is not None
    g = math.radians(float(found[1]))
    assert 0.4826 * math.cos(g) + 0.635 * math.sin(g) == pytest.approx(left, abs=2e-4)
    assert found[1] == "1.69"
    assert row(play(capsys, *options), "third")[0] == 7.24


def test_tilts_in_both_orders(capsys: Capture) -> None:
    """A tilt in first order uses up depth, of which this wire has so much to spare that nothing changes."""
    options = ("--height", "0.022 in", "--depth", "0.040 in", "--width", "3 mm", "--wire", "0.019 x 0.025 in")
    one = " ".join(play(capsys, *options, "--second-tilt", "1 deg").split())
    both = " ".join(play(capsys, *options, "--second-tilt", "1 deg", "--first-tilt", "0.5 deg").split())
    found = re.search(r"in second order: ([\d.]+ deg) of third", one)
    assert found is not None
    assert (
        f"Tilted 1 deg in second order and 0.5 deg in first order: {found[1]} of third-order play left"
        in both
    )


def test_a_tilt_out_of_reach_is_said(capsys: Capture) -> None:
    out = " ".join(play(capsys, *SLOT_22, "--wire", "0.019 x 0.025 in", "--second-tilt", "3 deg").split())
    assert (
        "Tilted 3 deg in second order: a straight wire cannot be, the slot stops it at 1.45 deg in second"
        in out
    )


def test_a_round_wire_turns_freely(capsys: Capture) -> None:
    out = play(capsys, *SLOT_22, "--wire", "0.018 in", "--second-tilt", "1 deg")
    assert "Third order: the wire turns freely." in out
    assert re.search(r"third order \(mesiodistal view\) +free +free  nothing: the wire turns freely", out)
    assert "the wire still turns freely in third order" in out


def test_a_square_wire_with_round_edges_turns_freely(capsys: Capture) -> None:
    """Hand: its diagonal, sqrt(2) (0.016 - 2 r) + 2 r, is below 0.018 in from r = 0.0056 in on."""
    for radius, free in (("0.0055 in", False), ("0.0057 in", True)):
        out = play(capsys, *SLOT_18, "--wire", "0.016x0.016in", "--edge-radius", radius)
        assert ("Third order: the wire turns freely." in out) is free


def test_a_wire_that_does_not_fit(capsys: Capture) -> None:
    out = play(capsys, *SLOT_18, "--wire", "0.019 x 0.025 in")
    assert "The wire does not fit: it is 0.025 mm higher than the slot." in out  # 0.001 in
    assert "deg" not in out


@pytest.mark.parametrize(
    "wire", ["0.019 x 0.025 in", "0.019 in x 0.025 in", "0.019x0.025in", "0.4826 mm × 0.635 mm"]
)
def test_ways_to_write_a_wire(wire: str, capsys: Capture) -> None:
    out = play(capsys, *SLOT_22, "--wire", wire)
    assert out.startswith("Wire: 0.483 x 0.635 mm, sharp edges (0.019 x 0.025 in)\n")
    assert "Slot: 0.559 mm high, 0.711 mm deep, 3 mm wide (0.022 x 0.028 in), closed on all four sides" in out


def test_a_unit_slip_is_doubted(capsys: Capture) -> None:
    out = play(capsys, "--height", "22 mm", "--depth", "28 mm", "--width", "3 mm", "--wire", "16 mm")
    assert "warning: --height: the slot's height, 22 mm, is far from usual; did you mean 0.022 in?" in out
    assert "warning: --wire: the wire's size, 16 mm, is far from usual; did you mean 0.016 in?" in out


# Third-order play by the height of the slot, sharp edges, in degrees: roots of h cos g + w sin g = H, computed
# independently of this program; the published 7.24 (Papageorgiou et al. 2016) is among them.
BY_HEIGHT = {
    ("0.018", "0.016 x 0.016"): 7.70, ("0.018", "0.016 x 0.022"): 5.40, ("0.018", "0.017 x 0.025"): 2.32,
    ("0.018", "0.018 x 0.025"): 0.0, ("0.022", "0.016 x 0.022"): 17.95, ("0.022", "0.017 x 0.025"): 12.48,
    ("0.022", "0.018 x 0.025"): 9.82, ("0.022", "0.019 x 0.025"): 7.24, ("0.022", "0.021 x 0.025"): 2.33,
    ("0.022", "0.0215 x 0.028"): 1.03,
}  # fmt: skip
USUAL_WIRES = [
    "0.016 x 0.016", "0.016 x 0.022", "0.017 x 0.025", "0.018 x 0.025", "0.019 x 0.025", "0.021 x 0.025",
    "0.0215 x 0.028", "round 0.014", "round 0.016", "round 0.018", "round 0.020",
]  # fmt: skip


def test_the_table(capsys: Capture) -> None:
    out = play(capsys, "--table")
    slots = re.split(r"^Slot (0\.\d+) x 0\.\d+ in .*\n", out, flags=re.MULTILINE)[1:]
    assert slots[::2] == ["0.018", "0.022"]
    rows = {}
    for slot, text in zip(slots[::2], slots[1::2], strict=True):
        found = re.findall(r"^  ((?:round )?0\.\d+(?: x 0\.\d+)?) +(.*)$", text, re.MULTILINE)
        assert [wire for wire, _ in found] == USUAL_WIRES
        rows |= {(slot, wire): cells.strip() for wire, cells in found}
    for key, angle in BY_HEIGHT.items():
        assert float(rows[key].split()[3]) == pytest.approx(angle, abs=0.01)
    assert rows["0.022", "0.017 x 0.025"].endswith("floor and outer wall")
    assert rows["0.022", "0.019 x 0.025"].endswith("upper wall and lower wall")
    assert {wire for (slot, wire), cells in rows.items() if cells == "does not fit"} == {
        "0.019 x 0.025", "0.021 x 0.025", "0.0215 x 0.028", "round 0.020",
    }  # fmt: skip
    assert rows["0.022", "round 0.016"].split()[2:] == ["free", "free", "nothing"]


def test_the_table_of_one_slot(capsys: Capture) -> None:
    out = play(capsys, "--table", "--height", "0.020 in", "--width", "4 mm", "--edge-radius", "0.05 mm")
    assert out.count("\nSlot ") == 1 and "Slot 0.020 x 0.028 in (0.508 x 0.711 mm), 4 mm wide" in out
    assert "edges rounded by 0.05 mm" in out


def test_the_table_as_a_file(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "deep" / "play.csv"
    assert str(path) in play(capsys, "--table", "--csv", str(path))
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 22 and [name.name for name in path.parent.iterdir()] == ["play.csv"]
    by_size = {
        tuple(
            round(float(line[name]) / 25.4, 5)
            for name in ("slot_height_mm", "wire_height_mm", "wire_depth_mm")
        )
        + (line["wire_shape"],): line
        for line in rows
    }
    line = by_size[0.022, 0.019, 0.025, "rectangle"]
    assert float(line["third_play_deg"]) == pytest.approx(7.24, abs=0.01)  # Papageorgiou et al. 2016, table 6
    assert float(line["third_play_total_deg"]) == pytest.approx(2.0 * float(line["third_play_deg"]))
    assert line["third_walls"] == "upper wall and lower wall" and line["fits"] == "true"
    assert float(line["height_play_total_mm"]) == pytest.approx(0.003 * 25.4)
    line = by_size[0.022, 0.016, 0.016, "round"]
    assert line["third_play_deg"] == "" and line["third_turns_freely"] == "true" and line["third_walls"] == ""
    line = by_size[0.018, 0.021, 0.025, "rectangle"]
    assert line["fits"] == "false" and line["first_play_deg"] == line["third_play_deg"] == ""
    assert line["third_turns_freely"] == "false"
    assert not any(word in path.read_text(encoding="utf-8") for word in ("nan", "inf", "None"))


def refused(capsys: Capture, *options: str) -> list[str]:
    """The problems, one a line; nothing is printed as a result."""
    assert main(["play", *options]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    head, *lines = said.err.splitlines()
    count = f"{len(lines)} problems" if len(lines) > 1 else "1 problem"
    assert head == f"wireslot: play: {count}"
    return [line.strip() for line in lines]


def test_nothing_given(capsys: Capture) -> None:
    problems = refused(capsys)
    assert [problem.split(":")[0] for problem in problems] == ["--height", "--depth", "--width", "--wire"]
    assert problems[0] == '--height: the slot\'s height is missing; add --height "0.022 in"'


def test_all_problems_at_once(capsys: Capture) -> None:
    problems = refused(
        capsys, "--height", "0.018", "--depth", "0,025 in", "--width", "3 deg", "--wire", "0.016 x 0.022 x 1 in",
        "--edge-radius", "-1 mm", "--second-tilt", "90 deg", "--csv", "x.csv",
    )  # fmt: skip
    for option, words in (
        ("--height", 'got "0.018" without one; write for example "0.018 in" or "0.018 mm"'),
        ("--depth", "with a decimal comma; write a decimal point"),
        ("--width", 'got "3 deg", which is an angle; write it like'),
        ("--wire", "expected one length or two with an x between them"),
        ("--edge-radius", "must be zero or more"),
        ("--second-tilt", "expected less than a right angle, got 90 deg"),
        ("--csv", "add --table"),
    ):
        assert [problem for problem in problems if problem.startswith(f"{option}:") and words in problem]
    assert len(problems) == 7


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--wire", "0.016 in", "--edge-radius", "0.05 mm"), "--edge-radius: a round wire has no edges"),
        (
            ("--wire", "0.016 x 0.022 in", "--edge-radius", "0.3 mm"),
            'at most half the smaller side of the wire (0.2032 mm), got "0.3 mm"; write "0.203 mm" or less',
        ),
        (("--wire", "0 in"), "must be greater than zero"),
        (("--wire", "x 0.022 in"), "expected one length or two"),
        (("--wire", "0.016 inch"), 'did you mean "in"?'),
        (("--wire", "0.016 in", "--first-tilt", "5"), '"5 deg"'),
    ],
)
def test_one_problem(options: tuple[str, ...], words: str, capsys: Capture) -> None:
    (problem,) = refused(capsys, *SLOT_22, *options)
    assert words in problem


def test_the_table_takes_no_single_wire(capsys: Capture) -> None:
    problems = refused(
        capsys, "--table", "--wire", "0.016 in", "--first-tilt", "1 deg", "--edge-radius", "1 mm"
    )
    assert [problem.split(":")[0] for problem in problems] == ["--wire", "--first-tilt", "--edge-radius"]


def test_a_table_that_cannot_be_written_prints_nothing(tmp_path: Path, capsys: Capture) -> None:
    assert main(["play", "--table", "--csv", str(tmp_path)]) == 2
    said = capsys.readouterr()
    assert said.out == "" and f"{tmp_path} cannot be written" in said.err
    assert list(tmp_path.iterdir()) == []
