"""One sample of a study: values put into the tables of the case, read, built and solved; nothing is written to disk.

What a study does not show is not computed: no stress unless asked for, no words, no sentences, no provenance for each
row.  A sample is one row; where an appliance is led through the values of a key it is one row for each of them, all
from one way.  ``mechanics`` solves it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cases.casefile import read_case
from cases.checks import DOES_NOT_FIT
from cases.errors import CaseFileError, WireslotError
from cases.results import ORDERS
from cases.schema import Case, DataFile
from cases.study.keys import with_value
from cases.toml_lines import Key

if TYPE_CHECKING:
    from cases.study.mechanics import Found

FITS, DOES_NOT, NO_CASE = "fits", "does not fit", "no case"
NO_EQUILIBRIUM, DEFECT = "no equilibrium", "defect"
GOOD = (FITS, "engaged", "passive")
"""The statuses whose numbers are counted in a summary; those of an unstable equilibrium are shown, but not counted."""
LOADS = ("force_x_n", "force_y_n", "force_z_n", "moment_x_nmm", "moment_y_nmm", "moment_z_nmm",
         "moment_first_nmm", "moment_second_nmm", "moment_third_nmm")  # fmt: skip
PLAYS = tuple(f"play_{order}_deg" for order in ORDERS)
WIRE = ""
"""In place of an attachment's name, of which none is empty: what belongs to the wire."""
STRESSES = ("stress_largest_mpa", "yield_largest_share")

Values = Sequence[tuple[Key, object]]


class ChangedFileError(WireslotError):
    """A file that the case draws from has changed while its study ran."""

    exit_code = 2


@dataclass(frozen=True, slots=True)
class Base:
    """What all rows share; small and picklable, so that any executor can carry it."""

    data: Mapping[str, Any]
    """The tables of the case file."""
    lines: dict[Key, int]
    text: str
    path: Path
    data_files: tuple[DataFile, ...]
    attachments: tuple[str, ...]
    """Their names, in order."""
    slots: tuple[str, ...]
    """The names of those with a slot."""
    forces: bool
    """Whether the mechanics are solved; else it is the play alone."""
    tabled: bool
    """Whether torsion constants come from the table for many sections."""
    stress: bool = False
    """Whether the largest stress is computed."""
    led: tuple[tuple[tuple[Key, object], ...], ...] = ()
    """What each value of the led key puts into the case; none: a sample is one row."""

    @property
    def each(self) -> int:
        """How many rows a sample has."""
        return max(1, len(self.led))

    @property
    def outputs(self) -> tuple[tuple[str, str], ...]:
        """Attachment and quantity of every output, in order."""
        loads = [(name, what) for name in self.attachments for what in LOADS] if self.forces else []
        stresses = [(WIRE, what) for what in STRESSES] if self.stress else []
        return (*loads, *stresses, *((name, what) for name in self.slots for what in PLAYS))

    def case(self, values: Values) -> Case:
        """The case with ``values`` at their keys.  Raises CaseFileError; ChangedFileError."""
        data: Any = self.data
        for key, value in values:
            data = with_value(data, key, value)
        case = read_case(data, self.lines, self.text, self.path)
        if case.data_files != self.data_files:
            names = " or ".join(file.name for file in self.data_files)
            raise ChangedFileError(
                f"{names} has changed while the study ran: its rows no longer belong together; start the study anew "
                "with another folder"
            )
        return case


@dataclass(frozen=True, slots=True)
class Answer:
    """What one row says."""

    status: str
    outputs: tuple[float | None, ...]
    """In the order of ``Base.outputs``; None where there is none."""
    remark: str = ""
    """Why there is none."""


def solve_some(base: Base, samples: Sequence[Values]) -> list[tuple[Answer, ...]]:
    """Solve several samples one after the other: what an executor is given at once."""
    return [solve_sample(base, values) for values in samples]


def solve(base: Base, values: Values) -> Answer:
    """The one row of a sample that is not led, the usual way: bit for bit the run of its case."""
    return solve_sample(base, values, fast=False)[0]


def solve_sample(base: Base, values: Values, fast: bool = True) -> tuple[Answer, ...]:
    """Solve one sample, (``base.each``,) rows.

    What keeps a row from an answer is an answer too; only a changed file is the end.  A defect of the program is such a
    row as well: a long study must not lose its others to it, and the summary says so.
    """
    nothing = (None,) * len(base.outputs)
    try:
        case = base.case((*values, *base.led[0]) if base.led else values)
    except CaseFileError as error:
        fits = not any(DOES_NOT_FIT in problem.message for problem in error.problems)
        words = "; ".join(f"{problem.key}: {problem.message}" for problem in error.problems)
        return (Answer(NO_CASE if fits else DOES_NOT, nothing, words),) * base.each
    plays = _plays(base, case)
    if not base.forces:
        return (Answer(FITS, plays),) * base.each
    blank = (None,) * (len(nothing) - len(plays))
    try:
        found = _found(base, case, values, fast)
    except CaseFileError as error:
        words = "; ".join(f"{problem.key}: {problem.message}" for problem in error.problems)
        return (Answer(NO_CASE, nothing, words),) * base.each
    except ChangedFileError:
        raise
    except Exception as error:
        return (Answer(DEFECT, (*blank, *plays), f"{type(error).__name__}: {error}"),) * base.each
    rows = []
    for one in found:
        numbers = one.outputs
        if numbers is None:
            rows.append(Answer(NO_EQUILIBRIUM, (*blank, *plays), one.remark))
        elif not all(value is None or math.isfinite(value) for value in numbers):
            rows.append(Answer(DEFECT, (*blank, *plays), "a force, moment or stress is not a finite number"))
        else:
            rows.append(Answer(one.status, (*numbers, *plays)))
    return tuple(rows)


def _found(base: Base, case: Case, values: Values, fast: bool) -> Sequence[Found]:
    from cases.study import mechanics

    return mechanics.found(base, case, values, fast)


def _plays(base: Base, case: Case) -> tuple[float | None, ...]:
    """Play (deg) of every slot in every order, alone; None where the wire turns freely."""
    from geometry.clearance import clearance, front_of

    found: list[float | None] = []
    specs = {spec.name: spec.attachment for spec in case.attachments}
    wires = {spec.name: case.wire_of(spec) for spec in case.attachments}
    for name in base.slots:
        slot = specs[name].slot
        if slot is None:
            found += [None] * len(PLAYS)
            continue
        play = clearance(wires[name].section, slot, front_of(specs[name].ligation))
        angles = (play.first.angle, play.second.angle, play.third.angle)
        found += [None if angle is None else math.degrees(angle) for angle in angles]
    return tuple(found)
