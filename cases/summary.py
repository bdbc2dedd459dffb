"""What a run and a check print: the force systems in numbers, then in words.

People are shown three digits; the files keep all.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from math import degrees
from typing import TYPE_CHECKING

from cases.bench_words import bench_sentences, friction_sentences
from cases.deactivation import deactivation_sentences
from cases.results import ORDERS, AccuracyResult, AttachmentResult, Error, RunResult, SharedTooth
from cases.teeth import GIVEN
from cases.tooth_results import PublishedRange, ToothResult
from cases.words import GF, shown, three

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from cases.schema import AttachmentSpec, Case

WIDEST = 100
"""Columns that a line of text takes at most, however wide the terminal is."""
WIDEST_NAME = {"forces": 40, "orders": 28}
"""Columns of an attachment's name in each table; longer names take several lines."""


def number(value: float | None) -> str:
    """As a table shows it; "-" for None."""
    return "-" if value is None else shown(value)


def print_result(result: RunResult, console: Console) -> None:
    """Everything a run has to say, but not where its files are."""
    console.print()
    _heading(console, result.title)
    _print_forces(result, console)
    _print_orders(result, console)
    _heading(console, "\nIn words")
    for item in result.attachments:
        _line(console, _who(item), "  ")
        _lines(console, (*item.words, *_at_centre_of_resistance(item)))
    for shared in result.teeth:
        _line(console, f"tooth {shared.tooth}, {' and '.join(shared.attachments)} together", "  ")
        _lines(console, shared_tooth_sentences(shared))
    if result.system is not None:
        _heading(console, "\nThe attachments together")
        _lines(console, result.system.words)
    ranges = range_sentences(result)
    if ranges:
        _heading(console, "\nPublished force ranges for these movements, of one average tooth; no advice")
        _lines(console, ranges)
    _heading(console, f"\nStatus: {result.status}")
    left = result.equilibrium
    force, moment = max(map(abs, left.force_n)), max(map(abs, left.moment_nmm))
    _lines(
        console,
        (
            *result.status_words,
            *(
                f"Largest stress in {wire.name if result.more_wires else 'the wire'}: "
                f"{three(wire.largest_stress_mpa)} MPa, {_yield(wire.yield_share)}."
                for wire in result.wires
            ),
            *(() if result.modulus_spread is None else (result.modulus_spread.sentence,)),
            f"Equilibrium, all attachments added up: {force:.1e} N and {moment:.1e} N mm left "
            f"(rounding {left.floor_n:.1e} N).",
            *friction_sentences(result),
            *(() if result.accuracy is None else result.accuracy.words),
        ),
    )
    if result.accuracy is not None and result.accuracy.sequence:
        _print_meshes(result.accuracy, console)
    if result.deactivations:
        _heading(console, "\nWhat is left as a tooth moves")
        for one in result.deactivations:
            _lines(console, deactivation_sentences(one))
    if result.memory is not None:
        _heading(console, "\nWhat the wire remembers")
        _lines(console, result.memory.words)
    if result.bench is not None:
        _heading(console, "\nBench test")
        _lines(console, bench_sentences(result.bench))
    _heading(console, "\nAssumptions")
    _lines(console, result.assumptions)


