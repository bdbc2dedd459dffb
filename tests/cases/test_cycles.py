"""Stages that go to shares of the activation: again, several times, beyond it; how they are read, named and solved."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from cases.build import build_model
from cases.casefile import parse_case
from cases.errors import CaseFileError, WireslotError
from cases.legs import leg_names, legs_of
from cases.results import ACTIVATION
from cases.run import run_case
from cases.schema import Case, StageSpec, SupportSpec
from fem.path import Ahead, Leg
from tests.case_texts import attachment, bend, straight
from tests.cases.conftest import SOUND_CASE
from tests.cases.test_legs import at, same_loads, text_of

SLOT = (0.5588, 0.7112, 3.0)


def read(text: str) -> Case:
    return parse_case(text, Path("case.toml"))


def v_bend(*more: str, angle: float = 0.0) -> Case:
    """A V bend between two brackets, the right one turned."""
    text = text_of(
        [straight(5.0), bend(-12.0), straight(9.0)],
        "left",
        attachment("left", "bracket", 2.5, 0.0, slot=SLOT, stop=True),
        attachment("right", "bracket", 11.0, 8.0, slot=SLOT, about_z=angle),
    )
    return read("\n".join((text, "[analysis]", "increments = 4", *more)))


def test_shares_are_read_one_or_many() -> None:
    stages = read(
        SOUND_CASE + '[[stage]]\nname = "trial"\nto = ["150 %", "0 %", "100 %"]\n'
        '[[stage]]\nto = "50 %"\n[[stage]]\nto = ["0 %", "100 %"]\nrepeat = 3\nincrements = 4\n'
    ).stages
    assert [stage.to for stage in stages] == [(1.5, 0.0, 1.0), (0.5,), (0.0, 1.0)]
    assert [stage.repeat for stage in stages] == [1, 1, 3] and stages[2].increments == 4
    assert leg_names(stages[0]) == ("trial, to 150 %", "trial, to 0 %", "trial, to 100 %")
    assert leg_names(stages[1]) == ("stage 2: cycle",)
    assert leg_names(stages[2]) == tuple(
        f"stage 3: cycle {number}, to {share} %" for number in (1, 2, 3) for share in ("0", "100")
    )


BAD = {
    "a bare number": ("to = 1.5", "stage 1: to", "the bare number 1.5", '"150 %"'),
    "too far": ('to = ["400 %"]', "stage 1: to", 'got "400 %"', '"300 %"'),
    "below passive": ('to = "-10 %"', "stage 1: to", 'got "-10 %"', '"0 %" (passive)'),
    "nothing": ("to = []", "stage 1: to", "an empty list", "write to ="),
    "twice the same": ('to = ["50 %", "50 %"]', "stage 1: to", "the same share twice", "write to ="),
    "again the same": ('to = ["0 %", "100 %", "0 %"]\nrepeat = 2', "stage 1: to", "the same share twice", "write to ="),
    "repeated alone": ('to = "0 %"\nrepeat = 2', "stage 1: to", "the same share twice", "write to ="),
    "no times": ('to = ["0 %", "100 %"]\nrepeat = 0', "stage 1: repeat", "got 0", "from 1 to 1000"),
    "repeats what moves": (
        'move = "hook"\nby = ["1 mm", "0 mm", "0 mm"]\nrepeat = 2', "stage 1: repeat", "repeats them",
        "leave repeat out",
    ),
    "two kinds": ('to = "50 %"\nback = "50 %"', "stage 1: back", "either goes back, to shares", "write [[stage]]"),
    "a bare temperature": ("temperature = 20", "stage 1: temperature", "the bare number 20", "degC"),
    "warming in steps": ('temperature = "20 degC"\nsteps = 2', "stage 1: steps", "goes in steps", "leave steps out"),
}  # fmt: skip


@pytest.mark.parametrize("name", list(BAD))
def test_a_wrong_cycle_is_told_once(name: str) -> None:
    lines, key, words, remedy = BAD[name]
    with pytest.raises(CaseFileError) as caught:
        read(f"{SOUND_CASE}[[stage]]\n{lines}\n")
    (problem,) = caught.value.problems
    assert problem.key == key and words in problem.message and remedy in problem.remedy


def test_an_elastic_wire_forgets_its_cycles() -> None:
    """Without friction the load at 100 % is the same after any way, and nothing is left at 0 %."""
    result = run_case(
        v_bend(
            "[[stage]]", 'name = "trial"', 'to = ["150 %", "0 %", "100 %"]', "increments = 3", "repeat = 2"
        )
    )
    engaged = at(result, ACTIVATION)
    for number in (1, 2):
        same_loads(at(result, f"trial {number}, to 100 %"), engaged)
        passive = at(result, f"trial {number}, to 0 %")
        assert (
            max(abs(value) for item in passive.attachments for value in (*item.force_n, *item.moment_nmm))
            < 1e-6
        )
        farther = at(result, f"trial {number}, to 150 %")
        assert abs(farther.attachments[0].moment_nmm[2]) > abs(engaged.attachments[0].moment_nmm[2])


def test_beyond_the_activation_it_goes_straight_on() -> None:
    """At 150 %: half the way from passive to engaged again, and half its turn, about the same axis."""
    case = v_bend("[[stage]]", 'to = ["150 %", "250 %"]', angle=8.0)
    model = build_model(case)
    legs = [leg for leg in legs_of(case, model) if isinstance(leg, Leg)]
    start, engaged = (
        np.array([getattr(support, end).position for support in model.supports]) for end in ("start", "end")
    )
    for leg, share in ((legs[1], 1.5), (legs[2], 2.5)):
        found = np.array([pose.position for pose in leg.ends])
        assert found == pytest.approx(start + share * (engaged - start), abs=1e-12)
        # in one plane a turn is one angle
        angles = [float(np.arctan2(pose.axes[1, 0], pose.axes[0, 0])) for pose in leg.ends]
        first = [float(np.arctan2(s.start.axes[1, 0], s.start.axes[0, 0])) for s in model.supports]
        last = [float(np.arctan2(s.end.axes[1, 0], s.end.axes[0, 0])) for s in model.supports]
        assert angles == pytest.approx(
            [a + share * (b - a) for a, b in zip(first, last, strict=True)], abs=1e-12
        )


def test_half_a_turn_has_no_sense_of_turning() -> None:
    case = v_bend("[[stage]]", 'to = "300 %"', angle=75.0)
    with pytest.raises(WireslotError, match='write a smaller share in "to"'):
        legs_of(case, build_model(case))


def test_a_stage_that_only_warms_leaves_an_elastic_wire_as_it_is() -> None:
    result = run_case(v_bend("[[stage]]", 'name = "warming"', 'temperature = "50 degC"', "increments = 2"))
    same_loads(at(result, "warming"), at(result, ACTIVATION), 1e-9)


def test_warming_after_teeth_have_followed_moves_nothing() -> None:
    case = v_bend("[[stage]]", 'name = "warming"', 'temperature = "50 degC"')
    supported = replace(
        case.attachments[1],
        centre_of_resistance=(0.0, -9.0, 0.0),
        support=SupportSpec((200.0, 200.0, 200.0, 900.0, 900.0, 900.0), "made for a test"),
    )
    follows = StageSpec("following", 1, follow=0.5, steps=1)
    changed = replace(case, attachments=(case.attachments[0], supported), stages=(follows, *case.stages))
    legs = legs_of(changed, build_model(changed))
    last = legs[-1]
    assert isinstance(last, Ahead) and last.name == "warming"
    stand = tuple(support.end for support in build_model(changed).supports)
    assert last.ends_from(stand, None) is stand  # type: ignore[arg-type]
