"""Torque through play in shaped slots: the solver meets the closed form, and where none holds none is given."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from cases import run_case
from cases.casefile import parse_case
from cases.schema import Case
from cases.show.closed_form import closed_forms
from fem.torsion import torsion_constant
from geometry.attachments import Slot
from geometry.clearance import clearance
from geometry.section import Rectangle
from tests.shipped import case

SLOT = 'slot = { height = "0.022 in", depth = "0.028 in", width = "3 mm" }'
SECTION = Rectangle(0.019 * 25.4, 0.025 * 25.4)


def changed(slot: str = SLOT, more: str = "") -> Case:
    """The shipped case of torque through play, with other slots or further keys in both brackets."""
    text = case("torque-through-play").source_text
    assert text.count(SLOT) == 2
    return parse_case(text.replace(SLOT, f"{slot}\n{more}"), Path("changed.toml"))


@pytest.mark.parametrize(
    "more",
    ['ligation = "elastomeric"', 'ligation = "none"', 'wall_modulus = "20 GPa"', "friction = 0.1"],
)
def test_no_closed_form_where_walls_give_way_rub_or_are_missing(more: str) -> None:
    assert len(closed_forms(changed())) == 2
    assert closed_forms(changed(more=more)) == ()


def test_no_closed_form_for_tapered_walls() -> None:
    assert closed_forms(changed(SLOT.replace(" }", ', taper = "1 deg" }'))) == ()


def test_rounded_mouths_lengthen_the_span() -> None:
    """GJ/L (angle - play - play), L from plane wall to plane wall: 8 mm less 2.6."""
    rounded = changed(SLOT.replace(" }", ', mouth_radius = "0.2 mm" }'))
    sharp_curves, curves = closed_forms(changed()), closed_forms(rounded)
    for sharp, curve in zip(sharp_curves, curves, strict=True):
        assert curve.moment_nmm[-1] == pytest.approx(sharp.moment_nmm[-1] * 5.0 / 5.4, rel=1e-12)
    found = run_case(rounded).attachments[1].orders["third"].moment_nmm
    assert found == pytest.approx(curves[1].moment_nmm[-1], rel=1e-3)


@pytest.mark.parametrize("taper", [2.0, -2.0])
def test_the_solver_meets_the_play_of_tapered_slots(taper: float) -> None:
    """The same formula with the play of ``clearance``, in closed slots so deep that their height stops the wire."""
    slot = f'slot = {{ height = "0.6 mm", depth = "0.8 mm", width = "3 mm", taper = "{taper} deg" }}'
    play = clearance(SECTION, Slot(0.6, 0.8, 3.0, math.radians(taper))).third
    assert play.angle is not None and play.walls == ("upper wall", "lower wall")
    parallel = clearance(SECTION, Slot(0.6, 0.8, 3.0)).third.angle
    # Nothing would be tested if the taper did not count.
    assert parallel is not None and abs(play.angle - parallel) > math.radians(0.1)
    stiffness = 180e3 / 2.6 * torsion_constant(SECTION) / 5.0
    torque = stiffness * (math.radians(35.0) - 2.0 * play.angle)
    text = changed(slot).source_text.replace('inclination = "20 deg"', 'inclination = "35 deg"')
    result = run_case(parse_case(text, Path("tapered.toml")))
    # 1e-3 rad: the two floors (or fronts) that the walls squeeze the wire to are turned against each other, which
    # bends it by hundredths of a millimetre.
    assert abs(result.attachments[1].orders["third"].moment_nmm) == pytest.approx(
        torque, abs=1e-3 * stiffness
    )
