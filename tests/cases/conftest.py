"""A sound case file and a result made by hand, for the tests of the cases layer."""

from __future__ import annotations

import numpy as np
import pytest

from cases.results import (
    AttachmentOnPath,
    AttachmentResult,
    ContactResult,
    EquilibriumResult,
    IncrementResult,
    MouthResult,
    OrderResult,
    RunResult,
    WireResult,
)
from geometry.pose import Pose
from geometry.section import Round

SOUND_CASE = """\
title = "A tube and a tied arm"

[wire]
material = "stainless-steel"
section = { shape = "rectangle", height = "0.017 in", depth = "0.025 in", edge_radius = "0.05 mm" }
passive_shape = [
    { straight = "5 mm" },
    { bend = "-30 deg", order = "second", radius = "1 mm" },
    { straight = "20 mm" },
]
seated_in = "tube"

[[attachment]]
name = "tube"
tooth = "47"
kind = "tube"
slot = { height = "0.022 in", depth = "0.028 in", width = "4 mm" }
position = ["0 mm", "0 mm", "0 mm"]
at = "2.5 mm"
stop = true

[[attachment]]
name = "hook"
tooth = "45"
kind = "button"
position = ["22 mm", "0 mm", "0 mm"]
at = "end"
"""


@pytest.fixture
def sound_case() -> str:
    """A case file without fault."""
    return SOUND_CASE


def _attachment(name: str, sign: float) -> AttachmentResult:
    order = OrderResult(
        moment_nmm=sign * 12.5,
        activation_deg=20.0,
        engagement_deg=1.25,
        play_deg=None,
        play_left_deg=None,
        turns_freely=True,
        carries_couple=False,
        stopping_walls=(),
        words="no couple",
    )
    return AttachmentResult(
        name=name,
        kind="bracket",
        tooth="21",
        force_n=(0.0, sign * 1.5, 0.0),
        moment_nmm=(0.0, 0.0, sign * 12.5),
        moment_about_mm=(0.0, 0.0, 0.0),
        orders={"first": order, "second": order, "third": order},
        mouths=(MouthResult("start", 1.5, (0.0, 1.0 / 3.0, 0.0), (0.0, 0.0, 0.1)),),
        contacts=(ContactResult((1.5, 0.0, 0.0), -1.5, "upper wall", 2.5, 0.0),),
        sliding_mm=0.01,
        moment_at_centre_of_resistance_nmm=None,
        words=("extrusion, 1.5 N",),
        pose=Pose.identity(),
        slot_size_mm=(0.5588, 0.7112, 3.0),
    )


@pytest.fixture
def result() -> RunResult:
    """A result of two attachments, five nodes and two increments; its numbers mean nothing."""
    arc = np.linspace(0.0, 8.0, 5)
    points = np.column_stack((arc, 0.1 * arc**2, np.zeros(5)))
    wire = WireResult(
        section=Round(0.4),
        arc_length_mm=arc,
        positions_mm=points,
        axes=np.tile(np.eye(3), (5, 1, 1)),
        passive_positions_mm=points,
        bending_stress_mpa=np.full(5, 300.0),
        shear_stress_mpa=np.zeros(5),
        force_n=np.zeros((5, 3)),
        moment_nmm=np.zeros((5, 3)),
        largest_stress_mpa=300.0,
        yield_share=None,
    )
    on_path = tuple(
        AttachmentOnPath(name, (0.0, 1.0, 0.0), (0.0, 0.0, 2.0), (0.0, 2.0, 0.0))
        for name in ("left, upper", "right")
    )
    return RunResult(
        title="Made by hand",
        status="engaged",
        status_words=("The wire is engaged.",),
        attachments=(_attachment("left, upper", 1.0), _attachment("right", -1.0)),
        equilibrium=EquilibriumResult((0.0, 1e-12, 0.0), (0.0, 0.0, 2e-12), 1e-11),
        wire=wire,
        increments=(
            IncrementResult("activation", 0.5, 4, 1e-12, 0.0, on_path),
            IncrementResult("activation", 1.0, 3, 2e-12, 0.0, on_path),
        ),
        assumptions=("Walls are rigid.",),
        provenance={"program": "wireslot", "options": {"increments": np.int64(2)}},
    )
