"""A tooth table: one row of a CSV file for each bracket or tube, so that nobody types fourteen poses.

A row says where its slot is in one of two ways.

* By its place along the wire: column ``at`` (from the wire's start) or ``from_midline`` (to the tooth's own side of
  the wire's station "midline"), no position.  The slot lies where the passive wire is there and is turned as the
  wire, moved out of the arch by ``offset`` along its depth, and turned by ``rotation``, ``angulation`` and
  ``inclination`` from there.
* By its position ``x``, ``y``, ``z`` in world axes, with the angles from those axes, as in ``[[attachment]]``.
  Its place along the wire is the nearest one, unless ``at`` is given too.

Where the wire lies before engagement is known from the attachment it is seated in.  If that is a row given by
its place along the wire, the world's axes are those of the wire at its station "midline" (an arch form has one),
else at its start.

How a row's slot is tied is said by the name of its ligation, with usual figures; that its tooth gives way by the word
"typical" for its support.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from cases.data_files import DataFiles
from cases.errors import Problem
from cases.read_attachments import TOOTH_ANGLES, WITH_SLOT, ReadAttachment, read_attachment
from cases.read_csv import Columns, CsvRow, CsvTable, read_csv
from cases.reader import Findings, Table
from cases.toml_lines import Key, key_text, line_of
from geometry.arch_form import MIDLINE
from geometry.pose import Pose
from geometry.tooth import Tooth
from geometry.wire_shapes import PassiveShape, seat

SIZES = ("height", "depth", "width")
AXES = ("x", "y", "z")
CENTRE = "centre_of_resistance"
FROM_MIDLINE = "from_midline"
SHIFTS = ("offset", "occlusal")
FLAGS = {"": False, "yes": True, "no": False, "true": True, "false": False}
TEXTS = ("tooth", "name", "kind", "stop", "hold_roll", "friction", "ligation", "support", "segment")
COLUMNS: Columns = (
    dict.fromkeys(TEXTS)
    | dict.fromkeys(("at", FROM_MIDLINE, *AXES, *SHIFTS), "length")
    | dict.fromkeys(TOOTH_ANGLES, "angle")
    | dict.fromkeys([f"slot_{size}" for size in SIZES], "length")
    | dict.fromkeys([f"{CENTRE}_{axis}" for axis in AXES], "length")
)

FAR = 5.0
"""mm: a tooth farther from the wire than this is not meant to be on it, or the axes differ."""


@dataclass(frozen=True, slots=True)
class RowFindings(Findings):
    """Writes what is found at a key of a row into the case's findings, with file, row and column.

    Its lists are those of the case.  One problem for each column of a row is enough.
    """

    csv: CsvTable = field(kw_only=True)
    row: CsvRow = field(kw_only=True)
    told: set[str] = field(default_factory=set, kw_only=True)

    def problem(self, key: Key, message: str, remedy: str) -> None:
        """Write down something that must be mended."""
        columns = {_column(key), self._given(_column(key))}
        if not columns & self.told:
            self.told.update(columns)
            self.problems.append(self._told(key, message, remedy))

    def warning(self, key: Key, message: str, remedy: str) -> None:
        """Write down something doubtful, once where a row is read twice."""
        told = self._told(key, message, remedy)
        if told not in self.warnings:
            self.warnings.append(told)

    def _given(self, column: str) -> str:
        """The column that the row gives instead of ``column``, where that is empty."""
        instead = {"at": (FROM_MIDLINE,), "x": (FROM_MIDLINE, "at"), "name": ("tooth",)}
        options = (column, *instead.get(column, ()))
        return next((option for option in options if option in self.row.cells), column)

    def _told(self, key: Key, message: str, remedy: str) -> Problem:
        column = self._given(_column(key))
        table, place_in_case = self.csv.table, self.csv.table.at(self.csv.key)
        place = f"{self.csv.place(self.row, column or None)}: {message}"
        return Problem(key_text(place_in_case), line_of(table.findings.lines, place_in_case), place, remedy)


def _column(key: Key) -> str:
    """The column of a key of an attachment: ("slot", "height") is slot_height, ("position", 1) is y."""
    parts = [AXES[part] if isinstance(part, int) else part for part in key]
    if parts and parts[0] == "position":
        return parts[1] if len(parts) > 1 else "x"
    return "_".join(parts)


@dataclass(frozen=True, slots=True)
class _Row:
    """One row: its cells as numbers where that matters for its place."""

    cells: CsvRow
    findings: RowFindings
    name: str
    at: float | None
    position: tuple[float, float, float] | None
    shift: tuple[float, float, float]
    """mm along the slot's axes, from its place along the wire."""


