"""Two brackets as built-in ends: the six geometries of Burstone & Koenig, small and at large rotation.

Burstone & Koenig, Am J Orthod 65 (1974) 270: ends 7 mm apart at angles tA and tB to their line,

    MA = 2 E I (2 tA + tB)/L,    MB = 2 E I (tA + 2 tB)/L    (linear theory).

At large rotation the reference is the exact rod (inextensible, no shear), found here as a boundary-value problem: the
wire slides freely through the end at B, so its length between is unknown and the force there stands across it.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_bvp

from fem.model import Clamp
from fem.path import engage
from fem.section_law import LinearSection
from geometry.pose import Pose
from geometry.wire_shapes import PassiveShape, Straight
from tests.fem_problems import ANY_SECTION, Held, slender_stiffness, wire_between

Array = NDArray[np.float64]

SPAN = 7.0
# class: tA/tB, MA/MB (Burstone & Koenig 1974)
GEOMETRIES = {
    "I": (1.0, 1.0),
    "II": (0.5, 0.8),
    "III": (0.0, 0.5),
    "IV": (-0.5, 0.0),
    "V": (-0.75, -0.4),
    "VI": (-1.0, -1.0),
}
# class, tB in degrees: MA/EI and MB/EI in 1/mm, length between in mm; computed independently of this program
LARGE = {
    ("I", 10.0): (0.14989, 0.14989, 7.0212),
    ("II", 20.0): (0.19968, 0.25248, 7.0559),
    ("III", 10.0): (0.04959, 0.09997, 7.0142),
    ("III", 20.0): (0.09753, 0.20152, 7.0559),
    ("V", 20.0): (-0.05073, 0.12367, 7.1107),
    ("VI", 20.0): (-0.09772, 0.09772, 7.1442),
}


def exact_rod(angle_a: float, angle_b: float) -> tuple[float, float, float]:
    """MA/EI, MB/EI (1/mm, on the wire) and the length between (mm) by SciPy's collocation."""

    def slopes(_: Array, y: Array, parameters: Array) -> Array:
        length, force = parameters
        _, _, angle, _ = y
        across = force * np.cos(angle - angle_b)
        return np.asarray(length * np.vstack((np.cos(angle), np.sin(angle), y[3], -across)))

    def ends(a: Array, b: Array, _: Array) -> Array:
        return np.array([a[0], a[1], a[2] - angle_a, b[0] - SPAN, b[1], b[2] - angle_b])

    share = np.linspace(0.0, 1.0, 41)
    linear_a, linear_b = 2.0 * angle_a + angle_b, angle_a + 2.0 * angle_b
    start_moment, end_moment = -2.0 * linear_a / SPAN, 2.0 * linear_b / SPAN
    angle = angle_a * (1 - share) * (1 - 3 * share) + angle_b * share * (3 * share - 2)
    moment = start_moment + (end_moment - start_moment) * share
    guess = np.vstack((SPAN * share, 0.0 * share, angle, moment))
    force = -(end_moment - start_moment) / SPAN
    found = solve_bvp(slopes, ends, share, guess, np.array([SPAN, force]), tol=1e-10, max_nodes=20000)
    assert found.success, found.message
    return -float(found.y[3, 0]), float(found.y[3, -1]), float(found.p[0])


def engaged(angle_a: float, angle_b: float, length: float, elements: int = 24) -> tuple[float, float, float]:
    """Moments on the wire over EI at A and B, and how far along its slot (mm) the wire's end stands from B."""
    law = LinearSection(slender_stiffness(2000.0, length=SPAN))
    model = wire_between(
        PassiveShape((Straight(length),)),
        ANY_SECTION,
        law,
        [
            Held(Clamp(), 0.0, Pose.from_angles([0, 0, 0], about_z=angle_a)),
            Held(Clamp(slides=True), length, Pose.from_angles([SPAN, 0, 0], about_z=angle_b)),
        ],
        length / elements,
    )
    snapshot = engage(model).last.snapshot
    along = snapshot.support_axes[1][:, 0]
    slid = float(along @ (snapshot.positions[-1] - snapshot.support_position[1]))
    assert snapshot.force[1] @ along == pytest.approx(0.0, abs=1e-6 * np.abs(snapshot.force).max())
    # The end stands a little along the slot from its centre, so the moment there is taken at the wire's end.
    arm = snapshot.support_position[1] - snapshot.positions[-1]
    at_end = snapshot.moment[1] + np.cross(arm, snapshot.force[1])
    return -float(snapshot.moment[0, 2]), -float(at_end[2]), slid


@pytest.mark.parametrize("geometry", GEOMETRIES)
def test_small_angles_give_the_six_published_ratios(geometry: str) -> None:
    ratio, published = GEOMETRIES[geometry]
    angle = math.radians(1.0)
    first, second, _ = engaged(ratio * angle, angle, SPAN)
    assert first / second == pytest.approx(published, abs=2e-3)
    assert second == pytest.approx(2.0 * (ratio + 2.0) * angle / SPAN, rel=1e-3)


@pytest.mark.parametrize("geometry", GEOMETRIES)
def test_at_two_degrees_the_exact_rod_still_has_the_linear_ratios(geometry: str) -> None:
    """To 0.05 %, computed independently of this program; the ratio of class IV is zero."""
    ratio, published = GEOMETRIES[geometry]
    angle = math.radians(2.0)
    first, second, length = exact_rod(ratio * angle, angle)
    assert first / second == pytest.approx(published, abs=5e-4)
    assert engaged(ratio * angle, angle, length)[:2] == pytest.approx((first, second), rel=3e-4, abs=1e-6)


@pytest.mark.parametrize(("geometry", "degrees"), LARGE)
def test_large_rotation_follows_the_exact_rod(geometry: str, degrees: float) -> None:
    ratio = GEOMETRIES[geometry][0]
    angle = math.radians(degrees)
    exact = exact_rod(ratio * angle, angle)
    tabled = LARGE[geometry, degrees]
    assert exact[:2] == pytest.approx(tabled[:2], abs=2e-5)
    assert exact[2] == pytest.approx(tabled[2], abs=1e-4)
    first, second, slid = engaged(ratio * angle, angle, exact[2])
    # A wire as long as the exact rod must end at the bracket's centre by itself.
    assert slid == pytest.approx(0.0, abs=1e-4)
    assert (first, second) == pytest.approx(exact[:2], rel=3e-4)
