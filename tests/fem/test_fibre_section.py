"""Sections of fibres: exact while elastic, consistent tangents, histories that are the caller's."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from fem.fibre_material import Elastoplastic, FibreMaterial, Superelastic
from fem.fibre_paths import (
    AXIAL,
    BEND_Y,
    BEND_Z,
    TWIST,
    Unbalanced,
    cycle,
    follow,
    joined,
    load_and_release,
    released,
)
from fem.fibre_section import FibreSection, respond_at_points
from fem.fibres import fibres_of
from fem.material import LinearElastic
from fem.section_law import LinearSection, shear_coefficients
from fem.section_shear import shear_of_forces
from fem.torsion import at_quadrature_points, torsion_constant
from geometry.meshing import section_mesh
from geometry.section import Rectangle, Round, Section

STEEL = LinearElastic("steel", 180e3, 0.3)
YIELDING = Elastoplastic("yielding", 180e3, 0.3, 1600.0, 0.0, 2000.0)
FLAG = Superelastic("flag", 60e3, 60e3, 0.3, 0.07, 520.0, 600.0, 300.0, 200.0)
SKEW = Superelastic("skew", 60e3, 40e3, 0.33, 0.06, 450.0, 500.0, 240.0, 200.0, 1.2, 6.5)
SECTIONS: tuple[Section, ...] = (Round(0.4064), Rectangle(0.4064, 0.5588), Rectangle(0.4318, 0.635, 0.05))
names = [section.label for section in SECTIONS]


@pytest.mark.parametrize("section", SECTIONS, ids=names)
@pytest.mark.parametrize("material", [STEEL, YIELDING, FLAG, SKEW], ids=lambda m: m.name)
def test_what_has_not_yielded_answers_as_the_linear_section(
    section: Section, material: FibreMaterial
) -> None:
    """All six stiffnesses, and no coupling, to rounding; resultants too, and nothing is dissipated."""
    law = FibreSection(section, material)
    elastic = LinearElastic("e", material.youngs_modulus, material.poisson)
    wanted = LinearSection.of(section, elastic, torsion_constant(section)).stiffness
    strains = np.array([[1e-4, 2e-4, -1e-4, 0.002, 0.004, -0.003]])
    found = law.respond(strains, law.unstrained())
    size = np.sqrt(np.outer(wanted, wanted))
    np.testing.assert_allclose(found.tangent[0] / size, np.eye(6), rtol=0, atol=1e-12)
    np.testing.assert_allclose(found.resultants[0], wanted * strains[0], rtol=1e-11)
    assert law.dissipated(found.history)[0] == 0.0


@pytest.mark.parametrize("section", SECTIONS, ids=names)
def test_scaling_changes_next_to_nothing(section: Section) -> None:
    """Weights sum to the area and axial modes are 1, z, -y, to what single triangles at rounded edges leave (1e-4);
    twist turns within 1e-3."""
    fibres = fibres_of(section, 0.3)
    assert fibres.weights.sum() == pytest.approx(section.area, rel=1e-4)
    plain = np.column_stack((np.ones(len(fibres.weights)), fibres.places[:, 1], -fibres.places[:, 0]))
    np.testing.assert_allclose(fibres.axial, plain, rtol=0, atol=1e-4)
    y, z = fibres.places.T
    torque = fibres.weights @ (y * fibres.shear[:, 1, 2] - z * fibres.shear[:, 0, 2])
    assert torque == pytest.approx(torsion_constant(section), rel=1e-3)


def test_shear_of_a_round_wire_is_that_of_the_finite_elements() -> None:
    """Timoshenko & Goodier, art. 121, beside `section_shear`, within 1 % of the largest; fibres have it but for a
    factor that makes the shear stiffness Cowper's."""
    section, poisson = Round(0.4064), 0.3

    def closed_form(places: NDArray[np.float64]) -> NDArray[np.float64]:
        y, z = places[..., 0], places[..., 1]
        along = (3 + 2 * poisson) * (0.2032**2 - y**2) - (1 - 2 * poisson) * z**2
        across = -2.0 * (1 + 2 * poisson) * y * z
        return np.stack((along, across), axis=-1) / (8 * (1 + poisson) * section.second_moment_z)

    mesh = section_mesh(section, 12)
    found = shear_of_forces(mesh, poisson)[..., 0]
    wanted = closed_form(at_quadrature_points(mesh)[3])
    np.testing.assert_allclose(found, wanted, rtol=0, atol=0.01 * np.abs(wanted).max())
    fibres = fibres_of(section, poisson)
    plain = closed_form(fibres.places)
    factor = float((fibres.shear[:, :, 0] * plain).sum() / (plain * plain).sum())
    np.testing.assert_allclose(fibres.shear[:, :, 0], factor * plain, rtol=0, atol=1e-9)
    # that of the energy: 6 (1 + nu)^2/(7 + 14 nu + 8 nu^2), Renton, Int. J. Solids Structures 27 (1991), from memory
    energy = 6 * (1 + poisson) ** 2 / (7 + 14 * poisson + 8 * poisson**2)
    assert factor == pytest.approx(
        math.sqrt(shear_coefficients(section, poisson) * energy) * section.area, rel=1e-9
    )


