"""What a report lays beside its answer: sums that must vanish, and closed forms where one applies.

Sums are added up here from the loads as they are told, not taken from the solver.  A closed form stands for an
idealised appliance; its difference is shown and not judged.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cases.results import AttachmentResult, RunResult
from cases.sentences import DEEP
from cases.show.activation_figure import moments, shares
from cases.show.closed_form import ReferenceCurve
from cases.show.way import stages_of, without_bench
from cases.words import three
from geometry.attachments import LOWER_WALL, UPPER_WALL
from geometry.section import Rectangle

SUM, CLOSED_FORM, WALLS = "sum", "closed form", "walls"
SLOT_SOURCE = (
    "a rectangle between parallel walls; Dellinger 1978, as in Papageorgiou et al., Prog. Orthod. 17 (2016) 5"
)


@dataclass(frozen=True, slots=True)
class Check:
    """One quantity, what it should be and what was found; both in ``unit``."""

    what: str
    kind: str
    expected: float
    found: float
    unit: str
    bound: float | None
    """How far off it may be; None where the difference is shown and not judged."""
    remark: str

    @property
    def difference(self) -> float:
        """Found less expected, in the unit."""
        return self.found - self.expected

    @property
    def percent(self) -> float | None:
        """The difference in percent of what was expected; None where that is nothing."""
        return None if self.expected == 0.0 else 100.0 * self.difference / self.expected

    @property
    def verdict(self) -> str:
        """One or two words."""
        if self.bound is None:
            return "shown"
        return "holds" if abs(self.difference) <= self.bound else "does not hold"


def checks_of(result: RunResult, references: Sequence[ReferenceCurve]) -> tuple[Check, ...]:
    """Every check there is for this result."""
    return (*_sums(result), *_walls(result), *_plays(result), *_closed_forms(result, references))


def _sums(result: RunResult) -> list[Check]:
    """Forces and moments on all attachments vanish in sum.

    A load below the rounding floor is told as nothing, and a moment below ten of it: that is what may be left."""
    force, moment, reach = np.zeros(3), np.zeros(3), 0.0
    for item in result.attachments:
        place = np.array(item.moment_about_mm)
        force += item.force_n
        moment += np.array(item.moment_nmm) + np.cross(place, item.force_n)
        reach = max(reach, float(np.linalg.norm(place)))
    many, floor = len(result.attachments), result.equilibrium.floor_n
    remark = "added up here from the loads as told; rounding may leave so much"
    return [
        Check("forces on all attachments, size of their sum", SUM, 0.0, float(np.linalg.norm(force)), "N",
              many * floor, remark),
        Check("moments on all attachments about the world's origin, size of their sum", SUM, 0.0,
              float(np.linalg.norm(moment)), "N mm", many * floor * (10.0 + reach), remark),
    ]  # fmt: skip


def _walls(result: RunResult) -> list[Check]:
    if all(item.slot_size_mm is None for item in result.attachments):
        return []
    return [
        Check("deepest the wire passes a wall between two contact stations", WALLS, 0.0,
              result.deepest_between_stations_mm, "mm", DEEP, "enforced at stations, looked at between them")
    ]  # fmt: skip


def _plays(result: RunResult) -> list[Check]:
    """A rectangular wire that has rolled by its play fills the slot from wall to wall; one check for slots alike."""
    alike: dict[tuple[Rectangle, str, float, float], list[str]] = {}
    for item in result.attachments:
        section = result.wire_of(item).section
        if not isinstance(section, Rectangle):
            continue
        walls, play = item.orders["third"].stopping_walls, item.orders["third"].play_deg
        device, slot = item.attachment, item.slot_size_mm
        if play is None or slot is None or not walls or device is None or device.slot is None:
            continue
        if device.slot.taper == 0.0:
            by_height = set(walls) == {UPPER_WALL, LOWER_WALL}
            way = ("height", slot[0]) if by_height else ("depth", slot[1])
            alike.setdefault((section, *way, play), []).append(item.name)
    out = []
    for (section, name, room, play), names in alike.items():
        sides = (section.height, section.depth) if name == "height" else (section.depth, section.height)
        filled = _reach(sides, section.edge_radius, math.radians(play))
        rolled = f"rolled by its play of {three(play)} deg"
        what = f"{', '.join(names)}: {name} of the slot, and what the wire takes of it, {rolled}"
        out.append(Check(what, CLOSED_FORM, room, filled, "mm", None, SLOT_SOURCE))
    return out


def _reach(sides: tuple[float, float], edge: float, roll: float) -> float:
    """Extent, mm, of a rounded rectangle turned by ``roll`` (rad) along its first side as it was before."""
    along, across = sides
    return (along - 2.0 * edge) * math.cos(roll) + (across - 2.0 * edge) * math.sin(roll) + 2.0 * edge


def _closed_forms(result: RunResult, references: Sequence[ReferenceCurve]) -> list[Check]:
    """The end of every curve that has a closed form, and where on the way it is farthest off."""
    kept = without_bench(result)
    if not references or len(stages_of(kept.increments)) != 1:
        return []
    names = [item.name for item in result.attachments]
    out = []
    for one in references:
        found = np.array(moments(kept, names.index(one.attachment), one.order))
        at = np.array(shares(kept))
        known = np.interp(at, 100.0 * np.array(one.activation), one.moment_nmm)
        worst = int(np.abs(found - known).argmax())
        away = (
            f"farthest off on the way by {three(abs(found[worst] - known[worst]))} N mm, at {at[worst]:.0f} %"
        )
        if abs(found[worst] - known[worst]) == 0.0:
            away = "the same all the way"
        out.append(
            Check(f"{one.attachment}: {one.order}-order moment at full activation, {one.label}", CLOSED_FORM,
                  float(one.moment_nmm[-1]), float(found[-1]), "N mm", None, f"{one.source}; {away}")
        )  # fmt: skip
    return out


def couples(item: AttachmentResult) -> tuple[str, ...]:
    """Orders in which an attachment carries a couple."""
    return tuple(name for name, order in item.orders.items() if order.carries_couple)
