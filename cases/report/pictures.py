"""All pictures of a report, ready to stand in a page: line figures as SVG, the scene as a PNG in the page itself."""

from __future__ import annotations

import base64
import io
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

import numpy as np

from cases.report import alternatives as told
from cases.report.choice import Question, choose, kinds_of
from cases.report.legends import LEGEND_ROW
from cases.report.panels import (
    TITLES,
    Panel,
    Room,
    bare,
    curve_keys,
    curve_legend,
    draw_curve,
    draw_legend,
    draw_slot,
    draw_view,
    slot_legend,
    view_keys,
    view_legend,
)
from cases.report.stress_panel import draw_stress
from cases.report.svg import inline_svg
from cases.results import RunResult
from cases.schema import Case
from cases.show import labels
from cases.show.closed_form import ReferenceCurve
from cases.show.slot_figure import card_lines
from cases.show.slot_view import slot_views
from cases.show.unrolled import goes_round

VIEW_ROOM, SIDE_ROOM, ARCH_ROOM = Room(6.2, 4.6), Room(3.1, 4.6), Room(10.6, 6.6)
CURVE_ROOM, BENCH_ROOM, STRESS_ROOM, FURTHER_ROOM = (
    Room(4.5, 3.0),
    Room(6.2, 3.9),
    Room(6.2, 3.0),
    Room(6.2, 3.2),
)
FURTHER = {
    "torque": "Torque expression",
    "ratio": "Moment-to-force ratio",
    "back": "In and back",
    "walls": "Opening of the slots along their walls",
}


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture of the page."""

    key: str
    title: str
    words: str
    """What it shows, with its numbers."""
    markup: str
    """An ``svg`` or an ``img`` element that carries ``words``."""
    wide: bool = False
    """Whether it scrolls within itself where the page is narrow."""
    lines: tuple[str, ...] = ()
    """Statements that stand beside it."""


@dataclass(frozen=True, slots=True)
class Pictures:
    """All of a report; a group is empty where there is nothing to draw."""

    scene: Picture | None
    views: tuple[Picture, ...]
    views_legend: Picture
    slots: tuple[Picture, ...]
    slots_legend: Picture | None
    stress: Picture
    curves: tuple[Picture, ...]
    curves_legend: Picture | None
    further: tuple[Picture, ...]
    """Torque expression, moment-to-force ratio, the way in and back, slots that open: those that this case has."""
    bench: Picture | None
    many: bool
    """Whether the views show so many attachments that they need the whole width."""


def line_pictures(case: Case, result: RunResult, references: Sequence[ReferenceCurve]) -> Pictures:
    """Every picture but the scene, which needs a renderer: ``scene_picture``."""
    all_slots = slot_views(result)
    keys = curve_keys(result, references)
    many = goes_round(result) or len(result.attachments) > labels.MANY
    room = ARCH_ROOM if many else VIEW_ROOM
    rooms = {"facial": room, "occlusal": room, "mesiodistal": SIDE_ROOM}
    yields = [wire.material.yield_mpa for wire in case.wires]
    stress_room = Room(STRESS_ROOM.width, STRESS_ROOM.height * (0.4 + 0.6 * len(case.wires)))
    return Pictures(
        scene=None,
        views=tuple(
            _picture(draw_view(result, key, rooms[key]), f"view-{key}", TITLES[key],
                     told.view_words(result, key), result, True)
            for key in view_keys(result)
        ),
        views_legend=_legend(draw_legend(view_legend(result)), "views-legend", view_legend(result)),
        slots=tuple(
            _picture(draw_slot(result, k), f"slot-{k + 1}", f"Slot of {labels.name_text(view.attachment)}",
                     told.slot_words(view), result, lines=tuple(card_lines(view)))
            for k, view in enumerate(all_slots)
        ),
        slots_legend=None if not all_slots else _legend(
            draw_legend(slot_legend(result, all_slots)), "slots-legend", slot_legend(result, all_slots)
        ),
        stress=_picture(draw_stress(result, yields, stress_room), "stress-along", "Stress along the wire",
                        told.stress_words(result, yields), result, True),
        curves=tuple(
            _picture(draw_curve(result, key, CURVE_ROOM, references), f"curve-{key}", TITLES[key],
                     told.curve_words(result, key, references), result)
            for key in keys
        ),
        curves_legend=None if not keys else _curves_legend(result, references),
        further=_further(case, result, references),
        bench=None if result.bench is None else _chosen(case, result, "bench", "Bench test", BENCH_ROOM, references),
        many=many,
    )  # fmt: skip


def _further(case: Case, result: RunResult, references: Sequence[ReferenceCurve]) -> tuple[Picture, ...]:
    """Figures that only some cases have."""
    there = kinds_of(case, result, references)
    room = Room(FURTHER_ROOM.width, FURTHER_ROOM.height + LEGEND_ROW * (len(result.attachments) // 2))
    return tuple(
        _chosen(case, result, what, title, room, references)
        for what, title in FURTHER.items()
        if what in there
    )


def _chosen(
    case: Case, result: RunResult, what: str, title: str, room: Room, references: Sequence[ReferenceCurve]
) -> Picture:
    """A figure of ``cases.report.choice`` in the page, with what it says below it."""
    one = choose(case, result, what, Question(references))
    panel = one.draw(room, bare, False)
    return _picture(
        panel,
        f"figure-{what}",
        title,
        one.words,
        result,
        True,
        (*((one.subject,) * bool(one.subject)), *one.notes),
    )


def _curves_legend(result: RunResult, references: Sequence[ReferenceCurve]) -> Picture:
    handles = curve_legend(result, references)
    return _legend(draw_legend(handles), "curves-legend", handles)


def _picture(
    panel: Panel,
    key: str,
    title: str,
    words: str,
    result: RunResult,
    wide: bool = False,
    lines: tuple[str, ...] = (),
) -> Picture:
    panel.warn(result)
    return Picture(key, title, words, inline_svg(panel.sheet.figure, key, title, words), wide, lines)


def _legend(panel: Panel, key: str, handles: Sequence[object]) -> Picture:
    names = "; ".join(str(one.get_label()) for one in handles)  # type: ignore[attr-defined]
    return Picture(
        key, "Legend", names, inline_svg(panel.sheet.figure, key, "Legend", f"Lines and marks: {names}.")
    )


def scene_picture(result: RunResult) -> Picture:
    """The stressed wire in its slots.  Raises PictureError where this machine has no renderer."""
    words = told.scene_words(result)
    data = base64.b64encode(_scene_png(result)).decode("ascii")
    markup = f'<img alt="{escape(words)}" src="data:image/png;base64,{data}">'
    return Picture("scene", "The wire in its attachments", words, markup, True)


def _scene_png(result: RunResult) -> bytes:
    """The scene without its head and its last line, which the page has already."""
    from cases.show.scene import draw_scene

    with tempfile.TemporaryDirectory() as folder:
        path = draw_scene(result, Path(folder) / "wire.png")
        from matplotlib.image import imread, imsave

        from cases.show.furniture import HEAD, WIDTH

        pixels = np.array(imread(path)[..., :3])
    scale = pixels.shape[1] / WIDTH
    pixels[: round((HEAD + LOWEST_OF_HEAD) * scale), : -round(SCALE_WIDTH * scale)] = 1.0
    pixels[: round(FREE_OF_SCALE * scale)] = 1.0
    kept = pixels[: pixels.shape[0] - round(FOOT_LINE * scale)]
    drawn = np.flatnonzero((kept < 1.0).any(axis=(1, 2)))
    kept = kept[max(int(drawn[0]) - round(ABOVE * scale), 0) :]
    out = io.BytesIO()
    imsave(out, kept, format="png", metadata={"Software": "wireslot"})
    return out.getvalue()


# Of the scene at scale 1, pixels: its last line, how far the head's text reaches below the head, the width on the right
# that the title of the stress scale takes, the height in which that never stands, what is left free at the top.
FOOT_LINE, LOWEST_OF_HEAD, SCALE_WIDTH, FREE_OF_SCALE, ABOVE = 38.0, 6.0, 330.0, 108.0, 14.0
