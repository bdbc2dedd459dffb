"""Invented results for scenes: walls that press, teeth, all four quadrants.  No solver; the numbers mean nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from cases.results import AttachmentResult, ContactResult, RunResult
from cases.tooth_results import ToothResult
from cases.tooth_sizes import default_centre
from geometry.attachments import LOWER_WALL, UPPER_WALL
from geometry.tooth import Tooth
from tests import show_results


def contact(wall: str, offset: float, force: float) -> ContactResult:
    """A wall that presses at one station."""
    return ContactResult((0.0, 0.0, 0.0), offset, wall, force, 0.0)


def on_its_tooth(item: AttachmentResult) -> AttachmentResult:
    """The same, its tooth's centre of resistance where an average tooth has it."""
    centre = None if item.tooth is None else default_centre(Tooth(item.tooth))
    if centre is None:
        return item
    tooth = ToothResult(
        centre_from_slot_mm=centre.from_slot, source="invented", force_n=(0.0,) * 3, moment_nmm=(0.0,) * 3, planes={},
        published=(), words=(),
    )  # fmt: skip
    return replace(item, at_centre_of_resistance=tooth)


def with_teeth(result: RunResult) -> RunResult:
    """The same with a centre of resistance for every tooth."""
    return replace(result, attachments=tuple(map(on_its_tooth, result.attachments)))


def v_bend() -> RunResult:
    """Two brackets, pressed at opposite walls of their mouths."""
    result = show_results.v_bend()
    first, second = result.attachments
    pressed = (
        replace(first, contacts=(contact(UPPER_WALL, 1.5, 7.0), contact(UPPER_WALL, 1.49, 0.5),
                                 contact(LOWER_WALL, -1.5, 5.66))),
        replace(second, contacts=(contact(LOWER_WALL, -1.5, 1.84),)),
    )  # fmt: skip
    return with_teeth(replace(result, attachments=pressed))


def torque() -> RunResult:
    """The bracket in the middle pressed at both walls of one mouth."""
    result = show_results.torque()
    left, middle, right = result.attachments
    pressed = replace(middle, contacts=(contact(UPPER_WALL, -1.6, 19.2), contact(LOWER_WALL, -1.6, 19.2)))
    return with_teeth(replace(result, attachments=(left, pressed, right)))


def arch(count: int = 8) -> RunResult:
    """A row of brackets bent round an arch about the vertical, each on a tooth of its own."""
    from geometry.pose import Pose, rotation_about

    row = show_results.row_of_brackets(count)
    middle = 4.0 * (count - 1)
    radius = 24.0

    def bent(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        turns = (points[:, 0] - middle) / radius
        places = np.column_stack(
            (radius * np.sin(turns), points[:, 1], radius * (np.cos(turns) - 1.0) + points[:, 2])
        )
        return places, np.array([rotation_about((0.0, 1.0, 0.0), t) for t in turns])

    x = np.linspace(-3.0, 2.0 * middle + 3.0, 20 * count)
    along = np.column_stack((x, 0.0 * x, 0.0 * x))
    places, axes = bent(along)
    wire = replace(
        row.wire,
        arc_length_mm=x - x[0],
        positions_mm=places,
        axes=axes,
        passive_positions_mm=places,
        bending_stress_mpa=np.full(len(x), 300.0),
        shear_stress_mpa=0.0 * x,
        force_n=np.zeros((len(x), 3)),
        moment_nmm=np.zeros((len(x), 3)),
    )
    teeth = [f"1{k}" for k in range(count // 2, 0, -1)] + [f"2{k}" for k in range(1, count // 2 + 1)]
    items = []
    for item, tooth in zip(row.attachments, teeth, strict=True):
        (place,), (turn,) = bent(np.asarray(item.pose.position)[None])
        force, moment = turn @ np.array(item.force_n), turn @ np.array(item.moment_nmm)
        items.append(
            replace(
                item,
                name=tooth,
                tooth=tooth,
                pose=Pose(place, turn),
                moment_about_mm=tuple(map(float, place)),
                force_n=tuple(map(float, force)),
                moment_nmm=tuple(map(float, moment)),
            )
        )
    return with_teeth(
        replace(row, title="Brackets round an arch (invented)", wire=wire, attachments=tuple(items))
    )
