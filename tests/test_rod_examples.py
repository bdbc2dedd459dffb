"""The three examples of rods run as a reader would run them, and agree with their closed forms.

Sources stand in each example; the elastica's table is Mattiasson, Int. J. Numer. Meth. Engng 17 (1981) 145, table 1.
"""

from __future__ import annotations

import math
import re
import subprocess
import sys
from pathlib import Path

import pytest

from fem.section_law import LinearSection
from fem.torsion import torsion_constant
from scripts import rod_cantilever, rod_rollers, rod_spring

SCRIPTS = Path(rod_cantilever.__file__).parent


@pytest.mark.parametrize("name", ["rod_cantilever", "rod_rollers", "rod_spring"])
def test_it_runs_is_short_and_tells_of_rods_only(name: str) -> None:
    command = [sys.executable, "-m", f"scripts.{name}"]
    done = subprocess.run(command, cwd=SCRIPTS.parent, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert len(re.findall(r"\d\.\d{4,5}\b", done.stdout)) >= 12
    assert not re.search(r"nan|inf", done.stdout)
    text = (SCRIPTS / f"{name}.py").read_text(encoding="utf-8")
    assert len(text.splitlines()) < 80
    assert not re.search(r"tooth|teeth|bracket|orthodont|dental|\bcases\b|\btests\b", text, re.IGNORECASE)


@pytest.mark.parametrize(("load", "published"), [(1.0, (0.30172, 0.05643)), (10.0, (0.81061, 0.55500))])
def test_cantilever(load: float, published: tuple[float, float]) -> None:
    found = rod_cantilever.computed(load)
    assert rod_cantilever.elastica(load)[:2] == pytest.approx(published, abs=6e-6)
    # what the elastica leaves out: stretch P/EA and shear P/kGA
    law = LinearSection.of(
        rod_cantilever.SECTION, rod_cantilever.STEEL, torsion_constant(rod_cantilever.SECTION)
    ).stiffness
    left_out = load * rod_cantilever.BENDING / rod_cantilever.LENGTH**2 * float(1.0 / law[0] + 1.0 / law[1])
    assert found == pytest.approx(rod_cantilever.elastica(load), abs=left_out)


def test_rollers() -> None:
    rows = rod_rollers.computed()
    law = LinearSection.of(
        rod_rollers.SECTION, rod_rollers.STEEL, torsion_constant(rod_rollers.SECTION)
    ).stiffness
    # what the elastica leaves out: shear takes 12 EI/(kGA S^2) of the force at small depth, less as the rod gets longer
    shear = 12.0 * float(law[5] / law[1]) / rod_rollers.SPAN**2
    for depth, force, _ in rows:
        assert force == pytest.approx(rod_rollers.elastica(depth), rel=1.2 * shear)
    exact = rod_rollers.elastica(rows[0][0])
    assert rows[0][1] == pytest.approx(exact / (1.0 + shear), rel=0.1 * shear)
    # the force has passed its maximum, and the rod has been drawn in
    assert rows[-1][1] < max(force for _, force, _ in rows)
    assert rows[-1][2] > rod_rollers.SPAN + 20.0


def test_elastica_on_rollers_begins_as_the_beam_of_small_deflections() -> None:
    """48 EI d/S^3 (Gere & Timoshenko, Mechanics of Materials, chapter 9; from memory)."""
    small = 48.0 * rod_rollers.BENDING * 1e-3 / rod_rollers.SPAN**3
    assert rod_rollers.elastica(1e-3) == pytest.approx(small, rel=1e-5)


@pytest.mark.parametrize("pitch", [3.0, 20.0, 40.0])
def test_spring(pitch: float) -> None:
    # the stretch under the force
    found = rod_spring.computed(pitch)
    assert found == pytest.approx(rod_spring.with_pitch(pitch), rel=2e-4)


def test_spring_of_small_pitch_is_the_handbook_s() -> None:
    """Its shear, which the formula leaves out, is (d/D)^2/2 GJ/(kGA r^2) beside the twist, below two in a thousand."""
    assert rod_spring.computed(3.0) == pytest.approx(rod_spring.handbook(), rel=4e-3)
    assert math.isclose(rod_spring.handbook(), 76923.0769 * 16.0 / (8.0 * 64000.0 * 8.0), rel_tol=1e-9)


def test_elements_are_exact_on_a_helix() -> None:
    """Elements that turn by 20 and by 5 deg: the same stiffness to what six digits of deflection leave."""
    coarse, fine = (rod_spring.computed(20.0, a_turn) for a_turn in (18, 72))
    assert coarse == pytest.approx(fine, rel=1e-6)
