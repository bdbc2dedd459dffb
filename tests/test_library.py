"""What the shipped cases promise beyond figures: signs and words by hand, twins, mirror images, small activations."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from cases.casefile import LIBRARY, parse_case
from cases.results import RunResult
from cases.run import run_case
from cases.schema import Case
from tests import library_checks, shipped
from tests.linear_wire import bending, between, torsion
from tests.shipped import case, solved

INCH = 25.4


@pytest.mark.parametrize(
    ("order", "axis", "place"), [("first", "y", "molar tube"), ("second", "z", "molar tube")]
)
def test_shape_does_not_matter_in_first_and_second_order(order: str, axis: str, place: str) -> None:
    """At equal stiffness and equal play in that order a round wire gives the same: 0.3 %.

    What is left is shear, 3 l^2/(LW) of either wire (``test_one_couple.py``), below that.
    """
    name = f"one-couple-{order}-order"
    one, twin = solved(name), solved(f"{name}-round")
    assert bending(case(name), order) == pytest.approx(bending(case(f"{name}-round"), order), rel=1e-4)
    for a, b in zip(one.attachments, twin.attachments, strict=True):
        np.testing.assert_allclose(b.force_n, a.force_n, rtol=3e-3, atol=1e-6)
        np.testing.assert_allclose(b.moment_nmm, a.moment_nmm, rtol=3e-3, atol=1e-6)
    assert one.attachment(place).orders[order].play_deg == pytest.approx(
        twin.attachment(place).orders[order].play_deg, rel=0.02
    )
    for result in (one, twin):
        carried = {name for name, value in result.attachment(place).orders.items() if value.carries_couple}
        assert carried == {order}


def test_shape_is_everything_in_third_order() -> None:
    """At equal stiffness in torsion: torque from the rectangular wire, exactly nothing from the round one."""
    name = "one-couple-third-order"
    assert torsion(case(name)) == pytest.approx(torsion(case(f"{name}-round")), rel=1e-3)
    bracket = solved(name).attachment("incisor bracket")
    assert bracket.orders["third"].carries_couple and "labial crown torque" in bracket.orders["third"].words
    twin = solved(f"{name}-round")
    assert twin.status == "passive"
    for item in twin.attachments:
        assert item.force_n == item.moment_nmm == (0.0, 0.0, 0.0)


def test_the_left_side_is_the_mirror_image_of_the_right() -> None:
    """x turned round: forces (-, +, +), moments (+, -, -); the words of mesial and distal are the same."""
    right, left = solved("molar-uprighting"), solved("molar-uprighting-left")
    for name in ("molar tube", "premolar hook"):
        a, b = right.attachment(name), left.attachment(name)
        np.testing.assert_allclose(b.force_n, np.array(a.force_n) * [-1, 1, 1], rtol=1e-5, atol=1e-5)
        np.testing.assert_allclose(b.moment_nmm, np.array(a.moment_nmm) * [1, -1, -1], rtol=1e-5, atol=1e-5)
        assert a.words == b.words


def test_a_root_goes_distally_under_mesial_crown_tip() -> None:
    """The arm lies below the hook and is raised: it presses the molar down, and lifts the canine."""
    result = solved("root-uprighting-spring")
    canine, molar = result.attachment("canine bracket"), result.attachment("molar hook")
    assert "mesial crown tip" in canine.orders["second"].words
    assert molar.force_n[1] < 0.0 < canine.force_n[1]


def test_an_intrusion_arch_intrudes_in_front_and_extrudes_behind() -> None:
    """Upper arch: gingival is +y.  Tied, nothing acts forwards or sideways in the midline, and both sides are alike."""
    result = solved("intrusion-arch-tied")
    tie = result.attachment("tie in the midline")
    assert tie.force_n[1] > 0.1 and max(abs(tie.force_n[0]), abs(tie.force_n[2])) < 1e-5
    for side in ("right", "left"):
        molar = result.attachment(f"{side} molar tube")
        assert molar.force_n[1] == pytest.approx(-0.5 * tie.force_n[1], rel=1e-5)
        assert "distal crown tip" in molar.orders["second"].words
    engaged = solved("intrusion-arch-engaged")
    for side in ("right", "left"):
        incisor = engaged.attachment(f"{side} incisor bracket")
        assert incisor.force_n[1] > 0.1 and "lingual crown torque" in incisor.orders["third"].words


def test_a_torquing_arch_torques_in_front_and_intrudes_behind() -> None:
    """Hooks get a force and no couple; the incisors labial crown torque, which is about -x in the upper arch."""
    result = solved("torquing-arch")
    for side in ("right", "left"):
        hook = result.attachment(f"{side} molar hook")
        assert hook.moment_nmm == (0.0, 0.0, 0.0) and hook.force_n[1] > 0.1
        assert "labial crown torque" in result.attachment(f"{side} incisor bracket").orders["third"].words


def test_a_transpalatal_arch_turns_both_molars_out() -> None:
    for item in solved("transpalatal-arch").attachments:
        assert "mesial out" in item.orders["first"].words
        assert np.linalg.norm(item.force_n) * 10.0 < 0.05 * abs(item.moment_nmm[1])


def test_a_rotated_premolar_between_two_forces() -> None:
    """Its neighbours touch on one side: no couple; the middle one gets no force, by symmetry."""
    result = solved("rotated-premolar")
    middle = result.attachment("first premolar bracket")
    assert np.abs(middle.force_n).max() < 1e-9 and "mesial out" in middle.orders["first"].words
    for name in ("second premolar bracket", "canine bracket"):
        assert not result.attachment(name).orders["first"].carries_couple


def test_a_levelled_upper_arch_draws_the_high_canine_down() -> None:
    """Upper arch: occlusal is -y.  13 stands high and outwards, 12 inwards; a wire that stays elastic."""
    result = solved("levelling-upper-arch")
    local = {item.name: item.pose.axes.T @ np.array(item.force_n) for item in result.attachments}
    assert len(local) == 12
    assert local["13"][1] < -0.2 < 0.1 < local["14"][1] and local["12"][1] > 0.1
    assert local["13"][2] < -0.05 and local["12"][2] > 0.1
    assert result.wire.yield_share is not None and result.wire.yield_share < 1.0


def test_six_geometries_turn_from_equal_to_opposite_couples() -> None:
    """In brackets with play both moments have one sense at first; the first one's falls, passes nought and turns."""
    ends = {one.stage: one for one in solved("six-geometries-brackets").increments}
    first = [one.attachments[0].moment_nmm[2] for one in ends.values()]
    second = [one.attachments[1].moment_nmm[2] for one in ends.values()]
    assert first == sorted(first) and first[0] < 0.0 < first[-1]
    assert max(second) < 0.0
    forces = [abs(one.attachments[0].force_n[1]) for one in ends.values()]
    assert forces == sorted(forces, reverse=True) and forces[-1] < 1e-4