@pytest.mark.parametrize("material", [YIELDING, FLAG, SKEW], ids=lambda m: m.name)
@pytest.mark.parametrize("section", SECTIONS[:2], ids=names[:2])
def test_tangent_of_a_section_is_the_derivative_of_its_resultants(
    section: Section, material: FibreMaterial
) -> None:
    """1e-5 of the elastic stiffness, on the way out and on the way back, all strains at once.

    The steps are so small that no fibre changes branch within one; one that did would leave its share of the section.
    """
    law = FibreSection(section, material, 6)
    history = law.unstrained()
    out = np.array([0.002, 0.004, -0.003, 0.07, 0.05, -0.09])
    size = np.sqrt(np.diagonal(law.respond(np.zeros((1, 6)), history).tangent[0]))
    for strains in (0.3 * out, out, 0.8 * out, -0.4 * out):
        found = law.respond(strains[None], history)
        step = 1e-8 * size[0] / size
        for j in range(6):
            e = np.zeros(6)
            e[j] = step[j]
            ahead = law.respond((strains + e)[None], history).resultants[0]
            behind = law.respond((strains - e)[None], history).resultants[0]
            column = (ahead - behind) / (2.0 * step[j]) / (size * size[j])
            np.testing.assert_allclose(column, found.tangent[0, :, j] / (size * size[j]), rtol=0, atol=1e-5)
        np.testing.assert_array_equal(found.tangent[0], found.tangent[0].T)
        history = found.history


def test_a_history_is_the_callers() -> None:
    """Trial steps leave the committed one as it is; many sections at once are each as if alone."""
    law = FibreSection(Round(0.4064), SKEW, 4)
    rng = np.random.default_rng(1)
    strains = rng.normal(size=(5, 6)) * [0.01, 0.01, 0.01, 0.1, 0.1, 0.1]
    first = law.respond(strains, law.unstrained(5))
    kept = first.history.copy()
    second = law.respond(0.5 * strains, first.history)
    assert (first.history == kept).all()
    for i in range(5):
        alone = law.respond(0.5 * strains[i : i + 1], first.history[i : i + 1])
        np.testing.assert_array_equal(alone.resultants[0], second.resultants[i])
        np.testing.assert_array_equal(alone.history[0], second.history[i])
    back = law.respond(np.zeros((5, 6)), second.history)
    assert np.abs(back.resultants).max() < 1e-9 and not law.martensite(back.history).any()


@settings(deadline=None, max_examples=25)
@given(
    st.lists(st.tuples(*[st.floats(-1.0, 1.0)] * 6), min_size=1, max_size=4),
    st.sampled_from([YIELDING, FLAG, SKEW]),
)
def test_sections_dissipate_on_random_ways(path: list[tuple[float, ...]], material: FibreMaterial) -> None:
    """Never less than nothing, and a wire that transforms is as new at rest where its way there led straight home."""
    law = FibreSection(Round(0.4064), material, 3)
    history, lost = law.unstrained(), 0.0
    for step in path:
        strains = np.array(step) * [0.02, 0.02, 0.02, 0.3, 0.3, 0.3]
        history = law.respond(strains[None], history).history
        assert law.dissipated(history)[0] >= lost
        lost = float(law.dissipated(history)[0])
    home = law.respond(np.zeros((1, 6)), history)
    if isinstance(material, Superelastic):
        assert not home.resultants.any() and not law.martensite(home.history).any()


@pytest.mark.parametrize("material", [YIELDING, FLAG], ids=lambda m: m.name)
def test_a_wire_never_strained_is_at_rest(material: FibreMaterial) -> None:
    law = FibreSection(Rectangle(0.4064, 0.5588), material, 4)
    path = follow(law, BEND_Z, [0.0, 0.0, 0.0])
    assert not path.resultants.any() and not path.dissipated.any() and not path.martensite.any()


