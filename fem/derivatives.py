"""How the force system changes with any parameter: exact derivatives at an equilibrium, without solving it again.

`fem.directions` finds how the equilibrium goes along a parameter.  Supports that give way (fem.mounts) add their
deflections s = C w, whose own directions are found alike: s' = C w_p + C' w + C W s' with the loads w and their
derivatives W with s.

A derivative holds as long as the same walls press; `Derivatives.until` says how far that is.  Where a wall is about to
press or to leave (strict complementarity fails: no room and no force), the two sides differ; each is found by trying
which of these walls press on its way.

Source: the implicit function theorem; for contact, Nocedal & Wright, Numerical Optimization (2nd ed. 2006), ch. 12.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fem.directions import END, SETTLED, Course, Equilibrium, Observe
from fem.directions import NotDifferentiableError as NotDifferentiableError
from fem.equilibrium import Problem
from fem.model import SAME_PLACE, Model
from fem.recovery import Snapshot, loads_in_own_axes, snapshot_of
from fem.section_law import LinearSection
from fem.walls_kernel import MODE_FREE, MODE_PRESSING
from geometry.checks import number
from geometry.pose import Pose
from geometry.wire_shapes import PassiveShape

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

PIECES = 8  # of every piece of a passive shape, so that no element turns too far
SAME = 1e-4  # of a derivative: by which its two sides differ at least where it is called one-sided
DEFLECTION_STEP = 1e-5  # mm and rad
TOGETHER = 3  # times that all open walls that are wrong change sides together


@dataclass(frozen=True, slots=True)
class Variation:
    """A parameter by ``step`` smaller and larger: the models and where their supports stand.

    They have the supports, walls and breaks of the model itself, in the same order; their nodes, which may be those of
    `plain_nodes`, only tell where these lie.  Raises ValueError for a step that is not above zero."""

    step: float
    """In the parameter's unit; a change by it moves the wire by about 1e-6 to 1e-4 mm."""
    less: Model
    more: Model
    less_ends: tuple[Pose, ...]
    more_ends: tuple[Pose, ...]

    @classmethod
    def of(cls, step: float, less: Model, more: Model) -> Variation:
        """With the supports at the ends of their ways."""
        ends = (tuple(support.end for support in model.supports) for model in (less, more))
        return cls(step, less, more, *ends)

    def __post_init__(self) -> None:
        object.__setattr__(
            self, "step", number("the step of a variation", self.step, "", 1e-30, 1e30, "above zero")
        )


@dataclass(frozen=True, slots=True)
class Derivatives:
    """Of p parameters, in the observed values' unit per unit of the parameter."""

    rising: Array
    """(p, ...) as the parameter grows."""
    falling: Array
    """(p, ...) as it falls, again per unit of growth: the same but where ``one_sided``."""
    one_sided: Flags
    """(p,) where the two differ because a contact changes right here."""
    until: Array
    """(p, 2) how far the parameter may fall (below zero) and rise before another wall presses or one leaves, as these
    derivatives say; infinite where none does."""


def plain_nodes(shape: PassiveShape, marks: Array, fineness: float = 1.0) -> Array:
    """Nodes for the models of a `Variation`, in place of ``geometry.meshing.line_mesh``."""
    breaks = shape.breaks
    inside = (breaks[:-1, None] + np.diff(breaks)[:, None] * np.arange(PIECES) / PIECES).ravel()
    nodes = np.unique(np.concatenate((marks, inside, breaks[-1:])))
    return nodes[np.diff(nodes, prepend=-np.inf) > SAME_PLACE]


def support_loads(snapshot: Snapshot, model: Model) -> Array:
    """(k, 6) force (N) and moment (N mm) on every support, as the snapshot has them."""
    return np.concatenate((snapshot.force, snapshot.moment), axis=1)


def derivatives(
    problem: Problem, variations: Sequence[Variation], observe: Observe = support_loads
) -> Derivatives:
    """Derivatives of what is observed, at the accepted state of ``problem`` at the end of its way.

    Elastic and without friction, else the way counts.  ``problem`` is left as it is.  Raises NotDifferentiableError for
    friction, for models that are not made alike, and where a wire without stiffness is pushed along."""
    if problem.rubs:
        raise NotDifferentiableError(
            "with friction the way counts, not the state alone: take differences of whole solves"
        )
    if not isinstance(problem.model.law, LinearSection):
        raise NotDifferentiableError("a law with history has no derivative of the state alone")
    state = Equilibrium(problem, observe)
    found = _Found(state)
    rising, falling, sided, until = [], [], [], []
    for variation in variations:
        up, upwards = found.along(variation, 1.0)
        down, downwards = found.along(variation, -1.0) if state.open.any() else (up, upwards)
        rising.append(up)
        falling.append(down)
        sided.append(bool(np.abs(up - down).max(initial=0.0) > SAME * np.abs(up).max(initial=0.0)))
        until.append((downwards[0], upwards[1]))
    shape = observe(snapshot_of(problem, END, 0.0), problem.model).shape
    return Derivatives(
        np.array(rising).reshape(-1, *shape),
        np.array(falling).reshape(-1, *shape),
        np.array(sided, dtype=np.bool_),
        np.array(until, dtype=np.float64).reshape(-1, 2),
    )


