"""Bench tests against what can be worked out by hand: the shipped two, and what a rig does to a reading."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from cases.results import BACK, OUT, BenchReading, BenchResult
from cases.run import run_case
from cases.schema import Case
from fem.following import NODE_OFF
from fem.torsion import torsion_constant
from geometry.clearance import clearance
from geometry.ligation import CLOSED
from geometry.section import Rectangle
from tests.shipped import case, solved


def bench_of(name: str) -> BenchResult:
    found = solved(name).bench
    assert found is not None
    return found


def way(bench: BenchResult, stage: str) -> list[BenchReading]:
    return [one for one in bench.readings if one.stage == stage]


def twisted(of: Case) -> tuple[float, float]:
    """GJ/L of the free wire, N mm/rad, from the clamp to the near mouth; and the play in third order, rad."""
    clamp, bracket = of.attachments
    slot = bracket.attachment.slot
    assert slot is not None
    free = float(bracket.attachment.pose.position[0] - clamp.attachment.pose.position[0]) - 0.5 * slot.width
    material = of.wire.material
    shear_modulus = material.youngs_modulus_mpa / (2.0 * (1.0 + material.poisson))
    play = clearance(of.wire.section, slot).third.angle
    assert play is not None
    return shear_modulus * torsion_constant(of.wire.section) / free, play


def test_torque_on_a_rig_is_two_springs_one_after_the_other_beyond_the_play() -> None:
    """M = (angle - play) / (L/(GJ) + c): Saint-Venant torsion of the free wire (Timoshenko & Goodier, art. 109, from
    memory), the rig's compliance c in series.  0.1 %: the wire's torsion inside the mouth is not in the formula."""
    of, bench = case("torque-test"), bench_of("torque-test")
    stiffness, play = twisted(of)
    assert of.bench is not None
    rig = of.bench.compliance[3]
    assert rig == pytest.approx(math.pi / 180.0 / 20.0)
    for one in bench.readings:
        expected = max(math.radians(one.travel) - play, 0.0) / (1.0 / stiffness + rig)
        assert one.load == pytest.approx(expected, rel=1e-3, abs=1e-9)
    assert [one.travel for one in way(bench, OUT)] == pytest.approx(np.arange(2.0, 30.1, 2.0))
    assert max(one.load for one in bench.readings) > 30.0


def test_a_rigid_rig_reads_more() -> None:
    """The same without the rig's compliance: M = GJ/L (angle - play)."""
    of = case("torque-test")
    assert of.bench is not None
    rigid = run_case(replace(of, bench=replace(of.bench, compliance=(0.0,) * 6, increments=3))).bench
    assert rigid is not None
    stiffness, play = twisted(of)
    assert way(rigid, OUT)[-1].load == pytest.approx(stiffness * (math.radians(30.0) - play), rel=1e-3)


def test_without_friction_the_way_back_is_the_way_out() -> None:
    """An elastic answer depends on the last state alone.

    The farthest point is followed exactly; on the way the node that the torque acts on may stand beside the mouth by
    NODE_OFF, and the twisted wire be longer or shorter by so much."""
    bench = bench_of("torque-test")
    free = 8.5  # mm of wire between the clamp and the near mouth
    out = {round(one.travel, 6): one.load for one in way(bench, OUT)}
    for one in way(bench, BACK)[:-1]:
        assert one.load == pytest.approx(out[round(one.travel, 6)], rel=NODE_OFF / free, abs=1e-9)
    assert way(bench, BACK)[-1].load == 0.0
    assert sum(one.lost_nmm for one in solved("torque-test").increments) == 0.0


def test_the_measured_curve_is_laid_beside() -> None:
    bench = bench_of("torque-test")
    assert bench.measured_file == "torque-test-measured.csv"
    assert bench.measured_travel[0] == 0.0 and max(bench.measured_travel) == pytest.approx(30.0)
    assert len(bench.measured_load) == len(bench.measured_travel) == 21


@pytest.mark.parametrize("at_clamp", [False, True])
def test_another_sensor_and_another_point(at_clamp: bool) -> None:
    """Statics by hand: what the bracket gets the clamp gets the other way round; a force couple has the same moment
    about every point, so a sensor elsewhere reads the same torque."""
    of = case("torque-test")
    assert of.bench is not None
    sensor = "clamp" if at_clamp else "bracket"
    spec = replace(of.bench, increments=3, sensor=sensor, sensor_from_centre=(1.0, 2.0, -3.0), measured=None)
    found = run_case(replace(of, bench=spec)).bench
    assert found is not None and found.sensor == sensor and found.measured_file is None
    expected = bench_of("torque-test").readings[14]
    last = way(found, OUT)[-1]
    assert last.load == pytest.approx(expected.load, rel=1e-5)
    assert last.moment_nmm[0] == pytest.approx((1.0 if at_clamp else -1.0) * expected.load, rel=1e-5)


