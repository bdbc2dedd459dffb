"""Rows as text: few digits for people, all of them for JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence

from cases.verify.rows import Check, Row

HEADINGS = ("quantity", "kind", "source", "expected", "computed", "difference", "tolerance", "verdict")


def cells(row: Row) -> tuple[str, ...]:
    """One row as people read it, in the order of ``HEADINGS``.

    Digits end where the tolerance begins, at a tenth of it or finer, so that they are the same on every machine.
    """
    check = row.check
    return (
        check.quantity,
        check.kind,
        check.source,
        _with_unit(expected_words(check), check.unit),
        _with_unit(_rounded(row.computed, check.allowed), check.unit),
        _difference(row),
        tolerance_words(check),
        row.verdict,
    )


def expected_words(check: Check) -> str:
    """A published number as it was published, a closed form to as many digits as the tolerance asks for."""
    if check.kind == "closed form":
        return _rounded(check.expected, check.allowed)
    return f"{check.expected:.6g}"


def tolerance_words(check: Check) -> str:
    """In per cent, or in the check's unit."""
    if check.relative:
        return f"{100.0 * check.tolerance:g} %"
    return _with_unit(f"{check.tolerance:.3g}", check.unit)


def _difference(row: Row) -> str:
    check = row.check
    if check.relative:
        return f"{_rounded(100.0 * row.difference / abs(check.expected), 100.0 * check.tolerance)} %"
    return _with_unit(_rounded(row.difference, check.tolerance), check.unit)


def _rounded(value: float, tolerance: float) -> str:
    """To a tenth or a hundredth of the tolerance, without a sign where nothing is left."""
    if not math.isfinite(value):
        return "none"
    decimals = max(0, 1 - math.floor(math.log10(tolerance)))
    text = f"{value:.{decimals}f}"
    return text if float(text) else "0"


def _with_unit(number: str, unit: str) -> str:
    return f"{number} {unit}" if unit and number != "none" else number


def markdown(rows: Sequence[Row]) -> str:
    """A table for a README."""
    lines = [HEADINGS, tuple("---" for _ in HEADINGS), *map(cells, rows)]
    return "".join(f"| {' | '.join(line)} |\n" for line in lines)


def json_text(rows: Sequence[Row]) -> str:
    """A list of rows with all digits; ``difference`` and ``tolerance`` are in ``unit``; null where nothing came out."""

    def number(value: float) -> float | None:
        return value if math.isfinite(value) else None

    listed = [
        {
            "quantity": row.check.quantity,
            "kind": row.check.kind,
            "source": row.check.source,
            "unit": row.check.unit,
            "expected": row.check.expected,
            "computed": number(row.computed),
            "difference": number(row.difference),
            "tolerance": row.check.allowed,
            "verdict": row.verdict,
        }
        for row in rows
    ]
    return json.dumps(listed, indent=2, allow_nan=False) + "\n"


def summary(rows: Sequence[Row]) -> str:
    """How it ended, in one sentence."""
    sources = len({row.check.source for row in rows})
    wrong = sum(not row.passed for row in rows)
    end = "all agree" if wrong == 0 else f"{wrong} {'differs' if wrong == 1 else 'differ'}"
    return f"{len(rows)} checks against {sources} sources: {end}."


WORDS = (
    "Closed forms and benchmarks are verification, against theory; measurements are validation. 'From memory' stands "
    "where a source was not at hand."
)
