"""What stands in the picture as text, and where it finds a place that nothing else has.

Pure functions: no drawing.  People are shown three digits; the files beside the picture keep all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.results import AttachmentResult, RunResult, WireResult
from cases.show.view import Box
from fem.status import Status

Array = NDArray[np.float64]

# One gram-force in newton: a gram times the standard acceleration, 9.806 65 m/s^2 (3rd CGPM, 1901).
NEWTON_PER_GF = 9.80665e-3

STRESS_TITLE = "bending stress (MPa)"
SHEAR_TITLE = "shear stress from torsion (MPa)"
CAUTION = "computed for study and teaching; not a treatment plan"
LEGEND = (
    "straight arrow: force on the tooth, length in proportion above a least size",
    "round arrow: moment on the tooth about the attachment's centre, turn likewise",
    "grey line: passive shape of the wire (free of stress)",
)
# Any other end of a solve, an unstable equilibrium among them, is said across the picture.
SOUND = tuple(status.name.lower() for status in (Status.ENGAGED, Status.PASSIVE))

# What covering one drawn point costs, in pixels of distance.
HIDING = 40.0
AXIS_WORDS = ("x along wire", "y height", "z facial")


def stress_shown(wire: WireResult) -> tuple[str, Array]:
    """Title and nodal values (n,) of the stress that colours the wire: bending, or torsion where that is larger."""
    if float(wire.shear_stress_mpa.max()) > float(wire.bending_stress_mpa.max()):
        return SHEAR_TITLE, wire.shear_stress_mpa
    return STRESS_TITLE, wire.bending_stress_mpa


def three_digits(value: float) -> str:
    """``value`` with three digits and no exponent down to 0.001; zero is "0"."""
    if value == 0.0:
        return "0"
    if abs(value) < 1e-3:
        return f"{value:.2e}"
    rounded = float(f"{value:.2e}")
    decimals = max(0, 2 - math.floor(math.log10(abs(rounded))))
    return f"{rounded:.{decimals}f}"


def force_text(newton: float) -> str:
    """A force in the two units the trade reads."""
    if newton == 0.0:
        return "no force"
    return f"{three_digits(newton)} N ({three_digits(newton / NEWTON_PER_GF)} gf)"


def moment_text(newton_mm: float) -> str:
    """A moment with its unit."""
    if newton_mm == 0.0:
        return "no moment"
    return f"{three_digits(newton_mm)} N mm"


def name_text(attachment: AttachmentResult) -> str:
    """The attachment as the case file calls it, with its tooth."""
    return attachment.name if attachment.tooth is None else f"{attachment.name} (tooth {attachment.tooth})"


def mark_text(attachment: AttachmentResult, without_arrow: bool, without_arc: bool) -> str:
    """The attachment's name and, where a force or moment is too small to draw, what it is all the same."""
    lines = [name_text(attachment)]
    if without_arrow:
        lines.append(force_text(math.hypot(*attachment.force_n)))
    if without_arc and attachment.kind != "button":
        lines.append(moment_text(math.hypot(*attachment.moment_nmm)))
    return "\n".join(lines)


def wire_text(result: RunResult) -> str:
    """The wire and how hard it is worked, in one line."""
    text = (
        f"wire {result.wire.section.label}; largest stress {three_digits(result.wire.largest_stress_mpa)} MPa"
    )
    if result.wire.yield_share is not None:
        text += f", {three_digits(100.0 * result.wire.yield_share)} % of yield"
    return text


def banner_text(result: RunResult) -> str | None:
    """The warning across the picture; None for a wire at rest, engaged or passive in its play."""
    if result.status in SOUND:
        return None
    return f"{result.status.replace('_', ' ')}: do not use these figures"


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


def place(wishes: Sequence[Wish], room: Box, taken: Array, gap: float = 6.0) -> list[Box]:
    """One box per wish, inside ``room``, none over another, hiding few of the drawn points ``taken``, (n, 2).

    Each wish in turn takes the best of a fan of places around its anchor.  Where the fan has no free place,
    the whole room is searched; raises ValueError when it is full.
    """
    placed: list[Box] = []
    for wish in wishes:
        wanted = math.atan2(wish.direction[1], wish.direction[0])
        best: tuple[float, Box] | None = None
        for step in range(10):
            for turn in range(16):
                angle = wanted + (turn // 2 + turn % 2) * (1 if turn % 2 else -1) * math.pi / 8.0
                box = _at(wish, angle, wish.nearest + 14.0 * step)
                if not room.holds(box) or any(box.grown(gap).overlaps(other) for other in placed):
                    continue
                off = abs(math.remainder(angle - wanted, 2.0 * math.pi))
                cost = 14.0 * step + 10.0 * off + HIDING * box.grown(gap).count(taken)
                if best is None or cost < best[0]:
                    best = cost, box
        placed.append(best[1] if best else _anywhere(wish, room, placed, taken, gap))
    return placed


def _anywhere(wish: Wish, room: Box, placed: Sequence[Box], taken: Array, gap: float) -> Box:
    """The free place of the room nearest to the anchor."""
    width, height = wish.size
    best: tuple[float, Box] | None = None
    for left in np.arange(room.left, room.right - width, 12.0):
        for bottom in np.arange(room.bottom, room.top - height, 12.0):
            box = Box(float(left), float(bottom), float(left) + width, float(bottom) + height)
            if any(box.grown(gap).overlaps(other) for other in placed):
                continue
            x, y = box.middle
            cost = math.hypot(x - wish.anchor[0], y - wish.anchor[1]) + HIDING * box.count(taken)
            if best is None or cost < best[0]:
                best = cost, box
    if best is None:
        raise ValueError("the picture is too small for its labels: ask for a larger one")
    return best[1]
