"""How far a computed curve is from what is known of it, and how that is said.

Two things are kept apart.  Theory, a closed form or published points of one, verifies: are the equations solved
rightly?  A measurement validates: are they the right equations?  (ASME V&V 10-2006, from memory, names the
two so.)  Neither is judged here: the difference is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from cases.show.closed_form import ReferenceCurve
from cases.words import LEAST_SHOWN, shown, three

Array = NDArray[np.float64]
Kind = Literal["theory", "measurement"]

HEADS: dict[Kind, str] = {
    "theory": "Verification (against theory)",
    "measurement": "Validation (against measurement)",
}
_LEAST = "0.0001"
"""What a difference is told to be below where it would be shown as 0."""
_SMALL = 1e-9
"""Share of the whole travel within which two places are one."""


@dataclass(frozen=True, slots=True)
class Known:
    """Points known from elsewhere, to be laid over a computed curve."""

    kind: Kind
    label: str
    source: str
    at: tuple[float, ...]
    """In their order: out, and perhaps back."""
    values: tuple[float, ...]
    plus_minus: tuple[float, ...] | None = None
    """Uncertainty of each value, where it is known."""


@dataclass(frozen=True, slots=True)
class Difference:
    """What separates a computed curve from points, in the unit of both."""

    compared: int
    """Points that lie where something was computed."""
    beside: int
    """Points that lie elsewhere and are not compared."""
    largest: float
    """Size of the largest difference."""
    where: float
    rms: float
    percent: float | None
    """The largest difference in percent of the largest known value; None where that is shown as 0."""
    within: int | None
    """How many differ by no more than their own uncertainty; None where that is not known."""


def ways(at: Sequence[float]) -> tuple[slice, slice]:
    """The points on the way out, and those on the way back from the farthest; both hold the farthest."""
    farthest = int(np.argmax(np.abs(np.asarray(at))))
    return slice(0, farthest + 1), slice(farthest, len(at))


def difference(known: Known, at: Sequence[float], values: Sequence[float]) -> Difference | None:
    """Of the computed curve through (``at``, ``values``) from ``known`` points, way out from way out and back from
    back; None where no point lies where something was computed.

    Between two computed points the curve is straight, as it is drawn."""
    found: list[tuple[float, float, float]] = []
    beside = 0
    computed = np.asarray(at, dtype=np.float64), np.asarray(values, dtype=np.float64)
    points = np.column_stack((known.at, known.values, known.plus_minus or np.zeros(len(known.at))))
    # The farthest point belongs to both ways of a curve, but is one point.
    out, _ = ways(known.at)
    parts = (points[out], points[out.stop :])
    for part, way in zip(parts, ways(at), strict=True):
        x, y = computed[0][way], computed[1][way]
        if len(part) and len(x) < 2:
            beside += len(part)
            continue
        order = np.argsort(x, kind="stable")
        span = _SMALL * max(float(np.ptp(computed[0])), 1.0)
        for place, value, uncertainty in part:
            if not x.min() - span <= place <= x.max() + span:
                beside += 1
                continue
            found.append((float(place), float(np.interp(place, x[order], y[order]) - value), uncertainty))
    if not found:
        return None
    apart = np.array(found)
    worst = int(np.abs(apart[:, 1]).argmax())
    most = float(np.abs(known.values).max())
    largest = float(abs(apart[worst, 1]))
    return Difference(
        compared=len(apart),
        beside=beside,
        largest=largest,
        where=float(apart[worst, 0]),
        rms=float(np.sqrt(np.mean(apart[:, 1] ** 2))),
        percent=100.0 * largest / most if most >= LEAST_SHOWN else None,
        within=None
        if known.plus_minus is None
        else int((np.abs(apart[:, 1]) <= apart[:, 2] * (1.0 + 1e-9)).sum()),
    )


def sentence(known: Known, apart: Difference | None, unit: str, place_unit: str) -> str:
    """What the figure says of them, the two kinds named apart."""
    head = f"{HEADS[known.kind]}, {known.label}"
    if apart is None:
        return f"{head}: no point lies where something was computed, so nothing is compared."
    count = f"{apart.compared} point{'s' if apart.compared > 1 else ''}"
    if apart.largest < LEAST_SHOWN:
        text = f"{head}: no difference of {_LEAST} {unit} or more, {count}"
    else:
        share = "" if apart.percent is None else f" ({shown(apart.percent)} % of the largest)"
        text = (
            f"{head}: largest difference {shown(apart.largest)} {unit}{share}, at {three(apart.where)} {place_unit}; "
            f"root mean square {shown(apart.rms)} {unit}, {count}"
        )
    if apart.within is not None:
        text += f", {apart.within} of them within their own uncertainty"
    if apart.beside:
        text += f"; {apart.beside} more {'lies' if apart.beside == 1 else 'lie'} where nothing was computed"
    return f"{text}."


def brief(known: Known, apart: Difference | None, unit: str) -> str:
    """The same where there is hardly any room: behind the name in a legend."""
    kind = "verification" if known.kind == "theory" else "validation"
    if apart is None:
        return f"not compared ({kind})"
    if apart.largest < LEAST_SHOWN:
        return f"off by less than {_LEAST} {unit} ({kind})"
    return f"off by {shown(apart.largest)} {unit} at most ({kind})"


def closed_form_differences(
    references: Sequence[ReferenceCurve], at: Sequence[float], moments: Sequence[tuple[str, Sequence[float]]]
) -> list[tuple[Known, Difference]]:
    """The same for closed forms, at every computed point: one pair for each label, its worst attachment counting.

    ``at`` in percent of the activation; ``moments``: attachment and its computed moments there, N mm."""
    worst: dict[str, tuple[Known, Difference]] = {}
    for name, values in moments:
        for one in references:
            if one.attachment != name:
                continue
            there = np.interp(at, [100.0 * share for share in one.activation], one.moment_nmm)
            known = Known(
                "theory", f"closed form {one.label}", one.source, tuple(at), tuple(map(float, there))
            )
            apart = difference(known, at, values)
            if apart is not None and (one.label not in worst or apart.largest > worst[one.label][1].largest):
                worst[one.label] = known, apart
    return list(worst.values())


def closed_form_sentences(
    references: Sequence[ReferenceCurve], at: Sequence[float], moments: Sequence[tuple[str, Sequence[float]]]
) -> list[str]:
    """The sentences of ``closed_form_differences``."""
    return [sentence(*pair, "N mm", "%") for pair in closed_form_differences(references, at, moments)]
