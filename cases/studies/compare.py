"""Several appliances side by side: attachments that belong together, found by their name or tooth, and their loads."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cases.errors import Problem
from cases.force_system import AXIS_OF_ORDER
from cases.output import CAUTION
from cases.play_options import OptionsError
from cases.results import ORDERS, AttachmentResult, RunResult
from cases.schema import Case
from cases.show.tables import Cell, Table
from cases.summary import WIDEST, number
from cases.words import LEAST_SHOWN
from fem.status import Status

if TYPE_CHECKING:
    from rich.console import Console

MOST = 6
"""Cases that are told apart in one figure."""
LETTERS = "ABCDEF"
NO_RESULT = "no equilibrium found"
ABOUT = (
    "Moments are those on the tooth, about each attachment's centre (of a button: the point it holds) and own axes. "
    "M/F: of the order with the largest moment, its size over that of the force in the same plane."
)


@dataclass(frozen=True, slots=True)
class Member:
    """One of the appliances compared."""

    letter: str
    case: Case
    result: RunResult | None
    """None where no equilibrium was found."""

    @property
    def status(self) -> str:
        """As of its run."""
        return NO_RESULT if self.result is None else self.result.status


@dataclass(frozen=True, slots=True)
class Group:
    """Attachments of several cases that belong together."""

    label: str
    by_letter: dict[str, str]
    """Name of the attachment in each case that has it."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """All cases, solved, and what belongs together in them."""

    members: tuple[Member, ...]
    groups: tuple[Group, ...]

    def item(self, group: Group, member: Member) -> AttachmentResult | None:
        """What a case gives an attachment; None where it has none or no result."""
        name = group.by_letter.get(member.letter)
        return None if name is None or member.result is None else member.result.attachment(name)

    def remarks(self) -> list[str]:
        """What must not be overlooked: attachments that stand alone, cases without a sound result."""
        out = []
        for member in self.members:
            alone = [g.label for g in self.groups if list(g.by_letter) == [member.letter]]
            if alone:
                out.append(f"Only in {member.letter}: {', '.join(alone)}.")
        for member in self.members:
            if member.status == Status.UNSTABLE.name.lower():
                out.append(f"{member.letter} is unstable: do not use its figures.")
            elif member.result is None:
                out.append(f"{member.letter}: no equilibrium found.")
            elif (member.result.wire.yield_share or 0.0) > 1.0:
                share = number(100.0 * (member.result.wire.yield_share or 0.0))
                out.append(
                    f"{member.letter} passes yield ({share} %): a real wire would take a set and give less."
                )
        return out


def matched(cases: Sequence[Case]) -> tuple[Group, ...]:
    """Attachments that belong together: of one name, else on one tooth; each case's others stand alone.

    Raises OptionsError for fewer than two cases or more than six, and where a case has nothing in common with the rest.
    """
    if not 2 <= len(cases) <= MOST:
        what = f"{len(cases)} case{'s' if len(cases) != 1 else ''} given, two to six can be compared"
        raise OptionsError("compare", [Problem("", None, what, "write wireslot compare A.toml B.toml")])
    groups: list[tuple[str, str | None, dict[str, str]]] = []
    for letter, case in zip(LETTERS, cases, strict=False):
        teeth = [spec.tooth for spec in case.attachments]
        left = list(case.attachments)
        for by_name in (True, False):
            for spec in list(left):
                for label, tooth, members in groups:
                    same = spec.name == label if by_name else (
                        spec.tooth is not None and spec.tooth == tooth and teeth.count(spec.tooth) == 1
                    )  # fmt: skip
                    if same and letter not in members:
                        members[letter] = spec.name
                        left.remove(spec)
                        break
        groups += [(spec.name, spec.tooth, {letter: spec.name}) for spec in left]
    found = tuple(Group(_label(label, tooth, members), members) for label, tooth, members in groups)
    problems = [
        Problem(
            str(case.path), None,
            f"none of its attachments ({', '.join(spec.name for spec in case.attachments)}) has the name or the tooth "
            "of one in another case",
            "give attachments that belong together the same name, or the same tooth",
        )
        for letter, case in zip(LETTERS, cases, strict=False)
        if not any(letter in group.by_letter and len(group.by_letter) > 1 for group in found)
    ]  # fmt: skip
    if problems:
        raise OptionsError("compare", problems)
    return found


def _label(label: str, tooth: str | None, members: dict[str, str]) -> str:
    """The name, with the tooth where the cases call the attachment differently."""
    return f"{label} (tooth {tooth})" if tooth is not None and len(set(members.values())) > 1 else label


def moment_to_force(item: AttachmentResult) -> float | None:
    """Of the order with the largest moment, its size over that of the force in its plane, mm; None where either is
    none."""
    order = max(ORDERS, key=lambda name: abs(item.orders[name].moment_nmm))
    force = item.pose.axes.T @ item.force_n
    force[AXIS_OF_ORDER[order]] = 0.0
    size, moment = float((force @ force) ** 0.5), abs(item.orders[order].moment_nmm)
    return None if min(size, moment) < LEAST_SHOWN else moment / size


def compare_table(found: Comparison) -> Table:
    """One row for each attachment of each case; an empty cell where it does not apply."""
    columns = ("attachment", "case", "file", "name_in_case", "tooth", "status", "force_x_n", "force_y_n", "force_z_n",
               "force_n", *(f"{order}_order_moment_nmm" for order in ORDERS), "moment_to_force_mm",
               *(f"{order}_order_carries_couple" for order in ORDERS), "yield_share")  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for group in found.groups:
        for member in found.members:
            name = group.by_letter.get(member.letter)
            if name is None:
                continue
            head = (group.label, member.letter, member.case.path.name, name)
            item = found.item(group, member)
            if item is None or member.result is None:
                rows.append((*head, "", member.status, *[None] * 8, "", "", "", None))
                continue
            orders = [item.orders[order] for order in ORDERS]
            couples = ["yes" if one.carries_couple else "no" for one in orders]
            force = (*item.force_n, math.hypot(*item.force_n))
            loads = (*force, *(one.moment_nmm for one in orders), moment_to_force(item))
            share = member.result.wire.yield_share
            rows.append((*head, item.tooth or "", member.status, *loads, *couples, share))
    return Table(columns, tuple(rows))


def print_comparison(found: Comparison, console: Console) -> None:
    """The cases by letter, the table, and what must be minded."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table as Screen

    console.print("\nCompared", style="bold", highlight=False)
    for member in found.members:
        _say(console, f"{member.letter}: {member.case.title} ({member.case.path.name})")
    console.print("\nForce and moment on each tooth", style="bold", highlight=False)
    table = Screen(box=SIMPLE_HEAD, pad_edge=False, show_edge=False)
    table.add_column("attachment", max_width=30, overflow="fold")
    table.add_column("case")
    heads = (("force", "N"), ("first", "N mm"), ("second", "N mm"), ("third", "N mm"), ("M/F", "mm"))
    for head, unit in heads:
        table.add_column(f"{head}\n{unit}", justify="right")
    table.add_column("couple in")
    table.add_column("status")
    for group in found.groups:
        for place, member in enumerate(found.members):
            item = found.item(group, member)
            name = group.label if place == 0 else ""
            last = member is found.members[-1]
            if item is None:
                status = member.status if group.by_letter.get(member.letter) else "not in this case"
                table.add_row(name, member.letter, *["-"] * 5, "", status, end_section=last)
                continue
            moments = [number(item.orders[order].moment_nmm) for order in ORDERS]
            couples = ", ".join(order for order in ORDERS if item.orders[order].carries_couple) or "none"
            loads = [number(math.hypot(*item.force_n)), *moments, number(moment_to_force(item))]
            table.add_row(name, member.letter, *loads, couples, member.status, end_section=last)
    console.print(table)
    console.print()
    for sentence in (*found.remarks(), ABOUT):
        _say(console, sentence)
    console.print(f"\n{CAUTION}", highlight=False)


def _say(console: Console, text: str) -> None:
    for line in textwrap.wrap(
        text,
        min(console.width, WIDEST),
        initial_indent="  ",
        subsequent_indent="    ",
        break_long_words=False,
    ):
        console.print(line, markup=False, highlight=False, soft_wrap=True)
