"""Draws facial, occlusal and mesiodistal view of an appliance on one sheet, all at one scale.

The facial view stands above the occlusal one, x over x, and beside the mesiodistal one, y beside y, as in any
workshop drawing; forces are straight arrows with their value, moments about the viewing direction round ones.
The facial view of an arch is unrolled and takes the whole width (``cases.show.unrolled``).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Polygon
from matplotlib.text import Text
from numpy.typing import NDArray

from cases.results import ORDERS, AttachmentResult, RunResult
from cases.show import labels
from cases.show.faces import Face, body, silhouette, wire_band, wire_ends
from cases.show.loads import Stroke, strokes_of
from cases.show.palette import FORCE, GREY, INK, MOMENT, PALE, PASSIVE, WALL, WIRE
from cases.show.sheet import EDGE, SMALL_SIZE, TEXT_SIZE, Area, Sheet, line_height, open_sheet, style, wrapped
from cases.show.strokes import Note, axis_arrow, round_arrow, straight_arrow, write_notes
from cases.show.unrolled import NOTE as ARCH_NOTE
from cases.show.unrolled import goes_round
from cases.show.unrolled import shown as shown_of
from cases.show.wire_in_view import draw_wire
from cases.words import shown
from geometry.tooth import Tooth

Array = NDArray[np.float64]

SUBJECT = "Forces and moments on the teeth in three views of one scale"
NOTES = (
    "Moments are about the attachment's centre (a button: the point it holds); forces act there and are drawn beside "
    "it. Components below 2 % of the largest are left out.",
)
NOTHING = "no force and no moment in this view"
MANY_SUBJECT = "Forces and moments on the teeth in two views of one scale"
MANY_NOTE = "In the mesiodistal view the attachments stand behind each other: see the sheets of the slots."
WIDTH = 12.0
MARGIN = np.array([0.95, 0.55])
"""Room for texts on each side of what is drawn in a view, inches."""
TITLE = 0.3
LOW = 0.42
"""Room for the title of a view at its top and for the directions at its bottom, inches."""
MOST_TEXTS = 2 * labels.MANY
GAP = 0.12
SMALLEST = np.array([3.0, 2.1])
"""Least size of a view, inches."""
ARCH_MARGIN = 0.45
"""Room for texts beside an unrolled arch, inches: arrows of an arch stand up and down."""
NAMES_WIDTH = 3.95
TALLEST = 9.0
"""Greatest height of the views together, inches."""
FOOT = 0.42


def draw_views(result: RunResult) -> Sheet:
    """The sheet with the three views."""
    extent = extent_of(result)
    views = shown_of(result)
    strokes = [strokes_of(seen, face, extent) for face, seen in views]
    arch = goes_round(result)
    two = arch or len(result.attachments) > labels.MANY
    if two:
        strokes[2] = []
    bounds = [bounds_of(seen, face, own) for (face, seen), own in zip(views, strokes, strict=True)]
    low, high = [bound[0] for bound in bounds], [bound[1] for bound in bounds]
    # Shared axes: x of the facial and occlusal view, y of the facial and mesiodistal one.
    for first, second, axis_a, axis_b in () if arch else ((0, 1, 0, 0), (0, 2, 1, 1)):
        low[first][axis_a] = low[second][axis_b] = min(low[first][axis_a], low[second][axis_b])
        high[first][axis_a] = high[second][axis_b] = max(high[first][axis_a], high[second][axis_b])
    spans = [h - b for b, h in zip(low, high, strict=True)]
    inner = WIDTH - 2.0 * EDGE
    texts = sum(s.load.shows_force + s.load.shows_moment for s in strokes[2])
    names = len(result.attachments)
    scale, sizes = _arch_layout(spans, inner, names) if arch else _layout(spans, inner, texts, names)
    with style():
        room = sizes[0][1] + sizes[1][1] + GAP + FOOT
        sheet = open_sheet(result, MANY_SUBJECT if two else SUBJECT, WIDTH, room, _notes(arch, two))
        left, top = sheet.room.left, sheet.room.top
        beside = left + sizes[1][0] + GAP
        places = [Area(left, top - sizes[0][1], sizes[0][0], sizes[0][1])]
        places.append(Area(left, places[0].bottom - GAP - sizes[1][1], sizes[1][0], sizes[1][1]))
        if not two:
            places.append(Area(beside, places[0].bottom, sheet.room.right - beside, sizes[0][1]))
        middles = [0.5 * (b + h) for b, h in zip(low, high, strict=True)]
        for (face, seen), own, place, middle in zip(views, strokes, places, middles, strict=False):
            draw_view(sheet.axes(place), seen, face, own, middle, scale, place)
        _legend(sheet, scale, result, [stroke for own in strokes for stroke in own])
        listed = places[0].top if two and not arch else places[1].top - (0.0 if arch else 0.05)
        _names(sheet, result, Area(beside + 0.1, places[1].bottom, sheet.room.right - beside - 0.1,
                                   listed - places[1].bottom))  # fmt: skip
    return sheet


def _notes(arch: bool, two: bool) -> tuple[str, ...]:
    """What stands under the views."""
    return (f"{NOTES[0]} {MANY_NOTE}" if two else NOTES[0], *((ARCH_NOTE,) if arch else ()))


def _arch_layout(spans: Sequence[Array], inner: float, names: int) -> tuple[float, list[Array]]:
    """The same as ``_layout`` for an unrolled facial view over an occlusal one with the names beside it."""
    extra = np.array([0.0, TITLE + LOW])
    scale = min(
        (inner - 2.0 * ARCH_MARGIN) / spans[0][0], (inner - GAP - NAMES_WIDTH - 2.0 * MARGIN[0]) / spans[1][0]
    )
    sizes = [scale * span + 2.0 * MARGIN + extra for span in spans]
    sizes[0][0], sizes[1][0] = inner, inner - GAP - NAMES_WIDTH
    sizes[1][1] = max(sizes[1][1], 3.5 * names * line_height(SMALL_SIZE) + 0.1)
    return float(scale), sizes


def _layout(spans: Sequence[Array], inner: float, texts: int, names: int) -> tuple[float, list[Array]]:
    """Inches per mm, and the size of the three views in inches."""
    extra = np.array([0.0, TITLE + LOW])
    least = np.maximum(SMALLEST, [0.0, 0.24 * min(texts, MOST_TEXTS) + TITLE])
    wide = inner - GAP - 4.0 * MARGIN[0]
    scale = min(
        wide / (spans[0][0] + spans[2][0]),
        (inner - GAP - SMALLEST[0] - 2.0 * MARGIN[0]) / spans[0][0],
        (TALLEST - 4.0 * MARGIN[1] - 2.0 * (TITLE + LOW)) / (spans[0][1] + spans[1][1]),
    )
    sizes = [scale * span + 2.0 * MARGIN + extra for span in spans]
    sizes[0][1] = sizes[2][1] = max(sizes[0][1], least[1])
    listed = 2.5 * names * line_height(SMALL_SIZE) + 0.1
    sizes[1][1] = max(sizes[1][1], SMALLEST[1], listed - sizes[0][1] if names > labels.MANY else listed)
    sizes[2][0] = max(sizes[2][0], SMALLEST[0])
    # What is left of the width goes to the wider column.
    sizes[0][0] = sizes[1][0] = inner - GAP - sizes[2][0]
    return float(scale), sizes


def extent_of(result: RunResult) -> float:
    everything = np.concatenate(
        [
            result.positions_mm,
            *(wire.passive_positions_mm for wire in result.wires),
            *(body(a, result.wire_of(a)) for a in result.attachments),
        ]
    )
    return float(np.linalg.norm(np.ptp(everything, axis=0)))


def bounds_of(result: RunResult, face: Face, strokes: Sequence[Stroke]) -> tuple[Array, Array]:
    points = []
    for wire in result.wires:
        points += [
            face.project(wire.passive_positions_mm),
            *wire_band(wire, face),
            *wire_ends(wire, face, []),
        ]
    points += [silhouette(body(item, result.wire_of(item)), face) for item in result.attachments]
    points += [s.arc for s in strokes if s.arc is not None]
    points += [np.array([s.start, s.start + s.arrow]) for s in strokes if s.arrow is not None]
    everything = np.concatenate(points)
    return everything.min(axis=0), everything.max(axis=0)


def draw_view(
    axes: Axes,
    result: RunResult,
    face: Face,
    strokes: Sequence[Stroke],
    middle: Array,
    scale: float,
    place: Area,
) -> None:
    frame_view(axes, middle, scale, place)
    title = axes.text(0.08 / place.width, 1.0 - 0.09 / place.height, face.title, transform=axes.transAxes,
                      fontsize=TEXT_SIZE, weight="bold", verticalalignment="top")  # fmt: skip
    if not any(stroke.load.shows_force or stroke.load.shows_moment for stroke in strokes):
        axes.text(0.08 / place.width, 1.0 - 0.33 / place.height, NOTHING, transform=axes.transAxes,
                  fontsize=SMALL_SIZE, color=GREY, verticalalignment="top")  # fmt: skip
    taken = draw_appliance(axes, result, face)
    arrows: list[Array] = []
    notes = _stroke_notes(axes, strokes, face, arrows)
    taken += arrows
    names: list[Note] = []
    if face.key != "mesiodistal":
        for joint in result.joints:
            names.append(
                Note(
                    joint.name, face.project(np.array(joint.place_mm)), np.array([0.0, 1.0]), INK, SMALL_SIZE
                )
            )
    if face.key != "mesiodistal" or len(strokes) == 1:
        for stroke in strokes:
            outline = silhouette(body(stroke.load.attachment, result.wire_of(stroke.load.attachment)), face)
            down = stroke.arrow is None or stroke.start[1] + 0.5 * stroke.arrow[1] >= stroke.load.place[1]
            foot = np.array([outline[:, 0].mean(), outline[:, 1].min() if down else outline[:, 1].max()])
            text = f"{stroke.load.number} {stroke.load.attachment.name}"
            if len(strokes) > labels.MANY:
                text = str(stroke.load.attachment.tooth if labels.by_tooth(result) else stroke.load.number)
            names.append(Note(text, foot, np.array([0.0, -1.0 if down else 1.0]), INK, SMALL_SIZE))
    # The first to be placed stand nearest: of many attachments the numbers, else the values.
    notes = names + notes if len(strokes) > labels.MANY else notes + names
    write_notes(axes, notes, taken, keep_off=[title, *directions(axes, face, scale)], arrows=arrows)


def frame_view(axes: Axes, middle: Array, scale: float, place: Area) -> None:
    """The limits of a view round ``middle`` (2,) mm at ``scale`` inches per mm, and its frame."""
    half = 0.5 * np.array([place.width, place.height]) / scale
    # The title takes the upper edge, the directions the lower one.
    middle = middle + np.array([0.0, 0.5 * (TITLE - LOW) / scale])
    axes.set_xlim(middle[0] - half[0], middle[0] + half[0])
    axes.set_ylim(middle[1] - half[1], middle[1] + half[1])
    axes.set_xticks([])
    axes.set_yticks([])
    for spine in axes.spines.values():
        spine.set_color(PALE)


def draw_appliance(axes: Axes, result: RunResult, face: Face) -> list[Array]:
    """Attachments, passive shape and wire of a view; gives their lines (k, 2) mm, which texts keep off."""
    taken: list[Array] = []
    for item in result.attachments:
        outline = silhouette(body(item, result.wire_of(item)), face)
        slot = item.slot_size_mm is not None
        axes.add_patch(Polygon(outline, closed=True, facecolor=PALE if slot else WALL, edgecolor=GREY, linewidth=0.9,
                               zorder=1.0, gid="slot" if slot else item.kind))  # fmt: skip
        taken += _filled(outline)
    # of several wires the nearer one is drawn over the others
    nearer = sorted(result.wires, key=lambda wire: float((wire.positions_mm @ face.towards).mean()))
    for number, wire in enumerate(nearer):
        taken += draw_wire(axes, result, wire, face, (number, len(nearer)))
    for item in result.attachments:
        outline = silhouette(body(item, result.wire_of(item)), face)
        axes.add_patch(
            Polygon(outline, closed=True, facecolor="none", edgecolor=INK, linewidth=0.9, zorder=4.0)
        )
    for joint in result.joints:
        spot = face.project(np.array(joint.place_mm))
        axes.plot(*spot, marker="o", markersize=7.0, markerfacecolor="none", markeredgecolor=INK,
                  markeredgewidth=1.4, zorder=4.5, gid="joint")  # fmt: skip
    return taken


def _stroke_notes(axes: Axes, strokes: Sequence[Stroke], face: Face, drawn: list[Array]) -> list[Note]:
    """Draw the arrows, add their lines to ``drawn``, and give their values.

    In the mesiodistal view attachments stand behind each other, so that a value begins with its attachment's
    number; with many attachments values are in one unit.
    """
    behind = face.key == "mesiodistal" and len(strokes) > 1
    many = len(strokes) > labels.MANY
    size = SMALL_SIZE if many else TEXT_SIZE
    notes = []

    def note(stroke: Stroke, value: str, at: Array, direction: Array, colour: str) -> None:
        text = f"{stroke.load.number}: {value}" if behind else value
        notes.append(Note(text, at, direction, colour, size, bold=True))

    for stroke in strokes:
        if stroke.arrow is not None:
            straight_arrow(axes, stroke.start, stroke.arrow)
            drawn.append(np.array([stroke.start, stroke.start + stroke.arrow]))
            value = labels.force_text(float(np.linalg.norm(stroke.load.force)), many)
            at, direction = stroke.start + stroke.arrow, stroke.arrow
            if abs(stroke.arrow[0]) > 2.0 * abs(stroke.arrow[1]):
                # Over or under the middle of a level arrow, away from the wire.
                up = -1.0 if stroke.start[1] < stroke.load.place[1] else 1.0
                at, direction = stroke.start + 0.5 * stroke.arrow, np.array([0.0, up])
            note(stroke, value, at, direction, FORCE)
        if stroke.arc is not None:
            round_arrow(axes, stroke.arc)
            drawn.append(stroke.arc)
            foot = stroke.arc[len(stroke.arc) // 2]
            note(
                stroke,
                labels.moment_text(abs(stroke.load.moment), many),
                foot,
                foot - stroke.load.place,
                MOMENT,
            )
    return notes


def _filled(outline: Array) -> list[Array]:
    """Lines (2, 2) that fill a convex shape, so that texts keep out of it."""
    closed = np.concatenate((outline, outline[:1]))
    centre = outline.mean(axis=0)
    return [closed] + [centre + share * (closed - centre) for share in (0.3, 0.6, 0.85)]


def directions(axes: Axes, face: Face, scale: float) -> list[Text]:
    """Two small axes in the lower left corner; gives their words."""
    corner = np.array([axes.get_xlim()[0], axes.get_ylim()[0]])
    up = face.axes[1].sum() > 0.0
    base = corner + np.array([0.16, 0.16 if up else 0.42]) / scale
    length = 0.26 / scale
    axis_arrow(axes, base, np.array([length, 0.0]))
    axis_arrow(axes, base, np.array([0.0, length if up else -length]))
    tips = (
        base + np.array([length + 0.04 / scale, 0.0]),
        base + [0.07 / scale, 1.05 * length if up else -1.05 * length],
    )
    return [
        axes.text(tip[0], tip[1], word, fontsize=SMALL_SIZE, verticalalignment="center")
        for tip, word in zip(tips, face.words, strict=True)
    ]


def _legend(sheet: Sheet, scale: float, result: RunResult, strokes: Sequence[Stroke]) -> None:
    """Scale bar and meaning of what is drawn, along the foot of the sheet."""
    bar = labels.round_length(1.4 / scale)
    left, y = sheet.room.left, sheet.room.bottom + 0.12
    ends = np.array([left, left + bar * scale]) / sheet.width
    sheet.figure.add_artist(
        Line2D(ends, [y / sheet.height] * 2, color=INK, linewidth=3.0, solid_capstyle="butt")
    )
    sheet.figure.text(ends[1] + 0.08 / sheet.width, y / sheet.height, f"{bar:g} mm", fontsize=SMALL_SIZE,
                      verticalalignment="center")  # fmt: skip
    handles: list[Line2D | Patch] = []
    if any(stroke.arrow is not None for stroke in strokes):
        handles.append(Line2D([], [], color=FORCE, linewidth=2.6, label="force on the tooth (straight)"))
    if any(stroke.arc is not None for stroke in strokes):
        handles.append(Line2D([], [], color=MOMENT, linewidth=2.6, label="moment on the tooth (round)"))
    handles.append(Patch(facecolor=WIRE, edgecolor=INK, label="engaged wire"))
    if labels.moves(result, 1.0):
        handles.append(Line2D([], [], color=PASSIVE, linestyle="--", label="passive shape"))
    if result.joints:
        handles.append(Line2D([], [], color=INK, marker="o", markersize=7.0, markerfacecolor="none", linestyle="none",
                              label="joint of two wires"))  # fmt: skip
    if any(item.slot_size_mm is not None for item in result.attachments):
        handles.append(Patch(facecolor=PALE, edgecolor=INK, label="slot"))
    others = sorted({item.kind for item in result.attachments if item.slot_size_mm is None})
    if others:
        handles.append(Patch(facecolor=WALL, edgecolor=INK, label=" or ".join(others)))
    sheet.figure.legend(
        handles=handles, loc="lower right", frameon=False, fontsize=SMALL_SIZE, ncols=len(handles),
        borderaxespad=0.0, borderpad=0.0,
        bbox_to_anchor=(sheet.room.right / sheet.width, (sheet.room.bottom + 0.03) / sheet.height), columnspacing=1.6,
    )  # fmt: skip


def _names(sheet: Sheet, result: RunResult, place: Area) -> None:
    """What the numbers stand for, and the force system: in the words of the trade, or briefly where these have no
    room."""
    names = [
        wrapped(_heading(result, i), SMALL_SIZE, place.width, bold=True)
        for i in range(len(result.attachments))
    ]

    kinds = ([item.words or (_brief(item),) for item in result.attachments],
             [(_brief(item), _by_order(item)) for item in result.attachments],
             [(_brief(item),) for item in result.attachments])  # fmt: skip
    for kind in kinds:
        words = [[x for word in own for x in wrapped(word, SMALL_SIZE, place.width)] for own in kind]
        lines = sum(map(len, names)) + sum(map(len, words)) + 0.5 * len(names)
        if lines * line_height(SMALL_SIZE) <= place.height:
            break
    top = place.top
    for name, sentences in zip(names, words, strict=True):
        top = sheet.write(name, place.left, top, SMALL_SIZE, weight="bold")
        top = sheet.write(sentences, place.left, top, SMALL_SIZE) - 0.5 * line_height(SMALL_SIZE)


def _heading(result: RunResult, index: int) -> str:
    """What the picture calls the attachment, and its name."""
    item = result.attachments[index]
    if item.tooth is not None and labels.by_tooth(result):
        own = "" if item.tooth in item.name else f" ({item.name})"
        return f"{item.tooth}  {Tooth(item.tooth).name}{own}"
    return f"{index + 1}  {labels.name_text(item)}"


def _by_order(item: AttachmentResult) -> str:
    """The moments of the three orders, signed."""
    numbers = zip(("1st", "2nd", "3rd"), ORDERS, strict=True)
    values = ", ".join(f"{number} {shown(item.orders[order].moment_nmm)}" for number, order in numbers)
    return f"by order: {values} N mm".replace("-", "\N{MINUS SIGN}")


def _brief(item: AttachmentResult) -> str:
    """Size of the whole force and moment."""
    force = labels.force_text(float(np.linalg.norm(item.force_n)))
    return f"{force}, {labels.moment_text(float(np.linalg.norm(item.moment_nmm)))}"
