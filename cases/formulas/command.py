"""``wireslot formula``: the list, one formula described, or one computed from values with units."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Mapping, Sequence

from cases import units
from cases.errors import Problem
from cases.formulas import FORMULAS, Formula, Quantity
from cases.formulas.examples import EXAMPLES
from cases.play_options import OptionsError
from cases.reader import Findings, Table, nearest

SUBJECTS = {
    "bending": "Cantilevers and spans",
    "two_brackets": "Two brackets",
    "play": "Play",
    "torque": "Torque",
    "teeth": "Loops and teeth",
    "sliding": "Sliding",
    "stability": "Stability",
    "far_bent": "Bent far",
    "sections": "Sections and alloys",
}
"""Files of formulas in the order of the list, and what a reader calls them."""
WIDEST = 100
SHOWN: dict[units.Kind, tuple[tuple[str, str], ...]] = {
    "length": (("mm", "mm"), ("in", "in")),
    "force": (("N", "N"), ("gf", "gf")),
    "moment": (("Nmm", "N mm"), ("gfmm", "gf mm")),
    "angle": (("deg", "deg"), ("rad", "rad")),
    "stress": (("MPa", "MPa"),),
    "stiffness": (("N/mm", "N/mm"), ("gf/mm", "gf/mm")),
    "turning stiffness": (("Nmm/deg", "N mm/deg"),),
    "second moment": (("mm^4", "mm^4"),),
}
"""Units a result is shown in, first the one to read: name in ``cases.units``, as printed."""


def lines_of(name: str | None, given: Sequence[str]) -> list[str]:
    """What the command prints for a formula's name and its inputs as ``key=value``.

    Raises OptionsError with every problem at once."""
    if name is None:
        return list(_list())
    chosen = find(name)
    if not given:
        return list(_description(chosen))
    values = read(chosen, given)
    try:
        found = chosen.values(values)
    except (ValueError, OverflowError, ZeroDivisionError) as error:
        raise OptionsError(
            f"formula {chosen.name}", [Problem("", None, str(error), "change the inputs")]
        ) from error
    return list(_answer(chosen, values, found))


def find(name: str) -> Formula:
    """The formula of this name.  Raises OptionsError, with the one most likely meant."""
    wanted = name.replace("_", "-").lower()
    if wanted in FORMULAS:
        return FORMULAS[wanted]
    near = nearest(wanted, tuple(FORMULAS))
    remedy = f"did you mean {near}?" if near else "'wireslot formula' lists them all"
    raise OptionsError("formula", [Problem("", None, f'there is no formula "{name}"', remedy)])


def read(chosen: Formula, given: Sequence[str]) -> dict[str, float]:
    """Inputs by name in the inside's units, from ``key=value``.  Raises OptionsError with every problem."""
    findings = Findings({})
    words: dict[str, str] = {}
    keys = [item.key for item in chosen.inputs]
    for one in given:
        key, equals, text = one.partition("=")
        key = key.strip().replace("-", "_")
        if not equals or not key:
            findings.problem((one,), "expected key=value", f"write {example(chosen.inputs[0])}")
        elif key in words:
            findings.problem((key,), "is given twice", "leave one out")
        else:
            words[key] = text.strip()
    table = Table(findings, (), words)
    table.only(*keys)
    values = {}
    for item in chosen.inputs:
        value = _input(table, item)
        if value is not None:
            values[item.name] = value
    if findings.problems:
        raise OptionsError(f"formula {chosen.name}", findings.problems)
    return values


def _input(table: Table, item: Quantity) -> float | None:
    """One input; None where it is left out, or a problem has been written down."""
    if not table.has(item.key):
        if item.default is None:
            table.problem(item.key, f"{item.meaning} is missing", f"add {example(item)}")
        return None
    if item.kind is not None:
        return table.quantity(item.key, item.kind, item.meaning, item.sign)
    return _number(table, item)


def _number(table: Table, item: Quantity) -> float | None:
    words = str(table.data[item.key])
    try:
        value = units.parse(words, "share") if words.endswith("%") else float(words)
        item.check(value)
    except units.BadQuantity as bad:
        table.problem(item.key, bad.message, bad.remedy)
        return None
    except ValueError:
        needs = {"any": "", "positive": " above zero", "not negative": ", zero or more"}[item.sign]
        table.problem(
            item.key,
            f'{item.meaning}: expected a number without unit{needs}, got "{words}"',
            f"write {item.key}=0.5",
        )
        return None
    return value


def example(item: Quantity) -> str:
    """An input as it may be written."""
    return f'{item.key}="{EXAMPLES[item.key]}"'


def _list() -> Iterator[str]:
    for subject, heading in SUBJECTS.items():
        yield heading
        group = [one for one in FORMULAS.values() if one.subject == subject]
        width = max(len(one.name) for one in group)
        for one in group:
            yield from _wrapped(f"  {one.name:<{width}}  ", one.question)
        yield ""
    yield "'wireslot formula NAME' describes one; 'wireslot formula NAME key=value ...' computes it."


def _description(one: Formula) -> Iterator[str]:
    yield one.name
    yield from _wrapped("  ", one.question)
    yield ""
    yield from _wrapped("  ", one.equation)
    for remark in one.remarks:
        yield from _wrapped("  ", remark)
    yield ""
    yield "Inputs"
    width = max(len(item.key) for item in one.inputs)
    for item in one.inputs:
        kind = "a pure number" if item.kind is None else units.a(item.kind)
        left_out = "" if item.default is None else f"; {item.default:g} unless given"
        yield from _wrapped(f"  {item.key:<{width}}  ", f"{item.meaning} ({kind}{left_out})")
    yield "Gives"
    for item in one.outputs:
        yield from _wrapped("  ", item.meaning)
    yield ""
    yield from _ends(one)
    yield ""
    needed = " ".join(example(item) for item in one.inputs if item.default is None)
    yield f"  wireslot formula {one.name} {needed}"


def _answer(one: Formula, given: Mapping[str, float], found: Mapping[str, float]) -> Iterator[str]:
    yield from _wrapped("", one.question)
    for item in one.outputs:
        yield from _wrapped("  ", f"{item.meaning}: {value_words(found[item.name], item.kind)}")
    yield ""
    yield from _wrapped("Equation: ", one.equation)
    for remark in one.remarks:
        yield from _wrapped("          ", remark)
    yield from _ends(one)
    if not one.in_range(given):
        yield from _wrapped("Warning:  ", f"the inputs lie outside the range of this formula, {one.valid}")


def _ends(one: Formula) -> Iterator[str]:
    yield from _wrapped("Source:   ", one.source)
    yield from _wrapped("Valid:    ", one.valid)


def _wrapped(head: str, text: str) -> list[str]:
    return textwrap.wrap(
        text, WIDEST, initial_indent=head, subsequent_indent=" " * len(head), break_on_hyphens=False
    )


def value_words(value: float, kind: units.Kind | None) -> str:
    """A result with its units; five digits, so that it can be laid beside a table."""
    if math.isinf(value):
        return "without limit"
    if kind is None:
        return f"{value:.5g}"
    shown = [f"{value / units.UNITS[name][1]:.5g} {printed}" for name, printed in SHOWN[kind]]
    return shown[0] if len(shown) == 1 else f"{shown[0]} ({', '.join(shown[1:])})"
