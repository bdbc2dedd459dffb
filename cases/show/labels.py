"""What stands in the picture as text, and where it finds a place that nothing else has.

Pure functions: no drawing.  People are shown three digits; the files beside the picture keep all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cases.results import AttachmentResult, RunResult, WireResult
from cases.show.view import Box
from cases.words import LEAST_SHOWN, shown, three
from fem.status import Status
from geometry.section import Rectangle, Round, Section
from geometry.tooth import Tooth

Array = NDArray[np.float64]

# One gram-force in newton: a gram times the standard acceleration, 9.806 65 m/s^2 (3rd CGPM, 1901).
NEWTON_PER_GF = 9.80665e-3

STRESS_TITLE = "bending stress (MPa)"
SHEAR_TITLE = "shear stress from torsion (MPa)"
FORCE_LEGEND = "straight arrow: force on the tooth, drawn beside its attachment; the longer the larger"
MOMENT_LEGEND = "round arrow: moment on the tooth about the attachment's centre; the further round the larger"
GHOST_LEGEND = "pale ghost: passive shape of the wire (free of stress)"
JOINT_LEGEND = "grey ball with a name: where one wire is joined to another"
PRESSING_LEGEND = "marked wall: the wire presses on it; the darker the harder"
TEETH_LEGEND = "teeth: invented shapes of average size; dark ball: centre of resistance"
ENLARGED_LEGEND = "drawn larger than to scale, so that they are seen:"
WITHIN_LEGEND = "within this view; what is below 2 % of the largest is left out"
LEFT_OUT_LEGEND = "what is below 2 % of the largest is left out"
NO_ARROW_LEGEND = "what is below 2 % of the largest has no arrow"
NO_LOADS = "No force and no couple on any tooth."
NONE_WITHIN = "No force and no moment in this view."
# Any other end of a solve, an unstable equilibrium among them, is said across the picture.
SOUND = tuple(status.name.lower() for status in (Status.ENGAGED, Status.PASSIVE))

# With more attachments than this a picture names them by number and writes less.
MANY = 6
# What covering one drawn point costs, in pixels of distance.
HIDING = 100.0
# What a radian away from the direction it wishes costs.
TURNING = 25.0
MM_PER_INCH = 25.4
LEAST_ANGLE = 0.01
"""Degrees: no drawing shows less."""
# Axes of attachments that differ from the world's by more than this have their own words.
_SAME_WAY = math.cos(math.radians(40.0))


def stress_shown(wire: WireResult) -> tuple[str, Array]:
    """Title and nodal values (n,) of the stress that colours the wire: bending, or torsion where that is larger."""
    if float(wire.shear_stress_mpa.max()) > float(wire.bending_stress_mpa.max()):
        return SHEAR_TITLE, wire.shear_stress_mpa
    return STRESS_TITLE, wire.bending_stress_mpa


def stresses_shown(result: RunResult) -> tuple[str, tuple[Array, ...]]:
    """The same for all wires of a result."""
    return stresses_of(result.wires)


def stresses_of(wires: Sequence[WireResult]) -> tuple[str, tuple[Array, ...]]:
    """The same for several wires, which are coloured by one stress: the one that is the largest anywhere."""
    strongest = max(wires, key=lambda wire: float(stress_shown(wire)[1].max()))
    title, _ = stress_shown(strongest)
    bending = title == STRESS_TITLE
    return title, tuple(wire.bending_stress_mpa if bending else wire.shear_stress_mpa for wire in wires)


def to_gf(newton: ArrayLike) -> Array:
    """Newtons, or N mm, in gram-force."""
    return np.asarray(newton, dtype=np.float64) / NEWTON_PER_GF


def from_gf(gram_force: ArrayLike) -> Array:
    """Gram-force, or gf mm, in newtons."""
    return np.asarray(gram_force, dtype=np.float64) * NEWTON_PER_GF


def force_text(newton: float, brief: bool = False) -> str:
    """A force in the two units the trade reads; ``brief``, in newton alone."""
    if newton == 0.0:
        return "no force"
    if brief:
        return f"{three(newton)} N"
    return f"{three(newton)} N ({three(newton / NEWTON_PER_GF)} gf)"


def moment_text(newton_mm: float, brief: bool = False) -> str:
    """A moment in the two units the trade reads; ``brief``, in newton millimetres alone."""
    if newton_mm == 0.0:
        return "no moment"
    if brief:
        return f"{three(newton_mm)} N mm"
    return f"{three(newton_mm)} N mm ({three(newton_mm / NEWTON_PER_GF)} gf mm)"


def degrees_text(angle: float) -> str:
    """An angle given in degrees, with a true minus sign; below a hundredth, 0."""
    return f"{shown(angle) if abs(angle) >= LEAST_ANGLE else 0}°".replace("-", "\N{MINUS SIGN}")


def name_text(attachment: AttachmentResult) -> str:
    """The attachment as the case file calls it, with its tooth."""
    if attachment.tooth is None:
        return attachment.name
    if attachment.name == attachment.tooth:
        return f"tooth {attachment.tooth}"
    return f"{attachment.name} (tooth {attachment.tooth})"


def load_rows(result: RunResult) -> list[tuple[str, str, str]]:
    """Of every attachment its tooth (or name) and the size of its force (N) and moment (N mm), to three digits of the
    largest, so that digits stand under each other."""
    names = short_names(result.attachments)
    forces = _column([math.hypot(*item.force_n) for item in result.attachments])
    moments = _column([math.hypot(*item.moment_nmm) for item in result.attachments])
    return list(zip(names, forces, moments, strict=True))


def short_names(items: Sequence[AttachmentResult]) -> list[str]:
    """Of every attachment its tooth, or its name; attachments that share a tooth are counted."""
    out: list[str] = []
    for k, item in enumerate(items):
        before = sum(one.tooth == item.tooth for one in items[:k])
        out.append(
            item.name if item.tooth is None else f"{item.tooth} ({before + 1})" if before else item.tooth
        )
    return out


def _column(values: Sequence[float]) -> list[str]:
    most = max(values)
    decimals = max(0, 2 - math.floor(math.log10(most))) if most >= LEAST_SHOWN else 2
    return [f"{value:.{decimals}f}" for value in values]


def by_tooth(result: RunResult) -> bool:
    """Whether a picture may call its attachments by their teeth: there are many, each on a tooth of its own."""
    teeth = {item.tooth for item in result.attachments}
    return None not in teeth and len(teeth) == len(result.attachments) > MANY


def mark_text(
    attachment: AttachmentResult, without_arrow: bool, without_arc: bool, brief: bool = False
) -> str:
    """The attachment's name and, where a force or moment is too small to draw, what it is all the same;
    ``brief``, its tooth (or name) alone."""
    if brief:
        return attachment.tooth or attachment.name
    lines = [name_text(attachment)]
    if without_arrow:
        lines.append(force_text(math.hypot(*attachment.force_n)))
    if without_arc and attachment.kind != "button":
        lines.append(moment_text(math.hypot(*attachment.moment_nmm)))
    return "\n".join(lines)


def inches(mm: float) -> str:
    """A size in inches as the trade writes it: three decimals, or four where three are not enough."""
    value = mm / MM_PER_INCH
    return f"{value:.3f}" if abs(round(value, 3) - value) < 4e-5 else f"{value:.4f}"


def section_text(section: Section) -> str:
    """The wire's section as the trade orders it, in inches, with millimetres beside."""
    if isinstance(section, Round):
        return f"round {inches(section.diameter)} in ({section.diameter:.3f} mm)"
    if isinstance(section, Rectangle):
        sides = f"{inches(section.height)} x {inches(section.depth)} in"
        edges = f"edge radius {section.edge_radius:g} mm" if section.edge_radius > 0.0 else "sharp edges"
        return f"{sides} ({section.height:.3f} x {section.depth:.3f} mm), {edges}"
    return section.label


