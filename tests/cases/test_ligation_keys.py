"""Keys of how an attachment holds the wire: each read right, each wrong value told once, slips of a unit doubted.

Expected figures are sums and unit definitions done by hand: 1 gf = 9.80665e-3 N (3rd CGPM 1901), 1 in = 25.4 mm.
What is doubted rests on common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from cases.casefile import LIBRARY, parse_case
from cases.errors import CaseFileError
from cases.sentences import assumptions
from cases.units import BadQuantity, Kind, parse
from geometry.attachments import Attachment
from geometry.ligation import CLOSED, Ligation, Thread

HERE = Path("case.toml")


def on_tube(case: str, lines: str) -> str:
    return case.replace("stop = true", f"stop = true\n{lines}")


def in_slot(case: str, keys: str) -> str:
    return case.replace('width = "4 mm" }', f'width = "4 mm", {keys} }}')


def on_hook(case: str, lines: str) -> str:
    return case.replace('kind = "button"', lines)


def tube_of(text: str) -> Attachment:
    return parse_case(text, HERE).attachments[0].attachment


def hook_of(text: str) -> Attachment:
    return parse_case(text, HERE).attachments[1].attachment


def test_without_these_keys_nothing_is_new(sound_case: str) -> None:
    tube, hook = tube_of(sound_case), hook_of(sound_case)
    assert tube.slot is not None and (tube.slot.height, tube.slot.taper, tube.slot.mouth_radius) == (
        0.022 * 25.4, 0.0, 0.0,
    )  # fmt: skip
    for item in (tube, hook):
        assert (item.ligation, item.wall_modulus, item.friction) == (CLOSED, math.inf, 0.0)
        assert (item.thread, item.radius, item.below) == (None, 0.0, True)


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ('"closed"', Ligation()),
        ('"none"', Ligation("none")),
        ('"elastomeric"', Ligation("elastomeric")),
        ('"steel ligature"', Ligation("steel ligature")),
        ('"active clip"', Ligation("active clip")),
        ('{ kind = "closed" }', Ligation()),
        (
            '{ kind = "elastomeric", force = "150 gf", stiffness = "2 N/mm" }',
            Ligation("elastomeric", 150.0 * 9.80665e-3, 2.0),
        ),
        ('{ kind = "elastomeric", force = "0 N" }', Ligation("elastomeric", 0.0)),
        (
            '{ kind = "steel ligature", slack = "0.05 mm", stiffness = "100 N/mm" }',
            Ligation("steel ligature", slack=0.05, stiffness=100.0),
        ),
        (
            '{ kind = "active clip", force = "1 N", stiffness = "500 cN/mm" }',
            Ligation("active clip", 1.0, 5.0),
        ),
        ('{ kind = "active clip", reach = "0.6 mm" }', Ligation("active clip", reach=0.6)),
    ],
)
def test_ligations(sound_case: str, given: str, expected: Ligation) -> None:
    case = parse_case(on_tube(sound_case, f"ligation = {given}"), HERE)
    found = case.attachments[0].attachment.ligation
    assert found.kind == expected.kind
    for name in ("force", "stiffness", "slack", "reach"):
        value, other = getattr(found, name), getattr(expected, name)
        assert (value is None and other is None) or value == pytest.approx(other, rel=1e-14), name
    assert case.warnings == ()


def test_walls_threads_edges_and_friction(sound_case: str) -> None:
    tube = tube_of(on_tube(sound_case, 'wall_modulus = "20 GPa"\nfriction = 0.15'))
    assert (tube.wall_modulus, tube.friction) == (20e3, 0.15)
    thread = 'kind = "button"\nthread = { length = "0.5 mm", stiffness = "20 N/mm" }'
    assert hook_of(on_hook(sound_case, thread)).thread == Thread(0.5, 20.0)
    stiff = 'kind = "button"\nthread = { length = "0.5 mm" }'
    assert hook_of(on_hook(sound_case, stiff)).thread == Thread(0.5, math.inf)
    edge = hook_of(on_hook(sound_case, 'kind = "knife edge"\nfriction = 0.2'))
    assert (edge.kind, edge.below, edge.radius, edge.friction, edge.slot) == (
        "knife edge",
        True,
        0.0,
        0.2,
        None,
    )
    roller = hook_of(on_hook(sound_case, 'kind = "roller"\nradius = "1 mm"\nside = "above"'))
    assert (roller.kind, roller.below, roller.radius) == ("roller", False, 1.0)


def test_the_wires_friction_is_that_of_all_that_give_none(sound_case: str) -> None:
    rough = sound_case.replace("seated_in =", "friction = 0.3\nseated_in =")
    assert tube_of(rough).friction == 0.3
    assert hook_of(rough).friction == 0.0  # a button knows none
    assert hook_of(on_hook(rough, 'kind = "knife edge"')).friction == 0.3
    assert tube_of(on_tube(rough, "friction = 0")).friction == 0.0


@pytest.mark.parametrize(
    ("keys", "height"),
    [
        ('oversize = "5 %"', 1.05 * 0.5588),
        ('oversize = "5%"', 1.05 * 0.5588),
        ('oversize = "0.01 mm"', 0.5688),
        ('oversize = "-0.001 in"', 0.021 * 25.4),
        ('taper = "2 deg", mouth_radius = "0.1 mm"', 0.5588),
    ],
)
def test_slots(sound_case: str, keys: str, height: float) -> None:
    slot = tube_of(in_slot(sound_case, keys)).slot
    assert slot is not None
    assert slot.height == pytest.approx(height, rel=1e-14)
    tapered = "taper" in keys
    assert slot.taper == pytest.approx(math.pi / 90.0 if tapered else 0.0, rel=1e-14)
    assert slot.mouth_radius == (0.1 if tapered else 0.0)
    assert (slot.depth, slot.width) == (0.028 * 25.4, 4.0)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("2 N/mm", "stiffness", 2.0),
        ("200 cN/mm", "stiffness", 2.0),
        ("150gf/mm", "stiffness", 1.4709975),
        ("5 %", "share", 0.05),
    ],
)
def test_units(text: str, kind: Kind, value: float) -> None:
    assert parse(text, kind) == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "kind", "said", "remedy"),
    [
        ("2 N", "stiffness", '"2 N", which is a force', '"2 N/mm"'),
        ("2 g/mm", "stiffness", 'unknown unit "g/mm"', 'did you mean "gf/mm"?'),
        ("5 %", "length", '"5 %", which is a share', '"0.56 mm"'),
        ("5 percent", "share", 'unknown unit "percent"', 'did you mean "%"?'),
    ],
)
def test_what_is_said_of_units(text: str, kind: Kind, said: str, remedy: str) -> None:
    with pytest.raises(BadQuantity) as caught:
        parse(text, kind)
    assert said in caught.value.message and remedy in caught.value.remedy


Place = Callable[[str, str], str]
# Where, what, key, line, part of the message, part of the remedy.
BAD: list[tuple[Place, str, str, int, str, str]] = [
    (on_tube, 'ligation = "elastic"', "attachment 1: ligation", 21, 'got "elastic"', "elastomeric"),
    (on_tube, 'ligation = ""', "attachment 1: ligation", 21, "in quotes", "write ligation"),
    (on_tube, "ligation = true", "attachment 1: ligation", 21, "got true", 'kind = "elastomeric"'),
    (on_tube, "ligation = {}", "attachment 1: ligation.kind", 21, "is missing", 'add kind = "closed"'),
    (on_tube, 'ligation = { kind = "rubber" }', "attachment 1: ligation.kind", 21, 'got "rubber"', '"elastomeric"'),
    (
        on_tube, 'ligation = { kind = "elastomeric", forse = "1 N" }', "attachment 1: ligation.forse", 21,
        "unknown key", 'did you mean "force"?',
    ),
    (
        on_tube, 'ligation = { kind = "elastomeric", slack = "-1 deg" }', "attachment 1: ligation.slack", 21,
        "ligation elastomeric has no slack", "it has force and stiffness",
    ),
    (
        on_tube, 'ligation = { kind = "none", force = "1 N" }', "attachment 1: ligation.force", 21,
        "ligation none has no force", "leave force out",
    ),
    (
        on_tube, 'ligation = { kind = "elastomeric", force = "-1 N" }', "attachment 1: ligation.force", 21,
        "zero or more", "150 gf",
    ),
    (
        on_tube, 'ligation = { kind = "elastomeric", force = 150 }', "attachment 1: ligation.force", 21,
        "the bare number 150", '"150 N" or "150 gf"',
    ),
    (
        on_tube, 'ligation = { kind = "elastomeric", stiffness = "0 N/mm" }', "attachment 1: ligation.stiffness",
        21, "greater than zero", '"2 N/mm"',
    ),
    (
        on_tube, 'ligation = { kind = "steel ligature", stiffness = "2 N" }', "attachment 1: ligation.stiffness",
        21, "which is a force", '"2 N/mm"',
    ),
    (
        on_tube, 'ligation = { kind = "steel ligature", slack = "-0.1 mm" }', "attachment 1: ligation.slack", 21,
        "zero or more", "write a value like",
    ),
    (
        on_tube, 'ligation = { kind = "active clip", force = "1 N", reach = "0.6 mm" }',
        "attachment 1: ligation.reach", 21, "not both", "keep one",
    ),
    (
        on_tube, 'ligation = { kind = "active clip", reach = "0 mm" }', "attachment 1: ligation.reach", 21,
        "greater than zero", "write a value like",
    ),
    (on_tube, 'wall_modulus = "0 GPa"', "attachment 1: wall_modulus", 21, "greater than zero", "180 GPa"),
    (on_tube, 'wall_modulus = "inf GPa"', "attachment 1: wall_modulus", 21, "no finite number", "180 GPa"),
    (on_tube, "wall_modulus = 20", "attachment 1: wall_modulus", 21, "the bare number 20", '"20 GPa"'),
    (on_tube, "friction = -0.1", "attachment 1: friction", 21, "zero or more, got -0.1", "write friction = 0.15"),
    (on_tube, 'friction = "0.15"', "attachment 1: friction", 21, "a number without unit", "write friction = 0.15"),
    (on_tube, "friction = nan", "attachment 1: friction", 21, "got nan", "write friction = 0.15"),
    (in_slot, 'taper = "40 deg"', "attachment 1: slot.taper", 17, "40 deg make no slot", 'write taper = "2 deg"'),
    (in_slot, 'taper = "2 mm"', "attachment 1: slot.taper", 17, "which is a length", '"12 deg"'),
    (in_slot, "taper = 2", "attachment 1: slot.taper", 17, "the bare number 2", '"2 deg"'),
    (
        in_slot, 'mouth_radius = "2 mm"', "attachment 1: slot.mouth_radius", 17, "leave no plane wall",
        'write mouth_radius = "0.1 mm"',
    ),
    (
        in_slot, 'mouth_radius = "-0.1 mm"', "attachment 1: slot.mouth_radius", 17, "zero or more",
        "write a value like",
    ),
    (in_slot, "oversize = 0.05", "attachment 1: slot.oversize", 17, "got 0.05", 'write oversize = "5 %"'),
    (in_slot, 'oversize = "0.05"', "attachment 1: slot.oversize", 17, "without one", "0.05 mm"),
    (in_slot, 'oversize = "much %"', "attachment 1: slot.oversize", 17, 'got "much %"', '"5 %"'),
    (in_slot, 'oversize = "nan %"', "attachment 1: slot.oversize", 17, "no finite number", '"5 %"'),
    (in_slot, 'oversize = "5 percent"', "attachment 1: slot.oversize", 17, "unknown unit", 'did you mean "%"?'),
    (in_slot, 'oversize = "60 %"', "attachment 1: slot.oversize", 17, "0.3353 mm higher", "its true height"),
    (in_slot, 'oversize = "-1 mm"', "attachment 1: slot.oversize", 17, "1 mm lower", "its true height"),
    (
        on_hook, 'kind = "button"\nthread = "0.5 mm"', "attachment 2: thread", 26, "as a table",
        'write thread = { length = "0.5 mm"',
    ),
    (
        on_hook, 'kind = "button"\nthread = { stiffness = "2 N/mm" }', "attachment 2: thread.length", 26,
        "is missing", "add length =",
    ),
    (
        on_hook, 'kind = "button"\nthread = { length = "0 mm" }', "attachment 2: thread.length", 26,
        "greater than zero", "write a value like",
    ),
    (
        on_hook, 'kind = "button"\nthread = { length = "1 mm", stiffness = "-2 N/mm" }',
        "attachment 2: thread.stiffness", 26, "greater than zero", '"2 N/mm"',
    ),
    (
        on_hook, 'kind = "button"\nthread = { length = "1 mm", force = "2 N" }', "attachment 2: thread.force", 26,
        "unknown key", "keys known here: length, stiffness",
    ),
    (on_hook, 'kind = "roller"\nradius = "0 mm"', "attachment 2: radius", 26, "greater than zero", "write a value"),
    (on_hook, 'kind = "knife edge"\nside = "under"', "attachment 2: side", 26, 'got "under"', '"below" or "above"'),
    (on_hook, 'kind = "clamp"\nwall_modulus = "1 Pa"', "attachment 2: wall_modulus", 26, "a clamp has no", "leave"),
]  # fmt: skip


@pytest.mark.parametrize(("place", "what", "key", "line", "said", "remedy"), BAD)
def test_each_wrong_value_is_told_once(
    sound_case: str, place: Place, what: str, key: str, line: int, said: str, remedy: str
) -> None:
    with pytest.raises(CaseFileError) as caught:
        parse_case(place(sound_case, what), HERE)
    (problem,) = caught.value.problems
    assert (problem.key, problem.line) == (key, line)
    assert said in problem.message and remedy in problem.remedy, str(problem)
    assert caught.value.warnings == ()


def test_wrong_values_beside_an_unknown_kind_are_told_with_it(sound_case: str) -> None:
    """One pass finds all: the kind of an attachment, and of a ligation, do not hide what stands beside them."""
    lines = 'friction = -1\nligation = { kind = "rubber", force = "1 mm" }\nwall_modulus = 3'
    with pytest.raises(CaseFileError) as caught:
        parse_case(on_tube(sound_case, lines).replace('kind = "tube"', 'kind = "tub"'), HERE)
    assert [(problem.line, problem.key.split(": ")[1]) for problem in caught.value.problems] == [
        (16, "kind"), (21, "friction"), (22, "ligation.force"), (22, "ligation.kind"), (23, "wall_modulus"),
    ]  # fmt: skip


def test_walls_that_meet_before_the_front(sound_case: str) -> None:
    """0.1 mm high, 0.7112 mm deep: closed by 2 atan(0.05/0.7112) = 8.04 deg at the front, by hand."""
    for degrees, meets in ((-8.0, False), (-8.1, True)):
        text = in_slot(sound_case, f'taper = "{degrees} deg"').replace(
            'height = "0.022 in"', 'height = "0.1 mm"'
        )
        with pytest.raises(CaseFileError) as caught:
            parse_case(text, HERE)
        # The wire is too high in either case; that is told where there is a slot at all.
        (problem,) = caught.value.problems
        assert ("meet before the front" in problem.message) == meets
        assert ("does not fit" in problem.message) == (not meets)


@pytest.mark.parametrize(
    ("place", "what", "line", "said", "remedy"),
    [
        (on_tube, "friction = 15", 21, "a coefficient of friction of 15 is far from usual", "0.15"),
        (on_tube, "friction = 1", 0, "", ""),
        (on_tube, 'wall_modulus = "99 MPa"', 21, '"99 MPa" is far from any wall', "100 MPa to 500 GPa"),
        (on_tube, 'wall_modulus = "501 GPa"', 21, '"501 GPa" is far from any wall', "check the unit"),
        (on_tube, 'wall_modulus = "100 MPa"', 0, "", ""),
        (
            on_tube, 'ligation = { kind = "elastomeric", force = "150 N" }', 21, "presses with 150 N",
            "up to 10 N: check the unit",
        ),
        (on_tube, 'ligation = { kind = "elastomeric", force = "10 N" }', 0, "", ""),
        (
            on_tube, 'ligation = { kind = "steel ligature", slack = "5 mm" }', 21, "5 mm, is far from usual",
            "did you mean 0.005 in?",
        ),
        (
            on_tube, 'ligation = { kind = "active clip", reach = "22 mm" }', 21, "22 mm, is far from usual",
            "did you mean 0.022 in?",
        ),
        # Half of the wire's depth, 0.025 in, is 0.3175 mm.
        (
            on_tube, 'ligation = { kind = "active clip", reach = "0.31 mm" }', 21, "0.325 mm behind the face",
            "a greater reach",
        ),
        (on_tube, 'ligation = { kind = "active clip", reach = "0.32 mm" }', 0, "", ""),
        (
            on_tube, 'ligation = { kind = "active clip", force = "2 N", stiffness = "4 N/mm" }', 21,
            "0.5 mm behind the face", "a smaller force or a greater stiffness",
        ),
        (in_slot, 'taper = "10.1 deg"', 17, "a taper of 10.1 deg", "up to 10 deg: check the unit"),
        (in_slot, 'taper = "10 deg"', 0, "", ""),
        (in_slot, 'mouth_radius = "0.31 mm"', 17, "rounded by 0.31 mm", "did you mean 0.00031 in?"),
        (in_slot, 'mouth_radius = "0.3 mm"', 0, "", ""),
        (in_slot, 'oversize = "26 %"', 17, "0.1453 mm higher than its 0.5588 mm", "-10 to 25 %"),
        (in_slot, 'oversize = "25 %"', 0, "", ""),
        (on_hook, 'kind = "roller"\nradius = "1 in"', 26, "a radius of 25.4 mm", "did you mean 1 mm?"),
        (
            on_hook, 'kind = "button"\nthread = { length = "5 in" }', 26, "a thread 127 mm long",
            "did you mean 0.005 in?",
        ),
    ],
)  # fmt: skip
def test_doubts(sound_case: str, place: Place, what: str, line: int, said: str, remedy: str) -> None:
    warnings = parse_case(place(sound_case, what), HERE).warnings
    if not line:
        assert warnings == ()
        return
    (warning,) = warnings
    assert warning.startswith(f"line {line}, ") and said in warning and remedy in warning


@pytest.mark.parametrize(
    ("slides", "said"), [("true", "slides along the button's x"), ("false", "tied to the button")]
)
def test_what_is_assumed_of_a_thread(slides: str, said: str) -> None:
    text = (LIBRARY / "molar-uprighting.toml").read_text(encoding="utf-8")
    thread = f'kind = "button"\nthread = {{ length = "0.5 mm", slides = {slides} }}'
    case = parse_case(text.replace('kind = "button"', thread), Path("case.toml"))
    assert case.attachments[1].attachment.thread is not None
    assert case.attachments[1].attachment.thread.slides is (slides == "true")
    told = " ".join(assumptions(case))
    assert said in told and "buttons: hold one point" not in told
