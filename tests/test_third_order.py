"""Third order through whole cases: torque after the play, plays that add, what round wires do, senses in words.

Torque of a free span of length L between two attachments, mouth to mouth, turned against each other by an
angle: T = GJ/L (angle - play A - play B) beyond the plays and none inside them (Saint-Venant torsion; inside
a slot the wire lies against its walls over the whole width and turns no further).  J of a sharp rectangle by
the series of Timoshenko & Goodier, Theory of Elasticity (3rd ed.), art. 109.
"""

from __future__ import annotations

import math

import pytest

from cases.casefile import LIBRARY, load_case
from cases.results import RunResult
from cases.run import run_case
from cases.schema import Case
from tests.case_texts import INCH, SHEAR_MODULUS, attachment, case_of, edgewise, round_wire, straight

WIDTH, SPAN = 3.0, 5.0
Slot = tuple[float, float, float]
SLOT_018: Slot = (0.018 * INCH, 0.025 * INCH, WIDTH)
SLOT_022: Slot = (0.022 * INCH, 0.028 * INCH, WIDTH)


def torsion_constant(height: float, depth: float) -> float:
    """J (mm^4) = (1/3) a^3 b (1 - 192 a/(pi^5 b) sum over odd n of tanh(n pi b/(2a))/n^5), a the short side."""
    a, b = sorted((height, depth))
    series = sum(math.tanh(n * math.pi * b / (2.0 * a)) / n**5 for n in range(1, 200, 2))
    return a**3 * b / 3.0 * (1.0 - 192.0 * a / (math.pi**5 * b) * series)


def play_deg(height: float, depth: float, slot_height: float) -> float:
    """g (deg) from h cos g + w sin g = H: a sharp wire between the height walls, one-sided from centred."""
    return math.degrees(math.asin(slot_height / math.hypot(height, depth)) - math.atan2(height, depth))


def between_brackets(section: str, angle: float, slot_a: Slot = SLOT_022, slot_b: Slot = SLOT_022) -> Case:
    """Two brackets SPAN from mouth to mouth, the second turned by ``angle`` (deg) about x."""
    return case_of(
        section,
        [straight(SPAN + 2.0 * WIDTH + 2.0)],
        "A",
        attachment("A", "bracket", 1.0 + 0.5 * WIDTH, 0.0, slot=slot_a, stop=True),
        attachment("B", "bracket", 1.0 + 1.5 * WIDTH + SPAN, SPAN + WIDTH, slot=slot_b, about_x=angle),
    )


def from_clamp(section: str, angle: float, slot: Slot = SLOT_022) -> Case:
    """A clamp, SPAN of wire, and a bracket turned by ``angle`` (deg) about x."""
    return case_of(
        section,
        [straight(SPAN + WIDTH + 1.0)],
        "A",
        attachment("A", "clamp", "start", 0.0, stop=True),
        attachment("B", "bracket", SPAN + 0.5 * WIDTH, SPAN + 0.5 * WIDTH, slot=slot, about_x=angle),
    )


def torque(result: RunResult, name: str = "B") -> float:
    """Third-order moment on an attachment, N mm."""
    return result.attachment(name).orders["third"].moment_nmm


@pytest.mark.parametrize("angle", [0.0, 3.0, -7.0, 14.3])
def test_no_torque_inside_both_plays(angle: float) -> None:
    """0.019 x 0.025 in in 0.022 in: 7.24 deg at each bracket."""
    result = run_case(between_brackets(edgewise(0.019 * INCH, 0.025 * INCH), angle))
    assert result.status == "passive"
    for item in result.attachments:
        assert item.force_n == (0.0, 0.0, 0.0)
        assert item.moment_nmm == (0.0, 0.0, 0.0)
        assert not item.orders["third"].carries_couple


