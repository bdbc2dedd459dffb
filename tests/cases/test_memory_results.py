"""What a wire remembers, as it is printed, written and read back."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from cases.memory_results import CycleLoss, SetAtAttachment, WireMemory
from cases.output import RELEASED, to_json, write_outputs
from cases.report import stored
from cases.results import RunResult
from cases.summary import print_result
from geometry.wire_shapes import Bend, PassiveShape, Straight

SHAPE = PassiveShape((Straight(5.0), Bend(0.2, "second", 2.0), Straight(4.0)))
MEMORY = WireMemory(
    law="elastoplastic", temperature_degc=36.0, yielded_share=0.1, most_yielded_share=0.8, martensite_share=0.0,
    most_martensite_share=0.0, largest_plastic_strain=0.01, dissipated_nmm=1.5, stored_nmm=0.5,
    cycles=(CycleLoss("trial", 1, 1.25, 0.0),), sets=(SetAtAttachment("right", 0.8, 5.0, 3.0, 0.0, 0.7333),),
    words=("10 % of the wire has yielded.",), released=SHAPE,
)  # fmt: skip


@pytest.fixture
def remembering(result: RunResult) -> RunResult:
    return replace(result, memory=MEMORY)


def test_it_is_printed(remembering: RunResult) -> None:
    console = Console(record=True, width=120)
    print_result(remembering, console)
    text = console.export_text()
    assert "What the wire remembers" in text and "10 % of the wire has yielded." in text


def test_it_is_written_with_the_released_shape_and_read_back(remembering: RunResult, tmp_path: Path) -> None:
    written = write_outputs(remembering, tmp_path)
    assert RELEASED in {path.name for path in written}
    assert (tmp_path / RELEASED).read_text(encoding="utf-8").count("curve =") == 3
    data = json.loads((tmp_path / "result.json").read_text(encoding="utf-8"))["memory"]
    assert data["released"] == RELEASED and data["sets"][0]["springback"] == 0.7333
    assert stored._memory(data) == replace(MEMORY, released=None)


def test_an_elastic_run_removes_the_shape_of_an_earlier_one(
    remembering: RunResult, result: RunResult, tmp_path: Path
) -> None:
    write_outputs(remembering, tmp_path)
    write_outputs(result, tmp_path)
    assert not (tmp_path / RELEASED).exists()
    assert to_json(result)["memory"] is None and stored._memory(None) is None
