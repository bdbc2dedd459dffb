"""Finer and finer meshes until the estimated error of every force and moment is small enough.

Each mesh has elements and distances of contact stations half as large as the last one's.  Every one is solved as a case
is, in all its increments, and again by its own second solve (cases.accuracy): what comes out last is a whole run.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from cases.accuracy import mesh_words, percent_words
from cases.results import AccuracyResult
from cases.run import Observer, Run, whole_run
from cases.schema import Case
from fem.status import NoEquilibrium

MOST_ELEMENTS = 10_000


def refined_run(
    case: Case,
    percent: float,
    observer: Observer | None = None,
    told: Callable[[AccuracyResult], None] | None = None,
    most_elements: int = MOST_ELEMENTS,
) -> Run:
    """The run on the first mesh whose estimated error is at most ``percent`` of the largest force and moment.

    Where no mesh of ``most_elements`` elements at most reaches that, the run on the last one that was solved, which
    says so (``result.accuracy.reached``).  ``told`` hears of every mesh that was solved.  Raises NoEquilibrium where
    the usual mesh finds none; ValueError for a percentage that is not above 0 and at most 100."""
    if not 0.0 < percent <= 100.0:
        raise ValueError(f"the wanted accuracy must be a percentage above 0 and at most 100: got {percent!r}")
    sequence: list[AccuracyResult] = []
    found, tried = _solved(case, observer, 0)
    why = ""
    while True:
        sequence.append(tried)
        if told is not None:
            told(tried)
        if tried.percent is not None and tried.percent <= percent:
            break
        # the next mesh has about twice the elements, and the one to compare it with four times
        if 4 * tried.mesh.elements > most_elements:
            why = f"finer meshes would have more than {most_elements} elements"
            break
        try:
            found, tried = _solved(case, observer, len(sequence))
        except NoEquilibrium as failure:
            why = f"the next finer mesh failed: {failure}"
            break
    words = tried.words if not why else (*tried.words, _not_reached(tried, percent, why))
    accuracy = replace(tried, words=words, wanted_percent=percent, sequence=tuple(sequence))
    return replace(found, result=replace(found.result, accuracy=accuracy))


def _solved(case: Case, observer: Observer | None, level: int) -> tuple[Run, AccuracyResult]:
    found = whole_run(case, observer, estimate=True, level=level)
    accuracy = found.result.accuracy
    assert accuracy is not None
    return found, accuracy


def _not_reached(last: AccuracyResult, percent: float, why: str) -> str:
    here = "unknown" if last.percent is None else percent_words(last.percent)
    return f"The wanted accuracy of {percent:g} % is not reached: the estimated error here is {here}; {why}."


def progress_words(accuracy: AccuracyResult) -> str:
    """One line while meshes are refined."""
    if accuracy.force is None or accuracy.moment is None:
        return f"{mesh_words(accuracy.mesh)}: no estimate"
    force, moment = percent_words(accuracy.force.percent), percent_words(accuracy.moment.percent)
    return f"{mesh_words(accuracy.mesh)}: estimated error {force} of the largest force, {moment} of the largest moment"
