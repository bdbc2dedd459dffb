"""The end of Newton's method: residuals fall ever faster where every contact either presses or is open."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fem import equilibrium
from fem.equilibrium import Outcome, Problem, problem_of, solve
from fem.equilibrium_kernel import CONVERGED
from fem.model import Model
from fem.path import Leg, engage
from geometry.attachments import Slot
from geometry.pose import Pose
from geometry.section import Rectangle, Round
from geometry.wire_shapes import Bend, PassiveShape, Straight
from tests.fem_problems import INCH, Held, slot_walls, steel_law, straight_between, wire_between


def torque() -> Model:
    """A rectangular wire turned past its play in third order."""
    return straight_between(Pose.from_angles([10.0, 0.0, 0.0], about_x=0.7))


def offset() -> Model:
    """A round wire between two slots, one of them raised and tipped."""
    return straight_between(Pose.from_angles([10.0, 0.8, 0.2], 0.05, 0.1, 0.0), Round(0.016 * INCH))


def bent() -> Model:
    """A V-bend between two slots with play."""
    shape = PassiveShape((Straight(5.0), Bend(math.radians(25.0), "second", 1.0), Straight(10.0)))
    section = Rectangle(0.016 * INCH, 0.022 * INCH)
    slot = Slot(0.022 * INCH, 0.028 * INCH, 3.0)
    held = [
        Held(slot_walls(slot, 9, stop=True), 2.0, Pose.identity()),
        Held(slot_walls(slot, 9), 12.0, Pose(np.array([10.0, 0.0, 0.0]), np.eye(3))),
    ]
    return wire_between(shape, section, steel_law(section), held)


@pytest.mark.parametrize("make", [torque, offset, bent])
def test_residuals_fall_superlinearly_at_the_end(make) -> None:  # type: ignore[no-untyped-def]
    """The last steps of an increment whose pressing walls are known: each residual is a small share of the one before,
    down to the rounding floor (Nocedal & Wright, Numerical Optimization, ch. 11).  Run with -s to see the histories."""
    path = engage(make())
    problem = path.problem
    outcome = solve(problem, 0.999)
    assert outcome.code == CONVERGED and outcome.without_barrier
    left = outcome.history[:, 0] + outcome.history[:, 1]  # N and N mm: either may be the one that counts
    print(make.__name__, " ".join(f"{value:.1e}" for value in left))
    ratios = [after / before for before, after in zip(left, left[1:], strict=False)]
    assert outcome.iterations <= 8
    assert ratios[-1] < 1e-2
    assert ratios[-1] < 0.1 * ratios[-2]
    assert outcome.residual <= max(1e-8 * np.abs(path.last.snapshot.force).max(), outcome.floor)


def test_the_answer_does_not_know_where_the_barrier_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """Barrier ended a hundred times earlier, or started elsewhere: the same to 1e-7."""

    def forces(start: float, end: float) -> np.ndarray:
        monkeypatch.setattr(equilibrium, "BARRIER_END", end)
        model = bent()
        problem: Problem = problem_of(model)
        out: Outcome | None = None
        for number in range(1, 6):
            out = solve(problem, number / 5.0, quick=0, barrier=start)
            assert out.code == CONVERGED
        return np.asarray(problem.state.low - problem.state.high)

    usual = forces(1e-4, 1e-12)
    for start, end in ((1e-4, 1e-10), (1e-5, 1e-12), (1e-3, 1e-11)):
        np.testing.assert_allclose(forces(start, end), usual, rtol=0.0, atol=1e-7 * np.abs(usual).max())


def test_the_end_of_the_activation_is_the_start_of_the_way_back() -> None:
    """Without friction the way does not count: half of the way back is half of the way there."""
    model = bent()
    ends = tuple(support.end for support in model.supports)
    starts = tuple(support.start for support in model.supports)
    path = engage(model, legs=[Leg("out", ends, 4), Leg("back", starts, 4)])
    out = [one.snapshot for one in path.increments if one.leg == 0]
    back = [one.snapshot for one in path.increments if one.leg == 1]
    largest = np.abs(out[-1].force).max()
    for there, here in zip(out[:3], back[2::-1], strict=True):
        np.testing.assert_allclose(here.force, there.force, atol=2e-4 * largest)
        np.testing.assert_allclose(here.moment, there.moment, atol=2e-4 * np.abs(out[-1].moment).max())
    assert np.abs(back[-1].force).max() < 1e-6 * largest
