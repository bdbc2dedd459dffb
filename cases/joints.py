"""What passes between wires that are joined, in numbers and words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cases.force_system import vector
from cases.results import JointResult
from cases.schema import Case, JointSpec
from cases.words import shown, three
from fem.model import Model
from fem.recovery import Snapshot

AT_END = 1e-6  # mm


def joint_results(case: Case, model: Model, snapshot: Snapshot) -> tuple[JointResult, ...]:
    """One for each joint of the case, which are the last supports of the model."""
    out = []
    for k, spec in enumerate(case.joints, start=len(case.attachments)):
        force = snapshot.force[k]
        met = float(snapshot.met[k]) - model.wires[spec.to].begin
        one, other = case.wires[spec.wire].name, case.wires[spec.to].name
        out.append(
            JointResult(
                spec.name,
                spec.kind,
                one,
                spec.at,
                other,
                met,
                vector(snapshot.acting_point[k]),
                vector(force),
                _words(spec, one, other, force, met),
            )
        )
    return tuple(out)


def _words(spec: JointSpec, one: str, other: str, force: np.ndarray, met: float) -> str:
    size = float(np.linalg.norm(force))
    if size == 0.0:
        return f"{spec.name}: nothing passes between {one} and {other}."
    parts = ", ".join(f"F{axis} {shown(float(value))}" for axis, value in zip("xyz", force, strict=True))
    slid = ""
    if spec.slides:
        slid = f", {three(met)} mm from its start, where it has slid to"
    return f"{spec.name}: {other} gets {shown(size)} N from {one} ({parts}; world axes){slid}, and gives as much back."


def hook_words(case: Case, joints: Sequence[JointResult]) -> tuple[str, ...]:
    """Hooks that have come to the end of the wire they slide on."""
    out = []
    for spec, one in zip(case.joints, joints, strict=True):
        length = case.wires[spec.to].passive_shape.length
        if spec.slides and not AT_END < one.to_at_mm < length - AT_END:
            out.append(
                f"{one.name} has slid to the end of {one.to} and would slip off: these figures hold it there. Give "
                f"{one.to} more length, or tie the wire instead."
            )
    return tuple(out)
