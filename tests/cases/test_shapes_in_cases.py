"""The larger pieces of a passive shape in case files: what they become, and every way to get them wrong."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest

from cases.casefile import parse_case
from cases.errors import CaseFileError
from cases.read_csv import MOST_PROBLEMS
from cases.schema import Case
from geometry.arch_form import arch_form
from geometry.drawn_shapes import helix, mirrored, run_backwards, shape_of
from geometry.loops import l_loop, t_loop, vertical_loop, vertical_loop_with_helix
from geometry.wire_shapes import Bend, PassiveShape, Station, Straight

SOUND_SHAPE = """passive_shape = [
    { straight = "5 mm" },
    { bend = "-30 deg", order = "second", radius = "1 mm" },
    { straight = "20 mm" },
]"""
BEFORE, AFTER = Straight(5.0), Straight(20.0)


def with_piece(sound_case: str, piece: str) -> str:
    """The sound case with ``piece`` on line 8 between two straight runs of 5 and 20 mm."""
    assert SOUND_SHAPE in sound_case
    between = (
        f'passive_shape = [\n    {{ straight = "5 mm" }},\n    {piece},\n    {{ straight = "20 mm" }},\n]'
    )
    return sound_case.replace(SOUND_SHAPE, between)


def parse(text: str, folder: Path = Path()) -> Case:
    return parse_case(text, folder / "case.toml")


def problems(text: str, folder: Path = Path()) -> tuple[str, ...]:
    with pytest.raises(CaseFileError) as caught:
        parse(text, folder)
    return tuple(str(problem) for problem in caught.value.problems)


SOUND = {
    "arc": ('{ arc = "-200 deg", order = "first", radius = "2 mm" }', (Bend(math.radians(-200.0), "first", 2.0),)),
    "helix": (
        '{ helix = { turns = -2, diameter = "3 mm", pitch = "0.7 mm", order = "first", hand = "left" } }',
        (helix(-2.0, 3.0, 0.7, "first", "left"),),
    ),
    "vertical": ('{ loop = "vertical", height = "6 mm", width = "2 mm" }', vertical_loop(6.0, 2.0, 0.5)),
    "down": (
        '{ loop = "vertical", height = "6 mm", width = "2 mm", radius = "0.7 mm", side = "down" }',
        mirrored(vertical_loop(6.0, 2.0, 0.7), "second"),
    ),
    "with helix": (
        '{ loop = "vertical-helix", height = "6 mm", width = "2 mm", turns = 2, pitch = "0.7 mm", hand = "left" }',
        vertical_loop_with_helix(6.0, 2.0, 0.5, 2, 0.7, "left"),
    ),
    "T": (
        '{ loop = "T", height = "7 mm", width = "10 mm", head = "2 mm", gap = "1.5 mm" }',
        t_loop(7.0, 10.0, 2.0, 1.5, 0.5),
    ),
    "L": (
        '{ loop = "L", height = "6 mm", width = "5 mm", head = "2 mm", gap = "1.5 mm", toe = "left" }',
        run_backwards(l_loop(6.0, 5.0, 2.0, 1.5, 0.5)),
    ),
    "arch": ('{ arch = { width = "52 mm", depth = "36 mm" } }', arch_form(52.0, 36.0)),
    "arch with canines": (
        '{ arch = { width = "52 mm", depth = "36 mm", canine_width = "34 mm", canine_depth = "9 mm" } }',
        arch_form(52.0, 36.0, 34.0, 9.0),
    ),
    "mirror": (
        '{ mirror = [ { straight = "1 mm" }, { bend = "30 deg", order = "first" } ], order = "first" }',
        (Straight(1.0), Bend(math.radians(-30.0), "first", 0.5)),
    ),
    "reverse": (
        '{ reverse = [ { straight = "1 mm" }, { bend = "30 deg", order = "second" } ] }',
        (Bend(math.radians(30.0), "second", 0.5), Straight(1.0)),
    ),
    "repeat": (
        '{ repeat = [ { straight = "1 mm" }, { mirror = [ { arc = "9 deg", order = "second", radius = "4 mm" } ], '
        'order = "second" } ], times = 2 }',
        (Straight(1.0), Bend(math.radians(-9.0), "second", 4.0)) * 2,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", SOUND)
def test_a_piece_becomes_what_geometry_composes(sound_case: str, name: str) -> None:
    text, items = SOUND[name]
    case = parse(with_piece(sound_case, text))
    assert case.wire.passive_shape == shape_of((BEFORE, *items, AFTER))
    assert case.warnings == ()


def test_an_attachment_at_a_station(sound_case: str) -> None:
    text = with_piece(
        sound_case, '{ station = "bend here" }, { loop = "vertical", height = "6 mm", width = "2 mm" }'
    )
    for word in ("apex", "Apex", " apex "):
        case = parse(text.replace('at = "end"', f'at = "{word}"'))
        (bend, apex) = case.wire.passive_shape.stations
        assert (bend, apex.name) == (Station("bend here", 5.0), "apex")
        assert case.attachments[1].attachment.at == apex.at
    case = parse(text.replace('at = "end"', 'at = "bend here"'))
    assert case.attachments[1].attachment.at == 5.0


def test_an_unknown_station_is_told_with_a_suggestion_and_the_list(sound_case: str) -> None:
    text = with_piece(
        sound_case, '{ repeat = [ { loop = "vertical", height = "6 mm", width = "2 mm" } ], times = 2 }'
    )
    (problem,) = problems(text.replace('at = "end"', 'at = "apex"'))
    assert problem.startswith('line 27, attachment 2: at: the wire has no station "apex"; did you mean "apex')
    assert 'stations of the wire: "apex 1" or "apex 2"; or write a length like "12 mm"' in problem
    (problem,) = problems(text.replace('at = "end"', 'at = "zzz"'))
    assert 'no station "zzz"; stations of the wire: "apex 1" or "apex 2"' in problem


def test_stations_that_cannot_be_told_apart(sound_case: str) -> None:
    (problem,) = problems(with_piece(sound_case, '{ station = "a" }, { station = "a 2" }, { station = "a" }'))
    assert 'wire.passive_shape: two stations of the wire are called "a 2"' in problem


def test_a_wire_of_stations_only_has_no_length(sound_case: str) -> None:
    (problem,) = problems(sound_case.replace(SOUND_SHAPE, 'passive_shape = [ { station = "a" } ]'))
    assert "the wire has no length" in problem


# Piece, key, part of the message, part of the remedy.
BAD = {
    "unknown piece": ('{ hellix = "3 mm" }', "", "or of arc, curve, helix, loop", 'did you mean "helix"?'),
    "two kinds": ('{ station = "a", arc = "3 deg" }', "", "got arc and station", "one per"),
    "arc without radius": ('{ arc = "20 deg", order = "first" }', "radius", "is missing", "add radius"),
    "helix as text": ('{ helix = "2" }', "helix", "as a table", "helix = { turns"),
    "helix without pitch": (
        '{ helix = { turns = 2, diameter = "3 mm", order = "first" } }', "helix.pitch", "is missing", "add pitch",
    ),
    "turns": (
        '{ helix = { turns = 200, diameter = "3 mm", pitch = "1 mm", order = "first" } }', "helix.turns",
        "up to 20, got 200", "-1.5",
    ),
    "unknown loop": ('{ loop = "t", height = "6 mm" }', "loop", 'got "t"', 'did you mean "T"?'),
    "loop without width": ('{ loop = "vertical", height = "6 mm" }', "width", "is missing", "add width"),
    "loop too low": (
        '{ loop = "vertical", height = "1 mm", width = "2 mm" }', "loop", "a leg of the loop would be -0.5 mm",
        "make it higher",
    ),
    "key of another loop": (
        '{ loop = "vertical", height = "6 mm", width = "2 mm", gap = "1 mm" }', "gap", 'unknown key "gap"', "height",
    ),
    "one canine size": (
        '{ arch = { width = "52 mm", depth = "36 mm", canine_width = "34 mm" } }', "arch.canine_depth",
        "missing beside canine_width", "both, or neither",
    ),
    "canines nowhere": (
        '{ arch = { width = "52 mm", depth = "36 mm", canine_width = "34 mm", canine_depth = "30 mm" } }',
        "arch.canine_depth", "the canines lie", "change the canines",
    ),
    "mirror without order": ('{ mirror = [ { straight = "1 mm" } ] }', "order", "is missing", "add order"),
    "problem inside": (
        '{ mirror = [ { straight = "1" } ], order = "first" }', "mirror 1: straight", "without one", '"1 mm"',
    ),
    "empty reverse": ("{ reverse = [] }", "reverse", "no piece inside at all", "write reverse ="),
    "repeat without times": ('{ repeat = [ { straight = "1 mm" } ] }', "times", "missing", "times = 2"),
    "station like a length": ('{ station = "3 mm" }', "station", "cannot be called", "no length"),
    "station like a place": ('{ station = "End" }', "station", "cannot be called", "no length"),
    "points without tolerance": ('{ points = "none.csv" }', "tolerance", "is missing", "add tolerance"),
    "no points file": ('{ points = "none.csv", tolerance = "1 um" }', "points", "there is no file none.csv", "folder"),
    "no shape file": ('{ shape = "none.toml" }', "shape", "there is no file none.toml", "folder"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_pieces(sound_case: str, tmp_path: Path, name: str) -> None:
    piece, key, said, remedy = BAD[name]
    found = problems(with_piece(sound_case, piece), tmp_path)
    place = f"line 8, wire.passive_shape 2{': ' + key if key else ''}: "
    (problem,) = (text for text in found if text.startswith(place))
    assert said in problem and remedy in problem
    assert len(found) == (2 if name == "points without tolerance" else 1)


@pytest.mark.parametrize(
    ("piece", "words"),
    [
        (
            '{ helix = { turns = 2, diameter = "3 mm", pitch = "0.4 mm", order = "second" } }',
            "run into each other",
        ),
        ('{ helix = { turns = 2, diameter = "0.4 mm", pitch = "1 mm", order = "second" } }', "folds a wire"),
        ('{ arc = "20 deg", order = "first", radius = "0.3 mm" }', "an arc of radius 0.3 mm folds"),
    ],
)
def test_doubts(sound_case: str, piece: str, words: str) -> None:
    (warning,) = parse(with_piece(sound_case, piece)).warnings
    assert warning.startswith("line 8, ") and words in warning


def test_a_shape_file(sound_case: str, tmp_path: Path) -> None:
    pieces = '{ straight = "1 mm" },\n { arc = "9 deg", order = "first", radius = "4 mm" }'
    shape = f'note = "invented"\npassive_shape = [\n {pieces} ]'
    (tmp_path / "own.toml").write_text(shape, encoding="utf-8")
    case = parse(with_piece(sound_case, '{ mirror = [ { shape = "own.toml" } ], order = "first" }'), tmp_path)
    inside = (Straight(1.0), Bend(math.radians(-9.0), "first", 4.0))
    assert case.wire.passive_shape == PassiveShape((BEFORE, *inside, AFTER))
    assert [(file.name, len(file.sha256)) for file in case.data_files] == [("own.toml", 64)]


@pytest.mark.parametrize(
    ("shape", "said"),
    [
        (
            'passive_shape = [\n { straight = "1" } ]',
            "own.toml line 2, passive_shape 1: straight: the length",
        ),
        ("passive_shape = [", "own.toml is not a TOML file"),
        ('passive_shape = [ { reverse = [ { shape = "own.toml" } ] } ]', "own.toml names itself"),
        ('title = "no pieces"', "own.toml, passive_shape: no piece at all"),
        (
            'passiveshape = [ { straight = "1 mm" } ]',
            'own.toml line 1, passiveshape: unknown key "passiveshape"',
        ),
    ],
)
def test_a_bad_shape_file(sound_case: str, tmp_path: Path, shape: str, said: str) -> None:
    (tmp_path / "own.toml").write_text(shape, encoding="utf-8")
    found = problems(with_piece(sound_case, '{ shape = "own.toml" }'), tmp_path)
    assert found[0].startswith("line 8, wire.passive_shape 2: shape: ") and any(
        said in text for text in found
    )


POINTS = "\n".join(f"{x},0,{0.01 * x * x}" for x in range(12))


def test_points_in_a_file(sound_case: str, tmp_path: Path) -> None:
    (tmp_path / "wire.csv").write_text(f"# invented\nx_cm,y_in,z_mm\n\n{POINTS}\n", encoding="utf-8-sig")
    case = parse(with_piece(sound_case, '{ points = "wire.csv", tolerance = "0.02 mm" }'), tmp_path)
    assert case.warnings == () and case.data_files[0].name == "wire.csv"
    # 11 cm along and 1.21 mm out of the way.
    assert case.wire.passive_shape.length == pytest.approx(25.0 + math.hypot(110.0, 1.21), abs=0.02)


def test_a_twist_in_a_file(sound_case: str, tmp_path: Path) -> None:
    rows = "\n".join(f"{x},0,0,{5 * x}" for x in range(7))
    (tmp_path / "wire.csv").write_text(f"x_mm,y_mm,z_mm,twist_deg\n{rows}\n", encoding="utf-8")
    shape = parse(
        with_piece(sound_case, '{ points = "wire.csv", tolerance = "0.02 mm" }'), tmp_path
    ).wire.passive_shape
    height = shape.frames(shape.length)[1][0][:, 1]
    np.testing.assert_allclose(
        height, (0.0, math.cos(math.radians(30.0)), math.sin(math.radians(30.0))), atol=1e-9
    )


# Content of the file, then what each problem says after "wire.csv".
BAD_POINTS = {
    "empty": ("", [" is empty"]),
    "no rows": ("x_mm,y_mm,z_mm\n", [" has a header but no rows"]),
    "semicolons": ("x_mm;y_mm;z_mm\n1;2;3", [": its columns are not separated by commas"]),
    "no unit": (f"x,y_mm,z_mm\n{POINTS}", [': column "x" has no unit; write "x_mm"']),
    "wrong unit": (f"x_mm,y_deg,z_mm\n{POINTS}", [': column "y_deg": "deg" is not a unit of a length']),
    "unknown column": (f"x_mm,y_mm,zz_mm\n{POINTS}", [': column "zz_mm" is not known; did you mean "z_mm"?']),
    "twice": (f"x_mm,y_mm,x_in\n{POINTS}", [': column "x_in" gives again what "x_mm" gives']),
    "missing column": ("x_mm,y_mm\n1,2", [": there is no column z; add a column z_mm"]),
    "cells": (f"x_mm,y_mm,z_mm\n{POINTS}\n1,2", [" row 14: 2 cells, but the header has 3"]),
    "all at once": (
        f"x_mm,y_mm,z_mm\n{POINTS}\n13 mm,nan,\n",
        [
            ' row 14, column x_mm: expected a number, got "13 mm"',
            ' row 14, column y_mm: expected a number, got "nan"',
            " row 14, column z_mm: there is nothing",
        ],
    ),
    "few": ("x_mm,y_mm,z_mm\n0,0,0\n1,0,0", [": a wire needs at least 5 points, got 2"]),
    "twice the same": (
        f"x_mm,y_mm,z_mm\n{POINTS}\n11,0,1.21",
        [": rows 13 and 14 are the same; give each place of the wire once"],
    ),
    "back": (
        f"x_mm,y_mm,z_mm\n{POINTS}\n10.5,0,1.21",
        [": the wire turns by 168 deg at row 13; give more points there, in their order along the wire"],
    ),
    "half a twist": (
        "x_mm,y_mm,z_mm,twist_deg\n" + "\n".join(f"{x},0,0,{x if x < 5 else ''}" for x in range(6)),
        [" row 7, column twist_deg: there is nothing; write a number"],
    ),
    "along y": (
        "x_mm,y_mm,z_mm\n" + "\n".join(f"0,{y},0" for y in range(9)),
        [": the wire begins along y, so nothing says where its height points; turn the axes"],
    ),
}


@pytest.mark.parametrize("name", BAD_POINTS)
def test_bad_points(sound_case: str, tmp_path: Path, name: str) -> None:
    content, said = BAD_POINTS[name]
    (tmp_path / "wire.csv").write_text(content, encoding="utf-8")
    text = with_piece(sound_case, '{ points = "wire.csv", tolerance = "0.02 mm" }')
    found = problems(text.replace("stop = true", "stopp = true"), tmp_path)
    assert len(found) == len(said) + 1  # and the case's own
    for problem, words in zip(found, said, strict=False):
        assert problem.startswith(f"line 8, wire.passive_shape 2: points: wire.csv{words}"), problem


def test_a_file_wrong_in_every_row_does_not_bury_the_rest(sound_case: str, tmp_path: Path) -> None:
    text = with_piece(sound_case, '{ points = "wire.csv", tolerance = "0.02 mm" }')
    for rows, last in (
        ("a,0,0\n" * 50, "rows after 21 were not read"),
        ("1,2\n" * 50, "30 more rows like these"),
    ):
        (tmp_path / "wire.csv").write_text(f"x_mm,y_mm,z_mm\n{rows}", encoding="utf-8")
        found = problems(text, tmp_path)
        assert len(found) == MOST_PROBLEMS + 1 and f"wire.csv: {last}" in found[-1]


def test_a_file_that_is_no_text_is_told_with_its_line(sound_case: str, tmp_path: Path) -> None:
    (tmp_path / "wire.csv").write_bytes(b"x_mm,y_mm,z_mm\n0,0,0\n1,\xff,0\n")
    (found,) = problems(with_piece(sound_case, '{ points = "wire.csv", tolerance = "0.02 mm" }'), tmp_path)
    assert "points: wire.csv line 3: this is not UTF-8 text; save the file as UTF-8" in found


def test_points_that_fold_the_wire_are_doubted(sound_case: str, tmp_path: Path) -> None:
    angles = np.linspace(0.0, math.pi, 30)
    rows = "\n".join(f"{0.25 * math.sin(t)},0,{0.25 - 0.25 * math.cos(t)}" for t in angles)
    (tmp_path / "wire.csv").write_text(f"x_mm,y_mm,z_mm\n{rows}\n", encoding="utf-8")
    (warning,) = parse(
        with_piece(sound_case, '{ points = "wire.csv", tolerance = "1 um" }'), tmp_path
    ).warnings
    found = re.search(r"wire\.csv: the points bend the wire to a radius of (\S+) mm, which folds", warning)
    # Straight at its two ends, as smoothing splines are, the wire bends a little more beside them.
    assert found and float(found[1]) == pytest.approx(0.25, rel=0.05)