def axis_words(result: RunResult) -> tuple[str, str, str]:
    """What +x, +y and +z of the world are called: in the words of the trade where they mean the same for all teeth
    that have a number, else by letter alone."""
    teeth = [Tooth(item.tooth) for item in result.attachments if item.tooth is not None]
    if not teeth:
        return "x", "y", "z"
    same = np.array([np.diag(item.pose.axes) for item in result.attachments]).min(axis=0) > _SAME_WAY
    mesial, occlusal = {t.mesial_sign for t in teeth}, {t.occlusal_sign for t in teeth}
    x = "x" if len(mesial) > 1 or not same[0] else "x mesial" if mesial == {1} else "x distal"
    y = "y" if len(occlusal) > 1 or not same[1] else "y occlusal" if occlusal == {1} else "y gingival"
    return x, y, "z facial" if same[2] else "z"


def unstressed(wire: WireResult) -> bool:
    """Whether the wire's stress is rounding and nothing else."""
    return wire.largest_stress_mpa < LEAST_SHOWN


def moves(result: RunResult, share: float) -> bool:
    """Whether any wire leaves its passive shape by more than this share of its height."""
    return any(
        bool(np.abs(wire.passive_positions_mm - wire.positions_mm).max() > share * wire.section.height)
        for wire in result.wires
    )


def sentence(text: str) -> str:
    """The same with a capital letter in front."""
    return text[:1].upper() + text[1:]


def quiet_text(result: RunResult) -> str | None:
    """The sentence of a result without any force or moment, None for every other."""
    if result.status == Status.PASSIVE.name.lower():
        return f"{sentence(Status.PASSIVE.sentence)}."
    most = max(
        (abs(v) for item in result.attachments for v in (*item.force_n, *item.moment_nmm)), default=0.0
    )
    return NO_LOADS if most < LEAST_SHOWN else None


def _made_of(wire: WireResult, brief: bool) -> str:
    """A wire's section, or its strands and the outline round them."""
    outline = _brief_section(wire.section) if brief else section_text(wire.section)
    return outline if wire.strands is None else f"{wire.strands}, {outline}"


def wire_text(result: RunResult) -> str:
    """The wire, or every wire, and how hard it is worked, in one line."""
    if result.more_wires:
        return "; ".join(f"wire {wire.name}: {_worked(wire, True)}" for wire in result.wires)
    return f"wire {_worked(result.wire, False)}"


