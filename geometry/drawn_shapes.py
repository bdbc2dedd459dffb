"""Larger shapes composed of pieces of constant curvature: helices, mirror images, named stations.

Everything here gives or takes a sequence of *items*: pieces of the wire, and marks, which name the place they
stand at and have no length.  Sequences are joined by writing one after the other.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from geometry.wire_shapes import Bend, Curved, PassiveShape, Piece, Station, Straight, Twist

Order = Literal["first", "second"]
Hand = Literal["right", "left"]


@dataclass(frozen=True, slots=True)
class Mark:
    """Names the place where it stands; raises ValueError for a blank name."""

    name: str

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise ValueError("a station needs a name")


Item = Piece | Mark


def shape_of(items: Iterable[Item]) -> PassiveShape:
    """The passive shape of the pieces, its stations where the marks stand.

    A name that comes more than once is numbered along the wire: "apex 1", "apex 2".  Raises ValueError where
    there is no piece, or where a numbered name is also given to another mark.
    """
    pieces: list[Piece] = []
    marks: list[tuple[str, float]] = []
    length = 0.0
    for item in items:
        if isinstance(item, Mark):
            marks.append((item.name, length))
        else:
            pieces.append(item)
            length += item.length
    total = Counter(name for name, _ in marks)
    seen: Counter[str] = Counter()
    stations = []
    for name, at in marks:
        seen[name] += 1
        stations.append(Station(f"{name} {seen[name]}" if total[name] > 1 else name, at))
    return PassiveShape(tuple(pieces), tuple(stations))


def mirrored(items: Sequence[Item], order: Order) -> tuple[Item, ...]:
    """The mirror image: "second" turns up and down round, "first" in and out.

    Bends of that order change their sense, and so do twists and the hand of helices; bends of the other order
    stay.  Raises ValueError for another order.
    """
    if order not in ("first", "second"):
        raise ValueError(f'a mirror image is of the "first" or "second" order: got {order!r}')
    # A mirror image turns round the components of an axial vector that lie in the mirror's plane: the plane's
    # normal is the height axis for up and down, the depth axis for in and out.
    signs = (-1.0, -1.0, 1.0) if order == "first" else (-1.0, 1.0, -1.0)
    return tuple(_with_signs(item, signs) for item in items)


def run_backwards(items: Sequence[Item]) -> tuple[Item, ...]:
    """The mirror image left to right: what was the end comes first, up stays up and out stays out.

    An arch is a half of it followed by that half run backwards.
    """
    # Against a mirror across the tangent twist alone keeps its sense; running the other way turns all round.
    return tuple(_with_signs(item, (-1.0, 1.0, 1.0)) for item in reversed(items))


def _with_signs(item: Item, signs: tuple[float, float, float]) -> Item:
    """The item with its twist, first- and second-order curvature multiplied by ``signs``."""
    if isinstance(item, Bend):
        return Bend(item.angle * (signs[1] if item.order == "first" else signs[2]), item.order, item.radius)
    if isinstance(item, Twist):
        return Twist(item.angle * signs[0], item.length)
    if isinstance(item, Curved):
        twist, first, second = (sign * k for sign, k in zip(signs, item.curvature, strict=True))
        return Curved((twist, first, second), item.length)
    return item


def helix(
    turns: float, diameter: float, pitch: float, order: Order = "second", hand: Hand = "right"
) -> Curved:
    """A coil: ``turns`` (any number, its sign as that of a bend) of a helix tangent to the wire.

    ``diameter`` (mm) is the centreline's, ``pitch`` (mm) the distance from turn to turn along the coil's axis.
    That axis is the wire's depth axis for the second order and its height axis for the first, tilted by the
    angle atan(pitch/(pi diameter)) so that the coil leaves the wire without a kink.  A right-handed coil moves
    along +axis when its turns are positive.  Radius r and rise per radian b make the curvature r/(r^2 + b^2)
    and the torsion b/(r^2 + b^2) (do Carmo, Differential Geometry of Curves and Surfaces, 1976, section 1-5,
    exercise 1); the section goes along with the curve, one side always to the axis.

    Raises ValueError for no turns, a diameter not above zero, a negative pitch, an unknown order or hand.
    """
    if not (math.isfinite(turns) and turns != 0.0):
        raise ValueError(f"a helix needs a finite number of turns other than zero: got {turns!r}")
    if not (math.isfinite(diameter) and diameter > 0.0):
        raise ValueError(f"the diameter of a helix must be a finite length above zero: got {diameter!r} mm")
    if not (math.isfinite(pitch) and pitch >= 0.0):
        raise ValueError(f"the pitch of a helix must be a finite length, zero or more: got {pitch!r} mm")
    if order not in ("first", "second"):
        raise ValueError(f'the order of a helix is "first" or "second": got {order!r}')
    if hand not in ("right", "left"):
        raise ValueError(f'the hand of a helix is "right" or "left": got {hand!r}')
    radius, rise = 0.5 * diameter, pitch / (2.0 * math.pi)
    square = radius * radius + rise * rise
    curvature = math.copysign(radius / square, turns)
    torsion = rise / square if hand == "right" else -rise / square
    length = 2.0 * math.pi * abs(turns) * math.sqrt(square)
    return Curved((torsion, curvature, 0.0) if order == "first" else (torsion, 0.0, curvature), length)


def run(length: float) -> tuple[Straight, ...]:
    """A straight run, or nothing for no length."""
    return (Straight(length),) if length > 0.0 else ()
