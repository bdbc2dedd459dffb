"""How an attachment holds the wire: slot, ligation, thread, walls that give way, friction."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import get_args

from cases.read_wire import length_slip
from cases.reader import Table, shown
from geometry.attachments import LARGEST_TAPER, Kind, Slot
from geometry.ligation import CLOSED, Ligation, LigationKind, Thread

# Usual sizes in mm, with room on both sides (common practice, no source).
SLOT_HEIGHT_RANGE = (0.25, 1.6)
SLOT_DEPTH_RANGE = (0.3, 2.5)
SLOT_WIDTH_RANGE = (0.4, 10.0)
MOUTH_RADIUS_RANGE = (0.0, 0.3)
SLACK_RANGE = (0.0, 1.0)
REACH_RANGE = (0.1, 2.5)
THREAD_RANGE = (0.05, 50.0)
ROLLER_RANGE = (0.1, 20.0)
# What is far from usual, likewise.
LARGEST_FRICTION = 1.0
LARGEST_PRESSURE = 10.0
"""N that a ligature may press with."""
WALL_MODULI = (100.0, 500e3)
"""MPa: between soft polymer and steel."""
STEEPEST_TAPER = math.radians(10.0)
OVERSIZE_SHARES = (-0.1, 0.25)
"""Of the height."""
WRONG_OVERSIZE = 0.5
"""Share of the height from which on the height itself would be another."""

SLOT_EXAMPLE = '{ height = "0.022 in", depth = "0.028 in", width = "3 mm" }'
OVERSIZE_EXAMPLE = 'write oversize = "5 %" or oversize = "0.01 mm"'
LIGATION_EXAMPLE = '"elastomeric", or { kind = "elastomeric", force = "150 gf", stiffness = "2 N/mm" }'
LIGATION_KEYS: dict[LigationKind, tuple[str, ...]] = {
    "closed": (),
    "elastomeric": ("force", "stiffness"),
    "steel ligature": ("slack", "stiffness"),
    "active clip": ("force", "reach", "stiffness"),
    "none": (),
}
FIGURES = ("force", "stiffness", "slack", "reach")
HOLDING = ("ligation", "wall_modulus", "friction", "thread", "radius", "side")


@dataclass(frozen=True, slots=True)
class Holding:
    """What an attachment's table says beside its place; units as in ``geometry.attachments.Attachment``."""

    ligation: Ligation = CLOSED
    wall_modulus: float = math.inf
    friction: float = 0.0
    thread: Thread | None = None
    radius: float = 0.0
    below: bool = True


def read_slot(attachment: Table, kind: Kind | None, has_slot: bool) -> Slot | None:
    """The slot of a bracket or tube; problems go to the findings."""
    if kind is not None and not has_slot:
        if attachment.has("slot"):
            attachment.problem("slot", f"a {kind} has no slot", 'leave slot out, or write kind = "bracket"')
        return None
    if kind is None and not attachment.has("slot"):
        return None
    table = attachment.table("slot", "the slot", SLOT_EXAMPLE)
    if table is None:
        return None
    table.only("height", "depth", "width", "taper", "mouth_radius", "oversize")
    nominal, depth, width = (
        _slot_size(table, key, limits)
        for key, limits in (
            ("height", SLOT_HEIGHT_RANGE),
            ("depth", SLOT_DEPTH_RANGE),
            ("width", SLOT_WIDTH_RANGE),
        )
    )
    more = _oversize(table, nominal)
    height = None if nominal is None or more is None else nominal + more
    taper = _taper(table, height, depth)
    radius = _mouth_radius(table, width)
    if height is None or depth is None or width is None or taper is None or radius is None:
        return None
    return Slot(height, depth, width, taper, radius)


def _slot_size(table: Table, key: str, limits: tuple[float, float]) -> float | None:
    size = table.quantity(key, "length", f"the slot's {key}", "positive")
    if size is not None:
        _doubt_length(table, key, f"a slot {key} of {size:.4g} mm is far from usual", size, limits)
    return size


def _doubt_length(table: Table, key: str, said: str, length: float, limits: tuple[float, float]) -> None:
    """A warning where a length (mm) lies outside its usual range, with what was probably meant."""
    remedy = length_slip(length, table.data[key], *limits)
    if remedy:
        table.warning(key, said, remedy)


