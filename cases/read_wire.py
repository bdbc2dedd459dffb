"""The ``[wire]`` table of a case file, or one of its ``[[wire]]`` tables."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cases import units
from cases.data_files import DataFiles
from cases.read_material import read_material
from cases.read_shapes import KINDS, read_larger
from cases.read_strands import KEYS as STRAND_KEYS
from cases.read_strands import read_strands
from cases.reader import Table, listing, nearest, shown
from cases.schema import MaterialSpec, WireSpec
from fem.strands import Strands
from geometry.drawn_shapes import Item, Mark, shape_of
from geometry.section import UNIT_ROUNDING, Rectangle, Round, Section
from geometry.wire_shapes import Bend, Curved, PassiveShape, Straight, Twist

DEFAULT_BEND_RADIUS = 0.5
"""mm, at the centreline: about what bird-beak pliers make (common practice, no source)."""

# Sizes of orthodontic wires, from light round wires to transpalatal arches, with room on both sides (common
# practice, no source).
SECTION_RANGE = (0.15, 1.6)
LENGTH_RANGE = (0.5, 250.0)

SIMPLE = ("straight", "bend", "twist", "arc", "curve")
"""Pieces that are read here; ``read_shapes`` reads the larger ones."""


@dataclass(frozen=True, slots=True)
class ReadWire:
    """What could be read of the wire; None for what could not."""

    table: Table
    material: MaterialSpec | None
    section: Section | None
    """Its outline, where it is of strands."""
    passive_shape: PassiveShape | None
    seated_in: str | None
    name: str = "wire"
    strands: Strands | None = None

    @property
    def spec(self) -> WireSpec | None:
        """The whole wire, if all of it could be read."""
        if (
            self.material is None
            or self.section is None
            or self.passive_shape is None
            or self.seated_in is None
        ):
            return None
        return WireSpec(
            self.material, self.section, self.passive_shape, self.seated_in, self.name, self.strands
        )


def read_wire(table: Table, files: DataFiles, alone: bool = True) -> ReadWire:
    """Read the table; problems go to its findings.  ``files`` reads the files that the shape names; a wire that is not
    ``alone`` needs a name."""
    table.only("name", "material", "section", "passive_shape", "seated_in", "friction")
    name = table.text("name", "a name for the wire, of which there are several", '"base arch"', not alone)
    section, strands = _section(table)
    material = read_material(table)
    if material is not None and material.law is not None and (strands is not None or not alone):
        only = "strands" if strands is not None else "wires of a case with several"
        table.problem(
            "material", f'{only} are linear elastic only so far, "{material.name}" has law = "{material.law_name}"',
            'write the material as a table with law = "elastic"',
        )  # fmt: skip
    return ReadWire(
        table=table,
        material=material,
        section=section,
        passive_shape=_passive_shape(table, section, files),
        seated_in=table.text(
            "seated_in", "the name of the attachment that holds the passive wire", '"molar tube"'
        ),
        name=name or "wire",
        strands=strands,
    )


def length_slip(number: float, given: str, low: float, high: float) -> str | None:
    """For a length (mm) outside a usual range: what was probably meant, or None inside the range.

    Tries the slips that happen: thousandths of an inch written as mm, mm written as in, and the reverse.
    """
    if low <= number <= high:
        return None
    written = units.written(given)
    for value, unit, millimetres in (
        (written / 1e3, "in", written / 1e3 * 25.4),
        (written, "in", written * 25.4),
        (written, "mm", written),
        (written / 1e3, "mm", written / 1e3),
    ):
        if low <= millimetres <= high:
            return f"did you mean {value:.4g} {unit}?"
    return f"usual is {low:g} to {high:g} mm: check the unit"


def _section(wire: Table) -> tuple[Section | None, Strands | None]:
    """The outline, and the strands within it where there are any."""
    table = wire.table("section", "the wire's section", '{ shape = "round", diameter = "0.016 in" }')
    if table is None:
        return None, None
    shape = table.choice("shape", "the shape of the section", ("round", "rectangle", "strands"))
    if shape == "strands":
        strands = read_strands(table)
        return (None if strands is None else strands.outline), strands
    return _solid_section(table, shape), None


def _solid_section(table: Table, shape: str | None) -> Section | None:
    if shape == "round":
        table.only("shape", "diameter")
        diameter = table.quantity("diameter", "length", "the wire's diameter", "positive")
        _doubt_size(table, "diameter", "a wire diameter", diameter)
        return None if diameter is None else Round(diameter)
    if shape is None:
        table.only("shape", "diameter", "height", "depth", "edge_radius", *STRAND_KEYS)
        return None
    table.only("shape", "height", "depth", "edge_radius")
    height = table.quantity("height", "length", "the wire's height", "positive")
    depth = table.quantity("depth", "length", "the wire's depth", "positive")
    radius = table.quantity(
        "edge_radius", "length", "the edge radius", "not negative", required=False, default=0.0
    )
    _doubt_size(table, "height", "a wire height", height)
    _doubt_size(table, "depth", "a wire depth", depth)
    if height is None or depth is None or radius is None:
        return None
    most = 0.5 * min(height, depth)
    if radius > most * (1.0 + UNIT_ROUNDING):
        table.problem(
            "edge_radius",
            f"an edge radius can be at most half the smaller side of the section ({most:.4g} mm), "
            f"got {shown(table.data['edge_radius'])}",
            f'write "{most:.4g} mm" or less',
        )
        return None
    return Rectangle(height, depth, radius)


def _doubt_size(table: Table, name: str, what: str, number: float | None) -> None:
    if number is not None:
        remedy = length_slip(number, table.data[name], *SECTION_RANGE)
        if remedy:
            table.warning(name, f"{what} of {number:.4g} mm is far from usual", remedy)


def _passive_shape(wire: Table, section: Section | None, files: DataFiles) -> PassiveShape | None:
    """The pieces one after the other; a twist by nothing is a straight run, a bend by nothing is none."""
    example = 'write passive_shape = [ { straight = "20 mm" }, { bend = "20 deg", order = "second" } ]'
    tables = wire.tables("passive_shape", "piece of the passive shape", example)
    if tables is None:
        return None
    before = len(wire.findings.problems)
    items = _items(tables, section, files)
    if len(wire.findings.problems) > before:
        return None
    if all(isinstance(item, Mark) for item in items):
        wire.problem("passive_shape", "the wire has no length", 'add a piece like { straight = "20 mm" }')
        return None
    try:
        shape = shape_of(items)
    except ValueError as error:
        wire.problem("passive_shape", str(error), "give each station a name that is not the other's number")
        return None
    low, high = LENGTH_RANGE
    if not low <= shape.length <= high:
        wire.warning(
            "passive_shape", f"a wire {shape.length:.4g} mm long is unusual", "check the units of its pieces"
        )
    return shape


def _items(tables: Sequence[Table], section: Section | None, files: DataFiles) -> list[Item]:
    return [item for table in tables for item in _piece(table, section, files)]


def _piece(table: Table, section: Section | None, files: DataFiles) -> list[Item]:
    known = (*SIMPLE, *KINDS)
    kinds = [kind for kind in known if table.has(kind)]
    if len(kinds) != 1:
        near = [(key, nearest(key, known)) for key in table.data if nearest(key, known)]
        got = " and ".join(kinds) if kinds else "none of them"
        table.problem(
            "",
            f"a piece is one of straight, bend or twist, or of {listing(known[3:])}, got {got}",
            f'"{near[0][0]}" is not known, did you mean "{near[0][1]}"?'
            if near and not kinds
            else "write one per { }",
        )
        return []
    if kinds[0] in KINDS:
        return read_larger(table, kinds[0], section, files, lambda inside: _items(inside, section, files))
    if kinds == ["curve"]:
        return _curve(table)
    if kinds == ["straight"]:
        table.only("straight")
        length = table.quantity("straight", "length", "the length of a straight run", "positive")
        return [] if length is None else [Straight(length)]
    if kinds == ["twist"]:
        table.only("twist", "over")
        twist = table.quantity("twist", "angle", "the angle of a twist")
        over = table.quantity("over", "length", "the length a twist runs over", "positive")
        if twist is None or over is None:
            return []
        return [Twist(twist, over)] if twist else [Straight(over)]
    return _bend(table, kinds[0], section)


def _curve(table: Table) -> list[Item]:
    """A run of constant curvature and twist, by how far it turns in all about the wire's own axes: an exact shape that
    a run has written, such as that of a wire that has taken a set."""
    table.only("curve", "about_x", "about_y", "about_z")
    length = table.quantity("curve", "length", "the length of a curve", "positive")
    turns = [
        table.quantity(f"about_{axis}", "angle", f"the turn about {axis}", required=False, default=0.0)
        for axis in "xyz"
    ]
    twist, first, second = turns
    if length is None or twist is None or first is None or second is None:
        return []
    return [Curved((twist / length, first / length, second / length), length)]


def _bend(table: Table, key: str, section: Section | None) -> list[Item]:
    """A bend, or an arc: the same, of any angle, with its radius always told."""
    if key == "arc":
        table.only("arc", "order", "radius")
    else:
        table.only("bend", "order", "radius")
    what = "an arc" if key == "arc" else "a bend"
    bend = table.quantity(key, "angle", f"the angle of {what}")
    order = table.choice("order", f"the order of {what}", ("first", "second"))
    radius = table.quantity(
        "radius", "length", f"the radius of {what}", "positive", key == "arc", DEFAULT_BEND_RADIUS
    )
    if bend is None or order is None or radius is None:
        return []
    if key == "bend" and abs(bend) > math.pi:
        table.warning(
            "bend",
            f"a bend of {math.degrees(bend):.4g} deg is more than half a turn",
            "check the unit, or write an arc",
        )
    if section is not None:
        half = 0.5 * (section.depth if order == "first" else section.height)
        if radius < half:
            remedy = f'write a radius of "{half:.3g} mm" or more'
            table.warning(
                "radius" if table.has("radius") else key,
                f"{what} of radius {radius:.3g} mm folds a wire this thick",
                remedy,
            )
    return [Bend(bend, "first" if order == "first" else "second", radius)] if bend else []
