"""Random valid appliances, engaged: how many find an equilibrium, in how many iterations, and how the rest end.

``bash scripts/appliances --help``.  Every appliance follows from its number alone, so a failure can be looked at again.

Attachments are turned and moved anyhow, so in many a draw no wire could be tied in whole: they are let go where the
largest stress passes a tenth of Young's modulus.  No wire in use bears that (from memory: nickel-titanium transforms by
8 % and stretches by 1 to 2 % besides, all others break or take a set long before), nor do laws of elastic rods.
"""

from __future__ import annotations

import argparse
import itertools
import math
import statistics
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fem.material import LinearElastic
from fem.model import Clamp, Front, Ligature, Model, PointTie, Restraint, SlotWalls
from fem.path import Increment, engage
from fem.section_stress import largest_equivalent_stress
from fem.status import NoEquilibrium
from fem.torsion import torsion_constants
from geometry.attachments import Slot
from geometry.pose import Pose, rotation_about
from geometry.section import Rectangle, Round, Section
from geometry.wire_shapes import Bend, PassiveShape, Piece, Straight
from tests.fem_problems import Held, steel_law, wire_between

Array = NDArray[np.float64]

INCH = 25.4
FIRST_AT = 2.5
"""mm of wire before the first attachment's centre."""
BEYOND = 4.5
LARGEST_STRAIN = 0.1
"""Largest stress over Young's modulus that a wire may bear."""
PROGRESS = 100
"""Valid appliances after which a line says how far it is."""
AHEAD = 32
"""Draws that wait for each process, so that a slow one keeps none idle."""
SPARE = 4.0
"""mm of wire after the last attachment's centre, and more for every span: wire that the spans will draw in."""


def random_direction(rng: np.random.Generator) -> Array:
    """A unit vector (3,), all directions alike."""
    vector = rng.normal(size=3)
    return np.asarray(vector / np.linalg.norm(vector))


def random_section(rng: np.random.Generator) -> Section:
    """One of the usual wires, edges sharp or rounded."""
    if rng.random() < 0.3:
        return Round(float(rng.choice([0.012, 0.014, 0.016, 0.018])) * INCH)
    height, depth = rng.choice([0.016, 0.017, 0.018, 0.019]), rng.choice([0.016, 0.022, 0.025])
    return Rectangle(float(height) * INCH, float(depth) * INCH, float(rng.choice([0.0, 0.03, 0.06])))


def random_shape(rng: np.random.Generator, places: Sequence[float]) -> PassiveShape:
    """A straight wire with a bend of either order in about half of its spans."""
    pieces: list[Piece] = []
    reached = 0.0
    for before, after in zip(places, places[1:], strict=False):
        if rng.random() < 0.5:
            continue
        angle, radius = math.radians(float(rng.uniform(-40.0, 40.0))), float(rng.uniform(0.4, 1.0))
        begin = 0.5 * (before + after) - 0.5 * abs(angle) * radius
        order = "first" if rng.random() < 0.5 else "second"
        pieces += [Straight(begin - reached), Bend(angle, order, radius)]  # type: ignore[arg-type]
        reached = begin + abs(angle) * radius
    pieces.append(Straight(places[-1] + BEYOND + SPARE * (len(places) - 1) - reached))
    return PassiveShape(tuple(pieces))


def random_front(rng: np.random.Generator, section: Section, offsets: Array, home: bool) -> Front:
    """Half are closed, the others tied by any ligature or open; the one that stops the wire is not open, for out of it
    nothing would keep a wire without friction from sliding on."""
    which = rng.random()
    if which < 0.5:
        return "closed"
    mouths, halves = offsets[[0, -1]], np.array([0.5, 0.5])
    if which < 0.65:  # an elastic ring
        return Ligature(section.depth - float(rng.uniform(0.2, 1.0)), 2.0, mouths, halves)
    if which < 0.8:  # a tied wire
        return Ligature(section.depth + float(rng.uniform(0.0, 0.1)), 100.0, mouths, halves)
    if which < 0.9:  # a clip
        shares = np.full(offsets.size, 1.0 / offsets.size)
        return Ligature(section.depth - float(rng.uniform(0.0, 0.1)), 5.0, offsets, shares)
    return "closed" if home else "open"


