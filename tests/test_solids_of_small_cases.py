"""Solids of small cases made for the purpose: folds, stale files, odd titles, nothing activated."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import meshio
import numpy as np
import pytest

from cases.build import build_model
from cases.errors import NotFiniteError, WireslotError
from cases.schema import Case
from cases.solids import series_text, solid_writers, write_solids
from fem.model import Model
from fem.path import Options, engage
from fem.path import Path as LoadPath
from tests.case_texts import attachment, bend, case_of, edgewise, round_wire, straight


def solved(case: Case) -> tuple[Case, Model, LoadPath]:
    model = build_model(case)
    return case, model, engage(model, Options(increments=case.analysis.increments))


def cantilever(rise: float, *pieces: str, section: str | None = None, increments: int = 2) -> Case:
    """A wire clamped at one end and raised at the other."""
    return case_of(
        section or edgewise(0.4, 0.6),
        list(pieces) or [straight(8.0)],
        "held",
        attachment("held", "clamp", 0.0, 0.0, stop=True),
        attachment("raised", "button", "end", 8.0, rise),
        increments=increments,
    )


def test_nothing_activated_gives_no_stress_and_no_displacement(tmp_path: Path) -> None:
    write_solids(*solved(cantilever(0.0, increments=1)), tmp_path / "out")
    for number in (0, 1):
        mesh = meshio.read(tmp_path / "out" / f"wire_solid_{number:03d}.vtu")
        assert "yield_share" not in mesh.point_data
        assert np.abs(mesh.point_data["von_mises_mpa"]).max() < 1e-6
        assert np.abs(mesh.point_data["displacement_mm"]).max() < 1e-6


def test_a_cantilever_has_the_stress_of_the_handbook(tmp_path: Path) -> None:
    """3 E I d/L^3 at the end: bending stress M c/I = 3 E d c/L^2 at the clamp (any handbook; small deflection)."""
    write_solids(*solved(cantilever(0.02)), tmp_path / "out")
    mesh = meshio.read(tmp_path / "out" / "wire_solid_002.vtu")
    axial = mesh.point_data["axial_stress_mpa"]
    assert np.abs(axial).max() == pytest.approx(3.0 * 200e3 * 0.02 * 0.2 / 8.0**2, rel=5e-3)
    # The clamp holds it level, so its upper side is in compression there.
    assert axial[np.abs(axial).argmax()] * mesh.point_data["height_mm"][np.abs(axial).argmax()] < 0.0
    raised = mesh.point_data["displacement_mm"][mesh.point_data["arc_length_mm"] == 8.0, 1]
    np.testing.assert_allclose(raised, 0.02, atol=1e-4)


def test_a_wire_that_folds_onto_itself_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    """A bend of the centreline tighter than half the wire's depth."""
    folds = cantilever(0.0, straight(4.0), bend(60.0, "first", 0.25), straight(3.0), increments=1)
    with pytest.raises(WireslotError, match="before activation the wire folds onto itself at arc length 4"):
        write_solids(*solved(folds), tmp_path / "out")
    assert list(tmp_path.iterdir()) == []
    write_solids(
        *solved(cantilever(0.0, straight(4.0), bend(60.0, "first", 0.35), straight(3.0), increments=1)),
        tmp_path / "out",
    )


def test_a_number_that_is_none_is_never_written(tmp_path: Path) -> None:
    case, model, path = solved(cantilever(0.1))
    last = path.last
    wrong = last.snapshot.resultants.copy()
    wrong[0, 0, 0] = np.nan
    broken = replace(last, snapshot=replace(last.snapshot, resultants=wrong))
    with pytest.raises(NotFiniteError, match="von_mises"):
        write_solids(case, model, replace(path, increments=(*path.increments[:-1], broken)), tmp_path / "out")
    assert list(tmp_path.iterdir()) == []


def test_a_shorter_run_leaves_no_file_of_a_longer_one(tmp_path: Path) -> None:
    write_solids(*solved(cantilever(0.1, increments=3)), tmp_path)
    assert (tmp_path / "wire_solid_003.vtu").exists()
    (tmp_path / "mine.txt").write_text("kept", encoding="utf-8")
    made = write_solids(*solved(cantilever(0.1, increments=2)), tmp_path)
    assert {file.name for file in tmp_path.iterdir()} == {file.name for file in made} | {"mine.txt"}
    assert not (tmp_path / "wire_solid_003.vtu").exists()


def test_writers_work_out_one_state_at_a_time(tmp_path: Path) -> None:
    """Each file can be written alone and twice, and comes out the same."""
    writers = solid_writers(*solved(cantilever(0.1, section=round_wire(0.4))))
    assert list(writers)[:2] == ["wire_solid_000.vtu", "attachments_000.vtu"]
    for name in ("wire_solid_002.vtu", "attachments_001.vtu", "solids.pvd", "wire_solid.msh"):
        writers[name](tmp_path / "one")
        writers[name](tmp_path / "two")
        assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()


def test_any_title_makes_a_sound_series() -> None:
    case = replace(cantilever(0.1), title='A -- wire --- <of> & \u00fc "quotes"')
    text = series_text(case, [(0.0, 0, "a&b.vtu"), (1.0 / 3.0, 1, "c.vtu")])
    sets = ET.fromstring(text.encode("utf-8")).findall("./Collection/DataSet")
    assert [one.attrib["file"] for one in sets] == ["a&b.vtu", "c.vtu"]
    assert [float(one.attrib["timestep"]) for one in sets] == [0.0, 1.0 / 3.0]
    assert case.sha256 in text
