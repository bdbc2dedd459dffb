"""Wires drawn through points, coiled, looped and mirrored, from case file to force systems."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest

from cases.casefile import LIBRARY, parse_case
from cases.results import RunResult
from cases.run import run_case
from tests.case_texts import MATERIAL, attachment, bend, edgewise, straight

POINTS = 200
TOLERANCE = "0.002 mm"
SLOT = (0.56, 0.71, 3.0)

BOTH_ORDERS = "\n".join(
    (
        'title = "Bends in both orders between two brackets (invented)"\n[wire]',
        f"material = {MATERIAL}",
        f"section = {edgewise(0.41, 0.56, 0.05)}",
        "passive_shape = [",
        ", ".join(
            (straight(6.0), bend(-12.0, "second", 1.0), straight(2.0), bend(9.0, "first", 1.5), straight(9.0))
        ),
        "\n]",
        'seated_in = "first"',
        attachment("first", "bracket", 3.0, 0.0, slot=SLOT, stop=True),
        attachment("second", "bracket", 14.0, 11.0, slot=SLOT, about_x=14.0),
    )
)


def shipped(name: str) -> str:
    return (LIBRARY / f"{name}.toml").read_text(encoding="utf-8")


TWISTED = BOTH_ORDERS.replace(straight(9.0), f'{{ twist = "-25.0 deg", over = "4.0 mm" }}, {straight(5.0)}')

CASES = {
    "V-bend": shipped("v-bend"),
    "molar uprighting": shipped("molar-uprighting"),
    "bends in both orders, torque": BOTH_ORDERS,
    "bends in both orders and a twist": TWISTED,
}


def loads(result: RunResult) -> tuple[np.ndarray, np.ndarray]:
    """Forces and moments (attachments, 3) on the teeth."""
    return (
        np.array([item.force_n for item in result.attachments]),
        np.array([item.moment_nmm for item in result.attachments]),
    )


@pytest.mark.parametrize("name", CASES)
def test_a_wire_drawn_from_points_is_the_wire_of_runs_and_bends(name: str, tmp_path: Path) -> None:
    """Every force and couple within half a percent of itself; what is nothing stays nothing."""
    text = CASES[name]
    case = parse_case(text, tmp_path / "case.toml")
    shape = case.wire.passive_shape
    arcs = np.linspace(0.0, shape.length, POINTS)
    # What a bend turns the section by is the smallest rotation; only a twist goes beyond that.
    rates = np.diff(shape.breaks) * [piece.curvature[0] for piece in shape.pieces]
    twist = np.interp(arcs, shape.breaks, np.degrees(np.concatenate(([0.0], np.cumsum(rates)))))
    table = np.column_stack((shape.frames(arcs)[0], twist))
    rows = "\n".join(",".join(repr(float(value)) for value in point) for point in table)
    (tmp_path / "wire.csv").write_text(f"x_mm,y_mm,z_mm,twist_deg\n{rows}\n", encoding="utf-8")
    drawn_shape = f'passive_shape = [{{ points = "wire.csv", tolerance = "{TOLERANCE}" }}]'
    text, count = re.subn(r"passive_shape = \[.*?\n\]", drawn_shape, text, flags=re.DOTALL)
    assert count == 1
    drawn = parse_case(text, tmp_path / "case.toml")
    assert drawn.warnings == ()
    exact = loads(run_case(case))
    if name in ("bends in both orders, torque", "bends in both orders and a twist"):
        # Up, out, and a couple in each order.
        assert (np.abs(exact[0][1, 1:]) > 0.3).all() and (np.abs(exact[1][1]) > 0.5).all()
    for there, here in zip(loads(run_case(drawn)), exact, strict=True):
        largest = np.abs(here).max()
        np.testing.assert_allclose(there, here, rtol=0.005, atol=1e-5 * largest)


def looped(*pieces: str, flip: bool = False) -> RunResult:
    """A wire of ``pieces`` between two brackets, the second moved aside; mirrored up to down where told."""
    sense = -1.0 if flip else 1.0
    shape = ", ".join((straight(5.0), *pieces, straight(5.0)))
    text = "\n".join(
        (
            'title = "invented"\n[wire]',
            f"material = {MATERIAL}",
            f"section = {edgewise(0.41, 0.56, 0.05)}",
            f'passive_shape = [ {shape} ]\nseated_in = "first"',
            attachment("first", "bracket", 2.5, 0.0, slot=SLOT, stop=True),
            attachment(
                "second",
                "bracket",
                "last",
                9.0,
                0.4 * sense,
                0.2,
                slot=SLOT,
                stop=True,
                about_z=5.0 * sense,
                about_x=12.0 * sense,
            ),
        )
    )
    text = text.replace(
        '{ straight = "5.0 mm" } ]',
        '{ straight = "2.5 mm" }, { station = "last" }, { straight = "2.5 mm" } ]',
    )
    return run_case(parse_case(text, Path("case.toml")))


@pytest.mark.parametrize(
    "piece",
    [
        '{ loop = "vertical-helix", height = "6 mm", width = "2 mm", pitch = "0.7 mm" }',
        '{ helix = { turns = 1, diameter = "3 mm", pitch = "0.7 mm", order = "second" } }',
    ],
)
def test_a_mirrored_shape_gives_mirrored_forces(piece: str) -> None:
    """Up to down: forces are reflected, moments, being turns, reflected and reversed."""
    here = loads(looped(piece))
    there = loads(looped(f'{{ mirror = [ {piece} ], order = "second" }}', flip=True))
    mirror = np.array([1.0, -1.0, 1.0])
    assert np.abs(here[0]).max() > 0.1 and np.abs(here[1]).max() > 1.0
    np.testing.assert_allclose(there[0], here[0] * mirror, atol=1e-7 * np.abs(here[0]).max())
    np.testing.assert_allclose(there[1], here[1] * -mirror, atol=1e-7 * np.abs(here[1]).max())


def test_a_coil_loads_less_than_a_plain_loop() -> None:
    """More wire in the loop, lower load-deflection rate (common practice, no source)."""
    plain = looped('{ loop = "vertical", height = "6 mm", width = "2 mm" }')
    coiled = looped('{ loop = "vertical-helix", height = "6 mm", width = "2 mm", pitch = "0.7 mm" }')
    assert np.linalg.norm(coiled.attachments[1].force_n) < np.linalg.norm(plain.attachments[1].force_n)


def wire_heights(height: float, width: float, radius: float, run: float) -> tuple[float, float]:
    """Length (mm) of a vertical loop between level runs, and the height (mm) of its centroid above them.

    By hand, as for a bent wire: two runs at 0; two legs; four bends: quarter circles at the feet, whose centroid
    lies radius (1 - 2/pi) above the line, and a half circle on top, 2 top/pi above its centre.
    """
    top = 0.5 * width
    leg = height - radius - top
    parts = (
        (2.0 * run, 0.0),
        (math.pi * radius, radius * (1.0 - 2.0 / math.pi)),
        (2.0 * leg, radius + 0.5 * leg),
        (math.pi * top, height - top + 2.0 * top / math.pi),
    )
    length = sum(part for part, _ in parts)
    return length, sum(part * above for part, above in parts) / length


@pytest.mark.parametrize(("height", "width", "run"), [(6.0, 2.0, 1.0), (10.0, 3.0, 2.5), (8.0, 2.0, 5.0)])
def test_moment_over_force_of_a_vertical_loop_is_the_height_of_its_elastic_centre(
    height: float, width: float, run: float
) -> None:
    """Ends held parallel and drawn apart a little: the force acts through the elastic centre of the wire.

    Elastic-centre theorem (Timoshenko & Young, Theory of Structures, 1945, on arches without hinges; from memory):
    for a symmetric plane wire of one stiffness it is the centroid of its length.  Bending alone; shear and
    stretching, 0.2 % here, are what the tolerance allows.
    """
    apart = width + 2.0 * 0.5 + 2.0 * run
    text = "\n".join(
        (
            'title = "invented"\n[wire]',
            f"material = {MATERIAL}",
            f"section = {edgewise(0.41, 0.56)}",
            f'passive_shape = [ {straight(run)}, {{ loop = "vertical", height = "{height} mm", '
            f'width = "{width} mm" }}, {straight(run)} ]\nseated_in = "first"',
            attachment("first", "clamp", "start", 0.0, stop=True),
            attachment("second", "clamp", "end", apart + 0.02, stop=True),
        )
    )
    force, moment = loads(run_case(parse_case(text, Path("case.toml"))))
    _, centre = wire_heights(height, width, 0.5, run)
    assert force[0][0] > 0.0 and force[1] == pytest.approx(-force[0], abs=1e-7)
    # The wire's two ends are drawn apart: on the teeth, which draw them, +x at the first and -x at the second.
    assert abs(moment[0][2]) / force[0][0] == pytest.approx(centre, rel=2e-3)
    assert moment[1][2] == pytest.approx(-moment[0][2], rel=1e-6)
