"""The measuring scripts still measure: they run on the smallest thing they can."""

from __future__ import annotations

import numpy as np
import pytest

from scripts.appliances import main, random_appliance
from scripts.benchmark import bending, last_tenth, two_slots


def test_the_benchmark_measures() -> None:
    assert 0.0 < bending(4, 1) < 1.0
    assert 0.0 < last_tenth(two_slots(3), 1) < 1.0


def test_appliances_are_counted(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--count", "3"]) == 0
    said = capsys.readouterr().out
    assert "of 3 reached equilibrium" in said and "iterations of an increment: median" in said


def test_an_appliance_follows_from_its_number() -> None:
    here, there = (random_appliance(7, 4, 20.0, 1.5) for _ in range(2))
    np.testing.assert_array_equal(here.nodes, there.nodes)
    for one, other in zip(here.supports, there.supports, strict=True):
        np.testing.assert_array_equal(one.end.axes, other.end.axes)
