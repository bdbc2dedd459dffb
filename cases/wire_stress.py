"""The stresses of a wire from its section resultants: those of a solid section, or of a strand."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cases.schema import WireSpec
from fem.material import LinearElastic
from fem.section_stress import axial_stress_extremes, largest_equivalent_stress
from fem.torsion import torsion_constants

Array = NDArray[np.float64]


def elastic_of(wire: WireSpec) -> LinearElastic:
    """The elastic constants of a wire."""
    material = wire.material
    return LinearElastic(material.name, material.youngs_modulus_mpa, material.poisson, material.yield_mpa)


def wire_stress(wire: WireSpec, resultants: Array) -> tuple[Array, Array, Array]:
    """Largest stress along the wire, shear stress of its torsion, and equivalent stress (von Mises), (...,) in MPa.

    ``resultants`` (..., 6) in the order of `fem.section_law`.  In strands the stress is along a strand, and their shear
    stress holds that of shear forces too."""
    flat, shape = resultants.reshape(-1, 6), resultants.shape[:-1]
    section, strands = wire.section, wire.strands
    if strands is not None:
        found = strands.stresses(elastic_of(wire), flat)
    else:
        constants = torsion_constants(section)
        found = (
            axial_stress_extremes(section, flat[:, 0], flat[:, 4], flat[:, 5]),
            np.abs(flat[:, 3]) * constants.largest_shear_factor,
            largest_equivalent_stress(section, constants, flat),
        )
    axial, shear, equivalent = (values.reshape(shape) for values in found)
    return axial, shear, equivalent
