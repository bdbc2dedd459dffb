"""``wireslot scene``: from stored results, without solving; options that do not fit are refused in one sentence."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from rich.console import Console

from cases import load_case, run_case
from cases.cli import main
from cases.output import write_outputs
from cases.results import RunResult
from cases.scenes import command, options
from cases.schema import Case
from cases.show import scene
from cases.show.errors import PictureError
from cases.show.look import CUTS, VIEWS, Look
from cases.show.window import screen_there
from tests.shipped import LIBRARY

CASE = LIBRARY / "molar-uprighting.toml"


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("stored")
    write_outputs(run_case(load_case(CASE)), folder)
    return folder


def _arguments(*words: str) -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    options.scene_arguments(parser)
    return parser.parse_args([str(CASE), *words])


def _never(_: Case) -> RunResult | None:
    raise AssertionError("solved, though results are stored")


def test_stored_results_are_drawn_without_solving(
    stored: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("--results", str(stored), "--out", str(tmp_path / "out"), "--page", "--size", "1000x700")
    words += ("--view", "mesiodistal", "--attachment", "molar tube", "--transparent", "--teeth")
    assert command.scene(_arguments(*words), Console(width=120), _never) == 0
    names = {"scene-mesiodistal-molar-tube.png", "scene.html"}
    assert {path.name for path in (tmp_path / "out").iterdir()} == names
    with Image.open(tmp_path / "out" / "scene-mesiodistal-molar-tube.png") as image:
        assert image.size == (1000, 700) and image.mode == "RGBA"
        assert np.asarray(image)[..., 3].max() == 255
    told = capsys.readouterr().out
    assert "In words, for who cannot see it" in told and "not a treatment plan" in told
    assert all(name in told for name in names)


def test_results_of_another_case_are_refused(stored: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = LIBRARY / "step-bend-clamped.toml"
    assert main(["scene", str(other), "--results", str(stored)]) == 2
    assert "do not belong to this case" in capsys.readouterr().err


def test_a_solved_case_without_equilibrium_writes_nothing(tmp_path: Path) -> None:
    assert command.scene(_arguments("--out", str(tmp_path / "out")), Console(), lambda _: None) == 3
    assert not (tmp_path / "out").exists()


def test_an_attachment_that_is_not_there_is_told_before_anything_is_solved() -> None:
    with pytest.raises(
        command.SceneError, match="no attachment called 'tube'; there are: molar tube, premolar hook"
    ):
        command.scene(_arguments("--attachment", "tube"), Console(), _never)


@pytest.mark.parametrize(
    ("words", "look"),
    [
        ((), Look()),
        (("--whole",), Look(cut=None)),
        (("--view", "occlusal"), Look("occlusal", "occlusal")),
        (("--view", "facial", "--cut", "mesiodistal"), Look("facial", "mesiodistal")),
        (("--teeth", "--transparent"), Look(teeth=True, transparent=True)),
    ],
)
def test_the_half_towards_the_viewer_is_cut_away_unless_told_otherwise(
    words: tuple[str, ...], look: Look
) -> None:
    assert command.look_of(_arguments(*words), load_case(CASE)) == look


@pytest.mark.parametrize(
    ("text", "size"),
    [("4k", (3840, 2160)), ("HD", (1920, 1080)), ("1200x800", (1200, 800)), ("800 X 600", (800, 600))],
)
def test_sizes(text: str, size: tuple[int, int]) -> None:
    assert options.size_of(text) == size


@pytest.mark.parametrize(
    "text", ["", "8k", "1200", "799x600", "800x599", "99999x99999", "-800x600", "1200*800"]
)
def test_sizes_that_are_none_are_refused(text: str) -> None:
    with pytest.raises(argparse.ArgumentTypeError):
        options.size_of(text)


def test_the_quick_help_names_the_same_views_as_the_scene() -> None:
    assert (options.VIEWS, options.CUTS, options.SMALLEST) == (VIEWS, CUTS, scene.SMALLEST)


def test_a_window_needs_a_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    assert screen_there({}) is not sys.platform.startswith("linux")
    assert screen_there({"DISPLAY": ":0"}) and screen_there({"WAYLAND_DISPLAY": "wayland-0"})
    monkeypatch.setattr("cases.show.window.screen_there", lambda: False)
    with pytest.raises(command.SceneError, match="no screen .* --page"):
        command.scene(_arguments("--window"), Console(), _never)


def test_where_nothing_draws_it_is_told_and_nothing_is_left(
    stored: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object) -> None:
        raise PictureError("no picture: nothing on this machine draws without a display; install it")

    monkeypatch.setattr(scene, "draw_scene", fail)
    words = ("--results", str(stored), "--out", str(tmp_path / "out"))
    assert command.scene(_arguments(*words), Console(), _never) == 1
    assert "draws without a display" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_texts_without_room_ask_for_a_larger_picture(
    stored: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def full(*_: object) -> None:
        raise ValueError("the picture is too small for its labels: ask for a larger one")

    monkeypatch.setattr(scene, "draw_scene", full)
    with pytest.raises(command.SceneError, match="--size 4k"):
        command.scene(_arguments("--results", str(stored), "--out", str(tmp_path / "out")), Console(), _never)


def test_names_of_pictures() -> None:
    assert command.picture_name(Look("facial")) == "scene-facial.png"
    assert command.picture_name(Look(attachment="Molar tube (46)")) == "scene-oblique-molar-tube-46.png"
