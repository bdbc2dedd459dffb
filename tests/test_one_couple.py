"""One couple with play: a tube, and a point tie at the end of a long arm, against beam theory derived here.

A round wire of height h runs through a tube of width W and height h + c and on, straight, to a tie at L from the
mouth, which stands d above the tube's axis.  Small deflections, Euler-Bernoulli.

Play.  The wire lies against the upper wall at the near mouth (y = c/2) and the lower wall at the far one
(y = -c/2).  Unbent it would pass the tie at y = c/2 + cL/W = c (L + W/2)/W; only the rest of d bends it.

Two-mouth contact.  A beam on two supports W apart with an overhang L deflects at its tip by FL^2 (L + W)/(3EI):

    F = 3EI (d - c (L + W/2)/W)/(L^2 (L + W)).

At the far mouth the wire's slope against the wall is c/W - MW/(6EI), M = FL.  It stays above zero while
FL < 6EI c/W^2.

Moved in.  Beyond, the wire lies along the lower wall from the far mouth on and leaves it, tangent and with no
moment, at w from the near mouth.  From there the moment grows evenly to M and the wire rises by Mw^2/(6EI) = c,
so w = sqrt(6EI c/M).  The slope at the near mouth is Mw/(2EI):

    d = c/2 + L Mw/(2EI) + FL^3/(3EI).

Shear, l = sqrt(EI/(kGA)), adds the share 3 l^2/(LW) to the compliance and spreads the contact over a layer: where
the wire lies on the wall its section's turn decays as exp(-x/l).  The wire lifts off at w - l with the moment
Vl, V = M/w, and integrating twice from there gives c = V ((w - l)^3 + 3l (w - l)^2)/(6EI).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from cases.results import RunResult
from cases.run import run_case
from tests.case_texts import POISSON, YOUNGS_MODULUS, attachment, case_of, round_wire, straight

DIAMETER = 0.25
BENDING = YOUNGS_MODULUS * math.pi * DIAMETER**4 / 64.0
# sqrt(EI/(kGA)) with k of a round section after Cowper, J. Appl. Mech. 33 (1966) 335.
LAYER = 0.25 * DIAMETER * math.sqrt(2.0 * (1.0 + POISSON) * (7.0 + 6.0 * POISSON) / (6.0 * (1.0 + POISSON)))
ARM = 20.0


def run(width: float, play: float, lift: float, diameter: float = DIAMETER) -> RunResult:
    """The appliance above, engaged; 1 mm of wire stands out behind the tube."""
    return run_case(
        case_of(
            round_wire(diameter),
            [straight(1.0 + width + ARM)],
            "tube",
            attachment("tube", "tube", 1.0 + 0.5 * width, 0.0, slot=(diameter + play, 0.7, width), stop=True),
            attachment("hook", "button", "end", 0.5 * width + ARM, lift),
        )
    )


def tie_force(result: RunResult) -> float:
    """F, N: upwards on the wire, so downwards on the hook."""
    return -result.attachment("hook").force_n[1]


def used_by_play(width: float, play: float) -> float:
    """Lift of the tie (mm) that the play takes, small angles."""
    return play * (ARM + 0.5 * width) / width


def lower_wall(result: RunResult) -> tuple[float, float]:
    """Sum (N) and centre (mm along the slot) of the lower wall's forces."""
    rows = [c for c in result.attachment("tube").contacts if c.wall == "lower wall"]
    normal = np.array([c.normal_force_n for c in rows])
    return float(normal.sum()), float(np.average([c.offset_mm for c in rows], weights=normal))


TWO_MOUTHS = [
    (2.0, 0.02, 0.8),
    (3.0, 0.02, 0.5),
    (3.0, 0.05, 1.2),
    (4.0, 0.05, 1.0),
    (4.0, 0.02, 0.6),
    (6.0, 0.1, 1.2),
]


@pytest.mark.parametrize(("width", "play", "lift"), TWO_MOUTHS)
def test_two_mouths(width: float, play: float, lift: float) -> None:
    """Within 1 %, where what the formula leaves out is below half of that, all of it added up."""
    bent = lift - used_by_play(width, play)
    force = 3.0 * BENDING * bent / (ARM**2 * (ARM + width))
    assert bent > 0.4 * lift and force * ARM < 6.0 * BENDING * play / width**2
    tilt = play / width
    shear = 3.0 * LAYER**2 / (ARM * width)
    # a tilted wire is higher, h/cos t against h: so much of the play is gone
    higher = DIAMETER * tilt**2 / 2.0 * (ARM + 0.5 * width) / width / bent
    slope = (1.5 * lift / ARM) ** 2 / 2.0
    assert shear + higher + slope < 5e-3
    result = run(width, play, lift)
    assert result.status == "engaged"
    assert tie_force(result) == pytest.approx(force, rel=0.01)


MOVED_IN = [(4.0, 0.005, 1.0), (4.0, 0.005, 0.5), (4.0, 0.010, 1.2), (6.0, 0.010, 0.8), (4.0, 0.008, 0.7)]


def moved_in_force(play: float, lift: float) -> tuple[float, float]:
    """F (N) and w (mm) of the self-consistent equation."""

    def arm_of(force: float) -> float:
        return math.sqrt(6.0 * BENDING * play / (force * ARM))

    def too_high(force: float) -> float:
        moment = force * ARM
        return (
            0.5 * play
            + ARM * moment * arm_of(force) / (2.0 * BENDING)
            + force * ARM**3 / (3.0 * BENDING)
            - lift
        )

    force = brentq(too_high, 1e-9, 10.0)
    return force, arm_of(force)


