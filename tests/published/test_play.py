"""Slot play and critical contact angle as published, and a table of play with rounded corners."""

from __future__ import annotations

import math

import pytest

from geometry.attachments import Slot
from geometry.clearance import clearance
from geometry.section import Rectangle, Round

INCH = 25.4
# So deep that the height alone governs, as in the published tables.
DEEP = 0.100


def third_order_deg(
    slot_height: float, height: float, depth: float, radius: float, slot_depth: float = DEEP
) -> float:
    """Play in degrees of a wire in a closed slot, sizes in inches."""
    section = Rectangle(height * INCH, depth * INCH, radius * INCH)
    play = clearance(section, Slot(slot_height * INCH, slot_depth * INCH, 3.0)).third
    assert play.angle is not None
    return math.degrees(play.angle)


@pytest.mark.parametrize(
    ("slot", "height", "depth", "play"),
    [
        (0.022, 0.019, 0.019, 9.96),
        (0.022, 0.019, 0.022, 8.37),
        (0.022, 0.019, 0.025, 7.24),
        (0.018, 0.018, 0.025, 0.0),
    ],
)
def test_nominal_torque_play(slot: float, height: float, depth: float, play: float) -> None:
    """Papageorgiou et al., Prog. Orthod. 17 (2016) 5, table 6, after Dellinger (1978); full size: none."""
    assert third_order_deg(slot, height, depth, 0.0) == pytest.approx(play, abs=0.01)


# Roots of (h - 2r) cos g + (w - 2r) sin g + 2r = H in degrees, computed independently of this program; the
# sharp column of the 0.022 in slot holds the published 7.24.  No published table with corner radii is known.
# Columns: sharp, edge radius 0.001, 0.002, 0.0025 in, and sharp in a slot 5 % oversize.
ROUNDED = {
    (0.018, 0.016, 0.016): (7.70, 8.91, 10.58, 11.69, 11.64),
    (0.018, 0.016, 0.022): (5.40, 5.96, 6.64, 7.04, 7.98),
    (0.018, 0.017, 0.025): (2.32, 2.53, 2.77, 2.91, 4.48),
    (0.018, 0.018, 0.025): (0.0, 0.0, 0.0, 0.0, 2.09),
    (0.022, 0.016, 0.022): (17.95, 20.02, 22.62, 24.19, 22.09),
    (0.022, 0.017, 0.025): (12.48, 13.64, 15.03, 15.83, 15.61),
    (0.022, 0.018, 0.025): (9.82, 10.72, 11.80, 12.43, 12.82),
    (0.022, 0.019, 0.025): (7.24, 7.90, 8.69, 9.14, 10.13),
    (0.022, 0.019, 0.026): (6.93, 7.53, 8.25, 8.65, 9.68),
    (0.022, 0.020, 0.020): (6.06, 6.78, 7.70, 8.26, 9.76),
    (0.022, 0.021, 0.025): (2.33, 2.54, 2.78, 2.93, 5.00),
    (0.022, 0.0215, 0.028): (1.03, 1.11, 1.20, 1.26, 3.35),
}


@pytest.mark.parametrize(("sizes", "plays"), ROUNDED.items())
def test_torque_play_of_rounded_corners_and_oversize_slots(
    sizes: tuple[float, float, float], plays: tuple[float, ...]
) -> None:
    slot, height, depth = sizes
    cases = [(slot, 0.0), (slot, 0.001), (slot, 0.002), (slot, 0.0025), (1.05 * slot, 0.0)]
    found = [third_order_deg(opening, height, depth, radius) for opening, radius in cases]
    assert found == pytest.approx(plays, abs=0.01)


def test_depth_governs_in_a_closed_shallow_tube() -> None:
    """Sharp 0.017 x 0.025 in in 0.022 x 0.028 in: the same equation with height and depth exchanged."""
    assert third_order_deg(0.022, 0.017, 0.025, 0.0, slot_depth=0.028) == pytest.approx(12.06, abs=0.01)
    assert third_order_deg(0.022, 0.017, 0.025, 0.0) == pytest.approx(12.48, abs=0.01)


@pytest.mark.parametrize(
    ("size", "slot", "width", "exact"),
    [
        (0.016, 0.018, 0.1008, 1.1349),
        (0.016, 0.022, 0.1037, 3.2968),
        (0.018, 0.022, 0.1037, 2.2016),
        (0.019, 0.022, 0.150, 1.1443),
        (0.014, 0.022, 0.130, 3.5099),
    ],
)
@pytest.mark.parametrize("section", ["round", "square"])
def test_critical_contact_angle(section: str, size: float, slot: float, width: float, exact: float) -> None:
    """Kusy & Whitley, Eur. J. Orthod. 21 (1999) 199: 57.32 (1 - SIZE/SLOT)/(WIDTH/SLOT) deg, simplified.

    ``exact`` solves SLOT cos t - WIDTH sin t = SIZE, the same rigid geometry without small angles.
    """
    wire = Round(size * INCH) if section == "round" else Rectangle(size * INCH, size * INCH)
    play = clearance(wire, Slot(slot * INCH, slot * INCH, width * INCH))
    for angle in (play.second.angle, play.first.angle):
        assert angle is not None
        assert math.degrees(angle) == pytest.approx(exact, abs=1e-4)
        assert math.degrees(angle) == pytest.approx(57.32 * (1 - size / slot) / (width / slot), rel=0.01)


def test_torque_is_measured_beyond_the_play_only() -> None:
    """Brauchli et al., Angle Orthod. 82 (2012) 663: slots 0.563 to 0.613 mm high, 0.019 x 0.025 in steel wires.

    10 N mm were reached at 20 to 25 deg, so the play from centred is below 20 deg, with well-rounded edges too; and
    above the nominal 7.24 deg, since all these slots are oversize.
    """
    plays = [
        third_order_deg(height / INCH, 0.019, 0.025, edge)
        for height in (0.563, 0.613)
        for edge in (0.0, 0.0025)
    ]
    assert plays == sorted(plays)
    assert 7.24 < plays[0] and plays[-1] < 20.0


@pytest.mark.parametrize(("slot", "width"), [(0.018, 0.1008), (0.022, 0.1037)])
@pytest.mark.parametrize("size", [0.014, 0.016, 0.018])
def test_critical_contact_angles_stay_below_five_degrees(size: float, slot: float, width: float) -> None:
    """Kusy & Whitley, Angle Orthod. 69 (1999) 71: measured combinations never exceed about 5 deg; the brackets are two
    of their J. Biomed. Mater. Res. 52 (2000) 797.  One-sided, as all critical contact angles."""
    angle = clearance(Round(size * INCH), Slot(slot * INCH, DEEP * INCH, width * INCH)).second.angle
    assert angle is not None and 0.0 <= math.degrees(angle) < 5.0