def _oversize(table: Table, height: float | None) -> float | None:
    """How much higher a slot is than the height given, mm: a length, or a share of the height.

    None with a problem, or for a share where the height is unknown.
    """
    given = table.data.get("oversize")
    if given is None:
        return 0.0
    if not isinstance(given, str):
        what = f"expected a share of the slot's height or a length, with its unit, got {shown(given)}"
        table.problem("oversize", what, OVERSIZE_EXAMPLE)
        return None
    is_share = "%" in given or "cent" in given.lower()
    number = table.quantity("oversize", "share" if is_share else "length", "how much higher the slot is")
    if number is None or height is None:
        return None
    more = number * height if is_share else number
    said = f"a slot {abs(more):.4g} mm {'higher' if more > 0.0 else 'lower'} than its {height:.4g} mm"
    if not abs(more) < WRONG_OVERSIZE * height:
        table.problem("oversize", f"{said} is another slot", f"{OVERSIZE_EXAMPLE}, or give its true height")
        return None
    low, high = OVERSIZE_SHARES
    if not low <= more / height <= high:
        remedy = f"usual is {100.0 * low:.0f} to {100.0 * high:.0f} % of the height: check the unit"
        table.warning("oversize", f"{said} is far from usual", remedy)
    return more


def _taper(table: Table, height: float | None, depth: float | None) -> float | None:
    """The angle between upper and lower wall, rad; None with a problem."""
    taper = table.quantity(
        "taper", "angle", "the angle between upper and lower wall", required=False, default=0.0
    )
    if taper is None:
        return None
    degrees = f"{math.degrees(taper):.4g} deg"
    if abs(taper) > LARGEST_TAPER:
        table.problem("taper", f"walls at an angle of {degrees} make no slot", 'write taper = "2 deg"')
        return None
    if height is not None and depth is not None and height + 2.0 * depth * math.tan(0.5 * taper) <= 0.0:
        what = f"walls that close by {degrees} meet before the front of a slot {depth:.4g} mm deep"
        table.problem("taper", what, 'write taper = "2 deg": above zero where the slot opens to the front')
        return None
    if abs(taper) > STEEPEST_TAPER:
        usual = f"usual is up to {math.degrees(STEEPEST_TAPER):.0f} deg: check the unit"
        table.warning("taper", f"a taper of {degrees} is far from usual", usual)
    return taper


def _mouth_radius(table: Table, width: float | None) -> float | None:
    """The rounding of the edges at the mouths, mm; None with a problem."""
    radius = table.quantity(
        "mouth_radius", "length", "the radius of the edges at the mouths", "not negative", False, 0.0
    )
    if radius is None:
        return None
    if width is not None and radius >= 0.5 * width:
        what = f"mouths rounded by {radius:.4g} mm leave no plane wall in a slot {width:.4g} mm wide"
        table.problem("mouth_radius", what, 'write mouth_radius = "0.1 mm"')
        return None
    if radius:
        said = f"mouths rounded by {radius:.4g} mm are far from usual"
        _doubt_length(table, "mouth_radius", said, radius, MOUTH_RADIUS_RANGE)
    return radius


def read_holding(table: Table, kind: Kind | None, has_slot: bool) -> Holding | None:
    """What else an attachment says of how it holds the wire; None with problems in the findings.

    Where the kind is not known (None), whatever is given is read, so that what is wrong with it is told at once.
    """
    before = len(table.findings.problems)
    edge = kind in ("knife edge", "roller")
    belongs = {
        "ligation": has_slot,
        "wall_modulus": has_slot,
        "friction": has_slot or edge,
        "thread": kind == "button",
        "radius": kind == "roller",
        "side": edge,
    }
    if kind is None:
        belongs = {key: table.has(key) for key in HOLDING}
    for key in HOLDING:
        if table.has(key) and not belongs[key]:
            table.problem(key, f"a {kind} has no {key}", f"leave {key} out")
    ligation = _ligation(table) if belongs["ligation"] else CLOSED
    modulus = _wall_modulus(table) if belongs["wall_modulus"] else math.inf
    coefficient = read_friction(table, 0.0) if belongs["friction"] else 0.0
    thread = _thread(table) if belongs["thread"] else None
    radius = _roller_radius(table) if belongs["radius"] else 0.0
    below = _stands_below(table) if belongs["side"] else True
    if kind is None or len(table.findings.problems) > before:
        return None
    if ligation is None or modulus is None or radius is None:
        return None
    return Holding(ligation, modulus, coefficient, thread, radius, below)


def read_friction(table: Table, default: float) -> float:
    """A coefficient of friction, or ``default`` where none is given or what is given is wrong."""
    value = table.number("friction", "a coefficient of friction", "0.15", required=False)
    if value is None:
        return default
    if value < 0.0:
        what = f"a coefficient of friction is zero or more, got {value:g}"
        table.problem("friction", what, "write friction = 0.15")
        return default
    if value > LARGEST_FRICTION:
        remedy = f"usual is 0 to {LARGEST_FRICTION:g}: write 15 % as 0.15"
        table.warning("friction", f"a coefficient of friction of {value:g} is far from usual", remedy)
    return value


