"""Small problems for the tests of fem, and what several of them need: motions, blocks, differences."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial.transform import Rotation

from fem.equilibrium import Outcome, Problem, current_stress, problem_of, solve, with_own_pivots
from fem.equilibrium_kernel import CONVERGED
from fem.material import LinearElastic
from fem.model import Clamp, Model, Restraint, SlotWalls, Support
from fem.section_law import LinearSection
from fem.torsion import torsion_constant
from geometry.attachments import Slot
from geometry.meshing import line_mesh
from geometry.motion import move_frame
from geometry.pose import Pose
from geometry.section import Rectangle, Round, Section
from geometry.wire_shapes import PassiveShape, Straight, seat

Array = NDArray[np.float64]

INCH = 25.4
STEEL = LinearElastic("steel", 2.0e5, 0.3)
# A rectangular wire with play in both directions of a slot, two such slots, and the wire beyond them (mm).
WIRE = Rectangle(0.016 * INCH, 0.022 * INCH)
SLOT = Slot(0.022 * INCH, 0.028 * INCH, 3.0)
DISTANCE = 10.0
OVERHANG = 2.0
# Cantilevers in their own units do not touch anything: any outline does.
ANY_SECTION = Round(0.01)


@dataclass(frozen=True, slots=True)
class Held:
    """A restraint, the arc length it meets, and the pose it ends in."""

    restraint: Restraint
    arc: float
    pose: Pose


def slot_walls(
    slot: Slot, count: int | None = None, stop: bool = False, hold_roll: bool = False
) -> SlotWalls:
    """The walls of ``slot`` at ``count`` stations, or at as many as its own law wants."""
    return SlotWalls(slot.height, slot.depth, slot.station_offsets(count), stop=stop, hold_roll=hold_roll)


def steel_law(section: Section, material: LinearElastic = STEEL) -> LinearSection:
    """Stiffnesses of ``section`` in steel."""
    return LinearSection.of(section, material, torsion_constant(section))


def wire_between(
    shape: PassiveShape,
    section: Section,
    law: LinearSection,
    held: Sequence[Held],
    largest: float | None = None,
) -> Model:
    """A wire seated in the first of its supports; the others start where the passive wire is."""
    placed = seat(shape, held[0].arc, held[0].pose)
    marks: list[float] = []
    supports = []
    for one in held:
        marks.append(one.arc)
        if isinstance(one.restraint, SlotWalls):
            marks.extend(one.arc + one.restraint.offsets)
        position, axes = shape.frames(np.array([one.arc]))
        supports.append(Support(one.restraint, one.arc, placed.compose(Pose(position[0], axes[0])), one.pose))
    inside = [round(mark, 12) for mark in marks if 0.0 <= mark <= shape.length]
    nodes = line_mesh(shape, np.unique(inside), largest)
    return Model(shape, placed, nodes, section, law, tuple(supports))


def straight_between(other: Pose, section: Section = WIRE, slot: Slot = SLOT) -> Model:
    """A straight wire through two brackets, the second of which moves from its place on the wire to ``other``."""
    shape = PassiveShape((Straight(DISTANCE + 2.0 * OVERHANG),))
    return wire_between(
        shape,
        section,
        steel_law(section),
        [
            Held(slot_walls(slot, 9, stop=True), OVERHANG, Pose.identity()),
            Held(slot_walls(slot, 9), OVERHANG + DISTANCE, other),
        ],
    )


def cantilever(
    stiffness: ArrayLike,
    elements: int,
    tip: ArrayLike,
    shape: PassiveShape | None = None,
    placed: Pose | None = None,
) -> Model:
    """Clamped at its start, with a dead force and moment ``tip`` (6,) at its end; of length 1 unless shaped."""
    shape = shape or PassiveShape((Straight(1.0),))
    placed = placed or Pose.identity()
    loads = np.zeros((elements + 1, 6))
    loads[-1] = tip
    nodes = np.linspace(0.0, shape.length, elements + 1)
    clamp = Support(Clamp(), 0.0, placed, placed)
    return Model(shape, placed, nodes, ANY_SECTION, LinearSection(np.array(stiffness)), (clamp,), loads)


def slender_stiffness(
    slenderness: float, bending: float = 1.0, length: float = 1.0, torsion: float = 1.0
) -> Array:
    """EA = (slenderness/length)^2 EI, kGA = EA/2.6, both bending stiffnesses equal."""
    axial = slenderness**2 * bending / length**2
    return np.array([axial, axial / 2.6, axial / 2.6, torsion, bending, bending])


def solved(model: Model, increments: int = 1) -> tuple[Problem, Outcome]:
    """The model at full load; every increment must converge."""
    problem = problem_of(model)
    outcome = solve(problem, 1.0 / increments)
    assert outcome.code == CONVERGED
    for number in range(2, increments + 1):
        outcome = solve(problem, number / increments)
        assert outcome.code == CONVERGED
    return problem, outcome


def wrong_pivots(problem: Problem) -> int:
    """Pivots that are not positive at full load: directions in which the equilibrium is no minimum of the energy.

    By plain Newton steps, which stay on a path that is no longer stable."""
    outcome = solve(problem, 1.0, downhill=False)
    assert outcome.code == CONVERGED
    return with_own_pivots(problem, 1.0, outcome).wrong_pivots


def found_at(model: Model, positions: Array, axes: Array) -> Problem:
    """The problem with the wire already at ``positions`` (n, 3) with ``axes`` (n, 3, 3), near an equilibrium."""
    problem = problem_of(model)
    problem.state.positions[:], problem.state.axes[:] = positions, axes
    _, problem.state.predicted[:] = current_stress(problem)
    return problem


def critical(
    wrong: Callable[[float], int], low: float, high: float, count: int = 1, accuracy: float = 1e-4
) -> float:
    """The load between ``low`` and ``high``, to a share of itself, from which ``count`` pivots are wrong."""
    assert wrong(low) < count <= wrong(high)
    while high - low > accuracy * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if wrong(middle) < count else (low, middle)
    return 0.5 * (low + high)


def moved_model(model: Model, by: Pose) -> Model:
    """The same model, wire, supports, loads and all, carried along by the rigid motion ``by``."""
    supports = tuple(replace(s, start=by.compose(s.start), end=by.compose(s.end)) for s in model.supports)
    loads = model.loads
    if loads is not None:
        loads = np.hstack((loads[:, :3] @ by.axes.T, loads[:, 3:] @ by.axes.T))
    return replace(model, placed=by.compose(model.placed), supports=supports, loads=loads)


def random_pose(rng: np.random.Generator, distance: float = 1.0) -> Pose:
    """Any orientation, about ``distance`` from the origin."""
    return Pose(distance * rng.normal(size=3), Rotation.random(rng=rng).as_matrix())


def moved_frames(positions: Array, axes: Array, steps: ArrayLike) -> tuple[Array, Array]:
    """Frames (n, 3), (n, 3, 3) followed by exponential motions ``steps`` (n, 6) or (6 n,) in their own axes."""
    out_positions, out_axes, turn = np.empty_like(positions), np.empty_like(axes), np.empty((3, 3))
    for i, (ux, uy, uz, wx, wy, wz) in enumerate(np.asarray(steps, dtype=np.float64).reshape(-1, 6)):
        move_frame(positions[i], axes[i], ux, uy, uz, wx, wy, wz, turn, out_positions[i], out_axes[i])
    return out_positions, out_axes


def dense(diagonal: Array, upper: Array) -> Array:
    """The whole symmetric matrix of its blocks (n, 6, 6) and (n - 1, 6, 6)."""
    n = len(diagonal)
    out = np.zeros((6 * n, 6 * n))
    for i in range(n):
        out[6 * i : 6 * i + 6, 6 * i : 6 * i + 6] = diagonal[i]
    for i in range(n - 1):
        out[6 * i : 6 * i + 6, 6 * i + 6 : 6 * i + 12] = upper[i]
        out[6 * i + 6 : 6 * i + 12, 6 * i : 6 * i + 6] = upper[i].T
    return out


def slope(function: Callable[[Array], Array], size: int, step: float = 1e-4) -> Array:
    """Derivative (size, ...) of ``function`` at zero, by central differences of fourth order."""
    out = []
    for unit in np.eye(size) * step:
        near = function(unit) - function(-unit)
        far = function(2.0 * unit) - function(-2.0 * unit)
        out.append((8.0 * near - far) / (12.0 * step))
    return np.array(out)


def hessian(function: Callable[[Array], float], size: int, step: float = 1e-3) -> Array:
    """Second derivative (size, size) at zero, by central differences of fourth order (step and twice the step)."""

    def second(h: float) -> Array:
        units = np.eye(size) * h
        out = np.zeros((size, size))
        for i in range(size):
            for j in range(i + 1):
                a, b = units[i], units[j]
                mixed = function(a + b) - function(a - b) - function(b - a) + function(-a - b)
                out[i, j] = out[j, i] = mixed / (4.0 * h * h)
        return out

    return (4.0 * second(step) - second(2.0 * step)) / 3.0
