"""Draws one wire in a view: its passive shape dashed, itself at its true thickness, what is nearer over what is not."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Polygon
from numpy.typing import NDArray

from cases.results import RunResult, WireResult
from cases.show.faces import Face, Piece, wire_band, wire_ends, wire_pieces
from cases.show.palette import INK, PASSIVE, WIRE

Array = NDArray[np.float64]


def draw_wire(
    axes: Axes, result: RunResult, wire: WireResult, face: Face, place: tuple[int, int]
) -> list[Array]:
    """One wire with its passive shape, drawn as number ``place[0]`` of ``place[1]``; gives lines to keep off."""
    passive = face.project(wire.passive_positions_mm)
    axes.plot(
        passive[:, 0], passive[:, 1], color=PASSIVE, linestyle="--", linewidth=1.4, zorder=2.0, gid="passive"
    )
    at = [np.asarray(item.pose.position) for item in result.attachments if result.wire_of(item) is wire]
    number, count = place
    first, share = 2.9 + 0.3 * number / count, 0.2 / count
    pieces = wire_pieces(wire, face)
    for i, piece in enumerate(pieces):
        _wire_piece(axes, piece, first + share * i / len(pieces))
    for outline in wire_ends(wire, face, at):
        axes.add_patch(
            Polygon(
                outline, closed=True, facecolor=WIRE, edgecolor=INK, linewidth=0.7, zorder=first + 0.3 / count
            )
        )
    return [passive, face.project(wire.positions_mm), *wire_band(wire, face)]


def _wire_piece(axes: Axes, piece: Piece, depth: float) -> None:
    """A part of the wire; ``depth`` is the order in which it is drawn."""
    if not piece.sides:
        # Edges first, then all fills: what overlaps makes one shape.
        for outline in piece.fills:
            axes.add_patch(
                Polygon(outline, closed=True, facecolor=INK, edgecolor=INK, linewidth=1.4, zorder=depth)
            )
    for outline in piece.fills:
        axes.add_patch(
            # An edge of its own colour: no seam shows between two pieces.
            Polygon(outline, closed=True, facecolor=WIRE, edgecolor=WIRE, linewidth=0.5 if piece.sides else 0.0,
                    zorder=depth, gid="wire")
        )  # fmt: skip
    for side in piece.sides:
        axes.plot(side[:, 0], side[:, 1], color=INK, linewidth=0.8, zorder=depth, solid_capstyle="round")
