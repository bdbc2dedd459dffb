"""Composes the picture of a result: sizes things, frames the view, puts labels where nothing else is.

Two passes.  The first fixes all sizes in mm from the extent of the appliance and finds the view in which
everything, arrows included, has room; the second draws with line widths that are pixels of that view.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from cases.results import RunResult
from cases.show import arch_marks, furniture, labels, shapes
from cases.show.device import device_of
from cases.show.marks import Mark, body_corners, marks_of
from cases.show.overlay import Font, draw_lines, draw_text, text_size
from cases.show.palette import FORCE, GREY, MOMENT, PASSIVE, WALL
from cases.show.view import Box, View, extent_mm, fit, view_axes
from geometry.tooth import Tooth

Array = NDArray[np.float64]

# An appliance that is deeper than this share of its width is an arch, and is looked at more steeply.
DEEP = 0.35
ARCH_TURNED_DEG, ARCH_RAISED_DEG = 8.0, 38.0

BLOCK = "#7c8796"
# Even steps for the eye, in grey and for the colour-blind too; more stress is darker, like ink on paper.
COLOURS: Final = "cividis_r"

SHAFT_PIXELS = 4.0


def compose(result: RunResult, size: tuple[int, int] | None = None) -> pv.Plotter:
    """An off-screen plotter, ready for its screenshot, ``size`` pixels, without it as high as the appliance needs."""
    axes = _looking(result)
    seen, marks = _seen(result, axes)
    size = _natural_size(result, seen, marks, axes) if size is None else size
    furnishing = furniture.plan(size, _listed(result))
    view = fit(np.concatenate([seen, *_ends(marks)]), furnishing.stage, size, axes)

    plotter = pv.Plotter(off_screen=True, window_size=list(size), lighting="none")
    if plotter.render_window is not None:
        plotter.render_window.SetMultiSamples(8)
    plotter.background_color = pv.Color("white")
    _light(plotter, view)
    top = max(1.0, *(float(values.max()) for values in labels.stresses_shown(result)[1]))
    _draw_wire(plotter, result, top)
    for mark in marks:
        _draw_body(plotter, mark, result)
        _draw_loads(plotter, mark, SHAFT_PIXELS * furnishing.scale / view.pixels_per_mm)
    _aim(plotter, view)
    table = pv.LookupTable(COLOURS, n_values=128)
    furniture.draw(plotter, furnishing, result, view, top, table, _legend(marks, result))
    _draw_labels(plotter, marks, result, view, furnishing)
    furniture.draw_banner(plotter, furnishing, result, view)
    return plotter


def natural_size(result: RunResult) -> tuple[int, int]:
    """The size, pixels, of a picture in which the appliance fills its stage."""
    axes = _looking(result)
    return _natural_size(result, *_seen(result, axes), axes)


def _natural_size(result: RunResult, seen: Array, marks: list[Mark], axes: Array) -> tuple[int, int]:
    low, high = extent_mm(np.concatenate([seen, *_ends(marks)]), axes)
    span = high - low
    shape = float(span[1] / max(span[0], 1e-6))
    return furniture.WIDTH, furniture.height_for(shape, _listed(result))


def _deep(result: RunResult) -> bool:
    width, _, depth = np.ptp(result.positions_mm, axis=0)
    return bool(depth >= DEEP * width)


def _listed(result: RunResult) -> int:
    """How many attachments have their values in a table: those of an arch with many, where arrows leave no room."""
    count = len(result.attachments)
    return count if count > labels.MANY and _deep(result) else 0


def _looking(result: RunResult) -> Array:
    """Axes (3, 3) of the view: facial, a little from the side; on an arch more from where its teeth bite."""
    if not _deep(result):
        return view_axes()
    arches = {Tooth(item.tooth).arch for item in result.attachments if item.tooth is not None}
    return view_axes(ARCH_TURNED_DEG, -ARCH_RAISED_DEG if arches == {"upper"} else ARCH_RAISED_DEG)


def _seen(result: RunResult, axes: Array) -> tuple[Array, list[Mark]]:
    """Points (n, 3) of wire and attachments, and what is drawn for each attachment."""
    bodies = [body_corners(item, result) for item in result.attachments]
    seen = np.concatenate(
        [result.positions_mm, *(wire.passive_positions_mm for wire in result.wires), *bodies]
    )
    low, high = extent_mm(seen, axes)
    extent = float(np.hypot(*(high - low)))
    if not _listed(result):
        return seen, marks_of(result, bodies, extent, axes)
    marks = marks_of(result, bodies, extent, axes, arch_marks.LONGEST_ARROW)
    return seen, arch_marks.arranged(marks, result, extent, axes)


def _ends(marks: list[Mark]) -> list[Array]:
    """Points (k, 3) of all arrows."""
    straight = [np.array([m.start, m.start + m.arrow]) for m in marks if m.arrow is not None]
    return straight + [m.arc for m in marks if m.arc is not None]


def _legend(marks: list[Mark], result: RunResult) -> list[str]:
    """What the arrows and the ghost mean, of those that are there."""
    out = []
    if any(mark.arrow is not None for mark in marks):
        out.append(labels.FORCE_LEGEND)
    if any(mark.arc is not None for mark in marks):
        out.append(labels.MOMENT_LEGEND)
    if labels.moves(result, 0.5):
        out.append(labels.GHOST_LEGEND)
    if result.joints:
        out.append(labels.JOINT_LEGEND)
    if len(marks) > labels.MANY:
        out.append(labels.NO_ARROW_LEGEND if _listed(result) else labels.LEFT_OUT_LEGEND)
    return out


def _light(plotter: pv.Plotter, view: View) -> None:
    """A main light from the upper left of the viewer and a weak one from the right."""
    for place, strength in (((-0.5, 0.9, 1.0), 0.75), ((1.0, 0.1, 0.8), 0.3)):
        towards = view.axes @ np.array(place)
        light = pv.Light(position=tuple(1e3 * towards), focal_point=(0.0, 0.0, 0.0), intensity=strength)
        light.positional = False
        plotter.add_light(light)


def _aim(plotter: pv.Plotter, view: View) -> None:
    camera = plotter.camera
    camera.parallel_projection = True
    camera.focal_point = tuple(view.focus_mm)
    camera.position = tuple(view.focus_mm + 1e3 * view.axes[:, 2])
    camera.up = tuple(view.axes[:, 1])
    camera.parallel_scale = 0.5 * view.size[1] / view.pixels_per_mm
    plotter.renderer.ResetCameraClippingRange()


def _draw_wire(plotter: pv.Plotter, result: RunResult, top: float) -> None:
    for wire, values in zip(result.wires, labels.stresses_shown(result)[1], strict=True):
        plotter.add_mesh(shapes.ghost(wire), color=PASSIVE, opacity=0.35, ambient=0.6, diffuse=0.5)
        plotter.add_mesh(
            shapes.wire_surface(wire, values=values),
            scalars=shapes.STRESS,
            cmap=COLOURS,
            clim=(0.0, top),
            show_scalar_bar=False,
            smooth_shading=True,
            ambient=0.45,
            diffuse=0.65,
            specular=0.1,
        )
    for joint in result.joints:
        ball = shapes.joint_ball(np.array(joint.place_mm), result.wire.section)
        plotter.add_mesh(ball, color=BLOCK, opacity=0.8, ambient=0.4, diffuse=0.7, smooth_shading=True)


def _draw_body(plotter: pv.Plotter, mark: Mark, result: RunResult) -> None:
    item, section = mark.attachment, result.wire_of(mark.attachment).section
    if item.slot_size_mm is not None:
        walls, front = shapes.slot_walls(
            device_of(item), item.pose, 0.25 * item.slot_size_mm[0], section.depth
        )
        for part, opacity, ambient, diffuse in ((walls, 0.55, 0.4, 0.7), (front, 0.14, 0.5, 0.5)):
            if part is None:
                continue
            plotter.add_mesh(
                part, color=WALL, opacity=opacity, ambient=ambient, diffuse=diffuse, smooth_shading=False
            )
            edges = part.extract_feature_edges(feature_angle=30.0)
            plotter.add_mesh(edges, color="#4b5563", line_width=1.2, lighting=False)
    elif item.kind != "button":
        device = device_of(item)
        clamp = item.kind == "clamp"
        block = (
            shapes.clamp_block(item.pose, section) if clamp else shapes.edge_body(device, item.pose, section)
        )
        plotter.add_mesh(block, color=BLOCK, opacity=0.8, ambient=0.4, diffuse=0.7, smooth_shading=False)
        plotter.add_mesh(
            block.extract_feature_edges(feature_angle=30.0), color="#374151", line_width=1.2, lighting=False
        )
    else:
        post = shapes.button_post(item.pose, section)
        plotter.add_mesh(post, color=BLOCK, opacity=0.8, ambient=0.4, diffuse=0.7, smooth_shading=True)


def _draw_loads(plotter: pv.Plotter, mark: Mark, shaft: float) -> None:
    if mark.arrow is not None:
        plotter.add_mesh(shapes.arrow(mark.start, mark.arrow, shaft), color=FORCE, ambient=0.5, diffuse=0.6)
    if mark.arc is not None:
        plotter.add_mesh(shapes.arc_arrow(mark.arc, 0.8 * shaft), color=MOMENT, ambient=0.5, diffuse=0.6)


def _draw_labels(
    plotter: pv.Plotter, marks: list[Mark], result: RunResult, view: View, furnishing: furniture.Plan
) -> None:
    """Name, force and moment of every attachment, each beside what it belongs to."""
    scale = furnishing.scale
    brief = len(marks) > labels.MANY
    names = (mark.attachment.name for mark in marks)
    short = dict(zip(names, labels.short_names(result), strict=True))
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
        text = labels.mark_text(mark.attachment, mark.arrow is None, mark.arc is None, brief)
        ask(short[mark.attachment.name] if brief else text, name, foot,
            np.array([0.0, below]), (8.0 if brief else 16.0) * scale)  # fmt: skip

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
        _draw_leaders(plotter, marks, view)
    boxes = labels.place(wishes, furnishing.room, taken)
    for (text, font), wish, box in zip(texts, wishes, boxes, strict=True):
        near = np.array(
            [np.clip(wish.anchor[0], box.left, box.right), np.clip(wish.anchor[1], box.bottom, box.top)]
        )
        leader = np.linspace(wish.anchor, near, 20)
        crosses = any(other.count(leader) for other in boxes if other is not box)
        if np.hypot(*(near - wish.anchor)) > 40.0 * scale and not crosses:
            draw_lines(plotter, [np.array([wish.anchor, near])], GREY, 1.0)
        draw_text(plotter, text, box, font, backed=True)


def _draw_leaders(plotter: pv.Plotter, marks: list[Mark], view: View) -> None:
    """Thin lines from arrows that were moved aside to the attachments they belong to."""
    for mark in marks:
        if mark.arrow is not None:
            start, centre = view.project(mark.start), view.project(mark.centre)
            draw_lines(plotter, [np.array([centre, start])], GREY, 1.0)


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
