"""The pages beside the shipped cases, read: their tables, what a row speaks of, and the figures in their words.

A row names a case, a quantity, what the run gives, what it is checked against, how far apart the two may be, and where
the check comes from.  A quantity is "ATTACHMENT, WHAT" or "STAGE, ATTACHMENT, WHAT"; WHAT is ``force x``, ``moment z``
(world axes, about the attachment's centre; N, N mm), ``third order`` (moment about the slot's own axis), or ``moment
over force`` (mm, of moment z and force x).  "geometry I" is the activation of a case whose stages bear such names;
"gained" is the end less the activation; "moment ratio" is the first attachment's moment z over the last one's, or of a
V-bend the last one's over the first's.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from cases.casefile import LIBRARY
from cases.results import ACTIVATION, ORDERS, AttachmentOnPath
from tests.shipped import solved

PAGES = LIBRARY / "pages"
COLUMNS = ("case", "quantity", "run", "check", "within", "check by")
NONE = "-"
FIRST_STAGES = (ACTIVATION, "geometry I")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a page's table, as written."""

    page: str
    case: str
    quantity: str
    run: str
    check: str
    within: str
    by: str


@cache
def rows() -> tuple[Row, ...]:
    """All rows of all pages."""
    found = []
    for path in sorted(PAGES.glob("*.md")):
        for line in path.read_text(encoding="utf-8").splitlines():
            cells = [cell.strip() for cell in line.strip("|").split("|")]
            if line.startswith("| `") and len(cells) == len(COLUMNS):
                found.append(Row(path.stem, cells[0].strip("`"), *cells[1:]))
    return tuple(found)


def at_end_of(name: str, stage: str) -> dict[str, AttachmentOnPath]:
    """What the attachments get at the end of a stage."""
    wanted = ACTIVATION if stage in FIRST_STAGES else stage
    (*_, last) = (one for one in solved(name).increments if one.stage == wanted)
    return {item.name: item for item in last.attachments}


def given(name: str, quantity: str) -> float:
    """What the run of a case says of a quantity."""
    *before, what = (part.strip() for part in quantity.split(","))
    stages = [one.stage for one in solved(name).increments]
    stage = before[0] if before and (before[0] in (*stages, *FIRST_STAGES, "gained")) else None
    names = before[1:] if stage else before
    if stage == "gained":
        return given(name, ", ".join((*names, what))) - given(name, ", ".join((ACTIVATION, *names, what)))
    items = at_end_of(name, stage or stages[-1]) if solved(name).bench is None else _of_result(name)
    if what == "moment ratio":
        first, *_, last = items.values()
        one, other = first.moment_nmm[2], last.moment_nmm[2]
        return other / one if name.startswith("v-bend") else one / other
    if names[0].startswith("both "):
        kind = names[0].removeprefix("both ").rstrip("s")
        return _about_the_first(name, [item for item in solved(name).attachments if item.name.endswith(kind)])
    item = items[names[0]]
    if what == "moment over force":
        return abs(item.moment_nmm[2] / item.force_n[0])
    if what.endswith(" order"):
        return item.orders_moment_nmm[ORDERS.index(what.split()[0])]
    kind, axis = what.split()
    return (item.force_n if kind == "force" else item.moment_nmm)["xyz".index(axis)]


def _of_result(name: str) -> dict[str, AttachmentOnPath]:
    """Of a bench test: its farthest point."""
    return {
        item.name: AttachmentOnPath(
            item.name,
            item.force_n,
            item.moment_nmm,
            (
                item.orders["first"].moment_nmm,
                item.orders["second"].moment_nmm,
                item.orders["third"].moment_nmm,
            ),
        )
        for item in solved(name).attachments
    }


def _about_the_first(name: str, items: list) -> float:  # type: ignore[type-arg]
    """Moment x of several attachments together, about the centre of the first."""
    about = items[0].moment_about_mm
    total = 0.0
    for item in items:
        arm = [b - a for a, b in zip(about, item.moment_about_mm, strict=True)]
        total += item.moment_nmm[0] + arm[1] * item.force_n[2] - arm[2] * item.force_n[1]
    return total


def spoken(page: str) -> list[float]:
    """Every figure in N, N mm or "mm of moment over force" that stands in a page's words, outside of its tables."""
    text = (PAGES / f"{page}.md").read_text(encoding="utf-8")
    words = "\n".join(line for line in text.splitlines() if not line.startswith("|"))
    return [float(one) for one in re.findall(r"(\d+(?:\.\d+)?) (?:N mm|N|mm of moment over force)\b", words)]
