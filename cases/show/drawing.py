"""Composes the picture of a result: sizes things, frames the view, puts labels where nothing else is.

Two passes.  The first fixes all sizes in mm from the extent of the appliance and finds the view in which
everything, arrows included, has room; the second draws with line widths that are pixels of that view.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from cases.results import RunResult
from cases.show import arch_marks, furniture, labels, shapes
from cases.show.look import Look, Looked, is_deep, looked_at
from cases.show.marks import NARROWEST_ARC, WIDEST_ARC, Mark, body_corners, marks_of
from cases.show.overlay import Font, draw_lines, draw_text, text_size
from cases.show.palette import FORCE, GREY, MOMENT, PRESSING
from cases.show.parts import COLOURS, Part, Pressed, pressed_walls, scene_parts, stress_top
from cases.show.teeth_placed import placed_teeth
from cases.show.view import Box, View, extent_mm, fit

Array = NDArray[np.float64]

SHAFT_PIXELS = 4.0
THICKEST = 0.03
"""Radius of a shaft, at most, in lengths of the longest arrow: in a small picture of something large."""
HATCH_PIXELS = 11.0
"""Between section lines."""


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything that a scene shows, and where it stands in the picture."""

    looked: Looked
    look: Look
    marks: tuple[Mark, ...]
    furnishing: furniture.Plan
    view: View
    parts: tuple[Part, ...]


def scene_of(result: RunResult, look: Look, size: tuple[int, int] | None = None) -> Scene:
    """What is drawn of ``result`` in a picture of ``size`` pixels, without it as high as the appliance needs."""
    looked = looked_at(result, look)
    seen, marks = _seen(looked, look)
    size = _natural_size(looked, seen, marks) if size is None else size
    furnishing = furniture.plan(size, _listed(looked.result))
    view = fit(np.concatenate([seen, *_ends(marks)]), furnishing.stage, size, looked.axes)
    pixel = furnishing.scale / view.pixels_per_mm
    longest = max((length for _, length in arrow_lengths(marks)), default=np.inf)
    shaft = min(SHAFT_PIXELS * pixel, THICKEST * longest)
    parts = scene_parts(looked, look, marks, shaft, HATCH_PIXELS * pixel)
    return Scene(looked, look, tuple(marks), furnishing, view, tuple(parts))


def compose(result: RunResult, size: tuple[int, int] | None = None, look: Look = Look()) -> pv.Plotter:  # noqa: B008
    """An off-screen plotter, ready for its screenshot."""
    scene = scene_of(result, look, size)
    plotter = pv.Plotter(off_screen=True, window_size=list(scene.view.size), lighting="none")
    if plotter.render_window is not None:
        plotter.render_window.SetMultiSamples(8)
    furnish(plotter, scene)
    return plotter


def furnish(plotter: pv.Plotter, scene: Scene) -> None:
    """Put the whole scene into a plotter: solids, texts, and what stands around them."""
    looked, marks, view, furnishing = scene.looked, list(scene.marks), scene.view, scene.furnishing
    plotter.background_color = pv.Color("white")
    light(plotter, view)
    top = stress_top(looked)
    for part in scene.parts:
        add_part(plotter, part, top, furnishing.scale)
    aim(plotter, view)
    table = pv.LookupTable(COLOURS, n_values=128)
    key = newtons_per_mm(arrow_lengths(marks))
    furniture.draw(plotter, furnishing, looked, view, top, table, legend_of(scene), key)
    draw_labels(plotter, scene)
    furniture.draw_banner(plotter, furnishing, looked.result, view)


def add_part(plotter: pv.Plotter, part: Part, top: float, scale: float) -> None:
    """Draw one part; ``top`` is the stress (MPa) at the upper end of the colours."""
    if part.line is not None:
        plotter.add_mesh(part.mesh, color=part.colour, line_width=part.line * scale, lighting=False)
        return
    how: dict[str, Any] = {"color": part.colour}
    if part.values == shapes.STRESS:
        how = {"scalars": part.values, "cmap": COLOURS, "clim": (0.0, top), "show_scalar_bar": False}
    elif part.values is not None:
        how = {"scalars": part.values, "rgb": True}
    plotter.add_mesh(
        part.mesh, **how, opacity=part.opacity, smooth_shading=part.smooth, ambient=part.ambient,
        diffuse=part.diffuse, specular=0.1 if part.what == "wire" else 0.0,
        culling="back" if part.what == "tooth" else None,
    )  # fmt: skip