def random_restraint(rng: np.random.Generator, section: Section, home: bool) -> Restraint:
    """Three of four are slots, some without play, some tapered, with rounded mouths or walls that give way; the first
    always is one, and stops the wire.  The others are buttons, some of them with a thread, and sliding clamps."""
    if home or rng.random() < 0.75:
        sizes = []
        for usual, size, filled in (
            ((0.018, 0.022), section.height, 0.2),
            ((0.025, 0.028), section.depth, 0.1),
        ):
            room = float(rng.choice(usual)) * INCH
            sizes.append(size if rng.random() < filled else max(room, size + 0.01))
        mouth = float(rng.choice([0.0, 0.05, 0.1]))
        offsets = Slot(sizes[0], sizes[1], float(rng.uniform(2.0, 3.5)), mouth_radius=mouth).station_offsets()
        return SlotWalls(
            sizes[0],
            sizes[1],
            offsets,
            stop=home,
            hold_roll=home and rng.random() < 0.3,
            taper=math.radians(float(rng.choice([0.0, 2.0]))),
            mouth_radius=mouth,
            front=random_front(rng, section, offsets, home),
            modulus=float(rng.choice([np.inf, np.inf, 2.0e4])),
        )
    if rng.random() < 0.6:
        return PointTie(thread=float(rng.uniform(0.2, 1.0)) if rng.random() < 0.4 else None)
    return Clamp(slides=True)


def plain(restraint: Restraint) -> Restraint:
    """Its simplest form: a closed slot with rigid, parallel walls and sharp mouths; a button without thread."""
    if isinstance(restraint, SlotWalls):
        return replace(restraint, taper=0.0, mouth_radius=0.0, front="closed", modulus=np.inf)
    return PointTie() if isinstance(restraint, PointTie) else restraint


def random_appliance(
    number: int, most: int, tilt: float, offset: float, simple: bool = False, activated: int | None = None
) -> Model:
    """Appliance ``number``: one to ``most`` attachments, turned by up to ``tilt`` (deg) about any axis and moved by up
    to ``offset`` (mm) in any direction; only ``activated`` of them, where given, while the others stay in line.
    ``simple``: all slots `plain`."""
    rng = np.random.default_rng(number)
    section = random_section(rng)
    count = int(rng.integers(1, most + 1))
    places = [FIRST_AT, *(FIRST_AT + np.cumsum(rng.uniform(5.0, 10.0, count - 1))).tolist()]
    shape = random_shape(rng, places)
    law = steel_law(section, LinearElastic("any", float(rng.choice([3.5e4, 6.5e4, 1.8e5])), 0.3))
    held = []
    for k, place in enumerate(places):
        restraint = random_restraint(rng, section, k == 0)
        restraint = plain(restraint) if simple else restraint
        moved = float(rng.uniform(0.0, offset)) * random_direction(rng)
        turned = rotation_about(random_direction(rng), math.radians(float(rng.uniform(0.0, tilt))))
        pose = Pose(np.array([place - FIRST_AT, 0.0, 0.0]) + moved, turned)
        held.append(Held(restraint, place, Pose.identity() if k == 0 else pose))
    if activated is not None:
        out = set(rng.permutation(np.arange(1, count))[:activated].tolist())
        line = [Pose(np.array([place - FIRST_AT, 0.0, 0.0]), np.eye(3)) for place in places]
        held = [one if k in out else replace(one, pose=line[k]) for k, one in enumerate(held)]
    return wire_between(shape, section, law, held)


