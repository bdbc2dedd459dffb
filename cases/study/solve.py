"""One row of a study: values put into the tables of the case, read, built and solved; nothing is written to disk.

What a study does not show is not computed: no stress, no words, no sentences, no provenance for each row.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cases.casefile import read_case
from cases.checks import DOES_NOT_FIT
from cases.errors import CaseFileError, WireslotError
from cases.results import ORDERS, OUT
from cases.schema import Case, DataFile
from cases.study.keys import with_value
from cases.toml_lines import Key

FITS, DOES_NOT, NO_CASE = "fits", "does not fit", "no case"
NO_EQUILIBRIUM, DEFECT = "no equilibrium", "defect"
GOOD = (FITS, "engaged", "passive")
"""The statuses whose numbers are counted in a summary; those of an unstable equilibrium are shown, but not counted."""
LOADS = ("force_x_n", "force_y_n", "force_z_n", "moment_x_nmm", "moment_y_nmm", "moment_z_nmm",
         "moment_first_nmm", "moment_second_nmm", "moment_third_nmm")  # fmt: skip
PLAYS = tuple(f"play_{order}_deg" for order in ORDERS)


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

    @property
    def outputs(self) -> tuple[tuple[str, str], ...]:
        """Attachment and quantity of every output, in order."""
        loads = [(name, what) for name in self.attachments for what in LOADS] if self.forces else []
        return (*loads, *((name, what) for name in self.slots for what in PLAYS))

    def case(self, values: Sequence[tuple[Key, object]]) -> Case:
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


def solve(base: Base, values: Sequence[tuple[Key, object]]) -> Answer:
    """Solve one row.  What keeps a row from an answer is an answer too; only a changed file is the end.

    A defect of the program is such a row as well: a long study must not lose its others to it, and the summary says so.
    """
    nothing = (None,) * len(base.outputs)
    try:
        case = base.case(values)
    except CaseFileError as error:
        fits = not any(DOES_NOT_FIT in problem.message for problem in error.problems)
        words = "; ".join(f"{problem.key}: {problem.message}" for problem in error.problems)
        return Answer(NO_CASE if fits else DOES_NOT, nothing, words)
    plays = _plays(base, case)
    if not base.forces:
        return Answer(FITS, plays)
    no_loads = (None,) * (len(nothing) - len(plays))
    from fem.status import NoEquilibrium

    try:
        status, loads = _loads(base, case)
    except NoEquilibrium as failure:
        return Answer(NO_EQUILIBRIUM, (*no_loads, *plays), str(failure))
    except Exception as error:
        return Answer(DEFECT, (*no_loads, *plays), f"{type(error).__name__}: {error}")
    if not all(math.isfinite(value) for value in loads):
        return Answer(DEFECT, (*no_loads, *plays), "a force or moment is not a finite number")
    return Answer(status, (*loads, *plays))


def _loads(base: Base, case: Case) -> tuple[str, tuple[float, ...]]:
    """Status, and forces (N) and moments (N mm) on every attachment: in world axes, then about its own."""
    from cases.build import build_model
    from cases.legs import legs_of
    from fem.path import engage, status_of
    from fem.torsion import torsion_constant
    from fem.torsion_table import tabled_torsion_constant

    model = build_model(case, torsion=tabled_torsion_constant if base.tabled else torsion_constant)
    legs = legs_of(case, model)
    path = engage(model, legs=legs)
    end = path.last if case.bench is None else path.end_of([leg.name for leg in legs].index(OUT))
    snapshot = end.snapshot
    names = [spec.name for spec in case.attachments]
    loads: list[float] = []
    for name in base.attachments:
        k = names.index(name)
        own = snapshot.support_axes[k].T @ snapshot.moment[k]
        loads += [*snapshot.force[k], *snapshot.moment[k], own[1], own[2], own[0]]
    # adding zero takes the sign off a negative zero
    return status_of(end).name.lower(), tuple(float(value) + 0.0 for value in loads)


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
