"""``wireslot play``: the play of a straight wire in a slot, in all three orders, without a case file.

Everything is computed by ``geometry.clearance``; here are the usual sizes, the sentences and the
columns.  All angles are one-sided from centred unless they are called totals.
"""

from __future__ import annotations

import csv
import io
import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cases import units
from cases.results import ORDERS
from cases.summary import WIDEST
from geometry.attachments import Slot
from geometry.clearance import Clearance, Front, PlayInOrder, clearance, third_order_play
from geometry.section import Rectangle, Round, Section

if TYPE_CHECKING:
    from rich.console import Console

INCH = units.INCH

USUAL_SLOTS = ((0.018, 0.025), (0.022, 0.028))
"""Height and depth in inches (common practice, no source)."""
USUAL_WIDTH = "3 mm"
"""Bracket width of the table unless one is given (common practice, no source)."""
USUAL_RECTANGLES = (
    (0.016, 0.016),
    (0.016, 0.022),
    (0.017, 0.025),
    (0.018, 0.025),
    (0.019, 0.025),
    (0.021, 0.025),
    (0.0215, 0.028),
)
"""Wire height and depth in inches, edgewise (common practice, no source)."""
USUAL_ROUNDS = (0.014, 0.016, 0.018, 0.020)
"""Diameters in inches (common practice, no source)."""

VIEWS = {"first": "occlusal view", "second": "facial view", "third": "mesiodistal view"}
REAL_SIZES = (
    "Sizes are taken as given. Real slots and wires differ from their names: ten 0.018 in slots measured 0.470 "
    "to 0.481 mm high instead of 0.457 (Meling et al., Am J Orthod Dentofacial Orthop 113 (1998) 387)."
)


@dataclass(frozen=True, slots=True)
class Play:
    """One wire in one slot, and its play."""

    section: Section
    slot: Slot
    clearance: Clearance
    third_by_height: PlayInOrder
    """Third-order play if only the slot's height stopped the wire, as published tables take it; on the floor, if the
    walls are not parallel."""
    second_tilt: float = 0.0
    """rad."""
    first_tilt: float = 0.0
    """rad."""

    @property
    def out_of_reach(self) -> str | None:
        """The order in which the slot stops the wire before it is tilted as far as asked; None where it can be."""
        plays = (
            ("second", self.second_tilt, self.clearance.second),
            ("first", self.first_tilt, self.clearance.first),
        )
        for order, tilt, play in plays:
            if play.angle is not None and abs(tilt) > play.angle:
                return order
        return None

    @property
    def third_left(self) -> PlayInOrder:
        """Third-order play that the tilts leave.  Zero where they are out of reach."""
        return third_order_play(
            self.section, self.slot, self.second_tilt, self.first_tilt, self.clearance.front
        )


def play_of(
    section: Section,
    slot: Slot,
    second_tilt: float = 0.0,
    first_tilt: float = 0.0,
    front: Front = "closed",
) -> Play:
    """Play of one wire in one slot (mm), and what tilts (rad) leave of it."""
    by_height = third_order_play(section, slot, front="open")
    return Play(section, slot, clearance(section, slot, front), by_height, second_tilt, first_tilt)


def usual_plays(slots: Sequence[Slot], edge_radius: float = 0.0, front: Front = "closed") -> tuple[Play, ...]:
    """Every usual wire in each of ``slots``; rectangular wires with edges of ``edge_radius`` (mm)."""
    sections: list[Section] = [Rectangle(h * INCH, d * INCH, edge_radius) for h, d in USUAL_RECTANGLES]
    sections += [Round(diameter * INCH) for diameter in USUAL_ROUNDS]
    return tuple(play_of(section, slot, front=front) for slot in slots for section in sections)


def in_order(play: Play, order: str) -> PlayInOrder:
    """The play in one of ``ORDERS``."""
    found: PlayInOrder = getattr(play.clearance, order)
    return found


