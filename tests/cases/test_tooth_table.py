"""Tooth tables: where their slots come to lie, and every way to get them wrong."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest

from cases.casefile import LIBRARY, load_case, parse_case
from cases.errors import CaseFileError
from cases.run import run_case
from cases.schema import Case
from cases.tooth_table import COLUMNS
from tests.case_texts import attachment, bend, edgewise, straight

RADIUS = 20.0
QUARTERS = f'{{ arc = "90 deg", order = "first", radius = "{RADIUS} mm" }}'
ROUND_ARCH = f'{QUARTERS}, {{ station = "midline" }}, {QUARTERS}'
"""Half a circle, the midline at its front: a wire whose every place is known by hand."""
SLOT_HEADER = "slot_height_in,slot_depth_in,slot_width_mm"
SLOT = "0.022,0.028,3"


def case_text(shape: str, seated_in: str, *others: str, table: bool = True) -> str:
    """A case on lines 1 to 6, then ``others``; its tooth table is named on line 2."""
    return "\n".join(
        (
            'title = "A tooth table (invented)"',
            'tooth_table = "teeth.csv"' if table else "",
            '[wire]\nmaterial = "beta-titanium"',
            f'section = {edgewise(0.41, 0.56, 0.05)}\npassive_shape = [ {shape} ]\nseated_in = "{seated_in}"',
            *others,
        )
    )


def case_with(folder: Path, table: str, text: str) -> Case:
    (folder / "teeth.csv").write_text(table, encoding="utf-8")
    return parse_case(text, folder / "case.toml")


def problems(folder: Path, table: str, text: str) -> list[str]:
    with pytest.raises(CaseFileError) as caught:
        case_with(folder, table, text)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(("right_tooth", "left_tooth", "up"), [("43", "33", 1.0), ("13", "23", -1.0)])
def test_slots_along_a_round_arch_lie_where_a_compass_puts_them(
    tmp_path: Path, right_tooth: str, left_tooth: str, up: float
) -> None:
    """By hand, ``t`` round from the front: (R sin t, 0, R cos t - R), outwards (sin t, 0, cos t).

    Offset is outwards, occlusal is up in the lower arch and down in the upper.  The patient's right is the
    viewer's left.
    """
    t, offset, occlusal = math.radians(40.0), 0.5, 0.3
    place = f"{RADIUS * t!r},{offset},{occlusal},{SLOT}"
    table = f"tooth,from_midline_mm,offset_mm,occlusal_mm,{SLOT_HEADER}\n{left_tooth},{place}\n{right_tooth},{place}"
    case = case_with(tmp_path, table, case_text(ROUND_ARCH, right_tooth))
    assert case.warnings == ()
    assert [spec.name for spec in case.attachments] == [
        right_tooth,
        left_tooth,
    ]  # along the wire, not the table
    for spec, side in zip(case.attachments, (-1.0, 1.0), strict=True):
        assert spec.tooth == spec.name and spec.attachment.kind == "bracket"
        assert spec.attachment.at == pytest.approx(RADIUS * (0.5 * math.pi + side * t), rel=1e-12)
        out = np.array((side * math.sin(t), 0.0, math.cos(t)))
        pose = spec.attachment.pose
        expected = RADIUS * (out - (0.0, 0.0, 1.0)) + offset * out + (0.0, up * occlusal, 0.0)
        np.testing.assert_allclose(pose.position, expected, atol=1e-12)
        along = (math.cos(t), 0.0, -side * math.sin(t))
        np.testing.assert_allclose(pose.axes, np.column_stack((along, (0.0, 1.0, 0.0), out)), atol=1e-12)


def test_angles_turn_the_slot_from_the_wire(tmp_path: Path) -> None:
    """Rotation with + brings the mesial side out, on both sides of the arch: by hand, against the way outwards."""
    place = f"{RADIUS * math.radians(40.0)!r},7,{SLOT}"
    table = f"tooth,from_midline_mm,rotation_deg,{SLOT_HEADER}\n43,{place}\n33,{place}"
    for spec, mesial in zip(
        case_with(tmp_path, table, case_text(ROUND_ARCH, "43")).attachments, (1, -1), strict=True
    ):
        side = spec.attachment.pose.position[0] / abs(spec.attachment.pose.position[0])
        out = np.array((side * math.sin(math.radians(40.0)), 0.0, math.cos(math.radians(40.0))))
        towards_mesial = mesial * spec.attachment.pose.axes[:, 0]
        assert towards_mesial @ out == pytest.approx(math.sin(math.radians(7.0)), abs=1e-12)


def test_a_table_of_positions_is_the_same_as_attachments_one_by_one(tmp_path: Path) -> None:
    """Name, tooth, slot, pose, stop, roll, ligation, friction, support and centre of resistance, to the last digit."""
    shape = straight(30.0)
    angles = {"rotation": 2.0, "angulation": -3.0, "inclination": 11.0}
    own = (
        attachment("tube", "tube", 5.0, 0.0, slot=(0.5, 0.6, 4.0), tooth="47", stop=True, hold_roll=True)
        + '\nsegment = "all"',
        attachment(
            "45",
            "bracket",
            20.0,
            15.2,
            0.3,
            -0.2,
            slot=(0.55, 0.7, 3.0),
            tooth="45",
            centre_of_resistance=(0.0, -9.0, -3.0),
            **angles,
        )
        + '\nligation = "active clip"\nfriction = 0.15\nsupport = "typical"\nsegment = "all"',
    )
    expected = parse_case(case_text(shape, "tube", *own, table=False), tmp_path / "case.toml")
    centre = ",".join(f"centre_of_resistance_{axis}_mm" for axis in "xyz")
    table = (
        "name,tooth,kind,at_mm,x_mm,y_mm,z_mm,rotation_deg,angulation_deg,inclination_deg,slot_height_mm,"
        f"slot_depth_mm,slot_width_mm,stop,hold_roll,ligation,friction,support,segment,{centre}\n"
        ",45,,20,15.2,0.3,-0.2,2,-3,11,0.55,0.7,3,no,,active clip,0.15,typical,all,0,-9,-3\n"
        "tube,47,tube,5,0,0,0,,,,0.5,0.6,4,yes,true,,,,all,,,\n"
    )
    found = case_with(tmp_path, table, case_text(shape, "tube"))
    assert [file.name for file in found.data_files] == ["teeth.csv"]
    for here, there in zip(found.attachments, expected.attachments, strict=True):
        assert (here.name, here.tooth, here.centre_of_resistance) == (
            there.name,
            there.tooth,
            there.centre_of_resistance,
        )
        assert (here.support, here.segment) == (there.support, there.segment)
        a, b = here.attachment, there.attachment
        assert (a.kind, a.at, a.slot, a.stop, a.hold_roll) == (b.kind, b.at, b.slot, b.stop, b.hold_roll)
        assert (a.ligation, a.friction) == (b.ligation, b.friction)
        np.testing.assert_array_equal(a.pose.position, b.pose.position)
        np.testing.assert_array_equal(a.pose.axes, b.pose.axes)


def test_the_place_of_a_position_is_the_nearest_on_the_wire(tmp_path: Path) -> None:
    """The wire goes on beyond the bend at 30 deg; the foot of the perpendicular by hand."""
    shape = ", ".join((straight(10.0), bend(30.0, "second", 1.0), straight(20.0)))
    own = attachment("tube", "tube", 5.0, 0.0, slot=(0.5, 0.6, 4.0), stop=True)
    c, s = math.cos(math.radians(30.0)), math.sin(math.radians(30.0))
    # From the bend's end 12 mm along the arm, then 0.8 mm across it.
    x, y = 5.0 + s + 12.0 * c - 0.8 * s, 1.0 - c + 12.0 * s + 0.8 * c
    table = f"tooth,x_mm,y_mm,z_mm,{SLOT_HEADER}\n45,{x!r},{y!r},0.4,{SLOT}"
    case = case_with(tmp_path, table, case_text(shape, "tube", own))
    assert case.warnings == ()
    assert case.attachments[1].attachment.at == pytest.approx(10.0 + math.radians(30.0) + 12.0, abs=1e-9)


def test_a_slot_far_from_the_wire_is_doubted(tmp_path: Path) -> None:
    own = attachment("tube", "tube", 5.0, 0.0, slot=(0.5, 0.6, 4.0), stop=True)
    table = f"tooth,x_mm,y_mm,z_mm,{SLOT_HEADER}\n45,15,0,25.4,{SLOT}"
    (warning,) = case_with(tmp_path, table, case_text(straight(30.0), "tube", own)).warnings
    assert "teeth.csv row 2, column x_mm: the slot is 25.4 mm from the wire before engagement" in warning


def test_rows_and_attachments_come_in_their_order_along_the_wire(tmp_path: Path) -> None:
    own = [
        attachment("first", "button", "start", 0.0),
        attachment("middle", "clamp", "middle", 15.0),
        attachment("last", "button", "end", 30.0),
    ]
    table = f"tooth,at_mm,{SLOT_HEADER}\n45,22,{SLOT}\n47,6,{SLOT}"
    case = case_with(tmp_path, table, case_text(straight(30.0), "middle", *own))
    assert [spec.name for spec in case.attachments] == ["first", "47", "middle", "45", "last"]


HEADER = f"tooth,at_mm,{SLOT_HEADER}"
ROWS = f"47,6,{SLOT}\n45,22,{SLOT}"
TABLE = f"{HEADER}\n{ROWS}"
NO_PLACE = "nothing says where the slot"


def with_column(header: str, cell: str) -> str:
    """Three rows and more columns, empty but in row 4."""
    empty = SLOT + "," * (1 + header.count(","))
    return f"{HEADER},{header}\n{ROWS.replace(SLOT, empty)}\n44,26,{SLOT},{cell}"


# Content of the table, then row and column, message and remedy as they begin or in part.
BAD = {
    "no tooth column": (f"name,at_mm,{SLOT_HEADER}\na,3,{SLOT}", "", "there is no column tooth", 'like "47"'),
    "no place column": (f"tooth,{SLOT_HEADER}\n47,{SLOT}", "", f"{NO_PLACE}s are", "from_midline_mm"),
    "half a position": (f"tooth,x_mm,{SLOT_HEADER}\n47,3,{SLOT}", "", "a position needs x, y and z", "y_mm, z_mm"),
    "unknown column": (with_column("torque_deg", "3"), "", 'column "torque_deg" is not known', "inclination_deg"),
    "no unit": (with_column("rotation", "3"), "", 'column "rotation" has no unit', '"rotation_deg"'),
    "no such tooth": (f"{TABLE}\n49,26,{SLOT}", "row 4, column tooth", "a tooth is given by its", "two digits"),
    "no tooth": (f"{TABLE}\n,26,{SLOT}", "row 4, column tooth", "there is no tooth", "FDI"),
    "no place": (f"{TABLE}\n44,,{SLOT}", "row 4, column at_mm", f"{NO_PLACE} is", "give at_mm"),
    "a unit": (f"{TABLE}\n44,26 mm,{SLOT}", "row 4, column at_mm", 'expected a number, got "26 mm"', "mm"),
    "off the wire": (f"{TABLE}\n44,31,{SLOT}", "row 4, column at_mm", '"31.0 mm" lies beyond the wire', "at most"),
    "no slot": (
        f"{TABLE}\n44,26,,0.028,3", "row 4, column slot_height_in", "a bracket needs a slot height", "column like",
    ),
    "unknown kind": (
        with_column("kind", "braket"), "row 4, column kind", "expected the kind of attachment", 'mean "bracket"',
    ),
    "neither yes nor no": (
        with_column("stop", "maybe"), "row 4, column stop", 'expected yes or no, got "maybe"', "yes or no",
    ),
    "half a centre": (
        with_column("centre_of_resistance_x_mm,centre_of_resistance_y_mm", "1,2"),
        "row 4, column centre_of_resistance_z", "a place needs x, y and z", "all three",
    ),
    "shift of a position": (
        f"tooth,at_mm,x_mm,y_mm,z_mm,offset_mm,{SLOT_HEADER}\n47,6,,,,,{SLOT}\n45,22,16,0,0,0.2,{SLOT}",
        "row 3, column offset_mm", "offset goes with a place along the wire", "leave it empty",
    ),
    "overlap": (f"{TABLE}\n44,24,{SLOT}", "row 4, column at_mm", "the slots of 45 and 44 overlap", "narrower"),
    "twice": (f"{TABLE}\n45,27,{SLOT}", "row 4, column tooth", 'two attachments are called "45"', "own name"),
    "at the same place": (
        f"tooth,at_mm,{SLOT_HEADER}\n47,6,{SLOT}\n45,6,{SLOT}", "row 3, column at_mm", "the same place as 47",
        "its own position",
    ),
    "at the same place on the wire": (
        f"tooth,at_mm,offset_mm,{SLOT_HEADER}\n47,6,,{SLOT}\n45,6,0.3,{SLOT}", "row 3, column at_mm",
        "the same place on the wire as 47", "its own place",
    ),
    "a decimal comma": (f"{TABLE}\n44,26,5,{SLOT}", "row 4", "6 cells, but the header has 5", "decimal points"),
    "a cell too few": (f"{TABLE}\n44,26,0.022,0.028", "row 4", "4 cells, but the header has 5", "empty ones too"),
    "a column without a name": (
        f"{HEADER},\n{ROWS.replace(SLOT, SLOT + ',')}", "", "column 6 has no name in the header", "delete the column",
    ),
    "quotes left open": (
        f'{TABLE}\n"44,26,{SLOT}\n43,29,{SLOT}', "row 4", "a cell in quotes does not end there but in row 5", "close",
    ),
    "underscore in a number": (f"{TABLE}\n44,2_6,{SLOT}", "row 4, column at_mm", 'expected a number, got "2_6"', "mm"),
    "does not fit": (f"{TABLE}\n44,26,0.014,0.028,3", "row 4, column slot", "the wire (", "smaller wire"),
    "from no midline": (
        f"tooth,at_mm,from_midline_mm,{SLOT_HEADER}\n47,6,,{SLOT}\n45,,3,{SLOT}",
        "row 3, column from_midline_mm", 'the wire has no station "midline"', "station",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_tables(tmp_path: Path, name: str) -> None:
    """Each problem once, with the case file's line, the table's row and column, and what to do."""
    table, place, words, remedy = BAD[name]
    found = problems(tmp_path, table, case_text(straight(30.0), "47"))
    assert len(found) == 1, found
    place = f" {place}: " if place else ": "
    assert found[0].startswith(f"line 2, tooth_table: teeth.csv{place}{words}")
    assert remedy in found[0].split("; ", 1)[1]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (f"33,,45,{SLOT}", "the wire ends 31.42 mm from the midline, got 45 mm"),
        (f"33,,-3,{SLOT}", "a distance from the midline is zero or more, got -3 mm"),
        (f"33,40,5,{SLOT}", "a place along the wire is given twice, by at and from_midline"),
    ],
)
def test_bad_distances_from_the_midline(tmp_path: Path, row: str, words: str) -> None:
    table = f"tooth,at_mm,from_midline_mm,{SLOT_HEADER}\n43,,5,{SLOT}\n{row}"
    (found,) = problems(tmp_path, table, case_text(ROUND_ARCH, "43"))
    assert f"teeth.csv row 3, column from_midline_mm: {words}" in found


def test_rows_off_the_wire_are_not_said_to_be_at_one_place(tmp_path: Path) -> None:
    """Where a row's place cannot be found, nothing is said of where its slot is."""
    table = f"tooth,from_midline_cm,{SLOT_HEADER}\n43,15,{SLOT}\n33,15,{SLOT}\n34,22,{SLOT}"
    found = problems(tmp_path, table, case_text(ROUND_ARCH, "43"))
    assert len(found) == 3 and all("the wire ends 31.42 mm from the midline" in text for text in found), found


