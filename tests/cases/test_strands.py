"""Multistrand wires in a case: read, refused, solved, said and stored."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from cases.casefile import parse_case
from cases.errors import CaseFileError, WireslotError
from cases.output import to_json
from cases.run import run_case, whole_run
from cases.schema import Case
from cases.show.closed_form import closed_forms
from cases.show.labels import wire_text
from cases.solids import solids_of
from fem.strands import Strands
from tests.case_texts import YOUNGS_MODULUS, attachment, case_of, straight
from tests.cases.conftest import SOUND_CASE

THREE = '{ shape = "strands", strands = 3, strand_diameter = "0.2 mm", lay_angle = "20 deg" }'
SECTION = '{ shape = "rectangle", height = "0.017 in", depth = "0.025 in", edge_radius = "0.05 mm" }'


def stepped(section: str, step: float) -> Case:
    """A straight wire between two clamps 10 mm apart, one moved up; it slides in the second."""
    return case_of(
        section,
        [straight(10.0)],
        "left",
        attachment("left", "clamp", "start", 0.0, stop=True),
        attachment("right", "clamp", "end", 10.0, step),
    )


def test_strands_are_read_with_their_outline() -> None:
    case = parse_case(SOUND_CASE.replace(SECTION, THREE), Path("case.toml"))
    assert case.wire.strands == Strands(3, 0.2, math.radians(20.0))
    assert case.wire.section == case.wire.strands.outline  # type: ignore[union-attr]
    assert "3 strands of 0.200 mm, lay angle 20 deg, outline round" in case.wire.label
    by_length = parse_case(
        SOUND_CASE.replace(SECTION, THREE.replace('lay_angle = "20 deg"', 'lay_length = "2.1 mm"')),
        Path("case.toml"),
    ).wire.strands
    assert by_length is not None
    assert math.tan(by_length.lay_angle) == pytest.approx(2.0 * math.pi * by_length.radius / 2.1)


def test_a_braid_meets_walls_with_its_rectangle() -> None:
    braid = (
        '{ shape = "strands", strands = 8, strand_diameter = "0.0055 in", lay_angle = "15 deg", height = "0.016 in", '
        'depth = "0.022 in", edge_radius = "0.05 mm" }'
    )
    case = parse_case(SOUND_CASE.replace(SECTION, braid), Path("case.toml"))
    assert (case.wire.section.height, case.wire.section.depth) == pytest.approx((0.4064, 0.5588))
    assert "braided" in case.wire.label


def test_a_step_between_clamps_is_that_of_the_strands() -> None:
    """M = 6 E I d/L^2 with E I of freely sliding strands, small deflection: 0.5 % (shear and large deflection)."""
    step = 0.05
    case = stepped(THREE, step)
    result = run_case(case)
    assert case.wire.strands is not None
    bending = YOUNGS_MODULUS * 3.0 * math.pi * 0.2**4 / 64.0
    sine, cosine = math.cos(math.radians(20.0)), math.sin(math.radians(20.0))
    bending *= 2.0 * sine / (2.0 + 0.3 * cosine**2)
    moment = 6.0 * bending * step / 10.0**2
    for name in ("left", "right"):
        assert result.attachment(name).moment_nmm[2] == pytest.approx(moment, rel=5e-3)
    # the stress of one strand: its own share of the moment on its own section, and a little pull and shear
    own = moment / 3.0 / (math.pi * 0.2**3 / 32.0)
    assert result.wire.largest_stress_mpa == pytest.approx(own, rel=2e-2)
    assert closed_forms(case) == ()  # those are of solid wires


def test_what_is_said_and_stored() -> None:
    result = run_case(stepped(THREE, 0.05))
    said = " ".join(result.assumptions)
    assert "slide on each other without friction" in said and "grown together they would be" in said
    assert result.wire.strands == "3 strands of 0.200 mm, lay angle 20 deg"
    assert wire_text(result).startswith("wire 3 strands of 0.200 mm")
    assert json.loads(json.dumps(to_json(result)))["wire"]["strands"] == result.wire.strands


def test_no_solid_is_made_of_strands() -> None:
    run = whole_run(stepped(THREE, 0.05))
    with pytest.raises(WireslotError, match="strands that slide on each other"):
        solids_of(run.case, run.model, run.path)


BAD = {
    "no number": ("strands = 3, ", "", "wire.section.strands", "is missing", "add strands = 3"),
    "one strand": ("strands = 3", "strands = 1", "wire.section.strands", "got 1", "from 2 to 100"),
    "no size": ('strand_diameter = "0.2 mm"', 'strand_diamter = "0.2 mm"', "wire.section.strand_diamter", "unknown key",
                '"strand_diameter"'),
    "no lay": (', lay_angle = "20 deg"', "", "wire.section", "how the strands are laid", "lay_length"),
    "two lays": ("lay_angle", 'lay_length = "4 mm", lay_angle', "wire.section.lay_angle", "both", "write one"),
    "a coil": ('"20 deg"', '"70 deg"', "wire.section.lay_angle", "at most 60 deg", '"15 deg"'),
    "too short a lay": ('lay_angle = "20 deg"', 'lay_length = "0.1 mm"', "wire.section.lay_length", "cannot go round",
                        "check the unit"),
    "a braid too small": ('"20 deg"', '"20 deg", height = "0.1 mm", depth = "0.2 mm"', "wire.section", "holds only",
                          "check the units"),
    "half a braid": ('"20 deg"', '"20 deg", height = "0.4 mm"', "wire.section.depth", "is missing", "add depth"),
    "diameter of a solid": ("strands = 3", 'diameter = "0.4 mm", strands = 3', "wire.section.diameter", "unknown key",
                            '"core_diameter"'),
}  # fmt: skip


@pytest.mark.parametrize("name", list(BAD))
def test_what_no_wire_is_made_of_is_refused(name: str) -> None:
    old, new, key, words, remedy = BAD[name]
    assert old in THREE
    with pytest.raises(CaseFileError) as caught:
        parse_case(SOUND_CASE.replace(SECTION, THREE.replace(old, new)), Path("case.toml"))
    found = [one for one in caught.value.problems if one.key == key]
    assert found and found[0].line == 5
    assert words in found[0].message and remedy in found[0].remedy


def test_a_strand_far_from_usual_is_doubted() -> None:
    case = parse_case(SOUND_CASE.replace(SECTION, THREE.replace("0.2 mm", "0.02 mm")), Path("case.toml"))
    assert any("strand of 0.02 mm is far from usual" in warning for warning in case.warnings)
