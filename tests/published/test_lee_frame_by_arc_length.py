"""The frame of test_lee_frame under a dead force, followed over both limit points and the snap-back by arc length.

The lowest load and the largest displacement down: read off a published path (luizpancini/AeroBeams.jl, test data
LeeFrameDeadLoad, digitised there to about 1 %)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from fem.limit_points import LoadPoint, follow_load
from fem.model import Model
from tests.published.test_lee_frame import LIMIT, PATH, frame

Array = NDArray[np.float64]

FORCE = 2.0e4
LOWEST, FARTHEST = -9.4, 61.3


def loaded_frame() -> tuple[Model, int]:
    """The frame without the tie, with a dead force in its place, and the node that bears it."""
    model = frame(0.0)
    node = int(np.abs(model.nodes - model.supports[1].arc).argmin())
    loads = np.zeros((model.nodes.size, 6))
    loads[node, 1] = -FORCE
    return replace(model, supports=(model.supports[0], model.supports[2]), loads=loads), node


@pytest.fixture(scope="module")
def points() -> tuple[LoadPoint, ...]:
    return followed(0.01)


@pytest.fixture(scope="module")
def path(points: tuple[LoadPoint, ...]) -> Array:
    return path_of(points)


def followed(first: float) -> tuple[LoadPoint, ...]:
    """To a load that the frame bears only upside down."""
    return follow_load(loaded_frame()[0], lambda point: point.load > 1.0, first=first)


def path_of(points: tuple[LoadPoint, ...]) -> Array:
    """Down, sideways, force/1000 (k, 3)."""
    model, node = loaded_frame()
    start = model.passive_frames(model.nodes[[node]])[0][0]
    went = np.array([point.positions[node] - start for point in points])
    return np.column_stack((-went[:, 1], went[:, 0], [1e-3 * FORCE * point.load for point in points]))


def before_it_snaps_back(path: Array) -> Array:
    return path[: int((np.diff(path[:, 0]) < 0.0).argmax())]


def limit(path: Array) -> float:
    rising = before_it_snaps_back(path)
    curve = CubicSpline(rising[:, 0], rising[:, 2])
    return float(curve(np.linspace(40.0, 55.0, 3000)).max())


def test_points_of_the_path(path: Array) -> None:
    rising = before_it_snaps_back(path)
    at = CubicSpline(rising[:, 0], rising[:, 1:])
    for down, sideways, force in PATH:
        assert at(down) == pytest.approx([sideways, force], rel=1e-3)


def test_limit_load_and_the_lowest(path: Array) -> None:
    assert limit(path) == pytest.approx(LIMIT, rel=1e-3)
    assert path[:, 2].min() == pytest.approx(LOWEST, rel=1e-2)


def test_it_snaps_back_and_ends_stable(points: tuple[LoadPoint, ...], path: Array) -> None:
    turning = len(before_it_snaps_back(path))
    assert path[turning, 0] == pytest.approx(FARTHEST, rel=1e-2)
    assert path[turning:, 0].min() < FARTHEST - 10.0
    assert points[-1].wrong_pivots == 0 and points[-1].load > 1.0


def test_one_more_pivot_is_wrong_between_the_limit_and_the_snap_back(
    points: tuple[LoadPoint, ...], path: Array
) -> None:
    """The other one is that of the whole frame, which may tip over sideways about the line through its feet."""
    wrong = np.array([point.wrong_pivots for point in points])
    falling = np.diff(path[:, 2]) < 0.0
    first = int(falling.argmax())
    assert set(wrong[: first - 1]) == {1}
    assert wrong[first + 1] == 2


def test_steps_do_not_matter(path: Array) -> None:
    assert limit(path_of(followed(0.015))) == pytest.approx(limit(path), rel=1e-5)


def test_what_cannot_be_followed_is_refused() -> None:
    model, node = loaded_frame()
    with pytest.raises(ValueError, match="dead forces"):
        follow_load(replace(model, loads=None), lambda point: True)
    moments = np.zeros((model.nodes.size, 6))
    moments[node, 5] = 1.0
    with pytest.raises(ValueError, match="pose of a clamp"):
        follow_load(replace(model, loads=moments), lambda point: True)
