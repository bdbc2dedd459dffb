"""The tables of a report, as plain texts: three digits, units in the headings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import degrees

from cases.report.checks import Check
from cases.results import ORDERS, AttachmentResult, RunResult
from cases.schema import AttachmentSpec, Case
from cases.show import labels
from cases.summary import number
from cases.words import shown, three
from geometry.tooth import Tooth

PATH_ATTACHMENTS = 3
"""Attachments beside each other in a table of the path."""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of texts; the first column names the row, columns from ``numbers_from`` on hold numbers."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers_from: int = 1
    numbers_to: int | None = None


def attachments_table(case: Case, result: RunResult) -> Table:
    rows = []
    for place, (spec, item) in enumerate(zip(case.attachments, result.attachments, strict=True), start=1):
        slot = item.slot_size_mm
        tooth = "-" if spec.tooth is None else f"{spec.tooth}, {Tooth(spec.tooth).name}"
        size = "-" if slot is None else (
            f"{labels.inches(slot[0])} x {labels.inches(slot[1])} in ({slot[0]:.3f} x {slot[1]:.3f} mm)"
        )  # fmt: skip
        x, y, z = (shown(float(value)) for value in item.pose.position)
        rows.append(
            (f"{place}  {item.name}", tooth, item.kind, size, "-" if slot is None else shown(slot[2]),
             f"{spec.attachment.at:.4g}", f"{x}, {y}, {z}",
             f"on {item.wire}; {_fittings(spec)}" if case.more_wires else _fittings(spec))
        )  # fmt: skip
    columns = ("attachment", "tooth", "kind", "slot, height x depth", "width (mm)", "place on the wire (mm)",
               "centre x, y, z (mm)", "and")  # fmt: skip
    return Table("Attachments, in their order along the wire", columns, tuple(rows), 4, 7)


def _fittings(spec: AttachmentSpec) -> str:
    """What else is true of an attachment."""
    item = spec.attachment
    out = []
    if item.slot is not None:
        out.append("closed in front" if item.ligation.kind == "closed" else f"in front: {item.ligation.kind}")
        out += [f"taper {degrees(item.slot.taper):.3g} deg"] * bool(item.slot.taper)
        out += [f"mouths rounded by {three(item.slot.mouth_radius)} mm"] * bool(item.slot.mouth_radius)
    out += ["stop"] * item.stop + ["roll held"] * item.hold_roll
    out += [f"friction {item.friction:g}"] * bool(item.friction)
    out += ["tooth gives way"] * (spec.support is not None)
    out += [] if spec.segment is None else [f"segment {spec.segment}"]
    return ", ".join(out) or "-"


def forces_table(result: RunResult) -> Table:
    columns = ("attachment", *(f"F{axis} (N)" for axis in "xyz"), "size (N)", *(f"M{axis} (N mm)" for axis in "xyz"),
               "size (N mm)")  # fmt: skip
    rows = tuple(
        (
            f"{place}  {labels.name_text(item)}",
            *map(number, item.force_n),
            number(size_of(item.force_n)),
            *map(number, item.moment_nmm),
            number(size_of(item.moment_nmm)),
        )
        for place, item in enumerate(result.attachments, start=1)
    )
    return Table("Force and moment on each tooth, in world axes", columns, rows)


def orders_table(result: RunResult) -> Table:
    columns = ("attachment", "order", "moment (N mm)", "activation (deg)", "engaged (deg)", "play (deg)",
               "play left (deg)", "couple")  # fmt: skip
    rows = []
    for place, item in enumerate(result.attachments, start=1):
        for name in ORDERS:
            order = item.orders[name]
            play = "free" if order.turns_freely else number(order.play_deg)
            left = "free" if order.turns_freely else number(order.play_left_deg)
            rows.append(
                (f"{place}  {item.name}", name, number(order.moment_nmm), number(order.activation_deg),
                 number(order.engagement_deg), play, left, "yes" if order.carries_couple else "no")
            )  # fmt: skip
    return Table("Order by order, about each attachment's own axes", columns, tuple(rows), 2, 7)


def path_tables(result: RunResult) -> tuple[Table, ...]:
    """Size of force and moment on every tooth, increment by increment."""
    out = []
    count = len(result.attachments)
    for first in range(0, count if result.increments else 0, PATH_ATTACHMENTS):
        chosen = range(first, min(first + PATH_ATTACHMENTS, count))
        columns = ["stage", "share (%)"]
        for k in chosen:
            name = brief(result.attachments[k], result)
            columns += [f"{name}: force (N)", f"{name}: moment (N mm)"]
        rows = []
        for one in result.increments:
            cells = [one.stage, shown(100.0 * one.activation)]
            for k in chosen:
                item = one.attachments[k]
                cells += [shown(size_of(item.force_n)), shown(size_of(item.moment_nmm))]
            rows.append(tuple(cells))
        which = "" if count <= PATH_ATTACHMENTS else f", attachments {first + 1} to {chosen[-1] + 1}"
        caption = f"Size of force and moment, increment by increment{which}"
        out.append(Table(caption, tuple(columns), tuple(rows)))
    return tuple(out)


def checks_table(checks: Sequence[Check]) -> Table:
    columns = ("check", "kind", "expected", "found", "difference", "may be", "verdict", "source or remark")
    rows = []
    for one in checks:
        percent = "" if one.percent is None else f" ({_small(one.percent)} %)"
        bound = "-" if one.bound is None else f"{one.bound:.1e} {one.unit}"
        rows.append(
            (one.what, one.kind, f"{_plain(one.expected)} {one.unit}", f"{_plain(one.found)} {one.unit}",
             f"{one.difference:.1e} {one.unit}{percent}", bound, one.verdict, one.remark)
        )  # fmt: skip
    return Table("Checks of this result", columns, tuple(rows), 2, 6)


def _plain(value: float) -> str:
    """Five digits, powers of ten for what is rounding."""
    return "0" if value == 0.0 else f"{value:.1e}" if abs(value) < 1e-4 else f"{value:.5g}"


def _small(percent: float) -> str:
    return "0" if abs(percent) < 5e-5 else f"{percent:.2g}"


def brief(item: AttachmentResult, result: RunResult) -> str:
    """The tooth's number where all have one of their own, else the attachment's name."""
    return item.tooth if item.tooth is not None and labels.by_tooth(result) else item.name


def size_of(vector: Iterable[float]) -> float:
    return float(sum(value * value for value in vector) ** 0.5)
