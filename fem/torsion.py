"""Saint-Venant torsion of a wire's section: torsion constant, largest shear stress, warping.

A section twisted by theta' (rad/mm) about x turns in its plane and warps out of it,

    u_x = theta' w(y, z),     u_y = -theta' x z,     u_z = theta' x y,

so its shear strains are theta' g with g = (dw/dy - z, dw/dz + y).  Equilibrium with a free surface, tested
with any v, is the integral of g . grad v = 0, that is

    int grad w . grad v dA = int (z dv/dy - y dv/dz) dA.

The moment about x of the stresses G theta' g is G theta' times the torsion constant

    J = int (y^2 + z^2 + y dw/dz - z dw/dy) dA = int (y^2 + z^2) dA - int |grad w|^2 dA,

the last step by the equation above with v = w.  A finite-element w has too little of the last integral, so J
comes out too large and falls towards the truth as the mesh is refined.  The largest shear stress lies on the
outline and along it.  (Timoshenko & Goodier, Theory of Elasticity, 3rd ed., art. 104 and 109; article numbers
from memory.)
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from geometry.meshing import SectionMesh, section_mesh
from geometry.pose import frozen
from geometry.section import Rectangle, Round, Section

Array = NDArray[np.float64]

# Sections one process keeps the solutions of: a case has one, a study some, and each holds its mesh.
KEPT_SOLUTIONS = 64

# Sum of 1/n^5 over odd n: 31/32 of the Riemann zeta function at five.
ODD_FIFTH_POWERS = 31.0 / 32.0 * 1.0369277551433699
# The series left over falls by at least exp(-pi) from one odd n to the next: twelve terms reach rounding.
ODD_NUMBERS = np.arange(1.0, 24.0, 2.0)

# Edges rounded by less than this share of the smaller side count as sharp here: torsion leaves corners free
# of stress, so that J changes by less than 1e-6 of itself, while a mesh down to such arcs takes seconds.
NEARLY_SHARP = 0.01


@dataclass(frozen=True, slots=True)
class TorsionConstants:
    """What a twisted section answers with: its stiffness and its largest stress."""

    constant: float
    """Torsion constant J in mm^4: torque = G J twist per length."""
    largest_shear_factor: float
    """Largest shear stress per torque, 1/mm^3."""


@dataclass(frozen=True, slots=True)
class Torsion(TorsionConstants):
    """The finite-element solution behind the constants."""

    warping: Array = field(compare=False)
    """(n,) mm^2: displacement along x per twist per length at the nodes of ``mesh``, zero on average."""
    mesh: SectionMesh = field(compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "warping", frozen(self.warping))


def torsion_constant(section: Section) -> float:
    """Torsion constant J in mm^4: the one of ``torsion_constants``."""
    return torsion_constants(section).constant


def torsion_constants(section: Section) -> TorsionConstants:
    """In closed form for a round wire, by a series for sharp edges, else by finite elements (kept).

    Edges rounded by less than a hundredth of the smaller side count as sharp.
    """
    if isinstance(section, Round):
        return TorsionConstants(section.polar_moment, 0.5 * section.diameter / section.polar_moment)
    if section.edge_radius < NEARLY_SHARP * min(section.height, section.depth):
        return _sharp_rectangle(section)
    solved = solve_torsion(section)
    return TorsionConstants(solved.constant, solved.largest_shear_factor)


def _sharp_rectangle(section: Rectangle) -> TorsionConstants:
    """Timoshenko & Goodier, art. 109, with sides b >= a in place of their halves:

    J = (b a^3/3) (1 - (192 a/(pi^5 b)) sum tanh(n pi b/(2a))/n^5) and
    largest stress = G theta' a (1 - (8/pi^2) sum 1/(n^2 cosh(n pi b/(2a)))), both over n = 1, 3, 5, ...

    The slow part of the first sum, where tanh is one, is taken exactly.
    """
    a, b = sorted((section.height, section.depth))
    n = ODD_NUMBERS
    decay = np.exp(-n * math.pi * b / (2.0 * a))
    one_less_tanh = 2.0 * decay**2 / (1.0 + decay**2)
    one_over_cosh = 2.0 * decay / (1.0 + decay**2)
    tanh_sum = ODD_FIFTH_POWERS - float((one_less_tanh / n**5).sum())
    constant = b * a**3 / 3.0 * (1.0 - 192.0 / math.pi**5 * a / b * tanh_sum)
    largest = a * (1.0 - 8.0 / math.pi**2 * float((one_over_cosh / n**2).sum()))
    return TorsionConstants(constant, largest / constant)


@functools.lru_cache(maxsize=KEPT_SOLUTIONS)
def solve_torsion(section: Section, divisions: int = 12) -> Torsion:
    """Finite-element solution for any section, ``divisions`` second-order triangles across its smaller side.

    Kept per section, so that only its first use meshes.  Raises ValueError for ``divisions`` below two.
    """
    mesh = section_mesh(section, divisions)
    weights, shape, gradients, places = at_quadrature_points(mesh)
    y, z = places[..., 0], places[..., 1]
    by_y, by_z = gradients[..., 0], gradients[..., 1]

    stiffness = np.einsum("mq,mqik,mqjk->mij", weights, gradients, gradients, optimize=True)
    load = np.einsum("mq,mqi->mi", weights, z[..., None] * by_y - y[..., None] * by_z)
    warping = solve_free(mesh, stiffness, load)

    nodal = warping[mesh.triangles]
    warp_y, warp_z = np.einsum("mqi,mi->mq", by_y, nodal), np.einsum("mqi,mi->mq", by_z, nodal)
    constant = float((weights * (y**2 + z**2 + y * warp_z - z * warp_y)).sum())
    mean = float((weights * (nodal @ shape.T)).sum() / weights.sum())
    largest = float(np.abs(_shear_along_outline(mesh, warping)).max())
    return Torsion(constant, largest / constant, warping - mean, mesh)


def at_quadrature_points(mesh: SectionMesh) -> tuple[Array, Array, Array, Array]:
    """Weights (m, q) in mm^2, shape functions (q, 6), their gradients (m, q, 6, 2) in 1/mm, and places
    (m, q, 2) in mm."""
    u, v, share = _triangle_rule()
    shape, local = _shape_functions(u, v)
    corners = mesh.points[mesh.triangles]
    places = np.einsum("qi,mik->mqk", shape, corners)
    jacobian = np.einsum("qia,mik->mqak", local, corners)
    gradients = np.einsum("mqka,qia->mqik", np.linalg.inv(jacobian), local)
    return share * np.linalg.det(jacobian), shape, gradients, places


def _triangle_rule() -> tuple[Array, Array, Array]:
    """Seven points (u, v) and weights on the unit triangle, exact to degree five (Radon, Monatsh. Math. 52
    (1948) 286).

    Straight triangles need degree two; the rest is for those that a rounded corner curves.
    """
    root = math.sqrt(15.0)
    u, v, share = [1.0 / 3.0], [1.0 / 3.0], [9.0 / 80.0]
    for sign in (-1.0, 1.0):
        a, weight = (6.0 + sign * root) / 21.0, (155.0 + sign * root) / 2400.0
        u += [a, 1.0 - 2.0 * a, a]
        v += [a, a, 1.0 - 2.0 * a]
        share += [weight] * 3
    return np.array(u), np.array(v), np.array(share)


def _shape_functions(u: Array, v: Array) -> tuple[Array, Array]:
    """Shape functions (q, 6) of the six-node triangle and their derivatives by u and v (q, 6, 2)."""
    t, zero = 1.0 - u - v, np.zeros_like(u)
    shape = (t * (2 * t - 1), u * (2 * u - 1), v * (2 * v - 1), 4 * t * u, 4 * u * v, 4 * v * t)
    by_u = (1 - 4 * t, 4 * u - 1, zero, 4 * (t - u), 4 * v, -4 * v)
    by_v = (1 - 4 * t, zero, 4 * v - 1, -4 * u, 4 * u, 4 * (t - v))
    return np.stack(shape, axis=-1), np.stack((np.stack(by_u, axis=-1), np.stack(by_v, axis=-1)), axis=-1)


def solve_free(mesh: SectionMesh, stiffness: Array, load: Array) -> Array:
    """Nodal values (n,) of the assembled system, the first node held at zero: a free warping has no level of
    its own."""
    # Round wires and sharp edges do without; a program that only has those need not load it.
    from scipy.sparse import coo_array
    from scipy.sparse.linalg import splu

    count = len(mesh.points)
    rows = np.repeat(mesh.triangles, 6, axis=1).ravel()
    columns = np.tile(mesh.triangles, (1, 6)).ravel()
    matrix = coo_array((stiffness.ravel(), (rows, columns)), shape=(count, count)).tocsc()
    right = np.bincount(mesh.triangles.ravel(), weights=load.ravel(), minlength=count)
    factors = splu(
        matrix[1:, 1:], permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    )
    values = np.zeros(count)
    values[1:] = factors.solve(right[1:])
    return values


def _shear_along_outline(mesh: SectionMesh, warping: Array) -> Array:
    """Shear strain along the outline per twist per length (k, 2) in mm, at two points of every boundary side.

    At the Gauss points of a side the derivative of a second-order w along it is an order more accurate than
    elsewhere.
    """
    at = np.array([-1.0, 1.0]) / math.sqrt(3.0)
    shape = np.stack((0.5 * at * (at - 1.0), 0.5 * at * (at + 1.0), 1.0 - at**2))
    slope = np.stack((at - 0.5, at + 0.5, -2.0 * at))
    nodes = mesh.points[mesh.boundary]
    places = np.einsum("iq,kic->kqc", shape, nodes)
    along = np.einsum("iq,kic->kqc", slope, nodes)
    length = np.linalg.norm(along, axis=-1)
    turned = places[..., 0] * along[..., 1] - places[..., 1] * along[..., 0]
    return np.asarray((warping[mesh.boundary] @ slope + turned) / length)
