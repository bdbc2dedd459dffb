"""What a run tells its reader beside the figures: its end, its cautions, its assumptions."""

from __future__ import annotations

from cases.build import kept_at_seat
from cases.results import AttachmentResult, WireResult
from cases.schema import Case
from cases.words import three
from fem.path import Path
from geometry.section import Round

# Between stations a rigid wall is only looked at, not enforced; deeper than this (mm) it is told.
DEEP = 1e-3


def status_words(
    case: Case, path: Path, attachments: tuple[AttachmentResult, ...], wire: WireResult, between: float
) -> tuple[str, ...]:
    """Sentences about how the run ended and what to mind."""
    out = [f"{path.status.sentence[0].upper()}{path.status.sentence[1:]}."]
    held = any(spec.attachment.hold_roll or spec.attachment.kind == "clamp" for spec in case.attachments)
    if isinstance(case.wire.section, Round) and not held:
        out.append("Free in roll: the round wire turns about its own axis and carries no torque about it.")
    for item in attachments:
        if item.slot_size_mm is None:
            continue
        passive = [name for name, order in item.orders.items() if not order.carries_couple]
        carrying = [name for name, order in item.orders.items() if order.carries_couple]
        if carrying:
            out.append(f"{item.name}: carries a couple in {_listed(carrying)} order.")
        elif item.contacts:
            out.append(f"{item.name}: touches on one side only and carries no couple.")
        elif len(passive) == len(item.orders):
            out.append(f"{item.name}: the wire is passive in its play here.")
    if wire.yield_share is not None and wire.yield_share > 1.0:
        out.append(
            "The stress passes the yield stress: a real wire would take a set and give less force than this "
            "elastic answer."
        )
    if between > DEEP:
        out.append(
            f"Between two contact stations the wire passes a wall by {three(1000.0 * between)} micrometres: "
            "forces there are slightly too small."
        )
    return tuple(out)


def assumptions(case: Case) -> tuple[str, ...]:
    """What the answer stands on."""
    material = case.wire.material
    modulus = f"Young's modulus {three(material.youngs_modulus_mpa / 1000.0)} GPa"
    limit = "no yield stress" if material.yield_mpa is None else f"yield {three(material.yield_mpa)} MPa"
    out = [
        f"{material.name}: linear elastic, {modulus}, Poisson's ratio {material.poisson:g}, {limit}",
        f"source of these values: {material.source}",
        "slots: rigid walls, closed on all four sides (a rigid door or a tube), sharp mouths, no friction",
        "teeth: fixed in their poses; the wire is engaged by moving every attachment from where the passive "
        "wire is to its pose",
        "forces scale with Young's modulus, whose published spread for one alloy (often 10 to 20 %) outweighs "
        "all solver error",
    ]
    if kept_at_seat(case):
        out.append(
            f"no attachment stops the wire: it is kept from sliding in {case.wire.seated_in}, where it is seated, "
            "because without friction nothing else says where along its slots it comes to rest"
        )
    if any(spec.attachment.kind == "button" for spec in case.attachments):
        out.append("buttons: hold one point of the wire, free to slide along their x unless stopped")
    if any(spec.attachment.hold_roll for spec in case.attachments):
        out.append("roll held at: " + ", ".join(s.name for s in case.attachments if s.attachment.hold_roll))
    return tuple(out)


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
