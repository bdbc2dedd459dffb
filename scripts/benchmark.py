"""Speed and memory of the program, each figure beside its limit.

Every figure is the median of several runs on one core, compilation left out.  Run it on a quiet machine:

    bash scripts/benchmark
    bash scripts/benchmark --peers --out DIR    # beside general-purpose packages instead; see scripts/peers.py
"""

from __future__ import annotations

import argparse
import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fem.equilibrium import Problem, problem_of, solve
from fem.equilibrium_kernel import CONVERGED
from fem.model import Model, SlotWalls
from fem.path import Options, engage
from geometry.compiled import needs_compiling
from geometry.pose import Pose
from geometry.wire_shapes import Bend, PassiveShape, Straight
from scripts.benchmark_yielding import (
    ALL,
    ASKED,
    BENT_AND_TWISTED,
    RECTANGLE,
    ROUND,
    Cycle,
    active_elements,
)
from tests.fem_problems import (
    DISTANCE,
    OVERHANG,
    SLOT,
    WIRE,
    Held,
    cantilever,
    slender_stiffness,
    slot_walls,
    steel_law,
    wire_between,
)

ROOT = Path(__file__).resolve().parent.parent
WIRESLOT = Path(sys.executable).parent / "wireslot"
CASE = ROOT / "cases" / "library" / "molar-uprighting.toml"
SLENDERNESS = 200.0  # length over radius of gyration: 20 mm of a 0.4 mm wire
PEAK_UNIT = 1024.0 if sys.platform == "darwin" else 1.0  # what getrusage counts in, as a share of a kilobyte


@dataclass(frozen=True, slots=True)
class Figure:
    """One line of the table."""

    what: str
    value: float
    limit: float
    unit: str

    @property
    def line(self) -> str:
        """Name, value, limit, and whether the limit is kept."""
        kept = "yes" if self.value <= self.limit else "NO"
        return f"{self.what:<68} {self.value:>9.3g} {self.limit:>9.3g}  {self.unit:<8} {kept}"


@dataclass(frozen=True, slots=True)
class Process:
    """What a finished command took."""

    seconds: float
    peak_mb: float


def median_seconds(prepare: Callable[[], None], run: Callable[[], None], runs: int) -> float:
    """Median wall time of ``run``, each after ``prepare``; one more run goes before and does not count."""
    taken = []
    for _ in range(runs + 1):
        prepare()
        begin = time.perf_counter()
        run()
        taken.append(time.perf_counter() - begin)
    return statistics.median(taken[1:])


def per_iteration(problem: Problem, activation: float, runs: int) -> float:
    """Seconds per Newton iteration of one increment from the problem's state to ``activation``."""
    kept = problem.state.flat.copy()
    iterations: list[int] = []

    def put_back() -> None:
        problem.state.flat[:] = kept

    def run() -> None:
        outcome = solve(problem, activation)
        assert outcome.code == CONVERGED
        iterations.append(outcome.iterations)

    return median_seconds(put_back, run, runs) / iterations[-1]


def bending(elements: int, runs: int) -> float:
    """Seconds per iteration of a cantilever bent from straight to P L^2/EI = 10 at once."""
    model = cantilever(slender_stiffness(SLENDERNESS), elements, [0.0, 10.0, 0.0, 0.0, 0.0, 0.0])
    return per_iteration(problem_of(model), 1.0, runs)


def two_slots(stations: int) -> Model:
    """A wire with a V-bend of 20 deg between two slots with play."""
    bend, radius = math.radians(20.0), 0.5
    first = Straight(OVERHANG + DISTANCE / 3.0 - 0.5 * radius * bend)
    second = Straight(OVERHANG + 2.0 * DISTANCE / 3.0 - 0.5 * radius * bend)
    shape = PassiveShape((first, Bend(bend, "second", radius), second))
    held = [
        Held(slot_walls(SLOT, stations, stop=True), OVERHANG, Pose.identity()),
        Held(slot_walls(SLOT, stations), shape.length - OVERHANG, Pose.from_angles([DISTANCE, 0.0, 0.0])),
    ]
    return wire_between(shape, WIRE, steel_law(WIRE), held)


