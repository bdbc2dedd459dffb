"""Closing loops: moment over force is the height of the wire's elastic centre.

Elastic-centre theorem (Timoshenko & Young, Theory of Structures, 1945, on arches without hinges; from memory), exact
for a symmetric plane wire of one stiffness whose ends are kept parallel and drawn apart a little.  For a plain
rectangular loop of legs H, top t and horizontals s altogether, sharp corners:

    M/F = (H^2 + t H)/(2 H + t + s).

That this is 0.4 to 0.55 of the loop's height where the horizontals are short, and far from the 10 mm of translation,
is the classical finding (Burstone & Koenig, Am J Orthod 70 (1976) 1; from memory).  Verification: theory only.
"""

from __future__ import annotations

import pytest

from cases.run import run_case
from tests.case_texts import attachment, bend, case_of, round_wire, straight

DIAMETER, CORNER, TOP, OPENED = 0.2, 0.02, 2.0, 0.01


def moment_over_force(height: float, horizontals: float) -> float:
    """mm, of the loop opened by ``OPENED`` between clamps."""
    leg, top = straight(height - CORNER), straight(TOP - 2.0 * CORNER)
    loop = [leg, bend(-90.0, radius=CORNER), top, bend(-90.0, radius=CORNER), leg]
    turn = 90.0
    if horizontals:
        loop = [straight(height - 2.0 * CORNER) if piece == leg else piece for piece in loop]
        run = straight(0.5 * horizontals - CORNER)
        loop = [run, bend(90.0, radius=CORNER), *loop, bend(90.0, radius=CORNER), run]
        turn = 0.0
    result = run_case(
        case_of(
            round_wire(DIAMETER),
            loop,
            "A",
            attachment("A", "clamp", "start", 0.0, stop=True, about_z=turn),
            attachment("B", "clamp", "end", TOP + horizontals + OPENED, stop=True, about_z=-turn),
        )
    )
    a, b = result.attachments
    assert a.force_n[0] > 0.0 and b.force_n[0] == pytest.approx(-a.force_n[0], rel=1e-6)
    assert abs(a.force_n[1]) < 1e-4 * a.force_n[0]
    assert b.moment_nmm[2] == pytest.approx(-a.moment_nmm[2], rel=1e-4)
    return -a.moment_nmm[2] / a.force_n[0]


@pytest.mark.parametrize(
    ("height", "horizontals", "expected"),
    [
        (6.0, 5.0, 2.526),
        (8.0, 5.0, 3.478),
        (10.0, 5.0, 4.444),
        (6.0, 0.0, 3.429),
        (8.0, 0.0, 4.444),
        (10.0, 0.0, 5.455),
    ],
)
def test_moment_over_force_of_rectangular_loops(height: float, horizontals: float, expected: float) -> None:
    """0.2 %: corners of 0.02 mm, shear, and an opening of a thousandth of the height leave less."""
    assert (height**2 + TOP * height) / (2.0 * height + TOP + horizontals) == pytest.approx(
        expected, abs=5e-4
    )
    assert moment_over_force(height, horizontals) == pytest.approx(expected, rel=2e-3)
    if not horizontals:
        assert 0.4 < expected / height < 0.6
    assert expected < 0.6 * 10.0
