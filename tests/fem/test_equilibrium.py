"""Whole wires in equilibrium: statics, energy, objectivity, play, statuses, and what a failed solve leaves behind."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from fem.element_law_kernel import element_law
from fem.equilibrium import Problem, current_stress, problem_of, solve
from fem.equilibrium_kernel import CONVERGED
from fem.model import Clamp, Model
from fem.path import Increment, Options, Path, engage
from fem.recovery import section_resultants, snapshot_of
from fem.status import NoEquilibrium, Status
from geometry.pose import Pose
from geometry.section import Round
from geometry.wire_shapes import Bend, PassiveShape, Straight
from tests.fem_problems import (
    DISTANCE,
    OVERHANG,
    SLOT,
    WIRE,
    Held,
    cantilever,
    moved_model,
    random_pose,
    slender_stiffness,
    slot_walls,
    solved,
    steel_law,
    wire_between,
)

Array = NDArray[np.float64]


def v_bend(angle_deg: float = 20.0, twist: float = 0.2, count: int = 9) -> Model:
    """A wire with a V-bend a third of the way between two brackets with play, the second one turned in third order."""
    bend, radius = math.radians(angle_deg), 0.5
    first = Straight(OVERHANG + DISTANCE / 3.0 - 0.5 * radius * bend)
    second = Straight(OVERHANG + 2.0 * DISTANCE / 3.0 - 0.5 * radius * bend)
    shape = PassiveShape((first, Bend(bend, "second", radius), second))
    other = Pose.from_angles([DISTANCE, 0.1, -0.2], 0.05, 0.02, twist)
    return wire_between(
        shape,
        WIRE,
        steel_law(WIRE),
        [
            Held(slot_walls(SLOT, count, stop=True), OVERHANG, Pose.identity()),
            Held(slot_walls(SLOT, count), shape.length - OVERHANG, other),
        ],
    )


@cache
def v_bend_path() -> Path:
    return engage(v_bend())


def strain_energy(problem: Problem) -> float:
    """What all elements have stored."""
    beam = problem.beam
    screws, stress = current_stress(problem)
    stiffness = np.empty((*stress.shape, 6))
    passive, lengths, compliance = beam.passive_screws, beam.lengths, beam.compliance
    return float(
        element_law(
            screws, passive, lengths, compliance, beam.fibres.active, stress, False, stress, stiffness
        )[0]
    )


# Loads


# Dead moments have no potential and the tangent is a symmetric one, so such loads take small increments.
TIP = np.array([-1.0, 2.0, 0.7, 0.1, -0.15, 0.2])


def test_the_clamp_carries_the_load() -> None:
    """Force and moment on the support are the load, its moment taken about the clamp (statics)."""
    placed = random_pose(np.random.default_rng(1))
    model = cantilever(slender_stiffness(100.0), 12, TIP, placed=placed)
    path = engage(model, Options(increments=8))
    snapshot = path.last.snapshot
    arm = snapshot.positions[-1] - placed.position
    np.testing.assert_allclose(snapshot.force[0], TIP[:3], rtol=0.0, atol=1e-8)
    np.testing.assert_allclose(snapshot.moment[0], TIP[3:] + np.cross(arm, TIP[:3]), rtol=0.0, atol=1e-8)
    assert path.status is Status.ENGAGED


def test_resultants_are_the_load_seen_from_every_section() -> None:
    """Force and moment across each section: the tip's load, moved to the section (statics)."""
    problem, _ = solved(cantilever(slender_stiffness(100.0), 12, TIP), increments=8)
    found = section_resultants(problem)
    x, r = problem.state.positions, problem.state.axes
    for e in range(12):
        for end in (0, 1):
            arm = x[-1] - x[e + end]
            force = r[e + end].T @ TIP[:3]
            moment = r[e + end].T @ (TIP[3:] + np.cross(arm, TIP[:3]))
            np.testing.assert_allclose(found[e, end], [*force, *moment], rtol=0.0, atol=1e-7)


def test_work_of_the_loads_is_the_strain_energy() -> None:
    """With the load t P, the work is P.u(1) less the integral of P.u(t) over t, here by Gauss's rule of 16 points."""
    force = np.array([-1.0, 3.0, 1.5])
    model = cantilever(slender_stiffness(100.0, torsion=0.7), 10, [*force, 0.0, 0.0, 0.0])
    problem = problem_of(model)
    start = problem.state.positions[-1].copy()
    points, weights = np.polynomial.legendre.leggauss(16)
    complementary = 0.0
    for t, weight in zip(0.5 * (points + 1.0), 0.5 * weights, strict=True):
        assert solve(problem, t).code == CONVERGED
        complementary += weight * force @ (problem.state.positions[-1] - start)
    assert solve(problem, 1.0).code == CONVERGED
    work = force @ (problem.state.positions[-1] - start) - complementary
    assert strain_energy(problem) == pytest.approx(work, rel=1e-9)