def sentences(play: Play) -> tuple[str, ...]:
    """One sentence a fact about one wire in its slot: what the geometry says, and what the tilts leave."""
    out = list(play.clearance.words)
    if not play.clearance.fits:
        return tuple(out)
    third, by_height = play.clearance.third, play.third_by_height
    if third != by_height:
        alone = "the wire would turn freely" if by_height.angle is None else _angle(by_height.angle)
        where = (
            "on the floor of such a slot, open in front"
            if play.slot.taper
            else "in a slot so deep that only its height counts, as in most published tables"
        )
        out.append(f"Third order {where}: {alone}.")
    tilts = [
        f"{math.degrees(abs(tilt)):.4g} deg in {order} order"
        for order, tilt in (("second", play.second_tilt), ("first", play.first_tilt))
        if tilt
    ]
    if tilts:
        out.append(f"Tilted {' and '.join(tilts)}: {_left(play)}")
    return tuple(out)


def _angle(angle: float) -> str:
    return f"{math.degrees(angle):.2f} deg"


def _left(play: Play) -> str:
    order = play.out_of_reach
    if order is not None:
        stop = in_order(play, order).angle
        assert stop is not None
        return f"a straight wire cannot be, the slot stops it at {_angle(stop)} in {order} order."
    left = play.third_left
    if left.angle is None:
        return "the wire still turns freely in third order."
    stops = " and ".join(f"the {wall}" for wall in left.walls)
    return (
        f"{_angle(left.angle)} of third-order play left either way ({_angle(2.0 * left.angle)} in all), "
        f"stopped by {stops}."
    )


