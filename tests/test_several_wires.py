"""Cases with several wires: statics from wire to tooth, sums of a tooth's attachments, files, and what is refused."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path

import meshio
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from cases.casefile import LIBRARY, parse_case
from cases.errors import CaseFileError
from cases.output import write_outputs
from cases.refine import refined_run
from cases.report.stored import read_result
from cases.run import run_case, whole_run
from cases.schema import Case
from cases.solids import write_solids
from geometry.pose import Pose
from tests.shipped import case, solved

SPRING = "uprighting-spring-hooked"
TUBES = "intrusion-spring-auxiliary-tube"
OVERLAY = "overlay-arch"
SEVERAL = (SPRING, TUBES, OVERLAY)


def text_of(name: str) -> str:
    return (LIBRARY / f"{name}.toml").read_text(encoding="utf-8")


def changed(name: str, old: str, new: str) -> Case:
    text = text_of(name)
    assert old in text
    return parse_case(text.replace(old, new), LIBRARY / f"{name}.toml")


# ------------------------------------------------------------------ statics


@pytest.mark.parametrize("name", SEVERAL)
def test_every_wire_balances_by_itself_with_its_joints(name: str) -> None:
    """Forces and moments about the origin of one wire's attachments and joints; what a joint gives, it takes."""
    result = solved(name)
    floor = result.equilibrium.floor_n
    for wire in result.wires:
        force, moment = np.zeros(3), np.zeros(3)
        for item in result.attachments:
            if item.wire == wire.name:
                force += item.force_n
                moment += np.array(item.moment_nmm) + np.cross(item.moment_about_mm, item.force_n)
        for joint in result.joints:
            sign = 1.0 if joint.wire == wire.name else -1.0 if joint.to == wire.name else 0.0
            force += sign * np.array(joint.force_n)
            moment += sign * np.cross(joint.place_mm, joint.force_n)
        assert np.abs(force).max() < 3.0 * floor
        assert np.abs(moment).max() < 100.0 * floor


@pytest.mark.parametrize("name", (SPRING, TUBES))
def test_a_hook_does_not_pull_along_the_wire_it_slides_on(name: str) -> None:
    result = solved(name)
    (joint,) = result.joints
    base = next(wire for wire in result.wires if wire.name == joint.to)
    tangent = [np.interp(joint.to_at_mm, base.arc_length_mm, base.axes[:, k, 0]) for k in range(3)]
    force = np.array(joint.force_n)
    assert np.linalg.norm(force) > 0.1
    assert abs(force @ tangent) < 1e-4 * np.linalg.norm(force)


def test_a_tie_holds_a_wire_beside_the_other() -> None:
    """In front by as much as the case says, along the depth of the base arch."""
    result = solved(OVERLAY)
    (joint,) = result.joints
    node = int(np.abs(result.wire.arc_length_mm - joint.to_at_mm).argmin())
    seen = result.wire.axes[node].T @ (np.array(joint.place_mm) - result.wire.positions_mm[node])
    np.testing.assert_allclose(seen, [0.0, 0.0, 0.45], rtol=0.0, atol=1e-6)


@pytest.mark.parametrize("name", SEVERAL)
def test_a_turned_copy_gives_the_turned_force_systems(name: str) -> None:
    """Turned as a whole, the appliance gives the same to 1e-5: a hook follows to a millionth of its force."""
    turn = Pose(np.array([4.0, -3.0, 7.0]), Rotation.from_rotvec([0.5, -0.8, 1.1]).as_matrix())
    whole = case(name)
    specs = tuple(
        replace(spec, attachment=replace(spec.attachment, pose=turn.compose(spec.attachment.pose)))
        for spec in whole.attachments
    )
    here, there = solved(name), run_case(replace(whole, attachments=specs))
    size = max(float(np.linalg.norm(item.force_n)) for item in here.attachments)
    moment = max(float(np.linalg.norm(item.moment_nmm)) for item in here.attachments)
    for one, other in zip(here.attachments, there.attachments, strict=True):
        np.testing.assert_allclose(turn.axes.T @ other.force_n, one.force_n, rtol=0.0, atol=1e-5 * size)
        np.testing.assert_allclose(
            turn.axes.T @ other.moment_nmm, one.moment_nmm, rtol=0.0, atol=1e-5 * moment
        )


