"""Teeth in results: where the centre of resistance lies, and the words of an initial tendency."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from cases.casefile import parse_case
from cases.errors import CaseFileError
from cases.force_levels import TEXTBOOK, published_ranges
from cases.schema import AttachmentSpec
from cases.teeth import GIVEN, centre_of, tooth_result
from cases.tooth_results import (
    BODILY,
    CONTROLLED,
    EXTRUSION,
    INTRUSION,
    ROOT,
    ROTATION,
    TURNING,
    UNCONTROLLED,
    ToothResult,
)
from cases.tooth_sizes import default_centre, typical_support
from geometry.attachments import Attachment
from geometry.pose import Pose
from geometry.tooth import Tooth

ARM = 10.0
# Quadrant: sign of mesial along x, sign of occlusal along y.
QUADRANTS = {1: (1, -1), 2: (-1, -1), 3: (-1, 1), 4: (1, 1)}


def spec(tooth: str | None, centre: tuple[float, float, float] | None) -> AttachmentSpec:
    return AttachmentSpec("it", tooth, Attachment("it", "button", Pose.identity(), 0.0), centre)


def loaded(
    tooth: str | None, force: tuple[float, float, float], moment: tuple[float, float, float]
) -> ToothResult:
    """A tooth whose centre of resistance lies ARM gingival of the slot; loads about the slot's centre."""
    occlusal = 1 if tooth is None else Tooth(tooth).occlusal_sign
    found = tooth_result(
        spec(tooth, (0.0, -occlusal * ARM, 0.0)), np.array(force), np.array(moment), np.zeros(3), 1e-9
    )
    assert found is not None
    return found


# M/F in mm for an arm of 10 mm: below 5, 5 to 8, 8 to 12, above 12.  Common practice; from memory.
RATIOS = (-3.0, 0.0, 4.0, 7.0, 10.0, 13.0)
MOVEMENTS = list(zip(RATIOS, (UNCONTROLLED,) * 3 + (CONTROLLED, BODILY, ROOT), strict=True))


@pytest.mark.parametrize("quadrant", QUADRANTS)
@pytest.mark.parametrize(("ratio", "movement"), MOVEMENTS)
@pytest.mark.parametrize("push", [0.8, -0.8])
def test_movements_by_moment_to_force_in_both_views(
    quadrant: int, ratio: float, movement: str, push: float
) -> None:
    """The counter-moment of a mesial force is a distal crown tip, of a facial one a lingual crown torque: by hand."""
    mesial, occlusal = QUADRANTS[quadrant]
    tooth = f"{quadrant}3"
    # a crown pushed mesially is held upright by a moment that tips it distally: about z, mesial * occlusal
    second = loaded(tooth, (mesial * push, 0.0, 0.0), (0.0, 0.0, mesial * occlusal * ratio * push))
    plane = second.planes["second"]
    assert plane.movement == movement and plane.arm_mm == ARM
    assert plane.moment_to_force_mm == pytest.approx(ratio, abs=1e-12)
    assert plane.share_of_arm == pytest.approx(ratio / ARM, abs=1e-12)
    assert f"to {'mesial' if push > 0.0 else 'distal'}" in plane.words
    # a crown pushed facially (+z) is held by a turn of its top (towards occlusal) to lingual: about x, - occlusal
    third = loaded(tooth, (0.0, 0.0, push), (-occlusal * ratio * push, 0.0, 0.0))
    plane = third.planes["third"]
    assert plane.movement == movement
    assert plane.share_of_arm == pytest.approx(ratio / ARM, abs=1e-12)
    assert f"to {'facial' if push > 0.0 else 'lingual'}" in plane.words


def test_a_translation_has_no_moment_about_the_centre_of_resistance() -> None:
    item = loaded("41", (1.0, 0.0, 0.0), (0.0, 0.0, ARM))
    assert item.moment_nmm == (0.0, 0.0, 0.0)
    assert item.planes["second"].words.startswith("bodily movement, to mesial")


