"""What `scripts.convergence` measures: seven rods with published or exact answers, and the error of one mesh."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import expm

from fem.material import LinearElastic
from fem.model import Clamp, Model
from fem.path import Leg, Options, Path, engage
from fem.recovery import section_resultants
from fem.section_law import LinearSection
from fem.torsion import torsion_constant
from geometry.pose import Pose
from geometry.section import Rectangle
from geometry.wire_shapes import Bend, PassiveShape, Straight, Twist
from tests.exact_rod import Rod, Shape, loaded
from tests.fem_problems import ANY_SECTION, Held, cantilever, slender_stiffness, wire_between

Array = NDArray[np.float64]

MESHES = (5, 10, 20, 40, 80, 160, 320)
STATIONS = 5  # places along the rod that are nodes of every mesh and that are looked at
# The balance of an increment is met to this share of the largest force: what lies below is not the elements' error.
ROUNDING = 1e-8


class Benchmark(Protocol):
    """A rod whose answer is known."""

    @property
    def name(self) -> str:
        """What it is called in tables."""

    @property
    def source(self) -> str:
        """Who published it."""

    @property
    def increments(self) -> int:
        """Enough of them."""

    @property
    def in_space(self) -> bool:
        """Whether curvature or twist turns the section moments along an element out of their own direction."""

    def model(self, elements: int) -> Model:
        """On a mesh of even elements."""

    def legs(self, increments: int) -> list[Leg] | None:
        """The way of its supports; None: they stand still."""

    def exact(self) -> Shape:
        """The answer at ``STATIONS`` + 1 places, both ends included."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """A cantilever with a dead force and moment ``tip`` (6,) at its end; exact by shooting."""

    name: str
    source: str
    shape: PassiveShape
    stiffness: Array
    tip: tuple[float, ...]
    increments: int = 1
    in_space: bool = True

    def model(self, elements: int) -> Model:
        """On a mesh of even elements."""
        return cantilever(self.stiffness, elements, self.tip, self.shape)

    def legs(self, increments: int) -> None:
        """The clamp stands still."""

    def exact(self) -> Shape:
        """At the stations."""
        rod = Rod(self.stiffness, self.shape.length, self.shape.curvature(0.0)[0])
        return loaded(rod, self.tip, np.linspace(0.0, self.shape.length, STATIONS + 1))


@dataclass(frozen=True, slots=True)
class Wound:
    """A straight rod of equal bending stiffnesses wound to a helix by its end clamps, over helices of less curvature.

    Love's wrench (art. 270) with the material twisted as the helix is: all strains are the same along the rod.  With
    curvatures k = (twist, 0, k3) and M = (GJ twist, 0, EI k3), the force N = c k, which stretches and shears the rod by
    N/K, keeps the balance k x M + (e1 + N/K) x N = 0 if c + c^2 twist (1/EA - 1/kGA) = twist (GJ - EI).
    """

    name: str
    source: str
    stiffness: Array
    length: float
    radius: float
    pitch: float
    increments: int
    in_space: bool = True

    def _strain(self, share: float) -> tuple[Array, Array]:
        """Translations and curvatures (3,) along the rod, and forces and moments (6,), after ``share`` of the way."""
        axial, shear, _, torsion, _, bending = self.stiffness
        twist = share * math.sin(self.pitch) * math.cos(self.pitch) / self.radius
        curvature = np.array([twist, 0.0, share * math.cos(self.pitch) ** 2 / self.radius])
        square, right = twist * (1.0 / axial - 1.0 / shear), twist * (torsion - bending)
        factor = 2.0 * right / (1.0 + math.sqrt(1.0 + 4.0 * square * right))
        force = factor * curvature
        along = np.array([1.0, 0.0, 0.0]) + force / self.stiffness[:3]
        return np.concatenate((along, curvature)), np.concatenate((force, self.stiffness[3:] * curvature))

    def _frames(self, share: float, arcs: ArrayLike) -> tuple[Array, Array]:
        (ux, uy, uz, k1, k2, k3), _ = self._strain(share)
        rate = np.array([[0.0, -k3, k2, ux], [k3, 0.0, -k1, uy], [-k2, k1, 0.0, uz], [0.0, 0.0, 0.0, 0.0]])
        placed = np.array([expm(s * rate) for s in np.asarray(arcs)])
        return placed[:, :3, 3], placed[:, :3, :3]

    def _end(self, share: float) -> Pose:
        positions, axes = self._frames(share, [self.length])
        return Pose(positions[0], axes[0])

    def model(self, elements: int) -> Model:
        """On a mesh of even elements."""
        held = [Held(Clamp(), 0.0, Pose.identity()), Held(Clamp(), self.length, self._end(1.0))]
        shape = PassiveShape((Straight(self.length),))
        model = wire_between(shape, ANY_SECTION, LinearSection(self.stiffness), held)
        return replace(model, nodes=np.linspace(0.0, self.length, elements + 1))

    def legs(self, increments: int) -> list[Leg]:
        """One leg of one increment from helix to helix."""
        ends = [self._end((number + 1) / increments) for number in range(increments)]
        return [Leg("winding", (Pose.identity(), end), 1) for end in ends]

    def exact(self) -> Shape:
        """At the stations."""
        positions, axes = self._frames(1.0, np.linspace(0.0, self.length, STATIONS + 1))
        _, stress = self._strain(1.0)
        return Shape(positions, axes, np.tile(stress, (STATIONS + 1, 1)))


def benchmarks() -> tuple[Benchmark, ...]:
    """The seven rods."""
    straight, slender = PassiveShape((Straight(1.0),)), slender_stiffness(1000.0)
    eighth = PassiveShape((Bend(math.pi / 4.0, "second", 100.0),))
    quarter = PassiveShape((Bend(0.5 * math.pi, "second", 4.22),))
    twisted = PassiveShape((Twist(0.5 * math.pi, 12.0),))
    shear = 5e6 * 5.0 / 6.0
    of_bend = np.array([1e7, shear, shear, 5e6 / 6.0, 1e7 / 12.0, 1e7 / 12.0])
    of_curved, of_twisted = (
        LinearSection.of(section, LinearElastic("", young, poisson), torsion_constant(section)).stiffness
        for section, young, poisson in (
            (Rectangle(0.2, 0.1), 1e7, 0.25),
            (Rectangle(1.1, 0.32), 29e6, 0.22),
        )
    )
    bisshopp, macneal = "Bisshopp & Drucker 1945", "MacNeal & Harder 1985"
    full = 2.0 * math.pi
    of_helix = slender_stiffness(1000.0, length=4.0, torsion=0.75)
    return (
        Loaded("elastica", bisshopp, straight, slender, (0, 10, 0, 0, 0, 0), in_space=False),
        Loaded("roll-up", "exact", straight, slender, (0, 0, 0, 0, 0, full), 4, in_space=False),
        Loaded("45-degree bend", "Bathe & Bolourchi 1979", eighth, of_bend, (0, 0, 600, 0, 0, 0), 3),
        Loaded("curved, in plane", macneal, quarter, of_curved, (1, 0, 0, 0, 0, 0), in_space=False),
        Loaded("curved, out of plane", macneal, quarter, of_curved, (0, 0, 1, 0, 0, 0)),
        Loaded("twisted", macneal, twisted, of_twisted, (0, 1, 0, 0, 0, 0)),
        Wound("helix", "Love 1927, art. 270", of_helix, 4.0, 1.5, 0.6, 10),
    )


@dataclass(frozen=True, slots=True)
class Errors:
    """Of one mesh."""

    elements: int
    displacement: float
    """Largest error of place over the stations, as a share of the largest displacement."""
    moment: float
    """The same of the section moment at the stations, read from nodal wrenches, in the section's axes."""


