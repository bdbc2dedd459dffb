"""Published force ranges by kind of movement, each of a named source; shown beside results, never as advice.

They speak of one average tooth and a lasting force, differ from source to source, and rest on tradition more than on
measurement.
"""

from __future__ import annotations

from cases.tooth_results import (
    BODILY,
    CONTROLLED,
    EXTRUSION,
    INTRUSION,
    ROOT,
    ROTATION,
    UNCONTROLLED,
    PublishedRange,
)
from cases.units import STANDARD_GRAVITY

GF = STANDARD_GRAVITY * 1e-3
TEXTBOOK = "Proffit et al., Contemporary Orthodontics, from memory"
PAGES = "a revision text on a public page, seen"
# gf: tipping, bodily movement, root movement, rotation, extrusion, intrusion.
SETS = {
    TEXTBOOK: ((35, 60), (70, 120), (50, 100), (35, 60), (35, 60), (10, 20)),
    PAGES: ((30, 60), (100, 150), None, (50, 75), (50, 75), (15, 25)),
}
TORQUE = "torque"
TORQUE_RANGE = PublishedRange(
    TORQUE,
    5.0,
    20.0,
    "Burstone, as cited by Arreghini et al., Prog Orthod 15 (2014) 53, seen",
    of_moment=True,
)
"""Third-order moment on one tooth, N mm."""
KINDS = (CONTROLLED, BODILY, ROOT, ROTATION, EXTRUSION, INTRUSION)


def published_ranges(movement: str) -> tuple[PublishedRange, ...]:
    """What the sources say of one kind of movement, N; tipping is one kind to them."""
    kind = CONTROLLED if movement == UNCONTROLLED else movement
    if kind not in KINDS:
        return ()
    found = ((source, ranges[KINDS.index(kind)]) for source, ranges in SETS.items())
    return tuple(
        PublishedRange(movement, GF * one[0], GF * one[1], source) for source, one in found if one is not None
    )
