"""Cards of slots whose every wall is touched, one below the other."""

from __future__ import annotations

from pathlib import Path

from cases.casefile import load_case
from cases.run import run_case
from cases.show import slot_figure, slot_view
from tests.overlaps import outside, over_each_other

SLOT = """
[[attachment]]
name = "{name}"
tooth = "{tooth}"
kind = "bracket"
slot = {{ height = "0.018 in", depth = "0.025 in", width = "3 mm" }}
position = ["{x} mm", "{y} mm", "{z} mm"]
about_x = "{roll} deg"
at = "{at} mm"
"""
WIRE = """title = "Three slots that the wire fills (invented example)"

[wire]
material = "stainless-steel"
section = { shape = "rectangle", height = "0.018 in", depth = "0.025 in" }
passive_shape = [{ straight = "24 mm" }]
seated_in = "first"
"""


def test_words_of_full_slots_do_not_run_into_the_next_card(tmp_path: Path) -> None:
    """Moved both ways and turned, a wire presses on all four walls in both halves: the longest words there are."""
    places = (("first", 0, 0.0, 0.0, 0), ("second", 8, 0.3, 0.2, 12), ("third", 16, 0.0, 0.0, 0))
    slots = [
        SLOT.format(name=name, tooth=43 + i, x=x, y=y, z=z, roll=roll, at=x + 3)
        for i, (name, x, y, z, roll) in enumerate(places)
    ]
    path = tmp_path / "full.toml"
    path.write_text(WIRE + slots[0] + "stop = true\n" + "".join(slots[1:]))
    result = run_case(load_case(path))
    views = slot_view.slot_views(result)
    assert max(len(slot_figure.card_lines(view)) for view in views) > 10
    figure = slot_figure.draw_slots(result, views).figure
    figure.canvas.draw()
    assert not over_each_other(figure.texts, figure)
    assert not outside(figure)