def read_tooth_table(
    top: Table,
    files: DataFiles,
    wire: PassiveShape | None,
    seated_in: str | None,
    others: Sequence[ReadAttachment],
) -> list[ReadAttachment]:
    """The attachments of the table that ``top`` names, in the order of its rows; none where it names none.

    ``wire`` and ``seated_in`` are None where they could not be read; ``others`` are the case's own attachments,
    one of which the wire may be seated in.
    """
    if not top.has("tooth_table"):
        return []
    name = top.text("tooth_table", "the name of a tooth table", '"teeth.csv"')
    text = files.text(top, "tooth_table", name) if name else None
    csv = read_csv(text, name, top, "tooth_table", COLUMNS) if name and text is not None else None
    if csv is None:
        return []
    if not _columns_complete(csv):
        return []
    rows = [_row(csv, row, wire) for row in csv.rows]
    placed = None if wire is None else _placed(wire, seated_in, rows, others)
    return [_attachment(csv, row, wire, placed) for row in rows]


def _columns_complete(csv: CsvTable) -> bool:
    """Whether the table can say what and where each row is."""
    whole = True
    if "tooth" not in csv.headers:
        csv.problem(None, None, "there is no column tooth", 'add a column tooth with FDI numbers like "47"')
        whole = False
    has = [axis for axis in AXES if axis in csv.headers]
    if has and len(has) < len(AXES):
        missing = ", ".join(f"{axis}_mm" for axis in AXES if axis not in has)
        csv.problem(None, None, f"a position needs x, y and z: {missing} is not there", f"add {missing}")
        whole = False
    if not has and not {"at", FROM_MIDLINE} & set(csv.headers):
        what = "nothing says where the slots are"
        remedy = "add a column at_mm or from_midline_mm (place along the wire) or x_mm, y_mm and z_mm"
        csv.problem(None, None, what, remedy)
        whole = False
    return whole


def _row(csv: CsvTable, cells: CsvRow, wire: PassiveShape | None) -> _Row:
    case = csv.table.findings
    findings = RowFindings(case.lines, case.problems, case.warnings, csv=csv, row=cells)
    numbers: dict[str, float] = {}
    for column in csv.units:
        if column in cells.cells:
            value = csv.number(cells, column)
            if value is None:
                findings.told.add(column)
            else:
                numbers[column] = value
    if "tooth" not in cells.cells:
        findings.problem(("tooth",), "there is no tooth", 'write an FDI number like "47"')
    given = [axis for axis in AXES if axis in cells.cells]
    if given and len(given) < len(AXES):
        missing = next(axis for axis in AXES if axis not in given)
        findings.problem((missing,), "a position needs x, y and z", "give all three, or none and at_mm")
    if not given and not {"at", FROM_MIDLINE} & set(cells.cells):
        where = next(column for column in ("at", FROM_MIDLINE, "x") if column in csv.headers)
        remedy = "give at_mm or from_midline_mm, or x_mm, y_mm and z_mm"
        findings.problem((where,), "nothing says where the slot is", remedy)
    for shift in SHIFTS:
        if given and shift in cells.cells:
            what = f"{shift} goes with a place along the wire, not with a position"
            findings.problem(
                (shift,), what, "leave it empty, or give a place along the wire without x, y and z"
            )
    values = [numbers[axis] for axis in AXES if axis in numbers]
    position = (values[0], values[1], values[2]) if len(values) == len(AXES) else None
    at = numbers.get("at")
    if FROM_MIDLINE in numbers:
        at = _from_midline(findings, numbers[FROM_MIDLINE], wire)
    name = cells.cells.get("name") or cells.cells.get("tooth") or f"row {cells.number}"
    tooth = _tooth(cells)
    up = numbers.get("occlusal", 0.0) * (1 if tooth is None else tooth.occlusal_sign)
    return _Row(cells, findings, name, at, position, (0.0, up, numbers.get("offset", 0.0)))


def _tooth(cells: CsvRow) -> Tooth | None:
    """The row's tooth; None for none, or a number that no tooth has, which is told where it is read."""
    try:
        return Tooth(cells.cells.get("tooth", ""))
    except ValueError:
        return None


def _from_midline(findings: RowFindings, distance: float, wire: PassiveShape | None) -> float | None:
    """The arc length (mm) at ``distance`` (mm) from the midline, to the side of the row's tooth."""
    key = (FROM_MIDLINE,)
    if "at" in findings.row.cells:
        findings.problem(
            key, "a place along the wire is given twice, by at and from_midline", "leave one empty"
        )
        return None
    if wire is None:
        return None
    middle = _midline(wire)
    if middle is None:
        remedy = f'draw the wire as an arch, or add {{ station = "{MIDLINE}" }} to it, or give at_mm'
        findings.problem(key, f'the wire has no station "{MIDLINE}" to start from', remedy)
        return None
    tooth = _tooth(findings.row)
    if tooth is None:
        return None
    # The wire runs to the viewer's right, which is the patient's left: quadrants 2 and 3.
    right = tooth.quadrant in (2, 3)
    room = wire.length - middle if right else middle
    if not 0.0 <= distance <= room:
        what = (
            f"the wire ends {room:.4g} mm from the midline, got {distance:.4g} mm"
            if distance > 0.0
            else f"a distance from the midline is zero or more, got {distance:.4g} mm"
        )
        findings.problem(
            key, what, "the tooth says to which side; make the wire longer or the distance shorter"
        )
        return None
    return middle + distance if right else middle - distance


def _midline(wire: PassiveShape) -> float | None:
    """Arc length (mm) of the station "midline"; None where the wire has none."""
    return next((station.at for station in wire.stations if station.name == MIDLINE), None)


