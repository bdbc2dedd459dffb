"""Runs a factor study: every appliance solved, its loads read off, the formula put beside them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from cases import units
from cases.errors import Problem
from cases.materials import library
from cases.play_options import OptionsError
from cases.results import ORDERS, RunResult
from cases.run import run_case
from cases.studies.appliances import Appliance, Watch
from cases.studies.factors import Study
from cases.studies.small_deflection import Loads
from cases.words import LEAST_SHOWN
from fem.status import NoEquilibrium, Status

EASED = 0.995
"""The rate is that between the full activation and this share of it."""
NO_FORCE = 0.005
"""Below this share of the largest force of a study, a moment-to-force ratio says nothing."""
FAILED = "no equilibrium found"


@dataclass(frozen=True, slots=True)
class Row:
    """One attachment of one appliance of a study."""

    series: str
    """What is kept equal."""
    label: str
    """The factor's value, as written."""
    place: float
    """The same on the axis."""
    attachment: str
    status: str
    """As of a run, or ``FAILED``, or why there is none."""
    loads: Loads | None
    """Ours; None where nothing was found."""
    expected: Loads | None
    """The formula's; None where there is none."""
    yield_share: float | None = None
    play_deg: float | None = None
    """Play in the order studied, one-sided."""
    spread: tuple[float, float] | None = None
    """Between which shares of ours the loads lie over the alloy's range of Young's modulus: they are proportional."""

    @property
    def sound(self) -> bool:
        """Whether the loads are those of an equilibrium that stays."""
        return self.status in (Status.ENGAGED.name.lower(), Status.PASSIVE.name.lower())


@dataclass(frozen=True, slots=True)
class Found:
    """A whole study, solved."""

    study: Study
    rows: tuple[Row, ...]
    assumptions: tuple[str, ...]
    """Of its runs, without what is varied."""
    order: str
    """In which the couple is."""
    base: str | None = None
    """Title of the user's own case; None for the study's own appliance."""

    @property
    def turns(self) -> bool:
        """Whether the rate is a couple per degree; else it is a force per mm of deflection."""
        return self.torque or self.study.signed

    @property
    def torque(self) -> bool:
        """Whether the couple is torque, to which no force belongs."""
        return self.order == ORDERS[2]

    @property
    def lines(self) -> dict[tuple[str, str], tuple[Row, ...]]:
        """Rows by series and attachment, in their order."""
        keys = dict.fromkeys((row.series, row.attachment) for row in self.rows)
        return {key: tuple(row for row in self.rows if (row.series, row.attachment) == key) for key in keys}

    def moment_to_force(self, loads: Loads | None) -> float | None:
        """mm; None where there is next to no force, beside the largest of the study."""
        if loads is None or loads.force_n is None or self.torque:
            return None
        most = max((abs(row.loads.force_n or 0.0) for row in self.rows if row.loads is not None), default=0.0)
        if abs(loads.force_n) <= max(NO_FORCE * most, LEAST_SHOWN):
            return None
        return loads.couple_nmm / loads.force_n


def differences(found: Found, row: Row) -> tuple[float | None, float | None]:
    """By how much force and couple exceed the formula's, percent of these.

    Where signs change in a study, percent of the formula's largest.  None where there is no formula, or it gives zero.
    """
    if row.loads is None or row.expected is None:
        return None, None
    known = [other.expected for other in found.rows if other.expected is not None]
    largest_force = max(abs(one.force_n or 0.0) for one in known)
    largest_couple = max(abs(one.couple_nmm) for one in known)
    signed = found.study.signed
    return (
        _difference(row.loads.force_n, row.expected.force_n, largest_force if signed else None),
        _difference(row.loads.couple_nmm, row.expected.couple_nmm, largest_couple if signed else None),
    )


def _difference(ours: float | None, formula: float | None, whole: float | None) -> float | None:
    if ours is None or formula is None:
        return None
    per = abs(formula) if whole is None else whole
    return 100.0 * (ours - formula) / per if per > 0.0 else None


