"""Wires bent and twisted far, without slots: the beam itself."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
from numpy.typing import NDArray

from cases.formulas import elastica_cantilever, helix_wrench, rolled_up
from cases.verify import sources
from cases.verify.models import cantilever, end_of, engaged, slender
from cases.verify.rows import Check, part_of
from fem.section_law import LinearSection
from geometry.wire_shapes import Bend, PassiveShape, Straight

Array = NDArray[np.float64]

ACROSS, BACK, TURN = range(3)
IN_PLANE, OUT = 0, 2


def checks() -> tuple[Check, ...]:
    """All of them."""
    return (*_elastica(), *_rolled(), *_bend_45(), *_helix())


@cache
def elastica(load: float) -> tuple[float, float, float]:
    """Deflection, way back (shares of the length) and turn (rad) of a cantilever's end at P L^2/EI = ``load``."""
    moved, axes = end_of(cantilever(slender(1.0), [0.0, load, 0.0, 0.0, 0.0, 0.0]), 1)
    return float(moved[1]), -float(moved[0]), math.atan2(axes[1, 0], axes[0, 0])


def _elastica() -> tuple[Check, ...]:
    out = []
    for load, across, back in ((1.0, 0.30172, 0.05643), (5.0, 0.71379, 0.38763), (10.0, 0.81061, 0.55500)):
        for part, words, expected in ((ACROSS, "deflection", across), (BACK, "shortening", back)):
            out.append(
                Check(
                    f"cantilever under a dead load, P L^2/EI = {load:g}: {words} over length",
                    "benchmark",
                    sources.MATTIASSON,
                    expected,
                    1e-4,
                    "",
                    part_of(elastica, part, load),
                    relative=False,
                )
            )
    out.append(
        Check(
            "cantilever under a dead load, P L^2/EI = 3: turn of the end",
            "closed form",
            sources.BISSHOPP,
            math.degrees(elastica_cantilever(3.0).end_angle_rad),
            1e-3,
            "deg",
            lambda: math.degrees(elastica(3.0)[TURN]),
        )
    )
    return tuple(out)


@cache
def rolled(share: float) -> Array:
    """Way (3,) of the point at ``share`` of a wire of length 1 that M = 2 pi EI/L rolls up to a circle."""
    problem = engaged(cantilever(slender(1.0), [0.0, 0.0, 0.0, 0.0, 0.0, 2.0 * math.pi])).problem
    node = int(np.abs(problem.model.nodes - share).argmin())
    return np.asarray(problem.state.positions[node] - [share, 0.0, 0.0])


@cache
def unrolled(moment: float) -> Array:
    """Place (3,) of the end of a ring of length 10, EI = 100, opened by ``moment``."""
    ring = PassiveShape((Bend(2.0 * math.pi, "second", 10.0 / (2.0 * math.pi)),))
    model = cantilever(slender(10.0, 100.0, 100.0), [0.0, 0.0, 0.0, 0.0, 0.0, -moment], ring)
    return np.asarray(engaged(model).problem.state.positions[-1])


def _rolled() -> tuple[Check, ...]:
    half = rolled_up(math.pi)
    return (
        Check(
            "wire rolled up to a circle: width of the circle over length",
            "closed form",
            sources.CURVATURE,
            0.5 * half.across_share,
            1e-6,
            "",
            part_of(rolled, 1, 0.5),
        ),
        *(
            Check(
                f"wire rolled up to a circle: way of the point at {share:g} of it, along",
                "benchmark",
                sources.MANUAL,
                expected,
                1e-5,
                "",
                part_of(rolled, 0, share),
                relative=False,
            )
            for share, expected in ((0.4, -0.30645), (0.6, -0.69355))
        ),
        Check(
            "ring opened to a semicircle: way of its end",
            "benchmark",
            sources.RING,
            6.366,
            5e-4,
            "",
            part_of(unrolled, 1, 10.0 * math.pi),
            relative=False,
        ),
        Check(
            "ring opened to a straight wire: way of its end",
            "benchmark",
            sources.RING,
            10.0,
            1e-6,
            "",
            part_of(unrolled, 0, 20.0 * math.pi),
        ),
    )


@cache
def bend_45(torsion: float) -> Array:
    """Displacement (3,) of the end of the 45-degree bend under 600 across its plane; ``torsion``: its J."""
    shear = 5e6 * 5.0 / 6.0
    law = LinearSection(np.array([1e7, shear, shear, 5e6 * torsion, 1e7 / 12.0, 1e7 / 12.0]))
    arc = PassiveShape((Bend(0.25 * math.pi, "second", 100.0),))
    return end_of(cantilever(law, [0.0, 0.0, 600.0, 0.0, 0.0, 0.0], arc))[0]


def _bend_45() -> tuple[Check, ...]:
    polar, exact = 1.0 / 6.0, 0.1406
    rows = (
        ("across its plane", OUT, polar, sources.BATHE, 53.4, 0.01),
        ("along", IN_PLANE, polar, sources.BATHE, -23.5, 0.01),
        ("across its plane, J = 0.1406", OUT, exact, sources.RING, 53.605, 1e-3),
        ("along, J = 0.1406", IN_PLANE, exact, sources.RING, -23.814, 1e-3),
        ("across its plane", OUT, polar, sources.OPENSEES, 53.4729, 5e-4),
        ("across its plane", OUT, polar, sources.EXACT_ROD, 53.4749, 5e-4),
    )
    return tuple(
        Check(
            f"45-degree bend under 600, end's way {words}",
            "benchmark",
            source,
            expected,
            tolerance,
            "",
            part_of(bend_45, part, torsion),
        )
        for words, part, torsion, source, expected, tolerance in rows
    )


PITCH, RADIUS, TORQUE, HELIX = 0.6, 1.5, 0.7, 2.0


def helix_point(arc: float) -> tuple[Array, Array]:
    """Point (3,) and axes (3, 3), tangent and normal first, of a helix about z."""
    turn = arc * math.cos(PITCH) / RADIUS
    c, s = math.cos(turn), math.sin(turn)
    tangent = np.array([-math.cos(PITCH) * s, math.cos(PITCH) * c, math.sin(PITCH)])
    normal = np.array([-c, -s, 0.0])
    point = np.array([RADIUS * c, RADIUS * s, arc * math.sin(PITCH)])
    return point, np.column_stack((tangent, normal, np.cross(tangent, normal)))


@cache
def helix_chord() -> float:
    """Distance of both ends of a straight wire, EI = 2, under the wrench that holds it as a helix."""
    wrench = helix_wrench(2.0, 1.0, RADIUS, PITCH, TORQUE)
    (_, axes), (end, _) = helix_point(0.0), helix_point(HELIX)
    up = np.array([0.0, 0.0, 1.0])
    force = wrench.axial_force_n * up
    moment = wrench.axial_moment_nmm * up + np.cross(-end, force)
    # the clamp's tangent is x: the load is seen in its axes
    tip = np.concatenate((axes.T @ force, axes.T @ moment))
    shape = PassiveShape((Straight(HELIX),))
    moved, _ = end_of(cantilever(slender(HELIX, 2.0, 1.5), tip, shape, 40), 8)
    return float(np.linalg.norm(moved + [HELIX, 0.0, 0.0]))


def _helix() -> tuple[Check, ...]:
    chord = float(np.linalg.norm(helix_point(HELIX)[0] - helix_point(0.0)[0]))
    return (
        Check(
            "straight wire wound to a helix by a wrench: distance of its ends",
            "closed form",
            sources.LOVE,
            chord,
            1e-4,
            "mm",
            helix_chord,
        ),
    )
