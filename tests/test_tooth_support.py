"""Teeth on linear supports, wire and teeth solved together, against closed forms.

Small deflections where a formula is linear: it then differs from the large-deflection answer by the square of the
slope, 1e-4 or less here.  All appliances are invented.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from cases.casefile import parse_case
from cases.results import AttachmentResult, RunResult
from cases.run import run_case
from cases.tooth_results import ToothDisplacement
from cases.tooth_sizes import typical_support
from cases.tooth_support import compliances
from geometry.tooth import Tooth
from tests.case_texts import (
    POISSON,
    SHEAR_MODULUS,
    YOUNGS_MODULUS,
    attachment,
    case_of,
    edgewise,
    round_wire,
    straight,
)

DIAMETER = 0.7
BENDING = YOUNGS_MODULUS * math.pi * DIAMETER**4 / 64.0
# kGA with k of a round section after Cowper, J. Appl. Mech. 33 (1966) 335.
SHEAR = 6.0 * (1.0 + POISSON) / (7.0 + 6.0 * POISSON) * SHEAR_MODULUS * math.pi * DIAMETER**2 / 4.0
TORSION = SHEAR_MODULUS * math.pi * DIAMETER**4 / 32.0
ARM = 12.0
PUSH = 0.01
"""mm: slopes of a thousandth."""
# N/mm along x, y, z; N mm/rad about them: all different, so that none stands for another.
ALONG = (150.0, 220.0, 90.0)
ABOUT = (900.0, 400.0, 1300.0)
LINEAR = 2e-4


def support(along: tuple[float, ...] = ALONG, about: tuple[float, ...] = ABOUT, scale: float = 1.0) -> str:
    """The key as a line of an attachment."""
    lines = [", ".join(f'"{scale * value!r} N/mm"' for value in along)]
    lines.append(", ".join(f'"{scale * value!r} Nmm/rad"' for value in about))
    return f"\nsupport = {{ along = [{lines[0]}], about = [{lines[1]}] }}"


def cantilever(
    centre: tuple[float, float, float], lift: tuple[float, float, float], more: str = ""
) -> RunResult:
    """A clamped round wire and, ARM away, a button; ``more`` belongs to the clamp's tooth, ``lift`` to the button."""
    x, y, z = lift
    return run_case(
        case_of(
            round_wire(DIAMETER),
            [straight(ARM)],
            "clamp",
            attachment("clamp", "clamp", "start", 0.0, stop=True, tooth="46", centre_of_resistance=centre)
            + more,
            attachment("hook", "button", "end", ARM + x, y, z, stop=x != 0.0),
        )
    )


def moved(item: AttachmentResult) -> ToothDisplacement:
    found = item.at_centre_of_resistance
    assert found is not None and found.displacement is not None
    return found.displacement


@pytest.mark.parametrize("centre", [(0.0, 0.0, 0.0), (0.0, -9.0, -4.0), (1.5, -7.0, -3.0)])
@pytest.mark.parametrize("axis", [1, 2])
def test_a_cantilever_on_a_tooth_is_springs_one_after_the_other(
    centre: tuple[float, float, float], axis: int
) -> None:
    """Compliance of the tip, across and across: L^3/(3EI) + L/(kGA) + 1/k of the wire and the tooth's translation, and
    what the tooth turns, l l/kappa, with the levers l of both forces about the centre of resistance: one that lies off
    the wire couples both, since the hook holds the tip in both."""
    lift = [0.0, 0.0, 0.0]
    lift[axis] = PUSH
    result = cantilever(centre, (lift[0], lift[1], lift[2]), support())
    levers = np.cross(np.array([ARM, 0.0, 0.0]) - centre, np.eye(3)[1:])
    tooth = np.diag(1.0 / np.array(ALONG[1:])) + levers @ np.diag(1.0 / np.array(ABOUT)) @ levers.T
    wire = ARM**3 / (3.0 * BENDING) + ARM / SHEAR
    assert tooth[axis - 1, axis - 1] > 0.2 * wire  # both count
    expected = np.linalg.solve(tooth + wire * np.eye(2), lift[1:])
    np.testing.assert_allclose(
        result.attachment("hook").force_n[1:], -expected, rtol=LINEAR, atol=LINEAR * np.abs(expected).max()
    )


