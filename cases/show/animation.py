"""The engagement as a sequence of pictures: a view, or a slot seen mesiodistally, with read-outs that stay in place.

Every picture is a solved increment; nothing is drawn between two of them.  Scale, arrows and frame are those of the
whole way, so that what grows in the pictures grows in the result.  The size is that of a slide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from cases.frames import BEFORE, Frame
from cases.output import CAUTION
from cases.results import ORDERS, AttachmentResult, RunResult
from cases.show import labels
from cases.show import slot_figure as slots
from cases.show import views_figure as views
from cases.show.faces import Face, body, faces, silhouette
from cases.show.loads import LEFT_OUT, Largest, Stroke, largest, strokes_of
from cases.show.palette import FORCE, GREY, INK, MOMENT, PALE
from cases.show.sheet import SMALL_SIZE, TEXT_SIZE, Area, Sheet, line_height, style, wrapped, write_banner
from cases.show.slot_view import SlotView, slot_views
from cases.show.strokes import Note, round_arrow, straight_arrow, write_notes
from cases.show.tables import Cell, Table
from cases.show.unrolled import TITLE as UNROLLED_TITLE
from cases.show.unrolled import goes_round, unrolled
from cases.words import LEAST_SHOWN, ORDER_VIEWS

Array = NDArray[np.float64]
Pixels = NDArray[np.uint8]

VIEWS = ("facial", "occlusal", "mesiodistal", "slot")
ORDER_OF_VIEW = {"occlusal": "first", "facial": "second", "mesiodistal": "third", "slot": "third"}
ENLARGED = 18.0 / SMALL_SIZE
"""A drawn sheet is so much smaller than the slide, and its texts with it."""
WIDTH, HEIGHT = 40.0 / 3.0 / ENLARGED, 7.5 / ENLARGED
PIXELS = (1280, 720)
EDGE, TITLE_SIZE, ASIDE, GAP = 0.1, 11.0, 2.05, 0.1
"""Inches of margin, points of the title, inches of the read-outs' width and of their distance from the picture."""
CURVE_HEIGHT = 0.62
ALIKE = 0.99
"""Torques that differ by less than this are about the same."""
MOST_READ = 2
"""Attachments whose loads have room to be read."""
AROUND = np.array([0.75, 1.0])
"""Inches around what a view shows, both sides together: numbers, title and directions."""


@dataclass(frozen=True, slots=True)
class Film:
    """An animation, ready to be drawn picture by picture."""

    result: RunResult
    frames: tuple[Frame, ...]
    view: str
    read: tuple[int, ...]
    """Attachments whose loads are read out, by their place; of a slot that one alone."""
    curve: tuple[str, int]
    """What the small curve shows: "force" or an order, and of which attachment."""
    most: Largest
    """The largest force, and the largest moment in the order of the view, that are read out on the way."""


def film_of(result: RunResult, frames: Sequence[Frame], view: str, attachment: str | None = None) -> Film:
    """The animation of one ``view``.

    Raises ValueError where the appliance has no slot, or not the one that is asked for, or where a view is asked for
    that shows all attachments."""
    if attachment is not None and view != "slot":
        raise ValueError("--attachment goes with --view slot; leave it out")
    order = ORDER_OF_VIEW[view]
    items = result.attachments
    sizes = [float(np.linalg.norm(item.force_n)) for item in items]
    if view == "slot":
        names = [item.name for item in items if item.slot_size_mm is not None]
        if not names or (attachment is not None and attachment not in names):
            raise ValueError(f"there is no such slot; slots: {', '.join(names) or 'none'}")
        torques = {item.name: abs(item.orders[order].moment_nmm) for item in items if item.name in names}
        # Of those that get about the same torque the one that is turned most.
        alike = [name for name in names if torques[name] >= ALIKE * max(torques.values())]
        turned = {item.name: abs(item.orders[order].activation_deg) for item in items}
        chosen = attachment or max(alike, key=lambda name: turned[name])
        index = [item.name for item in items].index(chosen)
        read: tuple[int, ...] = (index,)
    else:
        strongest = sorted(range(len(items)), key=lambda k: -round(sizes[k], 9))[:MOST_READ]
        read = tuple(sorted(strongest))
        index = max(read, key=lambda k: (round(abs(items[k].orders[order].moment_nmm), 9), -k))
    acts = max(abs(frame.attachments[index].orders[order].moment_nmm) for frame in frames) >= LEAST_SHOWN
    shown = [frame.attachments[k] for frame in frames for k in read]
    most = Largest(
        max(LEAST_SHOWN, *(float(np.linalg.norm(item.force_n)) for item in shown)),
        max(LEAST_SHOWN, *(abs(item.orders[order].moment_nmm) for item in shown)),
    )
    return Film(
        result, tuple(frames), view, read, (order if acts or view == "slot" else "force", index), most
    )


