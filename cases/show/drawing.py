"""Composes the picture of a result: sizes things, frames the view, puts labels where nothing else is.

Two passes.  The first fixes all sizes in mm from the extent of the appliance and finds the view in which
everything, arrows included, has room; the second draws with line widths that are pixels of that view.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from cases.results import AttachmentResult, RunResult
from cases.show import furniture, labels, shapes
from cases.show.overlay import GREY, Font, draw_lines, draw_text, text_size
from cases.show.view import Box, View, extent_mm, fit, view_axes
from geometry.pose import Pose

Array = NDArray[np.float64]

FORCE = "#12264d"
MOMENT = "#9a3412"
WALL = "#9aa7b8"
BLOCK = "#7c8796"
# Even steps for the eye, in grey and for the colour-blind too; more stress is darker, like ink on paper.
COLOURS: Final = "cividis_r"

# Shares of the appliance's extent across the picture.
LONGEST_ARROW = 0.20
SHORTEST_ARROW = 0.05
ARC_RADIUS = 0.08
# A round arrow turns in proportion to its moment between these.
WIDEST_ARC = np.radians(285.0)
NARROWEST_ARC = np.radians(70.0)
# Below this share of the largest, a force or moment is written but no arrow is drawn.
NEGLIGIBLE = 1e-3
SHAFT_PIXELS = 4.0


@dataclass(frozen=True, slots=True)
class Mark:
    """What is drawn for one attachment; lengths in mm, None where too small to draw."""

    attachment: AttachmentResult
    centre: Array
    force: float
    moment: float
    arrow: Array | None
    arc: Array | None
    reach: Array
    """Corners (8, 3) of the attachment's own body, mm."""


def compose(result: RunResult, size: tuple[int, int]) -> pv.Plotter:
    """An off-screen plotter, ready for its screenshot, ``size`` pixels."""
    wire = result.wire
    axes = view_axes()
    bodies = [body_corners(item, result) for item in result.attachments]
    seen = np.concatenate([wire.positions_mm, wire.passive_positions_mm, *bodies])
    low, high = extent_mm(seen, axes)
    marks = marks_of(result, bodies, float(np.hypot(*(high - low))), axes)
    tips = [m.centre + m.arrow for m in marks if m.arrow is not None]
    arcs = [m.arc for m in marks if m.arc is not None]
    furnishing = furniture.plan(size)
    view = fit(
        np.concatenate([seen, *arcs, *([np.array(tips)] if tips else [])]), furnishing.stage, size, axes
    )

    plotter = pv.Plotter(off_screen=True, window_size=list(size), lighting="none")
    if plotter.render_window is not None:
        plotter.render_window.SetMultiSamples(8)
    plotter.background_color = pv.Color("white")
    _light(plotter, view)
    top = max(float(labels.stress_shown(wire)[1].max()), 1.0)
    _draw_wire(plotter, result, top)
    for mark in marks:
        _draw_body(plotter, mark, result)
        _draw_loads(plotter, mark, SHAFT_PIXELS * size[1] / 1000.0 / view.pixels_per_mm)
    _aim(plotter, view)
    furniture.draw(plotter, furnishing, result, view, top, pv.LookupTable(COLOURS, n_values=128))
    _draw_labels(plotter, marks, result, view, furnishing)
    furniture.draw_banner(plotter, furnishing, result, view)
    return plotter


def body_corners(item: AttachmentResult, result: RunResult) -> Array:
    """Corners (8, 3) of what stands for the attachment."""
    section = result.wire.section
    across = max(section.height, section.depth)
    if item.slot_size_mm is not None:
        height, depth, width = item.slot_size_mm
        half = np.array([0.5 * width, 0.8 * height, 0.8 * depth])
    else:
        half = (
            np.array([0.6, 1.8, 1.8]) * across
            if item.kind == "clamp"
            else np.array([0.85, 0.85, 2.6]) * across
        )
    signs = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T
    return item.pose.to_world(signs * half)


def marks_of(result: RunResult, bodies: list[Array], extent: float, axes: Array) -> list[Mark]:
    """Arrow lengths and arcs, from the largest force and moment of the whole appliance."""
    forces = [float(np.linalg.norm(item.force_n)) for item in result.attachments]
    moments = [float(np.linalg.norm(item.moment_nmm)) for item in result.attachments]
    # What the solution itself calls rounding is no force, however large beside the others.
    floor = result.equilibrium.floor_n
    most_force, most_moment = max(forces), max(moments)
    marks = []
    for item, body, force, moment in zip(result.attachments, bodies, forces, moments, strict=True):
        centre = np.asarray(item.pose.position)
        arrow = arc = None
        if force > max(floor, NEGLIGIBLE * most_force):
            length = extent * max(LONGEST_ARROW * force / most_force, SHORTEST_ARROW)
            arrow = length * np.asarray(item.force_n) / force
        if moment > max(floor * extent, NEGLIGIBLE * most_moment):
            axis = np.asarray(item.moment_nmm) / moment
            # Clear of the attachment's own body.
            radius = max(
                ARC_RADIUS * extent, 1.15 * float(np.linalg.norm(np.cross(body - centre, axis), axis=1).max())
            )
            sweep = max(WIDEST_ARC * moment / most_moment, NARROWEST_ARC)
            arc = shapes.arc_points(
                centre, axis, arc_middle(axis, sweep, arrow, item.pose, axes), radius, sweep
            )
        marks.append(Mark(item, centre, force, moment, arrow, arc, body))
    return marks


