"""What a target file wants: loads on attachments with tolerances, limits of stress; and how a snapshot answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases import units
from cases.reader import Table, listing, nearest
from cases.results import ORDERS
from cases.schema import AttachmentSpec, Case
from cases.wire_stress import wire_stress
from fem.model import Model
from fem.recovery import Snapshot

Array = NDArray[np.float64]

AXES = ("x", "y", "z")
OWN_AXIS = {"first": 1, "second": 2, "third": 0}
"""Of an attachment: about its height, its depth, its length."""
CENTRE = "centre of resistance"
POINTS = ("attachment", CENTRE)
NOTHING = 1e-4
"""Of a tolerance: what is smaller is shown as 0."""
NO_WANTED = (
    'add at least one: [[wanted]] attachment = "molar tube", moment = "second", value = "300 gfmm", '
    'tolerance = "20 gfmm"'
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """One load that is wanted on an attachment: a force, a moment, or a moment over a force."""

    attachment: str
    force: str | None
    """World axis."""
    moment: str | None
    """World axis, or order: about the attachment's own axis."""
    about: str
    value: float
    """N, N mm or mm."""
    tolerance: float
    unit: str
    """In which it was given."""
    place: int
    """Which [[wanted]] of the file, from 0."""

    @property
    def factor(self) -> float:
        """Of its unit."""
        return units.UNITS[self.unit][1]

    @property
    def name(self) -> str:
        """In words, without its unit: "second-order moment on molar tube"."""
        where = f" about its {CENTRE}" if self.about == CENTRE else ""
        if self.moment is None:
            return f"force along {self.force} on {self.attachment}"
        turned = f"{self.moment}-order moment" if self.moment in ORDERS else f"moment about {self.moment}"
        if self.force is None:
            return f"{turned} on {self.attachment}{where}"
        return f"{turned} over force along {self.force} on {self.attachment}{where}"

    def shown(self, value: float) -> str:
        """A value (N, N mm or mm) in its unit, three digits."""
        if abs(value) < NOTHING * self.tolerance:
            return "0"
        return f"{float(f'{value / self.factor:.3g}'):g}"

    @property
    def asked(self) -> str:
        """The wish: "300 +- 20 gfmm"."""
        return f"{self.shown(self.value)} \N{PLUS-MINUS SIGN} {self.shown(self.tolerance)} {self.unit}"


@dataclass(frozen=True, slots=True)
class Limits:
    """What a candidate may not exceed."""

    stress: float | None
    """MPa, equivalent stress."""
    yield_share: float | None


def read_wanted(top: Table, case: Case | None) -> list[Wanted]:
    """All that could be read."""
    found: list[Wanted] = []
    for place, table in enumerate(top.tables("wanted", "[[wanted]]", NO_WANTED) or []):
        one = _wanted(table, case, place)
        if one is None:
            continue
        same = [other for other in found if _question(other) == _question(one)]
        if same:
            table.problem(
                "", f"[[wanted]] {same[0].place + 1} asks for the same", "ask once, with one tolerance"
            )
        found.append(one)
    return found


def _question(one: Wanted) -> tuple[str, str | None, str | None, str]:
    return one.attachment, one.force, one.moment, one.about


def _wanted(table: Table, case: Case | None, place: int) -> Wanted | None:
    table.only("attachment", "force", "moment", "about", "value", "tolerance")
    before = len(table.findings.problems)
    name = table.text("attachment", "the name of an attachment", '"molar tube"')
    force = table.choice("force", "an axis", AXES, required=False)
    moment = table.choice("moment", "an order or an axis", (*ORDERS, *AXES), required=False)
    about = table.choice("about", "the point of a moment", POINTS, required=False) or POINTS[0]
    if not (table.has("force") or table.has("moment")):
        table.problem("", "neither a force nor a moment is wanted",
                      'write force = "y", or moment = "second", or both for their ratio')  # fmt: skip
        return None
    if case is not None and name is not None:
        _check_attachment(table, case, name, about)
    kind: units.Kind = "length" if force and moment else "moment" if moment else "force"
    value = table.quantity("value", kind, "what is wanted")
    tolerance = table.quantity("tolerance", kind, "its tolerance", "positive")
    if len(table.findings.problems) > before or name is None or value is None or tolerance is None:
        return None
    text = str(table.data["value"])
    unit = next(
        one for one in sorted(units.units_of(kind), key=len, reverse=True) if text.strip().endswith(one)
    )
    return Wanted(name, force, moment, about, value, tolerance, unit, place)


def _check_attachment(table: Table, case: Case, name: str, about: str) -> None:
    names = [spec.name for spec in case.attachments]
    if name not in names:
        near = nearest(name, names)
        known = f"attachments of the case: {listing([repr(one) for one in names])}"
        table.problem(
            "attachment", f'the case has none called "{name}"', f'did you mean "{near}"?' if near else known
        )
    elif about == CENTRE and case.attachments[names.index(name)].centre_of_resistance is None:
        table.problem("about", f"the case gives {name} no {CENTRE}",
                      f'add centre_of_resistance there, or write about = "{POINTS[0]}"')  # fmt: skip


def read_limits(top: Table, case: Case | None) -> Limits:
    """The [limits] table, if there is one."""
    table = top.table("limits", "the limits", '{ stress = "1100 MPa" }', required=False)
    if table is None:
        return Limits(None, None)
    table.only("stress", "yield_share")
    stress = table.quantity("stress", "stress", "the largest stress", "positive", required=False)
    share = table.quantity("yield_share", "share", "the largest share of yield", "positive", required=False)
    if share is not None and case is not None and case.wire.material.yield_mpa is None:
        table.problem("yield_share", f"no yield stress of {case.wire.material.name} is known",
                      'write stress = "1100 MPa" instead')  # fmt: skip
    return Limits(stress, share)


def answers(wanted: Sequence[Wanted], case: Case, snapshot: Snapshot, model: Model) -> Array:
    """(w + 1,) what a snapshot gives of everything wanted, N, N mm and mm, and the largest stress, MPa.

    A moment over no force is not a number."""
    names = [spec.name for spec in case.attachments]
    found = [_answer(one, case.attachments[names.index(one.attachment)], names.index(one.attachment), snapshot)
             for one in wanted]  # fmt: skip
    if model.section is not case.wire.section:
        case = replace(case, wire=replace(case.wire, section=model.section))
    return np.array([*found, wire_stress(case.wire, snapshot.resultants)[2].max()])


def _answer(one: Wanted, spec: AttachmentSpec, k: int, snapshot: Snapshot) -> float:
    force, moment, axes = snapshot.force[k], snapshot.moment[k], snapshot.support_axes[k]
    if one.about == CENTRE:
        centre = snapshot.support_position[k] + axes @ np.array(spec.centre_of_resistance)
        moment = moment + np.cross(snapshot.acting_point[k] - centre, force)
    along = 0.0 if one.force is None else float(force[AXES.index(one.force)])
    if one.moment is None:
        return along
    turning = float(
        axes[:, OWN_AXIS[one.moment]] @ moment if one.moment in ORDERS else moment[AXES.index(one.moment)]
    )
    if one.force is None:
        return turning
    return turning / along if abs(along) > snapshot.floor else np.nan
