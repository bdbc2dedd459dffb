"""The mechanics of one sample: its legs, and what is read off at the end of each row's leg.

The fast way asks no more of a sample than its rows show, and walks all increments in compiled calls (fem.batch).  What
it leaves to the usual way: stages, benches, attachments tied in one after another, wires that snap, friction, supports
that give way, an increment without equilibrium, and equilibria that are unstable.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from cases.build import build_model
from cases.legs import legs_of
from cases.results import ACTIVATION, OUT
from cases.schema import Case
from cases.study.read_vary import PLACES
from cases.study.solve import Base, Values
from fem.batch import plain, walked
from fem.equilibrium import problem_of
from fem.model import Model
from fem.path import Ahead, Increment, Leg, engage, status_of
from fem.section_stress import largest_equivalent_stress
from fem.status import NoEquilibrium
from fem.supports import Ways
from fem.torsion import TorsionConstants, torsion_constants
from fem.torsion_table import tabled_torsion_constants
from geometry.pose import Pose

Array = NDArray[np.float64]
Poses = tuple[Pose, ...]

LED = "led"
"""Name of the legs that lead an appliance from one value to the next."""
MOST_KEPT = 10_000

_ends_kept: dict[tuple[object, ...], tuple[Poses, ...]] = {}
_lock = Lock()


@dataclass(frozen=True, slots=True)
class Found:
    """One row's status, loads and stresses in the order of ``Base.outputs``; None, with why, where it has none."""

    status: str
    outputs: tuple[float | None, ...] | None
    remark: str = ""


def found(base: Base, case: Case, values: Values, fast: bool = True) -> Sequence[Found]:
    """Every row of a sample, (``base.each``,).  ``case`` is the one that its first row has.

    Raises CaseFileError and ChangedFileError of the cases that later rows have."""
    torsion = (tabled_torsion_constants if base.tabled else torsion_constants)(case.wire.section)
    model = build_model(case, torsion=lambda _: torsion.constant)
    legs, marks = _legs(base, case, model, values)
    rows = _walked_rows(base, case, model, legs, marks, torsion) if fast else None
    return _usual_rows(base, case, model, legs, marks, torsion) if rows is None else rows


def _legs(base: Base, case: Case, model: Model, values: Values) -> tuple[tuple[Leg | Ahead, ...], list[int]]:
    """The way, and the number of the leg at whose end each row is read."""
    legs = legs_of(case, model)
    if not base.led:
        end = len(legs) - 1
        return legs, [end if case.bench is None else [leg.name for leg in legs].index(OUT)]
    ends = _ends(base, values)
    first = case.analysis.increments if _moves(model, ends[0]) else 1
    led = [Leg(ACTIVATION, ends[0], first), *(Leg(f"{LED} {k}", one, 1) for k, one in enumerate(ends[1:], 1))]
    return tuple(led), list(range(len(led)))


def _moves(model: Model, ends: Poses) -> bool:
    """Whether any support leaves its place."""
    return any(
        np.abs(support.start.position - end.position).max() > 1e-12
        or np.abs(support.start.axes - end.axes).max() > 1e-12
        for support, end in zip(model.supports, ends, strict=True)
    )


def _ends(base: Base, values: Values) -> tuple[Poses, ...]:
    """Where the attachments stand at every value through which they are led.

    That depends on keys of place alone, so it is found once for all samples that agree in these."""
    placed = [(key, value) for key, value in values if len(key) > 2 and key[2] in PLACES]
    mark = (str(base.path), base.text, base.led, tuple(placed))
    known = _ends_kept.get(mark)
    if known is None:
        cases = [base.case((*values, *led)) for led in base.led]
        known = tuple(tuple(spec.attachment.pose for spec in case.attachments) for case in cases)
        with _lock:
            if len(_ends_kept) >= MOST_KEPT:
                _ends_kept.clear()
            _ends_kept[mark] = known
    return known


def _walked_rows(
    base: Base,
    case: Case,
    model: Model,
    legs: Sequence[Leg | Ahead],
    marks: list[int],
    torsion: TorsionConstants,
) -> list[Found] | None:
    """The rows by the fast way; None where it does not serve."""
    if case.stages or case.bench is not None or case.analysis.tie_in or case.analysis.snap:
        return None
    problem = problem_of(model)
    if not plain(problem):
        return None
    ways: list[tuple[Ways, int]] = []
    last: list[int] = []
    stand: Poses = tuple(support.start for support in model.supports)
    for leg in legs:
        assert isinstance(leg, Leg)
        ways.append((Ways.of(stand, leg.ends), leg.increments))
        last.append(leg.increments + (last[-1] if last else -1))
        stand = leg.ends
    way = walked(problem, ways, base.stress)
    if way is None:
        return None
    rows = []
    for leg_number in marks:
        p = last[leg_number]
        ends = None if way.resultants is None else way.resultants[p]
        numbers = _numbers(base, case, way.force[p], way.moment[p], way.axes[p], ends, torsion)
        rows.append(Found("engaged" if way.any_force[p] else "passive", numbers))
    return rows


def _usual_rows(
    base: Base,
    case: Case,
    model: Model,
    legs: Sequence[Leg | Ahead],
    marks: list[int],
    torsion: TorsionConstants,
) -> list[Found]:
    """The rows by the usual way; those behind an increment without equilibrium have none."""
    remark = ""
    try:
        accepted = engage(model, legs=legs).increments
    except NoEquilibrium as failure:
        remark = str(failure)
        accepted = tuple(one for one in failure.accepted if isinstance(one, Increment))
    rows = []
    for mark in marks:
        ends = [one for one in accepted if one.leg == mark]
        if not ends or ends[-1].activation < 1.0:
            rows.append(Found("", None, remark))
            continue
        snapshot = ends[-1].snapshot
        resultants = snapshot.resultants if base.stress else None
        axes = snapshot.support_axes
        numbers = _numbers(base, case, snapshot.force, snapshot.moment, axes, resultants, torsion)
        rows.append(Found(status_of(ends[-1]).name.lower(), numbers))
    return rows


def _numbers(
    base: Base,
    case: Case,
    force: Array,
    moment: Array,
    axes: Array,
    resultants: Array | None,
    torsion: TorsionConstants,
) -> tuple[float | None, ...]:
    """Forces (N) and moments (N mm) on every attachment, in world axes and about its own, and the wire's stress."""
    names = [spec.name for spec in case.attachments]
    loads: list[float | None] = []
    for name in base.attachments:
        k = names.index(name)
        own = axes[k].T @ moment[k]
        # adding zero takes the sign off a negative zero
        loads += [float(value) + 0.0 for value in (*force[k], *moment[k], own[1], own[2], own[0])]
    if resultants is not None:
        largest = float(
            largest_equivalent_stress(case.wire.section, torsion, resultants.reshape(-1, 6)).max()
        )
        yields = case.wire.material.yield_mpa
        loads += [largest, None if yields is None else largest / yields]
    return tuple(loads)
