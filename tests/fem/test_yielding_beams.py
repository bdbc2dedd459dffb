"""Wires that yield or transform, in the solver: energy, increments, temperature, release, mounts, memory on the way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fem.advance import Options, advance
from fem.fibre_material import FibreMaterial
from fem.fibre_paths import BEND_Z, follow
from fem.fibre_section import FibreSection
from fem.limit_points import follow_load
from fem.model import Clamp, Model
from fem.path import Leg, Path, engage, go_on
from fem.permanent_set import released
from fem.rods import Held, rod
from fem.section_law import LinearSection
from fem.supports import Ways
from geometry.pose import Pose
from geometry.section import Rectangle, Round
from geometry.wire_shapes import PassiveShape, Straight
from tests.yielding_wires import (
    HARDENING,
    NITI,
    PLASTIC,
    S1,
    WIRE,
    arc_end,
    bends,
    deflections,
    on_three_points,
    straight,
)

ENDS = [(0.0, Clamp()), (5.0, Clamp(slides=True))]


def moments(path: Path) -> list[float]:
    """About depth, at the middle, at the end of every leg."""
    ends = (path.end_of(leg).snapshot for leg in range(len(path.legs)))
    return [float(snapshot.resultants[5, 0, 5]) for snapshot in ends]


def balance(path: Path) -> np.ndarray:
    """Work put in so far less what is stored and dissipated, (increments,) N mm."""
    work = np.cumsum([increment.work for increment in path.increments])
    kept = [increment.snapshot.fibres for increment in path.increments]
    return work - np.array([one.stored + one.dissipated for one in kept if one is not None])


@pytest.mark.parametrize("material", [HARDENING, NITI], ids=lambda m: m.name)
def test_bent_evenly_a_wire_is_its_section(material: FibreMaterial) -> None:
    """Every section of a wire bent to an arc without axial force is the one of `fem.fibre_paths`, out, back and out.

    The neutral fibre of a wire that is stronger in compression moves, so that its middle is stretched and its arc not
    quite that of its clamps."""
    way = [0.08, 0.2, 0.05, -0.1, 0.15]
    model = straight(5.0, material, ENDS)
    assert model.fibres is not None
    path = engage(model, legs=bends(model, way, 8))
    ends = zip([0.0, *way[:-1]], way, strict=True)
    alone = follow(model.fibres, BEND_Z, np.concatenate([np.linspace(a, b, 9)[1:] for a, b in ends]))
    near = 1e-6 if material is HARDENING else 1e-4
    np.testing.assert_allclose(moments(path), alone.resultants[:, BEND_Z], rtol=near, atol=near)
    fibres = path.last.snapshot.fibres
    assert fibres is not None
    if material is HARDENING:
        np.testing.assert_allclose(fibres.strains[:, :, BEND_Z], way[-1], rtol=near)
    assert fibres.dissipated == pytest.approx(5.0 * float(alone.dissipated[-1]), rel=near)


@pytest.mark.parametrize("material", [HARDENING, S1, NITI], ids=lambda m: m.name)
def test_work_put_in_is_stored_or_dissipated(material: FibreMaterial) -> None:
    """Along two cycles of bending; the trapezoidal rule falls short by the square of the increments."""
    model = straight(5.0, material, ENDS)
    off = []
    for increments in (10, 20):
        path = engage(model, legs=bends(model, [0.2, 0.0, 0.2, 0.0], increments))
        fibres = path.last.snapshot.fibres
        assert fibres is not None
        off.append(np.abs(balance(path)).max() / fibres.dissipated)
    assert off[1] < 0.5 * off[0]
    assert off[1] < 0.005


def test_a_closed_loop_loses_the_area_it_encloses() -> None:
    """The second cycle of a superelastic wire is the first: it loses the area of its loop of moment and angle."""
    model = straight(5.0, NITI, ENDS)
    path = engage(model, legs=bends(model, [0.2, 0.0, 0.2, 0.0], 25))
    lost = [path.end_of(leg).snapshot.fibres.dissipated for leg in (49, 99)]  # type: ignore[union-attr]
    assert lost[1] == pytest.approx(2.0 * lost[0], rel=1e-6)
    bent = np.array([0.2 * min(k, 50 - k) / 25.0 for k in range(51)])
    moment = np.array([0.0, *moments(path)[50:]])
    area = 5.0 * float((0.5 * (moment[1:] + moment[:-1]) * np.diff(bent)).sum())
    assert lost[0] == pytest.approx(area, rel=0.005)


@pytest.mark.parametrize("material", [S1, NITI], ids=lambda m: m.name)
def test_a_superelastic_wire_comes_back_to_nothing(material: FibreMaterial) -> None:
    """Pushed together until it buckles as it transforms, and back."""
    model = straight(5.0, material, [(0.0, Clamp()), (5.0, Clamp())])
    down = Pose(np.array([4.6, -1.8, 0.3]), np.eye(3))
    start = model.supports[0].start
    path = engage(
        model, legs=[Leg("out", (start, down), 10), Leg("back", (start, model.supports[1].start), 10)]
    )
    fibres = path.last.snapshot.fibres
    assert fibres is not None
    assert path.end_of(0).snapshot.fibres.martensite_share > 0.05  # type: ignore[union-attr]
    assert fibres.martensite_share == 0.0
    assert fibres.stored < 1e-12
    assert np.abs(path.last.snapshot.positions - model.passive_frames(model.nodes)[0]).max() < 1e-9
    assert np.abs(path.last.snapshot.force).max() < 1e-6


def test_nothing_changes_where_nothing_yields() -> None:
    """Bit for bit the elastic wire, below the limit."""
    found = []
    for elastic in (True, False):
        model = straight(5.0, PLASTIC, [(0.0, Clamp()), (5.0, Clamp())], Rectangle(0.4, 0.5), elastic=elastic)
        down = Pose(np.array([5.0, 0.08, 0.06]), np.eye(3))
        found.append(engage(model, legs=[Leg("out", (model.supports[0].start, down), 4)]))
    for one, other in zip(found[0].increments, found[1].increments, strict=True):
        np.testing.assert_array_equal(one.snapshot.positions, other.snapshot.positions)
        np.testing.assert_array_equal(one.snapshot.force, other.snapshot.force)
    fibres = found[1].last.snapshot.fibres
    assert fibres is not None
    assert fibres.dissipated == fibres.yielded_share == 0.0
    assert fibres.stress.max() > 0.5 * PLASTIC.yield_stress


@pytest.mark.parametrize("material", [HARDENING, NITI], ids=lambda m: m.name)
def test_a_growing_load_needs_no_small_increments(material: FibreMaterial) -> None:
    """The same way in 4 and in 40: backward Euler and superelastic kinetics are exact where fibres are strained on
    and on in one direction, and nearly so where shear joins in."""
    end = straight(6.0, material, [(0.0, Clamp()), (6.0, Clamp(slides=True))])
    there = Pose(np.array([6.0, -2.0, 0.0]), np.eye(3))
    forces = []
    for increments in (4, 40):
        path = engage(end, legs=[Leg("out", (end.supports[0].start, there), increments)])
        forces.append(path.last.snapshot.force[1])
    np.testing.assert_allclose(forces[0], forces[1], atol=2e-3 * np.abs(forces[1]).max())


def test_the_same_in_any_direction() -> None:
    forces = []
    turn = np.array([[0.36, 0.48, -0.8], [-0.8, 0.6, 0.0], [0.48, 0.64, 0.6]])
    for placed in (Pose.identity(), Pose(np.array([3.0, -2.0, 7.0]), turn)):
        model = straight(5.0, HARDENING, [(0.0, Clamp()), (5.0, Clamp())], placed=placed)
        there = placed.compose(Pose(np.array([4.7, -1.2, 0.8]), np.eye(3)))
        path = engage(model, legs=[Leg("out", (model.supports[0].start, there), 12)])
        forces.append(path.last.snapshot.force[1] @ placed.axes)
    np.testing.assert_allclose(forces[0], forces[1], atol=1e-6 * np.abs(forces[0]).max())


def test_warmth_on_the_way() -> None:
    """Bent at 37 degC, then warmed and cooled while held: the section's own answer to the same."""
    model = straight(5.0, NITI, ENDS, temperature=37.0)
    assert model.fibres is not None
    legs = bends(model, [0.15], 8)
    held = legs[-1].ends
    legs += [Leg("warm", held, 6, temperature=45.0), Leg("cool", held, 6, temperature=25.0)]
    path = engage(model, legs=legs)
    curvatures = [*np.linspace(0.0, 0.15, 9)[1:], *([0.15] * 12)]
    warmth = [37.0] * 8 + list(np.linspace(37, 45, 7)[1:]) + list(np.linspace(45, 25, 7)[1:])
    alone = follow(model.fibres, BEND_Z, curvatures, temperatures=warmth)
    wanted = alone.resultants[[*range(8), 13, 19], BEND_Z]
    np.testing.assert_allclose(moments(path), wanted, rtol=1e-4)
    assert moments(path)[9] < 0.9 * moments(path)[8]
    assert path.last.snapshot.fibres.temperature == pytest.approx(25.0)  # type: ignore[union-attr]


