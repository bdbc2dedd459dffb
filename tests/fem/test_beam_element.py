"""The compiled beam element against a plain one made of matrix exponentials, against differences, and exact curves."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.linalg import expm, logm
from scipy.optimize import root
from scipy.spatial.transform import Rotation

from fem.beam_kernel import (
    assemble_tangent,
    assemble_wrenches,
    element_screws,
    predict_stress,
    section_wrenches,
)
from fem.element_law_kernel import element_law
from tests.fem_problems import dense, moved_frames, random_pose, slope

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Chain:
    """Elements in some state."""

    positions: Array
    axes: Array
    lengths: Array
    passive: Array
    compliance: Array


@dataclass(frozen=True, slots=True)
class Answer:
    """What the compiled element says of it."""

    energy: float
    screws: Array
    stress: Array
    stiffness: Array
    gradient: Array
    jacobians: Array


def random_chain(seed: int, turn: float, elements: int = 3) -> Chain:
    """Elements of any curvature and twist, each turned by ``turn`` (rad), strained by several per cent."""
    rng = np.random.default_rng(seed)
    axes = [Rotation.random(rng=rng).as_matrix()]
    positions = [rng.normal(size=3)]
    for _ in range(elements):
        rotation = rng.normal(size=3)
        rotation *= turn / np.linalg.norm(rotation)
        positions.append(positions[-1] + axes[-1] @ (rng.normal(size=3) * 0.4 + [1.0, 0.0, 0.0]))
        axes.append(axes[-1] @ Rotation.from_rotvec(rotation).as_matrix())
    screws = np.array(
        [plain_screw(*ends) for ends in zip(positions, axes, positions[1:], axes[1:], strict=False)]
    )
    passive = screws + 0.05 * rng.normal(size=(elements, 6))
    compliance = 1.0 / rng.uniform(0.5, 5.0, (elements, 6))
    return Chain(np.array(positions), np.array(axes), rng.uniform(0.7, 1.4, elements), passive, compliance)


def compiled(chain: Chain, steps: Array | None = None) -> Answer:
    """The kernels on ``chain`` after exponential ``steps``."""
    positions, axes = chain.positions, chain.axes
    if steps is not None:
        positions, axes = moved_frames(positions, axes, steps)
    m = chain.lengths.size
    screws, stress, stiffness = np.zeros((m, 6)), np.zeros((m, 6)), np.zeros((m, 6, 6))
    gradient, jacobians = np.zeros((m + 1, 6)), np.zeros((m, 2, 3, 3))
    element_screws(positions, axes, screws)
    energy, *last = element_law(
        screws,
        chain.passive,
        chain.lengths,
        chain.compliance,
        np.zeros(m, np.bool_),
        stress,
        False,
        stress,
        stiffness,
    )
    assert max(last) < 1e-8
    assemble_wrenches(screws, stress, gradient, jacobians)
    return Answer(energy, screws, stress, stiffness, gradient, jacobians)


def tangent_of(chain: Chain) -> Array:
    """The compiled tangent as one matrix."""
    at = compiled(chain)
    n = chain.lengths.size + 1
    diagonal, upper = np.zeros((n, 6, 6)), np.zeros((n - 1, 6, 6))
    assemble_tangent(at.screws, at.jacobians, chain.lengths, at.stiffness, at.stress, diagonal, upper)
    return dense(diagonal, upper)


# A plain element: 4 x 4 motions, their logarithm, and the integral of the exponential that is the Jacobian.


def plain_screw(xa: Array, ra: Array, xb: Array, rb: Array) -> Array:
    """(u, w) by the general matrix logarithm of the relative motion."""
    a, b = np.eye(4), np.eye(4)
    a[:3, :3], a[:3, 3], b[:3, :3], b[:3, 3] = ra, xa, rb, xb
    twist = np.real(logm(np.linalg.solve(a, b)))
    return np.array([*twist[:3, 3], twist[2, 1], twist[0, 2], twist[1, 0]])


def cross_matrix(v: Array) -> Array:
    return np.array([[0.0, -v[2], v[1]], [v[2], 0.0, -v[0]], [-v[1], v[0], 0.0]])


def adjoint(d: Array) -> Array:
    """ad of the screw, translation first: Murray, Li & Sastry (1994), ch. 2."""
    w, u = cross_matrix(d[3:]), cross_matrix(d[:3])
    return np.block([[w, u], [np.zeros((3, 3)), w]])


def integral_of_exponential(matrix: Array) -> Array:
    """The integral of exp(s matrix) over s from 0 to 1, from one exponential twice the size (Van Loan 1978)."""
    n = len(matrix)
    big = np.zeros((2 * n, 2 * n))
    big[:n, :n], big[:n, n:] = matrix, np.eye(n)
    return np.asarray(expm(big)[:n, n:])


def complementary(f: Array, passive: Array, compliance: Array, length: float) -> complex:
    """U* of element_law_kernel, written down anew; any f, also complex."""
    n, m = f[:3], f[3:]
    tangent = passive[:3] / length + compliance[:3] * n
    curvature = passive[3:] / length + compliance[3:] * m
    rate = np.concatenate((-np.cross(curvature, n), -np.cross(curvature, m) - np.cross(tangent, n)))
    return complex(0.5 * length * f @ (compliance * f) + length**3 / 24.0 * rate @ (compliance * rate))


def plain_law(screw: Array, passive: Array, compliance: Array, length: float) -> tuple[Array, float]:
    """Stress and energy by a general root finder; dU*/df by complex steps, which are exact to rounding."""

    def off(f: Array) -> Array:
        steps = f + 1e-30j * np.eye(6)
        slopes = np.array([complementary(one, passive, compliance, length).imag / 1e-30 for one in steps])
        return slopes - (screw - passive)

    stress = root(off, (screw - passive) / length / compliance, tol=1e-14).x
    return stress, float(stress @ (screw - passive)) - complementary(stress, passive, compliance, length).real


def plain_element(chain: Chain, e: int) -> tuple[Array, float, Array, Array]:
    """Stress, energy and the nodal wrenches at both ends of element ``e``."""
    x, r = chain.positions, chain.axes
    screw = plain_screw(x[e], r[e], x[e + 1], r[e + 1])
    stress, energy = plain_law(screw, chain.passive[e], chain.compliance[e], float(chain.lengths[e]))
    at_b = np.linalg.solve(integral_of_exponential(-adjoint(screw)).T, stress)
    at_a = -np.linalg.solve(integral_of_exponential(adjoint(screw)).T, stress)
    return stress, energy, at_a, at_b


TURNS = [1e-6, 0.05, 0.99, 1.01, 2.0, 2.9]


@pytest.mark.parametrize("turn", TURNS)
def test_element_is_the_plain_one(turn: float) -> None:
    chain = random_chain(3, turn)
    found = compiled(chain)
    gradient = np.zeros_like(found.gradient)
    energy = 0.0
    for e in range(chain.lengths.size):
        stress, stored, at_a, at_b = plain_element(chain, e)
        np.testing.assert_allclose(found.stress[e], stress, rtol=0.0, atol=1e-11)
        gradient[e] += at_a
        gradient[e + 1] += at_b
        energy += stored
    np.testing.assert_allclose(found.gradient, gradient, rtol=0.0, atol=1e-10)
    assert found.energy == pytest.approx(energy, rel=1e-11)


@pytest.mark.parametrize("turn", TURNS)
def test_wrenches_are_the_derivative_of_the_energy(turn: float) -> None:
    chain = random_chain(5, turn)
    size = 6 * (chain.lengths.size + 1)
    differences = slope(lambda steps: np.array(compiled(chain, steps).energy), size)
    gradient = compiled(chain).gradient.ravel()
    assert np.abs(gradient - differences).max() < 1e-6 * np.abs(gradient).max()


@pytest.mark.parametrize("turn", TURNS)
def test_tangent_is_the_derivative_of_the_wrenches(turn: float) -> None:
    """Its symmetric part: the other is the commutator of the frames' motions and vanishes in equilibrium."""
    chain = random_chain(7, turn)
    size = 6 * (chain.lengths.size + 1)
    differences = slope(lambda steps: compiled(chain, steps).gradient.ravel(), size)
    tangent = tangent_of(chain)
    assert np.abs(tangent - 0.5 * (differences + differences.T)).max() < 1e-6 * np.abs(tangent).max()
    np.testing.assert_array_equal(tangent, tangent.T)