def run_study(study: Study, values: Sequence[str] = (), told: Callable[[], None] | None = None) -> Found:
    """Solve a study at its usual values, or at others.  ``told`` hears of every appliance.

    Raises OptionsError for values that make no appliance, all of them at once.
    """
    made = appliances(study, values or study.values)
    rows: list[Row] = []
    said: dict[str, None] = {}
    for series, label, place, appliance in made:
        new, assumptions = _rows(study, series, label, place, appliance)
        rows += new
        said.update(dict.fromkeys(assumptions))
        if told is not None:
            told()
    return Found(study, tuple(rows), tuple(said), made[0][3].watches[0].order)


def appliances(study: Study, values: Sequence[str]) -> list[tuple[str, str, float, Appliance]]:
    """Series, label, place on the axis and appliance of every run, in order.  Raises OptionsError."""
    problems: list[Problem] = []
    out = []
    for series, build in study.series.items():
        for index, words in enumerate(values):
            try:
                read = study.read(words)
                out.append((series, words, study.place(read, index), build(read)))
            except units.BadQuantity as bad:
                problems.append(Problem("--values", None, bad.message, bad.remedy))
            except ValueError as bad:
                problems.append(Problem("--values", None, f"{words}: {bad}", "leave this value out"))
    if problems:
        raise OptionsError(f"factor {study.name}", list(dict.fromkeys(problems)))
    return out


def _rows(
    study: Study, series: str, label: str, place: float, full: Appliance
) -> tuple[list[Row], tuple[str, ...]]:
    """One row for each attachment looked at, and what the runs assume."""
    less = full.eased(EASED)
    step = full.activation - less.activation
    expected = [_with_rate(study, *pair, step) for pair in zip(full.expected(), less.expected(), strict=True)]
    try:
        result, eased = run_case(full.case()), run_case(less.case())
    except NoEquilibrium:
        failed = [
            Row(series, label, place, watch.name, FAILED, None, one)
            for watch, one in zip(full.watches, expected, strict=True)
        ]
        return failed, ()
    rows = []
    for watch, one in zip(full.watches, expected, strict=True):
        loads = _with_rate(study, read_loads(result, watch), read_loads(eased, watch), step)
        play = result.attachment(watch.name).orders[watch.order].play_deg
        share = result.wire.yield_share
        rows.append(
            Row(
                series,
                label,
                place,
                watch.name,
                result.status,
                loads,
                one,
                share,
                play,
                _spread(study, label),
            )
        )
    return rows, result.assumptions


def _with_rate(study: Study, full: Loads, less: Loads, step: float) -> Loads:
    """The loads of full activation with the rate, from those of an activation less by ``step``; none without any."""
    if step == 0.0:
        return full
    if study.turns:
        return replace(full, rate=(full.couple_nmm - less.couple_nmm) / step)
    return replace(full, rate=((full.force_n or 0.0) - (less.force_n or 0.0)) / step)


def _spread(study: Study, label: str) -> tuple[float, float] | None:
    """Ends of the alloy's range of Young's modulus as shares of its value, where alloys are compared."""
    if study.name != "alloy":
        return None
    modulus = library()[label].youngs_modulus
    return modulus.low / modulus.value, modulus.high / modulus.value


def read_loads(result: RunResult, watch: Watch) -> Loads:
    """What an attachment gets; the couple about the point that is looked at."""
    item = result.attachment(watch.name)
    force = item.pose.axes.T @ item.force_n
    couple = item.orders[watch.order].moment_nmm
    if watch.order == ORDERS[1]:
        couple -= watch.about * float(force[1])
    elif watch.order == ORDERS[0]:
        couple += watch.about * float(force[2])
    return Loads(float(force[1]) if watch.signed else float((force @ force) ** 0.5), couple)