def value_of(frame: Frame, curve: tuple[str, int]) -> float:
    """What the small curve shows of a frame, N or N mm; what people are shown as 0 is none."""
    what, index = curve
    item = frame.attachments[index]
    value = float(np.linalg.norm(item.force_n)) if what == "force" else item.orders[what].moment_nmm
    return value if abs(value) >= LEAST_SHOWN else 0.0


def pictures(film: Film) -> list[Pixels]:
    """Every picture of the film, (height, width, 3)."""
    stage = _slot_stage(film) if film.view == "slot" else _view_stage(film)
    return [_pixels(_drawn(film, k, stage)) for k in range(len(film.frames))]


def draw_moment(film: Film, number: int) -> Figure:
    """One picture of the film as a figure, for print or a test."""
    return _drawn(film, number, _slot_stage(film) if film.view == "slot" else _view_stage(film)).figure


# ------------------------------------------------------------------------------------------------ what is on the left


@dataclass(frozen=True, slots=True)
class _ViewStage:
    """What all pictures of a view share."""

    face: Face
    seen: tuple[RunResult, ...]
    strokes: tuple[tuple[Stroke, ...], ...]
    middle: Array
    span: Array


@dataclass(frozen=True, slots=True)
class _SlotStage:
    """What all pictures of a slot share."""

    views: tuple[SlotView, ...]
    reach: float
    least: float


def _view_stage(film: Film) -> _ViewStage:
    results = [frame.of(film.result) for frame in film.frames]
    face = faces(results[-1])[VIEWS.index(film.view)]
    if film.view == "facial" and goes_round(results[-1]):
        face = Face(face.key, UNROLLED_TITLE, face.axes, ("along the wire", face.words[1]))
        results = [unrolled(one) for one in results]
    most = _most(results)
    extent = views.extent_of(results[-1])
    strokes = [tuple(strokes_of(one, face, extent, most)) for one in results]
    bounds = [views.bounds_of(one, face, own) for one, own in zip(results, strokes, strict=True)]
    low, high = np.min([b[0] for b in bounds], axis=0), np.max([b[1] for b in bounds], axis=0)
    return _ViewStage(face, tuple(results), tuple(strokes), 0.5 * (low + high), np.maximum(high - low, 1e-6))


def _most(results: Sequence[RunResult]) -> Largest:
    """The largest loads on the way; above zero, so that nothing can be in proportion to a passive wire."""
    found = largest(*results)
    return Largest(max(found.force_n, LEAST_SHOWN), max(found.moment_nmm, LEAST_SHOWN))


def _slot_stage(film: Film) -> _SlotStage:
    names = [item.name for item in film.result.attachments if item.slot_size_mm is not None]
    which = names.index(film.result.attachments[film.read[0]].name)
    seen = tuple(slot_views(frame.of(film.result))[which] for frame in film.frames)
    most = max(abs(view.third.moment_nmm) for view in seen)
    return _SlotStage(seen, slots.reach_of(seen[-1]), max(LEAST_SHOWN, LEFT_OUT * most))


def _draw_view(sheet: Sheet, area: Area, stage: _ViewStage, number: int) -> None:
    axes = sheet.axes(area)
    room = np.array([area.width, area.height])
    scale = float(((room - AROUND) / stage.span).min())
    middle = stage.middle - np.array([0.0, 0.5 * (views.TITLE - views.LOW) / scale])
    views.frame_view(axes, middle, scale, area)
    title = axes.text(
        0.08 / area.width, 1.0 - 0.09 / area.height, stage.face.title, transform=axes.transAxes, fontsize=TEXT_SIZE,
        weight="bold", verticalalignment="top",
    )  # fmt: skip
    kept_off = [title, *views.directions(axes, stage.face, scale)]
    taken = views.draw_appliance(axes, stage.seen[number], stage.face)
    arrows: list[Array] = []
    for stroke in stage.strokes[number]:
        if stroke.arrow is not None:
            straight_arrow(axes, stroke.start, stroke.arrow)
            arrows.append(np.array([stroke.start, stroke.start + stroke.arrow]))
        if stroke.arc is not None:
            round_arrow(axes, stroke.arc)
            arrows.append(stroke.arc)
    # Numbers keep off the arrows of the end, which are the longest, and of this moment.
    last = stage.strokes[-1]
    notes = []
    for stroke, final in zip(stage.strokes[number], last, strict=True):
        item = stroke.load.attachment
        outline = silhouette(body(item, stage.seen[number].wire_of(item)), stage.face)
        down = final.arrow is None or final.start[1] + 0.5 * final.arrow[1] >= final.load.place[1]
        foot = np.array([outline[:, 0].mean(), outline[:, 1].min() if down else outline[:, 1].max()])
        text = str(stroke.load.number)
        notes.append(Note(text, foot, np.array([0.0, -1.0 if down else 1.0]), INK, SMALL_SIZE, bold=True))
        if final.arc is not None:
            taken.append(final.arc + (stroke.load.place - final.load.place))
    write_notes(axes, notes, [*taken, *arrows], keep_off=kept_off, arrows=arrows)
    length = labels.round_length(min(1.0, 0.3 * area.width) / scale)
    right, y = axes.get_xlim()[1] - 0.12 / scale, axes.get_ylim()[0] + 0.12 / scale
    axes.plot([right - length, right], [y, y], color=INK, linewidth=3.0, solid_capstyle="butt", gid="scale")
    axes.text(right - 0.5 * length, y + 0.05 / scale, f"{length:g} mm", fontsize=SMALL_SIZE,
              horizontalalignment="center", verticalalignment="bottom")  # fmt: skip


