"""The passive shape: a wire as bent and free of stress, from straight runs, bends, twists and helices.

All of them are pieces of constant curvature; ``geometry.drawn_shapes`` composes larger things of them.  The
shape starts at its own origin, tangent +x, height +y, depth +z.  ``seat`` puts it into the world.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.centreline import advance
from geometry.checks import LONGEST, SHORTEST, all_of, angle, floats, length, number, numbers, shown, text
from geometry.pose import Pose, frozen

Array = NDArray[np.float64]
Curvature = tuple[float, float, float]

# Arc lengths are sums and differences of typed-in lengths: the last digits of an end may be lost.
END_ROUNDING = 1e-9

# The nearest place on a wire is first looked for at samples so far apart (mm), finer than any bend.
NEAREST_STEP = 0.1
NEAREST_LONGEST = 1e5  # mm: a million such samples


def _length(what: str, value: float) -> float:
    # the rounding left over between two places is a piece as good as any
    return length(what, value, least=5e-324)


def _angle(what: str, value: float) -> float:
    plain = angle(what, value)
    if plain == 0.0:
        raise ValueError(
            f"{what} must be a finite angle other than zero: got {plain!r} rad; leave the piece out"
        )
    return plain


def _curvature(what: str, value: float) -> float:
    return number(what, value, "rad/mm", -1.0 / SHORTEST, 1.0 / SHORTEST)


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight run; ``length`` in mm above zero, else ValueError."""

    length: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "length", _length("the length of a straight run", self.length))

    @property
    def curvature(self) -> Curvature:
        """Twist, first-order and second-order curvature, rad/mm, about the wire's own axes."""
        return (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Bend:
    """A circular bend by ``angle`` (rad) at the centreline's ``radius`` (mm).

    Second order turns about the wire's depth axis d3: a positive angle takes the tangent from +x to +y.
    First order turns right-handed about its height axis d2: a positive angle takes the tangent from +x to -z.
    Raises ValueError for a radius not above zero, an angle of zero, or an unknown order.
    """

    angle: float
    order: Literal["first", "second"]
    radius: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "angle", _angle("the angle of a bend", self.angle))
        object.__setattr__(self, "radius", length("the radius of a bend", self.radius))
        if not (isinstance(self.order, str) and self.order in ("first", "second")):
            raise ValueError(
                f'the order of a bend is "first" or "second": got {shown(self.order)} (for the third, use a twist)'
            )

    @property
    def length(self) -> float:
        """Arc length, mm."""
        return abs(self.angle) * self.radius

    @property
    def curvature(self) -> Curvature:
        """Twist, first-order and second-order curvature, rad/mm, about the wire's own axes."""
        k = math.copysign(1.0 / self.radius, self.angle)
        return (0.0, k, 0.0) if self.order == "first" else (0.0, 0.0, k)


@dataclass(frozen=True, slots=True)
class Twist:
    """A straight run of ``length`` (mm) twisted evenly by ``angle`` (rad), right-handed about the tangent.

    Raises ValueError for a length not above zero or an angle of zero.
    """

    angle: float
    length: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "angle", _angle("the angle of a twist", self.angle))
        object.__setattr__(self, "length", _length("the length of a twist", self.length))
        _curvature("what a twist turns by per mm of its length", self.angle / self.length)

    @property
    def curvature(self) -> Curvature:
        """Twist, first-order and second-order curvature, rad/mm, about the wire's own axes."""
        return (self.angle / self.length, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Curved:
    """A run of ``length`` (mm) of any constant curvature: an arc in a slanted plane, a turn of a helix.

    ``curvature`` is twist, first-order and second-order curvature, rad/mm, about the wire's own axes.  Raises
    ValueError for a length not above zero or a curvature that is not three finite numbers.
    """

    curvature: Curvature
    length: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "length", _length("the length of a curved run", self.length))
        try:
            twist, first, second = self.curvature
        except (TypeError, ValueError):
            raise ValueError(
                f"a curvature is three finite numbers: got {shown(self.curvature)} rad/mm"
            ) from None
        what = "a curvature is three finite numbers, each of which"
        curvature = (_curvature(what, twist), _curvature(what, first), _curvature(what, second))
        object.__setattr__(self, "curvature", curvature)


Piece = Straight | Bend | Twist | Curved


@dataclass(frozen=True, slots=True)
class Station:
    """A named place on the wire, at arc length ``at`` (mm).  Raises ValueError unless that is a finite number."""

    name: str
    at: float

    def __post_init__(self) -> None:
        text("the name of a station", self.name)
        what = f'the arc length of station "{self.name}"'
        object.__setattr__(self, "at", number(what, self.at, "mm", -LONGEST, LONGEST))


