"""Derivatives of the force system: against closed forms, and against differences of whole solves."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from fem.derivatives import (
    Derivatives,
    NotDifferentiableError,
    Variation,
    derivatives,
    plain_nodes,
    support_loads,
)
from fem.material import LinearElastic
from fem.model import Clamp, Model, PointTie, Support
from fem.path import Options, Path, engage
from fem.rods import Held as RodHeld
from fem.rods import Load, rod
from fem.section_law import LinearSection
from geometry.attachments import Slot
from geometry.pose import Pose
from geometry.section import Rectangle, Round
from geometry.wire_shapes import Bend, PassiveShape, Straight
from tests.fem_problems import (
    DISTANCE,
    OVERHANG,
    SLOT,
    STEEL,
    WIRE,
    Held,
    slot_walls,
    steel_law,
    wire_between,
)

Array = NDArray[np.float64]

# Walls look where they meet the wire as closely as they can: what following leaves is no part of a derivative.
CLOSELY = Options(follow_within=1e-3)
SECOND_DEG = math.radians(1.0)


def tilted(x: float, y: float, about_z: float = 0.0, about_y: float = 0.0) -> Pose:
    """A pose in the facial plane, angles in degrees."""
    return Pose.from_angles(np.array([x, y, 0.0]), math.radians(about_y), math.radians(about_z), 0.0)


def bent_between(
    bend: float = -20.0, first: float = 6.2, y: float = 0.1, tilt: float = 2.0, height: float = SLOT.height,
    modulus: float = 2.0e5, friction: float = 0.0,
) -> Model:  # fmt: skip
    """A V-bend (deg) between two brackets with play, the second of which stands higher and tilted."""
    shape = PassiveShape((Straight(first), Bend(math.radians(bend), "second", 0.5), Straight(16.0 - first)))
    walls = slot_walls(SLOT, stop=True)
    other = replace(slot_walls(Slot(height, SLOT.depth, SLOT.width)), friction=friction)
    law = steel_law(WIRE, LinearElastic("steel", modulus, 0.3))
    return wire_between(
        shape, WIRE, law, [Held(walls, 3.0, Pose.identity()), Held(other, 13.0, tilted(10.0, y, tilt))]
    )


def along(made: Callable[[float], Model], step: float, path: Path) -> Derivatives:
    """The derivative with what ``made`` varies about zero."""
    return derivatives(path.problem, [Variation.of(step, made(-step), made(step))])


def by_whole_solves(made: Callable[[float], Model], step: float) -> Array:
    """The same by central differences, of ``step`` and of half of it, taken to the limit (Richardson)."""
    found = []
    for size in (step, 0.5 * step):
        up, down = (engage(made(way * size), CLOSELY).last.snapshot for way in (1.0, -1.0))
        found.append((support_loads(up, made(0.0)) - support_loads(down, made(0.0))) / (2.0 * size))
    return np.asarray((4.0 * found[1] - found[0]) / 3.0)


def off(found: Array, wanted: Array) -> float:
    """Largest error (k, 6) as a share of the largest force, and of the largest moment."""
    parts = [(found[..., part], wanted[..., part]) for part in (slice(0, 3), slice(3, 6))]
    return max(float(np.abs(a - b).max() / np.abs(b).max()) for a, b in parts)


def test_a_span_that_is_built_in_answers_by_its_stiffness() -> None:
    """Timoshenko's beam at rest: with f = 12 EI/(kGA L^2), a step costs 12 EI/(L^3 (1 + f)) of force and half of that
    times the span of moment, a turn of one end (4 + f) EI/(L (1 + f)) there and (2 - f) EI/(L (1 + f)) at the other
    (Przemieniecki, Theory of Matrix Structural Analysis, 1968, table 5.1; from memory)."""
    length, section = 7.0, Round(0.4)
    law = steel_law(section)
    bending, shear = law.stiffness[5], law.stiffness[1]
    f = 12.0 * bending / (shear * length**2)
    shape = PassiveShape((Straight(length),))

    def model(y: float, about_z: float) -> Model:
        clamps = [
            Held(Clamp(), 0.0, Pose.identity()),
            Held(Clamp(slides=True), length, tilted(length, y, about_z)),
        ]
        return wire_between(shape, section, law, clamps)

    path = engage(model(0.0, 0.0))
    step = along(lambda by: model(by, 0.0), 5e-6, path).rising[0]
    stiffness = 12.0 * bending / (length**3 * (1.0 + f))
    # loads on the supports: the raised one is pulled down
    np.testing.assert_allclose(step[:, 1], (stiffness, -stiffness), rtol=1e-8)
    np.testing.assert_allclose(step[:, 5], (0.5 * length * stiffness,) * 2, rtol=1e-8)
    turn = along(lambda by: model(0.0, math.degrees(by)), 5e-6, path).rising[0]
    near, far = ((a * bending) / (length * (1.0 + f)) for a in (4.0 + f, 2.0 - f))
    np.testing.assert_allclose(turn[:, 5], (-far, -near), rtol=1e-8)


def test_the_modulus_of_the_only_elastic_part_scales_everything() -> None:
    """All loads are proportional to it, so E dF/dE = F, at any deflection (dimensions)."""
    path = engage(bent_between(), CLOSELY)
    found = along(lambda by: bent_between(modulus=2.0e5 + by), 1.0, path).rising[0]
    loads = support_loads(path.last.snapshot, path.problem.model)
    assert np.abs(loads).max() > 1.0
    assert off(2.0e5 * found, loads) < 1e-6


@pytest.mark.parametrize(
    ("what", "step", "size"),
    [
        (lambda by: bent_between(bend=-20.0 + by), 3e-4, 2e-3),
        (lambda by: bent_between(first=6.2 + by), 1e-6, 2e-5),
        (lambda by: bent_between(y=0.1 + by), 5e-6, 5e-5),
        (lambda by: bent_between(tilt=2.0 + by), 3e-4, 2e-3),
        (lambda by: bent_between(height=SLOT.height + by), 5e-6, 5e-5),
    ],
    ids=["bend", "place of the bend", "height of a bracket", "tilt of a bracket", "slot height"],
)
def test_between_brackets_with_play(what: Callable[[float], Model], step: float, size: float) -> None:
    """To 1e-5 where no contact changes between the two whole solves; their nodes lag behind the stations by up to
    0.02 mm, which leaves about as much."""
    path = engage(what(0.0), CLOSELY)
    found = along(what, step, path)
    low, high = found.until[0]
    assert low < -size < size < high, "the whole solves would change a contact"
    assert off(found.rising[0], by_whole_solves(what, size)) < 1e-5
    assert not found.one_sided[0] and np.array_equal(found.rising, found.falling)


def test_how_far_a_derivative_holds_is_where_a_contact_changes() -> None:
    """Nine tenths of the way there the same walls press, a tenth beyond another set does."""

    def model(by: float) -> Model:
        return bent_between(y=0.1 + by)

    def pressing(by: float) -> Array:
        state = engage(model(by), CLOSELY).problem.state
        return np.asarray(state.low != state.high)

    found = along(model, 5e-6, engage(model(0.0), CLOSELY))
    here = pressing(0.0)
    for end in found.until[0]:
        assert math.isfinite(end)
        assert np.array_equal(pressing(0.9 * end), here)
        assert not np.array_equal(pressing(1.1 * end), here)


def test_supports_that_give_way() -> None:
    """Both brackets on springs in the plane of the wire, as teeth are; whole solves end within a millionth of the
    deflection (fem.mounts)."""
    softness = np.array([2e-2, 1e-2, 0.0, 0.0, 0.0, 1e-3])

    def model(by: float) -> Model:
        made = bent_between(bend=-20.0 + by)
        return replace(made, supports=tuple(replace(one, compliance=softness) for one in made.supports))

    path = engage(model(0.0), CLOSELY)
    rigid = along(lambda by: bent_between(bend=-20.0 + by), 3e-4, engage(bent_between(), CLOSELY)).rising[0]
    found = along(model, 3e-4, path)
    size = 0.5 * float(np.abs(found.until[0]).min())
    whole = by_whole_solves(model, min(size, 0.05))
    assert off(found.rising[0], whole) < 1e-4
    assert off(rigid, whole) > 0.1


def test_a_span_that_gets_longer_though_the_mesh_lags_behind() -> None:
    """A wire that all but fills its slots, drawn apart: the true slope, which differences of small steps miss by tenths
    since their meshes lag behind the stations; large steps do not."""
    section = Rectangle(0.55, 0.7)
    slot = Slot(0.5501, 0.7112, 3.0)
    shape = PassiveShape((Straight(DISTANCE + 2.0 * OVERHANG),))

    def model(by: float) -> Model:
        held = [
            Held(slot_walls(slot, stop=True), OVERHANG, Pose.identity()),
            Held(slot_walls(slot), OVERHANG + DISTANCE, tilted(DISTANCE + by, 0.1)),
        ]
        return wire_between(shape, section, steel_law(section), held)

    found = along(model, 5e-6, engage(model(0.0), CLOSELY)).rising[0]
    ends = [support_loads(engage(model(by), CLOSELY).last.snapshot, model(by)) for by in (-0.1, 0.1)]
    wide = (ends[1] - ends[0]) / 0.2
    assert found[0, 1] == pytest.approx(wide[0, 1], rel=0.01)
    assert found[0, 5] == pytest.approx(wide[0, 5], rel=0.01)


def test_at_the_end_of_the_play_the_derivative_is_one_sided() -> None:
    """A straight wire in a long slot, tied to a point as far up as the play lets it tilt free of force.

    Higher up it is bent, and pushes as a beam on the slot's mouths with an overhang does, 3 EI/(a^2 (a + W)); lower
    down it floats, and nothing acts.  At the mouths H cos t - W sin t = h (Kusy & Whitley, Eur. J. Orthod. 21 (1999)
    199)."""
    slot, arm = Slot(0.6, 1.0, 4.0), 20.0
    section = Round(0.4)
    law = steel_law(section)
    shape = PassiveShape((Straight(arm + 5.0),))
    slope = math.atan2(slot.height, slot.width)
    tilt = slope - math.asin(section.diameter / math.hypot(slot.height, slot.width))
    touching = (arm + 0.5 * slot.width) * math.sin(tilt)

    def model(y: float) -> Model:
        held = [
            Held(slot_walls(slot, stop=True), 3.0, Pose.identity()),
            Held(PointTie(), arm + 5.0, tilted(arm + 2.0, y)),
        ]
        return wire_between(shape, section, law, held)

    path = engage(model(touching), CLOSELY)
    loads = support_loads(path.last.snapshot, path.problem.model)
    assert np.abs(loads).max() < 1e-6
    found = derivatives(path.problem, [Variation.of(5e-6, model(touching - 5e-6), model(touching + 5e-6))])
    assert found.one_sided[0]
    stiffness = 3.0 * law.stiffness[5] / (arm**2 * (arm + slot.width))
    assert found.rising[0][1, 1] == pytest.approx(-stiffness, rel=0.03)
    assert np.abs(found.falling).max() < 1e-6 * stiffness


def test_in_its_play_nothing_changes() -> None:
    shape = PassiveShape((Straight(DISTANCE + 2.0 * OVERHANG),))

    def model(y: float) -> Model:
        held = [
            Held(slot_walls(SLOT, 9, stop=True), OVERHANG, Pose.identity()),
            Held(slot_walls(SLOT, 9), OVERHANG + DISTANCE, tilted(DISTANCE, y)),
        ]
        return wire_between(shape, WIRE, steel_law(WIRE), held)

    found = along(lambda by: model(0.02 + by), 5e-6, engage(model(0.02)))
    assert not found.rising.any() and not found.one_sided[0]


def test_dead_loads_and_other_laws() -> None:
    """The moment at the clamp of a far bent cantilever changes with its stiffness, its force does not."""
    stiffness = steel_law(Round(2.0)).stiffness

    def model(by: float) -> Model:
        made = rod(
            PassiveShape((Straight(1000.0),)), Round(2.0), STEEL, [RodHeld(Clamp(), 0.0)],
            [Load(1000.0, force=(0.0, -0.5, 0.0))],
        )  # fmt: skip
        return replace(made, law=LinearSection(stiffness * (1.0 + by)))

    found = along(model, 1e-5, engage(model(0.0))).rising[0, 0]
    assert found[5] == pytest.approx(by_whole_solves(model, 1e-3)[0, 5], rel=1e-5)
    assert abs(found[5]) > 10.0 and np.abs(found[:3]).max() < 1e-6


def test_what_has_no_derivative_says_so() -> None:
    rough = engage(bent_between(friction=0.1))
    with pytest.raises(NotDifferentiableError, match="the way counts"):
        along(lambda by: bent_between(bend=-20.0 + by, friction=0.1), 3e-4, rough)
    path = engage(bent_between())
    straighter = bent_between()
    more = replace(
        straighter,
        supports=(
            *straighter.supports,
            Support(PointTie(), straighter.nodes[-1], Pose.identity(), Pose.identity()),
        ),
    )
    with pytest.raises(NotDifferentiableError, match="walls and holds"):
        derivatives(path.problem, [Variation.of(1e-5, more, more)])
    other = PassiveShape((Straight(6.2), Bend(-0.1, "second", 0.5), Straight(1.0), Bend(-0.1, "second", 0.5),
                          Straight(9.0)))  # fmt: skip
    wider = replace(
        straighter, shape=other, nodes=plain_nodes(other, straighter.nodes[[*straighter.still_nodes()]])
    )
    with pytest.raises(NotDifferentiableError, match="breaks, ends and held"):
        derivatives(path.problem, [Variation.of(1e-5, wider, wider)])


def test_the_state_is_left_as_it_was() -> None:
    path = engage(bent_between())
    before = (
        path.problem.state.flat.copy(),
        path.problem.state.touch.arm.copy(),
        path.problem.deflection.copy(),
    )
    along(lambda by: bent_between(bend=-20.0 + by), 3e-4, path)
    after = path.problem.state.flat, path.problem.state.touch.arm, path.problem.deflection
    for one, other in zip(before, after, strict=True):
        assert np.array_equal(one, other)
