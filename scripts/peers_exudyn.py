"""The tasks of scripts/peers in exudyn: geometrically exact beams and, in the plane, cables in absolute coordinates."""

from __future__ import annotations

import importlib
import math
from collections.abc import Callable
from dataclasses import dataclass
from importlib import metadata
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scripts.peers_packages import Absent, Package, Reader, Way, not_installed
from scripts.peers_problems import Mesh, Task

Array = NDArray[np.float64]

NAME = "exudyn"
RELATIVE, ABSOLUTE, MOST_ITERATIONS = 1e-8, 1e-10, 25
"""Newton's method: the package's own tolerances of the residual."""
INTEGRATION = 2
"""Of the cable: mixed, with the best axial strain."""
DENSE_BELOW = 20
"""Elements: below it the dense solver is the faster one."""
SETTINGS = (
    f"Newton's method to its own tolerances, residual {RELATIVE:g} of the first or {ABSOLUTE:g}, tangent formed anew "
    "in every iteration; equal load steps, no adaptive ones; dense solver below "
    f"{DENSE_BELOW} elements, else sparse; cable with mixed integration (2); no files, no console; "
    "beams in space only where the wire leaves its plane"
)


@dataclass(frozen=True, slots=True)
class Modules:
    """The package and its items."""

    exudyn: Any
    items: Any


def load() -> Package | Absent:
    """The package, or why it is not here."""
    absent = not_installed(NAME)
    if absent is not None:
        return absent
    try:
        modules = Modules(importlib.import_module(NAME), importlib.import_module(f"{NAME}.itemInterface"))
    except (ImportError, OSError) as error:
        return Absent(NAME, f"it is installed but does not load ({error}); install it anew")
    modules.exudyn.SetWriteToConsole(False)
    ways = (
        Way(NAME, "ANCF cable 2D", False, _planar, _runner(modules, _cables)),
        Way(NAME, "geometrically exact 2D", True, _planar, _runner(modules, _beams)),
        Way(NAME, "geometrically exact 3D", True, lambda task: not task.planar, _runner(modules, _space)),
    )
    return Package(NAME, metadata.version(NAME), SETTINGS, ways)


def _planar(task: Task) -> bool:
    return task.planar


@dataclass(frozen=True, slots=True)
class Built:
    """A model before it is solved: where to push its end and what holds it."""

    end: int
    """Node."""
    height: int
    """Coordinate of a node that moves across."""
    direction: int
    """Coordinate that turns."""
    target: float
    """By how much it changes until the end is level."""
    held: tuple[int, ...]
    """Coordinates held at the start, empty where a joint does it."""


def _beams(modules: Modules, system: Any, task: Task, mesh: Mesh) -> Built:
    """Reissner's beam in the plane; a curved one is free of stress by its nodes' rotations."""
    items, headings = modules.items, mesh.headings.tolist()
    places = mesh.positions[:, :2].tolist()
    nodes = [
        system.AddNode(items.NodeRigidBody2D(referenceCoordinates=[*place, heading]))
        for place, heading in zip(places, headings, strict=True)
    ]
    chords = np.linalg.norm(np.diff(mesh.positions, axis=0), axis=1).tolist()
    for first, chord in enumerate(chords):
        system.AddObject(
            items.ObjectBeamGeometricallyExact2D(
                nodeNumbers=[nodes[first], nodes[first + 1]],
                length=chord,
                massPerLength=1.0,
                crossSectionInertia=1.0,
                bendingStiffness=task.stiffness[5],
                axialStiffness=task.stiffness[0],
                shearStiffness=task.stiffness[1],
                referenceCurvature=(headings[first + 1] - headings[first]) / chord,
                includeReferenceRotations=True,
            )
        )
    return Built(nodes[-1], 1, 2, -headings[-1], (0, 1, 2))


def _cables(modules: Modules, system: Any, task: Task, mesh: Mesh) -> Built:
    """Cubic cables with slopes at the nodes; their passive shape is their reference."""
    items = modules.items
    places, slopes = mesh.positions[:, :2].tolist(), mesh.axes[:, :2, 0].tolist()
    nodes = [
        system.AddNode(items.NodePoint2DSlope1(referenceCoordinates=[*place, *slope]))
        for place, slope in zip(places, slopes, strict=True)
    ]
    for first, length in enumerate(np.diff(mesh.arcs).tolist()):
        system.AddObject(
            items.ObjectANCFCable2D(
                nodeNumbers=[nodes[first], nodes[first + 1]],
                length=length,
                massPerLength=1.0,
                bendingStiffness=task.stiffness[5],
                axialStiffness=task.stiffness[0],
                strainIsRelativeToReference=1.0,
                useReducedOrderIntegration=INTEGRATION,
            )
        )
    return Built(nodes[-1], 1, 3, -slopes[-1][1], (0, 1, 3))