def test_a_force_through_the_centre_of_resistance_translates() -> None:
    """F = k u along every axis, and no turn: a button holds a point, which is the centre of resistance here."""
    result = run_case(
        case_of(
            round_wire(DIAMETER),
            [straight(ARM)],
            "clamp",
            attachment("clamp", "clamp", "start", 0.0, stop=True),
            attachment(
                "hook",
                "button",
                "end",
                ARM + 1e-4,
                0.3,
                -0.2,
                stop=True,
                centre_of_resistance=(0.0, 0.0, 0.0),
            )
            + support(),
        )
    )
    hook = result.attachment("hook")
    found = moved(hook)
    np.testing.assert_allclose(found.translation_mm, np.array(hook.force_n) / ALONG, rtol=1e-6, atol=1e-9)
    assert max(map(abs, found.rotation_deg)) < 1e-6
    assert found.slot_translation_mm == pytest.approx(found.translation_mm, abs=1e-9)
    assert found.centre_of_rotation_mm == {"first": None, "second": None, "third": None}


@pytest.mark.parametrize("centre", [(0.0, 0.0, 0.0), (0.0, -9.0, -4.0)])
def test_a_couple_turns_about_the_centre_of_resistance(centre: tuple[float, float, float]) -> None:
    """Torsion in series, T = angle/(L/(GJ) + 1/kappa), and the centre of resistance stays, if it is in the slot.  Else
    the slot swings aside on its lever and the wire pushes it back: then each load has its own motion."""
    twist = 0.4
    result = run_case(
        case_of(
            round_wire(DIAMETER),
            [straight(ARM)],
            "fixed",
            attachment("fixed", "clamp", "start", 0.0, stop=True),
            attachment("tooth", "clamp", "end", ARM, about_x=twist, tooth="43", centre_of_resistance=centre)
            + support(),
        )
    )
    torque = math.radians(twist) / (ARM / TORSION + 1.0 / ABOUT[0])
    found = moved(result.attachment("tooth"))
    if centre == (0.0, 0.0, 0.0):
        assert result.attachment("tooth").moment_nmm[0] == pytest.approx(-torque, rel=LINEAR)
        assert max(map(abs, found.translation_mm)) < 1e-6
        assert found.rotation_deg == pytest.approx((-math.degrees(torque / ABOUT[0]), 0.0, 0.0), abs=1e-5)
    else:
        load = result.attachment("tooth").at_centre_of_resistance
        assert load is not None
        np.testing.assert_allclose(found.translation_mm, np.array(load.force_n) / ALONG, rtol=2e-3, atol=1e-6)
        np.testing.assert_allclose(
            np.radians(found.rotation_deg), np.array(load.moment_nmm) / ABOUT, rtol=1e-5, atol=1e-8
        )


@pytest.mark.parametrize("arm", [4.0, 8.0, 10.0])
def test_the_product_of_both_distances_is_one_number(arm: float) -> None:
    """From the centre of resistance to the line of force, and to the centre of rotation beyond it: their product is the
    turning stiffness over that of translation, whatever the arm (Naegerl et al., Am J Orthod Dentofacial Orthop 99
    (1991) 337, abstract seen)."""
    result = run_case(
        case_of(
            round_wire(DIAMETER),
            [straight(ARM)],
            "clamp",
            attachment("clamp", "clamp", "start", 0.0, stop=True),
            attachment(
                "tooth", "button", "end", ARM, 0.0, 0.05, tooth="43", centre_of_resistance=(0.0, -arm, 0.0)
            )
            + support(),
        )
    )
    at = moved(result.attachment("tooth")).centre_of_rotation_mm["third"]
    assert at is not None
    assert -at[1] * arm == pytest.approx(ABOUT[0] / ALONG[2], rel=1e-3)
    assert at[0] == 0.0


def test_a_rigid_support_is_none() -> None:
    """Stiffer by 1e8: the same as a fixed tooth, to 1e-6."""
    centre, lift = (0.0, -9.0, -4.0), (0.0, 1.5, 0.7)
    fixed, stiff = cantilever(centre, lift), cantilever(centre, lift, support(scale=1e8))
    for one, other in zip(fixed.attachments, stiff.attachments, strict=True):
        assert other.force_n == pytest.approx(one.force_n, rel=1e-6, abs=1e-6)
        assert other.moment_nmm == pytest.approx(one.moment_nmm, rel=1e-6, abs=1e-6)
    assert fixed.attachment("clamp").at_centre_of_resistance.displacement is None  # type: ignore[union-attr]


BRACKET = (0.022 * 25.4, 0.028 * 25.4, 3.0)
TYPICAL = '\nsupport = "typical"'


