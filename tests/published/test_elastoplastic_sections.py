"""Bending and torsion past yield: shape factors, moments, what curvature is left, full plastic torque.

Elastic-perfectly plastic sections of handbooks (Timoshenko, Strength of Materials, part II; Hill, The Mathematical
Theory of Plasticity, 1950; Prager & Hodge, Theory of Perfectly Plastic Solids, 1951; places from memory).  Rectangle in
closed form, M/M_y = 1.5 (1 - 1/(3 k^2)), k = curvature over that of first yield; the circle's table was computed apart
from this program by quadrature.  Verification, not validation.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.fibre_material import Elastoplastic
from fem.fibre_paths import BEND_Y, BEND_Z, TWIST, follow, released
from fem.fibre_section import FibreSection
from geometry.section import Rectangle, Round

STEEL = Elastoplastic("steel", 180e3, 0.3, 1800.0)
SHEAR = 1800.0 / math.sqrt(3.0)
"""Shear stress at yield after von Mises, MPa."""
WIRE = Round(0.4064)
EDGEWISE = Rectangle(0.4064, 0.5588)
CIRCLE = {1.25: 1.21156, 1.5: 1.34709, 2.0: 1.49366, 3.0: 1.60493, 5.0: 1.66390, 10.0: 1.68918}
RECTANGLE = {1.25: 1.18000, 1.5: 1.27778, 2.0: 1.37500, 3.0: 1.44444, 5.0: 1.48000, 10.0: 1.49500}
DIVISIONS = 12
TOLERANCE = 1e-3


def bent(section: Round | Rectangle, which: int, ratios: list[float]) -> tuple[np.ndarray, np.ndarray]:
    """M/M_y at curvatures that are ``ratios`` of that of first yield, and what is left of each after release."""
    half = 0.5 * (section.height if which == BEND_Z else section.depth)
    inertia = section.second_moment_z if which == BEND_Z else section.second_moment_y
    first = STEEL.yield_stress / STEEL.youngs_modulus / half
    law = FibreSection(section, STEEL, DIVISIONS)
    moments, left = [], []
    for ratio in ratios:
        path = follow(law, which, first * np.linspace(0.0, ratio, 9)[1:])
        moments.append(path.resultants[-1, which] / (STEEL.yield_stress * inertia / half))
        left.append(released(law, which, path).strains[0, which] / first)
    return np.array(moments), np.array(left)


@pytest.mark.parametrize("which", [BEND_Y, BEND_Z])
def test_rectangle(which: int) -> None:
    """In both orders; left is k - M/M_y."""
    moments, left = bent(EDGEWISE, which, list(RECTANGLE))
    np.testing.assert_allclose(moments, list(RECTANGLE.values()), rtol=TOLERANCE)
    ratios = np.array(list(RECTANGLE))
    np.testing.assert_allclose(moments, 1.5 * (1.0 - 1.0 / (3.0 * ratios**2)), rtol=TOLERANCE)
    assert left[2] == pytest.approx(0.625, abs=1.375 * TOLERANCE)
    assert left[3] == pytest.approx(1.5556, abs=1.444 * TOLERANCE)
    np.testing.assert_allclose(left, ratios - moments, rtol=0, atol=1e-9)


def test_circle() -> None:
    moments, left = bent(WIRE, BEND_Z, list(CIRCLE))
    np.testing.assert_allclose(moments, list(CIRCLE.values()), rtol=TOLERANCE)
    np.testing.assert_allclose(left, np.array(list(CIRCLE)) - moments, rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("section", "modulus"),
    [(WIRE, 0.4064**3 / 6.0), (EDGEWISE, 0.5588 * 0.4064**2 / 4.0)],
    ids=["circle", "rectangle"],
)
def test_full_plastic_moment(section: Round | Rectangle, modulus: float) -> None:
    """Z_pl = d^3/6 and b h^2/4: shape factors 16/(3 pi) and 1.5; at 300 times the curvature of first yield."""
    moments, _ = bent(section, BEND_Z, [300.0])
    inertia = section.second_moment_z
    assert moments[0] == pytest.approx(modulus / (inertia / 0.2032), rel=TOLERANCE)
    assert modulus / (inertia / 0.2032) == pytest.approx(1.5 if section is EDGEWISE else 1.69765, rel=1e-5)


def test_hundreds_of_cycles_of_bending_change_nothing() -> None:
    """Perfect plasticity: from the second reversal on, every loop is the one before, to rounding."""
    law = FibreSection(WIRE, STEEL, 6)
    values = 0.15 * np.tile([1.0, -1.0], 20)
    path = follow(law, BEND_Z, values)
    np.testing.assert_allclose(path.resultants[2:, BEND_Z], path.resultants[1:-1, BEND_Z] * -1.0, rtol=1e-9)
    np.testing.assert_allclose(np.diff(path.dissipated)[2:], np.diff(path.dissipated)[1:-1], rtol=1e-9)


def test_torque_of_a_circle() -> None:
    """T/T_y = (4 - 1/k^3)/3 (k = twist over that of first yield), up to T_p = pi d^3 tau/12, which is 4/3 T_y."""
    radius = 0.5 * WIRE.diameter
    first = SHEAR / STEEL.shear_modulus / radius
    law = FibreSection(WIRE, STEEL, 2 * DIVISIONS)  # all rays yield at one radius: no error averages out
    ratios = np.array([0.5, 1.5, 2.0, 3.0, 10.0, 1e4])
    torque = follow(law, TWIST, first * ratios).resultants[:, TWIST] / (SHEAR * math.pi * radius**3 / 2.0)
    expected = np.where(ratios > 1.0, (4.0 - 1.0 / np.maximum(ratios, 1.0) ** 3) / 3.0, ratios)
    np.testing.assert_allclose(torque, expected, rtol=TOLERANCE)
    full = math.pi * WIRE.diameter**3 * SHEAR / 12.0
    assert torque[-1] * SHEAR * math.pi * radius**3 / 2.0 == pytest.approx(full, rel=1e-9)


@pytest.mark.parametrize(
    ("ratio", "above"), [(1.0, 0.0080), (1.375, 0.0058), (2.0, 0.0062), (3.0, 0.0057), (10.0, 0.0038)]
)
def test_torque_of_a_rectangle_is_bounded_from_above(ratio: float, above: float) -> None:
    """T_p = tau a^2 (3 b - a)/6 (sand heap).  Sections warp in smooth shapes only, which are motions that are possible,
    so that their torque bounds the true one from above (theorem of limit analysis); the sand heap has ridges.  By how
    much is what this records: at most 1 %.
    """
    a, b = 0.4, 0.4 * ratio
    law = FibreSection(Rectangle(a, b), STEEL, DIVISIONS)
    torque = follow(law, TWIST, [1.0, 1000.0]).resultants[-1, TWIST]
    full = SHEAR * a**2 * (3.0 * b - a) / 6.0
    assert torque / full - 1.0 == pytest.approx(above, abs=5e-4)


def test_warping_that_stays_elastic_is_too_stiff() -> None:
    """4.9 % above the full plastic torque without further shapes of warping; each more of them lowers the bound."""
    full = SHEAR * 0.4064**2 * (3.0 * 0.5588 - 0.4064) / 6.0
    above = []
    for degree in (0, 6, 8, 12):
        law = FibreSection(EDGEWISE, STEEL, DIVISIONS, degree)
        above.append(follow(law, TWIST, [1.0, 1000.0]).resultants[-1, TWIST] / full - 1.0)
    assert above[0] == pytest.approx(0.0492, abs=5e-4)
    assert above[0] > above[1] > above[2] > above[3] > 0.0 and above[3] < 5e-3


def test_tension_and_torque_share_the_strength() -> None:
    """A full plastic round wire under both: N/N_p and T/T_p lie on the curve of proportional strains, a/b = e/(g R):

    N = 2 pi int s r dr, T = 2 pi int t r^2 dr with (s, t) on the ellipse s^2 + 3 t^2 = sigma_y^2 in the direction of
    (e, g r/3), done here by quadrature (Hill, 1950: bar under tension and torsion, from memory).
    """
    radius, stretch, twist = 0.5 * WIRE.diameter, 0.5, 4.0
    law = FibreSection(WIRE, STEEL, DIVISIONS)
    history, strains = law.unstrained(), np.zeros((1, 6))
    for share in np.linspace(0.0, 1.0, 101)[1:]:
        strains[0, 0], strains[0, TWIST] = share * stretch, share * twist
        found = law.respond(strains, history)
        history = found.history
    r = (np.arange(20000) + 0.5) * radius / 20000
    size = np.sqrt(stretch**2 + (twist * r) ** 2 / 3.0)
    force = 2.0 * math.pi * (STEEL.yield_stress * stretch / size * r).sum() * radius / 20000
    torque = 2.0 * math.pi * (STEEL.yield_stress * twist * r / (3.0 * size) * r**2).sum() * radius / 20000
    assert found.resultants[0, 0] == pytest.approx(force, rel=TOLERANCE)
    assert found.resultants[0, TWIST] == pytest.approx(torque, rel=TOLERANCE)
