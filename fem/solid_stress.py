"""Stress at every point of a wire's section from the six resultants its beam carries there.

Axial: s = N/A + M_y z/I_y - M_z y/I_z.  Shear: the torque's after Saint-Venant, T/J (dw/dy - z, dw/dz + y) with
the warping w and the torsion constant J, and the shear forces' (fem.section_shear).  All are linear in the
resultants, so one table of stress per unit resultant at the nodes of a section's mesh serves a whole wire.

Finite elements give shear between nodes; a least squares fit that keeps forces and torque carries it to the
nodes, so that the nodal stresses add up to the very resultants they came from.  At a sharp edge, where there is
no shear, the fit leaves up to 15 % of the largest.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.section_shear import at_nodes, shear_of_forces, shear_of_torque
from fem.section_stress import largest_equivalent_stress
from fem.torsion import KEPT_SOLUTIONS, torsion_constants
from geometry.meshing import SectionMesh
from geometry.pose import frozen
from geometry.section import Section
from geometry.solid_mesh import coarse_section_mesh

Array = NDArray[np.float64]
Indices = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class UnitStress:
    """Stress at the nodes of a section's mesh per unit of each resultant."""

    mesh: SectionMesh
    per_resultant: Array
    """(p, 3, 6) in 1/mm^2 and 1/mm^3: axial stress, shear along height, shear along depth; by N, V_y, V_z, T,
    M_y, M_z."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "per_resultant", frozen(self.per_resultant))


@dataclass(frozen=True, slots=True)
class SolidStress:
    """Stress at the nodes of a solid wire, MPa."""

    axial: Array
    """(n,) along the wire, tension positive."""
    shear: Array
    """(n, 2) across it, along height and along depth of the section."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "axial", frozen(self.axial))
        object.__setattr__(self, "shear", frozen(self.shear))

    @property
    def von_mises(self) -> Array:
        """(n,) sqrt(s^2 + 3 t^2)."""
        equivalent: Array = np.sqrt(self.axial**2 + 3.0 * (self.shear**2).sum(axis=1))
        return equivalent


@functools.lru_cache(maxsize=KEPT_SOLUTIONS)
def unit_stress(section: Section, poisson: float, divisions: int | None = None) -> UnitStress:
    """The table of a section on a mesh of ``divisions`` triangles across its smaller side (None: as a solid wire
    has).  Kept per section.

    ``poisson`` matters for the shear forces' share only.
    """
    mesh = coarse_section_mesh(section) if divisions is None else coarse_section_mesh(section, divisions)
    y, z = mesh.points.T
    table = np.zeros((len(mesh.points), 3, 6))
    table[:, 0, 0] = 1.0 / section.area
    table[:, 0, 4] = z / section.second_moment_y
    table[:, 0, 5] = -y / section.second_moment_z
    torque, _ = shear_of_torque(mesh)
    shear = np.concatenate((shear_of_forces(mesh, poisson), torque[..., None]), axis=-1)
    table[:, 1:, 1:4] = at_nodes(mesh, shear.reshape(*shear.shape[:2], 6)).reshape(-1, 2, 3)
    return UnitStress(mesh, table)


def solid_stress(unit: UnitStress, section_node: Indices, resultants: ArrayLike) -> SolidStress:
    """Stress (n,) at nodes that are points ``section_node`` (n,) of the mesh, in sections that carry
    ``resultants`` (n, 6): N, V_y, V_z in N, T, M_y, M_z in N mm."""
    r = np.asarray(resultants, dtype=np.float64)
    stress = np.einsum("ncj,nj->nc", unit.per_resultant[section_node], r)
    return SolidStress(stress[:, 0], stress[:, 1:])


def resultants_along(section: Section, nodes: ArrayLike, ends: ArrayLike, arcs: ArrayLike) -> Array:
    """Resultants (k, 6) at ``arcs`` (k,) in mm of a beam that carries ``ends`` (m, 2, 6) at the ends of its
    elements, linear in between.

    At a node a contact makes them jump; there the side counts whose largest von Mises stress is the larger, as
    one state, not a mixture of both.
    """
    n, e = np.asarray(nodes, dtype=np.float64), np.asarray(ends, dtype=np.float64)
    at = np.asarray(arcs, dtype=np.float64)
    torsion = torsion_constants(section)

    def on(element: Indices) -> tuple[Array, Array]:
        share = ((at - n[element]) / (n[element + 1] - n[element]))[:, None]
        carried = (1.0 - share) * e[element, 0] + share * e[element, 1]
        return carried, largest_equivalent_stress(section, torsion, carried)

    last = n.size - 2
    before, stress_before = on((np.searchsorted(n, at, side="left") - 1).clip(0, last))
    after, stress_after = on((np.searchsorted(n, at, side="right") - 1).clip(0, last))
    larger: Array = np.where((stress_before > stress_after)[:, None], before, after)
    return larger


def telling_arcs(section: Section, nodes: ArrayLike, ends: ArrayLike, share: float = 0.05) -> Array:
    """Arcs (k,) of the nodes between which stress runs straight to within ``share`` of its largest, the foremost
    first: where forces act, and where a course is curved.

    ``nodes`` and ``ends`` as in ``resultants_along``.  Each resultant counts by the largest stress it causes.
    The interval that a straight course fits worst is divided where it does (Ramer 1972; Douglas & Peucker 1973).
    """
    n, e = np.asarray(nodes, dtype=np.float64), np.asarray(ends, dtype=np.float64)
    torsion = torsion_constants(section)
    stress = e * largest_equivalent_stress(section, torsion, np.eye(6))
    allowed = share * float(np.linalg.norm(stress, axis=-1).max())
    found: list[tuple[float, float]] = []
    intervals = [(0, n.size - 1)]
    while intervals:
        first, last = intervals.pop()
        if last - first < 2:
            continue
        inner = n[first + 1 : last]
        along = ((inner - n[first]) / (n[last] - n[first]))[:, None]
        straight = (1.0 - along) * stress[first, 0] + along * stress[last - 1, 1]
        off = np.maximum(
            np.linalg.norm(stress[first : last - 1, 1] - straight, axis=1),
            np.linalg.norm(stress[first + 1 : last, 0] - straight, axis=1),
        )
        worst = int(off.argmax())
        if off[worst] > allowed:
            middle = first + 1 + worst
            found.append((float(off[worst]), float(n[middle])))
            intervals += [(first, middle), (middle, last)]
    return np.array([arc for _, arc in sorted(found, reverse=True)])
