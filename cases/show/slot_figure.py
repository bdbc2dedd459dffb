"""Draws the mesiodistal (third-order) view of slots: one card a slot, drawing on the left, words on the right."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Polygon, Rectangle, Wedge
from numpy.typing import NDArray

from cases.results import RunResult
from cases.show import labels
from cases.show.loads import LEFT_OUT
from cases.show.palette import FORCE, GREY, INK, MOMENT, PALE, WALL, WIRE
from cases.show.sheet import SMALL_SIZE, TEXT_SIZE, Area, Sheet, line_height, open_sheet, style, wrapped
from cases.show.slot_view import CENTRE, FAR, NEAR, SlotView, drawn, forces_by_wall
from cases.show.strokes import BROKEN, Note, axis_arrow, round_arrow, write_notes
from cases.show.view import arc
from cases.words import LEAST_SHOWN, SPOKEN_SHARE, shown
from geometry.attachments import FLOOR, LOWER_WALL, OUTER_WALL, UPPER_WALL
from geometry.tooth import Tooth

Array = NDArray[np.float64]

DRAWING, WORDS, CARD_HEIGHT = 3.6, 2.75, 3.35
"""Width of a card's drawing and of its words, height of a card, inches."""
GAP = 0.3
LEGEND_LINE = 0.19
SUBJECT = "Mesiodistal view of each slot, along its +x, in the slot's own axes, to scale"
NOTES = (
    "Round arrow: torque on the tooth about the slot's length. Angles are those of the wire to the slot, positive "
    "about +x (clockwise here). Play is one-sided from centred. The near mouth is the one at \N{MINUS SIGN}x. Contact "
    "forces are summed over each half of the slot; those below 0.1 % of the slot's largest are left out.",
)
ROLL = "#b9c1cc"
LINES = {CENTRE: ("-", 1.6, INK), NEAR: ("--", 1.1, GREY), FAR: (":", 1.3, GREY)}
# An angle that differs from another by less than this is not drawn beside it, degrees.
APART = 0.75
# Where the rays of the angles end, in half diagonals of the slot's body.
RAY = 1.26
# Room on the left of the slot's centre, in half heights of a drawing.
LEFT = 0.8


