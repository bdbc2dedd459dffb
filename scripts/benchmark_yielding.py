"""Wires that yield or transform, for `scripts/benchmark`: the standard's bending test as a whole, and elements of which
every fibre transforms."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cases.bench_tests.three_point import Setup, half_of
from fem.arrays import Beam
from fem.fibre_beam import fibres_of_elements, remember
from fem.fibre_elements_kernel import elements
from fem.fibre_material import Superelastic, elastic_of
from fem.fibre_section import FibreSection
from fem.model import Model
from fem.path import Leg, engage
from fem.section_law import LinearSection
from fem.torsion import torsion_constant
from geometry.section import Rectangle, Round, Section

# Set S1 of the law of Auricchio, Taylor & Lubliner (from memory), as in tests/published/test_superelastic_flag.py.
REMEMBERS = Superelastic("set S1", 60e3, 60e3, 0.3, 0.07, 520.0, 600.0, 300.0, 200.0)
# Invented, with all that the law knows: two moduli, compression stronger than tension.
SKEW = Superelastic("skew", 55e3, 30e3, 0.33, 0.06, 450.0, 500.0, 250.0, 200.0, 1.2, 6.5)
ROUND, RECTANGLE = Round(0.4064), Rectangle(0.4064, 0.5588)
INCREMENTS = 100
ASKED = 40
"""Elements asked at once."""
ALL = np.array([0.02, 0.001, 0.001, 0.03, 0.02, 0.02])
"""Strains that drive every fibre of these wires over the start of its plateau."""
BENT_AND_TWISTED = np.array([0.0, 0.0, 0.0, 0.16, 0.04, 0.14])
"""1/mm: what a torqued rectangle does."""


@dataclass(frozen=True, slots=True)
class Cycle:
    """The bending test of ISO 15841 on half a wire, out to 3.1 mm and back."""

    model: Model
    legs: tuple[Leg, ...]

    @classmethod
    def of(cls) -> Cycle:
        """Of a superelastic round wire."""
        setup = Setup()
        model, legs, _ = half_of(setup, ROUND, REMEMBERS, step=2.0 * setup.deflections[0] / INCREMENTS)
        return cls(model, tuple(legs))

    def run(self) -> int:
        """Iterations of Newton's method, followings included."""
        path = engage(self.model, legs=self.legs)
        assert len(path.increments) == INCREMENTS
        return sum(increment.outcome.iterations for increment in path.increments)


def active_elements(section: Section, strain: np.ndarray) -> tuple[Callable[[], None], float]:
    """A question to `ASKED` straight elements strained by 0.8 and then by 0.9 of ``strain`` (6,), as an iteration asks
    it, and the share of their fibres that transform."""
    lengths = np.full(ASKED, 0.3)
    passive = np.zeros((ASKED, 6))
    passive[:, 0] = lengths
    law = LinearSection.of(section, elastic_of(SKEW), torsion_constant(section))
    fibres = fibres_of_elements(FibreSection.for_beam(section, SKEW), law, ASKED, None)
    beam = Beam(lengths, passive, law.compliances(ASKED), fibres)
    fibres.remembers[:] = True  # so that fibres answer, whatever the strain
    strains, stress = np.zeros(fibres.moves.shape[:3]), np.zeros((ASKED, 6))
    predicted, stiffness = np.zeros((ASKED, 6)), np.zeros((ASKED, 6, 6))
    screws = passive.copy()
    for share in (0.3, 0.6, 0.8, 0.9):
        remember(fibres)
        fibres.remembers[:] = True
        screws[:] = passive + share * strain * lengths[:, None]
        elements(screws, beam, strains, predicted, False, stress, stiffness)
        predicted[:] = stress

    def ask() -> None:
        elements(screws, beam, strains, predicted, True, stress, stiffness)

    grown = fibres.trial[:, :, :, 3] > fibres.committed[:, :, :, 3]
    return ask, float(grown[:, :, fibres.weights > 0.0].mean())