def natural_size(result: RunResult, look: Look = Look()) -> tuple[int, int]:  # noqa: B008
    """The size, pixels, of a picture in which the appliance fills its stage."""
    looked = looked_at(result, look)
    return _natural_size(looked, *_seen(looked, look))


def _natural_size(looked: Looked, seen: Array, marks: list[Mark]) -> tuple[int, int]:
    low, high = extent_mm(np.concatenate([seen, *_ends(marks)]), looked.axes)
    span = high - low
    shape = float(span[1] / max(span[0], 1e-6))
    return furniture.WIDTH, furniture.height_for(shape, _listed(looked.result))


def _listed(result: RunResult) -> int:
    """How many attachments have their values in a table: those of an arch with many, where arrows leave no room."""
    count = len(result.attachments)
    return count if count > labels.MANY and is_deep(result) else 0


def _seen(looked: Looked, look: Look) -> tuple[Array, list[Mark]]:
    """Points (n, 3) of wire, attachments and teeth, and what is drawn for each attachment."""
    result, axes = looked.result, looked.axes
    bodies = [body_corners(item, result) for item in result.attachments]
    shown = [*(wire.positions_mm for wire in looked.wires), *bodies]
    if look.attachment is None:
        shown += [wire.passive_positions_mm for wire in result.wires]
    low, high = extent_mm(np.concatenate(shown), axes)
    extent = float(np.hypot(*(high - low)))
    if look.teeth:
        across = max(result.wire.section.height, result.wire.section.depth)
        shown += [tooth.corners for tooth in placed_teeth(result.attachments, across)]
    seen = np.concatenate(shown)
    if not _listed(result):
        return seen, marks_of(result, bodies, extent, axes, least=looked.least)
    marks = marks_of(result, bodies, extent, axes, arch_marks.LONGEST_ARROW, looked.least)
    return seen, arch_marks.arranged(marks, result, extent, axes)


def _ends(marks: list[Mark]) -> list[Array]:
    """Points (k, 3) of all arrows."""
    straight = [np.array([m.start, m.start + m.arrow]) for m in marks if m.arrow is not None]
    return straight + [m.arc for m in marks if m.arc is not None]


def legend_of(scene: Scene) -> list[str]:
    """What arrows, marks, the ghost and the teeth mean, of those that are there."""
    looked, marks = scene.looked, scene.marks
    out = []
    arrows, arcs = arrow_lengths(marks), [mark.moment for mark in marks if mark.arc is not None]
    if arrows:
        out.append(labels.FORCE_LEGEND)
    if arcs:
        value = labels.moment_text(max(arcs), brief=True)
        out.append(f"{labels.MOMENT_LEGEND} ({math.degrees(WIDEST_ARC):.0f}°: {value})")
    enlarged = _enlarged(arrows, arcs)
    if enlarged:
        out.append(f"{labels.ENLARGED_LEGEND} {' and '.join(enlarged)}")
    zones = pressed_walls(looked)
    if zones:
        most = max(one.zone.force_n for one in zones)
        out.append(f"{labels.PRESSING_LEGEND} (darkest: {labels.force_text(most, brief=True)})")
    there = {part.what for part in scene.parts}
    if "passive shape" in there and labels.moves(looked.result, 0.5):
        out.append(labels.GHOST_LEGEND)
    if "joint" in there:
        out.append(labels.JOINT_LEGEND)
    if "centre of resistance" in there:
        out.append(labels.TEETH_LEGEND)
    if scene.look.exact:
        out.append(labels.WITHIN_LEGEND)
    elif len(marks) > labels.MANY:
        out.append(labels.NO_ARROW_LEGEND if _listed(looked.result) else labels.LEFT_OUT_LEGEND)
    return out


