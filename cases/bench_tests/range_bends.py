"""The bends that published ranges are compared with, carried out once: on three points, evenly, of single strands."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from cases.bench_tests import alloy_ends
from cases.bench_tests.flexure import Flexed, flex
from cases.bench_tests.published_ranges import BETA, COBALT, MARTENSITIC, STEEL, SUPERELASTIC
from cases.bench_tests.three_point import Bent, Setup, bend
from cases.units import parse
from fem.fibre_material import FibreMaterial
from fem.strands import Strands
from geometry.section import Rectangle, Round

INCH = parse("1 in", "length")
SIZES = (0.014, 0.016, 0.018)
"""in: round superelastic wires of the usual sizes (common practice, no source)."""
SIZE = 0.016
"""in: the round wire of every comparison that tells none."""
MOUTH, BODY = 36.0, 37.0
"""degC: of the bending standard (from memory), and of the body."""
FIRST = 0.1
"""mm of deflection at which a modulus is read: small enough to be a straight line within 0.2 %."""
LAY = math.radians(15.0)
"""Of strands to the wire's axis (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Spread:
    """One thing of three wires: that of the library's values and those at both ends of the alloy's ranges."""

    usual: Bent
    least: Bent
    most: Bent


@dataclass(frozen=True, slots=True)
class SpreadFlexed:
    """The same of wires bent evenly."""

    usual: Flexed
    least: Flexed
    most: Flexed


@dataclass(frozen=True, slots=True)
class MakeUp:
    """A usual multistrand wire (common practice, no source)."""

    name: str
    strands: Strands

    @property
    def count(self) -> int:
        """Strands and, as thick as they are, a core."""
        return self.strands.number_of + (self.strands.core > 0.0)


MAKE_UPS = (
    MakeUp("3 x 0.0065 in", Strands(3, 0.0065 * INCH, LAY)),
    MakeUp("6 x 0.0055 in round a core", Strands(6, 0.0055 * INCH, LAY, 0.0055 * INCH)),
    MakeUp("braid of 8 x 0.0055 in", Strands(8, 0.0055 * INCH, LAY, flat=Rectangle(0.016 * INCH, 0.022 * INCH))),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class RangeBends:
    """All that was bent."""

    superelastic: Mapping[float, Spread]
    """On three points to 3.1 mm and back, by diameter in inches; weakest and strongest."""
    springs: Mapping[str, Spread]
    """Steel and martensitic nickel-titanium likewise, ``SIZE``; least and most springy."""
    small: Mapping[str, Bent]
    """Every alloy on three points to ``FIRST``, ``SIZE``."""
    transforming: SpreadFlexed
    """Superelastic wire bent evenly; weakest and strongest."""
    yielding: Mapping[str, SpreadFlexed]
    """Steel and martensitic nickel-titanium likewise; least and most springy."""
    strands: Mapping[str, Spread]
    """One strand of each make-up of steel, on three points; of weakest and strongest steel."""


def carry_out_ranges(say: Callable[[str], None] = lambda _: None) -> RangeBends:
    """Bend everything; ``say`` hears what is being bent.

    Raises NoEquilibrium where a wire on three points finds no rest, `fem.fibre_section.Unbalanced` where an evenly
    bent one does not."""
    wire = Round(SIZE * INCH)

    def three(
        materials: tuple[FibreMaterial, ...], section: Round = wire, setup: Setup | None = None
    ) -> Spread:
        return Spread(*(bend(setup or Setup(), section, one, MOUTH) for one in materials))

    say("Superelastic wires on three points.")
    memory = alloy_ends.transforming(SUPERELASTIC)
    transforming = (memory, *alloy_ends.by_strength(SUPERELASTIC))
    superelastic = {size: three(transforming, Round(size * INCH)) for size in SIZES}
    say("Wires that yield on three points.")
    yielding = {
        name: (alloy_ends.yielding(name), *alloy_ends.by_spring(name)) for name in (STEEL, MARTENSITIC)
    }
    springs = {name: three(laws) for name, laws in yielding.items()}
    first = Setup(deflections=(FIRST,))
    alloys: dict[str, FibreMaterial] = {
        name: alloy_ends.yielding(name) for name in (STEEL, COBALT, BETA, MARTENSITIC)
    }
    alloys[SUPERELASTIC] = memory
    small = {name: bend(first, wire, law, MOUTH) for name, law in alloys.items()}
    say("Wires bent evenly, to 80 deg over 5 mm.")
    flexed = {name: SpreadFlexed(*(flex(wire, one, BODY) for one in laws)) for name, laws in yielding.items()}
    bent_evenly = SpreadFlexed(*(flex(wire, one, BODY) for one in transforming))
    say("Strands of steel on three points.")
    steels = (alloy_ends.yielding(STEEL), *alloy_ends.by_yield(STEEL))
    strands = {
        one.name: three(steels, Round(one.strands.diameter), setup_of(one.strands)) for one in MAKE_UPS
    }
    return RangeBends(superelastic, springs, small, bent_evenly, flexed, strands)


def setup_of(strands: Strands) -> Setup:
    """The test as one strand in the middle of the wire meets it: the wire's surface is further from it than its own,
    by which the edges are rounder."""
    usual = Setup()
    return replace(usual, radius=usual.radius + 0.5 * (strands.outline.height - strands.diameter))
