"""Senses in the trade's words, four quadrants by three orders, of loads whose sense is plain by hand.

Facial view: x to the viewer's right, y up, z facial.  Mesial is +x on the patient's right (quadrants 1 and
4), occlusal is -y in the upper arch.  By hand, alike in all quadrants because the words are the patient's:

* an arm that stands out mesially and is pulled facially turns its tooth mesial out; pulled occlusally it tips
  the crown distally (it lifts the mesial side); the tooth at the arm's end is pulled the other way;
* a wire gives back what a tooth's own pose does to it: a tooth rotated mesial out is turned mesial in, a crown
  tipped mesially is tipped distally, a crown that leans labially is turned lingually.
"""

from __future__ import annotations

import pytest

from cases.results import RunResult
from cases.run import run_case
from tests.case_texts import INCH, attachment, case_of, edgewise, straight

# Quadrant: sign of mesial along x, sign of occlusal along y.
QUADRANTS = {1: (1, -1), 2: (-1, -1), 3: (-1, 1), 4: (1, 1)}
WIRE = edgewise(0.016 * INCH, 0.022 * INCH)
SLOT = (0.018 * INCH, 0.025 * INCH, 3.0)
ARM = 12.0


def mesial_arm(quadrant: int, occlusal: float = 0.0, facial: float = 0.0, mesial: float = 0.0) -> RunResult:
    """A clamp on the first molar and, ARM mesial of it, a button on the canine displaced by so many mm."""
    mesial_sign, occlusal_sign = QUADRANTS[quadrant]
    molar, canine = f"{quadrant}6", f"{quadrant}3"
    held = attachment("molar", "clamp", "start" if mesial_sign > 0 else "end", 0.0, stop=True, tooth=molar)
    arm = attachment(
        "canine",
        "button",
        "end" if mesial_sign > 0 else "start",
        mesial_sign * (ARM + mesial),
        occlusal_sign * occlusal,
        facial,
        stop=mesial != 0.0,
        tooth=canine,
    )
    return run_case(
        case_of(WIRE, [straight(ARM)], "molar", *((held, arm) if mesial_sign > 0 else (arm, held)))
    )


def turned_tooth(quadrant: int, pose: str, degrees: float) -> RunResult:
    """A bracket on the second premolar, posed in tooth words, on a straight wire held level in a clamp mesial of it."""
    mesial_sign, _ = QUADRANTS[quadrant]
    premolar = f"{quadrant}5"
    bracket = attachment(
        "premolar",
        "bracket",
        2.0 if mesial_sign > 0 else ARM,
        -mesial_sign * ARM,
        slot=SLOT,
        tooth=premolar,
    )
    bracket += f'\n{pose} = "{degrees!r} deg"'
    level = attachment("level", "clamp", "end" if mesial_sign > 0 else "start", 0.0, stop=True)
    return run_case(
        case_of(
            WIRE, [straight(ARM + 2.0)], "level", *((bracket, level) if mesial_sign > 0 else (level, bracket))
        )
    )


def words_of(result: RunResult, name: str) -> str:
    """All sentences about one attachment."""
    return " ".join(result.attachment(name).words)


def force_words_of(result: RunResult, name: str) -> str:
    """The one sentence about its force."""
    sentence = result.attachment(name).words[0]
    assert sentence.startswith("Force ")
    return sentence


@pytest.mark.parametrize("quadrant", QUADRANTS)
@pytest.mark.parametrize(
    ("occlusal", "tip", "molar", "canine"),
    [
        (1.0, "distal crown tip", "extrusion", "intrusion"),
        (-1.0, "mesial crown tip", "intrusion", "extrusion"),
    ],
)
def test_second_order_of_a_mesial_arm(
    quadrant: int, occlusal: float, tip: str, molar: str, canine: str
) -> None:
    """The canine stands occlusally of the molar: the wire is drawn there, pulls the molar along and is pulled back."""
    mesial, up = QUADRANTS[quadrant]
    result = mesial_arm(quadrant, occlusal=occlusal)
    clamp, button = result.attachment("molar"), result.attachment("canine")
    assert clamp.force_n[1] * up * occlusal > 0.0 > button.force_n[1] * up * occlusal
    # lever along mesial x, force along occlusal y: x times y
    assert clamp.moment_nmm[2] * mesial * up * occlusal > 0.0
    assert tip in clamp.orders["second"].words and tip in words_of(result, "molar")
    assert molar in force_words_of(result, "molar") and canine in force_words_of(result, "canine")
    assert words_of(result, "canine").endswith("No couple.")