def sixty_elements() -> Model:
    """The two slots with as many stations as bring the mesh nearest to 60 elements."""
    models = [two_slots(stations) for stations in range(3, 22, 2)]
    return min(models, key=lambda model: abs(model.nodes.size - 61))


def arch_of_fourteen(stations: int) -> Model:
    """A round arch through fourteen slots with play, each a little high or low, in or out, and turned."""
    radius, spacing, brackets = 22.0, 6.5, 14
    length = spacing * (brackets - 1) + 2.0 * OVERHANG
    shape = PassiveShape((Bend(length / radius, "first", radius),))
    rng = np.random.default_rng(14)
    held = []
    for k in range(brackets):
        arc = OVERHANG + spacing * k
        position, axes = shape.frames(np.array([arc]))
        moved = Pose.from_angles(rng.uniform(-0.3, 0.3, 3) * (0.0, 1.0, 1.0), *rng.uniform(-0.08, 0.08, 3))
        there = Pose(position[0], axes[0]) if k == 0 else Pose(position[0], axes[0]).compose(moved)
        held.append(Held(slot_walls(SLOT, stations, stop=k == 0), arc, there))
    return wire_between(shape, WIRE, steel_law(WIRE), held)


def two_hundred_elements() -> Model:
    """The arch of fourteen with as many stations as bring the mesh nearest to 200 elements."""
    models = [arch_of_fourteen(stations) for stations in range(3, 14, 2)]
    return min(models, key=lambda model: abs(model.nodes.size - 201))


def stations_of(model: Model) -> int:
    """Contact stations of all slots."""
    return sum(s.restraint.offsets.size for s in model.supports if isinstance(s.restraint, SlotWalls))


def last_tenth(model: Model, runs: int) -> float:
    """Seconds per iteration of the last tenth of an engagement."""
    problem = problem_of(model)
    for part in range(1, 10):
        assert solve(problem, 0.1 * part).code == CONVERGED
    return per_iteration(problem, 1.0, runs)


def process(*words: str | Path) -> Process:
    """Runs a command to its end."""
    begin = time.perf_counter()
    with subprocess.Popen(
        [str(word) for word in words], stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    ) as running:
        assert running.stdout is not None
        said = running.stdout.read()
        _, status, usage = os.wait4(running.pid, 0)
        running.returncode = os.waitstatus_to_exitcode(status)
    seconds = time.perf_counter() - begin
    if running.returncode != 0:
        raise RuntimeError(f"{' '.join(map(str, words))} ended with {running.returncode}:\n{said.decode()}")
    return Process(seconds, usage.ru_maxrss / PEAK_UNIT / 1024.0)


def processes(runs: int, *words: str | Path) -> Process:
    """Medians over ``runs`` runs after one that fills the caches."""
    done = [process(*words) for _ in range(runs + 1)][1:]
    return Process(statistics.median(d.seconds for d in done), statistics.median(d.peak_mb for d in done))


def kernel_figures() -> list[Figure]:
    """Elements, stations, engagement."""
    out = []
    for elements, runs in ((40, 40), (400, 10)):
        micro = bending(elements, runs) / elements * 1e6
        out.append(
            Figure(f"per element and iteration, {elements} elements, solve included", micro, 3.0, "us")
        )
    model = sixty_elements()
    elements, stations = model.nodes.size - 1, stations_of(model)
    iteration = last_tenth(model, 20) * 1e6
    budget = 3.0 * (elements + stations)
    out.append(
        Figure(
            f"one iteration in two slots, {stations} stations, {elements} elements", iteration, budget, "us"
        )
    )

    def engagement() -> None:
        engage(model, Options(increments=10))

    whole = median_seconds(lambda: None, engagement, 7) * 1e3
    out.append(Figure(f"engagement in two slots, {elements} elements, 10 increments", whole, 40.0, "ms"))
    arch = two_hundred_elements()

    def engage_arch() -> None:
        engage(arch, Options(increments=10))

    whole = median_seconds(lambda: None, engage_arch, 5)
    out.append(Figure(f"engagement of an arch of 14 slots, {arch.nodes.size - 1} elements", whole, 0.5, "s"))
    return out