def test_no_torque_inside_one_play() -> None:
    result = run_case(from_clamp(edgewise(0.019 * INCH, 0.025 * INCH), 7.2))
    for item in result.attachments:
        assert item.force_n == (0.0, 0.0, 0.0)
        assert item.moment_nmm == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("height", "depth", "slot_a", "slot_b"),
    [(0.019, 0.025, 0.022, 0.022), (0.016, 0.022, 0.018, 0.018), (0.017, 0.025, 0.018, 0.022)],
)
@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_plays_add(height: float, depth: float, slot_a: float, slot_b: float, sense: float) -> None:
    """GJ/L (angle - play A - play B) within 0.1 %, 8 deg beyond the plays; sizes in inches, unequal slots too.

    The slots are 0.035 in deep, so that their heights alone govern.
    """
    slots = [(size * INCH, 0.035 * INCH, WIDTH) for size in (slot_a, slot_b)]
    plays = [play_deg(height, depth, size) for size in (slot_a, slot_b)]
    angle = sense * (sum(plays) + 8.0)
    result = run_case(between_brackets(edgewise(height * INCH, depth * INCH), angle, *slots))
    assert result.status == "engaged"
    expected = (
        -sense * SHEAR_MODULUS * torsion_constant(height * INCH, depth * INCH) / SPAN * math.radians(8.0)
    )
    # the bracket turns the wire along with it, and the wire turns the bracket back
    assert torque(result) == pytest.approx(expected, rel=1e-3)
    assert torque(result, "A") == pytest.approx(-expected, rel=1e-3)
    for item, play in zip(result.attachments, plays, strict=True):
        third = item.orders["third"]
        assert third.play_deg == pytest.approx(play, abs=1e-6)
        assert abs(third.engagement_deg) == pytest.approx(play, abs=1e-3)
        assert third.play_left_deg == 0.0 and third.carries_couple
        assert third.stopping_walls == ("upper wall", "lower wall")
        for mouth in item.mouths:
            outside = (item.name, mouth.place) in (("A", "end"), ("B", "start"))
            assert mouth.moment_nmm[0] == pytest.approx(third.moment_nmm if outside else 0.0, abs=1e-6)


@pytest.mark.parametrize("angle", [12.0, -12.0, 40.0])
def test_one_play_from_a_clamp(angle: float) -> None:
    result = run_case(from_clamp(edgewise(0.019 * INCH, 0.025 * INCH), angle))
    twist = math.radians(abs(angle) - play_deg(0.019, 0.025, 0.022))
    expected = SHEAR_MODULUS * torsion_constant(0.019 * INCH, 0.025 * INCH) / SPAN * twist
    assert torque(result) == pytest.approx(-math.copysign(expected, angle), rel=1e-3)
    assert torque(result, "A") == pytest.approx(math.copysign(expected, angle), rel=1e-3)


def test_the_number_of_stations_does_not_matter() -> None:
    """5, 9 and 17 stations a slot, within 1e-4: the torque enters at the mouth, where there is always one."""
    case = between_brackets(edgewise(0.019 * INCH, 0.025 * INCH), 25.0)
    few, some, many = (torque(run_case(case, stations=count)) for count in (5, 9, 17))
    assert few < 0.0
    assert some == pytest.approx(few, rel=1e-4)
    assert many == pytest.approx(few, rel=1e-4)
    assert torque(run_case(case)) == pytest.approx(few, rel=1e-4)


def torque_starts_at(section: str, slot: Slot, near: float, far: float) -> float:
    """Angle (deg) at which two solved torques, at ``near`` and ``far``, extrapolate to nought."""
    low, high = (
        torque(run_case(from_clamp(section, near, slot))),
        torque(run_case(from_clamp(section, far, slot))),
    )
    assert low < 0.0 and high < low
    return near - low * (far - near) / (high - low)


@pytest.mark.parametrize(
    ("height", "depth", "published"), [(0.019, 0.019, 9.96), (0.019, 0.022, 8.37), (0.019, 0.025, 7.24)]
)
def test_published_play_found_by_the_solver(height: float, depth: float, published: float) -> None:
    """Papageorgiou et al., Prog Orthod 17 (2016) 5, table 6, after Dellinger (1978): to its last digit."""
    section = edgewise(height * INCH, depth * INCH)
    assert torque_starts_at(section, SLOT_022, published + 2.0, published + 6.0) == pytest.approx(
        published, abs=0.01
    )


