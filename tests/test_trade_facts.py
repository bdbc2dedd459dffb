"""Facts of the trade, each under its condition, through whole cases.  All are common practice, no source.

The appliances are invented: a tube with play and a straight wire tied to a hook out of line, two brackets, an arm, and
shipped cases.  That the shape of the wire matters in third order alone is in ``test_library.py``.
"""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from cases.casefile import parse_case
from cases.results import RunResult
from cases.run import run_case
from tests.case_texts import INCH, attachment, bend, case_of, edgewise, straight
from tests.shipped import case

HEIGHT, DEPTH = 0.017 * INCH, 0.025 * INCH
SLOT = (0.022 * INCH, 0.028 * INCH)
ALLOYS = ("stainless-steel", "beta-titanium", "martensitic-nickel-titanium")
SIZES = ((0.016, 0.022), (0.017, 0.025), (0.019, 0.025), (0.021, 0.025))


def one_couple(
    width: float, distance: float, offset: float, size: tuple[float, float] = (HEIGHT, DEPTH)
) -> RunResult:
    """A tube, and a hook ``distance`` from its centre and ``offset`` above its line."""
    return run_case(
        case_of(
            edgewise(*size),
            [straight(1.0 + 0.5 * width + distance)],
            "tube",
            attachment("tube", "tube", 1.0 + 0.5 * width, 0.0, slot=(*SLOT, width), stop=True),
            attachment("hook", "button", "end", distance, offset),
        )
    )


def arm(angle: float, length: float) -> RunResult:
    """A tube and an arm bent down by ``angle`` (deg) at its mouth, raised to a hook that lets it slide along x."""
    return run_case(
        case_of(
            edgewise(HEIGHT, DEPTH),
            [straight(5.0), bend(-angle, radius=1.0), straight(length)],
            "tube",
            attachment("tube", "tube", 2.5, 0.0, slot=(*SLOT, 4.0), stop=True),
            attachment("hook", "button", "end", length + 2.0, 0.0),
        )
    )


def torque(size: tuple[float, float], angle: float) -> RunResult:
    """Two 3 mm brackets, 5 mm apart, the second turned in third order (deg)."""
    slot = (*SLOT, 3.0)
    return run_case(
        case_of(
            edgewise(*size),
            [straight(13.0)],
            "neighbour",
            attachment("neighbour", "bracket", 2.5, 0.0, slot=slot, stop=True),
            attachment("tube", "bracket", 10.5, 8.0, slot=slot, about_x=angle),
        )
    )


def force(result: RunResult) -> float:
    return math.hypot(*result.attachment("hook").force_n)


def couple(result: RunResult) -> float:
    return math.hypot(*result.attachment("tube").moment_nmm)


def rising(values: list[float]) -> bool:
    """By more than rounding, from one to the next."""
    return all(before < after * (1.0 - 1e-6) for before, after in zip(values, values[1:], strict=False))


def test_a_narrower_bracket_gives_less() -> None:
    """One couple, with play, at equal centre distance: a narrower bracket lets the wire tilt further."""
    results = [one_couple(width, 22.0, 2.0) for width in (1.6, 2.0, 3.0, 4.0, 5.0)]
    assert rising([force(result) for result in results])
    assert rising([couple(result) for result in results])
    # the couple is the force times the distance, whatever the width
    for result in results:
        assert couple(result) == pytest.approx(22.0 * force(result), rel=0.01)


def test_below_a_finite_width_it_gives_nothing() -> None:
    """The width at which the play alone lets the wire reach the hook: W = c D/d at small angles, here exactly.

    The wire, tilted until it touches both mouths, H cos t - W sin t = h, passes the hook: D sin t = d.
    """
    distance, offset = 22.0, 2.0
    play = SLOT[0] - HEIGHT
    tilt = math.asin(offset / distance)
    width = (SLOT[0] * math.cos(tilt) - HEIGHT) / math.sin(tilt)
    assert width == pytest.approx(play * distance / offset, rel=0.03)
    below, above = one_couple(0.98 * width, distance, offset), one_couple(1.02 * width, distance, offset)
    assert below.status == "passive" and force(below) == couple(below) == 0.0
    assert above.status == "engaged" and force(above) > 0.0 and couple(above) > 0.0


@pytest.mark.parametrize("name", ["molar-uprighting", "v-bend", "torque-through-play"])
def test_steel_gives_more_than_beta_titanium_and_that_more_than_nickel_titanium(name: str) -> None:
    """At equal shape, elastic: in all three orders."""
    text = case(name).source_text
    loads = []
    for alloy in reversed(ALLOYS):
        changed, count = re.subn(r'material = "[a-z-]+"', f'material = "{alloy}"', text)
        assert count == 1
        result = run_case(parse_case(changed, Path("alloy.toml")))
        loads.append([max(math.hypot(*item.moment_nmm) for item in result.attachments)])
        loads[-1].append(max(math.hypot(*item.force_n) for item in result.attachments))
    for values in zip(*loads, strict=True):
        assert rising(list(values))


@pytest.mark.parametrize("order", ["second", "third"])
def test_larger_wires_give_more(order: str) -> None:
    """In one slot a larger wire is stiffer and has less play."""
    sizes = [(height * INCH, depth * INCH) for height, depth in SIZES]
    if order == "second":
        results = [one_couple(4.0, 22.0, 2.0, size) for size in sizes]
        assert rising([force(result) for result in results])
    else:
        results = [torque(size, 50.0) for size in sizes]
    assert rising([couple(result) for result in results])


def test_force_and_couple_grow_with_the_angle_of_activation() -> None:
    """The tied end free along x; up to 70 deg."""
    results = [arm(angle, 20.0) for angle in (5.0, 10.0, 20.0, 30.0, 45.0, 60.0, 70.0)]
    assert rising([force(result) for result in results])
    assert rising([couple(result) for result in results])


def test_less_distance_gives_more_at_the_same_offset() -> None:
    results = [one_couple(4.0, distance, 2.0) for distance in (26.0, 22.0, 18.0, 14.0)]
    assert rising([force(result) for result in results])
    assert rising([couple(result) for result in results])


def test_more_distance_gives_less_at_the_same_angle() -> None:
    """The couple goes with 1/L, the force with 1/L^2."""
    results = [arm(30.0, length) for length in (30.0, 25.0, 20.0, 15.0)]
    assert rising([force(result) for result in results])
    assert rising([couple(result) for result in results])
