"""Teeth that follow their own force systems: each step carries every supported tooth on by its initial displacement.

A tooth on its linear support stands beside the place it is sent to, by its compliance times its load: that is its
initial displacement.  A step sends it on by a share of that, along the same screw, and wire and teeth find their
balance anew.  One tooth on a spring k and a linear wire w: its load F falls to F (1 - share w/(k + w)) in each step.

It is a repeated linear step of initial displacements and no prediction of treatment: bone, time and what a ligament
does beyond its first moment are not in it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from cases.schema import Case, StageSpec
from cases.system_results import Followed, FollowStep, Geometry
from cases.tooth_support import supported
from cases.words import shown
from fem.path import Ahead, Increment, Path
from fem.recovery import Snapshot
from geometry.motion import move_frame, relative_motion
from geometry.pose import Pose

Poses = tuple[Pose, ...]

CAUTION = (
    "A repeated linear step of initial displacements, each from the load at its beginning; not a prediction of "
    "treatment: it knows neither bone nor time."
)


def step_name(stage: StageSpec, step: int) -> str:
    """What the path calls a step, from 1."""
    return f"{stage.name}, step {step}"


def steps_of(case: Case, stage: StageSpec) -> list[Ahead]:
    """The legs of a stage in which teeth follow."""
    assert stage.follow is not None
    onward = _onward([words is not None for words in supported(case.attachments)], stage.follow)
    return [Ahead(step_name(stage, step), onward, stage.increments) for step in range(1, stage.steps + 1)]


def _onward(gives_way: Sequence[bool], share: float) -> Callable[[Poses, Snapshot], Poses]:
    def ends(stand: Poses, snapshot: Snapshot) -> Poses:
        now = zip(snapshot.support_position, snapshot.support_axes, strict=True)
        # joints between wires come last, and stay as they are
        fixed = [False] * (len(stand) - len(gives_way))
        return tuple(
            carried_on(sent, Pose(*here), share) if gives else sent
            for sent, here, gives in zip(stand, now, [*gives_way, *fixed], strict=True)
        )

    return ends


def carried_on(sent: Pose, here: Pose, share: float) -> Pose:
    """``sent`` moved by a share of the screw from there to ``here``: what is rigid before stays rigid."""
    screw, position, axes = np.empty(6), np.empty(3), np.empty((3, 3))
    relative_motion(sent.position, sent.axes, here.position, here.axes, screw)
    u, v, w, about_x, about_y, about_z = share * screw
    move_frame(sent.position, sent.axes, u, v, w, about_x, about_y, about_z, np.empty((3, 3)), position, axes)
    return Pose(position, axes)


def follow_steps(case: Case, path: Path) -> tuple[FollowStep, ...]:
    """Poses and loads where each such stage begins (step 0) and after each of its steps."""
    names = [leg.name for leg in path.legs]
    out: list[FollowStep] = []
    for stage in case.stages:
        if stage.follow is None:
            continue
        first = names.index(step_name(stage, 1))
        begins = path.end_of(first - 1)
        out.append(_step(case, stage, 0, begins, begins))
        out += [
            _step(case, stage, step, begins, path.end_of(first + step - 1))
            for step in range(1, stage.steps + 1)
        ]
    return tuple(out)


def _step(case: Case, stage: StageSpec, step: int, begins: Increment, now: Increment) -> FollowStep:
    before, snapshot = begins.snapshot, now.snapshot
    followed = []
    for k, spec in enumerate(case.attachments):
        pose = Pose(snapshot.support_position[k], snapshot.support_axes[k])
        turn = 0.5 * (float(np.trace(before.support_axes[k].T @ pose.axes)) - 1.0)
        followed.append(
            Followed(
                spec.name,
                pose,
                float(np.linalg.norm(pose.position - before.support_position[k])),
                math.degrees(math.acos(min(1.0, max(-1.0, turn)))),
                _vector(snapshot.force[k]),
                _vector(snapshot.moment[k]),
            )
        )
    return FollowStep(stage.name, step, tuple(followed))


def follow_words(case: Case, steps: Sequence[FollowStep], geometries: Sequence[Geometry]) -> tuple[str, ...]:
    """Step by step, one line an attachment, and how the class of geometry changes."""
    out: list[str] = []
    for stage in case.stages:
        if stage.follow is None:
            continue
        own = [one for one in steps if one.stage == stage.name]
        out.append(
            f'"{stage.name}": in each of {stage.steps} steps every supported tooth goes on by '
            f"{shown(100.0 * stage.follow)} % of its initial displacement. From the beginning, step by step:"
        )
        for k, spec in enumerate(case.attachments):
            row = [one.attachments[k] for one in own]
            forces = ", ".join(shown(float(np.linalg.norm(one.force_n))) for one in row)
            moments = ", ".join(shown(float(np.linalg.norm(one.moment_nmm))) for one in row)
            line = f"{spec.name}: force {forces} N; moment {moments} N mm"
            if any(one.moved_mm or one.turned_deg for one in row):
                line += f"; in the end come {shown(row[-1].moved_mm)} mm and turned {shown(row[-1].turned_deg)} deg"
            out.append(f"{line}.")
        names = [step_name(stage, step) for step in range(1, stage.steps + 1)]
        for order in ("first", "second"):
            found = [one for one in geometries if one.stage in names and one.order == order]
            if found:
                classes = ", ".join(f"{one.nearest_class} ({shown(one.angle_ratio)})" for one in found)
                out.append(
                    f"Nearest class in {order} order after each step, with the ratio of angles: {classes}."
                )
        out.append(CAUTION)
    return tuple(out)


def _vector(values: np.ndarray) -> tuple[float, float, float]:
    return (float(values[0]), float(values[1]), float(values[2]))
