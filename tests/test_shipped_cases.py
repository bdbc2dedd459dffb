"""Every shipped case converges and balances; the signs are the ones its comment promises."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from cases.build import build_model
from cases.casefile import LIBRARY, load_case, shipped_cases
from cases.legs import legs_of
from cases.output import to_json, write_outputs
from cases.results import OUT
from cases.run import run_case
from cases.schema import Case
from fem.path import engage
from geometry.pose import Pose
from tests.shipped import solved

NAMES = tuple(path.stem for path in shipped_cases())


@pytest.mark.parametrize("name", NAMES)
def test_it_loads_without_warnings(name: str) -> None:
    case = load_case(LIBRARY / f"{name}.toml")
    assert case.warnings == ()
    assert "invented" in case.title or "published" in case.title


@pytest.mark.parametrize("name", NAMES)
def test_it_converges_and_balances(name: str) -> None:
    result = solved(name)
    assert result.status in ("engaged", "passive")
    # each attachment's force may be off by the floor of the balance, and the moments by that times the wire's length
    count, floor = len(result.attachments), result.equilibrium.floor_n
    assert np.abs(result.equilibrium.force_n).max() <= count * floor
    assert np.abs(result.equilibrium.moment_nmm).max() <= count * floor * result.wire.arc_length_mm[-1]
    assert all(item.words for item in result.attachments)
    assert to_json(result)["status"] == result.status


def test_uprighting_presses_the_premolar_and_tips_the_molar_crown_distally() -> None:
    """Tooth 47: mesial +x, occlusal +y.  Signs by hand: the arm is lifted at the hook, so it presses down there."""
    result = run_case(load_case(LIBRARY / "molar-uprighting.toml"))
    molar, premolar = result.attachment("molar tube"), result.attachment("premolar hook")
    assert premolar.force_n[1] < 0.0 < molar.force_n[1]
    assert molar.moment_nmm[2] > 0.0 and "distal crown tip" in molar.orders["second"].words
    assert molar.orders["second"].carries_couple
    assert not any(order.carries_couple for order in premolar.orders.values())
    assert premolar.moment_nmm == (0.0, 0.0, 0.0)


def test_a_round_wire_gives_no_torque_and_exactly_no_force() -> None:
    result = run_case(load_case(LIBRARY / "torque-round-wire.toml"))
    for item in result.attachments:
        assert item.force_n == (0.0, 0.0, 0.0) and item.moment_nmm == (0.0, 0.0, 0.0)
        assert item.orders["third"].turns_freely


def test_torque_is_the_twist_beyond_both_plays() -> None:
    """T = GJ/L (angle - play - play), L from mouth to mouth: Saint-Venant torsion of the free span, 0.1 %."""
    from fem.torsion import torsion_constant

    case = load_case(LIBRARY / "torque-through-play.toml")
    result = run_case(case)
    first, second = result.attachments
    assert first.orders["third"].play_deg is not None and first.slot_size_mm is not None
    span = abs(second.pose.position[0] - first.pose.position[0]) - first.slot_size_mm[2]
    material = case.wire.material
    shear = material.youngs_modulus_mpa / (2.0 * (1.0 + material.poisson))
    twist = np.radians(abs(second.orders["third"].activation_deg) - 2.0 * first.orders["third"].play_deg)
    expected = shear * torsion_constant(case.wire.section) * twist / span
    assert abs(second.moment_nmm[0]) == pytest.approx(expected, rel=1e-3)


def _moved(case: Case, motion: Pose) -> Case:
    attachments = tuple(
        replace(spec, attachment=replace(spec.attachment, pose=motion.compose(spec.attachment.pose)))
        for spec in case.attachments
    )
    return replace(case, attachments=attachments)


@pytest.mark.parametrize("name", ["molar-uprighting", "torque-through-play"])
def test_the_same_case_elsewhere_in_space_gives_the_same_forces(name: str) -> None:
    """A turn and a shift; both runs end at the same rounding floor, which is what the comparison is held to."""
    case = load_case(LIBRARY / f"{name}.toml")
    motion = Pose(np.array([1.0, -2.0, 0.5]), Rotation.from_rotvec([0.3, -0.8, 1.1]).as_matrix())
    here, there = run_case(case), run_case(_moved(case, motion))
    floor = max(here.equilibrium.floor_n, there.equilibrium.floor_n)
    for a, b in zip(here.attachments, there.attachments, strict=True):
        np.testing.assert_allclose(
            motion.axes.T @ np.array(b.force_n), a.force_n, atol=4.0 * floor, rtol=1e-7
        )
        np.testing.assert_allclose(
            motion.axes.T @ np.array(b.moment_nmm), a.moment_nmm, atol=40.0 * floor, rtol=1e-6
        )


def test_a_v_bend_gives_the_nearer_bracket_the_larger_moment() -> None:
    """Apex a third of the way: Burstone & Koenig, Am J Orthod Dentofacial Orthop 93 (1988) 59.

    Built-in ends get M1 = 2EI th (2b - a)/L^2 at the nearer and M2 = 2EI th (b - 2a)/L^2 at the farther bracket,
    nought at a third; play moves the figures, not the order.

    By hand: the wire points up before its apex, which turns the molar's bracket with it, +z: on tooth 46 the
    crown goes distally.
    """
    result = solved("v-bend")
    molar, premolar = result.attachment("molar bracket"), result.attachment("premolar bracket")
    assert molar.moment_nmm[2] > 3.0 * abs(premolar.moment_nmm[2])
    assert molar.orders["second"].carries_couple and "distal crown tip" in molar.orders["second"].words
    near = next(m for m in molar.mouths if m.place == "end")
    far = next(m for m in premolar.mouths if m.place == "start")
    assert near.moment_nmm[2] > 2.0 * abs(far.moment_nmm[2])
    # statics of the span between them: force times the way from mouth to mouth makes up for both moments
    nodes = result.wire.arc_length_mm
    way = np.diff(
        [result.wire.positions_mm[np.abs(nodes - m.arc_length_mm).argmin()] for m in (near, far)], axis=0
    )
    turning = near.moment_nmm[2] + far.moment_nmm[2] + np.cross(way[0], far.force_n)[2]
    assert abs(turning) < 1e-6 * near.moment_nmm[2]


def test_a_closing_loop_draws_the_teeth_together_with_little_moment() -> None:
    """Signs by hand: mesial is +x on tooth 15 and on 13; the opened loop pulls the premolar to +x, the canine to -x.

    The pull acts through the wire's elastic centre, above the brackets, so the moments counter the tipping of the
    crowns towards the space: -z on the premolar, +z on the canine.  Moment over force below half of the loop's
    height of 7 mm: the classical finding for vertical loops (Burstone & Koenig, Am J Orthod 70 (1976) 1; from
    memory).
    """
    result = solved("closing-loop")
    premolar, canine = result.attachment("premolar bracket"), result.attachment("canine bracket")
    assert 0.5 < premolar.force_n[0] < 2.0
    assert canine.force_n[0] == pytest.approx(-premolar.force_n[0], rel=1e-6)
    for item, sense in ((premolar, -1.0), (canine, 1.0)):
        assert item.orders["second"].carries_couple
        assert 0.0 < sense * item.moment_nmm[2] / premolar.force_n[0] < 3.5
    assert "mesial crown tip" in canine.orders["second"].words
    assert "distal crown tip" in premolar.orders["second"].words
    assert result.wire.yield_share is not None and result.wire.yield_share < 0.5


def test_a_levelled_arch_draws_each_tooth_that_is_out_of_line_towards_it() -> None:
    """Signs by hand, from the table: 43 stands high, 44 and 41 low, 42 and 32 inwards, 41 outwards."""
    result = solved("levelling-lower-arch")
    local = {
        item.name: item.pose.axes.T @ np.array(item.force_n) for item in result.attachments
    }  # along the slot, up (occlusal), out
    assert len(local) == 12
    assert local["43"][1] < -0.3 and local["44"][1] > 0.3 and local["41"][1] > 0.3
    assert local["42"][2] > 0.2 and local["32"][2] > 0.2 and local["41"][2] < -0.2
    # forces of levelling, not of a vice, and a wire that stays elastic
    assert max(np.linalg.norm(force) for force in local.values()) < 1.0
    assert result.wire.yield_share is not None and result.wire.yield_share < 1.0


@pytest.mark.parametrize("name", NAMES)
def test_its_files_say_what_the_result_says(name: str, tmp_path: Path) -> None:
    """JSON comes back as it went out, to the last digit; one row of the path an increment, one of the wire a node."""
    result = solved(name)
    write_outputs(result, tmp_path)
    read = json.loads((tmp_path / "result.json").read_text(encoding="utf-8"))
    assert read == to_json(result)
    for item, written in zip(result.attachments, read["attachments"], strict=True):
        assert tuple(written["force_n"]) == item.force_n
        assert tuple(written["moment_nmm"]) == item.moment_nmm
    with (tmp_path / "path.csv").open(encoding="utf-8", newline="") as file:
        path = list(csv.DictReader(file))
    assert len(path) == len(result.increments) >= 10
    assert float(path[-1]["activation"]) == 1.0
    with (tmp_path / "wire.csv").open(encoding="utf-8", newline="") as file:
        assert len(list(csv.DictReader(file))) == sum(wire.arc_length_mm.size for wire in result.wires)
    # what a bench test says is said of its farthest point
    end = [row for row in path if row["stage"] == OUT][-1] if result.bench else path[-1]
    for item in result.attachments:
        last = [float(end[f"{item.name} force_{axis}_n"]) for axis in "xyz"]
        assert last == pytest.approx(item.force_n, abs=0.0, rel=0.0)


@pytest.mark.parametrize("name", NAMES)
def test_flags_are_plain_truth_values(name: str) -> None:
    """A notebook may write ``order.carries_couple is False``."""
    for item in solved(name).attachments:
        for order in item.orders.values():
            assert type(order.carries_couple) is bool
            assert type(order.turns_freely) is bool


@pytest.mark.parametrize("name", NAMES)
def test_stations_and_elements_refined_together_change_nothing_that_matters(name: str) -> None:
    """Twice the contact stations, and every element of the mesh they bring cut in two: below 0.2 % of the largest force
    and couple."""
    case, here = load_case(LIBRARY / f"{name}.toml"), solved(name)
    slots = [spec.attachment.slot for spec in case.attachments if spec.attachment.slot is not None]
    count = max((slot.station_offsets().size for slot in slots), default=1)
    model = build_model(case, 2 * count - 1 if slots else None)
    middles = [0.5 * (of[1:] + of[:-1]) for of in (model.nodes[a : b + 1] for a, b in model.spans)]
    nodes = np.sort(np.concatenate((model.nodes, *middles)))
    legs = legs_of(case, model)
    path = engage(replace(model, nodes=nodes), legs=legs)
    end = path.last if case.bench is None else path.end_of([leg.name for leg in legs].index(OUT))
    finer = end.snapshot
    assert nodes.size > 1.8 * sum(wire.arc_length_mm.size for wire in here.wires)
    force = max(float(np.abs(item.force_n).max()) for item in here.attachments)
    moment = max(float(np.abs(item.moment_nmm).max()) for item in here.attachments)
    for k, item in enumerate(here.attachments):
        np.testing.assert_allclose(finer.force[k], item.force_n, rtol=0.0, atol=2e-3 * force)
        np.testing.assert_allclose(finer.moment[k], item.moment_nmm, rtol=0.0, atol=2e-3 * moment)


@pytest.mark.parametrize("name", NAMES)
def test_nothing_passes_a_wall_between_stations(name: str) -> None:
    """Walls are enforced at stations; between them the wire may pass by a thousandth of the play (0.1 mm)."""
    assert solved(name).deepest_between_stations_mm < 1e-4


def test_a_round_wire_lying_aslant_gives_no_third_order_couple() -> None:
    """It turns freely: whatever turns a slot about its length there is the other orders' moment, seen askew."""
    moments = []
    for item in solved("levelling-lower-arch").attachments:
        third = item.orders["third"]
        assert third.turns_freely and not third.carries_couple
        assert third.words.startswith("the wire turns freely here and gives no couple")
        moments.append(abs(third.moment_nmm))
    assert max(moments) > 0.05  # of some it must be said
