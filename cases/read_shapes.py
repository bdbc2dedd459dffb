"""The larger pieces of a passive shape: coils, loops, arch forms, points, and shapes made of other pieces.

Runs, bends and twists are read in ``read_wire``; here is what ``geometry`` composes of them.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Sequence

from cases.data_files import DataFiles
from cases.errors import Problem
from cases.read_csv import MOST_PROBLEMS, Columns, CsvTable, read_csv
from cases.reader import Findings, Table, shown
from cases.toml_lines import key_lines
from geometry.arch_form import arch_form
from geometry.drawn_shapes import Hand, Item, Mark, Order, helix, mirrored, run_backwards
from geometry.loops import l_loop, t_loop, vertical_loop, vertical_loop_with_helix
from geometry.points import FEWEST, wire_through
from geometry.section import Section

Pieces = Callable[[Sequence[Table]], list[Item]]
"""Reads pieces inside a piece; problems go to their findings."""

KINDS = ("helix", "loop", "arch", "points", "shape", "mirror", "reverse", "repeat", "station")
INSIDE = {
    "helix": ("turns", "diameter", "pitch", "order", "hand"),
    "arch": ("width", "depth", "canine_width", "canine_depth"),
}
"""Keys of the pieces that are tables."""
BESIDE: dict[str, tuple[str, ...]] = {
    "points": ("tolerance",),
    "mirror": ("order",),
    "reverse": (),
    "repeat": ("times",),
}
"""Keys beside those that name a piece."""
LOOP_SIZES = {
    "vertical": ("height", "width"),
    "vertical-helix": ("height", "width", "pitch"),
    "T": ("height", "width", "head", "gap"),
    "L": ("height", "width", "head", "gap"),
}
LOOP_WORDS: dict[str, tuple[str, ...]] = {"vertical-helix": ("turns", "hand"), "L": ("toe",)}
LOOP_ALWAYS = ("loop", "side", "radius")
PLACES = ("start", "middle", "end")
"""Places that every wire has."""
POINT_COLUMNS: Columns = {"x": "length", "y": "length", "z": "length", "twist": "angle"}

DEFAULT_LOOP_RADIUS = 0.5
"""mm, as for bends."""
MOST_TURNS = 20
MOST_REPEATS = 100
# Points are stated to hundredths of a millimetre at best, and a wire is about half a millimetre thick.
LARGEST_TOLERANCE = 0.5

_LIKE_A_NUMBER = re.compile(r"\s*[+-]?(\d|\.\d|(nan|inf|infinity)(?![a-z]))", re.IGNORECASE)


def like_a_number(text: str) -> bool:
    """Whether a text begins as a quantity does, so that it is no station's name."""
    return _LIKE_A_NUMBER.match(text) is not None


def read_larger(
    table: Table, kind: str, section: Section | None, files: DataFiles, pieces: Pieces
) -> list[Item]:
    """The items of a piece of one of ``KINDS``; nothing, with a problem, where it is none.

    ``pieces`` reads the pieces that are given inside it.
    """
    if kind == "helix":
        return _helix(table, section)
    if kind == "loop":
        return _loop(table)
    if kind == "arch":
        return _arch(table)
    if kind == "points":
        return _points(table, section, files)
    if kind == "shape":
        return _shape_file(table, files, pieces)
    if kind == "station":
        return _station(table)
    return _made_of_others(table, kind, pieces)


def _order(table: Table, what: str) -> Order | None:
    given = table.choice("order", what, ("first", "second"))
    return None if given is None else "first" if given == "first" else "second"


def _hand(table: Table) -> Hand:
    given = table.choice("hand", "the hand of a coil", ("right", "left"), required=False)
    return "left" if given == "left" else "right"


def _helix(piece: Table, section: Section | None) -> list[Item]:
    example = '{ turns = 2, diameter = "3 mm", pitch = "0.7 mm", order = "second" }'
    piece.only("helix")
    table = piece.table("helix", "a helix", example)
    if table is None:
        return []
    table.only(*INSIDE["helix"])
    turns = table.number("turns", "the number of turns", "2")
    diameter = table.quantity("diameter", "length", "the diameter of a helix", "positive")
    pitch = table.quantity("pitch", "length", "the pitch of a helix", "not negative")
    order, hand = _order(table, "the order of a helix"), _hand(table)
    if turns is not None and not 0.0 < abs(turns) <= MOST_TURNS:
        table.problem(
            "turns", f"expected turns up to {MOST_TURNS}, got {turns:g}", "write a number like 2 or -1.5"
        )
        return []
    if turns is None or diameter is None or pitch is None or order is None:
        return []
    if section is not None:
        along, across = (
            (section.height, section.depth) if order == "first" else (section.depth, section.height)
        )
        if abs(turns) > 1.0 and pitch < along:
            remedy = f'write a pitch of "{along:.3g} mm" or more'
            table.warning("pitch", f"turns {pitch:.3g} mm apart run into each other", remedy)
        if diameter < across:
            remedy = f'write a diameter of "{across:.3g} mm" or more'
            table.warning("diameter", f"a coil {diameter:.3g} mm wide folds a wire this thick", remedy)
    return [helix(turns, diameter, pitch, order, hand)]


