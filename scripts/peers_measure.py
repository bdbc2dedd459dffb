"""Error and time of every package over meshes: what the tables and the figure of scripts/peers are made of."""

from __future__ import annotations

import gc
import statistics
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fem.equilibrium import problem_of
from scripts.peers_packages import OURS, Way, our_model, our_solution
from scripts.peers_problems import Mesh, Task

LIMIT = 1e-4
"""Relative error that is asked of everyone."""
EQUAL = 40
"""Elements of the comparison on one mesh."""
ELEMENTS = (5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20, 24, 28, 32, 36, EQUAL, 48, 56, 64, 80)
INCREMENTS = (1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 40)
RUNS = 7
SAME, NEAR = 1e-6, 0.1
"""Two numbers of increments that agree so well, at an error no larger than this, need no third."""


@dataclass(frozen=True, slots=True)
class Point:
    """One way on one mesh, in the fewest increments that gave its best answer."""

    task: Task
    way: Way
    elements: int
    increments: int
    error: float
    seconds: float
    """Processor time from nothing to the solved model, median of `RUNS`.

    Not the clock's: on a busy machine that spares short runs and doubles long ones.  Nothing here runs in threads."""

    @property
    def reaches(self) -> bool:
        """Whether it is as good as was asked."""
        return self.error <= LIMIT

    @property
    def is_ours(self) -> bool:
        """Whether this program made it."""
        return self.way.package == OURS


def best_increments(task: Task, way: Way, mesh: Mesh) -> tuple[int, float] | None:
    """Fewest increments with which the answer is right, and its error; None where none converge.

    Few increments may converge to another equilibrium of the same wire: so more are tried until the error is small
    enough, or two of them agree, and the best counts."""
    found: list[tuple[int, float]] = []
    for increments in INCREMENTS:
        read = way.run(task, mesh, increments)
        if read is None:
            continue
        error = task.error(read(), way.shear)
        agrees = any(abs(error - other) <= SAME * error for _, other in found)
        found.append((increments, error))
        if error <= LIMIT or (agrees and error <= NEAR):
            break
    found = [one for one in found if np.isfinite(one[1])]
    if not found:
        return None
    best = min(error for _, error in found)
    return next(one for one in found if one[1] <= best * (1.0 + 1e-3))


def measured(task: Task, way: Way, elements: int) -> Point | None:
    """One way on one mesh; None where it does not converge.  The search before counts as the run that warms up."""
    mesh = task.mesh(elements)
    best = best_increments(task, way, mesh)
    if best is None:
        return None
    taken = []
    gc.disable()
    try:
        for _ in range(RUNS):
            way.tidy()
            begin = time.process_time()
            read = way.run(task, mesh, best[0])
            taken.append(time.process_time() - begin)
            del read
    finally:
        gc.enable()
        way.tidy()
    return Point(task, way, elements, *best, statistics.median(taken))


def sweep(task: Task, way: Way) -> Iterator[Point]:
    """Finer and finer meshes, as far as the equal one and until the limit is reached."""
    reached = False
    for elements in ELEMENTS:
        if reached and elements > EQUAL:
            return
        point = measured(task, way, elements)
        if point is not None:
            reached = reached or point.reaches
            yield point


def fewest(points: Sequence[Point]) -> list[Point]:
    """Of every way that reaches the limit, its coarsest mesh; the fastest of every package first."""
    found: dict[str, Point] = {}
    for point in points:
        if point.reaches and point.way.name not in found:
            found[point.way.name] = point
    return sorted(found.values(), key=lambda point: point.seconds)


def equal(points: Sequence[Point]) -> list[Point]:
    """All ways on the equal mesh, the fastest first."""
    return sorted((one for one in points if one.elements == EQUAL), key=lambda point: point.seconds)


def our_parts(point: Point) -> tuple[float, float, float]:
    """Seconds of one of our own points, medians of `RUNS`: shape and model; its arrays; increments."""
    mesh, taken = point.task.mesh(point.elements), []
    for _ in range(RUNS):
        marks = [time.process_time()]
        model = our_model(point.task, mesh)
        marks.append(time.process_time())
        problem = problem_of(model)
        marks.append(time.process_time())
        our_solution(problem, point.increments)
        marks.append(time.process_time())
        taken.append(np.diff(marks))
    first, second, third = np.median(taken, axis=0).tolist()
    return first, second, third
