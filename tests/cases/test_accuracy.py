"""The estimated error of a run: it bounds the true one, a second solve that fails is said, meshes are refined until the
wanted accuracy is reached.

The measure is a mesh whose elements and stations are an eighth of the usual size; for the step bend a shooting solution
that has no mesh at all."""

from __future__ import annotations

from dataclasses import replace
from functools import cache, partial
from math import pi
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import root

import cases.accuracy
import cases.refine
from cases import run_case
from cases.accuracy import BOUND, SHARE_OF_INCREMENTS, SHARE_WITH_HISTORY, keeps_history, mesh_of
from cases.build import build_model
from cases.casefile import LIBRARY
from cases.cli import main
from cases.refine import refined_run
from cases.results import AccuracyResult, Error, RunResult
from cases.run import Run, whole_run
from fem.model import Model
from fem.path import Leg, Options, engage
from fem.path import Path as Way
from fem.status import NoEquilibrium, Status
from tests.shipped import case

# Of an order below one, and of chance, a quarter of the error may be left out; and it may not be made larger than so.
LEFT_OUT, TOO_LARGE = 1.25, 25.0
EIGHTH = 3


@cache
def estimated(name: str) -> Run:
    """A shipped case with its estimate."""
    return whole_run(case(name), estimate=True)


def accuracy_of(result: RunResult) -> AccuracyResult:
    assert result.accuracy is not None
    return result.accuracy


def errors(result: RunResult) -> tuple[Error, Error]:
    accuracy = accuracy_of(result)
    assert accuracy.force is not None and accuracy.moment is not None
    return accuracy.force, accuracy.moment


def largest_differences(one: RunResult, two: RunResult) -> tuple[float, float]:
    """Of any force and of any moment."""
    pairs = list(zip(one.attachments, two.attachments, strict=True))
    return (
        max(float(np.linalg.norm(np.subtract(a.force_n, b.force_n))) for a, b in pairs),
        max(float(np.linalg.norm(np.subtract(a.moment_nmm, b.moment_nmm))) for a, b in pairs),
    )


@pytest.mark.parametrize(
    "name",
    [
        "closing-loop",
        "molar-uprighting",
        "sliding-test",
        "step-bend-full-size-slots",
        "torque-through-play",
        "torquing-arch",
        "v-bend",
        "v-bend-in-the-middle",
    ],
)
def test_the_estimate_bounds_the_true_error(name: str) -> None:
    """With walls between which the wire moves, with friction, with a contact between two stations."""
    result = estimated(name).result
    finer = whole_run(case(name), level=EIGHTH).result
    for error, true in zip(errors(result), largest_differences(result, finer), strict=True):
        assert true <= LEFT_OUT * error.change <= LEFT_OUT * TOO_LARGE * true
        assert error.percent == pytest.approx(100.0 * error.change / error.largest)
    here = accuracy_of(result)
    assert here.mesh.elements == len(result.wire.arc_length_mm) - 1
    assert here.compared_with.elements > 1.6 * here.mesh.elements
    assert any(item.name == here.force.attachment for item in result.attachments if here.force)


def test_the_estimate_bounds_the_distance_from_the_exact_rod() -> None:
    """A 0.35 mm step between built-in ends, of which one slides: the plane rod of Reissner (J. Appl. Math. Phys. 23
    (1972) 795, from memory), by shooting.

    x' = (1 + e) cos a - g sin a, y' = (1 + e) sin a + g cos a, a' = M/EI, M' = -Q(1 + e) + N g; no force along the
    sliding clamp's x, so that N = V sin a, Q = V cos a for the force V across."""
    result = estimated("step-bend-clamped").result
    section, material = case("step-bend-clamped").wire.section, case("step-bend-clamped").wire.material
    law = estimated("step-bend-clamped").model.law
    axial, shear, bending = law.stiffness[0], law.stiffness[1], law.stiffness[5]
    assert bending == pytest.approx(material.youngs_modulus_mpa * pi * section.height**4 / 64.0)

    def shape(force: float, moment: float) -> np.ndarray:
        def rates(_: float, state: np.ndarray) -> list[float]:
            a, m = state[2], state[3]
            n, q = force * np.sin(a), force * np.cos(a)
            e, g = n / axial, q / shear
            return [
                (1.0 + e) * np.cos(a) - g * np.sin(a),
                (1.0 + e) * np.sin(a) + g * np.cos(a),
                m / bending,
                -q * (1.0 + e) + n * g,
            ]

        way = solve_ivp(rates, (0.0, 7.0), [0.0, 0.0, 0.0, moment], rtol=1e-11, atol=1e-12)
        return np.asarray(way.y[:, -1])

    found = root(lambda x: shape(*x)[1:3] - [0.35, 0.0], [3.4, 11.8], tol=1e-11).x
    force, moment = errors(result)
    first = result.attachment("first clamp")
    assert abs(abs(first.force_n[1]) - found[0]) <= force.change
    assert abs(abs(first.moment_nmm[2]) - found[1]) <= moment.change