@pytest.mark.parametrize(("width", "play", "lift"), MOVED_IN)
def test_contact_moves_in(width: float, play: float, lift: float) -> None:
    """Force and couple's arm within 1 %; and against the sheared layer, the contact within 0.4 %.

    Shear lengthens the arm by about 3/2 (l/w)^2, 0.3 % for the shortest arm here.
    """
    force, arm = moved_in_force(play, lift)
    assert force * ARM > 6.0 * BENDING * play / width**2 and arm < 0.95 * width
    assert 1.5 * (LAYER / arm) ** 2 < 4e-3
    result = run(width, play, lift)
    assert tie_force(result) == pytest.approx(force, rel=0.01)
    pressed, centre = lower_wall(result)
    found = tie_force(result) * ARM / pressed
    assert found == pytest.approx(arm, rel=0.01)
    assert 0.5 * width - centre == pytest.approx(arm, rel=0.01)

    def gap(w: float) -> float:
        shear_force = tie_force(result) * ARM / w
        free = w - LAYER
        return shear_force * (free**3 + 3.0 * LAYER * free**2) / (6.0 * BENDING) - play

    assert found == pytest.approx(brentq(gap, 2.0 * LAYER, 2.0 * width), rel=4e-3)


def test_the_formulas_meet() -> None:
    """At F L = 6 EI c/W^2 both formulas say the same: the derivation checks itself."""
    width, play = 4.0, 0.005
    force = 6.0 * BENDING * play / width**2 / ARM
    lift = used_by_play(width, play) + force * ARM**2 * (ARM + width) / (3.0 * BENDING)
    assert moved_in_force(play, lift) == pytest.approx((force, width), rel=1e-9)


@pytest.mark.parametrize("diameter", [0.25, 0.4064])
@pytest.mark.parametrize(("width", "play", "lift"), [(4.0, 0.002, 0.5), *MOVED_IN])
def test_a_wire_pressed_along_a_wall_is_stable(
    width: float, play: float, lift: float, diameter: float
) -> None:
    """A beam pressed on a plane wall by one tie is a convex problem: its energy is a minimum.

    The round wire's roll is a motion without stiffness, and rounding must not make an instability of it.
    """
    result = run(width, play, lift, diameter=diameter)
    assert result.status == "engaged"
    assert not any("unstable" in words for words in result.status_words)


def tilt_in_play(width: float, play: float) -> float:
    """Tilt (rad) of a straight wire on the edges of both mouths, H cos t - W sin t = h.

    The exact form of the critical contact angle of Kusy & Whitley, Eur J Orthod 21 (1999) 199.
    """
    height = DIAMETER + play
    return float(
        brentq(lambda t: height * math.cos(t) - width * math.sin(t) - DIAMETER, 0.0, 0.5, xtol=1e-15)
    )


@pytest.mark.parametrize(("width", "play"), [(3.0, 0.1), (4.0, 0.05), (2.0, 0.02)])
def test_no_force_until_the_play_is_used_up(width: float, play: float) -> None:
    """Exactly none 0.1 micrometre below; 3 micrometres above, the force that bends the wire by these, within 1 %.

    The wire tilts about the slot's centre and is held there, so the tie's border is (L + W/2) sin t.
    """
    border = math.sin(tilt_in_play(width, play)) * (ARM + 0.5 * width)
    before, after = run(width, play, border - 1e-4), run(width, play, border + 3e-3)
    assert before.status == "passive"
    for item in before.attachments:
        assert item.force_n == (0.0, 0.0, 0.0)
        assert item.moment_nmm == (0.0, 0.0, 0.0)
        assert not item.contacts
        assert not any(order.carries_couple for order in item.orders.values())
        assert item.words == ("No force and no couple.",)
    assert after.status == "engaged"
    expected = 3.0 * BENDING * 3e-3 / (ARM**2 * (ARM + width))
    assert tie_force(after) == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize(("width", "play", "lift"), [(3.0, 0.02, 0.5), (4.0, 0.005, 1.0)])
def test_force_and_couple_on_the_tube(width: float, play: float, lift: float) -> None:
    """Statics: the tube feels the opposite force and, about the near mouth, the couple F L; the hook no couple."""
    result = run(width, play, lift)
    tube, hook = result.attachment("tube"), result.attachment("hook")
    force = tie_force(result)
    assert tube.force_n[1] == pytest.approx(force, rel=1e-6)
    assert hook.moment_nmm == (0.0, 0.0, 0.0)
    # about the slot centre, from the very point that the hook holds
    lever = np.subtract(hook.moment_about_mm, tube.moment_about_mm)
    assert tube.moment_nmm == pytest.approx(-np.cross(lever, hook.force_n), rel=1e-6, abs=1e-7)
    about_mouth = tube.moment_nmm[2] - 0.5 * width * tube.force_n[1]
    assert about_mouth == pytest.approx(force * ARM, rel=2e-3)  # the arm shortens by d^2/L at most
    (mouth,) = (m for m in tube.mouths if m.place == "end")
    assert mouth.moment_nmm[2] == pytest.approx(force * ARM, rel=2e-3)
    assert {name: order.carries_couple for name, order in tube.orders.items()} == {
        "first": False,
        "second": True,
        "third": False,
    }
    assert not any(order.carries_couple for order in hook.orders.values())
    assert tube.orders["second"].stopping_walls == ("upper wall", "lower wall")
    assert tube.orders["second"].play_left_deg == 0.0