def test_a_wire_that_cannot_be_read_says_nothing_of_its_table(tmp_path: Path) -> None:
    (found,) = problems(tmp_path, TABLE, case_text('{ straight = "30" }', "47"))
    assert "wire.passive_shape 1: straight" in found


def test_windows_line_ends_and_a_byte_order_mark_change_nothing(tmp_path: Path) -> None:
    case = case_with(tmp_path, TABLE, case_text(straight(30.0), "47"))
    (tmp_path / "teeth.csv").write_bytes(b"\xef\xbb\xbf" + TABLE.replace("\n", "\r\n").encode())
    windows = case_text(straight(30.0), "47").replace("\n", "\r\n")
    other = parse_case(windows, tmp_path / "case.toml")
    assert [spec.attachment.at for spec in other.attachments] == [
        spec.attachment.at for spec in case.attachments
    ]
    assert [spec.attachment.slot for spec in other.attachments] == [
        spec.attachment.slot for spec in case.attachments
    ]


def test_a_whole_path_is_doubted(tmp_path: Path) -> None:
    whole = (tmp_path / "teeth.csv").as_posix()
    case = case_with(tmp_path, TABLE, case_text(straight(30.0), "47").replace("teeth.csv", whole))
    assert len(case.attachments) == 2
    (warning,) = case.warnings
    assert "whole path, which holds on this machine only; put it beside the case file" in warning