def _print_meshes(accuracy: AccuracyResult, console: Console) -> None:
    """The meshes on the way to the wanted accuracy, one row each."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    _heading(console, f"\nMeshes solved, {accuracy.wanted_percent:g} % wanted; errors are estimates")
    table = Table(box=SIMPLE_HEAD, pad_edge=False, show_edge=False)
    headings = ("elements", "stations", "largest force\nN", "error\nN", "error\n%")
    for heading in (*headings, "largest moment\nN mm", "error\nN mm", "error\n%"):
        table.add_column(heading, justify="right")
    for one in accuracy.sequence:
        cells = [str(one.mesh.elements), str(one.mesh.stations)]
        for error in (one.force, one.moment):
            cells += ["-"] * 3 if error is None else _error_cells(error)
        table.add_row(*cells)
    console.print(table)


def _error_cells(error: Error) -> list[str]:
    percent = "-" if error.percent is None else f"{error.percent:.2g}"
    return [shown(error.largest), f"{error.change:.1e}", percent]


def _yield(share: float | None) -> str:
    return "no yield stress given" if share is None else f"{three(100.0 * share)} % of yield"


def _who(item: AttachmentResult) -> str:
    return f"{item.name} (tooth {item.tooth})" if item.tooth else item.name


def _at_centre_of_resistance(item: AttachmentResult) -> tuple[str, ...]:
    moment = item.moment_at_centre_of_resistance_nmm
    if moment is None:
        return ()
    tooth = item.at_centre_of_resistance
    out = [f"Moment about the centre of resistance: {_parts('M', moment)} N mm (world axes)."]
    return (*out, *(() if tooth is None else _tooth_sentences(tooth, "the slot")))


def shared_tooth_sentences(one: SharedTooth) -> tuple[str, ...]:
    """What the attachments of a tooth give it together."""
    tooth, moment = one.at_centre_of_resistance, one.moment_at_centre_of_resistance_nmm
    sums = (
        f"Force {_parts('F', one.force_n)} N and moment about the centre of resistance {_parts('M', moment)} N mm, "
        "all its attachments added up (world axes)."
    )
    return (sums, *_tooth_sentences(tooth, f"the slot of {one.attachments[0]}"))


def _parts(letter: str, values: Iterable[float]) -> str:
    return ", ".join(f"{letter}{axis} {shown(value)}" for axis, value in zip("xyz", values, strict=True))


def _tooth_sentences(tooth: ToothResult, slot: str) -> tuple[str, ...]:
    """Where the centre of resistance is, and what begins there."""
    out = []
    if tooth.source != GIVEN:
        _, up, out_of = tooth.centre_from_slot_mm
        out.append(
            f"Centre of resistance by default {abs(up):.1f} mm gingival and {abs(out_of):.1f} mm lingual of {slot}."
        )
    out += [f"Initial tendency, {words}." for words in tooth.words]
    return (*out, *(() if tooth.displacement is None else tooth.displacement.words))


def range_sentences(result: RunResult) -> tuple[str, ...]:
    """What named sources say of the movements found, each once."""
    found: dict[str, dict[str, PublishedRange]] = {}
    teeth = [item.at_centre_of_resistance for item in result.attachments]
    for tooth in (*teeth, *(one.at_centre_of_resistance for one in result.teeth)):
        for one in () if tooth is None else tooth.published:
            found.setdefault(one.movement, {})[one.source] = one
    return tuple(
        f"{movement.capitalize()}: {'; '.join(_range(one) for one in sources.values())}."
        for movement, sources in found.items()
    )


def _range(one: PublishedRange) -> str:
    if one.of_moment:
        return f"{three(one.least)} to {three(one.most)} N mm ({one.source})"
    return (
        f"{three(one.least)} to {three(one.most)} N ({one.least / GF:.0f} to {one.most / GF:.0f} gf; "
        f"{one.source})"
    )


def _heading(console: Console, text: str) -> None:
    console.print(text, style="bold", markup=False, highlight=False, soft_wrap=True)


def _line(console: Console, text: str, indent: str) -> None:
    """One sentence; where it is too long, its further lines stand further in."""
    lines = textwrap.wrap(
        text,
        width=max(40, min(console.width, WIDEST)),
        initial_indent=indent,
        subsequent_indent=f"{indent}  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
    for line in lines:
        console.print(line, markup=False, highlight=False, soft_wrap=True)


def _lines(console: Console, sentences: Iterable[str]) -> None:
    for sentence in sentences:
        _line(console, sentence, "    ")


def _table(
    name_width: int, headings: Iterable[tuple[str, str]], words: Iterable[str] = (), of: str = "attachment"
) -> Table:
    """An empty table: names, columns of ``words``, then columns of numbers with units."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    table = Table(box=SIMPLE_HEAD, pad_edge=False, show_edge=False)
    table.add_column(of, max_width=name_width, overflow="fold")
    for heading in words:
        table.add_column(heading)
    for heading, unit in headings:
        table.add_column(f"{heading}\n{unit}", justify="right")
    return table


def _print_forces(result: RunResult, console: Console) -> None:
    _heading(console, "\nForce and moment on each tooth, in world axes")
    about = "about the attachment's centre"
    if any(item.kind == "button" for item in result.attachments):
        about += " (of a button: about the point of the wire it holds)"
    _line(console, f"moment {about}", "")
    headings = [*((f"F{axis}", "N") for axis in "xyz"), *((f"M{axis}", "N mm") for axis in "xyz")]
    table = _table(WIDEST_NAME["forces"], headings)
    for item in result.attachments:
        table.add_row(_who(item), *map(number, (*item.force_n, *item.moment_nmm)))
    console.print(table)
    if result.joints:
        _print_joints(result, console)


def _print_joints(result: RunResult, console: Console) -> None:
    """What passes from wire to wire."""
    _heading(console, "\nForce of one wire on another, in world axes")
    headings = [*((f"F{axis}", "N") for axis in "xyz"), ("at", "mm")]
    table = _table(WIDEST_NAME["forces"], headings, words=("from", "on"), of="joint")
    for joint in result.joints:
        table.add_row(
            f"{joint.name} ({joint.kind})",
            joint.wire,
            joint.to,
            *map(number, (*joint.force_n, joint.to_at_mm)),
        )
    console.print(table)


def _print_orders(result: RunResult, console: Console) -> None:
    _heading(console, "\nOrder by order, about each attachment's own axes")
    _line(
        console,
        "activation: wire to slot before engagement; engaged: the same once engaged; "
        "play: one-sided from centred, this order alone; play left: what is left of it in the engaged pose",
        "",
    )
    headings = (
        ("moment", "N mm"),
        ("activation", "deg"),
        ("engaged", "deg"),
        ("play", "deg"),
        ("play left", "deg"),
    )
    table = _table(WIDEST_NAME["orders"], headings, words=("order",))
    table.add_column("couple")
    for item in result.attachments:
        for name in ORDERS:
            first, last = name == ORDERS[0], name == ORDERS[-1]
            table.add_row(item.name if first else "", name, *_order_cells(item, name), end_section=last)
    console.print(table)