@dataclass(frozen=True, slots=True)
class PassiveShape:
    """Pieces of constant curvature, one after the other with a common tangent and section axes.

    ``stations`` are named places on it.  Raises ValueError when there is no piece or something else among them, the
    whole is longer than 1e9 mm or shorter than 1e-9 mm, a station is off the wire, or two have one name.
    """

    pieces: tuple[Piece, ...]
    stations: tuple[Station, ...] = ()
    breaks: Array = field(init=False, repr=False, compare=False)
    """Arc lengths (pieces + 1,) in mm where curvature may jump, both ends included."""
    _curvatures: Array = field(init=False, repr=False, compare=False)
    _positions: Array = field(init=False, repr=False, compare=False)
    _axes: Array = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        pieces = all_of(
            get_args(Piece), self.pieces, "the pieces of a wire", "Straight, Bend, Twist or Curved"
        )
        stations = all_of(Station, self.stations, "the stations of a wire", "Station")
        if not pieces:
            raise ValueError("a wire needs at least one piece: a straight run, a bend or a twist")
        lengths = np.array([piece.length for piece in pieces])
        length("the length of a whole wire", float(lengths.sum()))
        curvatures = np.array([piece.curvature for piece in pieces])
        moves, turns = advance(curvatures, lengths)
        positions, axes = [np.zeros(3)], [np.eye(3)]
        for move, turn in zip(moves[:-1], turns[:-1], strict=True):
            positions.append(positions[-1] + axes[-1] @ move)
            axes.append(axes[-1] @ turn)
        object.__setattr__(self, "pieces", pieces)
        object.__setattr__(self, "stations", stations)
        object.__setattr__(self, "breaks", frozen(np.concatenate(([0.0], np.cumsum(lengths)))))
        object.__setattr__(self, "_curvatures", frozen(curvatures))
        object.__setattr__(self, "_positions", frozen(positions))
        object.__setattr__(self, "_axes", frozen(axes))
        names = [station.name for station in self.stations]
        twice = [name for name in names if names.count(name) > 1]
        if twice:
            raise ValueError(f'two stations of the wire are called "{twice[0]}"')
        if self.stations:
            self._located([station.at for station in self.stations])

    @property
    def length(self) -> float:
        """Length of the wire, mm."""
        return float(self.breaks[-1])

    def _located(self, s: ArrayLike) -> tuple[Array, NDArray[np.intp]]:
        """Arc lengths (n,) held within the wire, and each one's piece (at a break, the one that begins)."""
        arc = np.atleast_1d(floats("arc lengths", s))
        if arc.ndim != 1:
            raise ValueError(f"arc lengths are one number or a row (n,) of them: got shape {arc.shape}")
        slack = END_ROUNDING * self.length
        outside = ~((arc >= -slack) & (arc <= self.length + slack))
        if outside.any():
            raise ValueError(
                f"the wire runs from 0 to {self.length:.6g} mm: got arc length {arc[outside][0]:.6g} mm"
            )
        arc = np.clip(arc, 0.0, self.length)
        piece = np.searchsorted(self.breaks, arc, side="right") - 1
        return arc, np.clip(piece, 0, len(self.pieces) - 1)

    def frames(self, s: ArrayLike) -> tuple[Array, Array]:
        """Positions (n, 3) in mm and axes (n, 3, 3) of the unstressed wire at arc lengths ``s`` (n,) in mm.

        Exact on arcs and twists.  Raises ValueError for an arc length off the wire by more than rounding.
        """
        arc, piece = self._located(s)
        move, turn = advance(self._curvatures[piece], arc - self.breaks[piece])
        start = self._axes[piece]
        return self._positions[piece] + (start @ move[:, :, None])[:, :, 0], start @ turn

    def curvature(self, s: ArrayLike) -> Array:
        """Twist, first- and second-order curvature (n, 3) in rad/mm at ``s`` (n,) in mm.

        At a break it is that of the piece which begins there.
        """
        _, piece = self._located(s)
        return np.array(self._curvatures[piece])

    def nearest(self, point: ArrayLike) -> tuple[float, float]:
        """Arc length (mm) of the place nearest to ``point`` (3,), and the distance (mm), in the shape's axes.

        Of places equally near to rounding, the first.  Raises ValueError for a point that is not three finite numbers
        or a wire longer than 1e5 mm, which would take too long to look along.
        """
        target = numbers("a point", point, (3,), "mm", LONGEST)
        if self.length > NEAREST_LONGEST:
            raise ValueError(
                f"the nearest place is looked for on wires up to {NEAREST_LONGEST:.6g} mm: this one is "
                f"{self.length:.6g} mm long; look along a part of it"
            )
        places = np.linspace(0.0, self.length, math.ceil(self.length / NEAREST_STEP) + 1)
        away = np.linalg.norm(self.frames(places)[0] - target, axis=1)
        i = int(np.argmin(away))
        low, high = float(places[max(i - 1, 0)]), float(places[min(i + 1, len(places) - 1)])

        def ahead(s: float) -> float:
            """How far the point lies ahead of the section at ``s``; falls through zero at the nearest."""
            positions, axes = self.frames(s)
            return float((target - positions[0]) @ axes[0, :, 0])

        if ahead(low) <= 0.0:
            high = low
        elif ahead(high) >= 0.0:
            low = high
        while True:
            middle = 0.5 * (low + high)
            if middle in (low, high):
                break
            low, high = (middle, high) if ahead(middle) > 0.0 else (low, middle)
        return middle, float(np.linalg.norm(self.frames(middle)[0][0] - target))


def seat(shape: PassiveShape, at: float, pose: Pose) -> Pose:
    """Where the shape's origin lies when its frame at arc length ``at`` (mm) coincides with ``pose``.

    Raises ValueError for an arc length off the wire.
    """
    positions, axes = shape.frames(number("an arc length", at, "mm"))
    return pose.compose(Pose(positions[0], axes[0]).inverse())
