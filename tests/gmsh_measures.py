"""What Gmsh says of the cells of a solid, as a witness apart from the program."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import gmsh
import numpy as np

from geometry.solid_mesh import GMSH_ORDER


@contextmanager
def _session() -> Iterator[None]:
    gmsh.initialize(interruptible=False, readConfigFiles=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        yield
    finally:
        gmsh.finalize()


def gmsh_finds(points: np.ndarray, cells: np.ndarray, *what: str) -> list[np.ndarray]:
    """What Gmsh says of each wedge (m, 18) in VTK's order: "volume", "minDetJac"."""
    with _session():
        gmsh.model.addDiscreteEntity(3, 1)
        gmsh.model.mesh.addNodes(3, 1, np.arange(1, len(points) + 1), np.asarray(points).ravel())
        tags = np.arange(1, len(cells) + 1)
        wedge = gmsh.model.mesh.getElementType("prism", 2)
        gmsh.model.mesh.addElementsByType(1, wedge, tags, (cells[:, GMSH_ORDER] + 1).ravel())
        return [np.array(gmsh.model.mesh.getElementQualities(tags, name)) for name in what]


def gmsh_reads(file: Path, *what: str) -> tuple[dict[str, int], list[np.ndarray]]:
    """Solid elements in a mesh file, how many of each kind, and what Gmsh says of each of them."""
    with _session():
        gmsh.open(str(file))
        kinds, tags, _ = gmsh.model.mesh.getElements(3)
        names = [gmsh.model.mesh.getElementProperties(kind)[0] for kind in kinds]
        counts = {name: len(found) for name, found in zip(names, tags, strict=True)}
        every = np.concatenate(tags)
        return counts, [np.array(gmsh.model.mesh.getElementQualities(every, name)) for name in what]
