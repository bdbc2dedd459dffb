"""What keeps the wire in its slot in front, and what ties it to a button."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

LigationKind = Literal["closed", "elastomeric", "steel ligature", "active clip", "none"]

# Of ligatures that a case names without figures (common practice, no source): N on a wire that lies on the floor,
# N/mm, mm between a wire on the floor and the ligature.
ELASTOMERIC_FORCE = 1.5
ELASTOMERIC_STIFFNESS = 2.0
STEEL_STIFFNESS = 100.0
CLIP_FORCE = 1.0
CLIP_STIFFNESS = 5.0


def _positive(what: str, value: float, unit: str) -> None:
    if not value > 0.0:
        raise ValueError(f"the {what} must be above zero: got {value!r} {unit}")


@dataclass(frozen=True, slots=True)
class Ligation:
    """What keeps the wire in the slot in front.

    closed: a rigid door, or a tube's own wall.  elastomeric: an elastic ring, which presses with ``force`` on a wire
    that lies on the floor.  steel ligature: a tied wire with ``slack`` between it and a wire on the floor.  active
    clip: a spring that presses with ``force`` on a wire on the floor, or stands at ``reach`` above the floor while
    nothing touches it.  none: the slot is open.  Forces in N, ``stiffness`` in N/mm, lengths in mm.  Raises
    ValueError for values that do not belong to the kind or are out of range.
    """

    kind: LigationKind = "closed"
    force: float | None = None
    stiffness: float | None = None
    slack: float | None = None
    reach: float | None = None

    def __post_init__(self) -> None:
        if self.kind not in get_args(LigationKind):
            raise ValueError(f"ligation is {', '.join(get_args(LigationKind))}: got {self.kind!r}")
        allowed = {
            "elastomeric": ("force", "stiffness"),
            "steel ligature": ("slack", "stiffness"),
            "active clip": ("force", "reach", "stiffness"),
        }.get(self.kind, ())
        for name in ("force", "stiffness", "slack", "reach"):
            if getattr(self, name) is not None and name not in allowed:
                raise ValueError(f"ligation {self.kind} has no {name}")
        if self.force is not None and self.reach is not None:
            raise ValueError("an active clip has a force on a wire on the floor or a reach, not both")
        for name, least in (("force", 0.0), ("slack", 0.0)):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and value >= least):
                raise ValueError(f"the {name} of a ligature must be finite and not below zero: got {value!r}")
        if self.stiffness is not None:
            _positive("stiffness of a ligature", self.stiffness, "N/mm")
        if self.reach is not None:
            _positive("reach of a clip", self.reach, "mm")

    @property
    def is_elastic(self) -> bool:
        """Whether it gives way: neither a rigid door nor nothing."""
        return self.kind not in ("closed", "none")

    @property
    def whole_stiffness(self) -> float:
        """N/mm, given or usual."""
        usual = {
            "elastomeric": ELASTOMERIC_STIFFNESS,
            "steel ligature": STEEL_STIFFNESS,
            "active clip": CLIP_STIFFNESS,
        }
        return self.stiffness if self.stiffness is not None else usual[self.kind]

    def rest(self, wire_depth: float) -> float:
        """Height above the floor (mm) below which it bears nothing, for a wire so deep (mm).

        Raises ValueError for a rigid door and for an open slot.
        """
        if not self.is_elastic:
            raise ValueError(f"ligation {self.kind} is no spring")
        if self.kind == "steel ligature":
            return wire_depth + (self.slack or 0.0)
        if self.reach is not None:
            return self.reach
        return wire_depth - self.pressing / self.whole_stiffness

    @property
    def pressing(self) -> float:
        """N with which a ring, or a clip without a reach, presses on a wire on the floor, given or usual."""
        usual = {"elastomeric": ELASTOMERIC_FORCE, "active clip": CLIP_FORCE}
        return self.force if self.force is not None else usual.get(self.kind, 0.0)


CLOSED = Ligation()


@dataclass(frozen=True, slots=True)
class Thread:
    """A tie from a button to the wire that only pulls: taut at ``length`` (mm), then as stiff as ``stiffness`` (N/mm).

    Its end at the button ``slides`` along the button's x, or is tied there, as that of an elastic chain is.

    Raises ValueError unless both are above zero.
    """

    length: float
    stiffness: float = math.inf
    slides: bool = True

    def __post_init__(self) -> None:
        if not math.isfinite(self.length):
            raise ValueError(f"the length of a thread must be finite: got {self.length!r} mm")
        _positive("length of a thread", self.length, "mm")
        _positive("stiffness of a thread", self.stiffness, "N/mm")