def _wall_modulus(table: Table) -> float | None:
    modulus = table.quantity("wall_modulus", "stress", "how stiff the walls are", "positive", False, math.inf)
    low, high = WALL_MODULI
    if modulus is not None and math.isfinite(modulus) and not low <= modulus <= high:
        remedy = f"usual is {low:g} MPa to {high / 1e3:g} GPa: check the unit"
        table.warning("wall_modulus", f"{shown(table.data['wall_modulus'])} is far from any wall", remedy)
    return modulus


def _roller_radius(table: Table) -> float | None:
    radius = table.quantity("radius", "length", "the radius of the roller", "positive")
    if radius is not None:
        said = f"a roller with a radius of {radius:.4g} mm is far from usual"
        _doubt_length(table, "radius", said, radius, ROLLER_RANGE)
    return radius


def _stands_below(table: Table) -> bool:
    side = table.choice("side", "the side of the wire it stands on", ("below", "above"), required=False)
    return side != "above"


def _ligation(table: Table) -> Ligation | None:
    """How the slot is closed in front: a name alone, or a table with figures; None with a problem."""
    given = table.data.get("ligation", "closed")
    if isinstance(given, str):
        kind = _ligation_kind(table, "ligation") if table.has("ligation") else "closed"
        return None if kind is None else Ligation(kind)
    if not isinstance(given, dict):
        what = f"expected how the slot is tied, got {shown(given)}"
        table.problem("ligation", what, f"write ligation = {LIGATION_EXAMPLE}")
        return None
    before = len(table.findings.problems)
    inner = Table(table.findings, table.at("ligation"), given)
    inner.only("kind", *FIGURES)
    kind = _ligation_kind(inner, "kind")
    figures: dict[str, float | None] = {}
    for key in FIGURES:
        if kind is None or key in LIGATION_KEYS[kind]:
            figures[key] = _ligation_figure(inner, key)
        elif inner.has(key):
            has = LIGATION_KEYS[kind]
            remedy = f"leave {key} out" + (f"; it has {' and '.join(has)}" if has else "")
            inner.problem(key, f"ligation {kind} has no {key}", remedy)
    if kind == "active clip" and inner.has("force") and inner.has("reach"):
        what = "an active clip has a force on a wire on the floor or a reach, not both"
        inner.problem("reach", what, "keep one of them: with the stiffness each gives the other")
    if kind is None or len(table.findings.problems) > before:
        return None
    return Ligation(kind, **figures)


def _ligation_kind(table: Table, key: str) -> LigationKind | None:
    given = table.choice(key, "how the slot is tied", get_args(LigationKind))
    for kind in get_args(LigationKind):
        if given == kind:
            known: LigationKind = kind
            return known
    return None


def _ligation_figure(table: Table, key: str) -> float | None:
    """One of the figures of a ligature, N, N/mm or mm; None where it is not given, or with a problem."""
    if key == "stiffness":
        return table.quantity(key, "stiffness", "the stiffness of the ligature", "positive", required=False)
    if key == "force":
        force = table.quantity(
            key, "force", "the force on a wire on the floor", "not negative", required=False
        )
        if force is not None and force > LARGEST_PRESSURE:
            remedy = f"usual is up to {LARGEST_PRESSURE:g} N: check the unit"
            table.warning(key, f"a ligature that presses with {force:.4g} N is far from usual", remedy)
        return force
    if key == "slack":
        what, limits = "the slack above a wire on the floor", SLACK_RANGE
        length = table.quantity(key, "length", what, "not negative", required=False)
    else:
        what, limits = "the height of the clip above the floor", REACH_RANGE
        length = table.quantity(key, "length", what, "positive", required=False)
    if length is not None:
        _doubt_length(table, key, f"{what}, {length:.4g} mm, is far from usual", length, limits)
    return length


def _thread(table: Table) -> Thread | None:
    """The thread of a button; None where there is none, or with a problem."""
    example = '{ length = "0.5 mm", stiffness = "20 N/mm" }'
    inner = table.table("thread", "a thread that only pulls", example, required=False)
    if inner is None:
        return None
    inner.only("length", "stiffness", "slides")
    slides = inner.flag("slides", True)
    length = inner.quantity("length", "length", "the length at which the thread is taut", "positive")
    stiffness = inner.quantity(
        "stiffness", "stiffness", "the stiffness of the thread", "positive", False, math.inf
    )
    if length is not None:
        said = f"a thread {length:.4g} mm long is far from usual"
        _doubt_length(inner, "length", said, length, THREAD_RANGE)
    return None if length is None or stiffness is None else Thread(length, stiffness, slides)
