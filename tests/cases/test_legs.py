"""Ways of several legs: without friction only the last state counts, whatever the way to it.

Loads of the same state reached in two ways may differ by the balance's tolerance (1e-8 of the largest force) and by
where the stations came to rest beside their nodes (5e-3 mm at most where nothing presses, 1e-3 mm where it does: for a
mouth's arm of 1.5 mm below 1e-3 of a moment).
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from cases.build import build_model
from cases.casefile import parse_case
from cases.legs import legs_of
from cases.results import ACTIVATION, BACK, OUT, IncrementResult, RunResult
from cases.run import run_case
from cases.schema import Case
from tests.case_texts import MATERIAL, POISSON, SHEAR_MODULUS, attachment, bend, edgewise, straight
from tests.shipped import case as shipped
from tests.shipped import solved

SLOT = (0.5588, 0.7112, 3.0)
NEAR = 1e-3


def text_of(shape: list[str], seat: str, *attachments: str, wire: str = edgewise(0.4826, 0.635)) -> str:
    """A case up to its analysis, which is left for ``read`` to add."""
    return "\n".join(
        (
            'title = "A test case (invented)"',
            "[wire]",
            f"material = {MATERIAL}",
            f"section = {wire}",
            f"passive_shape = [{', '.join(shape)}]",
            f'seated_in = "{seat}"',
            *attachments,
            "",
        )
    )


def read(text: str, *more: str) -> Case:
    return parse_case("\n".join((text, *more)), Path("legs.toml"))


def v_bend() -> str:
    return text_of(
        [straight(5.0), bend(-12.0), straight(9.0)],
        "left",
        attachment("left", "bracket", 2.5, 0.0, slot=SLOT, stop=True),
        attachment("right", "bracket", 11.0, 8.0, slot=SLOT),
    )


def same_loads(
    found: RunResult | IncrementResult, wanted: RunResult | IncrementResult, near: float = NEAR
) -> None:
    """Forces and moments of every attachment agree to a share of the largest."""
    for what in ("force_n", "moment_nmm"):
        a, b = (np.array([getattr(item, what) for item in one.attachments]) for one in (found, wanted))
        assert np.abs(b).max() > 1e-3
        assert np.abs(a - b).max() <= near * np.abs(b).max()


def at(result: RunResult, stage: str) -> IncrementResult:
    """The last increment of a stage."""
    return next(one for one in reversed(result.increments) if one.stage == stage)


def test_back_by_half_is_the_half_activation_and_back_by_all_is_passive() -> None:
    text = v_bend()
    result = run_case(
        read(text, "[analysis]", "increments = 4", "[[stage]]", 'back = "50 %"', "increments = 2", "[[stage]]",
             'back = "100 %"', "increments = 2")
    )  # fmt: skip
    half_way = next(one for one in result.increments if one.stage == ACTIVATION and one.activation == 0.5)
    same_loads(at(result, "stage 1: back"), half_way)
    assert result.status == "passive"
    for item in result.attachments:
        assert item.force_n == (0.0, 0.0, 0.0) and item.moment_nmm == (0.0, 0.0, 0.0)
    assert [one.stage for one in result.increments if one.activation == 1.0] == [
        "activation", "stage 1: back", "stage 2: back",
    ]  # fmt: skip
    assert all(one.lost_nmm == 0.0 for one in result.increments)


def test_back_counts_from_the_engaged_poses_not_from_where_a_stage_left_off() -> None:
    text = v_bend()
    legs_case = read(text, "[[stage]]", 'back = "50 %"', "[[stage]]", 'back = "25 %"')
    model = build_model(legs_case)
    _, half, quarter = legs_of(legs_case, model)
    start, end = model.supports[1].start, model.supports[1].end
    np.testing.assert_allclose(half.ends[1].position, 0.5 * (start.position + end.position), atol=1e-12)
    np.testing.assert_allclose(
        quarter.ends[1].position, 0.25 * start.position + 0.75 * end.position, atol=1e-12
    )


def clamped_row() -> str:
    """Three clamps, the outer two out of line of the middle one by 1 % of the span at most: linear."""
    return text_of(
        [straight(18.0)],
        "middle",
        attachment("left", "clamp", 1.0, -8.0, 0.05),
        attachment("middle", "clamp", 9.0, 0.0, stop=True),
        attachment("right", "clamp", 17.0, 8.0, -0.08, 0.03),
    )


@pytest.mark.parametrize("order", ['["left", "right"]', '["right", "left"]'])
def test_the_order_of_tying_in_does_not_matter_without_friction(order: str) -> None:
    """Three built-in points of one elastic wire: one equilibrium, so both orders and all at once give the same loads.
    Nothing slides in a slot, so they agree to the balance's tolerance, 1e-8, with two digits to spare."""
    text = clamped_row()
    at_once = run_case(read(text, "[analysis]", "increments = 2"))
    tied = run_case(read(text, "[analysis]", "increments = 2", f"tie_in = {order}"))
    same_loads(tied, at_once, near=1e-6)
    first, second = (name.strip('[] "') for name in order.split(","))
    assert [one.stage for one in tied.increments] == [f"tying in {first}"] * 2 + [f"tying in {second}"] * 2
    # what is not tied in yet feels nothing; what is feels M = 6 EI d/L^2 of a step between built-in ends (any handbook)
    half = at(tied, f"tying in {first}")
    loads = {item.name: item for item in half.attachments}
    assert loads[second].force_n == (0.0, 0.0, 0.0)
    assert np.abs(loads[first].force_n).max() > 0.1


