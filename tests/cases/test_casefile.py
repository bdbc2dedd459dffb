"""Sound case files: what they become, and what is doubted about them."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from cases.casefile import load_case, parse_case, shipped_cases
from cases.cli import EPILOGUE
from cases.materials import library, linear_alloys
from cases.schema import Case
from geometry.section import Rectangle

HERE = Path("case.toml")


def parse(text: str) -> Case:
    return parse_case(text, HERE)


def test_values_of_a_sound_case(sound_case: str) -> None:
    case = parse(sound_case)
    assert case.title == "A tube and a tied arm"
    assert case.warnings == ()
    assert case.wire.section == Rectangle(0.017 * 25.4, 0.025 * 25.4, 0.05)
    assert case.wire.seated_in == "tube"
    # Two straight runs and an arc of 30 deg at 1 mm.
    assert case.wire.passive_shape.length == pytest.approx(25.0 + math.pi / 6.0, rel=1e-14)
    tube, hook = case.attachments
    assert (tube.tooth, tube.attachment.kind, tube.attachment.at, tube.attachment.stop) == (
        "47",
        "tube",
        2.5,
        True,
    )
    assert tube.attachment.slot is not None and tube.attachment.slot.width == 4.0
    assert hook.attachment.at == case.wire.passive_shape.length
    assert hook.attachment.stop is False and hook.attachment.slot is None
    assert list(hook.attachment.pose.position) == [22.0, 0.0, 0.0]
    assert case.analysis.increments == 10
    assert case.source_text == sound_case


def test_places_in_words(sound_case: str) -> None:
    text = sound_case.replace('at = "2.5 mm"', 'at = "start"')
    case = parse(text)
    assert case.attachments[0].attachment.at == 0.0
    assert "2 mm of its 4 mm width stay empty" in case.warnings[0]
    middle = parse(sound_case.replace('at = "end"', 'at = "middle"'))
    assert middle.attachments[1].attachment.at == 0.5 * middle.wire.passive_shape.length


def test_raw_angles_turn_about_moving_axes_first_second_third(sound_case: str) -> None:
    text = sound_case.replace(
        'at = "end"', 'at = "end"\nabout_y = "90 deg"\nabout_z = "90 deg"\nabout_x = "90 deg"'
    )
    axes = parse(text).attachments[1].attachment.pose.axes
    # By hand: about y, x goes to -z; then about its own z, x goes to +y; then about its own x, height goes to
    # +x.
    assert np.allclose(axes[:, 0], [0.0, 1.0, 0.0], atol=1e-15)
    assert np.allclose(axes[:, 1], [1.0, 0.0, 0.0], atol=1e-15)


def test_tooth_angles(sound_case: str) -> None:
    # Lower arch: occlusal is +y, so a labially inclined crown turns the slot right-handed about +x, y towards
    # z.
    axes = (
        parse(sound_case.replace('at = "end"', 'at = "end"\ninclination = "10 deg"'))
        .attachments[1]
        .attachment.pose.axes
    )
    assert np.allclose(axes[:, 1], [0.0, math.cos(math.radians(10.0)), math.sin(math.radians(10.0))])
    # Upper arch: occlusal is -y, the same words turn it the other way.
    upper = sound_case.replace('tooth = "45"', 'tooth = "15"').replace(
        'at = "end"', 'at = "end"\ninclination = "10 deg"'
    )
    axes = parse(upper).attachments[1].attachment.pose.axes
    assert np.allclose(-axes[:, 1], [0.0, -math.cos(math.radians(10.0)), math.sin(math.radians(10.0))])


def test_pieces_of_no_angle(sound_case: str) -> None:
    straight = parse(sound_case.replace('bend = "-30 deg"', 'bend = "0 deg"'))
    assert straight.wire.passive_shape.length == 25.0
    twisted = parse(sound_case.replace('{ straight = "20 mm" }', '{ twist = "0 deg", over = "20 mm" }'))
    assert twisted.wire.passive_shape.length == parse(sound_case).wire.passive_shape.length


def test_default_bend_radius(sound_case: str) -> None:
    length = parse(sound_case.replace(', radius = "1 mm"', "")).wire.passive_shape.length
    assert length == pytest.approx(25.0 + 0.5 * math.pi / 6.0)


def test_own_material(sound_case: str) -> None:
    own = '{ name = "mine", youngs_modulus = "206.8 GPa", poisson = 0.3, yield_stress = "1500 MPa" }'
    material = parse(sound_case.replace('"stainless-steel"', own)).wire.material
    assert (material.name, material.youngs_modulus_mpa, material.poisson, material.yield_mpa) == (
        "mine",
        206800.0,
        0.3,
        1500.0,
    )


def test_library_materials_lie_in_their_own_range_and_name_a_source() -> None:
    elastic = {"stainless-steel", "cobalt-chromium", "beta-titanium", "martensitic-nickel-titanium"}
    assert set(linear_alloys()) == elastic
    assert set(library()) == elastic | {"superelastic-nickel-titanium"}
    for name in elastic:
        alloy = library()[name]
        for value in alloy.of_law("elastic"):
            assert value.low <= value.value <= value.high
            assert "from memory" in value.source or any(year in value.source for year in ("1977", "1979"))
        assert alloy.youngs_modulus.source in alloy.spec().source


def test_goldberg_values() -> None:
    # Goldberg, Vanderby & Burstone, J Dent Res 56 (1977) 1227: cold-drawn steel wire about 20 % below the
    # nominal 193 to 200 GPa.  Goldberg & Burstone 1979: beta-titanium 64.8 GPa.
    assert library()["stainless-steel"].youngs_modulus.low == pytest.approx(0.8 * 193e3, rel=0.01)
    assert library()["beta-titanium"].youngs_modulus.value == 64.8e3


@pytest.mark.parametrize("path", shipped_cases(), ids=lambda path: path.stem)
def test_shipped_cases_are_sound_and_without_doubts(path: Path) -> None:
    case = load_case(path)
    assert case.warnings == ()
    assert "invented" in case.title or "published" in case.title


def test_there_are_six_shipped_cases() -> None:
    assert {path.stem for path in shipped_cases()} >= {
        "molar-uprighting",
        "torque-through-play",
        "torque-round-wire",
        "v-bend",
        "step-bend-clamped",
        "step-bend-full-size-slots",
    }


def test_the_published_step_bend_is_what_its_source_says() -> None:
    # Burstone & Koenig, Am J Orthod Dentofacial Orthop 93 (1988) 59: 0.35 mm, span 7 mm, 347 gf and 1210 gf
    # mm; these are 12 E I d/L^3 and 6 E I d/L^2 of the wire inferred.
    case = load_case(next(path for path in shipped_cases() if path.stem == "step-bend-clamped"))
    first, second = (spec.attachment for spec in case.attachments)
    span, step = (second.pose.position - first.pose.position)[:2]
    assert (span, step) == (7.0, 0.35)
    rigidity = case.wire.material.youngs_modulus_mpa * case.wire.section.second_moment_z
    gram_force = 9.80665e-3
    assert 12.0 * rigidity * step / span**3 / gram_force == pytest.approx(347.0, rel=0.01)
    assert 6.0 * rigidity * step / span**2 / gram_force == pytest.approx(1210.0, rel=0.01)


def test_the_case_in_the_help_text_is_sound() -> None:
    lines = EPILOGUE[EPILOGUE.index('  title = "') :].split("\n\n")[0].splitlines()
    assert parse("\n".join(lines)).warnings == ()


def test_byte_order_mark_and_windows_line_ends(sound_case: str, tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(b"\xef\xbb\xbf" + sound_case.replace("\n", "\r\n").encode())
    assert load_case(path).title == "A tube and a tied arm"


@pytest.mark.parametrize(
    ("old", "new", "line", "said", "remedy"),
    [
        ('height = "0.022 in"', 'height = "22 mm"', 17, "a slot height of 22 mm", "did you mean 0.022 in?"),
        ('width = "4 mm"', 'width = "400 um"', 0, "", ""),
        ('width = "4 mm"', 'width = "0.04 mm"', 17, "a slot width of 0.04 mm", "did you mean 0.04 in?"),
        ('bend = "-30 deg"', 'bend = "-30 rad"', 8, "more than half a turn", "check the unit"),
        ('radius = "1 mm"', 'radius = "0.1 mm"', 8, "folds a wire this thick", '"0.216 mm" or more'),
        ('straight = "20 mm"', 'straight = "20 in"', 6, "a wire 513.5 mm long is unusual", "units"),
        ('["22 mm", "0 mm", "0 mm"]', '["22 in", "0 mm", "0 mm"]', 26, "558.8 mm from the origin", "units"),
        (
            'stop = true', 'stop = true\ncentre_of_resistance = ["0 mm", "-9 in", "0 mm"]', 21,
            "228.6 mm from the slot", "units",
        ),
        (
            'at = "end"', 'at = "end"\nstop = true\nabout_z = "200 deg"', 29, "more than half a turn",
            "check the unit",
        ),
        (
            '["22 mm", "0 mm", "0 mm"]', '["24 mm", "0 mm", "0 mm"]\nstop = true', 27,
            "it would have to stretch", "leave out one stop",
        ),
    ],
)  # fmt: skip
def test_doubts(sound_case: str, old: str, new: str, line: int, said: str, remedy: str) -> None:
    warnings = parse(sound_case.replace(old, new)).warnings
    if not line:
        assert warnings == ()
        return
    assert len(warnings) == 1
    assert warnings[0].startswith(f"line {line}, ") and said in warnings[0] and remedy in warnings[0]


def test_unit_slip_of_a_wire_that_then_does_not_fit(sound_case: str) -> None:
    from cases.errors import CaseFileError

    text = sound_case.replace('height = "0.017 in"', 'height = "17 mm"')
    with pytest.raises(CaseFileError) as caught:
        parse(text)
    assert "a wire height of 17 mm is far from usual; did you mean 0.017 in?" in caught.value.warnings[0]
    assert "does not fit the slot of tube: 17 mm high into 0.5588 mm" in caught.value.problems[0].message