def draw_slots(result: RunResult, views: Sequence[SlotView]) -> Sheet:
    """A sheet with one card for each of the ``views``, two beside each other."""
    columns = min(2, len(views))
    rows = -(-len(views) // columns)
    width = 0.7 + columns * (DRAWING + WORDS) + (columns - 1) * GAP
    across = 4 if columns == 2 else 3
    least = least_force(result)
    handles = legend_handles(views, least)
    with style():
        heights = [
            max(CARD_HEIGHT, *(_words_height(view) + 0.35 for view in views[row * columns :][:columns]))
            for row in range(rows)
        ]
        room = sum(heights) + 0.25 + LEGEND_LINE * -(-len(handles) // across)
        sheet = open_sheet(result, SUBJECT, width, room, NOTES)
        # One scale for all slots of a sheet, so that they can be compared.
        reach = max(reach_of(view) for view in views)
        for i, view in enumerate(views):
            left = sheet.room.left + (i % columns) * (DRAWING + WORDS + GAP)
            top = sheet.room.top - sum(heights[: i // columns])
            draw_slot(
                sheet.axes(Area(left, top - CARD_HEIGHT, DRAWING, CARD_HEIGHT - 0.15)), view, reach, least
            )
            write_words(sheet, view, left + DRAWING + 0.12, top - 0.22)
        _legend(sheet, handles, across)
    return sheet


def least_force(result: RunResult) -> float:
    """Torque, N mm, below which no arrow is drawn: a small share of the largest."""
    most = max(abs(item.orders["third"].moment_nmm) for item in result.attachments)
    return max(LEAST_SHOWN, LEFT_OUT * most)


def _shows_torque(view: SlotView, least: float) -> bool:
    """Whether the torque is worth an arrow: not small beside other slots', nor beside this slot's whole moment."""
    whole = float(np.linalg.norm(view.attachment.moment_nmm))
    return abs(view.third.moment_nmm) >= max(least, SPOKEN_SHARE * whole)


def _wall(view: SlotView) -> float:
    return 0.24 * view.height_mm


def reach_of(view: SlotView) -> float:
    """Half the height of what a drawing shows, mm: the body, the torque arrow above it and its value."""
    return 1.62 * float(np.hypot(*_body(view)))


def _body(view: SlotView) -> Array:
    """(2,): half depth and half height of the drawn body, mm."""
    return np.asarray(np.abs(view.corners).max(axis=0) + _wall(view))


def draw_slot(axes: Axes, view: SlotView, reach: float, least: float) -> None:
    box = axes.get_position()
    figure_width, figure_height = axes.get_figure(root=True).get_size_inches()  # type: ignore[union-attr]
    share = (box.width * figure_width) / (box.height * figure_height)
    # The slot stands left of the middle: the angles are written on its right.
    axes.set_xlim(-LEFT * reach, (2.0 * share - LEFT) * reach)
    axes.set_ylim(-reach, reach)
    axes.set_aspect("equal")
    axes.set_axis_off()
    corners, body = view.corners, _body(view)
    # The outer wall (a door or the tube's own) is drawn thinner; thicknesses are for the eye only.
    outer = 0.5 * view.depth_mm + (0.5 * _wall(view) if view.closed else 0.0)
    axes.add_patch(
        Rectangle(
            (-body[0], -body[1]), body[0] + outer, 2.0 * body[1], facecolor=PALE, edgecolor=WALL, zorder=1.0
        )
    )
    axes.add_patch(Polygon(corners, closed=True, facecolor="white", edgecolor="none", zorder=1.5, gid="slot"))
    walls = corners[[1, 0, 3, 2, *([1] if view.closed else [])]]
    axes.plot(walls[:, 0], walls[:, 1], color=GREY, linewidth=1.0, zorder=1.6)
    if not view.closed:
        # Nothing is there, so no line of the body's either.
        axes.plot(
            corners[1:3, 0], corners[1:3, 1], color="white", linewidth=2.0, zorder=1.55, gid="open front"
        )
    if view.ligature_mm is not None:
        axes.plot(
            [view.ligature_mm] * 2, [-body[1], body[1]], color=GREY, linewidth=2.2, zorder=3.0, gid="ligature"
        )
    sides = {LOWER_WALL: (0, 1), OUTER_WALL: (1, 2), UPPER_WALL: (2, 3), FLOOR: (3, 0)}
    for wall in view.third.stopping_walls:
        ends = corners[list(sides[wall])]
        axes.plot(
            ends[:, 0], ends[:, 1], color=INK, linewidth=3.0, solid_capstyle="butt", zorder=2.0, gid="stop"
        )
    for place, outline in view.outlines.items():
        line, thick, colour = LINES[place]
        axes.add_patch(
            Polygon(
                outline, closed=True, facecolor=WIRE if place == CENTRE else "none", edgecolor=colour,
                linestyle=line, linewidth=thick, zorder=4.0 if place == CENTRE else 4.5, gid=f"wire at {place}",
            )
        )  # fmt: skip
    for touch in drawn(view.touches):
        far = touch.half == "far"
        axes.plot(
            *touch.place, marker="o", markersize=9.0 if far else 5.0, markerfacecolor="none" if far else FORCE,
            markeredgecolor=FORCE, markeredgewidth=1.6, zorder=7.0, gid=f"contact {touch.half}",
        )  # fmt: skip
    notes, taken = _angles(axes, view, float(np.hypot(*body)))
    notes += _torque(axes, view, float(np.hypot(*body)), taken, least)
    notes.append(
        Note("floor", np.array([-body[0], 0.0]), np.array([-1.0, 0.0]), GREY, SMALL_SIZE, nearest=3.0)
    )
    taken.append(np.array([[-body[0], -body[1]], [outer, -body[1]], [outer, body[1]], [-body[0], body[1]],
                           [-body[0], -body[1]]]))  # fmt: skip
    # The middle of the body is full: texts keep out of it.
    taken += [np.array([[-body[0], y], [outer, y]]) for y in np.linspace(-body[1], body[1], 24)]
    taken.append(_corner(axes, view, reach))
    write_notes(axes, notes, taken, margin=1.0)


def _angles(axes: Axes, view: SlotView, radius: float) -> tuple[list[Note], list[Array]]:
    """The depth axis of slot, passive and engaged wire, the angles between them, and the play."""
    third = view.third
    notes: list[Note] = []
    taken: list[Array] = []
    engaged = third.engagement_deg
    length = RAY * radius

    def ray(angle: float, line: str, colour: str, thick: float, end: float, text: str | None) -> None:
        points = view.ray(angle, end)
        axes.plot(points[:, 0], points[:, 1], linestyle=line, color=colour, linewidth=thick, zorder=5.0)
        # The last bit is left to the text that belongs to the ray.
        taken.append(np.array([points[0], points[0] + 0.95 * (points[1] - points[0])]))
        if text is not None:
            notes.append(
                Note(
                    text,
                    points[1],
                    points[1] - points[0],
                    colour,
                    SMALL_SIZE,
                    bold=colour == INK,
                    nearest=3.0,
                )
            )

    if third.play_deg is not None:
        for side in (-1.0, 1.0):
            ray(side * third.play_deg, (0, (1, 2)), GREY, 0.8, 0.96 * length, None)  # type: ignore[arg-type]
        fan = arc(view.middle, 0.93 * length, 0.0, 2.0 * np.radians(third.play_deg))
        axes.plot(fan[:, 0], fan[:, 1], color=GREY, linewidth=0.8, zorder=5.0)
        taken.append(fan)
        if third.play_left_deg is not None and engaged is not None:
            # What the tilts of the engaged wire leave of the play, to either side of centred.
            reach = abs(engaged) + third.play_left_deg
            axes.add_patch(
                Wedge(
                    tuple(view.middle), 0.93 * length, -reach, reach, width=0.1 * length, facecolor=ROLL,
                    edgecolor="none", zorder=4.8, gid="play left",
                )
            )  # fmt: skip
    ray(0.0, (0, (8, 3, 2, 3)), GREY, 0.8, length, None)  # type: ignore[arg-type]
    if engaged is None:
        return notes, taken
    ray(engaged, "-", INK, 1.2, length, f"engaged {labels.degrees_text(engaged)}")
    if abs(third.activation_deg - engaged) > APART:
        ray(
            third.activation_deg,
            "--",
            GREY,
            1.2,
            length,
            f"passive {labels.degrees_text(third.activation_deg)}",
        )
    if abs(engaged) > APART:
        turn = -np.radians(engaged)
        swept = arc(view.middle, 0.85 * length, 0.5 * turn, turn)
        axes.plot(swept[:, 0], swept[:, 1], color=INK, linewidth=2.0, zorder=5.2)
    return notes, taken


def _torque(axes: Axes, view: SlotView, radius: float, taken: list[Array], least: float) -> list[Note]:
    """The torque as a round arrow above the slot, where it is worth one."""
    moment = view.third.moment_nmm
    if not _shows_torque(view, least):
        return []
    # A positive moment about x turns y to z: clockwise for this viewer.
    points = arc(np.zeros(2), 1.1 * radius, 0.5 * np.pi, -np.sign(moment) * np.radians(110.0))
    round_arrow(axes, points, broken=not view.third.carries_couple)
    taken.append(points)
    return [
        Note(labels.moment_text(abs(moment)), points[len(points) // 2], np.array([0.0, 1.0]), MOMENT, TEXT_SIZE,
             bold=True)
    ]  # fmt: skip


def _corner(axes: Axes, view: SlotView, reach: float) -> Array:
    """Two small axes with their words and the scale bar, along the lower edge; gives their place."""
    tooth = None if view.attachment.tooth is None else Tooth(view.attachment.tooth)
    left = axes.get_xlim()[0]
    origin = np.array([left + 0.24 * reach, -0.86 * reach])
    length = 0.2 * reach
    up = 1.0 if tooth is None else float(tooth.occlusal_sign)
    base = origin + np.array([0.0, 0.0 if up > 0.0 else length])
    for end, word, place in (
        (np.array([length, 0.0]), "z" if tooth is None else "facial", ("left", "center")),
        (
            np.array([0.0, up * length]),
            "y" if tooth is None else "occlusal",
            ("center", "bottom" if up > 0 else "top"),
        ),
    ):
        axis_arrow(axes, base, end)
        at = base + end * (1.0 + 0.03 * reach / length)
        axes.text(
            at[0], at[1], word, fontsize=SMALL_SIZE, horizontalalignment=place[0], verticalalignment=place[1]
        )
    bar = labels.round_length(0.6 * reach)
    right = axes.get_xlim()[1] - 0.06 * reach
    axes.plot(
        [right - bar, right],
        [-0.92 * reach] * 2,
        color=INK,
        linewidth=2.5,
        solid_capstyle="butt",
        gid="scale",
    )
    axes.text(right - 0.5 * bar, -0.89 * reach, f"{bar:g} mm", fontsize=SMALL_SIZE, horizontalalignment="center",
              verticalalignment="bottom")  # fmt: skip
    return np.array([[left, -0.80 * reach], [right, -0.80 * reach]])


def card_lines(view: SlotView) -> list[str]:
    """The words beside a drawing, one statement a line."""
    third = view.third
    height, depth = view.height_mm, view.depth_mm
    out = [
        f"slot {labels.inches(height)} x {labels.inches(depth)} in ({height:.3f} x {depth:.3f} mm), "
        f"{view.width_mm:.2f} mm wide",
        f"third order: {third.words.replace(': ', ', ')}",
        f"angle of activation {labels.degrees_text(third.activation_deg)}",
    ]
    if third.engagement_deg is not None:
        out.append(f"angle of engagement {labels.degrees_text(third.engagement_deg)}")
    if third.play_deg is None:
        out.append("turns freely in this slot: no wall stops it")
    else:
        out.append(
            f"play alone ±{labels.degrees_text(third.play_deg)} ({labels.degrees_text(2.0 * third.play_deg)} in all)"
        )
        if third.play_left_deg is not None:
            out.append(f"play left as engaged {labels.degrees_text(third.play_left_deg)}")
        if third.stopping_walls:
            out.append(f"stops: {', '.join(third.stopping_walls)}")
    if CENTRE not in view.outlines:
        out.append("the wire ends before the middle of this slot")
    by_wall = forces_by_wall(drawn(view.touches))
    if not by_wall:
        acts = any(abs(order.moment_nmm) >= LEAST_SHOWN for order in view.attachment.orders.values())
        out.append("touches no wall" if acts else "touches no wall: passive in its play")
    out += [f"{half} half on {wall}: {shown(force)} N" for (wall, half), force in by_wall.items()]
    return out


def _paragraphs(view: SlotView) -> list[tuple[list[str], float, dict[str, str], float]]:
    """What a card says: lines, their size in points, how they are written, and the room below them, inches."""
    item, usual = view.attachment, 0.18 * line_height(TEXT_SIZE)
    heading = f"tooth {item.tooth}" if item.name == item.tooth else item.name
    name = wrapped(heading, TEXT_SIZE + 1.5, WORDS - 0.15, bold=True)
    under = 0.4 * line_height(TEXT_SIZE)
    told = [(name, TEXT_SIZE + 1.5, {"weight": "bold"}, under if item.tooth is None else 0.0)]
    if item.tooth is not None:
        number = "" if item.name == item.tooth else f"tooth {item.tooth}, "
        told.append(([f"{number}{Tooth(item.tooth).name}"], TEXT_SIZE, {}, under))
    for text in card_lines(view):
        emphasised = text.startswith("third order:")
        lines = wrapped(text, TEXT_SIZE, WORDS - 0.15, bold=emphasised)
        told.append((lines, TEXT_SIZE, {"weight": "bold", "color": MOMENT} if emphasised else {}, usual))
    return told


def _words_height(view: SlotView) -> float:
    """Height of a card's words, inches."""
    return sum(len(lines) * line_height(size) + below for lines, size, _, below in _paragraphs(view))


def write_words(sheet: Sheet, view: SlotView, left: float, top: float) -> None:
    for lines, size, how, below in _paragraphs(view):
        top = sheet.write(lines, left, top, size, **how) - below


def legend_handles(views: Sequence[SlotView], least: float) -> list[Line2D | Patch]:
    """Lines and marks that occur in the ``views``, with what they mean."""
    halves = {touch.half for view in views for touch in drawn(view.touches)}
    handles: list[Line2D | Patch] = [
        Patch(facecolor=WIRE, edgecolor=INK, label="wire at the slot's centre"),
        Line2D([], [], color=GREY, linestyle="--", label="wire at the near mouth"),
        Line2D([], [], color=GREY, linestyle=":", label="wire at the far mouth"),
    ]
    if any(view.ligature_mm is not None for view in views):
        handles.append(Line2D([], [], color=GREY, linewidth=2.2, label="ligature on a wire on the floor"))
    if "near" in halves:
        handles.append(Line2D([], [], color=FORCE, marker="o", markersize=5, linestyle="none",
                              label="contact, near half"))  # fmt: skip
    if "far" in halves:
        handles.append(Line2D([], [], color=FORCE, marker="o", markersize=9, markerfacecolor="none", linestyle="none",
                              markeredgewidth=1.6, label="contact, far half"))  # fmt: skip
    if any(view.third.stopping_walls for view in views):
        handles.append(Line2D([], [], color=INK, linewidth=3.0, label="wall that stops a roll"))
    if any(view.third.play_deg is not None for view in views):
        handles.append(
            Line2D([], [], color=GREY, linewidth=0.8, linestyle=(0, (1, 2)), label="play alone, either way")
        )
    if any(view.third.play_left_deg is not None for view in views):
        handles.append(Patch(facecolor=ROLL, edgecolor="none", label="room to roll as engaged"))
    if any(_shows_torque(view, least) and not view.third.carries_couple for view in views):
        handles.append(
            Line2D([], [], color=MOMENT, linewidth=2.6, linestyle=BROKEN, label="moment, but no couple")
        )
    return handles


def _legend(sheet: Sheet, handles: Sequence[Line2D | Patch], across: int) -> None:
    """Meaning of lines and marks, ``across`` of them beside each other."""
    sheet.figure.legend(
        handles=handles,
        loc="lower left",
        bbox_to_anchor=(sheet.room.left / sheet.width, (sheet.room.bottom + 0.02) / sheet.height),
        ncols=across,
        frameon=False,
        fontsize=SMALL_SIZE,
        borderaxespad=0.0,
        borderpad=0.0,
        columnspacing=1.8,
    )
