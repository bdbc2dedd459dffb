"""What happens after the engagement: ``[[stage]]`` and ``[bench]``, and the order of tying in."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from cases.data_files import DataFiles
from cases.read_csv import Columns, read_csv
from cases.read_teeth import three_stiffnesses
from cases.reader import Table, listing, nearest
from cases.results import ACTIVATION, BACK, OUT
from cases.schema import AttachmentSpec, BenchSpec, Measured, StageSpec, Vector
from cases.units import BadQuantity, parse

MOST_INCREMENTS = 10_000
STAGE_EXAMPLE = (
    'write [[stage]] with back = "50 %", with to = ["150 %", "100 %"], with move = "NAME" and by = ["1 mm", "0 mm", '
    '"0 mm"], with follow = "50 %" or with temperature = "20 degC"'
)
STEPS, MOST_STEPS = 5, 1000
MOST_REPEATS = 1000
FARTHEST = 3.0
"""Of the activation, in a trial activation."""
IN_A_STEP = 2
"""Increments of a step in which teeth follow: it is short."""
KINDS = ("back", "to", "move", "follow")
KEYS = {"to": ("repeat",), "move": ("by", "turn", "until"), "follow": ("steps",)}
"""What belongs to one kind of stage only."""
OF_ONE_KIND = tuple(key for keys in KEYS.values() for key in keys)
WHY_NOT = {
    "to": "only a stage that goes to shares of the activation repeats them",
    "move": "only a stage in which one attachment moves has a motion and a limit of its own",
    "follow": "only a stage in which teeth follow goes in steps",
}
EXAMPLES = {
    "to": 'to = ["0 %", "100 %"]',
    "move": 'move = "NAME" and by = ["1 mm", "0 mm", "0 mm"]',
    "follow": 'follow = "50 %"',
}  # fmt: skip
USUAL_NAMES = {
    "back": "back", "to": "cycle", "move": "{} moves", "follow": "teeth follow", "temperature": "temperature",
}  # fmt: skip
MEASURED = "measured"
TURNS = ("about_y", "about_z", "about_x")
RIG_EXAMPLE = '{ along = ["50 N/mm", "50 N/mm", "rigid"], about = ["20 Nmm/deg", "rigid", "rigid"] }'
NOTHING: Vector = (0.0, 0.0, 0.0)


def read_tie_in(
    table: Table, attachments: Sequence[str], joints: Sequence[str], seats: Sequence[str | None]
) -> tuple[str, ...]:
    """The order in which attachments and joints are tied in: every one but the seats, once."""
    given = table.data.get("tie_in")
    if given is None:
        return ()
    names = [*attachments, *joints]
    example = f"write tie_in = [{', '.join(_quoted(name) for name in names if name not in seats) or '...'}]"
    if not isinstance(given, list) or not all(isinstance(name, str) for name in given):
        table.problem("tie_in", "expected a list of names of attachments", example)
        return ()
    known = all([_known(table, "tie_in", name, names) for name in dict.fromkeys(given)])
    for seat in seats:
        if seat in given:
            what = f'{"the" if len(seats) == 1 else "a"} wire is seated in "{seat}" from the beginning'
            table.problem("tie_in", what, f"leave it out: {example}")
    twice = sorted({name for name in given if given.count(name) > 1})
    if twice:
        table.problem("tie_in", f"tied in twice: {listing([_quoted(name) for name in twice])}", example)
    missing = [name for name in names if name not in given and name not in seats]
    if missing and known:  # a slip in a name would be told twice
        what = f"not tied in at all: {listing([_quoted(name) for name in missing])}"
        table.problem(
            "tie_in",
            what,
            f"name every attachment but the seat{', and every joint' * bool(joints)}; {example}",
        )
    return tuple(given)


def read_stages(top: Table, names: Sequence[str]) -> tuple[StageSpec, ...]:
    """The stages in their order; problems go to the findings."""
    if not top.has("stage"):
        return ()
    tables = top.tables("stage", "stage", STAGE_EXAMPLE) or []
    stages = [_stage(table, number, names) for number, table in enumerate(tables, start=1)]
    seen: set[str] = set()
    for table, stage in zip(tables, stages, strict=True):
        if stage is None or not table.has("name"):
            continue
        if stage.name in seen or stage.name in (ACTIVATION, OUT, BACK, MEASURED):
            what = "another stage" if stage.name in seen else "a part of every run"
            table.problem("name", f'{what} is called "{stage.name}" already', 'write another name = "..."')
        seen.add(stage.name)
    return tuple(stage for stage in stages if stage is not None)


def _stage(table: Table, number: int, names: Sequence[str]) -> StageSpec | None:
    table.only("name", "increments", "temperature", *KINDS, *OF_ONE_KIND)
    name = table.text("name", "a name for the stage", '"retraction"', required=False)
    usual = IN_A_STEP if table.has("follow") else 10
    increments = table.integer("increments", "the number of increments", usual, 1, MOST_INCREMENTS)
    warm = table.quantity("temperature", "temperature", "the temperature at its end", required=False)
    kinds = [key for key in KINDS if table.has(key)]
    if len(kinds) > 1 or not (kinds or table.has("temperature")):
        what = (
            "a stage either goes back, to shares of the activation, or moves one attachment, or teeth follow in it"
            if kinds
            else "a stage does nothing"
        )
        table.problem(kinds[0] if kinds else "", what, STAGE_EXAMPLE)
        return None
    kind = kinds[0] if kinds else "temperature"
    _belongs(table, kind)
    name = name or f"stage {number}: {USUAL_NAMES[kind]}".format(table.data.get("move"))
    if kind == "temperature":
        stage: StageSpec | None = StageSpec(name, increments)
    elif kind == "back":
        share = _share(table, "back", "the way back", "for passive")
        stage = None if share is None else StageSpec(name, increments, back=share)
    elif kind == "to":
        stage = _to_shares(table, name, increments)
    elif kind == "follow":
        stage = _following(table, name, increments)
    else:
        stage = _moving(table, name, increments, names)
    return None if stage is None else replace(stage, temperature=warm)


def _belongs(table: Table, kind: str) -> None:
    """Write down keys of other kinds of stages."""
    for other, keys in KEYS.items():
        for key in keys:
            if other != kind and table.has(key):
                table.problem(key, WHY_NOT[other], f"leave {key} out, or write {EXAMPLES[other]}")


def _moving(table: Table, name: str, increments: int, names: Sequence[str]) -> StageSpec | None:
    moved = table.text("move", "the name of an attachment", '"canine"')
    if moved is None or not _known(table, "move", moved, names):
        return None
    before = len(table.findings.problems)
    by, turn = _motion(table, f"the motion of {moved}", "world axes")
    if by == NOTHING and turn == NOTHING and len(table.findings.problems) == before:
        table.problem(
            "",
            f'"{moved}" does not move',
            'add by = ["1 mm", "0 mm", "0 mm"] or turn = { about_y = "5 deg" }',
        )
        return None
    what = "the load at which the working range ends"
    until = table.quantity("until", "moment" if by == NOTHING else "force", what, "positive", required=False)
    return StageSpec(name, increments, None, moved, by, turn, until)


def _to_shares(table: Table, name: str, increments: int) -> StageSpec | None:
    """Shares of the activation one after another: one, or a list, so many times."""
    given = table.data["to"]
    remedy = f'write to = ["150 %", "100 %"], each from "0 %" (passive) to "{100.0 * FARTHEST:.0f} %"'
    repeat = table.integer("repeat", "how often the ways are gone", 1, 1, MOST_REPEATS)
    shares = []
    for one in given if isinstance(given, list) else [given]:
        try:
            share = parse(one, "share")
        except BadQuantity as bad:
            table.problem("to", f"a share of the activation: {bad.message}", remedy)
            return None
        if not 0.0 <= share <= FARTHEST:
            table.problem("to", f'expected a share of the activation, got "{one}"', remedy)
            return None
        shares.append(share)
    if not shares or any(a == b for a, b in pairwise(shares * min(repeat, 2))):
        what = "the same share twice, one after the other" if shares else "an empty list"
        table.problem("to", f"{what}: nothing moves", remedy)
        return None
    return StageSpec(name, increments, to=tuple(shares), repeat=repeat)


def _following(table: Table, name: str, increments: int) -> StageSpec | None:
    steps = table.integer("steps", "the number of steps", STEPS, 1, MOST_STEPS)
    share = _share(table, "follow", "each tooth's initial displacement", "for all of it")
    return None if share is None else StageSpec(name, increments, follow=share, steps=steps)


def check_order(
    top: Table, stages: Sequence[StageSpec], bench: BenchSpec | None, specs: Sequence[AttachmentSpec | None]
) -> None:
    """Write down what cannot come after a stage in which teeth follow, and a tooth that is needed there."""
    following = [number for number, stage in enumerate(stages) if stage.follow is not None]
    if not following:
        return
    if all(spec is None or spec.support is None for spec in specs):
        what = "no tooth gives way, so none can follow its load"
        top.problem("stage", what, 'give the attachments of the teeth that move support = "typical"')
    for number in following:
        begins = f"{stages[number].name}, step "
        for other in (stage for stage in stages if stage.name.startswith(begins)):
            what = f'"{other.name}" is called as a step of "{stages[number].name}" is'
            top.problem("stage", what, 'write another name = "..."')
    for stage in stages[following[0] :]:
        if stage.back is not None or stage.to:
            what = f'"{stage.name}" goes on the ways of the activation, but teeth have followed their loads before'
            top.problem("stage", what, "put the stage in which teeth follow last")
    if bench is not None:
        what = "on a rig no tooth follows its load"
        top.problem("bench", what, "leave [bench] out, or the stage in which teeth follow")


def _share(table: Table, key: str, whole: str, most: str) -> float | None:
    """A share, "50 %", as a number from above 0 to 1."""
    short = whole.removesuffix(" back")
    remedy = f'write a share of {short} like "50 %", up to "100 %" {most}'
    text = table.text(key, f"a share of {whole}", '"50 %"')
    if text is None:
        return None
    try:
        # Python itself would take "5_0" for fifty.
        good = text.strip().endswith("%") and "_" not in text
        value = float(text.strip().removesuffix("%")) / 100.0 if good else -1.0
    except ValueError:
        value = -1.0
    if not 0.0 < value <= 1.0:
        table.problem(key, f'expected a share of {whole}, got "{text}"', remedy)
        return None
    return value


def _motion(table: Table, what: str, axes: str) -> tuple[Vector, Vector]:
    """A translation in mm and turns about y, z and x in rad."""
    by = table.vector("by", f"{what} in {axes}", required=False)
    turn = table.table("turn", "a turn", '{ about_y = "5 deg" }', required=False)
    if turn is None:
        return by or NOTHING, NOTHING
    turn.only(*TURNS)
    y, z, x = (_turn(turn, key) for key in TURNS)
    return by or NOTHING, (y, z, x)


def _turn(turn: Table, key: str) -> float:
    """One turn, rad; an attachment goes the short way round, so half a turn has no sense of turning."""
    what = f"the turn {key.replace('_', ' ')}"
    angle = turn.quantity(key, "angle", what, required=False) or 0.0
    if abs(angle) >= math.pi:
        turn.problem(
            key, f'{what} must be below half a turn, got "{turn.data[key]}"', 'write a value like "30 deg"'
        )
        return 0.0
    return angle


def read_bench(top: Table, names: Sequence[str], files: DataFiles) -> BenchSpec | None:
    """The bench test, if there is one; problems go to the findings."""
    table = top.table(
        "bench", "a bench test", '{ move = "bracket", turn = { about_x = "30 deg" } }', required=False
    )
    if table is None:
        return None
    table.only("move", "by", "turn", "increments", "sensor", "sensor_from_centre", "gives_way", "measured")
    before = len(table.findings.problems)
    moved = table.text("move", "the name of the attachment that moves", '"bracket"')
    sensor = table.text(
        "sensor", "the name of the attachment whose load is read", '"bracket"', required=False
    )
    for key, name in (("move", moved), ("sensor", sensor)):
        if name is not None:
            _known(table, key, name, names)
    told = len(table.findings.problems)
    by, turn = _motion(table, "the motion", "the attachment's own axes")
    if sum(value != 0.0 for value in (*by, *turn)) != 1 and len(table.findings.problems) == told:
        what = "a bench test goes along one axis of the attachment or turns about one"
        table.problem(
            "", what, 'add by = ["3 mm", "0 mm", "0 mm"] or turn = { about_x = "30 deg" }, one figure only'
        )
    increments = table.integer("increments", "the number of increments out, and back", 15, 1, MOST_INCREMENTS)
    point = table.vector(
        "sensor_from_centre", "the sensor's point from the attachment's centre", required=False
    )
    compliance = _compliance(table)
    measured = _measured(table, any(turn), files)
    if len(table.findings.problems) > before or moved is None:
        return None
    return BenchSpec(moved, by, turn, increments, sensor or moved, point or NOTHING, compliance, measured)


def _compliance(table: Table) -> tuple[float, ...]:
    """Of the rig (6,), mm/N and rad/(N mm), from its stiffnesses along and about the moved attachment's axes."""
    inner = table.table("gives_way", "the stiffness of the rig", RIG_EXAMPLE, required=False)
    if inner is None:
        return (0.0,) * 6
    inner.only("along", "about")
    if not inner.data:
        table.problem(
            "gives_way", "no stiffness is given", f"write gives_way = {RIG_EXAMPLE}, or leave it out"
        )
    along = three_stiffnesses(inner, "along", "stiffness", "50 N/mm", "rig")
    about = three_stiffnesses(inner, "about", "turning stiffness", "20 Nmm/deg", "rig")
    return tuple(1.0 / value for value in (*along, *about))


