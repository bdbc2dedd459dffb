"""How forces and couples follow the span: 1/L^3, 1/L^2, 1/L.

Linear beams of built-in ends (Gere & Timoshenko, Mechanics of Materials, tables of beams; from memory): an offset d
costs 12 EI d/L^3 and 6 EI d/L^2, a turn 4 EI t/L at the turned end and half of it at the other, a twist GJ t/L; a tip
tied at d, 3 EI d/L^3.  A bracket between two others, displaced by d, gets twice what one span gives: 24 EI d/L^3
where all three hold the wire's direction, 6 EI d/L^3 where its neighbours hold points.  So a span halved multiplies
the force of an offset by 8, its couple by 4, and the couple of an angle and the torque by 2.

0.15 mm round wire over 10 and 20 mm: shear, 12 (l/L)^2, is below 0.1 % and 1 mm in 100 is small.  0.2 %.
"""

from __future__ import annotations

import math

import pytest

from cases.results import RunResult
from cases.run import run_case
from tests.case_texts import SHEAR_MODULUS, YOUNGS_MODULUS, attachment, case_of, round_wire, straight

DIAMETER = 0.15
SECOND_MOMENT = math.pi * DIAMETER**4 / 64.0
BENDING, TORSION = YOUNGS_MODULUS * SECOND_MOMENT, SHEAR_MODULUS * 2.0 * SECOND_MOMENT
SPANS = (10.0, 20.0)
STEP, TURN = 0.1, 1.0


def clamped(span: float, offset: float = 0.0, **angles: float) -> RunResult:
    """A wire between two clamps; the second is moved up and turned (deg)."""
    return run_case(
        case_of(
            round_wire(DIAMETER),
            [straight(span)],
            "A",
            attachment("A", "clamp", "start", 0.0, stop=True),
            attachment("B", "clamp", "end", span, offset, **angles),
        )
    )


@pytest.mark.parametrize("span", SPANS)
def test_an_offset_between_built_in_ends(span: float) -> None:
    first = clamped(span, STEP).attachments[0]
    assert first.force_n[1] == pytest.approx(12.0 * BENDING * STEP / span**3, rel=2e-3)
    assert first.moment_nmm[2] == pytest.approx(6.0 * BENDING * STEP / span**2, rel=2e-3)


@pytest.mark.parametrize("span", SPANS)
def test_a_turn_between_built_in_ends(span: float) -> None:
    first, second = clamped(span, about_z=TURN).attachments
    turned = 4.0 * BENDING * math.radians(TURN) / span
    assert second.moment_nmm[2] == pytest.approx(-turned, rel=2e-3)
    assert first.moment_nmm[2] == pytest.approx(-0.5 * turned, rel=4e-3)  # shear counts twice here


@pytest.mark.parametrize("span", SPANS)
def test_a_twist_between_built_in_ends(span: float) -> None:
    second = clamped(span, about_x=TURN).attachments[1]
    assert second.moment_nmm[0] == pytest.approx(-TORSION * math.radians(TURN) / span, rel=2e-3)


@pytest.mark.parametrize("span", SPANS)
def test_an_arm_tied_at_its_end(span: float) -> None:
    clamp, hook = run_case(
        case_of(
            round_wire(DIAMETER),
            [straight(span)],
            "A",
            attachment("A", "clamp", "start", 0.0, stop=True),
            attachment("B", "button", "end", span, STEP),
        )
    ).attachments
    force = 3.0 * BENDING * STEP / span**3
    assert hook.force_n[1] == pytest.approx(-force, rel=2e-3)
    assert clamp.moment_nmm[2] == pytest.approx(force * span, rel=2e-3)


@pytest.mark.parametrize("span", SPANS)
@pytest.mark.parametrize(("kind", "factor"), [("clamp", 24.0), ("button", 6.0)])
def test_a_bracket_displaced_between_two_others(span: float, kind: str, factor: float) -> None:
    middle = run_case(
        case_of(
            round_wire(DIAMETER),
            [straight(2.0 * span)],
            "B",
            attachment("A", kind, "start", 0.0),
            attachment("B", "clamp", span, span, STEP, stop=True),
            attachment("C", kind, "end", 2.0 * span),
        )
    ).attachment("B")
    assert middle.force_n[1] == pytest.approx(-factor * BENDING * STEP / span**3, rel=2e-3)