def arc_middle(axis: Array, sweep: float, arrow: Array | None, pose: Pose, axes: Array) -> Array:
    """Direction (3,) of the middle of an arc about the unit vector ``axis``.

    Two wishes are weighed: the arc stays away from the force ``arrow`` (without one, it stands up the slot),
    and its head is seen from the side by a viewer with these ``axes``, not from its point.
    """
    u = np.cross(axis, pose.axes[:, int(np.argmin(np.abs(axis @ pose.axes)))])
    u /= np.linalg.norm(u)
    v = np.cross(axis, u)
    wish = pose.axes[:, 1] if arrow is None else -arrow / np.linalg.norm(arrow)
    turns = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
    middles = np.cos(turns)[:, None] * u + np.sin(turns)[:, None] * v
    ends = turns + 0.5 * sweep
    tangents = np.cos(ends)[:, None] * v - np.sin(ends)[:, None] * u
    seen = np.linalg.norm(tangents @ axes[:, :2], axis=1)
    best: Array = middles[int(np.argmax(seen + 0.6 * (middles @ wish)))]
    return best


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
    passive = pv.MultipleLines(points=np.asarray(result.wire.passive_positions_mm))
    plotter.add_mesh(passive, color="#9ca3af", line_width=2.5, lighting=False)
    plotter.add_mesh(
        shapes.wire_surface(result.wire),
        scalars=shapes.STRESS,
        cmap=COLOURS,
        clim=(0.0, top),
        show_scalar_bar=False,
        smooth_shading=True,
        ambient=0.45,
        diffuse=0.65,
        specular=0.1,
    )


def _draw_body(plotter: pv.Plotter, mark: Mark, result: RunResult) -> None:
    item, section = mark.attachment, result.wire.section
    if item.slot_size_mm is not None:
        walls, outer = shapes.slot_walls(item.pose, item.slot_size_mm, 0.25 * item.slot_size_mm[0])
        plotter.add_mesh(walls, color=WALL, opacity=0.55, ambient=0.4, diffuse=0.7, smooth_shading=False)
        plotter.add_mesh(outer, color=WALL, opacity=0.14, ambient=0.5, diffuse=0.5, smooth_shading=False)
        for part in (walls, outer):
            edges = part.extract_feature_edges(feature_angle=30.0)
            plotter.add_mesh(edges, color="#4b5563", line_width=1.2, lighting=False)
    elif item.kind == "clamp":
        block = shapes.clamp_block(item.pose, section)
        plotter.add_mesh(block, color=BLOCK, opacity=0.8, ambient=0.4, diffuse=0.7, smooth_shading=False)
        plotter.add_mesh(
            block.extract_feature_edges(feature_angle=30.0), color="#374151", line_width=1.2, lighting=False
        )
    else:
        post = shapes.button_post(item.pose, section)
        plotter.add_mesh(post, color=BLOCK, opacity=0.8, ambient=0.4, diffuse=0.7, smooth_shading=True)


def _draw_loads(plotter: pv.Plotter, mark: Mark, shaft: float) -> None:
    if mark.arrow is not None:
        plotter.add_mesh(shapes.arrow(mark.centre, mark.arrow, shaft), color=FORCE, ambient=0.5, diffuse=0.6)
    if mark.arc is not None:
        plotter.add_mesh(shapes.arc_arrow(mark.arc, 0.8 * shaft), color=MOMENT, ambient=0.5, diffuse=0.6)


def _draw_labels(
    plotter: pv.Plotter, marks: list[Mark], result: RunResult, view: View, furnishing: furniture.Plan
) -> None:
    """Name, force and moment of every attachment, each beside what it belongs to."""
    scale = view.size[1] / 1000.0
    texts: list[tuple[str, Font]] = []
    wishes: list[labels.Wish] = []

    def ask(text: str, font: Font, anchor: Array, direction: Array, nearest: float) -> None:
        texts.append((text, font))
        place = float(anchor[0]), float(anchor[1])
        wishes.append(
            labels.Wish(text_size(text, font), place, (float(direction[0]), float(direction[1])), nearest)
        )

    number, name = Font(21.0 * scale, FORCE, bold=True), Font(20.0 * scale)
    for mark in marks:
        centre = view.project(mark.centre)
        tip = centre if mark.arrow is None else view.project(mark.centre + mark.arrow)
        away = np.array([0.0, 1.0]) if mark.arrow is None else tip - centre
        if mark.arrow is not None:
            ask(labels.force_text(mark.force), number, tip, away, 12.0 * scale)
        if mark.arc is not None:
            middle = view.project(mark.arc[len(mark.arc) // 2])
            font = Font(number.size, MOMENT, bold=True)
            ask(labels.moment_text(mark.moment), font, middle, middle - centre, 14.0 * scale)
    for mark in marks:
        centre = view.project(mark.centre)
        below = -1.0 if mark.arrow is None or view.project(mark.centre + mark.arrow)[1] >= centre[1] else 1.0
        edge = view.project(mark.reach)
        foot = np.array([centre[0], edge[:, 1].min() if below < 0 else edge[:, 1].max()])
        ask(labels.mark_text(mark.attachment, mark.arrow is None, mark.arc is None), name, foot,
            np.array([0.0, below]), 16.0 * scale)  # fmt: skip
    taken = _taken(marks, result, view)
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


def _taken(marks: list[Mark], result: RunResult, view: View) -> Array:
    """Picture points (n, 2) that labels should leave free."""
    lines = [result.wire.positions_mm, result.wire.passive_positions_mm]
    lines += [mark.arc for mark in marks if mark.arc is not None]
    lines += [np.array([mark.centre, mark.centre + mark.arrow]) for mark in marks if mark.arrow is not None]
    dense = [_dense(view.project(line)) for line in lines]
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
