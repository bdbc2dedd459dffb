"""Wires that yield or transform against closed forms and an independent solution.

Elastic-plastic bending and torsion: Timoshenko, Strength of Materials II (3rd ed. 1956), ch. IX; Prager & Hodge, Theory
of Perfectly Plastic Solids (1951); Nadai's sand hills (numbers of chapters from memory).  Superelastic sections and
three-point bending: an independent solution by shooting of an inextensible Euler-Bernoulli wire on frictionless edges
at its centreline, with linear kinetics after Auricchio, Taylor & Lubliner (1997), see the comments beside its numbers.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.fibre_material import Elastoplastic
from fem.model import Clamp
from fem.path import Leg, engage
from fem.permanent_set import released
from geometry.pose import Pose
from geometry.section import Rectangle, Round, Section
from tests.yielding_wires import PLASTIC, S1, WIRE, arc_end, bends, deflections, on_three_points, straight

# A straight wire whose far end is turned along an arc: every section is bent alike.
ENDS = [(0.0, Clamp()), (2.0, Clamp(slides=True))]
STRIP = Rectangle(0.4, 0.6)

# Elastic, perfectly plastic: curvature in yield curvatures, M/M_y.  Rectangle 3/2 (1 - 1/(3 k^2)); circle by the
# integral of the same distribution.
BENT = {
    "rectangle": (STRIP, {1.25: 1.18000, 1.5: 1.27778, 2.0: 1.37500, 3.0: 1.44444, 5.0: 1.48, 10.0: 1.495}),
    "circle": (WIRE, {1.25: 1.21156, 1.5: 1.34709, 2.0: 1.49366, 3.0: 1.60493, 5.0: 1.66390, 10.0: 1.68918}),
}


@pytest.mark.parametrize("which", BENT)
def test_moment_of_an_elastic_plastic_wire(which: str) -> None:
    """To 0.1 %, with as many fibres as a section has by default."""
    section, table = BENT[which]
    yields = PLASTIC.yield_stress / PLASTIC.youngs_modulus / (0.5 * section.height)
    model = straight(2.0, PLASTIC, ENDS, section, elements=4, fine=True)
    path = engage(model, legs=bends(model, [k * yields for k in table]))
    first = float(model.law.stiffness[5]) * yields
    for leg, wanted in enumerate(table.values()):
        moment = float(path.end_of(leg).snapshot.resultants[1, 0, 5])
        assert moment / first == pytest.approx(wanted, rel=1e-3)


@pytest.mark.parametrize(("bent", "left"), [(2.0, 0.625), (3.0, 1.5556)])
def test_curvature_left_after_release(bent: float, left: float) -> None:
    """A rectangle let go keeps k - M/M_y yield curvatures, as long as nothing yields on the way back."""
    yields = PLASTIC.yield_stress / PLASTIC.youngs_modulus / (0.5 * STRIP.height)
    model = straight(2.0, PLASTIC, ENDS, STRIP, elements=4, fine=True)
    loose = released(engage(model, legs=bends(model, [bent * yields])))
    assert loose.bent[-1] == pytest.approx(2.0 * left * yields, rel=2e-3)


@pytest.mark.parametrize(
    ("section", "near"),
    [(Round(0.4064), 0.006), (Rectangle(0.4064, 0.5588), 0.015)],
    ids=["circle", "rectangle"],
)
def test_full_plastic_torque(section: Section, near: float) -> None:
    """pi d^3 k/12 of a circle, k a^2 (3 b - a)/6 of a rectangle (sand hills), k = sigma_y/sqrt(3); the elastic core
    that is left, a fifth, takes a quarter of the cube of its share.  With the fibres of a beam: three rings of a circle
    within 0.6 %; shapes of warping that a rectangle lacks make it stronger, within 1.5 %."""
    shear = PLASTIC.yield_stress / math.sqrt(3.0)
    if isinstance(section, Round):
        wanted = math.pi * section.diameter**3 * shear / 12.0
    else:
        a, b = sorted((section.height, section.depth))
        wanted = shear * a * a * (3.0 * b - a) / 6.0
    model = straight(2.0, PLASTIC, ENDS, section, elements=4)
    twist = 5.0 * shear / PLASTIC.shear_modulus / (0.5 * min(section.height, section.depth))
    legs, at = [], np.array([2.0, 0.0, 0.0])
    for angle in np.linspace(0.0, 2.0 * twist, 13)[1:]:
        c, s = math.cos(angle), math.sin(angle)
        turned = Pose(at, np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]]))
        legs.append(Leg(f"{angle:g}", (model.supports[0].start, turned), 1))
    path = engage(model, legs=legs)
    assert float(path.last.snapshot.resultants[1, 0, 3]) == pytest.approx(wanted, rel=near)


def test_tip_of_an_elastic_plastic_cantilever() -> None:
    """Rectangle, force at the tip, F over the force of first yield from 1 to 1.5, deflection over that at first yield

        d = (5 - (3 + F) sqrt(3 - 2 F))/F^2

    (Timoshenko; Prager & Hodge).  A slack material, so that deflections stay small; the tip is moved, not loaded."""
    material = Elastoplastic("slack", 200000.0, 0.0, 100.0)
    section, length = Rectangle(1.0, 1.0), 100.0
    model = straight(
        length, material, [(0.0, Clamp()), (length, Clamp(slides=True))], section, elements=60, fine=True
    )
    # by symmetry half of a wire of twice the length whose middle is free to turn is a cantilever: here the far clamp
    # stays level, so the wire is two cantilevers of half the length, tip to tip
    half = 0.5 * length
    force = material.yield_stress * float(model.law.stiffness[5]) / material.youngs_modulus / 0.5 / half
    tip = force * half**3 / (3.0 * float(model.law.stiffness[5]))
    for ratio in (0.8, 1.2, 1.3, 1.4):
        deflection = (5.0 - (3.0 + ratio) * math.sqrt(3.0 - 2.0 * ratio)) / ratio**2 if ratio > 1.0 else ratio
        there = Pose(np.array([length, -2.0 * deflection * tip, 0.0]), np.eye(3))
        path = engage(model, legs=[Leg("down", (model.supports[0].start, there), 6)])
        found = float(path.last.snapshot.force[1, 1])
        assert found / force == pytest.approx(ratio, rel=0.01)


# Round wire 0.4064 mm, S1: moment (N mm) against curvature (1/mm), on loading and after 0.25 on the way back.
ON = {
    0.02: 1.6068,
    0.04: 3.2136,
    0.05: 3.9592,
    0.06: 4.4734,
    0.08: 5.0532,
    0.10: 5.3539,
    0.15: 5.7058,
    0.25: 6.0012,
}
BACK = {0.20: 3.3582, 0.15: 2.9530, 0.10: 2.6068, 0.05: 2.2299, 0.02: 1.5701}


def test_moment_of_a_superelastic_wire() -> None:
    """To 0.5 %; back to nothing."""
    model = straight(2.0, S1, ENDS, elements=4, fine=True)
    path = engage(model, legs=bends(model, [*ON, *BACK, 0.0]))
    for leg, wanted in enumerate((*ON.values(), *BACK.values())):
        assert float(path.end_of(leg).snapshot.resultants[1, 0, 5]) == pytest.approx(wanted, rel=0.005)
    assert path.last.snapshot.fibres.stored < 1e-12  # type: ignore[union-attr]
    assert float(np.abs(path.last.snapshot.force).max()) < 1e-6


# Force (N) on the middle of a 0.4064 mm wire, span 10 mm, by shooting (inextensible, without shear).
SUPERELASTIC = {
    0.2: 0.768, 0.4: 1.516, 0.5: 1.836, 0.75: 2.219, 1.0: 2.309, 1.25: 2.322, 1.5: 2.307, 2.0: 2.230, 2.5: 2.102,
    3.0: 1.937, 3.1: 1.900,
}  # fmt: skip
YIELDING = {0.25: 2.874, 0.5: 5.617, 0.75: 7.240, 1.0: 7.581, 1.5: 7.261}


def test_superelastic_wire_on_three_points() -> None:
    """To 1 %, with the few fibres of a beam; without permanent set."""
    model = on_three_points(S1)
    path = engage(model, legs=deflections(model, [*SUPERELASTIC, 2.0, 1.0, 0.0], 4))
    for leg, wanted in enumerate(SUPERELASTIC.values()):
        assert float(path.end_of(leg).snapshot.force[1, 1]) == pytest.approx(wanted, rel=0.01)
    back = [float(path.end_of(leg).snapshot.force[1, 1]) for leg in (11, 12)]
    for force, down in zip(back, (2.0, 1.0), strict=True):
        # as the plateaus are, 200 to 300 MPa to 520 to 600
        assert 200.0 / 600.0 < force / SUPERELASTIC[down] < 300.0 / 520.0
    assert float(np.abs(path.last.snapshot.force).max()) < 1e-3
    assert path.last.snapshot.fibres.stored < 1e-8  # type: ignore[union-attr]


def test_yielding_wire_on_three_points() -> None:
    """To 1 %."""
    model = on_three_points(PLASTIC)
    path = engage(model, legs=deflections(model, list(YIELDING), 5))
    for leg, wanted in enumerate(YIELDING.values()):
        assert float(path.end_of(leg).snapshot.force[1, 1]) == pytest.approx(wanted, rel=0.01)


def test_more_elements_and_increments_bend_the_same_wire() -> None:
    """Three points, 1.5 mm down and back to 0.8: 40 and 80 elements, 4 and 12 increments, within 0.5 %."""
    forces = []
    for elements, increments in ((40, 4), (80, 4), (40, 12)):
        model = on_three_points(S1, elements)
        path = engage(model, legs=deflections(model, [1.5, 0.8], increments))
        forces.append([float(path.end_of(leg).snapshot.force[1, 1]) for leg in (0, 1)])
    np.testing.assert_allclose(forces[1:], [forces[0]] * 2, rtol=0.005)


def test_arc_ends_where_it_should() -> None:
    """Of the test's own pose: a quarter of a circle."""
    end = arc_end(math.pi, 0.5)
    np.testing.assert_allclose(end.position, [2.0, 2.0, 0.0], atol=1e-12)
    np.testing.assert_allclose(end.axes[:, 0], [0.0, 1.0, 0.0], atol=1e-12)
