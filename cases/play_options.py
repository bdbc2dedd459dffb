"""The options of ``wireslot play`` read: every problem at once, each with what to do.

They are read like a case file's keys, by ``cases.reader``, so that the words are the same.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cases import units
from cases.errors import Problem, WireslotError
from cases.play import INCH, USUAL_RECTANGLES, USUAL_SLOTS, USUAL_WIDTH, Play, play_of, usual_plays
from cases.read_ligation import SLOT_DEPTH_RANGE, SLOT_HEIGHT_RANGE, SLOT_WIDTH_RANGE
from cases.read_wire import SECTION_RANGE, length_slip
from cases.reader import Findings, Table
from geometry.attachments import LARGEST_TAPER, Slot
from geometry.clearance import Front
from geometry.section import UNIT_ROUNDING, Rectangle, Round, Section

SLOT_OPTIONS = (
    ("--height", "the slot's height", '"0.022 in"', SLOT_HEIGHT_RANGE),
    ("--depth", "the slot's depth", '"0.028 in"', SLOT_DEPTH_RANGE),
    ("--width", "the slot's width", '"3 mm"', SLOT_WIDTH_RANGE),
)
FRONTS: tuple[Front, ...] = ("closed", "open")
WIRE_EXAMPLE = '--wire "0.019 x 0.025 in" (height x depth), or --wire "0.016 in" for a round wire'


class OptionsError(WireslotError):
    """Options of the command line that do not make a question: every problem at once."""

    exit_code = 2

    def __init__(self, command: str, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        count = "1 problem" if len(self.problems) == 1 else f"{len(self.problems)} problems"
        super().__init__("\n".join([f"{command}: {count}", *(f"  {problem}" for problem in self.problems)]))


@dataclass(frozen=True, slots=True)
class Question:
    """What the options ask."""

    plays: tuple[Play, ...]
    table: bool
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Shape:
    """What a slot has beside its three sizes."""

    taper: float
    mouth_radius: float
    front: Front


def read_options(given: Mapping[str, str | None], table: bool) -> Question:
    """The question that the options ask, from their words ("--height": "0.022 in"; None where not given).

    Raises OptionsError with every problem at once.
    """
    options = {name: words for name, words in given.items() if words is not None}
    findings = Findings({})
    read = Table(findings, (), options)
    radius = read.quantity(
        "--edge-radius", "length", "the edge radius", "not negative", required=False, default=0.0
    )
    shape = _shape(read)
    plays = _table_plays(read, radius, shape) if table else _one_play(read, radius, shape)
    if findings.problems:
        raise OptionsError("play", findings.problems)
    return Question(plays, table, tuple(str(warning) for warning in findings.warnings))


def _one_play(read: Table, radius: float | None, shape: _Shape | None) -> tuple[Play, ...]:
    sizes = [_slot_size(read, *option, required=True) for option in SLOT_OPTIONS]
    section = read_section(read, radius)
    tilts = [_tilt(read, order) for order in ("second", "first")]
    if read.has("--csv"):
        read.problem("--csv", "a file is written for the table of the usual sizes only", "add --table")
    height, depth, width = sizes
    if height is None or depth is None or width is None or shape is None:
        return ()
    slot = _slot(read, height, depth, width, shape)
    if slot is None or section is None or None in tilts:
        return ()
    second, first = (tilt or 0.0 for tilt in tilts)
    return (play_of(section, slot, second, first, shape.front),)


def _table_plays(read: Table, radius: float | None, shape: _Shape | None) -> tuple[Play, ...]:
    for name in ("--wire", "--second-tilt", "--first-tilt"):
        if read.has(name):
            read.problem(
                name, "the table holds the usual wires, none of them tilted", f"leave out {name}, or --table"
            )
    height, depth, width = (_slot_size(read, *option, required=False) for option in SLOT_OPTIONS)
    thinnest = min(min(size) for size in USUAL_RECTANGLES) * INCH
    if radius is not None and radius > 0.5 * thinnest * (1.0 + UNIT_ROUNDING):
        _too_round(read, thinnest)
        return ()
    if radius is None or shape is None or read.findings.problems:
        return ()
    usual = [(h * INCH, d * INCH) for h, d in USUAL_SLOTS]
    # A height that is given asks for this one slot; the depth that goes with it is the larger usual one.
    pairs = usual if height is None else [(height, usual[-1][1])]
    wide = units.parse(USUAL_WIDTH, "length") if width is None else width
    slots = []
    for h, d in pairs:
        slot = _slot(read, h, d if depth is None else depth, wide, shape)
        if slot is None:
            return ()
        slots.append(slot)
    return usual_plays(slots, radius, shape.front)


def _shape(read: Table) -> _Shape | None:
    """Taper, mouths and front; None with problems in the findings."""
    taper = read.quantity(
        "--taper", "angle", "the angle between upper and lower wall", required=False, default=0.0
    )
    if taper is not None and abs(taper) > LARGEST_TAPER:
        what = f"walls at an angle of {math.degrees(taper):.4g} deg make no slot"
        read.problem("--taper", what, 'write an angle like "2 deg"')
        taper = None
    radius = read.quantity(
        "--mouth-radius", "length", "the radius of the edges at the mouths", "not negative", False, 0.0
    )
    said = read.choice("--front", "how the slot is in front", FRONTS, required=False)
    if taper is None or radius is None or (said is None and read.has("--front")):
        return None
    return _Shape(taper, radius, "open" if said == "open" else "closed")


def _slot(read: Table, height: float, depth: float, width: float, shape: _Shape) -> Slot | None:
    """A slot of these sizes (mm); None with a problem where its walls would meet or its mouths use up its width."""
    sound = True
    if height + 2.0 * depth * math.tan(0.5 * shape.taper) <= 0.0:
        what = f"walls that close by {-math.degrees(shape.taper):.4g} deg meet before the front"
        read.problem("--taper", what, "take a smaller angle, or one above zero: wider in front")
        sound = False
    if shape.mouth_radius >= 0.5 * width:
        what = (
            f"mouths rounded by {shape.mouth_radius:.4g} mm leave no plane wall in a slot {width:.4g} mm wide"
        )
        read.problem("--mouth-radius", what, 'write a length like "0.1 mm"')
        sound = False
    return Slot(height, depth, width, shape.taper, shape.mouth_radius) if sound else None


def _slot_size(
    read: Table, name: str, what: str, example: str, usual: tuple[float, float], required: bool
) -> float | None:
    if not read.has(name):
        if required:
            read.problem(name, f"{what} is missing", f"add {name} {example}")
        return None
    size = read.quantity(name, "length", what, "positive")
    _doubt(read, name, what, size, read.data[name], usual)
    return size


def _doubt(
    read: Table, name: str, what: str, size: float | None, given: str, usual: tuple[float, float]
) -> None:
    slip = None if size is None else length_slip(size, given, *usual)
    if slip:
        read.warning(name, f"{what}, {size:.4g} mm, is far from usual", slip)


def _tilt(read: Table, order: str) -> float | None:
    name = f"--{order}-tilt"
    tilt = read.quantity(name, "angle", f"the tilt in {order} order", required=False, default=0.0)
    if tilt is not None and not abs(tilt) < 0.5 * math.pi:
        read.problem(
            name,
            f"expected less than a right angle, got {read.data[name]}",
            'write an angle like "1 deg"',
        )
        return None
    return tilt


def read_section(read: Table, radius: float | None, name: str = "--wire") -> Section | None:
    """The wire of the option ``name``: one length is a diameter, two are height x depth; one unit does for both.

    None with problems in the findings.
    """
    what = "the wire's size"
    example = WIRE_EXAMPLE.replace("--wire", name)
    if not read.has(name):
        read.problem(name, f"{what} is missing", f"add {example}")
        return None
    parts = [part.strip() for part in re.split(r"[x×*]", read.data[name], flags=re.IGNORECASE)]
    if len(parts) > 2 or not all(parts):
        read.problem(
            name,
            f'expected one length or two with an x between them, got "{read.data[name]}"',
            f"write {example}",
        )
        return None
    unit = re.search(r"[^\d.\s]+$", parts[-1])
    if len(parts) == 2 and unit and re.fullmatch(r"[\d.]+", parts[0]):
        parts[0] = f"{parts[0]} {unit[0]}"
    sizes = []
    for part in parts:
        size = Table(read.findings, (), {name: part}).quantity(name, "length", what, "positive")
        _doubt(read, name, what, size, part, SECTION_RANGE)
        sizes.append(size)
    if len(sizes) == 1:
        if read.has("--edge-radius"):
            read.problem(
                "--edge-radius", "a round wire has no edges", 'leave it out, or write "height x depth"'
            )
        return None if sizes[0] is None else Round(sizes[0])
    height, depth = sizes
    if height is None or depth is None or radius is None:
        return None
    if radius > 0.5 * min(height, depth) * (1.0 + UNIT_ROUNDING):
        _too_round(read, min(height, depth))
        return None
    return Rectangle(height, depth, radius)


def _too_round(read: Table, side: float) -> None:
    read.problem(
        "--edge-radius",
        f"expected at most half the smaller side of the wire ({0.5 * side:.4g} mm), "
        f'got "{read.data["--edge-radius"]}"',
        f'write "{math.floor(500.0 * side) / 1e3:g} mm" or less',
    )
