"""Bench tests against what can be worked out by hand: the shipped two, and what a rig does to a reading."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from cases.results import BACK, OUT, BenchReading, BenchResult
from cases.run import run_case
from cases.schema import Case
from fem.torsion import torsion_constant
from geometry.clearance import clearance
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
    """An elastic answer depends on the last state alone; the loads agree to the rig's iteration, 1e-6 of its turn."""
    bench = bench_of("torque-test")
    out = {round(one.travel, 6): one.load for one in way(bench, OUT)}
    for one in way(bench, BACK)[:-1]:
        assert one.load == pytest.approx(out[round(one.travel, 6)], rel=1e-5, abs=1e-9)
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
    P m^2 (3M - m)/(6 EI), m and M the smaller and larger of a and b (any handbook; from memory).  Its centre must pass
    the slot's axis by no more than half the play at either mouth: (w/2) tan(tilt) - (h / cos(tilt) - H)/2 of
    deflection, up at one mouth and down at the other; the load at each wall's give in series.
    """
    bracket = of.attachments[0].attachment
    slot, section = bracket.slot, of.wire.section
    assert slot is not None and isinstance(section, Rectangle)
    tilt = math.radians(5.0)
    stiffness = of.wire.material.youngs_modulus_mpa * section.second_moment_z
    arms = np.array([free - 0.5 * slot.width * math.cos(tilt), free + 0.5 * slot.width * math.cos(tilt)])
    small, large = np.minimum.outer(arms, arms), np.maximum.outer(arms, arms)
    flexibility = small**2 * (3.0 * large - small) / (6.0 * stiffness)
    # H = h cos(t) - w sin(t) where the wire lies straight through: what is missing is bent, half at either mouth
    most = 0.5 * (slot.width * math.sin(tilt) + section.height - slot.height * math.cos(tilt))
    near, far = np.linalg.solve(flexibility, [most, -most])
    return float(near), float(far)


def test_resistance_to_sliding_is_the_coefficient_times_all_normal_forces() -> None:
    """Coulomb's law, wall by wall: at the start of the way the wire is pressed by the ring (1.5 N) to the floor, which
    answers (1.5 N), and by both mouths, with forces from beam theory.  3 %: the bend of the wire inside the mouths and
    the give of the walls are not in the formula, nor the cosine of the tilt (0.4 %)."""
    of, bench = case("sliding-test"), bench_of("sliding-test")
    free = float(of.attachments[1].attachment.pose.position[0])
    for one in way(bench, OUT)[:: len(way(bench, OUT)) - 1]:
        near, far = mouth_forces(of, free + one.travel)
        assert near * far < 0.0
        expected = 0.15 * (abs(near) + abs(far) + 1.5 + 1.5)
        print(one.travel, one.load, expected)
        assert one.load == pytest.approx(expected, rel=0.03)


def test_every_contact_slides_at_its_limit_and_together_they_are_the_load() -> None:
    """At the end of the bench test: friction of each contact is mu times its normal force, all along the slot, which
    stands askew by 5 deg to the way of the clamp."""
    result, bench = solved("sliding-test"), bench_of("sliding-test")
    bracket = result.attachment("bracket")
    for one in bracket.contacts:
        assert one.friction_force_n == pytest.approx(0.15 * one.normal_force_n, rel=1e-3, abs=1e-6)


def test_what_the_rig_puts_in_is_lost_in_friction() -> None:
    """Energy: the loop of load and travel is the work lost on it, but for the change in the energy of the bent wire and
    the stretched ring, both below 1 % of it since the wire is back where it was.  Trapezoids between readings."""
    result, bench = solved("sliding-test"), bench_of("sliding-test")
    out, back = way(bench, OUT), way(bench, BACK)
    work = sum(
        0.5 * (a.load + b.load) * (b.travel - a.travel)
        for part in (out, back)
        for a, b in zip(part, part[1:])
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
