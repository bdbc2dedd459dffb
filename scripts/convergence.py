"""How the error falls with the number of elements: ``bash scripts/convergence --out FOLDER``.

Seven rods with published or exact answers (scripts.convergence_problems), each on seven meshes of 5 to 320 elements,
and on one of them in 1 to 50 increments.  Writes ``convergence.md``, ``convergence.csv`` and ``convergence.png``, and
prints the observed orders.  What the orders must be stands in ``tests/published/test_convergence_orders.py``.
"""

from __future__ import annotations

import argparse
import csv
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from numpy.typing import NDArray

from cases.files import write_whole
from cases.show.palette import FORCE, GREY, INK, MOMENT, PALE
from cases.show.sheet import DPI, SMALL_SIZE, TEXT_SIZE, TITLE_SIZE, style
from fem.status import NoEquilibrium
from geometry.compiled import needs_compiling
from scripts.convergence_problems import (
    MESHES,
    ROUNDING,
    Benchmark,
    Errors,
    benchmarks,
    errors_of,
    observed,
    orders,
    walked,
)

Array = NDArray[np.float64]

INCREMENTS = (1, 2, 5, 10, 20, 50)
FINELY = 20  # elements on which increments are compared
NAMES = ("convergence.md", "convergence.csv", "convergence.png")
QUANTITIES: tuple[tuple[str, Callable[[Errors], float]], ...] = (
    ("displacement", lambda one: one.displacement),
    ("section moment", lambda one: one.moment),
)
# One marker and one colour a rod, so that a grey print tells them apart.
MARKERS = ("o", "s", "^", "v", "D", "P", "X")
COLOURS = (FORCE, GREY, MOMENT, FORCE, MOMENT, GREY, INK)


@dataclass(frozen=True, slots=True)
class Measured:
    """One rod."""

    benchmark: Benchmark
    errors: tuple[Errors, ...]
    by_increments: tuple[float | None, ...]
    """(k,) largest difference of place from the answer in most increments, as a share of the length; None: no
    equilibrium."""

    def column(self, value: Callable[[Errors], float]) -> list[float]:
        """(meshes,)"""
        return [value(one) for one in self.errors]


def measured(benchmark: Benchmark) -> Measured:
    """All meshes, and all numbers of increments on one."""
    exact = benchmark.exact()
    errors = tuple(errors_of(benchmark, exact, elements) for elements in MESHES)
    places: list[Array | None] = []
    for increments in INCREMENTS:
        try:
            places.append(walked(benchmark, FINELY, increments).problem.state.positions)
        except NoEquilibrium:
            places.append(None)
    length = float(benchmark.model(FINELY).nodes[-1])
    last = places[-1]
    apart = tuple(
        None if last is None or place is None else float(np.abs(place - last).max()) / length
        for place in places
    )
    return Measured(benchmark, errors, apart)


def shown(order: float | None) -> str:
    """An order, or that there is none."""
    return "-" if order is None else f"{order:.2f}"


def summary(results: Sequence[Measured]) -> list[tuple[str, ...]]:
    """Rod, order of both quantities, largest difference between increments."""
    rows = []
    for one in results:
        apart = [value for value in one.by_increments if value is not None]
        failed = len(one.by_increments) - len(apart)
        found = [observed(MESHES, one.column(value)) for _, value in QUANTITIES]
        said = f"{max(apart):.0e}" if apart else "none"
        rows.append(
            (
                one.benchmark.name,
                *("exact to rounding" if order is None else f"{order:.2f}" for order in found),
                said + (f", {failed} without equilibrium" if failed else ""),
            )
        )
    return rows


def table(results: Sequence[Measured]) -> str:
    """Everything as Markdown."""
    head = ("rod", *(f"order, {name}" for name, _ in QUANTITIES), "increments apart")
    lines = [
        "# Convergence",
        "",
        "Errors are the largest over five even places along the rod, as shares of the largest exact value. Section",
        "moments are read from nodal wrenches. An order is the power of the number of elements by which the error",
        f"falls, from the first mesh to the last above {ROUNDING:.0e}, to which share the balance is met. Increments",
        "apart: largest difference of place, as a share of the length, between",
        f"{', '.join(map(str, INCREMENTS[:-1]))} increments and {INCREMENTS[-1]}, on {FINELY} elements.",
        "",
        _row(head),
        _row("---" for _ in head),
        *map(_row, summary(results)),
    ]
    for one in results:
        head = ("elements", *(word for name, _ in QUANTITIES for word in (name, "order")))
        columns = [one.column(value) for _, value in QUANTITIES]
        found = [orders(MESHES, column) for column in columns]
        lines += [
            "",
            f"## {one.benchmark.name}: {one.benchmark.source}",
            "",
            _row(head),
            _row("---" for _ in head),
        ]
        for i, elements in enumerate(MESHES):
            cells = [str(elements)]
            for column, order in zip(columns, found, strict=True):
                cells += [f"{column[i]:.2e}", shown(order[i])]
            lines.append(_row(cells))
    return "\n".join(lines) + "\n"


