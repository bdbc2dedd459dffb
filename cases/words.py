"""Force systems in the words of the trade."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from cases.results import OrderResult
from geometry.clearance import PlayInOrder
from geometry.tooth import force_words, moment_words

Array = NDArray[np.float64]

GF = 9.80665e-3
"""Newtons in one gram-force: standard gravity, exact."""
# Components below this share of the whole are not spoken of: the figures still give them.
SPOKEN_SHARE = 0.02
LEAST_SHOWN = 5e-5
"""N, N mm and deg: what is smaller is shown as 0, being far below anything that can be measured."""
LEAST_ASLANT = 5e-3
"""N mm: the moment of a wire that lies aslant but turns freely is not spoken of below this."""
ORDER_VIEWS = {
    "first": "first order (occlusal view)",
    "second": "second order (facial view)",
    "third": "third order (mesiodistal view)",
}
OWN_AXES = {"first": "height", "second": "depth", "third": "length"}
AXES_WORDS = ("along the slot", "along its height", "along its depth")


def three(value: float) -> str:
    """Three digits, without powers of ten in the range of this trade."""
    if value == 0.0:
        return "0"
    if abs(value) < 1e-3 or abs(value) >= 1e5:
        return f"{value:.2e}"
    # Rounded first: 9.996 becomes 10.0 and then needs one decimal less than 9.99.
    rounded = float(f"{value:.2e}")
    decimals = max(0, 2 - math.floor(math.log10(abs(rounded))))
    return f"{rounded:.{decimals}f}"


def shown(value: float) -> str:
    """As a table shows a force (N), a moment (N mm) or an angle (deg): three digits, four decimals at most."""
    if abs(value) < LEAST_SHOWN:
        return "0"
    return f"{value:.4f}" if abs(value) < 1e-3 else three(value)


def listed(names: Sequence[str]) -> str:
    """Names in a sentence: "a, b and c"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def force_sentences(
    tooth: str | None, force: Array, moment: Array, orders: Mapping[str, OrderResult], floor: float
) -> tuple[str, ...]:
    """One sentence for the force, one for each moment worth speaking of;

    force and moment in the slot's own axes.
    """
    size = float(np.linalg.norm(force))
    turning = float(np.linalg.norm(moment))
    if size <= floor and turning <= 10.0 * floor:
        return ("No force and no couple.",)
    out = []
    if size > floor:
        spoken = [i for i in range(3) if abs(force[i]) > SPOKEN_SHARE * size]
        names = force_words(tooth, (force[0], force[1], force[2])) if tooth else None
        parts = [
            f"{names[i]} {three(abs(force[i]))} N" if names else f"{three(force[i])} N {AXES_WORDS[i]}"
            for i in spoken
        ]
        out.append(f"Force {three(size)} N ({three(size / GF)} gf): {', '.join(parts)}.")
    else:
        out.append("No force.")
    for order, result in orders.items():
        if abs(result.moment_nmm) > max(SPOKEN_SHARE * turning, 10.0 * floor):
            out.append(f"{ORDER_VIEWS[order].capitalize()}: {result.words}.")
    if len(out) == 1:
        out.append("No couple.")
    return tuple(out)


def order_words(
    tooth: str | None, order: str, moment: float, carries: bool, play: PlayInOrder | None, kind: str
) -> str:
    """What one order says, without a full stop."""
    if kind == "button":
        return "a button holds one point and carries no couple"
    if kind in ("knife edge", "roller"):
        return f"the wire only rests on the {kind}: no couple"
    size = f"{three(abs(moment))} N mm ({three(abs(moment) / GF)} gf mm)"
    if carries:
        source = "the held section" if kind == "clamp" else "opposed contacts"
        return f"{_way(tooth, order, moment)}, {size}, from {source}"
    if play is not None and play.turns_freely and order == "third":
        aslant = (
            f"; {size} about the slot's length, because it lies aslant" if abs(moment) >= LEAST_ASLANT else ""
        )
        return f"the wire turns freely here and gives no couple{aslant}"
    if play is not None and abs(moment) >= LEAST_SHOWN:
        return f"no couple: contact on one side only, {size} about the slot centre"
    return "held, but no couple" if kind == "clamp" else "passive: no couple"


def _way(tooth: str | None, order: str, moment: float) -> str:
    """Which way a couple turns the tooth; without a tooth, its sense about the attachment's own axis."""
    if tooth:
        return moment_words(tooth, order, moment)  # type: ignore[arg-type]
    return f"{'positive' if moment > 0.0 else 'negative'} about its {OWN_AXES[order]}"
