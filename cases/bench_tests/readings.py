"""What is read off a tested wire: plateaus, largest load, what is left, what was dissipated."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.bench_tests.question import STANDARD_STRAIN, STEPS, BenchTest
from cases.show.tables import Cell, Table
from fem.fibre_material import Superelastic
from fem.fibre_paths import SectionPath, Way, load_and_release
from fem.fibre_section import FibreSection

Array = NDArray[np.float64]

UPPER_STRAIN, LOWER_STRAIN = 0.03, 0.025
"""Where ASTM F2516 reads the plateaus: on loading, and on unloading from 6 %."""
PROOF_STRAIN = 0.002
"""Offset of the proof stress."""
NOTHING = 1e-9
"""Of the largest strain: rounding, not a set."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One number read off the curve."""

    key: str
    """With its unit, as in the JSON file."""
    words: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Tested:
    """A test done."""

    test: BenchTest
    path: SectionPath
    ways: tuple[Way, ...]
    readings: tuple[Reading, ...]

    @property
    def shown_strain(self) -> Array:
        """(k,) what the wire is told, as people read it: % or degrees."""
        scale = {
            "tension": 100.0,
            "bending": 100.0 * self.test.half,
            "torsion": math.degrees(self.test.length),
        }
        return self.path.strains[:, self.test.which] * scale[self.test.kind]

    @property
    def shown_load(self) -> Array:
        """(k,) what it answers: MPa in tension, else N mm."""
        load = self.path.resultants[:, self.test.which]
        return load / self.test.section.area if self.test.kind == "tension" else load

    def cycle_of(self, way: Way) -> int:
        """The cycle that a way belongs to, from 1."""
        return (way.cycle - 1) // (2 if self.test.both_ways else 1) + 1


def carry_out(test: BenchTest) -> Tested:
    """Strain the wire and read it."""
    section = FibreSection(test.section, test.alloy.material)
    sides = (test.peak, -test.peak) if test.both_ways else (test.peak,)
    through = (UPPER_STRAIN, LOWER_STRAIN) if test.kind == "tension" else (0.5 * test.peak,)
    free = () if test.kind == "tension" else (0,)
    path, ways = load_and_release(
        section, test.which, sides * test.cycles, STEPS, free, test.temperature, through
    )
    done = Tested(test, path, ways, ())
    return Tested(test, path, ways, tuple(_readings(done)))


def _readings(done: Tested) -> Sequence[Reading]:
    strain, load = done.shown_strain, done.shown_load
    out, back = done.ways[0], done.ways[1]
    kind, path = done.test.kind, done.path
    last = done.ways[-1].end - 1
    left = strain[last] if abs(strain[last]) > NOTHING * np.abs(strain).max() else 0.0
    found: list[Reading] = []
    if kind == "tension":
        found += _plateaus(done)
        found.append(Reading("largest_stress_mpa", "largest stress", float(np.abs(load).max()), "MPa"))
        found.append(Reading("permanent_set_percent", "permanent set", float(left), "%"))
    else:
        moment = "moment" if kind == "bending" else "torque"
        rigidity = float(path.resultants[1, done.test.which] / path.strains[1, done.test.which])
        found.append(
            Reading("first_stiffness_nmm2", f"{moment} per {_rate(kind)} at first", rigidity, "N mm^2")
        )
        found.append(Reading(f"largest_{moment}_nmm", f"largest {moment}", float(np.abs(load).max()), "N mm"))
        half = 0.5 * path.strains[out.end - 1, done.test.which]
        for way, name in ((out, "loading"), (back, "unloading")):
            value = _at(done, way, half, load)
            if value is not None:
                words = f"{moment} half-way, {name}"
                found.append(Reading(f"half_way_{name}_{moment}_nmm", words, value, "N mm"))
        if kind == "bending":
            curvature = float(path.strains[last, done.test.which]) if left else 0.0
            found.append(
                Reading("permanent_set_percent", "permanent set of the outermost fibre", float(left), "%")
            )
            found.append(Reading("permanent_curvature_per_mm", "permanent curvature", curvature, "1/mm"))
        else:
            found.append(Reading("permanent_turn_deg", "permanent turn", float(left), "deg"))
    if not done.test.both_ways:
        recovered = 100.0 * (1.0 - float(left) / float(strain[done.ways[-2].end - 1]))
        found.append(Reading("springback_percent", "springs back", recovered, "%"))
    return [*found, *_energies(done)]