def test_bending_without_axial_force_moves_the_neutral_fibre() -> None:
    """Plateaus higher in compression: the neutral fibre moves towards compression, so that the middle stretches."""
    law = FibreSection(Round(0.4064), SKEW)
    path = follow(law, BEND_Z, np.linspace(0.0, 0.2, 21))
    assert np.abs(path.resultants[:, 0]).max() < 1e-6
    assert path.strains[-1, 0] > 1e-4
    other = follow(law, BEND_Y, np.linspace(0.0, 0.2, 21))
    np.testing.assert_allclose(other.resultants[:, BEND_Y], path.resultants[:, BEND_Z], rtol=2e-3)


def test_paths_go_on_from_one_another() -> None:
    law = FibreSection(Round(0.4064), FLAG, 6)
    values = cycle([0.2, 0.05], 10)
    assert len(values) == 21 and values[10] == 0.2 and values[-1] == 0.05
    whole = follow(law, BEND_Z, values)
    half = follow(law, BEND_Z, values[:11])
    again = joined([half, follow(law, BEND_Z, values[11:], after=half)])
    np.testing.assert_array_equal(whole.resultants, again.resultants)
    np.testing.assert_array_equal(whole.history, again.history)


def test_release_finds_what_is_left() -> None:
    """Released from any place nothing acts; elastic unloading leaves k - M/(EI)."""
    law = FibreSection(Round(0.4064), Elastoplastic("perfect", 180e3, 0.3, 1800.0))
    path = follow(law, BEND_Z, np.linspace(0.0, 0.15, 31))
    rest = released(law, BEND_Z, path)
    assert abs(rest.resultants[0, BEND_Z]) < 1e-8
    stiffness = 180e3 * law.section.second_moment_z
    left = 0.15 - path.resultants[-1, BEND_Z] / stiffness
    assert rest.strains[0, BEND_Z] == pytest.approx(left, rel=1e-9)


def test_load_and_release_counts_its_ways() -> None:
    law = FibreSection(Round(0.4064), FLAG, 4)
    path, ways = load_and_release(law, TWIST, [0.2, -0.2], 8, through=[0.11])
    assert [(way.cycle, way.out) for way in ways] == [(1, True), (1, False), (2, True), (2, False)]
    assert ways[0].first == 1 and ways[-1].end == len(path.strains)
    assert path.strains[ways[0].end - 1, TWIST] == 0.2 and 0.11 in path.strains[:, TWIST]
    for way in ways[1::2]:
        assert (
            abs(path.resultants[way.end - 1, TWIST]) < 1e-9 and abs(path.strains[way.end - 1, TWIST]) < 1e-9
        )


def test_a_loop_of_a_section_encloses_what_it_dissipates() -> None:
    """Bending and torsion: work of the closed loop by the trapezoidal rule of 2 x 200 steps, 1e-3."""
    law = FibreSection(Round(0.4064), FLAG, 6)
    for which in (BEND_Z, TWIST):
        path, _ = load_and_release(law, which, [0.25], 200)
        assert path.work()[-1] == pytest.approx(path.dissipated[-1], rel=1e-3)
        assert path.dissipated[-1] > 0.1