def test_the_base_arch_alone_gets_what_the_spring_gives_as_a_load() -> None:
    """Without the spring nothing acts on the base arch; the spring alone, hooked on a button, gives the molar much the
    same: the base arch gives way a little under it."""
    text = text_of(SPRING)
    begin, end = text.index("[[joint]]"), len(text)
    apart = run_case(parse_case(text[:begin] + text[end:], Path("apart.toml")))
    assert all(item.force_n == (0.0, 0.0, 0.0) for item in apart.attachments)
    button = '[[attachment]]\nname = "button"\nwire = "spring"\nkind = "button"\n'
    button += 'position = ["18.8 mm", "0 mm", "0 mm"]\nat = "end"\n'
    stiff = run_case(parse_case(text[:begin] + button, Path("button.toml"))).attachment("molar tube")
    molar = solved(SPRING).attachment("molar tube")
    assert molar.force_n[1] == pytest.approx(stiff.force_n[1], rel=0.02)
    assert 0.0 < stiff.force_n[1] - molar.force_n[1]


# ------------------------------------------------------------------ teeth with several attachments


def test_a_tooth_gets_the_sum_of_its_attachments_at_its_centre_of_resistance() -> None:
    result, whole = solved(TUBES), case(TUBES)
    (tooth,) = result.teeth
    assert tooth.tooth == "16" and tooth.attachments == ("main tube", "auxiliary tube")
    main = next(spec for spec in whole.attachments if spec.name == "main tube")
    assert main.centre_of_resistance is not None
    centre = main.attachment.pose.to_world(np.array(main.centre_of_resistance))
    force, moment = np.zeros(3), np.zeros(3)
    for name in tooth.attachments:
        item = result.attachment(name)
        force += item.force_n
        moment += np.array(item.moment_nmm) + np.cross(np.array(item.moment_about_mm) - centre, item.force_n)
        assert item.at_centre_of_resistance is None and item.moment_at_centre_of_resistance_nmm is None
    np.testing.assert_allclose(tooth.force_n, force, rtol=0.0, atol=1e-12)
    np.testing.assert_allclose(tooth.moment_at_centre_of_resistance_nmm, moment, rtol=0.0, atol=1e-9)
    np.testing.assert_allclose(tooth.at_centre_of_resistance.moment_nmm, moment, rtol=0.0, atol=1e-9)


def test_a_tooth_that_moves_takes_all_its_attachments_along() -> None:
    """Rigidly: the auxiliary tube turns about the main one with the tooth."""
    stage = '\n[[stage]]\nname = "tipped"\nmove = "main tube"\nby = ["0 mm", "0.2 mm", "0 mm"]\n'
    stage += 'turn = { about_z = "2 deg" }\nincrements = 2\n'
    run = whole_run(parse_case(text_of(TUBES) + stage, LIBRARY / "moved.toml"))
    start, end = (Pose.from_angles([0.0, 0.0, 0.0], about_z=0.0), run.result.attachment("main tube").pose)
    before = case(TUBES).attachments[2].attachment.pose
    after = run.result.attachment("auxiliary tube").pose
    np.testing.assert_allclose(
        end.to_local(after.position), start.to_local(before.position), rtol=0.0, atol=1e-12
    )
    np.testing.assert_allclose(end.axes.T @ after.axes, before.axes, rtol=0.0, atol=1e-12)


def test_a_tooth_gives_way_as_one_with_all_its_attachments() -> None:
    """Support at one of its tubes: both move as a rigid body, and the sum speaks of one displacement."""
    old = 'centre_of_resistance = ["0 mm", "9 mm", "-5 mm"]'
    result = run_case(
        changed(TUBES, old, 'centre_of_resistance = ["0 mm", "9 mm", "0 mm"]\nsupport = "typical"')
    )
    main, auxiliary = result.attachment("main tube"), result.attachment("auxiliary tube")
    before = case(TUBES).attachments[2].attachment.pose.position
    np.testing.assert_allclose(main.pose.to_local(auxiliary.pose.position), before, rtol=0.0, atol=1e-9)
    assert np.linalg.norm(main.pose.position) > 1e-4
    (tooth,) = result.teeth
    moved = tooth.at_centre_of_resistance.displacement
    assert moved is not None and np.linalg.norm(moved.translation_mm) > 1e-4


# ------------------------------------------------------------------ accuracy, words, files


def test_a_finer_mesh_gives_the_same() -> None:
    """The estimate bounds what four times as many elements change, and `--refine` reaches what it is asked."""
    whole = case(SPRING)
    run = whole_run(whole, estimate=True)
    assert run.result.accuracy is not None and run.result.accuracy.force is not None
    fine = whole_run(whole, level=2).result
    change = max(
        float(np.linalg.norm(np.subtract(a.force_n, b.force_n)))
        for a, b in zip(run.result.attachments, fine.attachments, strict=True)
    )
    assert change <= max(run.result.accuracy.force.change, 1e-6)
    again = refined_run(whole, 0.05).result.accuracy
    assert again is not None and again.reached