def walked(benchmark: Benchmark, elements: int, increments: int) -> Path:
    """The benchmark on a mesh, in as many increments."""
    model = benchmark.model(elements)
    return engage(model, Options(increments=increments), legs=benchmark.legs(increments))


def station_nodes(elements: int) -> NDArray[np.int64]:
    """(STATIONS + 1,) which nodes are looked at."""
    return np.arange(STATIONS + 1) * (elements // STATIONS)


def errors_of(benchmark: Benchmark, exact: Shape, elements: int) -> Errors:
    """One mesh against the exact answer."""
    problem = walked(benchmark, elements, benchmark.increments).problem
    at = station_nodes(elements)
    passive, _ = problem.model.passive_frames(problem.model.nodes[at])
    moved = np.abs(exact.positions - passive).max()
    ends = section_resultants(problem)
    moments = np.vstack((ends[:, 0], ends[-1:, 1]))[at, 3:]
    wanted = exact.resultants[:, 3:]
    off = np.abs(problem.state.positions[at] - exact.positions).max()
    return Errors(elements, float(off / moved), float(np.abs(moments - wanted).max() / np.abs(wanted).max()))


def orders(elements: Sequence[int], errors: Sequence[float]) -> list[float | None]:
    """(n,) powers by which the error falls from the mesh before; None for the first, and where either is rounding."""
    out: list[float | None] = [None]
    for i in range(1, len(errors)):
        if min(errors[i - 1 : i + 1]) <= ROUNDING:
            out.append(None)
        else:
            ratio = math.log(errors[i - 1] / errors[i])
            out.append(ratio / math.log(elements[i] / elements[i - 1]))
    return out


def observed(elements: Sequence[int], errors: Sequence[float]) -> float | None:
    """Slope by least squares in logarithms, from the first mesh to the last above rounding.

    None where fewer than two are above."""
    count = next((i for i, error in enumerate(errors) if error <= ROUNDING), len(errors))
    if count < 2:
        return None
    return float(-np.polyfit(np.log(elements[:count]), np.log(errors[:count]), 1)[0])
