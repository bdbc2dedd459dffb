"""The factor studies as data: one entry a study, with its question, its values, its appliance and its formula.

All appliances are invented; sizes are as usual in the trade (common practice, no source).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from cases import units
from cases.materials import library, linear_alloys
from cases.studies import small_deflection as hand
from cases.studies.appliances import Appliance, OneCouple, TorquePair, VBend
from geometry.attachments import Slot
from geometry.section import Rectangle, Round, Section

INCH = units.INCH


@dataclass(frozen=True, slots=True)
class Study:
    """One factor and what is varied to see what it does."""

    name: str
    """As on the command line."""
    question: str
    factor: str
    """What is varied, in words."""
    unit: str
    """Of the factor's numbers on the axis; "" for names."""
    column: str
    """Its column in the table behind the figure."""
    values: tuple[str, ...]
    """As a user would write them."""
    read: Callable[[str], Any]
    """A value from its words; raises units.BadQuantity."""
    series: Mapping[str, Callable[[Any], Appliance]]
    """By what is kept equal, the appliance with the factor at a value."""
    appliance: str
    """What is studied, in a sentence or two."""
    formula: str
    source: str
    rate: str
    """What the rate is, with its unit."""
    remark: str = ""
    own_case: bool = False
    """Whether a user's own case can be its base."""

    @property
    def signed(self) -> bool:
        """Whether force and couples change their sign, so that differences are shares of the largest."""
        return self.formula == hand.V_BEND

    @property
    def turns(self) -> bool:
        """Whether the rate is a couple per degree; else it is a force per mm of deflection."""
        return self.torque or self.signed

    @property
    def torque(self) -> bool:
        """Whether pure couples of the third order are studied, which have no force."""
        return self.formula == hand.TORQUE

    def place(self, read: Any, index: int) -> float:
        """Where a value stands on the axis: its number, or its number in the row where it is a name."""
        if not self.unit:
            return float(index)
        return math.degrees(read) if self.unit == "deg" else 100.0 * read if self.unit == "%" else float(read)


def _quantity(kind: units.Kind) -> Callable[[str], float]:
    def read(words: str) -> float:
        value = units.parse(words, kind)
        if value < 0.0:
            raise units.BadQuantity(f'expected zero or more, got "{words}"', f"write {units.EXAMPLES[kind]}")
        return value

    return read


def _alloy(words: str) -> str:
    if words not in linear_alloys():
        raise units.BadQuantity(f'no such alloy: "{words}"', f"alloys known: {', '.join(linear_alloys())}")
    return words


def read_wire(words: str) -> Section:
    """A round wire from one length, a rectangle from height x depth; edges are sharp."""
    parts = [part.strip() for part in words.split("x")]
    unit = re.search(r"[a-z]+$", parts[-1])
    sizes = [units.parse(part if re.search(r"[a-z]$", part) or not unit else f"{part} {unit[0]}", "length")
             for part in parts]  # fmt: skip
    if len(sizes) > 2 or min(sizes) <= 0.0:
        raise units.BadQuantity(
            f'expected a wire, got "{words}"', 'write "0.016 in", or "0.017 x 0.025 in" (height x depth)'
        )
    return Round(sizes[0]) if len(sizes) == 1 else Rectangle(*sizes)


_SHAPES: Mapping[str, Callable[[float], Section]] = {
    "round": lambda i: Round((64.0 * i / math.pi) ** 0.25),
    "square": lambda i: Rectangle(*[(12.0 * i) ** 0.25] * 2),
    "edgewise": lambda i: _rectangle(i, 0.016 / 0.022),
    "ribbonwise": lambda i: _rectangle(i, 0.022 / 0.016),
}
"""Sections of one second moment (mm^4) in the second order; the rectangles have sides as 0.016 to 0.022."""


def _rectangle(second_moment: float, ratio: float) -> Rectangle:
    """Height over depth is ``ratio``."""
    height = (12.0 * second_moment * ratio) ** 0.25
    return Rectangle(height, height / ratio)


def _shape(words: str) -> str:
    if words not in _SHAPES:
        raise units.BadQuantity(f'no such shape: "{words}"', f"shapes known: {', '.join(_SHAPES)}")
    return words