def _placed(
    wire: PassiveShape, seated_in: str | None, rows: Sequence[_Row], others: Sequence[ReadAttachment]
) -> Pose | None:
    """Where the wire's start lies when the wire is in its seat; None where that cannot be known."""
    for other in others:
        if other.name == seated_in:
            return (
                None
                if other.spec is None
                else seat(wire, other.spec.attachment.at, other.spec.attachment.pose)
            )
    home = next((row for row in rows if row.name == seated_in), None)
    if home is None:
        return None
    if home.position is None:
        return seat(wire, _midline(wire) or 0.0, Pose.identity())
    if home.at is None:
        what = "the wire is seated here, so its place along the wire cannot be found from where the wire is"
        home.findings.problem(("at",), what, "add a column at_mm and give it here")
        return None
    found = read_attachment(_table(home, home.at), wire)
    return None if found.spec is None else seat(wire, home.at, found.spec.attachment.pose)


def _attachment(csv: CsvTable, row: _Row, wire: PassiveShape | None, placed: Pose | None) -> ReadAttachment:
    at, base = row.at, None
    if row.position is None and at is not None and wire is not None and at <= wire.length:
        positions, axes = wire.frames(max(at, 0.0))
        base = (placed or Pose.identity()).compose(Pose(positions[0], axes[0]))
    elif row.position is not None and at is None and wire is not None and placed is not None:
        at, away = wire.nearest(placed.to_local(np.array(row.position)))
        if away > FAR:
            what = f"the slot is {away:.3g} mm from the wire before engagement"
            remedy = "check the units and axes of its position, or give its place along the wire (at_mm)"
            row.findings.warning(("position",), what, remedy)
    if at is None:
        # Whatever hinders the place from being found has been told.
        row.findings.told.add("at")
    read = read_attachment(_table(row, at), wire, base)
    # Without its place on the wire a row's shift from there is no position.
    return replace(read, position=None) if row.position is None and base is None else read


def _table(row: _Row, at: float | None) -> Table:
    """The row as the table of an attachment would be in a case file."""
    csv, cells = row.findings.csv, row.cells
    data: dict[str, Any] = {"name": row.name}
    kind = cells.cells.get("kind", "bracket")
    data["kind"] = kind
    for key in ("tooth", *TOOTH_ANGLES):
        value = csv.written(cells, key)
        if value is not None and key not in row.findings.told:
            data[key] = value
    if "tooth" not in data:
        # What is wrong with the tooth is told; its angles need one to be checked at all.
        for key in TOOTH_ANGLES:
            data.pop(key, None)
    for flag in ("stop", "hold_roll"):
        given = cells.cells.get(flag, "").lower()
        if given not in FLAGS:
            row.findings.problem((flag,), f'expected yes or no, got "{given}"', "write yes or no")
        data[flag] = FLAGS.get(given, False)
    for key in ("ligation", "support", "segment"):
        if key in cells.cells:
            data[key] = cells.cells[key]
    friction = _friction(row)
    if friction is not None:
        data["friction"] = friction
    sizes = {size: csv.written(cells, f"slot_{size}") for size in SIZES}
    if kind in WITH_SLOT:
        for size in SIZES:
            if sizes[size] is None:
                remedy = f"give it, in a column like slot_{size}_{'mm' if size == 'width' else 'in'}"
                row.findings.problem(("slot", size), f"a {kind} needs a slot {size}", remedy)
    if any(sizes.values()):
        data["slot"] = {size: value for size, value in sizes.items() if value is not None}
    centre = [csv.written(cells, f"{CENTRE}_{axis}") for axis in AXES]
    if any(centre):
        if all(centre):
            data[CENTRE] = centre
        else:
            missing = AXES[centre.index(None)]
            row.findings.problem((CENTRE, missing), "a place needs x, y and z", "give all three, or none")
    place = row.shift if row.position is None else row.position
    data["position"] = [f"{value!r} mm" for value in place]
    if at is not None:
        data["at"] = f"{at!r} mm"
    return Table(row.findings, (), data)


def _friction(row: _Row) -> float | None:
    """The row's coefficient of friction; None where it has none, or with a problem no number."""
    given = row.cells.cells.get("friction")
    if given is None:
        return None
    try:
        # Python itself would take "1_0" for ten.
        value = math.nan if "_" in given else float(given)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        what = f'expected a coefficient of friction, a number without unit, got "{given}"'
        row.findings.problem(("friction",), what, "write a number like 0.15")
        return None
    return value


def along_the_wire(own: Sequence[ReadAttachment], rows: Sequence[ReadAttachment]) -> list[ReadAttachment]:
    """The case's own attachments and those of its table, in their order along the wire.

    The table's rows may come in any order; the case's own keep theirs, so that a wrong one is still told.
    """
    merged = list(own)
    for row in sorted(rows, key=lambda item: -1.0 if item.at is None else item.at):
        later = (
            i
            for i, item in enumerate(merged)
            if item.at is not None and row.at is not None and item.at > row.at
        )
        merged.insert(next(later, len(merged)), row)
    return merged