class Broken(Exception):
    """The wire is strained beyond what any wire bears."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """What is drawn, beside the number; see `random_appliance`."""

    most: int
    tilt: float
    offset: float
    simple: bool
    activated: int | None


@dataclass(frozen=True, slots=True)
class Found:
    """How one appliance ended."""

    number: int
    end: str
    reached: bool
    broken: bool
    said: str
    iterations: tuple[int, ...]
    seconds: float
    """Of processor time."""


def look_at(number: int, drawing: Drawing) -> Found:
    """Draws an appliance and engages it."""
    model = random_appliance(
        number, drawing.most, drawing.tilt, drawing.offset, drawing.simple, drawing.activated
    )
    section, axial = model.section, float(model.law.stiffness[0])
    allowed = LARGEST_STRAIN * axial / section.area
    constants = torsion_constants(section)
    iterations: list[int] = []

    def watch(increment: Increment) -> None:
        iterations.append(increment.outcome.iterations)
        resultants = increment.snapshot.resultants.reshape(-1, 6)
        if largest_equivalent_stress(section, constants, resultants).max() > allowed:
            raise Broken

    begin = time.process_time()
    reached = broken = False
    said = ""
    try:
        end = engage(model, observer=watch).status.name.lower()
        reached = True
    except Broken:
        end, broken = "strained too far", True
    except NoEquilibrium as failure:
        end, said = f"no equilibrium ({failure.status.name.lower()})", str(failure)
    seconds = time.process_time() - begin
    return Found(number, end, reached, broken, said, tuple(iterations), seconds)


def look_at_all(first: int, valid: int, drawing: Drawing, processes: int) -> Iterator[Found]:
    """All draws from ``first`` on until so many are ``valid``."""
    with ProcessPoolExecutor(processes) as pool:
        numbers = itertools.count(first)
        waiting = [pool.submit(look_at, next(numbers), drawing) for _ in range(AHEAD * processes)]
        while valid > 0:
            found = waiting.pop(0).result()
            waiting.append(pool.submit(look_at, next(numbers), drawing))
            valid -= not found.broken
            yield found
        for one in waiting:
            one.cancel()


def main(arguments: Sequence[str] | None = None) -> int:
    """Engage them one by one and print what came out."""
    parser = argparse.ArgumentParser(prog="scripts/appliances", description=__doc__)
    parser.add_argument("--first", type=int, default=0, help="number of the first appliance")
    parser.add_argument("--count", type=int, default=200, help="how many valid ones")
    parser.add_argument("--attachments", type=int, default=6, help="at most, on one wire")
    parser.add_argument("--tilt", type=float, default=60.0, help="largest tilt about every axis, deg")
    parser.add_argument("--offset", type=float, default=5.0, help="largest offset, mm")
    parser.add_argument(
        "--activated", type=int, default=None, help="how many leave the line of the first; all"
    )
    parser.add_argument("--plain", action="store_true", help="closed slots with rigid, parallel walls only")
    parser.add_argument("--processes", type=int, default=1, help="how many at a time")
    options = parser.parse_args(arguments)
    drawing = Drawing(options.attachments, options.tilt, options.offset, options.plain, options.activated)
    valid: list[Found] = []
    drawn = 0
    for found in look_at_all(options.first, options.count, drawing, options.processes):
        drawn += 1
        if found.broken:
            continue
        valid.append(found)
        if len(valid) % PROGRESS == 0:
            print(f"{len(valid)} of {options.count}, {drawn} drawn", file=sys.stderr, flush=True)
        if found.said:
            print(f"appliance {found.number}: {found.said}", flush=True)
    reached = [found for found in valid if found.reached]
    share = 100.0 * len(reached) / len(valid)
    print(f"{len(reached)} of {len(valid)} reached equilibrium ({share:.1f} %)")
    for end, count in sorted(Counter(found.end for found in valid).items()):
        print(f"    {end}: {count}")
    print(f"{drawn - len(valid)} of {drawn} draws left out, in which no wire would stay whole")
    iterations = [count for found in reached for count in found.iterations]
    if iterations:
        seconds = [found.seconds for found in valid]
        print(f"iterations of an increment: median {statistics.median(iterations):g}, most {max(iterations)}")
        print(f"seconds of an engagement: median {statistics.median(seconds):.2f}, most {max(seconds):.1f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
