"""What scripts/peers compares: packages, the ways each of them models a wire, and what to say where one is absent."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import metadata

import numpy as np
from numpy.typing import NDArray

from fem.equilibrium import Problem, problem_of, solve
from fem.equilibrium_kernel import CONVERGED
from fem.model import Clamp, Model, Support
from fem.recovery import section_resultants
from fem.section_law import LinearSection
from geometry.pose import Pose
from scripts.peers_problems import Mesh, Task
from tests.fem_problems import ANY_SECTION

Array = NDArray[np.float64]

OURS = "wireslot"
HOW_TO_GET = "bash scripts/setup peers"

Reader = Callable[[], Array]
"""Reads the answer (3,) of a `Task` off a solved model."""


@dataclass(frozen=True, slots=True)
class Way:
    """One kind of element in one package."""

    package: str
    element: str
    shear: bool
    """Whether its sections may lean: decides which exact answer is its own."""
    fits: Callable[[Task], bool]
    run: Callable[[Task, Mesh, int], Reader | None]
    """Builds the model on a mesh and solves it in so many increments; None where it does not converge."""
    tidy: Callable[[], None] = lambda: None
    """Removes a model that would live on until the next run; not timed."""

    @property
    def name(self) -> str:
        """Package and element."""
        return f"{self.package}, {self.element}"


@dataclass(frozen=True, slots=True)
class Package:
    """A package that is here."""

    name: str
    version: str
    settings: str
    """What was chosen for it, in a sentence."""
    ways: tuple[Way, ...]


@dataclass(frozen=True, slots=True)
class Absent:
    """A package that is not, and the remedy."""

    name: str
    why: str

    @property
    def sentence(self) -> str:
        """What the user reads."""
        return f"{self.name} is left out: {self.why}"


def not_installed(name: str) -> Absent | None:
    """The package's absence, or None where it is installed."""
    try:
        metadata.version(name)
    except metadata.PackageNotFoundError:
        return Absent(name, f"it is not installed; get it with: {HOW_TO_GET}")
    return None


def ours() -> Package:
    """This program's own solver, always in three dimensions."""
    settings = (
        "three-dimensional beam on rigid motions; the whole load or way in as few increments as converge; "
        "balance to 1e-8 of the largest force; the passive shape, the model and its arrays are made in every run"
    )
    version = metadata.version(OURS)
    return Package(OURS, version, settings, (Way(OURS, "3D", True, lambda task: True, _run),))


def our_model(task: Task, mesh: Mesh) -> Model:
    """The task as a model of this program, from its passive shape on."""
    shape = task.shape()
    here = Pose.identity()
    supports = [Support(Clamp(), 0.0, here, here)]
    loads = None
    if task.tip is None:
        position, axes = shape.frames(np.array([shape.length]))
        level = Pose(position[0] * (1.0, 0.0, 0.0), np.eye(3))
        supports.append(Support(Clamp(slides=True), shape.length, Pose(position[0], axes[0]), level))
    else:
        loads = np.zeros((mesh.arcs.size, 6))
        loads[-1, :3] = task.tip
    law = LinearSection(np.array(task.stiffness))
    return Model(shape, here, mesh.arcs, ANY_SECTION, law, tuple(supports), loads)


def our_solution(problem: Problem, increments: int) -> bool:
    """Whether all increments converge."""
    return all(solve(problem, number / increments).code == CONVERGED for number in range(1, increments + 1))


def _run(task: Task, mesh: Mesh, increments: int) -> Reader | None:
    problem = problem_of(our_model(task, mesh))
    if not our_solution(problem, increments):
        return None
    length = float(mesh.arcs[-1])

    def read() -> Array:
        state = problem.state
        if task.tip is not None:
            return np.asarray(state.positions[-1] - mesh.positions[-1])
        first, last = section_resultants(problem)[[0, -1], [0, 1]]
        across = float((state.axes[-1] @ last[:3])[1])
        return np.array([across * length, first[5], last[5]])

    return read
