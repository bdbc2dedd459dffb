"""What a run and a check print: the force systems in numbers, then in words.

People are shown three digits; the files keep all.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import degrees
from typing import TYPE_CHECKING

from cases.results import ORDERS, AttachmentResult, RunResult

if TYPE_CHECKING:
    from rich.console import Console

    from cases.schema import AttachmentSpec, Case

SMALLEST_SHOWN = 1e-6
"""N, N mm and deg: what is smaller is shown as 0, being far below anything that can be measured."""


def number(value: float | None) -> str:
    """Three digits; "-" for None."""
    if value is None:
        return "-"
    return "0" if abs(value) < SMALLEST_SHOWN else f"{value:.3g}"


def print_result(result: RunResult, console: Console) -> None:
    """Everything a run has to say, but not where its files are."""
    console.print(f"\n{result.title}", style="bold", markup=False)
    _print_forces(result, console)
    _print_orders(result, console)
    console.print("\nIn words", style="bold")
    for item in result.attachments:
        console.print(f"  {_who(item.name, item.tooth)}", markup=False, highlight=False)
        _lines(console, item.words)
    console.print(f"\nStatus: {result.status}", style="bold", markup=False)
    _lines(console, result.status_words)
    left = result.equilibrium
    force, moment = max(map(abs, left.force_n)), max(map(abs, left.moment_nmm))
    _lines(console, [
        f"Equilibrium: all attachments added up leave {force:.1e} N and {moment:.1e} N mm "
        f"(rounding floor {left.floor_n:.1e} N).",
        f"Largest stress in the wire: {number(result.wire.largest_stress_mpa)} MPa"
        f"{_yield(result.wire.yield_share)}.",
    ])  # fmt: skip
    console.print("\nAssumptions", style="bold")
    _lines(console, result.assumptions)


def _yield(share: float | None) -> str:
    return "" if share is None else f", {number(100.0 * share)} % of yield"


def _who(name: str, tooth: str | None) -> str:
    return f"{name} (tooth {tooth})" if tooth else name


def _lines(console: Console, sentences: Iterable[str]) -> None:
    for sentence in sentences:
        console.print(f"    {sentence}", markup=False, highlight=False)


def _print_forces(result: RunResult, console: Console) -> None:
    from rich.table import Table

    table = Table(
        title="Force and moment on each tooth, world axes, moment about the attachment's centre",
        title_justify="left",
    )
    table.add_column("attachment")
    for heading in ("Fx", "Fy", "Fz"):
        table.add_column(f"{heading}\nN", justify="right")
    for heading in ("Mx", "My", "Mz"):
        table.add_column(f"{heading}\nN mm", justify="right")
    for item in result.attachments:
        table.add_row(
            _who(item.name, item.tooth), *(number(value) for value in (*item.force_n, *item.moment_nmm))
        )
    console.print(table)


def _print_orders(result: RunResult, console: Console) -> None:
    from rich.table import Table

    table = Table(title="Order by order, about each attachment's own axes", title_justify="left")
    table.add_column("attachment")
    table.add_column("order")
    for heading, unit in (
        ("moment", "N mm"),
        ("activation", "deg"),
        ("engaged", "deg"),
        ("play", "deg"),
        ("play left", "deg"),
    ):
        table.add_column(f"{heading}\n{unit}", justify="right")
    table.add_column("couple")
    for item in result.attachments:
        for name in ORDERS:
            table.add_row(
                item.name if name == ORDERS[0] else "",
                name,
                *_order_cells(item, name),
                end_section=name == ORDERS[-1],
            )
    console.print(table)


def _order_cells(item: AttachmentResult, name: str) -> list[str]:
    order = item.orders[name]
    play = "free" if order.turns_freely else number(order.play_deg)
    left = "free" if order.turns_freely else number(order.play_left_deg)
    cells = [number(order.moment_nmm), number(order.activation_deg), number(order.engagement_deg), play, left]
    return [*cells, "yes" if order.carries_couple else "no"]


def print_case(case: Case, console: Console) -> None:
    """That a case is valid, what it holds, and what looks like a slip."""
    wire = case.wire
    lines = [
        f"case is valid: {case.title}",
        f"  wire: {wire.material.name}, {wire.section.label}, {wire.passive_shape.length:.4g} mm long, "
        f"seated in {wire.seated_in}",
        *(
            line
            for place, spec in enumerate(case.attachments, start=1)
            for line in _attachment_lines(case, place, spec)
        ),
        f"  increments: {case.analysis.increments}",
    ]
    for line in (*lines, *warning_lines(case.warnings)):
        console.print(line, markup=False, highlight=False, soft_wrap=True)


def warning_lines(warnings: Iterable[str]) -> list[str]:
    """The warnings as they are printed."""
    return [f"  warning: {warning}" for warning in warnings]


def _attachment_lines(case: Case, place: int, spec: AttachmentSpec) -> list[str]:
    from geometry.clearance import clearance
    from geometry.tooth import Tooth

    item = spec.attachment
    tooth = f" on tooth {spec.tooth} ({Tooth(spec.tooth).name})" if spec.tooth else ""
    held = [word for word, true in (("stop", item.stop), ("roll held", item.hold_roll)) if true]
    slot = item.slot
    size = "" if slot is None else f", slot {slot.height:.3g} x {slot.depth:.3g} x {slot.width:.3g} mm"
    lines = [
        f"  {place}. {spec.name}: {item.kind}{tooth}, {item.at:.4g} mm along the wire{size}"
        f"{''.join(f', {word}' for word in held)}"
    ]
    if slot is not None:
        play = clearance(case.wire.section, slot)
        angles = ", ".join(
            f"{name} order {'turns freely' if angle is None else f'{degrees(angle):.2f} deg'}"
            for name, angle in ((name, getattr(play, name).angle) for name in ORDERS)
        )
        lines.append(f"     play, one-sided from centred: {angles}")
    return lines
