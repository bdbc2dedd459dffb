"""The engagement moment by moment: what a run stores of it, what an animation draws of that, and that it is the same
each time.  Drawn without a display."""

from __future__ import annotations

import csv
import gzip
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.text import Text
from PIL import Image

from cases.cli import main
from cases.frames import BEFORE, Frame, frame_writers, frames_of, read_frames
from cases.output import CAUTION, FRAMES, write_outputs
from cases.report.animation import durations, film_writers
from cases.report.stored import StoredError
from cases.results import RunResult
from cases.show.animation import (
    ENLARGED,
    PIXELS,
    VIEWS,
    Film,
    draw_moment,
    film_of,
    film_words,
    pictures,
    value_of,
)
from tests import figure_cases, overlaps, shipped

MOLAR, TORQUE, ARCH, BENCH = "molar-uprighting", "torque-through-play", "levelling-lower-arch", "torque-test"
LEAST_TEXT = 18.0


def _film(name: str, view: str, attachment: str | None = None) -> Film:
    run = figure_cases.run(name)
    return film_of(run.result, frames_of(run), view, attachment)


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folders of stored results with their frames, one a case."""
    folder = tmp_path_factory.mktemp("stored")
    for name in (MOLAR, TORQUE):
        run = figure_cases.run(name)
        write_outputs(run.result, folder / name, frame_writers(run))
    return folder


# ---------------------------------------------------------------------------------------------- what is stored


@pytest.mark.parametrize("name", [MOLAR, TORQUE, BENCH, figure_cases.BACK])
def test_frames_are_the_increments_of_the_run_and_begin_free_of_load(name: str) -> None:
    run = figure_cases.run(name)
    first, *others = frames_of(run)
    assert first.stage == BEFORE and first.activation == 0.0
    for item in first.attachments:
        assert not np.any(item.force_n) and not np.any(item.moment_nmm) and item.contacts == ()
    assert np.array_equal(first.wires[0].positions_mm, first.wires[0].passive_positions_mm)
    assert [(one.stage, one.activation) for one in others] == [
        (one.stage, one.activation) for one in run.result.increments
    ]
    for frame, increment in zip(others, run.result.increments, strict=True):
        for item, told in zip(frame.attachments, increment.attachments, strict=True):
            assert item.force_n == told.force_n and item.moment_nmm == told.moment_nmm
            assert tuple(
                item.orders[order].moment_nmm for order in ("first", "second", "third")
            ) == pytest.approx(told.orders_moment_nmm)


def test_the_last_frame_is_the_result() -> None:
    run = figure_cases.run(TORQUE)
    last = frames_of(run)[-1]
    assert last.wires[0].positions_mm == pytest.approx(run.result.wire.positions_mm, abs=1e-6)
    assert last.wires[0].axes == pytest.approx(run.result.wire.axes, abs=1e-8)
    assert last.wires[0].bending_stress_mpa == pytest.approx(run.result.wire.bending_stress_mpa, abs=1e-3)
    for item, whole in zip(last.attachments, run.result.attachments, strict=True):
        assert item.orders == whole.orders and item.contacts == whole.contacts
        assert np.array_equal(item.pose.axes, whole.pose.axes)


def test_frames_are_read_as_they_were_written_and_are_the_same_each_time(
    stored: Path, tmp_path: Path
) -> None:
    run = figure_cases.run(MOLAR)
    read, made = read_frames(stored / MOLAR, run.case, run.result), frames_of(run)
    for one, other in zip(read, made, strict=True):
        assert np.array_equal(one.wires[0].positions_mm, other.wires[0].positions_mm)
        assert [item.orders for item in one.attachments] == [item.orders for item in other.attachments]
    frame_writers(run)[FRAMES](tmp_path / FRAMES)
    assert (tmp_path / FRAMES).read_bytes() == (stored / MOLAR / FRAMES).read_bytes()
    assert (tmp_path / FRAMES).stat().st_size < 100_000


def test_frames_of_another_run_or_none_are_refused(stored: Path, tmp_path: Path) -> None:
    run = figure_cases.run(MOLAR)
    other: RunResult = replace(run.result, provenance={**run.result.provenance, "date": "another"})
    with pytest.raises(StoredError, match="belongs to another run"):
        read_frames(stored / MOLAR, run.case, other)
    with pytest.raises(StoredError, match="no frames to draw an animation from"):
        read_frames(tmp_path, run.case, run.result)
    (tmp_path / FRAMES).write_bytes(b"not packed")
    with pytest.raises(StoredError, match="wireslot run"):
        read_frames(tmp_path, run.case, run.result)
    (tmp_path / FRAMES).write_bytes(gzip.compress(json.dumps({"frames": []}).encode()))
    with pytest.raises(StoredError, match="not as this version writes it"):
        read_frames(tmp_path, run.case, run.result)


def test_frames_of_an_earlier_run_do_not_stay_beside_a_new_result(stored: Path, tmp_path: Path) -> None:
    run = figure_cases.run(MOLAR)
    write_outputs(run.result, tmp_path / "a", frame_writers(run))
    write_outputs(run.result, tmp_path / "a")
    assert not (tmp_path / "a" / FRAMES).exists()


# ---------------------------------------------------------------------------------------------- what is drawn


@pytest.mark.parametrize(
    ("name", "view"), [(MOLAR, "facial"), (TORQUE, "slot"), (TORQUE, "mesiodistal"), (ARCH, "occlusal")]
)
def test_texts_are_large_enough_and_nothing_is_cut_or_covered(name: str, view: str) -> None:
    film = _film(name, view)
    for number in (0, len(film.frames) // 2, len(film.frames) - 1):
        figure = draw_moment(film, number)
        figure.canvas.draw()
        texts = [text for text in figure.findobj(Text) if text.get_text().strip() and text.get_visible()]
        assert min(text.get_fontsize() for text in texts) * ENLARGED >= LEAST_TEXT - 1e-3
        assert overlaps.outside(figure) == []
        assert overlaps.over_each_other(figure.texts, figure) == []
        for axes in figure.axes:
            assert overlaps.covered(axes) == []
            assert overlaps.over_each_other(overlaps.written_on(axes), figure) == []
        told = " ".join(text.get_text() for text in figure.texts)
        assert " ".join(CAUTION.split()[:6]) in told and film.result.title.split()[0] in told


def test_read_outs_are_the_loads_of_the_moment_in_both_units() -> None:
    film = _film(MOLAR, "facial")
    for number in (3, 10):
        figure = draw_moment(film, number)
        told = [text.get_text() for text in figure.texts]
        molar = film.frames[number].attachments[0]
        force = float(np.linalg.norm(molar.force_n))
        assert any(line.startswith(f"{force:.3f} N (") and line.endswith("gf)") for line in told)
        moment = abs(molar.orders["second"].moment_nmm)
        assert any(line.startswith(f"{moment:.1f} N mm (") and line.endswith("gf mm)") for line in told)
        assert f"Activation {10 * number} %" in told
    told = [text.get_text() for text in draw_moment(film, 0).figure.texts]
    assert "Before engagement" in told and told.count("no force") == 2


def test_the_small_curve_passes_through_the_moments_and_is_marked_at_this_one() -> None:
    film = _film(TORQUE, "slot")
    assert film.curve == ("third", 1)  # of two with the same torque the bracket that is turned
    values = [value_of(frame, film.curve) for frame in film.frames]
    axes = draw_moment(film, 8).axes[-1]
    now = next(line for line in axes.lines if line.get_gid() == "now")
    so_far = next(line for line in axes.lines if line.get_gid() == "so far")
    assert np.asarray(now.get_xydata()).tolist() == [[8.0, values[8]]]
    assert np.asarray(so_far.get_ydata()).tolist() == values[:9]
    assert values[7] == pytest.approx(0.0, abs=1e-6) and abs(values[8]) > 1.0


def test_arrows_grow_with_the_loads_at_one_scale() -> None:
    film = _film(MOLAR, "facial")
    lengths, forces, limits = [], [], set()
    for number in (6, 8, 10):
        axes = draw_moment(film, number).axes[0]
        arrow = next(one for one in axes.patches if one.get_gid() == "force")
        corners = arrow.get_xy()
        lengths.append(float(np.linalg.norm(corners[3] - 0.5 * (corners[0] + corners[6]))))
        forces.append(float(np.linalg.norm(film.frames[number].attachments[0].force_n[:2])))
        limits.add((axes.get_xlim(), axes.get_ylim()))
    assert np.array(lengths) / lengths[-1] == pytest.approx(np.array(forces) / forces[-1], rel=1e-6)
    assert len(limits) == 1


@pytest.mark.parametrize(("name", "view"), [(MOLAR, "facial"), (TORQUE, "slot")])
def test_an_animation_is_the_same_each_time_and_has_every_moment(
    name: str, view: str, tmp_path: Path
) -> None:
    film = _film(name, view)
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        for file, write in film_writers(film, "film").items():
            write(tmp_path / folder / file)
    for file in ("film.gif", "film.webp", "film.csv"):
        assert (tmp_path / "a" / file).read_bytes() == (tmp_path / "b" / file).read_bytes()
    for file in ("film.gif", "film.webp"):
        with Image.open(tmp_path / "a" / file) as moving:
            assert moving.size == PIXELS and moving.n_frames == len(film.frames) == 11
            moving.seek(10)
            assert moving.convert("RGB").getpixel((PIXELS[0] // 2, 2)) == (255, 255, 255)
        assert (tmp_path / "a" / file).stat().st_size < 2_000_000
    rows = list(csv.DictReader((tmp_path / "a" / "film.csv").read_text(encoding="utf-8").splitlines()))
    last = film.frames[-1].attachments[0]
    row = next(one for one in reversed(rows) if one["attachment"] == last.name)
    assert float(row["force_n"]) == np.linalg.norm(last.force_n) and row["activation_percent"] == "100.0"


def test_the_webp_shows_what_was_drawn_and_the_gif_nearly(tmp_path: Path) -> None:
    film = _film(MOLAR, "facial")
    drawn = pictures(film)[5].astype(float)
    for file, write in film_writers(film, "film").items():
        write(tmp_path / file)
    for file, most in (("film.webp", 0.0), ("film.gif", 1.5)):
        with Image.open(tmp_path / file) as moving:
            moving.seek(5)
            shown = np.asarray(moving.convert("RGB"), dtype=float)
        # mean difference of a channel, of 255: the GIF has 256 colours
        assert np.abs(shown - drawn).mean() <= most


def test_pictures_stand_long_enough_to_be_read() -> None:
    assert durations(11) == [1000, *[450] * 9, 2500]
    assert set(durations(101)[1:-1]) == {80} and durations(1) == [2500] and len(durations(2)) == 2


def test_a_banner_goes_across_every_picture_of_a_bad_result() -> None:
    run = figure_cases.run(MOLAR)
    film = film_of(replace(run.result, status="unstable"), frames_of(run), "facial")
    for number in (0, 10):
        assert any("do not use these figures" in text.get_text() for text in draw_moment(film, number).texts)


def test_a_slot_that_is_not_there_is_refused() -> None:
    run = figure_cases.run(MOLAR)
    with pytest.raises(ValueError, match="there is no such slot; slots: molar tube"):
        film_of(run.result, frames_of(run), "slot", "premolar hook")
    with pytest.raises(ValueError, match="goes with --view slot"):
        film_of(run.result, frames_of(run), "facial", "molar tube")
    assert set(VIEWS) == {"facial", "occlusal", "mesiodistal", "slot"}


def test_words_tell_beginning_middle_and_end() -> None:
    words = film_words(_film(TORQUE, "slot"))
    assert "Before engagement" in words and "Activation, 50 %" in words and "torque 17.0 N mm" in words


def test_a_passive_wire_is_animated_too() -> None:
    film = _film("torque-round-wire", "slot")
    figure = draw_moment(film, len(film.frames) - 1)
    assert "no torque" in [text.get_text() for text in figure.texts]


def test_the_command_draws_from_stored_results_without_solving(
    stored: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object) -> None:
        raise AssertionError("stored results were solved again")

    monkeypatch.setattr("cases.commands._solve", never)
    monkeypatch.delenv("DISPLAY", raising=False)
    case = str(shipped.case(MOLAR).path)
    assert main(["animate", case, "--results", str(stored / MOLAR), "--out", str(tmp_path / "o")]) == 0
    said = capsys.readouterr().out
    assert "In words" in said and CAUTION.split(";")[0] in said
    assert sorted(path.name for path in (tmp_path / "o").iterdir()) == [
        f"animation-facial.{kind}" for kind in ("csv", "gif", "webp")
    ]
    assert main(["animate", case, "--results", str(stored / TORQUE), "--out", str(tmp_path / "p")]) == 2
    ask = ["animate", case, "--view", "slot", "--attachment", "x", "--results", str(stored / MOLAR)]
    assert main([*ask, "--out", str(tmp_path / "p")]) == 2
    assert "there is no such slot" in capsys.readouterr().err and not (tmp_path / "p").exists()


def test_a_frame_can_be_drawn_as_any_result() -> None:
    run = figure_cases.run(MOLAR)
    frame: Frame = frames_of(run)[5]
    assert (
        frame.of(run.result).attachments == frame.attachments
        and frame.of(run.result).title == run.result.title
    )
