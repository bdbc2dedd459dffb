"""What a wire of fibres tells of itself: strains of its sections, how much has yielded or is martensite, energies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Fibres
from fem.equilibrium import Problem
from fem.fibre_beam import places
from fem.fibre_sums_kernel import read_fibres
from geometry.pose import frozen

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FibreReadings:
    """Of one state.  Values at nodes (n,) are those of the nearest places where sections are asked, in a straight line
    between them."""

    temperature: float | None
    """degC."""
    arcs: Array
    """(m, 2) mm: arc lengths where the sections of each element are asked."""
    strains: Array
    """(m, 2, 6) of the sections there, 1 and 1/mm; order as in `fem.section_law`."""
    stress: Array
    """(n,) MPa: largest von Mises stress of the fibres."""
    axial: Array
    """(n,) MPa: largest stress along the wire, tension or compression."""
    shear: Array
    """(n,) MPa: largest shear stress."""
    yielded: Array
    """(n,) share of the section's area that has yielded so far."""
    martensite: Array
    """(n,) share of the section's area that is martensite."""
    plastic: Array
    """(n,) largest equivalent plastic strain of the fibres, as grown so far."""
    dissipated: float
    """N mm in the whole wire since it was new."""
    stored: float
    """N mm: elastic energy, that of hardening, and what martensite is worth."""
    yielded_share: float
    """Of the whole wire's volume."""
    martensite_share: float

    def __post_init__(self) -> None:
        for name in ("arcs", "strains", "stress", "axial", "shear", "yielded", "martensite", "plastic"):
            object.__setattr__(self, name, frozen(getattr(self, name)))


def readings_of(problem: Problem, activation: float) -> FibreReadings | None:
    """Of a problem's state after ``activation`` of its way, its elements brought to rest before; None where the wire is
    elastic."""
    fibres: Fibres = problem.beam.fibres
    if problem.model.fibres is None:
        return None
    state, nodes = problem.state, problem.model.nodes
    read = np.empty((*state.strains.shape[:2], 8))
    read_fibres(fibres, state.strains, read)
    lengths = problem.beam.lengths
    whole = 0.5 * (lengths @ read[:, 0] + lengths @ read[:, 1])
    volume = float(lengths.sum())
    # every inner node lies between the last place of one element and the first of the next, in the ratio of lengths
    part = (lengths[:-1] / (lengths[:-1] + lengths[1:]))[:, None]
    at_nodes = np.empty((nodes.size, 8))
    at_nodes[0], at_nodes[-1] = read[0, 0], read[-1, 1]
    at_nodes[1:-1] = (1.0 - part) * read[:-1, 1] + part * read[1:, 0]
    of_node = at_nodes.T
    return FibreReadings(
        problem.temperature(activation),
        places(nodes),
        state.strains[:, :, :6],
        stress=of_node[0],
        axial=of_node[6],
        shear=of_node[7],
        yielded=of_node[1],
        martensite=of_node[2],
        plastic=of_node[3],
        dissipated=float(whole[4]),
        stored=float(whole[5]),
        yielded_share=float(whole[1] / volume),
        martensite_share=float(whole[2] / volume),
    )
