"""What the shipped cases with several wires, and with teeth that follow, are checked against: statics, symmetry."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from tests.shipped import solved, spec

Array = NDArray[np.float64]
Values = Mapping[str, float]


def both_sides(name: str, right: str, left: str, *quantities: tuple[str, float]) -> Values:
    """Mirrored in the midline: what the left tooth gets of each quantity, by what the right one gets."""
    item = solved(name).attachment(right)
    table = {"force": item.force_n, "moment": item.moment_nmm}
    return {
        f"{left}, {quantity}": sign * table[quantity.split()[0]]["xyz".index(quantity[-1])]
        for quantity, sign in quantities
    }


def hooked(name: str, joint: str) -> tuple[Array, Array]:
    """Force (3,) of the spring on the base arch, N, and where, mm."""
    one = next(one for one in solved(name).joints if one.name == joint)
    return np.array(one.force_n), np.array(one.place_mm)


def uprighting_hooked() -> Values:
    """Statics of the spring: its tube gets the opposite of the hook's force, and that force's moment about the tube."""
    name = "uprighting-spring-hooked"
    force, place = hooked(name, "hook")
    arm = place - np.array(spec(name, "molar tube").attachment.pose.position)
    return {
        "molar tube, force y": -force[1],
        "molar tube, moment z": -float(np.cross(arm, force)[2]),
    }


def auxiliary_tube() -> Values:
    """Statics: the spring as above; the base arch as a beam that leans on the inner mouths of its two slots."""
    name = "intrusion-spring-auxiliary-tube"
    force, place = hooked(name, "hook")
    tube, main, incisor = (
        spec(name, one).attachment for one in ("auxiliary tube", "main tube", "lateral incisor")
    )
    assert main.slot is not None and incisor.slot is not None
    near = main.pose.position[0] + 0.5 * main.slot.width
    far = incisor.pose.position[0] - 0.5 * incisor.slot.width
    share = (place[0] - near) / (far - near)
    return {
        "auxiliary tube, moment z": -float(np.cross(place - np.array(tube.pose.position), force)[2]),
        "lateral incisor, force y": share * force[1],
        "main tube, force y": (1.0 - share) * force[1],
    }


def followed_teeth() -> Values:
    """A linear wire between linear supports keeps the same share in every step, that of the first."""
    first, *steps = (
        item.force_n[1]
        for one in solved("teeth-that-follow").increments
        if one.activation == 1.0
        for item in one.attachments
        if item.name == "premolar"
    )
    return {"premolar, force y": first * (steps[0] / first) ** len(steps)}


SEVERAL_WIRES: Mapping[str, Callable[[], Values]] = {
    "uprighting-spring-hooked": uprighting_hooked,
    "intrusion-spring-auxiliary-tube": auxiliary_tube,
    "overlay-arch": lambda: both_sides(
        "overlay-arch",
        "auxiliary tube right",
        "auxiliary tube left",
        ("force y", 1.0),
        ("moment x", 1.0),
    ),
    "teeth-that-follow": followed_teeth,
}