@pytest.mark.parametrize("quadrant", QUADRANTS)
@pytest.mark.parametrize(
    ("out", "turn", "molar", "canine"),
    [(1.0, "mesial out", "facial", "lingual"), (-1.0, "mesial in", "lingual", "facial")],
)
def test_first_order_of_a_mesial_arm(quadrant: int, out: float, turn: str, molar: str, canine: str) -> None:
    """The canine stands facially of the molar."""
    mesial, _ = QUADRANTS[quadrant]
    result = mesial_arm(quadrant, facial=out)
    clamp, button = result.attachment("molar"), result.attachment("canine")
    assert clamp.force_n[2] * out > 0.0 > button.force_n[2] * out
    # lever along x, force along z: the moment about y is minus their product
    assert clamp.moment_nmm[1] * mesial * out < 0.0
    assert turn in clamp.orders["first"].words and turn in words_of(result, "molar")
    assert molar in force_words_of(result, "molar") and canine in force_words_of(result, "canine")


@pytest.mark.parametrize("quadrant", QUADRANTS)
def test_a_stretched_wire_draws_teeth_together(quadrant: int) -> None:
    """The canine stands 0.01 mm too far mesially: drawn back distally, and the molar mesially."""
    mesial, _ = QUADRANTS[quadrant]
    result = mesial_arm(quadrant, mesial=0.01)
    assert result.attachment("molar").force_n[0] * mesial > 0.0
    assert result.attachment("canine").force_n[0] * mesial < 0.0
    assert "mesial" in force_words_of(result, "molar") and "distal" not in force_words_of(result, "molar")
    assert "distal" in force_words_of(result, "canine") and "mesial" not in force_words_of(result, "canine")


@pytest.mark.parametrize("quadrant", QUADRANTS)
@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize(
    ("pose", "order", "positive", "negative"),
    [
        ("rotation", "first", "mesial in", "mesial out"),
        ("angulation", "second", "distal crown tip", "mesial crown tip"),
        ("inclination", "third", "lingual crown torque", "labial crown torque"),
    ],
)
def test_the_wire_gives_back_what_the_pose_does(
    quadrant: int, sense: float, pose: str, order: str, positive: str, negative: str
) -> None:
    """15 deg is beyond all plays of 0.016 x 0.022 in in 0.018 x 0.025 in, 3 mm wide (5.4 deg in third order)."""
    item = turned_tooth(quadrant, pose, sense * 15.0).attachment("premolar")
    result = item.orders[order]
    said, unsaid = (positive, negative) if sense > 0.0 else (negative, positive)
    assert result.carries_couple
    assert said in result.words and unsaid not in result.words
    assert said in " ".join(item.words)
    # the wire lies towards its own straight pose: what is left of the activation has its sign
    assert result.activation_deg * result.moment_nmm > 0.0
    assert abs(result.engagement_deg) < abs(result.activation_deg)


@pytest.mark.parametrize("pose", ["rotation", "angulation", "inclination"])
def test_all_quadrants_give_the_same_figures(pose: str) -> None:
    """Mirror images of one another: the sizes of the moments agree to 1e-6 of the largest.

    Mirroring from right to left runs the wire the other way and so grades its mesh the other way round.
    """
    sizes = []
    for quadrant in QUADRANTS:
        item = turned_tooth(quadrant, pose, 15.0).attachment("premolar")
        sizes.append([abs(item.orders[order].moment_nmm) for order in ("first", "second", "third")])
    for other in sizes[1:]:
        assert other == pytest.approx(sizes[0], abs=1e-6 * max(sizes[0]))
