"""Keys of what follows the engagement: each read right, each wrong value told once, with key, line and remedy.

Expected figures are unit definitions done by hand: 1 in = 25.4 mm, 1 gf = 9.80665e-3 N (3rd CGPM 1901).
"""

from __future__ import annotations

import io
import math
from pathlib import Path

import pytest
from rich.console import Console

from cases.casefile import parse_case
from cases.errors import CaseFileError
from cases.schema import BenchSpec, Case, StageSpec
from cases.summary import print_case

HERE = Path("case.toml")


def with_lines(case: str, *lines: str) -> str:
    return case + "".join(f"{line}\n" for line in lines)


def read(case: str, *lines: str) -> Case:
    return parse_case(with_lines(case, *lines), HERE)


def stages(case: str, *lines: str) -> tuple[StageSpec, ...]:
    return read(case, *lines).stages


def bench(case: str, *lines: str, folder: Path = Path()) -> BenchSpec:
    found = parse_case(with_lines(case, "[bench]", *lines), folder / "case.toml").bench
    assert found is not None
    return found


def told(text: str, folder: Path = Path()) -> tuple[str, int | None, str, str]:
    """The one problem of a case: key, line, message, remedy."""
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, folder / "case.toml")
    (problem,) = caught.value.problems
    return problem.key, problem.line, problem.message, problem.remedy


def test_without_these_keys_a_case_is_engaged_at_once_and_ends_there(sound_case: str) -> None:
    case = read(sound_case)
    assert (case.stages, case.bench, case.analysis.tie_in) == ((), None, ())


def test_the_order_of_tying_in(sound_case: str) -> None:
    assert read(sound_case, "[analysis]", 'tie_in = ["hook"]').analysis.tie_in == ("hook",)


def test_stages_are_read(sound_case: str) -> None:
    back, moves = stages(
        sound_case,
        "[[stage]]",
        'back = "25 %"',
        "[[stage]]",
        'name = "retraction"',
        'move = "hook"',
        'by = ["0.1 in", "-2 mm", "0 mm"]',
        'turn = { about_y = "90 deg", about_x = "-0.5 rad" }',
        "increments = 4",
    )
    assert back == StageSpec("stage 1: back", 10, back=0.25)
    assert (moves.name, moves.increments, moves.back, moves.moved) == ("retraction", 4, None, "hook")
    assert moves.by == pytest.approx((2.54, -2.0, 0.0)) and moves.turn == pytest.approx(
        (math.pi / 2, 0.0, -0.5)
    )


@pytest.mark.parametrize(("given", "share"), [("100 %", 1.0), ("12.5%", 0.125), (" 1 % ", 0.01)])
def test_shares_of_the_way_back(sound_case: str, given: str, share: float) -> None:
    assert stages(sound_case, "[[stage]]", f'back = "{given}"')[0].back == share


def test_a_bench_test_is_read(sound_case: str, tmp_path: Path) -> None:
    (tmp_path / "m.csv").write_text("# invented\nmoment_gfmm,angle_deg\n0,0\n1000,-3.5\n", encoding="utf-8")
    spec = bench(
        sound_case,
        'move = "tube"',
        'turn = { about_z = "-30 deg" }',
        "increments = 7",
        'sensor = "hook"',
        'sensor_from_centre = ["1 mm", "0 mm", "-2 mm"]',
        "gives_way = { along = ['50 N/mm', '40 N/mm', 'rigid'], about = ['20 Nmm/deg', '10 Nmm/deg', '5 Nmm/deg'] }",
        'measured = "m.csv"',
        folder=tmp_path,
    )
    assert (spec.moved, spec.by, spec.increments, spec.sensor) == ("tube", (0.0, 0.0, 0.0), 7, "hook")
    assert spec.turn == pytest.approx((0.0, -math.pi / 6.0, 0.0))
    assert spec.sensor_from_centre == (1.0, 0.0, -2.0)
    # 20 N mm a degree is 20 * 180/pi N mm a radian
    assert spec.compliance == pytest.approx(
        (0.02, 0.025, 0.0, *(math.pi / 180.0 / stiffness for stiffness in (20, 10, 5)))
    )
    assert spec.measured is not None and spec.measured.file == "m.csv"
    assert spec.measured.travel == pytest.approx((0.0, -3.5)) and spec.measured.load == pytest.approx(
        (0.0, 9.80665)
    )


