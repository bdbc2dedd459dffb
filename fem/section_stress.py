"""Largest stresses in a section from the resultants that a beam carries, in closed form over the outline.

Axes and signs.  Section coordinates are y (height, second frame column) and z (depth, third).  A section
strained by e and bent by curvatures (k_y, k_z), right-handed about height and depth, stretches at (y, z) by
e plus the x part of k x r, e + k_y z - k_z y.  The moment about the middle of stresses s along x is the
integral of r x (s, 0, 0) = (0, z s, -y s): M_y = int z s dA = E I_y k_y and M_z = -int y s dA = E I_z k_z, so

    s = N/A + M_y z/I_y - M_z y/I_z,     tension positive,

with I_y = int z^2 dA and I_z = int y^2 dA: the engineer's theory of bending, exact for pure bending
(Timoshenko & Goodier, Theory of Elasticity, "Pure bending of prismatical bars").
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.torsion import TorsionConstants
from geometry.section import Section

Array = NDArray[np.float64]


def axial_stress_extremes(
    section: Section, force_axial: ArrayLike, moment_y: ArrayLike, moment_z: ArrayLike
) -> Array:
    """Largest |stress along the wire| over the outline, (n,) in MPa, rounded edges as they are.

    Force (n,) in N, moments about height and about depth (n,) in N mm; all may also be numbers.  Both kinds
    of section are symmetric about their middle, so bending's largest tension equals its largest compression
    and the axial force adds to one of them: |N|/A + max of (M_y/I_y) z - (M_z/I_z) y.  That maximum is the
    outline's support function in the direction (-M_z/I_z, M_y/I_y), which grows with the direction's length.
    """
    force, about_y, about_z = np.broadcast_arrays(
        np.asarray(force_axial, dtype=np.float64),
        np.asarray(moment_y, dtype=np.float64),
        np.asarray(moment_z, dtype=np.float64),
    )
    slope = np.stack((-about_z / section.second_moment_z, about_y / section.second_moment_y), axis=-1)
    largest: Array = np.abs(force) / section.area + section.reach(slope)
    return largest


def shear_force_factors(section: Section) -> tuple[float, float]:
    """Largest shear stress per shear force along height and along depth, 1/mm^2: Q/(I b) on the neutral axis.

    Elementary theory (Jourawski), even across the width b there; Q is the first moment of half the section.
    The exact peak of a round wire is 4 % higher at Poisson's ratio 0.3 (Timoshenko & Goodier, art. 122), that
    of a section wide across the force more so (art. 124; article numbers from memory).
    """
    cut_y = _cut_corner_first_moment(section.corner_y, section.edge_radius)
    cut_z = _cut_corner_first_moment(section.corner_z, section.edge_radius)
    half_y = section.depth * section.height**2 / 8.0 - 2.0 * cut_y
    half_z = section.height * section.depth**2 / 8.0 - 2.0 * cut_z
    return (
        half_y / (section.second_moment_z * section.depth),
        half_z / (section.second_moment_y * section.height),
    )


def largest_equivalent_stress(section: Section, torsion: TorsionConstants, resultants: ArrayLike) -> Array:
    """Bound (n,) in MPa for von Mises' stress in sections carrying ``resultants`` (n, 6).

    Their order is axial force, shear along height, shear along depth (N); torque, moment about height, moment
    about depth (N mm).

    sqrt(s^2 + 3 t^2) with the largest s of ``axial_stress_extremes`` and for t the largest shear stress of
    torsion plus that of the shear forces (``shear_force_factors``).  These need not be at one point, nor
    point one way: bending is largest at the edges, where torsion vanishes if they are sharp, and the shear
    forces' share is largest in the middle.  No point exceeds the bound, as far as the elementary theory of
    shear forces holds; a round wire bent and twisted reaches it.

    Raises ValueError unless ``resultants`` is (n, 6).
    """
    r = np.asarray(resultants, dtype=np.float64)
    if r.ndim != 2 or r.shape[1] != 6:
        raise ValueError(f"section resultants come six to a row: got an array of shape {r.shape}")
    axial = axial_stress_extremes(section, r[:, 0], r[:, 4], r[:, 5])
    by_force = np.linalg.norm(r[:, 1:3] * shear_force_factors(section), axis=1)
    shear = np.abs(r[:, 3]) * torsion.largest_shear_factor + by_force
    largest: Array = np.sqrt(axial**2 + 3.0 * shear**2)
    return largest


def _cut_corner_first_moment(centre: float, radius: float) -> float:
    """First moment (mm^3) of one cut corner: a square of side r less a quarter disc, both starting at
    ``centre``.

    The quarter disc has area pi r^2/4 and first moment r^3/3 about the axis through its centre.
    """
    square = radius**2 * (centre + 0.5 * radius)
    disc = radius**2 * (0.25 * np.pi * centre + radius / 3.0)
    return float(square - disc)
