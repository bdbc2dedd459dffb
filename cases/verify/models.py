"""Models that several checks share: cantilevers, wires between supports, critical loads."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.equilibrium import current_stress, problem_of, solve
from fem.equilibrium_kernel import CONVERGED
from fem.material import LinearElastic
from fem.model import Clamp, Model, Restraint, SlotWalls, Support
from fem.path import Options, Path, engage
from fem.section_law import LinearSection
from fem.torsion import torsion_constant
from geometry.attachments import Slot
from geometry.meshing import line_mesh
from geometry.pose import Pose
from geometry.section import Round, Section
from geometry.wire_shapes import PassiveShape, Straight, seat

Array = NDArray[np.float64]

INCH = 25.4
GF = 9.80665e-3
"""N in one gram-force, exact."""
THIN = Round(0.01)
"""Outline of wires in units of their own, which touch nothing."""
STEEL = LinearElastic("steel", 2.0e5, 0.3)
STATIONS = 17
"""Along a slot, where its torque alone counts."""


@dataclass(frozen=True, slots=True)
class Held:
    """A restraint, the arc length it meets, and the pose it ends in."""

    restraint: Restraint
    arc: float
    end: Pose


def law_of(section: Section, material: LinearElastic = STEEL) -> LinearSection:
    """Stiffnesses of a section, steel of 200 GPa unless said otherwise."""
    return LinearSection.of(section, material, torsion_constant(section))


def slender(length: float, bending: float = 1.0, torsion: float = 1.0) -> LinearSection:
    """A wire that bends and twists only: its stretch and shear are those of a slenderness of 2000."""
    axial = 2000.0**2 * bending / length**2
    return LinearSection(np.array([axial, axial / 2.6, axial / 2.6, torsion, bending, bending]))


def walls(
    slot: Slot,
    stations: int | None = STATIONS,
    stop: bool = False,
    hold_roll: bool = False,
    friction: float = 0.0,
) -> SlotWalls:
    """Rigid walls of a closed slot; ``stations`` None: as many as its own law wants."""
    offsets = slot.station_offsets(stations)
    return SlotWalls(slot.height, slot.depth, offsets, stop, hold_roll, friction=friction)


def straight(length: float) -> PassiveShape:
    """A straight wire."""
    return PassiveShape((Straight(length),))


def along(x: float, y: float = 0.0, **angles: float) -> Pose:
    """A pose in the plane of a facial view."""
    return Pose.from_angles([x, y, 0.0], **angles)


def wire(
    shape: PassiveShape,
    section: Section,
    law: LinearSection,
    held: Sequence[Held],
    largest: float | None = None,
) -> Model:
    """A wire seated in the first of its supports; the others start where the passive wire is."""
    placed = seat(shape, held[0].arc, held[0].end)
    marks: list[float] = []
    supports = []
    for one in held:
        marks.append(one.arc)
        if isinstance(one.restraint, SlotWalls):
            marks.extend(one.arc + one.restraint.offsets)
        position, axes = shape.frames(np.array([one.arc]))
        start = placed.compose(Pose(position[0], axes[0]))
        supports.append(Support(one.restraint, one.arc, start, one.end))
    inside = [round(mark, 12) for mark in marks if 0.0 <= mark <= shape.length]
    return Model(shape, placed, line_mesh(shape, np.unique(inside), largest), section, law, tuple(supports))


def cantilever(
    law: LinearSection, tip: ArrayLike, shape: PassiveShape | None = None, elements: int = 20
) -> Model:
    """Clamped at its start, tangent along x, a dead force and moment (6,) at its end; of length 1 unless shaped."""
    shape = shape or straight(1.0)
    loads = np.zeros((elements + 1, 6))
    loads[-1] = tip
    clamp = Support(Clamp(), 0.0, Pose.identity(), Pose.identity())
    nodes = np.linspace(0.0, shape.length, elements + 1)
    return Model(shape, Pose.identity(), nodes, THIN, law, (clamp,), loads)


def end_of(model: Model, increments: int = 4) -> tuple[Array, Array]:
    """Displacement (3,) of the wire's end, and its axes (3, 3)."""
    path = engage(model, Options(increments=increments))
    passive, _ = model.passive_frames(model.nodes[-1:])
    state = path.problem.state
    return np.asarray(state.positions[-1] - passive[0]), np.asarray(state.axes[-1])


def engaged(model: Model, increments: int = 8) -> Path:
    """The whole way."""
    return engage(model, Options(increments=increments))


def critical(wrong: Callable[[float], int], low: float, high: float) -> float:
    """Load between ``low`` and ``high`` from which on a pivot is wrong, to a ten-thousandth.

    Raises ArithmeticError where the load is not between them.
    """
    if wrong(low) or not wrong(high):
        raise ArithmeticError(f"the wire does not lose its stability between {low:.6g} and {high:.6g}")
    while high - low > 1e-4 * high:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if wrong(middle) else (middle, high)
    return 0.5 * (low + high)


def wrong_pivots(
    model: Model, positions: Array | None = None, axes: Array | None = None, share: float = 1.0
) -> int:
    """Directions in which the model is unstable, found near a given state or from the passive one.

    Raises ArithmeticError where there is no equilibrium."""
    problem = problem_of(model)
    if positions is not None and axes is not None:
        problem.state.positions[:], problem.state.axes[:] = positions, axes
        _, problem.state.predicted[:] = current_stress(problem)
    outcome = solve(problem, share, downhill=False)
    if outcome.code != CONVERGED:
        raise ArithmeticError("no equilibrium near the given state")
    return outcome.wrong_pivots