def test_nothing_is_estimated_unless_asked_for() -> None:
    assert run_case(case("step-bend-clamped")).accuracy is None
    assert run_case(case("step-bend-clamped"), estimate=True).accuracy is not None


def test_where_no_force_is_there_is_no_share_of_it() -> None:
    accuracy = accuracy_of(estimated("torque-round-wire").result)
    assert accuracy.percent == 0.0
    assert accuracy.force is not None and accuracy.force.change == 0.0 and accuracy.force.percent is None


def test_stations_of_the_finer_mesh_stand_between() -> None:
    """Both mouths are shared; the middle of the slot, which the usual mesh looks at, is not."""
    usual, finer, finest = (build_model(case("v-bend"), level=level) for level in range(3))
    for k in range(2):
        here, there, next_one = (model.supports[k].restraint.offsets for model in (usual, finer, finest))
        assert here[[0, -1]] == pytest.approx(there[[0, -1]])
        assert 0.0 in here and np.abs(there).min() > 0.01 and 0.0 in next_one
        assert np.diff(there).max() < 0.6 * np.diff(here).max()
        assert there[1] - there[0] < 0.6 * (here[1] - here[0])
    assert finer.fineness == 2.0 and usual.fineness == 1.0
    assert mesh_of(finest).elements > 3.0 * mesh_of(usual).elements


