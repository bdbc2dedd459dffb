"""Laws of single fibres: thermodynamics, consistency and closed forms, on random strain paths."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from fem.elastoplastic_many_kernel import elastoplastic_many
from fem.fibre_material import Elastoplastic, FibreMaterial, Superelastic, law_of
from fem.fibre_rows_kernel import COUNTED, LANES, NOW, STRAIN, TOLD, rows_for_fibres
from fem.fibre_section import respond_at_points
from fem.material import LinearElastic
from fem.superelastic_many_kernel import superelastic_many

Array = NDArray[np.float64]

FLAG = Superelastic("flag", 60e3, 60e3, 0.3, 0.07, 520.0, 600.0, 300.0, 200.0)
SKEW = Superelastic("skew", 60e3, 35e3, 0.33, 0.05, 450.0, 500.0, 240.0, 200.0, 1.3, 6.5)
PERFECT = Elastoplastic("perfect", 180e3, 0.3, 1600.0)
HARD = Elastoplastic("hard", 180e3, 0.3, 1600.0, 4000.0, 9000.0)
TRANSFORMING = (FLAG, SKEW)
YIELDING = (PERFECT, HARD)
strains = st.lists(st.tuples(*[st.floats(-0.08, 0.08, allow_nan=False)] * 3), min_size=1, max_size=6)
materials = st.sampled_from([*TRANSFORMING, *YIELDING])


def one(
    material: FibreMaterial, strain: Array, history: Array, warm: float | None = None
) -> tuple[Array, ...]:
    """Stress (3,), tangent (3, 3), history (1, 6) of one fibre."""
    stress, tangent, after = respond_at_points(material, np.atleast_2d(strain), history, warm)
    return stress[0], tangent[0], after


def uniaxial(material: FibreMaterial, values: Array, warm: float | None = None) -> tuple[Array, Array]:
    """Axial stresses (k,) of a strain path (k,), and the last history."""
    history, out = np.zeros((1, 6)), []
    for value in values:
        stress, _, history = one(material, np.array([value, 0.0, 0.0]), history, warm)
        out.append(stress[0])
    return np.array(out), history


def equivalent(material: Superelastic, stress: Array) -> float:
    """Stress in axial tension that drives as much: written out anew, from the Gibbs energy."""
    k, soft = (
        2.0 * (1.0 + material.poisson),
        1.0 / material.martensite_modulus - 1.0 / material.austenite_modulus,
    )
    b = (material.compression_ratio - 1.0) / (material.compression_ratio + 1.0)
    shear2 = float(stress[1] ** 2 + stress[2] ** 2)
    q = (math.sqrt(stress[0] ** 2 + 3.0 * shear2) + b * stress[0]) / (1.0 + b)
    h = material.transformation_strain * q + 0.5 * soft * (stress[0] ** 2 + k * shear2)
    if soft == 0.0:
        return h / material.transformation_strain
    return (
        math.sqrt(material.transformation_strain**2 + 2.0 * soft * h) - material.transformation_strain
    ) / soft


@settings(deadline=None, max_examples=150)
@given(st.sampled_from(TRANSFORMING), strains)
def test_no_stress_lies_outside_the_loop(
    material: Superelastic, path: list[tuple[float, float, float]]
) -> None:
    """Martensite needs at least the lower finish, austenite bears at most the upper; strain is the sum of both."""
    history = np.zeros((1, 6))
    b = (material.compression_ratio - 1.0) / (material.compression_ratio + 1.0)
    for strain in path:
        stress, _, history = one(material, np.array(strain), history)
        share, f = history[0, 3], equivalent(material, stress)
        assert 0.0 <= share <= 1.0
        assert history[0, 4] == pytest.approx(f, rel=1e-9, abs=1e-9)
        if share > 0.0:
            assert f >= material.unloading_finish * (1.0 - 1e-9)
        if share < 1.0:
            assert f <= material.loading_finish * (1.0 + 1e-9)
        soft = 1.0 / material.austenite_modulus * (1.0 - share) + share / material.martensite_modulus
        k = 2.0 * (1.0 + material.poisson)
        r = math.sqrt(stress[0] ** 2 + 3.0 * (stress[1] ** 2 + stress[2] ** 2))
        flow = (
            np.array([stress[0] + b * r, 3.0 * stress[1], 3.0 * stress[2]]) / ((1.0 + b) * r)
            if r
            else np.zeros(3)
        )
        elastic = soft * stress * np.array([1.0, k, k])
        left = elastic + material.transformation_strain * share * flow - np.array(strain)
        assert np.abs(left).max() < 1e-12


@settings(deadline=None, max_examples=150)
@given(st.sampled_from(YIELDING), strains)
def test_no_stress_lies_outside_the_yield_surface(
    material: Elastoplastic, path: list[tuple[float, float, float]]
) -> None:
    history = np.zeros((1, 6))
    for strain in path:
        stress, _, history = one(material, np.array(strain), history)
        plastic, p = history[0, :3], history[0, 3]
        x = stress - material.kinematic_hardening * plastic * np.array([1.0, 1.0 / 3.0, 1.0 / 3.0])
        q = math.sqrt(x[0] ** 2 + 3.0 * (x[1] ** 2 + x[2] ** 2))
        assert q <= (material.yield_stress + material.isotropic_hardening * p) * (1.0 + 1e-9)
        moduli = np.array([material.youngs_modulus, material.shear_modulus, material.shear_modulus])
        np.testing.assert_allclose(stress, moduli * (np.array(strain) - plastic), rtol=0, atol=1e-8)


@settings(deadline=None, max_examples=150)
@given(materials, strains)
def test_dissipation_is_never_negative(
    material: FibreMaterial, path: list[tuple[float, float, float]]
) -> None:
    history = np.zeros((1, 6))
    for strain in path:
        _, _, after = one(material, np.array(strain), history)
        assert after[0, 5] >= history[0, 5]
        history = after


@settings(deadline=None, max_examples=150)
@given(materials, strains)
def test_tangent_is_the_derivative_of_stress(
    material: FibreMaterial, path: list[tuple[float, float, float]]
) -> None:
    """1e-5 of Young's modulus by central differences; where a branch begins within a difference, by one side of it."""
    history = np.zeros((1, 6))
    size, scale = 1e-7, material.youngs_modulus
    for strain in path:
        at = np.array(strain)
        stress, tangent, after = one(material, at, history)
        np.testing.assert_allclose(tangent, tangent.T, rtol=0, atol=1e-9 * scale)
        for j in range(3):
            step = np.zeros(3)
            step[j] = size
            ahead, behind = one(material, at + step, history)[0], one(material, at - step, history)[0]
            sides = ((ahead - behind) / (2.0 * size), (ahead - stress) / size, (stress - behind) / size)
            assert min(np.abs(side - tangent[:, j]).max() for side in sides) < 1e-5 * scale
        history = after