@pytest.mark.parametrize("turn", [0.05, 2.0])
def test_tangent_is_the_derivative_of_the_plain_wrenches(turn: float) -> None:
    chain = random_chain(11, turn, elements=1)

    def wrenches(steps: Array) -> Array:
        positions, axes = moved_frames(chain.positions, chain.axes, steps)
        _, _, at_a, at_b = plain_element(replace(chain, positions=positions, axes=axes), 0)
        return np.concatenate((at_a, at_b))

    differences = slope(wrenches, 12)
    tangent = tangent_of(chain)
    assert np.abs(tangent - 0.5 * (differences + differences.T)).max() < 1e-6 * np.abs(tangent).max()


def test_prediction_is_linear_in_the_step() -> None:
    chain = random_chain(13, 1.3)
    at = compiled(chain)
    step = np.random.default_rng(1).normal(size=at.gradient.shape)
    predicted = np.zeros_like(at.stress)
    predict_stress(at.jacobians, chain.lengths, at.stiffness, at.stress, step, 0.3, predicted)
    along = slope(lambda t: compiled(chain, t[0] * step).stress, 1)[0]
    np.testing.assert_allclose(predicted, at.stress + 0.3 * along, rtol=0.0, atol=1e-7 * np.abs(along).max())


@pytest.mark.parametrize("turn", TURNS)
def test_stress_does_not_know_of_rigid_motions(turn: float) -> None:
    chain = random_chain(17, turn)
    here = compiled(chain)
    for seed in range(5):
        by = random_pose(np.random.default_rng(seed), distance=3.0)
        there = compiled(replace(chain, positions=by.to_world(chain.positions), axes=by.axes @ chain.axes))
        scale = np.abs(here.stiffness).max()
        np.testing.assert_allclose(there.stress, here.stress, rtol=0.0, atol=1e-12 * scale)
        np.testing.assert_allclose(there.gradient, here.gradient, rtol=0.0, atol=1e-12 * scale)