class _Found:
    """Derivatives at one equilibrium; what its deflections do is found once for each set of pressing walls."""

    def __init__(self, state: Equilibrium) -> None:
        self._state = state
        self._deflections: dict[bytes, list[Course]] = {}

    def along(self, variation: Variation, side: float) -> tuple[Array, tuple[float, float]]:
        """The derivative towards one ``side``, and how far down and up it holds.

        Which of the open walls press is tried until none of them pulls or is passed."""
        state, mode = self._state, self._state.here.work.mode
        before = mode.copy()
        nearer = np.argmin(state.room, axis=1)[:, None]
        try:
            for attempt in range(TOGETHER + int(state.open.sum()) + 1):
                course = self._whole(variation)
                presses = mode == MODE_PRESSING
                pulls = np.where(state.here.work.target <= 0.0, -side, side) * course.force
                passed = -side * np.take_along_axis(course.room, nearer, axis=1)[:, 0]
                rooms = np.abs(course.room).max(initial=1e-300)
                # where nothing bears anything the largest force is rounding, and says nothing
                largest = np.abs(course.force).max(initial=state.rounding_per_mm * rooms), rooms
                wrong = np.where(state.open, np.where(presses, pulls / largest[0], passed / largest[1]), 0.0)
                if wrong.max(initial=0.0) <= SETTLED:
                    break
                # all at once, as a rule right at once; one by one where that goes round in circles
                changed = wrong > SETTLED if attempt < TOGETHER else wrong == wrong.max()
                mode[changed] = np.where(presses[changed], MODE_FREE, MODE_PRESSING)
            return course.observed, self._until(course)
        finally:
            mode[:] = before

    def _until(self, course: Course) -> tuple[float, float]:
        """How far the parameter goes, down and up, before a wall that is not open changes."""
        state = self._state
        presses = state.here.work.mode == MODE_PRESSING
        counts = ~state.open & (state.here.constraints.sites.half_range != 0.0)
        held, free = presses & counts, ~presses & counts
        now = np.concatenate((state.force[held], state.room[free].ravel()))
        change = np.concatenate((course.force[held], course.room[free].ravel()))
        ways = -now[change != 0.0] / change[change != 0.0]
        return max(ways[ways < 0.0], default=-math.inf), min(ways[ways > 0.0], default=math.inf)

    def _whole(self, variation: Variation) -> Course:
        """Along one parameter, with supports that give way."""
        state, source = self._state, self._state.source
        less = state.beside(variation.less, variation.less_ends)
        more = state.beside(variation.more, variation.more_ends)
        course = state.course(less, more, variation.step)
        if not any(one.compliance.any() for one in (source, less, more)):
            return course
        size = source.deflection.size
        whole = source.compliance.reshape(size, size)
        changed = (more.compliance - less.compliance).reshape(size, size) / (2.0 * variation.step)
        moving = np.flatnonzero(whole.any(axis=1) | changed.any(axis=1))
        key = state.here.work.mode.tobytes() + moving.tobytes()
        if key not in self._deflections:
            self._deflections[key] = [self._deflecting(int(j)) for j in moving]
        own = self._deflections[key]
        felt = np.array([one.loads for one in own]).T  # (6 k, moving)
        free = np.eye(moving.size) - whole[moving] @ felt
        given = whole[moving] @ course.loads + changed[moving] @ loads_in_own_axes(source, END).ravel()
        return course.plus(own, np.linalg.solve(free, given))

    def _deflecting(self, j: int) -> Course:
        """Along the j-th of all deflections."""
        state = self._state
        less, more = (state.beside(state.source.model, state.stand) for _ in range(2))
        less.deflection.reshape(-1)[j] -= DEFLECTION_STEP
        more.deflection.reshape(-1)[j] += DEFLECTION_STEP
        return state.course(less, more, DEFLECTION_STEP)
