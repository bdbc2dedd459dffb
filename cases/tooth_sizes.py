"""Typical sizes of permanent teeth, and where by default a tooth's centre of resistance lies.

The one table of anatomical figures.  Each says where it comes from: "seen" in the place named, "from memory" of it,
or "common practice, no source".  They are averages; roots of real teeth differ by several millimetres.

* Crown and root length (mm, from cusp or edge to the cervical line, and from there to the apex; upper molars the
  buccal roots): average sizes of the textbooks of dental anatomy (Wheeler).  Upper teeth, and lower ones up to the
  second premolar: seen in a table of a public page on oral anatomy; upper incisors in a second one.  Lower molars, and
  all faciolingual diameters at the cervix: from memory of Wheeler's table.
* Mesiodistal and faciolingual diameters of the crown, and mesiodistal ones at the cervix: from memory of the same
  table.  They are for pictures; nothing is computed from them.
* One root: the centre of resistance lies at a third of the root within the bone from its crest (0.24, Tanne 1988, to
  0.40 by study and method; moves with the level of the bone): from memory.  A review of 2023 (Biophys. Rev. 15, 35;
  abstract seen) finds that it varies with the assumptions of each study.  The crest lies 1.5 mm apical of the cervical
  line: from memory.
* Several roots: at the furcation, 4.8 mm apical of the cervical line in upper molars and 3.3 mm in lower ones (359
  molars; abstract seen).  Seen of upper first molars: slightly occlusal of it (Dermaut, Am J Orthod Dentofacial Orthop
  90 (1986) 29), or 0.2 +- 1.8 mm apical of it, 7.9 +- 1.7 mm gingival and 4.9 +- 1.4 mm lingual of the middle of the
  buccal face (finite elements, 50 molars; abstract); textbooks say 1 to 2 mm apical of it.
* The slot's centre lies level with the middle of the crown and 1 mm in front of the root's facial side: common
  practice, no source.  The long axis is taken parallel to the slot's height.
* How a tooth gives way: see ``typical_support``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.tooth import Tooth

CREST_BELOW_CERVIX = 1.5
"""mm."""
ONE_ROOT = (1.0 / 3.0, 0.24, 0.40)
"""Share of the root within the bone from the crest to the centre of resistance: taken, least and most published."""
FURCATION = {"upper": 4.8, "lower": 3.3}
"""mm from the cervical line, molars."""
AROUND_FURCATION = (0.0, -1.0, 2.0)
"""mm apical of the furcation: taken, least and most published."""
SLOT_IN_FRONT = 1.0
"""mm from the root's facial side at the cervix to the slot's centre."""
# N/mm of the root against translation, and share of (root within the bone)^2 that the square of the radius of gyration
# of its support has: see typical_support.
TRANSLATION = 200.0
SQUARED_RADIUS_SHARE = 0.068
DEFAULT_CENTRES = (
    "centres of resistance that the case does not give are those of average teeth: with one root a third of the root "
    "within the bone below its crest (published 0.24 to 0.40), of molars at the furcation (published 1 mm above to "
    "2 mm below); the slot level with the middle of the crown and 1 mm in front of the root, the long axis along its "
    "height"
)


@dataclass(frozen=True, slots=True)
class ToothSize:
    """Typical lengths of one tooth, mm."""

    crown: float
    root: float
    cervix: float
    """Faciolingual diameter at the cervix."""


# By arch and place from the midline: crown, root, diameter at the cervix.
SIZES = {
    "upper": (
        ToothSize(10.5, 13.0, 6.0), ToothSize(9.0, 13.0, 5.0), ToothSize(10.0, 17.0, 7.0),
        ToothSize(8.5, 14.0, 8.0), ToothSize(8.5, 14.0, 8.0),
        ToothSize(7.5, 12.0, 10.0), ToothSize(7.0, 11.0, 10.0), ToothSize(6.5, 11.0, 9.5),
    ),
    "lower": (
        ToothSize(9.0, 12.5, 5.3), ToothSize(9.5, 14.0, 5.8), ToothSize(11.0, 16.0, 7.0),
        ToothSize(8.5, 14.0, 6.5), ToothSize(8.0, 14.5, 7.0),
        ToothSize(7.5, 14.0, 9.0), ToothSize(7.0, 13.0, 9.0), ToothSize(7.0, 11.0, 9.0),
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ToothBreadths:
    """Typical diameters of one tooth, mm, for pictures."""

    crown_mesiodistal: float
    cervix_mesiodistal: float
    crown_faciolingual: float


# By arch and place from the midline: crown and cervix mesiodistally, crown faciolingually.
BREADTHS = {
    "upper": (
        ToothBreadths(8.5, 7.0, 7.0), ToothBreadths(6.5, 5.0, 6.0), ToothBreadths(7.5, 5.5, 8.0),
        ToothBreadths(7.0, 5.0, 9.0), ToothBreadths(7.0, 5.0, 9.0),
        ToothBreadths(10.0, 8.0, 11.0), ToothBreadths(9.0, 7.0, 11.0), ToothBreadths(8.5, 6.5, 10.0),
    ),
    "lower": (
        ToothBreadths(5.0, 3.5, 6.0), ToothBreadths(5.5, 4.0, 6.5), ToothBreadths(7.0, 5.5, 7.5),
        ToothBreadths(7.0, 5.0, 7.5), ToothBreadths(7.0, 5.0, 8.0),
        ToothBreadths(11.0, 9.0, 10.5), ToothBreadths(10.5, 8.0, 10.0), ToothBreadths(10.0, 7.5, 9.5),
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class DefaultCentre:
    """Where a tooth's centre of resistance lies by default, seen from the centre of a facial slot."""

    from_slot: tuple[float, float, float]
    """mm, in the slot's own axes."""
    words: str
    """What it stands on, with the spread."""