_SLOT = Slot(0.022 * INCH, 0.028 * INCH, 4.0)
_TUBE = OneCouple(
    library()["beta-titanium"].spec(), Rectangle(0.017 * INCH, 0.025 * INCH), _SLOT, distance=22.0, lift=5.0
)
_TIPPED = replace(_TUBE, lift=0.0, angle=math.radians(12.0))
# no play in depth: a strongly bent wire would go aside in it
_STEEP = replace(_TIPPED, slot=replace(_SLOT, depth=0.025 * INCH))
_TORQUE = TorquePair(
    library()["beta-titanium"].spec(),
    Rectangle(0.019 * INCH, 0.025 * INCH),
    replace(_SLOT, width=3.0),
    distance=8.0,
    angle=math.radians(20.0),
)
_BEND = VBend(
    library()["beta-titanium"].spec(),
    Rectangle(0.016 * INCH, 0.022 * INCH),
    None,
    span=7.0,
    share=0.5,
    angle=math.radians(8.0),
)
_SAME_STIFFNESS = Rectangle(0.016 * INCH, 0.022 * INCH).second_moment_z

_ONE_COUPLE = (
    "A straight {wire} in a tube of 0.022 x 0.028 in{width}, its end tied to a hook{distance}: one couple, second "
    "order."
)
_WIRE = "0.017 x 0.025 in wire of beta-titanium"
_RATE = "load-deflection rate (N/mm)"
_TURN_RATE = "rate (N mm/deg)"
_TORQUE_PAIR = (
    "Two brackets 8 mm apart (centres), 3 mm wide, {slot}, the second turned by 20 deg about its length; a 0.019 x "
    "0.025 in wire of beta-titanium{edges}: third order."
)


def _wide(base: Slot, width: float) -> Slot:
    return replace(base, width=width)


