"""The attachments as one system: couples and statics by hand, the six geometries by their published ratios.

Classes and ratios: Burstone & Koenig, Am. J. Orthod. 65 (1974) 270: angles 1, 0.5, 0, -0.5, -0.75, -1 and moments 1,
0.8, 0.5, 0, -0.4, -1 for the classes I to VI.  That one attachment with a couple and one that holds a point are
statically determinate, and two with couples are not, is common practice and any handbook's statics.
"""

from __future__ import annotations

import io
import json
from dataclasses import replace

import numpy as np
import pytest
from rich.console import Console

from cases.formulas import two_bracket_ratios
from cases.output import to_json
from cases.results import RunResult
from cases.run import run_case
from cases.schema import Case
from cases.summary import print_result
from cases.system_results import Geometry, OrderSystem, SystemResult
from cases.two_brackets import CLASSES, nearest_class
from tests.case_texts import attachment, bend, case_of, edgewise, round_wire, straight
from tests.shipped import solved

MOMENTS = {"I": 1.0, "II": 0.8, "III": 0.5, "IV": 0.0, "V": -0.4, "VI": -1.0}
SLOT = (0.4572, 0.635, 3.0)


def system(result: RunResult) -> SystemResult:
    assert result.system is not None
    return result.system


def order(name: str, which: str) -> OrderSystem:
    return system(solved(name)).orders[which]


@pytest.mark.parametrize(
    ("name", "which", "tube", "hook"),
    [
        ("one-couple-first-order", "first", "molar tube", "premolar hook"),
        ("one-couple-second-order", "second", "molar tube", "premolar hook"),
        ("one-couple-third-order", "third", "incisor bracket", "hook of the anchor unit"),
        ("molar-uprighting", "second", "molar tube", "premolar hook"),
    ],
)
def test_one_couple_and_a_point_are_statically_determinate(
    name: str, which: str, tube: str, hook: str
) -> None:
    found = order(name, which)
    assert (found.kind, found.with_couple, found.holding) == ("one-couple system", (tube,), (hook,))
    assert (found.left_open, found.determinate) == (1, True)
    assert tube in found.words and "one-couple system" in found.words and "determinate" in found.words


def test_the_load_left_open_gives_the_others() -> None:
    """What "determinate" says, by hand: the couple is the force at the hook times its distance."""
    result = solved("one-couple-second-order")
    tube, hook = result.attachment("molar tube"), result.attachment("premolar hook")
    lever = np.subtract(hook.moment_about_mm, tube.moment_about_mm)
    couple = -np.cross(lever, hook.force_n)
    np.testing.assert_allclose(tube.moment_nmm, couple, atol=1e-6 * float(np.abs(couple).max()))


@pytest.mark.parametrize(
    ("name", "which"),
    [("closing-loop", "second"), ("transpalatal-arch", "first"), ("six-geometries-clamped", "second")],
)
def test_two_couples_are_indeterminate(name: str, which: str) -> None:
    """Two forces across and two couples, two equations."""
    found = order(name, which)
    assert (found.kind, found.loads, found.left_open) == ("two-couple system", 4, 2)
    assert found.determinate is False and "2 of 4" in found.words


def test_three_forces_and_a_couple_are_indeterminate() -> None:
    """A couple on the middle one of three teeth: four loads, two equations."""
    found = order("rotated-premolar", "first")
    assert found.with_couple == ("first premolar bracket",)
    assert found.holding == ("second premolar bracket", "canine bracket")
    assert (found.loads, found.left_open, found.determinate) == (4, 2, False)


def test_two_torques_about_one_line_are_opposite_by_statics() -> None:
    found = order("torque-through-play", "third")
    assert found.kind == "two-couple system" and (found.loads, found.left_open) == (2, 1)
    one, other = (item.orders["third"].moment_nmm for item in solved("torque-through-play").attachments)
    assert one == pytest.approx(-other, rel=1e-6) and abs(one) > 10.0
    # no wall stops the wire in the other orders: the play left is that of the orders themselves
    for which in ("first", "second"):
        off = order("torque-through-play", which)
        assert off.kind == "no couple" and off.determinate is None
        for slot in off.within_play:
            item = solved("torque-through-play").attachment(slot.name)
            assert slot.play_left_deg == item.orders[which].play_left_deg
            assert f"{slot.play_left_deg:.2f} deg left" in off.words


def test_a_passive_wire_is_told() -> None:
    found = system(solved("torque-round-wire"))
    assert found.passive == ("central incisor bracket", "lateral incisor bracket")
    assert {one.kind for one in found.orders.values()} == {"no couple"}
    assert [one.play_left_deg for one in found.orders["third"].within_play] == [None, None]
    assert "Free in central incisor bracket and lateral incisor bracket" in found.orders["third"].words
    assert found.geometries == ()
    assert any(words.startswith("Passive") for words in found.words)