def size_of(tooth: Tooth) -> ToothSize | None:
    """Typical lengths of a permanent tooth; None for a deciduous one, of which the table has none."""
    return None if tooth.deciduous else SIZES[tooth.arch][int(tooth.number[1]) - 1]


def breadths_of(tooth: Tooth) -> ToothBreadths | None:
    """Typical diameters of a permanent tooth; None for a deciduous one."""
    return None if tooth.deciduous else BREADTHS[tooth.arch][int(tooth.number[1]) - 1]


def in_bone(size: ToothSize) -> float:
    """Length of the root from the crest to the apex, mm."""
    return size.root - CREST_BELOW_CERVIX


def default_centre(tooth: Tooth) -> DefaultCentre | None:
    """Where the centre of resistance of a permanent tooth lies unless the case says; None for a deciduous one."""
    size = size_of(tooth)
    if size is None:
        return None
    if int(tooth.number[1]) <= 5:
        taken, least, most = (CREST_BELOW_CERVIX + share * in_bone(size) for share in ONE_ROOT)
        where = f"a third of the root within the bone ({in_bone(size):g} mm) below the crest"
    else:
        taken, least, most = (FURCATION[tooth.arch] + beyond for beyond in AROUND_FURCATION)
        where = "at the furcation"
    half = 0.5 * size.crown
    behind = 0.5 * size.cervix + SLOT_IN_FRONT
    words = (
        f"default: {half + taken:.1f} mm gingival of the slot (published {half + least:.1f} to {half + most:.1f}) and "
        f"{behind:.1f} mm lingual of it; average {tooth.name}, {where}, the slot at the middle of the crown and the "
        "long axis along its height"
    )
    return DefaultCentre((0.0, -tooth.occlusal_sign * (half + taken), -behind), words)


def typical_support(tooth: Tooth) -> tuple[tuple[float, ...], str] | None:
    """Stiffnesses (6,) N/mm along and N mm/rad about a slot's axes at the centre of resistance, and their words.

    An order of magnitude only.  A real ligament is softer at first, stiffens, creeps, and differs with direction.  The
    translation is chosen so that the crown of an upper incisor gives way by 0.07 mm at 1 N, as it is said to do
    (0.02 to 0.1 mm; from memory).  The turning stiffness follows from 0.068 h^2, h the root within the bone: that is
    the product of the distances from the centre of resistance to the line of force and to the centre of rotation
    (Burstone & Pryputniewicz, Am J Orthod 77 (1980) 396: from memory; that it is a constant of tooth and direction:
    Naegerl et al., Am J Orthod Dentofacial Orthop 99 (1991) 337, abstract seen).  About the long axis half the squared
    radius at the cervix stands for it, which has no source.  None for a deciduous tooth.
    """
    size = size_of(tooth)
    if size is None:
        return None
    tipping = TRANSLATION * SQUARED_RADIUS_SHARE * in_bone(size) ** 2
    turning = TRANSLATION * 0.5 * (0.5 * size.cervix) ** 2
    words = (
        f"typical, an order of magnitude only: {TRANSLATION:g} N/mm along, {math.radians(tipping):.0f} N mm a degree "
        f"in tipping and {math.radians(turning):.0f} about the long axis, for {in_bone(size):g} mm of root within the "
        "bone (from memory)"
    )
    return (TRANSLATION,) * 3 + (tipping, turning, tipping), words
