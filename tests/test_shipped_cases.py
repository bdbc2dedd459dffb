"""Every shipped case converges and balances; the signs are the ones its comment promises."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from cases.casefile import LIBRARY, load_case
from cases.output import to_json
from cases.run import run_case
from cases.schema import Case
from geometry.pose import Pose

NAMES = (
    "molar-uprighting",
    "torque-through-play",
    "torque-round-wire",
    "v-bend",
    "step-bend-clamped",
    "step-bend-full-size-slots",
)


@pytest.mark.parametrize("name", NAMES)
def test_it_converges_and_balances(name: str) -> None:
    result = run_case(load_case(LIBRARY / f"{name}.toml"))
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
