"""What a section answers to strain: the seam between beams and materials.

A law gives the tangent stiffness of every element, and (for laws with history, later) the stress resultants.
The order of strains and resultants everywhere: axial, shear along height, shear along depth; twist, bending
about height (first order), bending about depth (second order)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.material import LinearElastic
from geometry.checks import LARGEST, number, numbers, shown
from geometry.section import Round, Section

Array = NDArray[np.float64]

RESULTANTS = ("EA", "kGA along the height", "kGA along the depth", "GJ", "EI_y", "EI_z")


def shear_coefficients(section: Section, poisson: float) -> float:
    """Cowper, J. Appl. Mech. 33 (1966) 335: rectangle 10 (1 + nu)/(12 + 11 nu), circle 6 (1 + nu)/(7 + 6 nu).

    Rounded edges are ignored: shear adds less than one per cent to a wire's deflection.  Raises ValueError for a
    Poisson's ratio that no material has.
    """
    poisson = number("Poisson's ratio", poisson, "", -1.0, 0.5, "between -1 and 0.5")
    if isinstance(section, Round):
        return 6.0 * (1.0 + poisson) / (7.0 + 6.0 * poisson)
    return 10.0 * (1.0 + poisson) / (12.0 + 11.0 * poisson)


@dataclass(frozen=True, slots=True)
class LinearSection:
    """Six uncoupled stiffnesses (6,): EA, kGA along height, kGA along depth (N); GJ, EI_y, EI_z (N mm^2).

    Raises ValueError unless all are finite and above zero.
    """

    stiffness: Array

    def __post_init__(self) -> None:
        needs = "a linear section needs six finite stiffnesses above zero, in N and N mm^2"
        try:
            values = numbers("they", self.stiffness, (6,))
        except ValueError as error:
            raise ValueError(f"{needs}: {error}") from None
        for name, value in zip(RESULTANTS, values.tolist(), strict=True):
            if not value >= 1.0 / LARGEST:
                raise ValueError(f"{needs}: got {name} = {shown(value)}; look at its units and its sign")
        object.__setattr__(self, "stiffness", values)

    @classmethod
    def of(cls, section: Section, material: LinearElastic, torsion_constant: float) -> LinearSection:
        """From outline, material and torsion constant (mm^4; `fem.torsion.torsion_constant`), above zero."""
        must = "finite and above zero; fem.torsion.torsion_constant gives it"
        torsion_constant = number(
            "a torsion constant", torsion_constant, "mm^4", 1.0 / LARGEST, LARGEST, must
        )
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

    def compliances(self, elements: int) -> Array:
        """(elements, 6) of the section, 1/N and 1/(N mm^2); see fem.element_law_kernel."""
        return np.tile(1.0 / self.stiffness, (elements, 1))