def test_the_way_goes_on_with_what_the_wire_remembers() -> None:
    """`go_on` is the same path in parts, twice if asked twice."""
    model = straight(5.0, HARDENING, ENDS)
    whole = engage(model, legs=bends(model, [0.2, 0.0], 6))
    part = engage(model, legs=bends(model, [0.2], 6))
    for _ in range(2):
        path = go_on(part, bends(model, [0.2, 0.0], 6)[6:])
        np.testing.assert_allclose(moments(path), moments(whole), rtol=1e-9)
        assert len(path.legs) == 12
        assert path.increments[-1].leg == 11


def test_what_fails_or_is_tried_again_begins_at_the_last_increment() -> None:
    """Increments found anew from the same state are the same, and leave the memory as it was."""
    model = straight(5.0, HARDENING, [(0.0, Clamp()), (5.0, Clamp())])
    there = Pose(np.array([5.0, -2.0, 0.0]), np.eye(3))
    further = Pose(np.array([4.9, -2.5, 0.0]), np.eye(3))
    start = model.supports[0].start
    path = engage(model, legs=[Leg("out", (start, there), 4)])
    problem = replace(path.problem, ways=Ways.of((start, there), (start, further)))
    before, state = problem.beam.fibres.committed.copy(), problem.state.flat.copy()
    found = []
    for _ in range(2):
        problem.state.flat[:] = state
        on = advance(problem, 1, 0.5, Options())
        assert isinstance(on, tuple)
        found.append(on[0].state.positions.copy())
        np.testing.assert_array_equal(problem.beam.fibres.committed, before)
    np.testing.assert_allclose(found[0], found[1], atol=1e-10)