@pytest.mark.parametrize(("moment", "words"), [(5.0, "distal crown tip"), (-5.0, "mesial crown tip")])
def test_a_couple_alone_turns_about_the_centre_of_resistance(moment: float, words: str) -> None:
    item = loaded("47", (0.0, 0.0, 0.0), (0.0, 0.0, moment))
    assert item.planes["second"].movement == TURNING and item.planes["second"].share_of_arm is None
    assert words in item.planes["second"].words
    assert len(item.words) == 1
    # almost alone: a force of a hundredth of the moment over the arm changes nothing
    assert (
        loaded("47", (0.01 * moment / ARM, 0.0, 0.0), (0.0, 0.0, moment)).planes["second"].movement == TURNING
    )


def test_a_vertical_force_beside_the_long_axis_counts_as_a_moment() -> None:
    """Intrusion at the slot, 4 mm facial of the long axis, turns the crown facially by 4 N mm for each newton; a
    lingual force of 1 N tips it by 10: so M/F is 4 of 10 against the tipping."""
    found = tooth_result(
        spec("41", (0.0, -ARM, -4.0)), np.array([0.0, -1.0, -1.0]), np.zeros(3), np.zeros(3), 1e-9
    )
    assert found is not None
    assert found.planes["third"].moment_to_force_mm == pytest.approx(4.0)
    assert any("intrusion, 1.00 N" in words for words in found.words)
    assert {one.movement for one in found.published} == {UNCONTROLLED, INTRUSION}


def test_rotation_and_extrusion_are_told() -> None:
    item = loaded(
        "14", (0.0, -1.0, 0.0), (0.0, -8.0, 0.0)
    )  # -y is occlusal above; a turn by - about y is mesial out
    assert item.planes["first"].movement == ROTATION and "mesial out, 8.00 N mm" in item.planes["first"].words
    assert {one.movement for one in item.published} == {ROTATION, EXTRUSION}


def test_without_a_tooth_axes_stand_for_directions_and_nothing_is_published() -> None:
    item = loaded(None, (1.0, 0.0, 0.0), (0.0, 0.0, 0.0))
    assert item.published == () and "to + along the slot" in item.planes["second"].words


def test_nothing_acts_nothing_is_said() -> None:
    item = loaded("11", (0.0, 0.0, 0.0), (0.0, 0.0, 0.0))
    assert item.words == () and all(plane.movement is None for plane in item.planes.values())


def test_published_ranges_name_their_source() -> None:
    """The textbook's figures in gf, from memory; tipping is one kind to it."""
    (one,) = (found for found in published_ranges(UNCONTROLLED) if found.source == TEXTBOOK)
    assert (one.least, one.most) == pytest.approx((0.035 * 9.80665, 0.060 * 9.80665))
    assert published_ranges(TURNING) == ()
    torqued = loaded("11", (0.0, 0.0, 0.0), (12.0, 0.0, 0.0)).published
    assert [(one.least, one.most, one.of_moment) for one in torqued] == [(5.0, 20.0, True)]


def test_the_default_of_an_upper_first_molar_lies_where_it_was_found() -> None:
    """50 upper first molars, finite elements: 7.86 +- 1.66 mm gingival and 4.94 +- 1.39 mm lingual of the middle of the
    buccal face (abstract seen); the slot stands 1 mm in front of it."""
    found = default_centre(Tooth("16"))
    assert found is not None
    _, gingival, lingual = found.from_slot
    assert abs(gingival - 7.86) < 1.66
    assert abs(-lingual - 1.0 - 4.94) < 1.39


def test_defaults_lie_gingival_and_lingual_within_the_published_spread() -> None:
    for quadrant, (_, occlusal) in QUADRANTS.items():
        for place in range(1, 9):
            found = default_centre(Tooth(f"{quadrant}{place}"))
            assert found is not None and found.words.startswith("default: ")
            x, y, z = found.from_slot
            # an arm of about 10 mm is what the usual figures of M/F go by (common practice, no source)
            assert x == 0.0 and z < 0.0 and 6.0 < -occlusal * y < 13.0
    assert default_centre(Tooth("75")) is None and typical_support(Tooth("75")) is None


