"""A multistrand wire as a section: ``{ shape = "strands", ... }``."""

from __future__ import annotations

import math

from cases.reader import Table, shown
from fem.strands import STEEPEST, Strands, lay_angle_of
from geometry.section import Rectangle

KEYS = (
    "strands",
    "strand_diameter",
    "lay_angle",
    "lay_length",
    "core_diameter",
    "height",
    "depth",
    "edge_radius",
)
STRAND_RANGE = (0.03, 0.6)
"""mm: usual diameters of strands, with room on both sides (common practice, no source)."""
LAY_EXAMPLE = 'lay_angle = "15 deg", from the wire\'s axis, or lay_length = "4 mm", once round'


def read_strands(table: Table) -> Strands | None:
    """The strands of a section table; None with problems written down."""
    table.only("shape", *KEYS)
    before = len(table.findings.problems)
    if not table.has("strands"):
        table.problem("strands", "the number of strands is missing", "add strands = 3")
    many = table.integer("strands", "the number of strands", 2, 2, 100)
    diameter = table.quantity("strand_diameter", "length", "the diameter of one strand", "positive")
    core = table.quantity("core_diameter", "length", "the diameter of the core", "positive", False, 0.0)
    flat = _flat(table)
    if table.has("lay_angle") == table.has("lay_length"):
        what = (
            "both a lay angle and a lay length"
            if table.has("lay_angle")
            else "how the strands are laid is missing"
        )
        table.problem("lay_angle" if table.has("lay_angle") else "", what, f"write one: {LAY_EXAMPLE}")
    angle = table.quantity("lay_angle", "angle", "the lay angle", "not negative", False)
    length = table.quantity("lay_length", "length", "the lay length", "positive", False)
    if angle is not None and angle > STEEPEST:
        most = f"{math.degrees(STEEPEST):.0f} deg from the wire's axis"
        what = f"a lay angle is at most {most}, got {shown(table.data['lay_angle'])}"
        table.problem("lay_angle", what, 'write an angle like "15 deg"')
    if len(table.findings.problems) > before or diameter is None or core is None:
        return None
    low, high = STRAND_RANGE
    if not low <= diameter <= high:
        said = f"a strand of {diameter:.4g} mm is far from usual"
        table.warning("strand_diameter", said, f"usual is {low:g} to {high:g} mm: check the unit")
    try:
        if length is not None:
            angle = lay_angle_of(many, diameter, length, core)
    except ValueError as error:
        table.problem("lay_length", str(error), f"check the unit; write one: {LAY_EXAMPLE}")
        return None
    try:
        return Strands(many, diameter, angle or 0.0, core, flat)
    except ValueError as error:
        table.problem("", str(error), "check the units of strands and outline")
        return None


def _flat(table: Table) -> Rectangle | None:
    """The outline of a braid, where there is one."""
    if not any(table.has(key) for key in ("height", "depth", "edge_radius")):
        return None
    height = table.quantity("height", "length", "the braid's height", "positive")
    depth = table.quantity("depth", "length", "the braid's depth", "positive")
    radius = table.quantity("edge_radius", "length", "the edge radius", "not negative", False, 0.0)
    if height is None or depth is None or radius is None:
        return None
    try:
        return Rectangle(height, depth, radius)
    except ValueError as error:
        table.problem("edge_radius", str(error), "write a smaller radius")
        return None