def arrow_lengths(marks: Sequence[Mark]) -> list[tuple[float, float]]:
    """Force (N) and length (mm) of every straight arrow."""
    return [(mark.force, float(np.linalg.norm(mark.arrow))) for mark in marks if mark.arrow is not None]


def newtons_per_mm(arrows: Sequence[tuple[float, float]]) -> float | None:
    """The scale of straight arrows, from the largest of them; None where there are none."""
    most, length = max(arrows, default=(0.0, 0.0))
    return most / length if length > 0.0 else None


def _enlarged(arrows: Sequence[tuple[float, float]], moments: Sequence[float]) -> list[str]:
    """Which arrows are longer, and which go further round, than to scale."""
    out = []
    scale = newtons_per_mm(arrows)
    if scale is not None:
        bound = scale * min(length for _, length in arrows)
        if min(arrows)[0] < 0.99 * bound:
            out.append(f"forces below {labels.force_text(bound, brief=True)}")
    if moments:
        bound = NARROWEST_ARC / WIDEST_ARC * max(moments)
        if min(moments) < 0.99 * bound:
            out.append(f"moments below {labels.moment_text(bound, brief=True)}")
    return out


def light(plotter: pv.Plotter, view: View) -> None:
    """A main light from the upper left of the viewer and a weak one from the right."""
    for place, strength in (((-0.5, 0.9, 1.0), 0.75), ((1.0, 0.1, 0.8), 0.3)):
        towards = view.axes @ np.array(place)
        light = pv.Light(position=tuple(1e3 * towards), focal_point=(0.0, 0.0, 0.0), intensity=strength)
        light.positional = False
        plotter.add_light(light)


def aim(plotter: pv.Plotter, view: View) -> None:
    camera = plotter.camera
    camera.parallel_projection = True
    camera.focal_point = tuple(view.focus_mm)
    camera.position = tuple(view.focus_mm + 1e3 * view.axes[:, 2])
    camera.up = tuple(view.axes[:, 1])
    camera.parallel_scale = 0.5 * view.size[1] / view.pixels_per_mm
    plotter.renderer.ResetCameraClippingRange()


