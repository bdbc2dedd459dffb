"""Integrals over a section's mesh by a rule of its own, apart from the program's."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.meshing import SectionMesh

Array = NDArray[np.float64]


def over_section(mesh: SectionMesh, values: ArrayLike) -> Array:
    """Integral over the section of nodal ``values`` (n, ...), curved sides as they are.

    Seven points, degree five (Radon, Monatsh. Math. 52 (1948) 286; from memory).
    """
    root = math.sqrt(15.0)
    rule = [(1 / 3, 1 / 3, 9 / 80)]
    for a, weight in (((6 - root) / 21, (155 - root) / 2400), ((6 + root) / 21, (155 + root) / 2400)):
        rule += [(a, a, weight), (1 - 2 * a, a, weight), (a, 1 - 2 * a, weight)]
    corners, nodal = mesh.points[mesh.triangles], np.asarray(values, dtype=np.float64)[mesh.triangles]
    total = np.zeros(nodal.shape[2:])
    for u, v, weight in rule:
        t = 1 - u - v
        shape = np.array([t * (2 * t - 1), u * (2 * u - 1), v * (2 * v - 1), 4 * t * u, 4 * u * v, 4 * v * t])
        by_u = np.array([1 - 4 * t, 4 * u - 1, 0, 4 * (t - u), 4 * v, -4 * v])
        by_v = np.array([1 - 4 * t, 0, 4 * v - 1, -4 * u, 4 * u, 4 * (t - v)])
        (yu, zu), (yv, zv) = (np.einsum("k,mkj->jm", slope, corners) for slope in (by_u, by_v))
        jacobian = yu * zv - zu * yv
        assert (jacobian > 0.0).all()
        total += weight * np.einsum("m,k,mk...->...", jacobian, shape, nodal)
    return total


def resultants(mesh: SectionMesh, stress: ArrayLike) -> Array:
    """N, V_y, V_z, T, M_y, M_z of nodal stresses (n, 3): axial, shear along height, shear along depth.

    Their definition: the forces, and the moments r x t about the middle.
    """
    axial, along_y, along_z = np.asarray(stress, dtype=np.float64).T
    y, z = mesh.points.T
    rows = (axial, along_y, along_z, y * along_z - z * along_y, z * axial, -y * axial)
    return over_section(mesh, np.column_stack(rows))