def test_the_case_goes_before_the_default() -> None:
    assert centre_of(spec("16", (1.0, 2.0, 3.0))) == ((1.0, 2.0, 3.0), GIVEN)
    known = centre_of(spec("16", None))
    assert known is not None and known[1].startswith("default: ")
    assert centre_of(spec(None, None)) is None and centre_of(spec("55", None)) is None


def read(sound_case: str, **after: str) -> tuple[AttachmentSpec, ...]:
    """The case with lines after those of the tube and of the hook."""
    text = sound_case.replace("stop = true", f"stop = true\n{after.get('tube', '')}")
    return parse_case(f"{text}{after.get('hook', '')}\n{after.get('end', '')}", Path("case.toml")).attachments


def test_supports_are_read_with_their_units(sound_case: str) -> None:
    tube, hook = read(
        sound_case,
        tube='support = { along = ["200 N/mm", "rigid", "100 N/mm"], about = ["rigid", "20 Nmm/deg", "rigid"] }',
        hook='support = "typical"',
    )
    assert tube.support is not None and hook.support is not None
    assert tube.support.stiffness == pytest.approx(
        (200.0, math.inf, 100.0, math.inf, 20.0 * 180.0 / math.pi, math.inf)
    )
    assert hook.support.stiffness == typical_support(Tooth("45"))[0]  # type: ignore[index]
    assert "order of magnitude" in hook.support.words


TYPICAL = 'support = "typical"'
STAGE = '[[stage]]\nmove = "hook"\nby = ["1 mm", "0 mm", "0 mm"]'
RIG = '[bench]\nmove = "tube"\nturn = { about_x = "5 deg" }\ngives_way = { along = ["50 N/mm", "rigid", "rigid"] }'


@pytest.mark.parametrize(
    ("tube", "hook", "end", "said"),
    [
        ('support = "soft"', "", "", 'expected "typical" or stiffnesses'),
        ("support = 3", "", "", "expected the support of the tooth as a table"),
        ("support = {}", "", "", "no stiffness is given"),
        ('support = { across = ["1 N/mm", "1 N/mm", "1 N/mm"] }', "", "", 'unknown key "across"'),
        ('support = { along = ["1 N/mm"] }', "", "", "three stiffnesses"),
        ('support = { along = ["0 N/mm", "1 N/mm", "1 N/mm"] }', "", "", "greater than zero"),
        (f'segment = "molars"\n{TYPICAL}', "", "", "no other attachment belongs"),
        ('segment = "all"', 'segment = "all"', "", "nothing says how the segment"),
        (
            'segment = "all"\nsupport = { along = ["1 N/mm", "1 N/mm", "1 N/mm"] }',
            'segment = "all"', "", "none of them rigid",
        ),
        (f'segment = "all"\n{TYPICAL}', 'segment = "all"', STAGE, "cannot move alone"),
        (TYPICAL, "", RIG, "moved by a rig that gives way"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_support_is_told(
    sound_case: str, tube: str, hook: str, end: str, said: str
) -> None:
    with pytest.raises(CaseFileError) as caught:
        read(sound_case, tube=tube, hook=hook, end=end)
    assert said in str(caught.value)
    assert len(caught.value.problems) == 1


def test_a_support_needs_a_tooth_or_a_centre(sound_case: str) -> None:
    bare = sound_case.replace('tooth = "47"\n', "")
    for support in (TYPICAL, 'support = { along = ["1 N/mm", "1 N/mm", "1 N/mm"] }'):
        with pytest.raises(CaseFileError) as caught:
            read(bare, tube=support)
        assert "centre_of_resistance" in str(caught.value) or "permanent tooth" in str(caught.value)
