"""The tasks of scripts/peers in openseespy: corotational frame elements, in the plane and in space."""

from __future__ import annotations

import ctypes
import importlib
import os
from collections.abc import Callable
from importlib import metadata, util
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scripts.peers_packages import Absent, Package, Reader, Way, not_installed
from scripts.peers_problems import Mesh, Task

Array = NDArray[np.float64]

NAME = "openseespy"
# Its wheel for Linux carries these, but does not look for them where they lie.
CARRIED = ("libquadmath.so.0", "libgfortran.so.4", "libblas.so.3")
STEP = 1e-6
"""Newton's method ends at a step below this share of the wire's length."""
MOST_ITERATIONS = 25
PENALTY = 1e8
"""Of an end that is moved, in EI over the length."""
POINTS = 3
"""Integration points of displacement- and force-based elements."""
SETTINGS = (
    "corotational transformation; Newton's method to a step of 1e-6 of the length, tangent formed anew in every "
    "iteration, no line search; load control in equal increments, a moved end by penalty; banded solver (BandGeneral), "
    "nodes numbered along the wire; 3 Lobatto points where an element integrates; in the plane 3 degrees of freedom a "
    "node; in space its displacement- and force-based elements gave the same answers, no faster, and are left out"
)


def load() -> Package | Absent:
    """The package, or why it is not here."""
    absent = not_installed(NAME)
    if absent is not None:
        return absent
    try:
        _load_carried()
        ops = importlib.import_module("openseespy.opensees")
    except (ImportError, RuntimeError, OSError) as error:
        return Absent(NAME, _remedy(error))
    ops.logFile(os.devnull, "-noEcho")

    def way(element: str, kind: str, space: bool) -> Way:
        def fits(task: Task) -> bool:
            return space or task.planar

        return Way(NAME, element, False, fits, _runner(ops, kind, space), ops.wipe)

    ways = (
        way("elastic 2D", "elastic", False),
        way("displacement-based 2D", "displacement", False),
        way("force-based 2D", "force", False),
        way("elastic 3D", "elastic", True),
    )
    return Package(NAME, metadata.version(NAME), SETTINGS, ways)


def _load_carried() -> None:
    """Load the libraries that lie in the wheel, so that they are there when it asks for them."""
    found = util.find_spec("openseespylinux")
    if found is None or found.origin is None:
        return
    folder = Path(found.origin).parent / "lib"
    for name in CARRIED:
        if (folder / name).exists():
            ctypes.CDLL(str(folder / name))


def _remedy(error: BaseException) -> str:
    """Why it does not load and what to do, from the innermost message."""
    while error.__cause__ is not None or error.__context__ is not None:
        error = error.__cause__ or error.__context__  # type: ignore[assignment]
    return (
        f"it is installed but does not load ({error}); on Debian or Ubuntu install the libraries it needs with: "
        "apt-get install libblas3 liblapack3 libgfortran5; its pinned version is built for Python 3.11"
    )


def _runner(ops: Any, kind: str, space: bool) -> Callable[[Task, Mesh, int], Reader | None]:
    def run(task: Task, mesh: Mesh, increments: int) -> Reader | None:
        ops.wipe()
        ops.model("basic", "-ndm", 3 if space else 2, "-ndf", 6 if space else 3)
        _nodes(ops, task, mesh, space)
        _elements(ops, task, mesh.arcs.size - 1, kind, space)
        _ends(ops, task, mesh, space)
        if task.tip is None:
            # By penalty the first iterate moves the whole wire; by transformation only its end, which goes astray.
            penalty = PENALTY * task.stiffness[5] / float(mesh.arcs[-1])
            ops.constraints("Penalty", penalty, penalty)
        else:
            ops.constraints("Plain")
        ops.numberer("Plain")
        ops.system("BandGeneral")
        ops.test("NormDispIncr", STEP * float(mesh.arcs[-1]), MOST_ITERATIONS, 0)
        ops.algorithm("Newton")
        ops.integrator("LoadControl", 1.0 / increments)
        ops.analysis("Static", "-noWarnings")
        if ops.analyze(increments) != 0:
            return None
        return lambda: _read(ops, task, mesh, space)

    return run


def _nodes(ops: Any, task: Task, mesh: Mesh, space: bool) -> None:
    for tag, place in enumerate(mesh.positions.tolist()):
        ops.node(tag, *(place if space else place[:2]))
    ops.fix(0, *(1,) * (6 if space else 3))
    if task.tip is None and space:
        ops.fix(mesh.arcs.size - 1, 0, 0, 1, 1, 1, 0)


def _elements(ops: Any, task: Task, count: int, kind: str, space: bool) -> None:
    """Sections and elements; stiffnesses are handed over with E = G = 1."""
    axial, _, _, torsion, about_height, about_depth = task.stiffness
    section: tuple[float, ...]
    if space:
        ops.geomTransf("Corotational", 1, 0.0, 0.0, 1.0)
        section = (1.0, axial, about_depth, about_height, 1.0, torsion)
        elastic: tuple[float, ...] = (axial, 1.0, 1.0, torsion, about_height, about_depth)
    else:
        ops.geomTransf("Corotational", 1)
        section = (1.0, axial, about_depth)
        elastic = (axial, 1.0, about_depth)
    if kind == "elastic":
        for tag in range(count):
            ops.element("elasticBeamColumn", tag, tag, tag + 1, *elastic, 1)
        return
    ops.section("Elastic", 1, *section)
    ops.beamIntegration("Lobatto", 1, 1, POINTS)
    name = "dispBeamColumn" if kind == "displacement" else "forceBeamColumn"
    for tag in range(count):
        ops.element(name, tag, tag, tag + 1, 1, 1)


def _ends(ops: Any, task: Task, mesh: Mesh, space: bool) -> None:
    """Dead force at the end, or the end's way down to the start's height and direction."""
    last = mesh.arcs.size - 1
    ops.timeSeries("Linear", 1)
    ops.pattern("Plain", 1, 1)
    if task.tip is None:
        ops.sp(last, 2, -float(mesh.positions[-1, 1]))
        ops.sp(last, 6 if space else 3, -float(mesh.headings[-1]))
    elif space:
        ops.load(last, *task.tip, 0.0, 0.0, 0.0)
    else:
        ops.load(last, *task.tip[:2], 0.0)


def _read(ops: Any, task: Task, mesh: Mesh, space: bool) -> Array:
    last = mesh.arcs.size - 1
    if task.tip is None:
        ops.reactions()
        turn = 6 if space else 3
        across, end = ops.nodeReaction(last, 2), ops.nodeReaction(last, turn)
        return np.array([across * mesh.arcs[-1], -ops.nodeReaction(0, turn), end])
    moved = ops.nodeDisp(last)
    return np.array(moved[:3] if space else [*moved[:2], 0.0])