@settings(deadline=None, max_examples=60)
@given(materials, strains, st.floats(0.0, 2.0 * math.pi))
def test_the_two_shears_are_alike(
    material: FibreMaterial, path: list[tuple[float, float, float]], angle: float
) -> None:
    """A wire turned about its axis answers turned."""
    turn = np.array(
        [[1, 0, 0], [0, math.cos(angle), -math.sin(angle)], [0, math.sin(angle), math.cos(angle)]]
    )
    plain, turned = np.zeros((1, 6)), np.zeros((1, 6))
    for strain in path:
        a, _, plain = one(material, np.array(strain), plain)
        b, _, turned = one(material, turn @ np.array(strain), turned)
        np.testing.assert_allclose(b, turn @ a, rtol=0, atol=1e-6)


@pytest.mark.parametrize(
    "material", [*TRANSFORMING, *YIELDING, LinearElastic("e", 180e3, 0.3)], ids=lambda m: m.name
)
def test_no_strain_is_no_stress(material: FibreMaterial) -> None:
    """And nothing is remembered of it."""
    history = np.zeros((1, 6))
    for _ in range(3):
        stress, tangent, history = one(material, np.zeros(3), history)
        assert not stress.any() and not history[0, [0, 1, 2, 3, 5]].any()
    shear = material.shear_modulus
    np.testing.assert_allclose(tangent, np.diag([material.youngs_modulus, shear, shear]), rtol=1e-14)