def _loop(table: Table) -> list[Item]:
    kind = table.choice("loop", "the kind of loop", list(LOOP_SIZES))
    side = table.choice("side", "the side a loop points to", ("up", "down"), required=False)
    if kind is None:
        table.only(
            *LOOP_ALWAYS,
            *(key for keys in (LOOP_SIZES, LOOP_WORDS) for loop in keys.values() for key in loop),
        )
        return []
    lengths, others = LOOP_SIZES[kind], LOOP_WORDS.get(kind, ())
    table.only(*LOOP_ALWAYS, *lengths, *others)
    sizes = [table.quantity(key, "length", f"the {key} of a loop", "positive") for key in lengths]
    radius = table.quantity(
        "radius", "length", "the radius of a loop's bends", "positive", False, DEFAULT_LOOP_RADIUS
    )
    turns = table.integer("turns", "the turns of the loop's helix", 1, 1, MOST_TURNS)
    toe = table.choice("toe", "the side of the toe", ("right", "left"), required=False)
    hand = _hand(table) if kind == "vertical-helix" else "right"
    if radius is None or any(size is None for size in sizes):
        return []
    height, width, *more = (size for size in sizes if size is not None)
    try:
        items: Sequence[Item]
        if kind == "vertical":
            items = vertical_loop(height, width, radius)
        elif kind == "vertical-helix":
            items = vertical_loop_with_helix(height, width, radius, turns, more[0], hand)
        else:
            make = t_loop if kind == "T" else l_loop
            items = make(height, width, more[0], more[1], radius)
    except ValueError as error:
        message, _, remedy = str(error).partition(": ")
        table.problem("loop", message, remedy)
        return []
    items = run_backwards(items) if toe == "left" else items
    return list(mirrored(items, "second") if side == "down" else items)


def _arch(piece: Table) -> list[Item]:
    piece.only("arch")
    table = piece.table("arch", "an arch form", '{ width = "52 mm", depth = "36 mm" }')
    if table is None:
        return []
    table.only(*INSIDE["arch"])
    width = table.quantity("width", "length", "the width between the arch's ends", "positive")
    depth = table.quantity("depth", "length", "the depth of the arch", "positive")
    canines = [
        table.quantity(key, "length", f"the arch's {key.replace('_', ' ')}", "positive", required=False)
        for key in ("canine_width", "canine_depth")
    ]
    one, other = (table.has(key) for key in ("canine_width", "canine_depth"))
    if one != other:
        missing, given = ("canine_depth", "canine_width") if one else ("canine_width", "canine_depth")
        table.problem(missing, f"{missing} is missing beside {given}", "give both, or neither")
        return []
    if width is None or depth is None or (one and None in canines):
        return []
    try:
        return list(arch_form(width, depth, *canines))
    except ValueError as error:
        table.problem("canine_depth", str(error), "change the canines' or the arch's width and depth")
        return []


def _points(table: Table, section: Section | None, files: DataFiles) -> list[Item]:
    table.only("points", *BESIDE["points"])
    name = table.text("points", "the name of a CSV file", '"wire.csv"')
    tolerance = table.quantity(
        "tolerance", "length", "the tolerance (how far the wire may pass from a point)", "positive"
    )
    if tolerance is not None and tolerance > LARGEST_TOLERANCE:
        what = f"a tolerance of {tolerance:.3g} mm is more than a wire is thick"
        table.warning("tolerance", what, "check the unit")
    text = files.text(table, "points", name) if name else None
    if name is None or text is None:
        return []
    found = read_csv(text, name, table, "points", POINT_COLUMNS)
    if found is None:
        return []
    numbers = _columns_of_numbers(found)
    if numbers is None or tolerance is None:
        return []
    x, y, z, *twist = numbers
    try:
        pieces, _ = wire_through(list(zip(x, y, z, strict=True)), tolerance, twist[0] if twist else None)
    except ValueError as error:
        told = re.sub(r"\bpoint(s?) (\d+)( and (\d+))?", lambda m: _rows(m, found), str(error))
        message, _, remedy = told.partition(": ")
        found.problem(None, None, message, remedy or "give each place of the wire once, in order along it")
        return []
    if section is not None:
        # Beyond one the inside of a bend would be shorter than nothing.
        folds = max(
            max(abs(p.curvature[1]) * section.depth, abs(p.curvature[2]) * section.height) for p in pieces
        )
        if folds > 2.0:
            sharpest = 1.0 / max(math.hypot(p.curvature[1], p.curvature[2]) for p in pieces)
            what = f"the points bend the wire to a radius of {sharpest:.2g} mm, which folds a wire this thick"
            found.warning(None, None, what, "state a larger tolerance if the points are measured")
    return list(pieces)


