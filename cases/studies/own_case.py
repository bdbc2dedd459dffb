"""A factor study with a user's own case as its base: the case with one thing changed, again and again."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np

from cases import units
from cases.errors import Problem
from cases.materials import library
from cases.play_options import OptionsError
from cases.reader import nearest
from cases.results import ACTIVATION, ORDERS, RunResult
from cases.run import run_case
from cases.schema import Case
from cases.show.closed_form import closed_forms
from cases.studies.appliances import Watch
from cases.studies.factors import Study
from cases.studies.run_study import FAILED, Found, Row, read_loads
from cases.studies.small_deflection import Loads
from fem.status import NoEquilibrium
from geometry.attachments import Slot
from geometry.clearance import clearance, front_of
from geometry.pose import Pose
from geometry.section import Rectangle, Section
from geometry.wire_shapes import seat

AS_IT_IS = "as it is"
LEAST_WAY = 0.01
"""mm: an attachment that moves less is turned, and no deflection."""
EQUAL = 1e-6
"""Share by which two moments may differ that are equal but for rounding."""


def _slots(case: Case, change: Callable[[Slot], Slot]) -> Case:
    """The case with all its slots changed."""
    specs = tuple(
        spec
        if spec.attachment.slot is None
        else replace(spec, attachment=replace(spec.attachment, slot=change(spec.attachment.slot)))
        for spec in case.attachments
    )
    return replace(case, attachments=specs)


def _section(case: Case, section: Section) -> Case:
    return replace(case, wire=replace(case.wire, section=section, strands=None))


def _rounded(case: Case, radius: float) -> Case:
    section = case.wire.section
    if not isinstance(section, Rectangle) or case.wire.strands is not None:
        raise ValueError("the case has no solid rectangular wire, whose edges could be rounded")
    return _section(case, replace(section, edge_radius=radius))


CHANGES: Mapping[str, Callable[[Case, Any], Case]] = {
    "alloy": lambda case, name: replace(case, wire=replace(case.wire, material=library()[name].spec())),
    "wire-size": _section,
    "bracket-width": lambda case, width: _slots(case, lambda slot: replace(slot, width=width)),
    "play": lambda case, play: _slots(
        case, lambda slot: replace(slot, height=case.wire.section.height + play)
    ),
    "edge-radius": _rounded,
}
"""By study, the case with the factor at a value; raises ValueError where it has no such thing."""


def hindrance(case: Case) -> str | None:
    """Why a changed case makes no appliance; None where it does."""
    for spec in case.attachments:
        attachment = spec.attachment
        if attachment.slot is None:
            continue
        if not clearance(case.wire.section, attachment.slot, front_of(attachment.ligation)).fits:
            return f"does not fit the slot of {spec.name}"
    for one, other in pairwise(case.attachments):
        half = sum(0.5 * spec.attachment.slot.width for spec in (one, other) if spec.attachment.slot)
        if half >= other.attachment.at - one.attachment.at:
            return f"the slots of {one.name} and {other.name} overlap"
    return None


def run_own(
    study: Study,
    case: Case,
    values: Sequence[str] = (),
    attachment: str | None = None,
    order: str | None = None,
    told: Callable[[], None] | None = None,
) -> Found:
    """Solve the study with ``case`` as its base; loads are those of one attachment, in one order.

    Unless they are given, these are the attachment with the largest moment and the order of that.  Raises OptionsError
    for options that make no question, NoEquilibrium where the case as it is finds none.
    """
    if study.name not in CHANGES:
        _refuse(study, "--case", f"{study.name} has an appliance of its own",
                f"leave --case out; studies of an own case: {', '.join(CHANGES)}")  # fmt: skip
    if case.more_wires:
        _refuse(study, "--case", "the case has several wires, and a factor study changes one",
                "give a case with one wire, or change keys of this one with 'wireslot study'")  # fmt: skip
    changed = _changed(study, case, values or study.values)
    known = [spec.name for spec in case.attachments]
    if attachment is not None and attachment not in known:
        near = nearest(attachment, known)
        _refuse(study, "--attachment", f'no attachment is called "{attachment}"',
                f'did you mean "{near}"?' if near else f"there are: {', '.join(known)}")  # fmt: skip
    base = run_case(case)
    if told is not None:
        told()
    watch = _watch(base, attachment, order)
    formula = ""
    rows = [_row(AS_IT_IS, 0.0, base, case, watch, study)] if not study.unit else []
    for index, (label, read, one) in enumerate(changed, start=len(rows)):
        place = study.place(read, index)
        reason = hindrance(one)
        if reason is not None:
            rows.append(Row("", label, place, watch.name, reason, None, None))
        else:
            try:
                rows.append(_row(label, place, run_case(one), one, watch, study))
            except NoEquilibrium:
                rows.append(Row("", label, place, watch.name, FAILED, None, None))
            formula = formula or "; ".join(
                f"{known.label}. Source: {known.source}" for known in _formulas(one, watch)
            )
        if told is not None:
            told()
    words, _, source = formula.partition(". Source: ")
    own = replace(
        study,
        appliance=f"{case.title} (the user's own case, {case.path.name}): force, and couple in {watch.order} order "
        f"about its centre, on {watch.name}.",
        formula=words,
        source=source,
        rate="",
        remark="",
    )
    return Found(own, tuple(rows), base.assumptions, watch.order, case.title)


def _refuse(study: Study, key: str, message: str, remedy: str) -> None:
    raise OptionsError(f"factor {study.name}", [Problem(key, None, message, remedy)])


def _changed(study: Study, case: Case, values: Sequence[str]) -> list[tuple[str, Any, Case]]:
    """Label, value and case of every run.  Raises OptionsError with all problems."""
    problems, out = [], []
    for words in values:
        try:
            read = study.read(words)
            out.append((words, read, CHANGES[study.name](case, read)))
        except units.BadQuantity as bad:
            problems.append(Problem("--values", None, bad.message, bad.remedy))
        except ValueError as bad:
            problems.append(Problem("", None, str(bad), "take other values, or another study"))
    if problems:
        raise OptionsError(f"factor {study.name}", list(dict.fromkeys(problems)))
    return out


def _watch(base: RunResult, attachment: str | None, order: str | None) -> Watch:
    items = [item for item in base.attachments if attachment in (None, item.name)]
    orders = [name for name in ORDERS if order in (None, name)]
    sizes = [(abs(item.orders[name].moment_nmm), item.name, name) for item in items for name in orders]
    largest = max(size for size, _, _ in sizes)
    # by statics two may be equal but for rounding: then the first
    _, name, found = next(one for one in sizes if one[0] >= (1.0 - EQUAL) * largest)
    return Watch(name, found)


def _row(label: str, place: float, result: RunResult, case: Case, watch: Watch, study: Study) -> Row:
    known = _formulas(case, watch)
    expected = Loads(None, known[0].moment_nmm[-1]) if known else None
    play = result.attachment(watch.name).orders[watch.order].play_deg
    loads = replace(read_loads(result, watch), rate=_rate(result, case, watch))
    return Row("", label, place, watch.name, result.status, loads, expected, result.wire.yield_share, play)


def _rate(result: RunResult, case: Case, watch: Watch) -> float | None:
    """Force per mm, or torque per degree, over the last increment.

    None unless one attachment is brought to the wire that is seated in the only other one, with nothing after it.
    """
    path = result.increments
    if len(case.attachments) != 2 or len(path) < 2 or {one.stage for one in path} != {ACTIVATION}:
        return None
    home, moved = sorted(
        (spec.attachment for spec in case.attachments), key=lambda one: one.name != case.wire.seated_in
    )
    positions, axes = case.wire.passive_shape.frames(np.array([moved.at]))
    start = seat(case.wire.passive_shape, home.at, home.pose).compose(Pose(positions[0], axes[0]))
    k = [spec.name for spec in case.attachments].index(watch.name)
    last, before = path[-1].attachments[k], path[-2].attachments[k]
    share = path[-1].activation - path[-2].activation
    if watch.order == ORDERS[2]:
        turn = abs(math.degrees(start.inverse().compose(moved.pose).angles()[2]))
        more = abs(last.orders_moment_nmm[2]) - abs(before.orders_moment_nmm[2])
        return more / (share * turn) if turn > 0.0 else None
    way = math.dist(start.position, moved.pose.position)
    more = math.hypot(*last.force_n) - math.hypot(*before.force_n)
    return more / (share * way) if way > LEAST_WAY else None


def _formulas(case: Case, watch: Watch) -> list[Any]:
    return [one for one in closed_forms(case) if (one.attachment, one.order) == (watch.name, watch.order)]