def helix_frames(radius: float, pitch_angle: float, arc: Array) -> tuple[Array, Array]:
    """Points and Frenet axes (tangent, normal, binormal) of a helix about z, from its textbook formulas."""
    turning = arc * math.cos(pitch_angle) / radius
    cosine, sine = np.cos(turning), np.sin(turning)
    across, up = math.cos(pitch_angle), math.sin(pitch_angle)
    positions = np.column_stack((radius * cosine, radius * sine, up * arc))
    tangent = np.column_stack((-across * sine, across * cosine, np.full_like(arc, up)))
    normal = np.column_stack((-cosine, -sine, np.zeros_like(arc)))
    return positions, np.stack((tangent, normal, np.cross(tangent, normal)), axis=2)


@pytest.mark.parametrize("pitch_angle", [0.0, 0.3, 1.2, -0.7])
def test_helix_has_one_strain_whatever_its_elements(pitch_angle: float) -> None:
    """Curvature cos^2 a/r, torsion sin a cos a/r: do Carmo, Differential Geometry (1976), section 1-5."""
    radius = 2.0
    arc = np.array([0.0, 0.05, 0.6, 2.0, 2.5, 7.0])
    positions, axes = helix_frames(radius, pitch_angle, arc)
    screws = np.zeros((arc.size - 1, 6))
    element_screws(positions, axes, screws)
    torsion = math.sin(pitch_angle) * math.cos(pitch_angle) / radius
    curvature = math.cos(pitch_angle) ** 2 / radius
    expected = np.tile([1.0, 0.0, 0.0, torsion, 0.0, curvature], (arc.size - 1, 1))
    np.testing.assert_allclose(screws / np.diff(arc)[:, None], expected, rtol=0.0, atol=1e-13)


def test_uniform_twist_is_exact() -> None:
    arc = np.array([0.0, 0.3, 3.3])
    axes = Rotation.from_rotvec(np.column_stack((0.9 * arc, 0.0 * arc, 0.0 * arc))).as_matrix()
    screws = np.zeros((2, 6))
    element_screws(np.column_stack((arc, 0.0 * arc, 0.0 * arc)), axes, screws)
    np.testing.assert_allclose(
        screws / np.diff(arc)[:, None], np.tile([1.0, 0, 0, 0.9, 0, 0], (2, 1)), atol=1e-14
    )


def test_section_wrenches_balance_each_element() -> None:
    """Force and moment at the two ends of an element without load are one wrench, seen from either end (statics)."""
    chain = random_chain(19, 1.7)
    at = compiled(chain)
    wrenches = np.zeros((chain.lengths.size, 2, 6))
    section_wrenches(at.screws, at.stress, wrenches)
    for e in range(chain.lengths.size):
        force = [chain.axes[e + end] @ wrenches[e, end, :3] for end in (0, 1)]
        moment = [
            chain.axes[e + end] @ wrenches[e, end, 3:] + np.cross(chain.positions[e + end], force[end])
            for end in (0, 1)
        ]
        np.testing.assert_allclose(force[0], force[1], atol=1e-11)
        np.testing.assert_allclose(moment[0], moment[1], atol=1e-11)
        np.testing.assert_allclose(wrenches[e, 1], plain_element(chain, e)[3], atol=1e-11)
