"""What others publish of wires in bending, as data: range, source, and what the source does not tell.

A range is ``read`` where an abstract, an excerpt or a scanned text carried the figure itself, else it is from memory.
A single published figure is a range as wide as its last digit.
"""

from __future__ import annotations

from dataclasses import dataclass

from cases.verify import sources

SUPERELASTIC, MARTENSITIC = "superelastic-nickel-titanium", "martensitic-nickel-titanium"
STEEL, COBALT, BETA = "stainless-steel", "cobalt-chromium", "beta-titanium"
MULTISTRAND = "multistrand steel"

UNTOLD_ACTIVATION = "how far the wires were bent and what set counted as appreciable are not in its abstract"
UNTOLD_STEEL = "which modulus its steel had"


@dataclass(frozen=True, slots=True)
class PublishedRange:
    """One published range."""

    key: str
    quantity: str
    alloy: str
    """Of the library, or strands of steel."""
    low: float
    high: float
    unit: str
    """Empty for a ratio."""
    source: str
    read: bool
    """Whether the figure was seen in the source's own words; else it is from memory."""
    untold: str
    """What it does not tell, as far as it was seen; empty where nothing is missing."""
    figure: str = ""
    """A single published figure, as published."""

    @property
    def said(self) -> str:
        """The range as published, with its unit."""
        words = self.figure or (
            f"below {self.high:g}" if self.low == 0.0 else f"{self.low:g} to {self.high:g}"
        )
        return f"{words} {self.unit}".strip()

    @property
    def mark(self) -> str:
        """ "read" or "from memory"."""
        return "read" if self.read else "from memory"


def _figure(key: str, quantity: str, alloy: str, figure: str, unit: str, source: str, read: bool,
            untold: str) -> PublishedRange:  # fmt: skip
    """A single figure, true to half its last digit."""
    half = 0.5 * 10.0 ** -len(figure.partition(".")[2])
    value = float(figure)
    return PublishedRange(
        key, quantity, alloy, value - half, value + half, unit, source, read, untold, figure
    )


UNLOADING = PublishedRange(
    "unloading_force", "force on the way back, three points", SUPERELASTIC, 98.4, 151.4, "gf",
    sources.UNLOADING_FORCES, True,
    "the size of its wires and the deflection that was read; it is the spread of means of its groups",
)  # fmt: skip
MODULI = (
    PublishedRange("modulus", "modulus in bending", STEEL, 155.0, 200.0, "GPa", sources.GOLDBERG_1977, True, ""),
    PublishedRange("modulus", "modulus in bending", COBALT, 185.0, 205.0, "GPa", sources.ALLOY_RANGE, False, ""),
    PublishedRange("modulus", "modulus in bending", BETA, 62.0, 72.0, "GPa", sources.GOLDBERG_1979, False, ""),
    PublishedRange("modulus", "modulus in bending", MARTENSITIC, 33.0, 44.0, "GPa", sources.ALLOY_RANGE, False, ""),
    PublishedRange(
        "modulus", "apparent modulus in bending", SUPERELASTIC, 30.0, 60.0, "GPa", sources.ALLOY_RANGE, False,
        "at what deflection it is read",
    ),
    PublishedRange(
        "modulus", "apparent modulus in bending", MULTISTRAND, 6.1, 35.2, "GPa", sources.GOLDBERG_1983, True,
        "which make-ups",
    ),
)  # fmt: skip
"""Nominal steel is 193 to 200 GPa, cold-drawn orthodontic steel 20 % below."""
SPRINGBACK_STEEL = _figure(
    "springback_steel", "springback against steel", SUPERELASTIC, "4.4", "", sources.BURSTONE_1985, True,
    UNTOLD_ACTIVATION,
)  # fmt: skip
SPRINGBACK_MARTENSITIC = PublishedRange(
    "springback_martensitic", "springback against martensitic nickel-titanium", SUPERELASTIC, 1.55, 1.85, "",
    sources.BURSTONE_1985, True, f"{UNTOLD_ACTIVATION}; 1.8 stands in a scanned text and may be a misread 1.6",
    "1.6 or 1.8",
)  # fmt: skip
STIFFNESS_SMALL = _figure(
    "stiffness_small", "stiffness against steel, small activation", SUPERELASTIC, "28", "%", sources.BURSTONE_1985,
    True, f"how small; {UNTOLD_STEEL}",
)  # fmt: skip
STIFFNESS_LARGE = _figure(
    "stiffness_large", "stiffness against steel, large activation", SUPERELASTIC, "7", "%", sources.BURSTONE_1985,
    True, f"how large, and whether of the whole way back or of its plateau; {UNTOLD_STEEL}",
)  # fmt: skip
FORCE_MARTENSITIC = _figure(
    "force_martensitic", "force against martensitic nickel-titanium, large activation", SUPERELASTIC, "38", "%",
    sources.BURSTONE_1985, True, "how large, and whether going out or on the way back",
)  # fmt: skip
MATERIAL_NUMBERS = tuple(
    _figure("stiffness", "stiffness against steel", alloy, figure, "", sources.BURSTONE_1981, False, UNTOLD_STEEL)
    for alloy, figure in ((COBALT, "1.19"), (BETA, "0.42"), (MARTENSITIC, "0.26"))
) + (
    PublishedRange(
        "stiffness", "stiffness against steel of the same outline", MULTISTRAND, 0.07, 0.20, "",
        sources.BURSTONE_1981, False, f"which make-ups; {UNTOLD_STEEL}",
    ),
)  # fmt: skip
_UNTOLD_STRANDS = "the range is over designs: which of them gave its ends"
STRAND_FORCES = {
    at: PublishedRange(
        f"strands_{at:g}_mm".replace(".", "_"), f"force on the way back at {at:g} mm, three points", MULTISTRAND, low,
        high, "gf", sources.MULTISTRAND_FORCES, True, _UNTOLD_STRANDS,
    )
    for at, low, high in ((0.5, 1.7, 42.7), (1.0, 31.1, 134.2), (2.0, 57.0, 320.5), (3.0, 72.5, 451.8))
}  # fmt: skip
"""By deflection, mm: twisted wires of three strands, five or six round a core, braids of eight and nine."""
STRAND_SET = PublishedRange(
    "strands_set", "permanent deflection, three points", MULTISTRAND, 0.0, 0.66, "mm", sources.MULTISTRAND_FORCES, True,
    _UNTOLD_STRANDS,
)  # fmt: skip
THREE_STRANDS = _figure(
    "three_strands", "stiffness of 3 x 0.008 in against 0.010 in round", MULTISTRAND, "1.0", "", sources.KUSY_1984,
    True, "the lay angle",
)  # fmt: skip


def published_ranges() -> tuple[PublishedRange, ...]:
    """All of them."""
    return (
        UNLOADING, *MODULI, SPRINGBACK_STEEL, SPRINGBACK_MARTENSITIC, STIFFNESS_SMALL, STIFFNESS_LARGE,
        FORCE_MARTENSITIC, *MATERIAL_NUMBERS, *STRAND_FORCES.values(), STRAND_SET, THREE_STRANDS,
    )  # fmt: skip
