"""What a section answers to strain: the seam between beams and materials.

A law gives the tangent stiffness of every element, and (for laws with history, later) the stress resultants.
The order of strains and resultants everywhere: axial, shear along height, shear along depth; twist, bending
about height (first order), bending about depth (second order)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.material import LinearElastic
from geometry.pose import frozen
from geometry.section import Round, Section

Array = NDArray[np.float64]


def shear_coefficients(section: Section, poisson: float) -> float:
    """Cowper, J. Appl. Mech. 33 (1966) 335: rectangle 10 (1 + nu)/(12 + 11 nu), circle 6 (1 + nu)/(7 + 6 nu).

    Rounded edges are ignored: shear adds less than one per cent to a wire's deflection.
    """
    if isinstance(section, Round):
        return 6.0 * (1.0 + poisson) / (7.0 + 6.0 * poisson)
    return 10.0 * (1.0 + poisson) / (12.0 + 11.0 * poisson)


@dataclass(frozen=True, slots=True)
class LinearSection:
    """Six uncoupled stiffnesses (6,): EA, kGA along height, kGA along depth (N); GJ, EI_y, EI_z (N mm^2)."""

    stiffness: Array

    def __post_init__(self) -> None:
        values = frozen(self.stiffness)
        if values.shape != (6,) or not (np.isfinite(values).all() and (values > 0.0).all()):
            raise ValueError(f"a linear section needs six finite stiffnesses above zero: got {values!r}")
        object.__setattr__(self, "stiffness", values)

    @classmethod
    def of(cls, section: Section, material: LinearElastic, torsion_constant: float) -> LinearSection:
        """From outline, material and torsion constant (mm^4)."""
        e, g = material.youngs_modulus, material.shear_modulus
        shear = shear_coefficients(section, material.poisson) * g * section.area
        return cls(
            np.array(
                [
                    e * section.area,
                    shear,
                    shear,
                    g * torsion_constant,
                    e * section.second_moment_y,
                    e * section.second_moment_z,
                ]
            )
        )

    def element_stiffness(self, lengths: ArrayLike) -> Array:
        """(m, 6, 6) for elements of ``lengths`` (m,) mm, with residual bending flexibility in the shears.

        1/(kGA)_e = 1/(kGA) + l^2/(12 EI): MacNeal, Computers & Structures 8 (1978) 175.
        """
        length = np.asarray(lengths, dtype=np.float64)
        ea, sy, sz, gj, ey, ez = self.stiffness
        out = np.zeros((length.size, 6, 6))
        out[:, 0, 0] = ea
        out[:, 1, 1] = 1.0 / (1.0 / sy + length**2 / (12.0 * ez))
        out[:, 2, 2] = 1.0 / (1.0 / sz + length**2 / (12.0 * ey))
        out[:, 3, 3] = gj
        out[:, 4, 4] = ey
        out[:, 5, 5] = ez
        return out
