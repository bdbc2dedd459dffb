"""Elements of fibres: stiffness and energy against differences, the exact law where nothing yields, memory apart."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from fem.arrays import Beam, Fibres
from fem.fibre_beam import carried_over, fibres_of_elements, no_fibres, places, remember, strains_carried_over
from fem.fibre_elements_kernel import elements, predict_strains
from fem.fibre_material import FibreMaterial, elastic_limit, elastic_of
from fem.fibre_rows_kernel import LANES, rows_for_fibres
from fem.fibre_section import FibreSection, respond_at_points
from fem.fibre_sums_kernel import both_sections
from fem.section_law import LinearSection
from fem.torsion import torsion_constant
from geometry.section import Rectangle, Round, Section
from tests.yielding_wires import HARDENING, NITI, PLASTIC

Array = NDArray[np.float64]

COUNT = 12
SECTIONS: tuple[Section, ...] = (Round(0.4), Rectangle(0.4064, 0.5588))
# Perfectly plastic sections that have yielded all over have no stiffness to compare.
CASES = [
    (m, size)
    for m in (PLASTIC, HARDENING, NITI)
    for size in (0.4, 1.0, 3.0)
    if m is not PLASTIC or size < 3.0
]
# What strains a fibre of these wires to about its limit.
SIZES = np.array([0.004, 0.004, 0.004, 0.06, 0.05, 0.05])


class Rod:
    """Elements of random passive curvature, asked one by one."""

    def __init__(self, section: Section, material: FibreMaterial, seed: int = 1, yields: bool = True) -> None:
        rng = np.random.default_rng(seed)
        self.lengths = rng.uniform(0.2, 0.4, COUNT)
        self.passive = rng.normal(size=(COUNT, 6)) * np.array([0.0, 0.0, 0.0, 0.02, 0.02, 0.02])
        self.passive[:, 0] += self.lengths
        self.law = LinearSection.of(section, elastic_of(material), torsion_constant(section))
        fibres = FibreSection.for_beam(section, material)
        self.fibres = fibres_of_elements(fibres, self.law, COUNT, None) if yields else no_fibres(COUNT)
        self.strains = np.zeros(self.fibres.moves.shape[:3])
        self.predicted = np.zeros((COUNT, 6))
        if yields:
            self.fibres.remembers[:] = True  # so that fibres answer, whatever the strain

    @property
    def beam(self) -> Beam:
        return Beam(self.lengths, self.passive, self.law.compliances(COUNT), self.fibres)

    def answer(self, strain: Array, one_step: bool = False) -> tuple[float, Array, Array]:
        """Energy, resultants and stiffness at mean strains (m, 6)."""
        stress, stiffness = np.zeros((COUNT, 6)), np.zeros((COUNT, 6, 6))
        screws = self.passive + strain * self.lengths[:, None]
        energy, *_ = elements(screws, self.beam, self.strains, self.predicted, one_step, stress, stiffness)
        return energy, stress, stiffness


def strains_of(seed: int, size: float) -> Array:
    return np.random.default_rng(seed).normal(size=(COUNT, 6)) * SIZES * size


@pytest.mark.parametrize("section", SECTIONS, ids=lambda s: s.label)
@pytest.mark.parametrize(
    ("material", "size"), CASES,
    ids=lambda value: getattr(value, "name", str(value)),
)  # fmt: skip
def test_stiffness_and_energy_are_those_of_differences(
    section: Section, material: FibreMaterial, size: float
) -> None:
    """From a memory that is not empty.  Of 12 x 36 entries the worst tenth of a per cent may lie on a fibre's kink."""
    rod = Rod(section, material)
    first, at = strains_of(2, size), strains_of(3, size)
    for share in np.linspace(0.1, 1.0, 10):
        rod.answer(share * first)
        remember(rod.fibres)
    for share in np.linspace(0.1, 0.9, 9):
        rod.answer(first + share * (at - first))
        remember(rod.fibres)
    _, stress, stiffness = rod.answer(at)
    scale = np.sqrt(np.outer(rod.law.stiffness, rod.law.stiffness))
    errors = []
    for j in range(6):
        step = np.zeros(6)
        step[j] = 1e-6 * SIZES[j]
        ahead, behind = rod.answer(at + step)[1], rod.answer(at - step)[1]
        errors.append(np.abs((ahead - behind) / (2.0 * step[j]) - stiffness[:, :, j]) / scale[:, j])
    assert np.quantile(errors, 0.999) < 1e-5
    np.testing.assert_allclose(stiffness, np.swapaxes(stiffness, 1, 2), atol=1e-12 * scale.max())
    way = np.random.default_rng(4).normal(size=(COUNT, 6)) * SIZES * 1e-4
    gained = rod.answer(at + way)[0] - rod.answer(at - way)[0]
    assert gained == pytest.approx(2.0 * float((stress * way * rod.lengths[:, None]).sum()), rel=1e-6)