def test_a_step_tied_in_first_is_the_handbook_s() -> None:
    """Left clamp alone, 0.05 mm up, 8 mm off: M = 6 EI d/L^2 / (1 + f) at either end, f = 12 EI/(k GA L^2) with k =
    10 (1 + nu)/(12 + 11 nu) (Timoshenko beam, Cowper, J Appl Mech 33 (1966) 335; from memory).  0.05 %: the clamp's way
    is 0.6 % of the span, so what is left out is of the order of its square."""
    of = read(clamped_row(), "[analysis]", "increments = 2", 'tie_in = ["left", "right"]')
    result = run_case(of)
    modulus, section = of.wire.material.youngs_modulus_mpa, of.wire.section
    shear_share = 10.0 * (1.0 + POISSON) / (12.0 + 11.0 * POISSON)
    bending = modulus * section.second_moment_z
    soft = 12.0 * bending / (shear_share * SHEAR_MODULUS * section.area * 8.0**2)
    moment = 6.0 * bending * 0.05 / 8.0**2 / (1.0 + soft)
    left = next(item for item in at(result, "tying in left").attachments if item.name == "left")
    assert abs(left.moment_nmm[2]) == pytest.approx(moment, rel=5e-4)


def test_slots_tied_in_one_by_one_end_as_all_at_once() -> None:
    """Three brackets with play, frictionless."""
    text = text_of(
        [straight(22.0)],
        "middle",
        attachment("left", "bracket", 3.0, -8.0, 0.5, slot=SLOT),
        attachment("middle", "bracket", 11.0, 0.0, slot=SLOT, stop=True),
        attachment("right", "bracket", 19.0, 8.0, -0.4, slot=SLOT, about_z=4.0),
    )
    at_once = run_case(read(text, "[analysis]", "increments = 4"))
    tied = run_case(read(text, "[analysis]", "increments = 4", 'tie_in = ["right", "left"]'))
    same_loads(tied, at_once)


def test_one_attachment_moved_and_moved_back_returns() -> None:
    text = v_bend()
    move = '[[stage]]\nmove = "right"\nincrements = 3'
    there = f'{move}\nby = ["0.1 mm", "0.4 mm", "0 mm"]\nturn = {{ about_z = "3 deg" }}'
    # a turn is about the attachment's own centre, which the way does not shift: each is undone by itself
    back = f'{move}\nby = ["-0.1 mm", "-0.4 mm", "0 mm"]\nturn = {{ about_z = "-3 deg" }}'
    result = run_case(read(text, "[analysis]", "increments = 4", there, back))
    engaged = at(result, ACTIVATION)
    same_loads(result, engaged)
    moved = at(result, "stage 1: right moves")
    assert abs(moved.attachments[1].force_n[1] - engaged.attachments[1].force_n[1]) > 0.1


def test_a_move_is_in_world_axes_and_a_turn_about_the_attachment_s_own() -> None:
    text = v_bend().replace('name = "right"', 'name = "right"\nabout_x = "90 deg"')
    of = read(
        text, "[[stage]]", 'move = "right"', 'by = ["0 mm", "1 mm", "0 mm"]', 'turn = { about_y = "10 deg" }'
    )
    _, moved = legs_of(of, build_model(of))
    # turned by 90 deg about x its height is the world's z: +10 deg about it takes the wire's way towards +y
    c, s = math.cos(math.radians(10.0)), math.sin(math.radians(10.0))
    np.testing.assert_allclose(moved.ends[1].position, [8.0, 1.0, 0.0], atol=1e-12)
    np.testing.assert_allclose(moved.ends[1].axes[:, 0], [c, s, 0.0], atol=1e-12)


def test_the_legs_of_a_bench_test_go_out_and_come_back() -> None:
    of = shipped("torque-test")
    activation, out, back = legs_of(of, build_model(of))
    assert (activation.name, out.name, back.name) == (ACTIVATION, OUT, BACK)
    np.testing.assert_array_equal(back.ends[1].axes, activation.ends[1].axes)
    assert math.degrees(math.acos(out.ends[1].axes[1, 1])) == pytest.approx(30.0)
    assert {one.stage for one in solved("torque-test").increments} == {ACTIVATION, OUT, BACK}
