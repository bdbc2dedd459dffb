"""A wire's section cut into fibres: weights, and what each strain of the section does to each fibre.

Rectangles take the quadrature points of their Gmsh mesh; twist shears them as Saint-Venant's warping says, and once
fibres yield some further shapes of warping join in, polynomials that do not touch the elastic answer.  Round wires do
not warp and take Gauss points along radii and along quarter circles.  A shear force shears fibres as in
`fem.section_shear`.  All is then scaled, by 1e-3 or less except for shear, so that the six stiffnesses of a linear
section come out to rounding: what has not yielded answers as `fem.section_law` does.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.fibre_law_kernel import REMEMBERED
from fem.section_law import shear_coefficients
from fem.section_shear import at_nodes, shear_of_forces, shear_of_torque
from fem.torsion import at_quadrature_points, torsion_constant
from geometry.checks import count, number
from geometry.meshing import SectionMesh, gmsh_session, outlined_surface, triangles_within
from geometry.pose import frozen
from geometry.section import Rectangle, Round, Section

Array = NDArray[np.float64]

KEPT = 64
DEGREE = 8
"""Of the polynomials of warping: torque past yield is within 1 % of plasticity's; 1.5 % with 6, 6.6 % with none."""
MOST_DEGREE = 12
SPANNED = 1e-8
"""Of the largest mean square: less is rounding."""
DIVISIONS = 8
"""Triangles across the smaller side of a rectangle; rings and, twice as many, rays in a quarter of a round wire."""
BEAM_RINGS, BEAM_ROWS, BEAM_DEGREE = 3, 10, 6
"""What a beam takes, which asks its sections at many places: 72 fibres of a round wire, 100 of a rectangle in rows each
way.  Moments past yield are within 0.7 % of those of many fibres, torques within 1.2 %."""


