"""A passive shape as a file that a case can name: ``passive_shape = [ { shape = "released.toml" } ]``.

Every piece is written as a curve by its length and its turns about the wire's own axes, with all digits, so the shape
read back is the shape written, to rounding.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from geometry.wire_shapes import PassiveShape

TURNS = ("about_x", "about_y", "about_z")
SHORTEST = 1e-9
"""mm: what is shorter is the rounding of longer things."""


def shape_text(shape: PassiveShape, remarks: tuple[str, ...]) -> str:
    """The file's text, with remarks at its head."""
    head = "".join(f"# {line}\n" for line in remarks)
    return f"{head}passive_shape = [\n" + "".join(f"    {piece},\n" for piece in _pieces(shape)) + "]\n"


def _pieces(shape: PassiveShape) -> Iterator[str]:
    """Pieces as a case file has them, with marks where stations are; a piece is cut in two where one stands within."""
    stations = sorted(shape.stations, key=lambda one: one.at)
    begin = 0.0
    for piece, end in zip(shape.pieces, shape.breaks[1:].tolist(), strict=True):
        while stations and stations[0].at < end - SHORTEST:
            if stations[0].at > begin + SHORTEST:
                yield _curve(stations[0].at - begin, piece.curvature)
                begin = stations[0].at
            yield _mark(stations.pop(0).name)
        yield _curve(end - begin, piece.curvature)
        begin = end
    for station in stations:
        yield _mark(station.name)


def _mark(name: str) -> str:
    escaped = name.replace("\\", "\\\\").replace('"', '\\"')
    return f'{{ station = "{escaped}" }}'


def _curve(length: float, curvature: tuple[float, float, float]) -> str:
    parts = [f'curve = "{length!r} mm"']
    parts += [
        f'{key} = "{math.degrees(rate * length)!r} deg"'
        for key, rate in zip(TURNS, curvature, strict=True)
        if rate != 0.0
    ]
    return f"{{ {', '.join(parts)} }}"