@pytest.mark.parametrize("section", SECTIONS, ids=lambda s: s.label)
def test_fibres_that_do_not_yield_answer_as_the_exact_law(section: Section) -> None:
    """So that the switch between both makes no jump: the torsion constant, the shear and all that varies along the
    element agree, to the fourth power of the length that the two differ by."""
    limit = elastic_limit(NITI) / NITI.austenite_modulus
    for seed in range(5):
        asked, exact = Rod(section, NITI, seed), Rod(section, NITI, seed, yields=False)
        strain = strains_of(seed, 1.0)
        most = asked.fibres.most
        outer = np.abs(strain[:, [0, 4, 5]]) @ most[[0, 4, 5]] + np.abs(strain[:, 1:4]) @ most[1:4]
        strain *= 0.8 * limit / outer.max()
        energy, stress, stiffness = asked.answer(strain)
        known, wanted, stiff = exact.answer(strain)
        size = np.abs(strain) @ np.sqrt(asked.law.stiffness)
        off = np.abs(stress - wanted) / np.sqrt(asked.law.stiffness)
        assert (off.max(axis=1) < 1e-6 * size).all()
        assert energy == pytest.approx(known, rel=1e-6)
        root = np.sqrt(asked.law.stiffness)
        assert np.abs((stiffness - stiff) / np.outer(root, root)).max() < 2e-4
        assert not asked.fibres.trial[:, :, :, 3].any()


def test_elements_are_left_to_the_exact_law_until_a_fibre_may_yield() -> None:
    """Bit for bit, by a bound that no fibre passes; what has yielded is asked for good."""
    section = SECTIONS[1]
    rod, exact = Rod(section, HARDENING), Rod(section, HARDENING, yields=False)
    rod.fibres.remembers[:] = False
    size = 0.2
    while size < 3.0:
        strain = strains_of(7, size)
        _, wanted, _ = exact.answer(strain)
        rod.predicted[:] = exact.predicted[:] = wanted
        rod.fibres.active[:] = False
        predict_strains(rod.beam, wanted, rod.predicted, rod.strains)
        _, stress, _ = rod.answer(strain)
        left = ~rod.fibres.active
        np.testing.assert_array_equal(stress[left], wanted[left])
        # of those left alone, none yields where it is asked
        asked = Rod(section, HARDENING)
        asked.answer(strain)
        assert not (asked.fibres.trial[left, :, :, 3] > 0.0).any()
        size *= 1.3
    assert rod.fibres.active.all()


def test_what_is_tried_leaves_the_memory_alone() -> None:
    rod = Rod(SECTIONS[0], NITI)
    rod.answer(strains_of(5, 2.0))
    remember(rod.fibres)
    committed, at = rod.fibres.committed.copy(), rod.strains.copy()
    first = rod.answer(strains_of(6, 2.0))
    rod.answer(strains_of(8, 4.0))
    np.testing.assert_array_equal(rod.fibres.committed, committed)
    rod.strains[:] = at
    again = rod.answer(strains_of(6, 2.0))
    np.testing.assert_allclose(again[1], first[1], rtol=0, atol=1e-9 * np.abs(first[1]).max())


