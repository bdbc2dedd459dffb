"""The exact answers of scripts/peers against what is published, and what it says where a package is absent.

The packages themselves are not needed here: they are an extra of their own.
"""

from __future__ import annotations

import math
import re
import tomllib
from importlib import metadata
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from scripts import benchmark, peers, peers_exudyn, peers_openseespy
from scripts.peers_measure import EQUAL, LIMIT, Point, equal, fewest, measured
from scripts.peers_packages import Absent, Package, ours
from scripts.peers_problems import (
    BEND_LEAST,
    TASKS,
    Task,
    bend_45,
    elastica,
    v_bend,
    v_bend_of_small_angle,
)

Array = NDArray[np.float64]
ROOT = Path(__file__).resolve().parent.parent


@pytest.mark.parametrize(
    ("load", "across", "shortening"),
    [
        # Mattiasson, Int. J. Numer. Meth. Engng 17 (1981) 145, table 1
        (1.0, 0.30172, 0.05643),
        (2.0, 0.49346, 0.16064),
        (5.0, 0.71379, 0.38763),
        (10.0, 0.81061, 0.55500),
    ],
)
def test_elastica_is_the_published_table(load: float, across: float, shortening: float) -> None:
    assert elastica(load) == pytest.approx([-shortening, across, 0.0], abs=6e-6)


@pytest.mark.parametrize(
    ("polar_moment", "published", "relative"),
    [
        # Bathe & Bolourchi, Int. J. Numer. Meth. Engng 14 (1979) 961: three digits, from 8 elements
        (1.0 / 6.0, (-23.5, -13.4, 53.4), 0.016),
        # Ibrahimbegovic, Comput. Meth. Appl. Mech. Engng 122 (1995): eight elements of three nodes
        (0.1406, (-23.814, -13.729, 53.605), 5e-4),
    ],
)
def test_bend_of_45_degrees_is_the_published_one(
    polar_moment: float, published: tuple[float, float, float], relative: float
) -> None:
    np.testing.assert_allclose(bend_45(600.0, polar_moment, shear=True), published, rtol=relative)


@pytest.mark.parametrize(
    ("force", "published"),
    [
        # Simo & Vu-Quoc, Comput. Meth. Appl. Mech. Engng 58 (1986) 79: places of the end, from memory
        (300.0, (58.84, 22.33, 40.08)),
        (450.0, (52.32, 18.62, 48.39)),
        (600.0, (47.23, 15.79, 53.37)),
    ],
)
def test_bend_of_45_degrees_on_its_way(force: float, published: tuple[float, float, float]) -> None:
    begin = 100.0 * np.array([math.sin(0.25 * math.pi), 1.0 - math.cos(0.25 * math.pi), 0.0])
    end = begin + bend_45(force, 1.0 / 6.0, shear=True)
    assert float(np.linalg.norm(end - published)) < 0.005 * float(np.linalg.norm(published))


def test_shear_adds_what_a_beam_of_its_length_would_shear() -> None:
    """A small load across the plane shears the arc by F s/(kGA), and changes nothing else of first order."""
    force, area = 1e-2, 0.5e7 * 5.0 / 6.0
    more = bend_45(force, 1.0 / 6.0, shear=True) - bend_45(force, 1.0 / 6.0, shear=False)
    assert more[2] == pytest.approx(force * 25.0 * math.pi / area, rel=1e-3)


@pytest.mark.parametrize("place", [0.1, 0.2, 0.3, 1.0 / 3.0])
def test_v_bend_of_a_small_angle_is_the_formula(place: float) -> None:
    """What the formula leaves out is of third order, as the sign of the angle must not matter: an eighth at half of it.

    In the middle (below) it leaves out nothing."""
    left = [
        float(np.linalg.norm(v_bend(angle, place, 0.03) - v_bend_of_small_angle(angle, place)))
        for angle in (0.2, 0.1)
    ]
    assert left[0] / left[1] == pytest.approx(8.0, rel=0.05)


def test_v_bend_in_the_middle_and_at_a_third() -> None:
    """Equal and opposite couples without a force; and no couple at the far end.  Burstone & Koenig, Am. J. Orthod.
    Dentofac. Orthop. 93 (1988) 59, from memory; both follow from the formula."""
    assert v_bend(0.5, 0.5, 0.03) == pytest.approx([0.0, -0.5, -0.5], abs=1e-8)
    _, first, last = v_bend(0.01, 1.0 / 3.0, 0.03)
    assert abs(last) < 1e-3 * abs(first)


def test_v_bend_of_the_comparison_is_far_from_linear() -> None:
    task = TASKS[2]
    linear = v_bend_of_small_angle(math.radians(90.0), 0.3)
    assert task.error(linear, shear=False) > 0.05


def test_v_bend_integrated_from_its_start_ends_level() -> None:
    """Shooting (Runge-Kutta of eighth order) from the moment and force that collocation found."""
    angle, place, radius = math.radians(90.0), 0.3, 0.03
    force, first, last = v_bend(angle, place, radius)
    share = 0.5 * radius * angle
    state = np.array([0.0, 0.0, first])
    for length, passive in ((place - share, 0.0), (2.0 * share, 1.0 / radius), (1.0 - place - share, 0.0)):

        def rates(_: float, y: Array, passive: float = passive) -> list[float]:
            return [math.sin(y[1]), passive + y[2], -force * math.cos(y[1])]

        state = solve_ivp(rates, (0.0, length), state, method="DOP853", rtol=1e-11, atol=1e-12).y[:, -1]
    np.testing.assert_allclose(state, [0.0, 0.0, last], atol=1e-7)


