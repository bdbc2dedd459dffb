"""Every kind of bad case file: its own message, with key, line and remedy."""

from __future__ import annotations

from pathlib import Path

import pytest

from cases.casefile import load_case, parse_case
from cases.errors import CaseFileError

RANGES = 'section = { shape = "rectangle", height = "0.017 in", depth = "0.025 in", edge_radius = "0.05 mm" }'
ROUND = 'section = { shape = "round", diameter = "0.016 in" }'
SLOT = 'slot = { height = "0.022 in", depth = "0.028 in", width = "4 mm" }'
HOOK = '[[attachment]]\nname = "hook"'

# Old text, new text, key, line, part of the message, part of the remedy.
BAD = {
    "unknown key at the top": (
        'title = "A', 'titel = "x"\ntitle = "A', "titel", 1, 'unknown key "titel"', 'did you mean "title"?',
    ),
    "unknown key": (
        "seated_in =", 'seatedin = "x"\nseated_in =', "wire.seatedin", 11, "unknown key", '"seated_in"',
    ),
    "unknown key far from any": (
        "stop = true", "zzz = true", "attachment 1: zzz", 20, 'unknown key "zzz"',
        "keys known here: name, tooth",
    ),
    "unknown key in an inline table": (
        'width = "4 mm"', 'width = "4 mm", lenght = "4 mm"', "attachment 1: slot.lenght", 17, "unknown key",
        "did you mean",
    ),
    "missing unit": (
        'height = "0.017 in"', "height = 0.017", "wire.section.height", 5, "the bare number 0.017",
        '"0.017 in"',
    ),
    "missing unit in a text": (
        'at = "2.5 mm"', 'at = "2.5"', "attachment 1: at", 19, "without one", '"2.5 mm"',
    ),
    "wrong kind of unit": (
        'depth = "0.028 in"', 'depth = "12 deg"', "attachment 1: slot.depth", 17, "expected a length",
        '"0.022 in"',
    ),
    "unknown unit": (
        'radius = "1 mm"', 'radius = "1 mn"', "wire.passive_shape 2: radius", 8, 'unknown unit "mn"',
        'mean "mm"',
    ),
    "angle for a position": (
        '["22 mm", "0 mm", "0 mm"]', '["22 mm", "0 deg", "0 mm"]', "attachment 2: position 2", 26,
        "which is an angle", "mm",
    ),
    "negative size": (
        'depth = "0.025 in"', 'depth = "-0.025 in"', "wire.section.depth", 5, "greater than zero",
        "write a value like",
    ),
    "zero size": (
        'width = "4 mm"', 'width = "0 mm"', "attachment 1: slot.width", 17, "greater than zero",
        "write a value like",
    ),
    "zero length": (
        'straight = "5 mm"', 'straight = "0 mm"', "wire.passive_shape 1: straight", 7, "greater than zero",
        "write a value",
    ),
    "negative edge radius": (
        'edge_radius = "0.05 mm"', 'edge_radius = "-1 um"', "wire.section.edge_radius", 5, "zero or more",
        "write a value like",
    ),
    "NaN": (
        'height = "0.017 in"', "height = nan", "wire.section.height", 5, "got nan", "write a finite number",
    ),
    "NaN in a text": (
        'at = "2.5 mm"', 'at = "nan mm"', "attachment 1: at", 19, "no finite number", "write it like",
    ),
    "infinity": (
        'straight = "20 mm"', 'straight = "inf mm"', "wire.passive_shape 3: straight", 9, "no finite number",
        "write",
    ),
    "edge radius": (
        'edge_radius = "0.05 mm"', 'edge_radius = "0.3 mm"', "wire.section.edge_radius", 5,
        "at most half the smaller side", '"0.2159 mm" or less',
    ),
    "wire higher than its slot": (
        'height = "0.022 in"', 'height = "0.016 in"', "attachment 1: slot", 17,
        "does not fit the slot of tube: 0.4318 mm high", "a larger slot",
    ),
    "wire deeper than its slot": (
        'depth = "0.028 in"', 'depth = "0.024 in"', "attachment 1: slot", 17, "0.635 mm deep into 0.6096 mm",
        "smaller wire",
    ),
    "at beyond the wire": (
        'at = "end"', 'at = "26 mm"', "attachment 2: at", 27, "beyond the wire, which is 25.52 mm long",
        '"25.523 mm"',
    ),
    "at before the wire": (
        'at = "2.5 mm"', 'at = "-1 mm"', "attachment 1: at", 19, "zero or more", "write a value like",
    ),
    "at in other words": (
        'at = "end"', 'at = "finish"', "attachment 2: at", 27, 'got "finish"', '"start", "middle" or "end"',
    ),
    "two at one place on the wire": (
        'at = "end"', 'at = "2.5 mm"', "attachment 2: at", 27, "the same place on the wire as tube",
        "its own place",
    ),
    "two at one place in space": (
        '["22 mm", "0 mm", "0 mm"]', '["0 mm", "0 mm", "0 mm"]', "attachment 2: position", 26,
        "the same place as tube", "its own position",
    ),
    "slots overlapping": (
        'at = "end"', 'at = "4.4 mm"', "attachment 2: at", 27, "overlap on the wire", "move them apart",
    ),
    "wrong order along the wire": (
        'at = "end"', 'at = "1 mm"', "attachment 2: at", 27,
        "the wrong order along the wire: 1 mm comes before tube at 2.5 mm", "in their order along the wire",
    ),
    "no such attachment": (
        'seated_in = "tube"', 'seated_in = "tub"', "wire.seated_in", 11, 'no attachment is called "tub"',
        'did you mean "tube"?',
    ),
    "two of one name": (
        'name = "hook"', 'name = "tube"', "attachment 2: name", 23, 'two attachments are called "tube"',
        "own name",
    ),
    "no slot": (
        SLOT + "\n", "", "attachment 1: slot", 13, "the slot is missing", "add slot = { height",
    ),
    "slot of a button": (
        'kind = "button"', 'kind = "button"\n' + SLOT, "attachment 2: slot", 26, "a button has no slot",
        "leave",
    ),
    "button holding the roll": (
        'kind = "button"', 'kind = "button"\nhold_roll = true', "attachment 2: hold_roll", 26,
        "carries no couple", "leave",
    ),
    "kind": (
        'kind = "tube"', 'kind = "tubee"', "attachment 1: kind", 16, 'got "tubee"', 'did you mean "tube"?',
    ),
    "tooth": (
        'tooth = "47"', 'tooth = "49"', "attachment 1: tooth", 15, "FDI", "two digits, quadrant",
    ),
    "tooth as a number": (
        'tooth = "47"', "tooth = 47", "attachment 1: tooth", 15, "in quotes", 'write tooth = "37"',
    ),
    "mixed angles": (
        'at = "end"', 'at = "end"\nabout_z = "1 deg"\nrotation = "1 deg"', "attachment 2: rotation", 29,
        "cannot be mixed", "keep",
    ),
    "tooth words without a tooth": (
        'tooth = "45"', 'inclination = "1 deg"', "attachment 2: inclination", 24, "needs to know the tooth",
        'tooth = "37"',
    ),
    "stop in quotes": (
        "stop = true", 'stop = "yes"', "attachment 1: stop", 20, "expected true or false", "without quotes",
    ),
    "position of two": (
        '["22 mm", "0 mm", "0 mm"]', '["22 mm", "0 mm"]', "attachment 2: position", 26, "got a list of 2",
        "write position =",
    ),
    "no title": (
        'title = "A tube and a tied arm"\n', "", "title", None, "a title is missing", "add title =",
    ),
    "unknown alloy": (
        '"stainless-steel"', '"stainles-steel"', "wire.material", 4, "no such alloy",
        'did you mean "stainless-steel"?',
    ),
    "strands that remember": (
        '"stainless-steel"\nsection = { shape = "rectangle", height = "0.017 in", depth = "0.025 in", edge_radius = '
        '"0.05 mm" }',
        '"superelastic-nickel-titanium"\nsection = { shape = "strands", strands = 3, strand_diameter = "0.2 mm", '
        'lay_angle = "9 deg" }',
        "wire.material", 4, "strands are linear elastic only so far", 'law = "elastic"',
    ),
    "own material": (
        '"stainless-steel"', '{ name = "x", youngs_modulus = "180 GPa" }', "wire.material.poisson", 4,
        "is missing", "poisson = 0.3",
    ),
    "Poisson's ratio": (
        '"stainless-steel"', '{ name = "x", youngs_modulus = "180 GPa", poisson = 0.6 }',
        "wire.material.poisson", 4, "between -1 and 0.5", "metals",
    ),
    "shape": (
        'shape = "rectangle"', 'shape = "square"', "wire.section.shape", 5, 'got "square"',
        '"round", "rectangle" or "strands"',
    ),
    "order of a bend": (
        'order = "second"', 'order = "third"', "wire.passive_shape 2: order", 8, 'got "third"', '"second"',
    ),
    "radius of a bend": (
        'radius = "1 mm"', 'radius = "0 mm"', "wire.passive_shape 2: radius", 8, "greater than zero", "write",
    ),
    "piece": (
        'straight = "5 mm"', 'stright = "5 mm"', "wire.passive_shape 1", 7, "one of straight, bend or twist",
        '"straight"',
    ),
    "two in one piece": (
        '{ straight = "5 mm" }', '{ straight = "5 mm", twist = "5 deg" }', "wire.passive_shape 1", 7,
        "straight and twist", "one per",
    ),
    "ligation of a button": (
        'kind = "button"', 'kind = "button"\nligation = "elastomeric"', "attachment 2: ligation", 26,
        "a button has no ligation", "leave ligation out",
    ),
    "friction of a button": (
        'kind = "button"', 'kind = "button"\nfriction = "rough"', "attachment 2: friction", 26,
        "a button has no friction", "leave friction out",
    ),
    "thread of a tube": (
        "stop = true", 'stop = true\nthread = { length = "1 mm" }', "attachment 1: thread", 21,
        "a tube has no thread", "leave thread out",
    ),
    "side of a tube": (
        "stop = true", 'stop = true\nside = "over"', "attachment 1: side", 21, "a tube has no side",
        "leave side out",
    ),
    "roller without a radius": (
        'kind = "button"', 'kind = "roller"', "attachment 2: radius", 22, "the radius of the roller is missing",
        'add radius = "0.022 in"',
    ),
    "roller with a slot": (
        'kind = "button"', 'kind = "roller"\nradius = "1 mm"\n' + SLOT, "attachment 2: slot", 27,
        "a roller has no slot", "leave slot out",
    ),
    "knife edge with a stop": (
        'kind = "button"', 'kind = "knife edge"\nstop = true', "attachment 2: stop", 26,
        "only rests on a knife edge", "leave stop out",
    ),
    "knife edge holding the roll": (
        'kind = "button"', 'kind = "knife edge"\nhold_roll = true', "attachment 2: hold_roll", 26,
        "neither stops nor turns it", "leave hold_roll out",
    ),
    "knife edge with a ligation": (
        'kind = "button"', 'kind = "knife edge"\nligation = "none"', "attachment 2: ligation", 26,
        "a knife edge has no ligation", "leave ligation out",
    ),
    "knife edge with a radius": (
        'kind = "button"', 'kind = "knife edge"\nradius = "1 mm"', "attachment 2: radius", 26,
        "a knife edge has no radius", "leave radius out",
    ),
    "friction of the wire": (
        "seated_in =", "friction = -0.1\nseated_in =", "wire.friction", 11, "zero or more, got -0.1",
        "write friction = 0.15",
    ),
    "increments": (
        'title = "A', 'analysis.increments = 0\ntitle = "A', "analysis.increments", 1, "got 0",
        "a whole number from 1",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_input(sound_case: str, name: str) -> None:
    old, new, key, line, said, remedy = BAD[name]
    assert sound_case.count(old) >= 1
    with pytest.raises(CaseFileError) as caught:
        parse_case(sound_case.replace(old, new), Path("case.toml"))
    assert caught.value.exit_code == 2
    problems = caught.value.problems
    assert len(problems) == 1, [str(problem) for problem in problems]
    problem = problems[0]
    assert (problem.key, problem.line) == (key, line)
    assert said in problem.message
    assert remedy in problem.remedy
    assert f"line {line}" in str(caught.value) or line is None


def test_the_wire_cannot_be_seated_on_what_it_only_rests_on(sound_case: str) -> None:
    text = sound_case.replace('kind = "button"', 'kind = "knife edge"').replace('in = "tube"', 'in = "hook"')
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, Path("case.toml"))
    (problem,) = caught.value.problems
    assert (problem.key, problem.line) == ("wire.seated_in", 11)
    assert 'only rests on "hook", a knife edge' in problem.message and "name a bracket" in problem.remedy


def test_no_attachment_at_all(sound_case: str) -> None:
    with pytest.raises(CaseFileError) as caught:
        parse_case(sound_case[: sound_case.index("[[attachment]]")], Path("case.toml"))
    (problem,) = caught.value.problems
    assert (
        problem.key == "attachment"
        and "no attachment at all" in problem.message
        and "[[attachment]]" in problem.remedy
    )


def test_single_brackets(sound_case: str) -> None:
    text = sound_case[: sound_case.index(HOOK)].replace("[[attachment]]", "[attachment]")
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, Path("case.toml"))
    (problem,) = caught.value.problems
    assert problem.line == 13 and "double brackets" in problem.remedy


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ('title = "a"\n[wire\nmaterial = 1', 2, "column"),
        ("title = a", 1, "column 9"),
        ('title = "a"\ntitle = "b"', 2, "at the end of the file"),
        ('title = "a"\nlist = [1,\n2', 3, "at the end of the file"),
    ],
)
def test_malformed_toml(text: str, line: int, said: str) -> None:
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, Path("case.toml"))
    (problem,) = caught.value.problems
    assert problem.line == line and "not a TOML file" in problem.message and said in problem.message
    assert "mend the TOML" in problem.remedy


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    latin = tmp_path / "latin.toml"
    latin.write_bytes('title = "ok"\nnote = "fa\xe7ade"'.encode("latin-1"))
    for path, said in ((tmp_path / "none.toml", "no such file"), (tmp_path, "folder"), (latin, "not UTF-8")):
        with pytest.raises(CaseFileError) as caught:
            load_case(path)
        assert said in str(caught.value) and str(path) in str(caught.value)
    assert caught.value.problems[0].line == 2


