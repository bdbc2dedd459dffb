"""A section law with history: a section of fibres, each of a material that yields or transforms.

A history is one array, (m, n + r, 6) for m sections of n fibres and, in the last r rows, the amplitudes of warping that
Newton's method begins from; zeros are a wire that has never been strained.  `respond` reads the committed one and gives
a trial one; which of them counts is the caller's to say, so a step that fails costs nothing.  Order of strains and
resultants: axial, shear along height, shear along depth; twist, bending about height (first order), bending about depth
(second order), as in `fem.section_law`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fem.fibre_law_kernel import REMEMBERED, SUPERELASTIC
from fem.fibre_material import Elastoplastic, FibreMaterial, Superelastic, law_of
from fem.fibre_section_kernel import fibres_in_turn, sections_over_fibres
from fem.fibres import BEAM_DEGREE, BEAM_RINGS, BEAM_ROWS, DEGREE, DIVISIONS, Fibres, fibres_of
from fem.material import LinearElastic
from geometry.checks import floats, one_of, rows, shown
from geometry.section import Rectangle, Round, Section

Array = NDArray[np.float64]


class Unbalanced(RuntimeError):
    """No strains were found that leave at zero what must be."""


@dataclass(frozen=True, slots=True)
class SectionResponse:
    """What m sections answer."""

    resultants: Array
    """(m, 6) N and N mm."""
    tangent: Array
    """(m, 6, 6): derivative of the resultants with the strains, symmetric."""
    history: Array
    """(m, n + r, 6), a trial: commit it by giving it to the next call."""


@dataclass(frozen=True, slots=True)
class FibreSection:
    """A wire's section and material; ``divisions`` say how finely it is cut, ``degree`` how freely a yielding
    rectangle warps, ``rows`` of fibres lie along either side of a rectangle unless zero; see `fem.fibres`."""

    section: Section
    material: FibreMaterial
    divisions: int = DIVISIONS
    degree: int = DEGREE
    rows: int = 0
    fibres: Fibres = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        if not isinstance(self.section, Round | Rectangle):
            raise ValueError(f"a section must be a Round or a Rectangle: got {shown(self.section)}")
        if not isinstance(self.material, LinearElastic | Elastoplastic | Superelastic):
            raise ValueError(
                f"a material of fibres must be LinearElastic, Elastoplastic or Superelastic: got {shown(self.material)}"
            )
        fibres = fibres_of(self.section, self.material.poisson, self.divisions, self.degree, self.rows)
        object.__setattr__(self, "fibres", fibres)

    @classmethod
    def for_beam(cls, section: Section, material: FibreMaterial) -> FibreSection:
        """As finely cut as a beam needs, which asks it at many places along a wire."""
        divisions = BEAM_RINGS if isinstance(section, Round) else DIVISIONS
        return cls(section, material, divisions, BEAM_DEGREE, BEAM_ROWS)

    @property
    def _count(self) -> int:
        return len(self.fibres.weights)

    def unstrained(self, sections: int = 1) -> Array:
        """History (sections, n + r, 6) of a wire never strained."""
        return np.zeros((sections, self.fibres.rows, REMEMBERED))

    def respond(
        self, strains: ArrayLike, history: Array, temperature: float | None = None
    ) -> SectionResponse:
        """What sections answer to strains (m, 6), 1 and 1/mm, after ``history`` (m, n + r, 6), at a temperature in
        degC.

        Raises ValueError for arrays that do not fit together, or a temperature the material's law does not reach, and
        Unbalanced where a section finds no warping that leaves it at rest.
        """
        e = np.array(rows("strains of sections", strains, 6), order="C")
        before = _history(history, (len(e), self.fibres.rows, REMEMBERED))
        kind, law = law_of(self.material, temperature)
        after, out, tangent = np.empty_like(before), np.empty((len(e), 6)), np.empty((len(e), 6, 6))
        f = self.fibres
        unsettled = sections_over_fibres(
            kind, law, f.weights, f.axial, f.shear, e, before, after, out, tangent
        )
        if unsettled:
            raise Unbalanced(f"{unsettled} of {len(e)} sections found no warping at rest; take smaller steps")
        return SectionResponse(out, tangent, after)

    def stresses(self, strains: ArrayLike, history: Array, temperature: float | None = None) -> Array:
        """Stresses (n, 3) of the fibres of one section with strains (6,): axial, shear along height and depth, MPa."""
        e = rows("strains of a section", strains, 6)
        warped = self.respond(e[None], history, temperature).history[0, self._count :].ravel()
        points = self.fibres.strains(e, warped[: self.fibres.warpings])
        return respond_at_points(self.material, points, history[0, : self._count], temperature)[0]

    def dissipated(self, history: Array) -> Array:
        """Energy dissipated so far per length of wire, (m,) in N mm/mm."""
        return np.asarray(history[..., : self._count, 5] @ self.fibres.weights)

    def martensite(self, history: Array) -> Array:
        """Share of the area that is martensite, (m,); zero for materials that do not transform."""
        if law_of(self.material)[0] != SUPERELASTIC:
            return np.zeros(len(history))
        weights = self.fibres.weights
        return np.asarray(history[..., : self._count, 3] @ weights / weights.sum())


def respond_at_points(
    material: FibreMaterial, strains: ArrayLike, history: Array, temperature: float | None = None
) -> tuple[Array, Array, Array]:
    """Stresses (n, 3) in MPa, tangents (n, 3, 3) and trial history (n, 6) of points with strains (n, 3): axial strain
    and two shear angles; committed ``history`` (n, 6), zeros for a material never strained."""
    one_of(np.ndarray, history, "a history")
    e = np.array(rows("strains of points", strains, 3), order="C")
    before = _history(history, (len(e), REMEMBERED))
    kind, law = law_of(material, temperature)
    after, stress, tangent = np.empty_like(before), np.empty((len(e), 3)), np.empty((len(e), 3, 3))
    fibres_in_turn(kind, law, e, before, after, stress, tangent)
    return stress, tangent, after


def _history(history: Array, shape: tuple[int, ...]) -> Array:
    # read-only ones would be compiled for once more
    array = np.require(floats("a history", history), requirements=("C", "W"))
    if array.shape != shape:
        raise ValueError(f"a history must be of shape {shape} here: got shape {array.shape}")
    return array
