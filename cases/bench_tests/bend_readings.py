"""What is read off a wire bent over two edges, as ISO 15841 reads it, and what a measured curve says of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.bench_tests.alloys import AlloyLaw, Constant
from cases.bench_tests.fitting import Fit, at_measured, fit
from cases.bench_tests.question import BenchTest
from cases.bench_tests.readings import Reading
from cases.bench_tests.three_point import Bent, bend
from cases.show.tables import Cell, Table
from fem.fibre_paths import Way

Array = NDArray[np.float64]

READ_AT = (3.0, 2.0, 1.0, 0.5)
"""mm: where the standard reads the force of wires that do not unload in a straight line."""
OFFSET = 0.1
"""mm: of the straight line at which it reads wires that do."""
PURE = ("transformation_strain", "compression_ratio")
"""Constants without a unit."""
UNTOLD = "not told by the curve"
SMALLEST_SET = 1e-3
"""mm: below it the permanent deflection is what drawing on the last two points leaves open."""


@dataclass(frozen=True, slots=True)
class TestedBend:
    """A wire bent and let go."""

    test: BenchTest
    """With the constants that were found, where some were."""
    bent: Bent
    ways: tuple[Way, ...]
    readings: tuple[Reading, ...]
    fit: Fit | None = None

    @property
    def shown_strain(self) -> Array:
        """(k,) deflection, mm."""
        return self.bent.deflection

    @property
    def shown_load(self) -> Array:
        """(k,) N."""
        return self.bent.force

    def cycle_of(self, way: Way) -> int:
        """The cycle that a way belongs to, from 1."""
        return (way.cycle - 1) // 2 + 1


def carry_out_bend(test: BenchTest, say: Callable[[str], None] = lambda _: None) -> TestedBend:
    """Bend the wire, with the constants that a measured curve asks for, and read it.

    ``say`` hears how the search for constants goes."""
    found = None
    if test.measured is not None and test.fit:
        material = test.alloy.material
        found = fit(test.fit, test.measured, test.setup, test.section, material, test.temperature, say)
        constants = {**test.alloy.constants, **found_constants(found, test.measured.file)}
        test = replace(test, alloy=AlloyLaw(found.material, constants))
    bent = bend(test.setup, test.section, test.alloy.material, test.temperature)
    return TestedBend(test, bent, _ways(bent), tuple(_readings(test, bent)), found)


def found_constants(found: Fit, file: str) -> dict[str, Constant]:
    """What was found, as constants of the alloy whose range is the 95 % interval."""
    out = {}
    for key, value, low, high in zip(found.keys, found.values, found.low, found.high, strict=True):
        unit = "" if key in PURE else " MPa"
        ends = [f"{end:.6g}{unit}" if math.isfinite(high) else UNTOLD for end in (low, high)]
        source = f"found from {file}; the range is the 95 % interval"
        out[key] = Constant(f"{value:.6g}{unit}", ends[0], ends[1], source)
    return out


def _ways(bent: Bent) -> tuple[Way, ...]:
    ways: list[Way] = []
    for cycle in range(1, int(bent.cycle[-1]) + 1):
        for out in (True, False):
            rows = np.flatnonzero((bent.cycle == cycle) & (bent.out == out))
            ways.append(Way(len(ways) + 1, out, int(rows[0]), int(rows[-1]) + 1))
    return tuple(ways)


def _readings(test: BenchTest, bent: Bent) -> Sequence[Reading]:
    deflection, force = bent.way(1, True)
    most = test.setup.deflections[0]
    rate = float(force[1] / deflection[1])
    found = [Reading("rate_n_per_mm", "force per deflection at first", rate, "N/mm")]
    offset = _at_offset(deflection, force, rate)
    if offset is not None:
        found.append(Reading("offset_force_n", f"force at {OFFSET:g} mm off that line", offset, "N"))
    found.append(Reading("largest_force_n", "largest force", float(force.max()), "N"))
    back = bent.way(1, False)
    for at in READ_AT:
        if at < most:
            words = f"force at {at:g} mm, unloading"
            found.append(Reading(unloading_key(at), words, float(np.interp(at, *back)), "N"))
    left = bent.left()
    left = left if left > SMALLEST_SET else 0.0
    found.append(Reading("permanent_deflection_mm", "permanent deflection", left, "mm"))
    recovered = 100.0 * (1.0 - left / most)
    found.append(Reading("springback_percent", "springs back", recovered, "%"))
    for cycle in range(1, len(test.setup.deflections) + 1):
        lost = _work(*bent.way(cycle, True)) - _work(*bent.way(cycle, False))
        name, words = (
            ("", "") if len(test.setup.deflections) == 1 else (f"cycle_{cycle}_", f" in cycle {cycle}")
        )
        found.append(Reading(f"lost_{name}nmm", f"energy lost{words}", lost, "N mm"))
    if test.measured is not None:
        apart = at_measured(bent, test.measured) - test.measured.force
        root = float(np.sqrt(np.mean(apart**2)))
        share = 100.0 * root / float(test.measured.force.max())
        found.append(Reading("apart_n", "apart from measured, root mean square", root, "N"))
        found.append(Reading("apart_percent", "the same, of the largest measured", share, "%"))
    return found


def unloading_key(at: float) -> str:
    """Key of the reading at ``at`` mm on the way back."""
    return f"unloading_force_{at:g}_mm_n".replace(".", "_")


def _work(deflection: Array, force: Array) -> float:
    """By the trapezoidal rule, N mm."""
    return float(np.sum(0.5 * (force[1:] + force[:-1]) * np.diff(deflection)))


def _at_offset(deflection: Array, force: Array, rate: float) -> float | None:
    """The force where the curve meets its first line moved by the offset; None where it does not."""
    over = force - rate * (deflection - OFFSET)
    below = np.flatnonzero(over < 0.0)
    if not below.size:
        return None
    k = int(below[0])
    share = over[k - 1] / (over[k - 1] - over[k])
    return float(force[k - 1] + share * (force[k] - force[k - 1]))


def bend_table(done: TestedBend) -> Table:
    """The curve, one row an increment."""
    bent = done.bent
    columns = ("cycle", "way", "deflection_mm", "force_n", "slope_at_edge_deg")
    rows: list[tuple[Cell, ...]] = []
    for row, deflection in enumerate(bent.deflection):
        way = "rest" if row == 0 else ("out" if bent.out[row] else "back")
        slope = math.degrees(float(bent.slope[row]))
        rows.append((float(bent.cycle[row]), way, float(deflection), float(bent.force[row]), slope))
    return Table(columns, tuple(rows))