@pytest.mark.parametrize(
    ("name", "share"), [("v-bend", SHARE_OF_INCREMENTS), ("sliding-test", SHARE_WITH_HISTORY)]
)
def test_the_second_solve_takes_fewer_increments(
    name: str, share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that it does not take longer than the first; with friction more of them."""
    seen: list[tuple[int, ...]] = []

    def watched(model: object, options: Options, observer: None, legs: list[Leg]) -> Way:
        seen.append(tuple(leg.increments for leg in legs))
        return engage(model, options, observer, legs)  # type: ignore[arg-type]

    run = whole_run(case(name))
    monkeypatch.setattr(cases.accuracy, "engage", watched)
    assert keeps_history(run.model) == (name == "sliding-test")
    cases.accuracy.estimated(run.case, run.model, run.path)
    usual = {"v-bend": [10], "sliding-test": [10, 20, 20]}[name]
    assert seen == [tuple(int(np.ceil(share * count)) for count in usual)]


def test_where_the_finer_mesh_fails_a_coarser_one_is_compared(monkeypatch: pytest.MonkeyPatch) -> None:
    def coarse_only(model: Model, *rest: object) -> Way:
        if model.fineness > 1.0:
            raise NoEquilibrium(Status.TOO_MANY_ITERATIONS, 0.4, (), np.zeros((0, 4)))
        return engage(model, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(cases.accuracy, "engage", coarse_only)
    result = run_case(case("v-bend"), estimate=True)
    accuracy = accuracy_of(result)
    assert accuracy.compared_with.elements < accuracy.mesh.elements
    finer = whole_run(case("v-bend"), level=EIGHTH).result
    for error, true in zip(errors(result), largest_differences(result, finer), strict=True):
        assert true <= error.change <= TOO_LARGE * true


def second_solve_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> Way:
        raise NoEquilibrium(Status.TOO_MANY_ITERATIONS, 0.4, (), np.zeros((0, 4)))

    monkeypatch.setattr(cases.accuracy, "engage", fail)


def test_a_second_solve_that_fails_is_said(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    second_solve_fails(monkeypatch)
    accuracy = accuracy_of(run_case(case("v-bend"), estimate=True))
    assert accuracy.force is None and accuracy.moment is None and accuracy.percent is None
    (words,) = accuracy.words
    assert "No estimate of the discretisation error" in words and "40 % of the activation" in words
    assert "116" not in words and words.count("contact stations") == 2  # a finer mesh and a coarser one
    assert main(["run", str(LIBRARY / "v-bend.toml"), "--out", str(tmp_path), "--no-pictures"]) == 0
    assert "No estimate of the discretisation error" in " ".join(capsys.readouterr().out.split())


def test_an_estimate_that_is_too_large_warns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cases.accuracy, "TOO_FAR", 1e-3)
    assert any(
        "do not rely on" in words for words in accuracy_of(run_case(case("v-bend"), estimate=True)).words
    )


def test_refining_reaches_the_wanted_accuracy() -> None:
    """Checked on a mesh of an eighth; the contact of this wire lies between stations, which takes several meshes."""
    found = refined_run(case("torquing-arch"), 0.5)
    accuracy = accuracy_of(found.result)
    assert accuracy.reached and accuracy.percent is not None and accuracy.percent <= 0.5
    assert len(accuracy.sequence) > 1 and accuracy.sequence[0].percent is not None
    assert accuracy.sequence[0].percent > 0.5
    for one, two in zip(accuracy.sequence[:-1], accuracy.sequence[1:], strict=True):
        assert two.mesh == one.compared_with
    # the result is that of the last mesh
    assert len(found.result.wire.arc_length_mm) - 1 == accuracy.mesh.elements == found.model.nodes.size - 1
    assert len(found.result.increments) == 10
    finer = whole_run(case("torquing-arch"), level=EIGHTH + 1).result
    for error, true in zip(errors(found.result), largest_differences(found.result, finer), strict=True):
        assert true <= 0.005 * error.largest


def test_what_the_usual_mesh_reaches_is_not_refined() -> None:
    accuracy = accuracy_of(refined_run(case("v-bend"), 1.0).result)
    assert accuracy.reached and len(accuracy.sequence) == 1
    assert replace(accuracy, wanted_percent=None, sequence=()) == accuracy_of(estimated("v-bend").result)


def test_a_mesh_too_large_ends_the_refinement() -> None:
    heard: list[AccuracyResult] = []
    found = refined_run(case("v-bend"), 1e-9, told=heard.append, most_elements=500)
    accuracy = accuracy_of(found.result)
    assert accuracy.reached is False and tuple(heard) == accuracy.sequence
    assert "not reached" in accuracy.words[-1] and "more than 500 elements" in accuracy.words[-1]
    assert all(one.compared_with.elements <= 500 for one in accuracy.sequence)


def test_a_finer_mesh_that_fails_leaves_the_last_result(monkeypatch: pytest.MonkeyPatch) -> None:
    def whole(*arguments: object, level: int, **options: object) -> Run:
        if level:
            raise NoEquilibrium(Status.TOO_MANY_ITERATIONS, 0.4, (), np.zeros((0, 4)))
        return whole_run(*arguments, level=level, **options)  # type: ignore[arg-type]

    monkeypatch.setattr(cases.refine, "whole_run", whole)
    found = refined_run(case("v-bend"), 1e-4)
    accuracy = accuracy_of(found.result)
    assert accuracy.reached is False and len(accuracy.sequence) == 1
    assert "the next finer mesh failed" in accuracy.words[-1]
    assert len(found.result.wire.arc_length_mm) - 1 == accuracy.mesh.elements


@pytest.mark.parametrize("bad", [0.0, -1.0, 101.0, float("nan")])
def test_no_percentage(bad: float) -> None:
    with pytest.raises(ValueError, match="above 0 and at most 100"):
        refined_run(case("v-bend"), bad)


@pytest.mark.parametrize(
    "options", [["--refine", "0"], ["--refine", "small"], ["--refine", "1", "--no-estimate"]]
)
def test_options_that_make_no_question(options: list[str], tmp_path: Path) -> None:
    assert main(["run", str(LIBRARY / "v-bend.toml"), "--out", str(tmp_path / "out"), *options]) == 2
    assert list(tmp_path.iterdir()) == []


def test_the_command_refines_and_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit code 6 where the accuracy is not reached; the last mesh's results are there all the same."""
    arguments = ["run", str(LIBRARY / "v-bend.toml"), "--out", str(tmp_path), "--no-pictures", "--refine"]
    assert main([*arguments, "0.01%"]) == 0
    out = capsys.readouterr().out
    assert "Meshes solved, 0.01 % wanted" in out and "of the largest force" in out
    monkeypatch.setattr(cases.refine, "refined_run", partial(refined_run, most_elements=300))
    assert main([*arguments, "1e-7"]) == 6
    said = capsys.readouterr()
    assert "is not reached" in said.err and "Force and moment on each tooth" in said.out
    assert (tmp_path / "result.json").exists()


def test_without_an_estimate_the_command_says_nothing_of_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["run", str(LIBRARY / "v-bend.toml"), "--out", str(tmp_path), "--no-pictures"]
    assert main([*arguments, "--no-estimate"]) == 0
    assert "Discretisation error" not in capsys.readouterr().out
    assert main(arguments) == 0
    assert "Discretisation error" in capsys.readouterr().out


def test_the_bound_is_right_for_the_lowest_order() -> None:
    """Errors C h and C h/2 differ by C h/2: twice the difference is the first one.  Of higher orders it is more."""
    for order in (1.0, 2.0, 4.0):
        assert BOUND * (1.0 - 0.5**order) >= 1.0
