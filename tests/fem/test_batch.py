"""Ways walked in compiled calls: the same answers as the usual way, and None where only that one serves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cases.build import build_model
from cases.casefile import LIBRARY, load_case
from cases.legs import legs_of
from fem import prisms_kernel
from fem.batch import plain, walked
from fem.contact_kernel import evaluate_sites
from fem.equilibrium import MEAN_OVER, Problem, place_arms, problem_of
from fem.following import (
    OTHERS_OFF,
    PRESSING_OFF,
    TURNING_TWIST_OFF,
    TWIST_OFF,
    arms_off,
    pressing,
    relaxed,
    site_arcs,
)
from fem.material import LinearElastic
from fem.model import Clamp, Model, SlotWalls
from fem.path import Leg, Options, Path, engage
from fem.rods import Held, rod
from fem.status import Status
from fem.supports import Ways
from geometry.pose import Pose
from geometry.section import Round
from geometry.wire_shapes import PassiveShape, Straight

# Of the largest force or moment of the way.  Arms may stand within a micrometre of where they meet the wire, and a wire
# that fills its slots to a micrometre feels that most; all others agree to 1e-5.
AGREES = 1e-4
# In this one walls of one station meet the wire further apart than its nodes are; the usual way then moves the station
# (fem.following.shares_of_walls), the walked one only where their middle moves.
APART = {"six-geometries-brackets": 2e-4}
# In this one the wire floats in the depth of its tube, so that place and moment of the couple's forces are free by that
# much in the usual way too: it depends on the number of increments.
FLOATS = {"one-couple-third-order": 1e-3}
CASES = (
    "molar-uprighting",
    "one-couple-first-order",
    "one-couple-second-order-round",
    "one-couple-third-order",
    "root-uprighting-spring",
    "six-geometries-brackets",
    "step-bend-full-size-slots",
    "t-loop",
    "torque-through-play",
    "v-bend",
)


def ways_of(model: Model, legs: tuple[Leg, ...]) -> list[tuple[Ways, int]]:
    stand = tuple(support.start for support in model.supports)
    ways = []
    for leg in legs:
        ways.append((Ways.of(stand, leg.ends), leg.increments))
        stand = leg.ends
    return ways


def both(model: Model, legs: tuple[Leg, ...]) -> tuple[Path, np.ndarray, np.ndarray, int]:
    """The usual way, and forces and moments (p, k, 3) of the walked one, with how many increments were helped."""
    path = engage(model, Options(exact_ends=False), legs=legs)
    found = walked(problem_of(model), ways_of(model, legs), stress=True)
    assert found is not None and len(found.force) == len(path.increments)
    return path, found.force, found.moment, found.helped


def off(found: np.ndarray, wanted: np.ndarray) -> float:
    """The largest difference as a share of the largest value."""
    return float(np.abs(found - wanted).max() / max(np.abs(wanted).max(), 1e-9))


@pytest.mark.parametrize("name", CASES)
def test_walked_as_usual(name: str) -> None:
    case = load_case(LIBRARY / f"{name}.toml")
    model = build_model(case)
    legs = tuple(leg for leg in legs_of(case, model) if isinstance(leg, Leg))
    path, force, moment, helped = both(model, legs)
    for number in range(len(legs)):
        end = path.end_of(number)
        p = path.increments.index(end)
        scale = max(np.abs(one.snapshot.moment).max() for one in path.increments)
        assert off(force[p], end.snapshot.force) < APART.get(name, AGREES)
        assert np.abs(moment[p] - end.snapshot.moment).max() < FLOATS.get(name, AGREES) * scale + 1e-9
    assert helped == 0


@pytest.mark.parametrize("name", ["step-bend-full-size-slots", "torque-through-play", "v-bend"])
def test_a_run_follows_its_end_more_exactly(name: str) -> None:
    """What studies leave of that: a thousandth of the largest load at most, in slots that the wire fills."""
    case = load_case(LIBRARY / f"{name}.toml")
    model = build_model(case)
    legs = tuple(leg for leg in legs_of(case, model) if isinstance(leg, Leg))
    found = walked(problem_of(model), ways_of(model, legs))
    end = engage(model, legs=legs).last.snapshot
    assert found is not None
    assert off(found.force[-1], end.force) < 1e-3 and off(found.moment[-1], end.moment) < 1e-3


def test_what_does_not_settle_here_is_done_by_the_usual_increment(monkeypatch: pytest.MonkeyPatch) -> None:
    """No following allowed: then every increment that needs it is ``fem.advance``'s, bit for bit."""
    monkeypatch.setattr("fem.batch.MOST_FOLLOWINGS", 0)
    model = build_model(load_case(LIBRARY / "v-bend-near-the-molar.toml"))
    legs = (Leg("activation", tuple(support.end for support in model.supports), 10),)
    path, force, moment, helped = both(model, legs)
    assert helped == 10
    assert (force == np.array([one.snapshot.force for one in path.increments])).all()
    assert (moment == np.array([one.snapshot.moment for one in path.increments])).all()


def torque_legs(model: Model, most: float, count: int) -> tuple[Leg, ...]:
    """The second bracket of the shipped case of torque turned about its x axis, from 0 deg."""
    first, second = (support.end for support in model.supports)
    poses = [
        Pose.from_angles(second.position, 0.0, 0.0, angle)
        for angle in np.radians(np.linspace(0.0, most, count))
    ]
    return tuple(Leg(f"{k}", (first, pose), 1) for k, pose in enumerate(poses))