def test_each_wire_has_its_own_statics() -> None:
    """One couple at the tube, one point at the hook: one load open, which the wire decides."""
    system = solved(SPRING).system
    assert system is not None
    (spring,) = system.more_wires
    assert spring["second"].with_couple == ("molar tube",) and spring["second"].holding == ("hook",)
    assert spring["second"].determinate
    assert system.orders["second"].holding == ("second premolar", "first premolar", "hook")


@pytest.mark.parametrize("name", SEVERAL)
def test_files_hold_all_wires_and_come_back_as_they_were(name: str, tmp_path: Path) -> None:
    result, whole = solved(name), case(name)
    write_outputs(result, tmp_path)
    back = read_result(tmp_path, whole)
    assert back.joints == result.joints and back.system == result.system
    assert [one.tooth for one in back.teeth] == [one.tooth for one in result.teeth]
    for one, other in zip(back.wires, result.wires, strict=True):
        assert one.name == other.name
        np.testing.assert_array_equal(one.positions_mm, other.positions_mm)
        np.testing.assert_array_equal(one.arc_length_mm, other.arc_length_mm)
    assert [item.wire for item in back.attachments] == [item.wire for item in result.attachments]
    data = json.loads((tmp_path / "result.json").read_text(encoding="utf-8"))
    assert [wire["name"] for wire in data["more_wires"]] == [wire.name for wire in whole.more_wires]
    with (tmp_path / "wire.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    counts = [sum(float(row["wire"]) == number for row in rows) for number in (1, 2)]
    assert counts == [len(wire.arc_length_mm) for wire in result.wires]
    mesh = meshio.read(tmp_path / "wire.vtu")
    ends = mesh.point_data["wire"][mesh.cells[0].data]
    assert (ends[:, 0] == ends[:, 1]).all(), "no line from wire to wire"


def test_solids_have_the_volume_of_both_wires(tmp_path: Path) -> None:
    """Straight and bent alike, a wire's volume is its section times its length (Pappus), to the section's mesh."""
    run = whole_run(case(SPRING))
    write_solids(run.case, run.model, run.path, tmp_path)
    mesh = meshio.read(tmp_path / "wire_solid_010.vtu")
    cells = mesh.cells[0].data
    which = mesh.point_data["wire"][cells]
    assert (which == which[:, :1]).all()
    for number, wire in enumerate(run.case.wires, start=1):
        own = mesh.points[cells[which[:, 0] == number][:, :6]]
        volume = sum(_wedge(corners) for corners in own)
        assert volume == pytest.approx(wire.section.area * wire.passive_shape.length, rel=0.02)


def _wedge(corners: np.ndarray) -> float:
    """Volume of a wedge with plane sides, as three tetrahedra."""
    parts = ((0, 1, 2, 3), (1, 2, 3, 4), (2, 3, 4, 5))
    return sum(abs(float(np.linalg.det(corners[list(part[1:])] - corners[part[0]]))) / 6.0 for part in parts)


# ------------------------------------------------------------------ tying in


def test_wires_may_be_tied_in_before_they_are_joined() -> None:
    """Without friction the order does not matter."""
    order = '\n[analysis]\nincrements = 5\ntie_in = ["first premolar", "canine", "hook"]\n'
    later = run_case(parse_case(text_of(SPRING) + order, LIBRARY / "later.toml"))
    assert [one.stage for one in later.increments if one.activation == 1.0][-1] == "tying in hook"
    for one, other in zip(solved(SPRING).attachments, later.attachments, strict=True):
        np.testing.assert_allclose(other.force_n, one.force_n, rtol=0.0, atol=2e-4)


# ------------------------------------------------------------------ what is refused

BAD = {
    "an attachment on a wire that is none": (
        SPRING, 'wire = "spring"\ntooth = "47"', 'wire = "sprnig"\ntooth = "47"', "attachment 4: wire",
        'there is no wire "sprnig"; did you mean "spring"?',
    ),
    "a joint on a wire that is none": (
        SPRING, 'to = "base arch"', 'to = "main arch"', "joint 1: to", 'there is no wire "main arch"',
    ),
    "a joint of a wire with itself": (
        SPRING, 'to = "base arch"', 'to = "spring"', "joint 1: to", "holds a wire to another one",
    ),
    "a joint off the wire": (
        SPRING, 'to_at = "7 mm"', 'to_at = "70 mm"', "joint 1: to_at", "lies beyond the wire, which is 24 mm long",
    ),
    "a joint in a slot": (
        SPRING, 'to_at = "7 mm"', 'to_at = "10 mm"', "joint 1: to_at", "lies in first premolar, which holds it",
    ),
    "a joint of no kind": (
        SPRING, 'kind = "hook"', 'kind = "hok"', "joint 1: kind", 'did you mean "hook"?',
    ),
    "a wire seated in another wire's slot": (
        SPRING, 'seated_in = "molar tube"', 'seated_in = "canine"', "wire 2: seated_in",
        '"canine" holds another wire, so spring cannot be seated in it; write wire = "spring" in that attachment',
    ),
    "a wire without a seat": (
        SPRING, 'seated_in = "molar tube"\n', "", "wire 2: seated_in",
        "the name of the attachment that holds the passive wire is missing",
    ),
    "a wire that nothing holds": (
        SPRING, 'wire = "spring"\ntooth = "47"', 'tooth = "47"', "wire 2: seated_in", '"molar tube" holds another wire',
    ),
    "a wire without a name": (
        SPRING, 'name = "spring"\nmaterial', "material", "wire 2: name", "a name for the wire",
    ),
    "two wires of one name": (
        SPRING, 'name = "spring"\nmaterial', 'name = "base arch"\nmaterial', "wire 2: name",
        'two wires are called "base arch"',
    ),
    "a joint called as an attachment is": (
        SPRING, 'name = "hook"', 'name = "canine"', "joint 1: name", 'something else is called "canine" already',
    ),
    "two slots in one another": (
        TUBES, 'position = ["-3 mm", "3 mm", "0 mm"]', 'position = ["1 mm", "0.2 mm", "0 mm"]',
        "attachment 3: position", "its slot lies within that of main tube, which holds another wire",
    ),
    "two supports of one tooth": (
        TUBES, 'tooth = "16"\nkind', 'tooth = "16"\nsupport = "typical"\nkind', "attachment 3: support",
        "tooth 16 has a support already",
    ),
    "two centres of resistance of one tooth": (
        TUBES, 'at = "2.5 mm"', 'at = "2.5 mm"\ncentre_of_resistance = ["0 mm", "9 mm", "-5 mm"]',
        "attachment 3: centre_of_resistance", "from here it lies 4.24 mm beside that given at another",
    ),
    "a single joint table": (
        SPRING, "[[joint]]", "[joint]", "joint", "write [[joint]] with double brackets",
    ),
    "a wire that is tied in too late": (
        SPRING, 'to_at = "7 mm"\n', 'to_at = "7 mm"\n[analysis]\ntie_in = ["first premolar", "canine"]\n',
        "analysis.tie_in", 'not tied in at all: "hook"; name every attachment but the seat, and every joint',
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", BAD)
def test_a_mistake_is_told_with_its_line_key_and_remedy(what: str) -> None:
    name, old, new, key, words = BAD[what]
    text = text_of(name)
    assert old in text
    with pytest.raises(CaseFileError) as caught:
        parse_case(text.replace(old, new), LIBRARY / f"{name}.toml")
    told = [problem for problem in caught.value.problems if problem.key == key]
    assert told and words in f"{told[0].message}; {told[0].remedy}", str(caught.value)
    assert told[0].line is not None
    assert told[0].remedy


def test_a_joint_without_a_second_wire_is_refused() -> None:
    joint = '\n[[joint]]\nkind = "tie"\nwire = "a"\nat = "1 mm"\nto_at = "2 mm"\n'
    with pytest.raises(CaseFileError, match="there is one wire only"):
        parse_case(text_of("molar-uprighting") + joint, LIBRARY / "one.toml")


def test_a_hook_that_slips_off_says_so() -> None:
    """On a base arch that ends before the place where the hook would come to rest."""
    result = run_case(_short())
    assert any("would slip off" in words for words in result.status_words)


def _short() -> Case:
    text = text_of(SPRING)
    begin, end = (
        text.index('[[attachment]]\nname = "first premolar"'),
        text.index('[[attachment]]\nname = "molar tube"'),
    )
    text = text[:begin] + text[end:]
    return parse_case(text.replace('straight = "24 mm"', 'straight = "7.2 mm"'), LIBRARY / "short.toml")