def test_all_problems_at_once_in_the_order_of_the_file(sound_case: str) -> None:
    text = (
        sound_case.replace(RANGES, 'section = { shape = "rectangle", height = 0.017, depth = "0 in" }')
        .replace('kind = "tube"', 'kind = "tube"\nstopp = true')
        .replace('["22 mm", "0 mm", "0 mm"]', '["22 mm", nan, "5 gf"]')
        .replace('seated_in = "tube"', 'seated_in = "tubes"')
        .replace('at = "end"', 'at = "99 mm"')
    )
    with pytest.raises(CaseFileError) as caught:
        parse_case(text, Path("case.toml"))
    assert [(problem.line, problem.key) for problem in caught.value.problems] == [
        (5, "wire.section.depth"),
        (5, "wire.section.height"),
        (11, "wire.seated_in"),
        (17, "attachment 1: stopp"),
        (27, "attachment 2: position 2"),
        (27, "attachment 2: position 3"),
        (28, "attachment 2: at"),
    ]
    assert str(caught.value).startswith("case.toml: 7 problems\n")


def test_an_empty_file() -> None:
    with pytest.raises(CaseFileError) as caught:
        parse_case("", Path("case.toml"))
    assert {problem.key for problem in caught.value.problems} == {"title", "wire", "attachment"}


def test_a_wire_that_fills_its_slot_fits(sound_case: str) -> None:
    text = sound_case.replace(RANGES, ROUND).replace(
        SLOT, SLOT.replace("0.022", "0.016").replace("0.028", "0.016")
    )
    assert parse_case(text, Path("case.toml")).wire.section.height == 0.016 * 25.4