@pytest.mark.parametrize("material", [HARDENING, NITI], ids=lambda m: m.name)
def test_memory_goes_along_with_the_wire_to_other_elements(material: FibreMaterial) -> None:
    """A wire bent more and more towards a corner: what its new elements remember is what that place has seen, to the
    square of the elements' length or better, and nothing is made of nothing."""
    section, nodes = Round(0.4), np.linspace(0.0, 6.0, 31)
    law = LinearSection.of(section, elastic_of(material), torsion_constant(section))
    cut = FibreSection.for_beam(section, material)
    moved = nodes + 0.08 * np.sin(np.pi * nodes / 6.0)

    def remembered(at: Array) -> Fibres:
        fibres = fibres_of_elements(cut, law, at.size - 1, None)
        curved = np.zeros((fibres.committed.shape[0] * 2, 6))
        arcs = places(at).ravel()
        curved[:, 5] = 0.02 + 0.12 * np.abs(1.0 - np.abs(arcs - 3.0) / 3.0)
        response = cut.respond(curved, cut.unstrained(len(curved)))
        history = response.history[:, : len(cut.fibres.weights)]  # (2 m, n, 6), all of which fill one part
        fibres.committed[:] = np.swapaxes(history, 1, 2).reshape(fibres.committed.shape)
        fibres.remembers[:] = (fibres.committed[:, :, :, 3] > 0.0).any(axis=(1, 2, 3))
        return fibres

    still = np.array([0.0, nodes[15], 6.0])
    moved[15] = nodes[15]
    found, wanted = carried_over(remembered(nodes), nodes, moved, still), remembered(moved)
    weights = cut.fibres.weights
    for part in (3, 5):
        seen, known = found.committed[..., part, :] @ weights, wanted.committed[..., part, :] @ weights
        np.testing.assert_allclose(seen, known, atol=0.01 * known.max())
    grown = found.committed[:, :, :, 3]
    assert (grown >= 0.0).all()
    assert grown.max() <= max(1.0, wanted.committed[:, :, :, 3].max())
    new = carried_over(fibres_of_elements(cut, law, 30, None), nodes, moved, still)
    assert not new.committed.any()
    assert not new.remembers.any()


def test_strains_that_grow_evenly_are_carried_over_exactly() -> None:
    nodes = np.linspace(0.0, 4.0, 9)
    moved = np.linspace(0.0, 4.0, 13)
    slope = np.arange(1.0, 7.0)
    strains = places(nodes)[:, :, None] * slope
    found = strains_carried_over(strains, nodes, moved, np.array([0.0, 4.0]))
    np.testing.assert_allclose(found, places(moved)[:, :, None] * slope, rtol=1e-12)


@pytest.mark.parametrize("material", [HARDENING, NITI], ids=lambda m: m.name)
@pytest.mark.parametrize(
    ("section", "divisions", "degree", "rows"),
    [
        (SECTIONS[0], 3, 0, 0),
        (SECTIONS[0], 8, 0, 0),
        (SECTIONS[1], 8, 6, 10),
        (SECTIONS[1], 8, 4, 6),
        (SECTIONS[1], 4, 2, 0),
        (SECTIONS[1], 8, 8, 0),
    ],
)
def test_sections_are_plain_sums_over_their_fibres(
    material: FibreMaterial, section: Section, divisions: int, degree: int, rows: int
) -> None:
    """In one part or in several, with any number of shapes of warping: resultants, tangent and memory are those of the
    law of one fibre after another, summed by numpy."""
    rng = np.random.default_rng(5)
    cut = FibreSection(section, material, divisions, degree, rows)
    law = LinearSection.of(section, elastic_of(material), torsion_constant(section))
    fibres = fibres_of_elements(cut, law, 1, None)
    count, size = len(cut.fibres.weights), fibres.elastic.size
    part, lane = np.divmod(np.arange(count), fibres.weights.shape[1])
    assert fibres.weights.shape[0] == 1 + (count - 1) // LANES
    modes = np.zeros((count, 3, size))
    modes[:, 0, [0, 4, 5]] = fibres.axial[part, :, lane]
    sheared = [1, 2, 3, *range(6, size)]
    modes[:, 1:, sheared] = np.moveaxis(fibres.shear, 3, 1)[part, lane]
    weights = fibres.weights[part, lane]
    room, total, stiff = rows_for_fibres(), np.empty((2, size)), np.empty((2, size, size))
    scale = np.sqrt(fibres.elastic)
    unit = np.concatenate((SIZES, np.full(size - 6, 0.004)))
    for step in range(4):
        e = rng.normal(size=(2, size)) * unit * (0.7, 2.0, 1.0, 2.0)[step]
        both_sections(fibres, e, fibres.committed[0], fibres.trial[0], True, room, total, stiff)
        for p in range(2):
            before = fibres.committed[0, p, part, :, lane]
            stress, tangent, after = respond_at_points(material, modes @ e[p], before)
            wanted = np.einsum("n,nci,nc->i", weights, modes, stress)
            np.testing.assert_allclose(total[p] / scale, wanted / scale, atol=1e-9 * scale.max())
            known = np.einsum("n,nci,ncd,ndj->ij", weights, modes, tangent, modes) / np.outer(scale, scale)
            off = np.tril(stiff[p] / np.outer(scale, scale) - known)
            assert np.abs(off).max() < 1e-7
            yields = (before[:, 3] > 0.0) | (after[:, 3] > 0.0)
            assert yields.any() or step == 0
            np.testing.assert_allclose(fibres.trial[0, p, part, :, lane][yields], after[yields], atol=1e-9)
        fibres.committed[:] = fibres.trial