def two_teeth(*more: str, shape: float = 8.0) -> RunResult:
    """Two brackets out of level and turned against each other, on a rectangular wire; ``more`` lines for each."""
    first, second = more
    return run_case(
        case_of(
            edgewise(0.016 * 25.4, 0.022 * 25.4),
            [straight(shape + 10.0)],
            "A",
            attachment("A", "bracket", 4.0, 0.0, slot=BRACKET, stop=True, tooth="45") + first,
            attachment(
                "B",
                "bracket",
                4.0 + shape,
                shape,
                0.4,
                0.3,
                slot=BRACKET,
                tooth="44",
                about_z=-4.0,
                about_x=25.0,
            )
            + second,
        )
    )


def test_two_teeth_give_way_as_their_loads_say() -> None:
    """Each by its stiffness times its load at its own centre of resistance: the law itself, read off the result."""
    result = two_teeth(support(), support(about=(500.0, 800.0, 700.0)))
    fixed = two_teeth("", "")
    for item, about in zip(result.attachments, (ABOUT, (500.0, 800.0, 700.0)), strict=True):
        load = item.at_centre_of_resistance
        assert load is not None and load.displacement is not None
        turned = np.radians(load.displacement.rotation_deg)
        np.testing.assert_allclose(turned, np.array(load.moment_nmm) / about, rtol=1e-4, atol=1e-7)
    force, turn = result.equilibrium.force_n, result.equilibrium.moment_nmm
    assert max(map(abs, force)) < 1e-6 and max(map(abs, turn)) < 1e-4
    stiff, soft = (np.linalg.norm(run.attachment("B").moment_nmm) for run in (fixed, result))
    assert 0.3 * stiff < soft < 0.97 * stiff


@pytest.mark.parametrize("tie_in", [False, True])
def test_a_wire_that_all_but_fills_its_slots_finds_its_place(tie_in: bool) -> None:
    """Stiffer than the teeth by far, with contacts that come and go: the law holds, however the wire was tied in."""
    spots = ((0.0, 0.0), (-0.2, 0.1), (0.15, -0.25), (0.3, 0.1))
    brackets = (
        attachment(
            f"4{7 - k}", "bracket", 4.0 + 8.0 * k, 8.0 * k, y, z, slot=BRACKET, stop=k == 0, tooth=f"4{7 - k}",
            about_x=6.0 * (-1.0) ** k,
        )
        + TYPICAL
        for k, (y, z) in enumerate(spots)
    )  # fmt: skip
    case = case_of(edgewise(0.0215 * 25.4, 0.027 * 25.4, 0.05), [straight(32.0)], "47", *brackets)
    if tie_in:
        case = replace(case, analysis=replace(case.analysis, tie_in=("46", "45", "44")))
    result = run_case(case)
    for item in result.attachments:
        stiffness = np.array(typical_support(Tooth(item.name))[0])  # type: ignore[index]
        load = item.at_centre_of_resistance
        assert load is not None and load.displacement is not None
        assert np.linalg.norm(load.force_n) > 0.5
        turned = np.radians(load.displacement.rotation_deg)
        np.testing.assert_allclose(turned, np.array(load.moment_nmm) / stiffness[3:], rtol=1e-4, atol=2e-6)
    assert max(map(abs, result.equilibrium.force_n)) < 1e-6


def test_a_rigid_segment_keeps_what_acts_within_it() -> None:
    """Wire and both teeth are one body without outer loads: nothing moves, and the loads are those of fixed teeth."""
    one = '\nsegment = "both"'
    tied, fixed = two_teeth(one + TYPICAL, one + TYPICAL), two_teeth("", "")
    for here, there in zip(tied.attachments, fixed.attachments, strict=True):
        assert here.force_n == pytest.approx(there.force_n, rel=1e-5, abs=1e-6)
        assert here.moment_nmm == pytest.approx(there.moment_nmm, rel=1e-5, abs=1e-5)
        assert max(map(abs, moved(here).translation_mm)) < 1e-8
        assert max(map(abs, moved(here).rotation_deg)) < 1e-6


