"""Bench fixtures: a wire that rests on a knife edge or a roller gets a force across it there, and no couple."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from cases.casefile import parse_case
from cases.run import run_case

CASE = """
title = "A clamped wire over an edge (invented example)"
[wire]
material = "stainless-steel"
section = { shape = "round", diameter = "0.016 in" }
passive_shape = [{ straight = "24 mm" }]
seated_in = "clamp"
[[attachment]]
name = "clamp"
kind = "clamp"
position = ["0 mm", "0 mm", "0 mm"]
at = "2 mm"
stop = true
[[attachment]]
name = "edge"
kind = EDGE
position = ["15 mm", "0.3 mm", "0 mm"]
at = "17 mm"
"""


@pytest.mark.parametrize("edge", ['"knife edge"', '"roller"\nradius = "1 mm"'])
def test_an_edge_lifts_the_wire_and_carries_no_couple(edge: str) -> None:
    """P = 3 EI d/L^3: the wire's lower side lies on the edge, so d is what stands above the passive wire's lower side
    (Gere & Timoshenko, from memory).  1 %: the roller touches a little nearer to the clamp, and the wire shears."""
    result = run_case(parse_case(CASE.replace("EDGE", edge), Path("edge.toml")))
    item = result.attachment("edge")
    assert not any(order.carries_couple for order in item.orders.values())
    assert "only rests" in item.orders["second"].words
    bending = 180e3 * np.pi * (0.016 * 25.4) ** 4 / 64.0
    lifted = 0.3 + 0.5 * 0.016 * 25.4
    assert -item.force_n[1] == pytest.approx(3.0 * bending * lifted / 15.0**3, rel=1e-2)
    assert np.add(item.force_n, result.attachment("clamp").force_n) == pytest.approx(np.zeros(3), abs=1e-6)
