"""Values with units, as the trade writes them, to the inside's mm, N, rad, MPa and degC.

One small table instead of a units library: the trade uses two dozen units, and ``wireslot --help`` must answer
at once.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal

Kind = Literal[
    "length",
    "force",
    "angle",
    "stress",
    "temperature",
    "stiffness",
    "turning stiffness",
    "moment",
    "second moment",
    "share",
    "stress per degree",
]

INCH = 25.4
"""mm, exact by the international agreement of 1959."""
STANDARD_GRAVITY = 9.80665
"""m/s^2, exact by the 3rd General Conference on Weights and Measures (1901); makes the gram-force."""
POUND_FORCE = 0.45359237 * STANDARD_GRAVITY
"""N, from the pound of 1959."""
PSI = POUND_FORCE / INCH**2
"""MPa."""

UNITS: dict[str, tuple[Kind, float]] = {
    "mm": ("length", 1.0),
    "cm": ("length", 10.0),
    "um": ("length", 1e-3),
    "in": ("length", INCH),
    "N": ("force", 1.0),
    "cN": ("force", 1e-2),
    "mN": ("force", 1e-3),
    "gf": ("force", STANDARD_GRAVITY * 1e-3),
    "deg": ("angle", math.pi / 180.0),
    "rad": ("angle", 1.0),
    "MPa": ("stress", 1.0),
    "GPa": ("stress", 1e3),
    "psi": ("stress", PSI),
    "ksi": ("stress", 1e3 * PSI),
    "degC": ("temperature", 1.0),
    "N/mm": ("stiffness", 1.0),
    "cN/mm": ("stiffness", 1e-2),
    "gf/mm": ("stiffness", STANDARD_GRAVITY * 1e-3),
    "Nmm/deg": ("turning stiffness", 180.0 / math.pi),
    "Nmm/rad": ("turning stiffness", 1.0),
    "Nmm": ("moment", 1.0),
    "cNmm": ("moment", 1e-2),
    "gfmm": ("moment", STANDARD_GRAVITY * 1e-3),
    "mm^4": ("second moment", 1.0),
    "in^4": ("second moment", INCH**4),
    "%": ("share", 1e-2),
    "MPa/K": ("stress per degree", 1.0),
}
EXAMPLES: dict[Kind, str] = {
    "length": '"0.022 in" or "0.56 mm"',
    "force": '"150 gf" or "80 cN"',
    "angle": '"12 deg"',
    "stress": '"180 GPa" or "1200 MPa"',
    "temperature": '"35 degC"',
    "stiffness": '"2 N/mm"',
    "turning stiffness": '"20 Nmm/deg"',
    "moment": '"10 Nmm"',
    "second moment": '"0.0013 mm^4"',
    "share": '"5 %"',
    "stress per degree": '"6.5 MPa/K"',
}
USUAL: dict[Kind, tuple[str, ...]] = {
    "length": ("in", "mm"),
    "force": ("N", "gf"),
    "angle": ("deg",),
    "stress": ("GPa", "MPa"),
    "temperature": ("degC",),
    "stiffness": ("N/mm",),
    "turning stiffness": ("Nmm/deg",),
    "moment": ("Nmm",),
    "second moment": ("mm^4",),
    "share": ("%",),
    "stress per degree": ("MPa/K",),
}
MEANT: dict[str, str] = {
    "inch": "in", "inches": "in", '"': "in", "''": "in", "zoll": "in", "millimetre": "mm", "millimeter": "mm",
    "millimetres": "mm", "millimeters": "mm", "µm": "um", "μm": "um", "micron": "um", "microns": "um",
    "°": "deg", "degree": "deg", "degrees": "deg", "grad": "deg", "radian": "rad", "radians": "rad",
    "g": "gf", "gram": "gf", "grams": "gf", "gm": "gf", "gmf": "gf", "newton": "N", "pond": "gf",
    "n/mm2": "MPa", "n/mm^2": "MPa", "n/mm²": "MPa", "pa": "MPa", "kpa": "MPa",
    "c": "degC", "°c": "degC", "celsius": "degC",
    "g/mm": "gf/mm", "percent": "%", "per cent": "%", "mpa/degc": "MPa/K", "mpa/°c": "MPa/K",
}  # fmt: skip
"""What people write instead, in lower case, and the unit they most likely mean."""

_VALUE = re.compile(
    r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?|[+-]?(?:nan|inf(?:inity)?)(?![a-z]))\s*(.*?)\s*", re.I
)
_DECIMAL_COMMA = re.compile(r"\s*[+-]?\d+,\d+")


@dataclass(frozen=True, slots=True)
class BadQuantity(ValueError):
    """A value that is not the quantity wanted: what is wrong, and what to do."""

    message: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.message}; {self.remedy}"


def a(kind: Kind) -> str:
    """The kind with its article: "a length", "an angle"."""
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def units_of(kind: Kind) -> list[str]:
    """The unit names of one kind, in the table's order."""
    return [name for name, (its_kind, _) in UNITS.items() if its_kind == kind]


