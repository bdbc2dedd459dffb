"""What is said of a run that found no equilibrium: how far it came and what was the matter by then."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from cases.casefile import LIBRARY, load_case
from cases.failure import failure_words
from cases.run import whole_run
from fem.path import Increment
from fem.status import NoEquilibrium, Status


def failed_after(name: str, keep: int) -> tuple[object, list[Increment], NoEquilibrium]:
    """A shipped case of which only the first increments were found."""
    run = whole_run(load_case(LIBRARY / f"{name}.toml"))
    found = list(run.path.increments)[:keep]
    failure = NoEquilibrium(
        Status.DOES_NOT_FOLLOW, found[-1].activation if found else 0.0, tuple(found), np.zeros((0, 4))
    )
    return run.case, found, failure


def test_the_largest_force_and_whom_it_acts_on() -> None:
    case, found, failure = failed_after("v-bend", 5)
    first, second = failure_words(case, failure)  # type: ignore[arg-type]
    assert "slid or twisted on" in first and "50 % of the activation" in first
    forces = np.linalg.norm(found[-1].snapshot.force, axis=1)
    assert f"{forces.max():.3g} N" in second
    assert case.attachments[int(forces.argmax())].name in second  # type: ignore[attr-defined]


def test_beyond_yield_the_remedy_is_a_smaller_activation() -> None:
    case, _, failure = failed_after("v-bend", 5)
    weak = replace(case.wire.material, yield_mpa=1.0)  # type: ignore[attr-defined]
    soft = replace(case, wire=replace(case.wire, material=weak))  # type: ignore[type-var, attr-defined]
    assert "times the yield stress" in failure_words(soft, failure)[1]  # type: ignore[arg-type]


def test_a_wire_that_was_coming_out_is_named() -> None:
    case, found, failure = failed_after("v-bend", 5)
    inside = found[-1].snapshot.inside.copy()
    inside[1] = 0.5
    slipping = replace(found[-1], snapshot=replace(found[-1].snapshot, inside=inside))
    failure.accepted = (slipping,)
    name = case.attachments[1].name  # type: ignore[attr-defined]
    assert f'coming out of "{name}"' in " ".join(failure_words(case, failure))  # type: ignore[arg-type]


def test_a_slot_that_was_left_before_is_told_as_left() -> None:
    case, found, failure = failed_after("v-bend", 5)
    inside = found[-1].snapshot.inside.copy()
    inside[1] = 0.0
    left = replace(found[-1], snapshot=replace(found[-1].snapshot, inside=inside), left=(1,))
    failure.accepted = (left,)
    told = " ".join(failure_words(case, failure))  # type: ignore[arg-type]
    name = case.attachments[1].name  # type: ignore[attr-defined]
    assert f'had left "{name}"' in told and "coming out of" not in told


def test_without_any_increment_the_beginning_is_doubted() -> None:
    case, _, failure = failed_after("v-bend", 0)
    (told,) = failure_words(case, failure)  # type: ignore[arg-type]
    assert "not even the first increment" in told