def test_a_bench_test_that_draws(sound_case: str, tmp_path: Path) -> None:
    (tmp_path / "m.csv").write_text("travel_in,force_cN\n0.1,150\n", encoding="utf-8")
    spec = bench(
        sound_case, 'move = "hook"', 'by = ["0 mm", "-3 mm", "0 mm"]', 'measured = "m.csv"', folder=tmp_path
    )
    assert (spec.by, spec.turn, spec.increments, spec.sensor) == (
        (0.0, -3.0, 0.0),
        (0.0, 0.0, 0.0),
        15,
        "hook",
    )
    assert spec.compliance == (0.0,) * 6 and spec.sensor_from_centre == (0.0, 0.0, 0.0)
    assert spec.measured is not None
    assert spec.measured.travel == pytest.approx((2.54,)) and spec.measured.load == pytest.approx((1.5,))


# Lines added at line 29 on, key, line within them, part of the message, part of the remedy.
BAD_STAGES = {
    "a single table": ('[stage]\nback = "50 %"', "stage", 1, "expected a list of stages", "write [[stage]]"),
    "unknown key": ('[[stage]]\nback = "50 %"\nbakc = 1', "stage 1: bakc", 3, "unknown key", '"back"'),
    "nothing to do": ("[[stage]]\nincrements = 3", "stage 1", 1, "does nothing", 'back = "50 %"'),
    "both": (
        '[[stage]]\nback = "50 %"\nmove = "hook"', "stage 1: back", 2, "either goes back, to shares", "write [[stage]]",
    ),
    "a number": ("[[stage]]\nback = 0.5", "stage 1: back", 2, "in quotes, got 0.5", '"50 %"'),
    "no percent": ('[[stage]]\nback = "0.5"', "stage 1: back", 2, 'got "0.5"', '"50 %"'),
    "no way back": ('[[stage]]\nback = "0 %"', "stage 1: back", 2, 'got "0 %"', '"100 %"'),
    "too far back": ('[[stage]]\nback = "101 %"', "stage 1: back", 2, 'got "101 %"', '"100 %"'),
    "no number": ('[[stage]]\nback = "nan %"', "stage 1: back", 2, 'got "nan %"', '"50 %"'),
    "Python's own numbers": ('[[stage]]\nback = "5_0 %"', "stage 1: back", 2, 'got "5_0 %"', '"50 %"'),
    "steps of a stage that goes back": (
        '[[stage]]\nback = "50 %"\nsteps = 3', "stage 1: steps", 3, "only a stage in which teeth follow",
        "leave steps out",
    ),
    "follow and move": (
        '[[stage]]\nmove = "hook"\nfollow = "50 %"', "stage 1: move", 2, "or teeth follow", 'follow = "50 %"',
    ),
    "follow by": (
        '[[stage]]\nfollow = "0 %"\n', "stage 1: follow", 2, "a share of each tooth's initial displacement", '"100 %"',
    ),
    "follow too far": ('[[stage]]\nfollow = "120 %"', "stage 1: follow", 2, 'got "120 %"', '"100 %" for all of it'),
    "follow in numbers": ('[[stage]]\nfollow = 0.5', "stage 1: follow", 2, "in quotes, got 0.5", '"50 %"'),
    "no tooth that follows": (
        '[[stage]]\nfollow = "50 %"', "stage", 1, "no tooth gives way", 'support = "typical"',
    ),
    "back by": (
        '[[stage]]\nback = "50 %"\nby = ["1 mm", "0 mm", "0 mm"]', "stage 1: by", 3, "a motion and a limit of its own",
        "leave by out",
    ),
    "an attachment that is not there": (
        '[[stage]]\nmove = "hok"\nby = ["1 mm", "0 mm", "0 mm"]', "stage 1: move", 2, 'no attachment "hok"', '"hook"',
    ),
    "no move": ('[[stage]]\nmove = "hook"', "stage 1", 1, "does not move", "add by"),
    "no move in numbers": (
        '[[stage]]\nmove = "hook"\nby = ["0 mm", "0 mm", "0 mm"]', "stage 1", 1, "does not move", "add by",
    ),
    "a length without unit": (
        '[[stage]]\nmove = "hook"\nby = [1, "0 mm", "0 mm"]', "stage 1: by 1", 3, "bare number", "mm",
    ),
    "two lengths": (
        '[[stage]]\nmove = "hook"\nby = ["1 mm", "0 mm"]', "stage 1: by", 3, "a list of 2", "write by",
    ),
    "a turn of what": (
        '[[stage]]\nmove = "hook"\nturn = "5 deg"', "stage 1: turn", 3, "a turn as a table", "about_y",
    ),
    "a turn in mm": (
        '[[stage]]\nmove = "hook"\nturn = { about_y = "5 mm" }', "stage 1: turn.about_y", 3, "a length", "deg",
    ),
    "an axis that is none": (
        '[[stage]]\nmove = "hook"\nturn = { about_w = "5 deg", about_y = "5 deg" }', "stage 1: turn.about_w", 3,
        "unknown key", "about_",
    ),
    "half a turn": (
        '[[stage]]\nmove = "hook"\nturn = { about_y = "180 deg" }', "stage 1: turn.about_y", 3, "below half a turn",
        '"30 deg"',
    ),
    "no increments": ('[[stage]]\nback = "50 %"\nincrements = 0', "stage 1: increments", 3, "got 0", "from 1 to"),
    "a name that is none": ('[[stage]]\nback = "50 %"\nname = " "', "stage 1: name", 3, "in quotes", "write name"),
    "a name twice": (
        '[[stage]]\nname = "a"\nback = "50 %"\n[[stage]]\nname = "a"\nback = "70 %"', "stage 2: name", 5,
        'another stage is called "a" already', "another name",
    ),
    "a name of the run's own": (
        '[[stage]]\nname = "bench, out"\nback = "50 %"', "stage 1: name", 2, "a part of every run", "another name",
    ),
    "tied in: no list": ('[analysis]\ntie_in = "hook"', "analysis.tie_in", 2, "a list of names", 'tie_in = ["hook"]'),
    "tied in: the seat": (
        '[analysis]\ntie_in = ["tube", "hook"]', "analysis.tie_in", 2, "seated in", 'tie_in = ["hook"]',
    ),
    "tied in: twice": (
        '[analysis]\ntie_in = ["hook", "hook"]', "analysis.tie_in", 2, 'tied in twice: "hook"', 'tie_in = ["hook"]',
    ),
    "tied in: a slip": ('[analysis]\ntie_in = ["hok"]', "analysis.tie_in", 2, 'no attachment "hok"', '"hook"'),
    "tied in: nothing": ("[analysis]\ntie_in = []", "analysis.tie_in", 2, 'not tied in at all: "hook"', '["hook"]'),
    "bench: no table": ("bench = 3", "bench", 1, "bench test as a table", "move"),
}  # fmt: skip