@settings(deadline=None, max_examples=80)
@given(
    st.sampled_from(TRANSFORMING), st.lists(st.floats(-0.08, 0.08, allow_nan=False), min_size=1, max_size=8)
)
def test_superelastic_goes_back_to_exactly_nothing(material: Superelastic, path: list[float]) -> None:
    """Whatever was done to it along its axis."""
    stresses, history = uniaxial(material, np.array([*path, 0.0]))
    assert stresses[-1] == 0.0 and history[0, 3] == 0.0


@settings(deadline=None, max_examples=80)
@given(
    st.sampled_from(TRANSFORMING),
    st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1)).filter(lambda d: math.hypot(*d) > 0.1),
    st.floats(0.01, 0.09),
    st.floats(0.1, 0.9),
)
def test_a_step_of_any_size_is_exact_on_a_straight_way(
    material: Superelastic, direction: tuple[float, float, float], reach: float, back: float
) -> None:
    """Out and part of the way back in two steps, and in 80."""
    unit = np.array(direction) / math.hypot(*direction)
    coarse = fine = np.zeros((1, 6))
    ways = [(0.0, reach), (reach, back * reach), (back * reach, reach)]
    for start, end in ways:
        a, _, coarse = one(material, end * unit, coarse)
        for value in np.linspace(start, end, 41)[1:]:
            b, _, fine = one(material, value * unit, fine)
        np.testing.assert_allclose(a, b, rtol=0, atol=1e-6)
        np.testing.assert_allclose(coarse[0, 3:], fine[0, 3:], rtol=1e-8, atol=1e-8)


def test_work_is_stored_or_dissipated() -> None:
    """On a crooked closed path: what is put in is what is dissipated, to the trapezoidal rule of 4000 steps."""
    corners = np.array(
        [[0, 0, 0], [0.04, 0, 0], [0.03, 0.05, 0], [-0.02, 0.05, 0.03], [-0.05, 0, 0], [0, 0, 0]]
    )
    for material in TRANSFORMING:
        history, work = np.zeros((1, 6)), 0.0
        stress, at = np.zeros(3), np.zeros(3)
        for start, end in zip(corners[:-1], corners[1:], strict=True):
            for t in np.linspace(0.0, 1.0, 801)[1:]:
                strain = start + t * (end - start)
                after, _, history = one(material, strain, history)
                work += 0.5 * float((after + stress) @ (strain - at))
                stress, at = after, strain
        assert work == pytest.approx(history[0, 5], rel=1e-3) and work > 10.0


def test_partial_cycles_stay_inside_the_loop() -> None:
    """Between 2 and 4 % strain: each way is elastic first, then on a line of its own; the cycles draw together."""
    values = np.concatenate(
        (np.linspace(0, 0.04, 81), *[np.linspace(0.04, 0.02, 41), np.linspace(0.02, 0.04, 41)] * 4)
    )
    stresses, _ = uniaxial(FLAG, values)
    cycles = stresses[81:].reshape(4, 82)
    apart = np.abs(np.diff(cycles, axis=0)).max(axis=1)
    assert apart[2] < 0.1 * apart[1] < 0.01 * apart[0]
    assert cycles.max() <= stresses[80] + 1e-9 and cycles.min() > 200.0


def test_compression_is_stronger_and_shorter() -> None:
    """With one modulus it starts at 1.3 times the stress, and transforms by 1/1.3 of the strain: equal work."""
    alike = replace(SKEW, martensite_modulus=SKEW.austenite_modulus)
    ratio, values = alike.compression_ratio, np.linspace(0.0, 0.08, 1601)
    stresses, history = uniaxial(alike, -values)
    begins = values[np.argmax(np.diff(stresses) > -1.5)]
    assert alike.austenite_modulus * begins == pytest.approx(
        ratio * alike.loading_start, abs=3.0
    )  # MPa: a step
    assert history[0, 3] == 1.0
    last = -stresses[-1] / alike.martensite_modulus
    assert 0.08 - last == pytest.approx(alike.transformation_strain / ratio, rel=1e-9)


