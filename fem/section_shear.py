"""Shear stress in a wire's section under a torque and under shear forces, after Saint-Venant.

Torque: fem.torsion says how a twisted section warps and what it takes; here on any mesh, stress by stress.

A shear force V along y goes with a bending stress that grows along the wire by ds/dx = V y/I, I = int y^2 dA.
With ratio k = V/(E I) the contraction across the wire, -nu times the stretch, and a warping w of the section,

    u_x = k x^2 y/2 + w(y, z),   u_y = -k (x^3/6 + nu x (y^2 - z^2)/2),   u_z = -k nu x y z,

leave no strain in the section's plane but the contraction itself; the shear strains are

    (dw/dy - nu k (y^2 - z^2)/2,   dw/dz - nu k y z),

and equilibrium with a free surface, tested with any v, is

    int grad w . grad v dA = int nu k ((y^2 - z^2)/2 dv/dy + y z dv/dz) dA + 2 (1 + nu) k int y v dA.

A shear force along z likewise, y and z exchanged.  (Timoshenko & Goodier, Theory of Elasticity, 3rd ed., art.
120 to 124, by a stress function there; article numbers from memory.)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fem.torsion import at_quadrature_points, solve_free
from geometry.meshing import SectionMesh

Array = NDArray[np.float64]


def shear_of_torque(mesh: SectionMesh) -> tuple[Array, float]:
    """Shear stress at the quadrature points of every triangle per unit torque, (m, q, 2) in 1/mm^3 along height
    and along depth, and the torsion constant J (mm^4) of this mesh."""
    weights, _, gradients, places = at_quadrature_points(mesh)
    y, z = places[..., 0], places[..., 1]
    turning = np.stack((-z, y), axis=-1)
    strain = turning + _warping_slopes(
        mesh, -np.einsum("mq,mqk,mqik->mi", weights, turning, gradients, optimize=True), weights, gradients
    )
    constant = float((weights * (y * strain[..., 1] - z * strain[..., 0])).sum())
    return strain / constant, constant


def shear_of_forces(mesh: SectionMesh, poisson: float) -> Array:
    """Shear stress at the quadrature points of every triangle, (m, q, 2, 2) in 1/mm^2.

    The last axis is the unit force it belongs to, along y and along z; the one before the stress's direction.
    The section must be symmetric about both axes, as all of this program are: then a force through its middle
    does not twist it.
    """
    weights, shape, gradients, places = at_quadrature_points(mesh)
    out = np.empty((*weights.shape, 2, 2))
    for axis in (0, 1):
        along, across = places[..., axis], places[..., 1 - axis]
        # Contraction: the shear strain per k, but for its sign, of the displacements in the plane.
        drag = np.empty_like(places)
        drag[..., axis] = 0.5 * poisson * (along**2 - across**2)
        drag[..., 1 - axis] = poisson * along * across
        load = np.einsum("mq,mqk,mqik->mi", weights, drag, gradients, optimize=True)
        load += 2.0 * (1.0 + poisson) * np.einsum("mq,mq,qi->mi", weights, along, shape, optimize=True)
        strain = _warping_slopes(mesh, load, weights, gradients) - drag
        # G k = V/(2 (1 + nu) I): scaled so that a unit force comes out on this very mesh.
        out[..., axis] = strain / float((weights * strain[..., axis]).sum())
    return out


def _warping_slopes(mesh: SectionMesh, load: Array, weights: Array, gradients: Array) -> Array:
    """(m, q, 2): gradient of the warping that answers to the nodal loads (m, 6) of the triangles."""
    stiffness = np.einsum("mq,mqik,mqjk->mij", weights, gradients, gradients, optimize=True)
    warping = solve_free(mesh, stiffness, load)
    slopes: Array = np.einsum("mqik,mi->mqk", gradients, warping[mesh.triangles], optimize=True)
    return slopes


def at_nodes(mesh: SectionMesh, values: Array) -> Array:
    """(n, c): least squares fit in the mesh's second-order functions to ``values`` (m, q, c) at the quadrature
    points.

    These functions hold 1, y and z, so that the fit keeps the integrals of the values and of their moments.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.linalg import splu

    weights, shape, _, _ = at_quadrature_points(mesh)
    mass = np.einsum("mq,qi,qj->mij", weights, shape, shape, optimize=True)
    load = np.einsum("mq,qi,mqc->mic", weights, shape, values, optimize=True)
    count, columns = len(mesh.points), values.shape[-1]
    row, column = np.repeat(mesh.triangles, 6, axis=1).ravel(), np.tile(mesh.triangles, (1, 6)).ravel()
    right = np.zeros((count, columns))
    np.add.at(right, mesh.triangles.ravel(), load.reshape(-1, columns))
    matrix = coo_array((mass.ravel(), (row, column)), shape=(count, count)).tocsc()
    return np.asarray(splu(matrix).solve(right))