# ------------------------------------------------------------------------------------------------ the whole picture


def _drawn(film: Film, number: int, stage: _ViewStage | _SlotStage) -> Sheet:
    with style():
        figure = Figure(figsize=(WIDTH, HEIGHT), dpi=PIXELS[0] / WIDTH, facecolor="white")
        FigureCanvasAgg(figure)
        inner = WIDTH - 2.0 * EDGE
        title = wrapped(film.result.title, TITLE_SIZE, inner, bold=True)
        caution = wrapped(CAUTION, SMALL_SIZE, inner)
        bottom = EDGE + len(caution) * line_height(SMALL_SIZE) + 0.06
        top = HEIGHT - EDGE - len(title) * line_height(TITLE_SIZE) - 0.06
        sheet = Sheet(figure, Area(EDGE, bottom, inner, top - bottom), WIDTH, HEIGHT)
        sheet.write(title, EDGE, HEIGHT - EDGE, TITLE_SIZE, weight="bold")
        sheet.write(caution, EDGE, bottom - 0.06, SMALL_SIZE, color=INK)
        left = Area(EDGE, bottom, inner - ASIDE - GAP, top - bottom)
        if isinstance(stage, _SlotStage):
            slots.draw_slot(sheet.axes(left), stage.views[number], stage.reach, stage.least)
        else:
            _draw_view(sheet, left, stage, number)
        aside = Area(left.right + GAP, bottom, ASIDE, top - bottom)
        height = _write_readings(sheet, aside, film, number)
        _draw_curve(sheet, aside, height, film, number)
        write_banner(sheet, film.result)
    return sheet


def _write_readings(sheet: Sheet, aside: Area, film: Film, number: int) -> float:
    """How far it has gone, and the loads; gives the height at which they end."""
    frame = film.frames[number]
    named = BEFORE if frame.stage == BEFORE else f"{frame.stage} {100.0 * frame.activation:.0f} %"
    top = sheet.write(wrapped(_capital(named), TEXT_SIZE, aside.width, bold=True)[:2], aside.left, aside.top, TEXT_SIZE,
                      weight="bold")  # fmt: skip
    share = number / max(len(film.frames) - 1, 1)
    for end, colour, broad in ((1.0, PALE, 5.0), (share, INK, 5.0)):
        if end > 0.0:
            ends = [aside.left / WIDTH, (aside.left + end * aside.width) / WIDTH]
            sheet.figure.add_artist(
                Line2D(ends, [(top - 0.05) / HEIGHT] * 2, color=colour, linewidth=broad, solid_capstyle="butt",
                       gid="gone" if colour == INK else "whole")
            )  # fmt: skip
    top -= 0.16
    for index in film.read:
        item = frame.attachments[index]
        name = wrapped(f"{index + 1} {labels.name_text(item)}", SMALL_SIZE, aside.width, bold=True)[:2]
        top = sheet.write(name, aside.left, top, SMALL_SIZE, weight="bold")
        for text, colour in readings(film, item):
            top = sheet.write(
                wrapped(text, SMALL_SIZE, aside.width), aside.left, top, SMALL_SIZE, color=colour
            )
        top -= 0.05
    return top


def readings(film: Film, item: AttachmentResult) -> list[tuple[str, str]]:
    """What is read of one attachment, and in which colour: its force and its moment in the order of the view; of a slot
    its angles and its torque."""
    order = ORDER_OF_VIEW[film.view]
    here = item.orders[order]
    moment = _reading(abs(here.moment_nmm), film.most.moment_nmm, "N mm", "gf mm")
    if film.view != "slot":
        force = _reading(float(np.linalg.norm(item.force_n)), film.most.force_n, "N", "gf")
        return [(force or "no force", FORCE), (moment or "no moment", MOMENT)]
    engaged = here.engagement_deg
    out = [(f"angle of activation {labels.degrees_text(here.activation_deg)}", GREY)]
    out.append((f"engaged {labels.degrees_text(engaged)}" if engaged is not None else "turns freely", INK))
    if here.play_left_deg is not None:
        out.append((f"play left {labels.degrees_text(here.play_left_deg)}", INK))
    return [*out, (f"torque {moment}" if moment else "no torque", MOMENT)]


