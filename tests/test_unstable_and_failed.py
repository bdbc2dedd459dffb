"""Equilibria that are unstable, and runs that find none: what a caller and the command line then get."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

import cases.accuracy
from cases.casefile import LIBRARY, load_case
from cases.cli import main
from cases.results import RunResult
from cases.run import run_case
from fem.path import Options
from fem.status import NoEquilibrium, Status
from tests.case_texts import YOUNGS_MODULUS, attachment, case_of, round_wire, straight


def column(shortening: float, snap: bool = False) -> RunResult:
    """A wire of 20 mm between clamps, both stopped, pushed together."""
    case = case_of(
        round_wire(0.5),
        [straight(20.0)],
        "A",
        attachment("A", "clamp", "start", 0.0, stop=True),
        attachment("B", "clamp", "end", 20.0 - shortening, stop=True),
    )
    return run_case(replace(case, analysis=replace(case.analysis, snap=snap)))


def test_a_column_is_unstable_beyond_eulers_load() -> None:
    """P = 4 pi^2 EI/L^2 for built-in ends (Euler; Timoshenko & Gere, Theory of Elastic Stability, art. 2.2).

    Straight, the wire carries EA times its strain, so the load is reached at u = 4 pi^2 I/(A L): 0.031 mm.
    Shear and the column's shortening change that by less than 2 %; 3 % below and above must be told apart.
    """
    critical = 4.0 * math.pi**2 * (0.5 / 4.0) ** 2 / 20.0
    below, above = column(0.97 * critical), column(1.03 * critical)
    assert below.status == "engaged"
    axial = YOUNGS_MODULUS * math.pi * 0.25**2 * 0.97 * critical / 20.0
    # the wire pushes the clamps apart
    assert below.attachment("A").force_n[0] == pytest.approx(-axial, rel=5e-3)
    assert above.status == "unstable"
    assert any("Unstable from" in words for words in above.status_words)


def test_a_column_that_may_snap_bends() -> None:
    """Twice as far as Euler's load takes it: bent, it bears that load and hardly more, and energy is set free."""
    critical = 4.0 * math.pi**2 * (0.5 / 4.0) ** 2 / 20.0
    snapped = column(2.0 * critical, snap=True)
    assert snapped.status == "engaged"
    euler = 4.0 * math.pi**2 * YOUNGS_MODULUS * math.pi * 0.5**4 / 64.0 / 20.0**2
    assert -snapped.attachment("A").force_n[0] == pytest.approx(euler, rel=0.02)
    assert any("set free" in words for words in snapped.status_words)
    assert sum(one.set_free_nmm for one in snapped.increments) > 0.0


def no_iterations(monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave the solver one iteration an increment: no equilibrium can be found."""
    monkeypatch.setattr(cases.accuracy, "Options", partial(Options, most_iterations=1))


def test_no_equilibrium_raises(monkeypatch: pytest.MonkeyPatch) -> None:
    case = load_case(LIBRARY / "v-bend.toml")
    no_iterations(monkeypatch)
    with pytest.raises(NoEquilibrium) as caught:
        run_case(case)
    failure = caught.value
    assert failure.status is Status.TOO_MANY_ITERATIONS and not failure.status.converged
    assert 0.0 <= failure.activation < 1.0
    assert failure.history.ndim == 2 and failure.history.shape[1] == 4 and len(failure.history) > 0


def test_no_equilibrium_ends_the_command_with_3_and_writes_nothing(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    no_iterations(monkeypatch)
    out = tmp_path / "results"
    assert main(["run", str(LIBRARY / "v-bend.toml"), "--out", str(out), "--no-pictures"]) == 3
    assert list(tmp_path.iterdir()) == []
    said = capsys.readouterr()
    assert "no equilibrium found" in said.err and "nothing was written" in said.err