def csv_text(plays: Sequence[Play]) -> str:
    """The table as a file, all digits; an angle is empty where the wire turns freely or does not fit."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    rows = [_record(play) for play in plays]
    writer.writerow(rows[0])
    writer.writerows(row.values() for row in rows)
    return text.getvalue()


def _record(play: Play) -> dict[str, str | float]:
    section, slot, fits = play.section, play.slot, play.clearance.fits
    record: dict[str, str | float] = {
        "slot_height_mm": slot.height,
        "slot_depth_mm": slot.depth,
        "slot_width_mm": slot.width,
        "slot_taper_deg": math.degrees(slot.taper),
        "slot_mouth_radius_mm": slot.mouth_radius,
        "slot_front": play.clearance.front,
        "wire_shape": "round" if isinstance(section, Round) else "rectangle",
        "wire_height_mm": section.height,
        "wire_depth_mm": section.depth,
        "edge_radius_mm": section.edge_radius,
        "fits": _flag(fits),
        "height_play_total_mm": play.clearance.height_mm,
        "depth_play_total_mm": play.clearance.depth_mm,
    }
    by_order = [(order, in_order(play, order)) for order in ORDERS]
    for order, found in [*by_order, ("third_by_height_alone", play.third_by_height)]:
        angle = found.angle if fits else None
        record[f"{order}_play_deg"] = "" if angle is None else math.degrees(angle)
        record[f"{order}_play_total_deg"] = "" if angle is None else math.degrees(2.0 * angle)
        record[f"{order}_turns_freely"] = _flag(fits and found.turns_freely)
        record[f"{order}_walls"] = " and ".join(found.walls) if fits else ""
    return record


def _flag(value: bool) -> str:
    return "true" if value else "false"


def print_plays(plays: Sequence[Play], table: bool, console: Console) -> None:
    """One play in numbers and words, or the table of many."""
    for line in _table_lines(plays) if table else _one_lines(plays[0]):
        console.print(line, markup=False, highlight=False, soft_wrap=True)


def _inch_size(section: Section) -> str:
    """The wire as its maker calls it: diameter, or height x depth, in inches."""
    sides = (section.height,) if isinstance(section, Round) else (section.height, section.depth)
    return " x ".join(_inches(side) for side in sides)


def _inches(length: float) -> str:
    inches = round(length / INCH, 6)
    return f"{inches:.3f}" if round(inches, 3) == inches else f"{inches:.4f}"


def _front(play: Play) -> str:
    return "closed on all four sides" if play.clearance.front == "closed" else "open in front"


def _shape(slot: Slot) -> str:
    """What a slot has beside parallel walls and sharp edges."""
    parts = []
    if slot.taper:
        wider = "wider in front" if slot.taper > 0.0 else "narrower in front"
        parts.append(f", {wider} by a taper of {abs(math.degrees(slot.taper)):.4g} deg")
    if slot.mouth_radius:
        parts.append(f", mouths rounded by {slot.mouth_radius:.3g} mm")
    return "".join(parts)


def _cells(play: PlayInOrder) -> tuple[str, str]:
    """One-sided and total, in degrees."""
    if play.angle is None:
        return "free", "free"
    return f"{math.degrees(play.angle):.2f}", f"{math.degrees(2.0 * play.angle):.2f}"


def _one_lines(play: Play) -> list[str]:
    section, slot = play.section, play.slot
    lines = [
        f"Wire: {section.label} ({_inch_size(section)} in)",
        f"Slot: {slot.height:.3f} mm high, {slot.depth:.3f} mm deep, {slot.width:.3g} mm wide "
        f"({_inches(slot.height)} x {_inches(slot.depth)} in), {_front(play)}{_shape(slot)}",
        "",
    ]
    if play.clearance.fits:
        lines.append(f"{'play':<32}{'one-sided':>10}{'total':>10}  stopped by")
        lines.append(f"{'':<32}{'deg':>10}{'deg':>10}")
        for order in ORDERS:
            found = in_order(play, order)
            one, total = _cells(found)
            walls = " and ".join(found.walls) or "nothing: the wire turns freely"
            lines.append(f"{f'{order} order ({VIEWS[order]})':<32}{one:>10}{total:>10}  {walls}")
        lines.append("One-sided is from centred to the stop; the total runs from stop to stop.")
        lines.append("")
    for sentence in sentences(play):
        lines += textwrap.wrap(sentence, WIDEST, subsequent_indent="  ")
    return [*lines, "", *textwrap.wrap(REAL_SIZES, WIDEST)]


def _table_lines(plays: Sequence[Play]) -> list[str]:
    names = ("first", "second", "third", "by height")
    lines = [
        "Play in degrees, one-sided from centred (the total is twice as much), of straight wires in slots "
        f"{_front(plays[0])}."
    ]
    before: Slot | None = None
    for play in plays:
        slot = play.slot
        if slot != before:
            before = slot
            lines += [
                "",
                f"Slot {_inches(slot.height)} x {_inches(slot.depth)} in "
                f"({slot.height:.3f} x {slot.depth:.3f} mm), {slot.width:.3g} mm wide{_shape(slot)}",
                f"{'  wire, in':<18}{''.join(f'{name:>10}' for name in names)}  third order stopped by",
            ]
        shape = "round " if isinstance(play.section, Round) else ""
        lines.append(f"  {shape + _inch_size(play.section):<16}{_row(play)}")
    rounded = sorted({play.section.edge_radius for play in plays if isinstance(play.section, Rectangle)})
    edges = f"edges rounded by {rounded[0]:.3g} mm" if rounded and rounded[0] > 0.0 else "sharp edges"
    notes = (
        f"Rectangular wires have {edges}, and lie edgewise (height x depth). By height: third order "
        f"where only the height counts, as most published tables take it. Free: the wire turns freely. {REAL_SIZES}"
    )
    return [*lines, "", *textwrap.wrap(notes, WIDEST)]


def _row(play: Play) -> str:
    if not play.clearance.fits:
        return f"{'does not fit':>14}"
    orders = [in_order(play, order) for order in ORDERS]
    cells = "".join(f"{_cells(found)[0]:>10}" for found in [*orders, play.third_by_height])
    return f"{cells}  {' and '.join(play.clearance.third.walls) or 'nothing'}"