def test_supports_that_give_way_have_no_memory_of_their_search() -> None:
    """A wire bent against a spring: as if the spring's end had been moved to where it gave way to."""
    give = np.array([0.0, 0.02, 0.0, 0.0, 0.0, 0.0])
    start = Pose.identity()
    there = Pose(np.array([5.0, -2.2, 0.0]), np.eye(3))
    soft = straight(5.0, HARDENING, [(0.0, Clamp()), (5.0, Clamp(slides=True))], compliance=give)
    path = engage(soft, legs=[Leg("out", (start, there), 12)])
    snapshot = path.last.snapshot
    deflected = snapshot.support_position[1, 1] - there.position[1]
    assert deflected == pytest.approx(0.02 * snapshot.force[1, 1], rel=1e-5)
    stiff = straight(5.0, HARDENING, [(0.0, Clamp()), (5.0, Clamp(slides=True))])
    legs, reached = [], []
    for increment in path.increments:
        at = increment.snapshot.support_position[1]
        legs.append(Leg("on", (start, Pose(at.copy(), np.eye(3))), 1))
        reached.append(increment.snapshot.force[1, 1])
    forces = [increment.snapshot.force[1, 1] for increment in engage(stiff, legs=legs).increments]
    np.testing.assert_allclose(forces, reached, rtol=1e-4)


