"""Colours of the figures as the colour-blind and a grey print show them; nothing hangs on a colour alone.

Simulation and differences: ``tests.seen_colours``, with their sources.  At a difference of 10 two colours differ at a
glance; what touches must differ by that in every eye, and in a grey print be parted by a line as well.
"""

from __future__ import annotations

from itertools import combinations

import pytest
from matplotlib.artist import Artist
from matplotlib.colors import to_hex
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Polygon

from cases.report.figure import draw_figure
from cases.show import palette, plots
from cases.show.activation_figure import LINES, MARKERS, look_of
from cases.show.closed_form import closed_forms
from cases.show.sheet import style
from cases.show.views_figure import draw_views
from tests import figure_cases
from tests.figure_cases import BACK, SOFT
from tests.seen_colours import BLIND, EYES, GREY, NORMAL, apart, contrast, seen
from tests.show_results import EVERY

GLANCE, IN_GREY = 10.0, 8.0
WHITE = "#ffffff"
TOUCHING = (
    (palette.FORCE, palette.MOMENT),
    (palette.WIRE, palette.FORCE),
    (palette.WIRE, palette.MOMENT),
    (palette.WIRE, palette.PALE),
    (palette.WIRE, palette.WALL),
    (palette.WIRE, palette.PASSIVE),
    (palette.PALE, palette.FORCE),
    (palette.PALE, palette.MOMENT),
    (palette.PASSIVE, palette.FORCE),
    (palette.PASSIVE, palette.MOMENT),
    (palette.WALL, palette.INK),
    (plots.BROAD, palette.MOMENT),
    (plots.BROAD, palette.FORCE),
    (plots.BAND, palette.FORCE),
    (plots.BAND, WHITE),
    (palette.BANNER, WHITE),
)


@pytest.mark.parametrize("eye", EYES)
@pytest.mark.parametrize("pair", TOUCHING)
def test_what_touches_differs_to_every_eye(pair: tuple[str, str], eye: str) -> None:
    assert apart(*pair, eye) >= (IN_GREY if eye == GREY else GLANCE)


def test_the_simulation_is_what_it_should_be() -> None:
    # Grey stays grey to every eye: the rows of the matrices add up to 1 (to the digits they are published with).
    for eye in EYES:
        assert seen((0.5, 0.5, 0.5), eye) == pytest.approx([0.5] * 3, abs=2e-5)
    # Red and green of one luminance: far apart for most, and hardly at all for a deuteranope.
    red, green = "#c05050", "#6f8a3c"
    assert apart(red, green, NORMAL) > 60.0 and apart(red, green, "deuteranopia") < 0.4 * apart(
        red, green, NORMAL
    )
    assert set(BLIND) == {"protanopia", "deuteranopia", "tritanopia"}
    assert contrast("#000000", WHITE) == pytest.approx(21.0)


@pytest.mark.parametrize("colour", [palette.INK, palette.GREY, palette.FORCE, palette.MOMENT])
def test_texts_stand_out_from_the_paper(colour: str) -> None:
    assert contrast(colour, WHITE) >= 4.5  # WCAG 2.2, 1.4.3


def test_fourteen_curves_differ_in_line_and_marker_without_their_colour() -> None:
    looks = [look_of(k) for k in range(14)]
    assert len({(str(look["linestyle"]), look["marker"]) for look in looks}) == 14
    assert len(MARKERS) == 14 and len({mark for mark, _ in MARKERS}) == 14 and len(LINES) >= 6


def _shape(handle: Artist) -> tuple[object, ...]:
    """What tells an entry of a legend from others without colour."""
    if isinstance(handle, Line2D):
        filled = str(handle.get_markerfacecolor()) in ("white", "none", "#ffffff")
        return (
            "line",
            str(handle.get_linestyle()),
            handle.get_marker(),
            handle.get_linewidth(),
            filled,
            handle.is_dashed(),
        )
    assert isinstance(handle, Patch)
    return "area", handle.get_hatch(), str(handle.get_linestyle())


def _colour(handle: Artist) -> str:
    if isinstance(handle, Line2D):
        return to_hex(handle.get_color())
    assert isinstance(handle, Patch)
    return to_hex(handle.get_facecolor())


FIGURES = (
    *(("torque-through-play", what) for what in ("slot", "force", "third", "torque", "stress")),
    *((BACK, what) for what in ("second", "ratio", "back")),
    (SOFT, "walls"),
    ("torque-test", "bench"),
    ("levelling-lower-arch", "force"),
)


@pytest.mark.parametrize("look", ["slide", "paper"])
@pytest.mark.parametrize(("name", "what"), FIGURES)
def test_entries_of_a_legend_differ_in_shape_or_in_every_eye(name: str, what: str, look: str) -> None:
    case = figure_cases.case(name)
    figure = draw_figure(case, figure_cases.run(name).result, what, look, closed_forms(case)).figure
    handles = [handle for legend in figure.legends for handle in legend.legend_handles if handle is not None]
    assert handles or what == "slot"
    for one, other in combinations(handles, 2):
        if _shape(one) == _shape(other):
            assert all(apart(_colour(one), _colour(other), eye) >= GLANCE for eye in EYES), (one, other)


@pytest.mark.parametrize("name", sorted(EVERY))
def test_forces_and_moments_differ_in_shape_and_the_wire_has_an_edge(name: str) -> None:
    with style():
        figure = draw_views(EVERY[name]()).figure
    for axes in figure.axes:
        forces = [one for one in axes.patches if one.get_gid() == "force"]
        moments = [one for one in axes.lines if one.get_gid() == "moment"]
        assert all(
            isinstance(one, Polygon) and to_hex(one.get_facecolor()) == palette.FORCE for one in forces
        )
        assert all(to_hex(one.get_color()) == palette.MOMENT and len(one.get_xydata()) > 4 for one in moments)
        wires = [one for one in axes.patches if one.get_gid() == "wire"]
        edges = [one for one in axes.patches if to_hex(one.get_edgecolor()) == palette.INK]
        assert not wires or edges or any(to_hex(line.get_color()) == palette.INK for line in axes.lines)


def test_known_points_of_both_kinds_differ_in_shape() -> None:
    theory, measured = plots.POINTS["theory"], plots.POINTS["measurement"]
    assert theory["marker"] != measured["marker"]