@dataclass(frozen=True, slots=True)
class Fibres:
    """Fibres of a section."""

    places: Array
    """(n, 2) mm: along height and along depth."""
    weights: Array
    """(n,) mm^2."""
    axial: Array
    """(n, 3): stretch of a fibre per stretch, and per curvature about height and about depth (mm)."""
    shear: Array
    """(n, 2, 3 + k): shear along height and along depth per shear along either, per twist (mm), and per amplitude of k
    further shapes of warping (k = 0 for a round wire, which does not warp)."""

    def __post_init__(self) -> None:
        for name in ("places", "weights", "axial", "shear"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    @property
    def rows(self) -> int:
        """Rows of a section's history: one a fibre, and as many as the amplitudes of warping fill."""
        return len(self.weights) + -(-self.warpings // REMEMBERED)

    @property
    def warpings(self) -> int:
        """How many further shapes of warping there are."""
        return int(self.shear.shape[2]) - 3

    def strains(self, section_strains: Array, amplitudes: Array) -> Array:
        """(n, 3) of the fibres from strains (6,) of the section and amplitudes of warping (k,)."""
        sheared = self.shear @ np.concatenate((section_strains[1:4], amplitudes))
        return np.column_stack((self.axial @ section_strains[[0, 4, 5]], sheared))


@functools.lru_cache(maxsize=KEPT)
def fibres_of(
    section: Section, poisson: float, divisions: int = DIVISIONS, degree: int = DEGREE, rows: int = 0
) -> Fibres:
    """Fibres of a section, kept: only the first use meshes.

    ``degree`` of the further shapes of warping of a rectangle, up to 12; zero: none.  ``rows``, an even number: so many
    fibres along either side of a rectangle, in place of those of its mesh.  Raises ValueError for ``divisions`` below
    two.
    """
    divisions = count("fibres of a section", divisions, 2, "need at least two divisions")
    degree = int(number("the degree of warping", degree, "", 0, MOST_DEGREE, f"from 0 to {MOST_DEGREE}"))
    if isinstance(section, Round):
        places, weights, sheared = _round(section, poisson, divisions)
    elif rows:
        places, weights, sheared = _rows(section, poisson, divisions, rows)
    else:
        places, weights, sheared = _rectangle(section, poisson, divisions)
    outermost = _from_outside(section, places)
    places, weights, sheared = places[outermost], weights[outermost], sheared[outermost]
    axial = np.column_stack((np.ones(len(weights)), places[:, 1], -places[:, 0]))
    bending = (section.area, section.second_moment_y, section.second_moment_z)
    stiff = shear_coefficients(section, poisson) * section.area
    flat = sheared.reshape(-1, 3)
    double = np.repeat(weights, 2)
    twisted = _scaled(flat, double, (stiff, stiff, torsion_constant(section)))
    if not isinstance(section, Round) and degree >= 2:
        twisted = np.column_stack((twisted, _warpings(places, double, twisted, degree)))
    sheared = twisted.reshape(len(weights), 2, -1)
    return Fibres(places, weights, _scaled(axial, weights, bending), sheared)


def _from_outside(section: Section, places: Array) -> NDArray[np.int64]:
    """Numbers (n,) of the fibres, those at the surface first, which yield first."""
    if isinstance(section, Round):
        depth = np.hypot(*places.T)
    else:
        depth = np.abs(places / (section.height, section.depth)).max(axis=1)
    return np.argsort(-depth, kind="stable")


def _warpings(places: Array, weights: Array, shears: Array, degree: int) -> Array:
    """Shears (2 n, k) of the further warpings y^i z^j, both odd as a twist has them, at right angles to ``shears``
    (2 n, 3) and to one another, so that an elastic section leaves them alone; mean square one."""
    half = np.abs(places).max(axis=0)
    y, z = (places / half).T
    powers = [(i, total - i) for total in range(2, degree + 1, 2) for i in range(1, total, 2)]
    modes = np.column_stack(
        [
            np.column_stack((i * y ** (i - 1) * z**j / half[0], j * y**i * z ** (j - 1) / half[1])).ravel()
            for i, j in powers
        ]
    )
    for _ in range(2):  # once more for rounding
        inner = (shears * weights[:, None]).T
        modes -= shears @ np.linalg.solve(inner @ shears, inner @ modes)
    size, directions = np.linalg.eigh((modes * weights[:, None]).T @ modes)
    # the elastic warping is nearly one of these: what is left of them may span less
    good = size > SPANNED * size[-1]
    return np.asarray(modes @ directions[:, good] / np.sqrt(size[good]) * math.sqrt(0.5 * weights.sum()))


def _scaled(modes: Array, weights: Array, wanted: tuple[float, ...]) -> Array:
    """The modes (n, k), changed as little as can be so that their weighted products are ``wanted`` on the diagonal and
    zero beside it: Cholesky factors of what they are."""
    scale = np.sqrt(np.array(wanted))
    products = (modes * weights[:, None]).T @ modes
    factor = np.linalg.cholesky(products / np.outer(scale, scale))
    changed: Array = np.linalg.solve(factor, (modes / scale).T).T * scale
    return changed


def _rectangle(section: Rectangle, poisson: float, divisions: int) -> tuple[Array, Array, Array]:
    """Places (n, 2), weights (n,) and shears (n, 2, 3) at the quadrature points of a mesh.

    It is not refined at rounded edges, as that of `fem.torsion` is: these carry little of any load, and would take
    four fibres out of five.
    """
    mesh = _mesh(section, divisions)
    weights, _, _, places = at_quadrature_points(mesh)
    return places.reshape(-1, 2), weights.ravel(), _shears(mesh, poisson).reshape(-1, 2, 3)


def _mesh(section: Rectangle, divisions: int) -> SectionMesh:
    with gmsh_session() as gmsh:
        loop, surface = outlined_surface(gmsh, section, min(section.height, section.depth) / divisions)
        return triangles_within(gmsh, loop, surface)


def _shears(mesh: SectionMesh, poisson: float) -> Array:
    """(m, q, 2, 3) at the quadrature points of every triangle, per shear force and twist."""
    per_torque, constant = shear_of_torque(mesh)
    per_force = shear_of_forces(mesh, poisson)
    return np.concatenate((per_force, per_torque[..., None] * constant), axis=-1)


def _rows(section: Rectangle, poisson: float, divisions: int, rows: int) -> tuple[Array, Array, Array]:
    """As above on Gauss points: half of the rows above the middle and half below, so that those near the surface, which
    yield first, lie close; in each row likewise.  Shears are those of the mesh, between its nodes."""
    from scipy.interpolate import LinearNDInterpolator

    at, share = np.polynomial.legendre.leggauss(rows // 2)
    at, share = 0.5 * (1.0 + at), 0.25 * share
    at, share = np.concatenate((-at[::-1], at)), np.concatenate((share[::-1], share))
    y = 0.5 * section.height * at
    beyond = np.maximum(np.abs(y) - section.corner_y, 0.0)
    across = section.corner_z + np.sqrt(np.maximum(section.edge_radius**2 - beyond**2, 0.0))
    places = np.column_stack((np.repeat(y, rows), np.outer(across, at).ravel()))
    weights = np.outer(section.height * share * 2.0 * across, share).ravel()
    mesh = _mesh(section, divisions)
    values = at_nodes(mesh, _shears(mesh, poisson).reshape(*mesh.triangles.shape[:1], -1, 6))
    # curved sides of the mesh bulge by less than this
    inside = places * (1.0 - 1e-3)
    sheared = LinearNDInterpolator(mesh.points, values)(inside)
    return places, weights, sheared.reshape(-1, 2, 3)


def _round(section: Round, poisson: float, divisions: int) -> tuple[Array, Array, Array]:
    """As above, on rays and rings; the shear of a force after Timoshenko & Goodier, art. 121 (number from memory):

    t_y = (3 + 2 nu)/(8 (1 + nu)) V/I (R^2 - y^2 - (1 - 2 nu)/(3 + 2 nu) z^2), t_z = -(1 + 2 nu)/(4 (1 + nu)) V y z/I.
    """
    radius = 0.5 * section.diameter
    at, share = np.polynomial.legendre.leggauss(divisions)
    r, along = 0.5 * radius * (1.0 + at), 0.5 * radius * share
    at, share = np.polynomial.legendre.leggauss(2 * divisions)
    quarter, across = 0.25 * math.pi * (1.0 + at), 0.25 * math.pi * share
    angle = (quarter + 0.5 * math.pi * np.arange(4)[:, None]).ravel()
    y, z = np.outer(r, np.cos(angle)).ravel(), np.outer(r, np.sin(angle)).ravel()
    weights = np.outer(r * along, np.tile(across, 4)).ravel()
    inertia = section.second_moment_z
    high = (3.0 + 2.0 * poisson) / (8.0 * (1.0 + poisson) * inertia)
    flat = (1.0 - 2.0 * poisson) / (3.0 + 2.0 * poisson)
    mixed = -(1.0 + 2.0 * poisson) / (4.0 * (1.0 + poisson) * inertia) * y * z
    sheared = np.empty((len(y), 2, 3))
    sheared[:, 0, 0] = high * (radius**2 - y**2 - flat * z**2)
    sheared[:, 1, 1] = high * (radius**2 - z**2 - flat * y**2)
    sheared[:, 1, 0] = sheared[:, 0, 1] = mixed
    sheared[:, 0, 2], sheared[:, 1, 2] = -z, y
    return np.column_stack((y, z)), weights, sheared