def test_a_segment_of_two_moves_as_one_body() -> None:
    """Two springs 6 mm apart under one rigid body, by statics: a force over either gives way by 1/2k + s^2/(2 kappa +
    2 k s^2), and the other place by the difference of both."""
    text = "\n".join(
        attachment(name, "button", at, x, tooth="45", centre_of_resistance=(0.0, 0.0, 0.0))
        + '\nsegment = "pair"' + support((80.0, 100.0, 120.0), (300.0, 300.0, 300.0))
        for name, at, x in (("A", 0.0, -3.0), ("B", 6.0, 3.0))
    )  # fmt: skip
    case = case_of(round_wire(DIAMETER), [straight(ARM)], "A", text, attachment("C", "button", "end", 9.0))
    a, b, c = compliances(case.attachments)
    assert a is not None and b is not None and c is None
    turning = 2.0 * 300.0 + 2.0 * 100.0 * 3.0**2
    assert a[1, 1] == pytest.approx(1.0 / 200.0 + 9.0 / turning, rel=1e-12)
    for cross in (a[1, 7], b[1, 1]):
        assert cross == pytest.approx(1.0 / 200.0 - 9.0 / turning, rel=1e-12)
    assert (a[0, 0], a[0, 6]) == pytest.approx((1.0 / 160.0,) * 2, rel=1e-12)
    assert a[3, 3] == pytest.approx(1.0 / 600.0, rel=1e-12)
    assert not a[:, 12:].any()


def test_what_one_load_does_at_another_is_what_that_does_at_it() -> None:
    """Reciprocity (Maxwell, Betti), of wire and tooth together: the tip's sideways push gives a lift as large as the
    lift's sideways push.  A centre of resistance off all axes couples them."""
    centre = (2.0, -9.0, -4.0)
    up, out = cantilever(centre, (0.0, PUSH, 0.0), support()), cantilever(centre, (0.0, 0.0, PUSH), support())
    sideways, lifted = up.attachment("hook").force_n[2], out.attachment("hook").force_n[1]
    assert abs(sideways) > 0.01 * abs(up.attachment("hook").force_n[1])
    assert sideways == pytest.approx(lifted, rel=2e-3)


def test_words_and_assumptions_say_that_teeth_give_way() -> None:
    result = two_teeth(TYPICAL, "")
    said = " ".join(moved(result.attachment("A")).words)
    assert said.startswith("Initial displacement: centre of resistance ") and "Centre of rotation" in said
    assumed = " ".join(result.assumptions)
    assert "teeth: on linear supports" in assumed and "fixed in their poses: B" in assumed
    assert "order of magnitude" in assumed and "not a prediction" in assumed
    assert "those of average teeth" in assumed


def test_a_tooth_in_a_table_gives_way_too(tmp_path: Path) -> None:
    (tmp_path / "teeth.csv").write_text(
        "tooth,at_mm,slot_height_in,slot_depth_in,slot_width_mm,support,segment\n"
        "45,4,0.022,0.028,3,typical,\n44,12,0.022,0.028,3,,\n",
        encoding="utf-8",
    )
    text = (
        'title = "Invented"\ntooth_table = "teeth.csv"\n[wire]\nmaterial = "stainless-steel"\n'
        f'section = {round_wire(0.4)}\npassive_shape = [{straight(16.0)}]\nseated_in = "45"\n'
    )
    case = parse_case(text, tmp_path / "case.toml")
    assert [spec.support is not None for spec in case.attachments] == [True, False]


@pytest.mark.parametrize("quadrant", [1, 2, 3, 4])
def test_words_of_a_displacement_in_four_quadrants(quadrant: int) -> None:
    """A hook pulled outwards and towards the root: its tooth goes facially and gingivally, its crown tips facially.  By
    hand; the patient's words are alike on both sides and in both jaws."""
    tooth = Tooth(f"{quadrant}3")
    x, lift = tooth.mesial_sign * ARM, -tooth.occlusal_sign * 0.5
    clamp = attachment("clamp", "clamp", "start" if x > 0.0 else "end", 0.0, stop=True)
    # the hook stands on the other side of the passive wire and is drawn back to it
    hook = (
        attachment("hook", "button", "end" if x > 0.0 else "start", x, -lift, -0.5, tooth=tooth.number)
        + TYPICAL
    )
    result = run_case(
        case_of(round_wire(0.4), [straight(ARM)], "clamp", *((clamp, hook) if x > 0.0 else (hook, clamp)))
    )
    said = moved(result.attachment("hook")).words[0]
    assert "mm gingival" in said and "mm facial" in said and "labial crown torque" in said
    assert "lingual" not in said and "occlusal" not in said
    (view,) = (one for one in moved(result.attachment("hook")).words[1:] if "mesiodistal view" in one)
    assert view.startswith("Centre of rotation, mesiodistal view: ")