def test_a_bent_wire_heeds_the_temperature_beyond_its_hysteresis() -> None:
    """Loop 210 MPa wide and 6.5 MPa/K: up to 32 K of heating do nothing at a curvature that is held; more turn
    martensite back and raise the moment, and cooling by less than 32 K then does not undo it."""
    law = FibreSection(Round(0.4064), SKEW, 6)
    heated = [37.0, 47.0, 57.0, 77.0, 87.0, 67.0]
    path = follow(law, BEND_Z, [*np.linspace(0.01, 0.2, 20), *[0.2] * 6], temperatures=[37.0] * 20 + heated)
    moments, share = path.resultants[20:, BEND_Z], path.martensite[20:]
    assert moments[0] == pytest.approx(moments[2], rel=1e-9) and share[0] == pytest.approx(share[2], rel=1e-9)
    assert moments[2] < moments[3] < moments[4] and share[2] > share[3] > share[4]
    assert moments[5] == pytest.approx(moments[4], rel=1e-9)
    assert (np.diff(path.dissipated) >= 0.0).all()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda law: law.respond(np.zeros((2, 6)), law.unstrained()), "a history must be of shape"),
        (
            lambda law: law.respond(np.zeros((1, 5)), law.unstrained()),
            "strains of sections must be rows of 6",
        ),
        (
            lambda law: law.respond(np.full((1, 6), np.nan), law.unstrained()),
            "strains of sections must be finite",
        ),
        (lambda law: follow(law, BEND_Z, []), "values of a strain must be at least one"),
        (lambda law: follow(law, BEND_Z, [0.1], temperatures=[1.0, 2.0]), "one for each of the 1 values"),
        (lambda law: follow(law, BEND_Z, [0.1], temperatures=-100.0), "martensite does not go back"),
        (lambda law: FibreSection(law.section, law.material, 1), "need at least two divisions"),
        (
            lambda law: FibreSection(law.section, law.material, 2, 14),
            "the degree of warping must be from 0 to 12",
        ),
        (lambda law: FibreSection("0.016 in", law.material), "a section must be a Round or a Rectangle"),
        (
            lambda law: FibreSection(law.section, "steel"),
            "a material of fibres must be LinearElastic, Elastoplastic",
        ),
        (
            lambda law: respond_at_points(law.material, np.zeros((3, 3)), np.zeros((2, 6))),
            "a history must be of shape",
        ),
    ],
)
def test_what_does_not_fit_together_is_refused(call: Any, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call(FibreSection(Round(0.4064), SKEW, 2))


def test_a_wire_that_cannot_be_balanced_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fem.fibre_paths.MOST_STEPS", 0)
    with pytest.raises(Unbalanced, match="take smaller steps"):
        follow(FibreSection(Round(0.4064), SKEW, 3), BEND_Z, [0.2])


def test_torsion_couples_with_stretch_only_where_tension_and_compression_differ() -> None:
    """A twisted wire whose plateaus differ grows longer, as its martensite has a preference for tension."""
    plain = follow(FibreSection(Round(0.4064), FLAG), TWIST, np.linspace(0.0, 0.3, 16))
    skew = follow(FibreSection(Round(0.4064), SKEW), TWIST, np.linspace(0.0, 0.3, 16))
    assert np.abs(plain.strains[:, AXIAL]).max() < 1e-12
    assert skew.strains[-1, AXIAL] > 1e-4 and np.abs(skew.resultants[:, AXIAL]).max() < 1e-6
    assert math.isfinite(skew.resultants[-1, TWIST])


def test_stresses_of_fibres_add_up_to_the_resultants() -> None:
    """Axial force and both moments from the stresses of single fibres, and no stress beyond yield."""
    law = FibreSection(Rectangle(0.4064, 0.5588), Elastoplastic("perfect", 180e3, 0.3, 1600.0))
    strains = np.array([0.003, 0.0, 0.0, 0.2, 0.03, -0.06])
    found = law.respond(strains[None], law.unstrained())
    stresses = law.stresses(strains, law.unstrained())
    whole = law.fibres.weights @ (law.fibres.axial * stresses[:, :1])
    np.testing.assert_allclose(whole, found.resultants[0, [0, 4, 5]], rtol=1e-9)
    y, z = law.fibres.places.T
    torque = law.fibres.weights @ (y * stresses[:, 2] - z * stresses[:, 1])
    assert torque == pytest.approx(
        found.resultants[0, TWIST], rel=5e-3
    )  # warping at rest, on a mesh's polynomials
    yielding = np.sqrt(stresses[:, 0] ** 2 + 3.0 * (stresses[:, 1] ** 2 + stresses[:, 2] ** 2))
    assert yielding.max() == pytest.approx(1600.0, rel=1e-9)


def test_warping_joins_in_only_where_fibres_yield() -> None:
    """Amplitudes are nothing while elastic, something after; released, a wire that transforms has none left."""
    law = FibreSection(Rectangle(0.4064, 0.5588), FLAG)
    fibres = law.fibres
    assert fibres.rows == len(fibres.weights) + 2 and fibres.warpings == 10
    assert FibreSection(Round(0.4064), FLAG).fibres.warpings == 0
    amplitudes = []
    history = law.unstrained()
    for twist in (0.02, 0.3, 0.15, 0.0):
        history = law.respond(np.array([[0.0, 0.0, 0.0, twist, 0.0, 0.0]]), history).history
        amplitudes.append(np.abs(history[0, len(fibres.weights) :]).max())
    assert amplitudes[0] == 0.0 and min(amplitudes[1:3]) > 1e-4 and amplitudes[3] < 1e-12