def sections_text(result: RunResult) -> str:
    """The section of the wire, or of every wire."""
    if result.more_wires:
        return "; ".join(f"wire {wire.name}: {_made_of(wire, True)}" for wire in result.wires)
    return f"wire {_made_of(result.wire, False)}"


def _worked(wire: WireResult, brief: bool) -> str:
    text = _made_of(wire, True) if brief else f"{_made_of(wire, False)};"
    if unstressed(wire):
        return f"{text}, free of stress" if brief else f"{text} free of stress"
    text += f"{',' if brief else ''} largest stress {three(wire.largest_stress_mpa)} MPa"
    if wire.yield_share is not None:
        text += f", {three(100.0 * wire.yield_share)} % of yield"
    return text


def _brief_section(section: Section) -> str:
    """In inches alone."""
    return section_text(section).partition(" (")[0]


def banner_text(result: RunResult) -> str | None:
    """The warning across the picture; None for a wire at rest, engaged or passive in its play."""
    if result.status in SOUND:
        return None
    end = result.status.replace("_", " ")
    if not Status[result.status.upper()].converged:
        end = f"no equilibrium found ({end})"
    return f"{end}: do not use these figures"


def round_length(target_mm: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is not above ``target_mm`` (> 0)."""
    power = 10.0 ** math.floor(math.log10(target_mm))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= target_mm * (1.0 + 1e-12))


@dataclass(frozen=True, slots=True)
class Wish:
    """A text of known size that wants to stand near a point, off in a direction if it can."""

    size: tuple[float, float]
    anchor: tuple[float, float]
    direction: tuple[float, float]
    nearest: float
    """Free distance between the anchor and the text, pixels."""


def _at(wish: Wish, angle: float, distance: float) -> Box:
    """The text's box, its edge ``distance`` away from the anchor in the direction ``angle``."""
    width, height = wish.size
    c, s = math.cos(angle), math.sin(angle)
    # From the middle of a box to its edge in this direction.
    to_edge = min(0.5 * width / max(abs(c), 1e-9), 0.5 * height / max(abs(s), 1e-9))
    x = wish.anchor[0] + c * (distance + to_edge)
    y = wish.anchor[1] + s * (distance + to_edge)
    return Box(x - 0.5 * width, y - 0.5 * height, x + 0.5 * width, y + 0.5 * height)


NOWHERE = np.zeros((0, 2))


def place(
    wishes: Sequence[Wish],
    room: Box,
    taken: Array,
    gap: float = 6.0,
    blocked: Sequence[Box] = (),
    never: Array = NOWHERE,
    clear: float = 0.0,
) -> list[Box]:
    """One box per wish, inside ``room``, none over another or over what is ``blocked``, none within ``clear`` pixels of
    a point in ``never`` (m, 2), and hiding few of the drawn points ``taken``, (n, 2).

    Each wish in turn takes the best of a fan of places around its anchor.  Where the fan has none that hides nothing,
    the whole room is searched; raises ValueError when it is full.
    """
    placed: list[Box] = list(blocked)
    for wish in wishes:
        wanted = math.atan2(wish.direction[1], wish.direction[0])
        best: tuple[float, Box] | None = None
        for step in range(10):
            for turn in range(16):
                angle = wanted + (turn // 2 + turn % 2) * (1 if turn % 2 else -1) * math.pi / 8.0
                box = _at(wish, angle, wish.nearest + 14.0 * step)
                around = box.grown(gap)
                if not room.holds(box) or any(around.overlaps(other) for other in placed):
                    continue
                if box.grown(clear).count(never):
                    continue
                off = abs(math.remainder(angle - wanted, 2.0 * math.pi))
                cost = 14.0 * step + TURNING * off + HIDING * around.count(taken)
                if best is None or cost < best[0]:
                    best = cost, box
        if best is None or best[1].grown(gap).count(taken):
            elsewhere = _anywhere(wish, room, placed, taken, gap, never, clear)
            best = min((one for one in (best, elsewhere) if one), default=None, key=lambda one: one[0])
        if best is None:
            raise ValueError("the picture is too small for its labels: ask for a larger one")
        placed.append(best[1])
    return placed[len(blocked) :]


def _anywhere(
    wish: Wish, room: Box, placed: Sequence[Box], taken: Array, gap: float, never: Array, clear: float
) -> tuple[float, Box] | None:
    """The cost and the box of the free place of the room nearest to the anchor."""
    width, height = wish.size
    best: tuple[float, Box] | None = None
    for left in np.arange(room.left, room.right - width, 12.0):
        for bottom in np.arange(room.bottom, room.top - height, 12.0):
            box = Box(float(left), float(bottom), float(left) + width, float(bottom) + height)
            around = box.grown(gap)
            if any(around.overlaps(other) for other in placed) or box.grown(clear).count(never):
                continue
            x, y = box.middle
            cost = math.hypot(x - wish.anchor[0], y - wish.anchor[1]) + HIDING * around.count(taken)
            if best is None or cost < best[0]:
                best = cost, box
    return best
