"""The options of ``wireslot bench-test`` read: every problem at once, each with what to do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from cases import units
from cases.bench_tests.alloys import AlloyLaw, alloy_law
from cases.bench_tests.measured import MeasuredCurve, read_measured
from cases.bench_tests.three_point import Setup
from cases.play_options import OptionsError, read_section
from cases.reader import Findings, Table
from fem.fibre_material import Superelastic
from fem.fibre_paths import AXIAL, BEND_Y, BEND_Z, TWIST
from geometry.section import Section

Kind = Literal["tension", "bending", "torsion", "three-point"]
Order = Literal["first", "second"]

BELONGS = {
    "--length": ("torsion",),
    "--order": ("bending", "three-point"),
    "--span": ("three-point",),
    "--edge": ("three-point",),
    "--friction": ("three-point",),
    "--measured": ("three-point",),
    "--fit": ("three-point",),
}
"""Options that only some tests know."""
STEPS = 120
"""On each way: 0.05 % a step to the 6 % of ASTM F2516."""
MOST_CYCLES = 20
STANDARD_STRAIN = 0.06
"""Strain from which ASTM F2516 unloads."""
DEFAULT_TO = {
    "tension": ("6 %", "2 %"),
    "bending": ("6 %", "2 %"),
    "torsion": ("180 deg", "90 deg"),
    "three-point": ("3.1 mm", "3.1 mm"),
}
"""How far a wire that transforms is taken, and one that yields (common practice, no source; three points:
ISO 15841)."""
LARGEST_STRAIN = 0.2
MOST_OF_SPAN = 0.4
"""Deflection over span: beyond it a wire without friction is pushed through between the edges."""
DEFAULT_LENGTH = "10 mm"
MOST_FRICTION = 2.0
STRAINS = ("tension", "bending")


@dataclass(frozen=True, slots=True)
class BenchTest:
    """What is to be tested."""

    kind: Kind
    alloy: AlloyLaw
    section: Section
    to: float
    """Largest strain, of the outermost fibre in bending; in torsion the turn, rad; on three points the deflection,
    mm."""
    length: float
    """mm, of the piece that is twisted."""
    order: Order
    temperature: float | None
    """degC; None: the alloy's reference temperature, or a law that does not heed it."""
    cycles: int
    both_ways: bool
    warnings: tuple[str, ...]
    setup: Setup = Setup()
    """Of three points."""
    measured: MeasuredCurve | None = None
    """Of three points: to be laid over the computed curve."""
    fit: tuple[str, ...] = ()
    """Constants of the alloy to be found from it."""

    @property
    def which(self) -> int:
        """The strain of the section that is told."""
        bend = BEND_Y if self.order == "first" else BEND_Z
        return {"tension": AXIAL, "torsion": TWIST}.get(self.kind, bend)

    @property
    def half(self) -> float:
        """Distance of the outermost fibre in bending, mm."""
        return 0.5 * (self.section.depth if self.order == "first" else self.section.height)

    @property
    def peak(self) -> float:
        """Largest value of that strain: 1, 1/mm or rad/mm."""
        return self.to / {"tension": 1.0, "bending": self.half, "torsion": self.length}[self.kind]