def test_soft_martensite_makes_compression_start_a_little_earlier() -> None:
    """The elastic energy that a softer phase sets free grows with the square of the stress: here 18 of 585 MPa."""
    values = np.linspace(0.0, 0.02, 401)
    stresses, _ = uniaxial(SKEW, -values)
    start = stresses[np.argmax(np.diff(stresses) > -1.5)]
    assert equivalent(SKEW, np.array([start, 0.0, 0.0])) == pytest.approx(SKEW.loading_start, abs=3.0)
    assert SKEW.loading_start < -start < 1.3 * SKEW.loading_start


def test_shear_starts_at_the_stress_of_equal_drive() -> None:
    """Without tension-compression difference tau = sigma/sqrt(3), the strain sqrt(3) times."""
    history = np.zeros((1, 6))
    for value in np.linspace(0.0, 0.25, 1001):
        stress, _, history = one(FLAG, np.array([0.0, value, 0.0]), history)
        if history[0, 3] == 0.0:
            last = stress[1]
    assert last == pytest.approx(FLAG.loading_start / math.sqrt(3.0), rel=0.02)
    assert 0.25 - stress[1] / FLAG.shear_modulus == pytest.approx(math.sqrt(3.0) * 0.07, rel=1e-9)


def test_a_warmer_wire_transforms_later_and_heating_undoes_it() -> None:
    """6.5 MPa/K along the whole plateau; heated by 60 K at less than 1 %, all martensite goes back."""
    warm, _ = uniaxial(SKEW, np.array([0.03]), 47.0)
    cold, history = uniaxial(SKEW, np.array([0.03]), 37.0)
    assert 40.0 < warm[0] - cold[0] < 65.0  # less than 65: a higher stress leaves less strain to transform
    assert history[0, 3] > 0.3
    last, _, history = one(SKEW, np.array([0.0095, 0.0, 0.0]), history, 97.0)
    assert history[0, 3] == 0.0
    assert last[0] == pytest.approx(570.0)


def test_hardening_has_its_tangent_modulus_and_reversal() -> None:
    """E H/(E + H) with H the sum of both; yields again after 2 (sigma_y + H_i p) (any textbook of plasticity)."""
    stresses, history = uniaxial(HARD, np.array([0.01, 0.02]))
    h = HARD.isotropic_hardening + HARD.kinematic_hardening
    assert (stresses[1] - stresses[0]) / 0.01 == pytest.approx(180e3 * h / (180e3 + h), rel=1e-10)
    size = HARD.yield_stress + HARD.isotropic_hardening * history[0, 3]
    reversal = stresses[1] - 2.0 * size
    at = 0.02 - 2.0 * size / 180e3
    assert one(HARD, np.array([at + 1e-9, 0, 0]), history)[1][0, 0] == pytest.approx(180e3)
    assert one(HARD, np.array([at - 1e-9, 0, 0]), history)[1][0, 0] < 18e3
    assert one(HARD, np.array([at, 0, 0]), history)[0][0] == pytest.approx(reversal, rel=1e-10)


def test_a_tube_pulled_to_yield_and_then_twisted() -> None:
    """Prandtl and Reuss, axial strain held: with s = sigma_y cos a, t = sigma_y sin a/sqrt(3),

    gamma = sigma_y sin a/(sqrt(3) G) + sqrt(3) sigma_y/E (ln(1/cos a + tan a) - sin a); derived for this test from the
    flow rule, as in Hill, The Mathematical Theory of Plasticity (1950), ch. IV (chapter from memory).
    """
    strength, g = PERFECT.yield_stress, PERFECT.shear_modulus
    at_yield = strength / PERFECT.youngs_modulus
    for a in (0.5, 1.0, 1.3):
        part = math.log(1.0 / math.cos(a) + math.tan(a)) - math.sin(a)
        gamma = strength * (
            math.sin(a) / (math.sqrt(3.0) * g) + math.sqrt(3.0) / PERFECT.youngs_modulus * part
        )
        _, _, history = one(PERFECT, np.array([at_yield, 0.0, 0.0]), np.zeros((1, 6)))
        for value in np.linspace(0.0, gamma, 2001)[1:]:
            stress, _, history = one(PERFECT, np.array([at_yield, value, 0.0]), history)
        expected = (strength * math.cos(a), strength * math.sin(a) / math.sqrt(3.0))
        np.testing.assert_allclose(
            stress[:2], expected, rtol=2e-3
        )  # backward Euler, first order in 2000 steps


