"""The frame of Lee, Manuel & Rossow, J. Eng. Mech. Div. ASCE 94 (1968) 455.

Two legs of 120 at a right angle, both feet pinned, E = 7.2e6, A = 6, I = 2; a force down on the level leg, 24 from
the corner. Points of the path and limit load were computed independently of this program for the exact rod without
shear (shooting under a given displacement); the published limit load is from memory. Here a tie that is free along
the level carries the force: its height is given, so the path goes over the limit. The tie also holds the frame in its
plane, which the published frame never leaves.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from fem.model import Model, PointTie, Support
from fem.path import Increment, Options, engage
from fem.section_law import LinearSection
from geometry.pose import Pose
from geometry.wire_shapes import Bend, PassiveShape, Straight
from tests.fem_problems import ANY_SECTION

Array = NDArray[np.float64]

LEG, LOADED = 120.0, 24.0
AXIAL, BENDING = 7.2e6 * 6.0, 7.2e6 * 2.0
# A wire has no kinks: the corner is a bend of a thousandth of a leg.
CORNER = 0.1
# Down, sideways, force/1000
PATH = (
    (6.0, 0.713, 7.024),
    (15.0, 3.308, 11.832),
    (24.0, 7.081, 14.543),
    (33.0, 12.232, 16.578),
    (42.0, 19.370, 18.080),
    (51.0, 30.099, 18.479),
    (60.0, 52.264, 14.821),
)
LIMIT = 18.5567
PUBLISHED_LIMIT = 18.532


def frame(down: float) -> Model:
    """From foot to foot; the loaded point is taken ``down``."""
    run = LEG - CORNER
    shape = PassiveShape((Straight(run), Bend(-0.5 * math.pi, "second", CORNER), Straight(run)))
    foot = Pose.from_angles([0.0, 0.0, 0.0], about_z=0.5 * math.pi)
    other = Pose.from_angles([LEG, LEG, 0.0])
    corner = shape.breaks[2]
    loaded = corner + LOADED - CORNER
    parts = (
        np.linspace(0.0, run, 25),
        np.linspace(corner, loaded, 7),
        np.linspace(loaded, shape.length, 21),
    )
    # hardly any shear, and stiff across the plane
    stiffness = [AXIAL, 10.0 * AXIAL, 10.0 * AXIAL, 100.0 * BENDING, 100.0 * BENDING, BENDING]
    supports = (
        Support(PointTie(stop=True), 0.0, foot, foot),
        Support(
            PointTie(),
            float(loaded),
            Pose.from_angles([LOADED, LEG, 0.0]),
            Pose.from_angles([LOADED, LEG - down, 0.0]),
        ),
        Support(PointTie(stop=True), shape.length, other, other),
    )
    nodes = np.unique(np.concatenate(parts))
    return Model(shape, foot, nodes, ANY_SECTION, LinearSection(np.array(stiffness)), supports)


@pytest.fixture(scope="module")
def path() -> tuple[Array, Array, Array, tuple[Increment, ...]]:
    """Down, sideways and force/1000 of every increment, and the increments."""
    model = frame(60.0)
    loaded = int(np.abs(model.nodes - model.supports[1].arc).argmin())
    increments = engage(model, Options(increments=40)).increments
    down = np.array([60.0 * i.activation for i in increments])
    sideways = np.array([i.snapshot.positions[loaded, 0] - LOADED for i in increments])
    force = np.array([i.snapshot.force[1, 1] / 1000.0 for i in increments])
    return down, sideways, force, increments


@pytest.mark.parametrize(("down", "sideways", "force"), PATH)
def test_points_of_the_path(
    path: tuple[Array, Array, Array, tuple[Increment, ...]], down: float, sideways: float, force: float
) -> None:
    number = int(np.abs(path[0] - down).argmin())
    assert path[0][number] == pytest.approx(down, abs=1e-9)
    assert path[1][number] == pytest.approx(sideways, rel=1e-3)
    assert path[2][number] == pytest.approx(force, rel=1e-3)


def test_limit_load(path: tuple[Array, Array, Array, tuple[Increment, ...]]) -> None:
    down, _, force, _ = path
    curve = CubicSpline(down, force)
    top = [x for x in curve.derivative().roots(extrapolate=False) if 40.0 < x < 55.0]
    assert len(top) == 1
    assert top[0] == pytest.approx(48.735, rel=2e-3)
    assert float(curve(top[0])) == pytest.approx(LIMIT, rel=1e-3)
    assert float(curve(top[0])) == pytest.approx(PUBLISHED_LIMIT, rel=2e-3)


def test_under_a_given_displacement_the_frame_stays_stable_beyond_the_limit(
    path: tuple[Array, Array, Array, tuple[Increment, ...]],
) -> None:
    """It snaps back only where the path turns in the displacement, near 61.3."""
    assert all(i.outcome.wrong_pivots == 0 for i in path[3])
