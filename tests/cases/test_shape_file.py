"""A shape written to a file and read back is the same shape."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from cases.casefile import load_case, parse_case
from cases.errors import CaseFileError
from cases.shape_file import shape_text
from geometry.wire_shapes import Bend, Curved, PassiveShape, Station, Straight, Twist
from tests.cases.conftest import SOUND_CASE

SHAPE = PassiveShape(
    (Straight(5.0), Bend(-0.3, "second", 1.0), Curved((0.01, -0.02, 0.03), 7.0), Twist(0.2, 3.0), Straight(9.0)),
    (Station("begin", 0.0), Station("in a curve", 8.0), Station("at a break", 5.0), Station("end of it", 24.3)),
)  # fmt: skip
PIECES = SOUND_CASE[SOUND_CASE.index("passive_shape") : SOUND_CASE.index("seated_in")]


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    """All frames along the wire and all stations, to rounding."""
    text = shape_text(SHAPE, ("A shape.", "Second line."))
    assert text.startswith("# A shape.\n# Second line.\npassive_shape = [\n")
    (tmp_path / "released.toml").write_text(text, encoding="utf-8")
    case = SOUND_CASE.replace(PIECES, 'passive_shape = [ { shape = "released.toml" } ]\n')
    (tmp_path / "case.toml").write_text(case, encoding="utf-8")
    found = load_case(tmp_path / "case.toml").wire.passive_shape
    assert found.length == pytest.approx(SHAPE.length, abs=1e-12)
    arcs = np.linspace(0.0, SHAPE.length, 200).clip(0.0, min(found.length, SHAPE.length))
    for mine, theirs in zip(found.frames(arcs), SHAPE.frames(arcs), strict=True):
        assert np.abs(mine - theirs).max() < 1e-12
    assert {one.name: one.at for one in found.stations} == pytest.approx(
        {one.name: one.at for one in SHAPE.stations}, abs=1e-12
    )


def test_a_curve_turns_about_the_wires_own_axes() -> None:
    """about_z: second order, up; about_y: first order, away; about_x: a twist; each alone is an arc or a twist."""
    for key, piece in (
        ("about_z", Bend(math.radians(10.0), "second", 5.0 / math.radians(10.0))),
        ("about_y", Bend(math.radians(10.0), "first", 5.0 / math.radians(10.0))),
        ("about_x", Twist(math.radians(10.0), 5.0)),
    ):
        text = SOUND_CASE.replace('{ straight = "5 mm" }', f'{{ curve = "5 mm", {key} = "10 deg" }}')
        found = parse_case(text, Path("case.toml")).wire.passive_shape.pieces[0]
        assert found.length == pytest.approx(piece.length)
        assert found.curvature == pytest.approx(piece.curvature, abs=1e-15)


@pytest.mark.parametrize(
    ("piece", "words"),
    [
        ('{ curve = "0 mm" }', "greater than zero"),
        ('{ curve = "5 mm", about_w = "1 deg" }', "unknown key"),
        ('{ curve = "5 mm", about_z = "1 mm" }', "expected an angle"),
    ],
)
def test_a_wrong_curve_is_told(piece: str, words: str) -> None:
    with pytest.raises(CaseFileError, match=words):
        parse_case(SOUND_CASE.replace('{ straight = "5 mm" }', piece), Path("case.toml"))