def test_laws_do_not_touch_what_is_committed() -> None:
    history = np.zeros((1, 6))
    _, _, after = one(SKEW, np.array([0.04, 0.01, 0.0]), history)
    kept = after.copy()
    one(SKEW, np.array([0.0, 0.03, 0.0]), after)
    assert (after == kept).all() and not history.any()
    assert len(law_of(SKEW)[1]) == 10


@pytest.mark.parametrize("share", [0.1, 0.5, 0.99])
def test_the_plateau_of_two_moduli(share: float) -> None:
    """Reuss: e = s ((1 - x)/E_A + x/E_M) + e_L x, x = (s - start)/(finish - start): out, and back from all of it."""
    out = SKEW.loading_start + share * (SKEW.loading_finish - SKEW.loading_start)
    back = SKEW.unloading_finish + share * (SKEW.unloading_start - SKEW.unloading_finish)
    compliance = (1.0 - share) / SKEW.austenite_modulus + share / SKEW.martensite_modulus
    strains = [stress * compliance + SKEW.transformation_strain * share for stress in (out, back)]
    stresses, history = uniaxial(SKEW, np.array([strains[0], 0.09, strains[1]]))
    np.testing.assert_allclose(stresses[[0, 2]], [out, back], rtol=1e-10)
    assert history[0, 3] == pytest.approx(share, rel=1e-9)


@settings(deadline=None, max_examples=200)
@given(materials, st.integers(0, 2**32 - 1), st.sampled_from([0.002, 0.01, 0.03]))
def test_fibres_side_by_side_answer_as_one_by_one(material: FibreMaterial, seed: int, size: float) -> None:
    """As many as go together, on random ways that grow, turn, go slack and finish; nothing is said of those not asked.
    Strains to 1e-12, stresses to Young's modulus times that: what the last step of Newton's method leaves."""
    rng = np.random.default_rng(seed)
    kind, law = law_of(material)
    many = elastoplastic_many if isinstance(material, Elastoplastic) else superelastic_many
    count = LANES
    asked = rng.random(count) < 0.95
    before, at, rows = np.zeros((count, 6)), np.zeros((count, 3)), rows_for_fibres()
    lanes = rows.reshape(-1, LANES)
    strains, told, counted, now = (lanes[row // LANES :] for row in (STRAIN, TOLD, COUNTED, NOW))
    counted[0] = asked
    for step in range(6):
        way = rng.normal(size=(count, 3)) * size
        at = way if step == 0 else at * rng.choice([-1.0, 0.0, 0.3, 0.9, 1.0, 1.1], (count, 1)) + 0.2 * way
        stress, tangent, wanted = respond_at_points(material, at, before)
        strains[:3] = at.T
        many(law, np.ascontiguousarray(before.T), count, rows)
        known = np.column_stack((stress, tangent[:, 0], tangent[:, 1, 1:], tangent[:, 2, 2]))[asked]
        modulus = float(law[0])
        np.testing.assert_allclose(told[:3, asked].T, known[:, :3], rtol=0, atol=1e-12 * modulus)
        np.testing.assert_allclose(told[3:9, asked].T, known[:, 3:], rtol=0, atol=1e-9 * modulus)
        np.testing.assert_allclose(now[:3, asked].T, wanted[asked, :3], rtol=0, atol=1e-12)
        np.testing.assert_allclose(now[3:6, asked].T, wanted[asked, 3:], rtol=1e-10, atol=1e-12)
        assert not told[:9, ~asked].any() and not now[3, ~asked].any()
        before = wanted