_ALL = (
    Study(
        "bracket-width",
        "What does a wider bracket or tube do to force and couple?",
        "bracket width", "mm", "bracket_width_mm",
        ("1.5 mm", "2 mm", "2.5 mm", "3 mm", "3.5 mm", "4 mm", "4.5 mm", "5 mm"),
        _quantity("length"),
        {
            "equal centre distance, 22 mm": lambda w: replace(_TUBE, slot=_wide(_SLOT, w)),
            "equal span, 20 mm": lambda w: replace(_TUBE, slot=_wide(_SLOT, w), distance=20.0 + 0.5 * w),
        },
        _ONE_COUPLE.format(wire=_WIRE, width="", distance=", the hook 5 mm above the tube's line"),
        hand.ONE_COUPLE, hand.ONE_COUPLE_SOURCE, _RATE,
        "A wider tube leaves less tilt to the play; at equal centre distance it also shortens the span.",
        own_case=True,
    ),
    Study(
        "distance",
        "What does the distance between the attachments do?",
        "centre distance", "mm", "centre_distance_mm",
        ("10 mm", "12 mm", "14 mm", "16 mm", "18 mm", "20 mm", "22 mm", "24 mm"),
        _quantity("length"),
        {
            "equal offset, 2 mm": lambda d: replace(_TUBE, distance=d, lift=2.0),
            "equal angle of activation, 12 deg": lambda d: replace(_TIPPED, distance=d),
        },
        _ONE_COUPLE.format(wire=_WIRE, width=", 4 mm wide", distance=""),
        hand.ONE_COUPLE, hand.ONE_COUPLE_SOURCE, _RATE,
        "Centre distance is from the tube's centre to the hook; the span from mouth to hook is 2 mm less.",
    ),
    Study(
        "alloy",
        "What does the alloy do?",
        "alloy", "", "alloy",
        linear_alloys(),
        _alloy,
        {"equal offset, 5 mm": lambda name: replace(_TUBE, material=library()[name].spec())},
        _ONE_COUPLE.format(wire="0.017 x 0.025 in wire", width=", 4 mm wide",
                           distance=" 22 mm from its centre and 5 mm above its line"),
        hand.ONE_COUPLE, hand.ONE_COUPLE_SOURCE, _RATE,
        "Force and couple are proportional to Young's modulus: upright lines show its range for each alloy "
        "(cases/library/materials.toml).",
        own_case=True,
    ),
    Study(
        "wire-size",
        "What does the size of the wire do?",
        "wire size", "", "wire_size",
        ("0.014 in", "0.016 in", "0.018 in", "0.020 in", "0.016 x 0.022 in", "0.017 x 0.025 in", "0.018 x 0.025 in",
         "0.019 x 0.025 in", "0.021 x 0.025 in"),
        read_wire,
        {"equal offset, 5 mm": lambda section: replace(_TUBE, section=section)},
        _ONE_COUPLE.format(wire="beta-titanium wire", width=", 4 mm wide",
                           distance=" 22 mm from its centre and 5 mm above its line"),
        hand.ONE_COUPLE, hand.ONE_COUPLE_SOURCE, _RATE,
        "A larger wire is stiffer and has less play.",
        own_case=True,
    ),
    Study(
        "wire-shape",
        "What does the shape of the wire do, at equal bending stiffness in second order?",
        "wire shape", "", "wire_shape",
        tuple(_SHAPES),
        _shape,
        {"equal stiffness EI, equal offset of 5 mm":
            lambda name: replace(_TUBE, section=_SHAPES[name](_SAME_STIFFNESS))},
        _ONE_COUPLE.format(wire="beta-titanium wire as stiff as 0.016 x 0.022 in edgewise", width=", 4 mm wide",
                           distance=" 22 mm from its centre and 5 mm above its line"),
        hand.ONE_COUPLE, hand.ONE_COUPLE_SOURCE, _RATE,
        "Sizes follow from the stiffness and are no trade sizes. What is left is play: a shape that is higher for the "
        "same stiffness has less.",
    ),
    Study(
        "activation",
        "How do force and couple grow with the angle of activation, up to 90 deg?",
        "angle of activation", "deg", "angle_of_activation_deg",
        tuple(f"{angle} deg" for angle in range(5, 95, 5)),
        _quantity("angle"),
        {
            "end tied, free along x": lambda angle: replace(_STEEP, angle=angle),
            "eyelet of fixed distance": lambda angle: replace(_STEEP, angle=angle, eyelet=True),
        },
        f"A straight {_WIRE} in a tube 0.022 in high, 4 mm wide and as deep as the wire, that is tipped by the angle; "
        "22 mm from its centre, level with it, the wire's end is tied, or the wire slides through an eyelet: one "
        "couple, second order.",
        hand.ONE_COUPLE, hand.ONE_COUPLE_SOURCE, _RATE,
        "At the eyelet the force stands square to the wire: the steeper the wire leaves, the shorter the couple's arm, "
        "and the more wire slides in.",
    ),
    Study(
        "play",
        "What does slot play do to torque?",
        "slot height less wire height", "mm", "height_play_mm",
        ("0.01 mm", "0.025 mm", "0.04 mm", "0.055 mm", "0.0762 mm", "0.09 mm", "0.105 mm", "0.12 mm"),
        _quantity("length"),
        {"20 deg of activation":
            lambda play: replace(_TORQUE, slot=replace(_TORQUE.slot, height=_TORQUE.section.height + play))},
        _TORQUE_PAIR.format(slot="0.028 in deep and as high as the play asks", edges=" with sharp edges"),
        hand.TORQUE, hand.TORQUE_SOURCE, _TURN_RATE,
        "0.0762 mm is 0.019 in wire in a 0.022 in slot. Play does not soften the wire: it uses up activation.",
        own_case=True,
    ),
    Study(
        "edge-radius",
        "What do rounded edges of the wire do to torque?",
        "edge radius", "mm", "edge_radius_mm",
        ("0 mm", "0.01 mm", "0.02 mm", "0.03 mm", "0.04 mm", "0.05 mm", "0.06 mm", "0.07 mm", "0.08 mm"),
        _quantity("length"),
        {"20 deg of activation":
            lambda radius: replace(_TORQUE, section=replace(_TORQUE.section, edge_radius=radius))},
        _TORQUE_PAIR.format(slot="with slots of 0.022 x 0.028 in", edges=""),
        hand.TORQUE, hand.TORQUE_SOURCE, _TURN_RATE,
        "Rounding hardly softens the wire in torsion; it adds play at both brackets.",
        own_case=True,
    ),
    Study(
        "bend-position",
        "What does the place of a V bend do to the two couples?",
        "bend from the first end", "%", "bend_place_percent",
        ("10 %", "20 %", "30 %", "33.3333 %", "40 %", "50 %", "60 %", "66.6667 %", "70 %", "80 %", "90 %"),
        _quantity("share"),
        {
            "ends built in": lambda share: replace(_BEND, share=share),
            "brackets with play": lambda share: replace(_BEND, share=share, slot=Slot(0.018 * INCH, 0.025 * INCH, 3.0)),
        },
        "A 0.016 x 0.022 in wire of beta-titanium with a V bend of 8 deg over a span of 7 mm: ends built in, or two "
        "level brackets of 0.018 x 0.025 in, 3 mm wide; two couples, second order.",
        hand.V_BEND, hand.V_BEND_SOURCE, "couple per degree of the bend (N mm/deg)",
        "The place of the bend is its share of the span. Couples are about the ends of the span, the mouths of "
        "brackets; force is upwards on the first attachment, as much downwards on the second. With ends built in, the "
        "wire's shear takes 1 % of the force, which the formula leaves out.",
    ),
)  # fmt: skip

STUDIES: Mapping[str, Study] = {study.name: study for study in _ALL}
"""By the name on the command line."""