def draw_labels(plotter: pv.Plotter, scene: Scene) -> None:
    """Name, force and moment of every attachment, each beside what it belongs to."""
    marks, result, view, furnishing = list(scene.marks), scene.looked.result, scene.view, scene.furnishing
    scale = furnishing.scale
    brief = len(marks) > labels.MANY
    names = (mark.attachment.name for mark in marks)
    short = dict(zip(names, labels.short_names(result.attachments), strict=True))
    texts: list[tuple[str, Font]] = []
    wishes: list[labels.Wish] = []

    def ask(text: str, font: Font, anchor: Array, direction: Array, nearest: float) -> None:
        texts.append((text, font))
        place = float(anchor[0]), float(anchor[1])
        wishes.append(
            labels.Wish(text_size(text, font), place, (float(direction[0]), float(direction[1])), nearest)
        )

    number, name = Font(18.0 * scale, FORCE, bold=True), Font(17.0 * scale)

    def ask_values(mark: Mark) -> None:
        centre = view.project(mark.centre)
        if mark.arrow is not None:
            start, tip = view.project(mark.start), view.project(mark.start + mark.arrow)
            away = tip - start
            if abs(away[0]) > 2.0 * abs(away[1]):
                # Over or under the middle of a level arrow, away from the wire.
                beside = start[1] - centre[1]
                tip, away = 0.5 * (start + tip), np.array([0.0, 1.0 if beside >= 0.0 else -1.0])
            ask(labels.force_text(mark.force, brief), number, tip, away, 12.0 * scale)
        if mark.arc is not None:
            middle = view.project(mark.arc[len(mark.arc) // 2])
            font = Font(number.size, MOMENT, bold=True)
            ask(labels.moment_text(mark.moment, brief), font, middle, middle - centre, 14.0 * scale)

    def ask_name(mark: Mark) -> None:
        centre = view.project(mark.centre)
        above = mark.arrow is None or view.project(mark.start + 0.5 * mark.arrow)[1] >= centre[1]
        below = -1.0 if above else 1.0
        edge = view.project(mark.reach)
        foot = np.array([centre[0], edge[:, 1].min() if below < 0 else edge[:, 1].max()])
        told = scene.look.exact
        none = mark.arrow is None and not told, mark.arc is None and not told
        text = labels.mark_text(mark.attachment, *none, brief)
        ask(short[mark.attachment.name] if brief else text, name, foot,
            np.array([0.0, below]), (8.0 if brief else 16.0) * scale)  # fmt: skip

    def ask_pressed(pressed: Pressed) -> None:
        place = view.project(pressed.middle)
        font = Font(17.0 * scale, PRESSING[1], bold=True)
        away = place - view.project(marks[0].centre)
        ask(
            f"{pressed.zone.wall} {labels.force_text(pressed.zone.force_n, True)}",
            font,
            place,
            away,
            26.0 * scale,
        )

    if scene.look.attachment is not None:
        for pressed in pressed_walls(scene.looked):
            ask_pressed(pressed)
    # The first to be placed stand nearest: of many attachments the names, else the values.
    asks = (ask_name,) if furnishing.table else (ask_name, ask_values) if brief else (ask_values, ask_name)
    for ask_own in asks:
        for mark in marks:
            ask_own(mark)
    for joint in result.joints:
        place = view.project(np.array(joint.place_mm))
        ask(joint.name, name, place, np.array([0.0, 1.0]), 14.0 * scale)
    taken = _taken(marks, result, view)
    if furnishing.table:
        _draw_leaders(plotter, marks, view, scale)
    boxes = labels.place(wishes, furnishing.room, taken)
    for (text, font), wish, box in zip(texts, wishes, boxes, strict=True):
        near = np.array(
            [np.clip(wish.anchor[0], box.left, box.right), np.clip(wish.anchor[1], box.bottom, box.top)]
        )
        leader = np.linspace(wish.anchor, near, 20)
        crosses = any(other.count(leader) for other in boxes if other is not box)
        if np.hypot(*(near - wish.anchor)) > 40.0 * scale and not crosses:
            draw_lines(plotter, [np.array([wish.anchor, near])], GREY, scale)
        draw_text(plotter, text, box, font, backed=not scene.look.transparent)


def _draw_leaders(plotter: pv.Plotter, marks: list[Mark], view: View, scale: float) -> None:
    """Thin lines from arrows that were moved aside to the attachments they belong to."""
    for mark in marks:
        if mark.arrow is not None:
            start, centre = view.project(mark.start), view.project(mark.centre)
            draw_lines(plotter, [np.array([centre, start])], GREY, scale)


def _taken(marks: list[Mark], result: RunResult, view: View) -> Array:
    """Picture points (n, 2) that labels should leave free."""
    lines = []
    for wire in result.wires:
        half = 0.5 * wire.section.height * wire.axes[:, :, 1]
        lines += [wire.positions_mm, wire.positions_mm + half, wire.positions_mm - half]
    lines += [mark.arc for mark in marks if mark.arc is not None]
    lines += [np.array([mark.start, mark.start + mark.arrow]) for mark in marks if mark.arrow is not None]
    # The ghost may be covered rather than anything else.
    dense = [_dense(view.project(line)) for line in lines]
    dense += [_dense(view.project(wire.passive_positions_mm), 24.0) for wire in result.wires]
    for mark in marks:
        corners = view.project(mark.reach)
        low, high = corners.min(axis=0), corners.max(axis=0)
        inside = Box(low[0], low[1], high[0], high[1])
        xs, ys = np.arange(inside.left, inside.right, 8.0), np.arange(inside.bottom, inside.top, 8.0)
        dense.append(np.array(np.meshgrid(xs, ys)).reshape(2, -1).T)
    return np.concatenate(dense)


def _dense(line: Array, step: float = 8.0) -> Array:
    """Points of a polyline (k, 2), at most about ``step`` pixels apart."""
    lengths = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))))
    at = np.linspace(0.0, lengths[-1], max(2, int(lengths[-1] / step)))
    return np.column_stack([np.interp(at, lengths, line[:, i]) for i in range(2)])