def _order_cells(item: AttachmentResult, name: str) -> list[str]:
    order = item.orders[name]
    play = "free" if order.turns_freely else number(order.play_deg)
    left = "free" if order.turns_freely else number(order.play_left_deg)
    cells = [number(order.moment_nmm), number(order.activation_deg), number(order.engagement_deg), play, left]
    return [*cells, "yes" if order.carries_couple else "no"]


def print_case(case: Case, console: Console) -> None:
    """That a case is valid, what it holds, and what looks like a slip."""
    lines = [
        f"case is valid: {case.title}",
        *(
            f"  {f'wire {wire.name}' if case.more_wires else 'wire'}: {wire.material.name}, {wire.label}, "
            f"{three(wire.passive_shape.length)} mm long, seated in {wire.seated_in}"
            for wire in case.wires
        ),
        *(
            line
            for place, spec in enumerate(case.attachments, start=1)
            for line in _attachment_lines(case, place, spec)
        ),
        *(
            f"  joint {joint.name} ({joint.kind}): {case.wires[joint.wire].name} at {joint.at:.4g} mm, on "
            f"{case.wires[joint.to].name} at {joint.to_at:.4g} mm"
            for joint in case.joints
        ),
        f"  increments: {case.analysis.increments}",
        *_stage_lines(case),
    ]
    for line in (*lines, *warning_lines(case.warnings)):
        console.print(line, markup=False, highlight=False, soft_wrap=True)


def _stage_lines(case: Case) -> list[str]:
    """What comes after the engagement, and in which order the wire is tied in."""
    seats = " and ".join(wire.seated_in for wire in case.wires)
    lines = [f"  tied in after {seats}: {', '.join(case.analysis.tie_in)}"] * bool(case.analysis.tie_in)
    for number, stage in enumerate(case.stages, start=1):
        if stage.back is not None:
            what = f"every attachment goes back by {shown(100.0 * stage.back)} % of its way"
        elif stage.to:
            shares = ", ".join(f"{shown(100.0 * share)} %" for share in stage.to)
            often = "" if stage.repeat == 1 else f", {stage.repeat} times"
            what = f"every attachment goes to {shares} of its way{often}"
        elif stage.follow is not None:
            what = f"in {stage.steps} steps every supported tooth goes on by {shown(100.0 * stage.follow)} % of its "
            what += "initial displacement"
        elif stage.moved is not None:
            what = f"{stage.moved} moves{_motion_text(stage.by, stage.turn, 'world axes')}"
        else:
            what = "nothing moves"
        what += "" if stage.temperature is None else f", to {shown(stage.temperature)} degC"
        lines.append(f'  stage {number}, "{stage.name}": {what}, {stage.increments} increments')
    bench = case.bench
    if bench is not None:
        motion = _motion_text(bench.by, bench.turn, "its own axes")
        measured = "" if bench.measured is None else f", laid over {bench.measured.file}"
        lines.append(
            f"  bench test: {bench.moved} moves{motion} and back, {bench.increments} increments each way, "
            f"the sensor at {bench.sensor}{measured}"
        )
    return lines


def _motion_text(by: tuple[float, ...], turn: tuple[float, ...], axes: str) -> str:
    parts = []
    if any(by):
        parts.append(f" by ({', '.join(map(shown, by))}) mm in {axes}")
    turns = [
        f"{shown(degrees(angle))} deg about its {axis}"
        for angle, axis in zip(turn, "yzx", strict=True)
        if angle
    ]
    if turns:
        parts.append(f" by {' and '.join(turns)}")
    return " and".join(parts)


def warning_lines(warnings: Iterable[str]) -> list[str]:
    """The warnings as they are printed."""
    return [f"  warning: {warning}" for warning in warnings]


def _attachment_lines(case: Case, place: int, spec: AttachmentSpec) -> list[str]:
    from geometry.clearance import clearance, front_of
    from geometry.tooth import Tooth

    item = spec.attachment
    tooth = f" on tooth {spec.tooth} ({Tooth(spec.tooth).name})" if spec.tooth else ""
    told = (("stop", item.stop), ("roll held", item.hold_roll), ("tooth gives way", spec.support is not None))
    held = [word for word, true in told if true]
    held += [] if spec.segment is None else [f'in segment "{spec.segment}"']
    slot = item.slot
    size = "" if slot is None else f", slot {slot.height:.3g} x {slot.depth:.3g} x {slot.width:.3g} mm"
    lines = [
        f"  {place}. {spec.name}: {item.kind}{tooth}, {item.at:.4g} mm along "
        f"{case.wire_of(spec).name if case.more_wires else 'the wire'}{size}"
        f"{''.join(f', {word}' for word in held)}"
    ]
    if slot is not None:
        play = clearance(case.wire_of(spec).section, slot, front_of(item.ligation))
        angles = ", ".join(
            f"{name} order {'turns freely' if angle is None else f'{degrees(angle):.2f} deg'}"
            for name, angle in ((name, getattr(play, name).angle) for name in ORDERS)
        )
        lines.append(f"     play, one-sided from centred: {angles}")
    return lines