def test_one_increment_gives_what_many_give() -> None:
    model = cantilever(slender_stiffness(100.0), 12, [-2.0, 5.0, 3.0, 0.0, 0.0, 0.0])
    one, _ = solved(model)
    many, _ = solved(model, increments=7)
    np.testing.assert_allclose(one.state.positions, many.state.positions, rtol=0.0, atol=1e-8)


def test_a_wire_bent_back_on_itself() -> None:
    """Half a turn between two clamps: a semicircle under M = pi EI/L and no force (elementary bending)."""
    length, elements = 10.0, 12
    shape = PassiveShape((Straight(length),))
    end = Pose.from_angles([0.0, 2.0 * length / math.pi, 0.0], about_z=math.pi)
    section = Round(0.4)
    law = steel_law(section)
    model = wire_between(
        shape,
        section,
        law,
        [Held(Clamp(), 0.0, Pose.identity()), Held(Clamp(), length, end)],
        length / elements,
    )
    snapshot = engage(model).last.snapshot
    moment = math.pi * law.stiffness[5] / length
    np.testing.assert_allclose(snapshot.moment[:, 2], [moment, -moment], rtol=1e-8)
    assert np.abs(snapshot.force).max() < 1e-6 * moment / length
    angle = math.pi * snapshot.arcs / length
    circle = length / math.pi * np.column_stack((np.sin(angle), 1.0 - np.cos(angle), 0.0 * angle))
    np.testing.assert_allclose(snapshot.positions, circle, rtol=0.0, atol=1e-8)


# Slots


def test_two_brackets_balance_each_other() -> None:
    snapshot = v_bend_path().last.snapshot
    force, moment = snapshot.left_over()
    largest = np.abs(snapshot.force).max()
    assert largest > 1.0
    assert np.abs(force).max() < 1e-8 * largest
    assert np.abs(moment).max() < 1e-8 * np.abs(snapshot.moment).max()
    assert v_bend_path().status is Status.ENGAGED


def test_wall_forces_and_holds_make_up_the_reactions() -> None:
    """Each support's force and moment, added up from its contact points and its stop along the slot."""
    snapshot = v_bend_path().last.snapshot
    walls = snapshot.walls
    assert walls.normal.size >= 4
    assert (walls.normal > 0.0).all()
    for k in range(2):
        own = walls.support == k
        axes = snapshot.support_axes[k]
        force = walls.on_support[own].sum(axis=0)
        # The wire touches the wall's edge at its station; the outline's point beside it lies a little aslant.
        point = np.column_stack((walls.offset[own], walls.point[own][:, 1:]))
        assert np.abs(point - walls.point[own]).max() < 0.01
        moment = np.cross(point, walls.on_support[own]).sum(axis=0)
        missing = axes.T @ snapshot.force[k] - force
        np.testing.assert_allclose(missing[1:], 0.0, atol=1e-7)
        if k == 1:  # no stop here: frictionless walls push across the wire only
            np.testing.assert_allclose(missing[0], 0.0, atol=1e-7)
            np.testing.assert_allclose(axes.T @ snapshot.moment[k], moment, rtol=1e-3, atol=1e-3)
        np.testing.assert_allclose(
            np.linalg.norm(walls.on_support[own], axis=1), walls.normal[own], rtol=1e-6
        )


def test_no_wall_is_passed_at_a_station() -> None:
    problem = v_bend_path().problem
    one_sided = problem.constraints.sites.half_range < 0.0
    assert problem.state.touch.gap[one_sided].min() > -2e-9
    assert (problem.state.low >= 0.0).all()
    # A wall presses or has room, not both.
    assert np.abs(problem.state.low * problem.state.touch.gap)[one_sided].max() < 1e-7


def test_work_of_the_brackets_is_the_strain_energy() -> None:
    """Rigid frictionless walls do no work on a wire that slides: the energy grows by what the moved bracket puts in."""
    model = v_bend()
    options = Options(follow=False, increments=8)
    problem = engage(model, options).problem
    step = 2e-3
    energies, wrench, poses = [], None, []
    for activation in (1.0 - 2.0 * step, 1.0 - step, 1.0):
        assert solve(problem, activation).code == CONVERGED
        energies.append(strain_energy(problem))
        poses.append(problem.ways.at(activation))
        if activation == 1.0 - step:
            wrench = snapshot_of(problem, activation, 0.0)
    assert wrench is not None
    moved = poses[2][0][1] - poses[0][0][1]
    turn = poses[2][1][1] @ poses[0][1][1].T
    turned = 0.5 * np.array([turn[2, 1] - turn[1, 2], turn[0, 2] - turn[2, 0], turn[1, 0] - turn[0, 1]])
    put_in = -(wrench.force[1] @ moved + wrench.moment[1] @ turned)
    assert energies[2] - energies[0] == pytest.approx(put_in, rel=1e-3)