def _row(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def write_csv(results: Sequence[Measured], path: Path) -> None:
    """One row a rod and mesh."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["rod", "source", "elements", "displacement_error", "section_moment_error"])
        for one in results:
            for errors in one.errors:
                writer.writerow(
                    [
                        one.benchmark.name,
                        one.benchmark.source,
                        errors.elements,
                        f"{errors.displacement:.6e}",
                        f"{errors.moment:.6e}",
                    ]
                )


def draw(results: Sequence[Measured], path: Path) -> None:
    """Error against number of elements, displacement and section moment side by side."""
    with style():
        figure = Figure(figsize=(11.0, 6.4), dpi=DPI, facecolor="white")
        FigureCanvasAgg(figure)
        figure.text(0.035, 0.945, "Error against number of elements", fontsize=TITLE_SIZE, weight="bold")
        figure.text(
            0.035,
            0.908,
            "Largest over five places along the rod, as a share of the largest exact value. Dashed: bent in one plane.",
            fontsize=TEXT_SIZE,
            color=GREY,
        )
        for number, (name, value) in enumerate(QUANTITIES):
            axes = figure.add_axes((0.075 + 0.39 * number, 0.105, 0.345, 0.745))
            _curves(axes, results, value)
            axes.set_title(name, fontsize=TEXT_SIZE, weight="bold", loc="left")
            axes.set_xlabel("elements")
            if number == 0:
                axes.set_ylabel("relative error")
            else:
                axes.tick_params(labelleft=False)
        handles, names = axes.get_legend_handles_labels()
        figure.legend(
            handles, names, loc="upper left", bbox_to_anchor=(0.822, 0.85), frameon=False, fontsize=SMALL_SIZE
        )
        figure.savefig(path, format="png", dpi=DPI)


def _curves(axes: Axes, results: Sequence[Measured], value: Callable[[Errors], float]) -> None:
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlim(4.0, 400.0)
    axes.set_ylim(1e-14, 1e-1)
    axes.axhspan(1e-14, ROUNDING, color=PALE, alpha=0.45, linewidth=0.0)
    axes.text(4.4, ROUNDING / 1.6, "balance met to here", fontsize=SMALL_SIZE, color=GREY, va="top")
    axes.set_xticks(MESHES, [str(elements) for elements in MESHES])
    powers = range(-14, 0, 2)
    axes.set_yticks([10.0**power for power in powers], [f"1e{power}" for power in powers])
    axes.minorticks_off()
    axes.grid(color=PALE, linewidth=0.5)
    axes.set_axisbelow(True)
    for one, marker, colour in zip(results, MARKERS, COLOURS, strict=True):
        axes.plot(
            MESHES,
            one.column(value),
            marker=marker,
            markersize=5.0,
            color=colour,
            linewidth=1.2,
            linestyle="-" if one.benchmark.in_space else "--",
            label=one.benchmark.name,
        )
    for slope, first, top, side in ((2, 16.0, 3e-2, "left"), (4, 6.5, 5e-6, "right")):
        ends = np.array([first, 4.0 * first])
        line = top * (ends / first) ** -slope
        axes.plot(ends, line, color=INK, linewidth=1.0, linestyle=":")
        away = 1.08 if side == "left" else 1.0 / 1.08
        axes.text(
            ends[1] * away,
            line[1],
            f"slope {slope}",
            fontsize=SMALL_SIZE,
            color=INK,
            va="center",
            ha=side,
            bbox={"facecolor": "white", "alpha": 0.8, "edgecolor": "none", "pad": 0.8},
        )


def main(arguments: Sequence[str]) -> int:
    """Measure, write, print."""
    parser = argparse.ArgumentParser(prog="bash scripts/convergence", description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, required=True, help="folder for table, CSV and figure")
    out = parser.parse_args(arguments).out
    if needs_compiling():
        print("compiling the kernels first (once, about a minute) ...", flush=True)
    results = [measured(benchmark) for benchmark in benchmarks()]
    written = write_whole(
        out,
        {
            NAMES[0]: lambda path: path.write_text(table(results), encoding="utf-8"),
            NAMES[1]: lambda path: write_csv(results, path),
            NAMES[2]: lambda path: draw(results, path),
        },
    )
    print(f"{'rod':<22}{'displacement':>20}{'section moment':>20}   increments apart")
    for name, displacement, moment, apart in summary(results):
        print(f"{name:<22}{displacement:>20}{moment:>20}   {apart}")
    print("\n".join(map(str, written)))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
