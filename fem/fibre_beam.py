"""A wire's sections of fibres as arrays of the solver: made, warmed, remembered, carried over to other elements.

What they answer is `fem.fibre_elements_kernel`.  Memory counts as the wire's when an increment is accepted, and not
before: what is tried meanwhile leaves it as it was.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fem.arrays import Fibres
from fem.fibre_carrying_kernel import along_wire, carry, section_places
from fem.fibre_elements_kernel import keep_memory
from fem.fibre_law_kernel import REMEMBERED, SUPERELASTIC
from fem.fibre_material import BODY, COLDEST, HOTTEST, Superelastic, elastic_limit, elastic_of, law_of
from fem.fibre_rows_kernel import EVENLY, LANES
from fem.fibre_section import FibreSection
from geometry.checks import number, shown

if TYPE_CHECKING:
    from fem.section_law import LinearSection

Array = NDArray[np.float64]

LIKE = 0.01
"""Share by which the stiffnesses of fibres may differ from those of the elastic law, to which they are scaled."""


def no_fibres(elements: int) -> Fibres:
    """Of a wire that is elastic."""
    return Fibres(
        kind=np.zeros(1, dtype=np.int64),
        law=np.zeros(2),
        moduli=np.zeros(5),
        most=np.zeros(6),
        elastic=np.zeros(6),
        weights=np.zeros((0, 0)),
        axial=np.zeros((0, 3, 0)),
        shear=np.zeros((0, 2, 3, 0)),
        committed=np.zeros((0, 2, 0, REMEMBERED, 0)),
        trial=np.zeros((0, 2, 0, REMEMBERED, 0)),
        remembers=np.zeros(0, dtype=np.bool_),
        active=np.zeros(elements, dtype=np.bool_),
        moves=np.zeros((0, 2, 6, 7)),
    )


def starting_temperature(of: FibreSection, temperature: float | None) -> float:
    """The temperature of a wire before its way begins, degC: as told, or the reference of its material.

    Raises ValueError where the material's law does not reach it."""
    law_of(of.material, temperature)
    if temperature is None:
        return of.material.reference_temperature if isinstance(of.material, Superelastic) else BODY
    return number("the temperature of a wire", temperature, "degC", COLDEST, HOTTEST)


def scales_to(of: FibreSection, law: LinearSection) -> Array:
    """(6,) by which the stiffnesses of fibres are multiplied to be those of ``law``.

    Raises ValueError where these are further from the fibres' own than a torsion constant may be uncertain."""
    own, material = of.fibres, elastic_of(of.material)
    stiff = np.empty(6)
    stiff[[0, 4, 5]] = material.youngs_modulus * (own.weights @ own.axial**2)
    stiff[1:4] = material.shear_modulus * np.einsum("n,ncj->j", own.weights, own.shear[:, :, :3] ** 2)
    scale = law.stiffness / stiff
    if np.abs(scale - 1.0).max() > LIKE:
        raise ValueError(
            f"the fibres and the elastic law of a wire must have the same stiffnesses: got {shown(stiff)} and "
            f"{shown(law.stiffness)} (EA, kGA twice, GJ, EI_y, EI_z); make both from one section and one material"
        )
    return np.asarray(scale)