TURN = 'turn = { about_x = "30 deg" }'
BAD_BENCH = {
    "unknown key": (f'move = "tube"\n{TURN}\nsensr = "hook"', "bench.sensr", 4, "unknown key", '"sensor"'),
    "nothing moves": (TURN, "bench.move", 1, "is missing", "add move"),
    "unknown attachment": (f'move = "tub"\n{TURN}', "bench.move", 2, 'no attachment "tub"', '"tube"'),
    "unknown sensor": (
        f'move = "tube"\n{TURN}\nsensor = "canine"', "bench.sensor", 4, 'no attachment "canine"', "tube, hook",
    ),
    "no travel": ('move = "tube"', "bench", 1, "along one axis", "one figure only"),
    "two travels": (
        'move = "tube"\nby = ["1 mm", "2 mm", "0 mm"]', "bench", 1, "along one axis", "one figure only",
    ),
    "a bare travel": ('move = "tube"\nby = [3, "0 mm", "0 mm"]', "bench.by 1", 3, "bare number", "mm"),
    "half a turn": (
        'move = "tube"\nturn = { about_x = "-180 deg" }', "bench.turn.about_x", 3, "below half a turn", '"30 deg"',
    ),
    "increments": (f'move = "tube"\n{TURN}\nincrements = "many"', "bench.increments", 4, 'got "many"', "without"),
    "a bare point": (
        f'move = "tube"\n{TURN}\nsensor_from_centre = [1, 2]', "bench.sensor_from_centre", 4, "a list of 2", "write",
    ),
    "a rig in words": (f'move = "tube"\n{TURN}\ngives_way = "soft"', "bench.gives_way", 4, "as a table", "along"),
    "a rig without figures": (
        f'move = "tube"\n{TURN}\ngives_way = {{}}', "bench.gives_way", 4, "no stiffness is given", "leave it out",
    ),
    "a rig without stiffness": (
        f'move = "tube"\n{TURN}\ngives_way = {{ along = ["rigid", "0 N/mm", "rigid"] }}', "bench.gives_way.along 2", 4,
        "greater than zero", "N/mm",
    ),
    "a bare stiffness": (
        f'move = "tube"\n{TURN}\ngives_way = {{ along = ["rigid", 50, "rigid"] }}', "bench.gives_way.along 2", 4,
        "bare number 50", "50 N/mm",
    ),
    "one stiffness": (
        f'move = "tube"\n{TURN}\ngives_way = {{ about = "20 Nmm/deg" }}', "bench.gives_way.about", 4,
        "three stiffnesses", "rigid",
    ),
    "no file": (f'move = "tube"\n{TURN}\nmeasured = "no.csv"', "bench.measured", 4, "no file no.csv", "put it there"),
    "a file as a number": (f'move = "tube"\n{TURN}\nmeasured = 3', "bench.measured", 4, "in quotes", "measured.csv"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD_STAGES)
def test_a_wrong_stage_is_told_once(sound_case: str, name: str) -> None:
    lines, key, line, message, remedy = BAD_STAGES[name]
    # a key of the top stands before the tables
    at_top = name == "bench: no table"
    text = f"{lines}\n{sound_case}" if at_top else with_lines(sound_case, lines)
    found = told(text)
    assert found[:2] == (key, line if at_top else len(sound_case.splitlines()) + line)
    assert message in found[2] and remedy in found[3]


@pytest.mark.parametrize("name", BAD_BENCH)
def test_a_wrong_bench_is_told_once(sound_case: str, name: str) -> None:
    lines, key, line, message, remedy = BAD_BENCH[name]
    found = told(with_lines(sound_case, "[bench]", lines))
    # what is missing has no line of its own but that of its table
    assert found[:2] == (key, len(sound_case.splitlines()) + line)
    assert message in found[2] and remedy in found[3]


@pytest.mark.parametrize(
    ("text", "message", "remedy"),
    [
        ("angle_deg\n3\n", "no column moment", "angle_deg,moment_Nmm"),
        ("angle,moment_Nmm\n3,4\n", "has no unit", "angle_deg"),
        ("angle_deg,moment_Nmm\n3,\n", "row 2, column moment_Nmm: the cell is empty", "both numbers"),
        ("angle_deg,moment_Nmm\n3,x\n", 'row 2, column moment_Nmm: expected a number, got "x"', "decimal point"),
        ("angle_deg,force_N\n3,4\n", 'column "force_N" is not known', "moment"),
        ("", "is empty", "angle_"),
    ],
)  # fmt: skip
def test_a_wrong_measured_curve_is_told_once(
    sound_case: str, tmp_path: Path, text: str, message: str, remedy: str
) -> None:
    (tmp_path / "m.csv").write_text(text, encoding="utf-8")
    lines = ("[bench]", 'move = "tube"', TURN, 'measured = "m.csv"')
    key, line, said, mend = told(with_lines(sound_case, *lines), tmp_path)
    assert (key, line) == ("bench.measured", len(sound_case.splitlines()) + 4)
    assert message in said and remedy in mend


def test_check_says_what_follows_the_engagement(sound_case: str) -> None:
    lines = (
        "[analysis]", 'tie_in = ["hook"]',
        "[[stage]]", 'back = "25 %"', 'name = "half-time"',
        "[[stage]]", 'move = "hook"', 'by = ["1 mm", "0 mm", "0 mm"]', 'turn = { about_z = "2 deg" }',
        "[bench]", 'move = "tube"', TURN,
    )  # fmt: skip
    console = Console(file=io.StringIO(), width=100)
    print_case(read(sound_case, *lines), console)
    assert isinstance(console.file, io.StringIO)
    said = console.file.getvalue()
    for part in (
        "tied in after tube: hook",
        'stage 1, "half-time": every attachment goes back by 25.0 % of its way, 10 increments',
        'stage 2, "stage 2: hook moves": hook moves by (1.00, 0, 0) mm in world axes and by 2.00 deg about its z',
        "bench test: tube moves by 30.0 deg about its x and back, 15 increments each way, the sensor at tube",
    ):
        assert part in said