@pytest.mark.parametrize("seed", [1, 2])
def test_a_turned_and_moved_copy_gives_the_same(seed: int) -> None:
    here = v_bend_path().last.snapshot
    by = random_pose(np.random.default_rng(seed), distance=20.0)
    there = engage(moved_model(v_bend(), by)).last.snapshot
    scale = np.abs(here.force).max()
    np.testing.assert_allclose(there.force @ by.axes, here.force, rtol=0.0, atol=1e-9 * scale)
    scale = np.abs(here.moment).max()
    np.testing.assert_allclose(there.moment @ by.axes, here.moment, rtol=0.0, atol=1e-9 * scale)
    np.testing.assert_allclose(by.to_local(there.positions), here.positions, rtol=0.0, atol=1e-9)


def test_increments_do_not_change_an_elastic_answer() -> None:
    ten = v_bend_path().last.snapshot
    for increments in (4, 17):
        other = engage(v_bend(), Options(increments=increments)).last.snapshot
        np.testing.assert_allclose(other.force, ten.force, rtol=0.0, atol=1e-6 * np.abs(ten.force).max())
        np.testing.assert_allclose(other.moment, ten.moment, rtol=0.0, atol=1e-6 * np.abs(ten.moment).max())


def test_a_mirrored_case_gives_mirrored_forces() -> None:
    """Bend, angles and offsets turned about the slot's x by half a turn: forces and couples turn along."""
    here = v_bend_path().last.snapshot
    half_turn = Pose.from_angles([0, 0, 0], about_x=math.pi)
    shape = PassiveShape(
        tuple(replace(p, angle=-p.angle) if isinstance(p, Bend) else p for p in v_bend().shape.pieces)
    )
    other = half_turn.compose(v_bend().supports[1].end).compose(half_turn)
    there = engage(
        wire_between(
            shape,
            WIRE,
            steel_law(WIRE),
            [
                Held(slot_walls(SLOT, 9, stop=True), OVERHANG, Pose.identity()),
                Held(slot_walls(SLOT, 9), shape.length - OVERHANG, other),
            ],
        )
    ).last.snapshot
    np.testing.assert_allclose(there.force @ half_turn.axes, here.force, rtol=0.0, atol=1e-6)
    np.testing.assert_allclose(there.moment @ half_turn.axes, here.moment, rtol=0.0, atol=1e-6)


# Statuses, observers, failures


def test_the_observer_hears_of_every_increment() -> None:
    heard: list[Increment] = []
    path = engage(v_bend(), Options(increments=5), heard.append)
    assert heard == list(path.increments)
    np.testing.assert_allclose([i.activation for i in heard][-1], 1.0, rtol=0.0, atol=0.0)
    activations = [i.activation for i in heard]
    assert all(a < b for a, b in zip(activations, activations[1:], strict=False))


def test_a_failed_solve_carries_what_it_found() -> None:
    with pytest.raises(NoEquilibrium) as caught:
        engage(v_bend(), Options(most_iterations=1, least_increment=1.0 / 512.0))
    error = caught.value
    assert error.status is Status.TOO_MANY_ITERATIONS
    assert not error.status.converged
    assert error.status.sentence in str(error)
    assert error.history.ndim == 2
    assert error.history.shape[0] >= 2
    assert error.history.shape[1] == 4
    assert np.isfinite(error.history).all()
    assert error.history[:, 0].max() > 0.0
    assert 0.0 <= error.activation < 1.0
    accepted = [i for i in error.accepted if isinstance(i, Increment)]
    assert len(accepted) == len(error.accepted)
    assert (accepted[-1].activation if accepted else 0.0) == error.activation


def test_a_column_beyond_its_critical_load_is_unstable() -> None:
    """Straight under P = 1.5 pi^2 E I/(4 L^2), Euler's load of a cantilever: in equilibrium, but no minimum."""
    for share, status in ((0.9, Status.ENGAGED), (1.5, Status.UNSTABLE)):
        load = share * math.pi**2 / 4.0
        path = engage(cantilever(slender_stiffness(300.0), 10, [-load, 0, 0, 0, 0, 0]))
        assert path.status is status
        assert path.status.converged