def read_question(kind: Kind, given: Mapping[str, str | None], changes: Sequence[str], cycles: int,
                  both_ways: bool) -> BenchTest:  # fmt: skip
    """The test that the options ask for, from their words ("--section": "0.016 in"; None where not given).

    Raises OptionsError with every problem at once."""
    findings = Findings({})
    options = {name: words for name, words in given.items() if words is not None}
    read = Table(findings, (), options)
    radius = read.quantity("--edge-radius", "length", "the edge radius", "not negative", False, 0.0)
    section = read_section(read, radius, "--section")
    changed = _changes(read, changes)
    alloy = None
    if read.has("--material"):
        alloy = alloy_law(options["--material"], changed, findings)
    else:
        read.problem("--material", "the alloy is missing", "add --material stainless-steel")
    temperature = _temperature(read, alloy)
    transforms = alloy is not None and isinstance(alloy.material, Superelastic)
    measured, fit = read_measured(read, alloy, kind)
    farthest = 0.0 if measured is None else float(measured.deflection.max())
    options.setdefault("--to", f"{farthest!r} mm" if measured else DEFAULT_TO[kind][0 if transforms else 1])
    kinds: dict[str, units.Kind] = {"torsion": "angle", "three-point": "length"}
    to = read.quantity("--to", kinds.get(kind, "share"), "how far it goes", "positive")
    if kind in STRAINS and to is not None and to > LARGEST_STRAIN:
        read.problem("--to", f"a strain of {100 * to:.4g} % is beyond any wire", 'write a strain like "6 %"')
    for name, only in BELONGS.items():
        if read.has(name) and kind not in only:
            read.problem(name, f"belongs to {' and '.join(only)}", f"leave out {name}")
    if kind == "three-point" and both_ways:
        read.problem("--both-ways", "the edges stand on one side of the wire only", "leave out --both-ways")
    setup = _setup(read, to, cycles, options.get("--order"))
    if to is not None and to < farthest:
        what = f"the measured curve goes to {farthest:.4g} mm, this test to {to:.4g} mm"
        read.problem("--to", what, "leave out --to, or go as far")
    options.setdefault("--length", DEFAULT_LENGTH)
    length = read.quantity("--length", "length", "the length that is twisted", "positive")
    if not 1 <= cycles <= MOST_CYCLES:
        read.problem("--cycles", f"expected 1 to {MOST_CYCLES}, got {cycles}", "write --cycles 2")
    if findings.problems or section is None or alloy is None or to is None or length is None:
        raise OptionsError(f"bench-test {kind}", findings.problems)
    return BenchTest(
        kind, alloy, section, to, length, "first" if options.get("--order") == "first" else "second", temperature,
        cycles, both_ways, tuple(str(warning) for warning in findings.warnings), setup or Setup(), measured, fit,
    )  # fmt: skip


def _setup(read: Table, to: float | None, cycles: int, order: str | None) -> Setup | None:
    """Span, edges and friction of three points."""
    usual = Setup()
    span = read.quantity("--span", "length", "the span", "positive", False, usual.span)
    radius = read.quantity("--edge", "length", "the radius of the edges", "not negative", False, usual.radius)
    friction = read.number("--friction", "the friction of the edges", "0.2", False)
    if span is None or radius is None or to is None:
        return None
    friction = usual.friction if friction is None else friction
    if not 0.0 <= friction <= MOST_FRICTION:
        read.problem(
            "--friction", f"a coefficient from 0 to {MOST_FRICTION:g} is needed", "write --friction 0.2"
        )
    if to > MOST_OF_SPAN * span:
        read.problem(
            "--to", f"a wire bent down by {to:.4g} mm over a span of {span:.4g} mm slips through between the edges",
            f"go to {MOST_OF_SPAN * span:.4g} mm at most",
        )  # fmt: skip
    return Setup(span, radius, friction, (to,) * cycles, order or "second")


def _changes(read: Table, changes: Sequence[str]) -> dict[str, str]:
    out: dict[str, str] = {}
    for one in changes:
        key, equals, words = one.partition("=")
        key = key.strip().replace("-", "_")
        if not equals or not key:
            read.problem("--set", f'expected KEY=VALUE, got "{one}"', 'write --set loading_start="480 MPa"')
        elif key in out:
            read.problem("--set", f"{key} is given twice", "leave one out")
        else:
            out[key] = words.strip()
    return out


def _temperature(read: Table, alloy: AlloyLaw | None) -> float | None:
    warm = read.quantity("--temperature", "temperature", "the temperature", required=False)
    if warm is None or alloy is None:
        return None
    if not isinstance(alloy.material, Superelastic):
        read.warning(
            "--temperature", f"{alloy.material.name} does not heed it here", "constants stay as they are"
        )
        return None
    try:
        alloy.material.shift(warm)
    except ValueError as error:
        read.problem("--temperature", str(error), 'write a temperature like "37 degC"')
        return None
    return warm