def test_play_governed_by_the_depth_found_by_the_solver() -> None:
    """Sharp 0.017 x 0.025 in in a closed 0.022 x 0.028 in tube: 12.06 deg, not the 12.48 of the height.

    w cos g + h sin g = D, the same geometry turned by a quarter: 12.06 deg.
    """
    start = torque_starts_at(edgewise(0.017 * INCH, 0.025 * INCH), SLOT_022, 14.0, 18.0)
    assert start == pytest.approx(play_deg(0.025, 0.017, 0.028), abs=0.01)
    assert start == pytest.approx(12.06, abs=0.01)
    stopped = run_case(from_clamp(edgewise(0.017 * INCH, 0.025 * INCH), 18.0)).attachment("B")
    assert stopped.orders["third"].stopping_walls == ("floor", "outer wall")
    assert {contact.wall for contact in stopped.contacts} == {"floor", "outer wall"}


@pytest.mark.parametrize("angle", [20.0, 89.0, -170.0])
def test_a_round_wire_gives_no_torque_and_turns_freely(angle: float) -> None:
    result = run_case(between_brackets(round_wire(0.018 * INCH), angle))
    assert result.status == "passive"
    for item in result.attachments:
        third = item.orders["third"]
        assert item.moment_nmm == (0.0, 0.0, 0.0) and item.force_n == (0.0, 0.0, 0.0)
        assert third.turns_freely and third.play_deg is None and third.play_left_deg is None
        assert not third.carries_couple and "turns freely" in third.words


def test_a_small_square_wire_turns_freely_too() -> None:
    """0.012 x 0.012 in in 0.018 in: its diagonal, 0.01697 in, clears the slot."""
    square = edgewise(0.012 * INCH, 0.012 * INCH)
    result = run_case(between_brackets(square, 60.0, SLOT_018, SLOT_018))
    for item in result.attachments:
        assert item.orders["third"].turns_freely
        assert item.moment_nmm == (0.0, 0.0, 0.0)


# Quadrant: two incisors in their order along +x (mesial is +x on the patient's right, at the viewer's left).
INCISORS = {1: ("12", "11"), 2: ("21", "22"), 3: ("31", "32"), 4: ("42", "41")}


@pytest.mark.parametrize("quadrant", INCISORS)
@pytest.mark.parametrize("inclination", [20.0, -20.0])
def test_the_wire_takes_inclination_back(quadrant: int, inclination: float) -> None:
    """A crown that leans labially is turned lingually by a level wire, its neighbour labially; both arches alike.

    By hand: labial crown torque takes the crown (occlusal, -y above, +y below) to +z, so it is a turn about
    -x above and about +x below.
    """
    level, leaning = INCISORS[quadrant]
    result = run_case(
        case_of(
            edgewise(0.019 * INCH, 0.025 * INCH),
            [straight(SPAN + 2.0 * WIDTH + 2.0)],
            level,
            attachment(level, "bracket", 1.0 + 0.5 * WIDTH, 0.0, slot=SLOT_022, stop=True, tooth=level),
            attachment(
                leaning,
                "bracket",
                1.0 + 1.5 * WIDTH + SPAN,
                SPAN + WIDTH,
                slot=SLOT_022,
                tooth=leaning,
                inclination=inclination,
            ),
        )
    )
    labial = -1.0 if quadrant in (1, 2) else 1.0
    turned_back = torque(result, leaning)
    assert turned_back * labial * inclination < 0.0
    assert torque(result, level) == pytest.approx(-turned_back, rel=1e-6)
    words = {True: "lingual crown torque", False: "labial crown torque"}
    assert words[inclination > 0.0] in result.attachment(leaning).orders["third"].words
    assert words[inclination < 0.0] in result.attachment(level).orders["third"].words
    assert any(words[inclination > 0.0] in sentence for sentence in result.attachment(leaning).words)


def test_a_round_wire_has_no_angle_of_engagement_in_third_order() -> None:
    """It turns freely there, so that any angle is as good (geometry); in the other orders it has one."""
    result = run_case(load_case(LIBRARY / "torque-round-wire.toml"))
    for item in result.attachments:
        assert item.orders["third"].engagement_deg is None and item.orders["third"].turns_freely
        assert item.orders["first"].engagement_deg is not None
        assert item.orders["second"].engagement_deg is not None