def parse(value: object, kind: Kind) -> float:
    """``value`` as it stands in a case file ("0.022 in"), in the inside's unit of ``kind``.

    Raises BadQuantity for a bare number, no number, NaN or infinity, an unknown unit, a unit of another kind.
    """
    example = EXAMPLES[kind]
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        given = {bool: "true or false", list: "a list", dict: "a table"}.get(
            type(value), type(value).__name__
        )
        raise BadQuantity(f"expected {a(kind)} with its unit, got {given}", f"write it like {example}")
    if isinstance(value, (int, float)):
        if not math.isfinite(value):
            raise BadQuantity(
                f"expected {a(kind)} with its unit, got {value}", f"write a finite number like {example}"
            )
        tries = _with_units(str(value), kind)
        raise BadQuantity(
            f"expected {a(kind)} with its unit, got the bare number {value}", f"write for example {tries}"
        )
    match = _VALUE.fullmatch(value)
    if match is None:
        raise BadQuantity(f'expected {a(kind)} with its unit, got "{value}"', f"write it like {example}")
    if _DECIMAL_COMMA.match(value):
        raise BadQuantity(
            f'expected {a(kind)}, got "{value}" with a decimal comma',
            f"write a decimal point, like {example}",
        )
    number, unit = float(match[1]), match[2]
    if not math.isfinite(number):
        raise BadQuantity(
            f'expected {a(kind)}, got "{value}", which is no finite number', f"write it like {example}"
        )
    if not unit:
        tries = _with_units(match[1], kind)
        raise BadQuantity(
            f'expected {a(kind)} with its unit, got "{value}" without one', f"write for example {tries}"
        )
    if unit not in UNITS:
        raise BadQuantity(f'unknown unit "{unit}" in "{value}"', _suggest(unit, kind))
    its_kind, factor = UNITS[unit]
    if its_kind != kind:
        raise BadQuantity(
            f'expected {a(kind)}, got "{value}", which is {a(its_kind)}', f"write it like {example}"
        )
    return number * factor


def _with_units(number: str, kind: Kind) -> str:
    """The number with the units it may have been meant in."""
    return " or ".join(f'"{number} {unit}"' for unit in USUAL[kind])


def written(value: str) -> float:
    """The number in front of the unit of a value that ``parse`` has accepted."""
    match = _VALUE.fullmatch(value)
    if match is None:
        raise ValueError(f"no value with a unit: {value!r}")
    return float(match[1])


def _suggest(unit: str, kind: Kind) -> str:
    """The remedy for an unknown unit: the one likely meant, and all that would do here."""
    known = f"units for {a(kind)} are {', '.join(units_of(kind))}"
    word = unit.lower()
    here = {name.lower(): name for name in units_of(kind)}
    # Units are so short that several are equally near: of these the one with the same first letter.
    near = sorted(get_close_matches(word, here, n=len(here), cutoff=0.5), key=lambda name: name[0] != word[0])
    meant = here.get(word) or MEANT.get(word) or (here[near[0]] if near else None)
    return f'did you mean "{meant}"? ({known})' if meant else known