def test_couples_of_other_orders_in_the_plane_are_told() -> None:
    """Round a right angle, the second order of one clamp turns about the length of the other: no plane of one order."""
    result = run_case(
        case_of(
            edgewise(0.4, 0.5),
            [straight(8.0), bend(90.0, "first", 1.0), straight(8.0)],
            "front",
            attachment("front", "clamp", "start", 0.0, stop=True),
            attachment("side", "clamp", "end", 9.0, 0.3, -9.0, stop=True, about_y=90.0),
        )
    )
    found = system(result).orders["second"]
    assert found.kind == "two-couple system"
    assert (found.loads, found.left_open, found.determinate) == (None, None, None)
    assert "Not of one plane" in found.words


def test_three_points_need_one_force() -> None:
    """Three-point bending: three forces, two equations."""
    result = run_case(
        case_of(
            round_wire(0.4),
            [straight(20.0)],
            "left",
            attachment("left", "button", "start", 0.0, stop=True),
            attachment("middle", "button", "middle", 10.0, 0.5),
            attachment("right", "button", "end", 20.0),
        )
    )
    found = system(result).orders["second"]
    assert (found.kind, found.holding) == ("no couple", ("left", "middle", "right"))
    assert (found.loads, found.left_open, found.determinate) == (3, 1, True)


def test_the_nearest_class() -> None:
    for name, ratio in CLASSES.items():
        assert nearest_class(ratio) == name
        assert two_bracket_ratios(ratio).moment_ratio == pytest.approx(MOMENTS[name], abs=1e-12)
    assert [nearest_class(ratio) for ratio in (0.76, 0.74, -0.62, -0.64, -0.87, -0.88)] == [
        "I", "II", "IV", "V", "V", "VI",
    ]  # fmt: skip


def staged(name: str) -> dict[str, Geometry]:
    """The geometry at the end of each stage, by its class as the stage calls it."""
    found = system(solved(name)).geometries
    return {"I" if one.stage == "activation" else one.stage.removeprefix("geometry "): one for one in found}


@pytest.mark.parametrize("name", MOMENTS)
def test_six_geometries_between_built_in_ends(name: str) -> None:
    """At 2 deg the exact rod differs from the linear one by less than 0.005 of the larger moment."""
    found = staged("six-geometries-clamped")[name]
    assert found.nearest_class == found.nearest_class_at_centres == name
    assert found.angle_ratio == pytest.approx(CLASSES[name], abs=1e-9)
    assert found.linear_moment_ratio == pytest.approx(MOMENTS[name], abs=1e-9)
    assert found.moment_ratio_at_mouths == pytest.approx(MOMENTS[name], abs=5e-3)
    # no width: mouth and centre are one
    assert found.moment_ratio_at_mouths == pytest.approx(found.moment_ratio_at_centres, abs=1e-12)
    assert f"nearest class {name}." in found.words


@pytest.mark.parametrize("name", MOMENTS)
def test_six_geometries_in_brackets(name: str) -> None:
    """Turned about their centres, brackets of width W carry their mouths along: with tA and tB to the line of the
    centres and the span L, the line of the mouths is turned by -W (tA + tB)/(2 L); exactly, by the arc tangent."""
    found = staged("six-geometries-brackets")[name]
    turned = np.radians(6.0 * np.array([CLASSES[name], 1.0]))
    rise = -1.5 * np.sin(turned).sum()
    run = 10.0 - 1.5 * np.cos(turned).sum()
    chord = np.degrees(np.arctan2(rise, run))
    # wire to slot, so with the other sign than slot to wire
    expected = chord - np.degrees(turned)
    assert [one.activation_deg for one in found.brackets] == pytest.approx(expected, abs=1e-9)
    assert [one.activation_at_centre_deg for one in found.brackets] == pytest.approx(
        -np.degrees(turned), abs=1e-9
    )
    assert found.angle_ratio == pytest.approx(expected[0] / expected[1], abs=1e-9)
    assert found.angle_ratio_at_centres == pytest.approx(CLASSES[name], abs=1e-9)
    assert found.nearest_class_at_centres == name
    ratio = found.angle_ratio
    assert found.linear_moment_ratio == pytest.approx((2.0 * ratio + 1.0) / (ratio + 2.0), abs=1e-9)
    for one in found.brackets:
        assert one.play_deg is not None
        assert abs(one.engagement_deg) < one.play_deg < abs(one.activation_deg)
    assert "Angles of engagement, which play limits" in found.words


