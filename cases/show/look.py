"""How a scene is looked at: which view, which half of the slots is taken away, near or far.  Numbers only.

An exact view (facial, occlusal, mesiodistal) shows of forces and moments what acts within it, as the line figures do:
the force in the plane of the picture and the moment about the viewing direction.  The oblique view shows them whole.
A facial view of an arch is unrolled.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from cases.results import AttachmentResult, RunResult, Vector, WireResult
from cases.show import labels
from cases.show.brackets import pressing_zones
from cases.show.device import device_of
from cases.show.loads import LEFT_OUT
from cases.show.prisms import HalfSpace
from cases.show.unrolled import shown
from cases.show.view import view_axes
from cases.show.wire_curve import frame_at
from geometry.pose import Pose, frozen
from geometry.tooth import Tooth

Array = NDArray[np.float64]

View = Literal["oblique", "facial", "occlusal", "mesiodistal"]
Cut = Literal["facial", "occlusal", "mesiodistal"]
VIEWS: tuple[View, ...] = get_args(View)
CUTS: tuple[Cut, ...] = get_args(Cut)

# An appliance that is deeper than this share of its width is an arch, and is looked at more steeply.
DEEP = 0.35
ARCH_TURNED_DEG, ARCH_RAISED_DEG = 8.0, 38.0
NEIGHBOURHOOD = 0.9
"""How far a close view shows the wire beyond both mouths, in slot widths."""
LEAST_NEIGHBOURHOOD = 1.5
"""mm: the same at least, for what has no slot."""


@dataclass(frozen=True, slots=True)
class Look:
    """What a scene shows of a result."""

    view: View = "oblique"
    cut: Cut | None = "facial"
    """The half of every slot that is taken away: the one towards the viewer in this view.  None: slots are whole, and
    seen through."""
    attachment: str | None = None
    """A close view of this one, in its own axes; None: the whole appliance."""
    teeth: bool = False
    transparent: bool = False
    """No background."""

    def __post_init__(self) -> None:
        if self.view not in VIEWS:
            raise ValueError(f"no view called {self.view!r}; there are: {', '.join(VIEWS)}")
        if self.cut is not None and self.cut not in CUTS:
            raise ValueError(f"no cut called {self.cut!r}; there are: {', '.join(CUTS)}, or None")

    @property
    def exact(self) -> bool:
        """Whether the view looks straight along an axis."""
        return self.view != "oblique"


@dataclass(frozen=True, slots=True)
class Looked:
    """A result as a look shows it, and where from."""

    result: RunResult
    axes: Array
    """(3, 3), columns: right and up in the picture, towards the viewer."""
    subject: str | None
    """What kind of view this is, for a reader; None for the usual one."""
    cuts: tuple[HalfSpace | None, ...]
    """Of every attachment what stays of it, in its own axes; None where it stays whole."""
    wires: tuple[WireResult, ...]
    """As they are drawn: cut off where the picture ends or where the cut goes through them."""
    least: tuple[float, float] | None
    """N and N mm below which no arrow is drawn, where the view is exact and shows of forces and moments only what acts
    within it: ``LEFT_OUT`` of the largest whole ones."""
    most_stress: float
    """MPa: of the kind of stress that is shown, the largest anywhere along any whole wire."""


def looked_at(result: RunResult, look: Look) -> Looked:
    """``result`` as ``look`` shows it.  Raises KeyError for an attachment that it does not have."""
    most_stress = max(float(values.max()) for values in labels.stresses_shown(result)[1])
    if look.attachment is not None:
        result = close_up(result, look.attachment)
    face, least = None, None
    if look.exact:
        forces, moments = zip(*((item.force_n, item.moment_nmm) for item in result.attachments), strict=True)
        most = (float(np.linalg.norm(vectors, axis=1).max()) for vectors in (forces, moments))
        least = LEFT_OUT * next(most), LEFT_OUT * next(most)
        face, result = shown(result)[VIEWS.index(look.view) - 1]
        axes = frozen(np.column_stack((*face.axes, face.towards)))
        result = within(result, axes)
    else:
        axes = oblique_axes(result)
    subject = None if face is None else f"{face.title}; of forces and moments what acts within it"
    if look.attachment is not None:
        own = f"{labels.name_text(result.attachments[0])}, in its own axes"
        subject = own if subject is None else f"{own}. {subject}"
    wires, cuts = _cut(result, look.cut, axes)
    return Looked(result, axes, subject, cuts, wires, least, most_stress)


def is_deep(result: RunResult) -> bool:
    """Whether the appliance goes round an arch, to a viewer from the front."""
    width, _, depth = np.ptp(result.positions_mm, axis=0)
    return bool(depth >= DEEP * width)


def oblique_axes(result: RunResult) -> Array:
    """Axes (3, 3) of the view: facial, a little from the side; on an arch more from where its teeth bite."""
    if not is_deep(result):
        return view_axes()
    arches = {Tooth(item.tooth).arch for item in result.attachments if item.tooth is not None}
    return view_axes(ARCH_TURNED_DEG, -ARCH_RAISED_DEG if arches == {"upper"} else ARCH_RAISED_DEG)


def within(result: RunResult, axes: Array) -> RunResult:
    """The same with every force in the plane of the picture alone, and every moment about the viewing direction."""
    towards = axes[:, 2]

    def seen(item: AttachmentResult) -> AttachmentResult:
        force, moment = np.array(item.force_n), np.array(item.moment_nmm)
        return replace(
            item,
            force_n=_vector(force - (force @ towards) * towards),
            moment_nmm=_vector((moment @ towards) * towards),
        )

    return replace(result, attachments=tuple(map(seen, result.attachments)))


def close_up(result: RunResult, name: str) -> RunResult:
    """The attachment called ``name`` alone, in its own axes, with its wire near it and without the passive shape.

    Raises KeyError where there is none of this name."""
    item = result.attachment(name)
    home = item.pose.inverse()
    moved = replace(
        item,
        pose=Pose.identity(),
        force_n=_vector(home.axes @ np.array(item.force_n)),
        moment_nmm=_vector(home.axes @ np.array(item.moment_nmm)),
        moment_about_mm=_vector(home.to_world(np.array(item.moment_about_mm))),
        contacts=tuple(
            replace(one, place_mm=_vector(home.to_world(np.array(one.place_mm)))) for one in item.contacts
        ),
    )
    wire = result.wire_of(item)
    positions = home.to_world(wire.positions_mm)
    turned = replace(
        wire,
        positions_mm=positions,
        axes=np.einsum("ij,njk->nik", home.axes, wire.axes),
        passive_positions_mm=positions,
    )
    width = 0.0 if item.slot_size_mm is None else item.slot_size_mm[2]
    half = 0.5 * width + max(NEIGHBOURHOOD * width, LEAST_NEIGHBOURHOOD)
    near = trimmed(trimmed(turned, moved, -half, before=True), moved, half, before=False)
    return replace(result, attachments=(moved,), wire=near, more_wires=(), joints=())


def trimmed(wire: WireResult, item: AttachmentResult, offset: float, before: bool) -> WireResult:
    """The wire without what lies ``before`` (else behind) the plane x = ``offset`` (mm) of an attachment's own axes,
    where it passes that plane near the attachment; else the wire as it is."""
    crossing = frame_at(wire, item.pose, offset)
    if crossing is None:
        return wire
    centre, axes = item.pose.to_world(crossing[0]), item.pose.axes @ crossing[1]
    beyond = item.pose.to_local(wire.positions_mm)[:, 0] > offset
    crossed = np.flatnonzero(beyond[1:] & ~beyond[:-1])
    if not crossed.size:
        return wire
    steps = wire.positions_mm[1:] - wire.positions_mm[:-1]
    i = min(crossed, key=lambda k: float(np.linalg.norm(wire.positions_mm[k] + 0.5 * steps[k] - centre)))
    size = float(steps[i] @ steps[i])
    share = float(np.clip((centre - wire.positions_mm[i]) @ steps[i] / size, 0.0, 1.0))
    kept = slice(i + 1, None) if before else slice(None, i + 1)

    def cut(values: Array, at: Array) -> Array:
        own = values[kept]
        return np.concatenate((at[None], own) if before else (own, at[None]))

    def between(values: Array) -> Array:
        return cut(values, np.asarray((1.0 - share) * values[i] + share * values[i + 1]))

    return replace(
        wire,
        arc_length_mm=between(wire.arc_length_mm),
        positions_mm=cut(wire.positions_mm, centre),
        axes=cut(wire.axes, axes),
        passive_positions_mm=between(wire.passive_positions_mm),
        bending_stress_mpa=between(wire.bending_stress_mpa),
        shear_stress_mpa=between(wire.shear_stress_mpa),
        force_n=between(wire.force_n),
        moment_nmm=between(wire.moment_nmm),
    )


def _cut(
    result: RunResult, cut: Cut | None, axes: Array
) -> tuple[tuple[WireResult, ...], tuple[HalfSpace | None, ...]]:
    """The wires and what stays of every slot.  Across the wire, only the slot nearest to the viewer is cut, where its
    wire presses hardest, and that wire with it."""
    items = result.attachments
    if cut is None:
        return result.wires, (None,) * len(items)
    if cut == "facial":
        return result.wires, (HalfSpace(2, 1.0),) * len(items)
    if cut == "occlusal":
        # the side from which teeth bite; without teeth from above
        upper = [item.tooth is not None and Tooth(item.tooth).arch == "upper" for item in items]
        return result.wires, tuple(HalfSpace(1, -1.0 if one else 1.0) for one in upper)
    near = [
        float(np.asarray(item.pose.position) @ axes[:, 2]) if device_of(item).slot is not None else -np.inf
        for item in items
    ]
    k = int(np.argmax(near))
    if not np.isfinite(near[k]):
        return result.wires, (None,) * len(items)
    side = 1.0 if axes[:, 2] @ items[k].pose.axes[:, 0] > 0.0 else -1.0
    at = _hardest_pressed(items[k])
    own = result.wire_of(items[k])
    wires = tuple(
        trimmed(wire, items[k], at, before=side < 0.0) if wire is own else wire for wire in result.wires
    )
    return wires, tuple(HalfSpace(0, side, at) if j == k else None for j in range(len(items)))


def _hardest_pressed(item: AttachmentResult) -> float:
    """Where along its slot, mm from its centre, the wire presses hardest; where it does not press, the middle."""
    slot = device_of(item).slot
    zones = () if slot is None else pressing_zones(item.contacts, slot)
    if slot is None or not zones:
        return 0.0
    hardest = max(zones, key=lambda zone: zone.force_n)
    return 0.5 * (hardest.along[0] + hardest.along[1])


def _vector(values: Array) -> Vector:
    return float(values[0]), float(values[1]), float(values[2])