@pytest.mark.parametrize("name", [r"sub\\teeth.csv", r"C:\teeth.csv"])
def test_a_path_with_backslashes_is_told_how_to_write_it(tmp_path: Path, name: str) -> None:
    (found,) = problems(tmp_path, TABLE, case_text(straight(30.0), "47").replace("teeth.csv", name))
    assert "line 2, tooth_table: there is no file" in found and 'write "/" between folders' in found


def test_a_seat_given_by_position_needs_its_place(tmp_path: Path) -> None:
    table = f"tooth,x_mm,y_mm,z_mm,{SLOT_HEADER}\n47,0,0,0,{SLOT}\n45,16,0,0,{SLOT}"
    (found,) = problems(tmp_path, table, case_text(straight(30.0), "47"))
    assert "teeth.csv row 2, column at: the wire is seated here" in found and "add a column at_mm" in found


def test_a_table_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(CaseFileError, match="tooth_table: there is no file teeth.csv; put it there"):
        parse_case(case_text(straight(30.0), "47"), tmp_path / "case.toml")


def test_every_column_has_been_used_here() -> None:
    text = Path(__file__).read_text(encoding="utf-8")
    assert [
        name for name in COLUMNS if name not in text and not name.startswith("centre_of_resistance")
    ] == []


def test_a_symmetric_arch_gets_symmetric_forces(tmp_path: Path) -> None:
    """Left to right: forces are reflected, moments, being turns, reflected and reversed."""
    header = f"tooth,from_midline_mm,offset_mm,occlusal_mm,rotation_deg,angulation_deg,inclination_deg,{SLOT_HEADER}"
    places = ("1,3,0.2,0.1,4,-2,10", "2,9,-0.2,-0.1,-5,0,0", "3,16,0,0.1,0,3,-8")
    rows = "\n".join(f"{quadrant}{place},{SLOT}" for quadrant in "34" for place in places)
    centre = attachment("front", "clamp", "middle", 0.0, tooth=None)
    case = case_with(tmp_path, f"{header}\n{rows}\n", case_text(ROUND_ARCH, "front", centre))
    result = run_case(case)
    force = {item.name: np.array(item.force_n) for item in result.attachments}
    moment = {item.name: np.array(item.moment_nmm) for item in result.attachments}
    mirror = np.array([-1.0, 1.0, 1.0])
    largest = max(np.abs(value).max() for value in force.values())
    assert largest > 0.5
    for place in "123":
        np.testing.assert_allclose(force[f"3{place}"], force[f"4{place}"] * mirror, atol=1e-6 * largest)
        np.testing.assert_allclose(moment[f"3{place}"], -moment[f"4{place}"] * mirror, atol=1e-5 * largest)


def test_the_shipped_arch_does_not_ask_where_its_wire_is_seated(tmp_path: Path) -> None:
    """An elastic wire between walls without friction, stopped at one tube, does not remember its way there."""
    shipped = LIBRARY / "levelling-lower-arch.toml"
    text = shipped.read_text(encoding="utf-8")
    table = (LIBRARY / "levelling-lower-arch-teeth.csv").read_text(encoding="utf-8")
    other = re.sub('seated_in = "46"', 'seated_in = "36"', text)
    assert other != text and len(load_case(shipped).attachments) == 12
    (tmp_path / "levelling-lower-arch-teeth.csv").write_text(table, encoding="utf-8")
    here, there = run_case(load_case(shipped)), run_case(parse_case(other, tmp_path / "case.toml"))
    for a, b in zip(here.attachments, there.attachments, strict=True):
        np.testing.assert_allclose(a.force_n, b.force_n, atol=2e-3)
        np.testing.assert_allclose(a.moment_nmm, b.moment_nmm, atol=1e-2)