def test_moments_at_the_mouths_are_those_of_the_span() -> None:
    """Moved from the slot's centre to the mouth, against the wire's own moment there: they differ by the wire's play
    times the force along it, and by nothing else that counts."""
    result = solved("six-geometries-brackets")
    found = staged("six-geometries-brackets")["VI"]
    for item, bracket, place in zip(result.attachments, found.brackets, ("end", "start"), strict=True):
        (mouth,) = [one for one in item.mouths if one.place == place]
        allowed = 0.1 * float(np.linalg.norm(item.force_n)) + 1e-6
        assert bracket.moment_at_mouth_nmm == pytest.approx(mouth.moment_nmm[2], abs=allowed)
        assert bracket.moment_at_centre_nmm == pytest.approx(item.orders["second"].moment_nmm, abs=1e-12)
        assert bracket.engagement_deg == pytest.approx(item.orders["second"].engagement_deg, abs=1e-9)


def test_width_changes_the_class() -> None:
    """Turned by 0.24 to 1 about their centres, 5 mm apart and 3.5 mm wide: class III from there; from the mouths, L =
    1.5 mm apart, the ratio is (0.24 + 1.24 W/2L)/(1 + 1.24 W/2L) = 0.69: class II."""
    found = system(run_case(_brackets(0.24, 1.0, distance=5.0, width=3.5))).geometries[0]
    lifted = 1.24 * 3.5 / 3.0
    assert found.angle_ratio == pytest.approx((0.24 + lifted) / (1.0 + lifted), abs=1e-3)
    assert (found.nearest_class_at_centres, found.nearest_class) == ("III", "II")
    assert "From the line of the slot centres" in found.words


def _brackets(first: float, second: float, distance: float = 10.0, width: float = 3.0) -> Case:
    slot = (0.42, 0.6, width)
    return case_of(
        round_wire(0.4),
        [straight(distance + 6.0)],
        "first",
        attachment("first", "bracket", 3.0, 0.0, slot=slot, stop=True, about_z=first),
        attachment("second", "bracket", 3.0 + distance, distance, slot=slot, about_z=second),
    )


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("v-bend-clamped-tenth", (1.0 - 0.3) / (2.0 - 0.3)),
        ("v-bend-clamped-fifth", (1.0 - 0.6) / (2.0 - 0.6)),
        ("v-bend-clamped-third", 0.0),
        ("v-bend-clamped-two-fifths", (1.0 - 1.2) / (2.0 - 1.2)),
        ("v-bend-clamped-middle", -1.0),
    ],
)
def test_a_bent_wire_counts_as_turned_brackets(name: str, expected: float) -> None:
    """(1 - 3 s)/(2 - 3 s) of a V-bend at the share s: Burstone & Koenig, Am. J. Orthod. Dentofacial Orthop. 93 (1988)
    59, from its angles -(1 - s) and s.  The bend has a radius here, within 0.01."""
    (found,) = system(solved(name)).geometries
    assert found.linear_moment_ratio == pytest.approx(expected, abs=0.01)
    assert found.moment_ratio_at_mouths == pytest.approx(found.linear_moment_ratio, abs=0.01)


def test_a_geometry_in_first_order() -> None:
    """The same two brackets seen from above."""
    case = case_of(
        round_wire(0.4),
        [straight(10.0)],
        "first",
        attachment("first", "clamp", "start", 0.0, stop=True, about_y=1.0),
        attachment("second", "clamp", "end", 10.0, about_y=-2.0),
    )
    (found,) = system(run_case(case)).geometries
    assert (found.order, found.nearest_class, found.larger) == ("first", "IV", "second")
    assert [one.activation_deg for one in found.brackets] == pytest.approx([-1.0, 2.0], abs=1e-9)
    assert found.moment_ratio_at_mouths == pytest.approx(0.0, abs=5e-3)


@pytest.mark.parametrize(
    "name", ["closing-loop", "transpalatal-arch", "molar-uprighting", "rotated-premolar"]
)
def test_no_class_for_loops_hooks_and_more_than_two(name: str) -> None:
    assert system(solved(name)).geometries == ()


def test_no_class_within_play() -> None:
    """Both brackets turned by less than the wire may turn in them."""
    assert system(run_case(_brackets(0.1, 0.1))).geometries == ()


def test_a_summary_and_a_file_tell_it() -> None:
    result = solved("six-geometries-brackets")
    console = Console(file=io.StringIO(), width=100)
    print_result(result, console)
    assert isinstance(console.file, io.StringIO)
    text = " ".join(console.file.getvalue().split())
    assert "The attachments together" in text
    for words in system(result).words:
        assert words in text
    data = json.loads(json.dumps(to_json(result)))["system"]
    assert data["orders"]["second"]["kind"] == "two-couple system"
    assert data["orders"]["second"]["with_couple"] == ["first bracket", "second bracket"]
    assert [one["nearest_class_at_centres"] for one in data["geometries"]] == list(MOMENTS)
    assert to_json(replace(result, system=None))["system"] is None