def _rate(kind: str) -> str:
    return "curvature" if kind == "bending" else "twist"


def _at(done: Tested, way: Way, value: float, load: Array) -> float | None:
    """The load where a way passes a strain; None where it does not."""
    at = done.path.strains[way.first - 1 : way.end, done.test.which]
    if not at.min() <= value <= at.max():
        return None
    order = np.argsort(at, kind="stable")
    return float(np.interp(value, at[order], load[way.first - 1 : way.end][order]))


def _plateaus(done: Tested) -> Sequence[Reading]:
    """Plateaus after ASTM F2516 for a wire that transforms, the lower one only after its 6 %; proof stress else."""
    load = done.shown_load
    out, back = done.ways[0], done.ways[1]
    material = done.test.alloy.material
    if not isinstance(material, Superelastic):
        e = done.path.strains[: out.end, 0]
        plastic = e - load[: out.end] / material.youngs_modulus
        if plastic[-1] < PROOF_STRAIN:
            return ()
        proof = float(np.interp(PROOF_STRAIN, plastic, load[: out.end]))
        return (Reading("proof_stress_mpa", "0.2 % proof stress", proof, "MPa"),)
    found = []
    upper, lower = _at(done, out, UPPER_STRAIN, load), _at(done, back, LOWER_STRAIN, load)
    if upper is not None:
        found.append(Reading("upper_plateau_mpa", "upper plateau, at 3 % on loading", upper, "MPa"))
    if lower is not None and abs(done.test.peak - STANDARD_STRAIN) < 1e-9:
        words = "lower plateau, at 2.5 % on unloading from 6 %"
        found.append(Reading("lower_plateau_mpa", words, lower, "MPa"))
    return found


def _energies(done: Tested) -> Sequence[Reading]:
    """Dissipated in each cycle: per volume in tension, per length in bending, of the whole piece in torsion."""
    kind = done.test.kind
    scale, key, unit = {
        "tension": (1.0 / done.test.section.area, "mj_per_m3", "MJ/m^3"),
        "bending": (1.0, "nmm_per_mm", "N mm per mm"),
        "torsion": (done.test.length, "nmm", "N mm"),
    }[kind]
    out = []
    before = 0.0
    for number in range(1, done.test.cycles + 1):
        end = max(way.end for way in done.ways if done.cycle_of(way) == number) - 1
        after = float(done.path.dissipated[end])
        words = "dissipated" if done.test.cycles == 1 else f"dissipated in cycle {number}"
        name = f"dissipated_{key}" if done.test.cycles == 1 else f"dissipated_cycle_{number}_{key}"
        out.append(Reading(name, words, (after - before) * scale, unit))
        before = after
    return out


def curve_table(done: Tested) -> Table:
    """The curve, one row a step."""
    kind, path = done.test.kind, done.path
    told, answer = {
        "tension": ("strain_percent", "stress_mpa"),
        "bending": ("outermost_strain_percent", "moment_nmm"),
        "torsion": ("turn_deg", "torque_nmm"),
    }[kind]
    rate = {"tension": "strain", "bending": "curvature_per_mm", "torsion": "twist_rad_per_mm"}[kind]
    columns = (
        "cycle",
        "way",
        told,
        rate,
        answer,
        "axial_strain",
        "dissipated_nmm_per_mm",
        "martensite_share",
    )
    names: dict[int, tuple[float, str]] = {0: (1.0, "rest")}
    for way in done.ways:
        names |= {
            row: (float(done.cycle_of(way)), "out" if way.out else "back")
            for row in range(way.first, way.end)
        }
    rows: list[tuple[Cell, ...]] = []
    for row, (strain, load) in enumerate(zip(done.shown_strain, done.shown_load, strict=True)):
        cycle, way_name = names[row]
        numbers = (path.strains[row, done.test.which], load, path.strains[row, 0], path.dissipated[row])
        rows.append(
            (cycle, way_name, float(strain), *(float(x) for x in numbers), float(path.martensite[row]))
        )
    return Table(columns, tuple(rows))