def _rows(match: re.Match[str], found: CsvTable) -> str:
    """Points counted from 1, told as rows of their file."""
    numbers = [found.rows[int(number) - 1].number for number in (match[2], match[4]) if number]
    return f"row{match[1]} {' and '.join(map(str, numbers))}"


def _columns_of_numbers(found: CsvTable) -> list[list[float]] | None:
    """The columns x, y, z and, where there is one, twist; None with problems."""
    missing = [column for column in ("x", "y", "z") if column not in found.headers]
    for column in missing:
        found.problem(None, None, f"there is no column {column}", f"add a column {column}_mm")
    if missing:
        return None
    used = ["x", "y", "z", *(("twist",) if "twist" in found.headers else ())]
    before = len(found.table.findings.problems)
    columns: list[list[float]] = [[] for _ in used]
    for i, row in enumerate(found.rows):
        for column, values in zip(used, columns, strict=True):
            if column not in row.cells:
                found.problem(row, column, "there is nothing", "write a number")
                continue
            value = found.number(row, column)
            if value is not None:
                values.append(value)
        if len(found.table.findings.problems) - before >= MOST_PROBLEMS:
            if i + 1 < len(found.rows):
                what = f"rows after {row.number} were not read"
                found.problem(None, None, what, "mend what is wrong above, then check again")
            break
    if len(found.table.findings.problems) > before:
        return None
    if len(found.rows) < FEWEST:
        what = f"a wire needs at least {FEWEST} points, got {len(found.rows)}"
        found.problem(None, None, what, "give more points, close together where the wire bends")
        return None
    return columns


def _shape_file(table: Table, files: DataFiles, pieces: Pieces) -> list[Item]:
    """The pieces of another file; its problems are told as the case's own, with its name and line."""
    table.only("shape")
    name = table.text("shape", "the name of a shape file", '"closing-loop.toml"')
    if name in files.within:
        table.problem("shape", f"{name} names itself", "write the pieces there, not the name of the file")
        return []
    text = files.text(table, "shape", name) if name else None
    if name is None or text is None:
        return []
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        table.problem("shape", f"{name} is not a TOML file: {error}", "mend the TOML there")
        return []
    inner = Findings(key_lines(text))
    top = Table(inner, (), data)
    top.only("title", "note", "passive_shape")
    listed = top.tables("passive_shape", "piece", 'write passive_shape = [ { straight = "20 mm" } ]') or []
    files.within.append(name)
    items = pieces(listed)
    files.within.pop()
    for problem in inner.problems:
        table.problem("shape", _told_of(name, problem), problem.remedy)
    for doubt in inner.warnings:
        table.warning("shape", _told_of(name, doubt), doubt.remedy)
    return items


def _told_of(file: str, problem: Problem) -> str:
    """A problem's place and message, with the name of its file; what is missing altogether has no line."""
    line = f" line {problem.line}" if problem.line else ""
    return f"{file}{line}, {problem.key}: {problem.message}"


def _made_of_others(table: Table, kind: str, pieces: Pieces) -> list[Item]:
    """A mirror image, a shape run backwards, or one repeated."""
    table.only(kind, *BESIDE[kind])
    order = _order(table, "the order a mirror image turns round") if kind == "mirror" else "second"
    times = 1
    if kind == "repeat":
        if not table.has("times"):
            table.problem("times", "how many times is missing", "add times = 2")
        times = table.integer("times", "how many times", 1, 1, MOST_REPEATS)
    remedy = f'write {kind} = [ {{ straight = "5 mm" }}, {{ bend = "20 deg", order = "second" }} ]'
    inside = table.tables(kind, "piece inside", remedy)
    if inside is None or order is None:
        return []
    items = pieces(inside)
    if kind == "mirror":
        return list(mirrored(items, order))
    return list(run_backwards(items)) if kind == "reverse" else items * times


def _station(table: Table) -> list[Item]:
    table.only("station")
    name = table.text("station", "the name of a station", '"apex"')
    if name is None:
        return []
    if like_a_number(name) or name.strip().lower() in PLACES:
        what = f"a station cannot be called {shown(name)}"
        table.problem("station", what, "take a name that is no length and not start, middle or end")
        return []
    return [Mark(name.strip())]