def fibres_of_elements(
    of: FibreSection | None, law: LinearSection, elements: int, temperature: float | None
) -> Fibres:
    """Fibres of a wire never strained, scaled so that their six stiffnesses are those of ``law``.

    Raises as `scales_to`."""
    if of is None:
        return no_fibres(elements)
    own, material = of.fibres, elastic_of(of.material)
    youngs, rigidity = material.youngs_modulus, material.shear_modulus
    scale = scales_to(of, law)
    axial, shear = own.axial.copy(), own.shear.copy()
    axial *= np.sqrt(scale[[0, 4, 5]])
    shear[:, :, :3] *= np.sqrt(scale[1:4])
    kind, numbers = law_of(of.material, temperature)
    warping = rigidity * np.einsum("n,ncj->j", own.weights, shear[:, :, 3:] ** 2)
    most = np.empty(6)
    most[[0, 4, 5]] = np.abs(axial).max(axis=0)
    most[1:4] = np.sqrt((shear[:, :, :3] ** 2).sum(axis=1).max(axis=0))
    reach = max(of.section.height, of.section.depth)
    parts = in_parts(own.weights)
    memory = (elements, 2, len(parts), REMEMBERED, parts.shape[1])
    return Fibres(
        kind=np.array([kind], dtype=np.int64),
        law=numbers,
        moduli=np.array([youngs, rigidity, elastic_limit(of.material, temperature), law.stiffness[0], reach]),
        most=most,
        elastic=np.concatenate((law.stiffness, warping)),
        weights=parts,
        axial=np.ascontiguousarray(np.swapaxes(in_parts(axial), 1, 2)),
        shear=np.ascontiguousarray(np.moveaxis(in_parts(shear), 1, 3)),
        committed=np.zeros(memory),
        trial=np.zeros(memory),
        remembers=np.zeros(elements, dtype=np.bool_),
        active=np.zeros(elements, dtype=np.bool_),
        moves=np.zeros((elements, 2, 6 + own.warpings, 7)),
    )


def in_parts(values: Array) -> Array:
    """What fibres have, (n, ...), in parts (c, w, ...) of as many as are asked at once, filled up with zeros."""
    count = len(values)
    parts = -(-count // LANES)
    width = -(-count // (parts * EVENLY)) * EVENLY
    filled = np.zeros((parts * width, *values.shape[1:]))
    filled[:count] = values
    return filled.reshape(parts, width, *values.shape[1:])


def warm(fibres: Fibres, of: FibreSection | None, temperature: float | None) -> None:
    """The laws of the fibres at a temperature, degC.  Raises ValueError where the material's law does not reach it."""
    if of is not None:
        fibres.law[:] = law_of(of.material, temperature)[1]
        fibres.moduli[2] = elastic_limit(of.material, temperature)


def places(nodes: Array) -> Array:
    """(m, 2) mm: arc lengths at which the sections of m elements between ``nodes`` (m + 1,) are asked."""
    # a copy: a read-only array would have the kernel compiled again
    return np.asarray(section_places(nodes.copy()).reshape(-1, 2))


def carried_over(fibres: Fibres, old: Array, new: Array, still: Array) -> Fibres:
    """The fibres of a wire between nodes ``old`` on elements between nodes ``new``: what they remember goes along.

    Between two places memory is interpolated along the wire, fibre by fibre, and drawn on beyond those next to a
    ``still`` arc length, where a corner may be.  A wire that was never strained stays so."""
    elements = new.size - 1
    memory = (elements, *fibres.committed.shape[1:])
    made = fibres._replace(
        committed=np.zeros(memory),
        trial=np.zeros(memory),
        remembers=np.zeros(elements, dtype=np.bool_),
        active=np.zeros(elements, dtype=np.bool_),
        moves=np.zeros((elements, *fibres.moves.shape[1:])),
    )
    if not fibres.remembers.any() and not fibres.committed.any():
        return made
    shape = fibres.committed.shape[2:]
    # copies: a read-only array would have the kernel compiled again
    carry(
        bool(fibres.kind[0] == SUPERELASTIC), old.copy(), new.copy(), still.copy(),
        fibres.committed.reshape(-1, *shape), made.committed.reshape(-1, *shape),
    )  # fmt: skip
    made.remembers[:] = made.committed[:, :, :, 3].any(axis=(1, 2, 3))
    return made


def strains_carried_over(strains: Array, old: Array, new: Array, still: Array) -> Array:
    """Strains (m, 2, s) of sections likewise."""
    out = np.empty((new.size - 1, *strains.shape[1:]))
    flat = strains.reshape(2 * (old.size - 1), -1)
    # copies: a read-only array would have the kernel compiled again
    along_wire(old.copy(), new.copy(), still.copy(), flat, out.reshape(2 * (new.size - 1), -1))
    return out


def remember(fibres: Fibres) -> None:
    """What was tried is the wire's memory from now on."""
    if fibres.committed.size:
        keep_memory(fibres)
