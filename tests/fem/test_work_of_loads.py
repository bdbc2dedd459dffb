"""Work of dead loads and followers against what a rod stores: elastic, so all that is put in."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem.equilibrium import stored_energy
from fem.material import LinearElastic
from fem.model import Clamp, Model
from fem.path import Leg, Options, engage, go_on
from fem.rods import Held, Load, rod
from geometry.pose import Pose
from geometry.section import Rectangle, Round
from geometry.wire_shapes import Bend, PassiveShape, Straight

STEEL = LinearElastic("steel", 2.0e5, 0.3)
LENGTH, WIRE = 100.0, Round(1.0)
BENDING = STEEL.youngs_modulus * WIRE.second_moment_z
TWISTING = STEEL.shear_modulus * 2.0 * WIRE.second_moment_z


def cantilever(*loads: Load, section: Round | Rectangle = WIRE) -> Model:
    return rod(PassiveShape((Straight(LENGTH),)), section, STEEL, [Held(Clamp(), 0.0)], loads, 40)


def put_in(model: Model, increments: int) -> tuple[float, float]:
    """Work put in altogether, and the energy stored at the end, N mm."""
    path = engage(model, Options(increments=increments))
    return sum(one.work for one in path.increments), stored_energy(path.problem, 1.0, 0.0)


def falls_with_the_square(model: Model) -> None:
    """What the trapezoidal rule misses is a quarter with twice the increments."""
    missed = []
    for increments in (10, 20, 40):
        work, stored = put_in(model, increments)
        missed.append(abs(work / stored - 1.0))
    assert missed[0] < 0.005
    assert missed[1] < 0.3 * missed[0] and missed[2] < 0.3 * missed[1]


@pytest.mark.parametrize("follower", [False, True], ids=["dead", "follower"])
@pytest.mark.parametrize(
    ("about", "rigidity"),
    [(2, BENDING), (0, TWISTING)],
    ids=["rolled up to 1.4 turns", "twisted by 1.4 turns"],
)
def test_a_moment_about_the_axis_that_its_rod_turns_about(
    about: int, rigidity: float, follower: bool
) -> None:
    """M^2 L/(2 E I) and M^2 L/(2 G J), whatever the increments, if none makes half a turn."""
    moment = np.zeros(3)
    moment[about] = 2.8 * math.pi * rigidity / LENGTH
    model = cantilever(Load(LENGTH, moment=tuple(moment), follower=follower))
    expected = moment[about] ** 2 * LENGTH / (2.0 * rigidity)
    for increments in (3, 7):
        work, stored = put_in(model, increments)
        assert work == pytest.approx(expected, rel=1e-7)
        assert stored == pytest.approx(expected, rel=1e-7)


def test_loads_of_all_kinds_put_in_what_is_stored() -> None:
    """Dead and following forces and moments together, in space, on a flat rod: what the trapezoidal rule misses falls
    with the square of the increments."""
    unit = BENDING / LENGTH
    loads = (
        Load(
            LENGTH,
            force=(0.0, 1.2 * unit / LENGTH, 0.8 * unit / LENGTH),
            moment=(0.6 * unit, -0.4 * unit, 0.5 * unit),
        ),
        Load(
            LENGTH,
            (0.3 * unit / LENGTH, 1.5 * unit / LENGTH, -0.7 * unit / LENGTH),
            (0.4 * unit, 0.7 * unit, 0.0),
            True,
        ),
        Load(0.5 * LENGTH, (0.0, 0.0, 0.9 * unit / LENGTH), (0.2 * unit, 0.0, -0.6 * unit), True),
    )
    model = cantilever(*loads, section=Rectangle(0.8, 1.2))
    falls_with_the_square(model)


def test_a_clamp_that_is_moved_and_turned_puts_in_what_is_stored() -> None:
    """Its force and its moment both change along the way of an angled rod's end."""
    shape = PassiveShape((Straight(50.0), Bend(1.5, "second", 10.0), Straight(40.0)))
    (place,), (axes,) = shape.frames([shape.length])
    end = Pose(place, axes).compose(Pose.from_angles((-6.0, 15.0, 9.0), 0.4, -0.3, 0.9))
    held = [Held(Clamp(), 0.0), Held(Clamp(), shape.length, end)]
    falls_with_the_square(rod(shape, Rectangle(0.8, 1.2), STEEL, held, elements=40))


def test_a_loaded_rod_that_is_turned_with_its_clamp_gets_nothing() -> None:
    """The follower puts in what the clamp, which stands beside the origin that it turns about, takes out."""
    turn, force = math.radians(100.0), 1.5 * BENDING / LENGTH**2
    clamp = Pose(np.array([30.0, 20.0, 0.0]), np.eye(3))
    model = rod(
        PassiveShape((Straight(LENGTH),)), WIRE, STEEL, [Held(Clamp(), 0.0)],
        [Load(LENGTH, (0.0, force, 0.4 * force), follower=True)], 40, clamp,
    )  # fmt: skip
    path = engage(model, Options(increments=20))
    loaded, stored = len(path.increments), stored_energy(path.problem, 1.0, 0.0)
    about = Pose.from_angles((0.0, 0.0, 0.0), about_z=0.1 * turn)
    legs = []
    for k in range(10):
        clamp = about.compose(clamp)
        legs.append(Leg(f"turned {k}", (clamp,), 1))
    works = np.array([one.work for one in go_on(path, legs, Options()).increments[loaded:]])
    assert works.size == 10
    np.testing.assert_allclose(works, 0.0, atol=1e-6 * stored)