def test_v_bends_by_their_place() -> None:
    """The farther end's moment falls, passes nought at a third of the way, and turns round; the nearer one's leads."""
    places = ("tenth", "fifth", "third", "two-fifths", "middle")
    ends = [solved(f"v-bend-clamped-{place}").attachments for place in places]
    far = [second.moment_nmm[2] for _, second in ends]
    assert far == sorted(far, reverse=True) and far[1] > 0.1 > 1e-3 > abs(far[2]) and far[3] < -0.05
    assert all(first.moment_nmm[2] >= abs(second.moment_nmm[2]) * (1.0 - 1e-9) for first, second in ends)
    near, middle = solved("v-bend-near-the-molar").attachments, solved("v-bend-in-the-middle").attachments
    assert near[0].moment_nmm[2] > 5.0 * near[1].moment_nmm[2] > 0.0
    assert middle[0].moment_nmm[2] == pytest.approx(-middle[1].moment_nmm[2], rel=0.01)


def test_loops_give_more_moment_over_force_the_more_of_their_wire_is_high() -> None:
    """Vertical, vertical with a helix, T, T pre-activated; none reaches the height of its loop, 7 mm."""
    names = ("vertical-loop", "closing-loop", "t-loop", "t-loop-preactivated")
    got = [abs(a.moment_nmm[2] / a.force_n[0]) for a in (solved(name).attachments[1] for name in names)]
    assert got == sorted(got) and got[-1] < 7.0