def _reading(value: float, most: float, unit: str, gram_force: str) -> str:
    """A load in both units with as many decimals as the largest on the way needs for three digits, so that the digits
    keep their places; nothing where there is none."""
    if value < LEAST_SHOWN:
        return ""
    texts = []
    for shown, largest_shown, name in (
        (value, most, unit),
        (float(labels.to_gf(value)), float(labels.to_gf(most)), gram_force),
    ):
        decimals = max(0, 2 - math.floor(math.log10(largest_shown)))
        texts.append(f"{shown:.{decimals}f} {name}")
    return f"{texts[0]} ({texts[1]})"


def _draw_curve(sheet: Sheet, aside: Area, top: float, film: Film, number: int) -> None:
    """One load along the way, with a mark where the picture stands."""
    what, index = film.curve
    values = np.array([value_of(frame, film.curve) for frame in film.frames])
    unit = "force (N)" if what == "force" else "torque (N mm)" if film.view == "slot" else "moment (N mm)"
    name = unit if film.view == "slot" else f"{unit} on {index + 1}"
    height = min(CURVE_HEIGHT, top - aside.bottom - 0.5)
    if height < 0.3:
        return
    area = Area(aside.left + 0.5, aside.bottom + 0.22, aside.width - 0.6, height)
    axes = sheet.axes(area)
    axes.set_title(name, fontsize=SMALL_SIZE, loc="left", pad=3.0)
    at = np.arange(len(values))
    axes.plot(at, values, color=PALE, linewidth=2.6, zorder=2.0)
    axes.plot(at[: number + 1], values[: number + 1], color=INK, linewidth=1.6, zorder=3.0, gid="so far")
    axes.plot([at[number]], [values[number]], color=MOMENT if what != "force" else FORCE, marker="o", markersize=6.5,
              zorder=4.0, clip_on=False, gid="now")  # fmt: skip
    axes.axhline(0.0, color=GREY, linewidth=0.7, zorder=1.0)
    axes.set_xticks([])
    low, high = min(float(values.min()), 0.0), max(float(values.max()), 0.0)
    high = high if high > low else low + 1.0
    axes.set_ylim(low - 0.08 * (high - low), high + 0.08 * (high - low))
    axes.set_xlim(-0.02 * at[-1], 1.02 * at[-1])
    axes.locator_params(axis="y", nbins=3)
    axes.tick_params(labelsize=SMALL_SIZE, length=2.5)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _pixels(sheet: Sheet) -> Pixels:
    canvas = sheet.figure.canvas
    assert isinstance(canvas, FigureCanvasAgg)
    with style():
        canvas.draw()
    return np.array(canvas.buffer_rgba())[: PIXELS[1], : PIXELS[0], :3]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


# ------------------------------------------------------------------------------------------------ in numbers and words


def film_table(film: Film) -> Table:
    """Every load at every moment: one row for each picture and attachment."""
    columns = ("picture", "stage", "activation_percent", "attachment", "force_x_n", "force_y_n", "force_z_n", "force_n",
               *(f"{order}_order_moment_nmm" for order in ORDERS))  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for number, frame in enumerate(film.frames, start=1):
        for item in frame.attachments:
            moments = [item.orders[order].moment_nmm for order in ORDERS]
            rows.append((float(number), frame.stage, 100.0 * frame.activation, item.name, *item.force_n,
                         float(np.linalg.norm(item.force_n)), *moments))  # fmt: skip
    return Table(columns, tuple(rows))


def film_words(film: Film) -> str:
    """What the animation shows, for who cannot see it."""
    picked = sorted({0, len(film.frames) // 2, len(film.frames) - 1})
    parts = []
    for number in picked:
        frame = film.frames[number]
        at = frame.stage if frame.stage == BEFORE else f"{frame.stage}, {100.0 * frame.activation:.0f} %"
        said = [
            f"{labels.name_text(frame.attachments[k])} "
            + ", ".join(text for text, _ in readings(film, frame.attachments[k]))
            for k in film.read
        ]
        parts.append(f"{_capital(at)}: {'; '.join(said)}")
    order = ORDER_VIEWS[ORDER_OF_VIEW[film.view]]
    what = (
        "One slot, seen mesiodistally"
        if film.view == "slot"
        else f"The {film.view} view; moments of the {order}"
    )
    return f"{what}, in {len(film.frames)} pictures from the passive wire on. {'. '.join(parts)}."