def _measured(table: Table, turns: bool, files: DataFiles) -> Measured | None:
    """A measured curve: travel and load, row by row."""
    if not table.has("measured"):
        return None
    name = table.text("measured", "the name of a CSV file", '"measured.csv"')
    text = None if name is None else files.text(table, "measured", name)
    if name is None or text is None:
        return None
    columns: Columns = (
        {"angle": "angle", "moment": "moment"} if turns else {"travel": "length", "force": "force"}
    )
    read = read_csv(text, name, table, "measured", columns)
    if read is None:
        return None
    first, second = columns
    example = "angle_deg,moment_Nmm" if turns else "travel_mm,force_N"
    for column in columns:
        if column not in read.headers:
            read.problem(None, None, f"there is no column {column}", f"write a header like {example}")
            return None
    for row in read.rows:
        for column in columns:
            if column not in row.cells:
                read.problem(row, column, "the cell is empty", "give every row both numbers")
    pairs = [(read.number(row, first), read.number(row, second)) for row in read.rows]
    degrees = math.degrees(1.0) if turns else 1.0
    return Measured(
        name,
        tuple(degrees * travel for travel, _ in pairs if travel is not None),
        tuple(load for _, load in pairs if load is not None),
    )


def _known(table: Table, key: str, name: str, names: Sequence[str]) -> bool:
    """Whether an attachment is called so; else a problem."""
    if name in names:
        return True
    near = nearest(name, names)
    known = f"attachments of this case: {', '.join(names)}"
    table.problem(
        key, f'there is no attachment "{name}"', f'did you mean "{near}"? ({known})' if near else known
    )
    return False


def _quoted(name: str) -> str:
    return f'"{name}"'