def test_a_wire_let_go_keeps_its_set_and_can_be_run_again() -> None:
    model = straight(5.0, HARDENING, ENDS)
    path = engage(model, legs=bends(model, [0.25], 8))
    loose = released(path)
    snapshot = loose.path.last.snapshot
    assert not snapshot.any_force
    assert model.fibres is not None
    alone = follow(model.fibres, BEND_Z, np.linspace(0.0, 0.25, 9)[1:])
    left = 0.25 - alone.resultants[-1, BEND_Z] / model.law.stiffness[5]
    assert loose.bent[-1] == pytest.approx(5.0 * left, rel=0.02)  # some fibres yield on the way back
    # the shape is the wire as it lies, but for the stretch of its centreline
    positions, _ = loose.shape.frames(model.nodes)
    np.testing.assert_allclose(loose.placed.to_world(positions), snapshot.positions, atol=1e-4)
    again = Model(loose.shape, loose.placed, model.nodes, WIRE, model.law, fibres=model.fibres)
    np.testing.assert_allclose(again.passive_frames(model.nodes)[0], snapshot.positions, atol=1e-4)
    # the path that was let go is as it was
    assert moments(path)[-1] == pytest.approx(float(alone.resultants[-1, BEND_Z]), rel=1e-6)


def test_a_wire_that_slides_through_its_supports_takes_its_memory_along() -> None:
    """Three-point bending with nodes that follow: work, less what is stored and lost, differs by next to nothing once
    the increments are small (0.8 % in 15 of them, by the trapezoidal rule); forces on the way back hardly change."""
    off, forces = [], []
    for elements in (20, 40):
        model = on_three_points(S1, elements)
        path = engage(model, legs=deflections(model, [3.0, 1.0], 60))
        fibres = path.last.snapshot.fibres
        assert fibres is not None
        off.append(abs(balance(path)[-1]) / fibres.dissipated)
        forces.append(float(path.last.snapshot.force[1, 1]))
    assert max(off) < 1e-3
    assert forces[0] == pytest.approx(forces[1], rel=0.01)


@pytest.mark.parametrize("material", [NITI, PLASTIC], ids=lambda m: m.name)
def test_force_is_the_derivative_of_the_energy_while_nothing_yields(material: FibreMaterial) -> None:
    model = on_three_points(material, 20)
    path = engage(model, legs=deflections(model, [0.01 * k for k in range(1, 21)], 1))
    stored = [increment.snapshot.fibres.stored for increment in path.increments]  # type: ignore[union-attr]
    force = [float(increment.snapshot.force[1, 1]) for increment in path.increments]
    mean = 0.5 * (np.array(force[1:]) + np.array(force[:-1]))
    np.testing.assert_allclose(np.diff(stored) / 0.01, mean, rtol=5e-4)


def test_a_rod_of_any_material_in_one_call() -> None:
    held = [Held(Clamp(), 0.0), Held(Clamp(slides=True), 5.0, end=arc_end(5.0, 0.2))]
    path = engage(rod(PassiveShape((Straight(5.0),)), WIRE, NITI, held, elements=10))
    fibres = path.last.snapshot.fibres
    assert fibres is not None
    assert fibres.martensite_share > 0.1
    assert fibres.yielded_share == 0.0
    assert (fibres.martensite <= 1.0).all()
    assert (fibres.plastic == 0.0).all()


def test_values_that_do_not_belong_together_are_refused() -> None:
    model = straight(5.0, NITI, ENDS)
    other = FibreSection.for_beam(Round(0.5), NITI)
    parts = (model.shape, model.placed, model.nodes, WIRE, model.law, model.supports)
    with pytest.raises(ValueError, match="must be those of its section"):
        Model(*parts, fibres=other)
    with pytest.raises(ValueError, match="same stiffnesses"):
        Model(*parts[:4], LinearSection(2.0 * model.law.stiffness), model.supports, fibres=model.fibres)
    with pytest.raises(ValueError, match="does not go back"):
        Model(*parts, fibres=model.fibres, temperature=-20.0)
    with pytest.raises(ValueError, match="does not go back"):
        engage(model, legs=[Leg("cold", (model.supports[0].start,) * 2, temperature=-20.0)])
    with pytest.raises(ValueError, match="elastic: use engage"):
        follow_load(model, until=lambda point: True)
    with pytest.raises(ValueError, match="temperature"):
        Leg("warm", (model.supports[0].start,) * 2, temperature=float("nan"))
