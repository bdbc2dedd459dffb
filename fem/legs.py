"""Legs of a way, and the increments in which they are gone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fem.equilibrium import Outcome
from fem.fibre_material import COLDEST, HOTTEST
from fem.recovery import Snapshot
from geometry.checks import all_of, count, text
from geometry.checks import number as number_of
from geometry.pose import Pose


@dataclass(frozen=True, slots=True)
class Leg:
    """A part of the way: every support goes straight to ``ends`` (k,), turning about one axis.

    ``active`` (k,): the supports that hold the wire meanwhile; None: all.  One that was not active before begins
    where the wire is then, at its own arc length.  Raises ValueError for anything else than poses, for no increment, or
    for another number of ``active`` than of ``ends``.
    """

    name: str
    ends: tuple[Pose, ...]
    increments: int = 10
    active: tuple[bool, ...] | None = None
    temperature: float | None = None
    """Of the wire at the end of the leg, degC, reached evenly; None: as it is."""

    def __post_init__(self) -> None:
        text("the name of a leg", self.name)
        _keep_temperature(self)
        needs = "needs at least one increment, and a million at most"
        object.__setattr__(self, "increments", count(f'leg "{self.name}"', self.increments, 1, needs))
        whose = f'of leg "{self.name}"'
        object.__setattr__(self, "ends", all_of(Pose, self.ends, f"the ends {whose}", "Pose"))
        if self.active is not None:
            active = all_of((bool, np.bool_), self.active, f"the active supports {whose}", "True or False")
            if len(active) != len(self.ends):
                raise ValueError(
                    f"the active supports {whose} must be as many as its ends, {len(self.ends)}: "
                    f"got {len(active)}; say True or False for each support"
                )
            object.__setattr__(self, "active", tuple(map(bool, active)))


@dataclass(frozen=True, slots=True)
class Ahead:
    """A leg whose ends depend on what was found before: they are known when it begins.

    ``ends_from`` gets the poses to which the supports were sent last, (k,), and the equilibrium there, and gives those
    to which they go next.  (Supports that give way do not stand where they are sent.)  Raises ValueError for no
    increment."""

    name: str
    ends_from: Callable[[tuple[Pose, ...], Snapshot], tuple[Pose, ...]]
    increments: int = 10
    temperature: float | None = None
    """Of the wire at the end of the leg, degC, reached evenly; None: as it is."""

    def begun(self, stand: tuple[Pose, ...], snapshot: Snapshot) -> Leg:
        """The leg from there."""
        ends = self.ends_from(stand, snapshot)
        return Leg(self.name, ends, self.increments, temperature=self.temperature)

    def __post_init__(self) -> None:
        text("the name of a leg", self.name)
        _keep_temperature(self)
        needs = "needs at least one increment, and a million at most"
        object.__setattr__(self, "increments", count(f'leg "{self.name}"', self.increments, 1, needs))


def _keep_temperature(leg: Leg | Ahead) -> None:
    """The temperature of a leg, checked."""
    if leg.temperature is not None:
        what = f'the temperature of leg "{leg.name}"'
        object.__setattr__(
            leg, "temperature", number_of(what, leg.temperature, "degC", COLDEST, HOTTEST, "a temperature")
        )


@dataclass(frozen=True, slots=True)
class Increment:
    """One accepted increment."""

    leg: int
    """0: the activation."""
    activation: float
    """Share of the leg, above 0 to 1."""
    outcome: Outcome
    snapshot: Snapshot
    lost: float
    """Work lost in sliding against friction, N mm."""
    let_down: bool = False
    """No stable equilibrium was found near the last one: the wire was let down to rest from there (fem.snapping)."""
    set_free: float = 0.0
    """Energy lost on that way, N mm."""
    work: float = 0.0
    """What supports and loads put into the wire, N mm, by the trapezoidal rule; see `fem.work`."""
    left: tuple[int, ...] = ()
    """The supports that the wire left meanwhile, through the fronts of their slots; they hold the wire no more."""


Observer = Callable[[Increment], None]