@pytest.mark.parametrize("most", [22.0, -44.0])
def test_a_curve_of_torque(most: float) -> None:
    """Twelve angles, as a study leads an appliance through them; resultants and all."""
    model = build_model(load_case(LIBRARY / "torque-through-play.toml"))
    legs = torque_legs(model, most, 12)
    path, force, moment, helped = both(model, legs)
    assert helped == 0
    wanted = np.array([one.snapshot.moment for one in path.increments])
    assert off(moment, wanted) < 2e-6 and np.abs(wanted).max() > 20.0
    # pairs of walls that bear a torque cancel to nothing, by what each of them is good to
    assert np.abs(force - np.array([one.snapshot.force for one in path.increments])).max() < 1e-4
    found = walked(problem_of(model), ways_of(model, legs), stress=True)
    assert found is not None and found.resultants is not None
    ends = np.array([one.snapshot.resultants for one in path.increments])
    # neighbouring stations at a mouth may share its force in another way
    assert off(found.resultants[..., 3:], ends[..., 3:]) < 1e-3
    assert list(found.any_force) == [one.snapshot.any_force for one in path.increments]
    assert found.any_force.any() and not found.any_force.all()


@pytest.fixture(scope="module")
def bent() -> Problem:
    """A wire that has slid and bent in two slots and a tie, with prisms that have followed."""
    case = load_case(LIBRARY / "one-couple-second-order.toml")
    return engage(build_model(case)).problem


def test_prisms_course_and_distances_are_those_of_the_usual_way(bent: Problem) -> None:
    """The compiled functions against numpy's, at one state."""
    state, constraints = bent.state, bent.constraints
    nodes, sites = np.array(bent.model.nodes), constraints.station_of.size
    arcs = nodes[state.touch.node] + state.touch.reach + 0.01 * np.sin(np.arange(sites))
    place_arms(bent, arcs)
    usual = [np.array(part) for part in state.touch[:5]]
    for part in state.touch[:5]:
        part[:] = 0
    screws, reached = np.empty((nodes.size - 1, 6)), np.empty((nodes.size, 6))
    prisms_kernel.place_prisms(
        nodes, constraints.station_of, bent.station_nodes, state, arcs.copy(), MEAN_OVER, screws, reached,
        np.empty((sites, 3)), np.empty((sites, 3, 3)),
    )  # fmt: skip
    for mine, theirs in zip(state.touch[:5], usual, strict=True):
        assert np.abs(mine - theirs).max() < 1e-12
    evaluate_sites(*bent.poses(1.0), constraints.sites, state.positions, state.axes, state.touch)
    limits = np.array((PRESSING_OFF, OTHERS_OFF, TWIST_OFF, TURNING_TWIST_OFF))
    found, press = np.empty(sites), np.empty(sites)
    far = prisms_kernel.off_lines(
        nodes, constraints.sites, state, reached, MEAN_OVER, limits, False, press, found
    )
    wanted = arms_off(bent)
    assert far and wanted is not None and np.abs(found - wanted).max() < 1e-12
    assert np.abs(press - pressing(bent)).max() < 1e-12 and site_arcs(bent)[1].any()
    last = np.cos(np.arange(sites))
    assert prisms_kernel.aitken(found, last, 0.7, 0.2) == pytest.approx(relaxed(0.7, last, found), rel=1e-12)


def test_friction_open_slots_and_supports_that_give_way_are_not_walked() -> None:
    model = build_model(load_case(LIBRARY / "one-couple-second-order.toml"))
    assert plain(problem_of(model))
    walls = model.supports[0].restraint
    assert isinstance(walls, SlotWalls)
    rough = replace(model.supports[0], restraint=replace(walls, friction=0.1))
    soft = replace(model.supports[0], compliance=np.full(6, 1e-3))
    unlocked = replace(model.supports[0], restraint=replace(walls, front="open"))
    for support in (rough, soft, unlocked):
        assert not plain(problem_of(replace(model, supports=(support, *model.supports[1:]))))


def test_what_has_no_stable_equilibrium_is_left_to_the_usual_way() -> None:
    """A straight wire pushed together between two clamps, beyond Euler's load: it stays straight, and is unstable."""
    shape = PassiveShape((Straight(20.0),))
    far = Pose(np.array([19.9, 0.0, 0.0]), np.eye(3))
    steel = LinearElastic("steel", 2.0e5, 0.3)
    model = rod(shape, Round(0.4), steel, [Held(Clamp(), 0.0), Held(Clamp(), 20.0, end=far)])
    legs = (Leg("push", tuple(support.end for support in model.supports), 10),)
    assert engage(model, Options(), legs=legs).status is Status.UNSTABLE
    assert walked(problem_of(model), ways_of(model, legs)) is None


def test_an_increment_without_equilibrium_is_left_to_the_usual_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """One increment of 44 deg at once, and no iterations to find it in."""
    model = build_model(load_case(LIBRARY / "torque-through-play.toml"))
    monkeypatch.setattr("fem.batch.Options", lambda **_: Options(most_iterations=1))
    assert walked(problem_of(model), ways_of(model, torque_legs(model, 44.0, 2))) is None
