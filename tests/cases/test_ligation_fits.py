"""Shaped and tied slots beside a wire that they may not fit, and the ligation and friction of tooth tables."""

from __future__ import annotations

from pathlib import Path

import pytest

from cases.casefile import parse_case
from cases.errors import CaseFileError
from cases.schema import Case
from cases.tooth_table import COLUMNS
from geometry.ligation import CLOSED, Ligation

HERE = Path("case.toml")


def test_a_wire_in_walls_that_taper(sound_case: str) -> None:
    """By hand, sharp edges, a wire of 0.4318 x 0.635 mm: each wall rises by tan(1 deg) = 0.017455 a mm of depth.

    A wire centred in 0.7112 mm lies 0.0381 mm above the floor, where walls that open have 0.00133 mm more.
    """
    sharp = sound_case.replace(', edge_radius = "0.05 mm"', "")

    def case(height: float, taper: float) -> str:
        return sharp.replace('width = "4 mm"', f'width = "4 mm", taper = "{taper} deg"').replace(
            'height = "0.022 in"', f'height = "{height} mm"'
        )

    assert parse_case(case(0.4320, 2.0), HERE).warnings == ()
    # Too low at the floor for 0.4318 mm, high enough half way out.
    (warning,) = parse_case(case(0.4310, 2.0), HERE).warnings
    assert "0.0008 mm too high to lie on the floor of tube" in warning
    with pytest.raises(CaseFileError, match=r"0.4318 mm high into 0.4313 mm at half its depth"):
        parse_case(case(0.4300, 2.0), HERE)
    # Walls that close must leave 0.4318 mm at the face of a centred wire, 0.0381 + 0.635 mm up: 0.0235 mm more below.
    assert parse_case(case(0.4554, -2.0), HERE).warnings == ()
    with pytest.raises(CaseFileError) as caught:
        parse_case(case(0.4552, -2.0), HERE)
    (problem,) = caught.value.problems
    assert "does not fit the slot of tube: 0.4318 mm high into" in problem.message and problem.line == 17


def tied(case: str, ligation: str) -> str:
    return case.replace("stop = true", f'stop = true\nligation = "{ligation}"')


@pytest.mark.parametrize("ligation", ["none", "elastomeric", "steel ligature"])
def test_a_wire_deeper_than_its_open_slot_stands_out(sound_case: str, ligation: str) -> None:
    """0.635 mm in 0.6096 mm: 0.0254 mm out; closed, it does not fit."""
    shallow = sound_case.replace('depth = "0.028 in"', 'depth = "0.024 in"')
    (warning,) = parse_case(tied(shallow, ligation), HERE).warnings
    assert "stands 0.0254 mm out of the slot of tube in front" in warning
    with pytest.raises(CaseFileError, match="does not fit the slot of tube: 0.635 mm deep into 0.6096 mm"):
        parse_case(tied(shallow, "closed"), HERE)


HEADER = "tooth,kind,at_mm,slot_height_mm,slot_depth_mm,slot_width_mm,friction,ligation"
ROWS = ("45,,15,0.55,0.7,3,0.2,elastomeric", "47,tube,3,0.55,0.7,4,,")


def table_case(folder: Path, *rows: str, header: str = HEADER, friction: str = "") -> Case:
    (folder / "teeth.csv").write_text("\n".join((header, *rows)), encoding="utf-8")
    text = f"""title = "A row of teeth (invented)"
tooth_table = "teeth.csv"
[wire]
material = "stainless-steel"
section = {{ shape = "rectangle", height = "0.41 mm", depth = "0.56 mm" }}
passive_shape = [ {{ straight = "20 mm" }} ]
seated_in = "47"
{friction}
"""
    return parse_case(text, folder / "case.toml")


def test_columns_of_a_tooth_table(tmp_path: Path) -> None:
    assert COLUMNS["friction"] is None and COLUMNS["ligation"] is None
    for line, usual in (("", 0.0), ("friction = 0.1", 0.1)):
        tube, bracket = (spec.attachment for spec in table_case(tmp_path, *ROWS, friction=line).attachments)
        assert (bracket.friction, bracket.ligation) == (0.2, Ligation("elastomeric"))
        assert (tube.friction, tube.ligation) == (usual, CLOSED)


@pytest.mark.parametrize(
    ("row", "said", "remedy"),
    [
        ("45,,15,0.55,0.7,3,rough,", 'column friction: expected a coefficient of friction, a number', "0.15"),
        ("45,,15,0.55,0.7,3,1_0,", "column friction: expected a coefficient of friction, a number", "0.15"),
        ("45,,15,0.55,0.7,3,-0.1,", "column friction: a coefficient of friction is zero or more", "0.15"),
        ("45,,15,0.55,0.7,3,,elastic", 'column ligation: expected how the slot is tied', "elastomeric"),
        ("45,button,15,,,,,none", "column ligation: a button has no ligation", "leave ligation out"),
        ("45,button,15,,,,0.1,", "column friction: a button has no friction", "leave friction out"),
    ],
)  # fmt: skip
def test_wrong_cells_are_told_once(tmp_path: Path, row: str, said: str, remedy: str) -> None:
    with pytest.raises(CaseFileError) as caught:
        table_case(tmp_path, row, ROWS[1])
    (problem,) = caught.value.problems
    assert problem.message.startswith("teeth.csv row 2, ") and said in problem.message
    assert remedy in problem.remedy


def test_a_doubt_about_the_seats_row_is_told_once(tmp_path: Path) -> None:
    """The row that the wire is seated in is read twice where it has a position."""
    header = "tooth,at_mm,x_mm,y_mm,z_mm,slot_height_mm,slot_depth_mm,slot_width_mm,friction"
    rows = ("47,3,0,0,0,0.55,0.7,4,2", "45,15,12,0,0,0.55,0.7,3,")
    (warning,) = table_case(tmp_path, *rows, header=header).warnings
    assert "teeth.csv row 2, column friction: a coefficient of friction of 2 is far from usual" in warning
