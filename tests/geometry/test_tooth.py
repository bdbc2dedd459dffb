"""Signs and words in four quadrants and three orders, by following points of an explicit tooth.

The tooth is written down here by what a viewer facing the patient sees: nothing of the sign rules under test
is used.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.pose import Pose
from geometry.tooth import (
    NO_FORCE,
    NO_MOMENT,
    Tooth,
    angles_from_tooth_words,
    force_words,
    moment_words,
    tooth_words_from_angles,
)

# Facial view: the patient's right is on the viewer's left, so the midline lies to the viewer's right (+x) of
# teeth on the patient's right.  Upper crowns point down (-y), lower ones up.
MESIAL = {"16": (1, 0, 0), "23": (-1, 0, 0), "37": (-1, 0, 0), "45": (1, 0, 0)}
CROWN = {"16": (0, -1, 0), "23": (0, -1, 0), "37": (0, 1, 0), "45": (0, 1, 0)}
FACIAL = np.array((0, 0, 1))
TEETH = sorted(MESIAL)


def turned(point: tuple[int, ...], about_y: float, about_z: float, about_x: float) -> np.ndarray:
    return Rotation.from_euler("YZX", (about_y, about_z, about_x), degrees=True).apply(point)


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("number", TEETH)
def test_rotation_turns_the_mesial_side_out(number: str, sense: int) -> None:
    mesial = turned(MESIAL[number], *angles_from_tooth_words(number, rotation=10.0 * sense))
    assert mesial @ FACIAL == pytest.approx(sense * np.sin(np.radians(10)))


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("number", TEETH)
def test_angulation_tips_the_crown_mesially(number: str, sense: int) -> None:
    crown = turned(CROWN[number], *angles_from_tooth_words(number, angulation=10.0 * sense))
    assert crown @ MESIAL[number] == pytest.approx(sense * np.sin(np.radians(10)))


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("number", TEETH)
def test_inclination_moves_the_crown_facially(number: str, sense: int) -> None:
    crown = turned(CROWN[number], *angles_from_tooth_words(number, inclination=10.0 * sense))
    assert crown @ FACIAL == pytest.approx(sense * np.sin(np.radians(10)))


@pytest.mark.parametrize("number", TEETH)
@pytest.mark.parametrize("sense", [1, -1])
def test_words_of_a_moment_say_where_the_point_goes(number: str, sense: int) -> None:
    """A small turn about e moves a point p by e x p."""
    out = np.cross((0, sense, 0), MESIAL[number]) @ FACIAL
    tip = np.cross((0, 0, sense), CROWN[number]) @ MESIAL[number]
    torque = np.cross((sense, 0, 0), CROWN[number]) @ FACIAL
    assert moment_words(number, "first", 2.5 * sense) == ("mesial out" if out > 0 else "mesial in")
    assert moment_words(number, "second", 2.5 * sense) == (
        "mesial crown tip" if tip > 0 else "distal crown tip"
    )
    assert moment_words(number, "third", 2.5 * sense) == (
        "labial crown torque" if torque > 0 else "lingual crown torque"
    )


@pytest.mark.parametrize("number", TEETH)
def test_words_of_a_force_say_where_it_pushes(number: str) -> None:
    towards = np.array(MESIAL[number]) + CROWN[number] + FACIAL
    assert force_words(number, tuple(towards)) == ("mesial", "extrusion", "facial")
    assert force_words(number, tuple(-towards)) == ("distal", "intrusion", "lingual")


def test_no_load_has_no_direction() -> None:
    assert force_words("11", (0.0, 0.0, 0.0)) == (NO_FORCE, NO_FORCE, NO_FORCE)
    assert [moment_words("11", order, 0.0) for order in ("first", "second", "third")] == [NO_MOMENT] * 3


def test_an_arm_pushed_up_tips_the_lower_right_molar_distally() -> None:
    """A hook pushing up on the mesial end of a wire in the tube turns the crown to -x: distal."""
    moment = np.cross((22, 0, 0), (0, 0.5, 0))
    assert moment[2] > 0 and moment_words("47", "second", float(moment[2])) == "distal crown tip"


@pytest.mark.parametrize("number", TEETH)
def test_words_and_angles_go_there_and_back(number: str) -> None:
    words = (3.0, -7.0, 12.0)
    assert tooth_words_from_angles(number, *angles_from_tooth_words(number, *words)) == words


@pytest.mark.parametrize(
    ("number", "mirror"), [("16", (1, 1, 1)), ("26", (-1, 1, 1)), ("36", (-1, -1, 1)), ("46", (1, -1, 1))]
)
def test_the_same_words_make_mirror_images_in_all_quadrants(
    number: str, mirror: tuple[int, int, int]
) -> None:
    """All three angles at once, and large: the pose of 16 mirrored in the midline or the occlusal plane."""
    words = {"rotation": 0.5, "angulation": -0.8, "inclination": 1.2}
    pose, first = (Pose.from_angles((0, 0, 0), *angles_from_tooth_words(n, **words)) for n in (number, "16"))
    np.testing.assert_allclose(pose.axes, np.diag(mirror) @ first.axes @ np.diag(mirror), atol=1e-15)


@pytest.mark.parametrize(
    ("number", "name", "quadrant", "arch"),
    [
        ("11", "upper right central incisor", 1, "upper"),
        ("23", "upper left canine", 2, "upper"),
        ("37", "lower left second molar", 3, "lower"),
        ("45", "lower right second premolar", 4, "lower"),
        ("48", "lower right third molar", 4, "lower"),
        ("54", "upper right deciduous first molar", 1, "upper"),
        ("85", "lower right deciduous second molar", 4, "lower"),
    ],
)
def test_fdi_numbers(number: str, name: str, quadrant: int, arch: str) -> None:
    """ISO 3950: quadrants 1 to 4 permanent, 5 to 8 deciduous, teeth counted from the midline."""
    tooth = Tooth(number)
    assert (tooth.name, tooth.quadrant, tooth.arch) == (name, quadrant, arch)
    assert tooth.deciduous == (number[0] in "5678")
    assert angles_from_tooth_words(tooth, 1.0) == angles_from_tooth_words(number, 1.0)


@pytest.mark.parametrize(
    "number", ["", "1", "10", "19", "49", "56", "86", "91", "08", "111", "UR6", "4 7", "١١"]
)
def test_unknown_teeth_are_refused(number: str) -> None:
    with pytest.raises(ValueError, match="FDI number"):
        Tooth(number)


def test_unknown_orders_are_refused() -> None:
    with pytest.raises(ValueError, match="first, second or third"):
        moment_words("11", "fourth", 1.0)  # type: ignore[arg-type]
