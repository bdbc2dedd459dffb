"""Measured torsional play and engagement angles beside the closed form: what slots and edges they ask for.

Measured plays exceed the play of nominal sizes, which Dellinger's equation (``test_play.py``) gives, because slots
are cut larger than their name and wires have rounded edges.  How large, others have measured:

* ten nominal 0.018 in (0.457 mm) slots: 0.470 to 0.481 mm, mean 0.476 mm (Meling et al., Am. J. Orthod. Dentofacial
  Orthop. 113 (1998) 387);
* nine nominal 0.022 in (0.559 mm) slots: 0.563 to 0.613 mm (Brauchli et al., Angle Orthod. 82 (2012) 663).

Edge radii of 0.001 to 0.003 in are common practice (no source).  The papers were known by their abstracts and by what
others quote of them.
"""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from geometry.attachments import Slot
from geometry.clearance import clearance, third_order_play
from geometry.section import Rectangle

INCH = 25.4
EDGES = (0.001, 0.002, 0.003)
# Least and largest measured height over the nominal one, from both papers above.
LEAST, LARGEST = 0.563 / 0.5588, 0.613 / 0.5588
MEASURED_018 = (0.470, 0.476, 0.481)


def one_sided(slot_mm: float, height: float, depth: float, edge: float = 0.0) -> float:
    """Third-order play (deg) by height alone; the wire in inches.  180 where the wire turns freely."""
    section = Rectangle(height * INCH, depth * INCH, edge * INCH)
    angle = clearance(section, Slot(slot_mm, 0.7, 3.0), "open").third.angle
    return 180.0 if angle is None else math.degrees(angle)


@pytest.mark.parametrize(
    ("slot", "height", "depth", "measured"),
    [
        (0.018, 0.016, 0.016, 31.0),
        (0.018, 0.018, 0.025, 4.6),
        (0.022, 0.018, 0.025, 18.0),
        (0.022, 0.021, 0.025, 6.0),
        # between brackets that close by a rigid slide
        (0.022, 0.019, 0.025, 14.0),
    ],
)
def test_reviewed_engagement_angles_lie_between_the_play_of_measured_slots(
    slot: float, height: float, depth: float, measured: float
) -> None:
    """Archambault et al., Angle Orthod. 80 (2010) 201, a systematic review: engagement angles, read as one-sided: as a
    total the 18 deg would be less than the nominal 2 x 9.82 deg.

    Each lies above the nominal play with sharp edges, and edges of 0.003 in ask for a slot that is larger than its name
    by a share that has been measured.  31 deg asks for the largest, 9.6 %: near its diagonal a square wire of that
    size turns much further for every micrometre.
    """
    nominal = slot * INCH
    assert one_sided(nominal, height, depth) < measured

    def over(factor: float) -> float:
        return one_sided(factor * nominal, height, depth, 0.003) - measured

    factor = float(brentq(over, 1.0, 1.12, xtol=1e-12))
    assert LEAST < factor < LARGEST


def test_the_reviewed_angle_of_active_clips_is_the_nominal_one() -> None:
    """Archambault et al. (2010): 0.019 x 0.025 in in 0.022 in slots with active clips, about 7.5 deg, one-sided.

    A clip presses on the wire before the walls do, so less than the play of real slots is found, 9.5 deg in one 4 %
    over its name; that the figure is near the nominal 7.24 deg is chance.
    """
    nominal = 0.022 * INCH
    assert one_sided(nominal, 0.019, 0.025) == pytest.approx(7.24, abs=0.01)
    assert 7.24 < 7.5 < one_sided(1.04 * nominal, 0.019, 0.025)


def test_total_play_of_a_working_wire() -> None:
    """Meling, Odegaard & Meling, Am. J. Orthod. Dentofacial Orthop. 111 (1997) 310: 0.016 x 0.022 in steel in a
    0.018 in slot, play of 16.6 to 20.4 deg, mean 18.5.

    The abstract does not say whether one way or both.  One-sided, no measured slot explains it; as a total the mean is
    that of the mean slot of 1998 with edges of 0.002 in, and the range lies within what these slots and edges
    give.  With sharp edges it lies within that of slots 5 to 10 % over their name.
    """
    totals = [2.0 * one_sided(slot, 0.016, 0.022, edge) for slot in MEASURED_018 for edge in EDGES]
    assert min(totals) < 16.6 and 20.4 < max(totals)
    assert max(totals) / 2.0 < 16.6
    assert 2.0 * one_sided(0.476, 0.016, 0.022, 0.002) == pytest.approx(18.5, abs=0.05)
    assert 2.0 * one_sided(1.05 * 0.018 * INCH, 0.016, 0.022) < 16.6
    assert 2.0 * one_sided(1.10 * 0.018 * INCH, 0.016, 0.022) > 20.4


@pytest.mark.parametrize(("height", "depth", "measured"), [(0.016, 0.022, 20.0), (0.018, 0.025, 5.0)])
def test_play_from_the_smallest_to_the_full_size_wire(height: float, depth: float, measured: float) -> None:
    """Odegaard, Meling & Meling, Am. J. Orthod. Dentofacial Orthop. 105 (1994) 392: about 5 deg (0.018 x 0.025 in) to
    about 20 deg (0.016 x 0.022 in) in 0.018 in slots; read as totals, as the same authors' 18.5 deg must be.

    Nominally the full-size wire has none at all: all of its play is the slot's excess.
    """
    totals = [2.0 * one_sided(slot, height, depth, edge) for slot in MEASURED_018 for edge in EDGES]
    assert min(totals) < measured < max(totals)
    assert 2.0 * one_sided(0.018 * INCH, height, depth) < min(totals)


def test_mean_excess_of_measured_slots() -> None:
    """Meling et al. (1998): 0.476 mm is 4 % over 0.018 in, so a full-size wire has 1.7 deg of play each way.

    To first order that is the excess over the wire's depth.
    """
    excess = 0.476 - 0.018 * INCH
    assert excess / (0.018 * INCH) == pytest.approx(0.04, abs=0.002)
    expected = math.degrees(excess / (0.025 * INCH))
    assert one_sided(0.476, 0.018, 0.025) == pytest.approx(expected, rel=0.02)


def test_angulation_eats_torque_play() -> None:
    """0.019 x 0.025 in in a slot of 0.022 in, 0.130 in wide: 7.24 deg (Papageorgiou et al., Prog. Orthod. 17 (2016) 5)
    fall to 1.69 deg, one-sided, at 1 deg of angulation.

    The second figure is no measurement: it is computed from the same equation with the height seen through the
    mouths, H cos t - W sin t, here solved by bisection.
    """
    section, slot = Rectangle(0.019 * INCH, 0.025 * INCH), Slot(0.022 * INCH, 0.7, 0.130 * INCH)
    tilt = math.radians(1.0)
    left = third_order_play(section, slot, second_tilt=tilt).angle
    seen = 0.022 * math.cos(tilt) - 0.130 * math.sin(tilt)
    expected = brentq(lambda g: 0.019 * math.cos(g) + 0.025 * math.sin(g) - seen, 0.0, 0.5, xtol=1e-14)
    assert left == pytest.approx(expected, abs=1e-12)
    assert math.degrees(expected) == pytest.approx(1.69, abs=0.005)
    alone = third_order_play(section, slot).angle
    assert alone is not None and math.degrees(alone) == pytest.approx(7.24, abs=0.005)