def test_a_neutral_position_has_moments_and_no_force() -> None:
    neutral = [one for one in solved("t-loop-preactivated").increments if one.stage == "activation"][-1]
    premolar = neutral.attachments[0]
    assert abs(premolar.force_n[0]) < 0.005 and premolar.moment_nmm[2] < -2.0


def scaled(name: str, share: float, gap: float) -> tuple[RunResult, Case]:
    """A loop case with a share of its opening and of its slots' play; ``gap``: brackets apart when it is free."""
    text = case(name).source_text
    height = case(name).wire.section.height
    apart = float(case(name).attachments[1].attachment.pose.position[0])
    slot = height + share * (0.022 * INCH - height)
    text = text.replace('height = "0.022 in"', f'height = "{slot!r} mm"')
    here = rf'position = \["{apart:g} mm"'
    assert len(re.findall(here, text)) == 1
    text = re.sub(here, f'position = ["{gap + share * (apart - gap)!r} mm"', text)
    found = parse_case(text, LIBRARY / f"{name}.toml")
    return run_case(found), found


@pytest.mark.parametrize(("name", "gap"), [("vertical-loop", 14.0), ("t-loop", 18.0)])
def test_small_loops_are_linear(name: str, gap: float) -> None:
    """At a tenth of the opening and the play: Castigliano within 2 % (found: 1.7 %), far less than at the whole.

    Shear, and a contact spread over a layer behind the mouth, are what is left.
    """

    def off(share: float) -> tuple[float, float]:
        result, of = scaled(name, share, gap)
        linear = between(of)
        first = result.attachments[0]
        return (
            abs(first.force_n[0] / float(linear.force[0][0]) - 1.0),
            abs(first.moment_nmm[2] / linear.centre[0] - 1.0),
        )

    whole, tenth = off(1.0), off(0.1)
    assert max(tenth) < 0.02 and max(tenth) < 0.25 * max(whole)


def slots_scaled(text: str, name: str, share: float) -> str:
    """The case's text with a share of the play in the height of its 0.022 in slots."""
    height = case(name).wire.section.height
    assert 'height = "0.022 in"' in text
    return text.replace('height = "0.022 in"', f'height = "{height + share * (0.022 * INCH - height)!r} mm"')


SMALL = {
    "one-couple-second-order": ('"-4 mm"', '"-0.4 mm"'),
    "one-couple-third-order": ('"-6 mm"', '"-0.6 mm"'),
    "intrusion-arch-tied": ('bend = "20 deg"', 'bend = "2 deg"'),
}


@pytest.mark.parametrize("name", SMALL)
def test_small_activations_are_linear(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """At a tenth of the activation and the play what the pages are checked against is met within 2 %.

    At the whole it differs by 4 to 15 %, as the pages say: it leaves out what grows with the slope.
    """
    old, new = SMALL[name]
    text = case(name).source_text
    assert old in text
    text = slots_scaled(text.replace(old, new), name, 0.1)
    if name == "intrusion-arch-tied":
        # less of a bend is less of wire before the left tube
        shorter = 2.0 * math.radians(18.0)
        text = text.replace('at = "107.0300 mm"', f'at = "{107.03 - shorter!r} mm"')
    of = parse_case(text, LIBRARY / f"{name}.toml")
    result = run_case(of)
    monkeypatch.setattr(library_checks, "case", lambda _: of)
    monkeypatch.setattr(shipped, "case", lambda _: of)
    values = library_checks.CHECKS[name]()
    assert len(values) >= 2
    for quantity, expected in values.items():
        attachment, what = quantity.split(", ")
        item = result.attachment(attachment)
        found = (
            item.orders["third"].moment_nmm
            if what == "third order"
            else {"force y": item.force_n[1], "moment z": item.moment_nmm[2]}[what]
        )
        assert found == pytest.approx(expected, rel=0.02)