@pytest.mark.parametrize("task", TASKS, ids=lambda task: task.key)
def test_our_own_answer_is_the_exact_one(task: Task) -> None:
    """Adapter and exact answer agree in signs, units and points; the bend converges with the second order."""
    point = measured(task, ours().ways[0], EQUAL)
    assert point is not None
    assert point.error < 1e-5
    assert point.seconds > 0.0


@pytest.mark.parametrize("task", TASKS, ids=lambda task: task.key)
def test_meshes_have_as_many_elements_as_asked(task: Task) -> None:
    for elements in (5, 9, EQUAL):
        mesh = task.mesh(elements)
        assert mesh.arcs.size == elements + 1 and (np.diff(mesh.arcs) > 0.0).all()
        breaks = task.shape().breaks
        assert np.abs(mesh.arcs - breaks[:, None]).min(axis=1).max() < 1e-12
    bend = (mesh.arcs > breaks[1]) & (mesh.arcs < breaks[-2])
    assert breaks.size == 2 or np.count_nonzero(bend) >= BEND_LEAST - 1


@pytest.mark.parametrize("module", [peers_openseespy, peers_exudyn], ids=lambda module: module.NAME)
def test_an_absent_package_is_left_out_with_a_word(module: object, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(name: str) -> str:
        raise metadata.PackageNotFoundError(name)

    monkeypatch.setattr(metadata, "version", none)
    found = module.load()  # type: ignore[attr-defined]
    assert isinstance(found, Absent)
    assert found.sentence == (
        f"{found.name} is left out: it is not installed; get it with: bash scripts/setup peers"
    )


def test_a_package_that_does_not_load_is_left_out_with_the_remedy(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(name: str) -> object:
        try:
            raise ImportError("libblas.so.3: cannot open shared object file")
        except ImportError:
            raise RuntimeError("Failed to import") from None

    monkeypatch.setattr(metadata, "version", lambda name: "1.0")
    monkeypatch.setattr("scripts.peers_openseespy.importlib.import_module", fails)
    found = peers_openseespy.load()
    assert isinstance(found, Absent)
    assert "libblas.so.3" in found.sentence and "apt-get install libblas3" in found.sentence


def _alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only ours, on two meshes: what a machine without the others shows."""
    monkeypatch.setattr(peers_openseespy, "load", lambda: Absent("openseespy", "it is not installed"))
    monkeypatch.setattr(peers_exudyn, "load", lambda: Absent("exudyn", "it is not installed"))
    monkeypatch.setattr("scripts.peers_measure.ELEMENTS", (12, EQUAL))


def test_the_comparison_runs_and_writes_without_the_others(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _alone(monkeypatch)
    peers.main(2e-6, tmp_path / "out")
    said = capsys.readouterr().out
    assert "openseespy is left out" in said and "exudyn is left out" in said
    assert "2 us per element and iteration, solve included (target 3: kept)" in said
    assert said.count("nothing to compare with") == len(TASKS)
    written = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert written == sorted([peers.TABLE, peers.NUMBERS, *peers.PICTURES])
    rows = (tmp_path / "out" / peers.NUMBERS).read_text(encoding="utf-8").splitlines()
    assert rows[0] == ",".join(peers.COLUMNS) and len(rows) == 1 + 2 * len(TASKS)


def _point(task: Task, package: str, element: str, elements: int, error: float, seconds: float) -> Point:
    way = ours().ways[0]
    made = type(way)(package, element, False, way.fits, way.run)
    return Point(task, made, elements, 1, error, seconds)


def test_the_verdict_takes_the_faster_of_the_others() -> None:
    task = TASKS[0]
    points = [
        _point(task, "wireslot", "3D", 5, 2.0 * LIMIT, 0.5e-3),
        _point(task, "wireslot", "3D", 6, 0.5 * LIMIT, 1e-3),
        _point(task, "wireslot", "3D", EQUAL, 0.1 * LIMIT, 2e-3),
        _point(task, "one", "2D", EQUAL, 0.9 * LIMIT, 4e-3),
        _point(task, "two", "3D", EQUAL, 0.9 * LIMIT, 50e-3),
        _point(task, "three", "2D", EQUAL, 9.0 * LIMIT, 1e-6),
    ]
    assert [point.seconds for point in fewest(points)] == [1e-3, 4e-3, 50e-3]
    assert [point.seconds for point in equal(points)] == [1e-6, 2e-3, 4e-3, 50e-3]
    said = peers.verdict(points, task)
    assert "ours is 4 x faster than one, 2D, and 50 x faster than two, 3D" in said
    assert "missed" in said
    slower = [*points, _point(task, "four", "2D", EQUAL, 0.9 * LIMIT, 0.25e-3)]
    assert "ours is 4 x slower than four, 2D" in peers.verdict(slower, task)


def test_the_packages_compared_with_are_an_extra_of_their_own_and_pinned() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = {re.split(r"[<>=\[; ]", one)[0] for one in project["optional-dependencies"]["peers"]}
    assert asked == {peers_openseespy.NAME, peers_exudyn.NAME}
    pins = (ROOT / "scripts" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    assert asked <= {pin.split("==")[0] for pin in pins if "==" in pin}


def test_out_needs_peers(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        benchmark.options_of(["--out", "somewhere"])
    assert "--peers" in capsys.readouterr().err
    assert benchmark.options_of(["--peers", "--out", "somewhere"]).out == Path("somewhere")


def test_ours_is_always_there() -> None:
    assert isinstance(ours(), Package) and ours().ways[0].run is not None