def _space(modules: Modules, system: Any, task: Task, mesh: Mesh) -> Built:
    """Two-node beam in space on Euler parameters; its reference is the passive shape."""
    items = modules.items
    section = modules.exudyn.BeamSection()
    section.stiffnessMatrix = np.diag(task.stiffness)
    section.massPerLength, section.inertia = 1.0, np.eye(3)
    nodes = []
    for place, heading in zip(mesh.positions.tolist(), mesh.headings.tolist(), strict=True):
        turned = [math.cos(0.5 * heading), 0.0, 0.0, math.sin(0.5 * heading)]
        nodes.append(system.AddNode(items.NodeRigidBodyEP(referenceCoordinates=[*place, *turned])))
    for first, length in enumerate(np.diff(mesh.arcs).tolist()):
        system.AddObject(
            items.ObjectBeamGeometricallyExact(
                nodeNumbers=[nodes[first], nodes[first + 1]], length=length, sectionData=section
            )
        )
    ground = system.AddMarker(items.MarkerBodyRigid(bodyNumber=system.AddObject(items.ObjectGround())))
    start = system.AddMarker(items.MarkerNodeRigid(nodeNumber=nodes[0]))
    system.AddObject(items.ObjectJointGeneric(markerNumbers=[ground, start]))
    return Built(nodes[-1], 1, 0, 0.0, ())


Builder = Callable[[Modules, Any, Task, Mesh], Built]


def _runner(modules: Modules, build: Builder) -> Callable[[Task, Mesh, int], Reader | None]:
    exudyn, items = modules.exudyn, modules.items

    def run(task: Task, mesh: Mesh, increments: int) -> Reader | None:
        container = exudyn.SystemContainer()
        system = container.AddSystem()
        built = build(modules, system, task, mesh)
        hold = _holder(items, system)
        start = [hold(0, coordinate, 0.0, increments) for coordinate in built.held]
        end: list[int] = []
        if task.tip is None:
            lift = hold(built.end, built.height, -float(mesh.positions[-1, 1]), increments)
            end = [lift, hold(built.end, built.direction, built.target, increments)]
        else:
            marker = system.AddMarker(items.MarkerNodePosition(nodeNumber=built.end))
            system.AddLoad(items.LoadForceVector(markerNumber=marker, loadVector=list(task.tip)))
        system.Assemble()
        try:
            if not system.SolveStatic(_settings(exudyn, increments, mesh.arcs.size - 1)):
                return None
        except RuntimeError:  # raised where the residual is no number
            return None

        def read() -> Array:
            assert container is not None  # the system lives as long as what holds it
            kinds = exudyn.OutputVariableType
            if task.tip is not None:
                return np.array(system.GetNodeOutput(built.end, kinds.Displacement), dtype=np.float64)
            loads = [float(system.GetObjectOutput(one, kinds.Force)) for one in (*end, start[-1])]
            # A slope is as long as the wire is stretched there, within 1e-6 of one: its force is the moment.
            return np.array([loads[0] * mesh.arcs[-1], -loads[2], loads[1]])

        return read

    return run


def _holder(items: Any, system: Any) -> Callable[[int, int, float, int], int]:
    """Makes constraints that take a coordinate of a node by a way, all at once or in steps."""
    ground = system.AddNode(items.NodePointGround())
    fixed = system.AddMarker(items.MarkerNodeCoordinate(nodeNumber=ground, coordinate=0))

    def hold(node: int, coordinate: int, way: float, increments: int) -> int:
        marker = system.AddMarker(items.MarkerNodeCoordinate(nodeNumber=node, coordinate=coordinate))
        constraint = items.ObjectConnectorCoordinate(markerNumbers=[fixed, marker], offset=way)
        if way != 0.0 and increments > 1:  # only loads grow by themselves from step to step
            constraint.offsetUserFunction = lambda system, t, number, offset: t * offset
        return int(system.AddObject(constraint))

    return hold


def _settings(exudyn: Any, increments: int, elements: int) -> Any:
    settings = exudyn.SimulationSettings()
    settings.solutionSettings.writeSolutionToFile = False
    dense = elements < DENSE_BELOW
    settings.linearSolverType = getattr(exudyn.LinearSolverType, "EigenDense" if dense else "EigenSparse")
    static = settings.staticSolver
    static.numberOfLoadSteps = increments
    static.adaptiveStep = False
    static.verboseMode = 0
    static.newton.relativeTolerance, static.newton.absoluteTolerance = RELATIVE, ABSOLUTE
    static.newton.maxIterations = MOST_ITERATIONS
    return settings