def yielding_figures() -> list[Figure]:
    """Wires that transform: the standard's bending test, and elements by themselves."""
    cycle, iterations = Cycle.of(), 0

    def run() -> None:
        nonlocal iterations
        iterations = cycle.run()

    whole = median_seconds(lambda: None, run, 9)
    elements, sizes = cycle.model.nodes.size - 1, "of 72 fibres a section, 100 increments"
    out = [
        Figure(f"three-point cycle, {elements} elements {sizes}", whole, 0.5, "s"),
        Figure("the same per element and iteration", whole / elements / iterations * 1e6, 8.0, "us"),
    ]
    for name, section, strain in (
        ("round wire, all over", ROUND, ALL),
        ("rectangle, all over", RECTANGLE, ALL),
        ("rectangle, bent and twisted", RECTANGLE, BENT_AND_TWISTED),
    ):
        ask, share = active_elements(section, strain)
        each = median_seconds(lambda: None, ask, 200) / ASKED * 1e6
        out.append(Figure(f"an element that transforms, {name}, {share:.0%} of its fibres", each, 8.0, "us"))
    return out


def growth() -> tuple[list[str], Figure]:
    """Time against the number of elements, line by line, and the exponent of a straight line through the logarithms."""
    sizes = np.array([50, 100, 200, 400, 800])
    seconds = np.array([bending(int(n), 10) for n in sizes])
    lines = [
        f"    {n:>4} elements {1e6 * s:>9.1f} us per iteration" for n, s in zip(sizes, seconds, strict=True)
    ]
    exponent = float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])
    return lines, Figure("growth of the time with the number of elements, exponent", exponent, 1.1, "")


def command_figures() -> list[Figure]:
    """What a user waits for."""
    with tempfile.TemporaryDirectory() as folder:
        run = processes(3, WIRESLOT, "run", CASE, "--out", Path(folder) / "out", "--no-pictures")
    shown = processes(5, WIRESLOT, "--help")
    return [
        Figure(f"wireslot run --no-pictures {CASE.name}, wall time", run.seconds, 2.5, "s"),
        Figure(f"wireslot run --no-pictures {CASE.name}, peak memory", run.peak_mb, 400.0, "MB"),
        Figure("wireslot --help, wall time", shown.seconds, 0.4, "s"),
    ]


def options_of(arguments: Sequence[str] | None) -> argparse.Namespace:
    """What was asked for."""
    parser = argparse.ArgumentParser(
        prog="scripts/benchmark", description="Speed and memory beside their limits."
    )
    parser.add_argument("--peers", action="store_true", help="compare with general-purpose packages instead")
    parser.add_argument(
        "--out", type=Path, metavar="DIR", help="folder for table, numbers and figure (with --peers)"
    )
    options = parser.parse_args(arguments)
    if options.out is not None and not options.peers:
        parser.error("--out goes with --peers: the other figures are only printed")
    return options


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    options = options_of(arguments)
    if needs_compiling():
        print("compiling the kernels first (once, about a minute) ...", flush=True)
    bending(4, 1)
    if options.peers:
        from scripts import peers

        peers.main(bending(40, 40) / 40, options.out)
        return
    figures = kernel_figures()
    figures += yielding_figures()
    lines, exponent = growth()
    figures += [exponent, *command_figures()]
    print(f"{'measured (median)':<68} {'figure':>9} {'limit':>9}  {'unit':<8} kept")
    for figure in figures:
        print(figure.line)
    print("time against elements, one increment of a cantilever:")
    print("\n".join(lines))


if __name__ == "__main__":
    main()