def mouth_forces(of: Case, free: float) -> tuple[float, float]:
    """Forces (N) of the slot's walls on the wire at the near and the far mouth, by beam theory.

    The wire is a cantilever from the clamp; a point load P at the distance a deflects it at b by
    P m^2 (3M - m)/(6 EI), m and M the smaller and larger of a and b (any handbook; from memory).  Two edges of the
    slot, across its diagonal, bear on it: seen along the straight wire they stand (w cos t + h sin t)/2 from the
    centre, and push its centre line off by (w sin t - h cos t + H)/2, up at one and down at the other.
    """
    bracket = of.attachments[0].attachment
    slot, section = bracket.slot, of.wire.section
    assert slot is not None and isinstance(section, Rectangle)
    tilt = math.radians(5.0)
    sine, cosine = math.sin(tilt), math.cos(tilt)
    stiffness = of.wire.material.youngs_modulus_mpa * section.second_moment_z
    half = 0.5 * (slot.width * cosine + slot.height * sine)
    off = 0.5 * (slot.width * sine - slot.height * cosine + section.height)
    arms = np.array([free - half, free + half])
    small, large = np.minimum.outer(arms, arms), np.maximum.outer(arms, arms)
    flexibility = small**2 * (3.0 * large - small) / (6.0 * stiffness)
    near, far = np.linalg.solve(flexibility, [off, -off])
    return float(near), float(far)


def test_resistance_to_sliding_is_the_coefficient_times_the_normal_forces_of_a_beam() -> None:
    """Coulomb's law with forces from beam theory; the slot closed and rigid, which is what the formula knows.  3 %: the
    wire's own slope in the slot is left out; the normal forces lean by it, which takes 0.02 N of 0.8 N."""
    of = case("sliding-test")
    item = of.attachments[0]
    rigid = replace(item, attachment=replace(item.attachment, ligation=CLOSED, wall_modulus=math.inf))
    assert of.bench is not None
    spec = replace(of.bench, by=(0.4, 0.0, 0.0), increments=4)
    found = run_case(replace(of, attachments=(rigid, of.attachments[1]), bench=spec)).bench
    assert found is not None
    free = float(of.attachments[1].attachment.pose.position[0])
    for one in way(found, OUT):
        near, far = mouth_forces(of, free + one.travel)
        assert near > 0.0 > far
        assert one.load == pytest.approx(0.15 * (near - far), rel=0.03)


def test_resistance_to_sliding_is_the_coefficient_times_all_normal_forces() -> None:
    """Coulomb's law at the farthest point: floor, ring and both mouths.  0.2 %: what slides bears its
    limit, to what the mesh's last move changes; 2 %: the normal forces lean by the wire's slope, 0.05 at most."""
    bracket = solved("sliding-test").attachment("bracket")
    normal = sum(one.normal_force_n for one in bracket.contacts)
    rubbing = sum(one.friction_force_n for one in bracket.contacts)
    last = way(bench_of("sliding-test"), OUT)[-1]
    assert rubbing == pytest.approx(0.15 * normal, rel=2e-3)
    assert last.load == pytest.approx(0.15 * normal, rel=0.02)
    # the ring presses with 1.5 N on a wire that lies on the floor, and the floor answers
    for wall in {one.wall for one in bracket.contacts} - {
        "upper wall",
        "lower wall",
        "occlusal wall",
        "gingival wall",
    }:
        assert sum(one.normal_force_n for one in bracket.contacts if one.wall == wall) == pytest.approx(
            1.5, rel=0.01
        )


def test_what_the_rig_puts_in_is_lost_in_friction() -> None:
    """Energy: the loop of load and travel is the work lost on it, but for the change in the energy of the bent wire and
    the stretched ring, both below 1 % of it since the wire is back where it was.  Trapezoids between readings."""
    result, bench = solved("sliding-test"), bench_of("sliding-test")
    out, back = way(bench, OUT), way(bench, BACK)
    work = sum(
        0.5 * (a.load + b.load) * (b.travel - a.travel)
        for part in (out, back)
        for a, b in zip(part, part[1:], strict=False)
    )
    # between the turning point and the first reading back, and before the first reading out, sliding in full
    step = out[1].travel - out[0].travel
    work += step * (out[0].load - back[0].load)
    lost = sum(one.lost_nmm for one in result.increments if one.stage in (OUT, BACK))
    assert lost > 4.0
    assert work == pytest.approx(lost, rel=0.01)


def test_binding_falls_as_the_free_wire_gets_longer() -> None:
    loads = [one.load for one in way(bench_of("sliding-test"), OUT)]
    assert all(a > b > 0.0 for a, b in zip(loads, loads[1:], strict=False))
    assert all(one.load < 0.0 for one in way(bench_of("sliding-test"), BACK))
